//! The whole site, read once: which parcels there are, and each parcel made ready for design on request.

use crate::brief::Project;
use crate::brief::fields_file::properties_of;
use crate::brief::project::LayerSource;
use crate::finding::Finding;
use crate::site::assignment::{ExistingLayers, Member, assign};
use crate::site::edits::Book;
use crate::site::error::SiteError;
use crate::site::feature::{Feature, Layer};
use crate::site::obstacles::kind_of;
use crate::site::parcel::{Frame, ObstacleKind};
use crate::site::raster::{Tile, examine};
use crate::site::reading::read_layer;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::io::Read;
use std::path::Path;

/// An input file and the SHA-256 of its bytes, in hexadecimal digits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputHash {
    /// File as the project writes it.
    pub file: String,
    /// 64 hexadecimal digits.
    pub sha256: String,
}

/// An obstacle feature with its kind known.
#[derive(Debug, Clone)]
pub(crate) struct KnownObstacle {
    pub(crate) feature: usize,
    pub(crate) kind: ObstacleKind,
}

/// The site: vector layers in memory, rasters known but not read. Shared between threads by reference.
#[derive(Debug, Clone)]
pub struct Ground {
    pub(crate) parcels: Layer,
    pub(crate) turf: Layer,
    pub(crate) obstacles: Layer,
    pub(crate) known_obstacles: Vec<KnownObstacle>,
    pub(crate) water_points: Layer,
    pub(crate) existing: ExistingLayers,
    pub(crate) edits: Option<Book>,
    pub(crate) tiles: Vec<Tile>,
    pub(crate) project: Project,
    pub(crate) members: BTreeMap<String, Member>,
    findings: Vec<Finding>,
    hashes: Vec<InputHash>,
}

/// Reads the layers of a project and looks at its rasters.
///
/// # Errors
/// Every file that cannot be used at all, at once: missing, unreadable, without a reference system, with
/// coordinates that are no degrees, without the layer or column that the project names.
pub fn open(project: &Project) -> Result<Ground, SiteError> {
    let mut findings = Vec::new();
    let mut failures = Vec::new();
    let mut layer = |source: &LayerSource, wanted: &[&'static str]| {
        read_layer(source, wanted, &mut findings).unwrap_or_else(|failure| {
            failures.push(failure);
            Layer::default()
        })
    };
    let parcels = layer(&project.parcels, properties_of("parcels"));
    let turf = layer(&project.turf, properties_of("turf"));
    let water_points = layer(&project.water_points, properties_of("water_points"));
    let obstacles = match &project.obstacles {
        Some(source) => layer(source, properties_of("obstacles")),
        None => Layer::default(),
    };
    let existing = &project.existing;
    let mut layers = |sources: &[LayerSource], key: &str| -> Vec<Layer> {
        let sources = sources.iter();
        sources
            .map(|source| layer(source, properties_of(key)))
            .collect()
    };
    let existing = ExistingLayers {
        heads: layers(&existing.heads, "existing_heads"),
        pipes: layers(&existing.pipes, "existing_pipes"),
        valves: layers(&existing.valves, "existing_valves"),
    };
    let edits = project.edits.as_ref().and_then(|source| {
        let book = Book::open(source);
        book.map_err(|failure| failures.push(failure)).ok()
    });
    let mut tiles = Vec::new();
    for (written, path) in &project.terrain {
        match examine(written, path, project.terrain_unit_m, &mut findings) {
            Ok(tile) => tiles.push(tile),
            Err(failure) => failures.push(failure),
        }
    }
    let hashes = hash_all(project, edits.as_ref(), &mut failures);
    if parcels.features.is_empty() && failures.is_empty() {
        let message = "holds no parcel; there is nothing to design";
        failures.push(Finding::error("no_parcel", message).in_file(&project.parcels.written));
    }
    if !failures.is_empty() {
        return Err(SiteError { findings: failures });
    }
    let mut members = assign(&parcels, &turf, &water_points, &existing, &mut findings);
    tell_duplicates(&parcels, &turf, &water_points, &mut members);
    findings.extend(edits.iter().flat_map(|book| book.strangers(&members)));
    let known_obstacles = know_obstacles(&obstacles, &mut findings);
    Ok(Ground {
        parcels,
        turf,
        obstacles,
        known_obstacles,
        water_points,
        existing,
        edits,
        tiles,
        project: project.clone(),
        members,
        findings,
        hashes,
    })
}

impl Ground {
    /// Ids of the parcels, sorted, each once.
    pub fn parcel_ids(&self) -> Vec<String> {
        self.members.keys().cloned().collect()
    }

    /// Turf drawn for a parcel, m², about; 0 for an unknown parcel. Tells how much work the parcel will be.
    pub fn turf_area_of(&self, id: &str) -> f64 {
        self.members.get(id).map_or(0.0, |member| member.turf_m2)
    }

    /// The frame of a parcel, in which the places of its findings are given, whether it can be designed or not.
    ///
    /// `None` for an unknown parcel and for one without geometry.
    pub fn frame_of(&self, id: &str) -> Option<Frame> {
        let member = self.members.get(id)?;
        self.parcel_feature(member)
            .bounds
            .as_ref()
            .map(Frame::about)
    }

    /// What is to be told of the site as a whole, e.g. turf that lies in no parcel.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// Hash of each input file, in the order of the project file; side files such as `.prj` are not hashed.
    pub fn input_hashes(&self) -> &[InputHash] {
        &self.hashes
    }

    pub(crate) fn parcel_feature(&self, member: &Member) -> &Feature {
        &self.parcels.features[member.feature]
    }
}

/// Tells ids that are given to several parcels, or to several features of one parcel.
fn tell_duplicates(
    parcels: &Layer,
    turf: &Layer,
    water_points: &Layer,
    members: &mut BTreeMap<String, Member>,
) {
    for id in twice(parcels.features.iter()) {
        let message =
            "is the id of several parcels; ids must be unique, so none of them is designed.";
        if let Some(member) = members.get_mut(&id) {
            let finding = Finding::error("duplicate_id", message);
            member.findings.push(finding.in_file(&parcels.file).of(&id));
        }
    }
    for member in members.values_mut() {
        let told = |layer: &Layer, indices: &[usize]| {
            let features = indices.iter().map(|index| &layer.features[*index]);
            let message = "is the id of several features of this parcel; ids must be unique. The second is called `id (2)` here, and so on.";
            let finding = |id: String| {
                Finding::error("duplicate_id", message)
                    .in_file(&layer.file)
                    .of(id)
            };
            twice(features).into_iter().map(finding).collect::<Vec<_>>()
        };
        let mut findings = told(turf, &member.turf);
        findings.extend(told(water_points, &member.water_points));
        member.findings.extend(findings);
    }
}

/// Ids that occur more than once, sorted.
fn twice<'f>(features: impl Iterator<Item = &'f Feature>) -> BTreeSet<String> {
    let mut seen = BTreeSet::new();
    features
        .filter(|feature| !seen.insert(feature.id.clone()))
        .map(|feature| feature.id.clone())
        .collect()
}

fn know_obstacles(layer: &Layer, findings: &mut Vec<Finding>) -> Vec<KnownObstacle> {
    let mut known = Vec::new();
    for (index, feature) in layer.features.iter().enumerate() {
        match kind_of(feature) {
            Ok(kind) => known.push(KnownObstacle {
                feature: index,
                kind,
            }),
            Err(message) => {
                let finding = Finding::error("unknown_kind", message);
                findings.push(finding.in_file(&layer.file).of(&feature.id));
            }
        }
    }
    known
}

fn hash_all(
    project: &Project,
    edits: Option<&Book>,
    failures: &mut Vec<Finding>,
) -> Vec<InputHash> {
    let layers = [
        Some(&project.parcels),
        Some(&project.turf),
        project.obstacles.as_ref(),
        Some(&project.water_points),
    ];
    let layers = layers
        .into_iter()
        .flatten()
        .chain(project.existing.all())
        .map(|source| (&source.written, &source.path));
    let rasters = project
        .terrain
        .iter()
        .map(|(written, path)| (written, path));
    let mut hashes: Vec<InputHash> = Vec::new();
    let edited = edits.map_or(&[][..], Book::files).iter();
    let edited = edited.map(|(written, path)| (written, path));
    for (written, path) in layers.chain(rasters).chain(edited) {
        if hashes.iter().any(|hash| hash.file == *written) {
            continue;
        }
        match hash_of(path) {
            Ok(sha256) => hashes.push(InputHash {
                file: written.clone(),
                sha256,
            }),
            // A file that is missing or a folder has been told by its reader, if it matters.
            Err(error) if failures.is_empty() && path.is_file() => {
                let message = format!("cannot be read: {error}");
                failures.push(Finding::error("file_unreadable", message).in_file(written));
            }
            Err(_) => {}
        }
    }
    hashes
}

fn hash_of(path: &Path) -> std::io::Result<String> {
    let mut file = std::fs::File::open(path)?;
    let mut hasher = Sha256::new();
    let mut block = vec![0; 1 << 16];
    loop {
        let count = file.read(&mut block)?;
        if count == 0 {
            break;
        }
        hasher.update(&block[..count]);
    }
    let mut digits = String::with_capacity(64);
    for byte in hasher.finalize() {
        // Writing to a string cannot fail.
        let _ = write!(digits, "{byte:02x}");
    }
    Ok(digits)
}
