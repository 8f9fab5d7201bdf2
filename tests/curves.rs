//! Curved walls: they end plumb, break joint, fill what they should and keep to their figures.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::many_single_char_names,
    reason = "the allowance for tests does not reach their shared functions; corners are a, b, p, q"
)]

use std::sync::Arc;

use perpend::layout::{Cut, Finished, Laid, LaidPart, Quad, Role, Turned, lay};
use perpend::plan::{
    Align, Curve, Opening, Part, Placement, PlanError, Relation, Rise, Side, SideRef, Size, Snap,
};
use perpend::quantity::Length;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;
use proptest::sample::select;

mod common;

use common::{bench, mm, wall};

fn curve(radius: i64, length: Size, thickness: f64, cut: bool, courses: u32) -> Part {
    let curve = Curve {
        radius: Length::mm(radius),
        length,
        bulges: Side::Front,
        cut,
    };
    let part = Part::curve(curve, Rise::Courses(courses)).expect("a curve");
    part.with_thickness(thickness).expect("a thickness")
}

fn lay_in(unit: &str, part: Part) -> Result<Laid, PlanError> {
    let plan = bench(unit).with_part("w", Arc::new(part), Placement::Origin)?;
    lay(&Arc::new(plan))
}

type Corners = Vec<(f64, f64)>;

fn of_piece(turned: &Turned) -> Corners {
    turned.corners().to_vec()
}

fn of_bay(quad: &Quad) -> Corners {
    let nm = |length: Length| length.nm() as f64;
    quad.corners.iter().map(|&(x, y)| (nm(x), nm(y))).collect()
}

/// Shoelace formula, anticlockwise.
fn area(corners: &Corners) -> f64 {
    let next = corners.iter().cycle().skip(1);
    let twice: f64 = corners
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - a.1 * b.0)
        .sum();
    twice / 2.0
}

/// What two convex figures share: one cut by each edge of the other.
fn common_area(one: &Corners, other: &Corners) -> f64 {
    let mut left = one.clone();
    for (a, b) in other.iter().zip(other.iter().cycle().skip(1)) {
        let side = |p: &(f64, f64)| (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0);
        let mut kept = Vec::new();
        for (p, q) in left.iter().zip(left.iter().cycle().skip(1)) {
            let (from, to) = (side(p), side(q));
            if from >= 0.0 {
                kept.push(*p);
            }
            if (from > 0.0 && to < 0.0) || (from < 0.0 && to > 0.0) {
                let share = from / (from - to);
                kept.push((p.0 + share * (q.0 - p.0), p.1 + share * (q.1 - p.1)));
            }
        }
        left = kept;
    }
    if left.len() < 3 { 0.0 } else { area(&left) }
}

/// Square nanometres in a hundredth of a square millimetre: what rounding to whole nanometres may leave.
const GRAIN: f64 = 1e10;

fn check(laid: &Laid, part: &LaidPart) -> Result<(), String> {
    let ring = part.ring.ok_or("nothing told")?;
    let sweep = ring.sweep.ok_or("it closes")?;
    let mut solid = 0.0;
    let mut below: Vec<f64> = Vec::new();
    for course in 1..=part.courses {
        let pieces: Vec<_> = laid
            .pieces_of(part)
            .iter()
            .filter(|piece| u32::from(piece.course) == course)
            .collect();
        let turned: Vec<&Turned> = pieces.iter().filter_map(|p| laid.turned(p)).collect();
        let top = part.heights.top_of(course) + part.outside.at.z;
        let bays: Vec<&Quad> = part.quads.iter().filter(|q| q.depth.1 == top).collect();
        for (at, one) in turned.iter().enumerate() {
            solid += area(&of_piece(one)) * (one.depth.1 - one.depth.0).nm() as f64;
            for other in &turned[at + 1..] {
                if common_area(&of_piece(one), &of_piece(other)) > GRAIN || one.overlaps(other) {
                    return Err(format!("two pieces of course {course} overlap"));
                }
            }
            let held: f64 = bays
                .iter()
                .map(|bay| common_area(&of_piece(one), &of_bay(bay)))
                .sum();
            if (held - area(&of_piece(one))).abs() > GRAIN {
                return Err(format!("a piece of course {course} leaves its bay"));
            }
            let bounds = one.bounds();
            if bounds.shared(&part.outside) != Some(bounds) {
                return Err("a piece leaves the box round the wall".to_owned());
            }
        }
        for (at, one) in bays.iter().enumerate() {
            for other in &bays[at + 1..] {
                if common_area(&of_bay(one), &of_bay(other)) > GRAIN {
                    return Err(format!("two bays of course {course} overlap"));
                }
            }
        }
        // Ends stand plumb, and joints break over those below.
        let front: Vec<&&Turned> = turned.iter().filter(|t| t.inner == ring.inner).collect();
        let half = |t: &Turned| (t.inner_width.nm() as f64 / 2.0).atan2(t.inner.nm() as f64);
        let (first, last) = (front[0], front[front.len() - 1]);
        let wide = last.angle + half(last) - first.angle + half(first);
        if (wide - sweep).abs() > 1e-6 {
            return Err(format!("course {course} sweeps {wide}, told {sweep}"));
        }
        let joints: Vec<f64> = front
            .windows(2)
            .map(|pair| f64::midpoint(pair[0].angle + half(pair[0]), pair[1].angle - half(pair[1])))
            .collect();
        let unit = &part.setting.unit;
        let face = if part.thickness == unit.width {
            unit.length
        } else {
            unit.width
        };
        for joint in &joints {
            let near = |other: &&f64| {
                (*other - joint).abs() * (ring.inner.nm() as f64) < face.nm() as f64 / 4.0
            };
            if below.iter().any(|other| near(&other)) {
                return Err(format!("a joint of course {course} lies over one below"));
            }
        }
        below = joints;
    }
    let bays: f64 = part
        .quads
        .iter()
        .map(|quad| quad.volume().nm3() as f64)
        .sum();
    let left = bays - solid - part.joints.nm3() as f64;
    // Each piece's corners are exact, its bay's are whole nanometres.
    if left.abs() > 1e18 + 1e14 * part.quads.len() as f64 {
        return Err(format!("{} mm³ are unaccounted for", left / 1e18));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn curved_walls_are_sound(
        unit in select(vec!["uk", "nf", "us_modular"]),
        radius in 500_i64..8000,
        length in prop_oneof![
            (2..=40_i64).prop_map(Size::HalfUnits),
            (400..=6000_i64).prop_map(|mm| Size::Length(Length::mm(mm))),
        ],
        thickness in select(vec![0.5, 1.0]),
        cut: bool,
        snap in select(vec![Snap::Nearest, Snap::Up, Snap::Down, Snap::Exact]),
        bulges in select(Side::ALL.to_vec()),
    ) {
        let mut part = curve(radius, length, thickness, cut, 3);
        part.snap = snap;
        if let perpend::plan::Shape::Curve(shape) = &mut part.shape {
            shape.bulges = bulges;
        }
        let plan = bench(unit).with_part("w", Arc::new(part), Placement::Origin).expect("placed");
        let plan = Arc::new(plan);
        // Too short, too narrow or closed is refused.
        let Ok(laid) = lay(&plan) else { return Ok(()) };
        let part = &laid.parts[0];
        if let Err(broken) = check(&laid, part) {
            prop_assert!(false, "{}", broken);
        }
        prop_assert!(laid == lay(&plan).expect("laid once"));
        let ring = part.ring.expect("told");
        if let Some(snapped) = part.snapped.iter().find(|s| s.what.starts_with("length")) {
            let slack = Length::from_nm(4);
            match snap {
                Snap::Up => prop_assert!(snapped.became >= snapped.asked - slack),
                Snap::Down => prop_assert!(snapped.became <= snapped.asked + slack),
                Snap::Exact => prop_assert!((snapped.became - snapped.asked).abs() <= slack),
                Snap::Nearest => {}
            }
        }
        let head = part.setting.joints.head;
        if cut {
            prop_assert!((ring.joints.0 - ring.joints.1).abs() <= Length::from_nm(2));
        } else if snap != Snap::Exact {
            // From the least radius on, whole units keep their joints.
            let kept = ring.joints.0 >= head.shortest && ring.joints.1 <= head.longest;
            prop_assert_eq!(kept || ring.count < 2, ring.inner + Length::mm(10) > ring.least_radius || kept || ring.count < 2);
        }
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        prop_assert_eq!(takeoff.units.laid, laid.pieces.len() as u64);
    }
}

/// Six UK stretchers round 3 m with joints of 7 mm inside, course on course with half bats of (215 − 7) / 2 mm at both ends
/// of even ones.
#[test]
fn courses_alternate_by_half_a_unit() {
    let laid = lay_in("uk", curve(3000, Size::HalfUnits(12), 0.5, false, 2)).expect("laid");
    let cuts = |course: u16| {
        let pieces = laid.pieces.iter().filter(move |p| p.course == course);
        pieces
            .map(|p| (p.cut, p.length, p.finished))
            .collect::<Vec<_>>()
    };
    assert_eq!(cuts(1), vec![(Cut::Whole, mm(215.0), Finished::Both); 6]);
    let even = cuts(2);
    assert_eq!(even.len(), 7);
    assert_eq!(even[0], (Cut::Bat(1, 2), mm(104.0), Finished::Low));
    assert_eq!(even[6], (Cut::Bat(1, 2), mm(104.0), Finished::High));
    let ring = laid.parts[0].ring.expect("told");
    assert_eq!(ring.count, 6);
    assert_eq!(ring.least_radius, Length::mm(2850));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    // Six units and half bats cut from one more.
    let takeoff = Takeoff::of(&laid).expect("a takeoff");
    assert_eq!((takeoff.units.whole, takeoff.units.cut_up), (11, 1));
}

/// Six units are twelve headers; even courses end with two three-quarter bats side by side, as long as a header and a half
/// with the joint of 7 mm between them: (3 × 102.5 + 7) / 2 mm.
#[test]
fn headers_end_with_three_quarter_bats() {
    let laid = lay_in("uk", curve(4000, Size::HalfUnits(12), 1.0, false, 2)).expect("laid");
    let of = |course: u16| laid.pieces.iter().filter(move |p| p.course == course);
    assert_eq!(of(1).count(), 12);
    assert!(of(1).all(|p| p.role == Role::Header && p.cut == Cut::Whole));
    let bats: Vec<_> = of(2).filter(|p| p.cut == Cut::Bat(3, 4)).collect();
    assert_eq!(bats.len(), 4);
    assert!(
        bats.iter()
            .all(|p| p.length == mm(157.25) && p.role == Role::Stretcher)
    );
    assert_eq!(of(2).count(), 9 + 4);
    assert_eq!(laid.parts[0].thickness, mm(215.0));
}

#[test]
fn what_cannot_be_curved_is_refused() {
    let code = |result: Result<Laid, PlanError>| result.expect_err("refused").code;
    let half = Size::HalfUnits(12);
    assert_eq!(
        code(lay_in("uk", curve(3000, half, 1.5, false, 2))),
        "curve-too-thick"
    );
    assert_eq!(
        code(lay_in("uk", curve(900, Size::HalfUnits(60), 0.5, false, 2))),
        "curve-closes"
    );
    assert_eq!(
        code(lay_in("uk", curve(100, half, 1.0, true, 2))),
        "curve-does-not-fit"
    );
    let side = SideRef::Leg(0);
    let mut opening = Opening::new("o", side, Size::HalfUnits(2), (1, 1)).expect("an opening");
    opening.corbel = Some(perpend::plan::Corbel::default());
    let refused = curve(3000, half, 0.5, false, 2).with_opening(opening);
    assert_eq!(refused.expect_err("refused").code, "head-in-round-work");
}

/// In the hollow of a quarter round of 3 m there is room for a straight wall; across its ends there is none.
#[test]
fn its_hollow_is_free() {
    let plan = |at: (f64, f64)| {
        let bow = curve(3000, Size::HalfUnits(40), 0.5, false, 3);
        bench("uk")
            .with_part("bow", Arc::new(bow), Placement::Origin)
            .and_then(|plan| {
                let at = Placement::At(mm(at.0), mm(at.1));
                plan.with_part("straight", Arc::new(wall(4.0, 3)), at)
            })
            .and_then(|plan| lay(&Arc::new(plan)))
    };
    assert!(plan((1700.0, 600.0)).is_ok());
    assert_eq!(
        plan((1700.0, 50.0)).expect_err("in the bow").code,
        "parts-overlap"
    );
    let inner = curve(2000, Size::HalfUnits(20), 0.5, true, 3);
    let both = bench("uk")
        .with_part(
            "bow",
            Arc::new(curve(3000, Size::HalfUnits(40), 0.5, false, 3)),
            Placement::Origin,
        )
        .and_then(|plan| {
            let inside = Placement::Against {
                relation: Relation::InsideOf,
                other: "bow".to_owned(),
                gap: None,
                align: Align::Centre,
            };
            plan.with_part("seat", Arc::new(inner), inside)
        });
    assert!(both.and_then(|plan| lay(&Arc::new(plan))).is_ok());
}
