//! Features from readings: orthogonal-distance, weighted least squares.
//!
//! One file a feature, each with its closed form or its residual and Jacobian; `levenberg.rs`
//! minimises, `quality.rs` judges the residuals, `placement.rs` says what a feature's covariance
//! means for a body. All in the frame of the readings, millimetres and radians. Leaves to others:
//! which readings belong together.

mod axis_search;
mod bent_tube;
mod bolt_pattern;
mod circle;
mod cone;
mod cuboid;
mod cuboid_faces;
mod cylinder;
mod error;
mod leave_out;
mod line;
mod options;
mod placement;
mod plane;
mod point;
mod quality;
mod reading;
mod round;
mod slot;
mod sphere;
#[cfg(test)]
mod tests;
mod torus;

pub use bent_tube::{BentTubeFit, fit_bent_tube, fit_bent_tube_with};
pub use bolt_pattern::{BoltPatternFit, fit_bolt_pattern, fit_bolt_pattern_with};
pub use circle::{CircleFit, fit_circle, fit_circle_with};
pub use cone::{ConeFit, fit_cone, fit_cone_with};
pub use cuboid::{BoxFit, BoxOptions, fit_box, fit_box_with};
pub use cylinder::{CylinderFit, fit_cylinder, fit_cylinder_with};
pub use error::FitError;
pub use leave_out::{Fitted, LeftOut, fit_leaving_out};
pub use line::{LineFit, fit_line, fit_line_with};
pub use options::{FitOptions, ProbeSide, Tip};
pub(super) use placement::lever_to;
pub use placement::{FitPlacement, Growth};
pub use plane::{PlaneFit, fit_plane, fit_plane_with};
pub use point::{PointFit, fit_point, fit_point_with};
pub(super) use quality::inverse_normal;
pub use quality::{FitQuality, ReadingResidual, Scaling};
pub use reading::Reading;
pub use slot::{SlotFit, fit_slot, fit_slot_with};
pub use sphere::{SphereFit, fit_sphere, fit_sphere_with};
pub use torus::{TorusFit, fit_torus, fit_torus_with};
