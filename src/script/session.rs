//! A session: evaluates whole scripts, and inputs one after another that build on each other.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use rhai::{
    AST, Dynamic, Engine, EvalAltResult, Expr, LexError, Module, ModuleResolver, ParseErrorType,
    Position, Scope, Stmt,
};

use super::declare::{CallKind, Declaration, Example, Group, NameOf, Parameter, Registry, Want};
use super::defined::Defined;
use super::diagnostic::{Diagnostic, Sources};
use super::engine::{self, Limits, Shared, Stop};
use super::errors;
use super::explain::{Explainer, unclosed};
use super::keeping::{self, Wish};
use super::modules::{Modules, figure_about, import_clash};
use super::options::{Call, Fault};
use super::recipe_table::{RecipeParameter, exported_parameters};
use super::trying::{self, Names, Teller};
use super::vocabulary::Vocabulary;
use super::{Value, caught, help, quantities, sorting};
use crate::outside::Outside;
use crate::stop;

/// What the names of inputs start with.
pub(super) const INPUT: &str = "input ";
/// Name of the last result.
pub const ANSWER: &str = "ans";
/// Inputs that can be undone.
const UNDO_MOST: usize = 50;

/// What an evaluation gave.
#[derive(Debug, Default)]
pub struct Outcome {
    /// The value, where there is one.
    pub value: Option<Value>,
    /// The value as it shows itself; none for nothing.
    pub shown: Option<String>,
    /// What is wrong.
    pub diagnostics: Vec<Diagnostic>,
    /// Whether the script asked to end the session.
    pub quit: bool,
}

impl Outcome {
    /// Whether it failed.
    pub fn failed(&self) -> bool {
        !self.diagnostics.is_empty()
    }
}

/// What the session's own functions ask of it.
#[derive(Clone, Default)]
struct Requests {
    undo: Rc<Cell<bool>>,
    follow: Rc<RefCell<Option<String>>>,
    defined: Rc<RefCell<Vec<Defined>>>,
    kept: Rc<RefCell<Vec<String>>>,
    keep: Rc<RefCell<Option<Wish>>>,
}

/// What undo goes back to.
struct Snapshot {
    scope: Scope<'static>,
    functions: AST,
    kept: usize,
}

/// An interactive or scripted session.
///
/// It belongs on the thread of [`engine::run_on_large_stack`]; elsewhere it allows fewer call levels.
pub struct Session {
    pub(super) engine: Engine,
    scope: Scope<'static>,
    functions: AST,
    pub(super) sources: Sources,
    pub(super) modules: Modules,
    shared: Shared,
    requests: Requests,
    vocabulary: Rc<Vocabulary>,
    outside: Rc<dyn Outside>,
    pub(super) limits: Limits,
    builtin: Vec<String>,
    inputs: usize,
    /// Which input last defined a function: the engine merges them and forgets.
    origins: BTreeMap<String, String>,
    history: Vec<Snapshot>,
    /// Modules that inputs have imported, by the names they gave them.
    imported: BTreeMap<String, Rc<Module>>,
    /// While several inputs count as one: whether one of them has been noted for undo.
    together: Option<bool>,
}

impl Session {
    /// A session with the quantities and its own functions.
    pub fn new(outside: Rc<dyn Outside>, limits: Limits) -> Self {
        Self::with(outside, limits, |_| {})
    }

    /// A session with further functions: `register` declares them.
    pub fn with(
        outside: Rc<dyn Outside>,
        limits: Limits,
        register: impl FnOnce(&mut Registry),
    ) -> Self {
        let limits = limits.that_fit_the_stack();
        let (shared, requests) = (Shared::default(), Requests::default());
        let vocabulary = Rc::new(Vocabulary::default());
        let sources = Sources::new();
        let modules = Modules::new(Rc::clone(&outside), sources.clone());
        let mut engine = engine::build(&limits, &shared, &vocabulary, &outside);
        engine.set_module_resolver(modules.clone());
        let builtin = builtin_names(&engine);
        let mut registry = Registry::new(
            &mut engine,
            Rc::clone(&vocabulary),
            Rc::clone(&outside),
            limits.clone(),
            Arc::clone(&shared.interrupt),
        );
        quantities::register(&mut registry);
        caught::register(&mut registry);
        register_own(&mut registry, &shared, &requests);
        register(&mut registry);
        trying::register(
            &mut engine,
            Teller {
                sources: sources.clone(),
                vocabulary: Rc::clone(&vocabulary),
                limits: limits.clone(),
                builtin: builtin.clone(),
                names: Rc::clone(&shared.names),
            },
        );
        Self {
            engine,
            scope: Scope::new(),
            functions: AST::empty(),
            sources,
            modules,
            shared,
            requests,
            vocabulary,
            outside,
            limits,
            builtin,
            inputs: 0,
            origins: BTreeMap::new(),
            history: Vec::new(),
            imported: BTreeMap::new(),
            together: None,
        }
    }

    /// Set this from another thread to stop the running script.
    pub fn interrupt_flag(&self) -> Arc<AtomicBool> {
        Arc::clone(&self.shared.interrupt)
    }

    /// Stops whatever runs in this session as soon as a flag is up, which nothing takes down again.
    pub fn stopped_by(&self, flag: Arc<AtomicBool>) {
        *self.shared.halt.borrow_mut() = Some(flag);
    }

    /// What is declared.
    pub fn vocabulary(&self) -> Rc<Vocabulary> {
        Rc::clone(&self.vocabulary)
    }

    /// The world outside.
    pub fn outside(&self) -> Rc<dyn Outside> {
        Rc::clone(&self.outside)
    }

    /// The sources seen so far, for rendering diagnostics.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// Renders every diagnostic of an outcome, a blank line between.
    pub fn render(&self, outcome: &Outcome) -> String {
        // A terminal breaks what is too long for it anywhere; whoever reads a file has it in whole lines.
        let width = self.outside.is_terminal().then(|| self.outside.width());
        let all: Vec<String> = outcome
            .diagnostics
            .iter()
            .map(|d| d.render_within(&self.sources, width))
            .collect();
        all.join("\n\n")
    }

    /// A value as it shows itself.
    pub fn show(&self, value: &Value) -> String {
        self.vocabulary.show(value)
    }

    /// What the inputs have defined, each name once: variables first, then functions.
    pub fn defined(&self) -> Vec<Defined> {
        let mut seen = BTreeSet::new();
        // The engine lists the newest first.
        let mut found: Vec<Defined> = self
            .scope
            .iter_raw()
            .filter(|(name, _, _)| seen.insert((*name).to_owned()))
            .map(|(name, constant, value)| {
                Defined::variable(name, constant, value, &self.vocabulary)
            })
            .collect();
        let functions = self.functions.iter_functions();
        found.extend(
            functions
                .filter(|function| !function.name.starts_with("anon$"))
                .map(|function| {
                    let comment = function.comments.first();
                    let comment = comment.map(|text| text.trim_start_matches('/').trim());
                    let comment = comment.and_then(|text| text.lines().next());
                    Defined::function(function.name, &function.params, comment)
                }),
        );
        found
    }

    /// What inputs have imported by which names, each with its parameters where it is a recipe.
    pub fn imported(&self) -> Vec<(String, Vec<RecipeParameter>)> {
        self.imported
            .iter()
            .map(|(name, module)| {
                let table = module.get_var_value::<rhai::Map>("parameters");
                let table = table.unwrap_or_default();
                (name.clone(), exported_parameters(&table, &self.vocabulary))
            })
            .collect()
    }

    /// Names of the modules and recipes that an input can import, sorted.
    pub fn modules_known(&self) -> Vec<String> {
        self.modules.known(None)
    }

    /// Names of the scripts in the folder one works in, without their ending, sorted.
    pub fn scripts_here(&self) -> Vec<String> {
        self.outside.scripts_in(Path::new(""))
    }

    /// Functions and properties that are registered without a declaration, sorted; operators, what the engine calls by
    /// itself to show values, and what stands in place of its own functions of lists are not among them.
    pub fn undeclared(&self) -> Vec<String> {
        const CALLED_BY_THE_ENGINE: [&str; 4] = ["to_string", "to_debug", "print", "debug"];
        // Registered to say that scripts have no clock.
        const REFUSED: [&str; 2] = ["sleep", "timestamp"];
        let declared = self.vocabulary.names(|_| true);
        let names: BTreeSet<String> = self
            .engine
            .gen_fn_signatures(false)
            .iter()
            .filter_map(|signature| signature.split('(').next())
            .map(|name| name.trim().trim_start_matches("get$").to_owned())
            .filter(|name| rhai::is_valid_identifier(name))
            .filter(|name| !declared.contains(&name.as_str()))
            .filter(|name| !CALLED_BY_THE_ENGINE.contains(&name.as_str()))
            .filter(|name| !REFUSED.contains(&name.as_str()))
            .filter(|name| !sorting::NAMES.contains(&name.as_str()))
            .collect();
        names.into_iter().collect()
    }

    /// Runs a whole script by itself: nothing of the session is seen or kept.
    pub fn run(&mut self, source: &str, text: &str) -> Outcome {
        self.modules.forget();
        let mut scope = Scope::new();
        self.requests.keep.take();
        let mut outcome = self.evaluate(source, text, &mut scope, &AST::empty()).0;
        if let Some(wish) = self.requests.keep.take()
            && !outcome.failed()
        {
            outcome = self.keep_recipe(&wish, &[text.to_owned()], &scope);
        }
        outcome
    }

    /// Evaluates one input of the shell: what it defines is kept, unless it fails.
    pub fn input(&mut self, text: &str) -> Outcome {
        self.inputs += 1;
        let source = format!("{INPUT}{}", self.inputs);
        self.take_in(&source, text)
    }

    /// Evaluates a script of a file as an input: what it defines is kept, unless it fails.
    pub fn input_file(&mut self, file: &str) -> Outcome {
        self.modules.forget();
        match self.outside.read_script(Path::new(file)) {
            Ok(text) => self.take_in(file, &text),
            Err(trouble) => Outcome {
                diagnostics: vec![
                    Diagnostic::error("file-trouble", trouble.message).remedy(trouble.remedy),
                ],
                ..Outcome::default()
            },
        }
    }

    /// The file that the last input asked to follow, once.
    pub fn file_to_follow(&self) -> Option<String> {
        self.requests.follow.borrow_mut().take()
    }

    /// Evaluates several inputs that undo takes back as one, such as lines pasted together.
    pub fn together<R>(&mut self, work: impl FnOnce(&mut Self) -> R) -> R {
        self.together = Some(false);
        let result = work(self);
        self.together = None;
        result
    }

    fn take_in(&mut self, source: &str, text: &str) -> Outcome {
        *self.requests.defined.borrow_mut() = self.defined();
        self.requests.keep.take();
        let snapshot = Snapshot {
            scope: self.scope.clone(),
            functions: self.functions.clone(),
            kept: self.requests.kept.borrow().len(),
        };
        let mut scope = std::mem::take(&mut self.scope);
        let functions = self.functions.clone();
        let (mut outcome, tree) = self.evaluate(source, text, &mut scope, &functions);
        let Some(tree) = tree.filter(|_| !outcome.failed()) else {
            self.scope = snapshot.scope;
            return outcome;
        };
        if self.requests.undo.replace(false) {
            self.undo(&mut outcome);
            return outcome;
        }
        if let Some(wish) = self.requests.keep.take() {
            let mut inputs = self.requests.kept.borrow().clone();
            inputs.push(text.to_owned());
            let saved = self.keep_recipe(&wish, &inputs, &scope);
            if saved.failed() {
                self.scope = snapshot.scope;
                return saved;
            }
            outcome = saved;
        }
        self.functions = self.functions.merge(&tree).clone_functions_only();
        self.keep_imports(&tree, source);
        let defined = tree
            .iter_functions()
            .map(|f| (f.name.to_owned(), source.to_owned()));
        self.origins.extend(defined);
        let defines = tree
            .statements()
            .iter()
            .any(|s| !matches!(s, Stmt::Expr(_) | Stmt::FnCall(..)))
            || tree.iter_functions().next().is_some();
        if let Some(value) = &outcome.value {
            scope.set_or_push(ANSWER, value.clone());
        }
        self.scope = squashed(&scope);
        self.keep_constants();
        if defines {
            self.requests
                .kept
                .borrow_mut()
                .push(text.trim_end().to_owned());
            if self.together != Some(true) {
                self.history.push(snapshot);
            }
            self.together = self.together.map(|_| true);
            if self.history.len() > UNDO_MOST {
                self.history.remove(0);
            }
        }
        outcome
    }

    /// Writes a recipe of what the inputs defined, once it has built what it should.
    fn keep_recipe(&mut self, wish: &Wish, inputs: &[String], scope: &Scope) -> Outcome {
        match self.recipe_of(wish, inputs, scope) {
            Ok(place) => Outcome {
                shown: Some(place.clone()),
                value: Some(place.into()),
                ..Outcome::default()
            },
            Err(fault) => Outcome::from(fault),
        }
    }

    fn recipe_of(
        &mut self,
        wish: &Wish,
        inputs: &[String],
        scope: &Scope,
    ) -> Result<String, Fault> {
        let file = format!("{}.rhai", wish.name);
        let folder = self.outside.recipe_folder().unwrap_or_default();
        let there = folder.join(&file);
        let version = if self.outside.exists(&there) {
            let version = figure_about(&self.outside.read_script(&there)?, "version").unwrap_or(1);
            if !wish.over {
                return Err(Fault::new(
                    "recipe-exists",
                    format!(
                        "there is a recipe \"{}\" already, version {version}",
                        wish.name
                    ),
                )
                .remedy(format!(
                    "give it another name, or replace it as version {} with #{{ over: true }}",
                    version + 1
                )));
            }
            version + 1
        } else {
            1
        };
        let value_of = |name: &str| scope.get_value::<Dynamic>(name).map(Dynamic::flatten);
        let plan = value_of(&wish.plan);
        if !plan.is_some_and(|plan| self.vocabulary.is_named(&plan, "Plan")) {
            return Err(Fault::new(
                "not-a-plan",
                format!("`{}` is no variable that holds a plan", wish.plan),
            )
            .remedy("name the plan first: let p = ans; and write its name as a text: \"p\""));
        }
        let mut usual = Vec::new();
        for name in &wish.parameters {
            let value = value_of(name);
            let written = value.as_ref().and_then(keeping::literal);
            usual.push((
                name.clone(),
                written.ok_or_else(|| match &value {
                    None => Fault::new(
                        "unknown-name",
                        format!("there is no variable `{name}` to change"),
                    )
                    .remedy(format!(
                        "give the value a name before the plan uses it: let {name} = ...;"
                    )),
                    Some(value) => Fault::new(
                        "wrong-type",
                        format!(
                            "`{name}` is {}, which no recipe can hold as its usual value",
                            self.vocabulary.kind_of(value)
                        ),
                    )
                    .remedy("let numbers, lengths, words or lists of them be changed"),
                })?,
            ));
        }
        let source = there.to_string_lossy().into_owned();
        let mut wrong = None;
        for constants_outside in [false, true] {
            let text = keeping::module(wish, version, inputs, &usual, constants_outside);
            let tried = format!("{text}build(#{{}})");
            let tried = self
                .evaluate(&source, &tried, &mut Scope::new(), &AST::empty())
                .0;
            match tried.diagnostics.into_iter().next() {
                None => {
                    let place = self.outside.write_recipe(&file, text.as_bytes())?;
                    self.modules.forget();
                    return Ok(place.to_string_lossy().into_owned());
                }
                Some(found) => wrong = wrong.or(Some(found.message)),
            }
        }
        Err(Fault::new(
            "recipe-unfinished",
            format!(
                "what was typed does not make a recipe: {}",
                wrong.unwrap_or_default()
            ),
        )
        .remedy("define everything that the plan needs by name, without `ans`, or write the module by hand"))
    }

    fn undo(&mut self, outcome: &mut Outcome) {
        let Some(snapshot) = self.history.pop() else {
            self.scope = Scope::new();
            outcome.diagnostics.push(Diagnostic::error(
                "nothing-to-undo",
                "there is no input to undo",
            ));
            return;
        };
        let undone = self.requests.kept.borrow_mut().split_off(snapshot.kept);
        self.scope = snapshot.scope;
        self.functions = snapshot.functions;
        self.keep_constants();
        self.outside
            .print(&format!("undone: {}", undone.join("\n")));
    }

    /// Imports of this input stay known: the engine itself forgets them.
    fn keep_imports(&mut self, tree: &AST, source: &str) {
        for statement in tree.statements() {
            if let Stmt::Import(import, at) = statement
                && let (Expr::StringConstant(path, _), alias) = &**import
                && !alias.name.is_empty()
                && let Ok(module) = self.modules.resolve(&self.engine, Some(source), path, *at)
            {
                self.imported
                    .insert(alias.name.to_string(), Rc::clone(&module));
                self.engine
                    .register_static_module(alias.name.as_str(), module);
            }
        }
    }

    fn keep_constants(&mut self) {
        let constants = self.scope.iter_raw().filter(|(_, constant, _)| *constant);
        *self.shared.constants.borrow_mut() = constants
            .map(|(name, _, value)| (name.to_owned(), value.clone()))
            .collect();
    }

    fn evaluate(
        &mut self,
        source: &str,
        text: &str,
        scope: &mut Scope<'static>,
        functions: &AST,
    ) -> (Outcome, Option<AST>) {
        self.sources.add(source, text);
        self.shared.interrupt.store(false, Ordering::Relaxed);
        let read = engine::caught(|| trying::read(&self.engine, source, text));
        let (written, tree) = match read {
            Ok(Ok(read)) => (read.written, read.run),
            Ok(Err(error)) => {
                let diagnostic = self
                    .explainer(source, scope, functions, &AST::empty())
                    .syntax(error.err_type(), source, error.position());
                return (
                    Outcome {
                        diagnostics: vec![diagnostic],
                        ..Outcome::default()
                    },
                    None,
                );
            }
            Err(panic) => return (internal_fault(&panic), None),
        };
        self.sources.add_tree(source, &written);
        let mut merged = functions.merge(&tree);
        merged.set_source(source);
        let clash = import_clash(&tree);
        let mut outcome = match clash {
            Some((fault, at)) => Outcome {
                diagnostics: self.explained(&fault.into_error("import", at), source),
                ..Outcome::default()
            },
            None => self.perform(source, scope, &merged, &tree),
        };
        if outcome.quit {
            return (outcome, None);
        }
        // To show a plan is to lay it.
        outcome.shown = self.watched(|| {
            let value = outcome.value.as_ref();
            value.map(|value| self.vocabulary.answer(value))
        });
        (outcome, Some(tree))
    }

    /// Runs a tree to its value, which is not shown. `own` is what of it the source itself wrote.
    pub(super) fn perform(
        &self,
        source: &str,
        scope: &mut Scope<'static>,
        tree: &AST,
        own: &AST,
    ) -> Outcome {
        *self.shared.names.borrow_mut() = self.names(source, scope, tree, own);
        self.shared.started.set(Some(Instant::now()));
        let result = engine::caught(|| {
            self.watched(|| self.engine.eval_ast_with_scope::<Dynamic>(scope, tree))
        });
        self.shared.started.set(None);
        if self.shared.quit.replace(false) {
            return Outcome {
                quit: true,
                ..Outcome::default()
            };
        }
        match result {
            Err(panic) => internal_fault(&panic),
            Ok(Err(error)) => Outcome {
                diagnostics: self
                    .explainer(source, scope, tree, own)
                    .explain(&error, source),
                ..Outcome::default()
            },
            Ok(Ok(value)) => {
                let value = value.flatten();
                Outcome {
                    value: (!value.is_unit()).then_some(value),
                    ..Outcome::default()
                }
            }
        }
    }

    /// What an error in a source means.
    pub(super) fn explained(&self, error: &EvalAltResult, source: &str) -> Vec<Diagnostic> {
        self.explainer(source, &Scope::new(), &AST::empty(), &AST::empty())
            .explain(error, source)
    }

    /// Does work of a run within its limits.
    fn watched<T>(&self, work: impl FnOnce() -> T) -> T {
        self.limits
            .allowing_pieces(|| stop::watched(engine::asks(&self.limits, &self.shared), work))
    }

    fn explainer(&self, source: &str, scope: &Scope, functions: &AST, own: &AST) -> Explainer<'_> {
        let names = self.names(source, scope, functions, own);
        Explainer {
            sources: &self.sources,
            vocabulary: &self.vocabulary,
            limits: &self.limits,
            variables: scope
                .iter_raw()
                .map(|(name, _, _)| name.to_owned())
                .collect(),
            functions: names.functions,
            builtin: &self.builtin,
            origins: names.origins,
            of_input: names.of_input,
        }
    }

    /// What a run knows of names: what is in scope before it, and what its top level defines.
    fn names(&self, source: &str, scope: &Scope, functions: &AST, own: &AST) -> Names {
        let mut origins = self.origins.clone();
        for function in own.iter_functions() {
            origins.remove(function.name);
        }
        let before = scope.iter_raw().map(|(name, _, _)| name.to_owned());
        let defined = functions.statements().iter().filter_map(|s| match s {
            Stmt::Var(variable, ..) => Some(variable.0.name.to_string()),
            _ => None,
        });
        let functions = functions
            .iter_functions()
            .filter(|f| !f.name.starts_with("anon$"));
        Names {
            variables: before.chain(defined).collect(),
            functions: functions
                .map(|f| (f.name.to_owned(), f.params.len()))
                .collect(),
            origins,
            of_input: source.starts_with(INPUT),
        }
    }

    /// Whether more lines are needed before this makes sense.
    pub fn is_incomplete(&self, text: &str) -> bool {
        is_incomplete(&self.engine, text)
    }
}

/// Whether more lines are needed before `text` makes sense.
pub(crate) fn is_incomplete(engine: &Engine, text: &str) -> bool {
    // A text in double quotes ends with its line, so waiting for more would not help.
    if unclosed(text).iter().any(|opening| opening.what != "\"") {
        return true;
    }
    let Some(last) = text.trim_end().lines().last() else {
        return false;
    };
    // A comment for a function belongs to the function on the next line.
    if last.trim_start().starts_with("///") {
        return true;
    }
    let Err(error) = engine.compile(text) else {
        return false;
    };
    match error.err_type() {
        ParseErrorType::UnexpectedEOF => true,
        ParseErrorType::BadInput(LexError::UnterminatedString) => false,
        _ => is_past(text, error.position()),
    }
}

pub(super) fn is_past(text: &str, at: Position) -> bool {
    let text = text.trim_end();
    let lines = text.split('\n').count();
    let last = text
        .rsplit('\n')
        .next()
        .map_or(0, |line| line.chars().count());
    match (at.line(), at.position()) {
        (Some(line), Some(column)) => line > lines || (line == lines && column > last),
        _ => false,
    }
}

/// An input with what separates it from the next.
fn ended(input: String) -> String {
    let last = keeping::items(&input).pop().unwrap_or_default();
    let ends = last.ends_with(';') || keeping::opens_block(&last);
    let end = if ends || keeping::without_comments(&last).is_empty() {
        "\n"
    } else if last
        .lines()
        .next_back()
        .is_some_and(|line| line.contains("//"))
    {
        // A semicolon in a remark ends nothing.
        "\n;\n"
    } else {
        ";\n"
    };
    input + end
}

fn internal_fault(panic: &str) -> Outcome {
    let diagnostic = Diagnostic::error(
        "internal-fault",
        format!("the program met a fault of its own: {panic}"),
    )
    .remedy("the session goes on; please report the script that caused it");
    Outcome {
        diagnostics: vec![diagnostic],
        ..Outcome::default()
    }
}

/// Only the last variable of every name: shadowed ones are out of reach for later inputs.
fn squashed(scope: &Scope) -> Scope<'static> {
    let mut entries: Vec<(&str, bool, &Dynamic)> = scope.iter_raw().collect();
    // The engine lists the newest first.
    entries.reverse();
    let mut last: BTreeMap<&str, usize> = BTreeMap::new();
    for (at, (name, _, _)) in entries.iter().enumerate() {
        last.insert(name, at);
    }
    let mut kept = Scope::new();
    for (at, (name, constant, value)) in entries.into_iter().enumerate() {
        if last.get(name) != Some(&at) {
            continue;
        }
        if constant {
            kept.push_constant_dynamic(name, value.clone());
        } else {
            kept.push_dynamic(name, value.clone());
        }
    }
    kept
}

/// Names of the engine's own functions that can be written as calls.
fn builtin_names(engine: &Engine) -> Vec<String> {
    let signatures = engine.gen_fn_signatures(true);
    let names: BTreeSet<String> = signatures
        .iter()
        .filter_map(|signature| signature.split('(').next())
        .map(|name| name.trim().to_owned())
        .filter(|name| rhai::is_valid_identifier(name))
        .collect();
    names.into_iter().collect()
}

const SESSION: Declaration = Declaration {
    name: "",
    group: Group::Session,
    summary: "",
    kind: CallKind::Function,
    positional: &[],
    options: &[],
    returns: "Nothing.",
    examples: &[],
    errors: &[],
    see_also: &[],
};

static SHOW: Declaration = Declaration {
    name: "show",
    summary: "Prints a value as the shell shows it.",
    positional: &[Parameter::required(
        "value",
        Want::Anything,
        "What to print.",
    )],
    examples: &[Example {
        script: "show(3.ft + 4.inch)",
        shows: "",
    }],
    ..SESSION
};

static HELP: Declaration = Declaration {
    name: "help",
    summary: "Lists what there is, or tells about one name; `start` leads to a first plan.",
    positional: &[Parameter::optional(
        "name",
        Want::Name(NameOf::Help),
        "",
        "The name to tell about, or the name of a page.",
    )],
    examples: &[Example {
        script: "help(\"range\")",
        shows: "",
    }],
    see_also: &["names"],
    ..SESSION
};

static NAMES: Declaration = Declaration {
    name: "names",
    summary: "Lists what you have defined so far.",
    examples: &[Example {
        script: "let joint = 10.mm; names()",
        shows: "",
    }],
    see_also: &["help"],
    ..SESSION
};

static QUIT: Declaration = Declaration {
    name: "quit",
    summary: "Ends the session.",
    examples: &[Example {
        script: "quit()",
        shows: "",
    }],
    ..SESSION
};

static UNDO: Declaration = Declaration {
    name: "undo",
    summary: "Takes back the last input that defined or changed something.",
    examples: &[Example {
        script: "undo()",
        shows: "",
    }],
    errors: &[errors::SESSION],
    ..SESSION
};

static FOLLOW: Declaration = Declaration {
    name: "follow",
    summary: "Runs a script of a file as if it were typed; in the shell again whenever the file changes.",
    positional: &[Parameter::required(
        "file",
        Want::Name(NameOf::File),
        "The script; an empty text follows no file any more.",
    )],
    examples: &[Example {
        script: "follow(\"cabinet.rhai\")",
        shows: "",
    }],
    see_also: &["names", "undo"],
    errors: &[errors::these(&[errors::FILE_TROUBLE])],
    ..SESSION
};

static SAVE_SESSION: Declaration = Declaration {
    name: "save_session",
    summary: "Writes the inputs that defined something into a script in the output folder.",
    positional: &[Parameter::required(
        "file",
        Want::Text,
        "The name of the script.",
    )],
    returns: "The place of the file.",
    examples: &[Example {
        script: "save_session(\"bench.rhai\")",
        shows: "bench.rhai",
    }],
    errors: &[errors::these(&[errors::FILE_TROUBLE])],
    ..SESSION
};

static SAVE_RECIPE: Declaration = Declaration {
    name: "save_recipe",
    summary: "Keeps a plan as a recipe of one's own, in which the named variables may be set.",
    positional: &[
        Parameter::required(
            "name",
            Want::Text,
            "The name of the recipe, such as \"herb_bed\".",
        ),
        Parameter::required(
            "plan",
            Want::Text,
            "The name of the variable that holds the plan.",
        ),
        Parameter::optional(
            "parameters",
            Want::List(&Want::Text),
            "none",
            "Names of the variables that may be set; their values now become the usual ones.",
        ),
    ],
    options: &[
        Parameter::optional(
            "about",
            Want::Text,
            "its name",
            "The first line about it, which lists of recipes show.",
        ),
        Parameter::optional(
            "meanings",
            Want::Map,
            "their names",
            "What each parameter means, by name.",
        ),
        Parameter::optional(
            "over",
            Want::Flag,
            "false",
            "Whether a recipe of that name is replaced, as its next version.",
        ),
    ],
    returns: "The place of the file in the recipe folder.",
    examples: &[Example {
        script: "let courses = 4;\nlet p = plan(\"post\", #{ unit: \"uk\" }).place(\"post\", pier(#{ outside: [1, 1], courses: courses }));\nsave_recipe(\"post\", \"p\", [\"courses\"]);",
        shows: "recipes/post.rhai",
    }],
    see_also: &["settings", "save_session", "save_plan"],
    ..SESSION
};

static UNITS_SHOWN: Declaration = Declaration {
    name: "show_lengths_in",
    summary: "Sets whether lengths show metric or in feet and inches.",
    positional: &[Parameter::required(
        "style",
        Want::Word(&["metric", "inch"]),
        "How lengths show.",
    )],
    examples: &[Example {
        script: "show_lengths_in(\"metric\")",
        shows: "",
    }],
    ..SESSION
};

/// What a call asks to be kept as a recipe.
fn wish(call: &Call) -> Result<Wish, Fault> {
    let wish = Wish {
        name: call.text("name")?,
        plan: call.text("plan")?,
        parameters: if call.has("parameters") {
            call.texts("parameters")?
        } else {
            Vec::new()
        },
        meanings: if call.has("meanings") {
            call.map("meanings")?
        } else {
            rhai::Map::new()
        },
        about: call
            .opt_text("about")?
            .map(|about| about.replace('\n', " ")),
        over: call.flag("over")?,
    };
    let names = [("name", &wish.name), ("plan", &wish.plan)];
    let named = names
        .into_iter()
        .chain(wish.parameters.iter().map(|name| ("parameters", name)));
    for (of, name) in named {
        if !rhai::is_valid_identifier(name) {
            return Err(Fault::new("wrong-name", format!("\"{name}\" is no name"))
                .remedy("use letters, figures and `_`, such as \"herb_bed\"")
                .about(of));
        }
    }
    if let Some(stray) = wish
        .meanings
        .keys()
        .find(|key| !wish.parameters.iter().any(|p| p == key.as_str()))
    {
        return Err(Fault::new(
            "unknown-option",
            format!("`{stray}` is not among the parameters"),
        )
        .remedy("list it among them, or leave it out")
        .about("meanings")
        .entry_key(stray.as_str()));
    }
    Ok(wish)
}

fn register_own(registry: &mut Registry, shared: &Shared, requests: &Requests) {
    let (vocabulary, outside) = (registry.vocabulary(), registry.outside());
    let (own, to) = (Rc::downgrade(&vocabulary), Rc::clone(&outside));
    registry.function(&SHOW, move |call| {
        if let (Some(vocabulary), Some(value)) = (own.upgrade(), call.raw("value")) {
            to.print(&vocabulary.answer(value));
        }
        Ok(())
    });
    let (own, to) = (Rc::downgrade(&vocabulary), Rc::clone(&outside));
    registry.function(&HELP, move |call| {
        if let Some(vocabulary) = own.upgrade() {
            to.print(&match call.opt_text("name")? {
                Some(name) => help::about(&vocabulary, &name, to.width()),
                None => help::overview(&vocabulary, to.width()),
            });
        }
        Ok(())
    });
    let (defined, to) = (Rc::clone(&requests.defined), Rc::clone(&outside));
    registry.function(&NAMES, move |_| {
        let lines = super::defined::list(&defined.borrow());
        to.print(if lines.is_empty() {
            "Nothing is defined yet."
        } else {
            &lines
        });
        Ok(())
    });
    let follow = Rc::clone(&requests.follow);
    registry.function(&FOLLOW, move |call| {
        *follow.borrow_mut() = Some(call.text("file")?);
        Ok(())
    });
    let undo = Rc::clone(&requests.undo);
    registry.function(&UNDO, move |_| {
        undo.set(true);
        Ok(())
    });
    let (kept, to) = (Rc::clone(&requests.kept), outside);
    registry.function(&SAVE_SESSION, move |call| {
        let text: String = kept.borrow().iter().cloned().map(ended).collect();
        let path = to.write_file(&call.text("file")?, text.as_bytes())?;
        Ok(path.to_string_lossy().into_owned())
    });
    let keep = Rc::clone(&requests.keep);
    registry.function(&SAVE_RECIPE, move |call| {
        *keep.borrow_mut() = Some(wish(call)?);
        Ok(())
    });
    registry.function(&UNITS_SHOWN, |call| {
        let style = match call.word("style")?.as_str() {
            "inch" => crate::quantity::LengthStyle::FEET_INCHES,
            _ => crate::quantity::LengthStyle::Metric,
        };
        call.vocabulary().set_style(style);
        Ok(())
    });
    let quit = Rc::clone(&shared.quit);
    registry.by_hand(&QUIT, move |engine| {
        engine.register_fn("quit", move || -> Result<(), Box<EvalAltResult>> {
            quit.set(true);
            Err(EvalAltResult::ErrorTerminated(Dynamic::from(Stop::Quit), Position::NONE).into())
        });
    });
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use proptest::prelude::*;

    use super::*;
    use crate::outside::MemoryOutside;

    fn session() -> (Session, Rc<MemoryOutside>) {
        let world = MemoryOutside::new()
            .with_script(
                "sizes.rhai",
                "export const DEPTH = 3.ft; fn twice(n) { n * 2 }",
            )
            .with_recipes("");
        let outside = Rc::new(world);
        (Session::new(outside.clone(), Limits::default()), outside)
    }

    fn shown(session: &mut Session, text: &str) -> String {
        let outcome = session.input(text);
        assert!(!outcome.failed(), "{text}: {}", session.render(&outcome));
        outcome.shown.unwrap_or_default()
    }

    fn code(session: &mut Session, text: &str) -> String {
        session
            .input(text)
            .diagnostics
            .first()
            .map(|d| d.code.clone())
            .unwrap_or_default()
    }

    #[test]
    fn variables_functions_constants_and_imports_persist() {
        let (mut session, _) = session();
        shown(&mut session, "let a = 1.m; const JOINT = 10.mm;");
        shown(&mut session, "fn gap(n) { JOINT * n }");
        shown(&mut session, "import \"sizes\" as sizes;");
        assert_eq!(
            shown(&mut session, "gap(2) + a"),
            "1020 mm (about 3' 4 3/16\")"
        );
        assert_eq!(
            shown(&mut session, "sizes::twice(sizes::DEPTH)"),
            "1828.8 mm (6' 0\")"
        );
        assert_eq!(
            shown(&mut session, "fn deep() { sizes::twice(1.m) } deep()"),
            "2000 mm (about 6' 6 3/4\")"
        );
        assert_eq!(shown(&mut session, "ans"), "2000 mm (about 6' 6 3/4\")");
        shown(&mut session, "fn wrong() { 1 + 1.ft }");
        let outcome = session.input("\n\nwrong()");
        assert!(
            session.render(&outcome).contains("--> input 8:1:16\n"),
            "{}",
            session.render(&outcome)
        );
        shown(&mut session, "fn gap(n) { JOINT * n * 2 }");
        assert_eq!(shown(&mut session, "gap(2)"), "40 mm (about 1 9/16\")");
    }

    #[test]
    fn a_failed_input_leaves_everything_as_it_was() {
        let (mut session, _) = session();
        shown(&mut session, "let a = 1; let list = [1];");
        assert_eq!(
            code(&mut session, "a = 5; list.push(2); let b = 3; nope"),
            "unknown-name"
        );
        assert_eq!(shown(&mut session, "a"), "1");
        assert_eq!(shown(&mut session, "list"), "[1]");
        assert_eq!(code(&mut session, "b"), "unknown-name");
        assert_eq!(code(&mut session, "let = 3"), "syntax");
        assert_eq!(shown(&mut session, "a"), "1");
    }

    #[test]
    fn a_whole_script_neither_sees_nor_leaves_anything() {
        let (mut session, _) = session();
        shown(&mut session, "let a = 1; const C = 2;");
        assert!(session.run("one.rhai", "a").failed());
        assert!(session.run("one.rhai", "fn f() { C } f()").failed());
        assert_eq!(
            session.run("one.rhai", "let b = 2.m; b").shown.as_deref(),
            Some("2000 mm (about 6' 6 3/4\")")
        );
        assert_eq!(code(&mut session, "b"), "unknown-name");
    }

    #[test]
    fn an_input_is_undone_and_the_session_is_saved() {
        let (mut session, outside) = session();
        shown(&mut session, "let a = 1");
        shown(&mut session, "a = 2;");
        shown(&mut session, "a + 1");
        shown(&mut session, "undo()");
        assert_eq!(shown(&mut session, "a"), "1");
        shown(&mut session, "fn f() { 3 }");
        shown(&mut session, "save_session(\"kept.rhai\")");
        let text = String::from_utf8(outside.written()["kept.rhai"].clone()).unwrap();
        assert_eq!(text, "let a = 1;\nfn f() { 3 }\n");
        assert_eq!(
            code(&mut session, "save_session(\"../kept.rhai\")"),
            "file-trouble"
        );
        shown(&mut session, "undo()");
        shown(&mut session, "undo()");
        assert_eq!(code(&mut session, "a"), "unknown-name");
        assert_eq!(code(&mut session, "undo()"), "nothing-to-undo");
    }

    #[test]
    fn help_and_names_print() {
        let (mut session, outside) = session();
        shown(&mut session, "help()");
        assert!(outside.printed()[0].contains("length(text)"));
        shown(&mut session, "help(\"lenght\")");
        assert!(outside.printed()[0].contains("help(\"length\")"));
        shown(&mut session, "let b = 1.m; const A = 2; fn f(x) { x }");
        shown(&mut session, "names()");
        assert_eq!(
            outside.printed(),
            ["A     a whole number: 2, constant\nb     a length: 1000 mm\nf(x)  a function"]
        );
        assert!(session.input("quit()").quit);
    }

    #[test]
    fn incomplete_inputs_are_told_from_wrong_ones() {
        let (session, _) = session();
        for text in [
            "let x =",
            "f(1,",
            "fn f() {",
            "#{ a: 1,",
            "if a {",
            "/* note",
            "`open",
            "1 +",
            "/// about f",
            "x(\"a\", [",
            "'(' + (",
        ] {
            assert!(session.is_incomplete(text), "{text} passes for complete");
        }
        for text in [
            "1",
            "let x = 1",
            "f(1)",
            "\"open",
            "let = 3",
            "1 + )",
            "5 mm",
            "// note",
            "",
            "'('",
            "\"(\"",
            "fn f() { 1 }",
            "/* a /* b */ */ 1",
        ] {
            assert!(!session.is_incomplete(text), "{text} passes for incomplete");
        }
    }

    #[test]
    fn endless_scripts_are_stopped() {
        let outside = Rc::new(MemoryOutside::new());
        let mut session = Session::new(
            outside,
            Limits {
                operations: u64::MAX,
                wall_clock: Duration::from_millis(50),
                ..Limits::default()
            },
        );
        assert_eq!(code(&mut session, "loop { }"), "limit-wall-clock");
        assert_eq!(
            code(&mut session, "loop { try { loop { } } catch { } }"),
            "limit-wall-clock"
        );
        let flag = session.interrupt_flag();
        let waker = std::thread::spawn(move || {
            std::thread::sleep(Duration::from_millis(10));
            flag.store(true, Ordering::Relaxed);
        });
        assert_eq!(code(&mut session, "loop { }"), "interrupted");
        waker.join().unwrap();
        assert_eq!(shown(&mut session, "1"), "1");
    }

    #[test]
    fn the_deepest_allowed_calls_fit_the_stack() {
        let scripts = [
            "fn f(n) { f(n + 1) } f(0)",
            "fn f(n) { [1].map(|x| #{ a: [f(n + 1), f(n + 1)] }) } f(0)",
            "fn f(n) { if true { for i in 0..1 { switch n { _ => { let x = #{ a: [[[[f(n + 1)]]]] }; } } } } } f(0)",
            "let f = |g, n| g.call(g, n + 1); f.call(f, 0)",
        ];
        let codes = engine::run_on_large_stack(|| {
            let (mut session, _) = session();
            scripts.map(|script| code(&mut session, script))
        });
        for code in codes.unwrap() {
            assert!(code.starts_with("limit-"), "{code}");
        }
    }

    #[test]
    fn a_small_stack_allows_fewer_calls() {
        let (mut session, _) = session();
        assert_eq!(
            code(
                &mut session,
                "fn f(n) { [1].map(|x| #{ a: [f(n + 1)] }) } f(0)"
            ),
            "limit-call-levels"
        );
    }

    #[test]
    fn deeply_nested_values_fit_the_stack() {
        let scripts = [
            "let a = []; loop { a = [a]; }",
            "let m = #{}; loop { m = #{ m: m }; }",
            "let a = []; loop { a = [#{ a: [a] }]; }",
        ];
        let run = || {
            // Each step walks the whole value, so the default limit would take half a minute here.
            let limits = Limits {
                array: 4_000,
                map: 4_000,
                ..Limits::default()
            };
            let mut session = Session::new(Rc::new(MemoryOutside::new()), limits);
            for script in scripts {
                let found = code(&mut session, script);
                assert!(
                    matches!(found.as_str(), "limit-array" | "limit-map"),
                    "{found}"
                );
            }
        };
        run();
        engine::run_on_large_stack(run).unwrap();
    }

    #[test]
    fn constants_of_maps_do_not_break_the_engine() {
        let (mut session, _) = session();
        assert_eq!(
            code(&mut session, "const M = #{ a: 1 }; M.a = 2"),
            "constant"
        );
    }

    const TOKENS: [&str; 44] = [
        "let",
        "x",
        "=",
        "1",
        "2.5",
        "3.ft",
        ".mm",
        "(",
        ")",
        "[",
        "]",
        "#{",
        "{",
        "}",
        "a:",
        ",",
        ";",
        "+",
        "-",
        "*",
        "/",
        "%",
        "==",
        "<",
        "fn f(n)",
        "f(",
        "|n|",
        "if",
        "else",
        "for i in",
        "0..3",
        "range(",
        "length(",
        "\"t\"",
        "`${",
        "`",
        "const",
        "return",
        "throw",
        "try",
        "catch",
        "import",
        "()",
        ".round_to(",
    ];

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(400))]
        #[test]
        fn no_text_panics(parts in prop::collection::vec(prop::sample::select(&TOKENS[..]), 0..24)) {
            let limits = Limits { operations: 10_000, ..Limits::default() };
            let mut session = Session::new(Rc::new(MemoryOutside::new()), limits);
            let text = parts.join(" ");
            let outcome = session.input(&text);
            prop_assert!(outcome.diagnostics.iter().all(|d| d.code != "internal-fault"), "{text}");
            for diagnostic in &outcome.diagnostics {
                let rendered = diagnostic.render(session.sources());
                for jargon in ["i64", "f64", "Dynamic", "FnPtr", "ImmutableString", "rust", "perpend::", "rhai::"] {
                    prop_assert!(!diagnostic.message.contains(jargon), "{rendered}");
                }
            }
            session.is_incomplete(&text);
        }

        #[test]
        fn no_letters_panic(text in "\\PC{0,40}") {
            let limits = Limits { operations: 10_000, ..Limits::default() };
            let mut session = Session::new(Rc::new(MemoryOutside::new()), limits);
            let outcome = session.input(&text);
            session.render(&outcome);
            session.is_incomplete(&text);
        }
    }

    #[test]
    fn inputs_are_kept_apart_however_they_end() {
        for (input, kept) in [
            ("let a = 1", "let a = 1;\n"),
            ("let a = 1;", "let a = 1;\n"),
            ("let a = 1; // one", "let a = 1; // one\n"),
            ("let a = 1 // one", "let a = 1 // one\n;\n"),
            ("let m = #{ a: 1 }", "let m = #{ a: 1 };\n"),
            ("fn f(n) { n }", "fn f(n) { n }\n"),
            ("let a = 1; a", "let a = 1; a;\n"),
            ("let t = \"// no remark\";", "let t = \"// no remark\";\n"),
        ] {
            assert_eq!(ended(input.to_owned()), kept);
        }
    }
}
