//! Figures and choices of features that may be changed, and how.

use std::sync::Arc;

use super::Reach;
use crate::plan::{
    Arch, ArchKind, Coping, CopingKind, Drip, Laying, Leaves, Lining, Lintel, LintelKind, Part,
    Placement, Plan, Rise, Shape, Size, Snap, Ties,
};
use crate::quantity::Length;

/// A figure as it is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Amount {
    /// A length.
    Length(Length),
    /// A number of pieces or courses.
    Count(u32),
    /// Units, or a length.
    Size(Size),
    /// Half units.
    Halves(i64),
    /// Left to be found.
    Usual,
}

impl Amount {
    fn length(self) -> Option<Length> {
        match self {
            Amount::Length(length) => Some(length),
            _ => None,
        }
    }

    fn count(self) -> Option<u32> {
        match self {
            Amount::Count(count) => Some(count),
            _ => None,
        }
    }
}

/// What a figure is of.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum FigureOf {
    /// The step of the corbelled head over an opening.
    CorbelStep(String),
    /// The overhang of the coping.
    CopingOverhang,
    /// The length of a slab of the coping.
    CopingSlab,
    /// The voussoirs of the arch over an opening.
    Voussoirs(String),
    /// The rings of the arch over an opening.
    ArchRings(String),
    /// How many courses high the flat arch over an opening is.
    ArchCourses(String),
    /// The lowest course of an opening; its height stays.
    OpeningCourse(String),
    /// The highest course of an opening.
    OpeningTop(String),
    /// The radius of a curved wall.
    Radius,
    /// How many vents are in a row of them, from 0.
    VentCount(usize),
    /// How many headers a ledge has on a side, from 0.
    LedgeCount(usize),
    /// How far the headers of a ledge project.
    LedgeProject(usize),
    /// The courses of the part.
    Courses,
    /// How thick its walls are.
    Thickness,
    /// The head joint of a part that has one of its own; its range moves along.
    OwnJoint,
    /// The bed under a course.
    Bed(u32),
    /// The gap behind a lining.
    LiningGap,
    /// How many courses a lining has.
    LiningCourses,
    /// How far a sill stands out.
    SillProject(String),
    /// How far a sill falls outwards, in degrees.
    SillSlope(String),
    /// How far apart the ties of a branch are.
    BranchTies(String),
    /// The course of a duct.
    DuctCourse(String),
    /// How far a duct is raised over its bed.
    DuctRaise(String),
    /// The pipe of a duct.
    DuctDiameter(String),
    /// How many pieces the lid is cast in.
    LidPieces,
    /// The gap between a part of this name and the one that it stands against.
    Gap(String),
    /// Where a part of this name stands, to the right.
    PlaceRight(String),
    /// Where a part of this name stands, to the back.
    PlaceBack(String),
}

impl FigureOf {
    pub(super) fn reach(&self) -> Reach {
        match self {
            FigureOf::LedgeProject(_)
            | FigureOf::CopingOverhang
            | FigureOf::CopingSlab
            | FigureOf::SillProject(_)
            | FigureOf::SillSlope(_)
            | FigureOf::Bed(_)
            | FigureOf::LidPieces
            | FigureOf::BranchTies(_) => Reach::Course,
            // Fewer than asked for do less.
            FigureOf::VentCount(_)
            | FigureOf::LedgeCount(_)
            | FigureOf::CorbelStep(_)
            | FigureOf::Voussoirs(_)
            | FigureOf::ArchRings(_)
            | FigureOf::ArchCourses(_)
            | FigureOf::OpeningCourse(_)
            | FigureOf::OpeningTop(_)
            | FigureOf::DuctCourse(_)
            | FigureOf::DuctRaise(_)
            | FigureOf::DuctDiameter(_) => Reach::Opening,
            FigureOf::Radius
            | FigureOf::Courses
            | FigureOf::Thickness
            | FigureOf::OwnJoint
            | FigureOf::LiningGap
            | FigureOf::LiningCourses => Reach::Part,
            FigureOf::Gap(_) | FigureOf::PlaceRight(_) | FigureOf::PlaceBack(_) => Reach::Plan,
        }
    }

    /// Whether it stands in the plan and not in the part.
    pub(super) fn is_of_plan(&self) -> bool {
        matches!(
            self,
            FigureOf::DuctCourse(_)
                | FigureOf::DuctRaise(_)
                | FigureOf::DuctDiameter(_)
                | FigureOf::LidPieces
                | FigureOf::Gap(_)
                | FigureOf::PlaceRight(_)
                | FigureOf::PlaceBack(_)
                | FigureOf::LiningGap
                | FigureOf::LiningCourses
        )
    }

    pub(super) fn set_in_plan(&self, plan: &mut Plan, part: &str, to: Amount) -> Option<()> {
        let duct = |plan: &mut Plan, name: &str| {
            let at = plan.ducts.iter().position(|duct| duct.name == name)?;
            Some(at)
        };
        match self {
            FigureOf::DuctCourse(name) => {
                let at = duct(plan, name)?;
                plan.ducts.get_mut(at)?.course = to.count()?;
            }
            FigureOf::DuctRaise(name) => {
                let at = duct(plan, name)?;
                plan.ducts.get_mut(at)?.raise = to.length()?;
            }
            FigureOf::DuctDiameter(name) => {
                let at = duct(plan, name)?;
                plan.ducts.get_mut(at)?.diameter = to.length()?;
            }
            FigureOf::LidPieces => {
                plan.lids.iter_mut().find(|lid| lid.part == part)?.pieces = to.count()?;
            }
            FigureOf::Gap(name) => match &mut plan.parts.get_mut(name)?.placement {
                Placement::Against { gap, .. } => *gap = Some(Size::Length(to.length()?)),
                Placement::Origin | Placement::At(..) => return None,
            },
            FigureOf::PlaceRight(name) | FigureOf::PlaceBack(name) => {
                match (self, &mut plan.parts.get_mut(name)?.placement) {
                    (FigureOf::PlaceRight(_), Placement::At(x, _)) => *x = to.length()?,
                    (_, Placement::At(_, y)) => *y = to.length()?,
                    (_, Placement::Origin | Placement::Against { .. }) => return None,
                }
            }
            FigureOf::LiningGap => {
                let gap = to.length()?;
                in_lining(plan, part, |lining, _| lining.gap = gap)?;
            }
            FigureOf::LiningCourses => {
                let courses = to.count()?;
                in_lining(plan, part, |lining, rise| {
                    lining.to_top = false;
                    *rise = Rise::Courses(courses);
                })?;
            }
            _ => return None,
        }
        Some(())
    }

    pub(super) fn set(&self, part: &mut Part, to: Amount) -> Option<()> {
        match self {
            FigureOf::CorbelStep(name) => {
                opening(part, name)?.corbel.as_mut()?.step = to.length();
            }
            FigureOf::CopingOverhang => {
                let coping = part.coping.as_mut()?;
                coping.overhang = to.length()?;
                coping.check().ok()?;
            }
            FigureOf::CopingSlab => {
                let coping = part.coping.as_mut()?;
                coping.length = to.length()?;
                coping.check().ok()?;
            }
            FigureOf::Voussoirs(name) => {
                opening(part, name)?.arch.as_mut()?.voussoirs = to.count();
            }
            FigureOf::ArchRings(name) => {
                opening(part, name)?.arch.as_mut()?.rings = to.count()?;
            }
            FigureOf::ArchCourses(name) => {
                opening(part, name)?.arch.as_mut()?.courses = to.count();
            }
            FigureOf::OpeningCourse(name) => {
                let opening = opening(part, name)?;
                let high = opening.to_course.checked_sub(opening.from_course)?;
                opening.from_course = to.count()?;
                opening.to_course = opening.from_course.checked_add(high)?;
            }
            FigureOf::OpeningTop(name) => opening(part, name)?.to_course = to.count()?,
            FigureOf::Radius => match &mut part.shape {
                Shape::Curve(curve) => curve.radius = to.length()?,
                _ => return None,
            },
            FigureOf::VentCount(row) => part.vents.get_mut(*row)?.count = to.count()?,
            FigureOf::LedgeCount(row) => part.ledges.get_mut(*row)?.count = to.count()?,
            FigureOf::LedgeProject(row) => match to {
                Amount::Size(size) => part.ledges.get_mut(*row)?.project = size,
                _ => return None,
            },
            FigureOf::Courses => part.rise = Rise::Courses(to.count()?),
            FigureOf::Thickness => match to {
                Amount::Halves(halves) => part.thickness = halves,
                _ => return None,
            },
            FigureOf::OwnJoint => {
                let (to, from) = (to.length()?, part.own.joint?);
                part.own.joint = Some(to);
                let moved = |(least, most): (Length, Length)| (least + to - from, most + to - from);
                part.own.head_range = part.own.head_range.map(moved);
            }
            FigureOf::Bed(course) => {
                let to = to.length()?;
                let coursing = &mut part.coursing;
                let apart = coursing.under.iter_mut().find(|(at, _)| at == course);
                match (apart, course) {
                    (Some((_, bed)), _) => *bed = to,
                    (None, 1) if coursing.first.is_some() => coursing.first = Some(to),
                    _ => coursing.every = Some(to),
                }
            }
            FigureOf::SillProject(name) => {
                opening(part, name)?.sill.as_mut()?.project = to.length()?;
            }
            FigureOf::SillSlope(name) => opening(part, name)?.sill.as_mut()?.slope = to.count(),
            FigureOf::BranchTies(name) => {
                let mut branches = part.branches.iter_mut();
                branches.find(|branch| branch.name == *name)?.ties = to.length();
            }
            _ => return None,
        }
        Some(())
    }
}

fn opening<'a>(part: &'a mut Part, name: &str) -> Option<&'a mut crate::plan::Opening> {
    let mut openings = part.openings.iter_mut();
    openings.find(|opening| opening.name == name)
}

/// Changes a lining where it stands, and where its walls ask for it.
fn in_lining(plan: &mut Plan, name: &str, change: impl Fn(&mut Lining, &mut Rise)) -> Option<()> {
    let changed = |part: &Part| {
        let mut part = part.clone();
        match &mut part.shape {
            Shape::Lining(lining) => change(lining, &mut part.rise),
            _ => return None,
        }
        Some(Arc::new(part))
    };
    for (host, placed) in &mut plan.parts {
        if host == name {
            placed.part = changed(&placed.part)?;
        } else if Part::lining_name(host) == name {
            let host = Arc::make_mut(&mut placed.part);
            host.lining = match &host.lining {
                Some(lining) => changed(lining),
                None => None,
            };
        }
    }
    Some(())
}

/// Something about a part that is changed for another.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Choice {
    /// The bond of the part.
    Bond {
        /// As it was.
        from: String,
        /// As it would be.
        to: String,
    },
    /// Whether the units of a curved wall are cut to taper.
    CurveCut(bool),
    /// How the units of a course lie; as the bond does where it is not told.
    CourseLaid {
        /// The course.
        course: u32,
        /// As they lay.
        from: Laying,
        /// As they would lie.
        to: Option<Laying>,
    },
    /// A cover where there was none.
    Cover(CopingKind),
    /// A drip under the coping.
    CopingDrip,
    /// What carries the wall over an opening that nothing carried.
    Bridge {
        /// The opening.
        name: String,
        /// Of what.
        kind: LintelKind,
    },
    /// Ties between two leaves.
    LeavesTied {
        /// Furthest apart along a row.
        across: Length,
        /// Furthest apart upwards.
        up: Length,
    },
    /// To which units the lining is brought.
    LiningSnap(Snap),
    /// A branch toothed into its wall.
    Toothed(String),
    /// An arch of another kind.
    Arched {
        /// The opening under it.
        name: String,
        /// Its kind.
        kind: ArchKind,
    },
    /// A part that stands on another brought to its middle.
    Centred,
    /// A part that stands on another as long, wide and thick as that one.
    SizedAsBelow,
}

impl Choice {
    pub(super) fn reach(&self) -> Reach {
        match self {
            Choice::CopingDrip | Choice::CourseLaid { .. } | Choice::Cover(_) => Reach::Course,
            Choice::Bridge { .. } | Choice::Toothed(_) | Choice::Arched { .. } => Reach::Opening,
            Choice::Bond { .. }
            | Choice::CurveCut(_)
            | Choice::LeavesTied { .. }
            | Choice::SizedAsBelow
            | Choice::LiningSnap(_) => Reach::Part,
            Choice::Centred => Reach::Plan,
        }
    }

    pub(super) fn make(&self, plan: &mut Plan, name: &str) -> Option<()> {
        if let Choice::LiningSnap(snap) = self {
            for (host, placed) in &mut plan.parts {
                if host == name {
                    Arc::make_mut(&mut placed.part).snap = *snap;
                } else if Part::lining_name(host) == name {
                    let host = Arc::make_mut(&mut placed.part);
                    Arc::make_mut(host.lining.as_mut()?).snap = *snap;
                }
            }
            return Some(());
        }
        let placed = plan.parts.get_mut(name)?;
        if *self == Choice::Centred {
            return match &mut placed.placement {
                Placement::Against { align, .. } => {
                    *align = crate::plan::Align::Centre;
                    Some(())
                }
                Placement::Origin | Placement::At(..) => None,
            };
        }
        if *self == Choice::SizedAsBelow {
            let Placement::Against { other, .. } = placed.placement.clone() else {
                return None;
            };
            let below = plan.parts.get(&other)?.part.clone();
            let part = Arc::make_mut(&mut plan.parts.get_mut(name)?.part);
            (part.shape, part.thickness) = (below.shape.clone(), below.thickness);
            return Some(());
        }
        let part = Arc::make_mut(&mut placed.part);
        match self {
            Choice::Bond { to, .. } => part.own.bond = Some(to.clone()),
            Choice::CurveCut(cut) => match &mut part.shape {
                Shape::Curve(curve) => curve.cut = *cut,
                _ => return None,
            },
            Choice::CourseLaid { course, to, .. } => {
                let laid = &mut part.coursing.laid;
                match to {
                    Some(to) => laid.iter_mut().find(|(at, _)| at == course)?.1 = *to,
                    None => laid.retain(|(at, _)| at != course),
                }
            }
            Choice::Cover(kind) => part.coping = Some(Coping::of(*kind)),
            Choice::CopingDrip => {
                let coping = part.coping.as_mut()?;
                coping.drip = Some(Drip::USUAL);
                coping.check().ok()?;
            }
            Choice::Bridge { name, kind } => {
                opening(part, name)?.lintel = Some(Lintel::of(*kind));
            }
            Choice::LeavesTied { across, up } => {
                let ties = Some(Ties {
                    across: *across,
                    up: *up,
                });
                let leaves = part.leaves.as_mut()?;
                *leaves = Leaves { ties, ..*leaves };
            }
            Choice::Toothed(name) => {
                let mut branches = part.branches.iter_mut();
                branches.find(|branch| branch.name == *name)?.toothed = true;
            }
            Choice::Arched { name, kind } => {
                let opening = opening(part, name)?;
                opening.arch = Some(Arch::of(*kind));
            }
            Choice::LiningSnap(_) | Choice::Centred | Choice::SizedAsBelow => return None,
        }
        Some(())
    }
}
