//! Pieces that lie turned about a centre: in a ring, seen from above, or in an arch, seen from the front.

use super::geometry::{Axis, Cuboid, shared};
use crate::quantity::{Area, Length, Volume};

/// Two figures that share less than this (nanometres) only touch: their corners come from sines and cosines, and
/// their sizes are whole nanometres.
const TOUCH: f64 = 3.0;
/// What floating point may add to a corner that lies on a whole nanometre.
const NOISE: f64 = 1e-3;

/// A place in the plane of a turned piece, in nanometres.
pub type Corner = (f64, f64);

/// The plane that a piece is turned in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Plane {
    /// Seen from above: x and y; the depth is along z.
    Level,
    /// Seen from the side: the place along the axis, and z; the depth is across the axis.
    Upright(Axis),
}

impl Plane {
    /// The word for it: `level`, or the axis that an upright plane lies along.
    pub const fn word(self) -> &'static str {
        match self {
            Plane::Level => "level",
            Plane::Upright(axis) => axis.word(),
        }
    }
}

/// A prism over an isosceles trapezoid that is symmetric about its own radial middle line; over a rectangle where the
/// unit is not cut to taper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turned {
    /// The plane of the trapezoid.
    pub plane: Plane,
    /// The centre it is turned about, in the plane.
    pub centre: (Length, Length),
    /// Direction of its middle line from the centre, radians, anticlockwise from the plane's first axis.
    pub angle: f64,
    /// From the centre to the middle of the inner face.
    pub inner: Length,
    /// From the centre to the middle of the outer face.
    pub outer: Length,
    /// Width of the inner face, across the middle line.
    pub inner_width: Length,
    /// Width of the outer face, across the middle line.
    pub outer_width: Length,
    /// From and to along the third axis.
    pub depth: (Length, Length),
}

impl Turned {
    /// Whether its two faces differ, so that it is cut from a unit.
    pub fn tapers(&self) -> bool {
        self.inner_width != self.outer_width
    }

    /// Corners of the trapezoid, anticlockwise from the inner face's end with the smaller angle.
    pub fn corners(&self) -> [Corner; 4] {
        let (sin, cos) = self.angle.sin_cos();
        let (x, y) = (self.centre.0.nm() as f64, self.centre.1.nm() as f64);
        let at = |out: Length, across: f64| {
            let out = out.nm() as f64;
            (x + out * cos - across * sin, y + out * sin + across * cos)
        };
        let half = |width: Length| width.nm() as f64 / 2.0;
        let (inner, outer) = (half(self.inner_width), half(self.outer_width));
        [
            at(self.inner, -inner),
            at(self.outer, -outer),
            at(self.outer, outer),
            at(self.inner, inner),
        ]
    }

    /// Area of the trapezoid: half the sum of its faces times the distance between them.
    pub fn area(&self) -> Area {
        let twice = (self.inner_width + self.outer_width).times(self.outer - self.inner);
        Area::from_nm2(twice.nm2() / 2)
    }

    /// Its volume: half the sum of its faces times the distance between them times its depth.
    pub fn volume(&self) -> Volume {
        let sum = self.inner_width + self.outer_width;
        let twice = sum
            .times(self.outer - self.inner)
            .times(self.depth.1 - self.depth.0);
        Volume::from_nm3(twice.nm3() / 2)
    }

    /// The smallest box round it, to whole nanometres.
    pub fn bounds(&self) -> Cuboid {
        let corners = self.corners();
        let span = |pick: fn(&Corner) -> f64| {
            let low = corners.iter().map(pick).fold(f64::INFINITY, f64::min);
            let high = corners.iter().map(pick).fold(f64::NEG_INFINITY, f64::max);
            (
                Length::from_nm((low + NOISE).floor() as i64),
                Length::from_nm((high - NOISE).ceil() as i64),
            )
        };
        let (first, second) = (span(|c| c.0), span(|c| c.1));
        match self.plane {
            Plane::Level => Cuboid::along(Axis::X, first, second, self.depth),
            Plane::Upright(axis) => Cuboid::along(axis, first, self.depth, second),
        }
    }

    /// Whether two prisms share more than a face. Prisms in unlike planes are judged by the boxes round them, which
    /// may find a clash where there is none, never the other way.
    pub fn overlaps(&self, other: &Turned) -> bool {
        if self.plane != other.plane {
            return self.bounds().shared(&other.bounds()).is_some();
        }
        shared(self.depth, other.depth).is_some() && meet(&self.corners(), &other.corners())
    }

    /// Whether it shares more than a face with a box.
    pub fn overlaps_box(&self, other: &Cuboid) -> bool {
        let (first, second, depth) = match self.plane {
            Plane::Level => (other.span(Axis::X), other.span(Axis::Y), other.heights()),
            Plane::Upright(axis) => (other.span(axis), other.heights(), other.span(axis.across())),
        };
        let nm = |length: Length| length.nm() as f64;
        let corners = [
            (nm(first.0), nm(second.0)),
            (nm(first.1), nm(second.0)),
            (nm(first.1), nm(second.1)),
            (nm(first.0), nm(second.1)),
        ];
        shared(self.depth, depth).is_some() && meet(&self.corners(), &corners)
    }
}

/// Whether two convex figures share more than a touch: no edge of either has the other wholly beyond it.
fn meet(one: &[Corner; 4], other: &[Corner; 4]) -> bool {
    let parted = |edges: &[Corner; 4]| {
        edges
            .iter()
            .zip(edges.iter().cycle().skip(1))
            .any(|(a, b)| {
                let (dx, dy) = (b.0 - a.0, b.1 - a.1);
                let size = dx.hypot(dy);
                // A face without width has no direction; the other faces part what can be parted.
                if size <= TOUCH {
                    return false;
                }
                let reach = |corners: &[Corner; 4]| {
                    let along = corners.iter().map(|c| (c.0 * dy - c.1 * dx) / size);
                    along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), place| {
                        (low.min(place), high.max(place))
                    })
                };
                let (a, b) = (reach(one), reach(other));
                a.1.min(b.1) - a.0.max(b.0) <= TOUCH
            })
    };
    !parted(one) && !parted(other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn piece(angle: f64) -> Turned {
        Turned {
            plane: Plane::Level,
            centre: (Length::mm(1000), Length::mm(500)),
            angle,
            inner: Length::mm(400),
            outer: Length::mm(500),
            inner_width: Length::mm(80),
            outer_width: Length::mm(100),
            depth: (Length::mm(10), Length::mm(75)),
        }
    }

    /// A trapezoid of 80 and 100 mm faces 100 mm apart: 90 × 100 mm², 65 mm deep.
    #[test]
    fn area_and_volume_are_those_of_a_trapezoid() {
        assert!((piece(0.3).area().to_m2() - 0.009).abs() < 1e-15);
        assert!((piece(0.3).volume().to_mm3() - 585_000.0).abs() < 1e-9);
    }

    #[test]
    fn bounds_follow_the_turn() {
        let level = piece(0.0).bounds();
        assert_eq!(level.span(Axis::X), (Length::mm(1400), Length::mm(1500)));
        assert_eq!(level.span(Axis::Y), (Length::mm(450), Length::mm(550)));
        assert_eq!(level.heights(), (Length::mm(10), Length::mm(75)));
        let back = piece(PI / 2.0).bounds();
        assert_eq!(back.span(Axis::X), (Length::mm(950), Length::mm(1050)));
        assert_eq!(back.span(Axis::Y), (Length::mm(900), Length::mm(1000)));
        let upright = Turned {
            plane: Plane::Upright(Axis::Y),
            ..piece(PI / 2.0)
        };
        let upright = upright.bounds();
        assert_eq!(upright.span(Axis::Y), (Length::mm(950), Length::mm(1050)));
        assert_eq!(upright.heights(), (Length::mm(900), Length::mm(1000)));
        assert_eq!(upright.span(Axis::X), (Length::mm(10), Length::mm(75)));
        // At 45° the outer face's corners are at (500 ± 50)/√2.
        let skew = piece(PI / 4.0).bounds();
        let far = 1000.0 + 550.0 / 2.0_f64.sqrt();
        assert!((skew.span(Axis::X).1.to_mm() - far).abs() < 2e-6);
    }

    /// Side by side about one centre, pieces of 80 mm at 400 mm meet when nearer than 2 atan(40/400), and at the
    /// outer face, 50/500, at the same angle: they touch along their whole sides.
    #[test]
    fn pieces_meet_when_nearer_than_their_faces_allow() {
        let touching = 2.0 * (0.1_f64).atan();
        assert!(!piece(0.0).overlaps(&piece(touching)));
        assert!(!piece(0.0).overlaps(&piece(touching + 1e-6)));
        assert!(piece(0.0).overlaps(&piece(touching - 1e-6)));
        let above = Turned {
            depth: (Length::mm(75), Length::mm(140)),
            ..piece(0.0)
        };
        assert!(!piece(0.0).overlaps(&above));
    }

    #[test]
    fn a_box_meets_the_figure_and_not_the_box_round_it() {
        let skew = piece(PI / 4.0);
        let mm = |from: i64, to: i64| (Length::mm(from), Length::mm(to));
        let bounds = skew.bounds();
        let nook = Cuboid::along(
            Axis::X,
            (
                bounds.span(Axis::X).1 - Length::mm(20),
                bounds.span(Axis::X).1,
            ),
            (
                bounds.span(Axis::Y).1 - Length::mm(20),
                bounds.span(Axis::Y).1,
            ),
            mm(0, 100),
        );
        assert!(bounds.shared(&nook).is_some() && !skew.overlaps_box(&nook));
        let across = Cuboid::along(Axis::X, mm(1300, 1330), mm(700, 900), mm(0, 100));
        assert!(skew.overlaps_box(&across));
        let over = Cuboid::along(Axis::X, mm(1300, 1330), mm(700, 900), mm(75, 100));
        assert!(!skew.overlaps_box(&over));
    }
}
