//! What the builder pays: prices that a plan is given, never prices of the program's own.

use serde::{Deserialize, Serialize};

use super::PlanError;
use crate::quantity::Money;

/// Kinds of goods in one list of prices: more is a mistake.
pub const MOST_GOODS: usize = 500;

/// How goods are sold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SoldBy {
    /// Brick, block or other unit.
    Unit,
    /// The bag.
    Bag,
    /// The tonne.
    Tonne,
    /// The cubic metre, loose.
    CubicMetre,
    /// The running metre.
    Metre,
    /// The piece.
    Piece,
}

impl SoldBy {
    /// Every way, with the option that lists its prices.
    pub const OPTIONS: [(&'static str, SoldBy); 6] = [
        ("units", SoldBy::Unit),
        ("bags", SoldBy::Bag),
        ("tonnes", SoldBy::Tonne),
        ("cubic_metres", SoldBy::CubicMetre),
        ("metres", SoldBy::Metre),
        ("pieces", SoldBy::Piece),
    ];

    /// The word behind a number of them.
    pub const fn word(self) -> &'static str {
        match self {
            SoldBy::Unit => "",
            SoldBy::Bag => "bags",
            SoldBy::Tonne => "t",
            SoldBy::CubicMetre => "m³",
            SoldBy::Metre => "m",
            SoldBy::Piece => "pieces",
        }
    }

    /// Whether only whole ones are sold.
    pub const fn is_counted(self) -> bool {
        matches!(self, SoldBy::Unit | SoldBy::Bag | SoldBy::Piece)
    }
}

/// The price of one kind of goods.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Price {
    /// What it is, such as `nf`, `cement` or `sand`.
    pub what: String,
    /// How it is sold.
    pub by: SoldBy,
    /// The price.
    pub price: Money,
    /// For how many that is: 1, a hundred, a thousand.
    pub per: u64,
    /// Thousandths of what it is sold by that a pack holds; only whole packs are sold. Zero for no pack.
    #[serde(with = "as_text")]
    pub pack: u64,
}

/// All prices that a plan is given.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prices {
    /// The currency, as it is written behind sums.
    pub currency: String,
    /// The prices.
    pub goods: Vec<Price>,
    /// What it costs to have it brought.
    pub delivery: Money,
    /// The least worth of goods that is brought.
    pub least_order: Money,
}

impl Prices {
    /// Checks what no price can be.
    ///
    /// # Errors
    /// When a price is less than nothing, goods have no name, or there are too many.
    pub fn check(&self) -> Result<(), PlanError> {
        let wrong = |message: String| {
            Err(PlanError::new(
                "wrong-price",
                message,
                "write a price of nothing or more, such as 0.65",
            ))
        };
        if self.goods.len() > MOST_GOODS {
            return wrong(format!("more than {MOST_GOODS} prices"));
        }
        let sums = self
            .goods
            .iter()
            .map(|good| (good.what.as_str(), good.price));
        let order = [
            ("delivery", self.delivery),
            ("least_order", self.least_order),
        ];
        for (what, price) in sums.chain(order) {
            if what.trim().is_empty() {
                return wrong("a price is of nothing".to_owned());
            }
            if price.is_negative() {
                return wrong(format!("the price of {what} is less than nothing"));
            }
        }
        Ok(())
    }

    /// The price of goods sold in a way, by any of their names.
    pub fn of(&self, names: &[String], by: SoldBy) -> Option<&Price> {
        self.goods
            .iter()
            .find(|good| good.by == by && names.iter().any(|name| same(name, &good.what)))
    }
}

/// Large numbers are saved as texts, since a saved plan's numbers are held to the sizes of brickwork.
mod as_text {
    use serde::{Deserialize, Deserializer, Serializer};

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "the derived traits hand over a reference"
    )]
    pub(super) fn serialize<S: Serializer>(number: &u64, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(number)
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u64, D::Error> {
        let text = String::deserialize(deserializer)?;
        text.parse().map_err(serde::de::Error::custom)
    }
}

/// Names of goods are the same however their words are joined: `steel_bar` is a steel bar.
fn same(a: &str, b: &str) -> bool {
    let letters = |text: &str| -> String {
        text.chars()
            .filter(|c| c.is_alphanumeric())
            .flat_map(char::to_lowercase)
            .collect()
    };
    a == b || letters(a) == letters(b) && a.chars().any(char::is_alphabetic)
}
