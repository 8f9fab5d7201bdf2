//! Lays courses of soldiers, sailors, rowlocks and shiners in straight walls.
//!
//! Each row runs from corner to corner or to a free end; at a corner one leg passes and the other butts against it, so
//! that the last unit of the leg that passes shows its bed on the other face. Openings, lintels, vents and arches
//! interrupt a row as they do any course.

use super::course::{Edge, Layer, Line, Place, lowest_terms};
use super::frame::run_between;
use super::interval::{Element, ElementKind};
use super::laid::{Cut, Finished, Laid, Piece, Role, Shaping};
use super::measure::{MeasuredPart, Row, UprightCourse};
use crate::plan::Laying;
use crate::quantity::Length;

impl<'a> Layer<'a> {
    /// Lays a course that stands on end or lies on edge.
    pub(super) fn lay_upright(&mut self, upright: &'a UprightCourse) {
        for (order, row) in upright.rows.iter().enumerate() {
            for (leg, strip) in row.strips.iter().enumerate() {
                let passes = |corner: Option<usize>| {
                    corner.is_none_or(|corner| row.turns.passes(corner, strip.axis, upright.course))
                };
                let ends = (passes(strip.low_corner), passes(strip.high_corner));
                let run = run_between(strip, ends.0, ends.1);
                let edge = |corner: Option<usize>, passes: bool| match (corner, passes) {
                    (None, _) => Edge::Free,
                    (Some(_), true) => Edge::Passed,
                    (Some(_), false) => Edge::Butted,
                };
                let line = Line {
                    from: run.from,
                    to: run.to,
                    low: edge(strip.low_corner, ends.0),
                    high: edge(strip.high_corner, ends.1),
                    raster: run.from - upright.rules.joint / 2,
                };
                self.lay_line(upright.course, order, leg, strip, line);
            }
        }
        // What lies over it crosses its joints, whatever their places.
        self.forget_all();
    }
}

impl MeasuredPart {
    /// How a unit is cut to a length.
    pub(super) fn bat_of(&self, length: i64) -> Cut {
        let rules = &self.rules;
        if length == rules.unit {
            return Cut::Whole;
        }
        let module = rules.unit + rules.joint;
        rules
            .fractions
            .iter()
            .find(|&&parts| module * parts / rules.parts - rules.joint == length)
            .map_or(Cut::Odd, |&parts| lowest_terms(parts, rules.parts))
    }
}

/// A piece of a row in its place.
pub(super) fn upright_piece(
    place: &Place<'_>,
    at: Element,
    finished: Finished,
    part: &MeasuredPart,
    (upright, row): (&UprightCourse, &Row),
    snapped: Cut,
) -> Piece {
    let strip = place.strip;
    let whole = at.kind == ElementKind::Whole;
    let rules = &upright.rules;
    let across = upright.laid == Laying::Rowlock;
    let (cut, finished) = match upright.laid {
        // Its end as fired is in the face.
        Laying::Rowlock => {
            let low = strip.inside_high != row.faces_in;
            let end = if low { Finished::Low } else { Finished::High };
            match (whole, snapped) {
                (true, Cut::Whole) => (Cut::Whole, Finished::Both),
                (true, cut) => (cut, end),
                (false, _) => (Cut::Split, end),
            }
        }
        Laying::Shiner => {
            let cut = match at.kind {
                ElementKind::Fraction(parts) => lowest_terms(parts, rules.parts),
                ElementKind::Odd => Cut::Odd,
                _ => Cut::Whole,
            };
            (cut, finished)
        }
        Laying::Sailor if !whole => (Cut::Closer, Finished::Both),
        _ if !whole => (Cut::Split, Finished::Both),
        _ => (Cut::Whole, Finished::Both),
    };
    let (length, width, along) = if across {
        (row.deep, at.length, strip.axis.across())
    } else {
        (at.length, row.deep, strip.axis)
    };
    Piece {
        role: upright.laid.into(),
        cut,
        finished,
        width: Length::from_nm(width),
        ..place.piece(place.point(at.start), length, along, part)
    }
}

impl Laid {
    /// Sizes of a piece along its unit's own length, width and height, however it stands or lies.
    pub fn own_sizes(&self, piece: &Piece) -> [Length; 3] {
        let [length, width, height] = [piece.length, piece.width, piece.height];
        // Turned pieces and voussoirs are told by their own sizes.
        if matches!(
            self.shaping(piece),
            Some(Shaping::Turned(_) | Shaping::Prism(_))
        ) {
            return [length, width, height];
        }
        // What is laid of units on edge throughout has a unit that is turned already.
        if self.setting_of(piece).on_edge {
            return [length, width, height];
        }
        match piece.role {
            Role::Soldier => [height, width, length],
            Role::Sailor => [height, length, width],
            Role::Rowlock | Role::Shiner | Role::Sill | Role::Threshold => [length, height, width],
            _ => [length, width, height],
        }
    }
}
