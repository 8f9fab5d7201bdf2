//! The recipes that come with the program.

/// Name and text of every built-in recipe, sorted by name.
pub const BUILTIN: &[(&str, &str)] = &[
    (
        "curing_cabinet",
        include_str!("../../stdlib/recipes/curing_cabinet.rhai"),
    ),
    (
        "garden_wall",
        include_str!("../../stdlib/recipes/garden_wall.rhai"),
    ),
    (
        "raised_bed",
        include_str!("../../stdlib/recipes/raised_bed.rhai"),
    ),
];
