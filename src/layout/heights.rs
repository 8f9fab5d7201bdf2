//! How high each course of a part stands.

use crate::masonry::{Gauge, THINNEST_SPLIT};
use crate::plan::{Coursing, Laying, MOST_COURSES, PlanError};
use crate::quantity::Length;

/// The heights of a part's courses above its base, course by course: the bed under each and the units on it.
///
/// Courses count from 1. Even courses follow the gauge, whose beds differ by a nanometre where it is no whole number of
/// them; any course may have a bed or units of its own height.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heights {
    /// Underside and top of the units of each course.
    courses: Vec<(Length, Length)>,
}

impl Heights {
    /// So many courses of units `unit` high at a gauge.
    pub fn even(gauge: &Gauge, unit: Length, courses: u32) -> Heights {
        let course = |course| {
            let top = gauge.top_of(course);
            (top - unit, top)
        };
        Heights {
            courses: (1..=courses).map(course).collect(),
        }
    }

    /// As [`Heights::even`], but for the courses that depart from it; `standing` says how high a unit is that stands
    /// or lies so.
    ///
    /// # Errors
    /// When there are too many courses, or a bed or a split unit has no height that can be laid.
    pub fn of(
        gauge: &Gauge,
        unit: Length,
        coursing: &Coursing,
        courses: u32,
        standing: impl Fn(Laying) -> Length,
    ) -> Result<Heights, PlanError> {
        if courses > MOST_COURSES {
            return Err(PlanError::new(
                "courses-out-of-range",
                format!("{courses} courses cannot be laid"),
                format!("write a whole number of courses from 1 to {MOST_COURSES}"),
            )
            .at_key("courses"));
        }
        let even = Heights::even(gauge, unit, courses);
        if coursing.is_even() {
            return Ok(even);
        }
        let mut top = Length::ZERO;
        let mut found = Vec::with_capacity(even.courses.len());
        for course in 1..=courses {
            let bed = match coursing.bed_under(course) {
                None => even.bed_under(course),
                Some(bed) if bed.is_negative() || bed > unit => {
                    return Err(PlanError::new(
                        "bed-out-of-range",
                        format!("a bed of {bed} cannot be laid under units {unit} high"),
                        "write a bed from nothing to the height of a unit",
                    )
                    .at_key("beds"));
                }
                Some(bed) => bed,
            };
            let upright = coursing.laid_so(course).map(&standing);
            let height = match coursing.split_to(course) {
                None => upright.unwrap_or(unit),
                Some(height) if height >= unit || height * THINNEST_SPLIT < unit => {
                    return Err(PlanError::new(
                        "split-out-of-range",
                        format!("a unit {unit} high cannot be split to {height}"),
                        "leave at least a quarter of its height, and less than all of it",
                    )
                    .at_key("split"));
                }
                Some(height) => height,
            };
            found.push((top + bed, top + bed + height));
            top = top + bed + height;
        }
        Ok(Heights { courses: found })
    }

    /// How many courses there are.
    pub fn count(&self) -> u32 {
        u32::try_from(self.courses.len()).unwrap_or(MOST_COURSES)
    }

    /// Only the lowest courses, so many.
    pub(super) fn up_to(mut self, courses: u32) -> Heights {
        self.courses.truncate(courses as usize);
        self
    }

    /// Top of the units of a course; 0 is the base, and a course above the last is the top of all.
    pub fn top_of(&self, course: u32) -> Length {
        let place = (course as usize).min(self.courses.len());
        let found = place.checked_sub(1).and_then(|at| self.courses.get(at));
        found.map_or(Length::ZERO, |(_, top)| *top)
    }

    /// Underside of the units of a course; above the last course, the top of all.
    pub fn bottom_of(&self, course: u32) -> Length {
        let found = (course as usize)
            .checked_sub(1)
            .and_then(|at| self.courses.get(at));
        found.map_or_else(|| self.top_of(course), |(bottom, _)| *bottom)
    }

    /// Height of the units of a course.
    pub fn unit_of(&self, course: u32) -> Length {
        self.top_of(course) - self.bottom_of(course)
    }

    /// The bed under a course.
    pub fn bed_under(&self, course: u32) -> Length {
        self.bottom_of(course) - self.top_of(course.saturating_sub(1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of a UK unit: a soldier stands 215 mm high, what lies on edge 102.5 mm.
    fn standing(laying: Laying) -> Length {
        match laying {
            Laying::Soldier | Laying::Sailor => Length::mm(215),
            _ => Length::from_nm(102_500_000),
        }
    }

    /// Beds of 10 mm under 65, 215, 65 and 102.5 mm.
    #[test]
    fn a_course_on_end_or_on_edge_is_as_high_as_its_units() {
        let gauge = Gauge::from_bed(Length::mm(65), Length::mm(10));
        let coursing = Coursing {
            laid: vec![(2, Laying::Soldier), (4, Laying::Rowlock)],
            ..Coursing::default()
        };
        let heights = Heights::of(&gauge, Length::mm(65), &coursing, 4, standing).unwrap();
        let tops: Vec<i64> = (1..=4).map(|c| heights.top_of(c).nm() / 100_000).collect();
        assert_eq!(tops, [750, 3000, 3750, 4875]);
    }

    /// UK vertical gauge: 65 mm units on 10 mm beds, 4 courses 300 mm.
    #[test]
    fn even_courses_follow_the_gauge() {
        let gauge = Gauge::from_bed(Length::mm(65), Length::mm(10));
        let heights = Heights::even(&gauge, Length::mm(65), 4);
        assert_eq!(heights.count(), 4);
        assert_eq!(heights.top_of(4), Length::mm(300));
        assert_eq!(heights.top_of(0), Length::ZERO);
        assert_eq!(
            (heights.bottom_of(1), heights.unit_of(1)),
            (Length::mm(10), Length::mm(65))
        );
        assert_eq!(heights.top_of(9), Length::mm(300));
    }

    #[test]
    fn a_thick_first_bed_and_a_split_course_move_what_is_above() {
        let gauge = Gauge::from_bed(Length::mm(65), Length::mm(10));
        let coursing = Coursing {
            first: Some(Length::mm(15)),
            every: None,
            under: vec![(4, Length::mm(12))],
            split: vec![(3, Length::mm(40))],
            ..Coursing::default()
        };
        let heights = Heights::of(&gauge, Length::mm(65), &coursing, 4, standing).unwrap();
        let tops: Vec<i64> = (1..=4)
            .map(|c| heights.top_of(c).nm() / 1_000_000)
            .collect();
        assert_eq!(tops, [80, 155, 205, 282]);
        assert_eq!(heights.unit_of(3), Length::mm(40));
        assert_eq!(heights.bed_under(4), Length::mm(12));
    }

    #[test]
    fn heights_that_cannot_be_laid_are_refused() {
        let gauge = Gauge::from_bed(Length::mm(65), Length::mm(10));
        for (bed, split) in [(-1, 40), (66, 40), (10, 65), (10, 16)] {
            let coursing = Coursing {
                first: Some(Length::mm(bed)),
                split: vec![(1, Length::mm(split))],
                ..Coursing::default()
            };
            assert!(Heights::of(&gauge, Length::mm(65), &coursing, 2, standing).is_err());
        }
    }
}
