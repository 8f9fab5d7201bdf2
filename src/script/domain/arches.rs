//! Arches over openings: how they are asked for, and a table of how they came out.

use rhai::{Dynamic, Map};

use super::catalogue::{map, table};
use super::{PlanValue, TableValue};
use crate::layout::LaidRing;
use crate::plan::{Arch, ArchKind, DuctHead, Standing};
use crate::quantity::Length;
use crate::script::declare::whole;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want, errors,
};
use crate::sheet::Table;

/// What an arch's map may say.
const ARCH_ENTRIES: &[Parameter] = &[
    Parameter::required("kind", Want::Word(ArchKind::WORDS), "Its shape."),
    RISE,
    COURSES,
    RINGS,
    STANDING,
    CUT,
    VOUSSOIRS,
];
/// The same of what is over or round a duct.
const DUCT_ARCH_ENTRIES: &[Parameter] = &[
    Parameter::required(
        "kind",
        Want::Word(DuctHead::ARCH_WORDS),
        "Half a ring over it, or a ring all round.",
    ),
    RINGS,
    STANDING,
    CUT,
    VOUSSOIRS,
];
const RISE: Parameter = Parameter::optional(
    "rise",
    Want::Length,
    "",
    "How far a segmental arch rises over its span.",
);
const COURSES: Parameter = Parameter::optional(
    "courses",
    Want::WholeFrom(1, 20),
    "",
    "How many courses high a flat arch is.",
);
const RINGS: Parameter = Parameter::optional(
    "rings",
    Want::WholeNumber,
    "1",
    "How many rings of voussoirs lie over each other.",
);
const STANDING: Parameter = Parameter::optional(
    "standing",
    Want::Word(Standing::WORDS),
    "",
    "How the voussoirs stand.",
);
const CUT: Parameter = Parameter::optional(
    "cut",
    Want::Flag,
    "",
    "Whether voussoirs are cut to taper, so that joints are parallel.",
);
const VOUSSOIRS: Parameter = Parameter::optional(
    "voussoirs",
    Want::WholeNumber,
    "",
    "How many there are in the innermost ring.",
);

pub(super) const ARCH_OPTION: Parameter = Parameter::optional(
    "arch",
    Want::AnyOf(&[Want::Word(ArchKind::WORDS), Want::Entries(ARCH_ENTRIES)]),
    "none",
    "An arch over it in place of a lintel: \"flat\", \"segmental\", \"semicircular\", or a map such as #{ kind: \"segmental\", rise: 120.mm, rings: 2, standing: \"rowlock\", cut: false, voussoirs: 21 } or #{ kind: \"flat\", courses: 2 }; a flat arch of more courses than a unit is long is bonded of up to two units.",
);

pub(super) const DUCT_ARCH_OPTION: Parameter = Parameter::optional(
    "arch",
    Want::AnyOf(&[
        Want::Word(DuctHead::ARCH_WORDS),
        Want::Entries(DUCT_ARCH_ENTRIES),
    ]),
    "none",
    "Voussoirs in place of a lintel: \"semicircular\" for half a ring over its crown, from the bed nearest to its middle, \"ring\" for one all round, or a map such as #{ kind: \"ring\", rings: 2, standing: \"rowlock\", cut: true, voussoirs: 24 }.",
);

const ARCHES: Declaration = Declaration {
    name: "arches",
    group: Group::Reading,
    summary: "The arches of a plan: span, rise, radius, skewback, voussoirs and their joints; rings round ducts; and heads of courses that step inwards until they meet.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[],
    returns: "A table.",
    examples: &[Example {
        script: "plan(\"store\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 8, courses: 20 }).opening(#{ name: \"hatch\", width: 3, courses: [1, 6], arch: \"segmental\" })).arches().rows.len()",
        shows: "1",
    }],
    errors: &[errors::LAID],
    see_also: &["opening", "review", "pieces"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PlanValue, TableValue>(&ARCHES, |_, plan| arches(&plan));
}

fn wrong(key: &str, wants: &str, remedy: &str) -> Fault {
    Fault::new("wrong-type", format!("the arch's `{key}` wants {wants}"))
        .remedy(remedy)
        .about("arch")
        .entry(key)
}

fn kind_of(map: &Map) -> Result<ArchKind, Fault> {
    let word = super::entry_word(map, "kind");
    ArchKind::from_word(&word).ok_or_else(|| {
        Fault::new(
            "arch-unknown",
            format!("an arch of \"{word}\" is not known"),
        )
        .remedy("write \"flat\", \"segmental\" or \"semicircular\"")
        .about("arch")
        .entry("kind")
    })
}

/// The arch that a call asks for.
pub(super) fn arch(call: &Call) -> Result<Option<Arch>, Fault> {
    let map = call.raw("arch").map(super::details);
    map.map(|map| arch_of(&map)).transpose()
}

/// What a call asks for over a duct, of voussoirs: half a ring over its crown, or a ring all round.
pub(super) fn duct_arch(call: &Call) -> Result<Option<DuctHead>, Fault> {
    let Some(mut map) = call.raw("arch").map(super::details) else {
        return Ok(None);
    };
    let word = super::entry_word(&map, "kind");
    let semicircular = ArchKind::Semicircular.word();
    map.insert("kind".into(), semicircular.into());
    let arch = arch_of(&map)?;
    Ok(Some(if word == semicircular {
        DuctHead::Arch(arch)
    } else {
        DuctHead::Ring(arch)
    }))
}

fn arch_of(map: &Map) -> Result<Arch, Fault> {
    let mut arch = Arch::of(kind_of(map)?);
    let kind = arch.kind;
    let given = |key: &str| map.get(key).filter(|value| !value.is_unit());
    let count = |key: &str, most: u32| {
        let read = |value: &Dynamic| {
            let count = whole(value).and_then(|count| u32::try_from(count).ok());
            let count = count.filter(|count| (1..=most).contains(count));
            let wants = format!("a whole number from 1 to {most}");
            count.ok_or_else(|| wrong(key, &wants, "write a whole number"))
        };
        given(key).map(read).transpose()
    };
    // Whether an entry is given that is for flat arches, or for the others.
    let suits = |key: &str, flat: bool| {
        if given(key).is_none() || flat == (kind == ArchKind::Flat) {
            return Ok(given(key).is_some());
        }
        Err(Fault::new(
            "arch-option-unfit",
            format!("a {} arch has no `{key}`", kind.word()),
        )
        .remedy("`courses` is for flat arches; `rings` for curved ones; `rise` for segmental ones")
        .about("arch")
        .entry(key))
    };
    let rise = || {
        if kind == ArchKind::Semicircular {
            return Err(Fault::new(
                "arch-option-unfit",
                "a semicircular arch rises half its span",
            )
            .remedy("leave `rise` out, or write kind: \"segmental\"")
            .about("arch")
            .entry("rise"));
        }
        let rise = super::entry::<Length>(map, "rise");
        let rise = rise.filter(|rise| rise.is_positive());
        let wants = "a length above zero";
        rise.map(Some)
            .ok_or_else(|| wrong("rise", wants, "write it with a unit, such as 120.mm"))
    };
    let mut read = super::Gathered::default();
    if read.take(suits("courses", true)) {
        arch.courses = read.take(count("courses", 20));
    }
    if read.take(suits("rings", false))
        && let Some(rings) = read.take(count("rings", Arch::MOST_RINGS))
    {
        arch.rings = rings;
    }
    if read.take(suits("rise", false)) {
        arch.rise = read.take(rise());
    }
    if let Some(voussoirs) = read.take(count("voussoirs", Arch::MOST_VOUSSOIRS)) {
        arch.voussoirs = Some(voussoirs);
    }
    if let Some(cut) = super::entry::<bool>(map, "cut") {
        if !cut {
            read.take(suits("cut", false));
        }
        arch.cut = Some(cut);
    }
    if let Some(standing) = Standing::from_word(&super::entry_word(map, "standing")) {
        arch.standing = standing;
    }
    read.done(arch)
}

fn arches(plan: &PlanValue) -> Result<TableValue, Fault> {
    let laid = plan.laid()?;
    let style = plan.plan.style;
    let mut shown = Table::new(
        format!("arches of {}", laid.plan.name),
        &[
            "part",
            "opening",
            "kind",
            "#ring",
            "#span",
            "#rise",
            "#radius",
            "#skewback",
            "#depth",
            "#soffit",
            "#voussoirs",
            "units",
            "#joint below",
            "#joint above",
        ],
    );
    let mut rows = Vec::new();
    for arch in &laid.arches {
        for (index, ring) in arch.rings.iter().enumerate() {
            shown.row([
                laid.part_name(arch.part).to_owned(),
                arch.name.clone(),
                format!("{}, {}", arch.arch.kind.word(), arch.arch.standing.word()),
                (index + 1).to_string(),
                style.show(arch.span),
                style.show(arch.rise),
                style.show(arch.radius),
                format!("{:.1}°", arch.skewback),
                style.show(arch.depth),
                style.show(arch.intrados),
                ring.voussoirs.to_string(),
                ring_units(ring).to_owned(),
                style.show(ring.joints.0),
                style.show(ring.joints.1),
            ]);
            rows.push(map([
                ("part", laid.part_name(arch.part).into()),
                ("opening", arch.name.clone().into()),
                ("kind", arch.arch.kind.word().into()),
                ("standing", arch.arch.standing.word().into()),
                ("ring", (index as i64 + 1).into()),
                ("span", Dynamic::from(arch.span)),
                ("rise", Dynamic::from(arch.rise)),
                ("radius", Dynamic::from(arch.radius)),
                ("skewback", arch.skewback.into()),
                ("depth", Dynamic::from(arch.depth)),
                ("soffit", Dynamic::from(arch.intrados)),
                ("voussoirs", i64::from(ring.voussoirs).into()),
                ("cut", ring.tapered.into()),
                ("joint_below", Dynamic::from(ring.joints.0)),
                ("joint_above", Dynamic::from(ring.joints.1)),
            ]));
        }
    }
    duct_rings(plan, &laid, &mut shown, &mut rows);
    heads(plan, &laid, &mut shown, &mut rows);
    Ok(table(shown, rows))
}

fn ring_units(ring: &LaidRing) -> &'static str {
    if ring.bonded {
        "cut to taper, bonded"
    } else if ring.tapered {
        "cut to taper"
    } else {
        "uncut"
    }
}

/// Rings all round ducts, a row each: the span is the hole, and they have neither springing nor skewback.
fn duct_rings(
    plan: &PlanValue,
    laid: &crate::layout::Laid,
    shown: &mut Table,
    rows: &mut Vec<Map>,
) {
    let style = plan.plan.style;
    for around in &laid.duct_rings {
        let part = laid.part_name(around.part);
        let round = around
            .inner
            .scale(std::f64::consts::TAU)
            .unwrap_or_default();
        for (index, ring) in around.rings.iter().enumerate() {
            shown.row([
                part.to_owned(),
                around.name.clone(),
                format!("ring, {}", around.standing.word()),
                (index + 1).to_string(),
                style.show(around.inner * 2),
                String::new(),
                style.show(around.inner),
                String::new(),
                style.show(around.depth),
                style.show(round),
                ring.voussoirs.to_string(),
                ring_units(ring).to_owned(),
                style.show(ring.joints.0),
                style.show(ring.joints.1),
            ]);
            rows.push(map([
                ("part", part.into()),
                ("opening", around.name.clone().into()),
                ("kind", "ring".into()),
                ("standing", around.standing.word().into()),
                ("ring", (index as i64 + 1).into()),
                ("span", Dynamic::from(around.inner * 2)),
                ("radius", Dynamic::from(around.inner)),
                ("depth", Dynamic::from(around.depth)),
                ("soffit", Dynamic::from(round)),
                ("voussoirs", i64::from(ring.voussoirs).into()),
                ("cut", ring.tapered.into()),
                ("joint_below", Dynamic::from(ring.joints.0)),
                ("joint_above", Dynamic::from(ring.joints.1)),
            ]));
        }
    }
}

/// Corbelled heads, a row each: their courses stand where an arch has rings.
fn heads(plan: &PlanValue, laid: &crate::layout::Laid, shown: &mut Table, rows: &mut Vec<Map>) {
    let style = plan.plan.style;
    for corbel in &laid.corbels {
        let part = laid.part_name(corbel.part);
        let courses = corbel.gaps.len() as i64;
        let span = corbel.span.1 - corbel.span.0;
        let rise = match (corbel.levels.first(), corbel.levels.last()) {
            (Some(low), Some(high)) => *high - *low,
            _ => Length::ZERO,
        };
        let none = String::new;
        shown.row([
            part.to_owned(),
            corbel.name.clone(),
            format!("corbel, steps of {}", style.show(corbel.step)),
            courses.to_string(),
            style.show(span),
            style.show(rise),
            none(),
            none(),
            none(),
            none(),
            none(),
            none(),
            none(),
            none(),
        ]);
        rows.push(map([
            ("part", part.into()),
            ("opening", corbel.name.clone().into()),
            ("kind", "corbel".into()),
            ("courses", courses.into()),
            ("span", Dynamic::from(span)),
            ("rise", Dynamic::from(rise)),
            ("step", Dynamic::from(corbel.step)),
        ]));
    }
}
