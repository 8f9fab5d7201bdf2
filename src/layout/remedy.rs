//! What would do away with the breaches and findings of a part or a plan, found by laying it again with one thing
//! changed at a time.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::alteration::{Alteration, Reach, Subject, alterations};
use super::laid::{BreachKind, Cut, Laid, Shaping};
use super::lay::{check_stop, lay};
use super::measure::measure;
use crate::plan::{Plan, PlanError};

/// Most changes that are tried for one part; the smallest come first. Our own choice.
pub const MOST_TRIES: usize = 300;
/// Pieces laid in all tries together, after which no more is tried: some seconds of work. Our own choice.
const MOST_PIECES_TRIED: usize = 2_000_000;
/// How many changes are kept for each breach. Our own choice.
const KEPT: usize = 3;

/// What is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flaw {
    /// A limit of laying is missed.
    Breach(BreachKind),
    /// A review finds something of this code.
    Finding(&'static str),
}

impl Flaw {
    /// Stable code.
    pub const fn code(self) -> &'static str {
        match self {
            Flaw::Breach(kind) => kind.code(),
            Flaw::Finding(code) => code,
        }
    }
}

/// What is found of laid work beside its breaches.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// The part.
    pub part: String,
    /// Stable code of what is found.
    pub code: &'static str,
    /// Which changes are tried for it; none where no change of the layout helps.
    pub subject: Option<Subject>,
    /// Whether a change must not add one like it.
    pub grave: bool,
}

/// Finds what is wrong with laid work beside its breaches.
pub type Judge<'a> = &'a dyn Fn(&Laid) -> Result<Vec<Found>, PlanError>;

/// Breaches of one kind in one course of a part, or findings of one code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Broken {
    /// The part.
    pub part: String,
    /// What is wrong.
    pub flaw: Flaw,
    /// The course, for a breach.
    pub course: Option<u32>,
    /// In how many places.
    pub count: usize,
}

/// A change that does away with breaches or findings and makes no new ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// The part that is changed, or whose ducts are.
    pub part: String,
    /// What is changed.
    pub alteration: Alteration,
    /// The plan with the change made.
    pub plan: Arc<Plan>,
    /// What is wrong with the part and would be gone.
    pub removes: Vec<Broken>,
    /// Breaches that are left in the whole plan.
    pub left: usize,
    /// How many more pieces of the whole plan are cut; negative for fewer.
    pub more_cuts: i64,
    /// How many steps it is off.
    pub steps: i64,
    /// How much of the work it touches.
    pub reach: Reach,
}

/// What was found for a part or a plan.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Remedies {
    /// What is wrong with it: breaches by course, then findings.
    pub broken: Vec<Broken>,
    /// Changes, those first that do away with most, then those that touch least of the work, then the smallest,
    /// then those with fewest cuts.
    pub found: Vec<Remedy>,
    /// How many changes were tried.
    pub tried: usize,
    /// How many were left untried.
    pub untried: usize,
}

/// How often each thing is wrong, by part, course (0 for findings) and code.
type Tally = BTreeMap<(String, u32, &'static str), usize>;

/// Looks for changes that do away with the breaches of a part.
///
/// # Errors
/// When there is no such part, or the plan cannot be laid as it is.
pub fn remedies(plan: &Arc<Plan>, part: &str) -> Result<Remedies, PlanError> {
    remedies_by(plan, Some(part), &|_| Ok(Vec::new()))
}

/// Looks for changes that do away with the breaches of a part, or of the whole plan, and with what else is found of it.
///
/// # Errors
/// When there is no such part, the plan cannot be laid as it is, or the work is asked to stop.
pub fn remedies_by(
    plan: &Arc<Plan>,
    part: Option<&str>,
    judge: Judge<'_>,
) -> Result<Remedies, PlanError> {
    if let Some(part) = part {
        plan.part_named(part)
            .map_err(|error| error.at_key("part"))?;
    }
    let laid = lay(plan)?;
    let before = State::of(&laid, judge(&laid)?);
    let names = plan.parts.keys().cloned();
    let mut names: BTreeSet<String> = names
        .filter(|name| part.is_none_or(|p| p == name))
        .collect();
    names.retain(|name| before.broken.iter().any(|broken| broken.part == *name));
    let mut all = Remedies::default();
    for name in names {
        let of_part = search(plan, &name, (&laid, &before), judge)?;
        all.broken.extend(of_part.broken);
        all.found.extend(of_part.found);
        all.tried += of_part.tried;
        all.untried += of_part.untried;
    }
    all.found
        .sort_by_key(|remedy| std::cmp::Reverse(remedy.removes.len()));
    Ok(all)
}

/// Everything wrong with laid work.
struct State {
    broken: Vec<Broken>,
    tally: Tally,
    /// What must not be added to.
    grave: Tally,
    subjects: Vec<(String, Subject)>,
    breaches: usize,
}

impl State {
    fn of(laid: &Laid, found: Vec<Found>) -> State {
        let mut state = State {
            broken: Vec::new(),
            tally: Tally::new(),
            grave: Tally::new(),
            subjects: Vec::new(),
            breaches: laid.breaches.len(),
        };
        let mut flaws: BTreeMap<(String, u32, &'static str), (Flaw, usize)> = BTreeMap::new();
        for breach in &laid.breaches {
            let part = laid.part_name(breach.part).to_owned();
            let key = (part.clone(), breach.course, breach.kind.code());
            flaws.entry(key).or_insert((Flaw::Breach(breach.kind), 0)).1 += 1;
            state.subjects.push((part, Subject::Bonding));
        }
        for one in found {
            let key = (one.part.clone(), 0, one.code);
            if one.grave {
                *state.grave.entry(key.clone()).or_insert(0) += 1;
            }
            let Some(subject) = one.subject else {
                continue;
            };
            flaws.entry(key).or_insert((Flaw::Finding(one.code), 0)).1 += 1;
            state.subjects.push((one.part, subject));
        }
        for ((part, course, code), (flaw, count)) in flaws {
            if matches!(flaw, Flaw::Breach(_)) {
                state.grave.insert((part.clone(), course, code), count);
            }
            state.tally.insert((part.clone(), course, code), count);
            let course = (course > 0).then_some(course);
            state.broken.push(Broken {
                part,
                flaw,
                course,
                count,
            });
        }
        // Breaches by course come first.
        state.broken.sort_by_key(|broken| broken.course.is_none());
        state
    }

    fn is_worse_than(&self, before: &State) -> bool {
        let more = |(key, count): (&(String, u32, &'static str), &usize)| {
            before.grave.get(key).is_none_or(|had| count > had)
        };
        self.grave.iter().any(more)
    }

    fn has(&self, broken: &Broken) -> bool {
        let course = broken.course.unwrap_or(0);
        let key = (broken.part.clone(), course, broken.flaw.code());
        // A breach is gone from its course when none is left there; of findings alike one less is a gain.
        let left = self.tally.get(&key).copied().unwrap_or(0);
        match broken.flaw {
            Flaw::Breach(_) => left > 0,
            Flaw::Finding(_) => left >= broken.count,
        }
    }
}

/// Tries the changes of one part.
fn search(
    plan: &Arc<Plan>,
    name: &str,
    (laid, before): (&Laid, &State),
    judge: Judge<'_>,
) -> Result<Remedies, PlanError> {
    let of_part = before.broken.iter().filter(|broken| broken.part == name);
    let broken: Vec<Broken> = of_part.cloned().collect();
    let subjects: BTreeSet<Subject> = before
        .subjects
        .iter()
        .filter(|(part, _)| part == name)
        .map(|(_, subject)| *subject)
        .collect();
    let subjects: Vec<Subject> = subjects.into_iter().collect();
    let measured = measure(plan)?;
    let Some(part) = measured.parts.iter().find(|part| part.name == name) else {
        return Ok(Remedies::default());
    };
    let cuts = cut_pieces(laid);
    let mut tries = alterations(plan, part, &subjects);
    tries.sort_by_key(|(steps, _)| *steps);
    let mut all: Vec<Remedy> = Vec::new();
    let (mut tried, mut pieces) = (0, 0);
    let count = tries.len();
    let breached = |state: &State| {
        let breaches = state.broken.iter();
        let of = breaches.filter(|broken| matches!(broken.flaw, Flaw::Breach(_)));
        of.map(|broken| broken.count).sum::<usize>()
    };
    for (steps, alteration) in tries {
        if tried == MOST_TRIES || pieces > MOST_PIECES_TRIED {
            break;
        }
        check_stop()?;
        tried += 1;
        // What cannot be measured or laid is no remedy.
        let Some(altered) = alteration.applied(plan, &part.name).map(Arc::new) else {
            continue;
        };
        let Ok(again) = lay(&altered) else {
            continue;
        };
        pieces += again.pieces.len();
        // What adds breaches is not worth reviewing.
        let bare = State::of(&again, Vec::new());
        let findings = broken
            .iter()
            .any(|broken| matches!(broken.flaw, Flaw::Finding(_)));
        let mends = broken
            .iter()
            .any(|gone| matches!(gone.flaw, Flaw::Breach(_)) && !bare.has(gone));
        if bare.is_worse_than(before) || breached(&bare) > breached(before) || !(mends || findings)
        {
            continue;
        }
        let Ok(found) = judge(&again) else {
            continue;
        };
        let after = State::of(&again, found);
        let removes: Vec<Broken> = broken
            .iter()
            .filter(|gone| !after.has(gone))
            .cloned()
            .collect();
        if !after.is_worse_than(before) && !removes.is_empty() {
            all.push(Remedy {
                part: name.to_owned(),
                reach: alteration.reach(),
                alteration,
                plan: altered,
                removes,
                left: after.breaches,
                more_cuts: cut_pieces(&again) - cuts,
                steps,
            });
        }
    }
    check_stop()?;
    all.sort_by_key(|remedy| (remedy.reach, remedy.steps, remedy.more_cuts));
    // For each breach the best few; many do away with several.
    let mut uses: Vec<usize> = vec![0; broken.len()];
    all.retain(|remedy| {
        let mut wanted = false;
        for (gone, used) in broken.iter().zip(&mut uses) {
            if *used < KEPT && remedy.removes.contains(gone) {
                *used += 1;
                wanted = true;
            }
        }
        wanted
    });
    all.sort_by_key(|remedy| std::cmp::Reverse(remedy.removes.len()));
    Ok(Remedies {
        broken,
        found: all,
        tried,
        untried: count - tried,
    })
}

impl Remedies {
    /// What no change found does away with.
    pub fn without(&self) -> impl Iterator<Item = &Broken> {
        self.broken.iter().filter(|broken| {
            !self
                .found
                .iter()
                .any(|remedy| remedy.removes.contains(broken))
        })
    }
}

fn cut_pieces(laid: &Laid) -> i64 {
    let tapers = |shaping: Option<&Shaping>| match shaping {
        Some(Shaping::Turned(turned)) => turned.tapers(),
        Some(Shaping::Prism(prism)) => prism.tapered,
        _ => false,
    };
    let pieces = laid.pieces.iter();
    let cut = pieces.filter(|piece| piece.cut != Cut::Whole || tapers(laid.shaping(piece)));
    cut.count() as i64
}
