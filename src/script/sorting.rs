//! Sorting by a comparison of the script. What fails in it ends the call: the engine's own functions pass over it and go
//! on to compare.

use std::cmp::Ordering;
use std::rc::Rc;

use rhai::{
    Array, Dynamic, Engine, EvalAltResult, FnPtr, FuncRegistration, NativeCallContext, Position,
};

use super::engine::{Stop, caught};
use super::options::Fault;
use super::vocabulary::Vocabulary;
use crate::stop;

type Sorted<T> = Result<T, Box<EvalAltResult>>;

/// What is registered here.
pub(super) const NAMES: [&str; 5] = ["sort", "sort_by", "order", "order_by", "dedup"];

/// Registers them in place of the engine's.
pub(super) fn register(engine: &mut Engine, vocabulary: &Rc<Vocabulary>) {
    for name in ["sort", "sort_by"] {
        let own = Rc::clone(vocabulary);
        // A constant is not to be sorted in place.
        FuncRegistration::new(name)
            .with_purity(false)
            .register_into_engine(
                engine,
                move |context: NativeCallContext, list: &mut Array, by: FnPtr| -> Sorted<()> {
                    *list = sorted(&context, list, &by, &own)?;
                    Ok(())
                },
            );
    }
    for name in ["order", "order_by"] {
        let own = Rc::clone(vocabulary);
        engine.register_fn(
            name,
            move |context: NativeCallContext, list: &mut Array, by: FnPtr| -> Sorted<Array> {
                sorted(&context, list, &by, &own)
            },
        );
    }
    FuncRegistration::new("dedup")
        .with_purity(false)
        .register_into_engine(
            engine,
            |context: NativeCallContext, list: &mut Array, alike: FnPtr| -> Sorted<()> {
                *list = without_repeats(&context, list, &alike)?;
                Ok(())
            },
        );
}

/// What the comparison of the script says of two items.
fn asked(
    context: &NativeCallContext,
    by: &FnPtr,
    one: &Dynamic,
    other: &Dynamic,
) -> Sorted<Dynamic> {
    // Every comparison counts its steps anew, so nothing else would ask.
    if let Some(reason) = stop::asked() {
        let reason = Dynamic::from(Stop::from(reason));
        return Err(EvalAltResult::ErrorTerminated(reason, Position::NONE).into());
    }
    by.call_raw(context, None, [one.clone(), other.clone()])
        .map(Dynamic::flatten)
}

fn sorted(
    context: &NativeCallContext,
    list: &Array,
    by: &FnPtr,
    vocabulary: &Vocabulary,
) -> Sorted<Array> {
    let mut list = list.clone();
    let mut wrong = None;
    let done = caught(|| {
        list.sort_by(|one, other| {
            if wrong.is_some() {
                return Ordering::Equal;
            }
            let answer = asked(context, by, one, other).and_then(|answer| {
                // Items that are alike come before one another neither way.
                if let Ok(false) = answer.as_bool() {
                    let after = asked(context, by, other, one)?.as_bool() == Ok(true);
                    return Ok(if after {
                        Ordering::Greater
                    } else {
                        Ordering::Equal
                    });
                }
                order_of(&answer).ok_or_else(|| {
                    let fault = Fault::new(
                        "wrong-type",
                        format!(
                            "the comparison gives {}, and no number and not true or false",
                            vocabulary.describe(&answer)
                        ),
                    )
                    .remedy("write |a, b| a < b, or |a, b| a - b for numbers");
                    fault.into_error(CALL, context.call_position())
                })
            });
            answer.unwrap_or_else(|error| {
                wrong = Some(error);
                Ordering::Equal
            })
        });
    });
    match (wrong, done) {
        (Some(error), _) => Err(error),
        (None, Ok(())) => Ok(list),
        // Sorting gives up on a comparison that contradicts itself.
        (None, Err(_)) => {
            let fault = Fault::new(
                "script-error",
                "the comparison puts the items in no order: what it says of some contradicts the rest",
            )
            .remedy("compare the same of both, such as |a, b| a.height < b.height");
            Err(fault.into_error(CALL, context.call_position()))
        }
    }
}

/// The function that faults of sorting are told of.
const CALL: &str = "sort";

/// Less for what comes first: a number below zero, or true; none for what tells of no order.
fn order_of(answer: &Dynamic) -> Option<Ordering> {
    if let Ok(number) = answer.as_int() {
        return Some(number.cmp(&0));
    }
    if let Ok(number) = answer.as_float() {
        return number.partial_cmp(&0.0);
    }
    let first = answer.as_bool().ok()?;
    first.then_some(Ordering::Less)
}

/// The list without items that are like the one kept before them.
fn without_repeats(context: &NativeCallContext, list: &Array, alike: &FnPtr) -> Sorted<Array> {
    let mut kept = Array::new();
    for item in list {
        let repeats = match kept.last() {
            None => false,
            Some(last) => asked(context, alike, last, item)?
                .as_bool()
                .unwrap_or(false),
        };
        if !repeats {
            kept.push(item.clone());
        }
    }
    Ok(kept)
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use crate::outside::MemoryOutside;
    use crate::script::{Limits, domain};

    fn run(script: &str) -> Result<String, String> {
        let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
        let outcome = session.run("test.rhai", script);
        match outcome.diagnostics.first() {
            None => Ok(outcome.shown.unwrap_or_default()),
            Some(wrong) => Err(format!("{}: {}", wrong.code, wrong.message)),
        }
    }

    #[test]
    fn good_comparisons_sort_as_they_always_did() {
        for (script, sorted) in [
            ("let a = [3, 1, 2]; a.sort(|a, b| a - b); a", "[1, 2, 3]"),
            ("let a = [3, 1, 2]; a.sort(|a, b| a > b); a", "[3, 2, 1]"),
            (
                "let a = [3, 1, 2]; sort_by(a, |a, b| b - a); a",
                "[3, 2, 1]",
            ),
            ("let a = [2.5, 1.5]; a.sort(|a, b| a - b); a", "[1.5, 2.5]"),
            (
                "let a = [3, 1, 2]; [a.order(|a, b| a - b), a]",
                "[[1, 2, 3], [3, 1, 2]]",
            ),
            // Items that are alike keep their order.
            (
                "let a = [[2, 1], [1, 2], [2, 3], [1, 4]]; a.sort(|a, b| a[0] - b[0]); a",
                "[[1, 2], [1, 4], [2, 1], [2, 3]]",
            ),
            (
                "let a = [[2, 1], [1, 2], [2, 3]]; a.sort(|a, b| a[0] < b[0]); a",
                "[[1, 2], [2, 1], [2, 3]]",
            ),
            // Nor do many alike contradict a comparison that tells of less alone.
            (
                "let a = []; for i in 0..300 { a.push(i * 7 % 4); } a.sort(|a, b| a < b); [a[0], a[74], a[75], a[299]]",
                "[0, 0, 1, 3]",
            ),
            ("let a = [1]; a.sort(|a, b| nonesuch(a)); a", "[1]"),
            (
                "let least = 2; let a = [1, 2, 3]; a.sort(|a, b| (a - least).abs() - (b - least).abs()); a[0]",
                "2",
            ),
            (
                "let a = [1, 2, 2, 2, 3, 1, 2, 3, 4, 3, 3, 2, 1]; a.dedup(|a, b| a >= b); a",
                "[1, 2, 3, 4]",
            ),
            (
                "let a = [2.m, 1.m]; a.sort(|a, b| a < b); a",
                "[1000 mm, 2000 mm]",
            ),
        ] {
            assert_eq!(run(script).as_deref(), Ok(sorted), "{script}");
        }
    }

    #[test]
    fn what_fails_in_a_comparison_ends_the_sorting() {
        for (script, wrong) in [
            (
                "let a = [2, 1]; a.sort(|a, b| nonesuch(a)); a",
                "unknown-function: there is no function `nonesuch`",
            ),
            ("let a = [2, 1]; a.order(|a, b| throw \"no\")", "thrown: no"),
            (
                "let a = [2, 1]; a.sort(|a, b| a + 1.m)",
                "unlike-quantities: cannot add a whole number and a length",
            ),
            (
                "let a = [2, 1]; a.dedup(|a, b| nonesuch(a))",
                "unknown-function: there is no function `nonesuch`",
            ),
            (
                "[2, 1].sort(|a, b| 1.m)",
                "wrong-type: the comparison gives the length 1000 mm",
            ),
            (
                "const A = [2, 1]; A.sort(|a, b| a - b)",
                "constant: `sort` would change a constant",
            ),
            (
                "fn f(n) { [3, 1, 2].sort(|a, b| f(n + 1)) } f(0)",
                "limit-call-levels: ",
            ),
        ] {
            let told = run(script).expect_err(script);
            assert!(told.starts_with(wrong), "{script}: {told}");
        }
        // What sorting left is what was there.
        let kept = "let a = [3, 2, 1]; try { a.sort(|a, b| nonesuch()) } catch { } a";
        assert_eq!(run(kept).as_deref(), Ok("[3, 2, 1]"));
    }
}
