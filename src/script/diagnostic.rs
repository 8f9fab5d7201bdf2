//! Diagnostics as data, and their plain text and JSON renderings.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::fmt::Write;
use std::rc::Rc;

use serde::Serialize;

use crate::sheet::wrapped_lines;

/// Name and version of the JSON form.
pub const SCHEMA: &str = "perpend.diagnostics/1";
/// Longest source line that is shown whole, in characters.
const LINE_SHOWN: usize = 160;
/// Most frames of a call stack that are shown.
const FRAMES_SHOWN: usize = 8;

/// How grave it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Severity {
    /// The script cannot go on.
    Error,
    /// The script goes on, but look.
    Warning,
    /// For information.
    Note,
}

impl Severity {
    fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// A place in a source: line and column count from 1, in characters.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Span {
    /// Name of the source.
    pub source: String,
    /// Line.
    pub line: usize,
    /// Column of the first character.
    pub column: usize,
    /// Number of characters.
    pub length: usize,
}

/// A place with a remark.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// The remark.
    pub text: String,
}

/// One call on the way to the trouble, the outermost first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Frame {
    /// What was called: "function `f`".
    pub what: String,
    /// Where it was called.
    pub called_at: Option<Span>,
}

/// One finding about a script.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// What was found: `unknown-option`.
    pub code: String,
    /// How grave it is.
    pub severity: Severity,
    /// The message, which stands alone.
    pub message: String,
    /// What to do about it.
    pub remedy: Vec<String>,
    /// Where.
    pub primary: Option<Span>,
    /// Other places that matter.
    pub labels: Vec<Label>,
    /// The calls that led there.
    pub trace: Vec<Frame>,
    /// The declared function that refuses, where one does.
    pub refused_by: Option<&'static str>,
}

impl Diagnostic {
    /// An error without a place.
    pub fn error(code: impl Into<String>, message: impl Into<String>) -> Self {
        Self {
            code: code.into(),
            severity: Severity::Error,
            message: message.into(),
            remedy: Vec::new(),
            primary: None,
            labels: Vec::new(),
            trace: Vec::new(),
            refused_by: None,
        }
    }

    /// Adds a remedy.
    #[must_use]
    pub fn remedy(mut self, text: impl Into<String>) -> Self {
        self.remedy.push(text.into());
        self
    }

    /// Sets the place.
    #[must_use]
    pub fn at(mut self, span: Option<Span>) -> Self {
        self.primary = span;
        self
    }

    /// The plain text, with the source line underlined.
    pub fn render(&self, sources: &Sources) -> String {
        self.render_within(sources, None)
    }

    /// As [`Diagnostic::render`], with message and remedies broken between words where they are wider than a width.
    pub fn render_within(&self, sources: &Sources, width: Option<usize>) -> String {
        let head = format!("{}[{}]: ", self.severity.word(), self.code);
        let mut text = indented(&head, &self.message, "    ", width);
        let labels: Vec<&Label> = self.labels.iter().collect();
        let numbers = self
            .primary
            .iter()
            .chain(labels.iter().map(|label| &label.span))
            .map(|span| span.line);
        let gutter = numbers.max().unwrap_or(0).to_string().len();
        if let Some(span) = &self.primary {
            excerpt(&mut text, span, None, sources, gutter);
        }
        for label in labels {
            excerpt(&mut text, &label.span, Some(&label.text), sources, gutter);
        }
        if !self.remedy.is_empty() && self.primary.is_some() {
            let _ = write!(text, "\n{:gutter$} |", "");
        }
        for remedy in &self.remedy {
            let hang = " ".repeat(gutter + 3);
            let head = format!("{:gutter$} = ", "");
            let _ = write!(text, "\n{}", indented(&head, remedy, &hang, width));
        }
        let hidden = self.trace.len().saturating_sub(FRAMES_SHOWN);
        // The innermost calls tell most; a long recursion repeats itself further out.
        for frame in self.trace.iter().rev().take(FRAMES_SHOWN) {
            let _ = write!(text, "\n{:gutter$} : in {}", "", frame.what);
            if let Some(span) = &frame.called_at {
                let _ = write!(
                    text,
                    ", called at {}:{}:{}",
                    span.source, span.line, span.column
                );
            }
        }
        if hidden > 0 {
            let _ = write!(text, "\n{:gutter$} : and {hidden} more calls", "");
        }
        text
    }
}

/// A text behind its head, later lines under a hang, in lines within a width where there is one; a script's own control
/// characters do not reach the terminal.
fn indented(head: &str, text: &str, hang: &str, width: Option<usize>) -> String {
    let mut told = head.to_owned();
    for (at, line) in text.split('\n').enumerate() {
        if at > 0 {
            told.push('\n');
            told.push_str(hang);
        }
        let mut clean = String::with_capacity(line.len());
        for c in line.chars() {
            if c.is_control() {
                clean.extend(c.escape_default());
            } else {
                clean.push(c);
            }
        }
        let taken = if at == 0 { head } else { hang }.chars().count();
        match width {
            Some(width) if taken + clean.chars().count() > width => {
                let room = |taken: usize| width.saturating_sub(taken);
                let lines = wrapped_lines(&clean, room(taken), room(hang.chars().count()));
                told.push_str(&lines.join(&format!("\n{hang}")));
            }
            _ => told.push_str(&clean),
        }
    }
    told
}

fn excerpt(text: &mut String, span: &Span, remark: Option<&str>, sources: &Sources, gutter: usize) {
    let _ = write!(
        text,
        "\n{:gutter$}--> {}:{}:{}",
        "", span.source, span.line, span.column
    );
    let Some(line) = sources.line(&span.source, span.line) else {
        return;
    };
    let (line, column) = window(&line, span.column);
    let room = line.chars().count().saturating_sub(column - 1).max(1);
    let carets = "^".repeat(span.length.clamp(1, room));
    let remark = remark
        .map(|remark| format!(" {remark}"))
        .unwrap_or_default();
    let _ = write!(
        text,
        "\n{:gutter$} |\n{:>gutter$} | {line}\n{:gutter$} | {}{carets}{remark}",
        "",
        span.line,
        "",
        " ".repeat(column - 1)
    );
}

/// A line as it is shown: no control characters, and only the part round the place where it is long.
fn window(line: &str, column: usize) -> (String, usize) {
    let clean: Vec<char> = line
        .trim_end()
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let column = column.max(1);
    if clean.len() <= LINE_SHOWN {
        return (clean.into_iter().collect(), column);
    }
    let start = column
        .saturating_sub(LINE_SHOWN / 2)
        .min(clean.len() - LINE_SHOWN);
    (
        clean.into_iter().skip(start).take(LINE_SHOWN).collect(),
        column.saturating_sub(start).max(1),
    )
}

/// Several diagnostics as one JSON document.
pub fn to_json(diagnostics: &[Diagnostic]) -> serde_json::Value {
    serde_json::json!({ "schema": SCHEMA, "diagnostics": diagnostics })
}

#[derive(Clone)]
struct Source {
    text: Rc<str>,
    tree: Option<rhai::AST>,
    /// Where options stand that were given outside any script.
    given: Option<BTreeMap<String, Given>>,
}

/// Where an option stands that was given outside any script, such as on the command line.
#[derive(Debug, Clone)]
pub(super) struct Given {
    /// The name of the option.
    pub(super) key: Span,
    /// What it was set to.
    pub(super) value: Span,
}

/// The sources of a session by name, for excerpts and for finding option keys.
#[derive(Clone, Default)]
pub struct Sources {
    by_name: Rc<RefCell<BTreeMap<String, Source>>>,
}

impl Sources {
    /// No sources.
    pub fn new() -> Self {
        Self::default()
    }

    /// Keeps a source under its name.
    pub fn add(&self, name: &str, text: &str) {
        let source = Source {
            text: text.into(),
            tree: None,
            given: None,
        };
        self.by_name.borrow_mut().insert(name.to_owned(), source);
    }

    /// Keeps options that were given outside any script, with the places where each stands. No other place of such a source
    /// means anything.
    pub(super) fn add_given(&self, name: &str, text: &str, given: BTreeMap<String, Given>) {
        let source = Source {
            text: text.into(),
            tree: None,
            given: Some(given),
        };
        self.by_name.borrow_mut().insert(name.to_owned(), source);
    }

    /// Whether a source holds options that were given outside any script.
    pub(super) fn is_given(&self, name: &str) -> bool {
        let by_name = self.by_name.borrow();
        by_name.get(name).is_some_and(|s| s.given.is_some())
    }

    /// Where an option stands that was given outside any script.
    pub(super) fn given(&self, name: &str, key: &str) -> Option<Given> {
        let by_name = self.by_name.borrow();
        by_name.get(name)?.given.as_ref()?.get(key).cloned()
    }

    /// Keeps the parsed tree of a source.
    pub(super) fn add_tree(&self, name: &str, tree: &rhai::AST) {
        if let Some(source) = self.by_name.borrow_mut().get_mut(name) {
            source.tree = Some(tree.clone());
        }
    }

    /// The text of a source.
    pub fn text(&self, name: &str) -> Option<Rc<str>> {
        self.by_name
            .borrow()
            .get(name)
            .map(|source| Rc::clone(&source.text))
    }

    pub(super) fn tree(&self, name: &str) -> Option<rhai::AST> {
        self.by_name
            .borrow()
            .get(name)
            .and_then(|source| source.tree.clone())
    }

    /// One line of a source, counted from 1.
    pub fn line(&self, name: &str, line: usize) -> Option<String> {
        let text = self.text(name)?;
        // A place after the last line end belongs to an empty line.
        text.split('\n')
            .nth(line.checked_sub(1)?)
            .map(str::to_owned)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_excerpt_underlines_the_place() {
        let sources = Sources::new();
        sources.add("a.rhai", "let x = 1;\n\tlet y = bad;\n");
        let span = Span {
            source: "a.rhai".into(),
            line: 2,
            column: 10,
            length: 3,
        };
        let diagnostic = Diagnostic::error("unknown-name", "there is no `bad`")
            .at(Some(span))
            .remedy("did you mean `bat`?");
        assert_eq!(
            diagnostic.render(&sources),
            "error[unknown-name]: there is no `bad`\n --> a.rhai:2:10\n  |\n2 |  let y = bad;\n  |          ^^^\n  |\n  = did you mean `bat`?"
        );
        let json = to_json(&[diagnostic]);
        assert_eq!(json["schema"], SCHEMA);
        assert_eq!(json["diagnostics"][0]["primary"]["line"], 2);
    }

    #[test]
    fn what_is_wider_than_the_window_is_broken_between_words() {
        let text = Diagnostic::error("unfit", "the lid lies on nothing at its back")
            .remedy("make it shorter, or lay it on the wall behind\nwhich is higher")
            .render_within(&Sources::new(), Some(32));
        assert_eq!(
            text,
            "error[unfit]: the lid lies on\n    nothing at its back\n  = make it shorter, or lay it\n    on the wall behind\n    which is higher"
        );
    }

    #[test]
    fn control_characters_of_a_script_do_not_reach_the_terminal() {
        let text = Diagnostic::error("syntax", "`\u{1b}[2J` has no meaning\nhere")
            .remedy("not \u{7}")
            .render(&Sources::new());
        assert_eq!(
            text,
            "error[syntax]: `\\u{1b}[2J` has no meaning\n    here\n  = not \\u{7}"
        );
    }

    #[test]
    fn a_long_line_is_cut_round_the_place() {
        let sources = Sources::new();
        sources.add("a", &"x".repeat(1000));
        let span = Span {
            source: "a".into(),
            line: 1,
            column: 900,
            length: 4,
        };
        let text = Diagnostic::error("c", "m").at(Some(span)).render(&sources);
        assert!(
            text.lines()
                .all(|line| line.chars().count() < LINE_SHOWN + 8),
            "{text}"
        );
    }
}
