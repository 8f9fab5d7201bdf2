//! Areas covered by several rectangles in plan, each place counted once.

use super::geometry::{Axis, Cuboid};
use crate::quantity::{Area, Length};

/// A rectangle in plan: from and to along x, from and to along y.
type Rectangle = ((Length, Length), (Length, Length));

/// The area that some boxes cover in plan, as disjoint rectangles in bands from front to back.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Footprint {
    rectangles: Vec<Rectangle>,
}

impl Footprint {
    /// What boxes cover, each grown by a margin on all four sides.
    pub fn of(boxes: &[Cuboid], margin: Length) -> Footprint {
        let grown: Vec<Rectangle> = boxes
            .iter()
            .map(|cuboid| {
                let grow = |(from, to): (Length, Length)| (from - margin, to + margin);
                (grow(cuboid.span(Axis::X)), grow(cuboid.span(Axis::Y)))
            })
            .collect();
        let mut edges: Vec<Length> = grown.iter().flat_map(|(_, y)| [y.0, y.1]).collect();
        edges.sort_unstable();
        edges.dedup();
        let mut rectangles: Vec<Rectangle> = Vec::new();
        for pair in edges.windows(2) {
            let [from, to] = pair else { continue };
            let mut spans: Vec<(Length, Length)> = grown
                .iter()
                .filter(|(_, y)| y.0 <= *from && y.1 >= *to)
                .map(|(x, _)| *x)
                .collect();
            spans.sort_unstable();
            for x in merged(spans) {
                // A band with the same width as the one before it goes on with it.
                let above = rectangles
                    .iter_mut()
                    .find(|(px, py)| *px == x && py.1 == *from);
                match above {
                    Some((_, y)) => y.1 = *to,
                    None => rectangles.push((x, (*from, *to))),
                }
            }
        }
        Footprint { rectangles }
    }

    /// Disjoint boxes over it between two heights.
    pub fn boxes(&self, heights: (Length, Length)) -> Vec<Cuboid> {
        self.rectangles
            .iter()
            .map(|(x, y)| Cuboid::along(Axis::X, *x, *y, heights))
            .collect()
    }

    /// Its area.
    pub fn area(&self) -> Area {
        self.rectangles
            .iter()
            .map(|(x, y)| (x.1 - x.0).times(y.1 - y.0))
            .sum()
    }

    /// Length of its edges, holes included.
    pub fn edges(&self) -> Length {
        let around: Length = self
            .rectangles
            .iter()
            .map(|(x, y)| (x.1 - x.0 + y.1 - y.0) * 2)
            .sum();
        // Where two rectangles meet, both edges are inside.
        let mut inner = Length::ZERO;
        for (index, one) in self.rectangles.iter().enumerate() {
            for other in self.rectangles.iter().skip(index + 1) {
                inner += touching(one, other);
            }
        }
        around - inner * 2
    }

    /// Size of the rectangle round it, across and deep.
    pub fn size(&self) -> (Length, Length) {
        let low = |pick: fn(&Rectangle) -> Length| self.rectangles.iter().map(pick).min();
        let high = |pick: fn(&Rectangle) -> Length| self.rectangles.iter().map(pick).max();
        let span = |low: Option<Length>, high: Option<Length>| {
            high.unwrap_or_default() - low.unwrap_or_default()
        };
        (
            span(low(|r| r.0.0), high(|r| r.0.1)),
            span(low(|r| r.1.0), high(|r| r.1.1)),
        )
    }
}

/// Sorted spans with those that overlap or touch made one.
fn merged(spans: Vec<(Length, Length)>) -> Vec<(Length, Length)> {
    let mut found: Vec<(Length, Length)> = Vec::new();
    for span in spans {
        match found.last_mut() {
            Some(last) if span.0 <= last.1 => last.1 = last.1.max(span.1),
            _ => found.push(span),
        }
    }
    found
}

/// Length of the edge that two disjoint rectangles share.
fn touching(one: &Rectangle, other: &Rectangle) -> Length {
    let overlap =
        |a: (Length, Length), b: (Length, Length)| (a.1.min(b.1) - a.0.max(b.0)).max(Length::ZERO);
    let meets = |a: (Length, Length), b: (Length, Length)| a.1 == b.0 || b.1 == a.0;
    if meets(one.1, other.1) {
        overlap(one.0, other.0)
    } else if meets(one.0, other.0) {
        overlap(one.1, other.1)
    } else {
        Length::ZERO
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cuboid(x: (i64, i64), y: (i64, i64)) -> Cuboid {
        let mm = |(from, to): (i64, i64)| (Length::mm(from), Length::mm(to));
        Cuboid::along(Axis::X, mm(x), mm(y), mm((0, 100)))
    }

    /// A ring of 1000 × 800 outside and 600 × 400 inside, worked by hand: area 0.8 − 0.24 m², edges
    /// 2 (1000 + 800) + 2 (600 + 400) mm.
    #[test]
    fn a_ring_is_counted_once_with_both_its_edges() {
        let ring = [
            cuboid((0, 1000), (0, 200)),
            cuboid((800, 1000), (0, 800)),
            cuboid((0, 1000), (600, 800)),
            cuboid((0, 200), (0, 800)),
        ];
        let footprint = Footprint::of(&ring, Length::ZERO);
        assert!((footprint.area().to_m2() - 0.56).abs() < 1e-12);
        assert_eq!(footprint.edges(), Length::mm(5600));
        assert_eq!(footprint.size(), (Length::mm(1000), Length::mm(800)));
    }

    #[test]
    fn a_margin_closes_a_narrow_gap() {
        let pair = [cuboid((0, 100), (0, 100)), cuboid((150, 250), (0, 100))];
        assert_eq!(Footprint::of(&pair, Length::ZERO).edges(), Length::mm(800));
        let grown = Footprint::of(&pair, Length::mm(30));
        assert_eq!(grown.edges(), Length::mm(2 * (310 + 160)));
    }
}
