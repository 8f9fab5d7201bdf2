use serde::{Deserialize, Serialize};

use super::Plan;
use crate::masonry::Unit;
use crate::quantity::Length;

/// Units of one kind already in the yard; used before any are bought.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OnHand {
    /// Whole units.
    pub whole: u64,
    /// Half bats with one end as fired.
    pub halves: u64,
    /// Measured lengths of offcuts with one end as fired, and how many there are of each.
    pub offcuts: Vec<(Length, u64)>,
}

/// What is in the yard of one kind that is named.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Heap {
    /// The kind.
    pub unit: Unit,
    /// What there is of it.
    pub there: OnHand,
}

impl Plan {
    /// Sets what is in the yard of a kind, in place of what was said of it before.
    pub fn set_heap(&mut self, heap: Heap) {
        let known = self.heaps.iter_mut();
        match known
            .into_iter()
            .find(|known| known.unit.is_same(&heap.unit))
        {
            Some(known) => *known = heap,
            None => self.heaps.push(heap),
        }
    }

    /// Everything in the yard of one kind of unit, whether it is named or the plan's own.
    pub fn in_yard(&self, unit: &Unit) -> OnHand {
        let own = unit.is_same(&self.setting.unit).then_some(&self.on_hand);
        let named = self.heaps.iter().filter(|heap| heap.unit.is_same(unit));
        let mut all = OnHand::default();
        for there in own.into_iter().chain(named.map(|heap| &heap.there)) {
            all.whole = all.whole.saturating_add(there.whole);
            all.halves = all.halves.saturating_add(there.halves);
            all.offcuts.extend(&there.offcuts);
        }
        all
    }
}
