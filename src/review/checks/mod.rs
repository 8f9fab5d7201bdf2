//! One check a file. Each is a function from a site to findings, listed once here.

mod arches;
mod beds;
mod borne;
mod bracing;
mod breaches;
mod butted;
mod copings;
mod corbels;
mod curves;
mod duct_crown;
mod duct_gauge;
mod fire;
mod firebrick_joints;
mod gaps;
mod green_headers;
mod ground;
mod lids;
mod linings;
mod lintels;
mod sills;
mod slender;
mod soil;
mod thrust;
mod tie_count;
mod ties;
mod unbridged;
mod upright;

use super::{Finding, Site};

/// A check.
#[derive(Clone, Copy, Debug)]
pub struct Check {
    /// The codes it can report.
    pub codes: &'static [&'static str],
    /// What it looks for.
    pub summary: &'static str,
    /// Runs it.
    pub run: fn(Site<'_>) -> Vec<Finding>,
}

/// Every check, in the order in which findings of one severity are listed.
pub const CHECKS: &[Check] = &[
    borne::CHECK,
    unbridged::CHECK,
    lintels::CHECK,
    arches::CHECK,
    thrust::CHECK,
    corbels::CHECK,
    sills::CHECK,
    green_headers::CHECK,
    slender::CHECK,
    soil::CHECK,
    ties::CHECK,
    tie_count::CHECK,
    butted::CHECK,
    breaches::CHECK,
    curves::CHECK,
    upright::CHECK,
    beds::CHECK,
    duct_gauge::CHECK,
    duct_crown::CHECK,
    gaps::CHECK,
    ground::CHECK,
    lids::CHECK,
    copings::CHECK,
    fire::CHECK,
    firebrick_joints::CHECK,
    linings::CHECK,
];
