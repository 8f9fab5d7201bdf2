//! Sills and thresholds: units on edge or a slab on a bed in the foot of an opening, between its jambs.

use super::course::{Layer, wall_box};
use super::frame::Strip;
use super::geometry::{Axis, Cuboid};
use super::laid::{
    Body, BodyUse, Breach, BreachKind, Cut, Finished, Piece, Role, Void, VoidKind, VoidShape,
};
use super::measure::{MeasuredOpening, MeasuredPart};
use crate::plan::{Opening, PlanError, Sill, SillKind};
use crate::quantity::Length;

/// A row of units behind another is laid where there is this much left for it: a quarter bat of most units. Common
/// practice, no source.
const LEAST_ROW: i64 = 40_000_000;

/// A sill with every figure known, in nanometres.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredSill {
    pub(in crate::layout) sill: Sill,
    /// Where its units or its slab lie along the wall: start and length of each.
    pub(in crate::layout) along: Vec<(i64, i64)>,
    /// Where they lie through the wall, from the outer face inwards: start and length of each row.
    pub(in crate::layout) rows: Vec<(i64, i64)>,
    /// What is left open behind the last row.
    pub(in crate::layout) behind: i64,
    /// The joint beside each unit; none for a slab.
    pub(in crate::layout) joint: Option<i64>,
    pub(in crate::layout) height: Length,
}

/// A sill or threshold as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidSill {
    /// Index of its part.
    pub part: usize,
    /// The opening it lies in.
    pub name: String,
    /// What was asked for.
    pub sill: Sill,
    /// The box round it, its head joints between units included.
    pub cuboid: Cuboid,
    /// The axis of the wall.
    pub axis: Axis,
    /// Units in it; none for a slab.
    pub units: u32,
}

impl MeasuredPart {
    pub(super) fn measure_sill(
        &self,
        opening: &Opening,
        span: (i64, i64),
    ) -> Result<Option<MeasuredSill>, PlanError> {
        let Some(sill) = opening.sill else {
            return Ok(None);
        };
        let rules = &self.rules;
        let thickness = self.thickness.nm();
        let width = span.1 - span.0;
        let deep = thickness + sill.project.nm();
        let refused = |code: &'static str, message: String, remedy: &str| {
            Err(PlanError::new(code, message, remedy).at_key(sill.word()))
        };
        if sill.kind == SillKind::Rowlock && !self.between.is_empty() {
            return refused(
                "sill-in-spaced-leaves",
                format!(
                    "units on edge under \"{}\" would close the space between two leaves",
                    opening.name
                ),
                "take a slab of stone or concrete",
            );
        }
        let unit_height = self.unit_height;
        let (along, rows, joint, height) = match sill.kind {
            SillKind::Slab(_) => {
                let length = width - 2 * rules.joint;
                let height = sill.depth.unwrap_or(unit_height);
                let from = span.0 + rules.joint;
                (
                    vec![(from, length)],
                    vec![(-sill.project.nm(), deep)],
                    None,
                    height,
                )
            }
            SillKind::Rowlock => {
                let thick = unit_height.nm();
                // The number whose joints come nearest to nominal.
                let pitch = thick + rules.joint;
                let rounded = width - rules.joint + pitch / 2;
                let count = rounded.checked_div(pitch).unwrap_or(0).max(1);
                let free = width - count * thick;
                let start = |index: i64| span.0 + free * (index + 1) / (count + 1) + index * thick;
                let along = (0..count).map(|index| (start(index), thick)).collect();
                let rows = rows(deep, sill.project.nm(), rules.unit, rules.joint);
                (along, rows, Some(free / (count + 1)), self.unit_width)
            }
        };
        if along.iter().any(|(_, length)| *length <= 0) || joint.is_some_and(|joint| joint <= 0) {
            return refused(
                "sill-too-narrow",
                format!(
                    "\"{}\" is {} wide, too little for a {} of {}",
                    opening.name,
                    Length::from_nm(width),
                    sill.word(),
                    sill.kind.word()
                ),
                "make the opening wider or leave it out",
            );
        }
        let heights = &self.heights;
        let top = heights.bottom_of(opening.from_course) + height;
        if top >= heights.top_of(opening.to_course) {
            return refused(
                "sill-fills-opening",
                format!(
                    "a {} of {} takes {height} over its bed, all of the height of \"{}\"",
                    sill.word(),
                    sill.kind.word(),
                    opening.name
                ),
                "make the opening higher or the slab thinner",
            );
        }
        let laid = rows.last().map_or(0, |(from, length)| from + length);
        Ok(Some(MeasuredSill {
            sill,
            along,
            rows,
            behind: (thickness - laid).max(0),
            joint,
            height,
        }))
    }
}

/// Rows of units through a wall: as long as a unit is, the last cut, as long as what is left is worth a piece.
fn rows(deep: i64, project: i64, unit: i64, joint: i64) -> Vec<(i64, i64)> {
    let mut rows = vec![(-project, deep.min(unit))];
    let mut taken = deep.min(unit);
    while deep - taken - joint >= LEAST_ROW {
        let length = (deep - taken - joint).min(unit);
        rows.push((taken + joint - project, length));
        taken += joint + length;
    }
    rows
}

impl MeasuredOpening {
    /// The height over the foot at which it is clear, where a sill or threshold takes some of it.
    pub(super) fn clear_from(&self, part: &MeasuredPart) -> Option<Length> {
        let sill = self.sill.as_ref()?;
        Some(part.base + part.heights.bottom_of(self.courses.0) + sill.height)
    }
}

/// A stretch through a wall, from its outer face inwards, as places across its axis.
fn across(strip: &Strip, (from, length): (i64, i64)) -> (i64, i64) {
    if strip.inside_high {
        (strip.across + from, strip.across + from + length)
    } else {
        let outer = strip.across + strip.thickness;
        (outer - from - length, outer - from)
    }
}

impl Layer<'_> {
    /// Lays the sill or threshold of an opening.
    pub(super) fn lay_sill(&mut self, opening: &MeasuredOpening, strip: &Strip) {
        let Some(measured) = &opening.sill else {
            return;
        };
        let part = self.part;
        let sill = measured.sill;
        let course = opening.courses.0;
        let bottom = part.base + part.heights.bottom_of(course);
        let z = (bottom, bottom + measured.height);
        let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
        let boxed = |along: (i64, i64), row: (i64, i64)| {
            Cuboid::along(strip.axis, length(along), length(across(strip, row)), z)
        };
        let (Some(first), Some(last)) = (measured.along.first(), measured.along.last()) else {
            return;
        };
        let whole = (first.0, last.0 + last.1);
        for &row in &measured.rows {
            for &(start, size) in &measured.along {
                let cuboid = boxed((start, start + size), row);
                match sill.kind {
                    SillKind::Slab(kind) => self.work.bodies.push(Body {
                        part: self.index,
                        name: opening.name.clone(),
                        serves: if sill.threshold {
                            BodyUse::Threshold
                        } else {
                            BodyUse::Sill
                        },
                        kind,
                        cuboid,
                        bearings: (Length::ZERO, Length::ZERO),
                        axis: strip.axis,
                    }),
                    SillKind::Rowlock => self.lay_on_edge(opening, strip, &sill, cuboid, row),
                }
            }
        }
        if let Some(joint) = measured.joint {
            self.sill_breaches(course, boxed(whole, (0, 1)), joint);
        }
        if sill.project.is_positive() {
            let stands_out = boxed(whole, (-sill.project.nm(), sill.project.nm()));
            self.work.projections.push(stands_out);
        }
        if measured.behind > 0 {
            let foot = part.base + part.heights.top_of(course - 1);
            let from = strip.thickness - measured.behind;
            let open = Cuboid::along(
                strip.axis,
                length(opening.span),
                length(across(strip, (from, measured.behind))),
                (foot, z.1),
            );
            self.work.voids.push(Void {
                part: self.index,
                name: opening.name.clone(),
                kind: VoidKind::Opening,
                shape: VoidShape::Box(open),
                side: opening.side,
                axis: strip.axis,
            });
        }
        let deep: i64 = measured.rows.last().map_or(0, |(from, size)| from + size);
        self.work.sills.push(LaidSill {
            part: self.index,
            name: opening.name.clone(),
            sill,
            cuboid: boxed(whole, (-sill.project.nm(), deep + sill.project.nm())),
            axis: strip.axis,
            units: match sill.kind {
                SillKind::Rowlock => (measured.along.len() * measured.rows.len()) as u32,
                SillKind::Slab(_) => 0,
            },
        });
    }

    /// One unit on edge through the wall, its end as fired in the outer face.
    fn lay_on_edge(
        &mut self,
        opening: &MeasuredOpening,
        strip: &Strip,
        sill: &Sill,
        cuboid: Cuboid,
        (from, reach): (i64, i64),
    ) {
        let part = self.part;
        let cut = self.part.bat_of(reach);
        let finished = match (cut, strip.inside_high) {
            (Cut::Whole, _) => Finished::Both,
            _ if from > 0 => Finished::Neither,
            (_, true) => Finished::Low,
            (_, false) => Finished::High,
        };
        let piece = Piece {
            at: cuboid.at,
            length: Length::from_nm(reach),
            width: part.unit_height,
            height: part.unit_width,
            shaping: 0,
            part: self.index as u16,
            course: opening.courses.0 as u16,
            leaf: 0,
            leg: opening.leg as u8,
            along: strip.axis.across(),
            role: if sill.threshold {
                Role::Threshold
            } else {
                Role::Sill
            },
            cut,
            finished,
        };
        self.push(piece, None);
    }

    fn sill_breaches(&mut self, course: u32, face: Cuboid, joint: i64) {
        let rules = &self.part.rules;
        let limit = if joint < rules.shortest_joint {
            rules.shortest_joint
        } else if joint > rules.longest_joint {
            rules.longest_joint
        } else {
            return;
        };
        self.work.breaches.push(Breach {
            kind: BreachKind::JointOutOfTolerance,
            part: self.index,
            course,
            at: face.at,
            figure: Length::from_nm(joint),
            limit: Length::from_nm(limit),
        });
    }

    /// The main box of an opening: over its sill or threshold, where it has one.
    pub(super) fn clear_box(
        &self,
        opening: &MeasuredOpening,
        strip: &Strip,
        (bottom, top): (Length, Length),
    ) -> Cuboid {
        let bottom = opening.clear_from(self.part).unwrap_or(bottom);
        wall_box(strip, opening.span, (bottom, top))
    }
}

/// Refuses sills that run into other parts.
pub(super) fn check_sills(laid: &super::Laid) -> Result<(), PlanError> {
    for sill in &laid.sills {
        let meets = |wall: &Cuboid| wall.shared(&sill.cuboid).is_some();
        let other = laid.parts.iter().enumerate().find(|(index, part)| {
            *index != sill.part
                && (part.envelope.iter().any(meets)
                    || part.prisms.iter().any(|prism| meets(&prism.bounds())))
        });
        if let Some((_, other)) = other {
            return Err(PlanError::new(
                "sill-in-the-way",
                format!(
                    "the {} of \"{}\" stands out into \"{}\"",
                    sill.sill.word(),
                    sill.name,
                    other.name
                ),
                "let it project less, or move one of the parts",
            )
            .in_part(laid.part_name(sill.part)));
        }
    }
    Ok(())
}
