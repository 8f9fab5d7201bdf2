//! Courses of soldiers, sailors, rowlocks and shiners in straight walls: their rows through the wall and the rules they
//! are laid by.
//!
//! On end a unit takes one layer of the wall; a wall one unit thick has two rows of them, back to back. A rowlock goes
//! through two layers, as a header does; where there is one layer it is snapped to it, its end as fired in the face.

use super::{MeasuredDuct, MeasuredPart};
use crate::layout::frame::{Strip, Turns};
use crate::layout::interval::Rules;
use crate::masonry::Unit;
use crate::plan::{Coursing, Laying, PlanError};
use crate::quantity::Length;

/// A course whose units stand on end or lie on edge.
#[derive(Clone, Debug)]
pub(in crate::layout) struct UprightCourse {
    pub(in crate::layout) course: u32,
    pub(in crate::layout) laid: Laying,
    /// How a stretch of it is filled: its joints keep no lap over the course below.
    pub(in crate::layout) rules: Rules,
    /// Its rows from the outer face inwards.
    pub(in crate::layout) rows: Vec<Row>,
}

/// One row of a course through a wall.
#[derive(Clone, Debug)]
pub(in crate::layout) struct Row {
    pub(in crate::layout) strips: Vec<Strip>,
    pub(in crate::layout) turns: Turns,
    /// From face to face of its units.
    pub(in crate::layout) deep: i64,
    /// Whether the face that shows is the inner one.
    pub(in crate::layout) faces_in: bool,
}

/// What a wall is thick with: layers as deep as a unit is wide. Lengths in nanometres.
#[derive(Clone, Copy, Debug)]
pub(super) struct Layers {
    pub(super) count: i64,
    /// Between one layer and the next.
    pub(super) between: i64,
    /// Whether an open or filled space parts them, which nothing bridges.
    pub(super) parted: bool,
}

/// The courses of a part that depart from its bond, with `strips_at` for its path at an offset and depth.
pub(super) fn uprights(
    coursing: &Coursing,
    unit: &Unit,
    rules: &Rules,
    layers: Layers,
    strips_at: impl Fn(i64, i64) -> Vec<Strip>,
) -> Result<Vec<UprightCourse>, PlanError> {
    let closed = |strips: &[Strip]| {
        strips
            .first()
            .is_some_and(|s| s.low_corner.is_some() && s.high_corner.is_some())
    };
    let of = |&(course, laid): &(u32, Laying)| {
        let rules = rules_of(laid, unit, rules);
        let rows: Vec<(i64, i64)> = rows(laid, unit, layers)?;
        let last = rows.len().saturating_sub(1);
        let row = |(order, (offset, deep)): (usize, (i64, i64))| {
            let strips = strips_at(offset, deep);
            Row {
                turns: Turns::best(&strips, closed(&strips), &rules),
                strips,
                deep,
                faces_in: order > 0 && order == last,
            }
        };
        let rows = rows.into_iter().enumerate().map(row).collect();
        Ok(UprightCourse {
            course,
            laid,
            rules,
            rows,
        })
    };
    coursing.laid.iter().map(of).collect()
}

/// How far behind the outer face each row starts, and how deep it is.
fn rows(laid: Laying, unit: &Unit, layers: Layers) -> Result<Vec<(i64, i64)>, PlanError> {
    let layer = unit.width.nm();
    let deep = laid.sizes(unit)[1].nm();
    let step = layer + layers.between;
    if deep < layer {
        return Err(PlanError::new(
            "course-leaves-a-gap",
            format!(
                "{} is {} deep in a wall whose leaf is {}: {} behind each are left open",
                laid.course_word(),
                Length::from_nm(deep),
                unit.width,
                Length::from_nm(layer - deep)
            ),
            "lay soldiers or rowlocks there, which are as deep as the leaf or go through the wall",
        )
        .at_key("laid"));
    }
    let two = layer + step;
    // Short of the inner face by no more than mortar takes up.
    let goes_through = !layers.parted && deep > layer && deep + layers.between >= two;
    let mut found = Vec::new();
    let mut at = 0;
    while at < layers.count {
        if goes_through && at + 1 < layers.count {
            found.push((at * step, deep.min(two)));
            at += 2;
        } else {
            found.push((at * step, layer));
            at += 1;
        }
    }
    Ok(found)
}

/// Of a unit split along its length three parts in four of its face and joint are left, or more: less is a sliver;
/// common practice, no source.
const SPLIT_FACE: i64 = 3;

/// A row is filled with whole units, joints taking up what they may, and some split along their length where they may
/// not; shiners are cut to length as stretchers are.
pub(super) fn rules_of(laid: Laying, unit: &Unit, rules: &Rules) -> Rules {
    if laid == Laying::Shiner {
        return Rules {
            least_lap: 0,
            ..rules.clone()
        };
    }
    let along = laid.sizes(unit)[0].nm();
    Rules {
        unit: along,
        parts: 4,
        fractions: vec![SPLIT_FACE],
        least_lap: 0,
        shortest_piece: along / 2,
        ..rules.clone()
    }
}

impl MeasuredPart {
    /// The course on end or on edge of this number, if it is one.
    pub(in crate::layout) fn upright_course(&self, course: u32) -> Option<&UprightCourse> {
        self.upright.iter().find(|known| known.course == course)
    }

    /// What a course is laid by.
    pub(in crate::layout) fn rules_of(&self, course: u32) -> &Rules {
        self.upright_course(course)
            .map_or(&self.rules, |upright| &upright.rules)
    }

    /// Refuses what has no place in a course on end or on edge: ledges, and branches that would tooth into it.
    pub(super) fn check_uprights(&self) -> Result<(), PlanError> {
        for upright in &self.upright {
            let what = upright.laid.course_word();
            let course = upright.course;
            if self.ledges.iter().any(|ledge| ledge.course == course) {
                return Err(PlanError::new(
                    "ledge-in-upright-course",
                    format!("the ledge in course {course} has no headers to project from {what}"),
                    "put the ledge in a course below or above it",
                )
                .at_key("laid"));
            }
            let steps = |opening: &&super::MeasuredOpening| {
                let gaps = opening
                    .corbel
                    .as_ref()
                    .map_or(0, |corbel| corbel.gaps.len());
                let first = opening.courses.1 + 1;
                gaps > 0 && (first..=first + gaps as u32).contains(&course)
            };
            if let Some(opening) = self.openings.iter().find(steps) {
                return Err(PlanError::new(
                    "corbel-in-upright-course",
                    format!(
                        "the head over \"{}\" steps inwards in course {course}, {what}",
                        opening.name
                    ),
                    "lay that course in the bond, or take a lintel",
                )
                .at_key("laid"));
            }
            if let Some(branch) = self.branches.iter().find(|branch| branch.courses >= course) {
                return Err(PlanError::new(
                    "branch-in-upright-course",
                    format!(
                        "\"{}\" reaches course {course}, {what}, into which it cannot be toothed",
                        branch.name
                    ),
                    "end the branch below that course, or build it as a wall of its own",
                )
                .at_key("laid"));
            }
        }
        Ok(())
    }
}

impl MeasuredDuct {
    /// Refuses a duct that runs through a course on end or on edge: it would take whole units out of their middle.
    pub(super) fn check_uprights(
        &self,
        name: &str,
        parts: &[MeasuredPart],
    ) -> Result<(), PlanError> {
        for wall in &self.walls {
            let Some(part) = parts.get(wall.part) else {
                continue;
            };
            let hole = wall.reach();
            for upright in &part.upright {
                let bottom = (part.base + part.heights.bottom_of(upright.course)).nm();
                let top = (part.base + part.heights.top_of(upright.course)).nm();
                if self.z - hole < top && self.z + hole > bottom {
                    return Err(PlanError::new(
                        "duct-in-upright-course",
                        format!(
                            "the duct \"{name}\" runs through course {} of \"{}\", {}",
                            upright.course,
                            part.name,
                            upright.laid.course_word()
                        ),
                        "choose a course clear of it, or lay that course in the bond",
                    )
                    .at_key("course"));
                }
            }
        }
        Ok(())
    }
}
