//! Bounds that keep a slip of the pen from becoming hours of work or a number too large to add.
//! All are our own choice: far above small brickwork, far below what arithmetic in nanometres can hold.

use std::cell::Cell;

use crate::quantity::Length;

/// Longest side of a part, gap or margin.
pub const LONGEST_SIDE: Length = Length::mm(500_000);
/// Shortest side that a unit may have.
pub const SHORTEST_UNIT: Length = Length::mm(10);
/// Thickest lid.
pub const THICKEST_LID: Length = Length::mm(500);
/// Furthest that a lid reaches beyond the outer faces.
pub const FURTHEST_OVERHANG: Length = Length::mm(500);
/// Most courses in one part.
pub const MOST_COURSES: u32 = 2_000;
/// Most legs in the path of one wall.
pub const MOST_LEGS: usize = 64;
/// Most branches, partitions and attached piers in one part.
pub const MOST_BRANCHES: usize = 64;
/// Most openings, vents and ledges together in one part.
pub const MOST_FEATURES: usize = 500;
/// Most cautions that a plan says of itself.
pub const MOST_CAUTIONS: usize = 50;
/// Longest text of such a caution, in characters.
pub const LONGEST_CAUTION: usize = 1_000;
/// Most parts, ducts and lids in one plan.
pub const MOST_PARTS: usize = 200;
/// Most pieces that a lid is cast in: more are a pavement, not a lid.
pub const MOST_LID_PIECES: u32 = 50;
/// Most pieces that are laid for one plan, judged before laying, where nobody allows more.
pub const MOST_PIECES: i64 = 3_000_000;

thread_local! {
    static PIECES: Cell<i64> = const { Cell::new(MOST_PIECES) };
}

/// Puts back what was allowed before, whatever became of the work.
struct Before(i64);

impl Drop for Before {
    fn drop(&mut self) {
        PIECES.set(self.0);
    }
}

/// Does work on this thread in which so many pieces may be laid for one plan.
pub fn allowing_pieces<T>(most: i64, work: impl FnOnce() -> T) -> T {
    let _before = Before(PIECES.replace(most));
    work()
}

/// Most pieces that may be laid for one plan in the work that is being done.
pub fn most_pieces() -> i64 {
    PIECES.get()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_allowed_before_is_put_back_after_a_panic() {
        let inner = allowing_pieces(10, || (allowing_pieces(20, most_pieces), most_pieces()));
        assert_eq!(inner, (20, 10));
        let fault = std::panic::catch_unwind(|| {
            allowing_pieces(10, || panic!("the work broke off"));
        });
        assert!(fault.is_err());
        assert_eq!(most_pieces(), MOST_PIECES);
    }
}
