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
    let Some(raw) = call.raw("head") else {
        return Ok(None);
    };
    if raw.is_string() {
        return Ok(Some(Corbel::default()));
    }
    let map = call.map("head")?;
    let kind = map
        .get("kind")
        .and_then(|kind| kind.clone().into_string().ok());
    if kind.as_deref() != Some("corbel") {
        return Err(
            Fault::new("head-unknown", "the head's map names no kind that is known")
                .remedy("add kind: \"corbel\"; lintels and arches have options of their own")
                .about("head"),
        );
    }
    let mut corbel = Corbel::default();
    for (key, value) in &map {
        match key.as_str() {
            "kind" => {}
            "step" => {
                let step = value.read_lock::<Length>().map(|step| *step);
                corbel.step = Some(step.filter(|step| step.is_positive()).ok_or_else(|| {
                    Fault::new("wrong-type", "the head's `step` wants a length above zero")
                        .remedy("write it with a unit, such as 25.mm")
                        .about("head")
                        .entry("step")
                })?);
            }
            other => {
                let fault = Fault::new(
                    "unknown-option",
                    format!("a head of courses has no option `{other}`"),
                );
                return Err(fault
                    .remedy(super::options_remedy(other, &super::names_of(HEAD_ENTRIES)))
                    .about("head")
                    .entry_key(other));
            }
        }
    }
    Ok(Some(corbel))
}
