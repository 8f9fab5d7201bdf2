//! The catalogue: every unit, bond, mix, material, bag and soil that is known, with its source.

use std::sync::OnceLock;

use indexmap::IndexMap;
use serde::Deserialize;
use serde::de::DeserializeOwned;

use super::{
    Bag, BagKind, Bond, Gauge, Ingredient, MasonryError, Material, MaterialState, Mix, MixUse,
    NamedYield, Soil, Unit, UnitKind,
};
use crate::quantity::{Density, Length, parse_density, parse_mass, parse_pressure, parse_volume};

const UNITS: &str = include_str!("../../stdlib/data/units.json");
const BONDS: &str = include_str!("../../stdlib/data/bonds.json");
const MIXES: &str = include_str!("../../stdlib/data/mixes.json");
const MATERIALS: &str = include_str!("../../stdlib/data/materials.json");
const BAGS: &str = include_str!("../../stdlib/data/bags.json");
const SOILS: &str = include_str!("../../stdlib/data/soils.json");

/// A unit as a row of `units.json`: `coursing` or `bed` gives the gauge.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct UnitRow {
    name: String,
    title: String,
    kind: UnitKind,
    length: Length,
    width: Length,
    height: Length,
    head: Length,
    coursing: Option<Gauge>,
    bed: Option<Length>,
    core_share: f64,
    frog_share: f64,
    density: String,
    finished_ends: u8,
    source: String,
    density_source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MixFile {
    yields: Vec<NamedYield>,
    mixes: Vec<MixRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MixRow {
    name: String,
    aliases: Vec<String>,
    title: String,
    #[serde(rename = "use")]
    purpose: MixUse,
    parts: IndexMap<Ingredient, f64>,
    /// Name of a yield rule, where it is not the usual one.
    #[serde(rename = "yield", default)]
    yield_: Option<String>,
    note: Option<String>,
    source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MaterialRow {
    name: String,
    title: String,
    state: MaterialState,
    density: String,
    source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BagRow {
    kind: BagKind,
    mass: String,
    #[serde(rename = "yield")]
    yield_: Option<String>,
    source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SoilRow {
    name: String,
    title: String,
    bearing: Option<String>,
    swell: f64,
    source: String,
}

/// Everything that is known by name, in the order of the data files.
///
/// Names are found whatever their letter case.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Catalogue {
    units: IndexMap<String, Unit>,
    bonds: IndexMap<String, Bond>,
    materials: IndexMap<String, Material>,
    soils: IndexMap<String, Soil>,
    yields: Vec<NamedYield>,
    mixes: Vec<Mix>,
    bags: Vec<Bag>,
}

impl Catalogue {
    /// The built-in catalogue, read once.
    ///
    /// # Errors
    /// When a data file is damaged; it names the file or the value.
    pub fn builtin() -> Result<&'static Self, MasonryError> {
        static BUILTIN: OnceLock<Result<Catalogue, MasonryError>> = OnceLock::new();
        BUILTIN
            .get_or_init(Self::read)
            .as_ref()
            .map_err(Clone::clone)
    }

    fn read() -> Result<Self, MasonryError> {
        let mut catalogue = Self::default();
        for row in rows::<Vec<UnitRow>>("units.json", UNITS)? {
            let unit = unit(row)?;
            insert(&mut catalogue.units, unit, |unit| &unit.name)?;
        }
        for bond in rows::<Vec<Bond>>("bonds.json", BONDS)? {
            bond.validate()?;
            insert(&mut catalogue.bonds, bond, |bond| &bond.name)?;
        }
        for row in rows::<Vec<MaterialRow>>("materials.json", MATERIALS)? {
            let material = Material {
                density: parse_density(&row.density)?,
                name: row.name,
                title: row.title,
                state: row.state,
                source: row.source,
            };
            insert(&mut catalogue.materials, material, |material| {
                &material.name
            })?;
        }
        for row in rows::<Vec<SoilRow>>("soils.json", SOILS)? {
            let soil = Soil {
                bearing: row.bearing.as_deref().map(parse_pressure).transpose()?,
                name: row.name,
                title: row.title,
                swell: row.swell,
                source: row.source,
            };
            insert(&mut catalogue.soils, soil, |soil| &soil.name)?;
        }
        for row in rows::<Vec<BagRow>>("bags.json", BAGS)? {
            catalogue.bags.push(Bag {
                kind: row.kind,
                mass: parse_mass(&row.mass)?,
                yield_volume: row.yield_.as_deref().map(parse_volume).transpose()?,
                source: row.source,
            });
        }
        let file = rows::<MixFile>("mixes.json", MIXES)?;
        catalogue.yields = file.yields;
        for row in file.mixes {
            let mix = Mix::build(&row.name, row.purpose, &row.parts, &catalogue)?;
            let usual_yield = match &row.yield_ {
                Some(name) => catalogue.yield_rule(name)?.rule,
                None => mix.usual_yield,
            };
            catalogue.mixes.push(Mix {
                usual_yield,
                aliases: row.aliases,
                title: row.title,
                note: row.note,
                source: row.source,
                ..mix
            });
        }
        Ok(catalogue)
    }

    /// A unit by name.
    ///
    /// # Errors
    /// When there is none; it names the nearest right name and lists all.
    pub fn unit(&self, name: &str) -> Result<&Unit, MasonryError> {
        find(&self.units, "unit", name)
    }

    /// Every unit.
    pub fn units(&self) -> impl Iterator<Item = &Unit> {
        self.units.values()
    }

    /// A bond by name.
    ///
    /// # Errors
    /// When there is none; it names the nearest right name and lists all.
    pub fn bond(&self, name: &str) -> Result<&Bond, MasonryError> {
        find(&self.bonds, "bond", name)
    }

    /// Every bond.
    pub fn bonds(&self) -> impl Iterator<Item = &Bond> {
        self.bonds.values()
    }

    /// A bulk material by name.
    ///
    /// # Errors
    /// When there is none; it names the nearest right name and lists all.
    pub fn material(&self, name: &str) -> Result<&Material, MasonryError> {
        find(&self.materials, "material", name)
    }

    /// Every bulk material.
    pub fn materials(&self) -> impl Iterator<Item = &Material> {
        self.materials.values()
    }

    /// A soil by name.
    ///
    /// # Errors
    /// When there is none; it names the nearest right name and lists all.
    pub fn soil(&self, name: &str) -> Result<&Soil, MasonryError> {
        find(&self.soils, "soil", name)
    }

    /// Every soil.
    pub fn soils(&self) -> impl Iterator<Item = &Soil> {
        self.soils.values()
    }

    /// The bags of one kind.
    pub fn bags(&self, kind: BagKind) -> impl Iterator<Item = &Bag> {
        self.bags.iter().filter(move |bag| bag.kind == kind)
    }

    /// Every yield rule, the usual one of each use first.
    pub fn yields(&self) -> impl Iterator<Item = &NamedYield> {
        self.yields.iter()
    }

    /// A yield rule by name.
    ///
    /// # Errors
    /// When there is none; it names the nearest right name and lists all.
    pub fn yield_rule(&self, name: &str) -> Result<&NamedYield, MasonryError> {
        let wanted = key(name);
        self.yields
            .iter()
            .find(|named| key(&named.name) == wanted)
            .ok_or_else(|| {
                let known = self.yields.iter().map(|named| named.name.as_str());
                MasonryError::unknown("yield rule", name, known)
            })
    }

    /// Every mix.
    pub fn mixes(&self) -> impl Iterator<Item = &Mix> {
        self.mixes.iter()
    }

    /// A mix by name, alias or proportions; unnamed proportions are read as mortar.
    ///
    /// # Errors
    /// When the text is neither a known name nor proportions, naming the nearest right name.
    pub fn mix(&self, text: &str) -> Result<Mix, MasonryError> {
        self.find_mix(text, None)
    }

    /// A mortar by name, alias or proportions: cement:sand, cement:lime:sand,
    /// `masonry cement 1:3`, `lime 1:3`.
    ///
    /// # Errors
    /// When the text is neither a known mortar nor proportions, naming the nearest right name.
    pub fn mortar(&self, text: &str) -> Result<Mix, MasonryError> {
        self.find_mix(text, Some(MixUse::Mortar))
    }

    /// A site-mixed concrete by name, alias or proportions: cement:ballast, cement:sand:gravel.
    ///
    /// # Errors
    /// When the text is neither a known concrete nor proportions, naming the nearest right name.
    pub fn concrete(&self, text: &str) -> Result<Mix, MasonryError> {
        self.find_mix(text, Some(MixUse::Concrete))
    }

    fn find_mix(&self, text: &str, wanted: Option<MixUse>) -> Result<Mix, MasonryError> {
        let suits = |mix: &&Mix| wanted.is_none_or(|purpose| mix.purpose == purpose);
        let sought = mix_key(text);
        let named = self.mixes.iter().filter(suits).find(|mix| {
            mix_key(&mix.name) == sought || mix.aliases.iter().any(|alias| mix_key(alias) == sought)
        });
        if let Some(mix) = named {
            return Ok(mix.clone());
        }
        let purpose = wanted.unwrap_or(MixUse::Mortar);
        if let Some(mix) = Mix::from_proportions(text, purpose, self) {
            return mix;
        }
        let what = wanted.map_or("mix", MixUse::name);
        let known = self.mixes.iter().filter(suits).map(|mix| mix.name.as_str());
        let mut error = MasonryError::unknown(what, text, known);
        error
            .remedy
            .push_str("; or write parts by volume, such as 1:1:6");
        Err(error)
    }
}

fn rows<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, MasonryError> {
    serde_json::from_str(text).map_err(|error| {
        MasonryError::new(
            format!("the data file {file} cannot be read: {error}"),
            "restore the file",
        )
    })
}

fn unit(row: UnitRow) -> Result<Unit, MasonryError> {
    let gauge = match (row.coursing, row.bed) {
        (Some(gauge), None) => gauge,
        (None, Some(bed)) => Gauge::from_bed(row.height, bed),
        _ => {
            return Err(MasonryError::new(
                format!("unit `{}` needs either a coursing or a bed joint", row.name),
                "give one of the two",
            ));
        }
    };
    let density: Density = parse_density(&row.density)?;
    let unit = Unit {
        name: row.name,
        title: row.title,
        kind: row.kind,
        length: row.length,
        width: row.width,
        height: row.height,
        head: row.head,
        gauge,
        core_share: row.core_share,
        frog_share: row.frog_share,
        density,
        finished_ends: row.finished_ends,
        source: row.source,
        density_source: row.density_source,
    };
    unit.validate()?;
    Ok(unit)
}

fn insert<T>(
    into: &mut IndexMap<String, T>,
    row: T,
    name: fn(&T) -> &str,
) -> Result<(), MasonryError> {
    let name = key(name(&row));
    match into.insert(name.clone(), row) {
        None => Ok(()),
        Some(_) => Err(MasonryError::new(
            format!("`{name}` is in the data twice"),
            "rename one of the two",
        )),
    }
}

fn find<'a, T>(
    among: &'a IndexMap<String, T>,
    what: &str,
    name: &str,
) -> Result<&'a T, MasonryError> {
    among
        .get(&key(name))
        .ok_or_else(|| MasonryError::unknown(what, name, among.keys().map(String::as_str)))
}

/// A name as it is looked up.
fn key(name: &str) -> String {
    name.trim().to_lowercase()
}

/// A mix as it is looked up: `Type N`, `(iii)` and `1 : 1 : 6` are `n`, `iii` and `1:1:6`.
fn mix_key(name: &str) -> String {
    let name = key(name).replace(['(', ')'], "");
    let name = name.strip_prefix("type ").unwrap_or(&name);
    let words: Vec<&str> = name.split_whitespace().collect();
    words.join(" ").replace(" :", ":").replace(": ", ":")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::masonry::{Joints, YieldRule};
    use crate::quantity::Volume;
    use serde_json::Value;

    fn builtin() -> &'static Catalogue {
        Catalogue::builtin().unwrap()
    }

    #[test]
    fn every_row_of_every_file_has_a_source() {
        let mut without = Vec::new();
        for (file, text) in [
            ("units", UNITS),
            ("bonds", BONDS),
            ("mixes", MIXES),
            ("materials", MATERIALS),
            ("bags", BAGS),
            ("soils", SOILS),
        ] {
            let value: Value = serde_json::from_str(text).unwrap();
            let tables: Vec<&Value> = match &value {
                Value::Object(tables) => tables.values().collect(),
                other => vec![other],
            };
            let wanted: &[&str] = if file == "units" {
                &["source", "density_source"]
            } else {
                &["source"]
            };
            for table in tables {
                let rows = table.as_array().unwrap();
                assert!(!rows.is_empty(), "{file}");
                for row in rows {
                    for field in wanted {
                        let source = row.get(field).and_then(Value::as_str).unwrap_or("");
                        if source.trim().is_empty() {
                            without.push(format!("{file}: {row} has no {field}"));
                        }
                    }
                }
            }
        }
        assert!(without.is_empty(), "{without:#?}");
    }

    #[test]
    fn unit_names_are_words_of_a_script() {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        for unit in builtin().units() {
            assert!(unit.name.chars().all(plain), "{}", unit.name);
            assert_eq!(builtin().unit(&unit.name).unwrap().title, unit.title);
        }
        assert_eq!(
            builtin().units().next().map(|u| u.name.as_str()),
            Some("nf")
        );
    }

    #[test]
    fn a_second_row_of_a_name_is_refused() {
        let unit = builtin().unit("nf").unwrap();
        let mut units = IndexMap::new();
        assert!(insert(&mut units, unit.clone(), |unit| &unit.name).is_ok());
        assert!(insert(&mut units, unit.clone(), |unit| &unit.name).is_err());
    }

    #[test]
    fn no_two_mixes_of_one_purpose_share_a_word() {
        for purpose in [MixUse::Mortar, MixUse::Concrete] {
            let mut words: Vec<String> = builtin()
                .mixes()
                .filter(|mix| mix.purpose == purpose)
                .flat_map(|mix| mix.aliases.iter().chain([&mix.name]))
                .map(|word| mix_key(word))
                .collect();
            let count = words.len();
            words.sort();
            words.dedup();
            assert_eq!(words.len(), count);
        }
    }

    #[test]
    fn a_wrong_name_gets_the_nearest_right_one() {
        let error = builtin().unit("us_moduler").unwrap_err();
        assert_eq!(error.message, "there is no unit called `us_moduler`");
        assert!(error.remedy.starts_with("did you mean `us_modular`?"));
        assert!(error.remedy.contains("firebrick"));
        let error = builtin().bond("strecher").unwrap_err();
        assert!(
            error
                .remedy
                .starts_with("did you mean `stretcher`? Known: stretcher, third")
        );
        assert!(
            builtin()
                .soil("sandd")
                .unwrap_err()
                .remedy
                .contains("`sand`")
        );
        assert!(
            builtin()
                .material("steal")
                .unwrap_err()
                .remedy
                .contains("`steel`")
        );
        assert!(builtin().yield_rule("rule 39").is_err());
        let long = builtin().unit(&"x".repeat(10_000)).unwrap_err();
        assert!(long.message.len() < 100);
        assert!(builtin().unit(" NF ").is_ok());
    }

    #[test]
    fn mixes_are_found_as_people_write_them() {
        for word in ["N", "n", "type N", "1:1:6", "1 : 1 : 6", "(iii)", "M4"] {
            assert_eq!(builtin().mortar(word).unwrap().name, "N", "{word}");
        }
        assert_eq!(builtin().mortar("1:1/2:4 1/2").unwrap().name, "S");
        assert_eq!(builtin().mix("1:2:4").unwrap().purpose, MixUse::Concrete);
        assert_eq!(builtin().concrete("1:6").unwrap().name, "ballast 1:6");
        assert_eq!(builtin().mix("1:6").unwrap().purpose, MixUse::Mortar);
        let error = builtin().mortar("type X").unwrap_err();
        assert!(error.remedy.contains("1:1:6"), "{}", error.remedy);
    }

    #[test]
    fn free_proportions_are_read_by_their_purpose() {
        let mortar = builtin().mortar("1:½:4.25").unwrap();
        assert_eq!(mortar.proportions(), "1:1/2:4 1/4");
        assert!((mortar.parts_of(Ingredient::Lime) - 0.5).abs() < 1e-12);
        let concrete = builtin().concrete("1:2.5:4").unwrap();
        assert!((concrete.parts_of(Ingredient::Gravel) - 4.0).abs() < 1e-12);
        let masonry = builtin().mortar("masonry cement 1:2.5").unwrap();
        assert!((masonry.parts_of(Ingredient::MasonryCement) - 1.0).abs() < 1e-12);
        assert!((masonry.aggregate_ratio().unwrap() - 2.5).abs() < 1e-12);
        let plain = builtin().mortar("1:0:4.5").unwrap();
        assert_eq!(plain.parts.len(), 2);
        for bad in [
            "1",
            "1:",
            "1:2:3:4",
            "0:0:6",
            "1:1:0",
            "1:x",
            "1:1e9",
            "1:101",
            "lime 1:1:6",
            "",
        ] {
            let error = builtin().mortar(bad).unwrap_err();
            assert!(!error.remedy.is_empty(), "{bad}");
        }
    }

    #[test]
    fn every_mix_has_materials_and_every_unit_joints() {
        let wet = Volume::from_litre(100.0).unwrap();
        for mix in builtin().mixes() {
            let needs = mix.materials(wet, mix.usual_yield).unwrap();
            assert_eq!(needs.len(), mix.parts.len());
            assert!(
                needs.iter().all(|need| need.mass.kg() > 0.0),
                "{}",
                mix.name
            );
        }
        for unit in builtin().units() {
            let joints = Joints::of(unit).unwrap();
            assert!(joints.bed.nominal.is_positive(), "{}", unit.name);
            // The heaviest hand-laid unit here is a dense block; the lightest a thin brick.
            let kg = unit.mass().kg();
            assert!((0.5..30.0).contains(&kg), "{}: {kg}", unit.name);
        }
    }

    #[test]
    fn impossible_yields_are_errors() {
        let mortar = builtin().mortar("N").unwrap();
        let concrete = builtin().concrete("ballast 1:6").unwrap();
        let litre = Volume::from_litre(1.0).unwrap();
        assert!(mortar.materials(-litre, YieldRule::SandVolume).is_err());
        assert!(mortar.materials(litre, YieldRule::DryFactor(0.0)).is_err());
        assert!(
            mortar
                .materials(litre, YieldRule::DryFactor(f64::NAN))
                .is_err()
        );
        assert!(concrete.materials(litre, YieldRule::SandVolume).is_err());
        let most = Volume::from_nm3(i128::MAX);
        assert!(mortar.materials(most, YieldRule::DryFactor(9.0)).is_err());
    }
}
