use super::Check;
use crate::layout::{Breach, BreachKind};
use crate::review::{Finding, Place, Severity, Site};

/// Limits of laying that could not be kept.
pub(super) const CHECK: Check = Check {
    codes: &["lap-too-short", "piece-too-short", "joint-out-of-tolerance"],
    summary: "Laps, pieces and joints beyond their limits.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for (index, part) in site.laid.parts.iter().enumerate() {
        for kind in [
            BreachKind::LapTooShort,
            BreachKind::PieceTooShort,
            BreachKind::JointOutOfTolerance,
        ] {
            let breaches: Vec<&Breach> = site
                .laid
                .breaches
                .iter()
                .filter(|breach| breach.part == index && breach.kind == kind)
                .collect();
            if let Some(first) = breaches.first() {
                found.push(finding(&part.name, kind, first, &breaches, site));
            }
        }
    }
    found
}

fn finding(
    part: &str,
    kind: BreachKind,
    first: &Breach,
    breaches: &[&Breach],
    site: Site<'_>,
) -> Finding {
    let style = site.laid.plan.style;
    let off = |breach: &Breach| (breach.figure - breach.limit).abs();
    let worst = breaches
        .iter()
        .copied()
        .max_by_key(|breach| off(breach))
        .unwrap_or(first);
    let mut courses: Vec<u32> = breaches.iter().map(|breach| breach.course).collect();
    courses.sort_unstable();
    courses.dedup();
    let listed: Vec<String> = courses.iter().take(8).map(u32::to_string).collect();
    let more = if courses.len() > listed.len() {
        " and more"
    } else {
        ""
    };
    let bound = if worst.figure < worst.limit {
        "least"
    } else {
        "most"
    };
    let figure = format!(
        "{} place{}, worst {} against {} at {bound}; course{} {}{more}",
        breaches.len(),
        plural(breaches.len()),
        style.show(worst.figure),
        style.show(worst.limit),
        plural(courses.len()),
        listed.join(", "),
    );
    let wall = site.laid.branch_at(worst.part, worst.at);
    let place = Place::part(part).course(worst.course).detail(format!(
        "{}x {}, y {}",
        wall.map_or_else(String::new, |name| format!("\"{name}\", ")),
        style.show(worst.at.x),
        style.show(worst.at.y)
    ));
    let named = site.laid.parts.iter().find(|known| known.name == part);
    let round = named.is_some_and(|part| part.ring.is_some());
    let (severity, cause, remedy, source) = match kind {
        BreachKind::LapTooShort => (
            Severity::Warn,
            "Upright joints nearly over one another do not tie the courses together; a crack runs straight up.",
            "Change the size or the opening by half a unit, move the vent or ledge to the next course, or lay bed-joint steel over it.",
            "TMS 402 definition of running bond: a quarter of the unit",
        ),
        BreachKind::PieceTooShort => (
            Severity::Warn,
            "A short piece breaks in the hand, drinks the mortar dry and works loose.",
            "Make the vent or opening narrower or fewer, choose the next course, or change the size by half a unit.",
            "pieces under a half bat are avoided: common practice, no source",
        ),
        BreachKind::JointOutOfTolerance if round => (
            Severity::Warn,
            "Between uncut units the joints of a ring are wedges: thin inside, wide outside, where the mortar shrinks and frost gets in.",
            "Let the units be cut: true, lay them so that they reach less deep (laid: \"stretcher\" or \"shiner\" with short faces), or make the ring wider.",
            "closer than TMS 602 (head joint −1/4 in, +3/8 in)",
        ),
        BreachKind::JointOutOfTolerance => (
            Severity::Warn,
            "A joint too thin cannot be filled; one too thick shrinks, cracks and shows.",
            "Change the size a little, or cut a piece to take up the difference.",
            "closer than TMS 602 (head joint −1/4 in, +3/8 in)",
        ),
    };
    Finding {
        code: kind.code(),
        severity,
        place,
        figure,
        cause: cause.to_owned(),
        remedy: remedy.to_owned(),
        source,
    }
}

fn plural(count: usize) -> &'static str {
    if count == 1 { "" } else { "s" }
}
