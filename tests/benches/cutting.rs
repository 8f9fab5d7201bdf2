//! How fast published cutting problems are solved and proved.

#[path = "../common/cutting.rs"]
mod cutting;

use cutting::instances;
use perpend::takeoff::stock_plan;

fn main() {
    divan::main();
}

#[divan::bench(args = instances().into_iter().map(|instance| instance.name).collect::<Vec<_>>())]
fn cut_and_prove(bencher: divan::Bencher<'_, '_>, name: &str) {
    let task = instances()
        .iter()
        .find(|instance| instance.name == name)
        .map(cutting::Instance::task);
    bencher.bench(|| task.as_ref().map(stock_plan));
}

/// All of them one after another.
#[divan::bench]
fn cut_and_prove_all(bencher: divan::Bencher<'_, '_>) {
    let tasks: Vec<_> = instances().iter().map(cutting::Instance::task).collect();
    bencher.bench(|| tasks.iter().map(stock_plan).collect::<Vec<_>>());
}
