//! `compare`: variants of a plan, of a recipe or of what a function makes, side by side.

mod axes;
mod carried;
mod columns;
mod made;
pub(super) mod readings;
mod subject;

pub use made::ComparisonValue;

use axes::axes;
use columns::{Wanted, columns};
use rhai::{Array, Dynamic, Map};
use subject::{Subject, World, compared};

use crate::compare::{Figure, Grid};
use crate::script::{
    Call, CallKind, Caller, Declaration, Example, Fault, Group, NameOf, Parameter, Refusal,
    Registry, Want, errors,
};

/// What is read off where a script does not say.
const USUAL_FIGURES: [Figure; 4] = [Figure::Units, Figure::Cuts, Figure::Mortar, Figure::Height];

/// What can be varied of a plan, for help and completion; a recipe and a function have options of their own.
const VARIED: &[Parameter] = &[
    Parameter::optional(
        "unit",
        Want::List(&Want::AnyOf(&[
            Want::Name(NameOf::Unit),
            Want::Value("Unit"),
        ])),
        "",
        "Units to try, by name or as values.",
    ),
    Parameter::optional(
        "joint",
        Want::List(&Want::Length),
        "",
        "Joints to try, head and bed.",
    ),
    Parameter::optional("bed", Want::List(&Want::Length), "", "Bed joints to try."),
    Parameter::optional(
        "bond",
        Want::List(&Want::Name(NameOf::Bond)),
        "",
        "Bonds to try.",
    ),
];

const COMPARE: Declaration = Declaration {
    name: "compare",
    group: Group::Comparing,
    summary: "Variants side by side: a plan, a recipe or what a function makes, with every combination of some settings.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required(
            "subject",
            Want::AnyOf(&[Want::Value("Plan"), Want::Text, Want::Function]),
            "A plan, whose unit, joint, bed and bond can be varied; the name of a recipe, all of whose options can; or a function that makes a plan of an option map, such as |o| lakeside(o.courses).",
        ),
        Parameter::required(
            "vary",
            Want::AnyOf(&[Want::Entries(VARIED), Want::List(&Want::Map)]),
            "What to vary: a map of names to a list or range of values; a list of such maps keeps their order.",
        ),
        Parameter::optional(
            "columns",
            Want::List(&Want::AnyOf(&[Want::Text, Want::Map])),
            "units, cuts, mortar, height",
            "What to read off each: units, pieces, cuts, mortar, concrete, height, mass, breaches, stops, warnings; any question to the plan, such as \"inside(\\\"cabinet\\\").volume\"; or #{ name: \"room\", of: |p| ... }.",
        ),
    ],
    options: &[
        Parameter::optional(
            "paired",
            Want::Flag,
            "false",
            "Whether first values go with first values, second with second, instead of each with each.",
        ),
        Parameter::optional(
            "most",
            Want::List(&Want::Text),
            "",
            "The columns of which more is better; of the counted ones less is.",
        ),
        Parameter::optional(
            "least",
            Want::List(&Want::Text),
            "",
            "Further columns of which less is better.",
        ),
    ],
    returns: "A comparison.",
    examples: &[
        Example {
            script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 }));\ncompare(p, #{ joint: [8.mm, 10.mm] }, [\"pieces\", \"height\"])",
            shows: "stand\n  row  joint  pieces   height\n  ---  -----  -------  ------\n    1   8 mm       8*  292 mm\n    2  10 mm       8*  300 mm\n  * the best of its column",
        },
        Example {
            script: "compare(\"raised_bed\", #{ courses: 1..=3 }, [\"height\"]).rows.map(|row| row.height)",
            shows: "[225 mm, 450 mm, 675 mm]",
        },
        Example {
            script: "let column = |o| plan(\"column\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [o.width, o.width], courses: 6 }));\ncompare(column, #{ width: [1, 1.5, 2] }, [\"mass\", #{ name: \"across\", of: |p| p.outside(\"pier\").across }]).rows[1].across",
            shows: "327.5 mm",
        },
    ],
    errors: &[
        errors::COMPARING,
        errors::these(&[
            errors::NOT_IN_CATALOGUE,
            errors::JOINT_OUT_OF_RANGE,
            errors::MATERIAL_UNKNOWN,
            errors::UNFIT,
            errors::NO_RECIPE,
        ]),
    ],
    see_also: &[
        "sorted",
        "only",
        "front",
        "against",
        "save_chart",
        "laid_with",
    ],
};

pub(super) fn register(registry: &mut Registry) {
    made::register(registry);
    let world = World {
        outside: registry.outside(),
        limits: registry.limits(),
        interrupt: registry.interrupt(),
    };
    registry.calling_function(&COMPARE, move |call, caller| compare(call, caller, &world));
}

fn compare(call: &Call, caller: &Caller<'_>, world: &World) -> Result<ComparisonValue, Refusal> {
    let subject = Subject::of(call, caller)?;
    let axes = axes(call, &subject, world.limits.rows)?;
    let mut wanted = if call.has("columns") {
        columns(call, caller)?
    } else {
        USUAL_FIGURES.iter().copied().map(Wanted::figure).collect()
    };
    columns::set_aims(call, &mut wanted)?;
    let lengths: Vec<usize> = axes.iter().map(|axis| axis.values.len()).collect();
    let grid = if call.opt_flag("paired")?.unwrap_or(false) {
        Grid::paired(&lengths, world.limits.rows)
    } else {
        Grid::crossed(&lengths, world.limits.rows)
    };
    let grid = grid.map_err(|error| Fault::from(error).about("vary"))?;
    compared(call, caller, world, subject, axes, &wanted, &grid)
}

/// The entries of a value that is one map or a list of them, in order.
fn entries(value: &Dynamic) -> Vec<(Option<usize>, String, Dynamic)> {
    fn of(map: &Map, at: Option<usize>) -> impl Iterator<Item = (Option<usize>, String, Dynamic)> {
        map.iter()
            .map(move |(key, value)| (at, key.to_string(), value.clone()))
    }
    if let Some(map) = value.read_lock::<Map>() {
        return of(&map, None).collect();
    }
    let Some(maps) = value.read_lock::<Array>() else {
        return Vec::new();
    };
    maps.iter()
        .enumerate()
        .filter_map(|(at, map)| Some((at, map.read_lock::<Map>()?.clone())))
        .flat_map(|(at, map)| of(&map, Some(at)).collect::<Vec<_>>())
        .collect()
}
