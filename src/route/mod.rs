//! Routes: tubes that the tool finds itself between two ports.
//!
//! Ports, a tube, what bends it, obstacles with the room each asks and how they move: in. Tubes that can be made
//! and are proved clear over the whole movement, ranked: out; or nothing, and what stands in the way. Leaves to
//! others: which room a pair asks (`check`), documents (`scene`).
//!
//! ```text
//! ask  error          what is asked, and why it cannot be
//! bending             what a bender or a set of stock bends lets a tube do
//! field               how far a point is from everything, over sampled poses: guides, proves nothing
//! chain               ports and corners: lengths, setbacks, points along the line
//! family              none, one or two bends      fit_up    how a tube of none or one meets ports that miss each other
//! flood  lattice      free ways to the far port | bends and straights laid end to end toward it
//! refine  minimax     corners moved for the most room or the least length | one step of that
//! stock_angles        corners moved so that each bend is one of a set
//! prove               rules of making, and gaps over the whole movement
//! flow                what a flow costs along a route
//! remix               other radii at single bends
//! seat                bodies that a port sits on
//! front               the ranked list      find   the whole search
//! ```
//!
//! Millimetres and radians, in the frame in which the tube's carrier is at rest. Nothing is random: the same
//! question has the same answer, whatever the number of threads.

mod ask;
mod bending;
mod chain;
mod error;
mod family;
mod field;
mod find;
mod fit_up;
mod flood;
mod flow;
mod front;
mod lattice;
mod minimax;
mod prove;
mod refine;
mod remix;
mod seat;
mod stock_angles;

pub use ask::{FitUp, Maker, Obstacle, Port, Ride, RouteAsk, RouteTube};
pub use error::RouteError;
pub use find::{Blocker, NearRoute, Route, RouteAnswer, find_routes};
pub use flow::flow_parts;
pub use seat::Seat;
