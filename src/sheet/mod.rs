//! What people look at and other programs read.
//!
//! In: laid work, takeoffs and reviews. Out: text tables and JSON with a `schema` field. Nothing is worked out here
//! that another layer could know; this layer only chooses words, columns and order.

mod chart;
mod comparison;
mod cost;
mod explain;
mod json;
mod laid;
mod level;
mod picture;
mod remark;
mod remedy;
mod report;
mod rings;
mod table;
mod wrap;

pub use chart::{ChartTask, MOST_POINTS, MOST_SERIES, NoChart, chart_svg};
pub use comparison::{comparison_csv, comparison_json, comparison_text};
pub use cost::{amount_words, cost_text};
pub use explain::{
    bound_words, cost_words, explanation_table, interval_side_words, item_word, pieces_words,
    point_word, side_words,
};
pub use json::{document, review_json, takeoff_json};
pub use laid::{courses_table, laid_json};
pub use level::{level_table, way_words};
pub use picture::{FEWEST_COLUMNS, Pen, Picture, View, beside};
pub use remark::{RemarkWords, remark_words};
pub use remedy::{alteration_words, broken_words, remedies_table};
pub use report::{gauge_table, plan_summary, review_text, takeoff_text};
pub use rings::{rings_table, round_openings_table};
pub use table::{Column, Table};
pub(crate) use wrap::{labelled, lines as wrapped_lines};
