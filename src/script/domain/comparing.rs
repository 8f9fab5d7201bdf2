use rhai::{Array, Dynamic, Map};

use super::catalogue::table;
use super::plans::change;
use super::{PlanValue, TableValue};
use crate::compare::{Change, Figure, Reading, sweep};
use crate::quantity::LengthStyle;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want,
};
use crate::sheet::Table;

const AXES: &[&str] = &["unit", "joint", "bed", "bond"];

const COMPARE: Declaration = Declaration {
    name: "compare",
    group: Group::Comparing,
    summary: "The same plan laid in every combination of units, joints and bonds, a row each.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required("plan", Want::Value("Plan"), "The plan."),
        Parameter::required(
            "vary",
            Want::Map,
            "What to vary: a map of unit, joint, bed or bond to a list of values.",
        ),
        Parameter::optional(
            "figures",
            Want::List(&Want::Word(Figure::WORDS)),
            "units, cuts, mortar, height",
            "What to read off each.",
        ),
    ],
    options: &[],
    returns: "A table.",
    examples: &[Example {
        script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 }));\ncompare(p, #{ joint: [8.mm, 10.mm] }, [\"pieces\", \"height\"])",
        shows: "  joint  pieces  height\n  -----  ------  ------\n  8 mm        8  292 mm\n  10 mm       8  300 mm",
    }],
    see_also: &["laid_with", "takeoff"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&COMPARE, compare);
}

fn compare(call: &Call) -> Result<TableValue, Fault> {
    let plan: PlanValue = call.value("plan")?;
    let vary = call.map("vary")?;
    let axes = axes(&vary)?;
    let words = if call.has("figures") {
        call.texts("figures")?
    } else {
        ["units", "cuts", "mortar", "height"]
            .map(str::to_owned)
            .to_vec()
    };
    let figures: Vec<Figure> = words
        .iter()
        .filter_map(|word| Figure::from_word(word))
        .collect();
    let changes: Vec<Vec<Change>> = axes.iter().map(|(_, changes)| changes.clone()).collect();
    let rows = sweep(&plan.plan, &changes, &figures)?;
    let style = plan.plan.style;
    let numbers: Vec<String> = words.iter().map(|word| format!("#{word}")).collect();
    let any_refused = rows.iter().any(|row| row.figures.is_err());
    let headings: Vec<&str> = axes
        .iter()
        .map(|(key, _)| *key)
        .chain(numbers.iter().map(String::as_str))
        .chain(any_refused.then_some("cannot be built"))
        .collect();
    let mut shown = Table::new("", &headings);
    let mut values = Vec::new();
    for row in rows {
        let mut cells: Vec<String> = row.changes.iter().map(Change::label).collect();
        let mut value = Map::new();
        for ((key, _), change) in axes.iter().zip(&row.changes) {
            value.insert((*key).into(), change.label().into());
        }
        match row.figures {
            Ok(figures) => {
                for (word, reading) in words.iter().zip(figures) {
                    cells.push(show(style, reading));
                    value.insert(word.as_str().into(), dynamic(reading));
                }
                if any_refused {
                    cells.push(String::new());
                }
            }
            Err(error) => {
                cells.extend(words.iter().map(|_| String::new()));
                cells.push(error.to_string());
                value.insert("refused".into(), error.to_string().into());
            }
        }
        shown.rows.push(cells);
        values.push(value);
    }
    Ok(table(shown, values))
}

/// What to vary, in the fixed order of the axes, since a map has none.
fn axes(vary: &Map) -> Result<Vec<(&'static str, Vec<Change>)>, Fault> {
    if let Some(unknown) = vary.keys().find(|key| !AXES.contains(&key.as_str())) {
        let fault = Fault::new("unknown-option", format!("`{unknown}` cannot be varied"))
            .remedy(super::options_remedy(unknown, AXES))
            .about("vary")
            .entry_key(unknown.as_str());
        return Err(fault);
    }
    if vary.is_empty() {
        return Err(Fault::new("nothing-to-vary", "there is nothing to vary")
            .remedy("write #{ joint: [8.mm, 10.mm, 12.mm] }")
            .about("vary"));
    }
    let mut found = Vec::new();
    for axis in AXES {
        let Some(values) = vary.get(*axis) else {
            continue;
        };
        let values = values
            .clone()
            .try_cast::<Array>()
            .unwrap_or_else(|| vec![values.clone()]);
        if values.is_empty() {
            return Err(
                Fault::new("nothing-to-vary", format!("`{axis}` has no values to try"))
                    .remedy("list at least one value, or leave it out")
                    .about("vary")
                    .entry(*axis),
            );
        }
        let changes = values
            .iter()
            .enumerate()
            .map(|(at, value)| {
                change(axis, value).map_err(|fault| fault.about("vary").entry(*axis).element(at))
            })
            .collect::<Result<Vec<_>, _>>()?;
        found.push((*axis, changes));
    }
    Ok(found)
}

fn show(style: LengthStyle, reading: Reading) -> String {
    match reading {
        Reading::Count(count) => count.to_string(),
        Reading::Length(length) => style.show(length),
        Reading::Volume(volume) => style.show_volume(volume),
        Reading::Mass(mass) => style.show_mass(mass),
    }
}

fn dynamic(reading: Reading) -> Dynamic {
    match reading {
        Reading::Count(count) => (count as i64).into(),
        Reading::Length(length) => Dynamic::from(length),
        Reading::Volume(volume) => Dynamic::from(volume),
        Reading::Mass(mass) => Dynamic::from(mass),
    }
}
