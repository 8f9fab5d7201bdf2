//! The reference of the language: nothing is registered that it does not tell, and its forms hold all of it.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{CallKind, Limits, Session, domain, reference};

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
