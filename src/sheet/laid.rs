//! Laid work as JSON, and course by course as a table.

use serde::Serialize;
use serde_json::{Map, Value, json};

use super::{Table, document};
use crate::layout::{
    Axis, Bite, Cuboid, Cut, Finished, GapSpace, Laid, LaidCorbel, LaidLining, LaidPart, LaidRound,
    LaidSill, Piece, Profile, Role, Shaping, Turned, Void, VoidShape,
};
use crate::layout::{CopingSlab, LaidCoping, Quad};
use crate::plan::Setting;
use crate::quantity::{Length, Volume};

/// Version of the laid work's JSON.
const LAID_SCHEMA: &str = "perpend.laid/1";

#[derive(Serialize)]
struct BoxJson {
    x: f64,
    y: f64,
    z: f64,
    length: f64,
    width: f64,
    height: f64,
}

#[derive(Serialize)]
struct PieceJson<'a> {
    part: &'a str,
    course: u16,
    leaf: u8,
    role: &'static str,
    unit: &'a str,
    x: f64,
    y: f64,
    z: f64,
    length: f64,
    width: f64,
    height: f64,
    turn: u8,
    run: &'static str,
    cut: Option<CutJson>,
    bites: Vec<Value>,
    notch: Option<BoxJson>,
    #[serde(skip_serializing_if = "Option::is_none")]
    turned: Option<Value>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    rakes: Vec<Value>,
    #[serde(skip_serializing_if = "Option::is_none")]
    prism: Option<Value>,
    finished_ends: u8,
}

#[derive(Serialize)]
struct CutJson {
    kind: String,
    length: f64,
    finished: &'static str,
}

fn mm(length: Length) -> f64 {
    length.to_mm()
}

fn box_json(cuboid: &Cuboid) -> BoxJson {
    BoxJson {
        x: mm(cuboid.at.x),
        y: mm(cuboid.at.y),
        z: mm(cuboid.at.z),
        length: mm(cuboid.length),
        width: mm(cuboid.width),
        height: mm(cuboid.height),
    }
}

/// Laid work as a JSON document: sizes and places in millimetres, volumes in cubic millimetres.
///
/// x, y, z is a piece's corner with the smallest coordinates; length, width and height are the piece's own, with
/// its length along x for turn 0 and along y for turn 90.
pub fn laid_json(laid: &Laid) -> Value {
    let pieces: Vec<Value> = laid
        .pieces
        .iter()
        .map(|piece| value(&piece_json(laid, piece)))
        .collect();
    let parts = laid.parts.iter().enumerate();
    let parts: Vec<Value> = parts
        .map(|(index, part)| part_json(part, laid.lines(index)))
        .collect();
    let mut bodies: Vec<Value> = laid
        .bodies
        .iter()
        .map(|body| {
            with(
                &[
                    ("part", json!(laid.part_name(body.part))),
                    ("name", json!(body.name)),
                    (
                        "kind",
                        json!(format!("{} {}", body.kind.word(), body.serves.word())),
                    ),
                ],
                &box_json(&body.cuboid),
            )
        })
        .collect();
    bodies.extend(laid.parts.iter().flat_map(coping_json));
    let mut voids: Vec<Value> = laid
        .voids
        .iter()
        .flat_map(|void| void_json(laid, void))
        .collect();
    voids.extend(laid.cavities.iter().map(|(part, _, open)| {
        with(
            &[
                ("part", json!(laid.part_name(*part))),
                ("name", json!("cavity")),
                ("kind", json!("cavity")),
                ("shape", json!("box")),
            ],
            &box_json(open),
        )
    }));
    voids.extend(laid.linings.iter().flat_map(|lining| {
        gap_boxes(lining).iter().map(|open| {
            with(
                &[
                    ("part", json!(laid.part_name(lining.part))),
                    ("name", json!("expansion gap")),
                    ("kind", json!("expansion gap")),
                    ("shape", json!("box")),
                ],
                &box_json(open),
            )
        })
    }));
    let linings: Vec<Value> = laid
        .linings
        .iter()
        .map(|lining| lining_json(laid, lining))
        .collect();
    voids.extend(laid.parts.iter().flat_map(drips_json));
    let ties: Vec<Value> = laid
        .ties
        .iter()
        .map(|tie| {
            json!({
                "part": laid.part_name(tie.part),
                "leg": tie.leg + 1,
                "course": tie.course,
                "x": mm(tie.at.x),
                "y": mm(tie.at.y),
                "z": mm(tie.at.z),
                "at_jamb": tie.at_jamb,
            })
        })
        .collect();
    let breaches: Vec<Value> = laid
        .breaches
        .iter()
        .map(|breach| {
            json!({
                "part": laid.part_name(breach.part),
                "course": breach.course,
                "code": breach.kind.code(),
                "x": mm(breach.at.x),
                "y": mm(breach.at.y),
                "z": mm(breach.at.z),
                "figure": mm(breach.figure),
                "limit": mm(breach.limit),
            })
        })
        .collect();
    let slab = laid.slab.as_ref().map(|slab| {
        json!({
            "concrete": slab.concrete.iter().map(box_json).collect::<Vec<_>>(),
            "subbase": slab.subbase.iter().map(box_json).collect::<Vec<_>>(),
        })
    });
    let lids: Vec<Value> = laid
        .lids
        .iter()
        .map(|lid| {
            json!({
                "part": laid.part_name(lid.part),
                "annex": lid.annex,
                "pieces": lid.pieces.iter().map(box_json).collect::<Vec<_>>(),
                "volume_mm3": volume(lid.volume),
            })
        })
        .collect();
    document(
        LAID_SCHEMA,
        json!({
            "unit_of_length": "mm",
            "plan": laid.plan.name,
            "units": laid.kinds().into_iter().map(unit_json).collect::<Vec<_>>(),
            "parts": parts,
            "pieces": pieces,
            "bodies": bodies,
            "voids": voids,
            "ties": ties,
            "sills": laid.sills.iter().map(|sill| sill_json(laid, sill)).collect::<Vec<_>>(),
            "corbels": laid.corbels.iter().map(|corbel| corbel_json(laid, corbel)).collect::<Vec<_>>(),
            "linings": linings,
            "breaches": breaches,
            "slab": slab,
            "lids": lids,
        }),
    )
}

fn unit_json(setting: &Setting) -> Value {
    let unit = setting.bought();
    json!({
        "name": unit.name,
        "length": mm(unit.length),
        "width": mm(unit.width),
        "height": mm(unit.height),
    })
}

fn value(json: &impl Serialize) -> Value {
    serde_json::to_value(json).unwrap_or(Value::Null)
}

/// An object of some fields followed by those of another.
fn with(fields: &[(&str, Value)], rest: &impl Serialize) -> Value {
    let mut map = Map::new();
    for (key, field) in fields {
        map.insert((*key).to_owned(), field.clone());
    }
    if let Value::Object(rest) = value(rest) {
        map.extend(rest);
    }
    Value::Object(map)
}

fn volume(volume: Volume) -> f64 {
    volume.to_mm3()
}

/// A sill or threshold: the box round it and what is said of it.
fn sill_json(laid: &Laid, laid_sill: &LaidSill) -> Value {
    let sill = &laid_sill.sill;
    with(
        &[
            ("part", json!(laid.part_name(laid_sill.part))),
            ("opening", json!(laid_sill.name)),
            (
                "kind",
                json!(format!("{} {}", sill.kind.word(), sill.word())),
            ),
            ("axis", json!(laid_sill.axis.word())),
            ("units", json!(laid_sill.units)),
            ("project", json!(mm(sill.project))),
            ("drip", json!(sill.drip)),
            ("slope_degrees", json!(sill.slope)),
        ],
        &box_json(&laid_sill.cuboid),
    )
}

/// A corbelled head: its steps and their outline from the left springing to the right one.
fn corbel_json(laid: &Laid, corbel: &LaidCorbel) -> Value {
    json!({
        "part": laid.part_name(corbel.part),
        "opening": corbel.name,
        "axis": corbel.axis.word(),
        "span": [mm(corbel.span.0), mm(corbel.span.1)],
        "depth": [mm(corbel.depth.0), mm(corbel.depth.1)],
        "step": mm(corbel.step),
        "courses": corbel.gaps.len(),
        "from_course": corbel.from_course,
        "closing_course": corbel.closing_course(),
        "outline": corbel
            .outline()
            .iter()
            .map(|(along, z)| [mm(*along), mm(*z)])
            .collect::<Vec<_>>(),
    })
}

/// The gap behind a lining goes with the lining, as a space between leaves goes with its wall.
fn gap_boxes(lining: &LaidLining) -> &[Cuboid] {
    match &lining.space {
        GapSpace::Boxes(boxes) => boxes,
        GapSpace::Round { .. } => &[],
    }
}

fn lining_json(laid: &Laid, lining: &LaidLining) -> Value {
    let space = match &lining.space {
        GapSpace::Boxes(boxes) => {
            json!({ "boxes": boxes.iter().map(box_json).collect::<Vec<_>>() })
        }
        GapSpace::Round {
            centre,
            radii,
            heights,
        } => json!({
            "centre": [mm(centre.0), mm(centre.1)],
            "inner": mm(radii.0),
            "outer": mm(radii.1),
            "from": mm(heights.0),
            "to": mm(heights.1),
        }),
    };
    let meetings = lining.meetings(laid);
    let level = meetings.iter().filter(|meeting| meeting.meets);
    json!({
        "part": laid.part_name(lining.part),
        "lines": laid.part_name(lining.host),
        "gap": mm(lining.gap),
        "fill": lining.fill.word(),
        "space": space,
        "level": level
            .map(|meeting| json!({ "course": meeting.course, "lining_course": meeting.other }))
            .collect::<Vec<_>>(),
    })
}

fn part_json(part: &LaidPart, lining: Option<&LaidLining>) -> Value {
    let gap = lining.map(gap_boxes).unwrap_or_default();
    let coping = part.coping.iter().flat_map(|coping| &coping.envelope);
    let boxes = part.envelope.iter().chain(gap).chain(coping);
    let boxes = boxes.map(|cuboid| value(&box_json(cuboid)));
    let envelope: Vec<Value> = boxes
        .chain(part.prisms.iter().map(turned_json))
        .chain(part.quads.iter().map(quad_json))
        .collect();
    json!({
        "name": part.name,
        "kind": part.kind.word(),
        "unit": part.setting.unit.name,
        "head_joint": mm(part.setting.joints.head.nominal),
        "courses": part.courses,
        "leaves": part.leaves,
        "least_lap_mm": mm(part.least_lap),
        "mortar_mm3": volume(part.joints),
        "envelope": envelope,
        "outside": box_json(&part.outside),
        "inside": part.inside.as_ref().map(box_json),
        "compartments": part
            .compartments
            .iter()
            .map(|one| with(&[("name", json!(one.name))], &box_json(&one.space)))
            .collect::<Vec<_>>(),
        "junctions": part
            .junctions
            .iter()
            .map(|junction| {
                json!({
                    "name": junction.name,
                    "kind": junction.kind.word(),
                    "leg": junction.leg + 1,
                    "span": [mm(junction.span.0), mm(junction.span.1)],
                    "projects": mm(junction.projects),
                    "beyond": [mm(junction.beyond.0), mm(junction.beyond.1)],
                    "height": mm(junction.height),
                    "toothed": junction.toothed,
                    "ties_up": junction.ties.map(mm),
                })
            })
            .collect::<Vec<_>>(),
        "ring": part.ring.as_ref().map(ring_json),
    })
}

/// The slabs of a part's coping, each with the grooves taken out of it.
fn coping_json(part: &LaidPart) -> Vec<Value> {
    let slab = |coping: &LaidCoping, slab: &CopingSlab| {
        with(
            &[
                ("part", json!(part.name)),
                ("name", json!("coping")),
                ("kind", json!(coping.word())),
                (
                    "grooves",
                    slab.drips
                        .iter()
                        .map(box_json)
                        .map(|one| value(&one))
                        .collect(),
                ),
            ],
            &box_json(&slab.cuboid),
        )
    };
    let coping = part.coping.iter();
    coping
        .flat_map(|coping| coping.slabs.iter().map(move |one| slab(coping, one)))
        .collect()
}

fn drips_json(part: &LaidPart) -> Vec<Value> {
    let slabs = part.coping.iter().flat_map(|coping| &coping.slabs);
    slabs
        .flat_map(|slab| &slab.drips)
        .map(|drip| {
            with(
                &[
                    ("part", json!(part.name)),
                    ("name", json!("drip")),
                    ("kind", json!("drip")),
                    ("shape", json!("box")),
                ],
                &box_json(drip),
            )
        })
        .collect()
}

fn piece_json<'a>(laid: &'a Laid, piece: &Piece) -> PieceJson<'a> {
    let cut = (piece.cut != Cut::Whole).then(|| CutJson {
        kind: piece.cut.word(),
        length: mm(piece.length),
        finished: match piece.finished {
            Finished::Both => "both",
            Finished::Low => "low",
            Finished::High => "high",
            Finished::Neither => "neither",
        },
    });
    let (mut rakes, mut prism) = (Vec::new(), None);
    let (bites, notch) = match laid.shaping(piece) {
        Some(Shaping::Prism(shape)) => {
            prism = Some(json!({
                "axis": shape.axis.word(),
                "corners": shape.corners.map(|(along, z)| [mm(along), mm(z)]),
                "depth": [mm(shape.depth.0), mm(shape.depth.1)],
                "tapered": shape.tapered,
            }));
            (Vec::new(), None)
        }
        Some(cut @ (Shaping::Bites(..) | Shaping::Raked(..) | Shaping::Carved(..))) => {
            rakes = cut.rakes().iter().map(profile_json).collect();
            let bite = |bite: &Bite| {
                json!({
                    "axis": bite.axis.word(),
                    "centre": [mm(bite.across), mm(bite.z)],
                    "radius": mm(bite.radius),
                })
            };
            (cut.bites().iter().map(bite).collect(), None)
        }
        Some(Shaping::Notch(notch)) => (Vec::new(), Some(box_json(notch))),
        Some(Shaping::Turned(_)) | None => (Vec::new(), None),
    };
    let run = match piece.role {
        Role::Header
        | Role::LedgeHeader
        | Role::Closer
        | Role::Rowlock
        | Role::Sill
        | Role::Threshold => piece.along.across(),
        _ => piece.along,
    };
    PieceJson {
        part: laid.part_name(usize::from(piece.part)),
        course: piece.course,
        leaf: piece.leaf,
        role: piece.role.word(),
        unit: &laid.setting_of(piece).unit.name,
        x: mm(piece.at.x),
        y: mm(piece.at.y),
        z: mm(piece.at.z),
        length: mm(piece.length),
        width: mm(piece.width),
        height: mm(piece.height),
        turn: match piece.along {
            Axis::X => 0,
            Axis::Y => 90,
        },
        run: run.word(),
        cut,
        bites,
        notch,
        turned: laid.turned(piece).map(turned_json),
        rakes,
        prism,
        finished_ends: match piece.finished {
            Finished::Both => 2,
            Finished::Low | Finished::High => 1,
            Finished::Neither => 0,
        },
    }
}

/// A turned prism: its plane, the centre in that plane, the direction of its middle line in degrees, its faces, and its
/// depth along the third axis.
fn turned_json(turned: &Turned) -> Value {
    json!({
        "plane": turned.plane.word(),
        "centre": [mm(turned.centre.0), mm(turned.centre.1)],
        "angle": turned.angle.to_degrees(),
        "inner": mm(turned.inner),
        "outer": mm(turned.outer),
        "inner_width": mm(turned.inner_width),
        "outer_width": mm(turned.outer_width),
        "depth": [mm(turned.depth.0), mm(turned.depth.1)],
    })
}

/// A level prism over four corners, anticlockwise seen from above.
fn quad_json(quad: &Quad) -> Value {
    json!({
        "plane": "level",
        "corners": quad.corners.map(|(x, y)| [mm(x), mm(y)]),
        "depth": [mm(quad.depth.0), mm(quad.depth.1)],
    })
}

/// An outline of an arch: half as wide at each height as its straight sides, then its circle, say.
fn profile_json(profile: &Profile) -> Value {
    json!({
        "middle": mm(profile.middle),
        "bottom": mm(profile.bottom),
        "bottom_half": mm(profile.bottom_half),
        "shoulder": mm(profile.shoulder),
        "shoulder_half": mm(profile.shoulder_half),
        "circle": profile.circle.map(|(z, radius)| json!({ "z": mm(z), "radius": mm(radius) })),
    })
}

fn ring_json(ring: &LaidRound) -> Value {
    json!({
        "laid": ring.laid.word(),
        "centre": [mm(ring.centre.0), mm(ring.centre.1)],
        "inner": mm(ring.inner),
        "outer": mm(ring.outer),
        "count": ring.count,
        "inner_width": mm(ring.faces.0),
        "outer_width": mm(ring.faces.1),
        "inner_joint": mm(ring.joints.0),
        "outer_joint": mm(ring.joints.1),
        "sweep_deg": ring.sweep.map_or(360.0, f64::to_degrees),
    })
}

fn void_json(laid: &Laid, void: &Void) -> Vec<Value> {
    let head = [
        ("part", json!(laid.part_name(void.part))),
        ("name", json!(void.name)),
        ("kind", json!(void.kind.word())),
    ];
    match void.shape {
        VoidShape::Box(cuboid) => {
            let mut fields = head.to_vec();
            fields.push(("shape", json!("box")));
            vec![with(&fields, &box_json(&cuboid))]
        }
        // Bay by bay, as it is counted.
        VoidShape::Sector(sector) => sector
            .quads()
            .iter()
            .map(|quad| {
                let mut fields = head.to_vec();
                fields.push(("shape", json!("bay")));
                with(&fields, &quad_json(quad))
            })
            .collect(),
        VoidShape::Profile {
            axis,
            profile,
            depth,
        } => vec![with(
            &head,
            &json!({
                "shape": "profile",
                "axis": axis.word(),
                "profile": profile_json(&profile),
                "from": mm(depth.0),
                "to": mm(depth.1),
            }),
        )],
        VoidShape::Cylinder {
            axis,
            across,
            z,
            radius,
            span,
        } => vec![with(
            &head,
            &json!({
                "shape": "cylinder",
                "axis": axis.word(),
                "centre": [mm(across), mm(z)],
                "radius": mm(radius),
                "from": mm(span.0),
                "to": mm(span.1),
            }),
        )],
    }
}

/// Pieces by part and course: how many whole, how many cut, and what opens in each course.
pub fn courses_table(laid: &Laid) -> Table {
    let style = laid.plan.style;
    let mut table = Table::new(
        format!("laid work of {}", laid.plan.name),
        &[
            "part",
            "#course",
            "#top of unit",
            "#whole",
            "#cut",
            "opens or carries",
        ],
    );
    for (index, part) in laid.parts.iter().enumerate() {
        let pieces = laid.pieces_of(part);
        for course in (1..=part.courses).rev() {
            let here = pieces
                .iter()
                .filter(|piece| u32::from(piece.course) == course);
            let (mut whole, mut cut, mut top, mut headers) = (0, 0, Length::ZERO, 0);
            for piece in here {
                let aside = [Role::Voussoir, Role::Key, Role::Sill, Role::Threshold];
                if !aside.contains(&piece.role) {
                    top = laid.bounds(piece).heights().1;
                }
                headers += u32::from(piece.role == Role::LedgeHeader);
                if piece.cut == Cut::Whole {
                    whole += 1;
                } else {
                    cut += 1;
                }
            }
            let mut notes = open_in(laid, index, part, course);
            if headers > 0 {
                notes.push(format!("ledge of {headers} headers"));
            }
            table.row([
                part.name.clone(),
                course.to_string(),
                style.show(top),
                whole.to_string(),
                cut.to_string(),
                notes.join(", "),
            ]);
        }
    }
    table
}

/// Names of what is open in a course, each once.
fn open_in(laid: &Laid, index: usize, part: &LaidPart, course: u32) -> Vec<String> {
    let base = part.outside.at.z;
    let (bottom, top) = (
        base + part.heights.bottom_of(course),
        base + part.heights.top_of(course),
    );
    let mut names: Vec<String> = laid
        .voids
        .iter()
        .filter(|void| void.part == index)
        .filter(|void| {
            let (low, high) = match void.shape {
                VoidShape::Box(cuboid) => cuboid.heights(),
                VoidShape::Sector(sector) => sector.depth,
                VoidShape::Cylinder { z, radius, .. } => (z - radius, z + radius),
                VoidShape::Profile { profile, .. } => (profile.bottom, profile.top()),
            };
            low < top && high > bottom
        })
        .map(|void| format!("{} ({})", void.name, laid.side_words(index, void.side)))
        .collect();
    names.dedup();
    names
}
