use serde::{Deserialize, Serialize};

use super::{LONGEST_SIDE, PlanError};
use crate::quantity::Length;

/// A horizontal size: a number of units (in halves), or a length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Size {
    /// Half units: 3 means one and a half units. What length that is depends on the rule of joints.
    HalfUnits(i64),
    /// A length, snapped to whole or half units where it has to come out in brickwork.
    Length(Length),
}

impl Size {
    /// A size from a plain number of units.
    ///
    /// # Errors
    /// When the number is not a multiple of one half, not positive, or absurdly large.
    pub fn units(count: f64) -> Result<Size, PlanError> {
        let halves = count * 2.0;
        if !halves.is_finite() || halves <= 0.0 {
            return Err(PlanError::new(
                "size-not-positive",
                format!("{count} units is not a size"),
                "write a number of units above zero, or a length such as 1.2.m",
            ));
        }
        if (halves - halves.round()).abs() > 1e-9 {
            return Err(PlanError::new(
                "size-not-in-halves",
                format!("{count} units is not a whole or half number of units"),
                "write whole or half units, such as 3 or 3.5, or write a length such as 800.mm",
            ));
        }
        // The shortest unit allowed is 10 mm, so this many halves always passes the longest side.
        let most = LONGEST_SIDE.nm() / super::SHORTEST_UNIT.nm() * 2;
        if halves > most as f64 {
            return Err(too_large(&format!("{count} units")));
        }
        Ok(Size::HalfUnits(halves.round() as i64))
    }

    /// A size from a length.
    ///
    /// # Errors
    /// When the length is not positive or longer than [`LONGEST_SIDE`].
    pub fn length(length: Length) -> Result<Size, PlanError> {
        if !length.is_positive() {
            return Err(PlanError::new(
                "size-not-positive",
                format!("{length} is not a size"),
                "write a length above zero",
            ));
        }
        if length > LONGEST_SIDE {
            return Err(too_large(&format!("{} m", length.to_m())));
        }
        Ok(Size::Length(length))
    }
}

fn too_large(what: &str) -> PlanError {
    PlanError::new(
        "size-too-large",
        format!(
            "{what} is more than the longest side allowed, {} m",
            LONGEST_SIDE.to_m()
        ),
        "check the unit that was written; this program is for small brickwork",
    )
}

/// How a length asked for is brought to whole or half units.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Snap {
    /// To the nearest half unit; halfway goes up.
    #[default]
    Nearest,
    /// To the next half unit that is at least as long.
    Up,
    /// To the last half unit that is not longer.
    Down,
    /// Not at all: joints and cuts make up the length.
    Exact,
}
