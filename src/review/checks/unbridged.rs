use super::Check;
use crate::layout::{BodyUse, Cuboid, LaidPart, Piece, Role, Sector, Void, VoidKind, VoidShape};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Openings with no lintel that the units above do not bridge.
pub(super) const CHECK: Check = Check {
    codes: &["opening-not-bridged"],
    summary: "Openings without a lintel that are wider than the units above can bridge.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let laid = site.laid;
    let mut found: Vec<Finding> = Vec::new();
    for void in laid.voids.iter().filter(|void| void.kind != VoidKind::Duct) {
        let carried = laid.bodies.iter().any(|body| {
            body.serves == BodyUse::Lintel && body.part == void.part && body.name == void.name
        }) || laid
            .corbels
            .iter()
            .any(|corbel| corbel.part == void.part && corbel.name == void.name)
            || laid
                .arches
                .iter()
                .any(|arch| arch.part == void.part && arch.name == void.name);
        let Some(part) = laid.parts.get(void.part) else {
            continue;
        };
        if carried {
            continue;
        }
        let (span, above) = match void.shape {
            VoidShape::Box(opening) => (
                opening.span(void.axis),
                over_box(site, part, void, &opening),
            ),
            VoidShape::Sector(sector) => over_sector(site, part, &sector),
            VoidShape::Cylinder { .. } | VoidShape::Profile { .. } => continue,
        };
        let worst = above
            .iter()
            .filter_map(|piece| unsteady(*piece, span))
            .max_by_key(|(severity, over)| (std::cmp::Reverse(*severity), *over));
        if let Some((severity, over)) = worst {
            let next = finding(site, void, span, &part.name, severity, over);
            // Vents of one row share a name; the worst of them speaks for the row.
            match found.iter_mut().find(|known| known.place == next.place) {
                Some(known) if next.severity < known.severity => *known = next,
                Some(_) => {}
                None => found.push(next),
            }
        }
    }
    found
}

/// What pieces right over an opening take along its wall.
fn over_box(
    site: Site<'_>,
    part: &LaidPart,
    void: &Void,
    opening: &Cuboid,
) -> Vec<(Length, Length)> {
    let laid = site.laid;
    let span = opening.span(void.axis);
    let across = opening.span(void.axis.across());
    let top = opening.heights().1;
    let over = |piece: &&Piece| {
        let cuboid = laid.bounds(piece);
        let (from, to) = cuboid.span(void.axis);
        let through = cuboid.span(void.axis.across());
        cuboid.at.z == top
            && (piece.along == void.axis || piece.role != Role::Stretcher)
            && from < span.1
            && to > span.0
            && through.0 < across.1
            && through.1 > across.0
    };
    let pieces = laid.pieces_of(part).iter().filter(over);
    pieces
        .map(|piece| laid.bounds(piece).span(void.axis))
        .collect()
}

/// An opening of round work, and what pieces right over it take, along the inner face from the middle of the opening.
fn over_sector(
    site: Site<'_>,
    part: &LaidPart,
    sector: &Sector,
) -> ((Length, Length), Vec<(Length, Length)>) {
    use std::f64::consts::{PI, TAU};
    let laid = site.laid;
    let inner = sector.inner.nm() as f64;
    let along = |angle: f64| Length::from_nm((angle * inner).round() as i64);
    let middle = f64::midpoint(sector.sides.0, sector.sides.1);
    let half = (sector.sides.1 - sector.sides.0) / 2.0;
    let span = (along(-half), along(half));
    let top = sector.depth.1;
    let over = laid.pieces_of(part).iter().filter_map(|piece| {
        let turned = laid.turned(piece)?;
        // On the bed over the opening.
        let on_it = turned.inner == sector.inner
            && (top..top + part.heights.top_of(1)).contains(&turned.depth.0);
        let off = (turned.angle - middle + PI).rem_euclid(TAU) - PI;
        let reach = (turned.inner_width.nm() as f64 / 2.0).atan2(inner);
        let place = (along(off - reach), along(off + reach));
        (on_it && place.0 < span.1 && place.1 > span.0).then_some(place)
    });
    (span, over.collect())
}

/// Least bearing of a unit that bridges: common practice, no source.
const LEAST_BEARING: Length = Length::mm(25);

/// How a piece over an opening fares, and how far it reaches over it: held at both ends it bridges, unless so little
/// bears that it may slip off while green; held at one end it tips once half of it hangs over, and lifts its tail from
/// a quarter.
fn unsteady((from, to): (Length, Length), span: (Length, Length)) -> Option<(Severity, Length)> {
    let length = to - from;
    let (low, high) = (span.0 - from, to - span.1);
    let over = to.min(span.1) - from.max(span.0);
    match (low.is_positive(), high.is_positive()) {
        (true, true) if low.min(high) < LEAST_BEARING => Some((Severity::Warn, over)),
        (true, true) => None,
        (false, false) => Some((Severity::Stop, over)),
        _ if over * 2 >= length => Some((Severity::Stop, over)),
        _ if over * 4 > length => Some((Severity::Warn, over)),
        _ => None,
    }
}

fn finding(
    site: Site<'_>,
    void: &Void,
    span: (Length, Length),
    part: &str,
    severity: Severity,
    over: Length,
) -> Finding {
    let style = site.laid.plan.style;
    let (cause, remedy) = if severity == Severity::Stop {
        (
            "A unit over the opening rests on nothing, or on less than half of itself, and falls.",
            "Give it a lintel (lintel: \"steel\"), or make it narrower than half a unit with a unit across it.",
        )
    } else {
        (
            "A unit over the opening is held at one end, or by very little, and shifts while green.",
            "Shift the opening so that a unit lies across it, prop it until set, or give it a lintel.",
        )
    };
    Finding {
        code: "opening-not-bridged",
        severity,
        place: Place::part(part).detail(format!(
            "{}, {}",
            void.name,
            site.laid.side_words(void.part, void.side)
        )),
        figure: format!(
            "{} wide; a unit hangs {} over it",
            style.show(span.1 - span.0),
            style.show(over)
        ),
        cause: cause.to_owned(),
        remedy: remedy.to_owned(),
        source: "statics of a unit on its bed, no tension",
    }
}
