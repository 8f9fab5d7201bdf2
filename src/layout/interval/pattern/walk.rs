//! Walks the orders of pieces that come to a total, piece by piece.

use std::rc::Rc;

use super::super::{Cost, ElementKind, End, Interval, Rules, Solution, nearest_gap, off_raster};
use super::need::Needs;
use super::order::{END_CELLS, Order, Stage};
use super::totals::{CAPS, MOST_CUTS, Total};
use super::{NEAR_STRAYS, Pattern, Work};

/// A joint this part of a module off its mark counts as astray: half of a quarter lap.
const ASTRAY: i64 = 8;

/// A stage with the cheapest way to it.
#[derive(Clone, Copy)]
struct Reached {
    stage: Stage,
    cost: Cost,
    came_by: ElementKind,
    from: u32,
}

/// What a joint in some place comes to.
#[derive(Clone, Copy)]
struct Joint {
    at: i64,
    misses: i64,
    off: i64,
}

impl Work<'_> {
    /// What a joint comes to: its lap, and how far it is off the marks.
    fn joint(&self, at: i64) -> Joint {
        let lap = nearest_gap(&self.interval.below, at);
        let pattern = self.order.pattern;
        let marks = pattern.marks.iter();
        let off = marks
            .map(|mark| off_raster(at - mark, pattern.period))
            .min();
        Joint {
            at,
            misses: i64::from(lap.is_some_and(|lap| lap < self.order.rules.least_lap)),
            off: off.unwrap_or(0),
        }
    }

    /// Cost of a joint, whether it should be on the marks or not.
    fn joint_cost(&self, joint: Joint, marked: bool) -> Cost {
        Cost {
            misses: joint.misses,
            strays: i64::from(marked && joint.off * ASTRAY > self.order.rules.module()),
            raster: joint.off,
            ..Cost::default()
        }
    }

    /// How wide every joint of a total is.
    fn joint_of(&self, total: &Total) -> i64 {
        let joints = total.pieces as i64 - 1 + self.ends() as i64;
        if joints > 0 {
            total.joints / joints
        } else {
            self.order.rules.joint
        }
    }

    /// Cost before anything is laid.
    fn opening(&self, total: &Total) -> Cost {
        Cost {
            misses: total.bound.misses,
            strays: i64::from(self.order.pattern.anew),
            joints: total.bound.joints,
            ..Cost::default()
        }
    }

    /// Where the last of so many pieces ends, with joints of some width.
    fn cursor(&self, total: &Total, index: usize, stage: Stage, joint: i64) -> i64 {
        let low = i64::from(self.interval.low == End::Jointed);
        let laid = stage.length + if stage.odd { total.odd } else { 0 };
        laid + (index as i64 - 1 + low).max(0) * joint
    }

    /// Everything that can be laid as piece number `index` towards a total, with its cost and the joint before it.
    fn steps(
        &self,
        total: &Total,
        (index, stage, width): (usize, Stage, i64),
        mut reach: impl FnMut(ElementKind, Stage, Cost, Option<i64>),
    ) {
        let after = (total.pieces - index - 1) as i64;
        let (shortest, longest) = (self.order.pattern.closer.max(0), self.order.rules.unit);
        let jointed = index > 0 || self.interval.low == End::Jointed;
        let joint = jointed.then(|| {
            let cursor = self.cursor(total, index, stage, width);
            self.joint(cursor + width / 2)
        });
        let closed = stage.last.is_closer() && index + 1 == total.pieces;
        self.order
            .moves(index, stage, Some(total.pieces), |kind, to, step| {
                let rest = total.length - to.length;
                let odd_to_come = i64::from(total.odd > 0 && !to.odd);
                let reaches = (after - odd_to_come) * shortest..=after * longest;
                if !reaches.contains(&rest) || (kind == ElementKind::Odd && total.odd == 0) {
                    return;
                }
                let Some(joint) = joint else {
                    return reach(kind, to, step, None);
                };
                // The joint between the quoin header and its closer lies off the bond's marks.
                let closing = kind == ElementKind::Closer || closed;
                let cost = step.plus(self.joint_cost(joint, !closing));
                reach(kind, to, cost, Some(joint.at));
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
        let cost = self.joint_cost(self.joint(at), !stage.last.is_closer());
        Some((cost, Some(at)))
    }

    /// The cheapest order of pieces that comes to a total, if it costs less than a limit.
    pub(super) fn walk(
        &self,
        total: &Total,
        limit: Option<Cost>,
        needs: &Needs,
    ) -> Option<(Cost, Vec<ElementKind>)> {
        let opening = self.opening(total);
        let width = self.joint_of(total);
        // All levels one after the other, and where each starts.
        let mut reached: Vec<Reached> = self
            .order
            .starts()
            .map(|stage| Reached {
                stage,
                cost: opening,
                came_by: ElementKind::Whole,
                from: u32::MAX,
            })
            .collect();
        let mut level = 0..reached.len();
        let mut next: Vec<Reached> = Vec::new();
        for index in 0..total.pieces {
            next.clear();
            for from in level {
                let Some(&Reached { stage, cost, .. }) = reached.get(from) else {
                    continue;
                };
                let left = total.pieces - index - 1;
                self.steps(total, (index, stage, width), |came_by, to, step, _| {
                    let cost = cost.plus(step);
                    let odd = total.odd > 0 && !to.odd;
                    let rest = (left, total.length - to.length);
                    let beyond = limit.is_some_and(|limit| {
                        cost >= limit
                            || (index + 1 >= END_CELLS
                                && cost.plus(needs.rest(&self.order, to.next, rest, odd)) >= limit)
                    });
                    if cost.cuts <= MOST_CUTS && !beyond {
                        next.push(Reached {
                            stage: to,
                            cost,
                            came_by,
                            from: from as u32,
                        });
                    }
                });
            }
            if next.is_empty() {
                return None;
            }
            // Of ways that cost the same the one found first goes on.
            next.sort_by_key(|reached| (reached.stage, reached.cost));
            next.dedup_by_key(|reached| reached.stage);
            level = reached.len()..reached.len() + next.len();
            reached.extend_from_slice(&next);
        }
        let mut best: Option<(Cost, Reached)> = None;
        for end in &next {
            let Some((closing, _)) = self.closing(total, end.stage) else {
                continue;
            };
            let cost = end.cost.plus(closing);
            if best.is_none_or(|(least, _)| cost < least) {
                best = Some((cost, *end));
            }
        }
        let (cost, mut at) = best?;
        let mut kinds = Vec::with_capacity(total.pieces);
        while let Some(&before) = reached.get(at.from as usize) {
            kinds.push(at.came_by);
            at = before;
        }
        kinds.reverse();
        Some((cost, kinds))
    }
}

/// One total of a pattern, walked together with another course.
pub(in super::super) struct Walk<'a> {
    known: Rc<Known<'a>>,
    total: Total,
    width: i64,
}

/// What all totals of a pattern share.
struct Known<'a> {
    work: Work<'a>,
    needs: Needs,
}

/// How far a walk has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(in super::super) struct Spot {
    index: usize,
    cuts: i64,
    stage: Stage,
}

impl<'a> Walk<'a> {
    /// How many rounds there are, from the usual to all that is tried.
    pub(in super::super) const ROUNDS: usize = CAPS.len();

    /// Every total of a pattern in a round.
    pub(in super::super) fn all(
        interval: &'a Interval,
        rules: &'a Rules,
        pattern: &'a Pattern,
        round: usize,
    ) -> Vec<Walk<'a>> {
        let order = Order::new(interval, rules, pattern);
        let mut needs = Needs::new(&order);
        for _ in 0..NEAR_STRAYS {
            needs.widen(&order);
        }
        let work = Work { interval, order };
        let totals = CAPS.get(round).map(|&cap| work.totals(cap));
        let known = Rc::new(Known { work, needs });
        let walk = |total| Walk {
            width: known.work.joint_of(&total),
            known: Rc::clone(&known),
            total,
        };
        totals.into_iter().flatten().map(walk).collect()
    }

    /// Whether it is of as many pieces that are together as long.
    pub(in super::super) fn is_of(&self, kinds: &[ElementKind]) -> bool {
        let regular = kinds.iter().filter(|kind| **kind != ElementKind::Odd);
        let length: i64 = regular
            .map(|&kind| self.known.work.order.length_of(kind, 0))
            .sum();
        (self.total.pieces, self.total.length) == (kinds.len(), length)
            && (self.total.odd > 0) == kinds.contains(&ElementKind::Odd)
    }

    /// Cost before anything is laid.
    pub(in super::super) fn opening(&self) -> Cost {
        self.known.work.opening(&self.total)
    }

    /// The cells that may come first.
    pub(in super::super) fn starts(&self) -> impl Iterator<Item = Spot> + use<> {
        self.known.work.order.starts().map(|stage| Spot {
            index: 0,
            cuts: 0,
            stage,
        })
    }

    /// Where the last piece ends.
    pub(in super::super) fn cursor(&self, spot: Spot) -> i64 {
        self.known
            .work
            .cursor(&self.total, spot.index, spot.stage, self.width)
    }

    /// What is still to come costs at least this.
    pub(in super::super) fn rest(&self, spot: Spot) -> Cost {
        let (total, stage) = (&self.total, spot.stage);
        if spot.index == 0 {
            let Cost {
                strays, cuts, odd, ..
            } = total.bound;
            return Cost {
                strays,
                cuts,
                odd,
                ..Cost::default()
            };
        }
        if spot.index < END_CELLS {
            return Cost::default();
        }
        let rest = (total.pieces - spot.index, total.length - stage.length);
        let odd = total.odd > 0 && !stage.odd;
        let known = &self.known;
        known.needs.rest(&known.work.order, stage.next, rest, odd)
    }

    /// Everything that can be laid next, with its cost and the joint before it.
    pub(in super::super) fn steps(
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
        let from = (spot.index, spot.stage, self.width);
        self.known.work.steps(&self.total, from, &mut reach);
    }

    /// Cost of the joint at the end, and where it is; none where the walk is not at its end.
    pub(in super::super) fn closing(&self, spot: Spot) -> Option<(Cost, Option<i64>)> {
        if spot.index < self.total.pieces {
            return None;
        }
        self.known.work.closing(&self.total, spot.stage)
    }

    /// Puts its pieces in place.
    pub(in super::super) fn place(&self, cost: Cost, kinds: &[ElementKind]) -> Solution {
        self.known.work.place(cost, &self.total, kinds)
    }
}
