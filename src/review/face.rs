//! The masonry of one straight wall seen on its face: what a stretch of it weighs, and where its middle lies.

use super::Site;
use crate::layout::{LaidLeg, LaidPart, Void, VoidShape};
use crate::quantity::Length;

/// Rows into which a height is divided to add up its masonry.
const ROWS: u32 = 256;

/// A leg of a part with the mean density of the part's work as laid: units, joints and lintels over what of the
/// envelope is not void.
pub(super) struct Face<'a> {
    site: Site<'a>,
    pub(super) part: &'a LaidPart,
    index: usize,
    pub(super) leg: &'a LaidLeg,
    /// Kilograms to a cubic millimetre.
    density: f64,
}

/// A mass in kilograms, and its moment about a place in kilogram-millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Load {
    pub(super) mass: f64,
    pub(super) moment: f64,
}

impl<'a> Face<'a> {
    pub(super) fn of(site: Site<'a>, index: usize, leg: usize) -> Option<Face<'a>> {
        let part = site.laid.parts.get(index)?;
        let leg = part.legs.get(leg)?;
        let mass = site.takeoff.masses.parts.get(index)?;
        let envelope = part.envelope.iter().map(|wall| wall.volume().to_mm3());
        let voids = site.laid.voids.iter().filter(|void| void.part == index);
        let open: f64 = voids.map(|void| void.volume().to_mm3()).sum();
        let solid = envelope.sum::<f64>() - open;
        (solid > 0.0).then(|| Face {
            site,
            part,
            index,
            leg,
            density: (mass.total.kg() - mass.concrete.kg()) / solid,
        })
    }

    /// The wall's ends and its top, in millimetres.
    pub(super) fn bounds(&self) -> ((f64, f64), f64) {
        let (low, high) = self.leg.span;
        let top = self.part.outside.heights().1;
        ((low.to_mm(), high.to_mm()), top.to_mm())
    }

    /// The work between two heights and, at each height, between two places along the wall; its moment is taken about
    /// a place. All in millimetres. What is open in it is left out.
    pub(super) fn load(
        &self,
        (low, high): (f64, f64),
        about: f64,
        between: impl Fn(f64) -> (f64, f64),
    ) -> Load {
        let ((start, end), top) = self.bounds();
        let row = ((high.min(top) - low) / f64::from(ROWS)).max(0.0);
        let (from, to) = self.leg.across;
        let weight = row * (to - from).to_mm() * self.density;
        let mut load = Load::default();
        for index in 0..ROWS {
            let z = low + row * (f64::from(index) + 0.5);
            let (from, to) = between(z);
            let (from, to) = (from.max(start), to.min(end));
            let mut add = |(from, to): (f64, f64), sign: f64| {
                if to > from {
                    let mass = sign * (to - from) * weight;
                    load.mass += mass;
                    load.moment += mass * (f64::midpoint(from, to) - about);
                }
            };
            add((from, to), 1.0);
            for open in self.open_at(z) {
                add((open.0.max(from), open.1.min(to)), -1.0);
            }
        }
        load
    }

    /// From face to face, in millimetres.
    pub(super) fn thickness(&self) -> f64 {
        (self.leg.across.1 - self.leg.across.0).to_mm()
    }

    /// The jamb of the next opening beside a place, between two heights.
    pub(super) fn next_open(&self, (low, high): (f64, f64), at: f64, to_high: bool) -> Option<f64> {
        let row = (high - low) / f64::from(ROWS);
        let rows = (0..ROWS).map(|index| low + row * (f64::from(index) + 0.5));
        let open = rows.flat_map(|z| self.open_at(z));
        if to_high {
            let beyond = open.filter(|(from, _)| *from > at).map(|(from, _)| from);
            beyond.min_by(f64::total_cmp)
        } else {
            let beyond = open.filter(|(_, to)| *to < at).map(|(_, to)| to);
            beyond.max_by(f64::total_cmp)
        }
    }

    /// What is open in the leg at a height.
    fn open_at(&self, z: f64) -> impl Iterator<Item = (f64, f64)> {
        let across = self.leg.across;
        let here = move |depth: (Length, Length)| depth.0 < across.1 && depth.1 > across.0;
        let axis = self.leg.axis;
        let voids = self.site.laid.voids.iter();
        let own = voids.filter(move |void| void.part == self.index && void.axis == axis);
        own.filter_map(move |void: &Void| match void.shape {
            VoidShape::Box(open) => {
                let (low, high) = open.heights();
                let (from, to) = open.span(axis);
                let meets = here(open.span(axis.across())) && low.to_mm() < z && z < high.to_mm();
                meets.then(|| (from.to_mm(), to.to_mm()))
            }
            // A round has no face to weigh.
            VoidShape::Sector(_) => None,
            VoidShape::Cylinder {
                across,
                z: middle,
                radius,
                span,
                ..
            } => {
                let (radius, up) = (radius.to_mm(), z - middle.to_mm());
                let half = (radius * radius - up * up).max(0.0).sqrt();
                (here(span) && half > 0.0).then(|| (across.to_mm() - half, across.to_mm() + half))
            }
            VoidShape::Profile { profile, depth, .. } => {
                let half = profile.half_at((z * 1e6) as i64).filter(|_| here(depth))? / 1e6;
                Some((profile.middle.to_mm() - half, profile.middle.to_mm() + half))
            }
        })
    }

    /// The mass of the wall that returns at an end of this one, up to a height over a level and no further along it
    /// than that: what of it hangs on the corner. None for a free end.
    pub(super) fn returns(&self, at_high: bool, (low, high): (f64, f64)) -> Option<f64> {
        let end = if at_high {
            self.leg.span.1
        } else {
            self.leg.span.0
        };
        let legs = self.part.legs.iter().take(self.part.sides);
        let other = legs.filter(|leg| leg.axis != self.leg.axis).find(|leg| {
            let (from, to) = leg.across;
            (end == from || end == to)
                && leg.span.0 <= self.leg.across.0
                && leg.span.1 >= self.leg.across.1
        })?;
        let thick = (other.across.1 - other.across.0).to_mm();
        let long = (other.span.1 - other.span.0).to_mm() - thick;
        let up = (high.min(self.bounds().1) - low).max(0.0);
        // A triangle at 45 degrees, cut off where the wall ends.
        let over = (up - long).max(0.0);
        Some((up * up - over * over) / 2.0 * thick * self.density)
    }
}
