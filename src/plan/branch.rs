//! Walls that meet walls of the same part: branches, crossings, partitions and attached piers.

use serde::{Deserialize, Serialize};

use super::error::check_name;
use super::part::THICKEST;
use super::{MOST_BRANCHES, Part, PlanError, Shape, SideRef, Size};
use crate::quantity::Length;

/// What kind of junction a branch makes, for reports and for how its courses turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BranchKind {
    /// A wall with a free end.
    Wall,
    /// A wall across the inside of a chamber.
    Partition,
    /// A wall of an annex.
    Annex,
    /// A pier: its courses lie across the wall and along it in turn.
    Pier,
}

impl BranchKind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            BranchKind::Wall => "branch",
            BranchKind::Partition => "partition",
            BranchKind::Annex => "wall of an annex",
            BranchKind::Pier => "attached pier",
        }
    }
}

/// How far a branch reaches from the faces of its wall: n units between a face and a free end are n(L + j).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BranchReach {
    /// Beyond the outer face.
    Outside(Size),
    /// Beyond the inner face.
    Inside(Size),
    /// Through the wall: beyond the outer and beyond the inner face.
    Through(Size, Size),
    /// From the inner face to that of the opposite side of a chamber.
    Across,
}

/// Where along its wall a branch stands, seen from outside.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BranchPlace {
    /// In the middle.
    #[default]
    Centre,
    /// Flush with the left end.
    Left,
    /// Flush with the right end.
    Right,
    /// So far from the left end to the near face: n units between a face and a return are n(L + j).
    At(Size),
}

/// A wall or pier that meets a leg of its part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Branch {
    /// Its name, unique among the branches of the part.
    pub name: String,
    /// What it is.
    pub kind: BranchKind,
    /// The side or leg that it starts from.
    pub side: SideRef,
    /// Where along that leg.
    pub at: BranchPlace,
    /// How far it goes.
    pub reach: BranchReach,
    /// Thickness in half units; the width of a pier along its wall.
    pub thickness: i64,
    /// How many courses high; as high as its part where it is not given.
    pub courses: Option<u32>,
    /// Whether its end units pass into the wall in alternate courses; if not it only butts against the wall.
    pub toothed: bool,
    /// How far apart upwards ties hold it to its wall, where it is not toothed.
    pub ties: Option<Length>,
}

impl Part {
    /// Adds a branch, partition or attached pier.
    ///
    /// # Errors
    /// When the part has no such side, its name is taken, it is no wall or chamber, or there are too many.
    pub fn with_branch(mut self, branch: Branch) -> Result<Part, PlanError> {
        check_name(&branch.name, "a branch")?;
        if matches!(self.shape, Shape::Pier { .. }) {
            return Err(PlanError::new(
                "branch-on-a-pier",
                "nothing branches from a free pier",
                "give the wall an attached pier instead: wall(...).pier(#{ ... })",
            ));
        }
        if branch.reach == BranchReach::Across && !matches!(self.shape, Shape::Chamber { .. }) {
            return Err(PlanError::new(
                "partition-outside-chamber",
                "only a chamber has an inside to divide",
                "use a chamber, or a branch with a length",
            ));
        }
        if self.lining.is_some() && super::lining::divides(&branch) {
            return Err(super::lining::beside_branch());
        }
        self.check_side(branch.side)?;
        if matches!(branch.side, SideRef::Branch(_)) {
            return Err(PlanError::new(
                "branch-on-a-branch",
                "a branch starts from a side or leg, not from another branch",
                "name a side or a leg",
            ));
        }
        if self.branches.iter().any(|other| other.name == branch.name) {
            return Err(PlanError::new(
                "name-taken",
                format!("there is already a branch named \"{}\"", branch.name),
                "give each branch, partition and pier of a part its own name",
            )
            .at_key("name"));
        }
        if !(1..=THICKEST).contains(&branch.thickness) {
            return Err(PlanError::new(
                "thickness-too-large",
                format!(
                    "\"{}\" is outside what can be laid, half a unit to {} units",
                    branch.name,
                    THICKEST / 2
                ),
                "write the thickness in units, such as 0.5 or 1",
            ));
        }
        if let Some(courses) = branch.courses {
            self.check_course(&branch.name, courses, "courses")?;
        }
        self.branches.push(branch);
        if self.branches.len() > MOST_BRANCHES {
            return Err(PlanError::too_many_branches());
        }
        Ok(self)
    }

    /// The branch of a name, as a place for openings.
    ///
    /// # Errors
    /// When there is none.
    pub fn branch_ref(&self, name: &str) -> Result<SideRef, PlanError> {
        let found = self.branches.iter().position(|branch| branch.name == name);
        found.map(SideRef::Branch).ok_or_else(|| {
            PlanError::new(
                "no-such-branch",
                format!("the part has no branch or partition named \"{name}\""),
                "add the branch before what is built into it",
            )
            .at_key("branch")
        })
    }
}
