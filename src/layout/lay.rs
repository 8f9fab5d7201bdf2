use std::sync::Arc;

use super::course::{PartWork, lay_part};
use super::duct::DuctCut;
use super::footprint::Footprint;
use super::geometry::{Axis, Cuboid};
use super::laid::{Hollows, Laid, LaidDuct, LaidLeg, LaidLid, LaidPart, LaidSlab, Piece, Shaping};
use super::measure::{Measured, MeasuredDuct, MeasuredPart, measure};
use crate::plan::{Lid, Plan, PlanError, Shape, Side, SideRef};
use crate::quantity::{Length, Volume};

/// Lays a plan.
///
/// # Errors
/// What [`measure`] refuses: sizes, places and openings that cannot be built.
pub fn lay(plan: &Arc<Plan>) -> Result<Laid, PlanError> {
    let measured = measure(plan)?;
    let mut laid = Laid {
        plan: Arc::clone(plan),
        parts: Vec::with_capacity(measured.parts.len()),
        pieces: Vec::new(),
        shapings: Vec::new(),
        bodies: Vec::new(),
        voids: Vec::new(),
        breaches: Vec::new(),
        ducts: Vec::new(),
        lids: Vec::new(),
        slab: None,
    };
    for (index, part) in measured.parts.iter().enumerate() {
        let cuts = cuts_of(index, part, &measured, plan);
        let work = lay_part(part, index, &cuts);
        add_part(&mut laid, part, work);
    }
    laid.ducts = measured
        .ducts
        .iter()
        .filter_map(|duct| laid_duct(duct, plan))
        .collect();
    let lids: Vec<LaidLid> = plan
        .lids
        .iter()
        .filter_map(|lid| laid_lid(lid, &laid))
        .collect();
    laid.lids = lids;
    laid.slab = laid_slab(&laid);
    Ok(laid)
}

fn cuts_of(index: usize, part: &MeasuredPart, measured: &Measured, plan: &Plan) -> Vec<DuctCut> {
    let mut cuts = Vec::new();
    for duct in &measured.ducts {
        for &(_, leg) in duct.walls.iter().filter(|(wall, _)| *wall == index) {
            let side = match part.part.shape {
                Shape::Wall { .. } => SideRef::Leg(leg),
                _ => SideRef::Side(Side::ALL.get(leg).copied().unwrap_or(Side::Front)),
            };
            cuts.push(DuctCut {
                name: plan
                    .ducts
                    .get(duct.index)
                    .map(|d| d.name.clone())
                    .unwrap_or_default(),
                leg,
                side,
                axis: duct.axis,
                across: duct.across,
                z: duct.z,
                radius: duct.radius,
                hole: duct.radius + duct.joint,
            });
        }
    }
    cuts
}

fn add_part(laid: &mut Laid, part: &MeasuredPart, work: PartWork) {
    let first = laid.pieces.len();
    let shapings_before = laid.shapings.len() as u32;
    let mut envelope = part.wall_boxes();
    envelope.extend(work.projections);
    laid.pieces
        .extend(work.pieces.into_iter().map(|piece| Piece {
            shaping: if piece.shaping == 0 {
                0
            } else {
                piece.shaping + shapings_before
            },
            ..piece
        }));
    laid.shapings.extend(work.shapings);
    let unit = &laid.plan.setting.unit;
    let mut joints: Volume = envelope.iter().map(Cuboid::volume).sum();
    let mut solid = Volume::default();
    for piece in laid.pieces.get(first..).unwrap_or_default() {
        solid += laid.piece_volume(piece);
    }
    joints -= solid;
    for body in &work.bodies {
        joints -= body.cuboid.volume();
    }
    for void in &work.voids {
        joints -= void.volume();
    }
    let share = |share: f64| solid.scale(share).unwrap_or_default();
    let hollows = Hollows {
        cores: share(unit.core_share),
        frogs: share(unit.frog_share),
    };
    let core = match (part.core, part.inside) {
        (true, Some(inside)) => inside.volume(),
        _ => Volume::default(),
    };
    laid.bodies.extend(work.bodies);
    laid.voids.extend(work.voids);
    laid.breaches.extend(work.breaches);
    laid.parts.push(LaidPart {
        name: part.name.clone(),
        kind: part.part.kind(),
        outside: part.outside,
        inside: part.inside,
        thickness: part.thickness,
        leaves: part.leaves.len() as u32,
        courses: part.courses,
        envelope,
        pieces: first..laid.pieces.len(),
        snapped: part.snapped.clone(),
        joints,
        hollows,
        core,
        legs: part
            .whole
            .iter()
            .map(|strip| {
                let length = |(from, to)| (Length::from_nm(from), Length::from_nm(to));
                LaidLeg {
                    axis: strip.axis,
                    span: length(strip.span()),
                    across: length((strip.across, strip.across + strip.thickness)),
                    inside_high: strip.inside_high,
                    starts_low: strip.starts_low,
                }
            })
            .collect(),
    });
}

fn laid_duct(duct: &MeasuredDuct, plan: &Plan) -> Option<LaidDuct> {
    let asked = plan.ducts.get(duct.index)?;
    let gap = Length::from_nm(duct.gap);
    let walls = Length::from_nm(duct.wall_total);
    Some(LaidDuct {
        name: asked.name.clone(),
        index: duct.index,
        from: duct.from,
        to: duct.to,
        axis: duct.axis,
        across: Length::from_nm(duct.across),
        heights: (
            Length::from_nm(duct.z - duct.radius),
            Length::from_nm(duct.z + duct.radius),
        ),
        gap,
        walls,
        length: gap + walls + asked.proud * 2,
        proud: asked.proud,
    })
}

/// A lid lies on a bed joint over the whole part and is split along its longer side, with a joint between pieces.
fn laid_lid(lid: &Lid, laid: &Laid) -> Option<LaidLid> {
    let (part, under) = laid.part(&lid.part)?;
    let setting = &laid.plan.setting;
    let bed = setting.joints.bed.nominal;
    let joint = setting.joints.head.nominal;
    let bottom = under.outside.heights().1 + bed;
    let grow = |(from, to): (Length, Length)| (from - lid.overhang, to + lid.overhang);
    let (x, y) = (
        grow(under.outside.span(Axis::X)),
        grow(under.outside.span(Axis::Y)),
    );
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
    let mut pieces = Vec::new();
    for index in 0..count {
        let from = along.0.nm() + free * index / count + index * joint.nm();
        let to = along.0.nm() + free * (index + 1) / count + index * joint.nm();
        pieces.push(Cuboid::along(
            axis,
            (Length::from_nm(from), Length::from_nm(to)),
            across,
            (bottom, bottom + lid.depth),
        ));
    }
    let radius = lid.hole.nm() as f64 / 2.0;
    let middle = |(from, to): (Length, Length)| i64::midpoint(from.nm(), to.nm());
    let hole: f64 = pieces
        .iter()
        .map(|piece| {
            let offset = |(from, to): (Length, Length), middle: i64| {
                ((from.nm() - middle) as f64, (to.nm() - middle) as f64)
            };
            super::circle_in_rectangle(
                radius,
                offset(piece.span(Axis::X), middle(x)),
                offset(piece.span(Axis::Y), middle(y)),
            )
        })
        .sum();
    let hole = Volume::from_nm3((hole * lid.depth.nm() as f64).round() as i128);
    let concrete: Volume = pieces.iter().map(Cuboid::volume).sum();
    let walls = under.legs_area(laid).times(bed);
    Some(LaidLid {
        part,
        pieces,
        volume: concrete - hole,
        bed: walls,
        hole: lid.hole,
    })
}

impl LaidPart {
    /// Plan area of its walls, ledges left out.
    fn legs_area(&self, _laid: &Laid) -> crate::quantity::Area {
        let over = self.outside.length.times(self.outside.width);
        match self.inside {
            Some(inside) => over - inside.length.times(inside.width),
            None if self.kind == crate::plan::PartKind::Wall => self
                .envelope
                .iter()
                .filter(|cuboid| cuboid.height == self.outside.height)
                .map(|cuboid| cuboid.length.times(cuboid.width))
                .sum(),
            None => over,
        }
    }
}

/// Room to work round the forms: dig this far beyond the slab (manufacturer data sheet for dry-mixed concrete,
/// generic: 150 mm beyond the lines).
pub const WORKING_SPACE: Length = Length::mm(150);

fn laid_slab(laid: &Laid) -> Option<LaidSlab> {
    let slab = laid.plan.slab.as_ref()?;
    let covered: Vec<Cuboid> = if slab.strip {
        laid.parts
            .iter()
            .flat_map(|part| {
                let whole = |cuboid: &&Cuboid| cuboid.height == part.outside.height;
                part.envelope.iter().filter(whole)
            })
            .copied()
            .collect()
    } else {
        let all = laid.parts.iter().map(|part| part.outside);
        all.reduce(|a, b| a.around(&b)).into_iter().collect()
    };
    if covered.is_empty() {
        return None;
    }
    let footprint = Footprint::of(&covered, slab.margin);
    let base = -slab.depth;
    Some(LaidSlab {
        hole: Footprint::of(&covered, slab.margin + WORKING_SPACE),
        concrete: footprint.boxes((base, Length::ZERO)),
        subbase: if slab.subbase.is_positive() {
            footprint.boxes((base - slab.subbase, base))
        } else {
            Vec::new()
        },
        footprint,
    })
}

/// Whether a shaping is a notch, for those that list cut pieces.
impl Shaping {
    /// The trade's word for it.
    pub const fn word(&self) -> &'static str {
        match self {
            Shaping::Bites(..) => "round bite",
            Shaping::Notch(_) => "notch",
        }
    }
}
