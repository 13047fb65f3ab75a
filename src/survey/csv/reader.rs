//! From text to a table of marks.

use std::collections::HashMap;

use nalgebra::{DMatrix, Matrix3};

use super::error::nearest;
use super::header::Header;
use super::rows::{Row, read_row};
use super::split::{Cell, split};
use super::{SurveyError, SurveyErrors, SurveyFault};
use crate::space::LengthUnit;
use crate::survey::network::{
    KnownMark, NetworkError, NetworkOptions, NetworkReading, NetworkSolution, solve_readings,
};
use crate::survey::{BlankRow, Instrument, Mark, MarkSource, SurveyTable};

/// Reads a survey file from its bytes: UTF-8, with or without a byte order mark.
///
/// # Errors
/// [`SurveyErrors`]: other encodings, and all that [`read_survey_csv`] refuses.
pub fn read_survey_bytes(
    bytes: &[u8],
    file_name: &str,
    default_unit: LengthUnit,
    default_sigma_mm: f64,
) -> Result<SurveyTable, SurveyErrors> {
    read_survey_with(bytes, file_name, &ReadingDefaults::of(default_unit, default_sigma_mm))
}

/// What a row takes that does not say so itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingDefaults<'a> {
    /// Unit of a bare number.
    pub unit: LengthUnit,
    /// Standard uncertainty of a reading, mm, above zero; goes before the instrument's. `None` needs an instrument.
    pub sigma_mm: Option<f64>,
    /// The survey's instrument, for rows that name none.
    pub instrument: Option<&'a Instrument>,
    /// Instruments that rows may name.
    pub known: &'a [Instrument],
}

impl ReadingDefaults<'_> {
    /// A unit and a sigma, no instruments.
    pub fn of(unit: LengthUnit, sigma_mm: f64) -> Self {
        ReadingDefaults { unit, sigma_mm: Some(sigma_mm), instrument: None, known: &[] }
    }
}

/// Reads a survey file from its bytes, with instruments: a row takes its own sigma, else that of the instrument it names,
/// else the survey's, else that of the survey's instrument; hook and thickness likewise. A row with a number under
/// `reading` and no distance is a blank of a field sheet: it is told in [`SurveyTable::blanks`] and says nothing.
///
/// # Errors
/// [`SurveyErrors`]: other encodings, unknown instruments, and all that [`read_survey_csv`] refuses.
pub fn read_survey_with(
    bytes: &[u8],
    file_name: &str,
    defaults: &ReadingDefaults<'_>,
) -> Result<SurveyTable, SurveyErrors> {
    let whole = |fault| {
        let error =
            SurveyError { file: file_name.to_owned(), line: 1, column: 1, found: String::new(), fault };
        Err(SurveyErrors { errors: vec![error] })
    };
    let zeros = bytes.iter().take(1000).filter(|b| **b == 0).count();
    if bytes.starts_with(&[0xff, 0xfe])
        || bytes.starts_with(&[0xfe, 0xff])
        || zeros > bytes.len().min(1000) / 4
    {
        return whole(SurveyFault::Utf16);
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => read_text(text, file_name, defaults),
        Err(error) => whole(SurveyFault::NotUtf8 { byte: error.valid_up_to() }),
    }
}

/// Reads a survey file from its text, and solves its tape network.
///
/// Points are `mark,x,y,z[,sigma][,note]`, tape distances `mark,from,distance[,sigma][,side][,note]`, with
/// `how`, `hook` and `thickness` for readings of other kinds (see [`crate::survey::network::How`]);
/// a header with all columns takes both kinds. Header names in any case and order, `#` opens a
/// remark line. Lengths are as [`crate::space::Length::parse`] reads them, a bare number in
/// `default_unit`, sigma as well; a row without sigma takes `default_sigma_mm`.
///
/// # Errors
/// [`SurveyErrors`] holds every fault of the file, in order. The network is solved only when the
/// rows are without fault.
///
/// # Example
/// Three-four-five: 500 from one corner, 400 and 300 from the others.
/// ```
/// # extern crate baywright_lower as baywright;
/// use baywright::space::LengthUnit;
/// use baywright::survey::read_survey_csv;
/// let text = "\
/// mark,x,y,z,from,distance,sigma,side
/// A,0,0,0,,,0,
/// B,300,0,0,,,0,
/// C,0,400,0,,,0,
/// P,,,,A,500,1,up
/// P,,,,B,500,1,
/// P,,,,C,500,1,
/// ";
/// let table = read_survey_csv(text, "bench.csv", LengthUnit::Millimetre, 1.5).unwrap();
/// let p = table.mark("P").unwrap();
/// assert!((p.position.x - 150.0).abs() < 1e-6 && (p.position.y - 200.0).abs() < 1e-6);
/// assert!((p.position.z - 187500f64.sqrt()).abs() < 1e-6);
/// ```
pub fn read_survey_csv(
    text: &str,
    file_name: &str,
    default_unit: LengthUnit,
    default_sigma_mm: f64,
) -> Result<SurveyTable, SurveyErrors> {
    read_text(text, file_name, &ReadingDefaults::of(default_unit, default_sigma_mm))
}

fn read_text(
    text: &str,
    file_name: &str,
    defaults: &ReadingDefaults<'_>,
) -> Result<SurveyTable, SurveyErrors> {
    let mut faults = Faults { file: file_name, errors: Vec::new() };
    let rows = read_rows(text, &mut faults, defaults);
    check_names(&rows, &mut faults);
    faults.or(())?;
    let mut faults = Faults { file: file_name, errors: Vec::new() };
    let (known, tape) = for_network(&rows);
    if tape.is_empty() {
        return Ok(points_only(file_name, &rows));
    }
    match solve_readings(&known, &tape, &NetworkOptions::default()) {
        Ok(solution) => Ok(with_network(file_name, &rows, solution)),
        Err(errors) => {
            for error in errors {
                faults.network(&rows, error);
            }
            faults.or(()).map(|()| points_only(file_name, &rows))
        }
    }
}

/// A row with its line.
type Placed = (usize, Row);

/// Gathers faults.
struct Faults<'a> {
    file: &'a str,
    errors: Vec<SurveyError>,
}

impl Faults<'_> {
    fn at(&mut self, line: usize, column: usize, found: &str, fault: SurveyFault) {
        let (file, found) = (self.file.to_owned(), found.to_owned());
        self.errors.push(SurveyError { file, line, column, found, fault });
    }

    /// A network's fault stands at the first distance of the mark it is about.
    fn network(&mut self, rows: &[Placed], error: NetworkError) {
        let subject = error.mark().to_owned();
        let row = rows
            .iter()
            .find(|(_, row)| matches!(row, Row::Tape { mark, .. } if mark.text == subject))
            .or_else(|| {
                rows.iter().find(
                    |(_, row)| matches!(row, Row::Tape { how, .. } if how.from().contains(&subject.as_str())),
                )
            });
        let (line, column) = row.map_or((1, 1), |(line, row)| match row {
            Row::Tape { mark, .. } | Row::Point { mark, .. } | Row::Blank { cell: mark, .. } => {
                (*line, mark.column)
            }
        });
        self.at(line, column, &subject, SurveyFault::Network(error));
    }

    fn or<T>(mut self, value: T) -> Result<T, SurveyErrors> {
        if self.errors.is_empty() {
            return Ok(value);
        }
        self.errors.sort_by_key(|e| (e.line, e.column));
        Err(SurveyErrors { errors: self.errors })
    }
}

fn read_rows(text: &str, faults: &mut Faults<'_>, defaults: &ReadingDefaults<'_>) -> Vec<Placed> {
    let default_sigma_mm = defaults.sigma_mm.or(defaults.instrument.map(|one| one.sigma_mm)).unwrap_or(0.0);
    if !default_sigma_mm.is_finite() || default_sigma_mm <= 0.0 {
        let fault = SurveyFault::BadSigma { due: "above zero for the whole survey" };
        faults.at(1, 1, &default_sigma_mm.to_string(), fault);
        return Vec::new();
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.contains('\0') {
        faults.at(1, 1, "", SurveyFault::NotText);
        return Vec::new();
    }
    // `\r\n` and the lone `\r` of old exports end a line as `\n` does.
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let mut lines = text
        .split('\n')
        .enumerate()
        .map(|(i, line)| (i + 1, line))
        .filter(|(_, line)| !line.trim().is_empty() && !line.trim_start().starts_with('#'));
    let Some((line, first)) = lines.next() else {
        faults.at(1, 1, "", SurveyFault::Empty { missing: "header" });
        return Vec::new();
    };
    for (sign, by) in [(';', "semicolons"), ('\t', "tabs")] {
        if first.matches(sign).count() > first.matches(',').count() {
            let column = first.chars().take_while(|c| *c != sign).count() + 1;
            faults.at(line, column, first, SurveyFault::Separator { by });
            return Vec::new();
        }
    }
    let header = match split(first, 0) {
        Ok(cells) => match Header::read(&cells) {
            Ok(header) => header,
            Err(found) => {
                for (cell, fault) in found {
                    faults.at(line, cell.column, &cell.text, fault);
                }
                return Vec::new();
            }
        },
        Err(bad) => {
            faults.at(line, bad.column, &bad.found, bad.fault);
            return Vec::new();
        }
    };
    let mut rows = Vec::new();
    let mut any = false;
    for (line, content) in lines {
        any = true;
        let cells = match split(content, header.len()) {
            Ok(cells) => cells,
            Err(bad) => {
                faults.at(line, bad.column, &bad.found, bad.fault);
                continue;
            }
        };
        if cells.len() != header.len() {
            let decimals = cells.len() > header.len() && looks_like_decimal_commas(&cells);
            let fault = SurveyFault::CellCount { found: cells.len(), due: header.len(), decimals };
            faults.at(line, cells[0].column, content, fault);
            continue;
        }
        match read_row(&header, &cells, defaults) {
            Ok(row) => rows.push((line, row)),
            Err(found) => {
                for (cell, fault) in found {
                    faults.at(line, cell.column, &cell.text, fault);
                }
            }
        }
    }
    if !any {
        faults.at(line, 1, "", SurveyFault::Empty { missing: "readings" });
    }
    rows
}

/// Whether most cells after the name are whole numbers, as when `12,5` was cut in two.
fn looks_like_decimal_commas(cells: &[Cell]) -> bool {
    let whole = |cell: &&Cell| cell.text.trim_start_matches('-').chars().all(|c| c.is_ascii_digit());
    cells[1..].iter().filter(|cell| !cell.text.is_empty()).filter(whole).count() * 3 > (cells.len() - 1) * 2
}

/// Refuses marks measured twice and tapes hooked at nothing.
fn check_names(rows: &[Placed], faults: &mut Faults<'_>) {
    let mut points: HashMap<&str, usize> = HashMap::new();
    for (line, row) in rows {
        if let Row::Point { mark, .. } = row {
            if let Some(first) = points.get(mark.text.as_str()) {
                let fault = SurveyFault::DuplicateMark { name: mark.text.clone(), first: *first };
                faults.at(*line, mark.column, &mark.text, fault);
            } else {
                points.insert(&mark.text, *line);
            }
        }
    }
    // A row with a fault of its own is not here, so a name may only seem unknown: report such
    // names only when all rows could be read.
    if !faults.errors.is_empty() {
        return;
    }
    let mut marks: Vec<&str> = Vec::new();
    for (_, row) in rows {
        let (Row::Point { mark, .. } | Row::Tape { mark, .. }) = row else { continue };
        if !marks.contains(&mark.text.as_str()) {
            marks.push(&mark.text);
        }
    }
    for (line, row) in rows {
        let Row::Tape { from, how, .. } = row else { continue };
        for name in how.from().into_iter().filter(|name| !marks.contains(name)) {
            let near = nearest(name, marks.iter().copied());
            let fault = SurveyFault::UnknownFrom { name: name.to_owned(), near };
            faults.at(*line, from.column, &from.text, fault);
        }
    }
}

fn for_network(rows: &[Placed]) -> (Vec<KnownMark>, Vec<NetworkReading>) {
    let (mut known, mut tape) = (Vec::new(), Vec::new());
    for (line, row) in rows {
        match row {
            Row::Point { mark, position, sigma_mm, .. } => {
                known.push(KnownMark { name: mark.text.clone(), position: *position, sigma_mm: *sigma_mm });
            }
            Row::Tape { mark, how, distance_mm, hook_mm, sigma_mm, side, .. } => tape.push(NetworkReading {
                mark: mark.text.clone(),
                how: how.clone(),
                value_mm: *distance_mm,
                hook_mm: *hook_mm,
                sigma_mm: *sigma_mm,
                side: *side,
                line: *line,
            }),
            Row::Blank { .. } => {}
        }
    }
    (known, tape)
}

fn points_only(file: &str, rows: &[Placed]) -> SurveyTable {
    let mut marks = Vec::new();
    for (line, row) in rows {
        if let Row::Point { mark, position, sigma_mm, note } = row {
            marks.push(Mark {
                name: mark.text.clone(),
                position: *position,
                sigma_mm: *sigma_mm,
                covariance: Matrix3::identity() * sigma_mm.powi(2),
                source: MarkSource::Measured,
                note: note.clone(),
                line: *line,
            });
        }
    }
    let n = 3 * marks.len();
    let covariance = DMatrix::from_fn(n, n, |i, j| if i == j { marks[i / 3].sigma_mm.powi(2) } else { 0.0 });
    SurveyTable { file: file.to_owned(), marks, covariance, network: None, blanks: blanks(rows) }
}

fn with_network(file: &str, rows: &[Placed], solution: NetworkSolution) -> SurveyTable {
    let mut marks: Vec<Mark> = Vec::new();
    let mut places = Vec::new();
    for (line, row) in rows {
        let (name, source, note) = match row {
            Row::Point { mark, note, .. } => (&mark.text, MarkSource::Measured, note),
            Row::Tape { mark, note, .. } => (&mark.text, MarkSource::Taped, note),
            Row::Blank { .. } => continue,
        };
        if let Some(earlier) = marks.iter_mut().find(|mark| mark.name == *name) {
            earlier.note = earlier.note.take().or_else(|| note.clone());
            if source == MarkSource::Measured {
                earlier.source = source;
                earlier.line = *line;
            }
            continue;
        }
        let Some(at) = solution.marks.iter().position(|mark| mark.name == *name) else { continue };
        let solved = &solution.marks[at];
        places.push(at);
        marks.push(Mark {
            name: name.clone(),
            position: solved.position,
            sigma_mm: (solved.covariance.trace() / 3.0).sqrt(),
            covariance: solved.covariance,
            source,
            note: note.clone(),
            line: *line,
        });
    }
    let n = 3 * places.len();
    let covariance = DMatrix::from_fn(n, n, |i, j| {
        solution.covariance[(3 * places[i / 3] + i % 3, 3 * places[j / 3] + j % 3)]
    });
    SurveyTable { file: file.to_owned(), marks, covariance, network: Some(solution), blanks: blanks(rows) }
}

fn blanks(rows: &[Placed]) -> Vec<BlankRow> {
    let blank = |(line, row): &Placed| match row {
        Row::Blank { cell, what, reading } => {
            Some(BlankRow { line: *line, column: cell.column, what: what.clone(), reading: *reading })
        }
        _ => None,
    };
    rows.iter().filter_map(blank).collect()
}
