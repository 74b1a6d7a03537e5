//! Checks against things from outside: published tables, worked examples, independent solvers.

#![allow(clippy::unwrap_used, reason = "a panic is how a test tells")]

mod reference {
    mod covering;
    mod drains;
    mod friction;
    mod laterals;
    mod looped;
    mod networks;
    mod public_solver;
    mod python;
    mod sizing;
    mod station_files;
    mod steiner;
    mod supply;
    mod told;
    mod water_balance;
}
