use super::Check;
use crate::layout::{Bite, BodyUse, LaidPart, Piece, Role, Void, VoidKind, VoidShape};
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Round holes whose crown no unit bridges.
pub(super) const CHECK: Check = Check {
    codes: &["duct-not-bridged", "duct-crown-thin"],
    summary: "Ducts over whose crown the units are not carried, or are cut thin.",
    run,
};

/// Least bearing of a unit that bridges, at each side: common practice, no source.
const LEAST_BEARING: f64 = 25.0;
/// Less than this over the crown breaks when it is cut: common practice, no source.
const THIN: f64 = 20.0;

fn run(site: Site<'_>) -> Vec<Finding> {
    let laid = site.laid;
    let mut found = Vec::new();
    for void in laid.voids.iter().filter(|void| void.kind == VoidKind::Duct) {
        if let Some(part) = laid.parts.get(void.part) {
            found.extend(crown(site, void, part));
        }
    }
    found
}

/// A round hole in its wall, in millimetres: the pipe with its joint.
struct Hole {
    along: f64,
    z: f64,
    radius: f64,
    depth: (Length, Length),
}

impl Hole {
    fn of(void: &Void, part: &LaidPart) -> Option<Hole> {
        let VoidShape::Cylinder {
            across,
            z,
            radius,
            span,
            ..
        } = void.shape
        else {
            return None;
        };
        let joint = part.setting.joints.head.nominal;
        Some(Hole {
            along: across.to_mm(),
            z: z.to_mm(),
            radius: (radius + joint).to_mm(),
            depth: span,
        })
    }

    /// Half its width at a height.
    fn half(&self, z: f64) -> f64 {
        let up = z - self.z;
        (self.radius * self.radius - up * up).max(0.0).sqrt()
    }
}

/// How a piece over a hole fares.
struct Hanging<'a> {
    piece: &'a Piece,
    over: f64,
    severity: Severity,
}

/// Height from which a lintel, an arch or a ring carries the work over a duct.
fn carried_from(site: Site<'_>, void: &Void) -> Option<Length> {
    let bodies = site.laid.bodies.iter().filter(|body| {
        let VoidShape::Cylinder { span, .. } = void.shape else {
            return false;
        };
        body.serves == BodyUse::Lintel
            && (body.part, &body.name, body.axis) == (void.part, &void.name, void.axis)
            && body.cuboid.span(void.axis.across()).0 < span.1
            && span.0 < body.cuboid.span(void.axis.across()).1
    });
    let bars = bodies.map(|body| body.cuboid.at.z);
    let over = |kind: VoidKind, part: usize, name: &String| {
        kind == VoidKind::Duct && (part, name) == (void.part, &void.name)
    };
    let arches = site.laid.arches.iter();
    let arches = arches.filter(|arch| over(arch.over, arch.part, &arch.name));
    let rings = site.laid.duct_rings.iter();
    let rings = rings.filter(|ring| over(VoidKind::Duct, ring.part, &ring.name));
    bars.chain(arches.map(|arch| arch.springing))
        .chain(rings.map(|ring| ring.middle.1))
        .min()
}

fn crown(site: Site<'_>, void: &Void, part: &LaidPart) -> Vec<Finding> {
    let Some(hole) = Hole::of(void, part) else {
        return Vec::new();
    };
    let base = part.outside.at.z;
    let carried = carried_from(site, void);
    // Voussoirs hold one another.
    let arched = |piece: &&&Piece| !matches!(piece.role, Role::Voussoir | Role::Key);
    let over: Vec<&Piece> = site
        .laid
        .pieces_of(part)
        .iter()
        .filter(|piece| arched(&piece) && carried.is_none_or(|from| piece.at.z < from))
        .filter(|piece| {
            let cuboid = site.laid.bounds(piece);
            let (from, to) = cuboid.span(void.axis.across());
            let along = cuboid.span(void.axis);
            cuboid.at.z.to_mm() > hole.z
                && from < hole.depth.1
                && to > hole.depth.0
                && along.0.to_mm() < hole.along + hole.radius
                && along.1.to_mm() > hole.along - hole.radius
        })
        .collect();
    let hangs = match carried {
        Some(_) => Severity::Note,
        None => Severity::Warn,
    };
    let hanging = over.iter().filter_map(|piece| {
        // The widest place under the piece: the top of the units below, a bed down.
        let below = base
            + part
                .heights
                .top_of(u32::from(piece.course).saturating_sub(1));
        let half = hole.half(below.to_mm().max(hole.z));
        let (from, to) = site.laid.bounds(piece).span(void.axis);
        let (from, to) = (from.to_mm() - hole.along, to.to_mm() - hole.along);
        let reach = to.min(half) - from.max(-half);
        let (low, high) = (-half - from, to - half);
        let severity = match (low > 0.0, high > 0.0) {
            _ if reach <= 0.0 => return None,
            // Under a lintel it carries nothing but itself.
            (true, true) if carried.is_some() => return None,
            (true, true) if low.min(high) < LEAST_BEARING => Severity::Note,
            (true, true) => return None,
            (false, false) => hangs,
            _ if reach * 2.0 >= to - from => hangs,
            _ => return None,
        };
        Some(Hanging {
            piece,
            over: reach,
            severity,
        })
    });
    let worst = hanging.min_by(|one, other| {
        one.severity
            .cmp(&other.severity)
            .then(other.over.total_cmp(&one.over))
    });
    let cut: Vec<u32> = over
        .iter()
        .filter(|piece| bitten(site, void, piece))
        .map(|piece| u32::from(piece.course))
        .collect();
    let cut = (cut.iter().min(), cut.iter().max());
    let level = (1..=part.courses)
        .find(|&course| (base + part.heights.top_of(course - 1)).to_mm() >= hole.z + hole.radius);
    let courses = match (cut, level) {
        ((Some(low), Some(high)), Some(level)) => {
            let count = high - low + 1;
            let plural = if count == 1 { "" } else { "s" };
            format!(
                "{count} course{plural} cut over its middle; the first level bed over it is under course {level}"
            )
        }
        (_, Some(level)) => {
            format!(
                "no course cut over its middle; the first level bed over it is under course {level}"
            )
        }
        _ => "no level bed over it".to_owned(),
    };
    let mut found = Vec::new();
    if let Some(worst) = worst {
        found.push(not_bridged(site, void, part, &worst, &courses));
    }
    found.extend(thin(site, void, part, &over, &hole, &courses));
    found
}

fn bitten(site: Site<'_>, void: &Void, piece: &Piece) -> bool {
    let VoidShape::Cylinder {
        axis, across, z, ..
    } = void.shape
    else {
        return false;
    };
    let own = |bite: &Bite| (bite.axis, bite.across, bite.z) == (axis, across, z);
    let shaping = site.laid.shaping(piece);
    shaping.is_some_and(|shaping| shaping.bites().iter().any(own))
}

fn place(void: &Void, part: &LaidPart, course: u16) -> Place {
    Place::part(&part.name)
        .course(course.into())
        .detail(&void.name)
}

fn not_bridged(
    site: Site<'_>,
    void: &Void,
    part: &LaidPart,
    worst: &Hanging<'_>,
    courses: &str,
) -> Finding {
    let style = site.laid.plan.style;
    let over = Length::from_mm(worst.over).unwrap_or_default();
    Finding {
        code: "duct-not-bridged",
        severity: worst.severity,
        place: place(void, part, worst.piece.course),
        figure: format!("a unit hangs {} over the hole; {courses}", style.show(over)),
        cause: "Over the crown a unit has too little of itself on the units beside the hole: until the mortar sets it lies on the pipe, and it follows when the pipe shrinks or is taken out."
            .to_owned(),
        remedy: "Lay a lintel over it (lintel: \"stone\"), shift the duct so that a unit lies across its crown with a bearing on both sides, or take a smaller pipe; keep the pipe propped until the mortar has cured."
            .to_owned(),
        source: "statics of a unit on its bed, no tension; 25 mm of bearing common practice, no source",
    }
}

fn thin(
    site: Site<'_>,
    void: &Void,
    part: &LaidPart,
    over: &[&Piece],
    hole: &Hole,
    courses: &str,
) -> Option<Finding> {
    let style = site.laid.plan.style;
    let crown = hole.z + hole.radius;
    let (piece, left) = over
        .iter()
        .filter(|piece| {
            let (from, to) = site.laid.bounds(piece).span(void.axis);
            from.to_mm() < hole.along && to.to_mm() > hole.along && bitten(site, void, piece)
        })
        .map(|piece| (piece, site.laid.bounds(piece).heights().1.to_mm() - crown))
        .filter(|(_, left)| *left < THIN)
        .min_by(|one, other| one.1.total_cmp(&other.1))?;
    Some(Finding {
        code: "duct-crown-thin",
        severity: Severity::Note,
        place: place(void, part, piece.course),
        figure: format!(
            "{} left of the unit over the crown; {courses}",
            style.show(Length::from_mm(left).unwrap_or_default())
        ),
        cause: "So thin a bridge over the pipe breaks when it is cut or when it is laid.".to_owned(),
        remedy: "Take a pipe that comes out level under a bed, lay it on another course, or bed the course over it on the pipe's own collar of mortar."
            .to_owned(),
        source: "20 mm: common practice, no source",
    })
}
