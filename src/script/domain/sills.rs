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
    let Some(map) = call.raw(option).map(super::details) else {
        return Ok(None);
    };
    let word = super::entry_word(&map, "kind");
    let mut sill = usual(SillKind::from_word(&word).ok_or_else(|| {
        Fault::new(
            "sill-unknown",
            format!("a {option} of \"{word}\" is not known"),
        )
        .remedy("write \"rowlock\", \"stone\" or \"concrete\"")
        .about(option)
        .entry("kind")
    })?);
    let wrong = |key: &str, wants: &str, remedy: &str| {
        Fault::new(
            "wrong-type",
            format!("the {option}'s `{key}` wants {wants}"),
        )
        .remedy(remedy)
        .about(option)
        .entry(key)
    };
    let mut faults = Vec::new();
    if let Some(depth) = super::entry::<Length>(&map, "depth") {
        if sill.kind == SillKind::Rowlock {
            let remedy = "leave it out: units on edge are as high as they are wide";
            faults.push(wrong("depth", "a slab", remedy));
        } else if !depth.is_positive() || depth > crate::plan::LONGEST_SIDE {
            let remedy = "write it with a unit, such as 75.mm";
            faults.push(wrong("depth", "a length above zero", remedy));
        }
        sill.depth = Some(depth);
    }
    if let Some(project) = super::entry::<Length>(&map, "project") {
        if project.is_negative() || project > Sill::FURTHEST {
            let wants = format!("a length from zero to {}", Sill::FURTHEST);
            let remedy = "write it with a unit, such as 40.mm";
            faults.push(wrong("project", &wants, remedy));
        }
        sill.project = project;
    }
    if let Some(drip) = super::entry::<bool>(&map, "drip") {
        if drip && sill.kind == SillKind::Rowlock {
            let remedy = "leave it out: water drips off the lower edge of units that project";
            faults.push(wrong("drip", "a slab", remedy));
        }
        sill.drip = drip;
    }
    if let Some(slope) = map.get("slope").filter(|slope| !slope.is_unit()) {
        let slope = whole(slope).and_then(|slope| u32::try_from(slope).ok());
        let slope = slope.filter(|slope| (1..=Sill::STEEPEST).contains(slope));
        if slope.is_none() {
            let wants = format!("whole degrees from 1 to {}", Sill::STEEPEST);
            let remedy = "write how far it falls outwards, such as 15";
            faults.push(wrong("slope", &wants, remedy));
        }
        sill.slope = slope;
    }
    super::Gathered(faults).done(Some(sill))
}
