//! Headers of rack ledges in walls whose bond has headers: they take the place of the bond's, and the outer face stays.
#![expect(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{chamber, plan_of, plan_with, setting, unit, units};
use perpend::layout::{Axis, Cut, Laid, Piece, Role, lay};
use perpend::masonry::Catalogue;
use perpend::plan::{Ledge, Part, Plan, Side};
use perpend::quantity::Length;

fn in_bond(bond: &str, part: Part) -> Plan {
    let mut setting = setting(unit("uk"), Some(Length::mm(10)), None);
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    setting.bond = catalogue.bond(bond).expect("a bond").clone();
    plan_of(plan_with(setting), vec![part])
}

fn kiln(bond: &str, halves: i32, ledges: &[u32]) -> Laid {
    let mut part = chamber(6.0, 6.0, 6)
        .with_thickness(f64::from(halves) / 2.0)
        .expect("a thickness");
    for &course in ledges {
        let ledge = Ledge {
            course,
            sides: vec![Side::Left, Side::Right],
            count: 2,
            project: units(0.5),
            notch: None,
        };
        part = part.with_ledge(ledge).expect("a ledge");
    }
    lay(&Arc::new(in_bond(bond, part))).expect("a plan that can be laid")
}

/// What the left face of a course shows: places and the roles of what stands there, a half bat before a ledge as a header.
fn left_face(laid: &Laid, course: u16) -> Vec<((Length, Length), bool)> {
    let low = laid.parts[0].outside.span(Axis::X).0;
    let mut seen: Vec<_> = laid
        .pieces
        .iter()
        .filter(|piece| piece.course == course && piece.cuboid().span(Axis::X).0 == low)
        .map(|piece| (piece.cuboid().span(Axis::Y), piece.role == Role::Header))
        .collect();
    seen.sort_unstable();
    seen
}

fn headers(laid: &Laid, course: u16) -> Vec<&Piece> {
    laid.pieces
        .iter()
        .filter(|piece| piece.course == course && piece.role == Role::LedgeHeader)
        .collect()
}

/// In a course with headers a ledge changes nothing of the outer face, whatever the thickness: half a unit, where headers
/// are snapped, one unit, and one and a half.
#[test]
fn the_outer_face_keeps_its_bond() {
    for thickness in [1, 2, 3] {
        for (bond, courses) in [("flemish", vec![2, 3]), ("english", vec![2])] {
            let without = kiln(bond, thickness, &[]);
            let with = kiln(bond, thickness, &courses);
            for &course in &courses {
                let course = course as u16;
                let expected = left_face(&without, course);
                let mut found = left_face(&with, course);
                if thickness == 1 {
                    // Here the header itself shows its end.
                    for piece in &mut found {
                        let at = expected.iter().find(|other| other.0 == piece.0);
                        piece.1 |= at.is_some_and(|other| other.1);
                    }
                }
                assert_eq!(found, expected, "{bond} {thickness}, course {course}");
                assert_eq!(headers(&with, course).len(), 4, "{bond} {thickness}");
            }
            assert_eq!(
                with.breaches.len(),
                without.breaches.len(),
                "{bond} {thickness}"
            );
        }
    }
}

/// A ledge header is a whole unit that lies half in the wall; in a wall one unit thick a half bat shows before it.
#[test]
fn ledge_headers_lie_half_in_the_wall() {
    for thickness in [2, 3] {
        for bond in ["flemish", "english", "common", "monk"] {
            let laid = kiln(bond, thickness, &[3]);
            let inside = laid.parts[0].inside.expect("an inside").span(Axis::X);
            let found = headers(&laid, 3);
            assert_eq!(found.len(), 4, "{bond} {thickness}");
            for header in found {
                assert_eq!(header.cut, Cut::Whole);
                let (from, to) = header.cuboid().span(Axis::X);
                let project = (to - inside.0).min(inside.1 - from);
                assert_eq!(project, Length::from_nm(112_500_000), "{bond} {thickness}");
                let behind = laid.pieces.iter().any(|piece| {
                    let other = piece.cuboid();
                    piece.course == 3
                        && piece.role == Role::Header
                        && piece.cut == Cut::Bat(1, 2)
                        && other.span(Axis::Y) == header.cuboid().span(Axis::Y)
                        && (other.span(Axis::X).1 + Length::mm(10) == from
                            || other.span(Axis::X).0 - Length::mm(10) == to)
                });
                assert_eq!(behind, thickness == 2, "{bond} {thickness}");
            }
        }
    }
}
