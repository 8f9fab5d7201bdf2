//! The reference of the language in its forms, made from the declarations: text, Markdown, JSON, and definitions for
//! editors that know rhai.

use std::fmt::Write;

use serde_json::{Value as Json, json};

use super::declare::{CallKind, Declaration, Group, Parameter, Want};
use super::errors::{self, ErrorNote, Errors};
use super::help;
use super::vocabulary::{Callable, Vocabulary};

/// Everything there is to say of the declarations of a name, or of all of them, as text within so many columns.
pub fn text(vocabulary: &Vocabulary, name: Option<&str>, columns: usize) -> String {
    if let Some(name) = name {
        return help::about(vocabulary, name, columns);
    }
    let mut out = String::new();
    for (group, declarations) in grouped(vocabulary, None) {
        if !out.is_empty() {
            out.push_str("\n\n\n");
        }
        let title = group.title();
        let _ = write!(out, "{title}\n{}", "=".repeat(title.chars().count()));
        for declaration in declarations {
            out.push_str("\n\n");
            out.push_str(&help::entry(vocabulary, declaration, columns));
        }
    }
    out.push_str("\n\n\nErrors\n======\n\n");
    out.push_str(&help::about(vocabulary, help::ERRORS, columns));
    out
}

/// The same as Markdown, topic by topic.
pub fn markdown(vocabulary: &Vocabulary, name: Option<&str>) -> String {
    let mut out = String::from("# Reference\n");
    for (group, declarations) in grouped(vocabulary, name) {
        let _ = write!(out, "\n## {}\n", group.title());
        for declaration in declarations {
            markdown_entry(&mut out, vocabulary, declaration);
        }
    }
    if noted(name).next().is_some() {
        out.push_str("\n## Errors\n");
        for (theme, notes) in noted(name) {
            let _ = write!(out, "\n### {}\n\n", theme.title);
            for note in notes {
                let _ = writeln!(out, "- `{}`: {}", note.code, note.when);
            }
        }
    }
    out.trim_end().to_owned()
}

/// The errors of every theme where everything or the page of errors is asked for, or the one that goes by the name.
fn noted(name: Option<&str>) -> impl Iterator<Item = (&'static Errors, Vec<&'static ErrorNote>)> {
    errors::THEMES
        .iter()
        .map(move |theme| {
            let wanted = |note: &&'static ErrorNote| {
                name.is_none_or(|name| name == help::ERRORS || name == note.code)
            };
            (theme, theme.notes.iter().filter(wanted).collect::<Vec<_>>())
        })
        .filter(|(_, notes)| !notes.is_empty())
}

/// Every error for other programs, or the one that goes by the name.
pub fn errors_json(name: Option<&str>) -> Json {
    let all = noted(name).flat_map(|(theme, notes)| {
        notes
            .into_iter()
            .map(move |note| json!({ "code": note.code, "when": note.when, "theme": theme.title }))
    });
    all.collect()
}

fn markdown_entry(out: &mut String, vocabulary: &Vocabulary, declaration: &Declaration) {
    let _ = write!(
        out,
        "\n### `{}`\n\n{}\n",
        declaration.signature(),
        declaration.summary
    );
    for (title, list) in [
        ("argument", declaration.positional),
        ("option", declaration.options),
    ] {
        if list.is_empty() {
            continue;
        }
        let _ = write!(
            out,
            "\n| {title} | takes | if left out | meaning |\n|---|---|---|---|\n"
        );
        for parameter in list {
            let left_out = match (parameter.required, parameter.default) {
                (true, _) => "must be given",
                (false, usual) => usual,
            };
            let cells = [
                format!("`{}`", parameter.name),
                parameter.wants.describe(vocabulary),
                left_out.to_owned(),
                parameter.meaning.to_owned(),
            ];
            // A bar would end the cell.
            let cells = cells.map(|cell| cell.replace('|', "\\|"));
            let _ = writeln!(out, "| {} |", cells.join(" | "));
        }
    }
    if !declaration.returns.is_empty() {
        let _ = write!(out, "\nReturns: {}\n", declaration.returns);
    }
    for example in declaration.examples {
        let _ = write!(out, "\n```rhai\n{}\n```\n", example.script);
        if !example.shows.is_empty() {
            let _ = write!(out, "\n```text\n{}\n```\n", example.shows);
        }
    }
    let notes = declaration.errors();
    if !notes.is_empty() {
        let codes: Vec<String> = notes
            .iter()
            .map(|note| format!("`{}`", note.code))
            .collect();
        let _ = write!(out, "\nErrors: {}\n", codes.join(", "));
    }
    if !declaration.see_also.is_empty() {
        let others: Vec<String> = declaration
            .see_also
            .iter()
            .map(|name| format!("`{name}`"))
            .collect();
        let _ = write!(out, "\nSee also: {}\n", others.join(", "));
    }
}

/// The same for other programs: a list of declarations.
pub fn json(vocabulary: &Vocabulary, name: Option<&str>) -> Json {
    let callables = vocabulary.callables();
    let declarations = grouped(vocabulary, name)
        .into_iter()
        .flat_map(|(_, declarations)| declarations);
    let entries: Vec<Json> = declarations
        .map(|declaration| json_entry(vocabulary, declaration, &callables))
        .collect();
    Json::Array(entries)
}

fn json_entry(vocabulary: &Vocabulary, declaration: &Declaration, callables: &[Callable]) -> Json {
    let parameters = |list: &[Parameter]| parameters_json(vocabulary, list);
    let kind = match declaration.kind {
        CallKind::Function => "function",
        CallKind::Method { .. } => "method",
        CallKind::Property { .. } => "property",
    };
    let registered: Vec<&Callable> = callables
        .iter()
        .filter(|callable| std::ptr::eq(callable.declaration, declaration))
        .collect();
    let mut of: Vec<&str> = registered.iter().filter_map(|c| c.of.as_deref()).collect();
    of.dedup();
    let gives = registered.first().and_then(|c| c.gives.clone());
    let examples: Vec<Json> = declaration
        .examples
        .iter()
        .map(|example| json!({ "script": example.script, "shows": example.shows }))
        .collect();
    let errors: Vec<&str> = declaration.errors().iter().map(|note| note.code).collect();
    json!({
        "name": declaration.name,
        "kind": kind,
        "of": of,
        "group": declaration.group.title(),
        "signature": declaration.signature(),
        "summary": declaration.summary,
        "arguments": parameters(declaration.positional),
        "options": parameters(declaration.options),
        "gives": gives,
        "returns": declaration.returns,
        "examples": examples,
        "errors": errors,
        "see_also": declaration.see_also,
    })
}

fn parameters_json(vocabulary: &Vocabulary, list: &[Parameter]) -> Vec<Json> {
    let entry = |parameter: &Parameter| {
        json!({
            "name": parameter.name,
            "takes": parameter.wants.describe(vocabulary),
            "words": parameter.wants.words(),
            "entries": parameters_json(vocabulary, parameter.wants.entries()),
            "required": parameter.required,
            "usual": parameter.default,
            "meaning": parameter.meaning,
        })
    };
    list.iter().map(entry).collect()
}

/// Definitions for editors that know rhai (`.d.rhai`): each call once for every kind of value and number of arguments.
pub fn definitions(vocabulary: &Vocabulary) -> String {
    let mut out = String::from("module static;\n");
    let mut callables = vocabulary.callables();
    callables.sort_by(|a, b| {
        let key = |c: &Callable| (c.declaration.name, c.of.clone());
        key(a).cmp(&key(b))
    });
    let mut last = None;
    for callable in &callables {
        let declaration = callable.declaration;
        let of = callable.of.as_deref();
        // Both kinds of numbers have the same properties.
        let here = Some((std::ptr::from_ref(declaration), of));
        if here == last {
            continue;
        }
        last = here;
        let gives = definition_type(callable.gives.as_deref());
        let comment = comment(vocabulary, declaration);
        if matches!(declaration.kind, CallKind::Property { .. }) {
            let of = definition_type(of);
            let _ = write!(
                out,
                "\n{comment}fn get {}(value: {of}) -> {gives};\n",
                declaration.name
            );
            continue;
        }
        let receiver = of.map(|of| format!("value: {}", definition_type(Some(of))));
        let mut given: Vec<String> = receiver.into_iter().collect();
        let mut forms: Vec<Vec<String>> = Vec::new();
        let options = "options: Map".to_owned();
        let needs_options = declaration.options.iter().any(|option| option.required);
        let optional = |given: &[String], forms: &mut Vec<Vec<String>>| {
            if !needs_options {
                forms.push(given.to_vec());
            }
            if !declaration.options.is_empty() {
                forms.push(given.iter().cloned().chain([options.clone()]).collect());
            }
        };
        for parameter in declaration.positional {
            if !parameter.required {
                optional(&given, &mut forms);
            }
            given.push(format!(
                "{}: {}",
                parameter.name,
                wanted_type(&parameter.wants)
            ));
        }
        optional(&given, &mut forms);
        for form in forms {
            let _ = write!(
                out,
                "\n{comment}fn {}({}) -> {gives};\n",
                declaration.name,
                form.join(", ")
            );
        }
    }
    out.trim_end().to_owned()
}

/// A declaration as the comment before its definition.
fn comment(vocabulary: &Vocabulary, declaration: &Declaration) -> String {
    let mut lines: Vec<String> = vec![declaration.summary.to_owned()];
    for (title, list) in [
        ("Arguments", declaration.positional),
        ("Options", declaration.options),
    ] {
        if list.is_empty() {
            continue;
        }
        lines.extend([String::new(), format!("{title}:")]);
        lines.extend(list.iter().map(|parameter| {
            let must = if parameter.required {
                "; must be given"
            } else {
                ""
            };
            let wants = parameter.wants.describe(vocabulary);
            format!(
                "- `{}`: {} ({wants}{must})",
                parameter.name, parameter.meaning
            )
        }));
    }
    for example in declaration.examples {
        lines.extend([String::new(), "```rhai".to_owned()]);
        lines.extend(example.script.lines().map(str::to_owned));
        lines.push("```".to_owned());
    }
    let mut out = String::new();
    for line in lines {
        let _ = writeln!(out, "{}", format!("/// {line}").trim_end());
    }
    out
}

/// A kind of value as definitions name it; `?` is any.
fn definition_type(kind: Option<&str>) -> &str {
    match kind {
        None => "?",
        Some("number") => "float",
        Some("text") => "String",
        Some("list") => "Array",
        Some("map") => "Map",
        Some("flag") => "bool",
        Some("nothing") => "()",
        Some(other) => other,
    }
}

fn wanted_type(want: &Want) -> &'static str {
    match want {
        Want::Length => "Length",
        Want::Area => "Area",
        Want::Volume => "Volume",
        Want::Mass => "Mass",
        Want::Density => "Density",
        Want::Pressure => "Pressure",
        Want::Temperature => "Temperature",
        Want::Duration => "Duration",
        Want::Number | Want::NumberFrom(..) => "float",
        Want::WholeNumber | Want::WholeFrom(..) => "int",
        Want::Text | Want::Name(_) | Want::Word(_) => "String",
        Want::Flag => "bool",
        Want::Pair(_) | Want::Triple(_) | Want::List(_) => "Array",
        Want::Map | Want::Entries(_) => "Map",
        Want::Function => "Fn",
        Want::Value(name) => name,
        Want::Size | Want::AnyOf(_) | Want::Anything => "?",
    }
}

/// The declarations of a name, or all, by topic and there by their calls.
fn grouped(vocabulary: &Vocabulary, name: Option<&str>) -> Vec<(Group, Vec<&'static Declaration>)> {
    let all = vocabulary.declarations();
    let wanted = |declaration: &&&'static Declaration| name.is_none_or(|n| n == declaration.name);
    Group::ALL
        .into_iter()
        .map(|group| {
            let mut found: Vec<&'static Declaration> = all
                .iter()
                .filter(wanted)
                .filter(|declaration| declaration.group == group)
                .copied()
                .collect();
            found.sort_by_key(|declaration| declaration.signature());
            (group, found)
        })
        .filter(|(_, found)| !found.is_empty())
        .collect()
}
