use super::Check;
use crate::layout::{LaidPart, Piece, Role, Void};
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
    // Headers of a ring do not project.
    for part in site.laid.parts.iter().filter(|part| part.ring.is_none()) {
        let headers = || {
            site.laid
                .pieces_of(part)
                .iter()
                .filter(|piece| piece.role == Role::LedgeHeader)
        };
        let mut courses: Vec<u32> = headers().map(|header| u32::from(header.course)).collect();
        courses.dedup();
        found.extend(not_held(site, part));
        // The one that reaches furthest speaks for all.
        if let Some(worst) = headers().max_by_key(|header| header.length) {
            found.extend(tips(site, part, worst, &courses));
        }
    }
    found
}

/// A header stays for good where work or a lid lies on its tail. An opening or a vent right over it leaves it loose.
fn not_held(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let covered = site
        .laid
        .lids
        .iter()
        .any(|lid| lid.annex.is_none() && site.laid.part_name(lid.part) == part.name);
    let (header, why) = site
        .laid
        .pieces_of(part)
        .iter()
        .filter(|piece| piece.role == Role::LedgeHeader)
        .find_map(|header| {
            let open = site.laid.voids.iter().find(|void| {
                site.laid.part_name(void.part) == part.name && lies_open(header, void)
            });
            match open {
                Some(void) => Some((header, format!("{} is open right above", void.name))),
                None if u32::from(header.course) == part.courses && !covered => {
                    Some((header, "no course above".to_owned()))
                }
                None => None,
            }
        })?;
    Some(Finding {
        code: "header-not-held",
        severity: Severity::Stop,
        place: Place::part(&part.name)
            .course(header.course.into())
            .detail("ledge"),
        figure: why,
        cause: "Nothing lies on the tail of a header here, so the first loaded rack levers it out."
            .to_owned(),
        remedy: "Put the ledge where at least one course, better two, or a lid lies over each of its headers."
            .to_owned(),
        source: "statics",
    })
}

/// Whether a void starts right over a header and leaves half of it or more without work on its tail.
fn lies_open(header: &Piece, void: &Void) -> bool {
    let Some(open) = void.cuboid() else {
        return false;
    };
    let header = header.cuboid();
    let across = void.axis.across();
    let over = |axis| {
        let (a, b) = (header.span(axis), open.span(axis));
        a.1.min(b.1) - a.0.max(b.0)
    };
    let (from, to) = header.span(void.axis);
    let (bottom, top) = header.heights();
    // The bed joint under a void belongs to it or to the course below.
    open.heights().0 >= top
        && open.heights().0 - top < top - bottom
        && over(across).is_positive()
        && over(void.axis) * 2 >= to - from
}

/// A uniform block of length L that overhangs its bed by p, with nothing on top and no tension in the mortar:
/// it tips at p = L/2, and its tail does not lift while p ≤ L/4.
fn tips(site: Site<'_>, part: &LaidPart, header: &Piece, courses: &[u32]) -> Option<Finding> {
    let style = site.laid.plan.style;
    let unit = &part.setting.unit;
    let bed = unit.width;
    let overhang = header.length - bed;
    let (length, over, on) = (header.length.to_mm(), overhang.to_mm(), bed.to_mm());
    if over <= length / 4.0 {
        return None;
    }
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
    let each = style.show_mass(unit.mass());
    let held_by = if ratio < 1.0 {
        let count = if units > 1.0 {
            format!("{units:.0} units")
        } else {
            "1 unit".to_owned()
        };
        format!(
            "{} on each tail at once ({count} of {each} each)",
            style.show_mass(weight)
        )
    } else {
        format!("a unit ({each}) on each tail at once")
    };
    let listed: Vec<String> = courses.iter().map(u32::to_string).collect();
    Some(Finding {
        code: "header-tips-green",
        severity,
        place: Place::part(&part.name).detail(format!("ledges in courses {}", listed.join(", "))),
        figure: format!(
            "{} overhang on {} of bed: holding to tipping {ratio:.2}",
            style.show(overhang),
            style.show(bed)
        ),
        cause: cause.to_owned(),
        remedy: format!("Set {held_by}, or prop the inner ends, until the course above has set."),
        source: "statics of a block on its bed, no tension; margin 1.5 common practice, no source",
    })
}
