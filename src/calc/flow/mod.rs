//! Flow through a tube: how fast, and what pressure it costs.
//!
//! One-dimensional and steady, at one temperature. Screening: good enough to tell a tube that is far too narrow from
//! one that will do, and one route from another; no more.
//!
//! ```text
//! fluid       density, viscosity, speed of sound of what flows
//! friction    friction factor of a wall (Darcy's, four times Fanning's)
//! local       loss coefficients of bends and changes of bore
//! run         a tube's parts in turn; the bore that would do
//! error       why there is no answer
//! ```
//!
//! SI units inside but for lengths, which are millimetres like everywhere; pressures are absolute.

mod error;
mod fluid;
mod friction;
mod local;
mod run;
#[cfg(test)]
mod tests;

pub use error::FlowError;
pub use fluid::Fluid;
pub use friction::friction_factor;
pub use local::bend_loss;
pub use run::{Flow, FlowLimits, FlowLoss, FlowPart, USUAL_ROUGHNESS_MM, flow_loss, least_bore_mm};
