//! A course that is held back until the course above it is solved, and solved anew together with it where that one keeps
//! no lap over it.

use std::sync::Arc;

use super::course::{Edge, Layer, Meaning};
use super::frame::Strip;
use super::interval::{Interval, Pair, Pattern, Solution, Stretch, relay};
use super::known::Known;

/// A course that is solved but not yet laid.
pub(super) struct Held<'a> {
    pub(super) course: u32,
    pub(super) runs: Vec<HeldRun<'a>>,
    /// Whether it is laid all the same, and only its joints are kept.
    pub(super) laid: bool,
}

/// One of its runs.
pub(super) struct HeldRun<'a> {
    pub(super) leaf: usize,
    pub(super) leg: usize,
    pub(super) strip: Strip,
    /// Whether its joints bind what is above them.
    pub(super) binds: bool,
    /// Its stretches, from low to high.
    pub(super) stretches: Vec<HeldStretch<'a>>,
}

/// One stretch of a run, and how it is to be laid.
#[derive(Clone)]
pub(super) struct HeldStretch<'a> {
    /// Where it starts along its strip.
    pub(super) from: i64,
    pub(super) low: Edge<'a>,
    pub(super) high: Edge<'a>,
    pub(super) interval: Interval,
    /// Edges of vents among the joints below, from its start: joints keep clear of them too.
    pub(super) edges: Vec<i64>,
    /// The ways in which the bond may be set out here; none where plain rules lay it.
    pub(super) patterns: Vec<Pattern>,
    pub(super) solution: Arc<Solution>,
    /// How it would be laid if nothing lay on it, where it is laid otherwise for the course above.
    pub(super) alone: Option<Arc<Solution>>,
    /// Joints between the units of teeth among the joints below, from its start, whether those lie under it or over it.
    pub(super) borders: Vec<i64>,
    /// The strip that it is laid in, where a branch takes the rest of the wall's thickness.
    pub(super) cap: Option<Strip>,
    /// Whether headers of ledges took the places of headers of its bond, so that it is not to be solved anew.
    pub(super) seated: bool,
    /// What its floats stand for, in order.
    pub(super) floats: Vec<Meaning<'a>>,
}

/// Lower stretches as they are laid for the upper ones, where that misses fewer limits; so that courses that repeat cost
/// no new solving.
pub(super) type KnownPairs = Known<Pair, Option<Vec<Arc<Solution>>>>;

impl HeldStretch<'_> {
    fn to(&self) -> i64 {
        self.from + self.interval.length
    }

    fn misses(&self) -> i64 {
        self.solution.cost.misses
    }

    /// Whether it misses a limit: a lap, or a piece too short or a joint too wide that a lap asked for.
    fn falls_short(&self) -> bool {
        self.misses() > 0
    }

    /// Whether joints in it may come within a lap of joints in another one.
    fn is_near(&self, other: &HeldStretch<'_>, lap: i64) -> bool {
        self.from < other.to() + lap && other.from < self.to() + lap
    }

    /// What is near of the joints below, with the edges of vents and the joints in teeth.
    fn below(&self, joints: &[i64], reach: i64) -> Vec<i64> {
        let mut below = near(joints, (self.from, self.to()), reach);
        below.extend(&self.edges);
        below.extend(&self.borders);
        below.sort_unstable();
        below
    }

    fn joints(&self) -> impl Iterator<Item = i64> + '_ {
        self.solution.joints.iter().map(|joint| joint + self.from)
    }
}

/// Places near a span, from its start.
pub(super) fn near(joints: &[i64], (from, to): (i64, i64), reach: i64) -> Vec<i64> {
    let start = joints.partition_point(|&joint| joint < from - reach);
    let end = joints.partition_point(|&joint| joint <= to + reach);
    let near = joints.get(start..end).unwrap_or_default();
    near.iter().map(|joint| joint - from).collect()
}

/// Joints of the stretches that bind what is above them.
fn binding<'s, 'a: 's>(
    stretches: impl Iterator<Item = &'s HeldStretch<'a>>,
    unbound: &[(i64, i64)],
) -> Vec<i64> {
    let within = |joint: i64| unbound.iter().any(|&(from, to)| from < joint && joint < to);
    stretches
        .flat_map(HeldStretch::joints)
        .filter(|&joint| !within(joint))
        .collect()
}

impl Layer<'_> {
    /// Middles of the head joints of the course below that bind a leaf of a leg, sorted.
    pub(super) fn joints_held(&self, leaf: usize, leg: usize, unbound: &[(i64, i64)]) -> Vec<i64> {
        let held = self.held.iter().flat_map(|held| &held.runs);
        let below = held.filter(|run| run.binds && (run.leaf, run.leg) == (leaf, leg));
        binding(below.flat_map(|run| &run.stretches), unbound)
    }

    /// Where the course just solved misses a limit, solves it anew together with the course below.
    pub(super) fn reconsider(&mut self) {
        let Some(mut held) = self.held.take() else {
            return;
        };
        let mut solved = std::mem::take(&mut self.solved);
        for run in &mut solved {
            if !run.stretches.iter().any(HeldStretch::falls_short) {
                continue;
            }
            let mut below = held.runs.iter_mut();
            let same = |below: &&mut HeldRun<'_>| {
                below.binds && (below.leaf, below.leg) == (run.leaf, run.leg)
            };
            let Some(below) = below.find(same) else {
                continue;
            };
            let unbound = self.unbound(held.course + 1, run.leg);
            for index in 0..run.stretches.len() {
                self.reconsider_at(index, &mut run.stretches, &mut below.stretches, &unbound);
            }
        }
        self.solved = solved;
        self.held = Some(held);
    }

    /// Solves a stretch that misses a limit anew, with those below it and those that lie on these too.
    fn reconsider_at(
        &mut self,
        index: usize,
        upper: &mut [HeldStretch<'_>],
        lower: &mut [HeldStretch<'_>],
        unbound: &[(i64, i64)],
    ) {
        let rules = &self.part.rules;
        let (lap, module) = (rules.least_lap, rules.unit + rules.joint);
        let Some(missing) = upper.get(index).filter(|stretch| stretch.falls_short()) else {
            return;
        };
        let under: Vec<bool> = lower.iter().map(|one| one.is_near(missing, lap)).collect();
        let changed = |under: &[bool], one: &HeldStretch<'_>, lower: &[HeldStretch<'_>]| {
            let mut below = lower.iter().zip(under);
            below.any(|(below, &under)| under && below.is_near(one, lap))
        };
        let over: Vec<bool> = upper
            .iter()
            .map(|one| changed(&under, one, lower))
            .collect();
        if picked(lower, &under)
            .chain(picked(upper, &over))
            .any(|one| one.seated)
        {
            return;
        }
        let stay = lower.iter().zip(&under).filter(|(_, under)| !**under);
        let stay = binding(stay.map(|(one, _)| one), unbound);
        let Some(start) = picked(lower, &under).next().map(|first| first.from) else {
            return;
        };
        let plain = |one: &HeldStretch<'_>, interval: Interval| Stretch {
            interval: Interval {
                // The pattern's marks stand for it.
                raster: if one.patterns.is_empty() {
                    interval.raster
                } else {
                    0
                },
                ..interval
            },
            patterns: one.patterns.clone(),
            at: one.from - start,
        };
        let pair = Pair {
            lower: picked(lower, &under)
                .map(|one| plain(one, one.interval.clone()))
                .collect(),
            upper: picked(upper, &over)
                .map(|one| {
                    let below = one.below(&stay, module);
                    plain(
                        one,
                        Interval {
                            below,
                            ..one.interval.clone()
                        },
                    )
                })
                .collect(),
            unbound: unbound
                .iter()
                .map(|(from, to)| (from - start, to - start))
                .collect(),
            lower_misses: picked(lower, &under).map(HeldStretch::misses).sum(),
            upper_misses: picked(upper, &over).map(HeldStretch::misses).sum(),
        };
        let relaid = if let Some(known) = self.found.pairs.get(&pair) {
            known.clone()
        } else {
            let found = relay(&pair, rules).map(|all| all.into_iter().map(Arc::new).collect());
            self.found.pairs.insert(pair.clone(), found.clone());
            found
        };
        let Some(relaid) = relaid else { return };
        // What lies above is solved over the new joints as over any others.
        let mut new = relaid.iter();
        let mut joints: Vec<i64> = Vec::new();
        for (one, &under) in lower.iter().zip(&under) {
            let solution = if under {
                new.next().unwrap_or(&one.solution)
            } else {
                &one.solution
            };
            joints.extend(solution.joints.iter().map(|joint| joint + one.from));
        }
        joints.retain(|&joint| !unbound.iter().any(|&(from, to)| from < joint && joint < to));
        let solved: Vec<(Interval, Arc<Solution>)> = picked(upper, &over)
            .map(|one| {
                let interval = Interval {
                    below: one.below(&joints, module),
                    ..one.interval.clone()
                };
                let solution = self.solution(&interval, &one.patterns);
                (interval, solution)
            })
            .collect();
        let misses = |solutions: &mut dyn Iterator<Item = &Arc<Solution>>| -> i64 {
            solutions.map(|solution| solution.cost.misses).sum()
        };
        let lower_misses = misses(&mut relaid.iter());
        let upper_misses = misses(&mut solved.iter().map(|(_, solution)| solution));
        // Sharing out whole nanometres may cost what was gained.
        if lower_misses > pair.lower_misses
            || lower_misses + upper_misses >= pair.lower_misses + pair.upper_misses
        {
            return;
        }
        let under = lower.iter_mut().zip(under).filter(|(_, under)| *under);
        for ((one, _), solution) in under.zip(relaid) {
            if one.solution != solution {
                let before = std::mem::replace(&mut one.solution, solution);
                one.alone.get_or_insert(before);
            }
        }
        let over = upper.iter_mut().zip(over).filter(|(_, over)| *over);
        for ((one, _), (interval, solution)) in over.zip(solved) {
            one.interval = interval;
            one.solution = solution;
        }
    }
}

fn picked<'s, 'a>(
    stretches: &'s [HeldStretch<'a>],
    which: &'s [bool],
) -> impl Iterator<Item = &'s HeldStretch<'a>> {
    let marked = stretches.iter().zip(which);
    marked
        .filter(|(_, picked)| **picked)
        .map(|(stretch, _)| stretch)
}
