//! The gap between two solids.
//!
//! A gap is the signed distance between two solids: how far apart they are, or, negative, how
//! far one must be moved for them to part. Leaves to others: wrap and coating, verdicts
//! (`check`), movements (`motion`).

mod gap;

pub use gap::{Gap, GapUnder, IndexedShape, Witness, gap, gap_under, touches};
