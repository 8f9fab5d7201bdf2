//! The table of parameters that a recipe exports: what may be set, its usual value and its meaning.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use rhai::Map;

use super::builtin::BUILTIN;
use super::vocabulary::Vocabulary;

/// One parameter of a recipe.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecipeOption {
    /// Its name: the option's key.
    pub name: String,
    /// Its usual value as it shows itself.
    pub usual: String,
    /// What it means, as a sentence.
    pub meaning: String,
}

/// The parameters of a recipe's table, by name.
pub fn recipe_options(table: &Map, vocabulary: &Vocabulary) -> Vec<RecipeOption> {
    let read = |parameter: &rhai::Dynamic, key: &str| {
        parameter
            .read_lock::<Map>()
            .and_then(|map| map.get(key).cloned())
            .map(|value| vocabulary.show(&value))
            .unwrap_or_default()
    };
    table
        .iter()
        .map(|(name, parameter)| RecipeOption {
            name: name.to_string(),
            usual: read(parameter, "usual"),
            meaning: read(parameter, "meaning"),
        })
        .collect()
}

/// The parameters of the built-in recipes, read off their texts without running them, for what is typed before a recipe is
/// imported.
pub fn builtin_parameters() -> &'static BTreeMap<&'static str, Vec<RecipeOption>> {
    static READ: OnceLock<BTreeMap<&'static str, Vec<RecipeOption>>> = OnceLock::new();
    READ.get_or_init(|| {
        BUILTIN
            .iter()
            .map(|(name, text)| (*name, written_parameters(text)))
            .collect()
    })
}

/// The lines `name: #{ usual: ..., meaning: "..." },` of a table, as the built-in recipes are written.
fn written_parameters(text: &str) -> Vec<RecipeOption> {
    const TABLE: &str = "const parameters = #{";
    let Some((_, table)) = text.split_once(TABLE) else {
        return Vec::new();
    };
    table
        .lines()
        .skip(1)
        .map(str::trim)
        .take_while(|line| !line.starts_with('}'))
        .filter_map(|line| {
            let (name, rest) = line.split_once(": #{")?;
            let (_, usual) = rest.split_once("usual: ")?;
            let (usual, meaning) = usual.split_once(", meaning: \"")?;
            // What else a line may say stands between the two.
            let usual = usual.split(", kind:").next().unwrap_or(usual);
            let (meaning, _) = meaning.rsplit_once('"')?;
            Some(RecipeOption {
                name: name.to_owned(),
                usual: usual.to_owned(),
                meaning: meaning.replace("\\\"", "\""),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use super::*;
    use crate::outside::MemoryOutside;
    use crate::script::{Limits, domain};

    #[test]
    fn what_is_read_off_the_texts_is_what_the_recipes_export() {
        for (name, read) in builtin_parameters() {
            let outside = Rc::new(MemoryOutside::new());
            let mut session = domain::open(outside, Limits::default());
            session.input(&format!("import \"{name}\" as recipe;"));
            let exported = session.imported();
            let (_, exported) = exported.first().unwrap();
            let mut names: Vec<&str> = read.iter().map(|one| one.name.as_str()).collect();
            names.sort_unstable();
            let wanted: Vec<&str> = exported.iter().map(|one| one.name.as_str()).collect();
            assert_eq!(names, wanted, "{name}");
            for one in read {
                let same = exported.iter().find(|other| other.name == one.name);
                assert_eq!(
                    same.map(|other| &other.meaning),
                    Some(&one.meaning),
                    "{name}"
                );
            }
        }
    }
}
