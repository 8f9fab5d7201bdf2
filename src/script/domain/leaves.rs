//! Two leaves with a space between them: the option of walls and chambers.

use rhai::Map;

use crate::plan::{Leaves, Ties};
use crate::quantity::Length;
use crate::script::{Call, Fault, Parameter, Want};

const LEAVES_ENTRIES: &[Parameter] = &[
    Parameter::optional(
        "cavity",
        Want::Length,
        "",
        "An open space between the leaves.",
    ),
    Parameter::optional(
        "collar",
        Want::Length,
        "",
        "A space that is filled with mortar.",
    ),
    Parameter::optional(
        "ties",
        Want::Entries(TIES_ENTRIES),
        "",
        "How the leaves are tied.",
    ),
];
const TIES_ENTRIES: &[Parameter] = &[
    Parameter::required(
        "across",
        Want::Length,
        "How far apart ties are along the wall.",
    ),
    Parameter::required("up", Want::Length, "How far apart ties are in height."),
];

pub(super) const LEAVES: Parameter = Parameter::optional(
    "leaves",
    Want::Entries(LEAVES_ENTRIES),
    "none",
    "Two half-brick leaves: #{ cavity: 50.mm } open between them or #{ collar: 10.mm } filled, with ties: #{ across: 900.mm, up: 450.mm }.",
);

/// Reads the option.
pub(super) fn leaves(call: &Call) -> Result<Option<Leaves>, Fault> {
    if !call.has("leaves") {
        return Ok(None);
    }
    let map = call.map("leaves")?;
    let length = |key: &str| super::entry::<Length>(&map, key);
    let (space, filled) = match (length("cavity"), length("collar")) {
        (Some(cavity), None) => (cavity, false),
        (None, Some(collar)) => (collar, true),
        _ => {
            return Err(Fault::new(
                "leaves-without-space",
                "leaves need one of `cavity` and `collar`",
            )
            .remedy(
                "write cavity: 50.mm for an open space, collar: 10.mm for one filled with mortar",
            )
            .about("leaves"));
        }
    };
    let ties = super::entry::<Map>(&map, "ties").and_then(|ties| {
        Some(Ties {
            across: super::entry(&ties, "across")?,
            up: super::entry(&ties, "up")?,
        })
    });
    let leaves = Leaves {
        space,
        filled,
        ties,
    };
    leaves.check()?;
    if call.has("thickness") {
        return Err(
            Fault::new("thickness-twice", "both `leaves` and `thickness` are given")
                .remedy("leave `thickness` out: two half-brick leaves and their space make it up")
                .about("thickness"),
        );
    }
    Ok(Some(leaves))
}
