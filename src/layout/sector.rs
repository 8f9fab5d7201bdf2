//! What is open between two radial jambs of round work.

use super::geometry::Cuboid;
use super::quad::Quad;
use super::turned::Corner;
use crate::quantity::{Length, Volume};

/// An opening is counted in bays of at most so many radians, each straight from side to side: over half a metre's
/// radius the outer face then stands off its chord by less than a joint. Our own choice.
const WIDEST_BAY: f64 = 0.25;

/// A stretch of a round from its inner to its outer face, between two jambs: planes through its middle, or a little off it
/// beside units that are cut to taper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sector {
    /// The middle of the round in plan.
    pub centre: (Length, Length),
    /// Radius of its inner side.
    pub inner: Length,
    /// Radius of its outer side.
    pub outer: Length,
    /// Directions from the middle of where its two sides meet the inner face, radians anticlockwise, the smaller first.
    pub sides: (f64, f64),
    /// As [`Sector::sides`], at the outer face.
    pub backs: (f64, f64),
    /// Its underside and its top.
    pub depth: (Length, Length),
}

impl Sector {
    /// Level prisms side by side that it is counted in.
    pub fn quads(&self) -> Vec<Quad> {
        let bays = ((self.sides.1 - self.sides.0) / WIDEST_BAY).ceil().max(1.0) as u32;
        let at = |turn: u32, radius: Length| -> Corner {
            let (from, to) = if radius == self.inner {
                self.sides
            } else {
                self.backs
            };
            let angle = from + (to - from) * f64::from(turn) / f64::from(bays);
            let (sin, cos) = angle.sin_cos();
            let radius = radius.nm() as f64;
            (
                self.centre.0.nm() as f64 + radius * cos,
                self.centre.1.nm() as f64 + radius * sin,
            )
        };
        (0..bays)
            .map(|turn| {
                let corners = [
                    at(turn, self.inner),
                    at(turn, self.outer),
                    at(turn + 1, self.outer),
                    at(turn + 1, self.inner),
                ];
                Quad::over(corners, self.depth)
            })
            .collect()
    }

    /// Its volume.
    pub fn volume(&self) -> Volume {
        self.quads().iter().map(Quad::volume).sum()
    }

    /// The smallest upright box round it.
    pub fn bounds(&self) -> Cuboid {
        let all = self.quads().into_iter().map(|quad| quad.bounds());
        all.reduce(|a, b| a.around(&b)).unwrap_or_default()
    }

    /// Clear widths straight across, at the inner and at the outer side: 2 r sin(φ/2), or the diameter beyond half a turn.
    pub fn widths(&self) -> (Length, Length) {
        let chord = |radius: Length, (from, to): (f64, f64)| {
            let half = ((to - from) / 2.0).min(std::f64::consts::FRAC_PI_2);
            Length::from_nm((2.0 * radius.nm() as f64 * half.sin()).round() as i64)
        };
        (chord(self.inner, self.sides), chord(self.outer, self.backs))
    }

    /// Its height.
    pub fn height(&self) -> Length {
        self.depth.1 - self.depth.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 60° of a round of radii 400 and 500 mm: 400 mm wide inside and 500 mm outside; in five bays of 12° its area is
    /// 5 × ½ sin 12° (500² − 400²) mm².
    #[test]
    fn widths_and_volume_by_hand() {
        let sector = Sector {
            centre: (Length::mm(1000), Length::mm(-300)),
            inner: Length::mm(400),
            outer: Length::mm(500),
            sides: (-2.0, -2.0 + std::f64::consts::PI / 3.0),
            backs: (-2.0, -2.0 + std::f64::consts::PI / 3.0),
            depth: (Length::ZERO, Length::mm(100)),
        };
        assert_eq!(sector.widths(), (Length::mm(400), Length::mm(500)));
        assert_eq!(sector.quads().len(), 5);
        let area = 2.5 * 12_f64.to_radians().sin() * 90_000.0;
        assert!((sector.volume().to_mm3() - area * 100.0).abs() < 1.0);
    }
}
