//! Round ducts through straight walls: where they part a course, and the bites they take from its pieces.

use super::arch::THINNEST_CUT;
use super::duct_ring::MeasuredDuctRing;
use super::geometry::{Axis, circle_in_rectangle};
use super::laid::{Bite, Piece, Shaping};
use crate::plan::SideRef;
use crate::quantity::{Length, Volume};

/// A duct through one leg of one part. Lengths in nanometres.
#[derive(Clone, Debug)]
pub(super) struct DuctCut {
    pub(super) name: String,
    pub(super) leg: usize,
    pub(super) side: SideRef,
    /// Direction of the duct.
    pub(super) axis: Axis,
    /// Place of its middle along the wall.
    pub(super) across: i64,
    /// Height of its middle.
    pub(super) z: i64,
    /// Radius of the pipe.
    pub(super) radius: i64,
    /// Radius of the hole: the pipe with its joint.
    pub(super) hole: i64,
    /// A ring of voussoirs round the hole.
    pub(super) ring: Option<MeasuredDuctRing>,
    /// Height from which on something else takes the place of what it would cut: a lintel or an arch over it.
    pub(super) below: Option<i64>,
}

impl DuctCut {
    /// Radius of what is cut out of the courses: the hole, or the ring with its joint.
    pub(super) fn cut(&self) -> i64 {
        self.ring.as_ref().map_or(self.hole, |ring| ring.outline)
    }

    /// Half the width that is open over the whole height of a course: there no piece can pass. Beside a ring nothing
    /// thinner than can be cut is left over or under it.
    pub(super) fn core_half_width(&self, (bottom, top): (Length, Length)) -> Option<i64> {
        if self.spares(bottom) {
            return None;
        }
        let thin = match self.ring {
            Some(_) => THINNEST_CUT,
            None => 0,
        };
        let (below, above) = (self.z - bottom.nm(), top.nm() - self.z);
        // What is left of a course under its lowest point or over its highest.
        let low = if below > 0 { below - thin } else { below };
        let high = if above > 0 { above - thin } else { above };
        let furthest = low.abs().max(high.abs());
        let cut = self.cut();
        if furthest >= cut {
            return None;
        }
        let (cut, furthest) = (cut as f64, furthest as f64);
        let half = (cut * cut - furthest * furthest).sqrt().floor() as i64;
        (half > 0).then_some(half)
    }

    /// Whether what stands on a height is out of its way, over a lintel or beside an arch.
    fn spares(&self, bottom: Length) -> bool {
        self.below.is_some_and(|below| bottom.nm() >= below)
    }
}

/// The bites that ducts take from a piece; none where they pass it by.
pub(super) fn bites(ducts: &[&DuctCut], piece: &Piece) -> Option<Shaping> {
    let cuboid = piece.cuboid();
    let mut found = Vec::new();
    let mut taken = Volume::default();
    for duct in ducts {
        if duct.spares(cuboid.at.z) {
            continue;
        }
        let along = cuboid.span(duct.axis.across());
        let through = cuboid.span(duct.axis);
        let offset = |place: Length, middle: i64| (place.nm() - middle) as f64;
        let area = circle_in_rectangle(
            duct.cut() as f64,
            (offset(along.0, duct.across), offset(along.1, duct.across)),
            (
                offset(cuboid.at.z, duct.z),
                offset(cuboid.at.z + cuboid.height, duct.z),
            ),
        );
        // Less than a grain of sand is a touch, not a bite.
        if area < 1e9 {
            continue;
        }
        let depth = (through.1 - through.0).nm() as f64;
        taken += Volume::from_nm3((area * depth).round() as i128);
        found.push(Bite {
            axis: duct.axis,
            across: Length::from_nm(duct.across),
            z: Length::from_nm(duct.z),
            radius: Length::from_nm(duct.cut()),
        });
    }
    (!found.is_empty()).then_some(Shaping::Bites(found, taken))
}
