//! Rings of voussoirs all round a duct: a fan that closes on itself, in the plane of the wall.

use super::arch::{ARCH_JOINTS, Ring, quad};
use super::course::Layer;
use super::laid::LaidDuctRing;
use crate::plan::{Arch, PlanError, Standing};
use crate::quantity::Length;

/// The rings round one duct in one wall, with every figure known. Lengths in nanometres.
#[derive(Clone, Debug)]
pub(in crate::layout) struct MeasuredDuctRing {
    pub(in crate::layout) standing: Standing,
    /// Radius of the inner face.
    pub(in crate::layout) inner: i64,
    /// From the inner face to the outer one of the last ring.
    pub(in crate::layout) depth: i64,
    /// Radius that the courses beside it are cut to.
    pub(in crate::layout) outline: i64,
    pub(in crate::layout) rings: Vec<Ring>,
}

/// Where rings are laid and of what, in nanometres.
pub(in crate::layout) struct RingSite<'a> {
    pub(in crate::layout) name: &'a str,
    /// Middle of the duct along the wall, and its height.
    pub(in crate::layout) middle: (i64, i64),
    /// Radius of the hole: the pipe with its joint.
    pub(in crate::layout) hole: i64,
    pub(in crate::layout) unit: (i64, i64, i64),
    pub(in crate::layout) joint: i64,
}

impl RingSite<'_> {
    /// Measures the rings of an arch carried all round.
    ///
    /// # Errors
    /// When no unit fits into a ring, cut or uncut as asked.
    pub(in crate::layout) fn measured(&self, arch: Arch) -> Result<MeasuredDuctRing, PlanError> {
        let deep = match arch.standing {
            Standing::Soldier => self.unit.0,
            Standing::Rowlock => self.unit.1,
        };
        let mut inner = self.hole as f64;
        let mut rings = Vec::new();
        for _ in 0..arch.rings {
            let (ring, beyond) = self.ring(arch, inner, deep as f64)?;
            rings.push(ring);
            inner = beyond + self.joint as f64;
        }
        Ok(MeasuredDuctRing {
            standing: arch.standing,
            inner: self.hole,
            depth: i64::from(arch.rings) * (deep + self.joint) - self.joint,
            outline: inner.ceil() as i64,
            rings,
        })
    }

    /// One ring, its first voussoir upright over the duct, and how far its furthest corner lies from the middle.
    fn ring(&self, arch: Arch, inner: f64, deep: f64) -> Result<(Ring, f64), PlanError> {
        let (thick, joint) = (self.unit.2 as f64, self.joint as f64);
        let outer = inner + deep;
        let middle = (self.middle.0 as f64, self.middle.1 as f64);
        let nm = |place: f64| Length::from_nm(place.round() as i64);
        let pitch = |count: u32| std::f64::consts::TAU / f64::from(count);
        let laid = |count: u32, low: f64, high: f64, tapered: bool, joints: (f64, f64)| Ring {
            voussoirs: (0..count)
                .map(|k| {
                    let turn = pitch(count) * f64::from(k);
                    quad(middle, turn, (inner, outer), (low, high))
                })
                .collect(),
            lengths: vec![deep as i64; count as usize],
            bonded: Vec::new(),
            tapered,
            joints: (nm(joints.0), nm(joints.1)),
            narrowest: (2.0 * low).round() as i64,
        };
        // Fewer than four do not go round anything.
        let counts = || match arch.voussoirs {
            Some(count) => count..=count,
            None => 4..=Arch::MOST_VOUSSOIRS,
        };
        if arch.cut != Some(true) {
            // Whole units: joints between neighbouring corners at both faces.
            let gap = |count: u32, far: f64| {
                let between = pitch(count) / 2.0 - (thick / 2.0 / far).atan();
                2.0 * far.hypot(thick / 2.0) * between.sin()
            };
            let fit = |count: u32| (count, (gap(count, inner), gap(count, outer)));
            let (least, most) = (ARCH_JOINTS.0.nm() as f64, ARCH_JOINTS.1.nm() as f64);
            let beyond = |(low, high): (f64, f64)| (least - low).max(0.0) + (high - most).max(0.0);
            let off = |(low, high): (f64, f64)| (low - joint).abs() + (high - joint).abs();
            let best = counts()
                .map(fit)
                .take_while(|(_, (low, _))| *low > 0.0)
                .min_by(|(_, a), (_, b)| {
                    let by_limit = beyond(*a).total_cmp(&beyond(*b));
                    by_limit.then(off(*a).total_cmp(&off(*b)))
                });
            if let Some((count, joints)) = best
                && (arch.cut == Some(false) || beyond(joints) <= 0.0)
            {
                let half = thick / 2.0;
                return Ok((laid(count, half, half, false, joints), outer.hypot(half)));
            }
        }
        // Cut to a taper: faces half a joint from the radial lines between them.
        let half = |far: f64, count: u32| {
            let turn = pitch(count) / 2.0;
            far * turn.tan() - joint / 2.0 / turn.cos()
        };
        let fits = |count: &u32| 2.0 * half(outer, *count) <= thick && half(inner, *count) > 0.0;
        let found = counts().filter(|count| *count >= 4).find(fits);
        let Some(count) = found.filter(|_| arch.cut != Some(false)) else {
            return Err(PlanError::new(
                "ring-too-small",
                format!(
                    "no ring of units {} thick goes round \"{}\", whose hole is {} round",
                    nm(thick),
                    self.name,
                    nm(std::f64::consts::TAU * inner)
                ),
                "let units be cut to a taper, leave the number of voussoirs out, or lay a lintel over so small a pipe",
            )
            .at_key("arch"));
        };
        let (low, high) = (half(inner, count), half(outer, count));
        let ring = laid(count, low, high, true, (joint, joint));
        Ok((ring, outer.hypot(high)))
    }
}

impl Layer<'_> {
    /// Lays the rings of ducts whose lowest point lies in a course.
    pub(super) fn lay_duct_rings(&mut self, course: u32) {
        let (bottom, top) = self.heights(course);
        let floor = if course == 1 { self.part.base } else { bottom };
        for duct in self.ducts() {
            let Some(ring) = &duct.ring else { continue };
            let lowest = Length::from_nm(duct.z - ring.outline);
            // Of a bed and the course over it.
            let bed = self.part.base + self.part.heights.top_of(course - 1);
            if lowest < bed.min(floor) || lowest >= top {
                continue;
            }
            let Some(strip) = self.part.whole.get(duct.leg).copied() else {
                continue;
            };
            let standing = (ring.standing, false);
            self.lay_voussoirs(course, duct.leg, &ring.rings, standing);
            let middle = (Length::from_nm(duct.across), Length::from_nm(duct.z));
            let crown = (middle.0, middle.1 + Length::from_nm(ring.inner));
            self.ring_breaches(course, &ring.rings, crown, &strip);
            self.work.duct_rings.push(LaidDuctRing {
                part: self.index,
                name: duct.name.clone(),
                standing: ring.standing,
                axis: strip.axis,
                faces: (
                    Length::from_nm(strip.across),
                    Length::from_nm(strip.across + strip.thickness),
                ),
                middle,
                inner: Length::from_nm(ring.inner),
                depth: Length::from_nm(ring.depth),
                outline: Length::from_nm(ring.outline),
                rings: ring.rings.iter().map(Ring::laid).collect(),
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::ArchKind;

    fn site(hole: i64) -> RingSite<'static> {
        RingSite {
            name: "pipe",
            middle: (0, 0),
            hole: Length::mm(hole).nm(),
            unit: (
                Length::mm(215).nm(),
                Length::from_nm(102_500_000).nm(),
                Length::mm(65).nm(),
            ),
            joint: Length::mm(10).nm(),
        }
    }

    fn asked(cut: Option<bool>) -> Arch {
        Arch {
            cut,
            ..Arch::of(ArchKind::Semicircular)
        }
    }

    /// Round a hole of 160 mm radius the outer face lies at 262.5 mm: 2·262.5·tan(π/n) − 10/cos(π/n) ≤ 65 mm first for
    /// n = 23, and the inner face is 2·160·tan(π/23) − 10/cos(π/23) = 33.9 mm wide.
    #[test]
    fn cut_voussoirs_are_the_fewest_that_a_unit_gives() {
        let made = site(160).measured(asked(None)).unwrap();
        let ring = made.rings.first().unwrap();
        assert!(ring.tapered);
        assert_eq!(ring.voussoirs.len(), 23);
        assert_eq!(ring.narrowest / 100_000, 338);
        assert_eq!(ring.joints, (Length::mm(10), Length::mm(10)));
        // The outline holds the corners of the outer face and a joint.
        let corner = 262.5_f64.hypot(262.5 * (std::f64::consts::PI / 23.0).tan() - 5.05);
        assert!((made.outline as f64 / 1e6 - corner - 10.0).abs() < 0.1);
    }

    /// Whole units all round: n units and n joints make up the circumference at either face, to the chord.
    #[test]
    fn whole_units_leave_joints_that_open_outwards() {
        let made = site(500).measured(asked(None)).unwrap();
        let ring = made.rings.first().unwrap();
        assert!(!ring.tapered);
        let count = ring.voussoirs.len() as f64;
        for (far, joint) in [(500.0, ring.joints.0), (602.5, ring.joints.1)] {
            let round = std::f64::consts::TAU * far;
            assert!((count * (65.0 + joint.to_mm()) - round).abs() / round < 2e-3);
        }
        assert!(ring.joints.0 >= ARCH_JOINTS.0 && ring.joints.1 <= ARCH_JOINTS.1);
    }

    #[test]
    fn small_pipes_are_refused_whole_units() {
        let refused = site(20).measured(asked(Some(false))).unwrap_err();
        assert_eq!(refused.code, "ring-too-small");
    }
}
