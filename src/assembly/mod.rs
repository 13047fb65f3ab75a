//! Assembly: from a scene to ways in, breaks of a pipe, an order of assembly, and what must come out.
//!
//! Leaves to others: the search for one way (`way_in`), where a tube may be split (`tube`), whether a tool turns
//! (`access`), how it is told (`report`).
//!
//! ```text
//! seen            a scene as one of its bodies meets it on its way
//! look            one body tried, as hard as asked
//! clamp           room for a joint, its tool and the hand
//! pieces  breaks  a pipe as pieces | where it must break so that it goes in
//! cage            proof that a body does not come out
//! order           which part goes in after which
//! broken_order    the same, with pipes in pieces where they must be
//! come_out        what must come out first
//! heavy           what hands cannot lift: a straight lift by a hoist point
//! minutes         how long the steps take
//! error           what such a question may lack
//! ```

mod breaks;
mod broken_order;
mod cage;
mod clamp;
mod come_out;
mod error;
mod heavy;
mod look;
mod minutes;
mod order;
mod pieces;
mod seen;

pub use breaks::{BreakAsk, Breaks, Outcome, Tried, Won, find_breaks};
pub use broken_order::{BrokenOrder, find_order_with_breaks};
pub use cage::{Cage, caged};
pub use clamp::{ClampRoom, ClampTool, Hand};
pub use come_out::{Asked, ComeOut, ComeOutAsk, Reached, must_come_out};
pub use error::AssemblyError;
pub use heavy::{Heft, Lift, MASS_LIMIT_KG, heft, mass_kg, no_hoist_words, straight_lift};
pub use look::{Look, Looked};
pub use minutes::{Fastening, fastening_minutes};
pub use order::{OrderAsk, OrderFound, PartStep, StuckPart, find_order};
pub use pieces::broken_scene;
pub use seen::{Seen, Shapes, Side, hood_open};
