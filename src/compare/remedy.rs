//! What would do away with the breaches and the findings of a review about layout: every change is made, laid, taken off
//! and reviewed anew.

use std::sync::Arc;

use crate::layout::{BreachKind, Found, Laid, Remedies, Subject, remedies_by};
use crate::plan::{Plan, PlanError};
use crate::review::{Finding, Review, Severity};
use crate::takeoff::Takeoff;

/// The codes of findings for which a change of the layout is looked for, by what is changed.
const MENDED: &[(&str, Subject)] = &[
    ("arch-abutment-weak", Subject::Arches),
    ("arch-not-minor", Subject::Arches),
    ("arch-ring-shallow", Subject::Arches),
    ("bed-out-of-tolerance", Subject::Beds),
    ("bed-shows", Subject::Courses),
    ("branch-ties-too-far", Subject::Branches),
    ("branch-untied", Subject::Branches),
    ("cavity-untied", Subject::Leaves),
    ("coping-flush", Subject::Copings),
    ("coping-heavy", Subject::Lids),
    ("coping-tips", Subject::Copings),
    ("coping-without-drip", Subject::Copings),
    ("corbel-not-held", Subject::Corbels),
    ("corbel-step-too-large", Subject::Corbels),
    ("corbel-tips-green", Subject::Corbels),
    ("course-out-of-bond", Subject::Courses),
    ("drip-near-wall", Subject::Copings),
    ("duct-crown-off-gauge", Subject::Ducts),
    ("duct-crown-thin", Subject::Ducts),
    ("duct-not-bridged", Subject::Ducts),
    ("gap-too-narrow", Subject::Gaps),
    ("header-not-held", Subject::Ledges),
    ("header-tips-green", Subject::Ledges),
    ("leaves-untied", Subject::Leaves),
    ("lid-heavy", Subject::Lids),
    ("lining-gap-tight", Subject::Linings),
    ("lining-low", Subject::Linings),
    ("lining-off-units", Subject::Linings),
    ("lintel-bearing-short", Subject::Lintels),
    ("little-wall-over-lintel", Subject::Lintels),
    ("opening-not-bridged", Subject::Lintels),
    ("part-not-borne", Subject::Standing),
    ("pier-too-high", Subject::Heights),
    ("radius-small-for-units", Subject::Curves),
    ("sill-level", Subject::Sills),
    ("sill-sheds-on-wall", Subject::Sills),
    ("ties-too-far", Subject::Leaves),
    ("top-uncovered", Subject::Copings),
    ("wall-too-high", Subject::Heights),
];

/// The codes of findings for which [`remedies_of`] looks for a change.
pub fn mended_codes() -> impl Iterator<Item = &'static str> {
    MENDED.iter().map(|(code, _)| *code)
}

/// Looks for changes that do away with the breaches of a part or of the whole plan, and with what a review finds of its
/// layout.
///
/// # Errors
/// When there is no such part, the plan cannot be laid as it is, or the work is asked to stop.
pub fn remedies_of(plan: &Arc<Plan>, part: Option<&str>) -> Result<Remedies, PlanError> {
    remedies_by(plan, part, &judged)
}

fn judged(laid: &Laid) -> Result<Vec<Found>, PlanError> {
    let takeoff = Takeoff::of(laid)
        .map_err(|error| PlanError::new("material-unknown", error.message, error.remedy))?;
    let review = Review::of(laid, &takeoff);
    Ok(review.findings.into_iter().filter_map(found).collect())
}

/// A finding about a part; breaches are told one by one, not by the review.
fn found(finding: Finding) -> Option<Found> {
    let breaches = [
        BreachKind::LapTooShort,
        BreachKind::PieceTooShort,
        BreachKind::JointOutOfTolerance,
    ];
    if breaches.iter().any(|kind| kind.code() == finding.code) {
        return None;
    }
    let subject = MENDED.iter().find(|(code, _)| *code == finding.code);
    Some(Found {
        part: finding.place.part?,
        code: finding.code,
        subject: subject.map(|(_, subject)| *subject),
        grave: finding.severity != Severity::Note,
    })
}
