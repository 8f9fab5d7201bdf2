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

    /// How far a place, along the wall and up, lies from it; zero within. Nanometres.
    pub fn distance(&self, (along, z): (i64, i64)) -> f64 {
        let (x, y) = (((along - self.middle.nm()) as f64).abs(), z as f64);
        if self.half_at(z).is_some_and(|half| x <= half) {
            return 0.0;
        }
        let (bottom, shoulder) = (self.bottom.nm() as f64, self.shoulder.nm() as f64);
        let foot = (self.bottom_half.nm() as f64, bottom);
        let corner = (self.shoulder_half.nm() as f64, shoulder);
        // It is symmetric, so half its edges will do.
        let edges = [((0.0, bottom), foot), (foot, corner)];
        let mut least = f64::INFINITY;
        for (a, b) in edges {
            least = least.min(from_edge((x, y), a, b));
        }
        match self.circle {
            None => least.min(from_edge((x, y), corner, (0.0, shoulder))),
            Some((centre, radius)) => {
                let up = y - centre.nm() as f64;
                let far = x.hypot(up);
                let radius = radius.nm() as f64;
                // Where the nearest place of the circle is over the shoulder.
                let over = centre.nm() as f64 + up / far.max(1.0) * radius >= shoulder;
                if over {
                    least.min((far - radius).abs())
                } else {
                    least
                }
            }
        }
    }

    /// Whether it shares more than a touch with another: at some height of both their half widths reach over what lies
    /// between their middles. Looked for from end to end, at every shoulder, and in steps of a millimetre.
    pub fn meets(&self, other: &Profile) -> bool {
        const STEP: usize = 1_000_000;
        let low = self.bottom.max(other.bottom).nm();
        let high = self.top().min(other.top()).nm();
        let apart = (self.middle - other.middle).nm().abs() as f64;
        let shoulders = [self.shoulder.nm(), other.shoulder.nm(), high - 1, low + 1];
        let levels = (low..high).step_by(STEP).chain(shoulders);
        let within = |z: &i64| low < *z && *z < high;
        levels.filter(within).any(|z| {
            let both = self.half_at(z).zip(other.half_at(z));
            both.is_some_and(|(one, other)| one + other > apart)
        })
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

/// How far a place lies from a straight edge.
fn from_edge((x, y): (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let size = dx * dx + dy * dy;
    let share = if size > 0.0 {
        (((x - a.0) * dx + (y - a.1) * dy) / size).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (x - a.0 - dx * share).hypot(y - a.1 - dy * share)
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

    /// From a half circle of 100 mm: over its crown, beside its haunch at 45°, beside its foot and under it.
    #[test]
    fn distances_agree_with_geometry() {
        let round = half_circle();
        let off = |x: f64, z: f64| {
            let place = ((x * 1e6).round() as i64, (z * 1e6).round() as i64);
            round.distance(place) / 1e6
        };
        assert!((off(0.0, 130.0) - 30.0).abs() < 1e-6);
        assert!((off(-100.0, 100.0) - (200.0_f64.sqrt() * 10.0 - 100.0)).abs() < 1e-6);
        assert!((off(130.0, -40.0) - 50.0).abs() < 1e-6);
        assert!((off(20.0, -40.0) - 40.0).abs() < 1e-6);
        assert!(off(60.0, 70.0).abs() < 1e-9);
    }

    /// Two half circles beside one another share space until their middles are two radii apart.
    #[test]
    fn outlines_meet_when_their_half_widths_do() {
        let beside = |off: i64| Profile {
            middle: mm(off),
            ..half_circle()
        };
        assert!(half_circle().meets(&beside(199)));
        assert!(!half_circle().meets(&beside(200)));
        let over = Profile {
            bottom: mm(100),
            shoulder: mm(100),
            circle: Some((mm(100), mm(100))),
            ..half_circle()
        };
        assert!(!half_circle().meets(&over));
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
