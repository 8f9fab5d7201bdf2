//! Attached piers at intervals: where they stand, and that the bond holds at each.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{mm, plan_with, setting, unit, units};
use perpend::layout::{Laid, lay};
use perpend::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, Heading, Leg, MOST_BRANCHES, Opening, Part,
    PierRow, Placement, PlanError, Rise, Shape, SideRef, Size,
};
use perpend::quantity::Length;
use proptest::prelude::*;

fn wall(legs: &[(Heading, Size)], courses: u32) -> Part {
    let legs = legs.iter().map(|&(heading, size)| Leg { heading, size });
    let shape = Shape::Wall {
        legs: legs.collect(),
        closed: false,
    };
    Part::new(shape, Rise::Courses(courses)).expect("a wall")
}

fn row(width: i64, reach: BranchReach, every: Size) -> PierRow {
    PierRow {
        pier: Branch {
            name: "post".to_owned(),
            kind: BranchKind::Pier,
            side: SideRef::Leg(0),
            at: BranchPlace::Centre,
            reach,
            thickness: width,
            courses: None,
            toothed: true,
            ties: None,
        },
        every,
    }
}

fn out() -> BranchReach {
    BranchReach::Outside(Size::HalfUnits(1))
}

fn laid(part: Part) -> Result<Laid, PlanError> {
    let plan = plan_with(setting(unit("uk"), None, None))
        .with_part("w", Arc::new(part), Placement::Origin)
        .expect("a part");
    lay(&Arc::new(plan))
}

/// Name and left face of each pier, in mm.
fn posts(laid: &Laid) -> Vec<(String, f64)> {
    let part = laid.parts.first().expect("a part");
    let met = part.junctions.iter();
    met.map(|pier| (pier.name.clone(), pier.span.0.to_mm()))
        .collect()
}

fn places(laid: &Laid) -> Vec<f64> {
    posts(laid).into_iter().map(|(_, at)| at).collect()
}

/// A wall of 17 units is 3815 mm; less a pier of 215 mm that leaves 3600 mm = 32 half units of 112.5 mm. 2 m hold 17 of
/// them, so two bays of 16: 1800 mm.
#[test]
fn bays_are_alike_and_end_piers_flush() {
    let part = wall(&[(Heading::Right, units(17.0))], 6);
    let every = Size::Length(Length::mm(2000));
    let laid = laid(part.with_pier_row(row(2, out(), every)).expect("a row")).expect("laid");
    let named: Vec<(&str, f64)> = vec![("post 1", 0.0), ("post 2", 1800.0), ("post 3", 3600.0)];
    let found = posts(&laid);
    let found: Vec<(&str, f64)> = found.iter().map(|(n, at)| (n.as_str(), *at)).collect();
    assert_eq!(found, named);
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let told = laid.parts[0].snapped.first().expect("a spacing");
    assert_eq!(told.what, "spacing of \"post\", 3 piers");
    assert_eq!((told.became, told.count), (mm(1800.0), 8.0));
}

/// 33 half units in bays of at most 12: three bays of 11. 34 in bays of at most 12: 11, 12 and 11.
#[test]
fn bays_that_do_not_come_out_alike_differ_by_half_a_unit() {
    let bays = |length: f64| {
        let part = wall(&[(Heading::Right, units(length))], 4);
        let laid = laid(
            part.with_pier_row(row(2, out(), units(6.0)))
                .expect("a row"),
        );
        let places = places(&laid.expect("laid"));
        let pairs = places.windows(2);
        pairs
            .map(|pair| ((pair[1] - pair[0]) / 112.5).round())
            .collect::<Vec<f64>>()
    };
    assert_eq!(bays(17.5), [11.0, 11.0, 11.0]);
    assert_eq!(bays(18.0), [11.0, 12.0, 11.0]);
}

/// The gate of 4 units opens 910 mm in the middle of 3815: piers stand flush with both jambs.
#[test]
fn a_gate_has_a_pier_at_each_jamb() {
    let gate = Opening::new("gate", SideRef::Leg(0), units(4.0), (1, 6)).expect("a gate");
    let part = wall(&[(Heading::Right, units(17.0))], 6)
        .with_pier_row(row(2, out(), units(8.0)))
        .expect("a row")
        .with_opening(gate)
        .expect("an opening");
    let laid = laid(part).expect("laid");
    assert_eq!(places(&laid), [0.0, 1237.5, 2362.5, 3600.0]);
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
}

/// A corner does for a pier: on a leg of 12 units with one free end piers stand at its start and every 4 units, none at
/// the corner.
#[test]
fn a_corner_does_for_a_pier() {
    let legs = [(Heading::Right, units(13.0)), (Heading::Back, units(5.0))];
    let part = wall(&legs, 6);
    let reach = BranchReach::Inside(Size::HalfUnits(1));
    let laid = laid(
        part.with_pier_row(row(2, reach, units(4.0)))
            .expect("a row"),
    )
    .expect("laid");
    assert_eq!(places(&laid), [0.0, 900.0, 1800.0]);
}

#[test]
fn rows_that_cannot_be_are_refused() {
    let code = |length: f64, width: i64, every: Size| {
        let part = wall(&[(Heading::Right, units(length))], 4);
        match part.with_pier_row(row(width, out(), every)).and_then(laid) {
            Ok(_) => "",
            Err(error) => error.code,
        }
    };
    assert_eq!(code(12.0, 2, units(1.0)), "");
    assert_eq!(code(12.0, 3, units(1.0)), "piers-too-close");
    assert_eq!(code(1.0, 3, units(4.0)), "junction-outside-wall");
    assert_eq!(
        code(2.0 * (MOST_BRANCHES as f64) + 4.0, 2, units(1.0)),
        "too-many-features"
    );
}

proptest! {
    /// Whatever the wall: end piers flush, no bay wider than asked, bays alike to half a unit, and only whole and half
    /// bats beside them in a wall that comes out in half units.
    #[test]
    fn rows_keep_their_promise(
        halves in 6..60_i64,
        width in 1..=4_i64,
        every in 4..20_i64,
        both in any::<bool>(),
    ) {
        let reach = if both {
            BranchReach::Through(Size::HalfUnits(1), Size::HalfUnits(1))
        } else {
            out()
        };
        let part = wall(&[(Heading::Right, Size::HalfUnits(halves))], 4);
        let row = row(width, reach, Size::HalfUnits(every));
        let laid = match laid(part.with_pier_row(row).expect("a row")) {
            // What stands too close is refused, and nothing else.
            Err(error) => {
                prop_assert!(["piers-too-close", "junction-outside-wall"].contains(&error.code), "{}", error);
                prop_assert!(halves < 2 * (width + 1) || every < 2 * (width + 1), "{}", error);
                return Ok(());
            }
            Ok(laid) => laid,
        };
        let part = laid.parts.first().expect("a part");
        let spans: Vec<(i64, i64)> =
            part.junctions.iter().map(|m| (m.span.0.nm(), m.span.1.nm())).collect();
        prop_assert_eq!(spans.first().map(|span| span.0), Some(0));
        prop_assert_eq!(spans.last().map(|span| span.1), Some(part.legs[0].span.1.nm()));
        let bays: Vec<i64> = spans.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
        let half = 112_500_000;
        prop_assert!(bays.iter().all(|&bay| bay <= every * half), "{:?}", bays);
        if let (Some(least), Some(most)) = (bays.iter().min(), bays.iter().max()) {
            prop_assert!(most - least <= half, "{:?}", bays);
        }
    }
}
