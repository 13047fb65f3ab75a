//! Surveys: from tape and probe readings and scans to features with known uncertainty.
//!
//! Text and numbers in, answers out. [`read_survey_csv`] reads the rows and solves the tape
//! network; [`align_three_two_one`] and [`align_best_fit`] bring a survey into vehicle axes;
//! the `fit_...` functions turn readings into planes, lines, circles, spheres, cylinders, cones, tori,
//! slots, bolt patterns and boxes, each with its residuals and covariance; [`scan`] reads, thins and segments scans, and
//! [`align::align_surfaces`] brings one onto another; [`ReadingRoot`] says what bodies of one survey share. Leaves to others: scenes and meshes, and what a
//! fitted feature becomes as a body.
//!
//! ```text
//! csv -> network -> mark          align -> mark, fit, scan          scan -> fit          uncertainty
//! ```

pub mod align;
pub mod csv;
pub mod fit;
mod instrument;
mod levenberg;
mod mark;
pub mod network;
pub mod scan;
mod shared;
#[cfg(test)]
mod test_noise;
pub mod uncertainty;

pub use align::{
    AlignError, Alignment, BestFit, DatumLine, DatumOrigin, DatumPlane, DatumSide, MarkPair, align_best_fit,
    align_three_two_one,
};
pub use csv::{
    BlankReading, ReadingDefaults, SurveyError, SurveyErrors, SurveyFault, blank_sheet, read_survey_bytes,
    read_survey_csv, read_survey_with,
};
pub use fit::{
    BentTubeFit, BoltPatternFit, BoxFit, BoxOptions, CircleFit, ConeFit, CylinderFit, FitError, FitOptions,
    FitPlacement, FitQuality, Fitted, LeftOut, LineFit, PlaneFit, PointFit, Reading, SlotFit, SphereFit, Tip,
    TorusFit, fit_bent_tube, fit_bent_tube_with, fit_bolt_pattern, fit_bolt_pattern_with, fit_box,
    fit_box_with, fit_circle, fit_circle_with, fit_cone, fit_cone_with, fit_cylinder, fit_cylinder_with,
    fit_leaving_out, fit_line, fit_line_with, fit_plane, fit_plane_with, fit_point, fit_point_with, fit_slot,
    fit_slot_with, fit_sphere, fit_sphere_with, fit_torus, fit_torus_with,
};
pub use instrument::Instrument;
pub use mark::{BlankRow, Mark, MarkSource, SurveyTable};
pub use network::{
    How, KnownMark, Loss, NetworkError, NetworkOptions, NetworkReading, NetworkSolution, TapeReading,
    solve_network, solve_readings,
};
pub use shared::{ReadingAgain, ReadingRoot, SharedMoves, Vector7, with_growth};
