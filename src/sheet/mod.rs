//! What people look at and other programs read.
//!
//! In: laid work, takeoffs and reviews. Out: text tables and JSON with a `schema` field. Nothing is worked out here
//! that another layer could know; this layer only chooses words, columns and order.

mod json;
mod laid;
mod report;
mod table;

pub use json::{document, review_json, takeoff_json};
pub use laid::{courses_table, laid_json};
pub use report::{gauge_table, plan_summary, review_text, takeoff_text};
pub use table::{Column, Table};
