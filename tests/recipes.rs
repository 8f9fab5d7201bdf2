//! The built-in recipes and building blocks: against figures worked by hand, with every unit, drawn, saved and read again.
#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::plan::Plan;
use perpend::review::Severity;
use perpend::script::builtin::BUILTIN;
use perpend::script::domain::PlanValue;
use perpend::script::{Limits, Outcome, domain};
use rhai::{Dynamic, Map};

/// Steps and time for sweeps over all units; our own choice.
fn limits() -> Limits {
    Limits {
        operations: 100_000_000,
        wall_clock: std::time::Duration::from_mins(10),
        ..Limits::default()
    }
}

/// Runs a script in a fresh session and hands its outcome on, with its diagnostics as text.
fn run<T: Send>(script: &str, look: impl FnOnce(&Outcome, &str) -> T + Send) -> T {
    perpend::shell::run_on_large_stack(|| {
        let mut session = domain::open(Rc::new(MemoryOutside::new()), limits());
        let outcome = session.run("recipes.rhai", script);
        let told = session.render(&outcome);
        look(&outcome, &told)
    })
    .expect("a thread")
}

/// What a script prints.
fn printed(script: &str) -> Vec<String> {
    perpend::shell::run_on_large_stack(|| {
        let outside = Rc::new(MemoryOutside::new());
        let mut session = domain::open(outside.clone(), limits());
        let outcome = session.run("recipes.rhai", script);
        assert!(!outcome.failed(), "{script}\n{}", session.render(&outcome));
        outside.printed()
    })
    .expect("a thread")
}

/// The value of a script that runs, as lines of text.
fn lines(script: &str) -> Vec<String> {
    run(script, |outcome, told| {
        assert!(!outcome.failed(), "{script}\n{told}");
        let value = outcome.value.clone().unwrap_or_default();
        let list = value.into_typed_array::<Dynamic>().expect("a list");
        list.iter().map(ToString::to_string).collect()
    })
}

fn with_plan<T: Send>(recipe: &str, options: &str, look: impl FnOnce(&PlanValue) -> T + Send) -> T {
    let script = format!("import \"{recipe}\" as recipe; recipe::build({options})");
    run(&script, |outcome, told| {
        assert!(!outcome.failed(), "{recipe} {options}\n{told}");
        let value = outcome.value.clone().unwrap_or_default();
        let plan = value.try_cast::<PlanValue>().expect("a plan");
        look(&plan)
    })
}

fn names(has: &str) -> Vec<&'static str> {
    BUILTIN
        .iter()
        .filter(|(_, text)| text.contains(has))
        .map(|(name, _)| *name)
        .collect()
}

/// Those that make a plan.
fn recipes() -> Vec<&'static str> {
    names("\nfn build(options) {")
}

/// Those that add to a part or a plan.
fn blocks() -> Vec<&'static str> {
    names("\nfn add(")
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// What differs from a golden file; rewrites it when blessing.
fn golden(name: &str, is: &str) -> Option<String> {
    let path = root().join("tests/golden").join(name);
    if std::env::var_os("PERPEND_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        std::fs::write(&path, is).expect("written");
        return None;
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    (expected != is).then(|| format!("{name}\nexpected:\n{expected}\nis:\n{is}"))
}

#[test]
fn the_library_has_its_recipes_and_blocks_and_no_file_is_left_out() {
    assert!(recipes().len() >= 16, "{:?}", recipes());
    assert_eq!(blocks(), ["door", "lid", "rack_pair", "vent_row"]);
    assert_eq!(recipes().len() + blocks().len(), BUILTIN.len());
    let folder = std::fs::read_dir(Path::new(&root()).join("stdlib/recipes")).expect("a folder");
    let files: BTreeSet<String> = folder
        .map(|entry| entry.expect("an entry").path())
        .filter_map(|path| Some(path.file_stem()?.to_str()?.to_owned()))
        .collect();
    let listed: BTreeSet<String> = BUILTIN.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(files, listed);
    assert!(BUILTIN.is_sorted_by_key(|(name, _)| *name));
}

#[test]
fn every_module_says_what_it_is_what_may_be_set_and_what_to_mind() {
    for (name, text) in BUILTIN {
        assert!(text.starts_with("//! "), "{name}");
        let script = format!("import \"{name}\" as m; [m::about, m::parameters]");
        run(&script, |outcome, told| {
            assert!(!outcome.failed(), "{name}: {told}");
            let value = outcome.value.clone().unwrap_or_default();
            let maps = value.into_typed_array::<Map>().expect("two maps");
            let (about, parameters) = (&maps[0], &maps[1]);
            for key in ["version", "language"] {
                let number = about.get(key).and_then(|value| value.as_int().ok());
                assert!(number.is_some_and(|number| number >= 1), "{name}: {key}");
            }
            let drawing = about["drawing"].clone().into_string().expect("a text");
            assert!(drawing.ends_with('.'), "{name}: {drawing}");
            let cautions = about["cautions"].clone();
            let cautions = cautions.into_typed_array::<String>().expect("texts");
            assert!(!cautions.is_empty(), "{name}");
            for (key, parameter) in parameters {
                let parameter = parameter.clone().cast::<Map>();
                assert!(parameter.contains_key("usual"), "{name}: {key}");
                let meaning = parameter["meaning"].clone().into_string().expect("a text");
                assert!(meaning.ends_with('.'), "{name}: {key}: {meaning}");
                for other in parameter.keys() {
                    let known = ["usual", "meaning", "least", "most", "words", "kind", "none"];
                    assert!(known.contains(&other.as_str()), "{name}: {key}: {other}");
                }
            }
            if recipes().contains(name) {
                assert!(parameters.contains_key("unit"), "{name}");
                assert!(parameters.contains_key("joint"), "{name}");
            }
        });
        // Nothing here approves what is built.
        let words: BTreeSet<String> = text
            .split(|c: char| !c.is_alphanumeric())
            .map(str::to_lowercase)
            .collect();
        for word in ["safe", "safely", "approved", "compliant"] {
            assert!(!words.contains(word), "{name} says {word}");
        }
    }
}

/// Findings that call for a decision at the usual values and are right to.
const DECISIONS: &[(&str, &[&str])] = &[
    // Headers that carry a rack tip until the course above holds them, in any cabinet.
    ("cooking_bench", &["header-tips-green"]),
    ("curing_cabinet", &["header-tips-green"]),
    ("single_chamber_cabinet", &["header-tips-green"]),
    // These slabs are cast in place.
    ("kiln_base", &["lid-heavy"]),
    ("oven_plinth", &["lid-heavy"]),
    // Two courses of narrow blocks hold back soil only with what the finding asks for.
    ("raised_bed", &["soil-pushes"]),
    // Brick treads lie open to rain and frost.
    ("steps", &["top-uncovered"]),
];

#[test]
fn at_usual_values_nothing_stops_the_work_and_every_limit_is_kept() {
    for recipe in recipes() {
        with_plan(recipe, "#{}", |plan| {
            let laid = plan.laid().expect("laid");
            assert!(laid.breaches.is_empty(), "{recipe}: {:?}", laid.breaches);
            let review = plan.review().expect("reviewed");
            assert_eq!(review.count(Severity::Stop), 0, "{recipe}");
            let warned: BTreeSet<&str> = review
                .findings
                .iter()
                .filter(|finding| finding.severity == Severity::Warn)
                .map(|finding| finding.code)
                .collect();
            let expected: BTreeSet<&str> = DECISIONS
                .iter()
                .filter(|(name, _)| *name == recipe)
                .flat_map(|(_, codes)| codes.iter().copied())
                .collect();
            assert_eq!(warned, expected, "{recipe}");
        });
    }
}

#[test]
fn what_a_recipe_warns_of_reaches_its_review_and_its_takeoff() {
    for recipe in recipes() {
        let script = format!(
            "import \"{recipe}\" as recipe;\n\
             let said = recipe::build(#{{}}).review().cautions.map(|c| c.text);\n\
             recipe::about.cautions.filter(|text| !said.contains(text))"
        );
        assert_eq!(lines(&script), Vec::<String>::new(), "{recipe}");
        with_plan(recipe, "#{}", |plan| {
            let (laid, takeoff) = (plan.laid().expect("laid"), plan.takeoff().expect("taken"));
            let text = perpend::sheet::takeoff_text(&laid, &takeoff);
            assert!(text.contains("To mind"), "{recipe}");
        });
    }
}

#[test]
fn a_saved_recipe_reads_as_it_was() {
    for recipe in recipes() {
        with_plan(recipe, "#{}", |plan| {
            let text = plan.plan.to_saved().expect("saved").to_string();
            let read = Plan::from_saved(&text).unwrap_or_else(|error| panic!("{recipe}: {error}"));
            assert_eq!(read, *plan.plan, "{recipe}");
        });
    }
}

/// A table row of the page: what is asked as a script, the sum, the figure.
struct Row {
    recipe: String,
    options: String,
    asked: String,
    worked: String,
    figure: f64,
}

fn rows() -> Vec<Row> {
    let page = std::fs::read_to_string(root().join("tests/recipes.md")).expect("the page");
    let (mut recipe, mut options) = (String::new(), String::new());
    let mut found = Vec::new();
    for line in page.lines() {
        if let Some(name) = line.strip_prefix("## ") {
            name.clone_into(&mut recipe);
        } else if let Some((written, _)) = line.strip_prefix('`').and_then(|l| l.split_once('`')) {
            written.clone_into(&mut options);
        } else if line.starts_with("| ") && line.contains('`') {
            let cells: Vec<&str> = line.split('|').map(str::trim).collect();
            found.push(Row {
                recipe: recipe.clone(),
                options: options.clone(),
                asked: cells[2].trim_matches('`').to_owned(),
                worked: cells[3].replace('×', "*").replace('−', "-"),
                figure: cells[4].parse().expect("a figure"),
            });
        }
    }
    found
}

#[test]
fn sizes_and_counts_come_out_as_worked_by_hand() {
    /// The page has three places, the laid work whole nanometres and gauges rounded to them.
    const NEAR: f64 = 0.001;
    const HELP: &str = "fn laid(p, part) { let n = 0; for c in 1..=p.courses(part) { n += p.pieces(part, c).rows.len(); } n }\n\
         fn figure(value) { if type_of(value) == \"i64\" || type_of(value) == \"f64\" { value } else { value.in_mm() } }\n";
    let mut plans: BTreeMap<(String, String), Vec<Row>> = BTreeMap::new();
    for row in rows() {
        let key = (row.recipe.clone(), row.options.clone());
        plans.entry(key).or_default().push(row);
    }
    for recipe in recipes() {
        let worked = plans.keys().filter(|(name, _)| name == recipe).count();
        assert!(worked >= 2, "{recipe} is worked with {worked} settings");
    }
    let mut wrong = Vec::new();
    for ((recipe, options), rows) in &plans {
        let asked: Vec<String> = rows
            .iter()
            .map(|row| format!("figure({})", row.asked))
            .collect();
        let sums: Vec<&str> = rows.iter().map(|row| row.worked.as_str()).collect();
        let script = format!(
            "import \"{recipe}\" as recipe;\n{HELP}let p = recipe::build({options});\n[{}, {}]",
            asked.join(", "),
            sums.join(", ")
        );
        let values: Vec<f64> = lines(&script)
            .iter()
            .map(|value| value.parse().expect("a number"))
            .collect();
        for (at, row) in rows.iter().enumerate() {
            let (is, sum) = (values[at], values[at + rows.len()]);
            if (is - row.figure).abs() > NEAR || (sum - row.figure).abs() > NEAR {
                wrong.push(format!(
                    "{recipe} {options} {}: is {is}, the sum {sum}, the page {}",
                    row.asked, row.figure
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Builds a recipe with every unit, with its own joint and one of 12 mm; every `step`th plan is laid as well.
/// Gives how many build, and why the others do not, each with how often.
fn with_every_unit(recipe: &str, step: usize) -> String {
    let script = format!(
        "import \"{recipe}\" as recipe;\n\
         let told = [];\n\
         let at = 0;\n\
         for row in units().rows {{\n\
             for options in [#{{ unit: row.name }}, #{{ unit: row.name, joint: 12.mm }}] {{\n\
                 at += 1;\n\
                 try {{\n\
                     let p = recipe::build(options);\n\
                     if at % {step} == 0 {{ p.units(); }}\n\
                     told.push(\"\");\n\
                 }} catch(error) {{\n\
                     told.push(`${{row.name}}: ${{error}}`);\n\
                 }}\n\
             }}\n\
         }}\n\
         told"
    );
    let told = lines(&script);
    let refused: Vec<&String> = told.iter().filter(|line| !line.is_empty()).collect();
    let mut reasons: BTreeMap<String, BTreeSet<&str>> = BTreeMap::new();
    for line in &refused {
        let (unit, reason) = line.split_once(": ").expect("a reason");
        // The same reason with other figures is one reason.
        let alike: String = reason
            .split_whitespace()
            .map(|word| {
                if word
                    .trim_start_matches('-')
                    .starts_with(|c: char| c.is_ascii_digit())
                {
                    "…"
                } else {
                    word
                }
            })
            .collect::<Vec<_>>()
            .join(" ");
        reasons.entry(alike).or_default().insert(unit);
    }
    let mut out = format!(
        "{recipe}: {} of {} build\n",
        told.len() - refused.len(),
        told.len()
    );
    for (reason, units) in reasons {
        let units: Vec<&str> = units.into_iter().collect();
        let _ = writeln!(out, "  {reason}\n      {}", units.join(", "));
    }
    out
}

#[test]
fn every_unit_builds_or_is_refused_with_a_reason() {
    /// Laying all of them takes minutes.
    const LAID: usize = 7;
    let recipes = recipes();
    let (one, other) = recipes.split_at(recipes.len() / 2);
    let table = std::thread::scope(|scope| {
        let half = |names: Vec<&'static str>| {
            scope.spawn(move || {
                let parts = names.into_iter().map(|name| with_every_unit(name, LAID));
                parts.collect::<String>()
            })
        };
        let (one, other) = (half(one.to_vec()), half(other.to_vec()));
        let join = |half: std::thread::ScopedJoinHandle<'_, String>| half.join().expect("a half");
        format!("{}{}", join(one), join(other))
    });
    let wrong = golden("recipes/units.txt", &table);
    assert!(wrong.is_none(), "{}", wrong.unwrap_or_default());
}

#[test]
fn elevations_and_first_courses_are_drawn_as_before() {
    let mut wrong = Vec::new();
    for recipe in recipes() {
        let script = format!(
            "import \"{recipe}\" as recipe;\n\
             let p = recipe::build(#{{}});\n\
             show(p.elevation(\"front\", #{{ columns: 100 }}));\n\
             show(p.course_plan(1, #{{ columns: 100 }}));"
        );
        let drawn = printed(&script).join("\n\n");
        wrong.extend(golden(&format!("recipes/{recipe}.txt"), &(drawn + "\n")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn blocks_add_what_the_words_they_stand_for_add() {
    let box_of = "let box = chamber(#{ outside: [4, 4], courses: 12 });\n";
    let same = [
        (
            "door",
            "door::add(box, #{ name: \"d\", over: \"steel\", bar: 8.mm, courses: [2, 4] })",
            "box.door(#{ name: \"d\", side: \"front\", width: 2, courses: [2, 4], lintel: #{ kind: \"steel\", bar: 8.mm } })",
        ),
        (
            "door",
            "door::add(box, #{ over: \"nothing\", courses: [8, 12], leaf: false, side: \"back\" })",
            "box.opening(#{ name: \"door\", side: \"back\", width: 2, courses: [8, 12] })",
        ),
        (
            "vent_row",
            "vent_row::add(box, #{ name: \"air\", sides: [\"left\", \"right\"], course: 3 })",
            "box.vent(#{ name: \"air left\", side: \"left\", course: 3, count: 2, width: 60.mm }).vent(#{ name: \"air right\", side: \"right\", course: 3, count: 2, width: 60.mm })",
        ),
        (
            "rack_pair",
            "rack_pair::add(box, #{ courses: [4, 8] })",
            "box.ledge(#{ course: 4, sides: [\"left\", \"right\"] }).ledge(#{ course: 8, sides: [\"left\", \"right\"] })",
        ),
    ];
    for (block, by_block, by_words) in same {
        let placed =
            |part: &str| format!("plan(\"p\", #{{ unit: \"nf\" }}).place(\"box\", {part})");
        let script =
            |part: &str| format!("import \"{block}\" as {block};\n{box_of}{}", placed(part));
        let plan = |script: String| {
            run(&script, |outcome, told| {
                assert!(!outcome.failed(), "{script}\n{told}");
                let value = outcome.value.clone().unwrap_or_default();
                let plan = value.try_cast::<PlanValue>().expect("a plan");
                plan.plan.to_saved().expect("saved").to_string()
            })
        };
        assert_eq!(plan(script(by_block)), plan(script(by_words)), "{by_block}");
    }
    // 990 × 990 × 60 mm of concrete, 2400 kg/m³, are 141.1 kg: seven pieces of up to 23 kg, four of up to 40.
    for (options, pieces) in [("", "7"), (", lift: 40.kg", "4"), (", pieces: 3", "3")] {
        let script = format!(
            "import \"lid\" as lid;\n{box_of}\
             let p = plan(\"p\", #{{ unit: \"nf\" }}).place(\"box\", box);\n\
             lid::add(p, #{{ part: \"box\"{options} }})"
        );
        run(&script, |outcome, told| {
            assert!(!outcome.failed(), "{told}");
            let value = outcome.value.clone().unwrap_or_default();
            let plan = value.try_cast::<PlanValue>().expect("a plan");
            assert_eq!(plan.plan.lids[0].pieces.to_string(), pieces, "{options}");
            assert_eq!(plan.plan.cautions.len(), 1);
        });
    }
}

#[test]
fn a_value_out_of_bounds_is_refused_where_it_stands() {
    for recipe in recipes() {
        let script = format!("import \"{recipe}\" as recipe;\nrecipe::build(#{{ joint: 90.mm }})");
        run(&script, |outcome, told| {
            assert!(outcome.failed(), "{recipe}");
            assert!(told.contains("out-of-range"), "{recipe}: {told}");
            assert!(told.contains("recipe::build(#{ joint: 90.mm })"), "{told}");
            assert!(told.contains("2:25"), "{recipe}: {told}");
        });
    }
}
