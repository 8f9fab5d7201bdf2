//! The middle of a pier filled with units.

use super::{MeasuredPart, nm};
use crate::layout::frame::Strip;
use crate::layout::geometry::Axis;
use crate::plan::{Core, PlanError, Shape};

/// Rows of units side by side that fill the middle of a pier, all along one axis.
#[derive(Clone, Debug)]
pub(in crate::layout) struct Hearting {
    /// The leg that its pieces belong to, counted on from the legs of the pier.
    pub(in crate::layout) leg: usize,
    /// One strip a row, from face to face of the middle.
    pub(in crate::layout) rows: Vec<Strip>,
}

impl MeasuredPart {
    /// Finds the rows; the pier has no inside then.
    pub(super) fn measure_hearting(&mut self) -> Result<(), PlanError> {
        let Shape::Pier {
            core: Core::Units, ..
        } = self.part.shape
        else {
            return Ok(());
        };
        let Some(inside) = self.inside.take() else {
            return Err(PlanError::new(
                "pier-without-middle",
                "the pier has no middle to fill with units",
                "make it at least 1.5 units each way, or leave `core` out",
            )
            .at_key("core"));
        };
        let (leaf, joint) = (self.unit_width.nm(), self.rules.joint);
        let step = leaf + joint;
        for axis in [Axis::X, Axis::Y] {
            let (low, high) = nm(inside.span(axis));
            let (near, far) = nm(inside.span(axis.across()));
            // Between rows and at both sides there is a joint.
            let room = far - near - joint;
            if room % step != 0 {
                continue;
            }
            let row = |number: i64| Strip {
                axis,
                low,
                high: high - leaf,
                low_corner: None,
                high_corner: None,
                across: near + joint + number * step,
                thickness: leaf,
                inside_high: true,
                starts_low: true,
            };
            let rows: Vec<Strip> = (0..room / step).map(row).collect();
            if let (Some(first), Some(last)) = (rows.first().copied(), rows.last()) {
                let whole = Strip {
                    thickness: last.across + leaf - first.across,
                    high: high - (last.across + leaf - first.across),
                    ..first
                };
                self.hearting.push(Hearting {
                    leg: self.whole.len(),
                    rows,
                });
                self.whole.push(whole);
            }
        }
        if self.hearting.is_empty() {
            return Err(PlanError::new(
                "hearting-does-not-fit",
                format!(
                    "the middle, {} × {}, takes no whole rows of units {} wide",
                    inside.length, inside.width, self.unit_width
                ),
                "fill it with concrete (core: \"concrete\"), or give the pier whole or half units each way",
            )
            .at_key("core"));
        }
        Ok(())
    }
}
