use super::Check;
use crate::layout::BodyUse;
use crate::quantity::Mass;
use crate::review::{Finding, Place, Severity, Site};

/// Things too heavy to lift by one or by two.
pub(super) const CHECK: Check = Check {
    codes: &["lid-heavy", "unit-heavy", "lintel-heavy", "coping-heavy"],
    summary: "Lid pieces, lintels, copings and units too heavy for one or two people.",
    run,
};

/// One person, at best: NIOSH load constant, 23 kg (51 lb).
const ONE: f64 = 23.0;
/// Two people lift about two thirds of the sum of what each lifts: HSE guidance, from memory.
const TWO: f64 = 2.0 * ONE * 2.0 / 3.0;
/// Blocks laid one after the other, single-handed: 20 kg (HSE CIS 37).
const BLOCK: f64 = 20.0;
/// Most lid pieces that are proposed.
const PIECES_TRIED: u32 = 12;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (part, mass) in &site.takeoff.masses.lid_pieces {
        let pieces = site.laid.plan.lids.iter().find(|lid| lid.name() == part);
        let count = pieces.map_or(1, |lid| lid.pieces);
        let whole = mass.kg() * f64::from(count);
        let enough = |limit: f64| (1..=PIECES_TRIED).find(|&n| whole / f64::from(n) <= limit);
        let remedy = match (enough(ONE), enough(TWO)) {
            (Some(one), Some(two)) if two <= count => format!(
                "Lift each piece with two people, or cast it in {one} pieces for one; or cast it in place, or roll it up on rails."
            ),
            (Some(one), Some(two)) if two < one => format!(
                "Cast it in {two} pieces for two people or {one} for one; or cast it in place, or roll it up on rails."
            ),
            (Some(one), _) => {
                format!("Cast it in {one} pieces; or cast it in place, or roll it up on rails.")
            }
            (None, _) => "Cast it in place, make it thinner, or lift it by machine.".to_owned(),
        };
        found.extend(heavy(
            site,
            "lid-heavy",
            Place::part(part).detail("lid"),
            *mass,
            &format!("a lid piece, {count} in all"),
            remedy,
        ));
    }
    for (body, mass) in site.laid.bodies.iter().zip(&site.takeoff.masses.lintels) {
        found.extend(heavy(
            site,
            "lintel-heavy",
            Place::part(site.laid.part_name(body.part)).detail(match body.serves {
                BodyUse::Lintel => format!("lintel over {}", body.name),
                BodyUse::Sill | BodyUse::Threshold => {
                    format!("{} of {}", body.serves.word(), body.name)
                }
            }),
            *mass,
            &format!("the {}", body.serves.word()),
            "Lift it with help or from a trestle, or cast it in place.".to_owned(),
        ));
    }
    for (part, mass) in &site.takeoff.masses.coping_slabs {
        found.extend(heavy(
            site,
            "coping-heavy",
            Place::part(part).detail("coping"),
            *mass,
            "the heaviest slab",
            "Take shorter or thinner slabs, or lift them with help.".to_owned(),
        ));
    }
    let unit = site.takeoff.masses.unit;
    if unit.kg() > BLOCK {
        found.push(Finding {
            code: "unit-heavy",
            severity: Severity::Warn,
            place: Place::plan(),
            figure: format!("a unit is {}", site.laid.plan.style.show_mass(unit)),
            cause: "Units as heavy as that, laid one after the other, injure backs.".to_owned(),
            remedy: "Take a lighter or smaller unit, or lift with help.".to_owned(),
            source: "HSE CIS 37: blocks above 20 kg",
        });
    }
    found
}

fn heavy(
    site: Site<'_>,
    code: &'static str,
    place: Place,
    mass: Mass,
    what: &str,
    remedy: String,
) -> Option<Finding> {
    let (severity, who, limit) = if mass.kg() > TWO {
        (Severity::Warn, "two people", TWO)
    } else if mass.kg() > ONE {
        (Severity::Note, "one person", ONE)
    } else {
        return None;
    };
    let limit = Mass::from_kg(limit).ok()?;
    let style = site.laid.plan.style;
    Some(Finding {
        code,
        severity,
        place,
        figure: format!(
            "{what}: {}, more than {who} should lift ({})",
            style.show_mass(mass),
            style.show_mass(limit)
        ),
        cause: "A lift beyond that hurts backs, and crushes hands when it slips.".to_owned(),
        remedy,
        source: "NIOSH load constant 23 kg (51 lb); two people two thirds of the sum, HSE, from memory",
    })
}
