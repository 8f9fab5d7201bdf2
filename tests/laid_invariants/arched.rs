//! Arches in random walls: what must hold of voussoirs, of the work cut to their outline and of the voids under them,
//! worked out from corners and outlines alone, with ducts, vents, lintels, branches and ledges near.

use std::cell::Cell;
use std::rc::Rc;

use perpend::layout::{Prism, Profile, Role};
use perpend::plan::{Arch, ArchKind, Standing};
use proptest::test_runner::TestRunner;

use super::*;

/// A cubic millimetre in cubic nanometres.
const CUBIC_MM: f64 = 1e18;
/// Corners are rounded to whole nanometres: faces meant to touch may miss by this much.
pub(super) const ROUNDED: f64 = 10.0;

pub(super) fn in_ring(piece: &Piece) -> bool {
    matches!(piece.role, Role::Voussoir | Role::Key)
}

/// Twice the signed area of a polygon: the shoelace formula.
pub(super) fn twice(corners: &[(f64, f64)]) -> f64 {
    let next = corners.iter().cycle().skip(1);
    corners
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - a.1 * b.0)
        .sum()
}

/// Corners from a place near them, where floating point is fine enough for nanometres.
pub(super) fn corners_from(prism: &Prism, origin: (i64, i64)) -> [(f64, f64); 4] {
    prism
        .corners
        .map(|(along, z)| ((along.nm() - origin.0) as f64, (z.nm() - origin.1) as f64))
}

pub(super) fn prism_volume(prism: &Prism) -> f64 {
    let [(along, z), ..] = prism.corners;
    let area = twice(&corners_from(prism, (along.nm(), z.nm()))) / 2.0;
    area * (prism.depth.1 - prism.depth.0).nm() as f64
}

/// Area of an outline left of `reach`, right of its middle and between two heights: a polygon cut by an upright, and a
/// part of a circle.
fn half_area(profile: &Profile, reach: f64, (low, high): (f64, f64)) -> f64 {
    let from_bottom = |place: Length| (place - profile.bottom).nm() as f64;
    let shoulder = from_bottom(profile.shoulder);
    let (narrow, wide) = (
        profile.bottom_half.nm() as f64,
        profile.shoulder_half.nm() as f64,
    );
    let mut area = 0.0;
    let (from, to) = (low.max(0.0), high.min(shoulder));
    if from < to {
        let half = |z: f64| narrow + (wide - narrow) * z / shoulder;
        // Where the slanted side meets the upright, a corner more.
        let meet = (reach - narrow) / (wide - narrow) * shoulder;
        let mut levels = vec![from, to];
        if meet > from && meet < to {
            levels.insert(1, meet);
        }
        area += levels
            .windows(2)
            .map(|level| {
                let (a, b) = (half(level[0]).min(reach), half(level[1]).min(reach));
                twice(&[
                    (0.0, level[0]),
                    (a, level[0]),
                    (b, level[1]),
                    (0.0, level[1]),
                ]) / 2.0
            })
            .sum::<f64>();
    }
    if let Some((centre, radius)) = profile.circle {
        let (from, to) = (low.max(shoulder), high);
        let centre = from_bottom(centre);
        if from < to {
            area += circle_within(
                radius.nm() as f64,
                (0.0, reach),
                (from - centre, to - centre),
            );
        }
    }
    area
}

/// Area that an outline takes of a rectangle.
fn taken(profile: &Profile, along: (i64, i64), z: (i64, i64)) -> f64 {
    let levels = (
        (z.0 - profile.bottom.nm()) as f64,
        (z.1 - profile.bottom.nm()) as f64,
    );
    let upto = |place: i64| {
        let off = (place - profile.middle.nm()) as f64;
        half_area(profile, off.abs(), levels) * off.signum()
    };
    upto(along.1) - upto(along.0)
}

pub(super) fn profile_area(profile: &Profile) -> f64 {
    let half = profile.widest_half().nm() + 1;
    let middle = profile.middle.nm();
    taken(
        profile,
        (middle - half, middle + half),
        (profile.bottom.nm(), profile.top().nm()),
    )
}

/// Whether an arch over a duct takes of a piece all that its pipe would: above the springing it is cut to the arch.
pub(super) fn cut_away(laid: &Laid, piece: &Piece, void: &Void) -> bool {
    let over = laid.arches.iter().filter(|arch| arch.name == void.name);
    let rakes = laid.shaping(piece).map_or(&[][..], Shaping::rakes);
    over.into_iter()
        .any(|arch| rakes.contains(&arch.outline) && piece.at.z >= arch.springing)
}

fn in_wall(bounds: &Bounds, axis: Axis) -> ((i64, i64), (i64, i64)) {
    match axis {
        Axis::X => (bounds[0], bounds[1]),
        Axis::Y => (bounds[1], bounds[0]),
    }
}

/// Volume that arches take of a piece.
pub(super) fn raked_off(laid: &Laid, piece: &Piece, outlines: &[Profile]) -> f64 {
    let cuboid = bounds(&laid.bounds(piece));
    let leg = laid.parts[usize::from(piece.part)].legs[usize::from(piece.leg)];
    let (along, across) = in_wall(&cuboid, leg.axis);
    let area: f64 = outlines
        .iter()
        .map(|outline| taken(outline, along, cuboid[2]))
        .sum();
    area * (across.1 - across.0) as f64
}

/// Distance between a point and a stretch of a line.
fn distance(point: (f64, f64), a: (f64, f64), b: (f64, f64)) -> f64 {
    let (dx, dz) = (b.0 - a.0, b.1 - a.1);
    let along = ((point.0 - a.0) * dx + (point.1 - a.1) * dz) / (dx * dx + dz * dz);
    let along = along.clamp(0.0, 1.0);
    (point.0 - a.0 - along * dx).hypot(point.1 - a.1 - along * dz)
}

/// How near a convex polygon comes to a point outside it; less than nothing for one inside.
pub(super) fn clear_of(corners: &[(f64, f64); 4], point: (f64, f64)) -> f64 {
    let sides = || corners.iter().zip(corners.iter().cycle().skip(1));
    let inside =
        sides().all(|(a, b)| (b.0 - a.0) * (point.1 - a.1) - (b.1 - a.1) * (point.0 - a.0) > 0.0);
    let nearest = sides()
        .map(|(&a, &b)| distance(point, a, b))
        .fold(f64::MAX, f64::min);
    if inside { -nearest } else { nearest }
}

/// Whether a side of one of two convex polygons has all of the other beyond it.
pub(super) fn apart(one: &[(f64, f64); 4], other: &[(f64, f64); 4]) -> bool {
    let parts = |one: &[(f64, f64); 4], other: &[(f64, f64); 4]| {
        one.iter().zip(one.iter().cycle().skip(1)).any(|(a, b)| {
            let long = (b.0 - a.0).hypot(b.1 - a.1);
            other
                .iter()
                .all(|p| ((b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0)) / long <= ROUNDED)
        })
    };
    parts(one, other) || parts(other, one)
}

/// Voussoirs are convex, share nothing, lie within their outline and out of the void under them and of every other
/// void; nothing else lies within an outline.
pub(super) fn check_arches(laid: &Laid) -> Result<(), String> {
    for arch in &laid.arches {
        let (axis, depth) = (arch.axis, (arch.faces.0.nm(), arch.faces.1.nm()));
        let outline = &arch.outline;
        let origin = (outline.middle.nm(), outline.bottom.nm());
        let whole = {
            let half = outline.widest_half().nm();
            let along = (origin.0 - half, origin.0 + half);
            let z = (origin.1, outline.top().nm());
            match axis {
                Axis::X => [along, depth, z],
                Axis::Y => [depth, along, z],
            }
        };
        let own = |piece: &Piece| {
            let cuboid = bounds(&laid.bounds(piece));
            usize::from(piece.part) == arch.part
                && laid.parts[arch.part].legs[usize::from(piece.leg)].axis == axis
                && shared(&cuboid, &whole).is_some()
        };
        let ring: Vec<(&Prism, [(f64, f64); 4])> = laid
            .pieces
            .iter()
            .filter(|piece| in_ring(piece) && own(piece))
            .filter_map(|piece| match laid.shaping(piece) {
                Some(Shaping::Prism(prism)) => Some((prism, corners_from(prism, origin))),
                _ => None,
            })
            // Of two arches beside one another the boxes may meet where the outlines do not.
            .filter(|(_, corners)| {
                let mean =
                    |pick: fn(&(f64, f64)) -> f64| corners.iter().map(pick).sum::<f64>() / 4.0;
                let half = outline.half_at(mean(|corner| corner.1) as i64 + origin.1);
                half.is_some_and(|half| mean(|corner| corner.0).abs() <= half)
            })
            .collect();
        let told: u32 = arch.rings.iter().map(|ring| ring.voussoirs).sum();
        if ring.is_empty() || !ring.len().is_multiple_of(told as usize) {
            return Err(format!(
                "\"{}\" has {} voussoirs of {told}",
                arch.name,
                ring.len()
            ));
        }
        for (index, (prism, corners)) in ring.iter().enumerate() {
            if twice(corners) <= 0.0 {
                return Err(format!("a voussoir over \"{}\" is inside out", arch.name));
            }
            for (along, z) in corners {
                let level = (*z as i64 + origin.1).clamp(origin.1, outline.top().nm());
                let half = outline.half_at(level).unwrap_or(-1.0);
                // A hair higher an outline may be wide in steps of a root: twice the rounding.
                if along.abs() > half + 2.0 * ROUNDED || *z < -ROUNDED {
                    return Err(format!(
                        "a voussoir over \"{}\" leaves its outline at {along}, {z}: {half}",
                        arch.name
                    ));
                }
            }
            for (other, theirs) in &ring[..index] {
                let deep = prism.depth.0 < other.depth.1 && other.depth.0 < prism.depth.1;
                if deep && !apart(corners, theirs) {
                    return Err(format!("two voussoirs over \"{}\" overlap", arch.name));
                }
            }
        }
        check_voids_near(laid, arch.part, axis, &ring, origin)?;
        for (index, piece) in laid.pieces.iter().enumerate() {
            if in_ring(piece) {
                continue;
            }
            let Some(near) = shared(&bounds(&laid.bounds(piece)), &whole) else {
                continue;
            };
            let (along, across) = in_wall(&near, axis);
            let within = taken(outline, along, near[2]) * (across.1 - across.0) as f64;
            let rakes = laid.shaping(piece).map_or(&[][..], Shaping::rakes);
            let raked = rakes.contains(outline);
            if within > CUBIC_MM && !raked {
                return Err(format!(
                    "piece {index} lies {} mm³ within the arch over \"{}\"",
                    within / CUBIC_MM,
                    arch.name
                ));
            }
        }
    }
    Ok(())
}

/// No voussoir lies in an opening's box, in the void under an arch or in a duct.
fn check_voids_near(
    laid: &Laid,
    part: usize,
    axis: Axis,
    ring: &[(&Prism, [(f64, f64); 4])],
    origin: (i64, i64),
) -> Result<(), String> {
    for void in laid.voids.iter().filter(|void| void.part == part) {
        for (prism, corners) in ring {
            let from = |along: i64, z: i64| ((along - origin.0) as f64, (z - origin.1) as f64);
            let clear = match void.shape {
                VoidShape::Box(open) => {
                    let open = bounds(&open);
                    let (along, across) = in_wall(&open, axis);
                    let deep = across.0 < prism.depth.1.nm() && prism.depth.0.nm() < across.1;
                    let [low, high] = [from(along.0, open[2].0), from(along.1, open[2].1)];
                    let square = [low, (high.0, low.1), high, (low.0, high.1)];
                    !deep || apart(corners, &square)
                }
                VoidShape::Profile {
                    axis: own,
                    profile,
                    depth,
                    ..
                } => {
                    let deep = own == axis && depth.0 < prism.depth.1 && prism.depth.0 < depth.1;
                    let (centre, radius) = profile.circle.expect("a curved soffit");
                    let centre = from(profile.middle.nm(), centre.nm());
                    // Of the circle only the part above the springing is open.
                    let low = profile.middle - profile.bottom_half;
                    let (left, springing) = from(low.nm(), profile.bottom.nm());
                    let right = left + 2.0 * profile.bottom_half.nm() as f64;
                    let all = |beyond: &dyn Fn(f64, f64) -> bool| {
                        corners.iter().all(|&(along, z)| beyond(along, z))
                    };
                    !deep
                        || all(&|_, z| z <= springing + ROUNDED)
                        || all(&|along, _| along <= left + ROUNDED)
                        || all(&|along, _| along >= right - ROUNDED)
                        || clear_of(corners, centre) >= radius.nm() as f64 - ROUNDED
                }
                // In a round there are no arches.
                VoidShape::Sector(_) => true,
                VoidShape::Cylinder {
                    axis: own,
                    across,
                    z,
                    radius,
                    span,
                } => {
                    let deep = span.0 < prism.depth.1 && prism.depth.0 < span.1;
                    own == axis
                        || !deep
                        || clear_of(corners, from(across.nm(), z.nm())) >= radius.nm() as f64
                }
            };
            if !clear {
                return Err(format!(
                    "a voussoir {corners:?} from {origin:?} of {:?} lies in \"{}\", {:?}",
                    prism.depth, void.name, void.shape
                ));
            }
        }
    }
    Ok(())
}

// Random plans.

pub(super) fn arch() -> impl Strategy<Value = Arch> {
    let kind = select(vec![
        ArchKind::Flat,
        ArchKind::Segmental,
        ArchKind::Segmental,
        ArchKind::Semicircular,
    ]);
    (
        kind,
        proptest::option::weighted(0.4, 4..=30_i64),
        1..=3_u32,
        proptest::option::weighted(0.3, any::<bool>()),
        proptest::option::weighted(0.2, any::<bool>()),
        proptest::option::weighted(0.2, 1..=4_u32),
    )
        .prop_map(|(kind, share, rings, standing, cut, courses)| {
            let usual = Arch::of(kind);
            let flat = kind == ArchKind::Flat;
            Arch {
                // Of an opening of about two units.
                rise: share
                    .filter(|_| kind == ArchKind::Segmental)
                    .map(|share| Length::mm(share * 10)),
                rings: if flat || rings > 2 { 1 } else { rings },
                standing: match standing {
                    Some(true) => Standing::Soldier,
                    Some(false) if !flat => Standing::Rowlock,
                    _ => usual.standing,
                },
                cut: cut.filter(|_| !flat),
                courses: courses.filter(|_| flat),
                ..usual
            }
        })
}

/// A part of walls high enough for arches, with one or two, and the features of any part.
fn arched_part() -> impl Strategy<Value = Part> {
    let opening = (
        arch(),
        0..4_usize,
        size(1..=6),
        (1..=6_u32, 0..=5_u32),
        proptest::option::of(size(1..=9)),
    );
    let straight = (size(8..=18), 0..2_usize).prop_map(|(size, turn)| Shape::Wall {
        legs: vec![Leg {
            heading: [Heading::Right, Heading::Back][turn],
            size,
        }],
        closed: false,
    });
    let bent =
        (size(8..=16), size(4..=12), 0..2_usize).prop_map(|(one, other, turn)| Shape::Wall {
            legs: vec![
                Leg {
                    heading: Heading::Right,
                    size: one,
                },
                Leg {
                    heading: [Heading::Back, Heading::Front][turn],
                    size: other,
                },
            ],
            closed: false,
        });
    let dimension = || {
        (
            size(6..=14),
            select(vec![Measure::Outside, Measure::Inside]),
        )
            .prop_map(|(size, measure)| Dimension { size, measure })
    };
    let closed =
        (dimension(), dimension()).prop_map(|(across, deep)| Shape::Chamber { across, deep });
    (
        part(),
        prop_oneof![straight, bent, closed],
        10..=20_u32,
        proptest::collection::vec(opening, 1..=2),
    )
        .prop_map(|(base, shape, rise, openings)| {
            let bare = Part::new(shape, Rise::Courses(rise)).expect("a path that turns");
            let mut part = Part {
                snap: base.snap,
                coursing: base.coursing,
                thickness: base.thickness,
                ..bare
            };
            let side_of = |part: &Part, side: usize| match &part.shape {
                Shape::Wall { legs, .. } => SideRef::Leg(side % legs.len()),
                _ => SideRef::Side(Side::ALL[side % 4]),
            };
            // Arches first: what is left out when a plan is refused is what came last.
            for (number, (arch, side, width, (from, more), at)) in openings.into_iter().enumerate()
            {
                let courses = (i64::from(from), i64::from(from + more));
                let bare = Opening::new(
                    format!("arch {number}"),
                    side_of(&part, side),
                    width,
                    courses,
                );
                let opening = Opening {
                    at,
                    arch: Some(arch),
                    ..bare.expect("courses that do not run backwards")
                };
                part = part.clone().with_opening(opening).unwrap_or(part);
            }
            for (side, opening) in base.openings.iter().enumerate() {
                let opening = Opening {
                    side: side_of(&part, side),
                    ..opening.clone()
                };
                part = part.clone().with_opening(opening).unwrap_or(part);
            }
            for (side, vent) in base.vents.iter().enumerate() {
                let vent = Vent {
                    side: side_of(&part, side),
                    course: vent.course + 4,
                    ..vent.clone()
                };
                part = part.clone().with_vent(vent).unwrap_or(part);
            }
            for ledge in &base.ledges {
                part = part.clone().with_ledge(ledge.clone()).unwrap_or(part);
            }
            for branch in base.branches {
                if branch.reach != BranchReach::Across {
                    let side = side_of(&part, 1);
                    let branch = Branch { side, ..branch };
                    part = part.clone().with_branch(branch).unwrap_or(part);
                }
            }
            part
        })
}

/// A plan with arches and ducts through the same walls.
pub(super) fn arched_plan() -> impl Strategy<Value = Plan> {
    let duct = (40..=180_i64, 1..=16_u32, 0..4_usize, -700..=700_i64);
    (
        empty_plan(),
        arched_part(),
        proptest::collection::vec(duct, 0..=3),
    )
        .prop_map(|(plan, part, ducts)| {
            let mut plan = plan
                .with_part("first", Arc::new(part), Placement::Origin)
                .expect("a first part");
            for (number, (diameter, course, side, shift)) in ducts.into_iter().enumerate() {
                let side = match &plan.parts["first"].part.shape {
                    Shape::Wall { legs, .. } => SideRef::Leg(side % legs.len()),
                    _ => SideRef::Side(Side::ALL[side]),
                };
                let duct = Duct {
                    name: format!("duct {number}"),
                    from: "first".to_owned(),
                    side: Some(side),
                    to: None,
                    diameter: Length::mm(diameter),
                    course,
                    proud: Length::ZERO,
                    shift: Length::mm(shift),
                    raise: Length::ZERO,
                    from_annex: None,
                    to_annex: None,
                    head: None,
                };
                plan = plan.clone().with_duct(duct).unwrap_or(plan);
            }
            plan
        })
}

/// The plan as laid: what is refused is changed or left out, arches last.
pub(super) fn laid_with_arches(mut plan: Plan) -> Option<Laid> {
    for _ in 0..20 {
        let error = match lay(&Arc::new(plan.clone())) {
            Ok(laid) => return Some(laid),
            Err(error) => error,
        };
        let about_ducts = error.message.contains("duct");
        let part = Arc::make_mut(&mut plan.parts.get_mut("first")?.part);
        let changed = match error.code {
            "wall-too-thick-for-bond" => std::mem::replace(&mut part.thickness, 2) != 2,
            "split-out-of-range" => std::mem::take(&mut part.coursing) != Coursing::default(),
            "arch-rise-out-of-range" => part.openings.iter_mut().any(|opening| {
                let arch = opening.arch.as_mut();
                arch.is_some_and(|arch| arch.rise.take().is_some())
            }),
            "opening-outside-wall" | "arch-outside-wall" => {
                let mut placed = part.openings.iter_mut().rev();
                placed.any(|opening| opening.at.take().is_some())
            }
            code if code.starts_with("junction") => part.branches.pop().is_some(),
            _ => about_ducts && plan.ducts.pop().is_some(),
        };
        let shorter = changed
            || part.branches.pop().is_some()
            || part.ledges.pop().is_some()
            || part.vents.pop().is_some()
            || part.openings.len() > 1 && part.openings.pop().is_some()
            || plan.ducts.pop().is_some();
        if !shorter {
            return None;
        }
    }
    None
}

/// Every invariant holds with arches in the wall; and enough of the plans have arches, and arches with ducts.
#[test]
fn arched_work_is_sound() {
    const CASES: u32 = 120;
    let (arched, both) = (Rc::new(Cell::new(0)), Rc::new(Cell::new(0)));
    let counts = (Rc::clone(&arched), Rc::clone(&both));
    let mut runner = TestRunner::new(config(CASES));
    let outcome = runner.run(&arched_plan(), |plan| {
        let Some(laid) = laid_with_arches(plan) else {
            return Ok(());
        };
        counts
            .0
            .set(counts.0.get() + u32::from(!laid.arches.is_empty()));
        let with_duct = !laid.arches.is_empty() && !laid.ducts.is_empty();
        counts.1.set(counts.1.get() + u32::from(with_duct));
        if let Err(broken) = check(&laid) {
            prop_assert!(false, "{}", broken);
        }
        let again = lay(&laid.plan).expect("laid once");
        prop_assert!(laid == again, "the same plan laid twice differs");
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        prop_assert_eq!(takeoff.units.laid, laid.pieces.len() as u64);
        let review = Review::of(&laid, &takeoff);
        for breach in &laid.breaches {
            prop_assert!(
                review
                    .findings
                    .iter()
                    .any(|found| found.code == breach.kind.code())
            );
        }
        Ok(())
    });
    if let Err(broken) = outcome {
        panic!("{broken}");
    }
    println!(
        "{} with arches, {} with ducts too",
        arched.get(),
        both.get()
    );
    assert!(
        arched.get() > CASES / 3,
        "{} plans have arches",
        arched.get()
    );
    assert!(both.get() > CASES / 20, "{} have ducts too", both.get());
}
