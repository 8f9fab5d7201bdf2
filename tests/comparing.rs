//! Comparisons: rows as they are when each variant is laid by itself, in order for any number of threads; sorted, thinned out
//! and set against each other as worked out anew here.

#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use perpend::compare::{
    Aim, Axis, Change, Column, Comparison, Crew, Figure, Grid, Reading, Refused, Row, Slot, sweep,
    with_changes,
};
use perpend::layout::lay;
use perpend::outside::MemoryOutside;
use perpend::plan::{Side, SideRef, Vent};
use perpend::quantity::{Length, LengthStyle};
use perpend::script::{Limits, Session, domain};
use perpend::sheet;
use perpend::takeoff::Takeoff;
use proptest::prelude::*;
use serde_json::Value as Json;

mod common;

/// Stack enough to lay plans.
const STACK: usize = 16 * 1024 * 1024;

fn crew(threads: usize) -> Crew {
    Crew {
        threads,
        stack: STACK,
    }
}

fn axes() -> Vec<Vec<Change>> {
    let units = ["nf", "uk", "us_modular"].map(|name| Change::Unit(Box::new(common::unit(name))));
    let joints = [8, 10, 12, 14].map(|mm| Change::Joint(Length::mm(mm)));
    vec![units.to_vec(), joints.to_vec()]
}

#[test]
fn every_row_is_what_its_variant_gives_by_itself() {
    // Two vents that find room in the front of a box of two long units, but not of two short ones.
    let vents = Vent {
        name: "air".to_owned(),
        side: SideRef::Side(Side::Front),
        course: 2,
        count: 2,
        width: Length::mm(110),
    };
    let part = common::chamber(2.0, 2.0, 6)
        .with_vent(vents)
        .expect("vents");
    let plan = common::plan_of(common::bench("nf"), vec![part]);
    let figures = [Figure::Units, Figure::Cuts, Figure::Mortar, Figure::Height];
    let axes = axes();
    let (rows, ending) = sweep(&plan, &axes, &figures, crew(2)).expect("a comparison");
    assert_eq!((rows.len(), ending.done, ending.stopped), (12, 12, None));
    let mut built = 0;
    for (at, row) in rows.iter().enumerate() {
        assert_eq!((row.number, row.at.clone()), (at + 1, vec![at / 4, at % 4]));
        let changes = [axes[0][at / 4].clone(), axes[1][at % 4].clone()];
        let alone = with_changes(&plan, &changes).and_then(|plan| lay(&Arc::new(plan)));
        match (&row.figures, alone) {
            (Ok(read), Ok(laid)) => {
                built += 1;
                let takeoff = Takeoff::of(&laid).expect("a takeoff");
                let expected = figures.map(|figure| figure.read(&laid, Some(&takeoff), None));
                assert_eq!(read, &expected.to_vec());
            }
            (Err(refused), Err(error)) => assert_eq!(refused.code, error.code),
            (row, alone) => panic!("{row:?} against {alone:?}"),
        }
    }
    assert_eq!(built, 4, "{rows:?}");
}

#[test]
fn rows_are_the_same_for_any_number_of_threads() {
    let plan = common::cabinet();
    let figures = [Figure::Units, Figure::Mass, Figure::Stops, Figure::Warnings];
    let one = sweep(&plan, &axes(), &figures, crew(1)).expect("a comparison");
    for threads in [2, 3, 5] {
        let more = sweep(&plan, &axes(), &figures, crew(threads)).expect("a comparison");
        assert_eq!(one, more, "{threads} threads");
    }
}

#[test]
fn grids_cross_and_pair() {
    let grid = Grid::crossed(&[2, 3, 2], 12).expect("a grid");
    let all: Vec<Vec<usize>> = (0..grid.count()).map(|number| grid.at(number)).collect();
    let expected: Vec<Vec<usize>> = (0..2)
        .flat_map(|a| (0..3).flat_map(move |b| (0..2).map(move |c| vec![a, b, c])))
        .collect();
    assert_eq!(all, expected);
    let pairs = Grid::paired(&[3, 3], 3).expect("a grid");
    assert_eq!((pairs.count(), pairs.at(2)), (3, vec![2, 2]));
    assert_eq!(
        Grid::paired(&[3, 2], 9).expect_err("unequal").code,
        "unpaired-values"
    );
    assert_eq!(
        Grid::crossed(&[2, 3, 2], 11).expect_err("many").code,
        "too-many-rows"
    );
    assert_eq!(
        Grid::crossed(&[usize::MAX, 3], usize::MAX)
            .expect_err("more")
            .code,
        "too-many-rows"
    );
}

/// A comparison with two columns of small numbers, so that ties are common.
fn comparison(figures: &[Option<(u64, u64)>]) -> Comparison {
    let column = |heading: &str, aim| Column {
        heading: heading.to_owned(),
        aim: Some(aim),
    };
    Comparison {
        title: String::new(),
        axes: vec![Axis {
            name: "size".to_owned(),
            values: (0..figures.len() as u64).map(Reading::Count).collect(),
        }],
        columns: vec![column("cost", Aim::Least), column("room", Aim::Most)],
        rows: figures
            .iter()
            .enumerate()
            .map(|(at, figures)| Row {
                number: at + 1,
                at: vec![at],
                figures: figures
                    .map(|(a, b)| vec![Reading::Count(a), Reading::Count(b)])
                    .ok_or_else(|| Refused {
                        code: "too-large".to_owned(),
                        message: "too large".to_owned(),
                    }),
            })
            .collect(),
        of: figures.len(),
        stopped: None,
        base: None,
    }
}

fn numbers(comparison: &Comparison) -> Vec<usize> {
    comparison.rows.iter().map(|row| row.number).collect()
}

proptest! {
    #[test]
    fn the_front_is_what_nothing_beats(
        figures in prop::collection::vec(prop::option::weighted(0.9, (0_u64..6, 0_u64..6)), 0..40)
    ) {
        let made = comparison(&figures);
        let front = made.front(&[(Slot::Column(0), Aim::Least), (Slot::Column(1), Aim::Most)]);
        let known: Vec<(usize, (u64, u64))> = figures
            .iter()
            .enumerate()
            .filter_map(|(at, pair)| Some((at + 1, (*pair)?)))
            .collect();
        let expected: Vec<usize> = known
            .iter()
            .filter(|(_, (cost, room))| {
                !known.iter().any(|(_, (less, more))| {
                    less <= cost && more >= room && (less < cost || more > room)
                })
            })
            .map(|(number, _)| *number)
            .collect();
        prop_assert_eq!(numbers(&front), expected);
    }

    #[test]
    fn sorting_keeps_all_rows_and_the_order_of_equal_ones(
        figures in prop::collection::vec(prop::option::weighted(0.8, (0_u64..4, 0_u64..4)), 0..30),
        greatest in any::<bool>(),
    ) {
        let made = comparison(&figures);
        let sorted = made.sorted(Slot::Column(0), greatest);
        let mut expected: Vec<usize> = (0..figures.len()).collect();
        expected.sort_by_key(|&at| {
            let key = figures[at].map(|(cost, _)| cost as i64);
            // Those without a figure last, whichever way round.
            key.map_or((1, 0, at), |cost| (0, if greatest { -cost } else { cost }, at))
        });
        let expected: Vec<usize> = expected.into_iter().map(|at| at + 1).collect();
        prop_assert_eq!(numbers(&sorted), expected);
    }
}

#[test]
fn the_best_of_a_column_goes_by_its_aim() {
    let made = comparison(&[Some((3, 1)), None, Some((2, 5)), Some((2, 4))]);
    assert_eq!(made.best(0), Some(&Reading::Count(2)));
    assert_eq!(made.best(1), Some(&Reading::Count(5)));
    // One row is no contest.
    assert_eq!(comparison(&[Some((3, 1))]).best(0), None);
}

#[test]
fn a_table_marks_the_best_and_what_differs() {
    let made = comparison(&[Some((3, 1)), None, Some((2, 5))]);
    let text = sheet::comparison_text(&made.against(&made.rows[0]), LengthStyle::Metric, 10);
    let lines = [
        "  row  size  cost    ±  room    ±  cannot be built",
        "  ---  ----  -----  --  -----  --  ---------------",
        "    1     0     3    0     1    0",
        "    2     1                        too large",
        "    3     2     2*  -1     5*  +4",
        "  * the best of its column",
        "  ± against row 1",
    ];
    assert_eq!(text.lines().collect::<Vec<_>>(), lines);
    let csv = sheet::comparison_csv(&made);
    assert_eq!(
        csv,
        "row,size,cost,room,cannot_be_built\r\n1,0,3,1,\r\n2,1,,,too large\r\n3,2,2,5,\r\n"
    );
}

/// What a script gives, on a stack that is large enough.
fn run<T: Send>(
    script: &str,
    work: impl FnOnce(&mut Session, &MemoryOutside, rhai::Dynamic) -> T + Send,
) -> T {
    perpend::shell::run_on_large_stack(|| {
        let outside = Rc::new(MemoryOutside::new().with_script(
            "shelf.rhai",
            "export const parameters = #{ width: #{ usual: 1, meaning: \"Width.\" } };\n\
             fn build(options) {\n    let o = settings(options, global::parameters);\n    \
             plan(\"shelf\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [o.width, 1], courses: 3 }))\n}",
        ));
        let mut session = domain::open(outside.clone(), Limits::default());
        let outcome = session.run("test.rhai", script);
        assert!(!outcome.failed(), "{}", session.render(&outcome));
        let value = outcome.value.unwrap_or_default();
        work(&mut session, &outside, value)
    })
    .expect("a thread")
}

/// Heights by the rule of gauge, lengths by the rule of joints, worked out here for every row.
#[test]
fn a_grid_of_units_joints_and_courses_comes_out_by_the_rules() {
    let script = "let made = |o| plan(\"bed\", #{ unit: o.unit, joint: o.joint })
            .place(\"bed\", chamber(#{ outside: [4, 3], courses: o.courses }));
        compare(made, #{ unit: [\"nf\", \"df\", \"uk\", \"au\", \"in_modular\", \"firebrick_metric\"], joint: [6.mm, 8.mm, 10.mm, 12.mm, 14.mm], courses: [4, 6, 8] },
            [\"pieces\", \"height\", #{ name: \"across\", of: |p| p.outside(\"bed\").across }, \"inside(\\\"bed\\\").deep\"]).sorted(\"pieces\")";
    run(script, |_, _, value| {
        let value = value
            .read_lock::<domain::ComparisonValue>()
            .expect("a comparison");
        let made = value.comparison();
        assert_eq!((made.rows.len(), made.of), (90, 90));
        let mut pieces = 0;
        for row in &made.rows {
            let Reading::Text(name) = made.reading(row, Slot::Axis(0)).expect("a unit") else {
                panic!("units go by name");
            };
            let Some(Reading::Length(joint)) = made.reading(row, Slot::Axis(1)) else {
                panic!("joints are lengths");
            };
            let Some(Reading::Count(courses)) = made.reading(row, Slot::Axis(2)) else {
                panic!("courses are counted");
            };
            let unit = common::unit(name);
            let (joint, courses) = (joint.nm(), *courses as i64);
            let figures = row.figures.as_ref().expect("built");
            let length = |at: usize| match figures[at] {
                Reading::Length(length) => length.nm(),
                ref other => panic!("{other:?} is no length"),
            };
            // Courses rise by unit and bed; the last bed lies below the last course.
            assert_eq!(length(1), courses * (unit.height.nm() + joint));
            assert_eq!(length(2), 4 * (unit.length.nm() + joint) - joint);
            let outside = 3 * (unit.length.nm() + joint) - joint;
            assert_eq!(length(3), outside - 2 * unit.width.nm());
            let Reading::Count(laid) = figures[0] else {
                panic!("pieces are counted");
            };
            assert!(laid >= pieces, "sorted");
            pieces = laid;
        }
    });
}

#[test]
fn a_recipe_is_varied_on_other_threads_as_on_this_one() {
    let script = "let named = compare(\"shelf\", #{ width: 1..=6 }, [\"pieces\", \"height\"]);
        import \"shelf\" as shelf;
        let called = compare(|o| shelf::build(o), #{ width: 1..=6 }, [\"pieces\", \"height\"]);
        [named.rows, called.rows, named.variant(4).outside(\"pier\").across]";
    run(script, |session, _, value| {
        let parts = value.into_array().expect("a list");
        let shown: Vec<String> = parts.iter().map(|part| session.show(part)).collect();
        assert_eq!(shown[0], shown[1]);
        // Four UK bricks with three joints: 4 × 225 − 10 mm.
        assert_eq!(shown[2], "890 mm");
    });
}

#[test]
fn an_interrupted_comparison_gives_what_is_done_and_lets_the_script_go_on() {
    let (rows, of, went_on) = perpend::shell::run_on_large_stack(|| {
        let outside = Rc::new(MemoryOutside::new());
        // As if a person pressed Ctrl-C while the fifth row is read.
        let mut session = Session::with(outside, Limits::default(), |registry| {
            domain::register(registry);
            let flag = registry.interrupt();
            registry.engine().register_fn("interrupt", move || {
                flag.store(true, Ordering::Relaxed);
            });
        });
        let outcome = session.run(
            "test",
            "let p = plan(\"pier\", #{ unit: \"uk\" }).place(\"pier\", pier(#{ outside: [1, 1], courses: 4 }));
             let fifth = |p| { if p.height() == 316.mm { interrupt(); } 1 };
             let made = compare(p, #{ joint: range(10.mm, 16.mm, 0.001.mm) }, [\"pieces\", #{ name: \"fifth\", of: fifth }]);
             [made, \"went on\"]",
        );
        assert!(!outcome.failed(), "{}", session.render(&outcome));
        let parts = outcome.value.unwrap_or_default().into_array().expect("a list");
        let made = parts[0].read_lock::<domain::ComparisonValue>().expect("one");
        let made = made.comparison();
        assert_eq!(made.stopped, Some(perpend::stop::Reason::Interrupted));
        let shown = sheet::comparison_text(made, LengthStyle::Metric, 2);
        assert!(shown.contains("interrupted: not all of the 6000 variants were tried"), "{shown}");
        (made.rows.len(), made.of, parts[1].to_string())
    })
    .expect("a thread");
    // Four courses of 65 mm and four beds are 316 mm at 14 mm a bed: row 4001.
    assert!((4_001..6_000).contains(&rows), "{rows}");
    assert_eq!((of, went_on.as_str()), (6_000, "went on"));
}

#[test]
fn tables_and_charts_are_written_whole() {
    let script = "let made = compare(\"shelf\", #{ width: [1, 2, 3] }, [\"pieces\", \"mortar\"]);
        made.save_table(\"shelf.csv\");
        made.save_table(\"shelf.json\");
        made.save_chart(\"shelf.svg\", #{ across: \"width\", up: \"mortar\" });
        made";
    run(script, |_, outside, _| {
        let written = outside.written();
        let text = |name: &str| String::from_utf8(written[name].clone()).expect("text");
        let csv = text("shelf.csv");
        assert!(
            csv.starts_with("row,width,pieces,mortar_litre,cannot_be_built\r\n"),
            "{csv}"
        );
        assert_eq!(csv.lines().count(), 4);
        let json: Json = serde_json::from_str(&text("shelf.json")).expect("JSON");
        assert_eq!(json["schema"], "perpend.comparison/1");
        assert_eq!(json["rows"][1]["varied"]["width"], 2);
        let litres = json["rows"][1]["figures"]["mortar_litre"]
            .as_f64()
            .expect("a number");
        let row: Vec<&str> = csv.lines().nth(2).expect("a row").split(',').collect();
        assert_eq!(row[3].parse().ok(), Some(litres));
        let svg = text("shelf.svg");
        for part in ["<svg ", ">width</text>", ">mortar (L)</text>", "</svg>"] {
            assert!(svg.contains(part), "{part} is not in {svg}");
        }
        assert_eq!(svg.matches("<circle").count(), 3);
    });
}
