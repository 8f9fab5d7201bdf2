//! What carries the work over a duct: lintels, half rings and rings of voussoirs, in each wall that it passes.

use super::{DuctWall, MeasuredDuct, MeasuredOpening, MeasuredPart};
use crate::layout::duct_ring::{MeasuredDuctRing, RingSite};
use crate::layout::laid::VoidKind;
use crate::plan::{Arch, Duct, DuctHead, Lintel, LintelKind, PlanError};

impl MeasuredPart {
    /// The ring of voussoirs round a duct in one of its walls, if it is asked for. Linings are only bored.
    ///
    /// # Errors
    /// When no unit fits, or the wall can have no voussoirs.
    pub(super) fn measure_duct_ring(
        &self,
        duct: &Duct,
        leg: usize,
        middle: (i64, i64),
        hole: i64,
    ) -> Result<Option<MeasuredDuctRing>, PlanError> {
        let Some(DuctHead::Ring(arch)) = duct.head.filter(|_| self.lines.is_none()) else {
            return Ok(None);
        };
        self.takes_voussoirs(&duct.name, leg)?;
        let site = RingSite {
            name: &duct.name,
            middle,
            hole,
            unit: (self.rules.unit, self.unit_width.nm(), self.unit_height.nm()),
            joint: self.rules.joint,
        };
        site.measured(arch).map(Some)
    }
}

impl MeasuredDuct {
    /// What is laid over it as over an opening, with the part that it is in.
    ///
    /// # Errors
    /// When there is no room for it in a wall.
    pub(super) fn heads(
        &self,
        duct: &Duct,
        parts: &[MeasuredPart],
    ) -> Result<Vec<(usize, MeasuredOpening)>, PlanError> {
        let mut found = Vec::new();
        for wall in &self.walls {
            let Some(part) = parts.get(wall.part) else {
                continue;
            };
            let asked = match part.lines {
                // What a lining carries its openings with carries it over ducts under a head too.
                Some(lines) => {
                    let host = parts.get(lines.host).map(|host| &host.part);
                    let lining = host.and_then(|host| host.lining.as_ref());
                    let kind = lining
                        .and_then(|lining| lining.as_lining())
                        .and_then(|lining| lining.lintel);
                    let carried = kind.filter(|_| duct.head.is_some());
                    carried.map(|kind| DuctHead::Lintel(Lintel::of(kind)))
                }
                None => duct.head,
            };
            let head = match asked {
                None | Some(DuctHead::Ring(_)) => None,
                Some(DuctHead::Lintel(lintel)) => Some(self.lintel(duct, lintel, wall, part)?),
                Some(DuctHead::Arch(arch)) => Some(self.half_ring(duct, arch, wall, part)?),
            };
            found.extend(head.map(|head| (wall.part, head)));
        }
        Ok(found)
    }

    /// The courses that a hole reaches, up to one.
    fn first_course(&self, wall: &DuctWall, part: &MeasuredPart) -> u32 {
        let lowest = self.z - wall.hole;
        let reached = |course: &u32| (part.base + part.heights.top_of(*course)).nm() > lowest;
        (1..=part.courses).find(reached).unwrap_or(1)
    }

    /// A lintel over the first bed that lies clear over the pipe.
    fn lintel(
        &self,
        duct: &Duct,
        lintel: Lintel,
        wall: &DuctWall,
        part: &MeasuredPart,
    ) -> Result<MeasuredOpening, PlanError> {
        let strip = part.strip(wall.leg)?;
        let crown = self.z + self.radius;
        let courses = part.courses_of_leg(wall.leg);
        let underside = |course: u32| {
            let heights = &part.heights;
            let bed = match lintel.kind {
                LintelKind::Steel => heights.top_of(course),
                LintelKind::Stone | LintelKind::Concrete => {
                    heights.top_of(course) + heights.bed_under(course + 1)
                }
            };
            (part.base + bed).nm()
        };
        let first = self.first_course(wall, part);
        let top = (first..=courses).find(|&course| underside(course) >= crown);
        let top = top.unwrap_or(courses);
        let span = (self.across - wall.hole, self.across + wall.hole);
        let measured = part.measure_lintel(&duct.name, lintel, (top, courses), span, strip)?;
        Ok(MeasuredOpening {
            lintel: Some(measured),
            ..head(duct, wall, part, span, (first, top))
        })
    }

    /// Half a ring from the bed nearest to the middle of the pipe. It is turned about that bed, so its soffit keeps a
    /// joint or more from the pipe everywhere.
    fn half_ring(
        &self,
        duct: &Duct,
        arch: Arch,
        wall: &DuctWall,
        part: &MeasuredPart,
    ) -> Result<MeasuredOpening, PlanError> {
        let strip = part.strip(wall.leg)?;
        let first = self.first_course(wall, part);
        let bed = |course: u32| (part.base + part.heights.top_of(course)).nm();
        let courses = part.courses_of_leg(wall.leg);
        let springing = (first..=courses)
            .min_by_key(|&course| (bed(course) - self.z).abs())
            .unwrap_or(first);
        let half = wall.hole + (self.z - bed(springing)).max(0);
        let span = (self.across - half, self.across + half);
        let named = (duct.name.as_str(), wall.leg);
        let arch = part.measure_arch_over(arch, named, (span, springing), strip)?;
        Ok(MeasuredOpening {
            arch: Some(arch),
            ..head(duct, wall, part, span, (first, springing))
        })
    }
}

fn head(
    duct: &Duct,
    wall: &DuctWall,
    part: &MeasuredPart,
    span: (i64, i64),
    courses: (u32, u32),
) -> MeasuredOpening {
    MeasuredOpening {
        name: duct.name.clone(),
        kind: VoidKind::Duct,
        side: part.side_of(wall.leg),
        leg: wall.leg,
        span,
        courses,
        lintel: None,
        arch: None,
        corbel: None,
        sill: None,
    }
}
