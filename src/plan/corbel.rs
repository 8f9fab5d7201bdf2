use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// A corbelled head over an opening: courses that step inwards from both jambs until they meet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Corbel {
    /// How far each course steps inwards; the most that the units allow, brought to the bond, where it is not given.
    pub step: Option<Length>,
}

impl Corbel {
    /// Least step: less takes courses without end. Our own choice.
    pub const LEAST_STEP: Length = Length::mm(5);
}
