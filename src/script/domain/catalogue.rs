use std::rc::Rc;

use rhai::{Dynamic, Map};

use super::TableValue;
use super::plans::joint_of;
use crate::masonry::{Catalogue, Gauge, Unit, UnitKind};
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};
use crate::sheet::Table;

const KINDS: &[&str] = &[
    "clay brick",
    "firebrick",
    "concrete block",
    "calcium silicate",
];

const UNITS: Declaration = Declaration {
    name: "units",
    group: Group::Masonry,
    summary: "A table of the units in the catalogue, with their sizes and sources.",
    kind: CallKind::Function,
    positional: &[],
    options: &[],
    returns: "A table.",
    examples: &[Example {
        script: "units().rows[0].name",
        shows: "nf",
    }],
    errors: &[],
    see_also: &["unit", "plan"],
};

const UNIT_DECLARATION: Declaration = Declaration {
    name: "unit",
    group: Group::Masonry,
    summary: "A unit of the catalogue by name, or one of your own by its sizes.",
    kind: CallKind::Function,
    positional: &[Parameter::optional(
        "name",
        Want::Name(NameOf::Unit),
        "",
        "A name of the catalogue.",
    )],
    options: &[
        Parameter::optional("name", Want::Text, "\"own\"", "What to call your own unit."),
        Parameter::optional("length", Want::Length, "", "Length of your own unit."),
        Parameter::optional("width", Want::Length, "", "Width of your own unit."),
        Parameter::optional("height", Want::Length, "", "Height of your own unit."),
        Parameter::optional(
            "joint",
            Want::Length,
            "10.mm",
            "Its usual joint, head and bed.",
        ),
        Parameter::optional(
            "kind",
            Want::Word(KINDS),
            "\"clay brick\"",
            "What it is made of.",
        ),
        Parameter::optional(
            "density",
            Want::Density,
            "its kind's",
            "Density of the material.",
        ),
        Parameter::optional(
            "core_share",
            Want::NumberFrom(0.0, 0.9),
            "0",
            "Share of its volume that is open cores.",
        ),
        Parameter::optional(
            "frog_share",
            Want::NumberFrom(0.0, 0.9),
            "0",
            "Share of its volume that is a frog, filled with mortar when laid frog up.",
        ),
    ],
    returns: "A unit.",
    examples: &[
        Example {
            script: "unit(\"uk\").length",
            shows: "215 mm (about 8 7/16\")",
        },
        Example {
            script: "unit(#{ name: \"paver\", length: 200.mm, width: 100.mm, height: 60.mm }).joint",
            shows: "10 mm (about 3/8\")",
        },
    ],
    errors: &[errors::CATALOGUE, errors::these(&[errors::SIZE_MISSING])],
    see_also: &["units", "plan"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&UNITS, |_| units());
    registry.function(&UNIT_DECLARATION, unit);
    super::reading::unit_properties(registry);
}

/// A table whose rows are also values.
pub(super) fn table(table: Table, rows: Vec<Map>) -> TableValue {
    TableValue {
        table: Rc::new(table),
        rows: Rc::new(rows),
    }
}

/// An option map from pairs.
pub(super) fn map<const N: usize>(pairs: [(&str, Dynamic); N]) -> Map {
    pairs
        .into_iter()
        .map(|(key, value)| (key.into(), value))
        .collect()
}

fn units() -> Result<TableValue, Fault> {
    let mut shown = Table::new(
        "units",
        &[
            "name",
            "what",
            "#length",
            "#width",
            "#height",
            "#head joint",
            "source",
        ],
    );
    let mut rows = Vec::new();
    for unit in Catalogue::builtin()?.units() {
        shown.row([
            unit.name.clone(),
            unit.title.clone(),
            unit.length.to_string(),
            unit.width.to_string(),
            unit.height.to_string(),
            unit.head.to_string(),
            unit.source.clone(),
        ]);
        rows.push(map([
            ("name", unit.name.clone().into()),
            ("length", Dynamic::from(unit.length)),
            ("width", Dynamic::from(unit.width)),
            ("height", Dynamic::from(unit.height)),
            ("joint", Dynamic::from(unit.head)),
            ("source", unit.source.clone().into()),
        ]));
    }
    Ok(table(shown, rows))
}

fn unit(call: &Call) -> Result<Unit, Fault> {
    if !call.has("length") && !call.has("width") && !call.has("height") {
        let name = call.opt_text("name")?.ok_or_else(|| {
            Fault::new("unit-missing", "a unit needs a name or its sizes").remedy(
                "write unit(\"uk\"), or unit(#{ length: 215.mm, width: 102.5.mm, height: 65.mm })",
            )
        })?;
        return Ok(Catalogue::builtin()?
            .unit(&name)
            .map_err(|error| Fault::from(error).about("name"))?
            .clone());
    }
    let mut sizes = [Length::ZERO; 3];
    for (slot, key) in sizes.iter_mut().zip(["length", "width", "height"]) {
        *slot = call.opt_length(key)?.ok_or_else(|| {
            Fault::new(
                "size-missing",
                format!("a unit of your own needs its {key}"),
            )
            .remedy("give length, width and height")
        })?;
    }
    let [_, _, height] = sizes;
    let joint = match call.opt_length("joint")? {
        Some(joint) => joint_of(joint, "joint")?,
        None => Length::mm(10),
    };
    let kind = call.opt_word("kind")?.unwrap_or_default();
    let kind = UnitKind::ALL
        .into_iter()
        .find(|known| known.name() == kind)
        .unwrap_or(UnitKind::ClayBrick);
    let name = call.opt_text("name")?.unwrap_or_else(|| "own".to_owned());
    let mut unit = Unit::new(&name, kind, sizes, joint, Gauge::from_bed(height, joint))?;
    if let Some(density) = call.opt_density("density")? {
        unit.density = density;
    }
    unit.core_share = call.opt_number("core_share")?.unwrap_or(0.0);
    unit.frog_share = call.opt_number("frog_share")?.unwrap_or(0.0);
    unit.validate()?;
    Ok(unit)
}
