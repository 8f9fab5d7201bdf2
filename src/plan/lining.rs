use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{Branch, BranchReach, Laying, LintelKind, Part, PartKind, PlanError, Shape};
use crate::quantity::Length;

/// What is in the gap between a lining and its walls.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GapFill {
    /// Nothing.
    #[default]
    Open,
    /// A board that gives way when the lining grows.
    Board,
    /// Mineral wool.
    Wool,
}

impl GapFill {
    /// The words for them.
    pub const WORDS: &'static [&'static str] = &["open", "board", "wool"];

    /// The fill that a word names.
    pub fn from_word(word: &str) -> Option<GapFill> {
        [GapFill::Open, GapFill::Board, GapFill::Wool]
            .into_iter()
            .find(|fill| fill.word() == word)
    }

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            GapFill::Open => "open",
            GapFill::Board => "board",
            GapFill::Wool => "wool",
        }
    }
}

/// Which courses of its walls a lining is to come level with, by a bed within tolerance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Meet {
    /// As many as can be.
    Most,
    /// This one.
    Course(u32),
}

/// A lining within a chamber or ring: work of its own that stands clear of the walls, so that it may grow with heat.
/// Its sizes and openings follow from the walls.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lining {
    /// Clear between the inner faces of the walls and the lining, at least.
    pub gap: Length,
    /// What is in that gap.
    pub fill: GapFill,
    /// How its units lie.
    pub laid: Laying,
    /// Whether those of a ring are cut to taper.
    pub cut: bool,
    /// Whether it goes up as near to the top of its walls as whole courses do: in a chamber
    /// without passing it by more than courses that meet may.
    pub to_top: bool,
    /// The courses of its walls that it is to come level with.
    pub meet: Option<Meet>,
    /// What carries it over openings that a lintel or an arch spans in the walls.
    pub lintel: Option<LintelKind>,
}

impl Part {
    /// The part lined inside.
    ///
    /// # Errors
    /// When it is neither a chamber nor a ring, is lined already, or the lining cannot be laid as it is asked for.
    pub fn with_lining(mut self, lining: Part) -> Result<Part, PlanError> {
        let Shape::Lining(asked) = &lining.shape else {
            return Err(PlanError::new(
                "not-a-lining",
                format!("a {} is no lining", lining.kind().word()),
                "write .lining(#{ gap: 10.mm })",
            ));
        };
        if self.lining.is_some() {
            return Err(PlanError::new(
                "lining-twice",
                "it is lined already",
                "write .lining once",
            ));
        }
        match self.kind() {
            PartKind::Chamber if !matches!(asked.laid, Laying::Stretcher | Laying::Shiner) => {
                return Err(PlanError::new(
                    "lining-laid-across",
                    format!(
                        "straight linings are not laid of {} courses",
                        asked.laid.word()
                    ),
                    "take laid: \"stretcher\" for flat, or \"shiner\" for on edge",
                )
                .at_key("laid"));
            }
            PartKind::Chamber | PartKind::Ring => {}
            kind => {
                return Err(PlanError::new(
                    "lining-without-inside",
                    format!("a {} has no inside to line", kind.word()),
                    "line a chamber or a ring",
                ));
            }
        }
        if self.branches.iter().any(divides) {
            return Err(beside_branch());
        }
        self.lining = Some(Arc::new(lining));
        Ok(self)
    }

    /// What it is as a lining, if it is one.
    pub fn as_lining(&self) -> Option<&Lining> {
        match &self.shape {
            Shape::Lining(lining) => Some(lining),
            _ => None,
        }
    }

    /// The name under which the lining of a part stands in a plan.
    pub fn lining_name(of: &str) -> String {
        format!("{of} lining")
    }
}

/// What a lined part cannot have.
pub(super) fn beside_branch() -> PlanError {
    PlanError::new(
        "lining-beside-partition",
        "a lining goes all round the inside, where a partition or branch stands",
        "leave one of them out, or line the rooms as chambers of their own",
    )
}

/// Whether a branch stands in the inside.
pub(super) fn divides(branch: &Branch) -> bool {
    !matches!(branch.reach, BranchReach::Outside(_))
}
