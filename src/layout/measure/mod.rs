//! Sizes and places of everything in a plan, once its unit is known: counts become lengths, lengths are brought to
//! units, parts are put in their places, and what cannot be built is refused before anything is laid.

mod annexes;
mod arches;
mod branches;
mod coping;
mod corbels;
mod curve;
mod duct_heads;
mod ducts;
mod features;
mod hearting;
mod lining;
mod path;
mod pier_rows;
mod pierced;
mod place;
mod round;
mod sizes;
mod upright;

use std::sync::Arc;

pub(in crate::layout) use branches::{Crossing, MeasuredBranch, Meets};
pub(in crate::layout) use coping::{CopingRun, MeasuredCoping, rows_across};
use coping::{check_copings, check_uncovered};
use curve::measure_curve;
use ducts::measure_duct;
use hearting::Hearting;
use lining::measure_lining;
pub(in crate::layout) use lining::{Lines, Through};
use path::face_legs;
use place::place;
pub(in crate::layout) use round::MeasuredRing;
use round::measure_ring;
use sizes::{Gauger, courses_of};
use upright::{Layers, uprights};
pub(in crate::layout) use upright::{Row, UprightCourse};

use super::arch::MeasuredArch;
use super::corbel::MeasuredCorbel;
use super::curve::MeasuredCurve;
use super::duct_ring::MeasuredDuctRing;
use super::frame::{Strip, strips};
use super::geometry::{Axis, Cuboid};
use super::interval::Rules;
use super::laid::{Compartment, Snapped, VoidKind};
use super::sill::MeasuredSill;
use crate::layout::heights::Heights;
use crate::masonry::Bond;
use crate::plan::{
    Laying, LintelKind, Notch, OwnSetting, Part, Placement, Plan, PlanError, Setting, Shape,
    SideRef, most_pieces,
};
use crate::quantity::Length;

/// A plan with every size and place known.
#[derive(Clone, Debug)]
pub struct Measured {
    pub(in crate::layout) parts: Vec<MeasuredPart>,
    pub(in crate::layout) ducts: Vec<MeasuredDuct>,
}

#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredPart {
    pub(in crate::layout) name: String,
    pub(in crate::layout) part: Arc<Part>,
    pub(in crate::layout) rules: Rules,
    /// What it is laid with: the plan's setting, or its own.
    pub(in crate::layout) setting: Arc<Setting>,
    pub(in crate::layout) bond: Bond,
    /// Whether headers bond its walls, one unit thick or more.
    pub(in crate::layout) bonded: bool,
    pub(in crate::layout) heights: Heights,
    pub(in crate::layout) unit_width: Length,
    /// Height of a unit as it is made.
    pub(in crate::layout) unit_height: Length,
    /// Courses whose units stand on end or lie on edge.
    pub(in crate::layout) upright: Vec<UprightCourse>,
    /// What covers its top.
    pub(in crate::layout) coping: Option<MeasuredCoping>,
    pub(in crate::layout) courses: u32,
    pub(in crate::layout) base: Length,
    pub(in crate::layout) closed: bool,
    pub(in crate::layout) thickness: Length,
    /// Strips of each leaf, outermost first.
    pub(in crate::layout) leaves: Vec<Vec<Strip>>,
    /// Strips of the space between two leaves that have one of their own.
    pub(in crate::layout) between: Vec<Strip>,
    /// Strips of the whole thickness.
    pub(in crate::layout) whole: Vec<Strip>,
    pub(in crate::layout) outside: Cuboid,
    pub(in crate::layout) inside: Option<Cuboid>,
    pub(in crate::layout) snapped: Vec<Snapped>,
    pub(in crate::layout) openings: Vec<MeasuredOpening>,
    pub(in crate::layout) vents: Vec<MeasuredVent>,
    pub(in crate::layout) ledges: Vec<MeasuredLedge>,
    pub(in crate::layout) core: bool,
    /// How many legs its own path has; the legs of branches follow them in `whole`.
    pub(in crate::layout) sides: usize,
    pub(in crate::layout) branches: Vec<MeasuredBranch>,
    pub(in crate::layout) compartments: Vec<Compartment>,
    /// Ways of filling its middle with units, taken in turn; for a pier.
    pub(in crate::layout) hearting: Vec<Hearting>,
    /// The box round its own walls, branches left out.
    pub(in crate::layout) body: Cuboid,
    /// Its round, for a ring; a ring has no strips.
    pub(in crate::layout) round: Option<MeasuredRing>,
    /// What it lines, for a lining.
    pub(in crate::layout) lines: Option<Lines>,
    /// Its stones, for a curved wall, which has a round too.
    pub(in crate::layout) curve: Option<MeasuredCurve>,
}

/// An opening in its leg.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredOpening {
    pub(in crate::layout) name: String,
    pub(in crate::layout) kind: VoidKind,
    pub(in crate::layout) side: SideRef,
    pub(in crate::layout) leg: usize,
    pub(in crate::layout) span: (i64, i64),
    pub(in crate::layout) courses: (u32, u32),
    pub(in crate::layout) lintel: Option<MeasuredLintel>,
    pub(in crate::layout) arch: Option<MeasuredArch>,
    pub(in crate::layout) corbel: Option<MeasuredCorbel>,
    pub(in crate::layout) sill: Option<MeasuredSill>,
}

#[derive(Clone, Copy, Debug)]
pub(in crate::layout) struct MeasuredLintel {
    pub(in crate::layout) kind: LintelKind,
    pub(in crate::layout) span: (i64, i64),
    pub(in crate::layout) bar: Length,
    pub(in crate::layout) courses: u32,
}

#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredVent {
    pub(in crate::layout) name: String,
    pub(in crate::layout) side: SideRef,
    pub(in crate::layout) leg: usize,
    pub(in crate::layout) course: u32,
    pub(in crate::layout) width: i64,
    /// Middles, sorted.
    pub(in crate::layout) middles: Vec<i64>,
}

#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredLedge {
    pub(in crate::layout) leg: usize,
    pub(in crate::layout) course: u32,
    pub(in crate::layout) project: i64,
    pub(in crate::layout) notch: Option<Notch>,
    pub(in crate::layout) middles: Vec<i64>,
}

/// A duct in its walls.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredDuct {
    pub(in crate::layout) index: usize,
    pub(in crate::layout) from: usize,
    pub(in crate::layout) to: Option<usize>,
    pub(in crate::layout) axis: Axis,
    pub(in crate::layout) across: i64,
    pub(in crate::layout) z: i64,
    pub(in crate::layout) radius: i64,
    /// The walls it passes.
    pub(in crate::layout) walls: Vec<DuctWall>,
    pub(in crate::layout) gap: i64,
    pub(in crate::layout) wall_total: i64,
}

/// A wall that a duct passes.
#[derive(Clone, Debug)]
pub(in crate::layout) struct DuctWall {
    pub(in crate::layout) part: usize,
    pub(in crate::layout) leg: usize,
    /// Radius of the hole: the pipe with its joint.
    pub(in crate::layout) hole: i64,
    /// A ring of voussoirs round it.
    pub(in crate::layout) ring: Option<MeasuredDuctRing>,
}

impl DuctWall {
    /// How far from its middle it takes of the wall.
    pub(in crate::layout) fn reach(&self) -> i64 {
        self.ring.as_ref().map_or(self.hole, |ring| ring.outline)
    }
}

impl MeasuredDuct {
    /// Whether both pass the same wall so near that their joints meet.
    fn meets(&self, other: &MeasuredDuct) -> bool {
        let (across, up) = (self.across - other.across, self.z - other.z);
        let far = i128::from(across).pow(2) + i128::from(up).pow(2);
        self.walls.iter().any(|wall| {
            let same = |theirs: &&DuctWall| (theirs.part, theirs.leg) == (wall.part, wall.leg);
            let theirs = other.walls.iter().find(same);
            theirs.is_some_and(|theirs| far < i128::from(wall.reach() + theirs.reach()).pow(2))
        })
    }
}

/// Bearing that a lintel is given where the jambs allow it: the larger of the published figures
/// (Ontario Building Code 9.20.5.2 and UK practice, 150 mm).
pub const USUAL_BEARING: Length = Length::mm(150);

/// The joint round a duct, in each wall its head joint.
pub(in crate::layout) fn duct_joint(wall: &MeasuredPart) -> i64 {
    wall.setting.joints.head.nominal.nm()
}

/// Finds every size and place.
///
/// # Errors
/// The first thing that cannot be built, with its part, cause and remedy.
pub fn measure(plan: &Plan) -> Result<Measured, PlanError> {
    let mut parts: Vec<MeasuredPart> = Vec::with_capacity(plan.parts.len());
    let mut pieces: i64 = 0;
    let common = Arc::new(plan.setting.clone());
    for (name, placed) in &plan.parts {
        let measured = measure_part(name, &placed.part, &placed.placement, &common, &parts)
            .map_err(|error| error.in_part(name))?;
        check_unit_name(&measured, &parts).map_err(|error| error.in_part(name))?;
        if let Placement::Against {
            relation, other, ..
        } = &placed.placement
        {
            let what = format!("\"{name}\"");
            check_uncovered(&what, other, Some(*relation), &parts)
                .map_err(|error| error.in_part(name).at_key(relation.word()))?;
        }
        pieces = pieces.saturating_add(measured.about_pieces());
        let most = most_pieces();
        if pieces > most {
            return Err(PlanError::new(
                "too-many-pieces",
                format!("the plan comes to about {pieces} pieces; at most {most} are laid"),
                "check the sizes and courses, or split the plan",
            )
            .in_part(name));
        }
        for other in &parts {
            if let Some(overlap) = measured.overlap(other) {
                let (remedy, key) = match &placed.placement {
                    Placement::Origin => (
                        format!("say where it stands, such as right_of: \"{}\"", other.name),
                        "name",
                    ),
                    Placement::At(..) => ("choose another place".to_owned(), "at"),
                    Placement::Against { relation, .. } => (
                        "move one of them, or give a larger gap".to_owned(),
                        relation.word(),
                    ),
                };
                return Err(PlanError::new(
                    "parts-overlap",
                    format!(
                        "\"{name}\" and \"{}\" overlap by {} × {} in plan",
                        other.name, overlap.length, overlap.width
                    ),
                    remedy,
                )
                .at_key(key));
            }
        }
        parts.push(measured);
    }
    check_copings(&parts)?;
    let mut ducts: Vec<MeasuredDuct> = Vec::with_capacity(plan.ducts.len());
    let mut heads = Vec::new();
    for (index, duct) in plan.ducts.iter().enumerate() {
        let measured =
            measure_duct(index, duct, &parts).map_err(|error| error.in_part(&duct.name))?;
        if let Some(other) = ducts.iter().find(|other| measured.meets(other)) {
            let other = plan.ducts.get(other.index).map_or("", |duct| &duct.name);
            return Err(PlanError::new(
                "openings-overlap",
                format!("\"{}\" runs into the duct \"{other}\"", duct.name),
                "choose another course, or shift one of them",
            )
            .at_key("course"));
        }
        measured.check_uprights(&duct.name, &parts)?;
        heads.extend(
            measured
                .heads(duct, &parts)
                .map_err(|error| error.in_part(&duct.name))?,
        );
        ducts.push(measured);
    }
    for (part, head) in heads {
        if let Some(part) = parts.get_mut(part) {
            part.openings.push(head);
        }
    }
    for lid in &plan.lids {
        let Some(part) = parts.iter().find(|part| part.name == lid.part) else {
            continue;
        };
        if part.round.is_some() {
            return Err(PlanError::new(
                "lid-on-a-ring",
                format!("\"{}\" is a ring; a lid is cast square", lid.part),
                "leave the ring open, or build the part as a chamber",
            )
            .at_key("part"));
        }
        if lid.annex.is_none() {
            check_uncovered("the lid", &lid.part, None, &parts)
                .map_err(|error| error.at_key("part"))?;
        }
        // The rim has to lie on the walls all round.
        let under = part.lid_site(lid).and_then(|site| site.inside);
        let under = under.unwrap_or(part.body);
        let most = under.length.min(under.width);
        if lid.hole > most {
            return Err(PlanError::new(
                "hole-too-large",
                format!(
                    "a hole of {} is wider than \"{}\", which is clear for {most}",
                    lid.hole,
                    lid.name()
                ),
                "write a smaller hole, such as 150.mm",
            )
            .at_key("hole"));
        }
    }
    check_lids(plan, &parts)?;
    Ok(Measured { parts, ducts })
}

/// Refuses lids that run into other parts or other lids.
fn check_lids(plan: &Plan, parts: &[MeasuredPart]) -> Result<(), PlanError> {
    let mut known: Vec<(&str, Cuboid)> = Vec::with_capacity(plan.lids.len());
    for lid in &plan.lids {
        let Some(under) = parts.iter().find(|part| part.name == lid.part) else {
            continue;
        };
        let Some(site) = under.lid_site(lid) else {
            continue;
        };
        let bottom = site.over.heights().1 + under.setting.joints.bed.nominal;
        let over = Cuboid::along(
            Axis::X,
            site.over.span(Axis::X),
            site.over.span(Axis::Y),
            (bottom, bottom + lid.depth),
        );
        let clash = |what: String| {
            PlanError::new(
                "lid-in-the-way",
                format!("the lid of \"{}\" runs into {what}", lid.name()),
                "move the part, let the lid overhang less, or leave it out",
            )
            .at_key("overhang")
        };
        let meets = |wall: &Cuboid| wall.shared(&over).is_some();
        let part = parts
            .iter()
            .find(|part| part.wall_boxes().iter().any(meets));
        if let Some(part) = part {
            return Err(clash(format!("\"{}\"", part.name)));
        }
        if let Some((name, _)) = known.iter().find(|(_, other)| meets(other)) {
            return Err(clash(format!("the lid of \"{name}\"")));
        }
        known.push((lid.name(), over));
    }
    Ok(())
}

fn measure_part(
    name: &str,
    part: &Arc<Part>,
    placement: &Placement,
    common: &Arc<Setting>,
    others: &[MeasuredPart],
) -> Result<MeasuredPart, PlanError> {
    if let Shape::Lining(lining) = &part.shape {
        return measure_lining(name, (part, lining), placement, common, others);
    }
    let setting = setting_of(part, common)?;
    if let Shape::Curve(curve) = part.shape {
        return measure_curve(name, part, curve, placement, (setting, common), others);
    }
    if let Shape::Ring(ring) = part.shape {
        return measure_ring(name, part, ring, placement, (setting, common), others);
    }
    let bond = setting.bond.clone();
    let unit = &setting.unit;
    let joint = setting.joints.head.nominal.nm();
    let module = unit.length.nm() + joint;
    let gauge = setting.gauge;
    let rules = Rules {
        unit: unit.length.nm(),
        joint,
        shortest_joint: setting.joints.head.shortest.nm(),
        longest_joint: setting.joints.head.longest.nm(),
        parts: bond.parts,
        fractions: bond.pieces.clone(),
        least_lap: unit.length.nm() * bond.least_lap_of_unit.0 / bond.least_lap_of_unit.1,
        shortest_piece: (module / 2 - joint).min(unit.width.nm()),
    };
    let mut snapped = Vec::new();
    part.coursing.check()?;
    let standing = |laying: Laying| laying.sizes(unit)[2];
    let heights_to = |courses| Heights::of(&gauge, unit.height, &part.coursing, courses, standing);
    let course_heights = courses_of(part.rise, heights_to, part.snap, &mut snapped)?;
    let courses = course_heights.count();
    check_coursing(part, courses)?;
    let leaf = unit.width.nm();
    let (leaves, space) = match &part.leaves {
        None => (part.thickness, joint),
        Some(two) => {
            two.check()?;
            (2, two.space.nm())
        }
    };
    // Two leaves with a space between are each half a unit thick: their headers are snapped.
    let bonded = bond.has_headers() && leaves > 1 && part.leaves.is_none();
    let thickness = if bonded {
        MeasuredPart::bonded_thickness(&bond.name, leaves, &rules, unit.width)?
    } else {
        leaves * leaf + (leaves - 1) * space
    };
    let mut gauger = Gauger {
        module,
        joint,
        snap: part.snap,
        snapped: &mut snapped,
    };
    let (legs, closed, core) = face_legs(part, &mut gauger, thickness)?;
    let at_origin = strips(&legs, closed, (0, 0), 0, thickness);
    let low = lowest(&at_origin);
    let high = highest(&at_origin);
    let size = (high.0 - low.0, high.1 - low.1);
    let base = place(placement, size, common, others)?;
    let start = (base.0 - low.0, base.1 - low.1);
    let whole = strips(&legs, closed, start, 0, thickness);
    let rise = course_heights.top_of(courses);
    let base_z = Length::from_nm(base.2);
    let heights = (base_z, base_z + rise);
    let outside = cuboid(
        (base.0, base.0 + size.0),
        (base.1, base.1 + size.1),
        heights,
    );
    // A clear width no wider than a joint is a collar joint, not an inside.
    let inside = inside_of(&whole, closed, heights)
        .filter(|inside| inside.length.min(inside.width) > setting.joints.head.longest);
    if whole.len() == 4 && closed && inside.is_none() && part.shape_has_inside() {
        return Err(PlanError::new(
            "chamber-without-inside",
            format!(
                "nothing is left inside: {} × {} outside with walls {} thick",
                outside.length,
                outside.width,
                Length::from_nm(thickness)
            ),
            "make it larger, or its walls thinner",
        ));
    }
    if core && inside.is_none() {
        return Err(PlanError::new(
            "pier-without-middle",
            "the pier has no middle to fill with concrete",
            "make it at least 1.5 units each way, or leave `core` out",
        ));
    }
    let layers = Layers {
        count: leaves,
        between: if bonded {
            (thickness - leaves * leaf) / (leaves - 1)
        } else {
            space
        },
        parted: part.leaves.is_some(),
    };
    let upright = uprights(&part.coursing, unit, &rules, layers, |offset, deep| {
        strips(&legs, closed, start, offset, deep)
    })?;
    let mut measured = MeasuredPart {
        name: name.to_owned(),
        part: Arc::clone(part),
        rules,
        setting: Arc::clone(&setting),
        bond,
        bonded,
        heights: course_heights,
        unit_width: unit.width,
        unit_height: unit.height,
        upright,
        coping: None,
        courses,
        base: base_z,
        closed,
        thickness: Length::from_nm(thickness),
        leaves: if bonded {
            vec![whole.clone()]
        } else {
            (0..leaves)
                .map(|k| strips(&legs, closed, start, k * (leaf + space), leaf))
                .collect()
        },
        between: match part.leaves {
            None => Vec::new(),
            Some(_) => strips(&legs, closed, start, leaf, space),
        },
        sides: whole.len(),
        whole,
        outside,
        body: outside,
        inside,
        snapped: Vec::new(),
        branches: Vec::new(),
        hearting: Vec::new(),
        compartments: Vec::new(),
        openings: Vec::new(),
        vents: Vec::new(),
        ledges: Vec::new(),
        core,
        round: None,
        lines: None,
        curve: None,
    };
    if measured.bonded {
        measured.check_bonded()?;
    }
    measured.check_paths()?;
    measured.measure_hearting()?;
    measured.measure_branches(&mut gauger)?;
    measured.measure_openings(&mut gauger)?;
    measured.measure_vents()?;
    measured.measure_ledges(module)?;
    measured.check_junctions()?;
    measured.check_uprights()?;
    measured.measure_coping()?;
    measured.compartments = measured.measure_compartments()?;
    measured.compartments.extend(measured.annex_spaces());
    let branches = measured.branches.iter().flat_map(|branch| &branch.boxes);
    measured.outside = branches.fold(measured.outside, |all, one| all.around(one));
    measured.snapped = snapped;
    Ok(measured)
}

/// Refuses two units that could not be told apart on a list.
fn check_unit_name(part: &MeasuredPart, others: &[MeasuredPart]) -> Result<(), PlanError> {
    let unit = &part.setting.unit;
    let named = |other: &&MeasuredPart| other.setting.unit.name == unit.name;
    let other = others.iter().filter(named);
    match other
        .map(|other| &other.setting.unit)
        .find(|other| !unit.is_same(other))
    {
        None => Ok(()),
        Some(_) => Err(PlanError::new(
            "unit-name-twice",
            format!("two units of different sizes are named \"{}\"", unit.name),
            "give each its own name, so that they can be told apart when they are bought",
        )),
    }
}

/// What a part is laid with in a plan of a common setting.
fn setting_of(part: &Part, common: &Arc<Setting>) -> Result<Arc<Setting>, PlanError> {
    let mut setting = match &part.own {
        own if *own == OwnSetting::default() => Arc::clone(common),
        own => Arc::new(common.with_own(own)?),
    };
    // A pier is a block of its own, not a length of wall whose headers bond it through.
    let as_block = matches!(part.shape, Shape::Pier { .. }) && setting.bond.has_headers();
    if as_block && part.own.bond.is_none() {
        let stretcher = OwnSetting {
            bond: Some("stretcher".to_owned()),
            ..OwnSetting::default()
        };
        setting = Arc::new(setting.with_own(&stretcher)?);
    }
    Ok(setting)
}

/// Refuses beds and split courses above the part.
fn check_coursing(part: &Part, courses: u32) -> Result<(), PlanError> {
    let coursing = &part.coursing;
    let beds = coursing.under.iter().map(|(at, _)| (*at, "beds", "a bed"));
    let split = coursing.split.iter();
    let split = split.map(|(at, _)| (*at, "split", "a split course"));
    let laid = coursing.laid.iter();
    let laid = laid.map(|(at, laying)| (*at, "laid", laying.course_word()));
    match beds.chain(split).chain(laid).find(|(at, ..)| *at > courses) {
        Some((course, key, what)) => Err(PlanError::above(what, course, courses).at_key(key)),
        None => Ok(()),
    }
}

impl Part {
    fn shape_has_inside(&self) -> bool {
        !matches!(self.shape, Shape::Pier { .. })
    }
}

fn plan_box(strip: &Strip) -> ((i64, i64), (i64, i64)) {
    let across = (strip.across, strip.across + strip.thickness);
    match strip.axis {
        Axis::X => (strip.span(), across),
        Axis::Y => (across, strip.span()),
    }
}

fn lowest(strips: &[Strip]) -> (i64, i64) {
    let boxes = strips.iter().map(plan_box);
    boxes.fold((i64::MAX, i64::MAX), |(x, y), (a, b)| {
        (x.min(a.0), y.min(b.0))
    })
}

fn highest(strips: &[Strip]) -> (i64, i64) {
    let boxes = strips.iter().map(plan_box);
    boxes.fold((i64::MIN, i64::MIN), |(x, y), (a, b)| {
        (x.max(a.1), y.max(b.1))
    })
}

pub(in crate::layout) fn cuboid(x: (i64, i64), y: (i64, i64), z: (Length, Length)) -> Cuboid {
    let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
    Cuboid::along(Axis::X, length(x), length(y), z)
}

/// Boxes of strips in plan, one a strip, corners counted once.
pub(in crate::layout) fn strip_boxes(
    strips: &[Strip],
    closed: bool,
    heights: (Length, Length),
) -> Vec<Cuboid> {
    let of = |(index, strip): (usize, &Strip)| {
        // Each corner block goes with the leg that ends at it as the path is walked.
        let start_shared = closed || index > 0;
        let (mut from, mut to) = strip.span();
        if start_shared {
            if strip.starts_low {
                from += strip.thickness;
            } else {
                to -= strip.thickness;
            }
        }
        let across = (strip.across, strip.across + strip.thickness);
        match strip.axis {
            Axis::X => cuboid((from, to), across, heights),
            Axis::Y => cuboid(across, (from, to), heights),
        }
    };
    strips.iter().enumerate().map(of).collect()
}

/// The clear rectangle within four walls.
fn inside_of(whole: &[Strip], closed: bool, heights: (Length, Length)) -> Option<Cuboid> {
    if !closed || whole.len() != 4 {
        return None;
    }
    let front = whole.iter().find(|strip| strip.axis == Axis::X)?;
    let side = whole.iter().find(|strip| strip.axis == Axis::Y)?;
    let (x, y) = (front.clear(), side.clear());
    (x.0 < x.1 && y.0 < y.1).then(|| cuboid(x, y, heights))
}

fn nm((from, to): (Length, Length)) -> (i64, i64) {
    (from.nm(), to.nm())
}

/// The leg, counted from 0, that a reference names: a chamber's sides are walked from the front, branches come after
/// the legs of the part's own path.
fn leg_of(side: SideRef, sides: usize) -> usize {
    match side {
        SideRef::Branch(branch) => sides + branch,
        SideRef::Side(side) => side.index(),
        SideRef::Leg(leg) => leg,
    }
}

impl MeasuredPart {
    /// About how many pieces it will take.
    fn about_pieces(&self) -> i64 {
        if let Some(round) = &self.round {
            return i64::from(round.fan.count) * i64::from(self.courses);
        }
        let per_course: i64 = self
            .leaves
            .iter()
            .flatten()
            .chain(self.branches.iter().flat_map(|branch| &branch.leaves))
            .map(|strip| {
                (strip.span().1 - strip.span().0) / (self.rules.unit + self.rules.joint) + 2
            })
            .sum();
        per_course.saturating_mul(i64::from(self.courses))
    }

    /// Boxes of its walls in plan, corners counted once, over its whole height.
    pub(in crate::layout) fn wall_boxes(&self) -> Vec<Cuboid> {
        if self.round.is_some() {
            return vec![self.outside];
        }
        let heights = self.body.heights();
        if self.closed && self.inside.is_none() && self.sides == 4 {
            return vec![self.body];
        }
        let branches = self
            .branches
            .iter()
            .flat_map(|branch| &branch.boxes)
            .copied();
        let own = self.whole.get(..self.sides).unwrap_or_default();
        strip_boxes(own, self.closed, heights)
            .into_iter()
            .filter(|wall| wall.length.is_positive() && wall.width.is_positive())
            .chain(branches)
            .collect()
    }

    fn overlap(&self, other: &MeasuredPart) -> Option<Cuboid> {
        let both = self.outside.shared(&other.outside)?;
        if let Some(curve) = &self.curve {
            return self.curve_meets(curve, other).then_some(both);
        }
        if other.curve.is_some() {
            return other.overlap(self);
        }
        match (&self.round, &other.round) {
            (Some(one), Some(two)) => return one.meets_ring(two).then_some(both),
            (Some(ring), None) => {
                let walls = other.wall_boxes();
                let meets = |wall: &&Cuboid| ring.meets_box(wall);
                let mut met = walls.iter().filter(meets);
                return met.find_map(|wall| wall.shared(&self.outside));
            }
            (None, Some(_)) => return other.overlap(self),
            (None, None) => {}
        }
        let others = other.wall_boxes();
        self.wall_boxes()
            .iter()
            .flat_map(|wall| others.iter().filter_map(|theirs| wall.shared(theirs)))
            .next()
    }

    /// A path must not cross or touch itself.
    fn check_paths(&self) -> Result<(), PlanError> {
        for strip in self.leaves.iter().flatten() {
            let (from, to) = strip.span();
            // Two corners must not share a square: both legs beside may pass it in one course.
            let cornered = strip.low_corner.is_some() && strip.high_corner.is_some();
            let least = if cornered {
                2 * strip.thickness
            } else {
                strip.thickness
            };
            if to - from < least || strip.high < strip.low {
                return Err(PlanError::new(
                    "leg-too-short",
                    format!(
                        "a leg {} long cannot turn the corners at its ends",
                        Length::from_nm(to - from)
                    ),
                    "make the leg longer, or the wall thinner",
                ));
            }
        }
        let walls = self.wall_boxes();
        for (index, wall) in walls.iter().enumerate() {
            for other in walls.iter().skip(index + 1) {
                if wall.shared(other).is_some() {
                    return Err(PlanError::new(
                        "path-crosses-itself",
                        "the wall's path comes back over itself",
                        "lengthen a leg, or build two walls",
                    )
                    .at_key("legs"));
                }
            }
        }
        Ok(())
    }

    fn strip(&self, leg: usize) -> Result<Strip, PlanError> {
        self.whole.get(leg).copied().ok_or_else(|| {
            PlanError::new(
                "no-such-leg",
                "the part has no such side",
                "name a side that it has",
            )
        })
    }

    fn course_in_leg(&self, course: u32, what: &str, leg: usize) -> Result<(), PlanError> {
        let most = self.courses_of_leg(leg);
        if course > most {
            return Err(PlanError::above(what, course, most).at_key("course"));
        }
        self.course_in_part(course, what)
    }

    fn course_in_part(&self, course: u32, what: &str) -> Result<(), PlanError> {
        if course == 0 || course > self.courses {
            return Err(PlanError::above(what, course, self.courses).at_key("course"));
        }
        Ok(())
    }
}
