//! Sizes that come out in whole and half units: the nearest to a wanted one with what they cost, and a unit's own.

use std::sync::Arc;

use rhai::{Dynamic, Map};

use super::TableValue;
use super::catalogue::{map, table};
use super::plans::{UNIT, bare_plan, joint_of, unit_of};
use crate::layout::lay;
use crate::masonry::{Catalogue, Joint, Unit};
use crate::plan::{Core, Part, Placement, Rise, Setting, Shape, Size};
use crate::quantity::{Length, LengthStyle};
use crate::script::errors::{self, Errors};
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want,
};
use crate::sheet::Table;
use crate::takeoff::Takeoff;

const FIT_KINDS: &[&str] = &["outside", "opening", "return", "pier", "height"];
/// The kinds that are shown where none is asked for.
const USUAL_KINDS: usize = 3;
/// Most units or courses of which a unit tells the size.
const MOST_COUNT: f64 = 10_000.0;

const FIT: Declaration = Declaration {
    name: "fit",
    group: Group::Masonry,
    summary: "The sizes just under and over a length that come out in whole and half units and joints, and what keeping the length itself would take.",
    kind: CallKind::Function,
    positional: &[
        Parameter::required("unit", UNIT, "The unit, by catalogue name or as a value."),
        Parameter::required("joint", Want::Length, "The joint."),
        Parameter::required("length", Want::Length, "The length that is wanted."),
        Parameter::optional(
            "kind",
            Want::Word(FIT_KINDS),
            "the first three",
            "outside: n(L + j) − j; opening or inside: n(L + j) + j; return, between a face and a return: n(L + j); pier: across a square pier, as outside; height: n courses of H + j.",
        ),
    ],
    options: &[],
    returns: "A table: `joints` in a course and the width `to_keep` the wanted length with them, `within` tolerance or not; the `piece` a course that keeps it with joints as they are; the `bats` in half bond.",
    examples: &[
        Example {
            script: "fit(\"uk\", 10.mm, 600.mm, \"opening\")",
            shows: "  kind     units      size    off by  joints  joints to keep 600 mm  piece to keep it  bats\n  -------  -----  --------  --------  ------  ---------------------  ----------------  -----------------------\n  opening    2.5  572.5 mm  -27.5 mm       4      16.9 mm, too wide            130 mm  1 a course\n  opening      3    685 mm     85 mm       4               no joint            130 mm  2 in every other course",
        },
        Example {
            script: "fit(\"uk\", 10.mm, 898.mm).rows[0].within",
            shows: "true",
        },
        Example {
            script: "fit(\"uk\", 10.mm, 308.mm, \"height\").rows[0].to_keep",
            shows: "12 mm (about 1/2\")",
        },
    ],
    errors: &[
        errors::CATALOGUE,
        errors::these(&[errors::SIZE_NOT_POSITIVE, errors::SIZE_TOO_LARGE]),
    ],
    see_also: &["unit", "plan", "fit_height", "solve"],
};

const OF_JOINT: &[Errors] = &[errors::these(&[errors::JOINT_OUT_OF_RANGE])];

const fn of_unit(
    name: &'static str,
    summary: &'static str,
    positional: &'static [Parameter],
    examples: &'static [Example],
) -> Declaration {
    Declaration {
        name,
        group: Group::Masonry,
        summary,
        kind: CallKind::Method { of: "Unit" },
        positional,
        options: &[],
        returns: "A length.",
        examples,
        errors: OF_JOINT,
        see_also: &["fit", "solve"],
    }
}

const COUNT: Parameter = Parameter::required(
    "units",
    Want::NumberFrom(0.0, MOST_COUNT),
    "How many units; halves count.",
);
const HEAD: Parameter = Parameter::optional("joint", Want::Length, "the unit's", "The head joint.");

const OUTSIDE: Declaration = of_unit(
    "outside",
    "How long so many units are from face to face: n(L + j) − j.",
    &[COUNT, HEAD],
    &[Example {
        script: "unit(\"uk\").outside(4)",
        shows: "890 mm (about 2' 11 1/16\")",
    }],
);
const OPENING: Declaration = of_unit(
    "opening",
    "How wide an opening of so many units is: n(L + j) + j.",
    &[COUNT, HEAD],
    &[Example {
        script: "unit(\"uk\").opening(2)",
        shows: "460 mm (about 1' 6 1/8\")",
    }],
);
const INSIDE: Declaration = of_unit(
    "inside",
    "How wide a chamber of so many units outside is between its walls, which are a unit's width thick.",
    &[COUNT, HEAD],
    &[Example {
        script: "unit(\"uk\").inside(4)",
        shows: "685 mm (about 2' 2 15/16\")",
    }],
);
const RISE: Declaration = of_unit(
    "rise",
    "How high so many courses are, from the bottom of the first bed: on the unit's own gauge, or n(H + j).",
    &[
        Parameter::required(
            "courses",
            Want::WholeFrom(0, MOST_COUNT as i64),
            "How many courses.",
        ),
        Parameter::optional("joint", Want::Length, "the unit's", "The bed joint."),
    ],
    &[Example {
        script: "unit(\"uk\").rise(4)",
        shows: "300 mm (about 11 13/16\")",
    }],
);

pub(super) fn register(registry: &mut Registry) {
    registry.function(&FIT, fit);
    registry.method::<Unit, Length>(&OUTSIDE, |call, unit| run(call, &unit, |joint| -joint));
    registry.method::<Unit, Length>(&OPENING, |call, unit| run(call, &unit, |joint| joint));
    registry.method::<Unit, Length>(&INSIDE, |call, unit| {
        let walls = unit.width.nm() * 2;
        run(call, &unit, |joint| -joint - walls)
    });
    registry.method::<Unit, Length>(&RISE, |call, unit| {
        let courses = u32::try_from(call.whole("courses")?).unwrap_or(0);
        Ok(match call.opt_length("joint")? {
            Some(joint) => (unit.height + joint_of(joint, "joint")?) * i64::from(courses),
            None => unit.gauge.top_of(courses),
        })
    });
}

/// n(L + j) and what is added to it, in nanometres, for a joint.
fn run(call: &Call, unit: &Unit, add: impl Fn(i64) -> i64) -> Result<Length, Fault> {
    let joint = match call.opt_length("joint")? {
        Some(joint) => joint_of(joint, "joint")?,
        None => unit.head,
    };
    let module = (unit.length + joint).nm() as f64;
    let all = (call.number("units")? * module).round() as i64;
    Ok(Length::from_nm(all + add(joint.nm())))
}

/// One kind of size: what is added to n(L + j), and how many joints there are more than pieces.
#[derive(Clone, Copy)]
struct Kind {
    word: &'static str,
    add: i64,
    joints: i64,
}

/// What a length would take that does not come out.
struct Wanted {
    length: Length,
    joint: Joint,
    style: LengthStyle,
}

impl Wanted {
    /// The joint that keeps the wanted length, in place of the nominal one, and how it is told.
    fn kept(&self, size: Length, joints: i64) -> Option<(Length, bool, String)> {
        if joints < 1 {
            return None;
        }
        let off = (self.length - size).nm() as f64 / joints as f64;
        let width = Length::from_nm(self.joint.nominal.nm() + off.round() as i64);
        let within = self.joint.allows(width);
        let told = if width.is_negative() {
            "no joint".to_owned()
        } else if within {
            self.style.show(width)
        } else if width > self.joint.nominal {
            format!("{}, too wide", self.style.show(width))
        } else {
            format!("{}, too narrow", self.style.show(width))
        };
        Some((width, within, told))
    }
}

fn fit(call: &Call) -> Result<TableValue, Fault> {
    let unit = match call.raw("unit") {
        Some(value) => unit_of(value, "unit")?,
        None => return Err(Fault::new("unit-missing", "`fit` needs a unit").about("unit")),
    };
    let length = call.length("length")?;
    let nominal = joint_of(call.length("joint")?, "joint")?;
    Size::length(length).map_err(|error| error.at_key("length"))?;
    let asked = call.opt_word("kind")?;
    let style = call.vocabulary().style();
    let bed = asked.as_deref() == Some("height");
    let joint = if bed {
        Joint::usual_bed(nominal)
    } else {
        Joint::usual_head(nominal)
    };
    let joint = joint.map_err(|error| Fault::from(error).about("joint"))?;
    let wanted = Wanted {
        length,
        joint,
        style,
    };
    let each = format!("#joints to keep {}", style.show(length));
    let heads = [
        "kind",
        if bed { "#courses" } else { "#units" },
        "#size",
        "#off by",
        "#joints",
        &each,
        "#piece to keep it",
        "bats",
    ];
    let mut rows = Rows {
        shown: Table::new("", heads.get(..if bed { 7 } else { 8 }).unwrap_or_default()),
        rows: Vec::new(),
    };
    if bed {
        heights(&unit, &wanted, &mut rows);
        return Ok(table(rows.shown, rows.rows));
    }
    let j = nominal.nm();
    let kinds = [(-j, -1), (j, 1), (0, 0), (-j, -1)];
    for (at, (word, (add, joints))) in FIT_KINDS.iter().zip(kinds).enumerate() {
        let shown = match asked.as_deref() {
            Some(kind) => kind == *word,
            None => at < USUAL_KINDS,
        };
        if shown {
            lengths(&unit, &wanted, Kind { word, add, joints }, &mut rows);
        }
    }
    Ok(table(rows.shown, rows.rows))
}

struct Rows {
    shown: Table,
    rows: Vec<Map>,
}

impl Rows {
    #[allow(clippy::too_many_arguments, reason = "a row has these cells")]
    fn row(
        &mut self,
        wanted: &Wanted,
        kind: &'static str,
        count: f64,
        size: Length,
        joints: i64,
        (piece, told): (Option<Length>, String),
        bats: Option<&(f64, String)>,
    ) {
        let off = size - wanted.length;
        let exact = off.is_zero();
        let kept = wanted.kept(size, joints).filter(|_| !exact);
        let told_piece = if exact { String::new() } else { told };
        let mut cells = vec![
            kind.to_owned(),
            count.to_string(),
            wanted.style.show(size),
            wanted.style.show(off),
            joints.to_string(),
            kept.as_ref()
                .map_or_else(String::new, |(_, _, told)| told.clone()),
            told_piece,
        ];
        cells.extend(bats.map(|(_, told)| told.clone()));
        self.shown.rows.push(cells);
        let mut row = map([
            ("kind", kind.into()),
            ("units", count.into()),
            ("size", Dynamic::from(size)),
            ("off_by", Dynamic::from(off)),
            ("joints", joints.into()),
            (
                "to_keep",
                kept.as_ref()
                    .map_or(Dynamic::UNIT, |(width, ..)| Dynamic::from(*width)),
            ),
            ("within", kept.map_or(exact, |(_, within, _)| within).into()),
            (
                "piece",
                piece
                    .filter(|_| !exact)
                    .map_or(Dynamic::UNIT, Dynamic::from),
            ),
        ]);
        if let Some((bats, _)) = bats {
            row.insert("bats".into(), (*bats).into());
        }
        self.rows.push(row);
    }
}

/// The two sizes of a kind in units and half units, or the one that is exact.
fn lengths(unit: &Unit, wanted: &Wanted, kind: Kind, rows: &mut Rows) {
    let joint = wanted.joint.nominal.nm();
    let module = (unit.length + wanted.joint.nominal).nm();
    let under = ((wanted.length.nm() - kind.add) * 2).div_euclid(module);
    let piece = piece(unit, wanted, module, kind.add + joint);
    for halves in [under, under + 1] {
        let size = Length::from_nm(halves * module / 2 + kind.add);
        if halves < 1 || !size.is_positive() {
            continue;
        }
        let joints = (halves + 1) / 2 + kind.joints;
        let bats = match kind.word {
            "pier" => of_pier(unit, wanted, halves),
            // In half bond the ends show a bat in every other course, or one of them in each: common practice, no
            // source.
            "return" => (0.5, "1 in every other course".to_owned()),
            _ if halves % 2 == 1 => (1.0, "1 a course".to_owned()),
            _ => (1.0, "2 in every other course".to_owned()),
        };
        let count = halves as f64 / 2.0;
        rows.row(
            wanted,
            kind.word,
            count,
            size,
            joints,
            piece.clone(),
            Some(&bats),
        );
        if size == wanted.length {
            break;
        }
    }
}

/// The piece that fills what whole units leave of the wanted length, beside `apart` of joints more than go with units.
fn piece(unit: &Unit, wanted: &Wanted, module: i64, apart: i64) -> (Option<Length>, String) {
    let all = wanted.length.nm() - apart;
    let whole = (all - 1).div_euclid(module);
    let rest = Length::from_nm(all - whole * module);
    if !rest.is_positive() || rest >= unit.length {
        return (None, String::new());
    }
    // Pieces shorter than a half bat are not laid in a run, two longer ones are: common practice, no source.
    let half_bat = Length::from_nm((unit.length - wanted.joint.nominal).nm() / 2);
    if rest < half_bat && whole >= 1 {
        let two = Length::from_nm((unit.length + rest).nm() / 2);
        return (Some(two), format!("2 of {}", wanted.style.show(two)));
    }
    (Some(rest), wanted.style.show(rest))
}

/// Pieces cut in two courses of a square pier of so many half units, as it is laid.
fn of_pier(unit: &Unit, wanted: &Wanted, halves: i64) -> (f64, String) {
    match laid_pier(unit, wanted.joint.nominal, halves) {
        Some(0) => (0.0, "no cut".to_owned()),
        Some(cut) => (cut as f64 / 2.0, format!("{cut} cut in 2 courses")),
        None => (0.0, String::new()),
    }
}

fn laid_pier(unit: &Unit, joint: Length, halves: i64) -> Option<u64> {
    let bond = Catalogue::builtin().ok()?.bond("stretcher").ok()?.clone();
    let setting = Setting::new(unit.clone(), Some(joint), Some(joint), bond).ok()?;
    let side = Size::units(halves as f64 / 2.0).ok()?;
    let shape = Shape::Pier {
        across: side,
        deep: side,
        core: Core::Units,
    };
    let part = Part::new(shape, Rise::Courses(2)).ok()?;
    let plan = bare_plan("pier".to_owned(), setting, LengthStyle::Metric).ok()?;
    let plan = plan
        .with_part("pier", Arc::new(part), Placement::Origin)
        .ok()?;
    let laid = lay(&Arc::new(plan)).ok()?;
    Some(Takeoff::of(&laid).ok()?.units.cut)
}

/// The two heights in whole courses, or the one that is exact.
fn heights(unit: &Unit, wanted: &Wanted, rows: &mut Rows) {
    let course = (unit.height + wanted.joint.nominal).nm();
    let under = wanted.length.nm().div_euclid(course);
    let rest = Length::from_nm(wanted.length.nm() - under * course) - wanted.joint.nominal;
    // One course split to less than half its height breaks; two are split a little instead: common practice, no source.
    let thin = rest.nm() * 2 < unit.height.nm() && under >= 1;
    let each = if thin {
        Length::from_nm((unit.height + rest).nm() / 2)
    } else {
        rest
    };
    let splits =
        rest + wanted.joint.nominal > Length::ZERO && each.is_positive() && each < unit.height;
    let split = splits.then_some(each);
    let shown = wanted.style.show(each);
    let told = match (split, thin) {
        (None, _) => String::new(),
        (Some(_), true) => format!("2 courses split to {shown}"),
        (Some(_), false) => format!("a course split to {shown}"),
    };
    for courses in [under, under + 1] {
        let size = Length::from_nm(courses * course);
        if courses < 1 {
            continue;
        }
        rows.row(
            wanted,
            "height",
            courses as f64,
            size,
            courses,
            (split, told.clone()),
            None,
        );
        if size == wanted.length {
            break;
        }
    }
}
