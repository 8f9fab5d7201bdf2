//! What a plan uses of the units in the yard.

use std::rc::Rc;

use rhai::{Array, Dynamic, Map};

use super::PlanValue;
use super::catalogue::map;
use super::plans::unit_of;
use crate::masonry::Unit;
use crate::script::declare::whole;
use crate::script::errors;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want,
};
use crate::sheet::Table;
use crate::takeoff::YardUse;

/// More kinds of units than any yard has.
const MOST_KINDS: usize = 100;
const MOST_EACH: i64 = 10_000_000;
const KEYS: [&str; 2] = ["unit", "count"];

macro_rules! bench {
    ($end:literal) => {
        concat!(
            "let yard = [#{ unit: \"uk\", count: 20 }, #{ unit: \"nf\", count: 100 }];\nplan(\"bench\", #{ unit: \"uk\" }).place(\"foot\", pier(#{ outside: [2, 1], courses: 6 })).waste(#{ units: 0 }).use_of(yard)",
            $end
        )
    };
}

const USE_OF: Declaration = Declaration {
    name: "use_of",
    group: Group::Reading,
    summary: "What the plan uses of several kinds of units in the yard, what is left over, and what is still to buy.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "yard",
        Want::List(&Want::Map),
        "What is there: maps of `unit`, a name or value, and `count`.",
    )],
    options: &[],
    returns: "A use.",
    examples: &[Example {
        script: bench!(""),
        shows: "yard used by bench\n  unit  in the yard  taken  used  left over  to buy\n  ----  -----------  -----  ----  ---------  ------\n  uk             20     24    20          0       4\n  nf            100      0     0        100       0",
    }],
    errors: &[errors::these(&[
        errors::UNIT_MISSING,
        errors::NOT_IN_CATALOGUE,
        errors::UNIT_UNFIT,
    ])],
    see_also: &["on_hand", "measured", "compare"],
};

const OF_USE: Declaration = Declaration {
    name: "",
    group: Group::Reading,
    summary: "",
    kind: CallKind::Property { of: "Use" },
    positional: &[],
    options: &[],
    returns: "A number.",
    examples: &[],
    errors: &[],
    see_also: &["use_of"],
};

const USED: Declaration = Declaration {
    name: "used",
    summary: "Units of the yard that a plan uses: a column to compare by.",
    examples: &[Example {
        script: bench!(".used"),
        shows: "20",
    }],
    ..OF_USE
};

const LEFT_OVER: Declaration = Declaration {
    name: "left_over",
    summary: "Units of the yard that a plan leaves.",
    examples: &[Example {
        script: bench!(".left_over"),
        shows: "100",
    }],
    ..OF_USE
};

const STILL_TO_BUY: Declaration = Declaration {
    name: "to_buy",
    summary: "Units that a plan takes beyond the yard.",
    examples: &[Example {
        script: bench!(".to_buy"),
        shows: "4",
    }],
    ..OF_USE
};

const KINDS: Declaration = Declaration {
    name: "kinds",
    summary: "Each kind of unit in a yard or plan, as maps of `unit`, `there`, `taken`, `used`, `left_over` and `to_buy`.",
    returns: "A list.",
    examples: &[Example {
        script: bench!(".kinds[0].to_buy"),
        shows: "4",
    }],
    ..OF_USE
};

/// What a plan uses of a yard.
#[derive(Clone, Debug)]
pub(super) struct UseValue {
    plan: String,
    found: Rc<YardUse>,
}

pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<UseValue>("Use", "a use of the yard", text);
    registry.method::<PlanValue, UseValue>(&USE_OF, |call, plan| {
        let yard = yard(call)?;
        let found = YardUse::of(&*plan.laid()?, &*plan.takeoff()?, &yard);
        Ok(UseValue {
            plan: plan.plan.name.clone(),
            found: Rc::new(found),
        })
    });
    registry.property::<UseValue, i64>(&USED, |value| Ok(value.found.used() as i64));
    registry.property::<UseValue, i64>(&LEFT_OVER, |value| Ok(value.found.left() as i64));
    registry.property::<UseValue, i64>(&STILL_TO_BUY, |value| Ok(value.found.to_buy() as i64));
    registry.property::<UseValue, Array>(&KINDS, |value| Ok(kinds(&value.found)));
}

/// A use of a yard for other programs.
pub(super) fn told(value: &Dynamic) -> Option<Map> {
    let value = value.read_lock::<UseValue>()?;
    Some(map([
        ("schema", "perpend.yard_use/1".into()),
        ("plan", value.plan.clone().into()),
        ("kinds", kinds(&value.found).into()),
    ]))
}

fn kinds(found: &YardUse) -> Array {
    found
        .lines
        .iter()
        .map(|line| {
            Dynamic::from(map([
                ("unit", line.unit.clone().into()),
                ("there", (line.there as i64).into()),
                ("taken", (line.wanted as i64).into()),
                ("used", (line.used as i64).into()),
                ("left_over", (line.left() as i64).into()),
                ("to_buy", (line.to_buy() as i64).into()),
            ]))
        })
        .collect()
}

fn yard(call: &Call) -> Result<Vec<(Unit, u64)>, Fault> {
    let heaps = call.list("yard")?;
    if heaps.len() > MOST_KINDS {
        return Err(Fault::new(
            "out-of-range",
            format!("more than {MOST_KINDS} kinds of units"),
        )
        .about("yard"));
    }
    let read = |heap: &Dynamic| -> Result<(Unit, u64), Fault> {
        let heap = heap.clone().try_cast::<Map>().unwrap_or_default();
        if let Some(unknown) = heap.keys().find(|key| !KEYS.contains(&key.as_str())) {
            let fault = Fault::new("unknown-option", format!("a heap has no `{unknown}`"));
            return Err(fault.remedy(super::options_remedy(unknown, &KEYS)));
        }
        let unit = heap.get("unit").ok_or_else(|| {
            Fault::new("unit-missing", "a heap is of some `unit`")
                .remedy("write #{ unit: \"nf\", count: 300 }")
        })?;
        let unit = unit_of(unit, "yard")?;
        let count = heap
            .get("count")
            .and_then(whole)
            .filter(|count| (0..=MOST_EACH).contains(count))
            .ok_or_else(|| {
                Fault::new(
                    "out-of-range",
                    format!("the `count` of a heap is a whole number up to {MOST_EACH}"),
                )
                .remedy("write #{ unit: \"nf\", count: 300 }")
            })?;
        Ok((unit, count.unsigned_abs()))
    };
    let heaps = heaps.iter().enumerate();
    heaps
        .map(|(at, heap)| read(heap).map_err(|fault| fault.about("yard").element(at)))
        .collect()
}

fn text(value: &UseValue) -> String {
    let mut table = Table::new(
        format!("yard used by {}", value.plan),
        &[
            "unit",
            "#in the yard",
            "#taken",
            "#used",
            "#left over",
            "#to buy",
        ],
    );
    for line in &value.found.lines {
        let figures = [
            line.there,
            line.wanted,
            line.used,
            line.left(),
            line.to_buy(),
        ];
        let cells = std::iter::once(line.unit.clone());
        table.row(cells.chain(figures.map(|figure| figure.to_string())));
    }
    table.text().trim_end().to_owned()
}
