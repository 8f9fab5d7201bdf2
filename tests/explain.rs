//! Why a course is laid so, and what does away with a breach: worked by hand, and on random parts.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{bench, chamber, lay, plan_of, setting, unit, units, wall_along};
use perpend::layout::interval::{Cost, Limit, solve};
use perpend::layout::{
    Alteration, Bound, BreachKind, CostPoint, Cut, Explained, Flaw, Item, Way, explain, remedies,
};
use perpend::plan::{
    Heading, Ledge, Lintel, LintelKind, Opening, Part, Plan, Side, SideRef, Size, Snap, Vent,
};
use perpend::quantity::{Length, LengthStyle};
use perpend::sheet::{explanation_table, pieces_words, remark_words, remedies_table};
use proptest::prelude::*;

/// The name that the only part of a plan is given.
const PART: &str = "part 0";

fn vents(side: Side, course: u32, count: u32, width: i64) -> Vent {
    Vent {
        name: Vent::usual_name(course),
        side: SideRef::Side(side),
        course,
        count,
        width: Length::mm(width),
    }
}

fn ledge(course: u32, count: u32) -> Ledge {
    Ledge {
        course,
        sides: vec![Side::Left, Side::Right],
        count,
        project: units(0.5),
        notch: None,
    }
}

/// A cabinet of four by four NF with a pair of ledge headers in course 9 and four vents in the back.
fn cabinet(vent_course: u32) -> Part {
    chamber(4.0, 4.0, 24)
        .with_ledge(ledge(9, 2))
        .and_then(|part| part.with_vent(vents(Side::Back, vent_course, 4, 60)))
        .expect("a cabinet")
}

fn nf(part: Part) -> Arc<Plan> {
    Arc::new(plan_of(bench("nf"), vec![part]))
}

/// The only interval of a side.
fn on(side: Side, intervals: &[Explained]) -> &Explained {
    let mut here = intervals
        .iter()
        .filter(|interval| interval.side == SideRef::Side(side));
    let one = here.next().expect("an interval");
    assert!(here.next().is_none(), "several intervals on that side");
    one
}

fn words(way: &Way) -> String {
    pieces_words(way, LengthStyle::Metric)
}

/// The left wall in course 9 butts at both ends: 990 − 2 × 115 = 760 mm clear, headers wanted at 190 and 570 mm of it.
///
/// Course 8 passes: its joints lie at 245, 495 and 745 mm from the wall's end. Without them H 1 1 H would be laid, no
/// cut and each header 122.5 mm off, just within half a unit and joint: 115 + 240 + 240 + 115 = 710 mm and five joints
/// of 10 mm, at 120, 245, 495, 745 and 870 mm, three of them right over joints below. What keeps every lap of 60 mm is
/// 3/4 H 1/2 H 3/4, 177.5 + 115 + 115 + 115 + 177.5 = 700 mm: joints at 120, 307.5, 432.5, 557.5, 682.5 and 870 mm.
/// Its headers lie at 255 and 505 mm, 65 mm off each.
///
/// Three pieces beside the two headers must come to 530 mm less six joints of 7 to 15 mm, 440 to 488 mm: wholes and
/// fractions allow 3/4 + 3/4 + 1/2 and 1 + 1/2 + 1/2 alone, and 1/2 H 1 H 1/2 misses two laps, at 245 and 745 mm. Four
/// halves put a joint over 245 or a header too far off. So what comes next makes one piece short: 1 + 3/4 + 52.5 mm.
#[test]
fn the_ledge_course_by_hand() {
    let explanation = explain(&nf(cabinet(23)), PART, 9).expect("reasons");
    let left = on(Side::Left, &explanation.intervals);
    assert_eq!(left.span, (Length::mm(115), Length::mm(875)));
    assert_eq!(left.bounds, (Bound::WorkButted, Bound::WorkButted));
    assert_eq!(
        left.binding,
        [245, 495, 745].map(Length::mm),
        "joints of course 8"
    );
    assert_eq!(words(&left.laid), "3/4, H, 1/2, H, 3/4");
    assert_eq!(left.laid.joint, Some(Length::mm(10)));
    assert_eq!(
        left.laid.cost,
        Cost {
            cuts: 3,
            drift: Length::mm(130).nm(),
            // 62.5 mm each for four joints at 307.5 to 682.5 mm; those at the corners are on the raster.
            raster: Length::mm(250).nm(),
            ..Cost::default()
        }
    );
    let next = left.next.as_ref().expect("another way");
    let mut pieces: Vec<Item> = next.way.items.clone();
    pieces.retain(|item| *item != Item::Header);
    let odd = Item::Piece(Cut::Odd, common::mm(52.5));
    assert_eq!(pieces.len(), 3);
    assert!(pieces.contains(&odd), "{pieces:?}");
    assert!(pieces.contains(&Item::Piece(Cut::Whole, Length::mm(240))));
    assert!(pieces.contains(&Item::Piece(Cut::Bat(3, 4), common::mm(177.5))));
    assert_eq!(next.way.missed, [(Limit::Piece, common::mm(52.5))]);
    assert_eq!(next.loses_in, Some(CostPoint::Limits));
    assert_eq!((next.way.cost.misses, next.against.misses), (1, 0));
    assert!(next.searched);
    // The front passes both corners: four wholes, and any other way cuts.
    let front = on(Side::Front, &explanation.intervals);
    assert_eq!(front.bounds, (Bound::CornerPassed, Bound::CornerPassed));
    assert_eq!(words(&front.laid), "4×1");
    assert_eq!(front.laid.cost, Cost::default());
    assert_eq!(
        front.next.as_ref().and_then(|next| next.loses_in),
        Some(CostPoint::Cuts)
    );
}

/// A unit, 240 mm, to the left jamb; the door is 1.5 × 250 + 10 = 385 mm wide; 365 mm are left to the right of it.
#[test]
fn jambs_are_named_and_places_are_seen_from_outside() {
    let door = |side| Opening {
        at: Some(units(1.0)),
        lintel: Some(Lintel::of(LintelKind::Steel)),
        ..Opening::new("door", SideRef::Side(side), units(1.5), (3, 6)).expect("an opening")
    };
    for side in Side::ALL {
        let part = chamber(4.0, 4.0, 12)
            .with_opening(door(side))
            .expect("a chamber");
        for course in [3, 4] {
            let explanation = explain(&nf(part.clone()), PART, course).expect("reasons");
            let here: Vec<&Explained> = explanation
                .intervals
                .iter()
                .filter(|interval| interval.side == SideRef::Side(side))
                .collect();
            let [left, right] = here.as_slice() else {
                panic!("{} intervals on the {}", here.len(), side.word());
            };
            let jamb = Bound::Jamb("door".to_owned());
            assert_eq!(left.span.1, Length::mm(240));
            assert_eq!(right.span.0, Length::mm(625));
            assert_eq!((&left.bounds.1, &right.bounds.0), (&jamb, &jamb));
            let passed = left.span.0 == Length::ZERO;
            let corner = if passed {
                Bound::CornerPassed
            } else {
                Bound::WorkButted
            };
            assert_eq!(right.bounds.1, corner);
            assert!(left.span.1 > left.span.0 && right.span.1 > right.span.0);
        }
    }
}

/// Four vents of 60 mm in 760 mm clear between corners that the back does not pass: 520 mm are left for five pieces, and
/// the two joints at the corners take 20 mm of them. 500 mm in five pieces are 100 mm each, less than the 115 mm of a half bat.
/// Where the back passes, 990 − 240 = 750 mm are left without joints, 150 mm each.
#[test]
fn a_short_piece_is_removed_by_the_remedy() {
    let plan = nf(cabinet(22));
    let laid = perpend::layout::lay(&plan).expect("laid");
    let [breach] = laid.breaches.as_slice() else {
        panic!("{:?}", laid.breaches);
    };
    assert_eq!(
        (breach.kind, breach.course),
        (BreachKind::PieceTooShort, 22)
    );
    assert!(
        lay(plan_of(bench("nf"), vec![cabinet(23)]))
            .breaches
            .is_empty()
    );
    let found = remedies(&plan, PART).expect("remedies");
    assert_eq!(found.broken.len(), 1);
    assert_eq!(found.without().count(), 0);
    assert_eq!(found.untried, 0);
    let to_23 = Alteration::VentCourse {
        row: 0,
        side: SideRef::Side(Side::Back),
        from: 22,
        to: 23,
    };
    let remedy = found
        .found
        .iter()
        .find(|remedy| remedy.alteration == to_23)
        .expect("course 23");
    assert_eq!(remedy.removes, found.broken);
    assert_eq!(remedy.left, 0);
    let part = |plan: &Plan| plan.parts.get(PART).map(|placed| (*placed.part).clone());
    assert_eq!(part(&remedy.plan), Some(cabinet(23)));
    let text = remedies_table(
        PART,
        &found,
        &vec![0; found.found.len()],
        LengthStyle::Metric,
    )
    .text();
    let told = [
        "vents on the back in course 23 instead of 22",
        "short piece in course 22  no breach",
    ];
    assert!(told.iter().all(|words| text.contains(words)), "{text}");
    for remedy in &found.found {
        let again = perpend::layout::lay(&remedy.plan).expect("laid");
        assert_eq!(again.breaches.len(), remedy.left, "{:?}", remedy.alteration);
        let cut = |laid: &perpend::layout::Laid| {
            let cut = laid.pieces.iter().filter(|piece| piece.cut != Cut::Whole);
            i64::try_from(cut.count()).expect("a count")
        };
        assert_eq!(cut(&again) - cut(&laid), remedy.more_cuts);
        assert_eq!(
            remedy.alteration.applied(&plan, PART).as_ref(),
            Some(&*remedy.plan)
        );
    }
}

#[test]
fn nothing_is_tried_where_nothing_is_broken() {
    let found = remedies(&nf(cabinet(23)), PART).expect("remedies");
    assert_eq!(
        (found.tried, found.broken.len(), found.found.len()),
        (0, 0, 0)
    );
    let text = remedies_table(PART, &found, &[], LengthStyle::Metric).text();
    assert_eq!(text.trim_end(), "part 0: nothing to mend in the layout");
}

#[test]
fn a_part_or_course_that_is_not_there_is_refused() {
    let plan = nf(cabinet(23));
    let code = |part: &str, course| explain(&plan, part, course).map_err(|error| error.code);
    assert_eq!(code("cabinet", 1).err(), Some("no-such-part"));
    assert_eq!(code(PART, 0).err(), Some("course-outside-part"));
    assert_eq!(code(PART, 25).err(), Some("course-outside-part"));
    assert!(code(PART, 24).is_ok());
    let missing = remedies(&plan, "cabinet").map_err(|error| error.code);
    assert_eq!(missing.err(), Some("no-such-part"));
}

/// Chambers with a door, vents and ledges where chance puts them; what does not fit is left out.
fn parts() -> impl Strategy<Value = (&'static str, i64, Part, u32)> {
    let side = || proptest::sample::select(Side::ALL.to_vec());
    (
        proptest::sample::select(vec!["nf", "uk", "df"]),
        8..=14_i64,
        (4..=9_i64, 4..=9_i64, 1..=2_i64),
        (side(), 1..=4_i64, 1..=3_i64),
        (side(), 1..=9_u32, 1..=3_u32, 30..=110_i64),
        (1..=9_u32, 1..=2_u32),
        1..=10_u32,
    )
        .prop_map(
            |(unit, joint, (across, deep, leaves), door, row, (at, count), course)| {
                let half = |halves: i64| f64::from(i32::try_from(halves).expect("few")) / 2.0;
                let part = chamber(half(across), half(deep), 10);
                let part = part.clone().with_thickness(half(leaves)).unwrap_or(part);
                let opening = Opening {
                    lintel: Some(Lintel::of(LintelKind::Concrete)),
                    ..Opening::new(
                        "door",
                        SideRef::Side(door.0),
                        units(half(door.1)),
                        (2, 1 + door.2),
                    )
                    .expect("an opening")
                };
                let (side, in_course, many, width) = row;
                let fits = |part: &Part| {
                    let setting = setting(common::unit(unit), Some(Length::mm(joint)), None);
                    let plan = plan_of(common::plan_with(setting), vec![part.clone()]);
                    perpend::layout::lay(&Arc::new(plan)).is_ok()
                };
                let tries = [
                    part.clone().with_opening(opening),
                    part.clone().with_vent(vents(side, in_course, many, width)),
                    part.clone().with_ledge(ledge(at, count)),
                ];
                let mut whole = part;
                for (turn, tried) in tries.into_iter().enumerate() {
                    let Ok(tried) = tried else { continue };
                    let mut next = whole.clone();
                    match turn {
                        0 => next.openings = tried.openings,
                        1 => next.vents = tried.vents,
                        _ => next.ledges = tried.ledges,
                    }
                    if fits(&next) {
                        whole = next;
                    }
                }
                (unit, joint, whole, course)
            },
        )
}

/// A wall of 220 mm takes two half bats with a joint of 15 mm, over one another in every course: a lap missed in courses 2
/// to 4. A joint anywhere else leaves a piece under half a bat, so course 2 misses one limit either way; but with its
/// joint at 51.25 + 5 mm, 53.75 mm from the middle, course 3 keeps its lap. Course 4 has nothing above it.
#[test]
fn the_course_below_is_laid_for_the_one_above() {
    let unit = unit("uk");
    let length = Size::Length(Length::mm(220));
    let part = wall_along(&[(Heading::Right, length)], false, 4);
    let mut part = part;
    part.snap = Snap::Exact;
    let plan = Arc::new(plan_of(
        common::plan_with(setting(unit, None, None)),
        vec![part],
    ));
    let laid = lay((*plan).clone());
    let missed: Vec<(u32, BreachKind)> = laid
        .breaches
        .iter()
        .map(|one| (one.course, one.kind))
        .collect();
    assert_eq!(
        missed,
        [(2, BreachKind::PieceTooShort), (4, BreachKind::LapTooShort)]
    );
    let course = |course| explain(&plan, PART, course).expect("reasons");
    let second = course(2);
    let [stretch] = second.intervals.as_slice() else {
        panic!("one stretch: {second:?}");
    };
    assert_eq!(
        stretch.alone.as_ref().map(words).as_deref(),
        Some("1/2, 1/2")
    );
    assert!(["51.3mm, 3/4", "3/4, 51.3mm"].contains(&words(&stretch.laid).as_str()));
    assert!(stretch.next.is_none());
    let text = explanation_table(&second, LengthStyle::Metric).text();
    assert!(
        text.contains("laid so that the course above keeps its lap"),
        "{text}"
    );
    for other in [1, 3, 4] {
        assert!(
            course(other)
                .intervals
                .iter()
                .all(|one| one.alone.is_none())
        );
    }
}

fn check(explained: &Explained, explanation: &perpend::layout::Explanation) {
    let solved = solve(&explained.interval, &explanation.rules);
    let alone = explained.alone.as_ref().unwrap_or(&explained.laid);
    assert_eq!(alone.cost, solved.cost);
    assert_eq!(alone.missed.len(), solved.misses.len());
    // For the course above it is laid worse, but misses no limit more.
    assert!(explained.laid.cost.misses <= solved.cost.misses);
    assert_eq!(
        explained.span.1 - explained.span.0,
        Length::from_nm(explained.interval.length)
    );
    let Some(next) = &explained.next else {
        return;
    };
    let counts = |cost: &Cost| (cost.misses, cost.cuts, cost.odd);
    assert_eq!(counts(&next.against), counts(&explained.laid.cost));
    assert!(next.way.cost >= next.against, "{explained:?}");
    match next.loses_in {
        Some(point) => {
            for before in CostPoint::ALL.into_iter().filter(|before| *before < point) {
                assert_eq!(before.of(&next.way.cost), before.of(&next.against));
            }
            assert!(point.of(&next.way.cost) > point.of(&next.against));
        }
        None => assert_eq!(next.way.cost, next.against),
    }
    let sorted = |way: &Way| {
        let mut words: Vec<String> = way.items.iter().map(|item| format!("{item:?}")).collect();
        words.sort();
        words
    };
    assert_ne!(sorted(&next.way), sorted(&explained.laid));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_told_is_what_was_solved_and_nothing_is_better((name, joint, part, course) in parts()) {
        let setting = setting(unit(name), Some(Length::mm(joint)), None);
        let plan = plan_of(common::plan_with(setting), vec![part]);
        if let Ok(laid) = perpend::layout::lay(&Arc::new(plan.clone())) {
            let explanation = explain(&plan, PART, course).expect("reasons");
            for explained in &explanation.intervals {
                check(explained, &explanation);
            }
            // The pieces told are the pieces laid.
            let told = explanation.intervals.iter().flat_map(|explained| &explained.laid.items);
            let pieces = told.filter(|item| !matches!(item, Item::Vent(_))).count();
            let here = laid.pieces.iter().filter(|piece| u32::from(piece.course) == course).count();
            prop_assert_eq!(pieces, here);
            let missed: usize = explanation.intervals.iter().map(|e| e.laid.missed.len()).sum();
            let broken = laid.breaches.iter().filter(|breach| breach.course == course).count();
            prop_assert_eq!(missed, broken);
            let rows = explanation_table(&explanation, LengthStyle::Metric).rows.len();
            let orders = explanation.intervals.iter().filter(|e| e.reordered.is_some()).count();
            let remarks = explanation.remarks.iter().map(|remark| {
                1 + usize::from(remark_words(remark, LengthStyle::Metric).next.is_some())
            });
            prop_assert_eq!(rows, 2 * explanation.intervals.len() + orders + remarks.sum::<usize>());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn remedies_hold_on_any_part((name, joint, part, _) in parts()) {
        let setting = setting(unit(name), Some(Length::mm(joint)), None);
        let plan = Arc::new(plan_of(common::plan_with(setting), vec![part]));
        if let Ok(found) = remedies(&plan, PART) {
            let before = perpend::layout::lay(&plan).expect("laid").breaches.len();
            for remedy in &found.found {
                let after = perpend::layout::lay(&remedy.plan).expect("laid").breaches;
                prop_assert_eq!(after.len(), remedy.left);
                prop_assert!(after.len() < before);
                for gone in &remedy.removes {
                    let still = after.iter().any(|b| Flaw::Breach(b.kind) == gone.flaw && Some(b.course) == gone.course);
                    prop_assert!(!still, "{:?}", remedy.alteration);
                }
            }
        }
    }
}
