//! Areas and volumes as exact products of lengths; mass, density, pressure, temperature and time.

use std::iter::Sum;
use std::ops::{Add, AddAssign, Mul, Neg, Sub, SubAssign};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};

use super::{Length, QuantityError};

/// Square nanometres in a square metre.
const NM2_PER_M2: f64 = 1e18;
/// Cubic nanometres in a cubic metre.
const NM3_PER_M3: f64 = 1e27;
/// Cubic nanometres in a cubic millimetre.
const NM3_PER_MM3: f64 = 1e18;
/// Litres in a cubic metre.
const LITRES_PER_M3: f64 = 1000.0;
/// Square metres in a square foot: 0.3048², exact.
const M2_PER_FT2: f64 = 0.092_903_04;
/// Cubic metres in a cubic foot: 0.3048³, exact.
const M3_PER_FT3: f64 = 0.028_316_846_592;
/// Cubic feet in a cubic yard.
const FT3_PER_YD3: f64 = 27.0;
/// Kilograms in a pound: exact (international pound, 1959).
const KG_PER_LB: f64 = 0.453_592_37;
/// Grams in a kilogram, and kilograms in a tonne.
const THOUSAND: f64 = 1000.0;
/// Pascals in a pound-force per square foot: 0.45359237 × 9.80665 / 0.3048².
const PA_PER_PSF: f64 = KG_PER_LB * 9.806_65 / M2_PER_FT2;
/// Kelvin at 0 °C, exact.
const KELVIN_AT_0_C: f64 = 273.15;
/// Degrees Fahrenheit at 0 °C.
const F_AT_0_C: f64 = 32.0;
/// Degrees Fahrenheit to one degree Celsius.
const F_PER_C: f64 = 1.8;
/// Seconds in a minute, and minutes in an hour.
const SIXTY: f64 = 60.0;
/// Seconds in an hour.
const S_PER_H: f64 = SIXTY * SIXTY;
/// Seconds in a day.
const S_PER_DAY: f64 = 24.0 * S_PER_H;
/// 2^127 as a float: the first value above the range of `i128`.
const I128_END: f64 = 170_141_183_460_469_231_731_687_303_715_884_105_728.0;

/// The nearest whole number as `i128`.
fn nearest_i128(value: f64, what: &str) -> Result<i128, QuantityError> {
    if value.is_nan() {
        return Err(QuantityError::not_finite(what));
    }
    let value = value.round();
    if !(-I128_END..I128_END).contains(&value) {
        return Err(QuantityError::overflow(what));
    }
    Ok(value as i128)
}

/// `value` when both it and what it was made from are finite.
fn finite(given: f64, value: f64, what: &str) -> Result<f64, QuantityError> {
    if !given.is_finite() {
        return Err(QuantityError::not_finite(what));
    }
    if !value.is_finite() {
        return Err(QuantityError::overflow(what));
    }
    Ok(value)
}

/// Keeps an operator's result finite; not-a-number becomes the largest value, which shows.
fn saturate(value: f64) -> f64 {
    if value.is_nan() {
        f64::MAX
    } else {
        value.clamp(f64::MIN, f64::MAX)
    }
}

/// Arithmetic shared by the exact quantities.
macro_rules! exact {
    ($name:ident, $what:literal) => {
        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0);

            /// Whether it is exactly zero.
            pub const fn is_zero(self) -> bool {
                self.0 == 0
            }

            /// Whether it is above zero.
            pub const fn is_positive(self) -> bool {
                self.0 > 0
            }

            /// The sum.
            ///
            /// # Errors
            /// When it is out of range.
            pub fn checked_add(self, other: Self) -> Result<Self, QuantityError> {
                self.0
                    .checked_add(other.0)
                    .map(Self)
                    .ok_or_else(|| QuantityError::overflow($what))
            }

            /// The difference.
            ///
            /// # Errors
            /// When it is out of range.
            pub fn checked_sub(self, other: Self) -> Result<Self, QuantityError> {
                self.0
                    .checked_sub(other.0)
                    .map(Self)
                    .ok_or_else(|| QuantityError::overflow($what))
            }

            /// Taken `count` times.
            ///
            /// # Errors
            /// When it is out of range.
            pub fn checked_mul(self, count: i64) -> Result<Self, QuantityError> {
                self.0
                    .checked_mul(i128::from(count))
                    .map(Self)
                    .ok_or_else(|| QuantityError::overflow($what))
            }

            /// Times a number, to a float's 15 to 16 digits.
            ///
            /// # Errors
            /// When the number is not finite or the result is out of range.
            pub fn scale(self, factor: f64) -> Result<Self, QuantityError> {
                if !factor.is_finite() {
                    return Err(QuantityError::not_finite($what));
                }
                nearest_i128(self.0 as f64 * factor, $what).map(Self)
            }

            /// This divided by another; `None` when the other is zero.
            pub fn ratio(self, other: Self) -> Option<f64> {
                (other.0 != 0).then(|| self.0 as f64 / other.0 as f64)
            }
        }

        impl Add for $name {
            type Output = Self;
            /// Saturating sum.
            fn add(self, other: Self) -> Self {
                Self(self.0.saturating_add(other.0))
            }
        }

        impl Sub for $name {
            type Output = Self;
            /// Saturating difference.
            fn sub(self, other: Self) -> Self {
                Self(self.0.saturating_sub(other.0))
            }
        }

        impl Neg for $name {
            type Output = Self;
            /// Saturating opposite.
            fn neg(self) -> Self {
                Self(self.0.saturating_neg())
            }
        }

        impl Mul<i64> for $name {
            type Output = Self;
            /// Saturating multiple.
            fn mul(self, count: i64) -> Self {
                Self(self.0.saturating_mul(i128::from(count)))
            }
        }

        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }

        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                *self = *self - other;
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                values.fold(Self::ZERO, Add::add)
            }
        }

        impl<'a> Sum<&'a $name> for $name {
            fn sum<I: Iterator<Item = &'a $name>>(values: I) -> Self {
                values.copied().sum()
            }
        }
    };
}

/// Saturating arithmetic shared by the quantities that may be added.
macro_rules! additive {
    ($name:ident, $what:literal) => {
        impl $name {
            /// Nothing.
            pub const ZERO: Self = Self(0.0);

            /// Times a number.
            ///
            /// # Errors
            /// When the number is not finite or the result is out of range.
            pub fn scale(self, factor: f64) -> Result<Self, QuantityError> {
                finite(factor, self.0 * factor, $what).map(Self)
            }

            /// This divided by another; `None` when the other is zero.
            pub fn ratio(self, other: Self) -> Option<f64> {
                (other.0 != 0.0).then(|| self.0 / other.0)
            }
        }

        impl Add for $name {
            type Output = Self;
            /// Saturating sum.
            fn add(self, other: Self) -> Self {
                Self(saturate(self.0 + other.0))
            }
        }

        impl Sub for $name {
            type Output = Self;
            /// Saturating difference.
            fn sub(self, other: Self) -> Self {
                Self(saturate(self.0 - other.0))
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            /// Saturating multiple; a factor that is not a number gives the largest value.
            fn mul(self, factor: f64) -> Self {
                Self(saturate(self.0 * factor))
            }
        }

        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                *self = *self + other;
            }
        }

        impl Sum for $name {
            fn sum<I: Iterator<Item = Self>>(values: I) -> Self {
                values.fold(Self::ZERO, Add::add)
            }
        }

        impl<'a> Sum<&'a $name> for $name {
            fn sum<I: Iterator<Item = &'a $name>>(values: I) -> Self {
                values.copied().sum()
            }
        }
    };
}

/// Serialised form: a plain number in one fixed unit.
macro_rules! as_number {
    ($name:ident, $to:ident, $from:ident) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_f64(self.$to())
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let number = f64::deserialize(deserializer)?;
                Self::$from(number).map_err(de::Error::custom)
            }
        }
    };
}

/// An area in whole square nanometres; serialised as a number of m².
///
/// The operators saturate; they never wrap and never panic.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Area(i128);

exact!(Area, "area");
as_number!(Area, to_m2, from_m2);

impl Area {
    /// An area of whole square nanometres.
    pub const fn from_nm2(nm2: i128) -> Self {
        Self(nm2)
    }

    /// The area in square nanometres.
    pub const fn nm2(self) -> i128 {
        self.0
    }

    /// An area in square metres, to a float's 15 to 16 digits.
    ///
    /// # Errors
    /// When the number is not finite or the area is out of range.
    pub fn from_m2(m2: f64) -> Result<Self, QuantityError> {
        finite(m2, m2, "area")?;
        nearest_i128(m2 * NM2_PER_M2, "area").map(Self)
    }

    /// An area in square feet, to a float's 15 to 16 digits.
    ///
    /// # Errors
    /// When the number is not finite or the area is out of range.
    pub fn from_ft2(ft2: f64) -> Result<Self, QuantityError> {
        Self::from_m2(ft2 * M2_PER_FT2)
    }

    /// The area in square metres.
    pub fn to_m2(self) -> f64 {
        self.0 as f64 / NM2_PER_M2
    }

    /// The area in square feet.
    pub fn to_ft2(self) -> f64 {
        self.to_m2() / M2_PER_FT2
    }

    /// The prism on this area: exact, saturating beyond 1.7 × 10¹¹ m³.
    pub fn times(self, height: Length) -> Volume {
        Volume(self.0.saturating_mul(i128::from(height.nm())))
    }
}

/// A volume in whole cubic nanometres; serialised as a number of m³.
///
/// The operators saturate at about 1.7 × 10¹¹ m³; they never wrap and never panic.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Debug)]
pub struct Volume(i128);

exact!(Volume, "volume");
as_number!(Volume, to_m3, from_m3);

impl Volume {
    /// A volume of whole cubic nanometres.
    pub const fn from_nm3(nm3: i128) -> Self {
        Self(nm3)
    }

    /// The volume in cubic nanometres.
    pub const fn nm3(self) -> i128 {
        self.0
    }

    /// A volume in cubic metres, to a float's 15 to 16 digits.
    ///
    /// # Errors
    /// When the number is not finite or the volume is out of range.
    pub fn from_m3(m3: f64) -> Result<Self, QuantityError> {
        finite(m3, m3, "volume")?;
        nearest_i128(m3 * NM3_PER_M3, "volume").map(Self)
    }

    /// A volume in litres.
    ///
    /// # Errors
    /// When the number is not finite or the volume is out of range.
    pub fn from_litre(litre: f64) -> Result<Self, QuantityError> {
        Self::from_m3(litre / LITRES_PER_M3)
    }

    /// A volume in cubic feet.
    ///
    /// # Errors
    /// When the number is not finite or the volume is out of range.
    pub fn from_ft3(ft3: f64) -> Result<Self, QuantityError> {
        Self::from_m3(ft3 * M3_PER_FT3)
    }

    /// A volume in cubic yards.
    ///
    /// # Errors
    /// When the number is not finite or the volume is out of range.
    pub fn from_yd3(yd3: f64) -> Result<Self, QuantityError> {
        Self::from_ft3(yd3 * FT3_PER_YD3)
    }

    /// The volume in cubic metres.
    pub fn to_m3(self) -> f64 {
        self.0 as f64 / NM3_PER_M3
    }

    /// The volume in litres.
    pub fn to_litre(self) -> f64 {
        self.to_m3() * LITRES_PER_M3
    }

    /// The volume in cubic feet.
    pub fn to_ft3(self) -> f64 {
        self.to_m3() / M3_PER_FT3
    }

    /// The volume in cubic yards.
    pub fn to_yd3(self) -> f64 {
        self.to_ft3() / FT3_PER_YD3
    }

    /// The volume in cubic millimetres.
    pub fn to_mm3(self) -> f64 {
        self.0 as f64 / NM3_PER_MM3
    }

    /// What this volume weighs at a density, saturating.
    pub fn mass(self, density: Density) -> Mass {
        Mass(saturate(self.to_m3() * density.0))
    }
}

/// A mass in kilograms: always finite; serialised as a number of kg.
///
/// The operators saturate at the range of a float.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Debug)]
pub struct Mass(f64);

additive!(Mass, "mass");
as_number!(Mass, kg, from_kg);

impl Mass {
    /// A mass in kilograms.
    ///
    /// # Errors
    /// When the number is not finite.
    pub fn from_kg(kg: f64) -> Result<Self, QuantityError> {
        finite(kg, kg, "mass").map(Self)
    }

    /// A mass in grams.
    ///
    /// # Errors
    /// When the number is not finite.
    pub fn from_g(g: f64) -> Result<Self, QuantityError> {
        Self::from_kg(g / THOUSAND)
    }

    /// A mass in pounds.
    ///
    /// # Errors
    /// When the number is not finite.
    pub fn from_lb(lb: f64) -> Result<Self, QuantityError> {
        Self::from_kg(lb * KG_PER_LB)
    }

    /// A mass in tonnes of 1000 kg.
    ///
    /// # Errors
    /// When the number is not finite or the mass is out of range.
    pub fn from_tonne(tonne: f64) -> Result<Self, QuantityError> {
        finite(tonne, tonne * THOUSAND, "mass").map(Self)
    }

    /// The mass in kilograms.
    pub fn kg(self) -> f64 {
        self.0
    }

    /// The mass in pounds.
    pub fn lb(self) -> f64 {
        self.0 / KG_PER_LB
    }

    /// The mass in tonnes of 1000 kg.
    pub fn tonne(self) -> f64 {
        self.0 / THOUSAND
    }
}

/// A density in kilograms per cubic metre: always finite; serialised as that number.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Debug)]
pub struct Density(f64);

as_number!(Density, kg_m3, from_kg_m3);

impl Density {
    /// A density in kg/m³.
    ///
    /// # Errors
    /// When the number is not finite.
    pub fn from_kg_m3(kg_m3: f64) -> Result<Self, QuantityError> {
        finite(kg_m3, kg_m3, "density").map(Self)
    }

    /// A density in pounds per cubic foot.
    ///
    /// # Errors
    /// When the number is not finite or the density is out of range.
    pub fn from_lb_ft3(lb_ft3: f64) -> Result<Self, QuantityError> {
        finite(lb_ft3, lb_ft3 * KG_PER_LB / M3_PER_FT3, "density").map(Self)
    }

    /// The density in kg/m³.
    pub fn kg_m3(self) -> f64 {
        self.0
    }

    /// The density in pounds per cubic foot.
    pub fn lb_ft3(self) -> f64 {
        self.0 * M3_PER_FT3 / KG_PER_LB
    }
}

/// A pressure in pascals: always finite; serialised as a number of kPa.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Debug)]
pub struct Pressure(f64);

additive!(Pressure, "pressure");
as_number!(Pressure, kpa, from_kpa);

impl Pressure {
    /// A pressure in pascals.
    ///
    /// # Errors
    /// When the number is not finite.
    pub fn from_pa(pa: f64) -> Result<Self, QuantityError> {
        finite(pa, pa, "pressure").map(Self)
    }

    /// A pressure in kilopascals (kN/m²).
    ///
    /// # Errors
    /// When the number is not finite or the pressure is out of range.
    pub fn from_kpa(kpa: f64) -> Result<Self, QuantityError> {
        finite(kpa, kpa * THOUSAND, "pressure").map(Self)
    }

    /// A pressure in pounds-force per square foot.
    ///
    /// # Errors
    /// When the number is not finite or the pressure is out of range.
    pub fn from_psf(psf: f64) -> Result<Self, QuantityError> {
        finite(psf, psf * PA_PER_PSF, "pressure").map(Self)
    }

    /// The pressure in pascals.
    pub fn pa(self) -> f64 {
        self.0
    }

    /// The pressure in kilopascals.
    pub fn kpa(self) -> f64 {
        self.0 / THOUSAND
    }

    /// The pressure in pounds-force per square foot.
    pub fn psf(self) -> f64 {
        self.0 / PA_PER_PSF
    }
}

/// A temperature in kelvin: finite and not below 0 K; serialised as a number of °C.
#[derive(Clone, Copy, PartialEq, PartialOrd, Debug)]
pub struct Temperature(f64);

as_number!(Temperature, deg_c, from_deg_c);

impl Temperature {
    /// A temperature in kelvin.
    ///
    /// # Errors
    /// When the number is not finite or below 0 K.
    pub fn from_kelvin(kelvin: f64) -> Result<Self, QuantityError> {
        finite(kelvin, kelvin, "temperature")?;
        if kelvin < 0.0 {
            return Err(QuantityError {
                kind: super::QuantityErrorKind::BelowAbsoluteZero,
                message: "no temperature is below absolute zero (-273.15 °C)".to_owned(),
                remedy: "check the sign and the unit of the temperature".to_owned(),
            });
        }
        Ok(Self(kelvin))
    }

    /// A temperature in degrees Celsius.
    ///
    /// # Errors
    /// When the number is not finite or below absolute zero.
    pub fn from_deg_c(deg_c: f64) -> Result<Self, QuantityError> {
        Self::from_kelvin(deg_c + KELVIN_AT_0_C)
    }

    /// A temperature in degrees Fahrenheit.
    ///
    /// # Errors
    /// When the number is not finite or below absolute zero.
    pub fn from_deg_f(deg_f: f64) -> Result<Self, QuantityError> {
        Self::from_deg_c((deg_f - F_AT_0_C) / F_PER_C)
    }

    /// The temperature in degrees Celsius.
    pub fn deg_c(self) -> f64 {
        self.0 - KELVIN_AT_0_C
    }

    /// The temperature in degrees Fahrenheit.
    pub fn deg_f(self) -> f64 {
        self.deg_c() * F_PER_C + F_AT_0_C
    }

    /// The temperature in kelvin.
    pub fn kelvin(self) -> f64 {
        self.0
    }
}

/// A span of time in seconds: always finite; serialised as a number of seconds.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Debug)]
pub struct Duration(f64);

additive!(Duration, "duration");
as_number!(Duration, s, from_s);

impl Duration {
    /// A duration in seconds.
    ///
    /// # Errors
    /// When the number is not finite.
    pub fn from_s(s: f64) -> Result<Self, QuantityError> {
        finite(s, s, "duration").map(Self)
    }

    /// A duration in minutes.
    ///
    /// # Errors
    /// When the number is not finite or the duration is out of range.
    pub fn from_min(min: f64) -> Result<Self, QuantityError> {
        finite(min, min * SIXTY, "duration").map(Self)
    }

    /// A duration in hours.
    ///
    /// # Errors
    /// When the number is not finite or the duration is out of range.
    pub fn from_h(h: f64) -> Result<Self, QuantityError> {
        finite(h, h * S_PER_H, "duration").map(Self)
    }

    /// A duration in days of 24 hours.
    ///
    /// # Errors
    /// When the number is not finite or the duration is out of range.
    pub fn from_day(day: f64) -> Result<Self, QuantityError> {
        finite(day, day * S_PER_DAY, "duration").map(Self)
    }

    /// The duration in seconds.
    pub fn s(self) -> f64 {
        self.0
    }

    /// The duration in minutes.
    pub fn min(self) -> f64 {
        self.0 / SIXTY
    }

    /// The duration in hours.
    pub fn h(self) -> f64 {
        self.0 / S_PER_H
    }

    /// The duration in days of 24 hours.
    pub fn days(self) -> f64 {
        self.0 / S_PER_DAY
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::QuantityErrorKind;
    use proptest::prelude::*;

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() <= 1e-9 * b.abs().max(1.0)
    }

    #[test]
    fn products_of_lengths_are_exact() {
        let brick = Length::mm(215)
            .times(Length::from_nm(102_500_000))
            .times(Length::mm(65));
        assert_eq!(brick.nm3(), 215 * 1_025 * 65 * 10_i128.pow(17));
        assert!(near(brick.to_litre(), 1.432_437_5));
        let foot = Length::from_ft(1.0).unwrap();
        assert!(near(foot.times(foot).to_ft2(), 1.0));
        assert!(near(foot.times(foot).times(foot).to_ft3(), 1.0));
        assert!(near(Volume::from_yd3(1.0).unwrap().to_ft3(), 27.0));
        assert!(near(Volume::from_litre(17.0).unwrap().to_mm3(), 17e6));
    }

    #[test]
    fn pounds_and_kilograms_agree() {
        assert!(near(Mass::from_lb(94.0).unwrap().kg(), 42.637_682_78));
        assert!(near(Mass::from_tonne(1.5).unwrap().kg(), 1500.0));
        // 94 lb/ft³ is 1505.7 kg/m³.
        assert!((Density::from_lb_ft3(94.0).unwrap().kg_m3() - 1505.74).abs() < 0.01);
        let foot = Volume::from_ft3(1.0).unwrap();
        assert!(near(
            foot.mass(Density::from_lb_ft3(150.0).unwrap()).lb(),
            150.0
        ));
        // 1500 psf is 71.8 kPa.
        assert!((Pressure::from_psf(1500.0).unwrap().kpa() - 71.82).abs() < 0.01);
    }

    #[test]
    fn temperature_scales_agree() {
        assert!(near(Temperature::from_deg_f(212.0).unwrap().deg_c(), 100.0));
        assert!(near(Temperature::from_deg_c(-40.0).unwrap().deg_f(), -40.0));
        let error = Temperature::from_deg_c(-300.0).unwrap_err();
        assert_eq!(error.kind, QuantityErrorKind::BelowAbsoluteZero);
        assert!(Temperature::from_deg_c(f64::NAN).is_err());
        assert!(near(Duration::from_day(2.0).unwrap().h(), 48.0));
    }

    #[test]
    fn operators_stay_finite() {
        let most = Mass::from_kg(f64::MAX).unwrap();
        assert!((most + most).kg().is_finite());
        assert!((most * f64::INFINITY).kg().is_finite());
        assert!((Mass::ZERO * f64::NAN).kg().is_finite());
        let wide = Length::MAX.times(Length::MAX);
        assert_eq!(wide.times(Length::MAX).nm3(), i128::MAX);
        assert!(Volume::from_m3(1e12).is_err());
    }

    #[test]
    fn serialised_form_is_a_number() {
        let volume = Volume::from_m3(0.25).unwrap();
        assert_eq!(serde_json::to_string(&volume).unwrap(), "0.25");
        assert_eq!(serde_json::from_str::<Volume>("0.25").unwrap(), volume);
        assert!(serde_json::from_str::<Temperature>("-300.0").is_err());
    }

    proptest! {
        #[test]
        fn arithmetic_never_panics(a: i128, b: i128, n: i64, f: f64, l: i64) {
            let (a, b) = (Area::from_nm2(a), Area::from_nm2(b));
            let _ = (a + b, a - b, -a, a * n, a.times(Length::from_nm(l)));
            let _ = (a.checked_add(b), a.checked_sub(b), a.checked_mul(n), a.scale(f), a.ratio(b));
            let _ = (Area::from_m2(f), Volume::from_m3(f), Volume::from_litre(f), Mass::from_lb(f));
            let _ = (Temperature::from_deg_f(f), Duration::from_day(f), Pressure::from_psf(f));
        }
    }
}
