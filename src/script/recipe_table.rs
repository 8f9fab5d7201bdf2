//! The table of parameters that a recipe exports: what may be set, its usual value and its meaning.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use rhai::{Array, Dynamic, Map};

use super::builtin::BUILTIN;
use super::vocabulary::Vocabulary;

/// What may be set of a recipe, in words. What is read off a text alone knows name, usual value and meaning.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RecipeParameter {
    /// Its name: the option's key.
    pub name: String,
    /// What it takes: "a length".
    pub kind: String,
    /// What it is unless it is set.
    pub usual: String,
    /// The least that makes sense.
    pub least: Option<String>,
    /// The most that makes sense.
    pub most: Option<String>,
    /// The words it takes, where only these make sense.
    pub words: Vec<String>,
    /// What it means, as a sentence.
    pub meaning: String,
}

/// The parameters of the table that a recipe exports, by name.
pub(super) fn exported_parameters(table: &Map, vocabulary: &Vocabulary) -> Vec<RecipeParameter> {
    table
        .iter()
        .map(|(name, parameter)| exported(name, parameter, vocabulary))
        .collect()
}

fn exported(name: &str, parameter: &Dynamic, vocabulary: &Vocabulary) -> RecipeParameter {
    let table = parameter.clone().try_cast::<Map>().unwrap_or_default();
    let read = |key: &str| table.get(key).map(|value| vocabulary.show(value));
    let words = table.get("words").and_then(Dynamic::read_lock::<Array>);
    let words = words.map(|list| list.iter().map(|word| vocabulary.show(word)).collect());
    let kind = match read("kind") {
        Some(kind) if kind == "size" => "a number of units or a length".to_owned(),
        _ => table
            .get("usual")
            .filter(|usual| !usual.is_unit())
            .map(|usual| vocabulary.kind_of(usual))
            .unwrap_or_default(),
    };
    RecipeParameter {
        name: name.to_owned(),
        kind,
        usual: read("usual").unwrap_or_default(),
        least: read("least"),
        most: read("most"),
        words: words.unwrap_or_default(),
        meaning: read("meaning").unwrap_or_default(),
    }
}

/// The parameters of the built-in recipes, read off their texts without running them, for what is typed before a recipe is
/// imported.
pub fn builtin_parameters() -> &'static BTreeMap<&'static str, Vec<RecipeParameter>> {
    static READ: OnceLock<BTreeMap<&'static str, Vec<RecipeParameter>>> = OnceLock::new();
    READ.get_or_init(|| {
        BUILTIN
            .iter()
            .map(|(name, text)| (*name, written_parameters(text)))
            .collect()
    })
}

/// The parameters of a table as it is written.
fn written_parameters(text: &str) -> Vec<RecipeParameter> {
    const TABLE: &str = "const parameters = #{";
    let Some((_, table)) = text.split_once(TABLE) else {
        return Vec::new();
    };
    entries(table)
        .into_iter()
        .filter_map(|(name, written)| {
            let parameter = entries(written.strip_prefix("#{")?);
            let value = |wanted: &str| {
                let mut parameter = parameter.iter();
                parameter.find_map(|(key, value)| (*key == wanted).then_some(*value))
            };
            let meaning = value("meaning")?.strip_prefix('"')?.strip_suffix('"')?;
            Some(RecipeParameter {
                name: name.to_owned(),
                usual: value("usual")?.to_owned(),
                meaning: meaning.replace("\\\"", "\""),
                ..RecipeParameter::default()
            })
        })
        .collect()
}

/// The entries of a map, from behind its opening brace to its end.
fn entries(inside: &str) -> Vec<(&str, &str)> {
    let mut found = Vec::new();
    let mut rest = inside;
    while let Some((key, after)) = rest.split_once(':') {
        let key = key.trim();
        if !rhai::is_valid_identifier(key) {
            break;
        }
        let length = value_length(after);
        found.push((key, after.get(..length).unwrap_or_default().trim()));
        match after.get(length..).and_then(|left| left.strip_prefix(',')) {
            Some(left) => rest = left,
            None => break,
        }
    }
    found
}

/// How many bytes a value takes, up to the comma or the brace that ends it.
fn value_length(text: &str) -> usize {
    let (mut depth, mut quoted, mut escaped) = (0_usize, false, false);
    for (at, letter) in text.char_indices() {
        if escaped {
            escaped = false;
            continue;
        }
        match letter {
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            _ if quoted => {}
            '[' | '{' | '(' => depth += 1,
            ',' | ']' | '}' | ')' if depth == 0 => return at,
            ']' | '}' | ')' => depth -= 1,
            _ => {}
        }
    }
    text.len()
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
