//! The ground floor: what polygons and grids need beyond the `geo` library. Metres throughout.

pub mod cut;
pub mod distance;
#[cfg(test)]
mod masks;
pub mod mosaic;
pub mod raster;
pub mod ring;
pub mod sector;
pub mod sight;
pub mod sums;
pub mod width;

pub use raster::{Grid, fill};
pub use ring::Ring;
pub use sums::SquareSums;
pub use width::WidthMap;
