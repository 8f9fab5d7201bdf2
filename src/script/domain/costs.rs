//! Prices that a plan is given, and what it costs by them.

use std::rc::Rc;
use std::sync::Arc;

use rhai::{Array, Dynamic, Map};
use serde_json::Value as Json;

use super::PlanValue;
use super::catalogue::map;
use crate::plan::{Plan, PlanError, Price, Prices, SoldBy};
use crate::quantity::Money;
use crate::script::declare::{number, whole};
use crate::script::errors;
use crate::script::{
    CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want,
};
use crate::sheet;
use crate::takeoff::Cost;

/// Thousandths of what goods are sold by.
const PARTS: u64 = 1000;
/// Largest number of units in a price or a pack.
const MOST_PACKED: i64 = 100_000;
const KEYS: [&str; 9] = [
    "currency",
    "units",
    "bags",
    "tonnes",
    "cubic_metres",
    "metres",
    "pieces",
    "delivery",
    "least_order",
];
const PRICE_KEYS: [&str; 3] = ["price", "per", "pack"];

macro_rules! pier {
    ($end:literal) => {
        concat!(
            "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 }))",
            $end
        )
    };
}

const PRICES: Declaration = Declaration {
    name: "prices",
    group: Group::Plans,
    summary: "The plan with what you pay for what it takes; none are built in.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "prices",
        Want::AnyOf(&[Want::Map, Want::Name(NameOf::File)]),
        "A map, or a JSON file of the output folder with the same keys: `currency`; prices by name in `units`, `bags`, `tonnes`, `cubic_metres`, `metres` and `pieces`; `delivery` and `least_order`. A price is a number, or a map of `price`, `per` (100, 1000) and `pack` (how many are sold together).",
    )],
    options: &[],
    returns: "The plan with them.",
    examples: &[Example {
        script: pier!(
            ".prices(#{ currency: \"EUR\", units: #{ uk: #{ price: 65, per: 100, pack: 10 } }, bags: #{ cement: 8 }, tonnes: #{ sand: 40 }, delivery: 20 }).cost().total"
        ),
        shows: "34.66",
    }],
    errors: &[errors::these(&[
        errors::NOT_A_PRICE_LIST,
        errors::WRONG_PRICE,
        errors::FILE_TROUBLE,
    ])],
    see_also: &["cost", "takeoff"],
};

const COST: Declaration = Declaration {
    name: "cost",
    group: Group::Reading,
    summary: "What the plan costs by the prices it was given, and what has no price.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[],
    returns: "A cost.",
    examples: &[Example {
        script: pier!(".prices(#{ currency: \"EUR\", units: #{ uk: 0.65 } }).cost()"),
        shows: "COST  stand, in EUR\n  what          to buy  price  cost\n  ------------  ------  -----  ----\n  uk                 9   0.65  5.85\n  total so far                 5.85\n  without a price, and not in it: cement (1 bag or 0.001 t), lime (1 bag or 0.001 t), sand (0.004 t or 0.003 m³)\n  whole packs where a price has a pack; each line rounded to the cent",
    }],
    errors: &[errors::these(&[
        errors::NO_PRICES,
        errors::MATERIAL_UNKNOWN,
    ])],
    see_also: &["prices", "takeoff"],
};

const OF_COST: Declaration = Declaration {
    name: "",
    group: Group::Reading,
    summary: "",
    kind: CallKind::Property { of: "Cost" },
    positional: &[],
    options: &[],
    returns: "",
    examples: &[],
    errors: &[],
    see_also: &["cost"],
};

const TOTAL: Declaration = Declaration {
    name: "total",
    summary: "The sum of what has a price, in the currency.",
    returns: "A number.",
    examples: &[Example {
        script: pier!(".prices(#{ currency: \"EUR\", units: #{ uk: 0.65 } }).cost().total"),
        shows: "5.85",
    }],
    ..OF_COST
};

const CURRENCY: Declaration = Declaration {
    name: "currency",
    summary: "The currency of a cost.",
    returns: "A text.",
    examples: &[Example {
        script: pier!(".prices(#{ currency: \"EUR\", units: #{ uk: 0.65 } }).cost().currency"),
        shows: "EUR",
    }],
    ..OF_COST
};

const LINES: Declaration = Declaration {
    name: "lines",
    summary: "What has a price: maps of `what`, `amount`, `needed`, `sold_by`, `price`, `per` and `cost`.",
    returns: "A list.",
    examples: &[Example {
        script: pier!(
            ".prices(#{ currency: \"EUR\", units: #{ uk: 0.65 } }).cost().lines[0].amount"
        ),
        shows: "9",
    }],
    ..OF_COST
};

const UNPRICED: Declaration = Declaration {
    name: "unpriced",
    summary: "Names of what the plan takes that has no price, and so is not in the total.",
    returns: "A list.",
    examples: &[Example {
        script: pier!(".prices(#{ currency: \"EUR\", units: #{ uk: 0.65 } }).cost().unpriced"),
        shows: "[\"cement\", \"lime\", \"sand\"]",
    }],
    ..OF_COST
};

/// A cost with the name of its plan.
#[derive(Clone, Debug)]
pub(super) struct CostValue {
    plan: Arc<Plan>,
    cost: Rc<Cost>,
}

pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<CostValue>("Cost", "a cost", |value| {
        sheet::cost_text(&value.plan.name, &value.cost)
            .trim_end()
            .to_owned()
    });
    let outside = registry.outside();
    registry.method::<PlanValue, PlanValue>(&PRICES, move |call, plan| {
        let map = call.raw("prices").and_then(Dynamic::read_lock::<Map>);
        let given = if let Some(map) = map {
            map.clone()
        } else {
            let text = outside
                .read_file(&call.text("prices")?)
                .map_err(|trouble| Fault::from(trouble).about("prices"))?;
            from_json(&text)?
        };
        let mut new = Plan::clone(&plan.plan);
        new.prices = Some(prices(&given)?);
        PlanValue::new(new)
    });
    registry.method::<PlanValue, CostValue>(&COST, |_, plan| {
        Ok(CostValue {
            cost: Rc::new(cost_of(&plan)?),
            plan: Arc::clone(&plan.plan),
        })
    });
    registry.property::<CostValue, f64>(&TOTAL, |value| Ok(value.cost.total.to_number()));
    registry.property::<CostValue, String>(&CURRENCY, |value| Ok(value.cost.currency.clone()));
    registry.property::<CostValue, Array>(&LINES, |value| Ok(lines(&value.cost)));
    registry.property::<CostValue, Array>(&UNPRICED, |value| {
        let unpriced = value.cost.unpriced.iter();
        Ok(unpriced.map(|need| need.what.clone().into()).collect())
    });
}

/// What a plan costs.
///
/// # Errors
/// When it was given no prices, or cannot be laid.
pub(super) fn cost_of(plan: &PlanValue) -> Result<Cost, Fault> {
    let (laid, takeoff) = (plan.laid()?, plan.takeoff()?);
    Cost::of(&laid, &takeoff)?.ok_or_else(|| {
        Fault::new("no-prices", "the plan was given no prices").remedy(
            "say what you pay: .prices(#{ currency: \"EUR\", units: #{ nf: 0.65 } }); none are built in",
        )
    })
}

/// A cost for other programs.
pub(super) fn told(value: &Dynamic) -> Option<Map> {
    let value = value.read_lock::<CostValue>()?;
    let cost = &value.cost;
    let names = |names: Vec<String>| -> Dynamic {
        let names: Array = names.into_iter().map(Dynamic::from).collect();
        names.into()
    };
    let unpriced = cost.unpriced.iter().map(|need| need.what.clone());
    Some(map([
        ("schema", "perpend.cost/1".into()),
        ("plan", value.plan.name.clone().into()),
        ("currency", cost.currency.clone().into()),
        ("lines", lines(cost).into()),
        ("total", cost.total.to_number().into()),
        ("whole", cost.is_whole().into()),
        ("unpriced", names(unpriced.collect())),
        ("unused", names(cost.unused.clone())),
    ]))
}

fn lines(cost: &Cost) -> Array {
    let amount = |parts: u64| -> Dynamic {
        if parts.is_multiple_of(PARTS) {
            ((parts / PARTS) as i64).into()
        } else {
            (parts as f64 / PARTS as f64).into()
        }
    };
    cost.lines
        .iter()
        .map(|line| {
            let (price, per) = match line.price {
                Some((price, per)) => (price.to_number().into(), (per as i64).into()),
                None => (Dynamic::UNIT, Dynamic::UNIT),
            };
            let by = line.by.map_or("", |by| match by {
                SoldBy::Unit => "unit",
                other => other.word(),
            });
            Dynamic::from(map([
                ("what", line.what.clone().into()),
                ("amount", amount(line.amount)),
                ("needed", amount(line.needed)),
                ("sold_by", by.into()),
                ("price", price),
                ("per", per),
                ("cost", line.cost.to_number().into()),
            ]))
        })
        .collect()
}

/// A file of prices as the map that a script would write.
fn from_json(text: &str) -> Result<Map, Fault> {
    let wrong = |why: String| {
        Fault::new(
            "not-a-price-list",
            format!("the file holds no prices: {why}"),
        )
        .remedy("write it like {\"currency\": \"EUR\", \"units\": {\"nf\": 0.65}}")
        .about("prices")
    };
    let json: Json = serde_json::from_str(text).map_err(|error| wrong(error.to_string()))?;
    value_of(&json)
        .try_cast::<Map>()
        .ok_or_else(|| wrong("it is not a table of names".to_owned()))
}

fn value_of(json: &Json) -> Dynamic {
    match json {
        Json::Null => Dynamic::UNIT,
        Json::Bool(flag) => (*flag).into(),
        Json::Number(number) => match number.as_i64() {
            Some(whole) => whole.into(),
            None => number.as_f64().unwrap_or_default().into(),
        },
        Json::String(text) => text.clone().into(),
        Json::Array(items) => items.iter().map(value_of).collect::<Array>().into(),
        Json::Object(entries) => entries
            .iter()
            .map(|(key, value)| (key.as_str().into(), value_of(value)))
            .collect::<Map>()
            .into(),
    }
}

/// Prices as a map gives them.
fn prices(given: &Map) -> Result<Prices, Fault> {
    if let Some(unknown) = given.keys().find(|key| !KEYS.contains(&key.as_str())) {
        let fault = Fault::new("unknown-option", format!("prices have no `{unknown}`"));
        return Err(fault
            .remedy(super::options_remedy(unknown, &KEYS))
            .about("prices")
            .entry_key(unknown.as_str()));
    }
    let currency = given
        .get("currency")
        .and_then(|value| value.clone().into_string().ok())
        .filter(|currency| !currency.trim().is_empty() && currency.chars().count() <= 8)
        .ok_or_else(|| {
            Fault::new(
                "missing-option",
                "prices need their `currency` as a short text",
            )
            .remedy("add currency: \"EUR\"")
            .about("prices")
        })?;
    let mut found = Prices {
        currency,
        delivery: sum_of(given, "delivery")?,
        least_order: sum_of(given, "least_order")?,
        goods: Vec::new(),
    };
    for (key, by) in SoldBy::OPTIONS {
        let Some(table) = given.get(key).filter(|table| !table.is_unit()) else {
            continue;
        };
        let table = table.read_lock::<Map>().ok_or_else(|| {
            Fault::new(
                "wrong-type",
                format!("`{key}` wants a map of names to prices"),
            )
            .remedy(format!("write {key}: #{{ name: 0.65 }}"))
            .about("prices")
            .entry(key)
        })?;
        for (what, value) in table.iter() {
            let price = price(what, by, value).map_err(|fault| fault.about("prices").entry(key))?;
            found.goods.push(price);
        }
    }
    found
        .check()
        .map_err(|error: PlanError| Fault::from(error).about("prices"))?;
    Ok(found)
}

fn sum_of(given: &Map, key: &str) -> Result<Money, Fault> {
    match given.get(key) {
        None => Ok(Money::ZERO),
        Some(value) if value.is_unit() => Ok(Money::ZERO),
        Some(value) => money(key, value).map_err(|fault| fault.about("prices").entry(key)),
    }
}

fn money(what: &str, value: &Dynamic) -> Result<Money, Fault> {
    let number = number(value).ok_or_else(|| {
        Fault::new("wrong-type", format!("the price of {what} is no number"))
            .remedy("write a plain number, such as 0.65; the currency stands once for all")
    })?;
    let sum = Money::from_number(number)?;
    if sum.is_negative() {
        return Err(Fault::new(
            "wrong-price",
            format!("the price of {what} is less than nothing"),
        )
        .remedy("write a price of nothing or more, such as 0.65"));
    }
    Ok(sum)
}

fn price(what: &str, by: SoldBy, value: &Dynamic) -> Result<Price, Fault> {
    let Some(table) = value.read_lock::<Map>() else {
        return Ok(Price {
            what: what.to_owned(),
            by,
            price: money(what, value)?,
            per: 1,
            pack: 0,
        });
    };
    if let Some(unknown) = table.keys().find(|key| !PRICE_KEYS.contains(&key.as_str())) {
        let fault = Fault::new(
            "unknown-option",
            format!("the price of {what} has no `{unknown}`"),
        );
        return Err(fault.remedy(super::options_remedy(unknown, &PRICE_KEYS)));
    }
    let amount = table.get("price").ok_or_else(|| {
        Fault::new("missing-option", format!("the price of {what} is missing"))
            .remedy("write #{ price: 65, per: 100 }")
    })?;
    let per = match table.get("per") {
        None => 1,
        Some(per) => whole(per)
            .filter(|per| (1..=MOST_PACKED).contains(per))
            .ok_or_else(|| {
                Fault::new(
                    "out-of-range",
                    format!("the price of {what} is `per` a whole number from 1 to {MOST_PACKED}"),
                )
                .remedy("write per: 100")
            })?,
    };
    let pack = match table.get("pack") {
        None => 0,
        Some(pack) => number(pack)
            .map(|pack| (pack * PARTS as f64).round())
            .filter(|parts| *parts >= 1.0 && *parts <= (MOST_PACKED as f64) * PARTS as f64)
            .map(|parts| parts as u64)
            .filter(|parts| !by.is_counted() || parts.is_multiple_of(PARTS))
            .ok_or_else(|| {
                Fault::new(
                    "out-of-range",
                    format!("a pack of {what} holds a number up to {MOST_PACKED}, whole where it is counted"),
                )
                .remedy("write pack: 10")
            })?,
    };
    Ok(Price {
        what: what.to_owned(),
        by,
        price: money(what, amount)?,
        per: per.unsigned_abs(),
        pack,
    })
}
