//! The shell without a terminal: whole statements from lines, no escape codes, the same results.

use std::io::{BufRead, IsTerminal, Read};

use super::{evaluate, report};
use crate::script::session::{Outcome, Session};

/// What a line starts with when it goes on with the statement before it.
const CONTINUATIONS: [&str; 5] = [".", "?.", "}", ")", "]"];

/// Reads standard input to its end; whether any input failed.
pub(super) fn run(session: &mut Session) -> bool {
    let stdin = std::io::stdin();
    if stdin.is_terminal() {
        return run_lines(session, stdin.lock());
    }
    let mut bytes = Vec::new();
    if let Err(error) = stdin.lock().read_to_end(&mut bytes) {
        session.outside().report(&format!(
            "error[file-trouble]: cannot read the input: {error}"
        ));
        return true;
    }
    run_text(session, &String::from_utf8_lossy(&bytes))
}

/// What came of several inputs.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ran {
    /// Whether any failed.
    pub(super) failed: bool,
    /// Whether one asked to end the session.
    pub(super) quit: bool,
}

/// Runs a text as inputs one after the other; whether any failed.
pub fn run_text(session: &mut Session, text: &str) -> bool {
    run_lines_of(session, text).failed
}

/// Runs a text as inputs one after the other.
pub(super) fn run_lines_of(session: &mut Session, text: &str) -> Ran {
    let lines: Vec<&str> = text.lines().collect();
    let mut ran = Ran::default();
    let mut gathered = String::new();
    for (at, line) in lines.iter().enumerate() {
        if gathered.is_empty() && line.trim().is_empty() {
            continue;
        }
        gathered.push_str(line);
        gathered.push('\n');
        let next = lines.iter().skip(at + 1).find(|line| !is_blank(line));
        if next.is_some_and(|next| continues(next)) || session.is_incomplete(&gathered) {
            continue;
        }
        let outcome = evaluate_and_follow(session, &gathered);
        gathered.clear();
        ran.failed |= outcome.failed();
        ran.quit = outcome.quit;
        let interrupted = outcome.diagnostics.iter().any(|d| d.code == "interrupted");
        if outcome.quit || interrupted {
            return ran;
        }
    }
    if !gathered.trim().is_empty() {
        ran.failed |= evaluate_and_follow(session, &gathered).failed();
    }
    ran
}

/// Without an editor a script that is followed runs once: nobody waits for it to change.
fn evaluate_and_follow(session: &mut Session, text: &str) -> Outcome {
    let outcome = evaluate(session, text);
    match session.file_to_follow().filter(|file| !file.is_empty()) {
        Some(file) => {
            let outcome = session.input_file(&file);
            report(session, &outcome);
            outcome
        }
        None => outcome,
    }
}

fn is_blank(line: &str) -> bool {
    let line = line.trim();
    line.is_empty() || line.starts_with("//")
}

fn continues(line: &str) -> bool {
    let line = line.trim_start();
    line.starts_with("else") || CONTINUATIONS.iter().any(|start| line.starts_with(start))
}

/// Lines as they are typed: there is no next line to look at.
fn run_lines(session: &mut Session, lines: impl BufRead) -> bool {
    let mut gathered = String::new();
    for line in lines.lines() {
        let Ok(line) = line else {
            break;
        };
        gathered.push_str(&line);
        gathered.push('\n');
        if gathered.trim().is_empty() {
            gathered.clear();
        } else if !session.is_incomplete(&gathered) {
            let outcome = evaluate_and_follow(session, &gathered);
            gathered.clear();
            if outcome.quit {
                return false;
            }
        }
    }
    if !gathered.trim().is_empty() {
        evaluate_and_follow(session, &gathered);
    }
    // Somebody sat there and saw each failure.
    false
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;
    use crate::outside::MemoryOutside;
    use crate::script::engine::Limits;

    fn run(text: &str) -> (bool, Vec<String>, Vec<String>) {
        let outside = Rc::new(MemoryOutside::new());
        let mut session = Session::new(outside.clone(), Limits::default());
        let failed = run_text(&mut session, text);
        (failed, outside.printed(), outside.reported())
    }

    #[test]
    fn values_of_inputs_are_printed() {
        let (failed, printed, _) = run("1 + 1\n\nlet x = 3.ft\nx\n[\n 1,\n 2\n]\n");
        assert!(!failed);
        assert_eq!(printed, ["2", "914.4 mm (3' 0\")", "[1, 2]"]);
    }

    #[test]
    fn a_chain_and_an_else_on_the_next_line_go_on() {
        let (failed, printed, reported) = run(
            "let x = 1.ft\n  // a remark\n  .round_to(10.mm);\nx\nif x > 1.m { 1 }\nelse { 2 }\n",
        );
        assert!(!failed, "{reported:?}");
        assert_eq!(printed, ["300 mm (about 11 13/16\")", "2"]);
    }

    #[test]
    fn a_failure_is_reported_and_the_rest_runs() {
        let (failed, printed, reported) = run("let a = 1\nnope\na + 1\n");
        assert!(failed);
        assert_eq!(printed, ["2"]);
        assert!(
            reported[0].starts_with("error[unknown-name]"),
            "{reported:?}"
        );
    }

    #[test]
    fn quit_ends_the_session() {
        let (failed, printed, _) = run("1\nquit()\n2\n");
        assert!(!failed);
        assert_eq!(printed, ["1"]);
    }

    #[test]
    fn an_unfinished_end_is_an_error() {
        let (failed, _, reported) = run("let x = (1 +\n");
        assert!(failed);
        assert!(
            reported[0].contains("this `(` is not closed"),
            "{reported:?}"
        );
    }
}
