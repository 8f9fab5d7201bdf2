//! Where the straight strips of a part lie, and which of them passes at each corner.
//!
//! A path is walked along its outer face with the wall to the left. Each corner is a square block that belongs to
//! one of its two legs, in turn from course to course; so a leg's run reaches through the block when it passes,
//! and ends a joint short of it when it does not.

use super::geometry::Axis;
use super::interval::{Cost, End, Interval, Rules, solve};
use super::known::Known;
use crate::plan::Heading;

/// A leg of a path with its length along the outer face, in nanometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct FaceLeg {
    pub(super) heading: Heading,
    pub(super) length: i64,
}

/// One leaf of one leg. All places in nanometres.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Strip {
    /// The axis it runs along.
    pub(super) axis: Axis,
    /// Where the block at its low end starts.
    pub(super) low: i64,
    /// Where the block at its high end starts.
    pub(super) high: i64,
    /// The corner at each end; none for a free end.
    pub(super) low_corner: Option<usize>,
    /// As [`Strip::low_corner`], at the high end.
    pub(super) high_corner: Option<usize>,
    /// Its face with the smaller coordinate.
    pub(super) across: i64,
    /// Its thickness, also the size of its corner blocks.
    pub(super) thickness: i64,
    /// Whether the inside lies towards larger coordinates.
    pub(super) inside_high: bool,
    /// Whether the walker goes towards larger coordinates.
    pub(super) starts_low: bool,
}

impl Strip {
    /// Place of the face towards the inside, across it.
    pub(super) fn inner_face(&self) -> i64 {
        if self.inside_high {
            self.across + self.thickness
        } else {
            self.across
        }
    }

    /// From end to end, corner blocks included.
    pub(super) fn span(&self) -> (i64, i64) {
        (self.low, self.high + self.thickness)
    }

    /// What of it lies between two faces, across it.
    pub(super) fn between(&self, (from, to): (i64, i64)) -> Strip {
        Strip {
            high: self.high + self.thickness - (to - from),
            across: from,
            thickness: to - from,
            ..*self
        }
    }

    /// From block to block, for a leg between corners; to the very end where it is free.
    pub(super) fn clear(&self) -> (i64, i64) {
        let low = if self.low_corner.is_some() {
            self.low + self.thickness
        } else {
            self.low
        };
        let high = if self.high_corner.is_some() {
            self.high
        } else {
            self.high + self.thickness
        };
        (low, high)
    }
}

/// Strips of one leaf, `offset` behind the outer face and `thickness` deep, for a path that starts at x, y.
pub(super) fn strips(
    legs: &[FaceLeg],
    closed: bool,
    start: (i64, i64),
    offset: i64,
    thickness: i64,
) -> Vec<Strip> {
    struct Band {
        axis: Axis,
        across: i64,
        from: i64,
        to: i64,
        step: i64,
        inside_high: bool,
    }
    let mut at = start;
    let bands: Vec<Band> = legs
        .iter()
        .map(|leg| {
            let (dx, dy) = leg.heading.step();
            let end = (at.0 + dx * leg.length, at.1 + dy * leg.length);
            let (axis, step, face, normal, from, to) = if dx != 0 {
                (Axis::X, dx, at.1, dx, at.0, end.0)
            } else {
                (Axis::Y, dy, at.0, -dy, at.1, end.1)
            };
            let across = if normal > 0 {
                face + offset
            } else {
                face - offset - thickness
            };
            at = end;
            Band {
                axis,
                across,
                from,
                to,
                step,
                inside_high: normal > 0,
            }
        })
        .collect();
    let count = bands.len();
    let mut found = Vec::with_capacity(count);
    for (index, band) in bands.iter().enumerate() {
        let before = match index.checked_sub(1) {
            Some(previous) => bands.get(previous),
            None if closed => bands.last(),
            None => None,
        };
        let after = match bands.get(index + 1) {
            Some(next) => Some(next),
            None if closed => bands.first(),
            None => None,
        };
        let free = |place: i64, inward: i64| if inward > 0 { place } else { place - thickness };
        let start_block = before.map_or_else(|| free(band.from, band.step), |b| b.across);
        let end_block = after.map_or_else(|| free(band.to, -band.step), |b| b.across);
        let start_corner = before.map(|_| (index + count - 1) % count);
        let end_corner = after.map(|_| index);
        let starts_low = band.step > 0;
        let (low, high, low_corner, high_corner) = if starts_low {
            (start_block, end_block, start_corner, end_corner)
        } else {
            (end_block, start_block, end_corner, start_corner)
        };
        found.push(Strip {
            axis: band.axis,
            low,
            high,
            low_corner,
            high_corner,
            across: band.across,
            thickness,
            inside_high: band.inside_high,
            starts_low,
        });
    }
    found
}

/// For each corner, whether the leg along x passes it in odd courses; in even courses the other leg does.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Turns {
    along_x_in_odd: Vec<bool>,
}

impl Turns {
    /// Whether a leg along an axis passes a corner in a course.
    pub(super) fn passes(&self, corner: usize, axis: Axis, course: u32) -> bool {
        let along_x = self.along_x_in_odd.get(corner).copied().unwrap_or(true);
        (along_x == (course % 2 == 1)) == (axis == Axis::X)
    }

    /// Each leg passing where the other did.
    pub(super) fn reversed(&self) -> Turns {
        let along_x_in_odd = self.along_x_in_odd.iter().map(|odd| !odd).collect();
        Turns { along_x_in_odd }
    }

    /// How many corners it turns.
    pub(super) fn corners(&self) -> usize {
        self.along_x_in_odd.len()
    }

    /// As it is but for one corner.
    pub(super) fn turned_at(&self, corner: usize) -> Turns {
        let mut turned = self.clone();
        if let Some(odd) = turned.along_x_in_odd.get_mut(corner) {
            *odd = !*odd;
        }
        turned
    }

    /// What they cost over two courses.
    pub(super) fn cost(&self, strips: &[Strip], rules: &Rules) -> Cost {
        let turn = |corner: Option<usize>| self.along_x_in_odd.get(corner?).copied();
        let mut costs = RunCosts::new(rules);
        let legs = strips.iter().map(|strip| {
            let (start, end) = if strip.starts_low {
                (strip.low_corner, strip.high_corner)
            } else {
                (strip.high_corner, strip.low_corner)
            };
            leg_cost(strip, turn(start), turn(end), &mut costs)
        });
        legs.fold(Cost::default(), add)
    }

    /// The turns that need the fewest cuts over two courses, found along the chain of corners.
    pub(super) fn best(strips: &[Strip], closed: bool, rules: &Rules) -> Turns {
        let corners = if closed {
            strips.len()
        } else {
            strips.len().saturating_sub(1)
        };
        let mut costs = RunCosts::new(rules);
        let mut best: Option<(Cost, Vec<bool>)> = None;
        // In a closed path the first leg also ends at the last corner, so that corner is tried both ways.
        let lasts: &[Option<bool>] = if closed {
            &[Some(true), Some(false)]
        } else {
            &[None]
        };
        for &last in lasts {
            let mut chains: Vec<(Option<bool>, Cost, Vec<bool>)> =
                vec![(last, Cost::default(), Vec::new())];
            for (index, strip) in strips.iter().enumerate() {
                let choices: Vec<Option<bool>> = if index >= corners {
                    vec![None]
                } else if closed && index + 1 == corners {
                    vec![last]
                } else {
                    vec![Some(true), Some(false)]
                };
                let mut next = Vec::with_capacity(choices.len());
                for choice in choices {
                    let cheapest = chains
                        .iter()
                        .map(|(before, cost, turns)| {
                            (
                                add(*cost, leg_cost(strip, *before, choice, &mut costs)),
                                turns,
                            )
                        })
                        .min_by_key(|(cost, _)| *cost);
                    if let Some((cost, turns)) = cheapest {
                        let mut turns = turns.clone();
                        turns.extend(choice);
                        next.push((choice, cost, turns));
                    }
                }
                chains = next;
            }
            for (_, cost, turns) in chains {
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, turns));
                }
            }
        }
        Turns {
            along_x_in_odd: best.map(|(_, turns)| turns).unwrap_or_default(),
        }
    }
}

fn add(a: Cost, b: Cost) -> Cost {
    Cost {
        misses: a.misses + b.misses,
        strays: a.strays + b.strays,
        cuts: a.cuts + b.cuts,
        odd: a.odd + b.odd,
        drift: 0,
        joints: a.joints.saturating_add(b.joints),
        raster: 0,
    }
}

/// What runs over nothing cost: the same few come again and again while turns are tried.
struct RunCosts<'a> {
    rules: &'a Rules,
    known: Known<(i64, End, End), Cost>,
}

impl<'a> RunCosts<'a> {
    fn new(rules: &'a Rules) -> RunCosts<'a> {
        RunCosts {
            rules,
            known: Known::default(),
        }
    }

    fn of(&mut self, run: Run) -> Cost {
        let length = run.to - run.from;
        *self
            .known
            .entry((length, run.low, run.high))
            .or_insert_with(|| {
                let interval = Interval {
                    length,
                    low: run.low,
                    high: run.high,
                    raster: 0,
                    floats: Vec::new(),
                    below: Vec::new(),
                };
                solve(&interval, self.rules).cost
            })
    }
}

/// Cost of a leg over an odd and an even course, for given turns at its start and end.
fn leg_cost(
    strip: &Strip,
    start: Option<bool>,
    end: Option<bool>,
    costs: &mut RunCosts<'_>,
) -> Cost {
    let (low, high) = if strip.starts_low {
        (start, end)
    } else {
        (end, start)
    };
    [true, false]
        .into_iter()
        .map(|odd| {
            let passes = |turn: Option<bool>| {
                turn.is_none_or(|along_x| (along_x == odd) == (strip.axis == Axis::X))
            };
            costs.of(run_between(strip, passes(low), passes(high)))
        })
        .fold(Cost::default(), add)
}

/// A run: what of a strip is laid in one course.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Run {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) low: End,
    pub(super) high: End,
}

/// The run of a strip that passes, or does not pass, its ends.
pub(super) fn run_between(strip: &Strip, passes_low: bool, passes_high: bool) -> Run {
    let (from, low) = if passes_low {
        (strip.low, End::Open)
    } else {
        (strip.low + strip.thickness, End::Jointed)
    };
    let (to, high) = if passes_high {
        (strip.high + strip.thickness, End::Open)
    } else {
        (strip.high, End::Jointed)
    };
    Run {
        from,
        to,
        low,
        high,
    }
}
