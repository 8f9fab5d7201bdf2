//! Finds and loads modules: beside the script, then the user's recipes, then the built-in ones.

use std::borrow::Cow;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::rc::Rc;

use rhai::{AST, Engine, EvalAltResult, Module, ModuleResolver, Position, Scope, Stmt};

use super::LANGUAGE_VERSION;
use super::builtin::BUILTIN;
use super::diagnostic::Sources;
use super::options::Fault;
use super::trying;
use crate::masonry::nearest;
use crate::outside::{Outside, inner_path};

/// Prefix of the names of built-in recipes in messages.
const BUILTIN_PREFIX: &str = "built-in:";

/// How a module that was found is asked for outside any script: a built-in one by its name, another by its file.
pub(super) fn asked_as(found: &str) -> &str {
    found.strip_prefix(BUILTIN_PREFIX).unwrap_or(found)
}

/// Deepest chain of modules importing modules: each takes stack.
const DEPTH_MOST: usize = 16;

type Loaded = Rc<Module>;

/// The resolver of one session.
#[derive(Clone)]
pub(super) struct Modules {
    outside: Rc<dyn Outside>,
    sources: Sources,
    loaded: Rc<RefCell<BTreeMap<String, Loaded>>>,
    loading: Rc<RefCell<Vec<String>>>,
}

/// A module that was found: the name it is known by, and where its text is.
struct Found {
    name: String,
    place: Place,
}

enum Place {
    File(PathBuf),
    Builtin(&'static str),
}

/// Where a recipe was found.
pub(super) struct FoundRecipe {
    /// The name its source is known by; of a file, its path.
    pub(super) name: String,
    /// Whether it comes with the program.
    pub(super) builtin: bool,
    /// Whether one that comes with the program has the same name.
    pub(super) hides_builtin: bool,
}

/// A whole number in a module's `about`, read from the text: what a newer language brings may not be readable otherwise.
pub(super) fn figure_about(text: &str, key: &str) -> Option<i64> {
    let (_, about) = text.split_once("export const about")?;
    let (about, _) = about.split_once("};").unwrap_or((about, ""));
    let (_, value) = about.split_once(&format!("{key}:"))?;
    let figures: String = value
        .trim_start()
        .chars()
        .take_while(char::is_ascii_digit)
        .collect();
    figures.parse().ok()
}

/// A name that a text imports a second time, and where: the first would be out of reach.
pub(super) fn import_clash(tree: &AST) -> Option<(Fault, Position)> {
    let mut seen: BTreeSet<&str> = BTreeSet::new();
    for statement in tree.statements() {
        let Stmt::Import(import, _) = statement else {
            continue;
        };
        let alias = &import.1;
        if !alias.name.is_empty() && !seen.insert(alias.name.as_str()) {
            let fault = Fault::new(
                "import-clash",
                format!("`{}` already names another module", alias.name),
            );
            return Some((
                fault.remedy(format!(
                    "import it under another name: as {}_2;",
                    alias.name
                )),
                alias.pos,
            ));
        }
    }
    None
}

/// Whether a recipe is named by the path of its file.
fn is_path(recipe: &str) -> bool {
    Path::new(recipe)
        .extension()
        .is_some_and(|kind| kind == "rhai")
        || recipe.contains('/')
}

impl Found {
    fn file(path: PathBuf) -> Self {
        Self {
            name: path.to_string_lossy().into_owned(),
            place: Place::File(path),
        }
    }
}

impl Modules {
    pub(super) fn new(outside: Rc<dyn Outside>, sources: Sources) -> Self {
        Self {
            outside,
            sources,
            loaded: Rc::default(),
            loading: Rc::default(),
        }
    }

    /// Forgets every loaded module, so that changed files are read again.
    pub(super) fn forget(&self) {
        self.loaded.borrow_mut().clear();
        self.loading.borrow_mut().clear();
    }

    fn folders(&self, source: Option<&str>) -> Vec<PathBuf> {
        // Built-in recipes are made of built-in blocks, whatever one's own are called.
        if source.is_some_and(|source| source.starts_with(BUILTIN_PREFIX)) {
            return Vec::new();
        }
        let beside = source
            .and_then(|source| Path::new(source).parent())
            .map(Path::to_path_buf);
        beside
            .into_iter()
            .chain(self.outside.recipe_folder())
            .collect()
    }

    /// Names of every module that `source` could import, sorted, each once.
    pub(super) fn known(&self, source: Option<&str>) -> Vec<String> {
        let folders = self.folders(source);
        let own = folders
            .iter()
            .flat_map(|folder| self.outside.scripts_in(folder));
        let builtin = BUILTIN.iter().map(|(name, _)| (*name).to_owned());
        own.chain(builtin)
            .collect::<BTreeSet<String>>()
            .into_iter()
            .collect()
    }

    fn find(&self, source: Option<&str>, path: &str) -> Result<Found, Fault> {
        let bare = path.strip_suffix(".rhai").unwrap_or(path);
        let inner = inner_path(bare).map_err(|error| {
            Fault::new("module-path", format!("cannot import: {}", error.message))
                .remedy("modules stand beside the script, in the recipe folder, or are built in: import \"name\" as name;")
        })?;
        let file = PathBuf::from(format!("{}.rhai", inner.display()));
        let folders = self.folders(source);
        let file = folders.iter().map(|folder| folder.join(&file));
        if let Some(found) = file.clone().find(|place| self.outside.exists(place)) {
            return Ok(Found::file(found));
        }
        if let Some((name, text)) = BUILTIN.iter().find(|(name, _)| *name == bare) {
            return Ok(Found {
                name: format!("{BUILTIN_PREFIX}{name}"),
                place: Place::Builtin(text),
            });
        }
        let known = self.known(source);
        let fault = Fault::new("unknown-module", format!("there is no module \"{bare}\""));
        Err(match nearest(bare, known.iter().map(String::as_str)) {
            Some(near) => fault.remedy(format!("did you mean \"{near}\"?")),
            None => fault.remedy("modules are looked for beside the script, in the recipe folder, and among the built-in recipes"),
        })
    }

    /// Where a recipe is found that is asked for by its name, or by the path of its file.
    pub(super) fn place_of(&self, recipe: &str) -> Result<FoundRecipe, Fault> {
        let found = if is_path(recipe) {
            Found::file(PathBuf::from(recipe))
        } else {
            self.find(None, recipe)?
        };
        let builtin = matches!(found.place, Place::Builtin(_));
        Ok(FoundRecipe {
            name: found.name,
            builtin,
            hides_builtin: !builtin && BUILTIN.iter().any(|(name, _)| *name == recipe),
        })
    }

    fn load(
        &self,
        engine: &Engine,
        found: &Found,
        at: Position,
    ) -> Result<Loaded, Box<EvalAltResult>> {
        let inside = |error: Box<EvalAltResult>| -> Box<EvalAltResult> {
            EvalAltResult::ErrorInModule(found.name.clone(), error, at).into()
        };
        let text = match &found.place {
            Place::Builtin(text) => Cow::Borrowed(*text),
            Place::File(path) => self
                .outside
                .read_script(path)
                .map(Cow::Owned)
                .map_err(|error| Fault::from(error).into_error("import", at))?,
        };
        self.sources.add(&found.name, &text);
        if let Some(asked) =
            figure_about(&text, "language").filter(|asked| *asked > LANGUAGE_VERSION)
        {
            let fault = Fault::new(
                "newer-language",
                format!(
                    "`{}` is written for version {asked} of the language; this program knows up to {LANGUAGE_VERSION}",
                    found.name
                ),
            );
            return Err(fault
                .remedy("use a newer perpend, or an older version of the recipe")
                .into_error("import", at));
        }
        let read =
            trying::read(engine, &found.name, &text).map_err(|error| inside(error.into()))?;
        self.sources.add_tree(&found.name, &read.written);
        if let Some((fault, place)) = import_clash(&read.written) {
            return Err(inside(fault.into_error("import", place)));
        }
        let module = Module::eval_ast_as_new(Scope::new(), &read.run, engine).map_err(inside)?;
        Ok(Rc::new(module))
    }
}

impl ModuleResolver for Modules {
    fn resolve(
        &self,
        engine: &Engine,
        source: Option<&str>,
        path: &str,
        at: Position,
    ) -> Result<Loaded, Box<EvalAltResult>> {
        // Options from outside any script ask for a recipe by its name, or by the path of its file.
        let asked = source.is_some_and(|source| self.sources.is_given(source));
        let found = if asked && is_path(path) {
            Ok(Found::file(PathBuf::from(path)))
        } else {
            self.find(source.filter(|_| !asked), path)
        };
        let found = found.map_err(|fault| fault.into_error("import", at))?;
        if let Some(module) = self.loaded.borrow().get(&found.name) {
            return Ok(Rc::clone(module));
        }
        let circle = {
            let loading = self.loading.borrow();
            loading
                .iter()
                .position(|name| *name == found.name)
                .map(|start| {
                    let names = loading
                        .iter()
                        .skip(start)
                        .chain(std::iter::once(&found.name));
                    names.map(String::as_str).collect::<Vec<_>>().join(" -> ")
                })
        };
        if let Some(circle) = circle {
            let fault = Fault::new(
                "import-circle",
                format!("these modules import each other in a circle: {circle}"),
            );
            return Err(fault
                .remedy("move what both need into a third module")
                .into_error("import", at));
        }
        if self.loading.borrow().len() >= DEPTH_MOST {
            let fault = Fault::new(
                "limit-modules",
                format!("modules import each other more than {DEPTH_MOST} deep"),
            );
            return Err(fault
                .remedy("import from the script itself where you can")
                .into_error("import", at));
        }
        self.loading.borrow_mut().push(found.name.clone());
        let result = self.load(engine, &found, at);
        self.loading.borrow_mut().pop();
        let module = result?;
        self.loaded
            .borrow_mut()
            .insert(found.name, Rc::clone(&module));
        Ok(module)
    }
}
