//! The best way to fill one stretch of a course between two fixed faces.
//!
//! In: an interval, the rules it is laid by, and the head joints of the course below. Out: the elements in order,
//! filling the interval exactly. Hard limits first, then fewest cuts, fewest odd cuts, movable elements nearest
//! their wanted places, joints nearest nominal, head joints on the bond's raster.
//!
//! For every number of units and every total of unit fractions that the joints can absorb, and for every free cut
//! that makes up the rest, all joints are equally wide; so the place of every head joint follows from how many
//! units and fractions precede it, and the best order is found by dynamic programming over those counts.

mod next;
mod order;
mod pair;
mod pattern;

pub use next::{NextBest, next_best};
pub use order::{next_order, next_pattern_order, same_pieces};
pub use pair::{Pair, Stretch, relay};
pub use pattern::{Pattern, next_pattern, solve_pattern};

/// What an interval ends against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum End {
    /// A finished end of a unit: a free end, a jamb, a corner that the run passes, the cheek of a duct.
    Open,
    /// A face of other work, with a head joint before it.
    Jointed,
}

/// Something of fixed size in a course that may move along the interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Float {
    /// Whether it is a gap (a vent: no joint beside it) or a unit laid across (a ledge header: joints beside it).
    pub gap: bool,
    /// Its size along the interval, in nanometres.
    pub size: i64,
    /// Where its middle should be, in nanometres from the interval's start.
    pub target: i64,
}

/// What an interval is laid by. All lengths in nanometres.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Rules {
    /// Length of a whole unit.
    pub unit: i64,
    /// Nominal, shortest and longest head joint.
    pub joint: i64,
    /// Shortest head joint.
    pub shortest_joint: i64,
    /// Longest head joint.
    pub longest_joint: i64,
    /// Into how many parts the bond divides a unit and its joint.
    pub parts: i64,
    /// Fractions of a unit that the bond uses, in parts, largest first.
    pub fractions: Vec<i64>,
    /// Least distance between a head joint and one in the course below.
    pub least_lap: i64,
    /// Shortest piece that may be laid.
    pub shortest_piece: i64,
}

impl Rules {
    fn module(&self) -> i64 {
        self.unit + self.joint
    }

    /// Parts that the smallest fraction lacks to a whole unit.
    fn most_lacking(&self) -> i64 {
        self.parts - self.fractions.last().copied().unwrap_or(self.parts)
    }

    fn fraction_length(&self, parts: i64) -> i64 {
        self.module() * parts / self.parts - self.joint
    }
}

/// One stretch of a course.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Interval {
    /// Clear distance between the two faces.
    pub length: i64,
    /// What it starts against.
    pub low: End,
    /// What it ends against.
    pub high: End,
    /// Where one head joint of the bond's raster lies; the others follow every unit and joint.
    pub raster: i64,
    /// Elements to be placed, in order.
    pub floats: Vec<Float>,
    /// Head joints of the course below, sorted, from the interval's start.
    pub below: Vec<i64>,
}

/// What an element of a solution is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ElementKind {
    /// A whole unit.
    Whole,
    /// A fraction of a unit, in the bond's parts.
    Fraction(i64),
    /// A piece cut to fit.
    Odd,
    /// The float of this index.
    Float(usize),
    /// A unit across the wall, or one snapped to the wall's thickness.
    Header,
    /// A queen closer: half a header's width.
    Closer,
}

/// A unit, piece or float in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Element {
    /// What it is.
    pub kind: ElementKind,
    /// Where it starts.
    pub start: i64,
    /// How long it is.
    pub length: i64,
}

/// A limit that could not be kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Miss {
    /// Which limit.
    pub limit: Limit,
    /// Where, from the interval's start.
    pub at: i64,
    /// What it came to.
    pub figure: i64,
}

/// The limits that an interval is laid within.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Limit {
    /// Least lap over the course below.
    Lap,
    /// Shortest piece.
    Piece,
    /// Shortest and longest head joint.
    Joint,
}

/// Cost in the order in which it is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Cost {
    /// Limits not kept.
    pub misses: i64,
    /// Pieces and joints that stray from the order of stretchers and headers that the bond sets.
    pub strays: i64,
    /// Pieces cut.
    pub cuts: i64,
    /// Cut pieces that are no fraction of the bond's.
    pub odd: i64,
    /// How far floats lie from their wanted places, summed.
    pub drift: i64,
    /// How far joints are from nominal, summed.
    pub joints: i64,
    /// How far head joints are from the raster, summed.
    pub raster: i64,
}

impl Cost {
    /// What may be added before it comes to this cost: costs are judged alike whatever is added to both.
    fn less(self, other: Cost) -> Cost {
        Cost {
            misses: self.misses - other.misses,
            strays: self.strays - other.strays,
            cuts: self.cuts - other.cuts,
            odd: self.odd - other.odd,
            drift: self.drift - other.drift,
            joints: self.joints - other.joints,
            raster: self.raster - other.raster,
        }
    }

    /// Both costs together.
    pub(super) fn plus(self, other: Cost) -> Cost {
        Cost {
            misses: self.misses + other.misses,
            strays: self.strays + other.strays,
            cuts: self.cuts + other.cuts,
            odd: self.odd + other.odd,
            drift: self.drift.saturating_add(other.drift),
            joints: self.joints.saturating_add(other.joints),
            raster: self.raster.saturating_add(other.raster),
        }
    }
}

/// How an interval is filled.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Solution {
    /// Units, pieces and floats from low to high.
    pub elements: Vec<Element>,
    /// Middles of the head joints, the ones against other work included.
    pub joints: Vec<i64>,
    /// Limits that could not be kept.
    pub misses: Vec<Miss>,
    /// Its cost.
    pub cost: Cost,
}

/// Pieces shorter than this crumble under the hammer: common practice, no source.
pub(super) const SHORTEST_CUT: i64 = 20_000_000;
/// Intervals up to so many units are tried with every count of pieces; in longer ones a conflict at one end is met near
/// that end.
const TRIED_IN_FULL: i64 = 5;
/// In longer intervals, how many more units than the shortest count are tried, and how many may be cut away.
const MORE_UNITS: i64 = 3;
const CUT_AWAY: i64 = 2;
/// A rounding slip of fractions of a unit that is taken up by the piece itself.
pub(super) const SLIP: i64 = 16;

/// Fills an interval in the best way.
pub fn solve(interval: &Interval, rules: &Rules) -> Solution {
    let window = rules.module() / 2;
    if let Some(solution) = best(interval, rules, window) {
        return solution;
    }
    if interval.floats.is_empty() {
        return make_do(interval, rules);
    }
    split_at_floats(interval, rules)
}

/// One choice of counts: every order of its pieces has the same joint width.
#[derive(Clone, Copy, Debug)]
struct Tally {
    /// Pieces that are no floats.
    pieces: i64,
    /// Parts that the fractions lack to whole units.
    lacking: i64,
    /// Length of the odd piece, zero for none.
    odd: i64,
    /// Sum of all joints.
    joint_total: i64,
    /// Number of joints.
    joint_count: i64,
    /// No order can cost less.
    bound: Cost,
}

struct Measures {
    free: i64,
    headers: i64,
    gaps: i64,
    ends: i64,
}

impl Measures {
    fn of(interval: &Interval) -> Measures {
        let taken: i64 = interval.floats.iter().map(|float| float.size).sum();
        let gaps = interval.floats.iter().filter(|float| float.gap).count() as i64;
        Measures {
            free: interval.length - taken,
            headers: interval.floats.len() as i64 - gaps,
            gaps,
            ends: i64::from(interval.low == End::Jointed)
                + i64::from(interval.high == End::Jointed),
        }
    }

    /// Joints among so many pieces; none where the gaps cannot lie between them.
    fn joints(&self, pieces: i64) -> Option<i64> {
        let solids = pieces + self.headers;
        if solids == 0 {
            return (self.gaps == 0 && self.ends != 1).then_some(self.ends / 2);
        }
        (solids > self.gaps).then_some(solids - 1 - self.gaps + self.ends)
    }
}

fn tallies(interval: &Interval, rules: &Rules) -> Vec<Tally> {
    let measures = Measures::of(interval);
    let module = rules.module();
    let most_lacking_each = rules.most_lacking();
    let smallest = rules.parts - most_lacking_each;
    let floats = measures.headers + measures.gaps;
    let least = ((measures.free - (measures.headers + 1) * rules.longest_joint)
        / (rules.unit + rules.longest_joint))
        .max(0);
    let in_full = measures.free <= TRIED_IN_FULL * module;
    let most = if in_full {
        let shortest = rules.fraction_length(smallest).max(SHORTEST_CUT) + rules.shortest_joint;
        measures.free / shortest.max(1) + 1
    } else {
        (measures.free + rules.joint) / module + MORE_UNITS + floats
    };
    let mut found = Vec::new();
    for pieces in least..=most {
        let Some(joint_count) = measures.joints(pieces) else {
            continue;
        };
        for odd_count in 0..=i64::from(pieces > 0) {
            let regular = pieces - odd_count;
            let all_cut = regular * most_lacking_each;
            let most_lacking = if in_full {
                all_cut
            } else {
                all_cut.min((CUT_AWAY + floats) * rules.parts)
            };
            // What the pieces leave grows with what they lack, so only a span of it fits.
            let left_by_whole = measures.free - regular * rules.unit;
            let (least_left, most_left) = if odd_count == 0 {
                let bounds = (rules.shortest_joint, rules.longest_joint);
                (joint_count * bounds.0 - SLIP, joint_count * bounds.1 + SLIP)
            } else {
                let joints = joint_count * rules.joint;
                (joints + SHORTEST_CUT, joints + rules.unit)
            };
            let lacks = |left: i64| (left - left_by_whole) * rules.parts / module;
            let fewest = (lacks(least_left) - 1).max(0);
            let most_lacking = most_lacking.min(lacks(most_left) + 1);
            for lacking in fewest..=most_lacking {
                let filled = (regular * rules.parts - lacking) * module / rules.parts
                    - regular * rules.joint;
                let rest = measures.free - filled;
                let (odd, joint_total) = if odd_count == 0 {
                    (0, rest)
                } else {
                    (rest - joint_count * rules.joint, joint_count * rules.joint)
                };
                if odd_count == 1 && !(SHORTEST_CUT..rules.unit).contains(&odd) {
                    continue;
                }
                let fits = if joint_count == 0 {
                    joint_total.abs() <= SLIP
                } else {
                    joint_total >= joint_count * rules.shortest_joint - SLIP
                        && joint_total <= joint_count * rules.longest_joint + SLIP
                };
                if !fits {
                    continue;
                }
                let cuts = odd_count
                    + if most_lacking_each > 0 {
                        (lacking + most_lacking_each - 1) / most_lacking_each
                    } else {
                        0
                    };
                found.push(Tally {
                    pieces,
                    lacking,
                    odd,
                    joint_total,
                    joint_count,
                    bound: Cost {
                        misses: i64::from(odd_count == 1 && odd < rules.shortest_piece),
                        strays: 0,
                        cuts,
                        odd: odd_count,
                        drift: 0,
                        joints: (joint_total - joint_count * rules.joint).abs(),
                        raster: 0,
                    },
                });
            }
        }
    }
    found.sort_by_key(|tally| (tally.bound, tally.pieces, tally.lacking));
    found
}

fn best(interval: &Interval, rules: &Rules, window: i64) -> Option<Solution> {
    let mut best: Option<(Cost, Tally, Vec<Choice>)> = None;
    let mut states = Vec::new();
    for tally in tallies(interval, rules) {
        let limit = best.as_ref().map(|(cost, ..)| *cost);
        if limit.is_some_and(|limit| tally.bound >= limit) {
            break;
        }
        if let Some((cost, order)) = Search::new(interval, rules, tally, window).run(&mut states)
            && limit.is_none_or(|limit| cost < limit)
        {
            best = Some((cost, tally, order));
        }
    }
    let (_, tally, order) = best?;
    Some(place(interval, rules, tally, &order))
}

/// What is laid next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Choice {
    Whole,
    Fraction(i64),
    Odd,
    Float,
}

#[derive(Clone, Copy)]
struct State {
    cost: Cost,
    came_by: Choice,
    from: u32,
}

/// Counts that fix where the next element starts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct Count {
    pieces: i64,
    floats: usize,
    lacking: i64,
    odd: bool,
    after_gap: bool,
}

struct Search<'a> {
    interval: &'a Interval,
    rules: &'a Rules,
    tally: Tally,
    window: i64,
    joint: i64,
    float_ends: Vec<i64>,
    gaps_before: Vec<i64>,
}

impl<'a> Search<'a> {
    fn new(interval: &'a Interval, rules: &'a Rules, tally: Tally, window: i64) -> Self {
        let mut float_ends = vec![0];
        let mut gaps_before = vec![0];
        let (mut length, mut gaps) = (0, 0);
        for float in &interval.floats {
            length += float.size;
            gaps += i64::from(float.gap);
            float_ends.push(length);
            gaps_before.push(gaps);
        }
        let joint = if tally.joint_count > 0 {
            tally.joint_total / tally.joint_count
        } else {
            rules.joint
        };
        Search {
            interval,
            rules,
            tally,
            window,
            joint,
            float_ends,
            gaps_before,
        }
    }

    /// How many ways there are for the odd piece to be laid or not.
    fn odds(&self) -> usize {
        1 + usize::from(self.tally.odd > 0)
    }

    /// How many ways there are to come after a gap or not.
    fn gaps(&self) -> usize {
        let gaps = self.gaps_before.last().copied().unwrap_or(0);
        1 + usize::from(gaps > 0)
    }

    fn index(&self, count: Count) -> usize {
        let floats = self.interval.floats.len() + 1;
        let lacking = self.tally.lacking as usize + 1;
        (((count.pieces as usize * floats + count.floats) * lacking + count.lacking as usize)
            * self.odds()
            + usize::from(count.odd))
            * self.gaps()
            + usize::from(count.after_gap)
    }

    /// Where the last element of these counts ends.
    fn cursor(&self, count: Count) -> i64 {
        let rules = self.rules;
        let odd = i64::from(count.odd);
        let regular = count.pieces - odd;
        let laid = (regular * rules.parts - count.lacking) * rules.module() / rules.parts
            - regular * rules.joint
            + odd * self.tally.odd
            + self.float_ends.get(count.floats).copied().unwrap_or(0);
        let elements = count.pieces + count.floats as i64;
        if elements == 0 {
            return 0;
        }
        let gaps = self.gaps_before.get(count.floats).copied().unwrap_or(0);
        let joints = elements - 1 - 2 * gaps
            + i64::from(count.after_gap)
            + i64::from(self.interval.low == End::Jointed);
        laid + joints * self.joint
    }

    /// Cost of a head joint whose middle is here.
    fn joint_cost(&self, at: i64) -> Cost {
        Cost {
            misses: i64::from(
                nearest_gap(&self.interval.below, at).is_some_and(|lap| lap < self.rules.least_lap),
            ),
            raster: off_raster(at - self.interval.raster, self.rules.module()),
            ..Cost::default()
        }
    }

    /// Cost before anything is laid: all joints are off nominal alike.
    fn opening(&self) -> Cost {
        Cost {
            joints: self.tally.bound.joints,
            ..Cost::default()
        }
    }

    /// The counts of all that is to be laid.
    fn last(&self) -> Count {
        Count {
            pieces: self.tally.pieces,
            floats: self.interval.floats.len(),
            lacking: self.tally.lacking,
            odd: self.tally.odd > 0,
            after_gap: false,
        }
    }

    /// How many counts [`Search::index`] tells apart.
    fn size(&self) -> usize {
        let most = Count {
            after_gap: self.gaps() > 1,
            ..self.last()
        };
        self.index(most) + 1
    }

    /// Pieces and floats that are to be laid.
    fn elements(&self) -> usize {
        self.tally.pieces as usize + self.interval.floats.len()
    }

    /// All counts of so many pieces and floats that may be on the way from none to all.
    fn counts(&self, elements: usize, mut each: impl FnMut(Count)) {
        for floats in 0..=self.interval.floats.len().min(elements) {
            let pieces = (elements - floats) as i64;
            if pieces > self.tally.pieces {
                continue;
            }
            // What is laid lacks no more than its pieces can, and leaves no more than the others can.
            let most = |pieces: i64| pieces * self.rules.most_lacking();
            let left = self.tally.lacking - most(self.tally.pieces - pieces);
            for lacking in left.max(0)..=self.tally.lacking.min(most(pieces)) {
                for odd in 0..self.odds() {
                    for gap in 0..self.gaps() {
                        each(Count {
                            pieces,
                            floats,
                            lacking,
                            odd: odd == 1,
                            after_gap: gap == 1,
                        });
                    }
                }
            }
        }
    }

    /// The cheapest order, if it fills the interval; `states` are its notes.
    fn run(&self, states: &mut Vec<Option<State>>) -> Option<(Cost, Vec<Choice>)> {
        let start = Count::default();
        let last = self.last();
        states.clear();
        states.resize(self.size(), None);
        if let Some(state) = states.get_mut(self.index(start)) {
            *state = Some(State {
                cost: self.opening(),
                came_by: Choice::Whole,
                from: u32::MAX,
            });
        }
        for elements in 0..self.elements() {
            self.counts(elements, |count| {
                let here = self.index(count);
                if let Some(Some(state)) = states.get(here).copied() {
                    self.steps(count, state.cost, |to, cost, came_by| {
                        if let Some(slot) = states.get_mut(self.index(to))
                            && slot.is_none_or(|old| cost < old.cost)
                        {
                            *slot = Some(State {
                                cost,
                                came_by,
                                from: here as u32,
                            });
                        }
                    });
                }
            });
        }
        let end = states.get(self.index(last)).copied().flatten()?;
        let cost = end.cost.plus(self.closing());
        let mut order = Vec::new();
        let mut at = end;
        while at.from != u32::MAX {
            order.push(at.came_by);
            at = states.get(at.from as usize).copied().flatten()?;
        }
        order.reverse();
        Some((cost, order))
    }

    /// Cost of the joint against what the interval ends with.
    fn closing(&self) -> Cost {
        // With nothing laid, the joint at the low end is the joint at the high end.
        let elements = self.tally.pieces + self.interval.floats.len() as i64;
        if self.interval.high == End::Jointed && self.tally.joint_count > 0 && elements > 0 {
            self.joint_cost(self.interval.length - self.joint / 2)
        } else {
            Cost::default()
        }
    }

    /// Everything that can be laid next, with the counts and the cost that it comes to.
    fn steps(&self, count: Count, so_far: Cost, mut reach: impl FnMut(Count, Cost, Choice)) {
        let rules = self.rules;
        let first = count.pieces == 0 && count.floats == 0;
        let jointed = if first {
            self.interval.low == End::Jointed
        } else {
            !count.after_gap
        };
        let cursor = self.cursor(count);
        let at_joint = if jointed {
            self.joint_cost(cursor + self.joint / 2)
        } else {
            Cost::default()
        };
        if count.pieces < self.tally.pieces {
            let next = Count {
                pieces: count.pieces + 1,
                after_gap: false,
                ..count
            };
            let odd_left = self.tally.odd > 0 && !count.odd;
            let regular_left = self.tally.pieces - count.pieces - i64::from(odd_left);
            if regular_left > 0 {
                reach(next, so_far.plus(at_joint), Choice::Whole);
                for &fraction in &rules.fractions {
                    let lacking = count.lacking + rules.parts - fraction;
                    if lacking > self.tally.lacking {
                        continue;
                    }
                    let short = rules.fraction_length(fraction) < rules.shortest_piece;
                    let cut = Cost {
                        misses: i64::from(short),
                        cuts: 1,
                        ..Cost::default()
                    };
                    reach(
                        Count { lacking, ..next },
                        so_far.plus(at_joint).plus(cut),
                        Choice::Fraction(fraction),
                    );
                }
            }
            if odd_left {
                let cut = Cost {
                    misses: i64::from(self.tally.odd < rules.shortest_piece),
                    cuts: 1,
                    odd: 1,
                    ..Cost::default()
                };
                reach(
                    Count { odd: true, ..next },
                    so_far.plus(at_joint).plus(cut),
                    Choice::Odd,
                );
            }
        }
        if let Some(float) = self.interval.floats.get(count.floats) {
            if float.gap && (first || count.after_gap) {
                return;
            }
            let start = if jointed && !float.gap {
                cursor + self.joint
            } else {
                cursor
            };
            let drift = (start + float.size / 2 - float.target).abs();
            if drift > self.window {
                return;
            }
            let cost = Cost {
                drift,
                ..Cost::default()
            };
            let at_joint = if float.gap { Cost::default() } else { at_joint };
            reach(
                Count {
                    floats: count.floats + 1,
                    after_gap: float.gap,
                    ..count
                },
                so_far.plus(at_joint).plus(cost),
                Choice::Float,
            );
        }
    }
}

/// Distance from a place to the nearest of some sorted places.
fn nearest_gap(sorted: &[i64], at: i64) -> Option<i64> {
    let next = sorted.partition_point(|&place| place < at);
    let above = sorted.get(next).map(|&place| place - at);
    let below = next
        .checked_sub(1)
        .and_then(|index| sorted.get(index))
        .map(|&place| at - place);
    match (above, below) {
        (Some(above), Some(below)) => Some(above.min(below)),
        (one, other) => one.or(other),
    }
}

fn off_raster(offset: i64, module: i64) -> i64 {
    let rest = offset.rem_euclid(module);
    rest.min(module - rest)
}

/// Puts an order of elements in place so that they fill the interval to the last nanometre.
fn place(interval: &Interval, rules: &Rules, tally: Tally, order: &[Choice]) -> Solution {
    let mut lengths = Vec::with_capacity(order.len());
    let mut float = 0;
    for choice in order {
        lengths.push(match choice {
            Choice::Whole => (ElementKind::Whole, rules.unit),
            Choice::Fraction(parts) => {
                (ElementKind::Fraction(*parts), rules.fraction_length(*parts))
            }
            Choice::Odd => (ElementKind::Odd, tally.odd),
            Choice::Float => {
                let size = interval.floats.get(float).map_or(0, |float| float.size);
                float += 1;
                (ElementKind::Float(float - 1), size)
            }
        });
    }
    let taken: i64 = lengths.iter().map(|(_, length)| length).sum();
    let joint_total = interval.length - taken;
    let is_gap = |kind: ElementKind| match kind {
        ElementKind::Float(index) => interval.floats.get(index).is_some_and(|float| float.gap),
        _ => false,
    };
    let mut solution = Solution::default();
    let count = tally.joint_count;
    let (mut cursor, mut joints_done, mut after_gap) = (0, 0, false);
    let mut joint_at = |cursor: &mut i64, solution: &mut Solution| {
        // Shares of the total differ by one nanometre at most and sum exactly.
        let width = joint_total * (joints_done + 1) / count.max(1)
            - joint_total * joints_done / count.max(1);
        joints_done += 1;
        solution.joints.push(*cursor + width / 2);
        check_joint(width, *cursor + width / 2, interval, rules, solution);
        *cursor += width;
    };
    for (index, &(kind, length)) in lengths.iter().enumerate() {
        let jointed = if index == 0 {
            interval.low == End::Jointed
        } else {
            !after_gap && !is_gap(kind)
        };
        if jointed {
            joint_at(&mut cursor, &mut solution);
        }
        // A cut piece between two finished faces takes up what rounding its fraction left over; a whole one is never
        // longer than its unit.
        let length = if count == 0 && index + 1 == lengths.len() {
            let rest = interval.length - cursor;
            if kind == ElementKind::Whole {
                rest.min(length)
            } else {
                rest
            }
        } else {
            length
        };
        if !matches!(kind, ElementKind::Float(_)) {
            count_piece(kind, cursor, length, rules, &mut solution);
        }
        if let ElementKind::Float(at) = kind {
            let target = interval.floats.get(at).map_or(0, |float| float.target);
            solution.cost.drift += (cursor + length / 2 - target).abs();
        }
        solution.elements.push(Element {
            kind,
            start: cursor,
            length,
        });
        cursor += length;
        after_gap = is_gap(kind);
    }
    if joints_done < count {
        let joint_at = |cursor: &mut i64, solution: &mut Solution| {
            let width = interval.length - *cursor;
            solution.joints.push(*cursor + width / 2);
            check_joint(width, *cursor + width / 2, interval, rules, solution);
            *cursor += width;
        };
        joint_at(&mut cursor, &mut solution);
    }
    solution
}

fn count_piece(kind: ElementKind, start: i64, length: i64, rules: &Rules, solution: &mut Solution) {
    if kind == ElementKind::Whole {
        return;
    }
    solution.cost.cuts += 1;
    solution.cost.odd += i64::from(kind == ElementKind::Odd);
    if length < rules.shortest_piece {
        solution.cost.misses += 1;
        solution.misses.push(Miss {
            limit: Limit::Piece,
            at: start,
            figure: length,
        });
    }
}

fn check_joint(
    width: i64,
    middle: i64,
    interval: &Interval,
    rules: &Rules,
    solution: &mut Solution,
) {
    solution.cost.joints += (width - rules.joint).abs();
    solution.cost.raster += off_raster(middle - interval.raster, rules.module());
    if width < rules.shortest_joint - SLIP || width > rules.longest_joint + SLIP {
        solution.cost.misses += 1;
        solution.misses.push(Miss {
            limit: Limit::Joint,
            at: middle,
            figure: width,
        });
    }
    if let Some(lap) = nearest_gap(&interval.below, middle).filter(|&lap| lap < rules.least_lap) {
        solution.cost.misses += 1;
        solution.misses.push(Miss {
            limit: Limit::Lap,
            at: middle,
            figure: lap,
        });
    }
}

/// Fills an interval too short for any rule: one piece as long as can be, or mortar alone.
fn make_do(interval: &Interval, rules: &Rules) -> Solution {
    let ends = Measures::of(interval).ends;
    let mut solution = Solution::default();
    if interval.length <= 0 {
        return solution;
    }
    let piece = interval.length - ends * rules.joint;
    if piece < 1 {
        check_joint(
            interval.length,
            interval.length / 2,
            interval,
            rules,
            &mut solution,
        );
        solution.joints.push(interval.length / 2);
        return solution;
    }
    // More than a unit only where no fraction can make up the length; then a joint opens.
    let length = piece.min(rules.unit);
    let mut cursor = 0;
    if interval.low == End::Jointed {
        cursor = if interval.high == End::Jointed {
            (interval.length - length) / 2
        } else {
            interval.length - length
        };
        solution.joints.push(cursor / 2);
        check_joint(cursor, cursor / 2, interval, rules, &mut solution);
    }
    count_piece(ElementKind::Odd, cursor, length, rules, &mut solution);
    solution.elements.push(Element {
        kind: ElementKind::Odd,
        start: cursor,
        length,
    });
    cursor += length;
    if cursor < interval.length {
        let width = interval.length - cursor;
        solution.joints.push(cursor + width / 2);
        check_joint(width, cursor + width / 2, interval, rules, &mut solution);
    }
    solution
}

/// Puts the floats where they are wanted and fills what lies between them.
fn split_at_floats(interval: &Interval, rules: &Rules) -> Solution {
    let mut solution = Solution::default();
    let mut from = 0;
    let mut low = interval.low;
    let mut rest: i64 = interval.floats.iter().map(|float| float.size).sum();
    for (index, float) in interval.floats.iter().enumerate() {
        let latest = interval.length - rest;
        let start = (float.target - float.size / 2).clamp(from.min(latest), latest.max(from));
        let high = if float.gap { End::Open } else { End::Jointed };
        append(&mut solution, interval, rules, (from, start), (low, high));
        solution.elements.push(Element {
            kind: ElementKind::Float(index),
            start,
            length: float.size,
        });
        from = start + float.size;
        rest -= float.size;
        low = high;
    }
    append(
        &mut solution,
        interval,
        rules,
        (from, interval.length),
        (low, interval.high),
    );
    solution
}

fn append(
    solution: &mut Solution,
    interval: &Interval,
    rules: &Rules,
    (from, to): (i64, i64),
    (low, high): (End, End),
) {
    let part = Interval {
        length: to - from,
        low,
        high,
        raster: interval.raster - from,
        floats: Vec::new(),
        below: interval.below.iter().map(|place| place - from).collect(),
    };
    let filled = best(&part, rules, 0).unwrap_or_else(|| make_do(&part, rules));
    solution.cost = solution.cost.plus(filled.cost);
    solution
        .elements
        .extend(filled.elements.into_iter().map(|element| Element {
            start: element.start + from,
            ..element
        }));
    solution
        .joints
        .extend(filled.joints.into_iter().map(|joint| joint + from));
    solution
        .misses
        .extend(filled.misses.into_iter().map(|miss| Miss {
            at: miss.at + from,
            ..miss
        }));
}
