//! What a search found: how it shows itself, and what scripts read of it.

use std::fmt::Write as _;
use std::rc::Rc;

use rhai::{Array, Dynamic, Map};

use crate::quantity::Length;
use crate::script::domain::TableValue;
use crate::script::domain::catalogue::{map, table};
use crate::script::domain::reading::ROWS;
use crate::script::{CallKind, Declaration, Example, Group, Registry, Vocabulary};
use crate::sheet::Table;

/// How a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Ending {
    /// Everything was searched.
    Whole,
    /// The best are known, and what is left was not laid.
    BestFound,
    /// More was left than is laid.
    TooManyToLay,
    /// It was asked to stop.
    Stopped,
}

/// A condition and what it did.
pub(super) struct Asked {
    pub(super) name: String,
    /// The names that it reads.
    pub(super) reads: String,
    /// What it refused before any other did.
    pub(super) refused: u64,
    /// What would be left without it, where nothing is left with it.
    pub(super) without: Option<u64>,
}

/// What is to be told of a search.
pub(super) struct Told {
    pub(super) points: u64,
    pub(super) decided: u64,
    /// Left by the conditions on sizes.
    pub(super) found: u64,
    /// Plans laid, and how many of them meet every condition.
    pub(super) laid: Option<(usize, usize)>,
    pub(super) unbuilt: usize,
    pub(super) reason: Option<(String, String)>,
    pub(super) names: Vec<String>,
    /// Columns of the aims, and their words.
    pub(super) aims: Vec<(String, String)>,
    pub(super) conditions: Vec<Asked>,
    /// What comes nearest, and the conditions that it fails.
    pub(super) nearest: Option<(String, Vec<String>)>,
    pub(super) ending: Ending,
    pub(super) rows: Rc<Vec<Map>>,
}

/// What a search found.
#[derive(Clone, Debug)]
pub struct Solution {
    title: String,
    notes: Vec<String>,
    points: u64,
    left: u64,
    laid: usize,
    /// What meets every condition, best first.
    pub rows: TableValue,
    refused: TableValue,
}

impl Told {
    pub(super) fn solution(&self, vocabulary: &Vocabulary) -> Solution {
        let left = self.laid.map_or(self.found, |(_, met)| met as u64);
        Solution {
            title: self.title(left),
            notes: self.notes(left),
            points: self.points,
            left,
            laid: self.laid.map_or(0, |(laid, _)| laid),
            rows: self.table(vocabulary),
            refused: self.refused(),
        }
    }

    fn title(&self, left: u64) -> String {
        let mut text = format!(
            "{} of {}: ",
            combinations(self.points),
            self.names.join(", ")
        );
        if self.ending == Ending::Stopped {
            let _ = write!(text, "not finished, {} decided, ", self.decided);
        }
        let at_least = if self.ending == Ending::Whole {
            ""
        } else {
            "at least "
        };
        let meet = if left == 1 { "meets" } else { "meet" };
        match left {
            0 if self.ending == Ending::Whole => text.push_str("none meets every condition"),
            _ => {
                let _ = write!(text, "{at_least}{left} {meet} every condition");
            }
        }
        if let Some((laid, _)) = self.laid {
            let _ = write!(text, ", {laid} laid");
        }
        let aims: Vec<&str> = self
            .aims
            .iter()
            .map(|(_, phrase)| phrase.as_str())
            .collect();
        if left > 1 && !aims.is_empty() {
            let _ = write!(text, "; best first: {}", aims.join(", then "));
        }
        text
    }

    fn notes(&self, left: u64) -> Vec<String> {
        let mut notes = Vec::new();
        match self.ending {
            Ending::Whole => {}
            Ending::BestFound => notes.push("nothing that was not laid can come before these".to_owned()),
            Ending::TooManyToLay => notes.push(format!(
                "not finished: of {} only the first by what needs no plan were laid; state more conditions on sizes",
                self.found
            )),
            Ending::Stopped => notes.push("the search was not finished: there may be better ones".to_owned()),
        }
        if let Some((point, reason)) = &self.reason {
            notes.push(format!(
                "{} cannot be built, such as {point}: {reason}",
                self.unbuilt
            ));
        }
        if left > 0 || self.ending != Ending::Whole {
            return notes;
        }
        let freeing = self
            .conditions
            .iter()
            .filter(|c| c.without.is_some_and(|n| n > 0));
        let most = freeing.max_by_key(|c| c.without);
        match most {
            Some(condition) => notes.push(format!(
                "in the way: \"{}\"; without it {} would be left",
                condition.name,
                condition.without.unwrap_or(0)
            )),
            None if self.conditions.len() > 1 => {
                notes.push("no condition stands in the way alone".to_owned());
            }
            None => {}
        }
        if let Some((point, fails)) = &self.nearest {
            let fails: Vec<String> = fails.iter().map(|name| format!("\"{name}\"")).collect();
            notes.push(format!(
                "nearest: {point}, which fails {}",
                fails.join(" and ")
            ));
        }
        notes
    }

    fn table(&self, vocabulary: &Vocabulary) -> TableValue {
        let aims = self.aims.iter().map(|(label, _)| label);
        let aims = aims.filter(|label| !self.names.contains(label));
        let names: Vec<&String> = self.names.iter().chain(aims).collect();
        let text = |name: &String| {
            self.rows
                .iter()
                .any(|row| row.get(name.as_str()).is_some_and(Dynamic::is_string))
        };
        let heads: Vec<String> = names
            .iter()
            .map(|name| {
                if text(name) {
                    (*name).clone()
                } else {
                    format!("#{name}")
                }
            })
            .collect();
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        let mut shown = Table::new("", &heads);
        for row in self.rows.iter() {
            shown.row(names.iter().map(|name| {
                let value = row.get(name.as_str());
                value.map_or_else(String::new, |value| cell(vocabulary, value))
            }));
        }
        TableValue {
            table: Rc::new(shown),
            rows: Rc::clone(&self.rows),
        }
    }

    fn refused(&self) -> TableValue {
        let explained = self.conditions.iter().any(|c| c.without.is_some());
        let heads = ["condition", "reads", "#refused", "#left without it"];
        let mut shown = Table::new(
            "",
            heads
                .get(..if explained { 4 } else { 3 })
                .unwrap_or_default(),
        );
        let mut rows = Vec::new();
        for condition in &self.conditions {
            let cells = [
                Some(condition.name.clone()),
                Some(condition.reads.clone()),
                Some(condition.refused.to_string()),
                explained.then(|| {
                    condition
                        .without
                        .map_or_else(String::new, |n| n.to_string())
                }),
            ];
            shown.row(cells.into_iter().flatten());
            let without = condition
                .without
                .map_or(Dynamic::UNIT, |n| (n as i64).into());
            rows.push(map([
                ("condition", condition.name.as_str().into()),
                ("reads", condition.reads.as_str().into()),
                ("refused", (condition.refused as i64).into()),
                ("left_without_it", without),
            ]));
        }
        table(shown, rows)
    }
}

/// A value in a cell: lengths in one system alone.
fn cell(vocabulary: &Vocabulary, value: &Dynamic) -> String {
    match value.read_lock::<Length>() {
        Some(length) => vocabulary.style().show(*length),
        None => vocabulary.show(value),
    }
}

fn combinations(count: u64) -> String {
    match count {
        1 => "1 combination".to_owned(),
        _ => format!("{count} combinations"),
    }
}

impl Solution {
    /// What was found, as text.
    pub(super) fn text(&self) -> String {
        let mut text = self.title.clone();
        text.push('\n');
        for part in [&self.rows, &self.refused] {
            if !part.table.rows.is_empty() {
                text.push_str(&part.table.text());
            }
        }
        for note in &self.notes {
            let _ = writeln!(text, "  {note}");
        }
        text.trim_end().to_owned()
    }
}

macro_rules! example {
    ($rest:literal) => {
        concat!(
            "let u = unit(\"uk\");\nlet found = solve(#{ over: #{ across: 2..=6, deep: 2..=4 }, given: #{ \"room\": |across| u.inside(across) > 700.mm }, least: [\"across\", \"deep\"] });\nfound.",
            $rest
        )
    };
}

const fn property(
    name: &'static str,
    summary: &'static str,
    returns: &'static str,
    examples: &'static [Example],
) -> Declaration {
    Declaration {
        name,
        group: Group::Comparing,
        summary,
        kind: CallKind::Property { of: "Solution" },
        positional: &[],
        options: &[],
        returns,
        examples,
        errors: &[],
        see_also: &["solve"],
    }
}

const BEST: Declaration = property(
    "best",
    "The first of its rows, with the plan where one is built; nothing where no row is left.",
    "A map.",
    &[Example {
        script: example!("best.across"),
        shows: "5",
    }],
);
const POINTS: Declaration = property(
    "points",
    "How many combinations there are.",
    "A whole number.",
    &[Example {
        script: example!("points"),
        shows: "15",
    }],
);
const LEFT: Declaration = property(
    "left",
    "How many combinations are known to meet every condition.",
    "A whole number.",
    &[Example {
        script: example!("left"),
        shows: "6",
    }],
);
const LAID: Declaration = property(
    "laid",
    "How many plans were laid to find them.",
    "A whole number.",
    &[Example {
        script: example!("laid"),
        shows: "0",
    }],
);
const REFUSED: Declaration = property(
    "refused",
    "What each condition refused before another did, and where nothing is left, what would be left without it.",
    "A table.",
    &[Example {
        script: example!("refused.rows[0].refused"),
        shows: "9",
    }],
);

pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<Solution>("Solution", "a solution", Solution::text);
    registry.brief::<Solution>(|solution| solution.title.clone());
    registry.property::<Solution, Array>(&ROWS, |solution| {
        Ok(solution
            .rows
            .rows
            .iter()
            .cloned()
            .map(Dynamic::from)
            .collect())
    });
    registry.property::<Solution, Dynamic>(&BEST, |solution| {
        let best = solution.rows.rows.first().cloned();
        Ok(best.map_or(Dynamic::UNIT, Dynamic::from))
    });
    registry.property::<Solution, i64>(&POINTS, |solution| Ok(solution.points as i64));
    registry.property::<Solution, i64>(&LEFT, |solution| Ok(solution.left as i64));
    registry.property::<Solution, i64>(&LAID, |solution| Ok(solution.laid as i64));
    registry.property::<Solution, TableValue>(&REFUSED, |solution| Ok(solution.refused.clone()));
}
