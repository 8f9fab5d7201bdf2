//! Ducts in the walls that they pass.

use std::ops::Range;

use super::{DuctWall, MeasuredDuct, MeasuredPart, duct_joint, leg_of, nm};
use crate::layout::geometry::{Axis, Cuboid, shared};
use crate::plan::{Annex, Duct, PlanError, Side, SideRef};
use crate::quantity::Length;

/// One end of a duct: a part, or an annex of one.
struct End<'a> {
    index: usize,
    part: &'a MeasuredPart,
    annex: Option<&'a Annex>,
}

fn missing() -> PlanError {
    PlanError::new(
        "no-such-part",
        "a part of the duct is not there",
        "place it first",
    )
}

impl<'a> End<'a> {
    fn of(name: &str, annex: Option<&str>, parts: &'a [MeasuredPart]) -> Result<Self, PlanError> {
        let found = parts.iter().enumerate().find(|(_, part)| part.name == name);
        let (index, part) = found.ok_or_else(missing)?;
        if part.round.is_some() {
            return Err(PlanError::new(
                "duct-in-a-ring",
                format!("\"{name}\" is a ring; ducts go through straight walls"),
                "lead the pipe through a chamber",
            ));
        }
        let annex = annex
            .map(|annex| {
                let mut annexes = part.part.annexes.iter();
                annexes.find(|other| other.name == annex)
            })
            .map(|found| found.ok_or_else(missing))
            .transpose()?;
        Ok(End { index, part, annex })
    }

    fn name(&self) -> &str {
        self.annex.map_or(&self.part.name, |annex| &annex.name)
    }

    /// Its own walls as legs of the part: of an annex those that it does not share.
    fn legs(&self) -> Range<usize> {
        match self.annex {
            None => 0..self.part.sides,
            Some(annex) => {
                let first = self.part.sides + annex.first;
                first..first + 3
            }
        }
    }

    /// The box round its own walls.
    fn body(&self) -> Cuboid {
        let own = |annex: &Annex| {
            let walls = self.part.branches.iter().skip(annex.first).take(3);
            let boxes = walls.flat_map(|wall| &wall.boxes);
            boxes.copied().reduce(|one, other| one.around(&other))
        };
        self.annex.and_then(own).unwrap_or(self.part.body)
    }

    /// The leg that faces along an axis, towards larger or smaller coordinates, seen from outside.
    fn facing(&self, axis: Axis, towards_high: bool) -> Result<usize, PlanError> {
        let none = || {
            PlanError::new(
                "duct-misses-wall",
                format!("\"{}\" has no wall that faces the duct", self.name()),
                "turn the wall, or name another part",
            )
        };
        if let Some(annex) = self.annex {
            let outward = match (axis, towards_high) {
                (Axis::X, true) => Side::Right,
                (Axis::X, false) => Side::Left,
                (Axis::Y, true) => Side::Back,
                (Axis::Y, false) => Side::Front,
            };
            return self.wall_of(annex, outward);
        }
        let legs = self.part.whole.get(self.legs()).unwrap_or_default();
        legs.iter()
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
            .ok_or_else(none)
    }

    /// The wall of an annex on a side.
    fn wall_of(&self, annex: &Annex, side: Side) -> Result<usize, PlanError> {
        let wall = annex.walls().iter().position(|wall| *wall == side);
        wall.map(|wall| self.part.sides + annex.first + wall)
            .ok_or_else(|| {
                PlanError::new(
                    "duct-blocked",
                    format!(
                        "on that side \"{}\" leans on \"{}\", which stands in the way",
                        annex.name, self.part.name
                    ),
                    format!(
                        "lead one duct from \"{}\" into \"{}\" and another on from there",
                        annex.name, self.part.name
                    ),
                )
                .at_key(if self.annex.is_some() { "from" } else { "to" })
            })
    }

    /// The leg by which a duct leaves on a side that is named.
    fn leaving(&self, side: Option<SideRef>) -> Result<usize, PlanError> {
        match (self.annex, side) {
            (Some(annex), Some(SideRef::Side(side))) => self.wall_of(annex, side),
            (Some(_), Some(SideRef::Branch(branch))) => Ok(self.part.sides + branch),
            (Some(_), _) => Err(PlanError::new(
                "side-missing",
                format!("the duct out of \"{}\" leaves by no side", self.name()),
                "add side: \"front\", \"right\", \"back\" or \"left\"",
            )
            .at_key("side")),
            (None, side) => Ok(side.map_or(0, |side| leg_of(side, self.part.sides))),
        }
    }
}

/// How a duct leads: its direction, whether towards larger coordinates, and the legs by which it leaves and arrives.
struct Lead {
    axis: Axis,
    towards_high: bool,
    leaves: usize,
    arrives: Option<usize>,
    /// The space of an annex that it comes out in, where two chambers share the wall.
    shared: bool,
}

fn lead(source: &End<'_>, target: Option<&End<'_>>, duct: &Duct) -> Result<Lead, PlanError> {
    let out = |leg: usize| {
        let strip = source.part.strip(leg)?;
        Ok((strip.axis.across(), !strip.inside_high))
    };
    let Some(target) = target else {
        let leaves = source.leaving(duct.side)?;
        let (axis, towards_high) = out(leaves)?;
        return Ok(Lead {
            axis,
            towards_high,
            leaves,
            arrives: None,
            shared: false,
        });
    };
    // A chamber and its annex share a wall.
    if source.index == target.index
        && let (Some(annex), None) | (None, Some(annex)) = (source.annex, target.annex)
    {
        let leaves = annex.side.index();
        let (axis, outwards) = out(leaves)?;
        return Ok(Lead {
            axis,
            towards_high: outwards == source.annex.is_none(),
            leaves,
            arrives: None,
            shared: true,
        });
    }
    let (axis, towards_high) = direction(source, target)?;
    Ok(Lead {
        axis,
        towards_high,
        leaves: source.facing(axis, towards_high)?,
        arrives: Some(target.facing(axis, !towards_high)?),
        shared: false,
    })
}

pub(super) fn measure_duct(
    index: usize,
    duct: &Duct,
    parts: &[MeasuredPart],
) -> Result<MeasuredDuct, PlanError> {
    let source = End::of(&duct.from, duct.from_annex.as_deref(), parts)?;
    let target = duct.to.as_deref();
    let target = target
        .map(|to| End::of(to, duct.to_annex.as_deref(), parts))
        .transpose()?;
    let courses = source.part.courses;
    if duct.course == 0 || duct.course > courses {
        return Err(PlanError::new(
            "course-outside-part",
            format!(
                "the duct lies on course {}; \"{}\" has {courses} courses",
                duct.course,
                source.name()
            ),
            "name a course from 1 to the number of courses",
        )
        .at_key("course"));
    }
    let radius = duct.diameter.nm() / 2;
    let bed_of = source.part.base + source.part.heights.bottom_of(duct.course);
    let z = bed_of.nm() + duct.raise.nm() + radius;
    let lead = lead(&source, target.as_ref(), duct)?;
    let source_strip = source.part.strip(lead.leaves)?;
    let mut clear = source_strip.clear();
    let mut walls = vec![(source.index, lead.leaves)];
    // Between the walls of an annex it comes out inside, and inside it starts.
    let mut ends: Vec<&End<'_>> = vec![&source];
    ends.extend(target.as_ref());
    for end in ends.iter().filter(|_| lead.shared) {
        let spaces = end.part.annex_spaces().into_iter();
        for space in spaces.filter(|space| end.annex.is_some_and(|annex| annex.name == space.name))
        {
            let theirs = nm(space.space.span(lead.axis.across()));
            clear = (clear.0.max(theirs.0), clear.1.min(theirs.1));
        }
    }
    let mut gap = 0;
    let mut wall_total = source_strip.thickness;
    // From outer face to outer face.
    let mut between = None;
    if let (Some(target), Some(leg)) = (&target, lead.arrives) {
        let strip = target.part.strip(leg)?;
        let theirs = strip.clear();
        clear = (clear.0.max(theirs.0), clear.1.min(theirs.1));
        walls.push((target.index, leg));
        wall_total += strip.thickness;
        let (low, high) = if lead.towards_high {
            (source_strip, strip)
        } else {
            (strip, source_strip)
        };
        gap = high.across - (low.across + low.thickness);
        between = Some((low.across + low.thickness, high.across));
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
    let walls = walls
        .into_iter()
        .map(|(at, leg)| {
            let part = parts.get(at).ok_or_else(missing)?;
            let hole = radius + duct_joint(part);
            let ring = part.measure_duct_ring(duct, leg, (across, z), hole)?;
            Ok(DuctWall {
                part: at,
                leg,
                hole,
                ring,
            })
        })
        .collect::<Result<Vec<_>, PlanError>>()?;
    let measured = MeasuredDuct {
        index,
        from: source.index,
        to: target.as_ref().map(|target| target.index),
        axis: lead.axis,
        across,
        z,
        radius,
        walls,
        gap,
        wall_total,
    };
    if let Some(between) = between {
        measured.check_between(between, parts)?;
    }
    measured.check_corners(duct, clear)?;
    for wall in &measured.walls {
        if let Some(part) = parts.get(wall.part) {
            measured.check_wall(wall, part)?;
        }
    }
    Ok(measured)
}

impl MeasuredDuct {
    /// Refuses a pipe that runs into a wall between those that it joins.
    fn check_between(
        &self,
        (from, to): (i64, i64),
        parts: &[MeasuredPart],
    ) -> Result<(), PlanError> {
        let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
        let pipe = Cuboid::along(
            self.axis,
            length((from, to)),
            length((self.across - self.radius, self.across + self.radius)),
            length((self.z - self.radius, self.z + self.radius)),
        );
        let meets = |wall: &Cuboid| wall.shared(&pipe).is_some();
        let met = parts
            .iter()
            .find(|part| part.wall_boxes().iter().any(meets));
        let Some(part) = met else { return Ok(()) };
        let branch = part.branches.iter().find(|one| one.boxes.iter().any(meets));
        let name = branch.map_or(&part.name, |branch| &branch.name);
        Err(PlanError::new(
            "duct-blocked",
            format!("the duct runs into \"{name}\", which stands between"),
            "join the parts one by one, move a part, or choose another course",
        )
        .at_key("to"))
    }

    /// Refuses a duct that passes a corner of its walls.
    fn check_corners(&self, duct: &Duct, clear: (i64, i64)) -> Result<(), PlanError> {
        let reach = self.walls.iter().map(DuctWall::reach).max().unwrap_or(0);
        let fits = 2 * reach <= clear.1 - clear.0;
        if fits && (self.across - reach < clear.0 || self.across + reach > clear.1) {
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
        if fits {
            return Ok(());
        }
        let ringed = self.walls.iter().any(|wall| wall.ring.is_some());
        Err(PlanError::new(
            "duct-misses-wall",
            format!(
                "a duct of {} with {} needs {}, but the walls it passes share {} between their corners",
                duct.diameter,
                if ringed {
                    "the ring round it"
                } else {
                    "its joint"
                },
                Length::from_nm(2 * reach),
                Length::from_nm((clear.1 - clear.0).max(0))
            ),
            "line the parts up, move the duct, or take a smaller one",
        )
        .at_key("diameter"))
    }

    /// Refuses a duct that leaves the height of a wall, or runs into what is in it.
    fn check_wall(&self, at: &DuctWall, wall: &MeasuredPart) -> Result<(), PlanError> {
        let (across, z, leg) = (self.across, self.z, at.leg);
        let bottom = wall.base;
        let top = wall.base + wall.heights.top_of(wall.courses_of_leg(leg));
        let joint = at.hole - self.radius;
        let reach = at.reach();
        // A pipe may lie on the bed under the wall, voussoirs not.
        let under = if at.ring.is_some() {
            reach
        } else {
            self.radius
        };
        if z - under < bottom.nm() || z + reach > top.nm() {
            return Err(PlanError::new(
                "duct-misses-wall",
                format!(
                    "the duct with {} reaches from {} to {} above the slab, but \"{}\" stands from {bottom} to {top}",
                    if at.ring.is_some() {
                        "the ring round it"
                    } else {
                        "its joint"
                    },
                    Length::from_nm(z - under),
                    Length::from_nm(z + reach),
                    wall.wall_name(leg),
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
        Ok(())
    }
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

/// The axis on which two ends face each other, and whether the second lies towards larger coordinates.
fn direction(source: &End<'_>, target: &End<'_>) -> Result<(Axis, bool), PlanError> {
    let (one, other) = (source.body(), target.body());
    for axis in [Axis::X, Axis::Y] {
        let (a, b) = (one.span(axis), other.span(axis));
        if shared(one.span(axis.across()), other.span(axis.across())).is_none() {
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
            source.name(),
            target.name()
        ),
        "place them side by side, lined up",
    ))
}
