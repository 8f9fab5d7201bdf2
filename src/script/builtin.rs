//! The recipes and building blocks that come with the program.

/// Name and text of every built-in module, sorted by name: recipes, which have a `build(options)`, and building blocks,
/// whose `add(part, options)` gives back what it is given with something added.
pub const BUILTIN: &[(&str, &str)] = &[
    (
        "bench_seat",
        include_str!("../../stdlib/recipes/bench_seat.rhai"),
    ),
    (
        "compost_bay",
        include_str!("../../stdlib/recipes/compost_bay.rhai"),
    ),
    (
        "cooking_bench",
        include_str!("../../stdlib/recipes/cooking_bench.rhai"),
    ),
    (
        "curing_cabinet",
        include_str!("../../stdlib/recipes/curing_cabinet.rhai"),
    ),
    ("door", include_str!("../../stdlib/recipes/door.rhai")),
    (
        "fire_bowl",
        include_str!("../../stdlib/recipes/fire_bowl.rhai"),
    ),
    (
        "free_pier",
        include_str!("../../stdlib/recipes/free_pier.rhai"),
    ),
    (
        "garden_wall",
        include_str!("../../stdlib/recipes/garden_wall.rhai"),
    ),
    (
        "kiln_base",
        include_str!("../../stdlib/recipes/kiln_base.rhai"),
    ),
    (
        "letterbox_pier",
        include_str!("../../stdlib/recipes/letterbox_pier.rhai"),
    ),
    ("lid", include_str!("../../stdlib/recipes/lid.rhai")),
    (
        "outdoor_fireplace",
        include_str!("../../stdlib/recipes/outdoor_fireplace.rhai"),
    ),
    (
        "oven_plinth",
        include_str!("../../stdlib/recipes/oven_plinth.rhai"),
    ),
    (
        "plant_plinth",
        include_str!("../../stdlib/recipes/plant_plinth.rhai"),
    ),
    (
        "rack_pair",
        include_str!("../../stdlib/recipes/rack_pair.rhai"),
    ),
    (
        "raised_bed",
        include_str!("../../stdlib/recipes/raised_bed.rhai"),
    ),
    (
        "retaining_kerb",
        include_str!("../../stdlib/recipes/retaining_kerb.rhai"),
    ),
    (
        "single_chamber_cabinet",
        include_str!("../../stdlib/recipes/single_chamber_cabinet.rhai"),
    ),
    ("steps", include_str!("../../stdlib/recipes/steps.rhai")),
    (
        "vent_row",
        include_str!("../../stdlib/recipes/vent_row.rhai"),
    ),
];
