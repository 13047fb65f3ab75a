//! The renderer panics where this project returns an error: here the one becomes the other.

use std::any::Any;
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind, set_hook, take_hook};
use std::sync::Once;

thread_local! {
    static QUIET: Cell<bool> = const { Cell::new(false) };
}
static HOOK: Once = Once::new();

/// Runs something of which a panic is an answer: what it gives, or what the panic said.
///
/// While it runs, this thread's panics print nothing; other threads' still do.
pub(super) fn guarded<T>(run: impl FnOnce() -> T) -> Result<T, String> {
    HOOK.call_once(|| {
        let usual = take_hook();
        set_hook(Box::new(move |info| {
            if !QUIET.with(Cell::get) {
                usual(info);
            }
        }));
    });
    let before = QUIET.with(|quiet| quiet.replace(true));
    let outcome = catch_unwind(AssertUnwindSafe(run));
    QUIET.with(|quiet| quiet.set(before));
    outcome.map_err(|payload| said(payload.as_ref()))
}

/// The words of a panic, on one line.
fn said(payload: &(dyn Any + Send)) -> String {
    let words = payload
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| payload.downcast_ref::<&str>().copied())
        .unwrap_or("no reason given");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    #![allow(clippy::panic)]
    use super::*;

    #[test]
    fn a_panic_becomes_its_words() {
        assert_eq!(guarded(|| 3), Ok(3));
        let said: Result<(), _> = guarded(|| panic!("no adapter:\n  {}", 7));
        assert_eq!(said, Err("no adapter: 7".to_owned()));
    }
}
