//! Chambers that lean on a side of another: sizes, bond, openings, ducts, and what cannot be.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{mm, plan_with, setting, unit, units};
use perpend::layout::{Axis, Cut, Laid, Piece, VoidShape, lay};
use perpend::plan::{
    Annex, BranchPlace, Dimension, Duct, Measure, Opening, Part, Placement, Plan, PlanError, Rise,
    Shape, Side, Size,
};
use perpend::quantity::Length;

fn dimension(count: f64, measure: Measure) -> Dimension {
    Dimension {
        size: units(count),
        measure,
    }
}

fn chamber() -> Part {
    let outside = dimension(5.0, Measure::Outside);
    let shape = Shape::Chamber {
        across: outside,
        deep: outside,
    };
    Part::new(shape, Rise::Courses(8)).expect("a chamber")
}

fn annex(side: Side, measure: Measure, across: f64, deep: f64) -> Annex {
    Annex {
        name: "firebox".to_owned(),
        side,
        across: dimension(across, measure),
        deep: dimension(deep, measure),
        at: BranchPlace::Centre,
        thickness: 1,
        courses: Some(6),
        fired: true,
        first: 0,
    }
}

fn plan(part: Part) -> Plan {
    plan_with(setting(unit("uk"), None, None))
        .with_part("box", Arc::new(part), Placement::Origin)
        .expect("a part")
}

fn laid(part: Part) -> Result<Laid, PlanError> {
    lay(&Arc::new(plan(part)))
}

/// Three units outside, the shared wall included, are 665 mm: 460 inside, and 562.5 = 2.5 (L + j) from the face of the
/// chamber. Two units inside say the same.
#[test]
fn the_shared_wall_counts_for_both() {
    for side in Side::ALL {
        for (measure, count) in [(Measure::Outside, 3.0), (Measure::Inside, 2.0)] {
            let part = chamber()
                .with_annex(annex(side, measure, count, count))
                .expect("an annex");
            let laid = laid(part).expect("laid");
            let part = &laid.parts[0];
            let space = &part.compartments[0];
            assert_eq!(space.name, "firebox");
            assert_eq!(
                (space.space.length, space.space.width),
                (mm(460.0), mm(460.0))
            );
            assert_eq!(space.space.height, mm(450.0));
            let grown = match side {
                Side::Left | Side::Right => part.outside.length - part.body.length,
                Side::Front | Side::Back => part.outside.width - part.body.width,
            };
            assert_eq!(grown, mm(562.5), "{side:?}");
            // The chamber keeps its own inside.
            assert_eq!(part.inside.map(|inside| inside.length), Some(mm(910.0)));
        }
    }
}

fn pieces_of(laid: &Laid, course: u16, leg: usize) -> Vec<&Piece> {
    let pieces = laid.pieces.iter();
    pieces
        .filter(|p| p.course == course && usize::from(p.leg) == leg)
        .collect()
}

/// On the right side both legs show an end unit on the inner face of the shared wall in every second course, at x =
/// 1115 − 102.5, and all their pieces are whole. The far wall and its neighbours take the corners in turn.
#[test]
fn its_walls_are_toothed_and_its_corners_lap() {
    let part = chamber()
        .with_annex(annex(Side::Right, Measure::Outside, 3.0, 3.0))
        .expect("an annex");
    let laid = laid(part).expect("laid");
    let mut last = None;
    for course in 1..=6 {
        let teeth: Vec<bool> = [4, 6]
            .into_iter()
            .map(|leg| {
                pieces_of(&laid, course, leg)
                    .iter()
                    .any(|p| p.at.x == mm(1012.5))
            })
            .collect();
        assert_eq!(teeth[0], teeth[1], "course {course}");
        assert_ne!(last, Some(teeth[0]), "course {course}");
        last = Some(teeth[0]);
        let own = [4, 5, 6]
            .into_iter()
            .flat_map(|leg| pieces_of(&laid, course, leg));
        assert!(
            own.into_iter().all(|p| p.cut == Cut::Whole),
            "course {course}"
        );
        // The outer corner at the front belongs to one wall, in turn.
        let corner = (mm(1677.5) - Length::from_nm(1), mm(225.0));
        let holder = laid.pieces.iter().find(|p| {
            let (x, y) = (p.cuboid().span(Axis::X), p.cuboid().span(Axis::Y));
            p.course == course
                && x.0 < corner.0
                && corner.0 < x.1
                && y.0 <= corner.1
                && corner.1 < y.1
        });
        let along = holder.map(|p| p.along);
        assert_eq!(along == Some(Axis::Y), !teeth[0], "course {course}");
    }
    // Above the annex the side is a wall like any other.
    assert!(pieces_of(&laid, 7, 4).is_empty());
    // Both walls of course 2 tooth over a joint of course 1; what is above finds its lap.
    assert!(
        laid.breaches.iter().all(|breach| breach.course == 2),
        "{:?}",
        laid.breaches
    );
}

/// A stoke hole in the front of the annex, and a throat through the shared wall, in the middle of the annex.
#[test]
fn openings_and_ducts_find_its_walls() {
    let part = chamber()
        .with_annex(annex(Side::Left, Measure::Outside, 3.0, 3.0))
        .expect("an annex");
    let front = part.annex_side("firebox", Side::Front).expect("a front");
    let hole = Opening::new("stoke hole", front, Size::HalfUnits(1), (2, 3)).expect("an opening");
    let part = part.with_opening(hole).expect("an opening");
    let duct = Duct {
        to: Some("firebox".to_owned()),
        ..Duct::new("throat", "box", Length::mm(140), 3)
    };
    let plan = plan(part).with_duct(duct).expect("a duct");
    let laid = lay(&Arc::new(plan)).expect("laid");
    let hole = laid
        .voids
        .iter()
        .find(|v| v.name == "stoke hole")
        .and_then(perpend::layout::Void::cuboid);
    // The front of the annex lies (1115 − 665) / 2 = 225 mm behind that of the chamber.
    assert_eq!(hole.map(|hole| hole.at.y), Some(mm(225.0)));
    let throat = laid
        .voids
        .iter()
        .find(|v| v.name == "throat")
        .expect("a throat");
    let VoidShape::Cylinder {
        axis, across, span, ..
    } = throat.shape
    else {
        panic!("{throat:?}");
    };
    assert_eq!((axis, across), (Axis::X, mm(557.5)));
    assert_eq!(span, (Length::ZERO, mm(102.5)));
    assert!(laid.plan.is_fired("box"));
}

#[test]
fn what_cannot_lean_is_refused_with_its_cause() {
    let code = |part: Result<Part, PlanError>| match part.and_then(laid) {
        Ok(_) => "",
        Err(error) => error.code,
    };
    let small = || annex(Side::Right, Measure::Outside, 3.0, 3.0);
    let of = |annex: Annex| chamber().with_annex(annex);
    assert_eq!(code(of(small())), "");
    let high = Annex {
        courses: Some(9),
        ..small()
    };
    assert_eq!(code(of(high)), "course-outside-part");
    assert_eq!(
        code(of(annex(Side::Right, Measure::Outside, 3.0, 5.0))),
        "annex-at-a-corner"
    );
    let flush = Annex {
        at: BranchPlace::Left,
        ..small()
    };
    assert_eq!(code(of(flush)), "annex-at-a-corner");
    assert_eq!(
        code(of(annex(Side::Right, Measure::Outside, 1.0, 3.0))),
        "annex-without-inside"
    );
    assert_eq!(
        code(of(annex(Side::Right, Measure::Outside, 3.0, 1.0))),
        "annex-without-inside"
    );
    assert_eq!(
        code(of(small()).and_then(|part| part.with_annex(small()))),
        "name-taken"
    );
    let part = of(small()).expect("an annex");
    assert_eq!(
        part.annex_side("firebox", Side::Left)
            .expect_err("shared")
            .code,
        "annex-shared-wall"
    );
    assert_eq!(
        part.annex_side("store", Side::Back).expect_err("none").code,
        "no-such-annex"
    );
    let pier = Shape::Pier {
        across: units(2.0),
        deep: units(2.0),
        core: perpend::plan::Core::Open,
    };
    let pier = Part::new(pier, Rise::Courses(8)).expect("a pier");
    assert_eq!(code(pier.with_annex(small())), "annex-without-chamber");
    // Another on the same side has to stand clear of the first.
    let second = Annex {
        name: "store".to_owned(),
        ..small()
    };
    assert_eq!(code(part.with_annex(second)), "junction-in-the-way");
}
