//! A comparison that was made: its rows, sorted, thinned out, and set against each other.

use std::cmp::Ordering;

use super::figure::{Aim, Reading};
use crate::stop::Reason;

/// What is varied, and the values that are tried.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// What is varied.
    pub name: String,
    /// Its values as they are shown and compared.
    pub values: Vec<Reading>,
}

/// What is read off each variant.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its heading.
    pub heading: String,
    /// What is better; none where that is not known.
    pub aim: Option<Aim>,
}

/// Why a variant cannot be built.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refused {
    /// The code of the error.
    pub code: String,
    /// What is in the way.
    pub message: String,
}

/// One variant.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Which of the combinations it is, counted from 1; it keeps its number wherever it is sorted to.
    pub number: usize,
    /// The place of its value on each axis.
    pub at: Vec<usize>,
    /// Its figures in the order of the columns, or why there are none.
    pub figures: Result<Vec<Reading>, Refused>,
}

/// Variants side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Comparison {
    /// What was compared, for titles.
    pub title: String,
    /// What was varied.
    pub axes: Vec<Axis>,
    /// What was read off.
    pub columns: Vec<Column>,
    /// The variants, in the order in which they are shown.
    pub rows: Vec<Row>,
    /// How many combinations were asked for.
    pub of: usize,
    /// Why the rest of them was not tried.
    pub stopped: Option<Reason>,
    /// The row that the others are set against.
    pub base: Option<Row>,
}

/// Where a figure of a row stands: on an axis or in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slot {
    /// The value on an axis.
    Axis(usize),
    /// The figure in a column.
    Column(usize),
}

impl Comparison {
    /// The names of axes and columns.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let axes = self.axes.iter().map(|axis| axis.name.as_str());
        axes.chain(self.columns.iter().map(|column| column.heading.as_str()))
    }

    /// The axis or column of a name.
    pub fn slot(&self, name: &str) -> Option<Slot> {
        let column = self.columns.iter().position(|one| one.heading == name);
        let axis = || self.axes.iter().position(|axis| axis.name == name);
        column.map(Slot::Column).or_else(|| axis().map(Slot::Axis))
    }

    /// What a row has on an axis or in a column.
    pub fn reading<'a>(&'a self, row: &'a Row, slot: Slot) -> Option<&'a Reading> {
        match slot {
            Slot::Axis(axis) => {
                let place = *row.at.get(axis)?;
                self.axes.get(axis)?.values.get(place)
            }
            Slot::Column(column) => row.figures.as_ref().ok()?.get(column),
        }
    }

    /// The same rows in the order of an axis or column, least first, or greatest first. Rows without a figure come last;
    /// equal ones keep their order.
    #[must_use]
    pub fn sorted(&self, slot: Slot, greatest_first: bool) -> Comparison {
        let mut sorted = self.clone();
        sorted.rows.sort_by(|one, other| {
            // An axis goes by the order in which its values were given where they are words.
            if let Slot::Axis(axis) = slot
                && let (Some(a), Some(b)) = (one.at.get(axis), other.at.get(axis))
                && self.is_of_words(axis)
            {
                return turned(a.cmp(b), greatest_first);
            }
            match (self.reading(one, slot), self.reading(other, slot)) {
                (Some(a), Some(b)) => turned(a.order(b), greatest_first),
                (Some(_), None) => Ordering::Less,
                (None, Some(_)) => Ordering::Greater,
                (None, None) => Ordering::Equal,
            }
        });
        sorted
    }

    fn is_of_words(&self, axis: usize) -> bool {
        self.axes.get(axis).is_some_and(|axis| {
            let mut values = axis.values.iter();
            values.any(|value| matches!(value, Reading::Text(_)))
        })
    }

    /// The same comparison with some of its rows.
    #[must_use]
    pub fn kept(&self, mut keeps: impl FnMut(&Row) -> bool) -> Comparison {
        let mut kept = self.clone();
        kept.rows.retain(|row| keeps(row));
        kept
    }

    /// The first so many rows.
    #[must_use]
    pub fn first(&self, count: usize) -> Comparison {
        let mut first = self.clone();
        first.rows.truncate(count);
        first
    }

    /// The best reading of a column, where its aim is known and more than one row has a number there.
    pub fn best(&self, column: usize) -> Option<&Reading> {
        let aim = self.columns.get(column)?.aim?;
        let slot = Slot::Column(column);
        let numbers: Vec<&Reading> = self
            .rows
            .iter()
            .filter_map(|row| self.reading(row, slot))
            .filter(|reading| reading.number().is_some())
            .collect();
        if numbers.len() < 2 {
            return None;
        }
        let least = |one: &&&Reading, other: &&&Reading| one.order(other);
        let found = match aim {
            Aim::Least => numbers.iter().min_by(least),
            Aim::Most => numbers.iter().max_by(least),
        };
        found.copied()
    }

    /// The rows that no other row beats: none is at least as good by every aim and better by one (the Pareto set). Rows
    /// without a number by one of the aims fall out.
    #[must_use]
    pub fn front(&self, aims: &[(Slot, Aim)]) -> Comparison {
        let merits = |row: &Row| -> Option<Vec<f64>> {
            aims.iter()
                .map(|(slot, aim)| {
                    let number = self.reading(row, *slot)?.number()?;
                    // What is added to nothing keeps zeros of either sign the same.
                    Some(0.0 + if *aim == Aim::Least { number } else { -number })
                })
                .collect()
        };
        let mut order: Vec<(usize, Vec<f64>)> = self
            .rows
            .iter()
            .enumerate()
            .filter_map(|(at, row)| Some((at, merits(row)?)))
            .collect();
        order.sort_by(|(_, one), (_, other)| {
            let pairs = one.iter().zip(other);
            pairs
                .map(|(a, b)| a.total_cmp(b))
                .find(|order| order.is_ne())
                .unwrap_or(Ordering::Equal)
        });
        // In this order a row can be beaten only by one before it, and if so, by one of those that are not beaten.
        let mut front: Vec<(usize, Vec<f64>)> = Vec::new();
        for (at, merit) in order {
            if !front.iter().any(|(_, better)| beats(better, &merit)) {
                front.push((at, merit));
            }
        }
        let mut places: Vec<usize> = front.into_iter().map(|(at, _)| at).collect();
        places.sort_unstable();
        let mut kept = self.clone();
        kept.rows = places
            .into_iter()
            .filter_map(|at| self.rows.get(at).cloned())
            .collect();
        kept
    }

    /// The same rows, each set against one of them.
    #[must_use]
    pub fn against(&self, base: &Row) -> Comparison {
        Comparison {
            base: Some(base.clone()),
            ..self.clone()
        }
    }

    /// The row of a number.
    pub fn numbered(&self, number: usize) -> Option<&Row> {
        self.rows.iter().find(|row| row.number == number)
    }
}

fn turned(order: Ordering, greatest_first: bool) -> Ordering {
    if greatest_first {
        order.reverse()
    } else {
        order
    }
}

/// Whether one merit is nowhere worse than another, and somewhere better.
fn beats(one: &[f64], other: &[f64]) -> bool {
    one.iter().zip(other).all(|(a, b)| a <= b) && one.iter().zip(other).any(|(a, b)| a < b)
}
