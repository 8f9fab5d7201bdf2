//! What bears on a course beside the filling of its intervals: its bed and height, its corners, arches and rings, and the
//! ties over it.

use std::sync::Arc;

use super::arch::ARCH_JOINTS;
use super::fan::fan_of;
use super::geometry::Axis;
use super::lay::lay;
use super::measure::{MeasuredOpening, MeasuredPart};
use crate::plan::{Arch, Opening, Plan, Standing, Ties};
use crate::quantity::Length;

/// One thing that bears on a course.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// The bed under it is not the plan's.
    Bed {
        /// How thick it is.
        thick: Length,
        /// The bed joint of what the part is laid with.
        usual: Length,
    },
    /// Its units are split along their length.
    Split {
        /// How high they are left.
        to: Length,
        /// How high a whole unit is.
        unit: Length,
    },
    /// Which walls pass the corners, where headers bond a wall through.
    Corners {
        /// The axis along which the walls run that pass.
        leading: Axis,
    },
    /// One ring of an arch that springs from the bed under the course, or that cuts it.
    Arch(ArchReason),
    /// The units of a ring, course on course.
    Ring(RingReason),
    /// Ties in the bed over it.
    Ties {
        /// How many.
        count: usize,
        /// Those of them beside jambs and free ends.
        at_jambs: usize,
        /// Furthest apart as asked.
        asked: Ties,
    },
}

/// How a ring of voussoirs came out, and how it would with others.
#[derive(Clone, Debug, PartialEq)]
pub struct ArchReason {
    /// The opening under it.
    pub name: String,
    /// Its place from the soffit, from 1.
    pub ring: usize,
    /// How its units stand.
    pub standing: Standing,
    /// As laid.
    pub laid: Voussoirs,
    /// With two voussoirs fewer or more, whichever is better; none where neither can be made.
    pub next: Option<Voussoirs>,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
    /// The joint aimed at.
    pub joint: Length,
}

/// A number of voussoirs and what they come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Voussoirs {
    /// How many.
    pub count: u32,
    /// Whether units are cut to a taper.
    pub tapered: bool,
    /// Thinnest and thickest joint.
    pub joints: (Length, Length),
}

impl Voussoirs {
    /// By how much its joints miss limits, and how far they are from a joint, added up.
    pub fn off(&self, (least, most): (Length, Length), joint: Length) -> (Length, Length) {
        let beyond =
            (least - self.joints.0).max(Length::ZERO) + (self.joints.1 - most).max(Length::ZERO);
        let off = (self.joints.0 - joint).abs() + (self.joints.1 - joint).abs();
        (beyond, off)
    }

    /// By how much its thinnest joint misses a least one: what cannot be filled is worse than what gapes.
    pub fn too_thin(&self, least: Length) -> Length {
        (least - self.joints.0).max(Length::ZERO)
    }
}

/// How a ring came out, and how it would with a unit more or fewer.
#[derive(Clone, Debug, PartialEq)]
pub struct RingReason {
    /// As laid: joints at the inner and the outer face.
    pub laid: Voussoirs,
    /// With one unit more or fewer at the same diameter, whichever is better; none where neither fits.
    pub next: Option<Voussoirs>,
    /// Least and greatest joint allowed.
    pub limits: (Length, Length),
    /// The joint aimed at.
    pub joint: Length,
}

/// All that bears on a course of a part.
pub(super) fn remarks(plan: &Plan, part: &MeasuredPart, course: u32) -> Vec<Remark> {
    let mut found = Vec::new();
    let coursing = &part.part.coursing;
    if coursing.bed_under(course).is_some() {
        found.push(Remark::Bed {
            thick: part.heights.bed_under(course),
            usual: part.setting.joints.bed.nominal,
        });
    }
    if let Some(to) = coursing.split_to(course) {
        let unit = part.setting.unit.height;
        found.push(Remark::Split { to, unit });
    }
    let cornered = part
        .whole
        .iter()
        .any(|strip| strip.low_corner.is_some() || strip.high_corner.is_some());
    if part.bonded && cornered && part.upright_course(course).is_none() {
        let leading = if part.leads(Axis::X, course) {
            Axis::X
        } else {
            Axis::Y
        };
        found.push(Remark::Corners { leading });
    }
    for opening in &part.openings {
        found.extend(arch(part, opening, course));
    }
    found.extend(ring(part));
    found.extend(ties(plan, part, course));
    found
}

fn arch(part: &MeasuredPart, opening: &MeasuredOpening, course: u32) -> Vec<Remark> {
    let Some(made) = &opening.arch else {
        return Vec::new();
    };
    let (bottom, top) = (
        part.base + part.heights.bottom_of(course),
        part.base + part.heights.top_of(course),
    );
    if course <= opening.courses.1 || bottom >= made.outline.top() || top <= made.springing {
        return Vec::new();
    }
    let asked = part.part.openings.iter().find(|o| o.name == opening.name);
    let with = |count: u32| {
        let asked: &Opening = asked?;
        let arch = Arch {
            voussoirs: Some(count),
            ..made.arch
        };
        let strip = *part.whole.get(opening.leg)?;
        let opening_as = Opening {
            arch: Some(arch),
            ..asked.clone()
        };
        part.measure_opening_arch(&opening_as, opening.span, strip)
            .ok()?
    };
    let joint = part.setting.joints.head.nominal;
    let rings = made.rings.iter().enumerate();
    rings
        .map(|(at, ring)| {
            let count = ring.voussoirs.len() as u32;
            let next = [count.checked_sub(2), Some(count + 2)]
                .into_iter()
                .flatten()
                .filter_map(|count| {
                    let arch = with(count)?;
                    let ring = arch.rings.get(at)?;
                    Some(Voussoirs {
                        count,
                        tapered: ring.tapered,
                        joints: ring.joints,
                    })
                })
                .min_by_key(|other| (other.tapered != ring.tapered, other.off(ARCH_JOINTS, joint)));
            Remark::Arch(ArchReason {
                name: opening.name.clone(),
                ring: at + 1,
                standing: made.arch.standing,
                laid: Voussoirs {
                    count,
                    tapered: ring.tapered,
                    joints: ring.joints,
                },
                next,
                limits: ARCH_JOINTS,
                joint,
            })
        })
        .collect()
}

fn ring(part: &MeasuredPart) -> Option<Remark> {
    let round = part.round.as_ref().filter(|_| part.curve.is_none())?;
    let limits = (round.task.shortest, round.task.longest);
    let joint = round.task.joint;
    let of = |count: u32| {
        let fan = fan_of(&round.task, count)?;
        Some(Voussoirs {
            count,
            tapered: round.task.cut,
            joints: (fan.inner_joint, fan.outer_joint),
        })
    };
    let count = round.fan.count;
    let next = [count.checked_sub(1), Some(count + 1)]
        .into_iter()
        .flatten()
        .filter_map(of)
        .min_by_key(|other| (other.too_thin(limits.0), other.off(limits, joint)));
    Some(Remark::Ring(RingReason {
        laid: Voussoirs {
            count,
            tapered: round.task.cut,
            joints: (round.fan.inner_joint, round.fan.outer_joint),
        },
        next,
        limits,
        joint,
    }))
}

fn ties(plan: &Plan, part: &MeasuredPart, course: u32) -> Option<Remark> {
    let asked = part.part.leaves?.ties?;
    // Where ties have room is known only of the finished work.
    let laid = lay(&Arc::new(plan.clone())).ok()?;
    let (index, _) = laid.part(&part.name)?;
    let here = || {
        laid.ties
            .iter()
            .filter(move |tie| tie.part == index && tie.course == course)
    };
    let count = here().count();
    (count > 0).then(|| Remark::Ties {
        count,
        at_jambs: here().filter(|tie| tie.at_jamb).count(),
        asked,
    })
}
