//! Building a recipe by its name, with options that no script wrote.

use std::collections::BTreeMap;

use std::rc::Rc;

use rhai::{Dynamic, Map, Module, ModuleResolver, Position, Scope};

use super::diagnostic::{Diagnostic, Given, Span};
use super::explain::raising;
use super::recipe_table::{RecipeParameter, exported_parameters};
use super::{Fault, Outcome, Session, given};

/// Options that a caller hands over as values.
const OPTIONS: &str = "options";
/// Imports a recipe and builds it. Both names are variables, so one tree serves every recipe.
pub(super) const BUILD: &str = "import recipe as found; found::build(options)";

/// A recipe as its module describes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Recipe {
    /// The name by which it is imported and built.
    pub name: String,
    /// The first line about it.
    pub summary: String,
    /// Its file; none for a built-in one.
    pub file: Option<String>,
    /// Whether a built-in recipe has the same name.
    pub hides_builtin: bool,
    /// Its own version, where it says.
    pub version: Option<i64>,
    /// The version of the language that it is written for.
    pub language: i64,
    /// What its drawing should show.
    pub drawing: Option<String>,
    /// What can hurt someone.
    pub cautions: Vec<String>,
    /// What may be set, by name.
    pub parameters: Vec<RecipeParameter>,
}

impl Session {
    /// Names of all recipes and modules that can be built by their name, sorted.
    pub fn recipes_known(&self) -> Vec<String> {
        self.modules.known(None)
    }

    /// What a recipe's module says of itself.
    ///
    /// # Errors
    /// An outcome that tells why it is no recipe.
    pub fn recipe(&mut self, recipe: &str) -> Result<Recipe, Box<Outcome>> {
        self.sources.add_given(OPTIONS, "", BTreeMap::new());
        let module = self.whole_recipe(OPTIONS, recipe)?;
        let place = self
            .modules
            .place_of(recipe)
            .map_err(|fault| Box::new(Outcome::from(fault)))?;
        let about = module
            .get_var("about")
            .and_then(Dynamic::try_cast::<Map>)
            .unwrap_or_default();
        let text_of = |value: &Dynamic| value.clone().into_string().ok();
        let whole = |key: &str| about.get(key).and_then(|value| value.as_int().ok());
        let cautions = about
            .get("cautions")
            .and_then(Dynamic::read_lock::<rhai::Array>);
        let cautions = cautions.map(|list| list.iter().filter_map(text_of).collect());
        let summary = self.sources.text(&place.name).unwrap_or_default();
        let summary = summary.lines().next().unwrap_or_default();
        let parameters = module.get_var("parameters");
        let parameters = parameters.and_then(Dynamic::try_cast::<Map>);
        Ok(Recipe {
            name: recipe.to_owned(),
            summary: summary
                .strip_prefix("//!")
                .unwrap_or_default()
                .trim()
                .to_owned(),
            file: (!place.builtin).then(|| place.name.clone()),
            hides_builtin: place.hides_builtin,
            version: whole("version"),
            language: whole("language").unwrap_or(1),
            drawing: about.get("drawing").and_then(text_of),
            cautions: cautions.unwrap_or_default(),
            parameters: exported_parameters(&parameters.unwrap_or_default(), &self.vocabulary()),
        })
    }

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
        let sets = "write the option and its value: courses=4";
        let mut options = Map::new();
        self.given_pairs(
            source,
            texts,
            ("this sets nothing", sets),
            |session, key, value| {
                if options.contains_key(key) {
                    let mut fault = Fault::new("set-twice", format!("`{key}` is set twice"))
                        .remedy("leave one of them out");
                    fault.key_itself = true;
                    return Err(fault);
                }
                options.insert(key.into(), session.given(value)?);
                Ok(())
            },
        )?;
        Ok(options)
    }

    /// Reads texts of the form `key=value`, each by `read`, and keeps where each stands: what is wrong with them then or
    /// later points into them, under the name `source`. `without` tells of a text that is none, and what to write.
    pub(super) fn given_pairs(
        &mut self,
        source: &str,
        texts: &[String],
        without: (&str, &str),
        mut read: impl FnMut(&Self, &str, &str) -> Result<(), Fault>,
    ) -> Result<(), Outcome> {
        let lines: Vec<String> = texts
            .iter()
            .map(|text| text.replace(|c: char| c.is_control(), " "))
            .collect();
        let mut places: BTreeMap<String, Given> = BTreeMap::new();
        let mut diagnostics = Vec::new();
        for (at, line) in lines.iter().enumerate() {
            let span = |start: usize, length: usize| Span {
                source: source.to_owned(),
                line: at + 1,
                column: start + 1,
                length: length.max(1),
            };
            let parts = line.split_once('=');
            let Some((key, value)) = parts.filter(|(key, _)| !key.trim().is_empty()) else {
                let wrong = if parts.is_some() {
                    "nothing is named before the `=`"
                } else {
                    without.0
                };
                let fault = Fault::new("unreadable-option", wrong).remedy(without.1);
                diagnostics.push(told(&fault, Some(span(0, line.chars().count()))));
                continue;
            };
            let place = Given {
                key: span(0, key.trim_end().chars().count()),
                value: span(key.chars().count() + 1, value.trim_end().chars().count()),
            };
            let key = key.trim();
            if let Err(fault) = read(self, key, value) {
                let here = if fault.key_itself {
                    place.key.clone()
                } else {
                    place.value.clone()
                };
                let mut told = told(&fault, Some(here));
                if let Some(limit) = fault.limit {
                    told.remedy.extend(raising(&self.limits, limit, false));
                }
                diagnostics.push(told);
            }
            places.insert(key.to_owned(), place);
        }
        self.sources.add_given(source, &lines.join("\n"), places);
        if diagnostics.is_empty() {
            return Ok(());
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
        if let Err(outcome) = self.whole_recipe(source, recipe) {
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

    /// The module of a recipe, if it is there and has what makes it a recipe.
    fn whole_recipe(&self, source: &str, recipe: &str) -> Result<Rc<Module>, Box<Outcome>> {
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
            return Ok(module);
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
