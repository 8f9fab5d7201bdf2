//! What is told of arches.

use super::{ArchReason, Remark, Voussoirs};
use crate::layout::arch::ARCH_JOINTS;
use crate::layout::flat_bond::Bonded;
use crate::layout::measure::{MeasuredOpening, MeasuredPart};
use crate::plan::{Arch, Opening};
use crate::quantity::Length;

/// The rings of an arch that springs from the bed under a course, or that cuts it.
pub(super) fn arch(part: &MeasuredPart, opening: &MeasuredOpening, course: u32) -> Vec<Remark> {
    let Some(made) = &opening.arch else {
        return Vec::new();
    };
    let (bottom, top) = (
        part.base + part.heights.bottom_of(course),
        part.base + part.heights.top_of(course),
    );
    if course <= opening.courses.1 || bottom >= made.outline.top() || top <= made.springing {
        return Vec::new();
    }
    let asked = part.part.openings.iter().find(|o| o.name == opening.name);
    let with = |count: u32| {
        let asked: &Opening = asked?;
        let arch = Arch {
            voussoirs: Some(count),
            ..made.arch
        };
        let strip = *part.whole.get(opening.leg)?;
        let opening_as = Opening {
            arch: Some(arch),
            ..asked.clone()
        };
        part.measure_opening_arch(&opening_as, opening.span, strip)
            .ok()?
    };
    let joint = part.setting.joints.head.nominal;
    let rings = made.rings.iter().enumerate();
    rings
        .map(|(at, ring)| {
            let count = ring.voussoirs.len() as u32;
            let next = [count.checked_sub(2), Some(count + 2)]
                .into_iter()
                .flatten()
                .filter_map(|count| {
                    let arch = with(count)?;
                    let ring = arch.rings.get(at)?;
                    Some(Voussoirs {
                        count,
                        tapered: ring.tapered,
                        joints: ring.joints,
                    })
                })
                .min_by_key(|other| (other.tapered != ring.tapered, other.off(ARCH_JOINTS, joint)));
            Remark::Arch(ArchReason {
                name: opening.name.clone(),
                ring: at + 1,
                standing: made.arch.standing,
                laid: Voussoirs {
                    count,
                    tapered: ring.tapered,
                    joints: ring.joints,
                },
                bonded: match ring.bonded.as_slice() {
                    [one, other, ..] => Some((lengths(one), lengths(other))),
                    _ => None,
                },
                next,
                limits: ARCH_JOINTS,
                joint,
            })
        })
        .collect()
}

fn lengths(pieces: &[Bonded]) -> Vec<Length> {
    let lengths = pieces.iter().map(|(_, length)| *length);
    lengths.map(Length::from_nm).collect()
}
