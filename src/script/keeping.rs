//! Turns what a session defined into a recipe: a module that others can read, build and change.
//!
//! In come the inputs, the name of the plan and the names of what may be changed; out comes the text of the module. Nothing
//! is evaluated or written here.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use rhai::{Array, Dynamic, Map};

use super::LANGUAGE_VERSION;
use crate::quantity::{Length, Mass};

/// Calls that show or write something, and so belong to the session and not to the recipe.
const OF_THE_SESSION: [&str; 10] = [
    "show",
    "print",
    "debug",
    "help",
    "names",
    "undo",
    "follow",
    "quit",
    "show_lengths_in",
    "save_",
];
/// What every recipe takes, so that it serves with other units too; with what each means.
const SETTINGS: [(&str, &str); 2] = [
    ("unit", "Another unit; when left out, the plan's own."),
    (
        "joint",
        "Another joint; when left out, the plan's own, or that of the other unit.",
    ),
];
/// What opens a statement that ends with its brace.
const BLOCKS: [&str; 9] = [
    "fn", "private", "if", "for", "while", "loop", "switch", "try", "do",
];

/// What is to become a recipe.
#[derive(Debug, Clone, Default)]
pub(super) struct Wish {
    /// Its name.
    pub(super) name: String,
    /// The variable that holds the plan.
    pub(super) plan: String,
    /// The variables that may be set.
    pub(super) parameters: Vec<String>,
    /// What each means, by name.
    pub(super) meanings: Map,
    /// The first line about it.
    pub(super) about: Option<String>,
    /// Whether a recipe of that name may be replaced.
    pub(super) over: bool,
}

/// The text of the module. `usual` gives each parameter's value as the language writes it; with `constants_outside`, constants
/// stand beside the functions that read them.
pub(super) fn module(
    wish: &Wish,
    version: i64,
    inputs: &[String],
    usual: &[(String, String)],
    constants_outside: bool,
) -> String {
    let (mut beside, mut inside) = (Vec::new(), Vec::new());
    let all: Vec<String> = inputs.iter().flat_map(|input| items(input)).collect();
    for item in needed(all, wish) {
        let item = closed(item);
        match kind(&item) {
            Kind::Beside => beside.push(item),
            Kind::Constant(name) if wish.parameters.contains(&name) => {}
            Kind::Constant(_) if constants_outside => beside.push(item),
            Kind::Sets(name) if wish.parameters.contains(&name) => {}
            Kind::Constant(_) | Kind::Sets(_) | Kind::Does => inside.push(item),
            Kind::Shows => {}
        }
    }
    let about = wish.about.clone().unwrap_or_else(|| {
        let words = wish.name.replace('_', " ");
        format!("A plan of one's own: {words}.")
    });
    let mut text = format!(
        "//! {about}\n\nexport const about = #{{ version: {version}, language: {LANGUAGE_VERSION} }};\n\n\
         // What may be set, with its usual value and meaning.\nexport const parameters = #{{\n"
    );
    for (name, value) in usual {
        let meaning = wish.meanings.get(name.as_str());
        let meaning = meaning
            .and_then(|meaning| meaning.clone().into_string().ok())
            .unwrap_or_else(|| format!("The plan's {}.", name.replace('_', " ")));
        let _ = writeln!(
            text,
            "    {name}: #{{ usual: {value}, meaning: {} }},",
            quoted(&meaning)
        );
    }
    let settings: Vec<&(&str, &str)> = SETTINGS
        .iter()
        .filter(|(name, _)| !wish.parameters.iter().any(|own| own == name))
        .collect();
    for (name, meaning) in &settings {
        let _ = writeln!(
            text,
            "    {name}: #{{ usual: (), meaning: \"{meaning}\" }},"
        );
    }
    text.push_str("};\n");
    if !beside.is_empty() {
        text.push('\n');
    }
    for item in beside {
        text.push_str(&item);
        text.push('\n');
    }
    text.push_str(
        "\n/// The plan for some options; what is left out takes its usual value.\nfn build(options) {\n    \
         let o = settings(options, global::parameters);\n",
    );
    for (name, _) in usual {
        let _ = writeln!(text, "    let {name} = o.{name};");
    }
    for item in inside {
        for line in item.lines() {
            let _ = writeln!(text, "    {line}");
        }
    }
    let laid: Vec<String> = settings
        .iter()
        .map(|(name, _)| format!("{name}: o.{name}"))
        .collect();
    let laid = if laid.is_empty() {
        String::new()
    } else {
        format!(".laid_with(#{{ {} }})", laid.join(", "))
    };
    let _ = writeln!(text, "    {}{laid}\n}}", wish.plan);
    text
}

/// A value as the language writes it; none for values that have no writing of their own.
pub(super) fn literal(value: &Dynamic) -> Option<String> {
    if let Some(length) = value.read_lock::<Length>() {
        return Some(format!("{}.mm", millimetres(length.nm())));
    }
    if let Some(mass) = value.read_lock::<Mass>() {
        return Some(format!("{}.kg", mass.kg()));
    }
    if let Some(items) = value.read_lock::<Array>() {
        let items: Option<Vec<String>> = items.iter().map(literal).collect();
        return Some(format!("[{}]", items?.join(", ")));
    }
    if let Some(map) = value.read_lock::<Map>() {
        let entries: Option<Vec<String>> = map
            .iter()
            .map(|(key, value)| Some(format!("{}: {}", key_of(key), literal(value)?)))
            .collect();
        return Some(format!("#{{ {} }}", entries?.join(", ")));
    }
    if let Ok(text) = value.clone().into_string() {
        return Some(quoted(&text));
    }
    if let Ok(whole) = value.as_int() {
        return Some(whole.to_string());
    }
    if let Ok(number) = value.as_float() {
        return Some(format!("{number:?}"));
    }
    value.as_bool().ok().map(|flag| flag.to_string())
}

/// Exact millimetres: nanometres have six decimals of them.
fn millimetres(nm: i64) -> String {
    const NM_PER_MM: u64 = 1_000_000;
    let sign = if nm < 0 { "-" } else { "" };
    let (whole, rest) = (nm.unsigned_abs() / NM_PER_MM, nm.unsigned_abs() % NM_PER_MM);
    if rest == 0 {
        return format!("{sign}{whole}");
    }
    let decimals = format!("{rest:06}");
    format!("{sign}{whole}.{}", decimals.trim_end_matches('0'))
}

fn key_of(key: &str) -> String {
    if rhai::is_valid_identifier(key) {
        key.to_owned()
    } else {
        quoted(key)
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A statement with the semicolon that the last one of an input may lack.
fn closed(item: String) -> String {
    let last = item.lines().next_back().unwrap_or_default();
    if item.ends_with(';') || opens_block(&item) || matches!(kind(&item), Kind::Shows) {
        item
    } else if last.contains("//") {
        item + "\n;"
    } else {
        item + ";"
    }
}

/// The statements that the plan follows from: whatever else was typed in the session stays out.
fn needed(items: Vec<String>, wish: &Wish) -> Vec<String> {
    let names: Vec<Option<String>> = items.iter().map(|item| defines(item)).collect();
    let defined: BTreeSet<&str> = names.iter().flatten().map(String::as_str).collect();
    let mut wanted: BTreeSet<&str> = BTreeSet::from([wish.plan.as_str()]);
    let mut kept = vec![false; items.len()];
    loop {
        let mut more = false;
        for ((item, name), kept) in items.iter().zip(&names).zip(&mut kept) {
            let takes = match name {
                Some(name) => wanted.contains(name.as_str()),
                // Functions get copies, so only blocks, and methods of a variable, change what the plan follows from.
                None if opens_block(item) => words(item).any(|word| wanted.contains(word)),
                None => words(item).next().is_some_and(|word| wanted.contains(word)),
            };
            if *kept || !takes {
                continue;
            }
            *kept = true;
            more = true;
            // What a parameter was set to does not matter any more: its value now is the usual one.
            if !name
                .as_ref()
                .is_some_and(|name| wish.parameters.contains(name))
            {
                wanted.extend(words(item).filter(|word| defined.contains(word)));
            }
        }
        if !more {
            break;
        }
    }
    // The shell takes an import again, or a function defined anew; a module has each once, as it was last.
    let beside: Vec<bool> = items
        .iter()
        .map(|item| matches!(kind(item), Kind::Beside))
        .collect();
    let last: Vec<bool> = (0..items.len())
        .map(|at| {
            let mut later = names.iter().zip(&beside).skip(at + 1);
            let again = later.any(|(name, beside)| *beside && Some(name) == names.get(at));
            !(again && beside.get(at) == Some(&true))
        })
        .collect();
    let kept = items.into_iter().zip(kept).zip(last);
    kept.filter_map(|((item, kept), last)| (kept && last).then_some(item))
        .collect()
}

/// The words of the code, without those in quotes.
fn words(item: &str) -> impl Iterator<Item = &str> {
    item.split('"')
        .step_by(2)
        .flat_map(|code| code.split(|c: char| !c.is_alphanumeric() && c != '_'))
        .filter(|word| !word.is_empty())
}

/// The name that a statement defines or sets.
fn defines(item: &str) -> Option<String> {
    match kind(item) {
        Kind::Constant(name) | Kind::Sets(name) => Some(name),
        Kind::Beside => {
            let code = without_comments(item);
            let after = if code.starts_with("import") {
                "as"
            } else {
                "fn"
            };
            let mut words = words(code).skip_while(|word| *word != after);
            words.nth(1).map(str::to_owned)
        }
        Kind::Does | Kind::Shows => None,
    }
}

/// What a statement is for.
enum Kind {
    /// A function or an import.
    Beside,
    /// Defines a constant of this name.
    Constant(String),
    /// Defines or sets a variable of this name.
    Sets(String),
    /// Does something else that later statements may need.
    Does,
    /// Only shows or writes something.
    Shows,
}

fn kind(item: &str) -> Kind {
    let code = without_comments(item);
    let word: String = code
        .chars()
        .take_while(|c| c.is_alphanumeric() || *c == '_')
        .collect();
    let rest = code.get(word.len()..).unwrap_or_default().trim_start();
    let name = || -> String {
        rest.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    match word.as_str() {
        "" => Kind::Shows,
        "fn" | "private" | "import" => Kind::Beside,
        "const" => Kind::Constant(name()),
        "let" => Kind::Sets(name()),
        _ if BLOCKS.contains(&word.as_str()) => Kind::Does,
        _ if OF_THE_SESSION
            .iter()
            .any(|call| word == *call || call.ends_with('_') && word.starts_with(call)) =>
        {
            Kind::Shows
        }
        _ if rest.starts_with('=') && !rest.starts_with("==") => Kind::Sets(word),
        _ if rest.get(1..2) == Some("=") && rest.starts_with(['+', '-', '*', '/']) => {
            Kind::Sets(word)
        }
        // A last expression without a semicolon is the input's value.
        _ if !code.trim_end().ends_with(';') => Kind::Shows,
        _ => Kind::Does,
    }
}

pub(super) fn without_comments(item: &str) -> &str {
    let mut rest = item.trim_start();
    loop {
        let after = if rest.starts_with("//") {
            rest.split_once('\n').map_or("", |(_, after)| after)
        } else if rest.starts_with("/*") {
            rest.split_once("*/").map_or("", |(_, after)| after)
        } else {
            return rest;
        };
        rest = after.trim_start();
    }
}

/// The statements and functions of a text, each with the comments before it.
pub(super) fn items(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    let (mut items, mut item) = (Vec::new(), String::new());
    let (mut depth, mut at) = (0_usize, 0);
    let mut take = |item: &mut String| {
        let whole = std::mem::take(item).trim().to_owned();
        if !whole.is_empty() {
            items.push(whole);
        }
    };
    while let Some(&c) = letters.get(at) {
        let skipped = literal_length(letters.get(at..).unwrap_or_default());
        if skipped > 0 {
            item.extend(letters.iter().skip(at).take(skipped));
            at += skipped;
            continue;
        }
        item.push(c);
        at += 1;
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => {
                depth = depth.saturating_sub(1);
                let ends = c == '}' && depth == 0 && opens_block(&item);
                if ends && !goes_on(letters.get(at..).unwrap_or_default()) {
                    take(&mut item);
                }
            }
            ';' if depth == 0 => take(&mut item),
            _ => {}
        }
    }
    take(&mut item);
    items
}

/// How many letters the text, letter or comment takes that starts here; none where there is none.
fn literal_length(rest: &[char]) -> usize {
    let until = |end: &[char], escapes: bool| {
        let mut at = 1;
        while at < rest.len() {
            if escapes && rest.get(at) == Some(&'\\') {
                at += 2;
            } else if rest.get(at..).is_some_and(|rest| rest.starts_with(end)) {
                return at + end.len();
            } else {
                at += 1;
            }
        }
        rest.len()
    };
    match rest {
        ['"', ..] => until(&['"'], true),
        ['\'', ..] => until(&['\''], true),
        ['`', ..] => until(&['`'], false),
        ['/', '/', ..] => until(&['\n'], false),
        ['/', '*', ..] => until(&['*', '/'], false),
        _ => 0,
    }
}

pub(super) fn opens_block(item: &str) -> bool {
    let code = without_comments(item);
    let word = code.split(|c: char| !c.is_alphanumeric()).next();
    word.is_some_and(|word| BLOCKS.contains(&word))
}

/// Whether a statement goes on after its brace: with `else`, `catch`, or the condition of a `do`.
fn goes_on(rest: &[char]) -> bool {
    let next: String = rest
        .iter()
        .skip_while(|c| c.is_whitespace())
        .take_while(|c| c.is_alphabetic())
        .collect();
    matches!(next.as_str(), "else" | "catch" | "until")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_taken_apart_into_its_statements() {
        let text = "let a = \"x;y\"; // why; not\nfn f(n) { let b = n; b } if a == 1 { 2 } else { 3 }\nlet m = #{ a: 1, b: || { 2; } };\n/* ; */ a += `{`; p";
        assert_eq!(
            items(text),
            [
                "let a = \"x;y\";",
                "// why; not\nfn f(n) { let b = n; b }",
                "if a == 1 { 2 } else { 3 }",
                "let m = #{ a: 1, b: || { 2; } };",
                "/* ; */ a += `{`;",
                "p",
            ]
        );
    }

    #[test]
    fn only_what_the_plan_follows_from_is_kept() {
        let wish = Wish {
            plan: "p".to_owned(),
            parameters: vec!["n".to_owned()],
            ..Wish::default()
        };
        let text = "import \"a\" as a; import \"b\" as b; fn f() { a::x() } fn g() { 1 } let n = 3; let m = 2; let k = 5;\nlet p = f(); for i in 0..m { p = p.place(i, n); } show(p); k";
        assert_eq!(
            needed(items(text), &wish).join("|"),
            "import \"a\" as a;|fn f() { a::x() }|let n = 3;|let m = 2;|let p = f();|for i in 0..m { p = p.place(i, n); }"
        );
    }

    #[test]
    fn values_are_written_as_the_language_reads_them() {
        for (value, says) in [
            (Dynamic::from(Length::mm(10)), "10.mm"),
            (Dynamic::from(Length::from_nm(102_500_000)), "102.5.mm"),
            (Dynamic::from(Length::from_nm(-396_875)), "-0.396875.mm"),
            (Dynamic::from(3_i64), "3"),
            (Dynamic::from(2.0_f64), "2.0"),
            (Dynamic::from("a \"b\"".to_owned()), "\"a \\\"b\\\"\""),
            (
                Dynamic::from(vec![Dynamic::from(4_i64), true.into()]),
                "[4, true]",
            ),
        ] {
            assert_eq!(literal(&value).as_deref(), Some(says));
        }
        assert_eq!(literal(&Dynamic::UNIT), None);
    }
}
