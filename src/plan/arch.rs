use serde::{Deserialize, Serialize};

use crate::quantity::Length;

/// The curve of an arch.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ArchKind {
    /// A jack arch: soffit all but level, its sides leaning on skewbacks.
    Flat,
    /// Part of a circle, less than half.
    Segmental,
    /// Half a circle.
    Semicircular,
}

impl ArchKind {
    /// The words for the kinds.
    pub const WORDS: &'static [&'static str] = &["flat", "segmental", "semicircular"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            ArchKind::Flat => "flat",
            ArchKind::Segmental => "segmental",
            ArchKind::Semicircular => "semicircular",
        }
    }

    /// The kind that a word names.
    pub fn from_word(word: &str) -> Option<ArchKind> {
        match word {
            "flat" => Some(ArchKind::Flat),
            "segmental" => Some(ArchKind::Segmental),
            "semicircular" => Some(ArchKind::Semicircular),
            _ => None,
        }
    }
}

/// How the voussoirs of an arch stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// On end: the ring is as deep as a unit is long.
    Soldier,
    /// On edge: the ring is as deep as a unit is wide, and a unit reaches through the wall.
    Rowlock,
}

impl Standing {
    /// The words for them.
    pub const WORDS: &'static [&'static str] = &["soldier", "rowlock"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Standing::Soldier => "soldier",
            Standing::Rowlock => "rowlock",
        }
    }

    /// What a word names.
    pub fn from_word(word: &str) -> Option<Standing> {
        match word {
            "soldier" => Some(Standing::Soldier),
            "rowlock" => Some(Standing::Rowlock),
            _ => None,
        }
    }
}

/// An arch over an opening; it springs from the top of the opening's last course.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Arch {
    /// Its curve.
    pub kind: ArchKind,
    /// Rise of a segmental arch; an eighth of the span where it is not given.
    pub rise: Option<Length>,
    /// Height of a flat arch in courses; the most that its units reach where it is not given.
    pub courses: Option<u32>,
    /// Rings one over another, for a curved arch.
    pub rings: u32,
    /// How its units stand.
    pub standing: Standing,
    /// Whether units are cut to a taper, with parallel joints; left to the arch where it is not given: cut where
    /// uncut units would leave joints beyond their limits.
    pub cut: Option<bool>,
    /// Number of voussoirs in each ring; odd, and the best for the joints, where it is not given.
    pub voussoirs: Option<u32>,
}

impl Arch {
    /// Most rings of one arch: our own choice, far above small brickwork.
    pub const MOST_RINGS: u32 = 6;
    /// Most voussoirs in a ring: our own choice, far above small brickwork.
    pub const MOST_VOUSSOIRS: u32 = 999;

    /// An arch of a kind with everything else as usual: a flat one of soldiers, the others of rowlocks.
    pub const fn of(kind: ArchKind) -> Arch {
        Arch {
            kind,
            rise: None,
            courses: None,
            rings: 1,
            standing: match kind {
                ArchKind::Flat => Standing::Soldier,
                ArchKind::Segmental | ArchKind::Semicircular => Standing::Rowlock,
            },
            cut: None,
            voussoirs: None,
        }
    }
}
