//! Hand, tool, spout and sight. (Skeleton.)
