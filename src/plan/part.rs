use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::coping::Coping;
use super::curve::Curve;
use super::error::check_name;
use super::{
    Annex, Branch, Coursing, Leaves, Ledge, Lining, MOST_COURSES, MOST_FEATURES, MOST_LEGS,
    Opening, OwnSetting, PierRow, PlanError, Ring, Size, Snap, Vent,
};
use crate::quantity::Length;

/// What kind of thing a part is, for reports.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PartKind {
    /// A closed rectangle of walls with an inside.
    Chamber,
    /// A wall along a path.
    Wall,
    /// A free pier.
    Pier,
    /// A round of units about a middle.
    Ring,
    /// What lines a chamber or a ring.
    Lining,
}

impl PartKind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            PartKind::Chamber => "chamber",
            PartKind::Wall => "wall",
            PartKind::Pier => "pier",
            PartKind::Ring => "ring",
            PartKind::Lining => "lining",
        }
    }
}

/// A side of a chamber, seen from the front.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Towards the viewer: smallest y.
    Front,
    /// Largest x.
    Right,
    /// Away from the viewer: largest y.
    Back,
    /// Smallest x.
    Left,
}

impl Side {
    /// All four, in walking order from the front.
    pub const ALL: [Side; 4] = [Side::Front, Side::Right, Side::Back, Side::Left];
    /// The words for the four sides, in the order of [`Side::ALL`].
    pub const WORDS: &'static [&'static str] = &["front", "right", "back", "left"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Side::Front => "front",
            Side::Right => "right",
            Side::Back => "back",
            Side::Left => "left",
        }
    }

    /// The side that a word names.
    pub fn from_word(word: &str) -> Option<Side> {
        Side::ALL.into_iter().find(|side| side.word() == word)
    }

    /// Place in walking order, from 0.
    pub const fn index(self) -> usize {
        match self {
            Side::Front => 0,
            Side::Right => 1,
            Side::Back => 2,
            Side::Left => 3,
        }
    }
}

/// Whether a dimension is measured over the walls or between them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Over the outer faces: n units are n(L + j) − j.
    Outside,
    /// Between the inner faces: n units are n(L + j) + j.
    Inside,
}

/// A size and how it is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dimension {
    /// The size asked for.
    pub size: Size,
    /// Over the outer or between the inner faces.
    pub measure: Measure,
}

/// Which way a leg of a wall runs, seen from above with the front towards the viewer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Heading {
    /// Towards larger x.
    Right,
    /// Towards larger y.
    Back,
    /// Towards smaller x.
    Left,
    /// Towards smaller y.
    Front,
}

impl Heading {
    /// The words for the four headings.
    pub const WORDS: &'static [&'static str] = &["right", "back", "left", "front"];

    /// The heading that a word names.
    pub fn from_word(word: &str) -> Option<Heading> {
        match word {
            "right" => Some(Heading::Right),
            "back" => Some(Heading::Back),
            "left" => Some(Heading::Left),
            "front" => Some(Heading::Front),
            _ => None,
        }
    }

    /// Unit step in x and y.
    pub const fn step(self) -> (i64, i64) {
        match self {
            Heading::Right => (1, 0),
            Heading::Back => (0, 1),
            Heading::Left => (-1, 0),
            Heading::Front => (0, -1),
        }
    }
}

/// One straight stretch of a wall's path, measured on the face to the right of the walker.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Leg {
    /// Which way it runs.
    pub heading: Heading,
    /// How far, on the face.
    pub size: Size,
}

/// What fills the middle of a pier that is too wide to be solid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Core {
    /// Nothing.
    #[default]
    Open,
    /// Concrete, counted with the slab's.
    Concrete,
    /// Units in mortar: hearting.
    Units,
}

/// The plan shape of a part.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// A closed rectangle: size across (x) and deep (y).
    Chamber {
        /// Across, in x.
        across: Dimension,
        /// Deep, in y.
        deep: Dimension,
    },
    /// A path of straight legs; the wall's thickness lies to the left of the walker.
    Wall {
        /// The legs in walking order.
        legs: Vec<Leg>,
        /// Whether the last leg comes back to the start.
        closed: bool,
    },
    /// A free pier.
    Pier {
        /// Across, in x.
        across: Size,
        /// Deep, in y.
        deep: Size,
        /// What fills the middle.
        core: Core,
    },
    /// A round of units about a middle.
    Ring(Ring),
    /// What lines the chamber or ring that it is placed inside of; its sizes follow from theirs.
    Lining(Lining),
    /// A wall curved round a middle, free at both ends.
    Curve(Curve),
}

/// How high a part is: a number of courses, or a height that is brought to whole courses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rise {
    /// So many courses.
    Courses(u32),
    /// This high, from the bed under course 1 to the top of the last unit.
    Height(Length),
}

impl Rise {
    /// A rise in courses.
    ///
    /// # Errors
    /// When the number is not a whole number from 1 to [`MOST_COURSES`].
    pub fn courses(count: i64) -> Result<Rise, PlanError> {
        match u32::try_from(count) {
            Ok(courses) if (1..=MOST_COURSES).contains(&courses) => Ok(Rise::Courses(courses)),
            _ => Err(PlanError::new(
                "courses-out-of-range",
                format!("{count} courses cannot be laid"),
                format!("write a whole number of courses from 1 to {MOST_COURSES}"),
            )
            .at_key("courses")),
        }
    }
}

/// A part: a pure description that can be laid in any plan with any unit.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Plan shape.
    pub shape: Shape,
    /// How high.
    pub rise: Rise,
    /// Thickness of the walls in half units, the trade's way: 1 is half-brick.
    pub thickness: i64,
    /// Two leaves with a space of their own, instead of a thickness.
    pub leaves: Option<Leaves>,
    /// How lengths are brought to units.
    pub snap: Snap,
    /// What it is laid with, where that is not what the plan says.
    pub own: OwnSetting,
    /// Where its courses depart from the even gauge.
    pub coursing: Coursing,
    /// What covers its top.
    pub coping: Option<Coping>,
    /// Whether a fire burns in it.
    pub fired: bool,
    /// Whether soil lies against its walls, up to the top.
    pub retains: bool,
    /// Openings, doors included, in the order given.
    pub openings: Vec<Opening>,
    /// Rows of vents, in the order given.
    pub vents: Vec<Vent>,
    /// Rack ledges, in the order given.
    pub ledges: Vec<Ledge>,
    /// Branches, partitions and attached piers, in the order given.
    pub branches: Vec<Branch>,
    /// Attached piers at intervals, in the order given.
    pub pier_rows: Vec<PierRow>,
    /// Chambers that lean on a side of it.
    pub annexes: Vec<Annex>,
    /// What lines it inside: placed with it, under a name of its own.
    pub lining: Option<Arc<Part>>,
}

/// Thickest wall or branch that is laid, in half units: more is a mass of masonry, not a wall.
pub(super) const THICKEST: i64 = 24;

/// A thickness in half units, written in units: 0.5 (half-brick), 1, 1.5 and so on.
///
/// # Errors
/// When it is not a multiple of one half from 0.5 upwards, or beyond a wall's thickness.
pub fn half_units(units: f64, what: &str) -> Result<i64, PlanError> {
    let halves = units * 2.0;
    if !halves.is_finite() || (halves - halves.round()).abs() > 1e-9 || halves < 1.0 {
        return Err(PlanError::new(
            "thickness-not-in-halves",
            format!("{what} of {units} units cannot be laid"),
            "write it the trade's way: 0.5 for half-brick, 1, 1.5",
        ));
    }
    if halves > THICKEST as f64 {
        return Err(PlanError::new(
            "thickness-too-large",
            format!(
                "{what} of {units} units is more than {} units",
                THICKEST / 2
            ),
            "write it in units, such as 0.5 or 1",
        ));
    }
    Ok(halves.round() as i64)
}

impl Part {
    /// A part without openings.
    ///
    /// # Errors
    /// When the path of a wall has no leg or too many, or doubles back on itself.
    pub fn new(shape: Shape, rise: Rise) -> Result<Part, PlanError> {
        if let Shape::Wall { legs, closed } = &shape {
            check_legs(legs, *closed)?;
        }
        Ok(Part {
            shape,
            rise,
            thickness: 1,
            leaves: None,
            snap: Snap::default(),
            own: OwnSetting::default(),
            coursing: Coursing::default(),
            coping: None,
            fired: false,
            retains: false,
            openings: Vec::new(),
            vents: Vec::new(),
            ledges: Vec::new(),
            branches: Vec::new(),
            pier_rows: Vec::new(),
            annexes: Vec::new(),
            lining: None,
        })
    }

    /// What kind of part it is.
    pub fn kind(&self) -> PartKind {
        match self.shape {
            Shape::Chamber { .. } => PartKind::Chamber,
            Shape::Wall { .. } | Shape::Curve(_) => PartKind::Wall,
            Shape::Pier { .. } => PartKind::Pier,
            Shape::Ring(_) => PartKind::Ring,
            Shape::Lining(_) => PartKind::Lining,
        }
    }

    /// Sets the wall thickness in units: 0.5 (half-brick), 1, 1.5 and so on.
    ///
    /// # Errors
    /// When it is not a multiple of one half from 0.5 upwards, or beyond a wall's thickness.
    pub fn with_thickness(mut self, units: f64) -> Result<Part, PlanError> {
        self.thickness =
            half_units(units, "a thickness").map_err(|error| error.at_key("thickness"))?;
        Ok(self)
    }

    /// Adds an opening.
    ///
    /// # Errors
    /// When the part has no such side, already has an opening of that name, or has too many features.
    pub fn with_opening(mut self, opening: Opening) -> Result<Part, PlanError> {
        check_name(&opening.name, "an opening")?;
        self.check_hole_side(opening.side)?;
        self.check_round_opening(&opening)?;
        if self.openings.iter().any(|other| other.name == opening.name) {
            return Err(PlanError::new(
                "name-taken",
                format!("there is already an opening named \"{}\"", opening.name),
                "give each opening its own name",
            )
            .at_key("name"));
        }
        self.check_course(&opening.name, opening.to_course, "courses")?;
        self.openings.push(opening);
        self.check_room()?;
        Ok(self)
    }

    /// Adds a row of vents.
    ///
    /// # Errors
    /// As [`Part::with_opening`].
    pub fn with_vent(mut self, vent: Vent) -> Result<Part, PlanError> {
        self.check_hole_side(vent.side)?;
        self.check_course(&vent.name, vent.course, "course")?;
        self.vents.push(vent);
        self.check_room()?;
        Ok(self)
    }

    /// Adds a rack ledge.
    ///
    /// # Errors
    /// When the part is no chamber, or has too many features.
    pub fn with_ledge(mut self, ledge: Ledge) -> Result<Part, PlanError> {
        if self.kind() != PartKind::Chamber {
            return Err(PlanError::new(
                "ledge-without-inside",
                format!(
                    "a {} has no inside for a ledge to project into",
                    self.kind().word()
                ),
                "put the ledge in a chamber",
            ));
        }
        self.check_course("the ledge", ledge.course, "course")?;
        self.ledges.push(ledge);
        self.check_room()?;
        Ok(self)
    }

    /// Refuses what lies above a part whose courses are counted; a height waits until a unit gives it courses.
    pub(super) fn check_course(
        &self,
        what: &str,
        top: u32,
        key: &'static str,
    ) -> Result<(), PlanError> {
        match self.rise {
            Rise::Courses(courses) if top > courses => {
                Err(PlanError::above(what, top, courses).at_key(key))
            }
            _ => Ok(()),
        }
    }

    fn check_room(&self) -> Result<(), PlanError> {
        if self.openings.len() + self.vents.len() + self.ledges.len() > MOST_FEATURES {
            return Err(PlanError::new(
                "too-many-features",
                format!("more than {MOST_FEATURES} openings, vents and ledges in one part"),
                "split the work into several parts",
            ));
        }
        Ok(())
    }

    pub(super) fn check_side(&self, side: SideRef) -> Result<(), PlanError> {
        match (&self.shape, side) {
            (Shape::Chamber { .. }, SideRef::Side(_)) => Ok(()),
            (Shape::Wall { legs, .. }, SideRef::Leg(leg)) if leg < legs.len() => Ok(()),
            (Shape::Wall { legs, .. }, SideRef::Leg(_)) => Err(PlanError::new(
                "no-such-leg",
                match legs.len() {
                    1 => "the wall has one leg".to_owned(),
                    count => format!("the wall has {count} legs"),
                },
                "name a leg that the wall has, counted from 1",
            )
            .at_key("leg")),
            (Shape::Wall { .. }, SideRef::Side(_)) => Err(PlanError::new(
                "side-of-a-wall",
                "a wall has legs, not sides",
                "write leg: 1 for the first straight stretch",
            )
            .at_key("side")),
            (Shape::Chamber { .. }, SideRef::Leg(_)) => Err(PlanError::new(
                "leg-of-a-chamber",
                "a chamber has sides, not legs",
                "write side: \"front\", \"right\", \"back\" or \"left\"",
            )
            .at_key("leg")),
            (Shape::Lining(_), _) => Err(PlanError::new(
                "opening-in-a-lining",
                "the openings of a lining follow from those of its walls",
                "put the opening in the chamber",
            )),
            (Shape::Curve(_) | Shape::Ring(_), _) => Err(PlanError::new(
                "not-in-round-work",
                "pipes, branches and piers go into straight walls only",
                "leave an opening for a pipe; let a wall end beside the round one, a joint away",
            )),
            (_, SideRef::Branch(index)) if index < self.branches.len() => Ok(()),
            (_, SideRef::Branch(_)) => Err(PlanError::new(
                "no-such-branch",
                "the part has no such branch",
                "add the branch first",
            )),
            (Shape::Pier { .. }, _) => Err(PlanError::new(
                "opening-in-a-pier",
                "a pier has no room for an opening",
                "put the opening in a wall or chamber",
            )),
        }
    }
}

use super::SideRef;

fn check_legs(legs: &[Leg], closed: bool) -> Result<(), PlanError> {
    if legs.is_empty() || legs.len() > MOST_LEGS {
        return Err(PlanError::new(
            "legs-out-of-range",
            format!("a wall of {} legs cannot be laid", legs.len()),
            format!("give from 1 to {MOST_LEGS} legs"),
        )
        .at_key("legs"));
    }
    let turns = |a: &Leg, b: &Leg| {
        let (ax, ay) = a.heading.step();
        let (bx, by) = b.heading.step();
        ax * bx + ay * by == 0
    };
    for (a, b) in legs.iter().zip(legs.iter().skip(1)) {
        if !turns(a, b) {
            return Err(PlanError::new(
                "leg-without-corner",
                "two legs in a row run the same way or back on themselves",
                "join legs that run the same way; turn a corner between the others",
            )
            .at_key("legs"));
        }
    }
    if let (true, [first, .., last]) = (closed, legs)
        && !turns(last, first)
    {
        return Err(PlanError::new(
            "leg-without-corner",
            "the last leg of a closed wall turns no corner into the first",
            "start at a corner and end there, or leave `closed` out",
        )
        .at_key("legs"));
    }
    Ok(())
}
