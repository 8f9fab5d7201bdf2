use super::PartValue;
use super::parts::{COURSES, LEG, SIDE, made, side_ref, size};
use crate::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, Part, PierRow, Rise, Side, SideRef, Size,
    half_units,
};
use crate::quantity::Length;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};

const FACES: &[&str] = &["outside", "inside", "both"];
const ENDS: &[&str] = &["left", "right"];
const ACROSS: &[&str] = &["left-right", "front-back"];

const NAME: Parameter = Parameter::required("name", Want::Text, "Its name, unique in the part.");
const FACE: Parameter = Parameter::optional(
    "face",
    Want::Word(FACES),
    "\"outside\"",
    "From which face of the wall it stands out; with \"both\" it goes through.",
);
pub(super) const PLACE: Parameter = Parameter::optional(
    "at",
    Want::AnyOf(&[Want::Size, Want::Word(ENDS)]),
    "centred",
    "Distance from the wall's left end, seen from outside, to its near face: n units are n(L + j); or \"left\" or \"right\", flush with that end.",
);
pub(super) const THICKNESS: Parameter = Parameter::optional(
    "thickness",
    Want::Number,
    "0.5",
    "Its thickness in units; 0.5 is half-brick.",
);
pub(super) const HEIGHT: Parameter =
    Parameter::optional("courses", Want::WholeNumber, "as its part", COURSES.meaning);
const TOOTHED: Parameter = Parameter::optional(
    "toothed",
    Want::Flag,
    "true",
    "Whether its end units pass into the wall in alternate courses; if not it only butts against the wall.",
);

const TIES: Parameter = Parameter::optional(
    "ties",
    Want::Length,
    "none",
    "Where it only butts: how far apart upwards ties are bedded across the joint.",
);

const BRANCH: Declaration = Declaration {
    name: "branch",
    group: Group::Parts,
    summary: "The wall or chamber with a wall that meets one of its legs or sides, toothed in alternate courses.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        NAME,
        SIDE,
        LEG,
        FACE,
        Parameter::required(
            "length",
            Want::Size,
            "How far it stands out from each face: n units are n(L + j).",
        ),
        PLACE,
        THICKNESS,
        HEIGHT,
        TOOTHED,
        TIES,
    ],
    returns: "The part with it.",
    examples: &[Example {
        script: "wall(#{ length: 6, courses: 6 }).branch(#{ name: \"spur\", length: 2, at: 1.25.m })",
        shows: "wall 6 units, 6 courses, 1 branch",
    }],
    errors: &[
        errors::PLACES,
        errors::SIZES,
        errors::BRANCHES,
        errors::these(&[
            errors::THICKNESS_NOT_IN_HALVES,
            errors::THICKNESS_TOO_LARGE,
            errors::COURSE_OUTSIDE_PART,
            errors::COURSES_OUT_OF_RANGE,
        ]),
    ],
    see_also: &["partition", "wall"],
};

const PARTITION: Declaration = Declaration {
    name: "partition",
    group: Group::Parts,
    summary: "The chamber with a wall across its inside, toothed into both sides; it may be lower than the chamber.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        NAME,
        Parameter::required(
            "across",
            Want::Word(ACROSS),
            "From the left to the right side, or from front to back.",
        ),
        Parameter::optional(
            "at",
            Want::Size,
            "centred",
            "Distance from the outer face in front, or on the left, to its near face: n units are n(L + j).",
        ),
        THICKNESS,
        HEIGHT,
        TOOTHED,
        TIES,
    ],
    returns: "The part with it.",
    examples: &[Example {
        script: "let box = chamber(#{ outside: [6, 3], courses: 9 })\n    .partition(#{ name: \"bag wall\", across: \"front-back\", courses: 6 })\n    .opening(#{ name: \"throat\", branch: \"bag wall\", width: 0.5, courses: [2, 3] });\nplan(\"kiln\", #{ unit: \"uk\" }).place(\"box\", box).inside(\"box\", \"left\")",
        shows: "516.3 mm across × 460 mm deep × 450 mm high",
    }],
    errors: &[
        errors::PLACES,
        errors::SIZES,
        errors::BRANCHES,
        errors::these(&[
            errors::THICKNESS_NOT_IN_HALVES,
            errors::THICKNESS_TOO_LARGE,
            errors::COURSE_OUTSIDE_PART,
            errors::COURSES_OUT_OF_RANGE,
        ]),
    ],
    see_also: &["chamber", "inside", "opening"],
};

const PIER: Declaration = Declaration {
    name: "pier",
    group: Group::Parts,
    summary: "The wall with an attached pier: in alternate courses its units pass into the wall, in the others they lie along it.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        NAME,
        SIDE,
        LEG,
        FACE,
        Parameter::required(
            "units",
            Want::Pair(&Want::Number),
            "Width along the wall and how far it stands out from each face, in units.",
        ),
        PLACE,
        Parameter::optional(
            "every",
            Want::Size,
            "one pier",
            "Piers at intervals instead: the furthest from middle to middle, n units are n(L + j). One stands at each free end and jamb; between them bays are alike in whole and half units.",
        ),
        HEIGHT,
    ],
    returns: "The part with it.",
    examples: &[
        Example {
            script: "wall(#{ length: 6, courses: 6 }).pier(#{ name: \"end\", units: [1, 0.5], at: \"left\" })",
            shows: "wall 6 units, 6 courses, 1 attached pier",
        },
        Example {
            script: "wall(#{ length: 17, courses: 6 }).pier(#{ name: \"post\", units: [1, 0.5], every: 2.m })",
            shows: "wall 17 units, 6 courses, 1 row of attached piers",
        },
    ],
    errors: &[
        errors::PLACES,
        errors::SIZES,
        errors::BRANCHES,
        errors::these(&[
            errors::THICKNESS_NOT_IN_HALVES,
            errors::THICKNESS_TOO_LARGE,
            errors::COURSE_OUTSIDE_PART,
            errors::COURSES_OUT_OF_RANGE,
        ]),
    ],
    see_also: &["wall", "branch"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PartValue, _>(&BRANCH, |call, part| branch(call, &part));
    registry.method::<PartValue, _>(&PARTITION, |call, part| partition(call, &part));
    registry.method::<PartValue, _>(&PIER, |call, part| pier(call, &part));
}

type Made = Result<PartValue, Fault>;

pub(super) fn place(call: &Call) -> Result<BranchPlace, Fault> {
    match call.raw("at").and_then(|at| at.clone().into_string().ok()) {
        Some(word) if word == "left" => Ok(BranchPlace::Left),
        Some(_) => Ok(BranchPlace::Right),
        None => Ok(match call.opt_size("at")? {
            Some(at) => BranchPlace::At(size(at, "at")?),
            None => BranchPlace::Centre,
        }),
    }
}

/// How far it stands out, and from which faces.
fn reach(call: &Call, out: Size) -> Result<BranchReach, Fault> {
    Ok(match call.opt_word("face")?.as_deref() {
        Some("inside") => BranchReach::Inside(out),
        Some("both") => BranchReach::Through(out, out),
        _ => BranchReach::Outside(out),
    })
}

fn halves(units: f64, key: &'static str, what: &str) -> Result<i64, Fault> {
    Ok(half_units(units, what).map_err(|error| error.at_key(key))?)
}

pub(super) fn thickness(call: &Call) -> Result<i64, Fault> {
    if call.has("thickness") {
        halves(call.number("thickness")?, "thickness", "a thickness")
    } else {
        Ok(1)
    }
}

pub(super) fn courses(call: &Call) -> Result<Option<u32>, Fault> {
    if !call.has("courses") {
        return Ok(None);
    }
    match Rise::courses(call.whole("courses")?)? {
        Rise::Courses(courses) => Ok(Some(courses)),
        Rise::Height(_) => Ok(None),
    }
}

fn add(part: &PartValue, branch: Branch) -> Made {
    Ok(made(Part::clone(&part.0).with_branch(branch)?))
}

/// How far apart upwards ties are set.
fn ties(call: &Call) -> Result<Option<Length>, Fault> {
    if !call.has("ties") {
        return Ok(None);
    }
    let up = call.length("ties")?;
    if !up.is_positive() {
        return Err(Fault::new(
            "size-not-positive",
            format!("ties {up} apart cannot be set"),
        )
        .remedy("write how far apart they are upwards, such as 300.mm")
        .about("ties"));
    }
    if call.opt_flag("toothed")?.unwrap_or(true) {
        return Err(Fault::new(
            "ties-in-toothing",
            "a toothed branch is bonded and needs no ties",
        )
        .remedy("leave `ties` out, or add toothed: false")
        .about("ties"));
    }
    Ok(Some(up))
}

fn branch(call: &Call, part: &PartValue) -> Made {
    let length = size(call.size("length")?, "length")?;
    add(
        part,
        Branch {
            name: call.text("name")?,
            kind: BranchKind::Wall,
            side: side_ref(call, &part.0)?,
            at: place(call)?,
            reach: reach(call, length)?,
            thickness: thickness(call)?,
            courses: courses(call)?,
            toothed: call.opt_flag("toothed")?.unwrap_or(true),
            ties: ties(call)?,
        },
    )
}

fn partition(call: &Call, part: &PartValue) -> Made {
    // Both sides are walked so that their left end, seen from outside, is in front or on the left.
    let side = match call.opt_word("across")?.as_deref() {
        Some("left-right") => Side::Right,
        _ => Side::Front,
    };
    add(
        part,
        Branch {
            name: call.text("name")?,
            kind: BranchKind::Partition,
            side: SideRef::Side(side),
            at: place(call)?,
            reach: BranchReach::Across,
            thickness: thickness(call)?,
            courses: courses(call)?,
            toothed: call.opt_flag("toothed")?.unwrap_or(true),
            ties: ties(call)?,
        },
    )
}

fn pier(call: &Call, part: &PartValue) -> Made {
    let pair = call.list("units")?;
    let units = |at: usize| {
        let given = pair.get(at).cloned().unwrap_or_default();
        let number = given
            .as_float()
            .ok()
            .or(given.as_int().ok().map(|n| n as f64));
        halves(number.unwrap_or(0.0), "units", "a pier").map_err(|fault| fault.element(at))
    };
    let out = Size::HalfUnits(units(1)?);
    let pier = Branch {
        name: call.text("name")?,
        kind: BranchKind::Pier,
        side: side_ref(call, &part.0)?,
        at: place(call)?,
        reach: reach(call, out)?,
        thickness: units(0)?,
        courses: courses(call)?,
        toothed: true,
        ties: None,
    };
    let Some(every) = call.opt_size("every")? else {
        return add(part, pier);
    };
    if call.has("at") {
        return Err(Fault::new("place-twice", "both `at` and `every` are given")
            .remedy("give `at` for one pier, `every` for a row of them")
            .about("every"));
    }
    let every = size(every, "every")?;
    Ok(made(
        Part::clone(&part.0).with_pier_row(PierRow { pier, every })?,
    ))
}
