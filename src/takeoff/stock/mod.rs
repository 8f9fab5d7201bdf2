//! Cutting pieces out of bars, boards or units of one or several lengths, with the least to buy, proved.
//!
//! In: lengths and numbers of pieces and of stock, the kerf, and how many pieces one stock length may give. Out: what
//! is cut from which stock, and a bound that no plan goes below. Nothing here knows of walls.
//!
//! The method is column generation after Gilmore and Gomory (1961, 1963) for the bound, and depth-first search over
//! patterns that hold the longest piece left, with the dominance of Martello and Toth (1990), for the whole numbers.
//! The linear programme is an own small dense simplex and not a crate: from one branch to the next it keeps its basis
//! and only changes its right-hand side, and its values are all that is wanted of it, for the bound itself is then
//! worked out in whole numbers. Counts of steps and not of time end the work, so that every machine prints the same.

mod knapsack;
mod master;
mod pattern;
mod search;
mod task;

use std::collections::BTreeMap;
use std::fmt;

use self::search::{Outcome, cheapest};
use self::task::{Budget, Cuts, Kind, State, Task, get};
use crate::quantity::Length;

/// Steps that are taken when nothing else is said. The published problems take less than a tenth of it.
pub const USUAL_STEPS: u64 = 50_000_000;

/// Stock of one length.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stock {
    /// Length of one.
    pub length: Length,
    /// How many there are; none for as many as are wanted.
    pub number: Option<u64>,
    /// Whether it has to be bought; stock on hand costs nothing.
    pub bought: bool,
    /// Finished ends that one has; none where that does not matter.
    pub ends: Option<u64>,
}

impl Stock {
    /// Stock on hand, which is used before any is bought.
    pub fn on_hand(length: Length, number: u64) -> Self {
        Self {
            length,
            number: Some(number),
            bought: false,
            ends: None,
        }
    }

    /// Stock that can be bought in any number.
    pub fn bought(length: Length) -> Self {
        Self {
            length,
            number: None,
            bought: true,
            ends: None,
        }
    }

    /// The same stock, of which there are no more than so many.
    #[must_use]
    pub fn at_most(self, number: u64) -> Self {
        Self {
            number: Some(number),
            ..self
        }
    }

    /// The same stock with so many finished ends.
    #[must_use]
    pub fn with_ends(self, ends: u64) -> Self {
        Self {
            ends: Some(ends),
            ..self
        }
    }
}

/// Pieces to cut from stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockTask {
    /// Kinds of stock.
    pub stock: Vec<Stock>,
    /// Length and number of the pieces; a length may come more than once.
    pub pieces: Vec<(Length, u64)>,
    /// As [`StockTask::pieces`], for pieces that take one of the finished ends of their stock.
    pub ended: Vec<(Length, u64)>,
    /// Width of the blade, lost between two pieces.
    pub kerf: Length,
    /// Pieces that one stock length gives at most; none where only its length limits them.
    pub most_pieces: Option<u64>,
    /// Steps after which the best plan known is taken, with the bound known.
    pub steps: u64,
}

/// How pieces come out of stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockPlan {
    /// What is cut from which stock, in the order of the stock, longest pieces first.
    pub patterns: Vec<StockPattern>,
    /// What the plan takes.
    pub taken: StockTally,
    /// Bounds: no plan buys less; none that buys as little uses less; none that does both is shorter in sum. Where a
    /// figure is not proved, those after it are zero.
    pub least: StockTally,
    /// Stock used in sum, less the pieces: offcuts and kerf.
    pub waste: Length,
    /// Steps that were taken.
    pub steps: u64,
}

impl StockPlan {
    /// Whether no other plan is better: none buys less, none that buys as little uses less, none that does both wastes
    /// less.
    pub fn is_proved(&self) -> bool {
        self.taken == self.least
    }
}

/// What a plan takes, in the order in which plans are compared.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct StockTally {
    /// Stock that is bought.
    pub bought: u64,
    /// Stock that is cut up, bought or on hand.
    pub used: u64,
    /// Length of the stock that is cut up.
    pub length: Length,
}

/// What is cut from one stock length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockPattern {
    /// Which stock, by its place in the task.
    pub stock: usize,
    /// Lengths with how many of each, longest first.
    pub pieces: Vec<(Length, u64)>,
    /// Those of them that take a finished end.
    pub ended: Vec<(Length, u64)>,
    /// How many are cut so.
    pub times: u64,
}

/// A task that cannot be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StockError {
    /// A length or the kerf is not one.
    NotALength(Length),
    /// No stock is long enough for this piece, or one may give no piece at all.
    TooLong(Length),
    /// Lengths or numbers beyond what can be reckoned.
    TooMuch,
    /// The stock does not suffice.
    TooLittle {
        /// So many more of the longest stock would do.
        lacking: u64,
        /// Whether fewer certainly would not.
        proved: bool,
    },
}

impl fmt::Display for StockError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotALength(length) => write!(f, "{length} is no length to cut"),
            Self::TooLong(length) => write!(f, "no stock is long enough for a piece of {length}"),
            Self::TooMuch => write!(f, "too many or too long pieces to reckon with"),
            Self::TooLittle { lacking, proved } => {
                let about = if *proved { "" } else { "at most " };
                write!(
                    f,
                    "the stock does not suffice: {about}{lacking} more of the longest are needed"
                )
            }
        }
    }
}

impl std::error::Error for StockError {}

/// One kilometre: no length is above it, so that millions of them can still be summed in 64 bits.
const LONGEST: Length = Length::from_nm(1_000_000_000_000);
/// There are no more pieces than this, for the same reason.
const MOST_PIECES: u64 = 3_000_000;

/// One aim of the plan: what is made least, with everything before it held.
#[derive(Clone, Copy)]
enum Aim {
    Bought,
    Used,
    Length,
}

/// The best plan for a task: the least stock bought, then the least used, then the least waste.
///
/// # Errors
/// When a length is not positive, a piece fits no stock, figures are beyond reckoning, or the stock does not suffice.
pub fn stock_plan(task: &StockTask) -> Result<StockPlan, StockError> {
    let lengths = checked(task)?;
    let total: u64 = lengths.values().sum();
    let bare = Task {
        sizes: lengths
            .keys()
            .rev()
            .map(|&(length, _)| (length + task.kerf).nm())
            .collect(),
        ended: lengths.keys().rev().map(|&(_, ended)| ended).collect(),
        kinds: task
            .stock
            .iter()
            .map(|stock| Kind {
                room: (stock.length + task.kerf).nm(),
                cost: 0,
                bought: stock.bought,
                ends: stock.ends.unwrap_or(total).min(total) as i64,
            })
            .collect(),
        pieces: task.most_pieces.unwrap_or(total).min(total) as i64,
    };
    let start = State {
        demand: lengths.values().rev().map(|&count| count as i64).collect(),
        left: task
            .stock
            .iter()
            .map(|stock| stock.number.unwrap_or(total).min(total) as i64)
            .collect(),
        bought: total as i64,
        used: total as i64,
    };
    let mut budget = Budget::new(task.steps.max(1));
    let mut cuts = any_plan(&bare, &start, &mut budget)?;
    let mut least = StockTally::default();
    let mut allowed = start;
    let mut stages = [Aim::Bought, Aim::Used, Aim::Length].into_iter();
    for aim in stages.by_ref() {
        let (outcome, unit) = towards(aim, task, &bare, &allowed, cuts, &mut budget);
        cuts = outcome.best.unwrap_or_default();
        let taken = tally(task, &cuts);
        let proved = match aim {
            Aim::Bought => {
                least.bought = outcome.least as u64;
                allowed.bought = taken.bought as i64;
                least.bought == taken.bought
            }
            Aim::Used => {
                least.used = outcome.least as u64;
                allowed.used = taken.used as i64;
                least.used == taken.used
            }
            Aim::Length => {
                least.length = unit * outcome.least;
                least.length == taken.length
            }
        };
        if !proved {
            break;
        }
    }
    let taken = tally(task, &cuts);
    let pieces: Length = lengths
        .iter()
        .map(|(&(length, _), &count)| length * count as i64)
        .sum();
    Ok(StockPlan {
        patterns: patterns(&lengths, cuts),
        taken,
        least,
        waste: taken.length - pieces,
        steps: task.steps.max(1) - budget.left(),
    })
}

/// Pieces by length and whether they take a finished end, with their numbers.
type Wanted = BTreeMap<(Length, bool), u64>;

/// The pieces with their numbers, once all figures are found fit.
fn checked(task: &StockTask) -> Result<Wanted, StockError> {
    if task.kerf.is_negative() {
        return Err(StockError::NotALength(task.kerf));
    }
    let plain = task.pieces.iter().map(|piece| (piece, false));
    let ended = task.ended.iter().map(|piece| (piece, true));
    let pieces = plain.chain(ended);
    let given = task.stock.iter().map(|stock| stock.length);
    for length in given.chain(pieces.clone().map(|(&(length, _), _)| length)) {
        if !length.is_positive() {
            return Err(StockError::NotALength(length));
        }
        if length > LONGEST || task.kerf > LONGEST {
            return Err(StockError::TooMuch);
        }
    }
    let mut lengths = Wanted::new();
    for (&(length, count), ended) in pieces.filter(|((_, count), _)| *count > 0) {
        let sum = lengths.entry((length, ended)).or_insert(0);
        *sum = sum.saturating_add(count);
    }
    let total = lengths
        .values()
        .try_fold(0_u64, |sum, &n| sum.checked_add(n));
    if total.is_none_or(|total| total > MOST_PIECES) {
        return Err(StockError::TooMuch);
    }
    for ended in [false, true] {
        let has_it = |stock: &&Stock| stock.number != Some(0) && !(ended && stock.ends == Some(0));
        let there = task.stock.iter().filter(has_it);
        let longest = there.map(|stock| stock.length).max();
        let mut asked = lengths.keys().rev().filter(|piece| piece.1 == ended);
        if let Some(&(length, _)) = asked.next()
            && (longest.is_none_or(|longest| length > longest) || task.most_pieces == Some(0))
        {
            return Err(StockError::TooLong(length));
        }
    }
    Ok(lengths)
}

/// Some plan that the stock allows.
fn any_plan(bare: &Task, start: &State, budget: &mut Budget) -> Result<Cuts, StockError> {
    // The longest stock once more, in any number: how many of it are needed is how many are lacking.
    let mut wider = bare.clone();
    let room = bare.kinds.iter().map(|kind| kind.room).max().unwrap_or(0);
    let ends = bare.kinds.iter().map(|kind| kind.ends).max().unwrap_or(0);
    wider.kinds.push(Kind {
        room,
        cost: 1,
        bought: false,
        ends,
    });
    let mut state = start.clone();
    state.left.push(start.used);
    let outcome = cheapest(&wider, &state, None, 0, budget);
    let cuts = outcome.best.unwrap_or_default();
    let lacking = wider.cost(&cuts);
    if lacking > 0 {
        return Err(StockError::TooLittle {
            lacking: lacking as u64,
            proved: lacking == outcome.least,
        });
    }
    Ok(cuts)
}

/// The best plan for one aim, with what one of its cost is in length.
fn towards(
    aim: Aim,
    task: &StockTask,
    bare: &Task,
    allowed: &State,
    known: Cuts,
    budget: &mut Budget,
) -> (Outcome, Length) {
    let unit = task
        .stock
        .iter()
        .fold(0, |unit, stock| common_measure(unit, stock.length.nm()));
    let mut priced = bare.clone();
    for (kind, stock) in priced.kinds.iter_mut().zip(&task.stock) {
        kind.cost = match aim {
            Aim::Bought => i64::from(stock.bought),
            Aim::Used => 1,
            Aim::Length => stock.length.nm() / unit.max(1),
        };
    }
    let unit = Length::from_nm(unit);
    // What an earlier aim has settled needs no search.
    let taken = tally(task, &known);
    let shortest = priced.kinds.iter().map(|kind| kind.cost).min().unwrap_or(0);
    let floor = match aim {
        Aim::Bought => 0,
        Aim::Used => taken.bought as i64,
        Aim::Length => shortest * taken.used as i64,
    };
    (cheapest(&priced, allowed, Some(known), floor, budget), unit)
}

/// The greatest length that goes into both a whole number of times.
fn common_measure(a: i64, b: i64) -> i64 {
    if b == 0 { a } else { common_measure(b, a % b) }
}

fn tally(task: &StockTask, cuts: &Cuts) -> StockTally {
    let mut tally = StockTally::default();
    for (column, times) in cuts {
        if let Some(stock) = task.stock.get(column.kind) {
            tally.used += *times as u64;
            tally.bought += if stock.bought { *times as u64 } else { 0 };
            tally.length += stock.length * *times;
        }
    }
    tally
}

/// The patterns in order, each once.
fn patterns(lengths: &Wanted, cuts: Cuts) -> Vec<StockPattern> {
    let sizes: Vec<(Length, bool)> = lengths.keys().rev().copied().collect();
    let mut found: BTreeMap<(usize, Vec<(usize, i64)>), i64> = BTreeMap::new();
    for (column, times) in cuts {
        *found.entry((column.kind, column.counts)).or_insert(0) += times;
    }
    found
        .into_iter()
        .map(|((stock, counts), times)| {
            let mut pattern = StockPattern {
                stock,
                pieces: Vec::new(),
                ended: Vec::new(),
                times: times as u64,
            };
            for (size, count) in counts {
                let (length, ended) = get(&sizes, size);
                let count = count as u64;
                match pattern.pieces.last_mut() {
                    Some(last) if last.0 == length => last.1 += count,
                    _ => pattern.pieces.push((length, count)),
                }
                if ended {
                    pattern.ended.push((length, count));
                }
            }
            pattern
        })
        .collect()
}
