//! swardline designs buried pop-up sprinkler irrigation for large properties: polygons and a terrain raster in, layers out.
//!
//! Five wings, one way: [`brief`] and [`site`] feed [`design`], which feeds [`deliver`]; [`batch`] runs many parcels, [`cli`] talks.

pub mod batch;
pub mod brief;
pub mod cli;
pub mod deliver;
pub mod design;
pub mod finding;
pub mod geometry;
pub mod mark;
pub mod site;
pub mod units;
