//! Every point of a grid that meets some conditions, found without asking every condition of every point.
//!
//! A grid has variables, each with some values that are known by their numbers here; a condition reads some of the
//! variables. Variables are given values one after the other, so that the conditions that read fewest combinations
//! are asked first, and one that does not hold refuses at once all points that agree in what it reads. Answers are
//! remembered for every combination that a condition reads, so none is asked twice. The search is exact: every point
//! is found or refused.

use std::cmp::Ordering;

use crate::plan::PlanError;
use crate::stop::{self, Reason};

/// Most points of one grid: a table of answers to one condition is far smaller, but whole numbers stay exact.
pub const MOST_POINTS: u64 = 1_000_000_000;
/// Most variables of one grid.
pub const MOST_VARIABLES: usize = 24;
/// Most answers that are remembered in all, each a byte.
const MOST_REMEMBERED: usize = 32 * 1024 * 1024;
/// Values tried between two questions whether the work is to stop.
const TRIED_BETWEEN_LOOKS: u32 = 4096;

/// Why a search ended early.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Halt<E> {
    /// It was asked to stop.
    Stopped(Reason),
    /// A condition could not be answered.
    Failed(E),
}

/// What was remembered for the combinations of some variables.
#[derive(Clone, Debug)]
pub struct Remembered<T> {
    reads: Vec<(usize, usize)>,
    known: Vec<Option<T>>,
}

impl<T: Copy> Remembered<T> {
    /// Room for every combination of the variables read, or none where there are more than `most`.
    pub fn new(sizes: &[usize], reads: &[usize], most: usize) -> Remembered<T> {
        let mut steps = Vec::with_capacity(reads.len());
        let mut count = 1_usize;
        for variable in reads {
            steps.push((*variable, count));
            count = count.saturating_mul(sizes.get(*variable).copied().unwrap_or(1));
        }
        Remembered {
            reads: steps,
            known: if count <= most {
                vec![None; count]
            } else {
                Vec::new()
            },
        }
    }

    /// How many combinations are remembered.
    fn room(&self) -> usize {
        self.known.len()
    }

    /// What is remembered for a point, or what `find` gives for it.
    ///
    /// # Errors
    /// What `find` says.
    pub fn get<E>(&mut self, point: &[usize], find: impl FnOnce() -> Result<T, E>) -> Result<T, E> {
        let at: usize = self
            .reads
            .iter()
            .map(|(variable, step)| point.get(*variable).copied().unwrap_or(0) * step)
            .sum();
        match self.known.get_mut(at) {
            Some(Some(value)) => Ok(*value),
            Some(slot) => {
                let value = find()?;
                *slot = Some(value);
                Ok(value)
            }
            None => find(),
        }
    }
}

/// How many points were found, and how many each condition refused before any other did.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    /// Points that meet every condition.
    pub found: u64,
    /// For each condition, the points that it refused first.
    pub refused: Vec<u64>,
}

impl Tally {
    /// Points that were decided either way.
    pub fn decided(&self) -> u64 {
        self.found + self.refused.iter().sum::<u64>()
    }
}

/// The point that fails fewest conditions.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Miss {
    /// The point, a number of a value for each variable.
    pub point: Vec<usize>,
    /// The conditions that it fails.
    pub fails: Vec<usize>,
}

/// Answers whether a condition, by its number, holds at a point.
pub type Ask<'a, E> = dyn FnMut(usize, &[usize]) -> Result<bool, E> + 'a;
/// What is done with each point that is found.
type Each<'a, E> = dyn FnMut(&[usize]) -> Result<(), E> + 'a;

/// A grid with its conditions.
#[derive(Clone, Debug)]
pub struct Field {
    sizes: Vec<usize>,
    conditions: Vec<Vec<usize>>,
    answers: Vec<Remembered<bool>>,
    points: u64,
}

/// A variable in the order of the search, and the conditions that can be asked once it has a value.
#[derive(Clone, Debug, Default)]
struct Level {
    variable: usize,
    conditions: Vec<usize>,
}

/// What one walk over the grid needs.
struct Walk<'a, 'e, 'f, E> {
    answers: &'a mut [Remembered<bool>],
    levels: Vec<Level>,
    domains: Vec<Vec<usize>>,
    /// Points below each level for one choice above it.
    below: Vec<u64>,
    /// The first level from which on no condition is asked.
    free: usize,
    ask: &'a mut Ask<'e, E>,
    each: Option<&'a mut Each<'f, E>>,
    tally: &'a mut Tally,
    tried: u32,
}

impl Field {
    /// A grid of variables with so many values each, and conditions by the variables they read.
    ///
    /// # Errors
    /// When there are more than [`MOST_POINTS`] points or [`MOST_VARIABLES`] variables.
    pub fn new(sizes: Vec<usize>, conditions: Vec<Vec<usize>>) -> Result<Field, PlanError> {
        let all: f64 = sizes.iter().map(|size| *size as f64).product();
        let points = sizes
            .iter()
            .try_fold(1_u64, |points, size| points.checked_mul(*size as u64))
            .filter(|points| *points <= MOST_POINTS);
        let Some(points) = points else {
            return Err(PlanError::new(
                "grid-too-large",
                format!("{all:.0} points are too many: a grid has {MOST_POINTS} at most"),
                "give fewer values, or larger steps between them",
            ));
        };
        if sizes.len() > MOST_VARIABLES {
            return Err(PlanError::new(
                "grid-too-large",
                format!("{} variables are too many", sizes.len()),
                format!("a grid has {MOST_VARIABLES} at most"),
            ));
        }
        let mut room = MOST_REMEMBERED;
        let answers = conditions
            .iter()
            .map(|reads| {
                let answers = Remembered::new(&sizes, reads, room);
                room -= answers.room();
                answers
            })
            .collect();
        Ok(Field {
            sizes,
            conditions,
            answers,
            points,
        })
    }

    /// How many points it has.
    pub fn points(&self) -> u64 {
        self.points
    }

    /// Hands each point that meets every condition to `each`. The tally is kept up to where the search ends.
    ///
    /// # Errors
    /// When it is asked to stop, or a condition or `each` fails.
    pub fn search<E>(
        &mut self,
        ask: &mut Ask<'_, E>,
        each: &mut Each<'_, E>,
        tally: &mut Tally,
    ) -> Result<(), Halt<E>> {
        self.walk(None, ask, Some(each), tally)
    }

    /// How many points meet every condition but one.
    ///
    /// # Errors
    /// When it is asked to stop, or a condition fails.
    pub fn left_without<E>(
        &mut self,
        condition: usize,
        ask: &mut Ask<'_, E>,
    ) -> Result<u64, Halt<E>> {
        let mut tally = Tally::default();
        self.walk(Some(condition), ask, None, &mut tally)?;
        Ok(tally.found)
    }

    fn walk<E>(
        &mut self,
        without: Option<usize>,
        ask: &mut Ask<'_, E>,
        each: Option<&mut Each<'_, E>>,
        tally: &mut Tally,
    ) -> Result<(), Halt<E>> {
        *tally = Tally {
            found: 0,
            refused: vec![0; self.conditions.len()],
        };
        let asked: Vec<usize> = (0..self.conditions.len())
            .filter(|at| Some(*at) != without)
            .collect();
        let mut domains: Vec<Vec<usize>> =
            self.sizes.iter().map(|size| (0..*size).collect()).collect();
        let mut point = vec![0; self.sizes.len()];
        let count =
            |domains: &[Vec<usize>]| domains.iter().map(|d| d.len() as u64).product::<u64>();
        // What one variable alone decides, or none, is settled before anything else.
        for at in &asked {
            let (Some(reads), Some(answers)) =
                (self.conditions.get(*at), self.answers.get_mut(*at))
            else {
                continue;
            };
            let before = count(&domains);
            match reads.as_slice() {
                [] if !answers
                    .get(&point, || ask(*at, &point))
                    .map_err(Halt::Failed)? =>
                {
                    note(tally, *at, before);
                    return Ok(());
                }
                [variable] => {
                    let mut kept = Vec::new();
                    for value in domains.get(*variable).into_iter().flatten() {
                        if let Some(slot) = point.get_mut(*variable) {
                            *slot = *value;
                        }
                        if answers
                            .get(&point, || ask(*at, &point))
                            .map_err(Halt::Failed)?
                        {
                            kept.push(*value);
                        }
                        look()?;
                    }
                    if let Some(domain) = domains.get_mut(*variable) {
                        *domain = kept;
                    }
                    note(tally, *at, before - count(&domains));
                }
                _ => {}
            }
        }
        let sizes: Vec<usize> = domains.iter().map(Vec::len).collect();
        if sizes.contains(&0) {
            return Ok(());
        }
        let levels = self.levels(&sizes, &asked, 2);
        let mut below = vec![1_u64; levels.len() + 1];
        for depth in (0..levels.len()).rev() {
            let here = levels
                .get(depth)
                .and_then(|level| sizes.get(level.variable));
            let product =
                below.get(depth + 1).copied().unwrap_or(1) * here.copied().unwrap_or(1) as u64;
            if let Some(slot) = below.get_mut(depth) {
                *slot = product;
            }
        }
        let free = levels
            .iter()
            .rposition(|level| !level.conditions.is_empty())
            .map_or(0, |last| last + 1);
        let mut walk = Walk {
            answers: &mut self.answers,
            levels,
            domains,
            below,
            free,
            ask,
            each,
            tally,
            tried: 0,
        };
        walk.descend(0, &mut point)
    }

    /// The order in which variables get values: those of the condition that reads fewest combinations first. Each
    /// condition that reads at least `least` variables stands where the last of them gets its value.
    fn levels(&self, sizes: &[usize], asked: &[usize], least: usize) -> Vec<Level> {
        let size = |variable: usize| sizes.get(variable).copied().unwrap_or(1);
        let mut levels: Vec<Level> = Vec::new();
        let mut open: Vec<(usize, &[usize])> = asked
            .iter()
            .filter_map(|at| Some((*at, self.conditions.get(*at)?.as_slice())))
            .filter(|(_, reads)| reads.len() >= least)
            .collect();
        let bound =
            |levels: &[Level], variable: usize| levels.iter().any(|l| l.variable == variable);
        while !open.is_empty() {
            let cost = |reads: &[usize]| -> f64 {
                let new = reads.iter().filter(|v| !bound(&levels, **v));
                new.map(|v| size(*v) as f64).product()
            };
            let next = open
                .iter()
                .enumerate()
                .min_by(|(_, a), (_, b)| cost(a.1).total_cmp(&cost(b.1)).then(a.0.cmp(&b.0)))
                .map_or(0, |(at, _)| at);
            let (condition, reads) = open.remove(next);
            let mut new: Vec<usize> = reads
                .iter()
                .copied()
                .filter(|v| !bound(&levels, *v))
                .collect();
            new.sort_by_key(|v| (size(*v), *v));
            levels.extend(new.into_iter().map(|variable| Level {
                variable,
                conditions: Vec::new(),
            }));
            let last = levels
                .iter_mut()
                .rev()
                .find(|level| reads.contains(&level.variable));
            if let Some(level) = last {
                level.conditions.push(condition);
            }
        }
        for variable in 0..self.sizes.len() {
            if !bound(&levels, variable) {
                levels.push(Level {
                    variable,
                    conditions: Vec::new(),
                });
            }
        }
        levels
    }

    /// The point that fails fewest conditions, of several the first that is met; a search that knows that none fails
    /// fewer than `least` ends with the first that fails so many.
    ///
    /// # Errors
    /// When it is asked to stop, or a condition fails.
    pub fn nearest<E>(
        &mut self,
        least: usize,
        ask: &mut Ask<'_, E>,
    ) -> Result<Option<Miss>, Halt<E>> {
        let asked: Vec<usize> = (0..self.conditions.len()).collect();
        let levels = self.levels(&self.sizes, &asked, 1);
        let mut point = vec![0; self.sizes.len()];
        let mut fails = Vec::new();
        for (at, reads) in self.conditions.iter().enumerate() {
            let Some(answers) = self.answers.get_mut(at).filter(|_| reads.is_empty()) else {
                continue;
            };
            if !answers
                .get(&point, || ask(at, &point))
                .map_err(Halt::Failed)?
            {
                fails.push(at);
            }
        }
        let mut nearest = Nearest {
            answers: &mut self.answers,
            sizes: &self.sizes,
            levels: &levels,
            ask,
            least,
            best: None,
            tried: 0,
        };
        nearest.descend(0, &mut point, &mut fails)?;
        Ok(nearest.best)
    }
}

fn note(tally: &mut Tally, condition: usize, points: u64) {
    if let Some(refused) = tally.refused.get_mut(condition) {
        *refused += points;
    }
}

fn look<E>() -> Result<(), Halt<E>> {
    stop::asked().map_or(Ok(()), |reason| Err(Halt::Stopped(reason)))
}

fn look_sometimes<E>(tried: &mut u32) -> Result<(), Halt<E>> {
    *tried = tried.wrapping_add(1);
    if (*tried).is_multiple_of(TRIED_BETWEEN_LOOKS) {
        look()
    } else {
        Ok(())
    }
}

impl<E> Walk<'_, '_, '_, E> {
    fn descend(&mut self, depth: usize, point: &mut Vec<usize>) -> Result<(), Halt<E>> {
        if self.each.is_none() && depth >= self.free {
            self.tally.found += self.below.get(depth).copied().unwrap_or(1);
            return Ok(());
        }
        let Some(variable) = self.levels.get(depth).map(|level| level.variable) else {
            self.tally.found += 1;
            return match &mut self.each {
                Some(each) => each(point).map_err(Halt::Failed),
                None => Ok(()),
            };
        };
        let values = self.domains.get(variable).map_or(0, Vec::len);
        'values: for at in 0..values {
            look_sometimes(&mut self.tried)?;
            let value = self.domains.get(variable).and_then(|domain| domain.get(at));
            if let (Some(slot), Some(value)) = (point.get_mut(variable), value) {
                *slot = *value;
            }
            let conditions = self
                .levels
                .get(depth)
                .map_or(&[][..], |level| &level.conditions);
            for condition in conditions {
                let Some(answers) = self.answers.get_mut(*condition) else {
                    continue;
                };
                let holds = answers
                    .get(point, || (self.ask)(*condition, point))
                    .map_err(Halt::Failed)?;
                if !holds {
                    let points = self.below.get(depth + 1).copied().unwrap_or(1);
                    note(self.tally, *condition, points);
                    continue 'values;
                }
            }
            self.descend(depth + 1, point)?;
        }
        Ok(())
    }
}

/// Looks for the point that fails fewest conditions, leaving aside what already fails as many as the best.
struct Nearest<'a, 'e, E> {
    answers: &'a mut [Remembered<bool>],
    sizes: &'a [usize],
    levels: &'a [Level],
    ask: &'a mut Ask<'e, E>,
    least: usize,
    best: Option<Miss>,
    tried: u32,
}

impl<E> Nearest<'_, '_, E> {
    fn done(&self) -> bool {
        self.best
            .as_ref()
            .is_some_and(|best| best.fails.len() <= self.least)
    }

    fn hopeless(&self, fails: &[usize]) -> bool {
        self.best
            .as_ref()
            .is_some_and(|best| fails.len() >= best.fails.len())
    }

    fn descend(
        &mut self,
        depth: usize,
        point: &mut Vec<usize>,
        fails: &mut Vec<usize>,
    ) -> Result<(), Halt<E>> {
        if self.hopeless(fails) {
            return Ok(());
        }
        let levels = self.levels;
        let Some(level) = levels.get(depth) else {
            let mut fails = fails.clone();
            fails.sort_unstable();
            self.best = Some(Miss {
                point: point.clone(),
                fails,
            });
            return Ok(());
        };
        for value in 0..self.sizes.get(level.variable).copied().unwrap_or(0) {
            look_sometimes(&mut self.tried)?;
            if let Some(slot) = point.get_mut(level.variable) {
                *slot = value;
            }
            let before = fails.len();
            for condition in &level.conditions {
                let Some(answers) = self.answers.get_mut(*condition) else {
                    continue;
                };
                let holds = answers
                    .get(point, || (self.ask)(*condition, point))
                    .map_err(Halt::Failed)?;
                if !holds {
                    fails.push(*condition);
                }
            }
            self.descend(depth + 1, point, fails)?;
            fails.truncate(before);
            if self.done() {
                break;
            }
        }
        Ok(())
    }
}

/// A point with what it is judged by, least first.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// What it is judged by, the first figure first.
    pub scores: Vec<f64>,
    /// The point.
    pub point: Vec<usize>,
}

impl Candidate {
    /// Which comes first: lower scores, then the earlier value of the first variable that is not the same.
    pub fn order(&self, other: &Candidate) -> Ordering {
        judged(&self.scores, &other.scores).then_with(|| self.point.cmp(&other.point))
    }
}

/// Compares scores figure by figure.
pub fn judged(one: &[f64], other: &[f64]) -> Ordering {
    let pairs = one.iter().zip(other);
    pairs
        .map(|(a, b)| a.total_cmp(b))
        .find(|order| order.is_ne())
        .unwrap_or_else(|| one.len().cmp(&other.len()))
}

/// The best of many candidates.
#[derive(Clone, Debug)]
pub struct Best {
    most: usize,
    kept: Vec<Candidate>,
    /// The last of as many as there is room for: what comes after it is not among the best.
    last: Option<Candidate>,
}

impl Best {
    /// Room for so many.
    pub fn of(most: usize) -> Best {
        Best {
            most,
            kept: Vec::new(),
            last: None,
        }
    }

    /// Keeps a candidate as long as it may be among the best.
    pub fn offer(&mut self, candidate: Candidate) {
        let worse = |last: &Candidate| candidate.order(last).is_gt();
        if self.last.as_ref().is_some_and(worse) {
            return;
        }
        self.kept.push(candidate);
        // Sorting only once there are twice as many keeps the cost of each small.
        if self.kept.len() >= self.most.saturating_mul(2) {
            self.settle();
        }
    }

    fn settle(&mut self) {
        self.kept.sort_by(Candidate::order);
        self.kept.truncate(self.most);
        if self.kept.len() == self.most {
            self.last = self.kept.last().cloned();
        }
    }

    /// The best, best first.
    pub fn sorted(&mut self) -> &[Candidate] {
        self.settle();
        &self.kept
    }

    /// The worst of those kept, where there is no room for a worse one.
    pub fn worst(&mut self) -> Option<&Candidate> {
        self.settle();
        self.last.as_ref()
    }
}
