//! Two pictures beside each other at one scale, with what is not the same in both marked.

use std::collections::BTreeMap;

use super::seen::{self, Fill, Mark, Scene};
use super::{FEWEST_COLUMNS, Picture, Scale, bounds};
use crate::layout::Laid;

/// The sign of what is not so in the other picture.
const OTHERWISE: &str = "*";
/// Columns between the pictures.
const BETWEEN: usize = 3;
/// Places nearer than this are the same, in nanometres: a thousandth of a millimetre.
const SAME: f64 = 1e3;

/// Two pictures in so many columns: beside each other where there is room, else one below the other. Both start from
/// their own left edge and foot, so that the same work at another place is the same.
pub fn beside(left: (&Picture, &Laid), right: (&Picture, &Laid), columns: usize) -> String {
    let half = columns.saturating_sub(BETWEEN) / 2;
    let stacked = half < FEWEST_COLUMNS;
    let narrowed = |picture: &Picture| Picture {
        columns: if stacked { columns } else { half },
        ..picture.clone()
    };
    let pictures = (narrowed(left.0), narrowed(right.0));
    let mut scenes = (
        seen::scene(left.1, &left.0.view, left.0.part),
        seen::scene(right.1, &right.0.view, right.0.part),
    );
    let upright = !left.0.is_above() || !right.0.is_above();
    let figures = (figures(&scenes.0, upright), figures(&scenes.1, upright));
    mark_other(&mut scenes.0, &figures.0, &figures.1);
    mark_other(&mut scenes.1, &figures.1, &figures.0);
    let scales = (
        pictures.0.fitting_scale(left.1, &scenes.0),
        pictures.1.fitting_scale(right.1, &scenes.1),
    );
    let scale = match scales {
        (Some(a), Some(b)) => Some(Scale {
            cell: (a.cell.0.max(b.cell.0), a.cell.1.max(b.cell.1)),
            stretched: a.stretched || b.stretched,
        }),
        (one, other) => one.or(other),
    };
    let drawn = (
        pictures.0.drawn(left.1, &scenes.0, scale),
        pictures.1.drawn(right.1, &scenes.1, scale),
    );
    if stacked {
        return format!("{}\n{}", drawn.0, drawn.1);
    }
    joined(&drawn.0, &drawn.1, half)
}

/// What a figure is, and where: its bounds from the edge of its scene and its distance behind the nearest, in steps of
/// [`SAME`].
type Figure = ([i64; 5], Fill, Option<String>, Option<Mark>);
/// Every figure of a scene, with the regions that show it.
type Figures = BTreeMap<Figure, Vec<usize>>;

/// Every figure of a scene by what it is and where; how far back it lies counts where `deep` is set, so that a unit of the
/// back wall does not pass for one of the front.
fn figures(scene: &Scene, deep: bool) -> Figures {
    let mut found = Figures::new();
    let Some(edge) = bounds(scene) else {
        return found;
    };
    let nearest = scene.shapes.iter().map(|shape| shape.depth);
    let nearest = nearest.fold(f64::INFINITY, f64::min);
    for shape in &scene.shapes {
        let Some(region) = scene.regions.get(shape.region) else {
            continue;
        };
        let (u, v) = shape.outline.bounds();
        let steps = |place: f64, from: f64| ((place - from) / SAME).round() as i64;
        let place = [
            steps(u.0, edge.0.0),
            steps(u.1, edge.0.0),
            steps(v.0, edge.1.0),
            steps(v.1, edge.1.0),
            if deep { steps(shape.depth, nearest) } else { 0 },
        ];
        let figure = (place, region.fill, region.name.clone(), region.mark.clone());
        found.entry(figure).or_default().push(shape.region);
    }
    found
}

/// Marks the regions of a scene whose figures the other scene does not have.
fn mark_other(scene: &mut Scene, own: &Figures, other: &Figures) {
    let odd = own
        .iter()
        .filter(|(figure, _)| !other.contains_key(figure))
        .flat_map(|(_, regions)| regions);
    for region in odd {
        let Some(region) = scene.regions.get_mut(*region) else {
            continue;
        };
        // What has a name keeps it: an opening shows by its outline where it differs.
        if region.name.is_some() {
            continue;
        }
        let told = "not so in the other";
        region.mark = Some(match region.mark.take() {
            None => Mark {
                sign: (OTHERWISE.to_owned(), OTHERWISE.to_owned()),
                words: told.to_owned(),
            },
            Some(mark) if mark.words.ends_with(told) => mark,
            Some(mark) => Mark {
                sign: (
                    format!("{}{OTHERWISE}", mark.sign.0),
                    format!("{}{OTHERWISE}", mark.sign.1),
                ),
                words: format!("{}, {told}", mark.words),
            },
        });
    }
}

/// The lines of two texts beside each other.
fn joined(left: &str, right: &str, width: usize) -> String {
    let (left, right): (Vec<&str>, Vec<&str>) = (left.lines().collect(), right.lines().collect());
    let mut out = String::new();
    for at in 0..left.len().max(right.len()) {
        let (a, b) = (left.get(at).unwrap_or(&""), right.get(at).unwrap_or(&""));
        // A title or legend that is too long goes on in lines of its own.
        let (a, b) = (folded(a, width), folded(b, width));
        for at in 0..a.len().max(b.len()) {
            let line = |lines: &[String]| lines.get(at).cloned().unwrap_or_default();
            let both = format!("{:width$}{}{}", line(&a), " ".repeat(BETWEEN), line(&b));
            out.push_str(both.trim_end());
            out.push('\n');
        }
    }
    out
}

/// A line in lines of at most so many columns, broken between words.
fn folded(line: &str, width: usize) -> Vec<String> {
    if line.chars().count() <= width {
        return vec![line.to_owned()];
    }
    let indent = line.len() - line.trim_start().len();
    let mut lines: Vec<String> = Vec::new();
    let mut last = " ".repeat(indent);
    for word in line.split_whitespace() {
        if !last.trim().is_empty() && last.chars().count() + 1 + word.chars().count() > width {
            lines.push(std::mem::take(&mut last));
            last.push_str(&" ".repeat(indent + 2));
        }
        if !last.trim().is_empty() {
            last.push(' ');
        }
        last.push_str(word);
    }
    lines.push(last);
    lines
}
