//! Surveys: read, tape solved, brought into vehicle axes.

use std::cell::OnceCell;
use std::path::PathBuf;
use std::sync::Arc;

use nalgebra::{DMatrix, Matrix3, Point3, Unit};

use super::names::Names;
use crate::scene::SurveyRead;
use crate::scene::decode::{Named, PathIn, WrittenAlign, WrittenDatum, WrittenInstrument, WrittenSurvey};
use crate::scene::error::{Fault, Faults};
use crate::scene::folder::in_words;
use crate::scene::load::Met;
use crate::scene::read::{Place, Source};
use crate::survey::network::{KnownMark, NetworkOptions, NetworkReading};
use crate::survey::{
    Alignment, DatumLine, DatumOrigin, DatumPlane, DatumSide, How, Instrument, Mark, MarkPair, MarkSource,
    Reading, ReadingDefaults, ReadingRoot, SurveyTable, align_best_fit, align_three_two_one,
    read_survey_with, solve_readings,
};

/// The greatest survey file that is read, bytes.
const LARGEST_SURVEY: u64 = 32 * 1024 * 1024;

/// A survey in vehicle axes, for fits.
pub(super) struct Aligned<'a> {
    /// As written.
    pub written: &'a WrittenSurvey,
    /// As read, in its own axes.
    pub own: SurveyTable,
    /// In vehicle axes.
    pub table: SurveyTable,
    /// How it was aligned; `None` when it is in vehicle axes as read.
    pub alignment: Option<Alignment>,
    /// The file of a scan.
    pub scan: Option<PathIn>,
    /// Its instrument.
    pub instrument: &'a WrittenInstrument,
    /// Standard uncertainty of a reading where nothing else tells it, mm.
    pub sigma_mm: f64,
    /// Radius of a probe's ball, mm; 0 for a point.
    pub tip_radius_mm: f64,
    /// Its file, relative to the scene's folder.
    pub file: Option<PathBuf>,
    /// Its readings as independent errors; made when first asked for.
    pub root: OnceCell<ReadingRoot>,
}

/// The instruments that surveys and their rows may name.
pub(super) struct Instruments<'a> {
    list: &'a [WrittenInstrument],
    names: &'a Names<'a>,
    reads: Vec<Instrument>,
}

impl<'a> Instruments<'a> {
    /// Those of a list, by their names in the same order.
    pub fn new(list: &'a [WrittenInstrument], names: &'a Names<'a>) -> Self {
        Instruments { list, names, reads: list.iter().map(|one| one.reads.clone()).collect() }
    }
}

impl Aligned<'_> {
    /// Its readings as independent errors.
    pub fn root(&self) -> &ReadingRoot {
        self.root.get_or_init(|| ReadingRoot::of(&self.own))
    }

    /// As the scene tells of it.
    pub fn told(&self) -> SurveyRead {
        let sigma = |covariance: &Matrix3<f64>| (covariance.trace() / 3.0).max(0.0).sqrt();
        let mut remarks: Vec<String> = Vec::new();
        for network in self.own.network.iter() {
            remarks.extend(network.suspects.iter().map(|suspect| suspect.message.clone()));
        }
        remarks.extend(blanks(&self.own));
        remarks.extend(self.alignment.iter().flat_map(|alignment| alignment.remarks.iter().cloned()));
        SurveyRead {
            name: self.written.name.text.clone(),
            instrument: self.written.instrument.text.clone(),
            kind: self.instrument.kind.clone(),
            sigma_mm: self.sigma_mm,
            unit: self.written.unit,
            file: self.file.clone().filter(|_| self.scan.is_none()),
            here: here(self.written),
            date: self.written.date.clone(),
            marks: self
                .table
                .marks
                .iter()
                .map(|mark| (mark.name.clone(), mark.position, sigma(&mark.covariance)))
                .collect(),
            readings: Arc::new(self.root().again(&self.own)),
            remarks,
            span: self.written.name.place.span(),
        }
    }

    /// Names of the marks.
    pub fn mark_names<'b>(&'b self, faults: &'b Faults) -> Names<'b> {
        Names::new("mark of this survey", self.own.marks.iter().map(|mark| mark.name.as_str()), [], faults)
    }
}

/// Reads, solves and aligns a survey.
pub(super) fn aligned<'a>(
    written: &'a WrittenSurvey,
    instruments: &Instruments<'a>,
    faults: &Faults,
    met: &Met<'_>,
) -> Option<Aligned<'a>> {
    let instrument = &instruments.list[instruments.names.find(&written.instrument)?];
    let defaults = ReadingDefaults {
        unit: written.unit,
        sigma_mm: written.sigma_mm,
        instrument: Some(&instrument.reads),
        known: &instruments.reads,
    };
    let mut path = None;
    let mut own = SurveyTable {
        file: written.name.text.clone(),
        marks: Vec::new(),
        covariance: DMatrix::zeros(0, 0),
        network: None,
        blanks: Vec::new(),
    };
    let mut scan = None;
    if let Some(file) = &written.readings.file {
        let inside = match met.folder.find(file.place.source.name(), &file.text) {
            Ok(inside) => inside,
            Err(fault) => {
                faults.add(file.place.clone(), fault);
                return None;
            }
        };
        met.note(&inside.relative);
        path = Some(PathBuf::from(&inside.relative));
        if instrument.kind == "scan" && !is_csv(&file.text) {
            scan = Some(PathIn { path: file.clone(), unit: written.unit });
        } else {
            own = read(&defaults, file, &inside, faults)?;
        }
    }
    if !add_inline(written, &defaults, &mut own, faults) || !add_tape(written, &defaults, &mut own, faults) {
        return None;
    }
    let (table, alignment) = match &written.align {
        None => (own.clone(), None),
        Some(align) => {
            let alignment = alignment(align, &own, faults)?;
            (alignment.carry(&own), Some(alignment))
        }
    };
    Some(Aligned {
        written,
        own,
        table,
        alignment,
        scan,
        instrument,
        sigma_mm: written.sigma_mm.unwrap_or(instrument.reads.sigma_mm),
        tip_radius_mm: written.tip_mm.unwrap_or(instrument.tip_mm) / 2.0,
        file: path,
        root: OnceCell::new(),
    })
}

/// Blank rows of a field sheet, told at once: so many, and the first of them.
fn blanks(own: &SurveyTable) -> Option<String> {
    const TOLD: usize = 8;
    let rows = &own.blanks;
    let told = |row: &crate::survey::BlankRow| {
        format!("{} reading {} (line {}, column {})", row.what, row.reading, row.line, row.column)
    };
    let mut list = rows.iter().take(TOLD).map(told).collect::<Vec<_>>().join(", ");
    if rows.len() > TOLD {
        list += &format!(" and {} more", rows.len() - TOLD);
    }
    let (rows_are, they) = if rows.len() == 1 { ("row is", "it says") } else { ("rows are", "they say") };
    (!rows.is_empty())
        .then(|| format!("{} {rows_are} blank in {}, and {they} nothing: {list}", rows.len(), own.file))
}

/// The marks and readings that the scene itself gives, as rows of a survey file; empty when it gives none.
fn here(written: &WrittenSurvey) -> String {
    let (marks, tape) = (&written.readings.marks, &written.readings.tape);
    if marks.is_empty() && tape.is_empty() {
        return String::new();
    }
    let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
    let mm = |value: f64| format!("{value} mm");
    let own = |value: Option<f64>| value.map(mm).unwrap_or_default();
    let mut out = "mark,x,y,z,from,distance,how,hook,thickness,sigma,side\n".to_owned();
    for mark in marks {
        let [x, y, z] = [mark.at.x, mark.at.y, mark.at.z].map(mm);
        out += &format!("{},{x},{y},{z},,,,,,{},\n", quoted(&mark.name.text), own(mark.sigma_mm));
    }
    for row in tape {
        let how = match &row.how {
            How::Straight { .. } => "",
            How::Near { .. } => "near",
            How::Far { .. } => "far",
            How::Square { .. } => "square",
            How::Offset { along, .. } => along.word(),
            How::Edge { .. } => "edge",
            How::Plumb { .. } => "plumb",
            How::Level { .. } => "level",
            How::Diameter => "diameter",
            How::Wrap { .. } => "wrap",
        };
        let distance = if row.how.has_length() { mm(row.distance_mm) } else { String::new() };
        let thickness = match row.how {
            How::Wrap { thickness_mm } => mm(thickness_mm),
            _ => String::new(),
        };
        let hook = if row.hook_mm == 0.0 { String::new() } else { mm(row.hook_mm) };
        let side = row.side.map_or("", |side| side.word());
        let (mark, from) = (quoted(&row.mark.text), quoted(&row.how.from().join("+")));
        let sigma = own(row.sigma_mm);
        out += &format!("{mark},,,,{from},{distance},{how},{hook},{thickness},{sigma},{side}\n");
    }
    out
}

fn is_csv(path: &str) -> bool {
    path.rsplit('.').next().is_some_and(|ending| ending.eq_ignore_ascii_case("csv"))
}

fn read(
    defaults: &ReadingDefaults<'_>,
    file: &Named,
    inside: &crate::scene::folder::Inside,
    faults: &Faults,
) -> Option<SurveyTable> {
    let unreadable =
        |why: String| faults.add(file.place.clone(), Fault::File { path: file.text.clone(), why });
    let length = inside.full.metadata().map(|about| about.len()).unwrap_or(u64::MAX);
    if length > LARGEST_SURVEY {
        let fault = Fault::TooMuch { what: "bytes in one survey", limit: LARGEST_SURVEY };
        faults.add(file.place.clone(), fault);
        return None;
    }
    let bytes = match std::fs::read(&inside.full) {
        Ok(bytes) => bytes,
        Err(error) => {
            unreadable(in_words(&error));
            return None;
        }
    };
    match read_survey_with(&bytes, &inside.relative, defaults) {
        Ok(table) => Some(table),
        Err(errors) => {
            let source = Source::new(&inside.relative, &String::from_utf8_lossy(&bytes));
            for error in &errors.errors {
                let start = source.byte_of(error.line, error.column);
                let end = (start + error.found.len()).min(source.text().len());
                let place = Place { source: source.clone(), start, end };
                faults.add(place, Fault::Row { why: error.fault.to_string() });
            }
            None
        }
    }
}

/// Sigma of a reading that gives none, mm.
fn usual_mm(defaults: &ReadingDefaults<'_>, length_mm: f64) -> f64 {
    let of = |one: &Instrument| one.sigma_of_mm(length_mm);
    defaults.sigma_mm.or(defaults.instrument.map(of)).unwrap_or(0.0)
}

/// Adds the marks that the scene itself gives.
fn add_inline(
    written: &WrittenSurvey,
    defaults: &ReadingDefaults<'_>,
    table: &mut SurveyTable,
    faults: &Faults,
) -> bool {
    let mut whole = true;
    for mark in &written.readings.marks {
        if table.mark(&mark.name.text).is_some() {
            faults.add(mark.name.place.clone(), Fault::DuplicateName { name: mark.name.text.clone() });
            whole = false;
            continue;
        }
        let sigma_mm = mark.sigma_mm.unwrap_or_else(|| usual_mm(defaults, 0.0));
        push(
            table,
            Mark {
                name: mark.name.text.clone(),
                position: mark.at,
                sigma_mm,
                covariance: Matrix3::identity() * sigma_mm.powi(2),
                source: MarkSource::Measured,
                note: None,
                line: mark.name.place.span().line,
            },
        );
    }
    whole
}

fn push(table: &mut SurveyTable, mark: Mark) {
    let before = 3 * table.marks.len();
    table.covariance = table.covariance.clone().resize(before + 3, before + 3, 0.0);
    table.covariance.view_mut((before, before), (3, 3)).copy_from(&mark.covariance);
    table.marks.push(mark);
}

/// Solves the tape distances that the scene itself gives, from the marks that are known so far.
fn add_tape(
    written: &WrittenSurvey,
    defaults: &ReadingDefaults<'_>,
    table: &mut SurveyTable,
    faults: &Faults,
) -> bool {
    let rows = &written.readings.tape;
    if rows.is_empty() {
        return true;
    }
    let known_names: Vec<&str> = table.marks.iter().map(|mark| mark.name.as_str()).collect();
    let mut names = known_names.clone();
    names.extend(rows.iter().map(|row| row.mark.text.as_str()));
    let lookup = Names::new("mark of this survey", names.iter().copied(), [], faults);
    let before = faults.count();
    for row in rows {
        for name in row.how.from() {
            lookup.find(&Named { text: name.to_owned(), place: row.from.clone() });
        }
    }
    if faults.count() > before {
        return false;
    }
    let known: Vec<KnownMark> = table
        .marks
        .iter()
        .map(|mark| KnownMark { name: mark.name.clone(), position: mark.position, sigma_mm: mark.sigma_mm })
        .collect();
    let tape: Vec<NetworkReading> = rows
        .iter()
        .map(|row| NetworkReading {
            mark: row.mark.text.clone(),
            how: row.how.clone(),
            value_mm: row.distance_mm,
            hook_mm: row.hook_mm,
            sigma_mm: row.sigma_mm.unwrap_or_else(|| usual_mm(defaults, row.distance_mm)),
            side: row.side,
            line: row.mark.place.span().line,
        })
        .collect();
    let solution = match solve_readings(&known, &tape, &NetworkOptions::default()) {
        Ok(solution) => solution,
        Err(errors) => {
            for error in errors {
                let why = error.to_string();
                let named = rows.iter().find(|row| why.contains(&format!("`{}`", row.mark.text)));
                let place = named.map_or(&written.place, |row| &row.mark.place);
                faults.add(place.clone(), Fault::Reading { what: "these distances", why });
            }
            return false;
        }
    };
    let first_new = table.marks.len();
    for mark in &solution.marks {
        if table.mark(&mark.name).is_none() {
            let line = rows
                .iter()
                .find(|row| row.mark.text == mark.name)
                .map_or(0, |row| row.mark.place.span().line);
            push(
                table,
                Mark {
                    name: mark.name.clone(),
                    position: mark.position,
                    sigma_mm: (mark.covariance.trace() / 3.0).max(0.0).sqrt(),
                    covariance: mark.covariance,
                    source: MarkSource::Taped,
                    note: None,
                    line,
                },
            );
        }
    }
    // What taped marks share with each other and with the marks they hang on.
    let place_in = |name: &str| solution.marks.iter().position(|mark| mark.name == name);
    let places: Vec<Option<usize>> = table.marks.iter().map(|mark| place_in(&mark.name)).collect();
    for (row, at) in places.iter().enumerate() {
        for (column, other) in places.iter().enumerate() {
            if let (Some(at), Some(other)) = (at, other)
                && (row >= first_new || column >= first_new)
            {
                let block = solution.covariance.view((3 * at, 3 * other), (3, 3)).into_owned();
                table.covariance.view_mut((3 * row, 3 * column), (3, 3)).copy_from(&block);
            }
        }
    }
    table.network = Some(solution);
    true
}

fn alignment(written: &WrittenAlign, own: &SurveyTable, faults: &Faults) -> Option<Alignment> {
    let names =
        Names::new("mark of this survey", own.marks.iter().map(|mark| mark.name.as_str()), [], faults);
    let reading = |name: &Named| -> Option<Reading> { Some(Reading::of_mark(&own.marks[names.find(name)?])) };
    let readings = |marks: &[Named]| -> Option<Vec<Reading>> {
        let found: Vec<Option<Reading>> = marks.iter().map(reading).collect();
        found.into_iter().collect()
    };
    let (made, place) = match written {
        WrittenAlign::Points(points, place) => {
            let pairs: Vec<Option<MarkPair>> =
                points.iter().map(|(name, at)| pair(reading(name)?, at)).collect();
            let pairs: Vec<MarkPair> = pairs.into_iter().collect::<Option<_>>()?;
            (align_best_fit(&pairs).map(|best| best.alignment), place)
        }
        WrittenAlign::ThreeTwoOne { plane, toward, line, origin, place } => {
            let (plane_marks, line_marks) = (readings(&plane.marks), readings(&line.marks));
            let origin_mark = reading(&origin.0);
            let side = match toward {
                Some(name) => reading(name).map(DatumSide::Toward),
                None => Some(DatumSide::SurveyAxes),
            };
            let direction = |datum: &WrittenDatum| Unit::new_normalize(datum.direction);
            let plane =
                DatumPlane { marks: plane_marks?, normal: direction(plane), at_mm: plane.at_mm, side: side? };
            let line = DatumLine { marks: line_marks?, along: direction(line), at_mm: line.at_mm };
            let origin = DatumOrigin { mark: origin_mark?, at: origin.1 };
            (align_three_two_one(&plane, &line, &origin), place)
        }
    };
    match made {
        Ok(alignment) => Some(alignment),
        Err(error) => {
            faults.add(place.clone(), Fault::Reading { what: "this alignment", why: error.to_string() });
            None
        }
    }
}

fn pair(reading: Reading, vehicle: &Point3<f64>) -> Option<MarkPair> {
    Some(MarkPair {
        name: reading.name,
        survey: reading.point,
        vehicle: *vehicle,
        sigma_mm: reading.sigma_mm,
    })
}
