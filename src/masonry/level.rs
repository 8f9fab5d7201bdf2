//! Fitting courses to a height, and two gauges to one another.

use std::collections::BTreeMap;

use super::{Gauge, Joint};
use crate::quantity::Length;

/// The bed under course 1 may be this thin or thick: 1/4 to 3/4 in, TMS 602 (quoted in technical notes).
pub const FIRST_BED: (Length, Length) = (Length::from_nm(6_350_000), Length::from_nm(19_050_000));
/// A unit is split to no less than this share of its height: common practice, no source.
pub const THINNEST_SPLIT: i64 = 4;

/// Courses meet when their tops differ by no more than a bed may: 1/8 in, TMS 602, taken as 3 mm.
pub const MEETS_WITHIN: Length = Length::mm(3);

/// How courses are brought to a height. In the order in which a mason prefers them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LevelWay {
    /// Even courses come out as they are.
    Even,
    /// All beds a little thinner or thicker, within tolerance.
    EveryBed,
    /// As few beds as may be, the highest, thinner or thicker as far as tolerance goes.
    SomeBeds,
    /// A first bed of its own, within what a first bed may be.
    FirstBed,
    /// A course of units split along their length, or two where one would be too thin.
    SplitCourse,
    /// The nearest even height: what is off stays off.
    Moved,
}

impl LevelWay {
    /// The words for it.
    pub const fn word(self) -> &'static str {
        match self {
            LevelWay::Even => "even courses",
            LevelWay::EveryBed => "every bed",
            LevelWay::SomeBeds => "some beds",
            LevelWay::FirstBed => "first bed",
            LevelWay::SplitCourse => "split units",
            LevelWay::Moved => "move to a course",
        }
    }
}

/// One way of coming to a height.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LevelOption {
    /// Which.
    pub way: LevelWay,
    /// Courses, the split one included.
    pub courses: u32,
    /// The bed under every course but the first and those named apart.
    pub bed: Length,
    /// The bed under course 1.
    pub first: Length,
    /// How many of the highest courses lie on beds of their own, and how thick those are.
    pub some: Option<(u32, Length)>,
    /// How many courses are of split units, and what those are left at.
    pub split: Option<(u32, Length)>,
    /// The height that it comes to.
    pub height: Length,
}

/// Ways of bringing courses to a height, from the bottom of the first bed to the top of the last unit; the fewest
/// changes and cuts first. All but the moved ones are exact to the nanometre: what sharing out leaves goes to the first
/// bed.
pub fn level_options(unit: Length, bed: Joint, wanted: Length) -> Vec<LevelOption> {
    let course = (unit + bed.nominal).nm();
    let mut found = Vec::new();
    if course <= 0 || !wanted.is_positive() {
        return found;
    }
    let under = wanted.nm().div_euclid(course);
    let mut add = |way, courses: i64, bed: Length, first: Length, split: Option<(u32, Length)>| {
        if let Ok(courses) = u32::try_from(courses)
            && courses > 0
        {
            let (lower, left) = split.unwrap_or_default();
            let units = unit * i64::from(courses - lower.min(courses)) + left * i64::from(lower);
            let height = units + bed * (i64::from(courses) - 1) + first;
            found.push(LevelOption {
                way,
                courses,
                bed,
                first,
                some: None,
                split,
                height,
            });
        }
    };
    if wanted.nm() % course == 0 {
        add(LevelWay::Even, under, bed.nominal, bed.nominal, None);
        return found;
    }
    // As many courses as can be with beds in tolerance, fewest first.
    let most = wanted.nm().div_euclid((unit + bed.shortest).nm().max(1));
    for courses in (1..=most).rev() {
        let each = wanted.nm().div_euclid(courses) - unit.nm();
        if each > bed.longest.nm() {
            break;
        }
        let first = wanted.nm() - courses * unit.nm() - (courses - 1) * each;
        if first <= bed.longest.nm() {
            add(
                LevelWay::EveryBed,
                courses,
                Length::from_nm(each),
                Length::from_nm(first),
                None,
            );
        }
    }
    let few = [under, under + 1].map(|courses| some_beds(unit, bed, wanted, courses));
    for courses in [under, under + 1] {
        let first = bed.nominal + Length::from_nm(wanted.nm() - courses * course);
        if (FIRST_BED.0..=FIRST_BED.1).contains(&first) {
            add(LevelWay::FirstBed, courses, bed.nominal, first, None);
        }
    }
    // One course lower than the others, or two where one alone would be too thin.
    for lower in [1, 2] {
        let left = wanted.nm() - (under + 1) * course + i64::from(lower) * unit.nm();
        let split = Length::from_nm(left.div_euclid(i64::from(lower)));
        let rest = Length::from_nm(left.rem_euclid(i64::from(lower)));
        let fits = split < unit && split * THINNEST_SPLIT >= unit && under + 1 >= i64::from(lower);
        if fits {
            let first = bed.nominal + rest;
            let split = Some((lower, split));
            add(LevelWay::SplitCourse, under + 1, bed.nominal, first, split);
            break;
        }
    }
    for courses in [under, under + 1] {
        add(LevelWay::Moved, courses, bed.nominal, bed.nominal, None);
    }
    found.extend(few.into_iter().flatten());
    found.sort_by_key(|option| {
        let change = (option.bed - bed.nominal).abs() + (option.first - bed.nominal).abs();
        // Few beds that are far off the usual one show more than all of them a little.
        (
            option.way,
            (option.height - wanted).abs(),
            change,
            option.some,
        )
    });
    found
}

/// So many courses brought to a height by the fewest beds within tolerance, all but the first one of them; none where
/// those are not enough, or where all beds would have to change.
fn some_beds(unit: Length, bed: Joint, wanted: Length, courses: i64) -> Option<LevelOption> {
    let by = (wanted - (unit + bed.nominal) * courses).nm();
    let most = if by > 0 {
        (bed.longest - bed.nominal).nm()
    } else {
        (bed.nominal - bed.shortest).nm()
    };
    let count = by.abs().checked_add(most - 1)?.checked_div(most)?;
    // The bed under course 1 takes what sharing out leaves.
    if by == 0 || count > courses - 2 {
        return None;
    }
    let each = by.div_euclid(count);
    let first = bed.nominal + Length::from_nm(by.rem_euclid(count));
    let own = bed.nominal + Length::from_nm(each);
    let (courses, count) = (u32::try_from(courses).ok()?, u32::try_from(count).ok()?);
    (bed.allows(own) && bed.allows(first)).then_some(LevelOption {
        way: LevelWay::SomeBeds,
        courses,
        bed: bed.nominal,
        first,
        some: Some((count, own)),
        split: None,
        height: wanted,
    })
}

/// Tops of courses of two gauges that come to the same height.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Meeting {
    /// Course of the first.
    pub course: u32,
    /// Top of its units.
    pub height: Length,
    /// Course of the second whose top is nearest.
    pub other: u32,
    /// Top of that.
    pub other_height: Length,
    /// Whether they meet within what was allowed.
    pub meets: bool,
}

/// For each course of one gauge the nearest course of the other.
pub fn coursing(one: &Gauge, other: &Gauge, courses: u32, within: Length) -> Vec<Meeting> {
    let tops = (1..=courses).map(|course| one.top_of(course));
    meetings(tops, |course| other.top_of(course), u32::MAX, within)
}

/// For each of some tops of courses the nearest of so many others, whose tops rise with their number.
pub fn meetings(
    tops: impl Iterator<Item = Length>,
    other: impl Fn(u32) -> Length,
    others: u32,
    within: Length,
) -> Vec<Meeting> {
    let mut at = 1;
    let nearest = |(course, height): (u32, Length)| {
        let off = |other_course: u32| (other(other_course) - height).abs();
        while at < others && off(at + 1) < off(at) {
            at += 1;
        }
        Meeting {
            course,
            height,
            other: at,
            other_height: other(at),
            meets: off(at) <= within,
        }
    };
    (1..).zip(tops).map(nearest).collect()
}

/// The bed, in the range it may have, at which courses of units `unit` high meet most courses up to a
/// number, the tops of whose units are given, and how many they meet. Exact over the range in whole nanometres; of equals the nearest to the nominal bed.
/// With `at`, only beds that meet that course count; none when there is none.
pub fn best_bed(
    tops: impl Fn(u32) -> Length,
    courses: u32,
    unit: Length,
    bed: Joint,
    within: Length,
    at: Option<u32>,
) -> Option<(Length, u32)> {
    // For each pair of courses the beds at which they meet, as a closed range.
    let mut ranges: Vec<(i64, i64, u32)> = Vec::new();
    for course in 1..=courses {
        let height = tops(course).nm();
        let (low, high) = (height - within.nm(), height + within.nm());
        let least = low.div_euclid((unit + bed.longest).nm().max(1)).max(1);
        let most = high.div_euclid((unit + bed.shortest).nm().max(1));
        for count in least..=most {
            let from = -(-low).div_euclid(count) - unit.nm();
            let to = high.div_euclid(count) - unit.nm();
            let (from, to) = (from.max(bed.shortest.nm()), to.min(bed.longest.nm()));
            if from <= to {
                ranges.push((from, to, course));
            }
        }
    }
    // The beds at which a range starts or ends, and the nominal one, from thin to thick, with the courses met at each.
    let by_end = |mut ranges: Vec<(i64, i64, u32)>, end: fn(&(i64, i64, u32)) -> i64| {
        ranges.sort_unstable_by_key(end);
        ranges
    };
    let starting = by_end(ranges.clone(), |range| range.0);
    let ending = by_end(ranges, |range| range.1);
    let ends = starting.iter().map(|range| range.0);
    let ends = ends.chain(ending.iter().map(|range| range.1));
    let mut places: Vec<i64> = ends.chain([bed.nominal.nm()]).collect();
    places.sort_unstable();
    places.dedup();
    let (mut starting, mut ending) = (starting.iter().peekable(), ending.iter().peekable());
    let mut open: BTreeMap<u32, u32> = BTreeMap::new();
    let mut best: Option<(u32, i64, i64)> = None;
    for place in places {
        while let Some((_, _, course)) = starting.next_if(|range| range.0 <= place) {
            *open.entry(*course).or_default() += 1;
        }
        while let Some((_, _, course)) = ending.next_if(|range| range.1 < place) {
            if let Some(count) = open.get_mut(course) {
                *count -= 1;
                if *count == 0 {
                    open.remove(course);
                }
            }
        }
        let (met, off) = (open.len() as u32, (place - bed.nominal.nm()).abs());
        let better = best.is_none_or(|(most, least, _)| met > most || (met == most && off < least));
        if better && at.is_none_or(|at| open.contains_key(&at)) {
            best = Some((met, off, place));
        }
    }
    best.map(|(met, _, place)| (Length::from_nm(place), met))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(mm: i64) -> Length {
        Length::mm(mm)
    }

    fn ten() -> Joint {
        Joint::usual_bed(mm(10)).unwrap()
    }

    /// UK vertical gauge, courses of 75 mm ("Brickwork Dimensions" rule): 28 courses 2100 mm.
    #[test]
    fn even_heights_need_nothing() {
        let found = level_options(mm(65), ten(), mm(2100));
        assert_eq!(found.len(), 1);
        assert_eq!((found[0].way, found[0].courses), (LevelWay::Even, 28));
    }

    /// German NF, 71 mm on 12.33 mm (12 courses to the metre, DIN 4172 grid): a door 2010 mm high is 24 courses of
    /// 83.33 mm and 10 mm, shared out 12.75 mm a bed.
    #[test]
    fn beds_share_out_what_is_off() {
        let bed = Joint::usual_bed(Length::from_nm(12_333_333)).unwrap();
        let found = level_options(mm(71), bed, mm(2010));
        assert_eq!(found[0].way, LevelWay::EveryBed);
        assert_eq!(
            (found[0].courses, found[0].bed),
            (24, Length::from_nm(12_750_000))
        );
        assert_eq!(found[0].height, mm(2010));
    }

    /// 350 mm in UK bricks: 4 courses are 300, 5 are 375. Five beds of 5 mm are under the 7 mm allowed, four of 22.5 mm
    /// over 13; the split course is 350 − 300 − 10 = 40 mm.
    #[test]
    fn what_no_bed_takes_is_split() {
        let found = level_options(mm(65), ten(), mm(350));
        assert_eq!(found[0].way, LevelWay::SplitCourse);
        assert_eq!((found[0].courses, found[0].split), (5, Some((1, mm(40)))));
        assert!(found.iter().all(|option| option.way != LevelWay::EveryBed));
        assert_eq!(found.len(), 3);
    }

    /// 365 − 300 − 10 = 55 mm is one course; of 320 mm 10 would be left for it, too thin: two courses of
    /// (10 + 65) / 2 = 37.5 mm.
    #[test]
    fn two_courses_share_what_is_too_thin_for_one() {
        let found = level_options(mm(65), ten(), mm(320));
        let split = found
            .iter()
            .find(|option| option.way == LevelWay::SplitCourse)
            .unwrap();
        assert_eq!(split.split, Some((2, Length::from_nm(37_500_000))));
        assert_eq!((split.courses, split.height), (5, mm(320)));
    }

    /// 308 mm: four beds of 12 mm, or a first bed of 18 mm.
    #[test]
    fn a_first_bed_takes_a_little() {
        let found = level_options(mm(65), ten(), mm(308));
        let ways: Vec<LevelWay> = found.iter().map(|option| option.way).collect();
        assert_eq!(ways[..2], [LevelWay::EveryBed, LevelWay::FirstBed]);
        assert_eq!((found[0].bed, found[1].first), (mm(12), mm(18)));
    }

    /// BIA Technical Note 10B, Table 3: three modular courses to 8 in meet one block course of 8 in, every third course.
    #[test]
    fn brick_and_block_meet_every_eight_inches() {
        let inch = |inch: f64| Length::from_inch(inch).unwrap();
        let (brick, block) = (
            Gauge::new(3, inch(8.0)).unwrap(),
            Gauge::new(1, inch(8.0)).unwrap(),
        );
        let met: Vec<u32> = coursing(&brick, &block, 9, Length::ZERO)
            .into_iter()
            .filter(|meeting| meeting.meets)
            .map(|meeting| meeting.course)
            .collect();
        assert_eq!(met, [3, 6, 9]);
    }

    /// A firebrick 64 mm high on 3 mm meets UK courses of 75 mm at 9 to 8 where 8 × 75 = 9 × 66⅔.
    #[test]
    fn the_lining_meets_at_the_course_asked_for() {
        let gauge = Gauge::from_bed(mm(65), mm(10));
        let bed = Joint::new(mm(3), mm(1), mm(5)).unwrap();
        let (found, _) = best_bed(
            |course| gauge.top_of(course),
            8,
            mm(64),
            bed,
            Length::from_nm(1_000),
            Some(8),
        )
        .unwrap();
        let top = (mm(64) + found) * 9;
        assert!((top - mm(600)).abs() <= Length::from_nm(1_000));
        assert!(
            best_bed(
                |course| gauge.top_of(course),
                1,
                mm(64),
                bed,
                Length::ZERO,
                Some(1)
            )
            .is_none()
        );
    }

    proptest! {
        /// Every way but moving comes to the very height, within its limits.
        #[test]
        fn options_come_to_the_height(unit in 40_i64..=200, bed in 6_i64..=15, wanted in 60_000_000_i64..=3_000_000_000) {
            let bed = Joint::usual_bed(mm(bed)).unwrap();
            let wanted = Length::from_nm(wanted);
            let found = level_options(mm(unit), bed, wanted);
            prop_assert!(found.iter().any(|option| matches!(option.way, LevelWay::Moved | LevelWay::Even)));
            for option in found {
                prop_assert!(option.way == LevelWay::Moved || option.height == wanted, "{:?}", option);
                prop_assert!(option.way != LevelWay::EveryBed || (bed.allows(option.bed) && bed.allows(option.first)));
            }
        }

        /// No bed on a fine grid meets more courses than the best one.
        #[test]
        fn no_bed_meets_more(unit in 50_i64..=80, course in 60_i64..=90, within in 0_i64..=3) {
            let gauge = Gauge::from_bed(mm(course - 10), mm(10));
            let bed = Joint::new(mm(3), mm(1), mm(6)).unwrap();
            let (_, most) = best_bed(|course| gauge.top_of(course), 12, mm(unit), bed, mm(within), None).unwrap();
            for step in 0..=50 {
                let tried = Gauge::from_bed(mm(unit), mm(1) + Length::from_nm(step * 100_000));
                let met = coursing(&gauge, &tried, 12, mm(within)).into_iter().filter(|m| m.meets).count();
                prop_assert!(met as u32 <= most);
            }
        }
    }
}
