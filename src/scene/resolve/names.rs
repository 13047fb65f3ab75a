//! Looking names up, and telling of those that nothing bears or that two things bear.

use crate::scene::decode::Named;
use crate::scene::error::{Fault, Faults, nearest};

/// Names of one kind, each at the index of what bears it.
pub(super) struct Names<'a> {
    what: &'static str,
    list: Vec<&'a str>,
    /// Names that are given but whose value had a fault of its own.
    faulty: Vec<&'a str>,
    faults: &'a Faults,
}

impl<'a> Names<'a> {
    /// Names of a kind of thing; `declared` are all that were given, faulty ones too.
    pub fn new(
        what: &'static str,
        list: impl IntoIterator<Item = &'a str>,
        declared: impl IntoIterator<Item = &'a str>,
        faults: &'a Faults,
    ) -> Self {
        Names { what, list: list.into_iter().collect(), faulty: declared.into_iter().collect(), faults }
    }

    /// Where a name stands in the list, without a word when it does not.
    pub fn position(&self, name: &str) -> Option<usize> {
        self.list.iter().position(|known| *known == name)
    }

    /// All names.
    pub fn all(&self) -> impl Iterator<Item = &'a str> + '_ {
        self.list.iter().copied()
    }

    /// Whether a name is given at all, rightly or not.
    pub fn is_given(&self, name: &str) -> bool {
        self.position(name).is_some() || self.faulty.contains(&name)
    }

    /// Where a name stands in the list; one that nothing bears is a fault.
    pub fn find(&self, name: &Named) -> Option<usize> {
        let found = self.position(&name.text);
        if found.is_none() && !self.faulty.contains(&name.text.as_str()) {
            self.unknown(name);
        }
        found
    }

    /// Tells that nothing bears a name.
    pub fn unknown(&self, name: &Named) {
        let fault = Fault::UnknownName {
            what: self.what,
            name: name.text.clone(),
            nearest: nearest(&name.text, self.list.iter().copied()),
            known: self.list.iter().map(|known| known.to_string()).collect(),
        };
        self.faults.add(name.place.clone(), fault);
    }
}

/// Tells of names that are given twice.
pub(super) fn refuse_doubles<'a>(names: impl IntoIterator<Item = &'a Named>, faults: &Faults) {
    let mut seen: std::collections::HashMap<&str, &Named> = std::collections::HashMap::new();
    for name in names {
        if let Some(first) = seen.get(name.text.as_str()) {
            let fault = Fault::DuplicateName { name: name.text.clone() };
            faults.add_two(name.place.clone(), fault, "first", first.place.clone());
        } else {
            seen.insert(&name.text, name);
        }
    }
}
