//! What a script states: variables with their values, conditions and aims.

use std::ops::{Range, RangeInclusive};

use rhai::{Array, Dynamic, FnPtr, Map};

use super::super::comparing::readings::value_of;
use super::super::options_remedy;
use super::{PlanValue, read};
use crate::compare::Figure;
use crate::masonry::nearest;
use crate::quantity::{Area, Density, Duration, Length, Mass, Pressure, Temperature, Volume};
use crate::script::{Call, Caller, Fault, Refusal};

/// A step that ends within this share of the last value reaches it: sums of fractions such as 0.1 are not exact.
const REACHES: f64 = 1e-9;
/// Most values of one variable.
const MOST_VALUES: usize = 100_000;
/// The parameter that stands for the plan that was built, and for the map of all values.
const RESERVED: [&str; 2] = ["plan", "point"];

/// Something to try values of.
pub(super) struct Variable {
    pub(super) name: String,
    pub(super) values: Vec<Dynamic>,
}

impl Variable {
    pub(super) fn value(&self, at: usize) -> Dynamic {
        self.values.get(at).cloned().unwrap_or(Dynamic::UNIT)
    }
}

/// What one parameter of a closure gets.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Argument {
    /// The value of a variable.
    Variable(usize),
    /// A map of all values.
    Point,
    /// The plan.
    Plan,
}

/// Where a closure stands in the call, for what is wrong with it.
#[derive(Clone)]
pub(super) struct Place {
    option: &'static str,
    entry: Option<String>,
    element: Option<usize>,
}

impl Place {
    const fn of(option: &'static str) -> Place {
        Place {
            option,
            entry: None,
            element: None,
        }
    }

    fn fault(&self, fault: Fault) -> Fault {
        let fault = fault.about(self.option);
        let fault = match &self.entry {
            Some(entry) => fault.entry(entry.as_str()),
            None => fault,
        };
        match self.element {
            Some(at) => fault.element(at),
            None => fault,
        }
    }
}

/// A condition, which holds or does not.
pub(super) struct Condition {
    pub(super) name: String,
    pub(super) function: FnPtr,
    pub(super) arguments: Vec<Argument>,
    place: Place,
}

impl Condition {
    pub(super) fn reads_plan(&self) -> bool {
        self.arguments.contains(&Argument::Plan)
    }

    /// The names that it reads.
    pub(super) fn reads(&self, variables: &[Variable]) -> String {
        let names = self.arguments.iter().map(|argument| match argument {
            Argument::Variable(at) => variables.get(*at).map_or("", |v| v.name.as_str()),
            Argument::Point => "point",
            Argument::Plan => "plan",
        });
        names.collect::<Vec<_>>().join(", ")
    }

    /// Whether it holds.
    ///
    /// # Errors
    /// What goes wrong in it, and where it answers anything but true or false.
    pub(super) fn holds(
        &self,
        caller: &Caller<'_>,
        variables: &[Variable],
        point: &[usize],
        plan: Option<&PlanValue>,
    ) -> Result<bool, Refusal> {
        let answer = caller.call(
            &self.function,
            given(&self.arguments, variables, point, plan),
        )?;
        answer.as_bool().map_err(|_| {
            let fault = Fault::new(
                "not-an-answer",
                format!(
                    "the condition \"{}\" answers {}, not true or false",
                    self.name,
                    caller.vocabulary().describe(&answer)
                ),
            );
            let fault = fault
                .remedy("compare it with something, as in |across| u.inside(across) >= 600.mm");
            self.place.fault(fault).into()
        })
    }
}

/// What an aim is judged by.
pub(super) enum Measure {
    /// A variable.
    Variable(usize),
    /// A figure of the plan.
    Figure(Figure),
    /// What a closure gives.
    Closure(FnPtr, Vec<Argument>),
}

/// What should be least or most.
pub(super) struct Aim {
    /// The column of its values.
    pub(super) label: String,
    most: bool,
    measure: Measure,
    place: Place,
}

impl Aim {
    pub(super) fn reads_plan(&self) -> bool {
        match &self.measure {
            Measure::Variable(_) => false,
            Measure::Figure(_) => true,
            Measure::Closure(_, arguments) => arguments.contains(&Argument::Plan),
        }
    }

    /// The variables that it reads.
    pub(super) fn variables(&self, count: usize) -> Vec<usize> {
        match &self.measure {
            Measure::Variable(at) => vec![*at],
            Measure::Figure(_) => Vec::new(),
            Measure::Closure(_, arguments) => variables_of(arguments, count),
        }
    }

    /// "least cuts", "most".
    pub(super) fn phrase(&self) -> String {
        let word = if self.most { "most" } else { "least" };
        match self.measure {
            Measure::Closure(..) => self.label.clone(),
            _ => format!("{word} {}", self.label),
        }
    }

    /// Its value at a point.
    ///
    /// # Errors
    /// What goes wrong in it.
    pub(super) fn value(
        &self,
        caller: &Caller<'_>,
        variables: &[Variable],
        point: &[usize],
        plan: Option<&PlanValue>,
    ) -> Result<Dynamic, Refusal> {
        match &self.measure {
            Measure::Variable(at) => {
                let value = point.get(*at).copied().unwrap_or(0);
                Ok(variables.get(*at).map_or(Dynamic::UNIT, |v| v.value(value)))
            }
            Measure::Figure(figure) => match plan {
                Some(plan) => Ok(value_of(
                    &read(*figure, plan).map_err(|f| self.place.fault(f))?,
                )),
                None => Ok(Dynamic::UNIT),
            },
            Measure::Closure(function, arguments) => {
                caller.call(function, given(arguments, variables, point, plan))
            }
        }
    }

    /// Its value as a number, lower where it is better.
    ///
    /// # Errors
    /// As for its value, and where it is nothing that can be put in order.
    pub(super) fn score(
        &self,
        caller: &Caller<'_>,
        variables: &[Variable],
        point: &[usize],
        plan: Option<&PlanValue>,
    ) -> Result<f64, Refusal> {
        let value = self.value(caller, variables, point, plan)?;
        let Some(number) = magnitude(&value) else {
            let fault = Fault::new(
                "not-in-order",
                format!(
                    "`{}` wants numbers or quantities, but got {}",
                    self.place.option,
                    caller.vocabulary().describe(&value)
                ),
            );
            let fault = fault.remedy("end the closure with the figure that is to be judged");
            return Err(self.place.fault(fault).into());
        };
        Ok(if self.most { -number } else { number })
    }
}

/// A number or quantity as a number, in whatever its kind is counted in.
fn magnitude(value: &Dynamic) -> Option<f64> {
    let number = value
        .as_float()
        .ok()
        .or_else(|| value.as_int().ok().map(|n| n as f64))
        .or_else(|| value.read_lock::<Length>().map(|l| l.nm() as f64))
        .or_else(|| value.read_lock::<Area>().map(|a| a.to_m2()))
        .or_else(|| value.read_lock::<Volume>().map(|v| v.nm3() as f64))
        .or_else(|| value.read_lock::<Mass>().map(|m| m.kg()))
        .or_else(|| value.read_lock::<Density>().map(|d| d.kg_m3()))
        .or_else(|| value.read_lock::<Pressure>().map(|p| p.pa()))
        .or_else(|| value.read_lock::<Temperature>().map(|t| t.kelvin()))
        .or_else(|| value.read_lock::<Duration>().map(|d| d.s()))?;
    number.is_finite().then_some(number)
}

/// The values that a closure gets, in the order of its parameters.
pub(super) fn given(
    arguments: &[Argument],
    variables: &[Variable],
    point: &[usize],
    plan: Option<&PlanValue>,
) -> Vec<Dynamic> {
    let value = |at: usize| {
        let variable = variables.get(at)?;
        Some(variable.value(*point.get(at)?))
    };
    arguments
        .iter()
        .map(|argument| match argument {
            Argument::Variable(at) => value(*at).unwrap_or(Dynamic::UNIT),
            Argument::Point => all(variables, point).into(),
            Argument::Plan => plan.cloned().map_or(Dynamic::UNIT, Dynamic::from),
        })
        .collect()
}

/// A point as a map of all its values.
fn all(variables: &[Variable], point: &[usize]) -> Map {
    let all = variables.iter().zip(point);
    all.map(|(variable, at)| (variable.name.as_str().into(), variable.value(*at)))
        .collect()
}

/// The variables that some arguments read, each once.
pub(super) fn variables_of(arguments: &[Argument], count: usize) -> Vec<usize> {
    if arguments.contains(&Argument::Point) {
        return (0..count).collect();
    }
    let of = arguments.iter().filter_map(|argument| match argument {
        Argument::Variable(at) => Some(*at),
        _ => None,
    });
    of.collect()
}

/// What is searched over, by name.
pub(super) fn variables(call: &Call) -> Result<Vec<Variable>, Fault> {
    let over = call.map("over")?;
    if over.is_empty() {
        return Err(
            Fault::new("nothing-to-vary", "there is nothing to search over")
                .remedy("write over: #{ across: 3..=8, deep: 3..=8 }")
                .about("over"),
        );
    }
    over.iter()
        .map(|(name, value)| {
            if RESERVED.contains(&name.as_str()) {
                return Err(Fault::new(
                    "name-taken",
                    format!("`{name}` cannot be searched over: a closure knows something else by that name"),
                )
                .remedy("give it another name")
                .about("over")
                .entry_key(name.as_str()));
            }
            let placed = |fault: Fault| fault.about("over").entry(name.as_str());
            let values = values(call, name, value).map_err(placed)?;
            if values.is_empty() {
                return Err(placed(
                    Fault::new("nothing-to-vary", format!("`{name}` has no values to try"))
                        .remedy("list at least one value; a range runs from the lower to the higher, as in 3..=8"),
                ));
            }
            Ok(Variable {
                name: name.to_string(),
                values,
            })
        })
        .collect()
}

fn values(call: &Call, name: &str, value: &Dynamic) -> Result<Vec<Dynamic>, Fault> {
    if let Some(range) = value.read_lock::<RangeInclusive<i64>>() {
        return run(name, *range.start(), range.end().saturating_add(1));
    }
    if let Some(range) = value.read_lock::<Range<i64>>() {
        return run(name, range.start, range.end);
    }
    if let Some(items) = value.read_lock::<Array>() {
        return Ok(items.clone());
    }
    match value.read_lock::<Map>() {
        Some(map) => steps(call, name, &map),
        None => Ok(vec![value.clone()]),
    }
}

fn run(name: &str, from: i64, end: i64) -> Result<Vec<Dynamic>, Fault> {
    match end.checked_sub(from) {
        Some(count) if count <= MOST_VALUES as i64 => Ok((from..end).map(Dynamic::from).collect()),
        _ => Err(too_many_values(name)),
    }
}

fn too_many_values(name: &str) -> Fault {
    Fault::new(
        "grid-too-large",
        format!("`{name}` has more than {MOST_VALUES} values"),
    )
    .remedy("give fewer values, or larger steps between them")
}

/// The values of `#{ from, to, step }`.
fn steps(call: &Call, name: &str, map: &Map) -> Result<Vec<Dynamic>, Fault> {
    const KEYS: [&str; 3] = ["from", "to", "step"];
    let remedy = "write #{ from: 3, to: 8, step: 0.5 }, or with lengths #{ from: 1.m, to: 2.m, step: 50.mm }";
    if let Some(unknown) = map.keys().find(|key| !KEYS.contains(&key.as_str())) {
        return Err(
            Fault::new("unknown-option", format!("`{name}` has no `{unknown}`")).remedy(remedy),
        );
    }
    let wrong = |key: &str| {
        let got = map.get(key).map_or("nothing".to_owned(), |value| {
            call.vocabulary().describe(value)
        });
        Fault::new(
            "wrong-type",
            format!(
                "`{key}` of `{name}` wants a number or a length like the others, but got {got}"
            ),
        )
        .remedy(remedy)
    };
    let not_positive = || {
        Fault::new(
            "out-of-range",
            format!("`step` of `{name}` is not above zero"),
        )
        .remedy("a step leads from the lower value to the higher")
    };
    let length = |key: &str| {
        map.get(key)
            .and_then(|v| v.read_lock::<Length>().map(|l| l.nm()))
    };
    if let Some(from) = length("from") {
        let to = length("to").ok_or_else(|| wrong("to"))?;
        let step = length("step").ok_or_else(|| wrong("step"))?;
        if step <= 0 {
            return Err(not_positive());
        }
        let count = to.saturating_sub(from).div_euclid(step).saturating_add(1);
        if count > MOST_VALUES as i64 {
            return Err(too_many_values(name));
        }
        let value = |at: i64| Dynamic::from(Length::from_nm(from + at * step));
        return Ok((0..count).map(value).collect());
    }
    let number = |key: &str| {
        let value = map.get(key)?;
        let whole = value.as_int().ok().map(|n| n as f64);
        whole
            .or_else(|| value.as_float().ok())
            .filter(|n| n.is_finite())
    };
    let from = number("from").ok_or_else(|| wrong("from"))?;
    let to = number("to").ok_or_else(|| wrong("to"))?;
    let step = match map.get("step") {
        Some(_) => number("step").ok_or_else(|| wrong("step"))?,
        None => 1.0,
    };
    if step <= 0.0 {
        return Err(not_positive());
    }
    let count = ((to - from) / step + REACHES).floor() + 1.0;
    if count > MOST_VALUES as f64 {
        return Err(too_many_values(name));
    }
    let whole = [from, step]
        .iter()
        .all(|n| n.fract() == 0.0 && n.abs() < 1e15);
    let value = |at: u32| {
        let value = from + f64::from(at) * step;
        if whole {
            Dynamic::from(value as i64)
        } else {
            Dynamic::from(value)
        }
    };
    Ok((0..count.max(0.0) as u32).map(value).collect())
}

/// What the parameters of a closure stand for.
fn arguments(
    caller: &Caller<'_>,
    function: &FnPtr,
    variables: &[Variable],
    place: &Place,
    with_plan: bool,
) -> Result<Vec<Argument>, Fault> {
    let Some(names) = caller.parameters(function) else {
        return Err(place.fault(
            Fault::new("not-a-closure", "the names that it reads are not known")
                .remedy("write a closure, as in |across, deep| across >= deep"),
        ));
    };
    let argument = |name: &String| {
        let variable = variables.iter().position(|v| v.name == *name);
        match name.as_str() {
            "point" => Ok(Argument::Point),
            "plan" if with_plan => Ok(Argument::Plan),
            _ => variable.map(Argument::Variable).ok_or_else(|| {
                let own = variables.iter().map(|v| v.name.as_str());
                let known: Vec<&str> = own.chain(with_plan.then_some("plan")).collect();
                let near = nearest(name, known.iter().copied())
                    .map(|near| format!("did you mean `{near}`?  "))
                    .unwrap_or_default();
                let fault = Fault::new(
                    "unknown-variable",
                    format!("there is no `{name}` in `over` for this closure to read"),
                );
                place.fault(fault.remedy(format!("{near}A closure reads: {}", known.join(", "))))
            }),
        }
    };
    names.iter().map(argument).collect()
}

/// The conditions, in the order of their names or of the list.
pub(super) fn conditions(
    call: &Call,
    caller: &Caller<'_>,
    variables: &[Variable],
) -> Result<Vec<Condition>, Fault> {
    let Some(stated) = call.raw("given") else {
        return Ok(Vec::new());
    };
    let mut found: Vec<(String, Place, Dynamic)> = Vec::new();
    if let Some(map) = stated.read_lock::<Map>() {
        found.extend(map.iter().map(|(name, value)| {
            let place = Place {
                entry: Some(name.to_string()),
                ..Place::of("given")
            };
            (name.to_string(), place, value.clone())
        }));
    } else if let Some(list) = stated.read_lock::<Array>() {
        found.extend(list.iter().enumerate().map(|(at, value)| {
            let place = Place {
                element: Some(at),
                ..Place::of("given")
            };
            (format!("condition {}", at + 1), place, value.clone())
        }));
    }
    let condition = |(name, place, value): (String, Place, Dynamic)| {
        let Some(function) = value.read_lock::<FnPtr>().map(|f| f.clone()) else {
            let got = call.vocabulary().describe(&value);
            let fault = Fault::new(
                "wrong-type",
                format!("the condition \"{name}\" wants a closure, but got {got}"),
            );
            return Err(
                place.fault(fault.remedy("write it as |across| u.inside(across) >= 600.mm"))
            );
        };
        Ok(Condition {
            arguments: arguments(caller, &function, variables, &place, true)?,
            name,
            function,
            place,
        })
    };
    found.into_iter().map(condition).collect()
}

/// What makes the plan.
pub(super) enum Making {
    /// A closure.
    Closure(FnPtr, Vec<Argument>),
    /// A recipe by its name.
    Recipe(String),
}

impl Making {
    /// The option that says it.
    pub(super) fn option(&self) -> &'static str {
        match self {
            Making::Closure(..) => "build",
            Making::Recipe(_) => "recipe",
        }
    }

    /// What it makes of a point.
    ///
    /// # Errors
    /// What goes wrong in it.
    pub(super) fn make(
        &self,
        caller: &Caller<'_>,
        variables: &[Variable],
        point: &[usize],
    ) -> Result<Dynamic, Refusal> {
        match self {
            Making::Closure(function, arguments) => {
                caller.call(function, given(arguments, variables, point, None))
            }
            Making::Recipe(name) => caller.build(name, all(variables, point)),
        }
    }
}

/// What makes the plan, where anything does.
pub(super) fn making(
    call: &Call,
    caller: &Caller<'_>,
    variables: &[Variable],
) -> Result<Option<Making>, Refusal> {
    if call.has("build") && call.has("recipe") {
        let fault = Fault::new("build-twice", "both `build` and `recipe` are given");
        return Err(fault.remedy("leave one of them out").about("recipe").into());
    }
    if let Some(function) = call.opt_function("build")? {
        let arguments = arguments(caller, &function, variables, &Place::of("build"), false)?;
        return Ok(Some(Making::Closure(function, arguments)));
    }
    let Some(name) = call.opt_text("recipe")? else {
        return Ok(None);
    };
    let parameters = caller.module(&name)?.get_var_value::<Map>("parameters");
    if let Some(parameters) = parameters {
        let unknown = variables
            .iter()
            .find(|v| !parameters.contains_key(v.name.as_str()));
        if let Some(unknown) = unknown {
            let known: Vec<&str> = parameters.keys().map(AsRef::as_ref).collect();
            let fault = Fault::new(
                "unknown-option",
                format!("the recipe has no option `{}`", unknown.name),
            );
            return Err(fault
                .remedy(options_remedy(&unknown.name, &known))
                .about("over")
                .entry_key(unknown.name.as_str())
                .into());
        }
    }
    Ok(Some(Making::Recipe(name)))
}

/// What should be least, then what should be most.
pub(super) fn aims(
    call: &Call,
    caller: &Caller<'_>,
    variables: &[Variable],
) -> Result<Vec<Aim>, Fault> {
    let mut aims: Vec<Aim> = Vec::new();
    for option in ["least", "most"] {
        let Some(stated) = call.raw(option) else {
            continue;
        };
        let listed = stated.read_lock::<Array>().map(|list| list.clone());
        let several = listed.is_some();
        for (at, value) in listed
            .unwrap_or_else(|| vec![stated.clone()])
            .into_iter()
            .enumerate()
        {
            let place = Place {
                element: several.then_some(at),
                ..Place::of(option)
            };
            let measure = measure(caller, variables, &place, &value)?;
            let label = match &measure {
                Measure::Closure(..) if at > 0 => format!("{option} {}", at + 1),
                Measure::Closure(..) => option.to_owned(),
                _ => value.clone().into_string().unwrap_or_default(),
            };
            aims.push(Aim {
                label,
                most: option == "most",
                measure,
                place,
            });
        }
    }
    Ok(aims)
}

fn measure(
    caller: &Caller<'_>,
    variables: &[Variable],
    place: &Place,
    value: &Dynamic,
) -> Result<Measure, Fault> {
    if let Some(function) = value.read_lock::<FnPtr>().map(|f| f.clone()) {
        let arguments = arguments(caller, &function, variables, place, true)?;
        return Ok(Measure::Closure(function, arguments));
    }
    let word = value.clone().into_string().unwrap_or_default();
    if let Some(at) = variables.iter().position(|v| v.name == word) {
        return Ok(Measure::Variable(at));
    }
    if let Some(figure) = Figure::from_word(&word) {
        return Ok(Measure::Figure(figure));
    }
    let own = variables.iter().map(|v| v.name.as_str());
    let known: Vec<&str> = own.chain(Figure::WORDS.iter().copied()).collect();
    let near = nearest(&word, known.iter().copied())
        .map(|near| format!("did you mean \"{near}\"?  "))
        .unwrap_or_default();
    let fault = Fault::new(
        "unknown-word",
        format!(
            "`{}` cannot be \"{word}\": it is no name of `over` and no figure of a plan",
            place.option
        ),
    );
    Err(place.fault(fault.remedy(format!("{near}Known: {}", known.join(", ")))))
}

/// Refuses what reads a plan where none is built.
pub(super) fn no_plan_read(conditions: &[Condition], aims: &[Aim]) -> Result<(), Fault> {
    let condition = conditions.iter().find(|c| c.reads_plan()).map(|c| &c.place);
    let aim = aims
        .iter()
        .find(|aim| aim.reads_plan())
        .map(|aim| &aim.place);
    let Some(place) = condition.or(aim) else {
        return Ok(());
    };
    let fault = Fault::new("build-missing", "this reads a plan, but nothing builds one");
    Err(place.fault(fault.remedy("give `build` a closure that makes the plan from the values, as in build: |across, courses| plan(...)")))
}
