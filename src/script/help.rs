//! Help, made from the declarations.

use std::fmt::Write;

use super::declare::{CallKind, Declaration, Group, Parameter};
use super::errors::{self, ErrorNote, Errors};
use super::pages;
use super::vocabulary::Vocabulary;
use crate::masonry::nearest;

/// Every topic with its functions, within so many columns.
pub fn overview(vocabulary: &Vocabulary, columns: usize) -> String {
    let mut text = String::from(
        "help(\"start\") leads you to a first plan; help(\"name\") tells more about one of these; names() lists what you have defined.",
    );
    text = hung("", 0, &text, columns);
    for group in Group::ALL {
        let mut lines: Vec<(String, &str)> = Vec::new();
        let mut units: Vec<&str> = Vec::new();
        for declaration in vocabulary
            .declarations()
            .into_iter()
            .filter(|d| d.group == group)
        {
            match declaration.kind {
                CallKind::Property { of: "number" } => units.push(declaration.name),
                _ => lines.push((declaration.signature(), declaration.summary)),
            }
        }
        if lines.is_empty() && units.is_empty() {
            continue;
        }
        let _ = write!(text, "\n\n{}", group.title());
        if !units.is_empty() {
            let units = units.join(", ");
            text.push('\n');
            text.push_str(&hung("  behind a number, as in 5.mm: ", 4, &units, columns));
        }
        lines.sort();
        let width = lines
            .iter()
            .map(|(call, _)| call.chars().count())
            .filter(|n| *n <= CALL_WIDTH)
            .max()
            .unwrap_or(0);
        for (call, summary) in lines {
            // A call too long to line up has its summary below it.
            let heading = if call.chars().count() > width {
                let _ = write!(text, "\n  {call}");
                " ".repeat(width + 4)
            } else {
                format!("  {call:width$}  ")
            };
            text.push('\n');
            text.push_str(&hung(&heading, width + 4, summary, columns));
        }
    }
    text
}

/// Longest call that others are aligned with.
const CALL_WIDTH: usize = 34;

/// A text behind a heading, its further lines hung below its first.
pub(super) fn hung(heading: &str, indent: usize, text: &str, columns: usize) -> String {
    let mut out = String::new();
    let mut line = heading.to_owned();
    let mut empty = true;
    for word in text.split(' ') {
        if !empty && line.chars().count() + 1 + word.chars().count() > columns {
            out.push_str(line.trim_end());
            out.push('\n');
            line = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out
}

/// All there is to say of one name, or a hint at the nearest, within so many columns.
pub fn about(vocabulary: &Vocabulary, name: &str, columns: usize) -> String {
    if let Some(page) = pages::page(name, columns) {
        return page;
    }
    if name == ERRORS {
        return every_error(columns);
    }
    let found = vocabulary.named(name);
    if found.is_empty() {
        if let Some(note) = errors::note(name) {
            return about_error(vocabulary, note, columns);
        }
        let mut names = vocabulary.names(|_| true);
        names.extend(pages::PAGES.iter().map(|(name, _)| *name));
        names.push(ERRORS);
        names.extend(errors::all().map(|note| note.code));
        return match nearest(name, names.iter().copied()) {
            Some(near) => {
                format!("There is no help about `{name}`.  Did you mean help(\"{near}\")?")
            }
            None => format!("There is no help about `{name}`.  help() lists what there is."),
        };
    }
    let entries: Vec<String> = found
        .into_iter()
        .map(|declaration| entry(vocabulary, declaration, columns))
        .collect();
    entries.join("\n\n")
}

pub(super) fn entry(vocabulary: &Vocabulary, declaration: &Declaration, columns: usize) -> String {
    let mut text = format!("{}\n", declaration.signature());
    text.push_str(&hung("  ", 2, declaration.summary, columns));
    let lists = [
        ("Arguments", declaration.positional),
        ("Options", declaration.options),
    ];
    for (title, list) in lists {
        parameters(&mut text, vocabulary, title, list, columns);
    }
    if !declaration.returns.is_empty() {
        let _ = write!(text, "\n\n  Returns  {}", declaration.returns);
    }
    for (at, example) in declaration.examples.iter().enumerate() {
        text.push_str(if at == 0 { "\n\n  Examples" } else { "" });
        let _ = write!(text, "\n    {}", example.script.replace('\n', "\n    "));
        if !example.shows.is_empty() {
            let _ = write!(text, "\n      {}", example.shows.replace('\n', "\n      "));
        }
    }
    refusals(&mut text, declaration, columns);
    if !declaration.see_also.is_empty() {
        let _ = write!(text, "\n\n  See also  {}", declaration.see_also.join(", "));
    }
    text
}

/// The page that lists every error.
pub const ERRORS: &str = "errors";
/// Longest list of errors that is told one by one beside others.
const ERRORS_TOLD: usize = 20;

/// The errors that a call may end with.
fn refusals(text: &mut String, declaration: &Declaration, columns: usize) {
    if declaration.errors.is_empty() {
        return;
    }
    text.push_str("\n\n  Errors");
    let (long, short): (Vec<&Errors>, Vec<&Errors>) = declaration
        .errors
        .iter()
        .partition(|errors| errors.notes.len() > ERRORS_TOLD);
    let mut seen: Vec<&str> = Vec::new();
    for note in short.iter().flat_map(|errors| errors.notes) {
        if !seen.contains(&note.code) {
            seen.push(note.code);
            error_line(text, note, columns);
        }
    }
    for errors in long {
        let lead = format!("{}: {} errors, told by", errors.title, errors.notes.len());
        text.push('\n');
        text.push_str(&hung(
            "    ",
            6,
            &format!("{lead} help(\"{ERRORS}\")"),
            columns,
        ));
    }
}

fn error_line(text: &mut String, note: &ErrorNote, columns: usize) {
    text.push('\n');
    let heading = format!("    {}: ", note.code);
    text.push_str(&hung(&heading, 6, note.when, columns));
}

/// Every error with when it comes, by themes.
fn every_error(columns: usize) -> String {
    let lead = "An error begins with its code, as in error[unknown-option]. help(\"unknown-option\") tells of one alone.";
    let mut text = hung("", 0, lead, columns);
    for theme in errors::THEMES {
        text.push_str("\n\n");
        text.push_str(&hung("  ", 2, theme.title, columns));
        for note in theme.notes {
            error_line(&mut text, note, columns);
        }
    }
    text
}

/// One error, and the calls that may end with it.
fn about_error(vocabulary: &Vocabulary, note: &ErrorNote, columns: usize) -> String {
    let mut text = format!("error[{}]\n", note.code);
    text.push_str(&hung("  ", 2, note.when, columns));
    let calls: Vec<String> = vocabulary
        .declarations()
        .into_iter()
        .filter(|declaration| declaration.errors().contains(&note))
        .map(Declaration::call)
        .collect();
    if !calls.is_empty() {
        text.push_str("\n\n");
        text.push_str(&hung("  Calls  ", 9, &calls.join(", "), columns));
    }
    text
}

fn parameters(
    text: &mut String,
    vocabulary: &Vocabulary,
    title: &str,
    list: &[Parameter],
    columns: usize,
) {
    if list.is_empty() {
        return;
    }
    let _ = write!(text, "\n\n  {title}");
    let width = list
        .iter()
        .map(|p| p.name.chars().count())
        .max()
        .unwrap_or(0);
    for parameter in list {
        let need = match (parameter.required, parameter.default) {
            (true, _) => "; must be given".to_owned(),
            (false, "") => String::new(),
            (false, default) => format!("; {default} if left out"),
        };
        let wants = parameter.wants.describe(vocabulary);
        let indent = width + 6;
        let name = format!("    {:width$}  ", parameter.name);
        text.push('\n');
        text.push_str(&hung(&name, indent, parameter.meaning, columns));
        text.push('\n');
        let note = format!("({wants}{need})");
        text.push_str(&hung(&" ".repeat(indent), indent, &note, columns));
        entries(text, parameter, indent, columns);
    }
}

/// What the map of a parameter may hold.
fn entries(text: &mut String, parameter: &Parameter, indent: usize, columns: usize) {
    for entry in parameter.wants.entries() {
        text.push('\n');
        let heading = format!("{}{}: ", " ".repeat(indent + 2), entry.name);
        text.push_str(&hung(&heading, indent + 4, entry.meaning, columns));
        entries(text, entry, indent + 2, columns);
    }
}
