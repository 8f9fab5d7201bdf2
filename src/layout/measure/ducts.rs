//! Ducts in the walls that they pass.

use super::{MeasuredDuct, MeasuredPart, duct_joint, leg_of, nm};
use crate::layout::geometry::{Axis, Cuboid, shared};
use crate::plan::PlanError;
use crate::quantity::Length;

pub(super) fn measure_duct(
    index: usize,
    duct: &crate::plan::Duct,
    parts: &[MeasuredPart],
) -> Result<MeasuredDuct, PlanError> {
    let find = |name: &str| parts.iter().position(|part| part.name == name);
    let missing = || {
        PlanError::new(
            "no-such-part",
            "a part of the duct is not there",
            "place it first",
        )
    };
    let from = find(&duct.from).ok_or_else(missing)?;
    let source = parts.get(from).ok_or_else(missing)?;
    let annex = duct.to.as_deref().and_then(|to| {
        let annexes = source.part.annexes.iter();
        annexes.into_iter().find(|annex| annex.name == to)
    });
    let to = duct
        .to
        .as_deref()
        .filter(|_| annex.is_none())
        .map(|name| find(name).ok_or_else(missing))
        .transpose()?;
    let target = to.and_then(|to| parts.get(to));
    if let Some(ring) = [Some(source), target]
        .into_iter()
        .flatten()
        .find(|part| part.round.is_some())
    {
        return Err(PlanError::new(
            "duct-in-a-ring",
            format!(
                "\"{}\" is a ring; ducts go through straight walls",
                ring.name
            ),
            "lead the pipe through a chamber",
        ));
    }
    let radius = duct.diameter.nm() / 2;
    if duct.course == 0 || duct.course > source.courses {
        return Err(PlanError::new(
            "course-outside-part",
            format!(
                "the duct lies on course {}; \"{}\" has {} courses",
                duct.course, source.name, source.courses
            ),
            "name a course from 1 to the number of courses",
        )
        .at_key("course"));
    }
    let bed_of = source.base + source.heights.bottom_of(duct.course);
    let z = bed_of.nm() + duct.raise.nm() + radius;
    let (axis, towards_high) = if let Some(target) = target {
        direction(source, target)?
    } else {
        let side = duct.side.map_or(0, |side| leg_of(side, source.sides));
        let side = annex.map_or(side, |annex| annex.side.index());
        let strip = source.strip(side)?;
        (strip.axis.across(), !strip.inside_high)
    };
    let source_leg = match (annex, target, duct.side) {
        (Some(annex), ..) => annex.side.index(),
        (None, None, Some(side)) => leg_of(side, source.sides),
        _ => facing_leg(source, axis, towards_high)?,
    };
    let source_strip = source.strip(source_leg)?;
    let mut clear = source_strip.clear();
    let mut walls = vec![(from, source_leg)];
    // Between the walls of an annex it comes out inside.
    if let Some(annex) = annex {
        let spaces = source.annex_spaces().into_iter();
        let within = spaces.filter(|space| space.name == annex.name);
        for space in within {
            let theirs = nm(space.space.span(axis.across()));
            clear = (clear.0.max(theirs.0), clear.1.min(theirs.1));
        }
    }
    let mut gap = 0;
    let mut wall_total = source_strip.thickness;
    if let (Some(to), Some(target)) = (to, target) {
        let leg = facing_leg(target, axis, !towards_high)?;
        let strip = target.strip(leg)?;
        let theirs = strip.clear();
        clear = (clear.0.max(theirs.0), clear.1.min(theirs.1));
        walls.push((to, leg));
        wall_total += strip.thickness;
        gap = if towards_high {
            strip.across - (source_strip.across + source_strip.thickness)
        } else {
            source_strip.across - (strip.across + strip.thickness)
        };
    }
    for (lining, leg) in linings_of(&walls, parts) {
        let (Some(part), Some(&(at, _))) = (
            parts.get(lining),
            walls
                .iter()
                .find(|(at, _)| lines(parts, lining) == Some(*at)),
        ) else {
            continue;
        };
        // Over a low lining a pipe has its walls alone to pass.
        if z - radius - duct_joint(part) >= part.outside.heights().1.nm() {
            continue;
        }
        let strip = part.strip(leg)?;
        let theirs = strip.clear();
        clear = (clear.0.max(theirs.0), clear.1.min(theirs.1));
        let host = parts.get(at).ok_or_else(missing)?.strip(leg)?;
        wall_total += (strip.inner_face() - host.inner_face()).abs();
        walls.push((lining, leg));
    }
    let across = clear.0 + (clear.1 - clear.0) / 2 + duct.shift.nm();
    let passed = walls.iter().filter_map(|(part, _)| parts.get(*part));
    let reach = radius + passed.map(duct_joint).max().unwrap_or(0);
    if let (Some(to), Some(target)) = (to, target) {
        let (low, high) = if towards_high {
            (source, target)
        } else {
            (target, source)
        };
        let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
        let pipe = Cuboid::along(
            axis,
            (low.outside.span(axis).1, high.outside.span(axis).0),
            length((across - radius, across + radius)),
            length((z - radius, z + radius)),
        );
        let between = parts.iter().enumerate().find(|(index, part)| {
            *index != from
                && *index != to
                && part
                    .wall_boxes()
                    .iter()
                    .any(|wall| wall.shared(&pipe).is_some())
        });
        if let Some((_, part)) = between {
            return Err(PlanError::new(
                "duct-blocked",
                format!("the duct runs into \"{}\", which stands between", part.name),
                "join the parts one by one, move a part, or choose another course",
            )
            .at_key("to"));
        }
    }
    let fits = 2 * reach <= clear.1 - clear.0;
    if fits && (across - reach < clear.0 || across + reach > clear.1) {
        return Err(PlanError::new(
            "duct-misses-wall",
            format!(
                "a duct shifted by {} passes a corner of the walls it goes through",
                duct.shift
            ),
            format!(
                "shift it by at most {} either way",
                Length::from_nm((clear.1 - clear.0) / 2 - reach)
            ),
        )
        .at_key("shift"));
    }
    if !fits {
        return Err(PlanError::new(
            "duct-misses-wall",
            format!(
                "a duct of {} with its joint needs {}, but the walls it passes share {} between their corners",
                duct.diameter,
                Length::from_nm(2 * reach),
                Length::from_nm((clear.1 - clear.0).max(0))
            ),
            "line the parts up, move the duct, or take a smaller one",
        )
        .at_key("diameter"));
    }
    for &(part, leg) in &walls {
        let Some(wall) = parts.get(part) else {
            continue;
        };
        let (bottom, top) = nm(wall.outside.heights());
        let joint = duct_joint(wall);
        let reach = radius + joint;
        if z - radius < bottom || z + reach > top {
            return Err(PlanError::new(
                "duct-misses-wall",
                format!(
                    "the duct with its joint reaches from {} to {} above the slab, but \"{}\" stands from {} to {}",
                    Length::from_nm(z - radius),
                    Length::from_nm(z + reach),
                    wall.name,
                    wall.outside.heights().0,
                    wall.outside.heights().1
                ),
                "choose a course that both parts have, with work above the duct",
            )
            .at_key("course"));
        }
        let met = wall.branches.iter().find(|branch| {
            let top = wall.base + wall.heights.top_of(branch.courses);
            top.nm() > z - reach
                && branch.crossings.iter().any(|c| {
                    c.leg == leg
                        && c.span.0 < across + reach + joint
                        && c.span.1 > across - reach - joint
                })
        });
        if let Some(branch) = met {
            return Err(runs_into(&branch.name, &wall.name));
        }
        for opening in wall.openings.iter().filter(|opening| opening.leg == leg) {
            let low = wall.base + wall.heights.top_of(opening.courses.0 - 1);
            let high = wall.base + wall.heights.top_of(opening.top_course());
            let beside = opening.span.1 <= across - reach || opening.span.0 >= across + reach;
            if !beside && low.nm() < z + reach && high.nm() > z - reach {
                return Err(runs_into(&opening.name, &wall.name));
            }
        }
    }
    Ok(MeasuredDuct {
        index,
        from,
        to,
        axis,
        across,
        z,
        radius,
        walls,
        gap,
        wall_total,
    })
}

/// The part that a lining lines.
fn lines(parts: &[MeasuredPart], lining: usize) -> Option<usize> {
    parts.get(lining)?.lines.map(|lines| lines.host)
}

/// The linings of walls, each with the leg that lines the wall's.
fn linings_of(walls: &[(usize, usize)], parts: &[MeasuredPart]) -> Vec<(usize, usize)> {
    let of = |&(host, leg): &(usize, usize)| {
        let lined = (0..parts.len()).find(|&at| lines(parts, at) == Some(host));
        // Legs of branches, which come after the sides, are outside.
        let sides = parts.get(host).map_or(0, |part| part.sides);
        lined.filter(|_| leg < sides).map(|lining| (lining, leg))
    };
    walls.iter().filter_map(of).collect()
}

fn runs_into(what: &str, part: &str) -> PlanError {
    PlanError::new(
        "openings-overlap",
        format!("the duct runs into \"{what}\" in \"{part}\""),
        "choose another course, or shift the duct",
    )
    .at_key("course")
}

/// The axis on which two parts face each other, and whether the second lies towards larger coordinates.
fn direction(source: &MeasuredPart, target: &MeasuredPart) -> Result<(Axis, bool), PlanError> {
    for axis in [Axis::X, Axis::Y] {
        let (a, b) = (source.outside.span(axis), target.outside.span(axis));
        if shared(
            source.outside.span(axis.across()),
            target.outside.span(axis.across()),
        )
        .is_none()
        {
            continue;
        }
        if a.1 <= b.0 {
            return Ok((axis, true));
        }
        if b.1 <= a.0 {
            return Ok((axis, false));
        }
    }
    Err(PlanError::new(
        "duct-misses-wall",
        format!(
            "\"{}\" and \"{}\" do not face each other",
            source.name, target.name
        ),
        "place them side by side, lined up",
    ))
}

/// The leg that faces along an axis, towards larger or smaller coordinates.
fn facing_leg(part: &MeasuredPart, axis: Axis, towards_high: bool) -> Result<usize, PlanError> {
    part.whole
        .iter()
        .take(part.sides)
        .enumerate()
        .filter(|(_, strip)| strip.axis == axis.across())
        .max_by_key(|(_, strip)| {
            if towards_high {
                strip.across
            } else {
                -strip.across
            }
        })
        .map(|(leg, _)| leg)
        .ok_or_else(|| {
            PlanError::new(
                "duct-misses-wall",
                format!("\"{}\" has no wall that faces the duct", part.name),
                "turn the wall, or name another part",
            )
        })
}
