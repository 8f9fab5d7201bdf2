//! One declaration per function: the only way to register it.
//!
//! A [`Declaration`] holds name, kinds, defaults, meanings and examples. Registration, checking of
//! arguments, help, completion and the reference are all made from it.

use std::any::{Any, TypeId};
use std::fmt::Write;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use rhai::{
    AST, Dynamic, Engine, EvalAltResult, FnPtr, Map, Module, NativeCallContext, Position, Scope,
};

use super::building::{BUILD, build_scope};
use super::engine::{Limits, Stop};
use super::errors::{ErrorNote, Errors};
use super::explain::syntax_words;
use super::options::{Call, Fault, Faults};
use super::vocabulary::Vocabulary;
use crate::outside::Outside;
use crate::quantity::{Area, Density, Duration, Length, Mass, Pressure, Temperature, Volume};
use crate::stop;

/// The topic under which `help()` lists a function.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Lengths, masses, times and their arithmetic.
    Quantities,
    /// Units, mixes and the catalogue.
    Masonry,
    /// Chambers, walls, piers and their openings.
    Parts,
    /// Plans and what is placed in them.
    Plans,
    /// What is read off the laid work.
    Reading,
    /// Checks and cautions.
    Review,
    /// Sweeps and searches.
    Comparing,
    /// Drawings, sheets and files.
    Sheets,
    /// The session itself.
    Session,
}

impl Group {
    /// Every group in the order of `help()`.
    pub const ALL: [Self; 9] = [
        Self::Quantities,
        Self::Masonry,
        Self::Parts,
        Self::Plans,
        Self::Reading,
        Self::Review,
        Self::Comparing,
        Self::Sheets,
        Self::Session,
    ];

    /// The title in lists.
    pub fn title(self) -> &'static str {
        match self {
            Self::Quantities => "Quantities",
            Self::Masonry => "Units and mixes",
            Self::Parts => "Parts",
            Self::Plans => "Plans",
            Self::Reading => "Reading a plan",
            Self::Review => "Checks",
            Self::Comparing => "Comparing",
            Self::Sheets => "Drawings and files",
            Self::Session => "The session",
        }
    }
}

/// How a function is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CallKind {
    /// `name(...)`.
    Function,
    /// `value.name(...)` on a value of this type.
    Method {
        /// Name of the type.
        of: &'static str,
    },
    /// `value.name` on a value of this type; `number` stands for both kinds of numbers.
    Property {
        /// Name of the type.
        of: &'static str,
    },
}

/// A script and what it shows.
#[derive(Debug, Clone, Copy)]
pub struct Example {
    /// The script.
    pub script: &'static str,
    /// What its last expression shows.
    pub shows: &'static str,
}

/// One argument, or one key of the option map.
#[derive(Debug, Clone, Copy)]
pub struct Parameter {
    /// Its name: for an option, the key.
    pub name: &'static str,
    /// What it takes.
    pub wants: Want,
    /// Whether it must be given.
    pub required: bool,
    /// The default as help shows it; empty where there is none to show.
    pub default: &'static str,
    /// What it means, as a sentence.
    pub meaning: &'static str,
}

impl Parameter {
    /// A parameter that must be given.
    pub const fn required(name: &'static str, wants: Want, meaning: &'static str) -> Self {
        Self {
            name,
            wants,
            required: true,
            default: "",
            meaning,
        }
    }

    /// A parameter that may be left out.
    pub const fn optional(
        name: &'static str,
        wants: Want,
        default: &'static str,
        meaning: &'static str,
    ) -> Self {
        Self {
            name,
            wants,
            required: false,
            default,
            meaning,
        }
    }
}

/// One function, method or property of the language.
#[derive(Debug, Clone, Copy)]
pub struct Declaration {
    /// Its name in scripts.
    pub name: &'static str,
    /// Its topic.
    pub group: Group,
    /// What it does, in one sentence.
    pub summary: &'static str,
    /// How it is called.
    pub kind: CallKind,
    /// The arguments before the option map.
    pub positional: &'static [Parameter],
    /// The keys of the option map; empty where it takes none.
    pub options: &'static [Parameter],
    /// What it returns.
    pub returns: &'static str,
    /// Scripts that show its use.
    pub examples: &'static [Example],
    /// The errors that it may end with, beside those that any call may end with.
    pub errors: &'static [Errors],
    /// Names of related functions.
    pub see_also: &'static [&'static str],
}

impl Declaration {
    /// Its name with what it is called on: `chamber`, `length.round_to`.
    pub fn call(&self) -> String {
        match self.kind {
            CallKind::Function => self.name.to_owned(),
            CallKind::Method { of } | CallKind::Property { of } => {
                format!("{}.{}", of.to_lowercase(), self.name)
            }
        }
    }

    /// The call as one line: `chamber(#{ outside, ... })`, `length.round_to(step)`, `number.mm`.
    pub fn signature(&self) -> String {
        let mut text = self.call();
        if matches!(self.kind, CallKind::Property { .. }) {
            return text;
        }
        let mut parts: Vec<String> = self
            .positional
            .iter()
            .map(|p| {
                if p.required {
                    p.name.to_owned()
                } else {
                    format!("[{}]", p.name)
                }
            })
            .collect();
        if !self.options.is_empty() {
            let needed: Vec<&str> = self
                .options
                .iter()
                .filter(|o| o.required)
                .map(|o| o.name)
                .collect();
            parts.push(
                match (needed.is_empty(), needed.len() == self.options.len()) {
                    (true, _) => "[#{ ... }]".to_owned(),
                    (false, true) => format!("#{{ {} }}", needed.join(", ")),
                    (false, false) => format!("#{{ {}, ... }}", needed.join(", ")),
                },
            );
        }
        let _ = write!(text, "({})", parts.join(", "));
        text
    }

    /// The same with the errors that it may end with.
    #[must_use]
    pub const fn refusing(self, errors: &'static [Errors]) -> Self {
        Self { errors, ..self }
    }

    /// The errors that it may end with, each once.
    pub fn errors(&self) -> Vec<&'static ErrorNote> {
        let mut found: Vec<&'static ErrorNote> = Vec::new();
        for note in self.errors.iter().flat_map(|errors| errors.notes) {
            if !found.contains(&note) {
                found.push(note);
            }
        }
        found
    }

    /// The parameter or option of this name.
    pub fn parameter(&self, name: &str) -> Option<&'static Parameter> {
        self.positional
            .iter()
            .chain(self.options)
            .find(|p| p.name == name)
    }

    /// The keys of the option map in their declared order.
    pub fn keys(&self) -> String {
        let keys: Vec<&str> = self.options.iter().map(|o| o.name).collect();
        keys.join(", ")
    }
}

/// Whose name a text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NameOf {
    /// A unit of the catalogue.
    Unit,
    /// A bond of the catalogue.
    Bond,
    /// A mortar or concrete mix of the catalogue.
    Mix,
    /// A soil of the catalogue.
    Soil,
    /// A part of a plan.
    Part,
    /// Something declared, or a page of help.
    Help,
    /// A file in the folder one works in.
    File,
}

/// What a parameter takes.
#[derive(Debug, Clone, Copy)]
pub enum Want {
    /// A length.
    Length,
    /// An area.
    Area,
    /// A volume.
    Volume,
    /// A mass.
    Mass,
    /// A density.
    Density,
    /// A pressure.
    Pressure,
    /// A temperature.
    Temperature,
    /// A duration.
    Duration,
    /// Any number.
    Number,
    /// A number within these ends, both taken.
    NumberFrom(f64, f64),
    /// A whole number.
    WholeNumber,
    /// A whole number within these ends, both taken.
    WholeFrom(i64, i64),
    /// A text.
    Text,
    /// A text that names something which is known elsewhere. Whether it is known is for the function to say.
    Name(NameOf),
    /// `true` or `false`.
    Flag,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A length, or a number of units.
    Size,
    /// A list of two.
    Pair(&'static Want),
    /// A list of three.
    Triple(&'static Want),
    /// A list of any length.
    List(&'static Want),
    /// A map of free keys.
    Map,
    /// A map with these entries. Those of an option are checked as options are; elsewhere that is for the function to do.
    Entries(&'static [Parameter]),
    /// A function or closure.
    Function,
    /// A value of a named type.
    Value(&'static str),
    /// Any of these.
    AnyOf(&'static [Want]),
    /// Anything.
    Anything,
}

/// How a value misses what was wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Mismatch {
    /// What was wanted at that place.
    pub wanted: String,
    /// What is there instead.
    pub got: String,
    /// What to write instead.
    pub remedy: Option<String>,
    /// Which element of a list, counted from 0.
    pub element: Option<usize>,
    /// Whether it is a word that is not among the known ones.
    pub unknown_word: bool,
    /// Whether the kind is right but the number is outside its ends.
    pub out_of_range: bool,
}

impl Want {
    /// What is wanted, in words: "a length, such as 215.mm".
    pub fn describe(&self, vocabulary: &Vocabulary) -> String {
        match self {
            Self::Length => "a length, such as 215.mm".to_owned(),
            Self::Area => "an area, such as 1.5.m2".to_owned(),
            Self::Volume => "a volume, such as 20.litre".to_owned(),
            Self::Mass => "a mass, such as 25.kg".to_owned(),
            Self::Density => "a density, such as 1800.kg_m3".to_owned(),
            Self::Pressure => "a pressure, such as 5.Pa".to_owned(),
            Self::Temperature => "a temperature, such as 110.degC".to_owned(),
            Self::Duration => "a duration, such as 2.h".to_owned(),
            Self::Number => "a number".to_owned(),
            Self::NumberFrom(least, most) => format!("a number from {least} to {most}"),
            Self::WholeNumber => "a whole number".to_owned(),
            Self::WholeFrom(least, most) if *most == i64::MAX => {
                format!("a whole number, {least} or more")
            }
            Self::WholeFrom(least, most) => format!("a whole number from {least} to {most}"),
            Self::Text | Self::Name(_) => "a text in quotes".to_owned(),
            Self::Flag => "true or false".to_owned(),
            Self::Word(words) => match words {
                [one] => format!("\"{one}\""),
                _ => format!("one of {}", quoted(words)),
            },
            Self::Size => "a number of units, such as 4, or a length, such as 1.2.m".to_owned(),
            Self::Pair(inner) => format!("a list of two, each {}", inner.describe(vocabulary)),
            Self::Triple(inner) => format!("a list of three, each {}", inner.describe(vocabulary)),
            Self::List(inner) => format!("a list, each {}", inner.describe(vocabulary)),
            Self::Map | Self::Entries(_) => "an option map, such as #{ name: 1 }".to_owned(),
            Self::Function => "a function, such as |x| x + 1".to_owned(),
            Self::Value(name) => vocabulary.phrase_of(name),
            Self::AnyOf(wants) => {
                let parts: Vec<String> =
                    wants.iter().map(|want| want.describe(vocabulary)).collect();
                parts.join(", or ")
            }
            Self::Anything => "a value".to_owned(),
        }
    }

    /// One or two words for a table: "length", "word".
    pub fn short(&self) -> String {
        match self {
            Self::Length => "length".into(),
            Self::Area => "area".into(),
            Self::Volume => "volume".into(),
            Self::Mass => "mass".into(),
            Self::Density => "density".into(),
            Self::Pressure => "pressure".into(),
            Self::Temperature => "temperature".into(),
            Self::Duration => "duration".into(),
            Self::Number | Self::NumberFrom(..) => "number".into(),
            Self::WholeNumber | Self::WholeFrom(..) => "whole number".into(),
            Self::Text | Self::Name(_) => "text".into(),
            Self::Flag => "true or false".into(),
            Self::Word(words) => quoted(words),
            Self::Size => "units or length".into(),
            Self::Pair(inner) => format!("two of {}", inner.short()),
            Self::Triple(inner) => format!("three of {}", inner.short()),
            Self::List(inner) => format!("list of {}", inner.short()),
            Self::Map | Self::Entries(_) => "option map".into(),
            Self::Function => "function".into(),
            Self::Value(name) => name.to_lowercase(),
            Self::AnyOf(wants) => wants
                .iter()
                .map(Self::short)
                .collect::<Vec<_>>()
                .join(" or "),
            Self::Anything => "anything".into(),
        }
    }

    /// The words that may be written here, for completion.
    pub fn words(&self) -> Vec<&'static str> {
        match self {
            Self::Word(words) => words.to_vec(),
            Self::Flag => vec!["true", "false"],
            Self::Pair(inner) | Self::Triple(inner) | Self::List(inner) => inner.words(),
            Self::AnyOf(wants) => wants.iter().flat_map(Self::words).collect(),
            _ => Vec::new(),
        }
    }

    /// Whose names may be written here, for completion.
    pub fn names(&self) -> Vec<NameOf> {
        match self {
            Self::Name(of) => vec![*of],
            Self::Pair(inner) | Self::Triple(inner) | Self::List(inner) => inner.names(),
            Self::AnyOf(wants) => wants.iter().flat_map(Self::names).collect(),
            _ => Vec::new(),
        }
    }

    /// The entries of the map that may be written here.
    pub fn entries(&self) -> &'static [Parameter] {
        match self {
            Self::Entries(entries) => entries,
            Self::Pair(inner) | Self::Triple(inner) | Self::List(inner) => inner.entries(),
            Self::AnyOf(wants) => wants
                .iter()
                .map(Self::entries)
                .find(|entries| !entries.is_empty())
                .unwrap_or_default(),
            _ => &[],
        }
    }

    fn takes_map(&self) -> bool {
        match self {
            Self::Map | Self::Entries(_) | Self::Anything => true,
            Self::AnyOf(wants) => wants.iter().any(Self::takes_map),
            _ => false,
        }
    }

    /// Checks a value.
    ///
    /// # Errors
    /// Says what was wanted and what is there.
    pub fn check(&self, value: &Dynamic, vocabulary: &Vocabulary) -> Result<(), Box<Mismatch>> {
        let miss = || -> Box<Mismatch> {
            Box::new(Mismatch {
                wanted: self.describe(vocabulary),
                got: vocabulary.describe(value),
                remedy: self.remedy(value),
                element: None,
                unknown_word: false,
                out_of_range: false,
            })
        };
        let fine = |right: bool| if right { Ok(()) } else { Err(miss()) };
        let range = |kind: bool, inside: bool| match (kind, inside) {
            (true, true) => Ok(()),
            (kind, _) => Err(Box::new(Mismatch {
                out_of_range: kind,
                ..*miss()
            })),
        };
        match self {
            Self::Length => fine(value.is::<Length>()),
            Self::Area => fine(value.is::<Area>()),
            Self::Volume => fine(value.is::<Volume>()),
            Self::Mass => fine(value.is::<Mass>()),
            Self::Density => fine(value.is::<Density>()),
            Self::Pressure => fine(value.is::<Pressure>()),
            Self::Temperature => fine(value.is::<Temperature>()),
            Self::Duration => fine(value.is::<Duration>()),
            Self::Number => fine(number(value).is_some()),
            Self::NumberFrom(least, most) => {
                let n = number(value);
                range(
                    n.is_some(),
                    n.is_some_and(|n| (*least..=*most).contains(&n)),
                )
            }
            Self::WholeNumber => fine(whole(value).is_some()),
            Self::WholeFrom(least, most) => {
                let n = whole(value);
                range(
                    n.is_some(),
                    n.is_some_and(|n| (*least..=*most).contains(&n)),
                )
            }
            Self::Text | Self::Name(_) => fine(value.is_string()),
            Self::Flag => fine(value.is_bool()),
            Self::Word(words) => match value.read_lock::<rhai::ImmutableString>() {
                None => Err(miss()),
                Some(word) if words.contains(&word.as_str()) => Ok(()),
                Some(word) => Err(Box::new(Mismatch {
                    unknown_word: true,
                    remedy: crate::masonry::nearest(&word, words.iter().copied())
                        .map(|near| format!("did you mean \"{near}\"?")),
                    ..*miss()
                })),
            },
            Self::Size => fine(value.is::<Length>() || number(value).is_some()),
            Self::Pair(inner) => list(inner, value, Some(2), vocabulary, &miss),
            Self::Triple(inner) => list(inner, value, Some(3), vocabulary, &miss),
            Self::List(inner) => list(inner, value, None, vocabulary, &miss),
            Self::Map | Self::Entries(_) => fine(value.is::<Map>()),
            Self::Function => fine(value.is::<FnPtr>()),
            Self::Value(name) => fine(vocabulary.is_named(value, name)),
            Self::AnyOf(wants) => any_of(wants, value, vocabulary, &miss),
            Self::Anything => Ok(()),
        }
    }

    /// What to write instead, where the mistake is a usual one.
    fn remedy(&self, value: &Dynamic) -> Option<String> {
        if value.is_char() && matches!(self, Self::Text | Self::Name(_) | Self::Word(_)) {
            return Some("texts stand between double quotes or back-ticks".to_owned());
        }
        let shown = if value.is_int() {
            value.to_string()
        } else {
            super::vocabulary::show_number(number(value)?)
        };
        Some(match self {
            Self::Length => format!("write {shown}.mm or {shown}.inch"),
            Self::Area => format!("write {shown}.m2 or {shown}.ft2"),
            Self::Volume => format!("write {shown}.litre or {shown}.ft3"),
            Self::Mass => format!("write {shown}.kg or {shown}.lb"),
            Self::Density => format!("write {shown}.kg_m3 or {shown}.lb_ft3"),
            Self::Temperature => format!("write {shown}.degC or {shown}.degF"),
            Self::Duration => format!("write {shown}.h or {shown}.minute"),
            Self::Text | Self::Name(_) => format!("write \"{shown}\""),
            Self::Pair(_) => format!("write [{shown}, {shown}]"),
            Self::List(_) => format!("write [{shown}]"),
            _ => return None,
        })
    }
}

fn list(
    inner: &Want,
    value: &Dynamic,
    length: Option<usize>,
    vocabulary: &Vocabulary,
    miss: &dyn Fn() -> Box<Mismatch>,
) -> Result<(), Box<Mismatch>> {
    let Some(items) = value.read_lock::<rhai::Array>() else {
        return Err(miss());
    };
    if length.is_some_and(|length| length != items.len()) {
        return Err(Box::new(Mismatch {
            got: format!("a list of {}", items.len()),
            ..*miss()
        }));
    }
    for (at, item) in items.iter().enumerate() {
        inner.check(item, vocabulary).map_err(|wrong| {
            Box::new(Mismatch {
                element: Some(at),
                ..*wrong
            })
        })?;
    }
    Ok(())
}

fn any_of(
    wants: &[Want],
    value: &Dynamic,
    vocabulary: &Vocabulary,
    miss: &dyn Fn() -> Box<Mismatch>,
) -> Result<(), Box<Mismatch>> {
    let mut nearer = None;
    let mut remedies = Vec::new();
    for want in wants {
        match want.check(value, vocabulary) {
            Ok(()) => return Ok(()),
            // A list with a wrong element, a wrong word, a number too large: the kind was right.
            Err(wrong) if wrong.element.is_some() || wrong.unknown_word || wrong.out_of_range => {
                nearer = nearer.or(Some(wrong));
            }
            Err(wrong) => remedies.extend(wrong.remedy),
        }
    }
    Err(nearer.unwrap_or_else(|| {
        Box::new(Mismatch {
            remedy: remedies.into_iter().next(),
            ..*miss()
        })
    }))
}

/// A finite number of either kind.
pub(super) fn number(value: &Dynamic) -> Option<f64> {
    let n = value
        .as_float()
        .ok()
        .or_else(|| value.as_int().ok().map(|n| n as f64))?;
    n.is_finite().then_some(n)
}

/// A whole number, also when it comes as 3.0.
pub(super) fn whole(value: &Dynamic) -> Option<i64> {
    /// Beyond this a float no longer tells neighbouring whole numbers apart.
    const WHOLE_MOST: f64 = 9_007_199_254_740_992.0;
    value.as_int().ok().or_else(|| {
        let n = value.as_float().ok()?;
        (n.fract() == 0.0 && n.abs() <= WHOLE_MOST).then_some(n as i64)
    })
}

pub(super) fn quoted(words: &[&str]) -> String {
    let all: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    match all.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} or {last}", rest.join(", ")),
        _ => all.join(""),
    }
}

/// Registers declared functions in an engine.
pub struct Registry<'e> {
    engine: &'e mut Engine,
    vocabulary: Rc<Vocabulary>,
    outside: Rc<dyn Outside>,
    limits: Limits,
    interrupt: Arc<AtomicBool>,
}

type Checked<R> = Result<R, Fault>;

impl<'e> Registry<'e> {
    /// A registry that writes into `engine` and `vocabulary`.
    pub fn new(
        engine: &'e mut Engine,
        vocabulary: Rc<Vocabulary>,
        outside: Rc<dyn Outside>,
        limits: Limits,
        interrupt: Arc<AtomicBool>,
    ) -> Self {
        Self {
            engine,
            vocabulary,
            outside,
            limits,
            interrupt,
        }
    }

    /// What a script may use up, for work that runs scripts of its own.
    pub fn limits(&self) -> Limits {
        self.limits.clone()
    }

    /// The flag that a person raises to stop the run; taken down by work that ends with what it has so far.
    pub fn interrupt(&self) -> Arc<AtomicBool> {
        Arc::clone(&self.interrupt)
    }

    /// The engine, for what has no declaration (operators, iterators).
    pub fn engine(&mut self) -> &mut Engine {
        self.engine
    }

    /// What is declared so far.
    pub fn vocabulary(&self) -> Rc<Vocabulary> {
        Rc::clone(&self.vocabulary)
    }

    /// The world outside, for closures that print or write.
    pub fn outside(&self) -> Rc<dyn Outside> {
        Rc::clone(&self.outside)
    }

    /// Names a value type: `name` as declarations use it, `phrase` for messages ("a chamber"), and
    /// how it shows itself. Comparing it with another kind of value becomes an error.
    pub fn value_type<T: Any + Clone>(
        &mut self,
        name: &'static str,
        phrase: &'static str,
        show: impl Fn(&T) -> String + Clone + 'static,
    ) {
        self.engine.register_type_with_name::<T>(name);
        self.vocabulary.name_type(name, phrase, show.clone());
        let shown = show.clone();
        self.engine
            .register_fn("to_string", move |value: &mut T| show(value));
        self.engine
            .register_fn("to_debug", move |value: &mut T| shown(value));
        super::operators::refuse_unlike::<T>(self.engine, &self.vocabulary);
    }

    /// How a value is told in one line, among others; quick, whatever showing it whole takes.
    pub fn brief<T: Any + Clone>(&mut self, brief: impl Fn(&T) -> String + 'static) {
        self.vocabulary.brief_of(brief);
    }

    /// How a value shows itself as the answer to an input, where it says more than in a list.
    pub fn answer<T: Any + Clone>(&mut self, answer: impl Fn(&T) -> String + 'static) {
        self.vocabulary.answer_of(answer);
    }

    /// Tells what a value has that goes by a name, such as the parts of a plan, for completion.
    pub fn names_in<T: Any + Clone>(
        &mut self,
        of: NameOf,
        names: impl Fn(&T) -> Vec<String> + 'static,
    ) {
        self.vocabulary.names_in(of, names);
    }

    /// Registers a function: the closure reads its checked arguments and options by name.
    pub fn function<R: Any + Clone>(
        &mut self,
        declaration: &'static Declaration,
        body: impl Fn(&Call) -> Checked<R> + 'static,
    ) {
        self.calling_function(declaration, move |call, _| Ok(body(call)?));
    }

    /// Registers a function that calls functions which the script hands over.
    pub fn calling_function<R: Any + Clone>(
        &mut self,
        declaration: &'static Declaration,
        body: impl Fn(&Call, &Caller<'_>) -> Result<R, Refusal> + 'static,
    ) {
        self.vocabulary
            .declare(declaration, None, Some(TypeId::of::<R>()));
        let body = Rc::new(body);
        let most = declaration.positional.len() + usize::from(!declaration.options.is_empty());
        for count in 0..=most {
            let (body, vocabulary) = (Rc::clone(&body), self.vocabulary());
            let types = vec![TypeId::of::<Dynamic>(); count];
            self.engine.register_raw_fn(
                declaration.name,
                types,
                move |context: NativeCallContext, args: &mut [&mut Dynamic]| {
                    let given: Vec<Dynamic> =
                        args.iter_mut().map(|arg| arg.flatten_clone()).collect();
                    let caller = Caller {
                        context: &context,
                        vocabulary: &vocabulary,
                    };
                    run(declaration, &vocabulary, &context, given, |call| {
                        body(call, &caller)
                    })
                },
            );
        }
    }

    /// Registers a method that calls functions which the script hands over.
    pub fn calling_method<T: Any + Clone, R: Any + Clone>(
        &mut self,
        declaration: &'static Declaration,
        body: impl Fn(&Call, &Caller<'_>, T) -> Result<R, Refusal> + 'static,
    ) {
        let (of, gives) = (Some(TypeId::of::<T>()), Some(TypeId::of::<R>()));
        self.vocabulary.declare(declaration, of, gives);
        let body = Rc::new(body);
        let most = declaration.positional.len() + usize::from(!declaration.options.is_empty());
        for count in 0..=most {
            let (body, vocabulary) = (Rc::clone(&body), self.vocabulary());
            let mut types = vec![TypeId::of::<T>()];
            types.resize(count + 1, TypeId::of::<Dynamic>());
            self.engine.register_raw_fn(
                declaration.name,
                types,
                move |context: NativeCallContext, args: &mut [&mut Dynamic]| {
                    let mut given = args.iter_mut().map(|arg| arg.flatten_clone());
                    let receiver = given.next().and_then(Dynamic::try_cast::<T>);
                    let given: Vec<Dynamic> = given.collect();
                    let caller = Caller {
                        context: &context,
                        vocabulary: &vocabulary,
                    };
                    run(
                        declaration,
                        &vocabulary,
                        &context,
                        given,
                        |call| match receiver {
                            Some(receiver) => body(call, &caller, receiver),
                            None => Err(other_receiver(declaration).into()),
                        },
                    )
                },
            );
        }
    }

    /// Registers a method: the closure gets the receiver by value and returns a new value.
    pub fn method<T: Any + Clone, R: Any + Clone>(
        &mut self,
        declaration: &'static Declaration,
        body: impl Fn(&Call, T) -> Checked<R> + 'static,
    ) {
        self.calling_method(declaration, move |call, _, receiver| {
            Ok(body(call, receiver)?)
        });
    }

    /// Registers a property. The same declaration may be given again for another receiver type.
    pub fn property<T: Any + Clone, R: Any + Clone>(
        &mut self,
        declaration: &'static Declaration,
        body: impl Fn(&T) -> Checked<R> + 'static,
    ) {
        let (of, gives) = (Some(TypeId::of::<T>()), Some(TypeId::of::<R>()));
        self.vocabulary.declare(declaration, of, gives);
        self.engine.register_get(
            declaration.name,
            move |context: NativeCallContext, this: &mut T| -> Result<R, Box<EvalAltResult>> {
                body(this).map_err(|fault| {
                    let at = context.call_position();
                    stopped(at)
                        .unwrap_or_else(|| Faults::one(declaration.name, fault).into_error(at))
                })
            },
        );
    }

    /// Declares a function that is registered by hand, because it shares its name with one of the
    /// engine's own and needs exact types.
    pub fn by_hand(
        &mut self,
        declaration: &'static Declaration,
        register: impl FnOnce(&mut Engine),
    ) {
        self.vocabulary.declare(declaration, None, None);
        register(self.engine);
    }
}

/// Checks the arguments, runs the body, and dresses faults as errors of the engine; what goes wrong in functions of the
/// script that the body calls stays as it is.
fn run<R: Any + Clone>(
    declaration: &'static Declaration,
    vocabulary: &Rc<Vocabulary>,
    context: &NativeCallContext,
    given: Vec<Dynamic>,
    body: impl FnOnce(&Call) -> Result<R, Refusal>,
) -> Result<Dynamic, Box<EvalAltResult>> {
    let at = context.call_position();
    let call =
        Call::check(declaration, vocabulary, given).map_err(|faults| faults.into_error(at))?;
    let result = body(&call);
    // What long work gives that was asked to stop may not be whole.
    match (stopped(at), result) {
        (_, Err(Refusal::Inner(error))) => Err(error),
        (Some(stopped), _) => Err(stopped),
        (None, Ok(value)) => Ok(Dynamic::from(value)),
        (None, Err(Refusal::Fault(fault))) => {
            Err(Faults::one(declaration.name, call.place(fault)).into_error(at))
        }
    }
}

fn other_receiver(declaration: &Declaration) -> Fault {
    Fault::new(
        "internal-fault",
        format!("`{}` was called on another kind of value", declaration.name),
    )
}

/// Calls functions that a script handed over.
pub struct Caller<'c> {
    context: &'c NativeCallContext<'c>,
    vocabulary: &'c Vocabulary,
}

impl Caller<'_> {
    /// What a function of the script gives for some arguments.
    ///
    /// # Errors
    /// What goes wrong in it, which points into the script.
    pub fn call(&self, function: &FnPtr, arguments: Vec<Dynamic>) -> Result<Dynamic, Refusal> {
        let mut arguments = arguments;
        let value = function
            .call_raw(self.context, None, &mut arguments)
            .map_err(Refusal::Inner)?;
        Ok(value.flatten())
    }

    /// The module of a name, as an import in the calling script finds it.
    ///
    /// # Errors
    /// When there is none, or it cannot be read.
    pub fn module(&self, name: &str) -> Result<Rc<Module>, Refusal> {
        let engine = self.context.engine();
        let at = self.context.call_position();
        engine
            .module_resolver()
            .resolve(engine, self.context.call_source(), name, at)
            .map_err(Refusal::Inner)
    }

    /// What a recipe builds with some options, imported as in the calling script.
    ///
    /// # Errors
    /// When there is none, or it refuses the options.
    pub fn build(&self, recipe: &str, options: Map) -> Result<Dynamic, Refusal> {
        let tree = self
            .context
            .engine()
            .compile(BUILD)
            .map_err(|error| Refusal::Fault(Fault::new("internal-fault", error.to_string())));
        let mut tree = tree?;
        if let Some(source) = self.context.call_source() {
            tree.set_source(source);
        }
        self.evaluate(&mut build_scope(recipe, options), &tree)
    }

    /// Reads a script text that is to be evaluated by itself.
    ///
    /// # Errors
    /// When it is no script: what is wrong with it.
    pub fn compile(&self, text: &str) -> Result<AST, String> {
        let tree = self.context.engine().compile_expression(text);
        tree.map_err(|error| syntax_words(error.err_type()).message)
    }

    /// What a script gives by itself: it sees what is in the scope, and nothing else of the calling script.
    ///
    /// # Errors
    /// What goes wrong in it.
    pub fn evaluate(&self, scope: &mut Scope<'_>, tree: &AST) -> Result<Dynamic, Refusal> {
        let value = self
            .context
            .engine()
            .eval_ast_with_scope::<Dynamic>(scope, tree)
            .map_err(Refusal::Inner)?;
        Ok(value.flatten())
    }

    /// The names of the parameters of a function of the script; none where it is not one.
    pub fn parameters(&self, function: &FnPtr) -> Option<Vec<String>> {
        /// More parameters than anyone writes: the engine tells functions of one name apart by their number.
        const MOST_PARAMETERS: usize = 64;
        // What a closure takes from around it comes first.
        let captured = function.curry().len();
        let found = (captured..=captured + MOST_PARAMETERS).find_map(|count| {
            let mut spaces = self.context.iter_namespaces();
            spaces.find_map(|space| space.get_script_fn(function.fn_name(), count))
        })?;
        let own = found.params.iter().skip(captured);
        Some(own.map(ToString::to_string).collect())
    }

    /// What the session knows the names of.
    pub fn vocabulary(&self) -> &Vocabulary {
        self.vocabulary
    }
}

/// Why a function that calls others gives nothing.
#[derive(Debug)]
pub enum Refusal {
    /// What it was given is wrong.
    Fault(Fault),
    /// One of the functions that it called failed.
    Inner(Box<EvalAltResult>),
}

impl From<Fault> for Refusal {
    fn from(fault: Fault) -> Refusal {
        Refusal::Fault(fault)
    }
}

/// What ends a run that was asked to stop, which no script catches.
fn stopped(at: Position) -> Option<Box<EvalAltResult>> {
    let reason = Stop::from(stop::asked()?);
    Some(EvalAltResult::ErrorTerminated(Dynamic::from(reason), at).into())
}

pub(super) fn options_expected(declaration: &Declaration, at: usize, value: &Dynamic) -> bool {
    let positional = declaration.positional.get(at);
    !declaration.options.is_empty()
        && value.is::<Map>()
        && positional.is_none_or(|p| !p.wants.takes_map())
}
