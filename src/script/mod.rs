//! (Skeleton.)
