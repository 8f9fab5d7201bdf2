//! A comparison drawn as a chart in SVG: one figure against another, a sign and a kind of line for each series, so that it
//! is read in black and white.

use std::fmt::Write as _;

use crate::compare::{Comparison, Reading, Row, Slot};
use crate::quantity::{Length, LengthStyle};

/// Most points in one chart: more are a blot.
pub const MOST_POINTS: usize = 2_000;
/// Most series in one chart: as many as signs and lines can be told apart.
pub const MOST_SERIES: usize = 8;

/// Size of the picture, in its own units.
const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 480.0;
/// Room round the field: for figures and titles of the axes, and for the legend on the right.
const LEFT: f64 = 90.0;
const RIGHT: f64 = 190.0;
/// As [`RIGHT`], where there is no legend.
const RIGHT_ALONE: f64 = 40.0;
const TOP: f64 = 48.0;
const BOTTOM: f64 = 72.0;
/// As [`BOTTOM`], where words are slanted.
const BOTTOM_SLANTED: f64 = 130.0;
/// Width of a letter, about: sans-serif letters are a little over half as wide as they are high.
const LETTER: f64 = 7.5;
/// Steps between figures on an axis, about.
const STEPS: f64 = 6.0;
/// Half the size of a sign.
const SIGN: f64 = 4.5;
/// Distance of lines of the legend.
const LEGEND_LINE: f64 = 22.0;

/// What is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChartTask {
    /// What runs across.
    pub across: Slot,
    /// What runs up.
    pub up: Slot,
    /// The axis of which each value is a series of its own; none for one series.
    pub by: Option<usize>,
}

/// Why there is no chart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoChart {
    /// What runs up is no number.
    NotNumbers,
    /// No row has both figures.
    NoPoints,
    /// There are more than [`MOST_POINTS`].
    TooManyPoints,
    /// There are more than [`MOST_SERIES`].
    TooManySeries,
}

impl NoChart {
    /// What is in the way, and what to do about it.
    pub fn words(self) -> (String, &'static str) {
        match self {
            NoChart::NotNumbers => (
                "what runs up the chart must be a number in every row".to_owned(),
                "name a column of numbers",
            ),
            NoChart::NoPoints => (
                "no variant has both figures".to_owned(),
                "look at the table: why can the variants not be built?",
            ),
            NoChart::TooManyPoints => (
                format!("more than {MOST_POINTS} points make no chart"),
                "take fewer rows first",
            ),
            NoChart::TooManySeries => (
                format!("more than {MOST_SERIES} series cannot be told apart"),
                "take fewer rows first, or another axis for the series",
            ),
        }
    }
}

struct Point {
    across: f64,
    up: f64,
    series: usize,
    row: usize,
}

/// A scale along one axis.
struct Scale {
    least: f64,
    most: f64,
    step: f64,
    /// Words in place of figures.
    words: Vec<String>,
    unit: &'static str,
}

/// Draws the chart.
///
/// # Errors
/// Why there is none.
pub fn chart_svg(
    comparison: &Comparison,
    task: ChartTask,
    style: LengthStyle,
) -> Result<String, NoChart> {
    let across_words = words_across(comparison, task.across);
    let mut series: Vec<String> = Vec::new();
    let mut points = Vec::new();
    let mut units = ("", "");
    for row in &comparison.rows {
        let across = comparison.reading(row, task.across);
        let up = comparison.reading(row, task.up);
        let Some((across, up)) = across.zip(up) else {
            continue;
        };
        let (up, up_unit) = measured(up, style).ok_or(NoChart::NotNumbers)?;
        let (across, across_unit) = match measured(across, style) {
            Some(found) => found,
            None => (place_of(&across_words, &across.show(style)), ""),
        };
        units = (across_unit, up_unit);
        let name = series_name(comparison, row, task.by, style);
        let at = series.iter().position(|known| *known == name);
        let at = at.unwrap_or_else(|| {
            series.push(name);
            series.len() - 1
        });
        points.push(Point {
            across,
            up,
            series: at,
            row: row.number,
        });
    }
    if points.is_empty() {
        return Err(NoChart::NoPoints);
    }
    if points.len() > MOST_POINTS {
        return Err(NoChart::TooManyPoints);
    }
    if series.len() > MOST_SERIES {
        return Err(NoChart::TooManySeries);
    }
    let across = Scale::over(
        points.iter().map(|point| point.across),
        units.0,
        across_words,
    );
    let up = Scale::over(points.iter().map(|point| point.up), units.1, Vec::new());
    let names = (
        name_of(comparison, task.across),
        name_of(comparison, task.up),
    );
    let by = task
        .by
        .and_then(|axis| comparison.axes.get(axis))
        .map(|axis| axis.name.as_str());
    Ok(draw(
        &comparison.title,
        names,
        by,
        &series,
        &points,
        &across,
        &up,
    ))
}

/// The words that run across, where what does is no number: in the order of their axis, or as they come.
fn words_across(comparison: &Comparison, slot: Slot) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut add = |reading: &Reading| {
        if reading.number().is_none() {
            let word = reading.show(LengthStyle::Metric);
            if !words.contains(&word) {
                words.push(word);
            }
        }
    };
    match slot {
        Slot::Axis(axis) => {
            let values = comparison.axes.get(axis).map(|axis| axis.values.iter());
            values.into_iter().flatten().for_each(&mut add);
        }
        Slot::Column(_) => {
            let rows = comparison.rows.iter();
            rows.filter_map(|row| comparison.reading(row, slot))
                .for_each(&mut add);
        }
    }
    words
}

fn place_of(words: &[String], word: &str) -> f64 {
    let at = words.iter().position(|known| known == word);
    at.unwrap_or(words.len()) as f64
}

fn name_of(comparison: &Comparison, slot: Slot) -> &str {
    match slot {
        Slot::Axis(axis) => comparison.axes.get(axis).map(|axis| axis.name.as_str()),
        Slot::Column(column) => comparison
            .columns
            .get(column)
            .map(|column| column.heading.as_str()),
    }
    .unwrap_or_default()
}

fn series_name(
    comparison: &Comparison,
    row: &Row,
    by: Option<usize>,
    style: LengthStyle,
) -> String {
    let reading = by.and_then(|axis| comparison.reading(row, Slot::Axis(axis)));
    reading.map(|one| one.show(style)).unwrap_or_default()
}

/// A reading as a number with the unit that people read it in.
fn measured(reading: &Reading, style: LengthStyle) -> Option<(f64, &'static str)> {
    let inches = matches!(style, LengthStyle::FeetInches { .. });
    match reading {
        Reading::Length(length) if inches => Some((inches_of(*length), "in")),
        Reading::Area(area) if inches => Some((area.to_ft2(), "ft²")),
        Reading::Volume(volume) if inches => Some((volume.to_ft3(), "ft³")),
        Reading::Mass(mass) if inches => Some((mass.lb(), "lb")),
        Reading::Area(area) => Some((area.to_m2(), "m²")),
        Reading::Volume(volume) => Some((volume.to_litre(), "L")),
        Reading::Density(density) => Some((density.kg_m3(), "kg/m³")),
        Reading::Temperature(temperature) => Some((temperature.deg_c(), "°C")),
        _ => Some((reading.number()?, reading.unit())),
    }
}

fn inches_of(length: Length) -> f64 {
    /// Millimetres of an inch, exact (international yard and pound agreement, 1959).
    const INCH_MM: f64 = 25.4;
    length.to_mm() / INCH_MM
}

impl Scale {
    fn over(values: impl Iterator<Item = f64>, unit: &'static str, words: Vec<String>) -> Scale {
        if !words.is_empty() {
            // A word stands in the middle of its own room.
            return Scale {
                least: -0.5,
                most: words.len() as f64 - 0.5,
                step: 1.0,
                words,
                unit: "",
            };
        }
        let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
        for value in values {
            least = least.min(value);
            most = most.max(value);
        }
        if most - least < f64::EPSILON * most.abs().max(1.0) {
            let room = (most.abs() * 0.1).max(1.0);
            least -= room;
            most += room;
        }
        let step = round_step((most - least) / STEPS);
        Scale {
            least: (least / step).floor() * step,
            most: (most / step).ceil() * step,
            step,
            words,
            unit,
        }
    }

    /// Where a value stands, from 0 to 1.
    fn share(&self, value: f64) -> f64 {
        (value - self.least) / (self.most - self.least)
    }

    /// The figures along it with their places.
    fn marks(&self) -> Vec<(f64, String)> {
        if !self.words.is_empty() {
            let words = self.words.iter().enumerate();
            return words.map(|(at, word)| (at as f64, word.clone())).collect();
        }
        let count = ((self.most - self.least) / self.step).round() as usize;
        let decimals = (-self.step.log10().floor()).max(0.0) as usize;
        (0..=count)
            .map(|at| {
                let value = self.least + at as f64 * self.step;
                // A sum that ends just below zero is zero.
                let value = if value.abs() < self.step / 2.0 {
                    0.0
                } else {
                    value
                };
                (value, format!("{value:.decimals$}"))
            })
            .collect()
    }

    /// Whether the words along it would run into each other.
    fn is_crowded(&self, length: f64) -> bool {
        let letters = self.words.iter().map(|word| word.chars().count()).max();
        letters.is_some_and(|letters| letters as f64 * LETTER > length / self.words.len() as f64)
    }

    fn title(&self, name: &str) -> String {
        if self.unit.is_empty() {
            name.to_owned()
        } else {
            format!("{name} ({})", self.unit)
        }
    }
}

/// The next of 1, 2 and 5 times a power of ten that is not smaller.
fn round_step(step: f64) -> f64 {
    let power = 10_f64.powf(step.log10().floor());
    let rounded = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * power)
        .find(|rounded| *rounded >= step * (1.0 - f64::EPSILON));
    rounded.unwrap_or(step)
}

fn draw(
    title: &str,
    names: (&str, &str),
    by: Option<&str>,
    series: &[String],
    points: &[Point],
    across: &Scale,
    up: &Scale,
) -> String {
    let right = WIDTH - if by.is_some() { RIGHT } else { RIGHT_ALONE };
    let slanted = across.is_crowded(right - LEFT);
    let foot = HEIGHT - if slanted { BOTTOM_SLANTED } else { BOTTOM };
    let x = |value: f64| LEFT + across.share(value) * (right - LEFT);
    let y = |value: f64| foot - up.share(value) * (foot - TOP);
    let (across_title, up_title) = (across.title(names.0), up.title(names.1));
    let mut svg = String::new();
    let _ = writeln!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" \
         font-family=\"sans-serif\" font-size=\"13\" role=\"img\">"
    );
    let _ = writeln!(
        svg,
        "<title>{}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>",
        escaped(&format!("{title}: {up_title} against {across_title}"))
    );
    let _ = writeln!(
        svg,
        "<text x=\"{LEFT}\" y=\"28\" font-size=\"16\">{}</text>",
        escaped(title)
    );
    for (value, words) in up.marks() {
        let y = y(value);
        let _ = writeln!(
            svg,
            "<line x1=\"{LEFT}\" y1=\"{y:.1}\" x2=\"{:.1}\" y2=\"{y:.1}\" stroke=\"#ddd\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            right,
            LEFT - 8.0,
            y + 4.5,
            escaped(&words)
        );
    }
    for (value, words) in across.marks() {
        let x = x(value);
        let _ = writeln!(
            svg,
            "<line x1=\"{x:.1}\" y1=\"{foot}\" x2=\"{x:.1}\" y2=\"{:.1}\" stroke=\"black\"/>",
            foot + 5.0
        );
        let (turn, anchor) = if slanted {
            (
                format!(" transform=\"rotate(-35 {x:.1} {:.1})\"", foot + 16.0),
                "end",
            )
        } else {
            (String::new(), "middle")
        };
        let _ = writeln!(
            svg,
            "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"{anchor}\"{turn}>{}</text>",
            foot + if slanted { 16.0 } else { 21.0 },
            escaped(&words)
        );
    }
    let _ = writeln!(
        svg,
        "<polyline points=\"{LEFT},{TOP} {LEFT},{foot} {right:.1},{foot}\" fill=\"none\" stroke=\"black\"/>"
    );
    let middle = f64::midpoint(LEFT, right);
    let _ = writeln!(
        svg,
        "<text x=\"{middle:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
        HEIGHT - 24.0,
        escaped(&across_title)
    );
    let height = f64::midpoint(TOP, foot);
    let _ = writeln!(
        svg,
        "<text x=\"24\" y=\"{height:.1}\" text-anchor=\"middle\" transform=\"rotate(-90 24 {height:.1})\">{}</text>",
        escaped(&up_title)
    );
    for (at, name) in series.iter().enumerate() {
        let mut own: Vec<&Point> = points.iter().filter(|point| point.series == at).collect();
        own.sort_by(|one, other| one.across.total_cmp(&other.across));
        // Between words there is nothing for a line to run over; two points above each other make none either.
        let rises = own
            .iter()
            .zip(own.iter().skip(1))
            .all(|(one, next)| one.across < next.across);
        if across.words.is_empty() && rises && own.len() > 1 {
            let places: Vec<String> = own
                .iter()
                .map(|point| format!("{:.1},{:.1}", x(point.across), y(point.up)))
                .collect();
            let _ = writeln!(
                svg,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"1.2\"{}/>",
                places.join(" "),
                dashes(at)
            );
        }
        for point in own {
            let place = (x(point.across), y(point.up));
            let _ = writeln!(
                svg,
                "<g><title>row {}</title>{}</g>",
                point.row,
                sign(at, place)
            );
        }
        if let Some(by) = by {
            let line = TOP + 30.0 + at as f64 * LEGEND_LINE;
            let start = right + 24.0;
            if at == 0 {
                let _ = writeln!(
                    svg,
                    "<text x=\"{start}\" y=\"{:.1}\">{}</text>",
                    TOP + 8.0,
                    escaped(by)
                );
            }
            let _ = writeln!(
                svg,
                "<line x1=\"{start}\" y1=\"{line}\" x2=\"{:.1}\" y2=\"{line}\" stroke=\"black\" stroke-width=\"1.2\"{}/>{}\
                 <text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
                start + 36.0,
                dashes(at),
                sign(at, (start + 18.0, line)),
                start + 46.0,
                line + 4.5,
                escaped(name)
            );
        }
    }
    svg.push_str("</svg>\n");
    svg
}

/// The kind of line of a series.
fn dashes(series: usize) -> &'static str {
    match series % 4 {
        0 => "",
        1 => " stroke-dasharray=\"7 4\"",
        2 => " stroke-dasharray=\"2 3\"",
        _ => " stroke-dasharray=\"9 3 2 3\"",
    }
}

/// The sign of a series at a place: four shapes, hollow and then filled.
fn sign(series: usize, (x, y): (f64, f64)) -> String {
    let fill = if series % MOST_SERIES < MOST_SERIES / 2 {
        "white"
    } else {
        "black"
    };
    let (left, right, top, foot) = (x - SIGN, x + SIGN, y - SIGN, y + SIGN);
    let shape = match series % 4 {
        0 => format!("<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{SIGN}\""),
        1 => format!(
            "<rect x=\"{left:.1}\" y=\"{top:.1}\" width=\"{0}\" height=\"{0}\"",
            2.0 * SIGN
        ),
        2 => {
            format!("<polygon points=\"{x:.1},{top:.1} {right:.1},{foot:.1} {left:.1},{foot:.1}\"")
        }
        _ => format!(
            "<polygon points=\"{x:.1},{top:.1} {right:.1},{y:.1} {x:.1},{foot:.1} {left:.1},{y:.1}\""
        ),
    };
    format!("{shape} fill=\"{fill}\" stroke=\"black\" stroke-width=\"1.2\"/>")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
