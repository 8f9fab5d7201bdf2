use super::Check;
use crate::layout::LaidPart;
use crate::plan::{CopingKind, Part, PartKind, Placement, Relation};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Tops that rain gets into, and copings that let it run down the wall.
pub(super) const CHECK: Check = Check {
    codes: &[
        "top-uncovered",
        "coping-flush",
        "coping-without-drip",
        "drip-near-wall",
        "coping-tips",
    ],
    summary: "Free-standing walls and piers without a coping, and copings without overhang or drip.",
    run,
};

/// From the wall to the nearer edge of a drip: BS 5642-2 asks for 25 mm, from memory.
const LEAST_OFF: Length = Length::mm(25);
const SOURCE: &str = "drip at least 25 mm off the wall: BS 5642-2, from memory";

fn run(site: Site<'_>) -> Vec<Finding> {
    let of = |part: &LaidPart| {
        let placed = site.laid.plan.parts.get(&part.name)?;
        match &part.coping {
            None => uncovered(site, part, &placed.part),
            Some(_) => covered(site, part),
        }
    };
    site.laid.parts.iter().filter_map(of).collect()
}

/// A wall or pier with nothing on it.
fn uncovered(site: Site<'_>, part: &LaidPart, asked: &Part) -> Option<Finding> {
    let plan = &site.laid.plan;
    let stands_free = matches!(asked.kind(), PartKind::Wall | PartKind::Pier);
    let carries = plan.parts.values().any(|placed| {
        matches!(&placed.placement, Placement::Against { relation: Relation::On, other, .. } if *other == part.name)
    });
    let lidded = plan
        .lids
        .iter()
        .any(|lid| lid.part == part.name && lid.annex.is_none());
    // A rowlock course across the whole wall at the top covers it as a coping of rowlocks does.
    let capped = asked
        .coursing
        .laid_so(part.courses)
        .is_some_and(|laid| laid == crate::plan::Laying::Rowlock);
    if !stands_free || carries || lidded || capped {
        return None;
    }
    Some(Finding {
        code: "top-uncovered",
        severity: Severity::Warn,
        place: Place::part(&part.name),
        figure: format!(
            "{} of open top, nothing on it",
            plan.style.show(round_length(part) + part.legs.iter().take(part.sides).map(|leg| leg.span.1 - leg.span.0).sum())
        ),
        cause: "Rain soaks into the top of a wall, and frost in the wet units and joints splits it from there."
            .to_owned(),
        remedy: "Cover it, as .coping(#{ kind: \"stone\" }) or .coping(#{ kind: \"rowlock\" }), with a damp-proof course or two courses of dense units under it."
            .to_owned(),
        source: "common practice, no source",
    })
}

/// Round the middle of a curved wall's thickness; nothing of a straight one.
fn round_length(part: &LaidPart) -> Length {
    part.ring.map_or(Length::ZERO, |ring| {
        let middle = (ring.inner + ring.outer).half().nm() as f64;
        Length::from_nm((middle * ring.sweep.unwrap_or(0.0)).round() as i64)
    })
}

fn covered(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let coping = part.coping.as_ref()?;
    let place = || Place::part(&part.name).detail("coping");
    let overhang = coping.overhang;
    // A slab whose overhang on one side is wider than what bears tips while it is laid.
    if !coping.slabs.is_empty() && overhang * 4 > part.thickness + overhang * 2 {
        return Some(Finding {
            code: "coping-tips",
            severity: Severity::Warn,
            place: place(),
            figure: format!(
                "{} beyond each face of a wall {} thick; up to a quarter of the slab's width stays down on its bed",
                style.show(overhang),
                style.show(part.thickness)
            ),
            cause: "A slab that stands far out lifts off its bed on the other side when someone leans on it."
                .to_owned(),
            remedy: "Let it overhang less, or dowel and cramp the slabs.".to_owned(),
            source: "derived statics: no uplift of the far edge while the overhang is at most a quarter of the width",
        });
    }
    if coping.coping.kind == CopingKind::Rowlock || !overhang.is_positive() {
        return (overhang < LEAST_OFF).then(|| Finding {
            code: "coping-flush",
            severity: Severity::Note,
            place: place(),
            figure: format!("{} beyond the faces", style.show(overhang)),
            cause: "What does not stand out is a capping: the water it sheds runs down both faces."
                .to_owned(),
            remedy: "Take frost-proof units and mortar and a damp-proof course for the wall under it, a course of tiles that stand out below it, or slabs with an overhang and a drip."
                .to_owned(),
            source: SOURCE,
        });
    }
    match coping.coping.drip_off() {
        None => Some(Finding {
            code: "coping-without-drip",
            severity: Severity::Warn,
            place: place(),
            figure: format!("overhang {}, no drip", style.show(overhang)),
            cause:
                "Without a groove under its edge water creeps back along the underside to the wall."
                    .to_owned(),
            remedy: "Take slabs with a drip: drip: true.".to_owned(),
            source: SOURCE,
        }),
        Some(off) if off < LEAST_OFF => Some(Finding {
            code: "drip-near-wall",
            severity: Severity::Warn,
            place: place(),
            figure: format!(
                "drip {} off the wall; at least {}",
                style.show(off),
                style.show(LEAST_OFF)
            ),
            cause: "Drops that fall so near the wall are blown onto it.".to_owned(),
            remedy: format!(
                "Let the slabs overhang by {} or more.",
                style.show(overhang + LEAST_OFF - off)
            ),
            source: SOURCE,
        }),
        Some(_) => None,
    }
}
