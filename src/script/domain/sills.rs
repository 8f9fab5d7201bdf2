//! Sills and thresholds of openings: how they are asked for.

use crate::plan::{Sill, SillKind};
use crate::quantity::Length;
use crate::script::declare::whole;
use crate::script::{Call, Fault, Parameter, Want};

/// What a sill's map may say.
const SILL_ENTRIES: &[Parameter] = &[
    Parameter::required("kind", Want::Word(SillKind::WORDS), "What it is of."),
    Parameter::optional(
        "depth",
        Want::Length,
        "",
        "How thick a stone or cast one is.",
    ),
    Parameter::optional(
        "project",
        Want::Length,
        "",
        "How far it stands out from the face.",
    ),
    Parameter::optional(
        "drip",
        Want::Flag,
        "",
        "Whether it has a groove under its edge.",
    ),
    Parameter::optional(
        "slope",
        Want::Number,
        "",
        "How steep it sheds water, in degrees.",
    ),
];
const WANT: Want = Want::AnyOf(&[Want::Word(SillKind::WORDS), Want::Entries(SILL_ENTRIES)]);

pub(super) const SILL_OPTION: Parameter = Parameter::optional(
    "sill",
    WANT,
    "none",
    "What sheds water from its foot, laid between the jambs within the opening's height: \"rowlock\" (units on edge), \"stone\", \"concrete\", or a map such as #{ kind: \"stone\", depth: 75.mm, project: 40.mm, drip: true, slope: 15 }.",
);

pub(super) const THRESHOLD_OPTION: Parameter = Parameter::optional(
    "threshold",
    WANT,
    "none",
    "What is walked over in its foot, flush with the face: \"rowlock\", \"stone\", \"concrete\", or a map as for `sill`.",
);

/// The sill or threshold that a call asks for.
pub(super) fn sill(call: &Call) -> Result<Option<Sill>, Fault> {
    match (
        read(call, "sill", Sill::of)?,
        read(call, "threshold", Sill::threshold)?,
    ) {
        (Some(_), Some(_)) => Err(Fault::new(
            "sill-and-threshold",
            "an opening has a sill or a threshold in its foot, not both",
        )
        .remedy("leave one of them out")
        .about("threshold")),
        (one, other) => Ok(one.or(other)),
    }
}

fn read(
    call: &Call,
    option: &'static str,
    usual: fn(SillKind) -> Sill,
) -> Result<Option<Sill>, Fault> {
    let Some(raw) = call.raw(option) else {
        return Ok(None);
    };
    let kind_of = |word: &str| {
        SillKind::from_word(word).ok_or_else(|| {
            Fault::new(
                "sill-unknown",
                format!("a {option} of \"{word}\" is not known"),
            )
            .remedy("write \"rowlock\", \"stone\" or \"concrete\"")
            .about(option)
            .entry("kind")
        })
    };
    if let Ok(word) = raw.clone().into_string() {
        return Ok(Some(usual(kind_of(&word)?)));
    }
    let map = call.map(option)?;
    let kind = map
        .get("kind")
        .and_then(|kind| kind.clone().into_string().ok())
        .ok_or_else(|| {
            Fault::new("sill-unknown", format!("the {option}'s map names no kind"))
                .remedy("add kind: \"rowlock\", \"stone\" or \"concrete\"")
                .about(option)
        })?;
    let mut sill = usual(kind_of(&kind)?);
    for (key, value) in &map {
        let wrong = |wants: &str, remedy: &str| {
            Fault::new(
                "wrong-type",
                format!("the {option}'s `{key}` wants {wants}"),
            )
            .remedy(remedy)
            .about(option)
            .entry(key.as_str())
        };
        let length = || value.read_lock::<Length>().map(|length| *length);
        match key.as_str() {
            "kind" => {}
            "depth" => {
                if sill.kind == SillKind::Rowlock {
                    return Err(wrong(
                        "a slab",
                        "leave it out: units on edge are as high as they are wide",
                    ));
                }
                let depth = length().filter(|d| d.is_positive() && *d <= crate::plan::LONGEST_SIDE);
                sill.depth = Some(depth.ok_or_else(|| {
                    wrong("a length above zero", "write it with a unit, such as 75.mm")
                })?);
            }
            "project" => {
                let project = length().filter(|p| !p.is_negative() && *p <= Sill::FURTHEST);
                sill.project = project.ok_or_else(|| {
                    wrong(
                        &format!("a length from zero to {}", Sill::FURTHEST),
                        "write it with a unit, such as 40.mm",
                    )
                })?;
            }
            "drip" => {
                let drip = value.as_bool().map_err(|_| {
                    wrong("true or false", "a drip is a groove under a slab's edge")
                })?;
                if drip && sill.kind == SillKind::Rowlock {
                    return Err(wrong(
                        "a slab",
                        "leave it out: water drips off the lower edge of units that project",
                    ));
                }
                sill.drip = drip;
            }
            "slope" => {
                let slope = whole(value).and_then(|slope| u32::try_from(slope).ok());
                let slope = slope.filter(|slope| (1..=Sill::STEEPEST).contains(slope));
                sill.slope = Some(slope.ok_or_else(|| {
                    wrong(
                        &format!("whole degrees from 1 to {}", Sill::STEEPEST),
                        "write how far it falls outwards, such as 15",
                    )
                })?);
            }
            other => {
                let fault = Fault::new(
                    "unknown-option",
                    format!("a {option} has no option `{other}`"),
                );
                return Err(fault
                    .remedy(super::options_remedy(other, &super::names_of(SILL_ENTRIES)))
                    .about(option)
                    .entry_key(other));
            }
        }
    }
    Ok(Some(sill))
}
