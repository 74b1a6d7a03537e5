//! What happens to bad input: a message that says what, where, and what to do.

#[path = "bad_input/cases.rs"]
mod cases;
