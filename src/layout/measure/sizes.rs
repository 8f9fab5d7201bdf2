//! How counts and lengths come out in whole units, joints and courses.

use crate::layout::laid::Snapped;
use crate::masonry::Gauge;
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

pub(super) fn courses_of(
    rise: Rise,
    gauge: &Gauge,
    snap: Snap,
    snapped: &mut Vec<Snapped>,
) -> Result<u32, PlanError> {
    let asked = match rise {
        Rise::Courses(courses) => return Ok(courses),
        Rise::Height(asked) => asked,
    };
    let step = gauge.mean().nm().max(1);
    let count = match snap {
        Snap::Nearest => (asked.nm() + step / 2).div_euclid(step),
        Snap::Up => -(-asked.nm()).div_euclid(step),
        Snap::Down => asked.nm().div_euclid(step),
        Snap::Exact => {
            let count = (asked.nm() + step / 2).div_euclid(step);
            let exact = u32::try_from(count).is_ok_and(|count| gauge.top_of(count) == asked);
            if !exact {
                return Err(PlanError::new(
                    "height-off-gauge",
                    format!(
                        "{asked} is not a whole number of courses of {}",
                        gauge.mean()
                    ),
                    "let it snap, change the bed joint, or write the number of courses",
                )
                .at_key("height"));
            }
            count
        }
    }
    .max(1);
    match u32::try_from(count) {
        Ok(courses) if courses <= MOST_COURSES => {
            snapped.push(Snapped {
                what: "height".to_owned(),
                asked,
                became: gauge.top_of(courses),
                count: f64::from(courses),
            });
            Ok(courses)
        }
        _ => Err(PlanError::new(
            "courses-out-of-range",
            format!("{asked} high is more than {MOST_COURSES} courses"),
            "check the unit that was written",
        )
        .at_key("height")),
    }
}
