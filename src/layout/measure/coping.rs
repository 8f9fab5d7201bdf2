//! Copings: where slabs or rowlocks lie on a part, run by run.
//!
//! A run goes along a leg of the part's path, or along a branch as high as the part. At a corner the leg that ends there
//! as the path is walked covers it, and the next one butts against it; an opening up to the top parts a run.

use std::sync::Arc;

use super::upright::rules_of;
use super::{MeasuredPart, cuboid, strip_boxes};
use crate::layout::cavity::without;
use crate::layout::frame::Strip;
use crate::layout::geometry::{Axis, Cuboid};
use crate::layout::interval::{End, Rules};
use crate::masonry::Unit;
use crate::plan::{Coping, CopingKind, Laying, PlanError, Relation, Shape};
use crate::quantity::Length;

/// Shortest run that is covered: less is no slab; our own choice.
const SHORTEST_RUN: i64 = 50_000_000;

/// The coping of a part in its place. Lengths in nanometres.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredCoping {
    pub(in crate::layout) coping: Coping,
    pub(in crate::layout) runs: Vec<CopingRun>,
    /// The mortar under it, on the walls.
    pub(in crate::layout) beds: Vec<Cuboid>,
    /// Its underside and its top.
    pub(in crate::layout) z: (Length, Length),
    /// How rowlocks fill a run.
    pub(in crate::layout) rules: Rules,
    /// How far slabs or rowlocks stand out beyond the faces.
    pub(in crate::layout) overhang: Length,
}

/// A straight stretch of a coping, the joint before work that it butts against included.
#[derive(Clone, Copy, Debug)]
pub(in crate::layout) struct CopingRun {
    pub(in crate::layout) axis: Axis,
    pub(in crate::layout) along: (i64, i64),
    pub(in crate::layout) across: (i64, i64),
    /// What it ends against.
    pub(in crate::layout) ends: (End, End),
    /// Which of its ends overhang a free end of the wall.
    pub(in crate::layout) free: (bool, bool),
    /// Whether the outer face is the one with the smaller coordinate.
    pub(in crate::layout) inside_high: bool,
    /// Whether it is one slab, whatever its length: the cap of a pier.
    pub(in crate::layout) single: bool,
}

impl CopingRun {
    /// The box over it between two heights.
    pub(in crate::layout) fn zone(&self, z: (Length, Length)) -> Cuboid {
        match self.axis {
            Axis::X => cuboid(self.along, self.across, z),
            Axis::Y => cuboid(self.across, self.along, z),
        }
    }
}

impl MeasuredCoping {
    /// The boxes that it fills: beds and runs.
    pub(in crate::layout) fn zones(&self) -> Vec<Cuboid> {
        let runs = self.runs.iter().map(|run| run.zone(self.z));
        self.beds.iter().copied().chain(runs).collect()
    }
}

/// How far the coping stands out along and across, at free ends and at faces.
#[derive(Clone, Copy)]
struct Reach {
    low: i64,
    high: i64,
    free: i64,
}

impl MeasuredPart {
    /// Finds where the coping lies.
    pub(super) fn measure_coping(&mut self) -> Result<(), PlanError> {
        let Some(coping) = self.part.coping else {
            return Ok(());
        };
        let annexed = |annex: &crate::plan::Annex| {
            let wall = self.branches.get(annex.first);
            wall.is_some_and(|wall| wall.courses == self.courses)
        };
        if let Some(annex) = self.part.annexes.iter().find(|annex| annexed(annex)) {
            return Err(PlanError::new(
                "coping-over-an-annex",
                format!(
                    "the coping would have to turn the corners of \"{}\" as well",
                    annex.name
                ),
                "let the annex end a course lower, or cover both chambers with lids",
            )
            .at_key("kind"));
        }
        let setting = Arc::clone(&self.setting);
        let unit = &setting.unit;
        let thickness = self.thickness.nm();
        let pier = matches!(self.part.shape, Shape::Pier { .. });
        let block = pier || self.is_solid();
        let across = if block {
            self.body.width.nm()
        } else {
            thickness
        };
        let spare = match coping.kind {
            CopingKind::Rowlock => {
                let space = self.part.leaves.filter(|leaves| !leaves.filled);
                if space.is_some() && unit.length.nm() < thickness {
                    return Err(PlanError::new(
                        "coping-leaves-a-gap",
                        "rowlocks do not reach across two leaves and the cavity between them",
                        "cover the wall with slabs: kind: \"stone\" or \"concrete\"",
                    )
                    .at_key("kind"));
                }
                (unit.length.nm() - across).max(0)
            }
            CopingKind::Stone | CopingKind::Concrete => coping.overhang.nm() * 2,
        };
        let slabs = coping.kind != CopingKind::Rowlock;
        let reach = Reach {
            low: spare / 2,
            high: spare - spare / 2,
            free: if slabs { coping.overhang.nm() } else { 0 },
        };
        let runs = if block {
            vec![over_block(&self.body, reach, pier)]
        } else {
            self.coping_runs(reach)
        };
        if runs
            .iter()
            .any(|run| run.along.1 - run.along.0 < SHORTEST_RUN)
        {
            return Err(PlanError::new(
                "coping-does-not-fit",
                "a stretch of the coping is too short to lay a slab or a unit on",
                "let it overhang less, make the leg or branch longer, or end the branch below the top",
            )
            .at_key("overhang"));
        }
        let top = self.base + self.heights.top_of(self.courses);
        let bed = setting.joints.bed.nominal;
        let high = match coping.kind {
            CopingKind::Rowlock => unit.width,
            CopingKind::Stone | CopingKind::Concrete => coping.depth,
        };
        let measured = MeasuredCoping {
            coping,
            beds: self.coping_beds((top, top + bed)),
            runs,
            z: (top + bed, top + bed + high),
            rules: rules_of(Laying::Rowlock, unit, &self.rules),
            overhang: Length::from_nm(reach.low),
        };
        let zones = measured.zones();
        for (at, one) in zones.iter().enumerate() {
            if zones
                .iter()
                .skip(at + 1)
                .any(|other| one.shared(other).is_some())
            {
                return Err(PlanError::new(
                    "coping-runs-into-itself",
                    "two stretches of the coping meet side by side",
                    "let it overhang less, or set the walls further apart",
                )
                .at_key("overhang"));
            }
        }
        check_rows(&measured, unit, across)?;
        self.coping = Some(measured);
        Ok(())
    }

    /// Whether its walls leave no inside between them.
    fn is_solid(&self) -> bool {
        self.closed && self.inside.is_none() && self.sides == 4
    }

    /// Runs along the legs of the part's own path and along the branches as high as it is.
    fn coping_runs(&self, reach: Reach) -> Vec<CopingRun> {
        let mut found = Vec::new();
        for (leg, strip) in self.whole.iter().take(self.sides).enumerate() {
            let whole = over_strip(strip, reach);
            found.extend(self.parted(leg, whole));
        }
        let walls = strip_boxes(
            self.whole.get(..self.sides).unwrap_or_default(),
            self.closed,
            self.body.heights(),
        );
        for (number, branch) in self.branches.iter().enumerate() {
            if branch.courses < self.courses {
                continue;
            }
            let Some(axis) = branch.leaves.first().map(|strip| strip.axis) else {
                continue;
            };
            for wall in &branch.boxes {
                let (from, to) = wall.span(axis);
                let meets = |place: Length| {
                    walls.iter().any(|other| {
                        let ends = other.span(axis);
                        let shares = other.span(axis.across()).0 < wall.span(axis.across()).1
                            && other.span(axis.across()).1 > wall.span(axis.across()).0;
                        shares && (ends.0 == place || ends.1 == place)
                    })
                };
                let across = wall.span(axis.across());
                let (met_low, met_high) = (meets(from), meets(to));
                let run = CopingRun {
                    axis,
                    along: (
                        if met_low {
                            from.nm() + reach.high
                        } else {
                            from.nm() - reach.free
                        },
                        if met_high {
                            to.nm() - reach.low
                        } else {
                            to.nm() + reach.free
                        },
                    ),
                    across: (across.0.nm() - reach.low, across.1.nm() + reach.high),
                    ends: (end(met_low), end(met_high)),
                    free: (!met_low, !met_high),
                    inside_high: true,
                    single: false,
                };
                found.extend(self.parted(self.sides + number, run));
            }
        }
        found
    }

    /// A run less the openings of its leg that reach the top.
    fn parted(&self, leg: usize, run: CopingRun) -> Vec<CopingRun> {
        let mut open: Vec<(i64, i64)> = self
            .openings
            .iter()
            .filter(|opening| opening.leg == leg && opening.courses.1 == self.courses)
            .map(|opening| opening.span)
            .filter(|span| span.0 < run.along.1 && span.1 > run.along.0)
            .collect();
        open.sort_unstable();
        let mut found = Vec::new();
        let mut rest = run;
        for (from, to) in open {
            found.push(CopingRun {
                along: (rest.along.0, from),
                ends: (rest.ends.0, End::Open),
                free: (rest.free.0, false),
                ..rest
            });
            rest.along.0 = to;
            rest.ends.0 = End::Open;
            rest.free.0 = false;
        }
        found.push(rest);
        found
    }

    /// The mortar under it: over each leaf, but not over an open cavity or an opening.
    fn coping_beds(&self, z: (Length, Length)) -> Vec<Cuboid> {
        let parted = self.part.leaves.is_some_and(|leaves| !leaves.filled);
        let walls: Vec<Cuboid> = if self.is_solid() || self.core {
            let mut body = self.body;
            (body.at.z, body.height) = (z.0, z.1 - z.0);
            vec![body]
        } else if parted {
            let leaves = self.leaves.iter();
            leaves
                .flat_map(|leaf| strip_boxes(leaf, self.closed, z))
                .collect()
        } else {
            strip_boxes(
                self.whole.get(..self.sides).unwrap_or_default(),
                self.closed,
                z,
            )
        };
        let high = |branch: &&super::MeasuredBranch| branch.courses == self.courses;
        let branches = self.branches.iter().filter(high);
        let branches = branches.flat_map(|branch| &branch.boxes).map(|wall| {
            let mut bed = *wall;
            (bed.at.z, bed.height) = (z.0, z.1 - z.0);
            bed
        });
        let open: Vec<Cuboid> = self
            .openings
            .iter()
            .filter(|opening| opening.courses.1 == self.courses)
            .filter_map(|opening| {
                let strip = self.whole.get(opening.leg)?;
                let across = (strip.across, strip.across + strip.thickness);
                Some(match strip.axis {
                    Axis::X => cuboid(opening.span, across, z),
                    Axis::Y => cuboid(across, opening.span, z),
                })
            })
            .collect();
        walls
            .into_iter()
            .chain(branches)
            .filter(|bed| bed.length.is_positive() && bed.width.is_positive())
            .flat_map(|bed| without(&bed, Axis::X, &open))
            .collect()
    }
}

/// What a run ends against.
fn end(butts: bool) -> End {
    if butts { End::Jointed } else { End::Open }
}

/// The run over a leg, from free end or corner to free end or corner.
fn over_strip(strip: &Strip, reach: Reach) -> CopingRun {
    let (low, high) = strip.span();
    let clear = strip.clear();
    // The leg that ends at a corner as the path is walked covers it.
    let covers_low = !strip.starts_low;
    let (from, low_end) = match strip.low_corner {
        None => (low - reach.free, End::Open),
        Some(_) if covers_low => (low - reach.low, End::Open),
        Some(_) => (clear.0 + reach.high, End::Jointed),
    };
    let (to, high_end) = match strip.high_corner {
        None => (high + reach.free, End::Open),
        Some(_) if !covers_low => (high + reach.high, End::Open),
        Some(_) => (clear.1 - reach.low, End::Jointed),
    };
    CopingRun {
        axis: strip.axis,
        along: (from, to),
        across: (
            strip.across - reach.low,
            strip.across + strip.thickness + reach.high,
        ),
        ends: (low_end, high_end),
        free: (strip.low_corner.is_none(), strip.high_corner.is_none()),
        inside_high: strip.inside_high,
        single: false,
    }
}

/// The one run over a solid block.
fn over_block(body: &Cuboid, reach: Reach, single: bool) -> CopingRun {
    let (x, y) = (body.span(Axis::X), body.span(Axis::Y));
    CopingRun {
        axis: Axis::X,
        along: (x.0.nm() - reach.free, x.1.nm() + reach.free),
        across: (y.0.nm() - reach.low, y.1.nm() + reach.high),
        ends: (End::Open, End::Open),
        free: (true, true),
        inside_high: true,
        single,
    }
}

/// Rowlocks through a run from its outer face: whole units side by side, and what is left.
pub(in crate::layout) fn rows_across(across: i64, unit: i64, joint: i64) -> Vec<(i64, i64)> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < across {
        let deep = unit.min(across - at);
        found.push((at, deep));
        at += deep + joint;
    }
    found
}

/// Refuses rowlocks that would leave a sliver or a gap along one face.
fn check_rows(coping: &MeasuredCoping, unit: &Unit, thickness: i64) -> Result<(), PlanError> {
    if coping.coping.kind != CopingKind::Rowlock {
        return Ok(());
    }
    let rules = &coping.rules;
    let across = thickness.max(unit.length.nm());
    let rows = rows_across(across, unit.length.nm(), rules.joint);
    let reached = rows.last().map_or(0, |(at, deep)| at + deep);
    let thin = rows
        .last()
        .is_some_and(|(_, deep)| deep * 4 < unit.length.nm());
    if reached == across && !thin {
        return Ok(());
    }
    Err(PlanError::new(
        "coping-does-not-fit",
        format!(
            "rowlocks {} long leave a sliver over a wall {} thick",
            unit.length,
            Length::from_nm(thickness)
        ),
        "cover the wall with slabs: kind: \"stone\" or \"concrete\"",
    )
    .at_key("kind"))
}

/// Refuses copings that run into other parts, and what would stand on one.
pub(super) fn check_copings(parts: &[MeasuredPart]) -> Result<(), PlanError> {
    let clash = |part: &MeasuredPart, other: &MeasuredPart| {
        PlanError::new(
            "coping-in-the-way",
            format!(
                "the coping of \"{}\" runs into \"{}\"",
                part.name, other.name
            ),
            "move one of them, let the coping overhang less, or leave it out",
        )
        .in_part(&part.name)
        .at_key("overhang")
    };
    for (index, part) in parts.iter().enumerate() {
        let Some(coping) = &part.coping else { continue };
        let zones = coping.zones();
        for (at, other) in parts.iter().enumerate() {
            if at == index {
                continue;
            }
            let meets = |wall: &Cuboid| zones.iter().any(|zone| zone.shared(wall).is_some());
            let met = match &other.round {
                Some(ring) => zones
                    .iter()
                    .any(|zone| zone.shared(&other.outside).is_some() && ring.meets_box(zone)),
                None => other.wall_boxes().iter().any(meets),
            };
            let theirs = other.coping.iter().flat_map(MeasuredCoping::zones);
            if met || theirs.into_iter().any(|zone| meets(&zone)) {
                return Err(clash(part, other));
            }
        }
    }
    Ok(())
}

/// Refuses a part or a lid on a part that has a coping.
pub(super) fn check_uncovered(
    what: &str,
    under: &str,
    relation: Option<Relation>,
    parts: &[MeasuredPart],
) -> Result<(), PlanError> {
    let covered = parts
        .iter()
        .any(|part| part.name == under && part.coping.is_some());
    if !covered || relation.is_some_and(|relation| relation != Relation::On) {
        return Ok(());
    }
    Err(PlanError::new(
        "stands-on-a-coping",
        format!("{what} would stand on the coping of \"{under}\""),
        "leave the coping out, and cover what comes on top",
    ))
}
