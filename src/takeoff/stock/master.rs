//! The cutting problem with patterns in any fraction, after Gilmore and Gomory (1961): a linear programme whose columns
//! are patterns, found as they are needed by a knapsack over the values that the programme gives to the pieces.
//!
//! From one part of the search to the next only the right-hand side changes, so the last basis stays dual feasible:
//! the dual simplex takes up from there. Floating point only suggests values; the bound is worked out from them in
//! whole numbers with an exact knapsack, so it holds whatever was rounded on the way.

use super::knapsack::{Limits, most_valuable};
use super::task::{Budget, Column, State, Task, get};

/// One unit of cost of the dearest stock, in whole steps: fine enough that rounding thousands of values down loses no
/// whole unit, coarse enough that sums of them stay far within 64 bits.
const SCALE: i64 = 1 << 36;
/// Cost of leaving a piece uncut, in the dearest stock: more than a piece is ever worth.
const UNMET: f64 = 100.0;
/// Below this a floating-point figure is taken for nothing.
const NOTHING: f64 = 1e-9;
/// A pattern must better the programme by so many steps of the scale (4e-9): more than floating point loses.
const BETTER: i64 = 1 << 8;
/// Pivots after which the inverse is worked out afresh, so that rounding does not grow.
const FRESH: usize = 64;
/// Pivots for each row after which one solving is given up; the bound holds all the same, it is only weaker.
const PIVOTS_PER_ROW: usize = 60;

/// What a row of the basis stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Variable {
    /// A pattern, by its place in the list.
    Pattern(usize),
    /// What a row is over or short of its limit.
    Spare(usize),
    /// Pieces of a row left uncut.
    Unmet(usize),
}

/// A lower bound with the values that prove it.
#[derive(Clone, Debug)]
pub(super) struct Bound {
    scaled: i128,
    /// What one piece of each size is worth.
    values: Vec<i64>,
    /// What one stock length of each kind takes off.
    charges: Vec<i64>,
}

/// The linear programme and its last basis.
#[derive(Debug)]
pub(super) struct Master<'a> {
    task: &'a Task,
    dearest: i64,
    patterns: Vec<Column>,
    entries: Vec<Vec<(usize, f64)>>,
    costs: Vec<f64>,
    basis: Vec<Variable>,
    inverse: Vec<Vec<f64>>,
    amounts: Vec<f64>,
    since_fresh: usize,
}

impl<'a> Master<'a> {
    pub(super) fn new(task: &'a Task) -> Self {
        let sizes = task.sizes.len();
        // A row for each size and each kind, one for what is bought, one for what is used.
        let rows = sizes + task.kinds.len() + 2;
        let basis = (0..rows)
            .map(|row| {
                if row < sizes {
                    Variable::Unmet(row)
                } else {
                    Variable::Spare(row)
                }
            })
            .collect();
        Self {
            task,
            dearest: task.kinds.iter().map(|kind| kind.cost).max().unwrap_or(1),
            patterns: Vec::new(),
            entries: Vec::new(),
            costs: Vec::new(),
            basis,
            inverse: identity(rows),
            amounts: vec![0.0; rows],
            since_fresh: 0,
        }
    }

    /// Adds a pattern, which the next solving may use.
    pub(super) fn add(&mut self, column: Column) {
        let sizes = self.task.sizes.len();
        let kinds = self.task.kinds.len();
        let Some(kind) = self.task.kind(column.kind) else {
            return;
        };
        let mut entries: Vec<(usize, f64)> = column
            .counts
            .iter()
            .map(|&(size, count)| (size, count as f64))
            .collect();
        entries.push((sizes + column.kind, 1.0));
        if kind.bought {
            entries.push((sizes + kinds, 1.0));
        }
        entries.push((sizes + kinds + 1, 1.0));
        self.entries.push(entries);
        self.costs
            .push(kind.cost as f64 / self.dearest.max(1) as f64);
        self.patterns.push(column);
    }

    /// The bound on what a state still costs. Stops early once the bound comes to `enough`.
    pub(super) fn solve(&mut self, state: &State, enough: i64, budget: &mut Budget) -> Bound {
        let goal: Vec<f64> = state
            .demand
            .iter()
            .chain(&state.left)
            .chain([&state.bought, &state.used])
            .map(|&amount| amount as f64)
            .collect();
        let mut best: Option<Bound> = None;
        let mut pivots = PIVOTS_PER_ROW * goal.len();
        self.settle(&goal);
        self.dual(&goal, &mut pivots, budget);
        let mut added = false;
        loop {
            let before = pivots;
            self.primal(&goal, &mut pivots, budget);
            // New patterns that the programme does not take: rounding alone made them look better.
            if added && pivots == before {
                break;
            }
            let Some((bound, found)) = self.price(state, budget) else {
                break;
            };
            if best.as_ref().is_none_or(|best| bound.scaled > best.scaled) {
                best = Some(bound);
            }
            let reached = best.as_ref().map_or(0, |best| self.cost(best.scaled));
            if found.is_empty() || reached >= enough || pivots == 0 || budget.is_spent() {
                break;
            }
            for column in found {
                self.add(column);
            }
            added = true;
        }
        best.unwrap_or_else(|| Bound {
            scaled: 0,
            values: vec![0; self.task.sizes.len()],
            charges: vec![0; self.task.kinds.len()],
        })
    }

    /// The least whole cost that a bound allows.
    pub(super) fn least(&self, bound: &Bound) -> i64 {
        self.cost(bound.scaled)
    }

    /// The bound that holds once this pattern is taken, without its own cost.
    pub(super) fn least_after(&self, bound: &Bound, column: &Column) -> i64 {
        let worth: i128 = column
            .counts
            .iter()
            .map(|&(size, count)| i128::from(get(&bound.values, size)) * i128::from(count))
            .sum();
        self.cost(bound.scaled - worth + i128::from(get(&bound.charges, column.kind)))
    }

    /// Patterns of the last solution with how often they are cut, most often first.
    pub(super) fn solution(&self) -> Vec<(Column, f64)> {
        let mut used: Vec<(usize, f64)> = self
            .basis
            .iter()
            .zip(&self.amounts)
            .filter_map(|(variable, &amount)| match variable {
                Variable::Pattern(pattern) if amount > NOTHING => Some((*pattern, amount)),
                _ => None,
            })
            .collect();
        used.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        used.into_iter()
            .filter_map(|(pattern, amount)| Some((self.patterns.get(pattern)?.clone(), amount)))
            .collect()
    }

    fn cost(&self, scaled: i128) -> i64 {
        let dear = scaled.max(0) * i128::from(self.dearest);
        let scale = i128::from(SCALE);
        let whole = dear / scale + i128::from(dear % scale != 0);
        i64::try_from(whole).unwrap_or(i64::MAX)
    }

    /// The bound from the present values, and the patterns that would better the programme.
    fn price(&self, state: &State, budget: &mut Budget) -> Option<(Bound, Vec<Column>)> {
        let sizes = self.task.sizes.len();
        let kinds = self.task.kinds.len();
        let whole = |value: f64| (value.clamp(0.0, UNMET) * SCALE as f64).floor() as i64;
        let duals = self.duals();
        let values: Vec<i64> = duals.iter().take(sizes).map(|&dual| whole(dual)).collect();
        let limits: Vec<i64> = duals.iter().skip(sizes).map(|&dual| whole(-dual)).collect();
        let mut scaled: i128 = sum_of_products(&values, &state.demand);
        scaled -= sum_of_products(&limits, &state.left);
        let (bought, used) = (get(&limits, kinds), get(&limits, kinds + 1));
        scaled -= i128::from(bought) * i128::from(state.bought);
        scaled -= i128::from(used) * i128::from(state.used);
        let mut charges = Vec::with_capacity(kinds);
        let mut found = Vec::new();
        for (at, kind) in self.task.kinds.iter().enumerate() {
            let own = if kind.bought { bought } else { 0 };
            let charge = get(&limits, at) + own + used;
            if state.stock_left(self.task, at) <= 0 {
                charges.push(charge);
                continue;
            }
            let price = i128::from(kind.cost) * i128::from(SCALE) / i128::from(self.dearest.max(1));
            let paid = i64::try_from(price).unwrap_or(i64::MAX) + charge;
            let best = most_valuable(
                (&self.task.sizes, &self.task.ended),
                &values,
                &state.demand,
                Limits {
                    room: kind.room,
                    pieces: self.task.pieces,
                    ends: kind.ends,
                },
                paid + BETTER,
                budget,
            )?;
            let excess = best.value - paid;
            scaled -= i128::from(excess) * i128::from(state.stock_left(self.task, at));
            charges.push(charge + excess);
            if let Some(counts) = best.counts {
                found.push(Column { kind: at, counts });
            }
        }
        let bound = Bound {
            scaled,
            values,
            charges,
        };
        Some((bound, found))
    }

    /// Steps of one pivot: every entry of the inverse and every known pattern is gone through.
    fn work(&self) -> usize {
        /// Entries of the inverse that take no longer than one step elsewhere.
        const ENTRIES: usize = 8;
        let rows = self.basis.len();
        rows * rows / ENTRIES + rows + self.patterns.len()
    }

    fn cost_of(&self, variable: Variable) -> f64 {
        match variable {
            Variable::Pattern(pattern) => get(&self.costs, pattern),
            Variable::Spare(_) => 0.0,
            Variable::Unmet(_) => UNMET,
        }
    }

    /// Product of a row with the column of a variable.
    fn product(&self, row: &[f64], variable: Variable) -> f64 {
        match variable {
            Variable::Pattern(pattern) => self.entries.get(pattern).map_or(0.0, |entries| {
                entries
                    .iter()
                    .map(|&(at, entry)| get(row, at) * entry)
                    .sum()
            }),
            Variable::Spare(at) if at < self.task.sizes.len() => -get(row, at),
            Variable::Spare(at) | Variable::Unmet(at) => get(row, at),
        }
    }

    /// What the programme pays for one more of each row.
    fn duals(&self) -> Vec<f64> {
        let mut duals = vec![0.0; self.basis.len()];
        for (row, &variable) in self.inverse.iter().zip(&self.basis) {
            let cost = self.cost_of(variable);
            if cost != 0.0 {
                for (dual, entry) in duals.iter_mut().zip(row) {
                    *dual += cost * entry;
                }
            }
        }
        duals
    }

    /// Every variable that may enter.
    fn variables(&self) -> impl Iterator<Item = Variable> + use<> {
        let sizes = self.task.sizes.len();
        let rows = self.basis.len();
        (0..self.patterns.len())
            .map(Variable::Pattern)
            .chain((0..rows).map(Variable::Spare))
            .chain((0..sizes).map(Variable::Unmet))
    }

    /// Works out the amounts for a right-hand side.
    fn settle(&mut self, goal: &[f64]) {
        self.amounts = self
            .inverse
            .iter()
            .map(|row| row.iter().zip(goal).map(|(a, b)| a * b).sum())
            .collect();
    }

    /// Pivots until no amount is below nothing.
    fn dual(&mut self, goal: &[f64], pivots: &mut usize, budget: &mut Budget) {
        while *pivots > 0 && budget.take(self.work()) {
            let lowest = self
                .amounts
                .iter()
                .copied()
                .enumerate()
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((leaving, amount)) = lowest else {
                return;
            };
            if amount >= -NOTHING {
                return;
            }
            let Some(row) = self.inverse.get(leaving).cloned() else {
                return;
            };
            let duals = self.duals();
            let mut entering: Option<(Variable, f64, f64)> = None;
            for variable in self.variables() {
                let along = -self.product(&row, variable);
                if along <= NOTHING {
                    continue;
                }
                let reduced = (self.cost_of(variable) - self.product(&duals, variable)).max(0.0);
                let ratio = reduced / along;
                let better = entering.is_none_or(|(_, least, width)| {
                    ratio < least - NOTHING || (ratio < least + NOTHING && along > width)
                });
                if better {
                    entering = Some((variable, ratio, along));
                }
            }
            let Some((variable, _, _)) = entering else {
                return;
            };
            *pivots -= 1;
            self.pivot(leaving, variable, goal);
        }
    }

    /// Pivots until no known variable betters the programme.
    fn primal(&mut self, goal: &[f64], pivots: &mut usize, budget: &mut Budget) {
        while *pivots > 0 && budget.take(self.work()) {
            let duals = self.duals();
            let best = self
                .variables()
                .map(|variable| {
                    let reduced = self.cost_of(variable) - self.product(&duals, variable);
                    (variable, reduced)
                })
                .min_by(|a, b| a.1.total_cmp(&b.1));
            let Some((entering, reduced)) = best else {
                return;
            };
            if reduced >= -NOTHING {
                return;
            }
            let mut leaving: Option<(usize, f64, f64)> = None;
            for (at, (row, &amount)) in self.inverse.iter().zip(&self.amounts).enumerate() {
                let along = self.product(row, entering);
                if along <= NOTHING {
                    continue;
                }
                let ratio = amount.max(0.0) / along;
                let better = leaving.is_none_or(|(_, least, width)| {
                    ratio < least - NOTHING || (ratio < least + NOTHING && along > width)
                });
                if better {
                    leaving = Some((at, ratio, along));
                }
            }
            let Some((at, _, _)) = leaving else {
                return;
            };
            *pivots -= 1;
            self.pivot(at, entering, goal);
        }
    }

    /// Brings a variable into the basis in place of another.
    fn pivot(&mut self, leaving: usize, entering: Variable, goal: &[f64]) {
        let along: Vec<f64> = self
            .inverse
            .iter()
            .map(|row| self.product(row, entering))
            .collect();
        eliminate(&mut self.inverse, leaving, &along);
        if let Some(variable) = self.basis.get_mut(leaving) {
            *variable = entering;
        }
        self.since_fresh += 1;
        if self.since_fresh >= FRESH {
            self.refresh();
        }
        self.settle(goal);
    }

    /// Works out the inverse afresh from the basis.
    fn refresh(&mut self) {
        self.since_fresh = 0;
        let rows = self.basis.len();
        let mut inverse = identity(rows);
        let mut placed = vec![None; rows];
        for &variable in &self.basis {
            let along: Vec<f64> = inverse
                .iter()
                .map(|row| self.product(row, variable))
                .collect();
            let widest = along
                .iter()
                .zip(&placed)
                .enumerate()
                .filter(|(_, (_, placed))| placed.is_none())
                .max_by(|a, b| a.1.0.abs().total_cmp(&b.1.0.abs()));
            let Some((at, (&width, _))) = widest else {
                return;
            };
            if width.abs() <= NOTHING {
                return;
            }
            eliminate(&mut inverse, at, &along);
            if let Some(place) = placed.get_mut(at) {
                *place = Some(variable);
            }
        }
        self.basis = placed.into_iter().flatten().collect();
        self.inverse = inverse;
    }
}

/// Makes the column `along` a unit column with its one in the row `at`.
fn eliminate(rows: &mut [Vec<f64>], at: usize, along: &[f64]) {
    let width = get(along, at);
    let Some(row) = rows.get_mut(at) else {
        return;
    };
    let mut own = std::mem::take(row);
    for entry in &mut own {
        *entry /= width;
    }
    for (row, &factor) in rows.iter_mut().zip(along) {
        if factor != 0.0 {
            for (entry, own) in row.iter_mut().zip(&own) {
                *entry -= factor * own;
            }
        }
    }
    if let Some(row) = rows.get_mut(at) {
        *row = own;
    }
}

fn identity(rows: usize) -> Vec<Vec<f64>> {
    (0..rows)
        .map(|row| {
            (0..rows)
                .map(|at| if at == row { 1.0 } else { 0.0 })
                .collect()
        })
        .collect()
}

fn sum_of_products(a: &[i64], b: &[i64]) -> i128 {
    a.iter()
        .zip(b)
        .map(|(&a, &b)| i128::from(a) * i128::from(b))
        .sum()
}
