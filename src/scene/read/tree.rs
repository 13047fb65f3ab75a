//! Text to tree, within a budget, so that no document can eat the machine.

use std::collections::HashMap;
use std::rc::Rc;
use std::sync::Arc;

use serde_yaml::granit_parser::{
    ErrorKind, Event, Parser, ScalarStyle, ScanError, Span as YamlSpan, StructureStyle, options,
};

use super::node::{Entry, Node, NodeKind, Style};
use super::{Place, Source};
use crate::scene::error::{Fault, Faults};

/// The greatest number of nodes, what aliases stand for counted each time.
const MOST_NODES: usize = 400_000;
/// The deepest nesting.
const DEEPEST: usize = 48;

/// Reads one document. Faults go into the sink; `None` when no tree came of it.
pub(crate) fn tree_of(source: &Arc<Source>, faults: &Faults) -> Option<Rc<Node>> {
    let settings = options! {
        emit_comments: false,
        flow_nesting_limit: DEEPEST + 2,
        block_nesting_limit: DEEPEST + 2,
        disallow_directives: true,
    };
    let parser = Parser::new_from_str_with_options(source.text(), settings);
    let mut builder = Builder {
        source,
        faults,
        open: Vec::new(),
        anchors: HashMap::new(),
        nodes: 0,
        root: None,
        documents: 0,
    };
    for event in parser {
        let step = match event {
            Ok((event, span)) => builder.take(event, &span),
            Err(error) => Err(Box::new(builder.syntax(&error))),
        };
        if let Err(told) = step {
            let (place, fault) = *told;
            faults.add(place, fault);
            return None;
        }
    }
    if builder.root.is_none() {
        faults.add(Place::top(source), Fault::Empty);
    }
    builder.root
}

/// A list or map that is not closed yet.
struct Open {
    start: usize,
    end: usize,
    style: Style,
    anchor: usize,
    nodes_before: usize,
    kind: OpenKind,
}

enum OpenKind {
    List(Vec<Rc<Node>>),
    Map(Vec<Entry>, Option<(String, Place)>),
}

struct Builder<'a> {
    source: &'a Arc<Source>,
    faults: &'a Faults,
    open: Vec<Open>,
    anchors: HashMap<usize, (Rc<Node>, usize)>,
    nodes: usize,
    root: Option<Rc<Node>>,
    documents: usize,
}

type Step = Result<(), Box<(Place, Fault)>>;

impl Builder<'_> {
    fn place(&self, span: &YamlSpan) -> Place {
        let length = self.source.text().len();
        let start = span.start.byte_offset().unwrap_or(0).min(length);
        let end = span.end.byte_offset().unwrap_or(start).clamp(start, length);
        Place { source: self.source.clone(), start, end }
    }

    fn syntax(&self, error: &ScanError) -> (Place, Fault) {
        let start = error.marker().byte_offset().unwrap_or(0).min(self.source.text().len());
        let rest = self.source.text().get(start..).unwrap_or_default();
        let end = start + rest.find(['\n', '\r']).unwrap_or(rest.len());
        let place = Place { source: self.source.clone(), start, end };
        let detail = match error.kind() {
            ErrorKind::RecursionLimitExceeded => {
                return (place, Fault::TooMuch { what: "levels of nesting", limit: DEEPEST as u64 });
            }
            ErrorKind::UnknownAnchor => {
                "this alias names no anchor that stands before it; write `&name` at what it should repeat"
                    .to_owned()
            }
            _ if error.info().contains("tab") => format!("{}; indent with blanks", error.info()),
            _ => error.info(),
        };
        (place, Fault::Syntax { detail })
    }

    fn take(&mut self, event: Event<'_>, span: &YamlSpan) -> Step {
        let place = self.place(span);
        match event {
            Event::DocumentStart(..) => {
                self.documents += 1;
                if self.documents > 1 {
                    return Err(Box::new((place, Fault::SecondDocument)));
                }
            }
            Event::Scalar(text, style, anchor, tag) => {
                self.refuse_tag(tag.is_some(), &place)?;
                self.count(1, &place)?;
                let nothing = style == ScalarStyle::Plain && matches!(&*text, "" | "~" | "null");
                let is_key = self.wants_key();
                let kind =
                    if nothing && !is_key { NodeKind::Nothing } else { NodeKind::Scalar(text.into_owned()) };
                let nodes_before = self.nodes - 1;
                self.finish(Node { place, kind }, anchor, nodes_before)?;
            }
            Event::Alias(id) => {
                let Some((target, size)) = self.anchors.get(&id).cloned() else {
                    let detail = "this alias stands inside what it names".into();
                    return Err(Box::new((place, Fault::Syntax { detail })));
                };
                self.count(size, &place)?;
                let nodes_before = self.nodes - size;
                self.finish(Node { place, kind: NodeKind::Alias(target) }, 0, nodes_before)?;
            }
            Event::SequenceStart(style, anchor, tag) => {
                self.refuse_tag(tag.is_some(), &place)?;
                self.start(place, style, anchor, OpenKind::List(Vec::new()))?;
            }
            Event::MappingStart(style, anchor, tag) => {
                self.refuse_tag(tag.is_some(), &place)?;
                self.start(place, style, anchor, OpenKind::Map(Vec::new(), None))?;
            }
            Event::SequenceEnd | Event::MappingEnd => self.close(&place)?,
            _ => {}
        }
        Ok(())
    }

    fn refuse_tag(&self, tagged: bool, place: &Place) -> Step {
        if tagged { Err(Box::new((place.clone(), Fault::Tag))) } else { Ok(()) }
    }

    fn count(&mut self, nodes: usize, place: &Place) -> Step {
        self.nodes = self.nodes.saturating_add(nodes);
        if self.nodes > MOST_NODES {
            let fault = Fault::TooMuch { what: "values, aliases spelt out", limit: MOST_NODES as u64 };
            return Err(Box::new((place.clone(), fault)));
        }
        Ok(())
    }

    fn wants_key(&self) -> bool {
        matches!(self.open.last(), Some(Open { kind: OpenKind::Map(_, None), .. }))
    }

    fn start(&mut self, place: Place, style: StructureStyle, anchor: usize, kind: OpenKind) -> Step {
        if self.wants_key() {
            return Err(Box::new((place, Fault::KeyIsNoText)));
        }
        if self.open.len() >= DEEPEST {
            let fault = Fault::TooMuch { what: "levels of nesting", limit: DEEPEST as u64 };
            return Err(Box::new((place, fault)));
        }
        let nodes_before = self.nodes;
        self.count(1, &place)?;
        let style = if style == StructureStyle::Flow { Style::Flow } else { Style::Block };
        self.open.push(Open { start: place.start, end: place.end, style, anchor, nodes_before, kind });
        Ok(())
    }

    fn close(&mut self, place: &Place) -> Step {
        let Some(open) = self.open.pop() else { return Ok(()) };
        // A block ends where its last value does; the parser only tells where the next thing starts.
        let end = if open.style == Style::Flow { place.end } else { open.end };
        let kind = match open.kind {
            OpenKind::List(items) => NodeKind::List(items, open.style),
            OpenKind::Map(entries, _) => NodeKind::Map(entries, open.style),
        };
        let place = Place { source: self.source.clone(), start: open.start, end };
        self.finish(Node { place, kind }, open.anchor, open.nodes_before)
    }

    fn finish(&mut self, node: Node, anchor: usize, nodes_before: usize) -> Step {
        let node = Rc::new(node);
        if anchor != 0 {
            self.anchors.insert(anchor, (node.clone(), self.nodes - nodes_before));
        }
        let Some(open) = self.open.last_mut() else {
            self.root.get_or_insert(node);
            return Ok(());
        };
        // A value left out has no bytes; the parser places it wherever it noticed.
        if node.place.end > node.place.start {
            open.end = open.end.max(node.place.end);
        }
        match &mut open.kind {
            OpenKind::List(items) => items.push(node),
            OpenKind::Map(_, waiting @ None) => match node.scalar() {
                Some(text) => *waiting = Some((text.to_owned(), node.place.clone())),
                None => {
                    self.faults.add(node.place.clone(), Fault::KeyIsNoText);
                    *waiting = Some((String::new(), node.place.clone()));
                }
            },
            OpenKind::Map(entries, waiting) => {
                if let Some((key, key_place)) = waiting.take() {
                    entries.push(Entry { key, key_place, value: node });
                }
            }
        }
        Ok(())
    }
}
