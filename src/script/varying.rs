//! A comparison asked for outside any script, such as on the command line: `--vary joint=8.mm,10.mm --show units`.

use rhai::{Array, Dynamic, Map, Scope};

use super::explain::syntax_words;
use super::{Fault, Outcome, Session, given};
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
                    format!(
                        "\"{only}\" is no question to a row: {}",
                        syntax_words(error.err_type()).message
                    ),
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
        let varies = "write what to vary and its values: joint=8.mm,10.mm or courses=4..8";
        let mut axes = Array::new();
        self.given_pairs(
            source,
            texts,
            ("this varies nothing", varies),
            |session, key, values| {
                let mut all = Array::new();
                for item in split_list(values)? {
                    all.extend(session.values_given(key, &item)?);
                }
                axes.push(Map::from([(key.into(), Dynamic::from(all))]).into());
                Ok(())
            },
        )?;
        Ok(axes)
    }

    /// The values of one item: itself, or all from low to high in steps.
    fn values_given(&self, key: &str, item: &str) -> Result<Array, Fault> {
        let is_whole = item.starts_with(['"', '`', '[']);
        let Some((low, rest)) = item.split_once("..").filter(|_| !is_whole) else {
            return Ok(vec![self.given(item)?]);
        };
        let rest = rest.trim_start_matches('=');
        let (high, step) = match rest.split_once(':') {
            Some((high, step)) => (high, Some(step)),
            None => (rest, None),
        };
        let end = |text: &str| {
            let given = !text.trim().is_empty();
            given.then(|| self.given(text)).transpose()
        };
        let (low, high) = match (end(low)?, end(high)?) {
            (Some(low), Some(high)) => (low, high),
            (low, high) => return Err(open_ended(key, item, low.as_ref(), high.as_ref())),
        };
        let step = match step {
            Some(step) if step.trim().is_empty() => {
                let fault = no_range(format!("`{item}` has no step behind the colon"));
                return Err(fault.remedy(format!("write {item}1, or leave the colon out")));
            }
            step => step.map(|step| self.given(step)).transpose()?,
        };
        if let Some(fault) = self.unfit(item, &low, &high, step.as_ref()) {
            return Err(fault);
        }
        let most = self.limits.rows;
        steps(&low, &high, step.as_ref(), most).ok_or_else(|| {
            Fault::new(
                "too-many-rows",
                format!("`{item}` has more than {most} values"),
            )
            .remedy("take a wider step, or a shorter range")
            .limit("rows")
        })
    }

    /// What is wrong with the ends and the step of a range.
    fn unfit(
        &self,
        item: &str,
        low: &Dynamic,
        high: &Dynamic,
        step: Option<&Dynamic>,
    ) -> Option<Fault> {
        let vocabulary = self.vocabulary();
        let kind = |value: &Dynamic| vocabulary.kind_of(value);
        for (name, end) in [("lower", low), ("upper", high)] {
            if number(end).is_none() && length(end).is_none() {
                let message = format!("the {name} end of `{item}` is {}", kind(end));
                let fault = no_range(format!("{message}, and no number or length"));
                return Some(fault.remedy(RANGES));
            }
        }
        let lengths = length(low).is_some();
        if length(high).is_some() != lengths {
            let fault = no_range(format!(
                "`{item}` goes from {} to {}",
                kind(low),
                kind(high)
            ));
            return Some(
                fault
                    .remedy("give both ends a unit, or neither")
                    .remedy(RANGES),
            );
        }
        let Some(step) = step else {
            if falls(low, high) {
                return Some(downwards(item));
            }
            let stepless = low.is_int() && high.is_int();
            return (!stepless).then(|| {
                let example = if lengths { "1.mm" } else { "0.5" };
                no_range(format!("`{item}` needs a step"))
                    .remedy(format!("write it behind a colon: {item}:{example}"))
            });
        };
        let fits = if lengths {
            length(step).is_some()
        } else {
            number(step).is_some()
        };
        if !fits {
            let fault = no_range(format!(
                "the step of `{item}` is {}, but its ends are each {}",
                kind(step),
                kind(low)
            ));
            return Some(fault.remedy(RANGES));
        }
        let grows = length(step).map_or_else(
            || number(step).is_some_and(|step| step > 0.0),
            |step| step.nm() > 0,
        );
        if !grows {
            let fault = no_range(format!("the step of `{item}` is not above zero"));
            return Some(fault.remedy(RANGES));
        }
        falls(low, high).then(|| downwards(item))
    }
}

const RANGES: &str =
    "write courses=4..8, courses=4..12:2 or joint=8.mm..12.mm:1.mm: both ends are tried";

fn no_range(message: String) -> Fault {
    Fault::new("unreadable-range", message)
}

fn downwards(item: &str) -> Fault {
    no_range(format!("`{item}` goes downwards"))
        .remedy("the lower end comes first")
        .remedy(RANGES)
}

/// A range of which an end is missing, with what it might have been.
fn open_ended(key: &str, item: &str, low: Option<&Dynamic>, high: Option<&Dynamic>) -> Fault {
    /// How far the example goes.
    const FAR: i64 = 4;
    let missing = match (low, high) {
        (Some(_), None) => "no upper end",
        (None, Some(_)) => "no lower end",
        _ => "neither a lower nor an upper end",
    };
    let fault = no_range(format!("`{item}` has {missing}"));
    let whole = |value: Option<&Dynamic>| value?.as_int().ok();
    let ends = match (whole(low), whole(high)) {
        (Some(low), None) => Some((low, low.saturating_add(FAR))),
        (None, Some(high)) => {
            let low = high.saturating_sub(FAR);
            Some((if high > 1 { low.max(1) } else { low }, high))
        }
        _ => None,
    };
    match ends {
        Some((low, high)) => fault.remedy(format!(
            "write both ends, such as {key}={low}..{high}: both are tried"
        )),
        None => fault.remedy(RANGES),
    }
}

/// Whether the first of two numbers or lengths is the greater.
fn falls(low: &Dynamic, high: &Dynamic) -> bool {
    match (length(low), length(high)) {
        (Some(low), Some(high)) => low > high,
        _ => number(low) > number(high),
    }
}

/// All from low to high, both taken where the steps come out; none where there are more than so many.
fn steps(low: &Dynamic, high: &Dynamic, step: Option<&Dynamic>, most: usize) -> Option<Array> {
    let rows = i64::try_from(most).ok()?;
    let count = |low: i64, high: i64, step: i64| {
        let count = (step > 0).then(|| high.checked_sub(low)).flatten()? / step;
        (0..rows).contains(&count).then_some(count)
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
    let (low, high, step) = (number(low)?, number(high)?, number(step?)?);
    // A step that is off by the last bits of its sum still comes out.
    let count = ((high - low) / step + 1e-9).floor();
    (step > 0.0 && count >= 0.0 && count < most as f64).then(|| {
        let count = count as u64;
        (0..=count)
            .map(|at| Dynamic::from(low + at as f64 * step))
            .collect()
    })
}

fn number(value: &Dynamic) -> Option<f64> {
    let whole = value.as_int().ok().map(|whole| whole as f64);
    whole.or_else(|| value.as_float().ok())
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
    fn what_is_wrong_with_a_range_is_named() {
        let session = Session::new(
            std::rc::Rc::new(crate::outside::MemoryOutside::new()),
            crate::script::Limits::default(),
        );
        let told = |item: &str| match session.values_given("courses", item) {
            Ok(values) => format!("{} values", values.len()),
            Err(fault) => format!("{}: {} = {}", fault.code, fault.message, fault.remedy[0]),
        };
        for (item, wanted) in [
            (
                "2..",
                "unreadable-range: `2..` has no upper end = write both ends, such as courses=2..6: both are tried",
            ),
            (
                "..5",
                "unreadable-range: `..5` has no lower end = write both ends, such as courses=1..5: both are tried",
            ),
            (
                "..-3",
                "unreadable-range: `..-3` has no lower end = write both ends, such as courses=-7..-3: both are tried",
            ),
            (
                "..",
                "unreadable-range: `..` has neither a lower nor an upper end",
            ),
            ("2..:2", "unreadable-range: `2..:2` has no upper end"),
            (
                "8.mm..",
                "unreadable-range: `8.mm..` has no upper end = write courses=4..8,",
            ),
            (
                "2..8:",
                "unreadable-range: `2..8:` has no step behind the colon = write 2..8:1, or leave the colon out",
            ),
            (
                "2..8:0",
                "unreadable-range: the step of `2..8:0` is not above zero",
            ),
            (
                "8..2:-2",
                "unreadable-range: the step of `8..2:-2` is not above zero",
            ),
            (
                "8..2",
                "unreadable-range: `8..2` goes downwards = the lower end comes first",
            ),
            (
                "12.mm..8.mm:1.mm",
                "unreadable-range: `12.mm..8.mm:1.mm` goes downwards",
            ),
            (
                "8.mm..12.mm",
                "unreadable-range: `8.mm..12.mm` needs a step = write it behind a colon: 8.mm..12.mm:1.mm",
            ),
            ("1..2.5", "unreadable-range: `1..2.5` needs a step"),
            (
                "8..12.mm",
                "unreadable-range: `8..12.mm` goes from a whole number to a length",
            ),
            (
                "8.mm..ten",
                "unreadable-range: the upper end of `8.mm..ten` is a text, and no number or length",
            ),
            (
                "8.mm..12.mm:1",
                "unreadable-range: the step of `8.mm..12.mm:1` is a whole number, but its ends are each a length",
            ),
            (
                "2..8:1.mm",
                "unreadable-range: the step of `2..8:1.mm` is a length",
            ),
            (
                "0..100000000",
                "too-many-rows: `0..100000000` has more than 100000 values",
            ),
            ("2..8:2", "4 values"),
            ("2..=8", "7 values"),
            ("1..2.5:0.5", "4 values"),
            ("\"a..b\"", "1 values"),
        ] {
            let told = told(item);
            assert!(told.starts_with(wanted), "{item}: {told}");
        }
    }

    #[test]
    fn ranges_take_both_ends() {
        let shown = |low: Dynamic, high: Dynamic, step: Option<Dynamic>| {
            let values = steps(&low, &high, step.as_ref(), 1_000)?;
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
        let lengths = steps(&mm(8), &mm(12), Some(&mm(2)), 3).unwrap();
        assert_eq!(lengths.len(), 3);
        assert_eq!(
            steps(&mm(8), &mm(12), Some(&mm(2)), 2).map(|all| all.len()),
            None
        );
        assert_eq!(length(&lengths[2]), Some(Length::mm(12)));
    }
}
