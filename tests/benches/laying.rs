//! How fast plans are laid and taken off: pieces or units a second.

#[path = "../common/mod.rs"]
mod common;

use std::sync::Arc;

use common::{bench, cabinet, plan_of, wall};
use divan::counter::ItemsCount;
use perpend::layout::interval::{End, Interval, Rules, solve};
use perpend::layout::lay;
use perpend::plan::Plan;
use perpend::takeoff::Takeoff;

fn main() {
    divan::main();
}

/// The whole program, from its start to the printed review, takeoff and comparison.
#[divan::bench]
fn whole_process_on_the_lakeside_cabinet(bencher: divan::Bencher<'_, '_>) {
    bencher.bench(|| {
        std::process::Command::new(env!("CARGO_BIN_EXE_perpend"))
            .args(["run", "scripts/lakeside_cabinet.rhai"])
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
    });
}

/// A straight wall of a hundred thousand units: 500 long, 200 courses high.
fn long_wall() -> Plan {
    plan_of(bench("nf"), vec![wall(500.0, 200)])
}

fn lay_it(bencher: divan::Bencher<'_, '_>, plan: Plan) {
    let plan = Arc::new(plan);
    let pieces = lay(&plan).map_or(0, |laid| laid.pieces.len());
    bencher
        .counter(ItemsCount::new(pieces))
        .bench(|| lay(divan::black_box(&plan)));
}

#[divan::bench]
fn lay_cabinet(bencher: divan::Bencher<'_, '_>) {
    lay_it(bencher, cabinet());
}

#[divan::bench]
fn lay_wall_of_100_000(bencher: divan::Bencher<'_, '_>) {
    lay_it(bencher, long_wall());
}

#[divan::bench]
fn take_off_wall_of_100_000(bencher: divan::Bencher<'_, '_>) {
    let laid = common::lay(long_wall());
    bencher
        .counter(ItemsCount::new(laid.pieces.len()))
        .bench(|| Takeoff::of(divan::black_box(&laid)));
}

/// 10 m between a free end and a corner, over a course shifted by half a unit, from cold.
#[divan::bench]
fn solve_interval_of_10_m(bencher: divan::Bencher<'_, '_>) {
    const MM: i64 = 1_000_000;
    let rules = Rules {
        unit: 240 * MM,
        joint: 10 * MM,
        shortest_joint: 7 * MM,
        longest_joint: 15 * MM,
        parts: 4,
        fractions: vec![3, 2],
        least_lap: 60 * MM,
        shortest_piece: 115 * MM,
    };
    let interval = Interval {
        length: 10_000 * MM,
        low: End::Open,
        high: End::Jointed,
        raster: -5 * MM,
        floats: Vec::new(),
        below: (0..41).map(|turn| (120 + turn * 250) * MM).collect(),
    };
    let units = solve(&interval, &rules).elements.len();
    bencher
        .counter(ItemsCount::new(units))
        .bench(|| solve(divan::black_box(&interval), divan::black_box(&rules)));
}
