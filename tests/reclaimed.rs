//! Samples of reclaimed units, and yards of several kinds, against figures worked by hand.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::outside::MemoryOutside;
use perpend::script::{Limits, domain};

/// Five units; the lengths are 213, 215, 216, 214 and 217 mm, of mean 215 mm and deviation √2.5 mm. The last is 6 mm too high.
const SAMPLE: &str = "let s = measured([[213.mm, 102.mm, 65.mm], [215.mm, 102.mm, 64.mm], #{ length: 216.mm, width: 102.mm, height: 66.mm }, [214.mm, 102.mm, 65.mm], [217.mm, 102.mm, 71.mm]], #{ heap: 100 });";

fn shown(text: &str) -> String {
    let text = text.to_owned();
    perpend::shell::run_on_large_stack(move || {
        let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
        let outcome = session.run("heap", &text);
        match &outcome.shown {
            Some(shown) if !outcome.failed() => shown.clone(),
            _ => session.render(&outcome),
        }
    })
    .expect("a thread")
}

fn of_sample(text: &str) -> String {
    shown(&format!("{SAMPLE} {text}"))
}

#[test]
fn a_sample_tells_mean_spread_and_the_joint_that_takes_it_up() {
    assert_eq!(
        of_sample(
            "[s.spreads.length.mean, s.spreads.length.least, s.spreads.length.most, s.spreads.length.range]"
        ),
        "[215 mm, 213 mm, 217 mm, 4 mm]"
    );
    // The longest are 2 mm over the mean, and head joints go down to 7 mm: 9 mm.
    assert_eq!(of_sample("s.spreads.length.joint"), "9 mm (about 3/8\")");
    // Heights of mean 66.2 mm: the highest is 4.8 mm over it, beds go down to 7 mm, so 11.8 mm, rounded up.
    assert_eq!(of_sample("s.spreads.height.joint"), "12 mm (about 1/2\")");
}

#[test]
fn what_does_not_keep_the_joints_is_culled() {
    // Beds of 7 to 13 mm take heights of 63.2 to 69.2 mm: the 71 mm one goes. One of five is 20 %, 20 of a heap of 100.
    assert_eq!(
        of_sample("[s.culled.found, s.culled.of, s.culled.share, s.culled.heap]"),
        "[1, 5, 0.2, 20]"
    );
    // The bound p for one of five: (1 - p)^5 + 5 p (1 - p)^4 = 0.05, which p = 0.6574 solves; by hand.
    assert_eq!(
        of_sample("s.culled.share_at_most > 0.6573 && s.culled.share_at_most < 0.6575"),
        "true"
    );
    assert!(of_sample("s").contains("5 is a small sample"));
}

#[test]
fn a_plan_is_laid_with_the_mean_unit() {
    // Two units of 215 mm and one joint of 10 mm.
    assert_eq!(
        of_sample(
            "plan(\"p\", s.options).place(\"w\", wall(#{ length: 2, courses: 2 })).outside(\"w\").across"
        ),
        "440 mm (about 1' 5 5/16\")"
    );
}

#[test]
fn wrong_samples_are_refused() {
    for (list, says) in [
        ("[]", "error["),
        ("[[213.mm, 102.mm, 65.mm]]", "error["),
        (
            "[[213.mm, 102.mm], [213.mm, 102.mm, 65.mm]]",
            "error[wrong-type]",
        ),
        (
            "[[213.mm, 0.mm, 65.mm], [213.mm, 102.mm, 65.mm]]",
            "error[wrong-type]",
        ),
        ("[[213, 102, 65], [213, 102, 65]]", "error[wrong-type]"),
    ] {
        let told = shown(&format!("measured({list})"));
        assert!(told.starts_with(says), "{list}: {told}");
    }
}

#[test]
fn a_yard_is_used_before_anything_is_bought() {
    const PLAN: &str = "let p = plan(\"p\", #{ unit: \"uk\" }).place(\"a\", pier(#{ outside: [1, 1], courses: 5 })).place(\"b\", pier(#{ outside: [1, 1], courses: 4 }).laid_with(#{ unit: \"firebrick\" }), #{ right_of: \"a\", gap: 100.mm }).waste(#{ units: 0 });";
    let of = |yard: &str, what: &str| shown(&format!("{PLAN} let u = p.use_of({yard}); {what}"));
    // Two units a course: 10 UK bricks and 8 firebricks.
    assert_eq!(
        of(
            "[#{ unit: \"uk\", count: 6 }, #{ unit: \"uk\", count: 1 }, #{ unit: \"nf\", count: 30 }]",
            "[u.used, u.left_over, u.to_buy]"
        ),
        "[7, 30, 11]"
    );
    assert_eq!(
        of(
            "[#{ unit: \"firebrick\", count: 50 }]",
            "u.kinds.map(|k| [k.unit, k.taken, k.to_buy])"
        ),
        "[[\"firebrick\", 8, 0], [\"uk\", 10, 10]]"
    );
    assert!(of("[#{ unit: \"uk\" }]", "u").starts_with("error[out-of-range]"));
    assert!(of("[#{ unit: \"ukk\", count: 1 }]", "u").starts_with("error[not-in-catalogue]"));
    assert!(of("[#{ units: \"uk\", count: 1 }]", "u").starts_with("error[unknown-option]"));
}
