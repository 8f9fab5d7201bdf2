//! Why a course is laid as it is, in words.

use super::Table;
use super::remark::remark_words;
use crate::layout::interval::{Cost, Limit, Rules};
use crate::layout::{Bound, CostPoint, Cut, Explained, Explanation, Item, RunnerUp, Way};
use crate::plan::SideRef;
use crate::quantity::{Length, LengthStyle};

/// Alike pieces in a row from this many on are counted instead of repeated.
const COUNTED_FROM: usize = 3;
/// Joints below that are listed; a long wall may have many.
const JOINTS_LISTED: usize = 4;

/// A course of a part: for every interval the way laid and, under it, the next best; or what it would be by itself, where
/// it is laid for the course above.
pub fn explanation_table(explanation: &Explanation, style: LengthStyle) -> Table {
    let mut table = Table::new(
        format!(
            "{}, course {}: 1 is a whole unit, H a header, V a vent; {}",
            explanation.part,
            explanation.course,
            limits_words(&explanation.rules, style)
        ),
        &[
            "where",
            "between",
            "joints below in the way",
            "",
            "pieces",
            "#joint",
            "cost",
        ],
    );
    for interval in &explanation.intervals {
        let joints: Vec<String> = interval
            .binding
            .iter()
            .take(JOINTS_LISTED)
            .map(|&joint| style.show(joint))
            .collect();
        let more = match interval.binding.len().saturating_sub(joints.len()) {
            0 => String::new(),
            count => format!(" and {count} more"),
        };
        table.row([
            place_words(interval, style),
            format!(
                "{} – {}",
                bound_words(&interval.bounds.0),
                bound_words(&interval.bounds.1)
            ),
            format!("{}{more}", joints.join(", ")),
            "laid".to_owned(),
            pieces_words(&interval.laid, style),
            joint_words(&interval.laid, style),
            match interval.alone {
                Some(_) => format!(
                    "{}; laid so that the course above keeps its lap",
                    cost_words(&interval.laid, style)
                ),
                None => cost_words(&interval.laid, style),
            },
        ]);
        if let Some(alone) = &interval.alone {
            table.row([
                String::new(),
                String::new(),
                String::new(),
                "by itself".to_owned(),
                pieces_words(alone, style),
                joint_words(alone, style),
                cost_words(alone, style),
            ]);
            continue;
        }
        let mut row = |way: &str, next: Option<&RunnerUp>| {
            table.row([
                String::new(),
                String::new(),
                String::new(),
                way.to_owned(),
                next.map_or("nothing else fits".to_owned(), |next| {
                    pieces_words(&next.way, style)
                }),
                next.map(|next| joint_words(&next.way, style))
                    .unwrap_or_default(),
                next.map(|next| loss_words(next, style)).unwrap_or_default(),
            ]);
        };
        if let Some(reordered) = &interval.reordered {
            row("other order", Some(reordered));
        }
        row("next best", interval.next.as_ref());
    }
    for remark in &explanation.remarks {
        let words = remark_words(remark, style);
        let line = |place: String, way: &str, what, joint, why| {
            [
                place,
                String::new(),
                String::new(),
                way.to_owned(),
                what,
                joint,
                why,
            ]
        };
        table.row(line(
            words.place,
            "laid",
            words.laid,
            words.joint,
            words.why,
        ));
        if let Some((what, joint, why)) = words.next {
            table.row(line(String::new(), "next best", what, joint, why));
        }
    }
    table
}

/// The side or leg of a part.
pub fn side_words(side: SideRef) -> String {
    match side {
        SideRef::Side(side) => side.word().to_owned(),
        SideRef::Leg(leg) => format!("leg {}", leg + 1),
        SideRef::Branch(branch) => format!("branch {}", branch + 1),
    }
}

/// The limits that every interval of a part is laid within.
fn limits_words(rules: &Rules, style: LengthStyle) -> String {
    let show = |nm: i64| style.show(Length::from_nm(nm));
    format!(
        "joints {} to {}, laps from {}, pieces from {}",
        show(rules.shortest_joint),
        show(rules.longest_joint),
        show(rules.least_lap),
        show(rules.shortest_piece)
    )
}

/// The side, leg or branch of an interval.
pub fn interval_side_words(interval: &Explained) -> String {
    if interval.middle && matches!(interval.side, SideRef::Branch(_)) {
        return "middle".to_owned();
    }
    match &interval.branch {
        Some(name) => format!("\"{name}\""),
        None => side_words(interval.side),
    }
}

fn place_words(interval: &Explained, style: LengthStyle) -> String {
    let part_of_side = match (&interval.side, interval.middle, interval.leaves > 1) {
        (SideRef::Branch(_), true, true) => format!("middle, row {}", interval.leaf + 1),
        (SideRef::Branch(_), true, false) => "middle".to_owned(),
        (_, true, _) => format!("{}, middle", interval_side_words(interval)),
        (_, false, true) => {
            format!(
                "{}, leaf {}",
                interval_side_words(interval),
                interval.leaf + 1
            )
        }
        (_, false, false) => interval_side_words(interval),
    };
    format!(
        "{part_of_side}, {} to {}",
        style.show(interval.span.0),
        style.show(interval.span.1)
    )
}

/// What bounds an interval, in words.
pub fn bound_words(bound: &Bound) -> String {
    match bound {
        Bound::FreeEnd => "free end".to_owned(),
        Bound::CornerPassed => "corner passed".to_owned(),
        Bound::Quoin => "stretcher at the corner".to_owned(),
        Bound::WorkButted => "corner butted".to_owned(),
        Bound::Branch(name) => format!("\"{name}\" passing"),
        Bound::Toothed => "toothed into the wall".to_owned(),
        Bound::WallMet => "wall butted".to_owned(),
        Bound::Jamb(name) => format!("jamb of \"{name}\""),
        Bound::Arch(name) => format!("arch over \"{name}\""),
        Bound::Corbel(name) => format!("step over \"{name}\""),
        Bound::HeaderThrough => "header through".to_owned(),
        Bound::Lintel(name) => format!("lintel over \"{name}\""),
        Bound::Vent(name) => format!("\"{name}\""),
        Bound::Cheek(name) => format!("cheek of \"{name}\""),
    }
}

/// What a piece, header or vent is, in the shortest word.
pub fn item_word(item: &Item, style: LengthStyle) -> String {
    match item {
        Item::Piece(Cut::Whole | Cut::Split, _) => "1".to_owned(),
        Item::Piece(Cut::Bat(over, under), _) => format!("{over}/{under}"),
        Item::Piece(Cut::Closer, _) => "closer".to_owned(),
        Item::Piece(Cut::Odd, length) => style.show(*length).replace(' ', ""),
        Item::Header => "H".to_owned(),
        Item::Vent(_) => "V".to_owned(),
    }
}

/// Pieces in order; alike ones in a row are counted.
pub fn pieces_words(way: &Way, style: LengthStyle) -> String {
    let words: Vec<String> = way
        .items
        .iter()
        .map(|item| item_word(item, style))
        .collect();
    if words.is_empty() {
        return "mortar".to_owned();
    }
    let groups: Vec<String> = words
        .chunk_by(|one, other| one == other)
        .flat_map(|alike| match alike.first() {
            Some(word) if alike.len() >= COUNTED_FROM => vec![format!("{}×{word}", alike.len())],
            _ => alike.to_vec(),
        })
        .collect();
    groups.join(", ")
}

fn joint_words(way: &Way, style: LengthStyle) -> String {
    way.joint.map(|joint| style.show(joint)).unwrap_or_default()
}

/// What a way costs, in the order in which it is judged; what is zero is left out.
pub fn cost_words(way: &Way, style: LengthStyle) -> String {
    let words: Vec<String> = CostPoint::ALL
        .into_iter()
        .filter(|point| point.of(&way.cost) != 0)
        .map(|point| {
            let words = point_words(point, point.of(&way.cost), style);
            match point {
                CostPoint::Limits => format!("{words}{}", missed_words(way, style)),
                _ => words,
            }
        })
        .collect();
    if words.is_empty() {
        "nothing".to_owned()
    } else {
        words.join(", ")
    }
}

/// Which limits a way misses, each once, in brackets.
fn missed_words(way: &Way, style: LengthStyle) -> String {
    let mut words: Vec<String> = Vec::new();
    for &(limit, figure) in &way.missed {
        let what = match limit {
            Limit::Lap => "lap",
            Limit::Piece => "piece",
            Limit::Joint => "joint",
        };
        let word = format!("{what} {}", style.show(figure));
        if !words.contains(&word) {
            words.push(word);
        }
    }
    if words.is_empty() {
        String::new()
    } else {
        format!(" ({})", words.join(", "))
    }
}

fn point_words(point: CostPoint, value: i64, style: LengthStyle) -> String {
    let counted = |one: &str, many: &str| {
        if value == 1 {
            format!("1 {one}")
        } else {
            format!("{value} {many}")
        }
    };
    let length = || style.show(Length::from_nm(value));
    match point {
        CostPoint::Limits => counted("limit missed", "limits missed"),
        CostPoint::Strays => counted("stray from the bond", "strays from the bond"),
        CostPoint::Cuts => counted("cut", "cuts"),
        CostPoint::OddCuts => counted("odd", "odd"),
        CostPoint::Drift => format!("vents and headers {} off", length()),
        CostPoint::Joints => format!("joints {} off nominal", length()),
        CostPoint::Raster => format!("joints {} off the bond", length()),
    }
}

/// The point in which a way loses, in words.
pub fn point_word(point: CostPoint) -> &'static str {
    match point {
        CostPoint::Limits => "limits missed",
        CostPoint::Strays => "strays from the bond",
        CostPoint::Cuts => "cuts",
        CostPoint::OddCuts => "odd cuts",
        CostPoint::Drift => "places of vents and headers",
        CostPoint::Joints => "joint width",
        CostPoint::Raster => "the bond's raster",
    }
}

fn loss_words(next: &RunnerUp, style: LengthStyle) -> String {
    let among = if next.searched {
        ""
    } else {
        " (of those tried)"
    };
    match next.loses_in {
        Some(point) => format!(
            "loses by {}: {} against {}{}{among}",
            point_word(point),
            figure(point, &next.way.cost, style),
            figure(point, &next.against, style),
            if point == CostPoint::Limits {
                missed_words(&next.way, style)
            } else {
                String::new()
            },
        ),
        None => format!("costs the same; the first found is laid{among}"),
    }
}

fn figure(point: CostPoint, cost: &Cost, style: LengthStyle) -> String {
    let value = point.of(cost);
    match point {
        CostPoint::Limits | CostPoint::Strays | CostPoint::Cuts | CostPoint::OddCuts => {
            value.to_string()
        }
        CostPoint::Drift | CostPoint::Joints | CostPoint::Raster => {
            style.show(Length::from_nm(value))
        }
    }
}
