//! Looking at work in text: courses, sides and sections.

use std::rc::Rc;

use super::PlanValue;
use super::reading::part_named;
use super::values::{PictureValue, PicturesValue};
use crate::layout::{Axis, Laid};
use crate::outside::Outside;
use crate::plan::Side;
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};
use crate::sheet::{FEWEST_COLUMNS, Pen, Picture, View};

/// A plan for the examples: two courses of a small chamber.
macro_rules! chamber {
    ($rest:literal) => {
        concat!(
            "plan(\"stand\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [3, 2], courses: 2 }))",
            $rest
        )
    };
}

const SHOWN_COURSE: &str = "\
course 1 of box from above, its front below
  +--------------+--------------+--------------+
  |              |              |              |
  |              |              |              |
  |              |              |              |
  +-------+------+--------------+------+-------+
  |       |                            |       |
  |       |                            |       |
  |       |            box             |       |
  |       |                            |       |
  |       |                            |       |
  |       |                            |       |
  +-------+------+--------------+------+-------+
  |              |              |              |
  |              |              |              |
  |              |              |              |
  +--------------+--------------+--------------+
  |------| 100 mm; a character is 15 mm wide, 30 mm deep";

const SHOWN_FRONT: &str = "\
front of stand
   +------+-------------+-------------+------+
 2 |      |             |             |      |
   +------+------+------+------+------+------+
 1 |             |             |             |
   +-------------+-------------+-------------+
   |-----| 100 mm; a character is 16 mm wide, 38 mm high";

const SHOWN_CUT: &str = "\
stand cut 332.5 mm from its left, seen from the left
   +----------+                   +-----------+
   |          +-------------------+           |
   |          |                   |           |
 2 |          |                   |           |
   |          |                   |           |
   +----------+        box        +-----------+
   |          |                   |           |
 1 |          |                   |           |
   |          |                   |           |
   +----------+-------------------+-----------+
   |--------| 100 mm; a character is 11 mm wide, 19 mm high";

const MOST_COLUMNS: i64 = 400;

const PART: Parameter = Parameter::optional(
    "part",
    Want::Name(NameOf::Part),
    "the whole plan",
    "The one part that is drawn.",
);
const COLUMNS: Parameter = Parameter::optional(
    "columns",
    Want::WholeFrom(FEWEST_COLUMNS as i64, MOST_COLUMNS),
    "the terminal's width",
    "How many characters wide it may be.",
);
const ASCII: Parameter = Parameter::optional(
    "ascii",
    Want::Flag,
    "false",
    "Whether only plain characters are used.",
);

const COURSE_PLAN: Declaration = Declaration {
    name: "course_plan",
    group: Group::Sheets,
    summary: "A course from above, drawn to scale in text, its cut pieces marked.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "course",
        Want::WholeNumber,
        "The course, from 1.",
    )],
    options: &[
        Parameter::optional(
            "part",
            Want::Name(NameOf::Part),
            "the first part that has such a course",
            "The part whose course it is; others are drawn where they are cut at the same height.",
        ),
        COLUMNS,
        ASCII,
    ],
    returns: "A picture.",
    examples: &[Example {
        script: chamber!(".course_plan(1, #{ columns: 48, ascii: true })"),
        shows: SHOWN_COURSE,
    }],
    errors: &[
        errors::LAID,
        errors::these(&[errors::NO_SUCH_COURSE, errors::NO_SUCH_PART]),
    ],
    see_also: &["elevation", "section", "explain"],
};

const ELEVATION: Declaration = Declaration {
    name: "elevation",
    group: Group::Sheets,
    summary: "A side as it stands before one, drawn to scale in text, its cut pieces marked.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "side",
        Want::Word(Side::WORDS),
        "The side.",
    )],
    options: &[PART, COLUMNS, ASCII],
    returns: "A picture.",
    examples: &[Example {
        script: chamber!(".elevation(\"front\", #{ columns: 48, ascii: true })"),
        shows: SHOWN_FRONT,
    }],
    errors: &[
        errors::LAID,
        errors::these(&[errors::NO_SUCH_SIDE, errors::NO_SUCH_PART]),
    ],
    see_also: &["course_plan", "section"],
};

const SECTION: Declaration = Declaration {
    name: "section",
    group: Group::Sheets,
    summary: "The work cut upright, drawn to scale in text.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "from",
        Want::Word(Side::WORDS),
        "The side that one looks from.",
    )],
    options: &[
        PART,
        Parameter::optional(
            "at",
            Want::Length,
            "the middle",
            "How far the cut is from the front, or from the left where one looks from the left or right.",
        ),
        COLUMNS,
        ASCII,
    ],
    returns: "A picture.",
    examples: &[Example {
        script: chamber!(".section(\"left\", #{ columns: 48, ascii: true })"),
        shows: SHOWN_CUT,
    }],
    errors: &[
        errors::LAID,
        errors::these(&[
            errors::NO_SUCH_SIDE,
            errors::CUT_BESIDE_THE_WORK,
            errors::NO_SUCH_PART,
        ]),
    ],
    see_also: &["elevation", "course_plan"],
};

const BESIDE: Declaration = Declaration {
    name: "beside",
    group: Group::Sheets,
    summary: "Two pictures beside each other at one scale; what is not so in the other is marked: two courses, or the same side of two plans.",
    kind: CallKind::Method { of: "Picture" },
    positional: &[Parameter::required(
        "other",
        Want::Value("Picture"),
        "The picture on the right.",
    )],
    options: &[],
    returns: "Two pictures.",
    examples: &[Example {
        script: "let bed = plan(\"bed\", #{ unit: \"uk\" }).place(\"bed\", chamber(#{ outside: [3, 2], courses: 2 })); bed.course_plan(1, #{ columns: 64, ascii: true }).beside(bed.course_plan(2, #{ columns: 64, ascii: true }))",
        shows: "",
    }],
    errors: &[],
    see_also: &["course_plan", "elevation", "section"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PictureValue, PicturesValue>(&BESIDE, |call, left| {
        Ok(PicturesValue {
            left,
            right: call.value::<PictureValue>("other")?,
        })
    });
    let outside = registry.outside();
    let to = Rc::clone(&outside);
    registry.method::<PlanValue, PictureValue>(&COURSE_PLAN, move |call, plan| {
        course_plan(call, &plan, &*to)
    });
    let to = Rc::clone(&outside);
    registry.method::<PlanValue, PictureValue>(&ELEVATION, move |call, plan| {
        let side = side(call, "side")?;
        picture(call, &plan, &*to, |_, _| Ok(View::Elevation(side)))
    });
    registry.method::<PlanValue, PictureValue>(&SECTION, move |call, plan| {
        let from = side(call, "from")?;
        let at = call.opt_length("at")?;
        picture(call, &plan, &*outside, |laid, part| {
            section(laid, part, from, at)
        })
    });
}

fn side(call: &Call, key: &str) -> Result<Side, Fault> {
    let word = call.word(key)?;
    Side::from_word(&word).ok_or_else(|| {
        Fault::new("no-such-side", format!("there is no side \"{word}\""))
            .remedy(format!("sides: {}", Side::WORDS.join(", ")))
            .about(key)
    })
}

fn picture(
    call: &Call,
    plan: &PlanValue,
    outside: &dyn Outside,
    view: impl Fn(&Laid, Option<usize>) -> Result<View, Fault>,
) -> Result<PictureValue, Fault> {
    let laid = plan.laid()?;
    let part = match call.opt_text("part")? {
        None => None,
        Some(name) => Some(part_named(plan, &name, "part")?.1),
    };
    let view = view(&laid, part)?;
    let columns = match call.opt_whole("columns", FEWEST_COLUMNS as i64..=MOST_COLUMNS)? {
        Some(columns) => usize::try_from(columns).unwrap_or(FEWEST_COLUMNS),
        None => outside.width().min(MOST_COLUMNS as usize),
    };
    let ascii = call.opt_flag("ascii")?;
    let pen = Pen::fitting(ascii.unwrap_or_else(|| outside.plain_letters()));
    Ok(PictureValue {
        laid,
        picture: Picture {
            view,
            part,
            columns,
            pen,
        },
    })
}

fn course_plan(
    call: &Call,
    plan: &PlanValue,
    outside: &dyn Outside,
) -> Result<PictureValue, Fault> {
    let course = call.whole("course")?;
    let wanted = u32::try_from(course).ok().filter(|course| *course > 0);
    let mut drawn = picture(call, plan, outside, |laid, part| {
        let has = |index: &usize| {
            let courses = laid.parts.get(*index).map_or(0, |part| part.courses);
            wanted.is_some_and(|wanted| wanted <= courses)
        };
        let found = match part {
            Some(part) => Some(part).filter(has),
            None => (0..laid.parts.len()).find(has),
        };
        let (Some(part), Some(course)) = (found, wanted) else {
            let most = laid
                .parts
                .iter()
                .map(|part| part.courses)
                .max()
                .unwrap_or(0);
            let most = part
                .and_then(|part| laid.parts.get(part))
                .map_or(most, |part| part.courses);
            return Err(
                Fault::new("no-such-course", format!("there is no course {course}"))
                    .remedy(format!("write a course from 1 to {most}"))
                    .about("course"),
            );
        };
        Ok(View::Course { part, course })
    })?;
    // A course is seen with what stands round it.
    drawn.picture.part = None;
    Ok(drawn)
}

fn section(
    laid: &Laid,
    part: Option<usize>,
    from: Side,
    at: Option<Length>,
) -> Result<View, Fault> {
    let axis = match from {
        Side::Front | Side::Back => Axis::Y,
        Side::Left | Side::Right => Axis::X,
    };
    let drawn = laid.parts.iter().enumerate();
    let drawn = drawn.filter(|(index, _)| part.is_none_or(|part| part == *index));
    let spans = drawn.map(|(_, part)| part.outside.span(axis));
    let span = spans.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)));
    let (low, high) = span.unwrap_or((Length::ZERO, Length::ZERO));
    let at = at.unwrap_or_else(|| (high - low).half());
    if at.is_negative() || at > high - low {
        return Err(Fault::new(
            "cut-beside-the-work",
            format!("a cut at {at} is beside the work"),
        )
        .remedy(format!("write a length from nothing to {}", high - low))
        .about("at"));
    }
    Ok(View::Section { from, at: low + at })
}
