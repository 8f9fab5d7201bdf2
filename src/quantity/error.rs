//! What can go wrong with a quantity.

use std::fmt;

/// Why a quantity could not be made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum QuantityErrorKind {
    /// The result does not fit its range.
    Overflow,
    /// A number was infinite or not a number.
    NotFinite,
    /// The text could not be read; `position` is the byte offset of the trouble in it.
    Parse {
        /// Byte offset into the text.
        position: usize,
    },
    /// A temperature below 0 K.
    BelowAbsoluteZero,
    /// A value that has to be above zero was not.
    NotPositive,
}

/// A quantity that could not be made, with its cause and a remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuantityError {
    /// The sort of trouble.
    pub kind: QuantityErrorKind,
    /// What is wrong, in one sentence that stands alone.
    pub message: String,
    /// What to do about it.
    pub remedy: String,
}

impl QuantityError {
    pub(crate) fn overflow(what: &str) -> Self {
        Self {
            kind: QuantityErrorKind::Overflow,
            message: format!("this {what} is out of range"),
            remedy: "use smaller numbers, and check the unit of each".to_owned(),
        }
    }

    pub(crate) fn not_finite(what: &str) -> Self {
        Self {
            kind: QuantityErrorKind::NotFinite,
            message: format!("a {what} needs a finite number"),
            remedy: "look for a division by zero before it".to_owned(),
        }
    }

    pub(crate) fn not_positive(what: &str) -> Self {
        Self {
            kind: QuantityErrorKind::NotPositive,
            message: format!("a {what} has to be more than zero"),
            remedy: "give a value above zero".to_owned(),
        }
    }

    pub(crate) fn parse(position: usize, message: String, remedy: &str) -> Self {
        Self {
            kind: QuantityErrorKind::Parse { position },
            message,
            remedy: remedy.to_owned(),
        }
    }
}

impl fmt::Display for QuantityError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for QuantityError {}
