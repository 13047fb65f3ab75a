//! A YAML document as a tree whose every node knows where it is written.

use std::rc::Rc;

use super::Place;

/// One node.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Where it is written; for an alias the alias itself.
    pub place: Place,
    /// What it is.
    pub kind: NodeKind,
}

/// How a list or map is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Style {
    /// By indentation.
    Block,
    /// In brackets.
    Flow,
}

/// What a node is.
#[derive(Clone, Debug)]
pub(crate) enum NodeKind {
    /// Nothing is written (or `~`, `null`).
    Nothing,
    /// Text; numbers too, until someone asks for one.
    Scalar(String),
    /// A list.
    List(Vec<Rc<Node>>, Style),
    /// A map; keys in order, repeats kept so that they can be told of.
    Map(Vec<Entry>, Style),
    /// `*name`: what is written at `&name`.
    Alias(Rc<Node>),
}

/// A key with its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    /// The key.
    pub key: String,
    /// Where the key is written.
    pub key_place: Place,
    /// Its value.
    pub value: Rc<Node>,
}

impl Node {
    /// The node itself, or what an alias stands for.
    pub fn real(&self) -> &Node {
        match &self.kind {
            NodeKind::Alias(target) => target.real(),
            _ => self,
        }
    }

    /// The text of a scalar.
    pub fn scalar(&self) -> Option<&str> {
        match &self.real().kind {
            NodeKind::Scalar(text) => Some(text),
            _ => None,
        }
    }

    /// Whether nothing is written.
    pub fn is_nothing(&self) -> bool {
        matches!(self.real().kind, NodeKind::Nothing)
    }

    /// What it is, in words.
    pub fn word(&self) -> &'static str {
        match self.real().kind {
            NodeKind::Nothing => "nothing",
            NodeKind::Scalar(_) => "a single value",
            NodeKind::List(..) => "a list",
            NodeKind::Map(..) => "a map of keys",
            NodeKind::Alias(_) => "an alias",
        }
    }

    /// The value of a key of a map.
    pub fn get(&self, key: &str) -> Option<&Entry> {
        match &self.real().kind {
            NodeKind::Map(entries, _) => entries.iter().find(|entry| entry.key == key),
            _ => None,
        }
    }
}
