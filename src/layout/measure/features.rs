//! Openings, lintels, vents and ledges in their walls.

use std::sync::Arc;

use super::sizes::{Gauger, JointRule};
use super::{
    MeasuredLedge, MeasuredLintel, MeasuredOpening, MeasuredPart, MeasuredVent, USUAL_BEARING,
    leg_of,
};
use crate::layout::frame::Strip;
use crate::layout::laid::VoidKind;
use crate::plan::{Ledge, Lintel, LintelKind, Notch, PlanError, Side, Size, Vent};
use crate::quantity::Length;

/// The stretch that an opening takes along its leg.
pub(super) fn opening_span(
    at: Option<Size>,
    width: i64,
    strip: &Strip,
    gauger: &Gauger<'_>,
) -> (i64, i64) {
    let (low, high) = strip.span();
    let from = match at {
        None => low + (high - low - width) / 2,
        Some(at) => {
            let from_start = match at {
                Size::HalfUnits(halves) => {
                    halves * gauger.module / 2 + gauger.add(JointRule::Outside)
                }
                Size::Length(length) => length.nm(),
            };
            if strip.starts_low {
                low + from_start
            } else {
                high - from_start - width
            }
        }
    };
    (from, from + width)
}

impl MeasuredPart {
    pub(super) fn measure_openings(&mut self, gauger: &mut Gauger<'_>) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        for opening in &part.openings {
            let leg = leg_of(opening.side, self.sides);
            let strip = self.strip(leg)?;
            let width = gauger.size(
                format!("width of \"{}\"", opening.name),
                opening.width,
                JointRule::Inside,
            )?;
            let (low, high) = strip.span();
            let span = opening_span(opening.at, width, &strip, gauger);
            let clear = strip.clear();
            if opening.at.is_some()
                && width <= clear.1 - clear.0
                && (span.0 < clear.0 || span.1 > clear.1)
            {
                return Err(PlanError::new(
                    "opening-outside-wall",
                    format!(
                        "\"{}\" is {} wide and placed so that it passes a corner or an end of its wall",
                        opening.name,
                        Length::from_nm(width),
                    ),
                    "change `at`, or leave it out to centre the opening",
                )
                .at_key("width"));
            }
            if span.0 < clear.0 || span.1 > clear.1 || span.0 <= low || span.1 >= high {
                return Err(PlanError::new(
                    "opening-outside-wall",
                    format!(
                        "\"{}\" is {} wide, but its wall has {} between its corners or ends",
                        opening.name,
                        Length::from_nm(width),
                        Length::from_nm(clear.1 - clear.0)
                    ),
                    "make the opening narrower, move it, or make the wall longer",
                )
                .at_key("width"));
            }
            let courses = self.courses_of_leg(leg);
            if opening.to_course > courses {
                let above = PlanError::above(&opening.name, opening.to_course, courses);
                return Err(above.at_key("courses"));
            }
            let corbel = self.measure_opening_corbel(opening, span, strip, courses)?;
            let measured = MeasuredOpening {
                name: opening.name.clone(),
                kind: VoidKind::Opening,
                side: opening.side,
                leg,
                span,
                courses: (opening.from_course, opening.to_course),
                lintel: None,
                arch: None,
                corbel,
                sill: self.measure_sill(opening, span)?,
            };
            for other in &self.openings {
                let apart = other.leg != leg
                    || other.span.1 <= span.0
                    || other.span.0 >= span.1
                    || other.top_course() < opening.from_course
                    || other.courses.0 > measured.top_course();
                if !apart {
                    return Err(PlanError::new(
                        "openings-overlap",
                        format!("\"{}\" and \"{}\" overlap", opening.name, other.name),
                        "move one of them, or narrow it",
                    ));
                }
            }
            let lintel = opening
                .lintel
                .map(|lintel| {
                    self.measure_lintel(
                        &opening.name,
                        lintel,
                        (opening.to_course, courses),
                        span,
                        strip,
                    )
                })
                .transpose()?;
            let arch = self.measure_opening_arch(opening, span, strip)?;
            self.openings.push(MeasuredOpening {
                lintel,
                arch,
                ..measured
            });
        }
        Ok(())
    }

    pub(super) fn measure_lintel(
        &self,
        name: &str,
        lintel: Lintel,
        (top, highest): (u32, u32),
        span: (i64, i64),
        strip: Strip,
    ) -> Result<MeasuredLintel, PlanError> {
        let courses = match lintel.kind {
            LintelKind::Steel => 1,
            LintelKind::Stone | LintelKind::Concrete => lintel.courses.max(1),
        };
        if top.saturating_add(courses) > highest {
            return Err(PlanError::new(
                "lintel-at-top",
                format!("the lintel over \"{name}\" has no course to carry: the opening reaches course {top} of {highest}"),
                "lower the opening, make the part higher, or leave the lintel out",
            )
            .at_key("lintel"));
        }
        let bed = self.heights.bed_under(top + 1);
        if lintel.kind == LintelKind::Steel && lintel.bar > bed {
            return Err(PlanError::new(
                "bar-thicker-than-bed",
                format!(
                    "a bar {} thick does not go into a bed joint of {bed}",
                    lintel.bar
                ),
                "take a thinner bar, a thicker bed joint, or a stone or concrete lintel",
            )
            .at_key("lintel"));
        }
        // Room at each end: to the end of the wall. A bar reaches into a corner's beds; a stone that reaches over a corner
        // takes all of its square.
        let (low, high) = strip.span();
        let (low, high) = match lintel.kind {
            LintelKind::Steel => ((low, false), (high, false)),
            LintelKind::Stone | LintelKind::Concrete => self.lintel_room(lintel, span, strip),
        };
        let module = self.rules.unit + self.rules.joint;
        let bearing = |room: i64, over: bool| match (lintel.bearing, lintel.kind) {
            _ if over => room,
            (Some(asked), _) => asked.nm().min(room),
            (None, LintelKind::Steel) => USUAL_BEARING.nm().min(room),
            (None, _) => {
                // A lintel that ends on the bond's raster needs no cuts beside it.
                let usual = (1..=4)
                    .map(|halves| halves * module / 2 - self.rules.joint)
                    .find(|&length| length >= USUAL_BEARING.nm())
                    .unwrap_or(USUAL_BEARING.nm());
                if usual <= room {
                    usual
                } else {
                    room.min(module / 2 - self.rules.joint)
                }
            }
        };
        Ok(MeasuredLintel {
            kind: lintel.kind,
            span: (
                span.0 - bearing(span.0 - low.0, low.1),
                span.1 + bearing(high.0 - span.1, high.1),
            ),
            bar: lintel.bar,
            courses,
        })
    }

    /// Middles of so many things spread evenly along the clear length of a leg.
    fn spread(&self, leg: usize, count: u32) -> Result<Vec<i64>, PlanError> {
        let (low, high) = self.strip(leg)?.clear();
        let count = i64::from(count);
        Ok((0..count)
            .map(|index| low + (high - low) * (2 * index + 1) / (2 * count))
            .collect())
    }

    /// Refuses what is asked for in the same place as an opening.
    fn check_free(
        &self,
        what: &str,
        leg: usize,
        course: u32,
        spans: &[(i64, i64)],
    ) -> Result<(), PlanError> {
        for opening in &self.openings {
            let Some(open) = opening.open_in(course).filter(|_| opening.leg == leg) else {
                continue;
            };
            if spans.iter().any(|span| span.0 < open.1 && span.1 > open.0) {
                return Err(PlanError::new(
                    "openings-overlap",
                    format!("{what} falls on \"{}\" in course {course}", opening.name),
                    "choose another course or side, or fewer of them",
                )
                .at_key("course"));
            }
        }
        Ok(())
    }

    fn fits_beside(&self, what: &str, leg: usize, count: u32, width: i64) -> Result<(), PlanError> {
        let (low, high) = self.strip(leg)?.clear();
        let least = i64::from(count).saturating_mul(width + self.rules.joint);
        if least > high - low {
            return Err(PlanError::new(
                "does-not-fit",
                format!(
                    "{what}: {count} of {} do not fit side by side in {}",
                    Length::from_nm(width),
                    Length::from_nm(high - low)
                ),
                "take fewer, or narrower ones",
            )
            .at_key("count"));
        }
        Ok(())
    }

    pub(super) fn measure_vents(&mut self) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        for vent in &part.vents {
            let Vent {
                name,
                side,
                course,
                count,
                width,
            } = vent;
            self.course_in_leg(*course, name, leg_of(*side, self.sides))?;
            if *count == 0 || !width.is_positive() {
                return Err(PlanError::new(
                    "size-not-positive",
                    format!("{name}: {count} vents of {width} cannot be built"),
                    "write at least one vent, and a width above zero",
                )
                .at_key("count"));
            }
            let leg = leg_of(*side, self.sides);
            let quoted = format!("\"{name}\"");
            self.fits_beside(&quoted, leg, *count, width.nm())?;
            let middles = self.spread(leg, *count)?;
            let spans: Vec<(i64, i64)> = middles
                .iter()
                .map(|middle| (middle - width.nm() / 2, middle + width.nm() / 2))
                .collect();
            self.check_free(&quoted, leg, *course, &spans)?;
            if self
                .vents
                .iter()
                .any(|other| other.leg == leg && other.course == *course)
            {
                return Err(PlanError::new(
                    "openings-overlap",
                    format!("there are already vents in course {course} of that side"),
                    "give one row with a larger count, or another course",
                )
                .at_key("course"));
            }
            self.vents.push(MeasuredVent {
                name: name.clone(),
                side: *side,
                leg,
                course: *course,
                width: width.nm(),
                middles,
            });
        }
        Ok(())
    }

    pub(super) fn measure_ledges(&mut self, module: i64) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        for ledge in &part.ledges {
            let Ledge {
                course,
                sides,
                count,
                project,
                notch,
            } = ledge;
            self.course_in_part(*course, "the ledge")?;
            let project = self.projection(*project, module);
            self.check_ledge(*course, sides, *count, project, *notch)?;
            for side in sides {
                let leg = side.index();
                let middles = self.spread(leg, *count)?;
                let half = self.unit_width.nm() / 2;
                let spans: Vec<(i64, i64)> = middles.iter().map(|m| (m - half, m + half)).collect();
                self.check_free("the ledge", leg, *course, &spans)?;
                if self
                    .ledges
                    .iter()
                    .any(|other| other.leg == leg && other.course == *course)
                {
                    return Err(PlanError::new(
                        "openings-overlap",
                        format!(
                            "there is already a ledge in course {course} on the {} side",
                            side.word()
                        ),
                        "give one ledge with a larger count, or another course",
                    )
                    .at_key("course"));
                }
                self.ledges.push(MeasuredLedge {
                    leg,
                    course: *course,
                    project,
                    notch: *notch,
                    middles,
                });
            }
        }
        Ok(())
    }

    /// How far headers project. A count that misses what a whole unit gives by a joint or less means a whole unit.
    fn projection(&self, project: Size, module: i64) -> i64 {
        match project {
            Size::Length(length) => length.nm(),
            Size::HalfUnits(halves) => {
                let asked = halves * module / 2;
                let whole = self.rules.unit - self.unit_width.nm();
                if (asked - whole).abs() <= self.rules.joint {
                    whole
                } else {
                    asked
                }
            }
        }
    }

    fn check_ledge(
        &self,
        course: u32,
        sides: &[Side],
        count: u32,
        project: i64,
        notch: Option<Notch>,
    ) -> Result<(), PlanError> {
        if sides.is_empty() || count == 0 || project <= 0 {
            return Err(PlanError::new(
                "size-not-positive",
                "a ledge needs a side, at least one header, and a projection above zero",
                "write sides: [\"left\", \"right\"], count: 2, project: 0.5",
            ));
        }
        let most = self.rules.unit - self.unit_width.nm();
        if project > most {
            return Err(PlanError::new(
                "header-too-short",
                format!(
                    "a header that is flush outside projects at most {}, not {}",
                    Length::from_nm(most),
                    Length::from_nm(project)
                ),
                "let it project less, or carry the rack on steel",
            )
            .at_key("project"));
        }
        if let Some(notch) = notch {
            let bad = !notch.along.is_positive()
                || !notch.deep.is_positive()
                || notch.along.nm() > project
                || notch.deep.nm() * 2 > self.heights.unit_of(course).nm();
            if bad {
                return Err(PlanError::new(
                    "notch-too-large",
                    format!(
                        "a notch {} back and {} deep weakens the header",
                        notch.along, notch.deep
                    ),
                    "keep it within the projection and half the unit's height",
                )
                .at_key("notch"));
            }
        }
        let Some(inside) = self.inside else {
            return Ok(());
        };
        for (one, other, clear) in [
            (Side::Left, Side::Right, inside.length),
            (Side::Front, Side::Back, inside.width),
        ] {
            let facing = i64::from(sides.contains(&one)) + i64::from(sides.contains(&other));
            if facing * project >= clear.nm() {
                return Err(PlanError::new(
                    "ledge-wider-than-chamber",
                    format!(
                        "the ledge in course {course} takes {} of {clear} inside",
                        Length::from_nm(facing * project)
                    ),
                    "let it project less, or make the chamber wider",
                )
                .at_key("project"));
            }
        }
        for side in sides {
            self.fits_beside("the ledge", side.index(), count, self.unit_width.nm())?;
        }
        Ok(())
    }
}
