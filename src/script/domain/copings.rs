//! Copings: what covers the top of a wall, chamber or pier.

use std::sync::Arc;

use rhai::Map;

use super::PartValue;
use crate::plan::{Coping, CopingKind, Drip, Part};
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};

const DRIP_ENTRIES: &[Parameter] = &[
    Parameter::optional("width", Want::Length, "", "How wide the groove is."),
    Parameter::optional("deep", Want::Length, "", "How deep it is cut."),
    Parameter::optional(
        "lip",
        Want::Length,
        "",
        "How much is left between it and the edge.",
    ),
];

const COPING: Declaration = Declaration {
    name: "coping",
    group: Group::Parts,
    summary: "The part with its top covered: by slabs that stand out over both faces, or by units on edge across the wall.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::required(
            "kind",
            Want::Word(CopingKind::WORDS),
            "Slabs of `stone` or `concrete`, or `rowlock` for units of the plan on edge across the wall.",
        ),
        Parameter::optional(
            "overhang",
            Want::Length,
            "45.mm",
            "How far slabs stand out beyond each face and free end; what rowlocks do follows from their length.",
        ),
        Parameter::optional("depth", Want::Length, "50.mm", "Thickness of the slabs."),
        Parameter::optional(
            "length",
            Want::Length,
            "600.mm",
            "Length of a slab; a pier has one slab, whatever its length.",
        ),
        Parameter::optional(
            "drip",
            Want::AnyOf(&[Want::Flag, Want::Entries(DRIP_ENTRIES)]),
            "true",
            "The groove under the overhang: true, false, or a map such as #{ width: 10.mm, deep: 8.mm, lip: 10.mm }.",
        ),
    ],
    returns: "The part with it.",
    examples: &[
        Example {
            script: "wall(#{ length: 8, courses: 12, thickness: 1 }).coping(#{ kind: \"stone\", overhang: 45.mm })",
            shows: "wall 8 units, 12 courses, stone coping",
        },
        Example {
            script: "plan(\"p\", #{ unit: \"uk\" }).place(\"w\", wall(#{ length: 8, courses: 12, thickness: 1 }).coping(#{ kind: \"rowlock\" })).height()",
            shows: "1012.5 mm (about 3' 3 7/8\")",
        },
    ],
    errors: &[
        errors::COPINGS,
        errors::these(&[
            errors::NOT_IN_CATALOGUE,
            errors::SIZE_NOT_POSITIVE,
            errors::SIZE_TOO_LARGE,
            errors::NOT_IN_ROUND_WORK,
        ]),
    ],
    see_also: &["wall", "chamber", "pier", "lid", "review"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PartValue, _>(&COPING, |call, part| coping(call, &part));
}

fn coping(call: &Call, part: &PartValue) -> Result<PartValue, Fault> {
    let word = call.opt_word("kind")?.unwrap_or_default();
    let kind = CopingKind::from_word(&word).unwrap_or(CopingKind::Stone);
    let mut coping = Coping::of(kind);
    if kind == CopingKind::Rowlock {
        let slabs_only = ["overhang", "depth", "length", "drip"];
        if let Some(key) = slabs_only.into_iter().find(|key| call.has(key)) {
            return Err(Fault::new(
                "coping-of-units",
                format!("`{key}` is a matter of slabs; rowlocks are as long as their unit"),
            )
            .remedy("leave it out, or take kind: \"stone\" or \"concrete\"")
            .about(key));
        }
    }
    if call.has("overhang") {
        coping.overhang = call.length("overhang")?;
    }
    if call.has("depth") {
        coping.depth = call.length("depth")?;
    }
    if call.has("length") {
        coping.length = call.length("length")?;
    }
    if let Some(raw) = call.raw("drip") {
        coping.drip = match raw.as_bool() {
            Ok(true) => Some(Drip::USUAL),
            Ok(false) => None,
            Err(_) => Some(drip(&call.map("drip")?)),
        };
    } else if coping.overhang < Drip::USUAL.lip + Drip::USUAL.width {
        // What hardly stands out has no room for one.
        coping.drip = None;
    }
    Ok(PartValue(Arc::new(
        Part::clone(&part.0).with_coping(coping)?,
    )))
}

fn drip(map: &Map) -> Drip {
    let of = |key: &str, usual| super::entry::<Length>(map, key).unwrap_or(usual);
    Drip {
        width: of("width", Drip::USUAL.width),
        deep: of("deep", Drip::USUAL.deep),
        lip: of("lip", Drip::USUAL.lip),
    }
}
