use serde::{Deserialize, Serialize};

use super::{Dimension, Part, PlanError, Rise, Shape, Size};
use crate::masonry::Unit;
use crate::quantity::Length;

/// How the units of a course lie, as seen on its face.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Laying {
    /// Flat, along the wall.
    #[default]
    Stretcher,
    /// Flat, across the wall.
    Header,
    /// On end, the narrow face out.
    Soldier,
    /// On end, the bed out.
    Sailor,
    /// On edge, across the wall.
    Rowlock,
    /// On edge, along the wall.
    Shiner,
}

impl Laying {
    /// All of them.
    pub const ALL: [Laying; 6] = [
        Laying::Stretcher,
        Laying::Header,
        Laying::Soldier,
        Laying::Sailor,
        Laying::Rowlock,
        Laying::Shiner,
    ];
    /// The words for them, in the order of [`Laying::ALL`].
    pub const WORDS: &'static [&'static str] = &[
        "stretcher",
        "header",
        "soldier",
        "sailor",
        "rowlock",
        "shiner",
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Laying::Stretcher => "stretcher",
            Laying::Header => "header",
            Laying::Soldier => "soldier",
            Laying::Sailor => "sailor",
            Laying::Rowlock => "rowlock",
            Laying::Shiner => "shiner",
        }
    }

    /// A course of units laid so, in words.
    pub const fn course_word(self) -> &'static str {
        match self {
            Laying::Stretcher => "a course of stretchers",
            Laying::Header => "a course of headers",
            Laying::Soldier => "a course of soldiers",
            Laying::Sailor => "a course of sailors",
            Laying::Rowlock => "a course of rowlocks",
            Laying::Shiner => "a course of shiners",
        }
    }

    /// The laying that a word names.
    pub fn from_word(word: &str) -> Option<Laying> {
        Laying::ALL.into_iter().find(|laying| laying.word() == word)
    }

    /// Whether it stands on end or lies on edge.
    pub const fn is_upright(self) -> bool {
        !matches!(self, Laying::Stretcher | Laying::Header)
    }

    /// Sizes of a unit laid so: along the face, through the wall, and high.
    pub const fn sizes(self, unit: &Unit) -> [Length; 3] {
        let (length, width, height) = (unit.length, unit.width, unit.height);
        match self {
            Laying::Stretcher => [length, width, height],
            Laying::Header => [width, length, height],
            Laying::Soldier => [height, width, length],
            Laying::Sailor => [width, height, length],
            Laying::Rowlock => [height, length, width],
            Laying::Shiner => [length, height, width],
        }
    }
}

/// A round of units about a middle, course on course.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ring {
    /// Its diameter between the middles of opposite inner, or outer, faces: a length.
    pub diameter: Dimension,
    /// How its units lie.
    pub laid: Laying,
    /// Whether units are cut to taper, so that joints are parallel.
    pub cut: bool,
}

impl Part {
    /// A ring.
    ///
    /// # Errors
    /// When its diameter is a number of units: how many units go round follows from the length.
    pub fn ring(ring: Ring, rise: Rise) -> Result<Part, PlanError> {
        if let Size::HalfUnits(_) = ring.diameter.size {
            return Err(PlanError::new(
                "diameter-in-units",
                "the diameter of a ring is a length, not a number of units",
                "write a length such as 900.mm; it is brought to whole units round by `snap`",
            ));
        }
        Part::new(Shape::Ring(ring), rise)
    }
}
