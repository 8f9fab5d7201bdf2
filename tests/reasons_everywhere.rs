//! Every kind of part and feature: what bears on its courses is told, and no course lacks a reason.
#![expect(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::rc::Rc;

use perpend::layout::{Explanation, explain, lay};
use perpend::outside::MemoryOutside;
use perpend::script::{Limits, Session, domain};
use perpend::sheet::{explanation_table, remark_words};

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
            "\"post 1\", 0 mm",
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
