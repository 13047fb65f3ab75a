//! Which columns of a text file hold what, told from its first lines.

use crate::solid::{FileFault, number, quoted};

/// What parts the numbers of a line; one mark for a whole file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Apart {
    Semicolon,
    Comma,
    Space,
}

impl Apart {
    /// Told from a line.
    pub(super) fn of(line: &[u8]) -> Self {
        if line.contains(&b';') {
            Apart::Semicolon
        } else if line.contains(&b',') {
            Apart::Comma
        } else {
            Apart::Space
        }
    }

    /// The fields of a line, without blanks and quotes round them. Only spaces may stand together.
    pub(super) fn fields(self, line: &[u8]) -> impl Iterator<Item = &[u8]> {
        line.split(move |&byte| match self {
            Apart::Semicolon => byte == b';',
            Apart::Comma => byte == b',',
            Apart::Space => byte.is_ascii_whitespace(),
        })
        .map(bare)
        .filter(move |field| self != Apart::Space || !field.is_empty())
    }
}

fn bare(field: &[u8]) -> &[u8] {
    let field = field.trim_ascii();
    field.strip_prefix(b"\"").and_then(|inner| inner.strip_suffix(b"\"")).unwrap_or(field)
}

/// Which columns hold what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Columns {
    pub(super) apart: Apart,
    pub(super) place: [usize; 3],
    pub(super) normal: Option<[usize; 3]>,
    /// Fields of every line.
    pub(super) fields: usize,
    /// Whether the file names them.
    pub(super) named: bool,
}

/// What the first line says.
pub(super) enum FirstLine {
    /// How many points follow.
    Count(usize),
    /// The columns by name; points follow.
    Names(Columns),
    /// This is a point already.
    Point(Columns),
}

pub(super) fn first_line(line: &[u8]) -> Result<FirstLine, FileFault> {
    let apart = Apart::of(line);
    let fields: Vec<&[u8]> = apart.fields(line).collect();
    let is_number = |field: &&[u8]| !matches!(number(field), Err(FileFault::Expected { .. }));
    // Decimal commas are no names: the reader of points says what is wrong with them.
    let commas = |field: &&[u8]| field.iter().all(|b| b.is_ascii_digit() || b",-+. \t".contains(b));
    if fields.iter().all(|field| is_number(field) || commas(field)) {
        if let [only] = fields[..]
            && let Some(count) = std::str::from_utf8(only).ok().and_then(|text| text.parse().ok())
        {
            return Ok(FirstLine::Count(count));
        }
        let fields = fields.len();
        return Ok(FirstLine::Point(Columns { apart, place: [0, 1, 2], normal: None, fields, named: false }));
    }
    let names: Vec<Vec<u8>> = fields
        .iter()
        .map(|field| field.to_ascii_lowercase())
        // A unit that stands by itself: `x [mm] y [mm] z [mm]`.
        .filter(|field| apart != Apart::Space || !(field.starts_with(b"[") || field.starts_with(b"(")))
        .collect();
    let find = |wanted: &str| {
        names.iter().position(|name| {
            name.strip_prefix(wanted.as_bytes())
                .is_some_and(|rest| rest.first().is_none_or(|next| !next.is_ascii_alphanumeric()))
        })
    };
    let mut place = [0; 3];
    for (column, axis) in place.iter_mut().zip(["x", "y", "z"]) {
        *column = find(axis).ok_or_else(|| {
            let expected = "three numbers, or the names of columns with x, y and z among them";
            FileFault::expected(expected, quoted(line))
        })?;
    }
    let normal = match (find("nx"), find("ny"), find("nz")) {
        (Some(x), Some(y), Some(z)) => Some([x, y, z]),
        _ => None,
    };
    Ok(FirstLine::Names(Columns { apart, place, normal, fields: names.len(), named: true }))
}
