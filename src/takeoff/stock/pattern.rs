//! Patterns worth trying: every one that holds the longest piece left, longest pieces first.
//!
//! A pattern is passed over when another piece still fits into it, or when a longer piece fits in place of one of its
//! own: moving that piece over from another stock length costs nothing, so some best plan does without the pattern.

use super::task::{Budget, Column, State, Task, get};

/// All patterns of one kind of stock that hold the longest piece left, one after another.
#[derive(Clone, Debug)]
pub(super) struct Patterns {
    kind: usize,
    /// The longest piece left, which every pattern holds.
    longest: usize,
    /// Pieces of each size, none where the first pattern is still to come.
    counts: Option<Vec<i64>>,
}

impl Patterns {
    pub(super) fn new(kind: usize, longest: usize) -> Self {
        Self {
            kind,
            longest,
            counts: None,
        }
    }

    /// The next pattern worth trying; none at the end or when the budget is spent.
    pub(super) fn next(
        &mut self,
        task: &Task,
        state: &State,
        budget: &mut Budget,
    ) -> Option<Column> {
        let kind = task.kind(self.kind)?;
        loop {
            if !budget.take(task.sizes.len()) {
                return None;
            }
            let counts = match self.counts.take() {
                None => {
                    let mut counts = vec![0; task.sizes.len()];
                    fill(task, state, kind.room, self.longest, &mut counts);
                    if get(&counts, self.longest) == 0 {
                        return None;
                    }
                    counts
                }
                Some(mut counts) => {
                    let last = counts.iter().rposition(|&count| count > 0)?;
                    let count = counts.get_mut(last)?;
                    *count -= 1;
                    if last == self.longest && *count == 0 {
                        // Stays at the end.
                        self.counts = Some(counts);
                        return None;
                    }
                    fill(task, state, kind.room, last + 1, &mut counts);
                    counts
                }
            };
            let worth = self.is_worth_trying(task, state, kind.room, &counts);
            let column = worth.then(|| column(self.kind, &counts));
            self.counts = Some(counts);
            if column.is_some() {
                return column;
            }
        }
    }

    fn is_worth_trying(&self, task: &Task, state: &State, room: i64, counts: &[i64]) -> bool {
        let (used, pieces) = content(task, counts);
        let slack = room - used;
        // The least length by which a piece that is free can be longer than one in the pattern.
        let mut nearest_free: Option<i64> = None;
        for (size, (&length, (&count, &demand))) in task
            .sizes
            .iter()
            .zip(counts.iter().zip(&state.demand))
            .enumerate()
        {
            if count > 0
                && size != self.longest
                && nearest_free.is_some_and(|free| free - length <= slack)
            {
                return false;
            }
            if count < demand {
                if pieces < task.pieces && length <= slack {
                    return false;
                }
                nearest_free = Some(length);
            }
        }
        true
    }
}

/// Length and number of the pieces of a pattern.
fn content(task: &Task, counts: &[i64]) -> (i64, i64) {
    let used = task.sizes.iter().zip(counts).map(|(s, c)| s * c).sum();
    (used, counts.iter().sum())
}

/// Puts in as many pieces as fit, longest first, beginning at a size.
pub(super) fn fill(task: &Task, state: &State, room: i64, from: usize, counts: &mut [i64]) {
    let (used, pieces) = content(task, counts);
    let mut room = room - used;
    let mut pieces = task.pieces - pieces;
    let rest = counts.iter_mut().zip(&state.demand).zip(&task.sizes);
    for ((count, &demand), &length) in rest.skip(from) {
        let more = (demand - *count).min(room / length.max(1)).min(pieces);
        if more > 0 {
            *count += more;
            room -= more * length;
            pieces -= more;
        }
    }
}

/// A pattern out of the number of pieces of each size.
pub(super) fn column(kind: usize, counts: &[i64]) -> Column {
    Column {
        kind,
        counts: counts
            .iter()
            .copied()
            .enumerate()
            .filter(|&(_, count)| count > 0)
            .collect(),
    }
}
