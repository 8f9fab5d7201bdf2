//! A duct, opening or ledge brought onto the gauge of its courses: every way of doing it, each priced by laying the
//! plan anew.
//!
//! In: a plan, what in it has to come level and at what height. Out: ways, best first, each with its changes, the plan
//! with them made, what is then off, and the cuts, units, breaches and findings that it adds. Nothing is estimated.

use std::sync::Arc;

use crate::layout::{Cut, Laid, LaidPart, lay};
use crate::masonry::{FIRST_BED, Joint, THINNEST_SPLIT};
use crate::plan::{Coursing, LintelKind, Part, Plan, PlanError};
use crate::quantity::Length;
use crate::review::{Review, Severity};
use crate::takeoff::Takeoff;

/// A height asked for is met within 3 mm: 1/8 in, the tolerance of a bed, TMS 602.
pub const LEVEL_WITHIN: Length = Length::mm(3);
/// A duct is tried on so many courses higher or lower: further off it is another design. Our own choice.
const COURSES_MOVED: i64 = 3;
/// A pipe is packed up by less than one course; the course under it is not cut. Our own choice.
const PACKED_LESS_THAN: i64 = 1;

/// What has to come level.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LevelItem {
    /// A duct, by name.
    Duct(String),
    /// An opening.
    Opening {
        /// Its part.
        part: String,
        /// Its name.
        name: String,
    },
    /// A ledge.
    Ledge {
        /// Its part.
        part: String,
        /// Its course.
        course: u32,
    },
}

/// Which of its heights is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevelOf {
    /// The top of a pipe.
    Crown,
    /// Its lowest point.
    Invert,
    /// The top of an opening: the underside of its lintel, or the springing of its arch.
    Head,
    /// The bottom of an opening.
    Sill,
    /// The top of a ledge's headers.
    Top,
}

impl LevelOf {
    /// The words for them.
    pub const WORDS: &'static [&'static str] = &["crown", "invert", "head", "sill", "top"];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            LevelOf::Crown => "crown",
            LevelOf::Invert => "invert",
            LevelOf::Head => "head",
            LevelOf::Sill => "sill",
            LevelOf::Top => "top",
        }
    }
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LevelTask {
    /// What has to come level.
    pub item: LevelItem,
    /// Which of its heights.
    pub of: LevelOf,
    /// How high above the slab; for a pipe's crown it may be left out: then the course over it has to lie level.
    pub height: Option<Length>,
}

/// One change that brings something level.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LevelChange {
    /// The beds under some courses of a part.
    Beds {
        /// The part.
        part: String,
        /// Lowest and highest course whose bed changes.
        courses: (u32, u32),
        /// About as they are.
        from: Length,
        /// Each bed as it would be, from the lowest course up.
        to: Vec<Length>,
    },
    /// The bed under course 1 alone, within what a first bed may be.
    FirstBed {
        /// The part.
        part: String,
        /// As it is.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// Courses of units split along their length.
    Split {
        /// The part.
        part: String,
        /// The courses.
        courses: Vec<u32>,
        /// How high their units are left.
        to: Length,
    },
    /// Another course for it.
    Course {
        /// As it is.
        from: u32,
        /// As it would be.
        to: u32,
    },
    /// Another pipe.
    Diameter {
        /// As it is.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// Another height of the pipe over the bed of its course.
    Raise {
        /// As it is.
        from: Length,
        /// As it would be.
        to: Length,
    },
}

impl LevelChange {
    /// In the order in which a mason prefers them.
    const fn rank(&self) -> u8 {
        match self {
            LevelChange::Raise { .. } => 0,
            LevelChange::Beds { .. } => 1,
            LevelChange::FirstBed { .. } => 2,
            LevelChange::Course { .. } => 3,
            LevelChange::Diameter { .. } => 4,
            LevelChange::Split { .. } => 5,
        }
    }
}

/// A height as it comes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LevelReading {
    /// Above the slab.
    pub height: Length,
    /// Off the height asked for; for a crown without one, the bed over it less the usual bed.
    pub off: Length,
    /// Whether that is within tolerance.
    pub meets: bool,
}

/// A way of coming level, priced.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelWays {
    /// As it is.
    pub now: LevelReading,
    /// The ways, best first; none where it is level already.
    pub ways: Vec<PricedWay>,
    /// Ways that were tried and cannot be laid.
    pub refused: usize,
}

/// A way of coming level with its price.
#[derive(Clone, Debug, PartialEq)]
pub struct PricedWay {
    /// What it changes.
    pub changes: Vec<LevelChange>,
    /// The plan with the changes made.
    pub plan: Arc<Plan>,
    /// What it comes to.
    pub reading: LevelReading,
    /// More pieces cut, negative for fewer.
    pub more_cuts: i64,
    /// More of them cut to a length of their own.
    pub more_odd: i64,
    /// More whole units needed, waste left out.
    pub more_units: i64,
    /// More limits of laying that are not kept.
    pub more_breaches: i64,
    /// More findings of a review that stop or warn.
    pub more_findings: i64,
    /// How much higher the highest point comes.
    pub higher: Length,
}

/// Finds the ways.
///
/// # Errors
/// When there is no such thing in the plan, its height is not given, or the plan cannot be laid as it is.
pub fn level_ways(plan: &Arc<Plan>, task: &LevelTask) -> Result<LevelWays, PlanError> {
    let laid = lay(plan)?;
    let now = read(&laid, task)?;
    let mut found = LevelWays {
        now,
        ways: Vec::new(),
        refused: 0,
    };
    if now.off == Length::ZERO || (task.height.is_none() && now.meets) {
        return Ok(found);
    }
    let before = price(&laid)?;
    let mut tries = candidates(&laid, task);
    tries.retain(|changes| !changes.is_empty());
    let mut seen: Vec<Vec<LevelChange>> = Vec::new();
    for changes in tries {
        if seen.contains(&changes) {
            continue;
        }
        seen.push(changes.clone());
        let Some(altered) = applied(plan, task, &changes).map(Arc::new) else {
            continue;
        };
        let moved = moved(task, &changes);
        let Some((again, reading)) = lay(&altered)
            .ok()
            .and_then(|again| read(&again, &moved).ok().map(|reading| (again, reading)))
        else {
            found.refused += 1;
            continue;
        };
        // Moved along an even gauge, a crown stays as far off.
        if task.height.is_none() && !reading.meets && reading.off >= now.off {
            continue;
        }
        let after = price(&again)?;
        found.ways.push(PricedWay {
            changes,
            plan: altered,
            reading,
            more_cuts: after.cuts - before.cuts,
            more_odd: after.odd - before.odd,
            more_units: after.units - before.units,
            more_breaches: after.breaches - before.breaches,
            more_findings: after.findings - before.findings,
            higher: again.height() - laid.height(),
        });
    }
    found.ways.sort_by_key(|way| {
        (
            !way.reading.meets,
            // What a way happens to mend elsewhere is no reason to cut a course for it.
            way.more_breaches.max(0),
            way.more_findings.max(0),
            way.packs(),
            way.more_cuts + way.more_odd,
            way.more_units,
            way.reading.off.abs(),
            way.changes.iter().map(LevelChange::rank).max(),
            way.changes.len(),
        )
    });
    Ok(found)
}

impl PricedWay {
    /// Whether a pipe lies on more than a bed takes, so that slips of tile or slate have to be packed under it.
    fn packs(&self) -> bool {
        self.changes
            .iter()
            .any(|change| matches!(change, LevelChange::Raise { to, .. } if *to > LEVEL_WITHIN))
    }
}

struct Price {
    cuts: i64,
    odd: i64,
    units: i64,
    breaches: i64,
    findings: i64,
}

fn price(laid: &Laid) -> Result<Price, PlanError> {
    let takeoff = Takeoff::of(laid)
        .map_err(|error| PlanError::new("material-unknown", error.message, error.remedy))?;
    let review = Review::of(laid, &takeoff);
    let (mut cuts, mut odd) = (0, 0);
    for piece in &laid.pieces {
        // A bite for a pipe is a cut like any other, and no two are alike.
        let shaped = laid
            .shaping(piece)
            .is_some_and(|shaping| shaping.word().is_some());
        cuts += i64::from(shaped || piece.cut != Cut::Whole);
        odd += i64::from(shaped || piece.cut == Cut::Odd);
    }
    Ok(Price {
        cuts,
        odd,
        units: takeoff.units.net as i64,
        breaches: laid.breaches.len() as i64,
        findings: (review.count(Severity::Stop) + review.count(Severity::Warn)) as i64,
    })
}

fn missing(what: &str, names: &[&str]) -> PlanError {
    let remedy = if names.is_empty() {
        "add it first".to_owned()
    } else {
        format!("there are: {}", names.join(", "))
    };
    PlanError::new("nothing-to-level", format!("there is no {what}"), remedy)
}

/// Reads the height asked about off laid work.
fn read(laid: &Laid, task: &LevelTask) -> Result<LevelReading, PlanError> {
    let wanted = |height: Length| match task.height {
        Some(wanted) => Ok(LevelReading {
            height,
            off: height - wanted,
            meets: (height - wanted).abs() <= LEVEL_WITHIN,
        }),
        None => Err(PlanError::new(
            "height-missing",
            format!("how high the {} has to be is not said", task.of.word()),
            "add height: 450.mm, measured from the top of the slab",
        )),
    };
    if let LevelItem::Duct(name) = &task.item {
        let duct = laid.ducts.iter().find(|duct| duct.name == *name);
        let duct = duct.ok_or_else(|| {
            let names: Vec<&str> = laid.ducts.iter().map(|duct| duct.name.as_str()).collect();
            missing(&format!("duct \"{name}\""), &names)
        })?;
        return match (task.of, task.height) {
            (LevelOf::Crown, None) => {
                let worst = crowns(laid, name).into_iter().max_by_key(|crown| crown.gap);
                let worst = worst.ok_or_else(|| {
                    PlanError::new(
                        "nothing-to-level",
                        format!("no course lies over the duct \"{name}\""),
                        "lay it on a lower course, or build the part higher",
                    )
                })?;
                Ok(LevelReading {
                    height: duct.heights.1,
                    off: worst.gap - worst.bed.nominal,
                    meets: worst.gap <= worst.bed.longest,
                })
            }
            (LevelOf::Crown, Some(_)) => wanted(duct.heights.1),
            _ => wanted(duct.heights.0),
        };
    }
    let spot = spot(laid, task)?;
    wanted(spot.base + spot.level(spot.course))
}

/// A level that follows from a course of a part.
struct Spot<'a> {
    part: &'a LaidPart,
    base: Length,
    /// The course that it goes with.
    course: u32,
    /// Whether it is the underside of that course's units instead of their top, and how much over it.
    under: Option<Length>,
    /// Whether it lies above the units of the course over it: the bed of one course more counts.
    over_bed: bool,
}

impl Spot<'_> {
    /// Its height above the part's base, if it went with a course.
    fn level(&self, course: u32) -> Length {
        let heights = &self.part.heights;
        match self.under {
            Some(raise) => heights.bottom_of(course) + raise,
            None if self.over_bed && course < self.part.courses => heights.bottom_of(course + 1),
            None => heights.top_of(course),
        }
    }

    /// The highest course whose bed lies under the level.
    fn last_bed(&self, course: u32) -> u32 {
        if self.over_bed && course < self.part.courses {
            course + 1
        } else {
            course
        }
    }
}

fn spot<'a>(laid: &'a Laid, task: &LevelTask) -> Result<Spot<'a>, PlanError> {
    let part_of = |name: &str| {
        let found = laid.parts.iter().find(|part| part.name == name);
        found.ok_or_else(|| missing(&format!("part \"{name}\""), &[]))
    };
    let at = |part: &'a LaidPart, course, over_bed| Spot {
        part,
        base: part.outside.heights().0,
        course,
        under: None,
        over_bed,
    };
    match &task.item {
        LevelItem::Duct(name) => {
            let duct = laid.ducts.iter().find(|duct| duct.name == *name);
            let asked = laid.plan.ducts.iter().find(|duct| duct.name == *name);
            let found = duct.and_then(|duct| laid.parts.get(duct.from)).zip(asked);
            let (part, asked) = found.ok_or_else(|| missing(&format!("duct \"{name}\""), &[]))?;
            Ok(Spot {
                under: Some(asked.raise),
                ..at(part, asked.course, false)
            })
        }
        LevelItem::Opening { part, name } => {
            let laid_part = part_of(part)?;
            let asked = laid.plan.part_named(part)?;
            let opening = asked.part.openings.iter().find(|o| o.name == *name);
            let opening = opening.ok_or_else(|| {
                let openings = asked.part.openings.iter();
                let names: Vec<&str> = openings.map(|opening| opening.name.as_str()).collect();
                missing(&format!("opening \"{name}\" in \"{part}\""), &names)
            })?;
            Ok(if task.of == LevelOf::Sill {
                at(laid_part, opening.from_course - 1, false)
            } else {
                // A stone lies on the bed over the last open course; a bar and an arch start at its units' top.
                let bar = opening.lintel.is_some_and(|l| l.kind == LintelKind::Steel);
                let over_bed = !bar && opening.arch.is_none();
                at(laid_part, opening.to_course, over_bed)
            })
        }
        LevelItem::Ledge { part, course } => {
            let laid_part = part_of(part)?;
            let asked = laid.plan.part_named(part)?;
            if !asked.part.ledges.iter().any(|l| l.course == *course) {
                return Err(missing(
                    &format!("ledge in course {course} of \"{part}\""),
                    &[],
                ));
            }
            Ok(at(laid_part, *course, false))
        }
    }
}

/// The course over a pipe in one of its walls.
struct Crown<'a> {
    part: &'a LaidPart,
    /// The lowest course beside the pipe, and the course over it.
    courses: (u32, u32),
    /// From the crown to the underside of the course over it.
    gap: Length,
    bed: Joint,
}

fn crowns<'a>(laid: &'a Laid, name: &str) -> Vec<Crown<'a>> {
    let Some(duct) = laid.ducts.iter().find(|duct| duct.name == name) else {
        return Vec::new();
    };
    let walls = [Some(duct.from), duct.to].into_iter().flatten();
    walls
        .filter_map(|wall| {
            let part = laid.parts.get(wall)?;
            let bed = part.setting.joints.bed;
            let base = part.outside.heights().0;
            let (invert, crown) = (duct.heights.0 - base, duct.heights.1 - base);
            let starts = |course: u32| part.heights.bottom_of(course);
            let lowest = (1..=part.courses).min_by_key(|&c| (starts(c) - invert).abs())?;
            let over = (1..=part.courses).find(|&c| starts(c) - crown >= bed.shortest)?;
            Some(Crown {
                part,
                courses: (lowest, over),
                gap: starts(over) - crown,
                bed,
            })
        })
        .collect()
}

/// Sets of changes worth laying.
fn candidates(laid: &Laid, task: &LevelTask) -> Vec<Vec<LevelChange>> {
    match (&task.item, task.height) {
        (LevelItem::Duct(name), None) => crown_candidates(laid, name),
        (_, Some(height)) => spot_candidates(laid, task, height),
        (_, None) => Vec::new(),
    }
}

fn spot_candidates(laid: &Laid, task: &LevelTask, height: Length) -> Vec<Vec<LevelChange>> {
    let Ok(spot) = spot(laid, task) else {
        return Vec::new();
    };
    // A crown at a height is an invert as much lower as the pipe is thick.
    let asked = match &task.item {
        LevelItem::Duct(name) => laid.plan.ducts.iter().find(|duct| duct.name == *name),
        _ => None,
    };
    let diameter = match (task.of, asked) {
        (LevelOf::Crown, Some(duct)) => duct.diameter,
        _ => Length::ZERO,
    };
    let wanted = height - spot.base - diameter;
    let bed = spot.part.setting.joints.bed;
    let least = u32::from(task.of != LevelOf::Sill);
    let all = least..=spot.part.courses;
    let below = all
        .clone()
        .take_while(|&course| spot.level(course) <= wanted)
        .last();
    let above = all.clone().find(|&course| spot.level(course) > wanted);
    let mut courses = vec![spot.course];
    courses.extend(below.into_iter().chain(above));
    courses.dedup();
    let mut found = Vec::new();
    for course in courses {
        let moving: Vec<LevelChange> = (course != spot.course)
            .then_some(LevelChange::Course {
                from: spot.course,
                to: course,
            })
            .into_iter()
            .collect();
        let by = wanted - spot.level(course);
        found.push(moving.clone());
        if by == Length::ZERO {
            continue;
        }
        let beside = match spot.under {
            Some(_) => course.saturating_sub(1),
            None => course,
        };
        let beds = (1, spot.last_bed(course));
        let ways = bring(spot.part, beds, (1, beside), by, bed);
        let raise = asked.and_then(|duct| {
            let to = duct.raise + by;
            let most = (spot.part.heights.unit_of(course) + bed.nominal) * PACKED_LESS_THAN;
            let fits = !to.is_negative() && to < most;
            fits.then_some(LevelChange::Raise {
                from: duct.raise,
                to,
            })
        });
        for way in ways.into_iter().chain(raise) {
            found.push(moving.iter().cloned().chain([way]).collect());
        }
    }
    found
}

fn crown_candidates(laid: &Laid, name: &str) -> Vec<Vec<LevelChange>> {
    let Some(asked) = laid.plan.ducts.iter().find(|duct| duct.name == name) else {
        return Vec::new();
    };
    let off: Vec<Crown<'_>> = crowns(laid, name)
        .into_iter()
        .filter(|crown| crown.gap > crown.bed.longest)
        .collect();
    let Some(first) = off.first() else {
        return Vec::new();
    };
    let mut found = Vec::new();
    // The course over the pipe comes down to it, or the one under that goes up over it.
    let down = first.gap - first.bed.nominal;
    let course =
        first.part.heights.unit_of(first.courses.1) + first.part.heights.bed_under(first.courses.1);
    let up = course - down;
    for (to, raise) in [
        (asked.diameter + down, asked.raise + down),
        (asked.diameter - up, asked.raise - up),
    ] {
        if to.is_positive() {
            found.push(vec![LevelChange::Diameter {
                from: asked.diameter,
                to,
            }]);
        }
        if !raise.is_negative() && raise < course * PACKED_LESS_THAN {
            found.push(vec![LevelChange::Raise {
                from: asked.raise,
                to: raise,
            }]);
        }
    }
    for by in (-COURSES_MOVED..=COURSES_MOVED).filter(|by| *by != 0) {
        if let Ok(to) = u32::try_from(i64::from(asked.course) + by)
            && to > 0
        {
            found.push(vec![LevelChange::Course {
                from: asked.course,
                to,
            }]);
        }
    }
    // Beds and split courses beside the pipe, the same way in every wall whose course lies off.
    let per_wall: Vec<Vec<LevelChange>> = off
        .iter()
        .map(|crown| {
            let (lowest, over) = crown.courses;
            let heights = &crown.part.heights;
            let course = heights.unit_of(over) + heights.bed_under(over);
            let down = crown.gap - crown.bed.nominal;
            let mut ways = bring(
                crown.part,
                (lowest + 1, over),
                (lowest, over - 1),
                -down,
                crown.bed,
            );
            if over > lowest + 1 {
                ways.extend(bring(
                    crown.part,
                    (lowest + 1, over - 1),
                    (lowest, over - 1),
                    course - down,
                    crown.bed,
                ));
            }
            ways
        })
        .collect();
    if let Some((first, others)) = per_wall.split_first() {
        let kind = std::mem::discriminant::<LevelChange>;
        for (index, way) in first.iter().enumerate() {
            let before = first.iter().take(index);
            let nth = before.filter(|other| kind(other) == kind(way)).count();
            let alike = others.iter().map(|ways| {
                let same = ways.iter().filter(|other| kind(other) == kind(way));
                same.take(nth + 1).last()
            });
            let alike: Option<Vec<&LevelChange>> = alike.collect();
            if let Some(alike) = alike {
                found.push([way].into_iter().chain(alike).cloned().collect());
            }
        }
    }
    found
}

/// Ways of moving a level by changing beds and courses of a part: the beds under courses `low` to `last` lie under it,
/// and so do the units of courses `lowest` to `highest`.
fn bring(
    part: &LaidPart,
    (low, last): (u32, u32),
    (lowest, highest): (u32, u32),
    by: Length,
    bed: Joint,
) -> Vec<LevelChange> {
    let heights = &part.heights;
    let mut found = Vec::new();
    if low > last {
        return found;
    }
    let most = i64::from(last - low + 1);
    let fits = |count: i64| {
        let count_courses = u32::try_from(count).unwrap_or(0);
        let from = last + 1 - count_courses;
        let (each, rest) = (by.nm().div_euclid(count), by.nm().rem_euclid(count));
        let beds: Vec<Length> = (from..=last)
            .zip(0..)
            .map(|(course, index)| {
                let more = each + i64::from(index < rest);
                heights.bed_under(course) + Length::from_nm(more)
            })
            .collect();
        beds.iter()
            .all(|&one| bed.allows(one))
            .then(|| LevelChange::Beds {
                part: part.name.clone(),
                courses: (from, last),
                from: heights.bed_under(last),
                to: beds,
            })
    };
    let fewest = (1..=most).find_map(fits);
    let all = fits(most).filter(|all| fewest.as_ref() != Some(all));
    found.extend(fewest.into_iter().chain(all));
    if low == 1 && part.outside.heights().0 == Length::ZERO {
        let from = heights.bed_under(1);
        if (FIRST_BED.0..=FIRST_BED.1).contains(&(from + by)) {
            found.push(LevelChange::FirstBed {
                part: part.name.clone(),
                from,
                to: from + by,
            });
        }
    }
    if by.is_negative() {
        for first in [lowest, highest] {
            if first == 0 || first > highest || lowest > highest {
                continue;
            }
            let unit = heights.unit_of(first);
            for count in 1..=2_u32 {
                let to = Length::from_nm(unit.nm() + by.nm().div_euclid(i64::from(count)));
                let courses: Vec<u32> = if first == lowest {
                    (lowest..lowest + count).collect()
                } else {
                    (highest + 1 - count.min(highest)..=highest).collect()
                };
                let inside = courses.iter().all(|c| (lowest..=highest).contains(c));
                let alike = courses.iter().all(|&c| heights.unit_of(c) == unit);
                if inside && alike && to * THINNEST_SPLIT >= unit && to < unit {
                    found.push(LevelChange::Split {
                        part: part.name.clone(),
                        courses,
                        to,
                    });
                    break;
                }
            }
        }
    }
    found
}

/// The task after a change: a ledge is known by its course.
fn moved(task: &LevelTask, changes: &[LevelChange]) -> LevelTask {
    let mut task = task.clone();
    if let LevelItem::Ledge { course, .. } = &mut task.item {
        for change in changes {
            if let LevelChange::Course { to, .. } = change {
                *course = *to;
            }
        }
    }
    task
}

/// The plan with changes made; none where there is nothing to change.
fn applied(plan: &Plan, task: &LevelTask, changes: &[LevelChange]) -> Option<Plan> {
    let mut plan = plan.clone();
    for change in changes {
        match change {
            LevelChange::Beds {
                part, courses, to, ..
            } => {
                let coursing = &mut part_of(&mut plan, part)?.coursing;
                for (course, bed) in (courses.0..=courses.1).zip(to) {
                    set_bed(coursing, course, *bed);
                }
            }
            LevelChange::FirstBed { part, to, .. } => {
                set_bed(&mut part_of(&mut plan, part)?.coursing, 1, *to);
            }
            LevelChange::Split { part, courses, to } => {
                let coursing = &mut part_of(&mut plan, part)?.coursing;
                coursing
                    .split
                    .retain(|(course, _)| !courses.contains(course));
                coursing
                    .split
                    .extend(courses.iter().map(|&course| (course, *to)));
            }
            LevelChange::Course { to, .. } => move_to(&mut plan, task, *to)?,
            LevelChange::Diameter { to, .. } => duct_of(&mut plan, task)?.diameter = *to,
            LevelChange::Raise { to, .. } => duct_of(&mut plan, task)?.raise = *to,
        }
    }
    plan.checked().ok()
}

fn part_of<'a>(plan: &'a mut Plan, name: &str) -> Option<&'a mut Part> {
    plan.parts
        .get_mut(name)
        .map(|placed| Arc::make_mut(&mut placed.part))
}

fn duct_of<'a>(plan: &'a mut Plan, task: &LevelTask) -> Option<&'a mut crate::plan::Duct> {
    let LevelItem::Duct(name) = &task.item else {
        return None;
    };
    plan.ducts.iter_mut().find(|duct| duct.name == *name)
}

fn set_bed(coursing: &mut Coursing, course: u32, bed: Length) {
    coursing.under.retain(|(at, _)| *at != course);
    coursing.under.push((course, bed));
    coursing.under.sort_unstable_by_key(|(course, _)| *course);
}

fn move_to(plan: &mut Plan, task: &LevelTask, to: u32) -> Option<()> {
    match &task.item {
        LevelItem::Duct(_) => duct_of(plan, task)?.course = to,
        LevelItem::Opening { part, name } => {
            let openings = &mut part_of(plan, part)?.openings;
            let opening = openings.iter_mut().find(|o| o.name == *name)?;
            match task.of {
                LevelOf::Sill => opening.from_course = to + 1,
                _ => opening.to_course = to,
            }
            (opening.from_course <= opening.to_course).then_some(())?;
        }
        LevelItem::Ledge { part, course } => {
            let ledges = &mut part_of(plan, part)?.ledges;
            ledges.iter_mut().find(|l| l.course == *course)?.course = to;
        }
    }
    Some(())
}
