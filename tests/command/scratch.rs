//! A folder to run the program in, with a small ground: two lawns that can be designed and one parcel without water.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The program under test.
pub const PROGRAM: &str = env!("CARGO_BIN_EXE_swardline");

/// Corner of the ground, degrees; a place in open country.
const LON: f64 = 12.1;
const LAT: f64 = 49.2;

/// Runs the program where it does not matter.
pub fn swardline(arguments: &[&str]) -> Output {
    Command::new(PROGRAM).args(arguments).output().unwrap()
}

/// What a stream held.
pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// A folder that goes away with the test.
pub struct Scratch {
    folder: tempfile::TempDir,
}

impl Scratch {
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    /// With a project of three parcels: `square` (24 m by 24 m), `strip` (30 m by 6 m), `dry-land` (no water point).
    pub fn with_ground() -> Self {
        let scratch = Self::new();
        let parcels = [
            ("square", 0.0, 24.0, 24.0),
            ("strip", 60.0, 30.0, 6.0),
            ("dry-land", 120.0, 10.0, 10.0),
        ];
        // Turf lies one metre inside its parcel.
        let drawn = |inset: f64| {
            let part = |(id, x, width, height)| {
                rectangle(
                    id,
                    [x + inset, inset],
                    [width - 2.0 * inset, height - 2.0 * inset],
                )
            };
            collection(parcels.map(part))
        };
        scratch.write("parcels.geojson", &drawn(0.0));
        scratch.write("turf.geojson", &drawn(1.0));
        let supply = r#","static_kpa":450,"residual_kpa":350,"residual_lpm":90"#;
        let water = [("w1", 1.5), ("w2", 61.5)].map(|(id, x)| point(id, x, 1.5, supply));
        scratch.write("water.geojson", &collection(water));
        scratch.write("terrain.asc", &slope());
        scratch.write("terrain.prj", WGS84);
        scratch.write("project.toml", PROJECT);
        scratch
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn write(&self, name: &str, contents: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, contents).unwrap();
    }

    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap()
    }

    /// Runs the program in the folder.
    pub fn run(&self, arguments: &[&str]) -> Output {
        let mut command = Command::new(PROGRAM);
        command.args(arguments).current_dir(self.folder.path());
        command.env_remove("SLURM_CPUS_PER_TASK").output().unwrap()
    }

    /// Every file below a folder with its contents, by name.
    pub fn files(&self, folder: &str) -> Vec<(PathBuf, Vec<u8>)> {
        let mut found = Vec::new();
        gather(&self.path(folder), &self.path(folder), &mut found);
        found.sort();
        found
    }
}

fn gather(top: &Path, folder: &Path, found: &mut Vec<(PathBuf, Vec<u8>)>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            gather(top, &path, found);
        } else {
            let name = path.strip_prefix(top).unwrap().to_path_buf();
            found.push((name, fs::read(&path).unwrap()));
        }
    }
}

const PROJECT: &str = r#"name = "A small invented ground"
[inputs]
parcels = "parcels.geojson"
turf = "turf.geojson"
water_points = "water.geojson"
terrain = "terrain.asc"
terrain_unit = "metre"
"#;

const WGS84: &str = r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4326"]]"#;

/// Degrees from metres east and north of the corner; about, which is near enough for a test's ground.
fn degrees(x_m: f64, y_m: f64) -> (f64, f64) {
    let metres = 111_200.0;
    (
        LON + x_m / (metres * LAT.to_radians().cos()),
        LAT + y_m / metres,
    )
}

fn rectangle(id: &str, [x, y]: [f64; 2], [width, height]: [f64; 2]) -> String {
    let (east, north) = (x + width, y + height);
    let corners = [(x, y), (east, y), (east, north), (x, north), (x, y)];
    let ring = corners.map(|(x, y)| {
        let (lon, lat) = degrees(x, y);
        format!("[{lon:.9},{lat:.9}]")
    });
    feature(id, "", "Polygon", &format!("[[{}]]", ring.join(",")))
}

fn point(id: &str, x: f64, y: f64, properties: &str) -> String {
    let (lon, lat) = degrees(x, y);
    feature(id, properties, "Point", &format!("[{lon:.9},{lat:.9}]"))
}

fn feature(id: &str, properties: &str, kind: &str, coordinates: &str) -> String {
    format!(
        r#"{{"type":"Feature","properties":{{"id":"{id}"{properties}}},"geometry":{{"type":"{kind}","coordinates":{coordinates}}}}}"#
    )
}

fn collection<const N: usize>(features: [String; N]) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{}]}}"#,
        features.join(",")
    )
}

/// A plane that rises 2 in 100 to the north, in cells of about 1.5 m, as a text raster.
fn slope() -> String {
    let (columns, rows) = (180, 80);
    let cell = 0.000_015;
    let (west, south) = (LON - 20.0 * cell, LAT - 20.0 * cell);
    let mut text = format!(
        "ncols {columns}\nnrows {rows}\nxllcorner {west:.9}\nyllcorner {south:.9}\ncellsize {cell}\nNODATA_value -9999\n"
    );
    for row in 0..rows {
        let north_m = f64::from(rows - row) * cell * 111_200.0;
        let line = format!("{:.3} ", 400.0 + 0.02 * north_m).repeat(columns as usize);
        let _ = writeln!(text, "{line}");
    }
    text
}
