use serde::{Deserialize, Serialize};

use super::{MortarChoice, PlanError, Setting};
use crate::masonry::{Bond, Catalogue, Gauge, Joint, MasonryError, Unit};
use crate::quantity::Length;

/// What a part is laid with where that is not what its plan says, such as a lining of firebrick.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnSetting {
    /// Its unit.
    pub unit: Option<Unit>,
    /// Its head joint; sets the bed joint too, unless there is one.
    pub joint: Option<Length>,
    /// Its bed joint.
    pub bed: Option<Length>,
    /// Thinnest and thickest head joint that may be laid.
    pub head_range: Option<(Length, Length)>,
    /// Thinnest and thickest bed joint that may be laid.
    pub bed_range: Option<(Length, Length)>,
    /// Whether its units lie on edge along the wall, their beds in its faces.
    pub on_edge: bool,
    /// Its bond, by catalogue name.
    pub bond: Option<String>,
    /// Its mortar.
    pub mortar: Option<MortarChoice>,
}

impl Setting {
    /// The same with another unit and joints. Another unit brings its own joints unless a joint is given; a bed
    /// alone leaves the head joint.
    ///
    /// # Errors
    /// When a joint cannot be laid.
    pub fn changed(
        &self,
        unit: Option<Unit>,
        joint: Option<Length>,
        bed: Option<Length>,
        bond: Bond,
    ) -> Result<Setting, MasonryError> {
        let unit_of = |unit: Option<Unit>| unit.unwrap_or_else(|| self.unit.clone());
        match (unit, joint, bed) {
            (None, None, None) => Ok(Setting {
                bond,
                ..self.clone()
            }),
            (None, None, Some(bed)) => {
                let head = self.joints.head;
                let mut setting =
                    Setting::new(self.unit.clone(), Some(head.nominal), Some(bed), bond)?;
                setting.joints.head = head;
                Ok(setting)
            }
            (unit, joint, bed) => Setting::new(unit_of(unit), joint, bed, bond),
        }
    }

    /// What a part is laid with in a plan of this setting.
    ///
    /// # Errors
    /// When a joint cannot be laid or the bond is not known.
    pub fn with_own(&self, own: &OwnSetting) -> Result<Setting, PlanError> {
        let bond = match &own.bond {
            None => self.bond.clone(),
            Some(word) => Catalogue::builtin()
                .and_then(|catalogue| catalogue.bond(word))
                .map_err(|error| {
                    PlanError::new("no-such-bond", error.message, error.remedy).at_key("bond")
                })?
                .clone(),
        };
        let refused = |key: &'static str| {
            move |error: MasonryError| {
                PlanError::new("joint-out-of-range", error.message, error.remedy).at_key(key)
            }
        };
        let mut setting = self
            .changed(own.unit.clone(), own.joint, own.bed, bond)
            .map_err(refused("joint"))?;
        let joints = &mut setting.joints;
        let ranges = [
            ("head_range", own.head_range, &mut joints.head),
            ("bed_range", own.bed_range, &mut joints.bed),
        ];
        for (key, range, joint) in ranges {
            if let Some((thinnest, thickest)) = range {
                *joint = Joint::new(joint.nominal, thinnest, thickest).map_err(refused(key))?;
            }
        }
        if own.on_edge {
            setting.unit = setting.unit.turned_on_edge();
            setting.gauge = Gauge::from_bed(setting.unit.height, setting.joints.bed.nominal);
            setting.on_edge = !setting.on_edge;
        }
        Ok(setting)
    }
}
