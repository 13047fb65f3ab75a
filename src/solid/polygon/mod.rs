//! Flat regions: outlines with holes, in the xy plane.
//!
//! Whether rings are simple, which point of a region's edge is nearest, triangles and convex parts
//! that cover it exactly. Leaves to others: thickness ([`super::Plate`]).

mod convex;
mod flat;
mod simple;
mod triangulate;

pub(super) use convex::convex_parts;
pub(super) use flat::{Flat, Runs, area_and_centroid, signed_area};
pub(super) use simple::check_rings;
pub(super) use triangulate::{face_triangles, region_triangles};
