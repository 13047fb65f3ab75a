//! One fault drawn for a terminal: what is wrong, the line where it stands, what to do.

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use miette::{Diagnostic, SourceSpan};

use super::table::wrapped_to;

/// Columns that messages and quoted lines fit.
const COLUMNS: usize = 100;

/// What is quoted of a file, and what is marked in it.
struct Quoted {
    text: String,
    first_line: usize,
    name: Option<String>,
    /// Bytes of `text`, and the word beside them; the place of the fault first.
    marks: Vec<(std::ops::Range<usize>, String)>,
}

/// A fault with its offending line, `colour`ed by escape codes or plain. Faults related to it are not drawn.
pub fn fault_text(fault: &dyn Diagnostic, colour: bool) -> String {
    let message = wrapped_to(COLUMNS - "error[]: ".len() - code_of(fault).len(), &fault.to_string(), 0);
    let help = fault.help().map(|help| {
        let lines = help.to_string();
        lines.lines().map(|line| wrapped_to(COLUMNS - 12, line, 0)).collect::<Vec<_>>().join("\n")
    });
    let quoted = quoted(fault);
    let mut group = Group::with_title(Level::ERROR.primary_title(message.as_str()).id(code_of(fault)));
    if let Some(quoted) = &quoted {
        let marks = quoted.marks.iter().enumerate().map(|(at, (span, word))| {
            let kind = if at == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
            kind.span(span.clone()).label(word.as_str())
        });
        let snippet = Snippet::source(quoted.text.as_str()).line_start(quoted.first_line).annotations(marks);
        group = group.element(match &quoted.name {
            Some(name) => snippet.path(name.as_str()),
            None => snippet,
        });
    }
    if let Some(help) = &help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    renderer.decor_style(DecorStyle::Unicode).term_width(COLUMNS).render(&[group]).trim_end().to_owned()
}

fn code_of(fault: &dyn Diagnostic) -> String {
    fault.code().map_or_else(|| "input".to_owned(), |code| code.to_string())
}

/// The lines that a fault's labels stand on, with one before and one after.
fn quoted(fault: &dyn Diagnostic) -> Option<Quoted> {
    let source = fault.source_code()?;
    let labels: Vec<_> = fault.labels()?.collect();
    let begin = labels.iter().map(|label| label.offset()).min()?;
    let end = labels.iter().map(|label| label.offset() + label.len()).max()?;
    let found = source.read_span(&SourceSpan::new(begin.into(), end - begin), 1, 1).ok()?;
    let text = std::str::from_utf8(found.data()).ok()?.to_owned();
    let from = found.span().offset();
    let boundary = |byte: usize| (0..=byte.min(text.len())).rev().find(|at| text.is_char_boundary(*at));
    let marks = labels
        .iter()
        .map(|label| {
            let begin = boundary(label.offset().saturating_sub(from)).unwrap_or(0);
            let end = boundary((label.offset() + label.len()).saturating_sub(from)).unwrap_or(begin);
            (begin..end.max(begin), label.label().unwrap_or("here").to_owned())
        })
        .collect();
    Some(Quoted { first_line: found.line() + 1, name: found.name().map(str::to_owned), marks, text })
}
