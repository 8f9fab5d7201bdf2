//! Openings and vents in rings and curved walls: work stands at their jambs and nowhere in them, joints break over those
//! below or are listed, volumes add up, and cuts are few.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use perpend::layout::{
    BreachKind, Cut, Laid, LaidPart, Piece, Quad, Sector, Turned, VoidShape, lay,
};
use perpend::plan::{
    Curve, Dimension, Laying, Measure, Opening, Part, Placement, Plan, PlanError, Ring, Rise, Side,
    SideRef, Size, Snap, Vent,
};
use perpend::quantity::Length;
use perpend::review::Review;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;
use proptest::sample::select;

mod common;

type Corners = Vec<(f64, f64)>;

/// Shoelace formula, anticlockwise.
fn area(corners: &Corners) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let pairs = corners.iter().zip(next);
    pairs.map(|(a, b)| a.0 * b.1 - a.1 * b.0).sum::<f64>() / 2.0
}

/// What two convex figures share: one cut by each edge of the other.
fn common_area(one: &Corners, other: &Corners) -> f64 {
    let mut left = one.clone();
    for (a, b) in other.iter().zip(other.iter().cycle().skip(1)) {
        let side = |p: &(f64, f64)| (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0);
        let mut kept = Vec::new();
        for (from, to) in left.iter().zip(left.iter().cycle().skip(1)) {
            let (here, there) = (side(from), side(to));
            if here >= 0.0 {
                kept.push(*from);
            }
            if (here > 0.0 && there < 0.0) || (here < 0.0 && there > 0.0) {
                let share = here / (here - there);
                kept.push((
                    from.0 + share * (to.0 - from.0),
                    from.1 + share * (to.1 - from.1),
                ));
            }
        }
        left = kept;
    }
    if left.len() < 3 { 0.0 } else { area(&left) }
}

fn of_piece(turned: &Turned) -> Corners {
    turned.corners().to_vec()
}

fn of_quad(quad: &Quad) -> Corners {
    let nm = |length: Length| length.nm() as f64;
    quad.corners.iter().map(|&(x, y)| (nm(x), nm(y))).collect()
}

/// Square nanometres in a tenth of a square millimetre: what faces in whole nanometres and radii may leave.
const GRAIN: f64 = 1e11;
const MM: f64 = 1e6;

fn turn(angle: f64) -> f64 {
    (angle + PI).rem_euclid(TAU) - PI
}

/// The sides of a piece at its inner face.
fn sides(piece: &Turned) -> (f64, f64) {
    let half = (piece.inner_width.nm() as f64 / 2.0).atan2(piece.inner.nm() as f64);
    (piece.angle - half, piece.angle + half)
}

fn check(laid: &Laid, part: &LaidPart) -> Result<(), String> {
    let ring = part.ring.ok_or("nothing told")?;
    let inner = ring.inner.nm() as f64;
    let index = laid.parts.iter().position(|one| one.name == part.name);
    let mut solid = 0.0;
    let mut below: Vec<f64> = Vec::new();
    for course in 1..=part.courses {
        let here = |piece: &&Piece| u32::from(piece.course) == course;
        let pieces: Vec<&Piece> = laid.pieces_of(part).iter().filter(here).collect();
        let turned: Vec<&Turned> = pieces
            .iter()
            .filter_map(|piece| laid.turned(piece))
            .collect();
        let middle = turned[0].depth.0 + (turned[0].depth.1 - turned[0].depth.0).half();
        let at_it = |depth: (Length, Length)| depth.0 < middle && middle < depth.1;
        let quads = part
            .quads
            .iter()
            .filter(|quad| at_it(quad.depth))
            .map(of_quad);
        let prisms = part
            .prisms
            .iter()
            .filter(|prism| at_it(prism.depth))
            .map(of_piece);
        let bays: Vec<Corners> = quads.chain(prisms).collect();
        let open: Vec<_> = laid
            .voids
            .iter()
            .filter(|void| Some(void.part) == index)
            .filter_map(|void| match void.shape {
                VoidShape::Sector(sector) if at_it(sector.depth) => Some(sector),
                _ => None,
            })
            .collect();
        for (at, one) in turned.iter().enumerate() {
            let mine = of_piece(one);
            solid += area(&mine) * (one.depth.1 - one.depth.0).nm() as f64;
            if turned[at + 1..].iter().any(|other| one.overlaps(other)) {
                return Err(format!("two pieces of course {course} overlap"));
            }
            let held: f64 = bays.iter().map(|bay| common_area(&mine, bay)).sum();
            if (held - area(&mine)).abs() > GRAIN {
                return Err(format!("a piece of course {course} leaves its bay"));
            }
            let entered = open.iter().flat_map(Sector::quads);
            let entered: f64 = entered
                .map(|quad| common_area(&mine, &of_quad(&quad)))
                .sum();
            if entered > GRAIN {
                return Err(format!("a piece of course {course} stands in an opening"));
            }
        }
        for (at, one) in bays.iter().enumerate() {
            if bays[at + 1..]
                .iter()
                .any(|other| common_area(one, other) > GRAIN)
            {
                return Err(format!("two bays of course {course} overlap"));
            }
        }
        // Work stands at both jambs.
        let front: Vec<&&Turned> = turned
            .iter()
            .filter(|piece| piece.inner == ring.inner)
            .collect();
        for sector in &open {
            let near = |jamb: f64, side: fn((f64, f64)) -> f64| {
                let own = front.iter().map(|piece| side(sides(piece)));
                own.map(|place| turn(place - jamb).abs() * inner)
                    .fold(f64::INFINITY, f64::min)
            };
            if near(sector.sides.0, |side| side.1) > MM || near(sector.sides.1, |side| side.0) > MM
            {
                return Err(format!("no work stands at a jamb in course {course}"));
            }
        }
        // Joints break over those below, or are listed.
        let mut order: Vec<(f64, f64)> = front.iter().map(|piece| sides(piece)).collect();
        order.sort_by(|one, other| turn(one.0).total_cmp(&turn(other.0)));
        let next = order.iter().cycle().skip(1).take(order.len());
        let joints: Vec<f64> = order
            .iter()
            .zip(next)
            .filter_map(|(one, other)| {
                let gap = turn(other.0 - one.1);
                (gap >= 0.0 && gap * inner < 25.0 * MM).then_some(one.1 + gap / 2.0)
            })
            .collect();
        let least = ring.faces.0.nm() as f64 / 4.0 - MM;
        for joint in &joints {
            let short = below
                .iter()
                .any(|other| turn(other - joint).abs() * inner < least);
            let listed = laid.breaches.iter().any(|breach| {
                let (x, y) = (breach.at.x - ring.centre.0, breach.at.y - ring.centre.1);
                let there = (y.nm() as f64).atan2(x.nm() as f64);
                breach.kind == BreachKind::LapTooShort
                    && breach.course == course
                    && turn(there - joint).abs() * inner < MM
            });
            if short && !listed {
                return Err(format!("a short lap in course {course} is not listed"));
            }
        }
        below = joints;
    }
    let quads = part
        .quads
        .iter()
        .map(|quad| quad.volume().nm3() as f64)
        .sum::<f64>();
    let prisms = part
        .prisms
        .iter()
        .map(|prism| prism.volume().nm3() as f64)
        .sum::<f64>();
    let own = laid.voids.iter().filter(|void| Some(void.part) == index);
    let open = own.map(|void| void.volume().nm3() as f64).sum::<f64>();
    let left = quads + prisms - open - solid - part.joints.nm3() as f64;
    if left.abs() > 1e18 {
        return Err(format!("{} mm³ are unaccounted for", left / 1e18));
    }
    Ok(())
}

fn ring(diameter: i64, laid: Laying, cut: bool, courses: u32) -> Part {
    let ring = Ring {
        diameter: Dimension {
            size: Size::Length(Length::mm(diameter)),
            measure: Measure::Inside,
        },
        laid,
        cut,
    };
    Part::ring(ring, Rise::Courses(courses)).expect("a ring")
}

fn curve(radius: i64, halves: i64, thickness: f64, cut: bool, courses: u32) -> Part {
    let curve = Curve {
        radius: Length::mm(radius),
        length: Size::HalfUnits(halves),
        bulges: Side::Back,
        cut,
    };
    let part = Part::curve(curve, Rise::Courses(courses)).expect("a curve");
    part.with_thickness(thickness).expect("a thickness")
}

fn plan_of(part: Part) -> Result<Plan, PlanError> {
    common::bench("uk").with_part("w", Arc::new(part), Placement::Origin)
}

fn laid_of(part: Part) -> Laid {
    let plan = plan_of(part).expect("placed");
    lay(&Arc::new(plan)).expect("laid")
}

fn opening(name: &str, side: SideRef, width: Size, courses: (i64, i64)) -> Opening {
    Opening::new(name, side, width, courses).expect("an opening")
}

fn front() -> SideRef {
    SideRef::Side(Side::Front)
}

fn in_course(laid: &Laid, course: u16) -> (usize, usize) {
    let here = laid.pieces.iter().filter(|piece| piece.course == course);
    let cut = here.clone().filter(|piece| piece.cut != Cut::Whole).count();
    (here.count(), cut)
}

fn size() -> impl Strategy<Value = Size> {
    prop_oneof![
        (1_i64..5).prop_map(Size::HalfUnits),
        (60_i64..600).prop_map(|mm| Size::Length(Length::mm(mm))),
    ]
}

/// The part with a door and perhaps a row of vents: course, count and millimetres of width; none where it is refused.
fn pierced(
    part: Part,
    door: Opening,
    side: SideRef,
    vents: Option<(u32, u32, i64)>,
) -> Option<Part> {
    let part = part.with_opening(door).ok()?;
    let Some((course, count, width)) = vents else {
        return Some(part);
    };
    let vent = Vent {
        name: "air".to_owned(),
        side,
        course,
        count,
        width: Length::mm(width),
    };
    part.with_vent(vent).ok()
}

fn snap() -> impl Strategy<Value = Snap> {
    select(vec![Snap::Nearest, Snap::Up, Snap::Down, Snap::Exact])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn pierced_rings_are_sound(
        diameter in 500_i64..3000,
        laid in select(Laying::ALL.to_vec()),
        cut: bool,
        courses in 1_u32..7,
        snap in snap(),
        sides in (select(Side::ALL.to_vec()), select(Side::ALL.to_vec())),
        width in size(),
        at in proptest::option::of(size()),
        reach in (1_i64..4, 0_i64..4),
        vents in proptest::option::of((1_u32..4, 1_u32..9, 8_i64..150)),
    ) {
        let mut part = ring(diameter, laid, cut, courses);
        part.snap = snap;
        let mut door = opening("door", SideRef::Side(sides.0), width, (reach.0, reach.0 + reach.1));
        door.at = at;
        let Some(part) = pierced(part, door, SideRef::Side(sides.1), vents) else { return Ok(()) };
        judge(part)?;
    }

    #[test]
    fn pierced_curves_are_sound(
        radius in 900_i64..5000,
        halves in 8_i64..30,
        thickness in select(vec![0.5, 1.0]),
        cut: bool,
        courses in 1_u32..7,
        width in size(),
        at in proptest::option::of(size()),
        reach in (1_i64..4, 0_i64..4),
        vents in proptest::option::of((1_u32..4, 1_u32..4, 8_i64..150)),
    ) {
        let part = curve(radius, halves, thickness, cut, courses);
        let mut door = opening("gap", SideRef::Leg(0), width, (reach.0, reach.0 + reach.1));
        door.at = at;
        let Some(part) = pierced(part, door, SideRef::Leg(0), vents) else { return Ok(()) };
        judge(part)?;
    }

    /// Openings that are brought to half units cut few pieces, and no lap.
    #[test]
    fn doors_on_the_raster_keep_every_lap(
        diameter in 700_i64..3000,
        laid in select(vec![Laying::Stretcher, Laying::Shiner, Laying::Header]),
        cut: bool,
        width in size(),
        from in 1_i64..4,
        high in 1_i64..4,
    ) {
        let door = opening("door", front(), width, (from, from + high));
        let Ok(part) = ring(diameter, laid, cut, 8).with_opening(door) else { return Ok(()) };
        let Ok(laid) = plan_of(part).and_then(|plan| lay(&Arc::new(plan))) else { return Ok(()) };
        prop_assert!(laid.breaches.iter().all(|breach| breach.kind != BreachKind::LapTooShort));
        for course in 1..=8 {
            let (_, cut) = in_course(&laid, course);
            prop_assert!(cut <= 4, "{} cuts in course {}", cut, course);
        }
    }
}

fn judge(part: Part) -> Result<(), TestCaseError> {
    let Ok(plan) = plan_of(part) else {
        return Ok(());
    };
    let plan = Arc::new(plan);
    // What does not fit is refused.
    let Ok(laid) = lay(&plan) else { return Ok(()) };
    if let Err(broken) = check(&laid, &laid.parts[0]) {
        return Err(TestCaseError::fail(broken));
    }
    prop_assert!(
        laid == lay(&plan).expect("laid once"),
        "the same plan laid twice differs"
    );
    let takeoff = Takeoff::of(&laid).expect("a takeoff");
    prop_assert_eq!(takeoff.units.laid, laid.pieces.len() as u64);
    let review = Review::of(&laid, &takeoff);
    for breach in &laid.breaches {
        prop_assert!(
            review
                .findings
                .iter()
                .any(|found| found.code == breach.kind.code())
        );
    }
    for opening in &laid.round_openings {
        prop_assert!(opening.clear.0.is_positive() && opening.clear.0 <= opening.clear.1);
    }
    Ok(())
}

/// Of 26 headers round a bowl one is left out, right at the front: nothing is cut. Its neighbours' inner corners stand
/// atan(51.25 / 451.12) off their middle lines, which are 2π/26 from the front: clear are 2 × 451.12 sin(0.24166 − 0.11312)
/// = 115.65 mm.
#[test]
fn an_air_hole_of_one_header_cuts_nothing() {
    let hole = opening("air", front(), Size::HalfUnits(2), (1, 1));
    let part = ring(900, Laying::Header, false, 3).with_opening(hole);
    let laid = laid_of(part.expect("an opening"));
    assert_eq!(in_course(&laid, 1), (25, 0));
    assert_eq!(in_course(&laid, 2), (26, 0));
    let clear = laid.round_openings[0].clear.0;
    assert!((clear.to_mm() - 115.65).abs() < 0.01, "{clear}");
    assert!(
        laid.breaches
            .iter()
            .all(|breach| breach.kind != BreachKind::LapTooShort)
    );
}

/// A door of two units in a ring of stretchers: units end whole at both jambs in every other course, and half between.
#[test]
fn jambs_alternate_between_whole_and_half() {
    let door = opening("door", front(), Size::HalfUnits(4), (1, 4));
    let part = ring(1200, Laying::Stretcher, false, 6).with_opening(door);
    let laid = laid_of(part.expect("a door"));
    let whole = in_course(&laid, 6).0;
    let mut counts: Vec<(usize, usize)> = (1..=4).map(|course| in_course(&laid, course)).collect();
    counts.sort_unstable();
    assert_eq!(
        counts,
        [
            (whole - 2, 0),
            (whole - 2, 0),
            (whole - 1, 2),
            (whole - 1, 2)
        ]
    );
    assert!(
        laid.pieces
            .iter()
            .all(|piece| matches!(piece.cut, Cut::Whole | Cut::Bat(1, 2)))
    );
}

/// A gap of four units up to the top of a curved wall of sixteen: six units and their halves on either side.
#[test]
fn a_gate_in_a_curved_wall() {
    let gate = opening("gate", SideRef::Leg(0), Size::HalfUnits(8), (1, 4));
    let laid = laid_of(
        curve(4000, 32, 0.5, false, 4)
            .with_opening(gate)
            .expect("a gate"),
    );
    assert_eq!(in_course(&laid, 1), (12, 0));
    assert_eq!(in_course(&laid, 2), (14, 4));
    let told = &laid.round_openings[0];
    // Six units of 215 mm with 10 mm joints, the last without one, drawn out to the outer face.
    assert!(
        told.at > Length::mm(1340) && told.at < Length::mm(1400),
        "{}",
        told.at
    );
}

#[test]
fn what_cannot_be_opened_is_refused() {
    let code = |part: Result<Part, PlanError>| {
        let plan = part.and_then(plan_of);
        let laid = plan.and_then(|plan| lay(&Arc::new(plan)));
        laid.map(|_| "laid").expect_err("refused").code
    };
    let hole =
        |width: i64, courses| opening("o", front(), Size::Length(Length::mm(width)), courses);
    let bowl = || ring(900, Laying::Header, false, 3);
    let half = opening("o", front(), Size::HalfUnits(30), (1, 1));
    assert_eq!(code(bowl().with_opening(half)), "opening-wider-than-round");
    assert_eq!(
        code(bowl().with_opening(hole(300, (1, 4)))),
        "course-outside-part"
    );
    let vent = |count| Vent {
        name: "air".to_owned(),
        side: front(),
        course: 1,
        count,
        width: Length::mm(100),
    };
    assert_eq!(code(bowl().with_vent(vent(25))), "does-not-fit");
    let both = bowl().with_opening(hole(300, (1, 2)));
    let both = both.and_then(|part| part.with_vent(vent(1)));
    assert_eq!(code(both), "openings-overlap");
    let wall = || curve(4000, 20, 0.5, false, 3);
    let mut gate = opening("g", SideRef::Leg(0), Size::HalfUnits(4), (1, 3));
    gate.at = Some(Size::HalfUnits(17));
    assert_eq!(code(wall().with_opening(gate)), "opening-outside-wall");
    let side = opening("g", front(), Size::HalfUnits(4), (1, 3));
    assert_eq!(code(wall().with_opening(side)), "side-of-a-wall");
    let leg = opening("g", SideRef::Leg(0), Size::HalfUnits(4), (1, 3));
    assert_eq!(code(bowl().with_opening(leg)), "leg-of-a-ring");
}
