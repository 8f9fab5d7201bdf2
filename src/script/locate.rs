//! Finds places in parsed scripts: the key of an option, its value, an argument.
//!
//! The engine gives a point for a call. The tree keeps where every key and value stands.

use rhai::{ASTNode, Expr, FnCallExpr, Position, Stmt};

use super::diagnostic::{Sources, Span};
use super::options::Fault;

fn call_at<'a>(node: &ASTNode<'a>, at: Position) -> Option<(&'a FnCallExpr, bool)> {
    match *node {
        ASTNode::Expr(Expr::FnCall(call, pos)) | ASTNode::Stmt(Stmt::FnCall(call, pos))
            if *pos == at =>
        {
            Some((call, false))
        }
        ASTNode::Expr(Expr::MethodCall(call, pos)) if *pos == at => Some((call, true)),
        _ => None,
    }
}

/// The span of the token or bracketed expression that starts at a position.
pub(super) fn span_at(sources: &Sources, source: &str, at: Position) -> Option<Span> {
    if sources.is_given(source) {
        return None;
    }
    let (line, column) = (at.line()?, at.position().unwrap_or(1).max(1));
    let text = sources.line(source, line).unwrap_or_default();
    let rest: Vec<char> = text.chars().skip(column - 1).collect();
    Some(Span {
        source: source.to_owned(),
        line,
        column,
        length: token_length(&rest),
    })
}

/// Length of the token at the start of a line.
fn token_length(rest: &[char]) -> usize {
    let word = |c: &char| c.is_alphanumeric() || *c == '_';
    let count = |test: &dyn Fn(&char) -> bool| rest.iter().take_while(|c| test(c)).count();
    match rest.first() {
        Some(c) if word(c) => count(&word),
        Some(quote @ ('"' | '`' | '\'')) => {
            let mut escaped = false;
            let closing = rest.iter().skip(1).position(|c| {
                let closes = c == quote && !escaped;
                escaped = *c == '\\' && !escaped && *quote != '`';
                closes
            });
            closing.map_or(rest.len(), |at| at + 2)
        }
        Some(c) if "=<>!+-*/%&|.:".contains(*c) => count(&|c| "=<>!+-*/%&|.:".contains(*c)).min(2),
        _ => 1,
    }
}

/// Length of the expression at the start of a line, up to the comma or bracket that ends it.
fn expression_length(rest: &[char]) -> usize {
    let mut depth = 0_usize;
    let mut at = 0;
    while let Some(&c) = rest.get(at) {
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' | ',' | ';' if depth == 0 => break,
            ')' | ']' | '}' => depth -= 1,
            '/' if rest
                .get(at + 1)
                .is_some_and(|next| matches!(next, '/' | '*')) =>
            {
                break;
            }
            '"' | '`' => at += token_length(rest.get(at..).unwrap_or_default()).saturating_sub(1),
            _ => {}
        }
        at += 1;
    }
    let taken = rest.get(..at.min(rest.len())).unwrap_or_default();
    taken.len() - taken.iter().rev().take_while(|c| c.is_whitespace()).count()
}

fn expression_span(sources: &Sources, source: &str, at: Position) -> Option<Span> {
    let span = span_at(sources, source, at)?;
    let text = sources.line(source, span.line).unwrap_or_default();
    let rest: Vec<char> = text.chars().skip(span.column - 1).collect();
    Some(Span {
        length: expression_length(&rest).max(1),
        ..span
    })
}

fn key_and_value<'a>(expression: &'a Expr, key: &str) -> Option<(Position, &'a Expr)> {
    let Expr::Map(map, _) = expression else {
        return None;
    };
    let (name, value) = map.0.iter().find(|(name, _)| name.name.as_str() == key)?;
    Some((name.pos, value))
}

/// Where a fault of the call at `at` stands; the call itself where nothing nearer is found.
pub(super) fn fault_span(
    sources: &Sources,
    (source, at): (&str, Position),
    function: &str,
    method: bool,
    fault: &Fault,
    caller: Option<&(String, Position)>,
) -> Option<Span> {
    if sources.is_given(source) {
        return entry_span(sources, source, at, fault);
    }
    let mut found = None;
    if let Some(tree) = sources.tree(source) {
        tree.walk(&mut |path: &[ASTNode]| {
            let Some((call, receiver_apart)) = path.last().and_then(|node| call_at(node, at))
            else {
                return true;
            };
            if call.name.as_str() != function {
                return true;
            }
            let first = usize::from(method && !receiver_apart);
            found = place_in(call, first, fault);
            false
        });
    }
    let written_here = found.is_some_and(|place| place.entry_found);
    if let Some((source, at)) = caller.filter(|_| !written_here)
        && let Some(span) = entry_span(sources, source, *at, fault)
    {
        return Some(span);
    }
    match found {
        Some(place) => place.span(sources, source),
        None => span_at(sources, source, at),
    }
}

/// A place in a call.
#[derive(Clone, Copy)]
struct Place {
    at: Position,
    /// Whether one token is meant rather than a whole expression.
    token: bool,
    /// Whether the entry that the fault is about is written there.
    entry_found: bool,
}

impl Place {
    fn span(self, sources: &Sources, source: &str) -> Option<Span> {
        if self.token {
            span_at(sources, source, self.at)
        } else {
            expression_span(sources, source, self.at)
        }
    }
}

/// Where the entry of a fault stands in the call of the script's own function at `at`: that is where options were
/// written which the function only handed on.
fn entry_span(sources: &Sources, source: &str, at: Position, fault: &Fault) -> Option<Span> {
    let entry = fault.entry.as_deref()?;
    if let Some(given) = sources.given(source, entry) {
        return Some(if fault.key_itself {
            given.key
        } else {
            given.value
        });
    }
    let mut found = None;
    sources.tree(source)?.walk(&mut |path: &[ASTNode]| {
        let Some((call, _)) = path.last().and_then(|node| call_at(node, at)) else {
            return true;
        };
        found = call
            .args
            .iter()
            .find(|arg| key_and_value(arg, entry).is_some())
            .map(|arg| place_of(arg, fault));
        false
    });
    found?.span(sources, source)
}

fn place_in(call: &FnCallExpr, first: usize, fault: &Fault) -> Option<Place> {
    if let Some(key) = &fault.key {
        let (name, value) = call.args.iter().find_map(|arg| key_and_value(arg, key))?;
        return Some(if fault.key_itself && fault.entry.is_none() {
            Place {
                at: name,
                token: true,
                entry_found: false,
            }
        } else {
            place_of(value, fault)
        });
    }
    let argument = call.args.get(first + fault.argument?)?;
    Some(place_of(argument, fault))
}

/// The place of a fault within the value of an option or argument.
fn place_of(value: &Expr, fault: &Fault) -> Place {
    let entry = fault
        .entry
        .as_deref()
        .and_then(|entry| key_and_value(value, entry));
    let inner = match entry {
        Some((name, _)) if fault.key_itself => {
            return Place {
                at: name,
                token: true,
                entry_found: true,
            };
        }
        Some((_, inner)) => inner,
        None => value,
    };
    let item = fault.element.and_then(|at| match inner {
        Expr::Array(items, _) => items.get(at),
        _ => None,
    });
    Place {
        at: item.unwrap_or(inner).start_position(),
        token: false,
        entry_found: entry.is_some(),
    }
}

/// Whether the call at `at` is written as a method: `value.name(...)`.
pub(super) fn is_method_call(sources: &Sources, source: &str, at: Position) -> bool {
    let mut method = false;
    if let Some(tree) = sources.tree(source) {
        tree.walk(
            &mut |path: &[ASTNode]| match path.last().and_then(|node| call_at(node, at)) {
                Some((_, is_method)) => {
                    method = is_method;
                    false
                }
                None => true,
            },
        );
    }
    method
}
