//! The reference of the language: nothing is registered that it does not tell, and its forms hold all of it.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{CallKind, Limits, Session, domain, errors, reference};

fn with_session<T: Send>(work: impl FnOnce(&mut Session) -> T + Send) -> T {
    perpend::shell::run_on_large_stack(|| {
        let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
        work(&mut session)
    })
    .expect("a thread")
}

#[test]
fn nothing_is_registered_without_a_declaration() {
    let without = with_session(|session| session.undeclared());
    assert!(without.is_empty(), "no declaration: {}", without.join(", "));
}

#[test]
fn every_form_tells_of_every_declaration() {
    with_session(|session| {
        let vocabulary = session.vocabulary();
        let text = reference::text(&vocabulary, None, 100);
        let markdown = reference::markdown(&vocabulary, None);
        let json = reference::json(&vocabulary, None);
        let definitions = reference::definitions(&vocabulary);
        let entries = json.as_array().expect("a list");
        assert_eq!(entries.len(), vocabulary.declarations().len());
        for declaration in vocabulary.declarations() {
            let (name, signature) = (declaration.name, declaration.signature());
            assert!(text.contains(&signature), "{name} in the text");
            assert!(
                markdown.contains(&format!("### `{signature}`\n\n{}", declaration.summary)),
                "{name} in Markdown"
            );
            assert!(
                entries
                    .iter()
                    .any(|entry| entry["signature"] == signature.as_str()),
                "{name} in JSON"
            );
            let defined = match declaration.kind {
                CallKind::Property { .. } => format!("fn get {name}(value: "),
                _ => format!("fn {name}("),
            };
            assert!(definitions.contains(&defined), "{name} in the definitions");
        }
    });
}

#[test]
fn definitions_name_kinds_of_the_language_alone() {
    let definitions = with_session(|session| reference::definitions(&session.vocabulary()));
    for line in definitions.lines().filter(|line| line.starts_with("fn ")) {
        assert!(line.ends_with(';') && line.contains(") -> "), "{line}");
        for jargon in ["::", "i64", "f64", "Dynamic", "ImmutableString", "&"] {
            assert!(!line.contains(jargon), "{line}");
        }
    }
    // One definition a kind of value and number of arguments: editors refuse doubles.
    let mut lines: Vec<&str> = definitions
        .lines()
        .filter(|line| line.starts_with("fn "))
        .collect();
    let all = lines.len();
    lines.sort_unstable();
    lines.dedup();
    assert_eq!(lines.len(), all);
}

#[test]
fn one_name_is_told_alone() {
    with_session(|session| {
        let vocabulary = session.vocabulary();
        let text = reference::text(&vocabulary, Some("fit"), 80);
        assert!(text.starts_with("fit("), "{text}");
        let json = reference::json(&vocabulary, Some("fit"));
        assert_eq!(json[0]["name"], "fit");
        assert_eq!(json[0]["gives"], "Table");
        assert_eq!(json.as_array().map(Vec::len), Some(1));
        assert!(reference::markdown(&vocabulary, Some("fit")).contains("```rhai\nfit("));
    });
}

/// Codes that the sources give to faults, with the file of each. Codes of tests alone are left out.
fn codes_in_sources() -> Vec<(String, String)> {
    fn files(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                files(&path, found);
            } else if path.extension().is_some_and(|extension| extension == "rs") {
                found.push(path);
            }
        }
    }
    const MAKERS: [&str; 5] = [
        "Fault::new(",
        "PlanError::new(",
        "Diagnostic::error(",
        ".coded(",
        "refused(",
    ];
    let mut all = Vec::new();
    files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut all);
    let mut found = Vec::new();
    for file in all {
        let text = std::fs::read_to_string(&file).expect("a source");
        let text = text
            .split("#[cfg(test)]\nmod tests")
            .next()
            .unwrap_or_default();
        for maker in MAKERS {
            for after in text.split(maker).skip(1) {
                // The code is the first argument, or the second where the first is a name.
                let argument = after.trim_start();
                let argument = match argument.split_once(',') {
                    Some((first, rest)) if !first.contains(['"', '(', ')']) => rest.trim_start(),
                    _ => argument,
                };
                let code = argument
                    .strip_prefix('"')
                    .and_then(|text| text.split('"').next());
                let is_code = |code: &&str| {
                    !code.is_empty() && code.chars().all(|c| c.is_ascii_lowercase() || c == '-')
                };
                if let Some(code) = code.filter(is_code) {
                    found.push((code.to_owned(), file.display().to_string()));
                }
            }
        }
    }
    found
}

#[test]
fn every_code_of_the_sources_is_told_of_once() {
    let codes = codes_in_sources();
    assert!(codes.len() > 200, "only {} codes were found", codes.len());
    // What is one word may be the name of an option.
    for (code, file) in codes.iter().filter(|(code, _)| code.contains('-')) {
        assert!(
            errors::note(code).is_some(),
            "{file}: no note says when `{code}` comes"
        );
    }
    let mut seen = BTreeSet::new();
    for note in errors::all() {
        assert!(seen.insert(note.code), "`{}` is told of twice", note.code);
        assert!(note.when.ends_with('.'), "{}", note.when);
    }
}

#[test]
fn every_code_that_is_told_of_is_in_the_sources() {
    let codes = codes_in_sources();
    let text = std::fs::read_to_string(
        Path::new(env!("CARGO_MANIFEST_DIR")).join("src/script/options.rs"),
    );
    let of_quantities = text.expect("a source");
    for note in errors::all() {
        let found = codes.iter().any(|(code, _)| code == note.code)
            // Made from the name of the limit, or named in a field or a match.
            || note.code.strip_prefix("limit-").is_some_and(|limit| {
                Limits::NAMES.contains(&limit.replace('-', "_").as_str())
            })
            || of_quantities.contains(&format!("\"{}\"", note.code))
            || ["unfit", "syntax", "incomplete", "unclosed-text", "option-twice"].contains(&note.code);
        assert!(found, "nothing gives `{}`", note.code);
    }
}

#[test]
fn help_tells_of_errors() {
    with_session(|session| {
        let vocabulary = session.vocabulary();
        let chamber = reference::text(&vocabulary, Some("chamber"), 100);
        assert!(
            chamber.contains("\n    height-missing: Nothing says how high it has to be."),
            "{chamber}"
        );
        let place = reference::text(&vocabulary, Some("place"), 100);
        assert!(place.contains("told by help(\"errors\")"), "{place}");
        let all = reference::text(&vocabulary, Some("errors"), 100);
        assert!(all.contains("parts-overlap: "), "{all}");
        let one = reference::text(&vocabulary, Some("height-missing"), 100);
        assert!(one.contains("Calls  chamber, "), "{one}");
        let json = reference::errors_json(Some("errors"));
        assert_eq!(json.as_array().map(Vec::len), Some(errors::all().count()));
        assert_eq!(
            reference::errors_json(Some("no-gap"))[0]["when"],
            "The two parts do not face each other."
        );
        let entry = &reference::json(&vocabulary, Some("gap"))[0];
        assert!(entry["errors"].to_string().contains("no-gap"), "{entry}");
        let markdown = reference::markdown(&vocabulary, None);
        assert!(markdown.contains("- `no-gap`: The two parts"));
        assert!(markdown.contains("Errors: `does-not-fit`"));
    });
}
