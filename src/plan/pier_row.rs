//! Attached piers at intervals along a wall.

use serde::{Deserialize, Serialize};

use super::{Branch, MOST_BRANCHES, Part, PlanError, Size};

/// Attached piers alike, spread along one leg: one at each free end and jamb, the others between them. A corner does
/// for a pier.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PierRow {
    /// What each is like; its place is found. Its name is the row's: the piers count on from it.
    pub pier: Branch,
    /// Furthest from one to the next, middle to middle: n units are n(L + j).
    pub every: Size,
}

impl Part {
    /// Adds attached piers at intervals.
    ///
    /// # Errors
    /// As [`Part::with_branch`].
    pub fn with_pier_row(self, row: PierRow) -> Result<Part, PlanError> {
        let known = self.branches.len();
        // What holds of one pier holds of the row; only the place differs.
        let mut part = self.with_branch(row.pier.clone())?;
        part.branches.truncate(known);
        if part
            .pier_rows
            .iter()
            .any(|other| other.pier.name == row.pier.name)
        {
            return Err(PlanError::new(
                "name-taken",
                format!("there are already piers named \"{}\"", row.pier.name),
                "give each row of piers its own name",
            )
            .at_key("name"));
        }
        if part.pier_rows.len() >= MOST_BRANCHES {
            return Err(PlanError::too_many_branches());
        }
        part.pier_rows.push(row);
        Ok(part)
    }
}
