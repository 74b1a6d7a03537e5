//! The whole job, read from top to bottom: from a clean parcel and a brief to a complete design.

pub mod drainage;
pub mod model;
pub mod sizing;
