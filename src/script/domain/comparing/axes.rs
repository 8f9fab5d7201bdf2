//! What a comparison varies.

use std::ops::{Range, RangeInclusive};

use rhai::{Array, Dynamic};

use super::super::plans::change;
use super::entries;
use super::readings::reading_of;
use super::subject::{SETTINGS, Subject};
use crate::compare::{Change, Reading};
use crate::masonry::Unit;
use crate::script::{Call, Fault};

/// One thing that is varied.
pub(super) struct ValueAxis {
    /// Its name.
    pub(super) name: String,
    /// Its values.
    pub(super) values: Vec<Dynamic>,
    /// The values as they are shown.
    pub(super) readings: Vec<Reading>,
    /// The changes of a plan that they stand for, where a plan is varied.
    pub(super) changes: Vec<Change>,
}

/// The axes of a call, each checked as far as it can be, and of at most so many values.
pub(super) fn axes(call: &Call, subject: &Subject, most: usize) -> Result<Vec<ValueAxis>, Fault> {
    let vary = call.raw("vary").cloned().unwrap_or_default();
    let mut entries = entries(&vary);
    if vary.is_map() {
        // A map has no order of its own: what a plan is laid with comes first, the rest by name.
        entries.sort_by_key(|(_, key, _)| {
            SETTINGS
                .iter()
                .position(|known| known == key)
                .unwrap_or(SETTINGS.len())
        });
    }
    if entries.is_empty() {
        return Err(Fault::new("nothing-to-vary", "there is nothing to vary")
            .remedy("write #{ joint: [8.mm, 10.mm, 12.mm] }")
            .about("vary"));
    }
    let mut axes: Vec<ValueAxis> = Vec::new();
    for (at, key, value) in entries {
        let place = |fault: Fault| {
            let fault = fault.about("vary");
            match at {
                Some(at) => fault.element(at),
                None => fault,
            }
        };
        if axes.iter().any(|axis| axis.name == key) {
            let fault = Fault::new("varied-twice", format!("`{key}` is varied twice"))
                .remedy("put all its values into one list");
            return Err(place(fault).entry_key(key));
        }
        if let Some(known) = subject.options()
            && !known.contains(&key.as_str())
        {
            return Err(place(cannot_be_varied(&key, &known, subject)).entry_key(key));
        }
        let values = values(&value, most).map_err(|fault| place(fault).entry(key.as_str()))?;
        if values.is_empty() {
            let fault = Fault::new("nothing-to-vary", format!("`{key}` has no values to try"))
                .remedy("list at least one value, or leave it out");
            return Err(place(fault).entry(key));
        }
        let changes = match subject {
            Subject::Plan(_) => values
                .iter()
                .enumerate()
                .map(|(at, value)| {
                    change(&key, value)
                        .map_err(|fault| fault.about("vary").entry(key.as_str()).element(at))
                })
                .collect::<Result<_, _>>()?,
            Subject::Recipe { .. } | Subject::Function(_) => Vec::new(),
        };
        let readings = values.iter().map(|value| shown(value, call)).collect();
        axes.push(ValueAxis {
            name: key,
            values,
            readings,
            changes,
        });
    }
    Ok(axes)
}

fn cannot_be_varied(key: &str, known: &[&str], subject: &Subject) -> Fault {
    let fault = Fault::new("unknown-option", format!("`{key}` cannot be varied"))
        .remedy(super::super::options_remedy(key, known));
    match subject {
        Subject::Plan(_) => fault
            .remedy("to vary anything else, hand over a recipe or a function that makes the plan"),
        _ => fault,
    }
}

/// A value of an axis as it is shown and compared: units by their names.
fn shown(value: &Dynamic, call: &Call) -> Reading {
    if let Some(unit) = value.read_lock::<Unit>() {
        return Reading::Text(unit.name.clone());
    }
    match reading_of(value, call.vocabulary()) {
        Reading::Nothing => Reading::Text("none".to_owned()),
        reading => reading,
    }
}

/// The values of a list, of a range of whole numbers, or one value.
fn values(value: &Dynamic, most: usize) -> Result<Vec<Dynamic>, Fault> {
    let ends = value
        .read_lock::<Range<i64>>()
        .map(|range| (range.start, range.end))
        .or_else(|| {
            let range = value.read_lock::<RangeInclusive<i64>>()?;
            Some((*range.start(), range.end().saturating_add(1)))
        });
    if let Some((start, end)) = ends {
        let count = usize::try_from(end.saturating_sub(start)).unwrap_or(0);
        if count > most {
            return Err(
                Fault::new("too-many-rows", format!("more than {most} values"))
                    .remedy("take a shorter range")
                    .limit("rows"),
            );
        }
        return Ok((start..end).map(Dynamic::from).collect());
    }
    Ok(match value.read_lock::<Array>() {
        Some(values) => values.clone(),
        None => vec![value.clone()],
    })
}
