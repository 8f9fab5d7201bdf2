//! Walls one and a half units thick in a bond of headers: two faces, each with the bond, and the hearting between them.
//!
//! The wall is three rows deep. A header or closer of a face takes the row behind it too, so two headers that face each
//! other fill each other's depth. The back shows the row of the bond below, a quarter to the side: in English bond headers
//! lie behind stretchers, in Flemish bond a back header lies beside a front one, and a half bat between each pair. Of the
//! headers of both faces as many go through as find room; the others are snapped. What is left of the middle row is filled
//! by the solver.
//!
//! At a corner the leg that passes sends its far row through, the quoin stretcher first; the other leg starts beside it.

use std::collections::HashSet;
use std::sync::Arc;

use super::bonded::Face;
use super::course::{Between, Block, Edge, Layer, Meaning, Place, Told, finished_end};
use super::frame::Strip;
use super::held::HeldStretch;
use super::interval::{
    Cost, Element, ElementKind, End, Float, Interval, Limit, Miss, Pattern, Rules, SHORTEST_CUT,
    SLIP, Solution, solve, solve_pattern,
};
use super::known::Known;
use super::laid::{Breach, BreachKind, Finished};
use super::measure::MeasuredPart;
use crate::masonry::Cell;
use crate::plan::PlanError;
use crate::quantity::Length;

/// Rows of the thickness, from the outer face.
pub(super) const OUTER: usize = 0;
pub(super) const MIDDLE: usize = 1;
pub(super) const INNER: usize = 2;
pub(super) const ROWS: usize = 3;
/// So many headers in a row may be snapped where others go through: a header takes the room of three at most.
const MOST_SNAPPED: usize = 4;
/// From so many modules on, hearting between headers is set out course by course: what is shorter follows from them. The
/// longest between the headers of a Flemish garden wall is one and a half.
const LONG_HEARTING: i64 = 2;
/// What a stretch costs that plain rules had to fill: more than any way by the bond. Our own choice.
const OUT_OF_BOND: i64 = 1000;

/// One row of a leg in one course.
#[derive(Clone, Copy)]
struct RowRun<'a> {
    from: i64,
    to: i64,
    low: Edge<'a>,
    high: Edge<'a>,
    /// Whether a closer may lie at its low and high end.
    headed: (bool, bool),
}

/// A stretch of a face as it was solved.
type SolvedFace = (Interval, Arc<Solution>, Pattern);

/// Stretches solved before.
#[derive(Default)]
pub(super) struct KnownRows {
    faces: Known<(Interval, Pattern), Option<Arc<Solution>>>,
    hearting: Known<(Interval, Option<Pattern>), Arc<Solution>>,
}

/// A header or closer of a face that may go through the middle row.
#[derive(Clone, Copy)]
struct Deep {
    row: usize,
    order: usize,
    from: i64,
    to: i64,
    closer: bool,
    /// Whether it is of the face whose headers go first here.
    in_turn: bool,
}

/// How the middle row is filled: the headers that go through, and what lies between them.
#[derive(Default)]
struct Hearting {
    through: HashSet<(usize, usize)>,
    fills: Vec<(i64, i64, Interval, Arc<Solution>)>,
    joints: Vec<i64>,
    misses: Vec<Miss>,
}

/// What a way to fill the middle row costs, as it is judged: limits missed, headers snapped, short laps, cuts, odd cuts,
/// headers of the face whose turn it is not, joints off nominal.
///
/// At a stopped end each course must show another joint than the last, so headers of both faces lie over each other
/// there, and their hidden sides lap too little: that is the bond's, and no limit missed.
type Price = [i64; 7];

fn add(one: Price, other: Price) -> Price {
    let mut sum = one;
    for (sum, other) in sum.iter_mut().zip(other) {
        *sum = sum.saturating_add(other);
    }
    sum
}

/// One way from one header that goes through to the next.
struct Fill {
    price: Price,
    laid: Option<(Interval, Arc<Solution>)>,
    joint: Option<i64>,
}

impl MeasuredPart {
    /// Whether its walls are bonded by headers and thicker than a unit is long.
    pub(super) fn thick(&self) -> bool {
        self.bonded && self.thickness.nm() > self.rules.unit
    }

    /// How many leaves of a leg are told apart when a course is explained.
    pub(super) fn told_leaves(&self, leg: usize) -> usize {
        if self.thick() && leg < self.sides {
            ROWS
        } else {
            self.leaves_of_leg(leg)
        }
    }

    /// Thickness of a wall bonded by headers, of so many half units.
    ///
    /// # Errors
    /// When the bond is not laid so thick.
    pub(super) fn bonded_thickness(
        bond: &str,
        halves: i64,
        rules: &Rules,
        width: Length,
    ) -> Result<i64, PlanError> {
        match halves {
            2 => Ok(rules.unit),
            3 => Ok(rules.unit + rules.joint + width.nm()),
            _ => Err(PlanError::new(
                "wall-too-thick-for-bond",
                format!("walls in bond \"{bond}\" are laid up to one and a half units thick"),
                "take thickness: 1 or 1.5, or bond \"stretcher\" for leaves side by side",
            )
            .at_key("thickness")),
        }
    }

    /// A row of the thickness of a leg; its inside lies behind the face that it shows.
    fn row_strip(&self, strip: &Strip, row: usize) -> Strip {
        let width = self.unit_width.nm();
        let offset = match row {
            OUTER => 0,
            MIDDLE => (strip.thickness - width) / 2,
            _ => strip.thickness - width,
        };
        Self::part_of(strip, row, offset, width)
    }

    /// What a header of a face takes of the thickness of a leg.
    fn depth(&self, strip: &Strip, row: usize) -> Strip {
        let unit = self.rules.unit;
        let offset = if row == INNER {
            strip.thickness - unit
        } else {
            0
        };
        Self::part_of(strip, row, offset, unit)
    }

    fn part_of(strip: &Strip, row: usize, offset: i64, thickness: i64) -> Strip {
        let across = if strip.inside_high {
            strip.across + offset
        } else {
            strip.across + strip.thickness - offset - thickness
        };
        Strip {
            across,
            thickness,
            inside_high: strip.inside_high == (row != INNER),
            ..*strip
        }
    }

    /// The rules of the hearting: halves and quarters are customary there, as nobody sees them.
    fn hearting_rules(&self) -> Rules {
        let parts = self.rules.parts;
        let closer = (self.unit_width.nm() - self.rules.joint) / 2;
        let mut fractions = self.rules.fractions.clone();
        fractions.extend([parts / 2, parts / 4]);
        fractions.retain(|&fraction| fraction > 0);
        fractions.sort_unstable_by(|one, other| other.cmp(one));
        fractions.dedup();
        Rules {
            fractions,
            shortest_piece: closer.min(self.rules.shortest_piece),
            ..self.rules.clone()
        }
    }

    /// Where joints of a long stretch without headers in the middle row should fall: over the quarters that its course
    /// below leaves.
    fn hearting_pattern(&self, strip: &Strip, course: u32, from: i64) -> Pattern {
        let module = self.rules.unit + self.rules.joint;
        let first = strip.low - self.rules.joint / 2 + i64::from(course % 2) * module / 4;
        let mut marks =
            [first, first + module / 2].map(|mark| (mark - from).rem_euclid(module.max(1)));
        marks.sort_unstable();
        Pattern {
            cells: vec![Cell::Stretcher],
            marks: marks.to_vec(),
            period: module.max(1),
            header: 0,
            closer: 0,
            headed: (false, false),
            anew: false,
        }
    }
}

impl<'a> Layer<'a> {
    /// Lays the legs of a course: those that pass their corners first, since the others start beside them.
    pub(super) fn lay_thick(&mut self, course: u32) {
        let part = self.part;
        let mut deep = HashSet::new();
        for first in [true, false] {
            for (leg, strip) in part.whole.iter().take(part.sides).enumerate() {
                if part.leads(strip.axis, course) == first {
                    self.lay_thick_leg(course, leg, strip, &mut deep);
                }
            }
        }
    }

    /// Whether the face of a leg away from the other leg of a corner is its outer one.
    fn far_is_outer(&self, leg: usize, strip: &Strip, corner: usize) -> bool {
        self.part.far_is_low(leg, corner) == strip.inside_high
    }

    /// The rows of a leg, with what they end against.
    fn rows(
        &self,
        course: u32,
        leg: usize,
        strip: &Strip,
        deep: &HashSet<usize>,
    ) -> [RowRun<'a>; ROWS] {
        let part = self.part;
        let (unit, width) = (part.rules.unit, part.unit_width.nm());
        let leads = part.leads(strip.axis, course);
        // How far from the end a row starts, what it starts against, and whether closers lie there.
        let end = |corner: Option<usize>, row: usize| match corner {
            None => (0, Edge::Free, false),
            Some(corner) => {
                let outer = self.far_is_outer(leg, strip, corner);
                let far = row == if outer { OUTER } else { INNER };
                let near = row == if outer { INNER } else { OUTER };
                match (leads, far) {
                    (true, true) => (unit, Edge::Quoin, false),
                    (true, false) => (strip.thickness, Edge::Butted, false),
                    (false, _) if near && deep.contains(&corner) => (unit, Edge::Butted, true),
                    (false, _) => (width, Edge::Butted, true),
                }
            }
        };
        let (from, to) = strip.span();
        [OUTER, MIDDLE, INNER].map(|row| {
            let (low_inset, low, low_headed) = end(strip.low_corner, row);
            let (high_inset, high, high_headed) = end(strip.high_corner, row);
            RowRun {
                from: from + low_inset,
                to: to - high_inset,
                low,
                high,
                headed: (low_headed, high_headed),
            }
        })
    }

    fn lay_thick_leg(
        &mut self,
        course: u32,
        leg: usize,
        strip: &'a Strip,
        deep: &mut HashSet<usize>,
    ) {
        let part = self.part;
        let rows = self.rows(course, leg, strip, deep);
        if part.leads(strip.axis, course) {
            let place = self.place(course, 0, leg, strip);
            self.lay_quoins(&place);
        }
        let mut joints: [Vec<i64>; ROWS] = Default::default();
        let mut low: Option<(i64, Edge<'a>)> = None;
        let mut floats = self.floats(course, leg, true);
        let mut blocks = self.leg_blocks(course, 0, leg);
        let vents = self.seat_thick_vents((course, leg), strip, &rows, &blocks);
        blocks.extend(vents);
        blocks.sort_by_key(|block| (block.from, block.to));
        for row in 0..ROWS {
            self.forget_stone_ends(course, row, leg);
            self.mind_teeth(course, row, leg, strip);
        }
        let nexts = blocks
            .into_iter()
            .map(|block| Some((block.from, block.to, block.edge)))
            .chain([None]);
        for next in nexts {
            let stretch = rows.map(|row| RowRun {
                from: low.map_or(row.from, |(at, _)| at.max(row.from)),
                to: next.map_or(row.to, |(at, ..)| at.min(row.to)),
                low: low.map_or(row.low, |(_, edge)| edge),
                high: next.map_or(row.high, |(.., edge)| edge),
                headed: (
                    low.is_none() && row.headed.0,
                    next.is_none() && row.headed.1,
                ),
            });
            let here = match next {
                None => std::mem::take(&mut floats),
                Some((from, to, _)) => {
                    let middle = i64::midpoint(from, to);
                    let rest =
                        floats.split_off(floats.partition_point(|(one, _)| one.target < middle));
                    std::mem::replace(&mut floats, rest)
                }
            };
            self.lay_stretch(course, leg, strip, (stretch, here), deep, &mut joints);
            if let Some((from, to, Edge::Keyed(name, faces))) = next {
                let cap = strip.between(faces);
                self.lay_thick_cap((course, leg), (strip, cap), (from, to), name, &mut joints);
            }
            if let Some((_, to, edge)) = next {
                low = Some((low.map_or(to, |(at, _)| at.max(to)), edge));
            }
        }
        for (row, joints) in joints.into_iter().enumerate() {
            self.keep_joints(row, leg, joints);
        }
    }

    /// Lays the three rows of one stretch.
    fn lay_stretch(
        &mut self,
        course: u32,
        leg: usize,
        strip: &'a Strip,
        (rows, floats): ([RowRun<'a>; ROWS], Vec<(Float, Meaning<'a>)>),
        deep: &mut HashSet<usize>,
        joints: &mut [Vec<i64>; ROWS],
    ) {
        let Some(faces) = self.solve_faces(course, leg, strip, (&rows, &floats)) else {
            return;
        };
        let [outer, middle, inner] = rows;
        // Headers at a corner that this leg passes go through where all of them can; else they are snapped.
        let mut middle = middle;
        let mut forced = HashSet::new();
        let mut barred = HashSet::new();
        for (row, run) in [(OUTER, outer), (INNER, inner)] {
            let Some((_, solution, _)) = faces
                .get(usize::from(row == INNER))
                .and_then(Option::as_ref)
            else {
                continue;
            };
            for (at_low, edge, corner) in [
                (true, run.low, strip.low_corner),
                (false, run.high, strip.high_corner),
            ] {
                let (Edge::Quoin, Some(corner)) = (edge, corner) else {
                    continue;
                };
                let zone: Vec<(usize, &Element)> = solution
                    .elements
                    .iter()
                    .enumerate()
                    .filter(|(_, element)| {
                        if at_low {
                            run.from + element.start < middle.from
                        } else {
                            run.from + element.start + element.length > middle.to
                        }
                    })
                    .collect();
                let keys = zone.iter().map(|(order, _)| (row, *order));
                let through = zone.iter().all(|(_, element)| goes_through(element.kind));
                if zone.is_empty() || !through {
                    barred.extend(keys);
                    continue;
                }
                forced.extend(keys);
                deep.insert(corner);
                for (_, element) in zone {
                    let (from, to) = (
                        run.from + element.start,
                        run.from + element.start + element.length,
                    );
                    if at_low {
                        middle.from = middle.from.max(to);
                    } else {
                        middle.to = middle.to.min(from);
                    }
                }
            }
        }
        // The face whose headers go first takes turns, so that both are bonded in; at a corner it is the far one, whose
        // closer belongs there.
        let turn = if course % 2 == 1 { OUTER } else { INNER };
        let in_turn = |row: usize, from: i64, to: i64| {
            let (low, high) = strip.clear();
            let corner = if from < low {
                strip.low_corner
            } else if to > high {
                strip.high_corner
            } else {
                None
            };
            match corner {
                Some(corner) => (row == OUTER) == self.far_is_outer(leg, strip, corner),
                None => row == turn,
            }
        };
        let mut candidates = Vec::new();
        for (row, run) in [(OUTER, outer), (INNER, inner)] {
            let Some((_, solution, _)) = faces
                .get(usize::from(row == INNER))
                .and_then(Option::as_ref)
            else {
                continue;
            };
            for (order, element) in solution.elements.iter().enumerate() {
                if goes_through(element.kind)
                    && !forced.contains(&(row, order))
                    && !barred.contains(&(row, order))
                {
                    let from = run.from + element.start;
                    let to = from + element.length;
                    candidates.push(Deep {
                        row,
                        order,
                        from,
                        to,
                        closer: element.kind == ElementKind::Closer,
                        in_turn: in_turn(row, from, to),
                    });
                }
            }
        }
        let hearting = self.hearting(course, leg, strip, &middle, candidates);
        for (row, run) in [(OUTER, outer), (INNER, inner)] {
            let Some((interval, solution, _)) = faces
                .get(usize::from(row == INNER))
                .and_then(Option::as_ref)
            else {
                continue;
            };
            for (order, element) in solution.elements.iter().enumerate() {
                let at = Element {
                    start: run.from + element.start,
                    ..*element
                };
                let key = (row, order);
                let through = forced.contains(&key) || hearting.through.contains(&key);
                let ledge = match element.kind {
                    ElementKind::Float(float) => floats.get(float).map(|(_, meaning)| *meaning),
                    _ => None,
                };
                if let Some(Meaning::Header(ledge)) = ledge {
                    let place = self.place(course, row, leg, strip);
                    self.lay_ledge_header(&place, ledge, at);
                    continue;
                }
                let finished = finished_end(&solution.elements, order, interval);
                self.lay_row_piece((course, leg, row), strip, at, through, finished);
            }
            if let Some(found) = joints.get_mut(row) {
                found.extend(solution.joints.iter().map(|joint| joint + run.from));
            }
            self.report_misses((course, leg, row), strip, run.from, &solution.misses);
        }
        for (from, _, interval, solution) in &hearting.fills {
            for (order, element) in solution.elements.iter().enumerate() {
                let at = Element {
                    start: from + element.start,
                    ..*element
                };
                let finished = finished_end(&solution.elements, order, interval);
                self.lay_row_piece((course, leg, MIDDLE), strip, at, false, finished);
            }
        }
        self.tell_middle(course, leg, strip, &middle, &hearting);
        self.report_misses((course, leg, MIDDLE), strip, 0, &hearting.misses);
        if let Some(found) = joints.get_mut(MIDDLE) {
            found.extend(hearting.joints);
        }
    }

    /// Keeps what fills the middle row, for those who ask why.
    fn tell_middle(
        &mut self,
        course: u32,
        leg: usize,
        strip: &Strip,
        run: &RowRun<'a>,
        hearting: &Hearting,
    ) {
        if !self.is_asked(course) {
            return;
        }
        let rules = self.part.hearting_rules();
        let module = rules.unit + rules.joint;
        for (from, to, interval, solution) in &hearting.fills {
            let pattern = (interval.length >= LONG_HEARTING * module)
                .then(|| self.part.hearting_pattern(strip, course, *from))
                .filter(|pattern| {
                    let by_marks = solve_pattern(interval, &rules, pattern);
                    by_marks.as_ref() == Some(&**solution)
                });
            self.tell(course, || Told {
                course,
                leaf: MIDDLE,
                leg,
                strip: *strip,
                held: HeldStretch {
                    from: *from,
                    low: if *from == run.from {
                        run.low
                    } else {
                        Edge::Through
                    },
                    high: if *to == run.to {
                        run.high
                    } else {
                        Edge::Through
                    },
                    interval: interval.clone(),
                    edges: Vec::new(),
                    borders: Vec::new(),
                    cap: None,
                    patterns: pattern.into_iter().collect(),
                    solution: Arc::clone(solution),
                    alone: None,
                    seated: false,
                    floats: Vec::new(),
                },
                rules: Some(rules.clone()),
            });
        }
    }

    pub(super) fn lay_row_piece(
        &mut self,
        (course, leg, row): (u32, usize, usize),
        strip: &Strip,
        at: Element,
        through: bool,
        finished: Finished,
    ) {
        let part = self.part;
        let strip = if through {
            part.depth(strip, row)
        } else {
            part.row_strip(strip, row)
        };
        let place = self.place(course, row, leg, &strip);
        let piece = place.stretcher(at, finished, part);
        self.push_shaped(&place, piece);
    }

    pub(super) fn report_misses(
        &mut self,
        (course, leg, row): (u32, usize, usize),
        strip: &Strip,
        from: i64,
        misses: &[Miss],
    ) {
        let rules = &self.part.rules;
        let strip = self.part.row_strip(strip, row);
        let place = self.place(course, row, leg, &strip);
        // Under the first course lies none: its joints only keep clear of teeth that come.
        let real = |miss: &&Miss| course > 1 || miss.limit != Limit::Lap;
        for miss in misses.iter().filter(real) {
            let breach = place.breach(miss, from, rules);
            self.work.breaches.push(breach);
        }
    }

    /// The outer and the inner face of a stretch, in the way that costs least: the bond is set out from each end, and
    /// at that end the face away from the other leg shows the bond's own row.
    fn solve_faces(
        &mut self,
        course: u32,
        leg: usize,
        strip: &'a Strip,
        (rows, floats): (&[RowRun<'a>; ROWS], &[(Float, Meaning<'a>)]),
    ) -> Option<[Option<SolvedFace>; 2]> {
        let (_, mut found) = self.best_faces(course, leg, strip, rows)?;
        let by_bond = floats.is_empty() || self.seat_inner(strip, rows, &mut found, floats);
        for ((row, run), told) in [(OUTER, rows.first()), (INNER, rows.get(INNER))]
            .into_iter()
            .zip(&found)
        {
            let (Some(run), Some((interval, solution, pattern))) = (run, told) else {
                continue;
            };
            self.tell(course, || Told {
                course,
                leaf: row,
                leg,
                strip: *strip,
                held: HeldStretch {
                    from: run.from,
                    low: run.low,
                    high: run.high,
                    interval: interval.clone(),
                    edges: Vec::new(),
                    patterns: if row == INNER && !by_bond {
                        Vec::new()
                    } else {
                        vec![pattern.clone()]
                    },
                    solution: Arc::clone(solution),
                    alone: None,
                    borders: Vec::new(),
                    cap: None,
                    seated: row == INNER && by_bond && !floats.is_empty(),
                    floats: if row == INNER {
                        floats.iter().map(|(_, meaning)| *meaning).collect()
                    } else {
                        Vec::new()
                    },
                },
                rules: None,
            });
        }
        Some(found)
    }

    /// The faces of a stretch without ledges, and what they cost.
    fn best_faces(
        &mut self,
        course: u32,
        leg: usize,
        strip: &'a Strip,
        rows: &[RowRun<'a>; ROWS],
    ) -> Option<(Cost, [Option<SolvedFace>; 2])> {
        let part = self.part;
        let mut best: Option<(Cost, [Option<SolvedFace>; 2])> = None;
        for end in MeasuredPart::set_out_from(strip) {
            let from_high = end == 1;
            let corner = if from_high {
                strip.high_corner
            } else {
                strip.low_corner
            };
            let leading = corner.is_none_or(|corner| self.far_is_outer(leg, strip, corner));
            let mut cost = Cost::default();
            let mut found = [None, None];
            for (slot, row) in [(0, OUTER), (1, INNER)] {
                let Some(run) = rows.get(row).filter(|run| run.to > run.from) else {
                    continue;
                };
                let face = if leading == (row == OUTER) {
                    Face::Front
                } else {
                    Face::Back
                };
                let interval = self.interval(row, leg, run.from, run.to, (run.low, run.high));
                let mut pattern =
                    part.pattern(strip, course, face, run.from, from_high, run.headed);
                // In an inner angle no closer shows.
                let angle = |edge: Edge<'_>, headed: bool| matches!(edge, Edge::Butted) && !headed;
                if angle(run.low, run.headed.0) || angle(run.high, run.headed.1) {
                    pattern.closer = 0;
                }
                let ways = std::iter::once(pattern.clone()).chain(half_laps(&pattern, face));
                let ways = ways.map(|pattern| {
                    let (solution, strays) = self.solve_face(&interval, &pattern);
                    let cost = Cost {
                        strays: solution.cost.strays + strays,
                        ..solution.cost
                    };
                    (cost, solution, pattern)
                });
                let Some((least, solution, pattern)) = ways.min_by_key(|(cost, ..)| *cost) else {
                    continue;
                };
                cost = cost.plus(least);
                if let Some(slot) = found.get_mut(slot) {
                    *slot = Some((interval, solution, pattern));
                }
            }
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                best = Some((cost, found));
            }
        }
        best
    }

    /// Sets the vents of a course of a leg, by what its faces beside them cost.
    fn seat_thick_vents(
        &mut self,
        (course, leg): (u32, usize),
        strip: &'a Strip,
        rows: &[RowRun<'a>; ROWS],
        fixed: &[Block<'a>],
    ) -> Vec<Block<'a>> {
        let mut cost = |layer: &mut Layer<'a>, between: Between<'a>| {
            let rows = rows.map(|row| {
                let (at_low, at_high) = (between.from <= row.from, between.to >= row.to);
                RowRun {
                    from: between.from.max(row.from),
                    to: between.to.min(row.to),
                    low: if at_low { row.low } else { between.low },
                    high: if at_high { row.high } else { between.high },
                    headed: (at_low && row.headed.0, at_high && row.headed.1),
                }
            });
            let best = layer.best_faces(course, leg, strip, &rows);
            best.map_or(Cost::default(), |(cost, _)| cost)
        };
        let [outer, _, inner] = rows;
        let ends = Between {
            from: outer.from.min(inner.from),
            to: outer.to.max(inner.to),
            low: outer.low,
            high: outer.high,
        };
        self.seat_vents_by(course, leg, ends, fixed, &mut cost)
    }

    /// Sets the headers of ledges into the inner face; says whether its bond stays.
    fn seat_inner(
        &mut self,
        strip: &Strip,
        rows: &[RowRun<'a>; ROWS],
        found: &mut [Option<SolvedFace>; 2],
        floats: &[(Float, Meaning<'a>)],
    ) -> bool {
        let (Some(run), Some(Some(face))) = (rows.get(INNER), found.get_mut(1)) else {
            return false;
        };
        if let Some(seated) = self.seated(strip, run.from, &face.1, floats) {
            face.1 = Arc::new(seated);
            return true;
        }
        let (interval, solution) = self.plain_with(&face.0, run.from, floats);
        face.0 = interval;
        face.1 = solution;
        false
    }

    /// Fills a face by its pattern; by the plain rules where it does not fit, which costs strays more.
    fn solve_face(&mut self, interval: &Interval, pattern: &Pattern) -> (Arc<Solution>, i64) {
        let rules = &self.part.rules;
        let key = (interval.clone(), pattern.clone());
        let known = self
            .found
            .rows
            .faces
            .entry(key)
            .or_insert_with(|| solve_pattern(interval, rules, pattern).map(Arc::new));
        match known {
            Some(solution) => (Arc::clone(solution), 0),
            None => (self.solve_plainly(interval), OUT_OF_BOND),
        }
    }

    /// Chooses the headers that go through the middle row, and fills what is left of it, at the least price.
    fn hearting(
        &mut self,
        course: u32,
        leg: usize,
        strip: &Strip,
        run: &RowRun<'a>,
        mut candidates: Vec<Deep>,
    ) -> Hearting {
        if run.to <= run.from {
            return Hearting::default();
        }
        candidates.retain(|one| one.from >= run.from - SLIP && one.to <= run.to + SLIP);
        candidates.sort_by_key(|one| (one.from, !one.in_turn));
        let count = candidates.len();
        // States: after the start, after each candidate that goes through; the end is tried from each.
        let mut best: Vec<Option<(Price, usize, Fill)>> = Vec::with_capacity(count + 2);
        best.push(None);
        for at in 1..=count + 1 {
            let to = candidates.get(at - 1);
            let mut least: Option<(Price, usize, Fill)> = None;
            let reach = at.saturating_sub(MOST_SNAPPED + 1);
            let before = (reach..at).chain((reach > 0 && at == count + 1).then_some(0));
            for from in before {
                let so_far = match (from, best.get(from)) {
                    (0, _) => Price::default(),
                    (_, Some(Some((price, ..)))) => *price,
                    _ => continue,
                };
                let left = from.checked_sub(1).and_then(|i| candidates.get(i));
                let Some(fill) = self.between((course, leg), strip, run, left, to) else {
                    continue;
                };
                let skipped = candidates.get(from..at - 1).unwrap_or_default();
                let snapped = skipped.iter().filter(|one| !one.closer).count() as i64;
                let out_of_turn = to.map_or(0, |one| i64::from(!one.in_turn));
                let step = [0, snapped, 0, skipped.len() as i64, 0, out_of_turn, 0];
                let price = add(add(so_far, fill.price), step);
                if least.as_ref().is_none_or(|(known, ..)| price < *known) {
                    least = Some((price, from, fill));
                }
            }
            best.push(least);
        }
        let mut found = Hearting::default();
        let mut at = count + 1;
        while at > 0 {
            let Some((_, from, fill)) = best.get_mut(at).and_then(Option::take) else {
                break;
            };
            if let Some(through) = at.checked_sub(1).and_then(|i| candidates.get(i)) {
                found.through.insert((through.row, through.order));
            }
            let start = from
                .checked_sub(1)
                .and_then(|i| candidates.get(i))
                .map_or(run.from, |one| one.to);
            if let Some((interval, solution)) = fill.laid {
                let joints = solution.joints.iter().map(|joint| joint + start);
                found.joints.extend(joints);
                let hard = solution.misses.iter().filter(|m| m.limit != Limit::Lap);
                found.misses.extend(hard.map(|miss| Miss {
                    at: miss.at + start,
                    ..*miss
                }));
                found
                    .fills
                    .push((start, start + interval.length, interval, solution));
            }
            found.joints.extend(fill.joint);
            at = from;
        }
        found.joints.sort_unstable();
        found.fills.sort_by_key(|fill| fill.0);
        found.misses.sort_by_key(|miss| miss.at);
        found
    }

    /// Fills the middle row between two headers that go through, or between one and an end; none where what is left is
    /// neither a joint nor room for a piece.
    fn between(
        &mut self,
        (course, leg): (u32, usize),
        strip: &Strip,
        run: &RowRun<'a>,
        left: Option<&Deep>,
        right: Option<&Deep>,
    ) -> Option<Fill> {
        let part = self.part;
        let (from, low) = left.map_or((run.from, run.low.end()), |one| (one.to, End::Jointed));
        let (to, high) = right.map_or((run.to, run.high.end()), |one| (one.from, End::Jointed));
        let ends = i64::from(low == End::Jointed) + i64::from(high == End::Jointed);
        let rules = &part.rules;
        let length = to - from;
        let empty = match ends {
            2 => (rules.shortest_joint..=rules.longest_joint).contains(&length),
            _ => length.abs() <= SLIP,
        };
        if empty {
            let joint = (ends == 2).then(|| i64::midpoint(from, to));
            let short = joint.is_some_and(|joint| self.laps_too_little(leg, joint));
            return Some(Fill {
                price: [0, 0, i64::from(short), 0, 0, 0, 0],
                laid: None,
                joint,
            });
        }
        if length < ends * rules.shortest_joint + SHORTEST_CUT {
            return None;
        }
        let low_edge = left.map_or(run.low, |_| Edge::Butted);
        let high_edge = right.map_or(run.high, |_| Edge::Butted);
        let interval = self.interval(MIDDLE, leg, from, to, (low_edge, high_edge));
        let module = part.rules.unit + part.rules.joint;
        let pattern =
            (length >= LONG_HEARTING * module).then(|| part.hearting_pattern(strip, course, from));
        let key = (interval, pattern);
        let solution = if let Some(known) = self.found.rows.hearting.get(&key) {
            Arc::clone(known)
        } else {
            let rules = part.hearting_rules();
            let by_marks = key
                .1
                .as_ref()
                .and_then(|pattern| solve_pattern(&key.0, &rules, pattern));
            let found = Arc::new(by_marks.unwrap_or_else(|| solve(&key.0, &rules)));
            self.found
                .rows
                .hearting
                .insert(key.clone(), Arc::clone(&found));
            found
        };
        let cost = solution.cost;
        let short = solution.misses.iter().filter(|m| m.limit == Limit::Lap);
        let short = short.count() as i64;
        Some(Fill {
            price: [
                cost.misses - short,
                0,
                short,
                cost.cuts,
                cost.odd,
                0,
                cost.joints,
            ],
            laid: Some((key.0, solution)),
            joint: None,
        })
    }

    /// Whether a joint beside a header lies nearer than the least lap to one of the middle row below.
    fn laps_too_little(&self, leg: usize, joint: i64) -> bool {
        let below = self.joints_below(MIDDLE, leg);
        let after = below.partition_point(|&other| other < joint);
        let near = [after.checked_sub(1), Some(after)];
        near.into_iter()
            .flatten()
            .filter_map(|at| below.get(at))
            .any(|other| (other - joint).abs() < self.part.rules.least_lap)
    }
}

/// Stretchers of a back may also go on half a unit further, as long as their joints keep off those of the headers: a
/// back that is half a unit longer than its stretchers needs a half in it.
fn half_laps(pattern: &Pattern, face: Face) -> Option<Pattern> {
    let alone = pattern.cells.iter().all(|cell| *cell == Cell::Stretcher);
    (face == Face::Back && alone).then(|| {
        let half = pattern.period / 2;
        let mut marks = pattern.marks.clone();
        marks.extend(
            pattern
                .marks
                .iter()
                .map(|mark| (mark + half) % pattern.period),
        );
        marks.sort_unstable();
        Pattern {
            marks,
            ..pattern.clone()
        }
    })
}

/// Whether an element is laid across the wall where there is room.
pub(super) fn goes_through(kind: ElementKind) -> bool {
    matches!(kind, ElementKind::Header | ElementKind::Closer)
}

impl Place<'_> {
    /// A limit missed in this place, as it is reported.
    pub(super) fn breach(&self, miss: &Miss, from: i64, rules: &Rules) -> Breach {
        let (kind, limit) = match miss.limit {
            Limit::Lap => (BreachKind::LapTooShort, rules.least_lap),
            Limit::Piece => (BreachKind::PieceTooShort, rules.shortest_piece),
            Limit::Joint if miss.figure < rules.joint => {
                (BreachKind::JointOutOfTolerance, rules.shortest_joint)
            }
            Limit::Joint => (BreachKind::JointOutOfTolerance, rules.longest_joint),
        };
        Breach {
            kind,
            part: self.part,
            course: self.course,
            at: self.point(miss.at + from),
            figure: Length::from_nm(miss.figure),
            limit: Length::from_nm(limit),
        }
    }
}
