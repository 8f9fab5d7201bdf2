//! The search for the cheapest whole plan: depth first over patterns that hold the longest piece left, those that the
//! linear programme uses first, each branch cut off once its bound comes to the best plan known.

use std::collections::HashMap;

use super::knapsack::{Limits, most_valuable};
use super::master::{Bound, Master};
use super::pattern::{Patterns, column, fill};
use super::task::{Budget, Column, Cuts, Kind, State, Task, get};

/// What the search came to.
#[derive(Clone, Debug)]
pub(super) struct Outcome {
    /// The cheapest plan found; none when none was found.
    pub best: Option<Cuts>,
    /// No plan costs less.
    pub least: i64,
}

/// A state whose branches are being tried.
struct Node {
    state: State,
    cost: i64,
    bound: Bound,
    /// Patterns of the linear programme, the best last.
    hints: Vec<Column>,
    /// All patterns, kind after kind.
    patterns: Patterns,
    kind: usize,
}

struct Search<'a> {
    task: &'a Task,
    master: Master<'a>,
    best: Option<Cuts>,
    best_cost: i64,
    path: Vec<Column>,
    seen: HashMap<State, i64>,
    budget: &'a mut Budget,
}

/// The cheapest plan for a state. A plan already known, and a cost that nothing can go below, shorten the work.
pub(super) fn cheapest(
    task: &Task,
    start: &State,
    known: Option<Cuts>,
    floor: i64,
    budget: &mut Budget,
) -> Outcome {
    let mut search = Search {
        task,
        master: Master::new(task),
        best_cost: i64::MAX,
        best: None,
        path: Vec::new(),
        seen: HashMap::new(),
        budget,
    };
    if let Some(cuts) = known {
        search.keep(cuts);
    }
    for way in Way::ALL {
        if let Some(cuts) = search.filled(start.clone(), way) {
            search.keep(cuts);
        }
    }
    for (pattern, _) in search.best.clone().unwrap_or_default() {
        search.master.add(pattern);
    }
    if search.best_cost <= floor {
        let least = search.best_cost;
        return Outcome {
            best: search.best,
            least,
        };
    }
    let mut stack = Vec::new();
    let mut least = floor;
    if let Some(root) = search.enter(start.clone(), 0) {
        least = least.max(search.master.least(&root.bound));
        stack.push(root);
    } else if !search.budget.is_spent() {
        least = search.best_cost;
    }
    while let Some(node) = stack.last_mut() {
        if search.best_cost <= least {
            break;
        }
        let Some(column) = search.branch(node) else {
            if search.budget.is_spent() {
                break;
            }
            stack.pop();
            search.path.pop();
            continue;
        };
        let price = task.kind(column.kind).map_or(0, |kind| kind.cost);
        let cost = node.cost + price;
        let after = search.master.least_after(&node.bound, &column);
        if cost.saturating_add(after) >= search.best_cost {
            continue;
        }
        let mut state = node.state.clone();
        state.take(task, &column, 1);
        search.path.push(column);
        match search.enter(state, cost) {
            Some(node) => stack.push(node),
            None => {
                search.path.pop();
            }
        }
    }
    let proved = !search.budget.is_spent() || search.best_cost <= least;
    Outcome {
        least: if proved { search.best_cost } else { least },
        best: search.best,
    }
}

impl Search<'_> {
    fn keep(&mut self, cuts: Cuts) {
        let cost = self.task.cost(&cuts);
        if cost < self.best_cost {
            self.best_cost = cost;
            self.best = Some(cuts);
        }
    }

    /// Looks at a state: none when it is done or nothing in it can better the best plan.
    fn enter(&mut self, state: State, cost: i64) -> Option<Node> {
        if state.is_done() {
            self.keep(self.path.iter().map(|column| (column.clone(), 1)).collect());
            return None;
        }
        if self.seen.get(&state).is_some_and(|&seen| seen <= cost) {
            return None;
        }
        self.seen.insert(state.clone(), cost);
        let enough = self.best_cost.saturating_sub(cost);
        let bound = self.master.solve(&state, enough, self.budget);
        let root = self.path.is_empty();
        if !root && cost.saturating_add(self.master.least(&bound)) >= self.best_cost {
            return None;
        }
        let solution = self.master.solution();
        self.round(&state, &solution);
        if !root && cost.saturating_add(self.master.least(&bound)) >= self.best_cost {
            return None;
        }
        let longest = state.demand.iter().position(|&count| count > 0)?;
        let mut hints: Vec<Column> = Vec::new();
        for (pattern, _) in &solution {
            if let Some(hint) = self.completed(&state, pattern, longest)
                && !hints.contains(&hint)
            {
                hints.push(hint);
            }
        }
        hints.reverse();
        Some(Node {
            state,
            cost,
            bound,
            hints,
            patterns: Patterns::new(0, longest),
            kind: 0,
        })
    }

    /// The next pattern to try in a state; none at the end or when the budget is spent.
    fn branch(&mut self, node: &mut Node) -> Option<Column> {
        while let Some(hint) = node.hints.pop() {
            if node.state.stock_left(self.task, hint.kind) > 0 {
                return Some(hint);
            }
        }
        while node.kind < self.task.kinds.len() {
            if node.state.stock_left(self.task, node.kind) > 0
                && let Some(column) = node.patterns.next(self.task, &node.state, self.budget)
            {
                return Some(column);
            }
            if self.budget.is_spent() {
                return None;
            }
            node.kind += 1;
            let longest = node.state.demand.iter().position(|&count| count > 0)?;
            node.patterns = Patterns::new(node.kind, longest);
        }
        None
    }

    /// A pattern brought to what a state has left, and filled; none when it lacks the longest piece.
    fn completed(&self, state: &State, pattern: &Column, longest: usize) -> Option<Column> {
        let kind = self.task.kind(pattern.kind)?;
        let mut counts = vec![0; self.task.sizes.len()];
        for &(size, count) in &pattern.counts {
            if let Some(own) = counts.get_mut(size) {
                *own = count.min(get(&state.demand, size));
            }
        }
        fill(self.task, state, kind, longest, &mut counts);
        (get(&counts, longest) > 0).then(|| column(pattern.kind, &counts))
    }

    /// Rounds a solution in fractions down, then takes what fits of the rest, and fills up in every way.
    fn round(&mut self, start: &State, solution: &[(Column, f64)]) {
        let mut state = start.clone();
        let mut cuts: Cuts = self.path.iter().map(|column| (column.clone(), 1)).collect();
        let mut take = |pattern: &Column, most: i64, state: &mut State| {
            let times = state.room_for(self.task, pattern).min(most);
            if times > 0 {
                state.take(self.task, pattern, times);
                cuts.push((pattern.clone(), times));
            }
        };
        for (pattern, amount) in solution {
            take(pattern, amount.floor() as i64, &mut state);
        }
        let floors = (state.clone(), cuts.len());
        let mut rest: Vec<&(Column, f64)> = solution.iter().collect();
        rest.sort_by(|a, b| b.1.fract().total_cmp(&a.1.fract()));
        let mut take = |pattern: &Column, state: &mut State| {
            if state.room_for(self.task, pattern) > 0 {
                state.take(self.task, pattern, 1);
                cuts.push((pattern.clone(), 1));
            }
        };
        for (pattern, _) in rest {
            take(pattern, &mut state);
        }
        for way in Way::ALL {
            if let Some(more) = self.filled(state.clone(), way) {
                self.keep(cuts.iter().cloned().chain(more).collect());
            }
            if let Some(more) = self.filled(floors.0.clone(), way) {
                self.keep(cuts.iter().take(floors.1).cloned().chain(more).collect());
            }
        }
    }

    /// Fills one stock length after another without looking back; none when the stock does not suffice.
    fn filled(&mut self, mut state: State, way: Way) -> Option<Cuts> {
        let mut kinds: Vec<(usize, i64, i64)> = self
            .task
            .kinds
            .iter()
            .enumerate()
            .map(|(at, kind)| (at, kind.cost, kind.room))
            .collect();
        kinds.sort_by_key(|&(at, cost, room)| match way {
            Way::LongStock | Way::FullLong => (cost.min(1), -room, at),
            Way::ShortStock | Way::FullShort => (cost.min(1), room, at),
        });
        // Once the budget is spent, filling still goes on to its end: there is always a plan.
        let full = matches!(way, Way::FullLong | Way::FullShort);
        let mut cuts = Cuts::new();
        for (at, ..) in kinds {
            let Some(kind) = self.task.kind(at) else {
                continue;
            };
            while !state.is_done() && state.stock_left(self.task, at) > 0 {
                self.budget.take(self.task.sizes.len());
                let mut counts = vec![0; self.task.sizes.len()];
                // The longest piece that goes in, so that no long piece is left without its stock.
                let longest = self
                    .task
                    .sizes
                    .iter()
                    .zip(&self.task.ended)
                    .zip(&state.demand)
                    .position(|((&size, &ended), &count)| {
                        count > 0 && size <= kind.room && (!ended || kind.ends > 0)
                    });
                let Some(longest) = longest else {
                    break;
                };
                if !(full && self.fill_best(&state, kind, longest, &mut counts)) {
                    counts.fill(0);
                    fill(self.task, &state, kind, longest, &mut counts);
                }
                let pattern = column(at, &counts);
                let times = state.room_for(self.task, &pattern);
                if times == 0 {
                    break;
                }
                state.take(self.task, &pattern, times);
                cuts.push((pattern, times));
            }
        }
        state.is_done().then_some(cuts)
    }

    /// Puts the longest piece in and leaves as little over as can be; false when it is not found within its share.
    fn fill_best(&mut self, state: &State, kind: Kind, longest: usize, counts: &mut [i64]) -> bool {
        /// Steps that filling one stock length may take.
        const SHARE: u64 = 2000;
        let mut rest = state.demand.clone();
        let (Some(left), Some(own)) = (rest.get_mut(longest), counts.get_mut(longest)) else {
            return false;
        };
        *left -= 1;
        *own = 1;
        let mut share = Budget::new(SHARE);
        let sizes = &self.task.sizes;
        let ended = &self.task.ended;
        let limits = Limits {
            room: kind.room - get(sizes, longest),
            pieces: self.task.pieces - 1,
            ends: kind.ends - i64::from(get(ended, longest)),
        };
        let found = most_valuable((sizes, ended), sizes, &rest, limits, 0, &mut share);
        self.budget.take((SHARE - share.left()) as usize);
        let Some(best) = found else {
            return false;
        };
        for (size, count) in best.counts.unwrap_or_default() {
            if let Some(own) = counts.get_mut(size) {
                *own += count;
            }
        }
        true
    }
}

/// How stock is filled without looking back.
#[derive(Clone, Copy, Debug)]
enum Way {
    LongStock,
    ShortStock,
    FullLong,
    FullShort,
}

impl Way {
    const ALL: [Way; 4] = [
        Way::LongStock,
        Way::ShortStock,
        Way::FullLong,
        Way::FullShort,
    ];
}
