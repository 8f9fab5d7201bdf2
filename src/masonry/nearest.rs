//! The nearest right name to a mistyped one.

/// Words are compared by their first characters up to this many, which bounds the work.
const COMPARED: usize = 64;
/// One slip is forgiven for each three characters: common practice, no source.
const CHARACTERS_PER_SLIP: usize = 3;
/// A shorter word inside a longer name means nothing.
const SHORTEST_PART: usize = 3;

/// The word among `among` that `word` most likely stands for; `None` when none is near.
///
/// Letter case does not matter. A slip is a letter put in, left out, changed, or swapped with its
/// neighbour; one slip is forgiven, or one for each three letters. Failing that, the first name
/// that contains the word. Of equally near words the first is taken.
///
/// # Examples
/// ```
/// use perpend::masonry::nearest;
/// assert_eq!(nearest("strecther", ["third", "stretcher"].into_iter()), Some("stretcher"));
/// assert_eq!(nearest("modular", ["nf", "us_modular"].into_iter()), Some("us_modular"));
/// assert_eq!(nearest("herringbone", ["third", "stretcher"].into_iter()), None);
/// ```
pub fn nearest<'a>(word: &str, among: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = letters(word);
    let limit = (wanted.len() / CHARACTERS_PER_SLIP).max(1);
    let part: String = wanted.iter().collect();
    let mut best: Option<(usize, &'a str)> = None;
    let mut containing = None;
    for name in among {
        let candidate = letters(name);
        let slips = distance(&wanted, &candidate);
        // A word changed in every letter is another word, however short.
        let near = slips <= limit && slips < wanted.len().max(1);
        if near && best.is_none_or(|(least, _)| slips < least) {
            best = Some((slips, name));
        }
        if containing.is_none() && wanted.len() >= SHORTEST_PART {
            let whole: String = candidate.iter().collect();
            if whole.contains(&part) {
                containing = Some(name);
            }
        }
    }
    best.map(|(_, name)| name).or(containing)
}

fn letters(word: &str) -> Vec<char> {
    word.trim()
        .chars()
        .flat_map(char::to_lowercase)
        .take(COMPARED)
        .collect()
}

/// Slips between two words: optimal string alignment over three rows of the table.
fn distance(a: &[char], b: &[char]) -> usize {
    let at = |row: &[usize], i: usize| row.get(i).copied().unwrap_or(usize::MAX / 2);
    let mut two_above: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, &ca) in a.iter().enumerate() {
        let mut row = Vec::with_capacity(b.len() + 1);
        row.push(i + 1);
        for (j, &cb) in b.iter().enumerate() {
            let mut slips = (at(&above, j) + usize::from(ca != cb))
                .min(at(&above, j + 1) + 1)
                .min(at(&row, j) + 1);
            if let (Some(before_i), Some(before_j)) = (i.checked_sub(1), j.checked_sub(1))
                && a.get(before_i) == Some(&cb)
                && b.get(before_j) == Some(&ca)
            {
                slips = slips.min(at(&two_above, before_j) + 1);
            }
            row.push(slips);
        }
        two_above = above;
        above = row;
    }
    above.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn slips(a: &str, b: &str) -> usize {
        distance(&letters(a), &letters(b))
    }

    #[test]
    fn slips_are_counted() {
        assert_eq!(slips("", "abc"), 3);
        assert_eq!(slips("kitten", "sitting"), 3);
        assert_eq!(slips("third", "THIRD"), 0);
        assert_eq!(slips("thrid", "third"), 1);
        assert_eq!(slips("nf", "nff"), 1);
    }

    #[test]
    fn far_words_have_no_nearest() {
        assert_eq!(nearest("zz", ["nf", "df"].into_iter()), None);
        assert_eq!(nearest("", ["nf", "df"].into_iter()), None);
        assert_eq!(nearest("mf", ["nf", "df"].into_iter()), Some("nf"));
        assert_eq!(nearest("xyz", std::iter::empty()), None);
    }

    proptest! {
        #[test]
        fn a_name_is_nearest_to_itself(word in "[a-z_0-9]{1,20}", other in "[a-z_0-9]{1,20}") {
            let names = [other.as_str(), word.as_str()];
            prop_assert_eq!(nearest(&word, names.into_iter()), Some(word.as_str()));
        }

        #[test]
        fn distance_is_symmetric(a: String, b: String) {
            prop_assert_eq!(slips(&a, &b), slips(&b, &a));
        }
    }
}
