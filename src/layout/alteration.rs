//! Changes of a plan that may do away with breaches and findings: which are tried, and how each is made.

mod feature;
mod figure;

pub use feature::Subject;
pub use figure::{Amount, Choice, FigureOf};

use std::collections::HashSet;
use std::sync::Arc;

use super::measure::MeasuredPart;
use crate::masonry::Joint;
use crate::plan::{
    Arch, ArchKind, Branch, BranchPlace, BranchReach, Laying, Leaves, Measure, Part, Plan, Ring,
    Shape, SideRef, Size, Standing, Vent,
};
use crate::quantity::Length;

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
/// The rise of an arch is tried in steps of 1 cm, which a centre can be sawn to: common practice, no source.
const RISE_STEP: Length = Length::mm(10);
/// The space between leaves is tried in steps of 5 mm: common practice, no source.
const SPACE_STEP: Length = Length::mm(5);
/// A ring is tried with so many units more or fewer round it: further off it is another design. Our own choice.
const UNITS_ROUND: i64 = 12;

/// One thing about a plan that was changed.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
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
    /// The bearing of the lintel over an opening, at both ends.
    LintelBearing {
        /// The opening.
        name: String,
        /// As it was at the end where it is less.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// Whether the units of an arch are cut to a taper.
    ArchCut {
        /// The opening under it.
        name: String,
        /// Whether they would be.
        to: bool,
    },
    /// How the units of an arch stand.
    ArchStanding {
        /// The opening under it.
        name: String,
        /// As they would stand.
        to: Standing,
    },
    /// The rise of a segmental arch.
    ArchRise {
        /// The opening under it.
        name: String,
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// The distance of a branch from the left end of its wall, seen from outside, to its near face.
    BranchPlace {
        /// The branch, partition or pier.
        name: String,
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// How far a branch or pier reaches from its wall.
    BranchLength {
        /// The branch or pier.
        name: String,
        /// As it was.
        from: Size,
        /// As it would be.
        to: Size,
    },
    /// The clear space between two leaves.
    LeavesSpace {
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// The diameter of a ring.
    RingDiameter {
        /// As it was asked for.
        from: Length,
        /// As it would be asked for.
        to: Length,
    },
    /// Whether the units of a ring are cut to taper.
    RingCut {
        /// Whether they would be.
        to: bool,
    },
    /// How the units of a ring lie.
    RingLaid {
        /// As they lay.
        from: Laying,
        /// As they would lie.
        to: Laying,
    },
    /// How far a duct through the part is shifted from the middle of the walls.
    DuctShift {
        /// The duct.
        name: String,
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// The head joint of the whole plan; its range moves along.
    HeadJoint {
        /// As it was.
        from: Length,
        /// As it would be.
        to: Length,
    },
    /// A figure of a feature.
    Figure {
        /// What it is the figure of.
        of: FigureOf,
        /// As it was.
        from: Amount,
        /// As it would be.
        to: Amount,
    },
    /// Something other than a figure.
    Choice(Choice),
}

/// Which size of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum SizeOf {
    /// Across, and how that is measured.
    Across(Measure),
    /// Deep, and how that is measured.
    Deep(Measure),
    /// A leg of a wall, from 0.
    Leg(usize),
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

/// Every change that may be tried, with how many steps it is off.
pub(super) fn alterations(
    plan: &Plan,
    part: &MeasuredPart,
    subjects: &[Subject],
) -> Vec<(i64, Alteration)> {
    let mut tries = feature::tries(plan, part, subjects);
    if subjects.contains(&Subject::Bonding) {
        tries.extend(bonding(plan, part));
    }
    let mut known = HashSet::new();
    tries.retain(|(_, alteration)| known.insert(alteration.clone()));
    tries
}

/// Sizes, places and joints, which decide how a part bonds.
fn bonding(plan: &Plan, part: &MeasuredPart) -> Vec<(i64, Alteration)> {
    let module = part.rules.unit + part.rules.joint;
    let half = |size: Size, by: i64| half_steps(size, by, module);
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
            // A quarter unit off, or where whole quarters from the end of the wall come to a jamb.
            let quarter = module / 4;
            let nearest = (from.nm() + part.rules.joint + quarter / 2) / quarter * quarter;
            let raster = nearest - part.rules.joint + (by - by.signum()) * quarter;
            for to in [from.nm() + by * quarter, raster] {
                let to = Length::from_nm(to);
                add(
                    (to.is_positive() && to != from).then(|| Alteration::OpeningPlace {
                        name: opening.name.clone(),
                        from,
                        to,
                    }),
                );
            }
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
    tries.extend(openings_and_leaves(part));
    tries.extend(branches(part));
    tries.extend(rings(part));
    tries.extend(ducts(plan, part));
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

/// Both ways up to so many steps.
fn both_ways(most: i64) -> impl Iterator<Item = i64> {
    (-most..=most).filter(|by| *by != 0)
}

/// Lintels, arches, and the space between leaves.
fn openings_and_leaves(part: &MeasuredPart) -> Vec<(i64, Alteration)> {
    let quarter = (part.rules.unit + part.rules.joint) / 4;
    let mut tries = Vec::new();
    for opening in &part.openings {
        let name = || opening.name.clone();
        if let Some(lintel) = opening.lintel {
            let bearing = (opening.span.0 - lintel.span.0).min(lintel.span.1 - opening.span.1);
            let from = Length::from_nm(bearing);
            tries.extend(both_ways(2 * STEPS).filter_map(|by| {
                // A quarter unit off, or where the end of the lintel comes over a joint.
                let to = from + Length::from_nm(by * quarter / 2);
                let name = name();
                to.is_positive()
                    .then(|| (by.abs(), Alteration::LintelBearing { name, from, to }))
            }));
        }
        let Some(arch) = &opening.arch else { continue };
        if arch.arch.kind != ArchKind::Flat {
            let cut = arch.rings.iter().all(|ring| ring.tapered);
            tries.push((
                1,
                Alteration::ArchCut {
                    name: name(),
                    to: !cut,
                },
            ));
            let to = match arch.arch.standing {
                Standing::Soldier => Standing::Rowlock,
                Standing::Rowlock => Standing::Soldier,
            };
            tries.push((2, Alteration::ArchStanding { name: name(), to }));
        }
        if arch.arch.kind == ArchKind::Segmental {
            tries.extend(both_ways(2 * STEPS).filter_map(|by| {
                let (from, to) = (arch.rise, arch.rise + RISE_STEP * by);
                let name = name();
                to.is_positive()
                    .then(|| (by.abs(), Alteration::ArchRise { name, from, to }))
            }));
        }
    }
    if let Some(leaves) = part.part.leaves {
        tries.extend(both_ways(2 * STEPS).filter_map(|by| {
            let (from, to) = (leaves.space, leaves.space + SPACE_STEP * by);
            let fits = Leaves {
                space: to,
                ..leaves
            }
            .check()
            .is_ok();
            fits.then_some((by.abs(), Alteration::LeavesSpace { from, to }))
        }));
    }
    tries
}

fn branches(part: &MeasuredPart) -> Vec<(i64, Alteration)> {
    let module = part.rules.unit + part.rules.joint;
    let quarter = module / 4;
    let mut tries = Vec::new();
    for (branch, asked) in part.branches.iter().zip(&part.part.branches) {
        let start = branch.crossings.iter().find_map(|crossing| {
            let strip = part.whole.get(crossing.leg)?;
            let own = part.side_of(crossing.leg) == asked.side;
            let (low, high) = strip.span();
            own.then_some(if strip.starts_low {
                crossing.span.0 - low
            } else {
                high - crossing.span.1
            })
        });
        for by in both_ways(STEPS + 1) {
            let name = || branch.name.clone();
            if let Some(start) = start {
                let from = Length::from_nm(start);
                // On the raster: whole quarters from the end of the wall.
                let nearest = (start + quarter / 2) / quarter * quarter;
                let to = Length::from_nm(nearest + (by - by.signum()) * quarter);
                if !to.is_negative() && to != from {
                    let name = name();
                    tries.push((by.abs(), Alteration::BranchPlace { name, from, to }));
                }
            }
            if let BranchReach::Outside(from) | BranchReach::Inside(from) = asked.reach
                && by.abs() <= STEPS
                && let Some(to) = half_steps(from, by, module)
            {
                let name = name();
                tries.push((by.abs(), Alteration::BranchLength { name, from, to }));
            }
        }
    }
    tries
}

fn rings(part: &MeasuredPart) -> Vec<(i64, Alteration)> {
    let Shape::Ring(ring) = part.part.shape else {
        return Vec::new();
    };
    let mut tries = vec![(1, Alteration::RingCut { to: !ring.cut })];
    tries.extend(
        Laying::ALL
            .into_iter()
            .filter(|to| *to != ring.laid)
            .map(|to| {
                let from = ring.laid;
                (STEPS, Alteration::RingLaid { from, to })
            }),
    );
    if let Size::Length(from) = ring.diameter.size {
        let [face, ..] = ring.laid.sizes(&part.setting.unit);
        let round = (face.nm() + part.rules.joint) as f64;
        tries.extend(both_ways(UNITS_ROUND).filter_map(|by| {
            // So many units more round its middle; down to the millimetre, as it is brought to units anyway.
            let by_mm = (by as f64 * round / std::f64::consts::PI / 1e6).round() as i64;
            let to = from + Length::mm(by_mm);
            to.is_positive()
                .then_some((by.abs(), Alteration::RingDiameter { from, to }))
        }));
    }
    tries
}

fn ducts(plan: &Plan, part: &MeasuredPart) -> Vec<(i64, Alteration)> {
    let quarter = (part.rules.unit + part.rules.joint) / 4;
    let through = plan
        .ducts
        .iter()
        .filter(|duct| duct.from == part.name || duct.to.as_ref() == Some(&part.name));
    through
        .flat_map(|duct| {
            both_ways(STEPS).map(move |by| {
                let (name, from) = (duct.name.clone(), duct.shift);
                let to = from + Length::from_nm(by * quarter);
                (by.abs(), Alteration::DuctShift { name, from, to })
            })
        })
        .collect()
}

/// A size so many half units off; none where nothing is left.
fn half_steps(size: Size, by: i64, module: i64) -> Option<Size> {
    match size {
        Size::HalfUnits(halves) => Some(Size::HalfUnits(halves + by)).filter(|_| halves + by > 0),
        Size::Length(length) => Size::length(length + Length::from_nm(by * module / 2)).ok(),
    }
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
        Shape::Curve(curve) => vec![(SizeOf::Leg(0), curve.length)],
        // The diameter is brought to whole units as it is measured.
        Shape::Ring(_) | Shape::Lining(_) => Vec::new(),
    }
}

impl Alteration {
    /// How much of the work it touches.
    pub fn reach(&self) -> Reach {
        match self {
            Alteration::VentCourse { .. }
            | Alteration::VentWidth { .. }
            | Alteration::LedgeCourse { .. }
            | Alteration::LintelBearing { .. } => Reach::Course,
            Alteration::OpeningWidth { .. }
            | Alteration::OpeningPlace { .. }
            | Alteration::ArchCut { .. }
            | Alteration::ArchStanding { .. }
            | Alteration::ArchRise { .. }
            | Alteration::DuctShift { .. } => Reach::Opening,
            Alteration::Size { .. }
            | Alteration::BranchPlace { .. }
            | Alteration::BranchLength { .. }
            | Alteration::LeavesSpace { .. }
            | Alteration::RingDiameter { .. }
            | Alteration::RingCut { .. }
            | Alteration::RingLaid { .. } => Reach::Part,
            Alteration::HeadJoint { .. } => Reach::Plan,
            Alteration::Figure { of, .. } => of.reach(),
            Alteration::Choice(choice) => choice.reach(),
        }
    }

    /// The plan with this change made to a part; none where it has nothing to change.
    pub fn applied(&self, plan: &Plan, part: &str) -> Option<Plan> {
        self.made_in(plan, part)?.checked().ok()
    }

    fn made_in(&self, plan: &Plan, part: &str) -> Option<Plan> {
        let mut plan = plan.clone();
        if let Alteration::HeadJoint { from, to } = self {
            let head = &mut plan.setting.joints.head;
            let by = *to - *from;
            *head = Joint::new(*to, head.shortest + by, head.longest + by).ok()?;
            return Some(plan);
        }
        if let Alteration::DuctShift { name, to, .. } = self {
            plan.ducts.iter_mut().find(|duct| duct.name == *name)?.shift = *to;
            return Some(plan);
        }
        if let Alteration::Figure { of, to, .. } = self
            && of.is_of_plan()
        {
            of.set_in_plan(&mut plan, part, *to)?;
            return Some(plan);
        }
        if let Alteration::Choice(choice) = self {
            choice.make(&mut plan, part)?;
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
            Alteration::LintelBearing { name, to, .. } => {
                let opening = part.openings.iter_mut().find(|o| o.name == *name)?;
                opening.lintel.as_mut()?.bearing = Some(*to);
            }
            Alteration::ArchCut { name, to } => arch_of(part, name)?.cut = Some(*to),
            Alteration::ArchStanding { name, to } => arch_of(part, name)?.standing = *to,
            Alteration::ArchRise { name, to, .. } => arch_of(part, name)?.rise = Some(*to),
            Alteration::BranchPlace { name, to, .. } => {
                branch_of(part, name)?.at = BranchPlace::At(Size::Length(*to));
            }
            Alteration::BranchLength { name, to, .. } => match &mut branch_of(part, name)?.reach {
                BranchReach::Outside(size) | BranchReach::Inside(size) => *size = *to,
                BranchReach::Through(..) | BranchReach::Across => return None,
            },
            Alteration::LeavesSpace { to, .. } => part.leaves.as_mut()?.space = *to,
            Alteration::RingDiameter { to, .. } => {
                ring_of(part)?.diameter.size = Size::Length(*to);
            }
            Alteration::RingCut { to } => ring_of(part)?.cut = *to,
            Alteration::RingLaid { to, .. } => ring_of(part)?.laid = *to,
            Alteration::Figure { of, to, .. } => of.set(part, *to)?,
            Alteration::DuctShift { .. } | Alteration::HeadJoint { .. } | Alteration::Choice(_) => {
                return None;
            }
        }
        Some(())
    }
}

fn arch_of<'a>(part: &'a mut Part, name: &str) -> Option<&'a mut Arch> {
    let mut openings = part.openings.iter_mut();
    openings.find(|opening| opening.name == name)?.arch.as_mut()
}

fn branch_of<'a>(part: &'a mut Part, name: &str) -> Option<&'a mut Branch> {
    part.branches.iter_mut().find(|branch| branch.name == name)
}

fn ring_of(part: &mut Part) -> Option<&mut Ring> {
    match &mut part.shape {
        Shape::Ring(ring) => Some(ring),
        _ => None,
    }
}

fn size_of(part: &mut Part, of: SizeOf) -> Option<&mut Size> {
    match (&mut part.shape, of) {
        (Shape::Chamber { across, .. }, SizeOf::Across(_)) => Some(&mut across.size),
        (Shape::Chamber { deep, .. }, SizeOf::Deep(_)) => Some(&mut deep.size),
        (Shape::Pier { across, .. }, SizeOf::Across(_)) => Some(across),
        (Shape::Pier { deep, .. }, SizeOf::Deep(_)) => Some(deep),
        (Shape::Curve(curve), SizeOf::Leg(0)) => Some(&mut curve.length),
        (Shape::Wall { legs, .. }, SizeOf::Leg(leg)) => legs.get_mut(leg).map(|leg| &mut leg.size),
        _ => None,
    }
}
