//! Corbelled heads against published limits, and as laid in random walls: what steps in, what stays open, what closes it.
#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "a test that fails to lay its plan should stop"
)]

mod common;

use perpend::layout::{Axis, Bound, CORBEL_SHARES, Cuboid, Laid, Role, explain, lay};
use perpend::plan::{
    Corbel, Lintel, LintelKind, Opening, Part, Side, SideRef, Sill, SillKind, Size,
};
use perpend::quantity::Length;
use proptest::prelude::*;

use common::{bench, chamber, inch, lay_one, mm, plan_of, unit, units, wall};

fn niche(width: Size, courses: (i64, i64), step: Option<Length>) -> Opening {
    Opening {
        corbel: Some(Corbel { step }),
        ..Opening::new("niche", SideRef::Leg(0), width, courses).expect("an opening")
    }
}

fn stepped(name: &str, part: Part, opening: Opening) -> Laid {
    lay_one(name, part.with_opening(opening).expect("room"))
}

/// Most that one course projects, half the height of a unit or a third of its bed: 1.125 in and 1.208 in of a modular
/// unit 2 1/4 × 3 5/8 in, 32.5 and 34.17 mm of 65 × 102.5 mm, 1.25 in and 1.5 in of a firebrick 2 1/2 × 4 1/2 in (IRC
/// R606.5.2 as printed in Modern Masonry 2016, p. 327, worked out). What is laid keeps the lesser with half bats.
#[test]
fn steps_keep_the_published_limits() {
    for (name, height, bed) in [
        ("us_modular", inch("1 1/8"), inch("1.2083333")),
        ("uk", mm(32.5), mm(34.166_667)),
        ("firebrick", inch("1 1/4"), inch("1 1/2")),
    ] {
        let brick = unit(name);
        assert_eq!(brick.height.nm() / CORBEL_SHARES.0, height.nm(), "{name}");
        let third = brick.width.nm() / CORBEL_SHARES.1;
        assert!((third - bed.nm()).abs() < 1000, "{name}: {third}");
        let laid = stepped(name, wall(8.0, 24), niche(units(2.0), (1, 6), None));
        let corbel = &laid.corbels[0];
        assert!(corbel.step <= height && corbel.step <= bed, "{name}");
        // The most units with which an even share of the unit and its joint stays within: no step is wasted.
        assert!(corbel.step * 2 > height.min(bed), "{name}: {}", corbel.step);
    }
}

/// Two units of 225 mm less a joint open 460 mm: in steps of an eighth, 28.125 mm, seven courses leave 66.25 mm, and the
/// eighth would leave the 10 mm of a joint.
#[test]
fn an_opening_of_two_units_closes_in_the_eighth_course() {
    let laid = stepped("uk", wall(8.0, 24), niche(units(2.0), (1, 6), None));
    let corbel = &laid.corbels[0];
    assert_eq!(corbel.step, mm(28.125));
    assert_eq!(corbel.gaps.len(), 7);
    assert_eq!(corbel.gaps[6].1 - corbel.gaps[6].0, mm(66.25));
    assert_eq!((corbel.from_course, corbel.closing_course()), (7, 14));
    // From the jambs' top bed, 460 mm up, to the underside of course 14.
    assert_eq!(corbel.levels.first(), Some(&mm(460.0)));
    assert_eq!(corbel.levels.last(), Some(&mm(985.0)));
    let outline = corbel.outline();
    assert_eq!(outline.len(), 28);
    assert_eq!(outline[0].0 - corbel.span.0, mm(28.125));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
}

/// Someone who asks why a course is laid so is told that it steps in.
#[test]
fn the_explanation_names_the_step() {
    let part = wall(8.0, 20)
        .with_opening(niche(units(2.0), (1, 4), None))
        .expect("room");
    let plan = plan_of(bench("uk"), vec![part]);
    let bounds = |course| {
        let told = explain(&plan, "part 0", course).expect("told");
        told.intervals[0].bounds.1.clone()
    };
    assert_eq!(bounds(4), Bound::Jamb("niche".to_owned()));
    assert_eq!(bounds(5), Bound::Corbel("niche".to_owned()));
    assert_eq!(bounds(12), Bound::FreeEnd);
}

#[test]
fn what_cannot_close_is_refused() {
    let code = |courses, step| {
        let part = wall(8.0, 10)
            .with_opening(niche(units(2.0), courses, step))
            .expect("room");
        lay(&std::sync::Arc::new(plan_of(bench("uk"), vec![part])))
            .expect_err("refused")
            .code
    };
    let in_corner = Opening {
        at: Some(Size::HalfUnits(1)),
        side: SideRef::Side(Side::Front),
        ..niche(units(1.0), (1, 3), None)
    };
    let part = chamber(5.0, 4.0, 20).with_opening(in_corner).expect("room");
    let error = lay(&std::sync::Arc::new(plan_of(bench("uk"), vec![part]))).expect_err("refused");
    assert_eq!(error.code, "corbel-without-tail");
    assert_eq!(code((1, 3), None), "corbel-at-top");
    assert_eq!(code((1, 2), Some(mm(4.0))), "corbel-step-out-of-range");
    assert_eq!(code((1, 2), Some(mm(216.0))), "corbel-step-out-of-range");
}

type Bounds = [(i64, i64); 3];

fn bounds(cuboid: &Cuboid) -> Bounds {
    let nm = |(from, to): (Length, Length)| (from.nm(), to.nm());
    [
        nm(cuboid.span(Axis::X)),
        nm(cuboid.span(Axis::Y)),
        nm(cuboid.heights()),
    ]
}

fn volume(bounds: &Bounds) -> i128 {
    bounds.iter().map(|(a, b)| i128::from(b - a)).product()
}

fn overlap(one: &Bounds, other: &Bounds) -> bool {
    one.iter().zip(other).all(|(a, b)| a.0 < b.1 && a.1 > b.0)
}

/// Boxes of a work without bites or turns: pieces, bodies and voids are disjoint and, with the joints, fill the envelope.
fn check(laid: &Laid) -> Result<(), TestCaseError> {
    for (index, part) in laid.parts.iter().enumerate() {
        let mut boxes: Vec<Bounds> = laid
            .pieces_of(part)
            .iter()
            .map(|piece| bounds(&piece.cuboid()))
            .collect();
        let bodies = laid.bodies.iter().filter(|body| body.part == index);
        boxes.extend(bodies.map(|body| bounds(&body.cuboid)));
        let voids = laid.voids.iter().filter(|void| void.part == index);
        boxes.extend(
            voids
                .filter_map(perpend::layout::Void::cuboid)
                .map(|v| bounds(&v)),
        );
        for (at, one) in boxes.iter().enumerate() {
            for other in &boxes[at + 1..] {
                prop_assert!(!overlap(one, other), "{one:?} and {other:?}");
            }
            let held: i128 = part
                .envelope
                .iter()
                .map(bounds)
                .filter(|wall| overlap(wall, one))
                .map(|wall| {
                    let both: Vec<(i64, i64)> = wall
                        .iter()
                        .zip(one)
                        .map(|(a, b)| (a.0.max(b.0), a.1.min(b.1)))
                        .collect();
                    volume(&[both[0], both[1], both[2]])
                })
                .sum();
            prop_assert_eq!(held, volume(one), "{:?} leaves the envelope", one);
        }
        let whole: i128 = part.envelope.iter().map(|wall| volume(&bounds(wall))).sum();
        let filled: i128 = boxes.iter().map(volume).sum();
        prop_assert_eq!(whole - filled, part.joints.nm3());
    }
    Ok(())
}

/// Each course is open by its gap and by no more, work ends at both sides of it, and the last gap is closed over.
fn check_steps(laid: &Laid) -> Result<(), TestCaseError> {
    for corbel in &laid.corbels {
        let part = &laid.parts[corbel.part];
        let pieces = |course: u32| {
            laid.pieces_of(part)
                .iter()
                .filter(move |piece| {
                    u32::from(piece.course) == course && usize::from(piece.leg) == corbel.leg
                })
                .map(|piece| piece.cuboid().span(corbel.axis))
        };
        let mut below = corbel.span;
        for (course, gap) in (corbel.from_course..).zip(&corbel.gaps) {
            prop_assert_eq!(gap.0 - below.0, corbel.step);
            prop_assert_eq!(below.1 - gap.1, corbel.step);
            prop_assert!(pieces(course).any(|(_, to)| to == gap.0));
            prop_assert!(pieces(course).any(|(from, _)| from == gap.1));
            let within = |(from, to): (Length, Length)| from < gap.1 && to > gap.0;
            prop_assert!(!pieces(course).any(within));
            below = *gap;
        }
        let mut over: Vec<_> = pieces(corbel.closing_course()).collect();
        over.sort_unstable();
        let joint = laid.plan.setting.joints.head.longest;
        let mut reached = below.0;
        for (from, to) in over {
            if from <= reached + joint {
                reached = reached.max(to);
            }
        }
        prop_assert!(reached >= below.1, "closed up to {reached} of {}", below.1);
    }
    Ok(())
}

fn widths() -> impl Strategy<Value = Size> {
    prop_oneof![
        (1..=5_i64).prop_map(Size::HalfUnits),
        (60..=700_i64).prop_map(|width| Size::Length(Length::mm(width))),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn random_walls_with_stepping_heads_are_whole(
        name in prop_oneof![Just("uk"), Just("us_modular"), Just("nf"), Just("au"), Just("uk_block")],
        (width, from, more) in (widths(), 1..=4_i64, 0..=3_i64),
        at in proptest::option::of(1..=4_i64),
        step in proptest::option::of(8..=40_i64),
        (thickness, bond) in prop_oneof![
            Just((0.5, "stretcher")),
            Just((1.0, "stretcher")),
            Just((0.5, "flemish")),
            Just((0.5, "third")),
        ],
        closed in any::<bool>(),
    ) {
        let mut opening = niche(width, (from, from + more), step.map(Length::mm));
        opening.at = at.map(Size::HalfUnits);
        let mut part = if closed { chamber(7.0, 5.0, 40) } else { wall(9.0, 40) };
        if closed {
            opening.side = SideRef::Side(Side::Right);
        }
        part = part.with_thickness(thickness).expect("a thickness");
        part.own.bond = Some(bond.to_owned());
        let part = part.with_opening(opening).expect("room");
        let plan = plan_of(bench(name), vec![part]);
        // What cannot be built is refused with a cause.
        if let Ok(laid) = lay(&std::sync::Arc::new(plan)) {
            check(&laid)?;
            check_steps(&laid)?;
        }
    }
}

/// A door as wide as its chamber's inside, 685 mm of 890 mm: a stone that bears on the corners alone is 890 mm long with 102.5 mm
/// of bearing at each end, a hair over the published 4 in (MSJC-08 2.3.3.3), and nothing lies in the corners in its course.
#[test]
fn a_stone_over_a_whole_front_takes_both_corners() {
    let part = chamber(4.0, 3.0, 12);
    let door = Opening {
        lintel: Some(Lintel::of(LintelKind::Stone)),
        ..Opening::new("door", SideRef::Side(Side::Front), units(3.0), (1, 6)).expect("an opening")
    };
    let laid = lay_one("uk", part.with_opening(door).expect("room"));
    let stone = &laid.bodies[0];
    assert_eq!(stone.cuboid.length, mm(890.0));
    assert_eq!(stone.bearings, (mm(102.5), mm(102.5)));
    assert!(stone.bearings.0 >= inch("4"));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    check(&laid).expect("whole");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    /// Stones near corners: whatever they take, nothing overlaps, and each bears on its wall or takes the whole corner.
    #[test]
    fn random_lintels_near_corners_are_whole(
        name in prop_oneof![Just("uk"), Just("us_modular"), Just("nf")],
        (width, at) in (1..=4_i64, 1..=4_i64),
        side in proptest::sample::select(Side::ALL.to_vec()),
        (courses, bearing) in (1..=3_u32, proptest::option::of(60..=300_i64)),
        (thickness, bond) in prop_oneof![
            Just((0.5, "stretcher")),
            Just((1.0, "stretcher")),
            Just((0.5, "flemish")),
            Just((1.0, "flemish")),
            Just((1.0, "english")),
        ],
    ) {
        let lintel = Lintel {
            courses,
            bearing: bearing.map(Length::mm),
            ..Lintel::of(LintelKind::Concrete)
        };
        let opening = Opening {
            at: Some(Size::HalfUnits(at)),
            lintel: Some(lintel),
            ..Opening::new("door", SideRef::Side(side), Size::HalfUnits(width), (2, 4)).expect("an opening")
        };
        let mut part = chamber(4.5, 4.0, 12).with_thickness(thickness).expect("a thickness");
        part.own.bond = Some(bond.to_owned());
        let plan = plan_of(bench(name), vec![part.with_opening(opening).expect("room")]);
        if let Ok(laid) = lay(&std::sync::Arc::new(plan)) {
            check(&laid)?;
            let outside = laid.parts[0].outside;
            for body in &laid.bodies {
                let (from, to) = body.cuboid.span(body.axis);
                let (low, high) = outside.span(body.axis);
                let thick = laid.parts[0].thickness;
                // Neither end stops within a corner square.
                prop_assert!(from == low || from >= low + thick);
                prop_assert!(to == high || to <= high - thick);
            }
        }
    }
}

fn footed(sill: Sill, thickness: f64, name: &str) -> Laid {
    let opening = Opening {
        lintel: Some(Lintel::of(LintelKind::Steel)),
        sill: Some(sill),
        ..Opening::new("hatch", SideRef::Leg(0), units(2.0), (4, 9)).expect("an opening")
    };
    let part = wall(8.0, 12)
        .with_thickness(thickness)
        .expect("a thickness");
    lay_one(name, part.with_opening(opening).expect("room"))
}

/// Two units of 225 mm and a joint are six units on edge of 75 mm and a joint: 460 = 6 × 65 + 7 × 10. They stand 102.5 mm high
/// on their bed and reach from 40 mm before the face to the other face: 142.5 mm of 215 mm.
#[test]
fn units_on_edge_fill_a_brick_opening_without_a_cut_joint() {
    let laid = footed(Sill::of(SillKind::Rowlock), 0.5, "uk");
    let sill = &laid.sills[0];
    assert_eq!((sill.units, sill.cuboid.height), (6, mm(102.5)));
    assert_eq!(sill.cuboid.at.y, mm(-40.0));
    let edge: Vec<_> = laid
        .pieces
        .iter()
        .filter(|p| p.role == Role::Sill)
        .collect();
    assert_eq!(edge.len(), 6);
    assert!(edge.iter().all(|piece| piece.length == mm(142.5)));
    let starts: Vec<f64> = edge.iter().map(|p| p.at.x.to_mm() - 670.0).collect();
    assert_eq!(starts, [5.0, 80.0, 155.0, 230.0, 305.0, 380.0]);
    // The opening is clear from 235 + 102.5 mm up.
    assert_eq!(laid.voids[0].cuboid().expect("a box").at.z, mm(337.5));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
}

/// In a wall of one unit a whole unit stands out, and the 40 mm behind it stay open; in one and a half units a row of cut
/// ones lies behind: 327.5 + 40 - 215 - 10 = 142.5 mm.
#[test]
fn units_on_edge_go_as_deep_as_their_wall() {
    let laid = footed(Sill::of(SillKind::Rowlock), 1.0, "uk");
    assert_eq!(laid.sills[0].units, 6);
    let behind = laid.voids.iter().filter_map(perpend::layout::Void::cuboid);
    assert!(behind.into_iter().any(|open| open.width == mm(40.0)));
    let laid = footed(Sill::of(SillKind::Rowlock), 1.5, "uk");
    assert_eq!(laid.sills[0].units, 12);
    let cut = laid
        .pieces
        .iter()
        .filter(|p| p.role == Role::Sill && p.length == mm(142.5));
    assert_eq!(cut.count(), 6);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn random_sills_and_thresholds_are_whole(
        name in prop_oneof![Just("uk"), Just("us_modular"), Just("nf"), Just("uk_block")],
        width in widths(),
        (from, more) in (1..=4_i64, 1..=4_i64),
        side in proptest::sample::select(Side::ALL.to_vec()),
        kind in proptest::sample::select(vec![
            SillKind::Rowlock,
            SillKind::Slab(LintelKind::Stone),
            SillKind::Slab(LintelKind::Concrete),
        ]),
        threshold in any::<bool>(),
        (depth, project) in (proptest::option::of(20..=200_i64), 0..=150_i64),
        (thickness, bond) in prop_oneof![
            Just((0.5, "stretcher")),
            Just((1.0, "stretcher")),
            Just((1.5, "stretcher")),
            Just((1.0, "english")),
        ],
    ) {
        let sill = Sill {
            threshold,
            depth: depth.map(Length::mm),
            project: Length::mm(project),
            ..Sill::of(kind)
        };
        let opening = Opening {
            lintel: Some(Lintel::of(LintelKind::Steel)),
            sill: Some(sill),
            ..Opening::new("hatch", SideRef::Side(side), width, (from, from + more)).expect("an opening")
        };
        let mut part = chamber(7.0, 6.0, 12).with_thickness(thickness).expect("a thickness");
        part.own.bond = Some(bond.to_owned());
        let plan = plan_of(bench(name), vec![part.with_opening(opening).expect("room")]);
        if let Ok(laid) = lay(&std::sync::Arc::new(plan)) {
            check(&laid)?;
            prop_assert_eq!(laid.sills.len(), 1);
            let told = laid.sills[0].units as usize;
            let roles = [Role::Sill, Role::Threshold];
            let found = laid.pieces.iter().filter(|p| roles.contains(&p.role)).count();
            prop_assert_eq!(found, told);
        }
    }
}
