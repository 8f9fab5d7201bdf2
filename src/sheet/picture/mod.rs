//! Pictures of the work in text: a course from above, a side, a section, drawn to scale.

mod canvas;
mod legend;
mod outline;
mod pair;
mod seen;

use std::collections::BTreeMap;
use std::fmt::Write as _;

pub use canvas::Pen;
use canvas::{Canvas, Window};
use legend::Legend;
use outline::{Span, nm};
pub use pair::beside;
pub use seen::View;
use seen::{HALF_JOINT, Scene};

use crate::layout::{Axis, Laid, LaidPart};
use crate::plan::Side;
use crate::quantity::Length;
use crate::stop;

/// Fewer columns than these hold no picture.
pub const FEWEST_COLUMNS: usize = 24;
/// A unit with its joint is drawn at least so many columns wide, so that a half bat has room for its mark; a longer
/// picture is broken.
const LEAST_MODULE: usize = 6;
/// And at most so many.
const MOST_MODULE: usize = 24;
/// A character is about so many times as high as wide. Usual terminal fonts; no source.
const ASPECT: f64 = 2.0;
/// Rows of a course, and of a wall in plan, at least: one line and room for a mark.
const LEAST_ROWS: f64 = 2.0;
const LEAST_WALL_ROWS: f64 = 3.0;
/// Rows of a picture at most; taller ones are drawn smaller.
const MOST_ROWS: f64 = 400.0;
/// Things that are looked at or drawn between two questions whether the work is to stop: a few milliseconds.
const BETWEEN_LOOKS: usize = 8_192;
/// Strips that a long picture is broken into at most; a longer one is drawn smaller.
const MOST_STRIPS: f64 = 12.0;

/// What is drawn, and how.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// From where it is looked at.
    pub view: View,
    /// The one part that is drawn; all of them without it.
    pub part: Option<usize>,
    /// Columns it may take.
    pub columns: usize,
    /// The characters it is drawn with.
    pub pen: Pen,
}

/// Sizes of cells, in nanometres.
#[derive(Clone, Copy)]
struct Scale {
    cell: (f64, f64),
    stretched: bool,
}

impl Picture {
    /// The picture in text: a title, the drawing, its scale, and what its marks mean.
    pub fn text(&self, laid: &Laid) -> String {
        let scene = seen::scene(laid, &self.view, self.part);
        let scale = self.fitting_scale(laid, &scene);
        self.drawn(laid, &scene, scale)
    }

    /// The scale at which a scene fits; none where nothing is seen.
    fn fitting_scale(&self, laid: &Laid, scene: &Scene) -> Option<Scale> {
        let seen = bounds(scene)?;
        Some(self.scale(laid, seen, self.room(laid)))
    }

    /// Columns of the drawing itself.
    fn room(&self, laid: &Laid) -> usize {
        self.columns.max(FEWEST_COLUMNS) - self.gutter(laid) - 1
    }

    fn drawn(&self, laid: &Laid, scene: &Scene, scale: Option<Scale>) -> String {
        let mut out = self.title(laid);
        out.push('\n');
        let (Some((u, v)), Some(scale)) = (bounds(scene), scale) else {
            out.push_str("  nothing is there\n");
            return out;
        };
        let (gutter, room) = (self.gutter(laid), self.room(laid));
        let (wide, high) = scale.cell;
        let (columns, rows) = (cells(u, wide), cells(v, high));
        let strip = columns.min(room);
        let mut from = 0;
        let mut legend = Legend::default();
        loop {
            let window = Window {
                corner: (
                    u.0 - pad(wide) + from as f64 * wide,
                    v.0 - pad(high) + rows as f64 * high,
                ),
                columns: strip.min(columns - from),
                rows,
                cell: scale.cell,
            };
            let mut canvas = Canvas::draw(scene, window, self.pen);
            legend.label(scene, &mut canvas, self.pen);
            let numbers = self.numbers(laid, &canvas);
            if from > 0 {
                out.push('\n');
            }
            let lines = canvas.cells.iter().enumerate().map(|(row, line)| {
                let number = numbers.get(&row).map(u32::to_string).unwrap_or_default();
                let line: String = line.iter().collect();
                format!("{number:>gutter$} {line}").trim_end().to_owned()
            });
            // Cells above the highest face may hold nothing.
            for line in lines.skip_while(String::is_empty) {
                let _ = writeln!(out, "{line}");
            }
            // What is drawn by then is thrown away.
            if from + strip >= columns || stop::asked().is_some() {
                break;
            }
            // The last column is drawn again as the first of the next strip.
            from += strip - 1;
        }
        self.write_scale(laid, &mut out, scale, gutter);
        legend.write(&mut out, self.pen);
        out
    }

    fn is_above(&self) -> bool {
        matches!(self.view, View::Course { .. })
    }

    /// The parts that are drawn, but for linings: these have a gauge of their own and hide behind walls.
    fn walls<'a>(&self, laid: &'a Laid) -> impl Iterator<Item = &'a LaidPart> {
        let only = self.part;
        let parts = laid.parts.iter().enumerate();
        parts
            .filter(move |(index, _)| {
                only.is_none_or(|only| only == *index) && laid.lines(*index).is_none()
            })
            .map(|(_, part)| part)
    }

    fn title(&self, laid: &Laid) -> String {
        let of = match self.part {
            Some(part) => laid.part_name(part).to_owned(),
            None => laid.plan.name.clone(),
        };
        match &self.view {
            View::Course { part, course } => {
                let of = laid.part_name(*part);
                format!("course {course} of {of} from above, its front below")
            }
            View::Elevation(side) => format!("{} of {of}", side.word()),
            View::Section { from, at } => {
                format!(
                    "{of} cut {} from its {}, seen from the {}",
                    laid.plan
                        .style
                        .show(seen_from_edge(laid, self.part, *from, *at)),
                    edge_word(*from),
                    from.word()
                )
            }
        }
    }

    /// Columns that the numbers of courses take.
    fn gutter(&self, laid: &Laid) -> usize {
        if self.is_above() {
            return 1;
        }
        let most = laid.parts.iter().map(|part| part.courses).max();
        most.unwrap_or(0).to_string().len() + 1
    }

    fn scale(&self, laid: &Laid, (u, v): (Span, Span), room: usize) -> Scale {
        let setting = &laid.plan.setting;
        let module = nm(setting.unit.length + setting.joints.head.nominal).max(1.0);
        let fits = (LEAST_MODULE..=MOST_MODULE)
            .rev()
            .map(|columns| module / columns as f64)
            .find(|wide| cells(u, *wide) <= room);
        let wide = fits.unwrap_or_else(|| {
            let strips = MOST_STRIPS * (room - 1) as f64;
            (module / LEAST_MODULE as f64).max((u.1 - u.0) / strips)
        });
        let natural = wide * ASPECT;
        let least = if let View::Course { part, .. } = self.view {
            let thickness = laid.parts.get(part).map(|part| nm(part.thickness));
            thickness.map(|thickness| (thickness, LEAST_WALL_ROWS))
        } else {
            let gauge = self.walls(laid).map(|part| {
                let courses = f64::from(part.courses.max(1));
                nm(part.heights.top_of(part.courses)) / courses
            });
            let gauge = gauge.fold(f64::INFINITY, f64::min);
            gauge.is_finite().then_some((gauge, LEAST_ROWS))
        };
        // A course takes whole rows, so that courses look alike.
        let high = match least {
            Some((size, rows)) if self.is_above() => natural.min(size / rows),
            Some((size, rows)) => size / (size / natural).round().max(rows),
            None => natural,
        };
        let high = high.max((v.1 - v.0) / MOST_ROWS).max(1.0);
        Scale {
            cell: (wide, high),
            stretched: (high / natural - 1.0).abs() > 0.25,
        }
    }

    /// The number of the course that each row lies in, where all parts that are drawn have the same courses.
    fn numbers(&self, laid: &Laid, canvas: &Canvas) -> BTreeMap<usize, u32> {
        let drawn: Vec<_> = self.walls(laid).collect();
        let Some(tallest) = drawn.iter().max_by_key(|part| part.courses) else {
            return BTreeMap::new();
        };
        let alike = drawn.iter().all(|part| {
            part.outside.at.z == tallest.outside.at.z
                && (1..=part.courses)
                    .all(|course| part.heights.top_of(course) == tallest.heights.top_of(course))
        });
        if self.is_above() || !alike {
            return BTreeMap::new();
        }
        let base = tallest.outside.at.z;
        let middle = |course: u32| {
            let (low, high) = (
                tallest.heights.bottom_of(course),
                tallest.heights.top_of(course),
            );
            (base.nm() * 2 + low.nm() + high.nm()) as f64 / 2.0
        };
        (1..=tallest.courses)
            .filter_map(|course| Some((canvas.row_of(middle(course))?, course)))
            .collect()
    }

    fn write_scale(&self, laid: &Laid, out: &mut String, scale: Scale, gutter: usize) {
        let style = laid.plan.style;
        let wide = scale.cell.0;
        // The longest of round lengths that takes no more than a quarter of the picture.
        let room = (self.columns / 4) as f64 * wide;
        let round = BARS.into_iter().rev().find(|bar| bar.nm() as f64 <= room);
        let bar = round.unwrap_or(Length::mm(100));
        let long = ((bar.nm() as f64 / wide).round() as usize).max(2);
        let (end, line) = match self.pen {
            Pen::Lines => ('├', '─'),
            Pen::Plain => ('|', '-'),
        };
        let other = if end == '├' { '┤' } else { '|' };
        let line: String = std::iter::repeat_n(line, long - 1).collect();
        let whole = |nm: f64| style.show(Length::mm((nm / 1e6).round().max(1.0) as i64));
        let up_word = if self.is_above() { "deep" } else { "high" };
        let stretched = if scale.stretched {
            ", drawn out of scale upwards"
        } else {
            ""
        };
        let _ = writeln!(
            out,
            "{:gutter$} {end}{line}{other} {}; a character is {} wide, {} {up_word}{stretched}",
            "",
            style.show(bar),
            whole(scale.cell.0),
            whole(scale.cell.1),
        );
    }
}

/// From the edge of the window to the outermost face: faces run through the middles of cells, and nothing reaches the
/// edge.
fn pad(cell: f64) -> f64 {
    (cell / 2.0).max(HALF_JOINT + 1.0)
}

/// How many cells a stretch takes.
fn cells(span: Span, cell: f64) -> usize {
    ((span.1 - span.0 + 2.0 * pad(cell)) / cell).ceil() as usize
}

/// Round lengths for the bar that shows the scale.
const BARS: [Length; 7] = [
    Length::mm(50),
    Length::mm(100),
    Length::mm(200),
    Length::mm(500),
    Length::mm(1000),
    Length::mm(2000),
    Length::mm(5000),
];

fn edge_word(from: Side) -> &'static str {
    match from {
        Side::Front | Side::Back => "front",
        Side::Left | Side::Right => "left",
    }
}

/// How far a cut is from the front or left edge of what is drawn.
fn seen_from_edge(laid: &Laid, part: Option<usize>, from: Side, at: Length) -> Length {
    let axis = match from {
        Side::Front | Side::Back => Axis::Y,
        Side::Left | Side::Right => Axis::X,
    };
    let drawn = laid.parts.iter().enumerate();
    let drawn = drawn.filter(|(index, _)| part.is_none_or(|part| part == *index));
    let edge = drawn.map(|(_, part)| part.outside.span(axis).0).min();
    at - edge.unwrap_or(Length::ZERO)
}

fn bounds(scene: &Scene) -> Option<(Span, Span)> {
    scene
        .shapes
        .iter()
        .map(|shape| shape.outline.bounds())
        .reduce(|(u, v), (nu, nv)| {
            let hull = |a: Span, b: Span| (a.0.min(b.0), a.1.max(b.1));
            (hull(u, nu), hull(v, nv))
        })
}
