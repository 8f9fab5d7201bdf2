//! Figures that are read off laid work and compared.

use std::cmp::Ordering;

use crate::layout::Laid;
use crate::quantity::{
    Area, Density, Duration, Length, LengthStyle, Mass, Pressure, Temperature, Volume,
};
use crate::review::{Review, Severity};
use crate::takeoff::{Cost, Takeoff};

/// Whether less of a figure is better, or more.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Aim {
    /// Less is better.
    Least,
    /// More is better.
    Most,
}

/// A figure that every plan has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Figure {
    /// Units to buy.
    Units,
    /// Pieces laid.
    Pieces,
    /// Pieces cut to length.
    Cuts,
    /// Mortar to make.
    Mortar,
    /// Concrete to make.
    Concrete,
    /// Highest point.
    Height,
    /// Mass of everything above ground and the slab.
    Mass,
    /// Limits of laying that could not be kept.
    Breaches,
    /// Findings of the review that must be dealt with before building.
    Stops,
    /// Findings of the review that want a decision.
    Warnings,
    /// What everything costs by the prices that the plan was given; nothing where something has no price, since a sum that
    /// leaves something out would win.
    Cost,
}

impl Figure {
    /// All figures.
    pub const ALL: [Figure; 11] = [
        Figure::Units,
        Figure::Pieces,
        Figure::Cuts,
        Figure::Mortar,
        Figure::Concrete,
        Figure::Height,
        Figure::Mass,
        Figure::Breaches,
        Figure::Stops,
        Figure::Warnings,
        Figure::Cost,
    ];
    /// Their words, in the same order.
    pub const WORDS: &'static [&'static str] = &[
        "units", "pieces", "cuts", "mortar", "concrete", "height", "mass", "breaches", "stops",
        "warnings", "cost",
    ];

    /// The figure that a word names.
    pub fn from_word(word: &str) -> Option<Figure> {
        let at = Figure::WORDS.iter().position(|known| *known == word)?;
        Figure::ALL.get(at).copied()
    }

    /// Whether a review must be run for it.
    pub fn is_of_review(self) -> bool {
        matches!(self, Figure::Stops | Figure::Warnings)
    }

    /// Whether it is read off the laid work itself, without what is to buy.
    pub fn is_of_laying(self) -> bool {
        matches!(self, Figure::Height | Figure::Breaches)
    }

    /// What is better; none where that depends on what is built.
    pub fn aim(self) -> Option<Aim> {
        (!matches!(self, Figure::Height | Figure::Mass)).then_some(Aim::Least)
    }

    /// Reads the figure off laid work; nothing where what it is read off is not there.
    pub fn read(self, laid: &Laid, takeoff: Option<&Takeoff>, review: Option<&Review>) -> Reading {
        let of = |read: &dyn Fn(&Takeoff) -> Reading| takeoff.map_or(Reading::Nothing, read);
        let findings = |severity| {
            review.map_or(Reading::Nothing, |review| {
                Reading::Count(review.count(severity) as u64)
            })
        };
        match self {
            Figure::Units => of(&|takeoff| Reading::Count(takeoff.units.to_buy)),
            Figure::Pieces => of(&|takeoff| Reading::Count(takeoff.units.laid)),
            Figure::Cuts => of(&|takeoff| Reading::Count(takeoff.units.cut)),
            Figure::Mortar => of(&|takeoff| Reading::Volume(takeoff.all_mortar())),
            Figure::Concrete => of(&|takeoff| Reading::Volume(takeoff.concrete.total)),
            Figure::Height => Reading::Length(laid.height()),
            Figure::Mass => of(&|takeoff| Reading::Mass(takeoff.masses.total)),
            Figure::Breaches => Reading::Count(laid.breaches.len() as u64),
            Figure::Stops => findings(Severity::Stop),
            Figure::Warnings => findings(Severity::Warn),
            Figure::Cost => of(&|takeoff| {
                let cost = Cost::of(laid, takeoff).ok().flatten();
                cost.filter(Cost::is_whole)
                    .map_or(Reading::Nothing, |cost| {
                        Reading::Number(cost.total.to_number())
                    })
            }),
        }
    }
}

/// A figure as read.
#[derive(Clone, Debug, PartialEq)]
pub enum Reading {
    /// Nothing to read.
    Nothing,
    /// Yes or no.
    Flag(bool),
    /// A number of things.
    Count(u64),
    /// A number without a unit.
    Number(f64),
    /// A length.
    Length(Length),
    /// An area.
    Area(Area),
    /// A volume.
    Volume(Volume),
    /// A mass.
    Mass(Mass),
    /// A density.
    Density(Density),
    /// A pressure.
    Pressure(Pressure),
    /// A temperature.
    Temperature(Temperature),
    /// A duration.
    Duration(Duration),
    /// Words.
    Text(String),
}

impl Reading {
    /// The unit in which [`Reading::number`] counts, as it ends names in JSON and CSV; empty where there is none.
    pub fn unit(&self) -> &'static str {
        match self {
            Reading::Length(_) => "mm",
            Reading::Area(_) => "m2",
            Reading::Volume(_) => "litre",
            Reading::Mass(_) => "kg",
            Reading::Density(_) => "kg_m3",
            Reading::Pressure(_) => "Pa",
            Reading::Temperature(_) => "degC",
            Reading::Duration(_) => "h",
            Reading::Nothing
            | Reading::Flag(_)
            | Reading::Count(_)
            | Reading::Number(_)
            | Reading::Text(_) => "",
        }
    }

    /// The figure as a number in its unit; none of words and of yes or no.
    pub fn number(&self) -> Option<f64> {
        match self {
            Reading::Nothing | Reading::Flag(_) | Reading::Text(_) => None,
            Reading::Count(count) => Some(*count as f64),
            Reading::Number(number) => Some(*number),
            Reading::Length(length) => Some(length.to_mm()),
            Reading::Area(area) => Some(area.to_m2()),
            Reading::Volume(volume) => Some(volume.to_litre()),
            Reading::Mass(mass) => Some(mass.kg()),
            Reading::Density(density) => Some(density.kg_m3()),
            Reading::Pressure(pressure) => Some(pressure.pa()),
            Reading::Temperature(temperature) => Some(temperature.deg_c()),
            Reading::Duration(duration) => Some(duration.h()),
        }
    }

    /// How it is shown.
    pub fn show(&self, style: LengthStyle) -> String {
        match self {
            Reading::Nothing => String::new(),
            Reading::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
            Reading::Count(count) => count.to_string(),
            Reading::Number(number) => shown_number(*number),
            Reading::Length(length) => style.show(*length),
            Reading::Area(area) => style.show_area(*area),
            Reading::Volume(volume) => style.show_volume(*volume),
            Reading::Mass(mass) => style.show_mass(*mass),
            Reading::Density(density) => style.show_density(*density),
            Reading::Pressure(pressure) => style.show_pressure(*pressure),
            Reading::Temperature(temperature) => style.show_temperature(*temperature),
            Reading::Duration(duration) => style.show_duration(*duration),
            Reading::Text(text) => text.clone(),
        }
    }

    /// What it differs by from another of its kind, with its sign; none where nothing can be subtracted.
    pub fn off(&self, base: &Reading, style: LengthStyle) -> Option<String> {
        let difference = self.minus(base)?;
        let number = difference.number()?;
        let sign = if number > 0.0 { "+" } else { "" };
        Some(format!("{sign}{}", difference.show(style)))
    }

    fn minus(&self, base: &Reading) -> Option<Reading> {
        match (self, base) {
            (Reading::Count(one), Reading::Count(other)) => {
                Some(Reading::Number(*one as f64 - *other as f64))
            }
            (Reading::Length(one), Reading::Length(other)) => {
                one.checked_sub(*other).ok().map(Reading::Length)
            }
            (Reading::Area(one), Reading::Area(other)) => {
                one.checked_sub(*other).ok().map(Reading::Area)
            }
            (Reading::Volume(one), Reading::Volume(other)) => {
                one.checked_sub(*other).ok().map(Reading::Volume)
            }
            (Reading::Mass(one), Reading::Mass(other)) => Some(Reading::Mass(*one - *other)),
            (Reading::Pressure(one), Reading::Pressure(other)) => {
                Some(Reading::Pressure(*one - *other))
            }
            (Reading::Duration(one), Reading::Duration(other)) => {
                Some(Reading::Duration(*one - *other))
            }
            _ if self.unit().is_empty() && base.unit().is_empty() => {
                Some(Reading::Number(self.number()? - base.number()?))
            }
            _ => None,
        }
    }

    /// The order of two readings: by size where both are of one kind, words by their letters; else by kind, so that any
    /// column can be sorted.
    pub fn order(&self, other: &Reading) -> Ordering {
        let kinds = self.rank().cmp(&other.rank());
        kinds.then_with(|| match (self, other) {
            // Exact, where numbers are not.
            (Reading::Length(one), Reading::Length(other)) => one.cmp(other),
            (Reading::Area(one), Reading::Area(other)) => one.cmp(other),
            (Reading::Volume(one), Reading::Volume(other)) => one.cmp(other),
            (Reading::Flag(one), Reading::Flag(other)) => one.cmp(other),
            (Reading::Text(one), Reading::Text(other)) => one.cmp(other),
            _ => match (self.number(), other.number()) {
                (Some(one), Some(other)) => one.total_cmp(&other),
                _ => Ordering::Equal,
            },
        })
    }

    fn rank(&self) -> u8 {
        match self {
            Reading::Flag(_) => 0,
            Reading::Count(_) | Reading::Number(_) => 1,
            Reading::Length(_) => 2,
            Reading::Area(_) => 3,
            Reading::Volume(_) => 4,
            Reading::Mass(_) => 5,
            Reading::Density(_) => 6,
            Reading::Pressure(_) => 7,
            Reading::Temperature(_) => 8,
            Reading::Duration(_) => 9,
            Reading::Text(_) => 10,
            Reading::Nothing => 11,
        }
    }
}

/// A number to three decimals, without zeros at its end.
fn shown_number(number: f64) -> String {
    let text = format!("{number:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0" } else { text }.to_owned()
}
