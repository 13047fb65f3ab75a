//! Opening a map against its list of keys: unknown, doubled and missing keys are told here.

use std::rc::Rc;

use super::keys::{KeyTable, Need};
use super::{Cx, Named};
use crate::scene::error::{Fault, nearest};
use crate::scene::read::{Entry, Node, NodeKind, Place};

/// A map whose keys were checked.
pub(crate) struct Table<'a> {
    /// Where the map is written.
    pub place: Place,
    /// The list of keys that it was checked against.
    pub keys: &'static KeyTable,
    entries: Vec<&'a Entry>,
}

impl<'a> Table<'a> {
    /// Checks a node against a list of keys. `None` when it is no map.
    pub fn open(cx: &Cx<'_>, node: &'a Node, keys: &'static KeyTable) -> Option<Self> {
        let real = node.real();
        let NodeKind::Map(entries, _) = &real.kind else {
            cx.add(
                real,
                Fault::WrongKind {
                    what: keys.title.to_owned(),
                    found: told(real),
                    expected: "a map of keys",
                    example: "`key: value` lines, or `{key: value, ...}`",
                },
            );
            return None;
        };
        let mut kept: Vec<&Entry> = Vec::new();
        for entry in entries {
            if let Some(first) = kept.iter().find(|known| known.key == entry.key) {
                cx.faults.add_two(
                    entry.key_place.clone(),
                    Fault::DuplicateKey { key: entry.key.clone(), of: keys.title.to_owned() },
                    "first",
                    first.key_place.clone(),
                );
            } else if keys.names().any(|known| known == entry.key) {
                kept.push(entry);
            } else {
                let nearest = nearest(&entry.key, keys.names());
                let known = keys.names().collect();
                let fault = Fault::UnknownKey { key: entry.key.clone(), of: keys.title, nearest, known };
                cx.faults.add(entry.key_place.clone(), fault);
            }
        }
        let table = Table { place: real.place.clone(), keys, entries: kept };
        table.check_needs(cx);
        Some(table)
    }

    fn check_needs(&self, cx: &Cx<'_>) {
        let mut groups: Vec<&'static str> = Vec::new();
        for key in self.keys.keys {
            match key.need {
                Need::Must if self.get(key.name).is_none() => {
                    let fault = Fault::MissingKey {
                        key: key.name,
                        of: self.keys.title.to_owned(),
                        example: format!("{}: {}", key.name, key.example),
                    };
                    cx.faults.add(self.place.clone(), fault);
                }
                Need::OneOf(group) if !groups.contains(&group) => groups.push(group),
                _ => {}
            }
        }
        for group in groups {
            let choices: Vec<&'static str> = self
                .keys
                .keys
                .iter()
                .filter(|key| key.need == Need::OneOf(group))
                .map(|key| key.name)
                .collect();
            let given: Vec<String> =
                choices.iter().filter(|key| self.has(key)).map(|key| key.to_string()).collect();
            if given.len() != 1 {
                let place = match given.last().and_then(|key| self.entry(key)) {
                    Some(entry) => entry.key_place.clone(),
                    None => self.place.clone(),
                };
                cx.faults.add(place, Fault::OneOf { of: self.keys.title.to_owned(), choices, given });
            }
        }
    }

    fn entry(&self, key: &str) -> Option<&'a Entry> {
        self.entries.iter().find(|entry| entry.key == key).copied()
    }

    /// The value of a key.
    pub fn get(&self, key: &str) -> Option<&'a Node> {
        debug_assert!(self.keys.names().any(|known| known == key), "{key} is not in {}", self.keys.title);
        self.entry(key).map(|entry| &*entry.value)
    }

    /// Where a key is written.
    pub fn key_place(&self, key: &str) -> Option<Place> {
        self.entry(key).map(|entry| entry.key_place.clone())
    }

    /// Whether a key is there.
    pub fn has(&self, key: &str) -> bool {
        self.entry(key).is_some()
    }

    /// Tells of two keys that exclude each other.
    pub fn exclude(&self, cx: &Cx<'_>, one: &'static str, other: &'static str, remedy: &'static str) {
        if self.has(one)
            && let Some(place) = self.key_place(other)
        {
            cx.faults.add(place, Fault::Conflict { one, other, remedy });
        }
    }
}

/// What a node is, for a message: its text, or the kind of it.
pub(crate) fn told(node: &Node) -> String {
    match node.scalar() {
        Some(text) => {
            let line = text.lines().next().unwrap_or_default();
            let cut: String = line.chars().take(40).collect();
            if cut.len() < text.len() { format!("`{cut}...`") } else { format!("`{cut}`") }
        }
        None => node.word().to_owned(),
    }
}

/// A map whose keys are names of the scene's own: each name with its value.
pub(crate) fn named<'a>(cx: &Cx<'_>, node: &'a Node, what: &'static str) -> Vec<(Named, &'a Rc<Node>)> {
    let real = node.real();
    let entries = match &real.kind {
        NodeKind::Map(entries, _) => entries,
        NodeKind::Nothing => return Vec::new(),
        _ => {
            let fault = Fault::WrongKind {
                what: format!("`{what}`"),
                found: told(real),
                expected: "a map from names",
                example: "`name: {...}` lines",
            };
            cx.add(real, fault);
            return Vec::new();
        }
    };
    let mut out: Vec<(Named, &Rc<Node>)> = Vec::new();
    for entry in entries {
        if let Some((first, _)) = out.iter().find(|(name, _)| name.text == entry.key) {
            let fault = Fault::DuplicateKey { key: entry.key.clone(), of: format!("`{what}`") };
            cx.faults.add_two(entry.key_place.clone(), fault, "first", first.place.clone());
            continue;
        }
        if let Some(why) = bad_name(&entry.key) {
            cx.faults.add(entry.key_place.clone(), Fault::BadName { name: entry.key.clone(), why });
        }
        let name = Named { text: entry.key.clone(), place: entry.key_place.clone() };
        out.push((name, &entry.value));
    }
    out
}

/// Why a word cannot be a name.
pub(crate) fn bad_name(name: &str) -> Option<&'static str> {
    if name.is_empty() {
        Some("nothing is written")
    } else if name.chars().count() > 64 {
        Some("it is longer than 64 letters")
    } else if name == "any" {
        Some("`any` means every body")
    } else if name.trim() != name || name.contains("  ") {
        Some("blanks at its ends, or two together")
    } else if !name.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ')) {
        Some("only letters, digits, `-`, `_`, `.` and blanks go in it")
    } else if !name.chars().any(char::is_alphanumeric) {
        Some("it has neither letter nor digit")
    } else {
        None
    }
}
