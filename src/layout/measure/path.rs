//! The outer face of a part as a path of legs.

use super::sizes::{Gauger, JointRule};
use crate::layout::frame::FaceLeg;
use crate::plan::{Core, Dimension, Heading, Leg, Measure, Part, PlanError, Shape};
use crate::quantity::Length;

pub(super) fn face_legs(
    part: &Part,
    gauger: &mut Gauger<'_>,
    thickness: i64,
) -> Result<(Vec<FaceLeg>, bool, bool), PlanError> {
    let rectangle = |across: i64, deep: i64| {
        vec![
            FaceLeg {
                heading: Heading::Right,
                length: across,
            },
            FaceLeg {
                heading: Heading::Back,
                length: deep,
            },
            FaceLeg {
                heading: Heading::Left,
                length: across,
            },
            FaceLeg {
                heading: Heading::Front,
                length: deep,
            },
        ]
    };
    match &part.shape {
        Shape::Chamber { across, deep } => {
            let mut outer = |dimension: Dimension, word: &str| match dimension.measure {
                Measure::Outside => gauger.size(
                    format!("outside {word}"),
                    dimension.size,
                    JointRule::Outside,
                ),
                Measure::Inside => gauger
                    .size(format!("inside {word}"), dimension.size, JointRule::Inside)
                    .map(|inside| inside + 2 * thickness),
            };
            let across = outer(*across, "across")?;
            let deep = outer(*deep, "deep")?;
            Ok((rectangle(across, deep), true, false))
        }
        Shape::Pier { across, deep, core } => {
            let across = gauger.size("across", *across, JointRule::Outside)?;
            let deep = gauger.size("deep", *deep, JointRule::Outside)?;
            if across.min(deep) < 2 * thickness {
                return Err(PlanError::new(
                    "pier-too-thin",
                    "a pier less than one unit wide is a wall",
                    "make it at least one unit each way",
                ));
            }
            Ok((rectangle(across, deep), true, *core == Core::Concrete))
        }
        // A ring or a curve has no straight legs; a lining is measured as the chamber or ring that it makes.
        Shape::Ring(_) | Shape::Curve(_) | Shape::Lining(_) => Ok((Vec::new(), true, false)),
        Shape::Wall { legs, closed } => {
            let mut found = Vec::with_capacity(legs.len());
            for (index, leg) in legs.iter().enumerate() {
                let before = match index.checked_sub(1) {
                    Some(previous) => legs.get(previous),
                    None if *closed => legs.last(),
                    None => None,
                };
                let after = match legs.get(index + 1) {
                    Some(next) => Some(next),
                    None if *closed => legs.first(),
                    None => None,
                };
                // A right turn shows its inner angle on the face.
                let inner = i64::from(before.is_some_and(|b| turns_right(b, leg)))
                    + i64::from(after.is_some_and(|a| turns_right(leg, a)));
                let rule = match inner {
                    0 => JointRule::Outside,
                    1 => JointRule::Return,
                    _ => JointRule::Inside,
                };
                let what = if legs.len() == 1 {
                    "length".to_owned()
                } else {
                    format!("leg {}", index + 1)
                };
                found.push(FaceLeg {
                    heading: leg.heading,
                    length: gauger.size(what, leg.size, rule)?,
                });
            }
            if *closed {
                let (dx, dy) = found.iter().fold((0, 0), |(x, y), leg| {
                    let (dx, dy) = leg.heading.step();
                    (x + dx * leg.length, y + dy * leg.length)
                });
                if dx != 0 || dy != 0 {
                    return Err(PlanError::new(
                        "path-not-closed",
                        format!(
                            "the path ends {} across and {} deep from where it started",
                            Length::from_nm(dx),
                            Length::from_nm(dy)
                        ),
                        "make the legs of each pair of directions sum alike, or leave `closed` out",
                    )
                    .at_key("closed"));
                }
            }
            Ok((found, *closed, false))
        }
    }
}

fn turns_right(before: &Leg, after: &Leg) -> bool {
    let (ax, ay) = before.heading.step();
    let (bx, by) = after.heading.step();
    ax * by - ay * bx < 0
}
