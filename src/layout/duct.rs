//! Round ducts through straight walls: where they part a course, and the bites they take from its pieces.

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
}

impl DuctCut {
    /// Half the width that is open over the whole height of a course: there no piece can pass.
    pub(super) fn core_half_width(&self, (bottom, top): (Length, Length)) -> Option<i64> {
        let furthest = (bottom.nm() - self.z).abs().max((top.nm() - self.z).abs());
        if furthest >= self.hole {
            return None;
        }
        let (hole, furthest) = (self.hole as f64, furthest as f64);
        let half = (hole * hole - furthest * furthest).sqrt().floor() as i64;
        (half > 0).then_some(half)
    }
}

/// The bites that ducts take from a piece; none where they pass it by.
pub(super) fn bites(ducts: &[&DuctCut], piece: &Piece) -> Option<Shaping> {
    let cuboid = piece.cuboid();
    let mut found = Vec::new();
    let mut taken = Volume::default();
    for duct in ducts {
        let along = cuboid.span(duct.axis.across());
        let through = cuboid.span(duct.axis);
        let offset = |place: Length, middle: i64| (place.nm() - middle) as f64;
        let area = circle_in_rectangle(
            duct.hole as f64,
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
            radius: Length::from_nm(duct.hole),
        });
    }
    (!found.is_empty()).then_some(Shaping::Bites(found, taken))
}
