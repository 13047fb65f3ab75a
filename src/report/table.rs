//! Plain tables and paragraphs that fit a terminal of 80 columns without colour.

/// Columns of a terminal that every text report fits.
pub(super) const WIDTH: usize = 80;

/// Number of characters, which is what a column counts here (no wide scripts in our own words).
fn width(text: &str) -> usize {
    text.chars().count()
}

/// Breaks words to lines no longer than [`WIDTH`], each line after the first indented by `hang` blanks.
///
/// A word longer than a line stands alone on its own.
pub(super) fn wrapped(text: &str, hang: usize) -> String {
    wrapped_to(WIDTH, text, hang)
}

/// Like [`wrapped`], to lines of so many `columns`.
pub(super) fn wrapped_to(columns: usize, text: &str, hang: usize) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let Some(line) = lines.last_mut() else { continue };
        let blank = !line.trim().is_empty();
        if blank && width(line) + 1 + width(word) > columns {
            lines.push(format!("{}{word}", " ".repeat(hang)));
        } else {
            if blank {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines.join("\n")
}

/// Like [`wrapped`], the first line indented too, after a mark that stands in the indent.
pub(super) fn item(mark: &str, indent: usize, text: &str) -> String {
    let lead = format!("{mark:<indent$}");
    let body = wrapped(&format!("{} {text}", "x".repeat(indent.saturating_sub(1))), indent);
    let rest = body.get(indent..).unwrap_or_default();
    format!("{lead}{rest}")
}

/// How a column is set.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Set {
    Left,
    Right,
}

/// Rows under heads, columns two blanks apart, no wider than [`WIDTH`]: the column `flexible` is cut (with
/// an ellipsis) when the rest leaves it too little room.
pub(super) fn table(heads: &[(&str, Set)], flexible: usize, rows: &[Vec<String>]) -> String {
    let mut widths: Vec<usize> = heads.iter().map(|(head, _)| width(head)).collect();
    for row in rows {
        for (column, cell) in widths.iter_mut().zip(row) {
            *column = (*column).max(width(cell));
        }
    }
    let indent = 2;
    let total = |widths: &[usize]| indent + widths.iter().sum::<usize>() + 2 * (widths.len() - 1);
    let over = total(&widths).saturating_sub(WIDTH);
    widths[flexible] = widths[flexible].saturating_sub(over).max(8);
    let line = |cells: &[String]| {
        let mut out = " ".repeat(indent);
        for (at, ((cell, column), (_, set))) in cells.iter().zip(&widths).zip(heads).enumerate() {
            let cell = if width(cell) > *column {
                let kept: String = cell.chars().take(column.saturating_sub(1)).collect();
                format!("{kept}\u{2026}")
            } else {
                cell.clone()
            };
            let gap = " ".repeat(column.saturating_sub(width(&cell)));
            let last = at + 1 == heads.len();
            match set {
                Set::Left if last => out.push_str(&cell),
                Set::Left => out.push_str(&format!("{cell}{gap}")),
                Set::Right => out.push_str(&format!("{gap}{cell}")),
            }
            if !last {
                out.push_str("  ");
            }
        }
        out.truncate(out.trim_end().len());
        out
    };
    let heads: Vec<String> = heads.iter().map(|(head, _)| (*head).to_owned()).collect();
    let mut out =
        vec![line(&heads), format!("{}{}", " ".repeat(indent), "-".repeat(total(&widths) - indent))];
    out.extend(rows.iter().map(|row| line(row)));
    out.join("\n")
}
