use std::collections::BTreeMap;

use super::{CuttingPlan, whole_count};
use crate::layout::{Cut, Laid, Piece, Role, Shaping};
use crate::quantity::Length;

/// How many units a plan takes.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitCount {
    /// Catalogue name of the unit.
    pub unit: String,
    /// Pieces laid, whole and cut.
    pub laid: u64,
    /// Pieces laid whole; bites, notches and tapers are cut from these.
    pub whole: u64,
    /// Pieces cut, to length or along their length.
    pub cut: u64,
    /// Of these, pieces of full length that are split along it, each from a unit of its own.
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
    pub(super) fn of(laid: &Laid, cutting: &CuttingPlan) -> UnitCount {
        let count = laid.pieces.len() as u64;
        let cut = laid.pieces.iter().filter(|p| p.cut != Cut::Whole).count() as u64;
        let split = laid.pieces.iter().filter(|p| p.cut == Cut::Split).count() as u64;
        let is_shaped = |piece: &&Piece| laid.shaping(piece).and_then(Shaping::word).is_some();
        let shaped = laid.pieces.iter().filter(is_shaped).count() as u64;
        let whole = count - cut;
        let net = whole + cutting.units() + split;
        let waste_share = laid.plan.waste.units;
        let wanted = whole_count(net as f64 * (1.0 + waste_share), 1.0).max(net);
        let on_hand = laid.plan.on_hand.whole.min(wanted);
        UnitCount {
            unit: laid.plan.setting.unit.name.clone(),
            laid: count,
            whole,
            cut,
            split,
            shaped,
            cut_up: cutting.units(),
            net,
            waste_share,
            waste: wanted - net,
            on_hand,
            to_buy: wanted - on_hand,
        }
    }
}

/// Pieces that are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceGroup {
    /// What they do.
    pub role: Role,
    /// How they are cut.
    pub cut: Cut,
    /// How long they are.
    pub length: Length,
    /// How high they are left, where they are split along their length.
    pub split_to: Option<Length>,
    /// `round bite`, `notch`, `raked cut` or `taper`, where they have one.
    pub shaping: Option<&'static str>,
    /// How many.
    pub count: u64,
}

/// Groups the pieces of a plan: longest first, plain before shaped.
pub(super) fn groups(laid: &Laid) -> Vec<PieceGroup> {
    type Key = (
        std::cmp::Reverse<Length>,
        Role,
        Cut,
        Option<Length>,
        Option<&'static str>,
    );
    let whole = laid.plan.setting.unit.height;
    let mut counts: BTreeMap<Key, u64> = BTreeMap::new();
    for piece in &laid.pieces {
        let shaping = laid.shaping(piece).and_then(Shaping::word);
        let key = (
            std::cmp::Reverse(piece.length),
            piece.role,
            piece.cut,
            Some(piece.height).filter(|height| *height < whole),
            shaping,
        );
        *counts.entry(key).or_insert(0) += 1;
    }
    counts
        .into_iter()
        .map(
            |((length, role, cut, split_to, shaping), count)| PieceGroup {
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
