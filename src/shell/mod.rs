//! The interactive session: editing, completion, highlighting, history; and its plain form for
//! pipes.
//!
//! In come lines; out go results and diagnostics. What an input means is the session's matter.

mod chain;
mod complete;
mod follow;
mod highlight;
mod hints;
mod plain;
mod repl;
mod scan;

use std::io::IsTerminal;
use std::sync::atomic::Ordering;

use crate::script::session::{Outcome, Session};

pub use crate::script::engine::run_on_large_stack;
pub use complete::{Suggested, Words};
pub use highlight::Tokens;
pub use plain::run_text;

/// Exit code when every input was right.
const ALL_RIGHT: i32 = 0;
/// Exit code when an input failed.
const INPUT_FAILED: i32 = 2;

/// Runs the shell on standard input until it ends: with editing on a terminal, plain otherwise.
///
/// Returns the exit code.
pub fn run(session: &mut Session) -> i32 {
    let interrupt = session.interrupt_flag();
    // A second handler cannot be set; then Ctrl-C keeps its usual meaning.
    let _ = ctrlc::set_handler(move || interrupt.store(true, Ordering::Relaxed));
    let failed = if wants_editing() {
        repl::run(session);
        false
    } else {
        plain::run(session)
    };
    if failed { INPUT_FAILED } else { ALL_RIGHT }
}

fn wants_editing() -> bool {
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    std::io::stdin().is_terminal() && std::io::stdout().is_terminal() && !dumb
}

/// Evaluates one input and shows what came of it.
fn evaluate(session: &mut Session, text: &str) -> Outcome {
    let outcome = session.input(text);
    report(session, &outcome);
    outcome
}

/// Shows what came of an evaluation.
fn report(session: &Session, outcome: &Outcome) {
    if let Some(shown) = &outcome.shown {
        session.outside().print(shown);
    }
    if outcome.failed() {
        session.outside().report(&session.render(outcome));
    }
}
