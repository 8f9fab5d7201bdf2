use crate::quantity::{Length, Volume};

/// A horizontal axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Axis {
    /// To the right.
    X,
    /// From the front face backwards.
    Y,
}

impl Axis {
    /// The other horizontal axis.
    #[must_use]
    pub const fn across(self) -> Axis {
        match self {
            Axis::X => Axis::Y,
            Axis::Y => Axis::X,
        }
    }

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Axis::X => "x",
            Axis::Y => "y",
        }
    }
}

/// A place: x to the right, y backwards, z up from the top of the slab.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Point {
    /// To the right.
    pub x: Length,
    /// From the front face backwards.
    pub y: Length,
    /// Up from the top of the slab.
    pub z: Length,
}

/// An upright box with sides along the axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Default)]
pub struct Cuboid {
    /// The corner with the smallest coordinates.
    pub at: Point,
    /// Size along x.
    pub length: Length,
    /// Size along y.
    pub width: Length,
    /// Size along z.
    pub height: Length,
}

impl Cuboid {
    /// The box between two places along and across an axis, and two heights.
    pub fn along(
        axis: Axis,
        along: (Length, Length),
        across: (Length, Length),
        z: (Length, Length),
    ) -> Cuboid {
        let (x, y) = match axis {
            Axis::X => (along, across),
            Axis::Y => (across, along),
        };
        Cuboid {
            at: Point {
                x: x.0,
                y: y.0,
                z: z.0,
            },
            length: x.1 - x.0,
            width: y.1 - y.0,
            height: z.1 - z.0,
        }
    }

    /// Its volume.
    pub fn volume(&self) -> Volume {
        self.length.times(self.width).times(self.height)
    }

    /// Smallest and largest place along an axis.
    pub fn span(&self, axis: Axis) -> (Length, Length) {
        match axis {
            Axis::X => (self.at.x, self.at.x + self.length),
            Axis::Y => (self.at.y, self.at.y + self.width),
        }
    }

    /// Lowest and highest place.
    pub fn heights(&self) -> (Length, Length) {
        (self.at.z, self.at.z + self.height)
    }

    /// The box that two boxes share, if they share more than a face.
    pub fn shared(&self, other: &Cuboid) -> Option<Cuboid> {
        let x = shared(self.span(Axis::X), other.span(Axis::X))?;
        let y = shared(self.span(Axis::Y), other.span(Axis::Y))?;
        let z = shared(self.heights(), other.heights())?;
        Some(Cuboid::along(Axis::X, x, y, z))
    }

    /// The smallest box round both.
    #[must_use]
    pub fn around(&self, other: &Cuboid) -> Cuboid {
        let hull = |a: (Length, Length), b: (Length, Length)| (a.0.min(b.0), a.1.max(b.1));
        Cuboid::along(
            Axis::X,
            hull(self.span(Axis::X), other.span(Axis::X)),
            hull(self.span(Axis::Y), other.span(Axis::Y)),
            hull(self.heights(), other.heights()),
        )
    }
}

/// The stretch that two stretches share, if it has any length.
pub(super) fn shared(a: (Length, Length), b: (Length, Length)) -> Option<(Length, Length)> {
    let low = a.0.max(b.0);
    let high = a.1.min(b.1);
    (low < high).then_some((low, high))
}

/// Area in square nanometres that a circle about the origin shares with a rectangle.
///
/// Exact but for floating point: the integral of the chord over x, clipped to the rectangle, taken between the
/// places where the circle crosses its edges.
pub fn circle_in_rectangle(radius: f64, x: (f64, f64), y: (f64, f64)) -> f64 {
    let low = x.0.max(-radius);
    let high = x.1.min(radius);
    if radius <= 0.0 || low >= high || y.0 >= y.1 {
        return 0.0;
    }
    let mut cuts = vec![low, high];
    for edge in [y.0, y.1] {
        if edge.abs() < radius {
            let crossing = (radius * radius - edge * edge).sqrt();
            cuts.extend(
                [-crossing, crossing]
                    .into_iter()
                    .filter(|&c| c > low && c < high),
            );
        }
    }
    cuts.sort_by(f64::total_cmp);
    // Integral of sqrt(r² − x²).
    let under = |x: f64| {
        let inside = (radius * radius - x * x).max(0.0).sqrt();
        let sector = radius * radius * (x / radius).clamp(-1.0, 1.0).asin();
        f64::midpoint(x * inside, sector)
    };
    let mut area = 0.0;
    for pair in cuts.windows(2) {
        let [from, to] = pair else { continue };
        let middle = f64::midpoint(*from, *to);
        let chord = (radius * radius - middle * middle).max(0.0).sqrt();
        let (bottom, top) = ((-chord).max(y.0), chord.min(y.1));
        if bottom >= top {
            continue;
        }
        // A chord that just touches the edge is still the circle's, not the edge's.
        let upper = if chord <= y.1 {
            under(*to) - under(*from)
        } else {
            y.1 * (to - from)
        };
        let lower = if -chord >= y.0 {
            under(*from) - under(*to)
        } else {
            y.0 * (to - from)
        };
        area += upper - lower;
    }
    area
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A whole, half and quarter circle, and a circle that sticks out of a square on all four sides, whose area
    /// is the circle less four segments r²(φ − sin φ cos φ) with cos φ = 0.8: 2.9793... for r = 1 less the square's corners.
    #[test]
    fn circle_areas_agree_with_geometry() {
        let pi = std::f64::consts::PI;
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} is not {b}");
        near(circle_in_rectangle(1.0, (-2.0, 2.0), (-2.0, 2.0)), pi);
        near(circle_in_rectangle(1.0, (-2.0, 2.0), (0.0, 2.0)), pi / 2.0);
        near(circle_in_rectangle(2.0, (0.0, 2.0), (0.0, 2.0)), pi);
        near(circle_in_rectangle(2.0, (3.0, 4.0), (0.0, 2.0)), 0.0);
        near(circle_in_rectangle(1.0, (-0.1, 0.1), (-0.1, 0.1)), 0.04);
        let angle = 0.8_f64.acos();
        let segment = angle - angle.sin() * angle.cos();
        // The crown touches one edge and the other cuts a segment off.
        near(
            circle_in_rectangle(1.0, (-2.0, 2.0), (-0.8, 1.0)),
            pi - segment,
        );
        near(
            circle_in_rectangle(1.0, (-2.0, 2.0), (-1.0, 0.8)),
            pi - segment,
        );
        near(
            circle_in_rectangle(1.0, (-0.8, 0.8), (-0.8, 0.8)),
            pi - 4.0 * segment,
        );
    }
}
