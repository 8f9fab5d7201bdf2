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
    /// Length left over, summed, blade taken out.
    pub offcuts: Length,
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
        .filter(|piece| piece.cut != Cut::Whole)
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
    let mut offcuts = Length::ZERO;
    while let Some((&first, _)) = counts.last_key_value() {
        take(&mut counts, first);
        let mut cut = vec![first];
        let rest = unit - first - blade;
        if let Some((&second, _)) = counts.range(..=rest.max(Length::ZERO)).next_back() {
            take(&mut counts, second);
            cut.push(second);
        }
        let used: Length = cut.iter().copied().sum();
        offcuts += (unit - used - blade * (cut.len() as i64)).max(Length::ZERO);
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
        offcuts,
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

/// A bound that no plan beats: by total length with the blade between pieces, by two pieces a unit, and by the
/// pieces too long to share a unit with any other of their kind.
pub fn least_units(lengths: &[Length], unit: Length, blade: Length) -> u64 {
    let room = (unit + blade).nm().max(1);
    let total: i128 = lengths
        .iter()
        .map(|length| i128::from((*length + blade).nm()))
        .sum();
    let by_length = (total + i128::from(room) - 1) / i128::from(room);
    let by_ends = lengths.len().div_ceil(PIECES_PER_UNIT) as i128;
    let long = lengths
        .iter()
        .filter(|length| (**length * 2 + blade) > unit)
        .count() as i128;
    by_length.max(by_ends).max(long).max(0) as u64
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
}
