//! Whatever a script hands to a declared function or method, and whatever is typed into a session: an answer, or a
//! diagnostic with its place, in a builder's words.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // A helper that cannot go on fails the test.

use std::cell::Cell;
use std::rc::Rc;
use std::sync::mpsc;
use std::thread;

use perpend::outside::MemoryOutside;
use perpend::script::engine::run_on_large_stack;
use perpend::script::{CallKind, Diagnostic, Limits, Session, domain};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestCaseResult, TestRng, TestRunner};

/// Words of the engine that mean nothing to a builder.
const JARGON: [&str; 16] = [
    "Dynamic",
    "i64",
    "f64",
    "FnPtr",
    "ImmutableString",
    "rhai",
    "perpend::",
    "panicked",
    "closure#",
    "Option<",
    "NaN",
    "usize",
    "<dyn",
    "ErrorRuntime",
    "9223372036854775807",
    "18446744073709551615",
];

/// A value that each method can be called on, by the type it belongs to.
fn receiver(of: &str) -> Option<&'static str> {
    const PLAN: &str =
        "plan(\"p\", #{ unit: \"uk\" }).place(\"a\", chamber(#{ outside: [3, 3], courses: 4 }))";
    Some(match of {
        "number" => "3",
        "Part" => "chamber(#{ outside: [4, 3], courses: 6 })",
        "Plan" => PLAN,
        "Unit" => "unit(\"uk\")",
        "Length" => "3.ft",
        "Area" => "(1.m * 1.m)",
        "Volume" => "(1.m * 1.m * 1.m)",
        "Mass" => "2.kg",
        "Temperature" => "20.degC",
        "Duration" => "2.h",
        "Density" => "unit(\"uk\").density",
        "Takeoff" => "plan(\"p\", #{ unit: \"uk\" }).takeoff()",
        "Review" => "plan(\"p\", #{ unit: \"uk\" }).review()",
        "Table" => "units()",
        "Space" => "chamber(#{ outside: [3, 3], courses: 4 })",
        _ => return None,
    })
}

/// One thing to call: what stands before its bracket, its option names, and how many arguments stand before those.
#[derive(Clone, Debug)]
struct Callable {
    before: String,
    name: &'static str,
    options: Vec<&'static str>,
    positional: usize,
}

fn limits() -> Limits {
    Limits {
        operations: 5_000,
        array: 200,
        string: 2_000,
        map: 50,
        ..Limits::default()
    }
}

fn session() -> Session {
    domain::open(Rc::new(MemoryOutside::new()), limits())
}

fn callables() -> Vec<Callable> {
    session()
        .vocabulary()
        .declarations()
        .iter()
        .filter_map(|declaration| {
            let before = match declaration.kind {
                CallKind::Function => String::new(),
                CallKind::Method { of } => format!("{}.", receiver(of)?),
                CallKind::Property { .. } => return None,
            };
            Some(Callable {
                before,
                name: declaration.name,
                options: declaration
                    .options
                    .iter()
                    .map(|option| option.name)
                    .collect(),
                positional: declaration.positional.len(),
            })
        })
        .collect()
}

/// Values as they may be written, from the plausible to the absurd.
fn value() -> impl Strategy<Value = String> {
    let leaf = prop_oneof![
        4 => (-3_i64..12).prop_map(|n| n.to_string()),
        2 => (-3_i64..12).prop_map(|n| format!("{n}.5")),
        4 => (-50_i64..900).prop_map(|n| format!("{n}.mm")),
        1 => prop::sample::select(vec![
            "9_223_372_036_854_775_807", "1e300", "-1e300", "9e15.km", "1e12.m", "0.mm", "0.000001.mm",
            "true", "()", "25.kg", "0.kg", "20.degC", "2.h", "1..5", "|x| x", "'x'", "unit(\"uk\")",
            "chamber(#{ outside: [3, 3], courses: 4 })", "plan(\"p\", #{ unit: \"nf\" })",
        ]).prop_map(str::to_owned),
        4 => prop::sample::select(vec![
            "a", "", "front", "left", "uk", "nf", "stretcher", "clay", "steel", "1:1:6", "1:2:3", "exact",
            "up", "metric", "pieces", "π²", "chamber", "raised_bed",
        ]).prop_map(|word| format!("\"{word}\"")),
    ];
    leaf.prop_recursive(3, 12, 4, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..4)
                .prop_map(|items| format!("[{}]", items.join(", "))),
            prop::collection::vec(
                (
                    prop::sample::select(vec!["kind", "unit", "joint", "usual", "b", "courses"]),
                    inner
                ),
                0..3
            )
            .prop_map(|pairs| map_of(&pairs)),
        ]
    })
}

fn map_of(pairs: &[(&str, String)]) -> String {
    let mut seen = Vec::new();
    let mut written = Vec::new();
    for (key, value) in pairs {
        if !seen.contains(key) {
            seen.push(*key);
            written.push(format!("{key}: {value}"));
        }
    }
    format!("#{{ {} }}", written.join(", "))
}

fn calls(callables: Vec<Callable>) -> impl Strategy<Value = String> {
    prop::sample::select(callables).prop_flat_map(|callable| {
        let mut keys = callable.options.clone();
        keys.push("colour");
        let options = prop::collection::vec((prop::sample::select(keys), value()), 0..6);
        let arguments = prop::collection::vec(value(), 0..=callable.positional + 1);
        (
            Just(callable),
            arguments,
            prop::option::weighted(0.8, options),
        )
            .prop_map(|(callable, mut arguments, options)| {
                arguments.extend(options.map(|pairs| map_of(&pairs)));
                format!(
                    "{}{}({})",
                    callable.before,
                    callable.name,
                    arguments.join(", ")
                )
            })
    })
}

fn check(diagnostic: &Diagnostic, script: &str) -> TestCaseResult {
    let told = format!(
        "{script}\n{}: {}\n{:?}",
        diagnostic.code, diagnostic.message, diagnostic.remedy
    );
    prop_assert!(!diagnostic.message.trim().is_empty(), "no message: {told}");
    prop_assert!(diagnostic.code != "internal", "{told}");
    let all = std::iter::once(&diagnostic.message).chain(&diagnostic.remedy);
    for text in all {
        // What the script itself wrote may be quoted.
        let jargon = JARGON
            .iter()
            .find(|word| text.contains(**word) && !script.contains(**word));
        prop_assert!(jargon.is_none(), "{jargon:?} in: {told}");
        prop_assert!(!text.trim().is_empty(), "an empty remedy: {told}");
    }
    Ok(())
}

/// A diagnostic of a script that parses: it also has a place within the script, and what was written wrong a remedy.
fn check_call(diagnostic: &Diagnostic, script: &str) -> TestCaseResult {
    check(diagnostic, script)?;
    let told = format!("{script}\n{}: {}", diagnostic.code, diagnostic.message);
    let Some(span) = &diagnostic.primary else {
        return Err(TestCaseError::fail(format!("no place: {told}")));
    };
    let line = script.lines().nth(span.line - 1).unwrap_or_default();
    let end = span.column - 1 + span.length;
    prop_assert!(end <= line.chars().count(), "the place is outside: {told}");
    if diagnostic.code == "unknown-option" {
        prop_assert!(!diagnostic.remedy.is_empty(), "no remedy: {told}");
    }
    // A wrong kind says what was wanted, in the message or in a remedy.
    if diagnostic.code == "wrong-type" {
        let wanted = diagnostic.message.contains(" want") || !diagnostic.remedy.is_empty();
        prop_assert!(wanted, "nothing is said to be wanted: {told}");
    }
    Ok(())
}

/// Runs `test` on the thread that scripts run on: a panic or an endless loop there fails the test.
fn with_runner(cases: u32, test: impl FnOnce(&mut TestRunner) + Send + 'static) {
    let (done, finished) = mpsc::channel();
    let work = thread::spawn(move || {
        run_on_large_stack(|| {
            let mut config = Config::with_cases(cases);
            config.failure_persistence = None;
            // The same calls on every machine, so that what fails can be tried again.
            let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
            test(&mut TestRunner::new_with_rng(config, rng));
        })
        .unwrap();
        done.send(()).unwrap();
    });
    let waited = finished.recv_timeout(std::time::Duration::from_mins(5));
    assert!(
        waited != Err(mpsc::RecvTimeoutError::Timeout),
        "a script hangs"
    );
    work.join().unwrap();
}

#[test]
fn any_call_of_any_function_ends_in_a_value_or_in_words() {
    with_runner(600, |runner| {
        let callables = callables();
        assert!(callables.len() > 40, "only {} callables", callables.len());
        let (fine, failed) = (Cell::new(0), Cell::new(0));
        let result = runner.run(&calls(callables), |script| {
            let mut session = session();
            let outcome = session.run("script", &script);
            let count = if outcome.failed() { &failed } else { &fine };
            count.set(count.get() + 1);
            outcome
                .diagnostics
                .iter()
                .try_for_each(|diagnostic| check_call(diagnostic, &script))
        });
        if let Err(error) = result {
            panic!("{error}");
        }
        // Values that never fit, or always do, would test nothing.
        let (fine, failed) = (fine.get(), failed.get());
        assert!(fine > 20 && failed > 100, "{fine} fine, {failed} failed");
    });
}

/// Every function with nothing, and with one option that it does not have.
#[test]
fn every_function_refuses_an_option_that_it_does_not_have() {
    with_runner(1, |_| {
        let mut session = session();
        for callable in callables() {
            if callable.options.is_empty() {
                continue;
            }
            // One letter too many, as the pen slips.
            let option = callable.options[callable.options.len() / 2];
            let script = format!("{}{}(#{{ {option}x: 1 }})", callable.before, callable.name);
            let outcome = session.run("script", &script);
            let unknown = outcome
                .diagnostics
                .iter()
                .find(|diagnostic| diagnostic.code == "unknown-option");
            let Some(diagnostic) = unknown else {
                panic!("{script}\n{}", session.render(&outcome));
            };
            let remedy = diagnostic.remedy.join("\n");
            assert!(remedy.contains("did you mean `"), "{script}\n{remedy}");
            let span = diagnostic.primary.as_ref().unwrap();
            let under: String = script
                .chars()
                .skip(span.column - 1)
                .take(span.length)
                .collect();
            assert_eq!(under, format!("{option}x"), "{script}");
        }
    });
}

fn token() -> impl Strategy<Value = String> {
    prop_oneof![
        8 => prop::sample::select(vec![
            "let", "const", "fn", "if", "else", "while", "loop", "for", "in", "return", "break", "import", "as",
            "export", "throw", "try", "catch", "switch", "this", "global", "private", "do", "until", "=>", "->",
            "(", ")", "[", "]", "{", "}", "#{", ";", ",", ".", "..", "..=", "::", ":", "?", "?.", "??", "|", "||",
            "&&", "!", "=", "==", "!=", "+=", "+", "-", "*", "/", "%", "**", "<", ">=", "<<", "@", "$", "\\", "~",
            "\"", "`", "'", "//", "/*", "*/", "\n", "${", "_",
        ]).prop_map(str::to_owned),
        6 => prop::sample::select(vec![
            "x", "y", "ans", "mm", "inch", "ft", "chamber", "wall", "plan", "place", "door", "compare", "help",
            "undo", "show", "print", "eval", "call", "Fn", "curry", "keys", "map", "unit", "takeoff", "settings",
        ]).prop_map(str::to_owned),
        3 => prop::sample::select(vec![
            "0", "1", "3.5", "10.mm", "9223372036854775808", "1e400", "0x", "0b2", "\"text\"", "'ab'", "'a'",
            "`3' 4\"`", "°", "½", "\u{0}", "\u{7}", "é", "日", "\t",
        ]).prop_map(str::to_owned),
    ]
}

#[test]
fn any_tokens_typed_into_a_session_leave_it_alive() {
    with_runner(500, |runner| {
        let soups = prop::collection::vec(prop::collection::vec(token(), 0..20), 1..4);
        let result = runner.run(&soups, |inputs| {
            let mut session = session();
            let kept = session.input("let kept = 215.mm;");
            prop_assert!(!kept.failed());
            for tokens in &inputs {
                for text in [tokens.join(" "), tokens.concat()] {
                    let _ = session.is_incomplete(&text);
                    let outcome = session.input(&text);
                    for diagnostic in &outcome.diagnostics {
                        check(diagnostic, &text)?;
                        let rendered = diagnostic.render(session.sources());
                        let rings = rendered.chars().any(|c| c.is_control() && c != '\n');
                        prop_assert!(!rings, "control characters: {rendered:?}");
                    }
                    if outcome.quit {
                        return Ok(());
                    }
                }
            }
            let after = session.input("1 + 1");
            prop_assert_eq!(after.shown.as_deref(), Some("2"));
            Ok(())
        });
        if let Err(error) = result {
            panic!("{error}");
        }
    });
}
