//! The same plan laid with other units, joints and bonds, side by side.
//!
//! In: a plan and, for each setting to vary, its values. Out: a row for every combination, in order, with the
//! figures asked for or the reason why that combination cannot be built.

mod level;
mod remedy;

pub use level::{
    LEVEL_WITHIN, LevelChange, LevelItem, LevelOf, LevelReading, LevelTask, LevelWays, PricedWay,
    level_ways,
};
pub use remedy::{mended_codes, remedies_of};

use std::sync::Arc;

use crate::layout::{Laid, lay};
use crate::masonry::{Bond, Unit};
use crate::plan::{Plan, PlanError};
use crate::quantity::{Length, Mass, Volume};
use crate::takeoff::Takeoff;

/// Most rows in one comparison.
pub const MOST_ROWS: usize = 10_000;

/// One change of what a plan is laid with.
#[derive(Clone, Debug, PartialEq)]
pub enum Change {
    /// Another unit.
    Unit(Box<Unit>),
    /// Another joint, head and bed.
    Joint(Length),
    /// Another bed joint alone.
    Bed(Length),
    /// Another bond.
    Bond(Box<Bond>),
}

impl Change {
    /// How the change is named in a row.
    pub fn label(&self) -> String {
        match self {
            Change::Unit(unit) => unit.name.clone(),
            Change::Joint(length) | Change::Bed(length) => length.to_string(),
            Change::Bond(bond) => bond.name.clone(),
        }
    }
}

/// The same plan with some of its setting changed. What is not changed stays as it is, except that another unit
/// brings its own joints unless a joint is given too. Parts keep what they are laid with of their own.
///
/// # Errors
/// When a joint cannot be laid.
pub fn with_changes(plan: &Plan, changes: &[Change]) -> Result<Plan, PlanError> {
    let mut unit = None;
    let mut joint = None;
    let mut bed = None;
    let mut bond = plan.setting.bond.clone();
    for change in changes {
        match change {
            Change::Unit(new) => unit = Some(new.as_ref().clone()),
            Change::Joint(new) => joint = Some(*new),
            Change::Bed(new) => bed = Some(*new),
            Change::Bond(new) => bond = new.as_ref().clone(),
        }
    }
    let setting = plan
        .setting
        .changed(unit, joint, bed, bond)
        .map_err(|error| PlanError::new("joint-out-of-range", error.message, error.remedy))?;
    Ok(Plan {
        setting,
        ..plan.clone()
    })
}

/// A figure that can be compared.
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
}

impl Figure {
    /// All figures.
    pub const ALL: [Figure; 8] = [
        Figure::Units,
        Figure::Pieces,
        Figure::Cuts,
        Figure::Mortar,
        Figure::Concrete,
        Figure::Height,
        Figure::Mass,
        Figure::Breaches,
    ];
    /// Their words, in the same order.
    pub const WORDS: &'static [&'static str] = &[
        "units", "pieces", "cuts", "mortar", "concrete", "height", "mass", "breaches",
    ];

    /// The figure that a word names.
    pub fn from_word(word: &str) -> Option<Figure> {
        let at = Figure::WORDS.iter().position(|known| *known == word)?;
        Figure::ALL.get(at).copied()
    }

    /// Reads the figure off laid work.
    pub fn read(self, laid: &Laid, takeoff: &Takeoff) -> Reading {
        match self {
            Figure::Units => Reading::Count(takeoff.units.to_buy),
            Figure::Pieces => Reading::Count(takeoff.units.laid),
            Figure::Cuts => Reading::Count(takeoff.units.cut),
            Figure::Mortar => Reading::Volume(takeoff.all_mortar()),
            Figure::Concrete => Reading::Volume(takeoff.concrete.total),
            Figure::Height => Reading::Length(laid.height()),
            Figure::Mass => Reading::Mass(takeoff.masses.total),
            Figure::Breaches => Reading::Count(laid.breaches.len() as u64),
        }
    }
}

/// A figure as read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reading {
    /// A number of things.
    Count(u64),
    /// A length.
    Length(Length),
    /// A volume.
    Volume(Volume),
    /// A mass.
    Mass(Mass),
}

/// One combination.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its changes, in the order of the axes.
    pub changes: Vec<Change>,
    /// Its figures, or why it cannot be built.
    pub figures: Result<Vec<Reading>, PlanError>,
}

/// Lays a plan in every combination of some changes: each axis is a list of changes of one kind.
///
/// # Errors
/// When there are more than [`MOST_ROWS`] combinations.
pub fn sweep(plan: &Plan, axes: &[Vec<Change>], figures: &[Figure]) -> Result<Vec<Row>, PlanError> {
    let count = axes
        .iter()
        .try_fold(1_usize, |count, axis| count.checked_mul(axis.len()))
        .filter(|count| *count <= MOST_ROWS);
    if count.is_none() {
        return Err(PlanError::new(
            "too-many-rows",
            format!("more than {MOST_ROWS} combinations"),
            "vary fewer settings at once",
        ));
    }
    let mut combinations: Vec<Vec<Change>> = vec![Vec::new()];
    for axis in axes {
        combinations = combinations
            .iter()
            .flat_map(|changes| {
                axis.iter().map(|change| {
                    let mut changes = changes.clone();
                    changes.push(change.clone());
                    changes
                })
            })
            .collect();
    }
    Ok(combinations
        .into_iter()
        .map(|changes| Row {
            figures: figures_of(plan, &changes, figures),
            changes,
        })
        .collect())
}

fn figures_of(
    plan: &Plan,
    changes: &[Change],
    figures: &[Figure],
) -> Result<Vec<Reading>, PlanError> {
    let plan = Arc::new(with_changes(plan, changes)?);
    let laid = lay(&plan)?;
    let takeoff = Takeoff::of(&laid)
        .map_err(|error| PlanError::new("material-unknown", error.message, error.remedy))?;
    Ok(figures
        .iter()
        .map(|figure| figure.read(&laid, &takeoff))
        .collect())
}
