//! A plan laid in every combination of some changes.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use super::comparison::{Refused, Row};
use super::crew::{Crew, Ending, Steps, Worked, in_order};
use super::figure::{Figure, Reading};
use super::grid::{Grid, MOST_ROWS};
use super::setting::{Change, with_changes};
use crate::layout::{Laid, lay};
use crate::plan::{Plan, PlanError};
use crate::review::Review;
use crate::takeoff::Takeoff;

/// A variant that was laid.
pub struct Variant {
    /// Its figures in the order asked for.
    pub figures: Vec<Reading>,
    /// Its laid work.
    pub laid: Laid,
    /// What was read off it.
    pub takeoff: Takeoff,
}

/// Lays a plan and reads figures off it.
///
/// # Errors
/// Why it cannot be built.
pub fn variant_of(plan: &Arc<Plan>, figures: &[Figure]) -> Result<Variant, PlanError> {
    let laid = lay(plan)?;
    let takeoff = taken_off(&laid)?;
    Ok(Variant {
        figures: readings(figures, &laid, Some(&takeoff)),
        laid,
        takeoff,
    })
}

/// Lays a plan and reads figures off it, and keeps nothing else: no more is worked out than they want.
///
/// # Errors
/// Why it cannot be built.
pub fn figures_of(plan: &Arc<Plan>, figures: &[Figure]) -> Result<Vec<Reading>, PlanError> {
    let laid = lay(plan)?;
    let wants_more = figures.iter().any(|figure| !figure.is_of_laying());
    let takeoff = wants_more.then(|| taken_off(&laid)).transpose()?;
    Ok(readings(figures, &laid, takeoff.as_ref()))
}

fn taken_off(laid: &Laid) -> Result<Takeoff, PlanError> {
    Takeoff::of(laid)
        .map_err(|error| PlanError::new("material-unknown", error.message, error.remedy))
}

fn readings(figures: &[Figure], laid: &Laid, takeoff: Option<&Takeoff>) -> Vec<Reading> {
    let wants_review = figures.iter().any(|figure| figure.is_of_review());
    let review = takeoff
        .filter(|_| wants_review)
        .map(|takeoff| Review::of(laid, takeoff));
    figures
        .iter()
        .map(|figure| figure.read(laid, takeoff, review.as_ref()))
        .collect()
}

/// Why a variant cannot be built, from the error that says so.
pub fn refused(error: &PlanError) -> Refused {
    Refused {
        code: error.code.to_owned(),
        message: error.to_string(),
    }
}

/// A variant whose work met a fault of the program.
pub fn faulty(message: &str) -> Refused {
    Refused {
        code: "internal-fault".to_owned(),
        message: format!("the program met a fault of its own: {message}"),
    }
}

/// Lays a plan in every combination of some changes: each axis is a list of changes of one kind.
///
/// Gives a row for every combination, in order, and how the work ended.
///
/// # Errors
/// When there are more than [`MOST_ROWS`] combinations.
pub fn sweep(
    plan: &Plan,
    axes: &[Vec<Change>],
    figures: &[Figure],
    crew: Crew,
) -> Result<(Vec<Row>, Ending), PlanError> {
    let lengths: Vec<usize> = axes.iter().map(Vec::len).collect();
    let grid = Grid::crossed(&lengths, MOST_ROWS)?;
    let mut rows = Vec::new();
    let steps = Steps {
        hire: |_: Option<&Arc<AtomicBool>>| (),
        prepare: |number| Ok::<_, PlanError>(changes_at(axes, &grid.at(number))),
        work: |(): &mut (), changes: Vec<Change>| {
            let plan = Arc::new(with_changes(plan, &changes)?);
            figures_of(&plan, figures)
        },
        take: |number, worked: Worked<Result<Vec<Reading>, PlanError>>| {
            rows.push(Row {
                number: number + 1,
                at: grid.at(number),
                figures: match worked {
                    Ok(read) => read.map_err(|error| refused(&error)),
                    Err(fault) => Err(faulty(&fault)),
                },
            });
            Ok(())
        },
    };
    let ending = in_order(grid.count(), crew, steps)?;
    Ok((rows, ending))
}

/// The changes at some places on the axes.
pub fn changes_at(axes: &[Vec<Change>], places: &[usize]) -> Vec<Change> {
    axes.iter()
        .zip(places)
        .filter_map(|(axis, place)| axis.get(*place).cloned())
        .collect()
}
