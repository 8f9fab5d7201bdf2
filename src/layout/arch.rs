//! Arches: rings of voussoirs, the void under them, and the outline that the courses beside them are cut to.

use super::flat_bond::{Bonded, FlatBond};
use super::laid::{Prism, Shaping};
use super::profile::Profile;
use crate::plan::{Arch, ArchKind, PlanError, Standing};
use crate::quantity::Length;

/// Least and greatest joint of an arch, 1/8 in and 3/4 in (Modern Masonry 2016, p. 317).
pub const ARCH_JOINTS: (Length, Length) = (Length::from_nm(3_175_000), Length::from_nm(19_050_000));
/// A flat arch's skewbacks lean 1/2 in per foot of span for each 4 in of depth (BIA Technical Note 31A): tan g = S/8 with
/// S in feet. So both meet 48 in below the soffit, whatever the span.
const FLAT_CENTRE: f64 = 48.0 * 25_400_000.0;
/// Camber of a flat arch as a share of its span: 1/8 in per foot (brickcutters' data sheet, flat camber arch).
const CAMBER: f64 = 1.0 / 96.0;
/// Usual rise of a segmental arch as a share of its span, within the 0.15 of a minor arch (BIA Technical Note 31A).
/// An eighth is common practice, no source.
const USUAL_RISE: i64 = 8;
/// A piece thinner than this breaks when cut: common practice, no source.
pub(super) const THINNEST_CUT: i64 = 20_000_000;

/// What an arch is made of and where: lengths in nanometres.
pub(super) struct ArchSite<'a> {
    pub(super) name: &'a str,
    pub(super) span: (i64, i64),
    pub(super) springing: Length,
    /// Tops of the courses over the springing, from it; the first is one course up.
    pub(super) tops: &'a [Length],
    pub(super) unit: (i64, i64, i64),
    pub(super) joint: i64,
    /// Least lap of the bond.
    pub(super) least_lap: i64,
}

/// One ring of an arch.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::layout) struct Ring {
    /// Corners of each voussoir, along the wall and up: lower left, lower right, upper right, upper left.
    pub(in crate::layout) voussoirs: Vec<[(Length, Length); 4]>,
    /// Length to which a unit is cut or left, along the ring's depth.
    pub(in crate::layout) lengths: Vec<i64>,
    /// The pieces of each voussoir with their lengths, where the ring is deeper than a unit; else none.
    pub(in crate::layout) bonded: Vec<Vec<Bonded>>,
    pub(in crate::layout) tapered: bool,
    pub(in crate::layout) joints: (Length, Length),
    pub(in crate::layout) narrowest: i64,
}

/// An arch with every figure known.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredArch {
    pub(in crate::layout) arch: Arch,
    pub(in crate::layout) springing: Length,
    pub(in crate::layout) rise: Length,
    pub(in crate::layout) radius: Length,
    /// Angle of the skewback from the upright, in radians.
    pub(in crate::layout) skewback: f64,
    pub(in crate::layout) depth: Length,
    pub(in crate::layout) intrados: Length,
    pub(in crate::layout) rings: Vec<Ring>,
    /// The void under it, above the springing.
    pub(in crate::layout) soffit: Profile,
    /// What the courses beside it are cut to: the extrados with a joint, and the skewbacks.
    pub(in crate::layout) outline: Profile,
}

/// Radius of the circle through two springings and a crown: S²/8r + r/2.
pub fn arch_radius(span: Length, rise: Length) -> Length {
    let (s, r) = (span.nm() as f64, rise.nm() as f64);
    if r <= 0.0 {
        return Length::ZERO;
    }
    Length::from_nm((s * s / (8.0 * r) + r / 2.0).round() as i64)
}

/// Angle of the skewback of a circular arch from the upright, in radians: sin g = S/2R (BIA Technical Note 31A).
pub fn skewback_angle(span: Length, radius: Length) -> f64 {
    let ratio = span.nm() as f64 / (2.0 * radius.nm().max(1) as f64);
    ratio.clamp(0.0, 1.0).asin()
}

fn refused(code: &'static str, message: String, remedy: &str) -> PlanError {
    PlanError::new(code, message, remedy).at_key("arch")
}

/// Measures an arch over an opening.
///
/// # Errors
/// When its rise or depth cannot be built of these units.
pub(super) fn measure_arch(arch: Arch, site: &ArchSite<'_>) -> Result<MeasuredArch, PlanError> {
    match arch.kind {
        ArchKind::Flat => flat(arch, site),
        ArchKind::Segmental | ArchKind::Semicircular => round(arch, site),
    }
}

impl Ring {
    /// The pieces of a voussoir with the length that each takes of a unit.
    pub(super) fn pieces(&self, voussoir: usize) -> Vec<Bonded> {
        if let Some(pieces) = self.bonded.get(voussoir) {
            return pieces.clone();
        }
        let whole = self.voussoirs.get(voussoir).zip(self.lengths.get(voussoir));
        whole
            .map(|(quad, length)| (*quad, *length))
            .into_iter()
            .collect()
    }
}

impl ArchSite<'_> {
    fn width(&self) -> Length {
        Length::from_nm(self.span.1 - self.span.0)
    }

    fn middle(&self) -> Length {
        Length::from_nm(i64::midpoint(self.span.0, self.span.1))
    }

    /// How deep a ring of whole units is, standing so.
    fn reach(&self, standing: Standing) -> i64 {
        match standing {
            Standing::Soldier => self.unit.0,
            Standing::Rowlock => self.unit.1,
        }
    }
}

fn under(middle: Length, half: Length, springing: Length, circle: (Length, Length)) -> Profile {
    Profile {
        middle,
        bottom: springing,
        bottom_half: half,
        shoulder: springing,
        shoulder_half: half,
        circle: Some(circle),
    }
}

fn round(arch: Arch, site: &ArchSite<'_>) -> Result<MeasuredArch, PlanError> {
    let (span, middle) = (site.width(), site.middle());
    let rise = match arch.kind {
        ArchKind::Semicircular => span.half(),
        _ => arch.rise.unwrap_or(Length::from_nm(span.nm() / USUAL_RISE)),
    };
    if !rise.is_positive() || rise > span.half() {
        return Err(refused(
            "arch-rise-out-of-range",
            format!(
                "an arch over \"{}\" that spans {span} rises more than nothing and at most {}, not {rise}",
                site.name,
                span.half()
            ),
            "write a rise of about an eighth of the span, or make it semicircular",
        ));
    }
    let radius = arch_radius(span, rise);
    let centre = site.springing + rise - radius;
    let half_circle = rise == span.half();
    let angle = if half_circle {
        std::f64::consts::FRAC_PI_2
    } else {
        skewback_angle(span, radius)
    };
    let deep = site.reach(arch.standing);
    let at = (middle.nm() as f64, centre.nm() as f64);
    let mut rings = Vec::new();
    let mut inner = radius.nm() as f64;
    for _ in 0..arch.rings {
        let (ring, beyond) = ring(arch, site, at, angle, inner, deep as f64)?;
        rings.push(ring);
        inner = beyond + site.joint as f64;
    }
    let outer = Length::from_nm(inner.ceil() as i64);
    let outline = if half_circle {
        under(middle, outer, site.springing, (centre, outer))
    } else {
        let nm = |place: f64| Length::from_nm(place.round() as i64);
        Profile {
            middle,
            bottom: site.springing,
            bottom_half: span.half(),
            shoulder: centre + nm(inner * angle.cos()),
            shoulder_half: nm(inner * angle.sin()),
            circle: Some((centre, outer)),
        }
    };
    let rings_deep = i64::from(arch.rings) * (deep + site.joint) - site.joint;
    Ok(MeasuredArch {
        arch,
        springing: site.springing,
        rise,
        radius,
        skewback: angle,
        depth: Length::from_nm(rings_deep),
        intrados: Length::from_nm((2.0 * angle * radius.nm() as f64).round() as i64),
        rings,
        soffit: under(middle, span.half(), site.springing, (centre, radius)),
        outline,
    })
}

/// A ring whose units touch the circle of a radius with the middle of their lower faces, and how far its furthest
/// corner lies from the centre.
fn ring(
    arch: Arch,
    site: &ArchSite<'_>,
    (middle, centre): (f64, f64),
    angle: f64,
    inner: f64,
    deep: f64,
) -> Result<(Ring, f64), PlanError> {
    let (thick, joint) = (site.unit.2 as f64, site.joint as f64);
    let outer = inner + deep;
    let nm = |place: f64| Length::from_nm(place.round() as i64);
    let quad =
        |turn: f64, low: f64, high: f64| quad((middle, centre), turn, (inner, outer), (low, high));
    let least = ARCH_JOINTS.0.nm() as f64;
    let most = ARCH_JOINTS.1.nm() as f64;
    let counts = || {
        let asked = arch.voussoirs;
        let all = (1..=Arch::MOST_VOUSSOIRS).step_by(2);
        asked
            .into_iter()
            .chain(all.filter(move |_| asked.is_none()))
    };
    if arch.cut != Some(true) {
        let half = |far: f64| (thick / 2.0 / far).atan();
        let corner = |far: f64| far.hypot(thick / 2.0);
        let fit = |count: u32| {
            let n = f64::from(count);
            let gap = (2.0 * angle - 2.0 * n * half(inner)) / (n + 1.0);
            let over = gap + 2.0 * half(inner) - 2.0 * half(outer);
            let joints = (
                2.0 * corner(inner) * (gap / 2.0).sin(),
                2.0 * corner(outer) * (over / 2.0).sin(),
            );
            (count, gap, joints)
        };
        let beyond = |(low, high): (f64, f64)| (least - low).max(0.0) + (high - most).max(0.0);
        let best = counts()
            .map(fit)
            .take_while(|(count, gap, _)| *gap > 0.0 || *count == 1)
            .filter(|(_, gap, _)| *gap > 0.0)
            .min_by(|(_, _, a), (_, _, b)| {
                let off = |(low, high): (f64, f64)| (low - joint).abs() + (high - joint).abs();
                beyond(*a)
                    .total_cmp(&beyond(*b))
                    .then(off(*a).total_cmp(&off(*b)))
            });
        if let Some((count, gap, joints)) = best
            && (arch.cut == Some(false) || beyond(joints) <= 0.0)
        {
            let pitch = gap + 2.0 * half(inner);
            let first = gap + half(inner) - angle;
            let ring = Ring {
                voussoirs: (0..count)
                    .map(|k| quad(first + pitch * f64::from(k), thick / 2.0, thick / 2.0))
                    .collect(),
                lengths: vec![deep as i64; count as usize],
                bonded: Vec::new(),
                tapered: false,
                joints: (nm(joints.0), nm(joints.1)),
                narrowest: thick as i64,
            };
            return Ok((ring, corner(outer)));
        }
        if arch.cut == Some(false) {
            return Err(refused(
                "arch-too-small",
                format!(
                    "no uncut unit fits into the arch over \"{}\", whose soffit is {} round",
                    site.name,
                    nm(2.0 * angle * inner)
                ),
                "let units be cut to a taper, take fewer voussoirs, or make the opening wider",
            ));
        }
    }
    // The joint beside the skewback is a whole one at the middle of the ring.
    let sweep = angle - (joint / 2.0 / (inner + deep / 2.0)).min(1.0).asin();
    let half = |far: f64, count: u32| {
        let turn = sweep / f64::from(count);
        far * turn.tan() - joint / 2.0 / turn.cos()
    };
    let fits =
        |count: &u32| *count > 1 && 2.0 * half(outer, *count) <= thick && half(inner, *count) > 0.0;
    let Some(count) = counts().find(fits) else {
        return Err(refused(
            "arch-too-small",
            format!(
                "units {} thick cannot be cut to the voussoirs of the arch over \"{}\", whose ring is {} deep round a radius of {}",
                nm(thick),
                site.name,
                nm(deep),
                nm(inner)
            ),
            "let units stand as \"rowlock\", make the opening wider, or leave the number of voussoirs out",
        ));
    };
    let pitch = 2.0 * sweep / f64::from(count);
    let (low, high) = (half(inner, count), half(outer, count));
    let ring = Ring {
        voussoirs: (0..count)
            .map(|k| quad(pitch * (f64::from(k) + 0.5) - sweep, low, high))
            .collect(),
        lengths: vec![deep as i64; count as usize],
        bonded: Vec::new(),
        tapered: true,
        joints: (nm(joint), nm(joint)),
        narrowest: (2.0 * low).round() as i64,
    };
    Ok((ring, outer.hypot(high)))
}

/// Corners of a voussoir turned from the upright about a centre: its inner and outer face and half the width of each.
pub(super) fn quad(
    (middle, centre): (f64, f64),
    turn: f64,
    (inner, outer): (f64, f64),
    (low, high): (f64, f64),
) -> [(Length, Length); 4] {
    let nm = |place: f64| Length::from_nm(place.round() as i64);
    let corner = |far: f64, aside: f64| {
        (
            nm(middle + far * turn.sin() + aside * turn.cos()),
            nm(centre + far * turn.cos() - aside * turn.sin()),
        )
    };
    [
        corner(inner, -low),
        corner(inner, low),
        corner(outer, high),
        corner(outer, -high),
    ]
}

fn flat(arch: Arch, site: &ArchSite<'_>) -> Result<MeasuredArch, PlanError> {
    let reach = site.reach(arch.standing);
    let top = |courses: u32| site.tops.get(courses.saturating_sub(1) as usize).copied();
    let made = |courses: u32| {
        let deep = top(courses)? - site.springing;
        let (ring, longest) = flat_ring(arch, site, deep.nm() as f64)?;
        Some((deep, ring, longest))
    };
    let found = match arch.courses {
        Some(courses) => made(courses),
        None => (1..=site.tops.len() as u32)
            .map_while(made)
            .take_while(|(_, _, longest)| *longest <= reach)
            .last()
            .or_else(|| made(1)),
    };
    let Some((deep, mut ring, longest)) = found else {
        return Err(refused(
            "arch-at-top",
            format!(
                "the flat arch over \"{}\" reaches above the part, or its voussoirs cannot be cut of these units",
                site.name
            ),
            "make the part higher, the arch lower, or leave the number of voussoirs out",
        ));
    };
    if longest > reach {
        let bond = FlatBond {
            springing: site.springing,
            deep: deep.nm(),
            joint: site.joint,
            reach,
            least_lap: site.least_lap,
        };
        let Some(bonded) = bond.pieces(&ring.voussoirs) else {
            return Err(refused(
                "voussoir-longer-than-unit",
                format!(
                    "the outermost voussoir of the flat arch over \"{}\" is {} long, more than two units standing so, {} each, give with a bond",
                    site.name,
                    Length::from_nm(longest),
                    Length::from_nm(reach)
                ),
                "let the arch be fewer courses high, the opening narrower, or take longer units",
            ));
        };
        ring.bonded = bonded;
    }
    let (span, middle) = (site.width(), site.middle());
    let half = span.nm() as f64 / 2.0;
    let lean = half / FLAT_CENTRE;
    let rise = Length::from_nm((span.nm() as f64 * CAMBER).round() as i64);
    let radius = arch_radius(span, rise);
    let wide = Length::from_nm((half + deep.nm() as f64 * lean).round() as i64);
    let sweep = 2.0 * skewback_angle(span, radius);
    Ok(MeasuredArch {
        arch,
        springing: site.springing,
        rise,
        radius,
        skewback: lean.atan(),
        depth: deep,
        intrados: Length::from_nm((sweep * radius.nm() as f64).round() as i64),
        rings: vec![ring],
        soffit: under(
            middle,
            span.half(),
            site.springing,
            (site.springing + rise - radius, radius),
        ),
        outline: Profile {
            middle,
            bottom: site.springing,
            bottom_half: span.half(),
            shoulder: site.springing + deep,
            shoulder_half: wide,
            circle: None,
        },
    })
}

/// The voussoirs of a flat arch: as wide as one another along the top, their joints parallel-sided on lines to the
/// centre, their lower faces touching the camber. With the length of the longest.
fn flat_ring(arch: Arch, site: &ArchSite<'_>, deep: f64) -> Option<(Ring, i64)> {
    let (thick, joint) = (site.unit.2 as f64, site.joint as f64);
    let span = site.width().nm() as f64;
    let lean = span / 2.0 / FLAT_CENTRE;
    let top_half = span / 2.0 + deep * lean - joint / 2.0 * (1.0 + lean * lean).sqrt();
    let key = |count: u32| 2.0 * top_half / f64::from(count) - joint;
    let count = match arch.voussoirs {
        Some(count) => Some(count).filter(|&count| key(count) <= thick && key(count) > 0.0),
        None => (1..=Arch::MOST_VOUSSOIRS)
            .step_by(2)
            .find(|&count| key(count) <= thick),
    }?;
    let rise = span * CAMBER;
    let radius = span * span / (8.0 * rise) + rise / 2.0;
    let (middle, springing) = (site.middle().nm() as f64, site.springing.nm() as f64);
    let nm = |place: f64| Length::from_nm(place.round() as i64);
    let tangent =
        |k: u32| (2.0 * f64::from(k) / f64::from(count) - 1.0) * top_half / (FLAT_CENTRE + deep);
    let mut voussoirs = Vec::new();
    let mut lengths = Vec::new();
    let mut narrowest = f64::MAX;
    for k in 0..count {
        // Each side: tangent of its lean, and how far its joint pushes it sideways.
        let side = |k: u32, sign: f64| {
            let t: f64 = tangent(k);
            (t, sign * joint / 2.0 * (1.0 + t * t).sqrt())
        };
        let (left, right) = (side(k, 1.0), side(k + 1, -1.0));
        let at = |(t, push): (f64, f64), z: f64| (z + FLAT_CENTRE) * t + push;
        let touch = f64::midpoint(at(left, rise), at(right, rise));
        let root = (radius * radius - touch * touch).max(1.0).sqrt();
        let (height, slope) = (rise - radius + root, touch / root);
        let bottom = |(t, push): (f64, f64)| {
            let z = (height - slope * (FLAT_CENTRE * t + push - touch)) / (1.0 + slope * t);
            (at((t, push), z), z)
        };
        let corners = [
            bottom(left),
            bottom(right),
            (at(right, deep), deep),
            (at(left, deep), deep),
        ];
        let lean = f64::midpoint(left.0, right.0).atan();
        let along = |(x, z): (f64, f64)| x * lean.sin() + z * lean.cos();
        let places = corners.map(along);
        let least = places.iter().copied().fold(f64::MAX, f64::min);
        let most = places.iter().copied().fold(f64::MIN, f64::max);
        lengths.push((most - least).ceil() as i64);
        let [(low_left, _), (low_right, _), ..] = corners;
        narrowest = narrowest.min((low_right - low_left) * lean.cos());
        voussoirs.push(corners.map(|(x, z)| (nm(middle + x), nm(springing + z))));
    }
    let longest = lengths.iter().copied().max()?;
    (narrowest > 0.0).then(|| {
        let ring = Ring {
            voussoirs,
            lengths,
            bonded: Vec::new(),
            tapered: true,
            joints: (nm(joint), nm(joint)),
            narrowest: narrowest.round() as i64,
        };
        (ring, longest)
    })
}

/// Voussoirs through a wall of several leaves: how far behind the first face each starts, and how deep it is. A unit on
/// edge reaches through two leaves where it is long enough.
pub(super) fn through(
    standing: Standing,
    leaves: i64,
    unit: (i64, i64, i64),
    joint: i64,
) -> Vec<(i64, i64)> {
    let leaf = unit.1;
    let two = 2 * leaf + joint;
    let mut found = Vec::new();
    let mut at = 0;
    while at < leaves {
        let from = at * (leaf + joint);
        if standing == Standing::Rowlock && at + 1 < leaves && unit.0 > leaf {
            found.push((from, unit.0.min(two)));
            at += 2;
        } else {
            found.push((from, leaf));
            at += 1;
        }
    }
    found
}

/// What arches take from a piece; none where they pass it by.
pub(super) fn raked(
    outlines: &[&Profile],
    along: (Length, Length),
    z: (Length, Length),
    deep: Length,
) -> Option<Shaping> {
    let mut found = Vec::new();
    let mut taken = 0.0;
    for outline in outlines {
        let area = outline.area_in(along, z);
        // Less than a grain of sand is a touch, not a cut.
        if area < 1e9 {
            continue;
        }
        taken += area * deep.nm() as f64;
        found.push(**outline);
    }
    let volume = crate::quantity::Volume::from_nm3(taken.round() as i128);
    (!found.is_empty()).then_some(Shaping::Raked(found, volume))
}

/// A voussoir as a prism.
pub(super) fn prism(
    corners: [(Length, Length); 4],
    axis: super::Axis,
    depth: (Length, Length),
    tapered: bool,
) -> Shaping {
    Shaping::Prism(Prism {
        axis,
        corners,
        depth,
        tapered,
    })
}
