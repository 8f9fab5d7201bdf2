use std::sync::Arc;

use serde::{Deserialize, Serialize};

use indexmap::IndexMap;

use super::error::check_name;
use super::{
    Align, DuctHead, FURTHEST_OVERHANG, Heap, LONGEST_CAUTION, LONGEST_SIDE, MOST_CAUTIONS,
    MOST_LID_PIECES, MOST_PARTS, OnHand, Part, PartKind, Placement, PlanError, Prices, Relation,
    SideRef, THICKEST_LID,
};
use crate::masonry::{Bond, Gauge, Joints, MasonryError, Mix, Unit};
use crate::quantity::{Length, LengthStyle, Mass};

/// What everything in a plan is laid with.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// The unit.
    pub unit: Unit,
    /// Head and bed joints with what they may be squeezed and stretched to.
    pub joints: Joints,
    /// How high courses rise.
    pub gauge: Gauge,
    /// The bond, unless a part has its own.
    pub bond: Bond,
    /// Whether units lie on edge: what is their width as they are bought is their height here.
    pub on_edge: bool,
}

impl Setting {
    /// A setting with the joints asked for, or the unit's own. A head joint alone also sets the bed joint, since
    /// a builder who writes one joint means both.
    ///
    /// # Errors
    /// When a joint cannot be laid.
    pub fn new(
        unit: Unit,
        head: Option<Length>,
        bed: Option<Length>,
        bond: Bond,
    ) -> Result<Setting, MasonryError> {
        let bed = bed.or(head);
        let gauge = match bed {
            Some(bed) => Gauge::from_bed(unit.height, bed),
            None => unit.gauge,
        };
        let joints = Joints::usual(head.unwrap_or(unit.head), gauge.bed(unit.height))?;
        Ok(Setting {
            unit,
            joints,
            gauge,
            bond,
            on_edge: false,
        })
    }

    /// The unit as it is bought, whichever way it lies.
    pub fn bought(&self) -> Unit {
        if self.on_edge {
            self.unit.turned_on_edge()
        } else {
            self.unit.clone()
        }
    }
}

/// A ground slab or strip footing under the parts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Slab {
    /// Whether it is a strip that follows the walls, instead of a slab under everything.
    pub strip: bool,
    /// How far it reaches beyond the outermost faces.
    pub margin: Length,
    /// Thickness of the concrete.
    pub depth: Length,
    /// Thickness of the compacted base under it; zero for none.
    pub subbase: Length,
    /// How far its top stands above the ground.
    pub above_ground: Length,
    /// The ground it stands on, by catalogue name.
    pub soil: String,
}

impl Slab {
    /// The word for it.
    pub const fn word(&self) -> &'static str {
        if self.strip { "strip footing" } else { "slab" }
    }
}

/// A pipe from one part to another, or out through one side.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Duct {
    /// Its name.
    pub name: String,
    /// The part it starts in.
    pub from: String,
    /// The annex of that part in which it starts, if it is one.
    pub from_annex: Option<String>,
    /// The part it ends in; none when it leads into the open.
    pub to: Option<String>,
    /// The annex of that part in which it ends, if it is one.
    pub to_annex: Option<String>,
    /// The side it leaves by, where it leads into the open.
    pub side: Option<SideRef>,
    /// Outside diameter of the pipe.
    pub diameter: Length,
    /// The course whose bed it lies on.
    pub course: u32,
    /// How far it stands proud of the inner face at each end.
    pub proud: Length,
    /// Shift of its centre line along the wall from the middle.
    pub shift: Length,
    /// How high it is packed up over the bed of its course.
    pub raise: Length,
    /// What carries the work over it; none where the units themselves do.
    pub head: Option<DuctHead>,
}

impl Lid {
    /// What it covers, by name.
    pub fn name(&self) -> &str {
        self.annex.as_ref().unwrap_or(&self.part)
    }
}

impl Duct {
    /// A duct from a part into the open, with everything else as usual.
    pub fn new(name: &str, from: &str, diameter: Length, course: u32) -> Duct {
        Duct {
            name: name.to_owned(),
            from: from.to_owned(),
            from_annex: None,
            to: None,
            to_annex: None,
            side: None,
            diameter,
            course,
            proud: Length::ZERO,
            shift: Length::ZERO,
            raise: Length::ZERO,
            head: None,
        }
    }
}

/// Slabs that close the top of a part.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lid {
    /// The part it lies on.
    pub part: String,
    /// The annex of that part that it covers, if it is one.
    pub annex: Option<String>,
    /// Thickness.
    pub depth: Length,
    /// How many pieces it is cast in.
    pub pieces: u32,
    /// How far it reaches beyond the outer faces.
    pub overhang: Length,
    /// Diameter of a round hole in the middle, zero for none.
    pub hole: Length,
}

/// What mortar is bought as.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MortarChoice {
    /// Proportions.
    pub mix: Mix,
    /// Mass of a ready-mixed bag, where it is bought that way.
    pub bag: Option<Mass>,
    /// Mass of a bag of cement or lime, where it is mixed on site.
    pub powder_bag: Mass,
}

/// What concrete is bought as.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ConcreteChoice {
    /// Proportions, where it is mixed on site.
    pub mix: Option<Mix>,
    /// Mass of a dry-mixed bag, where it is bought that way.
    pub bag: Mass,
    /// Mass of a bag of cement, where it is mixed on site.
    pub powder_bag: Mass,
}

/// Shares added for what is broken, dropped or left in the tub, each shown apart.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Waste {
    /// Of units.
    pub units: f64,
    /// Of mortar.
    pub mortar: f64,
    /// Of concrete.
    pub concrete: f64,
}

impl Default for Waste {
    /// Units 5 % (Griffith, Carpentry; Building Trades Pocketbook), mortar 20 % (US Navy Builder manual
    /// 14045), concrete 10 % (NAVFAC P-405 in Engineering Aid 14070).
    fn default() -> Self {
        Waste {
            units: 0.05,
            mortar: 0.20,
            concrete: 0.10,
        }
    }
}

/// What is left free round things that are fitted into the brickwork.
/// All defaults are common practice, no source; each is settable.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clearances {
    /// At each end of a rack.
    pub rack: Length,
    /// Round a door leaf, inside its frame, for heat.
    pub leaf: Length,
    /// Round a frame, inside its opening.
    pub frame: Length,
    /// Face width of a frame's members.
    pub frame_face: Length,
    /// Round a grate, for heat.
    pub grate: Length,
    /// Width of the stone blade that cuts units.
    pub blade: Length,
}

impl Default for Clearances {
    fn default() -> Self {
        Clearances {
            rack: Length::mm(5),
            leaf: Length::mm(4),
            frame: Length::mm(5),
            frame_face: Length::mm(30),
            grate: Length::mm(15),
            blade: Length::mm(3),
        }
    }
}

/// A part in its place.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Placed {
    /// The part.
    pub part: Arc<Part>,
    /// Where it stands.
    pub placement: Placement,
}

/// A whole plan: a value like any other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Its name.
    pub name: String,
    /// What it is laid with.
    pub setting: Setting,
    /// Its parts by name, in the order they were placed.
    pub parts: IndexMap<String, Placed>,
    /// The slab under it.
    pub slab: Option<Slab>,
    /// Pipes.
    pub ducts: Vec<Duct>,
    /// Lids.
    pub lids: Vec<Lid>,
    /// What mortar is bought as.
    pub mortar: MortarChoice,
    /// What concrete is bought as.
    pub concrete: ConcreteChoice,
    /// Waste shares.
    pub waste: Waste,
    /// Clearances.
    pub clearances: Clearances,
    /// Units already in the yard, of whatever kind the plan itself is laid with.
    pub on_hand: OnHand,
    /// Units already in the yard of kinds that are named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub heaps: Vec<Heap>,
    /// What the builder pays for things, where that was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prices: Option<Prices>,
    /// How lengths are shown.
    pub style: LengthStyle,
    /// What the plan itself says to mind, beside the cautions of every review.
    #[serde(default)]
    pub cautions: Vec<String>,
}

impl Plan {
    /// Adds a part.
    ///
    /// # Errors
    /// When the name is taken, the placement names a part that is not there, or there are too many parts.
    pub fn with_part(
        mut self,
        name: &str,
        part: Arc<Part>,
        placement: Placement,
    ) -> Result<Plan, PlanError> {
        check_name(name, "a part")?;
        if self.parts.contains_key(name) {
            return Err(PlanError::new(
                "name-taken",
                format!("there is already a part named \"{name}\""),
                "give each part its own name",
            )
            .at_key("name"));
        }
        if let Placement::Against {
            other, relation, ..
        } = &placement
        {
            if other == name {
                return Err(PlanError::new(
                    "placed-against-itself",
                    format!("\"{name}\" is placed against itself"),
                    "place it against another part, or at: [x, y]",
                )
                .at_key(relation.word()));
            }
            self.part_named(other)
                .map_err(|error| error.at_key(relation.word()))?;
        }
        let lining = part.lining.clone();
        self.parts
            .insert(name.to_owned(), Placed { part, placement });
        self.check_room()?;
        match lining {
            None => Ok(self),
            Some(lining) => {
                let within = Placement::Against {
                    relation: Relation::InsideOf,
                    other: name.to_owned(),
                    gap: None,
                    align: Align::Centre,
                };
                self.with_part(&Part::lining_name(name), lining, within)
            }
        }
    }

    /// The lining of a part, if it is lined.
    pub fn lining_of(&self, name: &str) -> Option<&Placed> {
        self.parts.get(name)?.part.lining.as_ref()?;
        self.parts.get(&Part::lining_name(name))
    }

    /// The part of a name.
    ///
    /// # Errors
    /// When there is none; the remedy lists those that there are.
    pub fn part_named(&self, name: &str) -> Result<&Placed, PlanError> {
        self.parts.get(name).ok_or_else(|| {
            let names: Vec<&str> = self.parts.keys().map(String::as_str).collect();
            let remedy = match crate::masonry::nearest(name, names.iter().copied()) {
                _ if names.is_empty() => "place a part first".to_owned(),
                Some(word) => format!(
                    "did you mean \"{word}\"? Parts so far: {}",
                    names.join(", ")
                ),
                None => format!("parts so far: {}", names.join(", ")),
            };
            PlanError::new(
                "no-such-part",
                format!("there is no part named \"{name}\""),
                remedy,
            )
        })
    }

    /// Adds a duct. What it names as its ends may be parts or annexes of parts.
    ///
    /// # Errors
    /// When it names parts that are not there or the same one twice, its name is taken, or its diameter is
    /// not positive.
    pub fn with_duct(mut self, mut duct: Duct) -> Result<Plan, PlanError> {
        check_name(&duct.name, "a duct")?;
        self.find_ends(&mut duct)?;
        if let Some(head) = &duct.head {
            head.check()?;
        }
        for (key, name) in [("from", Some(&duct.from)), ("to", duct.to.as_ref())] {
            let placed = name.and_then(|name| self.parts.get(name));
            if placed.is_some_and(|placed| placed.part.kind() == PartKind::Lining) {
                return Err(PlanError::new(
                    "duct-from-a-lining",
                    "a duct goes from or to the chamber, and through its lining of itself",
                    "name the chamber",
                )
                .at_key(key));
            }
        }
        if let Some(side) = duct
            .side
            .filter(|_| duct.to.is_none() && duct.from_annex.is_none())
        {
            let part = &self.part_named(&duct.from)?.part;
            if part.kind() != PartKind::Pier {
                part.check_side(side)?;
            }
        }
        if duct.to.as_ref() == Some(&duct.from) && duct.to_annex == duct.from_annex {
            let end = duct.to_annex.as_ref().unwrap_or(&duct.from);
            return Err(PlanError::new(
                "duct-to-itself",
                format!("the duct starts and ends in \"{end}\""),
                "name two parts, or leave `to` out and name the side it leaves by",
            )
            .at_key("to"));
        }
        if self.ducts.iter().any(|other| other.name == duct.name) {
            return Err(PlanError::new(
                "name-taken",
                format!("there is already a duct named \"{}\"", duct.name),
                "give each duct its own name",
            )
            .at_key("name"));
        }
        if !duct.diameter.is_positive() {
            return Err(PlanError::new(
                "size-not-positive",
                format!("a duct of {} cannot be built", duct.diameter),
                "write the outside diameter of the pipe, such as 150.mm",
            )
            .at_key("diameter"));
        }
        if duct.raise.is_negative() || duct.raise > LONGEST_SIDE {
            return Err(PlanError::new(
                "size-too-large",
                format!("a pipe {} over its bed cannot be built", duct.raise),
                "write how high it is packed up, such as 12.mm, or choose a higher course",
            )
            .at_key("raise"));
        }
        self.ducts.push(duct);
        self.check_room()?;
        Ok(self)
    }

    /// The part of a name, or the part that has an annex of that name, with the annex. An annex of `near` comes first.
    ///
    /// # Errors
    /// When there is neither, or several parts have such an annex.
    pub fn end_named(
        &self,
        name: &str,
        near: Option<&str>,
    ) -> Result<(String, Option<String>), PlanError> {
        let has = |placed: &Placed| placed.part.annexes.iter().any(|annex| annex.name == name);
        let near = near.filter(|near| self.parts.get(*near).is_some_and(has));
        if let Some(part) = near {
            return Ok((part.to_owned(), Some(name.to_owned())));
        }
        if self.parts.contains_key(name) {
            return Ok((name.to_owned(), None));
        }
        let mut hosts = self.parts.iter().filter(|(_, placed)| has(placed));
        match (hosts.next(), hosts.next()) {
            (Some((host, _)), None) => Ok((host.clone(), Some(name.to_owned()))),
            (Some((one, _)), Some((other, _))) => Err(PlanError::new(
                "annex-named-twice",
                format!("\"{one}\" and \"{other}\" both have an annex named \"{name}\""),
                "give each annex that a duct leads to a name of its own",
            )),
            (None, _) => self.part_named(name).map(|_| (name.to_owned(), None)),
        }
    }

    /// Finds the parts and annexes that a duct names, unless they are told apart already.
    fn find_ends(&self, duct: &mut Duct) -> Result<(), PlanError> {
        if duct.from_annex.is_none() {
            let found = self.end_named(&duct.from, None);
            (duct.from, duct.from_annex) = found.map_err(|error| error.at_key("from"))?;
        }
        if let Some(to) = duct.to.clone().filter(|_| duct.to_annex.is_none()) {
            // From an annex, the name of its chamber means the chamber.
            let found = self.end_named(&to, Some(&duct.from));
            let (to, annex) = found.map_err(|error| error.at_key("to"))?;
            (duct.to, duct.to_annex) = (Some(to), annex);
        }
        Ok(())
    }

    /// Adds a lid. What it names may be a part or an annex of one.
    ///
    /// # Errors
    /// When the part is not there or already has a lid, or a size cannot be built.
    pub fn with_lid(mut self, mut lid: Lid) -> Result<Plan, PlanError> {
        let near = lid.annex.as_ref().map(|_| lid.part.as_str());
        let found = self.end_named(lid.name(), near);
        (lid.part, lid.annex) = found.map_err(|error| error.at_key("part"))?;
        let same = |other: &&Lid| (&other.part, &other.annex) == (&lid.part, &lid.annex);
        if self.lids.iter().any(|other| same(&other)) {
            return Err(PlanError::new(
                "lid-twice",
                format!("\"{}\" already has a lid", lid.name()),
                "give each part one lid; `pieces` says how many slabs it is cast in",
            )
            .at_key("part"));
        }
        if lid.depth > THICKEST_LID || lid.overhang > FURTHEST_OVERHANG {
            let (key, size, most) = if lid.depth > THICKEST_LID {
                ("depth", lid.depth, THICKEST_LID)
            } else {
                ("overhang", lid.overhang, FURTHEST_OVERHANG)
            };
            return Err(PlanError::new(
                "size-too-large",
                format!("{size} is more than a lid is built with, {most}"),
                "check the unit that was written",
            )
            .at_key(key));
        }
        if !lid.depth.is_positive() {
            return Err(PlanError::new(
                "size-not-positive",
                format!("a lid {} thick cannot be cast", lid.depth),
                "write a depth above zero, such as 60.mm",
            )
            .at_key("depth"));
        }
        if lid.pieces == 0 || lid.pieces > MOST_LID_PIECES {
            return Err(PlanError::new(
                "pieces-out-of-range",
                format!("a lid of {} pieces cannot be cast", lid.pieces),
                format!("write a whole number from 1 to {MOST_LID_PIECES}"),
            )
            .at_key("pieces"));
        }
        self.lids.push(lid);
        self.check_room()?;
        Ok(self)
    }

    /// Adds something to mind, which every review of the plan prints; what it says already is said once.
    ///
    /// # Errors
    /// When it is empty or longer than a caution is, or there are too many.
    pub fn with_caution(mut self, text: &str) -> Result<Plan, PlanError> {
        let text = text.trim();
        if text.is_empty() {
            return Err(PlanError::new(
                "caution-empty",
                "a caution needs a text",
                "write what can hurt, what to mind, and whom to ask",
            )
            .at_key("text"));
        }
        if text.chars().count() > LONGEST_CAUTION {
            return Err(PlanError::new(
                "caution-too-long",
                format!("a caution may have up to {LONGEST_CAUTION} characters"),
                "nobody reads more: say it shorter, or in several",
            )
            .at_key("text"));
        }
        if self.cautions.iter().any(|known| known == text) {
            return Ok(self);
        }
        if self.cautions.len() >= MOST_CAUTIONS {
            return Err(PlanError::new(
                "too-many-cautions",
                format!("more than {MOST_CAUTIONS} cautions in one plan"),
                "keep those that matter most",
            ));
        }
        self.cautions.push(text.to_owned());
        Ok(self)
    }

    fn check_room(&self) -> Result<(), PlanError> {
        if self.parts.len() + self.ducts.len() + self.lids.len() > MOST_PARTS {
            return Err(PlanError::new(
                "too-many-parts",
                format!("more than {MOST_PARTS} parts, ducts and lids in one plan"),
                "split the work into several plans",
            ));
        }
        Ok(())
    }

    /// The mortar that a part is laid in.
    pub fn mortar_of(&self, part: &str) -> &MortarChoice {
        let own = self.parts.get(part).map(|placed| &placed.part.own);
        own.and_then(|own| own.mortar.as_ref())
            .unwrap_or(&self.mortar)
    }

    /// Whether a part is fired: said so, or joined by a duct to another part.
    pub fn is_fired(&self, name: &str) -> bool {
        self.parts
            .get(name)
            .is_some_and(|placed| placed.part.burns())
            || self
                .ducts
                .iter()
                .any(|duct| duct.from == name || duct.to.as_deref() == Some(name))
    }

    /// Whether any part is fired.
    pub fn has_fire(&self) -> bool {
        self.parts.keys().any(|name| self.is_fired(name))
    }
}
