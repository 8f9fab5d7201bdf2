//! Reports as JSON documents. Every document names its schema; a field, once there, keeps its meaning and unit.

use serde_json::{Map, Value, json};

use crate::layout::Laid;
use crate::masonry::MaterialNeed;
use crate::quantity::{Length, Pressure};
use crate::review::Review;
use crate::takeoff::{Bags, CutFrom, MortarNeed, Takeoff, UnitCount};

/// Version of the takeoff's JSON.
const TAKEOFF_SCHEMA: &str = "perpend.takeoff/1";
/// Version of the review's JSON.
const REVIEW_SCHEMA: &str = "perpend.review/1";

/// A JSON document: its schema first, then its fields.
pub fn document(schema: &str, body: Value) -> Value {
    let mut map = Map::new();
    map.insert("schema".to_owned(), json!(schema));
    match body {
        Value::Object(fields) => map.extend(fields),
        other => {
            map.insert("value".to_owned(), other);
        }
    }
    Value::Object(map)
}

fn bags(bags: &Bags) -> Value {
    json!({
        "count": bags.count,
        "mass_kg": bags.mass.kg(),
        "yield_litre": bags.yields.to_litre(),
        "source": bags.source,
    })
}

fn materials(needs: &[MaterialNeed]) -> Value {
    needs
        .iter()
        .map(|need| {
            json!({
                "ingredient": need.ingredient.title(),
                "loose_litre": need.loose_volume.to_litre(),
                "mass_kg": need.mass.kg(),
            })
        })
        .collect()
}

fn units_json(units: &UnitCount) -> Value {
    json!({
        "unit": units.unit,
        "laid": units.laid,
        "whole": units.whole,
        "cut": units.cut,
        "split": units.split,
        "shaped": units.shaped,
        "cut_up": units.cut_up,
        "net": units.net,
        "waste_share": units.waste_share,
        "waste": units.waste,
        "on_hand": units.on_hand,
        "to_buy": units.to_buy,
    })
}

fn mortar_json(mortar: &MortarNeed) -> Value {
    json!({
        "joints_litre": mortar
            .joints
            .iter()
            .map(|(part, volume)| (part.clone(), json!(volume.to_litre())))
            .collect::<Map<String, Value>>(),
        "lid_beds_litre": mortar.lid_beds.to_litre(),
        "frogs_litre": mortar.frogs.to_litre(),
        "open_cores_litre": mortar.cores.to_litre(),
        "net_litre": mortar.net.to_litre(),
        "waste_share": mortar.waste_share,
        "total_litre": mortar.total.to_litre(),
        "proportions": mortar.proportions,
        "mix": mortar.mix,
        "materials": materials(&mortar.materials),
        "bags": mortar.bags.as_ref().map(bags),
    })
}

/// A takeoff as JSON; the unit of every figure is in its name.
pub fn takeoff_json(laid: &Laid, takeoff: &Takeoff) -> Value {
    let pieces: Vec<Value> = takeoff
        .pieces
        .iter()
        .map(|group| {
            json!({
                "unit": group.unit,
                "role": group.role.word(),
                "cut": group.cut.word(),
                "length_mm": group.length.to_mm(),
                "split_to_mm": group.split_to.map(Length::to_mm),
                "shaping": group.shaping,
                "count": group.count,
            })
        })
        .collect();
    let patterns: Vec<Value> = takeoff
        .cutting
        .groups
        .iter()
        .flat_map(|group| group.patterns.iter().map(move |pattern| (group, pattern)))
        .map(|(group, pattern)| {
            json!({
                "unit": group.name,
                "direction": group.direction.word(),
                "from": match pattern.from {
                    CutFrom::Unit => "unit",
                    CutFrom::Half => "half bat",
                    CutFrom::Offcut(_) => "offcut",
                },
                "from_mm": match pattern.from {
                    CutFrom::Unit => Some(group.unit.to_mm()),
                    CutFrom::Half => None,
                    CutFrom::Offcut(length) => Some(length.to_mm()),
                },
                "lengths_mm": pattern.lengths.iter().map(|l| l.to_mm()).collect::<Vec<_>>(),
                "left_mm": pattern.left.to_mm(),
                "units": pattern.units,
            })
        })
        .collect();
    let concrete = &takeoff.concrete;
    let ground = takeoff.ground.as_ref().map(|ground| {
        json!({
            "across_mm": ground.across.to_mm(),
            "deep_mm": ground.deep.to_mm(),
            "depth_mm": ground.depth.to_mm(),
            "diagonal_mm": ground.diagonal.to_mm(),
            "forms_mm": ground.forms.to_mm(),
            "dug_m3": ground.dug.to_m3(),
            "swell": ground.swell,
            "heap_m3": ground.heap.to_m3(),
            "subbase_m3": ground.subbase.to_m3(),
            "bearing_kpa": ground.bearing.map(Pressure::kpa),
        })
    });
    let fittings: Vec<Value> = takeoff
        .fittings
        .iter()
        .map(|fitting| {
            let sizes: Vec<f64> = fitting.size.measures().iter().map(|m| m.to_mm()).collect();
            json!({
                "what": fitting.what,
                "part": fitting.part,
                "count": fitting.count,
                "sizes_mm": sizes,
                "why": fitting.why,
            })
        })
        .collect();
    let masses: Vec<Value> = takeoff
        .masses
        .parts
        .iter()
        .map(|part| {
            json!({
                "part": part.name,
                "units_kg": part.units.kg(),
                "mortar_kg": part.mortar.kg(),
                "lintels_kg": part.lintels.kg(),
                "copings_kg": part.copings.kg(),
                "concrete_kg": part.concrete.kg(),
                "total_kg": part.total.kg(),
            })
        })
        .collect();
    document(
        TAKEOFF_SCHEMA,
        json!({
            "plan": laid.plan.name,
            "height_mm": laid.height().to_mm(),
            "units": units_json(&takeoff.units),
            "kinds": takeoff.kinds.iter().map(units_json).collect::<Vec<_>>(),
            "pieces": pieces,
            "cutting": {
                "units": takeoff.cutting.units(),
                "least": takeoff.cutting.least(),
                "blade_mm": takeoff.cutting.blade.to_mm(),
                "patterns": patterns,
            },
            "mortar": mortar_json(&takeoff.mortar),
            "other_mortars": takeoff.other_mortars.iter().map(mortar_json).collect::<Vec<_>>(),
            "concrete": {
                "items": concrete
                    .items
                    .iter()
                    .map(|item| json!({
                        "what": item.what,
                        "litre": item.volume.to_litre(),
                        "bags": item.bags,
                    }))
                    .collect::<Vec<_>>(),
                "net_litre": concrete.net.to_litre(),
                "waste_share": concrete.waste_share,
                "total_litre": concrete.total.to_litre(),
                "bags": bags(&concrete.bags),
                "site_mix": concrete.site_mix.as_ref().map(|(mix, needs)| json!({
                    "mix": mix,
                    "materials": materials(needs),
                })),
            },
            "ground": ground,
            "fittings": fittings,
            "cautions": laid.plan.cautions,
            "masses": {
                "parts": masses,
                "slab_kg": takeoff.masses.slab.kg(),
                "total_kg": takeoff.masses.total.kg(),
                "pressure_kpa": takeoff.masses.pressure.map(Pressure::kpa),
            },
        }),
    )
}

/// A review as JSON.
pub fn review_json(laid: &Laid, review: &Review) -> Value {
    document(
        REVIEW_SCHEMA,
        json!({
            "plan": laid.plan.name,
            "findings": review.findings,
            "cautions": review.cautions,
        }),
    )
}
