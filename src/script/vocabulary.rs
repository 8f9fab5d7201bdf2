//! What the language knows: declared functions and the names of value types.

use std::any::{Any, TypeId};
use std::cell::{Cell, RefCell};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::rc::Rc;

use rhai::{Array, Dynamic, FnPtr, ImmutableString, Map};

use super::declare::{CallKind, Declaration, NameOf};
use crate::quantity::{
    Area, Density, Duration, Length, LengthStyle, Mass, Pressure, Temperature, Volume,
};

/// Longest text that is repeated whole in a message.
const TEXT_SHOWN: usize = 30;
/// Deepest nesting that is shown: deeper values are cut off.
const DEPTH_SHOWN: usize = 24;

type Shower = Rc<dyn Fn(&Dynamic) -> Option<String>>;
type Namer = Rc<dyn Fn(&Dynamic) -> Option<Vec<String>>>;

/// A declaration with the kinds of value it was registered for.
#[derive(Clone, Copy)]
struct Registered {
    declaration: &'static Declaration,
    of: Option<TypeId>,
    gives: Option<TypeId>,
}

/// A declared call with the kinds of value it is for, by name, as far as they are known.
#[derive(Debug, Clone)]
pub struct Callable {
    /// What was declared.
    pub declaration: &'static Declaration,
    /// The kind of value it is called on.
    pub of: Option<String>,
    /// The kind of value it gives.
    pub gives: Option<String>,
}

#[derive(Clone)]
struct TypeEntry {
    name: &'static str,
    phrase: &'static str,
    shower: Shower,
}

/// The declarations and type names of one session.
#[derive(Default)]
pub struct Vocabulary {
    registered: RefCell<Vec<Registered>>,
    namers: RefCell<Vec<(NameOf, Namer)>>,
    briefs: RefCell<HashMap<TypeId, Shower>>,
    answers: RefCell<HashMap<TypeId, Shower>>,
    types: RefCell<HashMap<TypeId, TypeEntry>>,
    style: Cell<LengthStyle>,
}

impl Vocabulary {
    pub(super) fn declare(
        &self,
        declaration: &'static Declaration,
        of: Option<TypeId>,
        gives: Option<TypeId>,
    ) {
        self.registered.borrow_mut().push(Registered {
            declaration,
            of,
            gives,
        });
    }

    pub(super) fn names_in<T: Any + Clone>(
        &self,
        of: NameOf,
        names: impl Fn(&T) -> Vec<String> + 'static,
    ) {
        let namer: Namer = Rc::new(move |value| value.read_lock::<T>().map(|v| names(&v)));
        self.namers.borrow_mut().push((of, namer));
    }

    pub(super) fn brief_of<T: Any + Clone>(&self, brief: impl Fn(&T) -> String + 'static) {
        let shower: Shower = Rc::new(move |value| value.read_lock::<T>().map(|v| brief(&v)));
        self.briefs.borrow_mut().insert(TypeId::of::<T>(), shower);
    }

    pub(super) fn answer_of<T: Any + Clone>(&self, answer: impl Fn(&T) -> String + 'static) {
        let shower: Shower = Rc::new(move |value| value.read_lock::<T>().map(|v| answer(&v)));
        self.answers.borrow_mut().insert(TypeId::of::<T>(), shower);
    }

    /// A value in one line, among others: what it is and what tells it apart.
    pub fn brief(&self, value: &Dynamic) -> String {
        let kind = self.kind_of(value);
        if let Some(items) = value.read_lock::<Array>() {
            return format!("{kind} of {}", items.len());
        }
        if let Some(map) = value.read_lock::<Map>() {
            let keys: Vec<&str> = map.keys().map(AsRef::as_ref).collect();
            return format!("{kind}: {}", keys.join(", "));
        }
        let id = value_type(value);
        let brief = self.briefs.borrow().get(&id).cloned();
        let simple = quantity_or_basic(value);
        let told = match brief.and_then(|brief| brief(value)) {
            Some(told) => told,
            None if simple => self.show_inner(value, 0),
            None => return kind,
        };
        let first = told.lines().next().unwrap_or_default();
        format!("{kind}: {first}")
    }

    /// What a value has that goes by a name.
    pub fn names_of(&self, value: &Dynamic) -> Vec<(NameOf, Vec<String>)> {
        let namers = self.namers.borrow();
        let found = namers.iter();
        found
            .filter_map(|(of, namer)| Some((*of, namer(value)?)))
            .collect()
    }

    /// Every declaration in the order of registration.
    pub fn declarations(&self) -> Vec<&'static Declaration> {
        let mut known: Vec<&'static Declaration> = Vec::new();
        let mut seen: BTreeSet<*const Declaration> = BTreeSet::new();
        for registered in self.registered.borrow().iter() {
            if seen.insert(std::ptr::from_ref(registered.declaration)) {
                known.push(registered.declaration);
            }
        }
        known
    }

    /// Every declaration once for every kind of value it is called on.
    pub fn callables(&self) -> Vec<Callable> {
        let name = |id: TypeId| self.name_of_type(id);
        let registered = self.registered.borrow();
        registered
            .iter()
            .map(|r| Callable {
                declaration: r.declaration,
                of: r.of.and_then(name).or_else(|| by_hand_on(r.declaration)),
                gives: r.gives.and_then(name),
            })
            .collect()
    }

    fn name_of_type(&self, id: TypeId) -> Option<String> {
        if let Some(entry) = self.types.borrow().get(&id) {
            return Some(entry.name.to_owned());
        }
        let is = |other: TypeId| id == other;
        let plain = if is(TypeId::of::<i64>()) || is(TypeId::of::<f64>()) {
            "number"
        } else if is(TypeId::of::<ImmutableString>()) || is(TypeId::of::<String>()) {
            "text"
        } else if is(TypeId::of::<Array>()) {
            "list"
        } else if is(TypeId::of::<Map>()) {
            "map"
        } else if is(TypeId::of::<bool>()) {
            "flag"
        } else if is(TypeId::of::<()>()) {
            "nothing"
        } else {
            return None;
        };
        Some(plain.to_owned())
    }

    /// The kind of a value by the names of [`Vocabulary::callables`], where it is one of those.
    pub fn callable_kind(&self, value: &Dynamic) -> Option<String> {
        self.name_of_type(value_type(value))
    }

    /// The declarations of one name.
    pub fn named(&self, name: &str) -> Vec<&'static Declaration> {
        let known = self.declarations().into_iter();
        known.filter(|d| d.name == name).collect()
    }

    /// Declared names of one kind, sorted, each once.
    pub fn names(&self, which: impl Fn(&CallKind) -> bool) -> Vec<&'static str> {
        let names: BTreeSet<&str> = self
            .declarations()
            .into_iter()
            .filter(|d| which(&d.kind))
            .map(|d| d.name)
            .collect();
        names.into_iter().collect()
    }

    /// How lengths are shown.
    pub fn style(&self) -> LengthStyle {
        self.style.get()
    }

    /// Sets how lengths are shown.
    pub fn set_style(&self, style: LengthStyle) {
        self.style.set(style);
    }

    pub(super) fn name_type<T: Any + Clone>(
        &self,
        name: &'static str,
        phrase: &'static str,
        show: impl Fn(&T) -> String + 'static,
    ) {
        let shower: Shower = Rc::new(move |value| value.read_lock::<T>().map(|v| show(&v)));
        let entry = TypeEntry {
            name,
            phrase,
            shower,
        };
        self.types.borrow_mut().insert(TypeId::of::<T>(), entry);
    }

    /// Whether a value is of the custom type with this name.
    pub fn is_named(&self, value: &Dynamic, name: &str) -> bool {
        self.types
            .borrow()
            .get(&value_type(value))
            .is_some_and(|entry| entry.name == name)
    }

    /// The phrase of a named type: "a length" for `Length`.
    pub fn phrase_of(&self, name: &str) -> String {
        if let Some(phrase) = builtin_phrase(name) {
            return phrase.to_owned();
        }
        let types = self.types.borrow();
        let entry = types.values().find(|entry| entry.name == name);
        entry.map_or_else(
            || format!("a value of the kind {name}"),
            |entry| entry.phrase.to_owned(),
        )
    }

    /// The name of a value's type, as declarations use it.
    pub fn type_name(&self, value: &Dynamic) -> String {
        let types = self.types.borrow();
        match types.get(&value_type(value)) {
            Some(entry) => entry.name.to_owned(),
            None => value.type_name().to_owned(),
        }
    }

    /// What kind of value this is: "a whole number", "a list", "nothing".
    pub fn kind_of(&self, value: &Dynamic) -> String {
        let types = self.types.borrow();
        match types.get(&value_type(value)) {
            Some(entry) => entry.phrase.to_owned(),
            None => builtin_phrase(value.type_name())
                .map_or_else(|| "a value of another kind".to_owned(), str::to_owned),
        }
    }

    /// A value named in a message: "the whole number 80", "the text \"back\"", "a list".
    pub fn describe(&self, value: &Dynamic) -> String {
        let definite = |kind: &str| {
            kind.split_once(' ')
                .map_or(kind.to_owned(), |(_, rest)| format!("the {rest}"))
        };
        if value.is_unit() {
            return "nothing".to_owned();
        }
        if value.is_bool() {
            return format!("`{}`", self.show(value));
        }
        let text = self.show(value);
        let short = text.chars().count() <= TEXT_SHOWN && !text.contains('\n');
        let simple = value.is_int()
            || value.is_float()
            || self.types.borrow().contains_key(&value_type(value));
        match (value.is_string() || value.is_char(), simple && short) {
            (true, _) if short => format!("{} {}", definite(&self.kind_of(value)), quote(&text)),
            (false, true) => format!("{} {text}", definite(&self.kind_of(value))),
            _ => self.kind_of(value),
        }
    }

    /// A value as the shell shows it.
    pub fn show(&self, value: &Dynamic) -> String {
        match value.read_lock::<ImmutableString>() {
            Some(text) => text.to_string(),
            None => self.show_inner(value, 0),
        }
    }

    /// A value as the answer to an input: by itself it may show more than among others.
    pub fn answer(&self, value: &Dynamic) -> String {
        if let Some(length) = value.read_lock::<Length>() {
            return self.style().show_both(*length);
        }
        let answer = self.answers.borrow().get(&value_type(value)).cloned();
        let told = answer.and_then(|answer| answer(value));
        told.unwrap_or_else(|| self.show(value))
    }

    /// A value within a list: texts are quoted there.
    fn show_inner(&self, value: &Dynamic, depth: usize) -> String {
        if depth > DEPTH_SHOWN {
            return "...".to_owned();
        }
        let shower = self
            .types
            .borrow()
            .get(&value_type(value))
            .map(|entry| entry.shower.clone());
        if let Some(text) = shower.and_then(|shower| shower(value)) {
            return text;
        }
        if value.is_unit() {
            return "nothing".to_owned();
        }
        if let Some(text) = value.read_lock::<ImmutableString>() {
            return quote(&text);
        }
        if let Some(number) = value.read_lock::<f64>() {
            return show_number(*number);
        }
        if let Some(items) = value.read_lock::<Array>() {
            let shown = items
                .iter()
                .map(|item| self.show_inner(item, depth + 1))
                .collect();
            return bracketed("[", shown, "]");
        }
        if let Some(map) = value.read_lock::<Map>() {
            let shown = map
                .iter()
                .map(|(k, v)| format!("{}: {}", key(k), self.show_inner(v, depth + 1)));
            return bracketed("#{ ", shown.collect(), " }");
        }
        if value.is::<FnPtr>() {
            return "a function".to_owned();
        }
        if value.type_name().contains("::") {
            return self.kind_of(value);
        }
        value.to_string()
    }

    /// A map of type names to phrases, for the texts of the engine.
    pub(super) fn phrases(&self) -> BTreeMap<&'static str, &'static str> {
        let types = self.types.borrow();
        types
            .values()
            .map(|entry| (entry.name, entry.phrase))
            .collect()
    }
}

/// The kind of value that a method or property registered by hand is called on, as its declaration says.
fn by_hand_on(declaration: &Declaration) -> Option<String> {
    match declaration.kind {
        CallKind::Method { of } | CallKind::Property { of } => Some(of.to_owned()),
        CallKind::Function => None,
    }
}

/// Whether showing a value is no work.
fn quantity_or_basic(value: &Dynamic) -> bool {
    value.is_int()
        || value.is_float()
        || value.is_bool()
        || value.is_string()
        || value.is_char()
        || value.is::<Length>()
        || value.is::<Area>()
        || value.is::<Volume>()
        || value.is::<Mass>()
        || value.is::<Density>()
        || value.is::<Pressure>()
        || value.is::<Temperature>()
        || value.is::<Duration>()
}

fn value_type(value: &Dynamic) -> TypeId {
    // Shared values (captured by closures) answer for what they hold.
    value.type_id()
}

fn quote(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '\n' => quoted.push_str("\\n"),
            '\t' => quoted.push_str("\\t"),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

fn key(name: &str) -> String {
    if rhai::is_valid_identifier(name) {
        name.to_owned()
    } else {
        quote(name)
    }
}

/// A number without the noise of its last bits: fifteen digits are what the arithmetic keeps.
pub fn show_number(number: f64) -> String {
    const DIGITS_KEPT: usize = 14;
    // Beyond these the zeros would have to be counted.
    const LARGE: f64 = 1e15;
    const SMALL: f64 = 1e-6;
    if !number.is_finite() {
        return if number.is_nan() {
            "not a number"
        } else {
            "infinite"
        }
        .to_owned();
    }
    let rounded: f64 = format!("{number:.DIGITS_KEPT$e}").parse().unwrap_or(number);
    let size = rounded.abs();
    if size >= LARGE || (size > 0.0 && size < SMALL) {
        return format!("{rounded:e}");
    }
    rounded.to_string()
}

/// Items on one line where they fit, else each on its own.
fn bracketed(open: &str, items: Vec<String>, close: &str) -> String {
    const LINE: usize = 76;
    if items.is_empty() {
        return format!("{}{}", open.trim_end(), close.trim_start());
    }
    let length: usize = items.iter().map(|item| item.chars().count() + 2).sum();
    if length <= LINE && !items.iter().any(|item| item.contains('\n')) {
        return format!("{open}{}{close}", items.join(", "));
    }
    let mut text = open.trim_end().to_owned();
    let mut room = 0;
    for item in items {
        // Short items share lines; one of several lines stands by itself.
        let wanted = item.chars().count() + 2;
        if wanted > room || item.contains('\n') {
            text.push_str("\n ");
            room = if item.contains('\n') { 0 } else { LINE };
        }
        text.push(' ');
        text.push_str(&item.replace('\n', "\n  "));
        text.push(',');
        room = room.saturating_sub(wanted);
    }
    text.push('\n');
    text.push_str(close.trim_start());
    text
}

/// The phrase for a type name of the engine.
pub(super) fn builtin_phrase(name: &str) -> Option<&'static str> {
    // The engine names some kinds with what they hold, such as a range of whole numbers.
    let bare = name.split('<').next().unwrap_or(name);
    Some(match bare {
        "i64" | "int" | "integer" => "a whole number",
        "f64" | "float" | "number" => "a number",
        "bool" => "true or false",
        "char" => "a letter",
        "string" | "String" | "ImmutableString" | "&str" => "a text",
        "array" | "Array" => "a list",
        "map" | "Map" => "an option map",
        "()" => "nothing",
        "Fn" | "FnPtr" => "a function",
        "blob" | "Blob" => "a row of bytes",
        "range" | "range=" | "Range" | "RangeInclusive" => "a range",
        _ => return None,
    })
}

/// Names the quantities, so that messages can speak of them.
pub(super) fn name_quantities(vocabulary: &Rc<Vocabulary>) {
    macro_rules! name {
        ($($type:ty, $name:literal, $phrase:literal, $show:expr;)*) => {
            $({
                let own = Rc::downgrade(vocabulary);
                let show: fn($type, LengthStyle) -> String = $show;
                vocabulary.name_type($name, $phrase, move |value: &$type| {
                    show(*value, own.upgrade().map(|vocabulary| vocabulary.style()).unwrap_or_default())
                });
            })*
        };
    }
    name! {
        Length, "Length", "a length", super::quantities::show_length;
        Area, "Area", "an area", |value, style| style.show_area(value);
        Volume, "Volume", "a volume", |value, style| style.show_volume(value);
        Mass, "Mass", "a mass", |value, style| style.show_mass(value);
        Density, "Density", "a density", |density, style| style.show_density(density);
        Pressure, "Pressure", "a pressure", |value, style| style.show_pressure(value);
        Temperature, "Temperature", "a temperature", |value, style| style.show_temperature(value);
        Duration, "Duration", "a duration", |value, style| style.show_duration(value);
    }
}
