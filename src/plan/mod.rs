//! Parts and plans as plain values.
//!
//! What comes in: what a builder asks for, in units, courses and lengths. What goes out: the same, checked as far
//! as it can be without a brick in hand. No geometry is solved here, and nothing here knows how units are laid.

mod annex;
mod arch;
mod branch;
mod coping;
mod corbel;
mod coursing;
mod curve;
mod duct_head;
mod error;
mod feature;
mod leaves;
mod limits;
mod lining;
mod on_hand;
mod own;
mod part;
mod pier_row;
mod placement;
mod prices;
mod project;
mod ring;
mod round_hole;
mod saved;
mod sill;
mod size;

pub use annex::Annex;
pub use arch::{Arch, ArchKind, Standing};
pub use branch::{Branch, BranchKind, BranchPlace, BranchReach};
pub use coping::{Coping, CopingKind, Drip};
pub use corbel::Corbel;
pub use coursing::Coursing;
pub use curve::Curve;
pub use duct_head::DuctHead;
pub use error::PlanError;
pub use feature::{Ledge, Lintel, LintelKind, Notch, Opening, SideRef, Vent};
pub use leaves::{Leaves, Ties};
pub use limits::{
    FURTHEST_OVERHANG, LONGEST_CAUTION, LONGEST_SIDE, MOST_BRANCHES, MOST_CAUTIONS, MOST_COURSES,
    MOST_FEATURES, MOST_LEGS, MOST_LID_PIECES, MOST_PARTS, MOST_PIECES, SHORTEST_UNIT,
    THICKEST_LID, allowing_pieces, most_pieces,
};
pub use lining::{GapFill, Lining, Meet};
pub use on_hand::{Heap, OnHand};
pub use own::OwnSetting;
pub use part::{
    Core, Dimension, Heading, Leg, Measure, Part, PartKind, Rise, Shape, Side, half_units,
};
pub use pier_row::PierRow;
pub use placement::{Align, Placement, Relation};
pub use prices::{MOST_GOODS, Price, Prices, SoldBy};
pub use project::{
    Clearances, ConcreteChoice, Duct, Lid, MortarChoice, Placed, Plan, Setting, Slab, Waste,
};
pub use ring::{Laying, Ring};
pub use sill::{Sill, SillKind};
pub use size::{Size, Snap};
