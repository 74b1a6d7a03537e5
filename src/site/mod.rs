//! The site: what lies on the ground, read, cleaned, checked and moved into the parcel's own metric frame.

mod among_roots;
mod assignment;
mod block;
mod cleaning;
mod cover;
mod crossing;
pub mod edits;
mod error;
pub mod existing;
mod feature;
mod fitting;
mod gaps;
pub mod ground;
mod led_out;
pub mod noise;
mod obstacles;
pub mod parcel;
mod preparation;
pub mod projector;
mod quiet;
mod raster;
mod reading;
mod relief;
mod rings;
mod sampling;
mod shapes;
pub mod terrain;
mod turf;
mod water;
mod window;

pub use edits::Edits;
pub use error::SiteError;
pub use existing::Existing;
pub use ground::{Ground, InputHash, open};
pub use parcel::{
    Frame, Obstacle, ObstacleKind, Parcel, ServicePipe, SupplyTest, TurfArea, WaterPoint,
};
pub use projector::{ProjectionError, Projector};
pub use terrain::Terrain;
