//! Curved walls, as the function `wall` declares them.

use super::parts::{finished, rise, size};
use crate::plan::{Curve, Part, Side};
use crate::quantity::Length;
use crate::script::{Call, Fault, Size as Given};

/// Options that only a curved wall has.
pub(super) const ONLY_CURVED: [&str; 3] = ["sweep", "bulges", "cut"];

/// Options of a wall that a curved one does not have, with what stands in their way.
const STRAIGHT: [(&str, &str); 3] = [
    ("legs", "a curved wall has no legs"),
    ("closed", "a curved wall ends free on both sides"),
    (
        "bond",
        "the bond of a curved wall follows from its thickness",
    ),
];

/// Reads a curved wall.
pub(super) fn curve(call: &Call) -> Result<Part, Fault> {
    if let Some((key, why)) = STRAIGHT.into_iter().find(|(key, _)| call.has(key)) {
        return Err(Fault::new("option-of-a-straight-wall", why)
            .remedy(format!("leave `{key}` out, or leave `radius` out"))
            .about(key));
    }
    let radius = call.length("radius")?;
    let length = match (call.has("length"), call.has("sweep")) {
        (true, false) => size(call.size("length")?, "length")?,
        (false, true) => {
            let degrees = call.number("sweep")?;
            if !degrees.is_finite() || !(0.0..=360.0).contains(&degrees) || degrees == 0.0 {
                return Err(Fault::new(
                    "sweep-out-of-range",
                    format!("a sweep of {degrees}° cannot be laid"),
                )
                .remedy("write degrees above 0 and below 360, such as 90")
                .about("sweep"));
            }
            let round = radius.nm() as f64 * degrees.to_radians();
            let length = Length::from_nm(round.round() as i64);
            size(Given::Length(length), "sweep")?
        }
        (true, true) => {
            return Err(
                Fault::new("size-twice", "both `length` and `sweep` are given")
                    .remedy("give one of them; the other follows from the radius")
                    .about("sweep"),
            );
        }
        (false, false) => {
            return Err(Fault::new("size-missing", "a curved wall needs a length")
                .remedy("add length: 12 in units round its hollow face, or sweep: 90 in degrees"));
        }
    };
    let bulges = call.opt_word("bulges")?;
    let curve = Curve {
        radius,
        length,
        bulges: bulges
            .and_then(|word| Side::from_word(&word))
            .unwrap_or(Side::Front),
        cut: call.opt_flag("cut")?.unwrap_or(false),
    };
    finished(call, Part::curve(curve, rise(call)?)?)
}
