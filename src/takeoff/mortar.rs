use super::whole_count;
use crate::layout::{Laid, LaidPart};
use crate::masonry::{MasonryError, MaterialNeed, mortar_yield};
use crate::plan::MortarChoice;
use crate::quantity::{Mass, Volume};

/// Mortar of one kind, from the joints that are really there to what is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct MortarNeed {
    /// Joint volume of each part laid in it, by name: envelope less units, lintels and voids.
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
    /// Mass of a bag of cement, lime or other powder.
    pub powder_bag: Mass,
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
    /// The plan's own mortar, and what parts have of their own; the plan's even where nothing is laid in it.
    pub(super) fn of_plan(laid: &Laid) -> Result<(MortarNeed, Vec<MortarNeed>), MasonryError> {
        let plan = &laid.plan;
        let mut others: Vec<&MortarChoice> = Vec::new();
        for part in &laid.parts {
            let choice = plan.mortar_of(&part.name);
            if *choice != plan.mortar && !others.contains(&choice) {
                others.push(choice);
            }
        }
        let others: Result<Vec<MortarNeed>, MasonryError> = others
            .into_iter()
            .map(|choice| MortarNeed::of(laid, choice))
            .collect();
        Ok((MortarNeed::of(laid, &plan.mortar)?, others?))
    }

    /// What is laid in one mortar.
    fn of(laid: &Laid, choice: &MortarChoice) -> Result<MortarNeed, MasonryError> {
        let plan = &laid.plan;
        let is_of = |part: &&LaidPart| plan.mortar_of(&part.name) == choice;
        let parts: Vec<&LaidPart> = laid.parts.iter().filter(is_of).collect();
        let joints: Vec<(String, Volume)> = parts
            .iter()
            .map(|part| (part.name.clone(), part.joints))
            .collect();
        let lids = laid.lids.iter().filter(|lid| {
            let under = laid.parts.get(lid.part);
            under.is_some_and(|part| is_of(&part))
        });
        let lid_beds: Volume = lids.map(|lid| lid.bed).sum();
        let frogs: Volume = parts.iter().map(|part| part.hollows.frogs).sum();
        let cores: Volume = parts.iter().map(|part| part.hollows.cores).sum();
        let net = joints.iter().map(|(_, volume)| *volume).sum::<Volume>() + lid_beds + frogs;
        let waste_share = plan.waste.mortar;
        let waste = net.scale(waste_share).unwrap_or_default();
        let total = net + waste;
        let materials = choice.mix.materials(total, choice.mix.usual_yield)?;
        let bags = match choice.bag {
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
            proportions: choice.mix.proportions(),
            mix: choice.mix.title.clone(),
            materials,
            powder_bag: choice.powder_bag,
            bags,
        })
    }
}
