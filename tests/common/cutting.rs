//! Published cutting problems with their optima, all of them solved once more by other means.
#![allow(dead_code, reason = "the benchmark does not look at the optima")]

use perpend::quantity::Length;
use perpend::takeoff::{Stock, StockTask, USUAL_STEPS};

/// A problem with one kind of stock, in any number, no kerf.
pub(crate) struct Instance {
    /// Its name, with its source.
    pub(crate) name: &'static str,
    pub(crate) stock: i64,
    /// Lengths with how many of each.
    pub(crate) pieces: Vec<(i64, u64)>,
    /// The least stock.
    pub(crate) best: u64,
}

impl Instance {
    pub(crate) fn task(&self) -> StockTask {
        StockTask {
            stock: vec![Stock::bought(Length::mm(self.stock))],
            pieces: self
                .pieces
                .iter()
                .map(|&(length, count)| (Length::mm(length), count))
                .collect(),
            kerf: Length::ZERO,
            ended: Vec::new(),
            most_pieces: None,
            steps: USUAL_STEPS,
        }
    }
}

fn each(lengths: &[i64]) -> Vec<(i64, u64)> {
    lengths.iter().map(|&length| (length, 1)).collect()
}

const N1C1W1_A: [i64; 50] = [
    99, 99, 96, 96, 92, 92, 91, 88, 87, 86, 85, 76, 74, 72, 69, 67, 67, 62, 61, 56, 52, 51, 49, 46,
    44, 42, 40, 40, 33, 33, 30, 30, 29, 28, 28, 27, 25, 24, 23, 22, 21, 20, 17, 14, 13, 11, 10, 7,
    7, 3,
];

const N1C2W2_D: [i64; 50] = [
    99, 98, 98, 97, 96, 90, 88, 86, 82, 82, 80, 79, 76, 76, 76, 74, 69, 67, 66, 64, 62, 59, 55, 52,
    51, 51, 50, 49, 44, 43, 41, 41, 41, 41, 41, 37, 35, 33, 32, 32, 31, 31, 31, 30, 29, 23, 23, 22,
    20, 20,
];

const N2C1W1_A: [i64; 100] = [
    99, 97, 95, 95, 94, 92, 91, 89, 86, 86, 85, 84, 80, 80, 80, 80, 80, 79, 76, 76, 75, 74, 73, 71,
    71, 69, 65, 64, 64, 64, 63, 63, 62, 60, 59, 58, 57, 54, 53, 52, 51, 50, 48, 48, 48, 46, 44, 43,
    43, 43, 43, 42, 41, 40, 40, 39, 38, 38, 38, 38, 37, 37, 37, 37, 36, 35, 34, 33, 32, 30, 29, 28,
    26, 26, 26, 24, 23, 22, 21, 21, 19, 18, 17, 16, 16, 15, 14, 13, 12, 12, 11, 9, 9, 8, 8, 7, 6,
    6, 5, 1,
];

const N2C3W2_C: [i64; 100] = [
    100, 99, 99, 98, 97, 97, 97, 96, 96, 95, 95, 95, 94, 93, 93, 93, 92, 91, 89, 88, 87, 86, 84,
    84, 83, 83, 82, 81, 81, 81, 78, 78, 75, 74, 73, 72, 72, 71, 70, 68, 67, 66, 65, 64, 63, 63, 62,
    60, 60, 59, 59, 58, 57, 56, 56, 55, 54, 51, 49, 49, 48, 47, 47, 46, 45, 45, 45, 45, 44, 44, 44,
    44, 43, 41, 41, 40, 39, 39, 39, 37, 37, 37, 35, 35, 34, 32, 31, 31, 30, 28, 26, 25, 24, 24, 23,
    23, 22, 21, 20, 20,
];

/// Every three in turn make a thousand.
const TRIPLETS: [i64; 120] = [
    406, 265, 329, 404, 255, 341, 461, 256, 283, 387, 290, 323, 356, 290, 354, 417, 269, 314, 359,
    317, 324, 467, 250, 283, 459, 251, 290, 356, 266, 378, 356, 315, 329, 400, 263, 337, 397, 273,
    330, 458, 268, 274, 473, 254, 273, 408, 287, 305, 384, 295, 321, 414, 264, 322, 413, 278, 309,
    391, 291, 318, 454, 266, 280, 426, 261, 313, 372, 272, 356, 440, 255, 305, 444, 259, 297, 477,
    258, 265, 448, 255, 297, 416, 261, 323, 360, 270, 370, 375, 250, 375, 472, 261, 267, 384, 255,
    361, 378, 267, 355, 423, 278, 299, 491, 253, 256, 375, 275, 350, 464, 263, 273, 399, 267, 334,
    459, 263, 278, 407, 291, 302,
];

pub(crate) fn instances() -> Vec<Instance> {
    let instance = |name, stock, pieces, best| Instance {
        name,
        stock,
        pieces,
        best,
    };
    let (triplets15, _) = TRIPLETS.split_at(15);
    let (triplets30, _) = TRIPLETS.split_at(30);
    let (triplets60, _) = TRIPLETS.split_at(60);
    vec![
        // Scholl and Klein's published set.
        instance("N1C1W1_A", 100, each(&N1C1W1_A), 25),
        instance("N1C2W2_D", 120, each(&N1C2W2_D), 24),
        instance("N2C1W1_A", 100, each(&N2C1W1_A), 48),
        instance("N2C3W2_C", 150, each(&N2C3W2_C), 41),
        // A worked example of a solver's guide, printed without its capacity where we read it: 100 is from memory. The
        // sum, 370, needs four, and 48+30+19, 36+36+27, 42+42, 36+24+30 fit.
        instance(
            "eleven weights",
            100,
            each(&[48, 30, 19, 36, 36, 27, 42, 42, 36, 24, 30]),
            4,
        ),
        instance("nine pieces", 10, each(&[5, 7, 5, 2, 4, 2, 5, 1, 6]), 4),
        // Chvátal, Linear Programming, chapter 13: 452.25 in fractions.
        instance(
            "Chvátal's rolls",
            100,
            vec![(45, 97), (36, 610), (31, 395), (14, 211)],
            453,
        ),
        // The common worked example of paper rolls: 72.92 in fractions.
        instance(
            "paper rolls",
            5600,
            vec![
                (1380, 22),
                (1520, 25),
                (1560, 12),
                (1710, 14),
                (1820, 18),
                (1880, 18),
                (1930, 20),
                (2000, 10),
                (2050, 12),
                (2100, 14),
                (2140, 16),
                (2150, 18),
                (2200, 20),
            ],
            73,
        ),
        // Falkenauer's triplets: no stock may have anything left over.
        instance("15 triplets", 1000, each(triplets15), 5),
        instance("30 triplets", 1000, each(triplets30), 10),
        instance("60 triplets", 1000, each(triplets60), 20),
        instance("120 triplets", 1000, each(&TRIPLETS), 40),
        // Fieldhouse: more than one stock length between the fractions (1.962) and the whole.
        instance("a gap above one", 132, vec![(44, 2), (33, 3), (12, 6)], 3),
        // Ragsdale's lumber: 2166.67 in fractions.
        instance("lumber", 25, vec![(7, 5000), (9, 1200), (11, 300)], 2167),
        // Johnson's worst case for longest first, which takes 11.
        instance(
            "eleven ninths",
            1000,
            vec![(510, 6), (270, 6), (260, 6), (230, 12)],
            9,
        ),
        // Least problems in which longest first takes three; found by trying all.
        instance("trap 1", 10, each(&[5, 4, 4, 3, 2, 2]), 2),
        instance("trap 2", 10, each(&[6, 5, 3, 2, 2, 2]), 2),
        instance("trap 3", 10, each(&[5, 4, 3, 3, 3, 2]), 2),
        instance("trap 4", 10, each(&[4, 4, 3, 3, 3, 3]), 2),
    ]
}
