//! What a shape works out once and keeps: neither part of its value nor copied with it.

use std::sync::OnceLock;

/// Filled at the first use, from any thread; equal to every other, and empty in a clone.
#[derive(Debug)]
pub(super) struct Cache<T>(OnceLock<T>);

impl<T> Cache<T> {
    /// What is kept, worked out now if it was not.
    pub(super) fn get_or(&self, work_out: impl FnOnce() -> T) -> &T {
        self.0.get_or_init(work_out)
    }
}

impl<T> Default for Cache<T> {
    fn default() -> Self {
        Cache(OnceLock::new())
    }
}

impl<T> Clone for Cache<T> {
    fn clone(&self) -> Self {
        Cache::default()
    }
}

impl<T> PartialEq for Cache<T> {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}
