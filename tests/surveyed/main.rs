//! Surveys of existing systems: a design fed back is the same network, and planted faults are found.

// Test code: a panic is a failed test.
#![allow(clippy::unwrap_used, missing_docs)]

#[path = "../random_ground/mod.rs"]
mod random_ground;

mod faults;

mod retrofits;
mod round_trip;
mod soup;
mod survey;
