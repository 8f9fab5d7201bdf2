//! What explanations say beside intervals, and changes that do away with breaches of arches, rings, leaves and branches.
#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "a test that fails to lay its plan should stop"
)]

mod common;

use std::sync::Arc;

use common::{bench, courses, plan_of, units, wall};
use perpend::layout::{
    ARCH_JOINTS, Alteration, Flaw, Laid, Remark, Remedies, Voussoirs, explain, lay, remedies,
};
use perpend::plan::{
    Arch, ArchKind, Branch, BranchKind, BranchPlace, BranchReach, Coursing, Dimension, Laying,
    Leaves, Measure, Opening, OwnSetting, Part, Plan, Ring, SideRef, Size, Ties,
};
use perpend::quantity::{Length, LengthStyle};
use perpend::sheet::{explanation_table, remedies_table};

fn arched(arch: Arch) -> Part {
    let mut opening =
        Opening::new("gate", SideRef::Leg(0), units(2.0), (1, 6)).expect("an opening");
    opening.arch = Some(arch);
    wall(8.0, 20).with_opening(opening).expect("a wall")
}

fn uncut() -> Arch {
    Arch {
        cut: Some(false),
        ..Arch::of(ArchKind::Semicircular)
    }
}

fn ring() -> Part {
    let diameter = Dimension {
        size: Size::Length(Length::mm(900)),
        measure: Measure::Inside,
    };
    let ring = Ring {
        diameter,
        laid: Laying::Header,
        cut: false,
    };
    Part::ring(ring, courses(4)).expect("a ring")
}

/// A box of two tied leaves.
fn tied() -> Part {
    Part {
        leaves: Some(Leaves {
            space: Length::mm(50),
            filled: false,
            ties: Some(Ties {
                across: Length::mm(900),
                up: Length::mm(450),
            }),
        }),
        ..common::chamber(6.0, 5.0, 14)
    }
}

/// A wall with a branch that stands off the raster of its bond.
fn branched() -> Part {
    let branch = Branch {
        name: "spur".to_owned(),
        kind: BranchKind::Wall,
        side: SideRef::Leg(0),
        at: BranchPlace::At(Size::Length(Length::mm(480))),
        reach: BranchReach::Inside(units(2.0)),
        thickness: 1,
        courses: None,
        toothed: true,
        ties: None,
    };
    wall(6.5, 6).with_branch(branch).expect("a branch")
}

fn plan(part: Part) -> Arc<Plan> {
    Arc::new(plan_of(bench("uk"), vec![part]))
}

fn remarks(part: Part, course: u32) -> Vec<Remark> {
    let told = explain(&plan(part), "part 0", course).expect("a course");
    let table = explanation_table(&told, LengthStyle::Metric);
    let ways = |way: &str| table.rows.iter().filter(|row| row[3] == way).count();
    assert_eq!(ways("laid"), told.intervals.len() + told.remarks.len());
    told.remarks
}

/// What was laid is no worse than what came next, by joints beyond limits and then by joints off nominal.
fn is_best(laid: Voussoirs, next: Option<Voussoirs>, limits: (Length, Length), joint: Length) {
    if let Some(next) = next {
        assert!(laid.off(limits, joint) <= next.off(limits, joint));
    }
}

#[test]
fn a_course_that_an_arch_crosses_tells_of_its_voussoirs() {
    for course in 1..=20 {
        let found = remarks(arched(uncut()), course);
        let told: Vec<_> = found
            .iter()
            .filter_map(|remark| match remark {
                Remark::Arch(reason) => Some(reason),
                _ => None,
            })
            .collect();
        // It springs from course 6 and rises 230 mm, with its ring and joint 342.5 mm: five courses of 75 mm.
        assert_eq!(
            told.len(),
            usize::from((7..=11).contains(&course)),
            "{course}"
        );
        for reason in told {
            let plan = plan(arched(uncut()));
            let laid = lay(&plan).expect("laid");
            let arch = laid.arches.first().expect("an arch");
            assert_eq!(reason.laid.count, arch.rings[0].voussoirs);
            assert_eq!(reason.laid.joints, arch.rings[0].joints);
            assert!(
                reason.laid.joints.1 > ARCH_JOINTS.1,
                "a joint beyond its limit"
            );
            is_best(reason.laid, reason.next, reason.limits, reason.joint);
        }
    }
}

#[test]
fn a_ring_tells_of_its_units_and_joints() {
    let found = remarks(ring(), 2);
    let [Remark::Ring(reason)] = found.as_slice() else {
        panic!("{found:?}");
    };
    let laid = lay(&plan(ring())).expect("laid");
    let round = laid.parts[0].ring.as_ref().expect("a round");
    assert_eq!(reason.laid.count, round.count);
    assert_eq!(reason.laid.joints, round.joints);
    // At this diameter no thin joint is thinner than allowed; with more units they would be, with fewer the others gape.
    let next = reason.next.expect("another way");
    let thin = |one: Voussoirs| one.too_thin(reason.limits.0);
    assert!(thin(reason.laid) == Length::ZERO);
    let off = |one: Voussoirs| one.off(reason.limits, reason.joint);
    assert!(thin(next) > Length::ZERO || off(reason.laid) <= off(next));
}

#[test]
fn beds_and_splits_are_told_in_the_courses_that_have_them() {
    let part = Part {
        coursing: Coursing {
            under: vec![(3, Length::mm(13))],
            split: vec![(4, Length::mm(40))],
            ..Coursing::default()
        },
        ..wall(4.0, 6)
    };
    assert_eq!(remarks(part.clone(), 2), []);
    let bed = Remark::Bed {
        thick: Length::mm(13),
        usual: Length::mm(10),
    };
    assert_eq!(remarks(part.clone(), 3), [bed]);
    let split = Remark::Split {
        to: Length::mm(40),
        unit: Length::mm(65),
    };
    assert_eq!(remarks(part, 4), [split]);
}

#[test]
fn ties_are_told_over_the_courses_that_they_lie_on() {
    let laid = lay(&plan(tied())).expect("laid");
    let mut told = 0;
    for course in 1..=14 {
        for remark in remarks(tied(), course) {
            if let Remark::Ties { count, .. } = remark {
                told += count;
                assert!(laid.ties.iter().any(|tie| tie.course == course));
            }
        }
    }
    assert_eq!(told, laid.ties.len());
    assert!(told > 4);
}

#[test]
fn walls_bonded_through_tell_which_of_them_pass_the_corners() {
    let part = Part {
        own: OwnSetting {
            bond: Some("english".to_owned()),
            ..OwnSetting::default()
        },
        thickness: 2,
        ..common::chamber(5.5, 4.0, 4)
    };
    let leading = |course| match remarks(part.clone(), course).as_slice() {
        [Remark::Corners { leading }] => *leading,
        other => panic!("{other:?}"),
    };
    assert_ne!(leading(1), leading(2));
    assert_eq!(leading(1), leading(3));
}

fn found(part: Part) -> (Laid, Remedies) {
    let plan = plan(part);
    let laid = lay(&plan).expect("laid");
    let remedies = remedies(&plan, "part 0").expect("remedies");
    let rows = remedies_table(
        "part 0",
        &remedies,
        &vec![0; remedies.found.len()],
        LengthStyle::Metric,
    )
    .rows;
    assert!(rows.len() >= remedies.found.len());
    // Each does what it says.
    for remedy in &remedies.found {
        let again = lay(&remedy.plan).expect("laid again");
        assert_eq!(again.breaches.len(), remedy.left);
        for gone in &remedy.removes {
            let still = again
                .breaches
                .iter()
                .any(|b| (Flaw::Breach(b.kind), Some(b.course)) == (gone.flaw, gone.course));
            assert!(!still, "{:?}", remedy.alteration);
        }
    }
    (laid, remedies)
}

#[test]
fn an_arch_whose_joints_gape_may_be_cut() {
    let (laid, remedies) = found(arched(uncut()));
    assert!(!laid.breaches.is_empty());
    let cut = |remedy: &&perpend::layout::Remedy| {
        matches!(remedy.alteration, Alteration::ArchCut { to: true, .. })
    };
    let remedy = remedies.found.iter().find(cut).expect("cut voussoirs");
    assert!(remedy.more_cuts > 0 && remedy.left == 0);
}

#[test]
fn a_ring_whose_joints_gape_may_be_cut() {
    let (laid, remedies) = found(ring());
    assert!(!laid.breaches.is_empty());
    assert_eq!(remedies.without().count(), 0);
    let cut =
        |remedy: &perpend::layout::Remedy| remedy.alteration == Alteration::RingCut { to: true };
    assert!(remedies.found.iter().any(cut));
}

#[test]
fn a_branch_off_the_raster_may_be_moved_onto_it() {
    let (laid, remedies) = found(branched());
    assert!(!laid.breaches.is_empty());
    let moved = remedies
        .found
        .iter()
        .find_map(|remedy| match &remedy.alteration {
            Alteration::BranchPlace { to, .. } if remedy.left == 0 => Some(*to),
            _ => None,
        });
    // Whole quarters of a unit and its joint, 225 mm.
    assert_eq!(moved.expect("a place").nm() % 56_250_000, 0);
}

#[test]
fn leaves_may_be_set_nearer() {
    let (laid, remedies) = found(tied());
    if !laid.breaches.is_empty() {
        let nearer = |remedy: &perpend::layout::Remedy| {
            matches!(remedy.alteration, Alteration::LeavesSpace { .. })
        };
        assert!(remedies.found.iter().any(nearer), "{:?}", remedies.found);
    }
}
