//! Which combinations of values a comparison tries, by number: they are never all written down.

use crate::plan::PlanError;

/// Most rows in one comparison where nobody allows more: each holds its figures until it is shown.
pub const MOST_ROWS: usize = 100_000;

/// Combinations of positions on several axes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Grid {
    lengths: Vec<usize>,
    paired: bool,
    count: usize,
}

impl Grid {
    /// Every value of each axis with every value of all others; the last axis changes fastest.
    ///
    /// # Errors
    /// When there are more than `most` combinations.
    pub fn crossed(lengths: &[usize], most: usize) -> Result<Grid, PlanError> {
        let count = lengths
            .iter()
            .try_fold(1_usize, |count, length| count.checked_mul(*length));
        Grid::counted(lengths, false, count, most)
    }

    /// The first values of all axes together, then the second ones, and so on.
    ///
    /// # Errors
    /// When the axes differ in length, or are longer than `most`.
    pub fn paired(lengths: &[usize], most: usize) -> Result<Grid, PlanError> {
        let count = lengths.first().copied().unwrap_or(0);
        if lengths.iter().any(|length| *length != count) {
            let lengths: Vec<String> = lengths.iter().map(ToString::to_string).collect();
            return Err(PlanError::new(
                "unpaired-values",
                format!(
                    "values that go in pairs must be as many of each, but there are {}",
                    lengths.join(", ")
                ),
                "list as many values of each, or leave out `paired` to try each with each",
            ));
        }
        Grid::counted(lengths, true, Some(count), most)
    }

    fn counted(
        lengths: &[usize],
        paired: bool,
        count: Option<usize>,
        most: usize,
    ) -> Result<Grid, PlanError> {
        let count = count.filter(|count| *count <= most).ok_or_else(|| {
            PlanError::new(
                "too-many-rows",
                format!("more than {most} combinations"),
                "vary fewer settings at once, or in wider steps",
            )
        })?;
        Ok(Grid {
            lengths: lengths.to_vec(),
            paired,
            count,
        })
    }

    /// How many combinations there are.
    pub fn count(&self) -> usize {
        self.count
    }

    /// The positions on the axes of one combination, counted from 0.
    pub fn at(&self, number: usize) -> Vec<usize> {
        if self.paired {
            return vec![number; self.lengths.len()];
        }
        let mut rest = number;
        let mut places: Vec<usize> = self
            .lengths
            .iter()
            .rev()
            .map(|length| {
                let length = (*length).max(1);
                let place = rest % length;
                rest /= length;
                place
            })
            .collect();
        places.reverse();
        places
    }
}
