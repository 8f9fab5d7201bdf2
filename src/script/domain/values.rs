//! The values that the trade's words make, how they show themselves, and how they go to other programs.

use std::cell::OnceCell;
use std::rc::Rc;
use std::sync::Arc;

use rhai::Dynamic;
use serde_json::{Value as Json, json};

use super::comparing::ComparisonValue;
use super::{Solution, portrait};
use crate::layout::{Cuboid, Laid, lay};
use crate::masonry::Unit;
use crate::plan::{BranchKind, Part, PartKind, Plan, PlanError, Rise, Shape, Size};
use crate::quantity::{
    Area, Density, Duration, Length, LengthStyle, Mass, Pressure, Temperature, Volume,
};
use crate::review::Review;
use crate::script::{Fault, NameOf, Registry};
use crate::sheet;
use crate::takeoff::Takeoff;

/// A chamber, wall or pier.
#[derive(Clone, Debug)]
pub struct PartValue(pub Arc<Part>);

/// A plan, with its laid work once it was asked for.
#[derive(Clone, Debug)]
pub struct PlanValue {
    /// The plan.
    pub plan: Arc<Plan>,
    work: Rc<Work>,
}

#[derive(Debug, Default)]
struct Work {
    laid: OnceCell<Rc<Laid>>,
    takeoff: OnceCell<Rc<Takeoff>>,
    review: OnceCell<Rc<Review>>,
}

impl PlanValue {
    /// A plan that has been measured, so that what cannot be built is said where it is written.
    ///
    /// # Errors
    /// What [`crate::layout::measure`] refuses.
    pub fn new(plan: Plan) -> Result<PlanValue, Fault> {
        crate::layout::measure(&plan)?;
        Ok(PlanValue {
            plan: Arc::new(plan),
            work: Rc::new(Work::default()),
        })
    }

    /// A plan whose work is done already.
    pub(super) fn worked(plan: Arc<Plan>, laid: Laid, takeoff: Takeoff) -> PlanValue {
        let work = Work {
            laid: OnceCell::from(Rc::new(laid)),
            takeoff: OnceCell::from(Rc::new(takeoff)),
            review: OnceCell::new(),
        };
        PlanValue {
            plan,
            work: Rc::new(work),
        }
    }

    /// The laid work; laid once.
    ///
    /// # Errors
    /// What [`lay`] refuses.
    pub fn laid(&self) -> Result<Rc<Laid>, Fault> {
        if let Some(laid) = self.work.laid.get() {
            return Ok(Rc::clone(laid));
        }
        let laid = Rc::new(lay(&self.plan)?);
        Ok(Rc::clone(self.work.laid.get_or_init(|| laid)))
    }

    /// The takeoff; read off once.
    ///
    /// # Errors
    /// As [`PlanValue::laid`].
    pub fn takeoff(&self) -> Result<Rc<Takeoff>, Fault> {
        if let Some(takeoff) = self.work.takeoff.get() {
            return Ok(Rc::clone(takeoff));
        }
        let laid = self.laid()?;
        let takeoff = Rc::new(Takeoff::of(&laid)?);
        check_stop()?;
        Ok(Rc::clone(self.work.takeoff.get_or_init(|| takeoff)))
    }

    /// The review; run once.
    ///
    /// # Errors
    /// As [`PlanValue::laid`].
    pub fn review(&self) -> Result<Rc<Review>, Fault> {
        if let Some(review) = self.work.review.get() {
            return Ok(Rc::clone(review));
        }
        let (laid, takeoff) = (self.laid()?, self.takeoff()?);
        let review = Rc::new(Review::of(&laid, &takeoff));
        check_stop()?;
        Ok(Rc::clone(self.work.review.get_or_init(|| review)))
    }

    fn summary(&self) -> String {
        match self.laid() {
            Ok(laid) => sheet::plan_summary(&laid).trim_end().to_owned(),
            Err(fault) => format!(
                "plan \"{}\" cannot be laid: {}\n  = {}",
                self.plan.name,
                fault.message,
                fault.remedy.join("; ")
            ),
        }
    }
}

/// Refuses what came out of work that was asked to stop: it may not be whole, and would be kept.
fn check_stop() -> Result<(), Fault> {
    match crate::stop::asked() {
        None => Ok(()),
        Some(reason) => Err(PlanError::stopped(reason).into()),
    }
}

/// A takeoff with the work it was read off.
#[derive(Clone, Debug)]
pub struct TakeoffValue {
    /// The laid work.
    pub laid: Rc<Laid>,
    /// What was read off it.
    pub takeoff: Rc<Takeoff>,
}

/// A review with the work it is of.
#[derive(Clone, Debug)]
pub struct ReviewValue {
    /// The laid work.
    pub laid: Rc<Laid>,
    /// What was found.
    pub review: Rc<Review>,
}

/// A space or body with three sizes.
#[derive(Clone, Copy, Debug)]
pub struct SpaceValue {
    /// Its box.
    pub cuboid: Cuboid,
    /// How it shows itself.
    pub style: LengthStyle,
}

/// A table: shows itself as text, and holds its rows as option maps.
#[derive(Clone, Debug)]
pub struct TableValue {
    /// The table.
    pub table: Rc<sheet::Table>,
    /// Its rows by column, as values.
    pub rows: Rc<Vec<rhai::Map>>,
}

/// A picture with the work it is of.
#[derive(Clone, Debug)]
pub struct PictureValue {
    /// The laid work.
    pub laid: Rc<Laid>,
    /// What is drawn.
    pub picture: sheet::Picture,
}

/// Two pictures beside each other.
#[derive(Clone, Debug)]
pub struct PicturesValue {
    /// The one on the left.
    pub left: PictureValue,
    /// The one on the right.
    pub right: PictureValue,
}

impl PicturesValue {
    fn text(&self) -> String {
        let (left, right) = (&self.left, &self.right);
        let columns = left.picture.columns.max(right.picture.columns);
        sheet::beside(
            (&left.picture, &left.laid),
            (&right.picture, &right.laid),
            columns,
        )
    }
}

pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<Unit>("Unit", "a unit", show_unit);
    registry.brief::<Unit>(show_unit);
    registry.value_type::<PartValue>("Part", "a part", |part| show_part(&part.0));
    registry.brief::<PartValue>(|part| show_part(&part.0));
    let outside = registry.outside();
    registry.answer::<PartValue>(move |part| portrait::with_plan_view(part, &*outside));
    registry.value_type::<PlanValue>("Plan", "a plan", PlanValue::summary);
    registry.brief::<PlanValue>(|value| {
        let plan = &value.plan;
        let parts: Vec<&str> = plan.parts.keys().map(String::as_str).collect();
        match parts.as_slice() {
            [] => format!("\"{}\" without parts", plan.name),
            _ => format!("\"{}\" with {}", plan.name, parts.join(", ")),
        }
    });
    registry.names_in::<PlanValue>(NameOf::Part, |plan| {
        plan.plan.parts.keys().cloned().collect()
    });
    registry.value_type::<TakeoffValue>("Takeoff", "a takeoff", |value| {
        sheet::takeoff_text(&value.laid, &value.takeoff)
            .trim_end()
            .to_owned()
    });
    registry.value_type::<ReviewValue>("Review", "a review", |value| {
        sheet::review_text(&value.laid, &value.review)
            .trim_end()
            .to_owned()
    });
    registry.value_type::<PictureValue>("Picture", "a picture", |value| {
        value.picture.text(&value.laid).trim_end().to_owned()
    });
    registry.value_type::<PicturesValue>("Pictures", "two pictures", |value| {
        value.text().trim_end().to_owned()
    });
    registry.value_type::<SpaceValue>("Space", "a space", |space| {
        let SpaceValue { cuboid, style } = space;
        format!(
            "{} across × {} deep × {} high",
            style.show(cuboid.length),
            style.show(cuboid.width),
            style.show(cuboid.height)
        )
    });
    registry.value_type::<TableValue>("Table", "a table", |value| {
        value.table.text().trim_end().to_owned()
    });
}

fn show_unit(unit: &Unit) -> String {
    format!(
        "{}: {} ({} × {} × {}, head joint {}, {} each)",
        unit.name,
        unit.title,
        unit.length,
        unit.width,
        unit.height,
        unit.head,
        LengthStyle::Metric.show_mass(unit.mass())
    )
}

fn show_size(size: Size) -> String {
    match size {
        Size::HalfUnits(halves) => format!("{} units", halves as f64 / 2.0),
        Size::Length(length) => length.to_string(),
    }
}

/// A part in one line: it has no sizes of its own until a plan gives it a unit.
pub(super) fn show_part(part: &Part) -> String {
    let shape = match &part.shape {
        Shape::Chamber { across, deep } => {
            let measure = match across.measure {
                crate::plan::Measure::Outside => "outside",
                crate::plan::Measure::Inside => "inside",
            };
            format!(
                "{measure} {} across × {} deep",
                show_size(across.size),
                show_size(deep.size)
            )
        }
        Shape::Wall { legs, closed } => {
            let legs: Vec<String> = legs.iter().map(|leg| show_size(leg.size)).collect();
            let closed = if *closed { ", closed" } else { "" };
            format!("{}{closed}", legs.join(" + "))
        }
        Shape::Lining(lining) => {
            format!("of {} courses, {} clear", lining.laid.word(), lining.gap)
        }
        Shape::Curve(curve) => {
            let cut = if curve.cut { ", cut to taper" } else { "" };
            format!(
                "{} round a radius of {}{cut}",
                show_size(curve.length),
                curve.radius
            )
        }
        Shape::Ring(ring) => {
            let measure = match ring.diameter.measure {
                crate::plan::Measure::Outside => "outside",
                crate::plan::Measure::Inside => "inside",
            };
            let cut = if ring.cut { ", cut to taper" } else { "" };
            let size = show_size(ring.diameter.size);
            format!(
                "{size} {measure}, {} course on course{cut}",
                ring.laid.word()
            )
        }
        Shape::Pier { across, deep, .. } => {
            format!("{} across × {} deep", show_size(*across), show_size(*deep))
        }
    };
    let rise = match part.rise {
        Rise::Courses(courses) => format!("{courses} courses"),
        Rise::Height(height) => format!("{height} high"),
    };
    let mut words = vec![format!("{} {shape}, {rise}", part.kind().word())];
    let mut count = |number: usize, one: &str, many: &str| match number {
        0 => {}
        1 => words.push(format!("1 {one}")),
        n => words.push(format!("{n} {many}")),
    };
    count(part.openings.len(), "opening", "openings");
    count(part.vents.len(), "row of vents", "rows of vents");
    count(part.ledges.len(), "ledge", "ledges");
    let kinds = |kind| part.branches.iter().filter(|one| one.kind == kind).count();
    count(kinds(BranchKind::Wall), "branch", "branches");
    count(kinds(BranchKind::Partition), "partition", "partitions");
    count(kinds(BranchKind::Pier), "attached pier", "attached piers");
    count(
        part.pier_rows.len(),
        "row of attached piers",
        "rows of attached piers",
    );
    count(part.annexes.len(), "annex", "annexes");
    if let Some(lining) = &part.lining {
        let unit = lining.own.unit.as_ref();
        words.push(format!(
            "lined with {}",
            unit.map_or("", |unit| unit.name.as_str())
        ));
    }
    if let Some(unit) = &part.own.unit {
        words.push(format!("of {}", unit.name));
    }
    if let Some(coping) = &part.coping {
        words.push(format!("{} coping", coping.kind.word()));
    }
    if matches!(part.kind(), PartKind::Chamber | PartKind::Ring) && part.fired {
        words.push("fired".to_owned());
    }
    words.join(", ")
}

/// A value for other programs: lengths as exact text, other quantities as numbers in the units of
/// [`crate::quantity`]: m², m³, kg, kg/m³, °C, s, Pa. What has no meaning outside a script is null.
pub fn json_of(value: &Dynamic) -> Json {
    if value.is_unit() {
        return Json::Null;
    }
    if let Ok(flag) = value.as_bool() {
        return json!(flag);
    }
    if let Ok(number) = value.as_int() {
        return json!(number);
    }
    if let Ok(number) = value.as_float() {
        return json!(number);
    }
    if let Ok(text) = value.clone().into_string() {
        return json!(text);
    }
    if let Some(items) = value.read_lock::<rhai::Array>() {
        return items.iter().map(json_of).collect();
    }
    if let Some(map) = value.read_lock::<rhai::Map>() {
        return map_json(&map);
    }
    typed_json(value)
}

fn map_json(map: &rhai::Map) -> Json {
    Json::Object(
        map.iter()
            .map(|(key, value)| (key.to_string(), json_of(value)))
            .collect(),
    )
}

fn typed_json(value: &Dynamic) -> Json {
    fn quantity<T: Clone + serde::Serialize + 'static>(value: &Dynamic) -> Option<Json> {
        let quantity = value.read_lock::<T>()?;
        serde_json::to_value(&*quantity).ok()
    }
    let quantity = quantity::<Length>(value)
        .or_else(|| quantity::<Area>(value))
        .or_else(|| quantity::<Volume>(value))
        .or_else(|| quantity::<Mass>(value))
        .or_else(|| quantity::<Density>(value))
        .or_else(|| quantity::<Temperature>(value))
        .or_else(|| quantity::<Duration>(value))
        .or_else(|| quantity::<Pressure>(value))
        .or_else(|| quantity::<Unit>(value));
    if let Some(json) = quantity {
        return json;
    }
    if let Some(takeoff) = value.read_lock::<TakeoffValue>() {
        return sheet::takeoff_json(&takeoff.laid, &takeoff.takeoff);
    }
    if let Some(review) = value.read_lock::<ReviewValue>() {
        return sheet::review_json(&review.laid, &review.review);
    }
    if let Some(picture) = value.read_lock::<PictureValue>() {
        return json!(picture.picture.text(&picture.laid));
    }
    if let Some(space) = value.read_lock::<SpaceValue>() {
        let Cuboid {
            length,
            width,
            height,
            ..
        } = space.cuboid;
        return json!({
            "across_mm": length.to_mm(),
            "deep_mm": width.to_mm(),
            "high_mm": height.to_mm(),
        });
    }
    if let Some(comparison) = value.read_lock::<ComparisonValue>() {
        return sheet::comparison_json(comparison.comparison());
    }
    if let Some(table) = value.read_lock::<TableValue>() {
        return table.rows.iter().map(map_json).collect();
    }
    if let Some(solution) = value.read_lock::<Solution>() {
        return solution.rows.rows.iter().map(map_json).collect();
    }
    if let Some(plan) = value.read_lock::<PlanValue>() {
        return match plan.laid().and_then(|laid| Ok((laid, plan.takeoff()?))) {
            Ok((laid, takeoff)) => sheet::takeoff_json(&laid, &takeoff),
            Err(fault) => json!({ "error": fault.message }),
        };
    }
    if let Some(part) = value.read_lock::<PartValue>() {
        return json!(show_part(&part.0));
    }
    let told = super::costs::told(value)
        .or_else(|| super::measured::told(value))
        .or_else(|| super::yard::told(value));
    if let Some(map) = told {
        return map_json(&map);
    }
    Json::Null
}
