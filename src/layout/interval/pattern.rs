//! The best way to fill a stretch of a course in which the bond sets stretchers and headers in a fixed order.
//!
//! As in [`solve`](super::solve), all joints of one way are equally wide, so the place of a joint follows from how many
//! pieces precede it and how long they are together. Ways are walked piece by piece; of those that agree in what is laid
//! so far only the cheapest goes on. Judged in order: limits missed, strays from the bond, cuts, odd cuts, joints off
//! nominal. Only ways with few cut pieces are tried; where none fits, the plain rules fill the stretch.

use std::collections::BTreeMap;

use super::{
    Cost, Element, ElementKind, End, Interval, Limit, Miss, Rules, SHORTEST_CUT, Solution,
    check_joint, nearest_gap,
};
use crate::masonry::Cell;

/// What a stretch of a patterned course is filled by, beside the rules of its interval.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Pattern {
    /// Stretchers and headers in the order in which they repeat, from low to high.
    pub cells: Vec<Cell>,
    /// Where joints fall in one repeat, in nanometres from the interval's start, sorted.
    pub marks: Vec<i64>,
    /// Length of one repeat.
    pub period: i64,
    /// How wide a header shows; zero where the bond has none, and so no closers.
    pub header: i64,
    /// How wide a queen closer shows.
    pub closer: i64,
    /// Whether the work at the low and at the high end shows a quoin header, beside which a closer belongs.
    pub headed: (bool, bool),
}

/// Cut pieces in one way at most: a closer at each end, and one more where the length asks for it.
const MOST_CUTS: i64 = 3;
/// Strays in the count of pieces alone at most; what strays more is no longer the bond.
const MOST_STRAYS: i64 = 4;
/// At each end so many pieces may be what the corner or jamb needs.
const END_CELLS: usize = 2;
/// A joint this part of a module off its mark counts as astray: half of a quarter lap.
const ASTRAY: i64 = 8;

/// What the last piece is, as far as a closer beside it minds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
enum Last {
    /// Nothing that matters.
    Plain,
    /// The header that the stretch starts with.
    Quoin,
    /// Another header.
    Header,
    /// A closer.
    Closer,
    /// A closer that wants a header next to it.
    WantingCloser,
}

impl Last {
    fn is_closer(self) -> bool {
        matches!(self, Last::Closer | Last::WantingCloser)
    }
}

/// What is known of a way so far: everything on which the rest depends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Stage {
    /// Length of its pieces, the odd one left out.
    length: i64,
    /// Which cell is next.
    next: usize,
    odd: bool,
    last: Last,
}

/// A number of pieces and a sum of lengths that can fill the interval.
#[derive(Clone, Copy, Debug)]
struct Total {
    pieces: usize,
    length: i64,
    odd: i64,
    joints: i64,
    bound: Cost,
}

/// A stage with the cheapest way to it.
type Stages = BTreeMap<Stage, (Cost, ElementKind, Stage)>;

/// Fills an interval by a pattern; none where no way with few cut pieces fits. The interval has no floats.
pub fn solve_pattern(interval: &Interval, rules: &Rules, pattern: &Pattern) -> Option<Solution> {
    solve_but(interval, rules, pattern, None)
}

/// The best way by a pattern with other pieces than a solution has.
pub fn next_pattern(
    interval: &Interval,
    rules: &Rules,
    pattern: &Pattern,
    laid: &Solution,
) -> Option<Solution> {
    let length = |kind: ElementKind| laid.elements.iter().filter(move |e| e.kind != kind);
    let regular: i64 = length(ElementKind::Odd).map(|element| element.length).sum();
    solve_but(
        interval,
        rules,
        pattern,
        Some((laid.elements.len(), regular)),
    )
}

/// Fills an interval, without ways of this many pieces and this length but for an odd one.
fn solve_but(
    interval: &Interval,
    rules: &Rules,
    pattern: &Pattern,
    but: Option<(usize, i64)>,
) -> Option<Solution> {
    let work = Work {
        interval,
        rules,
        pattern,
    };
    let mut best: Option<(Cost, Total, Vec<ElementKind>)> = None;
    for cap in CAPS {
        work.search(cap, but, &mut best);
        // Whatever strays as little is within the cap, since at the ends no more is counted too much.
        let proved = best.as_ref().is_some_and(|(cost, ..)| {
            cost.misses == 0
                && cost.strays + END_CELLS as i64 <= cap.strays
                && (cost.strays == 0 && cost.cuts <= cap.cuts || cap.cuts == MOST_CUTS)
        });
        if proved {
            break;
        }
    }
    let (cost, total, kinds) = best?;
    Some(work.place(cost, &total, &kinds))
}

/// What is tried at most in one round.
#[derive(Clone, Copy)]
struct Cap {
    strays: i64,
    cuts: i64,
}

/// From what is usual to all that is tried.
const CAPS: [Cap; 5] = [
    Cap { strays: 2, cuts: 1 },
    Cap { strays: 2, cuts: 2 },
    Cap {
        strays: 2,
        cuts: MOST_CUTS,
    },
    Cap {
        strays: 3,
        cuts: MOST_CUTS,
    },
    Cap {
        strays: MOST_STRAYS,
        cuts: MOST_CUTS,
    },
];

#[derive(Clone, Copy)]
struct Work<'a> {
    interval: &'a Interval,
    rules: &'a Rules,
    pattern: &'a Pattern,
}

impl Work<'_> {
    /// Betters the best way known by what a cap allows.
    fn search(
        &self,
        cap: Cap,
        but: Option<(usize, i64)>,
        best: &mut Option<(Cost, Total, Vec<ElementKind>)>,
    ) {
        let mut totals = self.totals(cap);
        totals.retain(|total| Some((total.pieces, total.length)) != but);
        // The totals with joints nearest nominal first: what they cost cuts the search short.
        let mut near: Vec<&Total> = totals.iter().filter(|total| total.odd == 0).collect();
        near.sort_by_key(|total| (total.bound.joints, total.bound));
        let order = near.into_iter().take(3).chain(totals.iter());
        for total in order {
            let limit = best.as_ref().map(|(cost, ..)| *cost);
            if limit.is_some_and(|limit| total.bound >= limit) {
                continue;
            }
            if let Some((cost, kinds)) = self.walk(total, limit)
                && limit.is_none_or(|limit| cost < limit)
            {
                *best = Some((cost, *total, kinds));
            }
        }
    }

    fn length_of(&self, kind: ElementKind, odd: i64) -> i64 {
        match kind {
            ElementKind::Whole => self.rules.unit,
            ElementKind::Fraction(parts) => self.rules.fraction_length(parts),
            ElementKind::Header => self.pattern.header,
            ElementKind::Closer => self.pattern.closer,
            ElementKind::Odd => odd,
            ElementKind::Float(_) => 0,
        }
    }

    fn ends(&self) -> usize {
        usize::from(self.interval.low == End::Jointed)
            + usize::from(self.interval.high == End::Jointed)
    }

    fn starts(&self) -> Vec<Stage> {
        (0..self.pattern.cells.len().max(1))
            .map(|next| Stage {
                length: 0,
                next,
                odd: false,
                last: Last::Plain,
            })
            .collect()
    }

    /// Every number of pieces and sum of lengths that the joints can absorb, cheapest bound first.
    fn totals(&self, cap: Cap) -> Vec<Total> {
        let mut found = Vec::new();
        let room = self.interval.length - self.ends() as i64 * self.rules.shortest_joint;
        let mut stages: BTreeMap<Stage, Cost> = self
            .starts()
            .into_iter()
            .map(|stage| (stage, Cost::default()))
            .collect();
        let mut pieces = 0;
        while !stages.is_empty() {
            let mut next: BTreeMap<Stage, Cost> = BTreeMap::new();
            for (stage, cost) in &stages {
                self.moves(pieces, *stage, None, |_, to, step| {
                    let cost = cost.plus(step);
                    let length = to.length + pieces as i64 * self.rules.shortest_joint;
                    if length > room || cost.cuts > cap.cuts || cost.strays > cap.strays {
                        return;
                    }
                    let slot = next.entry(to).or_insert(cost);
                    *slot = (*slot).min(cost);
                });
            }
            pieces += 1;
            self.close(pieces, &next, &mut found);
            stages = next;
        }
        found.sort_by_key(|total| (total.bound, total.pieces, total.length));
        found
    }

    fn close(&self, pieces: usize, stages: &BTreeMap<Stage, Cost>, found: &mut Vec<Total>) {
        let rules = self.rules;
        let joints = (pieces - 1 + self.ends()) as i64;
        let mut least: BTreeMap<(i64, bool), Cost> = BTreeMap::new();
        for (stage, cost) in stages {
            let slot = least.entry((stage.length, stage.odd)).or_insert(*cost);
            *slot = (*slot).min(*cost);
        }
        for ((length, has_odd), cost) in least {
            let rest = self.interval.length - length;
            let (odd, joint_total) = if has_odd {
                (rest - joints * rules.joint, joints * rules.joint)
            } else {
                (0, rest)
            };
            let fits = if has_odd {
                (SHORTEST_CUT..rules.unit).contains(&odd)
            } else if joints == 0 {
                joint_total.abs() <= super::SLIP
            } else {
                (joints * rules.shortest_joint..=joints * rules.longest_joint)
                    .contains(&joint_total)
            };
            if fits {
                found.push(Total {
                    pieces,
                    length,
                    odd,
                    joints: joint_total,
                    bound: Cost {
                        misses: i64::from(has_odd && odd < rules.shortest_piece),
                        joints: (joint_total - joints * rules.joint).abs(),
                        // At the high end some of what is counted does not stray.
                        strays: (cost.strays - END_CELLS as i64).max(0),
                        ..cost
                    },
                });
            }
        }
    }

    /// Everything that can be laid as piece number `index`, counted from 0, of `total` pieces if that is known.
    fn moves(
        &self,
        index: usize,
        stage: Stage,
        total: Option<usize>,
        mut reach: impl FnMut(ElementKind, Stage, Cost),
    ) {
        let cells = &self.pattern.cells;
        let last = total.is_some_and(|total| index + 1 == total);
        let near_end = index < END_CELLS || total.is_none_or(|total| index + END_CELLS >= total);
        let left_alone = |kind: ElementKind| {
            i64::from(stage.last == Last::WantingCloser && kind != ElementKind::Header)
        };
        let after = |cell: Cell| {
            let expected = cells.get(stage.next) == Some(&cell);
            let found = (0..cells.len())
                .map(|step| (stage.next + step) % cells.len().max(1))
                .find(|&at| cells.get(at) == Some(&cell));
            let next = found.map_or(stage.next, |at| (at + 1) % cells.len().max(1));
            (expected, next)
        };
        for (kind, cell) in [
            (ElementKind::Whole, Cell::Stretcher),
            (ElementKind::Header, Cell::Header),
        ] {
            if kind == ElementKind::Header && self.pattern.header == 0 {
                continue;
            }
            let (expected, next) = after(cell);
            // The header at a stopped end is the quoin header, and one beside the quoin stretcher shifts the course;
            // neither strays from what the course goes on with.
            let quoin = kind == ElementKind::Header
                && (index < END_CELLS || total.is_some_and(|total| index + END_CELLS >= total));
            let step = Cost {
                misses: left_alone(kind),
                strays: i64::from(!expected && !quoin),
                ..Cost::default()
            };
            reach(
                kind,
                Stage {
                    length: stage.length + self.length_of(kind, 0),
                    next: if quoin && !expected { stage.next } else { next },
                    last: match kind {
                        ElementKind::Header if index == 0 => Last::Quoin,
                        ElementKind::Header => Last::Header,
                        _ => Last::Plain,
                    },
                    ..stage
                },
                step,
            );
        }
        let (stands_for_stretcher, next) = after(Cell::Stretcher);
        let cut = Cost {
            strays: i64::from(!stands_for_stretcher) + i64::from(!near_end),
            cuts: 1,
            ..Cost::default()
        };
        for &fraction in &self.rules.fractions {
            let kind = ElementKind::Fraction(fraction);
            let short = self.rules.fraction_length(fraction) < self.rules.shortest_piece;
            reach(
                kind,
                Stage {
                    length: stage.length + self.length_of(kind, 0),
                    next,
                    last: Last::Plain,
                    ..stage
                },
                Cost {
                    misses: i64::from(short) + left_alone(kind),
                    ..cut
                },
            );
        }
        if !stage.odd {
            reach(
                ElementKind::Odd,
                Stage {
                    next,
                    odd: true,
                    last: Last::Plain,
                    ..stage
                },
                Cost {
                    misses: left_alone(ElementKind::Odd),
                    odd: 1,
                    ..cut
                },
            );
        }
        if self.pattern.closer <= 0 {
            return;
        }
        let (low, high) = (self.interval.low, self.interval.high);
        let after_header = matches!(stage.last, Last::Quoin | Last::Header);
        let beside_quoin = (index == 0 && low == End::Jointed && self.pattern.headed.0)
            || stage.last == Last::Quoin
            || total.is_none()
            || (last && high == End::Jointed && (self.pattern.headed.1 || after_header));
        let wants_quoin = !beside_quoin
            && ((index == 0 && low == End::Jointed)
                || total.is_some_and(|total| index + END_CELLS == total));
        reach(
            ElementKind::Closer,
            Stage {
                length: stage.length + self.pattern.closer,
                last: if wants_quoin {
                    Last::WantingCloser
                } else {
                    Last::Closer
                },
                ..stage
            },
            Cost {
                misses: i64::from(!beside_quoin && !wants_quoin) + left_alone(ElementKind::Closer),
                strays: i64::from(stage.last.is_closer()),
                cuts: 1,
                ..Cost::default()
            },
        );
    }

    /// Whether a closer lies next to a quoin header: the one short piece that is customary.
    fn beside_quoin(&self, kinds: &[ElementKind], index: usize) -> bool {
        let header =
            |at: Option<usize>| at.and_then(|at| kinds.get(at)) == Some(&ElementKind::Header);
        let last = kinds.len() - 1;
        let (low, high) = (self.interval.low, self.interval.high);
        let headed = self.pattern.headed;
        (index == 0 && low == End::Jointed && (headed.0 || header(Some(1))))
            || (index == 1 && header(Some(0)))
            || (index == last && high == End::Jointed && (headed.1 || header(last.checked_sub(1))))
            || (index + 1 == last && header(Some(last)))
    }

    /// Cost of a joint: its lap, and whether it is off the marks.
    fn joint_cost(&self, at: i64, marked: bool) -> Cost {
        let lap = nearest_gap(&self.interval.below, at);
        let off = self
            .pattern
            .marks
            .iter()
            .map(|mark| super::off_raster(at - mark, self.pattern.period))
            .min()
            .unwrap_or(0);
        let module = self.rules.unit + self.rules.joint;
        Cost {
            misses: i64::from(lap.is_some_and(|lap| lap < self.rules.least_lap)),
            strays: i64::from(marked && off * ASTRAY > module),
            raster: off,
            ..Cost::default()
        }
    }

    /// How wide every joint of a total is.
    fn joint_of(&self, total: &Total) -> i64 {
        let joints = total.pieces as i64 - 1 + self.ends() as i64;
        if joints > 0 {
            total.joints / joints
        } else {
            self.rules.joint
        }
    }

    /// Cost before anything is laid.
    fn opening(total: &Total) -> Cost {
        Cost {
            misses: total.bound.misses,
            joints: total.bound.joints,
            ..Cost::default()
        }
    }

    /// Where the last of so many pieces ends.
    fn cursor(&self, total: &Total, index: usize, stage: Stage) -> i64 {
        let low = i64::from(self.interval.low == End::Jointed);
        let laid = stage.length + if stage.odd { total.odd } else { 0 };
        laid + (index as i64 - 1 + low).max(0) * self.joint_of(total)
    }

    /// Everything that can be laid as piece number `index` towards a total, with its cost and the joint before it.
    fn steps(
        &self,
        total: &Total,
        index: usize,
        stage: Stage,
        mut reach: impl FnMut(ElementKind, Stage, Cost, Option<i64>),
    ) {
        let after = (total.pieces - index - 1) as i64;
        let (shortest, longest) = (self.pattern.closer.max(0), self.rules.unit);
        let at = self.cursor(total, index, stage) + self.joint_of(total) / 2;
        let jointed = index > 0 || self.interval.low == End::Jointed;
        self.moves(index, stage, Some(total.pieces), |kind, to, step| {
            let rest = total.length - to.length;
            let odd_to_come = i64::from(total.odd > 0 && !to.odd);
            let reaches = (after - odd_to_come) * shortest..=after * longest;
            if !reaches.contains(&rest) || (kind == ElementKind::Odd && total.odd == 0) {
                return;
            }
            if !jointed {
                return reach(kind, to, step, None);
            }
            // The joint between the quoin header and its closer lies off the bond's marks.
            let closing = kind == ElementKind::Closer
                || (stage.last.is_closer() && index + 1 == total.pieces);
            let cost = step.plus(self.joint_cost(at, !closing));
            reach(kind, to, cost, Some(at));
        });
    }

    /// Cost of the joint that a total ends with, and where it is; none where the stage does not come to the total.
    fn closing(&self, total: &Total, stage: Stage) -> Option<(Cost, Option<i64>)> {
        if stage.length != total.length || stage.odd != (total.odd > 0) {
            return None;
        }
        if self.interval.high != End::Jointed {
            return Some((Cost::default(), None));
        }
        let at = self.interval.length - self.joint_of(total) / 2;
        Some((self.joint_cost(at, !stage.last.is_closer()), Some(at)))
    }

    /// The cheapest order of pieces that comes to a total, if it costs less than a limit.
    fn walk(&self, total: &Total, limit: Option<Cost>) -> Option<(Cost, Vec<ElementKind>)> {
        let opening = Self::opening(total);
        let mut levels: Vec<Stages> = Vec::with_capacity(total.pieces + 1);
        levels.push(
            self.starts()
                .into_iter()
                .map(|stage| (stage, (opening, ElementKind::Whole, stage)))
                .collect(),
        );
        for index in 0..total.pieces {
            let mut next = Stages::new();
            for (stage, (cost, ..)) in levels.last()? {
                self.steps(total, index, *stage, |kind, to, step, _| {
                    let cost = cost.plus(step);
                    if cost.cuts > MOST_CUTS || limit.is_some_and(|limit| cost >= limit) {
                        return;
                    }
                    let slot = next.entry(to).or_insert((cost, kind, *stage));
                    if cost < slot.0 {
                        *slot = (cost, kind, *stage);
                    }
                });
            }
            levels.push(next);
        }
        let mut best: Option<(Cost, Stage)> = None;
        for (stage, (cost, ..)) in levels.last()? {
            let Some((closing, _)) = self.closing(total, *stage) else {
                continue;
            };
            let cost = cost.plus(closing);
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, *stage));
            }
        }
        let (cost, mut stage) = best?;
        let mut kinds = Vec::with_capacity(total.pieces);
        for level in levels.iter().skip(1).rev() {
            let (_, kind, from) = level.get(&stage)?;
            kinds.push(*kind);
            stage = *from;
        }
        kinds.reverse();
        Some((cost, kinds))
    }

    /// Puts the pieces in place so that they fill the interval to the last nanometre.
    fn place(&self, cost: Cost, total: &Total, kinds: &[ElementKind]) -> Solution {
        let rules = self.rules;
        let interval = self.interval;
        let lengths: Vec<i64> = kinds
            .iter()
            .map(|&kind| self.length_of(kind, total.odd))
            .collect();
        let joint_total = interval.length - lengths.iter().sum::<i64>();
        let joints = (kinds.len() as i64 - 1 + self.ends() as i64).max(0);
        let mut solution = Solution::default();
        let (mut cursor, mut done) = (0, 0);
        let mut joint_at = |cursor: &mut i64, solution: &mut Solution| {
            let width =
                joint_total * (done + 1) / joints.max(1) - joint_total * done / joints.max(1);
            done += 1;
            let middle = *cursor + width / 2;
            solution.joints.push(middle);
            check_joint(width, middle, interval, rules, solution);
            *cursor += width;
        };
        for (index, (&kind, &length)) in kinds.iter().zip(&lengths).enumerate() {
            if index > 0 || interval.low == End::Jointed {
                joint_at(&mut cursor, &mut solution);
            }
            // Between two finished faces the one piece takes up what rounding left over.
            let length = if joints == 0 { interval.length } else { length };
            let short = length < rules.shortest_piece
                && match kind {
                    ElementKind::Odd | ElementKind::Fraction(_) => true,
                    ElementKind::Closer => !self.beside_quoin(kinds, index),
                    _ => false,
                };
            if short {
                solution.misses.push(Miss {
                    limit: Limit::Piece,
                    at: cursor,
                    figure: length,
                });
            }
            solution.elements.push(Element {
                kind,
                start: cursor,
                length,
            });
            cursor += length;
        }
        if interval.high == End::Jointed && !kinds.is_empty() {
            joint_at(&mut cursor, &mut solution);
        }
        // Judged as it was walked, but for what sharing out whole nanometres changed.
        solution.cost = Cost {
            misses: solution.misses.len() as i64,
            ..cost
        };
        solution
    }
}

/// One total of a pattern, walked together with another course.
pub(super) struct Walk<'a> {
    work: Work<'a>,
    total: Total,
}

/// How far a walk has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Spot {
    index: usize,
    cuts: i64,
    stage: Stage,
}

impl<'a> Walk<'a> {
    /// How many rounds there are, from the usual to all that is tried.
    pub(super) const ROUNDS: usize = CAPS.len();

    /// Every total of a pattern in a round.
    pub(super) fn all(
        interval: &'a Interval,
        rules: &'a Rules,
        pattern: &'a Pattern,
        round: usize,
    ) -> Vec<Walk<'a>> {
        let work = Work {
            interval,
            rules,
            pattern,
        };
        let totals = CAPS.get(round).map(|&cap| work.totals(cap));
        let walk = |total| Walk { work, total };
        totals.into_iter().flatten().map(walk).collect()
    }

    /// Cost before anything is laid.
    pub(super) fn opening(&self) -> Cost {
        Work::opening(&self.total)
    }

    /// The cells that may come first.
    pub(super) fn starts(&self) -> impl Iterator<Item = Spot> + use<> {
        self.work.starts().into_iter().map(|stage| Spot {
            index: 0,
            cuts: 0,
            stage,
        })
    }

    /// Where the last piece ends.
    pub(super) fn cursor(&self, spot: Spot) -> i64 {
        self.work.cursor(&self.total, spot.index, spot.stage)
    }

    /// Everything that can be laid next, with its cost and the joint before it.
    pub(super) fn steps(
        &self,
        spot: Spot,
        mut reach: impl FnMut(ElementKind, Spot, Cost, Option<i64>),
    ) {
        if spot.index >= self.total.pieces {
            return;
        }
        let mut reach = |kind, stage, cost: Cost, joint| {
            let to = Spot {
                index: spot.index + 1,
                cuts: spot.cuts + cost.cuts,
                stage,
            };
            if to.cuts <= MOST_CUTS {
                reach(kind, to, cost, joint);
            }
        };
        self.work
            .steps(&self.total, spot.index, spot.stage, &mut reach);
    }

    /// Cost of the joint at the end, and where it is; none where the walk is not at its end.
    pub(super) fn closing(&self, spot: Spot) -> Option<(Cost, Option<i64>)> {
        if spot.index < self.total.pieces {
            return None;
        }
        self.work.closing(&self.total, spot.stage)
    }

    /// Puts its pieces in place.
    pub(super) fn place(&self, cost: Cost, kinds: &[ElementKind]) -> Solution {
        self.work.place(cost, &self.total, kinds)
    }
}
