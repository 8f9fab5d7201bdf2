//! A part by itself, drawn small from above: what it looks like before a plan gives it a unit.

use std::sync::Arc;

use super::plans::bare_plan;
use super::values::{PartValue, show_part};
use crate::layout::lay;
use crate::masonry::Catalogue;
use crate::outside::Outside;
use crate::plan::{Part, Placed, Placement, Setting};
use crate::quantity::LengthStyle;
use crate::script::Fault;
use crate::sheet::{Pen, Picture, View};

/// The unit that a part is drawn with which has none yet.
const UNIT: &str = "uk";
/// Columns of the drawing.
const COLUMNS: usize = 34;

/// What a part is, and a course of it from above where it can be laid by itself.
pub(super) fn with_plan_view(part: &PartValue, outside: &dyn Outside) -> String {
    let told = show_part(&part.0);
    match plan_view(&part.0, outside) {
        Ok(drawn) => format!("{told}\n{}", drawn.trim_end()),
        // Some parts stand only with others; why is said where a plan takes them.
        Err(_) => told,
    }
}

fn plan_view(part: &Arc<Part>, outside: &dyn Outside) -> Result<String, Fault> {
    let catalogue = Catalogue::builtin()?;
    let (unit, bond) = (catalogue.unit(UNIT)?, catalogue.bond("stretcher")?);
    let setting = Setting::new(unit.clone(), None, None, bond.clone())?;
    let name = part.kind().word();
    let mut plan = bare_plan(name.to_owned(), setting, LengthStyle::Metric)?;
    let placed = Placed {
        part: Arc::clone(part),
        placement: Placement::Origin,
    };
    plan.parts.insert(name.to_owned(), placed);
    let laid = lay(&Arc::new(plan))?;
    let pen = Pen::fitting(outside.plain_letters());
    let course = telling_course(part);
    let picture = Picture {
        view: View::Course { part: 0, course },
        part: None,
        columns: COLUMNS.min(outside.width()),
        pen,
    };
    let text = picture.text(&laid);
    let drawing = text.split_once('\n').map_or("", |(_, drawing)| drawing);
    Ok(format!(
        "course {course} from above, drawn with unit \"{UNIT}\" until a plan gives it another\n{drawing}"
    ))
}

/// The lowest course that shows an opening, or else a vent; the first where there are none.
fn telling_course(part: &Part) -> u32 {
    let openings = part.openings.iter().map(|opening| opening.from_course);
    let vents = part.vents.iter().map(|vent| vent.course);
    openings.min().or_else(|| vents.min()).unwrap_or(1)
}
