//! The space between two leaves: where it is open, and where ties bridge it.

use super::frame::Strip;
use super::geometry::{Axis, Cuboid, Point, shared};
use super::heights::Heights;
use super::laid::{Body, Void, VoidKind, VoidShape};
use super::measure::{MeasuredPart, strip_boxes};
use crate::plan::Ties;
use crate::quantity::Length;

/// A tie between two leaves, in a bed joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tie {
    /// Index of its part.
    pub part: usize,
    /// The leg of the path it is in, from 0.
    pub leg: usize,
    /// The course that it lies on.
    pub course: u32,
    /// Its middle.
    pub at: Point,
    /// Whether it is one more beside a jamb or a free end.
    pub at_jamb: bool,
}

/// Ties beside a jamb or a free end are at most so far from it (225 mm) and so far apart upwards (300 mm): UK practice,
/// from memory.
const JAMB: (Length, Length) = (Length::mm(225), Length::mm(300));
/// A tie beds this deep in each leaf at least: UK practice, from memory.
pub const TIE_BED: Length = Length::mm(50);
/// A tie keeps this far from where the space ends: common practice, no source.
const EDGE: Length = Length::mm(50);

/// What of the space between the leaves is free, by leg: openings, lintels and ducts with their joint taken out.
pub(super) fn free_space(
    part: &MeasuredPart,
    (bodies, voids): (&[Body], &[Void]),
    joint: Length,
) -> Vec<Vec<Cuboid>> {
    let boxes = strip_boxes(&part.between, part.closed, part.outside.heights());
    let mut taken: Vec<Cuboid> = bodies.iter().map(|body| body.cuboid).collect();
    taken.extend(voids.iter().map(|void| match void.shape {
        VoidShape::Box(cuboid) => cuboid,
        VoidShape::Sector(sector) => sector.bounds(),
        VoidShape::Profile {
            axis,
            profile,
            depth,
        } => {
            let half = profile.widest_half();
            Cuboid::along(
                axis,
                (profile.middle - half, profile.middle + half),
                depth,
                (profile.bottom, profile.top()),
            )
        }
        // Mortar closes the space round a duct.
        VoidShape::Cylinder {
            axis,
            across,
            z,
            radius,
            span,
        } => {
            let hole = radius + joint;
            Cuboid::along(
                axis,
                span,
                (across - hole, across + hole),
                (z - hole, z + hole),
            )
        }
    }));
    boxes
        .into_iter()
        .zip(&part.between)
        .map(|(space, strip)| without(&space, strip.axis, &taken))
        .collect()
}

/// A box less others, in disjoint boxes, merged along its axis and upwards.
pub(super) fn without(space: &Cuboid, axis: Axis, taken: &[Cuboid]) -> Vec<Cuboid> {
    let near: Vec<Cuboid> = taken
        .iter()
        .filter_map(|other| space.shared(other))
        .collect();
    let steps = |whole: (Length, Length), spans: Vec<(Length, Length)>| {
        let mut places: Vec<Length> = spans.into_iter().flat_map(|(a, b)| [a, b]).collect();
        places.extend([whole.0, whole.1]);
        places.sort_unstable();
        places.dedup();
        let next = places.clone().into_iter().skip(1);
        places.into_iter().zip(next).collect::<Vec<_>>()
    };
    let mut found: Vec<Cuboid> = Vec::new();
    for z in steps(space.heights(), near.iter().map(Cuboid::heights).collect()) {
        let here: Vec<&Cuboid> = near
            .iter()
            .filter(|b| shared(b.heights(), z).is_some())
            .collect();
        let spans = |axis| here.iter().map(|cuboid| cuboid.span(axis)).collect();
        let mut layer: Vec<Cuboid> = Vec::new();
        for across in steps(space.span(axis.across()), spans(axis.across())) {
            for along in steps(space.span(axis), spans(axis)) {
                let cell = Cuboid::along(axis, along, across, z);
                if here.iter().any(|other| other.shared(&cell).is_some()) {
                    continue;
                }
                match layer.last_mut() {
                    Some(last)
                        if last.span(axis).1 == along.0 && last.span(axis.across()) == across =>
                    {
                        *last = last.around(&cell);
                    }
                    _ => layer.push(cell),
                }
            }
        }
        for cell in layer {
            let below = found.iter_mut().find(|below| {
                below.heights().1 == z.0
                    && below.span(axis) == cell.span(axis)
                    && below.span(axis.across()) == cell.span(axis.across())
            });
            match below {
                Some(below) => *below = below.around(&cell),
                None => found.push(cell),
            }
        }
    }
    found
}

/// Courses whose beds take rows of ties at most `up` apart, from the base to the top; nothing is tied to the last
/// course, which has no work above it to hold the tie.
pub(super) fn rows(heights: &Heights, up: Length) -> Vec<u32> {
    let count = heights.count();
    let mut rows = Vec::new();
    let mut last = 0;
    while heights.top_of(count) - heights.top_of(last) > up || last == 0 {
        let reach = heights.top_of(last) + up;
        let highest = (last + 1..count)
            .take_while(|&course| heights.top_of(course) <= reach)
            .last();
        let Some(course) = highest.or(Some(last + 1)).filter(|&course| course < count) else {
            break;
        };
        rows.push(course);
        last = course;
    }
    rows
}

/// Places of all ties of a part.
pub(super) fn ties(
    part: &MeasuredPart,
    index: usize,
    free: &[Vec<Cuboid>],
    ties: Ties,
) -> Vec<Tie> {
    let heights = &part.heights;
    let mut found: Vec<Tie> = Vec::new();
    let usual = rows(heights, ties.up);
    let jambs = rows(heights, ties.up.min(JAMB.1));
    for course in 1..part.courses {
        let row = usual.iter().position(|&row| row == course);
        let doubled = jambs.contains(&course);
        if row.is_none() && !doubled {
            continue;
        }
        let bed = (heights.top_of(course), heights.bottom_of(course + 1));
        let z = part.base + Length::from_nm(i64::midpoint(bed.0.nm(), bed.1.nm()));
        for (leg, (strip, boxes)) in part.between.iter().zip(free).enumerate() {
            let middle = strip.across + strip.thickness / 2;
            for span in stretches(strip, boxes, z) {
                let mut here: Vec<(i64, bool)> = Vec::new();
                if let Some(row) = row {
                    here.extend(grid(strip, span, ties.across, row).map(|place| (place, false)));
                    if here.is_empty() {
                        here.push((i64::midpoint(span.0, span.1), false));
                    }
                }
                if doubled {
                    let inwards = JAMB.0.nm().min((span.1 - span.0) / 2);
                    let ends = ends_free(part, leg, strip, span);
                    for (open, place) in [(ends.0, span.0 + inwards), (ends.1, span.1 - inwards)] {
                        let apart =
                            |&(other, _): &(i64, bool)| (other - place).abs() > JAMB.0.nm() / 2;
                        if open && here.iter().all(apart) {
                            here.push((place, true));
                        }
                    }
                }
                here.sort_unstable();
                found.extend(here.into_iter().map(|(place, at_jamb)| {
                    let (x, y) = match strip.axis {
                        Axis::X => (place, middle),
                        Axis::Y => (middle, place),
                    };
                    let at = Point {
                        x: Length::from_nm(x),
                        y: Length::from_nm(y),
                        z,
                    };
                    Tie {
                        part: index,
                        leg,
                        course,
                        at,
                        at_jamb,
                    }
                }));
            }
        }
    }
    found
}

/// Free stretches of a leg at a height between its corners, wide enough for a tie.
fn stretches(strip: &Strip, boxes: &[Cuboid], z: Length) -> Vec<(i64, i64)> {
    let clear = strip.clear();
    let mut spans: Vec<(i64, i64)> = boxes
        .iter()
        .filter(|open| open.heights().0 <= z && z < open.heights().1)
        .map(|open| open.span(strip.axis))
        .map(|(from, to)| (from.nm().max(clear.0), to.nm().min(clear.1)))
        .filter(|(from, to)| to - from >= 2 * EDGE.nm())
        .collect();
    spans.sort_unstable();
    spans
}

/// Places of a row's ties in a stretch: on a grid along the whole leg, shifted by half in every other row.
fn grid(strip: &Strip, span: (i64, i64), across: Length, row: usize) -> impl Iterator<Item = i64> {
    let step = across.nm();
    let first = strip.clear().0
        + if row.is_multiple_of(2) {
            step / 2
        } else {
            step
        };
    let (from, to) = (span.0 + EDGE.nm(), span.1 - EDGE.nm());
    let skipped = (from - first).max(0);
    let start = first + skipped.div_euclid(step) * step;
    (0..)
        .map(move |count| start + count * step)
        .skip_while(move |&place| place < from)
        .take_while(move |&place| place <= to)
}

/// Whether a stretch ends at a jamb or a free end, at its low and its high end.
fn ends_free(part: &MeasuredPart, leg: usize, strip: &Strip, span: (i64, i64)) -> (bool, bool) {
    let jamb = |place: i64| {
        part.openings.iter().any(|opening| {
            opening.kind != VoidKind::Duct
                && opening.leg == leg
                && (opening.span.0 == place || opening.span.1 == place)
        })
    };
    let (low, high) = strip.clear();
    (
        jamb(span.0) || (span.0 == low && strip.low_corner.is_none()),
        jamb(span.1) || (span.1 == high && strip.high_corner.is_none()),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::masonry::Gauge;

    /// 450 mm is six UK courses of 75 mm: a wall of 20 courses has rows on courses 6, 12 and 18, and on course 4, 8, 12
    /// and 16 where they are 300 mm apart.
    #[test]
    fn rows_keep_their_distance_from_base_to_top() {
        let gauge = Gauge::from_bed(Length::mm(65), Length::mm(10));
        let heights = Heights::even(&gauge, Length::mm(65), 20);
        assert_eq!(rows(&heights, Length::mm(450)), [6, 12, 18]);
        assert_eq!(rows(&heights, Length::mm(300)), [4, 8, 12, 16]);
        assert_eq!(rows(&heights, Length::mm(449)), [5, 10, 15]);
    }

    #[test]
    fn a_single_course_holds_no_tie() {
        let gauge = Gauge::from_bed(Length::mm(65), Length::mm(10));
        assert!(rows(&Heights::even(&gauge, Length::mm(65), 1), Length::mm(450)).is_empty());
        assert_eq!(
            rows(&Heights::even(&gauge, Length::mm(65), 3), Length::mm(450)),
            [2]
        );
    }

    #[test]
    fn what_is_taken_out_of_a_space_leaves_the_rest() {
        let mm = |a: i64, b: i64| (Length::mm(a), Length::mm(b));
        let space = Cuboid::along(Axis::X, mm(0, 1000), mm(100, 150), mm(0, 600));
        let door = Cuboid::along(Axis::X, mm(300, 700), mm(0, 250), mm(0, 400));
        let left = without(&space, Axis::X, &[door]);
        let volume: i128 = left.iter().map(|part| part.volume().nm3()).sum();
        let taken = space.shared(&door).map_or(0, |both| both.volume().nm3());
        assert_eq!(volume, space.volume().nm3() - taken);
        assert_eq!(left.len(), 3);
    }
}
