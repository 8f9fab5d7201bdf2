//! The most valuable pattern out of one stock length: a bounded knapsack, solved by branch and bound in whole numbers,
//! so that what it proves holds exactly.

use super::task::{Budget, get};

/// A piece that may be cut.
#[derive(Clone, Copy, Debug)]
struct Item {
    size: usize,
    length: i64,
    value: i64,
    most: i64,
    ended: bool,
}

/// What one stock length holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    /// Length, kerf added.
    pub room: i64,
    /// Pieces.
    pub pieces: i64,
    /// Pieces that take a finished end.
    pub ends: i64,
}

/// What was found.
#[derive(Clone, Debug)]
pub(super) struct Best {
    /// The greatest value above the floor, or the floor.
    pub value: i64,
    /// Size and count of the pattern that has it; none when nothing beats the floor.
    pub counts: Option<Vec<(usize, i64)>>,
}

struct Search<'a> {
    items: Vec<Item>,
    /// Greatest value of one piece from each item on.
    dearest: Vec<i64>,
    /// Least length from each item on.
    shortest: Vec<i64>,
    current: Vec<(usize, i64)>,
    best: Best,
    budget: &'a mut Budget,
}

/// The pattern of the greatest value above `floor` within some limits, of at most `demand` of each piece.
/// None when the budget ran out, so that nothing is proved.
pub(super) fn most_valuable(
    (lengths, ended): (&[i64], &[bool]),
    values: &[i64],
    demand: &[i64],
    limits: Limits,
    floor: i64,
    budget: &mut Budget,
) -> Option<Best> {
    let mut items: Vec<Item> = lengths
        .iter()
        .zip(values)
        .zip(demand)
        .enumerate()
        .filter(|(_, ((length, value), most))| **value > 0 && **most > 0 && **length <= limits.room)
        .map(|(size, ((&length, &value), &most))| Item {
            size,
            length,
            value,
            most: most.min(limits.room / length.max(1)),
            ended: get(ended, size),
        })
        .collect();
    items.sort_by(|a, b| {
        let (left, right) = (
            i128::from(a.value) * i128::from(b.length),
            i128::from(b.value) * i128::from(a.length),
        );
        right.cmp(&left).then(a.size.cmp(&b.size))
    });
    let mut dearest = vec![0; items.len()];
    let mut shortest = vec![i64::MAX; items.len()];
    let (mut dear, mut short) = (0, i64::MAX);
    let ends = dearest.iter_mut().zip(&mut shortest).zip(&items).rev();
    for ((dearest, shortest), item) in ends {
        dear = item.value.max(dear);
        short = item.length.min(short);
        (*dearest, *shortest) = (dear, short);
    }
    let mut search = Search {
        items,
        dearest,
        shortest,
        current: Vec::new(),
        best: Best {
            value: floor,
            counts: None,
        },
        budget,
    };
    search.visit(0, limits, 0).then_some(search.best)
}

impl Search<'_> {
    /// Tries all that can follow; false when the budget ran out.
    fn visit(&mut self, from: usize, limits: Limits, value: i64) -> bool {
        let Limits { room, pieces, ends } = limits;
        if value > self.best.value {
            self.best.value = value;
            let mut counts = self.current.clone();
            counts.sort_unstable();
            self.best.counts = Some(counts);
        }
        let mut at = from;
        loop {
            if pieces == 0 || at >= self.items.len() || get(&self.shortest, at) > room {
                return true;
            }
            let bound = self.bound(at, room, pieces);
            if i128::from(value) + bound <= i128::from(self.best.value) {
                return true;
            }
            let Some(item) = self.items.get(at).copied() else {
                return true;
            };
            at += 1;
            let mut most = item.most.min(room / item.length).min(pieces);
            if item.ended {
                most = most.min(ends);
            }
            for count in (1..=most).rev() {
                if !self.budget.take(1) {
                    return false;
                }
                self.current.push((item.size, count));
                let rest = Limits {
                    room: room - count * item.length,
                    pieces: pieces - count,
                    ends: ends - if item.ended { count } else { 0 },
                };
                let whole = self.visit(at, rest, value + count * item.value);
                self.current.pop();
                if !whole {
                    return false;
                }
            }
        }
    }

    /// No pieces from this item on are worth more: cut in any fraction, the best for their length first.
    fn bound(&self, from: usize, room: i64, pieces: i64) -> i128 {
        let dearest = i128::from(get(&self.dearest, from)) * i128::from(pieces);
        let mut rest = room;
        let mut value = 0;
        for item in self.items.iter().skip(from) {
            if item.length * item.most >= rest {
                value += i128::from(item.value) * i128::from(rest) / i128::from(item.length);
                break;
            }
            rest -= item.length * item.most;
            value += i128::from(item.value) * i128::from(item.most);
        }
        value.min(dearest)
    }
}
