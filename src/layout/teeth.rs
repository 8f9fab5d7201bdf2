//! Branches of walls that headers bond: how deep they pass in, and what their courses are set out by.
//!
//! Into such a wall a branch that stands on one face passes half a unit deep, between the stretchers of that face; what is
//! left of the thickness there, the cap, is laid with the wall, so that the other face shows no more than a stretcher. Or
//! it passes through to the other face, where its ends show as headers. A branch one unit thick is bonded as its wall is;
//! one half a unit thick is laid in stretchers. In both, joints are reckoned from the ends of the run.

use super::bonded::Face;
use super::course::{Edge, Layer, Line, Place, Told, finished_end};
use super::frame::Strip;
use super::held::HeldStretch;
use super::interval::{Element, End, Pattern};
use super::measure::{Crossing, MeasuredBranch, MeasuredPart, Meets};
use super::thick::{INNER, MIDDLE, OUTER, ROWS, goes_through};
use crate::masonry::Cell;
use crate::plan::{Branch, BranchKind, PlanError};

/// One part in so many of a tooth's width that headers cross ties it: our own choice.
const TIED: i64 = 3;
/// Half units of a branch that is one unit thick.
const ONE_UNIT: i64 = 2;

impl MeasuredPart {
    /// Whether a branch is a wall one unit thick that headers bond. Piers are blocks of their own.
    pub(super) fn bonds_through(&self, branch: &Branch) -> bool {
        self.bond.has_headers() && branch.kind != BranchKind::Pier && branch.thickness == ONE_UNIT
    }

    /// Refuses a branch that is not laid in a bond of headers.
    ///
    /// # Errors
    /// When it is thicker than a unit is long, when its unit does not bond through, or when a wall of an annex would have
    /// to turn corners in headers.
    pub(super) fn check_headers_join(&self, branch: &Branch) -> Result<(), PlanError> {
        if !self.bond.has_headers() || branch.kind == BranchKind::Pier {
            return Ok(());
        }
        let most = if branch.kind == BranchKind::Annex {
            1
        } else {
            ONE_UNIT
        };
        if branch.thickness > most {
            let thick = |halves: i64| halves as f64 / 2.0;
            return Err(PlanError::new(
                "junction-too-thick-for-bond",
                format!(
                    "\"{}\" is {} units thick; in bond \"{}\" a {} is laid up to {} thick",
                    branch.name,
                    thick(branch.thickness),
                    self.bond.name,
                    branch.kind.word(),
                    thick(most)
                ),
                format!(
                    "take thickness: {}, bond: \"stretcher\" for this part, or build it as a wall of its own",
                    thick(most)
                ),
            )
            .at_key("thickness"));
        }
        if self.bonds_through(branch) {
            self.check_bonded()?;
        }
        Ok(())
    }

    /// What is left of a wall that headers bond where a branch passes in half a unit deep; none where it goes through
    /// the wall to both sides.
    pub(super) fn cap_behind(&self, wall: (i64, i64), meets: Meets) -> Option<(i64, i64)> {
        let deep = self.unit_width.nm() + self.rules.joint;
        if !self.bonded {
            return None;
        }
        match meets {
            Meets::Low => Some((wall.0, wall.1 - deep)),
            Meets::High => Some((wall.0 + deep, wall.1)),
            Meets::Through => None,
        }
    }

    /// Whether headers bond a leg through.
    pub(super) fn bonded_leg(&self, leg: usize) -> bool {
        match self.branch_of(leg) {
            Some(branch) => branch.bonded,
            None => self.bonded && leg < self.sides,
        }
    }

    /// What the cap behind a tooth is laid by: stretchers, with a header where their length asks for one.
    pub(super) fn cap_pattern(&self) -> Pattern {
        let module = self.rules.unit + self.rules.joint;
        let first = -self.rules.joint / 2;
        let mut marks = [first, first + module / 2].map(|mark| mark.rem_euclid(module));
        marks.sort_unstable();
        self.stretchers(marks.to_vec())
    }

    /// A course of stretchers with its joints on marks; half bats are its headers.
    fn stretchers(&self, marks: Vec<i64>) -> Pattern {
        Pattern {
            cells: vec![Cell::Stretcher],
            marks,
            period: self.rules.unit + self.rules.joint,
            header: self.unit_width.nm(),
            closer: 0,
            headed: (false, false),
            anew: false,
        }
    }

    /// The ways in which a stretch of a branch, or of a row of a pier, may be set out that starts at a place: from either
    /// end of its run.
    pub(super) fn branch_patterns(
        &self,
        leg: usize,
        strip: &Strip,
        course: u32,
        line: &Line<'_>,
        from: i64,
    ) -> Vec<Pattern> {
        let rules = &self.rules;
        let (half_joint, module) = (rules.joint / 2, rules.unit + rules.joint);
        let branch = self.branch_of(leg);
        // Half a unit thick it shows the bond of a wall as thin; beside a thicker one it is a wall of stretchers.
        let by_bond = branch.is_some_and(|branch| {
            let snapped =
                !self.bonded && branch.kind != BranchKind::Pier && branch.leaves.len() == 1;
            branch.bonded || snapped
        });
        if by_bond {
            // Against other work the first joint lies before the first piece.
            let joint = |edge: Edge<'_>| match edge.end() {
                End::Jointed => rules.joint,
                End::Open => 0,
            };
            let run = Strip {
                low: line.from + joint(line.low),
                high: line.to - joint(line.high) - strip.thickness,
                low_corner: None,
                high_corner: None,
                ..*strip
            };
            return [false, true]
                .map(|from_high| {
                    self.pattern(&run, course, Face::Front, from, from_high, (false, false))
                })
                .to_vec();
        }
        let joint = |edge: Edge<'_>| match edge.end() {
            End::Jointed => half_joint,
            End::Open => -half_joint,
        };
        let ends = [line.from + joint(line.low), line.to - joint(line.high)];
        let mut marks = [line.raster, ends[0], ends[1]]
            .map(|mark| (mark - from).rem_euclid(module.max(1)))
            .to_vec();
        marks.dedup();
        let mut patterns: Vec<Pattern> = Vec::with_capacity(marks.len());
        for mark in marks {
            let pattern = self.stretchers(vec![mark]);
            if !patterns.contains(&pattern) {
                patterns.push(pattern);
            }
        }
        patterns
    }
}

impl MeasuredBranch {
    /// What the work of a pier in one course keeps its laps over: the joints between its rows where it passes into the
    /// wall, those between its units side by side where it lies along it. For a leaf of it, or one of its rows.
    fn borders(&self, row: bool, joint: i64) -> Vec<i64> {
        let strips = if row { &self.leaves } else { &self.rows };
        let mut found: Vec<i64> = strips
            .iter()
            .flat_map(|strip| {
                [
                    strip.across - joint / 2,
                    strip.across + strip.thickness + joint / 2,
                ]
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }
}

impl<'a> Layer<'a> {
    /// Lays what is left of a wall behind a branch: through its thickness where that is a unit, else in pieces of half a
    /// unit's.
    pub(super) fn lay_cap(&mut self, place: &Place<'_>, cap: &Strip, stretch: &HeldStretch<'a>) {
        let leaf = usize::from(cap.across != place.strip.across) ^ usize::from(!cap.inside_high);
        let within = self.place(place.course, leaf, place.leg, cap);
        self.lay_solved(&within, stretch);
    }

    /// Lays what is left of a wall one and a half units thick behind a branch: one unit of it, bonded through. As in the
    /// rest of the wall, laps are kept on the face.
    pub(super) fn lay_thick_cap(
        &mut self,
        (course, leg): (u32, usize),
        (strip, cap): (&'a Strip, Strip),
        (from, to): (i64, i64),
        name: &'a str,
        joints: &mut [Vec<i64>; ROWS],
    ) {
        let outer = (cap.across == strip.across) == strip.inside_high;
        let face = if outer { OUTER } else { INNER };
        let edge = Edge::Capped(name);
        let interval = self.interval(face, leg, from, to, (edge, edge));
        let patterns = vec![self.part.cap_pattern()];
        let solution = self.solution(&interval, &patterns);
        for (order, element) in solution.elements.iter().enumerate() {
            let at = Element {
                start: from + element.start,
                ..*element
            };
            let finished = finished_end(&solution.elements, order, &interval);
            let through = goes_through(element.kind);
            self.lay_row_piece((course, leg, face), strip, at, through, finished);
            if !through {
                self.lay_row_piece((course, leg, MIDDLE), strip, at, false, finished);
            }
        }
        for row in [face, MIDDLE] {
            if let Some(found) = joints.get_mut(row) {
                found.extend(solution.joints.iter().map(|joint| joint + from));
            }
        }
        self.report_misses((course, leg, face), strip, from, &solution.misses);
        self.tell(course, || Told {
            course,
            leaf: face,
            leg,
            strip: *strip,
            held: HeldStretch {
                from,
                low: edge,
                high: edge,
                interval,
                edges: Vec::new(),
                patterns,
                solution,
                alone: None,
                borders: Vec::new(),
                cap: Some(cap),
                seated: false,
                floats: Vec::new(),
            },
            rules: None,
        });
    }

    /// The joints between units side by side in teeth that a leaf of a leg lies over, or lies under, in a course in which
    /// they do not pass; and, where a branch passes, those of its next courses against the faces of its wall.
    pub(super) fn tooth_borders(&self, course: u32, leaf: usize, leg: usize) -> Vec<i64> {
        let part = self.part;
        let mut found = Vec::new();
        for (number, branch) in part.branches.iter().enumerate() {
            for (end, crossing) in branch.crossings.iter().enumerate() {
                let passes = |course: u32| self.passing.passes(part, number, end, course);
                let beside = passes(course.saturating_sub(1)) || passes(course + 1);
                if crossing.leg == leg
                    && crossing.leaves.contains(&leaf)
                    && beside
                    && !passes(course)
                {
                    let rest = branch.leaves.iter().skip(1);
                    found.extend(rest.map(|strip| strip.across - part.rules.joint / 2));
                }
                if branch.leg == leg && passes(course) && branch.courses > 1 {
                    let half_joint = part.rules.joint / 2;
                    found.extend([crossing.wall.0 - half_joint, crossing.wall.1 + half_joint]);
                }
            }
        }
        found.sort_unstable();
        found
    }

    /// Joints below a leg in the first course of a part whose courses are not laid anew for those above: the ones that
    /// teeth bring in the second course.
    fn with_teeth_to_come(&self, course: u32, leg: usize, mut below: Vec<i64>) -> Vec<i64> {
        let part = self.part;
        if course != 1 || !part.thick() {
            return below;
        }
        let half_joint = part.rules.joint / 2;
        for (number, branch) in part.branches.iter().enumerate() {
            for (end, crossing) in branch.crossings.iter().enumerate() {
                let second = self.passing.passes(part, number, end, 2);
                if crossing.leg == leg && second {
                    below.extend([crossing.span.0 - half_joint, crossing.span.1 + half_joint]);
                }
            }
        }
        below.sort_unstable();
        below
    }

    /// Adds to the joints below a row of a thick wall what teeth bring.
    pub(super) fn mind_teeth(&mut self, course: u32, row: usize, leg: usize, strip: &Strip) {
        let below = self.joints_below(row, leg).to_vec();
        let mut below = self.with_teeth_to_come(course, leg, below);
        // Teeth that pass half a unit deep lie in the row of one face alone.
        let near = |strip: &Strip, cap: (i64, i64)| {
            let outer = (cap.0 == strip.across) == strip.inside_high;
            (row == OUTER) != outer || row == MIDDLE
        };
        let part = self.part;
        let reach = part.branches.iter().flat_map(|branch| &branch.crossings);
        let mut reach = reach.filter(|crossing| crossing.leg == leg);
        if reach.any(|crossing| crossing.cap.is_none_or(|cap| near(strip, cap))) {
            below.extend(self.tooth_borders(course, 0, leg));
            below.sort_unstable();
        }
        self.keep_joints(row, leg, below);
    }

    /// How many courses of a wall that headers bond are worse for its branches. Those that lie over a tooth without a header
    /// across the joint behind it: there the tooth and what is over it stand before the rest of the wall like a leaf. And
    /// those in which a branch shows on the face that it does not meet.
    pub(super) fn worse_for_teeth(&self, courses: u32) -> usize {
        let part = self.part;
        let mut found = 0;
        for (number, branch) in part.branches.iter().enumerate() {
            for (end, crossing) in branch.crossings.iter().enumerate() {
                let Some(cap) = self.passing.cap(number, end, crossing) else {
                    if crossing.cap.is_some() {
                        let courses = 1..=courses.min(branch.courses);
                        let passes = |course: &u32| self.passing.passes(part, number, end, *course);
                        found += courses.filter(passes).count();
                    }
                    continue;
                };
                let behind = match crossing.meets {
                    Meets::High => cap.0 - part.rules.joint / 2,
                    _ => cap.1 + part.rules.joint / 2,
                };
                for course in 1..=courses.min(branch.courses) {
                    if crossing.toothed && !self.passing.passes(part, number, end, course) {
                        let tied = self.tied(crossing, course, behind);
                        let width = crossing.span.1 - crossing.span.0;
                        found += usize::from(tied * TIED < width);
                    }
                }
            }
        }
        found
    }

    /// How much of a crossing units of the wall cover in a course that lie across a joint behind its face.
    fn tied(&self, crossing: &Crossing, course: u32, behind: i64) -> i64 {
        let Some(strip) = self.part.whole.get(crossing.leg) else {
            return 0;
        };
        let pieces = self.work.pieces.iter();
        let here = pieces.filter(|piece| {
            u32::from(piece.course) == course && usize::from(piece.leg) == crossing.leg
        });
        here.map(|piece| {
            let cuboid = piece.cuboid();
            let (from, to) = cuboid.span(strip.axis.across());
            let along = cuboid.span(strip.axis);
            let shared = along.1.nm().min(crossing.span.1) - along.0.nm().max(crossing.span.0);
            if from.nm() < behind && behind < to.nm() {
                shared.max(0)
            } else {
                0
            }
        })
        .sum()
    }

    /// The joints that a leg of a toothed pier keeps its laps over, whose courses turn; none for any other leg.
    pub(super) fn pier_borders(&self, leg: usize) -> Option<Vec<i64>> {
        let part = self.part;
        let pier = part.branches.iter().find(|branch| {
            !branch.rows.is_empty() && (branch.leg == leg || branch.row_leg == leg)
        })?;
        let toothed = pier.crossings.iter().any(|crossing| crossing.toothed);
        toothed.then(|| pier.borders(pier.row_leg == leg, part.rules.joint))
    }
}
