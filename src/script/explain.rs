//! Turns the engine's errors into diagnostics in the words of builders.

use std::collections::BTreeMap;

use rhai::{Dynamic, EvalAltResult, LexError, Map, ParseErrorType, Position};

use super::declare::{CallKind, Declaration};
use super::diagnostic::{Diagnostic, Frame, Label, Sources, Span};
use super::engine::{Limits, Stop};
use super::errors;
use super::locate::{fault_span, is_method_call, span_at};
use super::options::{Fault, Faults, arguments};
use super::unknown::unknown;
use super::vocabulary::{Vocabulary, builtin_phrase};
use crate::masonry::nearest;

/// What an explanation may look up.
pub(super) struct Explainer<'a> {
    pub(super) sources: &'a Sources,
    pub(super) vocabulary: &'a Vocabulary,
    pub(super) limits: &'a Limits,
    /// Names of variables at the top of the script.
    pub(super) variables: Vec<String>,
    /// Names and parameter counts of the script's functions.
    pub(super) functions: Vec<(String, usize)>,
    /// Names of the engine's own functions.
    pub(super) builtin: &'a [String],
    /// Sources of functions that earlier inputs defined.
    pub(super) origins: BTreeMap<String, String>,
    /// Whether what failed is an input of a session that goes on.
    pub(super) of_input: bool,
}

/// How a run came to an error.
struct Cause {
    /// The source that it stands in.
    source: String,
    /// The source and place of the call of the function that it stands in.
    caller: Option<(String, Position)>,
    /// All calls on the way, the outermost first.
    trace: Vec<Frame>,
}

impl Explainer<'_> {
    /// Every diagnostic of an error in `source`.
    pub(super) fn explain(&self, error: &EvalAltResult, source: &str) -> Vec<Diagnostic> {
        let (error, cause) = self.cause(error, source, None);
        let mut diagnostics = self.root(error, &cause.source, cause.caller.as_ref());
        diagnostics.extend(self.other_names(error, &cause.source));
        for diagnostic in &mut diagnostics {
            diagnostic.trace.clone_from(&cause.trace);
        }
        diagnostics
    }

    /// An error in `source`, or in a function of it, as whoever catches it sees it.
    pub(super) fn as_faults(
        &self,
        error: &EvalAltResult,
        source: &str,
        in_function: bool,
    ) -> Faults {
        let caller = in_function.then(|| (source.to_owned(), Position::NONE));
        let (error, cause) = self.cause(error, source, caller);
        let told = self.root(error, &cause.source, cause.caller.as_ref());
        let fault = |told: Diagnostic| {
            let note = errors::note(&told.code).unwrap_or(&errors::SCRIPT_ERROR);
            let fault = Fault::new(note.code, told.message);
            told.remedy.into_iter().fold(fault, Fault::remedy)
        };
        Faults {
            function: "",
            faults: told.into_iter().map(fault).collect(),
        }
    }

    /// The innermost error, and how the run came to it.
    fn cause<'e>(
        &self,
        mut error: &'e EvalAltResult,
        source: &str,
        mut caller: Option<(String, Position)>,
    ) -> (&'e EvalAltResult, Cause) {
        let mut source = source.to_owned();
        let mut trace = Vec::new();
        loop {
            error = match error {
                EvalAltResult::ErrorInFunctionCall(name, inside, inner, at) => {
                    let what = if name.starts_with("anon$") {
                        "a closure".to_owned()
                    } else {
                        format!("function `{name}`")
                    };
                    trace.push(Frame {
                        what,
                        called_at: span_at(self.sources, &source, *at),
                    });
                    caller = Some((source.clone(), *at));
                    let of_input = inside.is_empty() || inside.starts_with(super::session::INPUT);
                    match self.origins.get(name).filter(|_| of_input) {
                        Some(origin) => source.clone_from(origin),
                        None if inside.is_empty() => {}
                        None => source.clone_from(inside),
                    }
                    inner
                }
                EvalAltResult::ErrorInModule(name, inner, at) => {
                    let what = format!("module `{name}`");
                    trace.push(Frame {
                        what,
                        called_at: span_at(self.sources, &source, *at),
                    });
                    caller = Some((source.clone(), *at));
                    if !name.is_empty() {
                        source.clone_from(name);
                    }
                    inner
                }
                other => {
                    let cause = Cause {
                        source,
                        caller,
                        trace,
                    };
                    return (other, cause);
                }
            };
        }
    }

    /// Further names in the same source that stand for nothing, where a first one ended the run.
    fn other_names(&self, error: &EvalAltResult, source: &str) -> Vec<Diagnostic> {
        /// More than these at once bewilder.
        const MOST: usize = 8;
        let first = match error {
            EvalAltResult::ErrorVariableNotFound(name, _) => name.as_str(),
            EvalAltResult::ErrorFunctionNotFound(signature, _) => {
                signature.split(" (").next().unwrap_or(signature)
            }
            _ => return Vec::new(),
        };
        let Some(tree) = self.sources.tree(source) else {
            return Vec::new();
        };
        let is_known = |name: &str, called: bool| {
            name == first
                || self.functions.iter().any(|(known, _)| known == name)
                || self.variables.iter().any(|known| known == name)
                || called
                    && (!self.vocabulary.named(name).is_empty()
                        || self.builtin.iter().any(|known| known == name))
        };
        unknown(&tree, is_known)
            .into_iter()
            .take(MOST)
            .map(|one| {
                let diagnostic = if one.called {
                    self.no_free_function(&one.name, &[], &[])
                } else {
                    self.no_variable(&one.name, false)
                };
                diagnostic.at(span_at(self.sources, source, one.at))
            })
            .collect()
    }

    fn root(
        &self,
        error: &EvalAltResult,
        source: &str,
        caller: Option<&(String, Position)>,
    ) -> Vec<Diagnostic> {
        if let EvalAltResult::ErrorRuntime(payload, at) = error
            && let Some(faults) = payload.read_lock::<Faults>()
        {
            return self.faults(&faults, source, *at, caller);
        }
        let at = error.position();
        let span = span_at(self.sources, source, at);
        let diagnostic = match error {
            EvalAltResult::ErrorParsing(kind, at) => return vec![self.syntax(kind, source, *at)],
            EvalAltResult::ErrorFunctionNotFound(signature, at) => {
                self.no_function(signature, source, *at)
            }
            EvalAltResult::ErrorVariableNotFound(name, _) => {
                self.no_variable(name, caller.is_some())
            }
            EvalAltResult::ErrorModuleNotFound(name, _) => {
                Diagnostic::error("unknown-module", format!("there is no module `{name}`"))
                    .remedy(format!("import it first: import \"{name}\" as {name};"))
            }
            EvalAltResult::ErrorPropertyNotFound(name, _) => Diagnostic::error(
                "unknown-property",
                format!("this map has no entry `{name}`"),
            )
            .remedy("list its entries with `.keys()`; test for one with `\"name\" in map`"),
            EvalAltResult::ErrorDotExpr(text, _) => self.no_property(text),
            EvalAltResult::ErrorRuntime(payload, _) => self.thrown(payload),
            EvalAltResult::ErrorTerminated(token, _) => self.stopped(token),
            EvalAltResult::ErrorTooManyOperations(_) => {
                self.limit("operations", "the script took more steps than allowed")
            }
            EvalAltResult::ErrorStackOverflow(_) => {
                self.limit("call_levels", "functions call each other too deep")
            }
            EvalAltResult::ErrorTooManyModules(_) => {
                self.limit("modules", "the script imports too many modules")
            }
            EvalAltResult::ErrorDataTooLarge(what, _) => self.too_large(what),
            _ => self.plain_error(error),
        };
        vec![diagnostic.at(span)]
    }

    fn plain_error(&self, error: &EvalAltResult) -> Diagnostic {
        match error {
            EvalAltResult::ErrorArithmetic(text, _) => arithmetic(text),
            EvalAltResult::ErrorMismatchDataType(wanted, got, _)
            | EvalAltResult::ErrorMismatchOutputType(wanted, got, _) => {
                let (wanted, got) = (self.phrase(wanted), self.phrase(got));
                Diagnostic::error(
                    "wrong-type",
                    format!("{wanted} is wanted here, but this is {got}"),
                )
            }
            EvalAltResult::ErrorIndexingType(text, _) => {
                let kind = text.split([' ', '[']).next().unwrap_or_default();
                Diagnostic::error(
                    "not-indexable",
                    format!("{} has no items to pick with [ ]", self.phrase(kind)),
                )
                .remedy("lists take a number, maps a text: list[0], map[\"key\"]")
            }
            EvalAltResult::ErrorArrayBounds(0, index, _) => Diagnostic::error(
                "out-of-bounds",
                format!("there is no item {index}: the list is empty"),
            ),
            EvalAltResult::ErrorArrayBounds(count, index, _) => Diagnostic::error(
                "out-of-bounds",
                format!("there is no item {index}: the list has {count}"),
            )
            .remedy(format!(
                "items are counted from 0, so the last is {}",
                count.saturating_sub(1)
            )),
            EvalAltResult::ErrorStringBounds(count, index, _) => Diagnostic::error(
                "out-of-bounds",
                format!("there is no letter {index}: the text has {count}"),
            ),
            EvalAltResult::ErrorBitFieldBounds(_, index, _) => Diagnostic::error(
                "out-of-bounds",
                format!("a whole number has no bit {index}"),
            ),
            EvalAltResult::ErrorIndexNotFound(index, _) => {
                let shown = self.vocabulary.describe(index);
                Diagnostic::error("wrong-type", format!("items cannot be picked by {shown}"))
            }
            EvalAltResult::ErrorFor(_) => Diagnostic::error(
                "not-iterable",
                "`for` goes through a list, a map's keys or a range, not through this",
            )
            .remedy("write `for i in 0..5`, or `for item in list`"),
            EvalAltResult::ErrorAssignmentToConstant(name, _) => constant(name),
            EvalAltResult::ErrorNonPureMethodCallOnConstant(name, _) => Diagnostic::error(
                "constant",
                format!(
                    "`{}` would change a constant",
                    name.trim_start_matches("set$")
                ),
            )
            .remedy("make a changed copy: let copy = CONSTANT;"),
            EvalAltResult::ErrorUnboundThis(_) => {
                Diagnostic::error("no-this", "`this` has no value here")
                    .remedy("call the function as a method: value.name()")
            }
            EvalAltResult::ErrorDataRace(_, _) => Diagnostic::error(
                "value-in-use",
                "a value captured by a closure is changed while it is in use",
            )
            .remedy("copy it first: let copy = value;"),
            EvalAltResult::ErrorTooManyVariables(_) => {
                Diagnostic::error("limit-variables", "the script makes too many variables")
            }
            EvalAltResult::ErrorForbiddenVariable(name, _) => Diagnostic::error(
                "reserved-word",
                format!("`{name}` cannot be the name of a variable"),
            ),
            EvalAltResult::ErrorVariableExists(name, _) => Diagnostic::error(
                "name-taken",
                format!("there is already a variable `{name}`"),
            ),
            EvalAltResult::ErrorSystem(text, inner) => {
                let text = if text.is_empty() {
                    inner.to_string()
                } else {
                    format!("{text}: {inner}")
                };
                Diagnostic::error("trouble", plain(&text))
            }
            other => {
                let text = other.to_string();
                let text = text.split(" (line ").next().unwrap_or_default();
                Diagnostic::error("script-error", plain(text))
            }
        }
    }

    fn faults(
        &self,
        faults: &Faults,
        source: &str,
        at: Position,
        caller: Option<&(String, Position)>,
    ) -> Vec<Diagnostic> {
        let declared = self.vocabulary.named(faults.function);
        let method = declared
            .iter()
            .any(|d| matches!(d.kind, CallKind::Method { .. }));
        let dress = |fault: &Fault| {
            let span = fault_span(
                self.sources,
                (source, at),
                faults.function,
                method,
                fault,
                caller,
            );
            let mut diagnostic = Diagnostic::error(fault.code, fault.message.clone()).at(span);
            diagnostic.remedy.clone_from(&fault.remedy);
            if let Some(name) = fault.limit {
                diagnostic.remedy.extend(self.raising(name));
            }
            diagnostic.refused_by = Some(faults.function).filter(|name| !name.is_empty());
            diagnostic
        };
        faults.faults.iter().map(dress).collect()
    }

    /// A limit that was met, and how to raise it.
    fn limit(&self, name: &str, message: &str) -> Diagnostic {
        let code = format!("limit-{}", name.replace('_', "-"));
        let unit = if name == "wall_clock" { " s" } else { "" };
        let now = grouped(self.limits.figure(name));
        let mut diagnostic =
            Diagnostic::error(code, format!("{message} (limit `{name}`: {now}{unit})"));
        if matches!(name, "operations" | "call_levels") {
            diagnostic = diagnostic.remedy("look for a loop or a function that never ends");
        }
        diagnostic.remedy.extend(self.raising(name));
        diagnostic
    }

    fn raising(&self, name: &str) -> Vec<String> {
        raising(self.limits, name, self.of_input)
    }

    fn too_large(&self, what: &str) -> Diagnostic {
        let what = what.to_lowercase();
        if what.contains("string") || what.contains("text") {
            self.limit("string", "a text grew too long")
        } else if what.contains("map") {
            self.limit("map", "a map grew too large")
        } else {
            self.limit("array", "a list grew too long")
        }
    }

    fn stopped(&self, token: &Dynamic) -> Diagnostic {
        match token.read_lock::<Stop>().as_deref() {
            Some(Stop::Time) => self.limit("wall_clock", "the script ran longer than allowed"),
            Some(Stop::Quit) => Diagnostic::error("quit", "the session ends"),
            Some(Stop::Interrupted) | None => {
                Diagnostic::error("interrupted", "the script was interrupted")
            }
        }
    }

    fn thrown(&self, payload: &Dynamic) -> Diagnostic {
        let message = match payload.read_lock::<Map>() {
            Some(map) => map
                .get("message")
                .map(|message| self.vocabulary.show(message)),
            None => None,
        };
        Diagnostic::error(
            "thrown",
            message.unwrap_or_else(|| self.vocabulary.show(payload)),
        )
    }

    fn no_variable(&self, name: &str, inside: bool) -> Diagnostic {
        if let Some(constant) = name.strip_prefix("global::") {
            let message = format!("there is no constant `{constant}` in this input");
            return Diagnostic::error("unknown-name", message).remedy(format!(
                "functions see constants by their plain name: {constant}"
            ));
        }
        let diagnostic = Diagnostic::error("unknown-name", format!("there is no `{name}` here"));
        let declared = self.vocabulary.named(name);
        if let Some(declaration) = declared.iter().find(|d| d.kind == CallKind::Function) {
            return Diagnostic::error(
                "unknown-name",
                format!("`{name}` is a function, not a value"),
            )
            .remedy(format!("call it: {}", declaration.signature()));
        }
        if let Some((name, count)) = self.functions.iter().find(|(known, _)| known == name) {
            return Diagnostic::error(
                "unknown-name",
                format!("`{name}` is a function, not a value"),
            )
            .remedy(format!(
                "it takes {}; as a value write Fn(\"{name}\")",
                arguments(*count)
            ));
        }
        if declared
            .iter()
            .any(|d| d.kind == (CallKind::Property { of: "number" }))
        {
            return diagnostic.remedy(format!("a unit goes behind a number: 5.{name}"));
        }
        if inside && self.variables.iter().any(|known| known == name) {
            return Diagnostic::error(
                "unknown-name",
                format!("`{name}` is a variable outside this function"),
            )
            .remedy(
                "a function sees its parameters and constants: pass the value, or write `const`",
            );
        }
        let variables = self.variables.iter().map(String::as_str);
        let functions = self.vocabulary.names(|kind| *kind == CallKind::Function);
        let own = self.functions.iter().map(|(name, _)| name.as_str());
        match nearest(name, variables.chain(functions).chain(own)) {
            Some(near) => diagnostic.remedy(format!("did you mean `{near}`?")),
            None => diagnostic.remedy(format!("define it first: let {name} = ...;")),
        }
    }

    /// `Unknown property 'x' - a getter is not registered for type 'T'`.
    fn no_property(&self, text: &str) -> Diagnostic {
        let mut quoted = text.split('\'').skip(1).step_by(2);
        let (Some(name), Some(kind)) = (quoted.next(), quoted.next()) else {
            return Diagnostic::error("unknown-property", plain(text));
        };
        let phrase = self.phrase(kind);
        if text.contains("setter") {
            return Diagnostic::error("read-only", format!("`{name}` of {phrase} cannot be set"))
                .remedy(
                    "values do not change: make a new one, such as with a method that returns it",
                );
        }
        let diagnostic = Diagnostic::error("unknown-property", format!("{phrase} has no `{name}`"));
        let group = if matches!(kind, "i64" | "f64") {
            "number"
        } else {
            kind
        };
        let of_kind = |d: &&Declaration| match d.kind {
            CallKind::Property { of } | CallKind::Method { of } => of == kind || of == group,
            CallKind::Function => false,
        };
        let known: Vec<&Declaration> = self
            .vocabulary
            .declarations()
            .into_iter()
            .filter(of_kind)
            .collect();
        if known.iter().any(|d| d.name == name) {
            return Diagnostic::error(
                "unknown-property",
                format!("`{name}` is a method: it needs brackets"),
            )
            .remedy(format!("write .{name}()"));
        }
        if let Some(near) = nearest(name, known.iter().map(|d| d.name)) {
            let call = known
                .iter()
                .find(|d| d.name == near)
                .map_or(near.to_owned(), |d| d.signature());
            return diagnostic.remedy(format!("did you mean {call}?"));
        }
        let names: Vec<&str> = known.iter().map(|d| d.name).collect();
        if names.is_empty() {
            diagnostic
        } else {
            diagnostic.remedy(format!("{phrase} has: {}", names.join(", ")))
        }
    }

    fn no_function(&self, signature: &str, source: &str, at: Position) -> Diagnostic {
        let (name, types) = signature.split_once(" (").unwrap_or((signature, ")"));
        let types = types.strip_suffix(')').unwrap_or(types);
        let types: Vec<&str> = if types.is_empty() {
            Vec::new()
        } else {
            types.split(", ").collect()
        };
        let phrases: Vec<String> = types
            .iter()
            .map(|kind| self.phrase(kind.split(" | ").next().unwrap_or(kind)))
            .collect();
        if let Some((module, inner)) = name.rsplit_once("::") {
            return Diagnostic::error(
                "unknown-function",
                format!(
                    "the module `{module}` has no function `{inner}` for {}",
                    arguments(types.len())
                ),
            )
            .remedy(format!(
                "check its name and arguments; a recipe is built with {module}::build(#{{ ... }})"
            ));
        }
        if let Some(diagnostic) = operator(name, &phrases) {
            return diagnostic;
        }
        let method = is_method_call(self.sources, source, at);
        let declared = self.vocabulary.named(name);
        match phrases.first() {
            Some(receiver) if method => self.no_method(
                name,
                receiver,
                types.first().copied().unwrap_or_default(),
                phrases.len() - 1,
                &declared,
            ),
            _ => self.no_free_function(name, &phrases, &declared),
        }
    }

    fn no_method(
        &self,
        name: &str,
        receiver: &str,
        kind: &str,
        given: usize,
        declared: &[&'static Declaration],
    ) -> Diagnostic {
        let group = if matches!(kind, "i64" | "f64") {
            "number"
        } else {
            kind
        };
        for declaration in declared {
            match declaration.kind {
                CallKind::Property { of } if of == kind || of == group => {
                    return Diagnostic::error(
                        "unknown-method",
                        format!("`{name}` is a property of {receiver}"),
                    )
                    .remedy(format!("write it without brackets: .{name}"));
                }
                CallKind::Method { of } if of == kind || of == group => {
                    return Diagnostic::error(
                        "too-many-arguments",
                        format!("{name} takes {}", arguments(declaration.positional.len())),
                    )
                    .remedy(format!("the call is {}", declaration.signature()));
                }
                _ => {}
            }
        }
        let owners: Vec<String> = declared
            .iter()
            .filter_map(|d| match d.kind {
                CallKind::Method { of } | CallKind::Property { of } => {
                    Some(self.vocabulary.phrase_of(of))
                }
                CallKind::Function => None,
            })
            .collect();
        if !owners.is_empty() {
            return Diagnostic::error(
                "unknown-method",
                format!(
                    "`{name}` belongs to {}, not to {receiver}",
                    owners.join(" or ")
                ),
            );
        }
        if let Some(function) = declared.first() {
            return Diagnostic::error(
                "unknown-method",
                format!("`{name}` is a function, not a method"),
            )
            .remedy(format!("write {}", function.signature()));
        }
        if let Some(diagnostic) = self.own_function(name, given) {
            return diagnostic;
        }
        let diagnostic = Diagnostic::error(
            "unknown-method",
            format!("{receiver} has no method `{name}`"),
        );
        let of_kind = self.vocabulary.names(|k| matches!(k, CallKind::Method { of } | CallKind::Property { of } if *of == kind || *of == group));
        let builtin = self.builtin.iter().map(String::as_str);
        match nearest(name, of_kind.iter().copied()).or_else(|| nearest(name, builtin)) {
            Some(near) => {
                let named = self.vocabulary.named(near);
                let own = |d: &&&'static Declaration| match d.kind {
                    CallKind::Method { of } | CallKind::Property { of } => {
                        of == kind || of == group
                    }
                    CallKind::Function => false,
                };
                let call = named
                    .iter()
                    .find(own)
                    .or(named.first())
                    .map_or(format!("`{near}`"), |d| d.signature());
                diagnostic.remedy(format!("did you mean {call}?"))
            }
            None if of_kind.is_empty() => diagnostic,
            None => diagnostic.remedy(format!("{receiver} has: {}", of_kind.join(", "))),
        }
    }

    /// A function of the script with another number of parameters.
    fn own_function(&self, name: &str, given: usize) -> Option<Diagnostic> {
        let (_, wanted) = self.functions.iter().find(|(known, _)| known == name)?;
        Some(Diagnostic::error(
            "wrong-arguments",
            format!("`{name}` takes {}, but got {given}", arguments(*wanted)),
        ))
    }

    fn no_free_function(
        &self,
        name: &str,
        phrases: &[String],
        declared: &[&'static Declaration],
    ) -> Diagnostic {
        let given = phrases.join(" and ");
        if let Some(declaration) = declared.first() {
            return match declaration.kind {
                CallKind::Function => {
                    let takes =
                        declaration.positional.len() + usize::from(!declaration.options.is_empty());
                    let message = if phrases.len() > takes {
                        format!(
                            "{name} takes {}, but got {}",
                            arguments(takes),
                            phrases.len()
                        )
                    } else {
                        format!(
                            "{name} does not take {}",
                            if given.is_empty() { "nothing" } else { &given }
                        )
                    };
                    Diagnostic::error("wrong-arguments", message)
                        .remedy(format!("the call is {}", declaration.signature()))
                }
                CallKind::Method { .. } => {
                    Diagnostic::error("unknown-function", format!("`{name}` is a method"))
                        .remedy(format!("write {}", declaration.signature()))
                }
                CallKind::Property { .. } => Diagnostic::error(
                    "unknown-function",
                    format!("`{name}` is a unit or property"),
                )
                .remedy(format!("write it behind its value: 5.{name}")),
            };
        }
        if let Some(diagnostic) = self.own_function(name, phrases.len()) {
            return diagnostic;
        }
        if self.variables.iter().any(|known| known == name) {
            return Diagnostic::error(
                "unknown-function",
                format!("`{name}` is a value, not a function"),
            )
            .remedy(format!("if it holds a function, write {name}.call(...)"));
        }
        if self.builtin.iter().any(|known| known == name) {
            let given = if given.is_empty() {
                "nothing".to_owned()
            } else {
                given
            };
            return Diagnostic::error("wrong-arguments", format!("`{name}` does not take {given}"));
        }
        let diagnostic =
            Diagnostic::error("unknown-function", format!("there is no function `{name}`"));
        let functions = self.vocabulary.names(|kind| *kind == CallKind::Function);
        let own = self.functions.iter().map(|(name, _)| name.as_str());
        let near = nearest(name, functions.iter().copied().chain(own))
            .or_else(|| nearest(name, self.builtin.iter().map(String::as_str)));
        match near {
            Some(near) => {
                let calls: Vec<String> = self
                    .vocabulary
                    .named(near)
                    .iter()
                    .map(|d| d.signature())
                    .collect();
                let calls = if calls.is_empty() {
                    format!("`{near}`")
                } else {
                    calls.join(" or ")
                };
                diagnostic.remedy(format!("did you mean {calls}?"))
            }
            None => diagnostic.remedy("help() lists what there is"),
        }
    }

    /// A syntax error.
    pub(super) fn syntax(&self, kind: &ParseErrorType, source: &str, at: Position) -> Diagnostic {
        let text = self.sources.text(source).unwrap_or_default();
        let ended = at.is_none() || super::session::is_past(&text, at);
        let near = if ended {
            None
        } else {
            span_at(self.sources, source, at)
        };
        let span = near.or_else(|| end_of(&text, source));
        let word = |span: &Option<Span>| {
            let span = span.as_ref()?;
            let line = self.sources.line(source, span.line)?;
            Some((
                line.chars().take(span.column - 1).collect::<String>(),
                line.chars()
                    .skip(span.column - 1)
                    .take(span.length)
                    .collect::<String>(),
            ))
        };
        // What is missing at the very end is missing because the script stops there.
        let kind = if ended && matches!(kind, ParseErrorType::MissingToken(..)) {
            &ParseErrorType::UnexpectedEOF
        } else {
            kind
        };
        let diagnostic = self.syntax_text(kind).at(span.clone());
        if let Some((before, here)) = word(&span)
            && let Some(remedy) = self.unit_remedy(&before, &here)
        {
            return Diagnostic {
                remedy: vec![remedy],
                ..diagnostic
            };
        }
        match unclosed(&text).pop() {
            Some(open)
                if *kind == ParseErrorType::UnexpectedEOF
                    || matches!(kind, ParseErrorType::MissingToken(..)) =>
            {
                let text = format!("this `{}` is not closed", open.what);
                let span = Span {
                    source: source.to_owned(),
                    line: open.line,
                    column: open.column,
                    length: open.what.chars().count(),
                };
                Diagnostic {
                    labels: vec![Label { span, text }],
                    ..diagnostic
                }
            }
            _ => diagnostic,
        }
    }

    /// `5 mm`, `5mm` and `8.in`, the usual slips with units.
    fn unit_remedy(&self, before: &str, here: &str) -> Option<String> {
        if here == "," && before.contains('(') {
            return Some("a list is written with square brackets: [1, 2]".to_owned());
        }
        let number = |text: &str| {
            let text = text.trim_end();
            let start = text
                .rfind(|c: char| !(c.is_ascii_digit() || c == '.' || c == '_'))
                .map_or(0, |at| at + 1);
            let number = text.get(start..)?.trim_end_matches('.');
            number
                .starts_with(|c: char| c.is_ascii_digit())
                .then(|| number.to_owned())
        };
        let unit = match here {
            "in" | "inches" | "\"" => "inch",
            "'" | "feet" | "foot" => "ft",
            other => other,
        };
        let known = self
            .vocabulary
            .named(unit)
            .iter()
            .any(|d| d.kind == (CallKind::Property { of: "number" }));
        let number = number(before)?;
        known.then(|| format!("write {number}.{unit}"))
    }

    fn syntax_text(&self, kind: &ParseErrorType) -> Diagnostic {
        match kind {
            ParseErrorType::ExprTooDeep => self
                .limit("expression_depth", "this expression is nested too deep")
                .remedy("or take it apart with `let`"),
            ParseErrorType::MismatchedType(wanted, got) => {
                let (wanted, got) = (self.phrase(wanted), self.phrase(got));
                let message = format!("{wanted} is wanted here, but this is {got}");
                Diagnostic::error("wrong-type", message)
            }
            ParseErrorType::LiteralTooLarge(what, _) => self.too_large(what),
            ParseErrorType::VariableUndefined(name) => self.no_variable(name, false),
            other => syntax_words(other),
        }
    }

    /// The phrase of a type name of the engine.
    fn phrase(&self, name: &str) -> String {
        let name = name.trim();
        match name {
            "a boolean expression" => return "true or false".to_owned(),
            "an iterable value" => return "a list or a range".to_owned(),
            _ => {}
        }
        let last = name.rsplit("::").next().unwrap_or(name);
        builtin_phrase(last)
            .or_else(|| self.vocabulary.phrases().get(last).copied())
            .or_else(|| name.starts_with("a ").then_some(name))
            .map_or_else(|| "a value of another kind".to_owned(), str::to_owned)
    }
}

/// A text of the engine without its type names.
fn plain(text: &str) -> String {
    let mut told = String::new();
    let mut word = String::new();
    for c in text.chars().chain(std::iter::once(' ')) {
        if c.is_alphanumeric() || c == '_' || c == ':' && !word.is_empty() {
            word.push(c);
            continue;
        }
        let known = matches!(
            word.as_str(),
            "i64" | "f64" | "ImmutableString" | "FnPtr" | "Dynamic"
        );
        told.push_str(if known {
            builtin_phrase(&word).unwrap_or("a value")
        } else {
            &word
        });
        word.clear();
        told.push(c);
    }
    told.trim_end()
        .replace("()", "nothing")
        .replace("array literal", "list")
        .replace("object map literal", "option map")
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

fn constant(name: &str) -> Diagnostic {
    Diagnostic::error(
        "constant",
        format!("`{name}` is a constant and cannot change"),
    )
    .remedy(format!(
        "define it with `let {name} = ...;` to change it later"
    ))
}

fn arithmetic(text: &str) -> Diagnostic {
    let low = text.to_lowercase();
    if low.contains("zero") {
        return Diagnostic::error("division-by-zero", "cannot divide by zero")
            .remedy("check the value below the line before dividing");
    }
    if low.contains("overflow") || low.contains("too large") || low.contains("too big") {
        return Diagnostic::error("overflow", "the result is too large for a whole number")
            .remedy("write one of the numbers with a point: 2.0");
    }
    Diagnostic::error(
        "arithmetic",
        lower_first(text.split(':').next().unwrap_or(text)),
    )
}

fn operator(name: &str, phrases: &[String]) -> Option<Diagnostic> {
    let [a, rest @ ..] = phrases else {
        return None;
    };
    let message = match (name.trim_end_matches('='), rest) {
        ("-", []) => format!("{a} has no negative"),
        ("+", []) => format!("{a} takes no sign"),
        ("!", []) => format!("{a} cannot be turned with `!`; it wants true or false"),
        ("+", [b]) => format!("cannot add {a} and {b}"),
        ("-", [b]) => format!("cannot subtract {b} from {a}"),
        ("*", [b]) => format!("cannot multiply {a} by {b}"),
        ("/" | "%", [b]) => format!("cannot divide {a} by {b}"),
        ("<" | ">" | "", [b]) => format!("cannot compare {a} with {b}"),
        ("**" | "&" | "|" | "^" | "<<" | ">>" | ".." | "in" | "&&" | "||", [b]) => {
            format!("cannot use `{name}` between {a} and {b}")
        }
        _ => return None,
    };
    Some(Diagnostic::error("unlike-quantities", message))
}

/// What is wrong with how a script is written, in words that need no more than the engine's finding.
pub(super) fn syntax_words(kind: &ParseErrorType) -> Diagnostic {
    fn error(code: &str, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(code, message)
    }
    match kind {
        ParseErrorType::UnexpectedEOF => {
            error("incomplete", "the script ends in the middle of a statement")
        }
        ParseErrorType::BadInput(LexError::UnterminatedString) => {
            error("unclosed-text", "this text is not closed on its line")
                .remedy("close it with \"; texts of several lines stand between back-ticks")
        }
        ParseErrorType::BadInput(LexError::ImproperSymbol(what, _)) if what == "eval" => {
            error("not-available", "`eval` is not available to scripts")
        }
        ParseErrorType::BadInput(LexError::UnexpectedInput(what)) => {
            error("syntax", format!("`{what}` has no meaning here"))
        }
        ParseErrorType::BadInput(LexError::MalformedNumber(what)) if what.is_empty() => {
            error("syntax", "this number is not finished")
        }
        ParseErrorType::BadInput(LexError::MalformedNumber(what)) => {
            error("syntax", format!("`{what}` is not a number"))
        }
        ParseErrorType::BadInput(LexError::MalformedEscapeSequence(what)) => {
            error("syntax", format!("`{what}` has no meaning in a text"))
                .remedy("a single \\ is written \\\\; between back-ticks it stands for itself")
        }
        ParseErrorType::BadInput(LexError::MalformedChar(_)) => error(
            "syntax",
            "single quotes hold exactly one letter",
        )
        .remedy(
            "texts stand between double quotes; feet and inches in back-ticks: length(`3' 4\"`)",
        ),
        ParseErrorType::UnknownOperator(what) => {
            error("syntax", format!("there is no operator `{what}`"))
        }
        ParseErrorType::Reserved(what) if what == "eval" => {
            error("not-available", "`eval` is not available to scripts")
        }
        ParseErrorType::Reserved(what)
            if !what.chars().all(|c| c.is_alphanumeric() || c == '_') =>
        {
            error("syntax", format!("`{what}` has no meaning here"))
        }
        ParseErrorType::Reserved(what) => error(
            "reserved-word",
            format!("`{what}` is a word of the language and cannot stand here"),
        )
        .remedy("choose another name"),
        ParseErrorType::MissingToken(token, what) => {
            error("syntax", format!("`{token}` is missing {}", plain(what)))
        }
        ParseErrorType::MissingSymbol(what) => {
            error("syntax", format!("something is missing: {}", plain(what)))
        }
        ParseErrorType::ExprExpected(_) => error("syntax", "a value is missing here"),
        ParseErrorType::VariableExpected => {
            error("syntax", "the name of a variable is missing here")
        }
        ParseErrorType::PropertyExpected => {
            error("syntax", "the name of a property or option is missing here")
        }
        ParseErrorType::DuplicatedProperty(name) => {
            error("option-twice", format!("`{name}` is given twice")).remedy("keep one of them")
        }
        ParseErrorType::AssignmentToConstant(name) => constant(name),
        ParseErrorType::AssignmentToInvalidLHS(_) => error(
            "syntax",
            "only variables and their parts can be assigned to",
        )
        .remedy("to compare, write =="),
        ParseErrorType::WrongFnDefinition => error(
            "syntax",
            "a function is defined at the top of a script, not inside a block",
        ),
        ParseErrorType::MalformedIndexExpr(what) if what.starts_with("Object map") => {
            error("wrong-type", "a map is looked into by the name of a key")
                .remedy("write map.key, or map[\"key\"]")
        }
        ParseErrorType::MalformedIndexExpr(_) => error(
            "wrong-type",
            "a place in a list or a text is a whole number",
        )
        .remedy("places count from 0: list[0] is the first; list[-1] is the last"),
        ParseErrorType::LoopBreak => error("syntax", "`break` and `continue` belong inside a loop"),
        ParseErrorType::ForbiddenVariable(name) => error(
            "reserved-word",
            format!("`{name}` cannot be the name of a variable"),
        ),
        other => error("syntax", plain(&lower_first(&other.to_string()))),
    }
}

/// How a limit is raised: for a file, and for the session that goes on where an input met it.
pub(super) fn raising(limits: &Limits, name: &str, of_input: bool) -> Vec<String> {
    const TIMES: u64 = 10;
    let now = limits.figure(name);
    let most = Limits::most(name).unwrap_or(u64::MAX);
    if now >= most {
        return vec![format!("the limit `{name}` goes no higher than {most}")];
    }
    let more = now.max(1).saturating_mul(TIMES).min(most);
    let more = grouped(more).replace(' ', "_");
    let mut lines = vec![format!(
        "if the script is right, raise the limit: perpend --limit {name}={more}"
    )];
    if of_input {
        lines.push(
            "to keep this session: save_session(\"kept.rhai\"), start anew with the limit, follow(\"kept.rhai\")"
                .to_owned(),
        );
    }
    lines
}

/// `50000000` as `50 000 000`.
fn grouped(number: u64) -> String {
    const GROUP: usize = 3;
    let digits = number.to_string();
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(GROUP) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

fn end_of(text: &str, source: &str) -> Option<Span> {
    let text = text.trim_end();
    let line = text.split('\n').count();
    let last = text.rsplit('\n').next()?;
    Some(Span {
        source: source.to_owned(),
        line,
        column: last.chars().count().max(1),
        length: 1,
    })
}

/// Something that was opened and not closed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Opening {
    pub(super) what: String,
    pub(super) line: usize,
    pub(super) column: usize,
}

/// The brackets, texts and comments that are still open at the end, the innermost last.
pub(super) fn unclosed(text: &str) -> Vec<Opening> {
    let letters: Vec<char> = text.chars().collect();
    let mut open: Vec<Opening> = Vec::new();
    let (mut line, mut column, mut at) = (1, 0, 0);
    let (mut comment, mut line_comment) = (0_usize, false);
    let (mut quote, mut escaped) = (None::<char>, false);
    while let Some(&c) = letters.get(at) {
        let next = letters.get(at + 1).copied();
        at += 1;
        column += 1;
        let here = |what: &str| Opening {
            what: what.to_owned(),
            line,
            column,
        };
        if c == '\n' {
            if quote == Some('"') {
                quote = None;
                open.pop();
            }
            (line, column, line_comment, escaped) = (line + 1, 0, false, false);
        } else if line_comment {
        } else if comment > 0 {
            // Block comments nest.
            match (c, next) {
                ('*', Some('/')) => comment -= 1,
                ('/', Some('*')) => comment += 1,
                _ => continue,
            }
            if comment == 0 {
                open.pop();
            }
            (at, column) = (at + 1, column + 1);
        } else if let Some(mark) = quote {
            if c == mark && !escaped {
                quote = None;
                open.pop();
            }
            escaped = mark == '"' && c == '\\' && !escaped;
        } else {
            match (c, next) {
                ('/', Some('/')) => line_comment = true,
                ('/', Some('*')) => {
                    open.push(here("/*"));
                    comment = 1;
                    (at, column) = (at + 1, column + 1);
                }
                // A letter in single quotes may be a bracket or a quote.
                ('\'', Some(_)) if letters.get(at + 1) == Some(&'\'') => {
                    (at, column) = (at + 2, column + 2);
                }
                ('"' | '`', _) => {
                    open.push(here(&c.to_string()));
                    quote = Some(c);
                }
                ('(' | '[' | '{', _) => open.push(here(&c.to_string())),
                (')' | ']' | '}', _) => {
                    open.pop();
                }
                _ => {}
            }
        }
    }
    open
}
