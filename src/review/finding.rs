use std::fmt;

use serde::Serialize;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Change the plan before building.
    Stop,
    /// Decide what to do about it before the day it concerns.
    Warn,
    /// Good to know.
    Note,
}

impl Severity {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Stop => "stop",
            Severity::Warn => "warn",
            Severity::Note => "note",
        }
    }
}

/// Where something was found.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Place {
    /// The part.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub part: Option<String>,
    /// The course.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub course: Option<u32>,
    /// Side, opening or other detail.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
}

impl Place {
    /// The whole plan.
    pub fn plan() -> Place {
        Place::default()
    }

    /// A part.
    pub fn part(name: &str) -> Place {
        Place {
            part: Some(name.to_owned()),
            ..Place::default()
        }
    }

    /// The same place, in a course.
    #[must_use]
    pub fn course(mut self, course: u32) -> Place {
        self.course = Some(course);
        self
    }

    /// The same place, more closely.
    #[must_use]
    pub fn detail(mut self, detail: impl Into<String>) -> Place {
        self.detail = Some(detail.into());
        self
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut words = Vec::new();
        words.extend(self.part.clone());
        words.extend(self.course.map(|course| format!("course {course}")));
        words.extend(self.detail.clone());
        if words.is_empty() {
            return f.write_str("plan");
        }
        f.write_str(&words.join(", "))
    }
}

/// Something found by a check.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Stable code that says what was found.
    pub code: &'static str,
    /// How grave it is.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// What was measured, and against what.
    pub figure: String,
    /// Why it matters.
    pub cause: String,
    /// What to do.
    pub remedy: String,
    /// Where the limit comes from.
    pub source: &'static str,
}
