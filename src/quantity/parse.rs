//! Reading quantities as people write them.

use std::str::CharIndices;

use super::length::round_div;
use super::{
    Density, Length, Mass, NM_PER_FOOT, NM_PER_INCH, NM_PER_M, NM_PER_MM, Pressure, QuantityError,
    Volume,
};

/// Longer text than this is no quantity; the limit keeps absurd input cheap.
const LONGEST_TEXT: usize = 128;
/// Whole parts above this overflow in every unit.
const LARGEST_WHOLE: i128 = 10_000_000_000_000_000_000;
/// Decimals that are read: with the largest unit (10⁹ nm) they stay well within `i128`.
const MOST_DECIMALS: u32 = 18;
/// Fractions have terms up to this; tapes stop at 64.
const LARGEST_TERM: i128 = 1_000_000;
/// Text quoted in a message is cut to this many characters.
const QUOTED: usize = 40;

const UNIT_REMEDY: &str = "write a unit, such as 215 mm or 8 1/2 in";
const FORM_REMEDY: &str = "write it like 215 mm, 1.2 m, 8 1/2 in or 3' 4 1/2\"";

/// A system of units: the two do not mix in one length.
#[derive(Clone, Copy, PartialEq, Eq)]
enum System {
    Metric,
    Imperial,
}

/// A number as written: a whole part and a proper fraction, exact.
#[derive(Clone, Copy)]
struct Number {
    whole: i128,
    top: i128,
    bottom: i128,
}

impl Number {
    fn to_f64(self) -> f64 {
        self.whole as f64 + self.top as f64 / self.bottom as f64
    }
}

/// Reads a length as people write it, exactly: no float is involved.
///
/// Accepted: `215mm`, `12.5 cm`, `1.2 m`, `3'`, `3 ft 4 in`, `3' 4-1/2"`, `3'-4 1/2"`,
/// `4½ in`, `7 5/8 inch`, `1 m 200 mm`; straight, curly and prime quote marks; a leading sign,
/// which holds for the whole. The parts run from the larger unit to the smaller and only the last
/// may carry a fraction. The result is rounded to the nearest nanometre, a tie away from zero.
///
/// # Errors
/// When the text is not such a length (a number without a unit, metric and imperial together, a
/// comma, an exponent, a zero denominator) or the length is out of range. The position in the
/// error is a byte offset into `text`.
///
/// # Examples
/// ```
/// use perpend::quantity::{Length, parse_length};
/// assert_eq!(parse_length("3' 4-1/2\"")?, Length::from_nm(1_028_700_000));
/// assert_eq!(parse_length("12.5 cm")?, Length::mm(125));
/// # Ok::<(), perpend::quantity::QuantityError>(())
/// ```
pub fn parse_length(text: &str) -> Result<Length, QuantityError> {
    let mut reader = Reader::new(text, "length")?;
    let negative = reader.sign();
    let mut nm: i128 = 0;
    let mut last: Option<(System, i64)> = None;
    loop {
        let start = reader.position();
        let number = reader.number()?;
        let (system, unit) = reader.length_unit()?;
        if let Some((system_before, unit_before)) = last {
            if system_before != system {
                return Err(reader.error(
                    start,
                    "metric and imperial units do not mix",
                    "keep to one system in one length, and add two lengths if need be",
                ));
            }
            if unit >= unit_before {
                return Err(reader.error(
                    start,
                    "the units have to run from the larger to the smaller",
                    FORM_REMEDY,
                ));
            }
        }
        last = Some((system, unit));
        let unit = i128::from(unit);
        nm += number.whole * unit + round_div(number.top * unit, number.bottom);
        reader.skip_space();
        if reader.at_end() {
            break;
        }
        if number.top != 0 {
            return Err(reader.error(
                start,
                "only the last part of a length may carry a fraction",
                FORM_REMEDY,
            ));
        }
        if system == System::Imperial && reader.eat_dash() {
            reader.skip_space();
        }
    }
    let nm = if negative { -nm } else { nm };
    i64::try_from(nm)
        .map(Length::from_nm)
        .map_err(|_| QuantityError::overflow("length"))
}

/// Reads a mass: `25 kg`, `80 lb`, `500 g`, `1.5 t`.
///
/// # Errors
/// When the text is not a number with such a unit.
pub fn parse_mass(text: &str) -> Result<Mass, QuantityError> {
    const REMEDY: &str = "write it like 25 kg, 500 g, 1.5 t or 80 lb";
    let (value, unit, reader) = number_and_unit(text, "mass")?;
    match unit.as_str() {
        "kg" | "kilogram" | "kilograms" => Mass::from_kg(value),
        "g" | "gram" | "grams" => Mass::from_g(value),
        "t" | "tonne" | "tonnes" => Mass::from_tonne(value),
        "lb" | "lbs" | "pound" | "pounds" => Mass::from_lb(value),
        _ => Err(reader.unit_error(&unit, REMEDY)),
    }
}

/// Reads a volume: `17 L`, `0.25 m3`, `0.6 ft³`, `1 yd3`.
///
/// # Errors
/// When the text is not a number with such a unit.
pub fn parse_volume(text: &str) -> Result<Volume, QuantityError> {
    const REMEDY: &str = "write it like 17 L, 0.25 m3, 0.6 ft3 or 1 yd3";
    let (value, unit, reader) = number_and_unit(text, "volume")?;
    match unit.as_str() {
        "l" | "litre" | "litres" | "liter" | "liters" => Volume::from_litre(value),
        "m3" | "m³" => Volume::from_m3(value),
        "ft3" | "ft³" | "cu ft" => Volume::from_ft3(value),
        "yd3" | "yd³" | "cu yd" => Volume::from_yd3(value),
        _ => Err(reader.unit_error(&unit, REMEDY)),
    }
}

/// Reads a density: `94 lb/ft3`, `1440 kg/m³`.
///
/// # Errors
/// When the text is not a number with such a unit.
pub fn parse_density(text: &str) -> Result<Density, QuantityError> {
    const REMEDY: &str = "write it like 1440 kg/m3 or 94 lb/ft3";
    let (value, unit, reader) = number_and_unit(text, "density")?;
    match unit.as_str() {
        "kg/m3" | "kg/m³" => Density::from_kg_m3(value),
        "lb/ft3" | "lb/ft³" | "pcf" => Density::from_lb_ft3(value),
        _ => Err(reader.unit_error(&unit, REMEDY)),
    }
}

/// Reads a pressure: `1500 psf`, `72 kPa`.
///
/// # Errors
/// When the text is not a number with such a unit.
pub fn parse_pressure(text: &str) -> Result<Pressure, QuantityError> {
    const REMEDY: &str = "write it like 72 kPa or 1500 psf";
    let (value, unit, reader) = number_and_unit(text, "pressure")?;
    match unit.as_str() {
        "kpa" | "kn/m2" | "kn/m²" => Pressure::from_kpa(value),
        "psf" | "lb/ft2" | "lb/ft²" => Pressure::from_psf(value),
        _ => Err(reader.unit_error(&unit, REMEDY)),
    }
}

/// Reads a plain number without a sign: `3`, `4.5`, `1/2`, `4 1/2`, `½`.
///
/// # Errors
/// When the text is not such a number.
pub fn parse_number(text: &str) -> Result<f64, QuantityError> {
    let mut reader = Reader::new(text, "number")?;
    reader.skip_space();
    let number = reader.number()?;
    reader.skip_space();
    if reader.at_end() {
        Ok(number.to_f64())
    } else {
        Err(reader.error(
            reader.position(),
            "something follows it",
            "write it like 3, 4.5 or 4 1/2",
        ))
    }
}

/// One signed number and the lower-case rest of the text.
fn number_and_unit<'a>(
    text: &'a str,
    what: &'static str,
) -> Result<(f64, String, Reader<'a>), QuantityError> {
    let mut reader = Reader::new(text, what)?;
    let negative = reader.sign();
    let value = reader.number()?.to_f64();
    reader.skip_space();
    let unit = reader.rest.as_str().trim_end().to_lowercase();
    Ok((if negative { -value } else { value }, unit, reader))
}

/// A place in the text of one quantity.
struct Reader<'a> {
    text: &'a str,
    rest: CharIndices<'a>,
    what: &'static str,
}

impl<'a> Reader<'a> {
    fn new(text: &'a str, what: &'static str) -> Result<Self, QuantityError> {
        let reader = Self {
            text,
            rest: text.char_indices(),
            what,
        };
        if text.len() > LONGEST_TEXT {
            return Err(reader.error(0, "it is far too long", FORM_REMEDY));
        }
        Ok(reader)
    }

    fn position(&self) -> usize {
        self.rest.offset()
    }

    fn peek(&self) -> Option<char> {
        self.rest.clone().next().map(|(_, c)| c)
    }

    fn advance(&mut self) {
        self.rest.next();
    }

    fn eat(&mut self, wanted: impl Fn(char) -> bool) -> Option<char> {
        let found = self.peek().filter(|&c| wanted(c))?;
        self.advance();
        Some(found)
    }

    fn at_end(&self) -> bool {
        self.rest.as_str().is_empty()
    }

    fn skip_space(&mut self) {
        while self.eat(char::is_whitespace).is_some() {}
    }

    fn eat_dash(&mut self) -> bool {
        self.eat(is_dash).is_some()
    }

    /// A leading sign; true for minus.
    fn sign(&mut self) -> bool {
        self.skip_space();
        let sign = self.eat(|c| is_dash(c) || c == '+');
        self.skip_space();
        sign.is_some_and(is_dash)
    }

    /// Digits up to `limit`; `None` when there are none.
    fn digits(&mut self, limit: i128) -> Result<Option<i128>, QuantityError> {
        let start = self.position();
        let mut value: Option<i128> = None;
        while let Some(c) = self.eat(|c| c.is_ascii_digit()) {
            let digit = c.to_digit(10).map_or(0, i128::from);
            let next = value.unwrap_or(0) * 10 + digit;
            if next > limit {
                return Err(self.error(start, "a number in it is too large", FORM_REMEDY));
            }
            value = Some(next);
        }
        Ok(value)
    }

    /// The fraction after a `/` that has just been read.
    fn denominator(&mut self, start: usize) -> Result<i128, QuantityError> {
        match self.digits(LARGEST_TERM)? {
            Some(0) => Err(self.error(
                start,
                "a fraction cannot have a zero below the line",
                FORM_REMEDY,
            )),
            Some(bottom) => Ok(bottom),
            None => Err(self.error(
                start,
                "a fraction needs a number below the line",
                FORM_REMEDY,
            )),
        }
    }

    /// A number: `12`, `12.5`, `5/8`, `4 5/8`, `4-5/8`, `½`, `4½`.
    fn number(&mut self) -> Result<Number, QuantityError> {
        let start = self.position();
        if let Some((top, bottom)) = self.eat_vulgar() {
            return Ok(Number {
                whole: 0,
                top,
                bottom,
            });
        }
        let whole = self.digits(LARGEST_WHOLE)?;
        let number = if self.eat(|c| c == '.').is_some() {
            self.decimals(start, whole.unwrap_or(0))?
        } else {
            let Some(whole) = whole else {
                return Err(self.error(start, "a number is missing", FORM_REMEDY));
            };
            if self.eat(is_slash).is_some() {
                let bottom = self.denominator(start)?;
                if whole > LARGEST_TERM {
                    return Err(self.error(start, "a number in it is too large", FORM_REMEDY));
                }
                Number {
                    whole: whole / bottom,
                    top: whole % bottom,
                    bottom,
                }
            } else {
                self.mixed(start, whole)?
            }
        };
        self.refuse_comma_and_exponent()?;
        Ok(number)
    }

    /// The decimals after a point that has just been read.
    fn decimals(&mut self, start: usize, whole: i128) -> Result<Number, QuantityError> {
        let mut top = 0;
        let mut bottom = 1;
        let mut count = 0;
        while let Some(c) = self.eat(|c| c.is_ascii_digit()) {
            count += 1;
            if count > MOST_DECIMALS {
                return Err(self.error(
                    start,
                    "it has too many decimals",
                    "18 decimals are read; a nanometre is 0.000001 mm",
                ));
            }
            top = top * 10 + c.to_digit(10).map_or(0, i128::from);
            bottom *= 10;
        }
        if count == 0 {
            return Err(self.error(start, "a decimal point needs digits after it", FORM_REMEDY));
        }
        Ok(Number { whole, top, bottom })
    }

    /// A whole number that a fraction may follow.
    fn mixed(&mut self, start: usize, whole: i128) -> Result<Number, QuantityError> {
        let before = self.rest.clone();
        // A dash binds only when it touches: `4-1/2`; else it separates feet from inches.
        if !self.eat_dash() {
            self.skip_space();
        }
        let found = if let Some(fraction) = self.eat_vulgar() {
            Some(fraction)
        } else if let Some(top) = self.digits(LARGEST_WHOLE)?
            && self.eat(is_slash).is_some()
        {
            Some((top, self.denominator(start)?))
        } else {
            None
        };
        match found {
            Some((top, bottom)) if top < bottom => Ok(Number { whole, top, bottom }),
            Some(_) => Err(self.error(
                start,
                "a fraction after a whole number has to be less than one",
                FORM_REMEDY,
            )),
            None => {
                self.rest = before;
                Ok(Number {
                    whole,
                    top: 0,
                    bottom: 1,
                })
            }
        }
    }

    fn eat_vulgar(&mut self) -> Option<(i128, i128)> {
        let fraction = vulgar(self.peek()?)?;
        self.advance();
        Some(fraction)
    }

    fn refuse_comma_and_exponent(&self) -> Result<(), QuantityError> {
        let mut rest = self.rest.clone().map(|(_, c)| c);
        match (rest.next(), rest.next()) {
            (Some(','), _) => Err(self.error(
                self.position(),
                "a comma has no place in a number",
                "write 1200 mm or 1.2 m: a point before decimals, and nothing between thousands",
            )),
            (Some('e' | 'E'), Some(next)) if next.is_ascii_digit() || "+-".contains(next) => {
                Err(self.error(
                    self.position(),
                    "exponents are not read",
                    "write the number out, or take a larger unit",
                ))
            }
            _ => Ok(()),
        }
    }

    /// A unit of length: its system and its nanometres.
    fn length_unit(&mut self) -> Result<(System, i64), QuantityError> {
        self.skip_space();
        let start = self.position();
        if self.eat(is_single_quote).is_some() {
            // Two single quotes stand for the double one.
            let inch = self.eat(is_single_quote).is_some();
            return Ok((
                System::Imperial,
                if inch { NM_PER_INCH } else { NM_PER_FOOT },
            ));
        }
        if self.eat(is_double_quote).is_some() {
            return Ok((System::Imperial, NM_PER_INCH));
        }
        let mut word = String::new();
        while let Some(c) = self.eat(char::is_alphabetic) {
            word.extend(c.to_lowercase());
        }
        let unit = match word.as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => {
                (System::Metric, NM_PER_MM)
            }
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => {
                (System::Metric, NM_PER_MM * 10)
            }
            "m" | "metre" | "metres" | "meter" | "meters" => (System::Metric, NM_PER_M),
            "in" | "inch" | "inches" => (System::Imperial, NM_PER_INCH),
            "ft" | "foot" | "feet" => (System::Imperial, NM_PER_FOOT),
            "yd" | "yard" | "yards" => (System::Imperial, NM_PER_FOOT * 3),
            "" => {
                return Err(self.error(start, "a number in it has no unit", UNIT_REMEDY));
            }
            _ => {
                return Err(self.error(
                    start,
                    &format!("`{}` is not a unit of length", quoted(&word)),
                    "use mm, cm, m, inch, ft or yd",
                ));
            }
        };
        // Trade texts write `in.` and `ft.`.
        self.eat(|c| c == '.');
        Ok(unit)
    }

    fn unit_error(&self, unit: &str, remedy: &str) -> QuantityError {
        let why = if unit.is_empty() {
            "it has no unit".to_owned()
        } else {
            format!("`{}` is not a unit of {}", quoted(unit), self.what)
        };
        self.error(self.position(), &why, remedy)
    }

    fn error(&self, position: usize, why: &str, remedy: &str) -> QuantityError {
        QuantityError::parse(
            position,
            format!("`{}` is not a {}: {why}", quoted(self.text), self.what),
            remedy,
        )
    }
}

/// Text short enough to quote.
fn quoted(text: &str) -> String {
    if text.chars().count() <= QUOTED {
        text.to_owned()
    } else {
        text.chars().take(QUOTED).chain(['…']).collect()
    }
}

fn is_dash(c: char) -> bool {
    // Hyphen, non-breaking hyphen, en dash, minus sign.
    matches!(c, '-' | '\u{2011}' | '\u{2013}' | '\u{2212}')
}

fn is_slash(c: char) -> bool {
    // Slash, fraction slash.
    matches!(c, '/' | '\u{2044}')
}

fn is_single_quote(c: char) -> bool {
    // Straight, curly, prime.
    matches!(c, '\'' | '\u{2018}' | '\u{2019}' | '\u{2032}')
}

fn is_double_quote(c: char) -> bool {
    // Straight, curly, double prime.
    matches!(c, '"' | '\u{201C}' | '\u{201D}' | '\u{2033}')
}

/// The value of a one-character fraction.
fn vulgar(c: char) -> Option<(i128, i128)> {
    Some(match c {
        '½' => (1, 2),
        '¼' => (1, 4),
        '¾' => (3, 4),
        '⅛' => (1, 8),
        '⅜' => (3, 8),
        '⅝' => (5, 8),
        '⅞' => (7, 8),
        '⅓' => (1, 3),
        '⅔' => (2, 3),
        '⅕' => (1, 5),
        '⅖' => (2, 5),
        '⅗' => (3, 5),
        '⅘' => (4, 5),
        '⅙' => (1, 6),
        '⅚' => (5, 6),
        '⅐' => (1, 7),
        '⅑' => (1, 9),
        '⅒' => (1, 10),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::QuantityErrorKind;
    use proptest::prelude::*;

    #[test]
    fn lengths_as_people_write_them() {
        let cases = [
            ("215mm", 215_000_000),
            ("215 mm", 215_000_000),
            ("102.5 mm", 102_500_000),
            ("1.2 m", 1_200_000_000),
            ("12.5cm", 125_000_000),
            ("1 m 200 mm", 1_200_000_000),
            ("3'", 914_400_000),
            ("3ft", 914_400_000),
            ("36 in", 914_400_000),
            ("1 yd", 914_400_000),
            ("3 ft 4 in", 1_016_000_000),
            ("3' 4-1/2\"", 1_028_700_000),
            ("3'-4 1/2\"", 1_028_700_000),
            ("3' - 4 1/2\"", 1_028_700_000),
            ("3′4½″", 1_028_700_000),
            ("3’ 4 1⁄2”", 1_028_700_000),
            ("3' 4 1/2''", 1_028_700_000),
            ("3 ft. 4 1/2 in.", 1_028_700_000),
            ("4 1/2 in", 114_300_000),
            ("4-1/2\"", 114_300_000),
            ("1/2\"", 12_700_000),
            ("½\"", 12_700_000),
            ("4½ in", 114_300_000),
            ("4 ½ in", 114_300_000),
            (".5 in", 12_700_000),
            ("7 5/8 inch", 193_675_000),
            ("1/64 in", 396_875),
            ("16/8 in", 50_800_000),
            ("-2 1/4\"", -57_150_000),
            ("−10 mm", -10_000_000),
            ("+10 mm", 10_000_000),
            ("  10 MM ", 10_000_000),
            ("1/3 in", 8_466_667),
            ("0.0000005 mm", 1),
            ("0 mm", 0),
            ("00000000000000000000000000000000000001 mm", 1_000_000),
            ("-9223372036854.775808 mm", i64::MIN),
        ];
        for (text, nm) in cases {
            assert_eq!(parse_length(text).map(Length::nm), Ok(nm), "{text}");
        }
    }

    #[test]
    fn what_is_not_a_length_is_refused_with_a_remedy() {
        let cases = [
            ("", "a number is missing"),
            ("mm", "a number is missing"),
            ("215", "no unit"),
            ("3' 4", "no unit"),
            ("3 4 in", "no unit"),
            ("3-4 in", "no unit"),
            ("1,200 mm", "comma"),
            ("1,2 m", "comma"),
            ("1e3 mm", "exponents"),
            ("1E-3 mm", "exponents"),
            ("1/0 in", "zero below the line"),
            ("4 1/0 in", "zero below the line"),
            ("1/ in", "below the line"),
            ("3. in", "decimal point"),
            ("1.5 1/2 in", "no unit"),
            ("4 9/8 in", "less than one"),
            ("1 m 2 in", "do not mix"),
            ("4 in 3 ft", "larger to the smaller"),
            ("4 in 3 in", "larger to the smaller"),
            ("3 1/2 ft 2 in", "only the last part"),
            ("5 furlongs", "`furlongs` is not a unit of length"),
            ("1 m - 2 cm", "a number is missing"),
            ("3' -", "a number is missing"),
            ("99999999999999999999999999 mm", "too large"),
            ("0.1234567890123456789 mm", "too many decimals"),
            ("1/9999999 in", "too large"),
            ("inf mm", "a number is missing"),
            ("--3 mm", "a number is missing"),
            ("3 mm)", "a number is missing"),
        ];
        for (text, why) in cases {
            let error = parse_length(text).unwrap_err();
            assert!(error.message.contains(why), "{text}: {}", error.message);
            assert!(!error.remedy.is_empty(), "{text}");
            let QuantityErrorKind::Parse { position } = error.kind else {
                panic!("{text}: {:?}", error.kind);
            };
            assert!(position <= text.len(), "{text}");
        }
    }

    #[test]
    fn too_far_and_too_long_are_refused() {
        let far = parse_length("9223372036854.775808 mm").unwrap_err();
        assert_eq!(far.kind, QuantityErrorKind::Overflow);
        assert!(parse_length("9999999999999999999 yd").is_err());
        let long = parse_length(&"9".repeat(1_000_000)).unwrap_err();
        assert!(long.message.len() < 200);
        assert!(parse_length(&"1/".repeat(50_000)).is_err());
    }

    #[test]
    fn masses_and_volumes() {
        let near = |a: f64, b: f64| (a - b).abs() < 1e-9;
        assert!(near(parse_mass("25 kg").unwrap().kg(), 25.0));
        assert!(near(parse_mass("80lb").unwrap().lb(), 80.0));
        assert!(near(parse_mass("500 g").unwrap().kg(), 0.5));
        assert!(near(parse_mass("1 1/2 t").unwrap().kg(), 1500.0));
        assert!(parse_mass("25").unwrap_err().message.contains("no unit"));
        assert!(parse_mass("25 stone").is_err());
        assert!(near(parse_volume("17 L").unwrap().to_litre(), 17.0));
        assert!(near(parse_volume("0.25 m³").unwrap().to_m3(), 0.25));
        assert!(near(parse_volume("0.6 ft3").unwrap().to_ft3(), 0.6));
        assert!(near(parse_volume("2 cu yd").unwrap().to_yd3(), 2.0));
        assert!(parse_volume("1 gallon").is_err());
        assert!(near(parse_density("94 lb/ft3").unwrap().lb_ft3(), 94.0));
        assert!(near(parse_density("1440 kg/m³").unwrap().kg_m3(), 1440.0));
        assert!(near(parse_pressure("1500 psf").unwrap().psf(), 1500.0));
        assert!(parse_pressure("10 bar").is_err());
        assert!(near(parse_number("4 1/2").unwrap(), 4.5));
        assert!(parse_number("4 1/2 x").is_err());
    }

    proptest! {
        #[test]
        fn any_text_is_read_or_refused(text: String) {
            let _ = (parse_length(&text), parse_mass(&text), parse_volume(&text), parse_number(&text));
        }

        #[test]
        fn near_misses_are_read_or_refused(text in "[-+]?[0-9 ./'\"½,e-]{0,20}(mm|in|ft|m|cm|kg)?[0-9 ./'\"in]{0,10}") {
            let _ = (parse_length(&text), parse_mass(&text), parse_volume(&text), parse_number(&text));
        }
    }
}
