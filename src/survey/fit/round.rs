//! Shared by round features.
