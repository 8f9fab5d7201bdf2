//! Inputs that nobody would write: whatever comes in, the program answers and neither panics nor hangs.
//!
//! `PERPEND_INPUTS=10000000` sets how many inputs there are over the four targets together, `PERPEND_SEED` where the
//! generator starts; each target prints how many it tried and how long the slowest took. What once failed stands in
//! `fuzz/failed.rs`, and is tried first.

#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

#[path = "fuzz/dice.rs"]
mod dice;
#[path = "fuzz/failed.rs"]
mod failed;
#[path = "fuzz/texts.rs"]
mod texts;

use std::cell::Cell;
use std::rc::Rc;
use std::sync::Arc;
use std::time::{Duration, Instant};

use dice::Dice;
use perpend::layout::lay;
use perpend::outside::MemoryOutside;
use perpend::plan::{Plan, allowing_pieces};
use perpend::quantity::{
    parse_density, parse_length, parse_mass, parse_number, parse_pressure, parse_volume,
};
use perpend::script::{Limits, Outcome, Session, domain};
use perpend::stop::{Reason, watched};
use serde_json::Value as Json;

/// Inputs of one target in an ordinary run.
const USUAL: u64 = 400;
/// Of a thousand inputs of a long run, how many a target gets: what costs little gets most.
const OF_QUANTITIES: u64 = 700;
const OF_OPTIONS: u64 = 140;
const OF_PLANS: u64 = 60;
const OF_SCRIPTS: u64 = 100;
/// Pieces that an input may have laid: enough for every example.
const PIECES: u64 = 20_000;
/// Inputs after which a session is opened anew.
const SESSION_LASTS: u64 = 500;
/// What an input may take before it is stopped, as a script of a user would be.
const TIME: Duration = Duration::from_secs(5);

fn count(share: u64) -> u64 {
    let all = std::env::var("PERPEND_INPUTS").ok();
    all.and_then(|all| all.replace('_', "").parse::<u64>().ok())
        .map_or(USUAL, |all| all / 1000 * share)
}

/// Tries so many inputs, and says how it went.
fn tried(what: &str, share: u64, mut one: impl FnMut(&mut Dice) -> String) {
    /// What takes longer than this is worth a look.
    const SLOW: Duration = Duration::from_secs(1);
    let inputs = count(share);
    let mut dice = Dice::new();
    let (start, mut slowest) = (Instant::now(), Duration::ZERO);
    for _ in 0..inputs {
        let began = Instant::now();
        let input = one(&mut dice);
        let took = began.elapsed();
        if took > slowest.max(SLOW) {
            println!("{took:.1?}: {input}");
        }
        slowest = slowest.max(took);
    }
    println!(
        "{what}: {inputs} inputs in {:.1} s, the slowest {slowest:.1?}; most memory so far {}",
        start.elapsed().as_secs_f64(),
        most_memory()
    );
}

/// The most memory that this process has used, where the system tells.
fn most_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM"));
    line.and_then(|line| line.split(':').nth(1))
        .map_or_else(|| "unknown".to_owned(), |size| size.trim().to_owned())
}

fn limits() -> Limits {
    Limits {
        operations: 20_000,
        string: 20_000,
        array: 2_000,
        map: 500,
        pieces: PIECES,
        wall_clock: TIME,
        ..Limits::default()
    }
}

fn open() -> Session {
    domain::open(Rc::new(MemoryOutside::new().with_recipes("")), limits())
}

/// What must not stand in any message.
const JARGON: [&str; 11] = [
    "i64",
    "f64",
    "Dynamic",
    "FnPtr",
    "ImmutableString",
    "&str",
    "Function not found",
    "Variable not found",
    "panicked",
    "perpend::",
    "rhai::",
];

fn check(script: &str, session: &Session, outcome: &Outcome) {
    for diagnostic in &outcome.diagnostics {
        let told = session.render(outcome);
        assert_ne!(diagnostic.code, "internal-fault", "{script}\n{told}");
        let jargon = JARGON
            .iter()
            .find(|word| diagnostic.message.contains(*word) && !script.contains(*word));
        assert!(jargon.is_none(), "{script}\n{told}");
    }
}

/// A session that is opened anew now and then, since it remembers.
struct Sessions {
    session: Session,
    runs: u64,
}

impl Sessions {
    fn new() -> Self {
        Self {
            session: open(),
            runs: 0,
        }
    }

    fn run(&mut self, script: &str) {
        self.runs += 1;
        if self.runs > SESSION_LASTS {
            *self = Self::new();
        }
        let outcome = self.session.run("fuzz.rhai", script);
        check(script, &self.session, &outcome);
        self.session.is_incomplete(script);
    }
}

fn on_large_stack(work: impl FnOnce() + Send) {
    perpend::shell::run_on_large_stack(work).expect("no panic");
}

#[test]
fn what_once_failed_is_answered() {
    on_large_stack(|| {
        let mut sessions = Sessions::new();
        for script in failed::SCRIPTS {
            sessions.run(script);
        }
        for text in failed::QUANTITIES {
            read_quantity(text);
        }
        for text in failed::PLANS {
            read_plan(text);
        }
    });
}

fn read_quantity(text: &str) {
    if let Ok(length) = parse_length(text) {
        // What is shown in full is read as the same.
        let shown = format!("{} mm", length.to_mm());
        assert!(parse_length(&shown).is_ok(), "{text} is {shown}");
    }
    let _ = (parse_mass(text), parse_volume(text), parse_density(text));
    let _ = (parse_pressure(text), parse_number(text));
}

#[test]
fn any_text_is_read_as_a_quantity_or_refused() {
    tried("quantities", OF_QUANTITIES, |dice| {
        let text = texts::quantity(dice);
        read_quantity(&text);
        text
    });
}

#[test]
fn any_options_are_taken_or_refused() {
    on_large_stack(|| {
        let mut sessions = Sessions::new();
        let declared = sessions.session.vocabulary().declarations();
        tried("options", OF_OPTIONS, |dice| {
            let declaration = dice.of(&declared);
            let script = texts::call(dice, declaration);
            sessions.run(&script);
            script
        });
    });
}

/// Plans that the example scripts and recipes make, as they are saved.
fn saved_plans() -> Vec<String> {
    let mut session = open();
    let mut plans = Vec::new();
    for script in texts::scripts() {
        let outcome = session.run("seed.rhai", &script);
        let value = outcome.value.unwrap_or_default();
        if let Some(plan) = value.read_lock::<domain::PlanValue>() {
            plans.push(plan.plan.to_saved().expect("numbers").to_string());
        }
    }
    assert!(plans.len() >= 5, "{} plans", plans.len());
    plans
}

fn read_plan(text: &str) {
    let started = Instant::now();
    let most = i64::try_from(PIECES).unwrap_or(i64::MAX);
    let stop = move || (started.elapsed() > TIME).then_some(Reason::Time);
    allowing_pieces(most, || {
        watched(stop, || {
            let Ok(plan) = Plan::from_saved(text) else {
                return;
            };
            let again = plan.to_saved().expect("numbers").to_string();
            let read = Plan::from_saved(&again);
            assert_eq!(read.as_ref().ok(), Some(&plan), "{text}");
            let _ = lay(&Arc::new(plan));
        });
    });
}

#[test]
fn any_saved_plan_is_read_or_refused() {
    on_large_stack(|| {
        let plans = saved_plans();
        let parsed: Vec<Json> = plans
            .iter()
            .map(|text| serde_json::from_str(text).expect("JSON"))
            .collect();
        tried("saved plans", OF_PLANS, |dice| {
            let text = if dice.once_in(3) {
                texts::damaged(dice, &plans)
            } else {
                let mut document = dice.of(&parsed).clone();
                for _ in 0..=dice.below(3) {
                    texts::change_json(dice, &mut document);
                }
                document.to_string()
            };
            read_plan(&text);
            text
        });
    });
}

#[test]
fn any_script_is_run_or_refused() {
    on_large_stack(|| {
        let seeds = texts::scripts();
        let pieces: Vec<Vec<String>> = seeds.iter().map(|text| texts::pieces(text)).collect();
        let mut sessions = Sessions::new();
        let declared = sessions.session.vocabulary().declarations();
        let shown = Cell::new(0_u64);
        tried("scripts", OF_SCRIPTS, |dice| {
            let script = match dice.below(4) {
                0 => texts::damaged(dice, &seeds),
                1 => texts::statements(dice, &declared),
                _ => texts::shuffled(dice, &pieces),
            };
            sessions.run(&script);
            shown.set(shown.get() + 1);
            script
        });
    });
}
