//! Corbelled heads over openings: how they are asked for.

use crate::plan::Corbel;
use crate::quantity::Length;
use crate::script::{Call, Fault, Parameter, Want};

const HEADS: &[&str] = &["corbel"];
/// What a head's map may say.
const HEAD_ENTRIES: &[Parameter] = &[
    Parameter::required("kind", Want::Word(HEADS), "How it is laid."),
    Parameter::optional("step", Want::Length, "", "How far each course steps in."),
];

pub(super) const HEAD_OPTION: Parameter = Parameter::optional(
    "head",
    Want::AnyOf(&[Want::Word(HEADS), Want::Entries(HEAD_ENTRIES)]),
    "none",
    "Courses that step inwards from both jambs until they meet, in place of a lintel or an arch: \"corbel\", or a map such as #{ kind: \"corbel\", step: 25.mm }.",
);

/// The corbelled head that a call asks for.
pub(super) fn head(call: &Call) -> Result<Option<Corbel>, Fault> {
    let Some(map) = call.raw("head").map(super::details) else {
        return Ok(None);
    };
    let step = super::entry::<Length>(&map, "step");
    if step.is_some_and(|step| !step.is_positive()) {
        return Err(
            Fault::new("wrong-type", "the head's `step` wants a length above zero")
                .remedy("write it with a unit, such as 25.mm")
                .about("head")
                .entry("step"),
        );
    }
    let mut corbel = Corbel::default();
    corbel.step = step.or(corbel.step);
    Ok(Some(corbel))
}
