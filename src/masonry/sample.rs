//! What measuring a handful of units tells about the heap they were taken from.

use super::{Joint, MasonryError};
use crate::quantity::Length;

/// Fewest units that tell a spread.
pub const FEWEST_MEASURED: usize = 2;
/// Below this many units a sample is small: common practice, no source.
pub const SMALL_SAMPLE: usize = 30;
/// Confidence of the upper bound on the share to cull.
pub const CONFIDENCE: f64 = 0.95;

/// One size of the measured units: their lengths, widths or heights.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spread {
    /// Arithmetic mean.
    pub mean: Length,
    /// Sample standard deviation, by n − 1 (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.5.6).
    pub deviation: Length,
    /// The least that was measured.
    pub least: Length,
    /// The most that was measured.
    pub most: Length,
}

impl Spread {
    /// The spread of some measures.
    ///
    /// # Errors
    /// When there are fewer than two, or one is not above zero.
    pub fn of(measures: &[Length]) -> Result<Spread, MasonryError> {
        let wrong = || {
            MasonryError::new(
                format!("at least {FEWEST_MEASURED} units are needed, each longer than nothing"),
                "measure some more: thirty tell much, five little",
            )
        };
        let (Some(least), Some(most)) = (measures.iter().min(), measures.iter().max()) else {
            return Err(wrong());
        };
        if measures.len() < FEWEST_MEASURED || !least.is_positive() {
            return Err(wrong());
        }
        let count = measures.len() as f64;
        // From the least on, so that little is lost to floating point.
        let over: Vec<f64> = measures.iter().map(|m| (*m - *least).to_mm()).collect();
        let mean = over.iter().sum::<f64>() / count;
        let squares: f64 = over.iter().map(|x| (x - mean).powi(2)).sum();
        let mm = |mm: f64| {
            Length::from_mm(mm).map_err(|error| MasonryError::new(error.message, error.remedy))
        };
        Ok(Spread {
            mean: *least + mm(mean)?,
            deviation: mm((squares / (count - 1.0)).sqrt())?,
            least: *least,
            most: *most,
        })
    }

    /// From the least to the most.
    pub fn range(self) -> Length {
        self.most - self.least
    }

    /// The joint between units set out at the mean that is never thinner than `thinnest`, in whole millimetres up: beside the
    /// longest units it loses what these are over the mean.
    pub fn joint(self, thinnest: Length) -> Length {
        const MM: i64 = 1_000_000;
        let least = thinnest + (self.most - self.mean);
        Length::from_nm(least.nm().div_euclid(MM) * MM + if least.nm() % MM == 0 { 0 } else { MM })
    }

    /// Whether a unit of this size keeps a joint within its range, set out at the mean.
    pub fn keeps(self, measure: Length, joint: &Joint) -> bool {
        joint.allows(joint.nominal + self.mean - measure)
    }
}

/// How many of a heap are to be culled, told from a sample.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Culled {
    /// Units of the sample that do not keep the joints.
    pub found: u64,
    /// Units measured.
    pub of: u64,
    /// Share of the sample.
    pub share: f64,
    /// The share of the heap is at most this, with [`CONFIDENCE`]: the one-sided bound of Clopper and Pearson (1934), as in
    /// NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1.
    pub share_at_most: f64,
}

impl Culled {
    /// What a sample of which so many are culled tells.
    pub fn of(found: u64, of: u64) -> Culled {
        let share = if of == 0 {
            0.0
        } else {
            found as f64 / of as f64
        };
        Culled {
            found,
            of,
            share,
            share_at_most: bound(found, of),
        }
    }

    /// Units of a heap that are to be culled: as in the sample, and at most, both rounded up.
    pub fn of_heap(&self, heap: u64) -> (u64, u64) {
        let times = |share: f64| super::whole(share * heap as f64).min(heap);
        (times(self.share), times(self.share_at_most))
    }
}

/// The largest share at which so few would still be found in one sample of twenty.
fn bound(found: u64, of: u64) -> f64 {
    /// Halvings: each gives a bit, and a float has 53.
    const HALVINGS: u32 = 60;
    if found >= of {
        return 1.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if at_most(found, of, middle) > 1.0 - CONFIDENCE {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}

/// The probability of at most `found` culls among `of` units where each is one with probability `share`.
fn at_most(found: u64, of: u64, share: f64) -> f64 {
    let (with, without) = (share.ln(), (-share).ln_1p());
    // The logarithm of the number of ways to choose, built up term by term.
    let (mut ways, mut sum) = (0.0_f64, 0.0_f64);
    for k in 0..=found {
        if k > 0 {
            ways += ((of - k + 1) as f64 / k as f64).ln();
        }
        let term = ways + if k == 0 { 0.0 } else { k as f64 * with } + (of - k) as f64 * without;
        sum += term.exp();
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_and_deviation_are_those_of_the_handbook() {
        // By hand from the formulas of NIST/SEMATECH 1.3.5.6: of 213, 215, 216, 214 and 217 mm the mean is 215 mm, the squares
        // of what they are off come to 4 + 0 + 1 + 1 + 4 = 10, and √(10 / 4) = 1.581 139 mm.
        let measures = [213, 215, 216, 214, 217].map(Length::mm);
        let spread = Spread::of(&measures).unwrap();
        assert_eq!(spread.mean, Length::mm(215));
        assert!((spread.deviation.to_mm() - 2.5_f64.sqrt()).abs() < 1e-6);
        assert_eq!(spread.range(), Length::mm(4));
        // The longest are 2 mm over the mean, so an 8 mm joint leaves 6 mm.
        assert_eq!(spread.joint(Length::mm(6)), Length::mm(8));
        assert!(Spread::of(&measures[..1]).is_err());
        assert!(Spread::of(&[Length::ZERO, Length::mm(1)]).is_err());
    }

    #[test]
    fn the_bound_is_exact() {
        // With none of n found it is 1 − 0.05^(1/n): of 30, 9.503 %; by hand.
        let none = Culled::of(0, 30);
        assert!((none.share_at_most - (1.0 - 0.05_f64.powf(1.0 / 30.0))).abs() < 1e-9);
        // NIST/SEMATECH 7.2.4.1: 4 of 20, where the two-sided 90 % interval is 0.071354 to 0.401029; its upper end is the
        // one-sided 95 % bound.
        let four = Culled::of(4, 20);
        assert!((four.share_at_most - 0.401_029).abs() < 1e-6);
        assert!(Culled::of(5, 5).share_at_most >= 1.0);
        assert_eq!(four.of_heap(100), (20, 41));
    }
}
