//! The program as it is called: exit codes, what goes to which stream, and what the example scripts print.
//!
//! `PERPEND_BLESS=1` rewrites `tests/golden/`; read the difference afterwards.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // A helper that cannot go on fails the test.

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value as Json;

const FINE: i32 = 0;
const PLAN_STOPS: i32 = 1;
const WRONG: i32 = 2;
const FILE_TROUBLE: i32 = 3;

/// A plan whose review finds what must be changed: a door with nothing over it.
const STOPS: &str = r#"
let box = chamber(#{ outside: [4, 3], courses: 9 })
    .door(#{ name: "door", side: "front", width: 2, courses: [2, 6] });
plan("stand", #{ unit: "uk" }).place("box", box)
"#;

/// What a call did.
struct Done {
    code: i32,
    out: String,
    err: String,
}

impl Done {
    fn json(&self) -> Json {
        let read = serde_json::from_str::<Json>(&self.out);
        read.unwrap_or_else(|error| panic!("{error}: {}", self.out))
    }

    fn schema(&self) -> String {
        self.json()["schema"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }
}

fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Calls the program in the repository, away from the user's own recipes and history.
fn call(arguments: &[&str], input: &[u8]) -> Done {
    let mut child = Command::new(env!("CARGO_BIN_EXE_perpend"))
        .args(arguments)
        .current_dir(repository())
        .env("HOME", "nowhere")
        .env("LC_ALL", "C.UTF-8")
        .env_remove("XDG_DATA_HOME")
        .env_remove("XDG_STATE_HOME")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A call that refuses its arguments does not read.
    let _ = child.stdin.take().unwrap().write_all(input);
    let done = child.wait_with_output().unwrap();
    Done {
        code: done.status.code().unwrap_or(-1),
        out: String::from_utf8(done.stdout).unwrap(),
        err: String::from_utf8(done.stderr).unwrap(),
    }
}

fn perpend(arguments: &[&str]) -> Done {
    call(arguments, b"")
}

/// A folder of its own for a test, removed afterwards.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("perpend-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> String {
        let path = self.0.join(name);
        std::fs::write(&path, bytes).unwrap();
        path.to_str().unwrap().to_owned()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// The lines that differ, the first few of them.
fn line_diff(expected: &str, is: &str) -> String {
    let (expected, is): (Vec<&str>, Vec<&str>) = (expected.lines().collect(), is.lines().collect());
    let mut told = String::new();
    let mut count = 0;
    for at in 0..expected.len().max(is.len()) {
        let (a, b) = (expected.get(at), is.get(at));
        if a == b {
            continue;
        }
        count += 1;
        if count <= 20 {
            let _ = writeln!(told, "line {}", at + 1);
            for (sign, line) in [("-", a), ("+", b)] {
                if let Some(line) = line {
                    let _ = writeln!(told, "  {sign} {line}");
                }
            }
        }
    }
    let _ = write!(told, "{count} lines differ");
    told
}

/// What differs from the golden file of that name; rewrites it when blessing.
fn golden(name: &str, is: &str) -> Option<String> {
    let path = repository().join("tests/golden").join(name);
    if std::env::var_os("PERPEND_BLESS").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, is).unwrap();
        return None;
    }
    let expected = std::fs::read_to_string(&path).unwrap_or_default();
    (expected != is).then(|| format!("{name}\n{}", line_diff(&expected, is)))
}

#[test]
fn the_example_scripts_print_what_they_did_before() {
    let mut wrong = Vec::new();
    for script in [
        "lakeside_cabinet",
        "garden_wall_with_piers",
        "herb_beds",
        "lined_firebox",
        "fire_bowl",
        "oven_plinth_for_the_hall",
        "kiln_base_for_the_club",
    ] {
        let file = format!("scripts/{script}.rhai");
        for (what, arguments) in [
            ("run", vec!["run", &file]),
            ("review", vec!["review", &file]),
            ("lay", vec!["lay", &file, "--format", "text"]),
        ] {
            let done = perpend(&arguments);
            assert_eq!((done.code, done.err.as_str()), (FINE, ""), "{arguments:?}");
            wrong.extend(golden(&format!("{script}.{what}.txt"), &done.out));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn the_recipes_are_listed_as_before() {
    let mut wrong = Vec::new();
    for (name, arguments) in [
        ("recipes.txt", vec!["recipes"]),
        ("recipes.raised_bed.txt", vec!["recipes", "raised_bed"]),
    ] {
        let done = perpend(&arguments);
        assert_eq!((done.code, done.err.as_str()), (FINE, ""), "{arguments:?}");
        wrong.extend(golden(name, &done.out));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn a_line_diff_names_the_lines_and_nothing_else() {
    assert_eq!(
        line_diff("a\nb\nc", "a\nx\nc\nd"),
        "line 2\n  - b\n  + x\nline 4\n  + d\n2 lines differ"
    );
}

#[test]
fn every_kind_of_end_has_its_exit_code() {
    let folder = Folder::new("codes");
    let stops = folder.file("stops.rhai", STOPS);
    let number = folder.file("number.rhai", "3");
    let empty = folder.file("empty.rhai", "");
    let broken = folder.file("broken.rhai", "let = 3;");
    let latin = folder.file("latin.rhai", b"// caf\xe9\n3");
    let missing = folder.0.join("missing.rhai");
    let (missing, directory) = (missing.to_str().unwrap(), folder.0.to_str().unwrap());
    let cases: &[(&[&str], i32, &str)] = &[
        (&["run", &stops], FINE, ""),
        (&["lay", &stops], FINE, ""),
        (&["review", &stops], PLAN_STOPS, ""),
        (&["review", &stops, "--format", "json"], PLAN_STOPS, ""),
        (&["run", &number], FINE, ""),
        (&["run", &empty], FINE, ""),
        (&["review", &number], WRONG, "not-a-plan"),
        (&["lay", &empty], WRONG, ""),
        (&["lay", &empty, "--format", "text"], WRONG, "not-a-plan"),
        (&["run", &broken], WRONG, "error[syntax]"),
        (&["frobnicate"], WRONG, "unrecognized"),
        (&["run"], WRONG, "required"),
        (
            &["run", &number, "--format", "xml"],
            WRONG,
            "possible values",
        ),
        (
            &["recipes", "curing_cabinett"],
            WRONG,
            "did you mean `curing_cabinet`?",
        ),
        (&["run", missing], FILE_TROUBLE, "there is no such file"),
        (&["run", directory], FILE_TROUBLE, "it is a folder"),
        (&["run", &latin], FILE_TROUBLE, "it is not UTF-8 text"),
        (&["review", missing], FILE_TROUBLE, "there is no such file"),
        (
            &["lay", directory, "--format", "text"],
            FILE_TROUBLE,
            "it is a folder",
        ),
    ];
    for (arguments, code, said) in cases {
        let done = perpend(arguments);
        assert_eq!(done.code, *code, "{arguments:?}: {}{}", done.out, done.err);
        assert!(done.err.contains(said), "{arguments:?}: {}", done.err);
        assert!(
            !done.err.contains("os error"),
            "{arguments:?}: {}",
            done.err
        );
        // What went wrong is not also a result.
        if *code >= WRONG && !said.is_empty() {
            assert_eq!(done.out, "", "{arguments:?}");
        }
    }
}

#[test]
fn a_plan_that_cannot_be_laid_is_refused_by_every_command() {
    let script = b"
let weeping = chamber(#{ outside: [4, 3], courses: 8 })
    .vent(#{ name: \"weep\", side: \"right\", course: 3, width: 80.mm });
plan(\"stand\", #{ unit: \"uk\" }).place(\"a\", weeping)
    .duct(#{ name: \"flue\", from: \"a\", side: \"right\", diameter: 100.mm, course: 3 })
";
    for command in ["run", "lay", "review"] {
        let done = call(&[command, "-", "--format", "text"], script);
        assert_eq!((done.code, done.out.as_str()), (WRONG, ""), "{command}");
        assert!(
            done.err.contains("\"flue\" runs into \"weep\""),
            "{}",
            done.err
        );
        let document = call(&[command, "-", "--format", "json"], script);
        assert_eq!(document.code, WRONG, "{command}");
        assert_eq!(document.schema(), "perpend.diagnostics/1", "{command}");
    }
}

#[test]
fn a_stop_names_the_door_and_how_to_carry_it() {
    let done = call(&["review", "-"], STOPS.as_bytes());
    assert_eq!(done.code, PLAN_STOPS);
    let first = done.out.lines().find(|line| line.starts_with("stop"));
    assert!(
        first.is_some_and(|line| line.contains("door")),
        "{}",
        done.out
    );
    assert!(done.out.contains("remedy"), "{}", done.out);
}

#[test]
fn documents_for_programs_parse_and_say_what_they_are() {
    let script = "scripts/lakeside_cabinet.rhai";
    for (arguments, schema) in [
        (vec!["run", script], "perpend.takeoff/1"),
        (vec!["lay", script], "perpend.laid/1"),
        (vec!["review", script], "perpend.review/1"),
        (vec!["recipes"], "perpend.recipes/1"),
        (vec!["recipes", "garden_wall"], "perpend.recipes/1"),
        (vec!["recipes", "gardenwall"], "perpend.diagnostics/1"),
        (vec!["run", "nowhere.rhai"], "perpend.diagnostics/1"),
        (vec!["review", "nowhere.rhai"], "perpend.diagnostics/1"),
    ] {
        let arguments = [arguments, vec!["--format", "json"]].concat();
        let done = perpend(&arguments);
        assert_eq!(done.schema(), schema, "{arguments:?}: {}", done.out);
    }
}

#[test]
fn every_failing_script_is_one_document_too() {
    for script in ["let = 3", "chamber(#{ outsied: 3 })", "3 + 2.mm", "loop {}"] {
        for command in ["run", "lay", "review"] {
            let arguments = [
                command,
                "-",
                "--format",
                "json",
                "--limit",
                "operations=10_000",
            ];
            let done = call(&arguments, script.as_bytes());
            assert_eq!((done.code, done.err.as_str()), (WRONG, ""), "{script}");
            let document = done.json();
            assert_eq!(document["schema"], "perpend.diagnostics/1", "{script}");
            let first = &document["diagnostics"][0];
            assert!(
                first["message"].as_str().is_some_and(|m| !m.is_empty()),
                "{script}"
            );
            assert!(first["primary"]["line"].is_u64(), "{script}: {document}");
        }
    }
}

#[test]
fn what_a_script_shows_stays_out_of_its_document() {
    let script = format!("show(\"on the way\"); print(\"there\");{STOPS}");
    for (command, schema) in [
        ("run", "perpend.takeoff/1"),
        ("lay", "perpend.laid/1"),
        ("review", "perpend.review/1"),
    ] {
        let done = call(&[command, "-", "--format", "json"], script.as_bytes());
        assert_eq!(done.schema(), schema, "{command}: {}", done.out);
        // `run` tells it beside the document, the others tell only the document.
        assert_eq!(
            done.err.contains("on the way"),
            command == "run",
            "{command}"
        );
    }
    let done = call(&["run", "-"], script.as_bytes());
    assert!(done.out.starts_with("on the way\nthere\n"), "{}", done.out);
    assert_eq!(done.err, "");
}

#[test]
fn values_of_every_kind_go_to_programs() {
    let script =
        r#"[1, 1.5, "text", true, (), 215.mm, 1.m * 1.m, 2.kg, 20.degC, 2.h, #{ a: 1.ft }, |x| x]"#;
    let done = call(&["run", "-", "--format", "json"], script.as_bytes());
    assert_eq!(done.code, FINE, "{}", done.out);
    let value = done.json()["value"].clone();
    let expected = serde_json::json!([
        1, 1.5, "text", true, null, "215 mm", 1.0, 2.0, 20.0, 7200.0, { "a": "304.8 mm" }, null
    ]);
    assert_eq!(value, expected);
}

#[test]
fn the_laid_document_agrees_with_the_takeoff() {
    let script = "scripts/lakeside_cabinet.rhai";
    let laid = perpend(&["lay", script]).json();
    let takeoff = perpend(&["run", script, "--format", "json"]).json();
    let pieces = laid["pieces"].as_array().unwrap().len() as u64;
    let units = &takeoff["units"];
    let number = |key: &str| units[key].as_u64().unwrap();
    assert_eq!(pieces, number("laid"));
    assert_eq!(number("laid"), number("whole") + number("cut"));
    assert_eq!(number("net"), number("whole") + number("cut_up"));
    assert_eq!(number("to_buy"), number("net") + number("waste"));
    let joints: f64 = takeoff["mortar"]["joints_litre"]
        .as_object()
        .unwrap()
        .values()
        .filter_map(Json::as_f64)
        .sum();
    let beds = takeoff["mortar"]["lid_beds_litre"].as_f64().unwrap();
    let net = takeoff["mortar"]["net_litre"].as_f64().unwrap();
    assert!(
        (joints + beds - net).abs() < 1e-6,
        "{joints} + {beds} is not {net}"
    );
}

#[test]
fn a_script_is_read_from_a_pipe() {
    let fit = call(&[], b"fit(\"uk\", 10.mm, 600.mm, \"opening\")\n");
    assert_eq!((fit.code, fit.err.as_str()), (FINE, ""));
    assert!(fit.out.contains("572.5 mm"), "{}", fit.out);
    let whole = call(&["run", "-"], b"let a = 2;\n\na * 215.mm");
    assert_eq!(
        (whole.code, whole.out.as_str()),
        (FINE, "430 mm (about 1' 4 15/16\")\n")
    );
    // Inputs build on each other, and one that fails does not stop those after it.
    let inputs = call(&[], b"let a = 2;\nnothing_like_it\na + 1\n");
    assert_eq!((inputs.code, inputs.out.as_str()), (WRONG, "3\n"));
    assert!(inputs.err.contains("nothing_like_it"), "{}", inputs.err);
    for nothing in [&b""[..], b"\n\n", b"// only a remark\n"] {
        let done = call(&[], nothing);
        assert_eq!(
            (done.code, done.out.as_str(), done.err.as_str()),
            (FINE, "", "")
        );
    }
}

#[test]
fn broken_text_in_a_pipe_is_said_not_swallowed() {
    let whole = call(&["run", "-"], b"caf\xe9");
    assert_eq!(whole.code, FILE_TROUBLE);
    assert!(whole.err.contains("UTF-8"), "{}", whole.err);
    let inputs = call(&[], b"caf\xe9\n1 + 1\n");
    assert_eq!((inputs.code, inputs.out.as_str()), (WRONG, "2\n"));
    assert!(inputs.err.starts_with("error["), "{}", inputs.err);
}

#[test]
fn limits_are_set_and_wrong_ones_are_refused() {
    let busy = b"let n = 0; for i in 0..2000 { n += i; } n";
    assert_eq!(call(&["run", "-"], busy).out, "1999000\n");
    let low = call(&["run", "-", "--limit", "operations=1_000"], busy);
    assert_eq!(low.code, WRONG);
    assert!(low.err.contains("--limit operations=10_000"), "{}", low.err);
    for (limit, said) in [
        ("operatons=5", "did you mean `operations`?"),
        ("operations=many", "whole number"),
        ("operations", "--limit operations="),
        ("operations=-1", "whole number"),
    ] {
        let done = call(&["run", "-", "--limit", limit], busy);
        assert_eq!((done.code, done.out.as_str()), (WRONG, ""), "{limit}");
        assert!(done.err.contains(said), "{limit}: {}", done.err);
        assert!(!done.err.trim_end().ends_with('='), "{limit}: {}", done.err);
    }
}

#[test]
fn a_folder_of_own_recipes_comes_before_the_built_in_ones() {
    let folder = Folder::new("recipes");
    folder.file(
        "step.rhai",
        "export const parameters = #{ courses: #{ usual: 2, meaning: \"Courses of the step.\" } };\n\
         fn build(options) { settings(options, global::parameters).courses }\n",
    );
    let recipes = folder.0.to_str().unwrap();
    let listed = perpend(&["recipes", "step", "--recipes", recipes]);
    assert_eq!(listed.code, FINE, "{}", listed.err);
    assert!(
        listed.out.contains("Courses of the step."),
        "{}",
        listed.out
    );
    let built = call(
        &["run", "-", "--recipes", recipes],
        b"import \"step\" as step; step::build(#{ courses: 5 })",
    );
    assert_eq!(built.out, "5\n", "{}", built.err);
    let all = perpend(&["recipes", "--recipes", recipes, "--format", "json"]).json();
    let names: Vec<&str> = all["recipes"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|recipe| recipe["name"].as_str())
        .collect();
    assert!(names.is_sorted(), "{names:?}");
    for name in ["curing_cabinet", "garden_wall", "raised_bed", "step"] {
        assert!(names.contains(&name), "{name}: {names:?}");
    }
}

#[test]
fn help_lists_every_command_and_nothing_is_coloured_in_a_pipe() {
    let help = perpend(&["--help"]);
    assert_eq!((help.code, help.err.as_str()), (FINE, ""));
    for command in ["run", "lay", "review", "recipes"] {
        let listed = help
            .out
            .lines()
            .any(|line| line.trim_start().starts_with(&format!("{command} ")));
        assert!(listed, "{command}: {}", help.out);
        let own = perpend(&[command, "--help"]);
        assert_eq!(own.code, FINE, "{command}");
        assert!(own.out.contains("--format"), "{command}: {}", own.out);
    }
    assert!(perpend(&["--version"]).out.starts_with("perpend "));
    for (arguments, input) in [
        (vec!["run", "scripts/lakeside_cabinet.rhai"], &b""[..]),
        (vec!["review", "scripts/lakeside_cabinet.rhai"], b""),
        (vec!["run", "-"], b"let = 3"),
        (vec![], b"help()\n1 + 1\nnothing_like_it\n"),
        (vec!["frobnicate"], b""),
    ] {
        let done = call(&arguments, input);
        let escaped = [&done.out, &done.err]
            .iter()
            .any(|text| text.contains('\u{1b}'));
        assert!(!escaped, "{arguments:?}: {}{}", done.out, done.err);
    }
}

#[test]
fn other_encodings_get_plain_letters_and_programs_get_all_of_them() {
    let script = b"let p = plan(\"caf\xc3\xa9\", #{ unit: \"uk\" }).place(\"w\", wall(#{ length: 3, courses: 2 }));\np";
    let with = |arguments: &[&str]| {
        let mut child = Command::new(env!("CARGO_BIN_EXE_perpend"))
            .args(arguments)
            .env("LC_ALL", "de_DE.ISO-8859-1")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program");
        let mut input = child.stdin.take().expect("a pipe");
        input.write_all(script).expect("written");
        drop(input);
        child.wait_with_output().expect("its output").stdout
    };
    let text = String::from_utf8(with(&["run", "-"])).expect("text");
    assert!(text.is_ascii(), "{text}");
    assert!(text.contains("UK 215 x 102.5 x 65 mm"), "{text}");
    let json = String::from_utf8(with(&["lay", "-"])).expect("text");
    assert!(json.contains("caf\u{e9}"), "{json}");
}

#[test]
fn variants_are_compared_in_one_line() {
    let done = call(
        &[
            "compare",
            "raised_bed",
            "--vary",
            "unit=uk_block,uk",
            "--vary",
            "courses=2..4",
            "--show",
            "units,height,inside(\"bed\").volume",
            "--most",
            "inside(\"bed\").volume",
            "--sort",
            "height",
        ],
        b"",
    );
    assert_eq!((done.code, done.err.as_str()), (FINE, ""));
    let rows: Vec<Vec<&str>> = done
        .out
        .lines()
        .skip(3)
        .map(|line| line.split_whitespace().collect())
        .collect();
    // Courses of UK bricks rise 75 mm, of blocks 225 mm.
    let heights: Vec<&str> = rows[..6].iter().map(|row| row[4]).collect();
    assert_eq!(
        heights,
        ["150", "225", "300", "450", "675", "900"],
        "{}",
        done.out
    );
}

#[test]
fn comparisons_go_to_other_programs_in_two_forms() {
    let ask = |format: &str| {
        call(
            &[
                "compare",
                "scripts/lakeside_cabinet.rhai",
                "--vary",
                "joint=8.mm..12.mm:2.mm",
                "--show",
                "units,mortar",
                "--format",
                format,
            ],
            b"",
        )
    };
    let (json, csv) = (ask("json"), ask("csv"));
    assert_eq!(json.schema(), "perpend.comparison/1");
    let rows = json.json()["rows"].as_array().unwrap().clone();
    let mut lines = csv.out.lines();
    assert_eq!(
        lines.next(),
        Some("row,joint_mm,units,mortar_litre,cannot_be_built")
    );
    for (row, line) in rows.iter().zip(lines) {
        let cells: Vec<&str> = line.split(',').collect();
        assert_eq!(row["varied"]["joint_mm"].as_f64(), cells[1].parse().ok());
        assert_eq!(row["figures"]["units"].as_f64(), cells[2].parse().ok());
        assert_eq!(
            row["figures"]["mortar_litre"].as_f64(),
            cells[3].parse().ok()
        );
    }
    assert_eq!(rows.len(), 3);
}

#[test]
fn what_is_wrong_with_a_comparison_points_into_what_was_asked() {
    let expect = |arguments: &[&str], wanted: &str| {
        let done = call(&[&["compare"], arguments].concat(), b"");
        assert_eq!((done.code, done.out.as_str()), (WRONG, ""), "{arguments:?}");
        assert_eq!(done.err.trim_end(), wanted);
    };
    expect(
        &[
            "raised_bed",
            "--vary",
            "courses=2..4",
            "--vary",
            "cuorses=1,2",
        ],
        "error[unknown-option]: `cuorses` cannot be varied
 --> --vary:2:1
  |
2 | cuorses=1,2
  | ^^^^^^^
  |
  = did you mean `courses`?  Options: courses, joint, outside, soil, unit, weep, weeps",
    );
    expect(
        &["raised_bed", "--vary", "joint=8.mm..ten"],
        "error[unreadable-range]: the upper end of `8.mm..ten` is a text, and no number or length
 --> --vary:1:7
  |
1 | joint=8.mm..ten
  |       ^^^^^^^^^
  |
  = write courses=4..8, courses=4..12:2 or joint=8.mm..12.mm:1.mm: both ends are tried",
    );
    expect(
        &["raised_bed", "--vary", "courses=2.."],
        "error[unreadable-range]: `2..` has no upper end
 --> --vary:1:9
  |
1 | courses=2..
  |         ^^^
  |
  = write both ends, such as courses=2..6: both are tried",
    );
    expect(
        &["raised_bed", "--vary", "=4,5"],
        "error[unreadable-option]: nothing is named before the `=`
 --> --vary:1:1
  |
1 | =4,5
  | ^^^^
  |
  = write what to vary and its values: joint=8.mm,10.mm or courses=4..8",
    );
    expect(
        &["scripts/lakeside_cabinet.rhai", "--vary", "courses=4,5"],
        "error[unknown-option]: `courses` cannot be varied
 --> --vary:1:1
  |
1 | courses=4,5
  | ^^^^^^^
  |
  = Options: unit, joint, bed, bond
  = to vary anything else, hand over a recipe or a function that makes the plan",
    );
    expect(
        &["raised_bed", "--vary", "courses=1,2", "--sort", "hight"],
        "error[unknown-word]: there is no column \"hight\"
  = did you mean \"height\"?  Columns: courses, units, cuts, mortar, height",
    );
    expect(
        &["rased_bed", "--vary", "courses=1,2"],
        "error[unknown-module]: there is no module \"rased_bed\"
  = did you mean \"raised_bed\"?",
    );
}

#[test]
fn a_recipe_is_built_with_options_saved_and_reviewed() {
    let folder = Folder::new("build");
    let out = folder.0.to_str().unwrap();
    let done = perpend(&[
        "build",
        "raised_bed",
        "--set",
        "courses=3",
        "--set",
        "outside=[2.7.m, 1.35 m]",
        "--save",
        "bed.json",
        "--out",
        out,
    ]);
    assert_eq!(done.code, 0, "{}", done.err);
    for part in [
        "plan \"raised bed\"",
        "2690 mm × 1340 mm × 675 mm",
        "TAKEOFF  raised bed",
        "REVIEW  ",
    ] {
        assert!(done.out.contains(part), "{part}: {}", done.out);
    }
    let saved = folder.0.join("bed.json");
    assert_eq!(perpend(&["review", saved.to_str().unwrap()]).code, 0);
    let wrong = perpend(&["build", "raised_bed", "--set", "cources=3"]);
    assert_eq!(wrong.code, 2);
    for part in [
        "--> --set:1:1\n",
        "1 | cources=3\n",
        "did you mean `courses`?",
    ] {
        assert!(wrong.err.contains(part), "{part}: {}", wrong.err);
    }
    let told = perpend(&[
        "build",
        "raised_bed",
        "--set",
        "courses=many",
        "--format",
        "json",
    ]);
    assert_eq!(told.code, 2);
    assert_eq!(told.json()["schema"], "perpend.diagnostics/1");
    let document = perpend(&["build", "garden_wall", "--format", "json"]);
    assert_eq!(document.json()["schema"], "perpend.build/1");
    assert_eq!(
        perpend(&["build", "raised_bed", "--save", "../bed.json", "--out", out]).code,
        3
    );
    assert_eq!(perpend(&["build", "no_such_bed"]).code, 2);
}
