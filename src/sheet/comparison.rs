//! A comparison as a table, as JSON and as CSV.

use serde_json::{Map, Value, json};

use super::json::document;
use super::table::Table;
use crate::compare::{Comparison, Reading, Row, Slot};
use crate::quantity::LengthStyle;
use crate::stop::Reason;

/// Version of a comparison's JSON.
const SCHEMA: &str = "perpend.comparison/1";
/// Heading of the reasons why variants cannot be built.
const REFUSED: &str = "cannot be built";
/// Behind the best figure of a column.
const MARK: &str = "*";
/// Heading of what figures differ by from the base.
const OFF: &str = "±";

/// A comparison as a table, with a line below for what its signs mean. No more than `most` rows are shown.
pub fn comparison_text(comparison: &Comparison, style: LengthStyle, most: usize) -> String {
    let mut text = table(comparison, style, most).text();
    let mut note = |line: String| {
        text.push_str("  ");
        text.push_str(&line);
        text.push('\n');
    };
    let any_best = (0..comparison.columns.len()).any(|column| comparison.best(column).is_some());
    if any_best {
        note(format!("{MARK} the best of its column"));
    }
    if let Some(base) = &comparison.base {
        note(format!("{OFF} against row {}", base.number));
    }
    let hidden = comparison.rows.len().saturating_sub(most);
    if hidden > 0 {
        note(format!("{hidden} more rows"));
    }
    if let Some(reason) = comparison.stopped {
        note(stopped_note(comparison, reason));
    }
    text
}

fn stopped_note(comparison: &Comparison, reason: Reason) -> String {
    let why = match reason {
        Reason::Interrupted => "interrupted",
        Reason::Time => "out of time",
    };
    format!(
        "{why}: not all of the {} variants were tried",
        comparison.of
    )
}

fn table(comparison: &Comparison, style: LengthStyle, most: usize) -> Table {
    let any_refused = comparison.rows.iter().any(|row| row.figures.is_err());
    let best: Vec<Option<&Reading>> = (0..comparison.columns.len())
        .map(|column| comparison.best(column))
        .collect();
    let mut headings: Vec<String> = vec!["#row".to_owned()];
    headings.extend(comparison.axes.iter().map(|axis| {
        let mut values = axis.values.iter();
        let number = if values.all(|value| value.number().is_some()) {
            "#"
        } else {
            ""
        };
        format!("{number}{}", axis.name)
    }));
    for (column, best) in comparison.columns.iter().zip(&best) {
        // Numbers line up with their marks standing out on the right.
        let room = if best.is_some() { " " } else { "" };
        headings.push(format!("#{}{room}", column.heading));
        if comparison.base.is_some() {
            headings.push(format!("#{OFF}"));
        }
    }
    if any_refused {
        headings.push(REFUSED.to_owned());
    }
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    let mut shown = Table::new(comparison.title.as_str(), &headings);
    for row in comparison.rows.iter().take(most) {
        let mut cells = vec![row.number.to_string()];
        for axis in 0..comparison.axes.len() {
            let reading = comparison.reading(row, Slot::Axis(axis));
            cells.push(reading.map(|one| one.show(style)).unwrap_or_default());
        }
        for (column, best) in best.iter().enumerate() {
            let reading = comparison.reading(row, Slot::Column(column));
            let mut cell = reading.map(|one| one.show(style)).unwrap_or_default();
            if let Some(best) = best {
                let is_best = reading.is_some_and(|one| one.order(best).is_eq());
                cell.push_str(if is_best { MARK } else { " " });
            }
            cells.push(cell);
            if let Some(base) = &comparison.base {
                let base = comparison.reading(base, Slot::Column(column));
                let off = reading
                    .zip(base)
                    .and_then(|(one, base)| one.off(base, style));
                cells.push(off.unwrap_or_default());
            }
        }
        if any_refused {
            let refused = row.figures.as_ref().err();
            cells.push(refused.map(|one| one.message.clone()).unwrap_or_default());
        }
        shown.row(cells);
    }
    shown
}

/// A name with the unit that its numbers are in: `mortar_litre`.
fn keyed(name: &str, unit: &str) -> String {
    let name = name.replace(' ', "_");
    if unit.is_empty() {
        name
    } else {
        format!("{name}_{unit}")
    }
}

/// The unit of a column: that of its first reading.
fn unit_of(comparison: &Comparison, slot: Slot) -> &'static str {
    let readings = comparison
        .rows
        .iter()
        .filter_map(|row| comparison.reading(row, slot));
    readings
        .map(Reading::unit)
        .find(|unit| !unit.is_empty())
        .unwrap_or_default()
}

/// Names for other programs, each with where its figures are.
type Named = Vec<(String, Slot)>;

/// What was varied, and what was read off.
fn slots(comparison: &Comparison) -> (Named, Named) {
    let named = |name: &str, slot| (keyed(name, unit_of(comparison, slot)), slot);
    let axes = comparison.axes.iter().enumerate();
    let columns = comparison.columns.iter().enumerate();
    (
        axes.map(|(at, axis)| named(&axis.name, Slot::Axis(at)))
            .collect(),
        columns
            .map(|(at, column)| named(&column.heading, Slot::Column(at)))
            .collect(),
    )
}

/// Comma-separated values (RFC 4180) with plain numbers, whose units stand in the headings.
pub fn comparison_csv(comparison: &Comparison) -> String {
    let (axes, columns) = slots(comparison);
    let slots: Vec<&(String, Slot)> = axes.iter().chain(&columns).collect();
    let mut headings = vec!["row"];
    headings.extend(slots.iter().map(|(name, _)| name.as_str()));
    headings.push("cannot_be_built");
    let mut table = Table::new("", &headings);
    for row in &comparison.rows {
        let mut cells = vec![row.number.to_string()];
        cells.extend(slots.iter().map(|(_, slot)| {
            let reading = comparison.reading(row, *slot);
            reading.map(plain).unwrap_or_default()
        }));
        let refused = row.figures.as_ref().err();
        cells.push(refused.map(|one| one.message.clone()).unwrap_or_default());
        table.row(cells);
    }
    table.csv()
}

/// A reading as a plain number where it is one.
fn plain(reading: &Reading) -> String {
    match reading.number() {
        Some(number) => number.to_string(),
        None => reading.show(LengthStyle::Metric),
    }
}

/// A comparison as JSON; the unit of every figure is in its name.
pub fn comparison_json(comparison: &Comparison) -> Value {
    let (axes, columns) = slots(comparison);
    let names = |slots: &[(String, Slot)]| -> Vec<String> {
        slots.iter().map(|(name, _)| name.clone()).collect()
    };
    let figures = |row: &Row, slots: &[(String, Slot)]| -> Map<String, Value> {
        slots
            .iter()
            .map(|(name, slot)| {
                let reading = comparison.reading(row, *slot);
                (name.clone(), reading.map_or(Value::Null, value))
            })
            .collect()
    };
    let rows: Vec<Value> = comparison
        .rows
        .iter()
        .map(|row| {
            let varied = figures(row, &axes);
            match &row.figures {
                Ok(_) => json!({
                    "row": row.number,
                    "varied": varied,
                    "figures": figures(row, &columns),
                }),
                Err(refused) => json!({
                    "row": row.number,
                    "varied": varied,
                    "refused": { "code": refused.code, "message": refused.message },
                }),
            }
        })
        .collect();
    document(
        SCHEMA,
        json!({
            "title": comparison.title,
            "varied": names(&axes),
            "figures": names(&columns),
            "variants": comparison.of,
            "complete": comparison.stopped.is_none(),
            "against": comparison.base.as_ref().map(|row| row.number),
            "rows": rows,
        }),
    )
}

fn value(reading: &Reading) -> Value {
    match reading {
        Reading::Nothing => Value::Null,
        Reading::Flag(flag) => json!(flag),
        Reading::Count(count) => json!(count),
        Reading::Text(text) => json!(text),
        _ => json!(reading.number()),
    }
}
