//! Lengths as whole nanometres.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use super::{
    Area, NM_PER_FOOT, NM_PER_INCH, NM_PER_M, NM_PER_MM, QuantityError, parse::parse_length,
};

/// The name of this quantity in messages.
const WHAT: &str = "length";
/// 2^63 as a float: the first value above the range of `i64`.
const I64_END: f64 = 9_223_372_036_854_775_808.0;

/// A length: a whole number of nanometres, from about −9.2 to 9.2 million kilometres.
///
/// One inch is 25 400 000 nm and 1/64 inch is 396 875 nm, so metric and inch work are both exact.
///
/// The operators `+`, `-` and `*` saturate at [`Length::MIN`] and [`Length::MAX`]; they never
/// wrap and never panic. Use the `checked_` methods for anything a script can reach.
///
/// In serialised form a length is its exact text (`"215 mm"`); it is read from any text that
/// [`parse_length`] accepts.
///
/// # Examples
/// ```
/// use perpend::quantity::Length;
/// assert_eq!(Length::from_ft(3.0)?, Length::from_mm(914.4)?);
/// # Ok::<(), perpend::quantity::QuantityError>(())
/// ```
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Length(i64);

impl Length {
    /// No length.
    pub const ZERO: Self = Self(0);
    /// The longest length.
    pub const MAX: Self = Self(i64::MAX);
    /// The most negative length.
    pub const MIN: Self = Self(i64::MIN);

    /// A length of whole nanometres.
    pub const fn from_nm(nm: i64) -> Self {
        Self(nm)
    }

    /// The length in nanometres.
    pub const fn nm(self) -> i64 {
        self.0
    }

    /// A length of whole millimetres, saturating.
    pub const fn mm(mm: i64) -> Self {
        Self(mm.saturating_mul(NM_PER_MM))
    }

    /// A length in millimetres, to the nearest nanometre.
    ///
    /// # Errors
    /// When the number is not finite or the length is out of range.
    pub fn from_mm(mm: f64) -> Result<Self, QuantityError> {
        Self::from_unit(mm, NM_PER_MM)
    }

    /// A length in metres, to the nearest nanometre.
    ///
    /// # Errors
    /// When the number is not finite or the length is out of range.
    pub fn from_m(m: f64) -> Result<Self, QuantityError> {
        Self::from_unit(m, NM_PER_M)
    }

    /// A length in inches, to the nearest nanometre.
    ///
    /// # Errors
    /// When the number is not finite or the length is out of range.
    pub fn from_inch(inch: f64) -> Result<Self, QuantityError> {
        Self::from_unit(inch, NM_PER_INCH)
    }

    /// A length in feet, to the nearest nanometre.
    ///
    /// # Errors
    /// When the number is not finite or the length is out of range.
    pub fn from_ft(ft: f64) -> Result<Self, QuantityError> {
        Self::from_unit(ft, NM_PER_FOOT)
    }

    fn from_unit(count: f64, unit_nm: i64) -> Result<Self, QuantityError> {
        let nm = count * unit_nm as f64;
        // A finite count can still overflow to infinity: that is range, not a bad number.
        if !count.is_finite() {
            return Err(QuantityError::not_finite(WHAT));
        }
        Self::from_nearest(nm)
    }

    fn from_nearest(nm: f64) -> Result<Self, QuantityError> {
        let nm = nm.round();
        if nm.is_nan() {
            return Err(QuantityError::not_finite(WHAT));
        }
        if !(-I64_END..I64_END).contains(&nm) {
            return Err(QuantityError::overflow(WHAT));
        }
        Ok(Self(nm as i64))
    }

    /// The length in millimetres.
    pub fn to_mm(self) -> f64 {
        self.0 as f64 / NM_PER_MM as f64
    }

    /// The length in metres.
    pub fn to_m(self) -> f64 {
        self.0 as f64 / NM_PER_M as f64
    }

    /// The length in inches.
    pub fn to_inch(self) -> f64 {
        self.0 as f64 / NM_PER_INCH as f64
    }

    /// The length in feet.
    pub fn to_ft(self) -> f64 {
        self.0 as f64 / NM_PER_FOOT as f64
    }

    /// The sum.
    ///
    /// # Errors
    /// When it is out of range.
    pub fn checked_add(self, other: Self) -> Result<Self, QuantityError> {
        self.0
            .checked_add(other.0)
            .map(Self)
            .ok_or_else(|| QuantityError::overflow(WHAT))
    }

    /// The difference.
    ///
    /// # Errors
    /// When it is out of range.
    pub fn checked_sub(self, other: Self) -> Result<Self, QuantityError> {
        self.0
            .checked_sub(other.0)
            .map(Self)
            .ok_or_else(|| QuantityError::overflow(WHAT))
    }

    /// The length taken `count` times.
    ///
    /// # Errors
    /// When it is out of range.
    pub fn checked_mul(self, count: i64) -> Result<Self, QuantityError> {
        self.0
            .checked_mul(count)
            .map(Self)
            .ok_or_else(|| QuantityError::overflow(WHAT))
    }

    /// The length with its sign turned.
    ///
    /// # Errors
    /// When it is out of range: [`Length::MIN`] has no opposite.
    pub fn checked_neg(self) -> Result<Self, QuantityError> {
        self.0
            .checked_neg()
            .map(Self)
            .ok_or_else(|| QuantityError::overflow(WHAT))
    }

    /// The length without its sign.
    ///
    /// # Errors
    /// When it is out of range: [`Length::MIN`] has no opposite.
    pub fn checked_abs(self) -> Result<Self, QuantityError> {
        self.0
            .checked_abs()
            .map(Self)
            .ok_or_else(|| QuantityError::overflow(WHAT))
    }

    /// The length times a number, to the nearest nanometre.
    ///
    /// Exact to the nanometre for lengths up to 9000 km; a float carries no more digits.
    ///
    /// # Errors
    /// When the number is not finite or the result is out of range.
    pub fn scale(self, factor: f64) -> Result<Self, QuantityError> {
        if !factor.is_finite() {
            return Err(QuantityError::not_finite(WHAT));
        }
        Self::from_nearest(self.0 as f64 * factor)
    }

    /// This length divided by another; `None` when the other is zero.
    pub fn ratio(self, other: Self) -> Option<f64> {
        (other.0 != 0).then(|| self.0 as f64 / other.0 as f64)
    }

    /// The length without its sign, saturating.
    #[must_use]
    pub const fn abs(self) -> Self {
        Self(self.0.saturating_abs())
    }

    /// Whether the length is exactly zero.
    pub const fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// Whether the length is above zero.
    pub const fn is_positive(self) -> bool {
        self.0 > 0
    }

    /// Whether the length is below zero.
    pub const fn is_negative(self) -> bool {
        self.0 < 0
    }

    /// Half the length; an odd nanometre is dropped towards zero.
    #[must_use]
    pub const fn half(self) -> Self {
        Self(self.0 / 2)
    }

    /// The nearest whole multiple of `step`; a tie goes away from zero.
    ///
    /// # Errors
    /// When the step is not above zero or the result is out of range.
    pub fn round_to(self, step: Self) -> Result<Self, QuantityError> {
        if !step.is_positive() {
            return Err(QuantityError::not_positive("step to round to"));
        }
        let rounded = round_div(i128::from(self.0), i128::from(step.0)) * i128::from(step.0);
        i64::try_from(rounded)
            .map(Self)
            .map_err(|_| QuantityError::overflow(WHAT))
    }

    /// The rectangle of this length by another: exact.
    pub fn times(self, other: Self) -> Area {
        // Two i64 always fit: 2^63 · 2^63 = 2^126.
        Area::from_nm2(i128::from(self.0) * i128::from(other.0))
    }
}

/// `num / den` to the nearest whole number, a tie going away from zero; 0 for a zero divisor.
///
/// Callers keep `|num| + |den|` within `i128`; both come from 64-bit values times small constants.
pub(crate) fn round_div(num: i128, den: i128) -> i128 {
    let quotient = num.checked_div(den).unwrap_or(0);
    let rest = num.checked_rem(den).unwrap_or(0);
    let round_up = rest.unsigned_abs() >= den.unsigned_abs() - rest.unsigned_abs();
    if rest != 0 && round_up {
        quotient + num.signum() * den.signum()
    } else {
        quotient
    }
}

impl Add for Length {
    type Output = Self;
    /// Saturating sum.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Length {
    type Output = Self;
    /// Saturating difference.
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl Neg for Length {
    type Output = Self;
    /// Saturating opposite.
    fn neg(self) -> Self {
        Self(self.0.saturating_neg())
    }
}

impl Mul<i64> for Length {
    type Output = Self;
    /// Saturating multiple.
    fn mul(self, count: i64) -> Self {
        Self(self.0.saturating_mul(count))
    }
}

impl AddAssign for Length {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl SubAssign for Length {
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl Sum for Length {
    fn sum<I: Iterator<Item = Self>>(lengths: I) -> Self {
        lengths.fold(Self::ZERO, Add::add)
    }
}

impl<'a> Sum<&'a Length> for Length {
    fn sum<I: Iterator<Item = &'a Length>>(lengths: I) -> Self {
        lengths.copied().sum()
    }
}

impl Serialize for Length {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct LengthText;

        impl de::Visitor<'_> for LengthText {
            type Value = Length;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a length with its unit, such as \"215 mm\"")
            }

            fn visit_str<E: de::Error>(self, text: &str) -> Result<Length, E> {
                parse_length(text)
                    .map_err(|error| E::custom(format!("{}: {}", error.message, error.remedy)))
            }
        }

        deserializer.deserialize_str(LengthText)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::QuantityErrorKind;
    use proptest::prelude::*;

    #[test]
    fn a_foot_and_an_inch_are_exact() {
        assert_eq!(Length::from_ft(3.0).unwrap().nm(), 914_400_000);
        assert_eq!(Length::from_inch(36.0).unwrap().nm(), 914_400_000);
        assert_eq!(Length::from_mm(914.4).unwrap().nm(), 914_400_000);
        assert_eq!(Length::from_inch(1.0 / 64.0).unwrap().nm(), 396_875);
        assert_eq!(Length::from_m(0.2).unwrap(), Length::mm(200));
    }

    #[test]
    fn bad_numbers_are_errors() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let error = Length::from_mm(bad).unwrap_err();
            assert_eq!(error.kind, QuantityErrorKind::NotFinite);
        }
        for far in [1e300, -1e300, 9.3e12, f64::MAX] {
            let error = Length::from_mm(far).unwrap_err();
            assert_eq!(error.kind, QuantityErrorKind::Overflow);
        }
    }

    #[test]
    fn rounding_goes_to_the_nearest_multiple() {
        let step = Length::mm(5);
        assert_eq!(Length::mm(12).round_to(step).unwrap(), Length::mm(10));
        assert_eq!(Length::mm(13).round_to(step).unwrap(), Length::mm(15));
        assert_eq!(
            Length::from_nm(-12_500_000).round_to(step).unwrap(),
            Length::mm(-15)
        );
        assert!(Length::mm(13).round_to(Length::ZERO).is_err());
        assert!(Length::MAX.round_to(Length::from_nm(1)).is_ok());
        assert!(Length::MAX.round_to(Length::from_nm(4)).is_err());
    }

    #[test]
    fn operators_saturate() {
        assert_eq!(Length::MAX + Length::mm(1), Length::MAX);
        assert_eq!(Length::MIN - Length::mm(1), Length::MIN);
        assert_eq!(-Length::MIN, Length::MAX);
        assert_eq!(Length::MIN.abs(), Length::MAX);
        assert_eq!(Length::MAX * 2, Length::MAX);
        assert!(Length::MIN.checked_neg().is_err());
        assert!(Length::MIN.checked_abs().is_err());
    }

    #[test]
    fn halves_drop_the_odd_nanometre_towards_zero() {
        assert_eq!(Length::from_nm(5).half(), Length::from_nm(2));
        assert_eq!(Length::from_nm(-5).half(), Length::from_nm(-2));
        assert_eq!(Length::mm(5).ratio(Length::ZERO), None);
    }

    #[test]
    fn a_length_is_text_in_serialised_form() {
        let length = Length::from_nm(12_500_000);
        let text = serde_json::to_string(&length).unwrap();
        assert_eq!(text, "\"12.5 mm\"");
        assert_eq!(serde_json::from_str::<Length>(&text).unwrap(), length);
        assert_eq!(
            serde_json::from_str::<Length>("\"8 1/2 in\"").unwrap(),
            Length::from_nm(215_900_000)
        );
        assert!(serde_json::from_str::<Length>("215").is_err());
    }

    proptest! {
        #[test]
        fn arithmetic_never_panics(a: i64, b: i64, n: i64, f: f64) {
            let (a, b) = (Length::from_nm(a), Length::from_nm(b));
            let _ = (a + b, a - b, -a, a * n, a.abs(), a.half(), a.times(b));
            let _ = (a.checked_add(b), a.checked_sub(b), a.checked_mul(n));
            let _ = (a.checked_neg(), a.checked_abs(), a.scale(f), a.ratio(b), a.round_to(b));
            let _ = (Length::from_mm(f), Length::from_m(f), Length::from_inch(f), Length::from_ft(f));
        }

        #[test]
        fn checked_sums_agree_with_wide_sums(a: i64, b: i64) {
            let wide = i128::from(a) + i128::from(b);
            let sum = Length::from_nm(a).checked_add(Length::from_nm(b)).ok();
            prop_assert_eq!(sum.map(|s| i128::from(s.nm())), i64::try_from(wide).ok().map(i128::from));
        }
    }
}
