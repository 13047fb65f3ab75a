//! Sums about a job's hardware that need no solid: whether a tube takes the flow that it is asked to.
//!
//! Figures in, screening figures out, each with how far it may be off and where its formula comes from. Leaves to
//! others: where a tube runs (`tube`), what is asked of it (`scene`), whether it is a finding (`check`).
//!
//! ```text
//! flow/    velocity, Mach number and pressure loss of a tube
//! ```

mod flow;

pub use flow::{
    Flow, FlowError, FlowLimits, FlowLoss, FlowPart, Fluid, USUAL_ROUGHNESS_MM, bend_loss, flow_loss,
    friction_factor, least_bore_mm,
};
