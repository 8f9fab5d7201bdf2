//! Searching sizes that meet the conditions a script states.
//!
//! What is searched for, in which order and what is remembered is `compare::solve::Field`'s; here conditions and aims are read
//! from the script, and plans are built and laid for what is left.

mod solution;
mod stated;

use std::rc::Rc;
use std::sync::atomic::Ordering;

use rhai::{Dynamic, Map};

use self::solution::{Ending, Told};
use self::stated::{Aim, Condition, Making, Variable};
use super::PlanValue;
use crate::compare::solve::{Best, Candidate, Field, Halt, Miss, Remembered, Tally, judged};
use crate::compare::{Figure, Reading};
use crate::script::errors;
use crate::script::{
    Call, CallKind, Caller, Declaration, Example, Fault, Faults, Group, Parameter, Refusal,
    Registry, Want,
};
use crate::stop::{self, Reason};

pub use self::solution::Solution;

/// Most plans that one search lays.
const MOST_LAID: usize = 10_000;
/// Scores of one aim that are remembered.
const MOST_SCORES: usize = 4 * 1024 * 1024;
/// Rows where nothing is said of how many.
const USUAL_COUNT: i64 = 10;

const AIM: Want = Want::AnyOf(&[
    Want::Text,
    Want::Function,
    Want::List(&Want::AnyOf(&[Want::Text, Want::Function])),
]);

const SOLVE: Declaration = Declaration {
    name: "solve",
    group: Group::Comparing,
    summary: "The sizes that meet every condition, best first, out of every combination of some values.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::required(
            "over",
            Want::Map,
            "What to try: each name a range (3..=8), a list, or #{ from, to, step }.",
        ),
        Parameter::optional(
            "given",
            Want::AnyOf(&[Want::Map, Want::List(&Want::Function)]),
            "none",
            "The conditions: a map of names to closures that answer true or false, or a list of closures. A closure reads the names of `over` that its parameters have; `plan` is the plan that `build` makes, `point` a map of all values.",
        ),
        Parameter::optional(
            "build",
            Want::Function,
            "",
            "A closure that makes the plan, with parameters as in `given`; needed where a condition or an aim reads a plan.",
        ),
        Parameter::optional(
            "recipe",
            Want::Text,
            "",
            "In place of `build`, the name of a recipe, whose parameters are then what is searched over; a single value in `over` is one that stays.",
        ),
        Parameter::optional(
            "least",
            AIM,
            "",
            "What should be least: a name of `over`, a figure of the plan such as \"cuts\" or \"units\", a closure, or a list of these, the first before the next.",
        ),
        Parameter::optional("most", AIM, "", "What should be most, after `least`."),
        Parameter::optional(
            "count",
            Want::WholeFrom(1, 1000),
            "10",
            "How many rows to give.",
        ),
    ],
    returns: "A solution: `rows`, `best`, `points`, `left`, `laid`, `refused`.",
    examples: &[
        Example {
            script: "let u = unit(\"uk\");\nsolve(#{\n    over: #{ across: 3..=8, deep: 3..=8 },\n    given: #{ \"room inside\": |across, deep| u.inside(across) >= 600.mm && u.inside(deep) >= 450.mm },\n    least: |across, deep| across + deep,\n    count: 2,\n}).best.deep",
            shows: "3",
        },
        Example {
            script: "solve(#{\n    over: #{ units: [1, 1.5, 2], courses: 4..=6 },\n    build: |units, courses| plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [units, units], courses: courses })),\n    given: #{ \"high enough\": |plan| plan.height() >= 400.mm },\n    least: [\"cuts\", \"units\"],\n}).best.courses",
            shows: "6",
        },
    ],
    errors: &[
        errors::SOLVING,
        errors::these(&[
            errors::NOTHING_TO_VARY,
            errors::NAME_TAKEN,
            errors::NOT_A_PLAN,
            errors::NO_RECIPE,
            errors::WORK_STOPPED,
        ]),
    ],
    see_also: &["fit", "compare", "outside", "inside"],
};

pub(super) fn register(registry: &mut Registry) {
    solution::register(registry);
    let (outside, interrupt) = (registry.outside(), registry.interrupt());
    registry.calling_function(&SOLVE, move |call, caller| {
        let mut search = Search::of(call, caller)?;
        match search.run() {
            Ok(()) => Ok(search.told()?.solution(call.vocabulary())),
            Err(Halt::Failed(refusal)) => Err(refusal),
            Err(Halt::Stopped(Reason::Interrupted)) => {
                // The interruption was meant for the search: what was found so far goes on into the script.
                interrupt.store(false, Ordering::Relaxed);
                search.ending = Ending::Stopped;
                Ok(search.told()?.solution(call.vocabulary()))
            }
            Err(Halt::Stopped(Reason::Time)) => {
                // The script ends here, so what is known by now is printed.
                search.ending = Ending::Stopped;
                let told = stop::watched(|| None, || search.told());
                if let Ok(told) = told {
                    outside.print(&told.solution(call.vocabulary()).text());
                }
                Err(Fault::new("stopped", "the search took too long").into())
            }
        }
    });
}

/// What became of the plans that were laid.
#[derive(Default)]
struct LaidSoFar {
    laid: usize,
    met: usize,
    /// For each condition, the plans that it refused first, and those that it alone refused.
    refused: Vec<(u64, u64)>,
    /// Plans that cannot be built, and the reason of the first.
    unbuilt: usize,
    reason: Option<(Vec<usize>, String)>,
    /// The plan that fails fewest conditions.
    nearest: Option<Miss>,
}

/// One search from its options to what it found.
struct Search<'c> {
    call: &'c Call,
    caller: &'c Caller<'c>,
    variables: Vec<Variable>,
    conditions: Vec<Condition>,
    build: Option<Making>,
    aims: Vec<Aim>,
    count: usize,
    grid: Field,
    tally: Tally,
    plans: LaidSoFar,
    best: Best,
    ending: Ending,
    without: Vec<Option<u64>>,
    miss: Option<Miss>,
}

type Done = Result<(), Halt<Refusal>>;

impl<'c> Search<'c> {
    fn of(call: &'c Call, caller: &'c Caller<'c>) -> Result<Search<'c>, Refusal> {
        let variables = stated::variables(call)?;
        let conditions = stated::conditions(call, caller, &variables)?;
        let build = stated::making(call, caller, &variables)?;
        let aims = stated::aims(call, caller, &variables)?;
        if build.is_none() {
            stated::no_plan_read(&conditions, &aims)?;
        }
        let sizes: Vec<usize> = variables.iter().map(|v| v.values.len()).collect();
        let reads = conditions
            .iter()
            .filter(|condition| !condition.reads_plan())
            .map(|condition| stated::variables_of(&condition.arguments, variables.len()))
            .collect();
        let grid = Field::new(sizes, reads).map_err(|error| Fault::from(error).about("over"))?;
        let count = call.opt_whole("count", 1..=1000)?.unwrap_or(USUAL_COUNT);
        let count = usize::try_from(count).unwrap_or(1);
        let plans = LaidSoFar {
            refused: vec![(0, 0); conditions.len()],
            ..LaidSoFar::default()
        };
        Ok(Search {
            call,
            caller,
            without: vec![None; conditions.len()],
            variables,
            conditions,
            build,
            aims,
            count,
            grid,
            tally: Tally::default(),
            plans,
            best: Best::of(count),
            ending: Ending::Whole,
            miss: None,
        })
    }

    /// The conditions on sizes alone, by their numbers among all.
    fn sized(&self) -> Vec<usize> {
        let all = self.conditions.iter().enumerate();
        all.filter(|(_, condition)| !condition.reads_plan())
            .map(|(at, _)| at)
            .collect()
    }

    /// How many aims can be judged before anything is laid.
    fn cheap(&self) -> usize {
        let first = self.aims.iter().position(Aim::reads_plan);
        first.unwrap_or(self.aims.len())
    }

    fn run(&mut self) -> Done {
        let candidates = self.sizes()?;
        if self.build.is_some() {
            self.lay(&candidates)?;
        }
        if self.tally.found == 0 {
            self.in_the_way()
        } else {
            Ok(())
        }
    }

    /// Finds what meets the conditions on sizes: the best of it where nothing is laid, and else all that is to be laid.
    fn sizes(&mut self) -> Result<Vec<Candidate>, Halt<Refusal>> {
        let (sized, cheap) = (self.sized(), self.cheap());
        let laying = self.build.is_some();
        let mut best = Best::of(if laying { MOST_LAID } else { self.count });
        let sizes: Vec<usize> = self.variables.iter().map(|v| v.values.len()).collect();
        let mut remembered: Vec<Remembered<f64>> = self
            .aims
            .iter()
            .take(cheap)
            .map(|aim| {
                let reads = aim.variables(self.variables.len());
                Remembered::new(&sizes, &reads, MOST_SCORES)
            })
            .collect();
        let Search {
            caller,
            conditions,
            variables,
            aims,
            grid,
            tally,
            ..
        } = self;
        let mut ask =
            |at: usize, point: &[usize]| match sized.get(at).and_then(|at| conditions.get(*at)) {
                Some(condition) => condition.holds(caller, variables, point, None),
                None => Ok(true),
            };
        let mut each = |point: &[usize]| {
            let mut scores = Vec::with_capacity(aims.len());
            for (aim, known) in aims.iter().zip(&mut remembered) {
                scores.push(known.get(point, || aim.score(caller, variables, point, None))?);
            }
            best.offer(Candidate {
                scores,
                point: point.to_vec(),
            });
            Ok(())
        };
        let ended = grid.search(&mut ask, &mut each, tally);
        if !laying {
            self.best = best;
            return ended.map(|()| Vec::new());
        }
        ended?;
        let found = self.tally.found;
        if found > MOST_LAID as u64 && cheap == 0 && !self.aims.is_empty() {
            return Err(Halt::Failed(too_many(found).into()));
        }
        Ok(best.sorted().to_vec())
    }

    /// Lays the candidates, the best by what is known before laying first, until no other can be better.
    fn lay(&mut self, candidates: &[Candidate]) -> Done {
        let (cheap, all) = (self.cheap(), self.aims.len());
        for candidate in candidates {
            if let Some(reason) = stop::asked() {
                return Err(Halt::Stopped(reason));
            }
            if let Some(worst) = self.best.worst() {
                let known = worst.scores.get(..cheap).unwrap_or_default();
                let order = judged(&candidate.scores, known);
                if order.is_gt() || cheap == all && order.is_eq() {
                    self.ending = Ending::BestFound;
                    return Ok(());
                }
            }
            self.lay_one(candidate)
                .map_err(|refusal| match stop::asked() {
                    Some(reason) => Halt::Stopped(reason),
                    None => Halt::Failed(refusal),
                })?;
        }
        if (candidates.len() as u64) < self.tally.found {
            self.ending = Ending::TooManyToLay;
        }
        Ok(())
    }

    fn lay_one(&mut self, candidate: &Candidate) -> Result<(), Refusal> {
        let point = &candidate.point;
        self.plans.laid += 1;
        let plan = match self.plan(point) {
            Ok(plan) => plan,
            Err(refusal) => {
                let reason = unbuildable(refusal)?;
                self.plans.unbuilt += 1;
                self.plans
                    .reason
                    .get_or_insert_with(|| (point.clone(), reason));
                return Ok(());
            }
        };
        let mut fails = Vec::new();
        for (at, condition) in self.conditions.iter().enumerate() {
            if condition.reads_plan()
                && !condition.holds(self.caller, &self.variables, point, Some(&plan))?
            {
                fails.push(at);
            }
        }
        let refused = fails
            .first()
            .and_then(|first| self.plans.refused.get_mut(*first));
        if let Some((refused, alone)) = refused {
            *refused += 1;
            *alone += u64::from(fails.len() == 1);
            let nearer = |miss: &Miss| fails.len() < miss.fails.len();
            if self.plans.nearest.as_ref().is_none_or(nearer) {
                self.plans.nearest = Some(Miss {
                    point: point.clone(),
                    fails,
                });
            }
            return Ok(());
        }
        self.plans.met += 1;
        let mut scores = candidate.scores.clone();
        for aim in self.aims.iter().skip(scores.len()) {
            scores.push(aim.score(self.caller, &self.variables, point, Some(&plan))?);
        }
        self.best.offer(Candidate {
            scores,
            point: point.clone(),
        });
        Ok(())
    }

    /// The plan of a point, laid.
    fn plan(&self, point: &[usize]) -> Result<PlanValue, Refusal> {
        let Some(making) = &self.build else {
            return Err(Fault::new("build-missing", "there is no plan to build").into());
        };
        let made = making.make(self.caller, &self.variables, point)?;
        let Some(plan) = made.read_lock::<PlanValue>().map(|plan| plan.clone()) else {
            let (of, what) = (making.option(), self.call.vocabulary().describe(&made));
            let fault = Fault::new("not-a-plan", format!("`{of}` gives {what}, not a plan"));
            return Err(fault
                .remedy("end it with the plan, without a semicolon after it")
                .about(of)
                .into());
        };
        plan.laid().map_err(Unbuilt::from_fault)?;
        Ok(plan)
    }

    /// Which condition leaves nothing: how much would be left without each, and what comes nearest.
    fn in_the_way(&mut self) -> Done {
        let sized = self.sized();
        let Search {
            caller,
            conditions,
            variables,
            grid,
            without,
            ..
        } = self;
        // Asked of points that other conditions keep it from, a condition may have no answer there.
        let mut ask = |at: usize, point: &[usize]| -> Result<bool, Refusal> {
            let condition = sized.get(at).and_then(|at| conditions.get(*at));
            Ok(condition.is_none_or(|c| c.holds(caller, variables, point, None).unwrap_or(false)))
        };
        let mut any = false;
        for (at, condition) in sized.iter().enumerate() {
            let left = grid.left_without(at, &mut ask)?;
            any |= left > 0;
            if let Some(slot) = without.get_mut(*condition) {
                *slot = Some(left);
            }
        }
        let miss = grid.nearest(if any { 1 } else { 2 }, &mut ask)?;
        self.miss = miss.map(|miss| Miss {
            fails: miss
                .fails
                .iter()
                .filter_map(|at| sized.get(*at).copied())
                .collect(),
            point: miss.point,
        });
        Ok(())
    }

    /// What is to be told, with the plans of the rows.
    fn told(&mut self) -> Result<Told, Refusal> {
        let best = self.best.sorted().to_vec();
        let mut rows = Vec::new();
        for candidate in &best {
            let plan = match &self.build {
                Some(_) => Some(self.plan(&candidate.point)?),
                None => None,
            };
            let mut row = Map::new();
            for (variable, value) in self.variables.iter().zip(&candidate.point) {
                row.insert(variable.name.as_str().into(), variable.value(*value));
            }
            for aim in &self.aims {
                let value = aim.value(
                    self.caller,
                    &self.variables,
                    &candidate.point,
                    plan.as_ref(),
                )?;
                row.insert(aim.label.as_str().into(), value);
            }
            if let Some(plan) = plan {
                row.insert("plan".into(), Dynamic::from(plan));
            }
            rows.push(row);
        }
        let mut refused: Vec<u64> = self
            .plans
            .refused
            .iter()
            .map(|(refused, _)| *refused)
            .collect();
        for (at, condition) in self.sized().into_iter().enumerate() {
            if let (Some(slot), Some(count)) =
                (refused.get_mut(condition), self.tally.refused.get(at))
            {
                *slot = *count;
            }
        }
        let laying = self.build.is_some();
        let none_laid = laying && self.plans.met == 0 && self.tally.found > 0;
        let mut without = self.without.clone();
        if none_laid && matches!(self.ending, Ending::Whole) {
            for ((slot, (_, alone)), condition) in without
                .iter_mut()
                .zip(&self.plans.refused)
                .zip(&self.conditions)
            {
                *slot = condition.reads_plan().then_some(*alone);
            }
        }
        let miss = self
            .miss
            .clone()
            .or_else(|| self.plans.nearest.clone().filter(|_| none_laid));
        Ok(Told {
            points: self.grid.points(),
            decided: self.tally.decided(),
            found: self.tally.found,
            laid: laying.then_some((self.plans.laid, self.plans.met)),
            unbuilt: self.plans.unbuilt,
            reason: self
                .plans
                .reason
                .as_ref()
                .map(|(point, reason)| (self.point(point), reason.clone())),
            names: self.variables.iter().map(|v| v.name.clone()).collect(),
            aims: self
                .aims
                .iter()
                .map(|aim| (aim.label.clone(), aim.phrase()))
                .collect(),
            conditions: self
                .conditions
                .iter()
                .zip(refused)
                .zip(without)
                .map(|((condition, refused), without)| solution::Asked {
                    name: condition.name.clone(),
                    reads: condition.reads(&self.variables),
                    refused,
                    without,
                })
                .collect(),
            nearest: miss.map(|miss| {
                let fails = miss.fails.iter().filter_map(|at| self.conditions.get(*at));
                (
                    self.point(&miss.point),
                    fails.map(|c| c.name.clone()).collect(),
                )
            }),
            ending: self.ending,
            rows: Rc::new(rows),
        })
    }

    /// A point in words: "across 3, deep 4".
    fn point(&self, point: &[usize]) -> String {
        let vocabulary = self.call.vocabulary();
        let told = self.variables.iter().zip(point);
        let told: Vec<String> = told
            .map(|(variable, at)| {
                format!(
                    "{} {}",
                    variable.name,
                    vocabulary.show(&variable.value(*at))
                )
            })
            .collect();
        told.join(", ")
    }
}

fn too_many(found: u64) -> Fault {
    Fault::new(
        "too-many-plans",
        format!("{found} plans are too many to lay: {MOST_LAID} is the most"),
    )
    .remedy("state conditions that read sizes alone, so that less is left to lay")
    .remedy("or let `least` begin with something that needs no plan: then only the best are laid")
    .about("build")
}

/// Carries a fault of laying out of `build`, which is a reason why a point cannot be built.
struct Unbuilt;

impl Unbuilt {
    fn from_fault(fault: Fault) -> Refusal {
        Refusal::Inner(fault.into_error("solve", rhai::Position::NONE))
    }
}

/// Why a plan cannot be built, where the script is right but the sizes are not.
///
/// # Errors
/// What is wrong with the script itself.
fn unbuildable(refusal: Refusal) -> Result<String, Refusal> {
    let Refusal::Inner(error) = refusal else {
        return Err(refusal);
    };
    let rhai::EvalAltResult::ErrorRuntime(thrown, _) = error.unwrap_inner() else {
        return Err(Refusal::Inner(error));
    };
    let reason = match thrown.read_lock::<Faults>() {
        Some(faults) if faults.faults.iter().any(|f| super::is_mistake(f.code)) => None,
        Some(faults) => Some(faults.message()),
        // What a recipe throws of its own accord is its reason.
        None => thrown.clone().into_string().ok(),
    };
    reason.ok_or(Refusal::Inner(error))
}

/// What a figure of a plan comes to.
fn read(figure: Figure, plan: &PlanValue) -> Result<Reading, Fault> {
    let review = figure.is_of_review().then(|| plan.review()).transpose()?;
    let wants_more = !figure.is_of_laying();
    let takeoff = wants_more.then(|| plan.takeoff()).transpose()?;
    Ok(figure.read(&*plan.laid()?, takeoff.as_deref(), review.as_deref()))
}
