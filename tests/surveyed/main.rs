//! Surveys of existing systems: a design fed back is the same network, and planted faults are found.

// Test code: a panic is a failed test.
#![allow(clippy::unwrap_used, missing_docs)]

// Shared with another test program, which uses more of it.
#[allow(dead_code)]
#[path = "../bad_input/builder.rs"]
mod builder;
#[path = "../random_ground/mod.rs"]
mod random_ground;

mod faults;

mod retrofits;
mod round_trip;
mod soup;
mod survey;
