//! Linings: their sizes, courses and openings follow from the walls that they line.

use std::sync::Arc;

use super::round::gauge_of;
use super::sizes::courses_of;
use super::{MeasuredPart, measure_part};
use crate::layout::heights::Heights;
use crate::layout::laid::VoidKind;
use crate::masonry::{MEETS_WITHIN, best_bed};
use crate::plan::{
    Coursing, Dimension, Laying, Lining, Lintel, LintelKind, MOST_COURSES, Measure, Meet, Opening,
    OwnSetting, Part, Placement, PlanError, Ring, Rise, Setting, Shape, Size, Snap,
};
use crate::quantity::Length;

/// Rounds of narrowing a ring by a unit until its corners keep the gap: the first or second does.
const MOST_NARROWINGS: u32 = 8;

/// A lining may stand so far above a ring where that is nearer than to end below: common practice, no source.
const PROUD_OF_A_RING: Length = Length::mm(20);

/// What a lining lines.
#[derive(Clone, Copy, Debug)]
pub(in crate::layout) struct Lines {
    /// Index of the part that it lines.
    pub(in crate::layout) host: usize,
    pub(in crate::layout) lining: Lining,
}

/// Measures a lining as the chamber or ring that it makes within its host.
pub(super) fn measure_lining(
    name: &str,
    (part, lining): (&Part, &Lining),
    placement: &Placement,
    common: &Arc<Setting>,
    others: &[MeasuredPart],
) -> Result<MeasuredPart, PlanError> {
    let Placement::Against { other, .. } = placement else {
        return Err(unplaced());
    };
    let host = others.iter().position(|one| one.name == *other);
    let (index, host) = host
        .and_then(|at| Some((at, others.get(at)?)))
        .ok_or_else(unplaced)?;
    if host.curve.is_some() {
        return Err(PlanError::new(
            "lining-of-a-curve",
            "a curved wall has no inside to line",
            "place a second curved wall behind it, a joint or a gap away",
        ));
    }
    let own = OwnSetting {
        on_edge: lining.laid == Laying::Shiner && host.round.is_none(),
        ..part.own.clone()
    };
    let setting = common.with_own(&own)?;
    let plain = Part {
        own,
        coursing: coursing_of(part, lining, host, &setting)?,
        lining: None,
        ..part.clone()
    };
    let measured = if host.round.is_some() {
        within_ring((&plain, lining), host, &setting, |made| {
            measure_part(name, &Arc::new(made), placement, common, others)
        })
    } else {
        let made = within_chamber((&plain, lining), host, &setting)?;
        measure_part(name, &Arc::new(made), placement, common, others)
    };
    // What is wrong was not written in the options of another part.
    let mut measured = measured.map_err(|error| PlanError { key: None, ..error })?;
    // It was not asked for in figures of its own.
    measured.snapped.clear();
    measured.lines = Some(Lines {
        host: index,
        lining: *lining,
    });
    check_ledges(host, &measured)?;
    // Vents may move a little as the wall is laid; where they are asked for shows early whether they go through.
    measured.clone().with_vents(nominal_vents(host))?;
    Ok(measured)
}

fn unplaced() -> PlanError {
    PlanError::new(
        "lining-without-walls",
        "a lining stands in the part that it lines",
        "write chamber(#{ ... }).lining(#{ ... })",
    )
}

/// Its beds: as asked for, or such that courses meet those of the walls.
fn coursing_of(
    part: &Part,
    lining: &Lining,
    host: &MeasuredPart,
    setting: &Setting,
) -> Result<Coursing, PlanError> {
    let Some(meet) = lining.meet else {
        return Ok(part.coursing.clone());
    };
    let at = match meet {
        Meet::Most => None,
        Meet::Course(course) if course <= host.courses => Some(course),
        Meet::Course(course) => {
            return Err(PlanError::above("the course to meet", course, host.courses));
        }
    };
    let high = height_of(lining, host, setting);
    let bed = setting.joints.bed;
    let best = best_bed(
        |course| host.heights.top_of(course),
        host.courses,
        high,
        bed,
        MEETS_WITHIN,
        at,
    );
    match best {
        Some((every, _)) => Ok(Coursing {
            every: Some(every),
            ..part.coursing.clone()
        }),
        None => Err(PlanError::new(
            "lining-meets-nowhere",
            format!(
                "no bed from {} to {} brings units {high} high level with that course",
                bed.shortest, bed.longest
            ),
            "name another course, split a course of the lining, or let it be",
        )),
    }
}

/// How high a unit of the lining stands.
fn height_of(lining: &Lining, host: &MeasuredPart, setting: &Setting) -> Length {
    match host.round {
        Some(_) => lining.laid.sizes(&setting.unit)[2],
        None => setting.unit.height,
    }
}

/// The heights of its courses, up to the top of its walls or as asked for.
fn heights_of(
    (part, lining): (&Part, &Lining),
    host: &MeasuredPart,
    setting: &Setting,
) -> Result<Heights, PlanError> {
    let high = height_of(lining, host, setting);
    let gauge = gauge_of(setting, high);
    let heights_to = |courses| Heights::of(&gauge, high, &part.coursing, courses, |_| high);
    if !lining.to_top {
        return courses_of(part.rise, heights_to, Snap::Nearest, &mut Vec::new());
    }
    let all = heights_to(MOST_COURSES)?;
    let top = host.heights.top_of(host.courses);
    // A chamber may get a lid, on a bed; a ring gets none.
    let over = if host.round.is_some() {
        PROUD_OF_A_RING
    } else {
        MEETS_WITHIN
    };
    let under = (1..=MOST_COURSES)
        .take_while(|&course| all.top_of(course) <= top)
        .count();
    let next = all.top_of(under as u32 + 1);
    let nearer = next - top < top - all.top_of(under as u32);
    let count = under + usize::from(next <= top + over && nearer);
    if count == 0 {
        return Err(PlanError::new(
            "lining-higher-than-walls",
            format!("a course of the lining is higher than its walls, {top}"),
            "make the walls higher, lay the lining flat, or write how many courses it has",
        ));
    }
    Ok(all.up_to(count as u32))
}

fn within_chamber(
    (part, lining): (&Part, &Lining),
    host: &MeasuredPart,
    setting: &Setting,
) -> Result<Part, PlanError> {
    let inside = host.inside.ok_or_else(unplaced)?;
    let unit = &setting.unit;
    let joint = setting.joints.head.nominal;
    let outer = |clear: Length| {
        let most = clear - lining.gap * 2;
        if part.snap != Snap::Down {
            return most;
        }
        let module = (unit.length + joint).nm();
        let halves = ((most + joint).nm() * 2).div_euclid(module);
        Length::from_nm(halves * module / 2) - joint
    };
    let (across, deep) = (outer(inside.length), outer(inside.width));
    if across.min(deep) <= unit.width * 2 {
        return Err(PlanError::new(
            "lining-without-inside",
            format!(
                "{} × {} between the walls leaves nothing within a lining {} thick that stands {} clear",
                inside.length, inside.width, unit.width, lining.gap
            ),
            "make the chamber larger, lay the lining on edge (laid: \"shiner\"), or leave a smaller gap",
        ));
    }
    let heights = heights_of((part, lining), host, setting)?;
    let dimension = |length| Dimension {
        size: Size::Length(length),
        measure: Measure::Outside,
    };
    let mut made = Part {
        shape: Shape::Chamber {
            across: dimension(across),
            deep: dimension(deep),
        },
        rise: Rise::Courses(heights.count()),
        snap: Snap::Exact,
        ..part.clone()
    };
    let own = host.openings.iter().filter(|open| open.leg < host.sides);
    for opening in own {
        let bottom = host.heights.top_of(opening.courses.0 - 1);
        let head = match &opening.arch {
            Some(arch) => arch.soffit.top() - host.base,
            None if opening
                .lintel
                .is_some_and(|lintel| lintel.kind == LintelKind::Steel) =>
            {
                host.heights.top_of(opening.courses.1)
            }
            None => host.heights.bottom_of(opening.top_course() + 1),
        };
        let Some((from, to)) = open_courses(&heights, bottom, head) else {
            continue;
        };
        let strip = host.strip(opening.leg)?;
        // As the lining is set middle to middle.
        let long = match strip.axis {
            crate::layout::geometry::Axis::X => across,
            crate::layout::geometry::Axis::Y => deep,
        };
        let (low, high) = host.body_span(strip.axis);
        let low = low + (high - low - long.nm()) / 2;
        let at = if strip.starts_low {
            opening.span.0 - low
        } else {
            low + long.nm() - opening.span.1
        };
        let carried =
            opening.lintel.is_some() || opening.arch.is_some() || opening.corbel.is_some();
        // Up to the top there is nothing to carry.
        let lintel = lining.lintel.filter(|_| carried && to < heights.count());
        made.openings.push(Opening {
            name: opening.name.clone(),
            side: opening.side,
            width: Size::Length(Length::from_nm(opening.span.1 - opening.span.0)),
            from_course: from,
            to_course: to,
            at: Some(Size::Length(Length::from_nm(at))),
            lintel: lintel.map(Lintel::of),
            arch: None,
            corbel: None,
            sill: None,
            door: false,
        });
    }
    Ok(made)
}

/// The courses that are open where the walls are from one height to another: whole ones, nearest outside. None above
/// the last course.
pub(super) fn open_courses(heights: &Heights, bottom: Length, head: Length) -> Option<(u32, u32)> {
    let count = heights.count();
    if bottom >= heights.top_of(count) {
        return None;
    }
    let from = (1..=count).rfind(|&course| heights.top_of(course - 1) <= bottom)?;
    let to = (from..=count).find(|&course| heights.top_of(course) >= head);
    Some((from, to.unwrap_or(count)))
}

fn within_ring(
    (part, lining): (&Part, &Lining),
    host: &MeasuredPart,
    setting: &Setting,
    measured: impl Fn(Part) -> Result<MeasuredPart, PlanError>,
) -> Result<MeasuredPart, PlanError> {
    let round = host.round.as_ref().ok_or_else(unplaced)?;
    let heights = heights_of((part, lining), host, setting)?;
    let limit = round.task.inner - lining.gap;
    let mut diameter = limit * 2;
    for _ in 0..MOST_NARROWINGS {
        if !diameter.is_positive() {
            break;
        }
        let ring = Ring {
            diameter: Dimension {
                size: Size::Length(diameter),
                measure: Measure::Outside,
            },
            laid: lining.laid,
            cut: lining.cut,
        };
        let made = Part {
            shape: Shape::Ring(ring),
            rise: Rise::Courses(heights.count()),
            snap: Snap::Down,
            ..part.clone()
        };
        let mut found = measured(made)?;
        let Some(made) = &found.round else { break };
        let reach = Length::from_nm(made.reach().ceil() as i64);
        if reach <= limit {
            found.pierce_as(host)?;
            return Ok(found);
        }
        // The next that has a unit less.
        diameter = (made.task.inner + made.task.depth) * 2 - Length::from_nm(1);
    }
    Err(PlanError::new(
        "lining-without-inside",
        format!(
            "no ring of these units stands {} clear within walls that are {} apart",
            lining.gap,
            round.task.inner * 2
        ),
        "make the ring wider, lay the lining so that its units are narrower round it, or leave a smaller gap",
    ))
}

/// Headers of a ledge cannot pass through a lining that is in their way.
fn check_ledges(host: &MeasuredPart, lining: &MeasuredPart) -> Result<(), PlanError> {
    let top = lining.heights.top_of(lining.courses);
    let met = host
        .ledges
        .iter()
        .find(|ledge| host.heights.bottom_of(ledge.course) < top);
    match met {
        None => Ok(()),
        Some(ledge) => Err(PlanError::new(
            "ledge-behind-lining",
            format!(
                "the headers of the ledge in course {} would pass through the lining, which is {top} high",
                ledge.course
            ),
            "put the ledge above the lining, make the lining lower, or carry the rack on steel that stands within it",
        )),
    }
}

/// A vent of the walls that goes through a lining.
pub(in crate::layout) struct Through {
    pub(in crate::layout) name: String,
    pub(in crate::layout) side: crate::plan::SideRef,
    pub(in crate::layout) leg: usize,
    pub(in crate::layout) span: (i64, i64),
    /// Above the base of the walls.
    pub(in crate::layout) heights: (Length, Length),
}

fn nominal_vents(host: &MeasuredPart) -> Vec<Through> {
    let own = host.vents.iter().filter(|vent| vent.leg < host.sides);
    own.flat_map(|vent| {
        vent.middles.iter().map(|middle| {
            let from = middle - vent.width / 2;
            Through {
                name: vent.name.clone(),
                side: vent.side,
                leg: vent.leg,
                span: (from, from + vent.width),
                heights: (
                    host.heights.top_of(vent.course - 1),
                    host.heights.bottom_of(vent.course + 1),
                ),
            }
        })
    })
    .collect()
}

impl MeasuredPart {
    /// From face to face of its own walls along an axis.
    fn body_span(&self, axis: crate::layout::geometry::Axis) -> (i64, i64) {
        super::nm(self.body.span(axis))
    }

    /// The edges of what is open in the course below for vents that go through a lining.
    pub(in crate::layout) fn vent_edges(&self, leg: usize, course: u32) -> Vec<i64> {
        if self.lines.is_none() {
            return Vec::new();
        }
        let open = self.openings.iter().filter(|open| {
            open.kind == VoidKind::Vent && open.leg == leg && open.courses.1 + 1 == course
        });
        open.flat_map(|open| [open.span.0, open.span.1]).collect()
    }

    /// A lining with vents of its walls going through it.
    pub(in crate::layout) fn with_vents(
        mut self,
        vents: Vec<Through>,
    ) -> Result<MeasuredPart, PlanError> {
        for vent in vents {
            let (bottom, head) = vent.heights;
            let Some(courses) = open_courses(&self.heights, bottom, head) else {
                continue;
            };
            let clear = self.strip(vent.leg)?.clear();
            if vent.span.0 < clear.0 || vent.span.1 > clear.1 {
                return Err(PlanError::new(
                    "vent-behind-lining",
                    format!(
                        "\"{}\" in the {} wall comes out behind a corner of the lining, which is open between corners for {}",
                        vent.name,
                        vent.side.word(),
                        Length::from_nm(clear.1 - clear.0)
                    ),
                    "take fewer vents in the row, a narrower lining (laid: \"shiner\"), or another side",
                ));
            }
            let meets = |other: &&super::MeasuredOpening| {
                other.leg == vent.leg
                    && other.span.0 < vent.span.1
                    && other.span.1 > vent.span.0
                    && other.courses.0 <= courses.1
                    && other.courses.1 >= courses.0
            };
            if let Some(other) = self.openings.iter().find(meets) {
                return Err(PlanError::new(
                    "openings-overlap",
                    format!(
                        "in whole courses of the lining \"{}\" and \"{}\" run into one another",
                        vent.name, other.name
                    ),
                    "move one of them by a course, or aside",
                ));
            }
            self.openings.push(super::MeasuredOpening {
                name: vent.name,
                kind: VoidKind::Vent,
                side: vent.side,
                leg: vent.leg,
                span: vent.span,
                courses,
                lintel: None,
                arch: None,
                corbel: None,
                sill: None,
            });
        }
        Ok(self)
    }
}
