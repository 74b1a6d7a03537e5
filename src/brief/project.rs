//! The project file: where the inputs lie and what is asked for.

use crate::brief::{Catalogue, Climate, Prices, Rules};
use std::path::PathBuf;

/// One vector input: a file and, where it holds several, a layer in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerSource {
    /// Path as the project file writes it, for messages.
    pub written: String,
    /// Path resolved against the project file's folder.
    pub path: PathBuf,
    /// Layer name; `None` takes the file's only layer.
    pub layer: Option<String>,
    /// Their column for ours: pairs of (our property, their column).
    pub fields: Vec<(String, String)>,
}

/// The layers of a system that lies in the ground already; each may be spread over several files.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ExistingSources {
    /// Heads.
    pub heads: Vec<LayerSource>,
    /// Pipes, mains and laterals alike.
    pub pipes: Vec<LayerSource>,
    /// Valves of every kind, drains and air valves too.
    pub valves: Vec<LayerSource>,
}

impl ExistingSources {
    /// Whether none is given.
    pub fn is_empty(&self) -> bool {
        self.all().next().is_none()
    }

    /// All layers: heads, pipes, valves.
    pub fn all(&self) -> impl Iterator<Item = &LayerSource> {
        self.heads.iter().chain(&self.pipes).chain(&self.valves)
    }
}

/// A design changed by hand: the output folder of a run, or one file of layers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EditsSource {
    /// Path as the project file writes it, for messages.
    pub written: String,
    /// Path resolved against the project file's folder.
    pub path: PathBuf,
}

/// Which heads of an existing system may stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum KeepHeads {
    /// None: all are placed anew.
    #[default]
    None,
    /// Those that serve; others may be set anew, exchanged, moved or taken out.
    Good,
    /// All stay where they are; they may be set anew or exchanged.
    All,
}

/// What of an existing system may stay in the ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Retrofit {
    /// Pipe before the control valves.
    pub mains: bool,
    /// Pipe behind them.
    pub laterals: bool,
    /// Valves.
    pub valves: bool,
    /// Heads.
    pub heads: KeepHeads,
}

/// A parsed and checked project.
#[derive(Debug, Clone, PartialEq)]
pub struct Project {
    /// Name of the whole, for people.
    pub name: String,
    /// Parcels.
    pub parcels: LayerSource,
    /// Turf.
    pub turf: LayerSource,
    /// Obstacles, where given.
    pub obstacles: Option<LayerSource>,
    /// Water points.
    pub water_points: LayerSource,
    /// A system that lies there already; empty where none does.
    pub existing: ExistingSources,
    /// A design of this project changed by hand, where given.
    pub edits: Option<EditsSource>,
    /// What of the existing system may stay; `None` where it is only to be judged.
    pub retrofit: Option<Retrofit>,
    /// Terrain rasters, as written and resolved; several are tiles of one ground.
    pub terrain: Vec<(String, PathBuf)>,
    /// Metres in the raster's unit where the project says it (`terrain_unit`); otherwise the raster must say.
    pub terrain_unit_m: Option<f64>,
    /// Rules.
    pub rules: Rules,
    /// Climate.
    pub climate: Climate,
    /// Prices.
    pub prices: Prices,
    /// Catalogue.
    pub catalogue: Catalogue,
    /// The same with other answers, to be compared.
    pub variants: Vec<Variant>,
}

/// A variant of a project.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// What it is called.
    pub name: String,
    /// The project with the variant's own keys; it has no variants.
    pub project: Project,
}

impl Project {
    /// Whether it is made from the same files, and from the same columns of them, as another.
    pub fn has_inputs_of(&self, other: &Self) -> bool {
        let layers = |project: &Self| {
            [
                Some(project.parcels.clone()),
                Some(project.turf.clone()),
                project.obstacles.clone(),
                Some(project.water_points.clone()),
            ]
        };
        layers(self) == layers(other)
            && (&self.existing, &self.edits) == (&other.existing, &other.edits)
            && (&self.terrain, self.terrain_unit_m) == (&other.terrain, other.terrain_unit_m)
    }

    /// A project with defaults for everything and no files, for parcels that a program makes itself.
    pub fn without_inputs(name: &str) -> Self {
        let nothing = || LayerSource {
            written: String::new(),
            path: PathBuf::new(),
            layer: None,
            fields: Vec::new(),
        };
        Self {
            name: name.to_owned(),
            parcels: nothing(),
            turf: nothing(),
            obstacles: None,
            water_points: nothing(),
            existing: ExistingSources::default(),
            edits: None,
            retrofit: None,
            terrain: Vec::new(),
            terrain_unit_m: None,
            rules: Rules::default(),
            climate: Climate::built_in(),
            prices: Prices::default(),
            catalogue: Catalogue::built_in(),
            variants: Vec::new(),
        }
    }
}
