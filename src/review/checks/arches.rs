use super::Check;
use crate::layout::LaidArch;
use crate::plan::ArchKind;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Arches with a thin ring, and the centring that every arch needs.
pub(super) const CHECK: Check = Check {
    codes: &["arch-ring-shallow", "arch-needs-centring"],
    summary: "Depth of arch rings for their span, and the centring that carries them.",
    run,
};

/// Least depth of a curved arch, 4 in, and of a flat one, 8 in (Modern Masonry 2016, p. 317).
const LEAST_CURVED: Length = Length::from_nm(101_600_000);
const LEAST_FLAT: Length = Length::from_nm(203_200_000);
/// What a flat arch's depth starts from before the span adds to it, 4 in (same page).
const FLAT_START: Length = Length::from_nm(101_600_000);
/// Depth for the span: 1 in per foot (same page).
const SPAN_PER_DEPTH: i64 = 12;

fn run(site: Site<'_>) -> Vec<Finding> {
    let mut found = Vec::new();
    for arch in &site.laid.arches {
        found.extend(shallow(site, arch));
        found.push(centring(site, arch));
    }
    found
}

fn place(site: Site<'_>, arch: &LaidArch) -> Place {
    Place::part(site.laid.part_name(arch.part)).detail(format!("arch over {}", arch.name))
}

/// Depth that a span asks for.
fn least_depth(arch: &LaidArch) -> Length {
    let share = Length::from_nm(arch.span.nm() / SPAN_PER_DEPTH);
    match arch.arch.kind {
        ArchKind::Flat => (FLAT_START + share).max(LEAST_FLAT),
        ArchKind::Segmental | ArchKind::Semicircular => share.max(LEAST_CURVED),
    }
}

fn shallow(site: Site<'_>, arch: &LaidArch) -> Option<Finding> {
    let style = site.laid.plan.style;
    let least = least_depth(arch);
    if arch.depth >= least {
        return None;
    }
    Some(Finding {
        code: "arch-ring-shallow",
        severity: Severity::Warn,
        place: place(site, arch),
        figure: format!(
            "{} deep over {}; published least {}",
            style.show(arch.depth),
            style.show(arch.span),
            style.show(least)
        ),
        cause: "In a thin ring the line of thrust has little room: a small shift opens a joint, and the arch folds."
            .to_owned(),
        remedy: "Add a ring, stand the units on end, raise a curve in place of a flat arch, or narrow the opening."
            .to_owned(),
        source: "Modern Masonry 2016, p. 317: 1 in per foot of span and 4 in; flat 4 in more and 8 in",
    })
}

fn centring(site: Site<'_>, arch: &LaidArch) -> Finding {
    let style = site.laid.plan.style;
    Finding {
        code: "arch-needs-centring",
        severity: Severity::Note,
        place: place(site, arch),
        figure: format!(
            "span {}, rise {}, radius {}, soffit {} round",
            style.show(arch.span),
            style.show(arch.rise),
            style.show(arch.radius),
            style.show(arch.intrados)
        ),
        cause: "Until its mortar has cured, and the wall beside it stands, an arch carries nothing: its units fall on whoever is under it."
            .to_owned(),
        remedy: "Lay it from both skewbacks on a centre of this curve, propped on wedges, and leave that until the mortar has cured."
            .to_owned(),
        source: "Beall, Masonry and Concrete, p. 260: temporary support until the mortar has cured",
    }
}
