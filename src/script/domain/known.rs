//! The names of the catalogue, for completion.

use crate::masonry::Catalogue;
use crate::script::NameOf;

/// Every name of the catalogue of this kind, with what it stands for; none where the names are found elsewhere.
pub fn known_names(of: NameOf) -> Vec<(String, String)> {
    let Ok(catalogue) = Catalogue::builtin() else {
        return Vec::new();
    };
    let own = |name: &str, title: &str| (name.to_owned(), title.to_owned());
    match of {
        NameOf::Unit => catalogue.units().map(|u| own(&u.name, &u.title)).collect(),
        NameOf::Bond => catalogue.bonds().map(|b| own(&b.name, &b.title)).collect(),
        NameOf::Mix => catalogue.mixes().map(|m| own(&m.name, &m.title)).collect(),
        NameOf::Soil => catalogue.soils().map(|s| own(&s.name, &s.title)).collect(),
        NameOf::Part | NameOf::Help | NameOf::File => Vec::new(),
    }
}
