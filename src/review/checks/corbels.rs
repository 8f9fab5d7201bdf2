use super::Check;
use crate::layout::{CORBEL_SHARES, LaidCorbel, Piece};
use crate::quantity::Length;
use crate::review::face::Face;
use crate::review::{Finding, Place, Severity, Site};

/// Courses that step inwards over an opening: how far each reaches, what keeps it, and what it takes until it is closed.
pub(super) const CHECK: Check = Check {
    codes: &[
        "corbel-step-too-large",
        "corbel-not-held",
        "corbel-tips-green",
    ],
    summary: "Steps of corbelled heads, the work that holds their tails, and their green state.",
    run,
};

/// Work over the closing course that arches over it by itself: 8 in (NCMA TEK 17-1B).
const OVER_APEX: f64 = 203.2;
/// Margin kept against tipping: common practice, no source.
const MARGIN: f64 = 1.5;
/// Least bearing of the unit that closes the gap, at each side: common practice, no source.
const LEAST_BEARING: Length = Length::mm(25);

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for corbel in &site.laid.corbels {
        found.extend(step(site, corbel));
        found.extend(held(site, corbel));
        found.extend(tips(site, corbel));
    }
    found
}

fn place(site: Site<'_>, corbel: &LaidCorbel) -> Place {
    Place::part(site.laid.part_name(corbel.part)).detail(format!("head of {}", corbel.name))
}

/// The piece of a course that ends at a place: along the wall from there to the left, or to the right.
fn end_piece<'a>(
    site: Site<'a>,
    corbel: &LaidCorbel,
    course: u32,
    at: Length,
    left: bool,
) -> Option<&'a Piece> {
    let part = site.laid.parts.get(corbel.part)?;
    let pieces = site.laid.pieces_of(part).iter();
    let ends = pieces.filter(|piece| {
        let (from, to) = piece.cuboid().span(corbel.axis);
        u32::from(piece.course) == course
            && usize::from(piece.leg) == corbel.leg
            && at == if left { to } else { from }
    });
    // Of several side by side through the wall, the shortest keeps least on the course below.
    ends.min_by_key(|piece| along(corbel, piece))
}

fn along(corbel: &LaidCorbel, piece: &Piece) -> Length {
    let (from, to) = piece.cuboid().span(corbel.axis);
    to - from
}

/// How far a course projects, the length of the piece that does, and the height of its unit.
type Projection = (u32, Length, Length, Length);

/// The pieces of the stepping courses, and those of the closing course that do not bridge the last gap.
fn projections(site: Site<'_>, corbel: &LaidCorbel) -> Vec<Projection> {
    let mut found = Vec::new();
    let mut below = corbel.span;
    for (course, gap) in (corbel.from_course..).zip(&corbel.gaps) {
        for (at, left, by) in [
            (gap.0, true, gap.0 - below.0),
            (gap.1, false, below.1 - gap.1),
        ] {
            if let Some(piece) = end_piece(site, corbel, course, at, left) {
                found.push((course, by, along(corbel, piece), piece.height));
            }
        }
        below = *gap;
    }
    let Some(part) = site.laid.parts.get(corbel.part) else {
        return found;
    };
    let closing = corbel.closing_course();
    for piece in site.laid.pieces_of(part) {
        let (from, to) = piece.cuboid().span(corbel.axis);
        let here = u32::from(piece.course) == closing && usize::from(piece.leg) == corbel.leg;
        if !here || from >= below.1 || to <= below.0 {
            continue;
        }
        let bearing = (below.0 - from, to - below.1);
        if bearing.0 < LEAST_BEARING || bearing.1 < LEAST_BEARING {
            let over = to.min(below.1) - from.max(below.0);
            found.push((closing, over, to - from, piece.height));
        }
    }
    found
}

fn step(site: Site<'_>, corbel: &LaidCorbel) -> Option<Finding> {
    let style = site.laid.plan.style;
    let most = |&(_, _, length, height): &Projection| {
        let of_height = Length::from_nm(height.nm() / CORBEL_SHARES.0);
        let of_bed = Length::from_nm(length.nm() / CORBEL_SHARES.1);
        of_height.min(of_bed)
    };
    let found = projections(site, corbel);
    let worst = found
        .iter()
        .filter(|found| found.1 > most(found))
        .max_by_key(|found| found.1 - most(found))?;
    let (course, by, length, height) = worst;
    Some(Finding {
        code: "corbel-step-too-large",
        severity: Severity::Stop,
        place: place(site, corbel).course(*course),
        figure: format!(
            "a piece {} long and {} high projects {}; published most {}",
            style.show(*length),
            style.show(*height),
            style.show(*by),
            style.show(most(worst))
        ),
        cause: "A unit that reaches so far over the course below tips on its edge, or breaks where it leaves it."
            .to_owned(),
        remedy: "Leave `step` out or make it smaller, so that more courses close the opening; or take a lintel or an arch."
            .to_owned(),
        source: "IRC R606.5.2 as printed in Modern Masonry 2016, p. 327: half the unit's height and a third of its bed; its limit to the sum of all steps is for work that leaves the wall's face",
    })
}

/// Whether the wall beside the opening holds the half of the head that leans on it. Each half is taken as a bracket over
/// its springing: all work between the jamb and the middle, up to 8 in over the closing course, turns about the jamb's
/// edge; what lies on the other side of the edge within 45° of it, up to the same height and to the end of the wall,
/// holds it, with what hangs on a corner there.
fn held(site: Site<'_>, corbel: &LaidCorbel) -> Option<Finding> {
    let face = Face::of(site, corbel.part, corbel.leg)?;
    let low = corbel.levels.first()?.to_mm();
    let high = corbel.levels.last()?.to_mm() + OVER_APEX;
    let (left, right) = (corbel.span.0.to_mm(), corbel.span.1.to_mm());
    let middle = f64::midpoint(left, right);
    let ((start, end), top) = face.bounds();
    let high = high.min(top);
    let ratio = |edge: f64, to_right: bool| {
        let (over, behind, far) = if to_right {
            (
                face.load((low, high), edge, |_| (middle, edge)),
                face.load((low, high), edge, |z| (edge, edge + z - low)),
                end - edge,
            )
        } else {
            (
                face.load((low, high), edge, |_| (edge, middle)),
                face.load((low, high), edge, |z| (edge - (z - low), edge)),
                edge - start,
            )
        };
        let corner = face.returns(to_right, (low, high)).unwrap_or(0.0) * far;
        (behind.moment.abs() + corner) / over.moment.abs().max(f64::MIN_POSITIVE)
    };
    let least = ratio(left, false).min(ratio(right, true));
    let severity = if least < 1.0 {
        Severity::Stop
    } else if least < MARGIN {
        Severity::Warn
    } else {
        return None;
    };
    Some(Finding {
        code: "corbel-not-held",
        severity,
        place: place(site, corbel),
        figure: format!("holding to tipping {least:.2}; {MARGIN} kept"),
        cause: "The wall beside the opening is too little to hold the courses that lean over it: half the head turns about the jamb."
            .to_owned(),
        remedy: "Leave more wall beside or above the opening, make it narrower, or take a lintel."
            .to_owned(),
        source: "statics of each half about its jamb, work within 45°; margin 1.5 common practice, no source",
    })
}

/// The pieces at the gap of one side as they stand before the closing course is laid, held by nothing but the pieces
/// below: about each bed, the middle of all above must not lie beyond the edge of the course under it.
fn tips(site: Site<'_>, corbel: &LaidCorbel) -> Option<Finding> {
    let style = site.laid.plan.style;
    let last = corbel.from_course + corbel.gaps.len() as u32;
    let mut worst: Option<(u32, f64)> = None;
    for left in [true, false] {
        let side = |gap: &(Length, Length)| if left { gap.0 } else { gap.1 };
        let (mut mass, mut moment) = (0.0, 0.0);
        for (course, gap) in (corbel.from_course..last).zip(&corbel.gaps).rev() {
            let Some(piece) = end_piece(site, corbel, course, side(gap), left) else {
                continue;
            };
            let (from, to) = piece.cuboid().span(corbel.axis);
            let volume = site.laid.piece_volume(piece).to_mm3();
            mass += volume;
            moment += volume * f64::midpoint(from.to_mm(), to.to_mm());
            let below = (course - corbel.from_course).checked_sub(1);
            let edge = below
                .and_then(|below| corbel.gaps.get(below as usize))
                .map_or_else(|| side(&corbel.span), side)
                .to_mm();
            let middle = moment / mass;
            let beyond = if left { middle - edge } else { edge - middle };
            if beyond > 0.0 && worst.is_none_or(|(_, most)| beyond > most) {
                worst = Some((course, beyond));
            }
        }
    }
    let (course, beyond) = worst?;
    let beyond = Length::from_mm(beyond).ok()?;
    Some(Finding {
        code: "corbel-tips-green",
        severity: Severity::Note,
        place: place(site, corbel).course(course),
        figure: format!(
            "the middle of the end pieces from course {course} up lies {} beyond the edge below",
            style.show(beyond)
        ),
        cause: "Until the mortar has set and the last course closes the gap, nothing but the wall on their tails keeps the stepping pieces from turning over."
            .to_owned(),
        remedy: "Raise the wall behind with each course and keep a prop under the steps until the mortar has cured."
            .to_owned(),
        source: "statics of the stack about each bed edge, no tension",
    })
}
