//! Ctrl-C: the first ends a search with the best so far, the second ends the process at once.

use std::sync::atomic::{AtomicBool, Ordering};

use super::said::aside;

/// Set once Ctrl-C was pressed.
static ENDED: AtomicBool = AtomicBool::new(false);

/// What a shell takes for "ended by an interrupt": 128 and the number of the signal.
const INTERRUPTED: i32 = 130;

/// Listens for Ctrl-C from here on; the flag is set by the first.
pub(super) fn listen() -> &'static AtomicBool {
    let heard = ctrlc::set_handler(|| {
        if ENDED.swap(true, Ordering::Relaxed) {
            std::process::exit(INTERRUPTED);
        }
        aside("ending the search: the best so far follows (Ctrl-C again ends at once)");
    });
    if let Err(error) = heard {
        aside(&format!("note: Ctrl-C will end without an answer: {error}"));
    }
    &ENDED
}

/// The flag itself, for one who is not the first to ask.
pub(super) fn flag() -> &'static AtomicBool {
    &ENDED
}

/// Whether Ctrl-C was pressed.
pub(super) fn pressed() -> bool {
    ENDED.load(Ordering::Relaxed)
}
