//! Help, made from the declarations.

use std::fmt::Write;

use super::declare::{CallKind, Declaration, Group, Parameter};
use super::vocabulary::Vocabulary;
use crate::masonry::nearest;

/// Every topic with its functions, a line each.
pub fn overview(vocabulary: &Vocabulary) -> String {
    let mut text = String::from(
        "help(\"name\") tells more about one of these; names() lists what you have defined.",
    );
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
            let _ = write!(
                text,
                "\n  units, behind a number as in 5.mm: {}",
                units.join(", ")
            );
        }
        lines.sort();
        let width = lines
            .iter()
            .map(|(call, _)| call.chars().count())
            .filter(|n| *n <= CALL_WIDTH)
            .max()
            .unwrap_or(0);
        for (call, summary) in lines {
            let _ = write!(text, "\n  {call:width$}  {summary}");
        }
    }
    text
}

/// Longest call that others are aligned with.
const CALL_WIDTH: usize = 34;

/// All there is to say of one name, or a hint at the nearest.
pub fn about(vocabulary: &Vocabulary, name: &str) -> String {
    let found = vocabulary.named(name);
    if found.is_empty() {
        let names = vocabulary.names(|_| true);
        return match nearest(name, names.iter().copied()) {
            Some(near) => {
                format!("There is no help about `{name}`.  Did you mean help(\"{near}\")?")
            }
            None => format!("There is no help about `{name}`.  help() lists what there is."),
        };
    }
    let entries: Vec<String> = found
        .into_iter()
        .map(|declaration| entry(vocabulary, declaration))
        .collect();
    entries.join("\n\n")
}

fn entry(vocabulary: &Vocabulary, declaration: &Declaration) -> String {
    let mut text = format!("{}\n  {}", declaration.signature(), declaration.summary);
    parameters(&mut text, vocabulary, "Arguments", declaration.positional);
    parameters(&mut text, vocabulary, "Options", declaration.options);
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
    if !declaration.see_also.is_empty() {
        let _ = write!(text, "\n\n  See also  {}", declaration.see_also.join(", "));
    }
    text
}

fn parameters(text: &mut String, vocabulary: &Vocabulary, title: &str, list: &[Parameter]) {
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
        let _ = write!(
            text,
            "\n    {:width$}  {}\n    {:width$}  ({wants}{need})",
            parameter.name, parameter.meaning, ""
        );
    }
}
