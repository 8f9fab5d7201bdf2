//! Completion from the declarations: names, methods, option keys and their words.

use std::collections::BTreeMap;

use crate::script::declare::{CallKind, Parameter};
use crate::script::vocabulary::Vocabulary;

/// One word that may stand at the cursor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Suggested {
    /// The word.
    pub word: String,
    /// What it is.
    pub note: String,
}

/// What may be completed. Plain data, so that the editor may hold it on any thread.
#[derive(Debug, Clone, Default)]
pub struct Words {
    functions: BTreeMap<String, String>,
    members: BTreeMap<String, String>,
    options: BTreeMap<String, Vec<OptionWords>>,
    defined: Vec<String>,
}

#[derive(Debug, Clone)]
struct OptionWords {
    key: String,
    note: String,
    words: Vec<&'static str>,
}

impl Words {
    /// The words of a vocabulary and of what the inputs defined.
    pub fn new(vocabulary: &Vocabulary, defined: Vec<String>) -> Self {
        let mut words = Self {
            defined,
            ..Self::default()
        };
        for declaration in vocabulary.declarations() {
            let note = format!("{}: {}", declaration.signature(), declaration.summary);
            let to = if declaration.kind == CallKind::Function {
                &mut words.functions
            } else {
                &mut words.members
            };
            to.entry(declaration.name.to_owned()).or_insert(note);
            let option = |o: &Parameter| OptionWords {
                key: o.name.to_owned(),
                note: format!("{}: {}", o.wants.short(), o.meaning),
                words: o.wants.words(),
            };
            words
                .options
                .entry(declaration.name.to_owned())
                .or_default()
                .extend(declaration.options.iter().map(option));
        }
        words
    }

    /// The line for a signature hint: the innermost call round the cursor.
    pub fn signature(&self, before: &str) -> Option<&str> {
        let (name, _) = open_call(before)?;
        self.functions
            .get(name)
            .or_else(|| self.members.get(name))
            .map(String::as_str)
    }

    /// Where the word at the end of `before` starts, in bytes, and what it may become.
    pub fn complete(&self, before: &str) -> (usize, Vec<Suggested>) {
        let start = before
            .rfind(|c: char| !(c.is_alphanumeric() || c == '_'))
            .map_or(0, |at| {
                at + before
                    .get(at..)
                    .and_then(|rest| rest.chars().next())
                    .map_or(1, char::len_utf8)
            });
        let (head, word) = before.split_at_checked(start).unwrap_or((before, ""));
        let suggest = |word: &str, note: &str| Suggested {
            word: word.to_owned(),
            note: note.to_owned(),
        };
        let fits = |candidate: &str| candidate.starts_with(word);
        if head.ends_with('"') {
            return (
                start,
                self.option_words(head)
                    .into_iter()
                    .filter(|w| fits(w))
                    .map(|w| suggest(w, ""))
                    .collect(),
            );
        }
        if head.ends_with('.') {
            let members = self.members.iter().filter(|(name, _)| fits(name));
            return (
                start,
                members.map(|(name, note)| suggest(name, note)).collect(),
            );
        }
        if let Some((name, inside)) = open_call(head)
            && at_key(inside)
            && let Some(options) = self.options.get(name)
        {
            let keys = options.iter().filter(|option| fits(&option.key));
            return (
                start,
                keys.map(|option| suggest(&format!("{}: ", option.key), &option.note))
                    .collect(),
            );
        }
        let mut found: Vec<Suggested> = self
            .defined
            .iter()
            .filter(|name| fits(name))
            .map(|name| suggest(name, "defined"))
            .collect();
        found.extend(
            self.functions
                .iter()
                .filter(|(name, _)| fits(name))
                .map(|(name, note)| suggest(name, note)),
        );
        (start, found)
    }

    /// The words of the option whose text has just been opened.
    fn option_words(&self, head: &str) -> Vec<&'static str> {
        let Some((name, inside)) = open_call(head.trim_end_matches('"')) else {
            return Vec::new();
        };
        let Some(key) = inside.rsplit_once(':').and_then(|(left, _)| {
            left.rsplit(|c: char| !(c.is_alphanumeric() || c == '_'))
                .next()
        }) else {
            return Vec::new();
        };
        let options = self.options.get(name).into_iter().flatten();
        options
            .filter(|option| option.key == key)
            .flat_map(|option| option.words.clone())
            .collect()
    }
}

/// The name of the innermost call that is open at the end, and what stands after its bracket.
fn open_call(text: &str) -> Option<(&str, &str)> {
    let mut depth = 0_usize;
    for (at, c) in text.char_indices().rev() {
        match c {
            ')' => depth += 1,
            '(' if depth > 0 => depth -= 1,
            '(' => {
                let (head, inside) = (text.get(..at)?, text.get(at + 1..)?);
                let start = head
                    .rfind(|c: char| !(c.is_alphanumeric() || c == '_'))
                    .map_or(0, |at| at + 1);
                return head
                    .get(start..)
                    .filter(|name| !name.is_empty())
                    .map(|name| (name, inside));
            }
            _ => {}
        }
    }
    None
}

/// Whether a key of an option map is due: after `#{` or after a comma in it, outside lists.
fn at_key(inside: &str) -> bool {
    let Some(open) = inside.rfind("#{") else {
        return false;
    };
    let map = inside.get(open + 2..).unwrap_or_default();
    let lists = map.matches('[').count() > map.matches(']').count();
    !map.contains('}') && !lists && matches!(map.trim_end().chars().last(), None | Some(','))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words() -> Words {
        let mut words = Words::default();
        words
            .functions
            .insert("chamber".into(), "chamber(#{ outside })".into());
        words.members.insert("mm".into(), "number.mm".into());
        words.options.insert(
            "chamber".into(),
            vec![
                OptionWords {
                    key: "outside".into(),
                    note: String::new(),
                    words: vec![],
                },
                OptionWords {
                    key: "side".into(),
                    note: String::new(),
                    words: vec!["front", "back"],
                },
            ],
        );
        words.defined = vec!["chimney".into()];
        words
    }

    fn found(before: &str) -> Vec<String> {
        words()
            .complete(before)
            .1
            .into_iter()
            .map(|s| s.word)
            .collect()
    }

    #[test]
    fn each_place_has_its_words() {
        assert_eq!(found("let x = ch"), ["chimney", "chamber"]);
        assert_eq!(found("5.m"), ["mm"]);
        assert_eq!(found("chamber(#{ out"), ["outside: "]);
        assert_eq!(
            found("chamber(#{ outside: [4, 3], "),
            ["outside: ", "side: "]
        );
        assert_eq!(found("chamber(#{ outside: [4, s"), Vec::<String>::new());
        assert_eq!(found("chamber(#{ side: \"fr"), ["front"]);
        assert_eq!(words().complete("let x = ch").0, 8);
        assert_eq!(words().complete("é.m").0, 3);
        assert!(words().signature("chamber(#{").is_some());
    }
}
