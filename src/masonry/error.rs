//! What can go wrong in the masonry layer.

use std::fmt;

use super::nearest::nearest;
use crate::quantity::QuantityError;

/// A masonry value that could not be made or found, with its cause and a remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MasonryError {
    /// What is wrong, in one sentence that stands alone.
    pub message: String,
    /// What to do about it.
    pub remedy: String,
    /// Stable code that says what was found, such as `not-in-catalogue`.
    pub code: &'static str,
    /// The size or share concerned, where there is one.
    pub key: Option<&'static str>,
}

impl MasonryError {
    pub(crate) fn new(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            remedy: remedy.into(),
            code: "unfit",
            key: None,
        }
    }

    /// The same error with its code and what it is about.
    pub(crate) fn coded(mut self, code: &'static str, key: Option<&'static str>) -> Self {
        self.code = code;
        self.key = key;
        self
    }

    /// A name that is not in the catalogue: the nearest right one, and the whole list.
    pub(crate) fn unknown<'a>(
        what: &str,
        name: &str,
        known: impl Iterator<Item = &'a str> + Clone,
    ) -> Self {
        let list = known.clone().collect::<Vec<_>>().join(", ");
        let remedy = match nearest(name, known) {
            Some(near) => format!("did you mean `{near}`? Known: {list}"),
            None => format!("known: {list}"),
        };
        Self::new(
            format!("there is no {what} called `{}`", quoted(name)),
            remedy,
        )
        .coded("not-in-catalogue", None)
    }
}

/// Text short enough to quote in a message.
pub(crate) fn quoted(text: &str) -> String {
    /// Longer text is cut to this many characters.
    const QUOTED: usize = 40;
    let mut short: String = text.chars().take(QUOTED).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

impl fmt::Display for MasonryError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for MasonryError {}

impl From<QuantityError> for MasonryError {
    fn from(error: QuantityError) -> Self {
        Self::new(error.message, error.remedy)
    }
}
