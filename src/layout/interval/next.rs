//! The next best way to fill an interval: the best one that is made up of other pieces than the one laid.

use std::collections::BTreeMap;

use super::{
    Choice, Cost, Count, ElementKind, Interval, Rules, SLIP, Search, Solution, Tally, place,
    tallies,
};
use crate::stop;

/// Partial courses looked at before the search ends: seconds of work, far beyond small brickwork. Our own choice.
const MOST_TRAILS: usize = 400_000;
/// After so many of them it is asked whether to stop: about a millisecond of work. Our own choice.
const TRAILS_BETWEEN_LOOKS: usize = 256;

/// The best way that differs from the one laid in the multiset of its pieces, and so perhaps in its joints.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NextBest {
    /// How it would be laid.
    pub solution: Solution,
    /// Its cost as it is judged: before lengths are shared out in whole nanometres.
    pub cost: Cost,
    /// Cost of the one laid, judged alike.
    pub laid: Cost,
    /// Whether the search came to its end; if not, there may be a better one.
    pub searched: bool,
}

/// How many of each piece: whole units, each fraction in the order of the rules, odd pieces.
type Used = Vec<u16>;

/// The best order found so far for some counts.
struct Trail {
    cost: Cost,
    order: Vec<Choice>,
}

/// Finds the next best way beside a solution of [`super::solve`]; none where nothing else fits, or where the one laid
/// was itself made to do.
pub fn next_best(interval: &Interval, rules: &Rules, laid: &Solution) -> Option<NextBest> {
    let window = rules.module() / 2;
    let all = tallies(interval, rules);
    let order = order_of(laid);
    let laid_tally = all.iter().copied().find(|tally| fits(*tally, laid, rules));
    let laid_cost = cost_of(
        &Search::new(interval, rules, laid_tally?, window),
        order.iter().copied(),
    )?;
    let laid_used = used_by(&order, rules);
    let mut left = MOST_TRAILS;
    let mut best: Option<(Cost, Tally, Vec<Choice>)> = None;
    for tally in all {
        let limit = best.as_ref().map(|(cost, ..)| *cost);
        let over = left == 0 || stop::asked().is_some();
        if over || limit.is_some_and(|limit| tally.bound >= limit) {
            break;
        }
        // An odd piece as long as a fraction is that fraction under another name.
        let another_name = |parts: &i64| (rules.fraction_length(*parts) - tally.odd).abs() <= SLIP;
        if rules.fractions.iter().any(another_name) {
            continue;
        }
        let search = Search::new(interval, rules, tally, window);
        if let Some(found) = other_than(&search, &laid_used, limit, &mut left) {
            best = Some((found.cost, tally, found.order));
        }
    }
    let (cost, tally, order) = best?;
    Some(NextBest {
        solution: place(interval, rules, tally, &order),
        cost,
        laid: laid_cost,
        searched: left > 0,
    })
}

pub(super) fn order_of(solution: &Solution) -> Vec<Choice> {
    let choice = |kind| match kind {
        ElementKind::Whole => Choice::Whole,
        ElementKind::Fraction(parts) => Choice::Fraction(parts),
        ElementKind::Odd => Choice::Odd,
        // The plain rules lay neither headers nor closers but as floats.
        ElementKind::Float(_) | ElementKind::Header | ElementKind::Closer => Choice::Float,
    };
    solution.elements.iter().map(|e| choice(e.kind)).collect()
}

/// Whether a solution has the counts of a tally.
pub(super) fn fits(tally: Tally, solution: &Solution, rules: &Rules) -> bool {
    let (mut pieces, mut lacking, mut odd) = (0, 0, 0);
    for element in &solution.elements {
        match element.kind {
            ElementKind::Whole => pieces += 1,
            ElementKind::Fraction(parts) => {
                pieces += 1;
                lacking += rules.parts - parts;
            }
            ElementKind::Odd => {
                pieces += 1;
                odd += 1;
            }
            ElementKind::Float(_) | ElementKind::Header | ElementKind::Closer => {}
        }
    }
    (tally.pieces, tally.lacking, i64::from(tally.odd > 0)) == (pieces, lacking, odd)
}

/// What an order costs; none where it cannot be laid.
pub(super) fn cost_of(search: &Search<'_>, order: impl Iterator<Item = Choice>) -> Option<Cost> {
    let mut at = (Count::default(), search.opening());
    for choice in order {
        let mut next = None;
        search.steps(at.0, at.1, |to, cost, came_by| {
            if came_by == choice {
                next = Some((to, cost));
            }
        });
        at = next?;
    }
    Some(at.1.plus(search.closing()))
}

fn used_by(order: &[Choice], rules: &Rules) -> Used {
    let mut used = vec![0; rules.fractions.len() + 2];
    for &choice in order {
        count(&mut used, choice, rules);
    }
    used
}

fn count(used: &mut Used, choice: Choice, rules: &Rules) {
    let slot = match choice {
        Choice::Whole => Some(0),
        Choice::Fraction(parts) => rules
            .fractions
            .iter()
            .position(|&fraction| fraction == parts)
            .map(|at| at + 1),
        Choice::Odd => Some(rules.fractions.len() + 1),
        Choice::Float => None,
    };
    if let Some(slot) = slot.and_then(|slot| used.get_mut(slot)) {
        *slot += 1;
    }
}

/// The best order of a tally that is made up of other pieces and costs less than a limit.
fn other_than(
    search: &Search<'_>,
    laid: &Used,
    limit: Option<Cost>,
    left: &mut usize,
) -> Option<Trail> {
    let elements = search.tally.pieces as usize + search.interval.floats.len();
    let start = Trail {
        cost: search.opening(),
        order: Vec::new(),
    };
    let none = used_by(&[], search.rules);
    let mut layer = BTreeMap::from([((Count::default(), none), start)]);
    for _ in 0..elements {
        let mut next: BTreeMap<(Count, Used), Trail> = BTreeMap::new();
        for ((here, used), trail) in &layer {
            *left = left.saturating_sub(1);
            let look = left.is_multiple_of(TRAILS_BETWEEN_LOOKS);
            if *left == 0 || (look && stop::asked().is_some()) {
                return None;
            }
            search.steps(*here, trail.cost, |to, cost, came_by| {
                if limit.is_some_and(|limit| cost >= limit) {
                    return;
                }
                let mut used = used.clone();
                count(&mut used, came_by, search.rules);
                let known = next.get(&(to, used.clone()));
                if known.is_none_or(|known| cost < known.cost) {
                    let mut order = trail.order.clone();
                    order.push(came_by);
                    next.insert((to, used), Trail { cost, order });
                }
            });
        }
        layer = next;
    }
    layer
        .into_iter()
        .filter(|((end, used), _)| {
            used != laid
                && !end.after_gap
                && end.lacking == search.tally.lacking
                && end.odd == (search.tally.odd > 0)
        })
        .map(|(_, trail)| Trail {
            cost: trail.cost.plus(search.closing()),
            ..trail
        })
        .filter(|trail| limit.is_none_or(|limit| trail.cost < limit))
        .min_by_key(|trail| trail.cost)
}
