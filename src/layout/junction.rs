//! Which way walls that meet take turns, and the runs of branches and of the rows of attached piers.
//!
//! A toothed branch passes into the wall in every other course; there the wall is interrupted, with a joint on both
//! sides. In the courses between, the branch butts against the wall's face. A pier is turned there: its rows lie along
//! the wall. Where headers bond the wall, what is tried beside the courses is how deep it passes in, and by which row of
//! the bond its own courses start.

use super::annexed::{Corners, annex_line};
use super::course::{Block, Edge, Found, Layer, Line};
use super::duct::DuctCut;
use super::frame::Strip;
use super::measure::{Crossing, MeasuredBranch, MeasuredPart, Meets};
use crate::layout::laid::Cut;

/// Courses that are laid to judge a turn: two of each kind, so that every one judged lies on one of the other kind. Our
/// own choice.
const JUDGED: u32 = 4;

/// A course that ties no tooth, or in which one shows on the other face, counts as so many cuts: our own choice.
const UNTIED: usize = 2;
/// Branches up to so many are tried in every way each alone; of more only the courses, unless limits are missed. Our own
/// choice.
const TRIED_ALONE: usize = 2;

/// How a branch meets a wall.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Turn {
    /// Whether it passes in odd courses.
    odd: bool,
    /// Whether it goes on to the wall's other face where it could stop half a unit deep.
    through: bool,
}

/// How each branch meets its walls and is bonded itself.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Passing {
    /// For each crossing of each branch.
    turns: Vec<Vec<Turn>>,
    /// Whether the bond of each branch is a row ahead of its courses.
    ahead: Vec<bool>,
    pub(super) corners: Corners,
}

impl Passing {
    /// All branches pass in even courses: the wall's first course runs through.
    fn usual(part: &MeasuredPart) -> Passing {
        let branches = part.branches.iter();
        Passing {
            turns: branches
                .map(|branch| vec![Turn::default(); branch.crossings.len()])
                .collect(),
            ahead: vec![false; part.branches.len()],
            corners: vec![[true; 2]; part.part.annexes.len()],
        }
    }

    fn turn(&self, branch: usize, crossing: usize) -> Turn {
        let turn = self.turns.get(branch).and_then(|ends| ends.get(crossing));
        turn.copied().unwrap_or_default()
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
        toothed && self.turn(branch, crossing).odd == (course % 2 == 1)
    }

    /// With one branch passing where it butts, at all its ends.
    pub(super) fn turned(&self, branch: usize) -> Passing {
        let mut turned = self.clone();
        for turn in turned.turns.get_mut(branch).into_iter().flatten() {
            turn.odd = !turn.odd;
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
        let mut layer = Layer::new(part, index, ducts, self.clone(), Found::default());
        let (missed, cuts, _) = layer.judge(self.clone());
        (missed, cuts)
    }

    /// What is left of the wall where a branch passes; none where it goes through.
    pub(super) fn cap(
        &self,
        branch: usize,
        number: usize,
        crossing: &Crossing,
    ) -> Option<(i64, i64)> {
        let cap = crossing.cap;
        cap.filter(|_| !self.turn(branch, number).through)
    }

    /// How many rows the bond of a leg is ahead of its courses.
    pub(super) fn ahead(&self, part: &MeasuredPart, leg: usize) -> u32 {
        let branch = leg.checked_sub(part.sides);
        let ahead = branch.and_then(|branch| self.ahead.get(branch));
        u32::from(ahead.copied().unwrap_or(false))
    }

    /// The turns that miss fewest limits and then need fewest cuts in the lowest courses: first of all branches alike,
    /// then improved one branch after the other, both its ends together first, then each alone.
    pub(super) fn best(
        part: &MeasuredPart,
        index: usize,
        ducts: &[DuctCut],
        found: &mut Found,
    ) -> Passing {
        let best = Passing::usual(part);
        if part.branches.is_empty() {
            return best;
        }
        let layer = Layer::new(part, index, ducts, best.clone(), std::mem::take(found));
        let mut trial = Trial::of(layer, best);
        let count = part.branches.len();
        let all: Vec<Change> = Change::ALL
            .into_iter()
            .filter(|change| (0..count).any(|branch| change.bears_on(part, branch)))
            .collect();
        if part.bond.has_headers() && count > 1 {
            trial.try_all(&all, |passing, change| {
                for branch in 0..count {
                    change.make(part, passing, branch, None);
                }
            });
        }
        for branch in 0..count {
            let alone: Vec<Change> = all
                .iter()
                .copied()
                .filter(|change| change.bears_on(part, branch))
                .filter(|change| count <= TRIED_ALONE || trial.misses() || change.only_odd())
                .collect();
            trial.try_all(&alone, |passing, change| {
                change.make(part, passing, branch, None);
            });
            let ends = part.branches.get(branch).map_or(0, |b| b.crossings.len());
            if ends > 1 {
                for end in 0..ends {
                    let ends: Vec<Change> = alone.iter().copied().filter(|c| !c.ahead).collect();
                    trial.try_all(&ends, |passing, change| {
                        change.make(part, passing, branch, Some(end));
                    });
                }
            }
        }
        for annex in 0..trial.best.corners.len() {
            for flip in [[true, true], [true, false], [false, true]] {
                trial.attempt(|passing| {
                    if let Some(both) = passing.corners.get_mut(annex) {
                        for (odd, flip) in both.iter_mut().zip(flip) {
                            *odd ^= flip;
                        }
                    }
                });
            }
        }
        *found = trial.layer.found;
        trial.best
    }
}

/// What is turned round in how a branch is laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Change {
    odd: bool,
    through: bool,
    ahead: bool,
}

impl Change {
    /// Every change, the least first.
    const ALL: [Change; 7] = {
        const fn change(odd: bool, ahead: bool, through: bool) -> Change {
            Change {
                odd,
                through,
                ahead,
            }
        }
        [
            change(true, false, false),
            change(false, true, false),
            change(true, true, false),
            change(false, false, true),
            change(true, false, true),
            change(false, true, true),
            change(true, true, true),
        ]
    };

    fn only_odd(self) -> bool {
        self.odd && !self.through && !self.ahead
    }

    /// Whether it makes any difference to a branch: headers that lie level all round leave no choice of the row.
    fn bears_on(self, part: &MeasuredPart, branch: usize) -> bool {
        part.branches.get(branch).is_some_and(|branch| {
            let capped = branch.crossings.iter().any(|c| c.cap.is_some());
            let rows = branch.bonded && !part.bond.level;
            (!self.through || capped) && (!self.ahead || rows)
        })
    }

    /// Makes it in a branch, as far as it bears on it; at one end or at all.
    fn make(self, part: &MeasuredPart, passing: &mut Passing, branch: usize, end: Option<usize>) {
        let bears = |change: Change| change.bears_on(part, branch);
        let none = Change {
            odd: false,
            through: false,
            ahead: false,
        };
        let through = self.through
            && bears(Change {
                through: true,
                ..none
            });
        let ahead = self.ahead
            && bears(Change {
                ahead: true,
                ..none
            });
        if let Some(own) = passing.ahead.get_mut(branch) {
            *own ^= ahead;
        }
        let turns = passing.turns.get_mut(branch).into_iter().flatten();
        for (at, turn) in turns.enumerate() {
            if end.is_none_or(|end| end == at) {
                turn.odd ^= self.odd;
                turn.through ^= through;
            }
        }
    }
}

/// The search for the best turns.
struct Trial<'a> {
    layer: Layer<'a>,
    best: Passing,
    least: (usize, usize, usize),
}

impl<'a> Trial<'a> {
    fn of(mut layer: Layer<'a>, best: Passing) -> Trial<'a> {
        let least = layer.judge(best.clone());
        Trial { layer, best, least }
    }

    fn misses(&self) -> bool {
        self.least.0 > 0
    }

    /// Tries one change of the best turns known.
    fn attempt(&mut self, change: impl FnOnce(&mut Passing)) {
        let mut tried = self.best.clone();
        change(&mut tried);
        let cost = self.layer.judge(tried.clone());
        if cost < self.least {
            self.least = cost;
            self.best = tried;
        }
    }

    /// Tries changes of the same turns.
    fn try_all(&mut self, changes: &[Change], make: impl Fn(&mut Passing, Change)) {
        let from = self.best.clone();
        for &change in changes {
            self.attempt(|passing| {
                *passing = from.clone();
                make(passing, change);
            });
        }
    }
}

impl<'a> Layer<'a> {
    /// Limits missed and pieces cut in the lowest courses, for given turns.
    fn judge(&mut self, passing: Passing) -> (usize, usize, usize) {
        self.restart(passing);
        let orders = self.part.bond.orders.len() as u32;
        let judged = if orders > 1 {
            JUDGED.max(orders + 1)
        } else {
            JUDGED
        };
        let judged = judged.min(self.part.courses);
        for course in 1..=judged {
            self.lay_course(course);
        }
        self.settle();
        let cut = |odd: bool| {
            let pieces = self.work.pieces.iter();
            pieces
                .filter(|piece| piece.cut != Cut::Whole && (!odd || piece.cut == Cut::Odd))
                .count()
        };
        let loose = UNTIED * self.worse_for_teeth(judged);
        (self.work.breaches.len(), cut(false) + loose, cut(true))
    }

    /// Branches that pass into a leaf of a leg in a course, as blocks of its run.
    pub(super) fn crossing_blocks(&self, course: u32, leaf: usize, leg: usize) -> Vec<Block<'a>> {
        let part = self.part;
        let mut blocks = Vec::new();
        for (number, branch) in part.branches.iter().enumerate() {
            for (end, crossing) in branch.crossings.iter().enumerate() {
                let passes = || self.passing.passes(part, number, end, course);
                if crossing.leg == leg && crossing.leaves.contains(&leaf) && passes() {
                    let edge = match self.passing.cap(number, end, crossing) {
                        Some(cap) => Edge::Keyed(&branch.name, cap),
                        None => Edge::Branch(&branch.name),
                    };
                    blocks.push(Block {
                        from: crossing.span.0,
                        to: crossing.span.1,
                        edge,
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
            let teeth: Vec<Option<Tooth>> = branch
                .crossings
                .iter()
                .enumerate()
                .map(|(end, crossing)| {
                    let passes = self.passing.passes(part, number, end, course);
                    passes.then(|| Tooth::at(crossing, self.passing.cap(number, end, crossing)))
                })
                .collect();
            if !branch.rows.is_empty() && teeth.iter().all(Option::is_none) {
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
                let line = annex_line(part, branch, strip, &self.passing, &teeth, course)
                    .unwrap_or_else(|| branch_line(part, branch, strip, &teeth, course));
                self.lay_line(course, leaf, branch.leg, strip, line);
            }
        }
    }
}

/// How far a branch reaches into a wall in a course in which it passes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tooth {
    /// Its faces, across the wall.
    pub(super) faces: (i64, i64),
    /// Whether it ends against what is left of the wall, with a joint.
    pub(super) met: bool,
}

impl Tooth {
    fn at(crossing: &Crossing, cap: Option<(i64, i64)>) -> Tooth {
        Tooth {
            faces: cap.map_or(crossing.tooth, |(from, to)| (to, from)),
            met: cap.is_some(),
        }
    }

    /// What the branch ends against.
    pub(super) fn edge<'a>(self) -> Edge<'a> {
        if self.met { Edge::Met } else { Edge::Toothed }
    }
}

/// The run of a branch's leaf, for what passes at its ends.
fn branch_line<'a>(
    part: &MeasuredPart,
    branch: &MeasuredBranch,
    strip: &Strip,
    teeth: &[Option<Tooth>],
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
    for (crossing, &tooth) in branch.crossings.iter().zip(teeth).rev() {
        let (low, high) = match tooth {
            Some(tooth) => (tooth.faces.0, tooth.faces.1),
            None => (from, to),
        };
        let edge = tooth.map_or(Edge::Met, Tooth::edge);
        // A joint lies before what it meets, none before a face that it shows.
        let inwards = match edge {
            Edge::Met => half_joint,
            _ => -half_joint,
        };
        match crossing.meets {
            Meets::Through => {}
            Meets::Low => {
                (line.from, line.low) = (low, edge);
                line.raster = low + inwards;
            }
            Meets::High => {
                (line.to, line.high) = (high, edge);
                line.raster = high - inwards;
            }
        }
    }
    line
}
