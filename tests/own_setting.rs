//! Parts laid with a unit, joints, bond or mortar of their own.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::sync::Arc;

use perpend::compare::{Change, with_changes};
use perpend::layout::{Laid, Piece, lay};
use perpend::masonry::Catalogue;
use perpend::plan::{
    Duct, MortarChoice, OwnSetting, Part, Placement, Plan, Relation, Side, SideRef, Vent,
};
use perpend::quantity::{Length, Mass, Volume};
use perpend::review::Review;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;

mod common;
use common::{bench, chamber, setting, unit, units};

fn own(name: &str) -> OwnSetting {
    OwnSetting {
        unit: Some(unit(name)),
        ..OwnSetting::default()
    }
}

fn firebox(courses: u32, across: f64) -> Part {
    let part = chamber(across, 3.0, courses);
    part.with_vent(Vent {
        name: "air".to_owned(),
        side: SideRef::Side(Side::Left),
        course: 2,
        count: 1,
        width: Length::mm(80),
    })
    .expect("a vent")
}

fn laid(plan: Plan) -> Laid {
    lay(&Arc::new(plan)).expect("laid")
}

fn placed(plan: Plan, name: &str, part: Part) -> Plan {
    plan.with_part(name, Arc::new(part), Placement::Origin)
        .expect("placed")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// A part with a unit of its own is laid as it is in a plan of that unit, and weighs and takes the same.
    #[test]
    fn its_own_unit_does_what_the_plans_would(
        at in 0_usize..6,
        under in 0_usize..6,
        joint in proptest::option::of(3_i64..=14),
        across in 4_i64..=12,
        courses in 3_u32..=8,
    ) {
        let names = ["uk", "nf", "firebrick", "us_modular", "au", "uk_block"];
        let joint = joint.map(Length::mm);
        let part = firebox(courses, across as f64 / 2.0);
        let mut of_its_own = part.clone();
        of_its_own.own = OwnSetting { joint, ..own(names[at]) };
        let one = laid(placed(bench(names[under]), "box", of_its_own));
        let plan = common::plan_with(setting(unit(names[at]), joint, None));
        let other = laid(placed(plan, "box", part));
        prop_assert_eq!(&one.pieces, &other.pieces);
        prop_assert_eq!(&one.breaches, &other.breaches);
        prop_assert_eq!(&one.parts[0].heights, &other.parts[0].heights);
        let (one, other) = (Takeoff::of(&one).expect("a takeoff"), Takeoff::of(&other).expect("a takeoff"));
        prop_assert_eq!(one.units, other.units);
        prop_assert_eq!(one.cutting, other.cutting);
        prop_assert_eq!(one.masses, other.masses);
        prop_assert_eq!(one.mortar, other.mortar);
    }
}

/// A box of common brick with one of firebrick in refractory mortar beside it.
fn pair() -> Plan {
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    let mut fire = firebox(6, 3.0);
    fire.own = OwnSetting {
        mortar: Some(MortarChoice {
            mix: catalogue.mortar("refractory").expect("a mix"),
            bag: None,
            powder_bag: Mass::from_kg(25.0).expect("a mass"),
        }),
        ..own("firebrick")
    };
    fire.fired = true;
    let beside = Placement::Against {
        relation: Relation::RightOf,
        other: "smoke".to_owned(),
        gap: Some(units(1.0)),
        align: perpend::plan::Align::Centre,
    };
    placed(bench("uk"), "smoke", firebox(6, 3.0))
        .with_part("fire", Arc::new(fire), beside)
        .expect("placed")
}

#[test]
fn the_takeoff_keeps_kinds_and_mortars_apart() {
    let laid = laid(pair());
    let takeoff = Takeoff::of(&laid).expect("a takeoff");
    let kinds: Vec<&str> = takeoff
        .kinds
        .iter()
        .map(|kind| kind.unit.as_str())
        .collect();
    assert_eq!(kinds, ["uk", "firebrick"]);
    for (part, kind) in laid.parts.iter().zip(&takeoff.kinds) {
        assert_eq!(kind.laid, part.pieces.len() as u64);
    }
    assert_eq!(takeoff.units.unit, "uk, firebrick");
    let sum: u64 = takeoff.kinds.iter().map(|kind| kind.to_buy).sum();
    assert_eq!(takeoff.units.to_buy, sum);
    let cut = |name: &str| takeoff.cutting.units_of(name);
    assert_eq!(cut("uk") + cut("firebrick"), takeoff.cutting.units());
    assert!(
        takeoff
            .kinds
            .iter()
            .all(|kind| kind.cut_up == cut(&kind.unit))
    );
    let own: Vec<&str> = takeoff
        .mortar
        .joints
        .iter()
        .map(|(name, _)| name.as_str())
        .collect();
    assert_eq!(own, ["smoke"]);
    assert_eq!(takeoff.other_mortars.len(), 1);
    let other = &takeoff.other_mortars[0];
    assert_eq!(other.joints, [("fire".to_owned(), laid.parts[1].joints)]);
    assert_eq!(other.proportions, "ready-mixed");
    let all: Volume = laid.parts.iter().map(|part| part.joints).sum();
    assert_eq!(takeoff.mortar.net + other.net, all);
    // Firebrick 2150 kg/m³ (stdlib/data/units.json): the volume that is laid, by plain multiplication.
    let volume: Volume = laid
        .pieces_of(&laid.parts[1])
        .iter()
        .map(|piece| laid.piece_volume(piece))
        .sum();
    assert!((takeoff.masses.parts[1].units.kg() - volume.to_m3() * 2150.0).abs() < 1e-6);
}

/// One of the plan's units and a joint at each end lie between the faces, whatever stands beside: 215 + 2 · 10 mm.
#[test]
fn a_gap_is_counted_in_the_plans_unit() {
    let laid = laid(pair());
    let (low, high) = (&laid.parts[0].outside, &laid.parts[1].outside);
    assert_eq!(high.at.x - low.at.x - low.length, Length::mm(235));
}

/// The joint round a pipe is the wall's own head joint.
#[test]
fn a_duct_has_the_joint_of_each_wall() {
    let duct = Duct {
        name: "throat".to_owned(),
        from: "fire".to_owned(),
        to: Some("smoke".to_owned()),
        side: None,
        diameter: Length::mm(100),
        course: 3,
        proud: Length::ZERO,
        shift: Length::ZERO,
        raise: Length::ZERO,
        from_annex: None,
        to_annex: None,
        head: None,
    };
    let laid = laid(pair().with_duct(duct).expect("a duct"));
    let bites = |part: usize| {
        let pieces = laid.pieces_of(&laid.parts[part]).iter();
        let mut found: Vec<Length> = pieces
            .filter_map(|piece: &Piece| match laid.shaping(piece) {
                Some(perpend::layout::Shaping::Bites(bites, _)) => Some(bites[0].radius),
                _ => None,
            })
            .collect();
        found.dedup();
        found
    };
    assert_eq!(bites(0), [Length::mm(60)]);
    // 1/8 in.
    assert_eq!(bites(1), [Length::mm(50) + Length::from_nm(3_175_000)]);
}

#[test]
fn changing_the_plans_unit_leaves_a_parts_own() {
    let change = Change::Unit(Box::new(unit("nf")));
    let laid = laid(with_changes(&pair(), &[change]).expect("changed"));
    let names: Vec<&str> = laid
        .parts
        .iter()
        .map(|part| part.setting.unit.name.as_str())
        .collect();
    assert_eq!(names, ["nf", "firebrick"]);
}

#[test]
fn findings_are_of_the_part_that_they_are_about() {
    let mut plan = pair();
    let fire = plan.parts.get_mut("fire").expect("its part");
    Arc::make_mut(&mut fire.part).own.joint = Some(Length::mm(10));
    let found = |plan: Plan| {
        let laid = laid(plan);
        let takeoff = Takeoff::of(&laid).expect("a takeoff");
        let review = Review::of(&laid, &takeoff);
        let codes = review.findings.iter();
        codes
            .filter(|one| one.code == "firebrick-joint-thick")
            .map(|one| one.place.to_string())
            .collect::<Vec<_>>()
    };
    assert_eq!(found(plan), ["fire"]);
    assert!(found(pair()).is_empty());
}

#[test]
fn two_units_of_one_name_are_refused() {
    let mut odd = firebox(4, 3.0);
    let mut unit = unit("nf");
    unit.name = "uk".to_owned();
    odd.own.unit = Some(unit);
    let plan = placed(bench("uk"), "a", firebox(4, 3.0))
        .with_part(
            "b",
            Arc::new(odd),
            Placement::At(Length::mm(3000), Length::ZERO),
        )
        .expect("placed");
    let error = lay(&Arc::new(plan)).expect_err("two of one name");
    assert_eq!(
        (error.code, error.part.as_deref()),
        ("unit-name-twice", Some("b"))
    );
}

#[test]
fn a_range_that_does_not_hold_the_joint_is_refused() {
    let mut part = firebox(4, 3.0);
    part.own.head_range = Some((Length::mm(2), Length::mm(4)));
    let plan = placed(bench("uk"), "a", part);
    let error = lay(&Arc::new(plan)).expect_err("10 mm is not within");
    assert_eq!(
        (error.code, error.key),
        ("joint-out-of-range", Some("head_range"))
    );
}
