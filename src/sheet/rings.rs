//! How the units of rings and curved walls go round.

use super::Table;
use crate::layout::Laid;

/// Each ring of a plan: its diameters, units to a course, and the joints and faces inside and outside.
pub fn rings_table(laid: &Laid) -> Table {
    let style = laid.plan.style;
    let mut table = Table::new(
        "rings",
        &[
            "part",
            "laid",
            "#units",
            "#inside",
            "#outside",
            "#joint inside",
            "#joint outside",
            "#face inside",
            "#face outside",
            "#round",
            "#least radius uncut",
        ],
    );
    for part in &laid.parts {
        let Some(ring) = &part.ring else { continue };
        table.row([
            part.name.clone(),
            ring.laid.word().to_owned(),
            ring.count.to_string(),
            style.show(ring.inner * 2),
            style.show(ring.outer * 2),
            style.show(ring.joints.0),
            style.show(ring.joints.1),
            style.show(ring.faces.0),
            style.show(ring.faces.1),
            format!("{:.1}°", ring.sweep.map_or(360.0, f64::to_degrees)),
            style.show(ring.least_radius),
        ]);
    }
    table
}

/// Each opening and row of vents in rings and curved walls: where it lies, how wide it is clear at both faces, and the
/// joints and cuts of the courses beside it.
pub fn round_openings_table(laid: &Laid) -> Table {
    let style = laid.plan.style;
    let mut table = Table::new(
        "openings in round work",
        &[
            "part",
            "name",
            "courses",
            "#count",
            "from",
            "#at",
            "#clear inside",
            "#clear outside",
            "#joint inside",
            "#joint outside",
            "#cut",
        ],
    );
    for (count, opening) in laid.round_openings_by_row() {
        table.row([
            laid.part_name(opening.part).to_owned(),
            opening.name.clone(),
            format!("{} to {}", opening.courses.0, opening.courses.1),
            count.to_string(),
            opening.from().to_owned(),
            style.show(opening.at),
            style.show(opening.clear.0),
            style.show(opening.clear.1),
            style.show(opening.joints.0),
            style.show(opening.joints.1),
            opening.cut.to_string(),
        ]);
    }
    table
}
