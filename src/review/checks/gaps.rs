use super::Check;
use crate::layout::{Axis, Facing, LaidPart};
use crate::plan::{Dimension, Measure, Placement, Shape, Size};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Gaps that shrink as parts are laid with their joints, or that no hand gets into.
pub(super) const CHECK: Check = Check {
    codes: &["gap-eaten", "gap-too-narrow"],
    summary: "Gaps between parts that joints have eaten, or too narrow to point from.",
    run,
};

/// Room for a hand with a pointing trowel: common practice, no source.
const HAND: Length = Length::mm(150);

fn run(site: Site<'_>) -> Vec<Finding> {
    site.laid
        .facings()
        .into_iter()
        .flat_map(|facing| {
            let Facing {
                low,
                high,
                axis,
                gap,
            } = facing;
            [
                too_narrow(site, low, high, gap),
                eaten(site, low, high, axis, gap),
            ]
        })
        .flatten()
        .collect()
}

fn between(low: &LaidPart, high: &LaidPart) -> Place {
    Place::part(&low.name).detail(format!("to {}", high.name))
}

fn too_narrow(site: Site<'_>, low: &LaidPart, high: &LaidPart, gap: Length) -> Option<Finding> {
    let style = site.laid.plan.style;
    // As wide as a joint, it is one, and is filled as the work goes up.
    let joint = |part: &LaidPart| part.setting.joints.head.longest;
    if gap <= joint(low).max(joint(high)) || gap >= HAND {
        return None;
    }
    Some(Finding {
        code: "gap-too-narrow",
        severity: Severity::Warn,
        place: between(low, high),
        figure: format!(
            "{} between the faces; a hand needs {}",
            style.show(gap),
            style.show(HAND)
        ),
        cause: "The joints on the inner faces cannot be pointed, and droppings bridge the gap."
            .to_owned(),
        remedy: format!(
            "Open the gap to at least {}, or close it to one joint and build the parts as one.",
            style.show(HAND)
        ),
        source: "common practice, no source",
    })
}

/// Where parts stand at places of their own, what the joints add to their sizes is missing from the gap.
fn eaten(
    site: Site<'_>,
    low: &LaidPart,
    high: &LaidPart,
    axis: Axis,
    gap: Length,
) -> Option<Finding> {
    let plan = &site.laid.plan;
    let style = plan.style;
    let placed = plan.parts.get(&high.name)?;
    let other = plan.parts.get(&low.name)?;
    // A part placed against another stands where it was asked to; only places given as lengths can be off.
    let given = |placement: &Placement| matches!(placement, Placement::At(..) | Placement::Origin);
    if !given(&placed.placement) || !given(&other.placement) {
        return None;
    }
    let bare = bare_size(&other.part.shape, axis, low)?;
    let (from, to) = low.outside.span(axis);
    let asked = gap + (to - from) - bare;
    let lost = asked - gap;
    lost.is_positive().then(|| Finding {
        code: "gap-eaten",
        severity: Severity::Warn,
        place: between(low, high),
        figure: format!(
            "{} is left of {}: joints and snapping take {}",
            style.show(gap),
            style.show(asked),
            style.show(lost)
        ),
        cause: format!(
            "Units without their joints would leave {}; laid with joints, \"{}\" is {} larger.",
            style.show(asked),
            low.name,
            style.show(lost)
        ),
        remedy: format!(
            "Place \"{}\" by relation with the gap you want, or move it by {}.",
            high.name,
            style.show(lost)
        ),
        source: "rule of joints: n units outside are n(L + j) − j",
    })
}

/// A chamber's size as one would add it up without joints, or as it was asked before snapping.
fn bare_size(shape: &Shape, axis: Axis, part: &LaidPart) -> Option<Length> {
    let Shape::Chamber { across, deep } = shape else {
        return None;
    };
    let Dimension { size, measure } = match axis {
        Axis::X => *across,
        Axis::Y => *deep,
    };
    let walls = match measure {
        Measure::Outside => Length::ZERO,
        Measure::Inside => part.thickness * 2,
    };
    Some(match size {
        Size::Length(length) => length + walls,
        Size::HalfUnits(halves) => {
            Length::from_nm(part.setting.unit.length.nm() * halves / 2) + walls
        }
    })
}
