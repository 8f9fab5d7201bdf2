//! Builds the engine with its limits, and runs it on a stack that is large enough.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use rhai::{
    Dynamic, Engine, EvalAltResult, EvalContext, NativeCallContext, OptimizationLevel, Position,
};

use super::operators::{divide_exactly, refuse_unlike_basics};
use super::options::Fault;
use super::sorting;
use super::trying::Names;
use super::vocabulary::Vocabulary;
use crate::compare::MOST_ROWS;
use crate::guarded::guarded;
use crate::outside::Outside;
use crate::plan::{MOST_PIECES, allowing_pieces};
use crate::stop;

/// Stack of the thread that runs scripts: room for the deepest calls in a debug build.
const STACK_BYTES: usize = 512 * 1024 * 1024;
/// Most call levels, and deepest expressions, that fit that stack together in a debug build.
const LEVELS_MOST: usize = 1_000;
const EXPRESSION_DEPTH_MOST: usize = 256;
/// Call levels where a session runs on a thread of ordinary size.
const LEVELS_ON_SMALL_STACK: usize = 6;
/// Items of a list, and entries of a map, on such a thread: nested values are walked by recursion.
const ITEMS_ON_SMALL_STACK: usize = 1_000;
/// Operations between two looks at the clock and at the interrupt flag.
const OPERATIONS_BETWEEN_LOOKS: u64 = 256;

thread_local! {
    static LARGE_STACK: Cell<bool> = const { Cell::new(false) };
    static QUIET: Cell<bool> = const { Cell::new(false) };
}

/// What a script may use up before it is stopped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Limits {
    /// Steps of the engine: about a second for 20 million.
    pub operations: u64,
    /// Calls within calls.
    pub call_levels: usize,
    /// Nesting of brackets in one expression.
    pub expression_depth: usize,
    /// Bytes of one text.
    pub string: usize,
    /// Items of one list, with those of lists inside.
    pub array: usize,
    /// Entries of one map.
    pub map: usize,
    /// Modules of one run.
    pub modules: usize,
    /// Time of one run.
    pub wall_clock: Duration,
    /// Pieces laid for one plan.
    pub pieces: u64,
    /// Rows of one comparison.
    pub rows: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            operations: 50_000_000,
            call_levels: 64,
            expression_depth: 64,
            string: 1024 * 1024,
            array: 20_000,
            map: 5_000,
            modules: 100,
            wall_clock: Duration::from_mins(2),
            pieces: MOST_PIECES.unsigned_abs(),
            rows: MOST_ROWS,
        }
    }
}

impl Limits {
    /// Names of the limits, as [`Limits::set`] takes them.
    pub const NAMES: [&'static str; 10] = [
        "operations",
        "call_levels",
        "expression_depth",
        "string",
        "array",
        "map",
        "modules",
        "wall_clock",
        "pieces",
        "rows",
    ];

    /// The figure of a limit (seconds for `wall_clock`); nothing for a name that is none.
    pub fn figure(&self, name: &str) -> u64 {
        match name {
            "operations" => self.operations,
            "call_levels" => self.call_levels as u64,
            "expression_depth" => self.expression_depth as u64,
            "string" => self.string as u64,
            "array" => self.array as u64,
            "map" => self.map as u64,
            "modules" => self.modules as u64,
            "wall_clock" => self.wall_clock.as_secs(),
            "pieces" => self.pieces,
            "rows" => self.rows as u64,
            _ => 0,
        }
    }

    /// How far a limit can be raised, where the stack sets an end to it.
    pub fn most(name: &str) -> Option<u64> {
        match name {
            "call_levels" => Some(LEVELS_MOST as u64),
            "expression_depth" => Some(EXPRESSION_DEPTH_MOST as u64),
            _ => None,
        }
    }

    /// What is done in such a run may lay so many pieces for one plan.
    pub(crate) fn allowing_pieces<T>(&self, work: impl FnOnce() -> T) -> T {
        allowing_pieces(i64::try_from(self.pieces).unwrap_or(i64::MAX), work)
    }

    /// These limits as far as the stack of this thread allows.
    #[must_use]
    pub(super) fn that_fit_the_stack(self) -> Self {
        let own = Self {
            call_levels: self.call_levels.min(LEVELS_MOST),
            expression_depth: self.expression_depth.min(EXPRESSION_DEPTH_MOST),
            ..self
        };
        if LARGE_STACK.get() {
            return own;
        }
        Self {
            call_levels: own.call_levels.min(LEVELS_ON_SMALL_STACK),
            array: own.array.min(ITEMS_ON_SMALL_STACK),
            map: own.map.min(ITEMS_ON_SMALL_STACK),
            ..own
        }
    }

    /// Sets one limit from its name and a whole number (seconds for `wall_clock`).
    ///
    /// # Errors
    /// When the name is unknown or the number is none.
    pub fn set(&mut self, name: &str, value: &str) -> Result<(), Fault> {
        let wrong = || {
            Fault::new(
                "wrong-type",
                format!("the limit `{name}` wants a whole number, but got \"{value}\""),
            )
            .remedy(format!("write {name}=200_000"))
        };
        let number: u64 = value.replace('_', "").parse().map_err(|_| wrong())?;
        let size = usize::try_from(number).map_err(|_| wrong())?;
        if let Some(most) = Self::most(name).filter(|most| number > *most) {
            return Err(Fault::new(
                "out-of-range",
                format!("the limit `{name}` goes up to {most}, but got {number}"),
            )
            .remedy(format!(
                "write {name}={most}, and a loop where functions call each other deeper"
            )));
        }
        match name {
            "operations" => self.operations = number,
            "call_levels" => self.call_levels = size,
            "expression_depth" => self.expression_depth = size,
            "string" => self.string = size,
            "array" => self.array = size,
            "map" => self.map = size,
            "modules" => self.modules = size,
            "wall_clock" => self.wall_clock = Duration::from_secs(number),
            "pieces" => self.pieces = number,
            "rows" => self.rows = size,
            _ => {
                let near = crate::masonry::nearest(name, Self::NAMES.into_iter())
                    .map(|near| format!("did you mean `{near}`?  "));
                return Err(
                    Fault::new("unknown-limit", format!("there is no limit `{name}`")).remedy(
                        format!(
                            "{}Limits: {}",
                            near.unwrap_or_default(),
                            Self::NAMES.join(", ")
                        ),
                    ),
                );
            }
        }
        Ok(())
    }
}

/// Runs `work` on a thread with a stack large enough for the deepest scripts.
///
/// # Errors
/// When the thread cannot be started, or the work panicked.
pub fn run_on_large_stack<T: Send>(work: impl FnOnce() -> T + Send) -> std::io::Result<T> {
    quieten_caught_panics();
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new()
            .name("scripts".into())
            .stack_size(STACK_BYTES)
            .spawn_scoped(scope, || {
                LARGE_STACK.set(true);
                work()
            })?;
        thread
            .join()
            .map_err(|_| std::io::Error::other("the program met an internal fault"))
    })
}

/// Stack of threads that run scripts.
pub(crate) const fn stack() -> usize {
    STACK_BYTES
}

/// Says that this thread has the stack of [`stack`], and that panics in its work are caught.
pub(crate) fn stand_on_large_stack() {
    quieten_caught_panics();
    LARGE_STACK.set(true);
    QUIET.set(true);
}

/// A panic that is caught becomes a diagnostic; the default report would only add noise to it.
fn quieten_caught_panics() {
    static ONCE: std::sync::Once = std::sync::Once::new();
    ONCE.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            if !QUIET.get() {
                before(info);
            }
        }));
    });
}

/// Runs `work` and catches a panic in it, which is not reported otherwise.
pub(super) fn caught<T>(work: impl FnOnce() -> T) -> Result<T, String> {
    let before = QUIET.replace(true);
    let result = guarded(work);
    QUIET.set(before);
    result
}

/// Why a run was stopped from outside the script.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stop {
    /// The user interrupted it.
    Interrupted,
    /// It took too long.
    Time,
    /// The script called `quit()`.
    Quit,
}

impl From<stop::Reason> for Stop {
    fn from(reason: stop::Reason) -> Stop {
        match reason {
            stop::Reason::Interrupted => Stop::Interrupted,
            stop::Reason::Time => Stop::Time,
        }
    }
}

/// What engine and session share.
#[derive(Clone, Default)]
pub(super) struct Shared {
    pub(super) interrupt: Arc<AtomicBool>,
    pub(super) started: Rc<Cell<Option<Instant>>>,
    /// Constants of earlier inputs, which functions may read.
    pub(super) constants: Rc<RefCell<BTreeMap<String, Dynamic>>>,
    pub(super) quit: Rc<Cell<bool>>,
    /// Another flag that stops the run, of whoever runs the session for work of its own.
    pub(super) halt: Rc<RefCell<Option<Arc<AtomicBool>>>>,
    /// Names that what runs just now may know, for telling what it catches.
    pub(super) names: Rc<RefCell<Names>>,
}

/// An engine without declared functions.
pub(super) fn build(
    limits: &Limits,
    shared: &Shared,
    vocabulary: &Rc<Vocabulary>,
    outside: &Rc<dyn Outside>,
) -> Engine {
    let mut engine = Engine::new();
    // The optimizer loses the positions of option keys, and breaks on assignments to constants.
    engine.set_optimization_level(OptimizationLevel::None);
    // Fast operators would go past the registered division and refusals.
    engine.set_fast_operators(false);
    engine.set_fail_on_invalid_map_property(true);
    engine.disable_symbol("eval");
    set_limits(&mut engine, limits);
    watch(&mut engine, limits, shared);
    print_through(&mut engine, vocabulary, outside);
    see_variables(&mut engine, shared);
    refuse_unlike_basics(&mut engine, vocabulary);
    divide_exactly(&mut engine);
    sorting::register(&mut engine, vocabulary);
    refuse_clock(&mut engine);
    engine
}

fn set_limits(engine: &mut Engine, limits: &Limits) {
    engine
        .set_max_operations(limits.operations)
        .set_max_call_levels(limits.call_levels)
        .set_max_expr_depths(limits.expression_depth, limits.expression_depth.div_ceil(2))
        .set_max_string_size(limits.string)
        .set_max_array_size(limits.array)
        .set_max_map_size(limits.map)
        .set_max_modules(limits.modules);
}

fn watch(engine: &mut Engine, limits: &Limits, shared: &Shared) {
    let asked = asks(limits, shared);
    engine.on_progress(move |operations| {
        if operations % OPERATIONS_BETWEEN_LOOKS != 0 {
            return None;
        }
        asked().map(|reason| Dynamic::from(Stop::from(reason)))
    });
}

/// Whether a run is to stop, asked between operations and by what takes long in native functions.
pub(super) fn asks(
    limits: &Limits,
    shared: &Shared,
) -> impl Fn() -> Option<stop::Reason> + 'static {
    let (interrupt, started, most) = (
        Arc::clone(&shared.interrupt),
        Rc::clone(&shared.started),
        limits.wall_clock,
    );
    let halt = Rc::clone(&shared.halt);
    move || {
        let halted = halt
            .borrow()
            .as_ref()
            .is_some_and(|halt| halt.load(Ordering::Relaxed));
        if halted || interrupt.load(Ordering::Relaxed) {
            return Some(stop::Reason::Interrupted);
        }
        let over = started
            .get()
            .is_some_and(|started| started.elapsed() > most);
        over.then_some(stop::Reason::Time)
    }
}

fn print_through(engine: &mut Engine, vocabulary: &Rc<Vocabulary>, outside: &Rc<dyn Outside>) {
    let to = Rc::clone(outside);
    engine.on_print(move |text| to.print(text));
    let to = Rc::clone(outside);
    engine.on_debug(move |text, _, _| to.report(text));
    // Lists and maps print as the shell shows them, not as the engine would.
    for name in ["to_string", "to_debug", "print"] {
        engine.register_fn(name, |value: f64| super::vocabulary::show_number(value));
        let own = Rc::clone(vocabulary);
        engine.register_fn(name, move |value: &mut rhai::Array| {
            own.show(&Dynamic::from(value.clone()))
        });
        let own = Rc::clone(vocabulary);
        engine.register_fn(name, move |value: &mut rhai::Map| {
            own.show(&Dynamic::from(value.clone()))
        });
    }
}

/// Functions see the constants of the script and of earlier inputs; and maps do not grow beyond their limit.
fn see_variables(engine: &mut Engine, shared: &Shared) {
    let earlier = Rc::clone(&shared.constants);
    let growth = Growth::default();
    #[allow(deprecated)] // The engine marks the callback as volatile; the version is pinned.
    engine.on_var(move |name: &str, index: usize, context: EvalContext| {
        growth.check(&context)?;
        if index > 0 || context.scope().contains(name) {
            return Ok(None);
        }
        let here = context.global_runtime_state().constants.as_ref();
        let here = here.and_then(|constants| constants.try_borrow().ok()?.get(name).cloned());
        // A module must not depend on what the session that imports it has defined.
        let of_input = context
            .source()
            .is_some_and(|source| source.starts_with(super::session::INPUT));
        Ok(here.or_else(|| {
            of_input
                .then(|| earlier.borrow().get(name).cloned())
                .flatten()
        }))
    });
}

/// Looks at the maps in reach now and then: the engine itself passes over what is put into one by its key.
#[derive(Default)]
struct Growth {
    /// Uses of variables until the next look.
    left: Cell<usize>,
}

impl Growth {
    /// Uses of variables between two looks. After a look at many entries there are as many as those, so that looking
    /// costs no more than the script itself.
    const USES: usize = 64;

    fn check(&self, context: &EvalContext) -> Result<(), Box<EvalAltResult>> {
        if let Some(left) = self.left.get().checked_sub(1) {
            self.left.set(left);
            return Ok(());
        }
        let most = context.engine().max_map_size();
        let mut seen = 0;
        let variables = context.scope().iter_raw().map(|(_, _, value)| value);
        for value in variables.chain(context.this_ptr()) {
            let mut entries = 0;
            count(value, &mut entries, &mut seen);
            if entries > most {
                let what = "Size of object map".to_owned();
                return Err(EvalAltResult::ErrorDataTooLarge(what, Position::NONE).into());
            }
        }
        self.left.set(seen.max(Self::USES));
        Ok(())
    }
}

/// Counts the entries of maps in a value, and all that was looked at.
fn count(value: &Dynamic, entries: &mut usize, seen: &mut usize) {
    *seen += 1;
    if let Some(map) = value.read_lock::<rhai::Map>() {
        *entries += map.len();
        map.values().for_each(|value| count(value, entries, seen));
    } else if let Some(list) = value.read_lock::<rhai::Array>() {
        list.iter().for_each(|value| count(value, entries, seen));
    }
}

/// The clock is outside, and a script that sleeps cannot be interrupted.
fn refuse_clock(engine: &mut Engine) {
    fn refuse(
        context: &NativeCallContext,
        name: &'static str,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        let fault = Fault::new(
            "not-available",
            format!("`{name}` is not available to scripts"),
        );
        Err(fault
            .remedy("the same script gives the same result at any time")
            .into_error(name, context.call_position()))
    }
    engine.register_fn("sleep", |context: NativeCallContext, _: i64| {
        refuse(&context, "sleep")
    });
    engine.register_fn("sleep", |context: NativeCallContext, _: f64| {
        refuse(&context, "sleep")
    });
    engine.register_fn("timestamp", |context: NativeCallContext| {
        refuse(&context, "timestamp")
    });
}
