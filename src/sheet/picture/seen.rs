//! What of the work is seen from a side, from above or in a section, as outlines in the plane of the picture.

use super::BETWEEN_LOOKS;
use super::outline::{Outline, Span, nm};
use crate::layout::{
    Axis, Corner, Cuboid, Cut, Laid, LaidPart, Piece, Plane, Profile, Sector, Shaping, Turned,
    VoidShape,
};
use crate::plan::{LintelKind, Side};
use crate::quantity::Length;
use crate::stop;

/// From where the work is looked at, and where it is cut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum View {
    /// A course from above, cut at half its height.
    Course {
        /// Index of the part whose course it is.
        part: usize,
        /// The course, from 1.
        course: u32,
    },
    /// A side as it stands before one.
    Elevation(Side),
    /// Cut upright, seen from a side.
    Section {
        /// The side that one looks from.
        from: Side,
        /// Place of the cut: x seen from the left or right, y seen from the front or back.
        at: Length,
    },
}

/// How a region is filled where it has no lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Fill {
    /// Units, and where nothing is.
    Blank,
    /// Lintels and lids.
    Stone,
    /// Slabs of copings.
    Coping,
    /// Concrete of the slab.
    Concrete,
    /// The base under the slab.
    Base,
}

/// How a piece is marked that is not a whole unit.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Mark {
    /// The mark, and the same in ASCII.
    pub(super) sign: (String, String),
    /// What it means.
    pub(super) words: String,
}

/// Something that is seen.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Region {
    pub(super) name: Option<String>,
    pub(super) mark: Option<Mark>,
    pub(super) fill: Fill,
}

impl Region {
    fn filled(name: &str, fill: Fill) -> Region {
        Region {
            name: (!name.is_empty()).then(|| name.to_owned()),
            mark: None,
            fill,
        }
    }
}

/// A figure with what it is of and how far from the eye it is.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shape {
    pub(super) outline: Outline,
    /// Smaller is nearer.
    pub(super) depth: f64,
    /// How far the cut is from it, where it runs along a joint.
    pub(super) off: f64,
    /// Half a joint round it belongs to it.
    pub(super) jointed: bool,
    /// Index of its region.
    pub(super) region: usize,
}

/// All that is seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Scene {
    pub(super) regions: Vec<Region>,
    pub(super) shapes: Vec<Shape>,
}

/// Behind everything.
const BACKDROP: f64 = f64::MAX;
/// Half a joint and what it may be wider than usual, in nanometres: places so near a piece belong to it, so that a joint
/// shows as one line.
pub(super) const HALF_JOINT: f64 = 12e6;
/// What is open hides what it is cut from: it counts as nearer by so much, in nanometres.
const OPEN: f64 = 1000.0;

/// From where one looks.
#[derive(Clone, Copy)]
enum Eye {
    Above,
    Side {
        /// The axis across the picture.
        axis: Axis,
        /// Whether it runs to the left in the picture.
        mirrored: bool,
        /// Whether the face with the smaller coordinate is nearer.
        low_near: bool,
    },
}

struct Looker<'a> {
    laid: &'a Laid,
    eye: Eye,
    /// Where the work is cut, along the line of sight.
    cut: Option<f64>,
    scene: Scene,
}

pub(super) fn scene(laid: &Laid, view: &View, only: Option<usize>) -> Scene {
    let side = |side: Side| match side {
        Side::Front => (Axis::X, false, true),
        Side::Back => (Axis::X, true, false),
        Side::Right => (Axis::Y, false, false),
        Side::Left => (Axis::Y, true, true),
    };
    let eye = |from: Side| {
        let (axis, mirrored, low_near) = side(from);
        Eye::Side {
            axis,
            mirrored,
            low_near,
        }
    };
    let (eye, cut) = match view {
        View::Course { part, course } => {
            let height = laid.parts.get(*part).map_or(0.0, |part| {
                let base = part.outside.at.z;
                let heights = (
                    part.heights.bottom_of(*course),
                    part.heights.top_of(*course),
                );
                nm(base) + f64::midpoint(nm(heights.0), nm(heights.1))
            });
            (Eye::Above, Some(-height))
        }
        View::Elevation(from) => (eye(*from), None),
        View::Section { from, at } => {
            let low_near = side(*from).2;
            let at = if low_near { nm(*at) } else { -nm(*at) };
            (eye(*from), Some(at))
        }
    };
    let mut looker = Looker {
        laid,
        eye,
        cut,
        scene: Scene::default(),
    };
    // A part is drawn with its lining.
    let lining_of =
        |part: usize, host: usize| laid.lines(part).is_some_and(|lining| lining.host == host);
    let wanted = |part: usize| only.is_none_or(|only| only == part || lining_of(part, only));
    for (index, part) in laid.parts.iter().enumerate() {
        if wanted(index) {
            looker.add_part(index, part);
        }
    }
    looker.add_round_about(&wanted, only.is_none());
    looker.scene
}

impl Looker<'_> {
    /// A box as the picture has it: across, up, and from near to far.
    fn frame(&self, cuboid: &Cuboid) -> (Span, Span, Span) {
        let span = |span: (Length, Length)| (nm(span.0), nm(span.1));
        let turned = |span: Span| (-span.1, -span.0);
        let z = span(cuboid.heights());
        match self.eye {
            Eye::Above => (
                span(cuboid.span(Axis::X)),
                span(cuboid.span(Axis::Y)),
                turned(z),
            ),
            Eye::Side {
                axis,
                mirrored,
                low_near,
            } => {
                let along = span(cuboid.span(axis));
                let sight = span(cuboid.span(axis.across()));
                (
                    if mirrored { turned(along) } else { along },
                    z,
                    if low_near { sight } else { turned(sight) },
                )
            }
        }
    }

    fn is_cut(&self, sight: Span) -> bool {
        self.cut
            .is_none_or(|cut| (sight.0..=sight.1).contains(&cut))
    }

    /// As [`Looker::is_cut`], but a cut that runs along a joint shows the units beside it.
    fn is_cut_jointed(&self, sight: Span) -> bool {
        self.is_cut((sight.0 - HALF_JOINT, sight.1 + HALF_JOINT))
    }

    fn region(&mut self, region: Region) -> usize {
        self.scene.regions.push(region);
        self.scene.regions.len() - 1
    }

    fn add(&mut self, region: usize, outline: Outline, sight: Span, jointed: bool) {
        let open = if jointed { 0.0 } else { OPEN };
        let (depth, off) = match self.cut {
            Some(cut) => (-open, (sight.0 - cut).max(cut - sight.1).max(0.0)),
            None => (sight.0 - open, 0.0),
        };
        self.scene.shapes.push(Shape {
            outline,
            depth,
            off,
            jointed,
            region,
        });
    }

    fn add_box(&mut self, region: Region, cuboid: &Cuboid, jointed: bool) {
        let (u, v, sight) = self.frame(cuboid);
        let cut = if jointed {
            self.is_cut_jointed(sight)
        } else {
            self.is_cut(sight)
        };
        if cut {
            let region = self.region(region);
            self.add(region, Outline::Box(u, v), sight, jointed);
        }
    }

    fn add_part(&mut self, index: usize, part: &LaidPart) {
        let laid = self.laid;
        for pieces in laid.pieces_of(part).chunks(BETWEEN_LOOKS) {
            if stop::asked().is_some() {
                return;
            }
            for piece in pieces {
                self.add_piece(piece);
            }
        }
        for body in laid.bodies.iter().filter(|body| body.part == index) {
            let fill = match body.kind {
                LintelKind::Steel => Fill::Blank,
                LintelKind::Stone | LintelKind::Concrete => Fill::Stone,
            };
            self.add_box(Region::filled("", fill), &body.cuboid, true);
        }
        for void in laid.voids.iter().filter(|void| void.part == index) {
            self.add_void(&void.name, &void.shape, void.axis);
        }
        for (_, _, cavity) in laid.cavities.iter().filter(|cavity| cavity.0 == index) {
            self.add_box(Region::filled("", Fill::Blank), cavity, false);
        }
        let inside = match part.compartments.as_slice() {
            [] => part
                .inside
                .iter()
                .map(|inside| (&part.name, inside))
                .collect(),
            some => some
                .iter()
                .map(|one| (&one.name, &one.space))
                .collect::<Vec<_>>(),
        };
        if self.cut.is_some() {
            for (name, inside) in inside {
                let (u, v, sight) = self.frame(inside);
                if self.is_cut(sight) {
                    let region = self.region(Region::filled(name, Fill::Blank));
                    self.scene.shapes.push(Shape {
                        outline: Outline::Box(u, v),
                        depth: BACKDROP,
                        off: 0.0,
                        jointed: false,
                        region,
                    });
                }
            }
        }
    }

    fn add_piece(&mut self, piece: &Piece) {
        let shaping = self.laid.shaping(piece);
        let region = Region {
            name: None,
            mark: mark(piece, shaping),
            fill: Fill::Blank,
        };
        match shaping {
            Some(Shaping::Turned(turned)) => {
                self.add_prism(region, turned.plane, &turned.corners(), turned);
            }
            Some(Shaping::Prism(prism)) => {
                let corners = prism.corners.map(|(along, z)| (nm(along), nm(z)));
                let bounds = prism.bounds();
                self.add_slice(region, Plane::Upright(prism.axis), &corners, &bounds);
            }
            Some(Shaping::Raked(profiles, _) | Shaping::Carved(_, profiles, _)) => {
                self.add_raked(region, &piece.cuboid(), profiles);
            }
            _ => self.add_box(region, &piece.cuboid(), true),
        }
    }

    fn add_prism(&mut self, region: Region, plane: Plane, corners: &[Corner; 4], turned: &Turned) {
        self.add_slice(region, plane, corners, &turned.bounds());
    }

    /// A prism over a quadrilateral: the quadrilateral where one looks along it, else the box round it or, where it is
    /// cut, the chord of the quadrilateral there.
    fn slice(
        &self,
        plane: Plane,
        corners: &[Corner; 4],
        bounds: &Cuboid,
        jointed: bool,
    ) -> Option<(Outline, Span)> {
        let (u, v, sight) = self.frame(bounds);
        let cut = if jointed {
            self.is_cut_jointed(sight)
        } else {
            self.is_cut(sight)
        };
        if !cut {
            return None;
        }
        let flip = |mirrored: bool, at: f64| if mirrored { -at } else { at };
        let polygon = |mirrored: bool| {
            let corners = corners
                .iter()
                .map(|corner| (flip(mirrored, corner.0), corner.1));
            Outline::Polygon(corners.collect())
        };
        let outline = match (self.eye, plane) {
            (Eye::Above, Plane::Level) => polygon(false),
            (Eye::Side { axis, mirrored, .. }, Plane::Upright(own)) if own == axis => {
                polygon(mirrored)
            }
            (eye, plane) => match self.cut {
                None => Outline::Box(u, v),
                Some(cut) => {
                    // The place of the cut in the plane of the quadrilateral, and what of the picture it spans.
                    let (first, place, mirrored) = match (eye, plane) {
                        (Eye::Above, _) => (false, -cut, false),
                        (
                            Eye::Side {
                                axis,
                                mirrored,
                                low_near,
                            },
                            Plane::Level,
                        ) => (axis == Axis::Y, flip(!low_near, cut), mirrored),
                        (Eye::Side { low_near, .. }, Plane::Upright(_)) => {
                            (true, flip(!low_near, cut), false)
                        }
                    };
                    let chord = chord(corners, first, place)?;
                    let chord = if mirrored {
                        (-chord.1, -chord.0)
                    } else {
                        chord
                    };
                    match (eye, plane) {
                        (Eye::Above, Plane::Upright(Axis::Y))
                        | (Eye::Side { .. }, Plane::Upright(_)) => Outline::Box(u, chord),
                        _ => Outline::Box(chord, v),
                    }
                }
            },
        };
        Some((outline, sight))
    }

    fn add_slice(&mut self, region: Region, plane: Plane, corners: &[Corner; 4], bounds: &Cuboid) {
        if let Some((outline, sight)) = self.slice(plane, corners, bounds, true) {
            let region = self.region(region);
            self.add(region, outline, sight, true);
        }
    }

    /// What is open in a round: its bays are one region.
    fn add_sector(&mut self, region: Region, sector: &Sector) {
        let quads = sector.quads().into_iter();
        let seen: Vec<_> = quads
            .filter_map(|quad| {
                let corners = quad.corners.map(|(x, y)| (nm(x), nm(y)));
                self.slice(Plane::Level, &corners, &quad.bounds(), false)
            })
            .collect();
        if seen.is_empty() {
            return;
        }
        let region = self.region(region);
        for (outline, sight) in seen {
            self.add(region, outline, sight, false);
        }
    }

    fn add_raked(&mut self, region: Region, cuboid: &Cuboid, profiles: &[Profile]) {
        let (mut u, v, sight) = self.frame(cuboid);
        if !self.is_cut_jointed(sight) {
            return;
        }
        let outline = match (self.eye, self.cut) {
            (Eye::Side { axis, mirrored, .. }, _) if self.runs_along(cuboid, axis) => {
                let profiles = profiles
                    .iter()
                    .map(|profile| seen_profile(profile, mirrored));
                Outline::Raked(u, v, profiles.collect())
            }
            (Eye::Above, Some(cut)) if self.runs_along(cuboid, Axis::X) => {
                for profile in profiles {
                    let half = profile.half_at((-cut).round() as i64).unwrap_or(0.0);
                    let middle = nm(profile.middle);
                    if f64::midpoint(u.0, u.1) > middle {
                        u.0 = u.0.max(middle + half);
                    } else {
                        u.1 = u.1.min(middle - half);
                    }
                }
                if u.0 >= u.1 {
                    return;
                }
                Outline::Box(u, v)
            }
            _ => Outline::Box(u, v),
        };
        let region = self.region(region);
        self.add(region, outline, sight, true);
    }

    /// Whether the wall that an arch rakes runs along an axis: one of its arches spans so and touches the box.
    fn runs_along(&self, cuboid: &Cuboid, axis: Axis) -> bool {
        self.laid.arches.iter().any(|arch| {
            let half = arch.outline.widest_half();
            let (from, to) = (arch.outline.middle - half, arch.outline.middle + half);
            let span = cuboid.span(arch.axis);
            arch.axis == axis && span.0 < to && span.1 > from
        })
    }

    fn add_void(&mut self, name: &str, shape: &VoidShape, wall: Axis) {
        let region = Region::filled(name, Fill::Blank);
        let along_sight = match self.eye {
            Eye::Above => false,
            Eye::Side { axis, .. } => axis == wall,
        };
        match *shape {
            VoidShape::Sector(sector) => self.add_sector(region, &sector),
            VoidShape::Box(cuboid) => {
                if along_sight || self.cut.is_some() {
                    self.add_box(region, &cuboid, false);
                }
            }
            VoidShape::Cylinder {
                axis,
                across,
                z,
                radius,
                span,
            } => {
                let half = (across - radius, across + radius);
                let bounds = Cuboid::along(axis, span, half, (z - radius, z + radius));
                self.add_round(region, &bounds, (across, z, radius), along_sight);
            }
            VoidShape::Profile {
                axis,
                profile,
                depth,
            } => {
                let half = profile.widest_half();
                let along = (profile.middle - half, profile.middle + half);
                let heights = (profile.bottom, profile.top());
                let bounds = Cuboid::along(axis, along, depth, heights);
                let (_, _, sight) = self.frame(&bounds);
                match (self.eye, self.cut) {
                    (Eye::Side { mirrored, .. }, _) if along_sight && self.is_cut(sight) => {
                        let region = self.region(region);
                        let outline = Outline::Profile(seen_profile(&profile, mirrored));
                        self.add(region, outline, sight, false);
                    }
                    (Eye::Above, Some(cut)) => {
                        if let Some(half) = profile.half_at((-cut).round() as i64) {
                            let half = Length::from_nm(half.round() as i64);
                            let along = (profile.middle - half, profile.middle + half);
                            let there = Cuboid::along(axis, along, depth, heights);
                            self.add_box(region, &there, false);
                        }
                    }
                    (Eye::Side { .. }, Some(_)) if !along_sight => {
                        self.add_box(region, &bounds, false);
                    }
                    _ => {}
                }
            }
        }
    }

    /// A round hole: a circle along its axis, else a box as wide as its chord at the cut.
    fn add_round(
        &mut self,
        region: Region,
        bounds: &Cuboid,
        (across, z, radius): (Length, Length, Length),
        along_sight: bool,
    ) {
        let (u, v, sight) = self.frame(bounds);
        if !self.is_cut(sight) {
            return;
        }
        let radius = nm(radius);
        let chord = |off: f64| (radius * radius - off * off).max(0.0).sqrt();
        let outline = match (self.eye, self.cut) {
            (Eye::Side { mirrored, .. }, _) if along_sight => {
                let across = if mirrored { -nm(across) } else { nm(across) };
                Outline::Circle((across, nm(z)), radius)
            }
            (Eye::Side { low_near, .. }, Some(cut)) => {
                let cut = if low_near { cut } else { -cut };
                let half = chord(cut - nm(across));
                Outline::Box(u, (nm(z) - half, nm(z) + half))
            }
            (Eye::Above, Some(cut)) => {
                let half = chord(-cut - nm(z));
                let around = |span: Span| {
                    let middle = f64::midpoint(span.0, span.1);
                    (middle - half, middle + half)
                };
                // The chord lies across the hole's axis, which is the one that is not a diameter wide there.
                if nm(across) >= u.0 && (u.1 - u.0 - 2.0 * radius).abs() < 1.0 {
                    Outline::Box(around(u), v)
                } else {
                    Outline::Box(u, around(v))
                }
            }
            _ => return,
        };
        let region = self.region(region);
        self.add(region, outline, sight, false);
    }

    /// Lids, copings, slab, base and the pipes between parts.
    fn add_round_about(&mut self, wanted: &dyn Fn(usize) -> bool, whole: bool) {
        let laid = self.laid;
        for lid in laid.lids.iter().filter(|lid| wanted(lid.part)) {
            for piece in &lid.pieces {
                self.add_box(Region::filled("", Fill::Stone), piece, true);
            }
        }
        let parts = laid.parts.iter().enumerate();
        for (_, part) in parts.filter(|(index, _)| wanted(*index)) {
            for slab in part.coping.iter().flat_map(|coping| &coping.slabs) {
                self.add_box(Region::filled("", Fill::Coping), &slab.cuboid, true);
            }
        }
        let above = matches!(self.eye, Eye::Above);
        for slab in laid.slab.iter().filter(|_| !above && whole) {
            self.add_boxes(Region::filled("", Fill::Concrete), &slab.concrete);
            self.add_boxes(Region::filled("", Fill::Base), &slab.subbase);
        }
        for duct in laid.ducts.iter().filter(|duct| wanted(duct.from)) {
            let span = |index: usize| {
                laid.parts
                    .get(index)
                    .map(|part| part.outside.span(duct.axis))
            };
            let (Some(from), Some(to)) = (span(duct.from), duct.to.and_then(span)) else {
                continue;
            };
            let between = if from.1 <= to.0 {
                (from.1, to.0)
            } else {
                (to.1, from.0)
            };
            let radius = (duct.heights.1 - duct.heights.0).half();
            let across = (duct.across - radius, duct.across + radius);
            let pipe = Cuboid::along(duct.axis, between, across, duct.heights);
            if between.0 < between.1 {
                self.add_box(Region::filled(&duct.name, Fill::Blank), &pipe, true);
            }
        }
    }

    /// Boxes that together are one thing.
    fn add_boxes(&mut self, region: Region, boxes: &[Cuboid]) {
        let region = self.region(region);
        for cuboid in boxes {
            let (u, v, sight) = self.frame(cuboid);
            if self.is_cut(sight) {
                self.add(region, Outline::Box(u, v), sight, true);
            }
        }
    }
}

fn seen_profile(profile: &Profile, mirrored: bool) -> Profile {
    let middle = profile.middle;
    Profile {
        middle: if mirrored { -middle } else { middle },
        ..*profile
    }
}

/// From where to where a straight line at a place crosses a quadrilateral, along its other axis. A line that runs along
/// the joint beside it is taken a little further in.
fn chord(corners: &[Corner; 4], first: bool, place: f64) -> Option<Span> {
    let turned = corners.map(|(a, b)| if first { (a, b) } else { (b, a) });
    let places = turned.iter().map(|corner| corner.0);
    let (low, high) = places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), place| {
        (low.min(place), high.max(place))
    });
    let inset = HALF_JOINT.min((high - low) / 4.0);
    let inside = place.clamp(low + inset, (high - inset).max(low + inset));
    if (inside - place).abs() > HALF_JOINT + inset {
        return None;
    }
    let mut span: Option<Span> = None;
    for (a, b) in turned.iter().zip(turned.iter().cycle().skip(1)) {
        if (a.0 - inside) * (b.0 - inside) > 0.0 || (a.0 - b.0).abs() < 1.0 {
            continue;
        }
        let at = a.1 + (b.1 - a.1) * (inside - a.0) / (b.0 - a.0);
        span = Some(span.map_or((at, at), |(low, high)| (low.min(at), high.max(at))));
    }
    span.filter(|(low, high)| high > low)
}

/// The mark of a piece; none for a whole unit.
fn mark(piece: &Piece, shaping: Option<&Shaping>) -> Option<Mark> {
    let both = |sign: &str| (sign.to_owned(), sign.to_owned());
    let cut = match piece.cut {
        Cut::Whole => None,
        Cut::Bat(over, under) => {
            let plain = format!("{over}/{under}");
            let sign = match (over, under) {
                (1, 2) => "½",
                (1, 4) => "¼",
                (3, 4) => "¾",
                (1, 3) => "⅓",
                (2, 3) => "⅔",
                _ => &plain,
            };
            Some((sign.to_owned(), plain.clone()))
        }
        Cut::Closer => Some(both("q")),
        Cut::Odd => Some(both("x")),
        Cut::Split => Some(both("s")),
    };
    let shaped = shaping.and_then(Shaping::word);
    let (sign, words) = match (cut, shaped) {
        (None, None) => return None,
        (Some(sign), None) if piece.cut == Cut::Closer => (sign, piece.role.word().to_owned()),
        (Some(sign), None) => (sign, piece.cut.word()),
        // One more letter would not fit most pieces: shaped is what asks for the saw last.
        (None | Some(_), Some(word)) => {
            let letter: String = word.chars().take(1).collect();
            (both(&letter), word.to_owned())
        }
    };
    Some(Mark { sign, words })
}
