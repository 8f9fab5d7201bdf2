//! The recipes that come with the program.

/// Name and text of every built-in recipe, sorted by name.
pub const BUILTIN: &[(&str, &str)] = &[];
