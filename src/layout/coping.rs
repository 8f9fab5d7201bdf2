//! Lays copings: slabs with their drips, or rowlocks across the wall.

use super::course::PartWork;
use super::geometry::{Axis, Cuboid, Point};
use super::interval::{ElementKind, End, Interval, Limit, solve};
use super::laid::{Breach, BreachKind, Cut, Finished, Piece, Role};
use super::measure::{CopingRun, MeasuredCoping, MeasuredPart, cuboid, rows_across};
use crate::plan::{Coping, CopingKind};
use crate::quantity::{Length, Volume};

/// A coping as laid. Rowlocks are pieces of their part, in the course above its last.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidCoping {
    /// What was asked for.
    pub coping: Coping,
    /// How far it stands out beyond the faces of the wall.
    pub overhang: Length,
    /// Its slabs.
    pub slabs: Vec<CopingSlab>,
    /// Disjoint boxes that it, its joints and its bed fill.
    pub envelope: Vec<Cuboid>,
    /// Its underside and its top.
    pub heights: (Length, Length),
}

/// One slab of a coping.
#[derive(Clone, Debug, PartialEq)]
pub struct CopingSlab {
    /// Where it is.
    pub cuboid: Cuboid,
    /// The axis that its length lies along.
    pub axis: Axis,
    /// Whether it is cut to less than the length of a slab.
    pub cut: bool,
    /// The grooves in its underside, apart from each other.
    pub drips: Vec<Cuboid>,
}

impl CopingSlab {
    /// Its length along the wall.
    pub fn length(&self) -> Length {
        let (from, to) = self.cuboid.span(self.axis);
        to - from
    }

    /// Its volume less its grooves.
    pub fn volume(&self) -> Volume {
        self.cuboid.volume() - self.drips.iter().map(Cuboid::volume).sum()
    }
}

impl LaidCoping {
    /// What is told of it in a line: `stone coping`.
    pub fn word(&self) -> String {
        format!("{} coping", self.coping.kind.word())
    }
}

/// Lays the coping of a part, if it has one.
pub(super) fn lay_coping(part: &MeasuredPart, index: usize, work: &mut PartWork) {
    let Some(measured) = &part.coping else { return };
    let slabs = match measured.coping.kind {
        CopingKind::Rowlock => {
            for run in &measured.runs {
                lay_rowlocks(part, measured, run, index, work);
            }
            Vec::new()
        }
        CopingKind::Stone | CopingKind::Concrete => measured
            .runs
            .iter()
            .flat_map(|run| slabs(measured, run))
            .collect(),
    };
    work.coping = Some(LaidCoping {
        coping: measured.coping,
        overhang: measured.overhang,
        slabs,
        envelope: measured.zones(),
        heights: measured.z,
    });
}

/// The slabs of a run with the joints between them.
fn slabs(measured: &MeasuredCoping, run: &CopingRun) -> Vec<CopingSlab> {
    let joint = measured.rules.joint;
    let inset = |end: End| if end == End::Jointed { joint } else { 0 };
    let from = run.along.0 + inset(run.ends.0);
    let length = run.along.1 - inset(run.ends.1) - from;
    let whole = measured.coping.length.nm();
    let lengths = if run.single {
        vec![length]
    } else {
        set_out(length, whole, joint)
    };
    let mut at = from;
    let mut found = Vec::with_capacity(lengths.len());
    for length in lengths {
        let along = (at, at + length);
        let cuboid = in_plan(run.axis, along, run.across, measured.z);
        found.push(CopingSlab {
            cuboid,
            axis: run.axis,
            cut: !run.single && length != whole,
            drips: drips(measured, run, along),
        });
        at += length + joint;
    }
    found
}

/// Lengths of the slabs of a run: whole ones, and what is left in the middle, shared between two where it is less than
/// half a slab. Common practice, no source: a short slab at an end is the first to be knocked off.
fn set_out(length: i64, slab: i64, joint: i64) -> Vec<i64> {
    let step = slab + joint;
    let whole = (length + joint) / step;
    let left = length + joint - whole * step - joint;
    if left <= -joint {
        return vec![slab; usize::try_from(whole).unwrap_or(0)];
    }
    let (whole, cut) = match (whole, left) {
        (0, _) => (0, vec![length]),
        // Less than a joint over is taken off a slab, not laid as a sliver.
        (_, left) if left * 2 < slab => {
            let both = slab + left;
            (whole - 1, vec![both / 2, both - both / 2])
        }
        (_, left) => (whole, vec![left]),
    };
    let before = usize::try_from(whole / 2).unwrap_or(0);
    let after = usize::try_from(whole - whole / 2).unwrap_or(0);
    let mut found = vec![slab; before];
    found.extend(cut);
    found.extend(vec![slab; after]);
    found
}

fn in_plan(axis: Axis, along: (i64, i64), across: (i64, i64), z: (Length, Length)) -> Cuboid {
    match axis {
        Axis::X => cuboid(along, across, z),
        Axis::Y => cuboid(across, along, z),
    }
}

/// The grooves under a slab: along both its sides, and across it at a free end.
fn drips(measured: &MeasuredCoping, run: &CopingRun, (from, to): (i64, i64)) -> Vec<Cuboid> {
    let Some(drip) = measured.coping.drip else {
        return Vec::new();
    };
    let (width, lip) = (drip.width.nm(), drip.lip.nm());
    let z = (measured.z.0, measured.z.0 + drip.deep);
    let ends = (
        run.free.0 && from == run.along.0,
        run.free.1 && to == run.along.1,
    );
    // Beside a groove across the end, those along the sides start behind its edge.
    let along = (
        if ends.0 { from + lip } else { from },
        if ends.1 { to - lip } else { to },
    );
    let sides = [
        (run.across.0 + lip, run.across.0 + lip + width),
        (run.across.1 - lip - width, run.across.1 - lip),
    ];
    let mut found: Vec<Cuboid> = sides
        .into_iter()
        .map(|across| in_plan(run.axis, along, across, z))
        .collect();
    let between = (run.across.0 + lip + width, run.across.1 - lip - width);
    if between.0 < between.1 {
        let across_end = |at: i64| in_plan(run.axis, (at, at + width), between, z);
        if ends.0 {
            found.push(across_end(from + lip));
        }
        if ends.1 {
            found.push(across_end(to - lip - width));
        }
    }
    found
}

/// Lays rowlocks along a run, one or more deep.
fn lay_rowlocks(
    part: &MeasuredPart,
    measured: &MeasuredCoping,
    run: &CopingRun,
    index: usize,
    work: &mut PartWork,
) {
    let rules = &measured.rules;
    let course = part.courses + 1;
    let unit = part.rules.unit;
    let interval = Interval {
        length: run.along.1 - run.along.0,
        low: run.ends.0,
        high: run.ends.1,
        raster: 0,
        floats: Vec::new(),
        below: Vec::new(),
    };
    let solution = solve(&interval, rules);
    let across = run.across.1 - run.across.0;
    let rows = rows_across(across, unit, rules.joint);
    let last = rows.len().saturating_sub(1);
    for (row, (offset, deep)) in rows.into_iter().enumerate() {
        let from = if run.inside_high {
            run.across.0 + offset
        } else {
            run.across.1 - offset - deep
        };
        for element in &solution.elements {
            let start = run.along.0 + element.start;
            let whole = element.kind == ElementKind::Whole;
            let cuboid = in_plan(
                run.axis,
                (start, start + element.length),
                (from, from + deep),
                measured.z,
            );
            // The last row's end as fired is in the inner face.
            let low = run.inside_high != (row == last && row > 0);
            work.pieces.push(Piece {
                at: cuboid.at,
                length: Length::from_nm(deep),
                width: Length::from_nm(element.length),
                height: measured.z.1 - measured.z.0,
                shaping: 0,
                part: index as u16,
                course: course as u16,
                leaf: row as u8,
                leg: 0,
                along: run.axis.across(),
                role: Role::Rowlock,
                cut: match (whole, deep == unit) {
                    (true, true) => Cut::Whole,
                    (true, false) => part.bat_of(deep),
                    (false, _) => Cut::Split,
                },
                finished: match (deep == unit, low) {
                    (true, _) => Finished::Both,
                    (false, true) => Finished::Low,
                    (false, false) => Finished::High,
                },
            });
        }
    }
    for miss in &solution.misses {
        let (kind, limit) = match miss.limit {
            Limit::Lap => continue,
            Limit::Piece => (BreachKind::PieceTooShort, rules.shortest_piece),
            Limit::Joint if miss.figure < rules.joint => {
                (BreachKind::JointOutOfTolerance, rules.shortest_joint)
            }
            Limit::Joint => (BreachKind::JointOutOfTolerance, rules.longest_joint),
        };
        let place = Length::from_nm(run.along.0 + miss.at);
        let face = Length::from_nm(run.across.0);
        let (x, y) = match run.axis {
            Axis::X => (place, face),
            Axis::Y => (face, place),
        };
        work.breaches.push(Breach {
            kind,
            part: index,
            course,
            at: Point {
                x,
                y,
                z: measured.z.0,
            },
            figure: Length::from_nm(miss.figure),
            limit: Length::from_nm(limit),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 600 mm slabs with 10 mm joints: 1820 mm is three of them; 2130 mm leaves 300 mm; 1920 mm would leave 90 mm, which
    /// is shared with a slab: (600 + 90) / 2 = 345 mm each.
    #[test]
    fn slabs_are_set_out_by_hand() {
        assert_eq!(set_out(1820, 600, 10), [600, 600, 600]);
        assert_eq!(set_out(2130, 600, 10), [600, 300, 600, 600]);
        assert_eq!(set_out(1920, 600, 10), [600, 345, 345, 600]);
        assert_eq!(set_out(500, 600, 10), [500]);
        assert_eq!(set_out(600, 600, 10), [600]);
        // A slab and half a joint: cut down to two that fit with a joint between them.
        assert_eq!(set_out(605, 600, 10), [297, 298]);
    }

    proptest::proptest! {
        #[test]
        fn slabs_and_joints_fill_their_run(length in 50_i64..9000, slab in 150_i64..3000, joint in 0_i64..20) {
            let found = set_out(length, slab, joint);
            let joints = joint * (found.len() as i64 - 1);
            proptest::prop_assert_eq!(found.iter().sum::<i64>() + joints, length);
            proptest::prop_assert!(found.iter().all(|&one| one > 0 && one <= slab));
            // Only a run shorter than half a slab has a piece shorter than that, but for what a joint takes.
            proptest::prop_assert!(length * 2 < slab || found.iter().all(|&one| one * 2 + joint + 1 >= slab));
        }
    }
}
