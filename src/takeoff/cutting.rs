//! How cut pieces come out of whole units.
//!
//! A unit has two finished ends, and every cut piece keeps one of them, so at most two pieces come out of a unit;
//! the blade takes its width between them. Largest first, each with the largest that still fits beside it.

use std::collections::BTreeMap;

use crate::layout::{Cut, Laid};
use crate::quantity::Length;

/// Pieces that a finished end limits a unit to.
const PIECES_PER_UNIT: usize = 2;

/// How cut pieces come out of whole units.
#[derive(Clone, Debug, PartialEq)]
pub struct CuttingPlan {
    /// Length of a whole unit.
    pub unit: Length,
    /// Width of the blade.
    pub blade: Length,
    /// What is cut from one unit, and from how many units, longest first.
    pub patterns: Vec<Pattern>,
    /// Units that are cut up.
    pub units: u64,
    /// No plan takes fewer units than this.
    pub least: u64,
}

/// What is cut from one unit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    /// Lengths, longest first.
    pub lengths: Vec<Length>,
    /// How many units are cut so.
    pub units: u64,
}

pub(super) fn for_pieces(laid: &Laid) -> CuttingPlan {
    let lengths: Vec<Length> = laid
        .pieces
        .iter()
        .filter(|piece| !matches!(piece.cut, Cut::Whole | Cut::Split))
        .map(|piece| piece.length)
        .collect();
    cutting_plan(
        &lengths,
        laid.plan.setting.unit.length,
        laid.plan.clearances.blade,
    )
}

/// A cutting plan for pieces of these lengths, none longer than a unit.
pub fn cutting_plan(lengths: &[Length], unit: Length, blade: Length) -> CuttingPlan {
    let mut counts: BTreeMap<Length, u64> = BTreeMap::new();
    for length in lengths {
        *counts.entry(*length).or_insert(0) += 1;
    }
    let mut patterns: Vec<Pattern> = Vec::new();
    let mut units = 0;
    while let Some((&first, _)) = counts.last_key_value() {
        take(&mut counts, first);
        let mut cut = vec![first];
        let rest = unit - first - blade;
        if let Some((&second, _)) = counts.range(..=rest.max(Length::ZERO)).next_back() {
            take(&mut counts, second);
            cut.push(second);
        }
        units += 1;
        match patterns.last_mut() {
            Some(last) if last.lengths == cut => last.units += 1,
            _ => patterns.push(Pattern {
                lengths: cut,
                units: 1,
            }),
        }
    }
    CuttingPlan {
        unit,
        blade,
        patterns,
        units,
        least: least_units(lengths, unit, blade),
    }
}

fn take(counts: &mut BTreeMap<Length, u64>, length: Length) {
    if let Some(count) = counts.get_mut(&length) {
        *count -= 1;
        if *count == 0 {
            counts.remove(&length);
        }
    }
}

/// A bound that no plan beats. For any size s: pieces so long that only something shorter than s fits beside them
/// need a unit each, and of the rest, those of s and more go two to a unit at best (Martello and Toth's second bound
/// with two pieces to a bin). For two pieces to a unit the best s gives the very number that is needed.
pub fn least_units(lengths: &[Length], unit: Length, blade: Length) -> u64 {
    let mut sorted = lengths.to_vec();
    sorted.sort_unstable();
    let room = unit - blade;
    let bound = |size: Length| {
        let alone = sorted.len() - sorted.partition_point(|&length| length <= room - size);
        let shorter = sorted.partition_point(|&length| length < size);
        let between = sorted.len().saturating_sub(alone + shorter);
        alone + between.div_ceil(PIECES_PER_UNIT)
    };
    let sizes = sorted.iter().copied().filter(|&size| size * 2 <= room);
    // Pieces longer than half the room share a unit with no other of their kind; two of just half do.
    let long = sorted.len() - sorted.partition_point(|&length| length * 2 <= room);
    let best = sizes.chain([Length::ZERO]).map(bound).max();
    best.unwrap_or(0).max(long) as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(lengths: &[i64]) -> Vec<Length> {
        lengths.iter().map(|&l| Length::mm(l)).collect()
    }

    /// Eight 12 in pieces from 96 in boards need a second board once the blade counts; with two pieces to a unit
    /// the same arithmetic is seen on two halves: derived, plain arithmetic.
    #[test]
    fn the_blade_decides_whether_two_halves_fit() {
        let halves = mm(&[115, 115]);
        assert_eq!(
            cutting_plan(&halves, Length::mm(240), Length::mm(3)).units,
            1
        );
        assert_eq!(
            cutting_plan(&halves, Length::mm(240), Length::mm(11)).units,
            2
        );
        assert_eq!(least_units(&halves, Length::mm(240), Length::mm(11)), 2);
    }

    /// Halves cut without a blade's width leave nothing: one whole unit holds two of them.
    #[test]
    fn two_pieces_of_just_half_share_a_unit() {
        let plan = cutting_plan(&mm(&[20, 120, 120, 120]), Length::mm(240), Length::ZERO);
        assert_eq!((plan.units, plan.least), (2, 2));
    }

    #[test]
    fn long_pieces_take_short_ones_with_them() {
        let plan = cutting_plan(
            &mm(&[177, 52, 115, 115, 177]),
            Length::mm(240),
            Length::mm(3),
        );
        assert_eq!(plan.units, 3);
        assert_eq!(plan.least, 3);
        let cut: u64 = plan
            .patterns
            .iter()
            .map(|p| p.units * p.lengths.len() as u64)
            .sum();
        assert_eq!(cut, 5);
    }

    proptest::proptest! {
        /// The plan takes as few units as its bound allows, so both are right.
        #[test]
        fn no_plan_takes_fewer_units(
            lengths in proptest::collection::vec(20_i64..=240, 0..40),
            blade in 0_i64..=10,
        ) {
            let lengths = mm(&lengths);
            let plan = cutting_plan(&lengths, Length::mm(240), Length::mm(blade));
            proptest::prop_assert_eq!(plan.units, plan.least);
            let cut: u64 = plan.patterns.iter().map(|p| p.units * p.lengths.len() as u64).sum();
            proptest::prop_assert_eq!(cut, lengths.len() as u64);
            for pattern in &plan.patterns {
                let used: Length = pattern.lengths.iter().copied().sum();
                let blades = Length::mm(blade) * (pattern.lengths.len() as i64 - 1);
                proptest::prop_assert!(used + blades <= Length::mm(240));
            }
        }
    }
}
