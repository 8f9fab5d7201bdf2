//! Long work of every kind is interrupted, and what was defined stays defined.
//!
//! How long it takes from the wish to the end is printed, not asserted, since machines differ: run with `--release
//! --nocapture`, and with `PERPEND_INTERRUPTS=20` to interrupt at more moments of the work.

use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use perpend::outside::MemoryOutside;
use perpend::script::{Limits, Session, domain};

/// What is defined before, so that the work that is interrupted is what the name says.
const BEFORE: &str = "
let long = wall(#{ length: 1000, courses: 1000 });
let million = plan(\"million\", #{ unit: \"uk\" }).place(\"long\", long);
let bonded = |bond, thickness| plan(\"bonded\", #{ unit: \"uk\", bond: bond }).place(\"wall\", wall(#{ length: 301.5, courses: 400, thickness: thickness }));
let holed = |bond, thickness| {
    let w = wall(#{ length: 61.5, courses: 160, thickness: thickness });
    for i in 0..12 {
        w = w.opening(#{ name: `o${i}`, width: 437.mm, at: (800 + i * 1063).mm, courses: [2 + i % 3, 120], lintel: \"stone\" });
    }
    plan(\"holed\", #{ unit: \"uk\", bond: bond }).place(\"wall\", w)
};
let stove = plan(\"stove\", #{ unit: \"nf\", joint: 10.mm })
    .slab(#{ margin: 100.mm, depth: 120.mm, subbase: 100.mm })
    .place(\"box\", chamber(#{ outside: [4, 3], courses: 400, fired: true }).opening(#{ name: \"door\", side: \"front\", width: 437.mm, courses: [2, 6], lintel: \"steel\" }))
    .duct(#{ name: \"flue\", from: \"box\", side: \"back\", diameter: 150.mm, course: 5 });
let lengths = [];
for i in 0..60 { lengths.push([(301 + i * 37).mm, 60 + i % 7]); }
";

/// What is done, by name; what is made before is not counted.
const WORK: [(&str, &str, &str); 22] = [
    ("an endless loop", "", "loop { }"),
    (
        "callbacks without an end",
        "",
        "loop { [3, 1, 2].map(|x| x + 1).filter(|x| x > 2).reduce(|a, b| a + b, 0); }",
    ),
    (
        "long texts",
        "let t = \"brick \"; while t.len() < 500_000 { t += t; }",
        "loop { t.replace(\"b\", \"c\"); t.to_upper(); }",
    ),
    ("laying a million pieces", "", "million.cuts()"),
    ("taking off a million pieces", "", "million.takeoff()"),
    ("reviewing a million pieces", "", "million.review()"),
    (
        "drawing a million pieces",
        "",
        "show(million.elevation(\"front\"))",
    ),
    (
        "flemish bond, odd length",
        "",
        "bonded.call(\"flemish\", 1).cuts()",
    ),
    (
        "english bond, odd length",
        "",
        "bonded.call(\"english\", 1).cuts()",
    ),
    (
        "flemish bond, one and a half thick",
        "",
        "bonded.call(\"flemish\", 1.5).cuts()",
    ),
    (
        "common bond, odd length",
        "",
        "bonded.call(\"common\", 1).cuts()",
    ),
    (
        "openings in stretcher bond",
        "",
        "holed.call(\"stretcher\", 0.5).cuts()",
    ),
    (
        "openings in third bond",
        "",
        "holed.call(\"third\", 0.5).cuts()",
    ),
    (
        "openings in flemish bond",
        "",
        "holed.call(\"flemish\", 1).cuts()",
    ),
    (
        "a cutting list",
        "",
        "cutting_list(#{ stock: [6.m, 4.2.m], pieces: lengths })",
    ),
    (
        "remedies of a plan",
        "let h = holed.call(\"stretcher\", 0.5);",
        "h.remedies()",
    ),
    ("ways to a level", "", "stove.level(\"flue\")"),
    (
        "a comparison",
        "",
        "compare(stove, #{ unit: [\"nf\", \"uk\", \"us_modular\"], joint: range(8.mm, 12.mm, 0.1.mm), bond: [\"stretcher\", \"third\", \"stack\"] })",
    ),
    (
        "reasons for a course",
        "let h = holed.call(\"flemish\", 1);",
        "for i in 2..160 { h.explain(\"wall\", i); }",
    ),
    (
        "many changes of a plan",
        "",
        "loop { stove.place(\"x\", chamber(#{ outside: [3, 3], courses: 9 }), #{ right_of: \"box\", gap: 500.mm }); }",
    ),
    (
        "saving and reading",
        "stove.save_plan(\"s.json\");",
        "loop { stove.save_plan(\"s.json\"); load_plan(\"s.json\"); }",
    ),
    (
        "pieces of every course",
        "let m = million; m.cuts();",
        "for i in 1..1000 { m.pieces(\"long\", i); }",
    ),
];

/// How far into the work it is interrupted, first and at most.
const FIRST: Duration = Duration::from_millis(5);
const LAST: Duration = Duration::from_secs(4);

fn session() -> Session {
    let limits = Limits {
        operations: u64::MAX,
        string: 4_000_000,
        ..Limits::default()
    };
    let mut session = domain::open(Rc::new(MemoryOutside::new()), limits);
    let outcome = session.input(BEFORE);
    assert!(!outcome.failed(), "{}", session.render(&outcome));
    session
}

/// Sets the flag after a while, unless the work is done before; gives when it did. On a busy machine that may come before
/// the work begins, which takes no notice of what was wished then: who insists sets it again until the work ends.
fn interrupt(
    after: Duration,
    flag: &Arc<AtomicBool>,
    done: &Arc<AtomicBool>,
    insists: bool,
) -> Option<Instant> {
    let start = Instant::now();
    while start.elapsed() < after {
        if done.load(Ordering::Relaxed) {
            return None;
        }
        std::thread::sleep(Duration::from_millis(1).min(after));
    }
    let asked = Instant::now();
    flag.store(true, Ordering::Relaxed);
    while insists && !done.load(Ordering::Relaxed) {
        std::thread::sleep(Duration::from_millis(1));
        flag.store(true, Ordering::Relaxed);
    }
    Some(asked)
}

/// Searches that go on for long: over sizes alone, and over plans that are laid, where a quick find comes first.
const SEARCHES: [(&str, &str); 2] = [
    (
        "sizes",
        "solve(#{ over: #{ a: 1..=2000, b: 1..=2000, c: 1..=9 }, given: [|a, b, c| a + b + c > 3], most: [|a, b, c| a * b + c], count: 2 })",
    ),
    (
        "plans",
        "solve(#{ over: #{ long: 3..=60, courses: 700..=850 }, build: |long, courses| plan(\"w\", #{ unit: \"uk\" }).place(\"w\", wall(#{ length: long, courses: courses })), given: #{ \"of some height\": |plan| plan.height() > 70.mm }, least: \"cuts\", count: 2 })",
    ),
];

#[test]
fn an_interrupted_search_gives_what_it_found_and_the_script_goes_on() {
    perpend::shell::run_on_large_stack(|| {
        for (what, search) in SEARCHES {
            let mut session = session();
            let flag = session.interrupt_flag();
            let done = Arc::new(AtomicBool::new(false));
            let watch = Arc::clone(&done);
            let after = Duration::from_secs(1);
            let waiter = std::thread::spawn(move || interrupt(after, &flag, &watch, false));
            let outcome = session.input(&format!(
                "let found = {search}; show(found.rows.len()); found"
            ));
            done.store(true, Ordering::Relaxed);
            let asked = waiter.join().expect("a thread");
            assert!(asked.is_some(), "{what}: ended by itself");
            assert!(!outcome.failed(), "{what}: {}", session.render(&outcome));
            let shown = outcome.shown.unwrap_or_default();
            assert!(shown.contains("not finished"), "{what}: {shown}");
            assert!(
                shown.contains("the search was not finished: there may be better ones"),
                "{what}: {shown}"
            );
            assert_eq!(
                session.input("found.rows.len()").shown.as_deref(),
                Some("2"),
                "{what}"
            );
        }
    })
    .expect("a thread");
}

#[test]
fn a_search_that_takes_too_long_prints_what_it_found_and_ends_the_script() {
    perpend::shell::run_on_large_stack(|| {
        for (what, search) in SEARCHES {
            let outside = Rc::new(MemoryOutside::new());
            let limits = Limits {
                operations: u64::MAX,
                wall_clock: Duration::from_secs(1),
                ..Limits::default()
            };
            let mut session = domain::open(outside.clone(), limits);
            let outcome = session.run("search.rhai", &format!("{search}; show(\"went on\")"));
            let told = session.render(&outcome);
            assert_eq!(
                outcome.diagnostics[0].code, "limit-wall-clock",
                "{what}: {told}"
            );
            assert!(
                told.contains("the script ran longer than allowed (limit `wall_clock`: "),
                "{what}: {told}"
            );
            assert!(
                told.contains("perpend --limit wall_clock="),
                "{what}: {told}"
            );
            let printed = outside.printed().join("\n");
            assert!(printed.contains("not finished"), "{what}: {printed}");
            assert!(
                printed.contains("the search was not finished"),
                "{what}: {printed}"
            );
            assert!(!printed.contains("went on"), "{what}: {printed}");
        }
    })
    .expect("a thread");
}

#[test]
#[ignore = "takes minutes: run by hand, in a release build"]
fn everything_that_takes_long_is_interrupted_and_keeps_what_was_defined() {
    let moments = std::env::var("PERPEND_INTERRUPTS").ok();
    let moments: u32 = moments.and_then(|n| n.parse().ok()).unwrap_or(1);
    let told = Mutex::new(Vec::new());
    perpend::shell::run_on_large_stack(|| {
        for (what, before, work) in WORK {
            let (mut worst, mut interrupted, mut ended) = (Duration::ZERO, 0, 0);
            for moment in 1..=moments {
                // Moments lie closer together at the start of the work.
                let share = f64::from(moment - 1) / f64::from(moments);
                let after = FIRST + LAST.mul_f64(share * share);
                // Nothing that was laid before helps.
                let mut session = session();
                let outcome = session.input(before);
                assert!(!outcome.failed(), "{what}: {}", session.render(&outcome));
                let flag = session.interrupt_flag();
                let done = Arc::new(AtomicBool::new(false));
                let watch = Arc::clone(&done);
                let waiter = std::thread::spawn(move || interrupt(after, &flag, &watch, true));
                let outcome = session.input(work);
                let end = Instant::now();
                done.store(true, Ordering::Relaxed);
                let asked = waiter.join().expect("a thread");
                match asked {
                    Some(asked) if outcome.failed() => {
                        assert_eq!(
                            outcome.diagnostics[0].code,
                            "interrupted",
                            "{what}: {}",
                            session.render(&outcome)
                        );
                        worst = worst.max(end.saturating_duration_since(asked));
                        interrupted += 1;
                    }
                    _ => {
                        assert!(!outcome.failed(), "{what}: {}", session.render(&outcome));
                        ended += 1;
                    }
                }
                assert_eq!(
                    session.input("lengths.len()").shown.as_deref(),
                    Some("60"),
                    "{what}"
                );
                if ended > 0 {
                    break;
                }
            }
            let line = format!(
                "{what}: interrupted {interrupted} times, {} ms at most; {ended} ended before",
                worst.as_millis()
            );
            println!("{line}");
            told.lock().expect("a list").push(line);
        }
    })
    .expect("a thread");
    assert_eq!(told.lock().expect("a list").len(), WORK.len());
}
