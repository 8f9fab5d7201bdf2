use serde::{Deserialize, Serialize};

use super::PlanError;
use crate::quantity::Length;

/// Two leaves of half-brick side by side, and what is between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leaves {
    /// Clear width between the leaves.
    pub space: Length,
    /// Whether the space is a collar joint, filled with mortar; else it is an open cavity.
    pub filled: bool,
    /// What ties the leaves together, if anything.
    pub ties: Option<Ties>,
}

/// How ties are set out in the beds: in rows, each row shifted by half of `across` against the one below.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ties {
    /// Furthest apart along a row.
    pub across: Length,
    /// Furthest apart upwards.
    pub up: Length,
}

/// Widest space that is built: 300 mm, beyond what ties are made for; common practice, no source.
const WIDEST_SPACE: Length = Length::mm(300);
/// Ties nearer than this are a slip of the pen: common practice, no source.
const NEAREST_TIES: Length = Length::mm(100);

impl Leaves {
    /// Checks the figures.
    ///
    /// # Errors
    /// When the space or the spacing of ties cannot be built.
    pub fn check(&self) -> Result<(), PlanError> {
        if !self.space.is_positive() || self.space > WIDEST_SPACE {
            return Err(PlanError::new(
                "space-out-of-range",
                format!("two leaves {} apart cannot be built", self.space),
                format!("write a space above zero and up to {WIDEST_SPACE}"),
            )
            .at_key("leaves"));
        }
        if let Some(ties) = self.ties
            && (ties.across < NEAREST_TIES || ties.up < NEAREST_TIES)
        {
            return Err(PlanError::new(
                "ties-too-near",
                format!("ties {} by {} apart cannot be set", ties.across, ties.up),
                format!(
                    "write at least {NEAREST_TIES} each way, such as across: 900.mm, up: 450.mm"
                ),
            )
            .at_key("leaves"));
        }
        Ok(())
    }
}
