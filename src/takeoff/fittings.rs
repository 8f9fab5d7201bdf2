//! Things that are fitted into the brickwork, sized from the work as laid.

use std::collections::BTreeMap;

use super::stock::{Stock, StockTask, stock_plan};
use crate::layout::{
    Body, BodyUse, Laid, LaidPart, LaidSill, Role, TIE_BED, Void, VoidKind, VoidShape,
};
use crate::plan::{GapFill, LintelKind, Placed, Side, SideRef};
use crate::quantity::Length;

/// What is made to fit, where, and from what its size follows.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitting {
    /// What it is.
    pub what: String,
    /// The part it goes into.
    pub part: String,
    /// How many of them.
    pub count: u32,
    /// Its size.
    pub size: FittingSize,
    /// How that follows from the brickwork, with the clearance taken.
    pub why: String,
}

/// The size of a fitting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FittingSize {
    /// Flat: across and from front to back.
    Flat(Length, Length),
    /// Upright: wide and high.
    Upright(Length, Length),
    /// A bar, stone or precast piece: long, deep (through the wall), high.
    Bar(Length, Length, Length),
    /// A pipe: diameter and length.
    Pipe(Length, Length),
    /// Something thin: its length.
    Long(Length),
}

impl FittingSize {
    /// Its measures in the order in which they are named.
    pub fn measures(self) -> Vec<Length> {
        match self {
            FittingSize::Flat(a, b) | FittingSize::Upright(a, b) | FittingSize::Pipe(a, b) => {
                vec![a, b]
            }
            FittingSize::Bar(a, b, c) => vec![a, b, c],
            FittingSize::Long(a) => vec![a],
        }
    }
}

fn ties(laid: &Laid, index: usize, part: &LaidPart, placed: &Placed, found: &mut Vec<Fitting>) {
    let here = laid.ties.iter().filter(|tie| tie.part == index);
    let (count, at_jambs) = here.fold((0_u32, 0_u32), |(all, jambs), tie| {
        (all + 1, jambs + u32::from(tie.at_jamb))
    });
    if count == 0 {
        return;
    }
    let style = laid.plan.style;
    let (space, why) = if let Some(leaves) = placed.part.leaves {
        (
            leaves.space,
            format!(
                "{count} in all, {at_jambs} of them beside jambs and ends; space {} + {} bedded in each leaf",
                style.show(leaves.space),
                style.show(TIE_BED)
            ),
        )
    } else {
        // Of a wall in one piece they hold what only butts against it.
        let joint = part.setting.joints.head.nominal;
        let why = format!(
            "{count} across joints that only butt; joint {} + {} bedded on each side",
            style.show(joint),
            style.show(TIE_BED)
        );
        (joint, why)
    };
    found.push(Fitting {
        what: "wall ties".to_owned(),
        part: part.name.clone(),
        count,
        size: FittingSize::Long(space + TIE_BED * 2),
        why,
    });
}

/// What gives way in the gap behind a lining, where it is not left open.
fn gap_fill(laid: &Laid, index: usize, part: &LaidPart) -> Option<Fitting> {
    let lining = laid.lines(index)?;
    let what = match lining.fill {
        GapFill::Open => return None,
        GapFill::Board => "compressible board",
        GapFill::Wool => "mineral wool",
    };
    let style = laid.plan.style;
    let high = part.outside.height;
    Some(Fitting {
        what: format!("{what} behind it, {} thick", style.show(lining.gap)),
        part: part.name.clone(),
        count: 1,
        size: FittingSize::Upright(lining.run, high),
        why: format!(
            "once round the middle of the gap, {} high; openings, vents and ducts cut out of it",
            style.show(high)
        ),
    })
}

/// Slabs of a coping, those alike together, with what they are cut from.
fn copings(laid: &Laid, part: &LaidPart, found: &mut Vec<Fitting>) {
    let Some(coping) = &part.coping else { return };
    let style = laid.plan.style;
    let length = coping.coping.length;
    let slabs = |cut: bool| coping.slabs.iter().filter(move |slab| slab.cut == cut);
    let lengths: Vec<(Length, u64)> = slabs(true).map(|slab| (slab.length(), 1)).collect();
    let cut_from = stock_plan(&StockTask {
        stock: vec![Stock::bought(length)],
        pieces: lengths,
        ended: Vec::new(),
        kerf: laid.plan.clearances.blade,
        most_pieces: None,
        steps: COPING_STEPS,
    })
    .map_or_else(|_| slabs(true).count() as u64, |plan| plan.taken.bought);
    let mut sizes: BTreeMap<(bool, [Length; 3]), u32> = BTreeMap::new();
    for slab in &coping.slabs {
        let (from, to) = slab.cuboid.span(slab.axis.across());
        let size = [slab.length(), to - from, slab.cuboid.height];
        *sizes.entry((slab.cut, size)).or_insert(0) += 1;
    }
    let drip = match coping.coping.drip_off() {
        Some(off) => format!("drip {} off the wall", style.show(off)),
        None => "no drip".to_owned(),
    };
    for ((cut, [long, deep, high]), count) in sizes {
        let from = match (cut, long == length) {
            (true, _) => format!("all that are cut from {cut_from} of {}", style.show(length)),
            (false, true) => "whole".to_owned(),
            (false, false) => "made to size".to_owned(),
        };
        found.push(Fitting {
            what: format!("{} slab", coping.word()),
            part: part.name.clone(),
            count,
            size: FittingSize::Bar(long, deep, high),
            why: format!(
                "{count} such, {from}; overhang {}, {drip}",
                style.show(coping.overhang)
            ),
        });
    }
}

/// Steps of a plan for cutting slabs: a moment's work, and the same on every machine. Our own choice.
const COPING_STEPS: u64 = 20_000;

/// All fittings of a plan, part by part.
pub(super) fn all(laid: &Laid) -> Vec<Fitting> {
    let mut found = Vec::new();
    for (index, part) in laid.parts.iter().enumerate() {
        let Some(placed) = laid.plan.parts.get(&part.name) else {
            continue;
        };
        for void in laid.voids.iter().filter(|void| void.part == index) {
            doors(laid, part, placed, void, &mut found);
        }
        lintels(laid, index, part, &mut found);
        racks(laid, index, part, placed, &mut found);
        grate(laid, part, placed, &mut found);
        ties(laid, index, part, placed, &mut found);
        found.extend(gap_fill(laid, index, part));
        copings(laid, part, &mut found);
    }
    for duct in &laid.ducts {
        let Some(asked) = laid.plan.ducts.get(duct.index) else {
            continue;
        };
        let from = laid.part_name(duct.from).to_owned();
        let why = if duct.to.is_some() {
            format!(
                "gap {} + walls {} + {} proud at each end",
                duct.gap, duct.walls, duct.proud
            )
        } else {
            format!("wall {} + {} proud at each end", duct.walls, duct.proud)
        };
        found.push(Fitting {
            what: format!("pipe for {}", duct.name),
            part: from,
            count: 1,
            size: FittingSize::Pipe(asked.diameter, duct.length),
            why,
        });
    }
    found
}

fn doors(laid: &Laid, part: &LaidPart, placed: &Placed, void: &Void, found: &mut Vec<Fitting>) {
    let door = placed
        .part
        .openings
        .iter()
        .any(|opening| opening.door && opening.name == void.name);
    let (wide, high, foot) = match void.shape {
        VoidShape::Box(cuboid) => {
            let (from, to) = cuboid.span(void.axis);
            (to - from, cuboid.height, cuboid.at.z)
        }
        // Between radial jambs it is clear where it is narrowest.
        VoidShape::Sector(sector) => (sector.widths().0, sector.height(), sector.depth.0),
        VoidShape::Cylinder { .. } | VoidShape::Profile { .. } => return,
    };
    // Over a door, courses that step inwards leave more boxes open.
    let stepped = laid
        .corbels
        .iter()
        .filter(|corbel| corbel.part == void.part && corbel.name == void.name)
        .any(|corbel| corbel.levels.contains(&foot));
    if void.kind != VoidKind::Opening || !door || stepped {
        return;
    }
    let clear = laid.plan.clearances;
    let frame = (wide - clear.frame * 2, high - clear.frame * 2);
    let inset = (clear.frame_face + clear.leaf) * 2;
    let leaf = (frame.0 - inset, frame.1 - inset);
    let leaf_fits = leaf.0.is_positive() && leaf.1.is_positive();
    found.push(Fitting {
        what: format!("frame for {}", void.name),
        part: part.name.clone(),
        count: 1,
        size: FittingSize::Upright(frame.0, frame.1),
        why: format!(
            "opening {wide} × {high} less {} all round{}",
            clear.frame,
            if leaf_fits {
                ""
            } else {
                "; too small for a leaf"
            }
        ),
    });
    if !leaf_fits {
        return;
    }
    found.push(Fitting {
        what: format!("leaf for {}", void.name),
        part: part.name.clone(),
        count: 1,
        size: FittingSize::Upright(leaf.0, leaf.1),
        why: format!(
            "frame less its {} face and {} for heat, all round",
            clear.frame_face, clear.leaf
        ),
    });
}

fn lintels(laid: &Laid, index: usize, part: &LaidPart, found: &mut Vec<Fitting>) {
    for body in laid.bodies.iter().filter(|body| body.part == index) {
        if body.serves != BodyUse::Lintel {
            found.push(slab(laid, part, body));
            continue;
        }
        let (from, to) = body.cuboid.span(body.axis);
        let through = body.cuboid.span(body.axis.across());
        let what = match body.kind {
            LintelKind::Steel => "steel bar over",
            LintelKind::Stone => "stone lintel over",
            LintelKind::Concrete => "concrete lintel over",
        };
        found.push(Fitting {
            what: format!("{what} {}", body.name),
            part: part.name.clone(),
            count: 1,
            size: FittingSize::Bar(to - from, through.1 - through.0, body.cuboid.height),
            why: format!(
                "opening {} + bearings {} and {}",
                to - from - body.bearings.0 - body.bearings.1,
                body.bearings.0,
                body.bearings.1
            ),
        });
    }
}

/// The slab of a sill or threshold.
fn slab(laid: &Laid, part: &LaidPart, body: &Body) -> Fitting {
    let (from, to) = body.cuboid.span(body.axis);
    let through = body.cuboid.span(body.axis.across());
    let own = |sill: &&LaidSill| sill.part == body.part && sill.name == body.name;
    let sill = laid.sills.iter().find(own).map(|laid| laid.sill);
    let mut details = Vec::new();
    if let Some(sill) = sill {
        if sill.project.is_positive() {
            details.push(format!("; {} of it beyond the face", sill.project));
        }
        if sill.drip {
            details.push(", drip cut under its edge".to_owned());
        }
        if let Some(slope) = sill.slope {
            details.push(format!(
                "; its top falls {slope}° outwards, which is not taken off its volume"
            ));
        }
    }
    let details = details.concat();
    Fitting {
        what: format!(
            "{} {} of {}",
            body.kind.word(),
            body.serves.word(),
            body.name
        ),
        part: part.name.clone(),
        count: 1,
        size: FittingSize::Bar(to - from, through.1 - through.0, body.cuboid.height),
        why: format!("between the jambs less a joint at each end{details}"),
    }
}

/// A rack for each pair of facing ledges in one course.
fn racks(laid: &Laid, index: usize, part: &LaidPart, placed: &Placed, found: &mut Vec<Fitting>) {
    // Ledges are above a lining, where the walls themselves are clear.
    let bare = laid.lining_of(index).and_then(|lining| lining.bare);
    let Some(inside) = bare.or(part.inside) else {
        return;
    };
    let clear = laid.plan.clearances.rack;
    for ledge in &placed.part.ledges {
        // All headers of a ledge project alike.
        let header = laid.pieces_of(part).iter().find(|piece| {
            piece.role == Role::LedgeHeader && u32::from(piece.course) == ledge.course
        });
        let Some(header) = header else { continue };
        let project = header.length - part.setting.unit.width;
        let carries = |side: Side| ledge.sides.contains(&side);
        let sideways = carries(Side::Left) && carries(Side::Right);
        if !(sideways || carries(Side::Front) && carries(Side::Back)) {
            continue;
        }
        let size = (inside.length - clear * 2, inside.width - clear * 2);
        let between = if sideways {
            inside.length
        } else {
            inside.width
        };
        found.push(Fitting {
            what: format!("rack on the ledge in course {}", ledge.course),
            part: part.name.clone(),
            count: 1,
            size: FittingSize::Flat(size.0, size.1),
            why: format!(
                "inside {} × {} less {clear} at each end; bears {} each side, {} clear between the headers",
                inside.length,
                inside.width,
                project - clear,
                between - project * 2
            ),
        });
    }
}

/// A grate for each chamber and annex in which a fire burns.
fn grate(laid: &Laid, part: &LaidPart, placed: &Placed, found: &mut Vec<Fitting>) {
    let clear = laid.plan.clearances.grate;
    let own = part.inside.filter(|_| placed.part.fired);
    let spaces = part.compartments.iter().filter(|space| {
        let annexes = &placed.part.annexes;
        annexes
            .iter()
            .any(|annex| annex.fired && annex.name == space.name)
    });
    for inside in own.into_iter().chain(spaces.map(|space| space.space)) {
        found.push(Fitting {
            what: "grate".to_owned(),
            part: part.name.clone(),
            count: 1,
            size: FittingSize::Flat(inside.length - clear * 2, inside.width - clear * 2),
            why: format!(
                "inside {} × {} less {clear} all round for heat",
                inside.length, inside.width
            ),
        });
    }
}

/// The words for where something is.
impl SideRef {
    /// Such as `front` or `leg 2`.
    pub fn word(self) -> String {
        match self {
            SideRef::Side(side) => side.word().to_owned(),
            SideRef::Leg(leg) => format!("leg {}", leg + 1),
            SideRef::Branch(branch) => format!("branch {}", branch + 1),
        }
    }
}
