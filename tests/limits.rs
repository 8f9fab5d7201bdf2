//! Every limit is met with a message that names it and says how it is raised; nothing that is nested deep, or calls itself,
//! overflows the stack.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;
use std::time::Duration;

use perpend::outside::MemoryOutside;
use perpend::plan::Plan;
use perpend::script::{Limits, Outcome, Session, Value, domain};

fn on_large_stack<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    perpend::shell::run_on_large_stack(work).expect("a thread")
}

fn session(limits: Limits) -> Session {
    let modules = (0..9).fold(MemoryOutside::new(), |outside, number| {
        outside.with_script(&format!("m{number}.rhai"), "fn one() { 1 }")
    });
    domain::open(Rc::new(modules), limits)
}

fn code(outcome: &Outcome) -> String {
    let first = outcome.diagnostics.first();
    first.map(|d| d.code.clone()).unwrap_or_default()
}

/// A script that meets a limit when it is as low as this.
const MEETS: [(&str, &str, &str, &str); 10] = [
    ("operations", "1000", "limit-operations", "loop { }"),
    (
        "call_levels",
        "20",
        "limit-call-levels",
        "fn f(n) { f(n + 1) } f(0)",
    ),
    (
        "expression_depth",
        "20",
        "limit-expression-depth",
        "((((((((((((((((((((((((((((1))))))))))))))))))))))))))))",
    ),
    (
        "string",
        "1000",
        "limit-string",
        "let t = \"brick\"; loop { t += t; }",
    ),
    (
        "array",
        "100",
        "limit-array",
        "let a = []; loop { a.push(1); }",
    ),
    (
        "map",
        "50",
        "limit-map",
        "let m = #{}; let n = 0; loop { let one = #{}; one[`k${n}`] = n; m += one; n += 1; }",
    ),
    (
        "modules",
        "3",
        "limit-modules",
        "import \"m0\" as a; import \"m1\" as b; import \"m2\" as c; import \"m3\" as d; import \"m4\" as e; a::one()",
    ),
    ("wall_clock", "0", "limit-wall-clock", "loop { }"),
    (
        "pieces",
        "1000",
        "too-many-pieces",
        "plan(\"p\", #{ unit: \"uk\" }).place(\"w\", wall(#{ length: 100, courses: 100 }))",
    ),
    (
        "rows",
        "5",
        "too-many-rows",
        "compare(\"raised_bed\", #{ courses: [1, 2, 3], unit: [\"uk\", \"nf\"] }, [\"height\"])",
    ),
];

#[test]
fn every_limit_says_its_name_and_how_it_is_raised() {
    assert_eq!(MEETS.map(|(name, ..)| name), Limits::NAMES);
    on_large_stack(|| {
        for (name, low, wanted, script) in MEETS {
            let mut limits = Limits::default();
            limits.set(name, low).expect("a limit");
            let mut session = session(limits);
            let outcome = session.run("file.rhai", script);
            assert_eq!(code(&outcome), wanted, "{}", session.render(&outcome));
            let told = session.render(&outcome);
            assert!(told.contains(&format!("perpend --limit {name}=")), "{told}");
            assert!(!told.contains("kept.rhai"), "{told}");
            if wanted.starts_with("limit-") {
                assert!(told.contains(&format!("(limit `{name}`: ")), "{told}");
            }
            // In a session, what is defined can be taken along; and it goes on.
            let outcome = session.input(script);
            let told = session.render(&outcome);
            assert!(told.contains("save_session(\"kept.rhai\")"), "{told}");
            if name != "wall_clock" {
                assert_eq!(session.input("1 + 1").shown.as_deref(), Some("2"));
            }
        }
    });
}

#[test]
fn maps_that_grow_entry_by_entry_meet_their_limit() {
    let limits = Limits {
        map: 200,
        ..Limits::default()
    };
    on_large_stack(|| {
        for script in [
            "let m = #{}; let n = 0; loop { m[`k${n}`] = n; n += 1; }",
            "let m = #{}; for n in 0..100_000 { m[`k${n}`] = n; }",
            "let m = #{ inner: #{} }; let n = 0; loop { m.inner[`k${n}`] = n; n += 1; }",
            "let a = [#{}]; let n = 0; loop { a[0][`k${n}`] = n; n += 1; }",
            "fn fill() { let n = 0; loop { this[`k${n}`] = n; n += 1; } } let m = #{}; m.fill();",
            "let m = #{}; let n = 0; let put = |k| { m[k] = 1; }; loop { put.call(`k${n}`); n += 1; }",
            "let big = #{}; for n in 0..150 { big[`k${n}`] = n; } let m = #{}; let n = 0; loop { m[`k${n}`] = big; n += 1; }",
        ] {
            let mut session = session(limits.clone());
            let outcome = session.run("file.rhai", script);
            let told = session.render(&outcome);
            assert_eq!(code(&outcome), "limit-map", "{script}: {told}");
            assert!(told.contains("file.rhai:1:"), "{told}");
        }
        let fits = "let m = #{}; for n in 0..200 { m[`k${n}`] = n; } for n in 0..1_000 { m.k1 = n; } m.len()";
        let outcome = session(limits).run("file.rhai", fits);
        assert_eq!(outcome.shown.as_deref(), Some("200"));
    });
}

#[test]
fn raised_limits_let_the_same_scripts_through() {
    on_large_stack(|| {
        for (name, high, script) in [
            ("pieces", "100_000", MEETS.map(|meets| meets.3)[8]),
            ("rows", "6", MEETS.map(|meets| meets.3)[9]),
            (
                "array",
                "30_000",
                "let a = []; for i in 0..25_000 { a.push(i); } a.len()",
            ),
            (
                "call_levels",
                "500",
                "fn f(n) { if n == 0 { 0 } else { f(n - 1) } } f(400)",
            ),
            (
                "modules",
                "200",
                "import \"m0\" as a; import \"m1\" as b; a::one()",
            ),
            ("array", "30_000", "range(0.mm, 25.m, 1.mm).len()"),
        ] {
            let mut limits = Limits::default();
            limits.set(name, high).expect("a limit");
            let mut session = session(limits);
            let outcome = session.run("file.rhai", script);
            assert!(!outcome.failed(), "{name}: {}", session.render(&outcome));
        }
        let outcome = session(Limits::default()).run("file.rhai", "range(0.mm, 25.m, 1.mm)");
        assert_eq!(code(&outcome), "limit-range");
    });
}

#[test]
fn limits_that_the_stack_sets_an_end_to_are_not_raised_beyond_it() {
    let mut limits = Limits::default();
    for name in ["call_levels", "expression_depth"] {
        let fault = limits.set(name, "100_000").expect_err("too much");
        assert_eq!(fault.code, "out-of-range");
        assert!(fault.message.contains(name), "{}", fault.message);
        let most = Limits::most(name).expect("an end").to_string();
        limits.set(name, &most).expect("the most there is");
    }
    assert_eq!(limits.figure("call_levels"), 1000);
    let over = Limits {
        call_levels: usize::MAX,
        ..Limits::default()
    };
    on_large_stack(|| {
        let outcome = session(over).run("file.rhai", "fn f(n) { f(n + 1) } f(0)");
        assert_eq!(code(&outcome), "limit-call-levels");
        let remedy = &outcome.diagnostics[0].remedy;
        assert!(
            remedy.contains(&"the limit `call_levels` goes no higher than 1000".to_owned()),
            "{remedy:?}"
        );
    });
}

#[test]
fn recursion_of_every_kind_ends_with_its_limit() {
    // As deep as the limits go: a nested expression of many brackets in every call.
    let brackets = 20;
    let nested = format!("{}f(n + 1){}", "[".repeat(brackets), "]".repeat(brackets));
    let scripts = [
        "fn f(n) { f(n + 1) } f(0)".to_owned(),
        "fn a(n) { b(n) } fn b(n) { c(n) } fn c(n) { a(n) } a(0)".to_owned(),
        "let f = |g, n| g.call(g, n + 1); f.call(f, 0)".to_owned(),
        "let f = |g, h| h.call(h, g); let g = |h, f| f.call(f, h); f.call(f, g)".to_owned(),
        "fn f(n) { [3, 1, 2].filter(|x| f(n + 1)) } f(0)".to_owned(),
        "fn f(n) { [3, 1, 2].sort(|a, b| f(n + 1)) } f(0)".to_owned(),
        "fn f(n) { [3, 1, 2].map(|x| [1].reduce(|a, b| f(n + 1), 0)) } f(0)".to_owned(),
        "fn f(n) { try { f(n + 1) } catch (e) { throw e } } f(0)".to_owned(),
        "fn f(n) { `${f(n + 1)}` } f(0)".to_owned(),
        format!("fn f(n) {{ {nested} }} f(0)"),
    ];
    let limits = Limits {
        call_levels: 1_000,
        expression_depth: 256,
        operations: 200_000,
        ..Limits::default()
    };
    on_large_stack(|| {
        for script in &scripts {
            let mut session = session(limits.clone());
            let outcome = session.run("file.rhai", script);
            assert_eq!(
                code(&outcome),
                "limit-call-levels",
                "{script}: {}",
                session.render(&outcome)
            );
        }
    });
}

/// Lists within lists, or maps within maps, as deep as a list may be long.
fn nested(levels: usize, wrap: impl Fn(Value) -> Value) -> Value {
    (0..levels).fold(Value::from(1_i64), |inner, _| wrap(inner))
}

#[test]
fn nested_values_are_shown_cloned_and_dropped() {
    on_large_stack(|| {
        let session = session(Limits::default());
        let levels = Limits::default().array;
        let lists = nested(levels, |inner| vec![inner].into());
        let shown = session.show(&lists);
        assert!(shown.starts_with("[["), "{}", shown.len());
        let copy = lists.flatten_clone();
        drop(lists);
        drop(copy);
        let maps = nested(levels, |inner| {
            let mut map = rhai::Map::new();
            map.insert("m".into(), inner);
            map.into()
        });
        assert!(session.show(&maps).contains("m:"));
    });
}

#[test]
fn nested_values_are_built_compared_and_sorted_in_scripts() {
    on_large_stack(|| {
        let limits = Limits {
            array: 2_000,
            map: 2_000,
            ..Limits::default()
        };
        for script in [
            "let a = []; let b = []; for i in 0..1_500 { a = [a]; b = [b]; } let same = a == b; show(a); same",
            "let a = #{}; for i in 0..1_500 { a = #{ m: a }; } let b = a; b.m = 1; show(a); b.len()",
            "let a = []; for i in 0..900 { a = [a, a.len()]; } [a, a].sort(|x, y| 0); a.len()",
        ] {
            let mut session = session(limits.clone());
            let outcome = session.run("file.rhai", script);
            let code = code(&outcome);
            assert!(
                code.is_empty() || code.starts_with("limit-") || code == "unlike-quantities",
                "{script}: {}",
                session.render(&outcome)
            );
        }
    });
}

#[test]
fn nested_brackets_are_refused_not_followed() {
    on_large_stack(|| {
        for (open, close) in [
            ("(", ")"),
            ("[", "]"),
            ("#{ a: ", "}"),
            ("{", "}"),
            ("- ", ""),
        ] {
            let levels = 100_000;
            let script = format!("{}1{}", open.repeat(levels), close.repeat(levels));
            let mut session = session(Limits::default());
            let outcome = session.run("file.rhai", &script);
            assert_eq!(code(&outcome), "limit-expression-depth", "{open}");
            session.is_incomplete(&script);
        }
        let json = "[".repeat(1_000_000);
        let error = Plan::from_saved(&json).expect_err("no plan");
        assert_eq!(error.code, "not-a-saved-plan");
        let json = "{\"plan\":".repeat(1_000_000);
        assert_eq!(
            Plan::from_saved(&json).expect_err("no plan").code,
            "not-a-saved-plan"
        );
    });
}

#[test]
fn time_ends_what_operations_do_not_count() {
    let limits = Limits {
        wall_clock: Duration::from_millis(100),
        ..Limits::default()
    };
    on_large_stack(|| {
        // Laid in one native call.
        let script = "plan(\"p\", #{ unit: \"uk\", bond: \"flemish\" }).place(\"w\", wall(#{ length: 700, courses: 1_500, thickness: 1 })).cuts()";
        let mut session = session(limits);
        let outcome = session.run("file.rhai", script);
        assert_eq!(
            code(&outcome),
            "limit-wall-clock",
            "{}",
            session.render(&outcome)
        );
    });
}
