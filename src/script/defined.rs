//! What the inputs of a session have defined, for lists and for completion.

use std::collections::BTreeMap;

use rhai::{Dynamic, Map};

use super::declare::NameOf;
use super::vocabulary::Vocabulary;

/// Longest line of a list of names.
const LINE: usize = 100;

/// A variable or function of the session.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Defined {
    /// Its name.
    pub name: String,
    /// How it is written: with its parameters where it is a function.
    pub call: String,
    /// What it is, in one line.
    pub note: String,
    /// The kind of its value, as calls are declared for it.
    pub kind: Option<String>,
    /// The keys of an option map.
    pub keys: Vec<String>,
    /// What it has that goes by a name.
    pub names: Vec<(NameOf, Vec<String>)>,
}

impl Defined {
    pub(super) fn variable(
        name: &str,
        constant: bool,
        value: &Dynamic,
        vocabulary: &Vocabulary,
    ) -> Self {
        let keys = value.read_lock::<Map>();
        let constant = if constant { ", constant" } else { "" };
        Self {
            name: name.to_owned(),
            call: name.to_owned(),
            note: format!("{}{constant}", vocabulary.brief(value)),
            kind: vocabulary.callable_kind(value),
            keys: keys.map_or_else(Vec::new, |map| {
                map.keys().map(ToString::to_string).collect()
            }),
            names: vocabulary.names_of(value),
        }
    }

    pub(super) fn function(name: &str, parameters: &[&str], comment: Option<&str>) -> Self {
        let note = comment.map_or_else(
            || "a function".to_owned(),
            |comment| format!("a function: {comment}"),
        );
        Self {
            name: name.to_owned(),
            call: format!("{name}({})", parameters.join(", ")),
            note,
            ..Self::default()
        }
    }
}

/// Names with what they are, a line each, in columns.
pub(super) fn list(defined: &[Defined]) -> String {
    let sorted: BTreeMap<&str, &Defined> =
        defined.iter().map(|one| (one.call.as_str(), one)).collect();
    let width = sorted.keys().map(|call| call.chars().count()).max();
    let width = width.unwrap_or(0);
    let line = |(call, one): (&&str, &&Defined)| {
        let line = format!("{call:width$}  {}", one.note);
        match line.char_indices().nth(LINE) {
            Some((cut, _)) => format!("{}...", line.get(..cut).unwrap_or(&line).trim_end()),
            None => line,
        }
    };
    sorted.iter().map(line).collect::<Vec<_>>().join("\n")
}
