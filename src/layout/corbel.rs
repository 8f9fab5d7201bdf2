//! Corbelled heads: the courses over an opening step inwards from both jambs until one closes the gap between them.

use super::course::{Block, Edge, Layer, wall_box};
use super::frame::Strip;
use super::geometry::Axis;
use super::laid::{Void, VoidKind, VoidShape};
use super::measure::MeasuredOpening;
use crate::plan::{Corbel, PlanError};
use crate::quantity::Length;

/// One course projects at most half the height of its unit beyond the course below, and at most a third of its bed
/// measured along the projection (corbel clause of the IRC, R606.5.2, as printed in Modern Masonry 2016, p. 327). In the
/// plane of a wall that bed is the length of the piece along the wall, two thirds of which stay on the course below.
pub const CORBEL_SHARES: (i64, i64) = (2, 3);
/// A unit and its joint are divided into an even number of steps, so that every other step falls on the bond's raster
/// and the last two meet in a joint; up to this number.
const MOST_STEPS_TO_A_UNIT: i64 = 64;

/// What is known of a wall when a corbelled head is measured: lengths in nanometres.
pub(super) struct CorbelSite<'a> {
    pub(super) name: &'a str,
    pub(super) span: (i64, i64),
    /// Wall beside each jamb, joints against corners left out.
    pub(super) beside: (i64, i64),
    /// The course on which the first step lies, and the last of the wall.
    pub(super) courses: (u32, u32),
    pub(super) unit: (i64, i64),
    pub(super) joint: i64,
    pub(super) shortest_piece: i64,
}

/// A corbelled head with every figure known, in nanometres.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredCorbel {
    pub(in crate::layout) step: i64,
    /// The gap that each course leaves open, the lowest first.
    pub(in crate::layout) gaps: Vec<(i64, i64)>,
}

/// A corbelled head as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidCorbel {
    /// Index of its part.
    pub part: usize,
    /// The opening it closes.
    pub name: String,
    /// The leg of the wall, from 0.
    pub leg: usize,
    /// The axis of the wall.
    pub axis: Axis,
    /// From face to face across it.
    pub depth: (Length, Length),
    /// From jamb to jamb.
    pub span: (Length, Length),
    /// How far each course steps inwards.
    pub step: Length,
    /// The course of the first step.
    pub from_course: u32,
    /// The gap that each course leaves open, the lowest first; the course after them closes the last.
    pub gaps: Vec<(Length, Length)>,
    /// Heights at which the gaps start, and the underside of the course that closes the last.
    pub levels: Vec<Length>,
}

impl LaidCorbel {
    /// The course that closes the gap.
    pub fn closing_course(&self) -> u32 {
        self.from_course + self.gaps.len() as u32
    }

    /// Its stepped outline from the left springing over the top to the right one, as places along the wall and heights.
    pub fn outline(&self) -> Vec<(Length, Length)> {
        let heights = self.levels.iter().zip(self.levels.iter().skip(1));
        let steps = || self.gaps.iter().zip(heights.clone());
        let mut outline: Vec<(Length, Length)> = steps()
            .flat_map(|(gap, (low, high))| [(gap.0, *low), (gap.0, *high)])
            .collect();
        let mut right: Vec<(Length, Length)> = steps()
            .flat_map(|(gap, (low, high))| [(gap.1, *low), (gap.1, *high)])
            .collect();
        right.reverse();
        outline.extend(right);
        outline
    }
}

/// The step that a wall's units are given: the most that half their height and a third of their shortest piece allow,
/// as an even share of a unit and its joint.
fn usual_step(site: &CorbelSite<'_>) -> i64 {
    let (length, height) = site.unit;
    let most = (height / CORBEL_SHARES.0).min(site.shortest_piece / CORBEL_SHARES.1);
    next_step(length + site.joint, None, most).unwrap_or(most)
}

/// The step after one that keeps to the bond, the next smaller even share of a unit and its joint; without one, the step
/// that units are usually given within a limit.
pub(super) fn next_step(module: i64, after: Option<i64>, most: i64) -> Option<i64> {
    let mut shares = (2..=MOST_STEPS_TO_A_UNIT)
        .step_by(2)
        .map(|count| module / count);
    shares.find(|&step| step <= most && after.is_none_or(|after| step < after))
}

/// Measures a corbelled head over an opening.
///
/// # Errors
/// When its step is no step, or when it reaches above the wall.
pub(super) fn measure_corbel(
    corbel: Corbel,
    site: &CorbelSite<'_>,
) -> Result<MeasuredCorbel, PlanError> {
    let step = corbel.step.map_or_else(|| usual_step(site), Length::nm);
    let width = site.span.1 - site.span.0;
    if step < Corbel::LEAST_STEP.nm() || step > site.unit.0 {
        return Err(PlanError::new(
            "corbel-step-out-of-range",
            format!(
                "courses over \"{}\" that step in by {} cannot be laid",
                site.name,
                Length::from_nm(step)
            ),
            format!(
                "leave `step` out, or write {} or less",
                Length::from_nm(usual_step(site))
            ),
        )
        .at_key("head"));
    }
    if site.beside.0.min(site.beside.1) < site.shortest_piece {
        return Err(PlanError::new(
            "corbel-without-tail",
            format!(
                "the courses that step in over \"{}\" have {} of wall beside a jamb to lie on; they need {}",
                site.name,
                Length::from_nm(site.beside.0.min(site.beside.1).max(0)),
                Length::from_nm(site.shortest_piece)
            ),
            "move the opening away from the corner or end, or take a lintel",
        )
        .at_key("head"));
    }
    let gaps: Vec<(i64, i64)> = (1..=width / (2 * step))
        .map(|count| (site.span.0 + count * step, site.span.1 - count * step))
        // What a joint fills is closed.
        .take_while(|gap| gap.1 - gap.0 > site.joint)
        .collect();
    let closing = i64::from(site.courses.0) + gaps.len() as i64;
    if closing > i64::from(site.courses.1) {
        return Err(PlanError::new(
            "corbel-at-top",
            format!(
                "in steps of {} the courses over \"{}\" meet in course {closing}, but the wall ends with course {}",
                Length::from_nm(step),
                site.name,
                site.courses.1
            ),
            "lower the opening, make it narrower or the wall higher, or take a lintel or an arch",
        )
        .at_key("head"));
    }
    Ok(MeasuredCorbel { step, gaps })
}

impl MeasuredOpening {
    /// What is open in a course.
    pub(in crate::layout) fn open_in(&self, course: u32) -> Option<(i64, i64)> {
        // The hole of a duct is round, and cut by itself.
        if self.kind == VoidKind::Duct {
            return None;
        }
        if (self.courses.0..=self.courses.1).contains(&course) {
            return Some(self.span);
        }
        let step = course.checked_sub(self.courses.1 + 1)?;
        let corbel = self.corbel.as_ref()?;
        corbel.gaps.get(step as usize).copied()
    }

    /// The highest course in which it is open.
    pub(in crate::layout) fn top_course(&self) -> u32 {
        let steps = self.corbel.as_ref().map_or(0, |corbel| corbel.gaps.len());
        self.courses.1 + steps as u32
    }

    /// What it takes of a course of its leg.
    pub(in crate::layout) fn block(&self, course: u32) -> Option<Block<'_>> {
        let (from, to) = self.open_in(course)?;
        let edge = if course > self.courses.1 {
            Edge::Corbel(&self.name)
        } else {
            Edge::Jamb(&self.name)
        };
        Some(Block { from, to, edge })
    }
}

impl Layer<'_> {
    /// Adds what a corbelled head leaves open: a box a course, from the underside of its units to that of the next.
    pub(super) fn add_corbel(&mut self, opening: &MeasuredOpening, strip: &Strip) {
        let Some(corbel) = &opening.corbel else {
            return;
        };
        let part = self.part;
        let first = opening.courses.1 + 1;
        let underside = |course: u32| part.base + part.heights.bottom_of(course);
        for (course, gap) in (first..).zip(&corbel.gaps) {
            let z = (underside(course), underside(course + 1));
            self.work.voids.push(Void {
                part: self.index,
                name: opening.name.clone(),
                kind: VoidKind::Opening,
                shape: VoidShape::Box(wall_box(strip, *gap, z)),
                side: opening.side,
                axis: strip.axis,
            });
        }
        let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
        self.work.corbels.push(LaidCorbel {
            part: self.index,
            name: opening.name.clone(),
            leg: opening.leg,
            axis: strip.axis,
            depth: length((strip.across, strip.across + strip.thickness)),
            span: length(opening.span),
            step: Length::from_nm(corbel.step),
            from_course: first,
            gaps: corbel.gaps.iter().copied().map(length).collect(),
            levels: (first..=first + corbel.gaps.len() as u32)
                .map(underside)
                .collect(),
        });
    }
}
