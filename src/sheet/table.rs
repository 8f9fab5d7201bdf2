use std::fmt::Write as _;

use super::wrap::lines;

/// Spaces before the first column and between columns.
const GAP: usize = 2;
/// A column of words is not made narrower than this, whatever room there is.
const LEAST_WRAPPED: usize = 28;

/// A column: its heading, and whether its cells are numbers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Heading.
    pub heading: String,
    /// Whether its cells line up on the right.
    pub number: bool,
}

/// Rows of cells under headings.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Title line, empty for none.
    pub title: String,
    /// Columns.
    pub columns: Vec<Column>,
    /// Cells, row by row.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// An empty table. A heading that starts with `#` is a column of numbers.
    pub fn new(title: impl Into<String>, headings: &[&str]) -> Table {
        Table {
            title: title.into(),
            columns: headings
                .iter()
                .map(|heading| Column {
                    heading: heading.trim_start_matches('#').to_owned(),
                    number: heading.starts_with('#'),
                })
                .collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
    }

    /// As [`Table::text`], with the words of the last column in as many lines as keep the table within a width, where that
    /// leaves the column room to be read.
    pub fn text_within(&self, most: usize) -> String {
        let Some(last) = self.columns.len().checked_sub(1) else {
            return self.text();
        };
        let before: usize = (0..last).map(|index| self.width(index) + GAP).sum();
        let room = most.saturating_sub(GAP + before).max(LEAST_WRAPPED);
        let mut wrapped = Table {
            rows: Vec::new(),
            ..self.clone()
        };
        for row in &self.rows {
            let (Some(text), Some(cells)) = (row.get(last), row.get(..last)) else {
                wrapped.rows.push(row.clone());
                continue;
            };
            for (at, line) in lines(text, room, room).into_iter().enumerate() {
                let cells = cells
                    .iter()
                    .map(|cell| if at == 0 { cell.clone() } else { String::new() });
                wrapped.row(cells.chain([line]));
            }
        }
        wrapped.text()
    }

    /// Columns that a column takes.
    fn width(&self, index: usize) -> usize {
        let cells = self.rows.iter().filter_map(|row| row.get(index));
        let heading = self.columns.get(index).map(|column| &column.heading);
        let widths = cells.chain(heading).map(|cell| cell.chars().count());
        widths.max().unwrap_or(0)
    }

    /// Plain text: columns two spaces apart, no line ends in spaces.
    pub fn text(&self) -> String {
        let mut out = String::new();
        if !self.title.is_empty() {
            out.push_str(&self.title);
            out.push('\n');
        }
        let widths: Vec<usize> = (0..self.columns.len())
            .map(|index| self.width(index))
            .collect();
        let mut line = |cells: &mut dyn Iterator<Item = &str>| {
            let mut text = String::from("  ");
            for ((cell, column), width) in cells.zip(&self.columns).zip(&widths) {
                let pad = width.saturating_sub(cell.chars().count());
                if column.number {
                    let _ = write!(text, "{:pad$}{cell}  ", "");
                } else {
                    let _ = write!(text, "{cell}{:pad$}  ", "");
                }
            }
            out.push_str(text.trim_end());
            out.push('\n');
        };
        if self.columns.iter().any(|column| !column.heading.is_empty()) {
            line(&mut self.columns.iter().map(|column| column.heading.as_str()));
            let rules: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
            line(&mut rules.iter().map(String::as_str));
        }
        for row in &self.rows {
            line(&mut row.iter().map(String::as_str));
        }
        out
    }

    /// Comma-separated values (RFC 4180).
    pub fn csv(&self) -> String {
        let quoted = |cell: &str| {
            if cell.contains([',', '"', '\n', '\r']) {
                format!("\"{}\"", cell.replace('"', "\"\""))
            } else {
                cell.to_owned()
            }
        };
        let mut out = String::new();
        let headings: Vec<String> = self.columns.iter().map(|c| quoted(&c.heading)).collect();
        for cells in std::iter::once(headings).chain(
            self.rows
                .iter()
                .map(|row| row.iter().map(|c| quoted(c)).collect()),
        ) {
            out.push_str(&cells.join(","));
            out.push_str("\r\n");
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::Table;

    #[test]
    fn columns_line_up_and_cells_are_quoted() {
        let mut table = Table::new("bags", &["what", "#count"]);
        table.row(["cement".to_owned(), "9".to_owned()]);
        table.row(["lime, \"hydrated\"".to_owned(), "12".to_owned()]);
        assert_eq!(
            table.text(),
            "bags\n  what              count\n  ----------------  -----\n  cement                9\n  lime, \"hydrated\"     12\n"
        );
        let mut notes = Table::new("", &["what", "note"]);
        notes.row([
            "lime".to_owned(),
            "keep it dry and off the ground until it is wanted".to_owned(),
        ]);
        assert_eq!(
            notes.text_within(36),
            "  what  note\n  ----  -------------------------\n  lime  keep it dry and off the\n        ground until it is wanted\n"
        );
        assert_eq!(
            table.csv(),
            "what,count\r\ncement,9\r\n\"lime, \"\"hydrated\"\"\",12\r\n"
        );
    }
}
