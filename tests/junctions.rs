//! Walls that meet walls, course by course against what the trade describes.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{plan_with, setting, unit};
use perpend::layout::{Axis, Cut, Laid, LaidPart, Piece, lay};
use perpend::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, Dimension, Heading, Leg, Measure, Opening, Part,
    Placement, PlanError, Rise, Shape, Side, SideRef, Size,
};
use perpend::quantity::Length;

fn units(halves: i64) -> Size {
    Size::HalfUnits(halves)
}

fn wall(halves: i64, thickness: f64) -> Part {
    let legs = vec![Leg {
        heading: Heading::Right,
        size: units(halves),
    }];
    Part::new(
        Shape::Wall {
            legs,
            closed: false,
        },
        Rise::Courses(6),
    )
    .expect("a wall")
    .with_thickness(thickness)
    .expect("a thickness")
}

fn chamber(across: i64, deep: i64) -> Part {
    let outside = |halves| Dimension {
        size: units(halves),
        measure: Measure::Outside,
    };
    let shape = Shape::Chamber {
        across: outside(across),
        deep: outside(deep),
    };
    Part::new(shape, Rise::Courses(8)).expect("a chamber")
}

fn branch(reach: BranchReach) -> Branch {
    Branch {
        name: "branch".to_owned(),
        kind: BranchKind::Wall,
        side: SideRef::Leg(0),
        at: BranchPlace::Centre,
        reach,
        thickness: 1,
        courses: None,
        toothed: true,
        ties: None,
    }
}

fn laid(part: Part) -> Result<Laid, PlanError> {
    let plan = plan_with(setting(unit("uk"), None, None))
        .with_part("part", Arc::new(part), Placement::Origin)
        .expect("a part");
    lay(&Arc::new(plan))
}

fn first(laid: &Laid) -> &LaidPart {
    laid.parts.first().expect("a part")
}

/// Pieces of a course that show an end on the outer face at y = 0 of a wall along x.
fn headers_on_face(laid: &Laid, course: u16) -> Vec<&Piece> {
    let pieces = laid.pieces.iter();
    pieces
        .filter(|piece| piece.course == course && piece.along == Axis::Y)
        .filter(|piece| piece.at.y == Length::ZERO)
        .collect()
}

/// A half-brick wall that meets another is toothed: in alternate courses its end unit goes through and shows as a
/// header, in the others it butts (textbooks of brickwork, from memory). With the header in the middle of a stretcher
/// there is a three-quarter bat on each side, which laps a quarter over the course below.
#[test]
fn a_t_junction_shows_a_header_in_every_second_course() {
    let laid = laid(
        wall(10, 0.5)
            .with_branch(branch(BranchReach::Inside(units(4))))
            .expect("a branch"),
    )
    .expect("laid");
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let counts: Vec<usize> = (1..=6).map(|c| headers_on_face(&laid, c).len()).collect();
    let odd_first = counts == [1, 0, 1, 0, 1, 0];
    assert!(odd_first || counts == [0, 1, 0, 1, 0, 1], "{counts:?}");
    let course = if odd_first { 1 } else { 2 };
    let header = headers_on_face(&laid, course)
        .first()
        .copied()
        .copied()
        .expect("a header");
    assert_eq!(header.cut, Cut::Whole);
    let joint = Length::mm(10);
    let beside: Vec<Cut> = laid
        .pieces
        .iter()
        .filter(|p| p.course == course && p.along == Axis::X)
        .filter(|p| {
            p.at.x + p.length + joint == header.at.x || p.at.x == header.at.x + header.width + joint
        })
        .map(|piece| piece.cut)
        .collect();
    assert_eq!(beside, [Cut::Bat(3, 4), Cut::Bat(3, 4)]);
}

/// Of a wall of two leaves a branch enters the leaf that it meets; the other leaf runs on.
#[test]
fn a_branch_enters_the_leaf_it_meets() {
    let laid = laid(
        wall(10, 1.0)
            .with_branch(branch(BranchReach::Inside(units(4))))
            .expect("a branch"),
    )
    .expect("laid");
    let reach = laid.pieces.iter().filter(|p| p.along == Axis::Y);
    assert_eq!(
        reach.map(|piece| piece.at.y).min(),
        Some(Length::from_mm(112.5).expect("a length"))
    );
    assert!((1..=6).all(|course| headers_on_face(&laid, course).is_empty()));
}

/// Two walls that cross take turns: in each course one runs through and the other butts on both sides.
#[test]
fn walls_that_cross_take_turns() {
    let laid = laid(
        wall(10, 0.5)
            .with_branch(branch(BranchReach::Through(units(4), units(4))))
            .expect("a branch"),
    )
    .expect("laid");
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let body = first(&laid).body;
    let half = |length: Length| Length::from_nm(length.nm() / 2);
    let middle = (body.at.x + half(body.length), half(body.width));
    let mut last = None;
    for course in 1..=6 {
        let across = laid.pieces.iter().any(|piece| {
            let over = |axis: Axis, at| {
                let (from, to) = piece.cuboid().span(axis);
                from < at && at < to
            };
            let here = piece.course == course && piece.along == Axis::Y;
            here && over(Axis::X, middle.0) && over(Axis::Y, middle.1)
        });
        assert_ne!(last, Some(across), "course {course}");
        last = Some(across);
    }
}

/// Inside 7 − 1 units wide: a half-brick partition leaves its thickness less than the whole.
#[test]
fn a_partition_divides_the_inside() {
    let part = chamber(14, 7)
        .with_branch(Branch {
            kind: BranchKind::Partition,
            side: SideRef::Side(Side::Front),
            courses: Some(5),
            ..branch(BranchReach::Across)
        })
        .expect("a partition");
    let door = Opening::new("throat", SideRef::Branch(0), units(2), (2, 3)).expect("an opening");
    let laid = laid(part.with_opening(door).expect("an opening")).expect("laid");
    let part = first(&laid);
    let [left, right] = part.compartments.as_slice() else {
        panic!("two compartments: {:?}", part.compartments);
    };
    assert_eq!((left.name.as_str(), right.name.as_str()), ("left", "right"));
    let inside = part.inside.expect("an inside");
    assert_eq!(
        left.space.length + right.space.length + Length::from_mm(102.5).expect("a length"),
        inside.length
    );
    assert_eq!(left.space.height, Length::mm(5 * 75));
    assert_eq!(laid.voids.len(), 1);
}

/// A pier one brick wide that stands half a brick out of a half-brick wall: a stretcher before the wall in one course,
/// two headers through both in the next (textbooks of brickwork, from memory).
#[test]
fn an_attached_pier_is_two_headers_and_a_stretcher_in_turn() {
    let laid = laid(
        wall(12, 0.5)
            .with_branch(Branch {
                kind: BranchKind::Pier,
                thickness: 2,
                at: BranchPlace::Left,
                ..branch(BranchReach::Inside(units(1)))
            })
            .expect("a pier"),
    )
    .expect("laid");
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let width = Length::from_mm(102.5).expect("a length");
    for course in 1..=6 {
        let pier: Vec<&Piece> = laid
            .pieces
            .iter()
            .filter(|p| p.course == course && p.cuboid().span(Axis::Y).1 > width)
            .collect();
        assert!(pier.iter().all(|piece| piece.cut == Cut::Whole));
        match pier.as_slice() {
            [stretcher] => assert_eq!(stretcher.along, Axis::X),
            [one, other] => assert!(one.along == Axis::Y && other.along == Axis::Y),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn what_cannot_be_joined_is_refused_with_its_cause() {
    let code = |part: Result<Part, PlanError>| match part.and_then(laid) {
        Ok(_) => "",
        Err(error) => error.code,
    };
    let out = || branch(BranchReach::Outside(units(2)));
    let at = |halves| Branch {
        at: BranchPlace::At(units(halves)),
        ..out()
    };
    assert_eq!(
        code(wall(6, 0.5).with_branch(at(20))),
        "junction-outside-wall"
    );
    let corner = Branch {
        side: SideRef::Side(Side::Front),
        at: BranchPlace::Left,
        ..out()
    };
    assert_eq!(
        code(chamber(8, 6).with_branch(corner)),
        "junction-outside-wall"
    );
    let door = Opening::new("gate", SideRef::Leg(0), units(2), (1, 3)).expect("an opening");
    let with_door = wall(10, 0.5).with_opening(door).expect("an opening");
    assert_eq!(code(with_door.with_branch(out())), "junction-in-the-way");
    let twice = wall(10, 0.5).with_branch(out()).expect("a branch");
    let second = Branch {
        name: "second".to_owned(),
        ..out()
    };
    assert_eq!(code(twice.with_branch(second)), "junction-in-the-way");
    let high = Branch {
        courses: Some(7),
        ..out()
    };
    assert_eq!(code(wall(10, 0.5).with_branch(high)), "course-outside-part");
    let across = branch(BranchReach::Across);
    assert_eq!(
        code(wall(10, 0.5).with_branch(across)),
        "partition-outside-chamber"
    );
}
