//! Finding one's way in a script's text: positions, words, arguments.

use std::ops::Range;

/// Byte offset of a line and column, both from 1, columns in characters; clamped into the text.
pub(super) fn offset(text: &str, line: usize, column: usize) -> usize {
    let mut start = 0;
    for _ in 1..line.max(1) {
        match text[start..].find('\n') {
            Some(end) => start += end + 1,
            None => return text.len(),
        }
    }
    let rest = &text[start..];
    let end = rest.find('\n').unwrap_or(rest.len());
    let within = rest[..end].char_indices().nth(column.max(1) - 1).map_or(end, |(at, _)| at);
    start + within
}

/// The word at an offset, a `name::name` in one piece, or one character.
pub(super) fn word_at(text: &str, at: usize) -> Range<usize> {
    let rest = text.get(at..).unwrap_or("");
    let mut end = word_length(rest);
    if end == 0 {
        end = rest.chars().next().filter(|c| *c != '\n').map_or(0, char::len_utf8);
        return at..at + end;
    }
    while let Some(after) = rest[end..].strip_prefix("::") {
        let more = word_length(after);
        if more == 0 {
            break;
        }
        end += 2 + more;
    }
    at..at + end
}

fn word_length(text: &str) -> usize {
    text.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(text.len())
}

/// The text of argument `index` of the call whose name starts at `at`; the receiver of a method
/// call is argument 0. `None` when the text does not look as expected.
pub(super) fn argument(text: &str, at: usize, index: usize) -> Option<Range<usize>> {
    let name = word_at(text, at);
    let before = text.get(..at)?.trim_end();
    let method = before.ends_with('.') && !before.ends_with("..");
    let index = if method { index.checked_sub(1)? } else { index };
    let open = name.end + text[name.end..].find(|c: char| !c.is_whitespace())?;
    if !text[open..].starts_with('(') {
        return None;
    }
    let (mut depth, mut start, mut count) = (0usize, open + 1, 0);
    for piece in pieces(&text[open..]) {
        let Piece::Mark(offset, mark) = piece else { continue };
        let here = open + offset;
        match mark {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth = depth.checked_sub(1)?,
            _ => {}
        }
        let ends = (depth == 1 && mark == ',') || depth == 0;
        if ends {
            if count == index {
                return trimmed(text, start..here);
            }
            count += 1;
            start = here + 1;
        }
        if depth == 0 {
            return None;
        }
    }
    None
}

fn trimmed(text: &str, range: Range<usize>) -> Option<Range<usize>> {
    let inner = &text[range.clone()];
    let start = range.start + (inner.len() - inner.trim_start().len());
    let end = range.start + inner.trim_end().len();
    (start < end).then_some(start..end)
}

/// Names that the script gives to variables, loops and arguments, each once, in order.
pub(super) fn given_names(text: &str) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    let mut due = false;
    for piece in pieces(text) {
        match piece {
            Piece::Word(_, word) => {
                if due && !names.contains(&word) && names.len() < 200 {
                    names.push(word);
                }
                due = matches!(word, "let" | "const" | "for");
            }
            Piece::Mark(..) => due = false,
        }
    }
    names
}

/// A function that a script defines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct GivenFunction<'a> {
    pub(super) name: &'a str,
    /// Name and parameters as written.
    pub(super) signature: &'a str,
    /// Whether other scripts may call it.
    pub(super) open: bool,
}

/// The functions that the script defines.
pub(super) fn given_functions(text: &str) -> Vec<GivenFunction<'_>> {
    let mut functions = Vec::new();
    let mut words = ["", ""];
    for piece in pieces(text) {
        let Piece::Word(at, name) = piece else {
            words = ["", ""];
            continue;
        };
        if words[1] == "fn" {
            let end = text[at..].find('{').map_or(text.len(), |end| at + end);
            functions.push(GivenFunction {
                name,
                signature: text[at..end].trim(),
                open: words[0] != "private",
            });
        }
        words = [words[1], name];
    }
    functions
}

enum Piece<'a> {
    Word(usize, &'a str),
    Mark(usize, char),
}

/// Words and marks of a text, comments and the inside of strings left out.
fn pieces(text: &str) -> impl Iterator<Item = Piece<'_>> {
    let mut at = 0;
    std::iter::from_fn(move || {
        loop {
            let rest = text.get(at..)?;
            let first = rest.chars().next()?;
            if rest.starts_with("//") {
                at += rest.find('\n').unwrap_or(rest.len());
            } else if rest.starts_with("/*") {
                at += rest.find("*/").map_or(rest.len(), |end| end + 2);
            } else if matches!(first, '"' | '`' | '\'') {
                let here = at;
                at += quoted_length(rest, first);
                return Some(Piece::Mark(here, first));
            } else if first.is_alphanumeric() || first == '_' {
                let here = at;
                at += word_length(rest);
                return Some(Piece::Word(here, &text[here..at]));
            } else {
                let here = at;
                at += first.len_utf8();
                if !first.is_whitespace() {
                    return Some(Piece::Mark(here, first));
                }
            }
        }
    })
}

fn quoted_length(text: &str, quote: char) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        if escaped {
            escaped = false;
        } else if c == '\\' && quote != '`' {
            escaped = true;
        } else if c == quote {
            return at + c.len_utf8();
        }
    }
    text.len()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_argument_is_found_past_strings_lists_and_comments() {
        for (case, text, name, index, want) in [
            ("plain", "box(1, 22, 3)", "box", 1, "22"),
            ("a comma in a text", "place(\"a,b\", x)", "place", 1, "x"),
            ("a comma in a list", "hull([1, 2], y)", "hull", 1, "y"),
            ("a bracket in a comment", "f(/* ) */ a, b)", "f", 1, "b"),
            ("a receiver is argument 0", "p.turned(up, deg(3))", "turned", 2, "deg(3)"),
            ("over lines", "f(\n  a,\n  bc\n)", "f", 1, "bc"),
            ("a map", "place(n, #{role: \"x\", wrap: 3}, z)", "place", 1, "#{role: \"x\", wrap: 3}"),
        ] {
            let at = text.find(name).unwrap();
            let range = argument(text, at, index).unwrap();
            assert_eq!(&text[range], want, "{case}");
        }
        assert_eq!(argument("p.turned(up)", 2, 0), None, "the receiver has no place of its own");
        assert_eq!(argument("f(a", 0, 0), None, "never closed");
        assert_eq!(argument("f(a)", 0, 3), None, "not so many");
    }

    #[test]
    fn positions_count_characters_and_never_leave_the_text() {
        let text = "let ä = 1;\nlet b = 2;";
        assert_eq!(&text[offset(text, 1, 7)..], "= 1;\nlet b = 2;");
        assert_eq!(&text[offset(text, 2, 5)..], "b = 2;");
        assert_eq!(offset(text, 9, 9), text.len());
        assert_eq!(offset(text, 1, 99), text.find('\n').unwrap());
        assert_eq!(word_at("turbo::place_on(1)", 0), 0..15);
    }

    #[test]
    fn names_are_collected_outside_strings() {
        let text = "let a = \"let b\"; for c in 0..3 {} const d = 1; fn e(f) { f } private fn g() {}";
        assert_eq!(given_names(text), ["a", "c", "d"]);
        let functions = given_functions(text);
        assert_eq!(functions[0], GivenFunction { name: "e", signature: "e(f)", open: true });
        assert_eq!(functions[1], GivenFunction { name: "g", signature: "g()", open: false });
    }
}
