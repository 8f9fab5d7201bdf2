//! The words, texts and brackets of an input, as far as it is typed.
//!
//! The engine's own lexer gives up at a text that is still open, which is where completion is wanted most.

/// One piece of an input.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Piece {
    /// A name or keyword.
    Word,
    /// A number.
    Number,
    /// A text with both its quotes.
    Text,
    /// A text whose closing quote is still to come.
    OpenText,
    /// A comment; one that is not closed reaches to the end.
    Comment,
    /// Any other letter.
    Mark(char),
}

/// A piece and where it stands, in bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Token {
    pub(super) piece: Piece,
    pub(super) start: usize,
    pub(super) end: usize,
}

impl Token {
    /// Whether it is this mark.
    pub(super) fn is(&self, mark: char) -> bool {
        self.piece == Piece::Mark(mark)
    }

    /// Its letters.
    pub(super) fn of<'t>(&self, text: &'t str) -> &'t str {
        text.get(self.start..self.end).unwrap_or_default()
    }
}

/// Every piece of a text, blanks left out.
pub(super) fn tokens(text: &str) -> Vec<Token> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let Some(first) = rest.chars().next() else {
            break;
        };
        let (piece, length) = match first {
            '"' | '`' => quoted(rest, first),
            _ if rest.starts_with("//") => {
                (Some(Piece::Comment), rest.find('\n').unwrap_or(rest.len()))
            }
            _ if rest.starts_with("/*") => (Some(Piece::Comment), block_comment(rest)),
            c if is_of_word(c) && !c.is_numeric() => (Some(Piece::Word), run(rest, is_of_word)),
            c if c.is_ascii_digit() => (Some(Piece::Number), number(rest)),
            c if c.is_whitespace() => (None, c.len_utf8()),
            c => (Some(Piece::Mark(c)), c.len_utf8()),
        };
        if let Some(piece) = piece {
            found.push(Token {
                piece,
                start: at,
                end: at + length,
            });
        }
        at += length;
    }
    found
}

/// Whether a letter may stand in a name.
fn is_of_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn run(text: &str, fits: fn(char) -> bool) -> usize {
    text.find(|c| !fits(c)).unwrap_or(text.len())
}

/// Digits, and a fraction where digits follow the point: `5.mm` is a number, a point and a name.
fn number(text: &str) -> usize {
    let whole = run(text, is_of_word);
    match text
        .get(whole..)
        .and_then(|rest| rest.strip_prefix('.'))
        .filter(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
    {
        Some(fraction) => whole + 1 + run(fraction, is_of_word),
        None => whole,
    }
}

fn quoted(text: &str, mark: char) -> (Option<Piece>, usize) {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        if c == mark && !escaped {
            return (Some(Piece::Text), at + c.len_utf8());
        }
        // A text in double quotes ends with its line.
        if c == '\n' && mark == '"' {
            return (Some(Piece::Text), at);
        }
        escaped = mark == '"' && c == '\\' && !escaped;
    }
    (Some(Piece::OpenText), text.len())
}

/// Block comments nest.
fn block_comment(text: &str) -> usize {
    let (mut depth, mut at) = (0_usize, 0);
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        if rest.starts_with("/*") {
            (depth, at) = (depth + 1, at + 2);
        } else if rest.starts_with("*/") {
            (depth, at) = (depth.saturating_sub(1), at + 2);
            if depth == 0 {
                return at;
            }
        } else {
            at += rest.chars().next().map_or(1, char::len_utf8);
        }
    }
    text.len()
}

/// The bracket that closes an opening one.
fn closing(open: char) -> Option<char> {
    match open {
        '(' => Some(')'),
        '[' => Some(']'),
        '{' => Some('}'),
        _ => None,
    }
}

/// The bracket at this token and the one that belongs to it, by their indexes; none where it has no partner.
pub(super) fn partner(tokens: &[Token], at: usize) -> Option<usize> {
    let Piece::Mark(mark) = tokens.get(at)?.piece else {
        return None;
    };
    let mut open: Vec<usize> = Vec::new();
    let opens = closing(mark).is_some();
    for (index, token) in tokens.iter().enumerate() {
        let Piece::Mark(c) = token.piece else {
            continue;
        };
        if closing(c).is_some() {
            open.push(index);
        } else if matches!(c, ')' | ']' | '}') {
            let start = open.pop()?;
            let matches = tokens.get(start).is_some_and(
                |token| matches!(token.piece, Piece::Mark(o) if closing(o) == Some(c)),
            );
            if opens && start == at {
                return matches.then_some(index);
            }
            if !opens && index == at {
                return matches.then_some(start);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pieces(text: &str) -> Vec<&str> {
        tokens(text).iter().map(|token| token.of(text)).collect()
    }

    #[test]
    fn an_input_falls_into_its_pieces() {
        assert_eq!(
            pieces("let x = 3.5.ft; // é\nf(\"a(\", `b\n)`)"),
            [
                "let", "x", "=", "3.5", ".", "ft", ";", "// é", "f", "(", "\"a(\"", ",", "`b\n)`",
                ")"
            ]
        );
        assert_eq!(pieces("5.mm"), ["5", ".", "mm"]);
        assert_eq!(pieces("/* a /* b */ c */ d"), ["/* a /* b */ c */", "d"]);
        assert_eq!(
            tokens("\"open").last().map(|t| t.piece),
            Some(Piece::OpenText)
        );
    }

    #[test]
    fn brackets_find_their_partners() {
        let all = tokens("f([1, (2)], \")\")");
        assert_eq!(partner(&all, 1), Some(all.len() - 1));
        assert_eq!(partner(&all, all.len() - 1), Some(1));
        assert_eq!(partner(&tokens("(]"), 0), None);
        assert_eq!(partner(&tokens("("), 0), None);
    }
}
