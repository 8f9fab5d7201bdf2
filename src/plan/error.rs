use std::fmt;

use super::MOST_BRANCHES;
use crate::stop::Reason;

/// Why a plan cannot be built as described: what is wrong, where, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanError {
    /// Stable code that says what was found, such as `opening-outside-wall`.
    pub code: &'static str,
    /// One sentence that stands alone.
    pub message: String,
    /// What the builder can do.
    pub remedy: String,
    /// The part concerned, where there is one.
    pub part: Option<String>,
    /// The option key concerned, where there is one.
    pub key: Option<&'static str>,
}

impl PlanError {
    /// An error with its code, message and remedy.
    pub fn new(code: &'static str, message: impl Into<String>, remedy: impl Into<String>) -> Self {
        PlanError {
            code,
            message: message.into(),
            remedy: remedy.into(),
            part: None,
            key: None,
        }
    }

    /// Something that reaches a course which its part does not have.
    pub(crate) fn above(what: &str, top: u32, courses: u32) -> Self {
        let what = if what.starts_with("the ") {
            what.to_owned()
        } else {
            format!("\"{what}\"")
        };
        PlanError::new(
            "course-outside-part",
            match courses {
                1 => format!("{what} reaches course {top}; the part has one course"),
                _ => format!("{what} reaches course {top}; the part has {courses} courses"),
            },
            "name a lower course, or make the part higher",
        )
    }

    /// More branches than one part may have.
    pub(crate) fn too_many_branches() -> Self {
        PlanError::new(
            "too-many-features",
            format!("more than {MOST_BRANCHES} branches and piers in one part"),
            "split the work into several parts",
        )
    }

    /// Work that was asked to stop before it was done.
    pub(crate) fn stopped(reason: Reason) -> Self {
        let (message, remedy) = match reason {
            Reason::Interrupted => (
                "the work was interrupted",
                "ask again when there is time for it",
            ),
            Reason::Time => (
                "the work took longer than it may",
                "allow more time, or ask about a smaller plan",
            ),
        };
        PlanError::new("work-stopped", message, remedy)
    }

    /// The same error, naming the part it is about.
    #[must_use]
    pub fn in_part(mut self, name: &str) -> Self {
        if self.part.is_none() {
            self.part = Some(name.to_owned());
        }
        self
    }

    /// The same error, naming the option it is about.
    #[must_use]
    pub fn at_key(mut self, key: &'static str) -> Self {
        self.key = Some(key);
        self
    }
}

/// Refuses a name of nothing.
pub(super) fn check_name(name: &str, what: &str) -> Result<(), PlanError> {
    if name.trim().is_empty() {
        return Err(PlanError::new(
            "name-empty",
            format!("{what} needs a name"),
            "write a name that reports can call it by",
        )
        .at_key("name"));
    }
    Ok(())
}

impl fmt::Display for PlanError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.part {
            Some(part) => write!(f, "{part}: {}", self.message),
            None => f.write_str(&self.message),
        }
    }
}

impl std::error::Error for PlanError {}
