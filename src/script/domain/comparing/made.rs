//! A comparison as a value of the language, and what can be done with it.

use std::path::Path;
use std::rc::Rc;

use rhai::{Array, Dynamic, FnPtr, Map};

use super::super::PlanValue;
use super::axes::ValueAxis;
use super::subject::{Subject, options_at, row_map};
use crate::compare::{Aim, Comparison, Row, Slot, changes_at};
use crate::quantity::LengthStyle;
use crate::script::{
    Call, CallKind, Caller, Declaration, Example, Fault, Group, Parameter, Refusal, Registry, Want,
    errors,
};
use crate::sheet::{self, ChartTask};

/// Rows shown at most: more run off every screen.
const MOST_SHOWN: usize = 60;

/// A comparison, with what it takes to make the plan of a row again.
#[derive(Clone)]
pub struct ComparisonValue {
    comparison: Rc<Comparison>,
    subject: Subject,
    axes: Rc<Vec<ValueAxis>>,
    style: LengthStyle,
}

impl ComparisonValue {
    pub(super) fn new(
        comparison: Comparison,
        subject: Subject,
        axes: Vec<ValueAxis>,
        style: LengthStyle,
    ) -> ComparisonValue {
        ComparisonValue {
            comparison: Rc::new(comparison),
            subject,
            axes: Rc::new(axes),
            style,
        }
    }

    /// The comparison itself.
    pub fn comparison(&self) -> &Comparison {
        &self.comparison
    }

    /// How its lengths are shown.
    pub fn style(&self) -> LengthStyle {
        self.style
    }

    fn changed(&self, comparison: Comparison) -> ComparisonValue {
        ComparisonValue {
            comparison: Rc::new(comparison),
            ..self.clone()
        }
    }

    fn text(&self) -> String {
        sheet::comparison_text(&self.comparison, self.style, MOST_SHOWN)
            .trim_end()
            .to_owned()
    }

    fn map(&self, row: &Row) -> Map {
        row_map(&self.comparison, &self.axes, row)
    }

    /// The axis or column that a call names.
    fn slot(&self, call: &Call, key: &str) -> Result<Slot, Fault> {
        let name = call.text(key)?;
        self.comparison
            .slot(&name)
            .ok_or_else(|| unknown_column(&name, self.comparison.names()).about(key))
    }

    /// The row that a call names by its number.
    fn row(&self, call: &Call, key: &str) -> Result<&Row, Fault> {
        let number = call.whole(key)?;
        let found = usize::try_from(number).ok();
        found
            .and_then(|number| self.comparison.numbered(number))
            .ok_or_else(|| {
                Fault::new("no-such-row", format!("there is no row {number} here"))
                    .remedy("the numbers stand on the left of the table")
                    .about(key)
            })
    }
}

/// A name that is no column or axis.
pub(super) fn unknown_column<'n>(name: &str, known: impl Iterator<Item = &'n str>) -> Fault {
    let known: Vec<&str> = known.collect();
    let near = crate::masonry::nearest(name, known.iter().copied())
        .map(|near| format!("did you mean \"{near}\"?  "))
        .unwrap_or_default();
    Fault::new("unknown-word", format!("there is no column \"{name}\""))
        .remedy(format!("{near}Columns: {}", known.join(", ")))
}

const BASE: Declaration = Declaration {
    name: "",
    group: Group::Comparing,
    summary: "",
    kind: CallKind::Method { of: "Comparison" },
    positional: &[],
    options: &[],
    returns: "The comparison with it.",
    examples: &[],
    errors: &[],
    see_also: &["compare"],
};

const COLUMN: Parameter = Parameter::required(
    "column",
    Want::Text,
    "The column, or what was varied, by its heading.",
);

const SORTED: Declaration = Declaration {
    name: "sorted",
    summary: "The rows in the order of a column, least first; rows without a figure come last.",
    positional: &[COLUMN],
    options: &[Parameter::optional(
        "greatest_first",
        Want::Flag,
        "false",
        "Whether the greatest comes first.",
    )],
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: [3, 1, 2] }, [\"height\"]).sorted(\"height\").rows.map(|row| row.row)",
        shows: "[2, 3, 1]",
    }],
    see_also: &["compare", "first", "only"],
    ..BASE
};

const ONLY: Declaration = Declaration {
    name: "only",
    summary: "The rows for which a function of the row says yes; rows that cannot be built fall out.",
    positional: &[Parameter::required(
        "keeps",
        Want::Function,
        "A function of a row, such as |row| row.cuts < 50.",
    )],
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: 1..=4 }, [\"height\"]).only(|row| row.height < 50.cm).rows.len()",
        shows: "2",
    }],
    see_also: &["compare", "sorted", "buildable"],
    ..BASE
};

const BUILDABLE: Declaration = Declaration {
    name: "buildable",
    summary: "The rows that can be built.",
    examples: &[Example {
        script: "let made = |o| plan(\"box\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [o.across, 3], courses: 4 }));\ncompare(made, #{ across: [0.5, 3] }, [\"height\"]).buildable().rows.len()",
        shows: "1",
    }],
    see_also: &["compare", "only"],
    ..BASE
};

const FIRST: Declaration = Declaration {
    name: "first",
    summary: "The first rows.",
    positional: &[Parameter::required(
        "count",
        Want::WholeFrom(0, i64::MAX),
        "How many.",
    )],
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: 1..=4 }, [\"height\"]).first(2).rows.len()",
        shows: "2",
    }],
    see_also: &["compare", "sorted"],
    ..BASE
};

const FRONT: Declaration = Declaration {
    name: "front",
    summary: "The rows that no other row beats in all of some columns at once: of the rest, another is at least as good in each and better in one (the Pareto set).",
    positional: &[Parameter::required(
        "columns",
        Want::List(&Want::Text),
        "The columns, usually two or three. Less is better, unless the comparison says that more of it is.",
    )],
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: 1..=3, joint: [8.mm, 12.mm] }, [\"height\", \"units\"], #{ most: [\"height\"] }).front([\"height\", \"units\"]).rows.len()",
        shows: "3",
    }],
    see_also: &["compare", "sorted"],
    errors: &[errors::these(&[errors::NOT_NUMBERS, errors::NO_COLUMNS])],
    ..BASE
};

const AGAINST: Declaration = Declaration {
    name: "against",
    summary: "The rows with what each differs by from one of them.",
    positional: &[Parameter::required(
        "row",
        Want::WholeNumber,
        "The number of the row that the others are set against.",
    )],
    examples: &[Example {
        script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 }));\ncompare(p, #{ joint: [8.mm, 10.mm] }, [\"height\"]).against(2)",
        shows: "stand\n  row  joint  height      ±\n  ---  -----  ------  -----\n    1   8 mm  292 mm  -8 mm\n    2  10 mm  300 mm   0 mm\n  ± against row 2",
    }],
    errors: &[errors::these(&[errors::NO_SUCH_ROW])],
    ..BASE
};

const VARIANT: Declaration = Declaration {
    name: "variant",
    summary: "The plan of a row, to be looked at, reviewed or changed.",
    positional: &[Parameter::optional(
        "row",
        Want::WholeNumber,
        "the first shown",
        "The number of the row, on the left of the table.",
    )],
    returns: "A plan.",
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: 1..=3 }, [\"height\"]).variant(3).height()",
        shows: "675 mm (about 2' 2 9/16\")",
    }],
    see_also: &["compare", "sorted"],
    errors: &[errors::these(&[errors::NO_SUCH_ROW, errors::ROW_NOT_BUILT])],
    ..BASE
};

const SAVE_TABLE: Declaration = Declaration {
    name: "save_table",
    summary: "Writes the rows into a file of the output folder: .csv with plain numbers whose units stand in the headings, .json, or .txt as shown.",
    positional: &[Parameter::required(
        "file",
        Want::Text,
        "The name of the file.",
    )],
    returns: "The place of the file.",
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: [1, 2] }, [\"height\"]).save_table(\"beds.csv\")",
        shows: "beds.csv",
    }],
    see_also: &["compare", "save_chart"],
    errors: &[errors::these(&[
        errors::UNKNOWN_ENDING,
        errors::FILE_TROUBLE,
    ])],
    ..BASE
};

const SAVE_CHART: Declaration = Declaration {
    name: "save_chart",
    summary: "Draws one figure against another as a chart in SVG, readable in black and white, and writes it into the output folder.",
    positional: &[Parameter::required(
        "file",
        Want::Text,
        "The name of the file, with .svg.",
    )],
    options: &[
        Parameter::optional(
            "across",
            Want::Text,
            "what was varied first, or second where the first is the series",
            "What runs across: what was varied, or a column.",
        ),
        Parameter::optional(
            "up",
            Want::Text,
            "the first column",
            "What runs up: a column of numbers.",
        ),
        Parameter::optional(
            "by",
            Want::Text,
            "what was varied first, where two things were",
            "What was varied, of which each value is a line of its own.",
        ),
    ],
    returns: "The place of the file.",
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: 1..=4, joint: [8.mm, 10.mm, 12.mm] }, [\"mortar\"]).save_chart(\"beds.svg\", #{ across: \"courses\", up: \"mortar\", by: \"joint\" })",
        shows: "beds.svg",
    }],
    see_also: &["compare", "save_table"],
    errors: &[errors::these(&[
        errors::NO_CHART,
        errors::UNKNOWN_ENDING,
        errors::FILE_TROUBLE,
    ])],
    ..BASE
};

const ROWS: Declaration = Declaration {
    name: "rows",
    group: Group::Comparing,
    summary: "The rows of a comparison, each an option map of what was varied and what was read off.",
    kind: CallKind::Property { of: "Comparison" },
    returns: "A list of maps.",
    examples: &[Example {
        script: "compare(\"raised_bed\", #{ courses: [2] }, [\"height\"]).rows[0].height",
        shows: "450 mm (about 1' 5 11/16\")",
    }],
    ..BASE
};

pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<ComparisonValue>("Comparison", "a comparison", ComparisonValue::text);
    registry.property::<ComparisonValue, Array>(&ROWS, |value| {
        let rows = value.comparison.rows.iter();
        Ok(rows.map(|row| Dynamic::from(value.map(row))).collect())
    });
    registry.method::<ComparisonValue, _>(&SORTED, |call, value| {
        let slot = value.slot(call, "column")?;
        let greatest = call.opt_flag("greatest_first")?.unwrap_or(false);
        Ok(value.changed(value.comparison.sorted(slot, greatest)))
    });
    registry.calling_method::<ComparisonValue, _>(&ONLY, |call, caller, value| {
        only(call, caller, &value)
    });
    registry.method::<ComparisonValue, _>(&BUILDABLE, |_, value| {
        Ok(value.changed(value.comparison.kept(|row| row.figures.is_ok())))
    });
    registry.method::<ComparisonValue, _>(&FIRST, |call, value| {
        let count = usize::try_from(call.whole("count")?).unwrap_or(usize::MAX);
        Ok(value.changed(value.comparison.first(count)))
    });
    registry.method::<ComparisonValue, _>(&FRONT, |call, value| front(call, &value));
    registry.method::<ComparisonValue, _>(&AGAINST, |call, value| {
        let base = value.row(call, "row")?;
        if let Err(refused) = &base.figures {
            return Err(Fault::new(
                "row-not-built",
                format!("row {} cannot be built: {}", base.number, refused.message),
            )
            .remedy("set the rows against one that can")
            .about("row"));
        }
        Ok(value.changed(value.comparison.against(base)))
    });
    registry.calling_method::<ComparisonValue, _>(&VARIANT, |call, caller, value| {
        plan_of(call, caller, &value)
    });
    let outside = registry.outside();
    registry.method::<ComparisonValue, _>(&SAVE_TABLE, move |call, value| {
        let file = call.text("file")?;
        let text = match ending(&file) {
            Some("csv") => sheet::comparison_csv(&value.comparison),
            Some("json") => sheet::comparison_json(&value.comparison).to_string(),
            Some("txt") => sheet::comparison_text(&value.comparison, value.style, usize::MAX),
            _ => {
                return Err(Fault::new(
                    "unknown-ending",
                    format!("`{file}` does not say how to write the table"),
                )
                .remedy("let the name end with .csv, .json or .txt")
                .about("file"));
            }
        };
        let path = outside.write_file(&file, text.as_bytes())?;
        Ok(path.to_string_lossy().into_owned())
    });
    let outside = registry.outside();
    registry.method::<ComparisonValue, _>(&SAVE_CHART, move |call, value| {
        let svg = chart(call, &value)?;
        let file = call.text("file")?;
        if ending(&file) != Some("svg") {
            return Err(Fault::new(
                "unknown-ending",
                format!("a chart is written as SVG, but the file is `{file}`"),
            )
            .remedy("let the name end with .svg")
            .about("file"));
        }
        let path = outside.write_file(&file, svg.as_bytes())?;
        Ok(path.to_string_lossy().into_owned())
    });
}

/// How the name of a file ends, which says what is written into it.
fn ending(file: &str) -> Option<&str> {
    Path::new(file).extension()?.to_str()
}

fn only(
    call: &Call,
    caller: &Caller<'_>,
    value: &ComparisonValue,
) -> Result<ComparisonValue, Refusal> {
    let keeps = call
        .raw("keeps")
        .and_then(|keeps| keeps.clone().try_cast::<FnPtr>());
    let Some(keeps) = keeps else {
        return Ok(value.clone());
    };
    let mut kept = Vec::new();
    for row in &value.comparison.rows {
        if row.figures.is_err() {
            continue;
        }
        let answer = caller.call(&keeps, vec![value.map(row).into()])?;
        let keep = answer.as_bool().map_err(|_| {
            Fault::new(
                "wrong-type",
                format!(
                    "the function must say true or false of a row, but gives {}",
                    call.vocabulary().describe(&answer)
                ),
            )
            .remedy("write a comparison, such as |row| row.cuts < 50")
            .about("keeps")
        })?;
        if keep {
            kept.push(row.number);
        }
    }
    Ok(value.changed(value.comparison.kept(|row| kept.contains(&row.number))))
}

fn front(call: &Call, value: &ComparisonValue) -> Result<ComparisonValue, Fault> {
    let mut aims = Vec::new();
    for (at, name) in call.texts("columns")?.iter().enumerate() {
        let slot = value.comparison.slot(name).ok_or_else(|| {
            unknown_column(name, value.comparison.names())
                .about("columns")
                .element(at)
        })?;
        let aim = match slot {
            Slot::Column(column) => value.comparison.columns.get(column).and_then(|one| one.aim),
            Slot::Axis(_) => None,
        };
        let numbers = value
            .comparison
            .rows
            .iter()
            .filter_map(|row| value.comparison.reading(row, slot))
            .all(|reading| reading.number().is_some());
        if !numbers {
            return Err(Fault::new(
                "not-numbers",
                format!("\"{name}\" is not a number in every row"),
            )
            .remedy("name columns of numbers")
            .about("columns")
            .element(at));
        }
        aims.push((slot, aim.unwrap_or(Aim::Least)));
    }
    if aims.is_empty() {
        return Err(Fault::new("no-columns", "there is no column to go by")
            .remedy("name two or three, such as [\"units\", \"mass\"]")
            .about("columns"));
    }
    Ok(value.changed(value.comparison.front(&aims)))
}

fn plan_of(
    call: &Call,
    caller: &Caller<'_>,
    value: &ComparisonValue,
) -> Result<PlanValue, Refusal> {
    let row = if call.has("row") {
        value.row(call, "row")?
    } else {
        value.comparison.rows.first().ok_or_else(|| {
            Fault::new("no-such-row", "there is no row left in this comparison")
                .remedy("keep more rows")
        })?
    };
    let changes: Vec<_> = value.axes.iter().map(|axis| axis.changes.clone()).collect();
    let options = options_at(&value.axes, &row.at);
    value
        .subject
        .plan(call, caller, options, &changes_at(&changes, &row.at))
}

fn chart(call: &Call, value: &ComparisonValue) -> Result<String, Fault> {
    let comparison = &value.comparison;
    let by = if call.has("by") {
        match value.slot(call, "by")? {
            Slot::Axis(axis) => Some(axis),
            Slot::Column(_) => {
                let names: Vec<&str> = comparison.axes.iter().map(|a| a.name.as_str()).collect();
                return Err(Fault::new(
                    "unknown-word",
                    "a series is made of something that was varied, not of a column",
                )
                .remedy(format!("what was varied: {}", names.join(", ")))
                .about("by"));
            }
        }
    } else {
        (comparison.axes.len() > 1).then_some(0)
    };
    let across = if call.has("across") {
        value.slot(call, "across")?
    } else {
        Slot::Axis(usize::from(by == Some(0)))
    };
    let up = if call.has("up") {
        value.slot(call, "up")?
    } else {
        Slot::Column(0)
    };
    let by = by.filter(|by| across != Slot::Axis(*by));
    sheet::chart_svg(comparison, ChartTask { across, up, by }, value.style).map_err(|none| {
        let (message, remedy) = none.words();
        Fault::new("no-chart", message).remedy(remedy)
    })
}
