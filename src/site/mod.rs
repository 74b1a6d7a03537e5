//! The site: what lies on the ground, read, cleaned, checked and moved into the parcel's own metric frame.

pub mod parcel;
pub mod terrain;

pub use parcel::{Frame, Obstacle, ObstacleKind, Parcel, SupplyTest, TurfArea, WaterPoint};
pub use terrain::Terrain;
