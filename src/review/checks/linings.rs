use super::Check;
use crate::layout::{LaidLining, LaidPart};
use crate::masonry::{THINNEST_SPLIT, UnitKind};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Linings that cannot grow, are too thin, of the wrong stuff, or stand loose.
pub(super) const CHECK: Check = Check {
    codes: &[
        "lining-gap-tight",
        "lining-thin",
        "lining-not-firebrick",
        "lining-loose",
        "lining-low",
        "lining-off-units",
        "firebrick-mortar",
    ],
    summary: "Linings: room to grow, thickness, unit, mortar, and what braces them.",
    run,
};

/// Share of its length by which fireclay brick grows for each degree: from memory.
const EXPANSION: f64 = 5.5e-6;
/// How much hotter a firebox gets than the day on which it was built, °C: from memory.
const HOTTER: f64 = 1000.0;
/// Least thickness of a firebrick lining: 2 in, IRC R1001.5.
const THINNEST: Length = Length::from_nm(50_800_000);
/// A wall is braced by corners up to this many times its thickness apart: solid masonry, IRC 2018 Table R606.6.4.
const BRACED: i64 = 18;

/// A band at the top that may stay bare, a bed and a lid's bed: common practice, no source.
const LEFT_BARE: Length = Length::mm(20);

fn run(site: Site<'_>) -> Vec<Finding> {
    let laid = site.laid;
    let mut found = Vec::new();
    for lining in &laid.linings {
        let (Some(part), Some(host)) = (laid.parts.get(lining.part), laid.parts.get(lining.host))
        else {
            continue;
        };
        found.extend(tight(site, lining, part));
        found.extend(thin(site, part));
        found.extend(loose(site, part));
        found.extend(low(site, part, host));
        found.extend(off_units(site, lining, part));
        if laid.plan.is_fired(&host.name) {
            found.extend(not_firebrick(part));
        }
    }
    for (index, part) in laid.parts.iter().enumerate() {
        let by_fire = match laid.lines(index) {
            Some(lining) => laid.plan.is_fired(laid.part_name(lining.host)),
            None => laid.plan.is_fired(&part.name),
        };
        let mortar = laid.plan.mortar_of(&part.name);
        if by_fire && part.setting.unit.kind == UnitKind::Firebrick && !mortar.mix.is_refractory() {
            found.push(Finding {
                code: "firebrick-mortar",
                severity: Severity::Note,
                place: Place::part(&part.name),
                figure: format!("firebrick in {}", mortar.mix.title),
                cause: "Common mortar crumbles out of the joints between firebricks long before the bricks wear."
                    .to_owned(),
                remedy: "Lay it in refractory mortar: mortar: \"refractory\" for this part.".to_owned(),
                source: "IRC R1001.5, NFPA 211 11.2.1.5: medium-duty refractory mortar (ASTM C199) between firebricks",
            });
        }
    }
    found
}

/// Half of what it grows goes to each end of its longest side.
fn tight(site: Site<'_>, lining: &LaidLining, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let long = part.outside.length.max(part.outside.width);
    let grows = Length::from_nm((long.nm() as f64 * EXPANSION * HOTTER).round() as i64);
    (lining.gap < grows.half()).then(|| Finding {
        code: "lining-gap-tight",
        severity: Severity::Warn,
        place: Place::part(&part.name),
        figure: format!(
            "{} clear; {} of firebrick grow about {}, half of it at each end",
            style.show(lining.gap),
            style.show(long),
            style.show(grows)
        ),
        cause: "A hot lining that meets its walls pushes them apart, and cracks them at the corners."
            .to_owned(),
        remedy: format!(
            "Leave a gap of at least {}, 10 mm is usual, and fill it with nothing but what gives way.",
            style.show(grows.half())
        ),
        source: "linear growth, 5.5e-6 for each °C and 1000 °C, from memory",
    })
}

fn thin(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    (part.thickness < THINNEST).then(|| Finding {
        code: "lining-thin",
        severity: Severity::Warn,
        place: Place::part(&part.name),
        figure: format!(
            "{} thick; published least {}",
            style.show(part.thickness),
            style.show(THINNEST)
        ),
        cause: "So thin a lining lets the heat through to the walls, and soon breaks.".to_owned(),
        remedy: "Take a thicker unit, or lay it flat.".to_owned(),
        source: "IRC R1001.5: firebrick lining of 2 in at least (fireplaces)",
    })
}

fn loose(site: Site<'_>, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    // A ring braces itself.
    let legs = part.legs.iter().map(|leg| leg.span.1 - leg.span.0);
    let longest = legs.max()?;
    let most = part.thickness * BRACED;
    (longest > most).then(|| Finding {
        code: "lining-loose",
        severity: Severity::Note,
        place: Place::part(&part.name),
        figure: format!(
            "{} from corner to corner, {} thick; corners brace {}",
            style.show(longest),
            style.show(part.thickness),
            style.show(most)
        ),
        cause: "It stands clear of its walls, and between corners so far apart it leans or bulges inwards."
            .to_owned(),
        remedy: "Lay it flat instead of on edge, give it a return, or tie it back with stainless ties that let it slide."
            .to_owned(),
        source: "IRC 2018 Table R606.6.4: solid walls braced up to 18 times their thickness apart",
    })
}

/// A band of wall that whole courses of the lining leave bare at the top, and what would close it.
fn low(site: Site<'_>, part: &LaidPart, host: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    let placed = site.laid.plan.parts.get(&part.name)?;
    let to_top = placed.part.as_lining().is_some_and(|lining| lining.to_top);
    let bare = host.outside.heights().1 - part.outside.heights().1;
    if !to_top || bare <= LEFT_BARE {
        return None;
    }
    let next = part.courses + 1;
    let split = Length::mm((bare - part.setting.joints.bed.nominal).nm() / 1_000_000);
    let by_splitting = if part.ring.is_none() && split * THINNEST_SPLIT >= part.setting.unit.height
    {
        format!(
            "Add a course of units split to {split} (courses: {next}, split: [[{next}, {}.mm]]), or change",
            split.to_mm()
        )
    } else {
        "Change".to_owned()
    };
    Some(Finding {
        code: "lining-low",
        severity: Severity::Note,
        place: Place::part(&part.name),
        figure: format!("{} of wall stand bare above it", style.show(bare)),
        cause: "Whole courses of the lining do not come up to the top of its walls, and flame licks over it."
            .to_owned(),
        remedy: format!(
            "{by_splitting} its bed or the number of courses; coursing(\"{}\") shows where both come level.",
            host.name
        ),
        source: "common practice, no source",
    })
}

/// Sizes between half units: a cut in every course of every side, and laps that suit nowhere. What the walls would have
/// to leave is the gap at both ends and n(L + j) − j between.
fn off_units(site: Site<'_>, lining: &LaidLining, part: &LaidPart) -> Option<Finding> {
    let style = site.laid.plan.style;
    lining.bare?;
    let (unit, joint) = (&part.setting.unit, part.setting.joints.head);
    let module = (unit.length + joint.nominal).nm();
    let sizes = [
        ("across", part.outside.length),
        ("deep", part.outside.width),
    ];
    let off = sizes.map(|(word, size)| {
        let over = ((size + joint.nominal).nm() * 2).rem_euclid(module);
        // What the joints of a side take up between them is no cut.
        let joints = size.nm() / module;
        let taken = (joint.longest - joint.nominal).nm() * joints;
        let fits = over <= 2 * taken || module - over <= 2 * taken;
        (word, size, (!fits).then_some(over))
    });
    if off.iter().all(|(_, _, over)| over.is_none()) {
        return None;
    }
    let units = |size: Length| (size + joint.nominal).nm() as f64 / module as f64;
    let told: Vec<String> = off
        .iter()
        .filter(|(_, _, over)| over.is_some())
        .map(|(word, size, _)| format!("{} {word} is {:.2} units", style.show(*size), units(*size)))
        .collect();
    let wanted: Vec<String> = off
        .iter()
        .filter_map(|(word, size, over)| {
            let half = Length::from_nm(module / 2);
            let lower = *size - Length::from_nm((*over)? / 2) + lining.gap * 2;
            let (lower, upper) = (style.show(lower), style.show(lower + half));
            Some(format!("{lower} or {upper} {word}"))
        })
        .collect();
    Some(Finding {
        code: "lining-off-units",
        severity: Severity::Note,
        place: Place::part(&part.name),
        figure: told.join(", "),
        cause: "Between half units every course takes an odd cut, and laps suffer beside corners and openings."
            .to_owned(),
        remedy: format!(
            "Let the walls leave {} inside, or let the gap grow: snap: \"down\".",
            wanted.join(", ")
        ),
        source: "rule of joints: n units outside are n(L + j) − j",
    })
}

fn not_firebrick(part: &LaidPart) -> Option<Finding> {
    let unit = &part.setting.unit;
    (unit.kind != UnitKind::Firebrick).then(|| Finding {
        code: "lining-not-firebrick",
        severity: Severity::Warn,
        place: Place::part(&part.name),
        figure: format!("lined with {}", unit.title),
        cause: "Common units spall and crumble where flame or embers touch them.".to_owned(),
        remedy: "Line it with firebrick.".to_owned(),
        source: "IRC R1001.5: firebrick (ASTM C27 or C1261)",
    })
}
