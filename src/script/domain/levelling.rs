//! Bringing a duct, opening or ledge level with the courses, its ways priced by laying.

use rhai::Dynamic;

use super::catalogue::{map, table};
use super::{PlanValue, TableValue};
use crate::compare::{LevelItem, LevelOf, LevelTask, LevelWays, level_ways};
use crate::plan::{Plan, PlanError};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};
use crate::sheet;

const NAME: Parameter = Parameter::required(
    "name",
    Want::Text,
    "The duct or opening; for a ledge its part.",
);
const OF: Parameter = Parameter::optional(
    "of",
    Want::Word(LevelOf::WORDS),
    "crown, head, top",
    "Which height: crown or invert of a pipe, head or sill of an opening, top of a ledge. The underside of a lintel is the head of its opening.",
);
const HEIGHT: Parameter = Parameter::optional(
    "height",
    Want::Length,
    "level with a course",
    "How high it has to be above the slab; a pipe's crown alone may go without: then the course over it has to lie level.",
);
const PART: Parameter = Parameter::optional(
    "part",
    Want::Name(NameOf::Part),
    "the one that has it",
    "The part, where openings of several parts share a name.",
);
const LEDGE: Parameter = Parameter::optional(
    "ledge",
    Want::WholeFrom(1, 2000),
    "",
    "The course of the ledge that is meant.",
);

const LEVEL: Declaration = Declaration {
    name: "level",
    group: Group::Review,
    summary: "Ways of bringing a duct, opening, lintel or ledge onto the gauge: beds, a split course, another course, another pipe or its height; each priced by laying the plan anew.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[NAME],
    options: &[OF, HEIGHT, PART, LEDGE],
    returns: "A table, best first; each of its rows holds the changed `plan`.",
    examples: &[
        Example {
            script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [5, 4], courses: 9 })).duct(#{ name: \"throat\", from: \"box\", side: \"right\", diameter: 150.mm, course: 3 });\np.level(\"throat\").rows[0].change",
            shows: "a pipe of 140 mm instead of 150 mm",
        },
        Example {
            script: "let p = plan(\"store\", #{ unit: \"uk\" }).place(\"store\", wall(#{ length: 8, courses: 12 }).opening(#{ name: \"door\", width: 2, courses: [1, 8], lintel: \"steel\" }));\np.level(\"door\", #{ of: \"head\", height: 610.mm }).rows[0].change",
            shows: "the beds under courses 5 to 8 of \"store\" 12.5 mm instead of 10 mm",
        },
    ],
    errors: &[
        errors::LEVELLING,
        errors::LAID,
        errors::these(&[
            errors::NO_SUCH_PART,
            errors::SIZE_NOT_POSITIVE,
            errors::SIZE_NEGATIVE,
            errors::HEIGHT_MISSING,
            errors::MATERIAL_UNKNOWN,
        ]),
    ],
    see_also: &["fit_level", "fit_height", "review", "remedies"],
};

const FIT_LEVEL: Declaration = Declaration {
    name: "fit_level",
    group: Group::Review,
    summary: "The plan with one of the ways of `level` made.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[
        NAME,
        Parameter::required(
            "number",
            Want::WholeFrom(1, 1000),
            "Which of the ways, as `level` numbers them.",
        ),
    ],
    options: &[OF, HEIGHT, PART, LEDGE],
    returns: "The changed plan.",
    examples: &[Example {
        script: "let p = plan(\"store\", #{ unit: \"uk\" }).place(\"store\", wall(#{ length: 8, courses: 12 }).opening(#{ name: \"door\", width: 2, courses: [1, 8], lintel: \"steel\" }));\nlet door = #{ of: \"head\", height: 610.mm };\np.fit_level(\"door\", 1, door).level(\"door\", door).rows.len()",
        shows: "0",
    }],
    errors: &[
        errors::LEVELLING,
        errors::LAID,
        errors::these(&[
            errors::NO_SUCH_PART,
            errors::SIZE_NOT_POSITIVE,
            errors::SIZE_NEGATIVE,
            errors::HEIGHT_MISSING,
            errors::MATERIAL_UNKNOWN,
        ]),
    ],
    see_also: &["level", "remedies"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PlanValue, TableValue>(&LEVEL, |call, plan| level(call, &plan));
    registry.method::<PlanValue, PlanValue>(&FIT_LEVEL, |call, plan| fit_level(call, &plan));
}

/// What is asked for, found by name among ducts and openings.
fn task(call: &Call, plan: &Plan) -> Result<LevelTask, Fault> {
    let name = call.text("name")?;
    let part = call.opt_text("part")?;
    let item = if let Some(course) = call.opt_whole("ledge", 1..=2000)? {
        plan.part_named(&name)
            .map_err(|error| error.at_key("name"))?;
        LevelItem::Ledge {
            part: name,
            course: u32::try_from(course).unwrap_or(1),
        }
    } else if part.is_none() && plan.ducts.iter().any(|duct| duct.name == name) {
        LevelItem::Duct(name)
    } else {
        opening(plan, &name, part)?
    };
    let usual = match item {
        LevelItem::Duct(_) => LevelOf::Crown,
        LevelItem::Opening { .. } => LevelOf::Head,
        LevelItem::Ledge { .. } => LevelOf::Top,
    };
    let of = match call.opt_word("of")?.as_deref() {
        None => usual,
        Some("crown") => LevelOf::Crown,
        Some("invert") => LevelOf::Invert,
        Some("head") => LevelOf::Head,
        Some("sill") => LevelOf::Sill,
        Some(_) => LevelOf::Top,
    };
    let fits = match item {
        LevelItem::Duct(_) => matches!(of, LevelOf::Crown | LevelOf::Invert),
        LevelItem::Opening { .. } => matches!(of, LevelOf::Head | LevelOf::Sill),
        LevelItem::Ledge { .. } => of == LevelOf::Top,
    };
    if !fits {
        return Err(
            Fault::new("level-of-nothing", format!("it has no {}", of.word()))
                .remedy(
                    "a pipe has a crown and an invert, an opening a head and a sill, a ledge a top",
                )
                .about("of"),
        );
    }
    let height = call.opt_length("height")?;
    if let Some(height) = height.filter(|height| !height.is_positive()) {
        return Err(Fault::new(
            "size-not-positive",
            format!("a height of {height} is not above the slab"),
        )
        .remedy("write it from the top of the slab, such as 450.mm")
        .about("height"));
    }
    Ok(LevelTask { item, of, height })
}

fn opening(plan: &Plan, name: &str, part: Option<String>) -> Result<LevelItem, Fault> {
    let has = |placed: &crate::plan::Placed| placed.part.openings.iter().any(|o| o.name == name);
    let item = |part: String| LevelItem::Opening {
        part,
        name: name.to_owned(),
    };
    if let Some(part) = part {
        plan.part_named(&part)
            .map_err(|error| error.at_key("part"))?;
        return Ok(item(part));
    }
    let parts: Vec<&String> = plan
        .parts
        .iter()
        .filter(|(_, placed)| has(placed))
        .map(|(part, _)| part)
        .collect();
    match parts.as_slice() {
        [one] => Ok(item((*one).clone())),
        [] => {
            let ducts = plan.ducts.iter().map(|duct| duct.name.as_str());
            let openings = plan.parts.values().flat_map(|placed| &placed.part.openings);
            let names: Vec<&str> = ducts.chain(openings.map(|o| o.name.as_str())).collect();
            let known = if names.is_empty() {
                "the plan has neither".to_owned()
            } else {
                format!("there are: {}", names.join(", "))
            };
            Err(PlanError::new(
                "nothing-to-level",
                format!("there is no duct or opening \"{name}\""),
                known,
            )
            .at_key("name")
            .into())
        }
        several => {
            let names: Vec<&str> = several.iter().map(|name| name.as_str()).collect();
            Err(PlanError::new(
                "which-opening",
                format!("\"{name}\" is an opening of {}", names.join(" and ")),
                format!("say which: part: \"{}\"", names.first().unwrap_or(&"")),
            )
            .at_key("name")
            .into())
        }
    }
}

fn ways(call: &Call, plan: &PlanValue) -> Result<(LevelTask, LevelWays), Fault> {
    let task = task(call, &plan.plan)?;
    let ways = level_ways(&plan.plan, &task)?;
    Ok((task, ways))
}

fn level(call: &Call, plan: &PlanValue) -> Result<TableValue, Fault> {
    let (task, found) = ways(call, plan)?;
    let style = plan.plan.style;
    let mut rows = Vec::with_capacity(found.ways.len());
    for (number, way) in (1_i64..).zip(&found.ways) {
        rows.push(map([
            ("number", number.into()),
            ("change", sheet::way_words(way, style).into()),
            ("height", Dynamic::from(way.reading.height)),
            ("off_by", Dynamic::from(way.reading.off)),
            ("meets", way.reading.meets.into()),
            ("more_cuts", way.more_cuts.into()),
            ("more_odd_cuts", way.more_odd.into()),
            ("more_units", way.more_units.into()),
            ("more_breaches", way.more_breaches.into()),
            ("more_findings", way.more_findings.into()),
            ("higher", Dynamic::from(way.higher)),
            (
                "plan",
                Dynamic::from(PlanValue::new(Plan::clone(&way.plan))?),
            ),
        ]));
    }
    Ok(table(sheet::level_table(&task, &found, style), rows))
}

fn fit_level(call: &Call, plan: &PlanValue) -> Result<PlanValue, Fault> {
    let (_, found) = ways(call, plan)?;
    let number = call.whole("number")?;
    let at = usize::try_from(number).ok().and_then(|n| n.checked_sub(1));
    let Some(way) = at.and_then(|at| found.ways.get(at)) else {
        return Err(Fault::new(
            "no-such-way",
            match found.ways.len() {
                0 => "nothing has to be changed, or nothing that was tried helps".to_owned(),
                1 => format!("there is no way {number}; there is one"),
                count => format!("there is no way {number}; there are {count}"),
            },
        )
        .remedy("`level` with the same options lists them")
        .about("number"));
    };
    PlanValue::new(Plan::clone(&way.plan))
}
