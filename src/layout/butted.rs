//! Ties across the joint where a branch only butts against its wall.

use super::cavity::{Tie, rows};
use super::geometry::{Axis, Point};
use super::laid::Piece;
use super::measure::{MeasuredPart, Meets};
use crate::quantity::Length;

/// Ties of the branches of a part that are tied and not toothed: one for each leaf of the branch, clear of the head
/// joints of the wall, in beds at most so far apart as asked.
pub(super) fn butt_ties(part: &MeasuredPart, index: usize, pieces: &[Piece]) -> Vec<Tie> {
    let half_joint = part.rules.joint / 2;
    let mut found = Vec::new();
    for branch in &part.branches {
        let Some(up) = branch.ties else {
            continue;
        };
        let beds = rows(&part.heights, up);
        for course in beds.into_iter().filter(|&course| course < branch.courses) {
            let z = part.base
                + Length::from_nm(i64::midpoint(
                    part.heights.top_of(course).nm(),
                    part.heights.bottom_of(course + 1).nm(),
                ));
            for leaf in &branch.leaves {
                for crossing in &branch.crossings {
                    let low = crossing.wall.0 - half_joint;
                    let high = crossing.wall.1 + half_joint;
                    let along: &[i64] = match crossing.meets {
                        Meets::Low => &[high],
                        Meets::High => &[low],
                        Meets::Through => &[low, high],
                    };
                    for &along in along {
                        let point = |across: i64| {
                            let (x, y) = match leaf.axis {
                                Axis::X => (along, across),
                                Axis::Y => (across, along),
                            };
                            Point {
                                x: Length::from_nm(x),
                                y: Length::from_nm(y),
                                z,
                            }
                        };
                        // A tie holds in a unit of the wall, not in its head joint.
                        let middle = leaf.across + leaf.thickness / 2;
                        let aside = leaf.thickness / 4;
                        let at = [middle, middle - aside, middle + aside]
                            .into_iter()
                            .map(point)
                            .find(|at| holds(pieces, crossing.leg, course, leaf.axis.across(), at))
                            .unwrap_or_else(|| point(middle));
                        found.push(Tie {
                            part: index,
                            leg: branch.leg,
                            course,
                            at,
                            at_jamb: false,
                        });
                    }
                }
            }
        }
    }
    found
}

/// Whether a piece of a leg lies in a course beside a place.
fn holds(pieces: &[Piece], leg: usize, course: u32, axis: Axis, at: &Point) -> bool {
    let place = match axis {
        Axis::X => at.x,
        Axis::Y => at.y,
    };
    pieces.iter().any(|piece| {
        let (from, to) = piece.cuboid().span(axis);
        usize::from(piece.leg) == leg
            && u32::from(piece.course) == course
            && from < place
            && place < to
    })
}
