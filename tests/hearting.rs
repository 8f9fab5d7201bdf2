//! Piers filled with units: what a bricklayer puts into their middle, course by course.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{bench, units};
use perpend::layout::{Axis, Cut, Laid, Piece, lay};
use perpend::plan::{Core, Part, Placement, PlanError, Rise, Shape, Size};
use perpend::quantity::Length;

fn laid(unit: &str, across: Size, deep: Size) -> Result<Laid, PlanError> {
    let shape = Shape::Pier {
        across,
        deep,
        core: Core::Units,
    };
    let part = Part::new(shape, Rise::Courses(4)).expect("a pier");
    let plan = bench(unit).with_part("pier", Arc::new(part), Placement::Origin);
    lay(&Arc::new(plan.expect("a part")))
}

/// Pieces of the four walls come first; the rest is the hearting.
fn hearting(laid: &Laid, course: u16) -> Vec<(Axis, Cut)> {
    let inner = |piece: &&Piece| piece.course == course && piece.leg >= 4;
    let pieces = laid.pieces.iter().filter(inner);
    pieces.map(|piece| (piece.along, piece.cut)).collect()
}

/// A pier of one and a half bricks takes a half bat in its middle, one of two bricks two whole ones, turned from course
/// to course (textbooks of brickwork, from memory). 327.5 − 2 × 102.5 − 2 × 10 = 102.5 mm; 440 leaves 215.
#[test]
fn the_middle_takes_what_a_bricklayer_puts_there() {
    let half = laid("uk", units(1.5), units(1.5)).expect("laid");
    for course in 1..=4 {
        let found = hearting(&half, course);
        assert!(
            matches!(found.as_slice(), [(_, Cut::Bat(1, 2))]),
            "{found:?}"
        );
    }
    let two = laid("uk", units(2.0), units(2.0)).expect("laid");
    let mut last = None;
    for course in 1..=4 {
        let found = hearting(&two, course);
        let [(one, Cut::Whole), (other, Cut::Whole)] = found.as_slice() else {
            panic!("{found:?}");
        };
        assert_eq!(one, other);
        assert_ne!(last, Some(*one), "course {course}");
        last = Some(*one);
    }
    // It is solid then: no inside, and its joints are the whole less its pieces.
    let part = &two.parts[0];
    assert!(part.inside.is_none() && two.breaches.is_empty());
    let pieces = two.pieces.iter().map(|piece| piece.cuboid().volume().nm3());
    assert_eq!(
        part.joints.nm3(),
        part.outside.volume().nm3() - pieces.sum::<i128>()
    );
}

#[test]
fn what_takes_no_rows_is_refused() {
    let code = |across, deep| laid("uk", across, deep).err().map(|error| error.code);
    assert_eq!(code(units(1.0), units(1.0)), Some("pier-without-middle"));
    let odd = Size::Length(Length::mm(455));
    // Snapped to half units it fits; firebrick, 230 by 114 on 3 mm, is no two widths and a joint long.
    assert_eq!(code(odd, odd), None);
    let fire = laid("firebrick_metric", units(2.0), units(2.0));
    assert_eq!(
        fire.err().map(|error| error.code),
        Some("hearting-does-not-fit")
    );
}
