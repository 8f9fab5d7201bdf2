//! How fast variants are compared: ten thousand of the cabinet of the example scripts, by threads, and by what is done to each.

#[path = "../common/mod.rs"]
mod common;

use std::hint::black_box;
use std::rc::Rc;
use std::sync::Arc;

use common::cabinet;
use divan::counter::ItemsCount;
use perpend::compare::{Change, Crew, Figure, sweep, variant_of};
use perpend::layout::lay;
use perpend::outside::MemoryOutside;
use perpend::plan::Plan;
use perpend::quantity::Length;
use perpend::review::Review;
use perpend::script::{Limits, domain};
use perpend::takeoff::Takeoff;

fn main() {
    divan::main();
}

/// Stack enough to lay plans.
const STACK: usize = 16 * 1024 * 1024;
/// Variants of one comparison.
const VARIANTS: usize = 10_000;

/// Ten units by a thousand joints.
fn axes() -> Vec<Vec<Change>> {
    let units = [
        "nf",
        "df",
        "uk",
        "au",
        "in_modular",
        "us_modular",
        "nf",
        "df",
        "uk",
        "au",
    ];
    let units = units.map(|name| Change::Unit(Box::new(common::unit(name))));
    let joints = (0..1_000).map(|step| Change::Joint(Length::from_nm(8_000_000 + step * 5_000)));
    vec![units.to_vec(), joints.collect()]
}

#[divan::bench(args = [1, 2], sample_count = 3, sample_size = 1)]
fn ten_thousand_variants_on_threads(bencher: divan::Bencher<'_, '_>, threads: usize) {
    let (plan, axes) = (cabinet(), axes());
    let crew = Crew {
        threads,
        stack: STACK,
    };
    bencher.counter(ItemsCount::new(VARIANTS)).bench_local(|| {
        let made = sweep(&plan, &axes, &[Figure::Units, Figure::Mortar], crew);
        assert!(made.is_ok_and(|(rows, _)| rows.len() == VARIANTS));
    });
}

fn one() -> Arc<Plan> {
    Arc::new(cabinet())
}

#[divan::bench]
fn one_variant_laid(bencher: divan::Bencher<'_, '_>) {
    let plan = one();
    bencher.bench_local(|| lay(black_box(&plan)));
}

#[divan::bench]
fn one_variant_taken_off(bencher: divan::Bencher<'_, '_>) {
    let plan = one();
    if let Ok(laid) = lay(&plan) {
        bencher.bench_local(|| Takeoff::of(black_box(&laid)));
    }
}

#[divan::bench]
fn one_variant_reviewed(bencher: divan::Bencher<'_, '_>) {
    let plan = one();
    if let Ok(laid) = lay(&plan)
        && let Ok(takeoff) = Takeoff::of(&laid)
    {
        bencher.bench_local(|| Review::of(black_box(&laid), &takeoff));
    }
}

#[divan::bench]
fn one_variant_whole(bencher: divan::Bencher<'_, '_>) {
    let plan = one();
    bencher.bench_local(|| variant_of(black_box(&plan), &[Figure::Units]));
}

/// A thousand variants of a recipe, built by scripts on every thread.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn a_thousand_variants_of_a_recipe(bencher: divan::Bencher<'_, '_>) {
    bencher.counter(ItemsCount::new(1_000_usize)).bench_local(|| {
        perpend::shell::run_on_large_stack(|| {
            let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
            let outcome = session.run(
                "bench",
                "compare(\"curing_cabinet\", #{ cabinet_courses: 24..=33, joint: range(9.mm, 11.mm, 0.02.mm) }, [\"units\"]).rows.len()",
            );
            assert!(!outcome.failed(), "{}", session.render(&outcome));
        })
    });
}
