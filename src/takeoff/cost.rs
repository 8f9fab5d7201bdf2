//! What a plan costs by the prices it was given.

use std::collections::BTreeMap;

use super::{Fitting, FittingSize, Takeoff};
use crate::layout::Laid;
use crate::masonry::{Catalogue, Ingredient, MasonryError, MaterialNeed};
use crate::plan::{Price, Prices, SoldBy};
use crate::quantity::{Length, Mass, Money, QuantityError, Volume};

/// Thousandths in which amounts of goods are counted: kilograms, litres, millimetres.
const PARTS: u64 = 1000;

/// One kind of goods and what it costs.
#[derive(Clone, Debug, PartialEq)]
pub struct CostLine {
    /// What it is.
    pub what: String,
    /// How it is sold; none for the delivery and what tops up a small order.
    pub by: Option<SoldBy>,
    /// Thousandths of what it is sold by that are bought, whole packs where it is packed.
    pub amount: u64,
    /// Thousandths of them that are needed.
    pub needed: u64,
    /// Its price, and for how many that is.
    pub price: Option<(Money, u64)>,
    /// What that comes to, rounded to the cent.
    pub cost: Money,
}

/// Goods that have no price.
#[derive(Clone, Debug, PartialEq)]
pub struct Unpriced {
    /// What it is.
    pub what: String,
    /// How it could be sold, and thousandths of that.
    pub ways: Vec<(SoldBy, u64)>,
}

/// What a plan costs.
#[derive(Clone, Debug, PartialEq)]
pub struct Cost {
    /// The currency.
    pub currency: String,
    /// What has a price.
    pub lines: Vec<CostLine>,
    /// What has none, and so is not in the total.
    pub unpriced: Vec<Unpriced>,
    /// Prices of what the plan does not take.
    pub unused: Vec<String>,
    /// The sum of the lines, each rounded to the cent.
    pub total: Money,
}

/// Goods that a plan takes: the names that a price may go by, and the amounts by each way of selling, the first that has a
/// price counts.
struct Need {
    names: Vec<String>,
    ways: Vec<(SoldBy, u64)>,
}

impl Need {
    fn new(names: &[&str], ways: Vec<(SoldBy, u64)>) -> Need {
        Need {
            names: names.iter().map(|name| (*name).to_owned()).collect(),
            ways,
        }
    }
}

impl Cost {
    /// Reads what to buy off a takeoff and prices it; none where the plan was given no prices.
    ///
    /// # Errors
    /// When a sum is out of range, or the catalogue lacks a material.
    pub fn of(laid: &Laid, takeoff: &Takeoff) -> Result<Option<Cost>, MasonryError> {
        let Some(prices) = &laid.plan.prices else {
            return Ok(None);
        };
        let needs = needs(laid, takeoff)?;
        priced(prices, needs).map(Some).map_err(|error| {
            MasonryError::new(error.message, "look for a price that is far too high")
        })
    }

    /// Whether everything that the plan takes has a price.
    pub fn is_whole(&self) -> bool {
        self.unpriced.is_empty()
    }
}

fn priced(prices: &Prices, needs: Vec<Need>) -> Result<Cost, QuantityError> {
    let mut cost = Cost {
        currency: prices.currency.clone(),
        lines: Vec::new(),
        unpriced: Vec::new(),
        unused: Vec::new(),
        total: Money::ZERO,
    };
    let mut used: Vec<&Price> = Vec::new();
    for need in needs {
        let what = need.names.first().cloned().unwrap_or_default();
        let price = need
            .ways
            .iter()
            .find_map(|(by, amount)| Some((prices.of(&need.names, *by)?, *amount)));
        let Some((price, needed)) = price else {
            cost.unpriced.push(Unpriced {
                what,
                ways: need.ways,
            });
            continue;
        };
        let amount = match price.pack {
            0 => needed,
            pack => needed.div_ceil(pack).saturating_mul(pack),
        };
        let sum = price
            .price
            .for_amount(amount, price.per.max(1).saturating_mul(PARTS))?;
        cost.total = cost.total.checked_add(sum)?;
        used.push(price);
        cost.lines.push(CostLine {
            what,
            by: Some(price.by),
            amount,
            needed,
            price: Some((price.price, price.per.max(1))),
            cost: sum,
        });
    }
    let unused = prices.goods.iter().filter(|good| !used.contains(good));
    cost.unused = unused.map(|good| good.what.clone()).collect();
    // Nothing is brought where nothing is bought.
    if !cost.lines.is_empty() {
        let short = cost.total.short_of(prices.least_order);
        for (what, sum) in [
            ("up to the least order", short),
            ("delivery", prices.delivery),
        ] {
            if sum > Money::ZERO {
                cost.total = cost.total.checked_add(sum)?;
                cost.lines.push(CostLine {
                    what: what.to_owned(),
                    by: None,
                    amount: PARTS,
                    needed: PARTS,
                    price: None,
                    cost: sum,
                });
            }
        }
    }
    Ok(cost)
}

/// Whole kilograms, litres or millimetres, rounded up but for what floating point left over.
fn parts(amount: f64) -> u64 {
    super::whole_count(amount, 1.0)
}

fn count(number: u64) -> u64 {
    number.saturating_mul(PARTS)
}

fn tonnes(mass: Mass) -> (SoldBy, u64) {
    (SoldBy::Tonne, parts(mass.kg()))
}

fn cubic_metres(volume: Volume) -> (SoldBy, u64) {
    (SoldBy::CubicMetre, parts(volume.to_litre()))
}

fn needs(laid: &Laid, takeoff: &Takeoff) -> Result<Vec<Need>, MasonryError> {
    let mut needs = Vec::new();
    for kind in takeoff.kinds.iter().filter(|kind| kind.to_buy > 0) {
        needs.push(Need::new(
            &[&kind.unit],
            vec![(SoldBy::Unit, count(kind.to_buy))],
        ));
    }
    let mut loose = Loose::default();
    for mortar in takeoff.mortars().filter(|mortar| mortar.net.is_positive()) {
        match &mortar.bags {
            Some(bags) => needs.push(Need::new(
                &["mortar", &mortar.mix],
                vec![(SoldBy::Bag, count(bags.count)), cubic_metres(mortar.total)],
            )),
            None => loose.add(&mortar.materials, mortar.powder_bag),
        }
    }
    let concrete = &takeoff.concrete;
    if concrete.total.is_positive() {
        match &concrete.site_mix {
            Some((_, materials)) => loose.add(materials, laid.plan.concrete.powder_bag),
            None => needs.push(Need::new(
                &["concrete"],
                vec![
                    (SoldBy::Bag, count(concrete.bags.count)),
                    cubic_metres(concrete.total),
                ],
            )),
        }
    }
    needs.extend(loose.needs());
    if let Some(ground) = &takeoff.ground
        && ground.subbase.is_positive()
    {
        let density = Catalogue::builtin()?.material("subbase")?.density;
        needs.push(Need::new(
            &["sub-base"],
            vec![
                tonnes(ground.subbase.mass(density)),
                cubic_metres(ground.subbase),
            ],
        ));
    }
    needs.extend(fitted(&takeoff.fittings));
    Ok(needs)
}

/// What is mixed on site, of all mortars and the concrete together, since one heap and one stack of bags serve all.
#[derive(Default)]
struct Loose {
    /// By whether it comes loose, name, and mass of a bag in grams.
    found: BTreeMap<(bool, &'static str, u64), Mixed>,
}

/// One ingredient of all mixes.
#[derive(Default)]
struct Mixed {
    mass: Mass,
    volume: Volume,
    bag: Mass,
    other_name: &'static str,
}

impl Loose {
    fn add(&mut self, materials: &[MaterialNeed], bag: Mass) {
        for need in materials {
            let (name, other_name, powder) = names_of(need.ingredient);
            let grams = if powder { parts(bag.kg() * 1000.0) } else { 0 };
            let mixed = self.found.entry((!powder, name, grams)).or_default();
            mixed.mass += need.mass;
            mixed.volume += need.loose_volume;
            mixed.bag = bag;
            mixed.other_name = other_name;
        }
    }

    fn needs(self) -> impl Iterator<Item = Need> {
        self.found.into_iter().map(|((loose, name, _), mixed)| {
            let ways = if loose {
                vec![tonnes(mixed.mass), cubic_metres(mixed.volume)]
            } else {
                let bags = super::whole_count(mixed.mass.kg(), mixed.bag.kg());
                vec![(SoldBy::Bag, count(bags)), tonnes(mixed.mass)]
            };
            Need::new(&[name, mixed.other_name], ways)
        })
    }
}

/// The names that an ingredient's price may go by, and whether it comes in bags.
const fn names_of(ingredient: Ingredient) -> (&'static str, &'static str, bool) {
    match ingredient {
        Ingredient::Cement => ("cement", "portland cement", true),
        Ingredient::Lime => ("lime", "hydrated lime", true),
        Ingredient::MasonryCement => ("masonry cement", "masonry cement", true),
        Ingredient::Fireclay => ("fireclay", "fireclay", true),
        Ingredient::RefractoryMortar => ("refractory mortar", "refractory", true),
        Ingredient::Sand => ("sand", "sand", false),
        Ingredient::Gravel => ("gravel", "gravel", false),
        Ingredient::Ballast => ("ballast", "ballast", false),
    }
}

/// What is fitted, by kind: `steel bar over fire door` and another over the vent are two steel bars.
fn fitted(fittings: &[Fitting]) -> Vec<Need> {
    let mut kinds: Vec<(String, u64, u64)> = Vec::new();
    for fitting in fittings {
        let kind = kind_of(&fitting.what).to_owned();
        let number = u64::from(fitting.count);
        let length = run_of(fitting.size).map_or(0, |run| parts(run.to_mm()));
        let length = length.saturating_mul(number);
        match kinds.iter_mut().find(|(known, ..)| *known == kind) {
            Some(found) => {
                found.1 += number;
                found.2 = found.2.saturating_add(length);
            }
            None => kinds.push((kind, number, length)),
        }
    }
    kinds
        .into_iter()
        .map(|(kind, number, length)| {
            let by_piece = (SoldBy::Piece, count(number));
            let by_metre = (length > 0).then_some((SoldBy::Metre, length));
            Need::new(
                &[&kind],
                std::iter::once(by_piece).chain(by_metre).collect(),
            )
        })
        .collect()
}

/// The length of what is cut from a bar or pipe.
const fn run_of(size: FittingSize) -> Option<Length> {
    match size {
        FittingSize::Bar(long, ..) | FittingSize::Pipe(_, long) | FittingSize::Long(long) => {
            Some(long)
        }
        FittingSize::Flat(..) | FittingSize::Upright(..) => None,
    }
}

/// What a fitting is, without where it goes.
fn kind_of(what: &str) -> &str {
    let ends = [" for ", " over ", " on ", " under ", " behind ", " of "];
    let end = ends.iter().filter_map(|end| what.find(end)).min();
    end.and_then(|end| what.get(..end)).unwrap_or(what)
}
