//! Two courses laid together against every pair of layouts there is, on stretches short enough to try them all.
#![allow(
    clippy::cast_possible_wrap,
    reason = "the allowance for tests does not reach their shared functions; counts are small"
)]

#[path = "common/pairs.rs"]
mod pairs;

use pairs::orders::{MM, rules};
use pairs::{can_be_filled, least_together, over};
use perpend::layout::interval::{
    Cost, End, Interval, Pair, Rules, Solution, Stretch, relay, solve,
};
use proptest::prelude::*;

/// Laps lie off every grid by this much, so that none is the least lap to within a few nanometres: there the rounding
/// of thirds and of shared joints decides, which is no matter of order.
const OFF_GRID: i64 = 123_457;

fn end() -> impl Strategy<Value = End> {
    prop_oneof![Just(End::Open), Just(End::Jointed)]
}

/// A stretch: thousandths of a module or whole quarters, what it ends against, its raster, how far it is from the last.
type Drawn = (i64, bool, End, End, i64, i64);

fn stretch(most: i64) -> impl Strategy<Value = Drawn> {
    let gap = prop_oneof![0..60_i64, 100..400_i64];
    (150..=most, any::<bool>(), end(), end(), 0..300_i64, gap)
}

fn stretches(drawn: &[Drawn], rules: &Rules, below: &[i64]) -> Vec<Stretch> {
    let module = rules.unit + rules.joint;
    let mut at = 0;
    let mut found = Vec::new();
    for &(thousandths, to_module, low, high, raster, gap) in drawn {
        let length = if to_module {
            let ends = i64::from(low == End::Jointed) + i64::from(high == End::Jointed);
            module * (thousandths / 250).max(1) / 4 + (ends - 1) * rules.joint
        } else {
            module * thousandths / 1_000 / MM * MM
        };
        at += gap * MM;
        found.push(Stretch {
            interval: Interval {
                length: length.max(MM),
                low,
                high,
                raster: raster * MM,
                floats: Vec::new(),
                below: below.iter().map(|joint| joint - at).collect(),
            },
            patterns: Vec::new(),
            at,
        });
        at += length.max(MM);
    }
    found
}

/// One or two stretches over one or two, and joints that lie below the lower ones.
fn cases() -> impl Strategy<Value = (Pair, Rules)> {
    let few = |most: i64| {
        prop_oneof![
            proptest::collection::vec(stretch(most), 1..=1),
            proptest::collection::vec(stretch(most / 2), 2..=2),
        ]
    };
    let below = proptest::collection::vec(-200..1_000_i64, 0..4);
    (rules(), few(3_300), few(3_000), below, any::<bool>()).prop_map(
        |(mut rules, lower, upper, mut below, stone)| {
            rules.least_lap -= OFF_GRID;
            below.sort_unstable();
            let below: Vec<i64> = below.into_iter().map(|joint| joint * MM).collect();
            let lower = stretches(&lower, &rules, &below);
            let upper = stretches(&upper, &rules, &[]);
            let unbound = if stone {
                vec![(100 * MM, 140 * MM)]
            } else {
                Vec::new()
            };
            let mut pair = Pair {
                lower,
                upper,
                unbound,
                lower_misses: 0,
                upper_misses: 0,
            };
            let laid: Vec<Solution> = pair
                .lower
                .iter()
                .map(|one| solve(&one.interval, &rules))
                .collect();
            pair.lower_misses = laid.iter().map(|one| one.cost.misses).sum();
            let uppers = over(&pair, &laid, &rules);
            pair.upper_misses = uppers.iter().map(|one| one.cost.misses).sum();
            (pair, rules)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1_500,
        failure_persistence: None,
        max_global_rejects: 200_000,
        ..ProptestConfig::default()
    })]

    #[test]
    fn no_pair_of_layouts_is_better((pair, rules) in cases()) {
        prop_assume!(pair.upper_misses > 0);
        // Where no rule fits, one piece is made to do, and its place is not searched for.
        prop_assume!(can_be_filled(&pair, &rules));
        let least = least_together(&pair, &rules);
        let found = relay(&pair, &rules);
        let both = pair.lower_misses + pair.upper_misses;
        let Some(found) = found else {
            prop_assert!(
                least.is_none_or(|least| least.misses >= both),
                "not found: {:?}", least
            );
            return Ok(());
        };
        let lower = found.iter().fold(Cost::default(), |sum, one| pairs::sum(sum, one.cost));
        prop_assert!(lower.misses <= pair.lower_misses);
        let uppers = over(&pair, &found, &rules);
        let cost = uppers.iter().fold(lower, |sum, one| pairs::sum(sum, one.cost));
        prop_assert!(cost.misses < both);
        let points = |cost: Cost| (cost.misses, cost.cuts, cost.odd);
        prop_assert_eq!(Some(points(cost)), least.map(points), "{:?}", found);
        let off = cost.joints - least.map_or(0, |least| least.joints);
        prop_assert!(off.abs() < 1_000, "joints {} further from nominal: {:?}", off, found);
    }
}
