//! Functions of plain numbers, and those of lists that know quantities. The engine has most of them, for numbers with a
//! fraction only and without a word of help.

use std::cmp::Ordering;
use std::rc::Rc;

use rhai::{Array, Engine, NativeCallContext};

use super::declare::{CallKind, Declaration, Example, Group, Parameter, Registry, Want};
use super::options::Fault;
use super::quantities::{Answer, at, order};
use super::vocabulary::Vocabulary;

const OF_NUMBER: Declaration = Declaration {
    name: "",
    group: Group::Quantities,
    summary: "",
    kind: CallKind::Method { of: "number" },
    positional: &[],
    options: &[],
    returns: "A number.",
    examples: &[],
    errors: &[],
    see_also: &[],
};

const VALUE: Parameter = Parameter::required("one", Want::Anything, "A number or quantity.");
const OTHER: Parameter = Parameter::required("other", Want::Anything, "Another of the same kind.");

static MIN: Declaration = Declaration {
    name: "min",
    summary: "The smaller of two numbers or quantities.",
    kind: CallKind::Function,
    positional: &[VALUE, OTHER],
    returns: "The smaller one.",
    examples: &[Example {
        script: "min(3.ft, 1.m)",
        shows: "914.4 mm (3' 0\")",
    }],
    see_also: &["max"],
    ..OF_NUMBER
};

static MAX: Declaration = Declaration {
    name: "max",
    summary: "The larger of two numbers or quantities.",
    kind: CallKind::Function,
    positional: &[VALUE, OTHER],
    returns: "The larger one.",
    examples: &[Example {
        script: "max(2, 5)",
        shows: "5",
    }],
    see_also: &["min"],
    ..OF_NUMBER
};

static SORT: Declaration = Declaration {
    name: "sort",
    summary: "Puts a list in order: numbers, texts or quantities of one kind. It changes the list itself.",
    kind: CallKind::Method { of: "list" },
    returns: "Nothing.",
    examples: &[Example {
        script: "let sizes = [3.ft, 8.inch]; sizes.sort(); sizes",
        shows: "[203.2 mm, 914.4 mm]",
    }],
    see_also: &["sorted"],
    ..OF_NUMBER
};

static SORTED: Declaration = Declaration {
    name: "sorted",
    summary: "The list in order: numbers, texts or quantities of one kind.",
    kind: CallKind::Method { of: "list" },
    returns: "A list.",
    examples: &[Example {
        script: "[3, 1, 2].sorted()",
        shows: "[1, 2, 3]",
    }],
    see_also: &["sort"],
    ..OF_NUMBER
};

/// Registers them.
pub(super) fn register(registry: &mut Registry) {
    let vocabulary = registry.vocabulary();
    // Both are registered for every kind of quantity together with their comparisons.
    registry.by_hand(&MIN, |_| {});
    registry.by_hand(&MAX, |_| {});
    let own = Rc::clone(&vocabulary);
    registry.by_hand(&SORT, |engine| {
        engine.register_fn(
            "sort",
            move |context: NativeCallContext, items: &mut Array| -> Answer<()> {
                *items = at(&context, "sort", sorted(items, &own))?;
                Ok(())
            },
        );
    });
    registry.by_hand(&SORTED, |engine| {
        engine.register_fn("sorted", move |context: NativeCallContext, items: Array| {
            at(&context, "sorted", sorted(&items, &vocabulary))
        });
    });
    roots_and_angles(registry);
    roundings(registry);
}

fn roots_and_angles(registry: &mut Registry) {
    macro_rules! also_whole {
        ($($name:literal, $function:ident, $summary:literal, $script:literal => $shows:literal;)*) => {
            $({
                static FUNCTION: Declaration = Declaration {
                    name: $name,
                    summary: $summary,
                    examples: &[Example { script: $script, shows: $shows }],
                    ..OF_NUMBER
                };
                registry.by_hand(&FUNCTION, |engine: &mut Engine| {
                    engine.register_fn($name, |n: i64| (n as f64).$function());
                });
            })*
        };
    }
    also_whole! {
        "sqrt", sqrt, "The square root of a number.", "16.sqrt()" => "4";
        "sin", sin, "The sine of an angle in radians.", "0.sin()" => "0";
        "cos", cos, "The cosine of an angle in radians.", "0.cos()" => "1";
        "tan", tan, "The tangent of an angle in radians.", "0.tan()" => "0";
        "exp", exp, "The number e to a power.", "0.exp()" => "1";
        "ln", ln, "The natural logarithm of a number.", "1.ln()" => "0";
    }
}

fn roundings(registry: &mut Registry) {
    macro_rules! roundings {
        ($($name:literal, $summary:literal, $script:literal => $shows:literal;)*) => {
            $({
                static FUNCTION: Declaration = Declaration {
                    name: $name,
                    summary: $summary,
                    examples: &[Example { script: $script, shows: $shows }],
                    see_also: &["round_to"],
                    ..OF_NUMBER
                };
                registry.by_hand(&FUNCTION, |engine: &mut Engine| {
                    engine.register_fn($name, |n: i64| n);
                });
            })*
        };
    }
    roundings! {
        "floor", "The whole number at or below a number.", "2.7.floor()" => "2";
        "ceiling", "The whole number at or above a number.", "2.2.ceiling()" => "3";
        "round", "The nearest whole number.", "2.6.round()" => "3";
    }
}

fn sorted(items: &Array, vocabulary: &Vocabulary) -> Result<Array, Fault> {
    for pair in items.windows(2) {
        if let [a, b] = pair
            && order(a, b).is_none()
        {
            let (a, b) = (vocabulary.kind_of(a), vocabulary.kind_of(b));
            let message = if a == b {
                format!("a list of this kind cannot be sorted: {a}")
            } else {
                format!("cannot sort {a} together with {b}")
            };
            return Err(Fault::new("unlike-quantities", message)
                .remedy("give the order yourself: list.sort(|a, b| a.height - b.height)"));
        }
    }
    let mut items = items.clone();
    items.sort_by(|a, b| order(a, b).unwrap_or(Ordering::Equal));
    Ok(items)
}
