//! What a comparison reads off its variants.

use rhai::{AST, Dynamic, FnPtr, Map, Scope};

use super::super::PlanValue;
use super::readings::reading_of;
use crate::compare::{Aim, Column, Figure, Reading};
use crate::script::{Call, Caller, Fault, Refusal};

/// What a question to the plan calls the plan.
const PLAN: &str = "plan";

/// A column that is wanted.
pub(super) struct Wanted {
    /// Its heading.
    pub(super) heading: String,
    /// What is better.
    pub(super) aim: Option<Aim>,
    /// How it is read.
    pub(super) source: Source,
}

/// How a column is read.
pub(super) enum Source {
    /// Off the takeoff or the review.
    Figure(Figure),
    /// By a question to the plan.
    Question(Box<AST>),
    /// By a function of the plan.
    Function(FnPtr),
}

impl Wanted {
    pub(super) fn figure(figure: Figure) -> Wanted {
        let at = Figure::ALL.iter().position(|known| *known == figure);
        let word = at.and_then(|at| Figure::WORDS.get(at)).copied();
        Wanted {
            heading: word.unwrap_or_default().to_owned(),
            aim: figure.aim(),
            source: Source::Figure(figure),
        }
    }

    pub(super) fn column(&self) -> Column {
        Column {
            heading: self.heading.clone(),
            aim: self.aim,
        }
    }

    /// What the column has for a plan, unless it is a figure, which was read with the plan.
    pub(super) fn ask(
        &self,
        plan: &PlanValue,
        call: &Call,
        caller: &Caller<'_>,
    ) -> Result<Option<Reading>, Refusal> {
        let plan = Dynamic::from(plan.clone());
        let value = match &self.source {
            Source::Figure(_) => return Ok(None),
            Source::Question(question) => {
                let mut scope = Scope::new();
                scope.push_constant_dynamic(PLAN, plan);
                caller.evaluate(&mut scope, question)?
            }
            Source::Function(function) => caller.call(function, vec![plan])?,
        };
        Ok(Some(reading_of(&value, call.vocabulary())))
    }
}

/// The columns that a call names.
pub(super) fn columns(call: &Call, caller: &Caller<'_>) -> Result<Vec<Wanted>, Fault> {
    let mut found: Vec<Wanted> = Vec::new();
    for (at, item) in call.list("columns")?.iter().enumerate() {
        let place = |fault: Fault| fault.about("columns").element(at);
        let wanted = match item.read_lock::<Map>() {
            Some(map) => named(&map).map_err(place)?,
            None => {
                asked(&item.clone().into_string().unwrap_or_default(), caller).map_err(place)?
            }
        };
        if found.iter().any(|one| one.heading == wanted.heading) {
            let fault = Fault::new(
                "column-twice",
                format!("the column `{}` is there twice", wanted.heading),
            );
            return Err(place(
                fault.remedy("leave one of them out, or name it otherwise"),
            ));
        }
        found.push(wanted);
    }
    if found.is_empty() {
        return Err(Fault::new("no-columns", "there are no columns to read off")
            .remedy("name at least one, such as \"units\"")
            .about("columns"));
    }
    Ok(found)
}

fn named(map: &Map) -> Result<Wanted, Fault> {
    const KEYS: [&str; 2] = ["name", "of"];
    if let Some(unknown) = map.keys().find(|key| !KEYS.contains(&key.as_str())) {
        return Err(Fault::new(
            "unknown-option",
            format!("a column has no option `{unknown}`"),
        )
        .remedy(super::super::options_remedy(unknown, &KEYS)));
    }
    let name = map
        .get("name")
        .and_then(|name| name.clone().into_string().ok());
    let function = map.get("of").and_then(|of| of.clone().try_cast::<FnPtr>());
    name.zip(function)
        .map(|(heading, function)| Wanted {
            heading,
            aim: None,
            source: Source::Function(function),
        })
        .ok_or_else(|| {
            Fault::new(
                "wrong-type",
                "a column of your own wants a name and a function of the plan",
            )
            .remedy("write #{ name: \"room\", of: |p| p.inside(\"cabinet\").volume }")
        })
}

/// A figure by its word, or a question to the plan.
fn asked(text: &str, caller: &Caller<'_>) -> Result<Wanted, Fault> {
    if let Some(figure) = Figure::from_word(text) {
        return Ok(Wanted::figure(figure));
    }
    if !text.contains(['(', '.', '[']) {
        let near = crate::masonry::nearest(text, Figure::WORDS.iter().copied())
            .map(|near| format!("did you mean \"{near}\"?  "))
            .unwrap_or_default();
        return Err(
            Fault::new("unknown-word", format!("\"{text}\" is no figure")).remedy(format!(
                "{near}Figures: {}; or ask the plan, as in \"inside(\\\"cabinet\\\").volume\"",
                Figure::WORDS.join(", ")
            )),
        );
    }
    let question = caller.compile(&format!("{PLAN}.{text}")).map_err(|error| {
        Fault::new(
            "unreadable-question",
            format!("\"{text}\" is no question to a plan: {error}"),
        )
        .remedy(
            "write what would stand behind the plan and a dot: \"inside(\\\"cabinet\\\").volume\"",
        )
    })?;
    Ok(Wanted {
        heading: text.to_owned(),
        aim: None,
        source: Source::Question(Box::new(question)),
    })
}

/// Sets what is better, as a call says.
pub(super) fn set_aims(call: &Call, wanted: &mut [Wanted]) -> Result<(), Fault> {
    for (key, aim) in [("least", Aim::Least), ("most", Aim::Most)] {
        if !call.has(key) {
            continue;
        }
        for (at, name) in call.texts(key)?.iter().enumerate() {
            let headings: Vec<String> = wanted.iter().map(|one| one.heading.clone()).collect();
            let column = wanted.iter_mut().find(|one| one.heading == *name);
            let Some(column) = column else {
                let fault = super::made::unknown_column(name, headings.iter().map(String::as_str));
                return Err(fault.about(key).element(at));
            };
            column.aim = Some(aim);
        }
    }
    Ok(())
}
