//! Inputs that once made the program fail, in as few words as they can be told.

pub(crate) const SCRIPTS: &[&str] = &[];

pub(crate) const QUANTITIES: &[&str] = &[];

pub(crate) const PLANS: &[&str] = &[];
