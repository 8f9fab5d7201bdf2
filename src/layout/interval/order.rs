//! The best other order of what is laid in an interval: as many pieces that are together as long, set out differently.

use std::collections::BTreeMap;

use super::next::{cost_of, fits, order_of};
use super::pattern::{Spot, Walk};
use super::{
    Choice, Cost, Count, ElementKind, Interval, NextBest, Pattern, Rules, Search, Solution, place,
    tallies,
};

/// The best way so far to a state.
struct Trail<T> {
    cost: Cost,
    order: Vec<T>,
}

impl<T: Copy> Trail<T> {
    fn and(&self, choice: T) -> Vec<T> {
        let mut order = self.order.clone();
        order.push(choice);
        order
    }
}

/// States with whether the way to them has left the one that is laid.
type Trails<K, T> = BTreeMap<(K, bool), Trail<T>>;

fn keep<K: Ord, T>(trails: &mut Trails<K, T>, key: (K, bool), trail: Trail<T>) {
    let known = trails.get(&key);
    if known.is_none_or(|known| trail.cost < known.cost) {
        trails.insert(key, trail);
    }
}

/// Finds the best order other than the one laid by the plain rules, of as many pieces that are together as long.
pub fn next_order(interval: &Interval, rules: &Rules, laid: &Solution) -> Option<NextBest> {
    let all = tallies(interval, rules);
    let tally = all.into_iter().find(|tally| fits(*tally, laid, rules))?;
    let search = Search::new(interval, rules, tally, rules.module() / 2);
    let laid_order = order_of(laid);
    let laid_cost = cost_of(&search, laid_order.iter().copied())?;
    let mut layer: Trails<Count, Choice> = Trails::from([(
        (Count::default(), false),
        Trail {
            cost: search.opening(),
            order: Vec::new(),
        },
    )]);
    for &as_laid in &laid_order {
        let mut next = Trails::new();
        for ((here, left), trail) in &layer {
            search.steps(*here, trail.cost, |to, cost, choice| {
                let key = (to, *left || choice != as_laid);
                let order = trail.and(choice);
                keep(&mut next, key, Trail { cost, order });
            });
        }
        layer = next;
    }
    let ends = layer.into_iter().filter(|((end, left), _)| {
        *left
            && !end.after_gap
            && end.lacking == search.tally.lacking
            && end.odd == (search.tally.odd > 0)
    });
    let best = ends
        .map(|(_, trail)| trail)
        .min_by_key(|trail| trail.cost)?;
    Some(NextBest {
        solution: place(interval, rules, tally, &best.order),
        cost: best.cost.plus(search.closing()),
        laid: laid_cost,
        searched: true,
    })
}

/// As [`next_order`], where a bond's order fills the interval.
pub fn next_pattern_order(
    interval: &Interval,
    rules: &Rules,
    pattern: &Pattern,
    laid: &Solution,
) -> Option<Solution> {
    let kinds: Vec<ElementKind> = laid.elements.iter().map(|element| element.kind).collect();
    let all = Walk::all(interval, rules, pattern, Walk::ROUNDS - 1);
    let walk = all.into_iter().find(|walk| walk.is_of(&kinds))?;
    let opening = walk.opening();
    let start = |spot: Spot| {
        let trail = Trail {
            cost: opening,
            order: Vec::new(),
        };
        ((spot, false), trail)
    };
    let mut layer: Trails<Spot, ElementKind> = walk.starts().map(start).collect();
    for &as_laid in &kinds {
        let mut next = Trails::new();
        for ((spot, left), trail) in &layer {
            walk.steps(*spot, |kind, to, step, _| {
                let key = (to, *left || kind != as_laid);
                let (cost, order) = (trail.cost.plus(step), trail.and(kind));
                keep(&mut next, key, Trail { cost, order });
            });
        }
        layer = next;
    }
    let ends = layer.into_iter().filter_map(|((spot, left), trail)| {
        let (closing, _) = walk.closing(spot).filter(|_| left)?;
        Some((trail.cost.plus(closing), trail.order))
    });
    let (cost, order) = ends.min_by_key(|(cost, _)| *cost)?;
    Some(walk.place(cost, &order))
}

/// Whether two ways are made up of the same pieces.
pub fn same_pieces(one: &Solution, other: &Solution) -> bool {
    let sorted = |solution: &Solution| {
        let pieces = solution.elements.iter().filter_map(|e| match e.kind {
            ElementKind::Float(_) => None,
            kind => Some((e.length, kind == ElementKind::Header)),
        });
        let mut pieces: Vec<(i64, bool)> = pieces.collect();
        pieces.sort_unstable();
        pieces
    };
    sorted(one) == sorted(other)
}
