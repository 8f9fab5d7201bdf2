//! How quantities are written for people.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::length::round_div;
use super::{
    Area, Density, Duration, INCHES_PER_FOOT, Length, Mass, NM_PER_INCH, NM_PER_MM, Pressure,
    Temperature, Volume,
};

/// The finest fraction of an inch that is shown, as on a tape.
const FINEST_DENOMINATOR: u16 = 64;
/// The fraction of an inch shown unless another is asked for: 1/16, the tape's common mark.
const USUAL_DENOMINATOR: u16 = 16;
/// Metric lengths are shown to this step: a tenth of a millimetre.
const METRIC_STEP_NM: i64 = NM_PER_MM / 10;
/// Digits that are shown of areas, volumes, masses and pressures.
const SIGNIFICANT_DIGITS: i32 = 3;
/// No more decimals than this are shown of anything measured.
const MOST_DECIMALS: i32 = 6;
/// Volumes from this many litres on are shown in m³.
const LITRES_UP_TO: f64 = 1000.0;
/// Masses from this many kilograms on are shown in tonnes.
const KG_UP_TO: f64 = 1000.0;

impl fmt::Display for Length {
    /// Exact, in millimetres, without trailing zeros: `215 mm`, `12.5 mm`, `0.396875 mm`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = NM_PER_MM.unsigned_abs();
        let nm = self.nm().unsigned_abs();
        let sign = if self.is_negative() { "-" } else { "" };
        let (whole, rest) = (nm / unit, nm % unit);
        let text = if rest == 0 {
            format!("{sign}{whole} mm")
        } else {
            let decimals = format!("{rest:06}");
            format!("{sign}{whole}.{} mm", decimals.trim_end_matches('0'))
        };
        f.pad(&text)
    }
}

/// How lengths, and the quantities beside them, are written: metric, or feet and inches.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LengthStyle {
    /// Millimetres to a tenth; m², litres or m³, kg or t, kPa, °C.
    #[default]
    Metric,
    /// Feet, inches and fractions; ft², ft³, lb, psf, °F.
    FeetInches {
        /// The finest fraction of an inch: a power of two up to 64. Others are taken as the next
        /// power of two, and as 64 beyond it.
        denominator: u16,
    },
}

impl LengthStyle {
    /// Feet and inches to the usual 1/16 inch.
    pub const FEET_INCHES: Self = Self::FeetInches {
        denominator: USUAL_DENOMINATOR,
    };

    /// A length: `215 mm`, or `3' 4 1/2"`, `7 5/8"`, `-2 1/4"`; rounded, a tie away from zero.
    pub fn show(self, length: Length) -> String {
        match self {
            Self::Metric => {
                let step = i128::from(METRIC_STEP_NM);
                let tenths = round_div(i128::from(length.nm()), step);
                // The step divides the range, but rounding up at its very end would leave it.
                let nm = i64::try_from(tenths * step).unwrap_or(length.nm());
                Length::from_nm(nm).to_string()
            }
            Self::FeetInches { denominator } => feet_inches(length, denominator),
        }
    }

    /// A length in both ways, its own first: `914.4 mm (3' 0")`, `3' 0" (914.4 mm)`; what is rounded in the brackets is
    /// `about` so much. Metric as the first of the two is exact.
    pub fn show_both(self, length: Length) -> String {
        let other = match self {
            Self::Metric => Self::FEET_INCHES,
            Self::FeetInches { .. } => Self::Metric,
        };
        let (first, second) = match self {
            Self::Metric => (length.to_string(), other.show(length)),
            Self::FeetInches { .. } => (self.show(length), other.show(length)),
        };
        let exact = crate::quantity::parse_length(&second).is_ok_and(|read| read == length);
        let about = if exact { "" } else { "about " };
        format!("{first} ({about}{second})")
    }

    /// An area in m² or ft², to three digits.
    pub fn show_area(self, area: Area) -> String {
        match self {
            Self::Metric => format!("{} m²", digits(area.to_m2())),
            Self::FeetInches { .. } => format!("{} ft²", digits(area.to_ft2())),
        }
    }

    /// A volume in litres (below 1000 L), m³ or ft³, to three digits.
    pub fn show_volume(self, volume: Volume) -> String {
        match self {
            Self::Metric if volume.to_litre().abs() < LITRES_UP_TO => {
                format!("{} L", digits(volume.to_litre()))
            }
            Self::Metric => format!("{} m³", digits(volume.to_m3())),
            Self::FeetInches { .. } => format!("{} ft³", digits(volume.to_ft3())),
        }
    }

    /// A mass in kg (below 1000 kg), t or lb, to three digits.
    pub fn show_mass(self, mass: Mass) -> String {
        match self {
            Self::Metric if mass.kg().abs() < KG_UP_TO => format!("{} kg", digits(mass.kg())),
            Self::Metric => format!("{} t", digits(mass.tonne())),
            Self::FeetInches { .. } => format!("{} lb", digits(mass.lb())),
        }
    }

    /// A pressure in kPa or psf, to three digits.
    pub fn show_pressure(self, pressure: Pressure) -> String {
        match self {
            Self::Metric => format!("{} kPa", digits(pressure.kpa())),
            Self::FeetInches { .. } => format!("{} psf", digits(pressure.psf())),
        }
    }

    /// A density in whole kg/m³, or in lb/ft³ to a tenth.
    pub fn show_density(self, density: Density) -> String {
        match self {
            Self::Metric => format!("{:.0} kg/m³", density.kg_m3()),
            Self::FeetInches { .. } => format!("{:.1} lb/ft³", density.lb_ft3()),
        }
    }

    /// A temperature in whole °C or °F.
    pub fn show_temperature(self, temperature: Temperature) -> String {
        match self {
            Self::Metric => format!("{} °C", whole(temperature.deg_c())),
            Self::FeetInches { .. } => format!("{} °F", whole(temperature.deg_f())),
        }
    }

    /// A duration in minutes (below 1 h), hours (below 2 days) or days, to three digits.
    pub fn show_duration(self, duration: Duration) -> String {
        if duration.h().abs() < 1.0 {
            format!("{} min", digits(duration.min()))
        } else if duration.days().abs() < 2.0 {
            format!("{} h", digits(duration.h()))
        } else {
            format!("{} days", digits(duration.days()))
        }
    }
}

/// A whole number without a minus sign on zero.
fn whole(value: f64) -> String {
    format!("{:.0}", value.round() + 0.0)
}

/// Three significant digits, never fewer than the whole part, without trailing zeros.
fn digits(value: f64) -> String {
    let magnitude = value.abs();
    let order = if magnitude > 0.0 {
        magnitude.log10().floor() as i32
    } else {
        0
    };
    let decimals = (SIGNIFICANT_DIGITS - 1 - order).clamp(0, MOST_DECIMALS) as usize;
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    match text {
        "-0" => "0".to_owned(),
        other => other.to_owned(),
    }
}

/// `length` in feet, inches and the nearest `1/denominator` inch.
fn feet_inches(length: Length, denominator: u16) -> String {
    let denominator = denominator
        .clamp(1, FINEST_DENOMINATOR)
        .next_power_of_two()
        .min(FINEST_DENOMINATOR);
    let per_inch = i128::from(denominator);
    let per_foot = per_inch * i128::from(INCHES_PER_FOOT);
    let parts = round_div(i128::from(length.nm()) * per_inch, i128::from(NM_PER_INCH));
    let sign = if parts < 0 { "-" } else { "" };
    let parts = parts.abs();
    let (feet, rest) = (parts / per_foot, parts % per_foot);
    let (inches, mut top) = (rest / per_inch, rest % per_inch);
    let mut bottom = per_inch;
    while top != 0 && top % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    let feet_part = if feet == 0 {
        String::new()
    } else {
        format!("{feet}' ")
    };
    let inch_part = if top == 0 {
        format!("{inches}\"")
    } else if inches == 0 && feet == 0 {
        format!("{top}/{bottom}\"")
    } else {
        format!("{inches} {top}/{bottom}\"")
    };
    format!("{sign}{feet_part}{inch_part}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse_length;
    use proptest::prelude::*;

    #[test]
    fn a_length_shows_both_ways_and_says_what_is_rounded() {
        let metric = |nm| LengthStyle::Metric.show_both(Length::from_nm(nm));
        assert_eq!(metric(914_400_000), "914.4 mm (3' 0\")");
        assert_eq!(metric(215_000_000), "215 mm (about 8 7/16\")");
        assert_eq!(metric(-3_175_000), "-3.175 mm (-1/8\")");
        assert_eq!(metric(0), "0 mm (0\")");
        let feet = |nm| LengthStyle::FEET_INCHES.show_both(Length::from_nm(nm));
        assert_eq!(feet(914_400_000), "3' 0\" (914.4 mm)");
        assert_eq!(feet(396_875), "0\" (about 0.4 mm)");
    }

    fn imperial(nm: i64, denominator: u16) -> String {
        LengthStyle::FeetInches { denominator }.show(Length::from_nm(nm))
    }

    #[test]
    fn metric_text_is_exact() {
        assert_eq!(Length::mm(215).to_string(), "215 mm");
        assert_eq!(Length::from_nm(12_500_000).to_string(), "12.5 mm");
        assert_eq!(Length::from_nm(-396_875).to_string(), "-0.396875 mm");
        assert_eq!(Length::ZERO.to_string(), "0 mm");
        assert_eq!(Length::MIN.to_string(), "-9223372036854.775808 mm");
        assert_eq!(format!("{:>8}", Length::mm(65)), "   65 mm");
    }

    #[test]
    fn metric_style_rounds_to_a_tenth() {
        let show = |nm| LengthStyle::Metric.show(Length::from_nm(nm));
        assert_eq!(show(67_733_333), "67.7 mm");
        assert_eq!(show(-40_000), "0 mm");
        assert_eq!(show(12_050_000), "12.1 mm");
        assert_eq!(show(1_234_567_890_123), "1234567.9 mm");
        // The very end of the range has no tenth above it and is shown exactly.
        assert_eq!(show(i64::MAX), "9223372036854.775807 mm");
    }

    #[test]
    fn inch_fractions_reduce_and_carry() {
        assert_eq!(imperial(40 * 25_400_000 + 12_700_000, 16), "3' 4 1/2\"");
        assert_eq!(imperial(193_675_000, 16), "7 5/8\"");
        assert_eq!(imperial(0, 16), "0\"");
        assert_eq!(imperial(-57_150_000, 16), "-2 1/4\"");
        assert_eq!(imperial(-100, 16), "0\"");
        assert_eq!(imperial(914_400_000, 16), "3' 0\"");
        assert_eq!(imperial(927_100_000, 16), "3' 0 1/2\"");
        assert_eq!(imperial(12_700_000, 16), "1/2\"");
        // 11 31/32 in carries into a foot at 1/16.
        assert_eq!(imperial(12 * 25_400_000 - 793_750, 16), "1' 0\"");
        assert_eq!(imperial(396_875, 64), "1/64\"");
        assert_eq!(imperial(203_200_000 / 3, 16), "2 11/16\"");
    }

    #[test]
    fn odd_denominators_are_taken_as_powers_of_two() {
        assert_eq!(imperial(12_700_000, 0), "1\"");
        assert_eq!(imperial(6_350_000, 3), "1/4\"");
        assert_eq!(imperial(396_875, u16::MAX), "1/64\"");
    }

    #[test]
    fn measures_show_three_digits() {
        let metric = LengthStyle::Metric;
        let litres = |l| metric.show_volume(Volume::from_litre(l).unwrap());
        assert_eq!(litres(17.612), "17.6 L");
        assert_eq!(litres(99.4), "99.4 L");
        assert_eq!(litres(230.6), "231 L");
        assert_eq!(litres(1234.0), "1.23 m³");
        assert_eq!(metric.show_mass(Mass::from_kg(25.0).unwrap()), "25 kg");
        assert_eq!(metric.show_mass(Mass::from_kg(1250.0).unwrap()), "1.25 t");
        assert_eq!(metric.show_mass(Mass::ZERO), "0 kg");
        assert_eq!(metric.show_area(Area::from_m2(1.988).unwrap()), "1.99 m²");
        assert_eq!(metric.show_area(Area::from_m2(1234.5).unwrap()), "1234 m²");
        let feet = LengthStyle::FEET_INCHES;
        assert_eq!(feet.show_mass(Mass::from_lb(80.0).unwrap()), "80 lb");
        assert_eq!(feet.show_volume(Volume::from_ft3(0.6).unwrap()), "0.6 ft³");
        assert_eq!(
            feet.show_pressure(Pressure::from_psf(1500.0).unwrap()),
            "1500 psf"
        );
        assert_eq!(
            feet.show_temperature(Temperature::from_deg_f(40.0).unwrap()),
            "40 °F"
        );
        assert_eq!(
            metric.show_temperature(Temperature::from_deg_c(-0.2).unwrap()),
            "0 °C"
        );
        assert_eq!(
            metric.show_duration(Duration::from_min(30.0).unwrap()),
            "30 min"
        );
        assert_eq!(
            metric.show_duration(Duration::from_h(36.0).unwrap()),
            "36 h"
        );
        assert_eq!(
            metric.show_duration(Duration::from_day(7.0).unwrap()),
            "7 days"
        );
    }

    proptest! {
        #[test]
        fn metric_text_reads_back(nm in -10_000_000_000_000_000_i64..=10_000_000_000_000_000) {
            let length = Length::from_nm(nm);
            prop_assert_eq!(parse_length(&length.to_string()).unwrap(), length);
        }

        #[test]
        fn inch_text_reads_back(sixtyfourths in -1_000_000_000_i64..=1_000_000_000) {
            let length = Length::from_nm(sixtyfourths * 396_875);
            let text = LengthStyle::FeetInches { denominator: 64 }.show(length);
            prop_assert_eq!(parse_length(&text).unwrap(), length);
        }

        #[test]
        fn any_length_can_be_shown(nm: i64, denominator: u16) {
            let _ = LengthStyle::FeetInches { denominator }.show(Length::from_nm(nm));
            let _ = LengthStyle::Metric.show(Length::from_nm(nm));
            let _ = Length::from_nm(nm).to_string();
        }
    }
}
