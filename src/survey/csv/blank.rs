//! A survey file with blanks for the next session: what is known already, then a row for each reading to take.

use std::fmt::Write as _;

use super::header::{Column, Header};
use super::split::{Cell, split};

/// A reading to be taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BlankReading {
    /// The mark that is measured.
    pub mark: String,
    /// What it is measured from, as the column `from` has it.
    pub from: String,
    /// The way of measuring, as the column `how` has it; empty for a straight distance.
    pub how: String,
}

/// The columns of a sheet.
const COLUMNS: [Column; 14] = [
    Column::Mark,
    Column::From,
    Column::How,
    Column::Reading,
    Column::Distance,
    Column::Side,
    Column::X,
    Column::Y,
    Column::Z,
    Column::Hook,
    Column::Thickness,
    Column::Sigma,
    Column::Instrument,
    Column::Note,
];

/// The rows of `files`, as they stand there, then `times` rows for each of `blanks`, numbered under `reading` and with
/// nothing under `distance`. Files are survey files that [`super::read_survey_csv`] reads; what it would refuse is left
/// out here. Remarks of the files are dropped; `head` goes first, each line as a remark.
pub fn blank_sheet(head: &[String], files: &[&str], blanks: &[BlankReading], times: u32) -> String {
    let mut out = String::new();
    // Writing to a String cannot fail.
    for line in head {
        let _ = writeln!(out, "# {}", line.replace(['\r', '\n'], " "));
    }
    let _ = writeln!(out, "{}", COLUMNS.map(Column::word).join(","));
    for text in files {
        rows(&mut out, text);
    }
    for blank in blanks {
        for reading in 1..=times {
            let cell = |column: Column| match column {
                Column::Mark => blank.mark.clone(),
                Column::From => blank.from.clone(),
                Column::How => blank.how.clone(),
                Column::Reading => reading.to_string(),
                _ => String::new(),
            };
            let _ = writeln!(out, "{}", COLUMNS.map(cell).map(quoted).join(","));
        }
    }
    out
}

fn rows(out: &mut String, text: &str) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n").replace('\r', "\n");
    let mut lines =
        text.split('\n').filter(|line| !line.trim().is_empty() && !line.trim_start().starts_with('#'));
    let Some(header) =
        lines.next().and_then(|first| split(first, 0).ok()).and_then(|cells| Header::read(&cells).ok())
    else {
        return;
    };
    for line in lines {
        let Ok(cells) = split(line, header.len()) else { continue };
        let of =
            |column| header.cell(&cells, column).map(|cell: &Cell| cell.text.clone()).unwrap_or_default();
        let _ = writeln!(out, "{}", COLUMNS.map(of).map(quoted).join(","));
    }
}

/// A cell in double quotes where it holds a comma or begins with a quote.
fn quoted(text: String) -> String {
    if text.contains(',') || text.starts_with('"') || text.starts_with('#') {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}
