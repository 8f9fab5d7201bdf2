//! Cutting from stock: published problems to their optima, kerf, stock on hand, and small problems against every plan
//! there is.

#[path = "common/cutting.rs"]
mod cutting;

use std::collections::BTreeMap;

use cutting::instances;
use perpend::quantity::Length;
use perpend::takeoff::{
    Stock, StockError, StockPlan, StockTally, StockTask, USUAL_STEPS, stock_plan,
};
use proptest::prelude::*;

/// An eighth of an inch.
const EIGHTH: Length = Length::from_nm(25_400_000 / 8);

fn task(stock: Vec<Stock>, pieces: &[(i64, u64)], kerf: i64) -> StockTask {
    StockTask {
        stock,
        pieces: pieces
            .iter()
            .map(|&(length, count)| (Length::mm(length), count))
            .collect(),
        kerf: Length::mm(kerf),
        ended: Vec::new(),
        most_pieces: None,
        steps: USUAL_STEPS,
    }
}

/// Whether a plan cuts what its task asks for, from stock that is there, and counts rightly.
fn is_sound(task: &StockTask, plan: &StockPlan) -> bool {
    let mut asked: BTreeMap<Length, u64> = BTreeMap::new();
    for &(length, count) in task.pieces.iter().chain(&task.ended) {
        *asked.entry(length).or_default() += count;
    }
    asked.retain(|_, count| *count > 0);
    let mut cut: BTreeMap<Length, u64> = BTreeMap::new();
    let mut ended: BTreeMap<Length, u64> = BTreeMap::new();
    let mut asked_ended: BTreeMap<Length, u64> = BTreeMap::new();
    for &(length, count) in task.ended.iter().filter(|(_, count)| *count > 0) {
        *asked_ended.entry(length).or_default() += count;
    }
    let mut taken = StockTally::default();
    let mut from: BTreeMap<usize, u64> = BTreeMap::new();
    let mut fits = true;
    for pattern in &plan.patterns {
        let Some(stock) = task.stock.get(pattern.stock) else {
            return false;
        };
        let mut used = Length::ZERO;
        let mut count = 0;
        for &(length, number) in &pattern.pieces {
            *cut.entry(length).or_default() += number * pattern.times;
            used += (length + task.kerf) * number as i64;
            count += number;
        }
        let ends: u64 = pattern.ended.iter().map(|&(_, number)| number).sum();
        fits &= stock.ends.is_none_or(|most| ends <= most);
        for &(length, number) in &pattern.ended {
            *ended.entry(length).or_default() += number * pattern.times;
        }
        fits &= used <= stock.length + task.kerf;
        fits &= task.most_pieces.is_none_or(|most| count <= most);
        *from.entry(pattern.stock).or_default() += pattern.times;
        taken.used += pattern.times;
        taken.bought += if stock.bought { pattern.times } else { 0 };
        taken.length += stock.length * pattern.times as i64;
    }
    let there = |(stock, used): (&usize, &u64)| {
        let number = task.stock.get(*stock).and_then(|stock| stock.number);
        number.is_none_or(|number| *used <= number)
    };
    let pieces: Length = cut.iter().map(|(&l, &n)| l * n as i64).sum();
    fits && cut == asked
        && ended == asked_ended
        && taken == plan.taken
        && from.iter().all(there)
        && plan.least <= plan.taken
        && plan.waste == taken.length - pieces
}

#[test]
fn published_problems_are_solved_to_their_optimum() {
    for instance in instances() {
        let task = instance.task();
        let plan = stock_plan(&task).expect("a plan");
        assert!(is_sound(&task, &plan), "{}", instance.name);
        assert_eq!(plan.taken.bought, instance.best, "{}", instance.name);
        assert_eq!(plan.least.bought, instance.best, "{}", instance.name);
        assert!(plan.is_proved(), "{}", instance.name);
    }
}

/// 8 · 12 in + 7 · 1/8 in is 96.875 in and 5 · 19 1/8 in + 4 · 1/8 in is 96.125 in, both more than a board of 96 in:
/// plain arithmetic.
#[test]
fn the_kerf_can_cost_a_board() {
    let boards = |length: Length, count, kerf| {
        let task = StockTask {
            stock: vec![Stock::bought(EIGHTH * (96 * 8))],
            pieces: vec![(length, count)],
            kerf,
            ended: Vec::new(),
            most_pieces: None,
            steps: USUAL_STEPS,
        };
        let plan = stock_plan(&task).expect("a plan");
        assert!(is_sound(&task, &plan) && plan.is_proved());
        plan.taken.bought
    };
    let foot = EIGHTH * (12 * 8);
    assert_eq!(boards(foot, 8, Length::ZERO), 1);
    assert_eq!(boards(foot, 8, EIGHTH), 2);
    let odd = EIGHTH * (19 * 8 + 1);
    assert_eq!(boards(odd, 10, Length::ZERO), 2);
    assert_eq!(boards(odd, 10, EIGHTH), 3);
}

#[test]
fn two_finished_ends_give_two_pieces() {
    let mut halves = task(
        vec![Stock::bought(Length::mm(240))],
        &[(52, 9), (115, 2)],
        3,
    );
    assert_eq!(stock_plan(&halves).map(|plan| plan.taken.bought), Ok(4));
    halves.most_pieces = Some(2);
    let plan = stock_plan(&halves).expect("a plan");
    assert_eq!((plan.taken.bought, plan.is_proved()), (6, true));
}

#[test]
fn stock_on_hand_goes_first_and_the_shorter_wastes_less() {
    let stock = vec![
        Stock::bought(Length::mm(3000)),
        Stock::on_hand(Length::mm(2000), 2),
        Stock::on_hand(Length::mm(1200), 1),
    ];
    let pieces = task(stock, &[(1000, 5)], 0);
    let plan = stock_plan(&pieces).expect("a plan");
    assert!(is_sound(&pieces, &plan) && plan.is_proved());
    assert_eq!(
        plan.taken,
        StockTally {
            bought: 0,
            used: 3,
            length: Length::mm(5200),
        }
    );
    let one = StockTask {
        pieces: vec![(Length::mm(1100), 1)],
        ..pieces
    };
    let plan = stock_plan(&one).expect("a plan");
    assert_eq!(plan.waste, Length::mm(100));
}

#[test]
fn stock_that_does_not_suffice_says_how_much_is_lacking() {
    let stock = vec![Stock::bought(Length::mm(1000)).at_most(2)];
    let pieces = task(stock.clone(), &[(400, 9)], 0);
    let error = stock_plan(&pieces).expect_err("too little");
    let lacking = StockError::TooLittle {
        lacking: 3,
        proved: true,
    };
    assert_eq!(error, lacking);
    let long = task(stock.clone(), &[(1001, 1)], 0);
    assert_eq!(
        stock_plan(&long),
        Err(StockError::TooLong(Length::mm(1001)))
    );
    let none = task(stock.clone(), &[(0, 1)], 0);
    assert_eq!(stock_plan(&none), Err(StockError::NotALength(Length::ZERO)));
    let much = task(stock, &[(1, u64::MAX), (2, 1)], 0);
    assert_eq!(stock_plan(&much), Err(StockError::TooMuch));
}

#[test]
fn nothing_to_cut_takes_nothing() {
    let plan = stock_plan(&task(Vec::new(), &[(5, 0)], 0)).expect("a plan");
    assert_eq!(plan.taken, StockTally::default());
    assert!(plan.is_proved());
}

#[test]
fn a_spent_budget_still_gives_a_plan_and_a_bound() {
    for instance in instances() {
        let task = StockTask {
            steps: 1,
            ..instance.task()
        };
        let plan = stock_plan(&task).expect("a plan");
        assert!(is_sound(&task, &plan), "{}", instance.name);
        assert!(plan.least.bought <= instance.best, "{}", instance.name);
    }
}

/// Thousands of pieces from two lengths of stock: what is bought is proved, and the steps are kept to.
#[test]
fn several_lengths_of_stock_keep_to_the_budget() {
    /// What the search may do beyond its budget, to come to a plan at all.
    const BEYOND: u64 = 10_000;
    let stock = vec![
        Stock::bought(Length::mm(6000)),
        Stock::bought(Length::mm(4200)),
        Stock::on_hand(Length::mm(3100), 7),
    ];
    let lengths = [2410, 2105, 1873, 1650, 1321, 977, 742, 655, 480, 333];
    let pieces: Vec<(i64, u64)> = lengths.iter().map(|&length| (length, 150)).collect();
    let task = StockTask {
        steps: 1_000_000,
        ..task(stock, &pieces, 3)
    };
    let plan = stock_plan(&task).expect("a plan");
    assert!(is_sound(&task, &plan));
    assert_eq!(plan.taken.bought, plan.least.bought);
    assert!(plan.steps <= task.steps + BEYOND);
}

#[test]
fn the_same_task_gives_the_same_plan() {
    for instance in instances() {
        let task = instance.task();
        assert_eq!(stock_plan(&task), stock_plan(&task), "{}", instance.name);
    }
}

/// The best tally of all plans there are, by trying each.
fn best_of_all(task: &StockTask) -> Option<StockTally> {
    struct Every<'a> {
        task: &'a StockTask,
        pieces: Vec<(Length, bool)>,
        best: Option<StockTally>,
    }
    impl Every<'_> {
        /// `open`: the kind, the room left and the pieces of each stock length that is begun.
        fn place(
            &mut self,
            at: usize,
            open: &mut Vec<(usize, Length, u64, u64)>,
            taken: StockTally,
        ) {
            if self.best.is_some_and(|best| taken >= best) {
                return;
            }
            let Some(&(piece, ended)) = self.pieces.get(at) else {
                self.best = Some(taken);
                return;
            };
            let need = piece + self.task.kerf;
            let most = self.task.most_pieces.unwrap_or(u64::MAX);
            for place in 0..open.len() {
                let Some(&(kind, room, count, ends)) = open.get(place) else {
                    continue;
                };
                let most_ends = self.task.stock.get(kind).and_then(|stock| stock.ends);
                let end_free = !ended || most_ends.is_none_or(|most| ends < most);
                if need <= room && count < most && end_free {
                    let put = |open: &mut Vec<_>, value| {
                        if let Some(slot) = open.get_mut(place) {
                            *slot = value;
                        }
                    };
                    put(
                        open,
                        (kind, room - need, count + 1, ends + u64::from(ended)),
                    );
                    self.place(at + 1, open, taken);
                    put(open, (kind, room, count, ends));
                }
            }
            for (kind, stock) in self.task.stock.iter().enumerate() {
                let begun = open.iter().filter(|own| own.0 == kind).count() as u64;
                let no_end = ended && stock.ends == Some(0);
                if no_end
                    || piece > stock.length
                    || stock.number.is_some_and(|number| begun >= number)
                {
                    continue;
                }
                open.push((
                    kind,
                    stock.length + self.task.kerf - need,
                    1,
                    u64::from(ended),
                ));
                let more = StockTally {
                    bought: taken.bought + u64::from(stock.bought),
                    used: taken.used + 1,
                    length: taken.length + stock.length,
                };
                self.place(at + 1, open, more);
                open.pop();
            }
        }
    }
    let pieces = task
        .pieces
        .iter()
        .map(|&piece| (piece, false))
        .chain(task.ended.iter().map(|&piece| (piece, true)))
        .flat_map(|((length, count), ended)| std::iter::repeat_n((length, ended), count as usize))
        .collect();
    let mut every = Every {
        task,
        pieces,
        best: None,
    };
    every.place(0, &mut Vec::new(), StockTally::default());
    every.best
}

fn any_stock() -> impl Strategy<Value = Stock> {
    (
        8_i64..=30,
        prop::option::of(0_u64..=3),
        any::<bool>(),
        prop::option::of(0_u64..=2),
    )
        .prop_map(|(length, number, bought, ends)| Stock {
            length: Length::mm(length),
            number,
            bought,
            ends,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_500))]

    #[test]
    fn no_plan_is_better(
        stock in prop::collection::vec(any_stock(), 1..=3),
        lengths in prop::collection::vec((2_i64..=20, any::<bool>()), 1..=8),
        kerf in 0_i64..=2,
        most_pieces in prop::option::of(1_u64..=3),
    ) {
        let of = |which: bool| -> Vec<(Length, u64)> {
            let those = lengths.iter().filter(|(_, ended)| *ended == which);
            those.map(|&(length, _)| (Length::mm(length), 1)).collect()
        };
        let task = StockTask {
            pieces: of(false),
            ended: of(true),
            most_pieces,
            ..task(stock, &[], kerf)
        };
        match (stock_plan(&task), best_of_all(&task)) {
            (Ok(plan), Some(best)) => {
                prop_assert!(is_sound(&task, &plan));
                prop_assert_eq!(plan.taken, best);
                prop_assert!(plan.is_proved());
            }
            (Err(StockError::TooLong(_) | StockError::TooLittle { proved: true, .. }), None) => {}
            (plan, best) => prop_assert!(false, "{:?} against {:?}", plan, best),
        }
    }
}
