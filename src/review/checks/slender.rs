use super::Check;
use super::bracing::{BRACED, braced};
use crate::layout::{LaidLeg, LaidPart};
use crate::plan::{PartKind, Shape};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Free-standing walls and piers too high for their thickness.
pub(super) const CHECK: Check = Check {
    codes: &["wall-too-high", "pier-too-high", "leaves-untied"],
    summary: "Free-standing walls and piers against tabled heights.",
    run,
};

/// Heights of free-standing walls by thickness in mm, mildest and most severe wind zone.
/// Half-brick and one brick: Planning Portal (BRE leaflet values); 1 1/2 brick from memory.
const HEIGHTS: &[(f64, f64, f64)] = &[
    (102.5, 525.0, 375.0),
    (215.0, 1450.0, 1075.0),
    (327.5, 2400.0, 1825.0),
];
/// Higher than this a wall with piers is work for an engineer (trade advice on boundary walls).
const HIGHEST_WITH_PIERS: Length = Length::mm(2_000);
/// A pier stands unsupported up to ten times its least side (IRC 2018 R606.7).
const SOLID_PIER: i64 = 10;
/// An unfilled hollow pier up to four times (IRC 2018 R606.7).
const HOLLOW_PIER: i64 = 4;
const PORTAL: &str = "Planning Portal, garden walls (BRE leaflet values, zones 1 and 4); 1 1/2 brick from memory; between rows by the square of the thickness, statics; piers and returns counted by statics where they stand at most 18 times the thickness apart (IRC 2018 Table R606.6.4) and 3 m (trade advice on boundary walls), to 2 m high";

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for part in &site.laid.parts {
        match part.kind {
            PartKind::Wall => found.extend(wall(site, part)),
            PartKind::Pier => found.extend(pier(site, part)),
            PartKind::Chamber | PartKind::Ring | PartKind::Lining => {}
        }
        let placed = site.laid.plan.parts.get(&part.name);
        let two = placed.and_then(|placed| placed.part.leaves);
        if part.leaves > 1 && two.is_none() {
            found.push(untied(part));
        }
    }
    found
}

fn wall(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let closed =
        site.laid.plan.parts.get(&part.name).is_some_and(
            |placed| matches!(placed.part.shape, Shape::Wall { closed, .. } if closed),
        );
    // Walls that return to themselves brace one another where the corners are near enough.
    let reach = part.thickness * BRACED;
    let leg = |leg: &LaidLeg| leg.span.1 - leg.span.0;
    if closed && part.legs.iter().all(|known| leg(known) <= reach) {
        return None;
    }
    let weakest = braced(site.laid, part)
        .into_iter()
        .map(|stretch| {
            let (mild, severe) = tabled(stretch.counts_as);
            let most = if stretch.helped() {
                HIGHEST_WITH_PIERS
            } else {
                Length::MAX
            };
            (stretch, mild.min(most), severe.min(most))
        })
        .max_by_key(|(stretch, mild, severe)| {
            let over = |most: Length| (stretch.height - most).max(Length::ZERO);
            (over(*mild), over(*severe))
        });
    let (stretch, mild, severe) = weakest?;
    let severity = if stretch.height > mild {
        Severity::Stop
    } else if stretch.height > severe {
        Severity::Warn
    } else {
        return None;
    };
    let held = match stretch.bay {
        Some(bay) if stretch.helped() => format!(
            ", which with its supports at most {} apart stands as {} would",
            style.show(bay),
            style.show(stretch.counts_as)
        ),
        Some(bay) if bay > stretch.most => format!(
            ", its supports {} apart where at most {} help",
            style.show(bay),
            style.show(stretch.most)
        ),
        _ => String::new(),
    };
    Some(Finding {
        code: "wall-too-high",
        severity,
        place: Place::part(&part.name),
        figure: format!(
            "{} high, {} thick{held}; tabled {} in the mildest wind zone, {} in the most severe",
            style.show(stretch.height),
            style.show(
                if stretch.thickness == part.effective_thickness(site.laid) {
                    part.thickness
                } else {
                    stretch.thickness
                }
            ),
            style.show(mild),
            style.show(severe)
        ),
        cause:
            "Wind blows a free-standing wall over once it is too high for its thickness and weight."
                .to_owned(),
        remedy: format!(
            "Build it lower or thicker, or with toothed piers or returns at most {} apart; have them and the footing designed for your site.",
            style.show(stretch.most)
        ),
        source: PORTAL,
    })
}

/// The tabled heights for a thickness: of the thickest row that is no thicker, or of the next row less the square of
/// the thickness (a wall that wind tips over stands as high as the square of its thickness, by statics), whichever is
/// higher.
fn tabled(thickness: Length) -> (Length, Length) {
    let thickness = thickness.to_mm();
    let (mut mild, mut severe): (f64, f64) = (0.0, 0.0);
    for &(row, row_mild, row_severe) in HEIGHTS {
        let share = (thickness / row).powi(2).min(1.0);
        mild = mild.max(row_mild * share);
        severe = severe.max(row_severe * share);
    }
    let mm = |height: f64| Length::mm(height.floor() as i64);
    (mm(mild), mm(severe))
}

fn pier(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let least = part.outside.length.min(part.outside.width);
    let hollow = part.inside.is_some() && !part.core.is_positive();
    let times = if hollow { HOLLOW_PIER } else { SOLID_PIER };
    let most = least * times;
    (part.outside.height > most).then(|| Finding {
        code: "pier-too-high",
        severity: Severity::Stop,
        place: Place::part(&part.name),
        figure: format!(
            "{} high; {times} times its least side is {}",
            style.show(part.outside.height),
            style.show(most)
        ),
        cause: "A slender pier buckles or is pushed over.".to_owned(),
        remedy: if hollow {
            "Fill its middle (core: \"concrete\" or \"units\"), build it lower, or make it wider."
                .to_owned()
        } else {
            "Build it lower, or make it wider.".to_owned()
        },
        source: "IRC 2018 R606.7",
    })
}

fn untied(part: &LaidPart) -> Finding {
    Finding {
        code: "leaves-untied",
        severity: Severity::Warn,
        place: Place::part(&part.name),
        figure: format!("{} leaves of stretchers side by side", part.leaves),
        cause: "In stretcher bond nothing but the mortar between them holds the leaves together.".to_owned(),
        remedy: "Build in wall ties across the leaves as the courses rise, and fill the joint between them."
            .to_owned(),
        source: "common practice, no source",
    }
}
