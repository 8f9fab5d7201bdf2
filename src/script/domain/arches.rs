//! Arches over openings: how they are asked for, and a table of how they came out.

use rhai::{Dynamic, Map};

use super::catalogue::{map, table};
use super::{PlanValue, TableValue};
use crate::plan::{Arch, ArchKind, Standing};
use crate::quantity::Length;
use crate::script::declare::whole;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want,
};
use crate::sheet::Table;

/// What an arch's map may say.
const ARCH_KEYS: &[&str] = &[
    "kind",
    "rise",
    "courses",
    "rings",
    "standing",
    "cut",
    "voussoirs",
];

pub(super) const ARCH_OPTION: Parameter = Parameter::optional(
    "arch",
    Want::AnyOf(&[Want::Word(ArchKind::WORDS), Want::Map]),
    "none",
    "An arch over it in place of a lintel: \"flat\", \"segmental\", \"semicircular\", or a map such as #{ kind: \"segmental\", rise: 120.mm, rings: 2, standing: \"rowlock\", cut: false, voussoirs: 21 } or #{ kind: \"flat\", courses: 2 }; a flat arch of more courses than a unit is long is bonded of up to two units.",
);

const ARCHES: Declaration = Declaration {
    name: "arches",
    group: Group::Reading,
    summary: "The arches of a plan: span, rise, radius, skewback, voussoirs and their joints; and heads of courses that step inwards until they meet.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[],
    returns: "A table.",
    examples: &[Example {
        script: "plan(\"store\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 8, courses: 20 }).opening(#{ name: \"hatch\", width: 3, courses: [1, 6], arch: \"segmental\" })).arches().rows.len()",
        shows: "1",
    }],
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

fn kind_of(value: &Dynamic) -> Result<ArchKind, Fault> {
    let Ok(word) = value.clone().into_string() else {
        let remedy = "write \"flat\", \"segmental\" or \"semicircular\"";
        return Err(wrong("kind", "a word", remedy));
    };
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
    let Some(raw) = call.raw("arch") else {
        return Ok(None);
    };
    if raw.is_string() {
        return Ok(Some(Arch::of(kind_of(raw)?)));
    }
    let map = call.map("arch")?;
    let Some(kind) = map.get("kind") else {
        return Err(Fault::new("arch-unknown", "the arch's map names no kind")
            .remedy("add kind: \"flat\", \"segmental\" or \"semicircular\"")
            .about("arch"));
    };
    let mut arch = Arch::of(kind_of(kind)?);
    for (key, value) in &map {
        let key = key.as_str();
        let count = |most: u32| {
            whole(value)
                .and_then(|count| u32::try_from(count).ok())
                .filter(|count| (1..=most).contains(count))
                .ok_or_else(|| {
                    let wants = format!("a whole number from 1 to {most}");
                    wrong(key, &wants, "write a whole number")
                })
        };
        let suits = |flat: bool| {
            if flat == (arch.kind == ArchKind::Flat) {
                return Ok(());
            }
            Err(Fault::new(
                "arch-option-unfit",
                format!("a {} arch has no `{key}`", arch.kind.word()),
            )
            .remedy(
                "`courses` is for flat arches; `rings` for curved ones; `rise` for segmental ones",
            )
            .about("arch")
            .entry(key))
        };
        match key {
            "kind" => {}
            "rise" => {
                suits(false)?;
                let rise = value
                    .read_lock::<Length>()
                    .map(|rise| *rise)
                    .filter(|rise| rise.is_positive())
                    .ok_or_else(|| {
                        wrong(
                            key,
                            "a length above zero",
                            "write it with a unit, such as 120.mm",
                        )
                    })?;
                if arch.kind == ArchKind::Semicircular {
                    return Err(Fault::new(
                        "arch-option-unfit",
                        "a semicircular arch rises half its span",
                    )
                    .remedy("leave `rise` out, or write kind: \"segmental\"")
                    .about("arch")
                    .entry(key));
                }
                arch.rise = Some(rise);
            }
            "courses" => {
                suits(true)?;
                arch.courses = Some(count(20)?);
            }
            "rings" => {
                suits(false)?;
                arch.rings = count(Arch::MOST_RINGS)?;
            }
            "voussoirs" => arch.voussoirs = Some(count(Arch::MOST_VOUSSOIRS)?),
            "cut" => {
                let cut = value.as_bool().map_err(|_| {
                    wrong(
                        key,
                        "true or false",
                        "write cut: true for units cut to a taper",
                    )
                })?;
                if !cut {
                    suits(false)?;
                }
                arch.cut = Some(cut);
            }
            "standing" => {
                let word = value.clone().into_string().unwrap_or_default();
                arch.standing = Standing::from_word(&word).ok_or_else(|| {
                    wrong(
                        key,
                        "\"soldier\" or \"rowlock\"",
                        "soldiers stand on end, rowlocks lie on edge",
                    )
                })?;
            }
            other => {
                let fault =
                    Fault::new("unknown-option", format!("an arch has no option `{other}`"));
                return Err(fault
                    .remedy(super::options_remedy(other, ARCH_KEYS))
                    .about("arch")
                    .entry_key(other));
            }
        }
    }
    Ok(Some(arch))
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
            let units = if ring.bonded {
                "cut to taper, bonded"
            } else if ring.tapered {
                "cut to taper"
            } else {
                "uncut"
            };
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
                units.to_owned(),
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
    heads(plan, &laid, &mut shown, &mut rows);
    Ok(table(shown, rows))
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
