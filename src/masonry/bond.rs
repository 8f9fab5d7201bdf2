//! Bonds as data: how far each course is shifted and which pieces are customary.

use serde::{Deserialize, Serialize};

use super::MasonryError;
use crate::quantity::{Length, QuantityError};

/// The finest division of a module that a bond may use; it keeps products within range.
const MOST_PARTS: i64 = 1000;

/// A bond of stretchers: per-course shifts of the raster of head joints.
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

impl Bond {
    /// Checks a bond whose fields were set by hand.
    ///
    /// # Errors
    /// The first field that is out of range.
    pub fn validate(&self) -> Result<(), MasonryError> {
        let within = |&part: &i64| (0..self.parts).contains(&part);
        let (top, bottom) = self.least_lap_of_unit;
        let ordered = self.pieces.is_sorted_by(|longer, shorter| longer > shorter);
        if !(1..=MOST_PARTS).contains(&self.parts)
            || self.shifts.is_empty()
            || !self.shifts.iter().all(within)
            || !self.pieces.iter().all(|piece| within(piece) && *piece > 0)
            || !ordered
            || !within(&self.lap)
            || bottom <= 0
            || !(0..=bottom).contains(&top)
        {
            return Err(MasonryError::new(
                format!("bond `{}` does not hold together", self.name),
                "shifts, pieces and lap are parts of a module: from 0 to less than `parts`, \
                 pieces the longest first; the least lap is at most the unit",
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
        let spoils: [Spoil; 6] = [
            |b| b.parts = 0,
            |b| b.shifts.clear(),
            |b| b.shifts.push(12),
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
