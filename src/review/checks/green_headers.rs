use super::Check;
use crate::layout::{Piece, Role};
use crate::quantity::Mass;
use crate::review::{Finding, Place, Severity, Site};

/// Projecting headers that tip while the mortar is green, or that nothing holds down for good.
pub(super) const CHECK: Check = Check {
    codes: &["header-tips-green", "header-not-held"],
    summary: "Projecting headers that tip before the mortar sets.",
    run,
};

/// Margin kept against tipping by the counterweight: common practice, no source.
const MARGIN: f64 = 1.5;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for part in &site.laid.parts {
        let headers = || {
            site.laid
                .pieces_of(part)
                .iter()
                .filter(|piece| piece.role == Role::Header)
        };
        let mut courses: Vec<u32> = headers().map(|header| u32::from(header.course)).collect();
        courses.dedup();
        if courses.last() == Some(&part.courses) {
            found.push(not_held(&part.name, part.courses));
        }
        // The one that reaches furthest speaks for all.
        if let Some(worst) = headers().max_by_key(|header| header.length) {
            found.extend(tips(site, &part.name, worst, &courses));
        }
    }
    found
}

fn not_held(part: &str, course: u32) -> Finding {
    Finding {
        code: "header-not-held",
        severity: Severity::Stop,
        place: Place::part(part).course(course).detail("ledge"),
        figure: "no course above".to_owned(),
        cause:
            "Nothing lies on the tails of these headers, so the first loaded rack levers them out."
                .to_owned(),
        remedy: "Put the ledge at least two courses below the top.".to_owned(),
        source: "statics",
    }
}

/// A uniform block of length L that overhangs its bed by p, with nothing on top and no tension in the mortar:
/// it tips at p = L/2, and its tail does not lift while p ≤ L/4.
fn tips(site: Site<'_>, part: &str, header: &Piece, courses: &[u32]) -> Option<Finding> {
    let style = site.laid.plan.style;
    let bed = site.laid.plan.setting.unit.width;
    let overhang = header.length - bed;
    let (length, over, on) = (header.length.to_mm(), overhang.to_mm(), bed.to_mm());
    if over <= length / 4.0 {
        return None;
    }
    let unit = &site.laid.plan.setting.unit;
    let mass = site.laid.piece_volume(header).mass(unit.density).kg() * unit.solid_share();
    // Moments about the inner edge of the bed, in kilogram-millimetres.
    let tipping = mass * over * over / (2.0 * length);
    let holding = mass * on * on / (2.0 * length);
    let ratio = holding / tipping;
    let counterweight = ((MARGIN * tipping - holding) / (on / 2.0)).max(0.0);
    let weight = Mass::from_kg(counterweight).ok()?;
    let units = (counterweight / unit.mass().kg().max(f64::MIN_POSITIVE))
        .ceil()
        .max(1.0);
    let (severity, cause) = if ratio < 1.0 {
        (
            Severity::Warn,
            "Its middle lies beyond the bed: it tips off the wall until the mortar has set or work lies on its tail.",
        )
    } else {
        (
            Severity::Note,
            "Its tail lifts while the mortar is green, which breaks the bond under it.",
        )
    };
    let listed: Vec<String> = courses.iter().map(u32::to_string).collect();
    Some(Finding {
        code: "header-tips-green",
        severity,
        place: Place::part(part).detail(format!("ledges in courses {}", listed.join(", "))),
        figure: format!(
            "{} overhang on {} of bed: holding to tipping {ratio:.2}",
            style.show(overhang),
            style.show(bed)
        ),
        cause: cause.to_owned(),
        remedy: format!(
            "Set {} on each tail at once ({} of {} each), or prop the inner ends, until the course above has set.",
            style.show_mass(weight),
            if units > 1.0 {
                format!("{units:.0} units")
            } else {
                "1 unit".to_owned()
            },
            style.show_mass(unit.mass())
        ),
        source: "statics of a block on its bed, no tension; margin 1.5 common practice, no source",
    })
}
