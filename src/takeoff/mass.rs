use crate::layout::{Laid, LaidPart, Piece};
use crate::masonry::{Catalogue, MasonryError, Unit};
use crate::plan::{CopingKind, LintelKind};
use crate::quantity::{Density, Mass, Pressure};

/// What a part weighs.
#[derive(Clone, Debug, PartialEq)]
pub struct PartMass {
    /// Its name.
    pub name: String,
    /// Units, bites and notches taken out.
    pub units: Mass,
    /// Mortar in its joints and frogs and under its lid, hardened.
    pub mortar: Mass,
    /// Lintels, and slabs of sills and thresholds.
    pub lintels: Mass,
    /// Slabs of its coping, drips taken out.
    pub copings: Mass,
    /// Its lid and a concrete core.
    pub concrete: Mass,
    /// All of it.
    pub total: Mass,
}

/// What the whole weighs, and what the ground feels of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Masses {
    /// Each part.
    pub parts: Vec<PartMass>,
    /// One unit; of several kinds the heaviest.
    pub unit: Mass,
    /// The heaviest piece of each lid, by part name.
    pub lid_pieces: Vec<(String, Mass)>,
    /// Each lintel, in the order of [`Laid::bodies`].
    pub lintels: Vec<Mass>,
    /// The heaviest slab of each coping, by part name.
    pub coping_slabs: Vec<(String, Mass)>,
    /// The slab.
    pub slab: Mass,
    /// Parts and slab.
    pub total: Mass,
    /// On the ground under the slab.
    pub pressure: Option<Pressure>,
}

fn heaviest(masses: impl Iterator<Item = Mass>) -> Mass {
    masses.fold(Mass::default(), |a, b| if a >= b { a } else { b })
}

/// Standard acceleration of gravity (ISO 80000-3).
const GRAVITY: f64 = 9.806_65;

impl Masses {
    pub(super) fn of(laid: &Laid, catalogue: &Catalogue) -> Result<Masses, MasonryError> {
        let density = |name: &str| catalogue.material(name).map(|material| material.density);
        let mortar = density("mortar")?;
        let concrete = density("concrete")?;
        let steel = density("steel")?;
        let stone = density("stone")?;
        let piece_mass = |piece: &Piece, unit: &Unit| {
            laid.piece_volume(piece).mass(unit.density) * unit.solid_share()
        };
        let lintel_masses: Vec<Mass> = laid
            .bodies
            .iter()
            .map(|body| {
                body.cuboid.volume().mass(match body.kind {
                    LintelKind::Steel => steel,
                    LintelKind::Stone => stone,
                    LintelKind::Concrete => concrete,
                })
            })
            .collect();
        let mut parts = Vec::with_capacity(laid.parts.len());
        for (index, part) in laid.parts.iter().enumerate() {
            let pieces = laid.pieces_of(part).iter();
            let units: Mass = pieces
                .map(|piece| piece_mass(piece, &part.setting.unit))
                .sum();
            let joints = (part.joints + part.hollows.frogs).mass(mortar);
            let lintels: Mass = laid
                .bodies
                .iter()
                .zip(&lintel_masses)
                .filter(|(body, _)| body.part == index)
                .map(|(_, mass)| *mass)
                .sum();
            let copings = part
                .coping
                .iter()
                .flat_map(|coping| &coping.slabs)
                .map(|slab| slab.volume().mass(slab_density(part, stone, concrete)))
                .sum();
            let lids = || laid.lids.iter().filter(|lid| lid.part == index);
            let beds: Mass = lids().map(|lid| lid.bed.mass(mortar)).sum();
            let joints = joints + beds;
            let cast = lids().map(|lid| lid.volume.mass(concrete)).sum::<Mass>()
                + part.core.mass(concrete);
            parts.push(PartMass {
                name: part.name.clone(),
                units,
                mortar: joints,
                lintels,
                copings,
                concrete: cast,
                total: units + joints + lintels + copings + cast,
            });
        }
        let slab = laid
            .slab
            .iter()
            .flat_map(|slab| &slab.concrete)
            .map(|cuboid| cuboid.volume().mass(concrete))
            .sum();
        let total = parts.iter().map(|part| part.total).sum::<Mass>() + slab;
        let pressure = laid.slab.as_ref().and_then(|slab| {
            let area = slab.footprint.area().to_m2();
            (area > 0.0)
                .then(|| Pressure::from_pa(total.kg() * GRAVITY / area).ok())
                .flatten()
        });
        let lid_pieces = laid
            .lids
            .iter()
            .filter_map(|lid| {
                let heaviest = lid
                    .pieces
                    .iter()
                    .map(|piece| piece.volume().mass(concrete))
                    .reduce(|a, b| if a >= b { a } else { b })?;
                let name = lid.annex.as_deref().unwrap_or(laid.part_name(lid.part));
                Some((name.to_owned(), heaviest))
            })
            .collect();
        Ok(Masses {
            parts,
            unit: heaviest(laid.kinds().iter().map(|kind| kind.unit.mass())),
            lid_pieces,
            coping_slabs: laid
                .parts
                .iter()
                .filter_map(|part| {
                    let slabs = &part.coping.as_ref()?.slabs;
                    let density = slab_density(part, stone, concrete);
                    let masses = slabs.iter().map(|slab| slab.volume().mass(density));
                    let heaviest = masses.reduce(|a, b| if a >= b { a } else { b })?;
                    Some((part.name.clone(), heaviest))
                })
                .collect(),
            lintels: lintel_masses,
            slab,
            total,
            pressure,
        })
    }
}

/// Density of the slabs of a part's coping.
fn slab_density(part: &LaidPart, stone: Density, concrete: Density) -> Density {
    match part.coping.as_ref().map(|coping| coping.coping.kind) {
        Some(CopingKind::Stone) => stone,
        _ => concrete,
    }
}
