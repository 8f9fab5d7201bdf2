//! Every order of pieces that fills an interval, and what it costs: brute force for the tests of the solvers.
#![allow(dead_code, reason = "each test file uses some of these")]
#![allow(
    clippy::cast_possible_wrap,
    reason = "the allowance for tests does not reach their shared functions; counts are small"
)]

use perpend::layout::interval::{Cost, Element, ElementKind, End, Interval, Rules};
use proptest::prelude::*;

/// Nanometres in a millimetre.
pub(crate) const MM: i64 = 1_000_000;
/// Pieces shorter than this are no free cuts.
pub(crate) const SHORTEST_CUT: i64 = 20 * MM;
/// What the rounding of fractions of a unit may add up to.
pub(crate) const SLIP: i64 = 16;

/// What is laid, in order; the odd piece takes up what is left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Laid {
    /// A whole unit or a fraction of one, in parts.
    Parts(i64),
    /// A piece cut to fit.
    Odd,
}

/// How long a piece is.
pub(crate) fn length_of(laid: Laid, odd: i64, rules: &Rules) -> i64 {
    match laid {
        Laid::Parts(parts) if parts == rules.parts => rules.unit,
        Laid::Parts(parts) => (rules.unit + rules.joint) * parts / rules.parts - rules.joint,
        Laid::Odd => odd,
    }
}

/// Every order of whole units, fractions and at most one odd piece that is not too long for the interval.
pub(crate) fn orders(interval: &Interval, rules: &Rules) -> Vec<Vec<Laid>> {
    let choices: Vec<i64> = std::iter::once(rules.parts)
        .chain(rules.fractions.iter().copied())
        .collect();
    let ends = ends(interval);
    let mut found = vec![Vec::new()];
    let mut next = 0;
    while let Some(order) = found.get(next).cloned() {
        next += 1;
        let taken: i64 = order
            .iter()
            .map(|&laid| length_of(laid, SHORTEST_CUT, rules) + rules.shortest_joint)
            .sum();
        let room = interval.length - taken - (ends - 1) * rules.shortest_joint;
        let mut add = |laid: Laid| {
            if length_of(laid, SHORTEST_CUT, rules) + rules.shortest_joint
                <= room + rules.shortest_joint
            {
                let mut longer = order.clone();
                longer.push(laid);
                found.push(longer);
            }
        };
        for &parts in &choices {
            add(Laid::Parts(parts));
        }
        if !order.contains(&Laid::Odd) {
            add(Laid::Odd);
        }
    }
    found
}

/// Joints against other work.
pub(crate) fn ends(interval: &Interval) -> i64 {
    i64::from(interval.low == End::Jointed) + i64::from(interval.high == End::Jointed)
}

/// What an order costs when all its joints are equally wide; none when they cannot be.
pub(crate) fn cost_of(order: &[Laid], interval: &Interval, rules: &Rules) -> Option<Cost> {
    let count = order.len() as i64;
    let joints = count - 1 + ends(interval);
    let regular: i64 = order.iter().map(|&laid| length_of(laid, 0, rules)).sum();
    let rest = interval.length - regular;
    let (odd, total) = if order.contains(&Laid::Odd) {
        (rest - joints * rules.joint, joints * rules.joint)
    } else {
        (0, rest)
    };
    if order.contains(&Laid::Odd) && !(SHORTEST_CUT..rules.unit).contains(&odd) {
        return None;
    }
    let least = joints * rules.shortest_joint - SLIP;
    let most = joints * rules.longest_joint + SLIP;
    if !(least..=most).contains(&total) {
        return None;
    }
    let (elements, middles) = placed(order, odd, total, joints, interval, rules);
    let mut cost = cost_at(&elements, &middles, interval, rules);
    cost.joints = (total - joints * rules.joint).abs();
    Some(cost)
}

/// Where the elements and the middles of the joints of an order lie.
pub(crate) fn placed(
    order: &[Laid],
    odd: i64,
    total: i64,
    joints: i64,
    interval: &Interval,
    rules: &Rules,
) -> (Vec<Element>, Vec<i64>) {
    let mut done = 0;
    let mut cursor = 0;
    let mut elements = Vec::new();
    let mut middles = Vec::new();
    let width = |done: i64| total * (done + 1) / joints - total * done / joints;
    for (index, &laid) in order.iter().enumerate() {
        if index > 0 || interval.low == End::Jointed {
            let width = width(done);
            middles.push(cursor + width / 2);
            cursor += width;
            done += 1;
        }
        let length = length_of(laid, odd, rules);
        elements.push(Element {
            kind: match laid {
                Laid::Parts(parts) if parts == rules.parts => ElementKind::Whole,
                Laid::Parts(parts) => ElementKind::Fraction(parts),
                Laid::Odd => ElementKind::Odd,
            },
            start: cursor,
            length,
        });
        cursor += length;
    }
    if done < joints {
        middles.push(cursor + width(done) / 2);
    }
    (elements, middles)
}

/// The cost of elements and joints where they lie.
pub(crate) fn cost_at(
    elements: &[Element],
    middles: &[i64],
    interval: &Interval,
    rules: &Rules,
) -> Cost {
    let module = rules.unit + rules.joint;
    let mut cost = Cost::default();
    for element in elements {
        match element.kind {
            // The plain rules lay headers only as floats, and no closers.
            ElementKind::Whole
            | ElementKind::Float(_)
            | ElementKind::Header
            | ElementKind::Closer => continue,
            ElementKind::Fraction(_) => {}
            ElementKind::Odd => cost.odd += 1,
        }
        cost.cuts += 1;
        cost.misses += i64::from(element.length < rules.shortest_piece);
    }
    for &middle in middles {
        let short = |below: &i64| (below - middle).abs() < rules.least_lap;
        cost.misses += i64::from(interval.below.iter().any(short));
        let off = (middle - interval.raster).rem_euclid(module);
        cost.raster += off.min(module - off);
    }
    cost
}

/// The least cost of any order.
pub(crate) fn least(interval: &Interval, rules: &Rules) -> Option<Cost> {
    orders(interval, rules)
        .iter()
        .filter(|order| !order.is_empty())
        .filter_map(|order| cost_of(order, interval, rules))
        .min()
}

/// Stretcher bonds by halves and by thirds.
fn bonds() -> impl Strategy<Value = (i64, Vec<i64>)> {
    prop_oneof![Just((4, vec![3, 2])), Just((12, vec![8, 4]))]
}

/// Units, joints and bonds at random.
pub(crate) fn rules() -> impl Strategy<Value = Rules> {
    (190..=300_i64, 4..=14_i64, 85..=150_i64, bonds()).prop_map(
        |(unit, joint, width, (parts, fractions))| {
            let (unit, joint) = (unit * MM, joint * MM);
            Rules {
                unit,
                joint,
                shortest_joint: (joint - 3 * MM).max(2 * MM),
                longest_joint: joint + 5 * MM,
                parts,
                fractions,
                least_lap: unit / 4,
                shortest_piece: (i64::midpoint(unit, joint) - joint).min(width * MM),
            }
        },
    )
}
