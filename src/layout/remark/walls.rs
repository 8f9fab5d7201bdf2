//! What is told of leaves and their ties, corners and junctions, linings, and courses on end or on edge.

use std::sync::Arc;

use super::{LiningReason, Price, Remark, Scene};
use crate::layout::course::Found;
use crate::layout::frame::Turns;
use crate::layout::geometry::Axis;
use crate::layout::junction::Passing;
use crate::layout::lay::lay;
use crate::layout::lining::standing_clear;
use crate::layout::measure::{Measured, MeasuredPart};
use crate::layout::{interval::Cost, lintel};
use crate::masonry::MEETS_WITHIN;
use crate::plan::{Core, Plan, Shape};

/// Units on end or on edge.
pub(super) fn upright(part: &MeasuredPart, course: u32) -> Option<Remark> {
    let upright = part.upright_course(course)?;
    Some(Remark::Upright {
        laid: upright.laid,
        rows: upright.rows.len(),
    })
}

/// Which walls pass the corners.
pub(super) fn corners(scene: &Scene<'_>, course: u32) -> Option<Remark> {
    let part = scene.part;
    let cornered = part
        .whole
        .iter()
        .take(part.sides)
        .any(|strip| strip.low_corner.is_some() || strip.high_corner.is_some());
    if !cornered || part.upright_course(course).is_some() {
        return None;
    }
    if part.bonded {
        let leading = if part.leads(Axis::X, course) {
            Axis::X
        } else {
            Axis::Y
        };
        return Some(Remark::Corners { leading });
    }
    if part.bond.is_patterned() {
        return None;
    }
    let mut found = Found::default();
    let passing = Passing::best(part, scene.index, scene.ducts, &mut found);
    let turns = lintel::turns(part, scene.index, scene.ducts, &passing, &mut found);
    let leaves = || turns.iter().zip(&part.leaves);
    let price = |turned: &dyn Fn(&Turns) -> Turns| {
        let costs = leaves().map(|(turns, strips)| turned(turns).cost(strips, &part.rules));
        costs.fold(Price::default(), |sum, cost: Cost| Price {
            missed: sum.missed + cost.misses,
            cuts: sum.cuts + cost.cuts,
        })
    };
    let corners = turns.first().map_or(0, Turns::corners);
    let others = (0..corners).map(|corner| price(&|turns| turns.turned_at(corner)));
    Some(Remark::Turns {
        laid: price(&Turns::clone),
        next: others.chain(std::iter::once(price(&Turns::reversed))).min(),
    })
}

/// Whether branches and piers pass into their walls, alike ones together.
pub(super) fn junctions(scene: &Scene<'_>, course: u32) -> Vec<Remark> {
    let part = scene.part;
    if part.branches.is_empty() {
        return Vec::new();
    }
    let best = Passing::best(part, scene.index, scene.ducts, &mut Found::default());
    let price = |passing: Passing| {
        let (missed, cuts) = passing.price(part, scene.index, scene.ducts);
        Price {
            missed: missed as i64,
            cuts: cuts as i64,
        }
    };
    let laid = price(best.clone());
    let mut found: Vec<(bool, Price, Vec<String>)> = Vec::new();
    for (number, branch) in part.branches.iter().enumerate() {
        let toothed = branch.crossings.iter().any(|crossing| crossing.toothed);
        if course > branch.courses || !toothed {
            continue;
        }
        let passes = (0..branch.crossings.len()).any(|end| best.passes(part, number, end, course));
        let next = price(best.turned(number));
        let alike = found
            .iter_mut()
            .find(|known| known.0 == passes && known.1 == next);
        match alike {
            Some((.., names)) => names.push(branch.name.clone()),
            None => found.push((passes, next, vec![branch.name.clone()])),
        }
    }
    found
        .into_iter()
        .map(|(passes, next, names)| Remark::Junction {
            names,
            passes,
            laid,
            next,
        })
        .collect()
}

/// What fills the middle of a pier.
pub(super) fn core(part: &MeasuredPart) -> Option<Remark> {
    let Shape::Pier { core, .. } = part.part.shape else {
        return None;
    };
    let clear = |deep: crate::quantity::Length| deep - part.thickness * 2;
    let units = match core {
        Core::Units => true,
        Core::Concrete => false,
        Core::Open => return None,
    };
    Some(Remark::Core {
        clear: (clear(part.body.length), clear(part.body.width)),
        units,
    })
}

/// Two leaves.
pub(super) fn leaves(part: &MeasuredPart) -> Option<Remark> {
    let leaves = part.part.leaves?;
    Some(Remark::Leaves {
        space: leaves.space,
        filled: leaves.filled,
    })
}

/// The walls round a lining.
pub(super) fn lining(measured: &Measured, part: &MeasuredPart, course: u32) -> Option<Remark> {
    let lines = part.lines?;
    let host = measured.parts.get(lines.host)?;
    let top = part.heights.top_of(course);
    let off = |other: &u32| (host.heights.top_of(*other) - top).abs();
    let nearest = (1..=host.courses).min_by_key(off)?;
    Some(Remark::Lining(LiningReason {
        host: host.name.clone(),
        laid: lines.lining.laid,
        gap: (standing_clear(part, host)?, lines.lining.gap),
        nearest: (nearest, top - host.heights.top_of(nearest)),
        meets: off(&nearest) <= MEETS_WITHIN,
        bed: lines
            .lining
            .meet
            .and(part.part.coursing.every)
            .map(|bed| (bed, part.setting.joints.bed.nominal)),
    }))
}

/// Ties in the bed over a course.
pub(super) fn ties(plan: &Plan, part: &MeasuredPart, course: u32) -> Option<Remark> {
    let asked = part.part.leaves?.ties?;
    // Where ties have room is known only of the finished work.
    let laid = lay(&Arc::new(plan.clone())).ok()?;
    let (index, _) = laid.part(&part.name)?;
    let here = || {
        laid.ties
            .iter()
            .filter(move |tie| tie.part == index && tie.course == course)
    };
    let count = here().count();
    (count > 0).then(|| Remark::Ties {
        count,
        at_jambs: here().filter(|tie| tie.at_jamb).count(),
        asked,
    })
}
