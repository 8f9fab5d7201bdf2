use super::Check;
use crate::layout::LaidPart;
use crate::plan::Leaves;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Two leaves with a space of their own that nothing, or too little, ties together.
pub(super) const CHECK: Check = Check {
    codes: &["cavity-untied", "ties-too-far"],
    summary: "Two leaves not tied, or with ties too far apart.",
    run,
};

/// Furthest apart that ties are set across and upwards: UK practice, 2.5 to the square metre, from memory. TMS 402 asks
/// for one to 2.67 ft² of wall (wire W1.7), at most 36 in across and 24 in up, from memory.
const FURTHEST: (Length, Length) = (Length::mm(900), Length::mm(450));
const SOURCE: &str = "UK practice, 900 × 450 mm, 2.5 to the square metre (from memory)";

fn run(site: Site<'_>) -> Vec<Finding> {
    let leaves = |part: &LaidPart| {
        let placed = site.laid.plan.parts.get(&part.name)?;
        placed.part.leaves
    };
    let parts = site.laid.parts.iter().enumerate();
    let two = parts.filter_map(|(index, part)| Some((index, part, leaves(part)?)));
    two.filter_map(|(index, part, leaves)| of_part(site, index, part, leaves))
        .collect()
}

fn of_part(site: Site<'_>, index: usize, part: &LaidPart, leaves: Leaves) -> Option<Finding> {
    let style = site.laid.plan.style;
    let tied = site.laid.ties.iter().any(|tie| tie.part == index);
    let Some(ties) = leaves.ties.filter(|_| tied) else {
        return Some(Finding {
            code: "cavity-untied",
            severity: Severity::Warn,
            place: Place::part(&part.name),
            figure: format!("two leaves {} apart, no ties", style.show(leaves.space)),
            cause: "Each leaf stands alone, half as thick as the wall looks.".to_owned(),
            remedy: "Set ties in the beds: ties: #{ across: 900.mm, up: 450.mm }.".to_owned(),
            source: SOURCE,
        });
    };
    let far = ties.across > FURTHEST.0 || ties.up > FURTHEST.1;
    far.then(|| Finding {
        code: "ties-too-far",
        severity: Severity::Warn,
        place: Place::part(&part.name),
        figure: format!(
            "ties {} across and {} up; usual at most {} and {}",
            style.show(ties.across),
            style.show(ties.up),
            style.show(FURTHEST.0),
            style.show(FURTHEST.1)
        ),
        cause: "Between ties too far apart the leaves bend and part on their own.".to_owned(),
        remedy: "Set the ties nearer; local codes say how near for your wind and wall.".to_owned(),
        source: SOURCE,
    })
}
