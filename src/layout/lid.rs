//! Lids: slabs on a bed over the walls of a part, or of an annex beside the chamber that it leans on.

use super::circle_in_rectangle;
use super::geometry::{Axis, Cuboid};
use super::laid::{Laid, LaidLid};
use super::measure::MeasuredPart;
use crate::plan::Lid;
use crate::quantity::{Area, Length, Volume};

/// What a lid lies on.
#[derive(Clone, Debug)]
pub(in crate::layout) struct LidSite {
    /// The box that it covers, overhang included, up to the top of the walls.
    pub(in crate::layout) over: Cuboid,
    /// The clear space under it.
    pub(in crate::layout) inside: Option<Cuboid>,
    /// The walls of an annex on which it lies; none for the part's own.
    pub(in crate::layout) walls: Option<Vec<Cuboid>>,
}

impl MeasuredPart {
    /// Where a lid of the part or of one of its annexes lies. That of an annex keeps a joint from its chamber, and
    /// overhangs on the other three sides.
    pub(in crate::layout) fn lid_site(&self, lid: &Lid) -> Option<LidSite> {
        let grow = |(from, to): (Length, Length), (low, high): (bool, bool)| {
            let by = |out: bool| if out { lid.overhang } else { Length::ZERO };
            (from - by(low), to + by(high))
        };
        let Some(annex) = &lid.annex else {
            let (x, y) = (self.body.span(Axis::X), self.body.span(Axis::Y));
            let all = (true, true);
            return Some(LidSite {
                over: Cuboid::along(Axis::X, grow(x, all), grow(y, all), self.outside.heights()),
                inside: self.inside,
                walls: None,
            });
        };
        let annex = self.part.annexes.iter().find(|one| one.name == *annex)?;
        let walls = self.branches.iter().skip(annex.first).take(3);
        let walls: Vec<Cuboid> = walls.flat_map(|wall| wall.boxes.clone()).collect();
        let whole = walls
            .iter()
            .copied()
            .reduce(|one, other| one.around(&other))?;
        let host = self.whole.get(annex.side.index())?;
        // Across the shared wall it lies against the chamber.
        let axis = host.axis.across();
        let outwards_high = !host.inside_high;
        let joint = self.setting.joints.head.nominal;
        let (from, to) = whole.span(axis);
        let clear = if outwards_high {
            (from + joint, to)
        } else {
            (from, to - joint)
        };
        let across = grow(clear, (!outwards_high, outwards_high));
        let along = grow(whole.span(host.axis), (true, true));
        let inside = self.annex_spaces().into_iter();
        Some(LidSite {
            over: Cuboid::along(axis, across, along, whole.heights()),
            inside: inside
                .map(|space| (space.name, space.space))
                .find(|(name, _)| *name == annex.name)
                .map(|(_, space)| space),
            walls: Some(walls),
        })
    }
}

/// A lid lies on a bed joint over the whole of what it covers and is split along its longer side, with a joint between
/// pieces.
pub(super) fn laid_lid(lid: &Lid, laid: &Laid, parts: &[MeasuredPart]) -> Option<LaidLid> {
    let (part, under) = laid.part(&lid.part)?;
    let site = parts.get(part)?.lid_site(lid)?;
    let setting = &under.setting;
    let bed = setting.joints.bed.nominal;
    let joint = setting.joints.head.nominal;
    let top = site.over.heights().1;
    let bottom = top + bed;
    let (x, y) = (site.over.span(Axis::X), site.over.span(Axis::Y));
    let axis = if x.1 - x.0 >= y.1 - y.0 {
        Axis::X
    } else {
        Axis::Y
    };
    let (along, across) = match axis {
        Axis::X => (x, y),
        Axis::Y => (y, x),
    };
    let count = i64::from(lid.pieces.max(1));
    let free = (along.1 - along.0).nm() - (count - 1) * joint.nm();
    let pieces: Vec<Cuboid> = (0..count)
        .map(|index| {
            let from = along.0.nm() + free * index / count + index * joint.nm();
            let to = along.0.nm() + free * (index + 1) / count + index * joint.nm();
            Cuboid::along(
                axis,
                (Length::from_nm(from), Length::from_nm(to)),
                across,
                (bottom, bottom + lid.depth),
            )
        })
        .collect();
    let radius = lid.hole.nm() as f64 / 2.0;
    let middle = |(from, to): (Length, Length)| i64::midpoint(from.nm(), to.nm());
    let hole: f64 = pieces
        .iter()
        .map(|piece| {
            let offset = |(from, to): (Length, Length), middle: i64| {
                ((from.nm() - middle) as f64, (to.nm() - middle) as f64)
            };
            circle_in_rectangle(
                radius,
                offset(piece.span(Axis::X), middle(x)),
                offset(piece.span(Axis::Y), middle(y)),
            )
        })
        .sum();
    let hole = Volume::from_nm3((hole * lid.depth.nm() as f64).round() as i128);
    let concrete: Volume = pieces.iter().map(Cuboid::volume).sum();
    // Over an opening to the very top there is no unit to bed the lid on.
    let open = laid
        .voids
        .iter()
        .filter(|void| void.part == part)
        .filter_map(super::laid::Void::cuboid)
        .chain(
            laid.cavities
                .iter()
                .filter(|(at, ..)| *at == part)
                .map(|(.., open)| *open),
        )
        .filter(|open| open.heights().1 == top);
    let area = |cuboid: Cuboid| cuboid.length.times(cuboid.width);
    let (walls, open): (Area, Area) = match &site.walls {
        None => (under.roofed_area(), open.map(area).sum()),
        Some(walls) => (
            // Against the chamber a joint is left.
            walls
                .iter()
                .filter_map(|wall| in_plan(wall, &site.over))
                .map(area)
                .sum(),
            open.flat_map(|open| {
                let site = &site;
                walls
                    .iter()
                    .filter_map(move |wall| in_plan(&in_plan(wall, &open)?, &site.over))
            })
            .map(area)
            .sum(),
        ),
    };
    Some(LaidLid {
        part,
        annex: lid.annex.clone(),
        pieces,
        volume: concrete - hole,
        bed: (walls - open).times(bed),
        hole: lid.hole,
    })
}

/// What two boxes share in plan, with the heights of the first.
fn in_plan(one: &Cuboid, other: &Cuboid) -> Option<Cuboid> {
    let both = |axis: Axis| super::geometry::shared(one.span(axis), other.span(axis));
    Some(Cuboid::along(
        Axis::X,
        both(Axis::X)?,
        both(Axis::Y)?,
        one.heights(),
    ))
}
