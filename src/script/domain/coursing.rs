//! Courses that depart from the even gauge: beds and split courses of a part.

use rhai::{Array, Dynamic};

use crate::plan::{Coursing, Laying};
use crate::quantity::Length;
use crate::script::{Call, Fault, Parameter, Want};

/// What the map of beds may say.
const BED_ENTRIES: &[Parameter] = &[
    Parameter::optional("first", Want::Length, "", "The bed under course 1."),
    Parameter::optional("every", Want::Length, "", "All other beds."),
    Parameter::optional(
        "under",
        Want::List(&Want::Anything),
        "",
        "Single beds, each [course, bed].",
    ),
];

pub(super) const BEDS: Parameter = Parameter::optional(
    "beds",
    Want::Entries(BED_ENTRIES),
    "the plan's",
    "Bed joints of its own: #{ first: 15.mm } under course 1, every: 9.mm for all others, under: [[7, 14.mm]] under course 7.",
);
pub(super) const SPLIT: Parameter = Parameter::optional(
    "split",
    Want::List(&Want::Anything),
    "none",
    "Courses of units split along their length, each [course, height], such as [[5, 40.mm]].",
);

pub(super) const LAID: Parameter = Parameter::optional(
    "laid",
    Want::List(&Want::Anything),
    "none",
    "Courses of units on end or on edge, each [course, how], such as [[7, \"soldier\"]]: soldier, sailor, rowlock or shiner.",
);

/// Reads all three options.
pub(super) fn coursing(call: &Call) -> Result<Coursing, Fault> {
    let mut coursing = Coursing::default();
    if call.has("beds") {
        let map = call.map("beds")?;
        coursing.first = super::entry(&map, "first");
        coursing.every = super::entry(&map, "every");
        if let Some(under) = super::entry::<Array>(&map, "under") {
            coursing.under = pairs(under, "beds")?;
        }
    }
    if call.has("split") {
        coursing.split = pairs(call.list("split")?, "split")?;
    }
    // Rings and linings say with this word how all their courses are laid.
    let listed = matches!(call.declaration().name, "wall" | "chamber");
    if listed && call.has("laid") {
        coursing.laid = layings(call.list("laid")?)?;
    }
    coursing.check()?;
    Ok(coursing)
}

/// Courses with how each is laid.
fn layings(list: Array) -> Result<Vec<(u32, Laying)>, Fault> {
    let wrong = || {
        Fault::new(
            "wrong-type",
            "`laid` wants courses, each with how its units stand or lie",
        )
        .remedy("write [[7, \"soldier\"]]: the course, counted from 1, and soldier, sailor, rowlock or shiner")
        .about("laid")
    };
    if list.is_empty() {
        return Err(wrong());
    }
    let one = |(at, item): (usize, Dynamic)| {
        let pair = item
            .try_cast::<Array>()
            .ok_or_else(|| wrong().element(at))?;
        let [course, word] = pair.as_slice() else {
            return Err(wrong().element(at));
        };
        let course = whole_course(course).ok_or_else(|| wrong().element(at))?;
        let word = word.clone().into_string();
        let laying = word.ok().and_then(|word| Laying::from_word(&word));
        Ok((course, laying.ok_or_else(|| wrong().element(at))?))
    };
    list.into_iter().enumerate().map(one).collect()
}

/// A course, counted from 1.
fn whole_course(value: &Dynamic) -> Option<u32> {
    let course = u32::try_from(value.as_int().ok()?).ok()?;
    (course >= 1).then_some(course)
}

fn length(value: &Dynamic) -> Option<Length> {
    value.read_lock::<Length>().map(|length| *length)
}

/// Courses with a length each.
fn pairs(list: Array, key: &'static str) -> Result<Vec<(u32, Length)>, Fault> {
    let wrong = || {
        Fault::new(
            "wrong-type",
            format!("`{key}` wants courses, each with a length"),
        )
        .remedy("write [[5, 40.mm]]: the course, counted from 1, and the length")
        .about(key)
    };
    if list.is_empty() {
        return Err(wrong());
    }
    list.into_iter()
        .map(|item| {
            let pair = item.try_cast::<Array>().ok_or_else(wrong)?;
            let [course, height] = pair.as_slice() else {
                return Err(wrong());
            };
            let course = whole_course(course).ok_or_else(wrong)?;
            Ok((course, length(height).ok_or_else(wrong)?))
        })
        .collect()
}
