//! Sums of money, exact.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::QuantityError;
use super::length::round_div;

/// Parts of a currency's unit that are told apart: a hundredth of a cent.
const PARTS: i64 = 10_000;
/// Parts of a cent.
const PARTS_OF_A_CENT: i64 = 100;
/// No sum in a garden is larger; sums of many stay within 64 bits.
const MOST: i64 = 1_000_000_000 * PARTS;

/// A sum of money in the currency that its surroundings name, in whole hundredths of a cent.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Money(i64);

impl Money {
    /// Nothing.
    pub const ZERO: Money = Money(0);

    /// A sum in units of the currency, rounded to a hundredth of a cent.
    ///
    /// # Errors
    /// When it is no number, or beyond a thousand million.
    pub fn from_number(number: f64) -> Result<Money, QuantityError> {
        let parts = (number * PARTS as f64).round();
        if !parts.is_finite() || parts.abs() > MOST as f64 {
            return Err(QuantityError::overflow("sum of money"));
        }
        Ok(Money(parts as i64))
    }

    /// In units of the currency, for comparing and for other programs.
    pub fn to_number(self) -> f64 {
        self.0 as f64 / PARTS as f64
    }

    /// This sum for `amount` of something that costs it for each `per`, rounded to the cent; half a cent goes up.
    ///
    /// # Errors
    /// When the result is out of range.
    pub fn for_amount(self, amount: u64, per: u64) -> Result<Money, QuantityError> {
        let cents = i128::from(per.max(1)) * i128::from(PARTS_OF_A_CENT);
        let cents = round_div(i128::from(self.0) * i128::from(amount), cents);
        i64::try_from(cents * i128::from(PARTS_OF_A_CENT))
            .ok()
            .filter(|parts| parts.abs() <= MOST)
            .map(Money)
            .ok_or_else(|| QuantityError::overflow("sum of money"))
    }

    /// Both together.
    ///
    /// # Errors
    /// When the result is out of range.
    pub fn checked_add(self, other: Money) -> Result<Money, QuantityError> {
        self.0
            .checked_add(other.0)
            .map(Money)
            .ok_or_else(|| QuantityError::overflow("sum of money"))
    }

    /// What this is short of another sum; nothing where it is not.
    #[must_use]
    pub fn short_of(self, other: Money) -> Money {
        Money(other.0.saturating_sub(self.0).max(0))
    }

    /// Whether it is less than nothing.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }
}

impl fmt::Display for Money {
    /// Two decimals, and further ones where there are any.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let parts = self.0.unsigned_abs();
        let (whole, rest) = (parts / PARTS as u64, parts % PARTS as u64);
        let decimals = format!("{rest:04}");
        let (cents, finer) = decimals.split_at(2);
        write!(f, "{sign}{whole}.{cents}{}", finer.trim_end_matches('0'))
    }
}

impl FromStr for Money {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Money, QuantityError> {
        let number: f64 = text
            .trim()
            .parse()
            .map_err(|_| QuantityError::overflow("sum of money"))?;
        Money::from_number(number)
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Money {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Money, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(number: f64) -> Money {
        Money::from_number(number).unwrap()
    }

    #[test]
    fn sums_are_exact_and_rounded_to_the_cent_once() {
        // By hand: 103 × 0.65 = 66.95; 210 for 100, so 37 cost 77.70; a third of 0.05 is 0.02 to the cent.
        assert_eq!(money(0.65).for_amount(103, 1).unwrap().to_string(), "66.95");
        assert_eq!(
            money(210.0).for_amount(37, 100).unwrap().to_string(),
            "77.70"
        );
        assert_eq!(money(0.05).for_amount(1, 3).unwrap().to_string(), "0.02");
        assert_eq!(money(0.005).for_amount(1, 1).unwrap().to_string(), "0.01");
        assert_eq!(money(0.0125).to_string(), "0.0125");
        assert_eq!(money(-3.5).to_string(), "-3.50");
        // A tenth ten times is one, which binary fractions miss.
        let tenths = (0..10).try_fold(Money::ZERO, |sum, _| sum.checked_add(money(0.1)));
        assert_eq!(tenths.unwrap(), money(1.0));
        assert!(Money::from_number(f64::NAN).is_err());
        assert!(Money::from_number(1e12).is_err());
        assert!(money(9e8).for_amount(u64::MAX, 1).is_err());
        assert_eq!("0.6543".parse::<Money>().unwrap().to_string(), "0.6543");
    }
}
