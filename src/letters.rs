//! Plain letters for terminals that know no others.

/// Whether the settings of the system name an encoding other than UTF-8; `read` gives a variable of the environment.
///
/// The first of `LC_ALL`, `LC_CTYPE` and `LANG` that is set decides, as POSIX has it (Base Definitions, 8.2). Where none
/// is set, UTF-8 is taken: terminals without any setting are nowadays.
pub(crate) fn wants_plain_letters(read: impl Fn(&str) -> Option<String>) -> bool {
    let set = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(read)
        .find(|value| !value.is_empty());
    set.is_some_and(|value| {
        let value = value.to_lowercase();
        !(value.contains("utf-8") || value.contains("utf8"))
    })
}

/// A text in ASCII alone: signs are spelled out, lines of pictures drawn with `+`, `-` and `|`, other letters become `?`.
pub(crate) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_ascii() {
            out.push(letter);
            continue;
        }
        let spelled = match letter {
            '×' => "x",
            '²' => "2",
            '³' => "3",
            '¹' => "1",
            '°' => "deg ",
            '−' | '–' | '—' | '─' => "-",
            '½' => "1/2",
            '¼' => "1/4",
            '¾' => "3/4",
            '⅓' => "1/3",
            '⅔' => "2/3",
            '±' => "+-",
            '≤' => "<=",
            '≥' => ">=",
            '≈' => "~",
            '·' | '░' => ".",
            '…' => "...",
            '│' => "|",
            '├' | '┤' | '┼' | '┴' | '┬' | '┘' | '└' | '┐' | '┌' => "+",
            '▒' => ":",
            'π' => "pi",
            '√' => "sqrt ",
            '’' | '′' => "'",
            '”' | '″' => "\"",
            _ => "?",
        };
        out.push_str(spelled);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_setting_decides() {
        let with = |set: &'static [(&'static str, &'static str)]| {
            wants_plain_letters(move |name| {
                let found = set.iter().find(|(known, _)| *known == name);
                found.map(|(_, value)| (*value).to_owned())
            })
        };
        assert!(!with(&[]));
        assert!(!with(&[("LANG", "de_DE.UTF-8")]));
        assert!(!with(&[("LC_ALL", "C.utf8"), ("LANG", "C")]));
        assert!(with(&[("LC_ALL", "C"), ("LANG", "de_DE.UTF-8")]));
        assert!(with(&[("LC_ALL", ""), ("LC_CTYPE", "POSIX")]));
        assert!(with(&[("LANG", "de_DE.ISO-8859-1")]));
    }

    #[test]
    fn plain_text_is_ascii_and_keeps_its_meaning() {
        let text = plain("240 × 115 mm, 1.5 m³ at 20 °C – ≈ é\n├──┤");
        assert!(text.is_ascii());
        assert_eq!(text, "240 x 115 mm, 1.5 m3 at 20 deg C - ~ ?\n+--+");
    }
}
