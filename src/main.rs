//! The `swardline` command.

fn main() {}
