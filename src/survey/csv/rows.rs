//! The readings of a survey file, row by row.

use nalgebra::Point3;

use super::SurveyFault;
use super::error::nearest;
use super::header::{Column, Header};
use super::reader::ReadingDefaults;
use super::split::Cell;
use crate::space::{Direction, Length, LengthUnit};
use crate::survey::Instrument;
use crate::survey::network::{How, HowFault};

/// Beyond this a coordinate is a slip, mm.
const LARGEST_MM: f64 = 1e6;

/// What one row says.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Row {
    /// Coordinates of a mark.
    Point { mark: Cell, position: Point3<f64>, sigma_mm: f64, note: Option<String> },
    /// A reading of the network: a taped distance, mostly.
    Tape {
        mark: Cell,
        from: Cell,
        how: How,
        distance_mm: f64,
        hook_mm: f64,
        sigma_mm: f64,
        side: Option<Direction>,
        note: Option<String>,
    },
    /// A reading of a field sheet that was not taken: the empty cell, what it was of, which of its readings.
    Blank { cell: Cell, what: String, reading: u32 },
}

/// Reads one row; every fault with the cell it is about.
pub(super) fn read_row(
    header: &Header,
    cells: &[Cell],
    defaults: &ReadingDefaults<'_>,
) -> Result<Row, Vec<(Cell, SurveyFault)>> {
    let mut reader = RowReader { header, cells, unit: defaults.unit, defaults, faults: Vec::new() };
    let row = reader.row();
    match row {
        Some(row) if reader.faults.is_empty() => Ok(row),
        _ => Err(reader.faults),
    }
}

struct RowReader<'a> {
    header: &'a Header,
    cells: &'a [Cell],
    unit: LengthUnit,
    defaults: &'a ReadingDefaults<'a>,
    faults: Vec<(Cell, SurveyFault)>,
}

impl<'a> RowReader<'a> {
    fn row(&mut self) -> Option<Row> {
        let (header, cells) = (self.header, self.cells);
        let has = |column: Column| header.filled(cells, column).is_some();
        let point = [Column::X, Column::Y, Column::Z].into_iter().any(has);
        let reading = self.reading();
        let tape = reading.is_some() || [Column::From, Column::Distance, Column::How].into_iter().any(has);
        let first = self.cells.first()?.clone();
        let mark = self.name(Column::Mark, "the mark's name");
        if point && tape {
            self.faults.push((first, SurveyFault::MixedRow));
            return None;
        }
        if !point && !tape {
            if self.header.cell(self.cells, Column::From).is_none() {
                // A file of points: say which coordinates are missing.
                for column in [Column::X, Column::Y, Column::Z] {
                    self.length(column);
                }
            } else if self.header.cell(self.cells, Column::X).is_none() {
                self.name(Column::From, "the mark at which the tape was hooked");
                self.length(Column::Distance);
            } else {
                self.faults.push((first, SurveyFault::NothingGiven));
            }
            return None;
        }
        let instrument = self.instrument();
        let note = self.header.filled(self.cells, Column::Note).map(|cell| cell.text.clone());
        if point {
            if let Some(side) = self.header.filled(self.cells, Column::Side) {
                self.faults.push((side.clone(), SurveyFault::SideOfPoint));
            }
            let sigma_mm = self.sigma(instrument, 0.0, tape);
            let [x, y, z] = [Column::X, Column::Y, Column::Z].map(|column| self.length(column));
            return Some(Row::Point {
                mark: mark?,
                position: Point3::new(x?, y?, z?),
                sigma_mm: sigma_mm?,
                note,
            });
        }
        let thickness_mm = self.extra(Column::Thickness, instrument.map_or(0.0, |one| one.thickness_mm));
        let (how, from) = self.how(thickness_mm)?;
        if !matches!(how, How::Wrap { .. }) {
            self.only_for(Column::Thickness, "`wrap`");
        }
        if let (Some(reading), Some(cell)) = (reading, self.header.cell(self.cells, Column::Distance))
            && how.has_length()
            && cell.text.is_empty()
        {
            let (cell, what) = (cell.clone(), named(&mark?.text, &how));
            return Some(Row::Blank { cell, what, reading });
        }
        let distance_mm = if how.has_length() {
            self.length(Column::Distance)
        } else {
            if let Some(cell) = self.header.filled(self.cells, Column::Distance).cloned() {
                let how =
                    self.header.cell(self.cells, Column::How).map(|c| c.text.clone()).unwrap_or_default();
                self.faults.push((cell, SurveyFault::NoLength { how }));
            }
            self.only_for(Column::Hook, "a length read along the tape");
            Some(0.0)
        };
        let square = matches!(how, How::Square { .. });
        if let (Some(mm), Some(cell)) = (distance_mm, self.header.cell(self.cells, Column::Distance))
            && (mm < 0.0 || mm == 0.0 && !square)
            && how.has_length()
            && !how.may_be_below_zero()
        {
            self.faults.push((cell.clone(), SurveyFault::NotAboveZero));
        }
        let hook_mm = self.extra(Column::Hook, instrument.map_or(0.0, |one| one.hook_of_mm(&how)));
        let sigma_mm = self.sigma(instrument, distance_mm.unwrap_or(0.0), tape);
        let side = self.side();
        if let Some(mark) = &mark
            && how.from().contains(&mark.text.as_str())
        {
            self.faults.push((from.clone(), SurveyFault::FromItself { name: mark.text.clone() }));
        }
        Some(Row::Tape {
            mark: mark?,
            from,
            how,
            distance_mm: distance_mm?,
            hook_mm,
            sigma_mm: sigma_mm?,
            side,
            note,
        })
    }

    /// The way of measuring, and the cell of what it was measured from.
    fn how(&mut self, thickness_mm: f64) -> Option<(How, Cell)> {
        let word = self.header.filled(self.cells, Column::How).cloned();
        let from = self.header.cell(self.cells, Column::From)?.clone();
        // A plain distance with nothing to be measured from is an empty cell, as ever.
        if word.is_none() {
            let from = self.name(Column::From, "the mark at which the tape was hooked")?;
            return Some((How::Straight { from: from.text.clone() }, from));
        }
        if from.text.starts_with(['[', '{']) {
            self.faults.push((from, SurveyFault::List { column: Column::From.word() }));
            return None;
        }
        let word = word?;
        match How::from_words(&word.text, &from.text, thickness_mm) {
            Ok(how) => Some((how, from)),
            Err(why) => {
                let unknown = matches!(why, HowFault::Unknown { .. });
                let near = unknown.then(|| nearest(&word.text.to_lowercase(), How::words())).flatten();
                let cell = if unknown { word } else { from };
                self.faults.push((cell, SurveyFault::BadHow { why, near }));
                None
            }
        }
    }

    /// A length that may be left out.
    fn extra(&mut self, column: Column, default_mm: f64) -> f64 {
        if self.header.filled(self.cells, column).is_some() {
            self.length(column).unwrap_or(default_mm)
        } else {
            default_mm
        }
    }

    /// Which of a sheet's readings of the same thing it is.
    fn reading(&mut self) -> Option<u32> {
        let cell = self.header.filled(self.cells, Column::Reading)?;
        match cell.text.parse() {
            Ok(number) if number > 0 => Some(number),
            _ => {
                self.faults.push((cell.clone(), SurveyFault::BadReading));
                None
            }
        }
    }

    /// The instrument that the row names, else the survey's.
    fn instrument(&mut self) -> Option<&'a Instrument> {
        let defaults = self.defaults;
        let Some(cell) = self.header.filled(self.cells, Column::Instrument) else {
            return defaults.instrument;
        };
        let found = defaults.known.iter().find(|one| one.name == cell.text);
        if found.is_none() {
            let names = || defaults.known.iter().map(|one| one.name.as_str());
            let near = nearest(&cell.text, names());
            let known = names().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
            let known = if known.is_empty() { "none".to_owned() } else { known };
            let fault = SurveyFault::UnknownInstrument { name: cell.text.clone(), near, known };
            self.faults.push((cell.clone(), fault));
        }
        found
    }

    fn only_for(&mut self, column: Column, due: &'static str) {
        if let Some(cell) = self.header.filled(self.cells, column).cloned() {
            self.faults.push((cell, SurveyFault::OnlyFor { column: column.word(), due }));
        }
    }

    fn name(&mut self, column: Column, due: &'static str) -> Option<Cell> {
        let cell = self.header.cell(self.cells, column)?.clone();
        let fault = if cell.text.is_empty() {
            SurveyFault::EmptyCell { column: column.word(), due }
        } else if cell.text.starts_with(['[', '{']) {
            SurveyFault::List { column: column.word() }
        } else {
            return Some(cell);
        };
        self.faults.push((cell, fault));
        None
    }

    fn length(&mut self, column: Column) -> Option<f64> {
        let cell = self.header.cell(self.cells, column)?.clone();
        let word = column.word();
        let fault = if cell.text.is_empty() {
            SurveyFault::EmptyCell { column: word, due: "a length: `76.2`, `14 3/16 in`" }
        } else {
            match self.parse(&cell.text, word) {
                Ok(mm) => return Some(mm),
                Err(fault) => fault,
            }
        };
        self.faults.push((cell, fault));
        None
    }

    fn parse(&self, text: &str, column: &'static str) -> Result<f64, SurveyFault> {
        let bare = text.trim_start_matches(['-', '+']).to_lowercase();
        if text.starts_with(['[', '{', '(']) {
            return Err(SurveyFault::List { column });
        }
        if matches!(bare.as_str(), "nan" | "inf" | "infinity" | "n/a" | "#n/a" | "null" | "none") {
            return Err(SurveyFault::NotFinite { column });
        }
        match Length::parse(text, self.unit) {
            Ok(length) if length.mm().abs() > LARGEST_MM => {
                Err(SurveyFault::TooLarge { column, metres: length.mm() / 1000.0 })
            }
            Ok(length) => Ok(length.mm()),
            Err(why) => {
                let instead = text.replacen(',', ".", 1);
                if text.matches(',').count() == 1 && Length::parse(&instead, self.unit).is_ok() {
                    Err(SurveyFault::DecimalComma { column, instead })
                } else {
                    Err(SurveyFault::BadLength { column, why })
                }
            }
        }
    }

    /// The row's own sigma; else that of the instrument it names; else the survey's; else that of the survey's instrument.
    fn sigma(&mut self, instrument: Option<&Instrument>, length_mm: f64, tape: bool) -> Option<f64> {
        let Some(cell) = self.header.filled(self.cells, Column::Sigma).cloned() else {
            let own = self.header.filled(self.cells, Column::Instrument).is_none();
            return match (self.defaults.sigma_mm.filter(|_| own), instrument) {
                (Some(sigma_mm), _) => Some(sigma_mm),
                (None, Some(instrument)) => Some(instrument.sigma_of_mm(length_mm)),
                (None, None) => None,
            };
        };
        let fault = match self.parse(&cell.text, Column::Sigma.word()) {
            Ok(mm) if mm > 0.0 || (mm == 0.0 && !tape) => return Some(mm),
            Ok(_) if tape => SurveyFault::BadSigma { due: "above zero for a tape distance" },
            Ok(_) => SurveyFault::BadSigma { due: "zero (right by definition) or above" },
            Err(fault) => fault,
        };
        self.faults.push((cell, fault));
        None
    }

    fn side(&mut self) -> Option<Direction> {
        let cell = self.header.filled(self.cells, Column::Side)?.clone();
        let word = cell.text.to_lowercase();
        let found = Direction::from_word(&word);
        if found.is_none() && !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit()) {
            self.faults.push((cell.clone(), SurveyFault::FigureForSide { figures: cell.text }));
        } else if found.is_none() {
            let near = nearest(&word, Direction::ALL.map(Direction::word));
            self.faults.push((cell.clone(), SurveyFault::UnknownSide { name: cell.text, near }));
        }
        found
    }
}

/// What a reading is of, in words: `D1-P3`, `up of P3`.
fn named(mark: &str, how: &How) -> String {
    match how {
        How::Straight { from } => format!("{from}-{mark}"),
        How::Offset { from: None, along } => format!("how far {} {mark} is", along.word()),
        _ => match how.from().as_slice() {
            [] => mark.to_owned(),
            from => format!("{}-{mark}", from.join("+")),
        },
    }
}
