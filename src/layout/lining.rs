//! Linings as laid: the vents that go through them, and the gap behind them.

use std::borrow::Cow;

use super::course::lay_part;
use super::geometry::{Axis, Cuboid};
use super::laid::{Laid, Role, Void, VoidKind};
use super::lay::cuts_of;
use super::measure::{Measured, MeasuredPart, Through};
use crate::masonry::{MEETS_WITHIN, Meeting, meetings};
use crate::plan::{GapFill, Plan, PlanError, SideRef};
use crate::quantity::{Length, Volume};

/// A lining as laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidLining {
    /// Index of the lining.
    pub part: usize,
    /// Index of the part that it lines.
    pub host: usize,
    /// The least clear distance between the two.
    pub gap: Length,
    /// What is in the gap.
    pub fill: GapFill,
    /// The gap, as high as the lining.
    pub space: GapSpace,
    /// What is clear within the walls, as if there were no lining; none in a ring.
    pub bare: Option<Cuboid>,
    /// Length of the gap round the lining, along its middle.
    pub run: Length,
}

/// The space between a lining and its walls.
#[derive(Clone, Debug, PartialEq)]
pub enum GapSpace {
    /// Boxes at the front, back, left and right.
    Boxes(Vec<Cuboid>),
    /// Between two upright cylinders: within the faces of the outer ring, without the corners of the inner.
    Round {
        /// Their middle in plan.
        centre: (Length, Length),
        /// The smaller and the larger radius.
        radii: (Length, Length),
        /// From the bottom to the top.
        heights: (Length, Length),
    },
}

impl LaidLining {
    /// The courses of the walls and of the lining, and which come level.
    pub fn meetings(&self, laid: &Laid) -> Vec<Meeting> {
        let (Some(host), Some(lining)) = (laid.parts.get(self.host), laid.parts.get(self.part))
        else {
            return Vec::new();
        };
        let tops = (1..=host.courses).map(|course| host.heights.top_of(course));
        let other = |course| lining.heights.top_of(course);
        meetings(tops, other, lining.courses, MEETS_WITHIN)
    }
}

impl Laid {
    /// The lining of a part, if it is lined.
    pub fn lining_of(&self, host: usize) -> Option<&LaidLining> {
        self.linings.iter().find(|lining| lining.host == host)
    }

    /// What a part is as a lining, if it is one.
    pub fn lines(&self, part: usize) -> Option<&LaidLining> {
        self.linings.iter().find(|lining| lining.part == part)
    }

    /// The clear volume within a part: of a lined one that within its lining, and what is above that up to the top of
    /// the walls. None where it has no inside.
    pub fn clear_volume(&self, part: usize) -> Option<Volume> {
        let own = |index: usize| {
            let part = self.parts.get(index)?;
            let straight = part.inside.map(|inside| inside.volume());
            let closed = part.ring.filter(|ring| ring.sweep.is_none());
            straight.or(closed.map(|ring| ring.within))
        };
        let Some(lining) = self.lining_of(part) else {
            return own(part);
        };
        let within = own(lining.part)?;
        let height = |index: usize| self.parts.get(index).map(|part| part.outside.height);
        let walls = height(part)?;
        let above = walls - height(lining.part)?;
        if !above.is_positive() {
            return Some(within);
        }
        let over = match lining.bare {
            Some(bare) => bare.length.times(bare.width).times(above),
            None => own(part)?.scale(above.ratio(walls)?).ok()?,
        };
        Some(within + over)
    }
}

/// A part with everything known that its laying takes: of a lining, the vents as they came to lie in its walls.
pub(super) fn completed<'a>(
    index: usize,
    measured: &'a Measured,
    plan: &Plan,
) -> Result<Option<Cow<'a, MeasuredPart>>, PlanError> {
    let Some(part) = measured.parts.get(index) else {
        return Ok(None);
    };
    let host = part
        .lines
        .and_then(|lines| Some((lines.host, measured.parts.get(lines.host)?)));
    match host.filter(|(_, host)| !host.vents.is_empty()) {
        None => Ok(Some(Cow::Borrowed(part))),
        Some((at, host)) => {
            let work = lay_part(host, at, &cuts_of(at, host, measured, plan));
            let vents = vents_of(host, work.voids.iter());
            part.clone()
                .with_vents(vents)
                .map(|part| Some(Cow::Owned(part)))
        }
    }
}

/// The vents of walls as they were laid.
pub(super) fn vents_of<'a>(
    host: &MeasuredPart,
    voids: impl Iterator<Item = &'a Void>,
) -> Vec<Through> {
    voids
        .filter(|void| void.kind == VoidKind::Vent)
        .filter_map(|void| {
            let SideRef::Side(side) = void.side else {
                return None;
            };
            let open = void.cuboid()?;
            let (from, to) = open.span(void.axis);
            let (bottom, top) = open.heights();
            Some(Through {
                name: void.name.clone(),
                side: void.side,
                leg: side.index(),
                span: (from.nm(), to.nm()),
                heights: (bottom - host.base, top - host.base),
            })
        })
        .collect()
}

/// The role of a lining's straight pieces: on edge they are shiners.
pub(super) fn role_of(part: &MeasuredPart, role: Role) -> Role {
    match role {
        Role::Stretcher if part.setting.on_edge => Role::Shiner,
        other => other,
    }
}

/// The linings of a plan, and what they leave within their walls.
pub(super) fn laid_linings(measured: &Measured) -> Vec<LaidLining> {
    let lined = measured.parts.iter().enumerate();
    lined
        .filter_map(|(index, part)| {
            let lines = part.lines?;
            let host = measured.parts.get(lines.host)?;
            laid_lining((index, part), (lines.host, host), lines.lining.fill)
        })
        .collect()
}

/// How far a lining stands clear of its walls, where it is nearest.
pub(super) fn standing_clear(lining: &MeasuredPart, host: &MeasuredPart) -> Option<Length> {
    let found = laid_lining((0, lining), (0, host), GapFill::Open)?;
    Some(found.gap)
}

fn laid_lining(
    (index, part): (usize, &MeasuredPart),
    (at, host): (usize, &MeasuredPart),
    fill: GapFill,
) -> Option<LaidLining> {
    let heights = part.outside.heights();
    let (gap, space, bare, run) = if let (Some(inner), Some(outer)) = (&part.round, &host.round) {
        let reach = Length::from_nm(inner.reach().ceil() as i64);
        let round = outer.task.inner;
        let middle = (reach + round).nm() as f64 / 2.0;
        let run = Length::from_nm((2.0 * std::f64::consts::PI * middle).round() as i64);
        let space = GapSpace::Round {
            centre: outer.centre,
            radii: (reach, round),
            heights,
        };
        (round - reach, space, None, run)
    } else {
        let bare = host.inside?;
        // Along the middle of the gap all round.
        let run = bare.length + bare.width + part.body.length + part.body.width;
        let (gap, boxes) = boxes_between(&bare, &part.body, heights)?;
        (gap, GapSpace::Boxes(boxes), Some(bare), run)
    };
    Some(LaidLining {
        part: index,
        host: at,
        gap,
        fill,
        space,
        bare,
        run,
    })
}

/// The boxes between the inside of walls and what stands in it, with the least of their widths.
fn boxes_between(
    inside: &Cuboid,
    out: &Cuboid,
    heights: (Length, Length),
) -> Option<(Length, Vec<Cuboid>)> {
    let gaps = [Axis::X, Axis::Y].map(|axis| {
        let (a, b) = (inside.span(axis), out.span(axis));
        [b.0 - a.0, a.1 - b.1]
    });
    let (x, y) = (inside.span(Axis::X), inside.span(Axis::Y));
    let (own_x, own_y) = (out.span(Axis::X), out.span(Axis::Y));
    let boxes = [
        (x, (y.0, own_y.0)),
        (x, (own_y.1, y.1)),
        ((x.0, own_x.0), own_y),
        ((own_x.1, x.1), own_y),
    ];
    let boxes = boxes
        .map(|(x, y)| Cuboid::along(Axis::X, x, y, heights))
        .into_iter()
        .filter(|one| one.length.is_positive() && one.width.is_positive())
        .collect();
    Some((gaps.into_iter().flatten().min()?, boxes))
}
