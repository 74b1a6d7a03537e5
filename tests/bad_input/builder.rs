//! A tiny project that a test can spoil: a parcel of 40 by 30 m, one lawn, one tap, a sloping raster.

use gdal::raster::Buffer;
use gdal::spatial_ref::SpatialRef;
use gdal::{DriverManager, GeoTransform};
use serde_json::{Value, json};
use std::path::Path;
use swardline::brief::{BriefError, Project};
use swardline::finding::Finding;
use swardline::site::{self, Ground, Parcel, SiteError};
use tempfile::TempDir;

/// South-west corner of the parcel in UTM zone 33N, m.
const EAST: f64 = 390_000.0;
const NORTH: f64 = 5_820_000.0;

/// What lies in the files; change it, then open it.
pub struct Bench {
    pub parcels: Vec<Value>,
    pub turf: Vec<Value>,
    pub obstacles: Vec<Value>,
    pub water_points: Vec<Value>,
    /// Heads, pipes and valves of an existing system; a layer that is `None` is not named in the project.
    pub existing: [Option<Vec<Value>>; 3],
    /// The reference system that the layers name; `None` names none, which means degrees.
    pub crs: Option<&'static str>,
    /// Lines after `[inputs]`.
    pub more: String,
    pub raster: Raster,
}

/// A raster of one-metre cells, heights `z0_m + slope · column`.
pub struct Raster {
    /// Cells west of the parcel's corner that it begins at.
    pub before: i32,
    /// Cells from the parcel's corner up to its south edge.
    pub south: i32,
    /// Height of the first column, m.
    pub z0_m: f64,
    pub columns: usize,
    pub rows: usize,
    pub slope: f64,
    /// Columns and rows from the north-west without data, half open.
    pub hole: Option<[usize; 4]>,
    /// Whether the file declares what stands for no data.
    pub declared: bool,
}

/// A rectangle in metres from the parcel's south-west corner.
pub fn rectangle(id: &str, west: f64, south: f64, east: f64, north: f64) -> Value {
    polygon(
        id,
        &[
            (west, south),
            (east, south),
            (east, north),
            (west, north),
            (west, south),
        ],
    )
}

/// A polygon by its one ring.
pub fn polygon(id: &str, ring: &[(f64, f64)]) -> Value {
    let ring: Vec<Value> = ring
        .iter()
        .map(|(x, y)| json!([EAST + x, NORTH + y]))
        .collect();
    feature(
        json!({ "id": id }),
        json!({ "type": "Polygon", "coordinates": [ring] }),
    )
}

/// A tap with a sound flow test.
pub fn tap(id: &str, x: f64, y: f64) -> Value {
    let strength = json!({ "id": id, "static_kpa": 500, "residual_kpa": 400, "residual_lpm": 80 });
    feature(
        strength,
        json!({ "type": "Point", "coordinates": [EAST + x, NORTH + y] }),
    )
}

/// A point with an id.
pub fn point(id: &str, x: f64, y: f64) -> Value {
    feature(
        json!({ "id": id }),
        json!({ "type": "Point", "coordinates": [EAST + x, NORTH + y] }),
    )
}

/// A line with an id.
pub fn line(id: &str, points: &[(f64, f64)]) -> Value {
    let points = points.iter().map(|(x, y)| json!([EAST + x, NORTH + y]));
    let points: Vec<Value> = points.collect();
    feature(
        json!({ "id": id }),
        json!({ "type": "LineString", "coordinates": points }),
    )
}

/// The same line with a height at each of its points.
pub fn at_heights(mut line: Value, heights: &[f64]) -> Value {
    let points = line["geometry"]["coordinates"].as_array_mut();
    for (point, height) in points.expect("a line").iter_mut().zip(heights) {
        point.as_array_mut().expect("a point").push(json!(height));
    }
    line
}

fn feature(properties: Value, geometry: Value) -> Value {
    json!({ "type": "Feature", "properties": properties, "geometry": geometry })
}

/// The same feature with one more property.
pub fn with(mut feature: Value, name: &str, value: impl Into<Value>) -> Value {
    feature["properties"][name] = value.into();
    feature
}

impl Default for Bench {
    fn default() -> Self {
        Self {
            parcels: vec![rectangle("p1", 0.0, 0.0, 40.0, 30.0)],
            turf: vec![rectangle("t1", 2.0, 2.0, 38.0, 28.0)],
            obstacles: Vec::new(),
            water_points: vec![tap("w1", 1.0, 1.0)],
            existing: [None, None, None],
            crs: Some("urn:ogc:def:crs:EPSG::32633"),
            more: String::new(),
            raster: Raster {
                before: 40,
                south: -40,
                z0_m: 100.0,
                columns: 120,
                rows: 110,
                slope: 0.02,
                hole: None,
                declared: true,
            },
        }
    }
}

impl Bench {
    /// Writes the files into a fresh folder.
    pub fn write(&self) -> TempDir {
        let folder = TempDir::new().expect("a folder for the test");
        let names = ["existing_heads", "existing_pipes", "existing_valves"];
        let existing = names.into_iter().zip(&self.existing);
        let existing = existing.filter_map(|(name, layer)| Some((name, layer.as_ref()?)));
        let existing: Vec<(&str, &Vec<Value>)> = existing.collect();
        let layers = [
            ("parcels", &self.parcels),
            ("turf", &self.turf),
            ("obstacles", &self.obstacles),
            ("water_points", &self.water_points),
        ];
        for (name, features) in layers.into_iter().chain(existing.iter().copied()) {
            let mut collection = json!({ "type": "FeatureCollection", "features": features });
            if let Some(crs) = self.crs {
                collection["crs"] = json!({ "type": "name", "properties": { "name": crs } });
            }
            let path = folder.path().join(format!("{name}.geojson"));
            std::fs::write(path, collection.to_string()).expect("a layer is written");
        }
        self.raster.write(&folder.path().join("terrain.tif"));
        let named = existing.iter();
        let named: String = named
            .map(|(name, _)| format!("{name} = '{name}.geojson'\n"))
            .collect();
        let text = format!(
            "name = 'bench'\n[inputs]\nparcels = 'parcels.geojson'\nturf = 'turf.geojson'\n\
             obstacles = 'obstacles.geojson'\nwater_points = 'water_points.geojson'\n\
             terrain = 'terrain.tif'\n{}{}",
            named, self.more
        );
        std::fs::write(folder.path().join("project.toml"), text).expect("a project is written");
        folder
    }

    /// The project, which is expected to be sound.
    pub fn project(&self) -> (TempDir, Project) {
        let folder = self.write();
        let project = read(&folder).expect("the project file is sound");
        (folder, project)
    }

    /// The site, which is expected to open.
    pub fn open(&self) -> Ground {
        let (_folder, project) = self.project();
        site::open(&project).expect("the files are sound")
    }

    /// Why the site does not open.
    pub fn refusal(&self) -> SiteError {
        let (_folder, project) = self.project();
        site::open(&project).expect_err("the files should be refused")
    }

    /// The parcel `p1` as prepared.
    pub fn parcel(&self) -> Result<Parcel, Vec<Finding>> {
        let (_folder, project) = self.project();
        site::open(&project)
            .expect("the files are sound")
            .parcel("p1")
    }
}

/// Reads the project of a written bench.
pub fn read(folder: &TempDir) -> Result<Project, BriefError> {
    Project::read(&folder.path().join("project.toml"))
}

impl Raster {
    /// Writes it as a GeoTIFF in UTM zone 33N.
    pub fn write(&self, path: &Path) {
        let driver = DriverManager::get_driver_by_name("GTiff").expect("GDAL writes GeoTIFF");
        let mut dataset = driver
            .create_with_band_type::<f32, _>(path, self.columns, self.rows, 1)
            .expect("a raster is made");
        let west = EAST - f64::from(self.before);
        let top = NORTH + f64::from(self.south) + self.rows as f64;
        let place: GeoTransform = [west, 1.0, 0.0, top, 0.0, -1.0];
        dataset
            .set_geo_transform(&place)
            .expect("the raster is placed");
        let system = SpatialRef::from_epsg(32633).expect("UTM 33N is known");
        dataset
            .set_spatial_ref(&system)
            .expect("the raster names its system");
        let mut band = dataset.rasterband(1).expect("the raster has a band");
        if self.declared {
            band.set_no_data_value(Some(-9999.0))
                .expect("no data is set");
        }
        let heights =
            (0..self.rows).flat_map(|row| (0..self.columns).map(move |column| (column, row)));
        let heights = heights.map(|at| self.height(at)).collect();
        let mut buffer = Buffer::new((self.columns, self.rows), heights);
        band.write((0, 0), (self.columns, self.rows), &mut buffer)
            .expect("heights are written");
        dataset.flush_cache().expect("the raster is flushed");
    }

    fn height(&self, (column, row): (usize, usize)) -> f32 {
        let in_hole = self.hole.is_some_and(|[west, top, east, bottom]| {
            (west..east).contains(&column) && (top..bottom).contains(&row)
        });
        if in_hole {
            -9999.0
        } else {
            (self.z0_m + self.slope * column as f64) as f32
        }
    }
}

/// The findings of one code; the test fails when there is none.
pub fn messages(findings: &[Finding], code: &str) -> Vec<String> {
    let found: Vec<String> = findings
        .iter()
        .filter(|finding| finding.code == code)
        .map(|finding| {
            let file = finding.file.as_deref().unwrap_or("-");
            let feature = finding.feature.as_deref().unwrap_or("-");
            format!(
                "{}: {file}: {feature}: {}",
                finding.severity.word(),
                finding.message
            )
        })
        .collect();
    assert!(!found.is_empty(), "no `{code}` among {findings:?}");
    found
}
