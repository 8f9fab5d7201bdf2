//! A second chamber that leans on a side of the first: one wall serves both.

use serde::{Deserialize, Serialize};

use super::error::check_name;
use super::{
    Branch, BranchKind, BranchPlace, BranchReach, Dimension, Part, PlanError, Shape, Side, SideRef,
    Size,
};

/// A chamber of three walls and a stretch of the chamber that it leans on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Annex {
    /// Its name, unique among the branches and annexes of the part.
    pub name: String,
    /// The side of the part that is its fourth wall.
    pub side: Side,
    /// Size across, in x; outside it is measured over the shared wall too.
    pub across: Dimension,
    /// Size deep, in y.
    pub deep: Dimension,
    /// Where along the side it stands, seen from outside.
    pub at: BranchPlace,
    /// Thickness of its walls in half units.
    pub thickness: i64,
    /// How many courses high; as high as its part where it is not given.
    pub courses: Option<u32>,
    /// Whether a fire burns in it.
    pub fired: bool,
    /// Its first wall among the branches of the part; two more follow.
    pub first: usize,
}

impl Annex {
    /// The sides that its three walls are, in the order in which they are walked round it from the part's face.
    pub const fn walls(&self) -> [Side; 3] {
        match self.side {
            Side::Right => [Side::Front, Side::Right, Side::Back],
            Side::Back => [Side::Right, Side::Back, Side::Left],
            Side::Left => [Side::Back, Side::Left, Side::Front],
            Side::Front => [Side::Left, Side::Front, Side::Right],
        }
    }
}

impl Part {
    /// Adds an annex; its walls become branches named after it and their side.
    ///
    /// # Errors
    /// When the part is no chamber, the name is taken, it is higher than the part, or there are too many branches.
    pub fn with_annex(mut self, mut annex: Annex) -> Result<Part, PlanError> {
        check_name(&annex.name, "an annex")?;
        if !matches!(self.shape, Shape::Chamber { .. }) {
            return Err(PlanError::new(
                "annex-without-chamber",
                format!("\"{}\" has no chamber to lean on", annex.name),
                "annex it to a chamber; beside a wall give it walls of its own",
            ));
        }
        if self.annexes.iter().any(|other| other.name == annex.name) {
            return Err(PlanError::new(
                "name-taken",
                format!("there is already an annex named \"{}\"", annex.name),
                "give each annex of a part its own name",
            )
            .at_key("name"));
        }
        annex.first = self.branches.len();
        for side in annex.walls() {
            self = self
                .with_branch(Branch {
                    name: format!("{} {}", annex.name, side.word()),
                    kind: BranchKind::Annex,
                    side: SideRef::Side(annex.side),
                    at: annex.at,
                    // How far it reaches follows from the size of the annex.
                    reach: BranchReach::Outside(Size::HalfUnits(1)),
                    thickness: annex.thickness,
                    courses: annex.courses,
                    toothed: true,
                    ties: None,
                })
                .map_err(|error| {
                    if error.code == "course-outside-part" {
                        PlanError {
                            remedy:
                                "build the higher chamber as the part and annex the lower one to it"
                                    .to_owned(),
                            ..error
                        }
                    } else {
                        error
                    }
                })?;
        }
        self.annexes.push(annex);
        Ok(self)
    }

    /// Whether a fire burns in it or in one of its annexes.
    pub fn burns(&self) -> bool {
        self.fired || self.annexes.iter().any(|annex| annex.fired)
    }

    /// A side of an annex, as a place for openings.
    ///
    /// # Errors
    /// When there is no such annex, or the side is the wall that it shares with its part.
    pub fn annex_side(&self, name: &str, side: Side) -> Result<SideRef, PlanError> {
        let Some(annex) = self.annexes.iter().find(|annex| annex.name == name) else {
            return Err(PlanError::new(
                "no-such-annex",
                format!("the part has no annex named \"{name}\""),
                "add the annex before what is built into it",
            )
            .at_key("annex"));
        };
        let wall = annex.walls().iter().position(|wall| *wall == side);
        wall.map(|wall| SideRef::Branch(annex.first + wall))
            .ok_or_else(|| {
                PlanError::new(
                    "annex-shared-wall",
                    format!(
                        "\"{name}\" has no wall of its own there: it shares one with its chamber"
                    ),
                    format!(
                        "leave `annex` out: the shared wall is side: \"{}\" of the chamber",
                        annex.side.word()
                    ),
                )
                .at_key("side")
            })
    }
}
