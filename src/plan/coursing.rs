use super::PlanError;
use crate::quantity::Length;

/// Where the courses of a part depart from the even gauge of its unit and bed joint.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Coursing {
    /// The bed under course 1.
    pub first: Option<Length>,
    /// Every bed that is not named apart; the plan's when left out.
    pub every: Option<Length>,
    /// Beds named apart: the course that lies on it, and how thick it is.
    pub under: Vec<(u32, Length)>,
    /// Courses of units split along their length: the course, and how high its units are left.
    pub split: Vec<(u32, Length)>,
}

impl Coursing {
    /// Whether all courses keep the even gauge.
    pub fn is_even(&self) -> bool {
        *self == Coursing::default()
    }

    /// The bed asked for under a course, if it is named.
    pub fn bed_under(&self, course: u32) -> Option<Length> {
        let apart = self.under.iter().find(|(at, _)| *at == course);
        let first = self.first.filter(|_| course == 1);
        apart.map(|(_, bed)| *bed).or(first).or(self.every)
    }

    /// The height that the units of a course are split to, if they are.
    pub fn split_to(&self, course: u32) -> Option<Length> {
        let found = self.split.iter().find(|(at, _)| *at == course);
        found.map(|(_, height)| *height)
    }

    /// Refuses a course named twice.
    ///
    /// # Errors
    /// When a bed or a split course is given two heights.
    pub fn check(&self) -> Result<(), PlanError> {
        let twice = |list: &[(u32, Length)]| {
            let mut courses: Vec<u32> = list.iter().map(|(course, _)| *course).collect();
            courses.sort_unstable();
            courses.windows(2).find_map(|pair| match pair {
                [a, b] if a == b => Some(*a),
                _ => None,
            })
        };
        for (list, key) in [(&self.under, "beds"), (&self.split, "split")] {
            if let Some(course) = twice(list) {
                return Err(PlanError::new(
                    "course-twice",
                    format!("course {course} is given two heights"),
                    "name each course once",
                )
                .at_key(key));
            }
        }
        Ok(())
    }
}
