//! Openings and vents in rings and curved walls.
//!
//! Jambs are brought to half units of the round, so that every other course ends with whole units and those between with
//! half ones, and joints stay where they are in the courses that nothing interrupts. What is open in one course only is
//! brought to the joints of that course: then nothing is cut.

use std::sync::Arc;

use super::MeasuredPart;
use super::lining::open_courses;
use crate::layout::laid::{Snapped, VoidKind};
use crate::layout::pierced::{Bend, Hole};
use crate::plan::{Opening, PlanError, Size, Snap};

/// An opening takes at most one part in this many of a ring: beyond that nothing goes round any more. Our own choice.
const LARGEST_SHARE: i64 = 2;

impl MeasuredPart {
    /// Finds where openings and vents lie in round work.
    pub(super) fn measure_holes(&mut self) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        let Some(bend) = self.round.as_ref().map(|round| round.bend) else {
            return Ok(());
        };
        let mut holes: Vec<Hole> = Vec::new();
        for opening in &part.openings {
            self.course_in_part(opening.to_course, &opening.name)
                .map_err(|error| error.at_key("courses"))?;
            let span = self.opening_in_round(&bend, opening)?;
            let hole = Hole {
                name: opening.name.clone(),
                kind: VoidKind::Opening,
                side: opening.side,
                span: bend.first_time(span),
                courses: (opening.from_course, opening.to_course),
            };
            check_hole(&bend, &hole, &holes, "width")?;
            holes.push(hole);
        }
        for vent in &part.vents {
            self.course_in_part(vent.course, &vent.name)?;
            if vent.count == 0 || !vent.width.is_positive() {
                return Err(PlanError::new(
                    "size-not-positive",
                    format!(
                        "{}: {} vents of {} cannot be built",
                        vent.name, vent.count, vent.width
                    ),
                    "write at least one vent, and a width above zero",
                )
                .at_key("count"));
            }
            let width = bend.unrolled(vent.width);
            let count = i64::from(vent.count);
            if count.saturating_mul(width + bend.joints.0) > bend.long {
                return Err(PlanError::new(
                    "does-not-fit",
                    format!(
                        "\"{}\": {count} of {} do not fit side by side in the wall",
                        vent.name, vent.width
                    ),
                    "take fewer, or narrower ones",
                )
                .at_key("count"));
            }
            let start = bend.side(vent.side);
            for turn in 0..count {
                // All round a ring; within the ends of a curved wall.
                let middle = if bend.closed {
                    start + bend.long * turn / count
                } else {
                    bend.long * (2 * turn + 1) / (2 * count)
                };
                let hole = Hole {
                    name: vent.name.clone(),
                    kind: VoidKind::Vent,
                    side: vent.side,
                    span: bend.first_time(vent_span(&bend, vent.course, middle, width)),
                    courses: (vent.course, vent.course),
                };
                check_hole(&bend, &hole, &holes, "count")?;
                holes.push(hole);
            }
        }
        if let Some(round) = &mut self.round {
            round.holes = holes;
        }
        Ok(())
    }

    /// Opens a lining where its ring is open: flush with the jambs, over the whole courses that are met.
    pub(super) fn pierce_as(&mut self, host: &MeasuredPart) -> Result<(), PlanError> {
        let (Some(outer), Some(bend)) = (&host.round, self.round.as_ref().map(|round| round.bend))
        else {
            return Ok(());
        };
        let mut holes: Vec<Hole> = Vec::new();
        for hole in &outer.holes {
            let bottom = host.heights.top_of(hole.courses.0 - 1);
            let head = host.heights.top_of(hole.courses.1);
            let Some(courses) = open_courses(&self.heights, bottom, head) else {
                continue;
            };
            let jambs = (hole.span.0, hole.span.1);
            let from = bend.place(outer.bend.angle(jambs.0));
            let long = bend.long_of(outer.bend.turn(jambs.1 - jambs.0));
            let through = Hole {
                span: bend.first_time((from, from + long)),
                courses,
                ..hole.clone()
            };
            check_hole(&bend, &through, &holes, "lining").map_err(|error| PlanError {
                remedy: "take fewer or narrower ones, or line the ring with narrower units (laid: \"rowlock\")".to_owned(),
                key: None,
                ..error
            })?;
            holes.push(through);
        }
        if let Some(round) = &mut self.round {
            round.holes = holes;
        }
        Ok(())
    }

    /// The jambs of an opening, and what its width and place became.
    fn opening_in_round(
        &mut self,
        bend: &Bend,
        opening: &Opening,
    ) -> Result<(i64, i64), PlanError> {
        let snap = self.part.snap;
        let (module, joint) = (bend.module(), bend.joints.0);
        let width = match opening.width {
            Size::HalfUnits(halves) => halves * module / 2 + joint,
            Size::Length(asked) => {
                // Nothing straight across is wider than the round itself.
                if asked.nm() as f64 >= 2.0 * bend.faces.0 {
                    return Err(too_wide(&opening.name));
                }
                let long = bend.unrolled(asked);
                let over = (long - joint) * 2;
                let halves = match snap {
                    Snap::Nearest => (over + module / 2).div_euclid(module),
                    Snap::Up => -(-over).div_euclid(module),
                    Snap::Down => over.div_euclid(module),
                    Snap::Exact => 0,
                };
                let became = if snap == Snap::Exact {
                    long
                } else {
                    halves.max(1) * module / 2 + joint
                };
                self.snapped.push(Snapped {
                    what: format!("width of \"{}\" inside", opening.name),
                    asked,
                    became: bend.across(became),
                    count: (became - joint) as f64 / module as f64,
                });
                became
            }
        };
        if bend.closed && width * LARGEST_SHARE > bend.long {
            return Err(too_wide(&opening.name));
        }
        let from = match opening.at {
            None if bend.closed => bend.side(opening.side) - width / 2,
            None => (bend.long - width) / 2,
            Some(Size::HalfUnits(halves)) if bend.closed => {
                bend.side(opening.side) + halves * module / 2
            }
            Some(Size::HalfUnits(halves)) => halves * module / 2 - joint,
            Some(Size::Length(along)) => bend.side(opening.side) + bend.unrolled_outer(along),
        };
        let set = if snap == Snap::Exact {
            from
        } else {
            on_raster(bend, (opening.from_course, opening.to_course), from, width)
        };
        if set != from
            && let Some(Size::Length(asked)) = opening.at
        {
            self.snapped.push(Snapped {
                what: format!("place of \"{}\" round the outer face", opening.name),
                asked,
                became: asked + bend.round_outer(set - from),
                count: (set - bend.side(opening.side)) as f64 / module as f64,
            });
        }
        Ok((set, set + width))
    }
}

/// The jamb nearest to a place at which units of the open courses end whole or half.
fn on_raster(bend: &Bend, (from_course, to_course): (u32, u32), from: i64, width: i64) -> i64 {
    let (module, joint) = (bend.module(), bend.joints.0);
    let halves = (width - joint) * 2 / module.max(1);
    let one_course = from_course == to_course && halves % 2 == 0;
    // Whole steps are counted, so that what rounds off a half unit does not add up.
    let nearest = |first: i64, steps: i64| {
        let over = (from + joint / 2 - first) * steps;
        let step = (over + module / 2).div_euclid(module);
        first + step * module / steps - joint / 2
    };
    if one_course {
        nearest(bend.raster(from_course), 1)
    } else {
        nearest(bend.raster(1), 2)
    }
}

/// A vent beside the unit whose side is nearest to where it leaves its middle nearest to where it is wanted.
fn vent_span(bend: &Bend, course: u32, middle: i64, width: i64) -> (i64, i64) {
    let (module, half) = (bend.module().max(1), bend.joints.0 / 2);
    let raster = bend.raster(course);
    let near = |place: i64| {
        let step = (place - raster + module / 2).div_euclid(module);
        raster + step * module
    };
    let wanted = middle - width / 2;
    let after = near(wanted + half) - half;
    let before = near(wanted + width - half) + half - width;
    let off = |from: i64| (from - wanted).abs();
    let from = if off(after) <= off(before) {
        after
    } else {
        before
    };
    (from, from + width)
}

fn too_wide(name: &str) -> PlanError {
    PlanError::new(
        "opening-wider-than-round",
        format!("\"{name}\" takes more than half of the round"),
        "make it narrower, or build curved walls that end at its jambs",
    )
    .at_key("width")
}

/// Refuses a hole without room for half a unit beside it.
fn check_hole(
    bend: &Bend,
    hole: &Hole,
    others: &[Hole],
    key: &'static str,
) -> Result<(), PlanError> {
    let least = bend.module() / 2 - bend.joints.0 - 1;
    let outside = !bend.closed && (hole.span.0 < least || hole.span.1 > bend.long - least);
    if outside {
        return Err(PlanError::new(
            "opening-outside-wall",
            format!(
                "\"{}\" leaves less than half a unit before the end of its wall",
                hole.name
            ),
            "make it narrower, change `at`, or make the wall longer",
        )
        .at_key(key));
    }
    let shares = |other: &&Hole| {
        let (low, high) = (other.courses.0, other.courses.1);
        if hole.courses.0 > high || hole.courses.1 < low {
            return false;
        }
        let away = |turns: i64| {
            let by = turns * bend.long;
            let (from, to) = (other.span.0 + by, other.span.1 + by);
            hole.span.0 < to + least && hole.span.1 + least > from
        };
        if bend.closed {
            (-2..=2).any(away)
        } else {
            away(0)
        }
    };
    match others.iter().find(shares) {
        None => Ok(()),
        Some(other) if other.name == hole.name => Err(PlanError::new(
            "does-not-fit",
            format!(
                "so many of \"{}\" leave less than half a unit between them",
                hole.name
            ),
            "take fewer, or narrower ones",
        )
        .at_key(key)),
        Some(other) => Err(PlanError::new(
            "openings-overlap",
            format!(
                "\"{}\" and \"{}\" overlap, or leave less than half a unit between them",
                hole.name, other.name
            ),
            "move one of them, choose other courses, or narrow it",
        )
        .at_key(key)),
    }
}
