//! What the signs in a picture mean.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::canvas::{Canvas, Pen};
use super::seen::{Fill, Mark, Scene};

/// What the marks and fills of a picture mean.
#[derive(Default)]
pub(super) struct Legend {
    marks: BTreeSet<Mark>,
    names: BTreeMap<String, usize>,
    fills: BTreeSet<Fill>,
    /// Marked pieces without room for their mark, by what they are.
    unmarked: BTreeMap<String, usize>,
}

impl Legend {
    /// Marks and names what a canvas shows.
    pub(super) fn label(&mut self, scene: &Scene, canvas: &mut Canvas, pen: Pen) {
        let seen = std::mem::take(&mut canvas.seen);
        for index in seen {
            let Some(region) = scene.regions.get(index) else {
                continue;
            };
            self.fills.insert(region.fill);
            if let Some(mark) = &region.mark {
                let sign = match pen {
                    Pen::Lines => &mark.sign.0,
                    Pen::Plain => &mark.sign.1,
                };
                if canvas.label(index, sign) {
                    self.marks.insert(mark.clone());
                } else {
                    *self.unmarked.entry(mark.words.clone()).or_default() += 1;
                }
            }
            if let Some(name) = &region.name
                && !canvas.label(index, name)
            {
                let next = self.names.len() + 1;
                let number = *self.names.entry(name.clone()).or_insert(next);
                canvas.label(index, &number.to_string());
            }
        }
    }

    pub(super) fn write(&self, out: &mut String, pen: Pen) {
        let mut words: Vec<String> = Vec::new();
        for mark in &self.marks {
            let sign = match pen {
                Pen::Lines => &mark.sign.0,
                Pen::Plain => &mark.sign.1,
            };
            words.push(format!("{sign} {}", mark.words));
        }
        for fill in &self.fills {
            let word = match fill {
                Fill::Blank => continue,
                Fill::Stone => "lintel or lid",
                Fill::Coping => "coping",
                Fill::Concrete => "slab",
                Fill::Base => "base",
            };
            words.push(format!("{} {word}", pen.fill(*fill)));
        }
        for (name, number) in &self.names {
            words.push(format!("{number} {name}"));
        }
        for (what, count) in &self.unmarked {
            words.push(format!("{count} × {what} too small to mark"));
        }
        if !words.is_empty() {
            let _ = writeln!(out, "  {}", words.join("; "));
        }
    }
}
