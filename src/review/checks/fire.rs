use super::Check;
use crate::review::{Finding, Place, Severity, Site};

/// Parts that carry fire or hot gas without being declared fired.
pub(super) const CHECK: Check = Check {
    codes: &["fire-not-declared", "firebox-unlined"],
    summary: "Fired parts that are not declared so, and fireboxes without a lining.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let plan = &site.laid.plan;
    let mut found = Vec::new();
    for (name, placed) in &plan.parts {
        if plan.is_fired(name) && !placed.part.fired {
            let ducts: Vec<&str> = plan
                .ducts
                .iter()
                .filter(|duct| duct.from == *name || duct.to.as_deref() == Some(name))
                .map(|duct| duct.name.as_str())
                .collect();
            found.push(Finding {
                code: "fire-not-declared",
                severity: Severity::Warn,
                place: Place::part(name),
                figure: format!("joined by {}", ducts.join(", ")),
                cause: "Hot gas passes through it, but it is not declared fired, so its cautions, grate and lining would be forgotten elsewhere.".to_owned(),
                remedy: "Write fired: true for it; the fire cautions are shown here all the same.".to_owned(),
                source: "common practice, no source",
            });
        }
        if placed.part.fired && plan.setting.unit.kind != crate::masonry::UnitKind::Firebrick {
            found.push(Finding {
                code: "firebox-unlined",
                severity: Severity::Note,
                place: Place::part(name),
                figure: format!("walls of {}, no lining", plan.setting.unit.title),
                cause: "Common units and mortar spall and crumble where flame or embers touch them.".to_owned(),
                remedy: "Where a fire burns, leave room for a loose firebrick lining, or take firebrick; where only warm smoke passes, this may serve.".to_owned(),
                source: "IRC R1001.5: firebrick lining of 2 in at least, 8 in walls with it (fireplaces)",
            });
        }
    }
    found
}
