//! What `catch` is handed: the fault as it would have been told, and not the engine's own words for it.
//!
//! The engine has no place to ask what a caught error is called, and once it has caught one in a function it keeps only a
//! text of it. So a script with `try` is read a second time with marks that take exactly the room of its words, so that
//! every place stays where it is: `try { ... } catch` becomes `try { GUARDED { ... } } catch`, where what is guarded
//! turns an error into a fault before the engine sees it.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use rhai::{
    AST, ASTNode, Dynamic, Engine, EvalAltResult, EvalContext, ParseError, Position, Stmt, Token,
};

use super::diagnostic::Sources;
use super::engine::Limits;
use super::explain::Explainer;
use super::vocabulary::Vocabulary;

/// What the guarded block is known by; no script can write it.
const GUARDED: &str = "guarded block";
/// Stands for `try`, the bracket of its block, and [`GUARDED`].
const TRY_MARK: [char; 3] = ['~', '{', '@'];
/// Stands for the bracket that closes that block, and `catch`.
const CATCH_MARK: [char; 5] = ['}', '$', ' ', ' ', ' '];
/// What the engine hands over for a block.
const BLOCK: &str = "$block$";

thread_local! {
    /// The name of the source that is read with marks just now.
    static MARKED: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// What a run knows of names beside those in the sources.
#[derive(Debug, Clone, Default)]
pub(super) struct Names {
    /// Variables at the top of the script.
    pub(super) variables: Vec<String>,
    /// Functions of the script with their parameter counts.
    pub(super) functions: Vec<(String, usize)>,
    /// Sources of functions that earlier inputs defined.
    pub(super) origins: BTreeMap<String, String>,
    /// Whether an input of a session is run.
    pub(super) of_input: bool,
}

/// Whom a guarded block asks what an error is called.
pub(super) struct Teller {
    pub(super) sources: Sources,
    pub(super) vocabulary: Rc<Vocabulary>,
    pub(super) limits: Limits,
    pub(super) builtin: Vec<String>,
    pub(super) names: Rc<RefCell<Names>>,
}

impl Teller {
    /// Puts the innermost cause of an error as a fault; what scripts and functions raise themselves stays as it is.
    fn tell(&self, error: &mut EvalAltResult, source: &str, context: &EvalContext) {
        if matches!(error.unwrap_inner(), EvalAltResult::ErrorRuntime(..)) {
            return;
        }
        let names = self.names.borrow();
        let in_function = context.call_level() > 0;
        let seen = context.scope().iter_raw().map(|(name, _, _)| name);
        let explainer = Explainer {
            sources: &self.sources,
            vocabulary: &self.vocabulary,
            limits: &self.limits,
            variables: if in_function {
                names.variables.clone()
            } else {
                seen.map(str::to_owned).collect()
            },
            functions: names.functions.clone(),
            builtin: &self.builtin,
            origins: names.origins.clone(),
            of_input: names.of_input,
        };
        let faults = explainer.as_faults(error, source, in_function);
        let cause = innermost(error);
        let at = cause.position();
        *cause = EvalAltResult::ErrorRuntime(Dynamic::from(faults), at);
    }
}

fn innermost(error: &mut EvalAltResult) -> &mut EvalAltResult {
    match error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _)
        | EvalAltResult::ErrorInModule(_, inner, _) => innermost(inner),
        cause => cause,
    }
}

/// Lets an engine read marks and guard what they enclose.
pub(super) fn register(engine: &mut Engine, teller: Teller) {
    #[allow(deprecated)] // The engine marks the callback as volatile; the version is pinned.
    engine.on_parse_token(|token, _, _| match token {
        Token::Reserved(mark) if MARKED.with_borrow(Option::is_some) => match mark.as_str() {
            "~" => Token::Try,
            "@" => Token::Identifier(Box::new(GUARDED.into())),
            "$" => Token::Catch,
            _ => Token::Reserved(mark),
        },
        token => token,
    });
    engine.register_custom_syntax_with_state_raw(
        GUARDED,
        |read, _, state| {
            if read.len() > 1 {
                return Ok(None);
            }
            let source = MARKED.with_borrow(Option::clone);
            *state = source.unwrap_or_default().into();
            Ok(Some(BLOCK.into()))
        },
        false,
        move |context, inputs, source| {
            let Some(block) = inputs.first() else {
                return Ok(Dynamic::UNIT);
            };
            context.eval_expression_tree(block).map_err(|mut error| {
                if error.is_catchable() {
                    let source = source.clone().into_string().unwrap_or_default();
                    teller.tell(&mut error, &source, context);
                }
                error
            })
        },
    );
}

/// A source as it is read.
pub(super) struct Read {
    /// As it is written, for whoever looks for places in it.
    pub(super) written: AST,
    /// As it is run.
    pub(super) run: AST,
}

/// Reads a source.
///
/// # Errors
/// When it is not written as the language wants it.
pub(super) fn read(engine: &Engine, source: &str, text: &str) -> Result<Read, ParseError> {
    let mut written = engine.compile(text)?;
    written.set_source(source);
    let mut run = match marked(text, &written) {
        None => written.clone(),
        Some(text) => {
            MARKED.set(Some(source.to_owned()));
            let read = engine.compile(text);
            MARKED.take();
            read?
        }
    };
    run.set_source(source);
    Ok(Read { written, run })
}

/// A text with marks in place of the words, where it has any.
fn marked(text: &str, tree: &AST) -> Option<String> {
    let mut places = Vec::new();
    tree.walk(&mut |path: &[ASTNode]| {
        if let Some(ASTNode::Stmt(Stmt::TryCatch(parts, at))) = path.last() {
            places.push((*at, parts.body.end_position()));
        }
        true
    });
    if places.is_empty() {
        return None;
    }
    let mut letters: Vec<char> = text.chars().collect();
    let starts: Vec<usize> = std::iter::once(0)
        .chain(
            letters
                .iter()
                .enumerate()
                .filter(|(_, letter)| **letter == '\n')
                .map(|(at, _)| at + 1),
        )
        .collect();
    let offset = |at: Position| {
        let start = starts.get(at.line()?.checked_sub(1)?)?;
        Some(start + at.position()?.checked_sub(1)?)
    };
    for (start, end) in places {
        let (start, end) = (offset(start)?, offset(end)?);
        put(&mut letters, start, "try", &TRY_MARK)?;
        let catch = past_blanks(&letters, end + 1);
        put(&mut letters, catch, "catch", &CATCH_MARK)?;
    }
    Some(letters.into_iter().collect())
}

/// Puts a mark in the place of a word that stands there; a walk comes by closures twice, so it may be there already.
fn put(letters: &mut [char], at: usize, word: &str, mark: &[char]) -> Option<()> {
    let here = letters.get_mut(at..at + mark.len())?;
    let known = here.iter().copied().eq(word.chars()) || here == mark;
    known.then(|| here.copy_from_slice(mark))
}

/// Where the next word starts: after blanks and comments.
fn past_blanks(letters: &[char], mut at: usize) -> usize {
    let mut depth = 0_usize;
    while let Some(&letter) = letters.get(at) {
        match (letter, letters.get(at + 1)) {
            ('/', Some('/')) if depth == 0 => {
                let line = letters.iter().skip(at);
                at += line.take_while(|letter| **letter != '\n').count();
            }
            ('/', Some('*')) => (depth, at) = (depth + 1, at + 2),
            ('*', Some('/')) if depth > 0 => (depth, at) = (depth - 1, at + 2),
            _ if depth > 0 || letter.is_whitespace() => at += 1,
            _ => break,
        }
    }
    at
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;
    use crate::outside::MemoryOutside;
    use crate::script::{Session, domain};

    fn session() -> Session {
        let world = MemoryOutside::new().with_script(
            "tools.rhai",
            "fn careful(work) { try { work.call() } catch (e) { return `${e.code}: ${e.message}`; } }
             fn broken() { nonesuch(1) }",
        );
        domain::open(Rc::new(world), Limits::default())
    }

    fn shown(session: &mut Session, script: &str) -> String {
        let outcome = session.run("test.rhai", script);
        assert!(!outcome.failed(), "{script}: {}", session.render(&outcome));
        outcome.shown.unwrap_or_default()
    }

    /// What goes wrong in the engine itself, in every way that can be caught.
    const WRONG: [&str; 22] = [
        "1.save_chart(\"x\")",
        "nonesuch(1)",
        "nonesuch",
        "outside - 1",
        "fine(1, 2)",
        "1.fine()",
        "[1, 2][7]",
        "[][0]",
        "\"abc\"[9]",
        "fine(1.5)[0]",
        "[1][outside]",
        "#{ a: 1 }.b",
        "1.nonesuch",
        "215.mm.nonesuch",
        "for i in fine(3) { }",
        "if fine(3) { }",
        "1 / 0",
        "9223372036854775807 + 1",
        "1 << \"a\"",
        "other::thing()",
        "9223372036854775807 * 2",
        "Fn(\"nonesuch\").call(3)",
    ];
    const BEFORE: &str = "let outside = \"\"; const FIXED = 1; fn fine(n) { n }\n";

    #[test]
    fn what_is_caught_reads_as_what_is_told_uncaught() {
        engine_words_nowhere();
        for wrong in WRONG {
            for deep in [false, true] {
                let mut session = session();
                let (before, call) = if deep {
                    (format!("{BEFORE}fn deep() {{ {wrong} }}\n"), "deep()")
                } else {
                    (BEFORE.to_owned(), wrong)
                };
                let uncaught = session.run("test.rhai", &format!("{before}{call};"));
                let Some(told) = uncaught.diagnostics.first() else {
                    panic!("nothing is wrong with {wrong}");
                };
                let script = format!(
                    "{before}let read = []; try {{ {call}; }} catch (e) {{ read = [e.message, e.code, e.remedy, `${{e}}`]; }} read"
                );
                let outcome = session.run("test.rhai", &script);
                assert!(!outcome.failed(), "{script}: {}", session.render(&outcome));
                let read: Vec<String> = outcome
                    .value
                    .and_then(|value| value.into_typed_array::<String>().ok())
                    .unwrap_or_default();
                let remedy = told.remedy.join("\n");
                let wanted = [&told.message, &told.code, &remedy, &told.message];
                assert_eq!(read.iter().collect::<Vec<_>>(), wanted, "{script}");
                for again in ["throw e", "throw"] {
                    let script = format!("{before}try {{ {call}; }} catch (e) {{ {again}; }}");
                    let thrown = session.run("test.rhai", &script);
                    let thrown = thrown
                        .diagnostics
                        .first()
                        .map(|d| (d.code.clone(), d.message.clone(), d.remedy.clone()));
                    let told = (told.code.clone(), told.message.clone(), told.remedy.clone());
                    assert_eq!(thrown, Some(told), "{script}");
                }
            }
        }
    }

    fn engine_words_nowhere() {
        let mut session = session();
        for wrong in WRONG {
            let script = format!(
                "{BEFORE}let told = \"\"; try {{ {wrong}; }} catch (e) {{ told = `${{e}} ${{[e]}} ${{#{{ e: e }}}} ${{type_of(e)}} ${{e.to_string()}}`; show(e); print(e); }} told"
            );
            let told = shown(&mut session, &script);
            for word in [
                "i64",
                "&str",
                "Dynamic",
                "Fn",
                "Error",
                "not found",
                "rhai",
                "Map",
            ] {
                assert!(!told.contains(word), "{script}: {told}");
            }
        }
    }

    #[test]
    fn everything_else_about_try_is_as_before() {
        let mut session = session();
        for (script, value) in [
            ("try { 3 } catch { 4 }", "3"),
            (
                "let x = 1; try { x += 1; nonesuch(); } catch { x += 10; } x",
                "12",
            ),
            ("fn f() { try { return 5; } catch { } 6 } f()", "5"),
            (
                "fn f() { try { nonesuch(); } catch (e) { return e.code; } 6 } f()",
                "unknown-function",
            ),
            (
                "let n = 0; loop { try { n += 1; if n > 3 { break; } continue; } catch { } n += 100; } n",
                "4",
            ),
            (
                "let n = []; for i in 0..3 { try { throw i } catch (e) { n.push(e); continue; } } n",
                "[0, 1, 2]",
            ),
            (
                "let a = 1; let f = |x| { let b = 2; try { nonesuch(x) } catch (e) { a + b + x } b + x + a }; f.call(4)",
                "7",
            ),
            (
                "let a = 7; try { nonesuch() } catch (e) { let b = 1; let f = |x| a + b + x + e.code.len; a = f.call(2); } a",
                "26",
            ),
            ("let t = `<${ try { 8 } catch { 9 } }>`; t", "<8>"),
            ("try{1}catch{2}", "1"),
            (
                "try /* { */ { nonesuch() } // catch\n /* catch /* */ */ catch /* ( */ (e) { } 5",
                "5",
            ),
            ("let t = \"try { } catch\"; t + `try`", "try { } catchtry"),
            (
                "let t = \"é\"; try { throw \"é\" + t } catch (e) { t = e + \"é\" } t",
                "ééé",
            ),
            (
                "try { try { nonesuch() } catch (e) { throw } } catch (e) { print(e.code) } 1",
                "1",
            ),
            (
                "let m = #{ n: 1 }; fn up() { try { this.n += 1; nonesuch() } catch { this.n += 1 } } m.up(); m.n",
                "3",
            ),
            (
                "let x = 0; switch 1 { 1 => try { nonesuch() } catch { x = 3 }, _ => () } x",
                "3",
            ),
            ("try { throw } catch (e) { } 2", "2"),
            (
                "let t = 0; try { throw #{ code: 3 } } catch (e) { t = e.code } t",
                "3",
            ),
            (
                "let x = 1; try { let x = 2; let y = 3; nonesuch(x) } catch (e) { x += 1 } x",
                "2",
            ),
            (
                "import \"tools\" as tools; tools::careful(|| nonesuch(2))",
                "unknown-function: there is no function `nonesuch`",
            ),
            (
                "import \"tools\" as tools; let c = \"\"; try { tools::broken() } catch (e) { c = e.code } c",
                "unknown-function",
            ),
        ] {
            assert_eq!(shown(&mut session, script), value, "{script}");
        }
        for (script, code) in [
            ("try { }", "incomplete"),
            ("let x = try { 1 } catch { 2 };", "syntax"),
            ("try { 1 } catch (1) { }", "syntax"),
            ("~{@ { 1 } }$ { }", "syntax"),
            ("~ 1", "syntax"),
        ] {
            let outcome = session.run("test.rhai", script);
            let found = outcome.diagnostics.first().map(|d| d.code.as_str());
            assert_eq!(found, Some(code), "{script}");
        }
    }

    #[test]
    fn functions_of_earlier_inputs_catch_too() {
        let mut session = session();
        session.input("fn f() { try { 1.nonesuch() } catch (e) { e.message } }");
        session.input(
            "fn g() { let t = \"\"; try { 1.save_chart(\"x\") } catch (e) { t = e.message } t }",
        );
        let outcome = session.input("g()");
        assert_eq!(
            outcome.shown.as_deref(),
            Some("`save_chart` belongs to a comparison, not to a whole number")
        );
    }
}
