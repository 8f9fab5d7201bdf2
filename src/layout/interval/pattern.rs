//! The best way to fill a stretch of a course in which the bond sets stretchers and headers in a fixed order.
//!
//! As in [`solve`](super::solve), all joints of one way are equally wide, so the place of a joint follows from how many
//! pieces precede it and how long they are together. Ways are walked piece by piece (`walk.rs`) towards every number of
//! pieces and sum of lengths that fits (`totals.rs`); of those that agree in what is laid so far only the cheapest goes
//! on. Judged in order: limits missed, strays from the bond, cuts, odd cuts, joints off nominal. What strays least is
//! looked for first, and what the rest of a way strays at least is known beforehand (`need.rs`), so that a way which the
//! bond leaves no choice is hardly more than written down. Only ways with few cut pieces are tried; where none fits, the
//! plain rules fill the stretch.

mod need;
mod order;
mod totals;
mod walk;

use super::{Cost, Element, ElementKind, End, Interval, Limit, Miss, Rules, Solution, check_joint};
use crate::masonry::Cell;
use crate::stop;
use need::Needs;
use order::Order;
use totals::{ALL, Total};
pub(super) use walk::{Spot, Walk};

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
    /// Whether the stretch is set out anew from the work beside it and not along its whole wall: all of it strays from the
    /// bond then, and that once.
    pub anew: bool,
}

/// Ways that miss no limit are looked for by how much they stray, up to so many strays.
const NEAR_STRAYS: i64 = 2;

/// Fills an interval by a pattern; none where no way with few cut pieces fits. The interval has no floats.
pub fn solve_pattern(interval: &Interval, rules: &Rules, pattern: &Pattern) -> Option<Solution> {
    search(interval, rules, pattern, (None, None))
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
    let but = (laid.elements.len(), regular);
    search(interval, rules, pattern, (Some(but), None))
}

/// Fills an interval by a pattern at less than a cost; none where that costs as much.
pub(super) fn solve_below(
    interval: &Interval,
    rules: &Rules,
    pattern: &Pattern,
    limit: Cost,
) -> Option<Solution> {
    search(interval, rules, pattern, (None, Some(limit)))
}

/// A number of pieces and a sum of their lengths but for an odd one.
type Count = (usize, i64);

/// Fills an interval, without ways of a count, at less than a cost.
fn search(
    interval: &Interval,
    rules: &Rules,
    pattern: &Pattern,
    (but, most): (Option<Count>, Option<Cost>),
) -> Option<Solution> {
    let work = Work {
        interval,
        order: Order::new(interval, rules, pattern),
    };
    if !work.order.repeats() {
        return None;
    }
    let limit_of = |limit: Cost| most.map_or(limit, |most| most.min(limit));
    let mut needs = Needs::new(&work.order);
    for strays in 0..=NEAR_STRAYS {
        if strays > 0 {
            needs.widen(&work.order);
        }
        let limit = limit_of(below(0, strays + 1));
        let totals = work.near_totals(&needs);
        let found = work.best_of(totals.iter(), but, (Some(limit), &needs));
        if found.is_some() || most == Some(limit) {
            return found;
        }
    }
    // The totals with joints nearest nominal first: what they cost cuts the search short.
    let totals = work.totals(ALL);
    let mut near: Vec<&Total> = totals.iter().filter(|total| total.odd == 0).collect();
    near.sort_by_key(|total| (total.bound.joints, total.bound));
    let order = near.into_iter().take(FIRST).chain(totals.iter());
    for (misses, strays) in STEPS {
        let limit = limit_of(below(misses, strays));
        let found = work.best_of(order.clone(), but, (Some(limit), &needs));
        if found.is_some() || most == Some(limit) {
            return found;
        }
    }
    work.best_of(order, but, (most, &needs))
}

/// The cost below which lies what misses fewer limits, or as many and strays less often.
fn below(misses: i64, strays: i64) -> Cost {
    Cost {
        misses,
        strays,
        ..Cost::default()
    }
}

/// Beyond what strays little, ways are looked for below these limits missed and strays, then below none: the less is
/// allowed, the sooner a way is given up. Our own choice.
const STEPS: [(i64, i64); 3] = [(0, 6), (1, 0), (1, 6)];

/// Of all totals so many are walked before the others, which then cost less.
const FIRST: usize = 3;

/// An interval with the order in which it is filled.
struct Work<'a> {
    interval: &'a Interval,
    order: Order<'a>,
}

impl Work<'_> {
    /// The best way of some totals that costs less than a limit; of ways that cost the same the first.
    fn best_of<'t>(
        &self,
        totals: impl Iterator<Item = &'t Total>,
        but: Option<Count>,
        (mut limit, needs): (Option<Cost>, &Needs),
    ) -> Option<Solution> {
        let mut best: Option<(Cost, &Total, Vec<ElementKind>)> = None;
        for total in totals.filter(|total| Some((total.pieces, total.length)) != but) {
            if limit.is_some_and(|limit| total.bound >= limit) {
                continue;
            }
            // What is laid meanwhile is thrown away.
            if stop::asked().is_some() {
                break;
            }
            if let Some((cost, kinds)) = self.walk(total, limit, needs)
                && limit.is_none_or(|limit| cost < limit)
            {
                limit = Some(cost);
                best = Some((cost, total, kinds));
            }
        }
        let (cost, total, kinds) = best?;
        Some(self.place(cost, total, &kinds))
    }

    /// Puts the pieces in place so that they fill the interval to the last nanometre.
    fn place(&self, cost: Cost, total: &Total, kinds: &[ElementKind]) -> Solution {
        let rules = self.order.rules;
        let interval = self.interval;
        let lengths: Vec<i64> = kinds
            .iter()
            .map(|&kind| self.order.length_of(kind, total.odd))
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
                    ElementKind::Closer => !self.order.beside_quoin(kinds, index),
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
