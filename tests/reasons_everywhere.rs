//! Every kind of part and feature: what bears on its courses is told, no course lacks a reason, and what is found of the
//! layout has a remedy.
#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::cell::Cell;
use std::collections::BTreeSet;
use std::rc::Rc;
use std::sync::Arc;

use perpend::compare::{mended_codes, remedies_of};
use perpend::layout::{BreachKind, Explanation, Flaw, Remedy, explain, lay};
use perpend::outside::MemoryOutside;
use perpend::plan::Plan;
use perpend::review::{Review, Severity};
use perpend::script::{Limits, Session, domain};
use perpend::sheet::{alteration_words, explanation_table, remark_words};
use perpend::stop;
use perpend::takeoff::Takeoff;

/// A plan, one of its courses, and what has to be told of it.
struct Told {
    /// What is placed as "w" in a plan of UK units.
    part: &'static str,
    course: u32,
    /// What its remarks are about.
    about: &'static [&'static str],
    /// Words of the table.
    words: &'static [&'static str],
}

const TOLD: &[Told] = &[
    // Two units across each way, all whole; turned about, they are as many.
    Told {
        part: "chamber(#{ outside: [4, 4], courses: 4 })",
        course: 2,
        about: &["corners"],
        words: &[
            "corner passed",
            "corner butted",
            "loses by cuts",
            "costs the same",
        ],
    },
    // Headers bond the wall through: in every other course the legs along the front pass.
    Told {
        part: "wall(#{ legs: [[\"right\", 4], [\"back\", 3]], courses: 4, thickness: 1, bond: \"english\" })",
        course: 2,
        about: &["corners"],
        words: &["their units turn the corner", "stretcher at the corner"],
    },
    Told {
        part: "wall(#{ length: 4, courses: 4, beds: #{ under: [[2, 13.mm]] }, split: [[2, 40.mm]] })",
        course: 2,
        about: &["bed", "split"],
        words: &["13 mm", "units split to 40 mm"],
    },
    // 460 mm are closed in steps of an eighth of 225 mm, 28.1 mm a side: 460 − 7 × 56.25 = 66.25 mm are left for the
    // eighth course; in steps of a tenth, 22.5 mm, they take ten.
    Told {
        part: "wall(#{ length: 8, courses: 20 }).opening(#{ name: \"g\", width: 2, courses: [1, 6], head: \"corbel\" })",
        course: 8,
        about: &["corbel"],
        words: &[
            "head of \"g\", 2 of 8",
            "28.1 mm a side",
            "32.5 mm",
            "34.2 mm",
            "loses by courses: 10 against 8",
        ],
    },
    Told {
        part: "wall(#{ length: 8, courses: 20 }).opening(#{ name: \"g\", width: 2, courses: [1, 6], head: \"corbel\" })",
        course: 14,
        about: &["corbel"],
        words: &["8 of 8", "closes the gap of 66.3 mm"],
    },
    // With a step as asked the usual one is what comes next.
    Told {
        part: "wall(#{ length: 8, courses: 24 }).opening(#{ name: \"g\", width: 2, courses: [1, 6], head: #{ kind: \"corbel\", step: 20.mm } })",
        course: 7,
        about: &["corbel"],
        words: &[
            "the step asked for",
            "steps of 28.1 mm",
            "not asked for; 8 courses",
        ],
    },
    Told {
        part: "wall(#{ length: 8, courses: 12 }).opening(#{ name: \"g\", width: 2, courses: [2, 6], lintel: \"steel\" })",
        course: 7,
        about: &["lintel"],
        words: &["bears 150 mm and 150 mm", "a steel bar"],
    },
    Told {
        part: "wall(#{ length: 8, courses: 12 }).opening(#{ name: \"g\", width: 2, courses: [2, 6], lintel: \"stone\" })",
        course: 7,
        about: &["lintel"],
        words: &["bears 215 mm and 215 mm", "lintel over \"g\" – free end"],
    },
    // Six units on edge of 65 mm and seven joints of 10 mm are 460 mm; seven would leave eight joints of 0.6 mm.
    Told {
        part: "wall(#{ length: 8, courses: 12 }).opening(#{ name: \"g\", width: 2, courses: [2, 6], lintel: \"steel\", sill: \"rowlock\" })",
        course: 2,
        about: &["sill"],
        words: &[
            "6 units on edge",
            "7 units on edge",
            "0.6 mm",
            "9.4 mm off nominal against 0 mm",
        ],
    },
    Told {
        part: "wall(#{ length: 8, courses: 12 }).opening(#{ name: \"g\", width: 2, courses: [1, 6], lintel: \"steel\", threshold: \"stone\" })",
        course: 1,
        about: &["threshold"],
        words: &["a slab of stone", "jamb of \"g\""],
    },
    Told {
        part: "wall(#{ length: 8, courses: 16 }).opening(#{ name: \"g\", width: 2, courses: [1, 6], arch: \"segmental\" })",
        course: 7,
        about: &["arch"],
        words: &["arch over \"g\", ring 1", "loses"],
    },
    // A flat arch of four courses is deeper than a unit is long: two pieces to a voussoir, joints staggered.
    Told {
        part: "wall(#{ length: 12, courses: 16 }).opening(#{ name: \"g\", width: 2, courses: [1, 6], arch: #{ kind: \"flat\", courses: 4 } })",
        course: 8,
        about: &["arch"],
        words: &[
            "9 soldiers",
            "of pieces 214.1 mm + 93.4 mm",
            "in turn",
            "11 soldiers",
        ],
    },
    Told {
        part: "ring(#{ inside: 1100.mm, courses: 3, laid: \"header\" })",
        course: 2,
        about: &["ring"],
        words: &["units, uncut", "beyond 7 mm to 15 mm", "loses"],
    },
    // Round 2.7 m joints open by more than the 8 mm that limits allow.
    Told {
        part: "wall(#{ radius: 2.7.m, length: 8, courses: 3 })",
        course: 2,
        about: &["curve"],
        words: &[
            "round a radius of 2700 mm",
            "9 stones",
            "2 of them bats",
            "7 mm to 15.4 mm",
            "loses by joints beyond limits",
        ],
    },
    Told {
        part: "wall(#{ radius: 2.7.m, length: 8, courses: 3, cut: true })",
        course: 1,
        about: &["curve"],
        words: &["8 stones, cut to taper", "10 mm"],
    },
    // 18 soldiers of 65 mm and 17 joints of 10 mm are 1340 mm.
    Told {
        part: "wall(#{ length: 6, courses: 6, laid: [[3, \"soldier\"]] })",
        course: 3,
        about: &["upright"],
        words: &["soldiers, 1 row", "18×1", "17×1", "no lap is kept"],
    },
    Told {
        part: "wall(#{ length: 6, courses: 6, thickness: 1, laid: [[6, \"rowlock\"]] })",
        course: 6,
        about: &["upright"],
        words: &["rowlocks, 1 row", "loses by joint width"],
    },
    // 1790 mm of wall and 90 mm over: two slabs of 600 mm and two that share 650 mm; with three, 50 mm are left over.
    Told {
        part: "wall(#{ length: 8, courses: 6, thickness: 1 }).coping(#{ kind: \"stone\" })",
        course: 6,
        about: &["coping"],
        words: &[
            "4 slabs, 2 cut, shortest 325 mm",
            "shortest 50 mm",
            "loses by a slab under half",
        ],
    },
    Told {
        part: "wall(#{ length: 8, courses: 6, thickness: 1 }).coping(#{ kind: \"rowlock\" })",
        course: 7,
        about: &["coping"],
        words: &[
            "coping over leg 1",
            "24 rowlocks",
            "23 rowlocks",
            "loses by joint width",
        ],
    },
    Told {
        part: "wall(#{ length: 6, courses: 4, thickness: 1.5, bond: \"flemish\" })",
        course: 2,
        about: &[],
        words: &["leg 1, middle", "header through", "loses by limits missed"],
    },
    Told {
        part: "pier(#{ outside: [2.5, 2.5], courses: 6, core: \"units\" })",
        course: 2,
        about: &["corners", "core"],
        words: &["middle, row 3", "347.5 mm × 347.5 mm", "other order"],
    },
    Told {
        part: "pier(#{ outside: [2, 2], courses: 6, core: \"concrete\" })",
        course: 2,
        about: &["corners", "core"],
        words: &["concrete"],
    },
    Told {
        part: "wall(#{ length: 8, courses: 12, leaves: #{ cavity: 50.mm, ties: #{ across: 900.mm, up: 450.mm } } })",
        course: 6,
        about: &["leaves", "ties"],
        words: &["50 mm left open", "leaf 2", "at most 900 mm apart along"],
    },
    Told {
        part: "wall(#{ length: 8, courses: 6 }).branch(#{ name: \"spur\", length: 2, at: 3 })",
        course: 2,
        about: &["junction"],
        words: &[
            "\"spur\" passing",
            "passes into the wall",
            "the other way round",
        ],
    },
    Told {
        part: "wall(#{ length: 8, courses: 6 }).branch(#{ name: \"spur\", length: 2, at: 3 })",
        course: 3,
        about: &["junction"],
        words: &["butts against the wall", "loses by"],
    },
    Told {
        part: "wall(#{ length: 18, courses: 6 }).pier(#{ name: \"post\", units: [1, 0.5], every: 1.5.m })",
        course: 2,
        about: &["junction", "junction"],
        words: &[
            "\"post 2\", \"post 3\"",
            "\"post 1\", leaf 1, 0 mm",
            "toothed into the wall",
        ],
    },
    Told {
        part: "chamber(#{ outside: [5.5, 5], courses: 10 }).annex(#{ name: \"store\", side: \"left\", outside: [3, 3], courses: 9 })",
        course: 2,
        about: &["corners", "junction"],
        words: &[
            "\"store left\"",
            "\"store back\" passing",
            "loses by cuts: 18 against 6",
        ],
    },
    Told {
        part: "chamber(#{ outside: [4, 4], courses: 8 }).vent(#{ side: \"back\", course: 3, count: 2, width: 60.mm }).ledge(#{ course: 5, sides: [\"left\"], count: 2, project: 0.5 })",
        course: 5,
        about: &["corners"],
        words: &["H", "vents and headers"],
    },
];

fn in_session<T: Send>(work: impl FnOnce(&mut Session) -> T + Send) -> T {
    perpend::shell::run_on_large_stack(|| {
        let mut session = domain::open(Rc::new(MemoryOutside::new()), Limits::default());
        work(&mut session)
    })
    .expect("a thread")
}

fn plan(session: &mut Session, script: &str) -> domain::PlanValue {
    let outcome = session.run("test", script);
    assert!(!outcome.failed(), "{script}\n{}", session.render(&outcome));
    let value = outcome.value.and_then(rhai::Dynamic::try_cast);
    value.expect("a plan")
}

fn placed(part: &str) -> String {
    format!("plan(\"test\", #{{ unit: \"uk\" }}).place(\"w\", {part})")
}

fn told(plan: &domain::PlanValue, part: &str, course: u32) -> (Explanation, String) {
    let told = explain(&plan.plan, part, course).expect("a course");
    let text = explanation_table(&told, plan.plan.style).text();
    (told, text)
}

#[test]
fn each_feature_is_told_in_its_course() {
    let faults = in_session(|session| {
        let mut faults = Vec::new();
        for case in TOLD {
            let plan = plan(session, &placed(case.part));
            let (told, text) = told(&plan, "w", case.course);
            let about: Vec<&str> = told
                .remarks
                .iter()
                .map(|remark| remark_words(remark, plan.plan.style).about)
                .collect();
            if about != case.about {
                faults.push(format!("{}: about {about:?}", case.part));
            }
            for words in case.words {
                if !text.contains(words) {
                    faults.push(format!("{}: no `{words}` in\n{text}", case.part));
                }
            }
        }
        faults
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Whatever is laid has a reason: an interval or a remark, with what comes next unless the course above decides.
#[test]
fn no_course_lacks_a_reason() {
    in_session(|session| {
        for case in TOLD {
            let plan = plan(session, &placed(case.part));
            let laid = lay(&plan.plan).expect("laid");
            for part in &laid.parts {
                for course in 1..=part.courses + u32::from(part.coping.is_some()) {
                    let (told, text) = told(&plan, &part.name, course);
                    assert!(
                        !told.intervals.is_empty() || !told.remarks.is_empty(),
                        "{}, {} course {course}",
                        case.part,
                        part.name
                    );
                    let compared = told
                        .intervals
                        .iter()
                        .all(|one| one.alone.is_some() || text.contains("next best"));
                    assert!(compared, "{text}");
                    let jargon = ["solver", "cost function", "dynamic", "heuristic"];
                    assert!(jargon.iter().all(|word| !text.contains(word)), "{text}");
                }
            }
        }
    });
}

/// A lining is a part of its own, named after its walls.
#[test]
fn a_lining_tells_where_it_stands() {
    in_session(|session| {
        let part = "chamber(#{ outside: [6, 5], courses: 10, fired: true }).lining(#{ gap: 10.mm, meet: \"most\" })";
        let plan = plan(session, &placed(part));
        let (told, text) = told(&plan, "w lining", 2);
        let about = |what: &str| {
            let remarks = told.remarks.iter();
            let words = remarks.map(|remark| remark_words(remark, plan.plan.style));
            words.filter(|words| words.about == what).count()
        };
        assert_eq!((about("lining"), about("bed")), (1, 0), "{text}");
        assert!(
            text.contains("within \"w\"") && text.contains("10 mm asked for"),
            "{text}"
        );
        assert!(text.contains("so that courses meet"), "{text}");
    });
}

/// Where an order of the same pieces comes as near as any other way it is told, and it never
/// costs less than what is laid nor more than the best way with other pieces.
#[test]
fn another_order_is_told_where_it_is_the_runner_up() {
    in_session(|session| {
        let parts = [
            "pier(#{ outside: [2.5, 2.5], courses: 4, core: \"units\" })",
            "wall(#{ length: 5.5, courses: 5, thickness: 1, bond: \"flemish\" }).opening(#{ name: \"g\", width: 1, courses: [2, 4], at: 1.5, lintel: \"steel\" })",
            "wall(#{ length: 6.5, courses: 5, thickness: 1, bond: \"monk\" })",
            "wall(#{ length: 1.31.m, courses: 5, snap: \"exact\" })",
        ];
        let (mut orders, mut patterned) = (0, 0);
        for part in parts {
            let plan = plan(session, &placed(part));
            for course in 1..=4 {
                let (explanation, _) = told(&plan, "w", course);
                for one in &explanation.intervals {
                    let Some(order) = &one.reordered else {
                        continue;
                    };
                    orders += 1;
                    patterned += usize::from(!one.plain);
                    assert!(order.way.cost >= order.against, "{part}, course {course}");
                    assert_ne!(order.way.items, one.laid.items, "{part}, course {course}");
                    let sorted = |way: &perpend::layout::Way| {
                        let mut items: Vec<String> =
                            way.items.iter().map(|item| format!("{item:?}")).collect();
                        items.sort();
                        items
                    };
                    assert_eq!(sorted(&order.way), sorted(&one.laid));
                    if let Some(next) = &one.next {
                        assert!(order.way.cost <= next.way.cost, "{part}, course {course}");
                    }
                }
            }
        }
        assert!(
            orders > 4 && patterned > 0,
            "{orders} orders, {patterned} by a bond"
        );
    });
}

/// A plan in which a review finds something about the layout, and its code: as in the cases of the checks.
const FOUND: &[(&str, &str)] = &[
    (
        "arch-abutment-weak",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 12 }).opening(#{ name: "o", width: 3, courses: [1, 4], arch: "flat" }))"#,
    ),
    (
        "arch-not-minor",
        r#"{UK}.place("w", wall(#{ length: 16, courses: 24 }).opening(#{ name: "o", width: 3, courses: [1, 4], arch: "semicircular" }))"#,
    ),
    (
        "arch-ring-shallow",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 12 }).opening(#{ name: "o", width: 3, courses: [1, 4], arch: "flat" }))"#,
    ),
    (
        "bed-out-of-tolerance",
        r#"{UK}.place("w", wall(#{ length: 4, courses: 4, beds: #{ first: 20.mm } }))"#,
    ),
    (
        "bed-shows",
        r#"plan("test", #{ unit: "uk_perforated" }).slab(#{ margin: 165.mm }).place("w", wall(#{ length: 8, courses: 6, thickness: 1, laid: [[3, "rowlock"]] }))"#,
    ),
    (
        "branch-ties-too-far",
        r#"{UK}.place("w", wall(#{ length: 6, courses: 5 }).branch(#{ name: "b", length: 2, toothed: false, ties: 310.mm }))"#,
    ),
    (
        "branch-untied",
        r#"{UK}.place("w", wall(#{ length: 6, courses: 5 }).branch(#{ name: "b", length: 2, toothed: false }))"#,
    ),
    (
        "cavity-untied",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 8, leaves: #{ cavity: 50.mm } }))"#,
    ),
    (
        "coping-flush",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6, thickness: 1 }).coping(#{ kind: "rowlock" }))"#,
    ),
    (
        "coping-heavy",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6, thickness: 1 }).coping(#{ kind: "stone" }))"#,
    ),
    (
        "coping-tips",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6 }).coping(#{ kind: "stone", overhang: 52.mm }))"#,
    ),
    (
        "coping-without-drip",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6, thickness: 1 }).coping(#{ kind: "stone", overhang: 40.mm, drip: false }))"#,
    ),
    (
        "corbel-not-held",
        r#"{UK}.place("w", wall(#{ length: 4, courses: 20 }).opening(#{ name: "o", width: 2, courses: [1, 4], head: "corbel" }))"#,
    ),
    (
        "corbel-step-too-large",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 20 }).opening(#{ name: "o", width: 2, courses: [1, 4], head: #{ kind: "corbel", step: 33.mm } }))"#,
    ),
    (
        "corbel-tips-green",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 22 }).opening(#{ name: "o", width: 2, courses: [1, 4], head: "corbel" }))"#,
    ),
    (
        "course-out-of-bond",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6, thickness: 1, laid: [[3, "soldier"]] }))"#,
    ),
    (
        "drip-near-wall",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6, thickness: 1 }).coping(#{ kind: "stone", overhang: 44.mm }))"#,
    ),
    (
        "duct-crown-off-gauge",
        r#"{NF}.place("b", chamber(#{ outside: [4, 4], courses: 9, fired: true })).duct(#{ name: "flue", from: "b", side: "back", diameter: 148.mm, course: 5 })"#,
    ),
    (
        "duct-crown-thin",
        r#"{UK}.place("b", chamber(#{ outside: [5, 4], courses: 12 })).duct(#{ name: "d", from: "b", side: "left", diameter: 120.mm, course: 4 })"#,
    ),
    (
        "duct-not-bridged",
        r#"{UK}.place("b", chamber(#{ outside: [5, 4], courses: 12 })).duct(#{ name: "d", from: "b", side: "left", diameter: 100.mm, course: 4, shift: 50.mm })"#,
    ),
    (
        "gap-too-narrow",
        r#"{NF}.place("a", chamber(#{ outside: [4, 4], courses: 4 })).place("b", chamber(#{ outside: [4, 4], courses: 4 }), #{ right_of: "a", gap: 149.mm })"#,
    ),
    (
        "header-not-held",
        r#"{NF}.place("b", chamber(#{ outside: [4, 4], courses: 5 }).ledge(#{ course: 5 }))"#,
    ),
    (
        "header-tips-green",
        r#"{NF}.place("b", chamber(#{ outside: [4, 4], courses: 5 }).ledge(#{ course: 3, count: 1 }))"#,
    ),
    (
        "leaves-untied",
        r#"{UK}.place("w", wall(#{ length: 4, courses: 4, thickness: 1 }))"#,
    ),
    (
        "lid-heavy",
        r#"{NF}.place("b", chamber(#{ outside: [4, 4], courses: 5 })).lid("b", #{ pieces: 4 })"#,
    ),
    (
        "lining-gap-tight",
        r#"{UK}.place("b", chamber(#{ outside: [6, 5], courses: 9 }).lining(#{ gap: 3.1.mm }))"#,
    ),
    (
        "lining-low",
        r#"{UK}.place("b", chamber(#{ outside: [6, 5], courses: 9 }).lining(#{ laid: "shiner" }))"#,
    ),
    (
        "lining-off-units",
        r#"{UK}.place("b", chamber(#{ outside: [6, 5], courses: 9 }).lining(#{ gap: 10.mm }))"#,
    ),
    (
        "lintel-bearing-short",
        r#"{NF}.place("b", chamber(#{ outside: [4, 4], courses: 10 }).opening(#{ name: "d", side: "front", width: 1, courses: [2, 4], lintel: #{ kind: "steel", bearing: 101.mm } }))"#,
    ),
    (
        "little-wall-over-lintel",
        r#"{NF}.place("b", chamber(#{ outside: [4, 4], courses: 10 }).opening(#{ name: "d", side: "front", width: 1, courses: [2, 9], lintel: "steel" }))"#,
    ),
    (
        "opening-not-bridged",
        r#"{UK}.place("w", wall(#{ length: 4, courses: 4 }).opening(#{ name: "o", width: 0.5, at: 225.mm, courses: [2, 2] }))"#,
    ),
    (
        "part-not-borne",
        r#"{UK}.place("a", chamber(#{ outside: [4, 4], courses: 6 })).place("b", chamber(#{ outside: [3, 3], courses: 4 }), #{ on: "a" })"#,
    ),
    (
        "pier-too-high",
        r#"{UK}.place("p", pier(#{ outside: [1, 1], courses: 29 }))"#,
    ),
    (
        "radius-small-for-units",
        r#"{UK}.place("w", wall(#{ radius: 2.7.m, length: 8, courses: 3 }))"#,
    ),
    (
        "sill-level",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 12 }).opening(#{ name: "o", width: 2, courses: [4, 7], lintel: "steel", sill: "rowlock" }))"#,
    ),
    (
        "sill-sheds-on-wall",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 12 }).opening(#{ name: "o", width: 2, courses: [4, 7], lintel: "steel", sill: #{ kind: "stone", project: 25.mm } }))"#,
    ),
    (
        "ties-too-far",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 8, leaves: #{ cavity: 50.mm, ties: #{ across: 901.mm, up: 450.mm } } }))"#,
    ),
    (
        "top-uncovered",
        r#"{UK}.place("w", wall(#{ length: 8, courses: 6, thickness: 1 }))"#,
    ),
    (
        "wall-too-high",
        r#"{UK}.place("w", wall(#{ length: 4, courses: 6 }))"#,
    ),
];

/// Plans that miss a limit, by what bears on it.
const BREACHED: &[(BreachKind, &str)] = &[
    // A branch off the raster of its wall.
    (
        BreachKind::LapTooShort,
        r#"{UK}.place("w", wall(#{ length: 6.5, courses: 4 }).branch(#{ name: "b", at: 480.mm, length: 2 }))"#,
    ),
    // Four vents leave 100 mm for each piece.
    (
        BreachKind::PieceTooShort,
        r#"{NF}.place("w", chamber(#{ outside: [4, 4], courses: 4 }).vent(#{ side: "back", course: 2, count: 4, width: 60.mm }))"#,
    ),
    (
        BreachKind::JointOutOfTolerance,
        r#"{UK}.place("w", wall(#{ radius: 2.5.m, length: 8, courses: 3 }))"#,
    ),
    (
        BreachKind::JointOutOfTolerance,
        r#"{UK}.place("w", ring(#{ inside: 1100.mm, courses: 3, laid: "header" }))"#,
    ),
    (
        BreachKind::JointOutOfTolerance,
        r#"{UK}.place("w", wall(#{ length: 8, courses: 20 }).opening(#{ name: "o", width: 2, courses: [1, 6], arch: #{ kind: "semicircular", cut: false } }))"#,
    ),
];

const NF: &str = r#"plan("test", #{ unit: "nf", joint: 10.mm }).slab(#{ margin: 120.mm })"#;
const UK: &str = r#"plan("test", #{ unit: "uk" }).slab(#{ margin: 165.mm })"#;

/// The change is made to the plan once more, laid and reviewed: what it is said to do away with is gone, and nothing
/// that is grave was added.
fn holds(plan: &domain::PlanValue, remedy: &Remedy) -> Result<(), String> {
    let made = remedy.alteration.applied(&plan.plan, &remedy.part);
    let made = Arc::new(made.ok_or("cannot be made")?);
    if made != remedy.plan {
        return Err("is not the plan told".to_owned());
    }
    let judged = |plan: &Arc<Plan>| {
        let laid = lay(plan).expect("laid");
        let takeoff = Takeoff::of(&laid).expect("taken off");
        let review = Review::of(&laid, &takeoff);
        (laid, review)
    };
    let (before, after) = (judged(&plan.plan), judged(&made));
    let grave = |review: &Review| review.count(Severity::Stop) + review.count(Severity::Warn);
    if grave(&after.1) > grave(&before.1) || after.0.breaches.len() > before.0.breaches.len() {
        return Err("adds what is grave".to_owned());
    }
    for gone in &remedy.removes {
        let of_part = |finding: &&perpend::review::Finding| {
            finding.code == gone.flaw.code() && finding.place.part.as_ref() == Some(&gone.part)
        };
        let left = match gone.flaw {
            Flaw::Breach(kind) => {
                let here = after
                    .0
                    .breaches
                    .iter()
                    .filter(|breach| breach.kind == kind && Some(breach.course) == gone.course);
                here.count()
            }
            Flaw::Finding(_) => {
                let left = after.1.findings.iter().filter(of_part).count();
                left.saturating_sub(gone.count - 1)
            }
        };
        if left > 0 {
            return Err(format!("leaves {gone:?}"));
        }
    }
    Ok(())
}

#[test]
fn each_finding_and_breach_has_a_remedy_that_does_away_with_it() {
    let faults = in_session(|session| {
        let mut faults = Vec::new();
        let breached = BREACHED.iter().map(|(kind, script)| (kind.code(), *script));
        for (code, script) in FOUND.iter().copied().chain(breached) {
            let script = script.replace("{NF}", NF).replace("{UK}", UK);
            let plan = plan(session, &script);
            let remedies = remedies_of(&plan.plan, None).expect("remedies");
            if !remedies
                .broken
                .iter()
                .any(|broken| broken.flaw.code() == code)
            {
                faults.push(format!("{code} is not found in {script}"));
            }
            let mends =
                |remedy: &&Remedy| remedy.removes.iter().any(|gone| gone.flaw.code() == code);
            match remedies.found.iter().find(mends) {
                None => faults.push(format!("{code}: nothing found in {script}")),
                Some(remedy) => {
                    let words = alteration_words(&remedy.alteration, plan.plan.style);
                    if let Err(fault) = holds(&plan, remedy) {
                        faults.push(format!("{code}: {words} {fault}"));
                    }
                }
            }
        }
        faults
    });
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_code_that_is_mended_has_a_case() {
    let cases: BTreeSet<&str> = FOUND.iter().map(|(code, _)| *code).collect();
    let codes: BTreeSet<&str> = mended_codes().collect();
    assert_eq!(cases, codes);
}

/// A flaw in each of two parts: asked about the plan both are told, asked about a part its own.
#[test]
fn remedies_of_a_plan_are_those_of_its_parts() {
    in_session(|session| {
        let script = format!(
            "{UK}.place(\"a\", wall(#{{ length: 8, courses: 3, thickness: 1 }})).place(\"b\", wall(#{{ radius: 2.5.m, length: 8, courses: 3 }}), #{{ behind: \"a\", gap: 1.m }})"
        );
        let plan = plan(session, &script);
        let parts = |asked: Option<&str>| {
            let found = remedies_of(&plan.plan, asked).expect("remedies").found;
            found
                .into_iter()
                .map(|remedy| remedy.part)
                .collect::<BTreeSet<_>>()
        };
        assert_eq!(parts(None).len(), 2);
        assert_eq!(parts(Some("b")).into_iter().collect::<Vec<_>>(), ["b"]);
        assert!(remedies_of(&plan.plan, Some("c")).is_err());
    });
}

/// What is done with a plan, and the code of the error that it ends with.
type Work<'a> = &'a dyn Fn(&Arc<Plan>) -> Option<&'static str>;

/// Work that is asked to stop ends with an error soon after: between two asks lies a course, a way or a try.
#[test]
fn what_takes_long_stops_when_it_is_asked_to() {
    in_session(|session| {
        let script = BREACHED
            .first()
            .map(|(_, script)| script.replace("{UK}", UK));
        let plan = plan(session, &script.expect("a script"));
        let after = |asks: usize, work: Work<'_>| {
            let left = Cell::new(asks);
            let more = Rc::new(Cell::new(0));
            let seen = Rc::clone(&more);
            let asked = move || {
                left.set(left.get().saturating_sub(1));
                let stop = left.get() == 0;
                seen.set(seen.get() + usize::from(stop));
                stop.then_some(stop::Reason::Interrupted)
            };
            let code = stop::watched(asked, || work(&plan.plan));
            (code, more.get())
        };
        let works: [Work<'_>; 3] = [
            &|plan| lay(plan).err().map(|error| error.code),
            &|plan| explain(plan, "w", 2).err().map(|error| error.code),
            &|plan| remedies_of(plan, Some("w")).err().map(|error| error.code),
        ];
        for work in works {
            for asks in [1, 3, 10] {
                let (code, more) = after(asks, work);
                assert_eq!(code, Some("work-stopped"), "after {asks}");
                assert!(more < 100, "{more} more asks");
            }
        }
    });
}
