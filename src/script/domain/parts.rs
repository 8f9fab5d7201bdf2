use std::sync::Arc;

use super::PartValue;
use super::coursing::{BEDS, LAID, SPLIT, coursing};
use super::leaves::{LEAVES, leaves};
use crate::masonry::Catalogue;
use crate::plan::{
    Core, Dimension, Heading, Ledge, Leg, Lintel, LintelKind, Measure, Notch, Opening, Part,
    PlanError, Rise, Shape, Side, SideRef, Size, Snap, Vent,
};
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Size as Given,
    Want, errors,
};

const SNAPS: &[&str] = &["nearest", "up", "down", "exact"];
const CORES: &[&str] = &["open", "concrete", "units"];
/// What a lintel's map may say.
const LINTEL_ENTRIES: &[Parameter] = &[
    Parameter::required("kind", Want::Word(LintelKind::WORDS), "What it is of."),
    Parameter::optional(
        "bearing",
        Want::Length,
        "",
        "How far it lies on the wall at each end.",
    ),
    Parameter::optional(
        "bar",
        Want::Length,
        "",
        "How thick the bar is that lies in the bed.",
    ),
    Parameter::optional(
        "courses",
        Want::WholeFrom(1, 20),
        "",
        "How many courses high a stone or cast one is.",
    ),
];
/// A lintel: a word, or a map of its details.
const LINTEL: Want = Want::AnyOf(&[Want::Word(LintelKind::WORDS), Want::Entries(LINTEL_ENTRIES)]);

pub(super) const COURSES: Parameter = Parameter::optional(
    "courses",
    Want::WholeNumber,
    "",
    "How many courses high; give this or `height`.",
);
pub(super) const HEIGHT: Parameter = Parameter::optional(
    "height",
    Want::Length,
    "",
    "How high; brought to whole courses by `snap`.",
);
const THICKNESS: Parameter = Parameter::optional(
    "thickness",
    Want::Number,
    "0.5",
    "Thickness of the walls in units: 0.5 is half-brick; 1 and 1.5 are bonded through where the bond has headers; else more is laid as leaves of stretchers side by side.",
);
const SNAP: Parameter = Parameter::optional(
    "snap",
    Want::Word(SNAPS),
    "\"nearest\"",
    "How lengths are brought to whole or half units.",
);
const BOND: Parameter = Parameter::optional(
    "bond",
    Want::Name(NameOf::Bond),
    "the plan's",
    "Bond of this part: stretcher, third, quarter, stack, header, english, english cross, flemish, flemish cross, monk, flemish garden, english garden, common.",
);
pub(super) const FIRED: Parameter = Parameter::optional(
    "fired",
    Want::Flag,
    "false",
    "Whether a fire burns in it; parts joined to it by a duct carry its cautions too.",
);

const RETAINS: Parameter = Parameter::optional(
    "retains",
    Want::Flag,
    "false",
    "Whether soil lies against its walls, up to the top.",
);

const CHAMBER: Declaration = Declaration {
    name: "chamber",
    group: Group::Parts,
    summary: "A closed rectangle of walls with an inside.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::optional(
            "outside",
            Want::Pair(&Want::Size),
            "",
            "Size across and deep over the outer faces: n units are n(L + j) − j. Give this or `inside`.",
        ),
        Parameter::optional(
            "inside",
            Want::Pair(&Want::Size),
            "",
            "Size across and deep between the inner faces: n units are n(L + j) + j.",
        ),
        COURSES,
        HEIGHT,
        THICKNESS,
        LEAVES,
        SNAP,
        BOND,
        BEDS,
        SPLIT,
        LAID,
        FIRED,
        RETAINS,
    ],
    returns: "A part.",
    examples: &[
        Example {
            script: "chamber(#{ outside: [4, 3], courses: 9, fired: true })",
            shows: "chamber outside 4 units across × 3 units deep, 9 courses, fired",
        },
        Example {
            script: "plan(\"p\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [4, 3], courses: 9, beds: #{ first: 15.mm }, split: [[5, 40.mm]] })).height()",
            shows: "655 mm (about 2' 1 13/16\")",
        },
        Example {
            script: "plan(\"store\", #{ unit: \"uk\", bond: \"english\" }).place(\"store\", chamber(#{ outside: [4, 4], courses: 8, thickness: 1 })).inside(\"store\").across",
            shows: "460 mm (about 1' 6 1/8\")",
        },
    ],
    errors: &[
        errors::SIZES,
        errors::RISE,
        errors::WALLS,
        errors::these(&[errors::NOT_IN_CATALOGUE]),
    ],
    see_also: &["wall", "pier", "plan", "opening", "ledge"],
};

const WALL: Declaration = Declaration {
    name: "wall",
    group: Group::Parts,
    summary: "A wall: straight, along a path of legs walked with the wall to the left, or curved by a radius.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::optional(
            "length",
            Want::Size,
            "",
            "Length of a straight wall: n units are n(L + j) − j; of a curved one, round its hollow face. Give this or `legs`.",
        ),
        Parameter::optional(
            "radius",
            Want::Length,
            "straight",
            "Curves the wall: from the middle to the hollow face. Stretchers at thickness 0.5, headers at 1, with free ends.",
        ),
        Parameter::optional(
            "sweep",
            Want::Number,
            "",
            "How far a curved wall goes round, in degrees, instead of `length`.",
        ),
        Parameter::optional(
            "bulges",
            Want::Word(Side::WORDS),
            "\"front\"",
            "The side to which a curved wall bulges.",
        ),
        Parameter::optional(
            "cut",
            Want::Flag,
            "false",
            "Whether units of a curved wall are cut to taper, so that joints are parallel; wedges of mortar otherwise.",
        ),
        Parameter::optional(
            "legs",
            Want::List(&Want::Anything),
            "",
            "Legs in walking order along the outer face, each [\"right\", 8] with a heading (right, back, left, front) and a size.",
        ),
        Parameter::optional(
            "closed",
            Want::Flag,
            "false",
            "Whether the last leg comes back to the start.",
        ),
        COURSES,
        HEIGHT,
        THICKNESS,
        LEAVES,
        SNAP,
        BOND,
        BEDS,
        SPLIT,
        LAID,
        RETAINS,
    ],
    returns: "A part.",
    examples: &[
        Example {
            script: "let cavity = #{ cavity: 50.mm, ties: #{ across: 900.mm, up: 450.mm } };\nplan(\"p\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 12, courses: 12, leaves: cavity })).outside(\"wall\").deep",
            shows: "255 mm (about 10 1/16\")",
        },
        Example {
            script: "plan(\"p\", #{ unit: \"uk\" }).place(\"w\", wall(#{ length: 8, courses: 8, thickness: 1, laid: [[5, \"soldier\"], [8, \"rowlock\"]] })).height()",
            shows: "787.5 mm (about 2' 7\")",
        },
        Example {
            script: "plan(\"p\", #{ unit: \"uk\" }).place(\"w\", wall(#{ radius: 3.m, sweep: 90, courses: 6 })).rings().rows[0].units",
            shows: "22",
        },
        Example {
            script: "wall(#{ length: 12, courses: 6 })",
            shows: "wall 12 units, 6 courses",
        },
        Example {
            script: "wall(#{ legs: [[\"right\", 8], [\"back\", 4]], height: 1.m })",
            shows: "wall 8 units + 4 units, 1000 mm high",
        },
    ],
    errors: &[
        errors::SIZES,
        errors::RISE,
        errors::WALLS,
        errors::PATHS,
        errors::these(&[errors::NOT_IN_CATALOGUE]),
    ],
    see_also: &["chamber", "pier", "opening"],
};

const PIER: Declaration = Declaration {
    name: "pier",
    group: Group::Parts,
    summary: "A free pier: solid at one unit, with a middle from one and a half units.",
    kind: CallKind::Function,
    positional: &[],
    options: &[
        Parameter::required(
            "outside",
            Want::Pair(&Want::Size),
            "Size across and deep over its faces: n units are n(L + j) − j.",
        ),
        COURSES,
        HEIGHT,
        Parameter::optional(
            "core",
            Want::Word(CORES),
            "\"open\"",
            "What fills the middle of a pier wider than one unit: nothing, concrete, or rows of units across and along in turn.",
        ),
        SNAP,
        BEDS,
        SPLIT,
    ],
    returns: "A part.",
    examples: &[Example {
        script: "pier(#{ outside: [1.5, 1.5], courses: 12, core: \"concrete\" })",
        shows: "pier 1.5 units across × 1.5 units deep, 12 courses",
    }],
    errors: &[
        errors::SIZES,
        errors::RISE,
        errors::these(&[errors::COURSE_TWICE, errors::COURSE_LIES_FLAT]),
    ],
    see_also: &["wall", "chamber"],
};

pub(super) const SIDE: Parameter = Parameter::optional(
    "side",
    Want::Word(Side::WORDS),
    "",
    "Which side of a chamber or ring, seen from the front; in a ring \"front\" where it is not given.",
);
pub(super) const LEG: Parameter = Parameter::optional(
    "leg",
    Want::WholeFrom(1, 64),
    "1",
    "Which leg of a wall, counted from 1.",
);
const BRANCH: Parameter = Parameter::optional(
    "branch",
    Want::Text,
    "",
    "The branch or partition it is in, by name, instead of a side or leg.",
);
pub(super) const ANNEX: Parameter = Parameter::optional(
    "annex",
    Want::Text,
    "",
    "The annex whose `side` is meant, by name, instead of the chamber's.",
);
const WIDTH: Parameter = Parameter::required(
    "width",
    Want::Size,
    "Clear width: n units are n(L + j) + j.",
);
const RANGE: Parameter = Parameter::required(
    "courses",
    Want::Pair(&Want::WholeNumber),
    "The lowest and the highest open course, both included.",
);
const AT: Parameter = Parameter::optional(
    "at",
    Want::Size,
    "centred",
    "Distance from the wall's left end, seen from outside, to the left jamb; round the outer face of a curved wall, and of a ring from the middle of its side.",
);
pub(super) const LINTEL_OPTION: Parameter = Parameter::optional(
    "lintel",
    LINTEL,
    "none",
    "What carries the work above: \"steel\", \"stone\", \"concrete\", or a map such as #{ kind: \"steel\", bearing: 150.mm, bar: 8.mm } or #{ kind: \"stone\", courses: 2 }. Too near a corner to bear before it, a stone takes the corner in its courses.",
);

const OPENING: Declaration = Declaration {
    name: "opening",
    group: Group::Parts,
    summary: "The part with an opening through a wall, over a range of courses.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::required("name", Want::Text, "Its name, unique in the part."),
        SIDE,
        LEG,
        BRANCH,
        ANNEX,
        WIDTH,
        RANGE,
        AT,
        LINTEL_OPTION,
        super::arches::ARCH_OPTION,
        super::heads::HEAD_OPTION,
        super::sills::SILL_OPTION,
        super::sills::THRESHOLD_OPTION,
    ],
    returns: "The part with it.",
    examples: &[
        Example {
            script: "wall(#{ length: 8, courses: 20 }).opening(#{ name: \"store\", width: 3, courses: [1, 6], arch: #{ kind: \"segmental\", rise: 120.mm, rings: 2 } })",
            shows: "wall 8 units, 20 courses, 1 opening",
        },
        Example {
            script: "chamber(#{ outside: [4, 3], courses: 9 }).opening(#{ name: \"stoke hole\", side: \"front\", width: 1, courses: [2, 4], lintel: \"steel\" })",
            shows: "chamber outside 4 units across × 3 units deep, 9 courses, 1 opening",
        },
        Example {
            script: "plan(\"p\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 8, courses: 16 }).opening(#{ name: \"niche\", width: 1, courses: [1, 4], head: \"corbel\" })).arches().rows[0].courses",
            shows: "3",
        },
        Example {
            script: "plan(\"p\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 8, courses: 12 }).opening(#{ name: \"hatch\", width: 2, courses: [4, 9], lintel: \"stone\", sill: #{ kind: \"rowlock\", slope: 15 } })).pieces(\"wall\", 4).rows.filter(|row| row.role == \"sill rowlock\").len()",
            shows: "6",
        },
    ],
    errors: &[
        errors::PLACES,
        errors::SIZES,
        errors::HEADS,
        errors::FEET,
        errors::these(&[errors::COURSES_OUT_OF_RANGE, errors::COURSE_OUTSIDE_PART]),
    ],
    see_also: &["door", "vent", "chamber", "wall", "arches"],
};

const DOOR: Declaration = Declaration {
    name: "door",
    group: Group::Parts,
    summary: "The part with an opening that is closed by a leaf in a frame; both are sized in the takeoff.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: OPENING.options,
    returns: "The part with it.",
    examples: &[Example {
        script: "chamber(#{ outside: [4, 3], courses: 9 }).door(#{ name: \"fire door\", side: \"front\", width: 2, courses: [2, 6], lintel: \"steel\" })",
        shows: "chamber outside 4 units across × 3 units deep, 9 courses, 1 opening",
    }],
    errors: &[
        errors::PLACES,
        errors::SIZES,
        errors::HEADS,
        errors::FEET,
        errors::these(&[errors::COURSES_OUT_OF_RANGE, errors::COURSE_OUTSIDE_PART]),
    ],
    see_also: &["opening", "clearances"],
};

const VENT: Declaration = Declaration {
    name: "vent",
    group: Group::Parts,
    summary: "The part with a row of vents, one course high, spread along a wall where they need the fewest cuts.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::optional(
            "name",
            Want::Text,
            "\"vent\" and its course",
            "Its name, for reports.",
        ),
        SIDE,
        LEG,
        BRANCH,
        ANNEX,
        Parameter::required("course", Want::WholeNumber, "The course it is in."),
        Parameter::optional("count", Want::WholeFrom(1, 1000), "1", "How many."),
        Parameter::required("width", Want::Length, "Width of each."),
    ],
    returns: "The part with it.",
    examples: &[Example {
        script: "chamber(#{ outside: [4, 3], courses: 9 }).vent(#{ side: \"left\", course: 2, count: 2, width: 80.mm })",
        shows: "chamber outside 4 units across × 3 units deep, 9 courses, 1 row of vents",
    }],
    errors: &[
        errors::PLACES,
        errors::COURSES,
        errors::these(&[errors::SIZE_NOT_POSITIVE]),
    ],
    see_also: &["opening", "door"],
};

const LEDGE: Declaration = Declaration {
    name: "ledge",
    group: Group::Parts,
    summary: "The chamber with headers that project inwards to carry a rack, flush outside.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::required(
            "course",
            Want::WholeNumber,
            "The course the headers are in.",
        ),
        Parameter::optional(
            "sides",
            Want::List(&Want::Word(Side::WORDS)),
            "[\"left\", \"right\"]",
            "On which sides.",
        ),
        Parameter::optional(
            "count",
            Want::WholeFrom(1, 100),
            "2",
            "How many headers on each side.",
        ),
        Parameter::optional(
            "project",
            Want::Size,
            "0.5",
            "How far they project from the inner face: n units are n(L + j).",
        ),
        Parameter::optional(
            "notch",
            Want::Pair(&Want::Length),
            "none",
            "A rebate in the upper inner edge to hold the rack: how far back, how deep.",
        ),
    ],
    returns: "The part with it.",
    examples: &[Example {
        script: "chamber(#{ outside: [4, 4], courses: 24 }).ledge(#{ course: 9, count: 2, project: 0.5, notch: [20.mm, 15.mm] })",
        shows: "chamber outside 4 units across × 4 units deep, 24 courses, 1 ledge",
    }],
    errors: &[
        errors::LEDGES,
        errors::COURSES,
        errors::these(&[
            errors::SIDE_MISSING,
            errors::SIZE_NOT_POSITIVE,
            errors::SIZE_NOT_IN_HALVES,
            errors::SIZE_TOO_LARGE,
            errors::TOO_MANY_FEATURES,
        ]),
    ],
    see_also: &["chamber", "review"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&CHAMBER, chamber);
    registry.function(&WALL, wall);
    registry.function(&PIER, pier);
    registry.method::<PartValue, _>(&OPENING, |call, part| opening(call, &part, false));
    registry.method::<PartValue, _>(&DOOR, |call, part| opening(call, &part, true));
    registry.method::<PartValue, _>(&VENT, |call, part| vent(call, &part));
    registry.method::<PartValue, _>(&LEDGE, |call, part| ledge(call, &part));
}

type Made = Result<PartValue, Fault>;

/// A size of the plan layer from one of the language.
pub(super) fn size(given: Given, key: &'static str) -> Result<Size, Fault> {
    let size = match given {
        Given::Count(count) => Size::units(count),
        Given::Length(length) => Size::length(length),
    };
    size.map_err(|error| error.at_key(key).into())
}

/// Two sizes; a wrong one is pointed at, not the pair.
pub(super) fn two_sizes(call: &Call, key: &'static str) -> Result<[Size; 2], Fault> {
    let [across, deep] = call.sizes::<2>(key)?;
    let nth = |given, at| size(given, key).map_err(|fault| fault.element(at));
    Ok([nth(across, 0)?, nth(deep, 1)?])
}

pub(super) fn rise(call: &Call) -> Result<Rise, Fault> {
    let courses = call
        .has("courses")
        .then(|| call.whole("courses"))
        .transpose()?;
    let height = call
        .has("height")
        .then(|| call.length("height"))
        .transpose()?;
    match (courses, height) {
        (Some(courses), None) => Ok(Rise::courses(courses)?),
        (None, Some(height)) => {
            Size::length(height).map_err(|error| error.at_key("height"))?;
            Ok(Rise::Height(height))
        }
        (Some(_), Some(_)) => Err(Fault::new(
            "height-twice",
            "both `courses` and `height` are given",
        )
        .remedy("give one of them")
        .about("height")),
        (None, None) => Err(Fault::new(
            "height-missing",
            format!("`{}` needs to know how high it is", call.declaration().name),
        )
        .remedy("add courses: 12, or height: 1.m")),
    }
}

fn finish(call: &Call, shape: Shape) -> Result<Part, Fault> {
    finished(call, Part::new(shape, rise(call)?)?)
}

/// A part with the options that all walls take.
pub(super) fn finished(call: &Call, mut part: Part) -> Result<Part, Fault> {
    if call.has("thickness") {
        part = part.with_thickness(call.number("thickness")?)?;
    }
    part.snap = snap(call)?;
    part.coursing = coursing(call)?;
    part.leaves = leaves(call)?;
    part.own.bond = call.opt_text("bond")?;
    if let Some(bond) = &part.own.bond {
        Catalogue::builtin()?
            .bond(bond)
            .map_err(|error| Fault::from(error).about("bond"))?;
    }
    part.fired = call.opt_flag("fired")?.unwrap_or(false);
    part.retains = call.opt_flag("retains")?.unwrap_or(false);
    Ok(part)
}

pub(super) fn snap(call: &Call) -> Result<Snap, Fault> {
    Ok(match call.opt_word("snap")?.as_deref() {
        Some("up") => Snap::Up,
        Some("down") => Snap::Down,
        Some("exact") => Snap::Exact,
        _ => Snap::Nearest,
    })
}

pub(super) fn made(part: Part) -> PartValue {
    PartValue(Arc::new(part))
}

/// Size across and deep, outside or inside.
pub(super) fn dimensions(call: &Call) -> Result<[Dimension; 2], Fault> {
    let (key, measure) = match (call.has("outside"), call.has("inside")) {
        (true, false) => ("outside", Measure::Outside),
        (false, true) => ("inside", Measure::Inside),
        (true, true) => {
            return Err(
                Fault::new("size-twice", "both `outside` and `inside` are given")
                    .remedy("give one of them; the walls make up the difference")
                    .about("inside"),
            );
        }
        (false, false) => {
            return Err(Fault::new(
                "size-missing",
                format!("`{}` needs a size", call.declaration().name),
            )
            .remedy("add outside: [4, 3] in units, or inside: [600.mm, 450.mm]"));
        }
    };
    let [across, deep] = two_sizes(call, key)?;
    Ok([across, deep].map(|size| Dimension { size, measure }))
}

fn chamber(call: &Call) -> Made {
    let [across, deep] = dimensions(call)?;
    let shape = Shape::Chamber { across, deep };
    finish(call, shape).map(made)
}

fn wall(call: &Call) -> Made {
    if call.has("radius") {
        return super::curves::curve(call).map(made);
    }
    if let Some(key) = super::curves::ONLY_CURVED
        .into_iter()
        .find(|key| call.has(key))
    {
        return Err(Fault::new(
            "curve-without-radius",
            format!("`{key}` is for a curved wall"),
        )
        .remedy("add radius: 3.m, or leave it out")
        .about(key));
    }
    let closed = call.opt_flag("closed")?.unwrap_or(false);
    let legs = match (call.has("length"), call.has("legs")) {
        (true, false) => vec![Leg {
            heading: Heading::Right,
            size: size(call.size("length")?, "length")?,
        }],
        (false, true) => legs(call)?,
        (true, true) => {
            return Err(
                Fault::new("size-twice", "both `length` and `legs` are given")
                    .remedy("give `length` for a straight wall, `legs` for a path")
                    .about("legs"),
            );
        }
        (false, false) => {
            return Err(Fault::new("size-missing", "a wall needs a length")
                .remedy("add length: 12 in units, or legs: [[\"right\", 8], [\"back\", 4]]"));
        }
    };
    finish(call, Shape::Wall { legs, closed }).map(made)
}

fn legs(call: &Call) -> Result<Vec<Leg>, Fault> {
    let wrong = |at: usize| {
        Fault::new("leg-unreadable", "each leg is a heading and a size")
            .remedy("write [\"right\", 8] or [\"back\", 1.2.m]; headings: right, back, left, front")
            .about("legs")
            .element(at)
    };
    let mut found = Vec::new();
    for (at, item) in call.list("legs")?.into_iter().enumerate() {
        let Some(pair) = item.try_cast::<rhai::Array>() else {
            return Err(wrong(at));
        };
        let [heading, length] = pair.as_slice() else {
            return Err(wrong(at));
        };
        let word = heading.clone().into_string().map_err(|_| wrong(at))?;
        let heading = Heading::from_word(&word).ok_or_else(|| {
            let mut fault = wrong(at);
            fault.message = format!("there is no heading \"{word}\"");
            fault
        })?;
        let given = crate::script::options::size(length).ok_or_else(|| wrong(at))?;
        found.push(Leg {
            heading,
            size: size(given, "legs").map_err(|fault| fault.element(at))?,
        });
    }
    Ok(found)
}

fn pier(call: &Call) -> Made {
    let [across, deep] = two_sizes(call, "outside")?;
    let core = match call.opt_word("core")?.as_deref() {
        Some("concrete") => Core::Concrete,
        Some("units") => Core::Units,
        _ => Core::Open,
    };
    let shape = Shape::Pier { across, deep, core };
    let mut part = Part::new(shape, rise(call)?)?;
    part.snap = snap(call)?;
    part.coursing = coursing(call)?;
    Ok(made(part))
}

pub(super) fn side_missing(call: &Call) -> Fault {
    let name = call.declaration().name;
    Fault::new(
        "side-missing",
        format!("`{name}` needs to know which side is meant"),
    )
    .remedy("add side: \"front\", \"right\", \"back\" or \"left\"")
}

/// The side or leg that a call names.
pub(super) fn side_ref(call: &Call, part: &Part) -> Result<SideRef, Fault> {
    if let Some(name) = call.opt_text("branch")? {
        if call.has("side") || call.has("leg") {
            return Err(
                Fault::new("side-and-leg", "both `branch` and a side or leg are given")
                    .remedy("give the one that is meant")
                    .about("branch"),
            );
        }
        return Ok(part.branch_ref(&name)?);
    }
    let side = call.opt_word("side")?;
    if let Some(name) = call.opt_text("annex")? {
        let Some(side) = side.as_deref().and_then(Side::from_word) else {
            return Err(side_missing(call));
        };
        return Ok(part.annex_side(&name, side)?);
    }
    let leg = call.opt_whole("leg", 1..=64)?;
    match (&part.shape, side, leg) {
        (Shape::Chamber { .. }, None, None) => Err(side_missing(call)),
        (Shape::Ring(_), None, None) => Ok(SideRef::Side(Side::Front)),
        (_, Some(_), Some(_)) => Err(
            Fault::new("side-and-leg", "both `side` and `leg` are given")
                .remedy("chambers have sides, walls have legs: give the one that fits")
                .about("leg"),
        ),
        (_, Some(word), None) => Side::from_word(&word).map(SideRef::Side).ok_or_else(|| {
            Fault::new("side-unknown", format!("\"{word}\" is no side")).about("side")
        }),
        (_, None, leg) => Ok(SideRef::Leg(leg.map_or(0, |leg| leg as usize - 1))),
    }
}

pub(super) fn lintel(call: &Call) -> Result<Option<Lintel>, Fault> {
    let Some(map) = call.raw("lintel").map(super::details) else {
        return Ok(None);
    };
    let word = super::entry_word(&map, "kind");
    let kind = LintelKind::from_word(&word).ok_or_else(|| {
        Fault::new(
            "lintel-unknown",
            format!("a lintel of \"{word}\" is not known"),
        )
        .remedy("write \"steel\", \"stone\" or \"concrete\"")
        .about("lintel")
        .entry("kind")
    })?;
    let above_zero = |key: &str| match super::entry::<Length>(&map, key) {
        Some(length) if !length.is_positive() => Err(Fault::new(
            "wrong-type",
            format!("the lintel's `{key}` wants a length above zero"),
        )
        .remedy("write it with a unit, such as 150.mm")
        .about("lintel")
        .entry(key)),
        length => Ok(length),
    };
    let mut lintel = Lintel::of(kind);
    let mut read = super::Gathered::default();
    if let Some(bearing) = read.take(above_zero("bearing")) {
        lintel.bearing = Some(bearing);
    }
    if let Some(bar) = read.take(above_zero("bar")) {
        lintel.bar = bar;
    }
    let courses = map.get("courses").and_then(super::super::declare::whole);
    if let Some(courses) = courses.and_then(|courses| u32::try_from(courses).ok()) {
        lintel.courses = courses;
    }
    read.done(Some(lintel))
}

fn pair_of_courses(call: &Call, key: &'static str) -> Result<(i64, i64), Fault> {
    let pair = call.list(key)?;
    match pair.as_slice() {
        [from, to] => Ok((
            super::super::declare::whole(from).unwrap_or(0),
            super::super::declare::whole(to).unwrap_or(0),
        )),
        _ => Err(Fault::new("courses-out-of-range", "a range of courses has two ends").about(key)),
    }
}

fn opening(call: &Call, part: &PartValue, door: bool) -> Made {
    let mut opening = Opening::new(
        call.text("name")?,
        side_ref(call, &part.0)?,
        size(call.size("width")?, "width")?,
        pair_of_courses(call, "courses")?,
    )?;
    opening.at = call.opt_size("at")?.map(|at| size(at, "at")).transpose()?;
    let mut read = super::Gathered::default();
    opening.lintel = read.take(lintel(call));
    opening.arch = read.take(super::arches::arch(call));
    opening.corbel = read.take(super::heads::head(call));
    opening.sill = read.take(super::sills::sill(call));
    read.done(())?;
    if opening.lintel.is_some() && opening.arch.is_some() {
        return Err(Fault::new(
            "arch-and-lintel",
            "an opening has a lintel or an arch over it, not both",
        )
        .remedy("leave one of them out")
        .about("arch"));
    }
    if opening.corbel.is_some() && (opening.lintel.is_some() || opening.arch.is_some()) {
        return Err(Fault::new(
            "head-twice",
            "courses that step inwards close the opening by themselves",
        )
        .remedy("leave `head` out, or the lintel or arch")
        .about("head"));
    }
    opening.door = door;
    Ok(made(Part::clone(&part.0).with_opening(opening)?))
}

fn course(call: &Call) -> Result<u32, Fault> {
    let course = call.whole("course")?;
    u32::try_from(course)
        .ok()
        .filter(|course| *course >= 1)
        .ok_or_else(|| {
            PlanError::new(
                "course-outside-part",
                format!("there is no course {course}"),
                "courses count from 1, the lowest",
            )
            .at_key("course")
            .into()
        })
}

fn count(call: &Call, usual: u32) -> Result<u32, Fault> {
    Ok(call
        .opt_whole("count", 1..=1000)?
        .and_then(|count| u32::try_from(count).ok())
        .unwrap_or(usual))
}

fn vent(call: &Call, part: &PartValue) -> Made {
    let course = course(call)?;
    let width = call.length("width")?;
    if !width.is_positive() {
        return Err(Fault::new(
            "size-not-positive",
            format!("a vent {width} wide cannot be built"),
        )
        .remedy("write a width above zero, such as 80.mm")
        .about("width"));
    }
    let vent = Vent {
        name: call
            .opt_text("name")?
            .unwrap_or_else(|| Vent::usual_name(course)),
        side: side_ref(call, &part.0)?,
        course,
        count: count(call, 1)?,
        width,
    };
    Ok(made(Part::clone(&part.0).with_vent(vent)?))
}

fn ledge(call: &Call, part: &PartValue) -> Made {
    let sides = if call.has("sides") {
        let mut sides: Vec<Side> = call
            .texts("sides")?
            .iter()
            .filter_map(|word| Side::from_word(word))
            .collect();
        if sides.is_empty() {
            return Err(
                Fault::new("side-missing", "a ledge needs at least one side")
                    .remedy("write sides: [\"left\", \"right\"]")
                    .about("sides"),
            );
        }
        sides.sort();
        sides.dedup();
        sides
    } else {
        vec![Side::Left, Side::Right]
    };
    let notch = if call.has("notch") {
        let pair = call.list("notch")?;
        let length = |at: usize| {
            pair.get(at)
                .and_then(|value| value.read_lock::<Length>().map(|length| *length))
                .unwrap_or_default()
        };
        for at in 0..2 {
            if !length(at).is_positive() {
                return Err(Fault::new(
                    "size-not-positive",
                    format!("a notch of {} cannot be cut", length(at)),
                )
                .remedy("write how far back and how deep it goes, such as [20.mm, 15.mm]")
                .about("notch")
                .element(at));
            }
        }
        Some(Notch {
            along: length(0),
            deep: length(1),
        })
    } else {
        None
    };
    let project = match call.opt_size("project")? {
        Some(given) => size(given, "project")?,
        None => Size::HalfUnits(1),
    };
    let ledge = Ledge {
        course: course(call)?,
        sides,
        count: count(call, 2)?,
        project,
        notch,
    };
    Ok(made(Part::clone(&part.0).with_ledge(ledge)?))
}
