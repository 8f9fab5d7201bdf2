//! What to buy and what it weighs, read off the laid work.
//!
//! In: [`Laid`] work. Out: counts, a cutting plan, mortar, concrete, ground work, masses, and the sizes of what is
//! fitted into the brickwork. Nothing is taken from wall areas; each share of waste is shown apart.

mod concrete;
mod cost;
mod cutting;
mod fittings;
mod mass;
mod mortar;
mod pieces;
mod stock;
mod yard;

pub use concrete::{ConcreteItem, ConcreteNeed, GroundWork};
pub use cost::{Cost, CostLine, Unpriced};
pub use cutting::{CutDirection, CutFrom, CutGroup, CuttingPlan, Pattern};
pub use fittings::{Fitting, FittingSize};
pub use mass::{Masses, PartMass};
pub use mortar::{Bags, MortarNeed};
pub use pieces::{PieceGroup, UnitCount};
pub use stock::{
    Stock, StockError, StockPattern, StockPlan, StockTally, StockTask, USUAL_STEPS, stock_plan,
};
pub use yard::{YardLine, YardUse};

use crate::layout::Laid;
use crate::masonry::{Catalogue, MasonryError};
use crate::quantity::Volume;
use crate::stop;

/// Everything to buy for a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Takeoff {
    /// Units, whole and cut, of all kinds together.
    pub units: UnitCount,
    /// Units of each kind, in the order in which parts take them.
    pub kinds: Vec<UnitCount>,
    /// Pieces by what they are, longest first.
    pub pieces: Vec<PieceGroup>,
    /// How the cut pieces come out of whole units.
    pub cutting: CuttingPlan,
    /// The plan's mortar.
    pub mortar: MortarNeed,
    /// What parts have of their own.
    pub other_mortars: Vec<MortarNeed>,
    /// Concrete.
    pub concrete: ConcreteNeed,
    /// Digging, base and forms, where there is a slab.
    pub ground: Option<GroundWork>,
    /// What is fitted into the brickwork.
    pub fittings: Vec<Fitting>,
    /// Masses.
    pub masses: Masses,
}

impl Takeoff {
    /// Reads everything off laid work.
    ///
    /// # Errors
    /// When the catalogue lacks a material that the plan names.
    pub fn of(laid: &Laid) -> Result<Takeoff, MasonryError> {
        let catalogue = Catalogue::builtin()?;
        let pieces = pieces::groups(laid);
        check_stop()?;
        let cutting = cutting::for_plan(laid)?;
        check_stop()?;
        let kinds = UnitCount::of_kinds(laid, &cutting);
        let units = UnitCount::all(laid, &kinds);
        check_stop()?;
        let (mortar, other_mortars) = MortarNeed::of_plan(laid)?;
        check_stop()?;
        let concrete = ConcreteNeed::of(laid)?;
        let ground = GroundWork::of(laid, catalogue)?;
        let masses = Masses::of(laid, catalogue)?;
        Ok(Takeoff {
            units,
            kinds,
            pieces,
            cutting,
            mortar,
            other_mortars,
            concrete,
            ground,
            fittings: fittings::all(laid),
            masses,
        })
    }
}

impl Takeoff {
    /// Every mortar, the plan's first.
    pub fn mortars(&self) -> impl Iterator<Item = &MortarNeed> {
        std::iter::once(&self.mortar).chain(&self.other_mortars)
    }

    /// Mortar to make of all kinds together, waste included.
    pub fn all_mortar(&self) -> Volume {
        self.mortars().map(|mortar| mortar.total).sum()
    }
}

/// Refuses to go on with work that is asked to stop: what was read off since is not whole.
fn check_stop() -> Result<(), MasonryError> {
    match stop::asked() {
        None => Ok(()),
        Some(_) => Err(MasonryError::new(
            "the work was stopped before it was done",
            "ask again when there is time for it",
        )
        .coded("work-stopped", None)),
    }
}

/// Whole things needed for an amount, each holding so much: rounded up, but not for what floating point left over.
pub(crate) fn whole_count(amount: f64, each: f64) -> u64 {
    if amount <= 0.0 || each <= 0.0 {
        return 0;
    }
    crate::masonry::whole(amount / each)
}
