use super::Check;
use crate::layout::{Body, LaidPart, USUAL_BEARING};
use crate::plan::LintelKind;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Lintels with short bearings, too little work above, or a bar that bends.
pub(super) const CHECK: Check = Check {
    codes: &[
        "lintel-bearing-short",
        "little-wall-over-lintel",
        "lintel-bar-bends",
    ],
    summary: "Lintel bearing, the wall above, and bending of steel bars.",
    run,
};

/// Least bearing of a lintel: 4 in (MSJC-08 2.3.3.3).
const LEAST_BEARING: Length = Length::from_nm(101_600_000);
/// Work above the apex of the 45° triangle for the wall to arch over the opening: 8 in (NCMA TEK 17-1B).
const OVER_APEX: Length = Length::from_nm(203_200_000);
/// Least courses over a lintel that keep it from rocking: common practice, no source.
const LEAST_COURSES: u32 = 2;
/// Deflection limit as a share of the span: L/600 (Beall, Masonry and Concrete, p. 260).
const DEFLECTION: f64 = 600.0;
/// Young's modulus of steel, N/mm²: from memory, the usual figure.
const STEEL: f64 = 200_000.0;
/// Weight of masonry, N/mm³: 120 lb/ft³ (BIA Technical Note 43D, hardened brickwork).
const MASONRY: f64 = 1.885e-5;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for body in &site.laid.bodies {
        let Some(part) = site.laid.parts.get(body.part) else {
            continue;
        };
        found.extend(bearing(site, body, part));
        found.extend(above(site, body, part));
        if body.kind == LintelKind::Steel {
            found.extend(bends(site, body, part));
        }
    }
    found
}

fn place(body: &Body, part: &LaidPart) -> Place {
    Place::part(&part.name).detail(format!("lintel over {}", body.name))
}

fn span(body: &Body) -> Length {
    let (from, to) = body.cuboid.span(body.axis);
    to - from - body.bearings.0 - body.bearings.1
}

fn bearing(site: Site<'_>, body: &Body, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let least = body.bearings.0.min(body.bearings.1);
    let severity = if least < LEAST_BEARING {
        Severity::Stop
    } else if least < USUAL_BEARING {
        Severity::Note
    } else {
        return None;
    };
    Some(Finding {
        code: "lintel-bearing-short",
        severity,
        place: place(body, part),
        figure: format!(
            "{} bearing; published least {} and {}",
            style.show(least),
            style.show(LEAST_BEARING),
            style.show(USUAL_BEARING)
        ),
        cause:
            "A short bearing crushes or slips off its jamb, the more so when heat moves the lintel."
                .to_owned(),
        remedy: "Make the opening narrower or the jambs wider, or set the bearing you can give."
            .to_owned(),
        source: "MSJC-08 2.3.3.3, 4 in; Ontario Building Code 9.20.5.2 and UK practice, 150 mm",
    })
}

fn height_above(body: &Body, part: &LaidPart) -> Length {
    part.outside.heights().1 - body.cuboid.heights().1
}

fn above(site: Site<'_>, body: &Body, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let height = height_above(body, part);
    let gauge = site.laid.plan.setting.gauge.mean();
    let courses = height.ratio(gauge).unwrap_or(0.0).round() as u32;
    let arching = span(body).half() + OVER_APEX;
    let (severity, cause, remedy) = if courses < LEAST_COURSES {
        (
            Severity::Warn,
            "One course over a lintel has nothing to hold it: it rocks, and heat or a knock loosens it.",
            "Add a course, lower the opening, or bed a lid across it.",
        )
    } else if height < arching {
        (
            Severity::Note,
            "The wall above is too low to arch over the opening, so the lintel carries all of it and what lies on top.",
            "Size the lintel for the whole load, lid included.",
        )
    } else {
        return None;
    };
    Some(Finding {
        code: "little-wall-over-lintel",
        severity,
        place: place(body, part),
        figure: format!(
            "{courses} course{}, {} above; arching takes {}",
            if courses == 1 { "" } else { "s" },
            style.show(height),
            style.show(arching)
        ),
        cause: cause.to_owned(),
        remedy: remedy.to_owned(),
        source: "NCMA TEK 17-1B: 45° triangle with 8 in of wall over its apex",
    })
}

/// Deflection of a simply supported bar under the whole wall above it, or under the 45° triangle where the wall
/// arches, taken as an even load: 5wL⁴ / 384EI.
fn bends(site: Site<'_>, body: &Body, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let clear = span(body).to_mm();
    let through = body.cuboid.span(body.axis.across());
    let depth = (through.1 - through.0).to_mm();
    let bar = body.cuboid.height.to_mm();
    let reach = body.bearings.0.to_mm().min(body.bearings.1.to_mm());
    // Effective span: centre to centre of bearings.
    let effective = clear + reach;
    let height = height_above(body, part);
    let arches = height >= span(body).half() + OVER_APEX;
    let (area, lid) = if arches {
        (clear * clear / 4.0, 0.0)
    } else {
        let lids = site.laid.lids.iter().filter(|lid| lid.part == body.part);
        let share = clear / (2.0 * (part.outside.length + part.outside.width).to_mm());
        // Newtons of the lid that rest on this stretch of wall.
        let weight: f64 = lids.map(|lid| lid.volume.to_mm3() * 2.3e-5).sum();
        (clear * height.to_mm(), weight * share)
    };
    let load = (area * depth * MASONRY + lid) / clear;
    let inertia = depth * bar.powi(3) / 12.0;
    let deflection = 5.0 * load * effective.powi(4) / (384.0 * STEEL * inertia);
    let most = effective / DEFLECTION;
    if deflection <= most {
        return None;
    }
    let needed = bar * (deflection / most).cbrt();
    Some(Finding {
        code: "lintel-bar-bends",
        severity: Severity::Warn,
        place: place(body, part),
        figure: format!(
            "{} bar sags {deflection:.1} mm over {}; at most {most:.1} mm",
            style.show(body.cuboid.height),
            style.show(span(body))
        ),
        cause:
            "The bar sags under the work above it while that is green, and the joints over it open."
                .to_owned(),
        remedy: format!(
            "Take a bar at least {needed:.0} mm thick (with a bed joint to suit), an angle, or prop it until the wall has set."
        ),
        source: "Beall, Masonry and Concrete, p. 260: L/600; beam formula 5wL⁴/384EI",
    })
}
