//! What bears on a course beside the filling of its intervals: its bed and height, its corners and junctions, what is
//! over and under openings, rings and curves, leaves, linings and copings.

mod arches;
mod heads;
mod round;
mod top;
mod walls;

use super::duct::DuctCut;
use super::geometry::Axis;
use super::measure::{Measured, MeasuredPart};
use crate::plan::{CopingKind, Laying, LintelKind, Plan, SideRef, SillKind, Standing, Ties};
use crate::quantity::Length;

/// One thing that bears on a course.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// The bed under it is not the plan's.
    Bed {
        /// How thick it is.
        thick: Length,
        /// The bed joint of what the part is laid with.
        usual: Length,
    },
    /// Its units are split along their length.
    Split {
        /// How high they are left.
        to: Length,
        /// How high a whole unit is.
        unit: Length,
    },
    /// Which walls pass the corners, where headers bond a wall through.
    Corners {
        /// The axis along which the walls run that pass.
        leading: Axis,
    },
    /// Which walls pass the corners, where they take turns for the fewest cuts.
    Turns {
        /// Limits missed and pieces cut over two courses as the corners are turned.
        laid: Price,
        /// With the best other turn of one corner or of all; none where no turn is another layout.
        next: Option<Price>,
    },
    /// Branches or piers, and whether they pass into their wall in this course or butt against it.
    Junction {
        /// Their names: alike ones together.
        names: Vec<String>,
        /// Whether they pass.
        passes: bool,
        /// Limits missed and pieces cut in the lowest courses as they take turns.
        laid: Price,
        /// With these courses and the others changed about.
        next: Price,
    },
    /// One ring of an arch that springs from the bed under the course, or that cuts it.
    Arch(ArchReason),
    /// A step of a corbelled head.
    Corbel(CorbelReason),
    /// A lintel in the course, or the bar in the bed under it.
    Lintel {
        /// The opening under it.
        name: String,
        /// What it is of.
        kind: LintelKind,
        /// Its bearing at the left and at the right end, seen from outside.
        bearings: (Length, Length),
        /// The bearing asked for; none where the usual one is taken as far as the wall gives it.
        asked: Option<Length>,
    },
    /// A sill or threshold in the foot of an opening.
    Sill(SillReason),
    /// The units of a ring, course on course.
    Ring(RingReason),
    /// The units of a curved wall.
    Curve(CurveReason),
    /// Units that stand on end or lie on edge.
    Upright {
        /// How they are laid.
        laid: Laying,
        /// How many rows of them go through the wall.
        rows: usize,
    },
    /// Two leaves and what is between them.
    Leaves {
        /// Clear between them.
        space: Length,
        /// Whether it is filled with mortar.
        filled: bool,
    },
    /// What fills the middle of a pier.
    Core {
        /// The space in the middle.
        clear: (Length, Length),
        /// Of units, else of concrete.
        units: bool,
    },
    /// The walls that a lining stands in.
    Lining(LiningReason),
    /// A stretch of the coping over the course.
    Coping(CopingReason),
    /// Ties in the bed over it.
    Ties {
        /// How many.
        count: usize,
        /// Those of them beside jambs and free ends.
        at_jambs: usize,
        /// Furthest apart as asked.
        asked: Ties,
    },
}

/// Limits missed and pieces cut.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Price {
    /// Limits missed.
    pub missed: i64,
    /// Pieces cut.
    pub cuts: i64,
}

/// A step of a corbelled head, and how the head would come out in other steps.
#[derive(Clone, Debug, PartialEq)]
pub struct CorbelReason {
    /// The opening under it.
    pub name: String,
    /// Which course of the head, from 1; the last closes the gap.
    pub number: u32,
    /// How many courses it takes, the closing one included.
    pub courses: u32,
    /// How far each steps in from each side.
    pub step: Length,
    /// Whether the step was asked for.
    pub asked: bool,
    /// What the course leaves open; the gap that it closes, where it is the last.
    pub open: Length,
    /// Half the height of a unit, and a third of the shortest piece: no step may be more.
    pub limits: (Length, Length),
    /// The next smaller step that keeps to the bond, or the usual one where another was asked for, and the courses that the
    /// head would take.
    pub next: Option<(Length, u32)>,
}

/// A sill or threshold, and how it would come out with a unit more or fewer.
#[derive(Clone, Debug, PartialEq)]
pub struct SillReason {
    /// The opening.
    pub name: String,
    /// Whether it is a threshold.
    pub threshold: bool,
    /// What it is of.
    pub kind: SillKind,
    /// Units side by side, and rows of them through the wall; one for a slab.
    pub units: (usize, usize),
    /// The joint beside each, at the jambs too.
    pub joint: Length,
    /// With a unit more or fewer, whichever is better; none for a slab.
    pub next: Option<(usize, Length)>,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
    /// The joint aimed at.
    pub nominal: Length,
    /// How high it stands on its bed.
    pub height: Length,
}

/// The course of a curved wall, and how it would come out with other stones over the same length.
#[derive(Clone, Debug, PartialEq)]
pub struct CurveReason {
    /// As laid: joints at the hollow face and at the back.
    pub laid: Voussoirs,
    /// Bats among its stones.
    pub bats: usize,
    /// With half a unit less or more, whichever is better; none where neither fits.
    pub next: Option<Voussoirs>,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
    /// The joint aimed at.
    pub joint: Length,
    /// The radius of the hollow face.
    pub radius: Length,
}

/// Where a lining stands.
#[derive(Clone, Debug, PartialEq)]
pub struct LiningReason {
    /// The part that it lines.
    pub host: String,
    /// How its units lie.
    pub laid: Laying,
    /// Clear of the walls, where it is least, and as asked.
    pub gap: (Length, Length),
    /// The course of the walls whose top is nearest, and how far the top of this one is above it.
    pub nearest: (u32, Length),
    /// Whether that is near enough to come level.
    pub meets: bool,
    /// The bed found for its courses to meet those of the walls, and the usual one; none where that was not asked for.
    pub bed: Option<(Length, Length)>,
}

/// A stretch of a coping, and how else it could be set out.
#[derive(Clone, Debug, PartialEq)]
pub struct CopingReason {
    /// The side or leg that it covers; none for a block.
    pub side: Option<SideRef>,
    /// What it is of.
    pub kind: CopingKind,
    /// Its slabs, or the faces of its rowlocks, from left to right.
    pub laid: Vec<Length>,
    /// How many of them are cut.
    pub cut: usize,
    /// The joint between them; none where there is none.
    pub joint: Option<Length>,
    /// The next best way: pieces, how many of them cut, and the joint.
    pub next: Option<(Vec<Length>, usize, Option<Length>)>,
    /// Where that loses.
    pub loses_by: CopingLoss,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
}

/// Why a coping is not set out in another way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CopingLoss {
    /// More pieces are cut.
    Cuts,
    /// A piece comes out shorter than half a slab.
    ShortPiece,
    /// Joints are further from nominal.
    Joints,
    /// Limits of joints or pieces are missed.
    Limits,
}

/// How a ring of voussoirs came out, and how it would with others.
#[derive(Clone, Debug, PartialEq)]
pub struct ArchReason {
    /// The opening under it.
    pub name: String,
    /// Its place from the soffit, from 1.
    pub ring: usize,
    /// How its units stand.
    pub standing: Standing,
    /// As laid.
    pub laid: Voussoirs,
    /// Lengths of the pieces of two voussoirs side by side, the lowest first; none where each is one piece.
    pub bonded: Option<(Vec<Length>, Vec<Length>)>,
    /// With two voussoirs fewer or more, whichever is better; none where neither can be made.
    pub next: Option<Voussoirs>,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
    /// The joint aimed at.
    pub joint: Length,
}

/// A number of voussoirs and what they come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Voussoirs {
    /// How many.
    pub count: u32,
    /// Whether units are cut to a taper.
    pub tapered: bool,
    /// Thinnest and thickest joint.
    pub joints: (Length, Length),
}

impl Voussoirs {
    /// By how much its joints miss limits, and how far they are from a joint, added up.
    pub fn off(&self, (least, most): (Length, Length), joint: Length) -> (Length, Length) {
        let beyond =
            (least - self.joints.0).max(Length::ZERO) + (self.joints.1 - most).max(Length::ZERO);
        let off = (self.joints.0 - joint).abs() + (self.joints.1 - joint).abs();
        (beyond, off)
    }

    /// By how much its thinnest joint misses a least one: what cannot be filled is worse than what gapes.
    pub fn too_thin(&self, least: Length) -> Length {
        (least - self.joints.0).max(Length::ZERO)
    }
}

/// How a ring came out, and how it would with a unit more or fewer.
#[derive(Clone, Debug, PartialEq)]
pub struct RingReason {
    /// As laid: joints at the inner and the outer face.
    pub laid: Voussoirs,
    /// With one unit more or fewer at the same diameter, whichever is better; none where neither fits.
    pub next: Option<Voussoirs>,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
    /// The joint aimed at.
    pub joint: Length,
}

/// What remarks are made of.
pub(super) struct Scene<'a> {
    pub(super) plan: &'a Plan,
    pub(super) measured: &'a Measured,
    pub(super) part: &'a MeasuredPart,
    /// Index of the part.
    pub(super) index: usize,
    pub(super) ducts: &'a [DuctCut],
}

impl Scene<'_> {
    /// All that bears on a course; on the one over the last, what covers it.
    pub(super) fn remarks(&self, course: u32) -> Vec<Remark> {
        let part = self.part;
        if course > part.courses {
            return top::coping(part);
        }
        let mut found = Vec::new();
        let coursing = &part.part.coursing;
        // The bed that lets courses of a lining meet those of its walls is told with it.
        let meets = part.lines.is_some_and(|lines| lines.lining.meet.is_some());
        let apart = coursing.under.iter().any(|(at, _)| *at == course);
        if coursing.bed_under(course).is_some() && (apart || !meets) {
            found.push(Remark::Bed {
                thick: part.heights.bed_under(course),
                usual: part.setting.joints.bed.nominal,
            });
        }
        if let Some(to) = coursing.split_to(course) {
            let unit = part.setting.unit.height;
            found.push(Remark::Split { to, unit });
        }
        found.extend(walls::upright(part, course));
        found.extend(walls::corners(self, course));
        found.extend(walls::junctions(self, course));
        for opening in &part.openings {
            found.extend(arches::arch(part, opening, course));
            found.extend(heads::corbel(part, opening, course));
            found.extend(heads::lintel(part, opening, course));
            found.extend(heads::sill(part, opening, course));
        }
        found.extend(round::ring(part));
        found.extend(round::curve(part, course));
        found.extend(walls::core(part));
        found.extend(walls::leaves(part));
        found.extend(walls::ties(self.plan, part, course));
        found.extend(walls::lining(self.measured, part, course));
        if course == part.courses {
            found.extend(top::coping(part));
        }
        found
    }
}
