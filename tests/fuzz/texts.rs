//! Texts made up by chance: quantities, calls by their declarations, saved plans and scripts with something changed.

use std::fmt::Write;
use std::path::Path;

use perpend::script::{CallKind, Declaration, Parameter, Want, builtin::BUILTIN};
use serde_json::{Value as Json, json};

use super::dice::Dice;

const NUMBERS: [&str; 26] = [
    "0",
    "1",
    "2",
    "3",
    "4",
    "7",
    "12",
    "100",
    "0.5",
    "1.5",
    "-1",
    "-0.25",
    "1e3",
    "1e308",
    "1e-308",
    "999999999",
    "9223372036854775807",
    "9223372036854775808",
    "1_000",
    "3-1/2",
    "1/0",
    "1/64",
    "00012",
    ".5",
    "5.",
    "1e999",
];
const UNITS: [&str; 22] = [
    "mm", "cm", "m", "inch", "in", "ft", "yd", "'", "\"", "m2", "ft2", "m3", "litre", "kg", "lb",
    "g", "Pa", "kPa", "degC", "h", "minute", "kg_m3",
];
const ODD: [&str; 18] = [
    " ", "  ", "-", "/", "+", ".", ",", "é", "½", "–", "\u{0}", "\u{202e}", "𝟜", "٣", "e", "_",
    "\n", "″",
];

fn word(dice: &mut Dice, words: &[&'static str]) -> &'static str {
    let chosen: &&'static str = dice.of(words);
    chosen
}

pub(crate) fn quantity(dice: &mut Dice) -> String {
    let mut text = String::new();
    for _ in 0..=dice.below(6) {
        text.push_str(match dice.below(8) {
            0..=2 => word(dice, &NUMBERS),
            3..=5 => word(dice, &UNITS),
            _ => word(dice, &ODD),
        });
        if dice.once_in(3) {
            text.push(' ');
        }
    }
    if dice.once_in(200) {
        text = text.repeat(1 + dice.below(300));
    }
    text
}

/// Values for the examples: a part and a plan that calls may be made on.
const BEFORE: &str = "let box = chamber(#{ outside: [4, 3], courses: 6 });
let p = plan(\"p\", #{ unit: \"uk\" }).place(\"box\", box).place(\"far\", wall(#{ length: 4, courses: 3 }), #{ at: [3.m, 0.mm] });
";

/// What a call may be made on, by the kind of the value.
fn receiver(of: &str) -> &'static str {
    match of {
        "Part" => "box",
        "Plan" => "p",
        "Length" => "215.mm",
        "Area" => "2.m2",
        "Volume" => "3.litre",
        "Mass" => "25.kg",
        "Density" => "1800.kg_m3",
        "Pressure" => "5.Pa",
        "Temperature" => "110.degC",
        "Duration" => "2.h",
        "number" => "7",
        "list" => "[3, 1, 2]",
        "Table" => "p.gauge()",
        "Takeoff" => "p.takeoff()",
        "Review" => "p.review()",
        "Space" => "p.inside(\"box\")",
        "Unit" => "unit(\"uk\")",
        "Picture" => "p.elevation(\"front\")",
        _ => "#{ a: 1 }",
    }
}

/// A call with arguments and options that mostly, but not always, suit its declaration.
pub(crate) fn call(dice: &mut Dice, declaration: &Declaration) -> String {
    format!("{BEFORE}{}", bare_call(dice, declaration))
}

fn bare_call(dice: &mut Dice, declaration: &Declaration) -> String {
    // What ends the session, or waits for the user, is tried elsewhere.
    let name = match declaration.name {
        "quit" | "follow" => "names",
        name => name,
    };
    let mut text = match declaration.kind {
        CallKind::Function => name.to_owned(),
        CallKind::Method { of } | CallKind::Property { of } => {
            let of = if dice.once_in(40) { "Plan" } else { of };
            format!("{}.{name}", receiver(of))
        }
    };
    if matches!(declaration.kind, CallKind::Property { .. }) {
        return text;
    }
    let mut arguments: Vec<String> = Vec::new();
    for parameter in declaration.positional {
        if parameter.required || dice.once_in(2) {
            arguments.push(wanted(dice, &parameter.wants, 0));
        }
    }
    if dice.once_in(15) {
        arguments.push(anything(dice, 0));
    }
    if dice.once_in(15) {
        arguments.pop();
    }
    if !declaration.options.is_empty() {
        arguments.push(map(dice, declaration.options, 0));
    }
    let _ = write!(text, "({})", arguments.join(", "));
    text
}

fn map(dice: &mut Dice, entries: &[Parameter], depth: usize) -> String {
    let mut pairs: Vec<String> = Vec::new();
    for entry in entries {
        // The needed ones nearly always; so many others that they get in each other's way.
        let take = if entry.required {
            !dice.once_in(20)
        } else {
            dice.once_in(4)
        };
        if take {
            let mut name = entry.name.to_owned();
            if dice.once_in(40) {
                name.remove(0);
                name.push('x');
            }
            pairs.push(format!("{name}: {}", wanted(dice, &entry.wants, depth + 1)));
        }
    }
    format!("#{{ {} }}", pairs.join(", "))
}

/// A value of the kind that is wanted, mostly.
fn wanted(dice: &mut Dice, wants: &Want, depth: usize) -> String {
    if depth > 4 || dice.once_in(12) {
        return anything(dice, depth);
    }
    match wants {
        Want::Length => length(dice),
        Want::Area => "1.5.m2".to_owned(),
        Want::Volume => "20.litre".to_owned(),
        Want::Mass => (*dice.of(&["25.kg", "0.kg", "-1.kg", "80.lb", "1e300.kg"])).to_owned(),
        Want::Density => "1800.kg_m3".to_owned(),
        Want::Pressure => "5.Pa".to_owned(),
        Want::Temperature => "110.degC".to_owned(),
        Want::Duration => "2.h".to_owned(),
        Want::Number | Want::NumberFrom(..) => number(dice),
        Want::WholeNumber | Want::WholeFrom(..) => whole(dice),
        Want::Text => (*dice.of(&["\"box\"", "\"door\"", "\"\"", "\"left\"", "\"é\""])).to_owned(),
        Want::Name(_) => (*dice.of(&[
            "\"box\"",
            "\"far\"",
            "\"uk\"",
            "\"nf\"",
            "\"flemish\"",
            "\"1:1:6\"",
            "\"x\"",
        ]))
        .to_owned(),
        Want::Flag => (*dice.of(&["true", "false"])).to_owned(),
        Want::Word(words) => format!("\"{}\"", dice.of(words)),
        Want::Size => {
            if dice.once_in(2) {
                length(dice)
            } else {
                number(dice)
            }
        }
        Want::Pair(inner) => list(dice, inner, 2, depth),
        Want::Triple(inner) => list(dice, inner, 3, depth),
        Want::List(inner) => {
            let items = dice.below(4);
            list(dice, inner, items, depth)
        }
        Want::Map | Want::Anything => anything(dice, depth),
        Want::Entries(entries) => map(dice, entries, depth),
        Want::Function => "|x| x".to_owned(),
        Want::Value(name) => receiver(name).to_owned(),
        Want::AnyOf(wants) => {
            let wants = dice.of(wants);
            wanted(dice, wants, depth)
        }
    }
}

fn list(dice: &mut Dice, inner: &Want, items: usize, depth: usize) -> String {
    let items = if dice.once_in(25) { items + 1 } else { items };
    let items: Vec<String> = (0..items).map(|_| wanted(dice, inner, depth + 1)).collect();
    format!("[{}]", items.join(", "))
}

fn length(dice: &mut Dice) -> String {
    (*dice.of(&[
        "0.mm", "1.mm", "3.mm", "10.mm", "12.5.mm", "50.mm", "80.mm", "102.5.mm", "120.mm",
        "150.mm", "215.mm", "300.mm", "450.mm", "600.mm", "1.m", "1.2.m", "2.5.m", "7.inch",
        "2.ft", "-10.mm", "1e9.m", "9000.m", "(1/3).mm", "1e-6.mm",
    ]))
    .to_owned()
}

fn number(dice: &mut Dice) -> String {
    (*dice.of(&[
        "0",
        "0.5",
        "1",
        "1.5",
        "2",
        "2.5",
        "3",
        "4",
        "5",
        "8",
        "12",
        "0.25",
        "-1",
        "90",
        "360",
        "1e300",
        "0.0/0.0",
        "9223372036854775807",
    ]))
    .to_owned()
}

fn whole(dice: &mut Dice) -> String {
    (*dice.of(&[
        "0",
        "1",
        "2",
        "3",
        "4",
        "5",
        "6",
        "7",
        "9",
        "12",
        "20",
        "-1",
        "2000",
        "4294967296",
        "9223372036854775807",
        "2.0",
    ]))
    .to_owned()
}

fn anything(dice: &mut Dice, depth: usize) -> String {
    match dice.below(if depth > 4 { 6 } else { 10 }) {
        0 => number(dice),
        1 => length(dice),
        2 => "()".to_owned(),
        3 => "\"stretcher\"".to_owned(),
        4 => "'c'".to_owned(),
        5 => "true".to_owned(),
        6 => {
            let (one, other) = (anything(dice, depth + 1), anything(dice, depth + 1));
            format!("[{one}, {other}]")
        }
        7 => {
            let keys = [
                "kind", "usual", "meaning", "courses", "every", "joint", "unit", "a",
            ];
            let (key, other) = (dice.below(keys.len()), dice.below(keys.len()));
            let value = anything(dice, depth + 1);
            let second = anything(dice, depth + 1);
            if key == other {
                format!("#{{ {}: {value} }}", keys[key])
            } else {
                format!("#{{ {}: {value}, {}: {second} }}", keys[key], keys[other])
            }
        }
        8 => (*dice.of(&["box", "p", "p.review()", "p.takeoff()", "unit(\"uk\")"])).to_owned(),
        _ => "|x| x".to_owned(),
    }
}

/// Several statements, some of which use what others define.
pub(crate) fn statements(dice: &mut Dice, declared: &[&'static Declaration]) -> String {
    let mut text = BEFORE.to_owned();
    for _ in 0..=dice.below(5) {
        let declaration = dice.of(declared);
        let call = bare_call(dice, declaration);
        let line = match dice.below(9) {
            0 => format!("p = p.place(\"new\", {call});\n"),
            1 => format!("box = {call};\n"),
            2 => format!("for i in 0..3 {{ show({call}); }}\n"),
            3 => format!(
                "if {call} == {} {{ p }} else {{ box }}\n",
                anything(dice, 0)
            ),
            4 => format!("fn f(n) {{ {call} }}\nshow([1, 2].map(|x| f(x)));\n"),
            5 => format!("try {{ {call} }} catch (e) {{ show(e.message); throw e; }}\n"),
            6 => format!("let x = {call}; x += {};\n", anything(dice, 0)),
            7 => format!("show(`a ${{{call}}} b`);\n"),
            _ => format!("show({call});\n"),
        };
        text.push_str(&line);
    }
    text
}

/// The scripts that come with the program, and those of its pages and suites.
pub(crate) fn scripts() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found: Vec<String> = Vec::new();
    let mut files: Vec<_> = std::fs::read_dir(root.join("scripts"))
        .expect("scripts")
        .map(|entry| entry.expect("a script").path())
        .filter(|path| path.extension().is_some_and(|kind| kind == "rhai"))
        .collect();
    files.sort();
    found.extend(
        files
            .iter()
            .map(|file| std::fs::read_to_string(file).expect("a script")),
    );
    found.extend(BUILTIN.iter().map(|(_, text)| (*text).to_owned()));
    found.extend(
        BUILTIN
            .iter()
            .map(|(name, _)| format!("import \"{name}\" as recipe; recipe::build(#{{}})")),
    );
    for page in [
        "README.md",
        "DEVELOPERS.md",
        "tests/suite/plans.md",
        "tests/suite/errors.md",
        "stdlib/help/start.md",
    ] {
        let text = std::fs::read_to_string(root.join(page)).unwrap_or_default();
        let blocks = text.split("```rhai\n").skip(1);
        found.extend(blocks.filter_map(|block| Some(block.split("\n```").next()?.to_owned())));
    }
    found
}

/// A text in its words, numbers and marks, blanks with what goes before them.
pub(crate) fn pieces(text: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let mut of_word = false;
    for c in text.chars() {
        let is_word = c.is_alphanumeric() || c == '_';
        match found.last_mut() {
            Some(last) if c.is_whitespace() || is_word && of_word => last.push(c),
            _ => found.push(c.to_string()),
        }
        of_word = is_word;
    }
    found
}

/// One of several texts with pieces left out, doubled, exchanged, or taken from another.
pub(crate) fn shuffled(dice: &mut Dice, texts: &[Vec<String>]) -> String {
    let mut text = dice.of(texts).clone();
    for _ in 0..=dice.below(4) {
        if text.is_empty() {
            break;
        }
        let at = dice.below(text.len());
        match dice.below(5) {
            0 => {
                text.remove(at);
            }
            1 => {
                let piece = text[at].clone();
                text.insert(at, piece);
            }
            2 => {
                let other = dice.below(text.len());
                text.swap(at, other);
            }
            3 => {
                let other = dice.of(texts);
                if !other.is_empty() {
                    text[at].clone_from(dice.of(other));
                }
            }
            _ => {
                text[at] = match dice.below(3) {
                    0 => number(dice),
                    1 => length(dice),
                    _ => anything(dice, 3),
                };
            }
        }
    }
    text.concat()
}

/// One of several texts with letters changed, left out or repeated.
pub(crate) fn damaged(dice: &mut Dice, texts: &[String]) -> String {
    let mut letters: Vec<char> = dice.of(texts).chars().collect();
    for _ in 0..=dice.below(4) {
        if letters.is_empty() {
            break;
        }
        let at = dice.below(letters.len());
        match dice.below(4) {
            0 => letters[at] = char::from(dice.below(128) as u8),
            1 => {
                let end = (at + 1 + dice.below(20)).min(letters.len());
                letters.drain(at..end);
            }
            2 => {
                let end = (at + 1 + dice.below(20)).min(letters.len());
                let again: Vec<char> = letters[at..end].to_vec();
                letters.splice(at..at, again);
            }
            _ => letters.splice(at..at, dice.of(&ODD).chars()).for_each(drop),
        }
    }
    letters.into_iter().collect()
}

/// Changes one value somewhere in a document.
pub(crate) fn change_json(dice: &mut Dice, document: &mut Json) {
    let inner = match document {
        Json::Array(items) if !items.is_empty() && !dice.once_in(12) => {
            let at = dice.below(items.len());
            items.get_mut(at)
        }
        Json::Object(entries) if !entries.is_empty() && !dice.once_in(12) => {
            let at = dice.below(entries.len());
            entries.values_mut().nth(at)
        }
        _ => None,
    };
    if let Some(inner) = inner {
        return change_json(dice, inner);
    }
    *document = match document {
        Json::Number(_) => {
            let numbers = [
                0.0,
                1.0,
                -1.0,
                0.5,
                2.0,
                3.0,
                17.0,
                1e6,
                1e300,
                4_294_967_296.0,
                0.1,
            ];
            let number: f64 = *dice.of(&numbers);
            if number.fract() == 0.0 && number.abs() < 1e15 {
                json!(number as i64)
            } else {
                json!(number)
            }
        }
        Json::String(_) => {
            let texts = [
                "",
                "0 mm",
                "215 mm",
                "1 m",
                "-5 mm",
                "1e9 m",
                "1/3 mm",
                "stretcher",
                "flemish",
                "box",
                "front",
                "left",
                "uk",
                "10 mm",
                "102.5 mm",
            ];
            json!(dice.of(&texts))
        }
        Json::Array(items) => match dice.below(3) {
            0 => json!([]),
            1 => {
                let doubled: Vec<Json> = items.iter().chain(items.iter()).cloned().collect();
                json!(doubled)
            }
            _ => json!({}),
        },
        Json::Object(entries) => {
            let mut kept = entries.clone();
            let name = entries.keys().nth(dice.below(entries.len())).cloned();
            if let Some(name) = name {
                kept.shift_remove(&name);
            }
            Json::Object(kept)
        }
        Json::Bool(flag) => json!(!*flag),
        Json::Null => (*dice.of(&[json!(1), json!("1 m"), json!(true), json!([1, 2])])).clone(),
    };
}
