//! Random small problems with our answers, for the integer programmes in `tests/reference/` to judge. The folder to write
//! to is named in `PERPEND_CASES`; without it the same problems are only checked to be solved to a proof.
#![allow(
    clippy::expect_used,
    reason = "the allowance for tests does not reach their shared functions"
)]

use perpend::layout::interval::{End, Float, Interval, Rules, solve};
use perpend::quantity::Length;
use perpend::takeoff::{Stock, StockTask, stock_plan};
use serde_json::{Value, json};

/// Nanometres in a millimetre.
const MM: i64 = 1_000_000;
/// Keeps joints below off every grid, where rounding and not order would decide.
const OFF_GRID: i64 = 123_457;

/// A linear congruential generator (Knuth's MMIX constants): the same problems on every machine.
struct Dice(u64);

impl Dice {
    fn throw(&mut self, from: i64, to: i64) -> i64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        from + ((self.0 >> 33) as i64) % (to - from + 1)
    }

    fn end(&mut self) -> End {
        if self.throw(0, 1) == 0 {
            End::Open
        } else {
            End::Jointed
        }
    }
}

fn cutting_case(dice: &mut Dice) -> Value {
    let mut stock = vec![Stock::bought(Length::mm(dice.throw(20, 30))).with_ends(2)];
    for _ in 0..dice.throw(0, 2) {
        let hand = Stock::on_hand(Length::mm(dice.throw(6, 20)), dice.throw(1, 3) as u64);
        stock.push(hand.with_ends(dice.throw(0, 1) as u64));
    }
    let mut list = |most| -> Vec<(Length, u64)> {
        (0..dice.throw(0, most))
            .map(|_| (Length::mm(dice.throw(2, 20)), dice.throw(1, 3) as u64))
            .collect()
    };
    let (pieces, ended) = (list(3), list(3));
    let task = StockTask {
        stock,
        pieces,
        ended,
        kerf: Length::mm(dice.throw(0, 2)),
        most_pieces: None,
        steps: 2_000_000,
    };
    let plan = stock_plan(&task).expect("a unit is longer than every piece");
    assert!(plan.is_proved(), "{task:?}");
    let show = |list: &[(Length, u64)]| -> Vec<Value> {
        list.iter().map(|(l, n)| json!([l.to_mm(), n])).collect()
    };
    let kinds = task.stock.iter().map(|stock| {
        json!({
            "length": stock.length.to_mm(),
            "number": stock.number,
            "bought": stock.bought,
            "ends": stock.ends,
        })
    });
    json!({
        "stock": kinds.collect::<Vec<_>>(),
        "pieces": show(&task.pieces),
        "ended": show(&task.ended),
        "kerf": task.kerf.to_mm(),
        "bought": plan.taken.bought,
        "used": plan.taken.used,
        "length": plan.taken.length.to_mm(),
    })
}

fn rules(dice: &mut Dice) -> Rules {
    let (unit, joint) = (dice.throw(190, 300) * MM, dice.throw(8, 14) * MM);
    let (parts, fractions) = if dice.throw(0, 1) == 0 {
        (4, vec![3, 2])
    } else {
        (12, vec![8, 4])
    };
    Rules {
        unit,
        joint,
        shortest_joint: joint - 3 * MM,
        longest_joint: joint + 5 * MM,
        parts,
        fractions,
        least_lap: unit / 4 - OFF_GRID / 3,
        shortest_piece: dice.throw(85, 115) * MM,
    }
}

/// Up to two vents or headers, about evenly spread.
fn floats(dice: &mut Dice, length: i64) -> Vec<Float> {
    let count = dice.throw(1, 2);
    (1..=count)
        .map(|order| Float {
            gap: dice.throw(0, 1) == 0,
            size: dice.throw(40, 115) * MM,
            target: length * order / (count + 1) + dice.throw(-60, 60) * MM,
        })
        .collect()
}

fn interval_case(dice: &mut Dice, floating: bool) -> Value {
    let rules = rules(dice);
    let module = rules.unit + rules.joint;
    // With floats there are more orders for a programme to look at.
    let (least, quarters, longest) = if floating {
        (5, 8, 2_200)
    } else {
        (1, 14, 3_500)
    };
    let mut below: Vec<i64> = (0..dice.throw(0, 4))
        .map(|_| dice.throw(0, 900) * MM + OFF_GRID)
        .collect();
    below.sort_unstable();
    let length = if dice.throw(0, 1) == 0 {
        module * dice.throw(least, quarters) / 4
    } else {
        module * dice.throw(least * 100, longest) / 1_000 / MM * MM
    };
    let interval = Interval {
        length,
        low: dice.end(),
        high: dice.end(),
        raster: 0,
        floats: if floating {
            floats(dice, length)
        } else {
            Vec::new()
        },
        below,
    };
    let solution = solve(&interval, &rules);
    let mm = |nm: i64| nm as f64 / MM as f64;
    json!({
        "length": mm(interval.length),
        "jointed": [interval.low == End::Jointed, interval.high == End::Jointed],
        "floats": interval
            .floats
            .iter()
            .map(|float| json!([float.gap, mm(float.size), mm(float.target)]))
            .collect::<Vec<_>>(),
        "below": interval.below.iter().map(|&b| mm(b)).collect::<Vec<_>>(),
        "unit": mm(rules.unit),
        "joint": [mm(rules.shortest_joint), mm(rules.joint), mm(rules.longest_joint)],
        "fractions": rules
            .fractions
            .iter()
            .map(|&f| mm(module * f / rules.parts - rules.joint))
            .collect::<Vec<_>>(),
        "lap": mm(rules.least_lap),
        "shortest": mm(rules.shortest_piece),
        "mortar": solution.elements.is_empty(),
        "misses": solution.cost.misses,
        "cuts": solution.cost.cuts,
        "odd": solution.cost.odd,
    })
}

#[test]
fn problems_for_the_integer_programmes() {
    let mut dice = Dice(20);
    let cutting: Vec<Value> = (0..150).map(|_| cutting_case(&mut dice)).collect();
    let intervals: Vec<Value> = (0..70)
        .map(|at| interval_case(&mut dice, at >= 50))
        .collect();
    let Some(folder) = std::env::var_os("PERPEND_CASES") else {
        return;
    };
    let folder = std::path::Path::new(&folder);
    for (name, cases) in [("cutting", cutting), ("intervals", intervals)] {
        let text = serde_json::to_string(&cases).expect("JSON");
        std::fs::write(folder.join(format!("{name}.json")), text).expect("a file");
    }
}
