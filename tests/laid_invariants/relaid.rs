//! No short lap that the course below could avoid: for every one, other layouts of the stretch below and of those that
//! lie on it are tried, and none may miss fewer limits in all without the lower one missing more than it does.
//!
//! Stretches of up to [`IN_FULL`] units and half are tried with every order of their pieces, longer ones with at most
//! [`FEW_CUTS`] cut pieces, and stretches longer than [`LONGEST`] units not at all. In stretches with headers the bond's own
//! solver lays the lower one as if some joints of the upper ones lay below it: a sample, since what is no longer the
//! bond is not tried. Walls one and a half units thick with headers are not judged. Where the end of one stone several courses high lets joints below bind nothing, nothing is judged.

use perpend::layout::interval::{
    ElementKind, End, Interval, Limit, Pattern, Rules, Solution, solve, solve_pattern,
};
use perpend::layout::{Explained, Explanation, explain_all};
use perpend::outside::MemoryOutside;
use perpend::script::Limits;
use perpend::script::domain::{self, PlanValue};
use perpend::shell::run_on_large_stack;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::*;

/// Units of a stretch that is tried in full.
const IN_FULL: i64 = 3;
/// Units of the longest stretch that is tried.
const LONGEST: i64 = 8;
/// Cut pieces in the layouts of a longer stretch.
const FEW_CUTS: usize = 2;
/// Random plans, as many as take a few seconds; `PERPEND_PLANS=1000` tries more.
const PLANS: usize = 30;
/// Pieces shorter than this are no free cuts.
const SHORTEST_CUT: i64 = 20_000_000;

/// A layout of a stretch: limits missed but for laps over joints that may change, and joints from a common place.
struct Layout {
    misses: i64,
    joints: Vec<i64>,
    /// Of the joints, those that keep their lap so far.
    kept: Vec<i64>,
}

/// A stretch, and where it starts; of the joints below only those that stay.
struct Tried<'a> {
    interval: Interval,
    patterns: &'a [Pattern],
    rules: &'a Rules,
    from: i64,
}

impl Tried<'_> {
    fn solved(&self, below: &[i64]) -> Solution {
        let mut interval = self.interval.clone();
        interval
            .below
            .extend(below.iter().map(|joint| joint - self.from));
        interval.below.sort_unstable();
        self.patterns
            .iter()
            .filter_map(|pattern| solve_pattern(&interval, self.rules, pattern))
            .min_by_key(|solution| solution.cost)
            .unwrap_or_else(|| solve(&interval, self.rules))
    }

    fn layout_of(&self, solution: &Solution) -> Layout {
        let over = self.over(&solution.joints);
        let others = solution
            .misses
            .iter()
            .filter(|miss| miss.limit != Limit::Lap);
        Layout {
            misses: others.count() as i64 + (solution.joints.len() - over.len()) as i64,
            kept: over,
            joints: solution
                .joints
                .iter()
                .map(|joint| joint + self.from)
                .collect(),
        }
    }

    /// Joints that keep their lap over those that stay, from the common place.
    fn over(&self, joints: &[i64]) -> Vec<i64> {
        let lap = self.rules.least_lap;
        let keeps = |joint: &&i64| {
            !self
                .interval
                .below
                .iter()
                .any(|below| (below - **joint).abs() < lap)
        };
        joints
            .iter()
            .filter(keeps)
            .map(|joint| joint + self.from)
            .collect()
    }

    /// Every layout that is tried; none where the stretch is too long or has headers.
    fn layouts(&self) -> Option<Vec<Layout>> {
        let rules = self.rules;
        let module = rules.unit + rules.joint;
        if !self.patterns.is_empty() || self.interval.length > LONGEST * module {
            return None;
        }
        let cuts = if self.interval.length <= IN_FULL * module + module / 2 {
            usize::MAX
        } else {
            FEW_CUTS
        };
        let mut found = Vec::new();
        let mut order = Vec::new();
        self.grow(&mut order, cuts, 0, &mut found);
        Some(found)
    }

    fn length_of(&self, kind: ElementKind) -> i64 {
        let rules = self.rules;
        match kind {
            ElementKind::Fraction(parts) => {
                (rules.unit + rules.joint) * parts / rules.parts - rules.joint
            }
            ElementKind::Float(float) => self.interval.floats[float].size,
            ElementKind::Odd => SHORTEST_CUT,
            _ => rules.unit,
        }
    }

    fn is_gap(&self, kind: ElementKind) -> bool {
        matches!(kind, ElementKind::Float(float) if self.interval.floats[float].gap)
    }

    /// All orders that go on from one.
    fn grow(&self, order: &mut Vec<ElementKind>, cuts: usize, taken: i64, found: &mut Vec<Layout>) {
        if taken > self.interval.length {
            return;
        }
        found.extend(self.layout(order));
        let floats = order
            .iter()
            .filter(|kind| matches!(kind, ElementKind::Float(_)))
            .count();
        let mut next = vec![ElementKind::Whole];
        if cuts > 0 {
            next.extend(
                self.rules
                    .fractions
                    .iter()
                    .map(|&parts| ElementKind::Fraction(parts)),
            );
            if !order.contains(&ElementKind::Odd) {
                next.push(ElementKind::Odd);
            }
        }
        if floats < self.interval.floats.len() {
            next.push(ElementKind::Float(floats));
        }
        for kind in next {
            let is_cut = matches!(kind, ElementKind::Fraction(_) | ElementKind::Odd);
            let gap = self.is_gap(kind);
            let after_gap = order.last().is_some_and(|&last| self.is_gap(last));
            let jointed = !gap && !after_gap && !order.is_empty();
            let joint = if jointed {
                self.rules.shortest_joint
            } else {
                0
            };
            order.push(kind);
            let taken = taken + joint + self.length_of(kind);
            self.grow(order, cuts - usize::from(is_cut), taken, found);
            order.pop();
        }
    }

    /// An order as it lies, with all joints alike; none where it does not fill the stretch.
    fn layout(&self, order: &[ElementKind]) -> Option<Layout> {
        let (interval, rules) = (&self.interval, self.rules);
        let solids = order.iter().filter(|&&kind| !self.is_gap(kind)).count() as i64;
        let gaps = order.len() as i64 - solids;
        let floats = order
            .iter()
            .filter(|kind| matches!(kind, ElementKind::Float(_)))
            .count();
        let ends = [order.first(), order.last()];
        if floats < interval.floats.len()
            || ends
                .iter()
                .any(|end| end.is_none_or(|&end| self.is_gap(end)))
        {
            return None;
        }
        let jointed = |end: End| i64::from(end == End::Jointed);
        let joints = solids - 1 - gaps + jointed(interval.low) + jointed(interval.high);
        let has_odd = order.contains(&ElementKind::Odd);
        let regular = order.iter().filter(|kind| **kind != ElementKind::Odd);
        let rest = interval.length - regular.map(|&kind| self.length_of(kind)).sum::<i64>();
        let (odd, total) = if has_odd {
            (rest - joints * rules.joint, joints * rules.joint)
        } else {
            (0, rest)
        };
        let fits = (joints * rules.shortest_joint..=joints * rules.longest_joint).contains(&total);
        if !fits || (has_odd && !(SHORTEST_CUT..rules.unit).contains(&odd)) {
            return None;
        }
        let mut middles = Vec::new();
        let (mut at, mut misses) = (0, 0);
        let mut after_gap = false;
        let width = if joints > 0 { total / joints } else { 0 };
        for (index, &kind) in order.iter().enumerate() {
            let gap = self.is_gap(kind);
            let jointed = if index == 0 {
                interval.low == End::Jointed
            } else {
                !gap && !after_gap
            };
            if jointed {
                middles.push(at + width / 2);
                at += width;
            }
            let length = if kind == ElementKind::Odd {
                odd
            } else {
                self.length_of(kind)
            };
            if let ElementKind::Float(float) = kind {
                let off = (at + length / 2 - interval.floats[float].target).abs();
                if off > i64::midpoint(rules.unit, rules.joint) {
                    return None;
                }
            } else if kind != ElementKind::Whole {
                misses += i64::from(length < rules.shortest_piece);
            }
            at += length;
            after_gap = gap;
        }
        if interval.high == End::Jointed {
            middles.push(interval.length - width / 2);
        }
        let kept = self.over(&middles);
        Some(Layout {
            misses: misses + (middles.len() - kept.len()) as i64,
            joints: middles.iter().map(|joint| joint + self.from).collect(),
            kept,
        })
    }
}

/// What was judged.
#[derive(Debug, Default)]
struct Tally {
    plans: usize,
    /// Stretches that miss a lap.
    missed: usize,
    plain: usize,
    bonded: usize,
    not_judged: usize,
    /// Stretches laid for the course above, and of their courses laid each by itself those that are found wanting.
    relaid: usize,
    found_wanting: usize,
}

fn from(explained: &Explained) -> i64 {
    explained.from.nm()
}

fn near(one: &Explained, other: &Explained, lap: i64) -> bool {
    from(one) < from(other) + other.interval.length + lap
        && from(other) < from(one) + one.interval.length + lap
}

fn joints(explained: &Explained, solution: &Solution) -> Vec<i64> {
    solution
        .joints
        .iter()
        .map(|joint| joint + from(explained))
        .collect()
}

/// A stretch over joints that stay: all below it but those of the lower one. None where some of these bind nothing.
fn over<'a>(upper: &'a Explained, lower: &Explained, rules: &'a Rules) -> Option<Tried<'a>> {
    let under: Vec<i64> = joints(lower, &lower.solution)
        .iter()
        .map(|joint| joint - from(upper))
        .collect();
    let mut interval = upper.interval.clone();
    let reach = -rules.least_lap..=interval.length + rules.least_lap;
    let binds = |joint: &i64| !reach.contains(joint) || interval.below.contains(joint);
    if !under.iter().all(binds) {
        return None;
    }
    interval.below.retain(|joint| !under.contains(joint));
    Some(Tried {
        interval,
        patterns: &upper.patterns,
        rules,
        from: from(upper),
    })
}

/// Whether other layouts of a lower stretch and of those on it miss fewer limits; none where that cannot be judged.
fn avoidable(
    lower: &Explained,
    laid: &Solution,
    uppers: &[&Explained],
    rules: &Rules,
) -> Option<bool> {
    let low = Tried {
        interval: lower.interval.clone(),
        patterns: &lower.patterns,
        rules,
        from: from(lower),
    };
    let highs: Option<Vec<Tried<'_>>> = uppers
        .iter()
        .map(|upper| over(upper, lower, rules))
        .collect();
    let highs = highs?;
    let missed = |joints: &[i64]| -> i64 {
        highs
            .iter()
            .map(|high| high.solved(joints).cost.misses)
            .sum()
    };
    let before = laid.cost.misses + missed(&joints(lower, laid));
    let lap = rules.least_lap;
    if let (Some(lows), Some(all)) = (
        low.layouts(),
        highs.iter().map(Tried::layouts).collect::<Option<Vec<_>>>(),
    ) {
        let better = |under: &Layout| {
            let least = |layouts: &Vec<Layout>| {
                let misses = layouts.iter().map(|layout| {
                    let near = |joint: &&i64| {
                        under
                            .joints
                            .iter()
                            .any(|below| (below - **joint).abs() < lap)
                    };
                    layout.misses + layout.kept.iter().filter(near).count() as i64
                });
                misses.min()
            };
            let uppers: Option<Vec<i64>> = all.iter().map(least).collect();
            uppers.is_some_and(|uppers| under.misses + uppers.iter().sum::<i64>() < before)
        };
        return Some(
            lows.iter()
                .any(|under| under.misses <= laid.cost.misses && better(under)),
        );
    }
    if low.patterns.is_empty() {
        return None;
    }
    // As if joints of the upper ones lay below: all that they would have over nothing, then each by itself.
    let free: Vec<i64> = highs
        .iter()
        .flat_map(|high| high.layout_of(&high.solved(&[])).joints)
        .collect();
    let mut samples: Vec<Vec<i64>> = free.iter().map(|&joint| vec![joint]).collect();
    samples.push(free);
    Some(samples.iter().any(|sample| {
        let under = low.layout_of(&low.solved(sample));
        under.misses <= laid.cost.misses && under.misses + missed(&under.joints) < before
    }))
}

fn misses_lap(explained: &Explained) -> bool {
    explained
        .laid
        .missed
        .iter()
        .any(|(limit, _)| *limit == Limit::Lap)
}

/// Judges every short lap of a plan as it is laid.
fn judge(laid: &Laid, tally: &mut Tally) -> Result<(), String> {
    tally.plans += 1;
    for part in laid.parts.iter().filter(|part| part.ring.is_none()) {
        let all = explain_all(&laid.plan, &part.name).map_err(|error| format!("{error:?}"))?;
        for pair in all.windows(2) {
            judge_course(&pair[0], &pair[1], tally)
                .map_err(|error| format!("{}, course {}: {error}", part.name, pair[1].course))?;
        }
    }
    Ok(())
}

fn judge_course(below: &Explanation, above: &Explanation, tally: &mut Tally) -> Result<(), String> {
    let rules = &above.rules;
    for lower in &below.intervals {
        let beside = |upper: &&Explained| {
            // Courses of a pier that turn lie across each other.
            (upper.side, upper.leaf, upper.leaves) == (lower.side, lower.leaf, lower.leaves)
                && near(upper, lower, rules.least_lap)
        };
        let uppers: Vec<&Explained> = above.intervals.iter().filter(beside).collect();
        // The rows of a wall one and a half units thick follow from one another.
        if lower.leaves == 3 && !lower.patterns.is_empty() {
            continue;
        }
        if lower.alone.is_some() {
            // Each course by itself: what the rules lay without a look at the course above must be found wanting.
            let low = Tried {
                interval: lower.interval.clone(),
                patterns: &lower.patterns,
                rules,
                from: from(lower),
            };
            tally.relaid += 1;
            tally.found_wanting +=
                usize::from(avoidable(lower, &low.solved(&[]), &uppers, rules) == Some(true));
        }
        let missed = uppers.iter().filter(|upper| misses_lap(upper)).count();
        if missed == 0 {
            continue;
        }
        tally.missed += missed;
        match avoidable(lower, &lower.solution, &uppers, rules) {
            None => tally.not_judged += 1,
            Some(true) => {
                return Err(format!(
                    "a lap is missed that need not be: {lower:?}\nunder {uppers:?}"
                ));
            }
            Some(false) if lower.patterns.is_empty() => tally.plain += 1,
            Some(false) => tally.bonded += 1,
        }
    }
    Ok(())
}

#[test]
fn no_short_lap_of_random_plans_could_be_avoided_below() {
    let mut runner = TestRunner::deterministic();
    let mut tally = Tally::default();
    // More for a thorough search.
    let plans =
        std::env::var("PERPEND_PLANS").map_or(PLANS, |plans| plans.parse().expect("a number"));
    for turn in 0..plans {
        let plan = plan().new_tree(&mut runner).expect("a plan").current();
        if let Some(laid) = laid_at_last(plan)
            && let Err(error) = judge(&laid, &mut tally)
        {
            panic!("plan {turn}: {error}\n{:?}", laid.plan);
        }
    }
    println!("{tally:?}");
    // The judge is no rubber stamp: it finds fault with courses laid without a look at the course above.
    assert!(tally.found_wanting > 0, "{tally:?}");
}

/// What a script comes to, laid.
fn laid_of(name: &str, script: &str) -> Option<Laid> {
    let outside = std::rc::Rc::new(MemoryOutside::new());
    let outcome = domain::open(outside, Limits::default()).run(name, script);
    assert!(!outcome.failed(), "{name}: {:?}", outcome.diagnostics);
    let value = outcome.value.expect("a value");
    let plan = value.read_lock::<PlanValue>()?.plan.clone();
    Some(lay(&plan).expect("a plan that can be laid"))
}

#[test]
fn no_short_lap_of_scripts_and_recipes_could_be_avoided_below() {
    let folder = |name: &str| {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
        let entries = std::fs::read_dir(path).expect("a folder");
        let mut files: Vec<_> = entries.map(|entry| entry.expect("a file").path()).collect();
        files.retain(|path| {
            path.extension()
                .is_some_and(|extension| extension == "rhai")
        });
        files.sort();
        files
    };
    let mut scripts = Vec::new();
    for file in folder("scripts") {
        let text = std::fs::read_to_string(&file).expect("a script");
        scripts.push((file.display().to_string(), text));
    }
    for file in folder("stdlib/recipes") {
        // A building block makes no plan of its own.
        let text = std::fs::read_to_string(&file).expect("a recipe");
        if !text.contains("fn build(") {
            continue;
        }
        let name = file
            .file_stem()
            .and_then(|name| name.to_str())
            .expect("a name")
            .to_owned();
        let text = format!("import \"{name}\" as recipe;\nrecipe::build(#{{}})");
        scripts.push((name, text));
    }
    let judged = run_on_large_stack(|| {
        let mut tally = Tally::default();
        for (name, script) in &scripts {
            let laid = laid_of(name, script).unwrap_or_else(|| panic!("{name} is no plan"));
            if let Err(error) = judge(&laid, &mut tally) {
                panic!("{name}: {error}");
            }
        }
        tally
    });
    let tally = judged.expect("a thread");
    assert_eq!(tally.plans, scripts.len());
}
