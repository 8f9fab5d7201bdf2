//! Copings: slabs and rowlocks on walls, chambers and piers fill what they should, and nothing else.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::sync::Arc;

use perpend::layout::{Cuboid, Cut, Laid, LaidPart, Piece, Void, lay};
use perpend::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, Coping, CopingKind, Drip, Heading, Leaves, Lid,
    Opening, Part, Placement, PlanError, Relation, SideRef, Size,
};
use perpend::quantity::{Length, Volume};
use perpend::takeoff::{FittingSize, Takeoff};
use proptest::prelude::*;
use proptest::sample::select;

mod common;

use common::{bench, chamber, mm, pier, wall, wall_along};

fn coped(part: Part, coping: Coping) -> Part {
    part.with_coping(coping).expect("a coping")
}

fn lay_one(part: Part) -> Result<Laid, PlanError> {
    let plan = bench("uk").with_part("w", Arc::new(part), Placement::Origin)?;
    lay(&Arc::new(plan))
}

/// Disjoint solids in a disjoint envelope; joints are what is left of it; drips lie in their slabs.
fn check(laid: &Laid, part: &LaidPart) -> Result<(), String> {
    let coping = part.coping.as_ref().ok_or("no coping")?;
    let envelope: Vec<Cuboid> = part
        .envelope
        .iter()
        .chain(&coping.envelope)
        .copied()
        .collect();
    disjoint(&envelope).map_err(|error| format!("envelope: {error}"))?;
    let mut solids: Vec<Cuboid> = laid.pieces.iter().map(Piece::cuboid).collect();
    solids.extend(laid.bodies.iter().map(|body| body.cuboid));
    solids.extend(laid.voids.iter().filter_map(Void::cuboid));
    solids.extend(laid.cavities.iter().map(|(.., open)| *open));
    solids.extend(coping.slabs.iter().map(|slab| slab.cuboid));
    disjoint(&solids)?;
    for one in &solids {
        let held: Volume = envelope
            .iter()
            .filter_map(|wall| wall.shared(one))
            .map(|both| both.volume())
            .sum();
        if held != one.volume() {
            return Err(format!("{one:?} leaves the envelope"));
        }
    }
    let all: Volume = envelope.iter().map(Cuboid::volume).sum();
    let filled: Volume = solids.iter().map(Cuboid::volume).sum();
    if all - filled != part.joints {
        return Err(format!("{:?} of mortar are told", part.joints));
    }
    for slab in &coping.slabs {
        disjoint(&slab.drips)?;
        if slab
            .drips
            .iter()
            .any(|drip| drip.shared(&slab.cuboid) != Some(*drip))
        {
            return Err("a drip leaves its slab".to_owned());
        }
    }
    Ok(())
}

fn disjoint(boxes: &[Cuboid]) -> Result<(), String> {
    let mut sorted = boxes.to_vec();
    sorted.sort_by_key(|cuboid| cuboid.at.x);
    for (at, one) in sorted.iter().enumerate() {
        let end = one.at.x + one.length;
        let mut near = sorted[at + 1..].iter().take_while(|other| other.at.x < end);
        if let Some(other) = near.find(|other| one.shared(other).is_some()) {
            return Err(format!("{one:?} and {other:?} overlap"));
        }
    }
    Ok(())
}

fn shapes() -> impl Strategy<Value = Part> {
    let sizes = proptest::collection::vec((3..=14_i64).prop_map(Size::HalfUnits), 3);
    let paths = select(vec![
        (vec![Heading::Right], false),
        (vec![Heading::Back, Heading::Right], false),
        (vec![Heading::Right, Heading::Back, Heading::Right], false),
        (vec![Heading::Left, Heading::Front, Heading::Right], false),
        (
            vec![Heading::Right, Heading::Back, Heading::Left, Heading::Front],
            true,
        ),
    ]);
    let walls = (paths, sizes.clone()).prop_map(|((headings, closed), sizes)| {
        let size = |at: usize| sizes[if closed { at % 2 } else { at }];
        let legs: Vec<(Heading, Size)> = headings
            .into_iter()
            .enumerate()
            .map(|(at, heading)| (heading, size(at)))
            .collect();
        wall_along(&legs, closed, 4)
    });
    let piers = sizes.prop_map(|sizes| {
        let halves = |size: Size| match size {
            Size::HalfUnits(halves) => halves as f64 / 2.0,
            Size::Length(_) => 2.0,
        };
        pier(halves(sizes[0]), halves(sizes[1]), 4)
    });
    prop_oneof![4 => walls, 1 => piers]
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn copings_are_sound(
        part in shapes(),
        half_thickness in 1..=3_i64,
        cavity in proptest::option::weighted(0.2, 20..=90_i64),
        kind in select(vec![CopingKind::Rowlock, CopingKind::Stone, CopingKind::Concrete]),
        overhang in 0..=90_i64,
        length in 150..=1200_i64,
        drip: bool,
        opening in proptest::option::weighted(0.3, 1..=3_i64),
        branch in proptest::option::weighted(0.3, (2..=5_i64, any::<bool>())),
    ) {
        let mut part = part;
        if part.kind() == perpend::plan::PartKind::Wall {
            part = part.with_thickness(half_thickness as f64 / 2.0).expect("a thickness");
            if let Some(space) = cavity {
                part.thickness = 1;
                part.leaves = Some(Leaves { space: Length::mm(space), filled: false, ties: None });
            }
            if let Some(width) = opening {
                let opening = Opening::new("gate", SideRef::Leg(0), Size::HalfUnits(width), (2, 4));
                part = part.with_opening(opening.expect("courses")).expect("an opening");
            }
            if let Some((long, outside)) = branch {
                let long = Size::HalfUnits(long);
                part = part.with_branch(Branch {
                    name: "spur".to_owned(),
                    kind: BranchKind::Wall,
                    side: SideRef::Leg(0),
                    at: BranchPlace::Centre,
                    reach: if outside { BranchReach::Outside(long) } else { BranchReach::Inside(long) },
                    thickness: 1,
                    courses: None,
                    toothed: true,
                    ties: None,
                }).expect("a branch");
            }
        }
        let mut coping = Coping::of(kind);
        if kind != CopingKind::Rowlock {
            coping.overhang = Length::mm(overhang);
            coping.length = Length::mm(length);
            coping.drip = (drip && overhang >= 20).then_some(Drip::USUAL);
        }
        let plan = bench("uk").with_part("w", Arc::new(coped(part, coping)), Placement::Origin).expect("placed");
        let plan = Arc::new(plan);
        // What crosses itself, or has no room for a slab, is refused.
        let Ok(laid) = lay(&plan) else { return Ok(()) };
        if let Err(broken) = check(&laid, &laid.parts[0]) {
            prop_assert!(false, "{}", broken);
        }
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        let slabs = laid.parts[0].coping.as_ref().expect("a coping").slabs.len();
        let counted: u32 = takeoff.fittings.iter().filter(|f| f.what.ends_with("slab")).map(|f| f.count).sum();
        prop_assert_eq!(counted as usize, slabs);
    }
}

/// Eight UK units are 1790 mm; slabs overhang by 45 mm each way, so 1880 mm of 305 mm slabs: three of 600 mm with joints
/// of 10 mm are 1820 mm, and 50 mm left with a slab make two of 325 mm.
#[test]
fn slabs_on_a_straight_wall_by_hand() {
    let part = wall(8.0, 12).with_thickness(1.0).expect("a thickness");
    let laid = lay_one(coped(part, Coping::of(CopingKind::Stone))).expect("laid");
    let coping = laid.parts[0].coping.as_ref().expect("a coping");
    let lengths: Vec<f64> = coping.slabs.iter().map(|s| s.length().to_mm()).collect();
    assert_eq!(lengths, [600.0, 325.0, 325.0, 600.0]);
    let first = coping.slabs[0].cuboid;
    assert_eq!(
        (first.at.x, first.at.y, first.at.z),
        (mm(-45.0), mm(-45.0), mm(910.0))
    );
    assert_eq!((first.width, first.height), (mm(305.0), mm(50.0)));
    // Along both sides and across the free end.
    assert_eq!(coping.slabs[0].drips.len(), 3);
    assert_eq!(coping.slabs[1].drips.len(), 2);
    assert_eq!(laid.height(), mm(960.0));
    let takeoff = Takeoff::of(&laid).expect("a takeoff");
    let sizes: Vec<(u32, FittingSize)> =
        takeoff.fittings.iter().map(|f| (f.count, f.size)).collect();
    let bar = |long: f64| FittingSize::Bar(mm(long), mm(305.0), mm(50.0));
    assert_eq!(sizes, [(2, bar(600.0)), (2, bar(325.0))]);
    // Stone of 2600 kg/m³ less grooves of 8 × 10 mm: 590 mm along both sides and 265 mm across the end.
    let grooves = 80.0 * (2.0 * 590.0 + 265.0);
    let heaviest = (600.0 * 305.0 * 50.0 - grooves) * 1e-9 * 2600.0;
    let told = takeoff.masses.coping_slabs[0].1.kg();
    assert!((told - heaviest).abs() < 1e-6, "{told} is not {heaviest}");
}

/// Half a unit thick, a rowlock of 215 mm stands out 56.25 mm on both sides of 102.5 mm; one unit thick, not at all.
#[test]
fn rowlocks_stand_out_by_their_length() {
    for (thickness, overhang) in [(0.5, 56.25), (1.0, 0.0), (1.5, 0.0)] {
        let part = wall(4.0, 3).with_thickness(thickness).expect("a thickness");
        let laid = lay_one(coped(part, Coping::of(CopingKind::Rowlock))).expect("laid");
        let coping = laid.parts[0].coping.as_ref().expect("a coping");
        assert_eq!(coping.overhang, mm(overhang));
        let on_edge: Vec<&Piece> = laid.pieces.iter().filter(|p| p.course == 4).collect();
        let whole = on_edge.iter().filter(|p| p.cut == Cut::Whole).count();
        assert_eq!(whole, 12);
        assert_eq!(on_edge.len(), if thickness > 1.0 { 24 } else { 12 });
        assert!(on_edge.iter().all(|p| p.height == mm(102.5)));
    }
}

#[test]
fn a_pier_has_one_cap() {
    let laid = lay_one(coped(pier(2.0, 2.0, 6), Coping::of(CopingKind::Stone))).expect("laid");
    let coping = laid.parts[0].coping.as_ref().expect("a coping");
    assert_eq!(coping.slabs.len(), 1);
    assert_eq!(coping.slabs[0].cuboid.length, mm(440.0 + 90.0));
    assert_eq!(coping.slabs[0].drips.len(), 4);
}

#[test]
fn what_cannot_be_covered_so_is_refused() {
    let code = |result: Result<Laid, PlanError>| result.expect_err("refused").code;
    let cavity = {
        let mut part = wall(4.0, 3);
        part.leaves = Some(Leaves {
            space: mm(50.0),
            filled: false,
            ties: None,
        });
        part
    };
    let rowlock = Coping::of(CopingKind::Rowlock);
    assert_eq!(code(lay_one(coped(cavity, rowlock))), "coping-leaves-a-gap");
    let wide = Coping {
        overhang: mm(90.0),
        ..Coping::of(CopingKind::Stone)
    };
    // 122.5 mm between the legs of a narrow U.
    let legs = [(Heading::Right, 8), (Heading::Back, 3), (Heading::Left, 8)];
    let narrow = legs.map(|(heading, halves)| (heading, Size::HalfUnits(halves)));
    let narrow = coped(wall_along(&narrow, false, 3), wide);
    assert_eq!(code(lay_one(narrow)), "coping-runs-into-itself");
    let no_room = Coping {
        overhang: mm(15.0),
        ..Coping::of(CopingKind::Stone)
    };
    assert_eq!(
        wall(4.0, 3).with_coping(no_room).expect_err("no room").code,
        "drip-does-not-fit"
    );
    let stone = Coping::of(CopingKind::Stone);
    let twice = coped(wall(4.0, 3), stone).with_coping(stone);
    assert_eq!(twice.expect_err("twice").code, "coping-twice");
    let plan = bench("uk")
        .with_part(
            "box",
            Arc::new(coped(chamber(4.0, 4.0, 3), stone)),
            Placement::Origin,
        )
        .expect("placed");
    let against = |relation: Relation, gap: Option<Size>| Placement::Against {
        relation,
        other: "box".to_owned(),
        gap,
        align: perpend::plan::Align::Centre,
    };
    let on = plan.clone().with_part(
        "top",
        Arc::new(chamber(4.0, 4.0, 2)),
        against(Relation::On, None),
    );
    let on = on.and_then(|plan| lay(&Arc::new(plan)));
    assert_eq!(code(on), "stands-on-a-coping");
    let near = |gap: f64| {
        let gap = Some(Size::Length(mm(gap)));
        let beside = against(Relation::RightOf, gap);
        let plan = plan
            .clone()
            .with_part("high", Arc::new(wall(4.0, 9)), beside);
        plan.and_then(|plan| lay(&Arc::new(plan)))
    };
    assert_eq!(code(near(40.0)), "coping-in-the-way");
    assert!(near(50.0).is_ok());
    let lid = plan.with_lid(Lid {
        part: "box".to_owned(),
        annex: None,
        depth: mm(60.0),
        pieces: 1,
        overhang: Length::ZERO,
        hole: Length::ZERO,
    });
    let lid = lid.and_then(|plan| lay(&Arc::new(plan)));
    assert_eq!(code(lid), "stands-on-a-coping");
}
