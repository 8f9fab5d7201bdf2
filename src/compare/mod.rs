//! The same plan laid with other units, joints and bonds, side by side.
//!
//! In: a plan and, for each setting to vary, its values. Out: a row for every combination, in order, with the
//! figures asked for or the reason why that combination cannot be built; what would come level; what would mend findings.

mod comparison;
mod crew;
mod figure;
mod grid;
mod level;
mod remedy;
mod setting;
pub mod solve;
mod sweep;

pub use comparison::{Axis, Column, Comparison, Refused, Row, Slot};
pub use crew::{Crew, Ending, Steps, Worked, in_order};
pub use figure::{Aim, Figure, Reading};
pub use grid::{Grid, MOST_ROWS};
pub use level::{
    LEVEL_WITHIN, LevelChange, LevelItem, LevelOf, LevelReading, LevelTask, LevelWays, PricedWay,
    level_ways,
};
pub use remedy::{mended_codes, remedies_of};
pub use setting::{Change, with_changes};
pub use sweep::{Variant, changes_at, faulty, figures_of, refused, sweep, variant_of};
