use serde::{Deserialize, Serialize};

use super::{Part, PlanError, Rise, Shape, Side, Size};
use crate::quantity::Length;

/// A wall that runs round a middle and ends free on both sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Curve {
    /// From the middle to the hollow face.
    pub radius: Length,
    /// Round its hollow face.
    pub length: Size,
    /// The side to which it bulges.
    pub bulges: Side,
    /// Whether units are cut to taper, so that joints are parallel.
    pub cut: bool,
}

/// Largest radius: beyond it a wall of any length here is straight to a joint's tolerance; our own choice.
const LARGEST_RADIUS: Length = Length::mm(100_000);

impl Part {
    /// A curved wall.
    ///
    /// # Errors
    /// When its radius is no length that a wall is curved by.
    pub fn curve(curve: Curve, rise: Rise) -> Result<Part, PlanError> {
        if !curve.radius.is_positive() || curve.radius > LARGEST_RADIUS {
            return Err(PlanError::new(
                "radius-out-of-range",
                format!("a wall cannot be curved by a radius of {}", curve.radius),
                format!(
                    "write a radius above zero and up to {} m, such as 3.m",
                    LARGEST_RADIUS.to_m()
                ),
            )
            .at_key("radius"));
        }
        Part::new(Shape::Curve(curve), rise)
    }
}
