//! Tests of the fits, by what they ask.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bent_tube;
mod left_out;
mod more;
mod refused;
mod sample;
mod scatter;
mod torus;
mod truth;
mod values;
