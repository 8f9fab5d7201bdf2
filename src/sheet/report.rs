//! Reports as text.

use std::fmt::Write as _;

use super::{Table, labelled};
use crate::layout::{Cuboid, Heights, Laid, LaidLining, LaidPart};
use crate::masonry::MaterialNeed;
use crate::plan::{GapFill, Setting};
use crate::quantity::{LengthStyle, Mass, Volume};
use crate::review::{Review, Severity};
use crate::takeoff::{
    CutDirection, CutFrom, CuttingPlan, FittingSize, MortarNeed, Takeoff, UnitCount,
};

fn percent(share: f64) -> String {
    format!("{} %", (share * 1000.0).round() / 10.0)
}

/// A number of things, with the word for one or many.
fn counted(count: u64, one: &str) -> String {
    if count == 1 {
        format!("1 {one}")
    } else {
        format!("{count} {one}s")
    }
}

fn size3(style: LengthStyle, cuboid: &Cuboid) -> String {
    format!(
        "{} × {} × {}",
        style.show(cuboid.length),
        style.show(cuboid.width),
        style.show(cuboid.height)
    )
}

/// What a plan is, in a few lines: parts with their real sizes, gaps, and what was asked against what it became.
pub fn plan_summary(laid: &Laid) -> String {
    let plan = &laid.plan;
    let style = plan.style;
    let mut out = String::new();
    let _ = writeln!(
        out,
        "plan \"{}\": {}",
        plan.name,
        setting_words(style, &plan.setting)
    );
    let mut table = Table::new(
        "",
        &[
            "part",
            "kind",
            "outside (across × deep × high)",
            "inside",
            "#courses",
            "#pieces",
        ],
    );
    for part in &laid.parts {
        table.row([
            part.name.clone(),
            part.kind.word().to_owned(),
            size3(style, &part.outside),
            part.inside.as_ref().map_or_else(
                || round_inside(style, part),
                |inside| {
                    format!(
                        "{} × {}",
                        style.show(inside.length),
                        style.show(inside.width)
                    )
                },
            ),
            part.courses.to_string(),
            part.pieces.len().to_string(),
        ]);
    }
    if laid.parts.is_empty() {
        out.push_str("  nothing is placed in it yet\n");
        return out;
    }
    out.push_str(&table.text());
    for part in laid.parts.iter().filter(|part| is_of_its_own(laid, part)) {
        let _ = writeln!(out, "  {}: {}", part.name, own_words(style, part));
    }
    for lining in &laid.linings {
        let _ = writeln!(out, "  {}", lining_words(laid, lining));
    }
    for facing in laid.facings() {
        let _ = writeln!(
            out,
            "  gap {} to {}: {}",
            facing.low.name,
            facing.high.name,
            style.show(facing.gap)
        );
    }
    for part in &laid.parts {
        for snapped in part.snapped.iter().filter(|s| s.asked != s.became) {
            let _ = writeln!(
                out,
                "  {}: {} asked {}, became {} ({} {}{})",
                part.name,
                snapped.what,
                style.show(snapped.asked),
                style.show(snapped.became),
                snapped.count,
                if snapped.what == "height" {
                    "course"
                } else {
                    "unit"
                },
                if snapped.count <= 1.0 { "" } else { "s" }
            );
        }
    }
    let _ = writeln!(
        out,
        "  highest point {} above the slab",
        style.show(laid.height())
    );
    out
}

/// The clear width of a ring; nothing for what has no inside.
fn round_inside(style: LengthStyle, part: &LaidPart) -> String {
    let closed = part.ring.as_ref().filter(|ring| ring.sweep.is_none());
    closed.map_or_else(String::new, |ring| {
        format!("round, {}", style.show(ring.inner * 2))
    })
}

/// Whether a part is laid with another unit or other joints than its plan's.
fn is_of_its_own(laid: &Laid, part: &LaidPart) -> bool {
    let (own, common) = (&part.setting, &laid.plan.setting);
    own.unit != common.unit || own.joints != common.joints || own.gauge != common.gauge
}

/// What a part of its own setting is laid with, and how high its first course is.
fn own_words(style: LengthStyle, part: &LaidPart) -> String {
    let setting = &part.setting;
    let laid = match &part.ring {
        Some(ring) => format!("{} courses", ring.laid.word()),
        None if setting.on_edge => format!("{} bond, on edge", setting.bond.name),
        None => format!("{} bond", setting.bond.name),
    };
    format!(
        "{} in {laid}, head joints {}, course 1 up to {}",
        setting.unit.title,
        style.show(setting.joints.head.nominal),
        style.show(part.heights.top_of(1))
    )
}

/// How a lining stands to its walls.
fn lining_words(laid: &Laid, lining: &LaidLining) -> String {
    let style = laid.plan.style;
    let fill = match lining.fill {
        GapFill::Open => "open",
        GapFill::Board => "filled with board",
        GapFill::Wool => "filled with wool",
    };
    let meetings = lining.meetings(laid);
    let level: Vec<String> = meetings
        .iter()
        .filter(|meeting| meeting.meets)
        .map(|meeting| format!("{} with {}", meeting.course, meeting.other))
        .collect();
    let level = if level.is_empty() {
        "no courses come level".to_owned()
    } else {
        format!("courses level: {}", level.join(", "))
    };
    format!(
        "{}: {} clear of {}, {fill}; {level}",
        laid.part_name(lining.part),
        style.show(lining.gap),
        laid.part_name(lining.host)
    )
}

fn setting_words(style: LengthStyle, setting: &Setting) -> String {
    let gauge = setting.gauge;
    let rise = if gauge.courses == 1 {
        format!("courses rise {}", style.show(gauge.rise))
    } else {
        format!("{} courses rise {}", gauge.courses, style.show(gauge.rise))
    };
    format!(
        "{} in {} bond, head joints {}, {rise}",
        setting.unit.title,
        setting.bond.name,
        style.show(setting.joints.head.nominal)
    )
}

/// Heights of the courses of a part above its base, for a gauge rod.
pub fn gauge_table(laid: &Laid, heights: &Heights) -> Table {
    let style = laid.plan.style;
    let mut table = Table::new("gauge rod", &["#course", "#bed", "#unit from", "#unit to"]);
    for course in 1..=heights.count() {
        table.row([
            course.to_string(),
            style.show(heights.bed_under(course)),
            style.show(heights.bottom_of(course)),
            style.show(heights.top_of(course)),
        ]);
    }
    table
}

/// What to buy, as text.
pub fn takeoff_text(laid: &Laid, takeoff: &Takeoff) -> String {
    let plan = &laid.plan;
    let style = plan.style;
    let mut out = format!("TAKEOFF  {}\n\n", plan.name);
    out.push_str(&units_text(laid, takeoff));
    out.push('\n');
    // The plan's own mortar is not told where nothing is laid in it.
    let told = |mortar: &&MortarNeed| mortar.net.is_positive() || takeoff.other_mortars.is_empty();
    let mortars: Vec<String> = takeoff
        .mortars()
        .filter(told)
        .map(|mortar| mortar_text(style, mortar))
        .collect();
    out.push_str(&mortars.join("\n"));
    out.push('\n');
    out.push_str(&concrete_text(style, takeoff, plan.concrete.powder_bag));
    if let Some(ground) = &takeoff.ground {
        let mut table = Table::new("\nGround", &["", ""]);
        table.row([
            ground.what.to_owned(),
            format!(
                "{} × {}, {} thick",
                style.show(ground.across),
                style.show(ground.deep),
                style.show(ground.depth)
            ),
        ]);
        table.row([
            "diagonal to square it".to_owned(),
            style.show(ground.diagonal),
        ]);
        table.row([
            "form boards".to_owned(),
            format!(
                "{} run, {} high",
                style.show(ground.forms),
                style.show(ground.form_height)
            ),
        ]);
        table.row([
            "hole".to_owned(),
            format!(
                "{} × {}, {} deep",
                style.show(ground.hole.0),
                style.show(ground.hole.1),
                style.show(ground.hole.2)
            ),
        ]);
        table.row(["dug, as it lies".to_owned(), style.show_volume(ground.dug)]);
        table.row([
            format!("heap, {} swell", percent(ground.swell)),
            style.show_volume(ground.heap),
        ]);
        table.row([
            "base, compacted".to_owned(),
            format!(
                "{}, {} thick",
                style.show_volume(ground.subbase),
                style.show(ground.subbase_depth)
            ),
        ]);
        out.push_str(&table.text());
    }
    if !takeoff.fittings.is_empty() {
        let mut table = Table::new("\nTo fit the brickwork", &["what", "part", "size", "from"]);
        for fitting in &takeoff.fittings {
            let size = match fitting.size {
                FittingSize::Flat(across, deep) => {
                    format!("{} × {}", style.show(across), style.show(deep))
                }
                FittingSize::Upright(wide, high) => {
                    format!("{} wide × {} high", style.show(wide), style.show(high))
                }
                FittingSize::Bar(long, deep, high) => format!(
                    "{} × {} × {}",
                    style.show(long),
                    style.show(deep),
                    style.show(high)
                ),
                FittingSize::Long(long) => format!("{} long", style.show(long)),
                FittingSize::Pipe(diameter, long) => {
                    format!("{} across, {} long", style.show(diameter), style.show(long))
                }
            };
            table.row([
                fitting.what.clone(),
                fitting.part.clone(),
                size,
                fitting.why.clone(),
            ]);
        }
        out.push_str(&table.text());
    }
    out.push('\n');
    out.push_str(&mass_text(style, takeoff));
    if !plan.cautions.is_empty() {
        out.push_str("\nTo mind; the review has the rest\n");
        for caution in &plan.cautions {
            wrapped(&mut out, "", NOTE_INDENT, caution);
        }
    }
    out
}

fn units_text(laid: &Laid, takeoff: &Takeoff) -> String {
    let style = laid.plan.style;
    let settings = laid.kinds();
    let mut tables: Vec<String> = Vec::new();
    for units in &takeoff.kinds {
        let setting = settings.iter().find(|kind| kind.unit.name == units.unit);
        let title = setting.map_or("", |setting| setting.unit.title.as_str());
        tables.push(kind_text(units, title, &takeoff.cutting));
    }
    let mut out = tables.join("\n");
    let several = takeoff.kinds.len() > 1;
    let mut heads = vec!["piece", "#length", "#count", "with"];
    if several {
        heads.insert(0, "unit");
    }
    let mut pieces = Table::new("\nPieces", &heads);
    for group in &takeoff.pieces {
        let height = match group.split_to {
            None => String::new(),
            Some(height) => format!(", {} high", style.show(height)),
        };
        let cells = [
            format!("{}, {}{height}", group.role.word(), group.cut.word()),
            style.show(group.length),
            group.count.to_string(),
            group.shaping.unwrap_or_default().to_owned(),
        ];
        let unit = several.then(|| group.unit.clone());
        pieces.row(unit.into_iter().chain(cells));
    }
    out.push_str(&pieces.text());
    out.push_str(&cutting_text(style, &takeoff.cutting, several));
    out
}

/// What is laid of one kind of unit, and what of it to buy.
fn kind_text(units: &UnitCount, title: &str, cutting: &CuttingPlan) -> String {
    let mut table = Table::new(format!("Units: {} ({title})", units.unit), &["", "#", ""]);
    table.row([
        "laid whole".to_owned(),
        units.whole.to_string(),
        if units.shaped > 0 {
            match units.shaped {
                1 => "1 piece in all gets a round bite or a notch".to_owned(),
                shaped => format!("{shaped} pieces in all get a round bite, a notch or a taper"),
            }
        } else {
            String::new()
        },
    ]);
    let least = cutting.least_of(&units.unit);
    table.row([
        "cut up".to_owned(),
        units.cut_up.to_string(),
        if units.cut_up == least {
            format!(
                "for {} cut pieces; no plan needs fewer",
                units.cut - units.split
            )
        } else {
            format!(
                "for {} cut pieces; no plan needs fewer than {least}",
                units.cut - units.split
            )
        },
    ]);
    if units.split > 0 {
        table.row([
            "split along the length".to_owned(),
            units.split.to_string(),
            "one piece from each; the other half may not come off whole".to_owned(),
        ]);
    }
    table.row(["needed".to_owned(), units.net.to_string(), String::new()]);
    table.row([
        format!("waste {}", percent(units.waste_share)),
        units.waste.to_string(),
        String::new(),
    ]);
    if units.on_hand > 0 {
        table.row([
            "on hand".to_owned(),
            units.on_hand.to_string(),
            String::new(),
        ]);
    }
    table.row(["to buy".to_owned(), units.to_buy.to_string(), String::new()]);
    table.text()
}

/// What is cut from what, a table for each unit and direction of cut; the unit is named where there are several.
fn cutting_text(style: LengthStyle, cutting: &CuttingPlan, several: bool) -> String {
    let mut out = String::new();
    for group in &cutting.groups {
        let of = if several {
            format!(" {}", group.name)
        } else {
            String::new()
        };
        let along = match group.direction {
            CutDirection::Across => "",
            CutDirection::Along => " along the unit",
        };
        let mut table = Table::new(
            format!("\nCutting{of}{along}, blade {}", style.show(cutting.blade)),
            &["#count", "from each", "cut", "#left over"],
        );
        for pattern in &group.patterns {
            let lengths: Vec<String> = pattern.lengths.iter().map(|l| style.show(*l)).collect();
            table.row([
                pattern.units.to_string(),
                match pattern.from {
                    CutFrom::Unit => "unit".to_owned(),
                    CutFrom::Half => "half bat on hand".to_owned(),
                    CutFrom::Offcut(length) => format!("offcut of {}", style.show(length)),
                },
                lengths.join(" + "),
                style.show(pattern.left),
            ]);
        }
        out.push_str(&table.text());
        let most = group.patterns.iter().map(|p| p.lengths.len()).max();
        if group.direction == CutDirection::Across && most > Some(2) {
            out.push_str(
                "  middle pieces have two sawn ends: saw them square, and hide both in joints\n",
            );
        }
    }
    out
}

fn material_rows(table: &mut Table, style: LengthStyle, needs: &[MaterialNeed], bag: Mass) {
    for need in needs {
        let bags = if need.ingredient.is_aggregate() {
            String::new()
        } else {
            need.whole_bags(bag)
                .map(|count| format!("{} of {}", counted(count, "bag"), style.show_mass(bag)))
                .unwrap_or_default()
        };
        table.row([
            need.ingredient.title().to_owned(),
            format!("{} loose", style.show_volume(need.loose_volume)),
            format!("{} {bags}", style.show_mass(need.mass))
                .trim_end()
                .to_owned(),
        ]);
    }
}

fn mortar_text(style: LengthStyle, mortar: &MortarNeed) -> String {
    let bag = mortar.powder_bag;
    let mut table = Table::new(
        format!("Mortar {}: {}", mortar.proportions, mortar.mix),
        &["", "#", ""],
    );
    for (part, volume) in &mortar.joints {
        table.row([
            format!("joints of {part}"),
            style.show_volume(*volume),
            String::new(),
        ]);
    }
    let mut some = |what: &str, volume: Volume, note: &str| {
        if volume.is_positive() {
            table.row([what.to_owned(), style.show_volume(volume), note.to_owned()]);
        }
    };
    some("beds under lids", mortar.lid_beds, "");
    some("frogs, laid up", mortar.frogs, "");
    some("(open cores)", mortar.cores, "not filled, not counted");
    table.row([
        "net".to_owned(),
        style.show_volume(mortar.net),
        String::new(),
    ]);
    table.row([
        format!("waste {}", percent(mortar.waste_share)),
        style.show_volume(mortar.waste),
        String::new(),
    ]);
    table.row([
        "to make".to_owned(),
        style.show_volume(mortar.total),
        String::new(),
    ]);
    material_rows(&mut table, style, &mortar.materials, bag);
    if let Some(bags) = &mortar.bags {
        table.row([
            "or ready-mixed".to_owned(),
            counted(bags.count, "bag"),
            format!(
                "of {}, {} each",
                style.show_mass(bags.mass),
                style.show_volume(bags.yields)
            ),
        ]);
    }
    table.text()
}

fn concrete_text(style: LengthStyle, takeoff: &Takeoff, bag: Mass) -> String {
    let concrete = &takeoff.concrete;
    if concrete.items.is_empty() {
        return String::new();
    }
    let mut table = Table::new("Concrete", &["", "#", ""]);
    for item in &concrete.items {
        table.row([
            item.what.clone(),
            style.show_volume(item.volume),
            format!(
                "{} if cast alone, waste included",
                counted(item.bags, "bag")
            ),
        ]);
    }
    table.row([
        "net".to_owned(),
        style.show_volume(concrete.net),
        String::new(),
    ]);
    table.row([
        format!("waste {}", percent(concrete.waste_share)),
        style.show_volume(concrete.waste),
        String::new(),
    ]);
    let bags = &concrete.bags;
    table.row([
        "to make".to_owned(),
        style.show_volume(concrete.total),
        format!(
            "{} of {} in all, {} each",
            counted(bags.count, "bag"),
            style.show_mass(bags.mass),
            style.show_volume(bags.yields)
        ),
    ]);
    if let Some((mix, needs)) = &concrete.site_mix {
        table.row([format!("or mixed {mix}"), String::new(), String::new()]);
        material_rows(&mut table, style, needs, bag);
    }
    table.text()
}

fn mass_text(style: LengthStyle, takeoff: &Takeoff) -> String {
    let masses = &takeoff.masses;
    let lintels = if masses.coping_slabs.is_empty() {
        "#lintels"
    } else {
        "#lintels, coping"
    };
    let mut table = Table::new(
        "Mass",
        &["", "#units", "#mortar", lintels, "#lid, core", "#total"],
    );
    for part in &masses.parts {
        table.row([
            part.name.clone(),
            style.show_mass(part.units),
            style.show_mass(part.mortar),
            style.show_mass(part.lintels + part.copings),
            style.show_mass(part.concrete),
            style.show_mass(part.total),
        ]);
    }
    let blank = String::new;
    if let Some(ground) = &takeoff.ground {
        table.row([
            ground.what.to_owned(),
            blank(),
            blank(),
            blank(),
            blank(),
            style.show_mass(masses.slab),
        ]);
    }
    table.row([
        "all".to_owned(),
        blank(),
        blank(),
        blank(),
        blank(),
        style.show_mass(masses.total),
    ]);
    let mut out = table.text();
    if let (Some(pressure), Some(ground)) = (masses.pressure, &takeoff.ground) {
        let bears = ground.bearing.map_or_else(
            || "nothing may be presumed".to_owned(),
            |bearing| format!("presumed {}", style.show_pressure(bearing)),
        );
        let _ = writeln!(
            out,
            "  under the slab {}; {}: {bears} ({})",
            style.show_pressure(pressure),
            ground.soil,
            ground.bearing_source
        );
    }
    out
}

/// Width at which the text of findings is wrapped.
const WRAP: usize = 96;
/// Columns before the plan's own cautions under its takeoff.
const NOTE_INDENT: usize = 2;
/// Columns for the labels of findings and of cautions.
const FINDING_LABEL: usize = 9;
const CAUTION_LABEL: usize = 19;

fn wrapped(out: &mut String, label: &str, width: usize, text: &str) {
    out.push_str(&labelled(label, width, text, WRAP));
}

/// What a beginner would get wrong, as text.
pub fn review_text(laid: &Laid, review: &Review) -> String {
    let mut out = format!(
        "REVIEW  {}: {} stop, {} warn, {} note\n",
        laid.plan.name,
        review.count(Severity::Stop),
        review.count(Severity::Warn),
        review.count(Severity::Note)
    );
    for finding in &review.findings {
        let _ = writeln!(
            out,
            "\n{}  {}  ({})",
            finding.severity.word(),
            finding.code,
            finding.place
        );
        wrapped(&mut out, "figure", FINDING_LABEL, &finding.figure);
        wrapped(&mut out, "cause", FINDING_LABEL, &finding.cause);
        wrapped(&mut out, "remedy", FINDING_LABEL, &finding.remedy);
        wrapped(&mut out, "source", FINDING_LABEL, finding.source);
    }
    out.push_str("\nCautions\n");
    for caution in &review.cautions {
        wrapped(
            &mut out,
            caution.hazard,
            CAUTION_LABEL,
            &format!("{} [{}]", caution.text, caution.source),
        );
    }
    out
}
