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
}

impl MasonryError {
    pub(crate) fn new(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            remedy: remedy.into(),
        }
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
