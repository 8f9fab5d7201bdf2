//! Running text in lines of a width.

/// The words of a text in lines that hold no more than so many characters, the first one and the others, but for a word
/// that is longer by itself.
pub(crate) fn lines(text: &str, first: usize, others: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let most = if lines.len() > 1 { others } else { first };
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.chars().count() + 1 + word.chars().count() <= most => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// A text behind a label of so many columns, all in lines of up to `most` characters: what does not fit goes on under the
/// start of the text.
pub(crate) fn labelled(label: &str, width: usize, text: &str, most: usize) -> String {
    let room = most.saturating_sub(width + 2);
    let mut out = String::new();
    for (at, line) in lines(text, room, room).into_iter().enumerate() {
        let label = if at == 0 { label } else { "" };
        let gap = if label.chars().count() < width {
            ""
        } else {
            " "
        };
        out.push_str(format!("  {label:<width$}{gap}{line}").trim_end());
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::{labelled, lines};

    #[test]
    fn lines_hold_what_fits_and_longer_words_alone() {
        assert_eq!(lines("a wall of brick", 6, 8), ["a wall", "of brick"]);
        assert_eq!(
            lines("cut unbelievably thin", 5, 5),
            ["cut", "unbelievably", "thin"]
        );
        assert_eq!(lines("", 5, 5), [""]);
    }

    #[test]
    fn a_text_goes_on_under_its_start() {
        assert_eq!(
            labelled("Cure", 6, "seven days wet", 18),
            "  Cure  seven days\n        wet\n"
        );
    }
}
