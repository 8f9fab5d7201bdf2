//! Headers of rack ledges in walls whose bond has headers of its own.
//!
//! In a course with headers, each header of a ledge takes the place of the bond's header nearest to where it is wanted,
//! so quoins and faces stay as they are. In a course of stretchers alone, or where the nearest is too far, the plain
//! rules set them among the stretchers. A ledge header lies as deep in the wall as in one half a unit thick; what is left
//! in front of it is a half bat, which shows as a header.

use super::course::{Layer, Meaning, Place};
use super::frame::Strip;
use super::interval::{Element, ElementKind, Float, Interval, Solution};
use super::laid::Shaping;
use super::measure::{MeasuredLedge, MeasuredPart};

/// How many modules a header of a ledge may lie from where it is wanted to keep the bond. Our own choice: a rack still
/// lies level on headers so far aside.
const FURTHEST: i64 = 1;

impl<'a> Layer<'a> {
    /// A way to lay a stretch by its bond with headers of ledges in it; none where a float is a vent or the bond has no
    /// header near enough.
    pub(super) fn seated(
        &self,
        strip: &Strip,
        from: i64,
        solution: &Solution,
        floats: &[(Float, Meaning<'a>)],
    ) -> Option<Solution> {
        let ledges = floats
            .iter()
            .all(|(_, meaning)| matches!(meaning, Meaning::Header(_)));
        if !ledges {
            return None;
        }
        let (low, high) = strip.clear();
        let rules = &self.part.rules;
        let furthest = FURTHEST * (rules.unit + rules.joint);
        let headers: Vec<(usize, i64)> = solution
            .elements
            .iter()
            .enumerate()
            .filter(|(_, element)| element.kind == ElementKind::Header)
            .map(|(order, element)| (order, element.start + from, element.length))
            .filter(|&(_, start, length)| start >= low && start + length <= high)
            .map(|(order, start, length)| (order, start + length / 2))
            .collect();
        let targets: Vec<i64> = floats.iter().map(|(float, _)| float.target).collect();
        let chosen = nearest(&targets, &headers, furthest)?;
        let mut seated = solution.clone();
        for (float, (order, off)) in chosen.into_iter().enumerate() {
            if let Some(element) = seated.elements.get_mut(order) {
                element.kind = ElementKind::Float(float);
            }
            seated.cost.drift += off;
        }
        Some(seated)
    }

    /// Lays one header of a ledge, in a bonded wall with the half bat before it.
    pub(super) fn lay_ledge_header(
        &mut self,
        place: &Place<'_>,
        ledge: &MeasuredLedge,
        at: Element,
    ) {
        let part = self.part;
        let strip = place.strip;
        let width = part.unit_width.nm();
        let inner = MeasuredPart::outward(strip, strip.thickness - width, width);
        let thick = part.thick();
        if part.bonded && !thick {
            let outer = MeasuredPart::outward(strip, 0, width);
            let half = self.place(place.course, 0, place.leg, &outer);
            let bat = half.across(
                Element {
                    kind: ElementKind::Header,
                    ..at
                },
                part,
            );
            self.push_shaped(&half, bat);
        }
        let leaf = match (part.bonded, thick) {
            (true, true) => 2,
            (true, false) => 1,
            (false, _) => place.leaf,
        };
        let within = self.place(place.course, leaf, place.leg, &inner);
        let (piece, notch, projection) = within.header(ledge, at, part);
        self.push(piece, notch.map(Shaping::Notch));
        self.work.projections.push(projection);
    }

    /// Floats as an interval that starts at a place sees them.
    pub(super) fn floats_from(floats: &[(Float, Meaning<'a>)], from: i64) -> Vec<Float> {
        floats
            .iter()
            .map(|(float, _)| Float {
                target: float.target - from,
                ..*float
            })
            .collect()
    }

    /// A stretch with headers of ledges in it by the plain rules.
    pub(super) fn plain_with(
        &mut self,
        interval: &Interval,
        from: i64,
        floats: &[(Float, Meaning<'a>)],
    ) -> (Interval, std::sync::Arc<Solution>) {
        let interval = Interval {
            floats: Self::floats_from(floats, from),
            ..interval.clone()
        };
        let solution = self.solve_plainly(&interval);
        (interval, solution)
    }
}

impl MeasuredPart {
    /// A part of a strip's thickness, so far from its outer face and so thick.
    fn outward(strip: &Strip, offset: i64, thickness: i64) -> Strip {
        let across = if strip.inside_high {
            strip.across + offset
        } else {
            strip.across + strip.thickness - offset - thickness
        };
        Strip {
            across,
            thickness,
            ..*strip
        }
    }
}

/// For each target the order of its header and how far off it is: all different, in the same order, least in sum; none
/// where there are too few within reach. Both lists are sorted.
fn nearest(targets: &[i64], headers: &[(usize, i64)], furthest: i64) -> Option<Vec<(usize, i64)>> {
    // Row by row: the least sum for the targets so far with the last of them at each header.
    let mut rows: Vec<Vec<Option<(i64, usize)>>> = Vec::with_capacity(targets.len());
    for target in targets {
        let before = rows.last();
        let mut least: Option<(i64, usize)> = before.is_none().then_some((0, 0));
        let mut row = Vec::with_capacity(headers.len());
        for (index, (_, middle)) in headers.iter().enumerate() {
            let off = (middle - target).abs();
            row.push(
                least
                    .filter(|_| off <= furthest)
                    .map(|(sum, from)| (sum + off, from)),
            );
            let here = before.and_then(|before| before.get(index).copied().flatten());
            if let Some((sum, _)) = here
                && least.is_none_or(|(known, _)| sum < known)
            {
                least = Some((sum, index));
            }
        }
        rows.push(row);
    }
    let last = rows.last()?;
    let reached = last
        .iter()
        .enumerate()
        .filter_map(|(index, found)| found.map(|f| (f.0, index)));
    let (_, mut at) = reached.min()?;
    let mut chosen = Vec::with_capacity(targets.len());
    for (row, target) in rows.iter().zip(targets).rev() {
        let (order, middle) = headers.get(at).copied()?;
        chosen.push((order, (middle - target).abs()));
        at = row.get(at).copied().flatten()?.1;
    }
    chosen.reverse();
    Some(chosen)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn headers_are_told_apart_and_least_off_in_sum() {
        let headers = [(0, 10), (3, 20), (5, 40)];
        let orders = |targets: &[i64]| {
            let chosen = nearest(targets, &headers, 100);
            chosen.map(|chosen| chosen.iter().map(|one| one.0).collect::<Vec<_>>())
        };
        assert_eq!(orders(&[21]), Some(vec![3]));
        // Both want the second: 0 and 1 off in sum against 1 and 19.
        assert_eq!(orders(&[19, 21]), Some(vec![0, 3]));
        assert_eq!(orders(&[11, 12, 13]), Some(vec![0, 3, 5]));
        assert_eq!(orders(&[1, 2, 3, 4]), None);
        assert_eq!(nearest(&[60], &headers, 10), None);
    }

    /// Against every choice of three from seven headers.
    #[test]
    fn no_choice_is_nearer() {
        let headers: Vec<(usize, i64)> =
            (0..7).map(|at: usize| (at, (at * at * 7) as i64)).collect();
        for seed in 0..60_i64 {
            let mut targets = [seed * 13 % 260, seed * 29 % 260, seed * 41 % 260];
            targets.sort_unstable();
            let mut least = None;
            for a in 0..7 {
                for b in a + 1..7 {
                    for c in b + 1..7 {
                        let offs = [a, b, c].map(|at| headers.get(at).map_or(0, |h| h.1));
                        let sum: i64 = offs.iter().zip(targets).map(|(m, t)| (m - t).abs()).sum();
                        least = Some(least.map_or(sum, |known: i64| known.min(sum)));
                    }
                }
            }
            let found = nearest(&targets, &headers, 1000);
            let sum = found.map(|chosen| chosen.iter().map(|one| one.1).sum());
            assert_eq!(sum, least, "{targets:?}");
        }
    }
}
