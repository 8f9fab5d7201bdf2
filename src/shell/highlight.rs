//! Highlighting by the tokens of the language itself.

use std::ops::Range;

use nu_ansi_term::{Color, Style};
use reedline::{Highlighter, StyledText};
use rhai::{Engine, Token as Lexed};

use super::scan::{self, Piece, Token};

thread_local! {
    // The editor's parts must be free to move between threads, and an engine is not.
    static LEXER: Engine = const { Engine::new_raw() };
}

/// Colours an input while it is typed.
pub struct Tokens;

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
            if matches!(token, Lexed::EOF | Lexed::LexError(_)) {
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

fn style(token: &Lexed) -> Style {
    match token {
        Lexed::IntegerConstant(_) | Lexed::FloatConstant(_) | Lexed::True | Lexed::False => {
            Color::Cyan.normal()
        }
        Lexed::StringConstant(_) | Lexed::CharConstant(_) | Lexed::InterpolatedString(_) => {
            Color::Green.normal()
        }
        other if other.is_standard_keyword() => Color::Purple.normal(),
        _ => Style::new(),
    }
}

/// The brackets that belong together at the cursor, as byte ranges: the one under it, or else the one before it. One
/// that has no partner stands alone.
fn brackets(line: &str, cursor: usize) -> Vec<Range<usize>> {
    let all = scan::tokens(line);
    let is_bracket =
        |token: &Token| matches!(token.piece, Piece::Mark('(' | ')' | '[' | ']' | '{' | '}'));
    let at = all
        .iter()
        .position(|token| token.start == cursor && is_bracket(token))
        .or_else(|| {
            all.iter()
                .position(|token| token.end == cursor && is_bracket(token))
        });
    let Some(at) = at else {
        return Vec::new();
    };
    let both = std::iter::once(at).chain(scan::partner(&all, at));
    both.filter_map(|at| all.get(at))
        .map(|token| token.start..token.end)
        .collect()
}

impl Highlighter for Tokens {
    fn highlight(&self, line: &str, cursor: usize) -> StyledText {
        let mut styled = coloured(line);
        let marked = brackets(line, cursor);
        let alone = marked.len() == 1;
        for range in marked {
            // Not by colour alone: a pair is bold and underlined, a single one shows reversed.
            let style = if alone {
                Style::new().reverse()
            } else {
                Style::new().bold().underline()
            };
            styled.style_range(range.start, range.end, style);
        }
        styled
    }
}

/// A line in the colours of its tokens.
fn coloured(line: &str) -> StyledText {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bracket_at_the_cursor_and_its_partner_are_marked() {
        let line = "f([1], \")\")";
        assert_eq!(brackets(line, 1), [1..2, 10..11]);
        assert_eq!(brackets(line, 11), [10..11, 1..2]);
        assert_eq!(brackets(line, 5), [4..5, 2..3]);
        assert_eq!(brackets("f(", 2), vec![1..2]);
        assert!(brackets(line, 8).is_empty());
        let marked = Tokens.highlight(line, 11);
        let bold = marked.buffer.iter().filter(|(style, _)| style.is_bold);
        let bold: Vec<&str> = bold.map(|(_, text)| text.as_str()).collect();
        assert_eq!(bold, ["(", ")"]);
    }

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
