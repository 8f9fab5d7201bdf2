//! Arches over openings in their walls.

use super::MeasuredPart;
use crate::layout::arch::{ArchSite, MeasuredArch, measure_arch};
use crate::layout::frame::Strip;
use crate::plan::{Arch, Opening, PlanError};
use crate::quantity::Length;

impl MeasuredPart {
    pub(in crate::layout) fn measure_opening_arch(
        &self,
        opening: &Opening,
        span: (i64, i64),
        strip: Strip,
    ) -> Result<Option<MeasuredArch>, PlanError> {
        let Some(arch) = opening.arch else {
            return Ok(None);
        };
        let leg = super::leg_of(opening.side, self.sides);
        let named = (opening.name.as_str(), leg);
        self.measure_arch_over(arch, named, (span, opening.to_course), strip)
            .map(Some)
    }

    /// An arch over what is open in a leg, that springs from the top of a course.
    pub(super) fn measure_arch_over(
        &self,
        arch: Arch,
        (name, leg): (&str, usize),
        (span, to_course): ((i64, i64), u32),
        strip: Strip,
    ) -> Result<MeasuredArch, PlanError> {
        self.takes_voussoirs(name, leg)?;
        let top_of = |course: u32| self.base + self.heights.top_of(course);
        let tops: Vec<Length> = (to_course + 1..=self.courses).map(top_of).collect();
        let made = measure_arch(
            arch,
            &ArchSite {
                name,
                span,
                springing: top_of(to_course),
                tops: &tops,
                unit: (self.rules.unit, self.unit_width.nm(), self.unit_height.nm()),
                joint: self.rules.joint,
                least_lap: self.rules.least_lap,
            },
        )?;
        let most = top_of(self.courses);
        if made.outline.top() > most {
            return Err(PlanError::new(
                "arch-at-top",
                format!(
                    "the arch over \"{name}\" reaches {} with its joint, but the part ends at {most}",
                    made.outline.top()
                ),
                "lower the opening, make the part higher, or take a flatter or thinner arch",
            )
            .at_key("arch"));
        }
        let half = made.outline.widest_half().nm();
        let middle = made.outline.middle.nm();
        let (low, high) = strip.clear();
        if middle - half < low || middle + half > high {
            return Err(PlanError::new(
                "arch-outside-wall",
                format!(
                    "the arch over \"{name}\" is {} wide with its joints, but its wall gives {} between corners or ends, measured from the opening's middle",
                    Length::from_nm(2 * half),
                    Length::from_nm(2 * (middle - low).min(high - middle))
                ),
                "make the opening narrower, the wall longer, or take a thinner ring",
            )
            .at_key("arch"));
        }
        Ok(made)
    }

    /// Refuses voussoirs where none can be laid: between spaced leaves, and in branches.
    pub(super) fn takes_voussoirs(&self, name: &str, leg: usize) -> Result<(), PlanError> {
        if !self.between.is_empty() {
            return Err(PlanError::new(
                "arch-in-spaced-leaves",
                format!(
                    "the arch over \"{name}\" would have to close the space between two leaves"
                ),
                "build the wall without a space between its leaves, or take a lintel",
            )
            .at_key("arch"));
        }
        let own_legs = self.leaves.first().map_or(0, Vec::len);
        if leg >= own_legs {
            return Err(PlanError::new(
                "arch-in-branch",
                format!(
                    "the arch over \"{name}\" is in a wall that branches off another; arches are laid in a part's own walls"
                ),
                "take a lintel there, or build that wall as a part of its own",
            )
            .at_key("arch"));
        }
        Ok(())
    }
}
