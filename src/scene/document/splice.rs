//! Splices: a key set, an item added or taken out, at places that the tree of the text knows.

use std::rc::Rc;

use super::EditError;
use crate::scene::error::Faults;
use crate::scene::read::{Entry, Node, NodeKind, Place, Source, Style, tree_of};

/// A text with its tree.
pub(super) struct Spliced {
    /// The text.
    pub text: String,
    root: Rc<Node>,
}

impl Spliced {
    /// Reads a text; faults of its YAML are told.
    pub fn new(name: &str, text: String) -> Result<Self, EditError> {
        let faults = Faults::default();
        let root = tree_of(&Source::new(name, &text), &faults);
        Ok(Spliced { root: faults.settle(root)?, text })
    }

    /// The tree.
    pub fn root(&self) -> &Rc<Node> {
        &self.root
    }

    fn name(&self) -> String {
        self.root.place.source.name().to_owned()
    }

    fn line_feed(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    fn replace(&self, start: usize, end: usize, with: &str) -> Result<Self, EditError> {
        let mut text = String::with_capacity(self.text.len() + with.len());
        text.push_str(&self.text[..start]);
        text.push_str(with);
        text.push_str(&self.text[end..]);
        Spliced::new(&self.name(), text)
    }

    /// The node at a path of keys, in this very text: neither through an alias nor under an anchor.
    pub fn at(&self, path: &[&str]) -> Result<&Node, EditError> {
        let mut node: &Node = &self.root;
        for key in path {
            let entry = node.get(key).ok_or_else(|| layout(path))?;
            refuse_shared(&self.text, entry)?;
            node = &entry.value;
        }
        Ok(node)
    }

    /// Sets a key of the map at a path to a value written in one line.
    pub fn set(&self, path: &[&str], key: &str, value: &str) -> Result<Self, EditError> {
        let map = self.at(path)?;
        if let Some(entry) = map.get(key) {
            if matches!(entry.value.kind, NodeKind::Alias(_)) {
                return self.replace(entry.value.place.start, entry.value.place.end, value);
            }
            refuse_shared(&self.text, entry)?;
            if entry.value.is_nothing() {
                let after_colon = self.after_colon(entry).ok_or_else(|| layout(path))?;
                return self.replace(after_colon, after_colon, &format!(" {value}"));
            }
            let Place { start, end, .. } = entry.value.place;
            return self.replace(start, end.max(start), value);
        }
        self.add(path, &format!("{key}: {value}"))
    }

    /// Adds an entry, written in one line, at the end of the map at a path.
    pub fn add(&self, path: &[&str], entry: &str) -> Result<Self, EditError> {
        let map = self.at(path)?;
        let NodeKind::Map(entries, style) = &map.kind else { return Err(layout(path)) };
        match (style, entries.last()) {
            (Style::Flow, None) => self.replace(map.place.start + 1, map.place.start + 1, entry),
            (Style::Flow, Some(last)) => {
                let end = self.end_of(last);
                self.replace(end, end, &format!(", {entry}"))
            }
            (Style::Block, Some(last)) => {
                let indent = self.indent_of(&entries[0].key_place);
                self.insert_lines(self.end_of(last), &indent, entry)
            }
            (Style::Block, None) => Err(layout(path)),
        }
    }

    /// Adds lines under a key of the top map, making the key when it is not there.
    pub fn add_under(&self, key: &str, lines: &str, in_one_line: &str) -> Result<Self, EditError> {
        let NodeKind::Map(_, style) = &self.root.kind else { return Err(layout(&[key])) };
        let Some(entry) = self.root.get(key) else {
            if *style == Style::Flow {
                return self.add(&[], &format!("{key}: {in_one_line}"));
            }
            return self
                .add(&[], &format!("{key}:{}{}", self.line_feed(), indented(lines, "  ", self.line_feed())));
        };
        refuse_shared(&self.text, entry)?;
        if entry.value.is_nothing() {
            if entry.value.place.end > entry.value.place.start {
                let Place { start, end, .. } = entry.value.place;
                return self.replace(start, end, in_one_line);
            }
            let after_colon = self.after_colon(entry).ok_or_else(|| layout(&[key]))?;
            return self.insert_lines(after_colon, "  ", lines);
        }
        match &entry.value.kind {
            NodeKind::Map(entries, Style::Block) | NodeKind::Map(entries, Style::Flow)
                if !entries.is_empty() =>
            {
                self.add_to_map(&entry.value, lines, in_one_line)
            }
            NodeKind::List(items, style) if !items.is_empty() => {
                let end = items[items.len() - 1].place.end;
                if *style == Style::Flow {
                    let inner = in_one_line.trim_start_matches('[').trim_end_matches(']');
                    return self.replace(end, end, &format!(", {inner}"));
                }
                let indent = self.dash_indent(&items[0].place).ok_or_else(|| layout(&[key]))?;
                self.insert_lines(end, &indent, lines)
            }
            // An empty `[]` or `{}`.
            _ => {
                let Place { start, end, .. } = entry.value.place;
                self.replace(start, end, in_one_line)
            }
        }
    }

    fn add_to_map(&self, map: &Node, lines: &str, in_one_line: &str) -> Result<Self, EditError> {
        let NodeKind::Map(entries, style) = &map.kind else { return Err(layout(&[])) };
        let Some(last) = entries.last() else { return Err(layout(&[])) };
        let end = self.end_of(last);
        if *style == Style::Flow {
            let inner =
                in_one_line.strip_prefix('{').and_then(|rest| rest.strip_suffix('}')).unwrap_or(in_one_line);
            return self.replace(end, end, &format!(", {inner}"));
        }
        self.insert_lines(end, &self.indent_of(&entries[0].key_place), lines)
    }

    /// Takes an entry out of the map at a path.
    pub fn remove(&self, path: &[&str], key: &str) -> Result<Self, EditError> {
        let map = self.at(path)?;
        let NodeKind::Map(entries, style) = &map.kind else { return Err(layout(path)) };
        let at = entries.iter().position(|entry| entry.key == key).ok_or_else(|| layout(path))?;
        let spans: Vec<(usize, usize)> =
            entries.iter().map(|entry| (entry.key_place.start, self.end_of(entry))).collect();
        self.cut(&spans, at, *style, "")
    }

    /// Takes an item out of the list at a path.
    pub fn remove_item(&self, path: &[&str], at: usize) -> Result<Self, EditError> {
        let NodeKind::List(items, style) = &self.at(path)?.kind else { return Err(layout(path)) };
        let spans: Vec<(usize, usize)> =
            items.iter().map(|item| (item.place.start, item.place.end)).collect();
        self.cut(&spans, at, *style, "-")
    }

    fn cut(&self, spans: &[(usize, usize)], at: usize, style: Style, lead: &str) -> Result<Self, EditError> {
        let (start, end) = spans[at];
        if style == Style::Block {
            let line = self.text[..start].rfind('\n').map_or(0, |feed| feed + 1);
            if self.text[line..start].trim() != lead {
                return Err(layout(&[]));
            }
            return self.replace(line, self.end_of_line(end), "");
        }
        if at > 0 {
            return self.replace(spans[at - 1].1, end, "");
        }
        if let Some((next, _)) = spans.get(1) {
            return self.replace(start, *next, "");
        }
        let rest = &self.text[end..];
        let comma = rest.len() - rest.trim_start().len();
        let end = if rest[comma..].starts_with(',') { end + comma + 1 } else { end };
        self.replace(start, end, "")
    }

    /// Where an entry ends.
    fn end_of(&self, entry: &Entry) -> usize {
        if entry.value.place.end > entry.value.place.start {
            entry.value.place.end
        } else {
            self.after_colon(entry).unwrap_or(entry.key_place.end)
        }
    }

    fn after_colon(&self, entry: &Entry) -> Option<usize> {
        let rest = &self.text[entry.key_place.end..];
        let colon = rest.find(':')?;
        rest[..colon].trim().is_empty().then_some(entry.key_place.end + colon + 1)
    }

    /// The byte after the line feed that ends the line of a byte; a byte that begins a line is its own.
    fn end_of_line(&self, byte: usize) -> usize {
        if byte > 0 && self.text[..byte].ends_with('\n') {
            return byte;
        }
        self.text[byte..].find('\n').map_or(self.text.len(), |feed| byte + feed + 1)
    }

    fn insert_lines(&self, after: usize, indent: &str, lines: &str) -> Result<Self, EditError> {
        let at = self.end_of_line(after);
        let feed = self.line_feed();
        let mut new = indented(lines, indent, feed);
        if !self.text[..at].ends_with('\n') {
            new.insert_str(0, feed);
        }
        new.push_str(feed);
        self.replace(at, at, &new)
    }

    fn indent_of(&self, place: &Place) -> String {
        let line = self.text[..place.start].rfind('\n').map_or(0, |feed| feed + 1);
        let before = &self.text[line..place.start];
        if before.trim().is_empty() { before.to_owned() } else { " ".repeat(before.chars().count()) }
    }

    /// Indentation of the dash of a list's first item.
    fn dash_indent(&self, first: &Place) -> Option<String> {
        let line = self.text[..first.start].rfind('\n').map_or(0, |feed| feed + 1);
        let before = self.text[line..first.start].trim_end();
        let indent = before.strip_suffix('-')?;
        indent.trim().is_empty().then(|| indent.to_owned())
    }
}

fn indented(lines: &str, indent: &str, feed: &str) -> String {
    let lines: Vec<String> = lines
        .lines()
        .map(|line| if line.trim().is_empty() { String::new() } else { format!("{indent}{line}") })
        .collect();
    lines.join(feed)
}

fn layout(path: &[&str]) -> EditError {
    let what = if path.is_empty() { "this part".to_owned() } else { format!("`{}`", path.join(".")) };
    EditError::Layout { what }
}

/// Refuses what an alias stands for, or an anchor names: an edit would change other places too.
fn refuse_shared(text: &str, entry: &Entry) -> Result<(), EditError> {
    let between = text.get(entry.key_place.end..entry.value.place.start).unwrap_or_default();
    let is_anchored = between.lines().any(|line| line.trim_start_matches([':', ' ']).starts_with('&'));
    if matches!(entry.value.kind, NodeKind::Alias(_)) || is_anchored {
        return Err(EditError::Shared { what: format!("`{}`", entry.key) });
    }
    Ok(())
}
