//! A heap of reclaimed units, told from a sample that was measured.

use std::fmt::Write as _;
use std::rc::Rc;

use rhai::{Array, Dynamic, Map};

use super::catalogue::map;
use super::plans::joint_of;
use crate::masonry::{CONFIDENCE, Culled, Gauge, Joint, SMALL_SAMPLE, Spread, Unit, UnitKind};
use crate::quantity::{Length, LengthStyle};
use crate::script::declare::whole;
use crate::script::errors;
use crate::script::{
    Call, CallKind, Declaration, Example, Fault, Group, Parameter, Registry, Want,
};
use crate::sheet::Table;

/// More than anyone measures.
const MOST_MEASURED: usize = 10_000;
const SIZES: [&str; 3] = ["length", "width", "height"];
const KINDS: &[&str] = &[
    UnitKind::ClayBrick.name(),
    UnitKind::Firebrick.name(),
    UnitKind::ConcreteBlock.name(),
    UnitKind::CalciumSilicate.name(),
];

const MEASURED: Declaration = Declaration {
    name: "measured",
    group: Group::Masonry,
    summary: "What a measured sample tells about a heap of reclaimed units: mean and spread, the joint that takes it up, how many to cull, and a unit to lay with.",
    kind: CallKind::Function,
    positional: &[Parameter::required(
        "units",
        Want::List(&Want::Anything),
        "The sizes of each, as [length, width, height] or a map of these.",
    )],
    options: &[
        Parameter::optional(
            "name",
            Want::Text,
            "\"reclaimed\"",
            "What to call the unit.",
        ),
        Parameter::optional(
            "joint",
            Want::Length,
            "10.mm",
            "The head joint to lay with.",
        ),
        Parameter::optional(
            "bed",
            Want::Length,
            "as the head joint",
            "The bed joint to lay with.",
        ),
        Parameter::optional(
            "head_range",
            Want::Pair(&Want::Length),
            "the usual",
            "Thinnest and thickest head joint that may be laid.",
        ),
        Parameter::optional(
            "bed_range",
            Want::Pair(&Want::Length),
            "the usual",
            "Thinnest and thickest bed joint that may be laid.",
        ),
        Parameter::optional(
            "kind",
            Want::Word(KINDS),
            "\"clay brick\"",
            "What they are made of.",
        ),
        Parameter::optional(
            "heap",
            Want::WholeFrom(1, 1_000_000),
            "",
            "How many lie in the heap.",
        ),
    ],
    returns: "A sample.",
    examples: &[Example {
        script: "measured([[213.mm, 101.mm, 64.mm], [215.mm, 102.mm, 65.mm], [216.mm, 103.mm, 66.mm], [214.mm, 102.mm, 65.mm], [217.mm, 102.mm, 65.mm]], #{ heap: 200 }).unit.length",
        shows: "215 mm (about 8 7/16\")",
    }],
    errors: &[errors::these(&[
        errors::UNIT_UNFIT,
        errors::JOINT_OUT_OF_RANGE,
        errors::NOT_POSITIVE,
    ])],
    see_also: &["unit", "on_hand", "laid_with"],
};

const OF_SAMPLE: Declaration = Declaration {
    name: "",
    group: Group::Masonry,
    summary: "",
    kind: CallKind::Property { of: "Sample" },
    positional: &[],
    options: &[],
    returns: "",
    examples: &[],
    errors: &[],
    see_also: &["measured"],
};

const SAMPLE_UNIT: Declaration = Declaration {
    name: "unit",
    summary: "A unit of the mean sizes of a sample, to lay with.",
    returns: "A unit.",
    ..OF_SAMPLE
};

const SAMPLE_OPTIONS: Declaration = Declaration {
    name: "options",
    summary: "`unit`, `joint` and `bed` for a plan, and with `head_range` and `bed_range` for a part that is laid with a sample.",
    returns: "An option map.",
    ..OF_SAMPLE
};

const SPREADS: Declaration = Declaration {
    name: "spreads",
    summary: "`mean`, `deviation`, `least`, `most`, `range` and `joint` of the `length`, `width` and `height` of a sample.",
    returns: "A map of maps.",
    ..OF_SAMPLE
};

const CULLED: Declaration = Declaration {
    name: "culled",
    summary: "`found`, `of`, `share` and `share_at_most` of the units of a sample that do not keep the joints; with a heap also `heap` and `heap_at_most`.",
    returns: "A map.",
    ..OF_SAMPLE
};

/// A sample that was measured.
#[derive(Clone, Debug)]
pub(super) struct SampleValue(Rc<Sample>);

#[derive(Debug)]
struct Sample {
    unit: Unit,
    spreads: [Spread; 3],
    head: Joint,
    bed: Joint,
    culled: Culled,
    heap: Option<u64>,
}

pub(super) fn register(registry: &mut Registry) {
    registry.value_type::<SampleValue>("Sample", "a sample", |sample| text(&sample.0));
    registry.function(&MEASURED, measured);
    registry.property::<SampleValue, Unit>(&SAMPLE_UNIT, |sample| Ok(sample.0.unit.clone()));
    registry.property::<SampleValue, Map>(&SAMPLE_OPTIONS, |sample| Ok(options(&sample.0)));
    registry.property::<SampleValue, Map>(&SPREADS, |sample| Ok(spreads(&sample.0)));
    registry.property::<SampleValue, Map>(&CULLED, |sample| Ok(culled(&sample.0)));
}

/// A sample for other programs.
pub(super) fn told(value: &Dynamic) -> Option<Map> {
    let value = value.read_lock::<SampleValue>()?;
    Some(map([
        ("schema", "perpend.sample/1".into()),
        ("unit", Dynamic::from(value.0.unit.clone())),
        ("spreads", spreads(&value.0).into()),
        ("culled", culled(&value.0).into()),
    ]))
}

fn spreads(sample: &Sample) -> Map {
    let spreads = SIZES.iter().zip(&sample.spreads);
    spreads
        .map(|(size, spread)| ((*size).into(), spread_map(sample, size, *spread).into()))
        .collect()
}

fn measured(call: &Call) -> Result<SampleValue, Fault> {
    let units = call.list("units")?;
    if units.len() > MOST_MEASURED {
        return Err(Fault::new(
            "out-of-range",
            format!("more than {MOST_MEASURED} units were measured"),
        )
        .remedy("thirty tell enough")
        .about("units"));
    }
    let mut measures: [Vec<Length>; 3] = Default::default();
    for (at, item) in units.iter().enumerate() {
        let sizes = sizes(item).ok_or_else(|| {
            Fault::new("wrong-type", "each unit is three lengths above zero")
                .remedy("write [215.mm, 102.mm, 65.mm], or #{ length: 215.mm, width: 102.mm, height: 65.mm }")
                .about("units")
                .element(at)
        })?;
        for (list, size) in measures.iter_mut().zip(sizes) {
            list.push(size);
        }
    }
    let [lengths, widths, heights] = &measures;
    let of = |list: &[Length]| Spread::of(list).map_err(|error| Fault::from(error).about("units"));
    let spreads = [of(lengths)?, of(widths)?, of(heights)?];
    let [length, _, height] = spreads;
    let width = |key: &'static str, usual: Length| match call.opt_length(key)? {
        Some(joint) => joint_of(joint, key),
        None => Ok(usual),
    };
    let head = width("joint", Length::mm(10))?;
    let bed = width("bed", head)?;
    let head = joint(call, "head_range", Joint::usual_head(head)?)?;
    let bed = joint(call, "bed_range", Joint::usual_bed(bed)?)?;
    let stray = lengths
        .iter()
        .zip(heights)
        .filter(|(l, h)| !length.keeps(**l, &head) || !height.keeps(**h, &bed))
        .count();
    let kind = call.opt_word("kind")?.unwrap_or_default();
    let kind = UnitKind::ALL.into_iter().find(|known| known.name() == kind);
    let name = call
        .opt_text("name")?
        .unwrap_or_else(|| "reclaimed".to_owned());
    let unit = Unit::new(
        &name,
        kind.unwrap_or(UnitKind::ClayBrick),
        spreads.map(|spread| spread.mean),
        head.nominal,
        Gauge::from_bed(height.mean, bed.nominal),
    )?;
    unit.validate()?;
    Ok(SampleValue(Rc::new(Sample {
        unit,
        spreads,
        head,
        bed,
        culled: Culled::of(stray as u64, units.len() as u64),
        heap: call
            .raw("heap")
            .and_then(whole)
            .and_then(|heap| u64::try_from(heap).ok()),
    })))
}

fn sizes(item: &Dynamic) -> Option<[Length; 3]> {
    let length = |value: &Dynamic| {
        let length = value.read_lock::<Length>().map(|length| *length);
        length.filter(|length| length.is_positive())
    };
    if let Some(map) = item.read_lock::<Map>() {
        let [long, wide, high] = SIZES.map(|size| map.get(size).and_then(length));
        return Some([long?, wide?, high?]);
    }
    let list = item.read_lock::<Array>()?;
    match list.as_slice() {
        [long, wide, high] => Some([length(long)?, length(wide)?, length(high)?]),
        _ => None,
    }
}

fn joint(call: &Call, key: &'static str, usual: Joint) -> Result<Joint, Fault> {
    if !call.has(key) {
        return Ok(usual);
    }
    let ends = call.list(key)?;
    let end = |at: usize| {
        let value = ends.get(at)?;
        value.read_lock::<Length>().map(|length| *length)
    };
    let (thin, thick) = end(0)
        .zip(end(1))
        .ok_or_else(|| Fault::new("wrong-type", format!("`{key}` wants two lengths")).about(key))?;
    Joint::new(usual.nominal, thin, thick).map_err(|error| Fault::from(error).about(key))
}

fn options(sample: &Sample) -> Map {
    let range = |joint: &Joint| -> Dynamic {
        vec![Dynamic::from(joint.shortest), Dynamic::from(joint.longest)].into()
    };
    map([
        ("unit", Dynamic::from(sample.unit.clone())),
        ("joint", Dynamic::from(sample.head.nominal)),
        ("bed", Dynamic::from(sample.bed.nominal)),
        ("head_range", range(&sample.head)),
        ("bed_range", range(&sample.bed)),
    ])
}

/// The joint that takes up a size's spread; none across, where the wall's face takes it up.
fn joint_for(sample: &Sample, size: &str, spread: Spread) -> Option<Length> {
    match size {
        "length" => Some(spread.joint(sample.head.shortest)),
        "height" => Some(spread.joint(sample.bed.shortest)),
        _ => None,
    }
}

fn spread_map(sample: &Sample, size: &str, spread: Spread) -> Map {
    map([
        ("mean", Dynamic::from(spread.mean)),
        ("deviation", Dynamic::from(spread.deviation)),
        ("least", Dynamic::from(spread.least)),
        ("most", Dynamic::from(spread.most)),
        ("range", Dynamic::from(spread.range())),
        (
            "joint",
            joint_for(sample, size, spread).map_or(Dynamic::UNIT, Dynamic::from),
        ),
    ])
}

fn culled(sample: &Sample) -> Map {
    let culled = &sample.culled;
    let mut found = map([
        ("found", (culled.found as i64).into()),
        ("of", (culled.of as i64).into()),
        ("share", culled.share.into()),
        ("share_at_most", culled.share_at_most.into()),
    ]);
    if let Some(heap) = sample.heap {
        let (about, most) = culled.of_heap(heap);
        found.insert("heap".into(), (about as i64).into());
        found.insert("heap_at_most".into(), (most as i64).into());
    }
    found
}

fn text(sample: &Sample) -> String {
    let style = LengthStyle::Metric;
    let culled = &sample.culled;
    let mut table = Table::new(
        format!("{} of \"{}\" measured", culled.of, sample.unit.name),
        &[
            "size",
            "#mean",
            "#deviation",
            "#least",
            "#most",
            "#joint that takes it up",
        ],
    );
    for (size, spread) in SIZES.iter().zip(&sample.spreads) {
        table.row([
            (*size).to_owned(),
            style.show(spread.mean),
            style.show(spread.deviation),
            style.show(spread.least),
            style.show(spread.most),
            joint_for(sample, size, *spread).map_or_else(String::new, |joint| style.show(joint)),
        ]);
    }
    let percent = |share: f64| format!("{:.1} %", share * 100.0);
    let mut out = table.text();
    let _ = writeln!(
        out,
        "  to cull, for head joints of {} to {} and beds of {} to {}: {} of {}; of the heap {}, at most {} with {:.0} % confidence",
        style.show(sample.head.shortest),
        style.show(sample.head.longest),
        style.show(sample.bed.shortest),
        style.show(sample.bed.longest),
        culled.found,
        culled.of,
        percent(culled.share),
        percent(culled.share_at_most),
        CONFIDENCE * 100.0,
    );
    if let Some(heap) = sample.heap {
        let (about, most) = culled.of_heap(heap);
        let _ = writeln!(
            out,
            "  of {heap}: about {about} culled, at most {most}; count on {} to lay with",
            heap - most
        );
    }
    if (culled.of as usize) < SMALL_SAMPLE {
        let _ = writeln!(
            out,
            "  {} is a small sample: take {SMALL_SAMPLE} or more from all over the heap",
            culled.of
        );
    }
    out.trim_end().to_owned()
}
