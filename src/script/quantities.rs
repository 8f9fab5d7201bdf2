//! Quantities in the language: units as properties of numbers, arithmetic, comparisons.

use std::cmp::Ordering;
use std::rc::Rc;

use rhai::{Array, Dynamic, Engine, EvalAltResult, NativeCallContext};

use super::declare::{CallKind, Declaration, Example, Group, Parameter, Registry, Want};
use super::errors::{self, Errors};
use super::operators::{by_zero, refuse_unlike};
use super::options::Fault;
use crate::quantity::{
    Area, Density, Duration, Length, LengthStyle, Mass, Pressure, QuantityError, Temperature,
    Volume, parse_length,
};

const MM_PER_CM: f64 = 10.0;
const FT_PER_YD: f64 = 3.0;
const G_PER_KG: f64 = 1000.0;

type Made<T> = Result<T, QuantityError>;
pub(super) type Answer<T> = Result<T, Box<EvalAltResult>>;

/// A length as this session shows it.
pub fn show_length(length: Length, style: LengthStyle) -> String {
    match style {
        // Metric shows what is there, to the nanometre: rounding is for tables.
        LengthStyle::Metric => length.to_string(),
        LengthStyle::FeetInches { .. } => style.show(length),
    }
}

const fn unit_declaration(
    name: &'static str,
    summary: &'static str,
    examples: &'static [Example],
    errors: &'static [Errors],
) -> Declaration {
    Declaration {
        name,
        group: Group::Quantities,
        summary,
        kind: CallKind::Property { of: "number" },
        positional: &[],
        options: &[],
        returns: "A quantity.",
        examples,
        errors,
        see_also: &[],
    }
}

const fn reading_declaration(
    name: &'static str,
    of: &'static str,
    summary: &'static str,
    examples: &'static [Example],
) -> Declaration {
    Declaration {
        name,
        group: Group::Quantities,
        summary,
        kind: CallKind::Method { of },
        positional: &[],
        options: &[],
        returns: "A number.",
        examples,
        errors: &[],
        see_also: &[],
    }
}

macro_rules! units {
    ($registry:ident, $errors:expr; $($name:literal, $summary:literal, $make:expr, $shows:literal;)*) => {
        $({
            static UNIT: Declaration = unit_declaration(
                $name,
                $summary,
                &[Example { script: concat!("2.", $name), shows: $shows }],
                $errors,
            );
            let make = $make;
            $registry.property(&UNIT, move |n: &i64| Ok(make(*n as f64)?));
            $registry.property(&UNIT, move |n: &f64| Ok(make(*n)?));
        })*
    };
}

macro_rules! readings {
    ($registry:ident; $($type:ty, $of:literal, $name:literal, $summary:literal, $read:expr, $script:literal => $shows:literal;)*) => {
        $({
            static READING: Declaration = reading_declaration(
                $name,
                $of,
                $summary,
                &[Example { script: $script, shows: $shows }],
            );
            let read = $read;
            $registry.method(&READING, move |_, value: $type| Ok(read(value)));
        })*
    };
}

fn register_units(registry: &mut Registry) {
    units! { registry, &[errors::these(&[errors::NOT_FINITE])];
        "mm", "Millimetres.", Length::from_mm, "2 mm (about 1/16\")";
        "cm", "Centimetres.", |n: f64| Length::from_mm(n * MM_PER_CM), "20 mm (about 13/16\")";
        "m", "Metres.", Length::from_m, "2000 mm (about 6' 6 3/4\")";
        "inch", "Inches of 25.4 mm.", Length::from_inch, "50.8 mm (2\")";
        "ft", "Feet of 304.8 mm.", Length::from_ft, "609.6 mm (2' 0\")";
        "yd", "Yards of 914.4 mm.", |n: f64| Length::from_ft(n * FT_PER_YD), "1828.8 mm (6' 0\")";
        "m2", "Square metres.", Area::from_m2, "";
        "ft2", "Square feet.", Area::from_ft2, "";
        "m3", "Cubic metres.", Volume::from_m3, "";
        "litre", "Litres.", Volume::from_litre, "";
        "ft3", "Cubic feet.", Volume::from_ft3, "";
        "yd3", "Cubic yards.", Volume::from_yd3, "";
        "kg", "Kilograms.", Mass::from_kg, "";
        "g", "Grams.", Mass::from_g, "";
        "lb", "Pounds of 0.45359237 kg.", Mass::from_lb, "";
        "tonne", "Tonnes of 1000 kg.", Mass::from_tonne, "";
        "kg_m3", "Kilograms to the cubic metre.", Density::from_kg_m3, "";
        "lb_ft3", "Pounds to the cubic foot.", Density::from_lb_ft3, "";
        "Pa", "Pascals.", Pressure::from_pa, "";
        "kPa", "Kilopascals.", Pressure::from_kpa, "";
        "psf", "Pounds-force to the square foot.", Pressure::from_psf, "";
    }
    units! { registry, &[errors::these(&[errors::NOT_FINITE, errors::BELOW_ABSOLUTE_ZERO])];
        "degC", "Degrees Celsius.", Temperature::from_deg_c, "";
        "degF", "Degrees Fahrenheit.", Temperature::from_deg_f, "";
    }
    units! { registry, &[errors::these(&[errors::NOT_FINITE])];
        "s", "Seconds.", Duration::from_s, "";
        "minute", "Minutes.", Duration::from_min, "";
        "h", "Hours.", Duration::from_h, "";
        "day", "Days.", Duration::from_day, "";
    }
    readings! { registry;
        Length, "Length", "in_mm", "The number of millimetres.", Length::to_mm, "1.m.in_mm()" => "1000";
        Length, "Length", "in_cm", "The number of centimetres.", |v: Length| v.to_mm() / MM_PER_CM, "1.m.in_cm()" => "100";
        Length, "Length", "in_m", "The number of metres.", Length::to_m, "250.cm.in_m()" => "2.5";
        Length, "Length", "in_inch", "The number of inches.", Length::to_inch, "3.ft.in_inch()" => "36";
        Length, "Length", "in_ft", "The number of feet.", Length::to_ft, "36.inch.in_ft()" => "3";
        Length, "Length", "in_yd", "The number of yards.", |v: Length| v.to_ft() / FT_PER_YD, "9.ft.in_yd()" => "3";
        Area, "Area", "in_m2", "The number of square metres.", Area::to_m2, "(2.m * 3.m).in_m2()" => "6";
        Area, "Area", "in_ft2", "The number of square feet.", Area::to_ft2, "(2.ft * 3.ft).in_ft2()" => "6";
        Volume, "Volume", "in_m3", "The number of cubic metres.", Volume::to_m3, "500.litre.in_m3()" => "0.5";
        Volume, "Volume", "in_litre", "The number of litres.", Volume::to_litre, "2.m3.in_litre()" => "2000";
        Volume, "Volume", "in_ft3", "The number of cubic feet.", Volume::to_ft3, "(2.ft * 3.ft * 1.ft).in_ft3()" => "6";
        Volume, "Volume", "in_yd3", "The number of cubic yards.", Volume::to_yd3, "(3.ft * 3.ft * 6.ft).in_yd3()" => "2";
        Mass, "Mass", "in_kg", "The number of kilograms.", Mass::kg, "2.tonne.in_kg()" => "2000";
        Mass, "Mass", "in_g", "The number of grams.", |v: Mass| v.kg() * G_PER_KG, "1.5.kg.in_g()" => "1500";
        Mass, "Mass", "in_lb", "The number of pounds.", Mass::lb, "80.lb.in_lb()" => "80";
        Mass, "Mass", "in_tonne", "The number of tonnes.", Mass::tonne, "500.kg.in_tonne()" => "0.5";
        Density, "Density", "in_kg_m3", "The number of kilograms to the cubic metre.", Density::kg_m3, "1800.kg_m3.in_kg_m3()" => "1800";
        Density, "Density", "in_lb_ft3", "The number of pounds to the cubic foot.", Density::lb_ft3, "120.lb_ft3.in_lb_ft3()" => "120";
        Pressure, "Pressure", "in_Pa", "The number of pascals.", Pressure::pa, "2.kPa.in_Pa()" => "2000";
        Pressure, "Pressure", "in_kPa", "The number of kilopascals.", Pressure::kpa, "1500.Pa.in_kPa()" => "1.5";
        Pressure, "Pressure", "in_psf", "The number of pounds-force to the square foot.", Pressure::psf, "1500.psf.in_psf()" => "1500";
        Temperature, "Temperature", "in_degC", "The number of degrees Celsius.", Temperature::deg_c, "212.degF.in_degC()" => "100";
        Temperature, "Temperature", "in_degF", "The number of degrees Fahrenheit.", Temperature::deg_f, "100.degC.in_degF()" => "212";
        Duration, "Duration", "in_s", "The number of seconds.", Duration::s, "2.minute.in_s()" => "120";
        Duration, "Duration", "in_minute", "The number of minutes.", Duration::min, "2.h.in_minute()" => "120";
        Duration, "Duration", "in_h", "The number of hours.", Duration::h, "1.day.in_h()" => "24";
        Duration, "Duration", "in_day", "The number of days.", Duration::days, "48.h.in_day()" => "2";
    }
}

/// Turns a fault of a native function into an error at the place of the call.
pub(super) fn at<T>(
    context: &NativeCallContext,
    name: &'static str,
    result: Result<T, impl Into<Fault>>,
) -> Answer<T> {
    result.map_err(|error| error.into().into_error(name, context.call_position()))
}

macro_rules! operator {
    ($engine:ident, $name:literal, |$a:ident: $left:ty, $b:ident: $right:ty| $body:expr) => {
        $engine.register_fn(
            $name,
            move |context: NativeCallContext, $a: $left, $b: $right| at(&context, $name, $body),
        );
    };
}

/// `+ -` between two of a kind, `* /` with numbers, and the ratio of two.
macro_rules! arithmetic {
    ($engine:ident, $type:ty, $add:expr, $sub:expr, $times:expr) => {
        operator!($engine, "+", |a: $type, b: $type| $add(a, b));
        operator!($engine, "-", |a: $type, b: $type| $sub(a, b));
        operator!($engine, "*", |a: $type, b: i64| $times(a, b));
        operator!($engine, "*", |a: i64, b: $type| $times(b, a));
        operator!($engine, "*", |a: $type, b: f64| a.scale(b));
        operator!($engine, "*", |a: f64, b: $type| b.scale(a));
        operator!($engine, "/", |a: $type, b: i64| shared_out(
            b as f64,
            |share| a.scale(share)
        ));
        operator!($engine, "/", |a: $type, b: f64| shared_out(b, |share| a
            .scale(share)));
        operator!($engine, "/", |a: $type, b: $type| a
            .ratio(b)
            .ok_or_else(by_zero));
    };
}

fn shared_out<T>(parts: f64, scale: impl Fn(f64) -> Made<T>) -> Result<T, Fault> {
    if parts == 0.0 {
        return Err(by_zero());
    }
    Ok(scale(1.0 / parts)?)
}

/// Divides a length by a whole number to the nearest nanometre.
fn share_length(length: Length, parts: i64) -> Result<Length, Fault> {
    let parts = i128::from(parts);
    if parts == 0 {
        return Err(by_zero());
    }
    let (nm, half) = (i128::from(length.nm()), parts.abs() / 2);
    let away = if nm < 0 { -half } else { half };
    let out = || Fault::new("out-of-range", "this length is out of range");
    i64::try_from((nm + away) / parts)
        .map(Length::from_nm)
        .map_err(|_| out())
}

macro_rules! comparisons {
    ($engine:ident, $($type:ty),*) => {
        $(
            $engine.register_fn("==", |a: $type, b: $type| a == b);
            $engine.register_fn("!=", |a: $type, b: $type| a != b);
            $engine.register_fn("<", |a: $type, b: $type| a < b);
            $engine.register_fn("<=", |a: $type, b: $type| a <= b);
            $engine.register_fn(">", |a: $type, b: $type| a > b);
            $engine.register_fn(">=", |a: $type, b: $type| a >= b);
            $engine.register_fn("min", |a: $type, b: $type| if b < a { b } else { a });
            $engine.register_fn("max", |a: $type, b: $type| if b > a { b } else { a });
        )*
    };
}

fn prism(base: Area, height: Length) -> Result<Volume, Fault> {
    let product = base.nm2().checked_mul(i128::from(height.nm()));
    let out = || {
        Fault::new("out-of-range", "this volume is out of range")
            .remedy("use smaller numbers, and check the unit of each")
    };
    product.map(Volume::from_nm3).ok_or_else(out)
}

fn quotient(a: i128, b: i128) -> Result<i128, Fault> {
    if b == 0 {
        return Err(by_zero());
    }
    a.checked_add(if (a < 0) == (b < 0) { b / 2 } else { -(b / 2) })
        .and_then(|a| a.checked_div(b))
        .ok_or_else(|| Fault::new("out-of-range", "this quotient is out of range"))
}

fn as_length(nm: i128) -> Result<Length, Fault> {
    let out = |_| Fault::new("out-of-range", "this length is out of range");
    i64::try_from(nm).map(Length::from_nm).map_err(out)
}

fn register_arithmetic(engine: &mut Engine) {
    arithmetic!(
        engine,
        Length,
        Length::checked_add,
        Length::checked_sub,
        Length::checked_mul
    );
    arithmetic!(
        engine,
        Area,
        Area::checked_add,
        Area::checked_sub,
        Area::checked_mul
    );
    arithmetic!(
        engine,
        Volume,
        Volume::checked_add,
        Volume::checked_sub,
        Volume::checked_mul
    );
    let sum = |a: Mass, b: Mass| Mass::from_kg(a.kg() + b.kg());
    let difference = |a: Mass, b: Mass| Mass::from_kg(a.kg() - b.kg());
    arithmetic!(engine, Mass, sum, difference, |a: Mass, n: i64| a
        .scale(n as f64));
    let sum = |a: Duration, b: Duration| Duration::from_s(a.s() + b.s());
    let difference = |a: Duration, b: Duration| Duration::from_s(a.s() - b.s());
    arithmetic!(engine, Duration, sum, difference, |a: Duration, n: i64| a
        .scale(n as f64));
    let sum = |a: Pressure, b: Pressure| Pressure::from_pa(a.pa() + b.pa());
    let difference = |a: Pressure, b: Pressure| Pressure::from_pa(a.pa() - b.pa());
    arithmetic!(engine, Pressure, sum, difference, |a: Pressure, n: i64| a
        .scale(n as f64));

    operator!(engine, "/", |a: Length, b: i64| share_length(a, b));
    // Two lengths of 63 bits always fit the 127 bits of an area.
    engine.register_fn("*", |a: Length, b: Length| a.times(b));
    operator!(engine, "*", |a: Area, b: Length| prism(a, b));
    operator!(engine, "*", |a: Length, b: Area| prism(b, a));
    operator!(engine, "/", |a: Area, b: Length| quotient(
        a.nm2(),
        i128::from(b.nm())
    )
    .and_then(as_length));
    operator!(engine, "/", |a: Volume, b: Length| quotient(
        a.nm3(),
        i128::from(b.nm())
    )
    .map(Area::from_nm2));
    operator!(engine, "/", |a: Volume, b: Area| quotient(a.nm3(), b.nm2())
        .and_then(as_length));
    operator!(engine, "*", |a: Volume, b: Density| Mass::from_kg(
        a.to_m3() * b.kg_m3()
    ));
    operator!(engine, "*", |a: Density, b: Volume| Mass::from_kg(
        a.kg_m3() * b.to_m3()
    ));
    operator!(engine, "/", |a: Mass, b: Volume| if b.is_zero() {
        Err(by_zero())
    } else {
        Density::from_kg_m3(a.kg() / b.to_m3()).map_err(Fault::from)
    });
    operator!(engine, "/", |a: Mass, b: Density| Volume::from_m3(
        a.kg() / b.kg_m3()
    ));
    operator!(engine, "%", |a: Length, b: Length| a
        .nm()
        .checked_rem(b.nm())
        .map(Length::from_nm)
        .ok_or_else(by_zero));
    // A difference of temperatures is a plain number of degrees Celsius, not a temperature.
    engine.register_fn("-", |a: Temperature, b: Temperature| {
        a.kelvin() - b.kelvin()
    });

    engine.register_fn("-", |context: NativeCallContext, a: Length| {
        at(&context, "-", a.checked_neg())
    });
    engine.register_fn("+", |a: Length| a);
    engine.register_fn("-", |context: NativeCallContext, a: Area| {
        at(&context, "-", a.checked_mul(-1))
    });
    engine.register_fn("-", |context: NativeCallContext, a: Volume| {
        at(&context, "-", a.checked_mul(-1))
    });
    engine.register_fn("-", |context: NativeCallContext, a: Mass| {
        at(&context, "-", a.scale(-1.0))
    });
    engine.register_fn("-", |context: NativeCallContext, a: Duration| {
        at(&context, "-", a.scale(-1.0))
    });
    engine.register_fn("-", |context: NativeCallContext, a: Pressure| {
        at(&context, "-", a.scale(-1.0))
    });

    comparisons!(
        engine,
        Length,
        Area,
        Volume,
        Mass,
        Density,
        Pressure,
        Temperature,
        Duration
    );
}

/// Steps of a range beyond this fill no memory of any machine.
const FARTHEST: i128 = 1 << 32;

/// Steps from one length towards another, without the end; no more than a list may hold.
fn steps(from: Length, to: Length, step: Length, most: usize) -> Result<Array, Fault> {
    if step.is_zero() {
        return Err(
            Fault::new("endless-range", "a range with a step of zero never ends")
                .remedy("give a step such as 10.mm"),
        );
    }
    let span = i128::from(to.nm()) - i128::from(from.nm());
    let by = i128::from(step.nm());
    if span == 0 || (span < 0) != (by < 0) {
        return Ok(Array::new());
    }
    let count = (span + by - by.signum()) / by;
    if usize::try_from(count).is_ok_and(|count| most > 0 && count > most) || count > FARTHEST {
        return Err(Fault::new(
            "limit-range",
            format!(
                "a range of {count} steps is more than a list may hold (limit `array`: {most})"
            ),
        )
        .remedy("take a larger step, and check the units")
        .limit("array"));
    }
    let at = |i: i128| i64::try_from(i128::from(from.nm()) + i * by).map(Length::from_nm);
    Ok((0..count)
        .filter_map(|i| at(i).ok())
        .map(Dynamic::from)
        .collect())
}

/// Order of two values of one kind, for sorting.
pub(super) fn order(a: &Dynamic, b: &Dynamic) -> Option<Ordering> {
    macro_rules! same {
        ($($type:ty),*) => {
            $(if let (Some(a), Some(b)) = (a.read_lock::<$type>(), b.read_lock::<$type>()) {
                return (*a).partial_cmp(&*b);
            })*
        };
    }
    same!(
        Length,
        Area,
        Volume,
        Mass,
        Density,
        Pressure,
        Temperature,
        Duration,
        rhai::ImmutableString,
        char,
        bool
    );
    if let (Ok(a), Ok(b)) = (a.as_int(), b.as_int()) {
        return Some(a.cmp(&b));
    }
    let number = |value: &Dynamic| {
        value
            .as_float()
            .or_else(|_| value.as_int().map(|n| n as f64))
            .ok()
    };
    number(a)?.partial_cmp(&number(b)?)
}

static LENGTH: Declaration = Declaration {
    name: "length",
    group: Group::Quantities,
    summary: "Reads a length from a text, with units as builders write them.",
    kind: CallKind::Function,
    positional: &[Parameter::required(
        "text",
        Want::Text,
        "The length with its unit or units.",
    )],
    options: &[],
    returns: "A length.",
    examples: &[
        Example {
            script: "length(`3' 4-1/2\"`)",
            shows: "1028.7 mm (3' 4 1/2\")",
        },
        Example {
            script: "length(\"1.2 m\")",
            shows: "1200 mm (about 3' 11 1/4\")",
        },
    ],
    errors: &[errors::these(&[errors::UNREADABLE_QUANTITY])],
    see_also: &["mm", "ft", "inch"],
};

static ROUND_TO: Declaration = Declaration {
    name: "round_to",
    group: Group::Quantities,
    summary: "Rounds a length to the nearest multiple of a step.",
    kind: CallKind::Method { of: "Length" },
    positional: &[Parameter::required(
        "step",
        Want::Length,
        "The step, more than zero.",
    )],
    options: &[],
    returns: "A length.",
    examples: &[Example {
        script: "1.ft.round_to(5.mm)",
        shows: "305 mm (about 1' 0\")",
    }],
    errors: &[errors::these(&[errors::NOT_POSITIVE])],
    see_also: &["abs"],
};

static ABS: Declaration = Declaration {
    name: "abs",
    group: Group::Quantities,
    summary: "The size of a length without its sign.",
    kind: CallKind::Method { of: "Length" },
    positional: &[],
    options: &[],
    returns: "A length.",
    examples: &[Example {
        script: "(2.mm - 5.mm).abs()",
        shows: "3 mm (about 1/8\")",
    }],
    errors: &[],
    see_also: &["round_to"],
};

static RANGE: Declaration = Declaration {
    name: "range",
    group: Group::Quantities,
    summary: "The lengths from one to another, without the end, by a step.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required("from", Want::Length, "The first length."),
        Parameter::required("to", Want::Length, "The end, which is left out."),
        Parameter::required("step", Want::Length, "The step between them."),
    ],
    options: &[],
    returns: "A list of lengths.",
    examples: &[Example {
        script: "range(0.mm, 30.mm, 10.mm)",
        shows: "[0 mm, 10 mm, 20 mm]",
    }],
    errors: &[errors::these(&[errors::ENDLESS_RANGE])],
    see_also: &[],
};

/// Registers every quantity.
pub(super) fn register(registry: &mut Registry) {
    let vocabulary = registry.vocabulary();
    super::vocabulary::name_quantities(&vocabulary);
    register_units(registry);
    registry.function(&LENGTH, |call| {
        parse_length(&call.text("text")?).map_err(|error| Fault::from(error).about("text"))
    });
    registry.method(&ROUND_TO, |call, length: Length| {
        Ok(length.round_to(call.length("step")?)?)
    });
    registry.method(&ABS, |_, length: Length| Ok(length.checked_abs()?));
    registry.by_hand(&RANGE, |engine| {
        engine.register_fn(
            "range",
            |context: NativeCallContext, from: Length, to: Length, step: Length| {
                let most = context.engine().max_array_size();
                at(&context, "range", steps(from, to, step, most))
            },
        );
    });

    let engine = registry.engine();
    macro_rules! shown {
        ($($type:ty, $name:literal;)*) => {
            $(
                engine.register_type_with_name::<$type>($name);
                refuse_unlike::<$type>(engine, &vocabulary);
                let own = Rc::clone(&vocabulary);
                engine.register_fn("to_string", move |value: &mut $type| own.show(&Dynamic::from(*value)));
                let own = Rc::clone(&vocabulary);
                engine.register_fn("to_debug", move |value: &mut $type| own.show(&Dynamic::from(*value)));
            )*
        };
    }
    shown! {
        Length, "Length";
        Area, "Area";
        Volume, "Volume";
        Mass, "Mass";
        Density, "Density";
        Pressure, "Pressure";
        Temperature, "Temperature";
        Duration, "Duration";
    }
    register_arithmetic(engine);
    super::numbers::register(registry);
}
