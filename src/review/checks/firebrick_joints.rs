use super::Check;
use crate::masonry::UnitKind;
use crate::quantity::Length;
use crate::review::{Finding, Place, Severity, Site};

/// Firebricks laid on joints so thick that the fire burns them out.
pub(super) const CHECK: Check = Check {
    codes: &["firebrick-joint-thick"],
    summary: "Joints between firebricks too thick for a fire.",
    run,
};

/// Thickest joint between firebricks: 1/4 in, IRC Table R1001.1.
const THICKEST: Length = Length::from_nm(6_350_000);

fn run(site: Site<'_>) -> Vec<Finding> {
    let plan = &site.laid.plan;
    if !plan.has_fire() {
        return Vec::new();
    }
    let found = site.laid.parts.iter().filter_map(|part| {
        let (unit, joints) = (&part.setting.unit, &part.setting.joints);
        // Between units that are not cut to taper the joint is thickest outside.
        let wedge = part.ring.map_or(Length::ZERO, |ring| ring.joints.1);
        let joint = joints.head.nominal.max(joints.bed.nominal).max(wedge);
        (unit.kind == UnitKind::Firebrick && joint > THICKEST).then(|| Finding {
            code: "firebrick-joint-thick",
            severity: Severity::Warn,
            place: Place::part(&part.name),
            figure: format!(
                "joints of {}; between firebricks at most {}",
                plan.style.show(joint),
                plan.style.show(THICKEST)
            ),
            cause: "In a fire the joint burns out before the brick, the sooner the thicker it is."
                .to_owned(),
            remedy: "Lay firebricks on joints of 3 mm in refractory mortar; in a ring cut them to taper (cut: true).".to_owned(),
            source: "IRC Table R1001.1, firebrick joints 1/4 in at most",
        })
    });
    found.collect()
}
