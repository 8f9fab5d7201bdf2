//! Linings of chambers and rings: declaring one, and the courses at which it meets its walls.

use std::sync::Arc;

use rhai::{Dynamic, Map};

use super::catalogue::{map, table};
use super::coursing::{BEDS, SPLIT, coursing};
use super::parts::{COURSES, HEIGHT, rise};
use super::plans::UNIT;
use super::{PartValue, PlanValue, TableValue, own};
use crate::masonry::Catalogue;
use crate::plan::{GapFill, Laying, Lining, LintelKind, Meet, Part, PartKind, Rise, Shape, Snap};
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};
use crate::sheet::Table;

const SNAPS: &[&str] = &["exact", "down"];
const MEETS: &[&str] = &["most"];
const LINTELS: &[&str] = &["concrete", "stone", "steel", "none"];

/// Left clear behind a lining unless another gap is asked for: common practice, no source.
const USUAL_GAP: Length = Length::mm(10);
/// Widest gap: more is a space of its own.
const WIDEST_GAP: Length = Length::mm(200);

const LINING: Declaration = Declaration {
    name: "lining",
    group: Group::Parts,
    summary: "The chamber or ring lined inside with work of its own unit, gauge and joints, clear of the walls. It stands in the plan as \"firebox lining\"; openings, vents and ducts of the walls go through it.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::optional("unit", UNIT, "\"firebrick\"", "Its unit."),
        Parameter::optional(
            "gap",
            Want::Length,
            "10.mm",
            "Clear between walls and lining at least, so that it may grow with heat.",
        ),
        Parameter::optional(
            "fill",
            Want::Word(GapFill::WORDS),
            "\"open\"",
            "What is in the gap: nothing, a compressible board or mineral wool.",
        ),
        Parameter::optional(
            "laid",
            Want::Word(Laying::WORDS),
            "\"stretcher\", in a ring \"sailor\"",
            "How its units lie; in a chamber flat (stretcher) or on edge (shiner).",
        ),
        Parameter::optional(
            "courses",
            COURSES.wants,
            "up to the walls",
            "How many courses it has.",
        ),
        Parameter::optional(
            "height",
            HEIGHT.wants,
            "up to the walls",
            "How high it is; brought to whole courses.",
        ),
        Parameter::optional(
            "joint",
            Want::Length,
            "the unit's",
            "Its head joint; sets the bed joint too, unless `bed` is given.",
        ),
        Parameter::optional("bed", Want::Length, "as the head joint", "Its bed joint."),
        Parameter::optional(
            "meet",
            Want::AnyOf(&[Want::Word(MEETS), Want::WholeNumber]),
            "none",
            "A course of the walls that it is to come level with, or \"most\" of them; chooses its bed within tolerance.",
        ),
        Parameter::optional(
            "snap",
            Want::Word(SNAPS),
            "\"exact\"",
            "In a chamber: keep the gap and cut units, or \"down\" to half units and let the gap grow.",
        ),
        Parameter::optional(
            "cut",
            Want::Flag,
            "true",
            "Whether units of a ring are cut to taper, so that joints stay thin.",
        ),
        Parameter::optional(
            "lintel",
            Want::Word(LINTELS),
            "\"concrete\"",
            "What carries it over openings that a lintel or arch spans in the walls.",
        ),
        Parameter::optional(
            "bond",
            Want::Name(NameOf::Bond),
            "\"stretcher\"",
            "Its bond.",
        ),
        Parameter::optional(
            "mortar",
            Want::Name(NameOf::Mix),
            "\"refractory\"",
            "Its mortar.",
        ),
        Parameter::optional(
            "mortar_bag",
            Want::Mass,
            "25.kg",
            "Mass of a bag of its mortar; needs `mortar`.",
        ),
        BEDS,
        SPLIT,
    ],
    returns: "The part with it.",
    examples: &[
        Example {
            script: "let firebox = chamber(#{ inside: [3, 3], courses: 9, fired: true }).lining(#{ laid: \"shiner\", gap: 10.mm });\nplan(\"p\", #{ unit: \"uk\" }).place(\"firebox\", firebox).inside(\"firebox\")",
            shows: "538 mm across × 538 mm deep × 587.4 mm high",
        },
        Example {
            script: "let bowl = ring(#{ inside: 1200.mm, courses: 5, laid: \"header\", fired: true }).lining(#{ courses: 1, fill: \"wool\" });\nplan(\"p\", #{ unit: \"uk\" }).place(\"bowl\", bowl).units(\"firebrick\")",
            shows: "33",
        },
    ],
    errors: &[
        errors::LININGS,
        errors::RISE,
        errors::CATALOGUE,
        errors::these(&[
            errors::COURSE_OUTSIDE_PART,
            errors::COURSE_TWICE,
            errors::COURSE_LIES_FLAT,
            errors::MASS_NOT_POSITIVE,
            errors::BAG_WITHOUT_MORTAR,
            errors::SIZE_NOT_POSITIVE,
            errors::SIZE_TOO_LARGE,
        ]),
    ],
    see_also: &["chamber", "ring", "coursing", "laid_with"],
};

const COURSING: Declaration = Declaration {
    name: "coursing",
    group: Group::Reading,
    summary: "The courses of a lined part beside those of its lining as laid, and which come level.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "part",
        Want::Name(NameOf::Part),
        "The lined part, or its lining.",
    )],
    options: &[],
    returns: "A table.",
    examples: &[Example {
        script: "let firebox = chamber(#{ inside: [3, 3], courses: 9 }).lining(#{ meet: 8 });\nplan(\"p\", #{ unit: \"uk\" }).place(\"firebox\", firebox).coursing(\"firebox\").rows[7].meets",
        shows: "true",
    }],
    errors: &[
        errors::LAID,
        errors::these(&[errors::NO_SUCH_PART, errors::NOT_LINED]),
    ],
    see_also: &["lining", "gauge", "fit_height"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PartValue, _>(&LINING, |call, part| lined(call, &part.0));
    registry.method::<PlanValue, TableValue>(&COURSING, |call, plan| meetings(call, &plan));
}

fn lined(call: &Call, part: &Part) -> Result<PartValue, Fault> {
    let gap = call.opt_length("gap")?.unwrap_or(USUAL_GAP);
    if gap.is_negative() || gap > WIDEST_GAP {
        return Err(Fault::new(
            "gap-out-of-range",
            format!("a lining {gap} clear of its walls cannot be laid"),
        )
        .remedy(format!(
            "write a gap from 0.mm to {WIDEST_GAP}; 10.mm is usual"
        ))
        .about("gap"));
    }
    let usual = match part.kind() {
        PartKind::Ring => Laying::Sailor,
        _ => Laying::Stretcher,
    };
    let asked: Option<Rise> = if call.has("courses") || call.has("height") {
        Some(rise(call)?)
    } else {
        None
    };
    let word = |key: &'static str| call.opt_word(key);
    let lintel = match word("lintel")?.as_deref() {
        None => Some(LintelKind::Concrete),
        Some(word) => LintelKind::from_word(word),
    };
    let lining = Lining {
        gap,
        fill: word("fill")?
            .and_then(|word| GapFill::from_word(&word))
            .unwrap_or_default(),
        laid: word("laid")?
            .and_then(|word| Laying::from_word(&word))
            .unwrap_or(usual),
        cut: call.opt_flag("cut")?.unwrap_or(true),
        to_top: asked.is_none(),
        meet: meet(call)?,
        lintel,
    };
    let mut made = Part::new(Shape::Lining(lining), asked.unwrap_or(Rise::Courses(1)))?;
    made.coursing = coursing(call)?;
    made.snap = match word("snap")?.as_deref() {
        Some("down") => Snap::Down,
        _ => Snap::Exact,
    };
    let catalogue = Catalogue::builtin()?;
    made.own.unit = Some(catalogue.unit("firebrick")?.clone());
    made.own.bond = Some("stretcher".to_owned());
    made.own.mortar = Some(own::choice(catalogue.mortar("refractory")?, None)?);
    own::set(call, &mut made.own)?;
    Ok(PartValue(Arc::new(part.clone().with_lining(made)?)))
}

fn meet(call: &Call) -> Result<Option<Meet>, Fault> {
    let Some(value) = call.raw("meet") else {
        return Ok(None);
    };
    let Ok(course) = value.as_int() else {
        return Ok(Some(Meet::Most));
    };
    match u32::try_from(course) {
        Ok(course) if course >= 1 => Ok(Some(Meet::Course(course))),
        _ => Err(Fault::new(
            "course-outside-part",
            format!("there is no course {course}"),
        )
        .remedy("write a course of the walls, counted from 1, or \"most\"")
        .about("meet")),
    }
}

fn meetings(call: &Call, plan: &PlanValue) -> Result<TableValue, Fault> {
    let name = call.text("part")?;
    plan.plan
        .part_named(&name)
        .map_err(|error| Fault::from(error).about("part"))?;
    let laid = plan.laid()?;
    let index = laid.part(&name).map_or(0, |(index, _)| index);
    let found = laid.lining_of(index).or_else(|| laid.lines(index));
    let Some(lining) = found else {
        return Err(
            Fault::new("not-lined", format!("\"{name}\" has no lining"))
                .remedy("line it: chamber(#{ ... }).lining(#{ gap: 10.mm }); coursing(\"uk\", 10.mm, \"firebrick\", 3.mm, 12) compares two units")
                .about("part"),
        );
    };
    let style = plan.plan.style;
    let heads = [
        "#course",
        "#top",
        "#lining course",
        "#lining top",
        "#off by",
        "",
    ];
    let title = format!("courses of {} and its lining", laid.part_name(lining.host));
    let mut shown = Table::new(title, &heads);
    let mut rows: Vec<Map> = Vec::new();
    for meeting in lining.meetings(&laid) {
        let off = meeting.other_height - meeting.height;
        shown.row([
            meeting.course.to_string(),
            style.show(meeting.height),
            meeting.other.to_string(),
            style.show(meeting.other_height),
            style.show(off),
            if meeting.meets { "meet" } else { "" }.to_owned(),
        ]);
        rows.push(map([
            ("course", i64::from(meeting.course).into()),
            ("height", Dynamic::from(meeting.height)),
            ("other_course", i64::from(meeting.other).into()),
            ("other_height", Dynamic::from(meeting.other_height)),
            ("off_by", Dynamic::from(off)),
            ("meets", meeting.meets.into()),
        ]));
    }
    Ok(table(shown, rows))
}
