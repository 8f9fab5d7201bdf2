//! Sizes and places of everything in a plan, once its unit is known: counts become lengths, lengths are brought to
//! units, parts are put in their places, and what cannot be built is refused before anything is laid.

use std::sync::Arc;

use super::frame::{FaceLeg, Strip, strips};
use super::geometry::{Axis, Cuboid, shared};
use super::interval::Rules;
use super::laid::Snapped;
use crate::masonry::{Catalogue, Gauge};
use crate::plan::{
    Align, Core, Dimension, Heading, LONGEST_SIDE, Ledge, Leg, Lintel, LintelKind, MOST_COURSES,
    MOST_PIECES, Measure, Notch, Part, Placement, Plan, PlanError, Relation, Rise, Setting, Shape,
    Side, SideRef, Size, Snap, Vent,
};
use crate::quantity::Length;

/// A plan with every size and place known.
#[derive(Clone, Debug)]
pub struct Measured {
    pub(super) parts: Vec<MeasuredPart>,
    pub(super) ducts: Vec<MeasuredDuct>,
}

#[derive(Clone, Debug)]
pub(super) struct MeasuredPart {
    pub(super) name: String,
    pub(super) part: Arc<Part>,
    pub(super) rules: Rules,
    pub(super) shifts: Vec<i64>,
    pub(super) gauge: Gauge,
    pub(super) unit_width: Length,
    pub(super) unit_height: Length,
    pub(super) courses: u32,
    pub(super) base: Length,
    pub(super) closed: bool,
    pub(super) thickness: Length,
    /// Strips of each leaf, outermost first.
    pub(super) leaves: Vec<Vec<Strip>>,
    /// Strips of the whole thickness.
    pub(super) whole: Vec<Strip>,
    pub(super) outside: Cuboid,
    pub(super) inside: Option<Cuboid>,
    pub(super) snapped: Vec<Snapped>,
    pub(super) openings: Vec<MeasuredOpening>,
    pub(super) vents: Vec<MeasuredVent>,
    pub(super) ledges: Vec<MeasuredLedge>,
    pub(super) core: bool,
}

/// An opening in its leg.
#[derive(Clone, Debug)]
pub(super) struct MeasuredOpening {
    pub(super) name: String,
    pub(super) side: SideRef,
    pub(super) leg: usize,
    pub(super) span: (i64, i64),
    pub(super) courses: (u32, u32),
    pub(super) lintel: Option<MeasuredLintel>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct MeasuredLintel {
    pub(super) kind: LintelKind,
    pub(super) span: (i64, i64),
    pub(super) bar: Length,
    pub(super) courses: u32,
}

#[derive(Clone, Debug)]
pub(super) struct MeasuredVent {
    pub(super) name: String,
    pub(super) side: SideRef,
    pub(super) leg: usize,
    pub(super) course: u32,
    pub(super) width: i64,
    /// Middles, sorted.
    pub(super) middles: Vec<i64>,
}

#[derive(Clone, Debug)]
pub(super) struct MeasuredLedge {
    pub(super) leg: usize,
    pub(super) course: u32,
    pub(super) project: i64,
    pub(super) notch: Option<Notch>,
    pub(super) middles: Vec<i64>,
}

/// A duct in its walls.
#[derive(Clone, Debug)]
pub(super) struct MeasuredDuct {
    pub(super) index: usize,
    pub(super) from: usize,
    pub(super) to: Option<usize>,
    pub(super) axis: Axis,
    pub(super) across: i64,
    pub(super) z: i64,
    pub(super) radius: i64,
    pub(super) joint: i64,
    /// Part and leg of each wall it passes.
    pub(super) walls: Vec<(usize, usize)>,
    pub(super) gap: i64,
    pub(super) wall_total: i64,
}

impl MeasuredDuct {
    /// Whether both pass the same wall with less than a joint between them.
    fn meets(&self, other: &MeasuredDuct) -> bool {
        let apart = self.radius + other.radius + self.joint;
        let (across, up) = (self.across - other.across, self.z - other.z);
        self.walls.iter().any(|wall| other.walls.contains(wall))
            && i128::from(across).pow(2) + i128::from(up).pow(2) < i128::from(apart).pow(2)
    }
}

/// Bearing that a lintel is given where the jambs allow it: the larger of the published figures
/// (Ontario Building Code 9.20.5.2 and UK practice, 150 mm).
pub const USUAL_BEARING: Length = Length::mm(150);

/// Finds every size and place.
///
/// # Errors
/// The first thing that cannot be built, with its part, cause and remedy.
pub fn measure(plan: &Plan) -> Result<Measured, PlanError> {
    let mut parts: Vec<MeasuredPart> = Vec::with_capacity(plan.parts.len());
    let mut pieces: i64 = 0;
    for (name, placed) in &plan.parts {
        let measured = measure_part(name, &placed.part, &placed.placement, &plan.setting, &parts)
            .map_err(|error| error.in_part(name))?;
        pieces = pieces.saturating_add(measured.about_pieces());
        if pieces > MOST_PIECES {
            return Err(PlanError::new(
                "too-many-pieces",
                format!("the plan comes to about {pieces} pieces; at most {MOST_PIECES} are laid"),
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
    let mut ducts: Vec<MeasuredDuct> = Vec::with_capacity(plan.ducts.len());
    for (index, duct) in plan.ducts.iter().enumerate() {
        let measured =
            measure_duct(index, duct, &parts, plan).map_err(|error| error.in_part(&duct.name))?;
        if let Some(other) = ducts.iter().find(|other| measured.meets(other)) {
            let other = plan.ducts.get(other.index).map_or("", |duct| &duct.name);
            return Err(PlanError::new(
                "ducts-overlap",
                format!("\"{}\" runs into the duct \"{other}\"", duct.name),
                "choose another course, or shift one of them",
            )
            .at_key("course"));
        }
        ducts.push(measured);
    }
    for lid in &plan.lids {
        let Some(part) = parts.iter().find(|part| part.name == lid.part) else {
            continue;
        };
        let least = part.outside.length.min(part.outside.width);
        if lid.hole >= least {
            return Err(PlanError::new(
                "hole-too-large",
                format!(
                    "a hole of {} leaves nothing of a lid over \"{}\", which is {least} wide",
                    lid.hole, lid.part
                ),
                "write a smaller hole, such as 150.mm",
            )
            .at_key("hole"));
        }
    }
    Ok(Measured { parts, ducts })
}

/// The rule of joints: n units outside or in a free run are n(L + j) − j, inside or in an opening n(L + j) + j,
/// between a face and a return n(L + j).
#[derive(Clone, Copy, PartialEq, Eq)]
enum JointRule {
    Outside,
    Inside,
    Return,
}

struct Gauger<'a> {
    module: i64,
    joint: i64,
    snap: Snap,
    snapped: &'a mut Vec<Snapped>,
}

impl Gauger<'_> {
    fn add(&self, rule: JointRule) -> i64 {
        match rule {
            JointRule::Outside => -self.joint,
            JointRule::Inside => self.joint,
            JointRule::Return => 0,
        }
    }

    fn size(
        &mut self,
        what: impl Into<String>,
        size: Size,
        rule: JointRule,
    ) -> Result<i64, PlanError> {
        let add = self.add(rule);
        let length = match size {
            Size::HalfUnits(halves) => halves * self.module / 2 + add,
            Size::Length(asked) => {
                let over = (asked.nm() - add) * 2;
                let halves = match self.snap {
                    Snap::Nearest => (over + self.module / 2).div_euclid(self.module),
                    Snap::Up => -(-over).div_euclid(self.module),
                    Snap::Down => over.div_euclid(self.module),
                    Snap::Exact => 0,
                };
                let became = if self.snap == Snap::Exact {
                    asked.nm()
                } else {
                    halves.max(1) * self.module / 2 + add
                };
                self.snapped.push(Snapped {
                    what: what.into(),
                    asked,
                    became: Length::from_nm(became),
                    count: (became - add) as f64 / self.module as f64,
                });
                became
            }
        };
        if length <= 0 || length > LONGEST_SIDE.nm() {
            return Err(PlanError::new(
                "size-too-large",
                format!(
                    "a size of {} is outside what can be laid, up to {} m",
                    Length::from_nm(length),
                    LONGEST_SIDE.to_m()
                ),
                "check the number of units",
            ));
        }
        Ok(length)
    }
}

fn measure_part(
    name: &str,
    part: &Arc<Part>,
    placement: &Placement,
    setting: &Setting,
    others: &[MeasuredPart],
) -> Result<MeasuredPart, PlanError> {
    let bond = match &part.bond {
        None => setting.bond.clone(),
        Some(word) => Catalogue::builtin()
            .and_then(|catalogue| catalogue.bond(word))
            .map_err(|error| {
                PlanError::new("no-such-bond", error.message, error.remedy).at_key("bond")
            })?
            .clone(),
    };
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
    let courses = courses_of(part.rise, &gauge, part.snap, &mut snapped)?;
    let leaf = unit.width.nm();
    let leaves = part.thickness;
    let thickness = leaves * leaf + (leaves - 1) * joint;
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
    let base = place(placement, size, setting, others)?;
    let start = (base.0 - low.0, base.1 - low.1);
    let whole = strips(&legs, closed, start, 0, thickness);
    let rise = gauge.top_of(courses);
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
    if closed && inside.is_none() && part.shape_has_inside() {
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
    let mut measured = MeasuredPart {
        name: name.to_owned(),
        part: Arc::clone(part),
        rules,
        shifts: bond.shifts.clone(),
        gauge,
        unit_width: unit.width,
        unit_height: unit.height,
        courses,
        base: base_z,
        closed,
        thickness: Length::from_nm(thickness),
        leaves: (0..leaves)
            .map(|k| strips(&legs, closed, start, k * (leaf + joint), leaf))
            .collect(),
        whole,
        outside,
        inside,
        snapped: Vec::new(),
        openings: Vec::new(),
        vents: Vec::new(),
        ledges: Vec::new(),
        core,
    };
    measured.check_paths()?;
    measured.measure_openings(&mut gauger)?;
    measured.measure_vents()?;
    measured.measure_ledges(module)?;
    measured.snapped = snapped;
    Ok(measured)
}

impl Part {
    fn shape_has_inside(&self) -> bool {
        matches!(self.shape, Shape::Chamber { .. })
    }
}

fn courses_of(
    rise: Rise,
    gauge: &Gauge,
    snap: Snap,
    snapped: &mut Vec<Snapped>,
) -> Result<u32, PlanError> {
    let asked = match rise {
        Rise::Courses(courses) => return Ok(courses),
        Rise::Height(asked) => asked,
    };
    let step = gauge.mean().nm().max(1);
    let count = match snap {
        Snap::Nearest => (asked.nm() + step / 2).div_euclid(step),
        Snap::Up => -(-asked.nm()).div_euclid(step),
        Snap::Down => asked.nm().div_euclid(step),
        Snap::Exact => {
            let count = (asked.nm() + step / 2).div_euclid(step);
            let exact = u32::try_from(count).is_ok_and(|count| gauge.top_of(count) == asked);
            if !exact {
                return Err(PlanError::new(
                    "height-off-gauge",
                    format!(
                        "{asked} is not a whole number of courses of {}",
                        gauge.mean()
                    ),
                    "let it snap, change the bed joint, or write the number of courses",
                )
                .at_key("height"));
            }
            count
        }
    }
    .max(1);
    match u32::try_from(count) {
        Ok(courses) if courses <= MOST_COURSES => {
            snapped.push(Snapped {
                what: "height".to_owned(),
                asked,
                became: gauge.top_of(courses),
                count: f64::from(courses),
            });
            Ok(courses)
        }
        _ => Err(PlanError::new(
            "courses-out-of-range",
            format!("{asked} high is more than {MOST_COURSES} courses"),
            "check the unit that was written",
        )
        .at_key("height")),
    }
}

fn face_legs(
    part: &Part,
    gauger: &mut Gauger<'_>,
    thickness: i64,
) -> Result<(Vec<FaceLeg>, bool, bool), PlanError> {
    let rectangle = |across: i64, deep: i64| {
        vec![
            FaceLeg {
                heading: Heading::Right,
                length: across,
            },
            FaceLeg {
                heading: Heading::Back,
                length: deep,
            },
            FaceLeg {
                heading: Heading::Left,
                length: across,
            },
            FaceLeg {
                heading: Heading::Front,
                length: deep,
            },
        ]
    };
    match &part.shape {
        Shape::Chamber { across, deep } => {
            let mut outer = |dimension: Dimension, word: &str| match dimension.measure {
                Measure::Outside => gauger.size(
                    format!("outside {word}"),
                    dimension.size,
                    JointRule::Outside,
                ),
                Measure::Inside => gauger
                    .size(format!("inside {word}"), dimension.size, JointRule::Inside)
                    .map(|inside| inside + 2 * thickness),
            };
            let across = outer(*across, "across")?;
            let deep = outer(*deep, "deep")?;
            Ok((rectangle(across, deep), true, false))
        }
        Shape::Pier { across, deep, core } => {
            let across = gauger.size("across", *across, JointRule::Outside)?;
            let deep = gauger.size("deep", *deep, JointRule::Outside)?;
            if across.min(deep) < 2 * thickness {
                return Err(PlanError::new(
                    "pier-too-thin",
                    "a pier less than one unit wide is a wall",
                    "make it at least one unit each way",
                ));
            }
            Ok((rectangle(across, deep), true, *core == Core::Concrete))
        }
        Shape::Wall { legs, closed } => {
            let mut found = Vec::with_capacity(legs.len());
            for (index, leg) in legs.iter().enumerate() {
                let before = match index.checked_sub(1) {
                    Some(previous) => legs.get(previous),
                    None if *closed => legs.last(),
                    None => None,
                };
                let after = match legs.get(index + 1) {
                    Some(next) => Some(next),
                    None if *closed => legs.first(),
                    None => None,
                };
                // A right turn shows its inner angle on the face.
                let inner = i64::from(before.is_some_and(|b| turns_right(b, leg)))
                    + i64::from(after.is_some_and(|a| turns_right(leg, a)));
                let rule = match inner {
                    0 => JointRule::Outside,
                    1 => JointRule::Return,
                    _ => JointRule::Inside,
                };
                let what = if legs.len() == 1 {
                    "length".to_owned()
                } else {
                    format!("leg {}", index + 1)
                };
                found.push(FaceLeg {
                    heading: leg.heading,
                    length: gauger.size(what, leg.size, rule)?,
                });
            }
            if *closed {
                let (dx, dy) = found.iter().fold((0, 0), |(x, y), leg| {
                    let (dx, dy) = leg.heading.step();
                    (x + dx * leg.length, y + dy * leg.length)
                });
                if dx != 0 || dy != 0 {
                    return Err(PlanError::new(
                        "path-not-closed",
                        format!(
                            "the path ends {} across and {} deep from where it started",
                            Length::from_nm(dx),
                            Length::from_nm(dy)
                        ),
                        "make the legs of each pair of directions sum alike, or leave `closed` out",
                    )
                    .at_key("closed"));
                }
            }
            Ok((found, *closed, false))
        }
    }
}

fn turns_right(before: &Leg, after: &Leg) -> bool {
    let (ax, ay) = before.heading.step();
    let (bx, by) = after.heading.step();
    ax * by - ay * bx < 0
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

pub(super) fn cuboid(x: (i64, i64), y: (i64, i64), z: (Length, Length)) -> Cuboid {
    let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
    Cuboid::along(Axis::X, length(x), length(y), z)
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

fn place(
    placement: &Placement,
    size: (i64, i64),
    setting: &Setting,
    others: &[MeasuredPart],
) -> Result<(i64, i64, i64), PlanError> {
    let (relation, other, gap, align) = match placement {
        Placement::Origin => return Ok((0, 0, 0)),
        Placement::At(x, y) => {
            if x.abs() > LONGEST_SIDE || y.abs() > LONGEST_SIDE {
                return Err(PlanError::new(
                    "place-too-far",
                    format!("{x}, {y} is further than {} m away", LONGEST_SIDE.to_m()),
                    "check the unit that was written",
                )
                .at_key("at"));
            }
            return Ok((x.nm(), y.nm(), 0));
        }
        Placement::Against {
            relation,
            other,
            gap,
            align,
        } => (*relation, other, *gap, *align),
    };
    let Some(other) = others.iter().find(|part| part.name == *other) else {
        return Err(PlanError::new(
            "no-such-part",
            format!("there is no part named \"{other}\" yet"),
            "place the other part first; two parts cannot be placed against each other",
        )
        .at_key(relation.word()));
    };
    let joint = setting.joints.head.nominal.nm();
    let gap = match gap {
        None => joint,
        Some(Size::Length(length)) => length.nm(),
        Some(Size::HalfUnits(halves)) => halves * (setting.unit.length.nm() + joint) / 2 + joint,
    };
    let (x, y) = (
        nm(other.outside.span(Axis::X)),
        nm(other.outside.span(Axis::Y)),
    );
    let lined_up = |size: i64, (from, to): (i64, i64)| match align {
        Align::Start => from,
        Align::Centre => from + (to - from - size) / 2,
        Align::End => to - size,
    };
    let z = other.outside.at.z.nm();
    Ok(match relation {
        Relation::RightOf => (x.1 + gap, lined_up(size.1, y), z),
        Relation::LeftOf => (x.0 - gap - size.0, lined_up(size.1, y), z),
        Relation::Behind => (lined_up(size.0, x), y.1 + gap, z),
        Relation::InFrontOf => (lined_up(size.0, x), y.0 - gap - size.1, z),
        Relation::On => (
            lined_up(size.0, x),
            lined_up(size.1, y),
            other.outside.heights().1.nm(),
        ),
    })
}

fn nm((from, to): (Length, Length)) -> (i64, i64) {
    (from.nm(), to.nm())
}

impl MeasuredPart {
    /// About how many pieces it will take.
    fn about_pieces(&self) -> i64 {
        let per_course: i64 = self
            .leaves
            .iter()
            .flatten()
            .map(|strip| {
                (strip.span().1 - strip.span().0) / (self.rules.unit + self.rules.joint) + 2
            })
            .sum();
        per_course.saturating_mul(i64::from(self.courses))
    }

    /// Boxes of its walls in plan, corners counted once, over its whole height.
    pub(super) fn wall_boxes(&self) -> Vec<Cuboid> {
        let heights = self.outside.heights();
        if self.closed && self.inside.is_none() && self.whole.len() == 4 {
            return vec![self.outside];
        }
        self.whole
            .iter()
            .enumerate()
            .map(|(index, strip)| {
                // Each corner block goes with the leg that ends at it as the path is walked.
                let start_shared = self.closed || index > 0;
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
            })
            .filter(|wall| wall.length.is_positive() && wall.width.is_positive())
            .collect()
    }

    fn overlap(&self, other: &MeasuredPart) -> Option<Cuboid> {
        self.outside.shared(&other.outside)?;
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
            if to - from < strip.thickness || strip.high < strip.low {
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

    fn leg_of(&self, side: SideRef) -> usize {
        match side {
            SideRef::Side(side) => side.index(),
            SideRef::Leg(leg) => leg,
        }
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

    fn course_in_part(&self, course: u32, what: &str) -> Result<(), PlanError> {
        if course == 0 || course > self.courses {
            return Err(PlanError::above(what, course, self.courses).at_key("course"));
        }
        Ok(())
    }

    fn measure_openings(&mut self, gauger: &mut Gauger<'_>) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        for opening in &part.openings {
            let leg = self.leg_of(opening.side);
            let strip = self.strip(leg)?;
            let width = gauger.size(
                format!("width of \"{}\"", opening.name),
                opening.width,
                JointRule::Inside,
            )?;
            let (low, high) = strip.span();
            let from = match opening.at {
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
            let span = (from, from + width);
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
            if opening.to_course > self.courses {
                let above = PlanError::above(&opening.name, opening.to_course, self.courses);
                return Err(above.at_key("courses"));
            }
            for other in &self.openings {
                let apart = other.leg != leg
                    || other.span.1 <= span.0
                    || other.span.0 >= span.1
                    || other.courses.1 < opening.from_course
                    || other.courses.0 > opening.to_course;
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
                    self.measure_lintel(&opening.name, lintel, opening.to_course, span, strip)
                })
                .transpose()?;
            self.openings.push(MeasuredOpening {
                name: opening.name.clone(),
                side: opening.side,
                leg,
                span,
                courses: (opening.from_course, opening.to_course),
                lintel,
            });
        }
        Ok(())
    }

    fn measure_lintel(
        &self,
        name: &str,
        lintel: Lintel,
        top: u32,
        span: (i64, i64),
        strip: Strip,
    ) -> Result<MeasuredLintel, PlanError> {
        let courses = match lintel.kind {
            LintelKind::Steel => 1,
            LintelKind::Stone | LintelKind::Concrete => lintel.courses.max(1),
        };
        if top.saturating_add(courses) > self.courses {
            return Err(PlanError::new(
                "lintel-at-top",
                format!("the lintel over \"{name}\" has no course to carry: the opening reaches course {top} of {}", self.courses),
                "lower the opening, make the part higher, or leave the lintel out",
            )
            .at_key("lintel"));
        }
        let bed = self.gauge.top_of(top + 1) - self.gauge.top_of(top) - self.unit_height;
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
        // Room at each end: to the end of the wall, or to the next opening that is open beside the lintel.
        let (low, high) = strip.span();
        let module = self.rules.unit + self.rules.joint;
        let bearing = |room: i64| match (lintel.bearing, lintel.kind) {
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
                span.0 - bearing(span.0 - low),
                span.1 + bearing(high - span.1),
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
            if opening.leg != leg || course < opening.courses.0 || course > opening.courses.1 {
                continue;
            }
            if spans
                .iter()
                .any(|span| span.0 < opening.span.1 && span.1 > opening.span.0)
            {
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

    fn measure_vents(&mut self) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        for vent in &part.vents {
            let Vent {
                name,
                side,
                course,
                count,
                width,
            } = vent;
            self.course_in_part(*course, name)?;
            if *count == 0 || !width.is_positive() {
                return Err(PlanError::new(
                    "size-not-positive",
                    format!("{name}: {count} vents of {width} cannot be built"),
                    "write at least one vent, and a width above zero",
                )
                .at_key("count"));
            }
            let leg = self.leg_of(*side);
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

    fn measure_ledges(&mut self, module: i64) -> Result<(), PlanError> {
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
                || notch.deep.nm() * 2 > self.unit_height.nm();
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

fn measure_duct(
    index: usize,
    duct: &crate::plan::Duct,
    parts: &[MeasuredPart],
    plan: &Plan,
) -> Result<MeasuredDuct, PlanError> {
    let find = |name: &str| parts.iter().position(|part| part.name == name);
    let missing = || {
        PlanError::new(
            "no-such-part",
            "a part of the duct is not there",
            "place it first",
        )
    };
    let from = find(&duct.from).ok_or_else(missing)?;
    let to = duct
        .to
        .as_deref()
        .map(|name| find(name).ok_or_else(missing))
        .transpose()?;
    let source = parts.get(from).ok_or_else(missing)?;
    let target = to.and_then(|to| parts.get(to));
    let joint = plan.setting.joints.head.nominal.nm();
    let radius = duct.diameter.nm() / 2;
    if duct.course == 0 || duct.course > source.courses {
        return Err(PlanError::new(
            "course-outside-part",
            format!(
                "the duct lies on course {}; \"{}\" has {} courses",
                duct.course, source.name, source.courses
            ),
            "name a course from 1 to the number of courses",
        )
        .at_key("course"));
    }
    let bed_of = source.base + source.gauge.top_of(duct.course) - source.unit_height;
    let z = bed_of.nm() + radius;
    let (axis, towards_high) = match target {
        Some(target) => direction(source, target)?,
        None => {
            let side = duct.side.map_or(0, |side| source.leg_of(side));
            let strip = source.strip(side)?;
            (strip.axis.across(), !strip.inside_high)
        }
    };
    let source_leg = match (target, duct.side) {
        (None, Some(side)) => source.leg_of(side),
        _ => facing_leg(source, axis, towards_high)?,
    };
    let source_strip = source.strip(source_leg)?;
    let mut clear = source_strip.clear();
    let mut walls = vec![(from, source_leg)];
    let mut gap = 0;
    let mut wall_total = source_strip.thickness;
    if let (Some(to), Some(target)) = (to, target) {
        let leg = facing_leg(target, axis, !towards_high)?;
        let strip = target.strip(leg)?;
        let theirs = strip.clear();
        clear = (clear.0.max(theirs.0), clear.1.min(theirs.1));
        walls.push((to, leg));
        wall_total += strip.thickness;
        gap = if towards_high {
            strip.across - (source_strip.across + source_strip.thickness)
        } else {
            source_strip.across - (strip.across + strip.thickness)
        };
    }
    let across = clear.0 + (clear.1 - clear.0) / 2 + duct.shift.nm();
    let reach = radius + joint;
    let fits = 2 * reach <= clear.1 - clear.0;
    if fits && (across - reach < clear.0 || across + reach > clear.1) {
        return Err(PlanError::new(
            "duct-misses-wall",
            format!(
                "a duct shifted by {} passes a corner of the walls it goes through",
                duct.shift
            ),
            format!(
                "shift it by at most {} either way",
                Length::from_nm((clear.1 - clear.0) / 2 - reach)
            ),
        )
        .at_key("shift"));
    }
    if !fits {
        return Err(PlanError::new(
            "duct-misses-wall",
            format!(
                "a duct of {} with its joint needs {}, but the walls it passes share {} between their corners",
                duct.diameter,
                Length::from_nm(2 * reach),
                Length::from_nm((clear.1 - clear.0).max(0))
            ),
            "line the parts up, move the duct, or take a smaller one",
        )
        .at_key("diameter"));
    }
    for &(part, leg) in &walls {
        let Some(wall) = parts.get(part) else {
            continue;
        };
        let (bottom, top) = nm(wall.outside.heights());
        if z - radius < bottom || z + reach > top {
            return Err(PlanError::new(
                "duct-misses-wall",
                format!(
                    "the duct with its joint reaches from {} to {} above the slab, but \"{}\" stands from {} to {}",
                    Length::from_nm(z - radius),
                    Length::from_nm(z + reach),
                    wall.name,
                    wall.outside.heights().0,
                    wall.outside.heights().1
                ),
                "choose a course that both parts have, with work above the duct",
            )
            .at_key("course"));
        }
        for opening in wall.openings.iter().filter(|opening| opening.leg == leg) {
            let low = wall.base + wall.gauge.top_of(opening.courses.0 - 1);
            let high = wall.base + wall.gauge.top_of(opening.courses.1);
            let beside = opening.span.1 <= across - reach || opening.span.0 >= across + reach;
            if !beside && low.nm() < z + reach && high.nm() > z - reach {
                return Err(runs_into(&format!("\"{}\"", opening.name), &wall.name));
            }
        }
        let crossed = |course: u32, width: i64, middles: &[i64]| {
            let high = (wall.base + wall.gauge.top_of(course)).nm();
            let low = high - wall.unit_height.nm();
            low < z + radius
                && high > z - radius
                && middles
                    .iter()
                    .any(|middle| 2 * (middle - across).abs() < width + 2 * radius)
        };
        for vent in wall.vents.iter().filter(|vent| vent.leg == leg) {
            if crossed(vent.course, vent.width, &vent.middles) {
                return Err(runs_into(&format!("\"{}\"", vent.name), &wall.name));
            }
        }
        for ledge in wall.ledges.iter().filter(|ledge| ledge.leg == leg) {
            if crossed(ledge.course, wall.unit_width.nm(), &ledge.middles) {
                let ledge = format!("the ledge in course {}", ledge.course);
                return Err(runs_into(&ledge, &wall.name));
            }
        }
    }
    Ok(MeasuredDuct {
        index,
        from,
        to,
        axis,
        across,
        z,
        radius,
        joint,
        walls,
        gap,
        wall_total,
    })
}

fn runs_into(what: &str, part: &str) -> PlanError {
    PlanError::new(
        "openings-overlap",
        format!("the duct runs into {what} in \"{part}\""),
        "choose another course, or shift the duct",
    )
    .at_key("course")
}

/// The axis on which two parts face each other, and whether the second lies towards larger coordinates.
fn direction(source: &MeasuredPart, target: &MeasuredPart) -> Result<(Axis, bool), PlanError> {
    for axis in [Axis::X, Axis::Y] {
        let (a, b) = (source.outside.span(axis), target.outside.span(axis));
        if shared(
            source.outside.span(axis.across()),
            target.outside.span(axis.across()),
        )
        .is_none()
        {
            continue;
        }
        if a.1 <= b.0 {
            return Ok((axis, true));
        }
        if b.1 <= a.0 {
            return Ok((axis, false));
        }
    }
    Err(PlanError::new(
        "duct-misses-wall",
        format!(
            "\"{}\" and \"{}\" do not face each other",
            source.name, target.name
        ),
        "place them side by side, lined up",
    ))
}

/// The leg that faces along an axis, towards larger or smaller coordinates.
fn facing_leg(part: &MeasuredPart, axis: Axis, towards_high: bool) -> Result<usize, PlanError> {
    part.whole
        .iter()
        .enumerate()
        .filter(|(_, strip)| strip.axis == axis.across())
        .max_by_key(|(_, strip)| {
            if towards_high {
                strip.across
            } else {
                -strip.across
            }
        })
        .map(|(leg, _)| leg)
        .ok_or_else(|| {
            PlanError::new(
                "duct-misses-wall",
                format!("\"{}\" has no wall that faces the duct", part.name),
                "turn the wall, or name another part",
            )
        })
}
