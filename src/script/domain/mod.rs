//! The trade's own words in the language: units, parts, plans and what is read off them.

mod catalogue;
mod comparing;
mod parts;
mod plans;
mod reading;
mod recipes;
mod values;

pub use values::{
    PartValue, PlanValue, ReviewValue, SpaceValue, TableValue, TakeoffValue, json_of,
};

use std::rc::Rc;

use super::{Fault, Limits, Registry, Session};
use crate::masonry::MasonryError;
use crate::outside::Outside;
use crate::plan::PlanError;

/// A session with the whole language.
pub fn open(outside: Rc<dyn Outside>, limits: Limits) -> Session {
    Session::with(outside, limits, register)
}

/// Declares the trade's words.
pub fn register(registry: &mut Registry) {
    values::register(registry);
    catalogue::register(registry);
    parts::register(registry);
    plans::register(registry);
    reading::register(registry);
    comparing::register(registry);
    recipes::register(registry);
}

impl From<PlanError> for Fault {
    fn from(error: PlanError) -> Self {
        let message = error.to_string();
        let fault = Fault::new(error.code, message).remedy(error.remedy);
        match error.key {
            Some(key) => fault.about(key),
            None => fault,
        }
    }
}

impl From<MasonryError> for Fault {
    fn from(error: MasonryError) -> Self {
        Fault::new("not-in-catalogue", error.message).remedy(error.remedy)
    }
}
