use serde::{Deserialize, Serialize};

use super::{Laying, PlanError};
use crate::quantity::Length;

/// Where the courses of a part depart from the even gauge of its unit and bed joint.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coursing {
    /// The bed under course 1.
    pub first: Option<Length>,
    /// Every bed that is not named apart; the plan's when left out.
    pub every: Option<Length>,
    /// Beds named apart: the course that lies on it, and how thick it is.
    pub under: Vec<(u32, Length)>,
    /// Courses of units split along their length: the course, and how high its units are left.
    pub split: Vec<(u32, Length)>,
    /// Courses whose units stand on end or lie on edge: the course, and how they lie.
    pub laid: Vec<(u32, Laying)>,
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

    /// How the units of a course stand or lie, where they depart from the bond.
    pub fn laid_so(&self, course: u32) -> Option<Laying> {
        let found = self.laid.iter().find(|(at, _)| *at == course);
        found.map(|(_, laying)| *laying)
    }

    /// Refuses a course named twice, and layings that are a matter of the bond.
    ///
    /// # Errors
    /// When a course is given two heights, or units that lie flat.
    pub fn check(&self) -> Result<(), PlanError> {
        let twice = |mut courses: Vec<u32>| {
            courses.sort_unstable();
            courses.windows(2).find_map(|pair| match pair {
                [a, b] if a == b => Some(*a),
                _ => None,
            })
        };
        if let Some((_, laying)) = self.laid.iter().find(|(_, laid)| !laid.is_upright()) {
            return Err(PlanError::new(
                "course-lies-flat",
                format!("{} is a matter of the bond", laying.course_word()),
                "name courses of soldiers, sailors, rowlocks or shiners here; choose a bond with headers for the others",
            )
            .at_key("laid"));
        }
        let named = |list: &[(u32, Length)]| list.iter().map(|(course, _)| *course).collect();
        let (under, split): (Vec<u32>, Vec<u32>) = (named(&self.under), named(&self.split));
        let laid = self.laid.iter().map(|(course, _)| *course);
        let high = split.iter().copied().chain(laid).collect();
        for (list, key) in [(under, "beds"), (split, "split"), (high, "laid")] {
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
