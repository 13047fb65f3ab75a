//! All integration tests as one program: linking the library forty times over took longer than testing it.
//!
//! Each file is a module and mirrors a room of `src`; `cargo test --test all scene_bad` runs one.

#![allow(clippy::panic, clippy::unwrap_used, clippy::expect_used)] // a test says what went wrong by panicking

mod access_bodies;
mod access_corridor;
mod access_gaps;
mod access_openings;
mod assembly_heavy;
mod assembly_order;
mod check_again;
mod check_flow;
mod check_hoses;
mod check_readings;
mod check_room;
mod check_service;
mod check_service_kinds;
mod check_service_known;
mod check_tubes;
mod clearance_follow;
mod clearance_junk;
mod clearance_laws;
mod clearance_rays;
mod clearance_tight;
mod clearance_values;
mod cli;
mod common;
mod house;
mod motion_proofs;
mod order_command;
mod outside;
mod report_gltf;
mod report_motion;
mod route_bays;
mod route_demo;
mod route_find;
mod scene_archive;
mod scene_bad;
mod scene_docs;
mod scene_document;
mod scene_fits;
mod scene_mutated;
mod scene_resolve;
mod scene_starter;
mod script_bad;
mod script_guide;
mod script_house;
mod script_limits;
mod script_runs;
mod script_scene;
mod script_support;
mod solid_files;
mod solid_laws;
mod solid_refused;
mod solid_shapes;
mod space_quantities;
mod survey_blind;
mod survey_corpus;
mod survey_coverage;
mod survey_jig;
mod survey_laws;
mod survey_onto;
mod survey_scans;
mod survey_sheet;
mod view_film;
mod view_picture;
#[cfg(feature = "viewer")]
mod view_scene;
mod way_in_command;
mod way_in_motions;
