//! Why a plan is laid as it is, and what would do away with its breaches.

use rhai::{Array, Dynamic, Map};

use super::catalogue::{map, table};
use super::{PlanValue, TableValue};
use crate::compare::remedies_of;
use crate::layout::{Explained, explain};
use crate::quantity::{Length, LengthStyle};
use crate::review::Severity;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};
use crate::sheet;

const THE_PART: Parameter = Parameter::required("part", Want::Name(NameOf::Part), "The part.");

const EXPLAIN: Declaration = Declaration {
    name: "explain",
    group: Group::Reading,
    summary: "Why a course is laid as it is: what bounds it, what was laid, what it costs, and what came next.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[
        THE_PART,
        Parameter::required("course", Want::WholeNumber, "The course, from 1."),
    ],
    options: &[],
    returns: "A table; each of its rows is an interval with `pieces`, `cost`, `next_pieces` and `loses_in`, with `other_order` where another order of the same pieces comes as near, and with `pieces_by_itself` where it is laid so that the course above keeps its lap; rows at the end are `about` what else bears on the course: a \"bed\", a \"split\", \"corners\", a \"junction\", a \"lintel\", an \"arch\", a \"corbel\", a \"sill\", a \"threshold\", a \"ring\", a \"curve\", \"upright\" units, \"leaves\", \"ties\", a \"core\", a \"lining\" or a \"coping\". The course over the last is its coping.",
    examples: &[Example {
        script: "plan(\"garden\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 2.5, courses: 4 })).explain(\"wall\", 2).rows[0].pieces",
        shows: "[\"1/2\", \"1\", \"1\"]",
    }],
    errors: &[
        errors::LAID,
        errors::these(&[errors::NO_SUCH_PART, errors::COURSE_OUTSIDE_PART]),
    ],
    see_also: &["remedies", "pieces", "review"],
};

const REMEDIES: Declaration = Declaration {
    name: "remedies",
    group: Group::Review,
    summary: "Changes that do away with short laps, short pieces and bad joints, and with what the review finds of the layout, found by laying the work again.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::optional(
        "part",
        Want::Text,
        "every part",
        "The part.",
    )],
    options: &[],
    returns: "A table, best first; each of its rows holds the `part`, the `change`, what it `removes`, and the changed `plan`.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"nf\" }).place(\"box\", chamber(#{ outside: [4, 4], courses: 4 }).vent(#{ side: \"back\", course: 2, count: 4, width: 60.mm })).remedies(\"box\").rows[0].change",
        shows: "vents on the back in course 1 instead of 2",
    }],
    errors: &[
        errors::LAID,
        errors::these(&[errors::NO_SUCH_PART, errors::MATERIAL_UNKNOWN]),
    ],
    see_also: &["explain", "review"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PlanValue, TableValue>(&EXPLAIN, |call, plan| explain_course(call, &plan));
    registry.method::<PlanValue, TableValue>(&REMEDIES, |call, plan| changes(call, &plan));
}

fn explain_course(call: &Call, plan: &PlanValue) -> Result<TableValue, Fault> {
    // What cannot be laid has no reasons.
    plan.laid()?;
    let course = call.whole("course")?;
    // A course beyond counting is no course of any part.
    let course = u32::try_from(course).unwrap_or(0);
    let explanation = explain(&plan.plan, &call.text("part")?, course)?;
    let style = plan.plan.style;
    let intervals = explanation.intervals.iter();
    let mut rows: Vec<Map> = intervals.map(|interval| row(interval, style)).collect();
    let remarks = explanation.remarks.iter();
    rows.extend(remarks.map(|remark| remark_row(&sheet::remark_words(remark, style))));
    Ok(table(sheet::explanation_table(&explanation, style), rows))
}

fn words(items: impl IntoIterator<Item = String>) -> Dynamic {
    let items: Array = items.into_iter().map(Dynamic::from).collect();
    items.into()
}

/// The same keys as an interval where they have a meaning.
fn remark_row(words: &sheet::RemarkWords) -> Map {
    let text = |text: &str| Dynamic::from(text.to_owned());
    let next = words.next.as_ref();
    map([
        ("about", text(words.about)),
        ("side", text(&words.place)),
        ("pieces", self::words([words.laid.clone()])),
        ("joint", text(&words.joint)),
        ("cost", text(&words.why)),
        (
            "next_pieces",
            next.map_or(Dynamic::UNIT, |(what, ..)| self::words([what.clone()])),
        ),
        (
            "loses_in",
            next.map_or(Dynamic::UNIT, |(.., loss)| text(loss)),
        ),
    ])
}

fn row(interval: &Explained, style: LengthStyle) -> Map {
    let pieces = |way: &crate::layout::Way| {
        words(way.items.iter().map(|item| sheet::item_word(item, style)))
    };
    let joint = |joint: Option<Length>| joint.map_or(Dynamic::UNIT, Dynamic::from);
    let below: Array = interval
        .binding
        .iter()
        .copied()
        .map(Dynamic::from)
        .collect();
    let cost = &interval.laid.cost;
    let next = interval.next.as_ref();
    map([
        ("about", "interval".into()),
        ("side", sheet::interval_side_words(interval).into()),
        ("leaf", (interval.leaf as i64 + 1).into()),
        ("from", Dynamic::from(interval.span.0)),
        ("to", Dynamic::from(interval.span.1)),
        ("starts_at", sheet::bound_words(&interval.bounds.0).into()),
        ("ends_at", sheet::bound_words(&interval.bounds.1).into()),
        ("below", below.into()),
        ("pieces", pieces(&interval.laid)),
        ("joint", joint(interval.laid.joint)),
        ("limits_missed", cost.misses.into()),
        ("cuts", cost.cuts.into()),
        ("odd_cuts", cost.odd.into()),
        ("cost", sheet::cost_words(&interval.laid, style).into()),
        ("for_course_above", interval.alone.is_some().into()),
        (
            "pieces_by_itself",
            interval.alone.as_ref().map_or(Dynamic::UNIT, pieces),
        ),
        (
            "next_pieces",
            next.map_or(Dynamic::UNIT, |next| pieces(&next.way)),
        ),
        (
            "other_order",
            interval
                .reordered
                .as_ref()
                .map_or(Dynamic::UNIT, |next| pieces(&next.way)),
        ),
        (
            "other_order_loses_in",
            interval
                .reordered
                .as_ref()
                .and_then(|next| next.loses_in)
                .map_or(Dynamic::UNIT, |point| sheet::point_word(point).into()),
        ),
        ("next_joint", joint(next.and_then(|next| next.way.joint))),
        (
            "next_cost",
            next.map_or(Dynamic::UNIT, |next| {
                sheet::cost_words(&next.way, style).into()
            }),
        ),
        (
            "loses_in",
            next.and_then(|next| next.loses_in)
                .map_or(Dynamic::UNIT, |point| sheet::point_word(point).into()),
        ),
    ])
}

fn changes(call: &Call, plan: &PlanValue) -> Result<TableValue, Fault> {
    let part = call.opt_text("part")?;
    let remedies = remedies_of(&plan.plan, part.as_deref())?;
    let part = part.unwrap_or_else(|| plan.plan.name.clone());
    let style = plan.plan.style;
    let stops = |plan: &PlanValue| -> Result<i64, Fault> {
        Ok(plan.review()?.count(Severity::Stop) as i64)
    };
    let before = stops(plan)?;
    let mut rows = Vec::new();
    let mut more_stops = Vec::new();
    for remedy in &remedies.found {
        let removes = remedy.removes.iter().map(sheet::broken_words);
        let altered = PlanValue::new((*remedy.plan).clone())?;
        let more = stops(&altered)? - before;
        more_stops.push(more);
        rows.push(map([
            ("part", Dynamic::from(remedy.part.clone())),
            (
                "change",
                sheet::alteration_words(&remedy.alteration, style).into(),
            ),
            ("removes", words(removes)),
            ("left", (remedy.left as i64).into()),
            ("more_cuts", remedy.more_cuts.into()),
            ("more_stops", more.into()),
            ("plan", Dynamic::from(altered)),
        ]));
    }
    Ok(table(
        sheet::remedies_table(&part, &remedies, &more_stops, style),
        rows,
    ))
}
