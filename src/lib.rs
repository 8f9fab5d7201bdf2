//! `perpend` lays small brickwork unit by unit and reads every quantity off the laid work.
//!
//! The layers look down only: see `DEVELOPERS.md` for the map.
#![forbid(unsafe_code)]

pub mod command;
pub mod compare;
mod guarded;
pub mod layout;
mod letters;
pub mod masonry;
pub mod outside;
pub mod plan;
pub mod quantity;
pub mod review;
pub mod script;
pub mod sheet;
pub mod shell;
pub mod stop;
pub mod takeoff;
