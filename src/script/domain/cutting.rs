//! Cutting lists for what comes in bars and boards: lintel bars, form boards, racks.

use rhai::{Array, Dynamic};

use super::TableValue;
use super::catalogue::{map, table};
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};
use crate::sheet::Table;
use crate::takeoff::{Stock, StockError, StockTask, stock_plan};

/// Steps of one search from a script: a fraction of a second.
const STEPS: u64 = 200_000;
/// Most kinds of pieces, kinds of stock, and pieces in all: more than any small building asks for.
const MOST_KINDS: usize = 100;
const MOST_PIECES: u64 = 5_000;

const CUTTING_LIST: Declaration = Declaration {
    name: "cutting_list",
    group: Group::Masonry,
    summary: "How pieces come out of the fewest bars or boards, with the width of the saw cut.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::required(
            "stock",
            Want::List(&Want::Length),
            "Lengths that can be bought, such as [2.m, 3.m].",
        ),
        Parameter::required(
            "pieces",
            Want::List(&Want::Pair(&Want::Anything)),
            "What is needed, each [length, how many].",
        ),
        Parameter::optional("kerf", Want::Length, "3.mm", "Width of the saw cut."),
    ],
    returns: "A table.",
    examples: &[Example {
        script: "cutting_list(#{ stock: [96.inch], pieces: [[12.inch, 8]], kerf: 0.125.inch })",
        shows: "2 bars, proved least\n  bars  stock length  cut each to   left over\n  ----  ------------  ------------  ---------\n     1     2438.4 mm  1 × 304.8 mm  2130.4 mm\n     1     2438.4 mm  7 × 304.8 mm   282.6 mm",
    }],
    errors: &[
        errors::CUTTING,
        errors::these(&[errors::SIZE_NOT_POSITIVE, errors::TOO_MANY_PIECES]),
    ],
    see_also: &["takeoff"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&CUTTING_LIST, cutting_list);
}

fn cutting_list(call: &Call) -> Result<TableValue, Fault> {
    let length = |value: &Dynamic| value.read_lock::<Length>().map(|length| *length);
    let stock: Vec<Length> = call.list("stock")?.iter().filter_map(length).collect();
    let mut pieces = Vec::new();
    for (at, item) in call.list("pieces")?.into_iter().enumerate() {
        let pair = item.try_cast::<Array>().unwrap_or_default();
        let read = match pair.as_slice() {
            [long, count] => length(long).zip(super::super::declare::whole(count)),
            _ => None,
        };
        let (long, count) = read
            .and_then(|(long, count)| Some((long, u64::try_from(count).ok()?)))
            .ok_or_else(|| {
                Fault::new("wrong-type", "each piece is a length and a whole number")
                    .remedy("write [810.mm, 2]")
                    .about("pieces")
                    .element(at)
            })?;
        pieces.push((long, count));
    }
    let count: u64 = pieces
        .iter()
        .fold(0, |sum, (_, count)| sum.saturating_add(*count));
    if pieces.len().max(stock.len()) > MOST_KINDS || count > MOST_PIECES {
        return Err(too_many());
    }
    let kerf = call.opt_length("kerf")?.unwrap_or(Length::mm(3));
    let plan = stock_plan(&StockTask {
        stock: stock.iter().copied().map(Stock::bought).collect(),
        pieces,
        kerf,
        ended: Vec::new(),
        most_pieces: None,
        steps: STEPS,
    })
    .map_err(|error| refused(&error))?;
    let style = call.vocabulary().style();
    let proof = if plan.taken.bought == plan.least.bought {
        "proved least".to_owned()
    } else {
        format!("no plan takes fewer than {}", plan.least.bought)
    };
    let plural = if plan.taken.bought == 1 { "" } else { "s" };
    let mut shown = Table::new(
        format!("{} bar{plural}, {proof}", plan.taken.bought),
        &["#bars", "#stock length", "cut each to", "#left over"],
    );
    let mut rows = Vec::new();
    for pattern in &plan.patterns {
        let from = stock.get(pattern.stock).copied().unwrap_or_default();
        let cut: Vec<String> = pattern
            .pieces
            .iter()
            .map(|(long, count)| format!("{count} × {}", style.show(*long)))
            .collect();
        let used: Length = pattern
            .pieces
            .iter()
            .map(|(long, count)| (*long + kerf) * (*count as i64))
            .sum();
        let left = (from - used).max(Length::ZERO);
        shown.row([
            pattern.times.to_string(),
            style.show(from),
            cut.join(" + "),
            style.show(left),
        ]);
        rows.push(map([
            ("bars", (pattern.times as i64).into()),
            ("stock", Dynamic::from(from)),
            ("left", Dynamic::from(left)),
        ]));
    }
    Ok(table(shown, rows))
}

fn refused(error: &StockError) -> Fault {
    match error {
        StockError::NotALength(length) => {
            Fault::new("size-not-positive", format!("{length} is no length to cut"))
                .remedy("write lengths above zero, and a saw cut of zero or more")
        }
        StockError::TooLong(length) => Fault::new(
            "piece-too-long",
            format!("a piece of {length} comes out of no length of stock"),
        )
        .remedy("add a longer length of stock")
        .about("stock"),
        StockError::TooMuch => too_many(),
        StockError::TooLittle { lacking, .. } => Fault::new(
            "stock-too-little",
            format!("{lacking} more lengths of stock are needed"),
        )
        .remedy("add stock")
        .about("stock"),
    }
}

fn too_many() -> Fault {
    Fault::new(
        "too-many-pieces",
        format!("a cutting list takes up to {MOST_KINDS} lengths and {MOST_PIECES} pieces"),
    )
    .remedy("ask for fewer pieces, or of fewer lengths")
    .about("pieces")
}
