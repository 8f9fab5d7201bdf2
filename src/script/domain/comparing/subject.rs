//! What is compared, and how its variants are made, laid and read on all cores.

use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use rhai::{Dynamic, EvalAltResult, FnPtr, Map};

use super::super::{MISTAKES, PlanValue, is_mistake, open};
use super::axes::ValueAxis;
use super::carried::Carried;
use super::columns::{Source, Wanted};
use super::made::ComparisonValue;
use super::readings::value_of;
use crate::compare::{
    Axis, Change, Comparison, Crew, Figure, Grid, Reading, Refused, Row, Steps, Variant, Worked,
    changes_at, faulty, figures_of, in_order, refused, variant_of, with_changes,
};
use crate::outside::Outside;
use crate::plan::{Plan, PlanError};
use crate::script::modules;
use crate::script::options::Faults;
use crate::script::vocabulary::Vocabulary;
use crate::script::{Call, Caller, Fault, Limits, Refusal, Session, engine};
use crate::stop::Reason;

/// What can be varied of a plan.
pub(super) const SETTINGS: [&str; 4] = ["unit", "joint", "bed", "bond"];
/// How often a person who looks on is told how far the work has come.
const TELL_EVERY: Duration = Duration::from_millis(100);
/// Before that much time nobody is told: it would only flicker.
const TELL_FROM: Duration = Duration::from_millis(500);

/// What a comparison needs of the session it is made in.
pub(super) struct World {
    pub(super) outside: Rc<dyn Outside>,
    pub(super) limits: Limits,
    pub(super) interrupt: Arc<AtomicBool>,
}

/// What is compared.
#[derive(Clone)]
pub(super) enum Subject {
    /// A plan, laid with other things.
    Plan(PlanValue),
    /// A recipe by its name, with other options.
    Recipe {
        /// The name it is imported by.
        name: String,
        /// Where it is, for other threads.
        place: String,
        /// The names of its options.
        options: Vec<String>,
    },
    /// What a function makes of an option map.
    Function(FnPtr),
}

impl Subject {
    pub(super) fn of(call: &Call, caller: &Caller<'_>) -> Result<Subject, Refusal> {
        let value = call.raw("subject").cloned().unwrap_or_default();
        if let Some(plan) = value.read_lock::<PlanValue>() {
            return Ok(Subject::Plan(plan.clone()));
        }
        if let Some(function) = value.read_lock::<FnPtr>() {
            return Ok(Subject::Function(function.clone()));
        }
        let name = value.into_string().unwrap_or_default();
        let module = caller.module(&name)?;
        // Its place, so that other threads find the same one wherever they stand.
        let place = modules::asked_as(module.id().unwrap_or(&name)).to_owned();
        let parameters = module
            .get_var_value::<Map>("parameters")
            .unwrap_or_default();
        let options = parameters.keys().map(ToString::to_string).collect();
        Ok(Subject::Recipe {
            name,
            place,
            options,
        })
    }

    /// What can be varied; none where anything can.
    pub(super) fn options(&self) -> Option<Vec<&str>> {
        match self {
            Subject::Plan(_) => Some(SETTINGS.to_vec()),
            Subject::Recipe { options, .. } => Some(options.iter().map(String::as_str).collect()),
            Subject::Function(_) => None,
        }
    }

    fn title(&self) -> String {
        match self {
            Subject::Plan(plan) => plan.plan.name.clone(),
            Subject::Recipe { name, .. } => name.replace('_', " "),
            Subject::Function(_) => String::new(),
        }
    }

    /// The plan of a variant, made anew.
    pub(super) fn plan(
        &self,
        call: &Call,
        caller: &Caller<'_>,
        options: Map,
        changes: &[Change],
    ) -> Result<PlanValue, Refusal> {
        let made = match self {
            Subject::Plan(plan) => {
                let plan = with_changes(&plan.plan, changes).map_err(Fault::from)?;
                return Ok(PlanValue::new(plan)?);
            }
            Subject::Function(function) => caller.call(function, vec![options.into()])?,
            Subject::Recipe { name, .. } => caller.build(name, options)?,
        };
        plan_of(&made, call.vocabulary())
    }
}

fn plan_of(made: &Dynamic, vocabulary: &Vocabulary) -> Result<PlanValue, Refusal> {
    let plan = made.read_lock::<PlanValue>().map(|plan| plan.clone());
    plan.ok_or_else(|| {
        Fault::new(
            "not-a-plan",
            format!(
                "only plans are compared, but this makes {}",
                vocabulary.kind_of(made)
            ),
        )
        .remedy("let the function or recipe end with its plan")
        .about("subject")
        .into()
    })
}

/// What a thread is given.
enum Job {
    Changes(Vec<Change>),
    Options(Vec<(String, Carried)>),
    Made(Result<Arc<Plan>, Refused>),
}

/// What it gives back: what was read off a variant, or why there is none.
type Answer = Result<Answered, Failure>;

/// What was read off a variant.
enum Answered {
    /// Figures alone, with the plan where nobody knows yet how the plans are called and how they show lengths.
    Figures(Vec<Reading>, Option<Arc<Plan>>),
    /// The variant itself, of which more is to be asked.
    Variant(Arc<Plan>, Box<Variant>),
}

enum Failure {
    Refused(Refused),
    /// A mistake of the script, which ends the comparison.
    Mistake(String, String, Vec<String>),
}

/// What a thread works with.
struct Hand {
    session: Option<Session>,
}

/// Lays and reads all variants.
pub(super) fn compared(
    call: &Call,
    caller: &Caller<'_>,
    world: &World,
    subject: Subject,
    axes: Vec<ValueAxis>,
    wanted: &[Wanted],
    grid: &Grid,
) -> Result<ComparisonValue, Refusal> {
    let figures: Vec<Figure> = wanted
        .iter()
        .filter_map(|one| match one.source {
            Source::Figure(figure) => Some(figure),
            _ => None,
        })
        .collect();
    let is_asked = figures.len() < wanted.len();
    let carried = carried(&subject, &axes)?;
    let changes: Vec<Vec<Change>> = axes.iter().map(|axis| axis.changes.clone()).collect();
    let base = match &subject {
        Subject::Plan(plan) => Some(Arc::clone(&plan.plan)),
        _ => None,
    };
    let recipe = match &subject {
        Subject::Recipe { place, .. } => Some(place.clone()),
        _ => None,
    };
    let elsewhere = world.outside.elsewhere();
    let (limits, interrupt) = (&world.limits, &world.interrupt);
    let (begun, mut told) = (Instant::now(), Instant::now());
    let mut rows: Vec<Row> = Vec::new();
    let mut style = None;
    let mut title = subject.title();
    let is_known = AtomicBool::new(false);
    let steps = Steps {
        hire: |halt: Option<&Arc<AtomicBool>>| Hand {
            session: recipe.is_some().then(|| {
                if halt.is_some() {
                    engine::stand_on_large_stack();
                }
                let session = open(elsewhere(), limits.clone());
                session.stopped_by(Arc::clone(halt.unwrap_or(interrupt)));
                session
            }),
        },
        prepare: |number: usize| -> Result<Job, Refusal> {
            let places = grid.at(number);
            Ok(match &subject {
                Subject::Plan(_) => Job::Changes(changes_at(&changes, &places)),
                Subject::Recipe { .. } => Job::Options(
                    axes.iter()
                        .zip(&carried)
                        .zip(&places)
                        .filter_map(|((axis, values), place)| {
                            Some((axis.name.clone(), values.get(*place)?.clone()))
                        })
                        .collect(),
                ),
                Subject::Function(function) => {
                    let options = options_at(&axes, &places);
                    let made = caller
                        .call(function, vec![options.into()])
                        .and_then(|made| plan_of(&made, call.vocabulary()));
                    Job::Made(match made {
                        Ok(plan) => Ok(plan.plan),
                        Err(refusal) => Err(row_or_end(refusal)?),
                    })
                }
            })
        },
        work: |hand: &mut Hand, job: Job| -> Answer {
            let plan = match job {
                Job::Changes(changes) => {
                    let changed = base
                        .as_ref()
                        .map(|base| with_changes(base, &changes))
                        .transpose();
                    changed.map_err(|error| Failure::of(&error))?.map(Arc::new)
                }
                Job::Made(made) => Some(made.map_err(Failure::Refused)?),
                Job::Options(options) => {
                    let session = hand.session.as_mut();
                    let built = session
                        .zip(recipe.as_ref())
                        .map(|(session, recipe)| built(session, recipe, &options));
                    built.transpose()?
                }
            };
            let plan = plan.ok_or_else(|| Failure::Refused(faulty("nothing to lay")))?;
            // What is laid is given up on the thread that laid it, unless it is asked for.
            let answered = if is_asked {
                let variant = variant_of(&plan, &figures);
                variant.map(|variant| Answered::Variant(plan, Box::new(variant)))
            } else {
                let unknown = !is_known.load(Ordering::Relaxed);
                let read = figures_of(&plan, &figures);
                read.map(|read| Answered::Figures(read, unknown.then_some(plan)))
            };
            answered.map_err(|error| Failure::of(&error))
        },
        take: |number: usize, worked: Worked<Answer>| -> Result<(), Refusal> {
            let figures = match worked {
                Err(fault) => Err(faulty(&fault)),
                Ok(Err(Failure::Refused(refused))) => Err(refused),
                Ok(Err(Failure::Mistake(code, message, remedy))) => {
                    return Err(mistake(&code, &message, remedy).into());
                }
                Ok(Ok(answered)) => {
                    if let Answered::Figures(_, Some(plan)) | Answered::Variant(plan, _) = &answered
                    {
                        is_known.store(true, Ordering::Relaxed);
                        style.get_or_insert(plan.style);
                        if title.is_empty() {
                            title.clone_from(&plan.name);
                        }
                    }
                    match answered {
                        Answered::Figures(figures, _) => Ok(figures),
                        Answered::Variant(plan, variant) => {
                            read(plan, *variant, wanted, call, caller)?
                        }
                    }
                }
            };
            rows.push(Row {
                number: number + 1,
                at: grid.at(number),
                figures,
            });
            if begun.elapsed() > TELL_FROM && told.elapsed() > TELL_EVERY {
                told = Instant::now();
                world.outside.progress(number + 1, grid.count());
            }
            Ok(())
        },
    };
    let ending = in_order(grid.count(), Crew::of_all_cores(engine::stack()), steps);
    world.outside.progress(grid.count(), grid.count());
    let ending = ending?;
    if ending.stopped == Some(Reason::Interrupted) {
        // The interruption was meant for the comparison: what was found so far goes on into the script.
        world.interrupt.store(false, Ordering::Relaxed);
    }
    let comparison = Comparison {
        title,
        axes: axes
            .iter()
            .map(|axis| Axis {
                name: axis.name.clone(),
                values: axis.readings.clone(),
            })
            .collect(),
        columns: wanted.iter().map(Wanted::column).collect(),
        rows,
        of: grid.count(),
        stopped: ending.stopped,
        base: None,
    };
    Ok(ComparisonValue::new(
        comparison,
        subject,
        axes,
        style.unwrap_or_else(|| call.vocabulary().style()),
    ))
}

/// Reads the columns of a variant: figures as the thread read them, the rest by asking the plan here.
fn read(
    plan: Arc<Plan>,
    variant: Variant,
    wanted: &[Wanted],
    call: &Call,
    caller: &Caller<'_>,
) -> Result<Result<Vec<Reading>, Refused>, Refusal> {
    let mut figures = variant.figures.into_iter();
    let plan = PlanValue::worked(plan, variant.laid, variant.takeoff);
    let mut readings = Vec::new();
    for one in wanted {
        match one.ask(&plan, call, caller) {
            Ok(Some(reading)) => readings.push(reading),
            Ok(None) => readings.push(figures.next().unwrap_or(Reading::Nothing)),
            Err(refusal) => return Ok(Err(row_or_end(refusal)?)),
        }
    }
    Ok(Ok(readings))
}

/// The values of the axes in a form that other threads take, where they must.
fn carried(subject: &Subject, axes: &[ValueAxis]) -> Result<Vec<Vec<Carried>>, Fault> {
    let Subject::Recipe { .. } = subject else {
        return Ok(Vec::new());
    };
    axes.iter()
        .map(|axis| {
            let values = axis.values.iter().enumerate();
            values
                .map(|(at, value)| {
                    Carried::of(value).ok_or_else(|| {
                        Fault::new(
                            "wrong-type",
                            format!("a value of `{}` cannot be varied in a recipe", axis.name),
                        )
                        .remedy("vary numbers, quantities, texts, units and lists of them, or hand over a function")
                        .about("vary")
                        .entry(axis.name.as_str())
                        .element(at)
                    })
                })
                .collect()
        })
        .collect()
}

/// The options that stand at some places of the axes.
pub(super) fn options_at(axes: &[ValueAxis], places: &[usize]) -> Map {
    axes.iter()
        .zip(places)
        .filter_map(|(axis, place)| {
            Some((axis.name.as_str().into(), axis.values.get(*place)?.clone()))
        })
        .collect()
}

/// Builds a recipe on another thread.
fn built(
    session: &mut Session,
    recipe: &str,
    options: &[(String, Carried)],
) -> Result<Arc<Plan>, Failure> {
    let options = options
        .iter()
        .map(|(key, value)| (key.as_str().into(), value.value()))
        .collect();
    let outcome = session.build(recipe, options);
    if let Some(diagnostic) = outcome.diagnostics.into_iter().next() {
        return Err(Failure::told(
            &diagnostic.code,
            diagnostic.message,
            diagnostic.remedy,
        ));
    }
    let value = outcome.value.unwrap_or_default();
    let plan = value
        .read_lock::<PlanValue>()
        .map(|plan| Arc::clone(&plan.plan));
    plan.ok_or_else(|| {
        Failure::told(
            "not-a-plan",
            format!("the recipe \"{recipe}\" builds no plan, and only plans are compared"),
            vec![
                "place what it builds in a plan, in a function: |o| plan(...).place(...)"
                    .to_owned(),
            ],
        )
    })
}

impl Failure {
    fn of(error: &PlanError) -> Failure {
        Failure::Refused(refused(error))
    }

    fn told(code: &str, message: String, remedy: Vec<String>) -> Failure {
        if is_mistake(code) {
            Failure::Mistake(code.to_owned(), message, remedy)
        } else {
            Failure::Refused(Refused {
                code: code.to_owned(),
                message,
            })
        }
    }
}

fn mistake(code: &str, message: &str, remedy: Vec<String>) -> Fault {
    let known = MISTAKES.iter().find(|known| **known == code);
    let mut fault = Fault::new(known.unwrap_or(&"wrong-type"), message).about("vary");
    for line in remedy {
        fault = fault.remedy(line);
    }
    fault
}

/// Why a variant cannot be built, unless it is a mistake of the script or an order to stop.
fn row_or_end(refusal: Refusal) -> Result<Refused, Refusal> {
    let fault = match &refusal {
        Refusal::Fault(fault) => Some(fault.clone()),
        Refusal::Inner(error) => match error.unwrap_inner() {
            EvalAltResult::ErrorRuntime(payload, _) => payload
                .read_lock::<Faults>()
                .and_then(|faults| faults.faults.first().cloned()),
            _ => None,
        },
    };
    match fault {
        Some(fault) if !is_mistake(fault.code) => Ok(Refused {
            code: fault.code.to_owned(),
            message: fault.message.clone(),
        }),
        _ => Err(refusal),
    }
}

/// A row as an option map: what was varied, and what was read off or why it cannot be built.
pub(super) fn row_map(comparison: &Comparison, axes: &[ValueAxis], row: &Row) -> Map {
    let mut map = options_at(axes, &row.at);
    map.insert("row".into(), (row.number as i64).into());
    match &row.figures {
        Ok(figures) => {
            for (column, reading) in comparison.columns.iter().zip(figures) {
                map.insert(column.heading.as_str().into(), value_of(reading));
            }
        }
        Err(refused) => {
            map.insert("refused".into(), refused.message.clone().into());
        }
    }
    map
}
