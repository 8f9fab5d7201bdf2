use std::borrow::Cow;

use serde::Serialize;

use crate::plan::{Part, Plan, Shape};

/// A hazard that goes with the work, whatever the plan.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// What can hurt.
    pub hazard: &'static str,
    /// What to mind.
    pub text: Cow<'static, str>,
    /// Where it comes from.
    pub source: &'static str,
}

/// The hazard of a caution that a plan says of itself.
const OWN: &str = "this plan";

/// Goes with every plan.
const ALWAYS: &[Caution] = &[
    Caution {
        hazard: "codes",
        text: Cow::Borrowed(
            "This is arithmetic, not an approval. Local codes, the fire authority and licensed practice decide what may be built and used.",
        ),
        source: "general",
    },
    Caution {
        hazard: "silica dust",
        text: Cow::Borrowed(
            "Cut wet or outdoors with a fitted mask; dry cutting throws silica dust that scars the lungs for good.",
        ),
        source: "29 CFR 1926.1153 (limit 50 µg/m³), Table 1",
    },
    Caution {
        hazard: "cement burns",
        text: Cow::Borrowed(
            "Wet mortar and concrete are caustic and the pain comes late: gloves, boots, eye protection; wash at once.",
        ),
        source: "HSE CIS 26 rev. 2",
    },
    Caution {
        hazard: "lifting",
        text: Cow::Borrowed(
            "Bags, lids and lintels hurt backs and crush fingers: see the masses, share the lift, keep hands out from under.",
        ),
        source: "NIOSH lifting equation, load constant 23 kg (51 lb)",
    },
    Caution {
        hazard: "green work",
        text: Cow::Borrowed(
            "Fresh masonry has no strength: keep people and loads off, do not lean on it, raise it no more than about 1.5 m a day, shelter it from frost, rain and sun.",
        ),
        source: "BS 5628-2 lift of 1.5 m a day; BIA Technical Note 1 (June 2006): below 4.4 °C needs cold-weather measures",
    },
    Caution {
        hazard: "ground and frost",
        text: Cow::Borrowed(
            "Found on undisturbed ground below frost, or on a base that drains; soft, filled or wet ground needs advice.",
        ),
        source: "IRC R403.1.4.1; IBC 2012 Table 1806.2",
    },
];

/// Goes with every fired plan.
const FIRED: &[Caution] = &[
    Caution {
        hazard: "combustibles",
        text: Cow::Borrowed(
            "Keep fire, flue and hot walls well away from buildings, fences, trees and anything that burns; sparks travel. Ask the fire authority for the distance.",
        ),
        source: "IRC R1001.11 (2 in front and sides, 4 in back for fireplaces); US Forest Service: 10 ft cleared round open fires",
    },
    Caution {
        hazard: "carbon monoxide",
        text: Cow::Borrowed(
            "Fire and smoulder outdoors only, never in or against an enclosed space; carbon monoxide has no smell and kills.",
        ),
        source: "CPSC, charcoal warnings",
    },
    Caution {
        hazard: "drying fires",
        text: Cow::Borrowed(
            "Let the work cure, then dry it with several small fires over days; water boiling inside the masonry cracks or bursts it. No river stones.",
        ),
        source: "mason's practice for heaters: 5 to 8 days of small fires",
    },
    Caution {
        hazard: "hot parts",
        text: Cow::Borrowed(
            "Doors, lids, racks and outer faces burn skin; keep children and animals away, and water or sand at hand.",
        ),
        source: "common practice, no source",
    },
    Caution {
        hazard: "falling parts",
        text: Cow::Borrowed(
            "Heat cracks lids and lintels: look at them before each fire and keep heads and hands from under them.",
        ),
        source: "common practice, no source",
    },
    Caution {
        hazard: "mortar and heat",
        text: Cow::Borrowed(
            "Common mortar and common brick are not made for flame: line what the fire touches with firebrick in refractory mortar, free to move.",
        ),
        source: "IRC R1001.5; ASTM C27 or C1261 firebrick, ASTM C199 mortar",
    },
];

/// Goes with free-standing walls.
const WALLS: &[Caution] = &[Caution {
    hazard: "falling walls",
    text: Cow::Borrowed(
        "Free-standing walls blow and lean over and kill: keep within tabled heights, no climbing, no gate or soil against them without advice.",
    ),
    source: "Planning Portal, garden walls",
}];

/// Goes with walls that hold soil.
const SOIL: &[Caution] = &[Caution {
    hazard: "soil",
    text: Cow::Borrowed(
        "Soil, and more so wet soil, pushes walls over. Keep it low, let water out, keep children from walking the top; anything higher than a bed needs advice.",
    ),
    source: "Planning Portal, garden walls: retained soil needs expert advice",
}];

/// The cautions that apply to a plan.
pub fn cautions(plan: &Plan) -> Vec<Caution> {
    let mut found = ALWAYS.to_vec();
    if plan.has_fire() {
        found.extend_from_slice(FIRED);
    }
    let is_wall = |part: &Part| matches!(part.shape, Shape::Wall { .. });
    if plan.parts.values().any(|placed| is_wall(&placed.part)) {
        found.extend_from_slice(WALLS);
    }
    if plan.parts.values().any(|placed| placed.part.retains) {
        found.extend_from_slice(SOIL);
    }
    found.extend(plan.cautions.iter().map(|text| Caution {
        hazard: OWN,
        text: Cow::Owned(text.clone()),
        source: "the plan",
    }));
    found
}
