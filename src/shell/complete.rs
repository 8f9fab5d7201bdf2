//! Completion and hints from the declarations: names, methods of the value at hand, options not yet given, their words,
//! and what the catalogue, the plan and the folders have that goes by a name.

use std::borrow::Cow;
use std::collections::BTreeMap;

use super::chain::{Kinds, Typed, kind_before};
use super::scan::{Piece, Token, tokens};
use crate::script::declare::{CallKind, Parameter};
use crate::script::domain::known_names;
use crate::script::help::ERRORS;
use crate::script::pages::PAGES;
use crate::script::{Defined, NameOf, RecipeParameter, Session, builtin_parameters};

/// One word that may stand at the cursor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggested {
    /// The word.
    pub word: String,
    /// What it is.
    pub note: String,
}

/// The engine's words that begin a statement, with what they do.
const STATEMENTS: [(&str, &str); 8] = [
    ("const", "names a value that stays"),
    ("else", "what is done otherwise"),
    ("fn", "defines a function"),
    ("for", "repeats for every item"),
    ("if", "does something where a condition holds"),
    ("import", "takes a recipe or module by name"),
    ("let", "names a value"),
    ("while", "repeats while a condition holds"),
];

/// What may be completed. Plain data, so that the editor may hold it on any thread.
#[derive(Debug, Clone, Default)]
pub struct Words {
    functions: BTreeMap<String, Callee>,
    members: BTreeMap<String, Vec<Callee>>,
    defined: BTreeMap<String, Defined>,
    known: BTreeMap<NameOf, Vec<(String, String)>>,
    modules: Vec<String>,
    /// What recipes are built with, by the names under which they were imported.
    recipes: BTreeMap<String, Callee>,
}

/// A function, or a method or property of one kind of value.
#[derive(Debug, Clone)]
struct Callee {
    note: String,
    of: Option<String>,
    gives: Option<String>,
    positional: Vec<Slot>,
    options: Vec<Slot>,
}

/// An argument or option as far as completion needs it.
#[derive(Debug, Clone)]
struct Slot {
    name: String,
    note: String,
    words: Vec<&'static str>,
    names: Vec<NameOf>,
    /// What the map that is written there may hold.
    entries: Vec<Slot>,
}

impl Slot {
    fn of(parameter: &Parameter) -> Self {
        Self {
            name: parameter.name.to_owned(),
            note: format!("{}: {}", parameter.wants.short(), parameter.meaning),
            words: parameter.wants.words(),
            names: parameter.wants.names(),
            entries: parameter.wants.entries().iter().map(Slot::of).collect(),
        }
    }

    fn of_recipe(parameter: &RecipeParameter) -> Self {
        Self {
            name: parameter.name.clone(),
            note: format!("{} ({} if left out)", parameter.meaning, parameter.usual),
            words: Vec::new(),
            names: Vec::new(),
            entries: Vec::new(),
        }
    }
}

impl Callee {
    /// The `build` of a recipe.
    fn of_recipe(name: &str, parameters: &[RecipeParameter]) -> Self {
        Self {
            note: format!("{name}::{BUILD}(#{{ ... }}): what the recipe makes of its options."),
            of: None,
            gives: None,
            positional: Vec::new(),
            options: parameters.iter().map(Slot::of_recipe).collect(),
        }
    }
}

/// The function of a recipe that takes its options.
const BUILD: &str = "build";

/// A bracket that is open at the cursor.
struct Frame<'t> {
    open: char,
    /// The call it belongs to.
    call: Option<Called<'t>>,
    commas: usize,
    /// The keys given in it so far.
    keys: Vec<&'t str>,
    /// Whether a key is due, or a value follows the last key.
    at_key: bool,
}

/// A call by its name, and the kind of value it is called on, where that is known.
#[derive(Clone)]
struct Called<'t> {
    name: &'t str,
    /// The point before it, where it is a method.
    point: Option<usize>,
    kind: Option<String>,
    /// The module it is a function of, and what that was imported as further up in the same text.
    module: Option<(&'t str, Option<&'t str>)>,
}

impl Kinds for Words {
    fn of_variable(&self, name: &str) -> Option<String> {
        self.defined.get(name)?.kind.clone()
    }

    fn of_function(&self, name: &str) -> Option<String> {
        self.functions.get(name)?.gives.clone()
    }

    fn of_member(&self, kind: Option<&str>, name: &str) -> Option<String> {
        let mut fit = self
            .members
            .get(name)?
            .iter()
            .filter(|callee| fits_kind(callee, kind));
        let gives = fit.next()?.gives.clone();
        // Of an unknown value it is known only what every one of its kind gives.
        fit.all(|callee| callee.gives == gives)
            .then_some(gives)
            .flatten()
    }
}

fn fits_kind(callee: &Callee, kind: Option<&str>) -> bool {
    match (kind, callee.of.as_deref()) {
        (Some(kind), Some(of)) => kind == of,
        _ => true,
    }
}

impl Words {
    /// The words of a session as it stands.
    pub fn new(session: &Session) -> Self {
        let mut words = Self {
            modules: session.modules_known(),
            ..Self::default()
        };
        for callable in session.vocabulary().callables() {
            let declaration = callable.declaration;
            let callee = Callee {
                note: format!("{}: {}", declaration.signature(), declaration.summary),
                of: callable.of,
                gives: callable.gives,
                positional: declaration.positional.iter().map(Slot::of).collect(),
                options: declaration.options.iter().map(Slot::of).collect(),
            };
            let name = declaration.name.to_owned();
            if declaration.kind == CallKind::Function {
                words.functions.entry(name).or_insert(callee);
            } else {
                words.members.entry(name).or_default().push(callee);
            }
        }
        for of in [NameOf::Unit, NameOf::Bond, NameOf::Mix, NameOf::Soil] {
            words.known.insert(of, known_names(of));
        }
        let declared = session.vocabulary().declarations();
        let help = declared
            .iter()
            .map(|one| (one.name.to_owned(), one.summary.to_owned()));
        let pages = PAGES.iter().map(|(name, _)| *name).chain([ERRORS]);
        let pages = pages.map(|name| {
            let note = "a page that leads through something";
            (name.to_owned(), note.to_owned())
        });
        words
            .known
            .insert(NameOf::Help, pages.chain(help).collect());
        let files = session.scripts_here().into_iter();
        let files = files.map(|file| (format!("{file}.rhai"), String::new()));
        words.known.insert(NameOf::File, files.collect());
        words.renew(session);
        words
    }

    /// Takes over what inputs have defined since.
    pub fn renew(&mut self, session: &Session) {
        let mut defined = BTreeMap::new();
        for one in session.defined() {
            defined.entry(one.name.clone()).or_insert(one);
        }
        self.defined = defined;
        self.recipes = session
            .imported()
            .into_iter()
            .filter(|(_, parameters)| !parameters.is_empty())
            .map(|(name, parameters)| {
                let callee = Callee::of_recipe(&name, &parameters);
                (name, callee)
            })
            .collect();
    }

    /// The line for a hint at the cursor: the option that is being written, or the innermost call.
    pub fn hint(&self, before: &str) -> Option<String> {
        let (all, inside) = typed(before);
        if inside == Inside::Comment {
            return None;
        }
        let read = Typed {
            text: before,
            tokens: &all,
        };
        let frames = self.frames(read);
        let written = self.written(&frames)?;
        match written.slot {
            Some(slot) if frames.last().is_some_and(|frame| frame.open == '#') => {
                Some(format!("{}: {}", slot.name, slot.note))
            }
            _ => Some(written.note),
        }
    }

    /// Where the word at the end of `before` starts, in bytes, and what it may become.
    pub fn complete(&self, before: &str) -> (usize, Vec<Suggested>) {
        let (mut all, inside) = typed(before);
        match inside {
            Inside::Comment => (before.len(), Vec::new()),
            Inside::Text(start) => {
                all.pop();
                let read = Typed {
                    text: before,
                    tokens: &all,
                };
                let found = self.texts(read);
                let word = before.get(start..).unwrap_or_default();
                let fit = found
                    .into_iter()
                    .filter(|suggested| suggested.word.starts_with(word));
                (start, fit.collect())
            }
            Inside::Code => {
                let ends = |token: &Token| token.end == before.len();
                let last = all.last().filter(|token| ends(token)).copied();
                let word = last.filter(|token| token.piece == Piece::Word);
                if word.is_some() {
                    all.pop();
                }
                let start = word.map_or(before.len(), |token| token.start);
                let read = Typed {
                    text: before,
                    tokens: &all,
                };
                // A number that is still being typed is no name.
                if word.is_none() && last.is_some_and(|token| token.piece == Piece::Number) {
                    return (start, Vec::new());
                }
                let prefix = before.get(start..).unwrap_or_default();
                let fit = self.names(read, prefix).into_iter();
                (
                    start,
                    fit.filter(|s| s.word.trim_start_matches('"').starts_with(prefix))
                        .collect(),
                )
            }
        }
    }

    /// What may stand outside texts.
    fn names(&self, read: Typed, prefix: &str) -> Vec<Suggested> {
        let suggest = |word: &str, note: &str| Suggested {
            word: word.to_owned(),
            note: note.to_owned(),
        };
        if read.tokens.last().is_some_and(|token| token.is('.')) {
            return self.members_after(read, read.tokens.len() - 1);
        }
        let frames = self.frames(read);
        if let Some(frame) = frames.last().filter(|f| f.open == '#' && f.at_key) {
            let Some(written) = self.written(&frames) else {
                return Vec::new();
            };
            return written
                .keys
                .iter()
                .filter(|option| !frame.keys.contains(&option.name.as_str()))
                .map(|option| suggest(&format!("{}: ", option.name), &option.note))
                .collect();
        }
        let mut found = Vec::new();
        if let Some(slot) = self.written(&frames).and_then(|written| written.slot)
            && read.tokens.last().is_some_and(|token| {
                token.is(':') || token.is('[') || token.is('(') || token.is(',')
            })
        {
            let words = slot.words.iter().map(|word| (word.to_owned(), ""));
            found.extend(words.map(|(word, note)| match word {
                "true" | "false" => suggest(word, note),
                _ => suggest(&format!("\"{word}\""), note),
            }));
        }
        let defined = self.defined.values();
        found.extend(defined.map(|one| suggest(&one.name, &one.note)));
        let functions = self.functions.iter();
        found.extend(functions.map(|(name, callee)| suggest(name, &callee.note)));
        if frames.is_empty() && !prefix.is_empty() {
            found.extend(STATEMENTS.iter().map(|(word, note)| suggest(word, note)));
        }
        found
    }

    /// Methods and properties of the value before the point at `point`.
    fn members_after(&self, read: Typed, point: usize) -> Vec<Suggested> {
        let kind = kind_before(read, point, self);
        let mut found: Vec<Suggested> = Vec::new();
        if let Some(name) = point.checked_sub(1).and_then(|at| read.tokens.get(at))
            && let Some(defined) = self.defined.get(name.of(read.text))
        {
            found.extend(defined.keys.iter().map(|key| Suggested {
                word: key.clone(),
                note: "in this map".to_owned(),
            }));
        }
        for (name, callees) in &self.members {
            let mut fit = callees.iter();
            if let Some(callee) = fit.find(|callee| fits_kind(callee, kind.as_deref())) {
                found.push(Suggested {
                    word: name.clone(),
                    note: callee.note.clone(),
                });
            }
        }
        found
    }

    /// What may stand in the text that has just been opened.
    fn texts(&self, read: Typed) -> Vec<Suggested> {
        let plain = |word: &str| Suggested {
            word: word.to_owned(),
            note: String::new(),
        };
        let last = read.tokens.last();
        if last.is_some_and(|token| token.of(read.text) == "import") {
            return self.modules.iter().map(|name| plain(name)).collect();
        }
        let frames = self.frames(read);
        let Some(slot) = self.written(&frames).and_then(|written| written.slot) else {
            return Vec::new();
        };
        let mut found: Vec<Suggested> = slot.words.iter().map(|word| plain(word)).collect();
        for of in &slot.names {
            let known = self.known.get(of).into_iter().flatten();
            found.extend(known.map(|(word, note)| Suggested {
                word: word.clone(),
                note: note.clone(),
            }));
            found.extend(self.names_of_receiver(read, &frames, *of));
        }
        found
    }

    /// What the value has that goes by such a name, where the call is a method of a variable; else of any variable.
    fn names_of_receiver(&self, read: Typed, frames: &[Frame], of: NameOf) -> Vec<Suggested> {
        let named: Vec<&Defined> = read
            .tokens
            .iter()
            .filter(|token| token.piece == Piece::Word)
            .filter_map(|token| self.defined.get(token.of(read.text)))
            .collect();
        let method = frames
            .iter()
            .any(|frame| frame.call.as_ref().is_some_and(|call| call.point.is_some()));
        if !method {
            return Vec::new();
        }
        let mut found: Vec<Suggested> = Vec::new();
        for (kind, names) in named.iter().flat_map(|one| &one.names) {
            for name in names.iter().filter(|_| *kind == of) {
                if !found.iter().any(|s| s.word == *name) {
                    found.push(Suggested {
                        word: name.clone(),
                        note: String::new(),
                    });
                }
            }
        }
        found
    }

    /// The call that is being written, and which of its arguments, options or entries of an option's map.
    fn written(&self, frames: &[Frame]) -> Option<Written> {
        let at = frames.iter().rposition(|frame| frame.open == '(')?;
        let frame = frames.get(at)?;
        let callee = self.callee(frame.call.as_ref()?)?;
        let mut written = Written {
            note: callee.note.clone(),
            slot: callee.positional.get(frame.commas).cloned(),
            keys: Vec::new(),
        };
        for (depth, inner) in frames.iter().skip(at + 1).enumerate() {
            match inner.open {
                '[' => {}
                '#' => {
                    let entries = written.slot.take().map(|slot| slot.entries);
                    let entries = entries.filter(|entries| !entries.is_empty());
                    let keys = match entries {
                        Some(entries) => entries,
                        None if depth == 0 => callee.options.clone(),
                        // A map whose keys are not declared.
                        None => return None,
                    };
                    let key = inner.keys.last().filter(|_| !inner.at_key);
                    written.slot = keys
                        .iter()
                        .find(|one| Some(&one.name.as_str()) == key)
                        .cloned();
                    written.keys = keys;
                }
                // In a block it is not this call's options that are written.
                _ if depth == 0 => written.slot = None,
                _ => return None,
            }
        }
        Some(written)
    }

    fn callee(&self, called: &Called) -> Option<Cow<'_, Callee>> {
        if let Some((name, path)) = called.module {
            if called.name != BUILD {
                return None;
            }
            let read = || {
                let parameters = builtin_parameters().get(path?)?;
                Some(Cow::Owned(Callee::of_recipe(name, parameters)))
            };
            let known = self.recipes.get(name).filter(|_| path.is_none());
            known.map(Cow::Borrowed).or_else(read)
        } else if called.point.is_some() {
            let callees = self.members.get(called.name)?;
            callees
                .iter()
                .find(|callee| fits_kind(callee, called.kind.as_deref()))
                .map(Cow::Borrowed)
        } else {
            self.functions.get(called.name).map(Cow::Borrowed)
        }
    }

    /// The brackets that are open at the end, the innermost last.
    fn frames<'t>(&self, read: Typed<'t>) -> Vec<Frame<'t>> {
        let mut frames: Vec<Frame<'t>> = Vec::new();
        let word = |at: Option<usize>| {
            let token = read.tokens.get(at?)?;
            (token.piece == Piece::Word).then(|| token.of(read.text))
        };
        let is = |at: Option<usize>, mark: char| {
            at.and_then(|at| read.tokens.get(at))
                .is_some_and(|token| token.is(mark))
        };
        for (at, token) in read.tokens.iter().enumerate() {
            let before = at.checked_sub(1);
            match token.piece {
                Piece::Mark(mark @ ('(' | '[' | '{')) => {
                    let point = before.and_then(|at| at.checked_sub(1));
                    let module = point.filter(|at| is(Some(*at), ':')).and_then(|at| {
                        let at = at.checked_sub(1).filter(|at| is(Some(*at), ':'))?;
                        let name = word(at.checked_sub(1))?;
                        Some((name, path_of(read, at, name)))
                    });
                    let call = word(before).filter(|_| mark == '(').map(|name| Called {
                        name,
                        point: point.filter(|point| is(Some(*point), '.')),
                        kind: None,
                        module,
                    });
                    let map = mark == '{' && is(before, '#');
                    frames.push(Frame {
                        open: if map { '#' } else { mark },
                        call,
                        commas: 0,
                        keys: Vec::new(),
                        at_key: map,
                    });
                }
                Piece::Mark(')' | ']' | '}') => {
                    frames.pop();
                }
                Piece::Mark(',') => {
                    if let Some(frame) = frames.last_mut() {
                        frame.commas += 1;
                        frame.at_key = frame.open == '#';
                    }
                }
                Piece::Mark(':') => {
                    if let Some(frame) = frames.last_mut().filter(|frame| frame.at_key) {
                        frame.keys.extend(word(before));
                        frame.at_key = false;
                    }
                }
                _ => {}
            }
        }
        // Only what is still open is worth the search.
        for call in frames.iter_mut().filter_map(|frame| frame.call.as_mut()) {
            call.kind = call.point.and_then(|point| kind_before(read, point, self));
        }
        frames
    }
}

/// What a module was imported as further up: `import "path" as name`.
fn path_of<'t>(read: Typed<'t>, before: usize, name: &str) -> Option<&'t str> {
    let of = |at: usize| read.tokens.get(at).map(|token| token.of(read.text));
    let imports = |at: &usize| {
        of(*at) == Some("import") && of(at + 2) == Some("as") && of(at + 3) == Some(name)
    };
    let at = (0..before).rev().find(imports)?;
    let path = of(at + 1)?.trim_matches(['"', '`']);
    Some(path.strip_suffix(".rhai").unwrap_or(path))
}

/// What is being written in a call.
struct Written {
    /// The call and what it does.
    note: String,
    /// The argument, option or entry whose value is due.
    slot: Option<Slot>,
    /// What the innermost map may hold.
    keys: Vec<Slot>,
}

/// Where the end of an input lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Inside {
    Code,
    Comment,
    /// In a text that begins at this byte, its quote not counted.
    Text(usize),
}

/// The pieces of an input without its comments, and where its end lies.
fn typed(before: &str) -> (Vec<Token>, Inside) {
    let mut all = tokens(before);
    let inside = match all.last() {
        Some(token) if token.piece == Piece::OpenText => Inside::Text(token.start + 1),
        Some(token)
            if token.piece == Piece::Comment
                && token.end == before.len()
                && !(token.of(before).starts_with("/*") && token.of(before).ends_with("*/")) =>
        {
            Inside::Comment
        }
        _ => Inside::Code,
    };
    all.retain(|token| token.piece != Piece::Comment);
    (all, inside)
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;
    use crate::outside::MemoryOutside;
    use crate::script::{Limits, domain};

    fn words() -> Words {
        let outside = MemoryOutside::new()
            .with_script("first.rhai", "1")
            .with_recipes("recipes")
            .with_script("recipes/kiln_base.rhai", "fn build(options) {}");
        let mut session = domain::open(Rc::new(outside), Limits::default());
        for input in [
            "import \"curing_cabinet\" as cabinet;",
            "let chimney = 3.ft;",
            "let sizes = #{ wide: 1, deep: 2 };",
            "let p = plan(\"try\", #{ unit: \"nf\" }).place(\"firebox\", chamber(#{ outside: [4, 3], courses: 3 }));",
            "/// Twice as much.\nfn twice(n) { n * 2 }",
        ] {
            let outcome = session.input(input);
            assert!(!outcome.failed(), "{}", session.render(&outcome));
        }
        Words::new(&session)
    }

    fn found(before: &str) -> Vec<String> {
        let found = words().complete(before).1;
        found.into_iter().map(|s| s.word).collect()
    }

    fn has(before: &str, wanted: &[&str], unwanted: &[&str]) {
        let found = found(before);
        for word in wanted {
            assert!(
                found.iter().any(|f| f == word),
                "{before}: no {word} in {found:?}"
            );
        }
        for word in unwanted {
            assert!(
                !found.iter().any(|f| f == word),
                "{before}: {word} in {found:?}"
            );
        }
    }

    #[test]
    fn names_are_those_defined_and_those_declared() {
        has("let x = ch", &["chimney", "chamber"], &["plan", "courses"]);
        has("tw", &["twice"], &[]);
        has("im", &["import"], &[]);
        assert_eq!(words().complete("let x = ch").0, 8);
        assert_eq!(words().complete("é.m").0, 3);
        assert!(found("// ch").is_empty());
        assert!(found("3").is_empty());
    }

    #[test]
    fn methods_are_those_of_the_value() {
        has("5.m", &["mm"], &["mortar"]);
        has(
            "chimney.",
            &["in_mm", "round_to"],
            &["takeoff", "opening", "kg", "sorted", "ln"],
        );
        has(
            "p.",
            &["takeoff", "place", "review"],
            &["opening", "round_to", "mm", "sorted", "ln"],
        );
        has("p.place(\"x\", p).ta", &["takeoff"], &[]);
        has(
            "chamber(#{ outside: [4, 3] }).",
            &["opening", "vent"],
            &["takeoff"],
        );
        has("(2 * chimney).", &["in_mm"], &["takeoff"]);
        has("sizes.", &["wide", "deep"], &["takeoff"]);
        has("let c = chamber(#{}); c.op", &["opening"], &[]);
        has("unknown.t", &["takeoff"], &[]);
    }

    #[test]
    fn options_are_those_not_given_yet() {
        has("chamber(#{ out", &["outside: "], &[]);
        has(
            "chamber(#{ outside: [4, 3], ",
            &["courses: "],
            &["outside: "],
        );
        has("chamber(#{ outside: [4, s", &["show"], &["side: "]);
        has(
            "p.place(\"b\", chamber(#{ courses: 3 }), #{ ",
            &["right_of: "],
            &["courses: "],
        );
        has("chamber(#{ // a remark\n co", &["courses: "], &[]);
    }

    #[test]
    fn texts_are_the_words_that_are_taken_there() {
        has("chamber(#{}).opening(#{ side: \"fr", &["front"], &["back"]);
        has("chamber(#{}).opening(#{ side: ", &["\"front\""], &[]);
        has("chamber(#{ fired: t", &["true"], &[]);
        has("plan(\"x\", #{ unit: \"n", &["nf"], &["front"]);
        has("plan(\"x\", #{ bond: \"fl", &["flemish"], &[]);
        has("fit(\"u", &["uk"], &[]);
        has("p.inside(\"", &["firebox"], &[]);
        has(
            "p.place(\"b\", chamber(#{}), #{ right_of: \"",
            &["firebox"],
            &[],
        );
        has("import \"", &["garden_wall", "kiln_base"], &[]);
        has("help(\"cham", &["chamber"], &[]);
        assert!(found("show(\"front of ").is_empty());
    }

    #[test]
    fn keys_of_nested_maps_are_those_that_are_taken_there() {
        has("compare(p, #{ ", &["joint: ", "bond: "], &["right_of: "]);
        has("compare(p, #{ bond: [\"fl", &["flemish"], &["uk"]);
        has("compare(p, #{ unit: [\"uk\"], ", &["joint: "], &["unit: "]);
        has(
            "chamber(#{}).opening(#{ lintel: #{ ",
            &["kind: ", "bearing: "],
            &["width: "],
        );
        has(
            "chamber(#{}).opening(#{ lintel: #{ kind: \"st",
            &["steel", "stone"],
            &["front"],
        );
        has(
            "wall(#{ leaves: #{ cavity: 50.mm, ties: #{ ",
            &["across: ", "up: "],
            &["cavity: "],
        );
        has(
            "wall(#{ leaves: #{ cavity: 50.mm }, ",
            &["courses: "],
            &["collar: "],
        );
        assert!(found("show(#{ inner: #{ ").is_empty());
        let hint = words().hint("chamber(#{}).opening(#{ lintel: #{ bearing: ");
        assert!(
            hint.unwrap_or_default()
                .starts_with("bearing: length: How far")
        );
    }

    #[test]
    fn options_of_a_recipe_are_its_parameters() {
        // Imported by an earlier input, and further up in the same text.
        for before in [
            "cabinet::build(#{ ",
            "import \"curing_cabinet\" as smoker; let p = smoker::build(#{ ",
        ] {
            has(before, &["firebox_courses: ", "racks: "], &["courses: "]);
        }
        has("cabinet::build(#{ racks: [9], ", &["unit: "], &["racks: "]);
        has(
            "import \"garden_wall\" as cabinet; cabinet::build(#{ ",
            &[],
            &["racks: "],
        );
        assert!(found("unknown::build(#{ ").is_empty());
        assert!(found("cabinet::other(#{ ").is_empty());
        let hint = words().hint("cabinet::build(#{ gap: ");
        assert_eq!(
            hint.as_deref(),
            Some("gap: Clear distance between the two. (300 mm if left out)")
        );
    }

    #[test]
    fn a_hint_tells_of_the_call_and_of_the_option() {
        let words = words();
        let hint = |before: &str| words.hint(before).unwrap_or_default();
        assert!(
            hint("chamber(").starts_with("chamber("),
            "{}",
            hint("chamber(")
        );
        assert!(hint("chamber(#{ ").starts_with("chamber("));
        let courses = hint("chamber(#{ courses: ");
        assert!(courses.starts_with("courses: whole number"), "{courses}");
        assert!(hint("p.inside(").starts_with("plan.inside("));
        assert_eq!(words.hint("chamber(#{}) "), None);
        assert_eq!(words.hint("1 + (2"), None);
    }
}
