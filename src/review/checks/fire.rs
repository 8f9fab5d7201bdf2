use super::Check;
use crate::masonry::UnitKind;
use crate::review::{Finding, Place, Severity, Site};

/// Ducts without a declared fire, and fireboxes without a lining.
pub(super) const CHECK: Check = Check {
    codes: &["fire-not-declared", "firebox-unlined"],
    summary: "Ducts where no part is declared fired, and fireboxes without a lining.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let plan = &site.laid.plan;
    let mut found = Vec::new();
    let declared = plan.parts.values().any(|placed| placed.part.burns());
    // Said once, however many ducts there are.
    if let Some(duct) = plan.ducts.first().filter(|_| !declared) {
        found.push(Finding {
            code: "fire-not-declared",
            severity: Severity::Warn,
            place: Place::part(&duct.from).detail(&duct.name),
            figure: "a duct, but no part is declared fired".to_owned(),
            cause: "Where smoke goes a fire burns; its grate, lining and slab are checked only in a part that is declared fired.".to_owned(),
            remedy: format!(
                "Write fired: true for the part in which the fire burns, such as \"{}\"; the fire cautions are shown here all the same.",
                duct.from
            ),
            source: "common practice, no source",
        });
    }
    for (index, part) in site.laid.parts.iter().enumerate() {
        let name = &part.name;
        if site.laid.lining_of(index).is_some() {
            continue;
        }
        let fired = plan
            .parts
            .get(name)
            .is_some_and(|placed| placed.part.burns());
        if fired && part.setting.unit.kind != UnitKind::Firebrick {
            found.push(Finding {
                code: "firebox-unlined",
                severity: Severity::Note,
                place: Place::part(name),
                figure: format!("walls of {}, no lining", part.setting.unit.title),
                cause: "Common units and mortar spall and crumble where flame or embers touch them.".to_owned(),
                remedy: "Where a fire burns, line it with firebrick, .lining(#{ gap: 10.mm }), or build it of firebrick; where only warm smoke passes, this may serve.".to_owned(),
                source: "IRC R1001.5: firebrick lining of 2 in at least, 8 in walls with it (fireplaces)",
            });
        }
    }
    found
}
