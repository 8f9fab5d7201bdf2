//! The runs of an annex's walls: toothed into their chamber at one end, turning a corner at the other.

use super::course::{Edge, Line};
use super::frame::{Strip, run_between};
use super::junction::{Passing, Tooth};
use super::measure::{MeasuredBranch, MeasuredPart, Meets};

/// Which way the corners of each annex turn: whether its far wall passes them in odd courses.
pub(super) type Corners = Vec<[bool; 2]>;

impl Passing {
    /// Whether a wall passes a corner of its annex in a course.
    fn turns(&self, annex: usize, corner: usize, far: bool, course: u32) -> bool {
        let turns = self.corners.get(annex).and_then(|both| both.get(corner));
        let far_passes = turns.copied().unwrap_or(true) == (course % 2 == 1);
        far_passes == far
    }
}

/// The run of a leaf of an annex's wall, for what passes at its ends; none where it is no annex's.
pub(super) fn annex_line<'a>(
    part: &MeasuredPart,
    branch: &MeasuredBranch,
    strip: &Strip,
    passing: &Passing,
    teeth: &[Option<Tooth>],
    course: u32,
) -> Option<Line<'a>> {
    let path = branch.path.as_ref()?;
    let half_joint = part.rules.joint / 2;
    let far = branch.crossings.is_empty();
    let turns = |corner: Option<usize>| {
        corner.is_none_or(|corner| passing.turns(path.annex, corner, far, course))
    };
    let (low, high) = (turns(strip.low_corner), turns(strip.high_corner));
    let run = run_between(strip, low, high);
    let edge = |corner: Option<usize>, passes: bool| match corner {
        None => Edge::Free,
        Some(_) if passes => Edge::Passed,
        Some(_) => Edge::Butted,
    };
    let mut line = Line {
        from: run.from,
        to: run.to,
        low: edge(strip.low_corner, low),
        high: edge(strip.high_corner, high),
        raster: if strip.low_corner.is_none() {
            run.to + if high { half_joint } else { -half_joint }
        } else {
            run.from + if low { -half_joint } else { half_joint }
        },
    };
    for (crossing, &tooth) in branch.crossings.iter().zip(teeth) {
        match (crossing.meets, tooth) {
            (Meets::Low, Some(tooth)) => (line.from, line.low) = (tooth.faces.0, tooth.edge()),
            (Meets::Low, None) => line.low = Edge::Met,
            (Meets::High, Some(tooth)) => (line.to, line.high) = (tooth.faces.1, tooth.edge()),
            (Meets::High, None) => line.high = Edge::Met,
            (Meets::Through, _) => {}
        }
    }
    Some(line)
}
