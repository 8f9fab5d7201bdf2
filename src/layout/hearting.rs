//! Units in the middle of a pier: rows across and along in turn, where both fit, so that courses lap.

use super::course::{Edge, Layer, Line};

impl Layer<'_> {
    /// Lays the middle of a pier in a course.
    pub(super) fn lay_hearting(&mut self, course: u32) {
        let part = self.part;
        let ways = part.hearting.len();
        if ways == 0 {
            return;
        }
        let turn = course as usize % ways;
        for (way, hearting) in part.hearting.iter().enumerate() {
            // Rows that lie across cross every joint below, so that none binds where both ways fit.
            if way != turn {
                continue;
            }
            for (row, strip) in hearting.rows.iter().enumerate() {
                let (from, to) = strip.span();
                let module = part.rules.unit + part.rules.joint;
                let shift = if course.is_multiple_of(2) {
                    module / 2
                } else {
                    0
                };
                let line = Line {
                    from,
                    to,
                    low: Edge::Met,
                    high: Edge::Met,
                    raster: from + part.rules.joint / 2 + shift,
                };
                self.lay_line(course, row, hearting.leg, strip, line);
            }
        }
    }
}
