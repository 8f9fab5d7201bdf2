use std::collections::BTreeMap;

use super::{CuttingPlan, whole_count};
use crate::layout::{Cut, Laid, Role, Shaping};
use crate::masonry::Unit;
use crate::quantity::Length;

/// How many units a plan takes, of one kind or of all.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct UnitCount {
    /// Catalogue name of the unit; of several, each.
    pub unit: String,
    /// Pieces laid, whole and cut.
    pub laid: u64,
    /// Pieces laid whole; bites, notches and tapers are cut from these.
    pub whole: u64,
    /// Pieces cut, to length or along their length.
    pub cut: u64,
    /// Of these, pieces that are split along their length, each from a unit of its own.
    pub split: u64,
    /// Pieces that get a round bite, a notch, a raked cut or a taper.
    pub shaped: u64,
    /// Units that are cut to lengths.
    pub cut_up: u64,
    /// Units needed: whole, cut up and split.
    pub net: u64,
    /// Share added for waste.
    pub waste_share: f64,
    /// Units added for waste.
    pub waste: u64,
    /// Whole units on hand that are used.
    pub on_hand: u64,
    /// Units to buy.
    pub to_buy: u64,
}

impl UnitCount {
    /// The count of each kind of unit, in the order in which parts take them.
    pub(super) fn of_kinds(laid: &Laid, cutting: &CuttingPlan) -> Vec<UnitCount> {
        let kinds = laid.kinds().into_iter();
        kinds
            .map(|setting| UnitCount::of(laid, &setting.unit, cutting))
            .collect()
    }

    fn of(laid: &Laid, unit: &Unit, cutting: &CuttingPlan) -> UnitCount {
        let mut found = UnitCount {
            unit: unit.name.clone(),
            waste_share: laid.plan.waste.units,
            cut_up: cutting.units_of(&unit.name),
            ..UnitCount::default()
        };
        for piece in laid.pieces_of_unit(unit) {
            found.laid += 1;
            found.cut += u64::from(piece.cut != Cut::Whole);
            found.split += u64::from(piece.cut == Cut::Split);
            let shaping = laid.shaping(piece).and_then(Shaping::word);
            found.shaped += u64::from(shaping.is_some());
        }
        found.whole = found.laid - found.cut;
        found.net = found.whole + found.cut_up + found.split;
        let wanted = whole_count(found.net as f64 * (1.0 + found.waste_share), 1.0).max(found.net);
        found.waste = wanted - found.net;
        found.on_hand = laid.plan.in_yard(unit).whole.min(wanted);
        found.to_buy = wanted - found.on_hand;
        found
    }

    /// The sum of all kinds, named after each.
    pub(super) fn all(laid: &Laid, kinds: &[UnitCount]) -> UnitCount {
        let names: Vec<&str> = kinds.iter().map(|kind| kind.unit.as_str()).collect();
        let sum = |of: fn(&UnitCount) -> u64| kinds.iter().map(of).sum();
        UnitCount {
            unit: names.join(", "),
            laid: sum(|kind| kind.laid),
            whole: sum(|kind| kind.whole),
            cut: sum(|kind| kind.cut),
            split: sum(|kind| kind.split),
            shaped: sum(|kind| kind.shaped),
            cut_up: sum(|kind| kind.cut_up),
            net: sum(|kind| kind.net),
            waste_share: laid.plan.waste.units,
            waste: sum(|kind| kind.waste),
            on_hand: sum(|kind| kind.on_hand),
            to_buy: sum(|kind| kind.to_buy),
        }
    }
}

/// Pieces that are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceGroup {
    /// Catalogue name of their unit.
    pub unit: String,
    /// What they do.
    pub role: Role,
    /// How they are cut.
    pub cut: Cut,
    /// How long they are, along their unit's own length.
    pub length: Length,
    /// How high they are left, where they are split along their length.
    pub split_to: Option<Length>,
    /// `round bite`, `notch`, `raked cut` or `taper`, where they have one.
    pub shaping: Option<&'static str>,
    /// How many.
    pub count: u64,
}

/// Groups the pieces of a plan: by unit, longest first, plain before shaped.
pub(super) fn groups(laid: &Laid) -> Vec<PieceGroup> {
    type Key = (
        usize,
        std::cmp::Reverse<Length>,
        Role,
        Cut,
        Option<Length>,
        Option<&'static str>,
    );
    let kinds = laid.kinds();
    let kind_of = |unit: &Unit| kinds.iter().position(|kind| kind.unit.is_same(unit));
    let mut known = Vec::with_capacity(laid.parts.len());
    known.extend(laid.parts.iter().map(|part| kind_of(&part.setting.unit)));
    let mut counts: BTreeMap<Key, u64> = BTreeMap::new();
    for piece in &laid.pieces {
        let shaping = laid.shaping(piece).and_then(Shaping::word);
        let whole = laid.setting_of(piece).unit.height;
        let kind = known.get(usize::from(piece.part)).copied().flatten();
        let [length, _, height] = laid.own_sizes(piece);
        let key = (
            kind.unwrap_or(0),
            std::cmp::Reverse(length),
            piece.role,
            piece.cut,
            Some(height).filter(|height| *height < whole),
            shaping,
        );
        *counts.entry(key).or_insert(0) += 1;
    }
    counts
        .into_iter()
        .map(
            |((kind, length, role, cut, split_to, shaping), count)| PieceGroup {
                unit: kinds
                    .get(kind)
                    .map(|setting| setting.unit.name.clone())
                    .unwrap_or_default(),
                role,
                cut,
                length: length.0,
                split_to,
                shaping,
                count,
            },
        )
        .collect()
}
