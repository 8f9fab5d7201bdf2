//! What is told of rings and curved walls.

use super::{CurveReason, Remark, RingReason, Voussoirs};
use crate::layout::curve::Stone;
use crate::layout::fan::fan_of;
use crate::layout::laid::Cut;
use crate::layout::measure::MeasuredPart;
use crate::quantity::Length;

/// Other rows over a curve may have joints up to so many times the longest: beyond it nobody would look at them.
const WIDEST: f64 = 4.0;

/// The units of a ring.
pub(super) fn ring(part: &MeasuredPart) -> Option<Remark> {
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

/// The stones of a curved wall's course.
pub(super) fn curve(part: &MeasuredPart, course: u32) -> Option<Remark> {
    let (round, curve) = (part.round.as_ref()?, part.curve.as_ref()?);
    let [odd, even] = &curve.rows;
    let row = if course % 2 == 1 { odd } else { even };
    let limits = (round.task.shortest, round.task.longest);
    let joint = round.task.joint;
    let whole = |nm: f64| Length::from_nm(nm.round() as i64);
    let reason = |count: usize, (inner, outer): (f64, f64)| Voussoirs {
        count: count as u32,
        tapered: round.task.cut,
        joints: (whole(inner), whole(outer)),
    };
    let stones: Vec<Stone> = row.iter().map(|set| set.stone).collect();
    let is_bat = |stone: &Stone| stone.cut != Cut::Whole;
    // Half a unit less or more, over the same length from end to end.
    let unit = odd.iter().map(|set| set.stone).find(|stone| !is_bat(stone));
    let bat = row.iter().chain(even).map(|set| set.stone).find(is_bat);
    let other = |stones: Vec<Stone>| {
        let widest = limits.1.nm() as f64 * WIDEST;
        let (row, _) = curve.arc.row_of(&stones, curve.sweep, widest)?;
        Some(reason(row.len(), curve.arc.joints(&row)))
    };
    let changed = |from: Option<Stone>, to: Option<Stone>| {
        let mut changed = stones.clone();
        if let Some(from) = from {
            let at = changed.iter().rposition(|stone| *stone == from)?;
            changed.remove(at);
        }
        changed.extend(to);
        other(changed)
    };
    let next = [
        changed(bat, None),
        changed(unit, bat),
        changed(None, bat),
        changed(bat, unit),
        changed(unit, None),
        changed(None, unit),
    ]
    .into_iter()
    .flatten()
    .min_by_key(|other| (other.too_thin(limits.0), other.off(limits, joint)));
    let bats = stones.iter().filter(|stone| is_bat(stone)).count();
    Some(Remark::Curve(CurveReason {
        laid: reason(row.len(), curve.arc.joints(row)),
        bats,
        next,
        limits,
        joint,
        radius: round.task.inner,
    }))
}
