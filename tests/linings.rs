//! Linings: clear of their walls, open where those are, of their own unit and gauge; random lined chambers keep what
//! holds of all laid work.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::collections::BTreeMap;
use std::sync::Arc;

use perpend::layout::{
    Axis, BreachKind, Cuboid, GapSpace, Laid, LaidLining, LaidPart, Piece, Role, Shaping, Void,
    VoidKind, VoidShape, explain, lay,
};
use perpend::masonry::Catalogue;
use perpend::plan::{
    Arch, ArchKind, Coursing, Duct, GapFill, Laying, Ledge, Lid, Lining, Lintel, LintelKind, Meet,
    MortarChoice, Opening, Part, PartKind, Placement, Plan, PlanError, Relation, Rise, Shape, Side,
    SideRef, Size, Snap, Vent,
};
use perpend::quantity::{Length, Mass, Volume};
use perpend::review::Review;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;

mod common;
use common::{bench, chamber, mm, unit, units};

const PLAIN: Lining = Lining {
    gap: Length::mm(10),
    fill: GapFill::Open,
    laid: Laying::Stretcher,
    cut: true,
    to_top: true,
    meet: None,
    lintel: Some(LintelKind::Concrete),
};

/// A lining of a unit, as high as asked for or up to the walls.
fn lining(of: &str, asked: Lining, courses: Option<u32>) -> Part {
    let rise = Rise::Courses(courses.unwrap_or(1));
    let shape = Shape::Lining(Lining {
        to_top: courses.is_none(),
        ..asked
    });
    let mut part = Part::new(shape, rise).expect("a lining");
    part.snap = Snap::Exact;
    part.own.unit = Some(unit(of));
    part.own.bond = Some("stretcher".to_owned());
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    part.own.mortar = Some(MortarChoice {
        mix: catalogue.mortar("refractory").expect("a mix"),
        bag: None,
        powder_bag: Mass::from_kg(25.0).expect("a mass"),
    });
    part
}

fn lined(mut walls: Part, by: Part) -> Part {
    walls.fired = true;
    walls.with_lining(by).expect("a lined part")
}

fn firebox(courses: u32) -> Part {
    let door = Opening {
        lintel: Some(Lintel::of(LintelKind::Steel)),
        ..opening("door", Side::Front, 2.0, (2, 4))
    };
    let vent = Vent {
        name: "air".to_owned(),
        side: SideRef::Side(Side::Left),
        course: 2,
        count: 1,
        width: Length::mm(60),
    };
    chamber(6.0, 5.0, courses)
        .with_opening(door)
        .and_then(|part| part.with_vent(vent))
        .expect("a firebox")
}

fn opening(name: &str, side: Side, width: f64, courses: (i64, i64)) -> Opening {
    Opening::new(name, SideRef::Side(side), units(width), courses).expect("an opening")
}

fn plan_of(host: &str, part: Part) -> Plan {
    bench(host)
        .with_part("box", Arc::new(part), Placement::Origin)
        .expect("placed")
}

fn laid(plan: Plan) -> Laid {
    lay(&Arc::new(plan)).expect("laid")
}

fn refused(plan: Plan) -> PlanError {
    lay(&Arc::new(plan)).expect_err("it cannot be laid")
}

type Bounds = [(i64, i64); 3];

fn bounds(cuboid: &Cuboid) -> Bounds {
    let nm = |(a, b): (Length, Length)| (a.nm(), b.nm());
    [
        nm(cuboid.span(Axis::X)),
        nm(cuboid.span(Axis::Y)),
        nm(cuboid.heights()),
    ]
}

fn meet(a: &Bounds, b: &Bounds) -> bool {
    a.iter().zip(b).all(|(a, b)| a.0 < b.1 && b.0 < a.1)
}

fn volume(bounds: &Bounds) -> f64 {
    bounds.iter().map(|(a, b)| (b - a) as f64).product()
}

fn gap_boxes(lining: &LaidLining) -> &[Cuboid] {
    match &lining.space {
        GapSpace::Boxes(boxes) => boxes,
        GapSpace::Round { .. } => &[],
    }
}

/// Nothing shares space: pieces and lintels of all parts, and the gaps with all of them.
fn check_apart(laid: &Laid) -> Result<(), String> {
    let mut all: Vec<(String, Bounds)> = laid
        .pieces
        .iter()
        .map(|piece| {
            let what = format!(
                "{} course {}",
                laid.part_name(piece.part.into()),
                piece.course
            );
            (what, bounds(&laid.bounds(piece)))
        })
        .collect();
    all.extend(
        laid.bodies
            .iter()
            .map(|body| (body.name.clone(), bounds(&body.cuboid))),
    );
    let gaps = laid.linings.iter().flat_map(gap_boxes);
    all.extend(gaps.map(|gap| ("gap".to_owned(), bounds(gap))));
    all.sort_by_key(|(_, one)| one[2].0);
    for (at, (what, one)) in all.iter().enumerate() {
        let above = all.iter().skip(at + 1);
        let beside = above.take_while(|(_, other)| other[2].0 < one[2].1);
        for (other, box_of) in beside {
            if meet(one, box_of) {
                return Err(format!("{what} and {other} overlap: {one:?} {box_of:?}"));
            }
        }
    }
    Ok(())
}

/// What a duct takes of a box, by slices across its axis: Simpson's rule is exact enough for a cubic millimetre.
fn bitten(of: &Bounds, axis: Axis, across: i64, z: i64, radius: i64) -> f64 {
    let (along, beside) = match axis {
        Axis::X => (of[0], of[1]),
        Axis::Y => (of[1], of[0]),
    };
    let from = |(a, b): (i64, i64), middle: i64| ((a - middle) as f64, (b - middle) as f64);
    let (x, y) = (from(beside, across), from(of[2], z));
    let r = radius as f64;
    let (low, high) = (x.0.max(-r), x.1.min(r));
    if low >= high {
        return 0.0;
    }
    // Substituting x = r sin t flattens the ends of the circle.
    let height = |t: f64| {
        let half = r * t.cos();
        (y.1.min(half) - y.0.max(-half)).max(0.0) * r * t.cos()
    };
    let (from, to) = ((low / r).asin(), (high / r).asin());
    let steps = 200_000;
    let step = (to - from) / f64::from(steps);
    let sum: f64 = (0..steps)
        .map(|at| height(from + step * (f64::from(at) + 0.5)))
        .sum();
    sum * step * (along.1 - along.0) as f64
}

fn solid(laid: &Laid, piece: &Piece) -> f64 {
    let whole = bounds(&laid.bounds(piece));
    let taken = match laid.shaping(piece) {
        Some(Shaping::Bites(bites, _)) => bites
            .iter()
            .map(|bite| {
                bitten(
                    &whole,
                    bite.axis,
                    bite.across.nm(),
                    bite.z.nm(),
                    bite.radius.nm(),
                )
            })
            .sum(),
        None => 0.0,
        Some(other) => unreachable!("no {other:?} in these plans"),
    };
    volume(&whole) - taken
}

/// The envelope less pieces, lintels and voids is the mortar, to one cubic millimetre.
fn check_volume(laid: &Laid, index: usize, part: &LaidPart) -> Result<(), String> {
    let sum = |boxes: &mut dyn Iterator<Item = &Cuboid>| {
        boxes.map(|one| volume(&bounds(one))).sum::<f64>()
    };
    let mut left = sum(&mut part.envelope.iter());
    left -= laid
        .pieces_of(part)
        .iter()
        .map(|piece| solid(laid, piece))
        .sum::<f64>();
    let bodies = laid.bodies.iter().filter(|body| body.part == index);
    left -= sum(&mut bodies.map(|body| &body.cuboid));
    for void in laid.voids.iter().filter(|void| void.part == index) {
        left -= match void.shape {
            VoidShape::Box(cuboid) => volume(&bounds(&cuboid)),
            VoidShape::Cylinder { radius, span, .. } => {
                let r = radius.nm() as f64;
                std::f64::consts::PI * r * r * (span.1 - span.0).nm() as f64
            }
            VoidShape::Profile { .. } | VoidShape::Sector(_) => {
                unreachable!("no arches and no round walls in these plans")
            }
        };
    }
    let off = left / 1e18 - part.joints.to_mm3();
    if off.abs() > 1.0 {
        return Err(format!("{}: mortar is {off} mm³ off", part.name));
    }
    Ok(())
}

/// Every piece stands in the walls of its part, and a lining within its host and clear of it.
fn check_places(laid: &Laid) -> Result<(), String> {
    for part in &laid.parts {
        let walls: Vec<Bounds> = part.envelope.iter().map(bounds).collect();
        for piece in laid.pieces_of(part) {
            let one = bounds(&laid.bounds(piece));
            let held: f64 = walls
                .iter()
                .map(|wall| {
                    let sides = one.iter().zip(wall);
                    let span = |((a, b), (c, d)): (&(i64, i64), &(i64, i64))| {
                        (*b.min(d) - *a.max(c)).max(0)
                    };
                    sides.map(|pair| span(pair) as f64).product::<f64>()
                })
                .sum();
            if (held - volume(&one)).abs() > 1e15 {
                return Err(format!(
                    "{}: a piece leaves the walls at {one:?}",
                    part.name
                ));
            }
        }
    }
    Ok(())
}

/// Head joints nearer to one below than the least lap are listed.
fn check_laps(laid: &Laid, index: usize, part: &LaidPart) -> Result<(), String> {
    let mut runs: BTreeMap<(u8, u8, u16), Vec<(i64, i64)>> = BTreeMap::new();
    for piece in laid.pieces_of(part) {
        let axis = part.legs[usize::from(piece.leg)].axis;
        let (from, to) = laid.bounds(piece).span(axis);
        let key = (piece.leaf, piece.leg, piece.course);
        runs.entry(key).or_default().push((from.nm(), to.nm()));
    }
    let head = part.setting.joints.head;
    let widest = head.longest.nm() + 1;
    for run in runs.values_mut() {
        run.sort_unstable();
    }
    // What is left beside a pipe is no joint.
    let piped = |axis: Axis, middle: i64| {
        laid.voids.iter().any(|void| {
            matches!(void.shape, VoidShape::Cylinder { axis: along, across, radius, .. }
                if void.part == index && along != axis && (across.nm() - middle).abs() <= (radius + head.nominal).nm())
        })
    };
    let joints = |axis: Axis, run: &Vec<(i64, i64)>| {
        let pairs = run
            .windows(2)
            .filter(|pair| pair[1].0 - pair[0].1 <= widest);
        pairs
            .map(|pair| i64::midpoint(pair[0].1, pair[1].0))
            .filter(|&middle| !piped(axis, middle))
            .collect::<Vec<i64>>()
    };
    for ((leaf, leg, course), run) in &runs {
        let Some(below) = runs.get(&(*leaf, *leg, course - 1)) else {
            continue;
        };
        let axis = part.legs[usize::from(*leg)].axis;
        let below = joints(axis, below);
        for joint in joints(axis, run) {
            let Some(lap) = below.iter().map(|other| (other - joint).abs()).min() else {
                continue;
            };
            let listed = laid.breaches.iter().any(|breach| {
                let at = match axis {
                    Axis::X => breach.at.x,
                    Axis::Y => breach.at.y,
                };
                breach.kind == BreachKind::LapTooShort
                    && (breach.part, breach.course) == (index, u32::from(*course))
                    && (at.nm() - joint).abs() <= 2
            });
            if lap < part.least_lap.nm() - 2 && !listed {
                return Err(format!(
                    "{}: a lap of {lap} in course {course} is not listed",
                    part.name
                ));
            }
        }
    }
    Ok(())
}

/// A lining stands as clear as it was asked to, and is open, up to its top, wherever its walls are.
fn check_lining(laid: &Laid, lining: &LaidLining) -> Result<(), String> {
    let (host, part) = (&laid.parts[lining.host], &laid.parts[lining.part]);
    let asked = laid.plan.parts[&part.name]
        .part
        .as_lining()
        .expect("a lining");
    if lining.gap < asked.gap {
        return Err(format!("{} clear instead of {}", lining.gap, asked.gap));
    }
    let top = part.outside.heights().1;
    let of = |index: usize| laid.voids.iter().filter(move |void| void.part == index);
    for void in of(lining.host) {
        let through = match void.shape {
            VoidShape::Box(open) if open.heights().0 >= top => true,
            VoidShape::Box(open) => of(lining.part).any(|other: &Void| {
                let Some(inner) = other.cuboid() else {
                    return false;
                };
                let (a, b) = (open.heights(), inner.heights());
                other.side == void.side
                    && open.span(void.axis) == inner.span(void.axis)
                    && b.0 <= a.0
                    && b.1 >= a.1.min(top)
            }),
            VoidShape::Cylinder { z, radius, .. } if z - radius >= top => true,
            VoidShape::Cylinder {
                across, z, radius, ..
            } => of(lining.part).any(|other| {
                matches!(other.shape, VoidShape::Cylinder { across: a, z: b, radius: c, .. }
                    if (a, b, c) == (across, z, radius))
            }),
            VoidShape::Profile { .. } | VoidShape::Sector(_) => true,
        };
        if !through {
            return Err(format!("{} does not go through the lining", void.name));
        }
    }
    if host.inside != part.inside {
        return Err("the inside is not that of the lining".to_owned());
    }
    Ok(())
}

fn check(laid: &Laid) -> Result<(), String> {
    check_apart(laid)?;
    check_places(laid)?;
    for (index, part) in laid.parts.iter().enumerate() {
        check_volume(laid, index, part)?;
        check_laps(laid, index, part)?;
    }
    laid.linings
        .iter()
        .try_for_each(|lining| check_lining(laid, lining))
}

prop_compose! {
    fn lined_plan()(
        walls in prop_oneof![Just("uk"), Just("nf"), Just("us_modular"), Just("au"), Just("uk_block")],
        stuff in prop_oneof![3 => Just("firebrick"), 1 => Just("uk50"), 1 => Just("firebrick3")],
        (across, deep, courses) in (8_i64..=14, 8_i64..=12, 5_u32..=12),
        thick in 1_i64..=2,
        edge in any::<bool>(),
        gap in 0_i64..=25,
        high in proptest::option::of(2_u32..=9),
        snap in any::<bool>(),
        meeting in prop_oneof![3 => Just(None), 1 => Just(Some(Meet::Most))],
        split in proptest::option::of(1_u32..=2),
        door in proptest::option::of((0_usize..4, 1_i64..=4, 1_i64..=3, 0_i64..=3, any::<bool>())),
        vent in proptest::option::of((0_usize..4, 1_u32..=4, 1_u32..=2, 40_i64..=90)),
        duct in proptest::option::of((2_u32..=5, 60_i64..=160, any::<bool>())),
    ) -> Plan {
        let mut part = chamber(across as f64 / 2.0, deep as f64 / 2.0, courses);
        part.thickness = thick;
        if let Some((side, width, from, up, carried)) = door {
            let open = Opening {
                lintel: carried.then(|| Lintel::of(LintelKind::Concrete)),
                ..opening("door", Side::ALL[side], width as f64 / 2.0, (from, from + up))
            };
            part = part.clone().with_opening(open).unwrap_or(part);
        }
        if let Some((side, course, count, width)) = vent {
            let vent = Vent {
                name: "air".to_owned(),
                side: SideRef::Side(Side::ALL[side]),
                course,
                count,
                width: Length::mm(width),
            };
            part = part.clone().with_vent(vent).unwrap_or(part);
        }
        let asked = Lining {
            gap: Length::mm(gap),
            laid: if edge { Laying::Shiner } else { Laying::Stretcher },
            meet: meeting,
            ..PLAIN
        };
        let mut by = lining(stuff, asked, high);
        by.snap = if snap { Snap::Down } else { Snap::Exact };
        if let Some(course) = split {
            by.coursing = Coursing { split: vec![(course, Length::mm(35))], ..Coursing::default() };
        }
        let mut plan = plan_of(walls, lined(part, by));
        if let Some((course, diameter, two)) = duct {
            let beside = Placement::Against {
                relation: Relation::RightOf,
                other: "box".to_owned(),
                gap: Some(Size::Length(Length::mm(300))),
                align: perpend::plan::Align::Centre,
            };
            let smoke = Arc::new(chamber(4.0, 4.0, 12));
            let duct = Duct {
                name: "throat".to_owned(),
                from: "box".to_owned(),
                to: two.then(|| "smoke".to_owned()),
                side: (!two).then_some(SideRef::Side(Side::Back)),
                diameter: Length::mm(diameter),
                course,
                proud: Length::mm(20),
                shift: Length::ZERO,
raise: Length::ZERO,
from_annex: None,
to_annex: None,
head: None,
            };
            let with = plan.clone().with_part("smoke", smoke, beside);
            plan = with.and_then(|plan| plan.with_duct(duct)).unwrap_or(plan);
        }
        plan
    }
}

/// Leaves out what stands in the way until the plan can be laid.
fn laid_at_last(mut plan: Plan) -> Option<Laid> {
    loop {
        if let Ok(laid) = lay(&Arc::new(plan.clone())) {
            return Some(laid);
        }
        let host = Arc::make_mut(&mut plan.parts.get_mut("box")?.part);
        if plan.ducts.pop().is_none() && host.vents.pop().is_none() && host.openings.pop().is_none()
        {
            return None;
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn lined_chambers_are_sound(plan in lined_plan()) {
        if let Some(laid) = laid_at_last(plan) {
            if let Err(broken) = check(&laid) {
                prop_assert!(false, "{}", broken);
            }
            prop_assert!(lay(&laid.plan).expect("laid once") == laid);
            let takeoff = Takeoff::of(&laid).expect("a takeoff");
            let kinds: u64 = takeoff.kinds.iter().map(|kind| kind.laid).sum();
            prop_assert_eq!(kinds, laid.pieces.len() as u64);
            let _ = Review::of(&laid, &takeoff);
        }
    }
}

/// A chamber of UK bricks 6 × 5 units outside: 1340 × 1115 mm, within walls of 102.5 mm 1135 × 910 mm. A lining of
/// firebrick 114.3 mm thick and 10 mm clear is 1115 × 890 mm outside and 886.4 × 661.4 mm inside. Ten courses of 2 1/2 in
/// on 1/8 in are 666.75 mm, eleven too high for 9 × 75 = 675 mm.
#[test]
fn sizes_follow_from_the_walls() {
    let laid = laid(plan_of(
        "uk",
        lined(chamber(6.0, 5.0, 9), lining("firebrick", PLAIN, None)),
    ));
    let part = &laid.parts[1];
    assert_eq!(
        (part.name.as_str(), part.kind),
        ("box lining", PartKind::Lining)
    );
    let size = |cuboid: &Cuboid| (cuboid.length, cuboid.width, cuboid.height);
    assert_eq!(size(&part.outside), (mm(1115.0), mm(890.0), mm(666.75)));
    let inside = laid.parts[0].inside.expect("an inside");
    assert_eq!(size(&inside), (mm(886.4), mm(661.4), mm(666.75)));
    // Within the lining, and the 8.25 mm above it between the walls.
    let clear = laid.clear_volume(0).expect("a volume").to_mm3();
    assert!((clear - (886.4 * 661.4 * 666.75 + 1135.0 * 910.0 * 8.25)).abs() < 1.0);
    // 2 · (1135 + 910) − 4 · 10 along the middle of a gap of 10 mm.
    assert_eq!(
        (laid.linings[0].gap, laid.linings[0].run),
        (mm(10.0), mm(4050.0))
    );
    let gap: Volume = gap_boxes(&laid.linings[0]).iter().map(Cuboid::volume).sum();
    assert!((gap.to_mm3() - 4050.0 * 10.0 * 666.75).abs() < 1.0);
}

/// On edge it is 63.5 mm thick and its courses rise 114.3 + 3.175 mm; its pieces are shiners of the unit as it is bought.
#[test]
fn on_edge_it_is_thinner_and_of_the_same_unit() {
    let asked = Lining {
        laid: Laying::Shiner,
        ..PLAIN
    };
    let laid = laid(plan_of(
        "uk",
        lined(chamber(6.0, 5.0, 9), lining("firebrick", asked, None)),
    ));
    let part = &laid.parts[1];
    assert_eq!(
        (part.thickness, part.heights.top_of(1)),
        (mm(63.5), mm(117.475))
    );
    assert!(
        laid.pieces_of(part)
            .iter()
            .all(|piece| piece.role == Role::Shiner)
    );
    assert_eq!(part.setting.bought().width, mm(114.3));
    let takeoff = Takeoff::of(&laid).expect("a takeoff");
    assert_eq!(takeoff.kinds[1].unit, "firebrick");
}

/// The door of courses 2 to 4 is open from 75 mm to the underside of a bar, 300 mm. Lining courses of 66.675 mm: course 2
/// starts at 66.675, course 5 ends at 333.375, the nearest outside. A vent in course 2, 75 to 160 mm: courses 2 and 3.
#[test]
fn openings_are_in_whole_courses_nearest_outside() {
    let laid = laid(plan_of(
        "uk",
        lined(firebox(9), lining("firebrick", PLAIN, None)),
    ));
    let open = |name: &str| {
        let found = laid
            .voids
            .iter()
            .find(|void| void.part == 1 && void.name == name);
        let found = found.expect("it goes through");
        (found.kind, found.cuboid().expect("a box"))
    };
    let (kind, door) = open("door");
    // The bed over it goes with a concrete lintel's opening.
    assert_eq!(
        (kind, door.heights()),
        (VoidKind::Opening, (mm(66.675), mm(336.55)))
    );
    assert_eq!(door.length, mm(460.0));
    let (kind, air) = open("air");
    assert_eq!(
        (kind, air.heights()),
        (VoidKind::Vent, (mm(66.675), mm(203.2)))
    );
    let walls = laid
        .voids
        .iter()
        .find(|void| void.part == 0 && void.name == "air");
    let walls = walls.and_then(Void::cuboid).expect("a vent");
    assert_eq!(air.span(Axis::Y), walls.span(Axis::Y));
    let lintels: Vec<usize> = laid.bodies.iter().map(|body| body.part).collect();
    assert_eq!(lintels, [0, 1]);
    assert_eq!(laid.bodies[1].kind, LintelKind::Concrete);
}

/// A unit of the lining lies across the vent that goes through it, over the whole range of places of the vent.
#[test]
fn a_unit_lies_across_a_vent() {
    for width in [40, 60, 80] {
        let mut part = chamber(6.0, 5.0, 9);
        part.vents.push(Vent {
            name: "air".to_owned(),
            side: SideRef::Side(Side::Left),
            course: 2,
            count: 1,
            width: Length::mm(width),
        });
        let laid = laid(plan_of("uk", lined(part, lining("firebrick", PLAIN, None))));
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        let review = Review::of(&laid, &takeoff);
        let unbridged = review.findings.iter().find(|found| {
            found.code == "opening-not-bridged" && found.place.part.as_deref() == Some("box lining")
        });
        assert!(unbridged.is_none(), "{width}: {unbridged:?}");
    }
}

/// Wall 102.5, gap 10, lining 114.3 and 20 mm proud at both ends: one bore of one axis through both.
#[test]
fn a_duct_is_bored_through_both() {
    let duct = Duct {
        name: "flue".to_owned(),
        from: "box".to_owned(),
        to: None,
        side: Some(SideRef::Side(Side::Back)),
        diameter: Length::mm(100),
        course: 5,
        proud: Length::mm(20),
        shift: Length::mm(15),
        raise: Length::ZERO,
        from_annex: None,
        to_annex: None,
        head: None,
    };
    let plan = plan_of("uk", lined(firebox(9), lining("firebrick", PLAIN, None)));
    let laid = laid(plan.with_duct(duct).expect("a duct"));
    assert_eq!(laid.ducts[0].length, mm(102.5 + 10.0 + 114.3 + 40.0));
    let bores: Vec<(usize, Length, Length)> = laid
        .voids
        .iter()
        .filter_map(|void| match void.shape {
            VoidShape::Cylinder { across, z, .. } => Some((void.part, across, z)),
            _ => None,
        })
        .collect();
    assert_eq!(bores.iter().map(|bore| bore.0).collect::<Vec<_>>(), [0, 1]);
    assert_eq!((bores[0].1, bores[0].2), (bores[1].1, bores[1].2));
    // A pipe over a low lining passes the walls alone.
    let plan = plan_of("uk", lined(firebox(9), lining("firebrick", PLAIN, Some(3))));
    let over = Duct {
        course: 5,
        ..laid.plan.ducts[0].clone()
    };
    let laid = lay(&Arc::new(plan.with_duct(over).expect("a duct"))).expect("laid");
    assert_eq!(laid.ducts[0].length, mm(102.5 + 40.0));
}

/// Eight courses of 75 mm are 600 mm: nine courses of 63.5 mm on a bed of 3.167 mm. Of 3.175 mm they are 0.075 mm more,
/// level within 3 mm; seven are 58.3 mm off the seventh.
#[test]
fn courses_that_come_level_are_named() {
    let laid_with = |meet| {
        let asked = Lining { meet, ..PLAIN };
        laid(plan_of(
            "uk",
            lined(chamber(6.0, 5.0, 9), lining("firebrick", asked, None)),
        ))
    };
    let level = |laid: &Laid| {
        let all = laid.linings[0].meetings(laid).into_iter();
        all.filter(|one| one.meets)
            .map(|one| (one.course, one.other))
            .collect::<Vec<_>>()
    };
    assert_eq!(level(&laid_with(None)), [(8, 9)]);
    // Six courses are 450 mm: seven of 64.286 mm need a bed of 0.786 mm, and six one of 11.5 mm.
    assert!(level(&laid_with(Some(Meet::Course(8)))).contains(&(8, 9)));
    let asked = Lining {
        meet: Some(Meet::Course(3)),
        ..PLAIN
    };
    let plan = plan_of(
        "uk",
        lined(chamber(6.0, 5.0, 9), lining("firebrick", asked, None)),
    );
    assert_eq!(refused(plan).code, "lining-meets-nowhere");
}

#[test]
fn a_ring_is_lined_with_a_ring_that_keeps_its_corners_clear() {
    let ring = |diameter: i64| {
        let ring = perpend::plan::Ring {
            diameter: perpend::plan::Dimension {
                size: Size::Length(Length::mm(diameter)),
                measure: perpend::plan::Measure::Inside,
            },
            laid: Laying::Header,
            cut: true,
        };
        Part::ring(ring, Rise::Courses(3)).expect("a ring")
    };
    for diameter in (700..=1500).step_by(50) {
        let asked = Lining {
            laid: Laying::Sailor,
            ..PLAIN
        };
        let laid = laid(plan_of(
            "uk",
            lined(ring(diameter), lining("firebrick", asked, None)),
        ));
        let lining = &laid.linings[0];
        assert!(lining.gap >= asked.gap, "{diameter}: {}", lining.gap);
        // A unit more round would not go in.
        assert!(
            lining.gap < asked.gap + Length::mm(20),
            "{diameter}: {}",
            lining.gap
        );
        let corner = |part: &LaidPart| {
            let centre = part.ring.expect("a ring").centre;
            let far = part
                .pieces
                .clone()
                .filter_map(|at| laid.turned(&laid.pieces[at]));
            far.flat_map(perpend::layout::Turned::corners)
                .map(|(x, y)| (x - centre.0.nm() as f64).hypot(y - centre.1.nm() as f64))
                .fold((f64::MAX, 0.0_f64), |(low, high), one| {
                    (low.min(one), high.max(one))
                })
        };
        let walls = laid.parts[0].ring.expect("a ring").inner.nm() as f64;
        assert!(corner(&laid.parts[1]).1 + 10e6 <= walls + 2.0);
        assert!(laid.breaches.iter().all(|breach| breach.part == 0));
    }
}

#[test]
fn what_a_lining_cannot_be_is_refused() {
    let by = || lining("firebrick", PLAIN, None);
    let code = |part: Part| refused(plan_of("uk", part)).code;
    let ledge = |course| Ledge {
        course,
        sides: vec![Side::Left, Side::Right],
        count: 1,
        project: units(0.5),
        notch: None,
    };
    let with_ledge = |course, high| {
        let part = chamber(6.0, 5.0, 9)
            .with_ledge(ledge(course))
            .expect("a ledge");
        lined(part, lining("firebrick", PLAIN, high))
    };
    assert_eq!(code(with_ledge(5, None)), "ledge-behind-lining");
    // Above a low lining it hangs free.
    let laid = laid(plan_of("uk", with_ledge(7, Some(5))));
    let rack = Takeoff::of(&laid).expect("a takeoff").fittings;
    let rack = rack
        .iter()
        .find(|one| one.what.starts_with("rack"))
        .expect("a rack");
    // Between the walls, less 5 mm at each end.
    assert_eq!(rack.size.measures(), [mm(1125.0), mm(900.0)]);
    assert_eq!(
        code(lined(chamber(1.5, 1.5, 6), by())),
        "lining-without-inside"
    );
    let mut wide = chamber(6.0, 5.0, 9);
    wide.openings
        .push(opening("gate", Side::Front, 5.0, (1, 3)));
    assert_eq!(code(lined(wide, by())), "opening-outside-wall");
    let mut near = chamber(6.0, 5.0, 9);
    near.vents.push(Vent {
        name: "air".to_owned(),
        side: SideRef::Side(Side::Left),
        course: 2,
        count: 5,
        width: Length::mm(60),
    });
    assert_eq!(code(lined(near, by())), "vent-behind-lining");
    let lid = Lid {
        part: "box".to_owned(),
        annex: None,
        depth: Length::mm(60),
        pieces: 2,
        overhang: Length::ZERO,
        hole: Length::ZERO,
    };
    let high = lined(chamber(6.0, 5.0, 9), lining("firebrick", PLAIN, Some(11)));
    assert_eq!(
        refused(plan_of("uk", high).with_lid(lid).expect("a lid")).code,
        "lid-in-the-way"
    );
    let twice = lined(chamber(6.0, 5.0, 9), by())
        .with_lining(by())
        .expect_err("twice");
    assert_eq!(twice.code, "lining-twice");
    let across = Lining {
        laid: Laying::Header,
        ..PLAIN
    };
    let across = chamber(6.0, 5.0, 9).with_lining(lining("firebrick", across, None));
    assert_eq!(across.expect_err("across").code, "lining-laid-across");
    let wall = common::wall(6.0, 5).with_lining(by()).expect_err("a wall");
    assert_eq!(wall.code, "lining-without-inside");
    let from = Duct {
        name: "flue".to_owned(),
        from: "box lining".to_owned(),
        to: None,
        side: Some(SideRef::Side(Side::Back)),
        diameter: Length::mm(100),
        course: 3,
        proud: Length::ZERO,
        shift: Length::ZERO,
        raise: Length::ZERO,
        from_annex: None,
        to_annex: None,
        head: None,
    };
    let error = plan_of("uk", lined(firebox(9), by()))
        .with_duct(from)
        .expect_err("from a lining");
    assert_eq!(
        (error.code, error.key),
        ("duct-from-a-lining", Some("from"))
    );
}

/// Under an arch the lining is open up to the crown.
#[test]
fn an_arch_is_lined_up_to_its_crown() {
    let mut part = chamber(6.0, 5.0, 12);
    part.openings.push(Opening {
        arch: Some(Arch::of(ArchKind::Segmental)),
        ..opening("mouth", Side::Front, 2.0, (2, 5))
    });
    let laid = laid(plan_of("uk", lined(part, lining("firebrick", PLAIN, None))));
    let crown = laid.arches[0].springing + laid.arches[0].rise;
    let open = laid
        .voids
        .iter()
        .find(|void| void.part == 1)
        .and_then(Void::cuboid);
    assert!(open.expect("an opening").heights().1 >= crown);
    assert!(
        laid.bodies
            .iter()
            .any(|body| body.part == 1 && body.name == "mouth")
    );
}

/// The vents of a lining are where those of the walls came to lie, in an explanation too.
#[test]
fn a_course_of_a_lining_can_be_explained() {
    let plan = plan_of("uk", lined(firebox(9), lining("firebrick", PLAIN, None)));
    let course = explain(&plan, "box lining", 3).expect("an explanation");
    let laid = laid(plan);
    let pieces = laid
        .pieces_of(&laid.parts[1])
        .iter()
        .filter(|piece| piece.course == 3);
    let told: usize = course
        .intervals
        .iter()
        .map(|one| one.laid.items.len())
        .sum();
    assert_eq!(told, pieces.count());
}
