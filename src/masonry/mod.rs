//! Units, joints, bonds, mixes and the catalogue of them, each value with its source.
//!
//! In: names and sizes. Out: checked values that the laying and the takeoff build on, or a
//! [`MasonryError`] with a cause and a remedy. The figures are data, in `stdlib/data/`; nothing
//! here lays a brick.

mod bond;
mod catalogue;
mod error;
mod joint;
mod level;
mod material;
mod mix;
mod nearest;
mod sample;
mod unit;

pub use bond::{Bond, Cell};
pub use catalogue::Catalogue;
pub use error::MasonryError;
pub use joint::{Joint, Joints};
pub use level::{
    FIRST_BED, LevelOption, LevelWay, MEETS_WITHIN, Meeting, THINNEST_SPLIT, best_bed, coursing,
    level_options, meetings,
};
pub(crate) use material::whole;
pub use material::{Bag, BagKind, Material, MaterialState, Soil, concrete_yield, mortar_yield};
pub use mix::{Ingredient, MaterialNeed, Mix, MixUse, NamedYield, Share, YieldRule, parse_mix};
pub use nearest::nearest;
pub use sample::{CONFIDENCE, Culled, FEWEST_MEASURED, SMALL_SAMPLE, Spread};
pub use unit::{Gauge, Unit, UnitKind, nominal};
