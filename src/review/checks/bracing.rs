//! What piers, branches and returns do for a free-standing wall.
//!
//! A plain wall stands against wind by its weight at half its thickness: the height that it may have goes with the
//! square of the thickness, by statics. With piers its weight and the arm that it acts at are those of wall and pier
//! together, over the length of wall that leans on the pier; the thickness of the plain wall that would stand as well
//! is what counts.

use crate::layout::{Laid, LaidLeg, LaidPart, VoidKind};
use crate::plan::{BranchKind, SideRef};
use crate::quantity::Length;

/// Wall spans between supports up to eighteen times its thickness (IRC 2018 Table R606.6.4, nonbearing exterior).
pub(super) const BRACED: i64 = 18;
/// Attached piers stand every 3 m or so (trade advice on boundary walls).
pub(super) const PIERS_EVERY: Length = Length::mm(3_000);
/// A support counts up to three times as deep as the wall is thick (BS 5628-1, wall stiffened by piers or returns, from
/// memory).
const DEEPEST: i64 = 3;

/// A stretch of wall with what holds it.
struct Stretch {
    thickness: Length,
    height: Length,
    from: Length,
    to: Length,
    supports: Vec<Support>,
}

/// A pier, branch or return.
#[derive(Clone, Copy)]
struct Support {
    middle: Length,
    width: Length,
    /// How far it stands out from the face with the smaller and the larger coordinate.
    out: (Length, Length),
}

/// The thickness that counts for a wall's weakest stretch.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Braced {
    /// Thickness of the wall.
    pub(super) thickness: Length,
    /// Height of the stretch.
    pub(super) height: Length,
    /// Thickness of the plain wall that would stand as well.
    pub(super) counts_as: Length,
    /// Widest bay between its supports, where there are any.
    pub(super) bay: Option<Length>,
    /// Widest bay that they help.
    pub(super) most: Length,
}

impl Braced {
    /// Whether its supports help it.
    pub(super) fn helped(&self) -> bool {
        self.counts_as > self.thickness
    }
}

/// Every stretch of a wall, its branches included.
pub(super) fn braced(laid: &Laid, part: &LaidPart) -> Vec<Braced> {
    let own = part.legs.iter().take(part.sides).enumerate();
    let mut found: Vec<Braced> = own
        .flat_map(|(index, leg)| leg_stretches(laid, part, index, leg))
        .map(|stretch| stretch.braced())
        .collect();
    found.extend(branch_stretches(part).iter().map(Stretch::braced));
    found
}

fn leg_stretches(laid: &Laid, part: &LaidPart, index: usize, leg: &LaidLeg) -> Vec<Stretch> {
    let thickness = part.effective_thickness(laid);
    let (from, to) = leg.span;
    let deepest = part.thickness * (DEEPEST - 1);
    let mut supports: Vec<Support> = part
        .junctions
        .iter()
        .filter(|met| met.leg == index && met.toothed && met.height >= part.body.height)
        .map(|met| Support {
            middle: middle(met.span),
            width: met.span.1 - met.span.0,
            out: (met.beyond.0.min(deepest), met.beyond.1.min(deepest)),
        })
        .collect();
    // The legs that turn off at its ends.
    for other in part.legs.iter().take(part.sides) {
        if other.axis == leg.axis {
            continue;
        }
        let at_low = other.across.0 == from;
        let at_high = other.across.1 == to;
        let meets = other.span.0 == leg.across.0 || other.span.1 == leg.across.1;
        if !(at_low || at_high) || !meets {
            continue;
        }
        supports.push(Support {
            middle: middle(other.across),
            width: other.across.1 - other.across.0,
            out: (
                (leg.across.0 - other.span.0).max(Length::ZERO).min(deepest),
                (other.span.1 - leg.across.1).max(Length::ZERO).min(deepest),
            ),
        });
    }
    // An opening up to the top leaves two walls.
    let part_index = laid.parts.iter().position(|other| other.name == part.name);
    let mut gates: Vec<(Length, Length)> = laid
        .voids
        .iter()
        .filter(|void| {
            Some(void.part) == part_index
                && void.kind == VoidKind::Opening
                && void.side == SideRef::Leg(index)
        })
        .filter_map(crate::layout::Void::cuboid)
        .filter(|open| open.heights().1 >= part.body.heights().1)
        .map(|open| open.span(leg.axis))
        .collect();
    gates.sort_unstable();
    let starts = std::iter::once(from).chain(gates.iter().map(|gate| gate.1));
    let stops = gates.iter().map(|gate| gate.0).chain(std::iter::once(to));
    starts
        .zip(stops)
        .map(|(from, to)| Stretch {
            thickness,
            height: part.body.height,
            from,
            to,
            supports: supports
                .iter()
                .copied()
                .filter(|support| from <= support.middle && support.middle <= to)
                .collect(),
        })
        .collect()
}

/// A branch leans on the wall that it meets, which runs on to both sides.
fn branch_stretches(part: &LaidPart) -> Vec<Stretch> {
    let walls = part
        .junctions
        .iter()
        .filter(|met| met.kind == BranchKind::Wall);
    walls
        .flat_map(|met| {
            let thickness = met.span.1 - met.span.0;
            let deepest = thickness * (DEEPEST - 1);
            let wall = part.legs.get(met.leg);
            [met.beyond.0, met.beyond.1]
                .into_iter()
                .filter(|out| out.is_positive())
                .filter_map(move |out| {
                    let wall = wall?;
                    let width = wall.across.1 - wall.across.0;
                    let beside = (
                        (met.span.0 - wall.span.0).max(Length::ZERO).min(deepest),
                        (wall.span.1 - met.span.1).max(Length::ZERO).min(deepest),
                    );
                    let root = Support {
                        middle: width.half(),
                        width,
                        out: beside,
                    };
                    Some(Stretch {
                        thickness,
                        height: met.height,
                        from: Length::ZERO,
                        to: width + out,
                        supports: if met.toothed { vec![root] } else { Vec::new() },
                    })
                })
        })
        .collect()
}

fn middle((from, to): (Length, Length)) -> Length {
    from + (to - from).half()
}

impl Stretch {
    fn braced(&self) -> Braced {
        let thickness = self.thickness;
        let most = (thickness * BRACED).min(PIERS_EVERY);
        let mut supports = self.supports.clone();
        supports.sort_by_key(|support| support.middle);
        let mut bays: Vec<Length> = Vec::with_capacity(supports.len() + 1);
        let ends = supports.first().zip(supports.last());
        let Some((first, last)) = ends else {
            return Braced {
                thickness,
                height: self.height,
                counts_as: thickness,
                bay: None,
                most,
            };
        };
        // Beyond the last support a free end leans on it alone: it counts as half a bay.
        let flush = |support: &Support, end: Length| {
            let over = (support.middle - end).abs() - support.width.half();
            over.max(Length::ZERO) * 2
        };
        bays.push(flush(first, self.from));
        let next = supports.iter().skip(1);
        bays.extend(supports.iter().zip(next).map(|(a, b)| b.middle - a.middle));
        bays.push(flush(last, self.to));
        let bay = bays.iter().copied().max().unwrap_or_default();
        let counts_as = if bay > most {
            thickness
        } else {
            let pairs = bays.iter().zip(bays.iter().skip(1));
            let each = supports.iter().zip(pairs);
            each.map(|(support, (before, after))| support.counts_as(thickness, *before + *after))
                .min()
                .unwrap_or(thickness)
                .max(thickness)
        };
        Braced {
            thickness,
            height: self.height,
            counts_as,
            bay: Some(bay),
            most,
        }
    }
}

impl Support {
    /// The plain wall that stands as well as this wall with half of both bays beside the support: its thickness squared
    /// is twice the weight of wall and pier over their length, times the shorter arm from their centre of mass to a
    /// toe.
    fn counts_as(&self, thickness: Length, bays: Length) -> Length {
        let mm = Length::to_mm;
        let (t, width) = (mm(thickness), mm(self.width));
        let (low, high) = (mm(self.out.0), mm(self.out.1));
        let length = (mm(bays) / 2.0).max(width);
        let parts = [
            (t * length, low + t / 2.0),
            (width * low, low / 2.0),
            (width * high, low + t + high / 2.0),
        ];
        let area: f64 = parts.iter().map(|(area, _)| area).sum();
        let centre = parts.iter().map(|(area, at)| area * at).sum::<f64>() / area;
        let arm = centre.min(low + t + high - centre);
        let counts = (2.0 * area / length * arm).sqrt();
        Length::from_mm(counts.floor()).unwrap_or(thickness)
    }
}
