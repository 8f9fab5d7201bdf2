//! Bringing ducts, openings and ledges onto the gauge: every way laid anew, and what it is said to cost found again.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{bench, mm, unit};
use perpend::compare::{
    LEVEL_WITHIN, LevelChange, LevelItem, LevelOf, LevelTask, LevelWays, level_ways,
};
use perpend::layout::{Cut, Laid, VoidKind, lay};
use perpend::masonry::{Joint, LevelWay, level_options};
use perpend::plan::{
    Dimension, Duct, Heading, Ledge, Leg, Lintel, LintelKind, Measure, Opening, Part, Placement,
    Plan, Relation, Rise, Shape, Side, SideRef, Size,
};
use perpend::quantity::Length;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;

fn chamber(halves: i64, courses: u32) -> Part {
    let size = |halves| Dimension {
        size: Size::HalfUnits(halves),
        measure: Measure::Outside,
    };
    let shape = Shape::Chamber {
        across: size(halves),
        deep: size(halves),
    };
    Part::new(shape, Rise::Courses(courses)).expect("a chamber")
}

fn wall(courses: u32) -> Part {
    let legs = vec![Leg {
        heading: Heading::Right,
        size: Size::HalfUnits(16),
    }];
    let shape = Shape::Wall {
        legs,
        closed: false,
    };
    Part::new(shape, Rise::Courses(courses)).expect("a wall")
}

fn with(mut plan: Plan, name: &str, part: Part, placement: Placement) -> Plan {
    plan = plan
        .with_part(name, Arc::new(part), placement)
        .expect("a part");
    plan
}

/// Two chambers in UK bricks with a pipe between them, on the bed of course 3: 160 mm above the slab.
fn pair(diameter: i64) -> Arc<Plan> {
    let beside = Placement::Against {
        relation: Relation::RightOf,
        other: "a".to_owned(),
        gap: Some(Size::Length(Length::mm(300))),
        align: perpend::plan::Align::Centre,
    };
    let plan = with(bench("uk"), "a", chamber(8, 9), Placement::Origin);
    let plan = with(plan, "b", chamber(8, 12), beside);
    let duct = Duct {
        name: "throat".to_owned(),
        from: "a".to_owned(),
        to: Some("b".to_owned()),
        side: None,
        diameter: Length::mm(diameter),
        course: 3,
        proud: Length::mm(20),
        shift: Length::ZERO,
        raise: Length::ZERO,
        from_annex: None,
        to_annex: None,
        head: None,
    };
    Arc::new(plan.with_duct(duct).expect("a duct"))
}

fn throat(of: LevelOf, height: Option<i64>) -> LevelTask {
    LevelTask {
        item: LevelItem::Duct("throat".to_owned()),
        of,
        height: height.map(Length::mm),
    }
}

fn store(kind: Option<LintelKind>) -> Arc<Plan> {
    let mut door =
        Opening::new("door", SideRef::Leg(0), Size::HalfUnits(4), (2, 8)).expect("an opening");
    door.lintel = kind.map(Lintel::of);
    let part = wall(14).with_opening(door).expect("a door");
    Arc::new(with(bench("uk"), "store", part, Placement::Origin))
}

fn door(of: LevelOf, height: i64) -> LevelTask {
    LevelTask {
        item: LevelItem::Opening {
            part: "store".to_owned(),
            name: "door".to_owned(),
        },
        of,
        height: Some(Length::mm(height)),
    }
}

fn found(plan: &Arc<Plan>, task: &LevelTask) -> LevelWays {
    level_ways(plan, task).expect("ways")
}

/// UK gauge: units of course 3 start 160 mm up. A pipe of 140 mm ends at 300 mm, 10 mm under course 5: level. One of
/// 150 mm ends at 310, where the units of course 5 start; course 6 starts at 385, 75 mm above the crown.
#[test]
fn a_pipe_on_gauge_needs_nothing_and_one_off_it_has_ways() {
    assert!(
        found(&pair(140), &throat(LevelOf::Crown, None))
            .ways
            .is_empty()
    );
    let plan = pair(150);
    let ways = found(&plan, &throat(LevelOf::Crown, None));
    assert_eq!(ways.now.off, mm(65.0));
    let diameters: Vec<Length> = ways
        .ways
        .iter()
        .filter_map(|way| match way.changes.as_slice() {
            [LevelChange::Diameter { to, .. }] => Some(*to),
            _ => None,
        })
        .collect();
    assert!(diameters.contains(&mm(140.0)), "{diameters:?}");
    assert!(diameters.contains(&mm(215.0)), "{diameters:?}");
    // Two courses in each wall give up 65 mm together: 32.5 mm are left of each.
    let split = ways.ways.iter().find(|way| {
        way.changes.iter().all(|change| {
            matches!(change, LevelChange::Split { courses, to, .. } if courses.len() == 2 && *to == mm(32.5))
        })
    });
    assert_eq!(split.map(|way| way.changes.len()), Some(2));
    assert!(
        split.is_some_and(|way| way.reading.meets && way.more_cuts > 0 && way.higher == -mm(65.0))
    );
}

/// The invert is at 160 mm. 164 is 4 mm more on the beds under courses 2 and 3 (3 mm each at most), or a pipe 4 mm over
/// its bed.
#[test]
fn an_invert_is_brought_to_a_height() {
    let ways = found(&pair(140), &throat(LevelOf::Invert, Some(164)));
    let beds = ways
        .ways
        .iter()
        .find_map(|way| match way.changes.as_slice() {
            [LevelChange::Beds { courses, to, .. }] => Some((*courses, to.clone())),
            _ => None,
        });
    assert_eq!(beds, Some(((2, 3), vec![mm(12.0), mm(12.0)])));
    assert!(ways.ways.iter().any(|way| {
        way.changes
            == [LevelChange::Raise {
                from: Length::ZERO,
                to: mm(4.0),
            }]
            && way.reading.off == Length::ZERO
    }));
}

/// 8 courses are 600 mm: under a bar the door's head; a stone lies on a bed more, at 610 mm. Its sill is at 75 mm.
#[test]
fn heads_and_sills_are_where_they_are_built() {
    let now = |kind, of, height| found(&store(kind), &door(of, height)).now.height;
    assert_eq!(now(Some(LintelKind::Steel), LevelOf::Head, 610), mm(600.0));
    assert_eq!(now(Some(LintelKind::Stone), LevelOf::Head, 600), mm(610.0));
    assert_eq!(now(None, LevelOf::Sill, 100), mm(75.0));
}

/// 620 mm: 20 mm over 8 courses are at most 3 mm a bed, so seven beds of 12.857 mm, the rest on the lowest; a first bed
/// takes 9.05 mm at most. Or a ninth course with 65 − 55 = 10 mm, too thin: two of 37.5.
#[test]
fn a_head_is_brought_up_by_the_fewest_beds() {
    let ways = found(&store(Some(LintelKind::Steel)), &door(LevelOf::Head, 620));
    let best = ways.ways.first().expect("a way");
    let [LevelChange::Beds { courses, to, .. }] = best.changes.as_slice() else {
        panic!("{:?}", best.changes);
    };
    assert_eq!(*courses, (2, 8));
    let sum: Length = to.iter().fold(Length::ZERO, |sum, bed| sum + *bed);
    assert_eq!(sum, mm(90.0));
    assert!(to.iter().all(|bed| *bed <= mm(13.0)));
    assert!((best.more_cuts, best.more_breaches) == (0, 0));
    let split = ways
        .ways
        .iter()
        .find_map(|way| match way.changes.as_slice() {
            [
                LevelChange::Course { from: 8, to: 9 },
                LevelChange::Split { courses, to, .. },
            ] => Some((courses.len(), *to)),
            _ => None,
        });
    assert_eq!(split, Some((2, mm(37.5))));
    assert!(
        !ways
            .ways
            .iter()
            .any(|way| matches!(way.changes.as_slice(), [LevelChange::FirstBed { .. }]))
    );
}

/// The ledge in course 9 tops out at 675 mm; 681 are a first bed of 16 mm.
#[test]
fn a_ledge_is_known_by_its_course() {
    let ledge = Ledge {
        course: 9,
        sides: vec![Side::Left, Side::Right],
        count: 2,
        project: Size::HalfUnits(1),
        notch: None,
    };
    let part = chamber(8, 14).with_ledge(ledge).expect("a ledge");
    let plan = Arc::new(with(bench("uk"), "box", part, Placement::Origin));
    let task = |course, height| LevelTask {
        item: LevelItem::Ledge {
            part: "box".to_owned(),
            course,
        },
        of: LevelOf::Top,
        height: Some(Length::mm(height)),
    };
    let ways = found(&plan, &task(9, 681));
    assert_eq!(ways.now.height, mm(675.0));
    assert!(ways.ways.iter().any(|way| matches!(
        way.changes.as_slice(),
        [LevelChange::FirstBed { to, .. }] if *to == mm(16.0)
    )));
    // Moved to course 10, it is still found: 750 is a course of its own.
    let moved = found(&plan, &task(9, 750));
    assert_eq!(
        moved.ways.first().map(|way| way.changes.clone()),
        Some(vec![LevelChange::Course { from: 9, to: 10 }])
    );
    assert_eq!(
        level_ways(&plan, &task(4, 300)).expect_err("no ledge").code,
        "nothing-to-level"
    );
}

#[test]
fn what_is_not_there_is_refused() {
    let none = LevelTask {
        item: LevelItem::Duct("flue".to_owned()),
        of: LevelOf::Crown,
        height: None,
    };
    assert_eq!(
        level_ways(&pair(140), &none).expect_err("no duct").code,
        "nothing-to-level"
    );
    let task = LevelTask {
        height: None,
        ..door(LevelOf::Head, 600)
    };
    assert_eq!(
        level_ways(&store(None), &task).expect_err("no height").code,
        "height-missing"
    );
}

/// Cut pieces, bitten ones included, counted again.
fn cuts(laid: &Laid) -> i64 {
    let cut = laid
        .pieces
        .iter()
        .filter(|piece| piece.cut != Cut::Whole || laid.shaping(piece).is_some());
    cut.count() as i64
}

fn check(plan: &Arc<Plan>, task: &LevelTask) -> Result<(), TestCaseError> {
    let before = lay(plan).expect("laid");
    let units = |laid: &Laid| Takeoff::of(laid).expect("a takeoff").units.net as i64;
    let ways = found(plan, task);
    for way in &ways.ways {
        let after = lay(&way.plan).expect("every way is laid");
        prop_assert_eq!(way.more_cuts, cuts(&after) - cuts(&before));
        prop_assert_eq!(way.more_units, units(&after) - units(&before));
        let breaches = after.breaches.len() as i64 - before.breaches.len() as i64;
        prop_assert_eq!(way.more_breaches, breaches);
        // All beds that are changed stay within tolerance, the first within its own.
        let bed = plan.setting.joints.bed;
        for change in &way.changes {
            if let LevelChange::Beds { to, .. } = change {
                prop_assert!(to.iter().all(|&one| bed.allows(one)), "{:?}", change);
            }
        }
        // What only moves it by whole courses is off; all else is exact.
        let only_moved = matches!(way.changes.as_slice(), [LevelChange::Course { .. }]);
        prop_assert!(only_moved || way.reading.off == Length::ZERO, "{:?}", way);
        prop_assert_eq!(way.reading.meets, way.reading.off.abs() <= LEVEL_WITHIN);
    }
    // Best first: what does not meet comes last.
    let meets: Vec<bool> = ways.ways.iter().map(|way| way.reading.meets).collect();
    prop_assert!(
        meets.windows(2).all(|pair| pair[0] || !pair[1]),
        "{:?}",
        meets
    );
    // Made, the best way leaves nothing to do.
    if let Some(best) = ways
        .ways
        .first()
        .filter(|best| best.reading.off == Length::ZERO)
    {
        let again = found(&best.plan, task);
        prop_assert_eq!(again.now.off, Length::ZERO);
        prop_assert!(again.ways.is_empty());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A door's head or sill at any height, under any lintel.
    #[test]
    fn openings_come_level_at_the_price_told(
        height in 80_i64..900,
        sill in any::<bool>(),
        kind in proptest::sample::select(vec![None, Some(LintelKind::Steel), Some(LintelKind::Stone)]),
    ) {
        let of = if sill { LevelOf::Sill } else { LevelOf::Head };
        check(&store(kind), &door(of, height))?;
    }

    /// A pipe's invert at any height, or its crown whatever its diameter.
    #[test]
    fn pipes_come_level_at_the_price_told(diameter in 80_i64..260, height in 100_i64..400) {
        check(&pair(diameter), &throat(LevelOf::Invert, Some(height)))?;
        let plan = pair(diameter);
        let ways = found(&plan, &throat(LevelOf::Crown, None));
        for way in &ways.ways {
            let after = lay(&way.plan).expect("every way is laid");
            let crown = after.ducts[0].heights.1;
            prop_assert_eq!(way.reading.height, crown);
            if way.reading.meets {
                // In both walls the units over the crown start within a bed's tolerance of it.
                for part in &after.parts {
                    let bed = plan.setting.joints.bed;
                    let starts = (1..=part.courses).map(|course| part.heights.bottom_of(course));
                    let over = starts.filter(|&start| start - crown >= bed.shortest).min();
                    prop_assert!(over.is_some_and(|start| start - crown <= bed.longest), "{:?}", way);
                }
            }
        }
        prop_assert!(after_void(&plan) == 2);
    }
}

fn after_void(plan: &Arc<Plan>) -> usize {
    let laid = lay(plan).expect("laid");
    laid.voids
        .iter()
        .filter(|void| void.kind == VoidKind::Duct)
        .count()
}

/// BIA Technical Note 10B (June 1993), Table 3: three courses of modular brick rise 8 in. Every third course of the table
/// is even; a height between has beds, a split course or the next course.
#[test]
fn published_us_heights_are_even() {
    let bed = Joint::usual_bed(common::inch("3/8")).expect("a bed");
    // The specified height, 2 1/4 in, with 3/8 in is a nominal 2 5/8; the gauge is 2 2/3 (the table's footnote), so that
    // eight inches want beds of 5/12 in.
    let found = level_options(unit("us_modular").height, bed, common::inch("8"));
    let first = found.first().expect("a way");
    assert_eq!((first.way, first.courses), (LevelWay::EveryBed, 3));
    assert!((first.bed - Length::from_nm(10_583_333)).abs() <= Length::from_nm(1));
}

/// UK vertical gauge of 75 mm courses, from the course of 75 mm in Technical Information Sheet 9: coordinating heights are
/// even; openings are 10 mm more (CO+), shared out or taken by the first bed; sills without a joint (CO-) 10 mm less.
#[test]
fn published_uk_heights_are_even() {
    let bed = Joint::usual_bed(mm(10.0)).expect("a bed");
    let table: [(u32, i64); 20] = [
        (1, 75),
        (2, 150),
        (3, 225),
        (4, 300),
        (5, 375),
        (6, 450),
        (7, 525),
        (8, 600),
        (9, 675),
        (10, 750),
        (11, 825),
        (12, 900),
        (13, 975),
        (14, 1050),
        (15, 1125),
        (16, 1200),
        (17, 1275),
        (18, 1350),
        (19, 1425),
        (20, 1500),
    ];
    for (courses, height) in table {
        let even = level_options(mm(65.0), bed, Length::mm(height));
        assert_eq!(even.len(), 1, "{height}");
        assert_eq!((even[0].way, even[0].courses), (LevelWay::Even, courses));
        for (off, limit) in [(10, 3), (-10, 3)] {
            let found = level_options(mm(65.0), bed, Length::mm(height + off));
            let shares = found
                .iter()
                .any(|way| way.way == LevelWay::EveryBed && way.courses == courses);
            // 10 mm over so many beds of at most 3 mm more or less.
            assert_eq!(shares, i64::from(courses) * limit >= 10, "{height} {off}");
            let some = found
                .iter()
                .find(|way| way.way == LevelWay::SomeBeds && way.courses == courses);
            // Four beds of 2.5 mm are the fewest.
            assert_eq!(some.is_some(), courses >= 6, "{height} {off}");
            assert!(some.is_none_or(|way| way.some.is_some_and(|(count, _)| count == 4)));
        }
    }
}

/// German building handbook: 12 courses of NF, 8 of 2DF, 16 of DF to the metre (DIN 4172 grid of 125 mm).
#[test]
fn published_german_heights_are_even() {
    for (name, per_metre) in [("nf", 12), ("2df", 8), ("df", 16)] {
        let unit = unit(name);
        let bed = unit.gauge.bed(unit.height);
        let bed = Joint::usual_bed(bed).expect("a bed");
        for metres in 1..=3_i64 {
            let found = level_options(unit.height, bed, mm(1000.0) * metres);
            let first = found.first().expect("a way");
            assert_eq!(i64::from(first.courses), per_metre * metres, "{name}");
            assert!(
                matches!(first.way, LevelWay::Even | LevelWay::EveryBed),
                "{name}"
            );
            assert!(
                (first.bed - bed.nominal).abs() <= Length::from_nm(1),
                "{name}"
            );
        }
    }
}
