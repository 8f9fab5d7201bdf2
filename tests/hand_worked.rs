//! The firebox of the lakeside cabinet against the figures worked by hand in `hand_worked.md`.
#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::layout::{Cut, Laid};
use perpend::outside::MemoryOutside;
use perpend::script::{Limits, domain};
use perpend::takeoff::{FittingSize, Takeoff};

fn firebox(check: impl FnOnce(&Laid, &Takeoff) + Send) {
    let script = include_str!("../scripts/lakeside_cabinet.rhai");
    perpend::shell::run_on_large_stack(|| {
        let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
        let outcome = session.run("lakeside_cabinet.rhai", script);
        assert!(!outcome.failed(), "{}", session.render(&outcome));
        let plan = outcome
            .value
            .and_then(rhai::Dynamic::try_cast::<domain::PlanValue>)
            .expect("a plan");
        check(
            &plan.laid().expect("laid"),
            &plan.takeoff().expect("taken off"),
        );
    })
    .expect("a thread");
}

fn near(value: f64, worked: f64, tolerance: f64) {
    assert!(
        (value - worked).abs() <= tolerance,
        "{value} is not within {tolerance} of {worked}"
    );
}

#[test]
fn sizes_and_pieces_come_out_as_worked_by_hand() {
    firebox(|laid, _| {
        let (_, part) = laid.part("firebox").expect("the firebox");
        let mm = |length: perpend::quantity::Length| length.to_mm();
        near(mm(part.outside.length), 990.0, 0.0);
        near(mm(part.outside.width), 740.0, 0.0);
        near(mm(part.outside.height), 729.0, 0.0);
        let inside = part.inside.expect("an inside");
        near(mm(inside.length), 760.0, 0.0);
        near(mm(inside.width), 510.0, 0.0);
        let pieces = laid.pieces_of(part);
        let by_course: Vec<usize> = (1..=9)
            .map(|course| pieces.iter().filter(|p| p.course == course).count())
            .collect();
        assert_eq!(by_course, [12, 11, 10, 11, 10, 12, 12, 12, 12]);
        let mut cut: Vec<f64> = pieces
            .iter()
            .filter(|piece| piece.cut != Cut::Whole)
            .map(|piece| mm(piece.length))
            .collect();
        cut.sort_by(f64::total_cmp);
        let mut worked = vec![115.0; 9];
        worked.extend([205.0, 205.0, 209.0, 209.0, 225.0]);
        assert_eq!(cut, worked);
    });
}

#[test]
fn mortar_and_masses_come_out_as_worked_by_hand() {
    firebox(|laid, takeoff| {
        let (index, part) = laid.part("firebox").expect("the firebox");
        // One cubic millimetre for each rounded figure of the worked table.
        near(part.joints.to_mm3(), 35_060_043.0, 2.0);
        let masses = takeoff.masses.parts.get(index).expect("its masses");
        near(masses.units.kg(), 339.2, 0.05);
        near(masses.mortar.kg(), 74.0, 0.05);
        near(masses.lintels.kg(), 4.4, 0.05);
        near(masses.concrete.kg(), 98.3, 0.05);
        near(masses.total.kg(), 516.0, 0.5);
        let lid = laid
            .lids
            .iter()
            .find(|lid| lid.part == index)
            .expect("its lid");
        near(lid.volume.to_litre(), 42.624, 1e-9);
        near(lid.bed.to_litre(), 3.45, 1e-9);
    });
}

#[test]
fn what_is_fitted_comes_out_as_worked_by_hand() {
    firebox(|_, takeoff| {
        let size = |what: &str| {
            let found = takeoff
                .fittings
                .iter()
                .find(|fitting| fitting.part == "firebox" && fitting.what == what);
            match found.expect("the fitting").size {
                FittingSize::Flat(a, b) | FittingSize::Upright(a, b) | FittingSize::Pipe(a, b) => {
                    vec![a.to_mm(), b.to_mm()]
                }
                FittingSize::Bar(a, b, c) => vec![a.to_mm(), b.to_mm(), c.to_mm()],
                FittingSize::Long(a) => vec![a.to_mm()],
            }
        };
        assert_eq!(size("frame for fire door"), [500.0, 395.0]);
        assert_eq!(size("leaf for fire door"), [432.0, 327.0]);
        assert_eq!(size("grate"), [730.0, 480.0]);
        assert_eq!(size("steel bar over fire door"), [810.0, 115.0, 6.0]);
        assert_eq!(size("pipe for throat"), [150.0, 570.0]);
    });
}
