use super::Check;
use crate::layout::{Axis, BodyUse, Cuboid, Piece, Role, Void, VoidKind, VoidShape};
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
        let VoidShape::Box(opening) = void.shape else {
            continue;
        };
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
        let span = opening.span(void.axis);
        let across = opening.span(void.axis.across());
        let top = opening.heights().1;
        let above: Vec<&Piece> = laid
            .pieces_of(part)
            .iter()
            .filter(|piece| {
                let cuboid = laid.bounds(piece);
                let (from, to) = cuboid.span(void.axis);
                let through = cuboid.span(void.axis.across());
                cuboid.at.z == top
                    && (piece.along == void.axis || piece.role != Role::Stretcher)
                    && from < span.1
                    && to > span.0
                    && through.0 < across.1
                    && through.1 > across.0
            })
            .collect();
        let worst = above
            .iter()
            .filter_map(|piece| unsteady(&laid.bounds(piece), void.axis, span))
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

/// Least bearing of a unit that bridges: common practice, no source.
const LEAST_BEARING: Length = Length::mm(25);

/// How a piece over an opening fares, and how far it reaches over it: held at both ends it bridges, unless so little
/// bears that it may slip off while green; held at one end it tips once half of it hangs over, and lifts its tail from
/// a quarter.
fn unsteady(piece: &Cuboid, axis: Axis, span: (Length, Length)) -> Option<(Severity, Length)> {
    let (from, to) = piece.span(axis);
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
