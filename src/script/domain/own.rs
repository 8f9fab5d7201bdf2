//! What a part is laid with where that is not what its plan says.

use std::sync::Arc;

use super::PartValue;
use super::plans::{UNIT, joint_of, some_mass, unit_of};
use crate::masonry::{Catalogue, Mix};
use crate::plan::{MortarChoice, OwnSetting, Part};
use crate::quantity::{Length, Mass};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, NameOf, Parameter, Registry, Want, errors,
};

const LAID_WITH: Declaration = Declaration {
    name: "laid_with",
    group: Group::Parts,
    summary: "The same part laid with a unit, joints, bond or mortar of its own, whatever the plan's are.",
    kind: CallKind::Method { of: "Part" },
    positional: &[],
    options: &[
        Parameter::optional(
            "unit",
            UNIT,
            "the plan's",
            "Its unit; brings its own joints unless a joint is given.",
        ),
        Parameter::optional(
            "joint",
            Want::Length,
            "the unit's",
            "Its head joint; sets the bed joint too, unless `bed` is given.",
        ),
        Parameter::optional("bed", Want::Length, "as the head joint", "Its bed joint."),
        Parameter::optional(
            "head_range",
            Want::Pair(&Want::Length),
            "the usual",
            "Thinnest and thickest head joint that may be laid.",
        ),
        Parameter::optional(
            "bed_range",
            Want::Pair(&Want::Length),
            "the usual",
            "Thinnest and thickest bed joint that may be laid.",
        ),
        Parameter::optional("bond", Want::Name(NameOf::Bond), "the plan's", "Its bond."),
        Parameter::optional(
            "mortar",
            Want::Name(NameOf::Mix),
            "the plan's",
            "Its mortar, such as \"refractory\".",
        ),
        Parameter::optional(
            "mortar_bag",
            Want::Mass,
            "25.kg",
            "Mass of a bag of its mortar, or of the cement and lime in it.",
        ),
    ],
    returns: "The part with it.",
    examples: &[
        Example {
            script: "let pier = pier(#{ outside: [1, 1], courses: 4 });\nlet p = plan(\"two\", #{ unit: \"uk\" }).place(\"a\", pier).place(\"b\", pier.laid_with(#{ unit: \"firebrick\" }), #{ right_of: \"a\", gap: 100.mm });\np.outside(\"b\").across",
            shows: "228.6 mm (9\")",
        },
        Example {
            script: "let core = pier(#{ outside: [1, 1], courses: 4 }).laid_with(#{ unit: \"firebrick\", mortar: \"refractory\" });\nplan(\"p\", #{ unit: \"uk\" }).place(\"core\", core).takeoff().mortars[0].mix",
            shows: "medium-duty refractory mortar",
        },
    ],
    errors: &[errors::OWN, errors::CATALOGUE],
    see_also: &["plan", "units", "mortar", "lining"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PartValue, _>(&LAID_WITH, |call, part| laid_with(call, &part.0));
}

fn laid_with(call: &Call, part: &Part) -> Result<PartValue, Fault> {
    let mut part = part.clone();
    set(call, &mut part.own)?;
    Ok(PartValue(Arc::new(part)))
}

/// Sets what a call names and leaves the rest as it is. Another unit or joint does away with ranges set before.
pub(super) fn set(call: &Call, own: &mut OwnSetting) -> Result<(), Fault> {
    if let Some(unit) = call.raw("unit") {
        own.unit = Some(unit_of(unit, "unit")?);
        (own.joint, own.bed) = (None, None);
        (own.head_range, own.bed_range) = (None, None);
    }
    if let Some(joint) = call.opt_length("joint")? {
        own.joint = Some(joint_of(joint, "joint")?);
        own.bed = None;
        (own.head_range, own.bed_range) = (None, None);
    }
    if let Some(bed) = call.opt_length("bed")? {
        own.bed = Some(joint_of(bed, "bed")?);
        own.bed_range = None;
    }
    for (key, slot) in [
        ("head_range", &mut own.head_range),
        ("bed_range", &mut own.bed_range),
    ] {
        if call.has(key) {
            *slot = Some(range(call, key)?);
        }
    }
    if let Some(bond) = call.opt_text("bond")? {
        Catalogue::builtin()?
            .bond(&bond)
            .map_err(|error| Fault::from(error).about("bond"))?;
        own.bond = Some(bond);
    }
    if let Some(mortar) = mortar(call)? {
        own.mortar = Some(mortar);
    } else if call.has("mortar_bag") {
        return Err(Fault::new(
            "bag-without-mortar",
            "`mortar_bag` is the bag of a mortar of its own",
        )
        .remedy("add mortar: \"refractory\", or set the bag of the plan's mortar")
        .about("mortar_bag"));
    }
    Ok(())
}

fn range(call: &Call, key: &'static str) -> Result<(Length, Length), Fault> {
    let ends = call.list(key)?;
    let end = |at: usize| {
        let value = ends.get(at)?;
        value.read_lock::<Length>().map(|length| *length)
    };
    let found = end(0).zip(end(1)).ok_or_else(|| {
        Fault::new("wrong-type", format!("`{key}` wants two lengths"))
            .remedy("write [2.mm, 5.mm]")
            .about(key)
    })?;
    Ok((joint_of(found.0, key)?, joint_of(found.1, key)?))
}

/// The mortar that a call names.
fn mortar(call: &Call) -> Result<Option<MortarChoice>, Fault> {
    let Some(name) = call.opt_text("mortar")? else {
        return Ok(None);
    };
    let mix = Catalogue::builtin()?
        .mortar(&name)
        .map_err(|error| Fault::from(error).about("mortar"))?;
    choice(mix, some_mass(call, "mortar_bag")?).map(Some)
}

/// A mortar bought in bags of 25 kg, unless another is named.
pub(super) fn choice(mix: Mix, bag: Option<Mass>) -> Result<MortarChoice, Fault> {
    Ok(MortarChoice {
        mix,
        bag: None,
        powder_bag: match bag {
            Some(bag) => bag,
            None => Mass::from_kg(25.0)?,
        },
    })
}
