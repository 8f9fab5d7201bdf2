//! How cut pieces come out of whole units, half bats and offcuts, for the whole plan.
//!
//! A unit has two ends as fired. A piece beside a jamb, a corner, a free end or a vent shows one of its ends, so it
//! takes one of the two. A piece with a head joint on both sides shows neither: sawn square it may come from the middle
//! of a unit, and then three and more short pieces come out of one (common practice, no source). The blade takes its
//! width between pieces. Pieces are grouped by how they are cut, since a strip cut lengthwise and a bat cut across
//! never share a unit.

use std::collections::BTreeMap;

use super::stock::{Stock, StockError, StockTask, stock_plan};
use crate::layout::{Cut, Finished, Laid};
use crate::masonry::MasonryError;
use crate::plan::{OnHand, Setting};
use crate::quantity::Length;

/// Ends that a whole unit has as fired.
const ENDS_OF_A_UNIT: u64 = 2;
/// Ends that half a unit or an offcut still has as fired.
const ENDS_OF_A_BAT: u64 = 1;
/// Steps of one group's plan: a fraction of a second, and the same on every machine. Our own choice.
const STEPS: u64 = 200_000;

/// How a cut runs through a unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CutDirection {
    /// Across its length, which leaves a bat.
    Across,
    /// Along its length, which leaves a closer of less than its width.
    Along,
}

impl CutDirection {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            CutDirection::Across => "across",
            CutDirection::Along => "along",
        }
    }
}

/// What a pattern is cut from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CutFrom {
    /// A half bat on hand.
    Half,
    /// An offcut on hand, of this length.
    Offcut(Length),
    /// A whole unit, on hand or bought.
    Unit,
}

/// How the cut pieces of a plan come out of units.
#[derive(Clone, Debug, PartialEq)]
pub struct CuttingPlan {
    /// Width of the blade.
    pub blade: Length,
    /// Pieces that are cut alike.
    pub groups: Vec<CutGroup>,
}

impl CuttingPlan {
    /// Whole units that are cut up.
    pub fn units(&self) -> u64 {
        self.groups.iter().map(|group| group.units).sum()
    }

    /// Whole units of one kind that are cut up.
    pub fn units_of(&self, name: &str) -> u64 {
        let groups = self.groups.iter().filter(|group| group.name == name);
        groups.map(|group| group.units).sum()
    }

    /// No plan cuts up fewer whole units of one kind than this.
    pub fn least_of(&self, name: &str) -> u64 {
        let groups = self.groups.iter().filter(|group| group.name == name);
        groups.map(|group| group.least).sum()
    }

    /// No plan cuts up fewer whole units than this.
    pub fn least(&self) -> u64 {
        self.groups.iter().map(|group| group.least).sum()
    }
}

/// Pieces that are cut in one direction out of one kind of unit.
#[derive(Clone, Debug, PartialEq)]
pub struct CutGroup {
    /// Catalogue name of the unit.
    pub name: String,
    /// How the cuts run.
    pub direction: CutDirection,
    /// Length of a whole unit where it is cut across, its width where it is cut along.
    pub unit: Length,
    /// What is cut, from what is on hand first.
    pub patterns: Vec<Pattern>,
    /// Whole units that are cut up.
    pub units: u64,
    /// No plan cuts up fewer.
    pub least: u64,
}

/// What is cut from one unit, half bat or offcut.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pattern {
    /// What it is cut from.
    pub from: CutFrom,
    /// Lengths, longest first; widths where it is cut along.
    pub lengths: Vec<Length>,
    /// What is left over of it.
    pub left: Length,
    /// How many are cut so.
    pub units: u64,
}

/// What is to be cut, of one length.
type Counts = BTreeMap<Length, u64>;

pub(super) fn for_plan(laid: &Laid) -> Result<CuttingPlan, MasonryError> {
    let mut groups = Vec::new();
    for kind in laid.kinds() {
        for direction in [CutDirection::Across, CutDirection::Along] {
            groups.extend(of_kind(laid, kind, direction)?);
        }
    }
    Ok(CuttingPlan {
        blade: laid.plan.clearances.blade,
        groups,
    })
}

/// What is cut in one direction out of one kind of unit; nothing where nothing is.
fn of_kind(
    laid: &Laid,
    kind: &Setting,
    direction: CutDirection,
) -> Result<Option<CutGroup>, MasonryError> {
    let unit = &kind.bought();
    let (mut hidden, mut shown) = (Counts::new(), Counts::new());
    let mut half = Length::from_nm((unit.length - kind.joints.head.nominal).nm() / 2);
    for piece in laid.pieces_of_unit(unit) {
        // Split pieces are counted one by one: the plan of cuts is for cuts to length and along.
        let is_cut = !matches!(piece.cut, Cut::Whole | Cut::Split);
        let [length, width, _] = laid.own_sizes(piece);
        if !is_cut || direction_of(width, laid.setting_of(piece).unit.width) != direction {
            continue;
        }
        if piece.cut == Cut::Bat(1, 2) {
            // A nanometre of rounding is no reason not to use the half bat that is there.
            half = half.max(length);
        }
        let (size, plain) = match direction {
            CutDirection::Across => (length, piece.finished == Finished::Neither),
            // A closer shows one of the two faces of its unit.
            CutDirection::Along => (width, false),
        };
        let counts = if plain { &mut hidden } else { &mut shown };
        *counts.entry(size).or_insert(0) += 1;
    }
    if hidden.is_empty() && shown.is_empty() {
        return Ok(None);
    }
    let (size, on_hand) = match direction {
        CutDirection::Across => (unit.length, laid.plan.in_yard(unit)),
        CutDirection::Along => (unit.width, OnHand::default()),
    };
    let task = Task {
        name: &unit.name,
        direction,
        unit: size,
        half,
        blade: laid.plan.clearances.blade,
        on_hand: &on_hand,
    };
    cut_group(&task, &hidden, &shown).map(Some)
}

fn direction_of(piece: Length, width: Length) -> CutDirection {
    if piece < width {
        CutDirection::Along
    } else {
        CutDirection::Across
    }
}

/// What pieces are cut from.
struct Task<'a> {
    name: &'a str,
    direction: CutDirection,
    unit: Length,
    half: Length,
    blade: Length,
    on_hand: &'a OnHand,
}

/// The plan for pieces whose ends are hidden and pieces that show one.
fn cut_group(task: &Task<'_>, hidden: &Counts, shown: &Counts) -> Result<CutGroup, MasonryError> {
    let list = |counts: &Counts| counts.iter().map(|(&l, &n)| (l, n)).collect::<Vec<_>>();
    let mut sources = vec![CutFrom::Unit];
    let mut stock = vec![Stock::bought(task.unit).with_ends(ENDS_OF_A_UNIT)];
    let mut add = |from, length, number| {
        if number > 0 {
            sources.push(from);
            stock.push(Stock::on_hand(length, number).with_ends(ENDS_OF_A_BAT));
        }
    };
    add(CutFrom::Half, task.half, task.on_hand.halves);
    for &(length, number) in &task.on_hand.offcuts {
        add(CutFrom::Offcut(length), length, number);
    }
    let plan = stock_plan(&StockTask {
        stock: stock.clone(),
        pieces: list(hidden),
        ended: list(shown),
        kerf: task.blade,
        most_pieces: None,
        steps: STEPS,
    })
    .map_err(|error| refused(&error))?;
    let mut patterns: Vec<Pattern> = plan
        .patterns
        .iter()
        .map(|pattern| {
            let whole = stock.get(pattern.stock).map_or(task.unit, |s| s.length);
            let pieces = &pattern.pieces;
            let lengths: Vec<Length> = pieces
                .iter()
                .flat_map(|&(length, count)| std::iter::repeat_n(length, count as usize))
                .collect();
            let used: Length = lengths.iter().map(|&length| length + task.blade).sum();
            Pattern {
                from: sources.get(pattern.stock).copied().unwrap_or(CutFrom::Unit),
                left: (whole - used).max(Length::ZERO),
                lengths,
                units: pattern.times,
            }
        })
        .collect();
    patterns.sort_by(|a, b| (a.from, &b.lengths).cmp(&(b.from, &a.lengths)));
    // Alike to whoever cuts them, whichever of the pieces shows its end.
    patterns.dedup_by(|next, kept| {
        let alike = (next.from, &next.lengths) == (kept.from, &kept.lengths);
        if alike {
            kept.units += next.units;
        }
        alike
    });
    Ok(CutGroup {
        name: task.name.to_owned(),
        direction: task.direction,
        unit: task.unit,
        patterns,
        units: plan.taken.bought,
        least: plan.least.bought,
    })
}

fn refused(error: &StockError) -> MasonryError {
    MasonryError::new(
        format!("the cut pieces come out of no unit: {error}"),
        "lay the plan with a longer unit, or check the lengths that are on hand",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(lengths: &[i64]) -> Counts {
        let mut counts = Counts::new();
        for &length in lengths {
            *counts.entry(Length::mm(length)).or_insert(0) += 1;
        }
        counts
    }

    fn cut(hidden: &[i64], shown: &[i64], blade: i64, on_hand: &OnHand) -> CutGroup {
        let task = Task {
            name: "nf",
            direction: CutDirection::Across,
            unit: Length::mm(240),
            half: Length::mm(115),
            blade: Length::mm(blade),
            on_hand,
        };
        cut_group(&task, &mm(hidden), &mm(shown)).unwrap()
    }

    /// Two halves of 115 mm and a blade of 3 mm make 233 mm, with 11 mm they make 241 mm: plain arithmetic.
    #[test]
    fn the_blade_decides_whether_two_halves_fit() {
        let none = OnHand::default();
        assert_eq!(cut(&[], &[115, 115], 3, &none).units, 1);
        assert_eq!(cut(&[], &[115, 115], 11, &none).units, 2);
    }

    /// Four quarters of 52 mm: 4 · 52 + 3 · 3 = 217 mm go into one unit of 240 mm, but only two of them have an end as
    /// fired: plain arithmetic.
    #[test]
    fn shown_ends_limit_a_unit_to_two() {
        let none = OnHand::default();
        assert_eq!(cut(&[52; 4], &[], 3, &none).units, 1);
        assert_eq!(cut(&[52; 2], &[52; 2], 3, &none).units, 1);
        assert_eq!(cut(&[], &[52; 4], 3, &none).units, 2);
        let mixed = cut(&[52; 2], &[52; 2], 3, &none);
        assert_eq!(mixed.patterns.len(), 1);
        assert_eq!(mixed.patterns[0].left, Length::mm(20));
        assert_eq!(mixed.least, 1);
    }

    #[test]
    fn what_is_on_hand_goes_first() {
        let on_hand = OnHand {
            whole: 0,
            halves: 1,
            offcuts: vec![(Length::mm(180), 2)],
        };
        let group = cut(&[], &[115, 177, 177, 177], 3, &on_hand);
        assert_eq!((group.units, group.least), (1, 1));
        let from: Vec<CutFrom> = group.patterns.iter().map(|p| p.from).collect();
        assert_eq!(
            from,
            [
                CutFrom::Half,
                CutFrom::Offcut(Length::mm(180)),
                CutFrom::Unit
            ]
        );
    }

    proptest::proptest! {
        /// With two ends shown and two pieces to a unit, a plan is a matching of pieces that fit together: the longest
        /// with the longest that goes beside it is known to be best.
        #[test]
        fn two_to_a_unit_is_a_matching(
            lengths in proptest::collection::vec(20_i64..=240, 1..30),
            blade in 0_i64..=10,
        ) {
            let group = cut(&[], &lengths, blade, &OnHand::default());
            let mut left = lengths;
            left.sort_unstable();
            let mut units = 0;
            while let Some(longest) = left.pop() {
                let fits = left.partition_point(|&other| longest + other + blade <= 240);
                if let Some(beside) = fits.checked_sub(1) {
                    left.remove(beside);
                }
                units += 1;
            }
            proptest::prop_assert_eq!((group.units, group.least), (units, units));
        }
    }
}
