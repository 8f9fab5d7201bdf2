use super::PartValue;
use super::branches::{HEIGHT, PLACE, THICKNESS, courses, place, thickness};
use super::parts::{FIRED, dimensions, made, side_missing};
use crate::plan::{Annex, Part, Side};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};

const ANNEX: Declaration = Declaration {
    name: "annex",
    group: Group::Parts,
    summary: "The chamber with a second, lower or as high, that leans on one of its sides: one wall serves both, and the annex's walls are toothed into it.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::required("name", Want::Text, "Its name, unique in the part."),
        Parameter::required(
            "side",
            Want::Word(Side::WORDS),
            "The side of the chamber that it leans on, which is its fourth wall.",
        ),
        Parameter::optional(
            "outside",
            Want::Pair(&Want::Size),
            "",
            "Size across and deep over the outer faces, the shared wall included: n units are n(L + j) − j. Give this or `inside`.",
        ),
        Parameter::optional(
            "inside",
            Want::Pair(&Want::Size),
            "",
            "Size across and deep between the inner faces: n units are n(L + j) + j.",
        ),
        PLACE,
        THICKNESS,
        HEIGHT,
        FIRED,
    ],
    returns: "The part with it. Openings and vents go in with annex: \"name\" and a side, through the shared wall with the chamber's side; a duct to it is one to its name.",
    examples: &[
        Example {
            script: "chamber(#{ outside: [5, 5], courses: 20 }).annex(#{ name: \"firebox\", side: \"left\", outside: [3, 3], courses: 9, fired: true }).opening(#{ name: \"stoke hole\", annex: \"firebox\", side: \"front\", width: 1, courses: [2, 4] })",
            shows: "chamber outside 5 units across × 5 units deep, 20 courses, 1 opening, 1 annex",
        },
        Example {
            script: "let kiln = chamber(#{ outside: [5, 5], courses: 20 }).annex(#{ name: \"firebox\", side: \"left\", outside: [3, 3], courses: 9 });\nplan(\"kiln\", #{ unit: \"uk\" }).place(\"kiln\", kiln).duct(#{ name: \"throat\", from: \"kiln\", to: \"firebox\", diameter: 140.mm, course: 3 }).inside(\"kiln\", \"firebox\")",
            shows: "460 mm across × 460 mm deep × 675 mm high",
        },
    ],
    errors: &[
        errors::PLACES,
        errors::SIZES,
        errors::RISE,
        errors::these(&[
            errors::ANNEX_WITHOUT_CHAMBER,
            errors::THICKNESS_NOT_IN_HALVES,
            errors::THICKNESS_TOO_LARGE,
        ]),
    ],
    see_also: &["chamber", "partition", "branch", "inside", "duct"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PartValue, _>(&ANNEX, |call, part| annex(call, &part));
}

fn annex(call: &Call, part: &PartValue) -> Result<PartValue, Fault> {
    let word = call.opt_word("side")?;
    let Some(side) = word.as_deref().and_then(Side::from_word) else {
        return Err(side_missing(call));
    };
    let [across, deep] = dimensions(call)?;
    let annex = Annex {
        name: call.text("name")?,
        side,
        across,
        deep,
        at: place(call)?,
        thickness: thickness(call)?,
        courses: courses(call)?,
        fired: call.opt_flag("fired")?.unwrap_or(false),
        first: 0,
    };
    Ok(made(Part::clone(&part.0).with_annex(annex)?))
}
