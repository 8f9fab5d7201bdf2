//! What is told of copings.

use super::{CopingLoss, CopingReason, Remark};
use crate::layout::coping::{LaidCoping, lay_coping};
use crate::layout::course::PartWork;
use crate::layout::interval::{ElementKind, Interval, Solution, next_best, solve};
use crate::layout::measure::{CopingRun, MeasuredCoping, MeasuredPart};
use crate::plan::{CopingKind, SideRef};
use crate::quantity::Length;

/// Each stretch of the coping.
pub(super) fn coping(part: &MeasuredPart) -> Vec<Remark> {
    let Some(measured) = &part.coping else {
        return Vec::new();
    };
    let mut work = PartWork::default();
    lay_coping(part, 0, &mut work);
    let Some(laid) = work.coping else {
        return Vec::new();
    };
    measured
        .runs
        .iter()
        .map(|run| {
            let side = covered(part, run);
            Remark::Coping(match measured.coping.kind {
                CopingKind::Rowlock => rowlocks(measured, run, side),
                CopingKind::Stone | CopingKind::Concrete => slabs(measured, run, side, &laid),
            })
        })
        .collect()
}

/// The leg under the middle of a run; none where it covers a block.
fn covered(part: &MeasuredPart, run: &CopingRun) -> Option<SideRef> {
    let middle = i64::midpoint(run.across.0, run.across.1);
    let leg = part.whole.iter().position(|strip| {
        let (low, high) = strip.span();
        strip.axis == run.axis
            && (strip.across..=strip.across + strip.thickness).contains(&middle)
            && low < run.along.1
            && high > run.along.0
    })?;
    (!run.single).then(|| part.side_of(leg))
}

fn slabs(
    measured: &MeasuredCoping,
    run: &CopingRun,
    side: Option<SideRef>,
    laid: &LaidCoping,
) -> CopingReason {
    let whole = measured.coping.length.nm();
    let joint = measured.rules.joint;
    let zone = run.zone(measured.z);
    let here = || {
        let slabs = laid.slabs.iter();
        slabs.filter(|slab| zone.shared(&slab.cuboid).is_some())
    };
    let lengths: Vec<i64> = here().map(|slab| slab.length().nm()).collect();
    let other = other_slabs(&lengths, whole).filter(|_| !run.single);
    let count = |lengths: &[i64]| lengths.iter().filter(|length| **length != whole).count();
    let nm = |lengths: Vec<i64>| lengths.into_iter().map(Length::from_nm).collect();
    let jointed = |lengths: &[i64]| (lengths.len() > 1).then(|| Length::from_nm(joint));
    CopingReason {
        side,
        kind: measured.coping.kind,
        cut: here().filter(|slab| slab.cut).count(),
        joint: jointed(&lengths),
        loses_by: match &other {
            Some(other) if count(other) > count(&lengths) => CopingLoss::Cuts,
            _ => CopingLoss::ShortPiece,
        },
        laid: nm(lengths),
        next: other.map(|other| {
            let (cut, joint) = (count(&other), jointed(&other));
            (nm(other), cut, joint)
        }),
        limits: limits(measured),
    }
}

/// The other way to set out slabs of which some are cut: one cut slab where two are, or two where one is; none where all
/// are whole or there is but one.
fn other_slabs(laid: &[i64], whole: i64) -> Option<Vec<i64>> {
    let cut: Vec<i64> = laid
        .iter()
        .copied()
        .filter(|length| *length != whole)
        .collect();
    let wholes = laid.len() - cut.len();
    let mut other = vec![whole; wholes];
    match cut.as_slice() {
        [one, two] => {
            let left = one + two - whole;
            if left <= 0 {
                return None;
            }
            other.extend([whole, left]);
        }
        [one] if wholes > 0 => {
            let both = whole + one;
            other.pop();
            other.extend([both / 2, both - both / 2]);
        }
        _ => return None,
    }
    Some(other)
}

fn limits(measured: &MeasuredCoping) -> (Length, Length) {
    (
        Length::from_nm(measured.rules.shortest_joint),
        Length::from_nm(measured.rules.longest_joint),
    )
}

fn rowlocks(measured: &MeasuredCoping, run: &CopingRun, side: Option<SideRef>) -> CopingReason {
    let interval = Interval {
        length: run.along.1 - run.along.0,
        low: run.ends.0,
        high: run.ends.1,
        raster: 0,
        floats: Vec::new(),
        below: Vec::new(),
    };
    let solution = solve(&interval, &measured.rules);
    let next = next_best(&interval, &measured.rules, &solution);
    let loses_by = match &next {
        Some(next) if next.cost.misses > next.laid.misses => CopingLoss::Limits,
        Some(next) if next.cost.cuts > next.laid.cuts => CopingLoss::Cuts,
        _ => CopingLoss::Joints,
    };
    let (laid, cut, joint) = way(&solution, &interval);
    CopingReason {
        side,
        kind: measured.coping.kind,
        laid,
        cut,
        joint,
        next: next.map(|next| way(&next.solution, &interval)),
        loses_by,
        limits: limits(measured),
    }
}

fn way(solution: &Solution, interval: &Interval) -> (Vec<Length>, usize, Option<Length>) {
    let elements = &solution.elements;
    let taken: i64 = elements.iter().map(|element| element.length).sum();
    let joints = solution.joints.len() as i64;
    let cut = elements.iter().filter(|one| one.kind != ElementKind::Whole);
    (
        elements
            .iter()
            .map(|one| Length::from_nm(one.length))
            .collect(),
        cut.count(),
        (joints > 0).then(|| Length::from_nm((interval.length - taken) / joints)),
    )
}
