//! A plan as it is saved: JSON with a version, lengths exact, and checked like a plan that is written in a script.

use std::sync::Arc;

use serde_json::{Value as Json, json};

use super::part::THICKEST;
use super::{BranchKind, LONGEST_SIDE, Part, Placed, Plan, PlanError, Rise, Shape, Size};
use crate::quantity::parse_length;

/// What the schema of a saved plan starts with.
const SCHEMA: &str = "perpend.plan/";
/// The version that is written, and the newest that is read.
const VERSION: u32 = 1;
/// Largest text that is read. A plan of two hundred parts takes a tenth of it; our own choice.
const MOST_BYTES: usize = 8 * 1024 * 1024;
/// Largest number in a saved plan, whatever it stands for; our own choice, far above any count or share.
const LARGEST_NUMBER: f64 = 1e6;
/// Longest list in a saved plan; our own choice.
const LONGEST_LIST: usize = 10_000;
/// Longest text in a saved plan, sources included; our own choice.
const LONGEST_TEXT: usize = 10_000;
/// Keys whose texts are words, not measures.
const WORDS: [&str; 13] = [
    "cautions",
    "name",
    "title",
    "source",
    "density_source",
    "note",
    "from",
    "from_annex",
    "to",
    "to_annex",
    "annex",
    "other",
    "part",
];

impl Plan {
    /// The plan as a document that [`Plan::from_saved`] reads.
    ///
    /// # Errors
    /// When it holds a number that JSON has no form for.
    pub fn to_saved(&self) -> Result<Json, PlanError> {
        let plan = serde_json::to_value(self).map_err(|error| damaged(&error.to_string()))?;
        Ok(json!({ "schema": format!("{SCHEMA}{VERSION}"), "plan": plan }))
    }

    /// Reads a saved plan, and checks it like one that is written in a script.
    ///
    /// # Errors
    /// When the text is no saved plan, is of a newer version, or describes what cannot be built.
    pub fn from_saved(text: &str) -> Result<Plan, PlanError> {
        if text.len() > MOST_BYTES {
            return Err(damaged(&format!(
                "it is larger than {} MiB",
                MOST_BYTES / 1024 / 1024
            )));
        }
        let mut document: Json =
            serde_json::from_str(text).map_err(|error| damaged(&error.to_string()))?;
        check_version(&document)?;
        let plan = document
            .get_mut("plan")
            .map(Json::take)
            .ok_or_else(|| damaged("it holds no plan"))?;
        check_bounds(&plan, "")?;
        let read: Plan =
            serde_json::from_value(plan).map_err(|error| damaged(&error.to_string()))?;
        read.checked()
    }

    /// The same plan put together step by step, so that each step is checked as in a script. What changes the fields of a
    /// plan without the script's words passes here.
    ///
    /// # Errors
    /// What a script would be refused.
    pub(crate) fn checked(&self) -> Result<Plan, PlanError> {
        rebuilt(self)
    }
}

fn damaged(why: &str) -> PlanError {
    PlanError::new(
        "not-a-saved-plan",
        format!("this is no plan that can be read: {why}"),
        "save the plan again with .save_plan(\"name.json\"), or write it as a script",
    )
}

fn check_version(document: &Json) -> Result<(), PlanError> {
    let schema = document
        .get("schema")
        .and_then(Json::as_str)
        .ok_or_else(|| damaged("it does not say what it is; a saved plan has a `schema`"))?;
    let version = schema
        .strip_prefix(SCHEMA)
        .and_then(|version| version.parse::<u32>().ok())
        .filter(|version| *version > 0)
        .ok_or_else(|| {
            let shown: String = schema.chars().take(40).collect();
            damaged(&format!("it is \"{shown}\", not \"{SCHEMA}{VERSION}\""))
        })?;
    if version > VERSION {
        return Err(PlanError::new(
            "plan-too-new",
            format!(
                "the plan was saved in version {version}; this program reads up to version {VERSION}"
            ),
            "take a newer perpend, or the script that made the plan",
        ));
    }
    Ok(())
}

/// Refuses measures and counts beyond anything that is built, so that later sums stay within their range.
fn check_bounds(value: &Json, key: &str) -> Result<(), PlanError> {
    let refuse = |what: String| Err(damaged(&format!("`{key}` holds {what}")));
    match value {
        Json::Null | Json::Bool(_) => Ok(()),
        Json::Number(number) => match number.as_f64() {
            Some(number) if number.abs() <= LARGEST_NUMBER => Ok(()),
            _ => refuse(format!("the number {number}")),
        },
        Json::String(text) if text.len() > LONGEST_TEXT => refuse("a text too long".to_owned()),
        Json::String(text) => match parse_length(text) {
            Ok(length)
                if !WORDS.contains(&key) && (length > LONGEST_SIDE || length < -LONGEST_SIDE) =>
            {
                refuse(format!("{length}"))
            }
            _ => Ok(()),
        },
        Json::Array(items) if items.len() > LONGEST_LIST => {
            refuse(format!("a list of {}", items.len()))
        }
        Json::Array(items) => items.iter().try_for_each(|item| check_bounds(item, key)),
        Json::Object(entries) => entries
            .iter()
            .try_for_each(|(key, value)| check_bounds(value, key)),
    }
}

fn rebuilt(read: &Plan) -> Result<Plan, PlanError> {
    let refused = |error: crate::masonry::MasonryError| damaged(&error.to_string());
    read.setting.unit.validate().map_err(refused)?;
    read.setting.bond.validate().map_err(refused)?;
    for heap in &read.heaps {
        heap.unit.validate().map_err(refused)?;
    }
    if let Some(prices) = &read.prices {
        prices.check()?;
    }
    let mut plan = Plan {
        parts: indexmap::IndexMap::new(),
        ducts: Vec::new(),
        lids: Vec::new(),
        cautions: Vec::new(),
        ..read.clone()
    };
    for (name, Placed { part, placement }) in &read.parts {
        // A lining is placed together with what it lines.
        if plan.parts.contains_key(name) && part.as_lining().is_some() {
            continue;
        }
        let part = rebuilt_part(part).map_err(|error| error.in_part(name))?;
        plan = plan.with_part(name, Arc::new(part), placement.clone())?;
    }
    for duct in &read.ducts {
        plan = plan.with_duct(duct.clone())?;
    }
    for lid in &read.lids {
        plan = plan.with_lid(lid.clone())?;
    }
    for caution in &read.cautions {
        plan = plan.with_caution(caution)?;
    }
    if plan != *read {
        return Err(damaged("its parts do not belong together"));
    }
    Ok(plan)
}

fn rebuilt_part(read: &Part) -> Result<Part, PlanError> {
    let refused = |error: crate::masonry::MasonryError| damaged(&error.to_string());
    match &read.shape {
        Shape::Curve(curve) => Part::curve(*curve, read.rise),
        Shape::Ring(ring) => Part::ring(*ring, read.rise),
        shape => Part::new(shape.clone(), read.rise),
    }?;
    check_rise(read.rise)?;
    check_sizes(&read.shape)?;
    if !(1..=THICKEST).contains(&read.thickness) {
        return Err(damaged("a wall has no thickness that can be laid"));
    }
    if let Some(leaves) = &read.leaves {
        leaves.check()?;
    }
    if let Some(unit) = &read.own.unit {
        unit.validate().map_err(refused)?;
    }
    read.coursing.check()?;
    if let Some(coping) = &read.coping {
        coping.check()?;
    }
    let mut part = Part {
        openings: Vec::new(),
        vents: Vec::new(),
        ledges: Vec::new(),
        branches: Vec::new(),
        pier_rows: Vec::new(),
        annexes: Vec::new(),
        lining: None,
        ..read.clone()
    };
    let mut annexes = read.annexes.iter();
    for branch in &read.branches {
        if branch.kind != BranchKind::Annex {
            part = part.with_branch(branch.clone())?;
        } else if part.branches.iter().all(|known| known.name != branch.name) {
            // The three walls of an annex are branches that come with it.
            let annex = annexes
                .next()
                .ok_or_else(|| damaged("the walls of an annex stand without it"))?;
            part = part.with_annex(annex.clone())?;
        }
    }
    for row in &read.pier_rows {
        check_size(row.every)?;
        part = part.with_pier_row(row.clone())?;
    }
    for opening in &read.openings {
        check_size(opening.width)?;
        part = part.with_opening(opening.clone())?;
    }
    for vent in &read.vents {
        check_size(Size::Length(vent.width))?;
        part = part.with_vent(vent.clone())?;
    }
    for ledge in &read.ledges {
        check_size(ledge.project)?;
        part = part.with_ledge(ledge.clone())?;
    }
    if let Some(lining) = &read.lining {
        part = part.with_lining(rebuilt_part(lining)?)?;
    }
    if part != *read {
        return Err(damaged("the pieces of a part do not belong together"));
    }
    Ok(part)
}

fn check_rise(rise: Rise) -> Result<(), PlanError> {
    match rise {
        Rise::Courses(courses) => Rise::courses(i64::from(courses)).map(drop),
        Rise::Height(height) => check_size(Size::Length(height)),
    }
}

fn check_size(size: Size) -> Result<(), PlanError> {
    match size {
        Size::HalfUnits(halves) => Size::units(halves as f64 / 2.0).map(drop),
        Size::Length(length) => Size::length(length).map(drop),
    }
}

fn check_sizes(shape: &Shape) -> Result<(), PlanError> {
    match shape {
        Shape::Chamber { across, deep } => {
            check_size(across.size).and_then(|()| check_size(deep.size))
        }
        Shape::Wall { legs, .. } => legs.iter().try_for_each(|leg| check_size(leg.size)),
        Shape::Pier { across, deep, .. } => check_size(*across).and_then(|()| check_size(*deep)),
        Shape::Ring(ring) => check_size(ring.diameter.size),
        Shape::Curve(curve) => check_size(curve.length),
        Shape::Lining(_) => Ok(()),
    }
}
