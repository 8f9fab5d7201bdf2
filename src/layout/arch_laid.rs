//! Lays the voussoirs of arches, and cuts the courses beside them.

use super::arch::{ARCH_JOINTS, MeasuredArch, THINNEST_CUT, prism, raked, through};
use super::course::{Block, Edge, Layer, PartWork};
use super::geometry::{Cuboid, Point};
use super::laid::{
    Breach, BreachKind, Cut, Finished, LaidArch, LaidRing, Piece, Role, Shaping, Void,
};
use super::measure::MeasuredOpening;
use super::profile::Profile;
use crate::plan::{PlanError, Setting};
use crate::quantity::Length;

impl<'a> Layer<'a> {
    fn arches(&self) -> impl Iterator<Item = (&'a MeasuredOpening, &'a MeasuredArch)> + use<'a> {
        let openings = self.part.openings.iter();
        openings.filter_map(|opening| Some((opening, opening.arch.as_ref()?)))
    }

    /// Where arches interrupt a leg in a course over all of its height.
    pub(super) fn arch_blocks(&self, course: u32, leg: usize) -> Vec<Block<'a>> {
        let (bottom, top) = self.heights(course);
        self.arches()
            .filter(|(opening, _)| opening.leg == leg)
            .filter_map(|(opening, arch)| {
                let half = arch
                    .outline
                    .core_half((bottom.nm(), top.nm()), THINNEST_CUT)?;
                let middle = arch.outline.middle.nm();
                Some(Block {
                    from: middle - half,
                    to: middle + half,
                    edge: Edge::Arch(&opening.name),
                })
            })
            .collect()
    }

    /// What arches take from a piece of a leg along an axis.
    pub(super) fn raked(&self, leg: usize, axis: super::Axis, piece: &Piece) -> Option<Shaping> {
        let outlines: Vec<&Profile> = self
            .arches()
            .filter(|(opening, _)| opening.leg == leg)
            .map(|(_, arch)| &arch.outline)
            .collect();
        let cuboid = piece.cuboid();
        let deep = cuboid.span(axis.across());
        raked(
            &outlines,
            cuboid.span(axis),
            cuboid.heights(),
            deep.1 - deep.0,
        )
    }

    /// Lays the arches that spring from the bed under a course.
    pub(super) fn lay_arches(&mut self, course: u32) {
        for (opening, arch) in self.arches() {
            if opening.courses.1 + 1 == course {
                self.lay_arch(course, opening, arch);
            }
        }
    }

    fn lay_arch(&mut self, course: u32, opening: &MeasuredOpening, arch: &MeasuredArch) {
        let part = self.part;
        let Some(strip) = part.whole.get(opening.leg).copied() else {
            return;
        };
        let unit = (part.rules.unit, part.unit_width.nm(), part.unit_height.nm());
        // A wall bonded by headers is two or three stretchers thick.
        let (leaves, between) = if part.thick() {
            (3, (strip.thickness - 3 * unit.1) / 2)
        } else if part.bonded {
            (2, unit.0 - 2 * unit.1)
        } else {
            (part.leaves.len() as i64, part.rules.joint)
        };
        let standing = arch.arch.standing;
        for (offset, deep) in through(standing, leaves, unit, between) {
            let from = if strip.inside_high {
                strip.across + offset
            } else {
                strip.across + strip.thickness - offset - deep
            };
            let depth = (Length::from_nm(from), Length::from_nm(from + deep));
            for ring in &arch.rings {
                let count = ring.voussoirs.len();
                let pieces = (0..count).flat_map(|order| {
                    ring.pieces(order)
                        .into_iter()
                        .map(move |piece| (order, piece))
                });
                for (order, (corners, reach)) in pieces {
                    let key = count % 2 == 1 && order == count / 2;
                    let shaping = prism(corners, strip.axis, depth, ring.tapered);
                    let Shaping::Prism(shape) = &shaping else {
                        continue;
                    };
                    // On end a unit's length lies in the ring; on edge it reaches through the wall.
                    let (length, width) = match standing {
                        crate::plan::Standing::Soldier => (reach, deep),
                        crate::plan::Standing::Rowlock => (deep, reach),
                    };
                    let at: Point = shape.bounds().at;
                    let cut = part.bat_of(length);
                    let piece = Piece {
                        at,
                        length: Length::from_nm(length),
                        width: Length::from_nm(width),
                        height: part.unit_height,
                        shaping: 0,
                        part: self.index as u16,
                        course: course as u16,
                        leaf: (offset / (unit.1 + part.rules.joint)) as u8,
                        leg: opening.leg as u8,
                        along: strip.axis,
                        role: if key { Role::Key } else { Role::Voussoir },
                        cut,
                        finished: if cut == Cut::Whole {
                            Finished::Both
                        } else {
                            Finished::Low
                        },
                    };
                    self.push(piece, Some(shaping));
                }
            }
        }
        self.arch_breaches(course, arch, strip.axis, strip.across);
        let (low, high) = strip.span();
        self.work.arches.push(LaidArch {
            part: self.index,
            name: opening.name.clone(),
            arch: arch.arch,
            span: Length::from_nm(opening.span.1 - opening.span.0),
            springing: arch.springing,
            rise: arch.rise,
            radius: arch.radius,
            skewback: arch.skewback.to_degrees(),
            depth: arch.depth,
            intrados: arch.intrados,
            rings: arch
                .rings
                .iter()
                .map(|ring| LaidRing {
                    voussoirs: ring.voussoirs.len() as u32,
                    tapered: ring.tapered,
                    bonded: !ring.bonded.is_empty(),
                    joints: ring.joints,
                })
                .collect(),
            outline: arch.outline,
            axis: strip.axis,
            abutments: (
                Length::from_nm(opening.span.0 - low),
                Length::from_nm(high - opening.span.1),
            ),
            corners: (strip.low_corner.is_some(), strip.high_corner.is_some()),
        });
    }

    /// Joints and pieces of an arch beyond their limits, at its crown.
    fn arch_breaches(&mut self, course: u32, arch: &MeasuredArch, axis: super::Axis, across: i64) {
        let crown = Cuboid::along(
            axis,
            (arch.outline.middle, arch.outline.middle),
            (Length::from_nm(across), Length::from_nm(across)),
            (arch.soffit.top(), arch.soffit.top()),
        )
        .at;
        for ring in &arch.rings {
            let (low, high) = ring.joints;
            let found = [
                (low < ARCH_JOINTS.0, low, ARCH_JOINTS.0),
                (high > ARCH_JOINTS.1, high, ARCH_JOINTS.1),
            ];
            for (_, figure, limit) in found.into_iter().filter(|(missed, ..)| *missed) {
                self.work.breaches.push(Breach {
                    kind: BreachKind::JointOutOfTolerance,
                    part: self.index,
                    course,
                    at: crown,
                    figure,
                    limit,
                });
            }
            if ring.narrowest < THINNEST_CUT {
                self.work.breaches.push(Breach {
                    kind: BreachKind::PieceTooShort,
                    part: self.index,
                    course,
                    at: crown,
                    figure: Length::from_nm(ring.narrowest),
                    limit: Length::from_nm(THINNEST_CUT),
                });
            }
        }
    }
}

impl PartWork {
    /// The smallest box round a piece.
    pub(super) fn bounds(&self, piece: &Piece) -> Cuboid {
        let shaping = (piece.shaping as usize)
            .checked_sub(1)
            .and_then(|index| self.shapings.get(index));
        match shaping {
            Some(Shaping::Prism(prism)) => prism.bounds(),
            _ => piece.cuboid(),
        }
    }
}

impl LaidArch {
    /// The smallest upright box round its outline, through a wall whose faces are given.
    fn bounds(&self, depth: (Length, Length)) -> Cuboid {
        let half = self.outline.widest_half();
        Cuboid::along(
            self.axis,
            (self.outline.middle - half, self.outline.middle + half),
            depth,
            (self.outline.bottom, self.outline.top()),
        )
    }
}

/// Refuses what comes too near an arch: openings, vents, lintels, ledges, other arches, and ducts within a unit of it.
pub(super) fn check_arches(work: &PartWork, setting: &Setting) -> Result<(), PlanError> {
    let clash = |one: &str, other: String| {
        PlanError::new(
            "openings-overlap",
            format!("the arch over \"{one}\" runs into {other}"),
            "move one of them, choose another course or side, or take a flatter or thinner arch",
        )
    };
    for (index, arch) in work.arches.iter().enumerate() {
        let soffit = work.voids.iter().find_map(|void| match void.shape {
            super::VoidShape::Profile { depth, .. } if void.name == arch.name => Some(depth),
            _ => None,
        });
        let Some(depth) = soffit else { continue };
        let own = arch.bounds(depth);
        for other in work.arches.iter().skip(index + 1) {
            if other.axis == arch.axis && own.shared(&other.bounds(depth)).is_some() {
                let theirs = work.voids.iter().any(|void| {
                    matches!(void.shape, super::VoidShape::Profile { depth: theirs, .. }
                        if theirs == depth && void.name == other.name)
                });
                if theirs {
                    return Err(clash(
                        &arch.name,
                        format!("the arch over \"{}\"", other.name),
                    ));
                }
            }
        }
        let open = |void: &&Void| {
            void.cuboid()
                .is_some_and(|open| own.shared(&open).is_some())
        };
        if let Some(void) = work.voids.iter().find(open) {
            return Err(clash(&arch.name, format!("\"{}\"", void.name)));
        }
        if let Some(body) = work
            .bodies
            .iter()
            .find(|body| own.shared(&body.cuboid).is_some())
        {
            return Err(clash(
                &arch.name,
                format!("the lintel over \"{}\"", body.name),
            ));
        }
        let header = work
            .pieces
            .iter()
            .find(|piece| piece.role == Role::LedgeHeader && own.shared(&piece.cuboid()).is_some());
        if let Some(header) = header {
            return Err(clash(
                &arch.name,
                format!("the ledge in course {}", header.course),
            ));
        }
        let room = setting.unit.length;
        for void in &work.voids {
            let super::VoidShape::Cylinder {
                axis,
                across,
                z,
                radius,
                span,
            } = void.shape
            else {
                continue;
            };
            let reach = radius + room;
            let round = Cuboid::along(
                axis.across(),
                (across - reach, across + reach),
                span,
                (z - reach, z + reach),
            );
            if own.shared(&round).is_some() {
                return Err(clash(&arch.name, format!("the duct \"{}\"", void.name)));
            }
        }
    }
    Ok(())
}
