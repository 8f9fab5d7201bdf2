//! Mixes by volume and what goes into a wet volume of them.

use indexmap::IndexMap;
use serde::{Deserialize, Serialize};

use super::error::quoted;
use super::material::whole;
use super::{BagKind, Catalogue, MasonryError};
use crate::quantity::{Density, Mass, Volume, parse_number};

/// No proportion has a part larger than this.
const LARGEST_PART: f64 = 100.0;

/// What goes into a mix.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub enum Ingredient {
    /// Portland cement.
    #[serde(rename = "cement")]
    Cement,
    /// Hydrated lime.
    #[serde(rename = "lime")]
    Lime,
    /// Masonry cement: cement, filler and plasticiser in one bag.
    #[serde(rename = "masonry cement")]
    MasonryCement,
    /// Ground fireclay.
    #[serde(rename = "fireclay")]
    Fireclay,
    /// Refractory mortar, ready-mixed and dry.
    #[serde(rename = "refractory mortar")]
    RefractoryMortar,
    /// Sand, measured damp and loose.
    #[serde(rename = "sand")]
    Sand,
    /// Gravel or crushed stone.
    #[serde(rename = "gravel")]
    Gravel,
    /// Sand and gravel as dug, all-in.
    #[serde(rename = "ballast")]
    Ballast,
}

impl Ingredient {
    /// The name for people.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Cement => "portland cement",
            Self::Lime => "hydrated lime",
            Self::MasonryCement => "masonry cement",
            Self::Fireclay => "fireclay",
            Self::RefractoryMortar => "refractory mortar, dry",
            Self::Sand => "sand",
            Self::Gravel => "gravel",
            Self::Ballast => "ballast",
        }
    }

    /// The catalogue's material that gives its loose density.
    pub const fn material(self) -> &'static str {
        match self {
            Self::Cement => "portland_cement",
            Self::Lime => "hydrated_lime",
            Self::MasonryCement => "masonry_cement",
            Self::Fireclay => "fireclay",
            Self::RefractoryMortar => "refractory_mortar",
            Self::Sand => "damp_sand",
            Self::Gravel => "gravel",
            Self::Ballast => "ballast",
        }
    }

    /// The bag it is sold in; none for what is sold loose.
    pub const fn bag_kind(self) -> Option<BagKind> {
        match self {
            Self::Cement => Some(BagKind::PortlandCement),
            Self::Lime => Some(BagKind::HydratedLime),
            Self::MasonryCement => Some(BagKind::MasonryCement),
            Self::Fireclay => Some(BagKind::Fireclay),
            Self::RefractoryMortar => Some(BagKind::RefractoryMortar),
            Self::Sand | Self::Gravel | Self::Ballast => None,
        }
    }

    /// Whether it makes mortar with water alone.
    pub const fn is_ready(self) -> bool {
        matches!(self, Self::RefractoryMortar)
    }

    /// Whether it is sand or stone, which the others bind.
    pub const fn is_aggregate(self) -> bool {
        matches!(self, Self::Sand | Self::Gravel | Self::Ballast)
    }
}

/// What a mix is for: the same proportions mean other things in mortar and in concrete.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MixUse {
    /// Three parts are cement, lime and sand; two are cement and sand.
    Mortar,
    /// Three parts are cement, sand and gravel; two are cement and ballast.
    Concrete,
}

impl MixUse {
    /// The use in a word.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Mortar => "mortar",
            Self::Concrete => "concrete",
        }
    }
}

/// How much loose material makes a wet volume.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum YieldRule {
    /// Mortar takes the volume of its damp loose sand; the binder fills the voids (the ASTM C270
    /// convention).
    SandVolume,
    /// The loose volumes of all parts together are this many times the wet volume.
    DryFactor(f64),
}

/// A yield rule with a name and a source.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct NamedYield {
    /// The word that names it.
    pub name: String,
    /// What it is for.
    #[serde(rename = "use")]
    pub purpose: MixUse,
    /// The rule.
    pub rule: YieldRule,
    /// Where it comes from.
    pub source: String,
}

/// One ingredient's share of a mix.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Share {
    /// What it is.
    pub ingredient: Ingredient,
    /// So many parts by loose volume.
    pub parts: f64,
    /// Its loose density.
    pub bulk: Density,
}

/// What a wet volume of a mix takes of one ingredient, without waste.
#[derive(Clone, Copy, PartialEq, Debug, Serialize)]
pub struct MaterialNeed {
    /// What it is.
    pub ingredient: Ingredient,
    /// Volume, measured loose.
    pub loose_volume: Volume,
    /// Mass; of sand, its dry mass.
    pub mass: Mass,
}

impl MaterialNeed {
    /// Bags of this mass, not rounded; `None` for a bag of nothing.
    pub fn bags(&self, bag: Mass) -> Option<f64> {
        self.mass.ratio(bag)
    }

    /// Whole bags of this mass to buy; `None` for a bag of nothing.
    pub fn whole_bags(&self, bag: Mass) -> Option<u64> {
        self.bags(bag).map(whole)
    }
}

/// A mortar or concrete mix in parts by loose volume.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mix {
    /// The word or proportion that scripts use.
    pub name: String,
    /// Other words for it.
    pub aliases: Vec<String>,
    /// The name for people.
    pub title: String,
    /// What it is for.
    #[serde(rename = "use")]
    pub purpose: MixUse,
    /// The parts, none of them zero.
    pub parts: Vec<Share>,
    /// The yield rule to use unless another is asked for.
    pub usual_yield: YieldRule,
    /// What else should be known of it.
    pub note: Option<String>,
    /// Where the proportions come from.
    pub source: String,
}

/// A number of parts with quarters as fractions; any other as decimals.
fn in_quarters(parts: f64) -> String {
    const EXACT: f64 = 1e-9;
    let quarters = (parts * 4.0).round();
    if (quarters / 4.0 - parts).abs() > EXACT {
        return parts.to_string();
    }
    let (whole, rest) = (quarters as i64 / 4, quarters as i64 % 4);
    let fraction = match rest {
        1 => "1/4",
        2 => "1/2",
        3 => "3/4",
        _ => return whole.to_string(),
    };
    if whole == 0 {
        fraction.to_owned()
    } else {
        format!("{whole} {fraction}")
    }
}

impl Mix {
    /// What a wet volume takes, ingredient by ingredient, without waste.
    ///
    /// # Errors
    /// When the volume is negative or out of range, the factor is not a positive number, or the
    /// sand rule is asked of a mix without sand.
    pub fn materials(
        &self,
        wet: Volume,
        rule: YieldRule,
    ) -> Result<Vec<MaterialNeed>, MasonryError> {
        if wet < Volume::ZERO {
            return Err(MasonryError::new(
                format!(
                    "a negative volume of {} cannot be mixed",
                    self.purpose.name()
                ),
                "give a volume of zero or more",
            ));
        }
        // Loose volume of one part, as a multiple of the wet volume.
        let one_part = match rule {
            YieldRule::SandVolume => 1.0 / self.parts_of(Ingredient::Sand),
            YieldRule::DryFactor(factor) => factor / self.all_parts(),
        };
        if !one_part.is_finite() || one_part <= 0.0 {
            return Err(MasonryError::new(
                format!("mix `{}` has no yield by this rule", self.name),
                "use a dry factor above zero, such as 1.33 for mortar or 1.54 for concrete; \
                 the sand rule needs sand in the mix",
            ));
        }
        self.parts
            .iter()
            .map(|part| {
                let loose_volume = wet.scale(one_part * part.parts)?;
                Ok(MaterialNeed {
                    ingredient: part.ingredient,
                    loose_volume,
                    mass: loose_volume.mass(part.bulk),
                })
            })
            .collect()
    }

    /// The mix with another loose density for one ingredient, such as cement at 1440 kg/m³.
    #[must_use]
    pub fn with_bulk(mut self, ingredient: Ingredient, bulk: Density) -> Self {
        for part in &mut self.parts {
            if part.ingredient == ingredient {
                part.bulk = bulk;
            }
        }
        self
    }

    /// Parts of an ingredient; 0 when the mix has none.
    pub fn parts_of(&self, ingredient: Ingredient) -> f64 {
        self.parts
            .iter()
            .filter(|part| part.ingredient == ingredient)
            .map(|part| part.parts)
            .sum()
    }

    /// Sand and stone over binders, by loose volume; `None` without binders.
    ///
    /// ASTM C270 wants 2 1/4 to 3 of mortar.
    pub fn aggregate_ratio(&self) -> Option<f64> {
        let aggregate: f64 = self
            .parts
            .iter()
            .filter(|part| part.ingredient.is_aggregate())
            .map(|part| part.parts)
            .sum();
        let binder = self.all_parts() - aggregate;
        (binder > 0.0).then(|| aggregate / binder)
    }

    /// Whether it is of what stands up to fire: fireclay or refractory mortar.
    pub fn is_refractory(&self) -> bool {
        self.parts.iter().any(|part| {
            matches!(
                part.ingredient,
                Ingredient::Fireclay | Ingredient::RefractoryMortar
            )
        })
    }

    /// The proportions in figures, as the trade writes them: `1:1/4:3`, `1:1/2:4 1/2`; `ready-mixed` of one ingredient.
    pub fn proportions(&self) -> String {
        if let [_] = self.parts.as_slice() {
            return "ready-mixed".to_owned();
        }
        let parts: Vec<String> = self.parts.iter().map(|p| in_quarters(p.parts)).collect();
        parts.join(":")
    }

    fn all_parts(&self) -> f64 {
        self.parts.iter().map(|part| part.parts).sum()
    }

    /// A mix from a row of data or from free proportions.
    pub(super) fn build(
        name: &str,
        purpose: MixUse,
        parts: &IndexMap<Ingredient, f64>,
        catalogue: &Catalogue,
    ) -> Result<Self, MasonryError> {
        let bad = |why: &str| {
            MasonryError::new(
                format!("`{}` is no mix: {why}", quoted(name)),
                "write parts by volume, such as 1:1:6 or 1:1/2:4 1/2",
            )
        };
        let mut known = Vec::new();
        for (&ingredient, &count) in parts {
            if !(0.0..=LARGEST_PART).contains(&count) {
                return Err(bad("a part has to be from 0 to 100"));
            }
            if count > 0.0 {
                known.push(Share {
                    ingredient,
                    parts: count,
                    bulk: catalogue.material(ingredient.material())?.density,
                });
            }
        }
        let aggregate = known.iter().any(|part| part.ingredient.is_aggregate());
        let binder = known.iter().any(|part| !part.ingredient.is_aggregate());
        let ready = !known.is_empty() && known.iter().all(|part| part.ingredient.is_ready());
        if !ready && (!aggregate || !binder) {
            return Err(bad("it needs a binder and sand or stone"));
        }
        let usual_yield = catalogue
            .yields()
            .find(|named| named.purpose == purpose)
            .map(|named| named.rule)
            .ok_or_else(|| bad("no yield rule is known for it"))?;
        Ok(Self {
            name: name.to_owned(),
            aliases: Vec::new(),
            title: format!("{} {name}", purpose.name()),
            purpose,
            parts: known,
            usual_yield,
            note: None,
            source: "given proportions".to_owned(),
        })
    }

    /// A mix from proportions as written, with an optional word for the binder before them.
    pub(super) fn from_proportions(
        text: &str,
        purpose: MixUse,
        catalogue: &Catalogue,
    ) -> Option<Result<Self, MasonryError>> {
        let text = text.trim();
        let lower = text.to_lowercase();
        let (binder, proportions) = match lower.strip_prefix("masonry cement ") {
            Some(rest) => (Ingredient::MasonryCement, rest),
            None => match lower.strip_prefix("lime ") {
                Some(rest) => (Ingredient::Lime, rest),
                None => (Ingredient::Cement, lower.as_str()),
            },
        };
        if !proportions.contains(':') {
            return None;
        }
        let numbers: Result<Vec<f64>, _> = proportions.split(':').map(parse_number).collect();
        let numbers = match numbers {
            Ok(numbers) => numbers,
            Err(error) => return Some(Err(error.into())),
        };
        let filler = match purpose {
            MixUse::Mortar => Ingredient::Sand,
            MixUse::Concrete => Ingredient::Ballast,
        };
        let parts: IndexMap<Ingredient, f64> = match (purpose, binder, numbers.as_slice()) {
            (_, _, &[first, second]) => [(binder, first), (filler, second)].into(),
            (MixUse::Mortar, Ingredient::Cement, &[first, second, third]) => [
                (Ingredient::Cement, first),
                (Ingredient::Lime, second),
                (Ingredient::Sand, third),
            ]
            .into(),
            (MixUse::Concrete, Ingredient::Cement, &[first, second, third]) => [
                (Ingredient::Cement, first),
                (Ingredient::Sand, second),
                (Ingredient::Gravel, third),
            ]
            .into(),
            _ => {
                return Some(Err(MasonryError::new(
                    format!("`{}` has the wrong number of parts", quoted(text)),
                    "mortar is cement:sand or cement:lime:sand, concrete is cement:ballast or \
                     cement:sand:gravel; after `masonry cement` or `lime` come two parts",
                )));
            }
        };
        Some(Self::build(text, purpose, &parts, catalogue))
    }
}

/// A mix by name, alias or free proportions, from the built-in catalogue.
///
/// Free proportions are read as mortar: `1:1:6` is cement, lime and sand, `1:4` cement and sand.
/// Use [`Catalogue::concrete`] for concrete.
///
/// # Errors
/// When the text is neither a known name nor proportions, naming the nearest right name.
pub fn parse_mix(text: &str) -> Result<Mix, MasonryError> {
    Catalogue::builtin()?.mix(text)
}
