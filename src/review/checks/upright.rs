use super::Check;
use crate::layout::LaidPart;
use crate::plan::Laying;
use crate::review::{Finding, Place, Severity, Site};

/// Courses on end or on edge: head joints in one line, and beds that show at ends and corners.
pub(super) const CHECK: Check = Check {
    codes: &["course-out-of-bond", "bed-shows"],
    summary: "Courses of soldiers, sailors, rowlocks and shiners, which keep no bond.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let of = |part: &LaidPart| {
        let placed = site.laid.plan.parts.get(&part.name);
        let courses = placed.map(|placed| placed.part.coursing.laid.clone());
        let courses = courses.unwrap_or_default();
        let unbonded = courses
            .iter()
            .filter(|(_, laid)| matches!(laid, Laying::Soldier | Laying::Sailor))
            .map(|(course, laid)| unbonded(site, part, *course, *laid));
        unbonded.chain(shown(part, &courses)).collect::<Vec<_>>()
    };
    site.laid.parts.iter().flat_map(of).collect()
}

/// A course on end: its joints run straight up through a unit's length, and nothing in it goes through the wall.
fn unbonded(site: Site<'_>, part: &LaidPart, course: u32, laid: Laying) -> Finding {
    let style = site.laid.plan.style;
    let rows = site
        .laid
        .pieces_of(part)
        .iter()
        .filter(|piece| u32::from(piece.course) == course)
        .map(|piece| piece.leaf)
        .max()
        .map_or(1, |leaf| leaf + 1);
    let through = if rows > 1 {
        format!("; {rows} rows side by side, tied by nothing")
    } else {
        String::new()
    };
    Finding {
        code: "course-out-of-bond",
        severity: Severity::Note,
        place: Place::part(&part.name).course(course),
        figure: format!(
            "{}, head joints {} high{through}",
            laid.course_word(),
            style.show(part.heights.unit_of(course))
        ),
        cause: "Units on end overlap nothing: a crack finds its joints, and the course bends and parts along them."
            .to_owned(),
        remedy: "Lay bed joint reinforcement under and over the course, with ties where there are two rows, and keep it out of what spans or retains."
            .to_owned(),
        source: "MSJC-08 1.11, quoted second hand: masonry not laid in running bond has horizontal steel",
    }
}

/// Ends and corners where a unit on end or on edge turns its bed to the weather, and the bed has holes.
fn shown(part: &LaidPart, courses: &[(u32, Laying)]) -> Option<Finding> {
    let unit = &part.setting.unit;
    let (course, laid) = courses.first()?;
    let hollow = unit.core_share + unit.frog_share;
    (hollow > 0.0).then(|| Finding {
        code: "bed-shows",
        severity: Severity::Note,
        place: Place::part(&part.name).course(*course),
        figure: format!(
            "{}; {:.0} % of a unit is frog or cores",
            laid.course_word(),
            hollow * 100.0
        ),
        cause: "At an end, a jamb and a corner the last unit turns its bed out, and frog or cores show and hold water."
            .to_owned(),
        remedy: "Take solid units there, turn the frog inwards, or end the course short of the corner."
            .to_owned(),
        source: "common practice, no source",
    })
}
