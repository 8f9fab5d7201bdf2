//! How counts and lengths come out in whole units, joints and courses.

use crate::layout::heights::Heights;
use crate::layout::laid::Snapped;
use crate::plan::{LONGEST_SIDE, MOST_COURSES, PlanError, Rise, Size, Snap};
use crate::quantity::Length;

/// The rule of joints: n units outside or in a free run are n(L + j) − j, inside or in an opening n(L + j) + j,
/// between a face and a return n(L + j).
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum JointRule {
    Outside,
    Inside,
    Return,
}

pub(super) struct Gauger<'a> {
    pub(super) module: i64,
    pub(super) joint: i64,
    pub(super) snap: Snap,
    pub(super) snapped: &'a mut Vec<Snapped>,
}

impl Gauger<'_> {
    pub(super) fn add(&self, rule: JointRule) -> i64 {
        match rule {
            JointRule::Outside => -self.joint,
            JointRule::Inside => self.joint,
            JointRule::Return => 0,
        }
    }

    pub(super) fn size(
        &mut self,
        what: impl Into<String>,
        size: Size,
        rule: JointRule,
    ) -> Result<i64, PlanError> {
        let add = self.add(rule);
        let length = match size {
            Size::HalfUnits(halves) => halves * self.module / 2 + add,
            Size::Length(asked) => {
                let over = (asked.nm() - add) * 2;
                let halves = match self.snap {
                    Snap::Nearest => (over + self.module / 2).div_euclid(self.module),
                    Snap::Up => -(-over).div_euclid(self.module),
                    Snap::Down => over.div_euclid(self.module),
                    Snap::Exact => 0,
                };
                let became = if self.snap == Snap::Exact {
                    asked.nm()
                } else {
                    halves.max(1) * self.module / 2 + add
                };
                self.snapped.push(Snapped {
                    what: what.into(),
                    asked,
                    became: Length::from_nm(became),
                    count: (became - add) as f64 / self.module as f64,
                });
                became
            }
        };
        if length <= 0 || length > LONGEST_SIDE.nm() {
            return Err(PlanError::new(
                "size-too-large",
                format!(
                    "a size of {} is outside what can be laid, up to {} m",
                    Length::from_nm(length),
                    LONGEST_SIDE.to_m()
                ),
                "check the number of units",
            ));
        }
        Ok(length)
    }
}

/// The heights of a part's courses: as many as asked for, or as come to the height asked for.
pub(super) fn courses_of(
    rise: Rise,
    heights_to: impl Fn(u32) -> Result<Heights, PlanError>,
    snap: Snap,
    snapped: &mut Vec<Snapped>,
) -> Result<Heights, PlanError> {
    let asked = match rise {
        Rise::Courses(courses) => return heights_to(courses),
        Rise::Height(asked) => asked,
    };
    let too_high = || {
        PlanError::new(
            "courses-out-of-range",
            format!("{asked} high is more than {MOST_COURSES} courses"),
            "check the unit that was written",
        )
        .at_key("height")
    };
    let heights = heights_to(MOST_COURSES)?;
    // The first course that reaches the height.
    let over = (1..=MOST_COURSES)
        .find(|&course| heights.top_of(course) >= asked)
        .ok_or_else(too_high)?;
    let under = over - 1;
    let missed = asked - heights.top_of(under);
    let exact = heights.top_of(over) == asked;
    let courses = match snap {
        Snap::Down if !exact => under,
        Snap::Nearest if missed < heights.top_of(over) - asked => under,
        Snap::Exact if !exact => {
            return Err(PlanError::new(
                "height-off-gauge",
                format!(
                    "{asked} is not a whole number of courses of {}",
                    heights.top_of(1)
                ),
                "let it snap, change the bed joint, or write the number of courses",
            )
            .at_key("height"));
        }
        _ => over,
    }
    .max(1);
    snapped.push(Snapped {
        what: "height".to_owned(),
        asked,
        became: heights.top_of(courses),
        count: f64::from(courses),
    });
    Ok(heights.up_to(courses))
}
