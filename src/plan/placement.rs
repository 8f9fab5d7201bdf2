use serde::{Deserialize, Serialize};

use super::Size;
use crate::quantity::Length;

/// Where a part stands, against another part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Relation {
    /// Beside it, towards larger x.
    RightOf,
    /// Beside it, towards smaller x.
    LeftOf,
    /// Further from the viewer, towards larger y.
    Behind,
    /// Nearer to the viewer, towards smaller y.
    InFrontOf,
    /// On top of it.
    On,
    /// Within it, middle to middle, on the same level.
    InsideOf,
}

impl Relation {
    /// The option key for it.
    pub const fn word(self) -> &'static str {
        match self {
            Relation::RightOf => "right_of",
            Relation::LeftOf => "left_of",
            Relation::Behind => "behind",
            Relation::InFrontOf => "in_front_of",
            Relation::On => "on",
            Relation::InsideOf => "inside_of",
        }
    }

    /// All relations.
    pub const ALL: [Relation; 6] = [
        Relation::RightOf,
        Relation::LeftOf,
        Relation::Behind,
        Relation::InFrontOf,
        Relation::On,
        Relation::InsideOf,
    ];
}

/// How a part lines up with the one it is placed against, across the direction of the relation.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Align {
    /// Middle to middle.
    #[default]
    Centre,
    /// Front or left faces flush.
    Start,
    /// Back or right faces flush.
    End,
}

/// Where a part stands.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Placement {
    /// With its front left corner at the origin: the first part's place.
    Origin,
    /// With its front left corner at x, y.
    At(Length, Length),
    /// Against another part.
    Against {
        /// How.
        relation: Relation,
        /// The other part.
        other: String,
        /// Clear distance between the faces; n units are n(L + j) + j.
        gap: Option<Size>,
        /// Across the relation.
        align: Align,
    },
}
