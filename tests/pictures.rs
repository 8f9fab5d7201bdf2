//! Pictures in text: every unit of a face shows, nothing is wider than asked, and plain ones are ASCII.
#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

mod common;

use std::sync::Arc;

use common::{plan_of, plan_with, setting, unit};
use perpend::layout::{Axis, Laid, lay};
use perpend::plan::{Dimension, Measure, Part, Rise, Shape, Side, Size};
use perpend::quantity::Length;
use perpend::sheet::{FEWEST_COLUMNS, Pen, Picture, View};
use proptest::prelude::*;

fn chamber(across: i64, deep: i64, courses: u32) -> Laid {
    let outside = |halves| Dimension {
        size: Size::HalfUnits(halves),
        measure: Measure::Outside,
    };
    let shape = Shape::Chamber {
        across: outside(across),
        deep: outside(deep),
    };
    let part = Part::new(shape, Rise::Courses(courses)).expect("a part");
    let setting = setting(unit("uk"), Some(Length::mm(10)), None);
    lay(&Arc::new(plan_of(plan_with(setting), vec![part]))).expect("a plan that can be laid")
}

fn drawn(laid: &Laid, view: View, columns: usize, pen: Pen) -> Vec<String> {
    let picture = Picture {
        view,
        part: None,
        columns,
        pen,
    };
    picture.text(laid).lines().map(str::to_owned).collect()
}

/// Pieces of a course that show in a side, counted from their places.
fn in_face(laid: &Laid, side: Side, course: u16) -> usize {
    let axis = match side {
        Side::Front | Side::Back => Axis::Y,
        Side::Left | Side::Right => Axis::X,
    };
    let low = matches!(side, Side::Front | Side::Left);
    let outside = laid.parts.first().expect("a part").outside.span(axis);
    let shows = |piece: &&perpend::layout::Piece| {
        let span = piece.cuboid().span(axis);
        piece.course == course
            && if low {
                span.0 == outside.0
            } else {
                span.1 == outside.1
            }
    };
    laid.pieces.iter().filter(shows).count()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A line in the middle of a course crosses one upright more than there are units in the face.
    #[test]
    fn every_unit_of_a_face_shows(
        across in 3..14_i64,
        deep in 3..14_i64,
        courses in 1..6_u32,
        side in 0..4_usize,
    ) {
        let laid = chamber(across, deep, courses);
        let side = Side::ALL.into_iter().cycle().nth(side).expect("a side");
        let columns = 160;
        let lines = drawn(&laid, View::Elevation(side), columns, Pen::Plain);
        for course in 1..=courses {
            let number = format!("{course} ");
            let row = lines
                .iter()
                .find(|line| line.trim_start().starts_with(&number) && line.contains('|'))
                .expect("a row with the course's number");
            let uprights = row.chars().filter(|c| *c == '|').count();
            let expected = in_face(&laid, side, course as u16);
            prop_assert_eq!(uprights, expected + 1, "{}", lines.join("\n"));
        }
    }

    /// No line of the drawing is wider than asked, and plain ones are ASCII but for the sign of a multiplication in words.
    #[test]
    fn pictures_keep_to_their_width(
        across in 3..40_i64,
        deep in 3..9_i64,
        columns in FEWEST_COLUMNS..120,
        view in 0..3_usize,
    ) {
        let laid = chamber(across, deep, 2);
        let view = match view {
            0 => View::Course { part: 0, course: 2 },
            1 => View::Elevation(Side::Front),
            _ => View::Section { from: Side::Front, at: Length::mm(300) },
        };
        for pen in [Pen::Plain, Pen::Lines] {
            let lines = drawn(&laid, view.clone(), columns, pen);
            let is_drawing = |line: &&String| line.contains(['|', '+', '│', '┼', '├', '└']);
            let is_scale = |line: &&String| line.contains("a character is");
            for line in lines.iter().filter(is_drawing).filter(|line| !is_scale(line)) {
                prop_assert!(line.chars().count() <= columns, "{line}");
                prop_assert!(pen == Pen::Lines || line.is_ascii(), "{line}");
            }
        }
    }

    /// Both pens draw the same: a plain sign wherever a line runs, and nothing where none does.
    #[test]
    fn both_pens_draw_the_same(across in 3..14_i64, deep in 3..9_i64, course in 1..3_u32) {
        let laid = chamber(across, deep, 3);
        let view = View::Course { part: 0, course };
        let (plain, lines) = (
            drawn(&laid, view.clone(), 100, Pen::Plain),
            drawn(&laid, view, 100, Pen::Lines),
        );
        let alike = |line: &String| {
            line.chars()
                .map(|sign| match sign {
                    '│' => '|',
                    '─' => '-',
                    '├' | '┤' | '┬' | '┴' | '┼' | '┌' | '┐' | '└' | '┘' => '+',
                    other => other,
                })
                .collect::<String>()
        };
        for (plain, line) in plain.iter().zip(&lines).filter(|(plain, _)| plain.contains('+')) {
            prop_assert_eq!(plain, &alike(line));
        }
    }
}
