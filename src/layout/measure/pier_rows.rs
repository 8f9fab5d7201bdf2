//! Attached piers at intervals: how many, and where each stands.

use super::sizes::{Gauger, JointRule};
use super::{MeasuredPart, leg_of};
use crate::layout::frame::Strip;
use crate::layout::laid::Snapped;
use crate::plan::{Branch, BranchPlace, MOST_BRANCHES, PierRow, PlanError, Size};
use crate::quantity::Length;

/// What a stretch of wall ends at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum StretchEnd {
    /// A free end or a jamb, where a pier stands flush.
    Open,
    /// A corner, which does for a pier.
    Corner,
}

impl MeasuredPart {
    /// The piers of a row, each in its place, and the spacing that resulted.
    pub(super) fn spread_piers(
        &self,
        row: &PierRow,
        gauger: &mut Gauger<'_>,
    ) -> Result<Vec<Branch>, PlanError> {
        let leg = leg_of(row.pier.side, self.sides);
        let strip = self.strip(leg)?;
        let half = gauger.module / 2;
        let width =
            row.pier.thickness * (self.unit_width.nm() + self.rules.joint) - self.rules.joint;
        let every = match row.every {
            Size::HalfUnits(halves) => halves * half,
            Size::Length(length) => length.nm(),
        };
        // In whole and half units, so that all piers come to lie alike on the bond.
        let most = every.div_euclid(half);
        if most * half < width + self.rules.joint {
            return Err(PlanError::new(
                "piers-too-close",
                format!(
                    "piers {} wide cannot stand every {}",
                    Length::from_nm(width),
                    Length::from_nm(every)
                ),
                "let them stand further apart than they are wide",
            )
            .at_key("every"));
        }
        let mut places = Vec::new();
        let mut widest = 0;
        for (from, to, low, high) in self.stretches(row, leg, strip, gauger)? {
            let room = to - from - width;
            if room < 0 {
                return Err(PlanError::new(
                    "junction-outside-wall",
                    format!(
                        "\"{}\" is {} wide and finds no room on {} of wall",
                        row.pier.name,
                        Length::from_nm(width),
                        Length::from_nm(to - from)
                    ),
                    "take a narrower pier, or move the opening beside it",
                )
                .at_key("units"));
            }
            // Room that is no whole number of half units leaves its rest to the last bay.
            let halves = room.div_euclid(half);
            let bays = (room + most * half - 1).div_euclid(most * half).max(1);
            let narrowest = room.checked_div(bays).unwrap_or(room) / half * half;
            let posts = i64::from(low == StretchEnd::Open) + i64::from(high == StretchEnd::Open);
            if narrowest < width + self.rules.joint && (bays > 1 || posts == 2) {
                return Err(PlanError::new(
                    "piers-too-close",
                    format!(
                        "on {} of wall \"{}\" would stand every {}, and each is {} wide",
                        Length::from_nm(to - from),
                        row.pier.name,
                        Length::from_nm(narrowest),
                        Length::from_nm(width)
                    ),
                    "take narrower piers or wider bays, or place single piers with `at`",
                )
                .at_key("every"));
            }
            let mut last = from;
            for index in 0..=bays {
                let place = if index == bays {
                    to - width
                } else {
                    from + (2 * halves * index + bays).div_euclid(2 * bays) * half
                };
                widest = widest.max(place - last);
                last = place;
                let ends = (index == 0 && low == StretchEnd::Corner)
                    || (index == bays && high == StretchEnd::Corner);
                if !ends && places.last() != Some(&place) {
                    places.push(place);
                }
                if places.len() > MOST_BRANCHES {
                    return Err(PlanError::too_many_branches());
                }
            }
        }
        gauger.snapped.push(Snapped {
            what: format!("spacing of \"{}\", {} piers", row.pier.name, places.len()),
            asked: Length::from_nm(every),
            became: Length::from_nm(widest),
            count: widest as f64 / gauger.module as f64,
        });
        let (low, high) = strip.span();
        let number = places.len();
        let pier = |(index, place): (usize, i64)| {
            let (off, count) = if strip.starts_low {
                (place - low, index + 1)
            } else {
                (high - place - width, number - index)
            };
            Branch {
                name: format!("{} {count}", row.pier.name),
                at: BranchPlace::At(Size::Length(Length::from_nm(off))),
                ..row.pier.clone()
            }
        };
        Ok(places.into_iter().enumerate().map(pier).collect())
    }

    /// The stretches of a leg between its ends and the openings that its piers cannot pass.
    fn stretches(
        &self,
        row: &PierRow,
        leg: usize,
        strip: Strip,
        gauger: &Gauger<'_>,
    ) -> Result<Vec<(i64, i64, StretchEnd, StretchEnd)>, PlanError> {
        let courses = row.pier.courses.unwrap_or(self.courses);
        let mut unseen = Vec::new();
        let mut widths = Gauger {
            snapped: &mut unseen,
            ..*gauger
        };
        let mut openings = Vec::new();
        for opening in &self.part.openings {
            if leg_of(opening.side, self.sides) == leg && opening.from_course <= courses {
                let width = widths.size("", opening.width, JointRule::Inside)?;
                openings.push(super::features::opening_span(
                    opening.at, width, &strip, &widths,
                ));
            }
        }
        openings.sort_unstable();
        let (mut from, to) = strip.span();
        let end = |corner: Option<usize>| match corner {
            None => StretchEnd::Open,
            Some(_) => StretchEnd::Corner,
        };
        let mut low = end(strip.low_corner);
        let mut found = Vec::with_capacity(openings.len() + 1);
        for (start, stop) in openings {
            found.push((from, start, low, StretchEnd::Open));
            (from, low) = (stop, StretchEnd::Open);
        }
        found.push((from, to, low, end(strip.high_corner)));
        Ok(found)
    }
}
