//! Highlighting by the tokens of the language itself.

use nu_ansi_term::{Color, Style};
use reedline::{Highlighter, StyledText};
use rhai::{Engine, Token};

thread_local! {
    // The editor's parts must be free to move between threads, and an engine is not.
    static LEXER: Engine = const { Engine::new_raw() };
}

/// Colours an input while it is typed.
pub(super) struct Tokens;

/// Style and byte range of every token.
fn styles(text: &str) -> Vec<(usize, Style)> {
    let mut line_starts = vec![0];
    line_starts.extend(text.match_indices('\n').map(|(at, _)| at + 1));
    let offset = |line: usize, column: usize| {
        let start = line_starts.get(line.checked_sub(1)?)?;
        let rest = text.get(*start..)?;
        Some(
            rest.char_indices()
                .nth(column.checked_sub(1)?)
                .map_or(text.len(), |(at, _)| start + at),
        )
    };
    LEXER.with(|engine| {
        let inputs = [text];
        let (tokens, _) = engine.lex(&inputs);
        let mut found = Vec::new();
        // The iterator goes on for ever after the end.
        for (token, at) in tokens {
            if matches!(token, Token::EOF | Token::LexError(_)) {
                break;
            }
            if let Some(at) = at
                .line()
                .zip(at.position())
                .and_then(|(line, column)| offset(line, column))
            {
                found.push((at, style(&token)));
            }
        }
        found
    })
}

fn style(token: &Token) -> Style {
    match token {
        Token::IntegerConstant(_) | Token::FloatConstant(_) | Token::True | Token::False => {
            Color::Cyan.normal()
        }
        Token::StringConstant(_) | Token::CharConstant(_) | Token::InterpolatedString(_) => {
            Color::Green.normal()
        }
        other if other.is_standard_keyword() => Color::Purple.normal(),
        _ => Style::new(),
    }
}

impl Highlighter for Tokens {
    fn highlight(&self, line: &str, _cursor: usize) -> StyledText {
        let mut styled = StyledText::new();
        let found = styles(line);
        let mut last = (0, Style::new());
        for next in found
            .into_iter()
            .chain(std::iter::once((line.len(), Style::new())))
        {
            if let Some(text) = line.get(last.0..next.0)
                && !text.is_empty()
            {
                styled.push((last.1, text.to_owned()));
                last = next;
            } else if next.0 >= last.0 {
                last = next;
            }
        }
        styled
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn highlighting_keeps_every_character() {
        for text in [
            "let x = 3.ft + \"é\"; // remark",
            "`a ${1 + 2} b`",
            "\"open",
            "/* open",
            "",
            "@ § ü",
            "a\nb\n\"x\ny",
        ] {
            let plain: String = Tokens
                .highlight(text, 0)
                .buffer
                .iter()
                .map(|(_, part)| part.as_str())
                .collect();
            assert_eq!(plain, text);
        }
    }
}
