//! What is read off a plan: sizes, counts, takeoff, gauge rod, review, pieces.

use std::rc::Rc;

use rhai::{Array, Dynamic, Map};

use super::catalogue::{map, table};
use super::values::ReviewValue;
use super::{PlanValue, SpaceValue, TableValue, TakeoffValue};
use crate::layout::{Axis, Cuboid, LaidPart};
use crate::masonry::Unit;
use crate::quantity::{Length, Mass, Volume};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};
use crate::sheet;

/// A plan for the examples: a pier of eight units.
macro_rules! pier {
    ($rest:literal) => {
        concat!(
            "plan(\"stand\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 }))",
            $rest
        )
    };
}

/// A plan for the examples: a small chamber.
macro_rules! chamber {
    ($rest:literal) => {
        concat!(
            "plan(\"stand\", #{ unit: \"uk\" }).place(\"box\", chamber(#{ outside: [3, 2], courses: 4 }))",
            $rest
        )
    };
}

const PART: Parameter = Parameter::optional(
    "part",
    Want::Name(NameOf::Part),
    "the whole plan",
    "The part.",
);
const THE_PART: Parameter = Parameter::required("part", Want::Name(NameOf::Part), "The part.");

const fn method(
    name: &'static str,
    group: Group,
    summary: &'static str,
    positional: &'static [Parameter],
    returns: &'static str,
    examples: &'static [Example],
    see_also: &'static [&'static str],
) -> Declaration {
    Declaration {
        name,
        group,
        summary,
        kind: CallKind::Method { of: "Plan" },
        positional,
        options: &[],
        returns,
        examples,
        errors: &[errors::LAID],
        see_also,
    }
}

const UNITS: Declaration = method(
    "units",
    Group::Reading,
    "How many units to buy, cutting and waste included: of all kinds, or of one.",
    &[Parameter::optional(
        "unit",
        Want::Name(NameOf::Unit),
        "all kinds",
        "One kind, by name, where parts are laid with others than the plan's.",
    )],
    "A whole number.",
    &[
        Example {
            script: pier!(".units()"),
            shows: "9",
        },
        Example {
            script: pier!(".units(\"uk\")"),
            shows: "9",
        },
    ],
    &["takeoff", "cuts", "waste"],
)
.refusing(&[
    errors::LAID,
    errors::these(&[errors::NO_SUCH_UNIT, errors::MATERIAL_UNKNOWN]),
]);
const CUTS: Declaration = method(
    "cuts",
    Group::Reading,
    "How many pieces are cut to length.",
    &[PART],
    "A whole number.",
    &[Example {
        script: chamber!(".cuts()"),
        shows: "0",
    }],
    &["units", "pieces"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART])]);
const COURSES: Declaration = method(
    "courses",
    Group::Reading,
    "How many courses a part has.",
    &[THE_PART],
    "A whole number.",
    &[Example {
        script: pier!(".courses(\"pier\")"),
        shows: "4",
    }],
    &["height", "gauge"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART])]);
const HEIGHT: Declaration = method(
    "height",
    Group::Reading,
    "How high a part, or the highest point of the plan, stands above the slab.",
    &[PART],
    "A length.",
    &[Example {
        script: pier!(".height()"),
        shows: "300 mm (about 11 13/16\")",
    }],
    &["courses", "gauge"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART])]);
const INSIDE: Declaration = method(
    "inside",
    Group::Reading,
    "The clear space within a part's walls, of a lined one within its lining; or one compartment of it.",
    &[
        THE_PART,
        Parameter::optional(
            "compartment",
            Want::Text,
            "the whole inside",
            "A compartment beside a partition: \"left\" or \"right\", \"front\" or \"back\"; with several partitions \"1\", \"2\" and so on from the left or front.",
        ),
    ],
    "A space.",
    &[Example {
        script: chamber!(".inside(\"box\")"),
        shows: "460 mm across × 235 mm deep × 300 mm high",
    }],
    &["outside", "volume"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART, errors::NO_INSIDE, errors::NO_COMPARTMENT])]);
const OUTSIDE: Declaration = method(
    "outside",
    Group::Reading,
    "The box round a part's walls.",
    &[THE_PART],
    "A space.",
    &[Example {
        script: chamber!(".outside(\"box\")"),
        shows: "665 mm across × 440 mm deep × 300 mm high",
    }],
    &["inside", "gap"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART])]);
const GAP: Declaration = method(
    "gap",
    Group::Reading,
    "The clear distance between two parts that face each other, or between a part and its lining.",
    &[
        Parameter::required("one", Want::Name(NameOf::Part), "One part."),
        Parameter::required("other", Want::Name(NameOf::Part), "The other part."),
    ],
    "A length.",
    &[
        Example {
            script: "let box = chamber(#{ outside: [3, 2], courses: 4 });\nplan(\"pair\", #{ unit: \"uk\" }).place(\"a\", box).place(\"b\", box, #{ at: [1.m, 0.mm] }).gap(\"a\", \"b\")",
            shows: "335 mm (about 1' 1 3/16\")",
        },
        Example {
            script: "let box = chamber(#{ outside: [5, 4], courses: 4 }).lining(#{ gap: 12.mm });\nplan(\"p\", #{ unit: \"uk\" }).place(\"box\", box).gap(\"box\", \"box lining\")",
            shows: "12 mm (about 1/2\")",
        },
    ],
    &["place", "review"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART, errors::NO_GAP])]);
const VOLUME: Declaration = method(
    "volume",
    Group::Reading,
    "The clear volume within a part's walls or lining, and of a low lining what is above it.",
    &[THE_PART],
    "A volume.",
    &[Example {
        script: chamber!(".volume(\"box\").in_litre()"),
        shows: "32.43",
    }],
    &["inside"],
)
.refusing(&[
    errors::LAID,
    errors::these(&[errors::NO_SUCH_PART, errors::NO_INSIDE]),
]);
const MASS: Declaration = method(
    "mass",
    Group::Reading,
    "What a part, or the whole plan with its slab, weighs.",
    &[PART],
    "A mass.",
    &[Example {
        script: pier!(".mass().in_kg() > 15"),
        shows: "true",
    }],
    &["takeoff"],
)
.refusing(&[
    errors::LAID,
    errors::these(&[errors::NO_SUCH_PART, errors::MATERIAL_UNKNOWN]),
]);
const TAKEOFF: Declaration = method(
    "takeoff",
    Group::Reading,
    "What to buy: units, cutting, mortar, concrete, ground, fittings and masses.",
    &[],
    "A takeoff.",
    &[Example {
        script: pier!(".takeoff().units"),
        shows: "9",
    }],
    &["units", "review", "pieces"],
)
.refusing(&[errors::LAID, errors::these(&[errors::MATERIAL_UNKNOWN])]);
const GAUGE: Declaration = method(
    "gauge",
    Group::Reading,
    "Heights of the courses for a gauge rod, from the bed under course 1.",
    &[PART],
    "A table.",
    &[Example {
        script: pier!(".gauge()"),
        shows: "gauge rod\n  course    bed  unit from  unit to\n  ------  -----  ---------  -------\n       1  10 mm      10 mm    75 mm\n       2  10 mm      85 mm   150 mm\n       3  10 mm     160 mm   225 mm\n       4  10 mm     235 mm   300 mm",
    }],
    &["height", "courses"],
)
.refusing(&[errors::LAID, errors::these(&[errors::NO_SUCH_PART])]);
const REVIEW: Declaration = method(
    "review",
    Group::Review,
    "What a beginner would get wrong, with cause and remedy, and the cautions that apply.",
    &[],
    "A review.",
    &[Example {
        script: pier!(".review().stops"),
        shows: "0",
    }],
    &["takeoff"],
)
.refusing(&[errors::LAID, errors::these(&[errors::MATERIAL_UNKNOWN])]);
const PIECES: Declaration = method(
    "pieces",
    Group::Reading,
    "Every piece of a course of a part, in its place.",
    &[
        THE_PART,
        Parameter::required("course", Want::WholeNumber, "The course, from 1."),
    ],
    "A table.",
    &[Example {
        script: chamber!(".pieces(\"box\", 1).rows.len()"),
        shows: "8",
    }],
    &["cuts", "takeoff"],
)
.refusing(&[
    errors::LAID,
    errors::these(&[errors::NO_SUCH_PART, errors::COURSE_OUTSIDE_PART]),
]);

const fn property(
    name: &'static str,
    of: &'static str,
    summary: &'static str,
    returns: &'static str,
    examples: &'static [Example],
) -> Declaration {
    Declaration {
        name,
        group: Group::Reading,
        summary,
        kind: CallKind::Property { of },
        positional: &[],
        options: &[],
        returns,
        examples,
        errors: &[],
        see_also: &[],
    }
}

const ACROSS: Declaration = property(
    "across",
    "Space",
    "Its size from left to right.",
    "A length.",
    &[Example {
        script: chamber!(".inside(\"box\").across"),
        shows: "460 mm (about 1' 6 1/8\")",
    }],
);
const DEEP: Declaration = property(
    "deep",
    "Space",
    "Its size from front to back.",
    "A length.",
    &[Example {
        script: chamber!(".inside(\"box\").deep"),
        shows: "235 mm (about 9 1/4\")",
    }],
);
const HIGH: Declaration = property(
    "high",
    "Space",
    "Its height.",
    "A length.",
    &[Example {
        script: chamber!(".inside(\"box\").high"),
        shows: "300 mm (about 11 13/16\")",
    }],
);
const SPACE_VOLUME: Declaration = property(
    "volume",
    "Space",
    "Its volume.",
    "A volume.",
    &[Example {
        script: chamber!(".inside(\"box\").volume.in_litre()"),
        shows: "32.43",
    }],
);
pub(super) const ROWS: Declaration = property(
    "rows",
    "Table",
    "Its rows, a list of option maps.",
    "A list.",
    &[Example {
        script: pier!(".gauge().rows[3].unit_to"),
        shows: "300 mm (about 11 13/16\")",
    }],
);
const STOPS: Declaration = property(
    "stops",
    "Review",
    "How many findings must be changed before building.",
    "A whole number.",
    &[Example {
        script: pier!(".review().stops"),
        shows: "0",
    }],
);
const WARNS: Declaration = property(
    "warns",
    "Review",
    "How many findings need a decision.",
    "A whole number.",
    &[Example {
        script: pier!(".review().warns"),
        shows: "2",
    }],
);
const FINDINGS: Declaration = property(
    "findings",
    "Review",
    "The findings, a list of option maps.",
    "A list.",
    &[Example {
        script: pier!(".review().findings[0].code"),
        shows: "no-slab",
    }],
);
const CAUTIONS: Declaration = property(
    "cautions",
    "Review",
    "The cautions that apply, a list of option maps: hazard, text, source.",
    "A list.",
    &[Example {
        script: pier!(".review().cautions[0].hazard"),
        shows: "codes",
    }],
);
const TAKEOFF_UNITS: Declaration = property(
    "units",
    "Takeoff",
    "Units to buy.",
    "A whole number.",
    &[Example {
        script: pier!(".takeoff().units"),
        shows: "9",
    }],
);
const NET_UNITS: Declaration = property(
    "net_units",
    "Takeoff",
    "Units needed, without waste.",
    "A whole number.",
    &[Example {
        script: pier!(".takeoff().net_units"),
        shows: "8",
    }],
);
const TAKEOFF_CUTS: Declaration = property(
    "cuts",
    "Takeoff",
    "Pieces cut to length.",
    "A whole number.",
    &[Example {
        script: pier!(".takeoff().cuts"),
        shows: "0",
    }],
);
const MORTAR: Declaration = property(
    "mortar",
    "Takeoff",
    "Mortar to make, waste included, of all kinds together.",
    "A volume.",
    &[Example {
        script: pier!(".takeoff().mortar > 2.litre"),
        shows: "true",
    }],
);
const NET_MORTAR: Declaration = property(
    "net_mortar",
    "Takeoff",
    "Mortar in the joints, lid beds and frogs, without waste, of all kinds together.",
    "A volume.",
    &[Example {
        script: pier!(".takeoff().net_mortar > 2.litre"),
        shows: "true",
    }],
);
const MORTAR_BAGS: Declaration = property(
    "mortar_bags",
    "Takeoff",
    "Ready-mixed bags of the plan's mortar; nothing when the plan names no bag.",
    "A whole number.",
    &[Example {
        script: pier!(".mortar(\"1:1:6\", #{ bag: 25.kg }).takeoff().mortar_bags"),
        shows: "1",
    }],
);
const MORTARS: Declaration = property(
    "mortars",
    "Takeoff",
    "Each mortar that something is laid in, a list of option maps.",
    "A list.",
    &[Example {
        script: pier!(".takeoff().mortars[0].parts"),
        shows: "[\"pier\"]",
    }],
);
const KINDS: Declaration = property(
    "kinds",
    "Takeoff",
    "Units of each kind, a list of option maps.",
    "A list.",
    &[Example {
        script: pier!(".takeoff().kinds[0].net"),
        shows: "8",
    }],
);
const CONCRETE: Declaration = property(
    "concrete",
    "Takeoff",
    "Concrete to make, waste included.",
    "A volume.",
    &[Example {
        script: pier!(".takeoff().concrete.in_litre()"),
        shows: "0",
    }],
);
const CONCRETE_BAGS: Declaration = property(
    "concrete_bags",
    "Takeoff",
    "Bags of concrete.",
    "A whole number.",
    &[Example {
        script: pier!(".takeoff().concrete_bags"),
        shows: "0",
    }],
);
const SLAB_ACROSS: Declaration = property(
    "slab_across",
    "Takeoff",
    "Size of the slab from left to right.",
    "A length.",
    &[Example {
        script: pier!(".slab(#{ margin: 100.mm }).takeoff().slab_across"),
        shows: "415 mm (about 1' 4 5/16\")",
    }],
);
const SLAB_DEEP: Declaration = property(
    "slab_deep",
    "Takeoff",
    "Size of the slab from front to back.",
    "A length.",
    &[Example {
        script: pier!(".slab(#{ margin: 100.mm }).takeoff().slab_deep"),
        shows: "415 mm (about 1' 4 5/16\")",
    }],
);
const FITTINGS: Declaration = property(
    "fittings",
    "Takeoff",
    "What is fitted into the brickwork, a list of option maps.",
    "A list.",
    &[Example {
        script: pier!(".takeoff().fittings.len()"),
        shows: "0",
    }],
);
const GROUPS: Declaration = property(
    "pieces",
    "Takeoff",
    "Pieces by what they are, a list of option maps.",
    "A list.",
    &[Example {
        script: pier!(".takeoff().pieces[0].count"),
        shows: "8",
    }],
);
const TAKEOFF_MASS: Declaration = property(
    "mass",
    "Takeoff",
    "What the whole plan weighs.",
    "A mass.",
    &[Example {
        script: pier!(".takeoff().mass.in_kg() > 15"),
        shows: "true",
    }],
);

const UNIT_LENGTH: Declaration = property(
    "length",
    "Unit",
    "Its length.",
    "A length.",
    &[Example {
        script: "unit(\"uk\").length",
        shows: "215 mm (about 8 7/16\")",
    }],
);
const UNIT_WIDTH: Declaration = property(
    "width",
    "Unit",
    "Its width.",
    "A length.",
    &[Example {
        script: "unit(\"uk\").width",
        shows: "102.5 mm (about 4 1/16\")",
    }],
);
const UNIT_HEIGHT: Declaration = property(
    "height",
    "Unit",
    "Its height.",
    "A length.",
    &[Example {
        script: "unit(\"uk\").height",
        shows: "65 mm (about 2 9/16\")",
    }],
);
const UNIT_JOINT: Declaration = property(
    "joint",
    "Unit",
    "Its usual head joint.",
    "A length.",
    &[Example {
        script: "unit(\"uk\").joint",
        shows: "10 mm (about 3/8\")",
    }],
);
const UNIT_MASS: Declaration = property(
    "mass",
    "Unit",
    "What one weighs.",
    "A mass.",
    &[Example {
        script: "unit(\"uk\").mass.in_kg() > 2",
        shows: "true",
    }],
);
const UNIT_NAME: Declaration = property(
    "name",
    "Unit",
    "Its name.",
    "A text.",
    &[Example {
        script: "unit(\"uk\").name",
        shows: "uk",
    }],
);

pub(super) fn unit_properties(registry: &mut Registry) {
    registry.property::<Unit, Length>(&UNIT_LENGTH, |unit| Ok(unit.length));
    registry.property::<Unit, Length>(&UNIT_WIDTH, |unit| Ok(unit.width));
    registry.property::<Unit, Length>(&UNIT_HEIGHT, |unit| Ok(unit.height));
    registry.property::<Unit, Length>(&UNIT_JOINT, |unit| Ok(unit.head));
    registry.property::<Unit, Mass>(&UNIT_MASS, |unit| Ok(unit.mass()));
    registry.property::<Unit, String>(&UNIT_NAME, |unit| Ok(unit.name.clone()));
}

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PlanValue, i64>(&UNITS, |call, plan| units(call, &plan));
    registry.method::<PlanValue, i64>(&CUTS, |call, plan| cuts(call, &plan));
    registry.method::<PlanValue, i64>(&COURSES, |call, plan| {
        with_part(call, &plan, |part| i64::from(part.courses))
    });
    registry.method::<PlanValue, Length>(&HEIGHT, |call, plan| {
        if call.has("part") {
            with_part(call, &plan, |part| part.outside.heights().1)
        } else {
            Ok(plan.laid()?.height())
        }
    });
    registry.method::<PlanValue, SpaceValue>(&INSIDE, |call, plan| {
        if let Some(asked) = call.opt_text("compartment")? {
            let known = with_part(call, &plan, |part| part.compartments.clone())?;
            let found = known.iter().find(|one| one.name == asked);
            return found
                .map(|one| space(&plan, one.space))
                .ok_or_else(|| no_compartment(&asked, &known));
        }
        let inside = with_part(call, &plan, |part| part.inside)?;
        let cuboid = inside.ok_or_else(|| no_inside(call))?;
        Ok(space(&plan, cuboid))
    });
    registry.method::<PlanValue, SpaceValue>(&OUTSIDE, |call, plan| {
        let cuboid = with_part(call, &plan, |part| part.outside)?;
        Ok(space(&plan, cuboid))
    });
    registry.method::<PlanValue, Length>(&GAP, |call, plan| gap(call, &plan));
    registry.method::<PlanValue, Volume>(&VOLUME, |call, plan| {
        let (laid, index) = part_named(&plan, &call.text("part")?, "part")?;
        laid.clear_volume(index).ok_or_else(|| no_inside(call))
    });
    registry.method::<PlanValue, Mass>(&MASS, |call, plan| mass(call, &plan));
    registry.method::<PlanValue, TakeoffValue>(&TAKEOFF, |_, plan| {
        Ok(TakeoffValue {
            laid: plan.laid()?,
            takeoff: plan.takeoff()?,
        })
    });
    registry.method::<PlanValue, TableValue>(&GAUGE, |call, plan| gauge(call, &plan));
    registry.method::<PlanValue, ReviewValue>(&REVIEW, |_, plan| {
        Ok(ReviewValue {
            laid: plan.laid()?,
            review: plan.review()?,
        })
    });
    registry.method::<PlanValue, TableValue>(&PIECES, |call, plan| pieces(call, &plan));
    registry.property::<SpaceValue, Length>(&ACROSS, |space| Ok(space.cuboid.length));
    registry.property::<SpaceValue, Length>(&DEEP, |space| Ok(space.cuboid.width));
    registry.property::<SpaceValue, Length>(&HIGH, |space| Ok(space.cuboid.height));
    registry.property::<SpaceValue, Volume>(&SPACE_VOLUME, |space| Ok(space.cuboid.volume()));
    registry.property::<TableValue, Array>(&ROWS, |table| {
        Ok(table.rows.iter().cloned().map(Dynamic::from).collect())
    });
    registry.property::<ReviewValue, i64>(&STOPS, |value| {
        Ok(value.review.count(crate::review::Severity::Stop) as i64)
    });
    registry.property::<ReviewValue, i64>(&WARNS, |value| {
        Ok(value.review.count(crate::review::Severity::Warn) as i64)
    });
    registry.property::<ReviewValue, Array>(&FINDINGS, |value| Ok(findings(value)));
    registry.property::<ReviewValue, Array>(&CAUTIONS, |value| Ok(cautions(value)));
    takeoff_properties(registry);
}

fn takeoff_properties(registry: &mut Registry) {
    registry.property::<TakeoffValue, i64>(&TAKEOFF_UNITS, |t| Ok(t.takeoff.units.to_buy as i64));
    registry.property::<TakeoffValue, i64>(&NET_UNITS, |t| Ok(t.takeoff.units.net as i64));
    registry.property::<TakeoffValue, i64>(&TAKEOFF_CUTS, |t| Ok(t.takeoff.units.cut as i64));
    registry.property::<TakeoffValue, Volume>(&MORTAR, |t| Ok(t.takeoff.all_mortar()));
    registry.property::<TakeoffValue, Volume>(&NET_MORTAR, |t| {
        Ok(t.takeoff.mortars().map(|mortar| mortar.net).sum())
    });
    registry.property::<TakeoffValue, Dynamic>(&MORTAR_BAGS, |t| {
        Ok(t.takeoff
            .mortar
            .bags
            .as_ref()
            .map_or(Dynamic::UNIT, |bags| (bags.count as i64).into()))
    });
    registry.property::<TakeoffValue, Array>(&MORTARS, |t| Ok(mortars(t)));
    registry.property::<TakeoffValue, Array>(&KINDS, |t| Ok(kinds(t)));
    registry.property::<TakeoffValue, Volume>(&CONCRETE, |t| Ok(t.takeoff.concrete.total));
    registry.property::<TakeoffValue, i64>(&CONCRETE_BAGS, |t| {
        Ok(t.takeoff.concrete.bags.count as i64)
    });
    registry.property::<TakeoffValue, Dynamic>(&SLAB_ACROSS, |t| {
        Ok(t.takeoff
            .ground
            .as_ref()
            .map_or(Dynamic::UNIT, |ground| Dynamic::from(ground.across)))
    });
    registry.property::<TakeoffValue, Dynamic>(&SLAB_DEEP, |t| {
        Ok(t.takeoff
            .ground
            .as_ref()
            .map_or(Dynamic::UNIT, |ground| Dynamic::from(ground.deep)))
    });
    registry.property::<TakeoffValue, Array>(&FITTINGS, |t| {
        Ok(t.takeoff
            .fittings
            .iter()
            .map(|fitting| {
                let measures = fitting.size.measures().into_iter();
                let sizes: Array = measures.map(Dynamic::from).collect();
                Dynamic::from(map([
                    ("what", fitting.what.clone().into()),
                    ("part", fitting.part.clone().into()),
                    ("size", sizes.into()),
                    ("why", fitting.why.clone().into()),
                ]))
            })
            .collect())
    });
    registry.property::<TakeoffValue, Array>(&GROUPS, |t| {
        Ok(t.takeoff
            .pieces
            .iter()
            .map(|group| {
                Dynamic::from(map([
                    ("unit", group.unit.clone().into()),
                    ("role", group.role.word().into()),
                    ("cut", group.cut.word().into()),
                    ("length", Dynamic::from(group.length)),
                    ("with", group.shaping.map_or(Dynamic::UNIT, Into::into)),
                    ("count", (group.count as i64).into()),
                ]))
            })
            .collect())
    });
    registry.property::<TakeoffValue, Mass>(&TAKEOFF_MASS, |t| Ok(t.takeoff.masses.total));
}

fn units(call: &Call, plan: &PlanValue) -> Result<i64, Fault> {
    let takeoff = plan.takeoff()?;
    let Some(name) = call.opt_text("unit")? else {
        return Ok(takeoff.units.to_buy as i64);
    };
    let found = takeoff.kinds.iter().find(|kind| kind.unit == name);
    found.map(|kind| kind.to_buy as i64).ok_or_else(|| {
        Fault::new("no-such-unit", format!("nothing is laid of \"{name}\""))
            .remedy(format!("units of this plan: {}", takeoff.units.unit))
            .about("unit")
    })
}

fn kinds(value: &TakeoffValue) -> Array {
    let kinds = value.takeoff.kinds.iter();
    kinds
        .map(|kind| {
            Dynamic::from(map([
                ("unit", kind.unit.clone().into()),
                ("whole", (kind.whole as i64).into()),
                ("cut_up", (kind.cut_up as i64).into()),
                ("net", (kind.net as i64).into()),
                ("to_buy", (kind.to_buy as i64).into()),
            ]))
        })
        .collect()
}

fn mortars(value: &TakeoffValue) -> Array {
    let used = value.takeoff.mortars().filter(|m| m.net.is_positive());
    used.map(|mortar| {
        let parts: Array = mortar
            .joints
            .iter()
            .map(|(part, _)| part.clone().into())
            .collect();
        Dynamic::from(map([
            ("mix", mortar.mix.clone().into()),
            ("parts", parts.into()),
            ("net", Dynamic::from(mortar.net)),
            ("total", Dynamic::from(mortar.total)),
        ]))
    })
    .collect()
}

fn space(plan: &PlanValue, cuboid: Cuboid) -> SpaceValue {
    SpaceValue {
        cuboid,
        style: plan.plan.style,
    }
}

fn with_part<R>(call: &Call, plan: &PlanValue, read: impl Fn(&LaidPart) -> R) -> Result<R, Fault> {
    part_named(plan, &call.text("part")?, "part")
        .map(|(laid, index)| laid.parts.get(index).map(&read))?
        .ok_or_else(|| Fault::new("no-such-part", "the part is not there").about("part"))
}

pub(super) fn part_named(
    plan: &PlanValue,
    name: &str,
    key: &'static str,
) -> Result<(Rc<crate::layout::Laid>, usize), Fault> {
    plan.plan
        .part_named(name)
        .map_err(|error| Fault::from(error).about(key))?;
    let laid = plan.laid()?;
    let index = laid.part(name).map_or(0, |(index, _)| index);
    Ok((laid, index))
}

fn no_compartment(asked: &str, known: &[crate::layout::Compartment]) -> Fault {
    let names: Vec<String> = known
        .iter()
        .map(|one| format!("\"{}\"", one.name))
        .collect();
    Fault::new(
        "no-compartment",
        format!("there is no compartment \"{asked}\""),
    )
    .remedy(if names.is_empty() {
        "divide the chamber with a partition first".to_owned()
    } else {
        format!("its compartments: {}", names.join(", "))
    })
    .about("compartment")
}

fn no_inside(call: &Call) -> Fault {
    let name = call.text("part").unwrap_or_default();
    Fault::new("no-inside", format!("\"{name}\" has no inside"))
        .remedy("ask for the inside of a chamber; rings() tells the diameters of rings")
        .about("part")
}

fn cuts(call: &Call, plan: &PlanValue) -> Result<i64, Fault> {
    let laid = plan.laid()?;
    if !call.has("part") {
        return Ok(plan.takeoff()?.units.cut as i64);
    }
    let (_, index) = part_named(plan, &call.text("part")?, "part")?;
    let pieces = laid.parts.get(index).map(|part| laid.pieces_of(part));
    let cut = pieces
        .unwrap_or_default()
        .iter()
        .filter(|piece| piece.cut != crate::layout::Cut::Whole);
    Ok(cut.count() as i64)
}

fn mass(call: &Call, plan: &PlanValue) -> Result<Mass, Fault> {
    let takeoff = plan.takeoff()?;
    if !call.has("part") {
        return Ok(takeoff.masses.total);
    }
    let (_, index) = part_named(plan, &call.text("part")?, "part")?;
    Ok(takeoff
        .masses
        .parts
        .get(index)
        .map(|part| part.total)
        .unwrap_or_default())
}

fn gap(call: &Call, plan: &PlanValue) -> Result<Length, Fault> {
    let (laid, one) = part_named(plan, &call.text("one")?, "one")?;
    let (_, other) = part_named(plan, &call.text("other")?, "other")?;
    let lining = laid.linings.iter().find(|lining| {
        (lining.part, lining.host) == (one, other) || (lining.host, lining.part) == (one, other)
    });
    if let Some(lining) = lining {
        return Ok(lining.gap);
    }
    let apart = |axis: Axis| {
        let (a, b) = (laid.parts.get(one)?, laid.parts.get(other)?);
        let (a, b) = (a.outside.span(axis), b.outside.span(axis));
        let gap = (b.0 - a.1).max(a.0 - b.1);
        (!gap.is_negative()).then_some(gap)
    };
    match (apart(Axis::X), apart(Axis::Y)) {
        (Some(gap), None) | (None, Some(gap)) => Ok(gap),
        _ => Err(Fault::new("no-gap", "the two parts do not face each other")
            .remedy("name two parts that stand side by side")),
    }
}

fn gauge(call: &Call, plan: &PlanValue) -> Result<TableValue, Fault> {
    let laid = plan.laid()?;
    let heights = if call.has("part") {
        with_part(call, plan, |part| part.heights.clone())?
    } else {
        let highest = laid.parts.iter().max_by_key(|part| part.courses);
        highest.map(|part| part.heights.clone()).unwrap_or_default()
    };
    let rows = (1..=heights.count())
        .map(|course| {
            map([
                ("course", i64::from(course).into()),
                ("bed", Dynamic::from(heights.bed_under(course))),
                ("unit_from", Dynamic::from(heights.bottom_of(course))),
                ("unit_to", Dynamic::from(heights.top_of(course))),
            ])
        })
        .collect();
    Ok(table(sheet::gauge_table(&laid, &heights), rows))
}

fn findings(value: &ReviewValue) -> Array {
    value
        .review
        .findings
        .iter()
        .map(|finding| {
            Dynamic::from(map([
                ("code", finding.code.into()),
                ("severity", finding.severity.word().into()),
                ("place", finding.place.to_string().into()),
                ("figure", finding.figure.clone().into()),
                ("cause", finding.cause.clone().into()),
                ("remedy", finding.remedy.clone().into()),
                ("source", finding.source.into()),
            ]))
        })
        .collect()
}

fn cautions(value: &ReviewValue) -> Array {
    value
        .review
        .cautions
        .iter()
        .map(|caution| {
            Dynamic::from(map([
                ("hazard", caution.hazard.into()),
                ("text", caution.text.as_ref().into()),
                ("source", caution.source.into()),
            ]))
        })
        .collect()
}

fn pieces(call: &Call, plan: &PlanValue) -> Result<TableValue, Fault> {
    let (laid, index) = part_named(plan, &call.text("part")?, "part")?;
    let course = call.whole("course")?;
    let Some(part) = laid.parts.get(index) else {
        return Ok(table(sheet::Table::default(), Vec::new()));
    };
    if course < 1 || course > i64::from(part.courses) {
        return Err(Fault::new(
            "course-outside-part",
            format!("\"{}\" has no course {course}", part.name),
        )
        .remedy(format!("name a course from 1 to {}", part.courses))
        .about("course"));
    }
    let style = plan.plan.style;
    let mut shown = sheet::Table::new(
        format!("{}, course {course}", part.name),
        &["role", "cut", "#x", "#y", "#along x", "#along y"],
    );
    let mut rows: Vec<Map> = Vec::new();
    for piece in laid.pieces_of(part) {
        if i64::from(piece.course) != course {
            continue;
        }
        let cuboid = laid.bounds(piece);
        shown.row([
            piece.role.word().to_owned(),
            piece.cut.word(),
            style.show(cuboid.at.x),
            style.show(cuboid.at.y),
            style.show(cuboid.length),
            style.show(cuboid.width),
        ]);
        rows.push(map([
            ("role", piece.role.word().into()),
            ("cut", piece.cut.word().into()),
            ("x", Dynamic::from(cuboid.at.x)),
            ("y", Dynamic::from(cuboid.at.y)),
            ("z", Dynamic::from(cuboid.at.z)),
            ("length", Dynamic::from(piece.length)),
            ("along", piece.along.word().into()),
        ]));
    }
    Ok(table(shown, rows))
}
