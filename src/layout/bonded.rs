//! Courses whose bond sets headers among stretchers: which row of the bond a leg is in, where its joints should fall, and
//! the pieces of a wall one unit thick.
//!
//! At a corner of such a wall the leg that passes lays one stretcher, the quoin, along its far face; its run goes on
//! beyond the corner. The other leg starts beside that stretcher, whose end is the quoin header of its face, and a
//! queen closer lies next to it. So the four faces of a course interlock, and nothing is laid twice.

use std::sync::Arc;

use super::course::{Layer, Place};
use super::frame::{Run, Strip};
use super::geometry::Axis;
use super::interval::{
    Element, ElementKind, End, Interval, Pattern, Rules, Solution, solve, solve_pattern,
};
use super::known::Known;
use super::laid::{Cut, Finished, Piece, Role};
use super::measure::MeasuredPart;
use crate::masonry::Cell;
use crate::plan::PlanError;
use crate::quantity::Length;

/// A face of a wall, as far as its bond goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Face {
    /// The one that shows the row of its course.
    Front,
    /// The back of a wall thicker than a unit is long: it shows the row below, a quarter of a module to the side, so that
    /// its headers lie where the front has none.
    Back,
}

impl MeasuredPart {
    /// The row of the bond, from 0, that a leg lays in a course: unless headers run level all round, legs along y are one
    /// row ahead, so that stretchers of one side end as headers of the next.
    fn row(&self, axis: Axis, course: u32) -> u32 {
        let ahead = !self.bond.level && self.bond.has_headers() && axis == Axis::Y;
        course.saturating_sub(1) + u32::from(ahead)
    }

    /// Whether a leg along an axis passes its corners in a course, by the order of its bond.
    pub(super) fn leads(&self, axis: Axis, course: u32) -> bool {
        self.row_leads(axis, self.row(axis, course))
    }

    fn row_leads(&self, axis: Axis, row: u32) -> bool {
        if self.bond.level || !self.bond.has_headers() {
            row.is_multiple_of(2) == (axis == Axis::X)
        } else {
            self.bond.leads(row)
        }
    }

    /// What the bond asks of a face of a stretch that starts at a place, with the marks counted from the low or the
    /// high end.
    pub(super) fn pattern(
        &self,
        strip: &Strip,
        course: u32,
        face: Face,
        from: i64,
        from_high: bool,
        headed: (bool, bool),
    ) -> Pattern {
        let rules = &self.rules;
        let module = rules.unit + rules.joint;
        let (row, aside) = match face {
            Face::Front => (self.row(strip.axis, course), 0),
            Face::Back => (
                self.row(strip.axis, course) + self.bond.repeat() - 1,
                module / 4,
            ),
        };
        let mut cells = self.bond.cells(row);
        let cornered = strip.low_corner.is_some() || strip.high_corner.is_some();
        let parts = if self.bond.level && cornered && cells == [Cell::Stretcher] {
            // Beside a quoin header stretchers start half a module on.
            if self.row_leads(strip.axis, row) {
                0
            } else {
                rules.parts / 2
            }
        } else {
            self.bond.shift(row + 1)
        };
        let header = self.unit_width.nm();
        let length = |cell: &Cell| match cell {
            Cell::Stretcher => module,
            Cell::Header => header + rules.joint,
        };
        let period: i64 = cells.iter().map(length).sum();
        let mut mark = parts * module / rules.parts - aside;
        let mut marks = Vec::with_capacity(cells.len());
        for cell in &cells {
            marks.push(mark);
            mark += length(cell);
        }
        let half_joint = rules.joint / 2;
        let (low, high) = strip.span();
        for mark in &mut marks {
            let at = if from_high {
                high + half_joint - *mark
            } else {
                low - half_joint + *mark
            };
            *mark = (at - from).rem_euclid(period.max(1));
        }
        marks.sort_unstable();
        if from_high {
            cells.reverse();
        }
        let through = self.bond.has_headers();
        Pattern {
            cells,
            marks,
            period: period.max(1),
            header: if through { header } else { 0 },
            closer: if through {
                (header - rules.joint) / 2
            } else {
                0
            },
            headed,
            anew: false,
        }
    }

    /// The ways in which a stretch of headers may be set out anew beside the teeth of piers and branches at its low and its
    /// high end: these come wherever they are wanted, and by the marks of the whole wall every header might lie straight
    /// over a joint.
    pub(super) fn beside_teeth(
        &self,
        pattern: &Pattern,
        length: i64,
        teeth: [bool; 2],
    ) -> Vec<Pattern> {
        if pattern.cells != [Cell::Header] {
            return Vec::new();
        }
        let half_joint = self.rules.joint / 2;
        let [low, high] = teeth;
        let firsts = [
            low.then_some(half_joint),
            high.then_some(length - half_joint),
        ];
        let mut found: Vec<Pattern> = Vec::new();
        for first in firsts.into_iter().flatten() {
            let marks = vec![first.rem_euclid(pattern.period)];
            let anew = Pattern {
                marks,
                anew: true,
                ..pattern.clone()
            };
            if anew.marks != pattern.marks && !found.contains(&anew) {
                found.push(anew);
            }
        }
        found
    }

    /// The ways in which the bond may be set out along a strip: from each end with a corner, or from where it starts.
    pub(super) fn patterns(
        &self,
        strip: &Strip,
        course: u32,
        from: i64,
        headed: (bool, bool),
    ) -> Vec<Pattern> {
        Self::set_out_from(strip)
            .map(|end| self.pattern(strip, course, Face::Front, from, end == 1, headed))
            .collect()
    }

    /// The ends from which the bond is set out along a strip: 0 is the low one. The end where the walker starts comes
    /// first; a stretch without corners is set out from there alone.
    pub(super) fn set_out_from(strip: &Strip) -> impl Iterator<Item = usize> + use<> {
        let cornered = [strip.low_corner.is_some(), strip.high_corner.is_some()];
        let start = usize::from(!strip.starts_low);
        let from_start = cornered.get(start) == Some(&true) || !cornered.contains(&true);
        let from_end = cornered.get(1 - start) == Some(&true);
        [(start, from_start), (1 - start, from_end)]
            .into_iter()
            .filter(|(_, counts)| *counts)
            .map(|(end, _)| end)
    }

    /// Whether the face of a leg away from the other leg of a corner has the smaller coordinate.
    pub(super) fn far_is_low(&self, leg: usize, corner: usize) -> bool {
        let mut legs = self.whole.iter().take(self.sides).enumerate();
        // The other leg lies to the high side of the corner if the corner is at its low end.
        legs.any(|(at, other)| at != leg && other.low_corner == Some(corner))
    }

    /// Whether a vent in a leg interrupts its courses: it goes through more than one piece in one line, or the bond there
    /// sets headers among stretchers.
    pub(super) fn vents_go_through(&self, leg: usize) -> bool {
        self.leaves_of_leg(leg) > 1 || (self.bond.has_headers() && self.lines.is_none())
    }

    /// Checks that a wall one unit thick can be bonded through.
    ///
    /// # Errors
    /// When a header is not as long as two stretchers side by side with a joint between them within tolerance.
    pub(super) fn check_bonded(&self) -> Result<(), PlanError> {
        let collar = self.rules.unit - 2 * self.unit_width.nm();
        if (self.rules.shortest_joint..=self.rules.longest_joint).contains(&collar) {
            return Ok(());
        }
        Err(PlanError::new(
            "unit-does-not-bond",
            format!(
                "behind a header, two stretchers side by side leave {} between them, which is no joint",
                Length::from_nm(collar)
            ),
            "choose a unit twice as long as wide and a joint, or bond \"stretcher\" with ties",
        )
        .at_key("bond"))
    }
}

/// The cheapest way to fill an interval by the patterns it may be set out by; by the plain rules where none fits.
pub(super) fn fill(interval: &Interval, rules: &Rules, patterns: &[Pattern]) -> Solution {
    patterns
        .iter()
        .filter_map(|pattern| solve_pattern(interval, rules, pattern))
        .min_by_key(|solution| solution.cost)
        .unwrap_or_else(|| solve(interval, rules))
}

/// The run of a strip one unit thick: it ends beyond its quoin where it passes, beside the other leg's where it does not.
pub(super) fn bonded_run(strip: &Strip, width: i64, passes_low: bool, passes_high: bool) -> Run {
    let inset = |corner: Option<usize>, passes: bool| match corner {
        None => (0, End::Open),
        Some(_) if passes => (strip.thickness, End::Jointed),
        Some(_) => (width, End::Jointed),
    };
    let (from, to) = strip.span();
    let (low_inset, low) = inset(strip.low_corner, passes_low);
    let (high_inset, high) = inset(strip.high_corner, passes_high);
    Run {
        from: from + low_inset,
        to: to - high_inset,
        low,
        high,
    }
}

impl Layer<'_> {
    /// Lays the stretchers that stand at the corners which a leg passes: each along the face away from the other leg.
    pub(super) fn lay_quoins(&mut self, place: &Place<'_>) {
        let strip = *place.strip;
        let part = self.part;
        let ends = [
            (strip.low_corner, strip.span().0),
            (strip.high_corner, strip.span().1 - part.rules.unit),
        ];
        for (corner, from) in ends {
            let free = |corner: &usize| !part.corner_taken(place.course, *corner);
            let Some(corner) = corner.filter(free) else {
                continue;
            };
            let far_low = part.far_is_low(place.leg, corner);
            let element = Element {
                kind: ElementKind::Whole,
                start: from,
                length: part.rules.unit,
            };
            let piece = place.half_of(element, far_low, Finished::Both, part);
            self.push_shaped(place, piece);
        }
    }

    /// Lays what one element of a wall one unit thick stands for: a header or closer through it, or two pieces side by
    /// side.
    pub(super) fn lay_through(&mut self, place: &Place<'_>, at: Element, finished: Finished) {
        let part = self.part;
        let pieces = match at.kind {
            ElementKind::Header | ElementKind::Closer => {
                vec![place.across(at, part)]
            }
            _ => {
                let outer_low = place.strip.inside_high;
                [outer_low, !outer_low]
                    .into_iter()
                    .map(|low| place.half_of(at, low, finished, part))
                    .collect()
            }
        };
        for piece in pieces {
            self.push_shaped(place, piece);
        }
    }
}

impl Place<'_> {
    /// A stretcher in the half of the wall's thickness with the smaller, or the larger, coordinates.
    fn half_of(&self, at: Element, low: bool, finished: Finished, part: &MeasuredPart) -> Piece {
        let offset = if low {
            0
        } else {
            self.strip.thickness - part.unit_width.nm()
        };
        let mut piece = self.stretcher(at, finished, part);
        match self.strip.axis {
            Axis::X => piece.at.y += Length::from_nm(offset),
            Axis::Y => piece.at.x += Length::from_nm(offset),
        }
        let inner = if part.thick() { 2 } else { 1 };
        piece.leaf = if low == self.strip.inside_high {
            0
        } else {
            inner
        };
        piece
    }

    /// A header or a closer through the whole thickness of its wall.
    pub(super) fn across(&self, at: Element, part: &MeasuredPart) -> Piece {
        let thickness = self.strip.thickness;
        let whole = thickness == part.rules.unit;
        if at.kind == ElementKind::Closer && !whole {
            // Half a brick thick, a closer is a bat with its long face to the joint.
            return Piece {
                role: Role::Closer,
                cut: snapped(at.length, &part.rules),
                finished: Finished::Low,
                ..self.piece(self.point(at.start), at.length, self.strip.axis, part)
            };
        }
        let (role, cut) = match (at.kind, whole) {
            (ElementKind::Closer, _) => (Role::Closer, Cut::Closer),
            (_, true) => (Role::Header, Cut::Whole),
            (_, false) => (Role::Header, snapped(thickness, &part.rules)),
        };
        let finished = match (cut, self.strip.inside_high) {
            (Cut::Whole | Cut::Closer, _) => Finished::Both,
            // The end as fired faces out.
            (_, true) => Finished::Low,
            (_, false) => Finished::High,
        };
        Piece {
            role,
            cut,
            finished,
            width: Length::from_nm(at.length),
            ..self.piece(
                self.point(at.start),
                thickness,
                self.strip.axis.across(),
                part,
            )
        }
    }
}

/// How a header or closer is cut in a wall half a unit thick.
fn snapped(length: i64, rules: &Rules) -> Cut {
    let bats = [(1, 2), (1, 4)];
    let bat = bats.into_iter().find(|&(over, under)| {
        let whole = (rules.unit + rules.joint) * i64::from(over) / i64::from(under);
        whole - rules.joint == length
    });
    bat.map_or(Cut::Odd, |(over, under)| Cut::Bat(over, under))
}

/// Solutions of patterned intervals, so that courses that repeat cost no new solving.
pub(super) type KnownPatterns = Known<(Interval, Vec<Pattern>), Arc<Solution>>;
