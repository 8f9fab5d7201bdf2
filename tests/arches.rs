//! Arches against published figures, and as laid: voussoirs, void and cut courses fill the wall without overlap.
#![expect(
    clippy::expect_used,
    reason = "a test that fails to lay its plan should stop"
)]

mod common;

use std::rc::Rc;

use perpend::layout::{
    ARCH_JOINTS, Laid, LaidArch, Prism, Role, Shaping, VoidShape, arch_radius, lay, skewback_angle,
};
use perpend::plan::{Arch, ArchKind, Opening, SideRef, Standing};
use perpend::quantity::Length;

use common::{bench, inch, plan_of, units, wall};

/// A straight wall of UK bricks with one arched opening.
fn arched(arch: Arch, thickness: f64, courses: (i64, i64)) -> Rc<Laid> {
    try_arched(arch, thickness, courses).expect("laid")
}

fn try_arched(
    arch: Arch,
    thickness: f64,
    courses: (i64, i64),
) -> Result<Rc<Laid>, perpend::plan::PlanError> {
    let mut opening = Opening::new("store", SideRef::Leg(0), units(3.0), courses)?;
    opening.arch = Some(arch);
    let part = wall(10.0, 24)
        .with_thickness(thickness)?
        .with_opening(opening)?;
    let plan = plan_of(bench("uk"), vec![part]);
    lay(&std::sync::Arc::new(plan)).map(Rc::new)
}

fn only(laid: &Laid) -> &LaidArch {
    laid.arches.first().expect("an arch")
}

fn kinds() -> Vec<(Arch, f64)> {
    let mut found = Vec::new();
    for kind in [ArchKind::Flat, ArchKind::Segmental, ArchKind::Semicircular] {
        for thickness in [0.5, 1.0, 1.5] {
            found.push((Arch::of(kind), thickness));
        }
    }
    let segmental = Arch::of(ArchKind::Segmental);
    found.push((
        Arch {
            rings: 2,
            ..segmental
        },
        1.0,
    ));
    found.push((
        Arch {
            standing: Standing::Soldier,
            ..segmental
        },
        0.5,
    ));
    found.push((
        Arch {
            cut: Some(true),
            rise: Some(Length::mm(200)),
            ..segmental
        },
        0.5,
    ));
    found
}

/// Span, rise, radius, skewback and soffit of segmental arches, inches and degrees: BIA Technical Note 31A, tan g =
/// 4rS/(S² − 4r²) and sin g = S/2R, which agree to four places; radius and soffit by geometry.
#[test]
fn segmental_arches_have_the_published_skewbacks() {
    for (span, rise, radius, skewback, soffit) in [
        ("24", "3", 25.5, 28.0725, 24.9878),
        ("36", "3.6", 46.8, 22.6199, 36.9524),
        ("36", "4", 42.5, 25.0576, 37.1737),
        ("48", "6", 51.0, 28.0725, 49.9756),
        ("72", "10.8", 65.4, 33.3985, 76.2451),
    ] {
        let (s, r) = (inch(span), inch(rise));
        let found = arch_radius(s, r);
        assert!((found.to_inch() - radius).abs() < 1e-6, "{span}, {rise}");
        let angle = skewback_angle(s, found);
        assert!(
            (angle.to_degrees() - skewback).abs() < 5e-5,
            "{span}, {rise}"
        );
        let tangent =
            4.0 * r.to_inch() * s.to_inch() / (s.to_inch().powi(2) - 4.0 * r.to_inch().powi(2));
        assert!((angle.tan() - tangent).abs() < 1e-6);
        let round = 2.0 * angle * found.to_inch();
        assert!((round - soffit).abs() < 5e-5, "{span}, {rise}");
    }
    // A half circle: 90 degrees.
    let span = inch("36");
    let radius = arch_radius(span, span.half());
    assert_eq!(radius, span.half());
    assert!((skewback_angle(span, radius).to_degrees() - 90.0).abs() < 1e-9);
}

/// Jack arch: tan g = S/8 with S in feet (BIA Technical Note 31A); camber 1/8 in per foot (brickcutters' data sheet).
#[test]
fn flat_arches_lean_and_rise_by_their_span() {
    let laid = arched(Arch::of(ArchKind::Flat), 0.5, (1, 8));
    let arch = only(&laid);
    let tangent = arch.span.to_ft() / 8.0;
    assert!((arch.skewback.to_radians().tan() - tangent).abs() < 1e-9);
    assert!((arch.rise.to_inch() - arch.span.to_ft() / 8.0).abs() < 1e-6);
    // As an outline: 1/2 in per foot of span for each 4 in of depth, on each side.
    let lean = arch.outline.shoulder_half - arch.outline.bottom_half;
    let published = 0.5 * arch.span.to_ft() * arch.depth.to_inch() / 4.0;
    assert!((lean.to_inch() - published).abs() < 1e-6);
}

fn prisms(laid: &Laid) -> Vec<&Prism> {
    laid.pieces
        .iter()
        .filter_map(|piece| match laid.shaping(piece) {
            Some(Shaping::Prism(prism)) => Some(prism),
            _ => None,
        })
        .collect()
}

/// Counts are odd with a key, and joints keep 1/8 in to 3/4 in (Modern Masonry 2016, p. 317) or are listed.
#[test]
fn voussoirs_are_odd_and_their_joints_within_limits() {
    for (arch, thickness) in kinds() {
        let laid = arched(arch, thickness, (1, 8));
        for ring in &only(&laid).rings {
            assert_eq!(ring.voussoirs % 2, 1, "{arch:?}");
            assert!(ring.joints.0 >= ARCH_JOINTS.0, "{arch:?} {ring:?}");
            assert!(ring.joints.1 <= ARCH_JOINTS.1, "{arch:?} {ring:?}");
        }
        let keys = laid.pieces.iter().filter(|p| p.role == Role::Key).count();
        assert!(keys >= only(&laid).rings.len());
    }
}

/// Joints as stated are the distances between corners as laid, in every joint between two voussoirs of a ring.
#[test]
fn joints_are_where_the_corners_say() {
    let laid = arched(Arch::of(ArchKind::Segmental), 0.5, (1, 8));
    let found = prisms(&laid);
    let ring = only(&laid).rings.first().expect("a ring");
    assert_eq!(found.len(), ring.voussoirs as usize);
    let apart =
        |a: (Length, Length), b: (Length, Length)| (a.0 - b.0).to_mm().hypot((a.1 - b.1).to_mm());
    for pair in found.windows(2) {
        let [one, other] = pair else { continue };
        let below = apart(one.corners[1], other.corners[0]);
        let above = apart(one.corners[2], other.corners[3]);
        assert!((below - ring.joints.0.to_mm()).abs() < 1e-4, "{below}");
        assert!((above - ring.joints.1.to_mm()).abs() < 1e-4, "{above}");
    }
}

/// Whether a point lies more than a hair inside an anticlockwise quadrilateral.
fn inside(corners: &[(Length, Length); 4], (x, z): (f64, f64)) -> bool {
    let [one, two, three, four] = *corners;
    [(one, two), (two, three), (three, four), (four, one)]
        .into_iter()
        .all(|(a, b)| {
            let (ax, az) = (a.0.to_mm(), a.1.to_mm());
            let (dx, dz) = (b.0.to_mm() - ax, b.1.to_mm() - az);
            (dx * (z - az) - dz * (x - ax)) / dx.hypot(dz) > 1e-3
        })
}

/// On a fine lattice over the wall no point lies in two of: pieces as cut, voussoirs, voids. Points of the lattice
/// also measure the joints, which must agree with the stated volume.
#[test]
fn what_is_laid_does_not_overlap_and_leaves_the_joints() {
    const STEP: f64 = 11.3;
    for (arch, thickness) in kinds() {
        let laid = arched(arch, thickness, (1, 8));
        let part = laid.parts.first().expect("a part");
        // In the middle of the outermost leaf every piece and voussoir of that leaf is met.
        let depth = laid.pieces[0].at.y + laid.pieces[0].width.half();
        let pieces: Vec<_> = laid
            .pieces
            .iter()
            .filter(|piece| {
                let (from, to) = laid.bounds(piece).span(perpend::layout::Axis::Y);
                from < depth && depth < to
            })
            .collect();
        let outline = only(&laid).outline;
        let (mut filled, mut open, mut all) = (0_u64, 0_u64, 0_u64);
        let half = outline.widest_half().to_mm() + 400.0;
        let (mut x, middle) = (-half, outline.middle.to_mm());
        while x < half {
            let mut z = 0.7;
            while z < part.outside.height.to_mm() {
                all += 1;
                let mut met = 0;
                for piece in &pieces {
                    let cuboid = laid.bounds(piece);
                    let along = cuboid.span(perpend::layout::Axis::X);
                    let high = cuboid.heights();
                    let (px, pz) = (middle + x, z);
                    let within = along.0.to_mm() < px
                        && px < along.1.to_mm()
                        && high.0.to_mm() < pz
                        && pz < high.1.to_mm();
                    let solid = within
                        && match laid.shaping(piece) {
                            Some(Shaping::Prism(prism)) => inside(&prism.corners, (px, pz)),
                            Some(Shaping::Raked(outlines, _)) => outlines.iter().all(|outline| {
                                let nm = (pz * 1e6) as i64;
                                outline.half_at(nm).is_none_or(|half| {
                                    half / 1e6 < (px - outline.middle.to_mm()).abs()
                                })
                            }),
                            _ => true,
                        };
                    met += u32::from(solid);
                }
                filled += u64::from(met);
                for void in &laid.voids {
                    let here = match void.shape {
                        VoidShape::Box(open) => {
                            let along = open.span(perpend::layout::Axis::X);
                            let high = open.heights();
                            along.0.to_mm() < middle + x
                                && middle + x < along.1.to_mm()
                                && high.0.to_mm() < z
                                && z < high.1.to_mm()
                        }
                        VoidShape::Profile { profile, .. } => profile
                            .half_at((z * 1e6) as i64)
                            .is_some_and(|half| half / 1e6 - 1e-3 > x.abs()),
                        VoidShape::Cylinder { .. } | VoidShape::Sector(_) => false,
                    };
                    met += u32::from(here);
                    open += u64::from(here);
                }
                assert!(met <= 1, "{arch:?}: {met} at {x}, {z}");
                z += STEP;
            }
            x += STEP;
        }
        // Areas by the lattice against volumes as stated, for a wall of one leaf.
        if thickness < 0.75 {
            let deep = part.thickness.to_mm();
            let area = |count: u64| count as f64 * STEP * STEP;
            let voids: f64 = laid.voids.iter().map(|v| v.volume().to_mm3()).sum();
            assert!(
                (area(open) - voids / deep).abs() < 0.02 * area(open),
                "{arch:?}"
            );
            // Beyond the lattice nothing is cut: its share of units there is what whole courses give.
            let share = area(filled) / area(all - open);
            assert!((0.6..1.0).contains(&share), "{arch:?}: {share}");
        }
        assert!(part.joints.nm3() > 0);
    }
}

/// The void under a half circle is half a circle, and under a segment R²(g − sin g cos g).
#[test]
fn voids_under_arches_have_the_area_of_segments() {
    for (arch, thickness) in kinds() {
        let laid = arched(arch, thickness, (1, 8));
        let found = only(&laid);
        let deep = laid.parts[0].thickness.to_mm();
        let stated: f64 = laid
            .voids
            .iter()
            .filter(|void| matches!(void.shape, VoidShape::Profile { .. }))
            .map(|void| void.volume().to_mm3())
            .sum();
        let radius = found.radius.to_mm();
        let angle = (found.span.to_mm() / 2.0 / radius).min(1.0).asin();
        let segment = radius * radius * (angle - angle.sin() * angle.cos()) * deep;
        assert!(
            (stated - segment).abs() < 1e-5 * segment,
            "{arch:?}: {stated} {segment}"
        );
    }
}

/// Four courses of 75 mm are deeper than a unit of 215 mm is long: each voussoir is of a long and a short piece, and no level
/// joint meets that of its neighbours within a quarter of a unit. Five courses take two even pieces beside three.
#[test]
fn deep_flat_arches_are_bonded_in_their_face() {
    for (courses, in_each) in [(4_u32, [2, 2]), (5, [2, 3])] {
        let arch = Arch {
            courses: Some(courses),
            ..Arch::of(ArchKind::Flat)
        };
        let laid = arched(arch, 0.5, (1, 8));
        let found = only(&laid);
        let depth = Length::mm(75 * i64::from(courses));
        assert_eq!(found.depth, depth);
        let pieces: Vec<_> = laid
            .pieces
            .iter()
            .filter(|piece| matches!(piece.role, Role::Voussoir | Role::Key))
            .collect();
        assert!(
            pieces
                .iter()
                .all(|piece| piece.length <= laid.plan.setting.unit.length)
        );
        // Voussoirs in order along the wall: a piece that starts at the soffit begins the next.
        let mut joints: Vec<Vec<i64>> = Vec::new();
        let top = found.springing + depth;
        for piece in &pieces {
            let (low, high) = laid.bounds(piece).heights();
            if low - found.springing < Length::mm(20) {
                joints.push(Vec::new());
            }
            if high != top {
                joints.last_mut().expect("a voussoir").push(high.nm());
            }
        }
        assert_eq!(joints.len(), found.rings[0].voussoirs as usize);
        let quarter = laid.plan.setting.unit.length.nm() / 4;
        for (order, pair) in joints.windows(2).enumerate() {
            assert_eq!(pair[0].len() + 1, in_each[order % 2], "{courses} {order}");
            for one in &pair[0] {
                assert!(pair[1].iter().all(|other| (one - other).abs() >= quarter));
            }
        }
    }
}

#[test]
fn what_cannot_be_built_is_refused() {
    let code = |arch: Arch, courses| try_arched(arch, 0.5, courses).expect_err("refused").code;
    assert_eq!(
        code(Arch::of(ArchKind::Semicircular), (1, 22)),
        "arch-at-top"
    );
    let segmental = Arch::of(ArchKind::Segmental);
    let steep = Arch {
        rise: Some(Length::mm(600)),
        ..segmental
    };
    assert_eq!(code(steep, (1, 4)), "arch-rise-out-of-range");
    let flat = Arch::of(ArchKind::Flat);
    let deep = Arch {
        courses: Some(7),
        ..flat
    };
    assert_eq!(code(deep, (1, 4)), "voussoir-longer-than-unit");
    let few = Arch {
        voussoirs: Some(3),
        cut: Some(true),
        ..segmental
    };
    assert_eq!(code(few, (1, 4)), "arch-too-small");
}

/// Uncut units round a small half circle leave joints that gape above: laid as asked, and listed.
#[test]
fn joints_beyond_their_limits_are_listed() {
    let arch = Arch {
        cut: Some(false),
        ..Arch::of(ArchKind::Semicircular)
    };
    let laid = arched(arch, 0.5, (1, 4));
    let listed = laid
        .breaches
        .iter()
        .filter(|breach| breach.limit == ARCH_JOINTS.1)
        .count();
    assert_eq!(listed, 1);
}
