//! Bonds as data: how far each course is shifted and which pieces are customary.

use serde::{Deserialize, Serialize};

use super::MasonryError;
use crate::quantity::{Length, QuantityError};

/// The finest division of a module that a bond may use; it keeps products within range.
const MOST_PARTS: i64 = 1000;

/// The most courses and pieces after which a bond repeats.
const LONGEST_REPEAT: usize = 24;

/// How a unit lies in a course.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Cell {
    /// Along the wall.
    Stretcher,
    /// Across the wall.
    Header,
}

/// A bond: the order of stretchers and headers in each course, and how far each course is shifted.
///
/// All fractions are whole numbers over `parts`, the divisions of one module (unit and joint).
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bond {
    /// The word that scripts use.
    pub name: String,
    /// The name for people.
    pub title: String,
    /// Divisions of one module, unit and head joint together.
    pub parts: i64,
    /// Shift of the raster of each course, repeating upwards from course 1.
    pub shifts: Vec<i64>,
    /// Stretchers and headers of each course in the order in which they repeat, such as `s`, `h` or `sh`; the orders
    /// repeat upwards from course 1.
    #[serde(default = "stretchers_only")]
    pub orders: Vec<String>,
    /// Whether head joints keep to the raster even where that takes cuts; always so where there are headers.
    #[serde(default)]
    pub strict: bool,
    /// Whether the same course shows headers on every side of a corner; else the sides take turns.
    #[serde(default)]
    pub level: bool,
    /// Customary pieces beside the whole unit, the longest first.
    pub pieces: Vec<i64>,
    /// The lap the bond aims at.
    pub lap: i64,
    /// The least lap over the course below, as a fraction of the unit's length.
    #[serde(rename = "least_lap")]
    pub least_lap_of_unit: (i64, i64),
    /// Where the rule comes from.
    pub source: String,
}

fn stretchers_only() -> Vec<String> {
    vec!["s".to_owned()]
}

impl Bond {
    /// Checks a bond whose fields were set by hand.
    ///
    /// # Errors
    /// The first field that is out of range.
    pub fn validate(&self) -> Result<(), MasonryError> {
        let within = |&part: &i64| (0..self.parts).contains(&part);
        let longest = self.orders.iter().map(String::len).max().unwrap_or(0);
        let shifted = |&part: &i64| (0..self.parts * longest as i64).contains(&part);
        let ordered_cells = |order: &String| {
            (1..=LONGEST_REPEAT).contains(&order.len()) && order.chars().all(|c| "sh".contains(c))
        };
        let (top, bottom) = self.least_lap_of_unit;
        let ordered = self.pieces.is_sorted_by(|longer, shorter| longer > shorter);
        if !(1..=MOST_PARTS).contains(&self.parts)
            || self.shifts.is_empty()
            || self.orders.is_empty()
            || self.orders.len().max(self.shifts.len()) > LONGEST_REPEAT
            || !self.orders.iter().all(ordered_cells)
            || !self.shifts.iter().all(shifted)
            || !self.pieces.iter().all(|piece| within(piece) && *piece > 0)
            || !ordered
            || !within(&self.lap)
            || bottom <= 0
            || !(0..=bottom).contains(&top)
        {
            return Err(MasonryError::new(
                format!("bond `{}` does not hold together", self.name),
                "shifts, pieces and lap are parts of a module: from 0 to less than `parts` (a shift to less than one \
                 repeat), pieces the longest first; orders are of `s` and `h`; the least lap is at most the unit",
            ));
        }
        Ok(())
    }

    /// The shift of a course's raster in parts of a module; course 1 is the lowest.
    pub fn shift(&self, course: u32) -> i64 {
        let count = self.shifts.len().max(1);
        let index = (course.saturating_sub(1) as usize).checked_rem(count);
        index.and_then(|i| self.shifts.get(i)).copied().unwrap_or(0)
    }

    /// Whether any course has headers.
    pub fn has_headers(&self) -> bool {
        self.orders.iter().any(|order| order.contains('h'))
    }

    /// Whether its courses are laid by their order and raster before cuts are counted.
    pub fn is_patterned(&self) -> bool {
        self.strict || self.has_headers()
    }

    /// After so many rows everything repeats: orders, shifts and turns at corners.
    pub fn repeat(&self) -> u32 {
        2 * (self.orders.len().max(1) * self.shifts.len().max(1)) as u32
    }

    /// The order of a row of the bond, counted from 0; row 0 is course 1 where sides do not take turns.
    pub fn cells(&self, row: u32) -> Vec<Cell> {
        let turn = (row as usize).checked_rem(self.orders.len()).unwrap_or(0);
        let order = self.orders.get(turn).map_or("s", String::as_str);
        order
            .chars()
            .map(|cell| match cell {
                'h' => Cell::Header,
                _ => Cell::Stretcher,
            })
            .collect()
    }

    /// Whether a row starts at a corner with a stretcher that lies on the raster: there its leg passes the corner.
    pub fn leads(&self, row: u32) -> bool {
        if self.level || !self.has_headers() {
            return row.is_multiple_of(2);
        }
        let starts = |row: u32| {
            self.cells(row).first() == Some(&Cell::Stretcher) && self.shift(row + 1) == 0
        };
        let first = (0..LONGEST_REPEAT as u32).find(|&row| starts(row));
        first.unwrap_or(0) % 2 == row % 2
    }

    /// The least lap for units of this length; a quarter of it unless the bond says more.
    ///
    /// # Errors
    /// When the length is out of range.
    pub fn least_lap(&self, unit_length: Length) -> Result<Length, QuantityError> {
        let (top, bottom) = self.least_lap_of_unit;
        let whole = unit_length.checked_mul(top)?;
        Ok(Length::from_nm(whole.nm().checked_div(bottom).unwrap_or(0)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn third() -> Bond {
        Bond {
            name: "third".to_owned(),
            title: String::new(),
            parts: 12,
            shifts: vec![0, 4],
            orders: stretchers_only(),
            strict: false,
            level: false,
            pieces: vec![9, 8, 6],
            lap: 4,
            least_lap_of_unit: (1, 4),
            source: "test".to_owned(),
        }
    }

    #[test]
    fn shifts_repeat_upwards() {
        let bond = third();
        let shifts: Vec<i64> = (1..=4).map(|course| bond.shift(course)).collect();
        assert_eq!(shifts, [0, 4, 0, 4]);
        assert_eq!(bond.shift(0), 0);
        assert_eq!(bond.shift(u32::MAX), 0);
    }

    #[test]
    fn the_least_lap_is_a_quarter_of_the_unit() {
        // 7 5/8 in: 1.906 in (TMS 402 takes the unit, not the module).
        let unit = Length::from_inch(7.625).unwrap();
        let lap = third().least_lap(unit).unwrap();
        assert!((lap.to_inch() - 1.906_25).abs() < 1e-9);
        assert!(third().least_lap(Length::MAX).is_ok());
    }

    #[test]
    fn disordered_bonds_are_refused() {
        type Spoil = fn(&mut Bond);
        let spoils: [Spoil; 8] = [
            |b| b.parts = 0,
            |b| b.shifts.clear(),
            |b| b.shifts.push(12),
            |b| b.orders.push("sx".to_owned()),
            |b| b.orders.clear(),
            |b| b.pieces.push(7),
            |b| b.least_lap_of_unit = (1, 0),
            |b| b.least_lap_of_unit = (5, 4),
        ];
        assert!(third().validate().is_ok());
        for spoil in spoils {
            let mut bond = third();
            spoil(&mut bond);
            assert!(bond.validate().is_err());
        }
    }
}
