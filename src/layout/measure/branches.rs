//! Branches, partitions and attached piers: where they stand and which stretch of their wall they take in turn.

use std::ops::Range;
use std::sync::Arc;

use super::sizes::{Gauger, JointRule};
use super::{MeasuredPart, cuboid, leg_of};
use crate::layout::frame::Strip;
use crate::layout::geometry::{Axis, Cuboid};
use crate::layout::laid::Compartment;
use crate::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, LintelKind, MOST_BRANCHES, PlanError, Shape,
    Side, SideRef, Size,
};
use crate::quantity::Length;

/// A branch in its place. All places in nanometres.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredBranch {
    pub(in crate::layout) name: String,
    pub(in crate::layout) kind: BranchKind,
    pub(in crate::layout) courses: u32,
    /// How far apart ties hold it to its wall, where it only butts.
    pub(in crate::layout) ties: Option<Length>,
    /// Its leg, counted on from the legs of its part.
    pub(in crate::layout) leg: usize,
    /// Whether headers bond it through: then it has one strip, a unit thick.
    pub(in crate::layout) bonded: bool,
    /// Strips of its leaves between the faces that it meets, or from such a face to its free end.
    pub(in crate::layout) leaves: Vec<Strip>,
    /// Where it meets walls, from low to high.
    pub(in crate::layout) crossings: Vec<Crossing>,
    /// The rows of a pier that lie along its wall in the other courses.
    pub(in crate::layout) rows: Vec<Strip>,
    /// The leg of its rows; 0 where it has no rows.
    pub(in crate::layout) row_leg: usize,
    /// Its boxes, without what it shares with the walls that it meets.
    pub(in crate::layout) boxes: Vec<Cuboid>,
    /// Where it belongs, for a wall of an annex.
    pub(in crate::layout) path: Option<PathLeg>,
}

/// A wall of an annex.
#[derive(Clone, Debug)]
pub(in crate::layout) struct PathLeg {
    /// The strip of its whole thickness, corners included.
    pub(in crate::layout) whole: Strip,
    /// Which annex of the part, from 0.
    pub(in crate::layout) annex: usize,
}

/// How a branch lies to a wall that it meets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::layout) enum Meets {
    /// The wall is at the branch's low end.
    Low,
    /// The wall is at its high end.
    High,
    /// It goes through the wall.
    Through,
}

/// Where a branch meets a wall.
#[derive(Clone, Debug)]
pub(in crate::layout) struct Crossing {
    /// The wall's leg.
    pub(in crate::layout) leg: usize,
    /// The leaves of the wall that it passes into.
    pub(in crate::layout) leaves: Range<usize>,
    /// The stretch that it takes along the wall.
    pub(in crate::layout) span: (i64, i64),
    /// The wall's faces, across it.
    pub(in crate::layout) wall: (i64, i64),
    /// From face to face of the leaves that it passes into.
    pub(in crate::layout) tooth: (i64, i64),
    /// The faces of what is left of the wall where it passes in only half a unit deep: of a wall that headers bond, from
    /// the face that it does not meet.
    pub(in crate::layout) cap: Option<(i64, i64)>,
    pub(in crate::layout) meets: Meets,
    pub(in crate::layout) toothed: bool,
}

impl MeasuredPart {
    pub(super) fn measure_branches(&mut self, gauger: &mut Gauger<'_>) -> Result<(), PlanError> {
        let part = Arc::clone(&self.part);
        let mut rows = Vec::new();
        let mut branches = part.branches.clone();
        for row in &part.pier_rows {
            branches.extend(self.spread_piers(row, gauger)?);
        }
        if branches.len() > MOST_BRANCHES {
            return Err(PlanError::too_many_branches());
        }
        for (number, branch) in branches.iter().enumerate() {
            let measured = self.measure_branch(number, branch, gauger)?;
            let whole = whole_strip(&measured);
            for other in &self.branches {
                let meets =
                    |one: &Cuboid| measured.boxes.iter().any(|two| one.shared(two).is_some());
                if other.boxes.iter().any(meets) || teeth_meet(&measured, other, self.rules.joint) {
                    return Err(PlanError::new(
                        "junction-in-the-way",
                        format!("\"{}\" runs into \"{}\"", branch.name, other.name),
                        "move one of them along the wall; one branch with both faces makes a crossing",
                    )
                    .at_key("at"));
                }
            }
            let walls = self.wall_boxes();
            if walls
                .iter()
                .any(|wall| measured.boxes.iter().any(|b| b.shared(wall).is_some()))
            {
                return Err(PlanError::new(
                    "junction-in-the-way",
                    format!("\"{}\" runs into another wall of the part", branch.name),
                    "make it shorter, or move it along its wall",
                )
                .at_key("length"));
            }
            self.whole.push(whole);
            rows.push(measured.rows.first().map(|row| Strip {
                across: row.across,
                ..*row
            }));
            self.branches.push(measured);
        }
        // The rows of piers come after all branches, so that a branch's leg follows from its number.
        for (index, row) in rows.into_iter().enumerate() {
            let leg = self.whole.len();
            if let (Some(row), Some(branch)) = (row, self.branches.get_mut(index)) {
                branch.row_leg = leg;
                self.whole.push(row);
            }
        }
        Ok(())
    }

    fn measure_branch(
        &self,
        number: usize,
        branch: &Branch,
        gauger: &mut Gauger<'_>,
    ) -> Result<MeasuredBranch, PlanError> {
        self.check_headers_join(branch)?;
        if self.part.leaves.is_some() && matches!(branch.reach, BranchReach::Through(..)) {
            return Err(PlanError::new(
                "junction-in-two-leaves",
                format!(
                    "\"{}\" would go through the space between two leaves and bridge it",
                    branch.name
                ),
                "take face: \"outside\" or \"inside\", so that it joins the leaf that it meets, or give the wall a `thickness`",
            )
            .at_key("face"));
        }
        if let Some(wall) = self.measure_annex_wall(number, branch, gauger)? {
            return Ok(wall);
        }
        let wall_leg = leg_of(branch.side, self.sides);
        let wall = self.strip(wall_leg)?;
        let leaf = self.unit_width.nm();
        let step = leaf + self.rules.joint;
        let bonded = self.bonds_through(branch);
        let thickness = if bonded {
            self.rules.unit
        } else {
            branch.thickness * step - self.rules.joint
        };
        let courses = branch.courses.unwrap_or(self.courses);
        if courses > self.courses {
            return Err(PlanError::above(&branch.name, courses, self.courses).at_key("courses"));
        }
        let span = self.place_branch(branch, wall, thickness, gauger)?;
        let faces = (wall.across, wall.across + wall.thickness);
        let pier = branch.kind == BranchKind::Pier;
        let mut length = |size: Size, word: &str| -> Result<i64, PlanError> {
            match size {
                // A pier is as deep as its rows lie side by side.
                Size::HalfUnits(rows) if pier => Ok(rows * step),
                Size::Length(asked) if pier => {
                    Ok(((asked.nm() + step / 2) / step).max(1).saturating_mul(step))
                }
                size => gauger.size(
                    format!("{word} of \"{}\"", branch.name),
                    size,
                    JointRule::Return,
                ),
            }
        };
        let (outside, inside) = match branch.reach {
            BranchReach::Outside(size) => (length(size, "length")?, 0),
            BranchReach::Inside(size) => (0, length(size, "length")?),
            BranchReach::Through(out, into) => (
                length(out, "length outside")?,
                length(into, "length inside")?,
            ),
            BranchReach::Across => (0, 0),
        };
        let (below, above) = if wall.inside_high {
            (outside, inside)
        } else {
            (inside, outside)
        };
        let mut crossings = Vec::new();
        let mut cross = |leg: usize, meets: Meets, from_outside: bool| {
            let strip = self.whole.get(leg).copied().unwrap_or(wall);
            let last = self.leaves.len().saturating_sub(1);
            let leaves = match (meets, from_outside) {
                (Meets::Through, _) => 0..last + 1,
                (_, true) => 0..1,
                (_, false) => last..last + 1,
            };
            let tooth = leaves.clone().fold((i64::MAX, i64::MIN), |(low, high), k| {
                self.leaves
                    .get(k)
                    .and_then(|legs| legs.get(leg))
                    .map_or((low, high), |leaf| {
                        (low.min(leaf.across), high.max(leaf.across + leaf.thickness))
                    })
            });
            let wall = (strip.across, strip.across + strip.thickness);
            crossings.push(Crossing {
                leg,
                leaves,
                span,
                wall,
                tooth,
                cap: self.cap_behind(wall, meets),
                meets,
                toothed: branch.toothed,
            });
        };
        let ends = match branch.reach {
            BranchReach::Across => {
                let opposite = (wall_leg + 2) % 4;
                let other = self.strip(opposite)?;
                let (low, high) = if wall.across < other.across {
                    (wall_leg, opposite)
                } else {
                    (opposite, wall_leg)
                };
                cross(low, Meets::Low, false);
                cross(high, Meets::High, false);
                let near = self.strip(low)?;
                (near.across + near.thickness, self.strip(high)?.across)
            }
            BranchReach::Through(..) => {
                cross(wall_leg, Meets::Through, false);
                (faces.0 - below, faces.1 + above)
            }
            BranchReach::Outside(_) | BranchReach::Inside(_) => {
                let from_outside = matches!(branch.reach, BranchReach::Outside(_));
                if above > 0 {
                    cross(wall_leg, Meets::Low, from_outside);
                    (faces.1, faces.1 + above)
                } else {
                    cross(wall_leg, Meets::High, from_outside);
                    (faces.0 - below, faces.0)
                }
            }
        };
        let axis = wall.axis.across();
        let strip = |across: i64, (low, high): (i64, i64), axis: Axis, thickness: i64| Strip {
            axis,
            low,
            high: high - thickness,
            low_corner: None,
            high_corner: None,
            across,
            thickness,
            inside_high: true,
            starts_low: true,
        };
        let sides: Vec<(i64, i64)> = if matches!(branch.reach, BranchReach::Through(..)) {
            vec![(ends.0, faces.0), (faces.1, ends.1)]
        } else {
            vec![ends]
        };
        let mut rows = Vec::new();
        if pier {
            for &(low, high) in &sides {
                // The joint against the wall lies on its side.
                let from = if low == faces.1 {
                    low + self.rules.joint
                } else {
                    low
                };
                for row in 0..(high - low) / step {
                    rows.push(strip(from + row * step, span, wall.axis, leaf));
                }
            }
        }
        let base = self.base;
        let heights = (base, base + self.heights.top_of(courses));
        let boxes = sides
            .iter()
            .map(|&along| match axis {
                Axis::X => cuboid(along, span, heights),
                Axis::Y => cuboid(span, along, heights),
            })
            .collect();
        Ok(MeasuredBranch {
            name: branch.name.clone(),
            kind: branch.kind,
            courses,
            ties: branch.ties.filter(|_| !branch.toothed),
            leg: self.whole.len(),
            row_leg: 0,
            bonded,
            leaves: if bonded {
                vec![strip(span.0, ends, axis, thickness)]
            } else {
                (0..branch.thickness)
                    .map(|k| strip(span.0 + k * step, ends, axis, leaf))
                    .collect()
            },
            crossings,
            rows,
            boxes,
            path: None,
        })
    }

    /// The stretch that a branch takes along its wall.
    fn place_branch(
        &self,
        branch: &Branch,
        wall: Strip,
        thickness: i64,
        gauger: &Gauger<'_>,
    ) -> Result<(i64, i64), PlanError> {
        let (low, high) = wall.span();
        let from = match branch.at {
            BranchPlace::Centre => low + (high - low - thickness) / 2,
            BranchPlace::Left | BranchPlace::Right => {
                if (branch.at == BranchPlace::Left) == wall.starts_low {
                    low
                } else {
                    high - thickness
                }
            }
            BranchPlace::At(at) => {
                let off = match at {
                    Size::HalfUnits(halves) => halves * gauger.module / 2,
                    Size::Length(length) => length.nm(),
                };
                if wall.starts_low {
                    low + off
                } else {
                    high - off - thickness
                }
            }
        };
        let span = (from, from + thickness);
        let clear = wall.clear();
        // At a corner there is room for a joint at least; a free end may be flush.
        let joint = self.rules.joint;
        let least = clear.0 + if wall.low_corner.is_some() { joint } else { 0 };
        let most = clear.1 - if wall.high_corner.is_some() { joint } else { 0 };
        if span.0 < least || span.1 > most {
            return Err(PlanError::new(
                "junction-outside-wall",
                format!(
                    "\"{}\" is {} thick and meets a corner or passes the end of its wall, which has {} between its corners or ends",
                    branch.name,
                    Length::from_nm(thickness),
                    Length::from_nm(clear.1 - clear.0)
                ),
                "change `at`, or leave it out to centre it; at a corner lengthen the leg instead",
            )
            .at_key("at"));
        }
        Ok(span)
    }

    /// Refuses openings, lintels and vents where a branch meets their wall.
    pub(super) fn check_junctions(&self) -> Result<(), PlanError> {
        let joint = self.rules.joint;
        for branch in &self.branches {
            for crossing in &branch.crossings {
                let taken = (crossing.span.0 - joint, crossing.span.1 + joint);
                let meets = |span: (i64, i64)| span.0 < taken.1 && span.1 > taken.0;
                let refuse = |what: String| {
                    Err(PlanError::new(
                        "junction-in-the-way",
                        format!("\"{}\" meets the wall at {what}", branch.name),
                        "move one of them, or end the branch below it",
                    )
                    .at_key("at"))
                };
                for opening in self.openings.iter().filter(|o| o.leg == crossing.leg) {
                    // Flush with a jamb it is the jamb.
                    let flush =
                        opening.span.1 == crossing.span.0 || opening.span.0 == crossing.span.1;
                    if opening.courses.0 <= branch.courses && meets(opening.span) && !flush {
                        return refuse(format!("\"{}\"", opening.name));
                    }
                    if let Some(arch) = &opening.arch
                        && opening.courses.1 < branch.courses
                    {
                        let (middle, half) =
                            (arch.outline.middle.nm(), arch.outline.widest_half().nm());
                        if meets((middle - half, middle + half)) {
                            return refuse(format!("the arch over \"{}\"", opening.name));
                        }
                    }
                    if let Some(lintel) = opening.lintel
                        && lintel.kind != LintelKind::Steel
                        && opening.courses.1 < branch.courses
                        && meets(lintel.span)
                    {
                        return refuse(format!("the lintel over \"{}\"", opening.name));
                    }
                }
                for vent in self.vents.iter().filter(|v| v.leg == crossing.leg) {
                    let half = vent.width / 2;
                    if vent.course <= branch.courses
                        && vent.middles.iter().any(|m| meets((m - half, m + half)))
                    {
                        return refuse(format!("\"{}\"", vent.name));
                    }
                }
                for ledge in self.ledges.iter().filter(|l| l.leg == crossing.leg) {
                    let half = self.unit_width.nm() / 2;
                    if ledge.course <= branch.courses
                        && ledge.middles.iter().any(|m| meets((m - half, m + half)))
                    {
                        return refuse(format!("the ledge in course {}", ledge.course));
                    }
                }
            }
        }
        Ok(())
    }

    /// The spaces that partitions divide the inside into, from the front or the left.
    pub(super) fn measure_compartments(&self) -> Result<Vec<Compartment>, PlanError> {
        let Some(inside) = self.inside else {
            return Ok(Vec::new());
        };
        let mut walls: Vec<(&MeasuredBranch, Axis, (i64, i64))> = self
            .branches
            .iter()
            .filter(|branch| branch.kind == BranchKind::Partition)
            .filter_map(|branch| {
                let crossing = branch.crossings.first()?;
                let strip = branch.leaves.first()?;
                Some((branch, strip.axis.across(), crossing.span))
            })
            .collect();
        let Some(&(first, axis, _)) = walls.first() else {
            return Ok(Vec::new());
        };
        if let Some((other, ..)) = walls.iter().find(|(_, other, _)| *other != axis) {
            return Err(PlanError::new(
                "junction-in-the-way",
                format!("\"{}\" crosses \"{}\"", other.name, first.name),
                "let all partitions of a chamber run the same way",
            )
            .at_key("across"));
        }
        walls.sort_by_key(|(.., span)| span.0);
        let words = match (axis, walls.len()) {
            (Axis::X, 1) => vec!["left".to_owned(), "right".to_owned()],
            (Axis::Y, 1) => vec!["front".to_owned(), "back".to_owned()],
            (_, count) => (1..=count + 1).map(|n| n.to_string()).collect(),
        };
        let across = inside.span(axis.across());
        let (base, full) = inside.heights();
        let mut from = inside.span(axis).0;
        let mut found = Vec::with_capacity(words.len());
        for (index, name) in words.into_iter().enumerate() {
            let here = walls.get(index);
            let to = here.map_or(inside.span(axis).1, |wall| Length::from_nm(wall.2.0));
            // Divided only as high as the lower of the partitions beside it.
            let beside = [index.checked_sub(1).and_then(|i| walls.get(i)), here];
            let top = beside
                .into_iter()
                .flatten()
                .map(|(branch, ..)| base + self.heights.top_of(branch.courses))
                .min()
                .unwrap_or(full);
            found.push(Compartment {
                name,
                space: Cuboid::along(axis, (from, to), across, (base, top)),
            });
            from = here.map_or(to, |wall| Length::from_nm(wall.2.1));
        }
        if let Some(none) = found
            .iter()
            .find(|c| !c.space.length.is_positive() || !c.space.width.is_positive())
        {
            return Err(PlanError::new(
                "junction-outside-wall",
                format!("nothing is left of the compartment \"{}\"", none.name),
                "move the partition",
            )
            .at_key("at"));
        }
        Ok(found)
    }

    /// The courses of a leg: a branch may be lower than its part.
    pub(in crate::layout) fn courses_of_leg(&self, leg: usize) -> u32 {
        self.branch_of(leg)
            .map_or(self.courses, |branch| branch.courses)
    }

    /// The name of a wall for those who read it: of a branch its own, else the part's.
    pub(in crate::layout) fn wall_name(&self, leg: usize) -> &str {
        self.branch_of(leg)
            .map_or(&self.name, |branch| &branch.name)
    }

    /// How many leaves a leg has.
    pub(in crate::layout) fn leaves_of_leg(&self, leg: usize) -> usize {
        self.branch_of(leg)
            .map_or(self.leaves.len(), |branch| branch.leaves.len())
    }

    /// The branch whose leg it is.
    pub(in crate::layout) fn branch_of(&self, leg: usize) -> Option<&MeasuredBranch> {
        leg.checked_sub(self.sides)
            .and_then(|index| self.branches.get(index))
    }

    /// What a leg is called.
    pub(in crate::layout) fn side_of(&self, leg: usize) -> SideRef {
        if let Some(index) = leg.checked_sub(self.sides) {
            let rows = self
                .branches
                .iter()
                .position(|b| !b.rows.is_empty() && b.row_leg == leg);
            return SideRef::Branch(rows.unwrap_or(index));
        }
        match self.part.shape {
            Shape::Wall { .. } => SideRef::Leg(leg),
            _ => SideRef::Side(Side::ALL.get(leg).copied().unwrap_or(Side::Front)),
        }
    }
}

/// The strip of a branch's whole thickness.
fn whole_strip(branch: &MeasuredBranch) -> Strip {
    if let Some(path) = &branch.path {
        return path.whole;
    }
    let span = branch.crossings.first().map_or((0, 0), |c| c.span);
    let thickness = span.1 - span.0;
    let leaf = branch.leaves.first().copied().unwrap_or(Strip {
        axis: Axis::X,
        low: 0,
        high: 0,
        low_corner: None,
        high_corner: None,
        across: 0,
        thickness: 0,
        inside_high: true,
        starts_low: true,
    });
    Strip {
        thickness,
        high: leaf.span().1 - thickness,
        across: span.0,
        ..leaf
    }
}

/// Whether two branches would pass into the same leaf in the same place.
fn teeth_meet(one: &MeasuredBranch, other: &MeasuredBranch, joint: i64) -> bool {
    one.crossings.iter().any(|a| {
        other.crossings.iter().any(|b| {
            a.leg == b.leg
                && a.leaves.start < b.leaves.end
                && b.leaves.start < a.leaves.end
                && a.span.0 < b.span.1 + joint
                && b.span.0 < a.span.1 + joint
        })
    })
}
