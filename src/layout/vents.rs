//! Vents in walls that headers bond: moved a little, so that the pieces beside them are whole or customary.
//!
//! Here a vent interrupts a course like a jamb. Its place is chosen before the course
//! is laid: of those in which one of its sides falls where the bond has joints, counted from what bounds the work beside
//! it, the one that costs least. The vents of a course are set one after the other, twice over.

use super::course::{Between, Block, Edge, Layer, Line};
use super::frame::Strip;
use super::interval::{Cost, End};

/// Each vent is set once with its neighbours where they are wanted, and once where they came to lie.
const ROUNDS: usize = 2;

/// A vent that is being set.
#[derive(Clone, Copy)]
struct Open<'a> {
    vent: usize,
    name: &'a str,
    /// Where its middle is wanted.
    target: i64,
    from: i64,
    width: i64,
}

impl Open<'_> {
    fn to(&self) -> i64 {
        self.from + self.width
    }
}

/// What a stretch of a course would cost, from face to face.
type CostOf<'f, 'a> = dyn FnMut(&mut Layer<'a>, Between<'a>) -> Cost + 'f;

impl<'a> Layer<'a> {
    /// Sets the vents of a course of a leg that go through its wall, among what is fixed there; blocks for them.
    pub(super) fn seat_vents(
        &mut self,
        (course, leaf, leg): (u32, usize, usize),
        strip: &Strip,
        run: &Line<'a>,
        fixed: &[Block<'a>],
        below: &[i64],
    ) -> Vec<Block<'a>> {
        let mut cost = |layer: &mut Layer<'a>, between: Between<'a>| {
            let at = (course, leaf, leg);
            let stretch = layer.solve_stretch(at, strip, run, between, Vec::new(), below);
            stretch.solution.cost
        };
        let ends = Between {
            from: run.from,
            to: run.to,
            low: run.low,
            high: run.high,
        };
        self.seat_vents_by(course, leg, ends, fixed, &mut cost)
    }

    /// Sets the vents of a course of a leg by what the stretches beside them cost.
    pub(super) fn seat_vents_by(
        &mut self,
        course: u32,
        leg: usize,
        ends: Between<'a>,
        fixed: &[Block<'a>],
        cost: &mut CostOf<'_, 'a>,
    ) -> Vec<Block<'a>> {
        let part = self.part;
        if !part.vents_go_through(leg) {
            return Vec::new();
        }
        let here = part.vents.iter().enumerate();
        let here = here.filter(|(_, vent)| vent.leg == leg && vent.course == course);
        let mut open: Vec<Open<'a>> = here
            .flat_map(|(number, vent)| {
                vent.middles.iter().map(move |&target| Open {
                    vent: number,
                    name: &vent.name,
                    target,
                    from: target - vent.width / 2,
                    width: vent.width,
                })
            })
            .collect();
        open.sort_by_key(|vent| vent.from);
        // Among leaves or rows side by side joints differ from one to the other: there they stay.
        if part.leaves_of_leg(leg) == 1 && part.upright_course(course).is_none() {
            for _ in 0..ROUNDS {
                for index in 0..open.len() {
                    self.seat_vent(ends, fixed, &mut open, index, cost);
                }
            }
        }
        let mut blocks = Vec::with_capacity(open.len());
        for vent in &open {
            self.vents.entry(vent.vent).or_default().clear();
        }
        for vent in open {
            self.vents.entry(vent.vent).or_default().push(vent.from);
            blocks.push(Block {
                from: vent.from,
                to: vent.to(),
                edge: Edge::Vent(vent.name),
            });
        }
        blocks
    }

    /// Sets one vent where it costs least, the others as they are.
    fn seat_vent(
        &mut self,
        ends: Between<'a>,
        fixed: &[Block<'a>],
        open: &mut [Open<'a>],
        index: usize,
        cost: &mut CostOf<'_, 'a>,
    ) {
        let Some(vent) = open.get(index).copied() else {
            return;
        };
        let (mut low, mut high) = ((ends.from, ends.low), (ends.to, ends.high));
        let others = open.iter().enumerate().filter(|(other, _)| *other != index);
        let others = others.map(|(_, other)| (other.from, other.to(), Edge::Vent(other.name)));
        let blocks = fixed.iter().map(|block| (block.from, block.to, block.edge));
        for (from, to, edge) in blocks.chain(others) {
            if i64::midpoint(from, to) < vent.target {
                if to > low.0 {
                    low = (to, edge);
                }
            } else if from < high.0 {
                high = (from, edge);
            }
        }
        let rules = &self.part.rules;
        let (joint, module) = (rules.joint, rules.unit + rules.joint);
        let step = (module / rules.parts).max(1);
        let inset = |edge: Edge<'_>| match edge.end() {
            End::Jointed => 0,
            End::Open => -joint,
        };
        // Where the pieces beside it end or start, counted from either side.
        let sides = [low.0 + inset(low.1), high.0 - inset(high.1) - vent.width];
        let wanted = vent.target - vent.width / 2;
        let mut tried = vec![wanted];
        for side in sides {
            let first = (wanted - module / 2 - side).div_euclid(step) + 1;
            let last = (wanted + module / 2 - side).div_euclid(step);
            tried.extend((first..=last).map(|steps| side + steps * step));
        }
        // There is room for a piece on both sides of it.
        let least = rules.shortest_piece + joint;
        tried.retain(|&from| {
            from == wanted || (from >= low.0 + least && from + vent.width <= high.0 - least)
        });
        let mut best: Option<(Cost, i64)> = None;
        for from in tried {
            let mut sum = Cost {
                drift: (from - wanted).abs(),
                ..Cost::default()
            };
            let edge = Edge::Vent(vent.name);
            let sides = [
                (low.0, from, low.1, edge),
                (from + vent.width, high.0, edge, high.1),
            ];
            for (from, to, low, high) in sides {
                if to > from {
                    let between = Between {
                        from,
                        to,
                        low,
                        high,
                    };
                    sum = sum.plus(cost(self, between));
                }
            }
            if best.is_none_or(|(least, _)| sum < least) {
                best = Some((sum, from));
            }
        }
        if let (Some((_, from)), Some(vent)) = (best, open.get_mut(index)) {
            vent.from = from;
        }
    }
}
