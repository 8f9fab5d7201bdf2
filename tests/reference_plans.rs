//! What was really worked out for the scripts and for the reference plans, for the integer programmes in
//! `tests/reference/` to judge: the number of units cut up, and intervals with their costs. The folder to write to is named
//! in `PERPEND_CASES`; without it the plans are only laid and asked.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::collections::HashSet;
use std::path::Path;
use std::rc::Rc;

use perpend::layout::interval::{End, Interval, Rules, solve};
use perpend::layout::{Laid, explain};
use perpend::outside::MemoryOutside;
use perpend::script::domain::PlanValue;
use perpend::script::{Limits, domain};
use perpend::takeoff::Takeoff;
use serde_json::{Value, json};

/// Nanometres in a millimetre.
const MM: f64 = 1e6;
/// Courses of each part that are asked, spread over its height; those of vents and ledges beside them.
const COURSES: u32 = 5;
/// Longest interval that a programme judges in a second or so, in units.
const LONGEST: i64 = 5;

fn mm(nm: i64) -> f64 {
    nm as f64 / MM
}

/// An interval as its programme takes it, with the cost of the way found; what it was solved as.
fn interval(interval: &Interval, rules: &Rules) -> Value {
    let solution = solve(interval, rules);
    let module = rules.unit + rules.joint;
    let floats = interval
        .floats
        .iter()
        .map(|float| json!([float.gap, mm(float.size), mm(float.target)]));
    json!({
        "length": mm(interval.length),
        "jointed": [interval.low == End::Jointed, interval.high == End::Jointed],
        "below": interval.below.iter().map(|&b| mm(b)).collect::<Vec<_>>(),
        "floats": floats.collect::<Vec<_>>(),
        "unit": mm(rules.unit),
        "joint": [mm(rules.shortest_joint), mm(rules.joint), mm(rules.longest_joint)],
        "fractions": rules
            .fractions
            .iter()
            .map(|&f| mm(module * f / rules.parts - rules.joint))
            .collect::<Vec<_>>(),
        "lap": mm(rules.least_lap),
        "shortest": mm(rules.shortest_piece),
        "mortar": solution.elements.is_empty(),
        "misses": solution.cost.misses,
        "cuts": solution.cost.cuts,
        "odd": solution.cost.odd,
    })
}

/// Intervals of several courses of each part, those that are alike but for their raster once.
fn intervals(laid: &Laid, seen: &mut HashSet<(Interval, Rules)>) -> Vec<Value> {
    let mut found = Vec::new();
    for part in laid.parts.iter().filter(|part| part.ring.is_none()) {
        let placed = laid.plan.parts.get(&part.name).expect("the part");
        let placed = &placed.part;
        let spread = 0..COURSES.min(part.courses);
        let mut courses: Vec<u32> = spread
            .map(|step| 1 + step * (part.courses - 1) / (COURSES.min(part.courses) - 1).max(1))
            .chain(placed.vents.iter().map(|vent| vent.course))
            .chain(placed.ledges.iter().map(|ledge| ledge.course))
            .collect();
        courses.sort_unstable();
        courses.dedup();
        for course in courses {
            let told = explain(&laid.plan, &part.name, course).expect("a course");
            for one in &told.intervals {
                let rules = &told.rules;
                let plain =
                    one.plain && one.interval.length <= LONGEST * (rules.unit + rules.joint);
                let key = Interval {
                    raster: 0,
                    ..one.interval.clone()
                };
                if plain && seen.insert((key, rules.clone())) {
                    found.push(interval(&one.interval, rules));
                }
            }
        }
    }
    found
}

fn plan_of(file: &Path) -> PlanValue {
    let text = std::fs::read_to_string(file).expect("a script");
    let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
    let outcome = session.run(&file.display().to_string(), &text);
    assert!(
        !outcome.failed(),
        "{}: {}",
        file.display(),
        session.render(&outcome)
    );
    let value = outcome.value.expect("a value");
    let plan = value.read_lock::<PlanValue>().expect("a plan");
    plan.clone()
}

#[test]
fn plans_for_the_integer_programmes() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in ["scripts", "tests/reference/plans"] {
        let entries = std::fs::read_dir(root.join(folder)).expect("a folder");
        files.extend(entries.map(|entry| entry.expect("an entry").path()));
    }
    files.retain(|file| file.extension().is_some_and(|end| end == "rhai"));
    files.sort();
    let asked = std::env::var_os("PERPEND_CASES").is_some();
    let plans = perpend::shell::run_on_large_stack(move || {
        let mut seen = HashSet::new();
        let mut plans = Vec::new();
        for file in files {
            let plan = plan_of(&file);
            let laid = plan.laid().expect("laid work");
            let takeoff = Takeoff::of(&laid).expect("a takeoff");
            assert_eq!(takeoff.cutting.units(), takeoff.cutting.least(), "{}", file.display());
            let on_hand = &laid.plan.on_hand;
            plans.push(json!({
                "name": file.file_stem().and_then(|name| name.to_str()),
                "kerf": takeoff.cutting.blade.to_mm(),
                "halves": on_hand.halves,
                "offcuts": on_hand.offcuts.iter().map(|(l, n)| json!([l.to_mm(), n])).collect::<Vec<_>>(),
                "joint": laid.plan.setting.joints.head.nominal.to_mm(),
                "cut_up": takeoff.cutting.units(),
                "intervals": if asked { intervals(&laid, &mut seen) } else { Vec::new() },
            }));
        }
        plans
    })
    .expect("a thread");
    assert!(plans.len() > 10);
    let Some(folder) = std::env::var_os("PERPEND_CASES") else {
        return;
    };
    let text = serde_json::to_string(&plans).expect("JSON");
    std::fs::write(Path::new(&folder).join("plans.json"), text).expect("a file");
}
