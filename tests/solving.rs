//! The search over grids against asking every condition of every point.
#![allow(
    clippy::indexing_slicing,
    clippy::needless_pass_by_value,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::cell::Cell;

use perpend::compare::solve::{Best, Candidate, Field, Halt, Tally};
use proptest::prelude::*;

/// A condition: the variables it reads, and its answer for every combination of their values, the first changing
/// fastest.
#[derive(Clone, Debug)]
struct Random {
    sizes: Vec<usize>,
    conditions: Vec<(Vec<usize>, Vec<bool>)>,
}

impl Random {
    fn grid(&self) -> Result<Field, TestCaseError> {
        let reads = self
            .conditions
            .iter()
            .map(|(reads, _)| reads.clone())
            .collect();
        Field::new(self.sizes.clone(), reads).map_err(|error| TestCaseError::fail(error.message))
    }

    fn holds(&self, condition: usize, point: &[usize]) -> bool {
        let (reads, answers) = &self.conditions[condition];
        let (mut at, mut step) = (0, 1);
        for variable in reads {
            at += point[*variable] * step;
            step *= self.sizes[*variable];
        }
        answers[at]
    }

    fn fails(&self, point: &[usize]) -> Vec<usize> {
        (0..self.conditions.len())
            .filter(|condition| !self.holds(*condition, point))
            .collect()
    }

    /// Every point, the last variable changing fastest.
    fn points(&self) -> Vec<Vec<usize>> {
        let mut points = vec![Vec::new()];
        for size in &self.sizes {
            points = points
                .into_iter()
                .flat_map(|point: Vec<usize>| {
                    (0..*size).map(move |value| {
                        let mut point = point.clone();
                        point.push(value);
                        point
                    })
                })
                .collect();
        }
        points
    }
}

fn random() -> impl Strategy<Value = Random> {
    let sizes = prop::collection::vec(1_usize..5, 1..6);
    sizes.prop_flat_map(|sizes| {
        let variables: Vec<usize> = (0..sizes.len()).collect();
        let most = sizes.len().min(3);
        let of = sizes.clone();
        let condition = (prop::sample::subsequence(variables, 0..=most), 1_u8..10).prop_flat_map(
            move |(reads, share)| {
                let combinations: usize = reads.iter().map(|v| of[*v]).product();
                let answer = (0_u8..10).prop_map(move |n| n < share);
                (Just(reads), prop::collection::vec(answer, combinations))
            },
        );
        prop::collection::vec(condition, 0..6).prop_map(move |conditions| Random {
            sizes: sizes.clone(),
            conditions,
        })
    })
}

fn halted<E: std::fmt::Debug>(halt: Halt<E>) -> TestCaseError {
    TestCaseError::fail(format!("{halt:?}"))
}

proptest! {
    #[test]
    fn finds_the_points_that_meet_every_condition(random in random()) {
        let mut grid = random.grid()?;
        let mut found = Vec::new();
        let mut tally = Tally::default();
        let mut ask = |at: usize, point: &[usize]| Ok::<_, ()>(random.holds(at, point));
        let mut each = |point: &[usize]| { found.push(point.to_vec()); Ok(()) };
        grid.search(&mut ask, &mut each, &mut tally).map_err(halted)?;
        found.sort();
        let points = random.points();
        let right: Vec<_> = points.iter().filter(|p| random.fails(p).is_empty()).cloned().collect();
        prop_assert_eq!(&found, &right);
        prop_assert_eq!(tally.found, right.len() as u64);
        // Every point is found or refused once, and none is refused by a condition that it meets.
        prop_assert_eq!(tally.decided(), points.len() as u64);
        for (at, refused) in tally.refused.iter().enumerate() {
            let fail = points.iter().filter(|p| !random.holds(at, p)).count() as u64;
            prop_assert!(*refused <= fail, "{} of {}", refused, fail);
        }
        if let Some(only) = (random.conditions.len() == 1).then(|| tally.refused[0]) {
            prop_assert_eq!(only, (points.len() - right.len()) as u64);
        }
    }

    #[test]
    fn counts_what_is_left_without_a_condition(random in random()) {
        let mut grid = random.grid()?;
        let mut ask = |at: usize, point: &[usize]| Ok::<_, ()>(random.holds(at, point));
        for without in 0..random.conditions.len() {
            let left = grid.left_without(without, &mut ask).map_err(halted)?;
            let right = random.points().iter().filter(|p| random.fails(p).iter().all(|f| *f == without)).count();
            prop_assert_eq!(left, right as u64);
        }
    }

    #[test]
    fn the_nearest_miss_fails_fewest(random in random()) {
        let mut grid = random.grid()?;
        let mut ask = |at: usize, point: &[usize]| Ok::<_, ()>(random.holds(at, point));
        let miss = grid.nearest(0, &mut ask).map_err(halted)?.expect("a grid has a point");
        prop_assert_eq!(&miss.fails, &random.fails(&miss.point));
        let fewest = random.points().iter().map(|p| random.fails(p).len()).min();
        prop_assert_eq!(Some(miss.fails.len()), fewest);
        let known = grid.nearest(miss.fails.len(), &mut ask).map_err(halted)?;
        prop_assert_eq!(known.map(|known| known.fails.len()), fewest);
    }

    #[test]
    fn no_combination_is_asked_twice(random in random()) {
        let mut grid = random.grid()?;
        let asked = Cell::new(0_usize);
        let mut ask = |at: usize, point: &[usize]| { asked.set(asked.get() + 1); Ok::<_, ()>(random.holds(at, point)) };
        let mut tally = Tally::default();
        grid.search(&mut ask, &mut |_| Ok(()), &mut tally).map_err(halted)?;
        grid.nearest(0, &mut ask).map_err(halted)?;
        for without in 0..random.conditions.len() {
            grid.left_without(without, &mut ask).map_err(halted)?;
        }
        let combinations: usize = random.conditions.iter().map(|(_, answers)| answers.len()).sum();
        prop_assert!(asked.get() <= combinations, "{} of {}", asked.get(), combinations);
    }

    #[test]
    fn the_best_are_those_that_sorting_puts_first(scores in prop::collection::vec((0_u8..4, 0_u8..4), 0..40), most in 1_usize..10) {
        let mut all: Vec<Candidate> = scores.iter().enumerate().map(|(at, (a, b))| Candidate {
            scores: vec![f64::from(*a), f64::from(*b)],
            point: vec![at % 7, at],
        }).collect();
        let mut best = Best::of(most);
        for candidate in &all {
            best.offer(candidate.clone());
        }
        all.sort_by(Candidate::order);
        all.truncate(most);
        prop_assert_eq!(best.sorted(), &all[..]);
    }
}

#[test]
fn a_condition_that_reads_little_spares_the_rest_of_the_grid() {
    // A million points; what is asked of two variables leaves two of a hundred combinations.
    let mut grid = Field::new(vec![10; 6], vec![vec![4, 5], (0..6).collect()]).expect("a grid");
    let asked = Cell::new([0_u64; 2]);
    let mut ask = |at: usize, point: &[usize]| {
        let mut counts = asked.get();
        counts[at] += 1;
        asked.set(counts);
        Ok::<_, ()>(at == 1 || point[4] + point[5] == 1)
    };
    let mut tally = Tally::default();
    grid.search(&mut ask, &mut |_| Ok(()), &mut tally)
        .expect("an end");
    assert_eq!((tally.found, tally.refused), (20_000, vec![980_000, 0]));
    assert_eq!(asked.get(), [100, 20_000]);
}

#[test]
fn a_grid_without_end_is_refused() {
    let error = Field::new(vec![1_000; 9], Vec::new()).expect_err("it is too large");
    assert_eq!(error.code, "grid-too-large");
}
