use std::collections::BTreeMap;

use super::Check;
use crate::layout::LaidPart;
use crate::masonry::FIRST_BED;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Bed joints of their own that are thinner or thicker than a bed may be.
pub(super) const CHECK: Check = Check {
    codes: &["bed-out-of-tolerance"],
    summary: "A bed joint outside what may be laid.",
    run,
};

fn run(site: Site<'_>) -> Vec<Finding> {
    let placed = |part: &LaidPart| site.laid.plan.parts.get(&part.name);
    let uneven = site
        .laid
        .parts
        .iter()
        .filter(|part| placed(part).is_some_and(|placed| !placed.part.coursing.is_even()));
    uneven.flat_map(|part| of_part(site, part)).collect()
}

fn of_part(site: Site<'_>, part: &LaidPart) -> Vec<Finding> {
    let style = site.laid.plan.style;
    let bed = part.setting.joints.bed;
    // Courses on beds of the same thickness are said once.
    let mut thick: BTreeMap<Length, (u32, usize)> = BTreeMap::new();
    // A gauge that is no whole number of nanometres drops one now and then.
    let slack = Length::from_nm(1);
    let allowed = |course: u32| match course {
        1 => (FIRST_BED.0.min(bed.shortest), FIRST_BED.1.max(bed.longest)),
        _ => (bed.shortest - slack, bed.longest + slack),
    };
    for course in 1..=part.courses {
        let laid = part.heights.bed_under(course);
        let (least, most) = allowed(course);
        if !(least..=most).contains(&laid) {
            thick.entry(laid).or_insert((course, 0)).1 += 1;
        }
    }
    let finding = |(laid, (course, count)): (Length, (u32, usize))| {
        let (least, most) = allowed(course);
        let more = match count {
            1 => String::new(),
            _ => format!(" and {} more", count - 1),
        };
        Finding {
            code: "bed-out-of-tolerance",
            severity: Severity::Warn,
            place: Place::part(&part.name).course(course),
            figure: format!(
                "{} under course {course}{more}; a bed there may be {} to {}",
                style.show(laid),
                style.show(least),
                style.show(most)
            ),
            cause: "A thick bed shrinks and settles unevenly; a thin one does not bed the unit."
                .to_owned(),
            remedy: "Share the height out over several beds within tolerance, split a course, or change the plan's bed."
                .to_owned(),
            source: "TMS 602: bed joints ± 1/8 in, first bed 1/4 to 3/4 in",
        }
    };
    thick.into_iter().map(finding).collect()
}
