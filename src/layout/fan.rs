//! Fans: pieces side by side round a centre, as in a ring or an arch. Pure geometry; nothing is laid here.
//!
//! Neighbours stand one pitch θ apart. A piece's side is parallel to its middle line, or cut so that it is parallel to
//! the line midway between neighbours. Facing corners at distance r are 2 r sin(θ/2) − w cos(θ/2) apart, where w is the
//! piece's width there: twice the distance of a corner from the line midway.

use crate::quantity::Length;

/// Most pieces in one fan: far above small brickwork.
const MOST_COUNT: u32 = 20_000;
/// How many counts are tried on either side of the one that comes nearest.
const COUNTS_BESIDE: i64 = 6;

/// How a fan ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ends {
    /// It closes on itself: as many joints as pieces.
    Closed,
    /// It stands between two radial faces (skewbacks) this far apart, radians: one joint more than pieces, and an
    /// odd number of pieces, so that one is the key.
    Skewbacks(f64),
    /// It ends with the sides of its last pieces, whose inner corners lie this far apart about the centre, radians:
    /// one joint less than pieces.
    Free(f64),
}

/// What is asked of a fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FanTask {
    /// From the centre to the middle of each inner face.
    pub inner: Length,
    /// From inner to outer face.
    pub depth: Length,
    /// Width of a whole unit, across its middle line.
    pub unit: Length,
    /// How it ends.
    pub ends: Ends,
    /// The joint aimed at.
    pub joint: Length,
    /// The least joint, kept at the inner face.
    pub shortest: Length,
    /// The largest joint, kept at the outer face.
    pub longest: Length,
    /// Whether units are cut to taper, so that joints are parallel.
    pub cut: bool,
}

/// One way to fill a fan.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fan {
    /// Pieces.
    pub count: u32,
    /// From middle line to middle line, radians.
    pub pitch: f64,
    /// From a skewback, or from the inner corner of a free end, to the first middle line, radians; half the pitch in
    /// a closed fan.
    pub first: f64,
    /// Width of each piece at the inner face.
    pub inner_width: Length,
    /// Width of each piece at the outer face.
    pub outer_width: Length,
    /// Joint between neighbours at the inner face; negative when they do not fit.
    pub inner_joint: Length,
    /// Joint between neighbours at the outer face.
    pub outer_joint: Length,
    /// Joint at a skewback, at the inner and the outer face; the same as between neighbours elsewhere.
    pub end_joint: (Length, Length),
}

impl Fan {
    /// Middle lines in order, radians from where the fan starts.
    pub fn angles(&self) -> impl Iterator<Item = f64> + use<> {
        let (first, pitch) = (self.first, self.pitch);
        (0..self.count).map(move |index| first + pitch * f64::from(index))
    }

    /// By how much the joints miss their limits, added up: zero when all are kept.
    pub fn misses(&self, task: &FanTask) -> Length {
        let under = |joint: Length| (task.shortest - joint).max(Length::ZERO);
        let over = |joint: Length| (joint - task.longest).max(Length::ZERO);
        under(self.inner_joint.min(self.end_joint.0)) + over(self.outer_joint.max(self.end_joint.1))
    }

    fn off_nominal(&self, task: &FanTask) -> Length {
        (self.inner_joint - task.joint).abs() + (self.outer_joint - task.joint).abs()
    }
}

/// The ways to fill a fan, best first: uncut, fewest millimetres beyond the limits and then joints nearest the
/// nominal one at both faces; cut, the fewest pieces. Empty when not one piece fits.
pub fn fans(task: &FanTask) -> Vec<Fan> {
    let sizes = [task.inner, task.depth, task.unit];
    if !sizes.into_iter().all(Length::is_positive) || task.joint.is_negative() {
        return Vec::new();
    }
    let mut found: Vec<Fan> = counts(task)
        .filter_map(|count| fan_of(task, count))
        .collect();
    if task.cut {
        found.sort_by_key(|fan| (fan.misses(task), fan.count));
    } else {
        found.sort_by_key(|fan| (fan.misses(task), fan.off_nominal(task), fan.count));
    }
    found
}

/// Counts round the one whose joints would be nominal half-way through the ring, or at its back when units are cut.
fn counts(task: &FanTask) -> impl Iterator<Item = u32> + use<> {
    let radius = if task.cut {
        task.inner + task.depth
    } else {
        task.inner + task.depth.half()
    };
    let sweep = match task.ends {
        Ends::Closed => std::f64::consts::TAU,
        Ends::Skewbacks(sweep) | Ends::Free(sweep) => sweep,
    };
    let module = (task.unit + task.joint).nm().max(1) as f64;
    let near = (sweep * radius.nm() as f64 / module).round();
    let near = near.clamp(0.0, f64::from(MOST_COUNT)) as i64;
    let odd = matches!(task.ends, Ends::Skewbacks(_));
    let least = i64::from(least_count(task.ends));
    ((near - COUNTS_BESIDE).max(least)..=near + COUNTS_BESIDE)
        .filter(move |count| !odd || count % 2 == 1)
        .filter_map(|count| u32::try_from(count).ok())
}

/// Fewer do not close.
const fn least_count(ends: Ends) -> u32 {
    match ends {
        Ends::Closed => 3,
        Ends::Skewbacks(_) | Ends::Free(_) => 1,
    }
}

/// A fan of so many pieces, unless they cannot be laid at all: no joint left, or nothing left of a piece.
pub fn fan_of(task: &FanTask, count: u32) -> Option<Fan> {
    if count < least_count(task.ends) {
        return None;
    }
    let pitched = |width_of: &dyn Fn(f64) -> Option<(f64, f64)>| -> Option<(f64, f64)> {
        let n = f64::from(count);
        match task.ends {
            Ends::Closed => {
                let pitch = std::f64::consts::TAU / n;
                Some((pitch, pitch / 2.0))
            }
            Ends::Skewbacks(sweep) => {
                // The wider the pitch, the wider the joints between and the thinner those at the ends.
                let first = |pitch: f64| (sweep - (n - 1.0) * pitch) / 2.0;
                let surplus = |pitch: f64| {
                    let (inner, _) = width_of(pitch)?;
                    let end = end_joint(task.inner, inner, first(pitch));
                    Some(joint_at(task.inner, inner, pitch) - end)
                };
                if count == 1 {
                    return Some((sweep, sweep / 2.0));
                }
                let pitch = bisect((0.0, sweep / (n - 1.0)), surplus)?;
                Some((pitch, first(pitch)))
            }
            Ends::Free(sweep) => {
                let half = |pitch: f64| {
                    let (inner, _) = width_of(pitch)?;
                    Some((inner / 2.0).atan2(task.inner.nm() as f64))
                };
                if count == 1 {
                    return Some((sweep, sweep / 2.0));
                }
                let surplus = |pitch: f64| Some((n - 1.0) * pitch + 2.0 * half(pitch)? - sweep);
                let pitch = bisect((0.0, sweep / (n - 1.0)), surplus)?;
                Some((pitch, half(pitch)?))
            }
        }
    };
    let unit = task.unit.nm() as f64;
    let (pitch, first, inner_width, outer_width) = if task.cut {
        let widths = |pitch: f64| Some(tapered(task, pitch, taper_joint(task, pitch)));
        let (pitch, first) = pitched(&widths)?;
        let (inner, outer) = tapered(task, pitch, taper_joint(task, pitch));
        let fits = inner >= 1.0 && outer <= unit + 1.0;
        if !fits {
            return None;
        }
        (pitch, first, inner, outer.min(unit))
    } else {
        let (pitch, first) = pitched(&|_| Some((unit, unit)))?;
        (pitch, first, unit, unit)
    };
    let whole = |nm: f64| Length::from_nm(nm.round() as i64);
    let outer_radius = task.inner + task.depth;
    let inner_joint = whole(joint_at(task.inner, inner_width, pitch));
    let outer_joint = whole(joint_at(outer_radius, outer_width, pitch));
    if inner_joint.is_negative() {
        return None;
    }
    let end_joint = match task.ends {
        Ends::Skewbacks(_) => (
            whole(end_joint(task.inner, inner_width, first)),
            whole(end_joint(outer_radius, outer_width, first)),
        ),
        Ends::Closed | Ends::Free(_) => (inner_joint, outer_joint),
    };
    Some(Fan {
        count,
        pitch,
        first,
        inner_width: whole(inner_width),
        outer_width: whole(outer_width),
        inner_joint,
        outer_joint,
        end_joint,
    })
}

/// The joint between neighbours at a distance from the centre: 2 r sin(θ/2) − w cos(θ/2).
fn joint_at(radius: Length, width: f64, pitch: f64) -> f64 {
    let (sin, cos) = (pitch / 2.0).sin_cos();
    2.0 * radius.nm() as f64 * sin - width * cos
}

/// The joint between a piece and a radial face at an angle α from its middle line: r sin α − w/2 cos α.
fn end_joint(radius: Length, width: f64, angle: f64) -> f64 {
    let (sin, cos) = angle.sin_cos();
    radius.nm() as f64 * sin - width / 2.0 * cos
}

/// The joint between tapered pieces: what leaves the back of the unit whole, where limits allow it, else nominal.
fn taper_joint(task: &FanTask, pitch: f64) -> f64 {
    let back = joint_at(task.inner + task.depth, task.unit.nm() as f64, pitch);
    let limits = task.shortest.nm() as f64..=task.longest.nm() as f64;
    if limits.contains(&back) {
        back
    } else {
        task.joint.nm() as f64
    }
}

/// Widths at the inner and outer face that leave parallel joints: (2 r sin(θ/2) − j) / cos(θ/2).
fn tapered(task: &FanTask, pitch: f64, joint: f64) -> (f64, f64) {
    let (sin, cos) = (pitch / 2.0).sin_cos();
    let width = |radius: Length| (2.0 * radius.nm() as f64 * sin - joint) / cos;
    (width(task.inner), width(task.inner + task.depth))
}

/// Where a function that grows passes zero, to the last bit; none when it does not.
fn bisect((mut low, mut high): (f64, f64), value: impl Fn(f64) -> Option<f64>) -> Option<f64> {
    if value(high)? < 0.0 || value(low)? > 0.0 {
        return None;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if value(middle)? < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(inner: i64, depth: i64, unit: i64, cut: bool) -> FanTask {
        FanTask {
            inner: Length::mm(inner),
            depth: Length::mm(depth),
            unit: Length::mm(unit),
            ends: Ends::Closed,
            joint: Length::mm(10),
            shortest: Length::mm(7),
            longest: Length::mm(15),
            cut,
        }
    }

    fn near(length: Length, mm: f64) {
        assert!(
            (length.to_mm() - mm).abs() < 1e-5,
            "{length} is not {mm} mm"
        );
    }

    /// Twelve squares of 100 mm on a circle of 200 mm: sin 15° = 0.258819, cos 15° = 0.965926, so that neighbours are
    /// 2 × 200 × 0.258819 − 100 × 0.965926 = 6.935035 mm apart inside and, 100 mm further out, 58.698844 mm.
    #[test]
    fn joints_of_a_ring_by_hand() {
        let fan = fan_of(&ring(200, 100, 100, false), 12).unwrap();
        near(fan.inner_joint, 6.935_035);
        near(fan.outer_joint, 58.698_844);
        assert!(fan_of(&ring(200, 100, 100, false), 13).is_none());
    }

    /// A wide ring of headers 102.5 mm wide: the circumference at the middle tells the count.
    #[test]
    fn a_wide_ring_takes_its_circumference_in_units() {
        let mut task = ring(2000, 215, 102, false);
        task.unit = Length::from_nm(102_500_000);
        let all = fans(&task);
        let best = all.first().unwrap();
        let mean = std::f64::consts::TAU * 2107.5 / 112.5;
        assert!((f64::from(best.count) - mean).abs() <= 1.0, "{best:?}");
        // A joint opens outwards by its angle times the depth: 215 mm × 2π/n.
        let opens = 215.0 * std::f64::consts::TAU / f64::from(best.count);
        let wedge = (best.outer_joint - best.inner_joint).to_mm();
        assert!((wedge - opens).abs() < 0.01, "{wedge} is not {opens}");
    }

    /// With units cut to taper both faces have the same joint, and pieces with joints close the ring.
    #[test]
    fn cut_units_leave_parallel_joints() {
        let task = ring(300, 215, 102, true);
        let best = *fans(&task).first().unwrap();
        assert!((best.inner_joint - best.outer_joint).abs() <= Length::from_nm(2));
        assert!(best.inner_width < best.outer_width && best.outer_width <= task.unit);
        assert!(fan_of(&task, best.count - 1).is_none_or(|fan| fan.misses(&task).is_positive()));
        // Bays of the regular polygon round the outer circle: 2 R tan(π/n) each.
        let half = std::f64::consts::PI / f64::from(best.count);
        let bay = 2.0 * 515.0 * half.tan();
        near(
            best.outer_width,
            bay - best.outer_joint.to_mm() / half.cos(),
        );
    }

    /// An arch of an odd count: joints at the skewbacks are those between neighbours, and all of it adds up to the sweep.
    #[test]
    fn an_arch_is_odd_and_fills_its_sweep() {
        let sweep = std::f64::consts::PI;
        let task = FanTask {
            ends: Ends::Skewbacks(sweep),
            ..ring(450, 102, 65, false)
        };
        let all = fans(&task);
        assert!(!all.is_empty());
        for fan in all {
            assert_eq!(fan.count % 2, 1);
            assert!((fan.inner_joint - fan.end_joint.0).abs() <= Length::from_nm(2));
            let filled = 2.0 * fan.first + f64::from(fan.count - 1) * fan.pitch;
            assert!((filled - sweep).abs() < 1e-9);
            let key = fan.angles().nth(fan.count as usize / 2).unwrap();
            assert!((key - sweep / 2.0).abs() < 1e-9);
            assert!(fan.end_joint.1 < fan.outer_joint);
        }
    }

    #[test]
    fn a_free_fan_ends_with_its_pieces() {
        let sweep = 1.0;
        let task = FanTask {
            ends: Ends::Free(sweep),
            ..ring(2000, 102, 215, false)
        };
        let best = *fans(&task).first().unwrap();
        let corner = (107.5_f64 / 2000.0).atan();
        assert!((best.first - corner).abs() < 1e-9);
        let last = best.angles().last().unwrap();
        assert!((last + corner - sweep).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_made_of_nothing() {
        assert!(fans(&ring(0, 100, 100, false)).is_empty());
        assert!(fans(&ring(200, 0, 100, false)).is_empty());
        assert!((0..3).all(|count| fan_of(&ring(10, 200, 5, false), count).is_none()));
        assert!(
            fans(&ring(10, 200, 215, false))
                .iter()
                .all(|fan| fan.count >= 3)
        );
    }

    proptest::proptest! {
        /// Whatever fits closes: laid as turned prisms, no two neighbours overlap and the joints are as told.
        #[test]
        fn fans_that_fit_do_not_overlap(
            inner in 80_i64..3000, depth in 50_i64..300, unit in 50_i64..300, cut: bool,
        ) {
            use crate::layout::turned::{Plane, Turned};
            for fan in fans(&ring(inner, depth, unit, cut)) {
                let piece = |angle| Turned {
                    plane: Plane::Level,
                    centre: (Length::ZERO, Length::ZERO),
                    angle,
                    inner: Length::mm(inner),
                    outer: Length::mm(inner + depth),
                    inner_width: fan.inner_width,
                    outer_width: fan.outer_width,
                    depth: (Length::ZERO, Length::mm(65)),
                };
                let (one, other) = (piece(0.0), piece(fan.pitch));
                proptest::prop_assert!(!one.overlaps(&other));
                let (a, b) = (one.corners(), other.corners());
                let apart = |p: (f64, f64), q: (f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
                let off = |apart: f64, joint: Length| (apart - joint.nm() as f64).abs();
                proptest::prop_assert!(off(apart(a[3], b[0]), fan.inner_joint) < 4.0);
                proptest::prop_assert!(off(apart(a[2], b[1]), fan.outer_joint) < 4.0);
            }
        }
    }
}
