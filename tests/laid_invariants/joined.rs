//! Walls that headers bond, and walls of two leaves, with branches, partitions and attached piers: random plans of their
//! own, since most of the others are laid in stretchers.

use std::sync::Arc;

use proptest::prelude::*;
use proptest::sample::select;
use proptest::strategy::ValueTree;

use super::common::{plan_of, plan_with, setting, unit};
use super::{branch, check, config, laid_at_last, opening, vent};
use perpend::layout::{Axis, BreachKind, Cuboid, Laid, LaidPart, Piece, lay};
use perpend::masonry::Catalogue;
use perpend::plan::{
    BranchKind, BranchReach, Dimension, Heading, Leaves, Leg, Measure, Part, PierRow, Plan, Rise,
    Shape, Side, SideRef, Size, Ties,
};
use perpend::quantity::Length;

/// Bonds with headers, and one of stretchers for the leaves.
const BONDS: &[&str] = &[
    "english",
    "english cross",
    "flemish",
    "flemish cross",
    "monk",
    "flemish garden",
    "english garden",
    "common",
    "header",
    "stretcher",
];

fn shape() -> impl Strategy<Value = Shape> {
    let outside = |halves| Dimension {
        size: Size::HalfUnits(halves),
        measure: Measure::Outside,
    };
    let leg = |heading, halves| Leg {
        heading,
        size: Size::HalfUnits(halves),
    };
    prop_oneof![
        (10..=30_i64).prop_map(move |long| Shape::Wall {
            legs: vec![leg(Heading::Right, long)],
            closed: false,
        }),
        (8..=16_i64, 8..=16_i64).prop_map(move |(one, other)| Shape::Wall {
            legs: vec![leg(Heading::Right, one), leg(Heading::Back, other)],
            closed: false,
        }),
        (10..=18_i64, 10..=14_i64).prop_map(move |(across, deep)| Shape::Chamber {
            across: outside(across),
            deep: outside(deep),
        }),
    ]
}

fn joined() -> impl Strategy<Value = Plan> {
    let leaves = (20..=60_i64, any::<bool>()).prop_map(|(space, filled)| Leaves {
        space: Length::mm(space),
        filled,
        ties: Some(Ties {
            across: Length::mm(600),
            up: Length::mm(300),
        }),
    });
    (
        (select(vec!["uk", "nf", "us_modular"]), select(BONDS)),
        shape(),
        (3..=9_u32, select(vec![0.5, 1.0, 1.0, 1.0, 1.5])),
        proptest::option::weighted(0.2, leaves),
        proptest::collection::vec(branch(), 1..=3),
        proptest::option::weighted(0.3, opening()),
        proptest::option::weighted(0.3, vent()),
    )
        .prop_map(
            |((name, bond), shape, (rise, thickness), leaves, branches, opening, vent)| {
                let part = Part::new(shape, Rise::Courses(rise)).expect("a path that turns");
                let mut part = part.with_thickness(thickness).expect("a thickness");
                if leaves.is_some() {
                    part.leaves = leaves;
                }
                let side_of = |part: &Part, side: usize| match &part.shape {
                    Shape::Wall { legs, .. } => SideRef::Leg(side % legs.len()),
                    _ => SideRef::Side(Side::ALL[side]),
                };
                for (number, (side, branch, every)) in branches.into_iter().enumerate() {
                    let side = match branch.reach {
                        BranchReach::Across => SideRef::Side(Side::ALL[side % 2]),
                        _ => side_of(&part, side),
                    };
                    let branch = perpend::plan::Branch {
                        side,
                        name: format!("branch {number}"),
                        courses: branch.courses.map(|courses| courses.min(rise)),
                        ..branch
                    };
                    let row = every.map(|every| PierRow {
                        pier: branch.clone(),
                        every,
                    });
                    let with = match row {
                        Some(row) => part.clone().with_pier_row(row),
                        None => part.clone().with_branch(branch),
                    };
                    part = with.unwrap_or(part);
                }
                if let Some((side, opening)) = opening {
                    let side = side_of(&part, side);
                    let to_course = opening.to_course.min(rise);
                    let from_course = opening.from_course.min(to_course);
                    let opening = perpend::plan::Opening {
                        side,
                        from_course,
                        to_course,
                        ..opening
                    };
                    part = part.clone().with_opening(opening).unwrap_or(part);
                }
                if let Some((side, vent)) = vent {
                    let side = side_of(&part, side);
                    let course = vent.course.min(rise);
                    let vent = perpend::plan::Vent {
                        side,
                        course,
                        ..vent
                    };
                    part = part.clone().with_vent(vent).unwrap_or(part);
                }
                let mut setting = setting(unit(name), None, None);
                let catalogue = Catalogue::builtin().expect("the data files are sound");
                setting.bond = catalogue.bond(bond).expect("a bond").clone();
                plan_of(plan_with(setting), vec![part])
            },
        )
}

/// An upright joint between two pieces: its axis, its place along it in half nanometres, and its reach across it.
type Joint = (Axis, i64, (i64, i64));

fn joints(boxes: &[Cuboid], widest: i64) -> Vec<Joint> {
    let mut found = Vec::new();
    for one in boxes {
        for other in boxes {
            for axis in [Axis::X, Axis::Y] {
                let (from, to) = (one.span(axis).1.nm(), other.span(axis).0.nm());
                let (a, b) = (one.span(axis.across()), other.span(axis.across()));
                let reach = (a.0.max(b.0).nm(), a.1.min(b.1).nm());
                if (1..=widest).contains(&(to - from)) && reach.1 > reach.0 {
                    found.push((axis, from + to, reach));
                }
            }
        }
    }
    found
}

/// Within a toothed pier of a wall in a bond of headers no upright joint lies over one of the course below but a listed
/// one: what turns from course to course must not stand in columns.
fn check_piers(laid: &Laid) -> Result<(), String> {
    let bonded = |part: &&LaidPart| part.setting.bond.has_headers();
    for (index, part) in laid
        .parts
        .iter()
        .enumerate()
        .filter(|(_, part)| bonded(part))
    {
        let widest = part.setting.joints.head.longest.nm() + 100;
        let least = part.least_lap.nm();
        for pier in part
            .junctions
            .iter()
            .filter(|j| j.kind == BranchKind::Pier && j.toothed)
        {
            let along = part.legs[pier.leg].axis;
            let here = |course: u32| -> Vec<Cuboid> {
                let pieces = laid.pieces_of(part).iter();
                let pieces = pieces.filter(|piece| u32::from(piece.course) == course);
                pieces
                    .map(Piece::cuboid)
                    .filter(|cuboid| {
                        let (from, to) = cuboid.span(along);
                        let (near, far) = cuboid.span(along.across());
                        let (wall, beyond) = (part.legs[pier.leg].across, pier.beyond);
                        from >= pier.span.0
                            && to <= pier.span.1
                            && near >= wall.0 - beyond.0
                            && far <= wall.1 + beyond.1
                            && (near < wall.0 || far > wall.1)
                    })
                    .collect()
            };
            for course in 2..=part.courses {
                let (below, above) = (
                    joints(&here(course - 1), widest),
                    joints(&here(course), widest),
                );
                for (axis, at, reach) in above {
                    let over = below.iter().any(|(other, under, span)| {
                        // Of the joint between the pier and its wall pieces see only one side.
                        *other == axis
                            && (at - under).abs() < 2 * (least - 2)
                            && reach.1.min(span.1) - reach.0.max(span.0) > 2 * widest
                    });
                    let listed = laid.breaches.iter().any(|breach| {
                        breach.kind == BreachKind::LapTooShort
                            && breach.part == index
                            && (breach.course == course || breach.course + 1 == course)
                    });
                    if over && !listed {
                        return Err(format!(
                            "{} in course {course}: a joint at {axis:?} {} lies over another",
                            pier.name,
                            at / 2
                        ));
                    }
                }
            }
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(config(80))]

    #[test]
    fn joined_work_in_headers_is_sound(plan in joined()) {
        if let Some(laid) = laid_at_last(plan) {
            if let Err(broken) = check(&laid).and_then(|()| check_piers(&laid)) {
                prop_assert!(false, "{}\n{:?}", broken, laid.plan.parts);
            }
            let again = lay(&Arc::clone(&laid.plan)).expect("laid once");
            prop_assert!(laid == again, "the same plan laid twice differs");
        }
    }
}

/// The random plans do tooth branches and piers into walls that headers bond, of every thickness.
#[test]
fn many_of_them_are_joined() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    let mut found = [0; 3];
    for _ in 0..150 {
        let plan = joined().new_tree(&mut runner);
        let Some(laid) = laid_at_last(plan.expect("a plan").current()) else {
            continue;
        };
        let part = &laid.parts[0];
        if part.setting.bond.has_headers() && part.junctions.iter().any(|j| j.toothed) {
            let thick = match part.thickness {
                thin if thin < part.setting.unit.length => 0,
                one if one == part.setting.unit.length => 1,
                _ => 2,
            };
            found[thick] += 1;
        }
    }
    assert!(found.iter().all(|count| *count > 5), "{found:?}");
}
