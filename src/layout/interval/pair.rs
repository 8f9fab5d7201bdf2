//! Stretches of a course laid anew together with those of the course above, where these keep no limit over it as it is.
//!
//! Lap is symmetric: what the upper course cannot keep over given joints, it often can over others that cost the lower
//! course a cut. Both courses are walked at once, always the one that is behind; what is laid later depends on how far
//! each has come, and on the joints near the two ends alone. Of ways that agree in that only the cheapest goes on, and
//! the cheapest of all is looked at first, so the first that comes to the end is the best there is.

mod plain;

use std::cmp::Reverse;
use std::collections::{BinaryHeap, hash_map::Entry};

use self::plain::Plain;
use super::pattern::{Spot, Walk, solve_below};
use super::{
    Choice, Cost, Count, ElementKind, Interval, Limit, Miss, Pattern, Rules, Solution, best,
    nearest_gap, place, solve, solve_pattern, tallies,
};
use crate::layout::known::Known;
use crate::stop;

/// Partial ways looked at before what is laid stays as it is: tenths of a second, and only where a limit is missed. Our own
/// choice: stretches of three units need a hundred as a rule and ninety thousand at most.
const MOST_STEPS: usize = 200_000;
/// As [`MOST_STEPS`], where one of the stretches has headers: there steps take longer, and the best guess is known. Our
/// own choice: with a tenth of it laps are missed in walls of odd lengths that another layout keeps.
const MOST_STEPS_WITH_HEADERS: usize = 40_000;
/// Steps between two questions whether the work is to stop: a few milliseconds.
const STEPS_BETWEEN_LOOKS: usize = 256;
/// Joints of one course that may be near the end of the other. More pieces than these are not laid in one lap.
const NEAR: usize = 4;

/// A stretch of one of two courses.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Stretch {
    /// What is to be filled. Of the joints below an upper stretch, only those that stay.
    pub interval: Interval,
    /// The ways in which the bond may be set out; none where plain rules lay it.
    pub patterns: Vec<Pattern>,
    /// Where it starts, from a place common to all.
    pub at: i64,
}

/// Stretches of two courses, one over the other, each in order and disjoint.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Pair {
    /// The lower ones.
    pub lower: Vec<Stretch>,
    /// The upper ones, with all that lies over the lower ones.
    pub upper: Vec<Stretch>,
    /// Where joints of the lower ones bind nothing above them: spans without their ends.
    pub unbound: Vec<(i64, i64)>,
    /// Limits that the lower ones miss as they are laid.
    pub lower_misses: i64,
    /// Limits that the upper ones miss over them.
    pub upper_misses: i64,
}

/// The lower stretches in the cheapest way in which all together miss fewer limits and the lower ones no more than they
/// do; none where there is none, or none among the first ways tried. Costs are judged as in [`solve`].
pub fn relay(pair: &Pair, rules: &Rules) -> Option<Vec<Solution>> {
    let mut stretches = pair.lower.iter().chain(&pair.upper);
    // Stretches with headers are guessed first, then tried in rounds, from the usual to the rare.
    let patterned = stretches.any(|stretch| !stretch.patterns.is_empty());
    let (rounds, mut left) = if patterned {
        (Walk::ROUNDS, MOST_STEPS_WITH_HEADERS)
    } else {
        (1, MOST_STEPS)
    };
    let lower = Alone::all(&pair.lower, rules);
    let upper = Alone::all(&pair.upper, rules);
    let missed = |stretches: &[Alone<'_>]| -> i64 {
        let solutions = stretches.iter().map(|alone| alone.solution.cost.misses);
        solutions.sum()
    };
    let (least, upper_least) = (missed(&lower), missed(&upper));
    if least > pair.lower_misses || least + upper_least >= pair.lower_misses + pair.upper_misses {
        return None;
    }
    let mut best = if patterned {
        guess(pair, &upper, rules)
    } else {
        None
    };
    for round in 0..rounds {
        let trial = Trial {
            lower: Row::of(&lower, rules, round),
            upper: Row::of(&upper, rules, round),
            pair,
            rules,
            limit: best.as_ref().map(|(cost, _)| *cost),
        };
        let floor = trial.floor().misses;
        let proved = |best: &Option<(Cost, Vec<Solution>)>| {
            let misses = best.as_ref().map(|(cost, _)| cost.misses);
            misses.is_some_and(|misses| misses <= floor)
        };
        if left == 0 || patterned && proved(&best) {
            break;
        }
        best = trial.run(&mut left).or(best);
    }
    best.map(|(_, lower)| lower)
}

/// The best of the lower stretches laid as if joints that the upper ones would like lay below them: each of these
/// alone, then all.
fn guess(pair: &Pair, upper: &[Alone<'_>], rules: &Rules) -> Option<(Cost, Vec<Solution>)> {
    let joints = |stretch: &Stretch, solution: &Solution| -> Vec<i64> {
        let joints = solution.joints.iter();
        joints.map(|joint| joint + stretch.at).collect()
    };
    let liked: Vec<i64> = upper
        .iter()
        .flat_map(|upper| joints(upper.stretch, &upper.solution))
        .collect();
    let mut samples: Vec<&[i64]> = liked.chunks(1).collect();
    samples.push(&liked);
    let mut best: Option<(Cost, Vec<Solution>)> = None;
    for sample in samples {
        if stop::asked().is_some() {
            break;
        }
        let mut lower = Vec::with_capacity(pair.lower.len());
        let mut cost = Cost::default();
        let mut under = Vec::new();
        for stretch in &pair.lower {
            let mut found = Alone::of(&over(stretch, sample), rules).solution;
            // Judged over what really lies below.
            found.misses.retain(|miss| miss.limit != Limit::Lap);
            for &joint in &found.joints {
                let lap = nearest_gap(&stretch.interval.below, joint);
                if let Some(figure) = lap.filter(|&lap| lap < rules.least_lap) {
                    found.misses.push(Miss {
                        limit: Limit::Lap,
                        at: joint,
                        figure,
                    });
                }
            }
            found.misses.sort_by_key(|miss| miss.at);
            found.cost.misses = found.misses.len() as i64;
            cost = cost.plus(found.cost);
            under.extend(joints(stretch, &found));
            lower.push(found);
        }
        if cost.misses > pair.lower_misses {
            continue;
        }
        under.retain(|&joint| pair.binds(joint));
        let limit = best.as_ref().map_or(
            Cost {
                misses: pair.lower_misses + pair.upper_misses,
                ..Cost::default()
            },
            |(least, _)| *least,
        );
        let total = upper.iter().try_fold(cost, |cost, upper| {
            let more = upper.cost_over(&under, rules, limit.less(cost))?;
            Some(cost.plus(more))
        });
        if let Some(cost) = total.filter(|cost| *cost < limit) {
            best = Some((cost, lower));
        }
    }
    best
}

/// A stretch with more joints below it than stay.
fn over(stretch: &Stretch, joints: &[i64]) -> Stretch {
    let mut more = stretch.clone();
    let below = &mut more.interval.below;
    below.extend(joints.iter().map(|joint| joint - stretch.at));
    below.sort_unstable();
    more
}

impl Pair {
    /// Whether a joint of the lower course binds what is above it.
    fn binds(&self, joint: i64) -> bool {
        let within = |&(from, to): &(i64, i64)| from < joint && joint < to;
        !self.unbound.iter().any(within)
    }
}

/// One course: for each stretch all counts of its pieces, and a cost that none of them betters.
struct Row<'a> {
    stretches: Vec<(&'a Stretch, Vec<Sheet<'a>>)>,
    /// The least that the stretches from each one on can cost.
    floors: Vec<Cost>,
}

/// One choice of counts for a stretch.
enum Sheet<'a> {
    Plain(Box<Plain<'a>>),
    Patterned(Walk<'a>),
    /// What no rule fits is laid in one way only.
    Fixed(Solution),
}

/// How far a sheet is laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum At {
    Plain(Count),
    Patterned(Spot),
    Fixed(usize),
}

/// How far a course is laid: the stretch, and the sheet once one is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Seat {
    stretch: usize,
    on: Option<(usize, At)>,
}

/// What is laid next in a course.
#[derive(Clone, Copy, Debug)]
enum Step {
    Sheet(usize),
    Plain(Choice),
    Patterned(ElementKind),
    Joint,
    Close,
}

/// A step with where it leads to.
struct Move {
    to: Seat,
    step: Step,
    cost: Cost,
    /// The joint it makes, and whether that already misses the lap over joints that stay.
    joint: Option<(i64, bool)>,
}

impl<'a> Row<'a> {
    fn of(stretches: &[Alone<'a>], rules: &'a Rules, round: usize) -> Row<'a> {
        let sheets = |alone: &Alone<'a>| (alone.stretch, Sheet::all(alone, rules, round));
        let all: Vec<_> = stretches.iter().map(sheets).collect();
        let mut floors = vec![Cost::default()];
        for (alone, (_, sheets)) in stretches.iter().zip(&all).rev() {
            let least = sheets.iter().filter_map(Sheet::least).min();
            let floor = least.unwrap_or(Cost {
                drift: 0,
                joints: 0,
                raster: 0,
                ..alone.solution.cost
            });
            let after = floors.last().copied().unwrap_or_default();
            floors.push(after.plus(floor));
        }
        floors.reverse();
        Row {
            stretches: all,
            floors,
        }
    }

    fn is_done(&self, seat: Seat) -> bool {
        seat.stretch >= self.stretches.len()
    }

    fn sheet(&self, seat: Seat) -> Option<(&'a Stretch, &Sheet<'a>, At)> {
        let (sheet, at) = seat.on?;
        let (stretch, sheets) = self.stretches.get(seat.stretch)?;
        Some((stretch, sheets.get(sheet)?, at))
    }

    /// Where the course is laid up to.
    fn cursor(&self, seat: Seat) -> i64 {
        match self.sheet(seat) {
            Some((stretch, sheet, at)) => stretch.at + sheet.cursor(at),
            None => self
                .stretches
                .get(seat.stretch)
                .map_or(i64::MAX, |(stretch, _)| stretch.at),
        }
    }

    /// What the rest of the course costs at least.
    fn rest(&self, seat: Seat) -> Cost {
        match self.sheet(seat) {
            Some((_, sheet, at)) => {
                let after = self.floors.get(seat.stretch + 1).copied();
                sheet.rest(at).plus(after.unwrap_or_default())
            }
            None => self.floors.get(seat.stretch).copied().unwrap_or_default(),
        }
    }

    fn moves(&self, seat: Seat, rules: &Rules, mut reach: impl FnMut(Move)) {
        let Some((stretch, sheet, at)) = self.sheet(seat) else {
            let sheets = self.stretches.get(seat.stretch);
            for (index, sheet) in sheets
                .iter()
                .flat_map(|(_, sheets)| sheets.iter().enumerate())
            {
                sheet.starts(|at| {
                    reach(Move {
                        to: Seat {
                            on: Some((index, at)),
                            ..seat
                        },
                        step: Step::Sheet(index),
                        cost: sheet.opening(),
                        joint: None,
                    });
                });
            }
            return;
        };
        let below = &stretch.interval.below;
        let judged = |joint: Option<i64>| {
            joint.map(|joint| {
                let missed = nearest_gap(below, joint).is_some_and(|lap| lap < rules.least_lap);
                (stretch.at + joint, missed)
            })
        };
        let chosen = seat.on.map_or(0, |(sheet, _)| sheet);
        sheet.steps(at, |to, step, cost, joint| {
            reach(Move {
                to: Seat {
                    on: Some((chosen, to)),
                    ..seat
                },
                step,
                cost,
                joint: judged(joint),
            });
        });
        if let Some((cost, joint)) = sheet.closing(at) {
            reach(Move {
                to: Seat {
                    stretch: seat.stretch + 1,
                    on: None,
                },
                step: Step::Close,
                cost,
                joint: judged(joint),
            });
        }
    }
}

/// What a stretch is filled by.
#[derive(Clone, Copy)]
enum Filled {
    Patterns,
    Rules,
    /// No rule fits, so there is one way only.
    Somehow,
}

/// A stretch as it is laid with nothing below it but what stays.
struct Alone<'a> {
    stretch: &'a Stretch,
    solution: Solution,
    by: Filled,
}

impl<'a> Alone<'a> {
    fn all(stretches: &'a [Stretch], rules: &Rules) -> Vec<Alone<'a>> {
        let alone = |stretch| Alone::of(stretch, rules);
        stretches.iter().map(alone).collect()
    }

    /// What it costs over more joints than stay, if that is less than a limit.
    fn cost_over(&self, joints: &[i64], rules: &Rules, limit: Cost) -> Option<Cost> {
        let more = over(self.stretch, joints);
        if !matches!(self.by, Filled::Patterns) {
            return Some(solve(&more.interval, rules).cost);
        }
        // Whether a pattern fits does not depend on what lies below.
        let patterns = more.patterns.iter();
        let found =
            patterns.filter_map(|pattern| solve_below(&more.interval, rules, pattern, limit));
        found.map(|solution| solution.cost).min()
    }

    fn of(stretch: &'a Stretch, rules: &Rules) -> Alone<'a> {
        let interval = &stretch.interval;
        let patterns = stretch.patterns.iter();
        let patterned = patterns
            .filter_map(|pattern| solve_pattern(interval, rules, pattern))
            .min_by_key(|solution| solution.cost);
        let found = patterned
            .map(|solution| (solution, Filled::Patterns))
            .or_else(|| {
                let by_rules = best(interval, rules, rules.module() / 2);
                by_rules.map(|solution| (solution, Filled::Rules))
            });
        let (solution, by) = found.unwrap_or_else(|| (solve(interval, rules), Filled::Somehow));
        Alone {
            stretch,
            solution,
            by,
        }
    }
}

impl<'a> Sheet<'a> {
    /// All sheets of a stretch, as the solver of intervals would try them.
    fn all(alone: &Alone<'a>, rules: &'a Rules, round: usize) -> Vec<Sheet<'a>> {
        let interval = &alone.stretch.interval;
        match alone.by {
            Filled::Patterns => alone
                .stretch
                .patterns
                .iter()
                .flat_map(|pattern| Walk::all(interval, rules, pattern, round))
                .map(Sheet::Patterned)
                .collect(),
            Filled::Rules => tallies(interval, rules)
                .into_iter()
                .filter_map(|tally| Plain::new(interval, rules, tally))
                .map(|plain| Sheet::Plain(Box::new(plain)))
                .collect(),
            Filled::Somehow => vec![Sheet::Fixed(alone.solution.clone())],
        }
    }

    fn starts(&self, mut reach: impl FnMut(At)) {
        match self {
            Sheet::Plain(_) => reach(At::Plain(Count::default())),
            Sheet::Patterned(walk) => walk.starts().for_each(|spot| reach(At::Patterned(spot))),
            Sheet::Fixed(_) => reach(At::Fixed(0)),
        }
    }

    /// What it costs over the joints that stay, where that is known.
    fn least(&self) -> Option<Cost> {
        match self {
            Sheet::Plain(plain) => Some(plain.least()),
            Sheet::Patterned(_) | Sheet::Fixed(_) => None,
        }
    }

    fn opening(&self) -> Cost {
        match self {
            Sheet::Plain(plain) => plain.opening(),
            Sheet::Patterned(walk) => walk.opening(),
            // Its misses of lap are counted joint by joint.
            Sheet::Fixed(solution) => Cost {
                misses: solution
                    .misses
                    .iter()
                    .filter(|miss| miss.limit != Limit::Lap)
                    .count() as i64,
                ..solution.cost
            },
        }
    }

    fn cursor(&self, at: At) -> i64 {
        match (self, at) {
            (Sheet::Plain(plain), At::Plain(count)) => plain.cursor(count),
            (Sheet::Patterned(walk), At::Patterned(spot)) => walk.cursor(spot),
            (Sheet::Fixed(solution), At::Fixed(joint)) => {
                solution.joints.get(joint).copied().unwrap_or(i64::MAX / 2)
            }
            _ => 0,
        }
    }

    /// What is still to come costs at least this.
    fn rest(&self, at: At) -> Cost {
        match (self, at) {
            (Sheet::Plain(plain), At::Plain(count)) => plain.rest(count),
            (Sheet::Patterned(walk), At::Patterned(spot)) => walk.rest(spot),
            _ => Cost::default(),
        }
    }

    fn steps(&self, at: At, mut reach: impl FnMut(At, Step, Cost, Option<i64>)) {
        match (self, at) {
            (Sheet::Plain(plain), At::Plain(count)) => {
                plain.steps(count, |to, choice, cost, joint| {
                    reach(At::Plain(to), Step::Plain(choice), cost, joint);
                });
            }
            (Sheet::Patterned(walk), At::Patterned(spot)) => {
                walk.steps(spot, |kind, to, cost, joint| {
                    reach(At::Patterned(to), Step::Patterned(kind), cost, joint);
                });
            }
            (Sheet::Fixed(solution), At::Fixed(next)) => {
                if let Some(&joint) = solution.joints.get(next) {
                    let cost = Cost {
                        misses: solution
                            .misses
                            .iter()
                            .filter(|miss| miss.limit == Limit::Lap && miss.at == joint)
                            .count() as i64,
                        ..Cost::default()
                    };
                    reach(At::Fixed(next + 1), Step::Joint, cost, Some(joint));
                }
            }
            _ => {}
        }
    }

    /// Cost of the joint at the end, and where it is; none where the sheet is not at its end.
    fn closing(&self, at: At) -> Option<(Cost, Option<i64>)> {
        match (self, at) {
            (Sheet::Plain(plain), At::Plain(count)) => plain.closing(count),
            (Sheet::Patterned(walk), At::Patterned(spot)) => walk.closing(spot),
            (Sheet::Fixed(solution), At::Fixed(next)) => {
                (next >= solution.joints.len()).then_some((Cost::default(), None))
            }
            _ => None,
        }
    }
}

/// Everything on which the rest of both courses depends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct State {
    lower: Seat,
    upper: Seat,
    /// Limits that the lower course misses.
    misses: i64,
    /// Joints of the lower course that joints of the upper one may still come near.
    under: [i64; NEAR],
    /// Joints of the upper course that keep their lap so far, and that joints of the lower one may still come near.
    over: [i64; NEAR],
}

/// No joint.
const NONE: i64 = i64::MIN / 4;

fn remember(joints: &mut [i64; NEAR], joint: i64) {
    joints.rotate_left(1);
    if let Some(last) = joints.last_mut() {
        *last = joint;
    }
}

/// Forgets what no joint from a place on comes nearer to than a lap.
fn forget(joints: &mut [i64; NEAR], lap: i64, from: i64) {
    for joint in joints.iter_mut() {
        if *joint != NONE && from.saturating_sub(*joint) >= lap {
            *joint = NONE;
        }
    }
    joints.sort_unstable();
}

/// A way that was reached, and how.
struct Node {
    state: State,
    cost: Cost,
    /// What a way through it costs at least.
    least: Cost,
    from: u32,
    /// The step, with what it cost; none for one in the upper course.
    step: Option<(Step, Cost)>,
}

struct Trial<'a> {
    lower: Row<'a>,
    upper: Row<'a>,
    pair: &'a Pair,
    rules: &'a Rules,
    /// What an earlier round found.
    limit: Option<Cost>,
}

impl Trial<'_> {
    /// The least that both courses can cost.
    fn floor(&self) -> Cost {
        let of = |row: &Row<'_>| row.floors.first().copied().unwrap_or_default();
        of(&self.lower).plus(of(&self.upper))
    }

    /// The cheapest way, if it betters what is known.
    fn run(&self, left: &mut usize) -> Option<(Cost, Vec<Solution>)> {
        let first = Seat {
            stretch: 0,
            on: None,
        };
        let start = State {
            lower: first,
            upper: first,
            misses: 0,
            under: [NONE; NEAR],
            over: [NONE; NEAR],
        };
        let mut nodes: Vec<Node> = Vec::new();
        let mut known: Known<State, u32> = Known::default();
        let mut queue: BinaryHeap<Reverse<(Cost, u32)>> = BinaryHeap::new();
        let least = self.rest(&start);
        if !self.is_better(&start, least) {
            return None;
        }
        nodes.push(Node {
            state: start,
            cost: Cost::default(),
            least,
            from: u32::MAX,
            step: None,
        });
        known.insert(start, 0);
        queue.push(Reverse((least, 0)));
        while *left > 0 {
            *left -= 1;
            if left.is_multiple_of(STEPS_BETWEEN_LOOKS) && stop::asked().is_some() {
                *left = 0;
                return None;
            }
            let Reverse((least, index)) = queue.pop()?;
            let node = nodes.get(index as usize)?;
            let (state, cost) = (node.state, node.cost);
            // A cheaper way to it was found since.
            if node.least < least {
                continue;
            }
            if self.lower.is_done(state.lower) && self.upper.is_done(state.upper) {
                return Some((cost, self.lower_of(&nodes, index)?));
            }
            self.moves(&state, |to, step, added| {
                let cost = cost.plus(added);
                let least = cost.plus(self.rest(&to));
                if !self.is_better(&to, least) {
                    return;
                }
                let node = Node {
                    state: to,
                    cost,
                    least,
                    from: index,
                    step,
                };
                let place = match known.entry(to) {
                    Entry::Occupied(place) => {
                        let place = *place.get();
                        match nodes.get_mut(place as usize) {
                            Some(before) if cost < before.cost => *before = node,
                            _ => return,
                        }
                        place
                    }
                    Entry::Vacant(place) => {
                        nodes.push(node);
                        *place.insert(nodes.len() as u32 - 1)
                    }
                };
                queue.push(Reverse((least, place)));
            });
        }
        None
    }

    fn rest(&self, state: &State) -> Cost {
        self.lower
            .rest(state.lower)
            .plus(self.upper.rest(state.upper))
    }

    /// Whether a way may still miss fewer limits than what is laid.
    fn is_better(&self, state: &State, least: Cost) -> bool {
        let lower = state.misses + self.lower.rest(state.lower).misses;
        let pair = self.pair;
        lower <= pair.lower_misses
            && least.misses < pair.lower_misses + pair.upper_misses
            && self.limit.is_none_or(|limit| least < limit)
    }

    /// Everything that can be laid next in the course that is behind.
    fn moves(&self, state: &State, mut reach: impl FnMut(State, Option<(Step, Cost)>, Cost)) {
        let lap = self.rules.least_lap;
        let (under, over) = (
            self.lower.cursor(state.lower),
            self.upper.cursor(state.upper),
        );
        if under <= over {
            self.lower.moves(state.lower, self.rules, |next| {
                let mut to = State {
                    lower: next.to,
                    misses: state.misses + next.cost.misses,
                    ..*state
                };
                let mut cost = next.cost;
                if let Some((joint, _)) = next.joint.filter(|(joint, _)| self.pair.binds(*joint)) {
                    for other in &mut to.over {
                        if *other != NONE && (*other - joint).abs() < lap {
                            *other = NONE;
                            cost.misses += 1;
                        }
                    }
                    remember(&mut to.under, joint);
                }
                forget(&mut to.over, lap, self.lower.cursor(to.lower));
                forget(&mut to.under, lap, over);
                reach(to, Some((next.step, next.cost)), cost);
            });
        } else {
            self.upper.moves(state.upper, self.rules, |next| {
                let mut to = State {
                    upper: next.to,
                    ..*state
                };
                let mut cost = next.cost;
                if let Some((joint, missed)) = next.joint {
                    let near = |other: &i64| *other != NONE && (*other - joint).abs() < lap;
                    if !missed && to.under.iter().any(near) {
                        cost.misses += 1;
                    } else if !missed {
                        remember(&mut to.over, joint);
                    }
                }
                forget(&mut to.under, lap, self.upper.cursor(to.upper));
                forget(&mut to.over, lap, under);
                reach(to, None, cost);
            });
        }
    }

    /// The lower stretches of a way.
    fn lower_of(&self, nodes: &[Node], last: u32) -> Option<Vec<Solution>> {
        let mut steps = Vec::new();
        let mut at = nodes.get(last as usize);
        while let Some(node) = at {
            steps.extend(node.step);
            at = nodes.get(node.from as usize);
        }
        steps.reverse();
        let mut found = Vec::new();
        let mut stretches = self.lower.stretches.iter();
        for steps in steps.split_inclusive(|(step, _)| matches!(step, Step::Close)) {
            let (stretch, sheets) = stretches.next()?;
            let Some((Step::Sheet(sheet), _)) = steps.first() else {
                return None;
            };
            let cost = steps
                .iter()
                .fold(Cost::default(), |sum, (_, cost)| sum.plus(*cost));
            found.push(match sheets.get(*sheet)? {
                Sheet::Plain(plain) => {
                    let order: Vec<Choice> = steps
                        .iter()
                        .filter_map(|(step, _)| match step {
                            Step::Plain(choice) => Some(*choice),
                            _ => None,
                        })
                        .collect();
                    place(&stretch.interval, self.rules, plain.tally(), &order)
                }
                Sheet::Patterned(walk) => {
                    let kinds: Vec<ElementKind> = steps
                        .iter()
                        .filter_map(|(step, _)| match step {
                            Step::Patterned(kind) => Some(*kind),
                            _ => None,
                        })
                        .collect();
                    walk.place(cost, &kinds)
                }
                Sheet::Fixed(solution) => solution.clone(),
            });
        }
        Some(found)
    }
}
