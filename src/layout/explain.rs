//! Why a course is laid as it is: its intervals, what bounds them, what was laid, and what came next.

use std::sync::Arc;

use super::bonded::fill;
use super::course::{Edge, Meaning, Told, lowest_terms, tell_courses};
use super::held::HeldStretch;
use super::interval::{
    Cost, ElementKind, Interval, Limit, NextBest, Pattern, Rules, Solution, next_best, next_order,
    next_pattern, next_pattern_order, same_pieces,
};
use super::laid::Cut;
use super::lay::{check_stop, cuts_of};
use super::lining::completed;
use super::measure::{MeasuredPart, measure};
use super::remark::{Remark, Scene};
use crate::plan::{Plan, PlanError, SideRef};
use crate::quantity::Length;

/// Why one course of a part is laid as it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Explanation {
    /// The part.
    pub part: String,
    /// The course, from 1.
    pub course: u32,
    /// What the part is laid by.
    pub rules: Rules,
    /// Its intervals by leaf, then leg, then place, each seen from outside.
    pub intervals: Vec<Explained>,
    /// What else bears on it.
    pub remarks: Vec<Remark>,
}

/// One interval of a course. Places are measured from the left end of its wall, seen from outside.
#[derive(Clone, Debug, PartialEq)]
pub struct Explained {
    /// The side or leg it is in.
    pub side: SideRef,
    /// The name of the branch, partition or pier that it is in, if any.
    pub branch: Option<String>,
    /// Whether it is in the middle of a pier or of a thick wall, where nobody sees it.
    pub middle: bool,
    /// Its leaf, from 0 at the outer face.
    pub leaf: usize,
    /// How many leaves that side or branch has.
    pub leaves: usize,
    /// From its left to its right face.
    pub span: (Length, Length),
    /// What it ends against on the left and on the right.
    pub bounds: (Bound, Bound),
    /// Head joints of the course below that stand in the way of what would else be laid.
    pub binding: Vec<Length>,
    /// What was laid.
    pub laid: Way,
    /// What would be laid if nothing lay on it, where it is laid otherwise so that the course above keeps its lap.
    pub alone: Option<Way>,
    /// The best way with other pieces, and where it loses; none where nothing else fits, or where it is laid for the
    /// course above.
    pub next: Option<RunnerUp>,
    /// The best other order of the same pieces, where that is no worse than the best way with other pieces.
    pub reordered: Option<RunnerUp>,
    /// Where it starts, in the plan's coordinate along its wall.
    pub from: Length,
    /// What was solved, from low to high.
    pub interval: Interval,
    /// Whether it was filled by the plain rules and not by the order of a bond.
    pub plain: bool,
    /// The ways in which the bond may be set out in it; none where plain rules lay it.
    pub patterns: Vec<Pattern>,
    /// How it was filled, from low to high.
    pub solution: Arc<Solution>,
}

/// A way to fill an interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Pieces, headers and vents from left to right.
    pub items: Vec<Item>,
    /// Width of its joints; none where it has none.
    pub joint: Option<Length>,
    /// Its cost.
    pub cost: Cost,
    /// The limits it misses, with what they come to.
    pub missed: Vec<(Limit, Length)>,
}

/// The next best way.
#[derive(Clone, Debug, PartialEq)]
pub struct RunnerUp {
    /// How it would be laid.
    pub way: Way,
    /// Cost of the one laid, judged alike: before lengths are shared out in whole nanometres.
    pub against: Cost,
    /// The first point in which it costs more; none where nothing but the order of trying decides.
    pub loses_in: Option<CostPoint>,
    /// Whether all other ways were looked at.
    pub searched: bool,
}

/// A piece or what else takes its place in a course.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Item {
    /// A piece of this cut and length.
    Piece(Cut, Length),
    /// A header.
    Header,
    /// A vent of this name.
    Vent(String),
}

/// What bounds an interval.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bound {
    /// The end of the wall.
    FreeEnd,
    /// A corner that this leg passes in this course.
    CornerPassed,
    /// The stretcher at a corner that this leg passes.
    Quoin,
    /// A corner that the other leg passes: this one butts against it with a joint.
    WorkButted,
    /// The branch of this name, which passes into this wall in this course.
    Branch(String),
    /// The face or leaf of the wall that this branch passes into in this course.
    Toothed,
    /// The face of the wall that this branch butts against in this course.
    WallMet,
    /// A jamb of the opening of this name.
    Jamb(String),
    /// The arch over the opening of this name.
    Arch(String),
    /// A header that goes through the middle of a thick wall.
    HeaderThrough,
    /// The end of a course that steps inwards over the opening of this name.
    Corbel(String),
    /// The end of the lintel over the opening of this name.
    Lintel(String),
    /// A vent of this name.
    Vent(String),
    /// The cheek of the duct of this name.
    Cheek(String),
}

/// The points in which ways are judged, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CostPoint {
    /// Limits not kept.
    Limits,
    /// Pieces and joints that stray from the bond's order.
    Strays,
    /// Pieces cut.
    Cuts,
    /// Cut pieces that are no fraction of the bond's.
    OddCuts,
    /// How far vents and headers lie from their places.
    Drift,
    /// How far joints are from nominal.
    Joints,
    /// How far joints are from the bond's raster.
    Raster,
}

impl CostPoint {
    /// All points, first the one that is judged first.
    pub const ALL: [CostPoint; 7] = [
        CostPoint::Limits,
        CostPoint::Strays,
        CostPoint::Cuts,
        CostPoint::OddCuts,
        CostPoint::Drift,
        CostPoint::Joints,
        CostPoint::Raster,
    ];

    /// What a cost comes to in this point.
    pub fn of(self, cost: &Cost) -> i64 {
        match self {
            CostPoint::Limits => cost.misses,
            CostPoint::Strays => cost.strays,
            CostPoint::Cuts => cost.cuts,
            CostPoint::OddCuts => cost.odd,
            CostPoint::Drift => cost.drift,
            CostPoint::Joints => cost.joints,
            CostPoint::Raster => cost.raster,
        }
    }
}

/// Explains one course of a part.
///
/// # Errors
/// What [`measure`] refuses; and when there is no such part or course.
pub fn explain(plan: &Plan, part: &str, course: u32) -> Result<Explanation, PlanError> {
    let all = explanations(plan, part, Some(course), true)?;
    let one = all.into_iter().find(|one| one.course == course);
    one.ok_or_else(|| no_course(part, course, 0))
}

/// The intervals of every course of a part as [`explain`] tells them, but without the next best ways, whose search takes
/// long, and without remarks.
///
/// # Errors
/// What [`measure`] refuses; and when there is no such part.
pub fn explain_all(plan: &Plan, part: &str) -> Result<Vec<Explanation>, PlanError> {
    explanations(plan, part, None, false)
}

fn no_course(part: &str, course: u32, most: u32) -> PlanError {
    PlanError::new(
        "course-outside-part",
        format!("\"{part}\" has no course {course}"),
        format!("name a course from 1 to {most}"),
    )
    .at_key("course")
}

/// One course of a part or all of them, with the next best ways if asked.
fn explanations(
    plan: &Plan,
    part: &str,
    course: Option<u32>,
    with_next: bool,
) -> Result<Vec<Explanation>, PlanError> {
    plan.part_named(part)
        .map_err(|error| error.at_key("part"))?;
    let measured = measure(plan)?;
    let found = measured
        .parts
        .iter()
        .enumerate()
        .find(|(_, measured)| measured.name == part);
    let asked = course.unwrap_or(1);
    // Over the last course lies its coping.
    let last = |part: &MeasuredPart| part.courses + u32::from(part.coping.is_some());
    let Some((index, measured_part)) = found.filter(|(_, p)| (1..=last(p)).contains(&asked)) else {
        let most = found.map_or(0, |(_, part)| part.courses);
        return Err(no_course(part, asked, most));
    };
    let ducts = cuts_of(index, measured_part, &measured, plan);
    let complete = completed(index, &measured, plan)?;
    let part = complete.as_deref().unwrap_or(measured_part);
    let courses = course.map_or(1..=part.courses, |course| course..=course);
    let mut told = tell_courses(part, index, &ducts, courses.clone());
    check_stop()?;
    // What lies in the middle of a thick wall follows from its faces.
    told.retain(|told| with_next || told.rules.is_none());
    told.sort_by_key(|told| {
        let from = told.held.from;
        let along = if told.strip.starts_low { from } else { -from };
        (told.leaf, told.leg, along)
    });
    let told_of = |course: u32| {
        let told = told.iter().filter(move |told| told.course == course);
        told.map(|told| explained(told, part, with_next)).collect()
    };
    let scene = Scene {
        plan,
        measured: &measured,
        part,
        index,
        ducts: &ducts,
    };
    let explanation = |course| Explanation {
        part: part.name.clone(),
        course,
        rules: part.rules_of(course).clone(),
        intervals: told_of(course),
        remarks: if with_next {
            scene.remarks(course)
        } else {
            Vec::new()
        },
    };
    let explanations = courses.map(explanation).collect();
    // What was broken off is no reason.
    check_stop()?;
    Ok(explanations)
}

fn explained(told: &Told<'_>, part: &MeasuredPart, with_next: bool) -> Explained {
    let course = told.course;
    let rules = told.rules.as_ref().unwrap_or(part.rules_of(course));
    let held = &told.held;
    // Of the whole thickness, so that all leaves are measured alike.
    let whole = part.whole.get(told.leg).unwrap_or(&told.strip);
    let (low, high) = whole.span();
    let length = held.interval.length;
    // A leg that is walked towards smaller coordinates has its left end, seen from outside, at the larger ones.
    let leftmost = told.strip.starts_low;
    let place = |at: i64| {
        let along = held.from + at;
        Length::from_nm(if leftmost { along - low } else { high - along })
    };
    let (left, right) = if leftmost { (0, length) } else { (length, 0) };
    let (low_bound, high_bound) = (bound(held.low), bound(held.high));
    let bounds = if leftmost {
        (low_bound, high_bound)
    } else {
        (high_bound, low_bound)
    };
    let mut binding: Vec<Length> = binding(&held.interval, rules, &held.patterns)
        .into_iter()
        .map(place)
        .collect();
    binding.sort_unstable();
    let way = |solution: &Solution, cost: Cost| Way {
        items: items(solution, told, part, rules),
        joint: joint_width(solution, &held.interval),
        cost,
        missed: solution
            .misses
            .iter()
            .map(|miss| (miss.limit, Length::from_nm(miss.figure)))
            .collect(),
    };
    // What was laid for the course above is not what this stretch alone would choose: it has no runner-up.
    let (next, reordered) = if held.alone.is_none() && with_next {
        nexts_of(held, rules)
    } else {
        (None, None)
    };
    let runner_up = |next: NextBest| {
        let NextBest {
            solution,
            cost,
            laid,
            searched,
        } = next;
        RunnerUp {
            way: way(&solution, cost),
            against: laid,
            loses_in: CostPoint::ALL
                .into_iter()
                .find(|point| point.of(&cost) != point.of(&laid)),
            searched,
        }
    };
    let hearted = part.hearting.iter().find(|rows| rows.leg == told.leg);
    let leaves = hearted.map_or(part.told_leaves(told.leg), |rows| rows.rows.len());
    let side = part.side_of(told.leg);
    Explained {
        side,
        branch: match side {
            SideRef::Branch(index) if hearted.is_none() => {
                part.branches.get(index).map(|branch| branch.name.clone())
            }
            _ => None,
        },
        middle: told.rules.is_some() || hearted.is_some(),
        leaf: told.leaf,
        leaves: part
            .upright_course(course)
            .map_or(leaves, |upright| upright.rows.len()),
        span: (place(left), place(right)),
        bounds,
        binding,
        laid: way(&held.solution, held.solution.cost),
        alone: held.alone.as_ref().map(|alone| way(alone, alone.cost)),
        next: next.map(runner_up),
        reordered: reordered.map(runner_up),
        plain: held.patterns.is_empty(),
        from: Length::from_nm(held.from),
        interval: held.interval.clone(),
        patterns: held.patterns.clone(),
        solution: Arc::clone(&held.solution),
    }
}

/// The best way with other pieces, and the best other order of the same pieces where that is no worse.
fn nexts_of(held: &HeldStretch<'_>, rules: &Rules) -> (Option<NextBest>, Option<NextBest>) {
    let (interval, laid) = (&held.interval, &held.solution);
    let best = |all: &mut dyn Iterator<Item = Solution>| {
        let solution = all.min_by_key(|solution| solution.cost)?;
        Some(NextBest {
            cost: solution.cost,
            laid: laid.cost,
            solution,
            searched: true,
        })
    };
    let patterns = || held.patterns.iter();
    let (other, order) = if held.patterns.is_empty() {
        (
            next_best(interval, rules, laid),
            next_order(interval, rules, laid),
        )
    } else {
        (
            best(
                &mut patterns().filter_map(|pattern| next_pattern(interval, rules, pattern, laid)),
            ),
            best(
                &mut patterns()
                    .filter(|_| !held.seated)
                    .filter_map(|pattern| next_pattern_order(interval, rules, pattern, laid)),
            ),
        )
    };
    let Some(order) = order else {
        return (other, None);
    };
    let is_better = other.as_ref().is_none_or(|other| order.cost <= other.cost);
    match (same_pieces(&order.solution, laid), is_better) {
        (true, true) => (other, Some(order)),
        (false, true) => (Some(order), None),
        (_, false) => (other, None),
    }
}

fn bound(edge: Edge<'_>) -> Bound {
    match edge {
        Edge::Free => Bound::FreeEnd,
        Edge::Passed => Bound::CornerPassed,
        Edge::Quoin => Bound::Quoin,
        Edge::Butted => Bound::WorkButted,
        Edge::Branch(name) | Edge::Keyed(name, _) | Edge::Capped(name) => {
            Bound::Branch(name.to_owned())
        }
        Edge::Toothed => Bound::Toothed,
        Edge::Met => Bound::WallMet,
        Edge::Jamb(name) => Bound::Jamb(name.to_owned()),
        Edge::Lintel(name) => Bound::Lintel(name.to_owned()),
        Edge::Vent(name) => Bound::Vent(name.to_owned()),
        Edge::Cheek(name) => Bound::Cheek(name.to_owned()),
        Edge::Arch(name) => Bound::Arch(name.to_owned()),
        Edge::Corbel(name) => Bound::Corbel(name.to_owned()),
        Edge::Through => Bound::HeaderThrough,
    }
}

/// Joints below that are too near to the joints of what would be laid if there were none below.
fn binding(interval: &Interval, rules: &Rules, patterns: &[Pattern]) -> Vec<i64> {
    let free = fill(
        &Interval {
            below: Vec::new(),
            ..interval.clone()
        },
        rules,
        patterns,
    );
    let near = |below: i64| {
        free.joints
            .iter()
            .any(|joint| (joint - below).abs() < rules.least_lap)
    };
    let below = interval.below.iter().copied();
    below.filter(|&joint| near(joint)).collect()
}

fn items(solution: &Solution, told: &Told<'_>, part: &MeasuredPart, rules: &Rules) -> Vec<Item> {
    let mut items: Vec<Item> = solution
        .elements
        .iter()
        .map(|element| {
            let cut = match element.kind {
                ElementKind::Whole => Cut::Whole,
                ElementKind::Fraction(parts) => lowest_terms(parts, rules.parts),
                ElementKind::Odd => Cut::Odd,
                ElementKind::Header => return Item::Header,
                ElementKind::Closer => Cut::Closer,
                ElementKind::Float(index) => {
                    return match told.held.floats.get(index) {
                        Some(Meaning::Vent(vent)) => {
                            let vent = part.vents.get(*vent);
                            Item::Vent(vent.map(|vent| vent.name.clone()).unwrap_or_default())
                        }
                        _ => Item::Header,
                    };
                }
            };
            Item::Piece(cut, Length::from_nm(element.length))
        })
        .collect();
    if !told.strip.starts_low {
        items.reverse();
    }
    items
}

/// The width of all joints; of the first, where they were made to do.
fn joint_width(solution: &Solution, interval: &Interval) -> Option<Length> {
    let count = i64::try_from(solution.joints.len()).ok()?;
    let taken: i64 = solution.elements.iter().map(|element| element.length).sum();
    (count > 0).then(|| Length::from_nm((interval.length - taken) / count))
}
