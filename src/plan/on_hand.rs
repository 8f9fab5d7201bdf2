use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// Units already in the yard, of the kind that the plan is laid with; used before any are bought.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnHand {
    /// Whole units.
    pub whole: u64,
    /// Half bats with one end as fired.
    pub halves: u64,
    /// Measured lengths of offcuts with one end as fired, and how many there are of each.
    pub offcuts: Vec<(Length, u64)>,
}
