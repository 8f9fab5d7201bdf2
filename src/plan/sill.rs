use serde::{Deserialize, Serialize};

use super::LintelKind;
use crate::quantity::Length;

/// What lies across the foot of an opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SillKind {
    /// Units on edge side by side, their ends in the face.
    Rowlock,
    /// A slab of this material.
    Slab(LintelKind),
}

impl SillKind {
    /// The words for the kinds.
    pub const WORDS: &'static [&'static str] = &["rowlock", "stone", "concrete"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            SillKind::Rowlock => "rowlock",
            SillKind::Slab(kind) => kind.word(),
        }
    }

    /// The kind that a word names.
    pub fn from_word(word: &str) -> Option<SillKind> {
        match word {
            "rowlock" => Some(SillKind::Rowlock),
            "stone" => Some(SillKind::Slab(LintelKind::Stone)),
            "concrete" => Some(SillKind::Slab(LintelKind::Concrete)),
            _ => None,
        }
    }
}

/// A sill or a threshold: it lies on a bed in the foot of an opening, between its jambs, and takes so much of its height.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sill {
    /// What it is made of.
    pub kind: SillKind,
    /// Whether it is a threshold to be walked over, which ends with the face.
    pub threshold: bool,
    /// Height of a slab; that of a unit where it is not given. Ignored for units.
    pub depth: Option<Length>,
    /// How far it stands out from the outer face.
    pub project: Length,
    /// Whether a slab has a groove under its edge.
    pub drip: bool,
    /// How far it is laid or cut to fall outwards, in degrees; level where it is not said. It is noted, not modelled.
    pub slope: Option<u32>,
}

impl Sill {
    /// Usual projection of a sill: 40 mm from the face to the drip, UK practice, from memory.
    pub const USUAL_PROJECTION: Length = Length::mm(40);
    /// Furthest that a sill projects: our own choice, beyond what a unit or slab that is not tied in can carry.
    pub const FURTHEST: Length = Length::mm(150);
    /// Steepest fall, in degrees: our own choice.
    pub const STEEPEST: u32 = 45;

    /// A sill of a kind with everything else as usual.
    pub const fn of(kind: SillKind) -> Sill {
        Sill {
            kind,
            threshold: false,
            depth: None,
            project: Sill::USUAL_PROJECTION,
            drip: matches!(kind, SillKind::Slab(_)),
            slope: None,
        }
    }

    /// A threshold of a kind.
    pub const fn threshold(kind: SillKind) -> Sill {
        Sill {
            threshold: true,
            project: Length::ZERO,
            drip: false,
            ..Sill::of(kind)
        }
    }

    /// `sill` or `threshold`.
    pub const fn word(&self) -> &'static str {
        if self.threshold { "threshold" } else { "sill" }
    }
}
