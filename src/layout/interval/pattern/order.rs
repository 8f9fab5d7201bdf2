//! The order of a bond as it is walked: what may follow what, and what that strays.

use super::super::{Cost, ElementKind, End, Interval, Rules};
use super::Pattern;
use crate::masonry::Cell;

/// At each end so many pieces may be what the corner or jamb needs.
pub(super) const END_CELLS: usize = 2;

/// What the last piece is, as far as a closer beside it minds.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Last {
    /// Nothing that matters.
    Plain,
    /// The header that the stretch starts with.
    Quoin,
    /// Another header.
    Header,
    /// A closer.
    Closer,
    /// A closer that wants a header next to it.
    WantingCloser,
}

impl Last {
    pub(super) fn is_closer(self) -> bool {
        matches!(self, Last::Closer | Last::WantingCloser)
    }
}

/// What is known of a way so far: everything on which the rest depends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Stage {
    /// Length of its pieces, the odd one left out.
    pub(super) length: i64,
    /// Which cell is next.
    pub(super) next: usize,
    pub(super) odd: bool,
    pub(super) last: Last,
}

/// What follows when a cell is laid.
#[derive(Clone, Copy)]
struct Follows {
    /// Whether it is the one that the bond asks for.
    expected: bool,
    /// The cell after it.
    next: usize,
}

/// The order of a bond between two ends.
pub(super) struct Order<'a> {
    pub(super) rules: &'a Rules,
    pub(super) pattern: &'a Pattern,
    low: End,
    high: End,
    /// What follows a stretcher and a header, for each cell that may be next.
    follows: Vec<[Follows; 2]>,
    /// Length of the first cells, over two repeats.
    sums: Vec<i64>,
}

impl<'a> Order<'a> {
    pub(super) fn new(interval: &Interval, rules: &'a Rules, pattern: &'a Pattern) -> Order<'a> {
        let cells = &pattern.cells;
        let count = cells.len().max(1);
        let follows = |cell: Cell| {
            move |next: usize| {
                let mut steps = (0..cells.len()).map(|step| (next + step) % count);
                let found = steps.find(|&at| cells.get(at) == Some(&cell));
                Follows {
                    expected: cells.get(next) == Some(&cell),
                    next: found.map_or(next, |at| (at + 1) % count),
                }
            }
        };
        let (stretcher, header) = (follows(Cell::Stretcher), follows(Cell::Header));
        let mut sums = vec![0];
        let mut sum = 0;
        for cell in cells.iter().chain(cells) {
            sum += match cell {
                Cell::Stretcher => rules.unit,
                Cell::Header => pattern.header,
            };
            sums.push(sum);
        }
        Order {
            rules,
            pattern,
            low: interval.low,
            high: interval.high,
            follows: (0..count)
                .map(|next| [stretcher(next), header(next)])
                .collect(),
            sums,
        }
    }

    /// How many cells may come first.
    pub(super) fn cells(&self) -> usize {
        self.follows.len()
    }

    /// Whether it has cells of some length, so that it comes to an end.
    pub(super) fn repeats(&self) -> bool {
        self.run(0, self.cells()) > 0
    }

    pub(super) fn starts(&self) -> impl Iterator<Item = Stage> + use<> {
        (0..self.cells()).map(|next| Stage {
            length: 0,
            next,
            odd: false,
            last: Last::Plain,
        })
    }

    /// Length of so many cells from one on, as the bond asks for them.
    pub(super) fn run(&self, next: usize, count: usize) -> i64 {
        let cells = self.cells();
        let (repeats, rest) = (count / cells, count % cells);
        let sum = |at: usize| self.sums.get(at).copied().unwrap_or(0);
        repeats as i64 * sum(cells) + sum(next + rest) - sum(next)
    }

    pub(super) fn length_of(&self, kind: ElementKind, odd: i64) -> i64 {
        match kind {
            ElementKind::Whole => self.rules.unit,
            ElementKind::Fraction(parts) => self.rules.fraction_length(parts),
            ElementKind::Header => self.pattern.header,
            ElementKind::Closer => self.pattern.closer,
            ElementKind::Odd => odd,
            ElementKind::Float(_) => 0,
        }
    }

    /// Everything that can be laid as piece number `index`, counted from 0, of `total` pieces if that is known.
    #[inline]
    pub(super) fn moves(
        &self,
        index: usize,
        stage: Stage,
        total: Option<usize>,
        mut reach: impl FnMut(ElementKind, Stage, Cost),
    ) {
        let Some(&[stretcher, header]) = self.follows.get(stage.next) else {
            return;
        };
        let last = total.is_some_and(|total| index + 1 == total);
        let near_end = index < END_CELLS || total.is_none_or(|total| index + END_CELLS >= total);
        let left_alone = |kind: ElementKind| {
            i64::from(stage.last == Last::WantingCloser && kind != ElementKind::Header)
        };
        reach(
            ElementKind::Whole,
            Stage {
                length: stage.length + self.rules.unit,
                next: stretcher.next,
                last: Last::Plain,
                ..stage
            },
            Cost {
                misses: left_alone(ElementKind::Whole),
                strays: i64::from(!stretcher.expected),
                ..Cost::default()
            },
        );
        if self.pattern.header != 0 {
            // The header at a stopped end is the quoin header, and one beside the quoin stretcher shifts the course;
            // neither strays from what the course goes on with.
            let quoin = index < END_CELLS || total.is_some_and(|total| index + END_CELLS >= total);
            reach(
                ElementKind::Header,
                Stage {
                    length: stage.length + self.pattern.header,
                    next: if quoin && !header.expected {
                        stage.next
                    } else {
                        header.next
                    },
                    last: if index == 0 {
                        Last::Quoin
                    } else {
                        Last::Header
                    },
                    ..stage
                },
                Cost {
                    strays: i64::from(!header.expected && !quoin),
                    ..Cost::default()
                },
            );
        }
        let cut = Cost {
            strays: i64::from(!stretcher.expected) + i64::from(!near_end),
            cuts: 1,
            ..Cost::default()
        };
        for &fraction in &self.rules.fractions {
            let kind = ElementKind::Fraction(fraction);
            let length = self.rules.fraction_length(fraction);
            let short = length < self.rules.shortest_piece;
            reach(
                kind,
                Stage {
                    length: stage.length + length,
                    next: stretcher.next,
                    last: Last::Plain,
                    ..stage
                },
                Cost {
                    misses: i64::from(short) + left_alone(kind),
                    ..cut
                },
            );
        }
        if !stage.odd {
            reach(
                ElementKind::Odd,
                Stage {
                    next: stretcher.next,
                    odd: true,
                    last: Last::Plain,
                    ..stage
                },
                Cost {
                    misses: left_alone(ElementKind::Odd),
                    odd: 1,
                    ..cut
                },
            );
        }
        if self.pattern.closer <= 0 {
            return;
        }
        let headed = self.pattern.headed;
        let (at_low, at_high) = (self.low == End::Jointed, self.high == End::Jointed);
        let after_header = matches!(stage.last, Last::Quoin | Last::Header);
        let beside_quoin = (index == 0 && at_low && headed.0)
            || stage.last == Last::Quoin
            || total.is_none()
            || (last && at_high && (headed.1 || after_header));
        let wants_quoin = !beside_quoin
            && ((index == 0 && at_low) || total.is_some_and(|total| index + END_CELLS == total));
        reach(
            ElementKind::Closer,
            Stage {
                length: stage.length + self.pattern.closer,
                last: if wants_quoin {
                    Last::WantingCloser
                } else {
                    Last::Closer
                },
                ..stage
            },
            Cost {
                misses: i64::from(!beside_quoin && !wants_quoin) + left_alone(ElementKind::Closer),
                strays: i64::from(stage.last.is_closer()),
                cuts: 1,
                ..Cost::default()
            },
        );
    }

    /// Whether a closer lies next to a quoin header: the one short piece that is customary.
    pub(super) fn beside_quoin(&self, kinds: &[ElementKind], index: usize) -> bool {
        let header =
            |at: Option<usize>| at.and_then(|at| kinds.get(at)) == Some(&ElementKind::Header);
        let last = kinds.len() - 1;
        let (at_low, at_high) = (self.low == End::Jointed, self.high == End::Jointed);
        let headed = self.pattern.headed;
        (index == 0 && at_low && (headed.0 || header(Some(1))))
            || (index == 1 && header(Some(0)))
            || (index == last && at_high && (headed.1 || header(last.checked_sub(1))))
            || (index + 1 == last && header(Some(last)))
    }
}
