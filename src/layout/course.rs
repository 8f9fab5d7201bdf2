//! Lays the courses of one part: runs, the intervals between their openings, the pieces in them.

use std::collections::HashMap;
use std::ops::RangeInclusive;
use std::sync::Arc;

use super::bonded::{KnownPatterns, bonded_run, fill};
use super::coping::{LaidCoping, lay_coping};
use super::corbel::LaidCorbel;
use super::duct::DuctCut;
use super::frame::{Strip, Turns, run_between};
use super::geometry::{Axis, Cuboid, Point};
use super::held::{Held, HeldRun, HeldStretch, KnownPairs, near};
use super::interval::{
    Element, ElementKind, End, Float, Interval, Limit, Miss, Pattern, Rules, Solution, solve,
};
use super::junction::Passing;
use super::known::Known;
use super::laid::{
    Body, BodyUse, Breach, Cut, Finished, LaidArch, LaidDuctRing, Piece, Role, Shaping, Void,
    VoidKind, VoidShape,
};
use super::measure::{MeasuredLedge, MeasuredPart, Row, UprightCourse, cuboid};
use super::pierced::RoundOpening;
use super::quad::Quad;
use super::sill::LaidSill;
use super::thick::KnownRows;
use super::turned::Turned;
use super::upright::upright_piece;
use crate::plan::{LintelKind, Notch};
use crate::quantity::Length;
use crate::stop;

/// What laying one part adds to the work.
#[derive(Default)]
pub(super) struct PartWork {
    pub(super) pieces: Vec<Piece>,
    pub(super) shapings: Vec<Shaping>,
    pub(super) bodies: Vec<Body>,
    pub(super) voids: Vec<Void>,
    pub(super) breaches: Vec<Breach>,
    pub(super) arches: Vec<LaidArch>,
    pub(super) duct_rings: Vec<LaidDuctRing>,
    pub(super) corbels: Vec<LaidCorbel>,
    pub(super) sills: Vec<LaidSill>,
    /// Boxes that ledge headers fill beyond the wall's face.
    pub(super) projections: Vec<Cuboid>,
    /// Prisms that round work fills: pieces with their joints and beds.
    pub(super) prisms: Vec<Turned>,
    /// Level prisms that a curved wall fills, in the same way.
    pub(super) quads: Vec<Quad>,
    /// What covers its top.
    pub(super) coping: Option<LaidCoping>,
    /// Openings and vents of round work.
    pub(super) round_openings: Vec<RoundOpening>,
}

/// What bounds a stretch of a run.
#[derive(Clone, Copy, Debug)]
pub(super) enum Edge<'a> {
    /// The end of a wall.
    Free,
    /// A corner that the run passes.
    Passed,
    /// The stretcher at a corner that the leg passes.
    Quoin,
    /// The other leg of a corner, which passes in this course.
    Butted,
    /// A branch that passes into the wall in this course.
    Branch(&'a str),
    /// A branch that passes half a unit deep into a wall that headers bond; what is left of the wall there lies between
    /// these faces.
    Keyed(&'a str, (i64, i64)),
    /// The end of what is left of the wall behind such a branch; the joint belongs to the work beside it.
    Capped(&'a str),
    /// The leaf of a wall that a branch passes into.
    Toothed,
    /// The face of a wall that a branch butts against.
    Met,
    /// A jamb of an opening.
    Jamb(&'a str),
    /// A lintel as high as a course.
    Lintel(&'a str),
    /// A vent that goes through several leaves.
    Vent(&'a str),
    /// The cheek of a duct.
    Cheek(&'a str),
    /// The skewback or extrados of an arch, its joint included.
    Arch(&'a str),
    /// The end of a course that steps inwards over an opening.
    Corbel(&'a str),
    /// A header that goes through, beside what lies in the middle of a thick wall.
    Through,
}

impl Edge<'_> {
    /// What it is for the pieces beside it.
    pub(super) fn end(self) -> End {
        match self {
            Edge::Butted
            | Edge::Quoin
            | Edge::Lintel(_)
            | Edge::Branch(_)
            | Edge::Keyed(..)
            | Edge::Met
            | Edge::Through => End::Jointed,
            Edge::Free
            | Edge::Passed
            | Edge::Capped(_)
            | Edge::Toothed
            | Edge::Jamb(_)
            | Edge::Vent(_)
            | Edge::Cheek(_)
            | Edge::Arch(_)
            | Edge::Corbel(_) => End::Open,
        }
    }
}

/// Part of a run where no unit is laid, with what it is for the work on both sides.
#[derive(Clone, Copy)]
pub(super) struct Block<'a> {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) edge: Edge<'a>,
}

/// A run with what it ends against, and where one head joint of its raster lies.
#[derive(Clone, Copy)]
pub(super) struct Line<'a> {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) low: Edge<'a>,
    pub(super) high: Edge<'a>,
    pub(super) raster: i64,
}

/// The two fixed faces of a stretch of a run.
#[derive(Clone, Copy)]
pub(super) struct Between<'a> {
    pub(super) from: i64,
    pub(super) to: i64,
    pub(super) low: Edge<'a>,
    pub(super) high: Edge<'a>,
}

/// What a float stands for.
#[derive(Clone, Copy)]
pub(super) enum Meaning<'a> {
    Vent(usize),
    Header(&'a MeasuredLedge),
}

/// An interval of a course with how it was laid, for those who ask why.
pub(super) struct Told<'a> {
    pub(super) course: u32,
    pub(super) leaf: usize,
    pub(super) leg: usize,
    pub(super) strip: Strip,
    pub(super) held: HeldStretch<'a>,
    /// What it was filled by, where not by the rules of its course.
    pub(super) rules: Option<Rules>,
}

/// Solutions already found for a part: courses that repeat, and what is laid only to be tried, cost no new solving.
#[derive(Default)]
pub(super) struct Found {
    plain: Known<Interval, Arc<Solution>>,
    patterns: KnownPatterns,
    pub(super) rows: KnownRows,
    pub(super) pairs: KnownPairs,
}

pub(super) struct Layer<'a> {
    pub(super) part: &'a MeasuredPart,
    pub(super) index: usize,
    ducts: &'a [DuctCut],
    turns: Vec<Turns>,
    pub(super) passing: Passing,
    /// Middles of the head joints of the course below in the rows of thick walls, by row and leg.
    below: HashMap<(usize, usize), Vec<i64>>,
    /// The course below, laid once the course above it is solved.
    pub(super) held: Option<Held<'a>>,
    /// Runs of the course that is being solved.
    pub(super) solved: Vec<HeldRun<'a>>,
    pub(super) found: Found,
    /// Where vents that go through their walls start, by their number.
    pub(super) vents: HashMap<usize, Vec<i64>>,
    pub(super) work: PartWork,
    /// The courses whose intervals are kept, if any are asked about.
    asked: Option<RangeInclusive<u32>>,
    told: Vec<Told<'a>>,
}

/// Lays a part.
pub(super) fn lay_part(part: &MeasuredPart, index: usize, ducts: &[DuctCut]) -> PartWork {
    let mut layer = Layer::best(part, index, ducts);
    for course in 1..=part.courses {
        layer.lay_course(course);
    }
    layer.settle();
    layer.add_openings();
    layer.share_beds();
    layer.add_ducts();
    lay_coping(part, index, &mut layer.work);
    layer.work
}

/// Lays a part up to some courses and keeps the intervals of these.
pub(super) fn tell_courses<'a>(
    part: &'a MeasuredPart,
    index: usize,
    ducts: &'a [DuctCut],
    courses: RangeInclusive<u32>,
) -> Vec<Told<'a>> {
    let mut layer = Layer::best(part, index, ducts);
    // The course above may ask for another layout of the one below it.
    let last = courses.end().saturating_add(1).min(part.courses);
    layer.asked = Some(courses);
    for course in 1..=last {
        layer.lay_course(course);
    }
    layer.settle();
    layer.told
}

impl<'a> Layer<'a> {
    /// With the best turns of branches and corners.
    fn best(part: &'a MeasuredPart, index: usize, ducts: &'a [DuctCut]) -> Self {
        let mut found = Found::default();
        let passing = Passing::best(part, index, ducts, &mut found);
        Layer::new(part, index, ducts, passing, found)
    }

    /// With the best turns of corners where branches take given turns.
    pub(super) fn new(
        part: &'a MeasuredPart,
        index: usize,
        ducts: &'a [DuctCut],
        passing: Passing,
        mut found: Found,
    ) -> Self {
        let turns = super::lintel::turns(part, index, ducts, &passing, &mut found);
        Layer::turning(part, index, ducts, passing, turns, found)
    }

    pub(super) fn turning(
        part: &'a MeasuredPart,
        index: usize,
        ducts: &'a [DuctCut],
        passing: Passing,
        turns: Vec<Turns>,
        found: Found,
    ) -> Self {
        Layer {
            part,
            index,
            ducts,
            turns,
            passing,
            below: HashMap::new(),
            held: None,
            solved: Vec::new(),
            found,
            vents: HashMap::new(),
            work: PartWork::default(),
            asked: None,
            told: Vec::new(),
        }
    }

    pub(super) fn ducts(&self) -> &'a [DuctCut] {
        self.ducts
    }

    /// The duct of a name through a leg.
    pub(super) fn duct_named(&self, name: &str, leg: usize) -> Option<&'a DuctCut> {
        let named = |duct: &&DuctCut| duct.leg == leg && duct.name == name;
        self.ducts.iter().find(named)
    }

    pub(super) fn heights(&self, course: u32) -> (Length, Length) {
        let (base, heights) = (self.part.base, &self.part.heights);
        (
            base + heights.bottom_of(course),
            base + heights.top_of(course),
        )
    }

    /// Starts from the ground again, with other turns; what was solved stays known.
    pub(super) fn restart(&mut self, passing: Passing) {
        self.passing = passing;
        self.below.clear();
        self.held = None;
        self.work = PartWork::default();
    }

    /// Lets no joint below bind what is laid next.
    pub(super) fn forget_all(&mut self) {
        self.below.clear();
        for run in &mut self.solved {
            run.binds = false;
        }
    }

    /// Solves a course and lays the one below it, which no longer changes.
    pub(super) fn lay_course(&mut self, course: u32) {
        // Whoever asked for the work finds that it was stopped.
        if stop::asked().is_some() {
            return;
        }
        // The rows of a thick wall follow from one another and are laid at once.
        let thick = self.part.thick();
        let upright = self.part.upright_course(course);
        if let Some(upright) = upright {
            self.lay_upright(upright);
        } else if thick {
            self.lay_thick(course);
        } else {
            self.lay_leaves(course);
        }
        self.lay_branches(course);
        self.lay_hearting(course);
        if !thick {
            if upright.is_none() {
                self.reconsider();
            }
            self.settle();
        }
        let runs = std::mem::take(&mut self.solved);
        if thick {
            self.lay_runs(course, &runs);
        }
        self.held = Some(Held {
            course,
            runs,
            laid: thick,
        });
    }

    fn lay_leaves(&mut self, course: u32) {
        for leaf in 0..self.part.leaves.len() {
            let count = self.part.leaves.get(leaf).map_or(0, Vec::len);
            for leg in 0..count {
                if let Some(strip) = self.part.leaves.get(leaf).and_then(|s| s.get(leg)).copied() {
                    self.lay_run(course, leaf, leg, strip);
                }
            }
        }
    }

    /// Lays the course that is held back, if there is one.
    pub(super) fn settle(&mut self) {
        if let Some(held) = self.held.take().filter(|held| !held.laid) {
            self.lay_runs(held.course, &held.runs);
        }
    }

    /// Lays the runs of a course that no longer change, and the arches that spring from it.
    fn lay_runs(&mut self, course: u32, runs: &[HeldRun<'a>]) {
        for run in runs {
            self.lay_held(course, run);
        }
        self.lay_arches(course);
    }

    /// Lays one run of a leg of the part's own path.
    fn lay_run(&mut self, course: u32, leaf: usize, leg: usize, strip: Strip) {
        let passes = |corner: Option<usize>| {
            if self.part.bond.is_patterned() {
                return corner.is_none() || self.part.leads(strip.axis, course);
            }
            corner.is_none_or(|corner| {
                self.turns
                    .get(leaf)
                    .is_some_and(|turns| turns.passes(corner, strip.axis, course))
            })
        };
        let (passes_low, passes_high) = (passes(strip.low_corner), passes(strip.high_corner));
        let bonded = self.part.bonded;
        let run = if bonded {
            bonded_run(&strip, self.part.unit_width.nm(), passes_low, passes_high)
        } else {
            run_between(&strip, passes_low, passes_high)
        };
        let raster = self.raster(&strip, passes_low, passes_high, course);
        let edge = |corner: Option<usize>, passes: bool| match corner {
            None => Edge::Free,
            Some(_) if passes && bonded => Edge::Quoin,
            Some(_) if passes => Edge::Passed,
            Some(_) => Edge::Butted,
        };
        let line = Line {
            from: run.from,
            to: run.to,
            low: edge(strip.low_corner, passes_low),
            high: edge(strip.high_corner, passes_high),
            raster,
        };
        self.lay_line(course, leaf, leg, &strip, line);
    }

    /// Solves one run.
    pub(super) fn lay_line(
        &mut self,
        course: u32,
        leaf: usize,
        leg: usize,
        strip: &Strip,
        run: Line<'a>,
    ) {
        let innermost = leg < self.part.sides && leaf + 1 == self.part.leaves.len();
        let mut blocks = self.leg_blocks(course, leaf, leg);
        let mut floats = self.floats(course, leg, innermost);
        let below = self
            .pier_borders(leg)
            .unwrap_or_else(|| self.joints_held(leaf, leg, &self.unbound(course, leg)));
        blocks.extend(self.seat_vents((course, leaf, leg), strip, &run, &blocks, &below));
        blocks.sort_by_key(|block| (block.from, block.to));
        let mut stretches = Vec::new();
        let mut from = run.from;
        let mut low = run.low;
        for block in blocks.iter().copied().chain([Block {
            from: run.to,
            to: run.to,
            edge: run.high,
        }]) {
            let last = block.from == run.to && block.to == run.to;
            let to = block.from.clamp(from, run.to.max(from));
            let here = if last {
                std::mem::take(&mut floats)
            } else {
                let split = floats.partition_point(|(float, _)| {
                    float.target < i64::midpoint(block.from, block.to)
                });
                let rest = floats.split_off(split);
                std::mem::replace(&mut floats, rest)
            };
            if to > from {
                let between = Between {
                    from,
                    to,
                    low,
                    high: block.edge,
                };
                stretches.push(self.solve_stretch(
                    (course, leaf, leg),
                    strip,
                    &run,
                    between,
                    here,
                    &below,
                ));
            }
            if let (Edge::Keyed(name, faces), false) = (block.edge, last) {
                let between = Between {
                    from: block.from,
                    to: block.to,
                    low: Edge::Capped(name),
                    high: Edge::Capped(name),
                };
                let cap = strip.between(faces);
                let at = (course, leaf, leg);
                let cap = self.solve_stretch(at, &cap, &run, between, Vec::new(), &below);
                stretches.push(cap);
            }
            from = block.to.max(from);
            low = block.edge;
        }
        self.solved.push(HeldRun {
            leaf,
            leg,
            strip: *strip,
            stretches,
            binds: true,
        });
    }

    /// Leaves out joints of a row below that bind nothing.
    pub(super) fn forget_stone_ends(&mut self, course: u32, leaf: usize, leg: usize) {
        let unbound = self.unbound(course, leg);
        if let Some(below) = self.below.get_mut(&(leaf, leg)) {
            below.retain(|&joint| !unbound.iter().any(|&(from, to)| from < joint && joint < to));
        }
    }

    /// The end of one stone several courses high is one joint, not one over another: in its upper courses the joint at
    /// its end in the course below binds nothing. Spans in which joints below bind nothing, without their ends.
    pub(super) fn unbound(&self, course: u32, leg: usize) -> Vec<(i64, i64)> {
        let part = self.part;
        let widest = part.rules.longest_joint;
        let mut spans = part.corner_stones(course, leg);
        for opening in part.openings.iter().filter(|opening| opening.leg == leg) {
            let Some(stone) = opening
                .lintel
                .filter(|stone| stone.kind != LintelKind::Steel)
            else {
                continue;
            };
            let first = opening.courses.1 + 1;
            if course > first && course < first + stone.courses {
                let (low, high) = stone.span;
                spans.extend([(low - widest - 1, low), (high, high + widest + 1)]);
            }
        }
        spans
    }

    /// Where one head joint of the bond's raster lies: from the corner that the run meets first, or from a free
    /// end, shifted by the bond from course to course.
    fn raster(&self, strip: &Strip, passes_low: bool, passes_high: bool, course: u32) -> i64 {
        let rules = &self.part.rules;
        let half_joint = rules.joint / 2;
        if strip.low_corner.is_some() {
            if passes_low {
                strip.low - half_joint
            } else {
                strip.low + strip.thickness + half_joint
            }
        } else if strip.high_corner.is_some() {
            if passes_high {
                strip.high + strip.thickness + half_joint
            } else {
                strip.high - half_joint
            }
        } else {
            let shifts = &self.part.bond.shifts;
            let turn = (course as usize - 1) % shifts.len().max(1);
            let shift = shifts.get(turn).copied().unwrap_or(0);
            strip.low - half_joint + shift * (rules.unit + rules.joint) / rules.parts
        }
    }

    /// Everything fixed that interrupts a leaf of a leg in a course, branches with it, sorted.
    pub(super) fn leg_blocks(&self, course: u32, leaf: usize, leg: usize) -> Vec<Block<'a>> {
        let mut blocks = self.blocks(course, leg);
        blocks.extend(self.crossing_blocks(course, leaf, leg));
        blocks.extend(self.part.corner_blocks(course, leg));
        blocks.sort_by_key(|block| (block.from, block.to));
        blocks
    }

    /// Where pieces of a leaf of a leg are laid in a course.
    pub(super) fn place<'s>(
        &self,
        course: u32,
        leaf: usize,
        leg: usize,
        strip: &'s Strip,
    ) -> Place<'s> {
        Place {
            part: self.index,
            course,
            leaf,
            leg,
            strip,
            heights: self.heights(course),
        }
    }

    /// Keeps the middles of a row's head joints for the course above.
    pub(super) fn keep_joints(&mut self, leaf: usize, leg: usize, joints: Vec<i64>) {
        self.below.insert((leaf, leg), joints);
    }

    /// Middles of the head joints of a row of the course below.
    pub(super) fn joints_below(&self, leaf: usize, leg: usize) -> &[i64] {
        self.below.get(&(leaf, leg)).map_or(&[], Vec::as_slice)
    }

    /// A stretch of a row as an interval without floats, set out by a pattern.
    pub(super) fn interval(
        &self,
        leaf: usize,
        leg: usize,
        from: i64,
        to: i64,
        (low, high): (Edge<'_>, Edge<'_>),
    ) -> Interval {
        let module = self.part.rules.unit + self.part.rules.joint;
        Interval {
            length: to - from,
            low: low.end(),
            high: high.end(),
            raster: 0,
            floats: Vec::new(),
            below: near(self.joints_below(leaf, leg), (from, to), module),
        }
    }

    /// Fills an interval by the plain rules, once.
    pub(super) fn solve_plainly(&mut self, interval: &Interval) -> Arc<Solution> {
        if let Some(known) = self.found.plain.get(interval) {
            return Arc::clone(known);
        }
        let found = Arc::new(solve(interval, &self.part.rules));
        self.found
            .plain
            .insert(interval.clone(), Arc::clone(&found));
        found
    }

    /// Whether a course is asked about.
    pub(super) fn is_asked(&self, course: u32) -> bool {
        let asked = self.asked.as_ref();
        asked.is_some_and(|asked| asked.contains(&course))
    }

    /// Keeps an interval of the course that is asked about.
    pub(super) fn tell(&mut self, course: u32, told: impl FnOnce() -> Told<'a>) {
        if self.is_asked(course) {
            self.told.push(told());
        }
    }

    /// Everything fixed that interrupts a leg in a course, sorted.
    fn blocks(&self, course: u32, leg: usize) -> Vec<Block<'a>> {
        let mut blocks = Vec::new();
        for opening in self
            .part
            .openings
            .iter()
            .filter(|opening| opening.leg == leg)
        {
            blocks.extend(opening.block(course));
            if let Some(lintel) = opening
                .lintel
                .filter(|lintel| lintel.kind != LintelKind::Steel)
            {
                let top = opening.courses.1;
                if course > top && course <= top + lintel.courses {
                    blocks.push(Block {
                        from: lintel.span.0,
                        to: lintel.span.1,
                        edge: Edge::Lintel(&opening.name),
                    });
                }
            }
        }
        blocks.extend(self.arch_blocks(course, leg));
        for duct in self.ducts.iter().filter(|duct| duct.leg == leg) {
            if let Some(half) = duct.core_half_width(self.heights(course)) {
                blocks.push(Block {
                    from: duct.across - half,
                    to: duct.across + half,
                    edge: Edge::Cheek(&duct.name),
                });
            }
        }
        blocks.sort_by_key(|block| (block.from, block.to));
        blocks
    }

    pub(super) fn floats(
        &self,
        course: u32,
        leg: usize,
        innermost: bool,
    ) -> Vec<(Float, Meaning<'a>)> {
        let mut floats = Vec::new();
        if !self.part.vents_go_through(leg) {
            for (index, vent) in self.part.vents.iter().enumerate() {
                if vent.leg == leg && vent.course == course {
                    floats.extend(vent.middles.iter().map(|&target| {
                        (
                            Float {
                                gap: true,
                                size: vent.width,
                                target,
                            },
                            Meaning::Vent(index),
                        )
                    }));
                }
            }
        }
        if innermost {
            for ledge in self
                .part
                .ledges
                .iter()
                .filter(|l| l.leg == leg && l.course == course)
            {
                floats.extend(ledge.middles.iter().map(|&target| {
                    (
                        Float {
                            gap: false,
                            size: self.part.unit_width.nm(),
                            target,
                        },
                        Meaning::Header(ledge),
                    )
                }));
            }
        }
        floats.sort_by_key(|(float, _)| float.target);
        floats
    }

    /// Solves one stretch of a run over the joints of the course below.
    pub(super) fn solve_stretch(
        &mut self,
        (course, leaf, leg): (u32, usize, usize),
        strip: &Strip,
        line: &Line<'a>,
        between: Between<'a>,
        floats: Vec<(Float, Meaning<'a>)>,
        below: &[i64],
    ) -> HeldStretch<'a> {
        let Between { from, to, .. } = between;
        let rules = self.part.rules_of(course);
        let module = rules.unit + rules.joint;
        let mut edges = self.part.vent_edges(leg, course);
        edges.extend(self.part.stone_ends(course, leg));
        let mut interval = Interval {
            length: to - from,
            low: between.low.end(),
            high: between.high.end(),
            raster: (line.raster - from).rem_euclid(module),
            floats: Self::floats_from(&floats, from),
            below: near(below, (from, to), module),
        };
        // A unit of a lining comes to lie across a vent where its joints keep clear of the edges, and under the end of a
        // stone as under any joint. What is too far off to bind is left out, so that stretches that repeat are known.
        edges.retain(|&edge| from - module < edge && edge < to + module);
        let edges: Vec<i64> = edges.iter().map(|edge| edge - from).collect();
        interval.below.extend(&edges);
        let borders = near(&self.tooth_borders(course, leaf, leg), (from, to), module);
        interval.below.extend(&borders);
        interval.below.sort_unstable();
        let row = self.row(course, leaf);
        let patterned = self.part.bond.is_patterned() && row.is_none();
        let cap = matches!(between.low, Edge::Capped(_)).then_some(*strip);
        let mut patterns = if !patterned {
            Vec::new()
        } else if cap.is_some() {
            vec![self.part.cap_pattern()]
        } else if leg >= self.part.sides && self.part.bond.has_headers() {
            let ahead = self.passing.ahead(self.part, leg);
            self.part
                .branch_patterns(leg, strip, course + ahead, line, from)
        } else {
            let butted = |edge: Edge<'_>| matches!(edge, Edge::Butted);
            let headed = (butted(between.low), butted(between.high));
            let mut patterns = self.part.patterns(strip, course, from, headed);
            let tooth = |edge: Edge<'_>| matches!(edge, Edge::Branch(_) | Edge::Keyed(..));
            let teeth = [between.low, between.high].map(tooth);
            let anew = patterns
                .first()
                .map(|pattern| self.part.beside_teeth(pattern, interval.length, teeth));
            patterns.extend(anew.into_iter().flatten());
            patterns
        };
        let mut seated = false;
        let solution = if row.is_some() {
            Arc::new(solve(&interval, rules))
        } else if patterns.is_empty() || floats.is_empty() {
            self.solution(&interval, &patterns)
        } else {
            let bare = Interval {
                floats: Vec::new(),
                ..interval.clone()
            };
            let by_bond = self.solution(&bare, &patterns);
            if let Some(found) = self.seated(strip, from, &by_bond, &floats) {
                (interval, seated) = (bare, true);
                Arc::new(found)
            } else {
                patterns.clear();
                self.solve_plainly(&interval)
            }
        };
        HeldStretch {
            from,
            low: between.low,
            high: between.high,
            solution,
            alone: None,
            seated,
            borders,
            cap,
            interval,
            edges,
            patterns,
            floats: floats.into_iter().map(|(_, meaning)| meaning).collect(),
        }
    }

    /// The row of a course on end or on edge that a leaf of it is.
    fn row(&self, course: u32, leaf: usize) -> Option<(&'a UprightCourse, &'a Row)> {
        let upright = self.part.upright_course(course)?;
        Some((upright, upright.rows.get(leaf)?))
    }

    /// How a stretch is laid, known or newly solved.
    pub(super) fn solution(&mut self, interval: &Interval, patterns: &[Pattern]) -> Arc<Solution> {
        if patterns.is_empty() {
            return self.solve_plainly(interval);
        }
        let interval = Interval {
            raster: 0,
            ..interval.clone()
        };
        let key = (interval, patterns.to_vec());
        if let Some(known) = self.found.patterns.get(&key) {
            return Arc::clone(known);
        }
        let found = Arc::new(fill(&key.0, &self.part.rules, &key.1));
        self.found.patterns.insert(key, Arc::clone(&found));
        found
    }

    /// Lays a run of a course that no longer changes.
    fn lay_held(&mut self, course: u32, run: &HeldRun<'a>) {
        let place = self.place(course, run.leaf, run.leg, &run.strip);
        // Courses on end or on edge have corners of their own.
        let own = run.leg < self.part.sides && self.part.upright_course(course).is_none();
        if self.part.bonded && own && self.part.leads(run.strip.axis, course) {
            self.lay_quoins(&place);
        }
        for stretch in &run.stretches {
            match &stretch.cap {
                Some(cap) => self.lay_cap(&place, cap, stretch),
                None => self.lay_solved(&place, stretch),
            }
            self.tell(course, || Told {
                course,
                leaf: run.leaf,
                leg: run.leg,
                strip: run.strip,
                held: stretch.clone(),
                rules: None,
            });
        }
    }

    pub(super) fn lay_solved(&mut self, place: &Place<'_>, stretch: &HeldStretch<'a>) {
        let from = stretch.from;
        let (interval, solution) = (&stretch.interval, &stretch.solution);
        let rules = self.part.rules_of(place.course);
        let row = self.row(place.course, place.leaf);
        for (order, element) in solution.elements.iter().enumerate() {
            let at = Element {
                start: element.start + from,
                ..*element
            };
            let meaning = match element.kind {
                ElementKind::Float(float) => stretch.floats.get(float).copied(),
                _ => None,
            };
            match meaning {
                Some(Meaning::Vent(vent)) => self.add_vent(place, vent, at),
                Some(Meaning::Header(ledge)) => {
                    self.lay_ledge_header(place, ledge, at);
                }
                None if let Some(row) = row => {
                    let finished = finished_end(&solution.elements, order, interval);
                    let snapped = self.part.bat_of(row.1.deep);
                    let piece = upright_piece(place, at, finished, self.part, row, snapped);
                    self.push_shaped(place, piece);
                }
                None if self.part.bonded_leg(place.leg)
                    && place.strip.thickness > self.part.unit_width.nm() =>
                {
                    let finished = finished_end(&solution.elements, order, interval);
                    self.lay_through(place, at, finished);
                }
                None => {
                    let finished = finished_end(&solution.elements, order, interval);
                    let piece = place.stretcher(at, finished, self.part);
                    self.push_shaped(place, piece);
                }
            }
        }
        // Of the places below that laps are kept over, edges of vents are no joints.
        let mut known = interval.below.clone();
        for edge in &stretch.edges {
            if let Ok(at) = known.binary_search(edge) {
                known.remove(at);
            }
        }
        let least = rules.least_lap;
        let misses = solution.misses.iter().filter_map(|miss| match miss.limit {
            Limit::Lap if !stretch.edges.is_empty() => true_lap(*miss, &known, least),
            _ => Some(*miss),
        });
        for miss in misses {
            let breach = place.breach(&miss, from, rules);
            self.work.breaches.push(breach);
        }
    }

    pub(super) fn push(&mut self, mut piece: Piece, shaping: Option<Shaping>) {
        let coursing = &self.part.part.coursing;
        if piece.cut == Cut::Whole && coursing.split_to(u32::from(piece.course)).is_some() {
            piece.cut = Cut::Split;
        }
        if let Some(shaping) = shaping {
            self.work.shapings.push(shaping);
            piece.shaping = self.work.shapings.len() as u32;
        }
        self.work.pieces.push(piece);
    }

    /// Adds a piece with what ducts or arches take from it.
    pub(super) fn push_shaped(&mut self, place: &Place<'_>, piece: Piece) {
        let raked = self.raked(place.leg, place.strip.axis, &piece);
        let shaping = match self.bites(place, &piece) {
            Some(bites) => Some(bites.and(raked)),
            None => raked,
        };
        self.push(piece, shaping);
    }

    fn bites(&self, place: &Place<'_>, piece: &Piece) -> Option<Shaping> {
        let cuts: Vec<&DuctCut> = self
            .ducts
            .iter()
            .filter(|duct| duct.leg == place.leg)
            .collect();
        if cuts.is_empty() {
            return None;
        }
        super::duct::bites(&cuts, piece)
    }

    fn add_vent(&mut self, place: &Place<'_>, vent: usize, at: Element) {
        let Some(vent) = self.part.vents.get(vent) else {
            return;
        };
        let void = self.vent_void(vent, place.strip, (at.start, at.start + at.length));
        self.work.voids.push(void);
    }

    /// A vent is open from the bed below to the unit above, or to the top of the last course.
    fn vent_void(
        &self,
        vent: &super::measure::MeasuredVent,
        strip: &Strip,
        span: (i64, i64),
    ) -> Void {
        Void {
            part: self.index,
            name: vent.name.clone(),
            kind: VoidKind::Vent,
            shape: VoidShape::Box(wall_box(
                strip,
                span,
                self.open_heights((vent.course, vent.course), vent.leg, true),
            )),
            side: vent.side,
            axis: strip.axis,
        }
    }

    /// From the top of the course below to the underside of the course above, or to the top of the last open
    /// course where a bar lies in the joint above.
    fn open_heights(
        &self,
        (from, to): (u32, u32),
        leg: usize,
        to_unit_above: bool,
    ) -> (Length, Length) {
        let part = self.part;
        let bottom = part.base + part.heights.top_of(from - 1);
        let top = if to_unit_above && to < part.courses_of_leg(leg) {
            part.base + part.heights.bottom_of(to + 1)
        } else {
            part.base + part.heights.top_of(to)
        };
        (bottom, top)
    }

    fn add_openings(&mut self) {
        let part = self.part;
        for opening in &part.openings {
            let Some(strip) = part.whole.get(opening.leg) else {
                continue;
            };
            let steel = opening
                .lintel
                .is_some_and(|lintel| lintel.kind == LintelKind::Steel);
            let to_unit_above = !steel && opening.arch.is_none();
            let heights = self.open_heights(opening.courses, opening.leg, to_unit_above);
            // A duct has a round hole of its own; what carries the work over it is laid as over an opening.
            let open = opening.kind != VoidKind::Duct;
            if open {
                self.work.voids.push(Void {
                    part: self.index,
                    name: opening.name.clone(),
                    kind: opening.kind,
                    shape: VoidShape::Box(self.clear_box(opening, strip, heights)),
                    side: opening.side,
                    axis: strip.axis,
                });
            }
            self.add_corbel(opening, strip);
            self.lay_sill(opening, strip);
            if let Some(arch) = opening.arch.as_ref().filter(|_| open) {
                self.work.voids.push(Void {
                    part: self.index,
                    name: opening.name.clone(),
                    kind: VoidKind::Opening,
                    shape: VoidShape::Profile {
                        axis: strip.axis,
                        profile: arch.soffit,
                        depth: wall_box(strip, opening.span, heights).span(strip.axis.across()),
                    },
                    side: opening.side,
                    axis: strip.axis,
                });
            }
            if let Some(lintel) = opening.lintel {
                let top = opening.courses.1;
                let z = if steel {
                    (heights.1, heights.1 + lintel.bar)
                } else {
                    (
                        heights.1,
                        part.base + part.heights.top_of(top + lintel.courses),
                    )
                };
                self.work.bodies.push(Body {
                    part: self.index,
                    name: opening.name.clone(),
                    serves: BodyUse::Lintel,
                    kind: lintel.kind,
                    cuboid: wall_box(strip, lintel.span, z),
                    bearings: (
                        Length::from_nm(opening.span.0 - lintel.span.0),
                        Length::from_nm(lintel.span.1 - opening.span.1),
                    ),
                    axis: strip.axis,
                });
            }
        }
        for (number, vent) in part.vents.iter().enumerate() {
            let Some(strip) = part.whole.get(vent.leg) else {
                continue;
            };
            let places = self.vents.get(&number).cloned().unwrap_or_default();
            for from in places {
                let void = self.vent_void(vent, strip, (from, from + vent.width));
                self.work.voids.push(void);
            }
        }
    }

    /// Of two voids one over the other, both open in the bed between them, the upper keeps it; so does a bar.
    fn share_beds(&mut self) {
        let bars = self.work.bodies.iter().map(|body| body.cuboid);
        let mut uppers: HashMap<Length, Vec<Cuboid>> = HashMap::new();
        for upper in bars.chain(self.work.voids.iter().filter_map(Void::cuboid)) {
            uppers.entry(upper.at.z).or_default().push(upper);
        }
        let beds: Vec<Length> = (1..=self.part.courses)
            .map(|course| self.part.base + self.part.heights.top_of(course))
            .collect();
        for void in &mut self.work.voids {
            let VoidShape::Box(open) = &mut void.shape else {
                continue;
            };
            let (bottom, top) = open.heights();
            // The highest bed that the void reaches into, without the course above it.
            let place = beds.partition_point(|&bed| bed < top);
            let bed = place.checked_sub(1).and_then(|place| beds.get(place));
            let Some(&bed) = bed.filter(|&&bed| bed > bottom) else {
                continue;
            };
            let meets = |upper: &Cuboid| upper.shared(open).is_some();
            if uppers
                .get(&bed)
                .is_some_and(|uppers| uppers.iter().any(meets))
            {
                open.height = bed - bottom;
            }
        }
        for body in &self.work.bodies {
            let (bottom, top) = body.cuboid.heights();
            for void in &mut self.work.voids {
                let VoidShape::Box(open) = &mut void.shape else {
                    continue;
                };
                if open.at.z == bottom
                    && body.kind == LintelKind::Steel
                    && body.cuboid.shared(open).is_some()
                {
                    open.height = open.heights().1 - top;
                    open.at.z = top;
                }
            }
        }
    }

    fn add_ducts(&mut self) {
        for duct in self.ducts {
            let Some(strip) = self.part.whole.get(duct.leg) else {
                continue;
            };
            self.work.voids.push(Void {
                part: self.index,
                name: duct.name.clone(),
                kind: VoidKind::Duct,
                shape: VoidShape::Cylinder {
                    axis: strip.axis.across(),
                    across: Length::from_nm(duct.across),
                    z: Length::from_nm(duct.z),
                    radius: Length::from_nm(duct.radius),
                    span: (
                        Length::from_nm(strip.across),
                        Length::from_nm(strip.across + strip.thickness),
                    ),
                },
                side: duct.side,
                axis: strip.axis,
            });
        }
    }
}

/// A lap over joints alone, where edges of vents were kept clear of as well; none where those keep it.
fn true_lap(miss: Miss, joints: &[i64], least: i64) -> Option<Miss> {
    let figure = joints.iter().map(|joint| (joint - miss.at).abs()).min()?;
    (figure < least).then_some(Miss { figure, ..miss })
}

pub(super) fn wall_box(strip: &Strip, along: (i64, i64), z: (Length, Length)) -> Cuboid {
    let across = (strip.across, strip.across + strip.thickness);
    match strip.axis {
        Axis::X => cuboid(along, across, z),
        Axis::Y => cuboid(across, along, z),
    }
}

/// A piece that is cut keeps the finished end that shows: beside a jamb, a free end, a corner or a vent.
pub(super) fn finished_end(elements: &[Element], order: usize, interval: &Interval) -> Finished {
    let beside = |at: Option<usize>, end: End| match at.and_then(|at| elements.get(at)) {
        None => end == End::Open,
        Some(other) => match other.kind {
            ElementKind::Float(float) => interval.floats.get(float).is_some_and(|f| f.gap),
            _ => false,
        },
    };
    let whole = |element: &Element| element.kind == ElementKind::Whole;
    if elements.get(order).is_some_and(whole) {
        Finished::Both
    } else if beside(order.checked_sub(1), interval.low) {
        Finished::Low
    } else if beside(Some(order + 1), interval.high) {
        Finished::High
    } else {
        Finished::Neither
    }
}

/// Where a piece is being laid.
pub(super) struct Place<'a> {
    pub(super) part: usize,
    pub(super) course: u32,
    pub(super) leaf: usize,
    pub(super) leg: usize,
    pub(super) strip: &'a Strip,
    heights: (Length, Length),
}

impl Place<'_> {
    pub(super) fn point(&self, along: i64) -> Point {
        let (x, y) = match self.strip.axis {
            Axis::X => (along, self.strip.across),
            Axis::Y => (self.strip.across, along),
        };
        Point {
            x: Length::from_nm(x),
            y: Length::from_nm(y),
            z: self.heights.0,
        }
    }

    pub(super) fn piece(&self, at: Point, length: i64, along: Axis, part: &MeasuredPart) -> Piece {
        Piece {
            at,
            length: Length::from_nm(length),
            width: part.unit_width,
            height: self.heights.1 - self.heights.0,
            shaping: 0,
            part: self.part as u16,
            course: self.course as u16,
            leaf: self.leaf as u8,
            leg: self.leg as u8,
            along,
            role: Role::Stretcher,
            cut: Cut::Whole,
            finished: Finished::Both,
        }
    }

    pub(super) fn stretcher(
        &self,
        element: Element,
        finished: Finished,
        part: &MeasuredPart,
    ) -> Piece {
        if matches!(element.kind, ElementKind::Header | ElementKind::Closer) {
            return self.across(element, part);
        }
        let cut = match element.kind {
            ElementKind::Whole
            | ElementKind::Float(_)
            | ElementKind::Header
            | ElementKind::Closer => Cut::Whole,
            ElementKind::Fraction(parts) => lowest_terms(parts, part.rules.parts),
            ElementKind::Odd => Cut::Odd,
        };
        Piece {
            cut,
            finished,
            ..self.piece(
                self.point(element.start),
                element.length,
                self.strip.axis,
                part,
            )
        }
    }

    /// A header flush with the outer face of its leaf, projecting inwards.
    pub(super) fn header(
        &self,
        ledge: &MeasuredLedge,
        element: Element,
        part: &MeasuredPart,
    ) -> (Piece, Option<Cuboid>, Cuboid) {
        let strip = self.strip;
        let length = strip.thickness + ledge.project;
        let inner = if strip.inside_high {
            strip.across + strip.thickness
        } else {
            strip.across
        };
        let (across, beyond) = if strip.inside_high {
            (
                (strip.across, strip.across + length),
                (inner, inner + ledge.project),
            )
        } else {
            (
                (strip.across - ledge.project, strip.across + strip.thickness),
                (inner - ledge.project, inner),
            )
        };
        let along = (element.start, element.start + element.length);
        let in_plan = |across: (i64, i64), z: (Length, Length)| match strip.axis {
            Axis::X => cuboid(along, across, z),
            Axis::Y => cuboid(across, along, z),
        };
        let whole = in_plan(across, self.heights);
        let cut = if length == part.rules.unit {
            Cut::Whole
        } else {
            Cut::Odd
        };
        let finished = match (cut, strip.inside_high) {
            (Cut::Whole, _) => Finished::Both,
            // The finished end faces out; the cut end is inside.
            (_, true) => Finished::Low,
            (_, false) => Finished::High,
        };
        let piece = Piece {
            role: Role::LedgeHeader,
            cut,
            finished,
            ..self.piece(whole.at, length, strip.axis.across(), part)
        };
        let notch = ledge.notch.map(|Notch { along: back, deep }| {
            let span = if strip.inside_high {
                (across.1 - back.nm(), across.1)
            } else {
                (across.0, across.0 + back.nm())
            };
            in_plan(span, (self.heights.1 - deep, self.heights.1))
        });
        (piece, notch, in_plan(beyond, self.heights))
    }
}

/// A fraction of a unit in lowest terms.
pub(super) fn lowest_terms(over: i64, under: i64) -> Cut {
    let (mut a, mut b) = (over, under);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    let divisor = a.max(1);
    match (u8::try_from(over / divisor), u8::try_from(under / divisor)) {
        (Ok(over), Ok(under)) => Cut::Bat(over, under),
        _ => Cut::Odd,
    }
}
