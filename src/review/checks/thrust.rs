use super::Check;
use crate::layout::LaidArch;
use crate::plan::ArchKind;
use crate::quantity::Length;
use crate::review::face::{Face, Load};
use crate::review::{Finding, Place, Severity, Site};

/// What arches push against: the thrust of the work over them, and whether the wall beside holds it.
pub(super) const CHECK: Check = Check {
    codes: &["arch-abutment-weak", "arch-not-minor"],
    summary: "Thrust of arches from the work as laid against the wall beside them, and the limits of minor arches.",
    run,
};

/// A minor arch spans at most 6 ft and rises at most 0.15 of that (BIA Technical Note 31A).
const MINOR_SPAN: Length = Length::from_nm(1_828_800_000);
const MINOR_RISE: f64 = 0.15;
/// Thrust line of an arch: at the upper third of its depth in the crown, at the lower third at the skewback (BIA
/// Technical Note 31A).
const THIRD: f64 = 1.0 / 3.0;
/// Work over the apex of a 45° triangle for the wall to arch by itself: 8 in (NCMA TEK 17-1B).
const OVER_APEX: f64 = 203.2;
/// Friction in a bed without adhesion: 0.4 (EN 1996-1-1, shear strength of masonry, from memory).
const FRICTION: f64 = 0.4;
/// Margin kept against tipping and sliding: common practice, no source.
const MARGIN: f64 = 1.5;
/// Standard acceleration of gravity (ISO 80000-3), kilonewtons of a kilogram.
const KILONEWTONS: f64 = 9.806_65e-3;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for arch in &site.laid.arches {
        found.extend(weak(site, arch));
        found.extend(not_minor(site, arch));
    }
    found
}

fn place(site: Site<'_>, arch: &LaidArch) -> Place {
    Place::part(site.laid.part_name(arch.part)).detail(format!("arch over {}", arch.name))
}

/// The thrust line as a three-hinged arch: its span, its rise, and how high over the springing it meets the skewback.
struct Line {
    span: f64,
    rise: f64,
    foot: f64,
}

impl Line {
    fn of(arch: &LaidArch) -> Line {
        let (span, rise, depth) = (arch.span.to_mm(), arch.rise.to_mm(), arch.depth.to_mm());
        let lean = arch.skewback.to_radians();
        match arch.arch.kind {
            ArchKind::Flat => Line {
                span: span + 2.0 * THIRD * depth * lean.tan(),
                rise: depth * THIRD,
                foot: depth * THIRD,
            },
            ArchKind::Segmental | ArchKind::Semicircular => {
                let foot = THIRD * depth * lean.cos();
                Line {
                    span: span + 2.0 * THIRD * depth * lean.sin(),
                    rise: rise + 2.0 * THIRD * depth - foot,
                    foot,
                }
            }
        }
    }
}

/// Horizontal thrust of a three-hinged arch whose half carries a load, its moment taken about the crown: H = (V S/2 − M)/r.
/// An even load W on the whole gives W S/8r, a triangle that is highest at the crown W S/6r, a third more.
fn thrust(half: Load, line: &Line) -> f64 {
    (half.mass * line.span / 2.0 - half.moment.abs()) / line.rise
}

/// What one side of an arch has against its thrust.
struct Side {
    width: f64,
    thrust: f64,
    tipping: f64,
    sliding: f64,
    /// Whether another wall of the part returns at its end.
    returns: bool,
}

fn weak(site: Site<'_>, arch: &LaidArch) -> Option<Finding> {
    let part = site.laid.parts.get(arch.part)?;
    let leg = part.legs.iter().position(|leg| {
        leg.axis == arch.axis
            && leg.across == arch.faces
            && (leg.span.0..=leg.span.1).contains(&arch.outline.middle)
    })?;
    let face = Face::of(site, arch.part, leg)?;
    let sides = [false, true].map(|to_high| side(site, arch, &face, arch.foot.to_mm(), to_high));
    let worst = sides.into_iter().min_by(|one, other| {
        let ratio = |side: &Side| (side.tipping / MARGIN).min(side.sliding);
        ratio(one).total_cmp(&ratio(other))
    })?;
    // A wall that returns holds by more than its weight, and cured mortar by more than friction.
    let severity = match (worst.tipping, worst.sliding) {
        (tipping, _) if tipping < 1.0 && !worst.returns => Severity::Stop,
        (tipping, sliding) if tipping < MARGIN || sliding < 1.0 => Severity::Warn,
        _ => return None,
    };
    let width = Length::from_mm(worst.width.round()).ok()?;
    Some(Finding {
        code: "arch-abutment-weak",
        severity,
        place: place(site, arch),
        figure: format!(
            "thrust {:.2} kN on {} of wall: holding to tipping {:.2}, {MARGIN} kept; friction to sliding {:.2}, 1 kept",
            worst.thrust * KILONEWTONS,
            site.laid.plan.style.show(width),
            worst.tipping,
            worst.sliding,
        ),
        cause: "An arch pushes sideways for as long as it stands; a wall beside it that tips lets it fall, and one that slides does so while the mortar is green."
            .to_owned(),
        remedy: "Leave more wall beside or above the arch, narrow the opening, raise the curve, keep the centring until the mortar has cured, or take a lintel, which does not push."
            .to_owned(),
        source: "statics of a three-hinged arch through the thirds of BIA Technical Note 31A, dead load as laid; friction 0.4 EN 1996-1-1, from memory; margin 1.5 common practice, no source",
    })
}

/// The load of half an arch on one of its sides: the work over it between the crown and the skewback, up to the 45°
/// triangle over its crown where the wall is high enough to arch over that, else to the top with its share of a lid.
fn side(site: Site<'_>, arch: &LaidArch, face: &Face<'_>, base: f64, to_high: bool) -> Side {
    let line = Line::of(arch);
    let middle = arch.outline.middle.to_mm();
    let sign = if to_high { 1.0 } else { -1.0 };
    let span = |near: f64, far: f64| {
        let (a, b) = (middle + sign * near, middle + sign * far);
        (a.min(b), a.max(b))
    };
    let springing = arch.springing.to_mm();
    let crown = arch.outline.top().to_mm();
    let ((start, end), top) = face.bounds();
    let half = line.span / 2.0;
    let arches = top >= crown + half + OVER_APEX;
    let mut load = face.load((springing, top), middle, |z| {
        let reach = if arches {
            (half - (z - crown).max(0.0)).max(0.0)
        } else {
            half
        };
        span(0.0, reach)
    });
    if !arches {
        let lids = site.takeoff.masses.parts.get(arch.part);
        let lids = lids.map_or(0.0, |part| part.concrete.kg());
        // A lid spans between two walls: half of it, over this stretch of one.
        let lid = lids / 2.0 * half / (end - start).max(1.0);
        load.mass += lid;
        load.moment += sign * lid * half / 2.0;
    }
    let push = thrust(load, &line);
    // The wall from the jamb to its end, or to the next opening beside it.
    let jamb = middle + sign * arch.span.to_mm() / 2.0;
    let next = face.next_open((base, springing + line.foot), jamb, to_high);
    let far = next.unwrap_or(if to_high { end } else { start });
    let between = |near: f64| (near.min(far), near.max(far));
    let pier = face.load((base, top), far, |z| {
        between(if z < springing {
            jamb
        } else {
            middle + sign * half
        })
    });
    let over = face.load((springing, top), far, |_| between(middle + sign * half));
    let returns = match next {
        None => face.returns(to_high, (base, top)),
        Some(_) => None,
    };
    let corner = returns.unwrap_or(0.0);
    let thick = face.thickness();
    // About the outer edge at the level of the sill; a wall that returns there holds with its weight at its middle.
    let holding =
        pier.moment.abs() + load.mass * (middle + sign * half - far).abs() + corner * thick / 2.0;
    Side {
        width: (jamb - far).abs(),
        thrust: push,
        tipping: holding / (push * (springing + line.foot - base)).max(f64::MIN_POSITIVE),
        returns: returns.is_some(),
        sliding: FRICTION * (load.mass + over.mass + corner) / push.max(f64::MIN_POSITIVE),
    }
}

fn not_minor(site: Site<'_>, arch: &LaidArch) -> Option<Finding> {
    if arch.arch.kind == ArchKind::Flat && arch.span <= MINOR_SPAN {
        return None;
    }
    let style = site.laid.plan.style;
    let ratio = arch.rise.ratio(arch.span).unwrap_or(0.0);
    let severity = if arch.span > MINOR_SPAN {
        Severity::Warn
    } else if ratio > MINOR_RISE {
        Severity::Note
    } else {
        return None;
    };
    Some(Finding {
        code: "arch-not-minor",
        severity,
        place: place(site, arch),
        figure: format!(
            "span {}, rise {ratio:.2} of it; a minor arch spans at most {} and rises at most {MINOR_RISE}",
            style.show(arch.span),
            style.show(MINOR_SPAN)
        ),
        cause: "Beyond those limits the line of thrust may leave the ring at its haunches, which simple formulas do not see."
            .to_owned(),
        remedy: "Fill and load its haunches before the crown, keep to the limits, or have it worked out by someone licensed to."
            .to_owned(),
        source: "BIA Technical Note 31A (Oct 1967): span at most 6 ft and rise at most 0.15 of it",
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// W S/8r under an even load; a triangle's coefficient is a third more (BIA Technical Note 31A, the third from memory).
    #[test]
    fn thrust_agrees_with_the_published_coefficients() {
        let line = Line {
            span: 1200.0,
            rise: 150.0,
            foot: 0.0,
        };
        let whole = 300.0;
        let half = |lever: f64| Load {
            mass: whole / 2.0,
            moment: whole / 2.0 * lever,
        };
        let even = thrust(half(300.0), &line);
        assert!((even - whole * 1200.0 / (8.0 * 150.0)).abs() < 1e-9);
        let triangle = thrust(half(200.0), &line);
        assert!((triangle / even - 4.0 / 3.0).abs() < 1e-9);
    }
}
