//! Rings: declaring one, and reading how its units go round.

use std::sync::Arc;

use rhai::{Dynamic, Map};

use super::catalogue::{map, table};
use super::coursing::{BEDS, coursing};
use super::parts::{COURSES, FIRED, HEIGHT, rise, size, snap};
use super::{PartValue, PlanValue, TableValue};
use crate::plan::{Dimension, Laying, Measure, Part, Ring};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};
use crate::sheet;

const SNAPS: &[&str] = &["nearest", "up", "down", "exact"];

const RING: Declaration = Declaration {
    name: "ring",
    group: Group::Parts,
    summary: "A ring: courses of units round a middle, each turned by half a unit against the one below.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::optional(
            "inside",
            Want::Length,
            "",
            "Diameter between the middles of opposite inner faces. Give this or `outside`.",
        ),
        Parameter::optional(
            "outside",
            Want::Length,
            "",
            "Diameter between the middles of opposite outer faces.",
        ),
        COURSES,
        HEIGHT,
        Parameter::optional(
            "laid",
            Want::Word(Laying::WORDS),
            "\"stretcher\"",
            "How its units lie: along the ring, across it (header, on edge rowlock) or on end (soldier, sailor).",
        ),
        Parameter::optional(
            "cut",
            Want::Flag,
            "false",
            "Whether units are cut to taper, so that joints are parallel; wedges of mortar otherwise.",
        ),
        Parameter::optional(
            "snap",
            Want::Word(SNAPS),
            "\"nearest\"",
            "How the diameter is brought to whole units round; \"exact\" keeps it and lets the joints make it up.",
        ),
        BEDS,
        FIRED,
    ],
    returns: "A part.",
    examples: &[Example {
        script: "ring(#{ inside: 900.mm, courses: 4, laid: \"header\", fired: true })",
        shows: "ring 900 mm inside, header course on course, 4 courses, fired",
    }],
    errors: &[
        errors::SIZES,
        errors::RISE,
        errors::these(&[
            errors::DIAMETER_IN_UNITS,
            errors::COURSE_TWICE,
            errors::COURSE_LIES_FLAT,
        ]),
    ],
    see_also: &["rings", "chamber", "place"],
};

const RINGS: Declaration = Declaration {
    name: "rings",
    group: Group::Reading,
    summary: "How the units of each ring and curved wall go round: diameters, units to a course, joints at the inner and outer face, and the least radius for units uncut.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[],
    returns: "A table.",
    examples: &[Example {
        script: "plan(\"bowl\", #{ unit: \"uk\" }).place(\"bowl\", ring(#{ inside: 900.mm, courses: 4, laid: \"header\", cut: true })).rings().rows[0].units",
        shows: "37",
    }],
    errors: &[errors::LAID],
    see_also: &["ring", "wall", "pieces", "review"],
};

const ROUND_OPENINGS: Declaration = Declaration {
    name: "round_openings",
    group: Group::Reading,
    summary: "Openings, doors and rows of vents in rings and curved walls: where the left jamb lies round the outer face, clear widths at both faces, and the joints and cuts of their courses. Jambs are radial, the sides of whole and half units.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[],
    returns: "A table.",
    examples: &[
        Example {
            script: "plan(\"bowl\", #{ unit: \"uk\" }).place(\"bowl\", ring(#{ inside: 900.mm, courses: 4, laid: \"header\", cut: true }).vent(#{ name: \"air hole\", course: 1, count: 6, width: 60.mm })).round_openings().rows[0].count",
            shows: "6",
        },
        Example {
            script: "plan(\"wall\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ radius: 4.m, length: 16, courses: 9 }).opening(#{ name: \"gate\", width: 4, courses: [1, 9] })).round_openings().rows[0].cut",
            shows: "16",
        },
    ],
    errors: &[errors::LAID],
    see_also: &["ring", "wall", "opening", "vent", "rings"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&RING, ring);
    registry.method::<PlanValue, TableValue>(&RINGS, |_, plan| rings(&plan));
    registry.method::<PlanValue, TableValue>(&ROUND_OPENINGS, |_, plan| round_openings(&plan));
}

fn ring(call: &Call) -> Result<PartValue, Fault> {
    let (key, measure) = match (call.has("inside"), call.has("outside")) {
        (true, false) => ("inside", Measure::Inside),
        (false, true) => ("outside", Measure::Outside),
        (true, true) => {
            return Err(
                Fault::new("size-twice", "both `outside` and `inside` are given")
                    .remedy("give one of them; the units make up the difference")
                    .about("outside"),
            );
        }
        (false, false) => {
            return Err(Fault::new("size-missing", "a ring needs a diameter")
                .remedy("add inside: 900.mm, or outside: 1.2.m"));
        }
    };
    let size = size(crate::script::Size::Length(call.length(key)?), key)?;
    let ring = Ring {
        diameter: Dimension { size, measure },
        laid: call
            .opt_word("laid")?
            .and_then(|word| Laying::from_word(&word))
            .unwrap_or_default(),
        cut: call.opt_flag("cut")?.unwrap_or(false),
    };
    let mut part = Part::ring(ring, rise(call)?)?;
    part.snap = snap(call)?;
    part.coursing = coursing(call)?;
    part.fired = call.opt_flag("fired")?.unwrap_or(false);
    Ok(PartValue(Arc::new(part)))
}

fn rings(plan: &PlanValue) -> Result<TableValue, Fault> {
    let laid = plan.laid()?;
    let rows: Vec<Map> = laid
        .parts
        .iter()
        .filter_map(|part| Some((part, part.ring?)))
        .map(|(part, ring)| {
            map([
                ("part", part.name.clone().into()),
                ("laid", ring.laid.word().into()),
                ("units", i64::from(ring.count).into()),
                ("inside", Dynamic::from(ring.inner * 2)),
                ("outside", Dynamic::from(ring.outer * 2)),
                ("inner_joint", Dynamic::from(ring.joints.0)),
                ("outer_joint", Dynamic::from(ring.joints.1)),
                ("inner_face", Dynamic::from(ring.faces.0)),
                ("outer_face", Dynamic::from(ring.faces.1)),
                ("within", Dynamic::from(ring.within)),
                ("sweep", ring.sweep.map_or(360.0, f64::to_degrees).into()),
                ("least_radius", Dynamic::from(ring.least_radius)),
            ])
        })
        .collect();
    Ok(table(sheet::rings_table(&laid), rows))
}

fn round_openings(plan: &PlanValue) -> Result<TableValue, Fault> {
    let laid = plan.laid()?;
    let rows: Vec<Map> = laid
        .round_openings_by_row()
        .into_iter()
        .map(|(count, opening)| {
            map([
                ("part", laid.part_name(opening.part).to_owned().into()),
                ("name", opening.name.clone().into()),
                ("kind", opening.kind.word().into()),
                ("from_course", i64::from(opening.courses.0).into()),
                ("to_course", i64::from(opening.courses.1).into()),
                ("count", (count as i64).into()),
                ("from", opening.from().into()),
                ("at", Dynamic::from(opening.at)),
                ("clear_inside", Dynamic::from(opening.clear.0)),
                ("clear_outside", Dynamic::from(opening.clear.1)),
                ("inner_joint", Dynamic::from(opening.joints.0)),
                ("outer_joint", Dynamic::from(opening.joints.1)),
                ("cut", (opening.cut as i64).into()),
            ])
        })
        .collect();
    Ok(table(sheet::round_openings_table(&laid), rows))
}
