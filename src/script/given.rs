//! Values as they are given on the command line: `10.mm`, `10 mm`, `3' 4"`, `[4, 3]`, `true`, `nf`.
//!
//! In comes the text behind the `=` of `--set courses=4`; out comes a value of the language. What the language itself
//! would need quotes or a unit's dot for may be left bare; nothing that does something is run.

use rhai::{ASTNode, Dynamic, Engine, Expr, Position};

use super::engine::caught;
use super::options::Fault;
use crate::masonry::Catalogue;
use crate::quantity::{parse_length, parse_mass, parse_number, parse_volume};

/// Functions that make a quantity of a text, and so may stand in a value.
const OF_TEXT: [&str; 1] = ["length"];
const REMEDY: &str =
    "write a value such as 4, 10.mm, 3' 4\", true, nf, \"a text\" or [1.2.m, 80.cm]";

/// Reads a value.
///
/// # Errors
/// When it is no value of the language, or would do something.
pub(super) fn value(engine: &Engine, text: &str) -> Result<Dynamic, Fault> {
    let text = text.trim();
    match text {
        "" => return Err(refused("there is no value")),
        "()" => return Ok(Dynamic::UNIT),
        "true" => return Ok(true.into()),
        "false" => return Ok(false.into()),
        _ => {}
    }
    if let Some(items) = list(text) {
        return items
            .iter()
            .map(|item| value(engine, item))
            .collect::<Result<rhai::Array, _>>()
            .map(Dynamic::from);
    }
    if is_word(text) || is_catalogue_name(text) {
        return Ok(text.into());
    }
    if let Some(quantity) = quantity(text) {
        return Ok(quantity);
    }
    match written(engine, text) {
        Some(value) => value,
        // A text that begins with a figure was meant as a quantity: say what is wrong with it as such.
        None if text.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)) => {
            let fault = parse_length(text).err().map(Fault::from);
            Err(fault.unwrap_or_else(|| refused(format!("`{text}` is no value"))))
        }
        None if is_text(text) => Ok(text.into()),
        None => Err(refused(format!("`{text}` is no value"))),
    }
}

fn refused(message: impl Into<String>) -> Fault {
    Fault::new("unreadable-value", message).remedy(REMEDY)
}

/// A name as catalogues, sides and bonds have them.
fn is_word(text: &str) -> bool {
    text.starts_with(|c: char| c.is_alphabetic() || c == '_')
        && text
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '_' | '-'))
}

/// Several words, such as the name of a part.
fn is_text(text: &str) -> bool {
    text.starts_with(char::is_alphabetic)
        && text
            .chars()
            .all(|c| c.is_alphanumeric() || matches!(c, '_' | '-' | ' ' | ':' | '/' | ','))
}

/// Units such as `2df` and mixes such as `1:1:6` start with a figure.
fn is_catalogue_name(text: &str) -> bool {
    let figures = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    !figures
        && Catalogue::builtin().is_ok_and(|catalogue| {
            catalogue.unit(text).is_ok() || text.contains(':') && catalogue.mix(text).is_ok()
        })
}

/// A number or quantity as people write it.
fn quantity(text: &str) -> Option<Dynamic> {
    if let Ok(whole) = text.parse::<i64>() {
        return Some(whole.into());
    }
    if let Ok(number) = text.parse::<f64>()
        && number.is_finite()
    {
        return Some(number.into());
    }
    if let Ok(number) = parse_number(text) {
        return Some(number.into());
    }
    parse_length(text)
        .map(Dynamic::from)
        .or_else(|_| parse_mass(text).map(Dynamic::from))
        .or_else(|_| parse_volume(text).map(Dynamic::from))
        .ok()
}

/// The items of a list, where the text is one.
fn list(text: &str) -> Option<Vec<String>> {
    items(text.strip_prefix('[')?.strip_suffix(']')?)
}

/// What stands between the commas of a text, outside brackets and quotes; none where one of those is not closed.
pub(crate) fn items(text: &str) -> Option<Vec<String>> {
    let (mut items, mut item) = (Vec::new(), String::new());
    let (mut depth, mut quote) = (0_usize, None);
    for c in text.chars() {
        match (quote, c) {
            (Some(open), c) if c == open => quote = None,
            // Behind a figure the marks are feet and inches.
            (None, '"' | '`') if item.trim().is_empty() || depth > 0 => quote = Some(c),
            (None, '[' | '(' | '{') => depth += 1,
            (None, ']' | ')' | '}') => depth = depth.checked_sub(1)?,
            (None, ',') if depth == 0 => {
                items.push(std::mem::take(&mut item));
                continue;
            }
            _ => {}
        }
        item.push(c);
    }
    if !item.trim().is_empty() {
        items.push(item);
    }
    (depth == 0 && quote.is_none()).then_some(items)
}

/// The value of an expression of the language that does nothing; none where the text is no such expression.
fn written(engine: &Engine, text: &str) -> Option<Result<Dynamic, Fault>> {
    let tree = caught(|| engine.compile_expression(text)).ok()?.ok()?;
    let mut stray = false;
    tree.walk(&mut |path: &[ASTNode]| {
        let plain = match path.last() {
            Some(ASTNode::Expr(expression)) => is_plain(expression),
            Some(ASTNode::Stmt(_)) => path.len() == 1,
            _ => false,
        };
        stray |= !plain;
        plain
    });
    if stray {
        return None;
    }
    let value = caught(|| engine.eval_ast::<Dynamic>(&tree));
    Some(match value {
        Ok(Ok(value)) => Ok(value.flatten()),
        Ok(Err(error)) => Err(match *error {
            rhai::EvalAltResult::ErrorRuntime(payload, Position { .. }) => payload
                .try_cast::<super::options::Faults>()
                .and_then(|faults| faults.faults.into_iter().next())
                .unwrap_or_else(|| refused(format!("`{text}` is no value"))),
            _ => refused(format!("`{text}` has no value")),
        }),
        Err(_) => Err(refused(format!("`{text}` has no value"))),
    })
}

fn is_plain(expression: &Expr) -> bool {
    match expression {
        Expr::DynamicConstant(..)
        | Expr::BoolConstant(..)
        | Expr::IntegerConstant(..)
        | Expr::FloatConstant(..)
        | Expr::CharConstant(..)
        | Expr::StringConstant(..)
        | Expr::Array(..)
        | Expr::Map(..)
        | Expr::Unit(_)
        | Expr::Property(..)
        | Expr::Dot(..) => true,
        Expr::FnCall(call, _) => call.op_token.is_some() || OF_TEXT.contains(&call.name.as_str()),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use crate::outside::MemoryOutside;
    use crate::script::{Limits, Session};

    fn session() -> Session {
        Session::new(Rc::new(MemoryOutside::new()), Limits::default())
    }

    fn shown(text: &str) -> String {
        let session = session();
        match session.given(text) {
            Ok(value) => format!(
                "{}: {}",
                session.vocabulary().kind_of(&value),
                session.show(&value)
            ),
            Err(fault) => format!("{}: {fault}", fault.code),
        }
    }

    #[test]
    fn values_are_read_bare_and_as_the_language_writes_them() {
        for (text, value) in [
            ("4", "a whole number: 4"),
            ("-2", "a whole number: -2"),
            ("2.5", "a number: 2.5"),
            ("4 1/2", "a number: 4.5"),
            ("1/2", "a number: 0.5"),
            ("10.mm", "a length: 10 mm"),
            ("10 mm", "a length: 10 mm"),
            ("10mm", "a length: 10 mm"),
            ("(2 * 10).mm", "a length: 20 mm"),
            ("3' 4\"", "a length: 1016 mm"),
            ("-10.mm", "a length: -10 mm"),
            ("25 kg", "a mass: 25 kg"),
            ("25.kg", "a mass: 25 kg"),
            ("true", "true or false: true"),
            ("()", "nothing: nothing"),
            ("nf", "a text: nf"),
            ("2df", "a text: 2df"),
            ("1:1:6", "a text: 1:1:6"),
            ("uk_block", "a text: uk_block"),
            ("\"3\"", "a text: 3"),
            ("fire door", "a text: fire door"),
            ("[4, 3]", "a list: [4, 3]"),
            ("[1.2.m, 80 cm]", "a list: [1200 mm, 800 mm]"),
            ("[nf, \"a, b\"]", "a list: [\"nf\", \"a, b\"]"),
            ("[3' 4\", 2' 1\"]", "a list: [1016 mm, 635 mm]"),
            ("[[4, 3], [5, 4]]", "a list: [[4, 3], [5, 4]]"),
            ("[]", "a list: []"),
            ("#{ courses: 4 }", "an option map: #{ courses: 4 }"),
            ("length(\"3 ft\")", "a length: 914.4 mm"),
        ] {
            assert_eq!(shown(text), value, "{text}");
        }
    }

    #[test]
    fn what_is_no_value_is_refused() {
        for (text, code) in [
            ("", "unreadable-value"),
            ("quit()", "unreadable-value"),
            ("[1, show(2)]", "unreadable-value"),
            ("|x| x", "unreadable-value"),
            ("{ 3 }", "unreadable-value"),
            ("12 mmm", "unreadable-quantity"),
            ("10 mm 3 in", "unreadable-quantity"),
            ("1 + 3.mm", "unlike-quantities"),
            ("`${4}`", "unreadable-value"),
        ] {
            assert!(shown(text).starts_with(code), "{text}: {}", shown(text));
        }
    }
}
