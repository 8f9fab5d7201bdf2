//! Building a recipe by its name, with options that no script wrote.

use std::collections::BTreeMap;

use rhai::{Dynamic, Map, ModuleResolver, Position, Scope};

use super::diagnostic::{Diagnostic, Given, Span};
use super::{Fault, Outcome, Session, given};

/// Options that a caller hands over as values.
const OPTIONS: &str = "options";
/// Imports a recipe and builds it. Both names are variables, so one tree serves every recipe.
pub(super) const BUILD: &str = "import recipe as found; found::build(options)";

impl Session {
    /// Reads a value as it is given on the command line: `10.mm`, `10 mm`, `[4, 3]`, `true`, `nf`.
    ///
    /// # Errors
    /// When it is no value of the language.
    pub fn given(&self, text: &str) -> Result<Dynamic, Fault> {
        given::value(&self.engine, text)
    }

    /// Reads options given as `key=value`; what is wrong with them later points into these texts, under the name `source`.
    ///
    /// # Errors
    /// An outcome with every text that is no `key=value`, gives a key again, or has no readable value.
    pub fn given_options(&mut self, source: &str, texts: &[String]) -> Result<Map, Outcome> {
        let lines: Vec<String> = texts
            .iter()
            .map(|text| text.replace(|c: char| c.is_control(), " "))
            .collect();
        let mut places: BTreeMap<String, Given> = BTreeMap::new();
        let (mut options, mut diagnostics) = (Map::new(), Vec::new());
        for (at, line) in lines.iter().enumerate() {
            let span = |start: usize, length: usize| Span {
                source: source.to_owned(),
                line: at + 1,
                column: start + 1,
                length: length.max(1),
            };
            let Some((key, value)) = line.split_once('=') else {
                let all = Some(span(0, line.chars().count()));
                let fault = Fault::new("unreadable-option", "this sets nothing");
                diagnostics
                    .push(told(&fault, all).remedy("write the option and its value: courses=4"));
                continue;
            };
            let width = key.chars().count();
            let place = Given {
                key: span(0, key.trim_end().chars().count()),
                value: span(width + 1, value.trim_end().chars().count()),
            };
            let key = key.trim();
            if options.contains_key(key) {
                let fault = Fault::new("set-twice", format!("`{key}` is set twice"))
                    .remedy("leave one of them out");
                diagnostics.push(told(&fault, Some(place.key.clone())));
            }
            match self.given(value) {
                Ok(value) => {
                    options.insert(key.into(), value);
                }
                Err(fault) => diagnostics.push(told(&fault, Some(place.value.clone()))),
            }
            places.insert(key.to_owned(), place);
        }
        self.sources.add_given(source, &lines.join("\n"), places);
        if diagnostics.is_empty() {
            return Ok(options);
        }
        Err(Outcome {
            diagnostics,
            ..Outcome::default()
        })
    }

    /// What a recipe builds with some options: its plan, which is not laid or shown by this.
    ///
    /// The recipe is named as in an import, own ones before built-in ones, or by the path of its file. It is read and run once
    /// in a session, so that many builds cost little. An interrupt that came in before stays: it stops this build too.
    pub fn build(&mut self, recipe: &str, options: Map) -> Outcome {
        if !self.sources.is_given(OPTIONS) {
            self.sources.add_given(OPTIONS, "", BTreeMap::new());
        }
        self.build_given(OPTIONS, recipe, options)
    }

    /// As [`Session::build`], with options that were read by [`Session::given_options`] under the name `source`.
    pub fn build_given(&mut self, source: &str, recipe: &str, options: Map) -> Outcome {
        if let Err(outcome) = self.recipe_is_whole(source, recipe) {
            return *outcome;
        }
        let mut tree = match self.engine.compile(BUILD) {
            Ok(tree) => tree,
            Err(error) => {
                let fault = Fault::new("internal-fault", error.to_string());
                return Outcome::from(fault);
            }
        };
        tree.set_source(source);
        let mut scope = build_scope(recipe, options);
        self.perform(source, &mut scope, &tree, &rhai::AST::empty())
    }

    /// Whether a module is there and has what makes it a recipe.
    fn recipe_is_whole(&self, source: &str, recipe: &str) -> Result<(), Box<Outcome>> {
        let module = self
            .modules
            .resolve(&self.engine, Some(source), recipe, Position::NONE)
            .map_err(|error| {
                Box::new(Outcome {
                    diagnostics: self.explained(&error, source),
                    ..Outcome::default()
                })
            })?;
        let missing = if module.get_script_fn("build", 1).is_none() {
            "fn build(options) { ... }"
        } else if !module.contains_var("parameters") {
            "export const parameters = #{ ... };"
        } else {
            return Ok(());
        };
        let fault = Fault::new(
            "no-recipe",
            format!("`{recipe}` is a module, but no recipe"),
        )
        .remedy(format!("a recipe has `{missing}`"));
        Err(Box::new(Outcome::from(fault)))
    }
}

impl From<Fault> for Outcome {
    fn from(fault: Fault) -> Self {
        Self {
            diagnostics: vec![told(&fault, None)],
            ..Self::default()
        }
    }
}

pub(super) fn told(fault: &Fault, at: Option<Span>) -> Diagnostic {
    let diagnostic = Diagnostic::error(fault.code, fault.message.as_str()).at(at);
    fault.remedy.iter().fold(diagnostic, Diagnostic::remedy)
}

/// What [`BUILD`] is run with.
pub(super) fn build_scope(recipe: &str, options: Map) -> Scope<'static> {
    let mut scope = Scope::new();
    scope.push_constant("recipe", recipe.to_owned());
    scope.push_constant("options", options);
    scope
}
