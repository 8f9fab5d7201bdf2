//! The solver of intervals against every order of pieces there is, on intervals short enough to try them all.
#![allow(
    clippy::expect_used,
    clippy::cast_possible_wrap,
    reason = "the allowance for tests does not reach their shared functions; counts are small"
)]

#[path = "common/orders.rs"]
mod orders;

use orders::{Laid, MM, SLIP, cost_at, cost_of, ends, least, length_of, orders, rules};
use perpend::layout::interval::{Cost, End, Interval, Rules, Solution, next_best, solve};
use proptest::prelude::*;

/// Joints below lie off every grid by this much, so that no lap is the least lap to within a few nanometres: there the
/// rounding of thirds and of shared joints decides, which is no matter of order.
const OFF_GRID: i64 = 123_457;

/// Lengths of pieces, sorted: what a course is made up of, whatever its order.
fn made_up_of(mut lengths: Vec<i64>) -> Vec<i64> {
    lengths.sort_unstable();
    lengths
}

/// The least cost of any order that is made up of other lengths than a solution.
fn least_other(solution: &Solution, interval: &Interval, rules: &Rules) -> Option<Cost> {
    let lengths = solution.elements.iter().map(|element| element.length);
    let laid = made_up_of(lengths.collect());
    let joints = |count: usize| count as i64 - 1 + ends(interval);
    orders(interval, rules)
        .iter()
        .filter(|order| !order.is_empty())
        .filter_map(|order| {
            let cost = cost_of(order, interval, rules)?;
            let regular: i64 = order.iter().map(|&piece| length_of(piece, 0, rules)).sum();
            let odd = interval.length - regular - joints(order.len()) * rules.joint;
            // An odd piece as long as a fraction is that fraction.
            let fraction = |parts: &i64| {
                order.contains(&Laid::Odd)
                    && (length_of(Laid::Parts(*parts), 0, rules) - odd).abs() <= SLIP
            };
            let lengths = order.iter().map(|&piece| length_of(piece, odd, rules));
            let others = made_up_of(lengths.collect());
            let alike = others.len() == laid.len()
                && others
                    .iter()
                    .zip(&laid)
                    .all(|(one, other)| (one - other).abs() <= SLIP);
            (!alike && !rules.fractions.iter().any(fraction)).then_some(cost)
        })
        .min()
}

/// Fails unless a solution fills its interval from end to end with joints where it says, and costs what it says.
fn check_filled(solution: &Solution, interval: &Interval, rules: &Rules) {
    let mut cursor = 0;
    let mut middles = Vec::new();
    let mut widths = Vec::new();
    let count = solution.elements.len();
    for (index, element) in solution.elements.iter().enumerate() {
        let width = element.start - cursor;
        if index > 0 || interval.low == End::Jointed {
            middles.push(cursor + width / 2);
            widths.push(width);
        } else {
            assert_eq!(width, 0, "a joint before the first piece: {solution:?}");
        }
        assert!(element.length > 0, "{solution:?}");
        cursor = element.start + element.length;
    }
    let rest = interval.length - cursor;
    if count == 0 || interval.high == End::Jointed {
        middles.push(cursor + rest / 2);
        widths.push(rest);
    } else {
        assert_eq!(rest, 0, "a joint after the last piece: {solution:?}");
    }
    assert_eq!(solution.joints, middles);
    let mut cost = cost_at(&solution.elements, &middles, interval, rules);
    cost.misses += widths
        .iter()
        .filter(|&&width| width < rules.shortest_joint - SLIP || width > rules.longest_joint + SLIP)
        .count() as i64;
    cost.joints = widths.iter().map(|width| (width - rules.joint).abs()).sum();
    assert_eq!(solution.cost, cost, "{solution:?}");
    assert_eq!(solution.misses.len() as i64, cost.misses);
}

fn end() -> impl Strategy<Value = End> {
    prop_oneof![Just(End::Open), Just(End::Jointed)]
}

/// Intervals up to four units long; joints below at random or as a course of whole units leaves them.
fn cases() -> impl Strategy<Value = (Interval, Rules)> {
    let below = prop_oneof![
        proptest::collection::vec(0..1_300_i64, 0..6).prop_map(|mut below| {
            below.sort_unstable();
            (None, below)
        }),
        (0..300_i64).prop_map(|start| (Some(start), Vec::new())),
    ];
    (
        rules(),
        20..=4_000_i64,
        end(),
        end(),
        0..300_i64,
        below,
        any::<bool>(),
    )
        .prop_map(
            |(rules, thousandths, low, high, raster, (start, below), to_module)| {
                let module = rules.unit + rules.joint;
                let length = if to_module {
                    // A whole number of quarters, as sizes in units make it.
                    let ends = i64::from(low == End::Jointed) + i64::from(high == End::Jointed);
                    let quarters = (thousandths / 250).max(1);
                    (module * quarters / 4 + (ends - 1) * rules.joint).max(MM)
                } else {
                    module * thousandths / 1_000 / MM * MM
                };
                let below = match start {
                    None => below
                        .into_iter()
                        .map(|place| place * MM + OFF_GRID)
                        .collect(),
                    Some(start) => (0..6)
                        .map(|turn| start * MM + OFF_GRID + turn * module)
                        .collect(),
                };
                let interval = Interval {
                    length,
                    low,
                    high,
                    raster: raster * MM,
                    floats: Vec::new(),
                    below,
                };
                (interval, rules)
            },
        )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_order_of_pieces_is_better((interval, rules) in cases()) {
        let solution = solve(&interval, &rules);
        check_filled(&solution, &interval, &rules);
        if let Some(least) = least(&interval, &rules) {
            prop_assert_eq!(
                (solution.cost.misses, solution.cost.cuts, solution.cost.odd),
                (least.misses, least.cuts, least.odd),
                "{:?}", solution
            );
            // Shares of a nanometre aside, joints are as near nominal as they can be.
            let off = solution.cost.joints - least.joints;
            prop_assert!(off.abs() < 1_000, "joints {} further from nominal: {:?}", off, solution);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_other_pieces_come_nearer((interval, rules) in cases()) {
        let laid = solve(&interval, &rules);
        let next = next_best(&interval, &rules, &laid);
        if let Some(next) = &next {
            prop_assert!(next.searched);
            prop_assert!(next.laid <= next.cost, "{:?} beats {:?}", next, laid);
            check_filled(&next.solution, &interval, &rules);
        }
        // Where nothing fits at all, one piece was made to do, and nothing else was judged. Mortar alone is no order.
        let mortar = |solution: &Solution| solution.elements.is_empty();
        let to_judge = least(&interval, &rules).is_some()
            && !mortar(&laid)
            && next.as_ref().is_none_or(|next| !mortar(&next.solution));
        if to_judge {
            let points = |cost: Cost| (cost.misses, cost.cuts, cost.odd);
            prop_assert_eq!(
                next.map(|next| points(next.cost)),
                least_other(&laid, &interval, &rules).map(points),
                "beside {:?}", laid
            );
        }
    }
}

/// A wall of four UK brick over one shifted by half a brick: whole units alone.
#[test]
fn whole_units_over_a_half_lap() {
    let rules = Rules {
        unit: 215 * MM,
        joint: 10 * MM,
        shortest_joint: 7 * MM,
        longest_joint: 15 * MM,
        parts: 4,
        fractions: vec![3, 2],
        least_lap: 53 * MM,
        shortest_piece: 102 * MM,
    };
    let half = 225 * MM / 2;
    let interval = Interval {
        length: 890 * MM,
        low: End::Open,
        high: End::Open,
        raster: -5 * MM,
        floats: Vec::new(),
        below: (0..4).map(|turn| half + turn * 225 * MM - 5 * MM).collect(),
    };
    let solution = solve(&interval, &rules);
    check_filled(&solution, &interval, &rules);
    assert_eq!(solution.cost, Cost::default());
    assert_eq!(Some(solution.cost), least(&interval, &rules));
    assert_eq!(solution.elements.len(), 4);
}
