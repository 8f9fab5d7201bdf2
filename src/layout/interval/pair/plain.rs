//! A choice of counts for a stretch laid by plain rules, with what the rest of it costs from wherever it is laid up to.

use super::super::{Choice, Cost, Count, End, Interval, Rules, Search, Tally};

/// A choice of counts, and the least that the rest costs from every count on: no more than it does over further joints.
pub(super) struct Plain<'a> {
    search: Search<'a>,
    /// By the place of a count; none where no order leads from it to the end.
    rests: Vec<Option<Cost>>,
}

impl<'a> Plain<'a> {
    /// None where no order of the pieces fills the stretch.
    pub(super) fn new(interval: &'a Interval, rules: &'a Rules, tally: Tally) -> Option<Plain<'a>> {
        let search = Search::new(interval, rules, tally, rules.module() / 2);
        let mut rests: Vec<Option<Cost>> = vec![None; search.size()];
        for laid in (0..=search.elements()).rev() {
            search.counts(laid, |count| {
                let mut least = closing(&search, count).map(|(cost, _)| cost);
                search.steps(count, Cost::default(), |to, cost, _| {
                    if let Some(Some(rest)) = rests.get(search.index(to)) {
                        let through = cost.plus(*rest);
                        least = Some(least.map_or(through, |least| least.min(through)));
                    }
                });
                if let Some(slot) = rests.get_mut(search.index(count)) {
                    *slot = least;
                }
            });
        }
        let start = search.index(Count::default());
        rests.get(start).copied().flatten()?;
        Some(Plain { search, rests })
    }

    /// Its counts.
    pub(super) fn tally(&self) -> Tally {
        self.search.tally
    }

    /// Cost before anything is laid.
    pub(super) fn opening(&self) -> Cost {
        self.search.opening()
    }

    /// What all of it costs over the joints that stay.
    pub(super) fn least(&self) -> Cost {
        self.opening().plus(self.rest(Count::default()))
    }

    /// Where the last element ends.
    pub(super) fn cursor(&self, count: Count) -> i64 {
        self.search.cursor(count)
    }

    /// What is still to come costs at least this.
    pub(super) fn rest(&self, count: Count) -> Cost {
        let known = self.rests.get(self.search.index(count));
        known.copied().flatten().unwrap_or_default()
    }

    /// Everything that can be laid next and leads to the end, with its cost and the joint before it.
    pub(super) fn steps(
        &self,
        count: Count,
        mut reach: impl FnMut(Count, Choice, Cost, Option<i64>),
    ) {
        let search = &self.search;
        let jointed = if count == Count::default() {
            search.interval.low == End::Jointed
        } else {
            !count.after_gap
        };
        let joint = search.cursor(count) + search.joint / 2;
        let float = search.interval.floats.get(count.floats);
        let gap = float.is_some_and(|float| float.gap);
        search.steps(count, Cost::default(), |to, cost, choice| {
            let open = !jointed || (choice == Choice::Float && gap);
            if matches!(self.rests.get(search.index(to)), Some(Some(_))) {
                reach(to, choice, cost, (!open).then_some(joint));
            }
        });
    }

    /// Cost of the joint at the end, and where it is; none where not all is laid.
    pub(super) fn closing(&self, count: Count) -> Option<(Cost, Option<i64>)> {
        closing(&self.search, count)
    }
}

fn closing(search: &Search<'_>, count: Count) -> Option<(Cost, Option<i64>)> {
    if count != search.last() {
        return None;
    }
    if search.interval.high != End::Jointed || search.tally.joint_count == 0 {
        return Some((Cost::default(), None));
    }
    let joint = if count == Count::default() {
        search.interval.length / 2
    } else {
        search.interval.length - search.joint / 2
    };
    Some((search.joint_cost(joint), Some(joint)))
}
