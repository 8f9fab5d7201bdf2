//! Joints: what is aimed at, and what may be laid.

use serde::{Deserialize, Serialize};

use super::{MasonryError, Unit};
use crate::quantity::Length;

/// A head joint may be this much under its nominal width. Closer than TMS 602 allows (−1/4 in),
/// so that neighbouring joints look alike: common practice, no source.
const HEAD_UNDER: Length = Length::mm(3);
/// A head joint may be this much over its nominal width. Closer than TMS 602 allows (+3/8 in):
/// common practice, no source.
const HEAD_OVER: Length = Length::mm(5);
/// A bed joint may differ this much from its nominal height: 1/8 in, TMS 602, taken as 3 mm.
const BED_EITHER_WAY: Length = Length::mm(3);
/// A tolerance never asks for a joint thinner than this, where mortar with coarse sand no longer
/// beds: common practice, no source. Joints that are thinner by design keep half their width.
const THINNEST: Length = Length::mm(5);

/// A joint width: the one aimed at and the range that may be laid.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Joint {
    /// The width aimed at.
    pub nominal: Length,
    /// The least width that may be laid.
    pub shortest: Length,
    /// The greatest width that may be laid.
    pub longest: Length,
}

impl Joint {
    /// A joint of `nominal` that may vary from `shortest` to `longest`.
    ///
    /// # Errors
    /// Unless 0 ≤ shortest ≤ nominal ≤ longest.
    pub fn new(nominal: Length, shortest: Length, longest: Length) -> Result<Self, MasonryError> {
        if shortest.is_negative() || shortest > nominal || nominal > longest {
            return Err(MasonryError::new(
                format!("a joint of {nominal} cannot range from {shortest} to {longest}"),
                "give a shortest, a nominal and a longest width in that order, none negative",
            ));
        }
        Ok(Self {
            nominal,
            shortest,
            longest,
        })
    }

    /// A head joint with the usual tolerance: −3 mm to +5 mm, closer than TMS 602 (−1/4 in to
    /// +3/8 in), but not under 5 mm. A joint of 5 mm or less may vary by half its width.
    ///
    /// # Errors
    /// When the width is negative.
    pub fn usual_head(nominal: Length) -> Result<Self, MasonryError> {
        Self::usual(nominal, HEAD_UNDER, HEAD_OVER)
    }

    /// A bed joint with the usual tolerance: 3 mm either way (TMS 602: 1/8 in), but not under
    /// 5 mm. A joint of 5 mm or less may vary by half its width.
    ///
    /// # Errors
    /// When the width is negative.
    pub fn usual_bed(nominal: Length) -> Result<Self, MasonryError> {
        Self::usual(nominal, BED_EITHER_WAY, BED_EITHER_WAY)
    }

    fn usual(nominal: Length, under: Length, over: Length) -> Result<Self, MasonryError> {
        if nominal > THINNEST {
            let shortest = (nominal - under).max(THINNEST);
            Self::new(nominal, shortest, nominal + over)
        } else {
            let half = nominal.half();
            Self::new(nominal, nominal - half, nominal + half)
        }
    }

    /// Whether a width is within the range.
    pub fn allows(&self, width: Length) -> bool {
        (self.shortest..=self.longest).contains(&width)
    }
}

/// The head and bed joints of a plan.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Joints {
    /// The upright joint between units of a course.
    pub head: Joint,
    /// The level joint under a course.
    pub bed: Joint,
}

impl Joints {
    /// Joints of these nominal widths with the usual tolerances.
    ///
    /// # Errors
    /// When a width is negative.
    pub fn usual(head: Length, bed: Length) -> Result<Self, MasonryError> {
        Ok(Self {
            head: Joint::usual_head(head)?,
            bed: Joint::usual_bed(bed)?,
        })
    }

    /// The joints that a unit is meant for, with the usual tolerances.
    ///
    /// # Errors
    /// When a width is negative.
    pub fn of(unit: &Unit) -> Result<Self, MasonryError> {
        Self::usual(unit.head, unit.bed())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn usual_tolerances() {
        let ten = Length::mm(10);
        let head = Joint::usual_head(ten).unwrap();
        assert_eq!(
            (head.shortest, head.longest),
            (Length::mm(7), Length::mm(15))
        );
        let bed = Joint::usual_bed(ten).unwrap();
        assert_eq!((bed.shortest, bed.longest), (Length::mm(7), Length::mm(13)));
        let six = Joint::usual_head(Length::mm(6)).unwrap();
        assert_eq!(six.shortest, Length::mm(5));
        let thin = Joint::usual_head(Length::mm(2)).unwrap();
        assert_eq!(
            (thin.shortest, thin.longest),
            (Length::mm(1), Length::mm(3))
        );
        assert!(thin.allows(Length::mm(3)) && !thin.allows(Length::mm(4)));
    }

    #[test]
    fn usual_tolerances_stay_within_tms_602() {
        // TMS 602: head -1/4 in, +3/8 in; bed 1/8 in either way.
        let inch = |i| Length::from_inch(i).unwrap();
        let nominal = inch(0.375);
        let joints = Joints::usual(nominal, nominal).unwrap();
        assert!(joints.head.shortest >= nominal - inch(0.25));
        assert!(joints.head.longest <= nominal + inch(0.375));
        assert!(joints.bed.shortest >= nominal - inch(0.125));
        assert!(joints.bed.longest <= nominal + inch(0.125));
    }

    #[test]
    fn disordered_joints_are_refused() {
        let mm = Length::mm;
        assert!(Joint::new(mm(10), mm(11), mm(12)).is_err());
        assert!(Joint::new(mm(10), mm(8), mm(9)).is_err());
        assert!(Joint::new(mm(10), mm(-1), mm(12)).is_err());
        assert!(Joint::usual_head(mm(-1)).is_err());
        assert!(Joint::new(mm(0), mm(0), mm(0)).is_ok());
    }

    proptest! {
        #[test]
        fn any_width_is_taken_or_refused(nm: i64) {
            let nominal = Length::from_nm(nm);
            prop_assert_eq!(Joint::usual_head(nominal).is_ok(), nm >= 0);
            prop_assert_eq!(Joint::usual_bed(nominal).is_ok(), nm >= 0);
        }
    }
}
