//! Courses of round work that openings and vents interrupt.
//!
//! Places along a course are told in nanometres unrolled at the inner face, so that a unit with its joint takes its own
//! width and joint there, and one pitch of the fan. Jambs are radial: the sides of the last units as they are, so that
//! every other course ends whole and those between with a bat. Parallel jambs would have every end cut on the skew.
//! A piece e long between joints j takes a bay of half angle α = θ (e + j) / 2 (u + j), from whose sides it keeps half a
//! joint: it is (2 r sin α − j) / cos α wide at radius r.

use std::f64::consts::FRAC_PI_2;

use super::course::PartWork;
use super::fan::Fan;
use super::geometry::{Axis, Point};
use super::laid::{
    Breach, BreachKind, Cut, Finished, Laid, Piece, Role, Shaping, Void, VoidKind, VoidShape,
};
use super::measure::{MeasuredPart, MeasuredRing};
use super::quad::Quad;
use super::sector::Sector;
use super::turned::{Corner, Plane, Turned};
use crate::plan::{Laying, Side, SideRef};
use crate::quantity::Length;

/// By so much (nanometres) a joint may miss its limits before it is told; nobody measures a joint more closely.
const SLACK: i64 = 100_000;

/// How places along a course lie in plan. Lengths in nanometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bend {
    /// Radius of the inner and the outer face.
    pub(super) faces: (f64, f64),
    /// Direction from the middle of the place that places count from, radians.
    pub(super) start: f64,
    /// From unit to unit, radians.
    pub(super) pitch: f64,
    /// Width of a whole unit at the inner face.
    pub(super) unit: i64,
    /// The joint between whole units at the inner and at the outer face.
    pub(super) joints: (i64, i64),
    /// Whether units are cut to taper.
    pub(super) cut: bool,
    /// Whether it closes on itself.
    pub(super) closed: bool,
    /// Whether even courses start and end with a pair of bats one and a half units wide.
    pub(super) paired: bool,
    /// Once round a ring; from end to end of a curved wall.
    pub(super) long: i64,
}

impl Bend {
    /// That of a ring; places count from its front, where a unit stands in odd courses.
    pub(super) fn of_ring(fan: &Fan, (inner, outer): (Length, Length), cut: bool) -> Bend {
        let (unit, joint) = (fan.inner_width.nm(), fan.inner_joint.nm());
        Bend {
            faces: (inner.nm() as f64, outer.nm() as f64),
            start: -FRAC_PI_2,
            pitch: fan.pitch,
            unit,
            joints: (joint, fan.outer_joint.nm()),
            cut,
            closed: true,
            paired: false,
            long: (unit + joint) * i64::from(fan.count),
        }
    }

    pub(super) fn module(&self) -> i64 {
        self.unit + self.joints.0
    }

    /// The angle that a stretch takes.
    pub(super) fn turn(&self, long: i64) -> f64 {
        self.pitch * long as f64 / self.module() as f64
    }

    /// The direction of a place.
    pub(super) fn angle(&self, place: i64) -> f64 {
        self.start + self.turn(place)
    }

    /// The stretch that an angle takes.
    pub(super) fn long_of(&self, turn: f64) -> i64 {
        (turn / self.pitch * self.module() as f64).round() as i64
    }

    /// The place in a direction.
    pub(super) fn place(&self, angle: f64) -> i64 {
        self.long_of((angle - self.start).rem_euclid(std::f64::consts::TAU))
    }

    /// A stretch along the inner face that a straight width across it takes.
    pub(super) fn unrolled(&self, across: Length) -> i64 {
        let half = (across.nm() as f64 / (2.0 * self.faces.0)).min(1.0).asin();
        (2.0 * half / self.pitch * self.module() as f64).round() as i64
    }

    /// A stretch along the inner face for one round the outer face.
    pub(super) fn unrolled_outer(&self, along: Length) -> i64 {
        let turn = along.nm() as f64 / self.faces.1;
        (turn / self.pitch * self.module() as f64).round() as i64
    }

    /// Round the outer face, for a stretch along the inner one.
    pub(super) fn round_outer(&self, long: i64) -> Length {
        Length::from_nm((self.turn(long) * self.faces.1).round() as i64)
    }

    /// Straight across at the inner face, for a stretch along it.
    pub(super) fn across(&self, long: i64) -> Length {
        let half = (self.turn(long) / 2.0).min(FRAC_PI_2);
        Length::from_nm((2.0 * self.faces.0 * half.sin()).round() as i64)
    }

    /// Widths of a piece at the inner and the outer face.
    fn widths(&self, piece: i64) -> (f64, f64) {
        let half = self.turn(piece + self.joints.0) / 2.0;
        let (sin, cos) = half.sin_cos();
        let at = |radius: f64, joint: i64| (2.0 * radius * sin - joint as f64) / cos;
        let inner = at(self.faces.0, self.joints.0);
        if self.cut {
            (inner, at(self.faces.1, self.joints.1))
        } else {
            (inner, inner)
        }
    }

    /// Where the middle of a joint lies in a course that nothing interrupts; others follow every unit and joint.
    pub(super) fn raster(&self, course: u32) -> i64 {
        let odd = course % 2 == 1;
        // A curved wall starts with a whole unit in odd courses, a ring has one in the middle of its front.
        let half = if odd == self.closed {
            self.module() / 2
        } else {
            0
        };
        if self.closed {
            half
        } else {
            half - self.joints.0 / 2
        }
    }

    /// The place of the middle of a ring's side; the start of a curved wall.
    pub(super) fn side(&self, side: SideRef) -> i64 {
        match side {
            SideRef::Side(side) if self.closed => {
                let quarters = match side {
                    Side::Front => 0,
                    Side::Right => 1,
                    Side::Back => 2,
                    Side::Left => 3,
                };
                self.long * quarters / 4
            }
            _ => 0,
        }
    }

    /// A stretch as the shorter way round a ring.
    fn signed(&self, long: i64) -> i64 {
        if !self.closed {
            return long;
        }
        let once = long.rem_euclid(self.long.max(1));
        if once * 2 > self.long {
            once - self.long
        } else {
            once
        }
    }

    /// The same jambs, the low one within the first time round.
    pub(super) fn first_time(&self, (from, to): (i64, i64)) -> (i64, i64) {
        if !self.closed {
            return (from, to);
        }
        let first = from.rem_euclid(self.long.max(1));
        (first, first + to - from)
    }

    /// By how much joints may be wider inside before they are too wide at the outer face.
    fn spare(&self, longest: Length) -> i64 {
        let spare = (longest.nm() - self.joints.1).max(0) as f64;
        (spare * self.faces.0 / self.faces.1).floor() as i64
    }

    /// How far two places are apart.
    fn apart(&self, one: i64, other: i64) -> i64 {
        let apart = (one - other).abs();
        if self.closed {
            let apart = apart.rem_euclid(self.long.max(1));
            apart.min(self.long - apart)
        } else {
            apart
        }
    }

    /// The middles of the joints of a course that nothing interrupts.
    fn joints_of(&self, course: u32) -> Vec<i64> {
        let first = self.raster(course);
        let module = self.module().max(1);
        let count = self.long / module + 2;
        // Within a pair there is no joint.
        let edge = if self.paired && course.is_multiple_of(2) {
            module
        } else {
            0
        };
        (0..count)
            .map(|turn| first + turn * module)
            .filter(|place| (edge..self.long - edge).contains(place) && (self.closed || *place > 0))
            .collect()
    }
}

/// An opening or a vent of round work as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct RoundOpening {
    /// Index of its part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// What it is for.
    pub kind: VoidKind,
    /// The side of a ring from whose middle its place counts; the one leg of a curved wall.
    pub side: SideRef,
    /// Round the outer face from there, or from the left end of a curved wall, to its left jamb, seen from outside.
    pub at: Length,
    /// Its lowest and its highest course.
    pub courses: (u32, u32),
    /// Clear width straight across between its jambs, at the inner and at the outer face.
    pub clear: (Length, Length),
    /// The thinnest joint at the inner and the widest at the outer face of its courses.
    pub joints: (Length, Length),
    /// Pieces cut in its courses.
    pub cut: u64,
}

impl RoundOpening {
    /// From where its place counts.
    pub fn from(&self) -> &'static str {
        match self.side {
            SideRef::Side(side) => side.word(),
            SideRef::Leg(_) | SideRef::Branch(_) => "left end",
        }
    }
}

impl Laid {
    /// Openings of round work, of each row of vents the first, with how many are in it.
    pub fn round_openings_by_row(&self) -> Vec<(usize, &RoundOpening)> {
        let mut found: Vec<(usize, &RoundOpening)> = Vec::new();
        for opening in &self.round_openings {
            let same = |known: &&mut (usize, &RoundOpening)| {
                known.1.part == opening.part
                    && known.1.name == opening.name
                    && known.1.courses == opening.courses
            };
            match found.iter_mut().find(same) {
                Some((count, _)) => *count += 1,
                None => found.push((1, opening)),
            }
        }
        found
    }
}

/// Something open in round work.
#[derive(Clone, Debug)]
pub(super) struct Hole {
    pub(super) name: String,
    pub(super) kind: VoidKind,
    pub(super) side: SideRef,
    /// Its jambs, as places along the course.
    pub(super) span: (i64, i64),
    pub(super) courses: (u32, u32),
}

impl Hole {
    pub(super) fn is_in(&self, course: u32) -> bool {
        (self.courses.0..=self.courses.1).contains(&course)
    }
}

/// What is laid in a stretch between two jambs, one after the other.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Stone {
    /// At the inner face.
    length: i64,
    cut: Cut,
    /// Whether it is two pieces across, one behind the other.
    double: bool,
}

/// How pieces of a course may be cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Cuts {
    /// To length: half and three-quarter bats.
    Across,
    /// Headers: for one and a half of them two three-quarter bats along the round, one behind the other.
    Pairs,
    /// Units too narrow for a half: two three-quarters side by side.
    Along,
}

/// What a stretch is filled by.
struct Filling<'a> {
    bend: &'a Bend,
    cuts: Cuts,
    /// The thinnest and the widest joint at the inner face.
    limits: (i64, i64),
    /// Longest pair.
    longest: i64,
    course: u32,
    /// Joints of the courses below and above, sorted.
    beside: Vec<i64>,
    least_lap: i64,
}

/// What a way of filling comes to, the gravest first: laps missed, pieces too short, units split along their length
/// where they need not be, pieces cut, odd ones, joints off the raster, joints off the usual one.
type Price = (u32, u32, u32, u32, u32, i64, i64);

impl Filling<'_> {
    fn shortest(&self) -> i64 {
        match self.cuts {
            Cuts::Across => (self.bend.unit - self.bend.joints.0) / 2 - 1,
            Cuts::Pairs => self.bend.unit / 2,
            Cuts::Along => self.bend.unit * 2 / 3,
        }
    }

    fn part(&self, over: u8, under: u8, double: bool) -> Stone {
        let (whole, joint) = (self.bend.module(), self.bend.joints.0);
        // A pair stands for so many headers, as each of its bats is named after the unit's length.
        let share = i64::from(over) * if double { 2 } else { 1 };
        Stone {
            length: whole * share / i64::from(under) - joint,
            cut: Cut::Bat(over, under),
            double,
        }
    }

    fn odd(length: i64, double: bool) -> Stone {
        Stone {
            length,
            cut: Cut::Odd,
            double,
        }
    }

    fn whole(&self) -> Stone {
        Stone {
            length: self.bend.unit,
            cut: Cut::Whole,
            double: false,
        }
    }

    /// What a stretch may start or end with.
    fn ends(&self) -> Vec<Vec<Stone>> {
        let mut found = vec![Vec::new()];
        match self.cuts {
            Cuts::Across => {
                let (half, most) = (self.part(1, 2, false), self.part(3, 4, false));
                found.extend([vec![half], vec![most], vec![most, half]]);
            }
            Cuts::Pairs => found.push(vec![self.part(3, 4, true)]),
            Cuts::Along => {
                let most = self.part(3, 4, false);
                found.push(vec![most, most]);
            }
        }
        found
    }

    /// Pieces that make up what whole units leave, joints between them included.
    fn rest(&self, length: i64) -> Vec<Vec<Stone>> {
        let (unit, joint) = (self.bend.unit, self.bend.joints.0);
        let fits = |one: i64| (self.shortest()..=unit).contains(&one);
        let mut found = Vec::new();
        if fits(length) {
            found.push(vec![Self::odd(length, false)]);
        }
        match self.cuts {
            Cuts::Across => {
                let half = self.part(1, 2, false);
                let other = length - half.length - joint;
                if fits(other) {
                    found.push(vec![half, Self::odd(other, false)]);
                }
            }
            Cuts::Pairs => {
                if (unit..=self.longest).contains(&length) {
                    found.push(vec![Self::odd(length, true)]);
                }
            }
            Cuts::Along => {
                let one = (length - joint) / 2;
                let other = length - joint - one;
                if fits(one) && fits(other) {
                    found.push(vec![Self::odd(one, false), Self::odd(other, false)]);
                }
            }
        }
        found
    }

    /// Ways to fill a stretch.
    fn ways(&self, length: i64) -> Vec<Vec<Stone>> {
        let (unit, joint) = (self.bend.unit, self.bend.joints.0);
        let module = self.bend.module().max(1);
        let ends = self.ends();
        let mut found: Vec<Vec<Stone>> = Vec::new();
        for lead in &ends {
            for trail in &ends {
                let given = lead.iter().chain(trail);
                let taken: i64 = given.map(|stone| stone.length + joint).sum();
                // What whole units, each with a joint, may take.
                let room = length + joint - taken;
                let count = room.div_euclid(module);
                let wholes = |count: i64| vec![self.whole(); usize::try_from(count).unwrap_or(0)];
                for count in [count, count + 1] {
                    let pieces = count + (lead.len() + trail.len()) as i64;
                    let gaps = length - (taken - joint * (pieces - count)) - count * unit;
                    let joints = pieces - 1;
                    let held = joints > 0
                        && (self.limits.0 - SLACK..=self.limits.1 + SLACK)
                            .contains(&(gaps / joints));
                    if count >= 0 && (held || (joints == 0 && gaps.abs() <= 1)) {
                        found.push([lead.clone(), wholes(count), trail.clone()].concat());
                    }
                }
                for count in [count, count - 1].into_iter().filter(|count| *count >= 0) {
                    for odd in self.rest(room - count * module - joint) {
                        let many = wholes(count);
                        found.push([&lead[..], &odd, &many, trail].concat());
                        if count > 0 {
                            let back: Vec<Stone> = odd.iter().rev().copied().collect();
                            found.push([&lead[..], &many, &back, trail].concat());
                        }
                    }
                }
            }
        }
        let pieces = (length + joint + module - 1).div_euclid(module).max(1);
        let each = (length - (pieces - 1) * joint) / pieces;
        let equal = vec![Self::odd(each, false); usize::try_from(pieces).unwrap_or(1)];
        found.push(equal);
        found
    }

    fn price(&self, set: &[(i64, Stone)]) -> Price {
        let (module, raster) = (self.bend.module().max(1), self.bend.raster(self.course));
        let mut price: Price = (0, 0, 0, 0, 0, 0, 0);
        for (_, stone) in set {
            let shortest = if stone.double {
                self.bend.unit
            } else {
                self.shortest()
            };
            price.1 += u32::from(stone.length < shortest);
            let split = self.cuts == Cuts::Pairs && !stone.double && stone.cut != Cut::Whole;
            price.2 += u32::from(split);
            let pieces = if stone.double { 2 } else { 1 };
            price.3 += pieces * u32::from(stone.cut != Cut::Whole);
            price.4 += pieces * u32::from(stone.cut == Cut::Odd);
        }
        for (middle, gap) in gaps(set) {
            let lap = self.nearest(middle);
            price.0 += u32::from(lap.is_some_and(|lap| lap < self.least_lap - SLACK));
            let off = (middle - raster).rem_euclid(module);
            price.5 += off.min(module - off);
            price.6 = price.6.max((gap - self.bend.joints.0).abs());
        }
        price
    }

    /// How far the nearest joint of the courses beside is from a place.
    fn nearest(&self, place: i64) -> Option<i64> {
        let place = if self.bend.closed {
            place.rem_euclid(self.bend.long.max(1))
        } else {
            place
        };
        let next = self.beside.partition_point(|&other| other < place);
        // Round a ring the last is beside the first.
        let before = match next.checked_sub(1) {
            Some(at) => self.beside.get(at),
            None => self.beside.last(),
        };
        let after = self.beside.get(next).or(self.beside.first());
        let near = before.into_iter().chain(after);
        near.map(|&other| self.bend.apart(place, other)).min()
    }

    /// The best way to fill a stretch.
    fn fill(&self, span: (i64, i64)) -> Vec<(i64, Stone)> {
        let ways = self.ways(span.1 - span.0).into_iter();
        let set = ways.map(|way| set(span, &way));
        let priced = set.map(|set| (self.price(&set), set));
        let best = priced.min_by(|one, other| one.0.cmp(&other.0));
        best.map(|(_, set)| set).unwrap_or_default()
    }
}

/// Places of stones set from a place on, all joints alike.
fn set((from, to): (i64, i64), stones: &[Stone]) -> Vec<(i64, Stone)> {
    let gaps = to - from - stones.iter().map(|stone| stone.length).sum::<i64>();
    let joints = (stones.len() as i64 - 1).max(1);
    let mut at = from;
    let mut found = Vec::with_capacity(stones.len());
    for (order, stone) in stones.iter().enumerate() {
        found.push((at + gaps * order as i64 / joints, *stone));
        at += stone.length;
    }
    found
}

/// Middles and widths of the joints between stones.
fn gaps(set: &[(i64, Stone)]) -> impl Iterator<Item = (i64, i64)> {
    let ends = set.iter().map(|(at, stone)| at + stone.length);
    let starts = set.iter().skip(1).map(|(at, _)| *at);
    ends.zip(starts)
        .map(|(end, start)| (i64::midpoint(end, start), start - end))
}

/// Lays what interrupts round work, course by course from the lowest.
pub(super) struct Pierced<'a> {
    part: &'a MeasuredPart,
    round: &'a MeasuredRing,
    index: usize,
    /// Joints of the course below.
    below: Vec<i64>,
    /// The furthest that work reaches towards each hole, radians: at the inner and at the outer face.
    clear: Vec<[(f64, f64); 2]>,
    /// Each course that was interrupted, its joints, and how many of its pieces are cut.
    courses: Vec<(u32, Joints, usize)>,
}

impl<'a> Pierced<'a> {
    pub(super) fn new(part: &'a MeasuredPart, round: &'a MeasuredRing, index: usize) -> Self {
        let bend = &round.bend;
        let wide = |hole: &Hole| {
            let jambs = (bend.angle(hole.span.0), bend.angle(hole.span.1));
            // Where units are cut to taper, the backs of jambs lie this side of a line through the middle.
            let (low, high) = jambs;
            let out = if bend.cut { bend.pitch / 8.0 } else { 0.0 };
            [jambs, (low - out, high + out)]
        };
        Pierced {
            part,
            round,
            index,
            below: Vec::new(),
            clear: round.holes.iter().map(wide).collect(),
            courses: Vec::new(),
        }
    }

    fn cuts(&self) -> Cuts {
        match self.round.ring.laid {
            Laying::Stretcher | Laying::Shiner => Cuts::Across,
            Laying::Header => Cuts::Pairs,
            Laying::Soldier | Laying::Sailor | Laying::Rowlock => Cuts::Along,
        }
    }

    /// Lays a course if it is interrupted; whether it did.
    pub(super) fn lay_course(&mut self, course: u32, work: &mut PartWork) -> bool {
        if self.round.holes.is_empty() {
            return false;
        }
        let bend = &self.round.bend;
        let mut open: Vec<usize> = (0..self.round.holes.len())
            .filter(|&at| {
                self.round
                    .holes
                    .get(at)
                    .is_some_and(|hole| hole.is_in(course))
            })
            .collect();
        open.sort_by_key(|&at| self.round.holes.get(at).map(|hole| hole.span.0));
        if open.is_empty() {
            let joints = bend.joints_of(course);
            self.tell_laps(course, &joints, work);
            self.below = joints;
            return false;
        }
        let spans: Vec<(i64, i64)> = open
            .iter()
            .filter_map(|&at| self.round.holes.get(at).map(|hole| hole.span))
            .collect();
        let mut beside = self.below.clone();
        if course < self.part.courses {
            beside.extend(bend.joints_of(course + 1));
        }
        beside.sort_unstable();
        let head = self.part.setting.joints.head;
        let filling = Filling {
            bend,
            cuts: self.cuts(),
            limits: (
                bend.joints.0.min(head.shortest.nm()),
                bend.joints.0 + bend.spare(head.longest),
            ),
            longest: self.longest_pair(),
            course,
            beside,
            least_lap: bend.unit / 4,
        };
        let mut joints = Vec::new();
        // A hole as narrow as a joint is one that was left open.
        let narrow = |span: &(i64, i64)| span.1 - span.0 <= head.longest.nm();
        joints.extend(
            spans
                .iter()
                .filter(|span| narrow(span))
                .map(|span| i64::midpoint(span.0, span.1)),
        );
        let mut worst = Joints::default();
        let stretches = between(bend, &spans).into_iter();
        let sets: Vec<_> = stretches.map(|stretch| filling.fill(stretch)).collect();
        let first = work.pieces.len();
        for set in &sets {
            joints.extend(gaps(set).map(|(middle, _)| middle));
            self.lay_stretch(course, set, work, &mut worst);
        }
        self.tell_joints(course, &worst, work);
        let laid = work.pieces.iter().skip(first);
        let cut = laid.filter(|piece| piece.cut != Cut::Whole).count();
        self.courses.push((course, worst, cut));
        if bend.closed {
            let long = bend.long.max(1);
            for joint in &mut joints {
                *joint = joint.rem_euclid(long);
            }
        }
        self.tell_laps(course, &joints, work);
        self.below = joints;
        true
    }

    /// The longest that a pair may be at the inner face: its back comes out of a unit. None where two do not fit behind
    /// one another.
    fn longest_pair(&self) -> i64 {
        let unit = &self.part.setting.unit;
        let bend = &self.round.bend;
        if unit.width * 2 > self.round.task.depth {
            return 0;
        }
        let mut longest = bend.unit * 2 + bend.joints.0;
        while longest > bend.unit && bend.widths(longest).1 > unit.length.nm() as f64 {
            longest -= SLACK * 10;
        }
        longest
    }

    fn lay_stretch(
        &mut self,
        course: u32,
        set: &[(i64, Stone)],
        work: &mut PartWork,
        worst: &mut Joints,
    ) {
        let bend = &self.round.bend;
        let (part, round) = (self.part, self.round);
        let bed = part.base + part.heights.top_of(course - 1);
        let depth = (
            part.base + part.heights.bottom_of(course),
            part.base + part.heights.top_of(course),
        );
        let mut before: Option<(f64, Stood)> = None;
        for (order, &(at, stone)) in set.iter().enumerate() {
            let angle = bend.angle(at) + bend.turn(stone.length) / 2.0;
            let stood = Stood {
                angle,
                widths: bend.widths(stone.length),
            };
            let next = set.get(order + 1).map(|(start, _)| {
                let middle = i64::midpoint(at + stone.length, *start);
                bend.angle(middle)
            });
            if let Some((_, other)) = &before {
                worst.add(other.joint(&stood, bend));
            }
            let corners = stood.bay(bend, before.as_ref().map(|(at, _)| *at), next, round.centre);
            work.quads.push(Quad::over(corners, (bed, depth.1)));
            let ends = (before.is_none(), next.is_none());
            for (leaf, turned) in self
                .pieces(&stood, stone.double, depth)
                .into_iter()
                .enumerate()
            {
                work.shapings.push(Shaping::Turned(turned));
                let shaping = work.shapings.len() as u32;
                let piece = self.piece(course, &stone, &turned, ends);
                work.pieces.push(Piece {
                    shaping,
                    leaf: leaf as u8,
                    ..piece
                });
            }
            if let Some(next) = next {
                before = Some((next, stood));
            }
            let reach = stood.reach(bend);
            if ends.0 {
                self.stand_clear(course, reach.map(|half| stood.angle - half), false);
            }
            if ends.1 {
                self.stand_clear(course, reach.map(|half| stood.angle + half), true);
            }
        }
    }

    /// Keeps what is open clear of the side of a piece, at both faces: the hole that starts, or ends, there.
    fn stand_clear(&mut self, course: u32, side: [f64; 2], starts: bool) {
        use std::f64::consts::TAU;
        for (hole, clear) in self.round.holes.iter().zip(&mut self.clear) {
            if !hole.is_in(course) {
                continue;
            }
            for (jambs, side) in clear.iter_mut().zip(side) {
                let jamb = if starts { &mut jambs.0 } else { &mut jambs.1 };
                let off = (side - *jamb).rem_euclid(TAU);
                let off = if off > TAU / 2.0 { off - TAU } else { off };
                // Another hole's jamb is further away than any piece reaches.
                if off.abs() > self.round.bend.pitch / 4.0 {
                    continue;
                }
                let inward = if starts { off > 0.0 } else { off < 0.0 };
                if inward {
                    *jamb += off;
                }
            }
        }
    }

    fn pieces(&self, stood: &Stood, double: bool, depth: (Length, Length)) -> Vec<Turned> {
        let task = &self.round.task;
        let (inner, outer) = (task.inner, task.inner + task.depth);
        let width_at = |radius: Length| {
            let share = (radius - inner).nm() as f64 / task.depth.nm().max(1) as f64;
            let width = stood.widths.0 + (stood.widths.1 - stood.widths.0) * share;
            Length::from_nm(width.round() as i64)
        };
        let piece = |from: Length, to: Length| Turned {
            plane: Plane::Level,
            centre: self.round.centre,
            angle: stood.angle,
            inner: from,
            outer: to,
            inner_width: width_at(from),
            outer_width: width_at(to),
            depth,
        };
        let leaf = self.part.setting.unit.width;
        if double {
            vec![piece(inner, inner + leaf), piece(outer - leaf, outer)]
        } else {
            vec![piece(inner, outer)]
        }
    }

    fn piece(&self, course: u32, stone: &Stone, turned: &Turned, ends: (bool, bool)) -> Piece {
        let unit = &self.part.setting.unit;
        let laid = self.round.ring.laid;
        let [mut length, mut width, mut height] = [unit.length, unit.width, unit.height];
        let mut cut = stone.cut;
        if cut != Cut::Whole {
            let size = turned.outer_width.max(turned.inner_width);
            match laid {
                _ if stone.double => length = size,
                Laying::Stretcher | Laying::Shiner => length = size,
                Laying::Header | Laying::Sailor => {
                    width = size;
                    cut = Cut::Odd;
                }
                Laying::Soldier | Laying::Rowlock => {
                    height = size;
                    cut = Cut::Split;
                }
            }
        }
        Piece {
            at: turned.bounds().at,
            length,
            width,
            height,
            shaping: 0,
            part: self.index as u16,
            course: course as u16,
            leaf: 0,
            leg: 0,
            along: Axis::X,
            role: if stone.double {
                Role::Stretcher
            } else {
                laid.into()
            },
            cut,
            // The end as fired shows in the jamb.
            finished: match (cut, ends) {
                (Cut::Whole, _) => Finished::Both,
                (_, (true, _)) => Finished::Low,
                (_, (_, true)) => Finished::High,
                _ => Finished::Neither,
            },
        }
    }

    fn point(&self, angle: f64, radius: f64, z: Length) -> Point {
        let along = |share: f64| Length::from_nm((radius * share).round() as i64);
        Point {
            x: self.round.centre.0 + along(angle.cos()),
            y: self.round.centre.1 + along(angle.sin()),
            z,
        }
    }

    fn tell_joints(&self, course: u32, worst: &Joints, work: &mut PartWork) {
        let head = self.part.setting.joints.head;
        let (inner, outer) = self.round.bend.faces;
        let bottom = self.part.base + self.part.heights.bottom_of(course);
        let mut tell = |(figure, angle): (f64, f64), limit: Length, radius: f64| {
            work.breaches.push(Breach {
                kind: BreachKind::JointOutOfTolerance,
                part: self.index,
                course,
                at: self.point(angle, radius, bottom),
                figure: Length::from_nm(figure.round() as i64),
                limit,
            });
        };
        if let Some(thin) = worst.thinnest
            && thin.0 + (SLACK as f64) < head.shortest.nm() as f64
        {
            tell(thin, head.shortest, inner);
        }
        if let Some(wide) = worst.widest
            && wide.0 - SLACK as f64 > head.longest.nm() as f64
        {
            tell(wide, head.longest, outer);
        }
    }

    /// Lists joints that lie too near one in the course below.
    fn tell_laps(&self, course: u32, joints: &[i64], work: &mut PartWork) {
        let bend = &self.round.bend;
        let least = bend.unit / 4;
        let bottom = self.part.base + self.part.heights.bottom_of(course);
        for &joint in joints {
            let below = self.below.iter().map(|&other| bend.apart(joint, other));
            let Some(lap) = below.min().filter(|lap| *lap < least - SLACK) else {
                continue;
            };
            work.breaches.push(Breach {
                kind: BreachKind::LapTooShort,
                part: self.index,
                course,
                at: self.point(bend.angle(joint), bend.faces.0, bottom),
                figure: Length::from_nm(lap),
                limit: Length::from_nm(least),
            });
        }
    }

    fn told(&self, hole: &Hole, sector: &Sector) -> RoundOpening {
        let bend = &self.round.bend;
        let nm = |figure: f64| Length::from_nm(figure.round() as i64);
        let mut joints: Option<(Length, Length)> = None;
        let mut cut = 0;
        for (course, worst, pieces) in &self.courses {
            if !hole.is_in(*course) {
                continue;
            }
            cut += pieces;
            if let (Some(thin), Some(wide)) = (worst.thinnest, worst.widest) {
                let (thin, wide) = (nm(thin.0), nm(wide.0));
                joints = Some(joints.map_or((thin, wide), |(a, b)| (a.min(thin), b.max(wide))));
            }
        }
        let along = bend.signed(hole.span.0 - bend.side(hole.side));
        RoundOpening {
            part: self.index,
            name: hole.name.clone(),
            kind: hole.kind,
            side: hole.side,
            at: bend.round_outer(along),
            courses: hole.courses,
            clear: sector.widths(),
            joints: joints.unwrap_or_default(),
            cut: cut as u64,
        }
    }

    /// What is open, between the sides of the work that reach furthest towards it.
    pub(super) fn add_voids(self, work: &mut PartWork) {
        let part = self.part;
        let task = &self.round.task;
        for (hole, sides) in self.round.holes.iter().zip(&self.clear) {
            let sector = Sector {
                centre: self.round.centre,
                inner: task.inner,
                outer: task.inner + task.depth,
                sides: sides[0],
                backs: sides[1],
                depth: (
                    part.base + part.heights.top_of(hole.courses.0 - 1),
                    part.base + part.heights.top_of(hole.courses.1),
                ),
            };
            work.quads.extend(sector.quads());
            work.round_openings.push(self.told(hole, &sector));
            work.voids.push(Void {
                part: self.index,
                name: hole.name.clone(),
                kind: hole.kind,
                shape: VoidShape::Sector(sector),
                side: hole.side,
                axis: Axis::X,
            });
        }
    }
}

/// Stretches between holes, which are in order; the last of a ring goes on past the place that places count from.
fn between(bend: &Bend, holes: &[(i64, i64)]) -> Vec<(i64, i64)> {
    let mut found = Vec::with_capacity(holes.len() + 1);
    if bend.closed {
        let next = holes.iter().skip(1).map(|hole| hole.0);
        let first = holes.first().map(|hole| hole.0 + bend.long);
        found.extend(holes.iter().map(|hole| hole.1).zip(next.chain(first)));
    } else {
        let from = std::iter::once(0).chain(holes.iter().map(|hole| hole.1));
        let to = holes.iter().map(|hole| hole.0);
        found.extend(from.zip(to.chain(std::iter::once(bend.long))));
    }
    found.retain(|(from, to)| to > from);
    found
}

/// A piece as it stands: its middle line and its widths at both faces.
#[derive(Clone, Copy)]
struct Stood {
    angle: f64,
    widths: (f64, f64),
}

impl Stood {
    fn corner(&self, radius: f64, across: f64) -> Corner {
        let (sin, cos) = self.angle.sin_cos();
        (radius * cos - across * sin, radius * sin + across * cos)
    }

    /// The joints between it and the next at the inner and the outer face, with the direction of the joint.
    fn joint(&self, next: &Stood, bend: &Bend) -> (f64, f64, f64) {
        let apart = |radius: f64, mine: f64, theirs: f64| {
            let (a, b) = (
                self.corner(radius, mine / 2.0),
                next.corner(radius, -theirs / 2.0),
            );
            (b.0 - a.0).hypot(b.1 - a.1)
        };
        (
            apart(bend.faces.0, self.widths.0, next.widths.0),
            apart(bend.faces.1, self.widths.1, next.widths.1),
            f64::midpoint(
                self.angle + (self.widths.0 / 2.0).atan2(bend.faces.0),
                next.angle - (next.widths.0 / 2.0).atan2(bend.faces.0),
            ),
        )
    }

    /// How far its sides reach from its middle line at the inner and at the outer face, radians. The back of an uncut unit
    /// stands back from the line through the middle: what is open goes by that line.
    fn reach(&self, bend: &Bend) -> [f64; 2] {
        let inner = (self.widths.0 / 2.0).atan2(bend.faces.0);
        let outer = (self.widths.1 / 2.0).atan2(bend.faces.1);
        [inner, outer.max(inner)]
    }

    /// What of the round goes with it: to the lines midway to its neighbours, or to its own sides at a jamb.
    fn bay(
        &self,
        bend: &Bend,
        low: Option<f64>,
        high: Option<f64>,
        centre: (Length, Length),
    ) -> [Corner; 4] {
        let side = |line: Option<f64>| match line {
            Some(line) => {
                let tan = (line - self.angle).abs().tan();
                (bend.faces.0 * tan, bend.faces.1 * tan)
            }
            None => (self.widths.0 / 2.0, self.widths.1 / 2.0),
        };
        let (low, high) = (side(low), side(high));
        let at = |(x, y): Corner| (x + centre.0.nm() as f64, y + centre.1.nm() as f64);
        [
            at(self.corner(bend.faces.0, -low.0)),
            at(self.corner(bend.faces.1, -low.1)),
            at(self.corner(bend.faces.1, high.1)),
            at(self.corner(bend.faces.0, high.0)),
        ]
    }
}

/// The thinnest joint at the inner face and the widest at the outer one, with their directions.
#[derive(Clone, Copy, Default)]
struct Joints {
    thinnest: Option<(f64, f64)>,
    widest: Option<(f64, f64)>,
}

impl Joints {
    fn add(&mut self, (inner, outer, angle): (f64, f64, f64)) {
        if self.thinnest.is_none_or(|(least, _)| inner < least) {
            self.thinnest = Some((inner, angle));
        }
        if self.widest.is_none_or(|(most, _)| outer > most) {
            self.widest = Some((outer, angle));
        }
    }
}
