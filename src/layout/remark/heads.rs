//! What is told of corbelled heads, lintels and sills.

use super::{CorbelReason, Remark, SillReason};
use crate::layout::corbel::{CORBEL_SHARES, next_step};
use crate::layout::measure::{MeasuredOpening, MeasuredPart};
use crate::plan::{LintelKind, Opening, SillKind};
use crate::quantity::Length;

fn asked<'a>(part: &'a MeasuredPart, opening: &MeasuredOpening) -> Option<&'a Opening> {
    let mut openings = part.part.openings.iter();
    openings.find(|known| known.name == opening.name)
}

/// The step that a course of a corbelled head takes, or the gap that it closes.
pub(super) fn corbel(
    part: &MeasuredPart,
    opening: &MeasuredOpening,
    course: u32,
) -> Option<Remark> {
    let corbel = opening.corbel.as_ref()?;
    let number = course
        .checked_sub(opening.courses.1)
        .filter(|step| *step > 0)?;
    let courses = corbel.gaps.len() as u32 + 1;
    let nearest = corbel.gaps.get(number as usize - 1).or(corbel.gaps.last());
    let open = nearest.unwrap_or(&opening.span);
    if number > courses {
        return None;
    }
    let asked = asked(part, opening).is_some_and(|opening| {
        let corbel = opening.corbel;
        corbel.is_some_and(|corbel| corbel.step.is_some())
    });
    let limits = (
        part.unit_height.nm() / CORBEL_SHARES.0,
        part.rules.shortest_piece / CORBEL_SHARES.1,
    );
    let module = part.rules.unit + part.rules.joint;
    let width = opening.span.1 - opening.span.0;
    let next = next_step(
        module,
        (!asked).then_some(corbel.step),
        limits.0.min(limits.1),
    )
    .filter(|step| *step != corbel.step)
    .map(|step| {
        let left = |count: i64| width - 2 * count * step > part.rules.joint;
        let steps = (1..=width / (2 * step)).take_while(|count| left(*count));
        (Length::from_nm(step), steps.count() as u32 + 1)
    });
    Some(Remark::Corbel(CorbelReason {
        name: opening.name.clone(),
        number,
        courses,
        step: Length::from_nm(corbel.step),
        asked,
        open: Length::from_nm(open.1 - open.0),
        limits: (Length::from_nm(limits.0), Length::from_nm(limits.1)),
        next,
    }))
}

/// A lintel that lies in a course, or whose bar lies in the bed under it.
pub(super) fn lintel(
    part: &MeasuredPart,
    opening: &MeasuredOpening,
    course: u32,
) -> Option<Remark> {
    let lintel = opening.lintel?;
    let first = opening.courses.1 + 1;
    let high = match lintel.kind {
        LintelKind::Steel => 1,
        LintelKind::Stone | LintelKind::Concrete => lintel.courses,
    };
    if !(first..first + high).contains(&course) {
        return None;
    }
    let (low, far) = (
        Length::from_nm(opening.span.0 - lintel.span.0),
        Length::from_nm(lintel.span.1 - opening.span.1),
    );
    let seen_low = part
        .whole
        .get(opening.leg)
        .is_none_or(|strip| strip.starts_low);
    Some(Remark::Lintel {
        name: opening.name.clone(),
        kind: lintel.kind,
        bearings: if seen_low { (low, far) } else { (far, low) },
        asked: asked(part, opening)
            .and_then(|opening| opening.lintel)
            .and_then(|lintel| lintel.bearing),
    })
}

/// The sill or threshold of an opening, in the lowest course of it.
pub(super) fn sill(part: &MeasuredPart, opening: &MeasuredOpening, course: u32) -> Option<Remark> {
    let made = opening
        .sill
        .as_ref()
        .filter(|_| course == opening.courses.0)?;
    let rules = &part.rules;
    let width = opening.span.1 - opening.span.0;
    let thick = part.unit_height.nm();
    let count = made.along.len() as i64;
    let joint_of = |count: i64| (width - count * thick) / (count + 1);
    let off = |count: &i64| (joint_of(*count) - rules.joint).abs();
    let next = [count - 1, count + 1]
        .into_iter()
        .filter(|other| *other > 0 && joint_of(*other) > 0)
        .min_by_key(off)
        .filter(|_| made.sill.kind == SillKind::Rowlock)
        .map(|other| (other as usize, Length::from_nm(joint_of(other))));
    Some(Remark::Sill(SillReason {
        name: opening.name.clone(),
        threshold: made.sill.threshold,
        kind: made.sill.kind,
        units: (made.along.len(), made.rows.len()),
        joint: Length::from_nm(made.joint.unwrap_or(rules.joint)),
        next,
        limits: (
            Length::from_nm(rules.shortest_joint),
            Length::from_nm(rules.longest_joint),
        ),
        nominal: Length::from_nm(rules.joint),
        height: made.height,
    }))
}
