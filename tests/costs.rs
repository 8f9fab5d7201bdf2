//! Prices that a plan is given and what it costs by them, against sums worked by hand.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{Limits, domain};

/// A pier of 16 units by hand (two a course, eight courses), none wasted, so that sums can be worked by hand.
const PIER: &str = "let p = plan(\"pier\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 8 })).waste(#{ units: 0, mortar: 0 });";

fn shown(text: &str) -> String {
    let text = text.to_owned();
    perpend::shell::run_on_large_stack(move || {
        let mut session = domain::open(
            Rc::new(MemoryOutside::new().with_recipes("mine")),
            Limits::default(),
        );
        let outcome = session.run("costs", &format!("{PIER}\n{text}"));
        match &outcome.shown {
            Some(shown) if !outcome.failed() => shown.clone(),
            _ => session.render(&outcome),
        }
    })
    .expect("a thread")
}

#[test]
fn units_are_priced_each_by_the_hundred_and_in_packs() {
    // 16 × 0.65 = 10.40
    assert_eq!(
        shown("p.prices(#{ currency: \"EUR\", units: #{ uk: 0.65 } }).cost().total"),
        "10.4"
    );
    // 16 at 65 for 100 = 10.40; in packs of 10 are bought 20 = 13.00
    assert_eq!(
        shown(
            "p.prices(#{ currency: \"EUR\", units: #{ uk: #{ price: 65, per: 100 } } }).cost().total"
        ),
        "10.4"
    );
    assert_eq!(
        shown(
            "let l = p.prices(#{ currency: \"EUR\", units: #{ uk: #{ price: 65, per: 100, pack: 10 } } }).cost().lines[0]; [l.needed, l.amount, l.cost]"
        ),
        "[16, 20, 13]"
    );
}

#[test]
fn small_orders_are_topped_up_and_brought() {
    // 10.40 of goods, 39.60 up to an order of 50, and 12.50 for the lorry: 62.50.
    assert_eq!(
        shown(
            "p.prices(#{ currency: \"EUR\", units: #{ uk: 0.65 }, delivery: 12.5, least_order: 50 }).cost().total"
        ),
        "62.5"
    );
    // Nothing bought, nothing brought.
    assert_eq!(
        shown(
            "p.prices(#{ currency: \"EUR\", units: #{ nf: 0.65 }, delivery: 12.5 }).cost().total"
        ),
        "0"
    );
}

#[test]
fn what_has_no_price_is_told_and_so_is_a_price_of_nothing_bought() {
    let text =
        shown("p.prices(#{ currency: \"EUR\", units: #{ uk: 0.65 }, bags: #{ cment: 7 } }).cost()");
    for line in [
        "total so far",
        "without a price, and not in it: cement",
        "prices of what the plan does not take: cment",
    ] {
        assert!(text.contains(line), "{text}");
    }
    let whole = shown(
        "p.prices(#{ currency: \"EUR\", units: #{ uk: 0.65 }, bags: #{ cement: 7, lime: 9 }, tonnes: #{ sand: 40 } }).cost()",
    );
    assert!(
        whole.contains("\n  total ") && !whole.contains("without a price"),
        "{whole}"
    );
}

#[test]
fn a_saved_plan_keeps_its_prices_and_a_file_may_give_them() {
    assert_eq!(
        shown(
            "let q = p.prices(#{ currency: \"EUR\", units: #{ uk: #{ price: 0.655, pack: 480 } }, delivery: 35 }); q.save_plan(\"p.json\"); load_plan(\"p.json\").cost().total == q.cost().total"
        ),
        "true"
    );
    assert!(shown("p.prices(\"none.json\")").starts_with("error[file-trouble]"));
    assert!(
        shown("p.save_plan(\"p.json\"); p.prices(\"p.json\")").starts_with("error[unknown-option]")
    );
}

#[test]
fn wrong_prices_are_refused_where_they_stand() {
    for (prices, says) in [
        (
            "#{ units: #{ uk: 0.65 } }",
            "error[missing-option]: prices need their `currency`",
        ),
        (
            "#{ currency: \"EUR\", unit: #{ uk: 0.65 } }",
            "error[unknown-option]: prices have no `unit`",
        ),
        (
            "#{ currency: \"EUR\", units: #{ uk: -1 } }",
            "error[wrong-price]: the price of uk is less than nothing",
        ),
        (
            "#{ currency: \"EUR\", units: #{ uk: \"dear\" } }",
            "error[wrong-type]: the price of uk is no number",
        ),
        (
            "#{ currency: \"EUR\", units: #{ uk: #{ per: 100 } } }",
            "error[missing-option]: the price of uk is missing",
        ),
        (
            "#{ currency: \"EUR\", units: #{ uk: #{ price: 1, per: 0 } } }",
            "error[out-of-range]",
        ),
        (
            "#{ currency: \"EUR\", bags: #{ cement: #{ price: 1, pack: 2.5 } } }",
            "error[out-of-range]",
        ),
        (
            "#{ currency: \"EUR\", delivery: 1e12 }",
            "error[out-of-range]",
        ),
    ] {
        let told = shown(&format!("p.prices({prices})"));
        assert!(told.starts_with(says), "{prices}: {told}");
    }
    assert!(shown("p.cost()").starts_with("error[no-prices]: the plan was given no prices"));
}
