//! Branches, partitions and attached piers in walls that headers bond: textbook cases read course by
//! course. What must hold of any of them is in `laid_invariants/joined.rs`.
#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{plan_of, plan_with, setting, unit};
use perpend::layout::{Axis, BreachKind, Cut, Laid, Piece, Role, lay};
use perpend::masonry::Catalogue;
use perpend::plan::{
    Branch, BranchKind, BranchPlace, BranchReach, Dimension, Leaves, Measure, Part, PierRow, Plan,
    PlanError, Rise, Shape, Side, SideRef, Size, Vent,
};
use perpend::quantity::Length;

fn in_bond(bond: &str, name: &str, part: Part) -> Plan {
    let mut setting = setting(unit(name), None, None);
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    setting.bond = catalogue.bond(bond).expect("a bond").clone();
    plan_of(plan_with(setting), vec![part])
}

fn laid(bond: &str, part: Part) -> Laid {
    lay(&Arc::new(in_bond(bond, "uk", part))).expect("a plan that can be laid")
}

fn wall(units: f64, courses: u32, thickness: f64) -> Part {
    let part = common::wall(units, courses);
    part.with_thickness(thickness).expect("a thickness")
}

fn chamber(across: i64, deep: i64, courses: u32, thickness: f64) -> Part {
    let outside = |halves| Dimension {
        size: Size::HalfUnits(halves),
        measure: Measure::Outside,
    };
    let shape = Shape::Chamber {
        across: outside(across),
        deep: outside(deep),
    };
    let part = Part::new(shape, Rise::Courses(courses)).expect("a chamber");
    part.with_thickness(thickness).expect("a thickness")
}

fn inside(length: i64, at: i64, thickness: i64) -> Branch {
    Branch {
        name: "branch".to_owned(),
        kind: BranchKind::Wall,
        side: SideRef::Leg(0),
        at: BranchPlace::At(Size::HalfUnits(at)),
        reach: BranchReach::Inside(Size::HalfUnits(length)),
        thickness,
        courses: None,
        toothed: true,
        ties: None,
    }
}

fn pier(width: i64, out: i64, at: i64) -> Branch {
    Branch {
        kind: BranchKind::Pier,
        ..inside(out, at, width)
    }
}

/// What one line along an axis meets in a course, from low to high: `S` a stretcher along the line, `T` one cut, `H` a
/// header across it, `h` one snapped, `E` a unit of other work that lies across, `e` one of those cut, `q` a closer.
fn along(laid: &Laid, course: u16, axis: Axis, across: f64) -> String {
    let across = Length::from_mm(across).expect("a place");
    let mut met: Vec<(Length, char)> = laid
        .pieces
        .iter()
        .filter(|piece| piece.course == course)
        .filter(|piece| {
            let (from, to) = piece.cuboid().span(axis.across());
            from < across && across < to
        })
        .map(|piece| {
            let whole = piece.cut == Cut::Whole;
            let letter = match (piece.role, piece.along == axis, whole) {
                (Role::Closer, ..) => 'q',
                (Role::Header, _, true) => 'H',
                (Role::Header, _, false) => 'h',
                (_, true, true) => 'S',
                (_, true, false) => 'T',
                (_, false, true) => 'E',
                (_, false, false) => 'e',
            };
            (piece.cuboid().span(axis).0, letter)
        })
        .collect();
    met.sort_unstable();
    met.into_iter().map(|(_, letter)| letter).collect()
}

/// The faces of a wall along x, in front and behind, and a line through its branch.
fn read(laid: &Laid, course: u16, back: f64, branch: f64) -> [String; 3] {
    [
        along(laid, course, Axis::X, 20.0),
        along(laid, course, Axis::X, back),
        along(laid, course, Axis::Y, branch),
    ]
}

/// A T junction of walls one brick thick in English bond: where the wall shows stretchers, the cross wall's header course
/// enters half a brick, a queen closer first, so that its next header is the tie brick with a quarter lap in the wall;
/// where the wall shows headers, the cross wall's stretchers butt (textbooks of brickwork, from memory). The outer face
/// stays as it was.
#[test]
fn an_english_t_junction_is_tied_by_the_header_beside_the_closer() {
    let laid = laid(
        "english",
        wall(8.0, 4, 1.0)
            .with_branch(inside(6, 6, 2))
            .expect("a branch"),
    );
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    for course in [1, 3] {
        let expected = ["HqHHHHHHHHHHHHHqH", "HqHHHHHHHHHHHHHqH", "HSSS"];
        assert_eq!(read(&laid, course, 200.0, 700.0), expected, "{course}");
    }
    for course in [2, 4] {
        // Behind, the closer and the tie brick of the branch take the place of one stretcher.
        let expected = ["SSSSSSSS", "SSSHSSSS", "EqHHHHHqH"];
        assert_eq!(read(&laid, course, 200.0, 700.0), expected, "{course}");
        // The closer lies in the wall, before the tie brick.
        assert_eq!(along(&laid, course, Axis::X, 130.0), "SSSqSSSS");
    }
    // The tie brick crosses the face by about a quarter of a unit to each side.
    let face = Length::mm(215);
    let over = laid
        .pieces
        .iter()
        .filter(|piece| piece.course == 2 && piece.role == Role::Header)
        .map(|piece| piece.cuboid().span(Axis::Y))
        .find(|(from, to)| *from < face && face < *to);
    let (from, to) = over.expect("a tie brick");
    assert!(face - from > Length::mm(45) && to - face > Length::mm(45));
}

/// In Flemish bond the cross wall takes the place of one stretcher of the inner face, with a closer and the tie brick next
/// to it as in English bond (from memory); the outer face stays as it was.
#[test]
fn a_flemish_t_junction_takes_one_stretcher() {
    let part = wall(8.0, 4, 1.0)
        .with_branch(inside(6, 3, 2))
        .expect("a branch");
    let laid = laid("flemish", part);
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    for course in [1, 3] {
        assert_eq!(along(&laid, course, Axis::X, 20.0), "SHSHSHSHSHH");
        assert_eq!(along(&laid, course, Axis::X, 130.0), "SHqHSHSHSHH");
        assert_eq!(along(&laid, course, Axis::X, 200.0), "SHHHSHSHSHH");
        assert_eq!(along(&laid, course, Axis::Y, 400.0), "EqHSHTH");
    }
    for course in [2, 4] {
        let face = along(&laid, course, Axis::X, 20.0);
        assert_eq!(face, "HqSHSHSHSHHT");
        assert_eq!(along(&laid, course, Axis::X, 200.0), face);
    }
}

/// A half-brick partition off a one-brick wall enters it half a brick, where the wall has a header: what is left of that
/// header is a half bat, so that the face stays (from memory).
#[test]
fn a_half_brick_partition_takes_half_a_header() {
    // The header course of the wall starts with a header and a closer, so headers lie at odd quarters.
    let at = BranchPlace::At(Size::Length(Length::from_mm(618.75).expect("a length")));
    let part = wall(8.0, 4, 1.0).with_branch(Branch {
        at,
        ..inside(4, 0, 1)
    });
    let laid = laid("english", part.expect("a branch"));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    for course in [1, 3] {
        let face = along(&laid, course, Axis::X, 20.0);
        assert_eq!(face.replace('h', "H"), "HqHHHHHHHHHHHHHqH", "{course}");
        assert_eq!(face.matches('h').count(), 1);
        assert_eq!(along(&laid, course, Axis::X, 200.0).matches('E').count(), 1);
    }
    for course in [2, 4] {
        assert_eq!(along(&laid, course, Axis::X, 20.0), "SSSSSSSS");
        assert_eq!(along(&laid, course, Axis::X, 200.0), "SSSSSSSS");
        assert_eq!(along(&laid, course, Axis::Y, 700.0), "EESS");
    }
}

/// Walls that cross take turns in every bond, each with the bond's faces away from the crossing.
#[test]
fn walls_that_cross_take_turns_in_headers() {
    for bond in ["english", "flemish", "english garden"] {
        let reach = BranchReach::Through(Size::HalfUnits(4), Size::HalfUnits(4));
        let part = wall(8.0, 6, 1.0).with_branch(Branch {
            reach,
            ..inside(0, 6, 2)
        });
        let laid = laid(bond, part.expect("a branch"));
        assert!(laid.breaches.is_empty(), "{bond}: {:?}", laid.breaches);
        let mut last = None;
        for course in 1..=6 {
            // In the middle of the crossing lies a unit of one of the two.
            let own = laid
                .pieces
                .iter()
                .filter(|piece| piece.course == course)
                .any(|piece| {
                    let (x, y) = (piece.cuboid().span(Axis::X), piece.cuboid().span(Axis::Y));
                    let inside = Length::mm(700);
                    piece.leg == 0 && x.0 < inside && inside < x.1 && y.1 > Length::mm(105)
                });
            assert_ne!(last, Some(own), "{bond}, course {course}");
            last = Some(own);
        }
    }
}

/// A pier one brick wide that stands half a brick out of a one-brick wall, in the trade's way: in one course a stretcher
/// before the wall, which runs on behind; in the next two headers that enter it half a brick, a stretcher left of the wall
/// behind them (textbooks of brickwork, from memory).
#[test]
fn an_attached_pier_is_a_stretcher_and_two_headers_in_turn() {
    for (bond, at) in [("english", 6), ("english garden", 6), ("flemish", 6)] {
        let part = wall(8.0, 6, 1.0)
            .with_branch(pier(2, 1, at))
            .expect("a pier");
        let laid = laid(bond, part);
        assert!(laid.breaches.is_empty(), "{bond}: {:?}", laid.breaches);
        let wall = Length::mm(215);
        let mut last = None;
        for course in 1..=6 {
            let pier: Vec<&Piece> = laid
                .pieces
                .iter()
                .filter(|p| p.course == course && p.cuboid().span(Axis::Y).1 > wall)
                .collect();
            assert!(pier.iter().all(|piece| piece.cut == Cut::Whole), "{bond}");
            let across = match pier.as_slice() {
                [stretcher] => stretcher.along != Axis::X,
                [one, other] => one.along == Axis::Y && other.along == Axis::Y,
                other => panic!("{bond}, course {course}: {other:?}"),
            };
            assert_ne!(last, Some(across), "{bond}, course {course}");
            last = Some(across);
            // The outer face is that of the wall alone.
            assert!(!along(&laid, course, Axis::X, 20.0).contains(['E', 'e']));
        }
    }
}

/// A pier one and a half bricks wide: three headers, then two three-quarter bats, so that no joint lies over another.
#[test]
fn a_wider_pier_shows_three_quarters() {
    let laid = laid(
        "english",
        wall(8.0, 4, 1.0)
            .with_branch(pier(3, 1, 6))
            .expect("a pier"),
    );
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let faces: Vec<String> = (1..=4)
        .map(|course| along(&laid, course, Axis::X, 300.0))
        .collect();
    assert!(
        faces == ["TT", "EEE", "TT", "EEE"] || faces == ["EEE", "TT", "EEE", "TT"],
        "{faces:?}"
    );
}

/// An English garden wall 17 bricks long with piers on one side at most 2 m apart, one at each end: whole bricks but for
/// the wall's own quoin closers.
#[test]
fn a_garden_wall_with_piers_keeps_its_bond() {
    let row = PierRow {
        pier: pier(2, 1, 0),
        every: Size::Length(Length::mm(2000)),
    };
    let laid = laid(
        "english garden",
        wall(17.0, 12, 1.0).with_pier_row(row).expect("piers"),
    );
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    assert_eq!(laid.parts[0].junctions.len(), 3);
    for course in 1..=12 {
        let face = along(&laid, course, Axis::X, 20.0);
        // At the ends no closer: its joint would lie over the one between the headers of the pier.
        let headers = format!("T{}T", "H".repeat(31));
        match course % 4 {
            1 => assert_eq!(face, headers, "{course}"),
            2 | 0 => assert_eq!(face, "S".repeat(17), "{course}"),
            _ => assert!(
                !face.contains('q') && !face.contains(['E', 'e']),
                "{course}: {face}"
            ),
        }
    }
}

/// Piers stand where they are wanted, not where the bond has joints: between them the courses of headers stay courses of
/// headers, whole ones from tooth to tooth, since stretchers alone would leave the two leaves untied there.
#[test]
fn courses_of_headers_stay_so_between_piers() {
    let mut judged = 0;
    for bond in ["common", "english garden", "english cross", "english"] {
        for (every, width) in [(2_400, 3), (3_100, 4)] {
            let row = PierRow {
                pier: Branch {
                    reach: BranchReach::Through(Size::HalfUnits(1), Size::HalfUnits(1)),
                    ..pier(width, 1, 0)
                },
                every: Size::Length(Length::mm(every)),
            };
            let part = wall(24.0, 13, 1.0).with_pier_row(row).expect("piers");
            let with_piers = laid(bond, part);
            let plain = laid(bond, wall(24.0, 13, 1.0));
            for course in 1..=13 {
                let of_bond = along(&plain, course, Axis::X, 20.0);
                if of_bond.matches('H').count() < 40 {
                    continue;
                }
                judged += 1;
                let face = along(&with_piers, course, Axis::X, 20.0);
                assert!(
                    !face.contains('S'),
                    "{bond}, piers of {width} halves every {every} mm, course {course}: {face}"
                );
            }
        }
    }
    assert!(judged > 30, "{judged}");
}

/// A partition in an English chamber, one brick thick, is tied into both sides; both compartments are as wide as what it
/// leaves of the inside.
#[test]
fn a_partition_divides_an_english_chamber() {
    let part = chamber(14, 9, 8, 1.0).with_branch(Branch {
        kind: BranchKind::Partition,
        side: SideRef::Side(Side::Front),
        at: BranchPlace::Centre,
        reach: BranchReach::Across,
        ..inside(0, 0, 2)
    });
    let laid = laid("english", part.expect("a partition"));
    assert!(laid.breaches.is_empty(), "{:?}", laid.breaches);
    let part = &laid.parts[0];
    let [left, right] = part.compartments.as_slice() else {
        panic!("two compartments: {:?}", part.compartments);
    };
    let inside = part.inside.expect("an inside");
    assert_eq!(
        left.space.length + right.space.length + Length::mm(215),
        inside.length
    );
    // In every second course it reaches into each wall.
    let (front, back) = (Length::mm(215), inside.span(Axis::Y).1);
    let reaches = |course: u16, face: Length| {
        laid.pieces.iter().any(|piece| {
            let (from, to) = piece.cuboid().span(Axis::Y);
            piece.course == course && piece.leg == 4 && from < face && face < to
        })
    };
    for face in [front, back] {
        let into: Vec<bool> = (1..=8).map(|course| reaches(course, face)).collect();
        assert!(into.windows(2).all(|pair| pair[0] != pair[1]), "{into:?}");
    }
}

/// A one-brick branch off a wall one and a half bricks thick enters the row of the face that it meets; of the wall there
/// stays one brick, whole.
#[test]
fn a_branch_enters_a_thicker_wall_half_a_brick() {
    for bond in ["english", "flemish"] {
        let laid = laid(
            bond,
            wall(8.0, 4, 1.5)
                .with_branch(inside(6, 6, 2))
                .expect("a branch"),
        );
        assert!(laid.breaches.is_empty(), "{bond}: {:?}", laid.breaches);
        let deepest = laid.pieces.iter().filter(|piece| piece.leg == 1);
        let deepest = deepest.map(|piece| piece.cuboid().span(Axis::Y).0).min();
        assert_eq!(deepest, Some(Length::mm(225)), "{bond}");
    }
}

/// A branch of a wall of two leaves joins the one that it meets; ties and the space stay.
#[test]
fn a_branch_joins_one_of_two_leaves() {
    let leaves = Leaves {
        space: Length::mm(50),
        filled: false,
        ties: Some(perpend::plan::Ties {
            across: Length::mm(900),
            up: Length::mm(450),
        }),
    };
    for (reach, bond) in [
        (BranchReach::Inside(Size::HalfUnits(4)), "stretcher"),
        (BranchReach::Outside(Size::HalfUnits(4)), "flemish"),
    ] {
        let mut part = common::wall(8.0, 6);
        part.leaves = Some(leaves);
        let part = part.with_branch(Branch {
            reach,
            ..inside(0, 6, 1)
        });
        let laid = laid(bond, part.expect("a branch"));
        assert!(laid.breaches.is_empty(), "{bond}: {:?}", laid.breaches);
        assert!(!laid.ties.is_empty() && !laid.cavities.is_empty());
        let own = laid.pieces.iter().filter(|piece| piece.leg == 1);
        let leaf = match reach {
            BranchReach::Inside(_) => Length::from_mm(152.5),
            _ => Length::from_mm(102.5),
        };
        let leaf = leaf.expect("a face");
        let furthest = match reach {
            BranchReach::Inside(_) => own.map(|piece| piece.cuboid().span(Axis::Y).0).min(),
            _ => own.map(|piece| piece.cuboid().span(Axis::Y).1).max(),
        };
        assert_eq!(furthest, Some(leaf), "{bond}");
    }
}

/// In a course of headers three vents 60 mm wide move to where the work beside them is of the bond's pieces, and no
/// further than half a unit.
#[test]
fn vents_fit_to_the_joints_of_a_header_bond() {
    for (bond, thickness) in [("english", 1.0), ("flemish", 1.0), ("english", 1.5)] {
        let part = wall(8.0, 4, thickness).with_vent(Vent {
            name: "vent".to_owned(),
            side: SideRef::Leg(0),
            course: 2,
            count: 3,
            width: Length::mm(60),
        });
        let laid = laid(bond, part.expect("vents"));
        let wanted = [1, 3, 5].map(|sixths| 1790 * sixths / 6);
        let half = Length::from_mm(112.5).expect("a length");
        let mut found: Vec<Length> = laid
            .voids
            .iter()
            .map(|void| {
                let (from, to) = void.cuboid().expect("a box").span(Axis::X);
                assert_eq!(to - from, Length::mm(60));
                Length::from_nm(i64::midpoint(from.nm(), to.nm()))
            })
            .collect();
        found.sort_unstable();
        assert_eq!(found.len(), 3);
        for (found, wanted) in found.iter().zip(wanted) {
            let off = (found.nm() - Length::mm(wanted).nm()).abs();
            assert!(off <= half.nm() + 1_000_000, "{bond}: {found} for {wanted}");
        }
        let short = laid
            .breaches
            .iter()
            .filter(|b| b.kind == BreachKind::PieceTooShort);
        assert_eq!(short.count(), 0, "{bond}: {:?}", laid.breaches);
    }
}

#[test]
fn what_is_not_laid_in_headers_is_refused_with_a_remedy() {
    let refused = |bond: &str, part: Result<Part, PlanError>| {
        let plan = Arc::new(in_bond(bond, "uk", part.expect("a part")));
        lay(&plan).expect_err("refused")
    };
    let thick = refused("english", wall(8.0, 4, 1.5).with_branch(inside(6, 6, 3)));
    assert_eq!(thick.code, "junction-too-thick-for-bond");
    let reach = BranchReach::Through(Size::HalfUnits(2), Size::HalfUnits(2));
    let mut two = common::wall(8.0, 4);
    two.leaves = Some(Leaves {
        space: Length::mm(50),
        filled: false,
        ties: None,
    });
    let through = refused(
        "stretcher",
        two.with_branch(Branch {
            reach,
            ..inside(0, 6, 1)
        }),
    );
    assert_eq!(through.code, "junction-in-two-leaves");
}
