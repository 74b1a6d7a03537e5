//! Surveys of existing systems: a design fed back is the same network, and planted faults are found.

// Test code: a panic is a failed test.
#![allow(clippy::unwrap_used, missing_docs)]

mod random_ground;

#[path = "surveyed/round_trip.rs"]
mod round_trip;
#[path = "surveyed/survey.rs"]
mod survey;
