//! Exact lengths and the other quantities of the trade: arithmetic, parsing and display.
//!
//! In: numbers and text. Out: values that know their dimension, or a [`QuantityError`] with a
//! cause and a remedy. Nothing here knows of bricks, scripts or the terminal.
//!
//! A [`Length`] is a whole number of nanometres, so inches and millimetres both come out exact.
//! [`Area`] and [`Volume`] are exact products of lengths. What is weighed or felt ([`Mass`],
//! [`Density`], [`Pressure`], [`Temperature`], [`Duration`]) is a finite `f64`.
//!
//! Operators (`+ - *`) saturate: they never wrap and never panic. Use the `checked_` methods for
//! anything a script can reach.

mod display;
mod error;
mod length;
mod measure;
mod money;
mod parse;

pub use display::LengthStyle;
pub use error::{QuantityError, QuantityErrorKind};
pub use length::Length;
pub use measure::{Area, Density, Duration, Mass, Pressure, Temperature, Volume};
pub use money::Money;
pub use parse::{
    parse_density, parse_length, parse_mass, parse_number, parse_pressure, parse_volume,
};

/// Nanometres in a millimetre.
pub(crate) const NM_PER_MM: i64 = 1_000_000;
/// Nanometres in a metre.
pub(crate) const NM_PER_M: i64 = 1_000_000_000;
/// Nanometres in an inch: exactly 25.4 mm (international inch, 1959).
pub(crate) const NM_PER_INCH: i64 = 25_400_000;
/// Inches in a foot.
pub(crate) const INCHES_PER_FOOT: i64 = 12;
/// Nanometres in a foot: exactly 304.8 mm.
pub(crate) const NM_PER_FOOT: i64 = NM_PER_INCH * INCHES_PER_FOOT;
