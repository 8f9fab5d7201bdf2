use super::Check;
use crate::layout::LaidPart;
use crate::plan::Ties;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Sides of two leaves that have fewer ties to the square metre than the usual spacing gives.
pub(super) const CHECK: Check = Check {
    codes: &["ties-too-few"],
    summary: "Too few ties to the square metre: short and low walls of two leaves.",
    run,
};

/// The spacing whose number of ties is asked of every side, 900 × 450 mm, told as 2.5 to the square metre: UK practice,
/// from memory.
const SPACING: (Length, Length) = (Length::mm(900), Length::mm(450));
const SOURCE: &str = "UK practice, 900 × 450 mm, 2.5 to the square metre (from memory)";

fn run(site: Site<'_>) -> Vec<Finding> {
    let parts = site.laid.parts.iter().enumerate();
    let tied = parts.filter_map(|(index, part)| {
        let placed = site.laid.plan.parts.get(&part.name)?;
        Some((index, part, placed.part.leaves?.ties?))
    });
    tied.filter_map(|(index, part, ties)| of_part(site, index, part, ties))
        .collect()
}

/// Ties on a leg, its face, and how many to the square metre.
struct Side {
    leg: usize,
    count: usize,
    face: f64,
}

impl Side {
    fn density(&self) -> f64 {
        self.count as f64 / self.face
    }
}

fn of_part(site: Site<'_>, index: usize, part: &LaidPart, set: Ties) -> Option<Finding> {
    let laid = site.laid;
    let least = 1.0 / SPACING.0.times(SPACING.1).to_m2();
    let sides = (0..part.sides).map(|leg| {
        let own = |tie: &&crate::layout::Tie| (tie.part, tie.leg) == (index, leg);
        Side {
            leg,
            count: laid.ties.iter().filter(own).count(),
            face: laid.face_of_leg(index, leg).to_m2(),
        }
    });
    let sides: Vec<Side> = sides.filter(|side| side.face > 0.0).collect();
    // None at all is another finding.
    if sides.iter().all(|side| side.count == 0) {
        return None;
    }
    let few = |side: &&Side| side.density() < least;
    let worst = sides
        .iter()
        .filter(few)
        .min_by(|one, other| one.density().total_cmp(&other.density()))?;
    let style = laid.plan.style;
    let needed = (least * worst.face).ceil();
    // Half as far apart upwards gives twice the rows; where that is not enough, across as well.
    let (across, up) = if 2.0 * worst.density() >= least {
        (set.across, set.up.half())
    } else {
        (set.across.half(), set.up.half())
    };
    Some(Finding {
        code: "ties-too-few",
        severity: Severity::Warn,
        place: Place::part(&part.name).detail(side_name(part, worst.leg)),
        figure: format!(
            "{} ties on {:.2} m², {:.1} to the square metre; {needed} give {least:.1}",
            worst.count,
            worst.face,
            worst.density()
        ),
        cause: "Rows start one distance over the foot and end one under the top, so a low or short side gets fewer ties than its spacing promises."
            .to_owned(),
        remedy: format!(
            "Set them nearer: ties: #{{ across: {}, up: {} }}.",
            style.show(across),
            style.show(up)
        ),
        source: SOURCE,
    })
}

fn side_name(part: &LaidPart, leg: usize) -> String {
    match (part.kind, crate::plan::Side::ALL.get(leg)) {
        (crate::plan::PartKind::Chamber, Some(side)) => side.word().to_owned(),
        _ => format!("leg {}", leg + 1),
    }
}
