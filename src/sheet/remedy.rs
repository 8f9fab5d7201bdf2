//! Changes that do away with breaches, in words.

use super::Table;
use crate::layout::{Alteration, BreachKind, Broken, Remedies, Remedy, SizeOf};
use crate::plan::{Measure, SideRef, Size};
use crate::quantity::{Length, LengthStyle};

/// The changes found for a part, each with how many more findings of a review must be changed, and under them the
/// breaches that no change does away with.
pub fn remedies_table(
    part: &str,
    remedies: &Remedies,
    more_stops: &[i64],
    style: LengthStyle,
) -> Table {
    if remedies.broken.is_empty() {
        return Table::new(format!("{part}: no limit is missed"), &[]);
    }
    let untried = match remedies.untried {
        0 => String::new(),
        count => format!(", {count} left untried"),
    };
    let mut table = Table::new(
        format!("{part}: {} changes tried{untried}", remedies.tried),
        &[
            "change",
            "does away with",
            "left in the plan",
            "cuts",
            "stops",
        ],
    );
    for (remedy, more) in remedies.found.iter().zip(more_stops) {
        table.row([
            alteration_words(&remedy.alteration, style),
            removes_words(&remedy.removes),
            left_words(remedy),
            more_words(remedy.more_cuts),
            more_words(*more),
        ]);
    }
    for broken in remedies.without() {
        table.row([
            "none of those tried".to_owned(),
            broken_words(broken),
            String::new(),
            String::new(),
            String::new(),
        ]);
    }
    table
}

/// What a change comes to, in the trade's words.
pub fn alteration_words(alteration: &Alteration, style: LengthStyle) -> String {
    let length = |length: &Length| style.show(*length);
    match alteration {
        Alteration::Size { of, from, to } => {
            let (from, to) = (size_words(*from, style), size_words(*to, style));
            match of {
                SizeOf::Leg(_) => format!("{} {to} instead of {from}", size_of_words(*of)),
                _ => format!("{to} {} instead of {from}", size_of_words(*of)),
            }
        }
        Alteration::OpeningWidth { name, from, to } => {
            let (from, to) = (size_words(*from, style), size_words(*to, style));
            format!("\"{name}\" {to} wide instead of {from}")
        }
        Alteration::OpeningPlace { name, from, to }
        | Alteration::BranchPlace { name, from, to } => {
            format!("\"{name}\" at {} instead of {}", length(to), length(from))
        }
        Alteration::VentCourse { side, from, to, .. } => {
            format!("vents {} in course {to} instead of {from}", on_words(*side))
        }
        Alteration::VentWidth {
            course,
            side,
            from,
            to,
            ..
        } => format!(
            "vents {} in course {course} {} wide instead of {}",
            on_words(*side),
            length(to),
            length(from)
        ),
        Alteration::LedgeCourse { from, to, .. } => {
            format!("the ledge in course {to} instead of {from}")
        }
        Alteration::LintelBearing { name, from, to } => format!(
            "the lintel over \"{name}\" bearing {} instead of {}",
            length(to),
            length(from)
        ),
        Alteration::ArchCut { name, to } => {
            format!("the arch over \"{name}\" of {}", cut_words(*to))
        }
        Alteration::ArchStanding { name, to } => {
            format!("the arch over \"{name}\" of {}s", to.word())
        }
        Alteration::ArchRise { name, from, to } => format!(
            "the arch over \"{name}\" rising {} instead of {}",
            length(to),
            length(from)
        ),
        Alteration::BranchLength { name, from, to } => {
            let (from, to) = (size_words(*from, style), size_words(*to, style));
            format!("\"{name}\" {to} long instead of {from}")
        }
        Alteration::LeavesSpace { from, to } => {
            format!("leaves {} apart instead of {}", length(to), length(from))
        }
        Alteration::RingDiameter { from, to } => {
            format!("{} in diameter instead of {}", length(to), length(from))
        }
        Alteration::RingCut { to } => format!("a ring of {}", cut_words(*to)),
        Alteration::RingLaid { from, to } => {
            format!("laid \"{}\" instead of \"{}\"", to.word(), from.word())
        }
        Alteration::DuctShift { name, from, to } => format!(
            "\"{name}\" shifted {} instead of {}",
            length(to),
            length(from)
        ),
        Alteration::HeadJoint { from, to } => {
            format!("head joints {} instead of {}", length(to), length(from))
        }
    }
}

fn cut_words(cut: bool) -> &'static str {
    if cut {
        "units cut to taper"
    } else {
        "uncut units"
    }
}

/// A breach in words: "short piece in course 22".
pub fn broken_words(broken: &Broken) -> String {
    format!("{} in course {}", kind_words(broken.kind), broken.course)
}

fn kind_words(kind: BreachKind) -> &'static str {
    match kind {
        BreachKind::LapTooShort => "short lap",
        BreachKind::PieceTooShort => "short piece",
        BreachKind::JointOutOfTolerance => "joint out of tolerance",
    }
}

/// Breaches by kind, their courses together.
fn removes_words(removes: &[Broken]) -> String {
    let groups: Vec<String> = [
        BreachKind::LapTooShort,
        BreachKind::PieceTooShort,
        BreachKind::JointOutOfTolerance,
    ]
    .into_iter()
    .filter_map(|kind| {
        let courses: Vec<String> = removes
            .iter()
            .filter(|gone| gone.kind == kind)
            .map(|gone| gone.course.to_string())
            .collect();
        let plural = if courses.len() == 1 { "" } else { "s" };
        (!courses.is_empty()).then(|| {
            format!(
                "{} in course{plural} {}",
                kind_words(kind),
                courses.join(", ")
            )
        })
    })
    .collect();
    groups.join("; ")
}

fn left_words(remedy: &Remedy) -> String {
    match remedy.left {
        0 => "no breach".to_owned(),
        1 => "1 breach".to_owned(),
        count => format!("{count} breaches"),
    }
}

fn more_words(more: i64) -> String {
    match more {
        0 => "as many".to_owned(),
        more if more < 0 => format!("{} fewer", -more),
        more => format!("{more} more"),
    }
}

fn on_words(side: SideRef) -> String {
    match side {
        SideRef::Side(side) => format!("on the {}", side.word()),
        SideRef::Leg(leg) => format!("in leg {}", leg + 1),
        SideRef::Branch(branch) => format!("in branch {}", branch + 1),
    }
}

fn size_of_words(of: SizeOf) -> String {
    let measure = |measure| match measure {
        Measure::Outside => "outside",
        Measure::Inside => "inside",
    };
    match of {
        SizeOf::Across(of) => format!("across {}", measure(of)),
        SizeOf::Deep(of) => format!("deep {}", measure(of)),
        SizeOf::Leg(leg) => format!("leg {}", leg + 1),
    }
}

fn size_words(size: Size, style: LengthStyle) -> String {
    match size {
        Size::HalfUnits(2) => "1 unit".to_owned(),
        Size::HalfUnits(halves) => format!("{} units", halves as f64 / 2.0),
        Size::Length(length) => style.show(length),
    }
}
