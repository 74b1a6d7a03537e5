//! One terrain raster: what it says of itself, and its heights in metres.

use crate::finding::Finding;
use crate::site::quiet::{hush_gdal, reason};
use crate::site::reading::wgs84;
use crate::units::{METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT};
use gdal::raster::ResampleAlg;
use gdal::spatial_ref::{AxisMappingStrategy, CoordTransform, SpatialRef};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags, GeoTransform, GeoTransformEx};
use std::path::{Path, PathBuf};

/// No land lies lower than 500 m below the sea; numbers like -9999 or 3.4e38 are no-data that the file does not declare.
/// The upper end leaves room for heights in centimetres, which are doubted by their slope.
const ON_EARTH_M: std::ops::RangeInclusive<f64> = -500.0..=1e6;

/// What a raster says of itself.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tile {
    pub(crate) written: String,
    path: PathBuf,
    pub(crate) columns: usize,
    pub(crate) rows: usize,
    /// Metres in its unit of height.
    unit_m: f64,
}

/// Looks at a raster without reading its heights. Findings that leave it usable are pushed.
pub(crate) fn examine(
    written: &str,
    path: &Path,
    project_unit_m: Option<f64>,
    findings: &mut Vec<Finding>,
) -> Result<Tile, Finding> {
    let unusable = |code, message: String| Finding::error(code, message).in_file(written);
    let dataset = open(written, path)?;
    let band = dataset.rasterband(1).map_err(|error| {
        let message = format!("has no band of heights: {}", reason(&error));
        unusable("file_unreadable", message)
    })?;
    if dataset.geo_transform().is_err() {
        let message = "does not say where its cells lie (no georeference)".to_owned();
        return Err(unusable("raster_not_placed", message));
    }
    let system = dataset.spatial_ref().map_err(|_| {
        let message = "does not say its coordinate reference system; write it into the raster";
        unusable("crs_unknown", message.to_owned())
    })?;
    let said = said_unit(&band.unit(), &system)
        .map_err(|message| unusable("terrain_unit_unknown", message))?;
    let unit_m = settle_unit(written, said, project_unit_m, findings);
    let (columns, rows) = dataset.raster_size();
    Ok(Tile {
        written: written.to_owned(),
        path: path.to_owned(),
        columns,
        rows,
        unit_m,
    })
}

fn open(written: &str, path: &Path) -> Result<Dataset, Finding> {
    hush_gdal();
    let unusable = |code, message: String| Finding::error(code, message).in_file(written);
    if !path.exists() {
        let message = format!("there is no file {}", path.display());
        return Err(unusable("file_missing", message));
    }
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_RASTER | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        ..Default::default()
    };
    Dataset::open_ex(path, options).map_err(|error| {
        let message = format!("cannot be read as a raster: {}", reason(&error));
        unusable("file_unreadable", message)
    })
}

/// Metres in a unit by the names that rasters use for it.
fn unit_by_name(name: &str) -> Option<f64> {
    let plain: String = name
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    match plain
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .as_str()
    {
        "m" | "metre" | "metres" | "meter" | "meters" => Some(1.0),
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Some(0.01),
        "ft" | "foot" | "feet" | "international foot" | "foot international"
        | "international feet" => Some(METRES_PER_FOOT),
        "us survey foot" | "us survey feet" | "us ft" | "ftus" | "ft us" | "foot us"
        | "survey foot" | "us foot" | "us feet" | "usft" => Some(METRES_PER_US_SURVEY_FOOT),
        _ => None,
    }
}

/// The unit that band or vertical reference system say; `None` when they say nothing.
fn said_unit(band: &str, system: &SpatialRef) -> Result<Option<f64>, String> {
    if !band.trim().is_empty() {
        let found = unit_by_name(band);
        return found.map(Some).ok_or_else(|| {
            format!("its unit of height is `{band}`, which is not known; write metre, foot, US survey foot or centimetre into the band")
        });
    }
    let factor = system.get_attr_value("VERT_CS|UNIT", 1).ok().flatten();
    Ok(factor.and_then(|factor| factor.parse().ok()))
}

fn settle_unit(
    written: &str,
    said: Option<f64>,
    project: Option<f64>,
    findings: &mut Vec<Finding>,
) -> f64 {
    match (said, project) {
        (Some(said_m), Some(project_m)) => {
            if (said_m / project_m - 1.0).abs() > 1e-9 {
                let message = format!(
                    "the raster says that its unit of height is {said_m} m, terrain_unit says {project_m} m; the raster was believed. Take terrain_unit out, or correct the raster."
                );
                findings.push(Finding::warning("terrain_unit_conflict", message).in_file(written));
            }
            said_m
        }
        (Some(said_m), None) => said_m,
        (None, Some(project_m)) => project_m,
        (None, None) => {
            let message = "the raster does not say its unit of height; metres were assumed. Say it with terrain_unit under [inputs].";
            findings.push(Finding::note("terrain_unit_assumed", message).in_file(written));
            1.0
        }
    }
}

/// A raster opened for reading, for one thread.
pub(crate) struct TileReader<'t> {
    pub(crate) tile: &'t Tile,
    dataset: Dataset,
    to_cells: GeoTransform,
    from_cells: GeoTransform,
    from_wgs84: CoordTransform,
    to_wgs84: CoordTransform,
}

impl<'t> TileReader<'t> {
    pub(crate) fn open(tile: &'t Tile) -> Result<Self, Finding> {
        let dataset = open(&tile.written, &tile.path)?;
        Self::prepare(tile, dataset).map_err(|error| {
            let message = format!("cannot be placed on the ground: {}", reason(&error));
            Finding::error("raster_not_placed", message).in_file(&tile.written)
        })
    }

    fn prepare(tile: &'t Tile, dataset: Dataset) -> gdal::errors::Result<Self> {
        let from_cells = dataset.geo_transform()?;
        let to_cells = from_cells.invert()?;
        let mut system = dataset.spatial_ref()?;
        system.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        let wgs84 = wgs84()?;
        Ok(Self {
            tile,
            from_wgs84: CoordTransform::new(&wgs84, &system)?,
            to_wgs84: CoordTransform::new(&system, &wgs84)?,
            to_cells,
            from_cells,
            dataset,
        })
    }

    /// Column and row (whole at cell centres) of longitudes and latitudes; not finite where the raster's system ends.
    pub(crate) fn cells_at(&self, places: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let mut x: Vec<f64> = places.iter().map(|place| place.0).collect();
        let mut y: Vec<f64> = places.iter().map(|place| place.1).collect();
        // A place outside the system comes back infinite, which says the same as the error.
        let _ = self.from_wgs84.transform_coords(&mut x, &mut y, &mut []);
        let cell = |(x, y)| {
            let (column, row) = self.to_cells.apply(x, y);
            (column - 0.5, row - 0.5)
        };
        x.into_iter().zip(y).map(cell).collect()
    }

    /// Longitudes and latitudes of columns and rows.
    pub(crate) fn places_at(&self, cells: &[(f64, f64)]) -> Vec<(f64, f64)> {
        let on_ground = cells
            .iter()
            .map(|(column, row)| self.from_cells.apply(column + 0.5, row + 0.5));
        let (mut x, mut y): (Vec<f64>, Vec<f64>) = on_ground.unzip();
        let _ = self.to_wgs84.transform_coords(&mut x, &mut y, &mut []);
        x.into_iter().zip(y).collect()
    }

    /// How far, in cells, a cell coordinate lies outside the raster; 0 inside.
    pub(crate) fn outside_cells(&self, (column, row): (f64, f64)) -> f64 {
        let beyond = |at: f64, count: usize| (-0.5 - at).max(at - (count as f64 - 0.5)).max(0.0);
        let outside = beyond(column, self.tile.columns).hypot(beyond(row, self.tile.rows));
        if outside.is_nan() {
            f64::INFINITY
        } else {
            outside
        }
    }

    /// Heights in metres of a block of the raster, read `shape` cells wide and high; NaN where there is no data.
    pub(crate) fn read(
        &self,
        from: (usize, usize),
        size: (usize, usize),
        shape: (usize, usize),
    ) -> Result<Vec<f32>, Finding> {
        self.read_block(from, size, shape).map_err(|error| {
            let message = format!("its heights cannot be read: {}", reason(&error));
            Finding::error("file_unreadable", message).in_file(&self.tile.written)
        })
    }

    fn read_block(
        &self,
        from: (usize, usize),
        size: (usize, usize),
        shape: (usize, usize),
    ) -> gdal::errors::Result<Vec<f32>> {
        let band = self.dataset.rasterband(1)?;
        let corner = (from.0 as isize, from.1 as isize);
        let thinned = (shape != size).then_some(ResampleAlg::Average);
        let block = band.read_as::<f32>(corner, size, shape, thinned)?;
        let no_data = band.no_data_value();
        let (scale, offset) = (band.scale().unwrap_or(1.0), band.offset().unwrap_or(0.0));
        let height = |stored: f32| {
            let missing = no_data.is_some_and(|none| same_number(stored, none));
            let height_m = (f64::from(stored) * scale + offset) * self.tile.unit_m;
            if missing || !ON_EARTH_M.contains(&height_m) {
                f32::NAN
            } else {
                height_m as f32
            }
        };
        let mut heights: Vec<f32> = block.data().iter().map(|stored| height(*stored)).collect();
        if band.mask_flags()?.is_per_dataset() {
            let mask = band
                .open_mask_band()?
                .read_as::<u8>(corner, size, shape, None)?;
            for (height, valid) in heights.iter_mut().zip(mask.data()) {
                if *valid == 0 {
                    *height = f32::NAN;
                }
            }
        }
        Ok(heights)
    }
}

/// Whether a stored cell is the no-data value, which files often write with another precision.
fn same_number(stored: f32, no_data: f64) -> bool {
    stored == no_data as f32 || (f64::from(stored) - no_data).abs() <= 1e-6 * no_data.abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_known_by_their_usual_names() {
        assert_eq!(unit_by_name("Metre"), Some(1.0));
        assert_eq!(unit_by_name("US survey foot"), Some(1200.0 / 3937.0));
        assert_eq!(unit_by_name("us-ft"), Some(1200.0 / 3937.0));
        assert_eq!(unit_by_name("ft"), Some(0.3048));
        assert_eq!(unit_by_name("fathom"), None);
    }

    #[test]
    fn the_raster_is_believed_before_the_project_and_metres_are_told() {
        let mut findings = Vec::new();
        assert_eq!(
            settle_unit("z.tif", Some(0.3048), Some(1.0), &mut findings),
            0.3048
        );
        assert_eq!(settle_unit("z.tif", None, Some(0.01), &mut findings), 0.01);
        assert_eq!(settle_unit("z.tif", None, None, &mut findings), 1.0);
        let codes: Vec<_> = findings.iter().map(|finding| finding.code).collect();
        assert_eq!(codes, ["terrain_unit_conflict", "terrain_unit_assumed"]);
    }
}
