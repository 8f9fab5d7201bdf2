//! The least that the rest of a way costs by the order of the bond alone, wherever its joints fall.
//!
//! As long as a way goes on as the bond asks, two figures stay as they are: the cell that would come after the end, and
//! by how much the rest would be too short. So what a way still needs is known from these two, however long it is:
//! found from the end backwards, first what the last pieces may be, then what strays before them.

use super::super::Cost;
use super::order::{END_CELLS, Last, Order, Stage};

/// A number of pieces so large that neither end matters to those in its middle.
pub(super) const FAR: usize = 4 * END_CELLS;

/// The least cost of the rest of a way that misses no more limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Need {
    pub(super) strays: i64,
    pub(super) cuts: i64,
}

/// What a way may lack before its last pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Lack {
    /// The cell that would come after the end, if the rest were as the bond asks.
    phase: usize,
    /// Whether the odd piece is still to come.
    odd: bool,
    /// By how much the rest is to be longer than as the bond asks.
    more: i64,
}

/// Something in the midst of a way that strays from the order of the bond.
struct Event {
    from: usize,
    to: usize,
    length: i64,
    odd: bool,
    need: Need,
}

/// What every lack needs, as far as that strays little.
pub(super) struct Needs {
    /// What strays more is not known.
    pub(super) strays: i64,
    events: Vec<Event>,
    known: Vec<(Lack, Need)>,
    /// The same by phase and whether the odd piece is to come, sorted by the difference in length.
    slots: Vec<Vec<(i64, Need)>>,
}

impl Needs {
    /// What is needed where nothing strays.
    pub(super) fn new(order: &Order<'_>) -> Needs {
        let mut needs = Needs {
            strays: 0,
            events: events(order),
            known: Vec::new(),
            slots: Vec::new(),
        };
        for start in order.starts() {
            order.moves(FAR - 2, start, Some(FAR), |_, one, cost| {
                order.moves(FAR - 1, one, Some(FAR), |_, end, more| {
                    let cost = cost.plus(more);
                    if cost.misses == 0 {
                        let lack = Lack {
                            phase: (start.next + END_CELLS) % order.cells(),
                            odd: end.odd,
                            more: end.length - order.run(start.next, END_CELLS),
                        };
                        needs.known.push((lack, Need::of(cost)));
                    }
                });
            });
        }
        needs.sort(order.cells());
        needs
    }

    /// Looks one stray further.
    pub(super) fn widen(&mut self, order: &Order<'_>) {
        let cells = order.cells();
        self.strays += 1;
        let mut more = Vec::new();
        for (after, need) in &self.known {
            for event in &self.events {
                let need = Need {
                    strays: need.strays + event.need.strays,
                    cuts: need.cuts + event.need.cuts,
                };
                if need.strays > self.strays || (event.odd && after.odd) {
                    continue;
                }
                // As many pieces as lead from the event to the phase, and the event itself.
                let rest = cells + (after.phase + cells - event.to) % cells;
                let before = Lack {
                    phase: (event.from + rest + 1) % cells,
                    odd: after.odd || event.odd,
                    more: after.more + event.length + order.run(event.to, rest)
                        - order.run(event.from, rest + 1),
                };
                more.push((before, need));
            }
        }
        self.known.extend(more);
        self.sort(cells);
    }

    fn sort(&mut self, cells: usize) {
        self.known.sort_unstable();
        self.known.dedup_by_key(|(lack, _)| *lack);
        self.slots = vec![Vec::new(); 2 * cells];
        for (lack, need) in &self.known {
            let slot = self.slots.get_mut(2 * lack.phase + usize::from(lack.odd));
            if let Some(slot) = slot.filter(|_| need.strays <= self.strays) {
                slot.push((lack.more, *need));
            }
        }
    }

    /// All that ways may lack that end in a phase, sorted by the difference in length.
    pub(super) fn slot(&self, phase: usize, odd: bool) -> &[(i64, Need)] {
        let slot = self.slots.get(2 * phase + usize::from(odd));
        slot.map_or(&[], Vec::as_slice)
    }

    /// The least that the rest of a way costs: so many pieces of this length in all.
    pub(super) fn rest(
        &self,
        order: &Order<'_>,
        next: usize,
        (pieces, length): (usize, i64),
        odd: bool,
    ) -> Cost {
        if pieces < END_CELLS {
            return Cost::default();
        }
        let slot = self.slot((next + pieces) % order.cells(), odd);
        let more = length - order.run(next, pieces);
        let found = slot.binary_search_by_key(&more, |(more, _)| *more);
        match found.ok().and_then(|at| slot.get(at)) {
            Some((_, need)) => Cost {
                strays: need.strays,
                cuts: need.cuts,
                odd: i64::from(odd),
                ..Cost::default()
            },
            None => Cost {
                strays: self.strays + 1,
                ..Cost::default()
            },
        }
    }
}

impl Need {
    fn of(cost: Cost) -> Need {
        Need {
            strays: cost.strays,
            cuts: cost.cuts,
        }
    }
}

fn events(order: &Order<'_>) -> Vec<Event> {
    let mut found = Vec::new();
    for start in order.starts() {
        order.moves(FAR / 2, start, Some(FAR), |_, to, cost| {
            if cost.misses == 0 && cost.strays > 0 {
                found.push(Event {
                    from: start.next,
                    to: to.next,
                    length: to.length,
                    odd: to.odd,
                    need: Need::of(cost),
                });
            }
        });
    }
    found
}

/// What the first pieces of a way may be, with what that costs where no limit is missed.
pub(super) fn beginnings(order: &Order<'_>, strays: i64) -> Vec<(Stage, Need)> {
    let mut found = Vec::new();
    for start in order.starts() {
        order.moves(0, start, Some(FAR), |_, one, cost| {
            order.moves(1, one, Some(FAR), |_, two, more| {
                let cost = cost.plus(more);
                if cost.misses == 0 && cost.strays <= strays {
                    let stage = Stage {
                        last: Last::Plain,
                        ..two
                    };
                    found.push((stage, Need::of(cost)));
                }
            });
        });
    }
    found.sort_unstable();
    found.dedup_by_key(|(stage, _)| *stage);
    found
}
