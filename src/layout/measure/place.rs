//! Where parts stand, against one another or at places of their own.

use super::{MeasuredPart, nm};
use crate::layout::geometry::Axis;
use crate::plan::{Align, LONGEST_SIDE, Placement, PlanError, Relation, Setting, Size};

/// The place of a part's lowest corner. A gap in units is counted in the plan's own unit and joint, whatever the parts
/// beside it are laid with: it is part of neither.
pub(super) fn place(
    placement: &Placement,
    size: (i64, i64),
    setting: &Setting,
    others: &[MeasuredPart],
) -> Result<(i64, i64, i64), PlanError> {
    let (relation, other, gap, align) = match placement {
        Placement::Origin => return Ok((0, 0, 0)),
        Placement::At(x, y) => {
            if x.abs() > LONGEST_SIDE || y.abs() > LONGEST_SIDE {
                return Err(PlanError::new(
                    "place-too-far",
                    format!("{x}, {y} is further than {} m away", LONGEST_SIDE.to_m()),
                    "check the unit that was written",
                )
                .at_key("at"));
            }
            return Ok((x.nm(), y.nm(), 0));
        }
        Placement::Against {
            relation,
            other,
            gap,
            align,
        } => (*relation, other, *gap, *align),
    };
    let Some(other) = others.iter().find(|part| part.name == *other) else {
        return Err(PlanError::new(
            "no-such-part",
            format!("there is no part named \"{other}\" yet"),
            "place the other part first; two parts cannot be placed against each other",
        )
        .at_key(relation.word()));
    };
    let joint = setting.joints.head.nominal.nm();
    let gap = match gap {
        None => joint,
        Some(Size::Length(length)) => length.nm(),
        Some(Size::HalfUnits(halves)) => halves * (setting.unit.length.nm() + joint) / 2 + joint,
    };
    let (x, y) = (
        nm(other.outside.span(Axis::X)),
        nm(other.outside.span(Axis::Y)),
    );
    let lined_up = |size: i64, (from, to): (i64, i64)| match align {
        Align::Start => from,
        Align::Centre => from + (to - from - size) / 2,
        Align::End => to - size,
    };
    let z = other.outside.at.z.nm();
    Ok(match relation {
        Relation::RightOf => (x.1 + gap, lined_up(size.1, y), z),
        Relation::LeftOf => (x.0 - gap - size.0, lined_up(size.1, y), z),
        Relation::Behind => (lined_up(size.0, x), y.1 + gap, z),
        Relation::InFrontOf => (lined_up(size.0, x), y.0 - gap - size.1, z),
        // What branches off its outside does not shift the middle.
        Relation::InsideOf => (
            lined_up(size.0, nm(other.body.span(Axis::X))),
            lined_up(size.1, nm(other.body.span(Axis::Y))),
            z,
        ),
        Relation::On => (
            lined_up(size.0, x),
            lined_up(size.1, y),
            other.outside.heights().1.nm(),
        ),
    })
}
