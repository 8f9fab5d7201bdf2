use super::{Bags, whole_count};
use crate::layout::{Cuboid, Laid};
use crate::masonry::{Catalogue, MasonryError, MaterialNeed, concrete_yield};
use crate::quantity::{Length, Pressure, Volume};

/// One thing that is cast.
#[derive(Clone, Debug, PartialEq)]
pub struct ConcreteItem {
    /// What it is.
    pub what: String,
    /// Its volume, holes taken out.
    pub volume: Volume,
    /// Bags for it alone, waste included, since it is cast on its own day.
    pub bags: u64,
}

/// Concrete, from what is cast to what is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct ConcreteNeed {
    /// What is cast.
    pub items: Vec<ConcreteItem>,
    /// Sum of their volumes.
    pub net: Volume,
    /// Share added for waste.
    pub waste_share: f64,
    /// Volume added for waste.
    pub waste: Volume,
    /// Concrete to make.
    pub total: Volume,
    /// Dry-mixed bags.
    pub bags: Bags,
    /// Proportions and loose materials, where it is mixed on site instead.
    pub site_mix: Option<(String, Vec<MaterialNeed>)>,
}

impl ConcreteNeed {
    pub(super) fn of(laid: &Laid) -> Result<ConcreteNeed, MasonryError> {
        let plan = &laid.plan;
        let mut cast: Vec<(String, Volume)> = Vec::new();
        if let Some(slab) = &laid.slab {
            let what = match &plan.slab {
                Some(asked) if asked.strip => "strip footing",
                _ => "slab",
            };
            cast.push((
                what.to_owned(),
                slab.concrete.iter().map(Cuboid::volume).sum(),
            ));
        }
        for lid in &laid.lids {
            cast.push((format!("lid of {}", laid.part_name(lid.part)), lid.volume));
        }
        for part in laid.parts.iter().filter(|part| part.core.is_positive()) {
            cast.push((format!("core of {}", part.name), part.core));
        }
        let (yields, source) = concrete_yield(plan.concrete.bag)?;
        let waste_share = plan.waste.concrete;
        let with_waste = |volume: Volume| volume.to_m3() * (1.0 + waste_share);
        let net: Volume = cast.iter().map(|(_, volume)| *volume).sum();
        let waste = net.scale(waste_share).unwrap_or_default();
        let total = net + waste;
        Ok(ConcreteNeed {
            items: cast
                .into_iter()
                .map(|(what, volume)| ConcreteItem {
                    what,
                    volume,
                    bags: whole_count(with_waste(volume), yields.to_m3()),
                })
                .collect(),
            net,
            waste_share,
            waste,
            total,
            bags: Bags {
                mass: plan.concrete.bag,
                yields,
                source: source.to_owned(),
                count: whole_count(total.to_m3(), yields.to_m3()),
            },
            site_mix: plan
                .concrete
                .mix
                .as_ref()
                .map(|mix| {
                    mix.materials(total, mix.usual_yield)
                        .map(|needs| (mix.name.clone(), needs))
                })
                .transpose()?,
        })
    }
}

/// Digging, base and forms for the slab.
#[derive(Clone, Debug, PartialEq)]
pub struct GroundWork {
    /// Slab across.
    pub across: Length,
    /// Slab from front to back.
    pub deep: Length,
    /// Its thickness.
    pub depth: Length,
    /// From corner to corner: equal diagonals make it square.
    pub diagonal: Length,
    /// Form boards round it.
    pub forms: Length,
    /// Height of the form boards.
    pub form_height: Length,
    /// Whether it is a strip that follows the walls.
    pub strip: bool,
    /// Size round the hole: across, from front to back, deep.
    pub hole: (Length, Length, Length),
    /// Volume of the hole in the ground.
    pub dug: Volume,
    /// What the ground swells by when it is dug.
    pub swell: f64,
    /// Volume of the heap.
    pub heap: Volume,
    /// Compacted volume of the base.
    pub subbase: Volume,
    /// Thickness of the base.
    pub subbase_depth: Length,
    /// The ground.
    pub soil: String,
    /// What the ground is presumed to bear, where anything may be presumed.
    pub bearing: Option<Pressure>,
    /// Where that comes from.
    pub bearing_source: String,
}

impl GroundWork {
    pub(super) fn of(
        laid: &Laid,
        catalogue: &Catalogue,
    ) -> Result<Option<GroundWork>, MasonryError> {
        let (Some(slab), Some(asked)) = (&laid.slab, &laid.plan.slab) else {
            return Ok(None);
        };
        let soil = catalogue.soil(&asked.soil)?;
        let (across, deep) = slab.footprint.size();
        let hole_depth = (asked.depth + asked.subbase - asked.above_ground).max(Length::ZERO);
        let round = slab.hole.size();
        let hole = (round.0, round.1, hole_depth);
        let dug = slab.hole.area().times(hole_depth);
        let heap = dug.scale(1.0 + soil.swell).unwrap_or_default();
        let (a, b) = (across.nm() as f64, deep.nm() as f64);
        Ok(Some(GroundWork {
            across,
            deep,
            depth: asked.depth,
            diagonal: Length::from_nm(a.hypot(b).round() as i64),
            strip: asked.strip,
            forms: slab.footprint.edges(),
            form_height: asked.depth,
            hole,
            dug,
            swell: soil.swell,
            heap,
            subbase: slab.subbase.iter().map(Cuboid::volume).sum(),
            subbase_depth: asked.subbase,
            soil: soil.title.clone(),
            bearing: soil.bearing,
            bearing_source: soil.source.clone(),
        }))
    }
}
