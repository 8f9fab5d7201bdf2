//! Pages of help that lead through something, kept as Markdown whose blocks the tests run.

use super::help::hung;

/// Name and text of every page.
pub const PAGES: &[(&str, &str)] = &[("start", include_str!("../../stdlib/help/start.md"))];

/// A page as a terminal shows it, within so many columns; none of that name gives nothing.
///
/// Paragraphs are filled, what is to be typed is indented, and what it shows is indented further.
pub fn page(name: &str, columns: usize) -> Option<String> {
    let (_, text) = PAGES.iter().find(|(known, _)| *known == name)?;
    let mut out: Vec<String> = Vec::new();
    let mut paragraph: Vec<&str> = Vec::new();
    let mut block: Option<usize> = None;
    let flush = |paragraph: &mut Vec<&str>, out: &mut Vec<String>| {
        if !paragraph.is_empty() {
            out.push(hung("", 0, &paragraph.join(" "), columns));
            paragraph.clear();
        }
    };
    for line in text.lines() {
        if let Some(kind) = line.strip_prefix("```") {
            flush(&mut paragraph, &mut out);
            block = match (block, kind) {
                (Some(_), _) => None,
                (None, "rhai") => Some(TYPED),
                (None, _) => Some(SHOWN),
            };
        } else if let Some(indent) = block {
            let indented = format!("{}{line}", " ".repeat(indent));
            out.push(indented.trim_end().to_owned());
        } else if line.is_empty() {
            flush(&mut paragraph, &mut out);
            if out.last().is_some_and(|last| !last.is_empty()) {
                out.push(String::new());
            }
        } else if let Some(title) = line.strip_prefix('#') {
            flush(&mut paragraph, &mut out);
            out.push(title.trim_start_matches('#').trim().to_owned());
        } else {
            paragraph.push(line);
        }
    }
    flush(&mut paragraph, &mut out);
    Some(out.join("\n").trim_end().to_owned())
}

/// Columns before what is to be typed.
const TYPED: usize = 4;
/// Columns before what it shows.
const SHOWN: usize = 6;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_filled_and_its_blocks_are_indented() {
        let text = page("start", 60).unwrap_or_default();
        assert!(text.starts_with("From nothing to a plan you believe in\n\nType each line"));
        assert!(text.contains("\n    2.ft + 4.inch\n      "), "{text}");
        assert!(!text.contains("```"));
        let prose = text.lines().filter(|line| !line.starts_with(' '));
        assert!(
            prose.clone().all(|line| line.chars().count() <= 60),
            "{text}"
        );
        assert_eq!(page("nothing", 60), None);
    }
}
