//! How fast grids are searched: points a second, by conditions of scripts and without them.

use std::rc::Rc;

use divan::counter::ItemsCount;
use perpend::compare::solve::{Field, Tally};
use perpend::outside::MemoryOutside;
use perpend::script::{Limits, domain};

fn main() {
    divan::main();
}

/// A million points of six variables, most of which three conditions refuse.
#[divan::bench]
fn grid_of_a_million(bencher: divan::Bencher<'_, '_>) {
    bencher.counter(ItemsCount::new(1_000_000_u32)).bench(|| {
        let reads = vec![vec![0, 1], vec![2, 3], vec![0, 2, 4]];
        let mut grid = Field::new(vec![10; 6], reads)?;
        let mut ask = |at: usize, p: &[usize]| {
            let of = |v: usize| p.get(v).copied().unwrap_or(0);
            Ok::<_, ()>(match at {
                0 => of(0) + of(1) > 12,
                1 => of(2) >= of(3),
                _ => of(0) * of(2) >= 3 * of(4),
            })
        };
        let mut tally = Tally::default();
        let _ = grid.search(&mut ask, &mut |_| Ok(()), &mut tally);
        Ok::<_, perpend::plan::PlanError>(tally.found)
    });
}

fn script(bencher: divan::Bencher<'_, '_>, points: u32, text: &str) {
    bencher
        .counter(ItemsCount::new(points))
        .with_inputs(|| domain::open(Rc::new(MemoryOutside::new()), Limits::default()))
        .bench_local_values(|mut session| session.run("bench.rhai", text));
}

/// 1 044 576 points of six sizes, conditions on two or three of them, and an aim.
#[divan::bench(sample_count = 5)]
fn script_over_a_million(bencher: divan::Bencher<'_, '_>) {
    script(
        bencher,
        1_044_576,
        r#"let u = unit("uk");
        solve(#{
            over: #{ across: 3..=8, deep: 3..=8, courses: 10..=40, fire_across: #{ from: 3, to: 5.5, step: 0.5 }, fire_deep: #{ from: 3, to: 5.5, step: 0.5 }, door: #{ from: 1, to: 13.5, step: 0.5 } },
            given: #{
                "room for the racks": |across, deep| u.inside(across) >= 600.mm && u.inside(deep) >= 450.mm,
                "wider than the firebox": |across, fire_across| across >= fire_across,
                "three times the firebox": |across, deep, fire_across, fire_deep| u.inside(across) * u.inside(deep) >= 3 * (u.inside(fire_across) * u.inside(fire_deep)),
                "door within half the front": |across, door| 2 * u.opening(door) <= u.outside(across),
                "no higher than a man": |courses| u.rise(courses) <= 1.8.m,
            },
            least: |across, deep, courses| across * deep * courses,
        }).left"#,
    );
}

/// A hundred thousand points, each asked by one condition that reads all sizes: what a call of a closure costs.
#[divan::bench(sample_count = 5)]
fn script_that_nothing_spares(bencher: divan::Bencher<'_, '_>) {
    script(
        bencher,
        100_000,
        "solve(#{ over: #{ a: 1..=10, b: 1..=10, c: 1..=10, d: 1..=10, e: 1..=10 }, given: [|a, b, c, d, e| a + b + c > d + e] }).left",
    );
}
