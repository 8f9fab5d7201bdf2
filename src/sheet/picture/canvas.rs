//! A scene drawn with characters: who lies at each point of a lattice, and a line wherever two neighbours differ.

use std::collections::BTreeSet;

use super::BETWEEN_LOOKS;
use super::outline::Place;
use super::seen::{Fill, HALF_JOINT, Scene, Shape};
use crate::stop;

/// Which characters are used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pen {
    /// Box lines and fractions.
    Lines,
    /// Nothing beyond ASCII.
    Plain,
}

impl Pen {
    /// The pen for a terminal that shows ASCII alone, or for any other.
    pub const fn fitting(ascii: bool) -> Pen {
        if ascii { Pen::Plain } else { Pen::Lines }
    }

    /// The character for lines that leave a cell upwards, to the right, downwards and to the left.
    fn line(self, arms: [bool; 4]) -> char {
        let [up, right, down, left] = arms;
        match self {
            Pen::Plain => match (up || down, left || right) {
                (true, true) => '+',
                (true, false) => '|',
                (false, true) => '-',
                (false, false) => ' ',
            },
            Pen::Lines => match (up, right, down, left) {
                (false, false, false, false) => ' ',
                (true, true, true, true) => '┼',
                (true, true, true, false) => '├',
                (true, false, true, true) => '┤',
                (false, true, true, true) => '┬',
                (true, true, false, true) => '┴',
                (false, true, true, false) => '┌',
                (false, false, true, true) => '┐',
                (true, true, false, false) => '└',
                (true, false, false, true) => '┘',
                (true | false, false, true | false, false) => '│',
                (false, true | false, false, true | false) => '─',
            },
        }
    }

    /// The character that fills a region.
    pub(super) fn fill(self, fill: Fill) -> char {
        match (fill, self) {
            (Fill::Blank, _) => ' ',
            (Fill::Stone, Pen::Lines) => '▒',
            (Fill::Stone, Pen::Plain) => '#',
            (Fill::Coping, Pen::Lines) => '▓',
            (Fill::Coping, Pen::Plain) => '%',
            (Fill::Concrete, Pen::Lines) => '░',
            (Fill::Concrete, Pen::Plain) => ':',
            (Fill::Base, _) => '.',
        }
    }
}

/// The window that is drawn and how large its cells are, in nanometres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Window {
    /// Left edge of the first column and top of the first row.
    pub(super) corner: Place,
    pub(super) columns: usize,
    pub(super) rows: usize,
    /// Width and height of a cell.
    pub(super) cell: (f64, f64),
}

/// The window filled: characters row by row, and who lies where.
pub(super) struct Canvas {
    window: Window,
    pub(super) cells: Vec<Vec<char>>,
    /// Region of each cell without a line; none where nothing is or a line runs.
    regions: Vec<Vec<Option<usize>>>,
    /// The regions that lie at any point.
    pub(super) seen: BTreeSet<usize>,
}

impl Canvas {
    pub(super) fn draw(scene: &Scene, window: Window, pen: Pen) -> Canvas {
        let points = lattice(scene, &window);
        let at = |row: usize, column: usize| {
            points
                .get(row * (window.columns + 1) + column)
                .copied()
                .flatten()
        };
        let mut cells = Vec::with_capacity(window.rows);
        let mut regions = Vec::with_capacity(window.rows);
        for row in 0..window.rows {
            let mut line = Vec::with_capacity(window.columns);
            let mut known = Vec::with_capacity(window.columns);
            for column in 0..window.columns {
                let (a, b) = (at(row, column), at(row, column + 1));
                let (c, d) = (at(row + 1, column), at(row + 1, column + 1));
                let arms = [a != b, b != d, c != d, a != c];
                if arms.contains(&true) {
                    line.push(pen.line(arms));
                    known.push(None);
                } else {
                    let region = a.and_then(|region| scene.regions.get(region));
                    line.push(region.map_or(' ', |region| pen.fill(region.fill)));
                    known.push(a);
                }
            }
            cells.push(line);
            regions.push(known);
        }
        Canvas {
            window,
            cells,
            regions,
            seen: points.into_iter().flatten().collect(),
        }
    }

    /// Writes a text in the middle of a region; false where it has no room for it.
    pub(super) fn label(&mut self, region: usize, text: &str) -> bool {
        let wide = text.chars().count();
        let Some((row, from, to)) = self.best_run(region, wide) else {
            return false;
        };
        let start = from + (to - from - wide) / 2;
        if let Some(line) = self.cells.get_mut(row) {
            for (cell, sign) in line.iter_mut().skip(start).zip(text.chars()) {
                *cell = sign;
            }
        }
        true
    }

    /// The stretch of a row that holds a text of so many characters nearest to the middle of the region's height.
    fn best_run(&self, region: usize, wide: usize) -> Option<(usize, usize, usize)> {
        let mut runs: Vec<(usize, usize, usize)> = Vec::new();
        for (row, line) in self.regions.iter().enumerate() {
            let mut from = None;
            for (column, cell) in line.iter().chain([&None]).enumerate() {
                let here = *cell == Some(region);
                match (here, from) {
                    (true, None) => from = Some(column),
                    (false, Some(start)) => {
                        runs.push((row, start, column));
                        from = None;
                    }
                    _ => {}
                }
            }
        }
        let rows = runs.iter().map(|run| run.0);
        let middle = (rows.clone().min()? + rows.max()?) as f64 / 2.0;
        let wide_enough = runs.into_iter().filter(|run| run.2 - run.1 >= wide);
        // The longest of the runs that are equally near, so that a name stands in the wider half of a cut region.
        let far = |run: &(usize, usize, usize)| (run.0 as f64 - middle).abs();
        wide_enough.min_by(|a, b| {
            let longer = (b.2 - b.1).cmp(&(a.2 - a.1));
            far(a).total_cmp(&far(b)).then(longer)
        })
    }

    /// The row that a height falls into, if it is in the window.
    pub(super) fn row_of(&self, v: f64) -> Option<usize> {
        let row = ((self.window.corner.1 - v) / self.window.cell.1).floor();
        (row >= 0.0 && row < self.window.rows as f64).then_some(row as usize)
    }
}

/// The region at each corner of the cells, row by row from the top.
fn lattice(scene: &Scene, window: &Window) -> Vec<Option<usize>> {
    let (columns, rows) = (window.columns + 1, window.rows + 1);
    let mut nearest: Vec<Option<(f64, f64, usize)>> = vec![None; columns * rows];
    let (left, top) = window.corner;
    let (wide, high) = window.cell;
    let steps = |from: f64, to: f64, most: usize| {
        let from = from.ceil().max(0.0) as usize;
        let to = (to.floor() + 1.0).clamp(0.0, most as f64) as usize;
        from..to
    };
    let mut draw = |shape: &Shape| {
        let margin = if shape.jointed { HALF_JOINT } else { 0.0 };
        let (u, v) = shape.outline.bounds();
        let across = steps(
            (u.0 - margin - left) / wide,
            (u.1 + margin - left) / wide,
            columns,
        );
        for row in steps(
            (top - v.1 - margin) / high,
            (top - v.0 + margin) / high,
            rows,
        ) {
            for column in across.clone() {
                let place = (left + column as f64 * wide, top - row as f64 * high);
                let Some(distance) = shape.outline.distance(place).filter(|far| *far <= margin)
                else {
                    continue;
                };
                if let Some(known) = nearest.get_mut(row * columns + column) {
                    let distance = distance.hypot(shape.off);
                    let nearer =
                        known.is_none_or(|(depth, far, _)| (shape.depth, distance) < (depth, far));
                    if nearer {
                        *known = Some((shape.depth, distance, shape.region));
                    }
                }
            }
        }
    };
    for shapes in scene.shapes.chunks(BETWEEN_LOOKS) {
        if stop::asked().is_some() {
            break;
        }
        shapes.iter().for_each(&mut draw);
    }
    nearest
        .into_iter()
        .map(|known| known.map(|(_, _, region)| region))
        .collect()
}
