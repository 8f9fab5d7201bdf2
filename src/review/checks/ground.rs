use super::Check;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Slabs that are missing, too small, too thin, or too heavy for the ground.
pub(super) const CHECK: Check = Check {
    codes: &[
        "no-slab",
        "slab-margin-short",
        "slab-thin",
        "ground-overloaded",
        "ground-unknown",
    ],
    summary: "Slab margin and thickness, pressure on the ground.",
    run,
};

/// Least slab: 3 1/2 in (IRC 2009 R506).
const LEAST_SLAB: Length = Length::from_nm(88_900_000);
/// Least hearth slab: 4 in (IRC Table R1001.1).
const LEAST_HEARTH: Length = Length::from_nm(101_600_000);

fn run(site: Site<'_>) -> Vec<Finding> {
    let plan = &site.laid.plan;
    let style = plan.style;
    let Some(slab) = &plan.slab else {
        return vec![Finding {
            code: "no-slab",
            severity: Severity::Warn,
            place: Place::plan(),
            figure: "no slab".to_owned(),
            cause: "Without a slab or footing the work settles unevenly and cracks, and nothing to dig or cast is counted.".to_owned(),
            remedy: "Add .slab(#{ margin: 100.mm, depth: 120.mm, subbase: 100.mm }), or found it on something sound.".to_owned(),
            source: "common practice, no source",
        }];
    };
    let mut found = Vec::new();
    let thickest = site.laid.parts.iter().map(|part| part.thickness).max();
    let margin = thickest.unwrap_or(Length::ZERO).half();
    if slab.margin < margin {
        found.push(Finding {
            code: "slab-margin-short",
            severity: Severity::Warn,
            place: Place::plan().detail("slab"),
            figure: format!(
                "{} beyond the walls; half the wall is {}",
                style.show(slab.margin),
                style.show(margin)
            ),
            cause: "A wall at the very edge of its slab loads the edge and the ground beside it, and the edge breaks off.".to_owned(),
            remedy: format!("Let the slab reach at least {} beyond the walls.", style.show(margin)),
            source: "footing twice the wall's width: Beall, Masonry and Concrete, p. 317",
        });
    }
    let (least, source) = if plan.has_fire() {
        (LEAST_HEARTH, "hearth slab 4 in: IRC Table R1001.1")
    } else {
        (LEAST_SLAB, "slab on ground 3 1/2 in: IRC 2009 R506")
    };
    if slab.depth < least {
        found.push(Finding {
            code: "slab-thin",
            severity: Severity::Warn,
            place: Place::plan().detail("slab"),
            figure: format!(
                "{} thick; least {}",
                style.show(slab.depth),
                style.show(least)
            ),
            cause: "A thin slab cracks under walls, and cracks run up into them.".to_owned(),
            remedy: format!("Cast it at least {} thick.", style.show(least)),
            source,
        });
    }
    found.extend(pressure(site));
    found
}

fn pressure(site: Site<'_>) -> Option<Finding> {
    let style = site.laid.plan.style;
    let pressure = site.takeoff.masses.pressure?;
    let ground = site.takeoff.ground.as_ref()?;
    let place = Place::plan().detail("slab");
    match ground.bearing {
        None => Some(Finding {
            code: "ground-unknown",
            severity: Severity::Warn,
            place,
            figure: format!("{} on {}", style.show_pressure(pressure), ground.soil),
            cause: "Nothing may be presumed of what this ground bears.".to_owned(),
            remedy: "Dig to sound ground, or ask someone who can judge it.".to_owned(),
            source: "IBC 2012 Table 1806.2",
        }),
        Some(bearing) if pressure > bearing => Some(Finding {
            code: "ground-overloaded",
            severity: Severity::Stop,
            place,
            figure: format!(
                "{} against {} presumed for {}",
                style.show_pressure(pressure),
                style.show_pressure(bearing),
                ground.soil
            ),
            cause: "The ground gives way or settles under the slab.".to_owned(),
            remedy: "Make the slab larger, build lower, or have the ground judged.".to_owned(),
            source: "IBC 2012 Table 1806.2",
        }),
        Some(_) => None,
    }
}
