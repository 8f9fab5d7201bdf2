//! What a builder waits for at the prompt: the start, a keystroke in a long input, and a plan asked for again.

#![allow(
    clippy::expect_used,
    reason = "a benchmark that cannot go on has nothing to measure"
)]

use std::fmt::Write as _;
use std::rc::Rc;

use divan::{Bencher, black_box};
use perpend::outside::MemoryOutside;
use perpend::script::{Limits, Session, domain};
use perpend::shell::{Tokens, Words};
use reedline::Highlighter;

/// Lines of the long input.
const LINES: usize = 200;

fn main() {
    // Scripts run on a stack of their own.
    perpend::shell::run_on_large_stack(divan::main).expect("a thread");
}

fn session() -> Session {
    domain::open(Rc::new(MemoryOutside::new()), Limits::default())
}

/// An input of many lines, the last of them unfinished.
fn long_input() -> String {
    let mut text = String::new();
    for line in 1..LINES {
        let _ = writeln!(
            text,
            "let part_{line} = chamber(#{{ outside: [4, 3], courses: {line} }}).vent(#{{ side: \"left\", course: 2, width: 80.mm }}); // row {line}"
        );
    }
    text + "let last = part_7.opening(#{ name: \"door\", si"
}

/// From nothing to what the prompt needs: the language, and the words that are completed.
#[divan::bench]
fn start() -> Words {
    Words::new(black_box(&session()))
}

#[divan::bench]
fn complete_in_200_lines(bencher: Bencher) {
    let (words, text) = (Words::new(&session()), long_input());
    assert!(!words.complete(&text).1.is_empty());
    bencher.bench_local(|| words.complete(black_box(&text)));
}

#[divan::bench]
fn hint_in_200_lines(bencher: Bencher) {
    let (words, text) = (Words::new(&session()), long_input());
    assert!(words.hint(&text).is_some());
    bencher.bench_local(|| words.hint(black_box(&text)));
}

#[divan::bench]
fn highlight_200_lines(bencher: Bencher) {
    let text = long_input();
    bencher.bench_local(|| Tokens.highlight(black_box(&text), text.len()));
}

/// An unchanged plan that is asked for its takeoff again.
#[divan::bench]
fn ask_a_plan_again(bencher: Bencher) {
    let mut session = session();
    let made = session.input(
        "let p = plan(\"p\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [8, 6], courses: 40 })); p.units();",
    );
    assert!(!made.failed(), "{}", session.render(&made));
    bencher.bench_local(|| session.input(black_box("p.units()")));
}
