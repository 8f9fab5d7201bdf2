//! Values of scripts in a form that goes from thread to thread, since the engine's own do not.

use std::sync::Arc;

use rhai::{Array, Dynamic, Map};

use super::super::PartValue;
use crate::masonry::Unit;
use crate::plan::Part;
use crate::quantity::{Area, Density, Duration, Length, Mass, Pressure, Temperature, Volume};

/// A value that can be handed to another thread.
#[derive(Clone, Debug)]
pub(super) enum Carried {
    Nothing,
    Flag(bool),
    Whole(i64),
    Number(f64),
    Text(String),
    Length(Length),
    Area(Area),
    Volume(Volume),
    Mass(Mass),
    Density(Density),
    Pressure(Pressure),
    Temperature(Temperature),
    Duration(Duration),
    Unit(Box<Unit>),
    Part(Arc<Part>),
    List(Vec<Carried>),
    Map(Vec<(String, Carried)>),
}

impl Carried {
    /// The value to carry; none where it belongs to its script, as functions and plans do.
    pub(super) fn of(value: &Dynamic) -> Option<Carried> {
        fn read<T: Clone + 'static>(
            value: &Dynamic,
            carry: impl Fn(T) -> Carried,
        ) -> Option<Carried> {
            value.read_lock::<T>().map(|value| carry(value.clone()))
        }
        if value.is_unit() {
            return Some(Carried::Nothing);
        }
        if let Ok(text) = value.clone().into_string() {
            return Some(Carried::Text(text));
        }
        if let Some(items) = value.read_lock::<Array>() {
            let items: Option<Vec<Carried>> = items.iter().map(Carried::of).collect();
            return items.map(Carried::List);
        }
        if let Some(map) = value.read_lock::<Map>() {
            let entries: Option<Vec<(String, Carried)>> = map
                .iter()
                .map(|(key, value)| Some((key.to_string(), Carried::of(value)?)))
                .collect();
            return entries.map(Carried::Map);
        }
        read(value, Carried::Flag)
            .or_else(|| read(value, Carried::Whole))
            .or_else(|| read(value, Carried::Number))
            .or_else(|| read(value, Carried::Length))
            .or_else(|| read(value, Carried::Area))
            .or_else(|| read(value, Carried::Volume))
            .or_else(|| read(value, Carried::Mass))
            .or_else(|| read(value, Carried::Density))
            .or_else(|| read(value, Carried::Pressure))
            .or_else(|| read(value, Carried::Temperature))
            .or_else(|| read(value, Carried::Duration))
            .or_else(|| read(value, |unit: Unit| Carried::Unit(Box::new(unit))))
            .or_else(|| read(value, |part: PartValue| Carried::Part(part.0)))
    }

    /// The value on the thread where it is now.
    pub(super) fn value(&self) -> Dynamic {
        match self {
            Carried::Nothing => Dynamic::UNIT,
            Carried::Flag(flag) => (*flag).into(),
            Carried::Whole(whole) => (*whole).into(),
            Carried::Number(number) => (*number).into(),
            Carried::Text(text) => text.clone().into(),
            Carried::Length(length) => Dynamic::from(*length),
            Carried::Area(area) => Dynamic::from(*area),
            Carried::Volume(volume) => Dynamic::from(*volume),
            Carried::Mass(mass) => Dynamic::from(*mass),
            Carried::Density(density) => Dynamic::from(*density),
            Carried::Pressure(pressure) => Dynamic::from(*pressure),
            Carried::Temperature(temperature) => Dynamic::from(*temperature),
            Carried::Duration(duration) => Dynamic::from(*duration),
            Carried::Unit(unit) => Dynamic::from(unit.as_ref().clone()),
            Carried::Part(part) => Dynamic::from(PartValue(Arc::clone(part))),
            Carried::List(items) => {
                Dynamic::from(items.iter().map(Carried::value).collect::<Array>())
            }
            Carried::Map(entries) => Dynamic::from(
                entries
                    .iter()
                    .map(|(key, value)| (key.as_str().into(), value.value()))
                    .collect::<Map>(),
            ),
        }
    }
}
