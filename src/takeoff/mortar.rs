use super::whole_count;
use crate::layout::Laid;
use crate::masonry::{MasonryError, MaterialNeed, mortar_yield};
use crate::quantity::{Mass, Volume};

/// Mortar, from the joints that are really there to what is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct MortarNeed {
    /// Joint volume of each part, by name: envelope less units, lintels and voids.
    pub joints: Vec<(String, Volume)>,
    /// Beds under lids.
    pub lid_beds: Volume,
    /// What frogs take when laid frog up.
    pub frogs: Volume,
    /// Open cores, shown for information: they are not filled.
    pub cores: Volume,
    /// Joints, beds and frogs.
    pub net: Volume,
    /// Share added for waste.
    pub waste_share: f64,
    /// Volume added for waste.
    pub waste: Volume,
    /// Mortar to make.
    pub total: Volume,
    /// Proportions, in figures.
    pub proportions: String,
    /// What the mix is called.
    pub mix: String,
    /// Loose materials for mixing on site.
    pub materials: Vec<MaterialNeed>,
    /// Ready-mixed bags, where mortar is bought so.
    pub bags: Option<Bags>,
}

/// Bags of a dry mix.
#[derive(Clone, Debug, PartialEq)]
pub struct Bags {
    /// Mass of one.
    pub mass: Mass,
    /// What one yields.
    pub yields: Volume,
    /// Where the yield comes from.
    pub source: String,
    /// How many.
    pub count: u64,
}

impl MortarNeed {
    pub(super) fn of(laid: &Laid) -> Result<MortarNeed, MasonryError> {
        let plan = &laid.plan;
        let joints: Vec<(String, Volume)> = laid
            .parts
            .iter()
            .map(|part| (part.name.clone(), part.joints))
            .collect();
        let lid_beds: Volume = laid.lids.iter().map(|lid| lid.bed).sum();
        let frogs: Volume = laid.parts.iter().map(|part| part.hollows.frogs).sum();
        let cores: Volume = laid.parts.iter().map(|part| part.hollows.cores).sum();
        let net = joints.iter().map(|(_, volume)| *volume).sum::<Volume>() + lid_beds + frogs;
        let waste_share = plan.waste.mortar;
        let waste = net.scale(waste_share).unwrap_or_default();
        let total = net + waste;
        let materials = plan
            .mortar
            .mix
            .materials(total, plan.mortar.mix.usual_yield)?;
        let bags = match plan.mortar.bag {
            None => None,
            Some(mass) => {
                let (yields, source) = mortar_yield(mass)?;
                Some(Bags {
                    mass,
                    yields,
                    source: source.to_owned(),
                    count: whole_count(total.to_m3(), yields.to_m3()),
                })
            }
        };
        Ok(MortarNeed {
            joints,
            lid_beds,
            frogs,
            cores,
            net,
            waste_share,
            waste,
            total,
            proportions: plan.mortar.mix.proportions(),
            mix: plan.mortar.mix.title.clone(),
            materials,
            bags,
        })
    }
}
