//! Runs the script blocks of `tests/suite/`: each `rhai` block is followed by a `text` block with
//! everything it prints, shows and reports. `PERPEND_BLESS=1` rewrites the `text` blocks; read the
//! difference afterwards.

use std::fmt::Write;
use std::path::Path;
use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::quantity::Length;
use perpend::script::{
    CallKind, Declaration, Fault, Group, Limits, Parameter, Registry, Session, Size, Want, domain,
    errors,
};
use perpend::shell::run_on_large_stack;

/// A part that stands in for those of the domain: the suite tests the machinery.
#[derive(Clone)]
struct Trough {
    courses: i64,
    vents: Vec<Length>,
}

const SIDES: &[&str] = &["front", "back", "left", "right"];

static TROUGH: Declaration = Declaration {
    name: "trough",
    group: Group::Parts,
    summary: "A trough of brickwork.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::required(
            "outside",
            Want::Pair(&Want::Size),
            "The outside, across and back.",
        ),
        Parameter::required("courses", Want::WholeFrom(1, 60), "The number of courses."),
        Parameter::optional(
            "thickness",
            Want::Number,
            "0.5",
            "The thickness of the walls in units.",
        ),
        Parameter::optional(
            "sides",
            Want::List(&Want::Word(SIDES)),
            "all",
            "The sides that are built.",
        ),
    ],
    returns: "A trough.",
    examples: &[],
    errors: &[errors::these(&[errors::ErrorNote {
        code: "no-size",
        when: "It has no width.",
    }])],
    see_also: &[],
};

static VENT: Declaration = Declaration {
    name: "vent",
    group: Group::Parts,
    summary: "Leaves a vent in one side.",
    kind: CallKind::Method { of: "Trough" },
    positional: &[Parameter::required(
        "side",
        Want::Word(SIDES),
        "The side it is in.",
    )],
    options: &[
        Parameter::required("width", Want::Length, "Its width."),
        Parameter::optional("count", Want::WholeFrom(1, 10), "1", "How many of them."),
    ],
    returns: "A trough.",
    examples: &[],
    errors: &[],
    see_also: &[],
};

static COURSES: Declaration = Declaration {
    name: "courses",
    group: Group::Parts,
    summary: "The number of courses.",
    kind: CallKind::Property { of: "Trough" },
    positional: &[],
    options: &[],
    returns: "A whole number.",
    examples: &[],
    errors: &[],
    see_also: &[],
};

fn declare(registry: &mut Registry) {
    registry.value_type("Trough", "a trough", |trough: &Trough| {
        format!(
            "trough\n  courses  {}\n  vents    {}",
            trough.courses,
            trough.vents.len()
        )
    });
    registry.function(&TROUGH, |call| {
        let [across, _] = call.sizes("outside")?;
        if across == Size::Count(0.0) {
            return Err(Fault::new("no-size", "a trough needs a width")
                .about("outside")
                .element(0));
        }
        Ok(Trough {
            courses: call.whole("courses")?,
            vents: Vec::new(),
        })
    });
    registry.method(&VENT, |call, mut trough: Trough| {
        let count = call.opt_whole("count", 1..=10)?.unwrap_or(1);
        for _ in 0..count {
            trough.vents.push(call.length("width")?);
        }
        Ok(trough)
    });
    registry.property(&COURSES, |trough: &Trough| Ok(trough.courses));
}

fn world() -> MemoryOutside {
    MemoryOutside::new()
        .with_script(
            "sizes.rhai",
            "export const DEPTH = 3.ft;\nfn double(n) { n * 2 }\nfn bad(n) { n + 1 }\n",
        )
        .with_script("a.rhai", "import \"b\" as b;\nfn x() { 1 }\n")
        .with_script("b.rhai", "import \"a\" as a;\nfn y() { 2 }\n")
        .with_script("broken.rhai", "fn f() {\n  let = 3;\n}\n")
}

fn limits() -> Limits {
    Limits {
        operations: 20_000,
        array: 500,
        string: 5_000,
        map: 100,
        ..Limits::default()
    }
}

/// What the scripts of a file are written in.
#[derive(Clone, Copy)]
enum Language {
    /// The quantities and the stand-in part: whatever the trade's words become, the machinery stays tested.
    Trough,
    /// What a user has.
    Whole,
}

impl Language {
    fn of(file: &Path) -> Self {
        match file.file_stem().and_then(std::ffi::OsStr::to_str) {
            Some("plans" | "pictures" | "ducts") => Self::Whole,
            _ => Self::Trough,
        }
    }
}

/// What a script prints, shows and reports, and errors that no declaration tells of.
fn transcript(script: &str, language: Language) -> (String, Vec<String>) {
    let outside = Rc::new(world());
    let mut session = match language {
        Language::Trough => Session::with(outside.clone(), limits(), declare),
        Language::Whole => domain::open(outside.clone(), limits()),
    };
    let outcome = session.run("script.rhai", script);
    let vocabulary = session.vocabulary();
    let mut untold = Vec::new();
    for diagnostic in &outcome.diagnostics {
        let told = diagnostic.refused_by.is_none_or(|name| {
            let declared = vocabulary.named(name);
            let by_it = |code: &str| {
                let declared = declared.iter().flat_map(|declaration| declaration.errors());
                declared.into_iter().any(|note| note.code == code)
            };
            // Operators and what is refused altogether have no declaration.
            declared.is_empty() || errors::is_general(&diagnostic.code) || by_it(&diagnostic.code)
        });
        if !told {
            untold.push(format!(
                "`{}` does not say that it may end with `{}`:\n{script}",
                diagnostic.refused_by.unwrap_or_default(),
                diagnostic.code
            ));
        }
    }
    let mut lines = outside.printed();
    lines.extend(outcome.shown.clone());
    lines.extend(
        outcome
            .diagnostics
            .iter()
            .map(|d| d.render(session.sources())),
    );
    (lines.join("\n"), untold)
}

/// Runs one file; gives the file as it should be, what differs, and errors that no declaration tells of.
fn run_file(text: &str, language: Language) -> (String, Vec<String>, Vec<String>) {
    let (mut right, mut wrong, mut untold) = (String::new(), Vec::new(), Vec::new());
    let mut lines = text.lines().peekable();
    let mut result = None;
    while let Some(line) = lines.next() {
        let _ = writeln!(right, "{line}");
        if line != "```rhai" && line != "```text" {
            continue;
        }
        let block: Vec<&str> = lines.by_ref().take_while(|line| *line != "```").collect();
        let block = block.join("\n");
        if line == "```rhai" {
            let _ = writeln!(right, "{block}\n```");
            let (now, here) = transcript(&block, language);
            untold.extend(here);
            result = Some((block.clone(), now));
        } else {
            let (script, now) = result.take().unwrap_or_default();
            if now != block {
                wrong.push(format!(
                    "script:\n{script}\nexpected:\n{block}\nis:\n{now}\n"
                ));
            }
            let _ = writeln!(right, "{now}\n```");
        }
    }
    (right, wrong, untold)
}

#[test]
fn every_script_block_gives_what_stands_below_it() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/suite");
    let bless = std::env::var_os("PERPEND_BLESS").is_some();
    let (mut wrong, mut missing) = (Vec::new(), Vec::new());
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    files.retain(|path| path.extension().is_some_and(|extension| extension == "md"));
    files.sort();
    for file in &files {
        let text = std::fs::read_to_string(file).unwrap();
        let (right, differences, untold) =
            run_on_large_stack(|| run_file(&text, Language::of(file))).unwrap();
        missing.extend(untold);
        if bless {
            std::fs::write(file, right).unwrap();
        } else {
            wrong.extend(differences);
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n---\n"));
    assert!(wrong.is_empty(), "{}", wrong.join("\n---\n"));
}
