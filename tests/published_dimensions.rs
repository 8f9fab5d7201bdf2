//! Published sizes of brickwork, each beside its source, read off pieces, openings and courses as laid.
#![expect(
    clippy::expect_used,
    clippy::panic,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use common::{
    bench, extent, inch, lay, lay_one, mm, plan_of, reach, top_of, units, wall, wall_along,
};
use perpend::layout::{Axis, Cuboid, Laid, VoidKind, VoidShape};
use perpend::plan::{Heading, Opening, SideRef};
use perpend::quantity::Length;

/// The one opening of laid work, as it was left free.
fn opening(laid: &Laid) -> Cuboid {
    let void = laid.voids.first().expect("an opening");
    assert_eq!(void.kind, VoidKind::Opening);
    match void.shape {
        VoidShape::Box(cuboid) => cuboid,
        VoidShape::Cylinder { .. } | VoidShape::Profile { .. } | VoidShape::Sector(_) => {
            panic!("an opening is a box")
        }
    }
}

/// A free wall of n units, as its pieces measure from end to end.
fn free_wall(unit: &str, count: f64) -> Length {
    let laid = lay_one(unit, wall(count, 2));
    let length = extent(&laid.pieces, Axis::X);
    for course in [1, 2] {
        let pieces = laid.pieces.iter().filter(|piece| piece.course == course);
        assert_eq!(extent(pieces, Axis::X), length, "course {course}");
    }
    assert_eq!(length, laid.parts.first().expect("the wall").outside.length);
    length
}

/// An opening of n units, as it measures between the jambs of the pieces on both sides.
fn opening_width(unit: &str, count: f64) -> Length {
    let middle = Opening::new("gate", SideRef::Leg(0), units(count), (2, 3)).expect("an opening");
    let part = wall(count + 4.0, 4).with_opening(middle).expect("a wall");
    let laid = lay_one(unit, part);
    let width = opening(&laid).length;
    let (from, to) = opening(&laid).span(Axis::X);
    for course in [2, 3] {
        let beside = |left: bool| {
            laid.pieces
                .iter()
                .filter(move |piece| piece.course == course && (piece.at.x < from) == left)
        };
        let (_, left) = reach(beside(true), Axis::X).expect("a left jamb");
        let (right, _) = reach(beside(false), Axis::X).expect("a right jamb");
        assert_eq!((left, right), (from, to), "course {course}");
    }
    width
}

/// n units from a free end to the face of a return, as they measure between pieces.
fn to_return(unit: &str, count: f64) -> Length {
    let legs = [(Heading::Right, units(count)), (Heading::Front, units(2.5))];
    let laid = lay_one(unit, wall_along(&legs, false, 2));
    let (end, _) = reach(&laid.pieces, Axis::X).expect("a wall");
    let back = laid.pieces.iter().filter(|piece| piece.leg == 0);
    let (back, _) = reach(back, Axis::Y).expect("the first leg");
    // Only what stands clear of the corner shows the return's face.
    let clear = laid
        .pieces
        .iter()
        .filter(|piece| piece.leg == 1 && piece.cuboid().span(Axis::Y).1 <= back);
    let (face, _) = reach(clear, Axis::X).expect("a return");
    face - end
}

/// CO+, CO and CO− of 215 mm bricks: Technical Information Sheet 9, Brickwork Dimensions, Table 1. Rows to 6, 34, 34 1/2,
/// 39, 67 1/2, 70 and 72 1/2 as printed; 6 1/2 to 20 by its rule, CO = 225 n, 10 more and 10 less.
#[test]
fn uk_coordinating_sizes() {
    let printed = [
        (0.5, 122.5, 112.5, 102.5),
        (1.0, 235.0, 225.0, 215.0),
        (1.5, 347.5, 337.5, 327.5),
        (2.0, 460.0, 450.0, 440.0),
        (2.5, 572.5, 562.5, 552.5),
        (3.0, 685.0, 675.0, 665.0),
        (3.5, 797.5, 787.5, 777.5),
        (4.0, 910.0, 900.0, 890.0),
        (4.5, 1022.5, 1012.5, 1002.5),
        (5.0, 1135.0, 1125.0, 1115.0),
        (5.5, 1247.5, 1237.5, 1227.5),
        (6.0, 1360.0, 1350.0, 1340.0),
        (34.0, 7660.0, 7650.0, 7640.0),
        (34.5, 7772.5, 7762.5, 7752.5),
        (39.0, 8785.0, 8775.0, 8765.0),
        (67.5, 15197.5, 15187.5, 15177.5),
        (70.0, 15760.0, 15750.0, 15740.0),
        (72.5, 16322.5, 16312.5, 16302.5),
    ];
    let by_rule = (13..=40).map(|halves| {
        let size = f64::from(halves) * 112.5;
        (f64::from(halves) / 2.0, size + 10.0, size, size - 10.0)
    });
    for (count, with, between, without) in printed.into_iter().chain(by_rule) {
        assert_eq!(opening_width("uk", count), mm(with), "CO+ of {count}");
        assert_eq!(to_return("uk", count), mm(between), "CO of {count}");
        assert_eq!(free_wall("uk", count), mm(without), "CO− of {count}");
    }
}

/// Heights of 65 mm bricks on 10 mm beds, by the 75 mm course of Technical Information Sheet 9: with the bed under them,
/// without it, and open with a bed above and below.
#[test]
fn uk_vertical_gauge() {
    let laid = lay_one("uk", wall(3.0, 20));
    let first = laid.pieces.first().expect("a piece").at.z;
    for course in 1..=20 {
        let size = f64::from(course) * 75.0;
        let top = top_of(&laid, course);
        assert_eq!(top, mm(size), "course {course}");
        assert_eq!(
            top - first,
            mm(size - 10.0),
            "course {course} without its bed"
        );
        let over = Opening::new(
            "gap",
            SideRef::Leg(0),
            units(1.0),
            (2, i64::from(course) + 1),
        )
        .expect("an opening");
        let part = wall(4.0, course + 2).with_opening(over).expect("a wall");
        let height = opening(&lay_one("uk", part)).height;
        assert_eq!(height, mm(size + 10.0), "{course} open courses");
    }
    // 4 courses to 300, 28 to 2100, 36 to 2700: from memory.
    let high = lay_one("uk", wall(1.0, 36));
    for (course, height) in [(4, 300.0), (28, 2100.0), (32, 2400.0), (36, 2700.0)] {
        assert_eq!(top_of(&high, course), mm(height));
    }
}

/// Outside A = 12.5 n − 1 cm, opening 12.5 n + 1 cm, projection 12.5 n cm: DIN 4172, with the examples and the table that
/// German building pages print. Its outside of 1.375 m against a grid of 1.375 m is a misprint for 1.365 m.
#[test]
fn german_coordinating_sizes() {
    for (halves, outside) in [(88.0, 10.99), (20.0, 2.49), (6.0, 0.74)] {
        assert_eq!(
            free_wall("nf", halves / 2.0),
            mm(outside * 1000.0),
            "n = {halves}"
        );
    }
    for (halves, clear) in [(8.0, 1.01), (7.0, 0.885)] {
        assert_eq!(
            opening_width("nf", halves / 2.0),
            mm(clear * 1000.0),
            "n = {halves}"
        );
    }
    assert_eq!(to_return("nf", 5.5), mm(1375.0), "n = 11");
    let table = [
        (1.0, 1.01, 0.99),
        (1.125, 1.135, 1.115),
        (1.25, 1.26, 1.24),
        (1.375, 1.385, 1.365),
        (1.5, 1.51, 1.49),
        (1.625, 1.635, 1.615),
        (1.75, 1.76, 1.74),
        (1.875, 1.885, 1.865),
        (2.0, 2.01, 1.99),
    ];
    for (grid, clear, outside) in table {
        let count = grid / 0.25;
        assert_eq!(opening_width("nf", count), mm(clear * 1000.0), "{grid} m");
        assert_eq!(to_return("nf", count), mm(grid * 1000.0), "{grid} m");
        assert_eq!(free_wall("nf", count), mm(outside * 1000.0), "{grid} m");
    }
}

/// 0.74 + 1.01 + 0.74 = 2.49 m: an opening between two piers, German building pages on DIN 4172.
#[test]
fn german_wall_with_an_opening() {
    let gate = Opening {
        at: Some(units(3.0)),
        ..Opening::new("gate", SideRef::Leg(0), units(4.0), (1, 6)).expect("an opening")
    };
    let laid = lay_one("nf", wall(10.0, 8).with_opening(gate).expect("a wall"));
    let (from, to) = opening(&laid).span(Axis::X);
    let (start, end) = reach(&laid.pieces, Axis::X).expect("a wall");
    assert_eq!(from - start, mm(740.0));
    assert_eq!(to - from, mm(1010.0));
    assert_eq!(end - to, mm(740.0));
    assert_eq!(end - start, mm(2490.0));
}

/// 250 mm = 4 DF = 3 NF = 2 courses of 2 DF, 500 mm = 8, 6, 4, and the courses to 1 m: German building handbook.
#[test]
fn german_courses() {
    for (unit, per_metre) in [("df", 16), ("nf", 12), ("2df", 8)] {
        let laid = lay_one(unit, wall(2.0, per_metre * 2));
        for (share, height) in [(4, 250.0), (2, 500.0), (1, 1000.0)] {
            assert_eq!(top_of(&laid, per_metre / share), mm(height), "{unit}");
        }
        assert_eq!(top_of(&laid, per_metre * 2), mm(2000.0), "{unit}");
    }
}

/// Feet, inches and sixteenths of a height to the nearest sixteenth.
fn printed(height: Length) -> (i64, i64, i64) {
    let sixteenth = inch("1/16");
    let count = height.round_to(sixteenth).expect("a height").nm() / sixteenth.nm();
    (count / 192, count % 192 / 16, count % 16)
}

/// Heights of courses laid 2 to 4 in, 3 to 8 in, 5 to 16 in and 1 to 4 in: BIA Technical Note 10B (June 1993), Table 3. Entries
/// without a fraction as printed; those with one to the nearest 1/16 in, since the print seen is damaged there.
#[test]
fn us_vertical_coursing() {
    type Row = (u32, [(i64, i64, i64); 4]);
    let table: [Row; 19] = [
        (1, [(0, 2, 0), (0, 2, 11), (0, 3, 3), (0, 4, 0)]),
        (2, [(0, 4, 0), (0, 5, 5), (0, 6, 6), (0, 8, 0)]),
        (3, [(0, 6, 0), (0, 8, 0), (0, 9, 10), (1, 0, 0)]),
        (4, [(0, 8, 0), (0, 10, 11), (1, 0, 13), (1, 4, 0)]),
        (5, [(0, 10, 0), (1, 1, 5), (1, 4, 0), (1, 8, 0)]),
        (6, [(1, 0, 0), (1, 4, 0), (1, 7, 3), (2, 0, 0)]),
        (9, [(1, 6, 0), (2, 0, 0), (2, 4, 13), (3, 0, 0)]),
        (10, [(1, 8, 0), (2, 2, 11), (2, 8, 0), (3, 4, 0)]),
        (12, [(2, 0, 0), (2, 8, 0), (3, 2, 6), (4, 0, 0)]),
        (15, [(2, 6, 0), (3, 4, 0), (4, 0, 0), (5, 0, 0)]),
        (18, [(3, 0, 0), (4, 0, 0), (4, 9, 10), (6, 0, 0)]),
        (20, [(3, 4, 0), (4, 5, 5), (5, 4, 0), (6, 8, 0)]),
        (24, [(4, 0, 0), (5, 4, 0), (6, 4, 13), (8, 0, 0)]),
        (30, [(5, 0, 0), (6, 8, 0), (8, 0, 0), (10, 0, 0)]),
        (36, [(6, 0, 0), (8, 0, 0), (9, 7, 3), (12, 0, 0)]),
        (45, [(7, 6, 0), (10, 0, 0), (12, 0, 0), (15, 0, 0)]),
        (48, [(8, 0, 0), (10, 8, 0), (12, 9, 10), (16, 0, 0)]),
        (50, [(8, 4, 0), (11, 1, 5), (13, 4, 0), (16, 8, 0)]),
        (100, [(16, 8, 0), (22, 2, 11), (26, 8, 0), (33, 4, 0)]),
    ];
    let named = ["us_roman", "us_modular", "us_engineer", "us_closure"];
    for (column, unit) in named.into_iter().enumerate() {
        let laid = lay_one(unit, wall(2.0, 100));
        for (course, heights) in table {
            assert_eq!(
                printed(top_of(&laid, course)),
                heights[column],
                "{unit}, course {course}"
            );
        }
    }
    // 3 courses and 3 joints rise 8 in exactly, Masonry and Concrete (McGraw-Hill), p. 136.
    let laid = lay_one("us_modular", wall(2.0, 99));
    for turn in 1..=33 {
        assert_eq!(top_of(&laid, 3 * turn), inch("8") * i64::from(turn));
    }
}

/// A wall of 3 modular brick is 23 5/8 in, an opening one joint more than the module: manufacturer catalogue, generic. Block is
/// nominal less 3/8 in, 4 ft takes 3 block and 2 ft of height 3 courses: US Navy Builder manual 14045.
#[test]
fn us_modules() {
    assert_eq!(free_wall("us_modular", 3.0), inch("23 5/8"));
    assert_eq!(opening_width("us_modular", 3.0), inch("24 3/8"));
    assert_eq!(to_return("us_modular", 3.0), inch("24"));
    assert_eq!(free_wall("us_block", 3.0), inch("48") - inch("3/8"));
    assert_eq!(lay_one("us_block", wall(3.0, 1)).pieces.len(), 3);
    assert_eq!(top_of(&lay_one("us_block", wall(3.0, 3)), 3), inch("24"));
}

/// 7 courses to 600 mm; 32 and 34 courses printed as 2742 and 2914 mm, cut to the millimetre: manufacturer coursing chart,
/// generic. 28 courses are 4 times 600 mm by its rule.
#[test]
fn australian_courses() {
    let laid = lay_one("au", wall(2.0, 34));
    for (course, printed) in [(7, 600), (14, 1200), (28, 2400), (32, 2742), (34, 2914)] {
        let top = top_of(&laid, course);
        assert_eq!(
            top.nm().div_euclid(Length::mm(1).nm()),
            printed,
            "{course} courses"
        );
    }
    assert_eq!(top_of(&laid, 28), mm(2400.0));
}

/// A block is 2 brick long and 3 brick high, 215 + 10 = 225 mm: teaching notes on UK blockwork.
#[test]
fn uk_block_against_brick() {
    let plan = |unit: &str, part| lay(plan_of(bench(unit), vec![part]));
    let block = plan("uk_block", wall(5.0, 6));
    let brick = plan("uk", wall(10.0, 18));
    for course in 1..=6 {
        assert_eq!(top_of(&block, course), mm(225.0) * i64::from(course));
        assert_eq!(top_of(&block, course), top_of(&brick, 3 * course));
    }
    assert_eq!(
        extent(&block.pieces, Axis::X),
        extent(&brick.pieces, Axis::X)
    );
}

/// 5 courses of 90 mm and 5 joints rise 500 mm: Indian teaching notes on modular brick.
#[test]
fn indian_courses() {
    assert_eq!(top_of(&lay_one("in_modular", wall(2.0, 5)), 5), mm(500.0));
}
