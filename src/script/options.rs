//! The checked reader of arguments and options, and the faults it finds.

use std::any::Any;
use std::collections::BTreeMap;
use std::fmt;
use std::ops::{Deref, DerefMut, RangeInclusive};
use std::rc::Rc;

use rhai::{Dynamic, EvalAltResult, FnPtr, ImmutableString, Map, Position};

use super::declare::{Declaration, Mismatch, Parameter, number, options_expected, quoted, whole};
use super::vocabulary::Vocabulary;
use crate::masonry::nearest;
use crate::quantity::{
    Area, Density, Duration, Length, Mass, Pressure, QuantityError, QuantityErrorKind, Temperature,
    Volume,
};

/// A size as builders give it: a number of units, or a length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// A number of units or courses.
    Count(f64),
    /// A length.
    Length(Length),
}

/// Something wrong with a call, boxed so that results stay small.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault(Box<Details>);

/// Code, message, remedies of a fault, and what of the call it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Details {
    /// What was found, as `words-with-hyphens`.
    pub code: &'static str,
    /// The message, which stands alone.
    pub message: String,
    /// What to do about it.
    pub remedy: Vec<String>,
    /// The option it is about.
    pub key: Option<String>,
    /// Whether the key itself is wrong, not its value.
    pub key_itself: bool,
    /// The argument it is about, counted from 0 without the receiver.
    pub argument: Option<usize>,
    /// The entry it is about, where the option or argument is itself a map.
    pub entry: Option<String>,
    /// The element of a list it is about, counted from 0.
    pub element: Option<usize>,
    /// The limit that was met, by its name in [`super::Limits`].
    pub limit: Option<&'static str>,
    /// What else is wrong with the same call, independent of this.
    pub others: Vec<Fault>,
}

impl Deref for Fault {
    type Target = Details;

    fn deref(&self) -> &Details {
        &self.0
    }
}

impl DerefMut for Fault {
    fn deref_mut(&mut self) -> &mut Details {
        &mut self.0
    }
}

impl Fault {
    /// A fault about the call as a whole.
    pub fn new(code: &'static str, message: impl Into<String>) -> Self {
        Self(Box::new(Details {
            code,
            message: message.into(),
            remedy: Vec::new(),
            key: None,
            key_itself: false,
            argument: None,
            entry: None,
            element: None,
            limit: None,
            others: Vec::new(),
        }))
    }

    /// Adds a remedy.
    #[must_use]
    pub fn remedy(mut self, text: impl Into<String>) -> Self {
        self.remedy.push(text.into());
        self
    }

    /// Says which parameter or option it is about, by name: the caret goes to its value.
    #[must_use]
    pub fn about(mut self, name: impl Into<String>) -> Self {
        self.key = Some(name.into());
        self
    }

    /// Says which entry of the map that the option or argument holds it is about: the caret goes to its value.
    #[must_use]
    pub fn entry(mut self, name: impl Into<String>) -> Self {
        self.entry = Some(name.into());
        self
    }

    /// Says which entry of the map should not be there: the caret goes to its key.
    #[must_use]
    pub fn entry_key(mut self, name: impl Into<String>) -> Self {
        self.key_itself = true;
        self.entry(name)
    }

    /// Says which element of the list it is about.
    #[must_use]
    pub fn element(mut self, at: usize) -> Self {
        self.element = Some(at);
        self
    }

    /// Says which limit was met: how to raise it is told with it.
    #[must_use]
    pub fn limit(mut self, name: &'static str) -> Self {
        self.limit = Some(name);
        self
    }

    /// Several independent faults of one call as one; none where there are none.
    pub fn several(faults: Vec<Self>) -> Option<Self> {
        let mut faults = faults.into_iter().flat_map(|mut fault| {
            let others = std::mem::take(&mut fault.others);
            std::iter::once(fault).chain(others)
        });
        let mut first = faults.next()?;
        first.others.extend(faults);
        Some(first)
    }

    /// This fault and those that came with it, as an error of the engine.
    pub fn into_error(self, function: &'static str, at: Position) -> Box<EvalAltResult> {
        Faults::one(function, self).into_error(at)
    }
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Fault {}

impl From<QuantityError> for Fault {
    fn from(error: QuantityError) -> Self {
        let code = match error.kind {
            QuantityErrorKind::Overflow => "out-of-range",
            QuantityErrorKind::NotFinite => "not-finite",
            QuantityErrorKind::Parse { .. } => "unreadable-quantity",
            QuantityErrorKind::BelowAbsoluteZero => "below-absolute-zero",
            QuantityErrorKind::NotPositive => "not-positive",
        };
        Self::new(code, error.message).remedy(error.remedy)
    }
}

impl From<crate::outside::OutsideError> for Fault {
    fn from(error: crate::outside::OutsideError) -> Self {
        Self::new("file-trouble", error.message).remedy(error.remedy)
    }
}

/// All faults of one call, as they travel inside an error of the engine.
#[derive(Debug, Clone)]
pub struct Faults {
    /// The function that was called.
    pub function: &'static str,
    /// What is wrong, worst first.
    pub faults: Vec<Fault>,
}

impl Faults {
    /// A fault and those that came with it.
    pub fn one(function: &'static str, mut fault: Fault) -> Self {
        let others = std::mem::take(&mut fault.others);
        let faults = std::iter::once(fault).chain(others).collect();
        Self { function, faults }
    }

    /// The error of the engine that carries them.
    pub fn into_error(self, at: Position) -> Box<EvalAltResult> {
        EvalAltResult::ErrorRuntime(Dynamic::from(self), at).into()
    }

    /// All messages, a line each.
    pub fn message(&self) -> String {
        let lines: Vec<&str> = self
            .faults
            .iter()
            .map(|fault| fault.message.as_str())
            .collect();
        lines.join("\n")
    }
}

struct Held {
    value: Dynamic,
    argument: Option<usize>,
}

/// The checked arguments and options of one call, read by name.
///
/// Kinds, required keys and unknown keys are checked against the declaration before the body runs,
/// so a reader fails only where body and declaration disagree.
pub struct Call {
    declaration: &'static Declaration,
    vocabulary: Rc<Vocabulary>,
    held: BTreeMap<&'static str, Held>,
}

type Read<T> = Result<T, Fault>;

impl Call {
    /// Checks the given values against the declaration.
    ///
    /// # Errors
    /// All independent problems at once: unknown keys, then wrong kinds, then what is missing.
    pub(super) fn check(
        declaration: &'static Declaration,
        vocabulary: &Rc<Vocabulary>,
        mut given: Vec<Dynamic>,
    ) -> Result<Self, Faults> {
        let mut faults = Vec::new();
        let mut held = BTreeMap::new();
        let last = given.len().saturating_sub(1);
        let options = match given.last() {
            Some(value) if options_expected(declaration, last, value) => {
                given.pop().and_then(Dynamic::try_cast::<Map>)
            }
            _ => None,
        };
        let mut kinds = Vec::new();
        // What a misspelt key or a misplaced value was meant to give is not also missing.
        let mut meant: Vec<&str> = Vec::new();
        for (at, value) in given.into_iter().enumerate() {
            let Some(parameter) = declaration.positional.get(at) else {
                faults.push(surplus(declaration, at, &value, vocabulary));
                meant.extend(declaration.options.iter().map(|o| o.name));
                continue;
            };
            match parameter.wants.check(&value, vocabulary) {
                Ok(()) => {
                    held.insert(
                        parameter.name,
                        Held {
                            value,
                            argument: Some(at),
                        },
                    );
                }
                Err(wrong) => {
                    held.insert(
                        parameter.name,
                        Held {
                            value: Dynamic::UNIT,
                            argument: Some(at),
                        },
                    );
                    let mut fault = mismatch(declaration.name, parameter, *wrong);
                    fault.argument = Some(at);
                    kinds.push(fault);
                }
            }
        }
        for (key, value) in options.unwrap_or_default() {
            let Some(option) = declaration.options.iter().find(|o| o.name == key.as_str()) else {
                faults.push(unknown_option(declaration, &key));
                meant.extend(nearest_key(declaration.options, &key));
                continue;
            };
            // `key: ()` is how a script leaves an option out on purpose.
            if value.is_unit() && !option.required {
                continue;
            }
            match option.wants.check(&value, vocabulary) {
                Ok(()) => {
                    kinds.extend(within(declaration.name, option, &value, vocabulary));
                    held.insert(
                        option.name,
                        Held {
                            value,
                            argument: None,
                        },
                    );
                }
                Err(wrong) => {
                    held.insert(
                        option.name,
                        Held {
                            value: Dynamic::UNIT,
                            argument: None,
                        },
                    );
                    kinds.push(mismatch(declaration.name, option, *wrong).about(option.name));
                }
            }
        }
        faults.extend(kinds);
        faults.extend(missing(declaration, vocabulary, |name| {
            held.contains_key(name) || meant.contains(&name)
        }));
        if faults.is_empty() {
            return Ok(Self {
                declaration,
                vocabulary: Rc::clone(vocabulary),
                held,
            });
        }
        Err(Faults {
            function: declaration.name,
            faults,
        })
    }

    /// Turns the name a fault is about into its place in the call.
    pub(super) fn place(&self, mut fault: Fault) -> Fault {
        let others = std::mem::take(&mut fault.others);
        fault.others = others.into_iter().map(|other| self.place(other)).collect();
        let argument = fault
            .key
            .as_deref()
            .and_then(|key| self.held.get(key))
            .and_then(|held| held.argument);
        if let Some(at) = argument {
            fault.argument = Some(at);
            fault.key = None;
        }
        fault
    }

    /// The declaration that is called.
    pub fn declaration(&self) -> &'static Declaration {
        self.declaration
    }

    /// The vocabulary of the session.
    pub fn vocabulary(&self) -> &Vocabulary {
        &self.vocabulary
    }

    /// Whether a parameter or option was given.
    pub fn has(&self, name: &str) -> bool {
        self.held.contains_key(name)
    }

    /// The value as it was given.
    pub fn raw(&self, name: &str) -> Option<&Dynamic> {
        self.held.get(name).map(|held| &held.value)
    }

    /// The value of a named type, if given.
    ///
    /// # Errors
    /// When it is of another type than the body expects.
    pub fn opt_value<T: Any + Clone>(&self, name: &str) -> Read<Option<T>> {
        let Some(value) = self.raw(name) else {
            return Ok(None);
        };
        match value.read_lock::<T>() {
            Some(value) => Ok(Some(value.clone())),
            None => Err(self.disagrees(name)),
        }
    }

    /// The value of a named type.
    ///
    /// # Errors
    /// When it is missing, or of another type.
    pub fn value<T: Any + Clone>(&self, name: &str) -> Read<T> {
        self.opt_value(name)?.ok_or_else(|| self.absent(name))
    }

    fn opt_with<T>(&self, name: &str, read: impl Fn(&Dynamic) -> Option<T>) -> Read<Option<T>> {
        match self.raw(name) {
            None => Ok(None),
            Some(value) => read(value).map(Some).ok_or_else(|| self.disagrees(name)),
        }
    }

    fn with<T>(&self, name: &str, read: impl Fn(&Dynamic) -> Option<T>) -> Read<T> {
        self.opt_with(name, read)?.ok_or_else(|| self.absent(name))
    }

    /// A finite number.
    ///
    /// # Errors
    /// When it is missing or of another kind.
    pub fn number(&self, name: &str) -> Read<f64> {
        self.with(name, number)
    }

    /// A finite number, if given.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn opt_number(&self, name: &str) -> Read<Option<f64>> {
        self.opt_with(name, number)
    }

    /// A whole number.
    ///
    /// # Errors
    /// When it is missing or of another kind.
    pub fn whole(&self, name: &str) -> Read<i64> {
        self.with(name, whole)
    }

    /// A whole number within these ends, if given.
    ///
    /// # Errors
    /// When it is of another kind or outside the ends.
    pub fn opt_whole(&self, name: &str, ends: RangeInclusive<i64>) -> Read<Option<i64>> {
        match self.opt_with(name, whole)? {
            Some(n) if !ends.contains(&n) => Err(Fault::new(
                "out-of-range",
                format!(
                    "`{name}` wants a whole number from {} to {}, but got {n}",
                    ends.start(),
                    ends.end()
                ),
            )
            .about(name)),
            read => Ok(read),
        }
    }

    /// A size: units or a length.
    ///
    /// # Errors
    /// When it is missing or of another kind.
    pub fn size(&self, name: &str) -> Read<Size> {
        self.with(name, size)
    }

    /// A size, if given.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn opt_size(&self, name: &str) -> Read<Option<Size>> {
        self.opt_with(name, size)
    }

    /// Two sizes.
    ///
    /// # Errors
    /// When they are missing or of another kind.
    pub fn sizes<const N: usize>(&self, name: &str) -> Read<[Size; N]> {
        self.opt_sizes(name)?.ok_or_else(|| self.absent(name))
    }

    /// A list of exactly so many sizes, if given.
    ///
    /// # Errors
    /// When they are of another kind.
    pub fn opt_sizes<const N: usize>(&self, name: &str) -> Read<Option<[Size; N]>> {
        self.opt_with(name, |value| {
            let items = value.read_lock::<rhai::Array>()?;
            let sizes: Option<Vec<Size>> = items.iter().map(size).collect();
            sizes?.try_into().ok()
        })
    }

    /// A text or word.
    ///
    /// # Errors
    /// When it is missing or of another kind.
    pub fn text(&self, name: &str) -> Read<String> {
        self.with(name, text)
    }

    /// A text or word, if given.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn opt_text(&self, name: &str) -> Read<Option<String>> {
        self.opt_with(name, text)
    }

    /// One of the declared words.
    ///
    /// # Errors
    /// When it is missing or of another kind.
    pub fn word(&self, name: &str) -> Read<String> {
        self.text(name)
    }

    /// One of the declared words, if given.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn opt_word(&self, name: &str) -> Read<Option<String>> {
        self.opt_text(name)
    }

    /// `true` or `false`; `false` where it was left out.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn flag(&self, name: &str) -> Read<bool> {
        Ok(self.opt_flag(name)?.unwrap_or(false))
    }

    /// `true` or `false`, if given.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn opt_flag(&self, name: &str) -> Read<Option<bool>> {
        self.opt_with(name, |value| value.as_bool().ok())
    }

    /// The items of a list; none where it was left out.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn list(&self, name: &str) -> Read<Vec<Dynamic>> {
        Ok(self.opt_value::<rhai::Array>(name)?.unwrap_or_default())
    }

    /// Texts of a list; a single text counts as a list of one.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn texts(&self, name: &str) -> Read<Vec<String>> {
        let read = self.opt_with(name, |value| match text(value) {
            Some(one) => Some(vec![one]),
            None => value.read_lock::<rhai::Array>()?.iter().map(text).collect(),
        });
        Ok(read?.unwrap_or_default())
    }

    /// A map of free keys; empty where it was left out.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn map(&self, name: &str) -> Read<Map> {
        Ok(self.opt_value::<Map>(name)?.unwrap_or_default())
    }

    /// A function or closure, if given.
    ///
    /// # Errors
    /// When it is of another kind.
    pub fn opt_function(&self, name: &str) -> Read<Option<FnPtr>> {
        self.opt_value(name)
    }

    fn absent(&self, name: &str) -> Fault {
        match self.declaration.parameter(name) {
            Some(parameter) => missing_one(self.declaration, parameter, &self.vocabulary),
            None => self.disagrees(name),
        }
    }

    /// The body and the declaration do not agree: a fault of the program, said as such.
    fn disagrees(&self, name: &str) -> Fault {
        let held = self.raw(name).map_or_else(
            || "nothing".to_owned(),
            |value| self.vocabulary.describe(value),
        );
        Fault::new(
            "wrong-type",
            format!("`{name}` of `{}` cannot be {held}", self.declaration.name),
        )
        .about(name)
    }
}

macro_rules! quantity_readers {
    ($($read:ident, $opt:ident, $type:ty, $what:literal;)*) => {
        impl Call {
            $(
                #[doc = concat!("A ", $what, ".")]
                ///
                /// # Errors
                /// When it is missing or of another kind.
                pub fn $read(&self, name: &str) -> Read<$type> {
                    self.value(name)
                }

                #[doc = concat!("A ", $what, ", if given.")]
                ///
                /// # Errors
                /// When it is of another kind.
                pub fn $opt(&self, name: &str) -> Read<Option<$type>> {
                    self.opt_value(name)
                }
            )*
        }
    };
}

quantity_readers! {
    length, opt_length, Length, "length";
    area, opt_area, Area, "area (m² or ft²)";
    volume, opt_volume, Volume, "volume";
    mass, opt_mass, Mass, "mass";
    density, opt_density, Density, "density";
    pressure, opt_pressure, Pressure, "pressure";
    temperature, opt_temperature, Temperature, "temperature";
    duration, opt_duration, Duration, "duration";
}

/// Reads a size from a value, also within lists.
pub fn size(value: &Dynamic) -> Option<Size> {
    match value.read_lock::<Length>() {
        Some(length) => Some(Size::Length(*length)),
        None => number(value).map(Size::Count),
    }
}

fn text(value: &Dynamic) -> Option<String> {
    value
        .read_lock::<ImmutableString>()
        .map(|text| text.to_string())
}

/// What is wrong in the map that an option of `whose` holds, where its entries are declared, and in maps within it.
fn within(whose: &str, option: &Parameter, value: &Dynamic, vocabulary: &Vocabulary) -> Vec<Fault> {
    let entries = option.wants.entries();
    let map = value
        .read_lock::<Map>()
        .filter(|_| !entries.is_empty())
        .map(|map| map.clone());
    let name = option.name;
    let here = format!("`{name}` of {whose}");
    let (mut faults, mut kinds) = (Vec::new(), Vec::new());
    let Some(map) = map else {
        return faults;
    };
    // What a misspelt key was meant to give is not also missing.
    let mut meant: Vec<&str> = Vec::new();
    for (key, value) in &map {
        let Some(entry) = entries.iter().find(|entry| entry.name == key.as_str()) else {
            faults.push(
                unknown_key(&here, key, entries)
                    .about(name)
                    .entry_key(key.as_str()),
            );
            meant.extend(nearest_key(entries, key));
            continue;
        };
        meant.push(entry.name);
        if value.is_unit() && !entry.required {
            continue;
        }
        match entry.wants.check(value, vocabulary) {
            Ok(()) => {
                let inner = within(&format!("`{name}`"), entry, value, vocabulary);
                kinds.extend(inner.into_iter().map(|mut fault| {
                    fault.key_itself = false;
                    fault.element = None;
                    fault.about(name).entry(entry.name)
                }));
            }
            Err(wrong) => {
                kinds.push(mismatch(&here, entry, *wrong).about(name).entry(entry.name));
            }
        }
    }
    faults.extend(kinds);
    let missing = entries
        .iter()
        .filter(|entry| entry.required && !meant.contains(&entry.name));
    faults.extend(missing.map(|entry| missing_key(&here, entry, vocabulary).about(name)));
    faults
}

fn unknown_option(declaration: &Declaration, key: &str) -> Fault {
    let mut fault = unknown_key(declaration.name, key, declaration.options).about(key);
    fault.key_itself = true;
    fault
}

fn unknown_key(whose: &str, key: &str, known: &[Parameter]) -> Fault {
    let keys: Vec<&str> = known.iter().map(|option| option.name).collect();
    let keys = format!("Options: {}", keys.join(", "));
    let remedy = match nearest_key(known, key) {
        Some(near) => format!("did you mean `{near}`?  {keys}"),
        None => keys,
    };
    Fault::new("unknown-option", format!("{whose} has no option `{key}`")).remedy(remedy)
}

fn nearest_key(known: &[Parameter], key: &str) -> Option<&'static str> {
    nearest(key, known.iter().map(|option| option.name))
}

fn mismatch(whose: &str, parameter: &Parameter, wrong: Mismatch) -> Fault {
    let name = parameter.name;
    let place = match wrong.element {
        Some(at) => format!("item {} of `{name}`", at + 1),
        None => format!("`{name}`"),
    };
    let (code, message) = if wrong.unknown_word {
        (
            "unknown-word",
            format!("{place} cannot be {}: it wants {}", wrong.got, wrong.wanted),
        )
    } else if wrong.out_of_range {
        (
            "out-of-range",
            format!("{place} wants {}, but got {}", wrong.wanted, wrong.got),
        )
    } else {
        (
            "wrong-type",
            format!("{place} wants {}, but got {}", wrong.wanted, wrong.got),
        )
    };
    let mut fault = Fault::new(code, format!("{whose}: {message}"));
    fault.element = wrong.element;
    // Where no right value is near, what the value is for says most.
    let remedy = wrong
        .remedy
        .unwrap_or_else(|| format!("`{name}`: {}", parameter.meaning));
    fault.remedy(remedy)
}

fn surplus(
    declaration: &Declaration,
    at: usize,
    value: &Dynamic,
    vocabulary: &Vocabulary,
) -> Fault {
    let mut fault = if declaration.options.is_empty() {
        Fault::new(
            "too-many-arguments",
            format!(
                "{} takes {}",
                declaration.name,
                arguments(declaration.positional.len())
            ),
        )
    } else {
        let got = vocabulary.describe(value);
        let message = format!(
            "{} wants its options as a map here, but got {got}",
            declaration.name
        );
        Fault::new("wrong-type", message).remedy(format!(
            "write #{{ key: value }}.  Options: {}",
            declaration.keys()
        ))
    };
    fault.argument = Some(at);
    fault.remedy(format!("the call is {}", declaration.signature()))
}

/// "no arguments", "1 argument", "2 arguments".
pub(super) fn arguments(count: usize) -> String {
    match count {
        0 => "no arguments".to_owned(),
        1 => "1 argument".to_owned(),
        n => format!("{n} arguments"),
    }
}

fn missing(
    declaration: &Declaration,
    vocabulary: &Vocabulary,
    given: impl Fn(&str) -> bool,
) -> Vec<Fault> {
    let all = declaration.positional.iter().chain(declaration.options);
    all.filter(|p| p.required && !given(p.name))
        .map(|p| missing_one(declaration, p, vocabulary))
        .collect()
}

fn missing_one(declaration: &Declaration, parameter: &Parameter, vocabulary: &Vocabulary) -> Fault {
    let name = parameter.name;
    if declaration.options.iter().any(|o| o.name == name) {
        return missing_key(declaration.name, parameter, vocabulary);
    }
    let wants = parameter.wants.describe(vocabulary);
    Fault::new(
        "missing-argument",
        format!("{} needs `{name}`, which is missing", declaration.name),
    )
    .remedy(format!("`{name}`: {}", parameter.meaning))
    .remedy(format!(
        "it wants {wants}; the call is {}",
        declaration.signature()
    ))
}

fn missing_key(whose: &str, option: &Parameter, vocabulary: &Vocabulary) -> Fault {
    let name = option.name;
    Fault::new(
        "missing-option",
        format!("{whose} needs the option `{name}`"),
    )
    .remedy(format!("`{name}`: {}", option.meaning))
    .remedy(format!("it wants {}", option.wants.describe(vocabulary)))
}

/// Chooses among words in the body: an error that lists them.
pub fn unknown_word(name: &str, word: &str, known: &[&str]) -> Fault {
    let fault = Fault::new(
        "unknown-word",
        format!("`{name}` cannot be \"{word}\": it wants {}", quoted(known)),
    )
    .about(name);
    match nearest(word, known.iter().copied()) {
        Some(near) => fault.remedy(format!("did you mean \"{near}\"?")),
        None => fault.remedy("write one of these words, in quotes"),
    }
}
