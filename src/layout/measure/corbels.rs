//! Corbelled heads over openings in their walls.

use super::MeasuredPart;
use crate::layout::corbel::{CorbelSite, MeasuredCorbel, measure_corbel};
use crate::layout::frame::Strip;
use crate::plan::{Opening, PlanError};

impl MeasuredPart {
    pub(super) fn measure_opening_corbel(
        &self,
        opening: &Opening,
        span: (i64, i64),
        strip: Strip,
        highest: u32,
    ) -> Result<Option<MeasuredCorbel>, PlanError> {
        let Some(corbel) = opening.corbel else {
            return Ok(None);
        };
        let clear = strip.clear();
        let against = |corner: Option<usize>| corner.map_or(0, |_| self.rules.joint);
        let site = CorbelSite {
            name: &opening.name,
            span,
            beside: (
                span.0 - clear.0 - against(strip.low_corner),
                clear.1 - span.1 - against(strip.high_corner),
            ),
            courses: (opening.to_course + 1, highest),
            unit: (self.rules.unit, self.unit_height.nm()),
            joint: self.rules.joint,
            shortest_piece: self.rules.shortest_piece,
        };
        measure_corbel(corbel, &site).map(Some)
    }
}
