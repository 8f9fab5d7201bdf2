//! Bulk materials, bags and soils.

use serde::{Deserialize, Serialize};

use super::{Catalogue, MasonryError};
use crate::quantity::{Density, Mass, Pressure, Volume};

/// Mass of the bag that the metric rule of yield speaks of, kg.
const RULE_BAG_KG: f64 = 20.0;
/// Bags of 20 kg that make 1 m³ of concrete: manufacturer ready reckoner, generic. The US data
/// sheets give 0.0075 ft³ per lb, 1 % more; the smaller yield leaves nobody short.
const RULE_BAGS_PER_M3: f64 = 108.0;
/// Where the rule comes from.
const RULE_SOURCE: &str =
    "by mass from 108 bags of 20 kg to 1 m³, manufacturer ready reckoner, generic";
/// Two masses this close are the same bag: an 80 lb bag is also sold as 36.3 kg.
const SAME_BAG: f64 = 0.001;
/// A bag more is not bought for less than this share of one: rounding noise, not concrete.
const BAG_NOISE: f64 = 1e-6;

/// Whether a material is measured loose, as bought, or hardened, as built.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MaterialState {
    /// As bought, with the air between its grains.
    Loose,
    /// As built.
    Hardened,
}

/// A bulk material and its density.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Material {
    /// The word that names it.
    pub name: String,
    /// The name for people.
    pub title: String,
    /// Loose or hardened.
    pub state: MaterialState,
    /// Mass of a volume in that state.
    pub density: Density,
    /// Where the density comes from.
    pub source: String,
}

/// What a bag holds.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
pub enum BagKind {
    /// Dry concrete mix, to be mixed with water alone.
    #[serde(rename = "concrete")]
    Concrete,
    /// Dry mortar mix with its sand.
    #[serde(rename = "mortar")]
    Mortar,
    /// Portland cement.
    #[serde(rename = "portland cement")]
    PortlandCement,
    /// Hydrated lime.
    #[serde(rename = "hydrated lime")]
    HydratedLime,
    /// Masonry cement, without sand.
    #[serde(rename = "masonry cement")]
    MasonryCement,
    /// Ground fireclay.
    #[serde(rename = "fireclay")]
    Fireclay,
    /// Refractory mortar, ready-mixed and dry.
    #[serde(rename = "refractory mortar")]
    RefractoryMortar,
}

/// A bag as sold.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Bag {
    /// What it holds.
    pub kind: BagKind,
    /// What it holds of it.
    pub mass: Mass,
    /// Volume of concrete or mortar it makes; none for powders that are mixed with more.
    pub yield_volume: Option<Volume>,
    /// Where the yield comes from.
    pub source: String,
}

impl Bag {
    /// Whole bags for a volume of concrete or mortar; `None` when the bag has no yield.
    pub fn whole_bags(&self, wet: Volume) -> Option<u64> {
        self.yield_volume
            .and_then(|yielded| wet.ratio(yielded))
            .map(whole)
    }
}

/// The next whole number of bags.
pub(crate) fn whole(bags: f64) -> u64 {
    (bags - BAG_NOISE).ceil().max(0.0) as u64
}

/// The volume of concrete that a bag of dry mix makes, and where the figure comes from.
///
/// A bag of a published mass has the published yield. Any other goes by its mass: 108 bags of
/// 20 kg to 1 m³ (manufacturer ready reckoner, generic).
///
/// # Errors
/// When the mass is not above zero, or the catalogue cannot be read.
pub fn concrete_yield(bag_mass: Mass) -> Result<(Volume, &'static str), MasonryError> {
    if bag_mass.kg() <= 0.0 {
        return Err(MasonryError::new(
            "a bag of concrete has to weigh something",
            "give its mass, such as 25.kg or 80.lb",
        ));
    }
    let published = Catalogue::builtin()?
        .bags(BagKind::Concrete)
        .find(|bag| {
            let off = (bag.mass.kg() - bag_mass.kg()).abs();
            off <= SAME_BAG * bag.mass.kg()
        })
        .and_then(|bag| Some((bag.yield_volume?, bag.source.as_str())));
    if let Some(found) = published {
        return Ok(found);
    }
    let m3 = bag_mass.kg() / RULE_BAG_KG / RULE_BAGS_PER_M3;
    Ok((Volume::from_m3(m3)?, RULE_SOURCE))
}

/// The volume of mortar that a bag of ready-sanded dry mix makes, and where the figure comes from.
///
/// A bag in the catalogue has its own yield; any other goes by mass from the nearest in the catalogue.
///
/// # Errors
/// When the mass is not above zero, or the catalogue cannot be read.
pub fn mortar_yield(bag_mass: Mass) -> Result<(Volume, &'static str), MasonryError> {
    if bag_mass.kg() <= 0.0 {
        return Err(MasonryError::new(
            "a bag of mortar has to weigh something",
            "give its mass, such as 25.kg or 80.lb",
        ));
    }
    let off = |bag: &Bag| (bag.mass.kg() - bag_mass.kg()).abs();
    let nearest = Catalogue::builtin()?
        .bags(BagKind::Mortar)
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .and_then(|bag| Some((bag.mass, bag.yield_volume?, bag.source.as_str())));
    let Some((mass, yielded, source)) = nearest else {
        return Err(MasonryError::new(
            "the catalogue has no bag of mortar",
            "mix mortar on site",
        ));
    };
    Ok((yielded.scale(bag_mass.kg() / mass.kg())?, source))
}

/// The ground under a slab.
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Soil {
    /// The word that scripts use.
    pub name: String,
    /// The name for people.
    pub title: String,
    /// Presumptive bearing; none where nothing may be presumed.
    pub bearing: Option<Pressure>,
    /// What dug soil gains over its volume in the ground: 0.25 is a quarter more.
    pub swell: f64,
    /// Where bearing and swell come from.
    pub source: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bag_between_the_published_ones_goes_by_its_mass() {
        let (volume, source) = concrete_yield(Mass::from_kg(40.0).unwrap()).unwrap();
        assert!((volume.to_litre() - 18.5185).abs() < 1e-3);
        assert_eq!(source, RULE_SOURCE);
        let (volume, source) = concrete_yield(Mass::from_kg(36.3).unwrap()).unwrap();
        assert!((volume.to_ft3() - 0.60).abs() < 1e-9);
        assert_eq!(source, "manufacturer data sheet, generic");
        assert!(concrete_yield(Mass::ZERO).is_err());
    }

    #[test]
    fn rounding_noise_buys_no_bag() {
        assert_eq!(whole(45.000_000_01), 45);
        assert_eq!(whole(45.01), 46);
        assert_eq!(whole(0.0), 0);
        assert_eq!(whole(-3.0), 0);
        assert_eq!(whole(f64::NAN), 0);
    }
}
