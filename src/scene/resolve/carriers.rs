//! Carriers' movements.

use crate::motion::{Freedom, Movement};
use crate::scene::decode::{WrittenCarrier, WrittenFreedom};
use crate::scene::{Carrier, Span};
use crate::space::Axis;

/// The carriers, `chassis` first.
pub(super) fn carriers(written: &[WrittenCarrier], scene_file: &str) -> Vec<Carrier> {
    let chassis = Carrier {
        name: "chassis".to_owned(),
        movement: Movement::still(),
        freedom_words: Vec::new(),
        span: Span { file: scene_file.to_owned(), line: 1, column: 1 },
    };
    let mut out = vec![chassis];
    out.extend(written.iter().map(|carrier| Carrier {
        name: carrier.name.text.clone(),
        movement: Movement { freedoms: carrier.freedoms.iter().map(freedom).collect() },
        freedom_words: carrier.freedoms.iter().map(|freedom| word(freedom).to_owned()).collect(),
        span: carrier.name.place.span(),
    }));
    out
}

fn freedom(written: &WrittenFreedom) -> Freedom {
    match written {
        WrittenFreedom::Turn { through, along, from, to, .. } => Freedom::Turn {
            axis: Axis { through: *through, along: *along },
            from_rad: from.rad(),
            to_rad: to.rad(),
        },
        WrittenFreedom::Slide { along, from_mm, to_mm, .. } => {
            Freedom::Slide { along: *along, from_mm: *from_mm, to_mm: *to_mm }
        }
    }
}

fn word(written: &WrittenFreedom) -> &'static str {
    match written {
        WrittenFreedom::Turn { word, .. } | WrittenFreedom::Slide { word, .. } => word,
    }
}
