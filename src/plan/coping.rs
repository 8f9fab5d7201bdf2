use serde::{Deserialize, Serialize};

use super::{Part, PlanError, Shape};
use crate::quantity::Length;

/// What the top of a wall is covered with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CopingKind {
    /// Units of the plan on edge, across the wall.
    Rowlock,
    /// Slabs of stone.
    Stone,
    /// Slabs of precast concrete.
    Concrete,
}

impl CopingKind {
    /// The words for the kinds.
    pub const WORDS: &'static [&'static str] = &["rowlock", "stone", "concrete"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            CopingKind::Rowlock => "rowlock",
            CopingKind::Stone => "stone",
            CopingKind::Concrete => "concrete",
        }
    }

    /// The kind that a word names.
    pub fn from_word(word: &str) -> Option<CopingKind> {
        let all = [CopingKind::Rowlock, CopingKind::Stone, CopingKind::Concrete];
        all.into_iter().find(|kind| kind.word() == word)
    }
}

/// A groove under the overhang of a slab, where water drips off before it reaches the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drip {
    /// How wide it is.
    pub width: Length,
    /// How far it goes up into the slab.
    pub deep: Length,
    /// From the edge of the slab to the groove.
    pub lip: Length,
}

impl Drip {
    /// A groove 10 mm wide and 8 mm deep, 10 mm behind the edge: common practice, no source.
    pub const USUAL: Drip = Drip {
        width: Length::mm(10),
        deep: Length::mm(8),
        lip: Length::mm(10),
    };
}

/// The cover of a wall's top.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coping {
    /// What it is made of.
    pub kind: CopingKind,
    /// How far slabs stand out beyond each face and free end; what rowlocks do follows from their length.
    pub overhang: Length,
    /// Length of a slab.
    pub length: Length,
    /// Thickness of a slab.
    pub depth: Length,
    /// The groove under each overhang of a slab.
    pub drip: Option<Drip>,
}

/// Longest slab: more is a lintel's job to lift; our own choice.
const LONGEST_SLAB: Length = Length::mm(3_000);
/// Shortest slab: less is a tile; our own choice.
const SHORTEST_SLAB: Length = Length::mm(150);
/// Thinnest and thickest slab: our own choice.
const DEPTHS: (Length, Length) = (Length::mm(20), Length::mm(300));
/// Furthest overhang: our own choice, beyond any that stays on its bed.
const FURTHEST: Length = Length::mm(200);

impl Coping {
    /// A slab overhangs by 45 mm, so that its usual drip is 25 mm off the wall: UK practice, from memory.
    pub const USUAL_OVERHANG: Length = Length::mm(45);
    /// Usual slab: 600 mm long and 50 mm thick; common practice, no source.
    pub const USUAL_LENGTH: Length = Length::mm(600);
    /// As [`Coping::USUAL_LENGTH`].
    pub const USUAL_DEPTH: Length = Length::mm(50);

    /// A coping of a kind with everything else as usual.
    pub const fn of(kind: CopingKind) -> Coping {
        Coping {
            kind,
            overhang: Coping::USUAL_OVERHANG,
            length: Coping::USUAL_LENGTH,
            depth: Coping::USUAL_DEPTH,
            drip: match kind {
                CopingKind::Rowlock => None,
                CopingKind::Stone | CopingKind::Concrete => Some(Drip::USUAL),
            },
        }
    }

    /// From the face of the wall to the nearer edge of the drip, where there is one.
    pub fn drip_off(&self) -> Option<Length> {
        self.drip.map(|drip| self.overhang - drip.lip - drip.width)
    }

    /// Checks the figures.
    ///
    /// # Errors
    /// When a slab or its groove cannot be made.
    pub fn check(&self) -> Result<(), PlanError> {
        let within = |what: &str, size: Length, least: Length, most: Length, key: &'static str| {
            if (least..=most).contains(&size) {
                return Ok(());
            }
            Err(PlanError::new(
                "coping-out-of-range",
                format!("a coping slab {size} {what} cannot be laid"),
                format!("write from {least} to {most}"),
            )
            .at_key(key))
        };
        within("long", self.length, SHORTEST_SLAB, LONGEST_SLAB, "length")?;
        within("thick", self.depth, DEPTHS.0, DEPTHS.1, "depth")?;
        within(
            "beyond each face",
            self.overhang,
            Length::ZERO,
            FURTHEST,
            "overhang",
        )?;
        let Some(drip) = self.drip else {
            return Ok(());
        };
        let made = drip.width.is_positive()
            && drip.deep.is_positive()
            && drip.lip.is_positive()
            && drip.deep * 2 <= self.depth;
        if !made || drip.lip + drip.width > self.overhang {
            return Err(PlanError::new(
                "drip-does-not-fit",
                format!(
                    "a drip {} wide and {} deep, {} behind the edge, has no room under an overhang of {} in a slab {} thick",
                    drip.width, drip.deep, drip.lip, self.overhang, self.depth
                ),
                "let the slab overhang further, write a smaller drip, or drip: false",
            )
            .at_key("drip"));
        }
        Ok(())
    }
}

impl Part {
    /// Covers the top of the part.
    ///
    /// # Errors
    /// When the part is round or already has a coping, or the coping cannot be made.
    pub fn with_coping(mut self, coping: Coping) -> Result<Part, PlanError> {
        if matches!(self.shape, Shape::Curve(_)) {
            return Err(PlanError::new(
                "coping-on-a-curve",
                "a curved wall is covered by a second one that stands on it",
                "place a curved wall of one course and thickness: 1 with the same radius on it",
            ));
        }
        if matches!(self.shape, Shape::Ring(_)) {
            return Err(PlanError::new(
                "coping-on-a-ring",
                "a ring is covered by a second ring that stands on it",
                "place ring(#{ outside: 1.4.m, courses: 1, laid: \"rowlock\" }) with on: and the ring's name",
            ));
        }
        if self.coping.is_some() {
            return Err(PlanError::new(
                "coping-twice",
                "the part already has a coping",
                "give one coping",
            ));
        }
        coping.check()?;
        self.coping = Some(coping);
        Ok(self)
    }
}
