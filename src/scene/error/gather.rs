//! Where faults are gathered while a document is read.

use std::cell::{Cell, RefCell};

use super::{Fault, SceneError, SceneErrors};
use crate::scene::read::Place;

/// The most faults that are kept; the rest are counted.
const MOST_KEPT: usize = 100;

/// Faults met so far.
#[derive(Debug, Default)]
pub(crate) struct Faults {
    list: RefCell<Vec<SceneError>>,
    more: Cell<usize>,
}

impl Faults {
    /// Adds a fault at a place.
    pub fn add(&self, place: Place, fault: Fault) {
        self.push(SceneError::new(fault, place, None));
    }

    /// Adds a fault that has a second place, such as where a name was first given.
    pub fn add_two(&self, place: Place, fault: Fault, word: &'static str, second: Place) {
        self.push(SceneError::new(fault, place, Some((word, second))));
    }

    fn push(&self, error: SceneError) {
        let mut list = self.list.borrow_mut();
        if list.contains(&error) {
            return;
        }
        if list.len() < MOST_KEPT {
            list.push(error);
        } else {
            self.more.set(self.more.get() + 1);
        }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.list.borrow().len()
    }

    /// The value when there was no fault, else all faults: by file in the order met, then by place.
    pub fn settle<T>(self, value: Option<T>) -> Result<T, SceneErrors> {
        let list = self.list.into_inner();
        match value {
            Some(value) if list.is_empty() => Ok(value),
            _ => Err(SceneErrors::new(list, self.more.get())),
        }
    }
}
