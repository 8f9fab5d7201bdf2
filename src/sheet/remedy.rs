//! Changes that do away with breaches, in words.

use super::Table;
use crate::layout::{
    Alteration, Amount, BreachKind, Broken, Choice, FigureOf, Flaw, Remedies, Remedy, SizeOf,
};
use crate::plan::{Measure, SideRef, Size, Snap};
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
        return Table::new(format!("{part}: nothing to mend in the layout"), &[]);
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
    let several = remedies
        .broken
        .iter()
        .any(|broken| Some(&broken.part) != remedies.broken.first().map(|first| &first.part));
    let of_part = |part: &str, words: String| {
        if several {
            format!("{part}: {words}")
        } else {
            words
        }
    };
    for (remedy, more) in remedies.found.iter().zip(more_stops) {
        table.row([
            of_part(&remedy.part, alteration_words(&remedy.alteration, style)),
            removes_words(&remedy.removes),
            left_words(remedy),
            more_words(remedy.more_cuts),
            more_words(*more),
        ]);
    }
    for broken in remedies.without() {
        table.row([
            of_part(&broken.part, "none of those tried".to_owned()),
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
        Alteration::Figure { of, from, to } => figure_words(of, *from, *to, style),
        Alteration::Choice(choice) => choice_words(choice, style),
    }
}

fn amount_words(amount: Amount, style: LengthStyle) -> String {
    match amount {
        Amount::Length(length) => style.show(length),
        Amount::Count(count) => count.to_string(),
        Amount::Size(size) => size_words(size, style),
        Amount::Halves(halves) => size_words(Size::HalfUnits(halves), style),
        Amount::Usual => "the usual".to_owned(),
    }
}

fn figure_words(of: &FigureOf, from: Amount, to: Amount, style: LengthStyle) -> String {
    let (from, to) = (amount_words(from, style), amount_words(to, style));
    let instead = |what: &str, unit: &str| format!("{what} {to}{unit} instead of {from}");
    match of {
        FigureOf::CorbelStep(name) => instead(&format!("the head of \"{name}\" in steps of"), ""),
        FigureOf::CopingOverhang => instead("the coping overhanging", ""),
        FigureOf::CopingSlab => instead("coping slabs", " long"),
        FigureOf::Voussoirs(name) => {
            format!("the arch over \"{name}\" of {to} voussoirs instead of {from}")
        }
        FigureOf::ArchRings(name) => {
            format!("the arch over \"{name}\" of {to} rings instead of {from}")
        }
        FigureOf::ArchCourses(name) => {
            format!("the arch over \"{name}\" {to} courses high instead of {from}")
        }
        FigureOf::OpeningCourse(name) => instead(&format!("\"{name}\" from course"), ""),
        FigureOf::OpeningTop(name) => instead(&format!("\"{name}\" up to course"), ""),
        FigureOf::Radius => instead("a radius of", ""),
        FigureOf::VentCount(row) => format!("{to} vents in row {} instead of {from}", row + 1),
        FigureOf::LedgeCount(row) => {
            format!("{to} headers a side in ledge {} instead of {from}", row + 1)
        }
        FigureOf::LedgeProject(row) => instead(&format!("ledge {} projecting", row + 1), ""),
        FigureOf::Courses | FigureOf::LiningCourses => {
            format!("{to} courses instead of {from}")
        }
        FigureOf::Thickness => format!("{to} thick instead of {from}"),
        FigureOf::OwnJoint => instead("head joints of the part", ""),
        FigureOf::Bed(course) => instead(&format!("the bed under course {course}"), ""),
        FigureOf::LiningGap => instead("a gap behind the lining of", ""),
        FigureOf::SillProject(name) => instead(&format!("the sill of \"{name}\" standing out"), ""),
        FigureOf::SillSlope(name) => format!("the sill of \"{name}\" falling {to}° outwards"),
        FigureOf::BranchTies(name) => format!("\"{name}\" tied every {to}"),
        FigureOf::DuctCourse(name) => instead(&format!("\"{name}\" in course"), ""),
        FigureOf::DuctRaise(name) => instead(&format!("\"{name}\" raised"), ""),
        FigureOf::DuctDiameter(name) => instead(&format!("a pipe for \"{name}\" of"), ""),
        FigureOf::LidPieces => format!("a lid in {to} pieces instead of {from}"),
        FigureOf::Gap(name) => instead(&format!("a gap beside \"{name}\" of"), ""),
        FigureOf::PlaceRight(name) => instead(&format!("\"{name}\" at x"), ""),
        FigureOf::PlaceBack(name) => instead(&format!("\"{name}\" at y"), ""),
    }
}

fn choice_words(choice: &Choice, style: LengthStyle) -> String {
    match choice {
        Choice::Bond { from, to } => format!("{to} bond instead of {from}"),
        Choice::CurveCut(cut) => format!("a curve of {}", cut_words(*cut)),
        Choice::CourseLaid { course, from, to } => match to {
            Some(to) => format!(
                "course {course} of {}s instead of {}s",
                to.word(),
                from.word()
            ),
            None => format!("course {course} in the bond instead of {}s", from.word()),
        },
        Choice::Cover(kind) => format!("a {} coping", kind.word()),
        Choice::CopingDrip => "coping slabs with a drip".to_owned(),
        Choice::Bridge { name, kind } => format!("a {} lintel over \"{name}\"", kind.word()),
        Choice::LeavesTied { across, up } => format!(
            "leaves tied every {} along and {} up",
            style.show(*across),
            style.show(*up)
        ),
        Choice::LiningSnap(Snap::Exact) => "a lining of the exact size".to_owned(),
        Choice::LiningSnap(_) => "a lining brought to half units".to_owned(),
        Choice::Toothed(name) => format!("\"{name}\" toothed into its wall"),
        Choice::Arched { name, kind } => format!("a {} arch over \"{name}\"", kind.word()),
        Choice::SizedAsBelow => "as long, wide and thick as what it stands on".to_owned(),
        Choice::Centred => "set middle to middle on what it stands on".to_owned(),
    }
}

fn cut_words(cut: bool) -> &'static str {
    if cut {
        "units cut to taper"
    } else {
        "uncut units"
    }
}

/// A breach or finding in words: "short piece in course 22", "coping flush".
pub fn broken_words(broken: &Broken) -> String {
    let what = flaw_words(broken.flaw);
    match broken.course {
        Some(course) => format!("{what} in course {course}"),
        None => what,
    }
}

fn flaw_words(flaw: Flaw) -> String {
    match flaw {
        Flaw::Breach(kind) => kind_words(kind).to_owned(),
        Flaw::Finding(code) => code.replace('-', " "),
    }
}

fn kind_words(kind: BreachKind) -> &'static str {
    match kind {
        BreachKind::LapTooShort => "short lap",
        BreachKind::PieceTooShort => "short piece",
        BreachKind::JointOutOfTolerance => "joint out of tolerance",
    }
}

/// Breaches by kind, their courses together, then findings.
fn removes_words(removes: &[Broken]) -> String {
    let mut groups: Vec<(Flaw, Vec<String>)> = Vec::new();
    for gone in removes {
        let course = gone.course.map(|course| course.to_string());
        match groups.iter_mut().find(|(flaw, _)| *flaw == gone.flaw) {
            Some((_, courses)) => courses.extend(course),
            None => groups.push((gone.flaw, course.into_iter().collect())),
        }
    }
    let words: Vec<String> = groups
        .into_iter()
        .map(|(flaw, courses)| match courses.len() {
            0 => flaw_words(flaw),
            1 => format!("{} in course {}", flaw_words(flaw), courses.join(", ")),
            _ => format!("{} in courses {}", flaw_words(flaw), courses.join(", ")),
        })
        .collect();
    words.join("; ")
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
