//! Lays the voussoirs of arches, and cuts the courses beside them.

use super::arch::{ARCH_JOINTS, MeasuredArch, Ring, THINNEST_CUT, prism, raked, through};
use super::course::{Block, Edge, Layer, PartWork};
use super::frame::Strip;
use super::geometry::{Cuboid, Point};
use super::laid::{
    Breach, BreachKind, Cut, Finished, LaidArch, LaidRing, Piece, Role, Shaping, VoidKind,
};
use super::measure::MeasuredOpening;
use super::profile::Profile;
use crate::plan::Standing;
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
        self.lay_duct_rings(course);
    }

    /// Lays the voussoirs of rings through the thickness of a leg.
    pub(super) fn lay_voussoirs(
        &mut self,
        course: u32,
        leg: usize,
        rings: &[Ring],
        (standing, keyed): (Standing, bool),
    ) {
        let part = self.part;
        let Some(strip) = part.whole.get(leg).copied() else {
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
        for (offset, deep) in through(standing, leaves, unit, between) {
            let from = if strip.inside_high {
                strip.across + offset
            } else {
                strip.across + strip.thickness - offset - deep
            };
            let depth = (Length::from_nm(from), Length::from_nm(from + deep));
            for ring in rings {
                let count = ring.voussoirs.len();
                let pieces = (0..count).flat_map(|order| {
                    ring.pieces(order)
                        .into_iter()
                        .map(move |piece| (order, piece))
                });
                for (order, (corners, reach)) in pieces {
                    let key = keyed && count % 2 == 1 && order == count / 2;
                    let shaping = prism(corners, strip.axis, depth, ring.tapered);
                    let Shaping::Prism(shape) = &shaping else {
                        continue;
                    };
                    // On end a unit's length lies in the ring; on edge it reaches through the wall.
                    let (length, width) = match standing {
                        Standing::Soldier => (reach, deep),
                        Standing::Rowlock => (deep, reach),
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
                        leg: leg as u8,
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
    }

    fn lay_arch(&mut self, course: u32, opening: &MeasuredOpening, arch: &MeasuredArch) {
        let Some(strip) = self.part.whole.get(opening.leg).copied() else {
            return;
        };
        let standing = (arch.arch.standing, true);
        self.lay_voussoirs(course, opening.leg, &arch.rings, standing);
        let length = |(from, to): (i64, i64)| (Length::from_nm(from), Length::from_nm(to));
        let crown = (arch.outline.middle, arch.soffit.top());
        self.ring_breaches(course, &arch.rings, crown, &strip);
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
            rings: arch.rings.iter().map(Ring::laid).collect(),
            outline: arch.outline,
            axis: strip.axis,
            faces: length((strip.across, strip.across + strip.thickness)),
            foot: match opening.kind {
                VoidKind::Duct => self
                    .duct_named(&opening.name, opening.leg)
                    .map_or(arch.springing, |duct| Length::from_nm(duct.z - duct.hole)),
                VoidKind::Opening | VoidKind::Vent => {
                    self.part.base + self.part.heights.top_of(opening.courses.0 - 1)
                }
            },
            over: opening.kind,
            abutments: (
                Length::from_nm(opening.span.0 - low),
                Length::from_nm(high - opening.span.1),
            ),
            corners: (strip.low_corner.is_some(), strip.high_corner.is_some()),
        });
    }

    /// Joints and pieces of rings beyond their limits, at their crown.
    pub(super) fn ring_breaches(
        &mut self,
        course: u32,
        rings: &[Ring],
        (middle, crown): (Length, Length),
        strip: &Strip,
    ) {
        let across = Length::from_nm(strip.across);
        let crown = Cuboid::along(
            strip.axis,
            (middle, middle),
            (across, across),
            (crown, crown),
        )
        .at;
        for ring in rings {
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

impl Ring {
    /// What is told of it once it is laid.
    pub(super) fn laid(&self) -> LaidRing {
        LaidRing {
            voussoirs: self.voussoirs.len() as u32,
            tapered: self.tapered,
            bonded: !self.bonded.is_empty(),
            joints: self.joints,
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
