//! Cutting a line into cells.
//!
//! By RFC 4180 within a line, and kind to inch marks: a double quote that does not open a cell
//! stands for itself, so `14 3/16"` needs no quoting.

use super::SurveyFault;

/// A cell and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Cell {
    /// Text without quotes and outer blanks.
    pub text: String,
    /// Column of its first character, from 1.
    pub column: usize,
}

/// A line that cannot be cut: the fault, its column, the text from there.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct BadLine {
    pub fault: SurveyFault,
    pub column: usize,
    pub found: String,
}

/// Cells of a line; trailing empty ones beyond `due` are dropped, as spreadsheets leave them.
pub(super) fn split(line: &str, due: usize) -> Result<Vec<Cell>, Box<BadLine>> {
    let chars: Vec<char> = line.chars().collect();
    let mut cells = Vec::new();
    let mut at = 0;
    loop {
        while at < chars.len() && chars[at] != ',' && chars[at].is_whitespace() {
            at += 1;
        }
        let start = at;
        let mut text = String::new();
        if chars.get(at) == Some(&'"') {
            at += 1;
            loop {
                match chars.get(at) {
                    None => {
                        return Err(Box::new(BadLine {
                            fault: SurveyFault::OpenQuote,
                            column: start + 1,
                            found: chars[start..].iter().collect(),
                        }));
                    }
                    Some('"') if chars.get(at + 1) == Some(&'"') => {
                        text.push('"');
                        at += 2;
                    }
                    Some('"') => {
                        at += 1;
                        break;
                    }
                    Some(c) => {
                        text.push(*c);
                        at += 1;
                    }
                }
            }
            while at < chars.len() && chars[at] != ',' {
                if !chars[at].is_whitespace() {
                    return Err(Box::new(BadLine {
                        fault: SurveyFault::AfterQuote,
                        column: at + 1,
                        found: chars[at..].iter().collect(),
                    }));
                }
                at += 1;
            }
        } else {
            while at < chars.len() && chars[at] != ',' {
                text.push(chars[at]);
                at += 1;
            }
        }
        cells.push(Cell { text: text.trim().to_owned(), column: start + 1 });
        if at >= chars.len() {
            break;
        }
        at += 1;
    }
    while cells.len() > due && cells.last().is_some_and(|cell| cell.text.is_empty()) {
        cells.pop();
    }
    Ok(cells)
}
