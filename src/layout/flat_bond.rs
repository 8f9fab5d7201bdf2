//! Flat arches deeper than one unit: each voussoir is of two or three pieces, their level joints alternating from one
//! voussoir to the next, so that the face is bonded.

use crate::quantity::Length;

/// Corners of a piece, along the wall and up: lower left, lower right, upper right, upper left.
pub(in crate::layout) type Quad = [(Length, Length); 4];
/// A piece of a voussoir with the length that it takes of a unit, in nanometres.
pub(in crate::layout) type Bonded = (Quad, i64);

/// A piece of a voussoir shorter than this is lost when it is cut to taper: a quarter bat of most units. Common practice,
/// no source.
const SHORTEST: i64 = 46_000_000;
/// Steps in which the height of the level joints is sought.
const STEP: i64 = 1_000_000;

/// What a deep flat arch is bonded by, in nanometres.
pub(super) struct FlatBond {
    pub(super) springing: Length,
    pub(super) deep: i64,
    pub(super) joint: i64,
    /// As long as a unit is, standing so.
    pub(super) reach: i64,
    pub(super) least_lap: i64,
}

impl FlatBond {
    /// The pieces of each voussoir, the lowest first, with the length that each takes of a unit: a long and a short one in
    /// turn, or two even ones beside a middle one between two short ones. None where units are too short for it.
    pub(super) fn pieces(&self, voussoirs: &[Quad]) -> Option<Vec<Vec<Bonded>>> {
        let two = self.deep - self.joint;
        let least = i64::midpoint(two, self.least_lap);
        let most = self.reach.min(two - SHORTEST);
        let mut long = most;
        while long >= least {
            let found = self.alternate(voussoirs, &[long, two - long], &[two - long, long]);
            if found.is_some() {
                return found;
            }
            long -= STEP;
        }
        let three = two - self.joint;
        let (even, short) = (two / 2, three / 4);
        if short < SHORTEST || even - short < self.least_lap {
            return None;
        }
        self.alternate(
            voussoirs,
            &[even, two - even],
            &[short, three - 2 * short, short],
        )
    }

    fn alternate(
        &self,
        voussoirs: &[Quad],
        one: &[i64],
        other: &[i64],
    ) -> Option<Vec<Vec<Bonded>>> {
        let turns = [one, other].into_iter().cycle();
        voussoirs
            .iter()
            .zip(turns)
            .map(|(quad, heights)| self.cut(quad, heights))
            .collect()
    }

    /// A voussoir cut by level joints over pieces of these heights; none where one is longer than a unit.
    fn cut(&self, quad: &Quad, heights: &[i64]) -> Option<Vec<Bonded>> {
        let [low_left, low_right, high_right, high_left] = *quad;
        let at = |low: (Length, Length), high: (Length, Length), z: i64| {
            let share = (z - low.1.nm()) as f64 / (high.1 - low.1).nm() as f64;
            let along = low.0.nm() as f64 + (high.0 - low.0).nm() as f64 * share;
            (Length::from_nm(along.round() as i64), Length::from_nm(z))
        };
        let level = |z: i64| (at(low_left, high_left, z), at(low_right, high_right, z));
        let mut bottom = (low_left, low_right);
        let mut z = self.springing.nm();
        let mut found = Vec::with_capacity(heights.len());
        for (order, height) in heights.iter().enumerate() {
            z += height;
            let last = order + 1 == heights.len();
            let top = if last {
                (high_left, high_right)
            } else {
                level(z)
            };
            let piece = [bottom.0, bottom.1, top.1, top.0];
            let length = length(&piece);
            if length > self.reach {
                return None;
            }
            found.push((piece, length));
            z += self.joint;
            bottom = level(z);
        }
        Some(found)
    }
}

/// The length that a piece takes of a unit, along the line between the middles of its ends.
fn length(piece: &Quad) -> i64 {
    let place = |(along, z): (Length, Length)| (along.nm() as f64, z.nm() as f64);
    let [a, b, c, d] = piece.map(place);
    let middle = |p: (f64, f64), q: (f64, f64)| (f64::midpoint(p.0, q.0), f64::midpoint(p.1, q.1));
    let (low, high) = (middle(a, b), middle(d, c));
    let lean = (high.0 - low.0).atan2(high.1 - low.1);
    let along = |(x, z): (f64, f64)| (x - low.0) * lean.sin() + (z - low.1) * lean.cos();
    let places = [a, b, c, d].map(along);
    let most = places.iter().copied().fold(f64::MIN, f64::max);
    let least = places.iter().copied().fold(f64::MAX, f64::min);
    (most - least).ceil() as i64
}
