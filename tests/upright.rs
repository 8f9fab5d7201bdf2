//! Courses of soldiers, sailors, rowlocks and shiners in straight walls: how they stand, that they fill their walls, and
//! what is refused.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::sync::Arc;

use perpend::layout::{Axis, Cuboid, Cut, Laid, LaidPart, Piece, Role, Void, lay};
use perpend::masonry::Catalogue;
use perpend::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, Duct, Heading, Laying, Opening, Part, Placement,
    Plan, PlanError, Relation, SideRef, Size,
};
use perpend::quantity::{Length, Volume};
use perpend::takeoff::Takeoff;
use proptest::prelude::*;
use proptest::sample::select;

mod common;

use common::{bench, chamber, mm, units, wall, wall_along};

fn with(mut part: Part, laid: &[(u32, Laying)]) -> Part {
    part.coursing.laid = laid.to_vec();
    part
}

fn plan_in(unit: &str, bond: &str) -> Plan {
    let mut plan = bench(unit);
    let catalogue = Catalogue::builtin().expect("data");
    plan.setting.bond = catalogue.bond(bond).expect("a bond").clone();
    plan
}

fn lay_in(plan: Plan, part: Part) -> Result<Laid, PlanError> {
    let plan = plan.with_part("w", Arc::new(part), Placement::Origin)?;
    lay(&Arc::new(plan))
}

fn laid_uk(part: Part) -> Laid {
    lay_in(bench("uk"), part).expect("laid")
}

fn course(laid: &Laid, number: u16) -> Vec<&Piece> {
    laid.pieces.iter().filter(|p| p.course == number).collect()
}

/// No two boxes share space, all lie in the envelope, and what they leave of it is the mortar.
fn check(laid: &Laid, part: &LaidPart) -> Result<(), String> {
    let mut boxes: Vec<Cuboid> = laid.pieces.iter().map(Piece::cuboid).collect();
    boxes.extend(laid.bodies.iter().map(|body| body.cuboid));
    boxes.extend(laid.voids.iter().filter_map(Void::cuboid));
    boxes.extend(laid.cavities.iter().map(|(.., open)| *open));
    boxes.sort_by_key(|cuboid| cuboid.at.x);
    for (at, one) in boxes.iter().enumerate() {
        let end = one.at.x + one.length;
        let near = boxes[at + 1..].iter().take_while(|other| other.at.x < end);
        if let Some(other) = near.into_iter().find(|other| one.shared(other).is_some()) {
            return Err(format!("{one:?} and {other:?} overlap"));
        }
        let held: Volume = part
            .envelope
            .iter()
            .filter_map(|wall| wall.shared(one))
            .map(|both| both.volume())
            .sum();
        if held != one.volume() {
            return Err(format!("{one:?} leaves the envelope"));
        }
    }
    let walls: Volume = part.envelope.iter().map(Cuboid::volume).sum();
    let filled: Volume = boxes.iter().map(Cuboid::volume).sum();
    if walls - filled != part.joints {
        return Err(format!("{:?} of mortar are told", part.joints));
    }
    let unit = &laid.plan.setting.unit;
    for piece in &laid.pieces {
        let own = laid.own_sizes(piece);
        let made = [unit.length, unit.width, unit.height];
        let whole = piece.cut == Cut::Whole;
        if own
            .iter()
            .zip(made)
            .any(|(own, made)| *own > made || whole && *own != made)
        {
            return Err(format!("no unit gives {piece:?}"));
        }
        let laying = part_laying(laid, piece);
        if let Some(laying) = laying {
            let across = piece.along.across();
            let run = match laying {
                Laying::Rowlock => across,
                _ => piece.along,
            };
            let cuboid = piece.cuboid();
            let size = |axis: Axis| cuboid.span(axis).1 - cuboid.span(axis).0;
            let [along, _, high] = laying.sizes(unit);
            if cuboid.height != high || size(run) > along {
                return Err(format!("{piece:?} does not stand as a {}", laying.word()));
            }
        }
    }
    Ok(())
}

fn part_laying(laid: &Laid, piece: &Piece) -> Option<Laying> {
    let part = &laid.plan.parts[usize::from(piece.part)].part;
    part.coursing.laid_so(u32::from(piece.course))
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, cases: 96, ..ProptestConfig::default() })]

    #[test]
    fn walls_with_upright_courses_are_sound(
        unit in select(vec!["uk", "nf", "us_modular"]),
        bond in select(vec!["stretcher", "english", "flemish", "monk"]),
        half_thickness in 1..=3_u32,
        sizes in proptest::collection::vec(4..=11_i64, 2),
        closed: bool,
        at in 1..=5_u32,
        more in 1..=3_u32,
        laying in select(vec![Laying::Soldier, Laying::Rowlock]),
        other in select(vec![Laying::Soldier, Laying::Rowlock]),
        opening in proptest::option::of((1..=3_i64, 1..=4_u32)),
        vent in proptest::option::of(20..=90_i64),
    ) {
        let [one, two] = [sizes[0], sizes[1]].map(Size::HalfUnits);
        let legs = if closed {
            vec![(Heading::Right, one), (Heading::Back, two), (Heading::Left, one), (Heading::Front, two)]
        } else {
            vec![(Heading::Right, one), (Heading::Back, two)]
        };
        let bond = if half_thickness == 3 { "stretcher" } else { bond };
        let part = with(wall_along(&legs, closed, 8), &[(at, laying), (at + more, other)]);
        let mut part = part.with_thickness(f64::from(half_thickness) / 2.0).expect("a thickness");
        if let Some((width, from)) = opening {
            let opening = Opening::new("o", SideRef::Leg(0), Size::HalfUnits(width), (i64::from(from), i64::from(from) + 2));
            part = part.with_opening(opening.expect("courses")).expect("an opening");
        }
        if let Some(width) = vent {
            part = part.with_vent(perpend::plan::Vent {
                name: "v".to_owned(),
                side: SideRef::Leg(1),
                course: at,
                count: 1,
                width: Length::mm(width),
            }).expect("a vent");
        }
        let plan = plan_in(unit, bond).with_part("w", Arc::new(part), Placement::Origin).expect("placed");
        let plan = Arc::new(plan);
        // What is too small for its thickness or its opening is refused.
        let Ok(laid) = lay(&plan) else { return Ok(()) };
        if let Err(broken) = check(&laid, &laid.parts[0]) {
            prop_assert!(false, "{}", broken);
        }
        prop_assert!(laid == lay(&plan).expect("laid once"));
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        let least = laid.pieces.iter().map(|p| laid.piece_volume(p)).sum::<Volume>();
        let unit = &laid.plan.setting.unit;
        let made = unit.length.times(unit.width).times(unit.height);
        prop_assert!(made.nm3() * i128::from(takeoff.units.net) >= least.nm3());
    }
}

/// Eight UK units are 1790 mm: 24 soldiers of 65 mm with 23 joints of 10 mm come to 1790 mm, plain arithmetic.
#[test]
fn soldiers_fill_a_uk_wall_three_to_a_unit() {
    let laid = laid_uk(with(wall(8.0, 4), &[(2, Laying::Soldier)]));
    let row = course(&laid, 2);
    assert_eq!(row.len(), 24);
    for (at, soldier) in row.iter().enumerate() {
        assert_eq!((soldier.role, soldier.cut), (Role::Soldier, Cut::Whole));
        assert_eq!(soldier.at.x, mm(75.0) * at as i64);
        assert_eq!(soldier.height, mm(215.0));
    }
    assert_eq!(laid.parts[0].outside.height, mm(3.0 * 75.0 + 225.0));
    assert!(laid.breaches.is_empty());
    assert_eq!(course(&laid, 3)[0].at.z, mm(310.0));
}

/// In a wall one unit thick soldiers stand in two rows, and a rowlock is one unit across it.
#[test]
fn a_wall_one_unit_thick_has_two_rows_of_soldiers_or_one_of_rowlocks() {
    for bond in ["stretcher", "english", "flemish"] {
        let part = with(wall(4.0, 6), &[(3, Laying::Soldier), (6, Laying::Rowlock)]);
        let part = part.with_thickness(1.0).expect("a thickness");
        let laid = lay_in(plan_in("uk", bond), part).expect("laid");
        let rows: Vec<Length> = course(&laid, 3).iter().map(|p| p.at.y).collect();
        assert_eq!(rows.iter().filter(|y| **y == mm(0.0)).count(), 12);
        assert_eq!(rows.iter().filter(|y| **y == mm(112.5)).count(), 12);
        let on_edge = course(&laid, 6);
        assert_eq!(on_edge.len(), 12);
        assert!(
            on_edge
                .iter()
                .all(|p| p.cut == Cut::Whole && p.length == mm(215.0))
        );
        assert!(
            on_edge
                .iter()
                .all(|p| p.along == Axis::Y && p.height == mm(102.5))
        );
    }
}

/// Half a unit thick, rowlocks are snapped: two from a unit, each with its end as fired in the face.
#[test]
fn rowlocks_half_a_unit_thick_are_snapped() {
    let laid = laid_uk(with(wall(4.0, 2), &[(2, Laying::Rowlock)]));
    assert!(course(&laid, 2).iter().all(|p| p.cut == Cut::Bat(1, 2)));
    let takeoff = Takeoff::of(&laid).expect("a takeoff");
    // Twelve halves; the two courses' stretchers are four whole units.
    assert_eq!((takeoff.units.whole, takeoff.units.cut_up), (4, 6));
}

/// 790 mm between a free end and a corner: ten soldiers with ten joints leave 40 mm, a sliver; two of three quarters do.
#[test]
fn no_sliver_stands_beside_a_corner() {
    let laid = laid_uk(with(chamber(4.0, 3.0, 3), &[(2, Laying::Soldier)]));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let narrow = course(&laid, 2)
        .iter()
        .filter(|p| p.cut == Cut::Split)
        .count();
    assert!(course(&laid, 2).iter().all(|p| p.length >= mm(46.0)));
    assert!(narrow <= 4, "{narrow} soldiers are split");
}

#[test]
fn what_cannot_stand_so_is_refused_with_its_cause() {
    let refused = |part: Part| lay_in(bench("uk"), part).expect_err("refused").code;
    let sailor = with(wall(4.0, 3), &[(2, Laying::Sailor)]);
    assert_eq!(refused(sailor), "course-leaves-a-gap");
    let flat = with(wall(4.0, 3), &[(2, Laying::Header)]);
    assert_eq!(refused(flat), "course-lies-flat");
    let above = with(wall(4.0, 3), &[(4, Laying::Soldier)]);
    assert_eq!(refused(above), "course-outside-part");
    let twice = with(wall(4.0, 3), &[(2, Laying::Soldier), (2, Laying::Rowlock)]);
    assert_eq!(refused(twice), "course-twice");
    let branch = Branch {
        name: "spur".to_owned(),
        kind: BranchKind::Wall,
        side: SideRef::Leg(0),
        at: BranchPlace::Centre,
        reach: BranchReach::Outside(units(2.0)),
        thickness: 1,
        courses: None,
        toothed: true,
        ties: None,
    };
    let branched = wall(8.0, 4).with_branch(branch).expect("a branch");
    let branched = with(branched, &[(3, Laying::Soldier)]);
    assert_eq!(refused(branched), "branch-in-upright-course");
}

#[test]
fn a_duct_keeps_clear_of_soldiers() {
    let fire = with(chamber(4.0, 4.0, 10), &[(4, Laying::Soldier)]);
    let plan = |course: u32| {
        bench("uk")
            .with_part("fire", Arc::new(fire.clone()), Placement::Origin)
            .and_then(|plan| {
                plan.with_part(
                    "smoke",
                    Arc::new(chamber(4.0, 4.0, 12)),
                    Placement::Against {
                        relation: Relation::RightOf,
                        other: "fire".to_owned(),
                        gap: Some(Size::Length(mm(300.0))),
                        align: perpend::plan::Align::Centre,
                    },
                )
            })
            .and_then(|plan| {
                plan.with_duct(Duct {
                    to: Some("smoke".to_owned()),
                    ..Duct::new("flue", "fire", mm(110.0), course)
                })
            })
            .and_then(|plan| lay(&Arc::new(plan)))
    };
    assert_eq!(
        plan(4).expect_err("in the soldiers").code,
        "duct-in-upright-course"
    );
    assert!(plan(7).is_ok());
}
