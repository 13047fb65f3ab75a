//! Findings told: text for a terminal, JSON for programs.
//!
//! A report states what was found, what was not checked, and the usual cautions. Same findings, same
//! bytes. Leaves to others: finding anything out (`check`), pictures (`view`).

mod bench;
mod breaks;
mod card;
mod cautions;
mod fault;
mod fits;
mod gltf;
mod json;
mod lift;
mod motion;
mod onto;
mod order;
mod reach;
mod routes;
mod scans;
mod sheet;
mod table;
mod text;
mod tight;
mod way;

pub use bench::{BenchPiece, BenchUnit, bench_csv, bench_json, bench_text, said_with_lists};
pub use breaks::{BreakReport, breaks_csv, breaks_json, breaks_text};
pub use card::{CardPictures, card_markdown};
pub use cautions::CAUTIONS;
pub use fault::fault_text;
pub use fits::{fits_json, fits_text};
pub use gltf::{GLTF_GENERATOR, Gltf, GltfError, GltfOptions, GltfPart, glb_generator, gltf_of};
pub use json::{JSON_FORMAT, findings_json};
pub use lift::{LiftReport, lift_csv, lift_json, lift_text};
pub use motion::{BrokenPipe, MotionError, MotionFile, MovedPart, read_motion};
pub use onto::{OntoReport, OntoTarget, onto_json, onto_text};
pub use order::{OrderReport, come_out_json, come_out_text, order_csv, order_json, order_text};
pub use reach::{reach_json, reach_table};
pub use routes::{RouteReport, routes_json, routes_text};
pub use scans::{ScanReport, scan_json, scan_text, scan_yaml};
pub use sheet::{FieldSheet, MEASURING_CAUTIONS, sheet_leaves, sheet_markdown, unit_word};
pub use text::findings_text;
pub use tight::{tight_csv, tight_json, tight_text};
pub use way::{WAY_FORMAT, WayReport, way_csv, way_json, way_text};

use json::json_text;
