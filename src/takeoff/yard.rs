//! What a plan uses of several kinds of units that lie in the yard.

use super::Takeoff;
use crate::layout::Laid;
use crate::masonry::Unit;

/// One kind of unit: what there is, what the plan takes, what is left and what is missing.
#[derive(Clone, Debug, PartialEq)]
pub struct YardLine {
    /// Name of the unit.
    pub unit: String,
    /// Units in the yard.
    pub there: u64,
    /// Units that the plan takes, with those for waste.
    pub wanted: u64,
    /// Units of the yard that are used.
    pub used: u64,
}

impl YardLine {
    /// Units of the yard that are not used.
    pub const fn left(&self) -> u64 {
        self.there.saturating_sub(self.used)
    }

    /// Units that are still to be bought.
    pub const fn to_buy(&self) -> u64 {
        self.wanted.saturating_sub(self.used)
    }
}

/// What a plan uses of a yard.
#[derive(Clone, Debug, PartialEq)]
pub struct YardUse {
    /// Kinds that lie in the yard, then those that the plan takes besides.
    pub lines: Vec<YardLine>,
}

impl YardUse {
    /// Sets what a plan takes against a yard. Units of a kind are those of one size and name; a yard that lists a kind twice
    /// has both heaps.
    pub fn of(laid: &Laid, takeoff: &Takeoff, yard: &[(Unit, u64)]) -> YardUse {
        let kinds = laid.kinds();
        let mut lines: Vec<YardLine> = Vec::new();
        let mut seen: Vec<&Unit> = Vec::new();
        for (unit, _) in yard {
            if seen.iter().any(|known| known.is_same(unit)) {
                continue;
            }
            seen.push(unit);
            let heaps = yard.iter().filter(|(other, _)| other.is_same(unit));
            let there = heaps.map(|(_, count)| *count).sum();
            let taken = kinds
                .iter()
                .zip(&takeoff.kinds)
                .find(|(setting, _)| setting.bought().is_same(unit) || setting.unit.is_same(unit));
            let wanted = taken.map_or(0, |(_, count)| count.net + count.waste);
            lines.push(YardLine {
                unit: unit.name.clone(),
                there,
                wanted,
                used: wanted.min(there),
            });
        }
        for (setting, count) in kinds.iter().zip(&takeoff.kinds) {
            let known = seen
                .iter()
                .any(|unit| setting.bought().is_same(unit) || setting.unit.is_same(unit));
            if !known {
                lines.push(YardLine {
                    unit: count.unit.clone(),
                    there: 0,
                    wanted: count.net + count.waste,
                    used: 0,
                });
            }
        }
        YardUse { lines }
    }

    fn sum(&self, of: impl Fn(&YardLine) -> u64) -> u64 {
        self.lines.iter().map(of).sum()
    }

    /// Units of the yard that are used.
    pub fn used(&self) -> u64 {
        self.sum(|line| line.used)
    }

    /// Units of the yard that are left.
    pub fn left(&self) -> u64 {
        self.sum(YardLine::left)
    }

    /// Units that are still to be bought.
    pub fn to_buy(&self) -> u64 {
        self.sum(YardLine::to_buy)
    }
}
