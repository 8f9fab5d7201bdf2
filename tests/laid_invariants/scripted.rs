//! Random option maps for every function that makes or changes a part or a plan, as its declaration asks for them and
//! now and then not: a plan that keeps every invariant, or an error that says what is wrong and what to do.

use std::cell::Cell;
use std::fmt::Write as _;
use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::domain::{self, PlanValue};
use perpend::script::{CallKind, Declaration, Diagnostic, Limits, Session, Want};
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

use super::*;

/// Of options that stand for one another, one is given.
const ONE_OF: [&[&str]; 4] = [
    &["outside", "inside"],
    &["courses", "height"],
    &["length", "legs", "radius"],
    &["side", "leg", "branch"],
];
/// Ways of reading a plan that any plan must bear.
const READINGS: [&str; 8] = [
    "p.explain(\"a\", 1);",
    "p.explain(\"a\", 3);",
    "p.remedies(\"a\");",
    "p.ties();",
    "p.arches();",
    "p.takeoff();",
    "p.rings();",
    "p.review();",
];

/// Throws of dice from a list of numbers that the runner shrinks.
struct Throws {
    numbers: Vec<u32>,
    at: usize,
}

impl Throws {
    /// A number below `most`; zero once the list is used up.
    fn below(&mut self, most: usize) -> usize {
        let number = self.numbers.get(self.at).copied().unwrap_or(0);
        self.at += 1;
        number as usize % most.max(1)
    }

    fn one_in(&mut self, often: usize) -> bool {
        self.below(often) == 1
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}

/// A map or a list of lists that a meaning shows: from its bracket to the one that closes it.
fn shown(meaning: &str, (open, close): (&str, char), throws: &mut Throws) -> Option<String> {
    let mut found = Vec::new();
    let mut rest = meaning;
    while let Some(start) = rest.find(open) {
        rest = &rest[start..];
        let mut depth = 0;
        let end = rest.char_indices().find_map(|(at, letter)| {
            depth += i32::from(open.contains(letter) && letter != '#') - i32::from(letter == close);
            (letter == close && depth == 0).then_some(at + 1)
        })?;
        found.push(&rest[..end]);
        rest = &rest[end..];
    }
    (!found.is_empty()).then(|| (*throws.pick(&found)).to_owned())
}

fn absurd(throws: &mut Throws) -> String {
    let values = [
        "-1",
        "0",
        "()",
        "\"\"",
        "\"front\"",
        "1e300",
        "0.mm",
        "-20.mm",
        "9e15.km",
        "9_223_372_036_854_775_807",
        "true",
        "#{ kind: 3 }",
        "[]",
        "[1, \"a\"]",
        "unit(\"nf\")",
        "|x| x",
        "1.m * 1.m",
        "0.3",
    ];
    (*throws.pick(&values)).to_owned()
}

/// A value as a parameter asks for it.
fn wanted(name: &str, meaning: &str, wants: &Want, throws: &mut Throws) -> String {
    match wants {
        Want::Length if ["joint", "bed"].contains(&name) => format!("{}.mm", 8 + throws.below(5)),
        Want::Length if ["height", "inside", "outside"].contains(&name) => {
            format!("{}.mm", 300 + 75 * throws.below(20))
        }
        Want::Length => format!(
            "{}.mm",
            [10, 20, 50, 75, 100, 150, 225, 400, 900][throws.below(9)]
        ),
        Want::Number => format!("{}", [0.5, 0.5, 1.0, 1.0, 1.5, 2.0][throws.below(6)]),
        Want::NumberFrom(low, high) => {
            format!(
                "{:?}",
                low + (high - low) * [0.0, 0.25, 0.5, 1.0][throws.below(4)]
            )
        }
        Want::WholeNumber if name == "courses" => (6 + throws.below(8)).to_string(),
        Want::WholeNumber if name == "leg" => (1 + throws.below(10) / 9).to_string(),
        Want::WholeNumber => (1 + throws.below(8)).to_string(),
        Want::WholeFrom(low, high) => {
            let reach = (high - low).min(6) as usize;
            (low + throws.below(reach + 1) as i64).to_string()
        }
        Want::Text => match name {
            "name" if !throws.one_in(12) => format!("\"n{}\"", throws.below(1000)),
            "name" | "branch" | "part" | "from" | "to" | "on" | "right_of" | "left_of"
            | "behind" | "in_front_of" | "inside_of" => {
                format!("\"{}\"", throws.pick(&["a", "a", "a", "b", "spur"]))
            }
            "bond" => format!("\"{}\"", throws.pick(BONDS)),
            "unit" => format!(
                "\"{}\"",
                throws.pick(&["uk", "nf", "us_modular", "firebrick"])
            ),
            "mortar" => "\"1:1:6\"".to_owned(),
            _ => format!("\"{}\"", throws.pick(&["clay", "a", "front", "1:2:3"])),
        },
        Want::Flag => throws.pick(&["true", "false"]).to_string(),
        Want::Word(words) => format!("\"{}\"", throws.pick(words)),
        Want::Size => {
            let sizes = [
                "1", "1.5", "2", "2.5", "3", "4", "5", "6", "300.mm", "700.mm", "1.2.m",
            ];
            (*throws.pick(&sizes)).to_owned()
        }
        Want::Pair(Want::Size) => format!("[{}, {}]", 3 + throws.below(5), 3 + throws.below(4)),
        Want::Pair(of) => {
            // Openings are low, parts are not.
            let counted = matches!(of, Want::WholeNumber);
            let name = if counted { "course" } else { name };
            let (mut one, mut other) = (
                wanted(name, meaning, of, throws),
                wanted(name, meaning, of, throws),
            );
            // Courses are given from the lower to the higher.
            if let (Ok(low), Ok(high)) = (one.parse::<u32>(), other.parse::<u32>())
                && low > high
            {
                std::mem::swap(&mut one, &mut other);
            }
            format!("[{one}, {other}]")
        }
        Want::Triple(of) => {
            let three: Vec<String> = (0..3).map(|_| wanted(name, meaning, of, throws)).collect();
            format!("[{}]", three.join(", "))
        }
        Want::List(Want::Anything) => {
            let legs = "[[\"right\", 4], [\"back\", 3]]";
            shown(meaning, ("[[", ']'), throws).unwrap_or_else(|| legs.to_owned())
        }
        Want::List(of) => {
            let count = throws.below(4);
            let items: Vec<String> = (0..count)
                .map(|_| wanted(name, meaning, of, throws))
                .collect();
            format!("[{}]", items.join(", "))
        }
        Want::Map => shown(meaning, ("#{", '}'), throws).unwrap_or_else(|| "#{}".to_owned()),
        Want::AnyOf(all) => {
            let one = throws.pick(all);
            wanted(name, meaning, one, throws)
        }
        Want::Value("Part") => "chamber(#{ outside: [3, 3], courses: 4 })".to_owned(),
        Want::Value("Unit") => format!("unit(\"{}\")", throws.pick(&["uk", "nf"])),
        Want::Function => "|x| x".to_owned(),
        Want::Mass => "25.kg".to_owned(),
        Want::Density => "unit(\"uk\").density".to_owned(),
        _ => "1".to_owned(),
    }
}

/// The option map of a call, for a part that was made by the function `of`.
fn options(declaration: &Declaration, of: &str, throws: &mut Throws) -> String {
    let mut given = Vec::new();
    let has = |name: &str| declaration.options.iter().any(|option| option.name == name);
    let mut left_out = Vec::new();
    let mut must = Vec::new();
    for group in ONE_OF {
        let there: Vec<&str> = group.iter().copied().filter(|name| has(name)).collect();
        if there.len() > 1 {
            let own = if of == "chamber" { "side" } else { "leg" };
            let fits = there.contains(&own) && !throws.one_in(12);
            let chosen = if fits { own } else { *throws.pick(&there) };
            must.push(chosen);
            left_out.extend(there.into_iter().filter(|name| *name != chosen));
        }
    }
    for option in declaration.options {
        let name = option.name;
        let asked = option.required || must.contains(&name) || throws.one_in(4);
        let twice = name == "leaves"
            && given
                .iter()
                .any(|one: &String| one.starts_with("thickness"));
        if !asked || twice && !throws.one_in(12) || left_out.contains(&name) && !throws.one_in(40) {
            continue;
        }
        let value = if throws.one_in(60) {
            absurd(throws)
        } else {
            wanted(name, option.meaning, &option.wants, throws)
        };
        given.push(format!("{name}: {value}"));
    }
    format!("#{{ {} }}", given.join(", "))
}

fn call(declaration: &Declaration, of: &str, throws: &mut Throws) -> String {
    let mut arguments: Vec<String> = declaration
        .positional
        .iter()
        .map(|one| wanted(one.name, one.meaning, &one.wants, throws))
        .collect();
    if !declaration.options.is_empty() {
        arguments.push(options(declaration, of, throws));
    }
    format!("{}({})", declaration.name, arguments.join(", "))
}

/// The functions that make parts, change parts and change plans.
struct Words {
    making: Vec<Declaration>,
    parts: Vec<Declaration>,
    plans: Vec<Declaration>,
}

fn words(session: &Session) -> Words {
    let vocabulary = session.vocabulary();
    let all = vocabulary.declarations();
    let those = |wanted: &dyn Fn(&Declaration) -> bool| -> Vec<Declaration> {
        all.iter()
            .filter(|one| wanted(one))
            .map(|one| **one)
            .collect()
    };
    let returns = |one: &Declaration, what: &str| one.returns.to_lowercase().starts_with(what);
    Words {
        making: those(&|one| {
            one.kind == CallKind::Function && (returns(one, "a part") || returns(one, "the part"))
        }),
        parts: those(&|one| {
            one.kind == CallKind::Method { of: "Part" } && returns(one, "the part")
        }),
        plans: those(&|one| {
            one.kind == CallKind::Method { of: "Plan" } && returns(one, "the plan")
        }),
    }
}

/// A script that ends with a plan, if all goes well.
fn script(words: &Words, throws: &mut Throws) -> String {
    let part = |throws: &mut Throws| {
        // Walls and chambers take features, the others hardly any.
        let mut made = throws.pick(&words.making);
        if throws.one_in(2) {
            made = words
                .making
                .iter()
                .find(|one| one.name == "chamber")
                .unwrap_or(made);
        }
        let featured = made.name == "chamber" || made.name == "wall";
        let mut text = call(made, "", throws);
        let most = if featured { 4 } else { 1 + throws.below(2) };
        for _ in 0..throws.below(most) {
            let mut word = throws.pick(&words.parts);
            let inside = ["ledge", "partition"].contains(&word.name);
            if inside && made.name != "chamber" && !throws.one_in(6) {
                word = throws.pick(&words.parts);
            }
            let _ = write!(text, ".{}", call(word, made.name, throws));
        }
        text
    };
    let mut text = format!(
        "let p = plan(\"p\", #{{ unit: \"{}\", joint: 10.mm }}).place(\"a\", {})",
        throws.pick(&["uk", "nf"]),
        part(throws)
    );
    if throws.one_in(3) {
        let _ = write!(
            text,
            ".place(\"b\", {}, #{{ right_of: \"a\", gap: 300.mm }})",
            part(throws)
        );
    }
    for _ in 0..throws.below(3) {
        let _ = write!(
            text,
            ".{}",
            call(throws.pick(&words.plans), "chamber", throws)
        );
    }
    let reading = throws.pick(&READINGS);
    format!("{text};\n{reading}\np")
}

fn says_what_to_do(diagnostic: &Diagnostic) -> Result<(), String> {
    let told = format!("{}: {}", diagnostic.code, diagnostic.message);
    if diagnostic.message.trim().is_empty() || diagnostic.code == "internal" {
        return Err(format!("no cause: {told}"));
    }
    if diagnostic.remedy.iter().all(|line| line.trim().is_empty()) {
        return Err(format!("no remedy: {told}"));
    }
    Ok(())
}

/// Whether the plan of a script was laid; what is wrong with its words or its work.
fn run(text: &str) -> Result<bool, String> {
    let limits = Limits {
        operations: 100_000,
        ..Limits::default()
    };
    let mut session = domain::open(Rc::new(MemoryOutside::new()), limits);
    let outcome = session.run("script", text);
    for diagnostic in &outcome.diagnostics {
        says_what_to_do(diagnostic)?;
    }
    let Some(value) = outcome.value else {
        return Ok(false);
    };
    let Some(plan) = value.read_lock::<PlanValue>().map(|plan| plan.clone()) else {
        return Ok(false);
    };
    match plan.laid() {
        // Round work, copings and courses on end or on edge have checks of their own: `tests/rings.rs`, `tests/curves.rs`,
        // `tests/copings.rs` and `tests/upright.rs`.
        Ok(laid)
            if laid
                .parts
                .iter()
                .any(|part| part.ring.is_some() || part.coping.is_some()) =>
        {
            Ok(true)
        }
        Ok(laid)
            if laid
                .plan
                .parts
                .values()
                .any(|one| !one.part.coursing.laid.is_empty()) =>
        {
            Ok(true)
        }
        Ok(laid) => check(&laid).map(|()| true),
        Err(fault) if fault.remedy.is_empty() => Err(format!("no remedy: {}", fault.message)),
        Err(_) => Ok(false),
    }
}

#[test]
fn any_options_give_sound_work_or_an_error_with_its_remedy() {
    const CASES: u32 = 300;
    perpend::shell::run_on_large_stack(|| {
        let words = words(&domain::open(
            Rc::new(MemoryOutside::new()),
            Limits::default(),
        ));
        let count = (words.making.len(), words.parts.len(), words.plans.len());
        assert!(count.0 >= 4 && count.1 >= 6 && count.2 >= 4, "{count:?}");
        // The same scripts on every machine, so that what fails can be tried again.
        let rng = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
        let few = ProptestConfig {
            max_shrink_iters: 300,
            ..config(CASES)
        };
        let mut runner = TestRunner::new_with_rng(few, rng);
        let laid = Cell::new(0);
        let numbers = proptest::collection::vec(any::<u32>(), 60..200);
        let outcome = runner.run(&numbers, |numbers| {
            let text = script(&words, &mut Throws { numbers, at: 0 });
            match run(&text) {
                Ok(sound) => laid.set(laid.get() + u32::from(sound)),
                Err(broken) => prop_assert!(false, "{}\n{}", text, broken),
            }
            Ok(())
        });
        if let Err(broken) = outcome {
            panic!("{broken}");
        }
        println!("{} of {CASES} scripts were laid", laid.get());
        assert!(laid.get() > CASES / 10, "only {} were laid", laid.get());
    })
    .expect("a thread");
}
