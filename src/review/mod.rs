//! What a beginner would get wrong, found before the mortar sets.
//!
//! In: laid work and its takeoff. Out: findings, each with code, place, figure, cause, remedy and source, and the
//! cautions that apply. Nothing here approves a plan: local codes and licensed practice decide.

mod cautions;
mod checks;
mod face;
mod finding;

pub use cautions::{Caution, cautions};
pub use checks::{CHECKS, Check};
pub use finding::{Finding, Place, Severity};

use crate::layout::Laid;
use crate::stop;
use crate::takeoff::Takeoff;

/// Everything found about a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// Findings, gravest first.
    pub findings: Vec<Finding>,
    /// Cautions that apply whatever was found.
    pub cautions: Vec<Caution>,
}

/// What checks look at.
#[derive(Clone, Copy, Debug)]
pub struct Site<'a> {
    /// The laid work.
    pub laid: &'a Laid,
    /// What was read off it.
    pub takeoff: &'a Takeoff,
}

impl Review {
    /// Runs every check; of work that is asked to stop it holds only what was found before.
    pub fn of(laid: &Laid, takeoff: &Takeoff) -> Review {
        let site = Site { laid, takeoff };
        let mut findings: Vec<Finding> = CHECKS
            .iter()
            .take_while(|_| stop::asked().is_none())
            .flat_map(|check| (check.run)(site))
            .collect();
        // The sort is stable, so findings of one gravity stay in the order of the checks.
        findings.sort_by_key(|finding| finding.severity);
        Review {
            findings,
            cautions: cautions(&laid.plan),
        }
    }

    /// Findings of one severity.
    pub fn count(&self, severity: Severity) -> usize {
        self.findings
            .iter()
            .filter(|finding| finding.severity == severity)
            .count()
    }

    /// Whether something must be changed before building.
    pub fn stops(&self) -> bool {
        self.count(Severity::Stop) > 0
    }
}
