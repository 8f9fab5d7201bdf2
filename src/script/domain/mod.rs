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

use std::any::Any;
use std::rc::Rc;

use rhai::{Dynamic, ImmutableString, Map};

use super::{Fault, Limits, Registry, Session, errors};
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

/// What an option says that is a word or a map of details: a word alone is the `kind` of such a map.
fn details(raw: &Dynamic) -> Map {
    match raw.read_lock::<Map>() {
        Some(map) => map.clone(),
        None => Map::from([("kind".into(), raw.clone())]),
    }
}

/// An entry of a map whose kinds were checked; none where it was left out.
fn entry<T: Any + Clone>(map: &Map, key: &str) -> Option<T> {
    map.get(key)?.read_lock::<T>().map(|value| T::clone(&value))
}

/// The word that an entry of a map holds; empty where it was left out.
fn entry_word(map: &Map, key: &str) -> String {
    entry::<ImmutableString>(map, key)
        .unwrap_or_default()
        .to_string()
}

/// What is wrong with a call, gathered while the rest of it is read, so that all is told at once.
#[derive(Default)]
struct Gathered(Vec<Fault>);

impl Gathered {
    /// What was read; nothing where it is wrong.
    fn take<T: Default>(&mut self, read: Result<T, Fault>) -> T {
        read.unwrap_or_else(|fault| {
            self.0.push(fault);
            T::default()
        })
    }

    /// What was read, unless anything was wrong.
    fn done<T>(self, read: T) -> Result<T, Fault> {
        match Fault::several(self.0) {
            Some(fault) => Err(fault),
            None => Ok(read),
        }
    }
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
        for (code, limit) in [
            (errors::TOO_MANY_PIECES.code, "pieces"),
            (errors::TOO_MANY_ROWS.code, "rows"),
        ] {
            if error.code == code {
                fault = fault.limit(limit);
            }
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
