//! Scans: from millions of measured points to a thinned cloud, features and what is left.
//!
//! [`read_scan`] reads a file piece by piece into a [`ScanSink`]: a [`PointCloud`] keeps every point, a
//! [`VoxelGrid`] one a cell, in memory that does not grow with the file. Then [`without_outliers`],
//! [`estimate_normals`], [`crop`] and [`segment`]. The same points give the same answer to the last bit
//! whatever the number of threads. Leaves to others: which scan belongs where (`align`), bodies, and files
//! written.
//!
//! ```text
//! read/ -> voxel.rs -> outliers.rs -> normals.rs, orient.rs -> segment/
//!                      tree/ finds neighbours     crop.rs   units.rs
//! ```

mod cell_table;
mod cloud;
mod crop;
mod error;
mod least_spread;
mod normals;
mod orient;
mod outliers;
mod read;
mod segment;
#[cfg(test)]
pub(super) mod test_bay;
#[cfg(test)]
mod tests;
mod tree;
mod units;
mod voxel;

pub use cloud::PointCloud;
pub use crop::{Crop, crop};
pub use error::ScanError;
pub use normals::{NormalOptions, Normals, estimate_normals};
pub use orient::{face_neighbours, face_viewpoint};
pub use outliers::{OutlierRule, without_outliers};
pub use read::{
    ExtentOnly, NotFinite, ScanFormat, ScanOptions, ScanSink, ScanSummary, read_scan, read_scan_bytes,
};
pub use segment::{FeatureKinds, FeatureShape, ScanFeature, SegmentOptions, Segmented, segment};
pub use tree::{Neighbour, PointTree};
pub use units::{UnitGuess, guess_units};
pub use voxel::VoxelGrid;
