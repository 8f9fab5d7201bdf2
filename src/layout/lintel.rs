//! Stone and concrete lintels that reach over a corner: they take the corner square in their courses, and the other leg
//! butts against them.

use super::course::{Block, Edge, Found, Layer};
use super::duct::DuctCut;
use super::frame::{Strip, Turns};
use super::junction::Passing;
use super::measure::{MeasuredLintel, MeasuredOpening, MeasuredPart, USUAL_BEARING};
use crate::plan::{Lintel, LintelKind};

impl MeasuredPart {
    /// How far a stone or concrete lintel may reach along a leg, and whether that is over a corner: to the end of the wall;
    /// beside a corner a joint short of it, unless the bearing wanted is more than that leaves beside the opening.
    pub(in crate::layout) fn lintel_room(
        &self,
        lintel: Lintel,
        span: (i64, i64),
        strip: Strip,
    ) -> ((i64, bool), (i64, bool)) {
        let wanted = lintel.bearing.unwrap_or(USUAL_BEARING).nm();
        let (end, clear) = (strip.span(), strip.clear());
        let (low, high) = (clear.0 + self.rules.joint, clear.1 - self.rules.joint);
        // The corners of an annex are its own: its walls take turns there, and no stone.
        let own = self.whole.iter().take(self.sides);
        let own = own.into_iter().any(|own| *own == strip);
        let at = |corner: Option<usize>, end: i64, short: i64, room: i64| match corner {
            None => (end, false),
            Some(_) if room >= wanted || !own => (short, false),
            Some(_) => (end, true),
        };
        (
            at(strip.low_corner, end.0, low, span.0 - low),
            at(strip.high_corner, end.1, high, high - span.1),
        )
    }

    /// Lintels as high as a course that take a corner in a course, with the opening of each and the corner.
    fn over_corners(&self, course: u32) -> impl Iterator<Item = (&MeasuredOpening, usize)> {
        self.openings.iter().flat_map(move |opening| {
            let lintel = opening.lintel.filter(|lintel| {
                let first = opening.courses.1 + 1;
                lintel.kind != LintelKind::Steel
                    && (first..first + lintel.courses).contains(&course)
            });
            let strip = self
                .whole
                .get(opening.leg)
                .filter(|_| opening.leg < self.sides);
            let corners = lintel.zip(strip).map(|(lintel, strip)| {
                let [low, high] = lintel.corners(strip);
                [low, high]
            });
            let corners = corners.into_iter().flatten().flatten();
            corners.map(move |corner| (opening, corner))
        })
    }

    /// Whether a lintel takes a corner in a course.
    pub(super) fn corner_taken(&self, course: u32, corner: usize) -> bool {
        self.over_corners(course).any(|(_, taken)| taken == corner)
    }

    /// What lintels of other legs take of a leg in a course: its corner squares.
    pub(super) fn corner_blocks(&self, course: u32, leg: usize) -> Vec<Block<'_>> {
        let Some(strip) = self.whole.get(leg) else {
            return Vec::new();
        };
        let (end, clear) = (strip.span(), strip.clear());
        let ends = [
            (strip.low_corner, (end.0, clear.0)),
            (strip.high_corner, (clear.1, end.1)),
        ];
        let others = self.over_corners(course);
        others
            .filter(|(opening, _)| opening.leg != leg)
            .flat_map(|(opening, corner)| {
                let met = ends.iter().filter(move |(at, _)| *at == Some(corner));
                met.map(move |(_, (from, to))| Block {
                    from: *from,
                    to: *to,
                    edge: Edge::Lintel(&opening.name),
                })
            })
            .collect()
    }
}

impl MeasuredLintel {
    /// The corners that it reaches over.
    fn corners(&self, strip: &Strip) -> [Option<usize>; 2] {
        let (low, high) = strip.span();
        [
            strip.low_corner.filter(|_| self.span.0 == low),
            strip.high_corner.filter(|_| self.span.1 == high),
        ]
    }
}

/// Leaves of more walls than this turn their corners all together when both ways are tried: 2³ ways.
const TURNED_ALONE: usize = 3;

/// Turns of each leaf: as cheap as can be, and where lintels take corners, of the leaves turned one way or the other
/// those with the fewest limits missed up to the course over the lintels.
pub(super) fn turns(
    part: &MeasuredPart,
    index: usize,
    ducts: &[DuctCut],
    passing: &Passing,
    found: &mut Found,
) -> Vec<Turns> {
    let cheapest: Vec<Turns> = part
        .leaves
        .iter()
        .map(|leaf| Turns::best(leaf, part.closed, &part.rules))
        .collect();
    let top = (1..=part.courses)
        .rev()
        .find(|&course| part.over_corners(course).next().is_some());
    let Some(top) = top.filter(|_| !part.bond.is_patterned()) else {
        return cheapest;
    };
    let alone = cheapest.len() <= TURNED_ALONE;
    let ways = if alone { 1_u32 << cheapest.len() } else { 2 };
    let way = |way: u32| -> Vec<Turns> {
        let leaves = cheapest.iter().enumerate();
        leaves
            .map(|(leaf, turns)| {
                let bit = if alone { way >> leaf } else { way };
                if bit & 1 == 1 {
                    turns.reversed()
                } else {
                    turns.clone()
                }
            })
            .collect()
    };
    let mut missed = |turns: Vec<Turns>| {
        let known = std::mem::take(found);
        let mut layer = Layer::turning(part, index, ducts, passing.clone(), turns, known);
        for course in 1..=(top + 1).min(part.courses) {
            layer.lay_course(course);
        }
        layer.settle();
        *found = layer.found;
        layer.work.breaches.len()
    };
    let mut best: Option<(usize, u32)> = None;
    for tried in 0..ways {
        let count = missed(way(tried));
        if best.is_none_or(|(least, _)| count < least) {
            best = Some((count, tried));
        }
        // The first of the ways that miss nothing.
        if count == 0 {
            break;
        }
    }
    best.map_or(cheapest.clone(), |(_, best)| way(best))
}

impl MeasuredPart {
    /// Where the other leg butts against one stone several courses high, that is one joint: in its upper courses the
    /// joint against it in the course below binds nothing. Spans of a leg without their ends.
    pub(super) fn corner_stones(&self, course: u32, leg: usize) -> Vec<(i64, i64)> {
        let widest = self.rules.longest_joint;
        let lower = self.corner_blocks(course.saturating_sub(1), leg);
        self.corner_blocks(course, leg)
            .into_iter()
            .filter(|stone| {
                let same = |other: &Block<'_>| (other.from, other.to) == (stone.from, stone.to);
                lower.iter().any(same)
            })
            .flat_map(|stone| {
                [
                    (stone.from - widest - 1, stone.from),
                    (stone.to, stone.to + widest + 1),
                ]
            })
            .collect()
    }

    /// Where stones that lie on a course end over it, in the middle of the joint there: joints of the course keep a lap
    /// from it. An end that is the end of the wall, or takes a corner, shows no joint.
    pub(super) fn stone_ends(&self, course: u32, leg: usize) -> Vec<i64> {
        let Some(strip) = self.whole.get(leg) else {
            return Vec::new();
        };
        let (low, high) = strip.span();
        let half_joint = self.rules.joint / 2;
        let stones = self.openings.iter().filter_map(|opening| {
            let over = opening.leg == leg && opening.courses.1 == course;
            let lintel = opening.lintel.filter(|_| over)?;
            (lintel.kind != LintelKind::Steel).then_some(lintel.span)
        });
        let ends = stones.flat_map(|(from, to)| {
            [
                (from > low).then_some(from - half_joint),
                (to < high).then_some(to + half_joint),
            ]
        });
        ends.flatten().collect()
    }
}
