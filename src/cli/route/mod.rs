//! `baywright route`: tubes that the tool finds itself between two ports.
//!
//! `args` what it takes; `port` how ports and sizes are written; `tube` the tube that is asked for; `run` question and answer;
//! `body` the route as a body of a scene.

mod args;
mod body;
mod port;
mod run;
mod tube;

pub use args::Args;
pub(super) use run::run;
