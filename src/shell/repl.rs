//! The shell on a terminal.

use std::borrow::Cow;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use reedline::{
    ColumnarMenu, Completer, CompletionResult, Emacs, FileBackedHistory, Highlighter, KeyCode,
    KeyModifiers, MenuBuilder, Prompt, PromptEditMode, PromptHistorySearch, Reedline,
    ReedlineEvent, ReedlineMenu, Signal, Span, Suggestion, ValidationResult, Validator,
    default_emacs_keybindings,
};
use rhai::Engine;

use super::complete::Words;
use super::follow::Follower;
use super::hints::Hints;
use super::{evaluate, highlight::Tokens, plain, report};
use crate::script::session::{Session, is_incomplete};

/// Inputs that the history keeps.
const HISTORY_MOST: usize = 5_000;
/// Name of the menu of suggestions.
const MENU: &str = "completion";
/// Name of the history file in the state folder.
const HISTORY_FILE: &str = "history.txt";

/// What stands before an input.
const SIGN: &str = "perpend";
/// What stands before what is typed.
const INDICATOR: &str = "> ";
/// An input that takes longer says how long it took.
const SLOW: Duration = Duration::from_millis(500);

pub(super) type SharedWords = Arc<Mutex<Words>>;

struct Suggestions(SharedWords);

impl Completer for Suggestions {
    fn complete(&mut self, line: &str, at: usize) -> CompletionResult {
        let words = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (start, found) = words.complete(line.get(..at).unwrap_or(line));
        let suggestions: Vec<Suggestion> = found
            .into_iter()
            .map(|suggested| Suggestion {
                value: suggested.word,
                description: (!suggested.note.is_empty()).then_some(suggested.note),
                span: Span::new(start, at.max(start)),
                ..Suggestion::default()
            })
            .collect();
        CompletionResult::fresh(suggestions)
    }
}

thread_local! {
    static PARSER: Engine = Engine::new();
}

struct WholeStatements;

impl Validator for WholeStatements {
    fn validate(&self, line: &str) -> ValidationResult {
        // An empty last line sends what there is: the way out of an input that never completes.
        if line.ends_with("\n\n") || !PARSER.with(|engine| is_incomplete(engine, line)) {
            ValidationResult::Complete
        } else {
            ValidationResult::Incomplete
        }
    }
}

struct Sign;

impl Prompt for Sign {
    fn render_prompt_left(&self) -> Cow<'_, str> {
        Cow::Borrowed(SIGN)
    }

    fn render_prompt_right(&self) -> Cow<'_, str> {
        Cow::Borrowed("")
    }

    fn render_prompt_indicator(&self, _mode: PromptEditMode) -> Cow<'_, str> {
        Cow::Borrowed(INDICATOR)
    }

    fn render_prompt_multiline_indicator(&self) -> Cow<'_, str> {
        Cow::Borrowed("    ... ")
    }

    fn render_prompt_history_search_indicator(&self, search: PromptHistorySearch) -> Cow<'_, str> {
        Cow::Owned(format!("(search: {}) ", search.term))
    }
}

fn editor(session: &Session, words: &SharedWords, follower: &Follower) -> Reedline {
    let colours = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    let outside = session.outside();
    let prompt = SIGN.len() + INDICATOR.len();
    let hints = Hints::new(Arc::clone(words), outside.width(), prompt);
    let mut keys = default_emacs_keybindings();
    keys.add_binding(
        KeyModifiers::NONE,
        KeyCode::Tab,
        ReedlineEvent::UntilFound(vec![
            ReedlineEvent::Menu(MENU.to_owned()),
            ReedlineEvent::MenuNext,
        ]),
    );
    let menu = ReedlineMenu::EngineCompleter(Box::new(ColumnarMenu::default().with_name(MENU)));
    let highlighter: Box<dyn Highlighter> = Box::new(Tokens);
    let mut editor = Reedline::create()
        .with_validator(Box::new(WholeStatements))
        .with_completer(Box::new(Suggestions(Arc::clone(words))))
        .with_highlighter(highlighter)
        .with_hinter(Box::new(hints))
        .use_bracketed_paste(true)
        .with_break_signal(follower.changed())
        .with_menu(menu)
        .with_quick_completions(true)
        .with_ansi_colors(colours)
        .with_edit_mode(Box::new(Emacs::new(keys)));
    let file = outside
        .state_folder()
        .map(|folder| folder.join(HISTORY_FILE));
    if let Some(kept) = file.and_then(|file| FileBackedHistory::with_file(HISTORY_MOST, file).ok())
    {
        editor = editor.with_history(Box::new(kept));
    }
    editor
}

/// Reads and evaluates until the user leaves.
pub(super) fn run(session: &mut Session) {
    let words: SharedWords = Arc::new(Mutex::new(Words::new(session)));
    let follower = Follower::new();
    let mut editor = editor(session, &words, &follower);
    session
        .outside()
        .print("perpend: help(\"start\") leads in, help() tells what there is, Ctrl-D leaves.");
    loop {
        words
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .renew(session);
        match editor.read_line(&Sign) {
            Ok(Signal::Success(text)) => {
                if !text.trim().is_empty() && perform(session, &text) {
                    return;
                }
                if let Some(file) = session.file_to_follow() {
                    follower.follow(&file);
                    run_followed(session, &file);
                }
            }
            Ok(Signal::ExternalBreak(_)) => {
                if let Some(file) = follower.file() {
                    session.outside().print(&format!("{file} has changed"));
                    run_followed(session, &file);
                }
            }
            Ok(Signal::CtrlD) => return,
            Ok(_) => {}
            Err(_) => {
                // The terminal does not answer: go on without editing.
                plain::run(session);
                return;
            }
        }
    }
}

/// Evaluates what was typed or pasted; whether the session ends. Lines that make no whole are inputs of their own, and
/// one of them for undo.
fn perform(session: &mut Session, text: &str) -> bool {
    let begun = Instant::now();
    let whole = !text.trim_end().contains('\n')
        || PARSER.with(|engine| is_incomplete(engine, text) || engine.compile(text).is_ok());
    let quit = if whole {
        evaluate(session, text).quit
    } else {
        session.together(|session| plain::run_lines_of(session, text).quit)
    };
    say_time(session, begun);
    quit
}

fn run_followed(session: &mut Session, file: &str) {
    if file.is_empty() {
        return;
    }
    let begun = Instant::now();
    let outcome = session.input_file(file);
    report(session, &outcome);
    say_time(session, begun);
}

fn say_time(session: &Session, begun: Instant) {
    let taken = begun.elapsed();
    if taken >= SLOW {
        session
            .outside()
            .print(&format!("(took {:.1} s)", taken.as_secs_f64()));
    }
}
