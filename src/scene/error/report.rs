//! Faults as errors: one a fault, and all of a document.

use std::fmt;

use miette::{Diagnostic, LabeledSpan, MietteSpanContents, SourceCode, SourceSpan, SpanContents};

use super::Fault;
use crate::scene::Span;
use crate::scene::read::Place;

/// One fault of a scene: what, where, the offending text, and what would mend it.
///
/// Displays as the message alone; [`SceneError::line`] is the whole of it in one line, and the
/// [`Diagnostic`] draws the place.
#[derive(Clone, Debug)]
pub struct SceneError {
    fault: Fault,
    place: Place,
    second: Option<(&'static str, Place)>,
}

impl SceneError {
    pub(crate) fn new(fault: Fault, place: Place, second: Option<(&'static str, Place)>) -> Self {
        SceneError { fault, place, second }
    }

    /// What is wrong, as data.
    pub fn fault(&self) -> &Fault {
        &self.fault
    }

    /// Where: file, line and column.
    pub fn span(&self) -> Span {
        self.place.span()
    }

    /// The offending text as it is written, its first line, at most 60 characters.
    pub fn found(&self) -> String {
        self.place.found()
    }

    /// What would mend it.
    pub fn remedy(&self) -> String {
        self.fault.remedy()
    }

    /// `file:line:column: message; remedy`.
    pub fn line(&self) -> String {
        let Span { file, line, column } = self.span();
        let second = match &self.second {
            Some((word, place)) => {
                let Span { file, line, column } = place.span();
                format!(" ({word} at {file}:{line}:{column})")
            }
            None => String::new(),
        };
        format!("{file}:{line}:{column}: {}{second}; {}", self.fault, self.remedy())
    }
}

impl PartialEq for SceneError {
    fn eq(&self, other: &Self) -> bool {
        self.fault == other.fault && self.place.start == other.place.start && self.span() == other.span()
    }
}

impl fmt::Display for SceneError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.fault.fmt(f)
    }
}

impl std::error::Error for SceneError {}

impl Diagnostic for SceneError {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new(format!("scene::{}", self.fault.code())))
    }

    fn help<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        let mut help = self.remedy();
        if let Some((word, place)) = &self.second
            && place.source.name() != self.place.source.name()
        {
            let Span { file, line, column } = place.span();
            help.push_str(&format!(" ({word} at {file}:{line}:{column})"));
        }
        Some(Box::new(help))
    }

    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = |word: &str, place: &Place| {
            // One line is marked, not a whole map.
            let text = place.source.text().get(place.start..place.end).unwrap_or_default();
            let length = text.find('\n').unwrap_or(text.len());
            LabeledSpan::new(Some(word.to_owned()), place.start, length)
        };
        let mut labels = vec![label("here", &self.place)];
        if let Some((word, place)) = &self.second
            && place.source.name() == self.place.source.name()
        {
            labels.push(label(word, place));
        }
        Some(Box::new(labels.into_iter()))
    }
}

impl SourceCode for SceneError {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, miette::MietteError> {
        let inner = self.place.source.text().read_span(span, before, after)?;
        Ok(Box::new(MietteSpanContents::new_named(
            self.place.source.name().to_owned(),
            inner.data(),
            *inner.span(),
            inner.line(),
            inner.column(),
            inner.line_count(),
        )))
    }
}

/// All faults of a scene and the files it names.
#[derive(Clone, Debug, PartialEq)]
pub struct SceneErrors {
    list: Vec<SceneError>,
    more: usize,
}

impl SceneErrors {
    pub(crate) fn new(mut list: Vec<SceneError>, more: usize) -> Self {
        let mut files: Vec<String> = Vec::new();
        for error in &list {
            let file = error.place.source.name();
            if !files.iter().any(|known| known == file) {
                files.push(file.to_owned());
            }
        }
        let rank = |error: &SceneError| files.iter().position(|file| file == error.place.source.name());
        list.sort_by_key(|error| (rank(error), error.place.start));
        SceneErrors { list, more }
    }

    /// The faults, file by file, in the order in which they are written.
    pub fn list(&self) -> &[SceneError] {
        &self.list
    }

    /// How many faults beyond those listed there are.
    pub fn more(&self) -> usize {
        self.more
    }
}

/// One line a fault, as [`SceneError::line`] gives it.
impl fmt::Display for SceneErrors {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, error) in self.list.iter().enumerate() {
            if at > 0 {
                f.write_str("\n")?;
            }
            f.write_str(&error.line())?;
        }
        if self.more > 0 {
            write!(f, "\nand {} more", self.more)?;
        }
        Ok(())
    }
}

impl std::error::Error for SceneErrors {}

impl Diagnostic for SceneErrors {
    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        Some(Box::new(self.list.iter().map(|error| error as &dyn Diagnostic)))
    }
}
