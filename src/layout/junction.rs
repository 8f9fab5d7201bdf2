//! Which way walls that meet take turns, and the runs of branches and of the rows of attached piers.
//!
//! A toothed branch passes into the wall in every other course; there the wall is interrupted, with a joint on both
//! sides. In the courses between, the branch butts against the wall's face. A pier is turned there: its rows lie along
//! the wall.

use super::annexed::{Corners, annex_line};
use super::course::{Block, Edge, Layer, Line};
use super::duct::DuctCut;
use super::frame::Strip;
use super::measure::{MeasuredBranch, MeasuredPart, Meets};
use crate::layout::laid::Cut;

/// Courses that are laid to judge a turn: two of each kind, so that every one judged lies on one of the other kind. Our
/// own choice.
const JUDGED: u32 = 4;

/// For each crossing of each branch, whether the branch passes in odd courses.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Passing {
    odd: Vec<Vec<bool>>,
    pub(super) corners: Corners,
}

impl Passing {
    /// All branches pass in even courses: the wall's first course runs through.
    fn usual(part: &MeasuredPart) -> Passing {
        Passing {
            odd: part
                .branches
                .iter()
                .map(|branch| vec![false; branch.crossings.len()])
                .collect(),
            corners: vec![[true; 2]; part.part.annexes.len()],
        }
    }

    /// Whether a branch passes at a crossing in a course.
    pub(super) fn passes(
        &self,
        part: &MeasuredPart,
        branch: usize,
        crossing: usize,
        course: u32,
    ) -> bool {
        let toothed = part.branches.get(branch).is_some_and(|known| {
            course <= known.courses && known.crossings.get(crossing).is_some_and(|c| c.toothed)
        });
        let odd = self.odd.get(branch).and_then(|ends| ends.get(crossing));
        toothed && odd.copied().unwrap_or(false) == (course % 2 == 1)
    }

    /// With one branch passing where it butts, at all its ends.
    pub(super) fn turned(&self, branch: usize) -> Passing {
        let mut turned = self.clone();
        for odd in turned.odd.get_mut(branch).into_iter().flatten() {
            *odd = !*odd;
        }
        turned
    }

    /// Limits missed and pieces cut in the lowest courses.
    pub(super) fn price(
        &self,
        part: &MeasuredPart,
        index: usize,
        ducts: &[DuctCut],
    ) -> (usize, usize) {
        let (missed, cuts, _) = Layer::new(part, index, ducts, self.clone()).judge(self.clone());
        (missed, cuts)
    }

    /// The turns that miss fewest limits and then need fewest cuts in the lowest courses, improved one branch after the
    /// other: both its ends together first, then each alone.
    pub(super) fn best(part: &MeasuredPart, index: usize, ducts: &[DuctCut]) -> Passing {
        let mut best = Passing::usual(part);
        if part.branches.is_empty() {
            return best;
        }
        let mut layer = Layer::new(part, index, ducts, best.clone());
        let mut least = layer.judge(best.clone());
        for branch in 0..part.branches.len() {
            let ends = best.odd.get(branch).map_or(0, Vec::len);
            let mut flips: Vec<Vec<usize>> = vec![(0..ends).collect()];
            if ends > 1 {
                flips.extend((0..ends).map(|end| vec![end]));
            }
            for flip in flips {
                let mut tried = best.clone();
                for end in flip {
                    if let Some(odd) = tried.odd.get_mut(branch).and_then(|o| o.get_mut(end)) {
                        *odd = !*odd;
                    }
                }
                let cost = layer.judge(tried.clone());
                if cost < least {
                    least = cost;
                    best = tried;
                }
            }
        }
        for annex in 0..best.corners.len() {
            for flip in [[true, true], [true, false], [false, true]] {
                let mut tried = best.clone();
                if let Some(both) = tried.corners.get_mut(annex) {
                    for (odd, flip) in both.iter_mut().zip(flip) {
                        *odd ^= flip;
                    }
                }
                let cost = layer.judge(tried.clone());
                if cost < least {
                    least = cost;
                    best = tried;
                }
            }
        }
        best
    }
}

impl<'a> Layer<'a> {
    /// Limits missed and pieces cut in the lowest courses, for given turns.
    fn judge(&mut self, passing: Passing) -> (usize, usize, usize) {
        self.restart(passing);
        for course in 1..=JUDGED.min(self.part.courses) {
            self.lay_course(course);
        }
        self.settle();
        let cut = |odd: bool| {
            let pieces = self.work.pieces.iter();
            pieces
                .filter(|piece| piece.cut != Cut::Whole && (!odd || piece.cut == Cut::Odd))
                .count()
        };
        (self.work.breaches.len(), cut(false), cut(true))
    }

    /// Branches that pass into a leaf of a leg in a course, as blocks of its run.
    pub(super) fn crossing_blocks(&self, course: u32, leaf: usize, leg: usize) -> Vec<Block<'a>> {
        let part = self.part;
        let mut blocks = Vec::new();
        for (number, branch) in part.branches.iter().enumerate() {
            for (end, crossing) in branch.crossings.iter().enumerate() {
                let passes = || self.passing.passes(part, number, end, course);
                if crossing.leg == leg && crossing.leaves.contains(&leaf) && passes() {
                    blocks.push(Block {
                        from: crossing.span.0,
                        to: crossing.span.1,
                        edge: Edge::Branch(&branch.name),
                    });
                }
                if branch.leg == leg && crossing.meets == Meets::Through && !passes() {
                    blocks.push(Block {
                        from: crossing.wall.0,
                        to: crossing.wall.1,
                        edge: Edge::Met,
                    });
                }
            }
        }
        blocks
    }

    /// Lays the branches of a course.
    pub(super) fn lay_branches(&mut self, course: u32) {
        let part = self.part;
        for (number, branch) in part.branches.iter().enumerate() {
            if course > branch.courses {
                continue;
            }
            let passes = (0..branch.crossings.len())
                .map(|end| self.passing.passes(part, number, end, course))
                .collect::<Vec<_>>();
            if !branch.rows.is_empty() && !passes.contains(&true) {
                for (row, strip) in branch.rows.iter().enumerate() {
                    let line = Line {
                        from: strip.span().0,
                        to: strip.span().1,
                        low: Edge::Free,
                        high: Edge::Free,
                        raster: strip.low - part.rules.joint / 2,
                    };
                    self.lay_line(course, row, branch.row_leg, strip, line);
                }
                // What is laid over a turned course crosses its joints, whatever their places: it is another leg's.
                continue;
            }
            for (leaf, strip) in branch.leaves.iter().enumerate() {
                let line = annex_line(part, branch, strip, &self.passing, &passes, course)
                    .unwrap_or_else(|| branch_line(part, branch, strip, &passes, course));
                self.lay_line(course, leaf, branch.leg, strip, line);
            }
        }
    }
}

/// The run of a branch's leaf, for what passes at its ends.
fn branch_line<'a>(
    part: &MeasuredPart,
    branch: &MeasuredBranch,
    strip: &Strip,
    passes: &[bool],
    course: u32,
) -> Line<'a> {
    let half_joint = part.rules.joint / 2;
    let module = part.rules.unit + part.rules.joint;
    let (from, to) = strip.span();
    let shift = if course % 2 == 1 { 0 } else { module / 2 };
    let mut line = Line {
        from,
        to,
        low: Edge::Free,
        high: Edge::Free,
        raster: from - half_joint + shift,
    };
    // From the high end first: of two ends the low one gives the raster.
    for (crossing, &passes) in branch.crossings.iter().zip(passes).rev() {
        match crossing.meets {
            Meets::Through => {}
            Meets::Low if passes => {
                line.from = crossing.tooth.0;
                line.low = Edge::Toothed;
                line.raster = line.from - half_joint;
            }
            Meets::Low => {
                line.low = Edge::Met;
                line.raster = from + half_joint;
            }
            Meets::High if passes => {
                line.to = crossing.tooth.1;
                line.high = Edge::Toothed;
                line.raster = line.to + half_joint;
            }
            Meets::High => {
                line.high = Edge::Met;
                line.raster = to - half_joint;
            }
        }
    }
    line
}
