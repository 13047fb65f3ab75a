//! The columns of a survey file.

use super::SurveyFault;
use super::error::nearest;
use super::split::Cell;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Column {
    Mark,
    X,
    Y,
    Z,
    From,
    Distance,
    Sigma,
    Side,
    How,
    Hook,
    Thickness,
    Instrument,
    Reading,
    Note,
}

impl Column {
    pub(super) const ALL: [Column; 14] = [
        Column::Mark,
        Column::X,
        Column::Y,
        Column::Z,
        Column::From,
        Column::Distance,
        Column::Sigma,
        Column::Side,
        Column::How,
        Column::Hook,
        Column::Thickness,
        Column::Instrument,
        Column::Reading,
        Column::Note,
    ];

    pub(super) const fn word(self) -> &'static str {
        match self {
            Column::Mark => "mark",
            Column::X => "x",
            Column::Y => "y",
            Column::Z => "z",
            Column::From => "from",
            Column::Distance => "distance",
            Column::Sigma => "sigma",
            Column::Side => "side",
            Column::How => "how",
            Column::Hook => "hook",
            Column::Thickness => "thickness",
            Column::Instrument => "instrument",
            Column::Reading => "reading",
            Column::Note => "note",
        }
    }
}

/// Which cell of a row holds what.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Header {
    columns: Vec<Column>,
}

impl Header {
    /// Reads the header's cells; every fault with the cell it is about.
    pub(super) fn read(cells: &[Cell]) -> Result<Header, Vec<(Cell, SurveyFault)>> {
        let names: Vec<Option<Column>> = cells
            .iter()
            .map(|cell| {
                let lower = cell.text.to_lowercase();
                Column::ALL.into_iter().find(|column| column.word() == lower)
            })
            .collect();
        let first = cells.first().cloned().unwrap_or(Cell { text: String::new(), column: 1 });
        if names.iter().all(Option::is_none) {
            return Err(vec![(first, SurveyFault::NoHeader)]);
        }
        let mut faults = Vec::new();
        let mut columns: Vec<Column> = Vec::new();
        for (i, (cell, name)) in cells.iter().zip(&names).enumerate() {
            match name {
                None => {
                    let near = nearest(&cell.text, Column::ALL.map(Column::word));
                    faults.push((cell.clone(), SurveyFault::UnknownColumn { name: cell.text.clone(), near }));
                }
                Some(column) => {
                    if let Some(earlier) = names[..i].iter().position(|other| other == name) {
                        let fault = SurveyFault::RepeatedColumn {
                            name: cell.text.clone(),
                            first: cells[earlier].column,
                        };
                        faults.push((cell.clone(), fault));
                    }
                    columns.push(*column);
                }
            }
        }
        let has = |column: Column| columns.contains(&column);
        let mut missing = Vec::new();
        if !has(Column::Mark) {
            missing.push(Column::Mark);
        }
        let points = [Column::X, Column::Y, Column::Z];
        let tape = [Column::From, Column::Distance];
        if points.iter().any(|c| has(*c)) || !tape.iter().any(|c| has(*c)) {
            missing.extend(points.into_iter().filter(|c| !has(*c)));
        }
        if tape.iter().any(|c| has(*c)) {
            missing.extend(tape.into_iter().filter(|c| !has(*c)));
        }
        if !missing.is_empty() && faults.is_empty() {
            let missing = missing.iter().map(|c| c.word()).collect::<Vec<_>>().join("`, `");
            faults.push((first, SurveyFault::MissingColumn { missing }));
        }
        if faults.is_empty() { Ok(Header { columns }) } else { Err(faults) }
    }

    /// Number of columns.
    pub(super) fn len(&self) -> usize {
        self.columns.len()
    }

    /// The cell of a column, when the file has it.
    pub(super) fn cell<'a>(&self, cells: &'a [Cell], column: Column) -> Option<&'a Cell> {
        self.columns.iter().position(|c| *c == column).and_then(|i| cells.get(i))
    }

    /// The cell of a column when it is there and not empty.
    pub(super) fn filled<'a>(&self, cells: &'a [Cell], column: Column) -> Option<&'a Cell> {
        self.cell(cells, column).filter(|cell| !cell.text.is_empty())
    }
}
