//! What would do away with the breaches of a part, found by laying it again with one thing changed at a time.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::laid::{BreachKind, Cut, Laid};
use super::lay::lay;
use super::measure::{MeasuredPart, measure};
use crate::masonry::Joint;
use crate::plan::{Measure, Part, Plan, PlanError, Shape, SideRef, Size, Vent};
use crate::quantity::Length;

/// Most changes that are tried for one part; the smallest come first. Our own choice.
pub const MOST_TRIES: usize = 200;
/// Pieces laid in all tries together, after which no more is tried: some seconds of work. Our own choice.
const MOST_PIECES_TRIED: usize = 2_000_000;
/// How many changes are kept for each breach. Our own choice.
const KEPT: usize = 3;
/// A size, place or course is tried up to so many steps off, both ways: further off it is another design. Our own
/// choice.
const STEPS: i64 = 2;
/// A vent's width is tried in steps of 1 cm, which a chisel and a rule can keep: common practice, no source.
const VENT_STEP: Length = Length::mm(10);
/// Head joints are tried in steps of 1 mm, the finest that can be laid by eye: common practice, no source.
const JOINT_STEP: Length = Length::mm(1);
/// No joint thinner than this is tried: common practice, no source.
const THINNEST: Length = Length::mm(8);
/// No joint thicker than this is tried: common practice, no source.
const THICKEST: Length = Length::mm(14);

/// One thing about a plan that was changed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Alteration {
    /// A size of the part.
    Size {
        /// What it is the size of.
        of: SizeOf,
        /// As it was.
        from: Size,
        /// As it would be.
        to: Size,
    },
    /// The width of an opening.
    OpeningWidth {
        /// The opening.
        name: String,
        /// As it was.
        from: Size,
        /// As it would be.
        to: Size,
    },
    /// The distance of an opening from the left end of its wall, seen from outside.
    OpeningPlace {
        /// The opening.
        name: String,
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// The course of a row of vents.
    VentCourse {
        /// Which row of the part, from 0.
        row: usize,
        /// Where it is.
        side: SideRef,
        /// As it was.
        from: u32,
        /// As it would be.
        to: u32,
    },
    /// The width of the vents of a row.
    VentWidth {
        /// Which row of the part, from 0.
        row: usize,
        /// Its course.
        course: u32,
        /// Where it is.
        side: SideRef,
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// The course of a ledge.
    LedgeCourse {
        /// Which ledge of the part, from 0.
        row: usize,
        /// As it was.
        from: u32,
        /// As it would be.
        to: u32,
    },
    /// The head joint of the whole plan; its range moves along.
    HeadJoint {
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
}

/// Which size of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SizeOf {
    /// Across, and how that is measured.
    Across(Measure),
    /// Deep, and how that is measured.
    Deep(Measure),
    /// A leg of a wall, from 0.
    Leg(usize),
}

/// Breaches of one kind in one course of the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Which limit.
    pub kind: BreachKind,
    /// The course.
    pub course: u32,
    /// In how many places.
    pub count: usize,
}

/// A change that does away with breaches and makes no new ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// What is changed.
    pub alteration: Alteration,
    /// The plan with the change made.
    pub plan: Arc<Plan>,
    /// The breaches of the part that are gone.
    pub removes: Vec<Broken>,
    /// Breaches that are left in the whole plan.
    pub left: usize,
    /// How many more pieces of the whole plan are cut; negative for fewer.
    pub more_cuts: i64,
    /// How many steps it is off.
    pub steps: i64,
    /// How much of the work it touches.
    pub reach: Reach,
}

/// How much of the work a change touches, least first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Reach {
    /// A course or two.
    Course,
    /// The courses beside an opening.
    Opening,
    /// The whole part.
    Part,
    /// The whole plan.
    Plan,
}

/// What was found for a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedies {
    /// Its breaches, by course.
    pub broken: Vec<Broken>,
    /// Changes, those first that do away with most, then those with fewest cuts, then those that touch
    /// least of the work, then the smallest.
    pub found: Vec<Remedy>,
    /// How many changes were tried.
    pub tried: usize,
    /// How many were left untried.
    pub untried: usize,
}

/// Breaches of a plan: how many by part, course and kind.
type Tally = BTreeMap<(usize, u32, &'static str), (BreachKind, usize)>;

/// Looks for changes that do away with the breaches of a part.
///
/// # Errors
/// When there is no such part, or the plan cannot be laid as it is.
pub fn remedies(plan: &Arc<Plan>, part: &str) -> Result<Remedies, PlanError> {
    plan.part_named(part)
        .map_err(|error| error.at_key("part"))?;
    let laid = lay(plan)?;
    let measured = measure(plan)?;
    let before = tally(&laid);
    let found = measured.parts.iter().position(|other| other.name == part);
    let Some((index, part)) = found.and_then(|at| Some((at, measured.parts.get(at)?))) else {
        return Ok(Remedies::none());
    };
    let broken: Vec<Broken> = before
        .iter()
        .filter(|((of, ..), _)| *of == index)
        .map(|(&(_, course, _), &(kind, count))| Broken {
            kind,
            course,
            count,
        })
        .collect();
    if broken.is_empty() {
        return Ok(Remedies::none());
    }
    let cuts = cut_pieces(&laid);
    let mut tries = alterations(plan, part);
    tries.sort_by_key(|(steps, _)| *steps);
    let mut all: Vec<Remedy> = Vec::new();
    let (mut tried, mut pieces) = (0, 0);
    let count = tries.len();
    for (steps, alteration) in tries {
        if tried == MOST_TRIES || pieces > MOST_PIECES_TRIED {
            break;
        }
        tried += 1;
        // What cannot be measured or laid is no remedy.
        let Some(altered) = alteration.applied(plan, &part.name).map(Arc::new) else {
            continue;
        };
        let Ok(again) = lay(&altered) else {
            continue;
        };
        pieces += again.pieces.len();
        let after = tally(&again);
        let worse = after
            .iter()
            .any(|(key, (_, count))| before.get(key).is_none_or(|(_, had)| count > had));
        let removes: Vec<Broken> = broken
            .iter()
            .copied()
            .filter(|gone| !after.contains_key(&(index, gone.course, gone.kind.code())))
            .collect();
        if !worse && !removes.is_empty() {
            all.push(Remedy {
                reach: alteration.reach(),
                alteration,
                plan: altered,
                removes,
                left: again.breaches.len(),
                more_cuts: cut_pieces(&again) - cuts,
                steps,
            });
        }
    }
    all.sort_by_key(|remedy| (remedy.more_cuts, remedy.reach, remedy.steps));
    // For each breach the best few; many do away with several.
    let mut uses: Vec<usize> = vec![0; broken.len()];
    all.retain(|remedy| {
        let mut wanted = false;
        for (gone, used) in broken.iter().zip(&mut uses) {
            if *used < KEPT && remedy.removes.contains(gone) {
                *used += 1;
                wanted = true;
            }
        }
        wanted
    });
    all.sort_by_key(|remedy| std::cmp::Reverse(remedy.removes.len()));
    Ok(Remedies {
        broken,
        found: all,
        tried,
        untried: count - tried,
    })
}

impl Remedies {
    fn none() -> Remedies {
        Remedies {
            broken: Vec::new(),
            found: Vec::new(),
            tried: 0,
            untried: 0,
        }
    }

    /// Breaches that no change found does away with.
    pub fn without(&self) -> impl Iterator<Item = &Broken> {
        self.broken.iter().filter(|broken| {
            !self
                .found
                .iter()
                .any(|remedy| remedy.removes.contains(broken))
        })
    }
}

fn tally(laid: &Laid) -> Tally {
    let mut tally = Tally::new();
    for breach in &laid.breaches {
        let key = (breach.part, breach.course, breach.kind.code());
        tally.entry(key).or_insert((breach.kind, 0)).1 += 1;
    }
    tally
}

fn cut_pieces(laid: &Laid) -> i64 {
    let cut = laid.pieces.iter().filter(|piece| piece.cut != Cut::Whole);
    cut.count() as i64
}

/// Every change that may be tried, with how many steps it is off.
fn alterations(plan: &Plan, part: &MeasuredPart) -> Vec<(i64, Alteration)> {
    let module = part.rules.unit + part.rules.joint;
    let half = |size: Size, by: i64| match size {
        Size::HalfUnits(halves) => Some(Size::HalfUnits(halves + by)).filter(|_| halves + by > 0),
        Size::Length(length) => Size::length(length + Length::from_nm(by * module / 2)).ok(),
    };
    let course = |course: u32, by: i64| {
        u32::try_from(i64::from(course) + by)
            .ok()
            .filter(|course| (1..=part.courses).contains(course))
    };
    let mut tries = Vec::new();
    for by in (-STEPS..=STEPS).filter(|by| *by != 0) {
        let mut add = |alteration: Option<Alteration>| {
            tries.extend(alteration.map(|alteration| (by.abs(), alteration)));
        };
        for (of, from) in sizes(&part.part) {
            add(half(from, by).map(|to| Alteration::Size { of, from, to }));
        }
        for opening in &part.part.openings {
            let (name, from) = (opening.name.clone(), opening.width);
            add(half(from, by).map(|to| Alteration::OpeningWidth { name, from, to }));
        }
        for opening in &part.openings {
            let Some(strip) = part.whole.get(opening.leg) else {
                continue;
            };
            let (low, high) = strip.span();
            let from = Length::from_nm(if strip.starts_low {
                opening.span.0 - low
            } else {
                high - opening.span.1
            });
            let to = from + Length::from_nm(by * module / 4);
            add(to.is_positive().then(|| Alteration::OpeningPlace {
                name: opening.name.clone(),
                from,
                to,
            }));
        }
        for (row, vent) in part.part.vents.iter().enumerate() {
            let side = vent.side;
            add(course(vent.course, by).map(|to| Alteration::VentCourse {
                row,
                side,
                from: vent.course,
                to,
            }));
            let to = vent.width + VENT_STEP * by;
            add(to.is_positive().then_some(Alteration::VentWidth {
                row,
                course: vent.course,
                side,
                from: vent.width,
                to,
            }));
        }
        for (row, ledge) in part.part.ledges.iter().enumerate() {
            add(course(ledge.course, by).map(|to| Alteration::LedgeCourse {
                row,
                from: ledge.course,
                to,
            }));
        }
    }
    // Joints that a part has of its own do not follow the plan's.
    let own = &part.part.own;
    if own.unit.is_some() || own.joint.is_some() {
        return tries;
    }
    let from = plan.setting.joints.head.nominal;
    let range = THINNEST..=THICKEST;
    let most = (THICKEST - THINNEST).nm() / JOINT_STEP.nm();
    if range.contains(&from) {
        for by in (-most..=most).filter(|by| *by != 0) {
            let to = from + JOINT_STEP * by;
            if range.contains(&to) {
                tries.push((by.abs(), Alteration::HeadJoint { from, to }));
            }
        }
    }
    tries
}

fn sizes(part: &Part) -> Vec<(SizeOf, Size)> {
    match &part.shape {
        Shape::Chamber { across, deep } => vec![
            (SizeOf::Across(across.measure), across.size),
            (SizeOf::Deep(deep.measure), deep.size),
        ],
        Shape::Wall { legs, .. } => legs
            .iter()
            .enumerate()
            .map(|(index, leg)| (SizeOf::Leg(index), leg.size))
            .collect(),
        Shape::Pier { across, deep, .. } => vec![
            (SizeOf::Across(Measure::Outside), *across),
            (SizeOf::Deep(Measure::Outside), *deep),
        ],
        // The diameter is brought to whole units as it is measured.
        Shape::Ring(_) => Vec::new(),
    }
}

impl Alteration {
    /// How much of the work it touches.
    pub fn reach(&self) -> Reach {
        match self {
            Alteration::VentCourse { .. }
            | Alteration::VentWidth { .. }
            | Alteration::LedgeCourse { .. } => Reach::Course,
            Alteration::OpeningWidth { .. } | Alteration::OpeningPlace { .. } => Reach::Opening,
            Alteration::Size { .. } => Reach::Part,
            Alteration::HeadJoint { .. } => Reach::Plan,
        }
    }

    /// The plan with this change made to a part; none where it has nothing to change.
    pub fn applied(&self, plan: &Plan, part: &str) -> Option<Plan> {
        let mut plan = plan.clone();
        if let Alteration::HeadJoint { from, to } = self {
            let head = &mut plan.setting.joints.head;
            let by = *to - *from;
            *head = Joint::new(*to, head.shortest + by, head.longest + by).ok()?;
            return Some(plan);
        }
        let placed = plan.parts.get_mut(part)?;
        self.change(Arc::make_mut(&mut placed.part))?;
        Some(plan)
    }

    fn change(&self, part: &mut Part) -> Option<()> {
        match self {
            Alteration::Size { of, to, .. } => *size_of(part, *of)? = *to,
            Alteration::OpeningWidth { name, to, .. } => {
                part.openings.iter_mut().find(|o| o.name == *name)?.width = *to;
            }
            Alteration::OpeningPlace { name, to, .. } => {
                part.openings.iter_mut().find(|o| o.name == *name)?.at = Some(Size::Length(*to));
            }
            Alteration::VentCourse { row, from, to, .. } => {
                let vent = part.vents.get_mut(*row)?;
                if vent.name == Vent::usual_name(*from) {
                    vent.name = Vent::usual_name(*to);
                }
                vent.course = *to;
            }
            Alteration::VentWidth { row, to, .. } => part.vents.get_mut(*row)?.width = *to,
            Alteration::LedgeCourse { row, to, .. } => part.ledges.get_mut(*row)?.course = *to,
            Alteration::HeadJoint { .. } => return None,
        }
        Some(())
    }
}

fn size_of(part: &mut Part, of: SizeOf) -> Option<&mut Size> {
    match (&mut part.shape, of) {
        (Shape::Chamber { across, .. }, SizeOf::Across(_)) => Some(&mut across.size),
        (Shape::Chamber { deep, .. }, SizeOf::Deep(_)) => Some(&mut deep.size),
        (Shape::Pier { across, .. }, SizeOf::Across(_)) => Some(across),
        (Shape::Pier { deep, .. }, SizeOf::Deep(_)) => Some(deep),
        (Shape::Wall { legs, .. }, SizeOf::Leg(leg)) => legs.get_mut(leg).map(|leg| &mut leg.size),
        _ => None,
    }
}
