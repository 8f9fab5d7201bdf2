//! Operators on unlike values: each is an error that says what to write instead.
//!
//! Without these the engine compares unlike values as silently unequal.

use std::any::{Any, TypeId};
use std::rc::Rc;

use rhai::{Array, Dynamic, Engine, EvalAltResult, ImmutableString, Map, NativeCallContext};

use super::options::Fault;
use super::vocabulary::Vocabulary;
use crate::quantity::{Area, Density, Duration, Length, Mass, Pressure, Temperature, Volume};

const COMPARISONS: [&str; 6] = ["==", "!=", "<", "<=", ">", ">="];
const ARITHMETIC: [&str; 6] = ["+", "-", "*", "/", "%", "**"];

/// What is read, with its type, on either side of an operator.
fn unlike(
    operator: &'static str,
    left: &Dynamic,
    right: &Dynamic,
    vocabulary: &Vocabulary,
) -> Fault {
    let (a, b) = (vocabulary.kind_of(left), vocabulary.kind_of(right));
    let message = match operator {
        "+" => format!("cannot add {a} and {b}"),
        "-" => format!("cannot subtract {b} from {a}"),
        "*" => format!("cannot multiply {a} by {b}"),
        "/" | "%" => format!("cannot divide {a} by {b}"),
        "**" => format!("cannot raise {a} to the power of {b}"),
        _ => format!("cannot compare {a} with {b}"),
    };
    let fault = Fault::new("unlike-quantities", message);
    let is_number = |value: &Dynamic| value.is_int() || value.is_float();
    let (number, other) = match (is_number(left), is_number(right)) {
        (true, false) => (left, right),
        (false, true) => (right, left),
        _ => return advised(fault, operator, a == b),
    };
    let shown = vocabulary.show(number);
    let unit = if other.is::<Length>() {
        format!("write the number with a unit: {shown}.mm or {shown}.inch")
    } else if other.is::<Area>() {
        format!("write the number with a unit: {shown}.m2 or {shown}.ft2")
    } else if other.is::<Volume>() {
        format!("write the number with a unit: {shown}.litre or {shown}.ft3")
    } else if other.is::<Mass>() {
        format!("write the number with a unit: {shown}.kg or {shown}.lb")
    } else if other.is::<Density>() {
        format!("write the number with a unit: {shown}.kg_m3 or {shown}.lb_ft3")
    } else if other.is::<Pressure>() {
        format!("write the number with a unit: {shown}.Pa or {shown}.kPa")
    } else if other.is::<Temperature>() {
        format!("write the number with a unit: {shown}.degC or {shown}.degF")
    } else if other.is::<Duration>() {
        format!("write the number with a unit: {shown}.h or {shown}.minute")
    } else {
        return advised(fault, operator, a == b);
    };
    // Dividing by or into a quantity with a unit added would only hide the mistake.
    if matches!(operator, "*" | "/" | "%" | "**") {
        fault
    } else {
        fault.remedy(unit)
    }
}

/// What to do where no number is to blame.
fn advised(fault: Fault, operator: &str, alike: bool) -> Fault {
    match operator {
        _ if alike && COMPARISONS.contains(&operator) => {
            fault.remedy("compare what is read off them, such as a length")
        }
        _ if alike => fault,
        "+" | "-" => fault.remedy("both sides must be of one kind"),
        "*" | "/" | "%" | "**" => fault,
        _ => fault.remedy("compare values of one kind; test for a value left out with `== ()`"),
    }
}

fn refuse(
    operator: &'static str,
    context: &NativeCallContext,
    args: &[&mut Dynamic],
    vocabulary: &Vocabulary,
) -> Result<Dynamic, Box<EvalAltResult>> {
    let [left, right] = args else {
        return Ok(Dynamic::UNIT);
    };
    // A value left out may be tested for: nothing is unequal to everything else.
    if left.is_unit() || right.is_unit() {
        match operator {
            "==" => return Ok(Dynamic::FALSE),
            "!=" => return Ok(Dynamic::TRUE),
            _ => {}
        }
    }
    // Texts join with whatever shows itself.
    if operator == "+" && (left.is_string() || right.is_string()) {
        return Ok(format!("{}{}", vocabulary.show(left), vocabulary.show(right)).into());
    }
    Err(unlike(operator, left, right, vocabulary).into_error(operator, context.call_position()))
}

fn refuse_pair(
    engine: &mut Engine,
    vocabulary: &Rc<Vocabulary>,
    operator: &'static str,
    types: [TypeId; 2],
) {
    let vocabulary = Rc::clone(vocabulary);
    engine.register_raw_fn(
        operator,
        types,
        move |context: NativeCallContext, args: &mut [&mut Dynamic]| {
            refuse(operator, &context, args, &vocabulary)
        },
    );
}

/// Makes every operator between a `T` and any other value an error, unless an exact pair is
/// registered.
pub(super) fn refuse_unlike<T: Any + Clone>(engine: &mut Engine, vocabulary: &Rc<Vocabulary>) {
    let (own, any) = (TypeId::of::<T>(), TypeId::of::<Dynamic>());
    for operator in COMPARISONS.into_iter().chain(ARITHMETIC) {
        refuse_pair(engine, vocabulary, operator, [own, any]);
        refuse_pair(engine, vocabulary, operator, [any, own]);
    }
}

/// Makes comparisons between the engine's own unlike kinds errors.
pub(super) fn refuse_unlike_basics(engine: &mut Engine, vocabulary: &Rc<Vocabulary>) {
    let numbers = [TypeId::of::<i64>(), TypeId::of::<f64>()];
    let texts = [TypeId::of::<ImmutableString>(), TypeId::of::<char>()];
    let kinds: [&[TypeId]; 5] = [
        &numbers,
        &texts,
        &[TypeId::of::<bool>()],
        &[TypeId::of::<Array>()],
        &[TypeId::of::<Map>()],
    ];
    for (i, left) in kinds.iter().enumerate() {
        for (j, right) in kinds.iter().enumerate() {
            if i == j {
                continue;
            }
            for (&a, &b) in left.iter().flat_map(|a| right.iter().map(move |b| (a, b))) {
                for operator in COMPARISONS {
                    refuse_pair(engine, vocabulary, operator, [a, b]);
                }
            }
        }
    }
}

/// Integer division that keeps the fraction: `1 / 2` is 0.5, `4 / 2` is 2.
pub(super) fn divide_exactly(engine: &mut Engine) {
    fn divide(a: &Dynamic, b: &Dynamic) -> Result<Dynamic, Fault> {
        if let (Ok(a), Ok(b)) = (a.as_int(), b.as_int()) {
            if b == 0 {
                return Err(by_zero());
            }
            return match (a.checked_rem(b), a.checked_div(b)) {
                (Some(0), Some(whole)) => Ok(whole.into()),
                _ => Ok((a as f64 / b as f64).into()),
            };
        }
        let number = |value: &Dynamic| {
            value
                .as_float()
                .or_else(|_| value.as_int().map(|n| n as f64))
        };
        match (number(a), number(b)) {
            (Ok(_), Ok(0.0)) => Err(by_zero()),
            (Ok(a), Ok(b)) => Ok((a / b).into()),
            _ => Err(Fault::new("wrong-type", "only numbers divide like this")),
        }
    }
    let numbers = [TypeId::of::<i64>(), TypeId::of::<f64>()];
    for types in numbers.into_iter().flat_map(|a| numbers.map(|b| [a, b])) {
        engine.register_raw_fn(
            "/",
            types,
            |context: NativeCallContext, args: &mut [&mut Dynamic]| match args {
                [a, b] => {
                    divide(a, b).map_err(|fault| fault.into_error("/", context.call_position()))
                }
                _ => Ok(Dynamic::UNIT),
            },
        );
        engine.register_raw_fn(
            "/=",
            types,
            |context: NativeCallContext, args: &mut [&mut Dynamic]| {
                if let [a, b] = args {
                    let result = divide(a, b)
                        .map_err(|fault| fault.into_error("/=", context.call_position()))?;
                    **a = result;
                }
                Ok(Dynamic::UNIT)
            },
        );
    }
}

/// The fault of every division by zero.
pub(super) fn by_zero() -> Fault {
    Fault::new("division-by-zero", "cannot divide by zero")
        .remedy("check the value below the line before dividing")
}
