//! How fast plans are laid and taken off: pieces or units a second.

#[path = "../common/mod.rs"]
mod common;

use std::sync::Arc;

use common::{HEADER_BONDS, bench, cabinet, plan_of, wall};
use divan::counter::ItemsCount;
use perpend::layout::interval::{End, Interval, Pattern, Rules, solve, solve_pattern};
use perpend::layout::lay;
use perpend::masonry::{Catalogue, Cell};
use perpend::plan::{Heading, Opening, Part, Plan, SideRef};
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

/// Cost against size: walls of so many pieces, each ten times the one before, longer and higher alike.
#[divan::bench(args = [1_000, 10_000, 100_000, 1_000_000])]
fn lay_wall_of_pieces(bencher: divan::Bencher<'_, '_>, pieces: u32) {
    let courses = f64::from(pieces).sqrt().round();
    let plan = plan_of(
        bench("nf"),
        vec![wall((f64::from(pieces) / courses).round(), courses as u32)],
    );
    lay_it(bencher, plan);
}

/// A plan of one part, so many units thick, in a bond.
fn in_bond(bond: &str, thickness: f64, part: Part) -> Plan {
    let mut plan = bench("nf");
    if let Ok(bond) = Catalogue::builtin().and_then(|catalogue| catalogue.bond(bond)) {
        plan.setting.bond = bond.clone();
    }
    let part = part.with_thickness(thickness);
    plan_of(plan, part.into_iter().collect())
}

/// A wall one unit thick in a bond of headers and stretchers: 40 m long, 200 courses high.
#[divan::bench(args = HEADER_BONDS)]
fn lay_patterned_wall(bencher: divan::Bencher<'_, '_>, bond: &str) {
    lay_it(bencher, in_bond(bond, 1.0, wall(160.0, 200)));
}

/// The same one and a half units thick.
#[divan::bench(args = HEADER_BONDS)]
fn lay_thick_patterned_wall(bencher: divan::Bencher<'_, '_>, bond: &str) {
    lay_it(bencher, in_bond(bond, 1.5, wall(160.0, 200)));
}

/// Cost against size in Flemish bond one unit thick: a unit of length and a course have 2.67 pieces.
#[divan::bench(args = [1_000, 10_000, 100_000, 1_000_000])]
fn lay_flemish_wall_of_pieces(bencher: divan::Bencher<'_, '_>, pieces: u32) {
    const PIECES_TO_A_UNIT: f64 = 8.0 / 3.0;
    let courses = (f64::from(pieces) / PIECES_TO_A_UNIT).sqrt().round();
    let part = wall(courses, courses as u32);
    lay_it(bencher, in_bond("flemish", 1.0, part));
}

/// A path of six legs with twenty openings at odd places.
fn path_with_twenty_openings() -> Part {
    let headings = [
        Heading::Right,
        Heading::Back,
        Heading::Right,
        Heading::Front,
        Heading::Right,
        Heading::Back,
    ];
    let legs: Vec<_> = headings
        .into_iter()
        .map(|heading| (heading, common::units(22.5)))
        .collect();
    let mut part = common::wall_along(&legs, false, 40);
    for index in 0..20_u32 {
        let (leg, turn) = (index as usize % legs.len(), f64::from(index / 6));
        let from = i64::from(2 + index % 5);
        let opening = Opening::new(
            format!("opening {index}"),
            SideRef::Leg(leg),
            common::units(1.5 + f64::from(index % 3) / 2.0),
            (from, from + 9),
        );
        let Ok(opening) = opening else { continue };
        let at = Some(common::units(2.5 + 5.0 * turn));
        if let Ok(more) = part.clone().with_opening(Opening { at, ..opening }) {
            part = more;
        }
    }
    assert_eq!(part.openings.len(), 20);
    part
}

#[divan::bench]
fn lay_path_with_twenty_openings(bencher: divan::Bencher<'_, '_>) {
    let plan = plan_of(bench("nf"), vec![path_with_twenty_openings()]);
    lay_it(bencher, plan);
}

/// The same path one unit thick in every bond with headers.
#[divan::bench(args = HEADER_BONDS)]
fn lay_patterned_path_with_twenty_openings(bencher: divan::Bencher<'_, '_>, bond: &str) {
    lay_it(bencher, in_bond(bond, 1.0, path_with_twenty_openings()));
}

/// The same path one and a half units thick.
#[divan::bench(args = HEADER_BONDS)]
fn lay_thick_patterned_path_with_twenty_openings(bencher: divan::Bencher<'_, '_>, bond: &str) {
    lay_it(bencher, in_bond(bond, 1.5, path_with_twenty_openings()));
}

#[divan::bench]
fn take_off_wall_of_100_000(bencher: divan::Bencher<'_, '_>) {
    let laid = common::lay(long_wall());
    bencher
        .counter(ItemsCount::new(laid.pieces.len()))
        .bench(|| Takeoff::of(divan::black_box(&laid)));
}

const MM: i64 = 1_000_000;

/// What NF units are laid by, with these fractions of them.
fn rules(fractions: &[i64]) -> Rules {
    Rules {
        unit: 240 * MM,
        joint: 10 * MM,
        shortest_joint: 7 * MM,
        longest_joint: 15 * MM,
        parts: 4,
        fractions: fractions.to_vec(),
        least_lap: 60 * MM,
        shortest_piece: 115 * MM,
    }
}

/// 10 m between a free end and a corner, over a course shifted by half a unit, from cold.
#[divan::bench]
fn solve_interval_of_10_m(bencher: divan::Bencher<'_, '_>) {
    let rules = rules(&[3, 2]);
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

/// 10 m of Flemish bond between a free end and a corner, over its course below, from cold.
#[divan::bench]
fn solve_patterned_interval_of_10_m(bencher: divan::Bencher<'_, '_>) {
    let rules = rules(&[3]);
    let pattern = Pattern {
        cells: vec![Cell::Stretcher, Cell::Header],
        marks: vec![182_500_000, 57_500_000],
        period: 375 * MM,
        header: 115 * MM,
        closer: 52_500_000,
        headed: (false, true),
        anew: false,
    };
    // The other leg passes the corner below, so no joint lies under the last one.
    let below = (0..26).flat_map(|turn| [turn * 375 + 245, turn * 375 + 370]);
    let interval = Interval {
        length: 10_000 * MM,
        low: End::Open,
        high: End::Jointed,
        raster: 0,
        floats: Vec::new(),
        below: below.map(|at| at * MM).collect(),
    };
    let solve = || {
        solve_pattern(
            divan::black_box(&interval),
            divan::black_box(&rules),
            divan::black_box(&pattern),
        )
    };
    let units = solve().map_or(0, |solution| solution.elements.len());
    bencher.counter(ItemsCount::new(units)).bench(solve);
}
