//! Every declaration of the language: whole sentences, examples that show what they say, names that exist.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{CallKind, Limits, domain};

fn with_session<T: Send>(work: impl FnOnce(&mut perpend::script::Session) -> T + Send) -> T {
    perpend::shell::run_on_large_stack(|| {
        let mut session = domain::open(
            Rc::new(MemoryOutside::new().with_recipes("recipes")),
            Limits::default(),
        );
        work(&mut session)
    })
    .expect("a thread")
}

#[test]
fn every_example_shows_what_it_says_and_every_declaration_is_whole() {
    let wrong = with_session(|session| {
        let mut wrong = Vec::new();
        for declaration in session.vocabulary().declarations() {
            let name = declaration.name;
            let meanings = declaration
                .positional
                .iter()
                .chain(declaration.options)
                .map(|parameter| parameter.meaning);
            for sentence in [declaration.summary, declaration.returns]
                .into_iter()
                .chain(meanings)
            {
                let starts = |c: char| c.is_uppercase() || c == '`' || c == 'n' || c == 'o';
                if !sentence.ends_with('.') || !sentence.starts_with(starts) {
                    wrong.push(format!("{name}: \"{sentence}\" is no sentence"));
                }
            }
            for example in declaration.examples {
                let outcome = session.run("example", example.script);
                let shown = outcome.shown.clone().unwrap_or_default();
                // Help may leave out what a value adds when it is the answer to an input, such as a drawing.
                let among_others = outcome.value.as_ref().map(|value| session.show(value));
                let says = [Some(&shown), among_others.as_ref()]
                    .into_iter()
                    .flatten()
                    .any(|shown| shown == example.shows);
                if outcome.failed() || (!example.shows.is_empty() && !says) {
                    wrong.push(format!(
                        "{name}: {}\nshows\n{shown}\n{}",
                        example.script,
                        session.render(&outcome)
                    ));
                }
            }
            for other in declaration.see_also {
                if session.vocabulary().named(other).is_empty() {
                    wrong.push(format!("{name}: there is no {other} to see"));
                }
            }
        }
        wrong
    });
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_function_and_method_has_an_example() {
    let without = with_session(|session| {
        session
            .vocabulary()
            .declarations()
            .iter()
            .filter(|declaration| declaration.examples.is_empty())
            .filter(|declaration| !matches!(declaration.kind, CallKind::Property { .. }))
            .map(|declaration| declaration.name)
            .collect::<Vec<_>>()
    });
    assert!(without.is_empty(), "no example: {}", without.join(", "));
}
