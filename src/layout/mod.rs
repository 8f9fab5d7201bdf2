//! From a plan to laid work: courses, runs, corners, openings, ducts, ledges and lids, unit by unit.
//!
//! In: a [`Plan`](crate::plan::Plan). Out: [`Laid`] work in which every piece has a place, pieces, joints, bodies
//! and voids fill each part's envelope, and every limit not kept is listed. Nothing is estimated, priced or drawn.

mod alteration;
mod annexed;
mod arch;
mod arch_laid;
mod bonded;
mod butted;
mod cavity;
mod coping;
mod corbel;
mod course;
mod curve;
mod duct;
mod duct_ring;
mod explain;
pub mod fan;
mod flat_bond;
mod footprint;
mod frame;
mod geometry;
mod hearting;
mod heights;
mod held;
pub mod interval;
mod junction;
mod known;
mod laid;
mod lay;
mod ledges;
mod lid;
mod lining;
mod lintel;
mod measure;
mod obstacles;
mod pierced;
mod profile;
mod quad;
mod remark;
mod remedy;
mod round;
mod sector;
mod sill;
mod teeth;
mod thick;
mod turned;
mod upright;
mod vents;

pub use alteration::{Alteration, Amount, Choice, FigureOf, Reach, SizeOf, Subject};
pub use arch::{ARCH_JOINTS, arch_radius, skewback_angle};
pub use cavity::{TIE_BED, Tie};
pub use coping::{CopingSlab, LaidCoping};
pub use corbel::{CORBEL_SHARES, LaidCorbel};
pub use explain::{
    Bound, CostPoint, Explained, Explanation, Item, RunnerUp, Way, explain, explain_all,
};
pub use footprint::Footprint;
pub use geometry::{Axis, Cuboid, Point, circle_in_rectangle};
pub use heights::Heights;
pub use laid::{
    Bite, Body, BodyUse, Breach, BreachKind, Compartment, Cut, Facing, Finished, Hollows, Junction,
    Laid, LaidArch, LaidDuct, LaidDuctRing, LaidLeg, LaidLid, LaidPart, LaidRing, LaidRound,
    LaidSlab, Piece, Prism, Role, Shaping, Snapped, Void, VoidKind, VoidShape,
};
pub use lay::{WORKING_SPACE, lay};
pub use lining::{GapSpace, LaidLining};
pub use measure::{Measured, USUAL_BEARING, measure};
pub use pierced::RoundOpening;
pub use profile::Profile;
pub use quad::Quad;
pub use remark::{
    ArchReason, CopingLoss, CopingReason, CorbelReason, CurveReason, LiningReason, Price, Remark,
    RingReason, SillReason, Voussoirs,
};
pub use remedy::{Broken, Flaw, Found, Judge, MOST_TRIES, Remedies, Remedy, remedies, remedies_by};
pub use sector::Sector;
pub use sill::LaidSill;
pub use turned::{Corner, Plane, Turned};
