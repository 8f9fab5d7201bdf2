//! Two leaves with a space between them: the option of walls and chambers.

use rhai::{Dynamic, Map};

use super::options_remedy;
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
    known(&map, &super::names_of(LEAVES_ENTRIES), "leaves have")?;
    let (space, filled) = match (map.get("cavity"), map.get("collar")) {
        (Some(cavity), None) => (length(cavity, "cavity")?, false),
        (None, Some(collar)) => (length(collar, "collar")?, true),
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
    let ties = map
        .get("ties")
        .map(|ties| {
            let ties = ties.clone().try_cast::<Map>().ok_or_else(|| {
                Fault::new("wrong-type", "`ties` of the leaves wants a map")
                    .remedy("write ties: #{ across: 900.mm, up: 450.mm }")
                    .about("leaves")
                    .entry("ties")
            })?;
            known(&ties, &super::names_of(TIES_ENTRIES), "ties have")?;
            let of = |key: &'static str| {
                ties.get(key).map_or_else(
                    || {
                        Err(
                            Fault::new("option-missing", format!("the ties need `{key}`"))
                                .remedy("write ties: #{ across: 900.mm, up: 450.mm }")
                                .about("leaves")
                                .entry("ties"),
                        )
                    },
                    |value| length(value, key),
                )
            };
            Ok::<_, Fault>(Ties {
                across: of("across")?,
                up: of("up")?,
            })
        })
        .transpose()?;
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

fn known(map: &Map, keys: &[&str], whose: &str) -> Result<(), Fault> {
    match map.keys().find(|key| !keys.contains(&key.as_str())) {
        None => Ok(()),
        Some(other) => Err(
            Fault::new("unknown-option", format!("{whose} no option `{other}`"))
                .remedy(options_remedy(other, keys))
                .about("leaves")
                .entry_key(other.as_str()),
        ),
    }
}

fn length(value: &Dynamic, key: &str) -> Result<Length, Fault> {
    value
        .read_lock::<Length>()
        .map(|length| *length)
        .ok_or_else(|| {
            Fault::new(
                "wrong-type",
                format!("`{key}` of the leaves wants a length"),
            )
            .remedy("write it with a unit, such as 50.mm")
            .about("leaves")
            .entry(if super::names_of(TIES_ENTRIES).contains(&key) {
                "ties"
            } else {
                key
            })
        })
}
