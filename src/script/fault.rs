//! Why a function of ours refused, while it is still on its way through the interpreter.

use rhai::{Dynamic, EvalAltResult, Position};

/// A refusal: stable code, what is wrong, what to do, and which argument is to blame.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Fault {
    pub(super) code: &'static str,
    pub(super) message: String,
    pub(super) help: String,
    /// Index into the arguments, the receiver of a method being 0.
    pub(super) argument: Option<usize>,
    /// A limit cannot be caught by the script.
    pub(super) catch: Catch,
}

/// Whether a script's `try` may catch a fault.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Catch {
    Allowed,
    Refused,
}

impl Fault {
    pub(super) fn new(code: &'static str, message: impl Into<String>, help: impl Into<String>) -> Self {
        Fault { code, message: message.into(), help: help.into(), argument: None, catch: Catch::Allowed }
    }

    /// A limit of `ScriptOptions` was met: `what` in words, `field` to raise.
    pub(super) fn limit(what: impl Into<String>, field: &'static str, limit: impl ToString) -> Self {
        Fault {
            code: "script::limit",
            message: what.into(),
            help: format!(
                "the limit is {}; ask for less, or end the loop (in Rust, `ScriptOptions::{field}` sets it)",
                limit.to_string()
            ),
            argument: None,
            catch: Catch::Refused,
        }
    }

    /// The same, blaming an argument unless one is blamed already.
    pub(super) fn at_argument(mut self, index: usize) -> Self {
        self.argument.get_or_insert(index);
        self
    }

    pub(super) fn into_rhai(self, position: Position) -> Box<EvalAltResult> {
        Box::new(match self.catch {
            Catch::Allowed => EvalAltResult::ErrorRuntime(Dynamic::from(self), position),
            Catch::Refused => EvalAltResult::ErrorTerminated(Dynamic::from(self), position),
        })
    }
}
