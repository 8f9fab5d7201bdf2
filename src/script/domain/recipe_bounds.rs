//! What a recipe's table of parameters says a value may be: `least`, `most` and `words`.

use std::cmp::Ordering;

use rhai::{Array, Dynamic, Map};

use crate::quantity::{Length, Mass};
use crate::script::Fault;
use crate::script::declare::{number, quoted};
use crate::script::options::unknown_word;
use crate::script::vocabulary::Vocabulary;

/// Checks a value, or every item of a list, against the bounds of its parameter. A bound says nothing of values of
/// another kind: one that is a number of units leaves lengths alone. Nothing given stays allowed where nothing is usual.
///
/// # Errors
/// When it is under the least, over the most or none of the words; or when the table itself cannot be read.
pub(super) fn check(
    key: &str,
    parameter: &Dynamic,
    given: &Dynamic,
    vocabulary: &Vocabulary,
) -> Result<(), Fault> {
    let Some(parameter) = parameter.read_lock::<Map>() else {
        return Ok(());
    };
    let Some(items) = given.read_lock::<Array>() else {
        return check_one(key, &parameter, given, None, vocabulary);
    };
    items
        .iter()
        .enumerate()
        .try_for_each(|(at, item)| check_one(key, &parameter, item, Some(at), vocabulary))
}

fn check_one(
    key: &str,
    parameter: &Map,
    given: &Dynamic,
    element: Option<usize>,
    vocabulary: &Vocabulary,
) -> Result<(), Fault> {
    let place = match element {
        Some(at) => format!("item {} of the recipe's `{key}`", at + 1),
        None => format!("the recipe's `{key}`"),
    };
    let at_value = |fault: Fault| {
        let fault = fault.about("options").entry(key);
        match element {
            Some(at) => fault.element(at),
            None => fault,
        }
    };
    if let (Some(words), Some(word)) = (words_of(key, parameter)?, given.clone().into_string().ok())
        && !words.contains(&word)
    {
        let known: Vec<&str> = words.iter().map(String::as_str).collect();
        let mut fault = unknown_word(key, &word, &known);
        fault.message = format!(
            "{place} cannot be {}: it wants {}",
            vocabulary.describe(given),
            quoted(&known)
        );
        return Err(at_value(fault));
    }
    let bound = |name: &str| parameter.get(name).filter(|bound| !bound.is_unit());
    let (least, most) = (bound("least"), bound("most"));
    let outside = |bound: Option<&Dynamic>, wrong: Ordering| {
        bound.is_some_and(|bound| compared(given, bound) == Some(wrong))
    };
    if !outside(least, Ordering::Less) && !outside(most, Ordering::Greater) {
        return Ok(());
    }
    let shown = |bound: &Dynamic| vocabulary.show(bound);
    let wants = match (least, most) {
        (Some(least), Some(most)) => format!("from {} to {}", shown(least), shown(most)),
        (Some(least), None) => format!("{} or more", shown(least)),
        (None, Some(most)) => format!("{} or less", shown(most)),
        (None, None) => return Ok(()),
    };
    let message = format!(
        "{place} wants {wants}, but got {}",
        vocabulary.describe(given)
    );
    let meaning = parameter
        .get("meaning")
        .and_then(|meaning| meaning.clone().into_string().ok())
        .map_or_else(
            || "write a value within these".to_owned(),
            |meaning| format!("`{key}`: {meaning}"),
        );
    Err(at_value(
        Fault::new("out-of-range", message).remedy(meaning),
    ))
}

/// How two numbers or two quantities of one kind stand to each other; nothing for any other two.
fn compared(one: &Dynamic, other: &Dynamic) -> Option<Ordering> {
    if let (Some(one), Some(other)) = (number(one), number(other)) {
        return one.partial_cmp(&other);
    }
    if let (Some(one), Some(other)) = (one.read_lock::<Length>(), other.read_lock::<Length>()) {
        return Some(one.cmp(&other));
    }
    let (one, other) = (one.read_lock::<Mass>()?, other.read_lock::<Mass>()?);
    one.partial_cmp(&other)
}

fn words_of(key: &str, parameter: &Map) -> Result<Option<Vec<String>>, Fault> {
    let Some(words) = parameter.get("words").filter(|words| !words.is_unit()) else {
        return Ok(None);
    };
    let read: Option<Vec<String>> = words.read_lock::<Array>().and_then(|words| {
        let texts = words.iter().map(|word| word.clone().into_string().ok());
        texts.collect()
    });
    match read {
        Some(words) if !words.is_empty() => Ok(Some(words)),
        _ => Err(Fault::new(
            "recipe-unfinished",
            format!("the words of the parameter `{key}` are no list of texts"),
        )
        .remedy("write them as words: [\"one\", \"other\"]")
        .about("parameters")
        .entry(key)),
    }
}
