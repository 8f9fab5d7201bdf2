use super::Check;
use crate::layout::{Axis, Cuboid, LaidPart};
use crate::quantity::{Area, Length};
use crate::review::{Finding, Place, Severity, Site};

/// Parts on others whose walls hang over the edge or over the inside.
pub(super) const CHECK: Check = Check {
    codes: &["part-not-borne"],
    summary: "Parts on others, with walls that have nothing under them.",
    run,
};

/// A wall tips once half of its bed hangs over, and lifts its tail from a quarter: statics, no tension.
const TIPS: f64 = 0.5;
const LIFTS: f64 = 0.25;

fn run(site: Site<'_>) -> Vec<Finding> {
    let raised = |part: &&LaidPart| part.outside.at.z.is_positive();
    let parts = site.laid.parts.iter().filter(raised);
    parts.filter_map(|part| hanging(site, part)).collect()
}

fn hanging(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let base = part.outside.at.z;
    let below: Vec<Cuboid> = site
        .laid
        .parts
        .iter()
        .filter(|other| other.outside.heights().1 == base)
        .flat_map(|other| {
            let core = other.inside.filter(|_| other.core.is_positive());
            other.walls().copied().chain(core)
        })
        .collect();
    let worst = part
        .walls()
        .map(|wall| share_hanging(wall, &below))
        .max_by(f64::total_cmp)?;
    let severity = if worst >= TIPS {
        Severity::Stop
    } else if worst > LIFTS {
        Severity::Warn
    } else {
        return None;
    };
    Some(Finding {
        code: "part-not-borne",
        severity,
        place: Place::part(&part.name).course(1),
        figure: format!("{:.0} % of a wall has no work under it", worst * 100.0),
        cause: "Units with nothing under them fall, and walls that hang over tip or crack."
            .to_owned(),
        remedy: "Make both parts alike in plan, the lower walls thicker, or carry the upper part on a slab designed for it."
            .to_owned(),
        source: "statics of a unit on its bed, no tension",
    })
}

/// How much of a wall's bed lies on no other work.
fn share_hanging(wall: &Cuboid, below: &[Cuboid]) -> f64 {
    let whole = wall.length.times(wall.width);
    let borne: Area = below.iter().map(|under| overlap(wall, under)).sum();
    1.0 - borne.to_m2() / whole.to_m2().max(f64::MIN_POSITIVE)
}

fn overlap(one: &Cuboid, other: &Cuboid) -> Area {
    let along = |axis| {
        let (a, b) = (one.span(axis), other.span(axis));
        (a.1.min(b.1) - a.0.max(b.0)).max(Length::ZERO)
    };
    along(Axis::X).times(along(Axis::Y))
}
