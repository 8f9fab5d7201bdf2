//! Outlines of arches: symmetric about an upright line, half as wide at each height as a straight side and then a
//! circle say.

use super::geometry::circle_in_rectangle;
use crate::quantity::Length;

/// A region in the plane of a wall: its half width grows evenly from the bottom to the shoulder, then follows a circle
/// to its top.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Profile {
    /// Place of its upright middle line along the wall.
    pub middle: Length,
    /// Its lowest height.
    pub bottom: Length,
    /// Half its width there.
    pub bottom_half: Length,
    /// Height where the straight sides end.
    pub shoulder: Length,
    /// Half its width there, not less than at the bottom.
    pub shoulder_half: Length,
    /// The circle over the shoulder: height of its centre, not above the shoulder, and its radius. None for a flat top.
    pub circle: Option<(Length, Length)>,
}

impl Profile {
    /// Its highest point.
    pub fn top(&self) -> Length {
        self.circle
            .map_or(self.shoulder, |(centre, radius)| centre + radius)
    }

    /// Half its greatest width.
    pub fn widest_half(&self) -> Length {
        self.shoulder_half.max(self.bottom_half)
    }

    /// Half its width at a height in nanometres; none outside.
    pub fn half_at(&self, z: i64) -> Option<f64> {
        let (bottom, shoulder) = (self.bottom.nm(), self.shoulder.nm());
        if z < bottom || z > self.top().nm() {
            return None;
        }
        if z <= shoulder && shoulder > bottom {
            let share = (z - bottom) as f64 / (shoulder - bottom) as f64;
            let (low, high) = (self.bottom_half.nm() as f64, self.shoulder_half.nm() as f64);
            return Some(low + (high - low) * share);
        }
        match self.circle {
            Some((centre, radius)) => {
                let (up, radius) = ((z - centre.nm()) as f64, radius.nm() as f64);
                Some((radius * radius - up * up).max(0.0).sqrt())
            }
            None => Some(self.shoulder_half.nm() as f64),
        }
    }

    /// Half the width that is taken over all of a course from `bottom` to `top`, with what is thinner than `thin` over
    /// the curve: there no piece can lie. Nanometres.
    pub fn core_half(&self, (bottom, top): (i64, i64), thin: i64) -> Option<i64> {
        let half = self.half_at(bottom)?.min(self.half_at(top - thin)?);
        let half = half.floor() as i64;
        (half > 0).then_some(half)
    }

    /// Area in square nanometres that it shares with a rectangle, exact but for floating point: the integral of the
    /// clipped half width over the height.
    pub fn area_in(&self, along: (Length, Length), z: (Length, Length)) -> f64 {
        let offset = |place: Length| (place.nm() - self.middle.nm()) as f64;
        self.beside_middle(offset(along.1), z) - self.beside_middle(offset(along.0), z)
    }

    /// Its whole area in square nanometres.
    pub fn area(&self) -> f64 {
        let half = self.widest_half() + Length::from_nm(1);
        self.area_in(
            (self.middle - half, self.middle + half),
            (self.bottom, self.top()),
        )
    }

    /// Area between the middle line and a place beside it; negative to the left.
    fn beside_middle(&self, place: f64, z: (Length, Length)) -> f64 {
        let reach = place.abs();
        let mut area = 0.0;
        let (from, to) = (z.0.max(self.bottom), z.1.min(self.shoulder));
        if from < to
            && let (Some(a), Some(b)) = (self.half_at(from.nm()), self.half_at(to.nm()))
        {
            let high = (to - from).nm() as f64;
            area += if reach >= b {
                f64::midpoint(a, b) * high
            } else if reach <= a {
                reach * high
            } else {
                let slanted = high * (reach - a) / (b - a);
                f64::midpoint(a, reach) * slanted + reach * (high - slanted)
            };
        }
        if let Some((centre, radius)) = self.circle {
            let (from, to) = (z.0.max(self.shoulder), z.1.min(self.top()));
            if from < to {
                let up = |z: Length| (z - centre).nm() as f64;
                area += circle_in_rectangle(radius.nm() as f64, (0.0, reach), (up(from), up(to)));
            }
        }
        area.copysign(place)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(mm: i64) -> Length {
        Length::mm(mm)
    }

    fn near(area: f64, square_mm: f64) {
        let area = area / 1e12;
        assert!((area - square_mm).abs() < 1e-6, "{area} is not {square_mm}");
    }

    /// A half circle of radius 100 mm about the origin.
    fn half_circle() -> Profile {
        Profile {
            middle: mm(0),
            bottom: mm(0),
            bottom_half: mm(100),
            shoulder: mm(0),
            shoulder_half: mm(100),
            circle: Some((mm(0), mm(100))),
        }
    }

    /// A trapezoid and a half circle by plain geometry, and both cut by uprights and levels.
    #[test]
    fn areas_agree_with_geometry() {
        let flat = Profile {
            middle: mm(1000),
            bottom: mm(100),
            bottom_half: mm(300),
            shoulder: mm(300),
            shoulder_half: mm(400),
            circle: None,
        };
        near(flat.area(), 700.0 * 200.0);
        // To the right of 1300: the triangle of the skewback.
        near(
            flat.area_in((mm(1300), mm(2000)), (mm(0), mm(900))),
            10_000.0,
        );
        // Right of 1350 only its upper quarter.
        near(flat.area_in((mm(1350), mm(2000)), (mm(0), mm(900))), 2500.0);
        let round = half_circle();
        let pi = std::f64::consts::PI;
        near(round.area(), pi * 5000.0);
        near(
            round.area_in((mm(-100), mm(0)), (mm(0), mm(100))),
            pi * 2500.0,
        );
        // The 60 degree segment above z = R/2: R²(π/3 − √3/4).
        near(
            round.area_in((mm(-100), mm(100)), (mm(50), mm(100))),
            10_000.0 * (pi / 3.0 - 3.0_f64.sqrt() / 4.0),
        );
    }

    /// A core is as wide as the outline where it is narrowest in the course, and reaches over what is too thin to cut.
    #[test]
    fn cores_end_at_the_narrowest_place() {
        let round = half_circle();
        let core = round.core_half((mm(10).nm(), mm(80).nm()), 0);
        assert_eq!(core, Some(mm(60).nm()));
        let core = round.core_half((mm(10).nm(), mm(80).nm()), mm(20).nm());
        assert_eq!(core, Some(mm(80).nm()));
        assert_eq!(
            round.core_half((mm(50).nm(), mm(115).nm()), mm(10).nm()),
            None
        );
    }
}
