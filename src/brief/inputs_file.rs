//! Reading of `[inputs]`: which files the ground, the supply and what lies there already are read from.

use crate::brief::fields_file::FieldNames;
use crate::brief::problems::{Problems, suggestion};
use crate::brief::project::{EditsSource, ExistingSources, LayerSource};
use crate::brief::table::TableReader;
use crate::units::{METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT};
use std::path::{Path, PathBuf};
use toml::{Table, Value};

/// The inputs as named and looked for.
pub(crate) struct Inputs {
    pub(crate) parcels: LayerSource,
    pub(crate) turf: LayerSource,
    pub(crate) obstacles: Option<LayerSource>,
    pub(crate) water_points: LayerSource,
    pub(crate) existing: ExistingSources,
    pub(crate) edits: Option<EditsSource>,
    pub(crate) terrain: Vec<(String, PathBuf)>,
    pub(crate) terrain_unit_m: Option<f64>,
}

/// Reads the table; `None` where a needed input is missing.
pub(crate) fn read_inputs(
    table: &Table,
    fields: Option<&Table>,
    folder: &Path,
    problems: &mut Problems,
) -> Option<Inputs> {
    let mut reader = TableReader::new(table, "inputs");
    let mut fields = FieldNames::new(fields);
    let mut layer = |key: &'static str, needed: bool, problems: &mut Problems| {
        let columns = fields.of(key, problems);
        let mut source = layer_source(&mut reader, key, needed, folder, problems)?;
        source.fields = columns;
        Some(source)
    };
    let parcels = layer("parcels", true, problems);
    let turf = layer("turf", true, problems);
    let obstacles = layer("obstacles", false, problems);
    let water_points = layer("water_points", true, problems);
    let existing = ExistingSources {
        heads: layer_sources(&mut reader, &mut fields, "existing_heads", folder, problems),
        pipes: layer_sources(&mut reader, &mut fields, "existing_pipes", folder, problems),
        valves: layer_sources(
            &mut reader,
            &mut fields,
            "existing_valves",
            folder,
            problems,
        ),
    };
    let edits = edits_source(&mut reader, folder, problems);
    let terrain = terrain_files(&mut reader, folder, problems);
    let terrain_unit_m = terrain_unit(&mut reader, problems);
    reader.finish(problems);
    fields.finish(problems);
    Some(Inputs {
        parcels: parcels?,
        turf: turf?,
        obstacles,
        water_points: water_points?,
        existing,
        edits,
        terrain,
        terrain_unit_m,
    })
}

/// A file that must be there; a problem when it is not.
fn existing(place: &str, written: &str, folder: &Path, problems: &mut Problems) -> PathBuf {
    let path = folder.join(written);
    if !path.exists() {
        let message = format!("there is no file `{written}` ({})", path.display());
        problems.tell(place, message);
    }
    path
}

fn layer_source(
    reader: &mut TableReader<'_>,
    key: &'static str,
    needed: bool,
    folder: &Path,
    problems: &mut Problems,
) -> Option<LayerSource> {
    let place = reader.place_of(key);
    match reader.value(key) {
        Some(value) => one_source(value, &place, folder, problems),
        None => {
            if needed {
                problems.tell(place, "is missing and must be given");
            }
            None
        }
    }
}

/// One source, or a list of them.
fn layer_sources(
    reader: &mut TableReader<'_>,
    fields: &mut FieldNames<'_>,
    key: &'static str,
    folder: &Path,
    problems: &mut Problems,
) -> Vec<LayerSource> {
    let columns = fields.of(key, problems);
    let place = reader.place_of(key);
    let values = match reader.value(key) {
        Some(Value::Array(values)) => values.iter().collect(),
        Some(value) => vec![value],
        None => Vec::new(),
    };
    let mut sources = Vec::new();
    for value in values {
        if let Some(mut source) = one_source(value, &place, folder, problems) {
            source.fields.clone_from(&columns);
            sources.push(source);
        }
    }
    sources
}

fn one_source(
    value: &Value,
    place: &str,
    folder: &Path,
    problems: &mut Problems,
) -> Option<LayerSource> {
    let (written, layer) = match value {
        Value::String(file) => (file.clone(), None),
        Value::Table(table) => {
            let mut source = TableReader::new(table, place.to_owned());
            let file = source.needed_text("file", problems);
            let layer = source.text("layer", problems);
            source.finish(problems);
            (file, layer)
        }
        _ => {
            problems.tell(
                place,
                "must be a file name or { file = \"…\", layer = \"…\" }",
            );
            return None;
        }
    };
    let path = existing(place, &written, folder, problems);
    Some(LayerSource {
        written,
        path,
        layer,
        fields: Vec::new(),
    })
}

fn edits_source(
    reader: &mut TableReader<'_>,
    folder: &Path,
    problems: &mut Problems,
) -> Option<EditsSource> {
    let written = reader.text("edits", problems)?;
    let path = existing(&reader.place_of("edits"), &written, folder, problems);
    Some(EditsSource { written, path })
}

fn terrain_files(
    reader: &mut TableReader<'_>,
    folder: &Path,
    problems: &mut Problems,
) -> Vec<(String, PathBuf)> {
    let place = reader.place_of("terrain");
    let files: Vec<String> = match reader.value("terrain") {
        Some(Value::String(file)) => vec![file.clone()],
        Some(Value::Array(files)) if !files.is_empty() && files.iter().all(Value::is_str) => {
            let names = files.iter().filter_map(Value::as_str);
            names.map(str::to_owned).collect()
        }
        Some(_) => {
            problems.tell(place, "must be a file name or a list of file names (tiles)");
            return Vec::new();
        }
        None => {
            problems.tell(place, "is missing and must be given");
            return Vec::new();
        }
    };
    let mut resolved = Vec::new();
    for written in files {
        let path = existing(&place, &written, folder, problems);
        resolved.push((written, path));
    }
    resolved
}

/// Names of units of height and their length in metres.
const UNITS: [(&str, f64); 4] = [
    ("metre", 1.0),
    ("foot", METRES_PER_FOOT),
    ("us-survey-foot", METRES_PER_US_SURVEY_FOOT),
    ("centimetre", 0.01),
];

fn terrain_unit(reader: &mut TableReader<'_>, problems: &mut Problems) -> Option<f64> {
    let word = reader.text("terrain_unit", problems)?;
    let found = UNITS.iter().find(|unit| unit.0 == word);
    if found.is_none() {
        let names = UNITS.map(|unit| unit.0);
        let message = format!(
            "`{word}` is no unit of height; {}",
            suggestion(&word, &names)
        );
        problems.tell(reader.place_of("terrain_unit"), message);
    }
    found.map(|unit| unit.1)
}
