use super::Check;
use crate::layout::{Axis, Body, BodyUse, Cuboid, LaidLid, LaidPart, USUAL_BEARING};
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
/// Weight of concrete, N/mm³: about 2350 kg/m³, from memory.
const CONCRETE: f64 = 2.3e-5;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    let bodies = site.laid.bodies.iter();
    for body in bodies.filter(|body| body.serves == BodyUse::Lintel) {
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

/// Lids on the walls that a lintel is in: over it in plan.
fn lids_of<'a>(site: Site<'a>, body: &'a Body) -> impl Iterator<Item = &'a LaidLid> {
    let over = |lid: &&LaidLid| {
        let shares = |axis: Axis, piece: &Cuboid| {
            let (one, other) = (piece.span(axis), body.cuboid.span(axis));
            one.0 < other.1 && other.0 < one.1
        };
        let above = |piece: &Cuboid| shares(Axis::X, piece) && shares(Axis::Y, piece);
        lid.part == body.part && lid.pieces.iter().any(above)
    };
    site.laid.lids.iter().filter(over)
}

fn height_above(body: &Body, part: &LaidPart) -> Length {
    part.outside.heights().1 - body.cuboid.heights().1
}

fn above(site: Site<'_>, body: &Body, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let height = height_above(body, part);
    let gauge = part.setting.gauge.mean();
    let courses = height.ratio(gauge).unwrap_or(0.0).round() as u32;
    let arching = span(body).half() + OVER_APEX;
    // A lid holds down a single course.
    let covered = lids_of(site, body).next().is_some();
    let (severity, cause, remedy) = if courses < LEAST_COURSES && !covered {
        (
            Severity::Warn,
            "So little over a lintel has nothing to hold it: it rocks, and heat or a knock loosens it.",
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

/// Deflection of a simply supported bar. Where the wall arches, it carries the 45° triangle of work, highest at
/// midspan: WL³ / 60EI. Where it does not, it carries the whole wall above and its share of a lid, spread evenly:
/// 5WL³ / 384EI.
fn bends(site: Site<'_>, body: &Body, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let clear = span(body).to_mm();
    let through = body.cuboid.span(body.axis.across());
    let depth = (through.1 - through.0).to_mm();
    let bar = body.cuboid.height.to_mm();
    let reach = f64::midpoint(body.bearings.0.to_mm(), body.bearings.1.to_mm());
    // Effective span: centre to centre of bearings.
    let effective = clear + reach;
    let height = height_above(body, part);
    let arches = height >= span(body).half() + OVER_APEX;
    let (load, shape) = if arches {
        (clear * clear / 4.0 * depth * MASONRY, 1.0 / 60.0)
    } else {
        let lids = lids_of(site, body);
        // A lid spans between two walls, so half of it may rest on this one, over the whole of its length.
        let side = part.outside.span(body.axis);
        let share = clear / (2.0 * (side.1 - side.0).to_mm());
        let weight: f64 = lids.map(|lid| lid.volume.to_mm3() * CONCRETE).sum();
        let wall = clear * height.to_mm() * depth * MASONRY;
        (wall + weight * share, 5.0 / 384.0)
    };
    let inertia = depth * bar.powi(3) / 12.0;
    let deflection = shape * load * effective.powi(3) / (STEEL * inertia);
    let most = effective / DEFLECTION;
    if deflection <= most {
        return None;
    }
    // Whole millimetres, upwards: a thinner bar would sag too much again.
    let needed = (bar * (deflection / most).cbrt()).ceil();
    let bed = part.setting.joints.bed.nominal.to_mm();
    let bar = if needed <= bed {
        format!("Take a bar at least {needed:.0} mm thick")
    } else {
        format!(
            "Take a stone or concrete lintel (a bar would need {needed:.0} mm, more than the bed joint)"
        )
    };
    let prop = if arches {
        "prop it until the wall has set and arches over the opening"
    } else {
        "raise the wall until it arches over the opening and prop the bar until then"
    };
    Some(Finding {
        code: "lintel-bar-bends",
        severity: Severity::Warn,
        place: place(body, part),
        figure: format!(
            "{} bar sags {deflection:.1} mm over {}; at most {most:.1} mm",
            style.show(body.cuboid.height),
            style.show(span(body))
        ),
        cause: "The bar sags under the work it carries, and the joints over it open.".to_owned(),
        remedy: format!("{bar}, an angle, or {prop}."),
        source: "Beall, Masonry and Concrete, p. 260: L/600; beam formulas 5WL³/384EI (even load) and WL³/60EI (triangle)",
    })
}
