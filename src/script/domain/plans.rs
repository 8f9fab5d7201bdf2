use rhai::Dynamic;

use super::arches::duct_arch;
use super::parts::{LINTEL_OPTION, lintel, side_missing, side_ref, size};
use super::{PartValue, PlanValue};
use crate::compare::{Change, with_changes};
use crate::masonry::{Catalogue, Joint, Unit};
use crate::plan::{
    Align, Clearances, ConcreteChoice, Duct, DuctHead, Heap, Lid, MortarChoice, OnHand, PartKind,
    Placement, Plan, Relation, Setting, Side, SideRef, Slab, Waste,
};
use crate::quantity::{Length, LengthStyle, Mass};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Size as Given,
    Want, errors,
};

/// A unit by catalogue name or as a value.
pub(super) const UNIT: Want = Want::AnyOf(&[Want::Name(NameOf::Unit), Want::Value("Unit")]);
const ALIGNS: &[&str] = &["centre", "front", "back", "left", "right"];
const MOST_LID_PIECES: i64 = crate::plan::MOST_LID_PIECES as i64;
const STYLES: &[&str] = &["metric", "inch"];

const PLAN: Declaration = Declaration {
    name: "plan",
    group: Group::Plans,
    summary: "An empty plan: what everything in it is laid with.",
    kind: CallKind::Function,
    positional: &[Parameter::required(
        "name",
        Want::Text,
        "Its name, for reports.",
    )],
    options: &[
        Parameter::required("unit", UNIT, "The unit, by catalogue name or as a value."),
        Parameter::optional(
            "joint",
            Want::Length,
            "the unit's",
            "Head joint; sets the bed joint too, unless `bed` is given.",
        ),
        Parameter::optional("bed", Want::Length, "as the head joint", "Bed joint."),
        Parameter::optional(
            "head_range",
            Want::Pair(&Want::Length),
            "3 mm less to 5 mm more",
            "Thinnest and thickest head joint that may be laid.",
        ),
        Parameter::optional(
            "bed_range",
            Want::Pair(&Want::Length),
            "3 mm either way",
            "Thinnest and thickest bed joint that may be laid.",
        ),
        Parameter::optional(
            "bond",
            Want::Name(NameOf::Bond),
            "\"stretcher\"",
            "Bond, by catalogue name.",
        ),
        Parameter::optional(
            "style",
            Want::Word(STYLES),
            "the session's",
            "How sizes are shown.",
        ),
    ],
    returns: "A plan.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).height()",
        shows: "300 mm (about 11 13/16\")",
    }],
    errors: &[errors::CATALOGUE],
    see_also: &["place", "slab", "duct", "lid", "units", "laid_with"],
};

const PLACE: Declaration = Declaration {
    name: "place",
    group: Group::Plans,
    summary: "The plan with a part in it: at the origin, at a place, or against another part.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[
        Parameter::required("name", Want::Text, "Its name in the plan."),
        Parameter::required("part", Want::Value("Part"), "The part."),
    ],
    options: &[
        Parameter::optional(
            "right_of",
            Want::Name(NameOf::Part),
            "",
            "The part it stands to the right of.",
        ),
        Parameter::optional(
            "left_of",
            Want::Name(NameOf::Part),
            "",
            "The part it stands to the left of.",
        ),
        Parameter::optional(
            "behind",
            Want::Name(NameOf::Part),
            "",
            "The part it stands behind.",
        ),
        Parameter::optional(
            "in_front_of",
            Want::Name(NameOf::Part),
            "",
            "The part it stands in front of.",
        ),
        Parameter::optional("on", Want::Name(NameOf::Part), "", "The part it stands on."),
        Parameter::optional(
            "inside_of",
            Want::Name(NameOf::Part),
            "",
            "The part it stands within, middle to middle, such as a lining in a ring.",
        ),
        Parameter::optional(
            "gap",
            Want::Size,
            "one joint",
            "Clear distance between the faces: n of the plan's units are n(L + j) + j.",
        ),
        Parameter::optional(
            "align",
            Want::Word(ALIGNS),
            "\"centre\"",
            "How the two line up: middles, or one pair of faces flush.",
        ),
        Parameter::optional(
            "at",
            Want::Pair(&Want::Length),
            "",
            "Place of its front left corner, to the right and backwards.",
        ),
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "let box = chamber(#{ outside: [3, 3], courses: 4 });\nplan(\"pair\", #{ unit: \"uk\" }).place(\"a\", box).place(\"b\", box, #{ right_of: \"a\", gap: 300.mm }).gap(\"a\", \"b\")",
        shows: "300 mm (about 11 13/16\")",
    }],
    errors: &[
        errors::PLACING,
        errors::these(&[
            errors::NAME_EMPTY,
            errors::NAME_TAKEN,
            errors::SIZE_NEGATIVE,
            errors::SIZE_NOT_IN_HALVES,
        ]),
        errors::MEASURED,
        errors::MEASURED_TOO,
    ],
    see_also: &["plan", "gap"],
};

const SLAB: Declaration = Declaration {
    name: "slab",
    group: Group::Plans,
    summary: "The plan with a ground slab under all its parts, or a strip footing under their walls.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::optional(
            "margin",
            Want::Length,
            "100.mm",
            "How far it reaches beyond the outermost faces.",
        ),
        Parameter::optional(
            "depth",
            Want::Length,
            "120.mm",
            "Thickness of the concrete.",
        ),
        Parameter::optional(
            "subbase",
            Want::Length,
            "100.mm",
            "Thickness of the compacted base under it; 0.mm for none.",
        ),
        Parameter::optional(
            "above_ground",
            Want::Length,
            "0.mm",
            "How far its top stands above the ground.",
        ),
        Parameter::optional(
            "strip",
            Want::Flag,
            "false",
            "Whether it is a strip footing that follows the walls, open in the middle.",
        ),
        Parameter::optional(
            "soil",
            Want::Name(NameOf::Soil),
            "\"clay\"",
            "The ground, by catalogue name; clay bears least of what may be presumed.",
        ),
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [2, 2], courses: 4 })).slab(#{ margin: 100.mm, depth: 100.mm });\np.takeoff().slab_across",
        shows: "640 mm (about 2' 1 3/16\")",
    }],
    errors: &[errors::these(&[
        errors::NOT_IN_CATALOGUE,
        errors::SIZE_NOT_POSITIVE,
        errors::SIZE_NEGATIVE,
    ])],
    see_also: &["concrete", "takeoff"],
};

const DUCT: Declaration = Declaration {
    name: "duct",
    group: Group::Plans,
    summary: "The plan with a pipe from one part to another, or out through one side.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::required("name", Want::Text, "Its name."),
        Parameter::required(
            "from",
            Want::Name(NameOf::Part),
            "The part it starts in, or an annex by its own name.",
        ),
        Parameter::optional(
            "to",
            Want::Name(NameOf::Part),
            "the open",
            "The part it ends in, or an annex by its own name.",
        ),
        Parameter::optional(
            "side",
            Want::Word(crate::plan::Side::WORDS),
            "",
            "The side it leaves by, where it leads into the open.",
        ),
        Parameter::required("diameter", Want::Length, "Outside diameter of the pipe."),
        Parameter::required(
            "course",
            Want::WholeNumber,
            "The course whose bed it lies on, in the part it starts in.",
        ),
        Parameter::optional(
            "proud",
            Want::Length,
            "20.mm",
            "How far it stands proud of the inner face at each end.",
        ),
        Parameter::optional(
            "shift",
            Want::Length,
            "0.mm",
            "Shift of its centre line from the middle of the walls.",
        ),
        Parameter::optional(
            "raise",
            Want::Length,
            "0.mm",
            "How high it is packed up over the bed of its course.",
        ),
        LINTEL_OPTION,
        super::arches::DUCT_ARCH_OPTION,
    ],
    returns: "The plan with it.",
    examples: &[
        Example {
            script: "let box = chamber(#{ outside: [3, 3], courses: 8, fired: true });\nplan(\"pair\", #{ unit: \"uk\" }).place(\"a\", box).place(\"b\", box, #{ right_of: \"a\", gap: 300.mm }).duct(#{ name: \"throat\", from: \"a\", to: \"b\", diameter: 150.mm, course: 3 }).mass().in_kg() > 0",
            shows: "true",
        },
        Example {
            script: "let box = chamber(#{ outside: [4, 3], courses: 10 });\nplan(\"ring\", #{ unit: \"uk\" }).place(\"a\", box).duct(#{ name: \"flue\", from: \"a\", side: \"front\", diameter: 300.mm, course: 4, arch: \"ring\" }).arches().rows[0].voussoirs",
            shows: "23",
        },
    ],
    errors: &[
        errors::DUCTS,
        errors::PLACES,
        errors::HEADS,
        errors::these(&[
            errors::SIZE_NEGATIVE,
            errors::NO_SUCH_PART,
            errors::TOO_MANY_PARTS,
        ]),
        errors::MEASURED,
        errors::MEASURED_TOO,
    ],
    see_also: &["place", "review"],
};

const LID: Declaration = Declaration {
    name: "lid",
    group: Group::Plans,
    summary: "The plan with concrete slabs that close the top of a part.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "part",
        Want::Name(NameOf::Part),
        "The part it lies on, or an annex by its own name.",
    )],
    options: &[
        Parameter::optional("depth", Want::Length, "60.mm", "Thickness."),
        Parameter::optional(
            "pieces",
            Want::WholeFrom(1, MOST_LID_PIECES),
            "1",
            "How many slabs it is cast in, side by side.",
        ),
        Parameter::optional(
            "overhang",
            Want::Length,
            "0.mm",
            "How far it reaches beyond the outer faces.",
        ),
        Parameter::optional(
            "hole",
            Want::Length,
            "none",
            "Diameter of a round hole in the middle.",
        ),
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [3, 3], courses: 4 })).lid(\"box\", #{ depth: 60.mm, pieces: 2 }).height()",
        shows: "370 mm (about 1' 2 9/16\")",
    }],
    errors: &[
        errors::LIDS,
        errors::these(&[
            errors::NO_SUCH_PART,
            errors::TOO_MANY_PARTS,
            errors::SIZE_NEGATIVE,
        ]),
        errors::MEASURED,
        errors::MEASURED_TOO,
    ],
    see_also: &["concrete", "review"],
};

const POWDER_BAG: Parameter = Parameter::optional(
    "powder_bag",
    Want::Mass,
    "25.kg",
    "Mass of a bag of cement or lime, for mixing on site.",
);

const MORTAR: Declaration = Declaration {
    name: "mortar",
    group: Group::Plans,
    summary: "The plan with its mortar: proportions cement:lime:sand, cement:sand, or a named type.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "mix",
        Want::Name(NameOf::Mix),
        "Such as \"1:1:6\", \"1:4\", \"N\" or \"masonry cement 1:3\".",
    )],
    options: &[
        Parameter::optional(
            "bag",
            Want::Mass,
            "none",
            "Mass of a ready-mixed bag, to count those as well.",
        ),
        POWDER_BAG,
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).mortar(\"1:1:6\", #{ bag: 25.kg }).takeoff().mortar_bags",
        shows: "1",
    }],
    errors: &[errors::these(&[
        errors::NOT_IN_CATALOGUE,
        errors::MASS_NOT_POSITIVE,
        errors::UNFIT,
    ])],
    see_also: &["concrete", "waste", "takeoff"],
};

const CONCRETE: Declaration = Declaration {
    name: "concrete",
    group: Group::Plans,
    summary: "The plan with its concrete: the bag it is bought in, and a mix for making it on site.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::optional("bag", Want::Mass, "25.kg", "Mass of a dry-mixed bag."),
        Parameter::optional(
            "mix",
            Want::Text,
            "none",
            "Proportions cement:sand:gravel for mixing on site, such as \"1:2:3\".",
        ),
        POWDER_BAG,
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [2, 2], courses: 4 })).slab(#{ margin: 80.mm, depth: 100.mm }).concrete(#{ bag: 20.kg }).takeoff().concrete_bags",
        shows: "5",
    }],
    errors: &[errors::these(&[
        errors::NOT_IN_CATALOGUE,
        errors::MASS_NOT_POSITIVE,
        errors::UNFIT,
    ])],
    see_also: &["slab", "lid", "waste"],
};

const WASTE: Declaration = Declaration {
    name: "waste",
    group: Group::Plans,
    summary: "The plan with its shares of waste, in percent; each is shown apart.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::optional("units", Want::NumberFrom(0.0, 100.0), "5", "Of units."),
        Parameter::optional("mortar", Want::NumberFrom(0.0, 100.0), "20", "Of mortar."),
        Parameter::optional(
            "concrete",
            Want::NumberFrom(0.0, 100.0),
            "10",
            "Of concrete.",
        ),
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).waste(#{ units: 0 }).units()",
        shows: "8",
    }],
    errors: &[],
    see_also: &["takeoff", "mortar", "concrete"],
};

const ON_HAND: Declaration = Declaration {
    name: "on_hand",
    group: Group::Plans,
    summary: "The plan with units already in the yard; the takeoff uses them before any are bought.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::optional(
            "unit",
            UNIT,
            "the plan's own",
            "The kind that they are of; call again for each further kind.",
        ),
        Parameter::optional("whole", Want::WholeFrom(0, 1_000_000), "0", "Whole units."),
        Parameter::optional(
            "halves",
            Want::WholeFrom(0, 1_000_000),
            "0",
            "Half bats, each with one end as fired.",
        ),
        Parameter::optional(
            "offcuts",
            Want::List(&Want::Pair(&Want::Anything)),
            "[]",
            "Offcuts with one end as fired, each [length, how many].",
        ),
    ],
    returns: "The plan with it.",
    examples: &[
        Example {
            script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).waste(#{ units: 0 }).on_hand(#{ whole: 3 }).units()",
            shows: "5",
        },
        Example {
            script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).waste(#{ units: 0 })\n    .on_hand(#{ unit: \"uk\", whole: 3 }).on_hand(#{ unit: \"nf\", whole: 6 });\ncompare(p, #{ unit: [\"uk\", \"nf\", \"df\"] }, [\"units\"]).rows.map(|row| row.units)",
            shows: "[5, 2, 8]",
        },
    ],
    errors: &[errors::these(&[
        errors::NOT_IN_CATALOGUE,
        errors::UNIT_UNFIT,
    ])],
    see_also: &["takeoff", "waste", "use_of", "compare", "cutting_list"],
};

const CAUTION: Declaration = Declaration {
    name: "caution",
    group: Group::Plans,
    summary: "The plan with something of its own to mind; its review and takeoff print it.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[Parameter::required(
        "text",
        Want::Text,
        "What can hurt, what to mind, and whom to ask.",
    )],
    options: &[],
    returns: "The plan with it.",
    examples: &[Example {
        script: "let p = plan(\"kerb\", #{ unit: \"uk\" }).place(\"kerb\", wall(#{ length: 8, courses: 4, retains: true }))\n    .caution(\"Ask before you retain more than a low bed.\");\np.review().cautions.filter(|c| c.hazard == \"this plan\")[0].text",
        shows: "Ask before you retain more than a low bed.",
    }],
    errors: &[errors::CAUTIONS],
    see_also: &["review", "plan"],
};

const CLEARANCES: Declaration = Declaration {
    name: "clearances",
    group: Group::Plans,
    summary: "The plan with what is left free round things that are fitted into the brickwork.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::optional("rack", Want::Length, "5.mm", "At each end of a rack."),
        Parameter::optional(
            "leaf",
            Want::Length,
            "4.mm",
            "Round a door leaf, inside its frame, for heat.",
        ),
        Parameter::optional(
            "frame",
            Want::Length,
            "5.mm",
            "Round a frame, inside its opening.",
        ),
        Parameter::optional(
            "frame_face",
            Want::Length,
            "30.mm",
            "Face width of a frame's members.",
        ),
        Parameter::optional("grate", Want::Length, "15.mm", "Round a grate, for heat."),
        Parameter::optional(
            "blade",
            Want::Length,
            "3.mm",
            "Width of the blade that cuts units.",
        ),
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "let p = plan(\"stand\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ inside: [2, 2], courses: 6, fired: true })).clearances(#{ grate: 10.mm });\np.takeoff().fittings[0].size",
        shows: "[440 mm, 440 mm]",
    }],
    errors: &[errors::these(&[errors::SIZE_NEGATIVE])],
    see_also: &["door", "ledge", "takeoff"],
};

const WITH: Declaration = Declaration {
    name: "laid_with",
    group: Group::Plans,
    summary: "The same plan laid with another unit, joint or bond.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[
        Parameter::optional(
            "unit",
            UNIT,
            "as it is",
            "Another unit; brings its own joints unless a joint is given.",
        ),
        Parameter::optional(
            "joint",
            Want::Length,
            "as it is",
            "Another joint, head and bed.",
        ),
        Parameter::optional("bed", Want::Length, "as it is", "Another bed joint."),
        Parameter::optional(
            "bond",
            Want::Name(NameOf::Bond),
            "as it is",
            "Another bond.",
        ),
    ],
    returns: "The plan with it.",
    examples: &[Example {
        script: "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 })).laid_with(#{ joint: 12.mm }).height()",
        shows: "308 mm (about 1' 0 1/8\")",
    }],
    errors: &[errors::CATALOGUE, errors::MEASURED, errors::MEASURED_TOO],
    see_also: &["compare", "plan"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.function(&PLAN, plan);
    registry.method::<PlanValue, _>(&PLACE, |call, plan| place(call, &plan));
    registry.method::<PlanValue, _>(&SLAB, |call, plan| slab(call, &plan));
    registry.method::<PlanValue, _>(&DUCT, |call, plan| duct(call, &plan));
    registry.method::<PlanValue, _>(&LID, |call, plan| lid(call, &plan));
    registry.method::<PlanValue, _>(&MORTAR, |call, plan| mortar(call, &plan));
    registry.method::<PlanValue, _>(&CONCRETE, |call, plan| concrete(call, &plan));
    registry.method::<PlanValue, _>(&WASTE, |call, plan| waste(call, &plan));
    registry.method::<PlanValue, _>(&CAUTION, |call, plan| {
        PlanValue::new(Plan::clone(&plan.plan).with_caution(&call.text("text")?)?)
    });
    registry.method::<PlanValue, _>(&CLEARANCES, |call, plan| clearances(call, &plan));
    registry.method::<PlanValue, _>(&ON_HAND, |call, plan| on_hand(call, &plan));
    registry.method::<PlanValue, _>(&WITH, |call, plan| {
        PlanValue::new(with_changes(&plan.plan, &changes(call)?)?)
    });
}

type Made = Result<PlanValue, Fault>;

/// A unit from its catalogue name or as a value.
pub(super) fn unit_of(value: &Dynamic, key: &'static str) -> Result<Unit, Fault> {
    if let Some(unit) = value.read_lock::<Unit>() {
        return Ok(unit.clone());
    }
    let name = value.clone().into_string().map_err(|_| {
        Fault::new("wrong-type", "`unit` wants a name or a unit")
            .remedy("write a name of the catalogue, such as \"uk\"; units() lists them")
            .about(key)
    })?;
    Catalogue::builtin()?
        .unit(&name)
        .cloned()
        .map_err(|error| Fault::from(error).about(key))
}

fn positive(length: Length, key: &'static str) -> Result<Length, Fault> {
    if length.is_positive() && length <= crate::plan::LONGEST_SIDE {
        return Ok(length);
    }
    Err(
        Fault::new("size-not-positive", format!("`{key}` cannot be {length}"))
            .remedy("write a length above zero")
            .about(key),
    )
}

fn not_negative(length: Length, key: &'static str) -> Result<Length, Fault> {
    if !length.is_negative() && length <= crate::plan::LONGEST_SIDE {
        return Ok(length);
    }
    Err(
        Fault::new("size-negative", format!("`{key}` cannot be {length}"))
            .remedy("write a length of zero or more")
            .about(key),
    )
}

fn plan(call: &Call) -> Made {
    let catalogue = Catalogue::builtin()?;
    let unit = match call.raw("unit") {
        Some(value) => unit_of(value, "unit")?,
        None => return Err(Fault::new("unit-missing", "a plan needs a unit").about("unit")),
    };
    let bond = call
        .opt_text("bond")?
        .unwrap_or_else(|| "stretcher".to_owned());
    let bond = catalogue
        .bond(&bond)
        .map_err(|error| Fault::from(error).about("bond"))?;
    let joint = call
        .opt_length("joint")?
        .map(|j| joint_of(j, "joint"))
        .transpose()?;
    let bed = call
        .opt_length("bed")?
        .map(|j| joint_of(j, "bed"))
        .transpose()?;
    let mut setting = Setting::new(unit, joint, bed, bond.clone())?;
    let joints = &mut setting.joints;
    for (key, slot) in [
        ("head_range", &mut joints.head),
        ("bed_range", &mut joints.bed),
    ] {
        if call.has(key) {
            *slot = joint_within(call, key, slot.nominal)?;
        }
    }
    let style = match call.opt_word("style")?.as_deref() {
        Some("inch") => LengthStyle::FEET_INCHES,
        Some(_) => LengthStyle::Metric,
        None => call.vocabulary().style(),
    };
    PlanValue::new(bare_plan(call.text("name")?, setting, style)?)
}

/// A plan of nothing yet, with the usual mortar, bags, waste and clearances.
pub(super) fn bare_plan(name: String, setting: Setting, style: LengthStyle) -> Result<Plan, Fault> {
    let bag = Mass::from_kg(25.0)?;
    Ok(Plan {
        name,
        setting,
        parts: indexmap::IndexMap::new(),
        slab: None,
        ducts: Vec::new(),
        lids: Vec::new(),
        mortar: MortarChoice {
            mix: Catalogue::builtin()?.mortar("1:1:6")?,
            bag: None,
            powder_bag: bag,
        },
        concrete: ConcreteChoice {
            mix: None,
            bag,
            powder_bag: bag,
        },
        waste: Waste::default(),
        clearances: Clearances::default(),
        prices: None,
        on_hand: OnHand::default(),
        heaps: Vec::new(),
        cautions: Vec::new(),
        style,
    })
}

/// A joint that can be laid at all: from nothing, for dry work, to a thumb's width.
pub(super) fn joint_of(joint: Length, key: &'static str) -> Result<Length, Fault> {
    /// Wider than any trowelled joint: common practice, no source.
    const WIDEST: Length = Length::mm(50);
    if joint.is_negative() || joint > WIDEST {
        return Err(Fault::new(
            "joint-out-of-range",
            format!("a joint of {joint} cannot be laid"),
        )
        .remedy("write a joint from 0.mm to 50.mm; 8.mm to 12.mm is usual")
        .about(key));
    }
    Ok(joint)
}

/// A joint with a range of its own.
fn joint_within(call: &Call, key: &'static str, nominal: Length) -> Result<Joint, Fault> {
    let ends = call.list(key)?;
    let end = |at: usize| {
        ends.get(at)
            .and_then(|value| value.read_lock::<Length>().map(|length| *length))
            .unwrap_or(nominal)
    };
    Joint::new(nominal, end(0), end(1)).map_err(|error| Fault::from(error).about(key))
}

fn place(call: &Call, plan: &PlanValue) -> Made {
    let name = call.text("name")?;
    let part: PartValue = call.value("part")?;
    let mut relations = Vec::new();
    for relation in Relation::ALL {
        if let Some(other) = call.opt_text(relation.word())? {
            relations.push((relation, other));
        }
    }
    let at = call.has("at").then(|| call.list("at")).transpose()?;
    let placement = match (relations.as_slice(), at) {
        ([], _) if call.has("gap") || call.has("align") => {
            return Err(Fault::new(
                "placed-against-nothing",
                "a gap or an alignment needs another part to go by",
            )
            .remedy("add right_of: \"name\", or behind, left_of, in_front_of, on, inside_of")
            .about(if call.has("gap") { "gap" } else { "align" }));
        }
        ([(Relation::On, _)], None) if call.has("gap") => {
            return Err(Fault::new(
                "gap-under-a-part",
                "a part on another stands on its top course, without a gap",
            )
            .remedy("leave `gap` out; its first bed joint lies on the part below")
            .about("gap"));
        }
        ([(Relation::InsideOf, _)], None) if call.has("gap") => {
            return Err(Fault::new(
                "gap-within-a-part",
                "the gap round a part within another follows from their sizes",
            )
            .remedy("leave `gap` out, and choose the diameters so that the gap is left")
            .about("gap"));
        }
        ([], None) => Placement::Origin,
        ([], Some(at)) => {
            let coordinate = |index: usize| {
                at.get(index)
                    .and_then(|value| value.read_lock::<Length>().map(|length| *length))
                    .unwrap_or_default()
            };
            Placement::At(coordinate(0), coordinate(1))
        }
        ([(relation, other)], None) => Placement::Against {
            relation: *relation,
            other: other.clone(),
            gap: gap(call)?,
            align: match call.opt_word("align")?.as_deref() {
                Some("front" | "left") => Align::Start,
                Some("back" | "right") => Align::End,
                _ => Align::Centre,
            },
        },
        _ => {
            let second = match relations.get(1) {
                Some((relation, _)) => relation.word(),
                None => "at",
            };
            return Err(
                Fault::new("placed-twice", "more than one place is given for it")
                    .remedy("give one of right_of, left_of, behind, in_front_of, on, inside_of, at")
                    .about(second),
            );
        }
    };
    let placed = Plan::clone(&plan.plan).with_part(&name, part.0, placement)?;
    PlanValue::new(placed).map_err(|fault| {
        // What is wrong with the part was written in another call: here the part stands for it.
        let own = fault.key.as_deref();
        if own.is_some_and(|key| PLACE.options.iter().any(|option| option.name == key)) {
            return fault;
        }
        match own {
            Some("name") => fault,
            _ => fault.about("part"),
        }
    })
}

fn gap(call: &Call) -> Result<Option<crate::plan::Size>, Fault> {
    match call.opt_size("gap")? {
        None => Ok(None),
        // A gap may close to nothing, which a size may not.
        Some(Given::Length(length)) => {
            not_negative(length, "gap").map(|length| Some(crate::plan::Size::Length(length)))
        }
        Some(given) => size(given, "gap").map(Some),
    }
}

fn slab(call: &Call, plan: &PlanValue) -> Made {
    let length = |key: &'static str, usual: i64| {
        call.opt_length(key)
            .map(|given| given.unwrap_or(Length::mm(usual)))
    };
    let soil = call.opt_text("soil")?.unwrap_or_else(|| "clay".to_owned());
    Catalogue::builtin()?
        .soil(&soil)
        .map_err(|error| Fault::from(error).about("soil"))?;
    let slab = Slab {
        strip: call.opt_flag("strip")?.unwrap_or(false),
        margin: not_negative(length("margin", 100)?, "margin")?,
        depth: positive(length("depth", 120)?, "depth")?,
        subbase: not_negative(length("subbase", 100)?, "subbase")?,
        above_ground: not_negative(length("above_ground", 0)?, "above_ground")?,
        soil,
    };
    PlanValue::new(Plan {
        slab: Some(slab),
        ..Plan::clone(&plan.plan)
    })
}

fn duct(call: &Call, plan: &PlanValue) -> Made {
    let (from, from_annex) = plan
        .plan
        .end_named(&call.text("from")?, None)
        .map_err(|error| Fault::from(error.at_key("from")))?;
    let to = call.opt_text("to")?;
    let side = if to.is_some() {
        None
    } else if from_annex.is_some() {
        let side = call.opt_word("side")?;
        let side = side.as_deref().and_then(Side::from_word);
        Some(SideRef::Side(side.ok_or_else(|| side_missing(call))?))
    } else {
        let placed = plan
            .plan
            .part_named(&from)
            .map_err(|error| Fault::from(error.at_key("from")))?;
        if placed.part.kind() == PartKind::Pier && !call.has("side") {
            return Err(side_missing(call));
        }
        Some(side_ref(call, &placed.part)?)
    };
    let course = call.whole("course")?;
    let lintel = lintel(call)?.map(DuctHead::Lintel);
    let arch = duct_arch(call)?;
    if lintel.is_some() && arch.is_some() {
        return Err(Fault::new(
            "arch-and-lintel",
            "a duct has a lintel or an arch over it, not both",
        )
        .remedy("leave one of them out")
        .about("arch"));
    }
    let duct = Duct {
        name: call.text("name")?,
        from,
        from_annex,
        to,
        to_annex: None,
        side,
        diameter: positive(call.length("diameter")?, "diameter")?,
        course: u32::try_from(course).unwrap_or(0),
        proud: not_negative(call.opt_length("proud")?.unwrap_or(Length::mm(20)), "proud")?,
        shift: call.opt_length("shift")?.unwrap_or_default(),
        raise: not_negative(call.opt_length("raise")?.unwrap_or_default(), "raise")?,
        head: lintel.or(arch),
    };
    PlanValue::new(Plan::clone(&plan.plan).with_duct(duct)?)
}

fn lid(call: &Call, plan: &PlanValue) -> Made {
    let pieces = call.opt_whole("pieces", 1..=MOST_LID_PIECES)?.unwrap_or(1);
    let lid = Lid {
        part: call.text("part")?,
        annex: None,
        depth: positive(call.opt_length("depth")?.unwrap_or(Length::mm(60)), "depth")?,
        pieces: u32::try_from(pieces).unwrap_or(1),
        overhang: not_negative(call.opt_length("overhang")?.unwrap_or_default(), "overhang")?,
        hole: not_negative(call.opt_length("hole")?.unwrap_or_default(), "hole")?,
    };
    PlanValue::new(Plan::clone(&plan.plan).with_lid(lid)?)
}

pub(super) fn some_mass(call: &Call, key: &'static str) -> Result<Option<Mass>, Fault> {
    match call.opt_mass(key)? {
        Some(mass) if mass.kg() <= 0.0 => Err(Fault::new(
            "mass-not-positive",
            format!("`{key}` has to weigh something"),
        )
        .remedy("write its mass, such as 25.kg or 80.lb")
        .about(key)),
        given => Ok(given),
    }
}

fn mortar(call: &Call, plan: &PlanValue) -> Made {
    let mix = Catalogue::builtin()?
        .mortar(&call.text("mix")?)
        .map_err(|error| Fault::from(error).about("mix"))?;
    let mut new = Plan::clone(&plan.plan);
    new.mortar.mix = mix;
    new.mortar.bag = some_mass(call, "bag")?;
    if let Some(bag) = some_mass(call, "powder_bag")? {
        new.mortar.powder_bag = bag;
    }
    PlanValue::new(new)
}

fn concrete(call: &Call, plan: &PlanValue) -> Made {
    let mut new = Plan::clone(&plan.plan);
    if let Some(bag) = some_mass(call, "bag")? {
        new.concrete.bag = bag;
    }
    if let Some(mix) = call.opt_text("mix")? {
        new.concrete.mix = Some(
            Catalogue::builtin()?
                .concrete(&mix)
                .map_err(|error| Fault::from(error).about("mix"))?,
        );
    }
    if let Some(bag) = some_mass(call, "powder_bag")? {
        new.concrete.powder_bag = bag;
    }
    PlanValue::new(new)
}

fn waste(call: &Call, plan: &PlanValue) -> Made {
    let mut new = Plan::clone(&plan.plan);
    let share = |key: &str| {
        call.opt_number(key)
            .map(|given| given.map(|percent| percent / 100.0))
    };
    if let Some(units) = share("units")? {
        new.waste.units = units;
    }
    if let Some(mortar) = share("mortar")? {
        new.waste.mortar = mortar;
    }
    if let Some(concrete) = share("concrete")? {
        new.waste.concrete = concrete;
    }
    PlanValue::new(new)
}

fn on_hand(call: &Call, plan: &PlanValue) -> Made {
    /// More heaps of offcuts than anyone sorts.
    const MOST_HEAPS: usize = 50;
    const MOST_EACH: u64 = 1_000_000;
    let mut new = Plan::clone(&plan.plan);
    let count = |key: &str| -> Result<u64, Fault> {
        let given = call.opt_number(key)?;
        Ok(given.map_or(0, |number| number as u64))
    };
    let unit = call.raw("unit").map(|value| unit_of(value, "unit"));
    let unit = unit.transpose()?;
    let longest = unit.as_ref().unwrap_or(&new.setting.unit).length;
    let mut there = OnHand {
        whole: count("whole")?,
        halves: count("halves")?,
        offcuts: Vec::new(),
    };
    let offcuts = call.has("offcuts").then(|| call.list("offcuts"));
    for (at, item) in offcuts
        .transpose()?
        .unwrap_or_default()
        .into_iter()
        .enumerate()
    {
        let pair = item.try_cast::<rhai::Array>().unwrap_or_default();
        let read = match pair.as_slice() {
            [long, count] => long
                .read_lock::<Length>()
                .map(|length| *length)
                .zip(super::super::declare::whole(count)),
            _ => None,
        };
        let fits = |&(long, count): &(Length, u64)| {
            long.is_positive() && long < longest && count <= MOST_EACH
        };
        let offcut = read
            .and_then(|(long, count)| Some((long, u64::try_from(count).ok()?)))
            .filter(fits)
            .filter(|_| at < MOST_HEAPS)
            .ok_or_else(|| {
                Fault::new(
                    "wrong-type",
                    format!(
                        "each of up to {MOST_HEAPS} kinds of offcut is a length shorter than a unit and a whole number"
                    ),
                )
                .remedy("write [180.mm, 4]")
                .about("offcuts")
                .element(at)
            })?;
        there.offcuts.push(offcut);
    }
    match unit {
        Some(unit) => new.set_heap(Heap { unit, there }),
        None => new.on_hand = there,
    }
    PlanValue::new(new)
}

fn clearances(call: &Call, plan: &PlanValue) -> Made {
    let mut new = Plan::clone(&plan.plan);
    let clear = &mut new.clearances;
    for (key, slot) in [
        ("rack", &mut clear.rack),
        ("leaf", &mut clear.leaf),
        ("frame", &mut clear.frame),
        ("frame_face", &mut clear.frame_face),
        ("grate", &mut clear.grate),
        ("blade", &mut clear.blade),
    ] {
        if let Some(length) = call.opt_length(key)? {
            *slot = not_negative(length, key)?;
        }
    }
    PlanValue::new(new)
}

/// The changes that the options of a call name.
pub(super) fn changes(call: &Call) -> Result<Vec<Change>, Fault> {
    let mut found = Vec::new();
    for key in ["unit", "joint", "bed", "bond"] {
        if let Some(value) = call.raw(key) {
            found.push(change(key, value)?);
        }
    }
    Ok(found)
}

/// One change of a plan's setting.
pub(super) fn change(key: &str, value: &Dynamic) -> Result<Change, Fault> {
    let length = |key: &'static str| {
        value
            .read_lock::<Length>()
            .map(|length| *length)
            .ok_or_else(|| {
                Fault::new("wrong-type", format!("`{key}` wants a length"))
                    .remedy("write it with a unit, such as 10.mm")
                    .about(key)
            })
            .and_then(|length| joint_of(length, key))
    };
    match key {
        "unit" => unit_of(value, "unit").map(|unit| Change::Unit(Box::new(unit))),
        "joint" => length("joint").map(Change::Joint),
        "bed" => length("bed").map(Change::Bed),
        _ => {
            let name = value.clone().into_string().map_err(|_| {
                Fault::new("wrong-type", "`bond` wants a name")
                    .remedy("write a name of the catalogue, such as \"stretcher\"")
                    .about("bond")
            })?;
            Catalogue::builtin()?
                .bond(&name)
                .map(|bond| Change::Bond(Box::new(bond.clone())))
                .map_err(|error| Fault::from(error).about("bond"))
        }
    }
}
