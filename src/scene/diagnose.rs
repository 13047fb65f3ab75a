//! Edit and archive errors as diagnostics: faults of a scene are drawn with their lines.

use std::fmt;

use miette::Diagnostic;

use super::{ArchiveError, EditError, SceneErrors};

fn related<'a>(faults: Option<&'a SceneErrors>) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
    faults.and_then(Diagnostic::related)
}

impl Diagnostic for EditError {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new("scene::edit"))
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        related(if let EditError::Faults(faults) = self { Some(faults) } else { None })
    }
}

impl Diagnostic for ArchiveError {
    fn code<'a>(&'a self) -> Option<Box<dyn fmt::Display + 'a>> {
        Some(Box::new("scene::archive"))
    }

    fn related<'a>(&'a self) -> Option<Box<dyn Iterator<Item = &'a dyn Diagnostic> + 'a>> {
        related(if let ArchiveError::Faults(faults) = self { Some(faults) } else { None })
    }
}
