//! The nearest right word to a wrong one.

/// Distance by insertions, deletions, replacements and swaps of neighbours.
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut before: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, &x) in a.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, &y) in b.iter().enumerate() {
            let get = |row: &[usize], at: usize| row.get(at).copied().unwrap_or(usize::MAX / 2);
            let mut best = (get(&above, j) + usize::from(x != y))
                .min(get(&above, j + 1) + 1)
                .min(get(&row, j) + 1);
            if i > 0 && j > 0 && a.get(i - 1) == Some(&y) && b.get(j - 1) == Some(&x) {
                best = best.min(get(&before, j - 1) + 1);
            }
            row.push(best);
        }
        before = std::mem::replace(&mut above, row);
    }
    above.last().copied().unwrap_or(0)
}

/// The nearest of `words`, if one is near enough to be meant.
pub fn nearest<'a>(word: &str, words: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = word.to_lowercase();
    // A third of the letters may be wrong: more is another word.
    let most = (word.chars().count() / 3).max(1);
    words
        .into_iter()
        .map(|candidate| (distance(&wanted, &candidate.to_lowercase()), candidate))
        .filter(|&(off, candidate)| off <= most && off < candidate.chars().count())
        .min()
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn near_words_are_found_and_far_ones_are_not() {
        assert_eq!(nearest("cources", ["outside", "courses"]), Some("courses"));
        assert_eq!(nearest("hieght", ["width", "height"]), Some("height"));
        assert_eq!(nearest("Widht", ["width", "height"]), Some("width"));
        assert_eq!(nearest("colour", ["width", "height"]), None);
        assert_eq!(nearest("x", ["y"]), None);
    }
}
