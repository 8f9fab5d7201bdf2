//! Curved walls: how units, half bats and three-quarter bats stand side by side round a middle between two free ends.
//!
//! Each piece has a bay of the curve, of half angle α about its middle line, from whose radial sides it keeps half a joint:
//! r sin α − w/2 cos α = j/2 at the hollow face, where w is its width there. Cut to taper it keeps as much at its back, and
//! its sides are parallel to those of its bay. At a free end the side of the last piece is the end of the wall.

use std::f64::consts::PI;

use super::course::PartWork;
use super::fan::Fan;
use super::geometry::Point;
use super::laid::{Breach, BreachKind, Cut, Finished, Piece, Role, Shaping};
use super::measure::{MeasuredPart, MeasuredRing};
use super::pierced::{Bend, Pierced};
use super::quad::Quad;
use super::turned::{Corner, Plane, Turned};
use crate::quantity::Length;

/// The hollow face, the back, and whether pieces are cut to taper. Lengths in nanometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Arc {
    pub(super) inner: f64,
    pub(super) outer: f64,
    pub(super) cut: bool,
}

/// What is laid side by side along a curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stone {
    /// Width across its middle line: at its back where it is cut to taper.
    pub(super) width: i64,
    pub(super) cut: Cut,
    /// Whether it is two pieces, one behind the other.
    pub(super) double: bool,
}

/// A stone in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Set {
    pub(super) stone: Stone,
    /// Direction of its middle line from the low end of the curve, radians.
    pub(super) angle: f64,
    /// Half the angle of its bay.
    pub(super) half: f64,
    /// Width at the hollow face and at the back.
    pub(super) widths: (f64, f64),
}

impl Arc {
    /// Half the angle of the bay of a piece, and its widths at the hollow face and the back.
    fn bay(&self, width: f64, joint: f64) -> (f64, (f64, f64)) {
        let at = if self.cut { self.outer } else { self.inner };
        let reach = at.hypot(width / 2.0);
        let share = (joint / (2.0 * reach)).clamp(-1.0, 1.0);
        let half = (width / 2.0).atan2(at) + share.asin();
        if !self.cut {
            return (half, (width, width));
        }
        let (sin, cos) = half.sin_cos();
        (half, ((2.0 * self.inner * sin - joint) / cos, width))
    }

    /// The joint at the back beside a piece: twice the distance of its corner from the side of its bay.
    fn back(&self, set: &Set) -> f64 {
        let (sin, cos) = set.half.sin_cos();
        2.0 * self.outer * sin - set.widths.1 * cos
    }

    /// Stones side by side with a joint between them at the face that counts, and the angle from end to end, taken at the
    /// corners of the hollow face.
    pub(super) fn row(&self, stones: &[Stone], joint: f64) -> (Vec<Set>, f64) {
        let mut found: Vec<Set> = Vec::with_capacity(stones.len());
        let mut at = 0.0;
        for (order, stone) in stones.iter().enumerate() {
            let (half, widths) = self.bay(stone.width as f64, joint);
            let corner = (widths.0 / 2.0).atan2(self.inner);
            at += if order == 0 { corner } else { half };
            found.push(Set {
                stone: *stone,
                angle: at,
                half,
                widths,
            });
            at += if order + 1 == stones.len() {
                corner
            } else {
                half
            };
        }
        (found, at)
    }

    /// As [`Arc::row`], with the joint that makes it as wide as asked; none where no joint does.
    pub(super) fn row_of(
        &self,
        stones: &[Stone],
        sweep: f64,
        widest: f64,
    ) -> Option<(Vec<Set>, f64)> {
        let narrow = |joint: f64| self.row(stones, joint).1 - sweep;
        let (mut low, mut high) = (0.0, widest);
        if narrow(low) > 0.0 || narrow(high) < 0.0 {
            return None;
        }
        for _ in 0..100 {
            let middle = f64::midpoint(low, high);
            if narrow(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        let joint = f64::midpoint(low, high);
        Some((self.row(stones, joint).0, joint))
    }

    /// The least joint at the hollow face and the widest at the back of a row.
    pub(super) fn joints(&self, row: &[Set]) -> (f64, f64) {
        let front = |set: &Set| {
            let (sin, cos) = set.half.sin_cos();
            2.0 * self.inner * sin - set.widths.0 * cos
        };
        row.iter().zip(row.iter().skip(1)).fold(
            (f64::INFINITY, 0.0),
            |(least, widest): (f64, f64), (one, other)| {
                let inner = f64::midpoint(front(one), front(other));
                let outer = f64::midpoint(self.back(one), self.back(other));
                (least.min(inner), widest.max(outer))
            },
        )
    }
}

/// To this step a radius is told, upwards: nobody sets one out more closely than to a centimetre.
const RADIUS_STEP: i64 = 10_000_000;

/// The least radius of the hollow face round which units go uncut with joints within their limits: where a joint as thin
/// as may be at the hollow face is as wide as may be at the back, 2 d sin α wider.
pub(super) fn least_radius(
    width: Length,
    depth: Length,
    shortest: Length,
    longest: Length,
) -> Length {
    let nm = |length: Length| length.nm() as f64;
    let opens = |radius: f64| {
        let arc = Arc {
            inner: radius,
            outer: radius + nm(depth),
            cut: false,
        };
        2.0 * nm(depth) * arc.bay(nm(width), nm(shortest)).0.sin()
    };
    let most = nm(longest - shortest);
    let (mut low, mut high) = (nm(width) / 2.0, 1e12);
    for _ in 0..100 {
        let middle = f64::midpoint(low, high);
        if opens(middle) > most {
            low = middle;
        } else {
            high = middle;
        }
    }
    let up = (high as i64 / RADIUS_STEP + 1) * RADIUS_STEP;
    Length::from_nm(up)
}

/// A curved wall with its size: the stones of odd and of even courses.
#[derive(Clone, Debug)]
pub(super) struct MeasuredCurve {
    pub(super) arc: Arc,
    /// Direction of its low end from its middle, radians.
    pub(super) start: f64,
    /// From end to end at the hollow face, radians.
    pub(super) sweep: f64,
    pub(super) rows: [Vec<Set>; 2],
    /// Thickness of a leaf, where a stone is two pieces deep.
    pub(super) leaf: i64,
}

impl MeasuredCurve {
    /// How places along its courses lie in plan, from its low end.
    pub(super) fn bend(&self, fan: &Fan, (inner, outer): (Length, Length)) -> Bend {
        let (unit, joint) = (fan.inner_width.nm(), fan.inner_joint.nm());
        let module = (unit + joint).max(1) as f64;
        // The corner of a unit at a free end stands a hair off where its side would be, were the face not straight.
        let corner = (unit as f64 / 2.0).atan2(self.arc.inner);
        let off = corner - fan.pitch * unit as f64 / (2.0 * module);
        Bend {
            faces: (inner.nm() as f64, outer.nm() as f64),
            start: self.start + off,
            pitch: fan.pitch,
            unit,
            joints: (joint, fan.outer_joint.nm()),
            cut: self.arc.cut,
            closed: false,
            paired: self.rows.iter().flatten().any(|set| set.stone.double),
            long: ((self.sweep - 2.0 * off) / fan.pitch * module).round() as i64,
        }
    }

    /// The stones of a course.
    fn row(&self, course: u32) -> &[Set] {
        let [odd, even] = &self.rows;
        if course % 2 == 1 { odd } else { even }
    }

    /// The pieces of one stone about a centre.
    fn pieces(&self, set: &Set, centre: (Length, Length), depth: (Length, Length)) -> Vec<Turned> {
        let (inner, outer) = (self.arc.inner.round() as i64, self.arc.outer.round() as i64);
        let width_at = |radius: i64| {
            let share = (radius - inner) as f64 / (outer - inner).max(1) as f64;
            let width = set.widths.0 + (set.widths.1 - set.widths.0) * share;
            Length::from_nm(width.round() as i64)
        };
        let piece = |from: i64, to: i64| Turned {
            plane: Plane::Level,
            centre,
            angle: self.start + set.angle,
            inner: Length::from_nm(from),
            outer: Length::from_nm(to),
            inner_width: width_at(from),
            outer_width: width_at(to),
            depth,
        };
        if set.stone.double {
            vec![
                piece(inner, inner + self.leaf),
                piece(outer - self.leaf, outer),
            ]
        } else {
            vec![piece(inner, outer)]
        }
    }

    /// All pieces of both kinds of course about a centre, as high as told.
    pub(super) fn all(&self, centre: (Length, Length), depth: (Length, Length)) -> Vec<Turned> {
        let rows = self.rows.iter().flatten();
        rows.flat_map(|set| self.pieces(set, centre, depth))
            .collect()
    }

    /// The bay of a stone, its outer sides at free ends those of the stone.
    fn bay(&self, row: &[Set], order: usize, centre: (Length, Length)) -> Option<[Corner; 4]> {
        let set = row.get(order)?;
        let (sin, cos) = (self.start + set.angle).sin_cos();
        let (x, y) = (centre.0.nm() as f64, centre.1.nm() as f64);
        let at =
            |out: f64, across: f64| (x + out * cos - across * sin, y + out * sin + across * cos);
        let tan = set.half.tan();
        let side = |end: bool| {
            if end {
                (set.widths.0 / 2.0, set.widths.1 / 2.0)
            } else {
                (self.arc.inner * tan, self.arc.outer * tan)
            }
        };
        let (low, high) = (side(order == 0), side(order + 1 == row.len()));
        Some([
            at(self.arc.inner, -low.0),
            at(self.arc.outer, -low.1),
            at(self.arc.outer, high.1),
            at(self.arc.inner, high.0),
        ])
    }
}

/// Lays a curved wall: odd courses start with a whole unit at their low end, even ones with a bat.
pub(super) fn lay_curve(
    part: &MeasuredPart,
    round: &MeasuredRing,
    curve: &MeasuredCurve,
    index: usize,
) -> PartWork {
    let mut work = PartWork::default();
    let unit = &part.setting.unit;
    let head = part.setting.joints.head;
    let mut pierced = Pierced::new(part, round, index);
    for course in 1..=part.courses {
        if pierced.lay_course(course, &mut work) {
            continue;
        }
        let bed = part.base + part.heights.top_of(course - 1);
        let depth = (
            part.base + part.heights.bottom_of(course),
            part.base + part.heights.top_of(course),
        );
        let row = curve.row(course);
        for (order, set) in row.iter().enumerate() {
            let bay = curve.bay(row, order, round.centre);
            work.quads
                .extend(bay.map(|corners| Quad::over(corners, (bed, depth.1))));
            let header = set.stone.cut == Cut::Whole && unit.width.nm() == set.stone.width;
            let ends = (order == 0, order + 1 == row.len());
            for (leaf, turned) in curve
                .pieces(set, round.centre, depth)
                .into_iter()
                .enumerate()
            {
                work.shapings.push(Shaping::Turned(turned));
                work.pieces.push(Piece {
                    at: turned.bounds().at,
                    length: if header {
                        unit.length
                    } else {
                        Length::from_nm(set.stone.width)
                    },
                    width: unit.width,
                    height: depth.1 - depth.0,
                    shaping: work.shapings.len() as u32,
                    part: index as u16,
                    course: course as u16,
                    leaf: leaf as u8,
                    leg: 0,
                    along: super::Axis::X,
                    role: if header {
                        Role::Header
                    } else {
                        Role::Stretcher
                    },
                    cut: set.stone.cut,
                    // The end as fired is the end of the wall.
                    finished: match (set.stone.cut, ends) {
                        (Cut::Whole, _) => Finished::Both,
                        (_, (true, _)) => Finished::Low,
                        (_, (_, true)) => Finished::High,
                        _ => Finished::Neither,
                    },
                });
            }
        }
        let (inner, outer) = curve.arc.joints(row);
        let whole = |nm: f64| Length::from_nm(nm.round() as i64);
        let beside = row.first().map_or(0.0, |set| set.angle + set.half) + curve.start;
        let mut breach = |figure: Length, limit: Length, radius: f64| {
            work.breaches.push(Breach {
                kind: BreachKind::JointOutOfTolerance,
                part: index,
                course,
                at: Point {
                    x: round.centre.0 + whole(radius * beside.cos()),
                    y: round.centre.1 + whole(radius * beside.sin()),
                    z: depth.0,
                },
                figure,
                limit,
            });
        };
        if row.len() > 1 && whole(inner) + SLACK < head.shortest {
            breach(whole(inner), head.shortest, curve.arc.inner);
        }
        if row.len() > 1 && whole(outer) - SLACK > head.longest {
            breach(whole(outer), head.longest, curve.arc.outer);
        }
    }
    pierced.add_voids(&mut work);
    work
}

/// By so much a joint may miss its limits before it is told: bats take a hair more or less of the curve than what they
/// stand for; nobody measures a joint more closely.
const SLACK: Length = Length::from_nm(100_000);

/// The widest that a curve sweeps: beyond it its ends meet. A hand's breadth at any radius laid; our own choice.
pub(super) const WIDEST_SWEEP: f64 = 2.0 * PI - 0.2;

#[cfg(test)]
mod tests {
    use super::*;

    fn whole(mm: i64) -> Stone {
        Stone {
            width: mm * 1_000_000,
            cut: Cut::Whole,
            double: false,
        }
    }

    /// Two units of 215 mm on a radius of 2 m with 10 mm between them: each bay is 2 (atan 107.5/2000 + asin 5/2002.887),
    /// and the corners at the ends stand atan 107.5/2000 beyond their middle lines.
    #[test]
    fn two_units_by_hand() {
        let arc = Arc {
            inner: 2e9,
            outer: 2.1025e9,
            cut: false,
        };
        let (row, sweep) = arc.row(&[whole(215), whole(215)], 10e6);
        let corner = (107.5_f64 / 2000.0).atan();
        let half = corner + (5.0 / 2000_f64.hypot(107.5)).asin();
        assert!((row[1].angle - row[0].angle - 2.0 * half).abs() < 1e-12);
        assert!((sweep - 2.0 * (corner + half)).abs() < 1e-12);
        let (inner, outer) = arc.joints(&row);
        assert!((inner / 1e6 - 10.0).abs() < 1e-6);
        // It opens by twice the depth times sin α.
        assert!((outer / 1e6 - 10.0 - 205.0 * half.sin()).abs() < 1e-6);
    }

    /// UK stretchers, joints 7 to 15 mm: 2 × 102.5 sin α = 8 gives α = 0.039034 and, with tan α ≈ (107.5 + 3.5) / r,
    /// r = 2842 mm; to the centimetre above, 2.85 m. Headers: 2 × 215 sin α = 8, (51.25 + 3.5) / tan 0.018606 = 2942 mm.
    #[test]
    fn least_radii_by_hand() {
        let mm = Length::mm;
        let width = Length::from_nm(102_500_000);
        assert_eq!(least_radius(mm(215), width, mm(7), mm(15)), mm(2850));
        assert_eq!(least_radius(width, mm(215), mm(7), mm(15)), mm(2950));
    }

    proptest::proptest! {
        /// A row is as wide as asked, and the joints between its pieces are the joint told.
        #[test]
        fn rows_are_as_wide_as_asked(radius in 800_i64..9000, count in 2_usize..30, joint in 4_i64..20, cut: bool) {
            let arc = Arc { inner: radius as f64 * 1e6, outer: (radius + 102) as f64 * 1e6, cut };
            let mut stones = vec![whole(215); count];
            let (_, sweep) = arc.row(&stones, joint as f64 * 1e6);
            let bat = Stone { width: 102_500_000, cut: Cut::Bat(1, 2), double: false };
            stones.pop();
            stones.insert(0, bat);
            stones.push(bat);
            let Some((row, _)) = arc.row_of(&stones, sweep, 60e6) else { return Ok(()) };
            let last = row.last().expect("stones");
            let end = last.angle + (last.widths.0 / 2.0).atan2(arc.inner);
            proptest::prop_assert!((end - sweep).abs() < 1e-9);
            for pair in row.windows(2) {
                let apart = pair[1].angle - pair[0].angle;
                proptest::prop_assert!((apart - pair[0].half - pair[1].half).abs() < 1e-12);
            }
        }
    }
}
