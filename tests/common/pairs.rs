//! Every layout of two courses, one over the other: brute force for the tests of courses laid together.
#![allow(dead_code, reason = "each test file uses some of these")]

#[path = "orders.rs"]
pub(crate) mod orders;

use orders::{cost_of, length_of, orders, placed};
use perpend::layout::interval::{Cost, Interval, Pair, Rules, Solution, Stretch, solve};

/// Two costs together.
pub(crate) fn sum(one: Cost, other: Cost) -> Cost {
    Cost {
        misses: one.misses + other.misses,
        strays: one.strays + other.strays,
        cuts: one.cuts + other.cuts,
        odd: one.odd + other.odd,
        drift: one.drift + other.drift,
        joints: one.joints + other.joints,
        raster: one.raster + other.raster,
    }
}

/// A layout of a stretch: what it costs over the joints that stay, and which of its joints miss no lap over them.
struct Layout {
    cost: Cost,
    /// Middles of its joints, from the place common to all.
    joints: Vec<i64>,
    /// Of its joints, those that keep their lap so far.
    kept: Vec<i64>,
}

fn layouts(stretch: &Stretch, rules: &Rules) -> Vec<Layout> {
    let interval = &stretch.interval;
    orders(interval, rules)
        .iter()
        .filter(|order| !order.is_empty())
        .filter_map(|order| {
            let cost = cost_of(order, interval, rules)?;
            let count = order.len() as i64 - 1 + orders::ends(interval);
            let regular: i64 = order.iter().map(|&one| length_of(one, 0, rules)).sum();
            let rest = interval.length - regular;
            let (odd, total) = if order.contains(&orders::Laid::Odd) {
                (rest - count * rules.joint, count * rules.joint)
            } else {
                (0, rest)
            };
            let (_, middles) = placed(order, odd, total, count, interval, rules);
            let keeps = |joint: &i64| {
                let near = |below: &i64| (below - joint).abs() < rules.least_lap;
                !interval.below.iter().any(near)
            };
            let place = |joint: &i64| joint + stretch.at;
            Some(Layout {
                cost,
                kept: middles.iter().filter(|one| keeps(one)).map(place).collect(),
                joints: middles.iter().map(place).collect(),
            })
        })
        .collect()
}

/// Whether every stretch can be filled by the rules at all.
pub(crate) fn can_be_filled(pair: &Pair, rules: &Rules) -> bool {
    let mut all = pair.lower.iter().chain(&pair.upper);
    all.all(|stretch| !layouts(stretch, rules).is_empty())
}

/// The least that all stretches of a pair cost together, where the lower ones miss no more limits than they do.
pub(crate) fn least_together(pair: &Pair, rules: &Rules) -> Option<Cost> {
    let all = |stretches: &[Stretch]| -> Vec<Vec<Layout>> {
        stretches.iter().map(|one| layouts(one, rules)).collect()
    };
    let (mut lower, upper) = (all(&pair.lower), all(&pair.upper));
    for layouts in &mut lower {
        layouts.sort_by_key(|layout| layout.cost);
    }
    let floor = upper
        .iter()
        .filter_map(|layouts| layouts.iter().map(|layout| layout.cost).min())
        .fold(Cost::default(), sum);
    let mut best = None;
    under(
        &lower,
        (Cost::default(), &[]),
        &mut |cost, joints: &[i64]| {
            let beaten = |cost: Cost| best.is_some_and(|best| cost >= best);
            if cost.misses > pair.lower_misses || beaten(sum(cost, floor)) {
                return;
            }
            let binds = |joint: &&i64| {
                let within = |&(from, to): &(i64, i64)| from < **joint && **joint < to;
                !pair.unbound.iter().any(within)
            };
            let binding: Vec<i64> = joints.iter().filter(binds).copied().collect();
            let mut all = cost;
            for layouts in &upper {
                let least = layouts.iter().map(|layout| {
                    let missed = |joint: &&i64| {
                        let near = |below: &i64| (below - **joint).abs() < rules.least_lap;
                        binding.iter().any(near)
                    };
                    let more = layout.kept.iter().filter(missed).count() as i64;
                    Cost {
                        misses: layout.cost.misses + more,
                        ..layout.cost
                    }
                });
                all = sum(all, least.min().unwrap_or_default());
            }
            if !beaten(all) {
                best = Some(all);
            }
        },
    );
    best
}

/// Every choice of one layout for each lower stretch.
fn under(rest: &[Vec<Layout>], so_far: (Cost, &[i64]), judge: &mut impl FnMut(Cost, &[i64])) {
    let Some((first, rest)) = rest.split_first() else {
        judge(so_far.0, so_far.1);
        return;
    };
    for layout in first {
        let joints = [so_far.1, &layout.joints].concat();
        under(rest, (sum(so_far.0, layout.cost), &joints), judge);
    }
}

/// The upper stretches solved over lower ones as they are laid.
pub(crate) fn over(pair: &Pair, lower: &[Solution], rules: &Rules) -> Vec<Solution> {
    let laid = pair.lower.iter().zip(lower);
    let mut joints: Vec<i64> = laid
        .flat_map(|(stretch, laid)| laid.joints.iter().map(|joint| joint + stretch.at))
        .filter(|joint| {
            let within = |&(from, to): &(i64, i64)| from < *joint && *joint < to;
            !pair.unbound.iter().any(within)
        })
        .collect();
    joints.sort_unstable();
    let solved = |stretch: &Stretch| {
        let mut interval: Interval = stretch.interval.clone();
        interval
            .below
            .extend(joints.iter().map(|joint| joint - stretch.at));
        interval.below.sort_unstable();
        solve(&interval, rules)
    };
    pair.upper.iter().map(solved).collect()
}
