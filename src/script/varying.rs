//! A comparison asked for outside any script, such as on the command line: `--vary joint=8.mm,10.mm --show units`.

use std::collections::BTreeMap;

use rhai::{Array, Dynamic, Map, Scope};

use super::building::told;
use super::diagnostic::{Given, Span};
use super::{Fault, Outcome, Session, given};
use crate::compare::MOST_ROWS;
use crate::quantity::Length;

/// A comparison as it is asked for, every value still a text.
#[derive(Clone, Debug, Default)]
pub struct Varied {
    /// What to vary, each `key=a,b,c` or `key=low..high:step`.
    pub vary: Vec<String>,
    /// What to read off; empty for the usual figures.
    pub show: Vec<String>,
    /// Whether values go in pairs.
    pub paired: bool,
    /// Columns of which more is better.
    pub most: Vec<String>,
    /// Further columns of which less is better.
    pub least: Vec<String>,
    /// What must hold of a row, such as `row.cuts < 50`.
    pub only: Option<String>,
    /// Columns whose front is kept.
    pub front: Vec<String>,
    /// The column to sort by.
    pub sort: Option<String>,
    /// Whether the greatest comes first.
    pub greatest_first: bool,
    /// The row that others are set against.
    pub against: Option<i64>,
    /// How many rows are kept.
    pub first: Option<i64>,
    /// The file of a chart, and what runs across, up, and makes its series.
    pub chart: Option<(String, [Option<String>; 3])>,
}

/// What stands between the commas of a text, outside brackets and quotes.
///
/// # Errors
/// When a bracket or quote is not closed.
pub fn split_list(text: &str) -> Result<Vec<String>, Fault> {
    let items = given::items(text).ok_or_else(|| {
        Fault::new(
            "unreadable-value",
            format!("a bracket or quote of `{text}` is not closed"),
        )
        .remedy("close it, and put the whole between single quotes on the command line")
    })?;
    let items = items.iter().map(|item| item.trim().to_owned());
    Ok(items.filter(|item| !item.is_empty()).collect())
}

impl Session {
    /// Whether a script is a recipe by its functions, and no plan.
    pub fn is_recipe(&self, text: &str) -> bool {
        let tree = self.engine.compile(text);
        tree.is_ok_and(|tree| {
            let mut functions = tree.iter_functions();
            functions.any(|function| function.name == "build" && function.params.len() == 1)
        })
    }

    /// Compares variants of a plan, or of a recipe given by its name or file. What is wrong points into the texts to vary,
    /// under the name `source`.
    pub fn compare_given(&mut self, source: &str, subject: Dynamic, varied: &Varied) -> Outcome {
        let vary = match self.axes_given(source, &varied.vary) {
            Ok(vary) => vary,
            Err(outcome) => return outcome,
        };
        let tree = match self.engine.compile(script(varied)) {
            Ok(tree) => tree,
            Err(error) => {
                let only = varied.only.as_deref().unwrap_or_default();
                let fault = Fault::new(
                    "unreadable-question",
                    format!("\"{only}\" is no question to a row: {}", error.err_type()),
                )
                .remedy("write it as in a script: row.cuts < 50");
                return Outcome::from(fault);
            }
        };
        let mut tree = tree;
        tree.set_source(source);
        let mut scope = Scope::new();
        let texts = |texts: &[String]| -> Dynamic {
            let texts: Array = texts.iter().map(|text| text.clone().into()).collect();
            texts.into()
        };
        let mut options = Map::new();
        options.insert("paired".into(), varied.paired.into());
        options.insert("most".into(), texts(&varied.most));
        options.insert("least".into(), texts(&varied.least));
        scope.push_constant("subject", subject);
        scope.push_constant("vary", vary);
        scope.push_constant("columns", texts(&varied.show));
        scope.push_constant("options", options);
        scope.push_constant("front", texts(&varied.front));
        scope.push_constant("sort", varied.sort.clone().unwrap_or_default());
        let mut order = Map::new();
        order.insert("greatest_first".into(), varied.greatest_first.into());
        scope.push_constant("order", order);
        scope.push_constant("against", varied.against.unwrap_or_default());
        scope.push_constant("first", varied.first.unwrap_or_default());
        if let Some((file, names)) = &varied.chart {
            let named = ["across", "up", "by"].into_iter().zip(names);
            let chart: Map = named
                .filter_map(|(key, name)| Some((key.into(), name.clone()?.into())))
                .collect();
            scope.push_constant("file", file.clone());
            scope.push_constant("chart", chart);
        }
        self.perform(source, &mut scope, &tree, &rhai::AST::empty())
    }

    /// What to vary, as a list of maps, each of one key.
    fn axes_given(&mut self, source: &str, texts: &[String]) -> Result<Array, Outcome> {
        let lines: Vec<String> = texts
            .iter()
            .map(|text| text.replace(|c: char| c.is_control(), " "))
            .collect();
        let (mut axes, mut diagnostics) = (Array::new(), Vec::new());
        let mut places = BTreeMap::new();
        for (at, line) in lines.iter().enumerate() {
            let span = |start: usize, length: usize| Span {
                source: source.to_owned(),
                line: at + 1,
                column: start + 1,
                length: length.max(1),
            };
            let Some((key, values)) = line.split_once('=') else {
                let fault = Fault::new("unreadable-option", "this varies nothing")
                    .remedy("write what to vary and its values: joint=8.mm,10.mm or courses=4..8");
                diagnostics.push(told(&fault, Some(span(0, line.chars().count()))));
                continue;
            };
            let start = key.chars().count() + 1;
            let place = Given {
                key: span(0, key.trim_end().chars().count()),
                value: span(start, values.trim_end().chars().count()),
            };
            let read: Result<Vec<Array>, Fault> = split_list(values).and_then(|items| {
                let items = items.iter();
                items.map(|item| self.values_given(item)).collect()
            });
            match read {
                Ok(values) => {
                    let values: Array = values.into_iter().flatten().collect();
                    let axis = Map::from([(key.trim().into(), Dynamic::from(values))]);
                    axes.push(axis.into());
                }
                Err(fault) => diagnostics.push(told(&fault, Some(place.value.clone()))),
            }
            places.insert(key.trim().to_owned(), place);
        }
        self.sources.add_given(source, &lines.join("\n"), places);
        if diagnostics.is_empty() {
            return Ok(axes);
        }
        Err(Outcome {
            diagnostics,
            ..Outcome::default()
        })
    }

    /// The values of one item: itself, or all from low to high in steps.
    fn values_given(&self, item: &str) -> Result<Array, Fault> {
        let Some((low, rest)) = item.split_once("..") else {
            return Ok(vec![self.given(item)?]);
        };
        let rest = rest.trim_start_matches('=');
        let (high, step) = match rest.split_once(':') {
            Some((high, step)) => (high, Some(step)),
            None => (rest, None),
        };
        let (low, high) = (self.given(low)?, self.given(high)?);
        let step = step.map(|step| self.given(step)).transpose()?;
        steps(&low, &high, step.as_ref()).ok_or_else(|| {
            Fault::new("unreadable-range", format!("`{item}` is no range of values")).remedy(
                "write courses=4..8, courses=4..12:2 or joint=8.mm..12.mm:1.mm: both ends are tried",
            )
        })
    }
}

/// All from low to high, both taken where the steps come out.
fn steps(low: &Dynamic, high: &Dynamic, step: Option<&Dynamic>) -> Option<Array> {
    let most = i64::try_from(MOST_ROWS).ok()?;
    let count = |low: i64, high: i64, step: i64| {
        let count = (step > 0).then(|| high.checked_sub(low)).flatten()? / step;
        (0..most).contains(&count).then_some(count)
    };
    if let (Ok(low), Ok(high)) = (low.as_int(), high.as_int()) {
        let step = step.map_or(Some(1), |step| step.as_int().ok());
        if let Some(step) = step {
            let count = count(low, high, step)?;
            return Some((0..=count).map(|at| (low + at * step).into()).collect());
        }
    }
    if let (Some(low), Some(high), Some(step)) = (length(low), length(high), step.and_then(length))
    {
        let count = count(low.nm(), high.nm(), step.nm())?;
        return (0..=count)
            .map(|at| {
                let length = step.checked_mul(at).ok()?;
                Some(Dynamic::from(low.checked_add(length).ok()?))
            })
            .collect();
    }
    let number = |value: &Dynamic| {
        let whole = value.as_int().ok().map(|whole| whole as f64);
        whole.or_else(|| value.as_float().ok())
    };
    let (low, high, step) = (number(low)?, number(high)?, number(step?)?);
    // A step that is off by the last bits of its sum still comes out.
    let count = ((high - low) / step + 1e-9).floor();
    (step > 0.0 && count >= 0.0 && count < MOST_ROWS as f64).then(|| {
        let count = count as u64;
        (0..=count)
            .map(|at| Dynamic::from(low + at as f64 * step))
            .collect()
    })
}

fn length(value: &Dynamic) -> Option<Length> {
    value.read_lock::<Length>().map(|length| *length)
}

/// The script that a comparison stands for; its names are in the scope.
fn script(varied: &Varied) -> String {
    let columns = if varied.show.is_empty() {
        ""
    } else {
        "columns, "
    };
    let mut script = format!("let made = compare(subject, vary, {columns}options)");
    if let Some(only) = &varied.only {
        script.push_str(".only(|row| ");
        script.push_str(only);
        script.push(')');
    }
    if !varied.front.is_empty() {
        script.push_str(".front(front)");
    }
    if varied.sort.is_some() {
        script.push_str(".sorted(sort, order)");
    }
    if varied.against.is_some() {
        script.push_str(".against(against)");
    }
    if varied.first.is_some() {
        script.push_str(".first(first)");
    }
    script.push(';');
    if varied.chart.is_some() {
        script.push_str(" made.save_chart(file, chart);");
    }
    script.push_str(" made");
    script
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_are_split_outside_brackets_and_quotes() {
        assert_eq!(
            split_list("units, inside(\"a, b\", 2).volume,[1, 2],").unwrap(),
            ["units", "inside(\"a, b\", 2).volume", "[1, 2]"]
        );
        assert!(split_list("units, inside(").is_err());
    }

    #[test]
    fn ranges_take_both_ends() {
        let shown = |low: Dynamic, high: Dynamic, step: Option<Dynamic>| {
            let values = steps(&low, &high, step.as_ref())?;
            let values: Vec<String> = values.iter().map(ToString::to_string).collect();
            Some(values.join(" "))
        };
        assert_eq!(shown(4.into(), 6.into(), None).unwrap(), "4 5 6");
        assert_eq!(shown(4.into(), 9.into(), Some(2.into())).unwrap(), "4 6 8");
        assert_eq!(
            shown(0.1.into(), 0.4.into(), Some(0.1.into())).unwrap(),
            "0.1 0.2 0.30000000000000004 0.4"
        );
        assert_eq!(shown(6.into(), 4.into(), None), None);
        assert_eq!(shown(1.into(), 2.into(), Some(0.into())), None);
        assert_eq!(shown(0.into(), i64::MAX.into(), None), None);
        let mm = |mm: i64| Dynamic::from(Length::mm(mm));
        let lengths = steps(&mm(8), &mm(12), Some(&mm(2))).unwrap();
        assert_eq!(lengths.len(), 3);
        assert_eq!(length(&lengths[2]), Some(Length::mm(12)));
    }
}
