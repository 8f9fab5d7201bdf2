//! What a plan costs, as a table.

use std::fmt::Write as _;

use super::Table;
use crate::plan::SoldBy;
use crate::takeoff::{Cost, CostLine};

/// Thousandths of what goods are sold by.
const PARTS: u64 = 1000;

/// An amount as it is sold: `103`, `6 bags`, `0.412 t`.
pub fn amount_words(by: SoldBy, amount: u64) -> String {
    let number = if by.is_counted() {
        (amount / PARTS).to_string()
    } else {
        format!("{}.{:03}", amount / PARTS, amount % PARTS)
    };
    let word = match (by, amount) {
        (SoldBy::Bag, PARTS) => "bag",
        (SoldBy::Piece, PARTS) => "piece",
        _ => by.word(),
    };
    format!("{number} {word}").trim_end().to_owned()
}

fn price_words(line: &CostLine) -> String {
    match &line.price {
        None => String::new(),
        Some((price, 1)) => price.to_string(),
        Some((price, per)) => format!("{price} for {per}"),
    }
}

/// Every line, the total, and what it leaves out.
pub fn cost_text(plan: &str, cost: &Cost) -> String {
    let mut table = Table::new(
        format!("COST  {plan}, in {}", cost.currency),
        &["what", "#to buy", "#price", "#cost"],
    );
    for line in &cost.lines {
        table.row([
            line.what.clone(),
            line.by
                .map_or_else(String::new, |by| amount_words(by, line.amount)),
            price_words(line),
            line.cost.to_string(),
        ]);
    }
    let partly = !cost.is_whole();
    table.row([
        if partly { "total so far" } else { "total" }.to_owned(),
        String::new(),
        String::new(),
        cost.total.to_string(),
    ]);
    let mut text = table.text();
    if partly {
        let left: Vec<String> = cost
            .unpriced
            .iter()
            .map(|need| {
                let ways: Vec<String> = need
                    .ways
                    .iter()
                    .map(|(by, amount)| amount_words(*by, *amount))
                    .collect();
                format!("{} ({})", need.what, ways.join(" or "))
            })
            .collect();
        let _ = writeln!(
            text,
            "  without a price, and not in it: {}",
            left.join(", ")
        );
    }
    if !cost.unused.is_empty() {
        let _ = writeln!(
            text,
            "  prices of what the plan does not take: {}",
            cost.unused.join(", ")
        );
    }
    text.push_str("  whole packs where a price has a pack; each line rounded to the cent\n");
    text
}
