//! Bricks and blocks as they come, and the height their courses rise to.

use serde::{Deserialize, Serialize};

use super::MasonryError;
use crate::quantity::{Density, Length, Mass, QuantityError, Volume};

/// No unit laid by hand is longer than this in any direction.
const LARGEST_SIZE: Length = Length::mm(1000);
/// Units have two finished ends (header faces) unless said otherwise.
const FINISHED_ENDS: u8 = 2;
/// Density of fired clay when nothing better is known: building brick 120 lb/ft³, BIA Technical
/// Note 43D (June 1981).
const CLAY_LB_FT3: f64 = 120.0;
/// Density of dense firebrick when nothing better is known, kg/m³: from memory.
const FIREBRICK_KG_M3: f64 = 2150.0;
/// Density of concrete in blocks when nothing better is known: normal weight, from memory.
const CONCRETE_LB_FT3: f64 = 130.0;
/// Density of calcium silicate when nothing better is known, kg/m³: from memory.
const CALCIUM_SILICATE_KG_M3: f64 = 1800.0;

/// What a unit is made of.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub enum UnitKind {
    /// Fired clay or shale.
    #[serde(rename = "clay brick")]
    ClayBrick,
    /// Refractory brick.
    #[serde(rename = "firebrick")]
    Firebrick,
    /// Concrete, solid or with cores.
    #[serde(rename = "concrete block")]
    ConcreteBlock,
    /// Sand and lime, steam cured.
    #[serde(rename = "calcium silicate")]
    CalciumSilicate,
}

impl UnitKind {
    /// Every kind, in the order of the trade's use.
    pub const ALL: [Self; 4] = [
        Self::ClayBrick,
        Self::Firebrick,
        Self::ConcreteBlock,
        Self::CalciumSilicate,
    ];

    /// The kind in words: `clay brick`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ClayBrick => "clay brick",
            Self::Firebrick => "firebrick",
            Self::ConcreteBlock => "concrete block",
            Self::CalciumSilicate => "calcium silicate",
        }
    }

    /// A density of the solid material to go on with when the unit's own is not known.
    ///
    /// Clay: building brick 120 lb/ft³, BIA Technical Note 43D; firebrick 2150 kg/m³, concrete
    /// 130 lb/ft³ and calcium silicate 1800 kg/m³ from memory.
    ///
    /// # Errors
    /// Never with these figures; the conversion is fallible in general.
    pub fn usual_density(self) -> Result<Density, QuantityError> {
        match self {
            Self::ClayBrick => Density::from_lb_ft3(CLAY_LB_FT3),
            Self::Firebrick => Density::from_kg_m3(FIREBRICK_KG_M3),
            Self::ConcreteBlock => Density::from_lb_ft3(CONCRETE_LB_FT3),
            Self::CalciumSilicate => Density::from_kg_m3(CALCIUM_SILICATE_KG_M3),
        }
    }
}

/// The height of courses: `courses` of them rise `rise`, bed joints included.
///
/// A ratio, because a course need not be a whole number of nanometres: three courses to eight
/// inches, twelve to a metre.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub struct Gauge {
    /// So many courses.
    pub courses: u32,
    /// Rise this high, each with its bed below.
    pub rise: Length,
}

impl Gauge {
    /// The gauge at which `courses` rise `rise`.
    ///
    /// # Errors
    /// When either is zero or less.
    pub fn new(courses: u32, rise: Length) -> Result<Self, MasonryError> {
        if courses == 0 || !rise.is_positive() {
            return Err(MasonryError::new(
                "a gauge needs at least one course and a rise above zero",
                "give the number of courses and the height they rise, such as 4 to 300 mm",
            ));
        }
        Ok(Self { courses, rise })
    }

    /// The gauge of units `height` high on beds of `bed`: one course rises both, saturating.
    pub fn from_bed(height: Length, bed: Length) -> Self {
        Self {
            courses: 1,
            rise: height + bed,
        }
    }

    /// The top of the units of course `course` above the bottom of the first bed.
    ///
    /// Course 1 is the lowest and 0 gives zero. `rise × course / courses`, dropped to the whole
    /// nanometre below, so that every `courses` the height is exact; saturating.
    pub fn top_of(&self, course: u32) -> Length {
        let total = i128::from(self.rise.nm()) * i128::from(course);
        let top = total.div_euclid(i128::from(self.courses.max(1)));
        Length::from_nm(i64::try_from(top).unwrap_or(i64::MAX))
    }

    /// The height of one course with its bed, dropped to the whole nanometre.
    pub fn mean(&self) -> Length {
        self.top_of(1)
    }

    /// The bed joint that units `unit_height` high get at this gauge; negative when they are too
    /// high for it.
    pub fn bed(&self, unit_height: Length) -> Length {
        self.mean() - unit_height
    }
}

/// A brick or block: its sizes as made, the joints it is meant for, and what it weighs.
///
/// The fields are public so that a unit can be shown and varied; check one that was changed with
/// [`Unit::validate`].
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unit {
    /// The word that scripts use.
    pub name: String,
    /// The name with the sizes, for people.
    pub title: String,
    /// What it is made of.
    pub kind: UnitKind,
    /// Length of the stretcher face, as made (work size).
    pub length: Length,
    /// Width of the bed face.
    pub width: Length,
    /// Height of the stretcher face.
    pub height: Length,
    /// The nominal head joint it is meant for.
    pub head: Length,
    /// The course height it is meant for.
    pub gauge: Gauge,
    /// Share of the gross volume that is cores or perforations and stays empty.
    pub core_share: f64,
    /// Share of the gross volume that is frog and is filled with mortar when laid frog up.
    pub frog_share: f64,
    /// Density of the solid material.
    pub density: Density,
    /// Finished ends a whole unit has; a cut spends one.
    pub finished_ends: u8,
    /// Where the sizes and joints come from.
    pub source: String,
    /// Where the density comes from.
    pub density_source: String,
}

impl Unit {
    /// A solid unit of the kind's usual density, `size` being length, width and height.
    ///
    /// # Errors
    /// When a size is not above zero or is above 1 m, the joint is negative, or the gauge is
    /// lower than the unit.
    pub fn new(
        name: &str,
        kind: UnitKind,
        size: [Length; 3],
        head: Length,
        gauge: Gauge,
    ) -> Result<Self, MasonryError> {
        let [length, width, height] = size;
        let unit = Self {
            name: name.to_owned(),
            title: format!("{} {length} x {width} x {height}", kind.name()),
            kind,
            length,
            width,
            height,
            head,
            gauge,
            core_share: 0.0,
            frog_share: 0.0,
            density: kind.usual_density()?,
            finished_ends: FINISHED_ENDS,
            source: "given".to_owned(),
            density_source: "usual for the material".to_owned(),
        };
        unit.validate()?;
        Ok(unit)
    }

    /// The same unit turned on edge: its width is its height and the other way round.
    #[must_use]
    pub fn turned_on_edge(&self) -> Unit {
        Unit {
            width: self.height,
            height: self.width,
            ..self.clone()
        }
    }

    /// Whether another is the same thing to buy: of one name and the same three sizes, however they lie.
    pub fn is_same(&self, other: &Unit) -> bool {
        let sizes = |unit: &Unit| {
            let mut sizes = [unit.length, unit.width, unit.height];
            sizes.sort_unstable();
            sizes
        };
        self.name == other.name && sizes(self) == sizes(other)
    }

    /// Checks a unit whose fields were set by hand.
    ///
    /// # Errors
    /// The first field that is out of range, with what it has to be.
    pub fn validate(&self) -> Result<(), MasonryError> {
        let name = super::error::quoted(&self.name);
        let wrong_at = |key: Option<&'static str>, what: &str, remedy: &str| {
            let error = MasonryError::new(format!("unit `{name}`: {what}"), remedy);
            Err(error.coded("unit-unfit", key))
        };
        let wrong = |what: &str, remedy: &str| wrong_at(None, what, remedy);
        if self.name.trim().is_empty() {
            return wrong("it has no name", "give it a short lower-case name");
        }
        for (what, size) in [
            ("length", self.length),
            ("width", self.width),
            ("height", self.height),
        ] {
            if !size.is_positive() || size > LARGEST_SIZE {
                return wrong_at(
                    Some(what),
                    &format!("a {what} of {size} is no brick or block"),
                    "give sizes above zero and up to 1 m",
                );
            }
        }
        if self.head.is_negative() || self.head >= self.length {
            return wrong_at(
                Some("joint"),
                &format!("a head joint of {} does not suit its length", self.head),
                "give a head joint from 0 mm up to less than the unit",
            );
        }
        if self.gauge.courses == 0 || self.gauge.bed(self.height).is_negative() {
            return wrong(
                &format!(
                    "{} courses to {} leave no room for units {} high",
                    self.gauge.courses, self.gauge.rise, self.height
                ),
                "raise the gauge, or give the bed joint instead",
            );
        }
        if self.gauge.bed(self.height) >= self.length {
            return wrong(
                "its bed joint is thicker than the unit is long",
                "check the gauge: courses first, then the height they rise",
            );
        }
        let share = 0.0..1.0;
        if !share.contains(&self.core_share)
            || !share.contains(&self.frog_share)
            || self.core_share + self.frog_share >= 1.0
        {
            return wrong(
                "cores and frog have to leave some of it solid",
                "give shares of the gross volume from 0 to less than 1, such as 0.25",
            );
        }
        if self.density.kg_m3() <= 0.0 {
            return wrong(
                "its density has to be above zero",
                "give the density of the solid material, such as 1900 kg/m3",
            );
        }
        Ok(())
    }

    /// Length × width × height, cores and frog included.
    pub fn gross_volume(&self) -> Volume {
        self.length.times(self.width).times(self.height)
    }

    /// Share of the gross volume that is solid material.
    pub fn solid_share(&self) -> f64 {
        1.0 - self.core_share - self.frog_share
    }

    /// What one unit weighs, dry: density × gross volume × solid share.
    pub fn mass(&self) -> Mass {
        self.gross_volume().mass(self.density) * self.solid_share()
    }

    /// The nominal bed joint.
    pub fn bed(&self) -> Length {
        self.gauge.bed(self.height)
    }
}

/// A clay unit of nominal sizes: each as made is `joint` less, and one course rises the nominal
/// height.
///
/// That is the US rule: a nominal 4 × 2 2/3 × 8 with a 3/8 in joint is 3 5/8 × 2 7/24 × 7 5/8 in.
///
/// # Errors
/// When what is left is no unit, as [`Unit::new`].
pub fn nominal(
    thickness: Length,
    height: Length,
    length: Length,
    joint: Length,
) -> Result<Unit, MasonryError> {
    let size = [length - joint, thickness - joint, height - joint];
    let gauge = Gauge::new(1, height)?;
    let mut unit = Unit::new("nominal", UnitKind::ClayBrick, size, joint, gauge)?;
    unit.title = format!("nominal {thickness} x {height} x {length}");
    Ok(unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn brick() -> Unit {
        let size = [Length::mm(240), Length::mm(115), Length::mm(71)];
        let gauge = Gauge::new(12, Length::mm(1000)).unwrap();
        Unit::new("test", UnitKind::ClayBrick, size, Length::mm(10), gauge).unwrap()
    }

    #[test]
    fn a_gauge_is_exact_over_its_courses() {
        let gauge = Gauge::new(3, Length::from_nm(203_200_000)).unwrap();
        assert_eq!(gauge.top_of(0), Length::ZERO);
        assert_eq!(gauge.top_of(1).nm(), 67_733_333);
        assert_eq!(gauge.top_of(2).nm(), 135_466_666);
        assert_eq!(gauge.top_of(3).nm(), 203_200_000);
        assert_eq!(gauge.top_of(300).nm(), 20_320_000_000);
        // 2 2/3 - 2 1/4 in, as printed in a coursing guide: 0.41667 in.
        let bed = gauge.bed(Length::from_inch(2.25).unwrap()).to_inch();
        assert!((bed - 0.41667).abs() < 1e-5);
        let bedded = Gauge::from_bed(Length::mm(65), Length::mm(10));
        assert_eq!(bedded.top_of(4), Length::mm(300));
        assert!(Gauge::new(0, Length::mm(1)).is_err());
        assert!(Gauge::new(3, Length::ZERO).is_err());
    }

    #[test]
    fn volume_and_mass_follow_the_shares() {
        let mut unit = brick();
        assert!((unit.gross_volume().to_litre() - 1.9596).abs() < 1e-9);
        unit.density = Density::from_kg_m3(1800.0).unwrap();
        assert!((unit.mass().kg() - 3.527_28).abs() < 1e-9);
        unit.core_share = 0.2;
        unit.frog_share = 0.05;
        assert!((unit.mass().kg() - 3.527_28 * 0.75).abs() < 1e-9);
        assert!(unit.validate().is_ok());
    }

    #[test]
    fn what_is_no_unit_is_refused() {
        type Spoil = fn(&mut Unit);
        let spoils: [Spoil; 11] = [
            |u| u.name = "  ".to_owned(),
            |u| u.length = Length::ZERO,
            |u| u.width = -Length::mm(1),
            |u| u.height = Length::mm(1001),
            |u| u.head = -Length::mm(1),
            |u| u.head = u.length,
            |u| u.gauge = Gauge::from_bed(Length::mm(70), Length::ZERO),
            |u| u.gauge.courses = 0,
            |u| u.core_share = f64::NAN,
            |u| u.frog_share = 1.0,
            |u| (u.core_share, u.frog_share) = (0.5, 0.5),
        ];
        for (i, spoil) in spoils.iter().enumerate() {
            let mut unit = brick();
            spoil(&mut unit);
            let error = unit.validate().unwrap_err();
            assert!(!error.remedy.is_empty(), "spoil {i}");
        }
    }

    #[test]
    fn nominal_sizes_lose_one_joint() {
        let inch = |i| Length::from_inch(i).unwrap();
        let unit = nominal(inch(4.0), inch(4.0), inch(8.0), inch(0.375)).unwrap();
        assert_eq!(unit.length, inch(7.625));
        assert_eq!(unit.width, inch(3.625));
        assert_eq!(unit.gauge.top_of(3), inch(12.0));
        assert!(nominal(inch(4.0), inch(0.25), inch(8.0), inch(0.375)).is_err());
    }

    proptest! {
        #[test]
        fn courses_never_sink(courses in 0_u32.., rise in 0_i64.., course in 0_u32..u32::MAX) {
            let gauge = Gauge { courses, rise: Length::from_nm(rise) };
            prop_assert!(gauge.top_of(course) <= gauge.top_of(course + 1));
        }
    }
}
