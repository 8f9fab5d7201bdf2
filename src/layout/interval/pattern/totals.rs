//! Numbers of pieces and sums of lengths that can fill a stretch by the order of a bond.

use std::collections::BTreeMap;

use super::super::{Cost, End, SHORTEST_CUT, SLIP};
use super::Work;
use super::need::{Need, Needs, beginnings};
use super::order::{END_CELLS, Stage};

/// A number of pieces and a sum of lengths that can fill the interval.
#[derive(Clone, Copy, Debug)]
pub(super) struct Total {
    pub(super) pieces: usize,
    pub(super) length: i64,
    /// Length of the odd piece, zero for none.
    pub(super) odd: i64,
    /// Sum of all joints.
    pub(super) joints: i64,
    /// No order costs less.
    pub(super) bound: Cost,
}

/// What is tried at most in one round.
#[derive(Clone, Copy)]
pub(super) struct Cap {
    strays: i64,
    cuts: i64,
}

/// Cut pieces in one way at most: a closer at each end, and one more where the length asks for it.
pub(super) const MOST_CUTS: i64 = 3;
/// Strays in the count of pieces alone at most; what strays more is no longer the bond.
const MOST_STRAYS: i64 = 4;

/// From what is usual to all that is tried.
pub(super) const CAPS: [Cap; 5] = [
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
    ALL,
];

/// All that is tried.
pub(super) const ALL: Cap = Cap {
    strays: MOST_STRAYS,
    cuts: MOST_CUTS,
};

impl Work<'_> {
    pub(super) fn ends(&self) -> usize {
        usize::from(self.interval.low == End::Jointed)
            + usize::from(self.interval.high == End::Jointed)
    }

    /// So many pieces of this length as a total; none where the joints cannot absorb the rest.
    fn total(&self, pieces: usize, length: i64, has_odd: bool, cost: Cost) -> Option<Total> {
        let rules = self.order.rules;
        let joints = (pieces - 1 + self.ends()) as i64;
        let rest = self.interval.length - length;
        let (odd, joint_total) = if has_odd {
            (rest - joints * rules.joint, joints * rules.joint)
        } else {
            (0, rest)
        };
        let fits = if has_odd {
            (SHORTEST_CUT..rules.unit).contains(&odd)
        } else if joints == 0 {
            joint_total.abs() <= SLIP
        } else {
            (joints * rules.shortest_joint..=joints * rules.longest_joint).contains(&joint_total)
        };
        fits.then(|| Total {
            pieces,
            length,
            odd,
            joints: joint_total,
            bound: Cost {
                misses: i64::from(has_odd && odd < rules.shortest_piece),
                joints: (joint_total - joints * rules.joint).abs(),
                ..cost
            },
        })
    }

    /// Every total in a cap, cheapest bound first.
    pub(super) fn totals(&self, cap: Cap) -> Vec<Total> {
        let mut found = Vec::new();
        let shortest = self.order.rules.shortest_joint;
        let room = self.interval.length - self.ends() as i64 * shortest;
        let starts = self.order.starts();
        let mut stages: BTreeMap<Stage, Cost> =
            starts.map(|stage| (stage, Cost::default())).collect();
        let mut pieces = 0;
        while !stages.is_empty() {
            let mut next: BTreeMap<Stage, Cost> = BTreeMap::new();
            for (stage, cost) in &stages {
                self.order.moves(pieces, *stage, None, |_, to, step| {
                    let cost = cost.plus(step);
                    let length = to.length + pieces as i64 * shortest;
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
        let mut least: BTreeMap<(i64, bool), Cost> = BTreeMap::new();
        for (stage, cost) in stages {
            let slot = least.entry((stage.length, stage.odd)).or_insert(*cost);
            *slot = (*slot).min(*cost);
        }
        for ((length, has_odd), cost) in least {
            let cost = Cost {
                // At the high end some of what is counted does not stray.
                strays: (cost.strays - END_CELLS as i64).max(0),
                ..cost
            };
            found.extend(self.total(pieces, length, has_odd, cost));
        }
    }

    /// Every total of ways that miss no limit and stray in the order of their pieces as little as the needs are known
    /// for, cheapest bound first.
    pub(super) fn near_totals(&self, needs: &Needs) -> Vec<Total> {
        let mut found = Vec::new();
        for pieces in 1..2 * END_CELLS {
            self.few_pieces(pieces, needs.strays, &mut found);
        }
        let starts = beginnings(&self.order, needs.strays);
        let rules = self.order.rules;
        let cells = self.order.cells();
        // As many pieces as fill the stretch with the widest joints, and on until nothing has fitted for a whole repeat.
        let joint = rules.longest_joint;
        let room = self.interval.length - (self.ends() as i64 - 1) * joint;
        let least = room.max(0) / (rules.unit + joint);
        let mut pieces = (least as usize).max(2 * END_CELLS);
        let mut too_long = 0;
        while too_long < cells {
            let joints = (pieces - 1 + self.ends()) as i64;
            let longest = self.interval.length - joints * rules.shortest_joint;
            let shortest = self.interval.length - joints * rules.longest_joint;
            let with_odd = self.interval.length - joints * rules.joint;
            let mut all_too_long = true;
            for (stage, start) in &starts {
                let left = pieces - END_CELLS;
                let phase = (stage.next + left) % cells;
                let run = stage.length + self.order.run(stage.next, left);
                for odd_after in [false, true] {
                    if stage.odd && odd_after {
                        continue;
                    }
                    let slot = needs.slot(phase, odd_after);
                    let has_odd = stage.odd || odd_after;
                    let (from, to) = if has_odd {
                        (with_odd - rules.unit, with_odd - rules.shortest_piece)
                    } else {
                        (shortest, longest)
                    };
                    let first = slot.partition_point(|(more, _)| run + more < from);
                    let fitting = slot.get(first..).unwrap_or_default();
                    all_too_long &= first == 0 && fitting.first().is_none_or(|x| run + x.0 > to);
                    for (more, need) in fitting.iter().take_while(|(more, _)| run + more <= to) {
                        if start.strays + need.strays <= needs.strays {
                            let cost = start.and(*need, has_odd);
                            found.extend(self.total(pieces, run + more, has_odd, cost));
                        }
                    }
                }
            }
            too_long = if all_too_long { too_long + 1 } else { 0 };
            pieces += 1;
        }
        found.retain(|total| total.bound.misses == 0);
        found.sort_unstable_by_key(|total| (total.pieces, total.length, total.odd, total.bound));
        found.dedup_by_key(|total| (total.pieces, total.length, total.odd));
        // What strays is judged where ways are walked: of two that cost the same the one with fewer cuts or pieces is laid.
        let order = |total: &Total| Cost {
            strays: 0,
            ..total.bound
        };
        found.sort_unstable_by_key(|total| (order(total), total.pieces, total.length));
        found
    }

    /// The totals of so few pieces that the two ends meet.
    fn few_pieces(&self, pieces: usize, strays: i64, found: &mut Vec<Total>) {
        let longest = pieces as i64 * (self.order.rules.unit + self.order.rules.longest_joint);
        if longest + self.order.rules.longest_joint < self.interval.length {
            return;
        }
        let mut stages: Vec<(Stage, Cost)> = self
            .order
            .starts()
            .map(|stage| (stage, Cost::default()))
            .collect();
        for index in 0..pieces {
            let mut next = Vec::new();
            for (stage, cost) in stages {
                self.order.moves(index, stage, Some(pieces), |_, to, step| {
                    let cost = cost.plus(step);
                    if cost.misses == 0 && cost.strays <= strays && cost.cuts <= MOST_CUTS {
                        next.push((to, cost));
                    }
                });
            }
            next.sort_unstable();
            next.dedup_by_key(|(stage, _)| *stage);
            stages = next;
        }
        for (stage, cost) in stages {
            found.extend(self.total(pieces, stage.length, stage.odd, cost));
        }
    }
}

impl Need {
    fn and(self, other: Need, odd: bool) -> Cost {
        Cost {
            strays: self.strays + other.strays,
            cuts: self.cuts + other.cuts,
            odd: i64::from(odd),
            ..Cost::default()
        }
    }
}
