//! Tubes: centrelines, sections, what can be made, and what the bench needs to make it.
//!
//! A tube's line may be told as corners with radii ([`CornerLine`]), as a bend list ([`BendList`]), as
//! a shop talks ([`SpokenTube`]) or by points measured along a pipe ([`fit_measured`]); each turns into
//! the others. Leaves to others: where a tube stands in a vehicle, documents, finding routes.
//!
//! ```text
//! corner_line <-> bend_list <-> spoken (spoken_text)     measured/ -> corner_line
//! section  assembly    sections, and pieces end to end
//! crossing             a tube that runs into itself, ends that look away
//! making/              benders, stock bends, pie cuts; findings of what cannot be made
//! split               places where a tube may be split, and the pieces
//! joint/  growth  material    what joints are and take up, what heat does
//! bench/               cut length, bend table, marks, weight, jig
//! template/            saddles, mitres, holes on paper: SVG, PDF
//! error                why a tube cannot be
//! ```
//!
//! Lengths in millimetres, angles in radians. A bend's normal is incoming direction x outgoing direction;
//! a rotation is the turn from one normal to the next, right-handed about the direction of feed.

mod assembly;
mod bench;
mod bend_list;
mod corner_line;
mod crossing;
mod error;
mod growth;
mod joint;
mod making;
mod material;
mod measured;
mod nearest;
mod section;
mod split;
mod spoken;
mod spoken_text;
mod template;
#[cfg(test)]
mod tests;

pub use assembly::{PieceForm, Stock, TubeAssembly, TubePiece};
pub use bench::{BenchOptions, BenchRow, BenchSheet, JigPoint, JigUse, bench_sheet, jig_points};
pub use bend_list::{BendList, ListedBend};
pub use corner_line::CornerLine;
pub use error::{LegPlace, TubeError};
pub use growth::{Growth, HotStretch, even_growth, growth};
pub use joint::{Absorbs, Demand, JointKind, JointShortfall, JointSize, demand, demand_over, joint_size};
pub use making::{
    Bender, Die, Making, MakingFinding, MakingRule, PieCuts, Remedy, Springback, StockBend, StockChoice,
    StockPlan, Weight, check_making, outer_strain, outer_wall_mm, plan_from_stock, radius_for_thinning_mm,
    with_radius,
};
pub use material::{TUBE_MATERIALS, TubeMaterial};
pub use measured::{MeasuredOptions, MeasuredTube, fit_measured};
pub use section::{Section, loft_volume_mm3};
pub use split::{SplitNeeds, SplitPlace, TooShort};
pub use spoken::{SpokenTube, Step, Toward};
pub use template::{
    CHECK_SQUARE_MM, Label, Leaf, Mitre, Paper, Saddle, SaddleError, Template, leaf_size_mm, leaves_pdf,
    leaves_svg, template_pdf, template_svg,
};
