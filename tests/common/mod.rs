//! Plans in few words, for the tests and benchmarks of what is laid.
#![allow(dead_code, reason = "each test file uses some of these")]
#![allow(
    clippy::expect_used,
    clippy::cast_possible_wrap,
    reason = "the allowance for tests does not reach their shared functions"
)]

use std::sync::Arc;

use indexmap::IndexMap;
use perpend::layout::{Axis, Laid, Piece};
use perpend::masonry::{Catalogue, Unit};
use perpend::plan::{
    Clearances, ConcreteChoice, Core, Dimension, Duct, Heading, Ledge, Leg, Lid, Lintel,
    LintelKind, Measure, MortarChoice, Opening, Part, Placement, Plan, Relation, Rise, Setting,
    Shape, Side, SideRef, Size, Slab, Vent, Waste,
};
use perpend::quantity::{Area, Length, LengthStyle, Mass, Volume, parse_length};

/// Every bond with headers.
pub(crate) const HEADER_BONDS: [&str; 9] = [
    "header",
    "english",
    "english cross",
    "flemish",
    "flemish cross",
    "monk",
    "flemish garden",
    "english garden",
    "common",
];

/// A length as written: `"3/8 in"`.
pub(crate) fn length(text: &str) -> Length {
    parse_length(text).expect("a length")
}

/// A length in inches as written: `"3/8"`.
pub(crate) fn inch(text: &str) -> Length {
    length(&format!("{text} in"))
}

/// A length in millimetres.
pub(crate) fn mm(mm: f64) -> Length {
    Length::from_mm(mm).expect("a length")
}

/// A length in feet.
pub(crate) fn ft(ft: f64) -> Length {
    Length::from_ft(ft).expect("a length")
}

/// A size of so many units.
pub(crate) fn units(count: f64) -> Size {
    Size::units(count).expect("a size in halves")
}

/// The unit of a name.
pub(crate) fn unit(name: &str) -> Unit {
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    catalogue.unit(name).expect("a catalogue unit").clone()
}

/// A setting with a unit in stretcher bond, with its own joints where none are given.
pub(crate) fn setting(unit: Unit, head: Option<Length>, bed: Option<Length>) -> Setting {
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    let bond = catalogue.bond("stretcher").expect("the usual bond").clone();
    Setting::new(unit, head, bed, bond).expect("joints that can be laid")
}

/// An empty plan with a unit as it is meant to be laid.
pub(crate) fn bench(name: &str) -> Plan {
    plan_with(setting(unit(name), None, None))
}

/// An empty plan with a setting.
pub(crate) fn plan_with(setting: Setting) -> Plan {
    let catalogue = Catalogue::builtin().expect("the data files are sound");
    Plan {
        name: "test".to_owned(),
        setting,
        parts: IndexMap::new(),
        slab: None,
        ducts: Vec::new(),
        lids: Vec::new(),
        mortar: MortarChoice {
            mix: catalogue.mortar("1:1:6").expect("a mix"),
            bag: None,
            powder_bag: Mass::from_kg(25.0).expect("a mass"),
        },
        concrete: ConcreteChoice {
            mix: None,
            bag: Mass::from_kg(25.0).expect("a mass"),
            powder_bag: Mass::from_kg(25.0).expect("a mass"),
        },
        waste: Waste::default(),
        prices: None,
        clearances: Clearances::default(),
        on_hand: perpend::plan::OnHand::default(),
        heaps: Vec::new(),
        cautions: Vec::new(),
        style: LengthStyle::Metric,
    }
}

/// A rise in courses.
pub(crate) fn courses(count: u32) -> Rise {
    Rise::courses(i64::from(count)).expect("a number of courses")
}

/// A wall along legs.
pub(crate) fn wall_along(legs: &[(Heading, Size)], closed: bool, rise: u32) -> Part {
    let legs = legs
        .iter()
        .map(|&(heading, size)| Leg { heading, size })
        .collect();
    Part::new(Shape::Wall { legs, closed }, courses(rise)).expect("a path")
}

/// A straight wall of so many units.
pub(crate) fn wall(count: f64, rise: u32) -> Part {
    wall_along(&[(Heading::Right, units(count))], false, rise)
}

/// A chamber so many units across and deep, measured over its walls.
pub(crate) fn chamber(across: f64, deep: f64, rise: u32) -> Part {
    chamber_sized(units(across), units(deep), Measure::Outside, rise)
}

/// A chamber of these sizes.
pub(crate) fn chamber_sized(across: Size, deep: Size, measure: Measure, rise: u32) -> Part {
    let across = Dimension {
        size: across,
        measure,
    };
    let deep = Dimension {
        size: deep,
        measure,
    };
    Part::new(Shape::Chamber { across, deep }, courses(rise)).expect("a chamber")
}

/// A pier with an open middle.
pub(crate) fn pier(across: f64, deep: f64, rise: u32) -> Part {
    Part::new(
        Shape::Pier {
            across: units(across),
            deep: units(deep),
            core: Core::Open,
        },
        courses(rise),
    )
    .expect("a pier")
}

/// A plan with these parts, each beside the one before it with a clear gap of 300 mm.
pub(crate) fn plan_of(plan: Plan, parts: Vec<Part>) -> Plan {
    let mut plan = plan;
    for (index, part) in parts.into_iter().enumerate() {
        let placement = match index.checked_sub(1) {
            None => Placement::Origin,
            Some(before) => Placement::Against {
                relation: Relation::RightOf,
                other: format!("part {before}"),
                gap: Some(Size::Length(Length::mm(300))),
                align: perpend::plan::Align::Centre,
            },
        };
        plan = plan
            .with_part(&format!("part {index}"), Arc::new(part), placement)
            .expect("a part in its place");
    }
    plan
}

/// The laid work of a plan.
pub(crate) fn lay(plan: Plan) -> Laid {
    perpend::layout::lay(&Arc::new(plan)).expect("a plan that can be laid")
}

/// One part alone, laid with a catalogue unit.
pub(crate) fn lay_one(unit: &str, part: Part) -> Laid {
    lay(plan_of(bench(unit), vec![part]))
}

/// The two-chamber cabinet of the design: a firebox joined by a throat to a cabinet with three pairs of ledges.
pub(crate) fn cabinet() -> Plan {
    let side = SideRef::Side;
    let opening = |name: &str, width: f64, courses: (i64, i64)| Opening {
        lintel: Some(Lintel::of(LintelKind::Steel)),
        door: true,
        ..Opening::new(name, side(Side::Front), units(width), courses).expect("an opening")
    };
    let vent = |name: &str, on: Side, course: u32, count: u32, width: i64| Vent {
        name: name.to_owned(),
        side: side(on),
        course,
        count,
        width: Length::mm(width),
    };
    let firebox = chamber(4.0, 3.0, 9)
        .with_opening(opening("fire door", 2.0, (2, 6)))
        .and_then(|part| part.with_vent(vent("air", Side::Left, 2, 2, 80)))
        .expect("a firebox");
    let mut cabinet = chamber(4.0, 4.0, 24)
        .with_opening(opening("cabinet door", 2.0, (7, 19)))
        .and_then(|part| part.with_vent(vent("outlet", Side::Back, 22, 4, 60)))
        .expect("a cabinet");
    for course in [9, 13, 17] {
        let ledge = Ledge {
            course,
            sides: vec![Side::Left, Side::Right],
            count: 2,
            project: units(0.5),
            notch: None,
        };
        cabinet = cabinet.with_ledge(ledge).expect("a ledge");
    }
    let against = Placement::Against {
        relation: Relation::RightOf,
        other: "firebox".to_owned(),
        gap: Some(Size::Length(Length::mm(300))),
        align: perpend::plan::Align::Centre,
    };
    let duct = Duct {
        name: "throat".to_owned(),
        from: "firebox".to_owned(),
        to: Some("cabinet".to_owned()),
        side: None,
        diameter: Length::mm(150),
        course: 5,
        proud: Length::ZERO,
        shift: Length::ZERO,
        raise: Length::ZERO,
        from_annex: None,
        to_annex: None,
        head: None,
    };
    let lid = Lid {
        part: "cabinet".to_owned(),
        annex: None,
        depth: Length::mm(60),
        pieces: 2,
        overhang: Length::ZERO,
        hole: Length::ZERO,
    };
    let slab = Slab {
        strip: false,
        margin: Length::mm(100),
        depth: Length::mm(120),
        subbase: Length::mm(100),
        above_ground: Length::ZERO,
        soil: "clay".to_owned(),
    };
    let mut plan = plan_with(setting(unit("nf"), Some(Length::mm(10)), None));
    plan.slab = Some(slab);
    plan.with_part("firebox", Arc::new(firebox), Placement::Origin)
        .and_then(|plan| plan.with_part("cabinet", Arc::new(cabinet), against))
        .and_then(|plan| plan.with_duct(duct))
        .and_then(|plan| plan.with_lid(lid))
        .expect("a cabinet")
}

/// Smallest and largest place along an axis that some pieces fill; none for no pieces.
pub(crate) fn reach<'a>(
    pieces: impl IntoIterator<Item = &'a Piece>,
    axis: Axis,
) -> Option<(Length, Length)> {
    pieces
        .into_iter()
        .map(|piece| piece.cuboid().span(axis))
        .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}

/// How far pieces reach from end to end along an axis.
pub(crate) fn extent<'a>(pieces: impl IntoIterator<Item = &'a Piece>, axis: Axis) -> Length {
    let (from, to) = reach(pieces, axis).expect("a piece");
    to - from
}

/// The highest point of a course above the bed under course 1; all its pieces must be level.
pub(crate) fn top_of(laid: &Laid, course: u32) -> Length {
    let mut tops = laid
        .pieces
        .iter()
        .filter(|piece| u32::from(piece.course) == course)
        .map(|piece| piece.at.z + piece.height);
    let top = tops.next().expect("a piece in the course");
    assert!(
        tops.all(|other| other == top),
        "course {course} is not level"
    );
    top
}

/// What one more unit in one more course adds to a wall: the middle of the work, free of its ends.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cell {
    /// Units.
    pub(crate) units: i64,
    /// Mortar.
    pub(crate) mortar: Volume,
    /// Face of the wall.
    pub(crate) face: Area,
    /// Wall.
    pub(crate) bulk: Volume,
}

impl Cell {
    /// Reads the cell off four straight walls laid with a setting, as the second difference between them over one
    /// unit of length and `rise` courses.
    pub(crate) fn of(setting: &Setting, thickness: f64, rise: u32) -> Cell {
        let read = |count: f64, rise: u32| {
            let part = wall(count, rise)
                .with_thickness(thickness)
                .expect("a thickness");
            let laid = lay(plan_of(plan_with(setting.clone()), vec![part]));
            let wall = laid.parts.first().expect("the wall");
            Cell {
                units: laid.pieces.len() as i64,
                mortar: wall.joints,
                face: wall.outside.length.times(wall.outside.height),
                bulk: wall.outside.volume(),
            }
        };
        let base = 4;
        read(7.0, base + rise)
            .less(read(6.0, base + rise))
            .less(read(7.0, base).less(read(6.0, base)))
    }

    /// The difference of two cells.
    pub(crate) fn less(self, other: Cell) -> Cell {
        Cell {
            units: self.units - other.units,
            mortar: self.mortar - other.mortar,
            face: self.face - other.face,
            bulk: self.bulk - other.bulk,
        }
    }

    /// Units to so much face.
    pub(crate) fn units_in(&self, face: Area) -> f64 {
        self.units as f64 * face.ratio(self.face).expect("a face")
    }

    /// Mortar to so much face.
    pub(crate) fn mortar_in(&self, face: Area) -> Volume {
        let share = face.ratio(self.face).expect("a face");
        self.mortar.scale(share).expect("a volume")
    }
}

/// Fails unless a value is near a published one.
#[track_caller]
pub(crate) fn near(value: f64, published: f64, tolerance: f64) {
    assert!(
        (value - published).abs() <= tolerance,
        "{value} is not within {tolerance} of {published}"
    );
}
