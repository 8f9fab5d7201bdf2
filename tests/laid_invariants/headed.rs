//! What carries the work over ducts, in random walls: lintels, half rings and rings of voussoirs beside arches, openings,
//! vents, ledges and branches. Rings are judged from the corners of their voussoirs alone.

use std::cell::Cell;
use std::rc::Rc;

use perpend::layout::Prism;
use perpend::plan::{Arch, ArchKind, DuctHead, Standing};
use proptest::test_runner::TestRunner;

use super::arched::{ROUNDED, apart, arched_plan, corners_from, in_ring, laid_with_arches, twice};
use super::*;

/// Least that is laid of a piece beside a ring, in nanometres: none is left thinner than 20 mm over or under it.
const THIN: i64 = 20_000_000;

/// Voussoirs go all round the hole in as many as are told, share nothing, and stay between the hole and the outline; what
/// else comes within the outline is cut to it.
pub(super) fn check_rings(laid: &Laid) -> Result<(), String> {
    for ring in &laid.duct_rings {
        let origin = (ring.middle.0.nm(), ring.middle.1.nm());
        let mut own: Vec<(&Prism, [(f64, f64); 4])> = Vec::new();
        for piece in laid.pieces.iter().filter(|piece| in_ring(piece)) {
            let Some(Shaping::Prism(prism)) = laid.shaping(piece) else {
                continue;
            };
            let corners = corners_from(prism, origin);
            let far = corners.map(|(x, z)| x.hypot(z));
            let near = far.iter().copied().fold(f64::MAX, f64::min) < ring.outline.nm() as f64;
            let here = usize::from(piece.part) == ring.part
                && prism.axis == ring.axis
                && ring.faces.0 <= prism.depth.0
                && prism.depth.1 <= ring.faces.1;
            if near && here {
                own.push((prism, corners));
            }
        }
        let told: u32 = ring.rings.iter().map(|ring| ring.voussoirs).sum();
        if own.is_empty() || !own.len().is_multiple_of(told as usize) {
            return Err(format!(
                "{} voussoirs of {told} round \"{}\"",
                own.len(),
                ring.name
            ));
        }
        for (index, (prism, corners)) in own.iter().enumerate() {
            if twice(corners) <= 0.0 {
                return Err(format!("a voussoir round \"{}\" is inside out", ring.name));
            }
            for (from, to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
                // The middle of a face comes nearest to the pipe.
                let middle = f64::midpoint(from.0, to.0).hypot(f64::midpoint(from.1, to.1));
                let far = from.0.hypot(from.1);
                let inner = ring.inner.nm() as f64 - ROUNDED;
                if middle < inner || far > ring.outline.nm() as f64 + ROUNDED {
                    return Err(format!(
                        "a voussoir leaves the ring round \"{}\"",
                        ring.name
                    ));
                }
            }
            for (other, theirs) in &own[..index] {
                let deep = prism.depth.0 < other.depth.1 && other.depth.0 < prism.depth.1;
                if deep && !apart(corners, theirs) {
                    return Err(format!("two voussoirs round \"{}\" overlap", ring.name));
                }
            }
        }
        for (index, piece) in laid.pieces.iter().enumerate() {
            if in_ring(piece) || usize::from(piece.part) != ring.part {
                continue;
            }
            let cuboid = bounds(&laid.bounds(piece));
            let across = match ring.axis {
                Axis::X => cuboid[1],
                Axis::Y => cuboid[0],
            };
            if across.0 >= ring.faces.1.nm() || across.1 <= ring.faces.0.nm() {
                continue;
            }
            let taken = cylinder_within(
                ring.axis.across(),
                origin.0,
                origin.1,
                ring.outline.nm(),
                &cuboid,
            );
            let bites = laid.shaping(piece).map_or(&[][..], Shaping::bites);
            let cut = bites.iter().any(|bite| {
                (bite.across, bite.z, bite.radius) == (ring.middle.0, ring.middle.1, ring.outline)
            });
            if taken > 1e18 && !cut {
                return Err(format!(
                    "piece {index} lies in the ring round \"{}\"",
                    ring.name
                ));
            }
            // Over its middle nothing thin is left.
            let along = match ring.axis {
                Axis::X => cuboid[0],
                Axis::Y => cuboid[1],
            };
            let astride = along.0 < origin.0 && along.1 > origin.0;
            let left = if piece.at.z.nm() > origin.1 {
                cuboid[2].1 - origin.1 - ring.outline.nm()
            } else {
                origin.1 - ring.outline.nm() - cuboid[2].0
            };
            if cut && astride && left < THIN {
                return Err(format!(
                    "{left} nm of piece {index} is left at \"{}\"",
                    ring.name
                ));
            }
        }
    }
    Ok(())
}

fn head() -> impl Strategy<Value = DuctHead> {
    let lintel = (
        select(vec![
            LintelKind::Steel,
            LintelKind::Stone,
            LintelKind::Concrete,
        ]),
        proptest::option::of(60..=300_i64),
        1..=2_u32,
    )
        .prop_map(|(kind, bearing, courses)| {
            DuctHead::Lintel(Lintel {
                bearing: bearing.map(Length::mm),
                courses,
                ..Lintel::of(kind)
            })
        });
    let arch = (
        1..=2_u32,
        any::<bool>(),
        proptest::option::weighted(0.3, any::<bool>()),
        any::<bool>(),
    )
        .prop_map(|(rings, soldier, cut, round)| {
            let arch = Arch {
                rings,
                cut,
                standing: if soldier {
                    Standing::Soldier
                } else {
                    Standing::Rowlock
                },
                ..Arch::of(ArchKind::Semicircular)
            };
            if round {
                DuctHead::Ring(arch)
            } else {
                DuctHead::Arch(arch)
            }
        });
    prop_oneof![lintel, arch]
}

/// A chamber or wall with room for a head, one or two leaves or bonded by headers thick.
fn roomy() -> impl Strategy<Value = Part> {
    let outside = |size| Dimension {
        size,
        measure: Measure::Outside,
    };
    (
        (size(11..=18), size(11..=16), any::<bool>()),
        1..=2_i64,
        14..=24_u32,
        proptest::option::of((size(1..=3), 2..=8_u32, 0..4_usize)),
    )
        .prop_map(move |((one, other, closed), thickness, rise, opening)| {
            let shape = if closed {
                Shape::Chamber {
                    across: outside(one),
                    deep: outside(other),
                }
            } else {
                Shape::Wall {
                    legs: vec![
                        Leg {
                            heading: Heading::Right,
                            size: one,
                        },
                        Leg {
                            heading: Heading::Back,
                            size: other,
                        },
                    ],
                    closed: false,
                }
            };
            let bare = Part::new(shape, Rise::Courses(rise)).expect("a path that turns");
            let part = Part { thickness, ..bare };
            let Some((width, from, side)) = opening else {
                return part;
            };
            let side = match part.shape {
                Shape::Wall { .. } => SideRef::Leg(side % 2),
                _ => SideRef::Side(Side::ALL[side]),
            };
            let courses = (i64::from(from), i64::from(from + 3));
            let opening = Opening::new("hatch".to_owned(), side, width, courses);
            let opening = Opening {
                at: Some(Size::HalfUnits(2)),
                lintel: Some(Lintel::of(LintelKind::Stone)),
                ..opening.expect("courses that do not run backwards")
            };
            part.clone().with_opening(opening).unwrap_or(part)
        })
}

/// A plan whose ducts have heads: in roomy walls, and one in four among the arches of [`arched_plan`].
fn headed_plan() -> impl Strategy<Value = Plan> {
    let plain = (empty_plan(), roomy()).prop_map(|(plan, part)| {
        plan.with_part("first", Arc::new(part), Placement::Origin)
            .expect("a first part")
    });
    let duct = (
        (
            60..=420_i64,
            3..=9_u32,
            0..4_usize,
            -200..=200_i64,
            0..=30_i64,
        ),
        proptest::option::weighted(0.9, head()),
    );
    (
        prop_oneof![3 => plain, 1 => arched_plan()],
        proptest::collection::vec(duct, 1..=2),
    )
        .prop_map(|(mut plan, ducts)| {
            for (number, ((diameter, course, side, shift, raise), head)) in
                ducts.into_iter().enumerate()
            {
                let side = match &plan.parts["first"].part.shape {
                    Shape::Wall { legs, .. } => SideRef::Leg(side % legs.len()),
                    _ => SideRef::Side(Side::ALL[side]),
                };
                let diameter = match head {
                    // Round a small pipe no voussoir can be cut.
                    Some(DuctHead::Arch(_) | DuctHead::Ring(_)) => diameter.max(240),
                    _ => diameter.min(220),
                };
                let duct = Duct {
                    side: Some(side),
                    shift: Length::mm(shift),
                    raise: Length::mm(raise),
                    head,
                    ..Duct::new(
                        &format!("duct with a head {number}"),
                        "first",
                        Length::mm(diameter),
                        course,
                    )
                };
                plan = plan.clone().with_duct(duct).unwrap_or(plan);
            }
            plan
        })
}

/// Every invariant holds with lintels, half rings and rings over ducts; and enough of the plans have each.
#[test]
fn heads_over_ducts_are_sound() {
    const CASES: u32 = 140;
    let counts = Rc::new(Cell::new([0_u32; 3]));
    let seen = Rc::clone(&counts);
    let mut runner = TestRunner::new(config(CASES));
    let outcome = runner.run(&headed_plan(), |plan| {
        let Some(laid) = laid_with_arches(plan) else {
            return Ok(());
        };
        let [lintels, halves, rings] = seen.get();
        let over_duct = |body: &&perpend::layout::Body| body.name.starts_with("duct with");
        let half = |arch: &&perpend::layout::LaidArch| arch.name.starts_with("duct with");
        seen.set([
            lintels + u32::from(laid.bodies.iter().any(|body| over_duct(&body))),
            halves + u32::from(laid.arches.iter().any(|arch| half(&arch))),
            rings + u32::from(!laid.duct_rings.is_empty()),
        ]);
        if let Err(broken) = check(&laid) {
            prop_assert!(false, "{}", broken);
        }
        let again = lay(&laid.plan).expect("laid once");
        prop_assert!(laid == again, "the same plan laid twice differs");
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        prop_assert_eq!(takeoff.units.laid, laid.pieces.len() as u64);
        Review::of(&laid, &takeoff);
        Ok(())
    });
    if let Err(broken) = outcome {
        panic!("{broken}");
    }
    println!("lintels, half rings and rings in {:?} plans", counts.get());
    assert!(
        counts.get().iter().all(|&count| count > CASES / 20),
        "{:?}",
        counts.get()
    );
}
