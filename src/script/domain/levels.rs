//! Fitting courses to a height, and the courses of two units to one another.

use rhai::{Array, Dynamic, Map};

use super::TableValue;
use super::catalogue::{map, table};
use super::plans::{UNIT, joint_of, unit_of};
use crate::masonry::{
    Gauge, Joint, LevelOption, MEETS_WITHIN, Unit, best_bed, coursing, level_options,
};
use crate::plan::{MOST_COURSES, Size};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};
use crate::sheet::Table;

const FIT_HEIGHT: Declaration = Declaration {
    name: "fit_height",
    group: Group::Masonry,
    summary: "Ways of bringing courses to a height: all or some beds within tolerance, a first bed, a split course, or the next course.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required("unit", UNIT, "The unit, by catalogue name or as a value."),
        Parameter::required("joint", Want::Length, "The bed joint."),
        Parameter::required(
            "height",
            Want::Length,
            "The height wanted, from the bottom of the first bed to the top of the last unit.",
        ),
    ],
    options: &[],
    returns: "A table, best first; each row's `options` go into a part.",
    examples: &[
        Example {
            script: "fit_height(\"uk\", 10.mm, 308.mm).rows[0].bed",
            shows: "12 mm (about 1/2\")",
        },
        Example {
            script: "let best = fit_height(\"uk\", 10.mm, 320.mm).rows[0];\nplan(\"p\", #{ unit: \"uk\" }).place(\"w\", wall(#{ length: 4 } + best.options)).height()",
            shows: "320 mm (about 1' 0 5/8\")",
        },
    ],
    errors: &[
        errors::CATALOGUE,
        errors::these(&[errors::SIZE_NOT_POSITIVE, errors::SIZE_TOO_LARGE]),
    ],
    see_also: &["fit", "coursing", "wall"],
};

const COURSING: Declaration = Declaration {
    name: "coursing",
    group: Group::Masonry,
    summary: "The courses at which two units come level, and the bed at which the second meets the first most often.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required("unit", UNIT, "The unit that is laid as it is."),
        Parameter::required("joint", Want::Length, "Its bed joint."),
        Parameter::required("other", UNIT, "The other unit, such as a lining's."),
        Parameter::required(
            "other_joint",
            Want::Length,
            "Its bed joint; it may vary within tolerance.",
        ),
        Parameter::required(
            "courses",
            Want::WholeFrom(1, 2000),
            "How many courses of the first.",
        ),
    ],
    options: &[Parameter::optional(
        "meet",
        Want::WholeFrom(1, 2000),
        "most often",
        "A course of the first that has to be met.",
    )],
    returns: "A table, on the best bed where a course has to be met.",
    examples: &[Example {
        script: "coursing(\"uk\", 10.mm, \"nf\", 12.mm, 10).rows.filter(|r| r.meets).len()",
        shows: "1",
    }],
    errors: &[errors::CATALOGUE],
    see_also: &["fit_height", "gauge", "lining"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&FIT_HEIGHT, fit_height);
    registry.function(&COURSING, course_table);
}

/// A unit and its bed with the usual tolerance.
fn laid(call: &Call, unit: &'static str, joint: &'static str) -> Result<(Unit, Joint), Fault> {
    let found = match call.raw(unit) {
        Some(value) => unit_of(value, unit)?,
        None => return Err(Fault::new("unit-missing", "a unit is needed").about(unit)),
    };
    let bed = joint_of(call.length(joint)?, joint)?;
    let bed = Joint::usual_bed(bed).map_err(|error| Fault::from(error).about(joint))?;
    Ok((found, bed))
}

fn fit_height(call: &Call) -> Result<TableValue, Fault> {
    let (unit, bed) = laid(call, "unit", "joint")?;
    let wanted = call.length("height")?;
    Size::length(wanted).map_err(|error| error.at_key("height"))?;
    let style = call.vocabulary().style();
    let heads = [
        "way",
        "#courses",
        "#bed",
        "#first bed",
        "beds apart",
        "split",
        "#height",
        "#off by",
    ];
    let mut shown = Table::new("", &heads);
    let mut rows = Vec::new();
    let found = level_options(unit.height, bed, wanted);
    for option in found
        .into_iter()
        .filter(|option| option.courses <= MOST_COURSES)
    {
        let own = option.some.map_or_else(String::new, |(count, bed)| {
            format!("{} under the highest {count}", style.show(bed))
        });
        let split = option
            .split
            .map_or_else(String::new, |(courses, height)| match courses {
                1 => format!("one course to {}", style.show(height)),
                _ => format!("{courses} courses to {}", style.show(height)),
            });
        shown.row([
            option.way.word().to_owned(),
            option.courses.to_string(),
            style.show(option.bed),
            style.show(option.first),
            own,
            split,
            style.show(option.height),
            style.show(option.height - wanted),
        ]);
        rows.push(map([
            ("way", option.way.word().into()),
            ("courses", i64::from(option.courses).into()),
            ("bed", Dynamic::from(option.bed)),
            ("first_bed", Dynamic::from(option.first)),
            ("height", Dynamic::from(option.height)),
            ("off_by", Dynamic::from(option.height - wanted)),
            ("options", part_options(&option).into()),
        ]));
    }
    Ok(table(shown, rows))
}

/// What to write in a part to have it so. Split courses are the lowest, where they show least: common practice, no
/// source.
fn part_options(option: &LevelOption) -> Map {
    let mut beds = map([
        ("every", Dynamic::from(option.bed)),
        ("first", Dynamic::from(option.first)),
    ]);
    if let Some((count, bed)) = option.some {
        let pair = |course: u32| Dynamic::from(vec![i64::from(course).into(), Dynamic::from(bed)]);
        let apart: Array = (option.courses + 1 - count..=option.courses)
            .map(pair)
            .collect();
        beds.insert("under".into(), apart.into());
    }
    let mut options = map([
        ("courses", i64::from(option.courses).into()),
        ("beds", beds.into()),
    ]);
    if let Some((courses, height)) = option.split {
        let pair =
            |course: u32| Dynamic::from(vec![i64::from(course).into(), Dynamic::from(height)]);
        let split: Array = (1..=courses).map(pair).collect();
        options.insert("split".into(), split.into());
    }
    options
}

fn course_table(call: &Call) -> Result<TableValue, Fault> {
    let (unit, bed) = laid(call, "unit", "joint")?;
    let (other, other_bed) = laid(call, "other", "other_joint")?;
    let courses = call.whole("courses")?;
    let courses = u32::try_from(courses)
        .unwrap_or(MOST_COURSES)
        .min(MOST_COURSES);
    let meet = call.opt_whole("meet", 1..=i64::from(courses))?;
    let meet = meet.and_then(|course| u32::try_from(course).ok());
    let gauge = Gauge::from_bed(unit.height, bed.nominal);
    let top_of = |course| gauge.top_of(course);
    let best = best_bed(top_of, courses, other.height, other_bed, MEETS_WITHIN, meet);
    let style = call.vocabulary().style();
    let asked = best.filter(|_| meet.is_some());
    let shown_bed = asked.map_or(other_bed.nominal, |(bed, _)| bed);
    let title = match best {
        None => "no bed within tolerance meets that course".to_owned(),
        Some((best, met)) => format!(
            "a bed of {} under {} meets {met} of {courses} courses; below on {}",
            style.show(best),
            other.name,
            style.show(shown_bed)
        ),
    };
    let heads = [
        "#course",
        "#top",
        "#other course",
        "#other top",
        "#off by",
        "",
    ];
    let mut shown = Table::new(title, &heads);
    let mut rows = Vec::new();
    let second = Gauge::from_bed(other.height, shown_bed);
    for meeting in coursing(&gauge, &second, courses, MEETS_WITHIN) {
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
