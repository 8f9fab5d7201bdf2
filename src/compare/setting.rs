//! What a plan is laid with, changed.

use crate::masonry::{Bond, Unit};
use crate::plan::{Plan, PlanError};
use crate::quantity::Length;

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
