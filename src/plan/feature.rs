use serde::{Deserialize, Serialize};

use super::{Arch, Corbel, MOST_COURSES, PlanError, Side, Sill, Size};
use crate::quantity::Length;

/// Where in a part something sits: a chamber's side, or a wall's leg counted from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SideRef {
    /// A side of a chamber.
    Side(Side),
    /// A leg of a wall, counted from 0.
    Leg(usize),
    /// A branch, partition or attached pier of the part, counted from 0.
    Branch(usize),
}

/// What a lintel is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LintelKind {
    /// A flat steel bar in the bed joint over the opening.
    Steel,
    /// A stone as high as whole courses, in place of units.
    Stone,
    /// Precast concrete as high as whole courses, in place of units.
    Concrete,
}

impl LintelKind {
    /// The words for the kinds.
    pub const WORDS: &'static [&'static str] = &["steel", "stone", "concrete"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            LintelKind::Steel => "steel",
            LintelKind::Stone => "stone",
            LintelKind::Concrete => "concrete",
        }
    }

    /// The kind that a word names.
    pub fn from_word(word: &str) -> Option<LintelKind> {
        match word {
            "steel" => Some(LintelKind::Steel),
            "stone" => Some(LintelKind::Stone),
            "concrete" => Some(LintelKind::Concrete),
            _ => None,
        }
    }
}

/// A lintel over an opening.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lintel {
    /// Material and how it is built in.
    pub kind: LintelKind,
    /// Bearing at each end; what the jambs allow, up to the usual bearing, where it is not given.
    pub bearing: Option<Length>,
    /// Thickness of a steel bar; ignored for the others.
    pub bar: Length,
    /// Height of a stone or concrete lintel in courses; ignored for steel.
    pub courses: u32,
}

impl Lintel {
    /// Usual thickness of the bar: fits a 10 mm bed with mortar above. Common practice, no source.
    pub const USUAL_BAR: Length = Length::mm(6);

    /// A lintel of a kind with everything else as usual.
    pub const fn of(kind: LintelKind) -> Lintel {
        Lintel {
            kind,
            bearing: None,
            bar: Lintel::USUAL_BAR,
            courses: 1,
        }
    }
}

/// An opening through a wall over a range of courses.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Opening {
    /// Its name, unique in the part.
    pub name: String,
    /// Which side or leg it is in.
    pub side: SideRef,
    /// Clear width; n units are n(L + j) + j.
    pub width: Size,
    /// Lowest open course.
    pub from_course: u32,
    /// Highest open course.
    pub to_course: u32,
    /// Distance from the wall's left end, seen from outside, to the left jamb; centred where it is not given.
    pub at: Option<Size>,
    /// What carries the work above it.
    pub lintel: Option<Lintel>,
    /// The arch over it, in place of a lintel.
    pub arch: Option<Arch>,
    /// Courses that step inwards over it until they meet, in place of both.
    pub corbel: Option<Corbel>,
    /// What lies across its foot.
    pub sill: Option<Sill>,
    /// Whether a leaf in a frame closes it.
    pub door: bool,
}

/// A row of vents: gaps one course high.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vent {
    /// Its name, for reports.
    pub name: String,
    /// Which side or leg it is in.
    pub side: SideRef,
    /// The course it is in.
    pub course: u32,
    /// How many, spread along the wall.
    pub count: u32,
    /// Width of each.
    pub width: Length,
}

impl Vent {
    /// The name of a row that was given none.
    pub fn usual_name(course: u32) -> String {
        format!("vent in course {course}")
    }
}

/// A rebate cut into the upper inner edge of a ledge header, so that a rack cannot slide.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Notch {
    /// How far it runs back from the inner end, along the projection.
    pub along: Length,
    /// How deep it goes from the top.
    pub deep: Length,
}

/// A row of headers that project inwards to carry a rack.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ledge {
    /// The course the headers are in.
    pub course: u32,
    /// On which sides.
    pub sides: Vec<Side>,
    /// How many headers on each side.
    pub count: u32,
    /// How far they project from the inner face; n units are n(L + j).
    pub project: Size,
    /// A rebate to hold the rack.
    pub notch: Option<Notch>,
}

/// Checks a range of courses as written.
///
/// # Errors
/// When it does not start at 1 or above, or ends before it starts.
pub(super) fn check_courses(from: i64, to: i64) -> Result<(u32, u32), PlanError> {
    let bad = |message: String| {
        PlanError::new(
            "courses-out-of-range",
            message,
            "write the lowest and the highest course, both included, such as [2, 6]; course 1 is the lowest",
        )
        .at_key("courses")
    };
    let most = i64::from(MOST_COURSES);
    if from < 1 || to < 1 || from > most || to > most {
        return Err(bad(format!("courses [{from}, {to}] do not exist")));
    }
    if from > to {
        return Err(bad(format!("courses [{from}, {to}] run backwards")));
    }
    Ok((
        u32::try_from(from).unwrap_or(1),
        u32::try_from(to).unwrap_or(1),
    ))
}

impl Opening {
    /// An opening without a lintel or a leaf, centred in its wall.
    ///
    /// # Errors
    /// When the courses do not exist or run backwards.
    pub fn new(
        name: impl Into<String>,
        side: SideRef,
        width: Size,
        courses: (i64, i64),
    ) -> Result<Opening, PlanError> {
        let (from_course, to_course) = check_courses(courses.0, courses.1)?;
        Ok(Opening {
            name: name.into(),
            side,
            width,
            from_course,
            to_course,
            at: None,
            lintel: None,
            arch: None,
            corbel: None,
            sill: None,
            door: false,
        })
    }
}
