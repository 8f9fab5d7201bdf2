//! What takes a place of its own in a wall: openings, vents, ducts, lintels, sills, ledges and arches. Two of them must
//! not meet, and they are told by name.

use super::course::PartWork;
use super::geometry::{Axis, Cuboid, shared};
use super::laid::{BodyUse, Piece, Role, Void, VoidKind, VoidShape};
use super::profile::Profile;
use crate::plan::{PlanError, Setting};
use crate::quantity::Length;

/// What an obstacle is. Openings and vents are held apart when they are measured, ledges by the headers of their
/// course.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Open,
    Duct,
    Body,
    Ledge,
    Arch,
}

/// Where an obstacle is.
#[derive(Clone, Debug)]
enum Region {
    Box(Cuboid),
    Round(Round),
    Arch {
        axis: Axis,
        outline: Profile,
        faces: (Length, Length),
    },
}

/// A round hole through a wall, in nanometres.
#[derive(Clone, Copy, Debug)]
struct Round {
    axis: Axis,
    across: i64,
    z: i64,
    radius: i64,
    span: (Length, Length),
}

struct Obstacle {
    kind: Kind,
    /// As it is told: the duct "x", the lintel over "y".
    what: String,
    /// What it belongs to: a duct or an opening, by name. They do not run into what is laid for them.
    owner: Option<(bool, String)>,
    region: Region,
}

/// Area that is a touch, and not a clash: a grain of sand, in square nanometres.
const GRAIN: f64 = 1e9;

impl Round {
    /// Whether it comes nearer to a box than a margin.
    fn reaches(&self, cuboid: &Cuboid, margin: i64) -> bool {
        let off = |(from, to): (Length, Length), place: i64| {
            i128::from((from.nm() - place).max(place - to.nm()).max(0))
        };
        let aside = off(cuboid.span(self.axis.across()), self.across);
        let above = off(cuboid.heights(), self.z);
        let reach = i128::from(self.radius + margin);
        shared(self.span, cuboid.span(self.axis)).is_some()
            && aside * aside + above * above < reach * reach
    }

    fn bounds(&self) -> Cuboid {
        let length = |middle: i64| {
            (
                Length::from_nm(middle - self.radius),
                Length::from_nm(middle + self.radius),
            )
        };
        Cuboid::along(
            self.axis.across(),
            length(self.across),
            self.span,
            length(self.z),
        )
    }
}

impl Region {
    /// Whether two come nearer than a margin; boxes and arches whether they share space.
    fn meets(&self, other: &Region, margin: i64) -> bool {
        match (self, other) {
            (Region::Box(one), Region::Box(other)) => one.shared(other).is_some(),
            (Region::Round(round), Region::Box(cuboid))
            | (Region::Box(cuboid), Region::Round(round)) => round.reaches(cuboid, margin),
            (Region::Round(one), Region::Round(other)) if one.axis == other.axis => {
                let (across, up) = (one.across - other.across, one.z - other.z);
                let apart = i128::from(one.radius + other.radius + margin);
                shared(one.span, other.span).is_some()
                    && i128::from(across).pow(2) + i128::from(up).pow(2) < apart * apart
            }
            (Region::Round(one), Region::Round(other)) => {
                one.bounds().shared(&other.bounds()).is_some()
            }
            (
                Region::Arch {
                    axis,
                    outline,
                    faces,
                },
                Region::Box(cuboid),
            )
            | (
                Region::Box(cuboid),
                Region::Arch {
                    axis,
                    outline,
                    faces,
                },
            ) => {
                shared(*faces, cuboid.span(axis.across())).is_some()
                    && outline.area_in(cuboid.span(*axis), cuboid.heights()) > GRAIN
            }
            (
                Region::Arch {
                    axis,
                    outline,
                    faces,
                },
                Region::Round(round),
            )
            | (
                Region::Round(round),
                Region::Arch {
                    axis,
                    outline,
                    faces,
                },
            ) => {
                round.axis == axis.across()
                    && shared(*faces, round.span).is_some()
                    && outline.distance((round.across, round.z)) < (round.radius + margin) as f64
            }
            (
                Region::Arch {
                    axis,
                    outline,
                    faces,
                },
                Region::Arch {
                    axis: theirs,
                    outline: other,
                    faces: others,
                },
            ) => axis == theirs && shared(*faces, *others).is_some() && outline.meets(other),
        }
    }
}

impl Obstacle {
    /// How near another may come; none where the two are kept apart elsewhere.
    fn margin(&self, other: &Obstacle, setting: &Setting) -> Option<i64> {
        use Kind::{Arch, Body, Duct, Ledge, Open};
        let joint = setting.joints.head.nominal.nm();
        match (self.kind, other.kind) {
            (Open, Open | Ledge) | (Ledge, Open | Ledge | Body) | (Body, Ledge) => None,
            _ if self.owner.is_some() && self.owner == other.owner => None,
            (Duct, Ledge) | (Ledge, Duct) => Some(joint),
            // Between the joints round a pipe and along an arch a piece is left that can be cut: common practice, no
            // source.
            (Duct, Arch) | (Arch, Duct) => Some(joint + setting.unit.width.nm() / 2),
            _ => Some(0),
        }
    }
}

fn obstacles(work: &PartWork) -> Vec<Obstacle> {
    let mut found: Vec<Obstacle> = Vec::new();
    found.extend(work.bodies.iter().map(|body| {
        let duct = work.voids.iter().any(|void| {
            void.kind == VoidKind::Duct
                && void.name == body.name
                && Round::of(void).is_some_and(|round| round.axis == body.axis.across())
        });
        Obstacle {
            kind: Kind::Body,
            what: match body.serves {
                BodyUse::Lintel => format!("the lintel over \"{}\"", body.name),
                BodyUse::Sill | BodyUse::Threshold => {
                    format!("the {} of \"{}\"", body.serves.word(), body.name)
                }
            },
            owner: (body.serves == BodyUse::Lintel && duct).then(|| (true, body.name.clone())),
            region: Region::Box(body.cuboid),
        }
    }));
    let ringed = |void: &Void| {
        let ring = work.duct_rings.iter().find(|ring| {
            ring.name == void.name && void.kind == VoidKind::Duct && ring.axis == void.axis
        });
        ring.map(|ring| ring.outline.nm())
    };
    for void in &work.voids {
        if let Some(open) = void.cuboid() {
            found.push(Obstacle {
                kind: Kind::Open,
                what: format!("\"{}\"", void.name),
                owner: Some((false, void.name.clone())),
                region: Region::Box(open),
            });
        } else if let Some(round) = Round::of(void) {
            let ring = ringed(void);
            found.push(Obstacle {
                kind: Kind::Duct,
                what: match ring {
                    Some(_) => format!("the ring round the duct \"{}\"", void.name),
                    None => format!("the duct \"{}\"", void.name),
                },
                owner: Some((true, void.name.clone())),
                region: Region::Round(Round {
                    radius: ring.unwrap_or(round.radius),
                    ..round
                }),
            });
        }
    }
    let ledge = |piece: &&Piece| piece.role == Role::LedgeHeader;
    found.extend(work.pieces.iter().filter(ledge).map(|header| Obstacle {
        kind: Kind::Ledge,
        what: format!("the ledge in course {}", header.course),
        owner: None,
        region: Region::Box(header.cuboid()),
    }));
    found.extend(work.arches.iter().map(|arch| Obstacle {
        kind: Kind::Arch,
        what: format!("the arch over \"{}\"", arch.name),
        owner: Some((arch.over == VoidKind::Duct, arch.name.clone())),
        region: Region::Arch {
            axis: arch.axis,
            outline: arch.outline,
            faces: arch.faces,
        },
    }));
    found
}

impl Round {
    fn of(void: &Void) -> Option<Round> {
        match void.shape {
            VoidShape::Box(_) | VoidShape::Profile { .. } | VoidShape::Sector(_) => None,
            VoidShape::Cylinder {
                axis,
                across,
                z,
                radius,
                span,
            } => Some(Round {
                axis,
                across: across.nm(),
                z: z.nm(),
                radius: radius.nm(),
                span,
            }),
        }
    }
}

/// Refuses what runs into one another once all is in its place: where vents and headers come to lie is known only when
/// they are laid.
///
/// # Errors
/// Names the first two that meet.
pub(super) fn check_obstacles(work: &PartWork, setting: &Setting) -> Result<(), PlanError> {
    let all = obstacles(work);
    for (at, one) in all.iter().enumerate() {
        // Openings and headers among themselves are apart by other means, and they are many.
        if matches!(one.kind, Kind::Open | Kind::Ledge) {
            continue;
        }
        for (index, other) in all.iter().enumerate() {
            let solid = !matches!(other.kind, Kind::Open | Kind::Ledge);
            if index == at || (solid && index < at) {
                continue;
            }
            let Some(margin) = one.margin(other, setting) else {
                continue;
            };
            if one.region.meets(&other.region, margin) {
                let arched = one.kind == Kind::Arch || other.kind == Kind::Arch;
                let (one, other) = if other.kind == Kind::Arch {
                    (other, one)
                } else {
                    (one, other)
                };
                return Err(PlanError::new(
                    "openings-overlap",
                    format!("{} runs into {}", one.what, other.what),
                    if arched {
                        "move one of them, choose another course or side, or take a flatter or thinner arch"
                    } else {
                        "move one of them, choose another course or side, or give a shorter bearing"
                    },
                ));
            }
        }
    }
    Ok(())
}
