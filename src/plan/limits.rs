//! Bounds that keep a slip of the pen from becoming hours of work or a number too large to add.
//! All are our own choice: far above small brickwork, far below what arithmetic in nanometres can hold.

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
/// Most pieces that are laid for one plan, judged before laying.
pub const MOST_PIECES: i64 = 3_000_000;
