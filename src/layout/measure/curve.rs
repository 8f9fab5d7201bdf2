//! Curved walls: how many units and bats go round, the angle they take, and where the wall stands.

use std::sync::Arc;

use super::MeasuredPart;
use super::place::place;
use super::round::MeasuredRing;
use super::sizes::courses_of;
use crate::layout::curve::{Arc as Bow, MeasuredCurve, Set, Stone, WIDEST_SWEEP};
use crate::layout::fan::{Ends, Fan, FanTask};
use crate::layout::geometry::Cuboid;
use crate::layout::heights::Heights;
use crate::layout::interval::Rules;
use crate::layout::laid::{Cut, Snapped};
use crate::layout::turned::Turned;
use crate::plan::{
    Curve, Dimension, LONGEST_SIDE, Laying, Measure, Part, Placement, PlanError, Ring, Setting,
    Side, Size, Snap,
};
use crate::quantity::Length;

/// Most half units along a curve: far above small brickwork.
const MOST_HALVES: i64 = 10_000;
/// Half units of three quarters of a unit at either end of a course of headers.
const BATS: i64 = 3;
/// A unit cut to taper keeps at least one part in this many of its face inside: common practice, no source.
const LEAST_FACE: f64 = 2.0;

/// Finds the size of a curved wall, then its place.
pub(super) fn measure_curve(
    name: &str,
    part: &Arc<Part>,
    curve: Curve,
    placement: &Placement,
    (setting, common): (Arc<Setting>, &Setting),
    others: &[MeasuredPart],
) -> Result<MeasuredPart, PlanError> {
    let unit = &setting.unit;
    let head = setting.joints.head;
    let laid = laying(part)?;
    let [along, deep, high] = laid.sizes(unit);
    let mut snapped = Vec::new();
    part.coursing.check()?;
    if !part.coursing.laid.is_empty() || !part.coursing.split.is_empty() {
        return Err(PlanError::new(
            "course-in-a-curve",
            "all courses of a curved wall are laid alike",
            "leave `laid` and `split` out, or place another part on the wall",
        )
        .at_key("laid"));
    }
    let heights_to = |courses| Heights::of(&setting.gauge, high, &part.coursing, courses, |_| high);
    let heights = courses_of(part.rise, heights_to, part.snap, &mut snapped)?;
    let courses = heights.count();
    super::check_coursing(part, courses)?;
    let bow = Bow {
        inner: curve.radius.nm() as f64,
        outer: (curve.radius + deep).nm() as f64,
        cut: curve.cut,
    };
    let site = Site {
        curve,
        bow,
        setting: &setting,
        laid,
        snap: part.snap,
    };
    let (measured, fan) = site.size(&mut snapped)?;
    let ring = Ring {
        diameter: Dimension {
            size: Size::Length(curve.radius * 2),
            measure: Measure::Inside,
        },
        laid,
        cut: curve.cut,
    };
    let task = FanTask {
        inner: curve.radius,
        depth: deep,
        unit: along,
        ends: Ends::Free(measured.sweep),
        joint: head.nominal,
        shortest: head.shortest,
        longest: head.longest,
        cut: curve.cut,
    };
    let mut round = MeasuredRing {
        ring,
        centre: (Length::ZERO, Length::ZERO),
        task,
        bend: measured.bend(&fan, (curve.radius, curve.radius + deep)),
        fan,
        holes: Vec::new(),
    };
    let flat = (Length::ZERO, Length::from_nm(1));
    let pieces = measured.all(round.centre, flat);
    let bounds = pieces
        .iter()
        .map(Turned::bounds)
        .reduce(|a, b| a.around(&b));
    let bounds = bounds.unwrap_or_default();
    let size = (bounds.length.nm(), bounds.width.nm());
    let (x, y, z) = place(placement, size, common, others)?;
    round.centre = (
        Length::from_nm(x) - bounds.at.x,
        Length::from_nm(y) - bounds.at.y,
    );
    let base = Length::from_nm(z);
    let outside = super::cuboid(
        (x, x + size.0),
        (y, y + size.1),
        (base, base + heights.top_of(courses)),
    );
    let mut found = MeasuredPart {
        name: name.to_owned(),
        part: Arc::clone(part),
        rules: Rules {
            unit: along.nm(),
            joint: head.nominal.nm(),
            shortest_joint: head.shortest.nm(),
            longest_joint: head.longest.nm(),
            parts: setting.bond.parts,
            fractions: setting.bond.pieces.clone(),
            least_lap: along.nm() / 4,
            shortest_piece: along.nm() / 2,
        },
        bond: setting.bond.clone(),
        bonded: false,
        between: Vec::new(),
        heights,
        unit_width: unit.width,
        unit_height: unit.height,
        upright: Vec::new(),
        coping: None,
        courses,
        base,
        closed: false,
        thickness: deep,
        leaves: Vec::new(),
        whole: Vec::new(),
        outside,
        inside: None,
        snapped,
        openings: Vec::new(),
        vents: Vec::new(),
        ledges: Vec::new(),
        core: false,
        sides: 0,
        branches: Vec::new(),
        hearting: Vec::new(),
        compartments: Vec::new(),
        body: outside,
        round: Some(round),
        curve: Some(measured),
        lines: None,
        setting: Arc::clone(&setting),
    };
    found.measure_holes()?;
    Ok(found)
}

/// Half a unit thick it is laid of stretchers, one unit thick of headers.
fn laying(part: &Part) -> Result<Laying, PlanError> {
    match (part.thickness, part.leaves) {
        (1, None) => Ok(Laying::Stretcher),
        (2, None) => Ok(Laying::Header),
        _ => Err(PlanError::new(
            "curve-too-thick",
            "a curved wall is laid of stretchers half a unit thick, or of headers one unit thick",
            "write thickness: 0.5 or 1, or place two curved walls one behind the other",
        )
        .at_key(if part.leaves.is_some() {
            "leaves"
        } else {
            "thickness"
        })),
    }
}

/// The angle that a curve takes, its odd and even courses, and the joint of the odd ones.
type Filled = (f64, [Vec<Set>; 2], f64);

/// What a curved wall is sized by.
struct Site<'a> {
    curve: Curve,
    bow: Bow,
    setting: &'a Setting,
    laid: Laying,
    snap: Snap,
}

impl Site<'_> {
    /// The stones of odd and of even courses, for so many half units along the hollow face; none where they do not break
    /// joint. Bats are cut to the joint that is laid, so that they take as much of the curve as what they stand for.
    fn rows(&self, halves: i64, joint: f64) -> Option<[Vec<Stone>; 2]> {
        let unit = &self.setting.unit;
        let joint = joint.round() as i64;
        let whole = |laid: Laying| Stone {
            width: laid.sizes(unit)[0].nm(),
            cut: Cut::Whole,
            double: false,
        };
        let many = |stone: Stone, count: i64| vec![stone; usize::try_from(count).unwrap_or(0)];
        if self.laid == Laying::Header {
            let bat = Stone {
                // As long as a header and a half with the joint between them.
                width: i64::midpoint(3 * unit.width.nm(), joint),
                cut: Cut::Bat(3, 4),
                double: true,
            };
            let header = whole(Laying::Header);
            let between = halves - BATS;
            let even = [vec![bat], many(header, between), vec![bat]].concat();
            return (between >= 0).then(|| [many(header, halves), even]);
        }
        let bat = Stone {
            width: (unit.length.nm() - joint) / 2,
            cut: Cut::Bat(1, 2),
            double: false,
        };
        let unit = whole(Laying::Stretcher);
        let left = halves % 2;
        let odd = [many(unit, halves / 2), many(bat, left)].concat();
        let even = [vec![bat], many(unit, (halves - 1) / 2), many(bat, 1 - left)].concat();
        (halves >= 2).then_some([odd, even])
    }

    /// The joint at the face that counts with which odd courses are laid where their ends are free: nominal in the middle of
    /// the wall's thickness, but not thinner at the hollow face than may be; nominal where units are cut.
    fn free_joint(&self) -> f64 {
        let head = self.setting.joints.head;
        let nominal = head.nominal.nm() as f64;
        if self.bow.cut {
            return nominal;
        }
        let stone = Stone {
            width: self.laid.sizes(&self.setting.unit)[0].nm(),
            cut: Cut::Whole,
            double: false,
        };
        let (row, _) = self.bow.row(&[stone, stone], nominal);
        let (inner, outer) = self.bow.joints(&row);
        (nominal - (outer - inner) / 2.0).max(head.shortest.nm() as f64)
    }

    fn refused(&self, why: &str) -> PlanError {
        PlanError::new(
            "curve-does-not-fit",
            format!(
                "a wall curved by {} cannot be laid {why}",
                self.curve.radius
            ),
            "take a larger radius, another length, or thickness: 1, whose headers are narrower along the curve",
        )
        .at_key("radius")
    }

    /// Its rows for a number of half units: with free ends, or over a sweep.
    fn fill(&self, halves: i64, sweep: Option<f64>) -> Option<Filled> {
        let widest = self.setting.joints.head.longest.nm() as f64 * 4.0;
        let mut joint = self.free_joint();
        let (first, even, sweep) = match sweep {
            None => {
                let [odd, even] = self.rows(halves, joint)?;
                let (row, sweep) = self.bow.row(&odd, joint);
                (row, even, sweep)
            }
            Some(sweep) => {
                // The joint that the first bats leave is near enough for those that are laid.
                let [odd, _] = self.rows(halves, joint)?;
                joint = self.bow.row_of(&odd, sweep, widest)?.1;
                let [odd, even] = self.rows(halves, joint)?;
                let (row, found) = self.bow.row_of(&odd, sweep, widest)?;
                joint = found;
                (row, even, sweep)
            }
        };
        let (second, _) = self.bow.row_of(&even, sweep, widest)?;
        Some((sweep, [first, second], joint))
    }

    /// Brings the length to half units, or takes it as it is and finds the units that fit best.
    fn size(&self, snapped: &mut Vec<Snapped>) -> Result<(MeasuredCurve, Fan), PlanError> {
        let radius = self.bow.inner;
        let head = self.setting.joints.head;
        let module = (self.setting.unit.length + head.nominal).nm() as f64 / 2.0;
        let filled = match self.curve.length {
            Size::HalfUnits(halves) if halves <= MOST_HALVES => self.fill(halves, None),
            Size::HalfUnits(_) => None,
            Size::Length(asked) => {
                if asked > LONGEST_SIDE {
                    return Err(self.refused("as long as that"));
                }
                let near = ((asked.nm() as f64) / module).round() as i64;
                let tried = (near - 4).max(2)..=near + 4;
                let sweep = asked.nm() as f64 / radius;
                let exact = self.snap == Snap::Exact;
                let all = tried.filter_map(|halves| self.fill(halves, exact.then_some(sweep)));
                let long = |found: f64| found * radius - asked.nm() as f64;
                let grain = 1.0;
                let mut all: Vec<_> = all.collect();
                match self.snap {
                    Snap::Up => all.retain(|(found, ..)| long(*found) > -grain),
                    Snap::Down => all.retain(|(found, ..)| long(*found) < grain),
                    Snap::Nearest | Snap::Exact => {}
                }
                let off = |(found, _, joint): &Filled| {
                    if exact {
                        (joint - self.free_joint()).abs()
                    } else {
                        long(*found).abs()
                    }
                };
                all.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))
            }
        };
        let (sweep, rows, joint) =
            filled.ok_or_else(|| self.refused("with whole and half units"))?;
        if sweep > WIDEST_SWEEP {
            return Err(PlanError::new(
                "curve-closes",
                format!("a curve {:.0}° round meets itself", sweep.to_degrees()),
                "build a ring(#{ inside: ... }) instead, or make the wall shorter",
            )
            .at_key("length"));
        }
        let [odd, _] = &rows;
        let whole = |nm: f64| Length::from_nm(nm.round() as i64);
        let first = odd.first().ok_or_else(|| self.refused("without a unit"))?;
        if first.widths.0 * LEAST_FACE < first.widths.1 {
            return Err(self.refused("with units cut to taper: too little is left of each"));
        }
        let (inner, outer) = self.bow.joints(odd);
        let (inner, outer) = if odd.len() > 1 {
            (inner, outer)
        } else {
            (joint, joint)
        };
        let fan = Fan {
            count: u32::try_from(odd.len()).unwrap_or(0),
            pitch: first.half * 2.0,
            first: first.angle,
            inner_width: whole(first.widths.0),
            outer_width: whole(first.widths.1),
            inner_joint: whole(inner),
            outer_joint: whole(outer),
            end_joint: (whole(inner), whole(outer)),
        };
        if let Size::Length(asked) = self.curve.length {
            let became = whole(sweep * radius);
            snapped.push(Snapped {
                what: "length round the hollow face".to_owned(),
                asked,
                became,
                count: (became + head.nominal).nm() as f64 / (module * 2.0),
            });
        }
        let middle = match self.curve.bulges {
            Side::Front => -90.0_f64,
            Side::Right => 0.0,
            Side::Back => 90.0,
            Side::Left => 180.0,
        };
        let measured = MeasuredCurve {
            arc: self.bow,
            start: middle.to_radians() - sweep / 2.0,
            sweep,
            rows,
            leaf: self.setting.unit.width.nm(),
        };
        Ok((measured, fan))
    }
}

impl MeasuredPart {
    /// Whether a curved wall shares space in plan with another part that its box meets.
    pub(super) fn curve_meets(&self, curve: &MeasuredCurve, other: &MeasuredPart) -> bool {
        let Some(round) = &self.round else {
            return false;
        };
        let pieces = curve.all(round.centre, self.outside.heights());
        match (&other.round, &other.curve) {
            (Some(theirs), Some(bow)) => {
                let others = bow.all(theirs.centre, other.outside.heights());
                pieces
                    .iter()
                    .any(|one| others.iter().any(|two| one.overlaps(two)))
            }
            (Some(ring), None) => pieces.iter().any(|one| ring.meets_box(&one.bounds())),
            (None, _) => {
                let walls = other.wall_boxes();
                let meets = |wall: &Cuboid| pieces.iter().any(|one| one.overlaps_box(wall));
                walls.iter().any(meets)
            }
        }
    }
}
