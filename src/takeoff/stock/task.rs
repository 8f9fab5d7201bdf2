//! The cutting problem in bare whole numbers, as the search sees it.

use crate::stop;

/// Pieces to cut, longest first, out of kinds of stock.
#[derive(Clone, Debug)]
pub(super) struct Task {
    /// Lengths of the pieces, kerf added, all different, longest first.
    pub sizes: Vec<i64>,
    /// Whether a piece of each size takes a finished end.
    pub ended: Vec<bool>,
    /// Kinds of stock.
    pub kinds: Vec<Kind>,
    /// Pieces that one stock length gives at most.
    pub pieces: i64,
}

/// One kind of stock.
#[derive(Clone, Copy, Debug)]
pub(super) struct Kind {
    /// Length, kerf added: the last piece needs no cut behind it.
    pub room: i64,
    /// What one costs in the present aim.
    pub cost: i64,
    /// Whether it counts towards the bought ones that are allowed.
    pub bought: bool,
    /// Finished ends that one has.
    pub ends: i64,
}

/// What is still to be cut and what is still there to cut it from.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct State {
    /// Pieces left of each size.
    pub demand: Vec<i64>,
    /// Stock left of each kind.
    pub left: Vec<i64>,
    /// Bought stock that may still be taken.
    pub bought: i64,
    /// Stock of any kind that may still be taken.
    pub used: i64,
}

/// What is cut from one stock length.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Column {
    /// Which kind of stock.
    pub kind: usize,
    /// Size and how many of it, longest first, each at least one.
    pub counts: Vec<(usize, i64)>,
}

/// Patterns with how often each is cut.
pub(super) type Cuts = Vec<(Column, i64)>;

impl Task {
    /// The kind with this number.
    pub(super) fn kind(&self, kind: usize) -> Option<Kind> {
        self.kinds.get(kind).copied()
    }

    /// What stock cut so costs in the present aim.
    pub(super) fn cost(&self, cuts: &Cuts) -> i64 {
        cuts.iter()
            .map(|(column, times)| self.kind(column.kind).map_or(0, |kind| kind.cost) * times)
            .sum()
    }
}

impl State {
    /// Whether nothing is left to cut.
    pub(super) fn is_done(&self) -> bool {
        self.demand.iter().all(|&count| count == 0)
    }

    /// How often a pattern can be taken from what is left.
    pub(super) fn room_for(&self, task: &Task, column: &Column) -> i64 {
        let pieces = column
            .counts
            .iter()
            .map(|&(size, count)| get(&self.demand, size) / count.max(1))
            .min()
            .unwrap_or(0);
        pieces.min(self.stock_left(task, column.kind))
    }

    /// How many of this kind of stock can still be taken.
    pub(super) fn stock_left(&self, task: &Task, kind: usize) -> i64 {
        let bought = match task.kind(kind) {
            Some(kind) if kind.bought => self.bought,
            _ => i64::MAX,
        };
        get(&self.left, kind).min(bought).min(self.used)
    }

    /// Takes a pattern so many times.
    pub(super) fn take(&mut self, task: &Task, column: &Column, times: i64) {
        for &(size, count) in &column.counts {
            if let Some(left) = self.demand.get_mut(size) {
                *left -= count * times;
            }
        }
        if let Some(left) = self.left.get_mut(column.kind) {
            *left -= times;
        }
        self.used -= times;
        if task.kind(column.kind).is_some_and(|kind| kind.bought) {
            self.bought -= times;
        }
    }
}

/// The work that may still be done, in steps that are the same on every machine.
#[derive(Clone, Copy, Debug)]
pub(super) struct Budget {
    left: u64,
    /// Steps since it was last asked whether the work is to stop.
    unasked: u64,
}

impl Budget {
    pub(super) fn new(steps: u64) -> Self {
        Self {
            left: steps,
            unasked: 0,
        }
    }

    /// Takes so many steps; false once they are used up, or the work is asked to stop.
    pub(super) fn take(&mut self, steps: usize) -> bool {
        /// A fraction of a millisecond of work.
        const STEPS_UNASKED: u64 = 100_000;
        self.left = self.left.saturating_sub(steps as u64);
        self.unasked += steps as u64;
        if self.unasked >= STEPS_UNASKED {
            self.unasked = 0;
            if stop::asked().is_some() {
                self.left = 0;
            }
        }
        self.left > 0
    }

    pub(super) fn is_spent(self) -> bool {
        self.left == 0
    }

    pub(super) fn left(self) -> u64 {
        self.left
    }
}

/// The value at a place, nothing where there is none.
pub(super) fn get<T: Copy + Default>(values: &[T], at: usize) -> T {
    values.get(at).copied().unwrap_or_default()
}
