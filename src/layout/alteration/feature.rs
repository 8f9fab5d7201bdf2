//! Which changes of features are tried, by what is to be done away with.

use super::figure::{Amount, Choice, FigureOf};
use super::{Alteration, STEPS, both_ways, half_steps};
use crate::layout::corbel::{CORBEL_SHARES, next_step};
use crate::layout::measure::MeasuredPart;
use crate::masonry::Catalogue;
use crate::plan::{
    ArchKind, CopingKind, Laying, LintelKind, Part, Placement, Plan, Shape, Size, Snap,
};
use crate::quantity::Length;

/// What is to be done away with, as far as it decides which changes are tried.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// Laps, pieces and joints.
    Bonding,
    /// Arches.
    Arches,
    /// Beds between courses.
    Beds,
    /// Branches that only butt.
    Branches,
    /// Copings and bare tops.
    Copings,
    /// Corbelled heads.
    Corbels,
    /// Courses on end or on edge.
    Courses,
    /// Curved walls.
    Curves,
    /// Ducts.
    Ducts,
    /// Space between parts.
    Gaps,
    /// Height and thickness of walls.
    Heights,
    /// Ledges.
    Ledges,
    /// Leaves and their ties.
    Leaves,
    /// Lids.
    Lids,
    /// Linings.
    Linings,
    /// Lintels and openings that nothing carries.
    Lintels,
    /// Sills and thresholds.
    Sills,
    /// What a part stands on.
    Standing,
}

/// Of steps of a corbelled head so many smaller ones are tried. Our own choice.
const CORBEL_STEPS: usize = 4;
/// A coping's overhang is tried in steps of 5 mm: common practice, no source.
const OVERHANG_STEP: Length = Length::mm(5);
/// Overhangs are tried so many steps off. Our own choice.
const OVERHANG_STEPS: i64 = 12;
/// Slabs are tried in steps of 10 cm, as they are sold: common practice, no source.
const SLAB_STEP: Length = Length::mm(100);
/// Radii are tried in steps of 5 cm, as a line from a peg can be set: common practice, no source.
const RADIUS_STEP: Length = Length::mm(50);
/// Radii are tried so many steps off. Our own choice.
const RADIUS_STEPS: i64 = 12;
/// So many courses more or fewer are tried. Our own choice.
const COURSES_STEPS: i64 = 6;
/// A wall is tried so many half units thicker. Our own choice.
const THICKER: i64 = 2;
/// Gaps are tried in steps of 1 cm up to so many more. Our own choice.
const GAP_STEPS: i64 = 12;
/// As [`GAP_STEPS`].
const GAP_STEP: Length = Length::mm(10);
/// The gap behind a lining is tried in steps of 1 mm. Our own choice.
const LINING_STEP: Length = Length::mm(1);
/// As [`LINING_STEP`], so many steps.
const LINING_STEPS: i64 = 10;
/// A duct is raised or lowered in steps of 5 mm, as a bed under its first course can pack it. Our own choice.
const RAISE_STEP: Length = Length::mm(5);
/// As [`RAISE_STEP`], so many steps: less than a course.
const RAISE_STEPS: i64 = 10;
/// Pipes are tried in steps of 1 cm. Our own choice.
const PIPE_STEP: Length = Length::mm(10);
/// Ties of leaves as far apart as may be, 900 × 450 mm: UK practice, from memory.
const LEAF_TIES: (Length, Length) = (Length::mm(900), Length::mm(450));
/// Ties of a branch at most 300 mm apart: UK practice, from memory; in every third or fourth course.
const BRANCH_TIES: [Length; 2] = [Length::mm(300), Length::mm(225)];
/// A sill is tried with falls of so many degrees: common practice, no source.
const FALLS: [u32; 2] = [10, 15];
/// Sills are tried in steps of 5 mm. Our own choice.
const SILL_STEP: Length = Length::mm(5);
/// As [`SILL_STEP`], so many steps.
const SILL_STEPS: i64 = 10;
/// Another bond is another look: it is tried after whatever is as far off.
const BOND_STEPS: i64 = 3;

type Tries = Vec<(i64, Alteration)>;

/// Everything that may be tried for some subjects beside what bears on the bond alone.
pub(super) fn tries(plan: &Plan, part: &MeasuredPart, subjects: &[Subject]) -> Tries {
    let mut tries = Tries::new();
    for subject in subjects {
        tries.extend(match subject {
            Subject::Bonding => bonding(part),
            Subject::Arches => arches(part),
            Subject::Beds => beds(part),
            Subject::Branches => branches(&part.part),
            Subject::Copings => copings(part),
            Subject::Corbels => corbels(part),
            Subject::Courses => courses(&part.part),
            Subject::Curves => curves(part),
            Subject::Ducts => ducts(plan, part),
            Subject::Gaps => gaps(plan, part),
            Subject::Heights => heights(part),
            Subject::Ledges => ledges(part),
            Subject::Leaves => leaves(&part.part),
            Subject::Lids => lids(plan, part),
            Subject::Linings => linings(part),
            Subject::Lintels => lintels(part),
            Subject::Sills => sills(&part.part),
            Subject::Standing => standing(plan, part),
        });
    }
    tries
}

fn figure(of: FigureOf, from: Amount, to: Amount) -> Alteration {
    Alteration::Figure { of, from, to }
}

fn count(from: u32, by: i64) -> Option<u32> {
    let to = u32::try_from(i64::from(from) + by).ok()?;
    (to > 0).then_some(to)
}

/// Lengths some steps off, both ways; nothing below zero.
fn lengths(of: &FigureOf, from: Length, step: Length, steps: i64) -> Tries {
    both_ways(steps)
        .map(|by| (by, from + step * by))
        .filter(|(_, to)| !to.is_negative())
        .map(|(by, to)| {
            let change = figure(of.clone(), Amount::Length(from), Amount::Length(to));
            (by.abs(), change)
        })
        .collect()
}

fn counts(of: &FigureOf, from: u32, bys: impl IntoIterator<Item = i64>) -> Tries {
    let to = |by: i64| {
        let to = count(from, by)?;
        let change = figure(of.clone(), Amount::Count(from), Amount::Count(to));
        Some((by.abs(), change))
    };
    bys.into_iter().filter_map(to).collect()
}

fn bonding(part: &MeasuredPart) -> Tries {
    let mut tries = Tries::new();
    let own = &part.part;
    for opening in &own.openings {
        let of = || FigureOf::OpeningCourse(opening.name.clone());
        // An opening to the ground is a way through.
        if opening.from_course > 1 {
            tries.extend(counts(&of(), opening.from_course, both_ways(STEPS)));
        }
        let top = FigureOf::OpeningTop(opening.name.clone());
        tries.extend(counts(&top, opening.to_course, both_ways(STEPS)));
    }
    tries.extend(voussoirs(part));
    for (row, vent) in own.vents.iter().enumerate() {
        tries.extend(counts(&FigureOf::VentCount(row), vent.count, [-1, 1]));
    }
    for (row, ledge) in own.ledges.iter().enumerate() {
        tries.extend(counts(&FigureOf::LedgeCount(row), ledge.count, [-1, 1]));
    }
    if let Some(from) = own.own.joint {
        tries.extend(lengths(&FigureOf::OwnJoint, from, Length::mm(1), 4));
    }
    tries.extend(corbels(part));
    tries.extend(curves(part));
    tries.extend(courses(own));
    if part.lines.is_some() {
        tries.extend(linings(part));
    }
    // Rings and curves keep no bond's order.
    if part.round.is_none() {
        tries.extend(bonds(part));
    }
    tries
}

/// The other bonds that a wall of this thickness may be laid in.
fn bonds(part: &MeasuredPart) -> Tries {
    let Ok(catalogue) = Catalogue::builtin() else {
        return Tries::new();
    };
    let from = &part.setting.bond.name;
    let others = catalogue.bonds().filter(|bond| bond.name != *from);
    others
        .map(|bond| {
            let (from, to) = (from.clone(), bond.name.clone());
            (BOND_STEPS, Alteration::Choice(Choice::Bond { from, to }))
        })
        .collect()
}

fn voussoirs(part: &MeasuredPart) -> Tries {
    let mut tries = Tries::new();
    for opening in &part.openings {
        let Some(arch) = &opening.arch else { continue };
        // Where rings differ a number for all of them says nothing.
        let [ring] = arch.rings.as_slice() else {
            continue;
        };
        let of = FigureOf::Voussoirs(opening.name.clone());
        let from = ring.voussoirs.len() as u32;
        tries.extend(counts(&of, from, [-4, -2, 2, 4]));
    }
    tries
}

fn arches(part: &MeasuredPart) -> Tries {
    let mut tries = voussoirs(part);
    tries.extend(super::openings_and_leaves(part));
    for opening in &part.openings {
        let Some(arch) = &opening.arch else { continue };
        let name = || opening.name.clone();
        if arch.arch.kind == ArchKind::Flat {
            let high = arch.arch.courses.unwrap_or(1);
            tries.extend(counts(&FigureOf::ArchCourses(name()), high, [-1, 1, 2]));
        }
        let others = [ArchKind::Segmental, ArchKind::Semicircular, ArchKind::Flat];
        for (step, kind) in (1..).zip(others.into_iter().filter(|kind| *kind != arch.arch.kind)) {
            let name = name();
            tries.push((step, Alteration::Choice(Choice::Arched { name, kind })));
        }
        if arch.arch.kind != ArchKind::Flat {
            tries.extend(counts(
                &FigureOf::ArchRings(name()),
                arch.arch.rings,
                [-1, 1],
            ));
        }
    }
    tries.extend(opening_sizes(part));
    tries.extend(heights(part));
    tries
}

/// Widths and places of openings, and the lengths of the walls beside them.
fn opening_sizes(part: &MeasuredPart) -> Tries {
    let module = part.rules.unit + part.rules.joint;
    let mut tries = Tries::new();
    for by in both_ways(STEPS * 2) {
        for opening in &part.part.openings {
            let (name, from) = (opening.name.clone(), opening.width);
            tries.extend(half_steps(from, by, module).map(|to| {
                let change = Alteration::OpeningWidth { name, from, to };
                (by.abs(), change)
            }));
        }
        for (of, from) in super::sizes(&part.part) {
            tries.extend(
                half_steps(from, by, module)
                    .map(|to| (by.abs(), Alteration::Size { of, from, to })),
            );
        }
    }
    tries
}

fn beds(part: &MeasuredPart) -> Tries {
    let usual = part.setting.joints.bed.nominal;
    let coursing = &part.part.coursing;
    (1..=part.courses)
        .filter(|course| coursing.bed_under(*course).is_some())
        .flat_map(|course| {
            let from = part.heights.bed_under(course);
            let bed = part.setting.joints.bed;
            // To the usual bed, or only as far as it has to.
            [bed.shortest, bed.longest, usual]
                .into_iter()
                .filter(move |to| *to != from)
                .map(move |to| {
                    let steps = (to - from).abs().nm() / Length::mm(1).nm();
                    let amounts = (Amount::Length(from), Amount::Length(to));
                    (steps, figure(FigureOf::Bed(course), amounts.0, amounts.1))
                })
        })
        .collect()
}

fn branches(part: &Part) -> Tries {
    let mut tries = Tries::new();
    for branch in part.branches.iter().filter(|branch| !branch.toothed) {
        let from = branch.ties.map_or(Amount::Usual, Amount::Length);
        for (step, to) in (1..).zip(BRANCH_TIES) {
            let of = FigureOf::BranchTies(branch.name.clone());
            tries.push((step, figure(of, from, Amount::Length(to))));
        }
        let toothed = Choice::Toothed(branch.name.clone());
        tries.push((STEPS, Alteration::Choice(toothed)));
    }
    tries
}

fn copings(part: &MeasuredPart) -> Tries {
    let Some(coping) = part.part.coping else {
        let kinds = [CopingKind::Rowlock, CopingKind::Stone, CopingKind::Concrete];
        let cover = |(step, kind)| (step, Alteration::Choice(Choice::Cover(kind)));
        return (1..).zip(kinds).map(cover).collect();
    };
    let of = FigureOf::CopingOverhang;
    let mut tries = lengths(&of, coping.overhang, OVERHANG_STEP, OVERHANG_STEPS);
    tries.extend(lengths(
        &FigureOf::CopingSlab,
        coping.length,
        SLAB_STEP,
        STEPS * 2,
    ));
    if coping.drip.is_none() && coping.kind != CopingKind::Rowlock {
        tries.push((1, Alteration::Choice(Choice::CopingDrip)));
    }
    if coping.kind == CopingKind::Rowlock {
        for kind in [CopingKind::Stone, CopingKind::Concrete] {
            tries.push((STEPS, Alteration::Choice(Choice::Cover(kind))));
        }
        tries.extend(opening_sizes(part));
    }
    tries
}

fn corbels(part: &MeasuredPart) -> Tries {
    let mut tries = Tries::new();
    let most =
        (part.unit_height.nm() / CORBEL_SHARES.0).min(part.rules.shortest_piece / CORBEL_SHARES.1);
    let module = part.rules.unit + part.rules.joint;
    for opening in &part.openings {
        let Some(corbel) = &opening.corbel else {
            continue;
        };
        let asked = part.part.openings.iter().find(|o| o.name == opening.name);
        let asked = asked.and_then(|opening| opening.corbel?.step);
        let from = Amount::Length(Length::from_nm(corbel.step));
        let of = || FigureOf::CorbelStep(opening.name.clone());
        if asked.is_some() {
            tries.push((1, figure(of(), from, Amount::Usual)));
        }
        let mut step = next_step(module, None, most);
        for number in 1..=CORBEL_STEPS {
            let Some(to) = step else { break };
            if to != corbel.step {
                let to = Amount::Length(Length::from_nm(to));
                tries.push((number as i64, figure(of(), from, to)));
            }
            step = next_step(module, Some(to), most);
        }
    }
    if !tries.is_empty() {
        tries.extend(opening_sizes(part));
        tries.extend(super::openings_and_leaves(part));
    }
    tries
}

fn courses(part: &Part) -> Tries {
    let laid = part.coursing.laid.iter();
    laid.flat_map(|&(course, from)| {
        let others = Laying::ALL
            .into_iter()
            .filter(move |to| to.is_upright() && *to != from);
        let to = others.map(Some).chain([None]);
        (1..).zip(to).map(move |(step, to)| {
            let change = Choice::CourseLaid { course, from, to };
            (step, Alteration::Choice(change))
        })
    })
    .collect()
}

fn curves(part: &MeasuredPart) -> Tries {
    let Shape::Curve(curve) = part.part.shape else {
        return Tries::new();
    };
    let mut tries = lengths(&FigureOf::Radius, curve.radius, RADIUS_STEP, RADIUS_STEPS);
    tries.push((1, Alteration::Choice(Choice::CurveCut(!curve.cut))));
    let from = part.part.thickness;
    let to = if from == 1 { 2 } else { 1 };
    let thick = figure(
        FigureOf::Thickness,
        Amount::Halves(from),
        Amount::Halves(to),
    );
    tries.push((STEPS, thick));
    tries
}

fn ducts(plan: &Plan, part: &MeasuredPart) -> Tries {
    let through =
        |duct: &&crate::plan::Duct| duct.from == part.name || duct.to.as_ref() == Some(&part.name);
    let mut tries = super::ducts(plan, part);
    for duct in plan.ducts.iter().filter(through) {
        let name = || duct.name.clone();
        tries.extend(counts(
            &FigureOf::DuctCourse(name()),
            duct.course,
            both_ways(STEPS),
        ));
        let of = FigureOf::DuctRaise(name());
        for by in both_ways(RAISE_STEPS) {
            let to = Amount::Length(duct.raise + RAISE_STEP * by);
            let from = Amount::Length(duct.raise);
            tries.push((by.abs(), figure(of.clone(), from, to)));
        }
        let pipe = FigureOf::DuctDiameter(name());
        tries.extend(lengths(&pipe, duct.diameter, PIPE_STEP, STEPS * 2));
    }
    tries
}

/// Wider gaps between parts beside this one, and their places.
fn gaps(plan: &Plan, part: &MeasuredPart) -> Tries {
    let mut tries = Tries::new();
    for (name, placed) in &plan.parts {
        match &placed.placement {
            Placement::Against { other, gap, .. } if *other == part.name || *name == part.name => {
                let joint = plan.setting.joints.head.nominal;
                let from = match gap {
                    Some(Size::Length(gap)) => *gap,
                    // As it stands: units between faces with a joint more.
                    Some(Size::HalfUnits(halves)) => {
                        ((plan.setting.unit.length + joint) * *halves).half() + joint
                    }
                    None => Length::ZERO,
                };
                let of = FigureOf::Gap(name.clone());
                tries.extend((1..=GAP_STEPS).map(|by| {
                    let to = Amount::Length(from + GAP_STEP * by);
                    (by, figure(of.clone(), Amount::Length(from), to))
                }));
            }
            Placement::At(x, y) => {
                for (of, from) in [
                    (FigureOf::PlaceRight(name.clone()), *x),
                    (FigureOf::PlaceBack(name.clone()), *y),
                ] {
                    tries.extend(both_ways(GAP_STEPS).map(|by| {
                        let to = Amount::Length(from + GAP_STEP * by);
                        (by.abs(), figure(of.clone(), Amount::Length(from), to))
                    }));
                }
            }
            Placement::Origin | Placement::Against { .. } => {}
        }
    }
    tries
}

fn heights(part: &MeasuredPart) -> Tries {
    if part.lines.is_some() {
        return Tries::new();
    }
    let mut tries = counts(&FigureOf::Courses, part.courses, both_ways(COURSES_STEPS));
    let from = part.part.thickness;
    for by in 1..=THICKER {
        let thicker = (Amount::Halves(from), Amount::Halves(from + by));
        tries.push((by + 1, figure(FigureOf::Thickness, thicker.0, thicker.1)));
    }
    tries
}

fn ledges(part: &MeasuredPart) -> Tries {
    let mut tries = Tries::new();
    for (row, ledge) in part.part.ledges.iter().enumerate() {
        tries.extend(counts(&FigureOf::LedgeCount(row), ledge.count, [-1, 1]));
        for by in both_ways(STEPS) {
            if let Some(to) = count(ledge.course, by) {
                let from = ledge.course;
                tries.push((by.abs(), Alteration::LedgeCourse { row, from, to }));
            }
        }
        let from = ledge.project;
        // Eighths of a unit less, as a length.
        let long = match from {
            Size::Length(length) => length,
            Size::HalfUnits(halves) => (part.setting.unit.length * halves).half(),
        };
        for by in 1..=3 {
            let to = long - Length::from_nm(part.rules.unit * by / 8);
            if to.is_positive() {
                let amounts = (Amount::Size(from), Amount::Size(Size::Length(to)));
                tries.push((
                    by,
                    figure(FigureOf::LedgeProject(row), amounts.0, amounts.1),
                ));
            }
        }
    }
    tries.extend(counts(&FigureOf::Courses, part.courses, both_ways(STEPS)));
    tries
}

fn leaves(part: &Part) -> Tries {
    let (across, up) = LEAF_TIES;
    let tied = Alteration::Choice(Choice::LeavesTied { across, up });
    if part.leaves.is_some() {
        return vec![(1, tied)];
    }
    // Thick walls laid in leaves are tied by the headers of a bond.
    let to = |(step, name): (i64, &str)| {
        let (from, to) = ("stretcher".to_owned(), name.to_owned());
        (step, Alteration::Choice(Choice::Bond { from, to }))
    };
    let headed = ["english garden", "flemish garden", "english", "flemish"];
    (1..).zip(headed).map(to).collect()
}

fn lids(plan: &Plan, part: &MeasuredPart) -> Tries {
    let mut tries = Tries::new();
    if let Some(lid) = plan.lids.iter().find(|lid| lid.part == part.name) {
        tries.extend(counts(&FigureOf::LidPieces, lid.pieces, [1, 2, 3, 4]));
    }
    if let Some(coping) = part.part.coping {
        let of = FigureOf::CopingSlab;
        tries.extend(lengths(&of, coping.length, SLAB_STEP, STEPS * 3));
    }
    tries
}

fn linings(part: &MeasuredPart) -> Tries {
    let Some(lines) = part.lines else {
        return Tries::new();
    };
    let of = FigureOf::LiningGap;
    let mut tries = lengths(&of, lines.lining.gap, LINING_STEP, LINING_STEPS);
    tries.extend(counts(
        &FigureOf::LiningCourses,
        part.courses,
        both_ways(STEPS),
    ));
    if part.part.snap != Snap::Down {
        let down = Choice::LiningSnap(Snap::Down);
        tries.push((1, Alteration::Choice(down)));
    }
    tries
}

fn lintels(part: &MeasuredPart) -> Tries {
    let mut tries = super::openings_and_leaves(part);
    for opening in &part.part.openings {
        let carried =
            opening.lintel.is_some() || opening.arch.is_some() || opening.corbel.is_some();
        let kinds = [LintelKind::Steel, LintelKind::Concrete, LintelKind::Stone];
        for (step, kind) in (1..).zip(kinds) {
            if !carried {
                let name = opening.name.clone();
                tries.push((step, Alteration::Choice(Choice::Bridge { name, kind })));
            }
        }
        let of = FigureOf::OpeningTop(opening.name.clone());
        tries.extend(counts(&of, opening.to_course, both_ways(STEPS)));
    }
    for (row, vent) in part.part.vents.iter().enumerate() {
        let (course, side, from) = (vent.course, vent.side, vent.width);
        for by in 1..=STEPS * 2 {
            let to = from - super::VENT_STEP * by;
            let narrower = Alteration::VentWidth {
                row,
                course,
                side,
                from,
                to,
            };
            tries.extend(to.is_positive().then_some((by, narrower)));
        }
    }
    tries.extend(opening_sizes(part));
    tries.extend(heights(part));
    tries
}

fn sills(part: &Part) -> Tries {
    let mut tries = Tries::new();
    for opening in &part.openings {
        let Some(sill) = opening.sill else { continue };
        let of = FigureOf::SillProject(opening.name.clone());
        tries.extend(lengths(&of, sill.project, SILL_STEP, SILL_STEPS));
        let from = sill.slope.map_or(Amount::Usual, Amount::Count);
        for (step, fall) in (1..).zip(FALLS) {
            let of = FigureOf::SillSlope(opening.name.clone());
            tries.push((step, figure(of, from, Amount::Count(fall))));
        }
    }
    tries
}

fn standing(plan: &Plan, part: &MeasuredPart) -> Tries {
    let against = plan.parts.get(&part.name).map(|placed| &placed.placement);
    let mut tries = opening_sizes(part);
    if matches!(against, Some(Placement::Against { .. })) {
        tries.push((1, Alteration::Choice(Choice::Centred)));
        tries.push((STEPS, Alteration::Choice(Choice::SizedAsBelow)));
    }
    tries
}
