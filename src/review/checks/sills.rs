use super::Check;
use crate::layout::LaidSill;
use crate::plan::SillKind;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Sills that let water run down the wall, or stand on them.
pub(super) const CHECK: Check = Check {
    codes: &["sill-sheds-on-wall", "sill-level"],
    summary: "Projection, drip and fall of sills.",
    run,
};

/// Least projection of a sill with its drip: 1 in (BIA Technical Note 36A, from memory).
const LEAST_PROJECTION: Length = Length::from_nm(25_400_000);

fn run(site: Site<'_>) -> Vec<Finding> {
    let sills = site.laid.sills.iter().filter(|sill| !sill.sill.threshold);
    sills
        .flat_map(|sill| [sheds(site, sill), level(site, sill)])
        .flatten()
        .collect()
}

fn place(site: Site<'_>, sill: &LaidSill) -> Place {
    Place::part(site.laid.part_name(sill.part)).detail(format!("sill of {}", sill.name))
}

fn sheds(site: Site<'_>, laid: &LaidSill) -> Option<Finding> {
    let style = site.laid.plan.style;
    let sill = &laid.sill;
    let slab = matches!(sill.kind, SillKind::Slab(_));
    if sill.project >= LEAST_PROJECTION && (sill.drip || !slab) {
        return None;
    }
    let drip = match (slab, sill.drip) {
        (false, _) => "",
        (true, true) => ", with a drip",
        (true, false) => ", without a drip",
    };
    Some(Finding {
        code: "sill-sheds-on-wall",
        severity: Severity::Warn,
        place: place(site, laid),
        figure: format!(
            "projects {}{drip}; published least {} with a drip",
            style.show(sill.project),
            style.show(LEAST_PROJECTION)
        ),
        cause: "Water that does not drip off the edge runs down the wall under it, soaks it and bursts it in frost."
            .to_owned(),
        remedy: "Let it project 25 mm to 50 mm, with a groove under the edge of a slab.".to_owned(),
        source: "BIA Technical Note 36A, 1 in, from memory; UK practice, 40 mm, from memory",
    })
}

fn level(site: Site<'_>, laid: &LaidSill) -> Option<Finding> {
    if laid.sill.slope.is_some() {
        return None;
    }
    Some(Finding {
        code: "sill-level",
        severity: Severity::Note,
        place: place(site, laid),
        figure: "no fall is said; published 15°".to_owned(),
        cause: "On a level sill water stands and finds the joints at its back and ends.".to_owned(),
        remedy: "Bed it to fall outwards, or have the slab's top cut so, and write slope: 15."
            .to_owned(),
        source: "BIA Technical Note 36A, sills fall at least 15°, from memory",
    })
}
