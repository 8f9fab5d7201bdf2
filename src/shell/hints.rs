//! What stands grey behind the cursor: the rest of an earlier input, or the call that is being written.

use std::sync::PoisonError;

use nu_ansi_term::Style;
use reedline::{DefaultHinter, Hinter, History};

use super::repl::SharedWords;

/// Letters that a hint leaves free at the end of a line.
const MARGIN: usize = 2;
/// Shortest hint that is worth showing.
const SHORTEST: usize = 12;
/// What sets a hint off from what was typed, also without colours: it reads as a remark.
const REMARK: &str = "  // ";

/// Hints from the history first, else from the declarations.
pub(super) struct Hints {
    words: SharedWords,
    history: DefaultHinter,
    columns: usize,
    prompt: usize,
}

impl Hints {
    /// Hints that fit lines of so many letters behind a prompt of so many.
    pub(super) fn new(words: SharedWords, columns: usize, prompt: usize) -> Self {
        Self {
            words,
            history: DefaultHinter::default(),
            columns,
            prompt,
        }
    }
}

impl Hinter for Hints {
    fn handle(
        &mut self,
        line: &str,
        at: usize,
        history: &dyn History,
        colours: bool,
        folder: &str,
    ) -> String {
        let earlier = self.history.handle(line, at, history, colours, folder);
        if !earlier.is_empty() {
            return earlier;
        }
        let words = self.words.lock().unwrap_or_else(PoisonError::into_inner);
        let before = line.get(..at).unwrap_or(line);
        let Some(hint) = words.hint(before) else {
            return String::new();
        };
        let last = before.rsplit('\n').next().unwrap_or_default();
        let used = self.prompt + last.chars().count() + REMARK.len() + MARGIN;
        let room = self.columns.saturating_sub(used);
        if room < SHORTEST {
            return String::new();
        }
        let text = shortened(&format!("{REMARK}{hint}"), room + REMARK.len());
        if colours {
            Style::new().dimmed().paint(text).to_string()
        } else {
            text
        }
    }

    fn complete_hint(&self) -> String {
        self.history.complete_hint()
    }

    fn next_hint_token(&self) -> String {
        self.history.next_hint_token()
    }
}

fn shortened(text: &str, columns: usize) -> String {
    match text.char_indices().nth(columns) {
        Some(_) => {
            let kept: String = text.chars().take(columns.saturating_sub(3)).collect();
            format!("{}...", kept.trim_end())
        }
        None => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hint_is_cut_to_its_room() {
        assert_eq!(shortened("abcdefghij", 10), "abcdefghij");
        assert_eq!(shortened("abcdefghijk", 10), "abcdefg...");
    }
}
