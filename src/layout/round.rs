//! Lays rings: each course a full fan, turned by half a unit against the one below.

use std::f64::consts::{FRAC_PI_2, PI};

use super::course::PartWork;
use super::curve::least_radius;
use super::geometry::{Axis, Point};
use super::laid::{Breach, BreachKind, Cut, Finished, LaidRound, Piece, Role, Shaping};
use super::measure::{MeasuredPart, MeasuredRing};
use super::pierced::Pierced;
use super::turned::{Plane, Turned};
use crate::plan::Laying;
use crate::quantity::{Length, Volume};

impl From<Laying> for Role {
    fn from(laying: Laying) -> Role {
        match laying {
            Laying::Stretcher => Role::Stretcher,
            Laying::Header => Role::Header,
            Laying::Soldier => Role::Soldier,
            Laying::Sailor => Role::Sailor,
            Laying::Rowlock => Role::Rowlock,
            Laying::Shiner => Role::Shiner,
        }
    }
}

/// Lays a ring. A unit's middle is at the front in odd courses, a joint in even ones.
pub(super) fn lay_ring(
    part: &MeasuredPart,
    round: &MeasuredRing,
    index: usize,
    sizes: [Length; 3],
) -> PartWork {
    let mut work = PartWork::default();
    let [length, width, height] = sizes;
    let (fan, task) = (round.fan, round.task);
    let mut pierced = Pierced::new(part, round, index);
    for course in 1..=part.courses {
        if pierced.lay_course(course, &mut work) {
            continue;
        }
        let bed = part.base + part.heights.top_of(course - 1);
        let bottom = part.base + part.heights.bottom_of(course);
        let top = part.base + part.heights.top_of(course);
        let start = if course % 2 == 1 {
            -FRAC_PI_2
        } else {
            fan.first - FRAC_PI_2
        };
        for turn in 0..fan.count {
            let turned = Turned {
                plane: Plane::Level,
                centre: round.centre,
                angle: start + fan.pitch * f64::from(turn),
                inner: task.inner,
                outer: task.inner + task.depth,
                inner_width: fan.inner_width,
                outer_width: fan.outer_width,
                depth: (bottom, top),
            };
            work.prisms.push(bay(&turned, fan.count, (bed, top)));
            work.shapings.push(Shaping::Turned(turned));
            work.pieces.push(Piece {
                at: turned.bounds().at,
                length,
                width,
                height,
                shaping: work.shapings.len() as u32,
                part: index as u16,
                course: course as u16,
                leaf: 0,
                leg: 0,
                along: Axis::X,
                role: round.ring.laid.into(),
                cut: Cut::Whole,
                finished: Finished::Both,
            });
        }
        let joint = start + fan.pitch / 2.0;
        let place = |radius: Length| {
            let along = |share: f64| Length::from_nm((radius.nm() as f64 * share).round() as i64);
            Point {
                x: round.centre.0 + along(joint.cos()),
                y: round.centre.1 + along(joint.sin()),
                z: bottom,
            }
        };
        let mut breach = |figure: Length, limit: Length, radius: Length| {
            work.breaches.push(Breach {
                kind: BreachKind::JointOutOfTolerance,
                part: index,
                course,
                at: place(radius),
                figure,
                limit,
            });
        };
        if fan.inner_joint < task.shortest {
            breach(fan.inner_joint, task.shortest, task.inner);
        }
        if fan.outer_joint > task.longest {
            breach(fan.outer_joint, task.longest, task.inner + task.depth);
        }
    }
    pierced.add_voids(&mut work);
    work
}

/// What of the round goes with a piece: to the lines midway to its neighbours, and the bed under it.
fn bay(piece: &Turned, count: u32, depth: (Length, Length)) -> Turned {
    let half = (PI / f64::from(count)).tan();
    let face = |radius: Length| Length::from_nm((2.0 * radius.nm() as f64 * half).round() as i64);
    Turned {
        inner_width: face(piece.inner),
        outer_width: face(piece.outer),
        depth,
        ..*piece
    }
}

/// What is told of a ring.
pub(super) fn laid_ring(part: &MeasuredPart, round: &MeasuredRing) -> LaidRound {
    let (fan, task) = (round.fan, round.task);
    // A regular polygon round a circle of radius r has the area n r² tan(π/n).
    let count = f64::from(fan.count);
    let area = count * (task.inner.nm() as f64).powi(2) * (PI / count).tan();
    let high = part.heights.top_of(part.courses).nm() as f64;
    LaidRound {
        laid: round.ring.laid,
        centre: round.centre,
        inner: task.inner,
        outer: task.inner + task.depth,
        count: fan.count,
        faces: (fan.inner_width, fan.outer_width),
        joints: (fan.inner_joint, fan.outer_joint),
        within: match &part.curve {
            None => Volume::from_nm3((area * high).round() as i128),
            Some(_) => Volume::default(),
        },
        sweep: part.curve.as_ref().map(|curve| curve.sweep),
        least_radius: least_radius(task.unit, task.depth, task.shortest, task.longest),
    }
}
