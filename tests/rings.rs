//! Rings: every piece within its round, joints as told at both faces, volumes, laps, and what is refused.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    clippy::many_single_char_names,
    reason = "the allowance for tests does not reach their shared functions; corners are a, b, p, q"
)]

use std::f64::consts::PI;
use std::sync::Arc;

use perpend::layout::{Breach, Laid, LaidPart, Turned, lay};
use perpend::masonry::Joint;
use perpend::plan::{
    Dimension, Laying, Lid, Measure, Opening, Part, Placement, Plan, Relation, Ring, Rise, Side,
    SideRef, Size, Snap,
};
use perpend::quantity::Length;
use perpend::review::Review;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;

mod common;

fn ring(measure: Measure, diameter: i64, laid: Laying, cut: bool, courses: u32) -> Part {
    let ring = Ring {
        diameter: Dimension {
            size: Size::Length(Length::mm(diameter)),
            measure,
        },
        laid,
        cut,
    };
    Part::ring(ring, Rise::Courses(courses)).expect("a ring")
}

fn plan_of(unit: &str) -> Plan {
    common::bench(unit)
}

fn laid_of(unit: &str, part: Part) -> Laid {
    let plan = plan_of(unit)
        .with_part("ring", Arc::new(part), Placement::Origin)
        .expect("placed");
    lay(&Arc::new(plan)).expect("laid")
}

type Corners = Vec<(f64, f64)>;

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

fn corners(turned: &Turned) -> Corners {
    turned.corners().to_vec()
}

/// Square nanometres in a hundredth of a square millimetre: what rounding to whole nanometres may leave.
const GRAIN: f64 = 1e10;

fn check(laid: &Laid, part: &LaidPart) -> Result<(), String> {
    let ring = part.ring.ok_or("no ring")?;
    let count = ring.count as usize;
    let turned: Vec<&Turned> = laid
        .pieces_of(part)
        .iter()
        .filter_map(|piece| laid.turned(piece))
        .collect();
    if turned.len() != count * part.courses as usize || part.prisms.len() != turned.len() {
        return Err("pieces are missing".to_owned());
    }
    // Volumes: pieces and joints fill the prisms, which fill the regular polygon course by course.
    let prism = |t: &Turned| area(&corners(t)) * (t.depth.1 - t.depth.0).nm() as f64;
    let envelope: f64 = part.prisms.iter().map(prism).sum();
    let solid: f64 = turned.iter().map(|t| prism(t)).sum();
    let left = envelope - solid - part.joints.nm3() as f64;
    let mm3 = 1e18;
    if left.abs() > mm3 {
        return Err(format!("{} mm³ are unaccounted for", left / mm3));
    }
    let bay = |radius: Length| (radius.nm() as f64).powi(2) * (PI / f64::from(ring.count)).tan();
    let round = f64::from(ring.count) * (bay(ring.outer) - bay(ring.inner));
    let high = part.outside.height.nm() as f64;
    // Each face is a whole number of nanometres: half of one over a face of 300 × 300 mm.
    if (envelope - round * high).abs() > mm3 + mm3 * 0.045 * turned.len() as f64 {
        return Err("the prisms do not fill the round".to_owned());
    }
    for course in 0..part.courses as usize {
        let here = &turned[course * count..(course + 1) * count];
        let bays = &part.prisms[course * count..(course + 1) * count];
        for at in 0..count {
            let (one, two) = (corners(here[at]), corners(here[(at + 1) % count]));
            if common_area(&one, &two) > GRAIN || here[at].overlaps(here[(at + 1) % count]) {
                return Err(format!("neighbours of course {} overlap", course + 1));
            }
            let bays = (corners(&bays[at]), corners(&bays[(at + 1) % count]));
            if common_area(&bays.0, &bays.1) > GRAIN {
                return Err("bays overlap".to_owned());
            }
            if (common_area(&one, &bays.0) - area(&one)).abs() > GRAIN {
                return Err("a piece leaves its bay".to_owned());
            }
            let apart = |p: (f64, f64), q: (f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
            let joints = (apart(one[3], two[0]), apart(one[2], two[1]));
            let told = (ring.joints.0.nm() as f64, ring.joints.1.nm() as f64);
            if (joints.0 - told.0).abs() > 5.0 || (joints.1 - told.1).abs() > 5.0 {
                return Err(format!("joints of {joints:?}, told {told:?}"));
            }
            let bounds = laid.bounds(&laid.pieces_of(part)[course * count + at]);
            if bounds.shared(&part.outside) != Some(bounds) {
                return Err("a piece leaves the box round the ring".to_owned());
            }
        }
        // Joints lie over the middles of the units below.
        if let Some(below) = course
            .checked_sub(1)
            .map(|below| turned[below * count].angle)
        {
            let pitch = 2.0 * PI / f64::from(ring.count);
            let off = (here[0].angle - below).rem_euclid(pitch);
            if (off - pitch / 2.0).abs() > 1e-9 {
                return Err(format!(
                    "course {} is not turned by half a unit",
                    course + 1
                ));
            }
        }
    }
    check_breaches(
        &laid.breaches,
        ring.joints,
        laid.plan.setting.joints.head,
        part.courses,
    )
}

fn check_breaches(
    breaches: &[Breach],
    joints: (Length, Length),
    head: Joint,
    courses: u32,
) -> Result<(), String> {
    let thin = joints.0 < head.shortest;
    let wide = joints.1 > head.longest;
    let due = courses as usize * (usize::from(thin) + usize::from(wide));
    if breaches.len() == due {
        Ok(())
    } else {
        Err(format!("{} breaches, {due} due", breaches.len()))
    }
}

fn laying() -> impl Strategy<Value = Laying> {
    (0..Laying::ALL.len()).prop_map(|at| Laying::ALL[at])
}

fn snap() -> impl Strategy<Value = Snap> {
    prop_oneof![
        Just(Snap::Nearest),
        Just(Snap::Up),
        Just(Snap::Down),
        Just(Snap::Exact)
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rings_are_sound(
        unit in prop_oneof![Just("uk"), Just("nf"), Just("us_modular")],
        measure in prop_oneof![Just(Measure::Inside), Just(Measure::Outside)],
        diameter in 200_i64..4000,
        laid in laying(),
        cut: bool,
        courses in 1_u32..5,
        snap in snap(),
    ) {
        let mut part = ring(measure, diameter, laid, cut, courses);
        part.snap = snap;
        let plan = plan_of(unit).with_part("ring", Arc::new(part), Placement::Origin).expect("placed");
        let plan = Arc::new(plan);
        // Too narrow for these units is refused.
        let Ok(laid) = lay(&plan) else { return Ok(()) };
        let part = laid.parts.first().expect("a part");
        if let Err(broken) = check(&laid, part) {
            prop_assert!(false, "{}", broken);
        }
        let snapped = part.snapped.iter().find(|s| s.what.ends_with("diameter")).expect("told");
        match snap {
            Snap::Up => prop_assert!(snapped.became >= snapped.asked - Length::from_nm(2)),
            Snap::Down => prop_assert!(snapped.became <= snapped.asked + Length::from_nm(2)),
            Snap::Exact => prop_assert!((snapped.became - snapped.asked).abs() <= Length::from_nm(2)),
            Snap::Nearest => {}
        }
        if cut {
            let ring = part.ring.expect("a ring");
            prop_assert!((ring.joints.0 - ring.joints.1).abs() <= Length::from_nm(2));
            prop_assert!(ring.faces.0 < ring.faces.1);
        } else if snap != Snap::Exact {
            let ring = part.ring.expect("a ring");
            prop_assert!(ring.joints.0 >= laid.plan.setting.joints.head.shortest);
        }
        let again = lay(&plan).expect("laid once");
        prop_assert!(laid == again, "the same plan laid twice differs");
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        prop_assert_eq!(takeoff.units.whole, laid.pieces.len() as u64);
        let review = Review::of(&laid, &takeoff);
        for breach in &laid.breaches {
            prop_assert!(review.findings.iter().any(|found| found.code == breach.kind.code()));
        }
    }
}

/// 26 UK headers, worked by hand: with 7 mm inside, r = (7 + 102.5 cos(π/26)) / (2 sin(π/26)) = 451.1 mm, and 215 mm
/// further out the joint is 7 + 2 × 215 sin(π/26) = 58.83 mm.
#[test]
fn a_bowl_of_headers_by_hand() {
    let laid = laid_of("uk", ring(Measure::Inside, 900, Laying::Header, false, 2));
    let ring = laid.parts[0].ring.expect("a ring");
    assert_eq!(ring.count, 26);
    let near = |length: Length, mm: f64| assert!((length.to_mm() - mm).abs() < 1e-5, "{length}");
    let (sin, cos) = (PI / 26.0).sin_cos();
    near(ring.inner, (7.0 + 102.5 * cos) / (2.0 * sin));
    near(ring.joints.0, 7.0);
    near(ring.joints.1, 7.0 + 430.0 * sin);
    assert!((ring.joints.1.to_mm() - 58.83).abs() < 0.01);
    assert_eq!(laid.breaches.len(), 2);
}

/// A soldier stands 215 mm high and shows 65 mm: a course rises 225 mm.
#[test]
fn a_ring_of_soldiers_rises_by_their_length() {
    let laid = laid_of("uk", ring(Measure::Inside, 1500, Laying::Soldier, false, 2));
    let part = &laid.parts[0];
    assert_eq!(part.outside.height, Length::mm(450));
    assert_eq!(part.heights.top_of(1), Length::mm(225));
    assert_eq!(part.thickness, Length::from_nm(102_500_000));
}

#[test]
fn a_lining_stands_within_a_ring_and_nothing_else_overlaps_it() {
    let bowl = Arc::new(ring(Measure::Inside, 900, Laying::Header, false, 3));
    let place = |diameter: i64, relation: Relation| {
        let lining = ring(Measure::Outside, diameter, Laying::Shiner, true, 2);
        let plan = plan_of("uk")
            .with_part("bowl", Arc::clone(&bowl), Placement::Origin)
            .expect("placed")
            .with_part(
                "lining",
                Arc::new(lining),
                Placement::Against {
                    relation,
                    other: "bowl".to_owned(),
                    gap: None,
                    align: perpend::plan::Align::Centre,
                },
            )
            .expect("placed");
        lay(&Arc::new(plan))
    };
    let laid = place(850, Relation::InsideOf).expect("it fits");
    let middle = |part: &LaidPart| part.ring.expect("a ring").centre;
    let (one, other) = (middle(&laid.parts[0]), middle(&laid.parts[1]));
    let nm = Length::from_nm(1);
    assert!((one.0 - other.0).abs() <= nm && (one.1 - other.1).abs() <= nm);
    let wide = place(1000, Relation::InsideOf).expect_err("too wide");
    assert_eq!(wide.code, "parts-overlap");
    assert!(place(1000, Relation::RightOf).is_ok());
}

#[test]
fn what_a_ring_does_not_have_is_refused() {
    let bowl = || ring(Measure::Inside, 900, Laying::Header, false, 3);
    let side = SideRef::Side(Side::Front);
    let width = Size::Length(Length::mm(200));
    let mut opening = Opening::new("draught", side, width, (1, 1)).expect("an opening");
    opening.corbel = Some(perpend::plan::Corbel::default());
    let refused = bowl().with_opening(opening).expect_err("no such head");
    assert_eq!(refused.code, "head-in-round-work");
    let plan = plan_of("uk")
        .with_part("bowl", Arc::new(bowl()), Placement::Origin)
        .expect("placed");
    let lid = Lid {
        part: "bowl".to_owned(),
        annex: None,
        depth: Length::mm(60),
        pieces: 1,
        overhang: Length::ZERO,
        hole: Length::ZERO,
    };
    let lid = plan.with_lid(lid).expect("a lid");
    assert_eq!(
        lay(&Arc::new(lid)).expect_err("square").code,
        "lid-on-a-ring"
    );
    let mut narrow = ring(Measure::Inside, 20, Laying::Stretcher, true, 1);
    narrow.snap = Snap::Exact;
    let plan = plan_of("uk").with_part("n", Arc::new(narrow), Placement::Origin);
    let refused = lay(&Arc::new(plan.expect("placed"))).expect_err("too narrow");
    assert_eq!(refused.code, "ring-does-not-fit");
}
