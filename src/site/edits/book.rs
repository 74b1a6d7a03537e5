//! Where the layers of an edited design stand: the folder of a run, one file of layers, or a folder of such files.

use crate::brief::project::{EditsSource, LayerSource};
use crate::finding::Finding;
use crate::site::feature::Layer;
use crate::site::quiet::{hush_gdal, reason};
use crate::site::reading::read_layer;
use gdal::vector::LayerAccess;
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Layers that are looked at.
pub(crate) const LAYERS: [&str; 9] = [
    "parcel",
    "heads",
    "valves",
    "drains",
    "mains",
    "laterals",
    "nodes",
    "trenches",
    "attention",
];

/// Properties that are read, of whatever layer.
const WANTED: &[&str] = &[
    "id",
    "parcel",
    "pinned",
    "mark",
    "model",
    "nozzle",
    "arc_start_deg",
    "arc_sweep_deg",
    "radius_m",
    "one_row",
    "kind",
    "station",
    "section",
    "size",
    "material",
    "nominal",
    "head",
    "code",
    "feature",
    "design_mark",
];

/// Layers by name.
pub(crate) type Layers = BTreeMap<&'static str, Layer>;

/// Where one set of layers stands.
type Sources = Vec<(&'static str, LayerSource)>;

/// The layers of an edited design.
#[derive(Debug, Clone, Default)]
pub(crate) struct Book {
    written: String,
    /// Layers that hold whatever parcels.
    whole: Option<Layers>,
    /// Layers of one parcel, by its id: they are read when the parcel's turn comes.
    by_parcel: BTreeMap<String, Sources>,
    /// What is read, as it is named, and where it stands.
    files: Vec<(String, PathBuf)>,
}

impl Book {
    /// Finds the layers.
    ///
    /// # Errors
    /// What is no design of an earlier run, says why.
    pub(crate) fn open(source: &EditsSource) -> Result<Self, Finding> {
        hush_gdal();
        let mut book = Self {
            written: source.written.clone(),
            ..Self::default()
        };
        let parcels = source.path.join("parcels");
        if parcels.is_dir() {
            book.add_run(&parcels, source)?;
        } else {
            let sources = if source.path.is_dir() {
                in_folder(&source.path, &source.written)
            } else {
                in_file(&source.path, &source.written)?
            };
            book.add_files(&sources);
            is_ours(&sources, &source.written)?;
            book.whole = Some(read_all(&sources)?);
        }
        Ok(book)
    }

    /// Files that are read, as they are named, and where they stand.
    pub(crate) fn files(&self) -> &[(String, PathBuf)] {
        &self.files
    }

    /// How the project names it.
    pub(crate) fn written(&self) -> &str {
        &self.written
    }

    /// Layers that hold whatever parcels.
    pub(crate) fn whole(&self) -> Option<&Layers> {
        self.whole.as_ref()
    }

    /// The layers of one parcel's own folder; `None` where it has none.
    ///
    /// # Errors
    /// A file that cannot be read any more.
    pub(crate) fn own(&self, parcel: &str) -> Result<Option<Layers>, Finding> {
        self.by_parcel
            .get(parcel)
            .map(|sources| read_all(sources))
            .transpose()
    }

    /// Parcels that the layers name and that are none of the project's; what was done to their features is not followed.
    pub(crate) fn strangers<T>(&self, known: &BTreeMap<String, T>) -> Vec<Finding> {
        let of_whole = self.whole.iter().flat_map(|layers| layers.values());
        let of_whole = of_whole.flat_map(|layer| &layer.features);
        let named = of_whole.filter_map(|feature| feature.text("parcel"));
        let named: BTreeSet<String> = named.chain(self.by_parcel.keys().cloned()).collect();
        let strange = named.into_iter().filter(|name| !known.contains_key(name));
        let tell = |name: String| {
            let message = format!(
                "names the parcel `{name}`, which is not among the parcels; what was done to its features is not followed."
            );
            Finding::error("unknown_parcel", message).in_file(&self.written)
        };
        strange.map(tell).collect()
    }

    fn add_files(&mut self, sources: &Sources) {
        for (_, source) in sources {
            let file = (source.written.clone(), source.path.clone());
            if !self.files.contains(&file) {
                self.files.push(file);
            }
        }
    }

    fn add_run(&mut self, parcels: &Path, source: &EditsSource) -> Result<(), Finding> {
        for folder in sorted(parcels) {
            let file = folder.join("design.gpkg");
            if !file.is_file() {
                continue;
            }
            let name = folder.file_name().unwrap_or_default().to_string_lossy();
            let written = format!("{}/parcels/{name}/design.gpkg", source.written);
            let sources = in_file(&file, &written)?;
            is_ours(&sources, &written)?;
            let own: Sources = sources
                .iter()
                .filter(|(layer, _)| *layer == "parcel")
                .cloned()
                .collect();
            let layers = read_all(&own)?;
            let id = layers
                .get("parcel")
                .and_then(|layer| layer.features.first()?.text("parcel"));
            let Some(id) = id else {
                let message = "does not say which parcel it is of: its layer `parcel` is empty. Give the file that a run wrote.";
                return Err(Finding::error("edits_not_ours", message).in_file(written));
            };
            self.add_files(&sources);
            self.by_parcel.insert(id, sources);
        }
        if self.by_parcel.is_empty() {
            let message = "holds no parcel with a design.gpkg; name the output folder of an earlier run, a design.gpkg, or a folder of layers.";
            return Err(Finding::error("edits_not_ours", message).in_file(&source.written));
        }
        Ok(())
    }
}

fn sorted(folder: &Path) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut entries: Vec<PathBuf> = entries.map(|entry| entry.path()).collect();
    entries.sort();
    entries
}

fn layer_source(path: &Path, written: &str, layer: Option<String>) -> LayerSource {
    LayerSource {
        written: written.to_owned(),
        path: path.to_owned(),
        layer,
        fields: Vec::new(),
    }
}

/// The layers of a folder: files called as our layers are.
fn in_folder(folder: &Path, written: &str) -> Sources {
    let mut sources = Sources::new();
    for file in sorted(folder) {
        let stem = file.file_stem().unwrap_or_default().to_string_lossy();
        let is_geojson = file
            .extension()
            .is_some_and(|end| end.eq_ignore_ascii_case("geojson"));
        let ours = LAYERS.into_iter().find(|layer| *layer == stem);
        if let Some(layer) = ours.filter(|_| is_geojson) {
            let written = format!("{written}/{stem}.geojson");
            sources.push((layer, layer_source(&file, &written, None)));
        }
    }
    sources
}

/// The layers of a file, by name; the only layer of a file that is called as one of ours.
fn in_file(path: &Path, written: &str) -> Result<Sources, Finding> {
    let options = DatasetOptions {
        open_flags: GdalOpenFlags::GDAL_OF_VECTOR | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
        ..Default::default()
    };
    let dataset = Dataset::open_ex(path, options).map_err(|error| {
        let message = format!("cannot be read as a vector layer: {}", reason(&error));
        Finding::error("file_unreadable", message).in_file(written)
    })?;
    let names: Vec<String> = dataset.layers().map(|layer| layer.name()).collect();
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let ours = |name: &str| LAYERS.into_iter().find(|layer| *layer == name);
    let mut sources = Sources::new();
    for name in &names {
        let layer = ours(name).or_else(|| ours(&stem).filter(|_| names.len() == 1));
        if let Some(layer) = layer {
            sources.push((layer, layer_source(path, written, Some(name.clone()))));
        }
    }
    Ok(sources)
}

/// Whether there are heads among the layers.
fn is_ours(sources: &Sources, written: &str) -> Result<(), Finding> {
    if sources.iter().any(|(layer, _)| *layer == "heads") {
        return Ok(());
    }
    let names: Vec<&str> = sources.iter().map(|(layer, _)| *layer).collect();
    let found = if names.is_empty() {
        "none of our layers".to_owned()
    } else {
        format!("only {}", names.join(", "))
    };
    let message = format!(
        "is no design of an earlier run: it has no layer `heads` ({found}). Name the output folder of a run, its design.gpkg, or its folder of layers."
    );
    Err(Finding::error("edits_not_ours", message).in_file(written))
}

fn read_all(sources: &Sources) -> Result<Layers, Finding> {
    let mut layers = Layers::new();
    for (name, source) in sources {
        // A feature without an id is one that a person added.
        let mut without_id = Vec::new();
        let layer = read_layer(source, WANTED, &mut without_id)?;
        let nameless = |layer: &Layer| layer.features.iter().all(|f| f.text("id").is_none());
        if *name == "heads" && !layer.features.is_empty() && nameless(&layer) {
            let message = "is no design of an earlier run: none of its heads has an `id`. Edit the layers that a run wrote, and keep their columns.";
            return Err(Finding::error("edits_not_ours", message).in_file(&source.written));
        }
        layers.insert(name, layer);
    }
    Ok(layers)
}
