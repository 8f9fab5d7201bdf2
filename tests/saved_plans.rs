//! Plans as they are saved: what is read is what was written, and what is damaged is refused in words.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::path::{Path, PathBuf};
use std::rc::Rc;
use std::sync::Arc;

use perpend::layout::lay;
use perpend::outside::{Aside, RealOutside};
use perpend::plan::{Plan, Rise};
use perpend::quantity::Length;
use perpend::script::{Limits, domain};
use perpend::sheet;
use proptest::prelude::*;
use serde_json::{Value as Json, json};

/// Every plan of the example scripts and of the reference checks, by file.
fn plans() -> Vec<(PathBuf, Arc<Plan>)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files: Vec<PathBuf> = ["scripts", "tests/reference/plans"]
        .iter()
        .flat_map(|folder| std::fs::read_dir(root.join(folder)).expect("a folder"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|kind| kind == "rhai"))
        .collect();
    files.sort();
    let run = files.clone();
    let found = perpend::shell::run_on_large_stack(move || {
        let outside = Rc::new(RealOutside::new(std::env::temp_dir()));
        let mut session = domain::open(Rc::new(Aside::silent(outside)), Limits::default());
        run.iter()
            .map(|file| {
                let text = std::fs::read_to_string(file).expect("a script");
                let outcome = session.run(&file.to_string_lossy(), &text);
                let value = outcome.value.clone().unwrap_or_default();
                let plan = value.read_lock::<domain::PlanValue>();
                plan.map(|plan| Arc::clone(&plan.plan))
            })
            .collect::<Vec<_>>()
    })
    .expect("a thread");
    let plans: Vec<_> = files
        .into_iter()
        .zip(found)
        .filter_map(|(file, plan)| Some((file, plan?)))
        .collect();
    assert!(plans.len() >= 40, "only {} plans", plans.len());
    plans
}

fn saved(plan: &Plan) -> Json {
    plan.to_saved().expect("numbers")
}

fn refusal(document: &Json) -> String {
    match Plan::from_saved(&document.to_string()) {
        Ok(_) => "read".to_owned(),
        Err(error) => format!("{}: {} / {}", error.code, error.message, error.remedy),
    }
}

#[test]
fn every_plan_reads_as_it_was_written_and_lays_the_same() {
    for (file, plan) in plans() {
        let text = saved(&plan).to_string();
        let read = Plan::from_saved(&text).unwrap_or_else(|error| panic!("{file:?}: {error}"));
        assert_eq!(read, *plan, "{}", file.display());
        assert_eq!(saved(&read).to_string(), text, "{}", file.display());
    }
    let (_, plan) = plans().swap_remove(0);
    let read = Arc::new(Plan::from_saved(&saved(&plan).to_string()).expect("a plan"));
    let laid = |plan: &Arc<Plan>| sheet::laid_json(&lay(plan).expect("laid")).to_string();
    assert_eq!(laid(&read), laid(&plan));
}

#[test]
fn a_newer_version_and_another_document_are_refused_in_words() {
    let (_, plan) = plans().swap_remove(0);
    let mut document = saved(&plan);
    assert_eq!(document["schema"], "perpend.plan/1");
    document["schema"] = json!("perpend.plan/2");
    let told = refusal(&document);
    assert!(
        told.starts_with("plan-too-new: the plan was saved in version 2"),
        "{told}"
    );
    document["schema"] = json!("perpend.laid/1");
    assert!(
        refusal(&document).contains("it is \"perpend.laid/1\""),
        "{}",
        refusal(&document)
    );
    document["schema"] = json!("perpend.plan/0");
    assert!(refusal(&document).starts_with("not-a-saved-plan"));
    assert!(refusal(&json!({})).contains("schema"));
    assert!(refusal(&json!({ "schema": "perpend.plan/1" })).contains("no plan"));
}

/// Takes away every field that is not given, and newer ones that say no, as a file has them that was written before the field was there.
fn without_newer_fields(value: &mut Json, taken: &mut usize) {
    match value {
        Json::Array(items) => {
            for item in items {
                without_newer_fields(item, taken);
            }
        }
        Json::Object(entries) => {
            for item in entries.values_mut() {
                without_newer_fields(item, taken);
            }
            let gone: Vec<String> = entries
                .iter()
                .filter(|(key, item)| {
                    item.is_null() || NEWER.contains(&key.as_str()) && **item == json!(false)
                })
                .map(|(key, _)| key.clone())
                .collect();
            *taken += gone.len();
            entries.retain(|key, _| !gone.contains(key));
        }
        _ => {}
    }
}

/// Fields that came later than the first saved plans, beside those that need not be given.
const NEWER: [&str; 2] = ["strict", "level"];

#[test]
fn a_file_without_the_newer_fields_is_read() {
    let mut taken = 0;
    for (file, plan) in plans() {
        let mut document = saved(&plan);
        without_newer_fields(&mut document, &mut taken);
        let read = Plan::from_saved(&document.to_string())
            .unwrap_or_else(|error| panic!("{}: {error}: {}", file.display(), error.message));
        assert_eq!(read, *plan, "{}", file.display());
    }
    assert!(taken > 1000, "only {taken} fields were left out");
}

#[test]
fn what_a_script_may_not_write_a_file_may_not_hold_either() {
    let (_, plan) = plans()
        .into_iter()
        .find(|(file, _)| file.ends_with("scripts/lakeside_cabinet.rhai"))
        .expect("the script");
    let cases = [
        ("/plan/parts/firebox/part/thickness", json!(99), "thickness"),
        (
            "/plan/parts/firebox/part/rise",
            json!({ "courses": 0 }),
            "courses",
        ),
        ("/plan/ducts/0/from", json!("nowhere"), "no part named"),
        ("/plan/ducts/0/diameter", json!("0 mm"), "cannot be built"),
        ("/plan/setting/unit/length", json!("-240 mm"), "length"),
        ("/plan/setting/unit/length", json!("2 km"), "2"),
        ("/plan/setting/unit/length", json!(240), "expected"),
        (
            "/plan/parts/firebox/part/openings/0/width",
            json!({ "half_units": -2 }),
            "-1 units",
        ),
        ("/plan/parts/firebox/part/colour", json!("red"), "colour"),
        ("/plan/waste/units", json!(1e9), "1000000000"),
        ("/plan/cautions", json!([" "]), "caution"),
    ];
    for (pointer, value, told) in cases {
        let mut document = saved(&plan);
        if let Some(place) = document.pointer_mut(pointer) {
            *place = value;
        } else {
            let (parent, key) = pointer.rsplit_once('/').expect("a pointer");
            let parent = document.pointer_mut(parent).expect("a place");
            parent[key] = value;
        }
        let refused = refusal(&document);
        assert!(refused.contains(told), "{pointer}: {refused}");
    }
}

/// Every place in a document, as pointers.
fn places(value: &Json, at: &str, found: &mut Vec<String>) {
    found.push(at.to_owned());
    match value {
        Json::Array(items) => {
            for (index, item) in items.iter().enumerate() {
                places(item, &format!("{at}/{index}"), found);
            }
        }
        Json::Object(entries) => {
            for (key, item) in entries {
                let key = key.replace('~', "~0").replace('/', "~1");
                places(item, &format!("{at}/{key}"), found);
            }
        }
        _ => {}
    }
}

fn other_value() -> impl Strategy<Value = Json> {
    prop_oneof![
        Just(Json::Null),
        any::<bool>().prop_map(Json::from),
        (-3_i64..70).prop_map(Json::from),
        prop::sample::select(vec![i64::MIN, -1, 500, 2001, 999_999, i64::MAX]).prop_map(Json::from),
        prop::sample::select(vec![-1.0, 0.0, 0.5, 1e-9, 1e5, 1e300]).prop_map(Json::from),
        prop::sample::select(vec![
            "",
            "firebox",
            "1 mm",
            "0 mm",
            "-1 mm",
            "499 m",
            "10 mm",
            "0.000001 mm",
            "front",
            "stretcher",
        ])
        .prop_map(Json::from),
        Just(json!([])),
        Just(json!({})),
        (0_i64..40).prop_map(|n| json!({ "half_units": n })),
        (0_i64..40).prop_map(|n| json!({ "courses": n })),
    ]
}

/// Low enough to be laid many times over.
fn low(rise: Rise) -> bool {
    match rise {
        Rise::Courses(courses) => courses < 80,
        Rise::Height(height) => height < Length::mm(5_000),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]
    /// A few values of a saved plan are replaced. It is refused, or lays without a panic.
    #[test]
    fn a_damaged_plan_is_refused_or_laid(which in any::<prop::sample::Index>(), hits in prop::collection::vec((any::<prop::sample::Index>(), other_value()), 1..4)) {
        thread_local! {
            static DOCUMENTS: Vec<Json> = plans().iter().map(|(_, plan)| saved(plan)).filter(|d| d.to_string().len() < 20_000).collect();
        }
        let mut document = DOCUMENTS.with(|all| which.get(all).clone());
        for (hit, value) in hits {
            let mut found: Vec<String> = Vec::new();
            places(&document["plan"], "/plan", &mut found);
            let at: &String = hit.get(&found);
            if let Some(place) = document.pointer_mut(at) {
                *place = value;
            }
        }
        if let Ok(plan) = Plan::from_saved(&document.to_string())
            && plan.parts.values().all(|placed| low(placed.part.rise))
        {
            let _ = lay(&Arc::new(plan));
        }
    }
}
