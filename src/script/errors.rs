//! Every error code of the language, told once: what it means when it comes. Declarations name those that their calls
//! may end with; help and the reference show them.

/// An error code, and when it comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ErrorNote {
    /// The code that stands in `error[...]`, as `words-with-hyphens`.
    pub code: &'static str,
    /// When it comes, as a sentence.
    pub when: &'static str,
}

/// Errors that belong together.
#[derive(Debug, Clone, Copy)]
pub struct Errors {
    /// What they have in common, as a heading; empty where they were put together for one call.
    pub title: &'static str,
    /// Each of them.
    pub notes: &'static [ErrorNote],
}

/// Some errors of several themes.
pub const fn these(notes: &'static [ErrorNote]) -> Errors {
    Errors { title: "", notes }
}

macro_rules! themes {
    ($($(#[$about:meta])* $theme:ident $title:literal { $($name:ident = $code:literal: $when:literal;)* })*) => {
        $($(
            #[doc = $when]
            pub const $name: ErrorNote = ErrorNote { code: $code, when: $when };
        )*)*
        $(
            $(#[$about])*
            pub const $theme: Errors = Errors { title: $title, notes: &[$($name),*] };
        )*
        /// Every note, by themes.
        pub const THEMES: &[Errors] = &[$($theme),*];
    };
}

/// Every note, in the order of the themes.
pub fn all() -> impl Iterator<Item = &'static ErrorNote> {
    THEMES.iter().flat_map(|theme| theme.notes)
}

/// The note of a code.
pub fn note(code: &str) -> Option<&'static ErrorNote> {
    all().find(|note| note.code == code)
}

/// Whether any call may end with this code, so that no declaration names it.
pub fn is_general(code: &str) -> bool {
    [CALLS, READING, LIMITS]
        .iter()
        .any(|theme| theme.notes.iter().any(|note| note.code == code))
}

themes! {
    /// What the checker of a call finds before anything is done.
    CALLS "What the checker of a call finds before anything is done" {
        UNKNOWN_OPTION = "unknown-option": "An option map holds a key that is not among the options.";
        MISSING_OPTION = "missing-option": "An option that must be given is not.";
        MISSING_ARGUMENT = "missing-argument": "An argument that must be given is not.";
        TOO_MANY_ARGUMENTS = "too-many-arguments": "More arguments are given than the call takes.";
        WRONG_ARGUMENTS = "wrong-arguments": "The call does not take arguments of these kinds, or so many.";
        WRONG_TYPE = "wrong-type": "A value is of another kind than what is wanted there.";
        UNKNOWN_WORD = "unknown-word": "A text is not one of the words that are taken there.";
        OUT_OF_RANGE = "out-of-range": "A number or quantity is outside what is taken, or too large to be worked with.";
        INTERNAL_FAULT = "internal-fault": "The program met a fault of its own.";
    }
    /// What reading and running a script finds outside any call of a declared function.
    READING "What reading and running a script finds outside any call of a declared function" {
        SYNTAX = "syntax": "The text is not written as the language wants it.";
        INCOMPLETE = "incomplete": "The script ends in the middle of a statement.";
        UNCLOSED_TEXT = "unclosed-text": "A text in quotes is not closed on its line.";
        OPTION_TWICE = "option-twice": "A key is given twice in one map.";
        RESERVED_WORD = "reserved-word": "A word of the language stands where a name is wanted.";
        UNKNOWN_NAME = "unknown-name": "A name stands for no value that can be seen there.";
        UNKNOWN_FUNCTION = "unknown-function": "No function goes by the name.";
        UNKNOWN_METHOD = "unknown-method": "The value has no method of the name.";
        UNKNOWN_PROPERTY = "unknown-property": "The value has no property or entry of the name.";
        READ_ONLY = "read-only": "A property of a value is assigned to.";
        CONSTANT = "constant": "A constant is changed.";
        NOT_INDEXABLE = "not-indexable": "Items are picked from a value that has none.";
        OUT_OF_BOUNDS = "out-of-bounds": "A list or text has no item at that place.";
        NOT_ITERABLE = "not-iterable": "`for` goes through something that is neither a list nor a range.";
        NO_THIS = "no-this": "`this` is used in a function that was not called as a method.";
        VALUE_IN_USE = "value-in-use": "A value captured by a closure is changed while it is in use.";
        DIVISION_BY_ZERO = "division-by-zero": "Something is divided by zero.";
        OVERFLOW = "overflow": "A result is too large for a whole number.";
        ARITHMETIC = "arithmetic": "A calculation has no result.";
        UNLIKE_QUANTITIES = "unlike-quantities": "Quantities of unlike kinds are added, compared or otherwise brought together.";
        THROWN = "thrown": "The script itself raised an error with `throw`.";
        SCRIPT_ERROR = "script-error": "The script fails in a way that has no code of its own.";
        TROUBLE = "trouble": "Something outside the script failed.";
        NOT_AVAILABLE = "not-available": "A function is named that scripts may not use, such as the clock.";
        UNKNOWN_MODULE = "unknown-module": "An import or a call names a module that is not there.";
        MODULE_PATH = "module-path": "An import names a place outside the folders that scripts may read.";
        IMPORT_CIRCLE = "import-circle": "Modules import each other in a circle.";
        IMPORT_CLASH = "import-clash": "Two imports cannot stand beside each other.";
        NEWER_LANGUAGE = "newer-language": "A recipe asks for a newer version of the language than this.";
        FILE_TROUBLE = "file-trouble": "A file cannot be read or written, or stands outside the folders that scripts may use.";
        UNKNOWN_LIMIT = "unknown-limit": "A limit is set that there is not.";
    }
    /// What stops a script that goes on for too long or grows too large.
    LIMITS "What stops a script that goes on for too long or grows too large" {
        LIMIT_OPERATIONS = "limit-operations": "The script took more steps than it may.";
        LIMIT_CALL_LEVELS = "limit-call-levels": "Functions call each other deeper than they may.";
        LIMIT_EXPRESSION_DEPTH = "limit-expression-depth": "An expression is nested deeper than it may be.";
        LIMIT_STRING = "limit-string": "A text grew longer than it may.";
        LIMIT_ARRAY = "limit-array": "A list grew longer than it may.";
        LIMIT_MAP = "limit-map": "A map grew larger than it may.";
        LIMIT_RANGE = "limit-range": "A range has more steps than it may.";
        LIMIT_MODULES = "limit-modules": "More modules are imported than may be, or they import each other too deep.";
        LIMIT_VARIABLES = "limit-variables": "The script makes more variables than it may.";
        LIMIT_WALL_CLOCK = "limit-wall-clock": "The script ran longer than it may.";
        INTERRUPTED = "interrupted": "The run was interrupted.";
        WORK_STOPPED = "work-stopped": "Long work was interrupted, or took longer than it may.";
    }
    /// What is wrong with a quantity.
    QUANTITIES "What is wrong with a quantity" {
        NOT_FINITE = "not-finite": "A quantity is made of a number that is not finite.";
        UNREADABLE_QUANTITY = "unreadable-quantity": "A text cannot be read as a quantity.";
        BELOW_ABSOLUTE_ZERO = "below-absolute-zero": "A temperature lies below the lowest there is.";
        NOT_POSITIVE = "not-positive": "A quantity has to be more than zero and is not.";
        ENDLESS_RANGE = "endless-range": "The step of a range is zero.";
    }
    /// What the shell's own functions refuse.
    SESSION "What the shell's own functions refuse" {
        NOTHING_TO_UNDO = "nothing-to-undo": "No input is left to take back.";
    }
    /// What is wrong with units, joints and names of the catalogue.
    CATALOGUE "What is wrong with units, joints and names of the catalogue" {
        NOT_IN_CATALOGUE = "not-in-catalogue": "The catalogue has nothing of that name.";
        UNIT_MISSING = "unit-missing": "No unit is given, neither by name nor by sizes.";
        UNIT_UNFIT = "unit-unfit": "No unit can have such sizes, or such shares of cores and frogs.";
        UNFIT = "unfit": "A joint, gauge, mix or material cannot be as it is given.";
        JOINT_OUT_OF_RANGE = "joint-out-of-range": "A joint is wider than can be laid, or less than nothing.";
    }
    /// What is wrong with how high a part is to be.
    RISE "What is wrong with how high a part is to be" {
        HEIGHT_TWICE = "height-twice": "Both `courses` and `height` are given.";
        HEIGHT_MISSING = "height-missing": "Nothing says how high it has to be.";
        COURSES_OUT_OF_RANGE = "courses-out-of-range": "There are no courses, too many, or a range of them runs backwards.";
    }
    /// What is wrong with a size.
    SIZES "What is wrong with a size" {
        SIZE_NOT_POSITIVE = "size-not-positive": "A size is zero, less, or too small for what is there.";
        SIZE_NOT_IN_HALVES = "size-not-in-halves": "A number of units is no multiple of a half.";
        SIZE_TOO_LARGE = "size-too-large": "A size is larger than can be laid.";
        SIZE_NEGATIVE = "size-negative": "A size is less than zero, or larger than can be laid.";
        SIZE_TWICE = "size-twice": "Two options give the same size.";
        SIZE_MISSING = "size-missing": "A size that is needed is not given.";
    }
    /// What is wrong with the walls of a part.
    WALLS "What is wrong with the walls of a part" {
        THICKNESS_NOT_IN_HALVES = "thickness-not-in-halves": "The thickness is no multiple of half a unit.";
        THICKNESS_TOO_LARGE = "thickness-too-large": "A wall is thicker than can be laid.";
        THICKNESS_TWICE = "thickness-twice": "Both `leaves` and `thickness` are given.";
        LEAVES_WITHOUT_SPACE = "leaves-without-space": "Two leaves are given neither a cavity nor a collar joint, or both.";
        SPACE_OUT_OF_RANGE = "space-out-of-range": "Two leaves stand too near or too far apart.";
        TIES_TOO_NEAR = "ties-too-near": "Ties are nearer to each other than can be set.";
        COURSE_TWICE = "course-twice": "A course is given two heights.";
        COURSE_LIES_FLAT = "course-lies-flat": "A course is asked to be laid in a way that the bond decides.";
    }
    /// What is wrong with the path of a wall.
    PATHS "What is wrong with the path of a wall" {
        LEG_UNREADABLE = "leg-unreadable": "A leg is no heading with a size.";
        LEGS_OUT_OF_RANGE = "legs-out-of-range": "A wall has no legs, or too many.";
        LEG_WITHOUT_CORNER = "leg-without-corner": "Two legs in a row turn no corner.";
        CURVE_WITHOUT_RADIUS = "curve-without-radius": "An option of curved walls is given for a straight one.";
        OPTION_OF_A_STRAIGHT_WALL = "option-of-a-straight-wall": "An option of straight walls is given for a curved one.";
        RADIUS_OUT_OF_RANGE = "radius-out-of-range": "A wall cannot be curved by such a radius.";
        SWEEP_OUT_OF_RANGE = "sweep-out-of-range": "A curved wall cannot go so far round.";
    }
    /// What is wrong with the diameter of a ring.
    ROUND "What is wrong with the diameter of a ring" {
        DIAMETER_IN_UNITS = "diameter-in-units": "The diameter of a ring is given in units.";
    }
    /// What is wrong with the place of a feature in its part.
    PLACES "What is wrong with the place of a feature in its part" {
        SIDE_MISSING = "side-missing": "Nothing says which side is meant.";
        SIDE_UNKNOWN = "side-unknown": "There is no such side.";
        SIDE_AND_LEG = "side-and-leg": "More than one of side, leg and branch is given.";
        SIDE_OF_A_WALL = "side-of-a-wall": "A side is named of a wall, which has legs.";
        LEG_OF_A_CHAMBER = "leg-of-a-chamber": "A leg is named of a chamber, which has sides.";
        LEG_OF_A_RING = "leg-of-a-ring": "A leg is named of a ring, which has sides.";
        NO_SUCH_LEG = "no-such-leg": "The wall has no such leg, or the part no such side.";
        NO_SUCH_BRANCH = "no-such-branch": "The part has no branch or partition of the name.";
        NO_SUCH_ANNEX = "no-such-annex": "The part has no annex of the name.";
        ANNEX_SHARED_WALL = "annex-shared-wall": "The side of an annex is meant that its chamber's wall makes.";
        NAME_EMPTY = "name-empty": "A name is empty.";
        NAME_TAKEN = "name-taken": "The name is taken by something else.";
        TOO_MANY_FEATURES = "too-many-features": "A part has more openings, vents, ledges or branches than it may.";
        NOT_IN_ROUND_WORK = "not-in-round-work": "A ring or curved wall cannot have it.";
        OPENING_IN_A_LINING = "opening-in-a-lining": "A lining is given openings of its own.";
        OPENING_IN_A_PIER = "opening-in-a-pier": "A pier is given an opening.";
    }
    /// What is wrong with a course that is named.
    COURSES "What is wrong with a course that is named" {
        COURSE_OUTSIDE_PART = "course-outside-part": "The part has no such course.";
    }
    /// What is wrong with a ledge.
    LEDGES "What is wrong with a ledge" {
        LEDGE_WITHOUT_INSIDE = "ledge-without-inside": "A part without an inside is given a ledge.";
    }
    /// What is wrong with what carries the work over an opening, or lies in its foot.
    HEADS "What is wrong with what carries the work over an opening, or lies in its foot" {
        LINTEL_UNKNOWN = "lintel-unknown": "A lintel names no kind that is known.";
        ARCH_UNKNOWN = "arch-unknown": "An arch names no kind that is known there.";
        ARCH_AND_LINTEL = "arch-and-lintel": "Both a lintel and an arch are given.";
        ARCH_OPTION_UNFIT = "arch-option-unfit": "An option does not go with that kind of arch.";
    }
    /// What is wrong with the head, sill or threshold of an opening.
    FEET "What is wrong with the head, sill or threshold of an opening" {
        HEAD_TWICE = "head-twice": "A corbelled head is given beside a lintel or an arch.";
        HEAD_IN_ROUND_WORK = "head-in-round-work": "What is asked for over an opening or in its foot is not laid in round work.";
        SILL_UNKNOWN = "sill-unknown": "A sill or threshold names no kind that is known.";
        SILL_AND_THRESHOLD = "sill-and-threshold": "Both a sill and a threshold are given.";
    }
    /// What is wrong with a branch, partition, pier or annex.
    BRANCHES "What is wrong with a branch, partition, pier or annex" {
        BRANCH_ON_A_PIER = "branch-on-a-pier": "Something is to branch from a free pier.";
        BRANCH_ON_A_BRANCH = "branch-on-a-branch": "A branch is to start from another branch.";
        PARTITION_OUTSIDE_CHAMBER = "partition-outside-chamber": "A part that is no chamber is to be divided.";
        PLACE_TWICE = "place-twice": "Both `at` and `every` are given.";
        TIES_IN_TOOTHING = "ties-in-toothing": "Ties are given for a branch that is toothed.";
        ANNEX_WITHOUT_CHAMBER = "annex-without-chamber": "An annex is given to a part that is no chamber.";
    }
    /// What is wrong with a lining.
    LININGS "What is wrong with a lining" {
        NOT_A_LINING = "not-a-lining": "A part is used as a lining that is none.";
        LINING_TWICE = "lining-twice": "The part is lined already.";
        LINING_LAID_ACROSS = "lining-laid-across": "A straight lining is asked to be laid in courses that it cannot have.";
        LINING_WITHOUT_INSIDE = "lining-without-inside": "There is no inside to line, or too little of it.";
        LINING_BESIDE_PARTITION = "lining-beside-partition": "A chamber with a partition or branch inside is to be lined.";
        GAP_OUT_OF_RANGE = "gap-out-of-range": "The gap between a lining and its walls is less than nothing or too wide.";
    }
    /// What is wrong with a coping.
    COPINGS "What is wrong with a coping" {
        COPING_TWICE = "coping-twice": "The part has a coping already.";
        COPING_ON_A_RING = "coping-on-a-ring": "A ring is to be covered by a straight coping.";
        COPING_ON_A_CURVE = "coping-on-a-curve": "A curved wall is to be covered by a straight coping.";
        COPING_OF_UNITS = "coping-of-units": "An option of slabs is given for rowlocks.";
        COPING_OUT_OF_RANGE = "coping-out-of-range": "A slab of a coping cannot be made so.";
        DRIP_DOES_NOT_FIT = "drip-does-not-fit": "A drip has no room under the overhang.";
    }
    /// What is wrong with what a part is laid with.
    OWN "What is wrong with what a part is laid with" {
        NO_SUCH_BOND = "no-such-bond": "The catalogue has no bond of the name that the part is to be laid in.";
        BAG_WITHOUT_MORTAR = "bag-without-mortar": "A bag is given without the mortar that is in it.";
        MASS_NOT_POSITIVE = "mass-not-positive": "A bag weighs nothing.";
    }
    /// What is wrong with where a part is placed.
    PLACING "What is wrong with where a part is placed" {
        PLACED_TWICE = "placed-twice": "More than one place is given for a part.";
        PLACED_AGAINST_NOTHING = "placed-against-nothing": "A gap or an alignment is given without a part to go by.";
        PLACED_AGAINST_ITSELF = "placed-against-itself": "A part is placed against itself.";
        GAP_UNDER_A_PART = "gap-under-a-part": "A gap is given for a part that stands on another.";
        GAP_WITHIN_A_PART = "gap-within-a-part": "A gap is given for a part within another.";
        NO_SUCH_PART = "no-such-part": "The plan has no part of the name.";
        TOO_MANY_PARTS = "too-many-parts": "A plan has more parts, ducts and lids than it may.";
    }
    /// What is wrong with a duct.
    DUCTS "What is wrong with a duct" {
        DUCT_TO_ITSELF = "duct-to-itself": "A duct starts and ends in the same place.";
        DUCT_FROM_A_LINING = "duct-from-a-lining": "A duct is led from or to a lining and not its chamber.";
        ANNEX_NAMED_TWICE = "annex-named-twice": "Two parts have an annex of the name that a duct goes by.";
    }
    /// What is wrong with a lid.
    LIDS "What is wrong with a lid" {
        LID_TWICE = "lid-twice": "The part has a lid already.";
        PIECES_OUT_OF_RANGE = "pieces-out-of-range": "A lid is to be cast in no pieces, or too many.";
    }
    /// What turns out when a changed plan is measured: parts cannot be built so, or not beside each other.
    MEASURED "What turns out when a changed plan is measured: parts cannot be built so, or not beside each other" {
        TOO_MANY_PIECES = "too-many-pieces": "More pieces would be laid, or cut from stock, than may be.";
        CHAMBER_WITHOUT_INSIDE = "chamber-without-inside": "The walls of a chamber leave nothing inside.";
        HEIGHT_OFF_GAUGE = "height-off-gauge": "A height that has to be exact is no whole number of courses.";
        BED_OUT_OF_RANGE = "bed-out-of-range": "A bed of its own cannot be laid under these units.";
        SPLIT_OUT_OF_RANGE = "split-out-of-range": "Units cannot be split to such a height.";
        COURSE_LEAVES_A_GAP = "course-leaves-a-gap": "Units on end or edge are not as deep as their leaf.";
        PIER_TOO_THIN = "pier-too-thin": "A pier is less than one unit wide.";
        PIER_WITHOUT_MIDDLE = "pier-without-middle": "A pier that is to be filled has no middle.";
        HEARTING_DOES_NOT_FIT = "hearting-does-not-fit": "The middle of a pier takes no whole rows of units.";
        LEG_TOO_SHORT = "leg-too-short": "A leg is too short for the corners at its ends.";
        PATH_CROSSES_ITSELF = "path-crosses-itself": "A wall comes back over itself.";
        PATH_NOT_CLOSED = "path-not-closed": "The last leg of a closed wall does not come back to the start.";
        UNIT_NAME_TWICE = "unit-name-twice": "Two units of different sizes go by one name.";
        UNIT_DOES_NOT_BOND = "unit-does-not-bond": "The unit is not as wide as the bond's headers ask.";
        WALL_TOO_THICK_FOR_BOND = "wall-too-thick-for-bond": "Walls so thick are not laid in that bond.";
        JUNCTION_TOO_THICK_FOR_BOND = "junction-too-thick-for-bond": "What branches off is too thick to be bonded in.";
        OPENING_OUTSIDE_WALL = "opening-outside-wall": "An opening passes a corner or an end of its wall.";
        OPENING_WIDER_THAN_ROUND = "opening-wider-than-round": "An opening takes more than half of the round.";
        OPENINGS_OVERLAP = "openings-overlap": "Two things want the same place in a wall.";
        DOES_NOT_FIT = "does-not-fit": "Vents or headers find no room side by side, or run into something.";
        LINTEL_AT_TOP = "lintel-at-top": "A lintel has no course to carry.";
        BAR_THICKER_THAN_BED = "bar-thicker-than-bed": "A bar does not go into its bed joint.";
        ARCH_AT_TOP = "arch-at-top": "An arch reaches above its part.";
        ARCH_IN_BRANCH = "arch-in-branch": "An arch is asked for in a wall that branches off another.";
        ARCH_IN_SPACED_LEAVES = "arch-in-spaced-leaves": "An arch would close the space between two leaves.";
        ARCH_OUTSIDE_WALL = "arch-outside-wall": "An arch is wider than its wall between corners or ends.";
        ARCH_RISE_OUT_OF_RANGE = "arch-rise-out-of-range": "An arch rises by nothing, or by more than half its span.";
        ARCH_TOO_SMALL = "arch-too-small": "Units cannot be set round so small an arch.";
        VOUSSOIR_LONGER_THAN_UNIT = "voussoir-longer-than-unit": "A voussoir is longer than units give.";
        CORBEL_AT_TOP = "corbel-at-top": "Courses that step inwards do not meet below the top of the wall.";
        CORBEL_STEP_OUT_OF_RANGE = "corbel-step-out-of-range": "Courses step in by nothing or too far.";
        CORBEL_WITHOUT_TAIL = "corbel-without-tail": "Courses that step in have too little wall to lie on.";
        SILL_FILLS_OPENING = "sill-fills-opening": "A sill takes all of the height of its opening.";
        SILL_IN_SPACED_LEAVES = "sill-in-spaced-leaves": "Units on edge would close the space between two leaves.";
        SILL_IN_THE_WAY = "sill-in-the-way": "A sill stands out into something else.";
        SILL_TOO_NARROW = "sill-too-narrow": "An opening is too narrow for its sill.";
        HEADER_TOO_SHORT = "header-too-short": "A header of a ledge projects further than its length allows.";
        NOTCH_TOO_LARGE = "notch-too-large": "A rebate leaves too little of the header.";
        LEDGE_WIDER_THAN_CHAMBER = "ledge-wider-than-chamber": "Ledges take all of the inside.";
        LEDGE_BEHIND_LINING = "ledge-behind-lining": "A ledge would pass through a lining.";
        LEDGE_IN_UPRIGHT_COURSE = "ledge-in-upright-course": "A ledge is in a course of units on end or edge.";
        CORBEL_IN_UPRIGHT_COURSE = "corbel-in-upright-course": "A head steps in through a course of units on end or edge.";
        BRANCH_IN_UPRIGHT_COURSE = "branch-in-upright-course": "A branch reaches a course of units on end or edge.";
        DUCT_IN_UPRIGHT_COURSE = "duct-in-upright-course": "A duct runs through a course of units on end or edge.";
        JUNCTION_IN_THE_WAY = "junction-in-the-way": "A branch, partition or pier runs into something.";
        JUNCTION_IN_TWO_LEAVES = "junction-in-two-leaves": "A branch would bridge the space between two leaves.";
        JUNCTION_OUTSIDE_WALL = "junction-outside-wall": "A branch or pier meets a corner, passes an end, or leaves nothing beside it.";
        PIERS_TOO_CLOSE = "piers-too-close": "Piers in a row leave no wall between them.";
        ANNEX_AT_A_CORNER = "annex-at-a-corner": "An annex is longer than the side that it leans on.";
        ANNEX_WITHOUT_INSIDE = "annex-without-inside": "The walls of an annex leave nothing inside.";
        COPING_DOES_NOT_FIT = "coping-does-not-fit": "Slabs or rowlocks of a coping leave a piece too small to lay.";
        COPING_IN_THE_WAY = "coping-in-the-way": "A coping runs into another part.";
        COPING_LEAVES_A_GAP = "coping-leaves-a-gap": "Rowlocks do not reach across two leaves and their cavity.";
        COPING_OVER_AN_ANNEX = "coping-over-an-annex": "A coping would have to turn the corners of an annex.";
        COPING_RUNS_INTO_ITSELF = "coping-runs-into-itself": "Two stretches of a coping meet side by side.";
        STANDS_ON_A_COPING = "stands-on-a-coping": "Something would stand on a coping.";
        LINING_HIGHER_THAN_WALLS = "lining-higher-than-walls": "A lining is higher than its walls.";
        LINING_MEETS_NOWHERE = "lining-meets-nowhere": "No bed brings a lining level with the course that it has to meet.";
        LINING_OF_A_CURVE = "lining-of-a-curve": "A curved wall is to be lined.";
        LINING_WITHOUT_WALLS = "lining-without-walls": "A lining is placed by itself.";
        VENT_BEHIND_LINING = "vent-behind-lining": "A vent comes out behind a corner of the lining.";
        COURSE_IN_A_CURVE = "course-in-a-curve": "Courses of a curved wall are to be laid unlike.";
        COURSE_IN_A_RING = "course-in-a-ring": "Courses of a ring are to be laid unlike.";
        SPLIT_IN_A_RING = "split-in-a-ring": "Units of a ring are to be split along their length.";
        CURVE_CLOSES = "curve-closes": "A curved wall meets itself.";
        CURVE_DOES_NOT_FIT = "curve-does-not-fit": "Units cannot be set round such a curve.";
        CURVE_TOO_THICK = "curve-too-thick": "A curved wall is thicker than stretchers or headers make it.";
        RING_DOES_NOT_FIT = "ring-does-not-fit": "Units cannot be set round such a ring.";
        RING_TOO_SMALL = "ring-too-small": "No ring of voussoirs goes round so small a duct.";
        PARTS_OVERLAP = "parts-overlap": "Two parts stand in the same place.";
        PLACE_TOO_FAR = "place-too-far": "A part is placed further away than can be laid out.";
        LID_IN_THE_WAY = "lid-in-the-way": "A lid runs into something.";
        LID_ON_A_RING = "lid-on-a-ring": "A ring is to have a lid.";
        HOLE_TOO_LARGE = "hole-too-large": "The hole of a lid is wider than what it covers.";
        DUCT_BLOCKED = "duct-blocked": "A duct runs into something that stands between its ends.";
        DUCT_IN_A_RING = "duct-in-a-ring": "A duct is to go through a ring.";
        DUCT_MISSES_WALL = "duct-misses-wall": "A duct meets no wall, or passes its corner.";
    }
    /// What is asked of a plan that has it not.
    ASKED "What is asked of a plan that has it not" {
        NO_INSIDE = "no-inside": "The part has no inside.";
        NO_COMPARTMENT = "no-compartment": "The part has no compartment of the name.";
        NO_GAP = "no-gap": "The two parts do not face each other.";
        NO_SUCH_UNIT = "no-such-unit": "Nothing in the plan is laid of that unit.";
        NO_SUCH_COURSE = "no-such-course": "Nothing of what is drawn has such a course.";
        NO_SUCH_SIDE = "no-such-side": "There is no such side to look from.";
        CUT_BESIDE_THE_WORK = "cut-beside-the-work": "A section is cut where there is no work.";
        NOT_LINED = "not-lined": "The part has no lining.";
        MATERIAL_UNKNOWN = "material-unknown": "What the plan needs has no figures in the catalogue.";
    }
    /// What is wrong with a request to bring something to a height.
    LEVELLING "What is wrong with a request to bring something to a height" {
        NOTHING_TO_LEVEL = "nothing-to-level": "The plan has no duct, opening or ledge that is meant, or nothing that it could be level with.";
        WHICH_OPENING = "which-opening": "Openings of several parts go by the name.";
        LEVEL_OF_NOTHING = "level-of-nothing": "A height is asked for that the thing has not, such as the crown of an opening.";
        NO_SUCH_WAY = "no-such-way": "The list of ways has no such number.";
    }
    /// What is wrong with a comparison.
    COMPARING "What is wrong with a comparison" {
        NOTHING_TO_VARY = "nothing-to-vary": "Nothing is given to vary, or no values for it.";
        TOO_MANY_ROWS = "too-many-rows": "There are more combinations than may be compared at once.";
        VARIED_TWICE = "varied-twice": "Values are given twice for the same thing.";
        UNPAIRED_VALUES = "unpaired-values": "Values that go in pairs are not as many of each.";
        COLUMN_TWICE = "column-twice": "Two columns have the same name.";
        NO_COLUMNS = "no-columns": "No columns are named where some are needed.";
        UNREADABLE_QUESTION = "unreadable-question": "What is to be asked of each plan or row is no question that can be read.";
        NOT_A_PLAN = "not-a-plan": "What is to be compared makes no plan.";
    }
    /// What is wrong with what is asked of a comparison.
    ROWS "What is wrong with what is asked of a comparison" {
        NO_SUCH_ROW = "no-such-row": "A comparison has no row of that number.";
        ROW_NOT_BUILT = "row-not-built": "The row is of a plan that cannot be built.";
        NOT_NUMBERS = "not-numbers": "A column does not hold numbers or quantities throughout.";
        NO_CHART = "no-chart": "The rows give no chart of that kind.";
        UNKNOWN_ENDING = "unknown-ending": "The name of a file does not say in what form it is to be written.";
    }
    /// What is wrong with a search.
    SOLVING "What is wrong with a search" {
        UNKNOWN_VARIABLE = "unknown-variable": "A closure has a parameter that is none of the names searched over.";
        NOT_AN_ANSWER = "not-an-answer": "A condition answers neither true nor false.";
        NOT_A_CLOSURE = "not-a-closure": "Something that is to be asked at every point is no closure of the script.";
        NOT_IN_ORDER = "not-in-order": "What is to be least or most cannot be put in order.";
        GRID_TOO_LARGE = "grid-too-large": "There are more combinations than can be searched.";
        BUILD_TWICE = "build-twice": "Both a closure and a recipe are to make the plan.";
        BUILD_MISSING = "build-missing": "A plan is read, but nothing builds one.";
        TOO_MANY_PLANS = "too-many-plans": "More plans are left to lay than a search lays.";
    }
    /// What is wrong with options, values and comparisons given on the command line.
    GIVEN "What is wrong with options, values and comparisons given on the command line" {
        UNREADABLE_OPTION = "unreadable-option": "An option is not written as `key=value`.";
        UNREADABLE_VALUE = "unreadable-value": "A value is none of the language.";
        UNREADABLE_RANGE = "unreadable-range": "A range is not written as `low..high:step`, or has no end.";
        SET_TWICE = "set-twice": "An option is given twice.";
        NO_RECIPE = "no-recipe": "A script has no `build` that takes options, and so is no recipe.";
    }
    /// What is wrong with a cutting list.
    CUTTING "What is wrong with a cutting list" {
        PIECE_TOO_LONG = "piece-too-long": "A piece is longer than any length of stock.";
        STOCK_TOO_LITTLE = "stock-too-little": "The stock on hand is not enough.";
    }
    /// What is wrong with a saved plan.
    SAVING "What is wrong with a saved plan" {
        NOT_A_SAVED_PLAN = "not-a-saved-plan": "A file holds no plan that can be read.";
        PLAN_TOO_NEW = "plan-too-new": "A plan was saved by a newer version than this.";
    }
    /// What is wrong with prices.
    PRICES "What is wrong with prices" {
        NO_PRICES = "no-prices": "The plan has no prices.";
        NOT_A_PRICE_LIST = "not-a-price-list": "A file holds no prices that can be read.";
        WRONG_PRICE = "wrong-price": "A price cannot be as it is given.";
    }
    /// What is wrong with cautions that a plan carries.
    CAUTIONS "What is wrong with cautions that a plan carries" {
        CAUTION_EMPTY = "caution-empty": "A caution says nothing.";
        CAUTION_TOO_LONG = "caution-too-long": "A caution is longer than it may be.";
        TOO_MANY_CAUTIONS = "too-many-cautions": "A plan carries more cautions than it may.";
    }
    /// What is wrong with a recipe.
    RECIPES "What is wrong with a recipe" {
        RECIPE_UNFINISHED = "recipe-unfinished": "A parameter of a recipe has no usual value.";
        RECIPE_EXISTS = "recipe-exists": "A recipe of the name is there already.";
        WRONG_NAME = "wrong-name": "A name cannot be that of a recipe.";
    }
}

/// What measuring a changed plan finds beside [`MEASURED`].
pub const MEASURED_TOO: Errors = these(&[
    SIZE_NOT_POSITIVE,
    SIZE_TOO_LARGE,
    COURSES_OUT_OF_RANGE,
    COURSE_OUTSIDE_PART,
    COURSE_TWICE,
    COURSE_LIES_FLAT,
    NO_SUCH_LEG,
    NO_SUCH_PART,
    SIDE_MISSING,
    LINING_WITHOUT_INSIDE,
    NO_SUCH_BOND,
    JOINT_OUT_OF_RANGE,
    UNFIT,
]);

/// What laying a measured plan may still find.
pub const LAID: Errors = these(&[DOES_NOT_FIT, OPENINGS_OVERLAP]);
