//! Reading scans piece by piece, in memory that does not grow with the file.
//!
//! `source.rs` is the way in; `sink.rs` what takes the points; `blocks.rs` cuts a file into pieces; one
//! file a format: `ply_binary.rs` `ply_text.rs` `text.rs` `obj.rs` `stl_binary.rs` `stl_text.rs`. The head of a
//! PLY, numbers and messages are those of `solid`. Leaves to others: faces.

mod blocks;
mod lines;
mod obj;
mod ply;
mod ply_binary;
mod ply_text;
mod row;
mod sink;
mod source;
mod stl_binary;
mod stl_text;
#[cfg(test)]
mod tests;
mod text;
mod text_columns;

pub use sink::{ExtentOnly, ScanSink};
pub use source::{NotFinite, ScanFormat, ScanOptions, ScanSummary, read_scan, read_scan_bytes};
