//! Ways of bringing something level, in words and with their prices.

use super::Table;
use crate::compare::{LevelChange, LevelItem, LevelTask, LevelWays, PricedWay};
use crate::quantity::{Length, LengthStyle};

/// The ways found, best first and numbered.
pub fn level_table(task: &LevelTask, ways: &LevelWays, style: LengthStyle) -> Table {
    let what = format!("{} of {}", task.of.word(), item_words(&task.item));
    let now = style.show(ways.now.height);
    let off = off_words(task, ways.now.off, style);
    if ways.ways.is_empty() {
        return Table::new(
            if ways.now.meets {
                format!("{what}: {now}, level as it is")
            } else {
                format!("{what}: {now}, {off}; no way of those tried brings it level")
            },
            &[],
        );
    }
    let refused = match ways.refused {
        0 => String::new(),
        1 => "; 1 way cannot be laid".to_owned(),
        count => format!("; {count} ways cannot be laid"),
    };
    let mut table = Table::new(
        format!("{what}: {now}, {off}{refused}"),
        &[
            "#no.",
            "change",
            "#comes to",
            "#off by",
            "#cuts",
            "#odd",
            "#units",
            "#breaches",
            "#findings",
            "#top",
        ],
    );
    for (number, way) in (1..).zip(&ways.ways) {
        let count = |more: i64| match more {
            0 => "0".to_owned(),
            more => format!("{more:+}"),
        };
        table.row([
            number.to_string(),
            way_words(way, style),
            style.show(way.reading.height),
            style.show(way.reading.off),
            count(way.more_cuts),
            count(way.more_odd),
            count(way.more_units),
            count(way.more_breaches),
            count(way.more_findings),
            style.show(way.higher),
        ]);
    }
    table
}

fn item_words(item: &LevelItem) -> String {
    match item {
        LevelItem::Duct(name) | LevelItem::Opening { name, .. } => format!("\"{name}\""),
        LevelItem::Ledge { part, course } => format!("the ledge in course {course} of \"{part}\""),
    }
}

fn off_words(task: &LevelTask, off: Length, style: LengthStyle) -> String {
    let by = style.show(off.abs());
    match (task.height, off.is_negative()) {
        (None, _) => format!("{by} too far below the course over it"),
        (Some(wanted), true) => format!("{by} below the {} wanted", style.show(wanted)),
        (Some(wanted), false) => format!("{by} above the {} wanted", style.show(wanted)),
    }
}

/// All that a way changes.
pub fn way_words(way: &PricedWay, style: LengthStyle) -> String {
    let words: Vec<String> = way
        .changes
        .iter()
        .map(|change| change_words(change, style))
        .collect();
    words.join("; ")
}

fn change_words(change: &LevelChange, style: LengthStyle) -> String {
    let show = |length: Length| style.show(length);
    match change {
        LevelChange::Beds {
            part,
            courses: (from, to),
            from: before,
            to: beds,
        } => {
            let after = beds.first().copied().unwrap_or_default();
            let which = match to - from {
                0 => format!("the bed under course {from}"),
                1 => format!("the beds under courses {from} and {to}"),
                _ => format!("the beds under courses {from} to {to}"),
            };
            format!(
                "{which} of \"{part}\" {} instead of {}",
                show(after),
                show(*before)
            )
        }
        LevelChange::FirstBed { part, from, to } => {
            format!(
                "the first bed of \"{part}\" {} instead of {}",
                show(*to),
                show(*from)
            )
        }
        LevelChange::Split { part, courses, to } => {
            let which: Vec<String> = courses.iter().map(u32::to_string).collect();
            let plural = if courses.len() == 1 { "" } else { "s" };
            format!(
                "course{plural} {} of \"{part}\" split to {}",
                which.join(" and "),
                show(*to)
            )
        }
        LevelChange::Course { from, to } => format!("course {to} instead of {from}"),
        LevelChange::Diameter { from, to } => {
            format!("a pipe of {} instead of {}", show(*to), show(*from))
        }
        LevelChange::Raise { from, to } => format!(
            "the pipe {} over its bed instead of {}",
            show(*to),
            show(*from)
        ),
    }
}
