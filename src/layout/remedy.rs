//! What would do away with the breaches of a part, found by laying it again with one thing changed at a time.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::alteration::{Alteration, Reach, alterations};
use super::laid::{BreachKind, Cut, Laid, Shaping};
use super::lay::lay;
use super::measure::measure;
use crate::plan::{Plan, PlanError};

/// Most changes that are tried for one part; the smallest come first. Our own choice.
pub const MOST_TRIES: usize = 200;
/// Pieces laid in all tries together, after which no more is tried: some seconds of work. Our own choice.
const MOST_PIECES_TRIED: usize = 2_000_000;
/// How many changes are kept for each breach. Our own choice.
const KEPT: usize = 3;
/// Breaches of one kind in one course of the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Broken {
    /// Which limit.
    pub kind: BreachKind,
    /// The course.
    pub course: u32,
    /// In how many places.
    pub count: usize,
}

/// A change that does away with breaches and makes no new ones.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedy {
    /// What is changed.
    pub alteration: Alteration,
    /// The plan with the change made.
    pub plan: Arc<Plan>,
    /// The breaches of the part that are gone.
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

/// What was found for a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Remedies {
    /// Its breaches, by course.
    pub broken: Vec<Broken>,
    /// Changes, those first that do away with most, then those with fewest cuts, then those that touch
    /// least of the work, then the smallest.
    pub found: Vec<Remedy>,
    /// How many changes were tried.
    pub tried: usize,
    /// How many were left untried.
    pub untried: usize,
}

/// Breaches of a plan: how many by part, course and kind.
type Tally = BTreeMap<(usize, u32, &'static str), (BreachKind, usize)>;

/// Looks for changes that do away with the breaches of a part.
///
/// # Errors
/// When there is no such part, or the plan cannot be laid as it is.
pub fn remedies(plan: &Arc<Plan>, part: &str) -> Result<Remedies, PlanError> {
    plan.part_named(part)
        .map_err(|error| error.at_key("part"))?;
    let laid = lay(plan)?;
    let measured = measure(plan)?;
    let before = tally(&laid);
    let found = measured.parts.iter().position(|other| other.name == part);
    let Some((index, part)) = found.and_then(|at| Some((at, measured.parts.get(at)?))) else {
        return Ok(Remedies::none());
    };
    let broken: Vec<Broken> = before
        .iter()
        .filter(|((of, ..), _)| *of == index)
        .map(|(&(_, course, _), &(kind, count))| Broken {
            kind,
            course,
            count,
        })
        .collect();
    if broken.is_empty() {
        return Ok(Remedies::none());
    }
    let cuts = cut_pieces(&laid);
    let mut tries = alterations(plan, part);
    tries.sort_by_key(|(steps, _)| *steps);
    let mut all: Vec<Remedy> = Vec::new();
    let (mut tried, mut pieces) = (0, 0);
    let count = tries.len();
    for (steps, alteration) in tries {
        if tried == MOST_TRIES || pieces > MOST_PIECES_TRIED {
            break;
        }
        tried += 1;
        // What cannot be measured or laid is no remedy.
        let Some(altered) = alteration.applied(plan, &part.name).map(Arc::new) else {
            continue;
        };
        let Ok(again) = lay(&altered) else {
            continue;
        };
        pieces += again.pieces.len();
        let after = tally(&again);
        let worse = after
            .iter()
            .any(|(key, (_, count))| before.get(key).is_none_or(|(_, had)| count > had));
        let removes: Vec<Broken> = broken
            .iter()
            .copied()
            .filter(|gone| !after.contains_key(&(index, gone.course, gone.kind.code())))
            .collect();
        if !worse && !removes.is_empty() {
            all.push(Remedy {
                reach: alteration.reach(),
                alteration,
                plan: altered,
                removes,
                left: again.breaches.len(),
                more_cuts: cut_pieces(&again) - cuts,
                steps,
            });
        }
    }
    all.sort_by_key(|remedy| (remedy.more_cuts, remedy.reach, remedy.steps));
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
    fn none() -> Remedies {
        Remedies {
            broken: Vec::new(),
            found: Vec::new(),
            tried: 0,
            untried: 0,
        }
    }

    /// Breaches that no change found does away with.
    pub fn without(&self) -> impl Iterator<Item = &Broken> {
        self.broken.iter().filter(|broken| {
            !self
                .found
                .iter()
                .any(|remedy| remedy.removes.contains(broken))
        })
    }
}

fn tally(laid: &Laid) -> Tally {
    let mut tally = Tally::new();
    for breach in &laid.breaches {
        let key = (breach.part, breach.course, breach.kind.code());
        tally.entry(key).or_insert((breach.kind, 0)).1 += 1;
    }
    tally
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
