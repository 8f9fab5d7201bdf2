use std::collections::HashMap;
use std::sync::Arc;

use super::butted::butt_ties;
use super::cavity::{free_space, ties};
use super::course::{PartWork, lay_part};
use super::curve::lay_curve;
use super::duct::DuctCut;
use super::footprint::Footprint;
use super::geometry::{Axis, Cuboid};
use super::laid::{
    Hollows, Junction, Laid, LaidDuct, LaidLeg, LaidLid, LaidPart, LaidSlab, Piece, Role, Void,
    VoidKind,
};
use super::lid::laid_lid;
use super::lining::{laid_linings, role_of, vents_of};
use super::measure::{Measured, MeasuredDuct, MeasuredPart, measure};
use super::obstacles::check_obstacles;
use super::quad::Quad;
use super::round::{laid_ring, lay_ring};
use super::turned::Turned;
use crate::plan::{PartKind, Plan, PlanError};
use crate::quantity::{Length, Volume};
use crate::stop;

/// Lays a plan.
///
/// # Errors
/// What [`measure`] refuses: sizes, places and openings that cannot be built; and lintels and ducts that run into
/// other openings once all are in their places.
pub fn lay(plan: &Arc<Plan>) -> Result<Laid, PlanError> {
    let measured = measure(plan)?;
    let mut laid = Laid {
        plan: Arc::clone(plan),
        parts: Vec::with_capacity(measured.parts.len()),
        pieces: Vec::new(),
        shapings: Vec::new(),
        bodies: Vec::new(),
        voids: Vec::new(),
        arches: Vec::new(),
        duct_rings: Vec::new(),
        corbels: Vec::new(),
        sills: Vec::new(),
        linings: Vec::new(),
        round_openings: Vec::new(),
        cavities: Vec::new(),
        ties: Vec::new(),
        breaches: Vec::new(),
        ducts: Vec::new(),
        lids: Vec::new(),
        slab: None,
    };
    for (index, part) in measured.parts.iter().enumerate() {
        let cuts = cuts_of(index, part, &measured, plan);
        let through = match part.lines {
            None => None,
            Some(lines) => Some(lined_part(part, lines.host, &measured, &laid)?),
        };
        let part = through.as_ref().unwrap_or(part);
        let work = match &part.round {
            Some(round) if let Some(curve) = &part.curve => lay_curve(part, round, curve, index),
            Some(round) => {
                let unit = &part.setting.unit;
                lay_ring(part, round, index, [unit.length, unit.width, unit.height])
            }
            None => lay_part(part, index, &cuts),
        };
        check_stop()?;
        check_obstacles(&work, &part.setting).map_err(|error| error.in_part(&part.name))?;
        // Only in a straight wall do headers project.
        if part.round.is_none() {
            check_headers(&work).map_err(|error| error.in_part(&part.name))?;
        }
        add_part(&mut laid, part, work);
    }
    super::sill::check_sills(&laid)?;
    laid.ducts = measured
        .ducts
        .iter()
        .filter_map(|duct| laid_duct(duct, plan))
        .collect();
    laid.linings = laid_linings(&measured);
    for lining in &laid.linings {
        let within = laid.parts.get(lining.part).and_then(|part| part.inside);
        if let Some(host) = laid.parts.get_mut(lining.host)
            && within.is_some()
        {
            host.inside = within;
        }
    }
    let lids: Vec<LaidLid> = plan
        .lids
        .iter()
        .filter_map(|lid| laid_lid(lid, &laid, &measured.parts))
        .collect();
    laid.lids = lids;
    laid.slab = laid_slab(&laid);
    Ok(laid)
}

/// Refuses to go on with work that is asked to stop: what was laid since is not whole.
pub(super) fn check_stop() -> Result<(), PlanError> {
    stop::asked().map_or(Ok(()), |reason| Err(PlanError::stopped(reason)))
}

/// A lining with the vents of its walls as they came to lie.
fn lined_part(
    part: &MeasuredPart,
    host: usize,
    measured: &Measured,
    laid: &Laid,
) -> Result<MeasuredPart, PlanError> {
    let voids = laid.voids.iter().filter(|void| void.part == host);
    let vents = measured
        .parts
        .get(host)
        .map(|host| vents_of(host, voids))
        .unwrap_or_default();
    let through = part.clone().with_vents(vents);
    through.map_err(|error| error.in_part(&part.name))
}

pub(super) fn cuts_of(
    index: usize,
    part: &MeasuredPart,
    measured: &Measured,
    plan: &Plan,
) -> Vec<DuctCut> {
    let mut cuts = Vec::new();
    for duct in &measured.ducts {
        let name = plan.ducts.get(duct.index).map_or("", |duct| &duct.name);
        for wall in duct.walls.iter().filter(|wall| wall.part == index) {
            let head = part.openings.iter().find(|head| {
                head.kind == VoidKind::Duct && head.leg == wall.leg && head.name == name
            });
            cuts.push(DuctCut {
                name: name.to_owned(),
                leg: wall.leg,
                side: part.side_of(wall.leg),
                axis: duct.axis,
                across: duct.across,
                z: duct.z,
                radius: duct.radius,
                hole: wall.hole,
                ring: wall.ring.clone(),
                below: head.map(|head| (part.base + part.heights.top_of(head.courses.1)).nm()),
            });
        }
    }
    cuts
}

/// Refuses headers that run into other work of their course: at a corner, against a ledge on the next side, a vent or
/// a lintel.
fn check_headers(work: &PartWork) -> Result<(), PlanError> {
    let mut from = 0;
    while let Some(first) = work.pieces.get(from) {
        let rest = work.pieces.get(from..).unwrap_or_default();
        let count = rest.partition_point(|piece| piece.course == first.course);
        let course = rest.get(..count).unwrap_or_default();
        from += count;
        if !course.iter().any(|piece| piece.role == Role::LedgeHeader) {
            continue;
        }
        // Pieces by the squares of a grid that they touch: a header meets few.
        let mut squares: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
        for (index, piece) in course.iter().enumerate() {
            for square in grid(&work.bounds(piece)) {
                squares.entry(square).or_default().push(index);
            }
        }
        for (index, header) in course.iter().enumerate() {
            if header.role != Role::LedgeHeader {
                continue;
            }
            let cuboid = header.cuboid();
            let meets = |other: &Cuboid| cuboid.shared(other).is_some();
            let beside = grid(&cuboid)
                .filter_map(|square| squares.get(&square))
                .flatten()
                .any(|&other| {
                    other != index && course.get(other).is_some_and(|p| meets(&work.bounds(p)))
                });
            let fixed = work.bodies.iter().any(|body| meets(&body.cuboid))
                || work
                    .voids
                    .iter()
                    .filter_map(Void::cuboid)
                    .any(|v| meets(&v));
            if beside || fixed {
                return Err(PlanError::new(
                    "does-not-fit",
                    format!(
                        "a header of the ledge in course {} runs into a corner or what else is in that course",
                        header.course
                    ),
                    "take fewer headers, let them project less, or choose another course or side",
                )
                .at_key("course"));
            }
        }
    }
    Ok(())
}

/// The squares of a grid half a metre wide that a box touches in plan.
fn grid(cuboid: &Cuboid) -> impl Iterator<Item = (i64, i64)> + use<> {
    const SQUARE: i64 = 500_000_000;
    let squares =
        |(from, to): (Length, Length)| from.nm().div_euclid(SQUARE)..=to.nm().div_euclid(SQUARE);
    let deep = squares(cuboid.span(Axis::Y));
    squares(cuboid.span(Axis::X)).flat_map(move |x| deep.clone().map(move |y| (x, y)))
}

fn add_part(laid: &mut Laid, part: &MeasuredPart, work: PartWork) {
    let first = laid.pieces.len();
    let shapings_before = laid.shapings.len() as u32;
    let mut envelope = match part.round {
        Some(_) => Vec::new(),
        None => part.wall_boxes(),
    };
    envelope.extend(work.projections);
    laid.pieces
        .extend(work.pieces.into_iter().map(|piece| Piece {
            shaping: if piece.shaping == 0 {
                0
            } else {
                piece.shaping + shapings_before
            },
            role: role_of(part, piece.role),
            ..piece
        }));
    laid.shapings.extend(work.shapings);
    let unit = &part.setting.unit;
    let mut joints: Volume = envelope.iter().map(Cuboid::volume).sum();
    joints += work.prisms.iter().map(Turned::volume).sum::<Volume>();
    joints += work.quads.iter().map(Quad::volume).sum::<Volume>();
    if let Some(coping) = &work.coping {
        joints += coping.envelope.iter().map(Cuboid::volume).sum::<Volume>();
        let slabs = coping.slabs.iter().map(|slab| slab.cuboid.volume());
        joints -= slabs.sum::<Volume>();
    }
    let mut solid = Volume::default();
    for piece in laid.pieces.get(first..).unwrap_or_default() {
        solid += laid.piece_volume(piece);
    }
    joints -= solid;
    for body in &work.bodies {
        joints -= body.cuboid.volume();
    }
    for void in &work.voids {
        joints -= void.volume();
    }
    if let Some(two) = part.part.leaves {
        let index = laid.parts.len();
        let free = free_space(
            part,
            (&work.bodies, &work.voids),
            part.setting.joints.head.nominal,
        );
        if let Some(set) = two.ties {
            laid.ties.extend(ties(part, index, &free, set));
        }
        if !two.filled {
            for (leg, boxes) in free.into_iter().enumerate() {
                joints -= boxes.iter().map(Cuboid::volume).sum();
                let here = boxes.into_iter().map(|open| (index, leg, open));
                laid.cavities.extend(here);
            }
        }
    }
    let pieces = laid.pieces.get(first..).unwrap_or_default();
    let butted = butt_ties(part, laid.parts.len(), pieces);
    laid.ties.extend(butted);
    let share = |share: f64| solid.scale(share).unwrap_or_default();
    let hollows = Hollows {
        cores: share(unit.core_share),
        frogs: share(unit.frog_share),
    };
    let core = match (part.core, part.inside) {
        (true, Some(inside)) => inside.volume(),
        _ => Volume::default(),
    };
    laid.bodies.extend(work.bodies);
    laid.voids.extend(work.voids);
    laid.arches.extend(work.arches);
    laid.duct_rings.extend(work.duct_rings);
    laid.corbels.extend(work.corbels);
    laid.sills.extend(work.sills);
    laid.round_openings.extend(work.round_openings);
    laid.breaches.extend(work.breaches);
    laid.parts.push(LaidPart {
        name: part.name.clone(),
        kind: match part.lines {
            Some(_) => PartKind::Lining,
            None => part.part.kind(),
        },
        setting: Arc::clone(&part.setting),
        outside: part.outside,
        inside: part.inside,
        compartments: part.compartments.clone(),
        body: part.body,
        sides: part.sides,
        junctions: junctions(part),
        thickness: part.thickness,
        // A ring is one leaf thick.
        least_lap: Length::from_nm(part.rules.least_lap),
        leaves: (part.leaves.len() as u32).max(1),
        courses: part.courses,
        heights: part.heights.clone(),
        envelope,
        prisms: work.prisms,
        quads: work.quads,
        coping: work.coping,
        ring: part.round.as_ref().map(|round| laid_ring(part, round)),
        pieces: first..laid.pieces.len(),
        snapped: part.snapped.clone(),
        joints,
        hollows,
        core,
        leg_names: (0..part.whole.len())
            .map(|leg| part.branch_of(leg).map(|branch| branch.name.clone()))
            .collect(),
        legs: part
            .whole
            .iter()
            .map(|strip| {
                let length = |(from, to)| (Length::from_nm(from), Length::from_nm(to));
                LaidLeg {
                    axis: strip.axis,
                    span: length(strip.span()),
                    across: length((strip.across, strip.across + strip.thickness)),
                    inside_high: strip.inside_high,
                    starts_low: strip.starts_low,
                }
            })
            .collect(),
    });
}

/// Where the branches of a part meet its walls.
fn junctions(part: &MeasuredPart) -> Vec<Junction> {
    let length = |(from, to)| (Length::from_nm(from), Length::from_nm(to));
    let mut found = Vec::new();
    for branch in &part.branches {
        let along = branch.leaves.first().map(|leaf| leaf.axis);
        let projects = along.map_or(Length::ZERO, |axis| {
            let spans = branch.boxes.iter().map(|one| one.span(axis));
            spans.map(|(from, to)| to - from).sum()
        });
        let beyond = |(low, high): (i64, i64)| {
            let (low, high) = (Length::from_nm(low), Length::from_nm(high));
            let spans = branch.boxes.iter().filter_map(|one| Some(one.span(along?)));
            spans.fold(
                (Length::ZERO, Length::ZERO),
                |(below, above), (from, to)| {
                    // A partition stands between two walls, on the far side of neither.
                    let under = if to <= low { low - from } else { Length::ZERO };
                    let over = if from >= high {
                        to - high
                    } else {
                        Length::ZERO
                    };
                    (below.max(under), above.max(over))
                },
            )
        };
        found.extend(branch.crossings.iter().map(|crossing| Junction {
            name: branch.name.clone(),
            kind: branch.kind,
            leg: crossing.leg,
            span: length(crossing.span),
            projects,
            beyond: beyond(crossing.wall),
            height: part.heights.top_of(branch.courses),
            toothed: crossing.toothed,
            ties: branch.ties,
        }));
    }
    found
}

fn laid_duct(duct: &MeasuredDuct, plan: &Plan) -> Option<LaidDuct> {
    let asked = plan.ducts.get(duct.index)?;
    let gap = Length::from_nm(duct.gap);
    let walls = Length::from_nm(duct.wall_total);
    Some(LaidDuct {
        name: asked.name.clone(),
        index: duct.index,
        from: duct.from,
        to: duct.to,
        axis: duct.axis,
        across: Length::from_nm(duct.across),
        heights: (
            Length::from_nm(duct.z - duct.radius),
            Length::from_nm(duct.z + duct.radius),
        ),
        gap,
        walls,
        length: gap + walls + asked.proud * 2,
        proud: asked.proud,
    })
}

/// Room to work round the forms: dig this far beyond the slab (manufacturer data sheet for dry-mixed concrete,
/// generic: 150 mm beyond the lines).
pub const WORKING_SPACE: Length = Length::mm(150);

fn laid_slab(laid: &Laid) -> Option<LaidSlab> {
    let slab = laid.plan.slab.as_ref()?;
    // A part on another stands on its walls, not on the ground.
    let grounded = laid
        .parts
        .iter()
        .filter(|part| !part.outside.at.z.is_positive());
    let covered: Vec<Cuboid> = if slab.strip {
        grounded.flat_map(LaidPart::footings).copied().collect()
    } else {
        let all = grounded.map(|part| part.outside);
        all.reduce(|a, b| a.around(&b)).into_iter().collect()
    };
    if covered.is_empty() {
        return None;
    }
    let footprint = Footprint::of(&covered, slab.margin);
    let base = -slab.depth;
    Some(LaidSlab {
        hole: Footprint::of(&covered, slab.margin + WORKING_SPACE),
        concrete: footprint.boxes((base, Length::ZERO)),
        subbase: if slab.subbase.is_positive() {
            footprint.boxes((base - slab.subbase, base))
        } else {
            Vec::new()
        },
        footprint,
    })
}
