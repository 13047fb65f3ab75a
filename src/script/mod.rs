//! The Rhai host: what a script may see and do.
//!
//! [`run_script`] runs a script against a copy of a scene and gives back the new scene, what was
//! changed in it, what was printed and which gaps were asked for. A script is a stranger: it sees
//! the scene and the functions of [`reference_table`], nothing else; [`ScriptOptions`] bounds what
//! it may spend. `docs/scripting.md` is the guide.
//!
//! Leaves to others: what is true of the new scene (`check`), and how a gap is found (whoever
//! implements [`Asker`]).

mod api;
mod ask;
mod book;
mod changes;
mod desk;
mod error;
mod explain;
mod face;
mod fault;
mod host;
mod house;
mod import;
mod kind;
mod options;
mod placing;
mod run;
mod source;
mod values;
mod yaml;

pub use ask::{Asked, Asker, Gap, When};
pub use book::reference_table;
pub use changes::{Change, Deed};
pub use error::{ScriptError, ScriptErrors, Trace};
pub use house::{HouseScript, house_scripts};
pub use options::ScriptOptions;
pub use run::{ScriptRun, run_script};
pub use yaml::{Splice, YamlFragment};
