use super::Check;
use crate::layout::LaidDuct;
use crate::plan::{Duct, DuctHead};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Pipes whose crown leaves a course unlevel. Where all parts keep one even gauge, a pipe that lies on a
/// bed joint in one part lies on one in the other.
pub(super) const CHECK: Check = Check {
    codes: &["duct-crown-off-gauge"],
    summary: "Duct crown off the course gauge.",
    run,
};

/// Most courses that a pipe is tried for when looking for one that fits.
const COURSES_TRIED: u32 = 12;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for duct in &site.laid.ducts {
        let Some(asked) = site.laid.plan.ducts.get(duct.index) else {
            continue;
        };
        // Voussoirs close over a pipe at any height.
        if matches!(asked.head, Some(DuctHead::Arch(_) | DuctHead::Ring(_))) {
            continue;
        }
        for wall in [Some(duct.from), duct.to].into_iter().flatten() {
            found.extend(in_wall(site, duct, asked, wall));
        }
    }
    found
}

fn in_wall(site: Site<'_>, duct: &LaidDuct, asked: &Duct, wall: usize) -> Option<Finding> {
    let laid = site.laid;
    let style = laid.plan.style;
    let part = laid.parts.get(wall)?;
    let (gauge, bed) = (&part.setting.gauge, part.setting.joints.bed);
    let heights = &part.heights;
    let base = part.outside.heights().0;
    let (invert, crown) = (duct.heights.0 - base, duct.heights.1 - base);
    // The pipe lies on the bed of the course whose units start nearest to its lowest point.
    let starts = |course: u32| heights.bottom_of(course);
    let lowest = (1..=part.courses)
        .min_by_key(|&course| (starts(course) - invert).abs())
        .unwrap_or(1);
    // The bed over the crown must end where a course starts.
    let above = (1..=part.courses).find(|&course| starts(course) - crown >= bed.shortest)?;
    let left = starts(above) - crown;
    if left <= bed.longest {
        return None;
    }
    let fitting = |courses: u32| heights.top_of(lowest + courses - 1) - starts(lowest);
    let tried = COURSES_TRIED.min(part.courses - lowest + 1);
    let mut sizes: Vec<Length> = (1..=tried).map(fitting).collect();
    sizes.sort_by_key(|size| (*size - asked.diameter).abs());
    let sizes: Vec<String> = sizes
        .into_iter()
        .filter(|size| size.is_positive())
        .take(2)
        .map(|size| {
            format!(
                "{} ± {}",
                style.show(size),
                style.show(bed.longest - bed.nominal)
            )
        })
        .collect();
    // Raising the pipe on a thicker bed brings the crown to the same place.
    let packing = left - bed.nominal;
    // Courses are counted in the part where the pipe starts.
    let other_course = (1..=gauge.courses.min(part.courses))
        .filter(|_| wall == duct.from)
        .map(|shift| asked.course + shift)
        .filter(|&course| course <= part.courses)
        .find(|&course| {
            let crown = starts(course) + asked.diameter;
            (1..=part.courses)
                .find(|&c| starts(c) - crown >= bed.shortest)
                .is_some_and(|c| starts(c) - crown <= bed.longest)
        });
    let moved = other_course.map_or_else(String::new, |course| {
        format!(" Or lay it on course {course}, where this pipe comes out level.")
    });
    Some(Finding {
        code: "duct-crown-off-gauge",
        severity: Severity::Warn,
        place: Place::part(&part.name).course(above).detail(&duct.name),
        figure: format!(
            "{} from the crown to the units of course {above}; the bed takes {} to {}",
            style.show(left),
            style.show(bed.shortest),
            style.show(bed.longest)
        ),
        cause: "The course over the pipe cannot lie level on a joint as thick as that.".to_owned(),
        remedy: format!(
            "Take a pipe of {}; or bed it {} higher; or fill with split units over the crown.{moved} `level(\"{}\")` lists the ways and prices them.",
            sizes.join(" or "),
            style.show(packing),
            duct.name
        ),
        source: "coursing rule: courses rise by unit and bed; bed tolerance TMS 602, 1/8 in",
    })
}
