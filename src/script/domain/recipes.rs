//! What recipes are written with: the check of their options against their own table of parameters.

use rhai::{Array, Dynamic, Map};

use crate::masonry::Unit;
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};

const SETTINGS: Declaration = Declaration {
    name: "settings",
    group: Group::Parts,
    summary: "A recipe's options, checked against its table of parameters and filled with its usual values.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required("options", Want::Map, "The options given to the recipe."),
        Parameter::required(
            "parameters",
            Want::Map,
            "The recipe's table: each name a map of `usual`, `meaning` and, where it has them, the `least` and the `most` that may be given, its `words`, `kind: \"size\"` for units or a length, and `none: true` where () may be given for nothing.",
        ),
    ],
    options: &[],
    returns: "An option map.",
    examples: &[
        Example {
            script: "settings(#{ courses: 3 }, #{ courses: #{ usual: 2, least: 1, most: 4, meaning: \"Courses.\" }, top: #{ usual: \"stone\", words: [\"stone\", \"rowlock\"], meaning: \"Coping.\" } })",
            shows: "#{ courses: 3, top: \"stone\" }",
        },
        Example {
            script: "settings(#{ courses: 4 }, #{ courses: #{ usual: 2, meaning: \"Courses.\" }, joint: #{ usual: 10.mm, meaning: \"Joint.\" } })",
            shows: "#{ courses: 4, joint: 10 mm }",
        },
    ],
    errors: &[errors::RECIPES],
    see_also: &["plan"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&SETTINGS, settings);
}

fn settings(call: &Call) -> Result<Map, Fault> {
    let (options, parameters) = (call.map("options")?, call.map("parameters")?);
    let known: Vec<&str> = parameters.keys().map(AsRef::as_ref).collect();
    let unknown = |key: &&rhai::Identifier| !parameters.contains_key(key.as_str());
    let mut wrong: Vec<Fault> = options
        .keys()
        .filter(unknown)
        .map(|key| unknown_option(key, &known))
        .collect();
    let mut found = Map::new();
    for (key, parameter) in &parameters {
        let usual = parameter
            .read_lock::<Map>()
            .and_then(|map| map.get("usual").cloned());
        let Some(usual) = usual else {
            wrong.push(unfinished(key));
            continue;
        };
        let value = match options.get(key) {
            None => usual,
            Some(given)
                if alike(given, &usual)
                    || is_size(parameter) && size(given)
                    || given.is_unit() && takes_none(parameter) =>
            {
                given.clone()
            }
            Some(given) => {
                wrong.push(unlike(call, key, given, &usual));
                continue;
            }
        };
        if let Err(fault) = super::recipe_bounds::check(key, parameter, &value, call.vocabulary()) {
            wrong.push(fault);
            continue;
        }
        found.insert(key.clone(), value);
    }
    match Fault::several(wrong) {
        Some(fault) => Err(fault),
        None => Ok(found),
    }
}

fn unknown_option(key: &str, known: &[&str]) -> Fault {
    Fault::new(
        "unknown-option",
        format!("the recipe has no option `{key}`"),
    )
    .remedy(super::options_remedy(key, known))
    .about("options")
    .entry_key(key)
}

fn unfinished(key: &str) -> Fault {
    Fault::new(
        "recipe-unfinished",
        format!("the parameter `{key}` has no usual value"),
    )
    .remedy("write it as #{ usual: ..., meaning: \"...\" }")
    .about("parameters")
    .entry(key)
}

fn unlike(call: &Call, key: &str, given: &Dynamic, usual: &Dynamic) -> Fault {
    let vocabulary = call.vocabulary();
    let (kind, got) = (vocabulary.kind_of(usual), vocabulary.describe(given));
    Fault::new(
        "wrong-type",
        format!("the recipe's `{key}` wants {kind}, but got {got}"),
    )
    .remedy(format!(
        "write it like its usual value, {}",
        vocabulary.show(usual)
    ))
    .about("options")
    .entry(key)
}

/// Whether a value can stand where a usual value stands: of the same kind, but for sizes, which may be units or lengths
/// wherever the default is either, and units, which may be names or values.
fn alike(given: &Dynamic, default: &Dynamic) -> bool {
    let number = |value: &Dynamic| value.is_int() || value.is_float();
    if let (Some(given), Some(default)) = (given.read_lock::<Array>(), default.read_lock::<Array>())
    {
        return default.first().is_none_or(|first| {
            given
                .iter()
                .all(|item| alike(item, first) || size(item) && size(first))
        });
    }
    // A parameter without a usual value takes what the functions it goes to take.
    default.is_unit()
        || number(given) && number(default)
        || given.type_id() == default.type_id()
        || default.is_string() && given.read_lock::<Unit>().is_some()
}

/// Whether a parameter says of itself that it takes units or a length.
fn is_size(parameter: &Dynamic) -> bool {
    parameter
        .read_lock::<Map>()
        .and_then(|map| map.get("kind").cloned())
        .and_then(|kind| kind.into_string().ok())
        .is_some_and(|kind| kind == "size")
}

/// Whether a parameter says of itself that `()` may be given, for nothing.
fn takes_none(parameter: &Dynamic) -> bool {
    parameter
        .read_lock::<Map>()
        .and_then(|map| map.get("none").cloned())
        .and_then(|none| none.as_bool().ok())
        .unwrap_or(false)
}

fn size(value: &Dynamic) -> bool {
    value.is_int() || value.is_float() || value.read_lock::<Length>().is_some()
}
