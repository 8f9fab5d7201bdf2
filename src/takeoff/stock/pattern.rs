//! Patterns worth trying: every one that holds the longest piece left, longest pieces first.
//!
//! A pattern is passed over when another piece still fits into it, or when a longer piece fits in place of one of its
//! own: moving that piece over from another stock length costs nothing, so some best plan does without the pattern.

use super::task::{Budget, Column, Kind, State, Task, get};

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
                    fill(task, state, kind, self.longest, &mut counts);
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
                    fill(task, state, kind, last + 1, &mut counts);
                    counts
                }
            };
            let worth = self.is_worth_trying(task, state, kind, &counts);
            let column = worth.then(|| column(self.kind, &counts));
            self.counts = Some(counts);
            if column.is_some() {
                return column;
            }
        }
    }

    fn is_worth_trying(&self, task: &Task, state: &State, kind: Kind, counts: &[i64]) -> bool {
        let content = Content::of(task, counts);
        let slack = kind.room - content.length;
        let end_free = content.ends < kind.ends;
        // The shortest pieces so far that are free: any, and those that take a finished end.
        let (mut free_plain, mut free_ended): (Option<i64>, Option<i64>) = (None, None);
        let sizes = task.sizes.iter().zip(&task.ended);
        let counted = counts.iter().zip(&state.demand);
        for (size, ((&length, &ended), (&count, &demand))) in sizes.zip(counted).enumerate() {
            let near = |free: Option<i64>| free.is_some_and(|free| free - length <= slack);
            // The piece goes where the longer one comes from, so it may take no end where that one takes none.
            let bettered = near(free_ended.filter(|_| ended || end_free))
                || near(free_plain.filter(|_| !ended));
            if count > 0 && size != self.longest && bettered {
                return false;
            }
            if count < demand {
                let goes_in = content.pieces < task.pieces && (!ended || end_free);
                if goes_in && length <= slack {
                    return false;
                }
                let free = if ended {
                    &mut free_ended
                } else {
                    &mut free_plain
                };
                *free = Some(length);
            }
        }
        true
    }
}

/// What the pieces of a pattern come to.
struct Content {
    length: i64,
    pieces: i64,
    ends: i64,
}

impl Content {
    fn of(task: &Task, counts: &[i64]) -> Content {
        let ended = task.ended.iter().zip(counts);
        Content {
            length: task.sizes.iter().zip(counts).map(|(s, c)| s * c).sum(),
            pieces: counts.iter().sum(),
            ends: ended.filter(|(ended, _)| **ended).map(|(_, c)| c).sum(),
        }
    }
}

/// Puts in as many pieces as fit, longest first, beginning at a size.
pub(super) fn fill(task: &Task, state: &State, kind: Kind, from: usize, counts: &mut [i64]) {
    let content = Content::of(task, counts);
    let mut room = kind.room - content.length;
    let mut pieces = task.pieces - content.pieces;
    let mut ends = kind.ends - content.ends;
    let sizes = task.sizes.iter().zip(&task.ended);
    let rest = counts.iter_mut().zip(&state.demand).zip(sizes);
    for ((count, &demand), (&length, &ended)) in rest.skip(from) {
        let mut more = (demand - *count).min(room / length.max(1)).min(pieces);
        if ended {
            more = more.min(ends);
        }
        if more > 0 {
            *count += more;
            room -= more * length;
            pieces -= more;
            ends -= if ended { more } else { 0 };
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
