//! Annexes: three walls round a corner each way that lean on a side of their chamber.

use super::branches::{Crossing, MeasuredBranch, Meets, PathLeg};
use super::sizes::{Gauger, JointRule};
use super::{MeasuredPart, strip_boxes};
use crate::layout::frame::{FaceLeg, strips};
use crate::layout::geometry::Cuboid;
use crate::layout::laid::Compartment;
use crate::plan::{Annex, Branch, BranchPlace, Dimension, Heading, Measure, PlanError, Side, Size};
use crate::quantity::Length;

impl MeasuredPart {
    /// A wall of an annex, in its place.
    pub(super) fn measure_annex_wall(
        &self,
        index: usize,
        branch: &Branch,
        gauger: &mut Gauger<'_>,
    ) -> Result<Option<MeasuredBranch>, PlanError> {
        let found = self
            .part
            .annexes
            .iter()
            .enumerate()
            .find_map(|(number, annex)| {
                let wall = index.checked_sub(annex.first).filter(|wall| *wall < 3)?;
                Some((number, annex, wall))
            });
        let Some((number, annex, wall)) = found else {
            return Ok(None);
        };
        let host = self.strip(annex.side.index())?;
        let leaf = self.unit_width.nm();
        let step = leaf + self.rules.joint;
        let thickness = annex.thickness * step - self.rules.joint;
        let (out, along) = self.annex_size(annex, thickness, wall == 0, gauger)?;
        let courses = branch.courses.unwrap_or(self.courses);
        if courses > self.courses {
            return Err(PlanError::above(&annex.name, courses, self.courses).at_key("courses"));
        }
        // Along the side, from its low to its high end.
        let (low, high) = host.span();
        let from = match annex.at {
            BranchPlace::Centre => low + (high - low - along) / 2,
            BranchPlace::Left | BranchPlace::Right => {
                if (annex.at == BranchPlace::Left) == host.starts_low {
                    low
                } else {
                    high - along
                }
            }
            BranchPlace::At(at) => {
                let off = match at {
                    Size::HalfUnits(halves) => halves * gauger.module / 2,
                    Size::Length(length) => length.nm(),
                };
                if host.starts_low {
                    low + off
                } else {
                    high - off - along
                }
            }
        };
        let to = from + along;
        let clear = host.clear();
        let joint = self.rules.joint;
        if from < clear.0 + joint || to > clear.1 - joint {
            let room = Length::from_nm(clear.1 - clear.0 - 2 * joint);
            return Err(PlanError::new(
                "annex-at-a-corner",
                format!(
                    "\"{}\" takes {} along the side that it leans on, which has {} between its corners, a joint left at each",
                    annex.name,
                    Length::from_nm(along),
                    room
                ),
                "annex the smaller chamber to the larger and keep it clear of the corners; for two bays in one line divide a longer chamber with a partition",
            )
            .at_key("at"));
        }
        let faces = (host.across, host.across + host.thickness);
        let face = if host.inside_high { faces.0 } else { faces.1 };
        // Round it with its walls to the left.
        let (start, headings) = match annex.side {
            Side::Right => ((face, from), [Heading::Right, Heading::Back, Heading::Left]),
            Side::Back => ((to, face), [Heading::Back, Heading::Left, Heading::Front]),
            Side::Left => ((face, to), [Heading::Left, Heading::Front, Heading::Right]),
            Side::Front => (
                (from, face),
                [Heading::Front, Heading::Right, Heading::Back],
            ),
        };
        let lengths = [out, along, out];
        let legs: Vec<FaceLeg> = headings
            .into_iter()
            .zip(lengths)
            .map(|(heading, length)| FaceLeg { heading, length })
            .collect();
        let whole = strips(&legs, false, start, 0, thickness);
        let heights = (self.base, self.base + self.heights.top_of(courses));
        let boxes: Vec<Cuboid> = strip_boxes(&whole, false, heights);
        let leaves: Vec<_> = (0..annex.thickness)
            .filter_map(|k| {
                strips(&legs, false, start, k * step, leaf)
                    .get(wall)
                    .copied()
            })
            .collect();
        let narrow = |what: &str| {
            PlanError::new(
                "annex-without-inside",
                format!("nothing is left inside \"{}\" {what}", annex.name),
                "make it larger, or its walls thinner",
            )
        };
        if along <= 2 * thickness + self.rules.longest_joint {
            return Err(narrow("between its walls"));
        }
        if out <= thickness + self.rules.longest_joint {
            return Err(narrow("before the shared wall"));
        }
        let own = whole.get(wall).copied().unwrap_or(host);
        let meets = if host.inside_high {
            Meets::High
        } else {
            Meets::Low
        };
        let crossings = if wall == 1 {
            Vec::new()
        } else {
            let outer = self
                .leaves
                .first()
                .and_then(|legs| legs.get(annex.side.index()));
            let outer = outer.copied().unwrap_or(host);
            vec![Crossing {
                leg: annex.side.index(),
                leaves: 0..1,
                span: (own.across, own.across + own.thickness),
                wall: faces,
                tooth: (outer.across, outer.across + outer.thickness),
                cap: self.cap_behind(faces, meets),
                meets,
                toothed: branch.toothed,
            }]
        };
        Ok(Some(MeasuredBranch {
            name: branch.name.clone(),
            kind: branch.kind,
            courses,
            ties: None,
            leg: self.whole.len(),
            row_leg: 0,
            bonded: false,
            leaves,
            crossings,
            rows: Vec::new(),
            boxes: boxes.get(wall).copied().into_iter().collect(),
            path: Some(PathLeg {
                whole: own,
                annex: number,
            }),
        }))
    }

    /// How far an annex stands out from its side, and how long it is along it.
    fn annex_size(
        &self,
        annex: &Annex,
        thickness: i64,
        told: bool,
        gauger: &mut Gauger<'_>,
    ) -> Result<(i64, i64), PlanError> {
        let mut unseen = Vec::new();
        let mut again = Gauger {
            snapped: if told { gauger.snapped } else { &mut unseen },
            ..*gauger
        };
        let mut outer = |dimension: Dimension, word: &str| match dimension.measure {
            Measure::Outside => again.size(
                format!("outside {word} of \"{}\"", annex.name),
                dimension.size,
                JointRule::Outside,
            ),
            Measure::Inside => again
                .size(
                    format!("inside {word} of \"{}\"", annex.name),
                    dimension.size,
                    JointRule::Inside,
                )
                .map(|inside| inside + 2 * thickness),
        };
        let (across, deep) = (outer(annex.across, "across")?, outer(annex.deep, "deep")?);
        // Measured over all its walls one of them is the part's; measured within, one of its own is left out.
        let shared = |measure: Measure| match measure {
            Measure::Outside => self.thickness.nm(),
            Measure::Inside => thickness,
        };
        Ok(match annex.side {
            Side::Left | Side::Right => (across - shared(annex.across.measure), deep),
            Side::Front | Side::Back => (deep - shared(annex.deep.measure), across),
        })
    }

    /// The spaces within the annexes.
    pub(in crate::layout) fn annex_spaces(&self) -> Vec<Compartment> {
        let spaces = self.part.annexes.iter().filter_map(|annex| {
            let far = self.branches.get(annex.first + 1)?;
            let side = self.branches.get(annex.first)?;
            let other = self.branches.get(annex.first + 2)?;
            let host = self.whole.get(annex.side.index())?;
            let path = |branch: &MeasuredBranch| branch.path.as_ref().map(|path| path.whole);
            let (far_wall, one, two) = (path(far)?, path(side)?, path(other)?);
            let between = |a: crate::layout::frame::Strip, b: crate::layout::frame::Strip| {
                let (low, high) = if a.across < b.across { (a, b) } else { (b, a) };
                (
                    Length::from_nm(low.across + low.thickness),
                    Length::from_nm(high.across),
                )
            };
            let heights = far.boxes.first()?.heights();
            Some(Compartment {
                name: annex.name.clone(),
                space: Cuboid::along(
                    one.axis,
                    between(far_wall, *host),
                    between(one, two),
                    heights,
                ),
            })
        });
        spaces.collect()
    }
}
