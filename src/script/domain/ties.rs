//! Ties between two leaves: where each lies, and how many to the square metre.

use std::collections::BTreeMap;

use rhai::{Array, Dynamic};

use super::catalogue::{map, table};
use super::{PlanValue, TableValue};
use crate::layout::{LaidPart, Tie};
use crate::plan::{PartKind, Side, SideRef};
use crate::quantity::Length;
use crate::script::{CallKind, Declaration, Example, Fault, Group, Registry, errors};
use crate::sheet::{self, Table};

const TIES: Declaration = Declaration {
    name: "ties",
    group: Group::Reading,
    summary: "The ties between two leaves: the beds they lie in, their places along the wall, and how many to the square metre.",
    kind: CallKind::Method { of: "Plan" },
    positional: &[],
    options: &[],
    returns: "A table; each of its rows is a row of ties in the bed over a course, its `places` from the wall's left end seen from outside; `per_m2` is of the whole side, openings left out.",
    examples: &[Example {
        script: "let tied = #{ cavity: 50.mm, ties: #{ across: 900.mm, up: 450.mm } };\nplan(\"shed\", #{ unit: \"uk\" }).place(\"wall\", wall(#{ length: 8, courses: 10, leaves: tied })).ties().rows[0].course",
        shows: "4",
    }],
    errors: &[errors::LAID],
    see_also: &["wall", "chamber", "takeoff", "explain"],
};

pub(super) fn register(registry: &mut Registry) {
    registry.method::<PlanValue, TableValue>(&TIES, |_, plan| ties(&plan));
}

fn side_of(part: &LaidPart, leg: usize) -> SideRef {
    match (part.kind, Side::ALL.get(leg)) {
        (PartKind::Chamber, Some(&side)) => SideRef::Side(side),
        _ => SideRef::Leg(leg),
    }
}

fn ties(plan: &PlanValue) -> Result<TableValue, Fault> {
    let laid = plan.laid()?;
    let style = plan.plan.style;
    let mut lines: BTreeMap<(usize, usize, u32), Vec<&Tie>> = BTreeMap::new();
    let mut sides: BTreeMap<(usize, usize), u32> = BTreeMap::new();
    for tie in &laid.ties {
        let line = (tie.part, tie.leg, tie.course);
        lines.entry(line).or_default().push(tie);
        *sides.entry((tie.part, tie.leg)).or_default() += 1;
    }
    let per_m2 = |index: usize, leg: usize| {
        let count = *sides.get(&(index, leg))?;
        let face = laid.face_of_leg(index, leg).to_m2();
        (face > 0.0).then(|| f64::from(count) / face)
    };
    let mut shown = Table::new(
        format!("{} ties of {}", laid.ties.len(), laid.plan.name),
        &[
            "part",
            "side",
            "#over course",
            "#height",
            "#ties",
            "at",
            "#to 1 m²",
        ],
    );
    let mut rows = Vec::new();
    for ((index, leg, course), here) in lines {
        let Some(part) = laid.parts.get(index) else {
            continue;
        };
        let Some(strip) = part.legs.get(leg) else {
            continue;
        };
        let place = |tie: &Tie| {
            let along = match strip.axis {
                crate::layout::Axis::X => tie.at.x,
                crate::layout::Axis::Y => tie.at.y,
            };
            if strip.starts_low {
                along - strip.span.0
            } else {
                strip.span.1 - along
            }
        };
        let mut places: Vec<(Length, bool)> =
            here.iter().map(|tie| (place(tie), tie.at_jamb)).collect();
        places.sort_unstable();
        let height = here.first().map_or(Length::ZERO, |tie| tie.at.z);
        let side = sheet::side_words(side_of(part, leg));
        let density = per_m2(index, leg).unwrap_or_default();
        let at: Vec<String> = places.iter().map(|(place, _)| style.show(*place)).collect();
        shown.row([
            part.name.clone(),
            side.clone(),
            course.to_string(),
            style.show(height),
            places.len().to_string(),
            at.join(", "),
            format!("{density:.1}"),
        ]);
        let of = |wanted: &dyn Fn(bool) -> bool| -> Array {
            let those = places.iter().filter(|(_, at_jamb)| wanted(*at_jamb));
            those.map(|(place, _)| Dynamic::from(*place)).collect()
        };
        rows.push(map([
            ("part", part.name.clone().into()),
            ("side", side.into()),
            ("course", i64::from(course).into()),
            ("height", Dynamic::from(height)),
            ("count", (places.len() as i64).into()),
            ("places", of(&|_| true).into()),
            ("at_jambs", of(&|at_jamb| at_jamb).into()),
            ("per_m2", density.into()),
        ]));
    }
    Ok(table(shown, rows))
}
