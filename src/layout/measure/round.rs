//! Rings: how many units go round, and the diameter that makes them come out whole.

use std::sync::Arc;

use super::MeasuredPart;
use super::place::place;
use super::sizes::courses_of;
use crate::layout::fan::{Ends, Fan, FanTask, fan_of, fans};
use crate::layout::geometry::{Axis, Cuboid};
use crate::layout::heights::Heights;
use crate::layout::interval::Rules;
use crate::layout::laid::Snapped;
use crate::layout::pierced::{Bend, Hole};
use crate::masonry::Gauge;
use crate::plan::{LONGEST_SIDE, Measure, Part, Placement, PlanError, Ring, Setting, Size, Snap};
use crate::quantity::Length;

/// A unit cut to taper keeps at least one part in this many of its face inside, or it breaks while it is cut: common
/// practice, no source.
const LEAST_FACE: i64 = 2;

/// A ring with its size, its place and the fan of each course.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredRing {
    pub(in crate::layout) ring: Ring,
    /// Its middle in plan.
    pub(in crate::layout) centre: (Length, Length),
    pub(in crate::layout) task: FanTask,
    pub(in crate::layout) fan: Fan,
    /// How places along its courses lie in plan.
    pub(in crate::layout) bend: Bend,
    /// What is open in it.
    pub(in crate::layout) holes: Vec<Hole>,
}

impl MeasuredRing {
    /// From the middle to the furthest corner of a unit.
    pub(in crate::layout) fn reach(&self) -> f64 {
        let outer = (self.task.inner + self.task.depth).nm() as f64;
        outer.hypot(self.fan.outer_width.nm() as f64 / 2.0)
    }

    /// Whether another ring stands clear within this one's inner faces.
    fn holds(&self, other: &MeasuredRing) -> bool {
        let nm = |length: Length| length.nm() as f64;
        let apart = nm(self.centre.0 - other.centre.0).hypot(nm(self.centre.1 - other.centre.1));
        apart + other.reach() <= nm(self.task.inner)
    }

    /// Whether it may share space with a box: less than a grain's breadth away from its round.
    pub(super) fn meets_box(&self, cuboid: &Cuboid) -> bool {
        let off = |(from, to): (Length, Length), at: Length| {
            let (low, high) = ((from - at).nm() as f64, (to - at).nm() as f64);
            let near = if low > 0.0 { low } else { (-high).max(0.0) };
            (near, low.abs().max(high.abs()))
        };
        let x = off(cuboid.span(Axis::X), self.centre.0);
        let y = off(cuboid.span(Axis::Y), self.centre.1);
        let (near, far) = (x.0.hypot(y.0), x.1.hypot(y.1));
        near < self.reach() && far > self.task.inner.nm() as f64
    }

    /// Whether it may share space with another ring in plan.
    pub(super) fn meets_ring(&self, other: &MeasuredRing) -> bool {
        let nm = |length: Length| length.nm() as f64;
        let apart = nm(self.centre.0 - other.centre.0).hypot(nm(self.centre.1 - other.centre.1));
        apart < self.reach() + other.reach() && !self.holds(other) && !other.holds(self)
    }
}

/// The gauge of units that stand so high: that of the setting, or by the bed where they do not lie flat.
pub(super) fn gauge_of(setting: &Setting, high: Length) -> Gauge {
    if high == setting.unit.height {
        setting.gauge
    } else {
        Gauge::from_bed(high, setting.joints.bed.nominal)
    }
}

/// Finds the size of a ring, then its place.
pub(super) fn measure_ring(
    name: &str,
    part: &Arc<Part>,
    ring: Ring,
    placement: &Placement,
    (setting, common): (Arc<Setting>, &Setting),
    others: &[MeasuredPart],
) -> Result<MeasuredPart, PlanError> {
    let unit = &setting.unit;
    let head = setting.joints.head;
    let [along, deep, high] = ring.laid.sizes(unit);
    let gauge = gauge_of(&setting, high);
    let mut snapped = Vec::new();
    part.coursing.check()?;
    if !part.coursing.split.is_empty() {
        return Err(PlanError::new(
            "split-in-a-ring",
            "units of a ring are not split along their length",
            "change the beds or the number of courses to reach a height",
        )
        .at_key("split"));
    }
    if !part.coursing.laid.is_empty() {
        return Err(PlanError::new(
            "course-in-a-ring",
            "all courses of a ring are laid alike",
            "write how with laid: \"rowlock\", or place a second ring on this one",
        )
        .at_key("laid"));
    }
    let heights_to = |courses| Heights::of(&gauge, high, &part.coursing, courses, |_| high);
    let heights = courses_of(part.rise, heights_to, part.snap, &mut snapped)?;
    let courses = heights.count();
    super::check_coursing(part, courses)?;
    let mut task = FanTask {
        inner: Length::ZERO,
        depth: deep,
        unit: along,
        ends: Ends::Closed,
        joint: head.nominal,
        shortest: head.shortest,
        longest: head.longest,
        cut: ring.cut,
    };
    let fan = size(ring, part.snap, &mut task, &mut snapped)?;
    let mut round = MeasuredRing {
        ring,
        centre: (Length::ZERO, Length::ZERO),
        task,
        fan,
        bend: Bend::of_ring(&fan, (task.inner, task.inner + task.depth), ring.cut),
        holes: Vec::new(),
    };
    let across = 2 * round.reach().ceil() as i64;
    let (x, y, z) = place(placement, (across, across), common, others)?;
    let at = |from: i64| Length::from_nm(from + across / 2);
    round.centre = (at(x), at(y));
    let base = Length::from_nm(z);
    let outside = super::cuboid(
        (x, x + across),
        (y, y + across),
        (base, base + heights.top_of(courses)),
    );
    let mut measured = MeasuredPart {
        name: name.to_owned(),
        part: Arc::clone(part),
        rules: Rules {
            unit: along.nm(),
            joint: head.nominal.nm(),
            shortest_joint: head.shortest.nm(),
            longest_joint: head.longest.nm(),
            parts: setting.bond.parts,
            fractions: setting.bond.pieces.clone(),
            least_lap: along.nm() / 4,
            shortest_piece: along.nm() / 2,
        },
        bond: setting.bond.clone(),
        setting: Arc::clone(&setting),
        bonded: false,
        between: Vec::new(),
        heights,
        unit_width: unit.width,
        unit_height: unit.height,
        upright: Vec::new(),
        coping: None,
        courses,
        base,
        closed: true,
        thickness: deep,
        leaves: Vec::new(),
        whole: Vec::new(),
        outside,
        inside: None,
        snapped,
        openings: Vec::new(),
        vents: Vec::new(),
        ledges: Vec::new(),
        core: false,
        sides: 0,
        branches: Vec::new(),
        hearting: Vec::new(),
        compartments: Vec::new(),
        body: outside,
        round: Some(round),
        lines: None,
        curve: None,
    };
    measured.measure_holes()?;
    Ok(measured)
}

/// Brings the diameter to whole units round, or takes it as it is and finds the units that fit best.
fn size(
    ring: Ring,
    snap: Snap,
    task: &mut FanTask,
    snapped: &mut Vec<Snapped>,
) -> Result<Fan, PlanError> {
    let (key, walls) = match ring.diameter.measure {
        Measure::Inside => ("inside", Length::ZERO),
        Measure::Outside => ("outside", task.depth * 2),
    };
    let Size::Length(asked) = ring.diameter.size else {
        return Err(too_small(Length::ZERO, key));
    };
    let inner = asked - walls;
    if !inner.is_positive() || asked > LONGEST_SIDE {
        return Err(too_small(asked, key));
    }
    let exact = inner.half();
    task.inner = exact;
    let asked_for = *task;
    let whole = |count: i64| {
        let count = u32::try_from(count).ok()?;
        let inner = inner_of(&asked_for, count);
        let task = FanTask { inner, ..asked_for };
        fan_of(&task, count)
            .filter(|fan| inner.is_positive() && is_whole(fan, &asked_for))
            .map(|fan| (inner, fan))
    };
    let all = fans(task);
    let best = *all.first().ok_or_else(|| too_small(asked, key))?;
    if snap == Snap::Exact && !is_whole(&best, task) {
        return Err(too_small(asked, key));
    }
    let (inner, fan) = if snap == Snap::Exact {
        (exact, best)
    } else {
        let near = i64::from(best.count);
        let sizes: Vec<(Length, Fan)> = (near - 3..=near + 3).filter_map(whole).collect();
        let found = match snap {
            Snap::Up => sizes.iter().find(|(inner, _)| *inner >= exact),
            Snap::Down => sizes.iter().rfind(|(inner, _)| *inner <= exact),
            Snap::Nearest | Snap::Exact => {
                sizes.iter().min_by_key(|(inner, _)| (*inner - exact).abs())
            }
        };
        *found.ok_or_else(|| too_small(asked, key))?
    };
    task.inner = inner;
    snapped.push(Snapped {
        what: format!("{key} diameter"),
        asked,
        became: inner * 2 + walls,
        count: f64::from(fan.count),
    });
    Ok(fan)
}

/// Whether enough is left of each unit at its inner face.
fn is_whole(fan: &Fan, task: &FanTask) -> bool {
    fan.inner_width * LEAST_FACE >= task.unit
}

fn too_small(asked: Length, key: &'static str) -> PlanError {
    PlanError::new(
        "ring-does-not-fit",
        format!("a ring of {asked} cannot be laid round with these units"),
        "make it wider, or lay the units so that they are narrower round it, such as laid: \"rowlock\"",
    )
    .at_key(key)
}

/// The inner radius at which so many units go round: cut, with their backs whole and nominal joints; uncut, with
/// nominal joints half-way through the ring, but none thinner inside than allowed.
/// From j = 2 r sin(θ/2) − w cos(θ/2).
fn inner_of(task: &FanTask, count: u32) -> Length {
    let (sin, cos) = (std::f64::consts::PI / f64::from(count.max(3))).sin_cos();
    let nm = |length: Length| length.nm() as f64;
    let radius = |joint: Length| (nm(joint) + nm(task.unit) * cos) / (2.0 * sin);
    let inner = if task.cut {
        radius(task.joint) - nm(task.depth)
    } else {
        let middle = radius(task.joint) - nm(task.depth) / 2.0;
        middle.max(radius(task.shortest))
    };
    // Upwards, so that no joint is a nanometre short of its limit.
    Length::from_nm(inner.ceil() as i64)
}
