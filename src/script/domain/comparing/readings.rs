//! Readings of comparisons as values of scripts, and back.

use rhai::Dynamic;

use crate::compare::Reading;
use crate::script::vocabulary::Vocabulary;

/// A reading as a value of the language.
pub(in crate::script::domain) fn value_of(reading: &Reading) -> Dynamic {
    match reading {
        Reading::Nothing => Dynamic::UNIT,
        Reading::Flag(flag) => (*flag).into(),
        Reading::Count(count) => i64::try_from(*count).unwrap_or(i64::MAX).into(),
        Reading::Number(number) => (*number).into(),
        Reading::Length(length) => Dynamic::from(*length),
        Reading::Area(area) => Dynamic::from(*area),
        Reading::Volume(volume) => Dynamic::from(*volume),
        Reading::Mass(mass) => Dynamic::from(*mass),
        Reading::Density(density) => Dynamic::from(*density),
        Reading::Pressure(pressure) => Dynamic::from(*pressure),
        Reading::Temperature(temperature) => Dynamic::from(*temperature),
        Reading::Duration(duration) => Dynamic::from(*duration),
        Reading::Text(text) => text.clone().into(),
    }
}

/// What is compared of a value of the language: a quantity or number as it is, anything else as it shows itself.
pub(super) fn reading_of(value: &Dynamic, vocabulary: &Vocabulary) -> Reading {
    fn read<T: Copy + 'static>(value: &Dynamic, reading: fn(T) -> Reading) -> Option<Reading> {
        value.read_lock::<T>().map(|value| reading(*value))
    }
    if value.is_unit() {
        return Reading::Nothing;
    }
    if let Ok(whole) = value.as_int() {
        let count = u64::try_from(whole).map(Reading::Count);
        return count.unwrap_or(Reading::Number(whole as f64));
    }
    read(value, Reading::Flag)
        .or_else(|| read(value, Reading::Number))
        .or_else(|| read(value, Reading::Length))
        .or_else(|| read(value, Reading::Area))
        .or_else(|| read(value, Reading::Volume))
        .or_else(|| read(value, Reading::Mass))
        .or_else(|| read(value, Reading::Density))
        .or_else(|| read(value, Reading::Pressure))
        .or_else(|| read(value, Reading::Temperature))
        .or_else(|| read(value, Reading::Duration))
        .unwrap_or_else(|| Reading::Text(vocabulary.show(value)))
}
