//! What kind of value stands before the cursor: read off a chain of names and calls by their declarations.

use super::scan::{Piece, Token, partner};

/// Deepest nesting that is followed.
const DEPTH_MOST: usize = 32;

/// What is known of names, for [`kind_before`].
pub(super) trait Kinds {
    /// The kind of a variable.
    fn of_variable(&self, name: &str) -> Option<String>;
    /// What a function gives.
    fn of_function(&self, name: &str) -> Option<String>;
    /// What a method or property of a kind of value gives.
    fn of_member(&self, kind: Option<&str>, name: &str) -> Option<String>;
}

/// An input in its pieces.
#[derive(Clone, Copy)]
pub(super) struct Typed<'t> {
    pub(super) text: &'t str,
    pub(super) tokens: &'t [Token],
}

impl<'t> Typed<'t> {
    fn word(self, at: usize) -> Option<&'t str> {
        let token = self.tokens.get(at)?;
        (token.piece == Piece::Word).then(|| token.of(self.text))
    }

    fn is(self, at: Option<usize>, mark: char) -> bool {
        at.and_then(|at| self.tokens.get(at))
            .is_some_and(|token| token.is(mark))
    }
}

/// The kind of the value whose expression ends before the token at `end`, where it can be told.
pub(super) fn kind_before(typed: Typed, end: usize, kinds: &dyn Kinds) -> Option<String> {
    kind(typed, end, kinds, 0)
}

fn kind(typed: Typed, end: usize, kinds: &dyn Kinds, depth: usize) -> Option<String> {
    if depth > DEPTH_MOST {
        return None;
    }
    let last = end.checked_sub(1)?;
    let member = |name: &str, at: usize| {
        let receiver = kind(typed, at - 1, kinds, depth + 1);
        kinds.of_member(receiver.as_deref(), name)
    };
    let behind_point = |at: usize| typed.is(at.checked_sub(1), '.');
    match typed.tokens.get(last)?.piece {
        Piece::Text => Some("text".to_owned()),
        Piece::Number => Some("number".to_owned()),
        Piece::Word => {
            let name = typed.word(last)?;
            if behind_point(last) {
                return member(name, last);
            }
            local(typed, last, name, kinds, depth).or_else(|| kinds.of_variable(name))
        }
        Piece::Mark(')') => {
            let open = partner(typed.tokens, last)?;
            let called = open.checked_sub(1);
            match called.and_then(|at| Some((at, typed.word(at)?))) {
                Some((at, name)) if behind_point(at) => member(name, at),
                // What a module gives is not declared.
                Some((at, _)) if typed.is(at.checked_sub(1), ':') => None,
                Some((_, name)) => kinds.of_function(name),
                None => kind(typed, last, kinds, depth + 1),
            }
        }
        Piece::Mark(']') => {
            let open = partner(typed.tokens, last)?;
            let before = open.checked_sub(1).and_then(|at| typed.tokens.get(at));
            let indexes = before
                .is_some_and(|token| token.piece == Piece::Word || token.is(')') || token.is(']'));
            (!indexes).then(|| "list".to_owned())
        }
        Piece::Mark('}') => {
            let open = partner(typed.tokens, last)?;
            typed.is(open.checked_sub(1), '#').then(|| "map".to_owned())
        }
        _ => None,
    }
}

/// The kind of a variable that the input itself defines further up.
fn local(
    typed: Typed,
    before: usize,
    name: &str,
    kinds: &dyn Kinds,
    depth: usize,
) -> Option<String> {
    let defines = |at: &usize| {
        typed.word(*at) == Some(name)
            && typed.is(Some(at + 1), '=')
            && !typed.is(Some(at + 2), '=')
            && at
                .checked_sub(1)
                .and_then(|at| typed.word(at))
                .is_some_and(|word| matches!(word, "let" | "const"))
    };
    let at = (0..before).rev().find(defines)?;
    let mut open = 0_usize;
    let mut end = at + 2;
    while let Some(token) = typed.tokens.get(end).filter(|_| end < before) {
        match token.piece {
            Piece::Mark('(' | '[' | '{') => open += 1,
            Piece::Mark(')' | ']' | '}') => open = open.saturating_sub(1),
            Piece::Mark(';') if open == 0 => break,
            _ => {}
        }
        end += 1;
    }
    kind(typed, end, kinds, depth + 1)
}
