use super::Check;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Branches and partitions that only butt against their wall.
pub(super) const CHECK: Check = Check {
    codes: &["branch-untied", "branch-ties-too-far"],
    summary: "Branches that are neither toothed nor tied into their wall.",
    run,
};

/// Ties across a butt joint stand at most so far apart upwards: UK practice for walls tied at a junction, from memory.
const FURTHEST_UP: Length = Length::mm(300);
const SOURCE: &str = "UK practice: toothed, or tied at most 300 mm apart upwards (from memory)";

fn run(site: Site<'_>) -> Vec<Finding> {
    let style = site.laid.plan.style;
    let mut found = Vec::new();
    for part in &site.laid.parts {
        let mut names: Vec<&str> = Vec::new();
        for met in part.junctions.iter().filter(|met| !met.toothed) {
            // A partition meets two walls; it is told of once.
            if names.contains(&met.name.as_str()) {
                continue;
            }
            names.push(&met.name);
            let finding = |code, figure: String, remedy: &str| {
                Finding {
                code,
                severity: Severity::Warn,
                place: Place::part(&part.name).detail(&met.name),
                figure,
                cause: "A straight joint up the whole height holds by its mortar alone: it opens when one wall settles, warms or is pushed."
                    .to_owned(),
                remedy: remedy.to_owned(),
                source: SOURCE,
            }
            };
            match met.ties {
                None => found.push(finding(
                    "branch-untied",
                    format!("butts over {}, no ties", style.show(met.height)),
                    "Tooth it into the wall, or bed ties across the joint: toothed: false, ties: 300.mm. Leave it free only where it is meant to move.",
                )),
                Some(up) if up > FURTHEST_UP => found.push(finding(
                    "branch-ties-too-far",
                    format!(
                        "ties {} apart upwards; usual at most {}",
                        style.show(up),
                        style.show(FURTHEST_UP)
                    ),
                    "Set the ties nearer, or tooth the branch.",
                )),
                Some(_) => {}
            }
        }
    }
    found
}
