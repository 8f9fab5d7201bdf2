use super::Check;
use crate::layout::LaidPart;
use crate::plan::{Laying, Shape};
use crate::review::{Finding, Place, Severity, Site};

/// Rings and curved walls of uncut units round a radius too small for their joints.
pub(super) const CHECK: Check = Check {
    codes: &["radius-small-for-units"],
    summary: "Rings and curved walls whose joints open too far from the inner to the outer face.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let of = |part: &LaidPart| {
        let ring = part.ring.as_ref()?;
        let head = part.setting.joints.head;
        let opens = ring.joints.1 - ring.joints.0;
        if ring.count < 2 || opens <= head.longest - head.shortest {
            return None;
        }
        let style = site.laid.plan.style;
        let placed = site.laid.plan.parts.get(&part.name);
        let curved = placed.is_some_and(|placed| matches!(placed.part.shape, Shape::Curve(_)));
        let narrower = match (ring.laid, curved) {
            (Laying::Stretcher, true) => ", lay headers (thickness: 1)",
            (Laying::Stretcher, false) => ", lay the units on edge or on end",
            _ => "",
        };
        Some(Finding {
            code: "radius-small-for-units",
            severity: Severity::Note,
            place: Place::part(&part.name),
            figure: format!(
                "radius {}, joints open by {}; joints of {} to {} allow {}, from a radius of {}",
                style.show(ring.inner),
                style.show(opens),
                style.show(head.shortest),
                style.show(head.longest),
                style.show(head.longest - head.shortest),
                style.show(ring.least_radius)
            ),
            cause: "Round a small radius uncut units stand with wedges of mortar between them, too thick at the back to hold and to look even."
                .to_owned(),
            remedy: format!(
                "Take a radius of {} or more, or cut the units to taper (cut: true){narrower}.",
                style.show(ring.least_radius)
            ),
            source: "derived: a joint opens by 2 d sin(θ/2) over the depth d, θ from unit to unit",
        })
    };
    site.laid.parts.iter().filter_map(of).collect()
}
