use std::ops::Range;
use std::sync::Arc;

use super::cavity::Tie;
use super::coping::LaidCoping;
use super::corbel::LaidCorbel;
use super::footprint::Footprint;
use super::geometry::{Axis, Cuboid, Point, shared};
use super::heights::Heights;
use super::lining::LaidLining;
use super::pierced::RoundOpening;
use super::profile::Profile;
use super::quad::Quad;
use super::sector::Sector;
use super::sill::LaidSill;
use super::turned::Turned;
use crate::masonry::Unit;
use crate::plan::{
    Arch, BranchKind, Laying, LintelKind, PartKind, Plan, Setting, SideRef, Standing,
};
use crate::quantity::{Area, Length, Volume};

/// What a piece does in the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Its length lies along the wall.
    Stretcher,
    /// It lies across the wall, its end in the face, and bonds it through or is snapped to look so.
    Header,
    /// It lies across the wall and projects to carry a rack.
    LedgeHeader,
    /// A unit split along its length, beside the header at a corner, end or jamb.
    Closer,
    /// It stands on its end, its narrow face in the face of the wall.
    Soldier,
    /// It stands on its end, its bed in the face of the wall.
    Sailor,
    /// It lies on edge across the wall, its end in the face.
    Rowlock,
    /// It lies on edge along the wall, its bed in the face.
    Shiner,
    /// It lies on edge across the wall in a sill.
    Sill,
    /// It lies on edge across the wall in a threshold.
    Threshold,
    /// It is one of the pieces of an arch.
    Voussoir,
    /// The voussoir at the crown of an arch.
    Key,
}

impl Role {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Role::Stretcher => "stretcher",
            Role::Header => "header",
            Role::Soldier => "soldier",
            Role::Sailor => "sailor",
            Role::Rowlock => "rowlock",
            Role::Shiner => "shiner",
            Role::Sill => "sill rowlock",
            Role::Threshold => "threshold rowlock",
            Role::Voussoir => "voussoir",
            Role::Key => "key",
            Role::LedgeHeader => "ledge header",
            Role::Closer => "queen closer",
        }
    }
}

/// How a piece is cut to length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cut {
    /// Not at all.
    Whole,
    /// To a fraction of the unit and its joint: numerator and denominator in lowest terms.
    Bat(u8, u8),
    /// Split along its length: a queen closer.
    Closer,
    /// To a length of its own.
    Odd,
    /// Along its length only, to less than its height.
    Split,
}

impl Cut {
    /// The trade's name for it.
    pub fn word(self) -> String {
        match self {
            Cut::Whole => "whole".to_owned(),
            Cut::Bat(1, 2) => "half bat".to_owned(),
            Cut::Bat(over, under) => format!("{over}/{under} bat"),
            Cut::Closer => "split lengthwise".to_owned(),
            Cut::Odd => "cut to length".to_owned(),
            Cut::Split => "split along its length".to_owned(),
        }
    }
}

/// Which ends of a piece are still as they left the kiln or mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Finished {
    /// Both.
    Both,
    /// The end with the smaller coordinate.
    Low,
    /// The end with the larger coordinate.
    High,
    /// None needs be: both are hidden in joints, so it may come from the middle of a unit.
    Neither,
}

/// What a piece is beside a box: something taken out of it beside its cut to length, or a turn.
#[derive(Clone, Debug, PartialEq)]
pub enum Shaping {
    /// Round bites for ducts, and the volume they take.
    Bites(Vec<Bite>, Volume),
    /// A rebate in the upper inner edge.
    Notch(Cuboid),
    /// It lies turned about a centre, and may be cut to taper.
    Turned(Turned),
    /// Cut to the outlines of arches, and the volume they take.
    Raked(Vec<Profile>, Volume),
    /// Round bites for ducts and the outlines of arches, apart from one another, and the volume they take together.
    Carved(Vec<Bite>, Vec<Profile>, Volume),
    /// A voussoir: a prism over a quadrilateral.
    Prism(Prism),
}

impl Shaping {
    /// The round bites taken from it.
    pub fn bites(&self) -> &[Bite] {
        match self {
            Shaping::Bites(bites, _) | Shaping::Carved(bites, ..) => bites,
            _ => &[],
        }
    }

    /// The outlines of arches that it is cut to.
    pub fn rakes(&self) -> &[Profile] {
        match self {
            Shaping::Raked(outlines, _) | Shaping::Carved(_, outlines, _) => outlines,
            _ => &[],
        }
    }

    /// With what another takes as well; what is neither bitten nor raked stays as it is.
    pub(super) fn and(self, other: Option<Shaping>) -> Shaping {
        match (self, other) {
            (Shaping::Bites(bites, one), Some(Shaping::Raked(outlines, other))) => {
                Shaping::Carved(bites, outlines, one + other)
            }
            (own, _) => own,
        }
    }

    /// The trade's word for what is cut; none for a unit that is only turned.
    pub fn word(&self) -> Option<&'static str> {
        match self {
            Shaping::Bites(..) => Some("round bite"),
            Shaping::Notch(_) => Some("notch"),
            Shaping::Turned(turned) => turned.tapers().then_some("taper"),
            Shaping::Raked(..) => Some("raked cut"),
            Shaping::Carved(..) => Some("round bite and raked cut"),
            Shaping::Prism(prism) => prism.tapered.then_some("taper"),
        }
    }
}

/// A prism through a wall over a quadrilateral in the wall's plane.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Prism {
    /// The axis of the wall.
    pub axis: Axis,
    /// Corners as places along the axis and heights, anticlockwise with the axis to the right.
    pub corners: [(Length, Length); 4],
    /// From face to face across the axis.
    pub depth: (Length, Length),
    /// Whether a unit is cut to a taper for it.
    pub tapered: bool,
}

impl Prism {
    /// The smallest upright box round it.
    pub fn bounds(&self) -> Cuboid {
        let span = |places: [Length; 4]| {
            places
                .iter()
                .fold((Length::MAX, Length::MIN), |(low, high), &place| {
                    (low.min(place), high.max(place))
                })
        };
        let along = span(self.corners.map(|(along, _)| along));
        let z = span(self.corners.map(|(_, z)| z));
        Cuboid::along(self.axis, along, self.depth, z)
    }

    /// Its volume: the shoelace formula, rounded to a cubic nanometre.
    pub fn volume(&self) -> Volume {
        let [a, b, c, d] = self.corners;
        let cross = |p: (Length, Length), q: (Length, Length)| {
            i128::from(p.0.nm()) * i128::from(q.1.nm())
                - i128::from(q.0.nm()) * i128::from(p.1.nm())
        };
        let twice = cross(a, b) + cross(b, c) + cross(c, d) + cross(d, a);
        Volume::from_nm3(twice * i128::from((self.depth.1 - self.depth.0).nm()) / 2)
    }
}

/// An arch as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidArch {
    /// Index of its part.
    pub part: usize,
    /// The opening it spans.
    pub name: String,
    /// What was asked for.
    pub arch: Arch,
    /// Clear width of the opening.
    pub span: Length,
    /// Height of its springing.
    pub springing: Length,
    /// From the springing to the crown of the soffit; of a flat arch, its camber.
    pub rise: Length,
    /// Radius of the soffit.
    pub radius: Length,
    /// Angle of the skewback from the upright, in degrees.
    pub skewback: f64,
    /// Depth of all rings with the joints between them.
    pub depth: Length,
    /// Length of the soffit round its curve.
    pub intrados: Length,
    /// Its rings, the lowest first.
    pub rings: Vec<LaidRing>,
    /// What the courses beside it are cut to.
    pub outline: Profile,
    /// The axis it spans along.
    pub axis: Axis,
    /// Wall from each jamb to the end of its wall, at the end with the smaller and the larger coordinate.
    pub abutments: (Length, Length),
    /// Whether each of those ends is a corner.
    pub corners: (bool, bool),
    /// From face to face of its wall.
    pub faces: (Length, Length),
    /// The foot of what it spans: of an opening its sill, of a duct the lowest point of its hole.
    pub foot: Length,
    /// What it spans: an opening or a duct.
    pub over: VoidKind,
}

/// A ring of voussoirs all round a duct, in one wall.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidDuctRing {
    /// Index of its part.
    pub part: usize,
    /// The duct it goes round.
    pub name: String,
    /// How its units stand.
    pub standing: Standing,
    /// The axis of its wall.
    pub axis: Axis,
    /// From face to face of its wall.
    pub faces: (Length, Length),
    /// Place of its middle along the wall, and its height.
    pub middle: (Length, Length),
    /// Radius of its inner face: the pipe with its joint.
    pub inner: Length,
    /// Depth of all rings with the joints between them.
    pub depth: Length,
    /// Radius that the courses beside it are cut to, its joint included.
    pub outline: Length,
    /// Its rings, the innermost first.
    pub rings: Vec<LaidRing>,
}

/// A ring of an arch as laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LaidRing {
    /// Voussoirs from skewback to skewback, the key included.
    pub voussoirs: u32,
    /// Whether they are cut to a taper.
    pub tapered: bool,
    /// Whether each is of several pieces, bonded in the face.
    pub bonded: bool,
    /// Joint at the lower and the upper face of the ring.
    pub joints: (Length, Length),
}

/// A round bite: all of the piece within a radius of an axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bite {
    /// Direction of the duct.
    pub axis: Axis,
    /// Place of the duct's middle across its direction.
    pub across: Length,
    /// Height of the duct's middle.
    pub z: Length,
    /// Radius of the bite: the duct's with its joint.
    pub radius: Length,
}

/// One piece of one unit, in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// The corner with the smallest coordinates, for a turned piece of the box round it.
    pub at: Point,
    /// Size along the piece's own length.
    pub length: Length,
    /// Size along the piece's own width.
    pub width: Length,
    /// Height as it lies.
    pub height: Length,
    /// Index into [`Laid::shapings`], plus one; zero for none.
    pub shaping: u32,
    /// Index of its part.
    pub part: u16,
    /// Its course, from 1.
    pub course: u16,
    /// Its leaf, from 0 at the outer face.
    pub leaf: u8,
    /// The leg of the path it belongs to, from 0.
    pub leg: u8,
    /// The axis its length lies along.
    pub along: Axis,
    /// What it does.
    pub role: Role,
    /// How it is cut.
    pub cut: Cut,
    /// Its finished ends.
    pub finished: Finished,
}

impl Piece {
    /// The box it stands in, before bites and notches; for a turned piece see [`Laid::bounds`].
    pub fn cuboid(&self) -> Cuboid {
        let (length, width) = match self.along {
            Axis::X => (self.length, self.width),
            Axis::Y => (self.width, self.length),
        };
        Cuboid {
            at: self.at,
            length,
            width,
            height: self.height,
        }
    }
}

/// What a body does in the work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BodyUse {
    /// It carries the work over an opening.
    Lintel,
    /// It sheds water from the foot of an opening.
    Sill,
    /// It is walked over.
    Threshold,
}

impl BodyUse {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            BodyUse::Lintel => "lintel",
            BodyUse::Sill => "sill",
            BodyUse::Threshold => "threshold",
        }
    }
}

/// Something other than a unit that is built into the work.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// Index of its part.
    pub part: usize,
    /// The opening it serves.
    pub name: String,
    /// What it does there.
    pub serves: BodyUse,
    /// What it is made of.
    pub kind: LintelKind,
    /// Where it is.
    pub cuboid: Cuboid,
    /// Its bearing at the end with the smaller and the larger coordinate.
    pub bearings: (Length, Length),
    /// The axis it spans along.
    pub axis: Axis,
}

/// What a void is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum VoidKind {
    /// A door or other opening.
    Opening,
    /// A vent one course high.
    Vent,
    /// A pipe through the wall.
    Duct,
}

impl VoidKind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            VoidKind::Opening => "opening",
            VoidKind::Vent => "vent",
            VoidKind::Duct => "duct",
        }
    }
}

/// The shape of a void.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum VoidShape {
    /// A box.
    Box(Cuboid),
    /// A cylinder through the wall.
    Cylinder {
        /// Its direction.
        axis: Axis,
        /// Place of its middle across its direction.
        across: Length,
        /// Height of its middle.
        z: Length,
        /// Its radius.
        radius: Length,
        /// Where it enters and leaves the wall, along its direction.
        span: (Length, Length),
    },
    /// What is open under an arch, above its springing.
    Profile {
        /// The axis of the wall.
        axis: Axis,
        /// Its outline.
        profile: Profile,
        /// From face to face across the axis.
        depth: (Length, Length),
    },
    /// Between two radial jambs of round work.
    Sector(Sector),
}

/// A part of a wall where nothing is laid.
#[derive(Clone, Debug, PartialEq)]
pub struct Void {
    /// Index of its part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// What it is for.
    pub kind: VoidKind,
    /// Its shape.
    pub shape: VoidShape,
    /// The side or leg it is in.
    pub side: SideRef,
    /// The axis of the wall it is in.
    pub axis: Axis,
}

impl Void {
    /// Its box, unless it is round or under an arch.
    pub fn cuboid(&self) -> Option<Cuboid> {
        match self.shape {
            VoidShape::Box(cuboid) => Some(cuboid),
            VoidShape::Cylinder { .. } | VoidShape::Profile { .. } | VoidShape::Sector(_) => None,
        }
    }

    /// Its volume inside the wall.
    pub fn volume(&self) -> Volume {
        match self.shape {
            VoidShape::Box(cuboid) => cuboid.volume(),
            VoidShape::Sector(sector) => sector.volume(),
            VoidShape::Cylinder { radius, span, .. } => {
                let r = radius.nm() as f64;
                let volume = std::f64::consts::PI * r * r * (span.1 - span.0).nm() as f64;
                Volume::from_nm3(volume.round() as i128)
            }
            VoidShape::Profile { profile, depth, .. } => {
                let volume = profile.area() * (depth.1 - depth.0).nm() as f64;
                Volume::from_nm3(volume.round() as i128)
            }
        }
    }
}

/// What limit a breach is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BreachKind {
    /// A head joint too near one in the course below.
    LapTooShort,
    /// A piece too short to lay.
    PieceTooShort,
    /// A head joint too thin or too thick.
    JointOutOfTolerance,
}

impl BreachKind {
    /// Stable code.
    pub const fn code(self) -> &'static str {
        match self {
            BreachKind::LapTooShort => "lap-too-short",
            BreachKind::PieceTooShort => "piece-too-short",
            BreachKind::JointOutOfTolerance => "joint-out-of-tolerance",
        }
    }
}

/// A limit that the laid work does not keep, with its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Breach {
    /// Which limit.
    pub kind: BreachKind,
    /// Index of its part.
    pub part: usize,
    /// Its course.
    pub course: u32,
    /// Where.
    pub at: Point,
    /// What it came to.
    pub figure: Length,
    /// What it should keep: the least, or the most where the figure is larger.
    pub limit: Length,
}

/// A size that was asked for and what it became.
#[derive(Clone, Debug, PartialEq)]
pub struct Snapped {
    /// What it is the size of.
    pub what: String,
    /// As asked.
    pub asked: Length,
    /// As laid.
    pub became: Length,
    /// As a number of units or courses.
    pub count: f64,
}

/// A space that partitions divide from the rest of a part's inside.
#[derive(Clone, Debug, PartialEq)]
pub struct Compartment {
    /// `left` and `right` or `front` and `back` of one partition; numbers from the left or front for more.
    pub name: String,
    /// The space, up to the top of the partition.
    pub space: Cuboid,
}

/// A part as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidPart {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: PartKind,
    /// What it is laid with: the plan's setting, or its own.
    pub setting: Arc<Setting>,
    /// The box round its walls, ledges left out.
    pub outside: Cuboid,
    /// The clear space within its walls, for a closed part; of a lined one that within its lining.
    pub inside: Option<Cuboid>,
    /// What partitions divide the inside into; none without partitions.
    pub compartments: Vec<Compartment>,
    /// The box round its own walls, branches left out.
    pub body: Cuboid,
    /// Wall thickness.
    pub thickness: Length,
    /// Leaves of half-brick in the thickness; one where headers bond it through.
    pub leaves: u32,
    /// The least lap of its bond over the course below.
    pub least_lap: Length,
    /// Courses.
    pub courses: u32,
    /// How high each course stands above the part's base.
    pub heights: Heights,
    /// Disjoint boxes that its pieces, joints, bodies and voids fill.
    pub envelope: Vec<Cuboid>,
    /// Prisms of round work that do the same, beside the boxes.
    pub prisms: Vec<Turned>,
    /// Level prisms of a curved wall that do the same.
    pub quads: Vec<Quad>,
    /// What covers its top.
    pub coping: Option<LaidCoping>,
    /// What is told of its round, for a ring.
    pub ring: Option<LaidRound>,
    /// Its pieces among [`Laid::pieces`].
    pub pieces: Range<usize>,
    /// Sizes asked as lengths and what they became.
    pub snapped: Vec<Snapped>,
    /// Joint volume, filled with mortar.
    pub joints: Volume,
    /// Volume of its units' cores and frogs, cut pieces in proportion.
    pub hollows: Hollows,
    /// The middle filled with concrete, for a pier that has one.
    pub core: Volume,
    /// Legs of its path, then those of its branches, then those of the rows of attached piers.
    pub legs: Vec<LaidLeg>,
    /// The name of each leg that is a branch or the wall of an annex; none for the part's own walls.
    pub leg_names: Vec<Option<String>>,
    /// How many of the legs are of its own path.
    pub sides: usize,
    /// Where branches, partitions and piers meet its walls.
    pub junctions: Vec<Junction>,
}

impl LaidPart {
    /// The thickness that counts against tipping and buckling: of two leaves with a cavity, the cube root of the sum of
    /// their cubes (EN 1996-1-1, effective thickness of cavity walls, from memory).
    pub fn effective_thickness(&self, laid: &Laid) -> Length {
        let placed = laid.plan.parts.get(&self.name);
        match placed.and_then(|placed| placed.part.leaves) {
            Some(leaves) if !leaves.filled => {
                let leaf = (self.thickness - leaves.space).half();
                Length::from_nm((leaf.nm() as f64 * 2_f64.cbrt()).floor() as i64)
            }
            _ => self.thickness,
        }
    }

    /// Boxes of its walls over their whole height, ledges left out; the box round a ring.
    pub fn walls(&self) -> impl Iterator<Item = &Cuboid> {
        let height = self.outside.height;
        let round = self.ring.as_ref().map(|_| &self.outside);
        let straight = self.envelope.iter();
        straight
            .filter(move |cuboid| cuboid.height == height)
            .chain(round)
    }

    /// Boxes of all that stands on what bears the part, lower branches included.
    pub fn footings(&self) -> impl Iterator<Item = &Cuboid> {
        let base = self.outside.at.z;
        let round = self.ring.as_ref().map(|_| &self.outside);
        let straight = self.envelope.iter();
        straight.filter(move |wall| wall.at.z == base).chain(round)
    }

    /// Plan area of the walls that a lid lies on: over the whole height, branches outside left out.
    pub fn roofed_area(&self) -> Area {
        self.walls()
            .filter_map(|wall| wall.shared(&self.body))
            .map(|wall| wall.length.times(wall.width))
            .sum()
    }

    /// Plan area of its walls, ledges left out.
    pub fn walls_area(&self) -> Area {
        if self.ring.is_some() {
            let base = self.outside.at.z;
            let whole = self.prisms.iter().filter(|prism| prism.depth.0 == base);
            let lowest = self.quads.iter().filter(|quad| quad.depth.0 == base);
            return whole.map(Turned::area).sum::<Area>() + lowest.map(Quad::area).sum();
        }
        self.walls().map(|wall| wall.length.times(wall.width)).sum()
    }
}

/// A branch, partition or attached pier where it meets a leg.
#[derive(Clone, Debug, PartialEq)]
pub struct Junction {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: BranchKind,
    /// The leg that it meets, from 0.
    pub leg: usize,
    /// The stretch that it takes along the leg.
    pub span: (Length, Length),
    /// How far it stands out from the wall's faces, both together.
    pub projects: Length,
    /// How far it stands out beyond the face with the smaller and the larger coordinate.
    pub beyond: (Length, Length),
    /// How high it is.
    pub height: Length,
    /// Whether its end units pass into the wall in alternate courses.
    pub toothed: bool,
    /// How far apart upwards ties hold it, where it only butts.
    pub ties: Option<Length>,
}

/// A ring as laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LaidRound {
    /// How its units lie.
    pub laid: Laying,
    /// Its middle in plan.
    pub centre: (Length, Length),
    /// From its middle to the middle of each inner face.
    pub inner: Length,
    /// From its middle to the middle of each outer face.
    pub outer: Length,
    /// Units in each course.
    pub count: u32,
    /// Width of each unit at its inner and outer face.
    pub faces: (Length, Length),
    /// Joints at the inner and outer face.
    pub joints: (Length, Length),
    /// The space within, over its whole height; nothing within a curved wall.
    pub within: Volume,
    /// From end to end of a curved wall at its hollow face, radians; none of a ring, which closes.
    pub sweep: Option<f64>,
    /// The least inner radius round which its units go uncut with joints within their limits.
    pub least_radius: Length,
}

/// Space inside units, by what happens to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Hollows {
    /// Left open.
    pub cores: Volume,
    /// Filled with mortar when laid frog up.
    pub frogs: Volume,
}

/// One straight stretch of a part's path.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LaidLeg {
    /// The axis it runs along.
    pub axis: Axis,
    /// From one end to the other, corners included.
    pub span: (Length, Length),
    /// From the face with the smaller coordinate to the other, across it.
    pub across: (Length, Length),
    /// Whether the inside lies towards larger coordinates across it.
    pub inside_high: bool,
    /// Whether its start, as the path is walked, is the end with the smaller coordinate.
    pub starts_low: bool,
}

/// A pipe as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidDuct {
    /// Its name.
    pub name: String,
    /// Index into the plan's ducts.
    pub index: usize,
    /// The parts it joins.
    pub from: usize,
    /// The part it ends in, if any.
    pub to: Option<usize>,
    /// Its direction.
    pub axis: Axis,
    /// Place of its middle across its direction.
    pub across: Length,
    /// Height of its lowest and highest point.
    pub heights: (Length, Length),
    /// Clear distance between the parts.
    pub gap: Length,
    /// Thickness of the walls it passes, with their linings and the gaps behind those.
    pub walls: Length,
    /// Length of pipe needed, what stands proud included.
    pub length: Length,
    /// What stands proud at each end.
    pub proud: Length,
}

/// A lid as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidLid {
    /// Index of its part.
    pub part: usize,
    /// The annex that it covers, of that part; none where it covers the part itself.
    pub annex: Option<String>,
    /// Its pieces.
    pub pieces: Vec<Cuboid>,
    /// The volume of concrete, hole taken out.
    pub volume: Volume,
    /// The mortar bed under it.
    pub bed: Volume,
    /// Diameter of the hole.
    pub hole: Length,
}

/// The slab or strip footing as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidSlab {
    /// What it covers.
    pub footprint: Footprint,
    /// The hole for it covers this.
    pub hole: Footprint,
    /// The concrete, in disjoint boxes.
    pub concrete: Vec<Cuboid>,
    /// The compacted base, in disjoint boxes; none when there is none.
    pub subbase: Vec<Cuboid>,
}

/// A whole plan, laid.
#[derive(Clone, Debug, PartialEq)]
pub struct Laid {
    /// What was laid.
    pub plan: Arc<Plan>,
    /// Parts in the order they were placed.
    pub parts: Vec<LaidPart>,
    /// Every piece: by part, then course, then leaf, then leg, then place.
    pub pieces: Vec<Piece>,
    /// Bites, notches and turns.
    pub shapings: Vec<Shaping>,
    /// Lintels, and slabs of sills and thresholds.
    pub bodies: Vec<Body>,
    /// Openings, vents and ducts in the walls.
    pub voids: Vec<Void>,
    /// Open spaces between leaves: part, leg, and where.
    pub cavities: Vec<(usize, usize, Cuboid)>,
    /// Ties between leaves. They are too thin to take mortar's place.
    pub ties: Vec<Tie>,
    /// Arches.
    pub arches: Vec<LaidArch>,
    /// Rings of voussoirs round ducts.
    pub duct_rings: Vec<LaidDuctRing>,
    /// Corbelled heads.
    pub corbels: Vec<LaidCorbel>,
    /// Sills and thresholds.
    pub sills: Vec<LaidSill>,
    /// Openings and vents of rings and curved walls.
    pub round_openings: Vec<RoundOpening>,
    /// Linings with what they line.
    pub linings: Vec<LaidLining>,
    /// Limits not kept.
    pub breaches: Vec<Breach>,
    /// Pipes.
    pub ducts: Vec<LaidDuct>,
    /// Lids.
    pub lids: Vec<LaidLid>,
    /// The slab.
    pub slab: Option<LaidSlab>,
}

impl Laid {
    /// The shaping of a piece, if it has one.
    pub fn shaping(&self, piece: &Piece) -> Option<&Shaping> {
        (piece.shaping as usize)
            .checked_sub(1)
            .and_then(|index| self.shapings.get(index))
    }

    /// How a piece lies turned about a centre, if it does.
    pub fn turned(&self, piece: &Piece) -> Option<&Turned> {
        match self.shaping(piece) {
            Some(Shaping::Turned(turned)) => Some(turned),
            _ => None,
        }
    }

    /// The smallest box round a piece, before bites, notches and raked cuts.
    pub fn bounds(&self, piece: &Piece) -> Cuboid {
        match self.shaping(piece) {
            Some(Shaping::Prism(prism)) => prism.bounds(),
            Some(Shaping::Turned(turned)) => turned.bounds(),
            _ => piece.cuboid(),
        }
    }

    /// What a piece is less its bites and notch; of a turned one its prism.
    pub fn piece_volume(&self, piece: &Piece) -> Volume {
        let whole = piece.cuboid().volume();
        match self.shaping(piece) {
            None => whole,
            Some(Shaping::Turned(turned)) => turned.volume(),
            Some(
                Shaping::Bites(_, taken) | Shaping::Raked(_, taken) | Shaping::Carved(_, _, taken),
            ) => whole - *taken,
            Some(Shaping::Notch(notch)) => whole - notch.volume(),
            Some(Shaping::Prism(prism)) => prism.volume(),
        }
    }

    /// The side, leg or branch of a part in words; a branch or the wall of an annex by its own name.
    pub fn side_words(&self, part: usize, side: SideRef) -> String {
        let SideRef::Branch(branch) = side else {
            return side.word();
        };
        let part = self.parts.get(part);
        let name = part.and_then(|part| part.leg_names.get(part.sides + branch)?.as_ref());
        name.map_or_else(|| side.word(), |name| format!("\"{name}\""))
    }

    /// The branch or wall of an annex in which a place lies, by name; none in the part's own walls.
    pub fn branch_at(&self, part: usize, at: Point) -> Option<&str> {
        let part = self.parts.get(part)?;
        let holds = |leg: &&LaidLeg| {
            let (along, across) = match leg.axis {
                Axis::X => (at.x, at.y),
                Axis::Y => (at.y, at.x),
            };
            (leg.span.0..=leg.span.1).contains(&along)
                && (leg.across.0..=leg.across.1).contains(&across)
        };
        let own = part.legs.get(..part.sides).unwrap_or_default();
        if own.iter().any(|leg| holds(&leg)) {
            return None;
        }
        let leg = part
            .legs
            .iter()
            .skip(part.sides)
            .position(|leg| holds(&leg))?;
        part.leg_names.get(part.sides + leg)?.as_deref()
    }

    /// The face of one leg, less the boxes that are open in it.
    pub fn face_of_leg(&self, part: usize, leg: usize) -> Area {
        let Some((part_of, strip)) = self
            .parts
            .get(part)
            .and_then(|of| Some((of, of.legs.get(leg)?)))
        else {
            return Area::default();
        };
        let open = |void: &Void| {
            let own = void.part == part && void.axis == strip.axis;
            let cuboid = void.cuboid().filter(|_| own)?;
            let (along, across) = (cuboid.span(strip.axis), cuboid.span(strip.axis.across()));
            let (along, _) = (shared(along, strip.span)?, shared(across, strip.across)?);
            Some((along.1 - along.0).times(cuboid.height))
        };
        let whole = (strip.span.1 - strip.span.0).times(part_of.outside.height);
        whole - self.voids.iter().filter_map(open).sum()
    }

    /// The pieces of a part.
    pub fn pieces_of(&self, part: &LaidPart) -> &[Piece] {
        self.pieces.get(part.pieces.clone()).unwrap_or_default()
    }

    /// Every piece of a unit, of whichever parts.
    pub fn pieces_of_unit<'a>(&'a self, unit: &'a Unit) -> impl Iterator<Item = &'a Piece> {
        let parts = self.parts.iter();
        parts
            .filter(|part| part.setting.unit.is_same(unit))
            .flat_map(|part| self.pieces_of(part))
    }

    /// The part of a name and its index.
    pub fn part(&self, name: &str) -> Option<(usize, &LaidPart)> {
        self.parts
            .iter()
            .enumerate()
            .find(|(_, part)| part.name == name)
    }

    /// The highest point of the work above the top of the slab, copings and lids included.
    pub fn height(&self) -> Length {
        let walls = self.parts.iter().map(|part| part.outside.heights().1);
        let lids = self
            .lids
            .iter()
            .flat_map(|lid| lid.pieces.iter().map(|piece| piece.heights().1));
        let copings = self.parts.iter().flat_map(|part| &part.coping);
        let copings = copings.map(|coping| coping.heights.1);
        walls
            .chain(lids)
            .chain(copings)
            .max()
            .unwrap_or(Length::ZERO)
    }

    /// Parts that face each other with nothing between them, the one with smaller coordinates first.
    pub fn facings(&self) -> Vec<Facing<'_>> {
        let mut found = Vec::new();
        for (index, one) in self.parts.iter().enumerate() {
            for other in self.parts.iter().skip(index + 1) {
                for axis in [Axis::X, Axis::Y] {
                    let (a, b) = (one.outside.span(axis), other.outside.span(axis));
                    let (low, high) = if a.1 <= b.0 {
                        (one, other)
                    } else {
                        (other, one)
                    };
                    let facing = Facing {
                        low,
                        high,
                        axis,
                        gap: high.outside.span(axis).0 - low.outside.span(axis).1,
                    };
                    if facing.is_open(&self.parts) {
                        found.push(facing);
                    }
                }
            }
        }
        found
    }

    /// What a piece's part is laid with.
    pub fn setting_of(&self, piece: &Piece) -> &Setting {
        let part = self.parts.get(usize::from(piece.part));
        part.map_or(&self.plan.setting, |part| &part.setting)
    }

    /// Settings of its parts that are of different units, in the order of the parts: what lies on edge is of the same
    /// unit. The plan's own where it has no part.
    pub fn kinds(&self) -> Vec<&Setting> {
        let mut found: Vec<&Setting> = Vec::new();
        for part in &self.parts {
            if !found
                .iter()
                .any(|known| known.unit.is_same(&part.setting.unit))
            {
                found.push(&part.setting);
            }
        }
        if found.is_empty() {
            found.push(&self.plan.setting);
        }
        found
    }

    /// The name of a part.
    pub fn part_name(&self, index: usize) -> &str {
        self.parts.get(index).map_or("", |part| part.name.as_str())
    }
}

/// Two parts that face each other along an axis.
#[derive(Clone, Copy, Debug)]
pub struct Facing<'a> {
    /// The one with smaller coordinates.
    pub low: &'a LaidPart,
    /// The other.
    pub high: &'a LaidPart,
    /// The axis along which they face each other.
    pub axis: Axis,
    /// Clear distance between them.
    pub gap: Length,
}

impl Facing<'_> {
    /// Whether the two overlap across the axis and in height, and no third part stands in the gap.
    fn is_open(&self, parts: &[LaidPart]) -> bool {
        let across = self.axis.across();
        let (low, high) = (&self.low.outside, &self.high.outside);
        let (Some(band), Some(heights)) = (
            shared(low.span(across), high.span(across)),
            shared(low.heights(), high.heights()),
        ) else {
            return false;
        };
        if self.gap.is_negative() {
            return false;
        }
        let between = (low.span(self.axis).1, high.span(self.axis).0);
        !parts.iter().any(|part| {
            shared(part.outside.span(self.axis), between).is_some()
                && shared(part.outside.span(across), band).is_some()
                && shared(part.outside.heights(), heights).is_some()
        })
    }
}
