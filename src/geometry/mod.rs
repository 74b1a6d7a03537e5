//! The ground floor: what polygons and grids need beyond the `geo` library. Metres throughout.

pub mod distance;
pub mod mosaic;
pub mod raster;
pub mod ring;
pub mod sector;
pub mod sight;

pub use raster::{Grid, fill};
pub use ring::Ring;
