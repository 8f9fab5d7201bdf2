use super::Check;
use crate::layout::LaidPart;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Walls that soil pushes over.
pub(super) const CHECK: Check = Check {
    codes: &["soil-pushes"],
    summary: "Walls with soil against them: weight against the push.",
    run,
};

/// Share of the soil's weight that pushes sideways: Rankine's active share for level soil of 30°, (1 − sin 30°) /
/// (1 + sin 30°).
const PUSHING: f64 = 1.0 / 3.0;
/// Moist garden soil, N/m³: from memory, the usual figure.
const SOIL: f64 = 18_000.0;
/// Standard acceleration of gravity, m/s² (ISO 80000-3).
const GRAVITY: f64 = 9.806_65;
/// Margin kept against overturning: common practice, no source.
const MARGIN: f64 = 1.5;

fn run(site: Site<'_>) -> Vec<Finding> {
    let laid = site.laid;
    let retaining = |part: &&LaidPart| {
        let placed = laid.plan.parts.get(&part.name);
        placed.is_some_and(|placed| placed.part.retains)
    };
    laid.parts
        .iter()
        .filter(retaining)
        .filter_map(|part| pushed(site, part))
        .collect()
}

/// Weight of the wall about its outer edge against the push of the soil a third of the way up, for a length of wall
/// without help from corners.
fn pushed(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let masses = site
        .takeoff
        .masses
        .parts
        .iter()
        .find(|mass| mass.name == part.name)?;
    let high = part.outside.height.to_m();
    let thick = part.effective_thickness(site.laid).to_m();
    // Newtons for each cubic metre of wall, openings taken out.
    let heavy = (masses.units + masses.mortar).kg() * GRAVITY / (part.walls_area().to_m2() * high);
    let holding = heavy * high * thick * thick / 2.0;
    let tipping = PUSHING * SOIL * high.powi(3) / 6.0;
    let ratio = holding / tipping;
    if !ratio.is_finite() || ratio >= MARGIN {
        return None;
    }
    // Holding grows with the height, tipping with its cube.
    let most = high * (ratio / MARGIN).sqrt();
    let courses = Length::from_m(most)
        .ok()?
        .ratio(part.setting.gauge.mean())?;
    let lower = if courses >= 1.0 {
        format!(
            "Build it no higher than {courses:.0} courses",
            courses = courses.floor()
        )
    } else {
        "Build it thicker".to_owned()
    };
    Some(Finding {
        code: "soil-pushes",
        severity: if ratio < 1.0 { Severity::Warn } else { Severity::Note },
        place: Place::part(&part.name),
        figure: format!(
            "{} of soil against {}: holding to tipping {ratio:.2}, corners left out",
            style.show(part.outside.height),
            style.show(part.thickness)
        ),
        cause: "The weight of the wall alone does not hold the soil; between its corners it leans out and cracks.".to_owned(),
        remedy: format!(
            "{lower}, or stiffen it: hollow units with bars and concrete, a thicker wall, long sides tied across. Let water out and fill behind it with gravel."
        ),
        source: "Rankine's push of level soil, 30° and 18 kN/m³ from memory; margin 1.5 common practice, no source",
    })
}
