//! The trade's own words in the language: units, parts, plans and what is read off them.

mod annexes;
mod arches;
mod branches;
mod catalogue;
mod comparing;
mod copings;
mod costs;
mod coursing;
mod curves;
mod cutting;
mod fitting;
mod heads;
mod known;
mod leaves;
mod levelling;
mod levels;
mod linings;
mod measured;
mod own;
mod parts;
mod pictures;
mod plans;
mod portrait;
mod reading;
mod reasons;
mod recipe_bounds;
mod recipes;
mod rings;
mod saving;
mod sills;
mod solving;
mod ties;
mod values;
mod yard;

pub use comparing::ComparisonValue;
pub use known::known_names;
pub use solving::Solution;
pub use values::{
    PartValue, PictureValue, PicturesValue, PlanValue, ReviewValue, SpaceValue, TableValue,
    TakeoffValue, json_of,
};

use std::rc::Rc;

use super::{Fault, Limits, Parameter, Registry, Session, errors};
use crate::masonry::MasonryError;
use crate::outside::Outside;
use crate::plan::PlanError;

/// A session with the whole language.
pub fn open(outside: Rc<dyn Outside>, limits: Limits) -> Session {
    Session::with(outside, limits, register)
}

/// Declares the trade's words.
pub fn register(registry: &mut Registry) {
    values::register(registry);
    catalogue::register(registry);
    fitting::register(registry);
    levels::register(registry);
    parts::register(registry);
    own::register(registry);
    linings::register(registry);
    branches::register(registry);
    annexes::register(registry);
    plans::register(registry);
    reading::register(registry);
    reasons::register(registry);
    levelling::register(registry);
    comparing::register(registry);
    solving::register(registry);
    cutting::register(registry);
    arches::register(registry);
    recipes::register(registry);
    costs::register(registry);
    measured::register(registry);
    yard::register(registry);
    rings::register(registry);
    saving::register(registry);
    copings::register(registry);
    pictures::register(registry);
    ties::register(registry);
}

/// The names of the entries of a map.
fn names_of(entries: &[Parameter]) -> Vec<&'static str> {
    entries.iter().map(|entry| entry.name).collect()
}

/// Codes of errors that are mistakes of the script: they end a comparison or a search, where a size or a setting that
/// cannot be built is told with its reason, and the work goes on.
const MISTAKES: [&str; 14] = [
    "missing-argument",
    "missing-option",
    "not-a-plan",
    "not-available",
    "too-many-arguments",
    "unknown-function",
    "unknown-method",
    "unknown-module",
    "unknown-name",
    "unknown-option",
    "unknown-property",
    "unknown-word",
    "unlike-quantities",
    "wrong-type",
];

/// Whether an error of this code is a mistake of the script.
fn is_mistake(code: &str) -> bool {
    MISTAKES.contains(&code)
}

/// The nearest right option, where there is one, and all of them.
fn options_remedy(wrong: &str, known: &[&str]) -> String {
    let near = crate::masonry::nearest(wrong, known.iter().copied())
        .map(|near| format!("did you mean `{near}`?  "))
        .unwrap_or_default();
    format!("{near}Options: {}", known.join(", "))
}

impl From<PlanError> for Fault {
    fn from(error: PlanError) -> Self {
        let message = error.to_string();
        let mut fault = Fault::new(error.code, message).remedy(error.remedy);
        if error.code == errors::TOO_MANY_PIECES.code {
            fault = fault.limit("pieces");
        }
        match error.key {
            Some(key) => fault.about(key),
            None => fault,
        }
    }
}

impl From<MasonryError> for Fault {
    fn from(error: MasonryError) -> Self {
        let fault = Fault::new(error.code, error.message).remedy(error.remedy);
        match error.key {
            Some(key) => fault.about(key),
            None => fault,
        }
    }
}
