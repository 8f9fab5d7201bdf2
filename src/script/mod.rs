//! The language: one declaration per function, and from it registration, checking, help,
//! completion and the reference.
//!
//! In come script texts; out come values and diagnostics. Domain functions are declared through
//! [`declare::Registry`]; nothing here lays a brick.

mod building;
pub mod builtin;
mod caught;
pub mod declare;
mod defined;
pub mod diagnostic;
pub mod domain;
pub mod engine;
pub mod errors;
mod explain;
mod given;
pub mod help;
mod keeping;
mod locate;
mod modules;
mod numbers;
mod operators;
pub mod options;
pub mod pages;
pub mod quantities;
mod recipe_table;
pub mod reference;
pub mod session;
mod sorting;
mod trying;
mod unknown;
pub mod varying;
pub mod vocabulary;

pub use building::Recipe;
pub use declare::{
    CallKind, Caller, Declaration, Example, Group, NameOf, Parameter, Refusal, Registry, Want,
};
pub use defined::Defined;
pub use diagnostic::{Diagnostic, Severity, Span};
pub use engine::Limits;
pub use options::{Call, Fault, Faults, Size};
pub use recipe_table::{RecipeParameter, builtin_parameters};
pub use session::{Outcome, Session};
pub use vocabulary::Vocabulary;

/// The version of the language, which a recipe may ask for.
pub const LANGUAGE_VERSION: i64 = 1;

/// A value of the language.
pub type Value = rhai::Dynamic;
