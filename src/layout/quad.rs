//! Level prisms over quadrilaterals with corners in whole nanometres: what goes with each unit of a curved wall.

use super::geometry::{Axis, Cuboid};
use super::turned::Corner;
use crate::quantity::{Area, Length, Volume};

/// A prism over a convex quadrilateral seen from above.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Quad {
    /// Its corners, anticlockwise.
    pub corners: [(Length, Length); 4],
    /// Its underside and its top.
    pub depth: (Length, Length),
}

impl Quad {
    /// Over corners brought to whole nanometres.
    pub(super) fn over(corners: [Corner; 4], depth: (Length, Length)) -> Quad {
        let whole = |place: f64| Length::from_nm(place.round() as i64);
        Quad {
            corners: corners.map(|(x, y)| (whole(x), whole(y))),
            depth,
        }
    }

    /// Twice its area, square nanometres: the shoelace formula by its diagonals.
    fn twice(&self) -> i128 {
        let [a, b, c, d] = self
            .corners
            .map(|(x, y)| (i128::from(x.nm()), i128::from(y.nm())));
        (c.0 - a.0) * (d.1 - b.1) - (c.1 - a.1) * (d.0 - b.0)
    }

    /// Its area in plan.
    pub fn area(&self) -> Area {
        Area::from_nm2(self.twice() / 2)
    }

    /// Its volume.
    pub fn volume(&self) -> Volume {
        let depth = i128::from((self.depth.1 - self.depth.0).nm());
        Volume::from_nm3(self.twice() * depth / 2)
    }

    /// The smallest upright box round it.
    pub fn bounds(&self) -> Cuboid {
        let span = |places: [Length; 4]| {
            let low = places.iter().copied().min().unwrap_or_default();
            (low, places.iter().copied().max().unwrap_or_default())
        };
        let x = span(self.corners.map(|(x, _)| x));
        let y = span(self.corners.map(|(_, y)| y));
        Cuboid::along(Axis::X, x, y, self.depth)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A trapezoid of 80 and 100 mm faces 100 mm apart: 90 × 100 mm², 65 mm deep.
    #[test]
    fn volume_is_that_of_a_trapezoid() {
        let mm = |x: i64, y: i64| (x as f64 * 1e6, y as f64 * 1e6);
        let depth = (Length::mm(10), Length::mm(75));
        let quad = Quad::over([mm(0, 10), mm(100, 0), mm(100, 100), mm(0, 90)], depth);
        assert!((quad.area().to_m2() - 0.009).abs() < 1e-15);
        assert!((quad.volume().to_mm3() - 585_000.0).abs() < 1e-9);
        assert_eq!(quad.bounds().width, Length::mm(100));
    }
}
