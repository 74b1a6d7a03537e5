//! A system that lies in the ground already, as it was surveyed or drawn: heads, pipes and valves of one parcel.
//!
//! Only what stands in the layers, in the parcel's frame, with words and numbers checked. How the pieces hang together
//! is found by `design`.

mod read;

pub(crate) use read::{heads, pipes, valves};

use geo::{Coord, LineString};

/// A surveyed system. Everything that a survey may leave out is optional.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Existing {
    /// Heads, by id.
    pub heads: Vec<ExistingHead>,
    /// Pipes, by id.
    pub pipes: Vec<ExistingPipe>,
    /// Valves, by id.
    pub valves: Vec<ExistingValve>,
}

impl Existing {
    /// Whether nothing lies there.
    pub fn is_empty(&self) -> bool {
        self.heads.is_empty() && self.pipes.is_empty() && self.valves.is_empty()
    }
}

/// Where a feature was read from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Surveyed {
    /// File as the project names it.
    pub file: String,
    /// Id in it.
    pub id: String,
}

/// A head as surveyed.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingHead {
    /// Where it was read from.
    pub from: Surveyed,
    /// Where it stands.
    pub position: Coord<f64>,
    /// Its station.
    pub station: Option<String>,
    /// Name of the node it stands at.
    pub node: Option<String>,
    /// Name of its model in the catalogue.
    pub model: Option<String>,
    /// Name of its nozzle.
    pub nozzle: Option<String>,
    /// Start bearing and sweep of its arc, degrees clockwise from grid north.
    pub arc_deg: Option<(f64, f64)>,
    /// Radius it is set to, m.
    pub radius_m: Option<f64>,
    /// Flow at its model's reference pressure, L/min.
    pub flow_ref_lpm: Option<f64>,
    /// Height of the ground at it, m.
    pub ground_m: Option<f64>,
    /// Whether it stands in the single row of a strip.
    pub one_row: bool,
}

/// A pipe as surveyed.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingPipe {
    /// Where it was read from.
    pub from: Surveyed,
    /// Its line, two points or more.
    pub line: LineString<f64>,
    /// Whether it is a main; `None` where the layer does not say.
    pub is_main: Option<bool>,
    /// Its station.
    pub station: Option<String>,
    /// Names of the nodes at the line's first and last point.
    pub nodes: (Option<String>, Option<String>),
    /// Material word.
    pub material: Option<String>,
    /// Nominal size.
    pub nominal: Option<String>,
    /// Inside diameter, mm.
    pub inside_mm: Option<f64>,
    /// Hazen–Williams C.
    pub roughness_c: Option<f64>,
    /// Greatest static pressure it is rated for, kPa.
    pub rating_kpa: Option<f64>,
    /// Length along the slope, m.
    pub length_m: Option<f64>,
    /// Sum of the minor loss coefficients of its fittings.
    pub minor_k: Option<f64>,
    /// Height of its invert at the line's first and last point, m: by column, else by the geometry's heights.
    pub invert_m: (Option<f64>, Option<f64>),
}

/// What a surveyed valve is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExistingValveKind {
    /// Opens one station.
    Control,
    /// Shuts a part by hand.
    Isolation,
    /// Keeps the water from running back.
    Backflow,
    /// Shuts the whole system from the controller.
    Master,
    /// Holds the pressure behind it.
    Regulator,
    /// Drains by itself.
    DrainAutomatic,
    /// Drains by hand.
    DrainManual,
    /// Opened by hand to rinse the pipe.
    Flush,
    /// Lets air in.
    Air,
}

/// A valve as surveyed.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingValve {
    /// Where it was read from.
    pub from: Surveyed,
    /// Where it is.
    pub position: Coord<f64>,
    /// What it is.
    pub kind: ExistingValveKind,
    /// Its station; of a drain the section it empties, `None` on the main.
    pub station: Option<String>,
    /// Name of the node it stands at.
    pub node: Option<String>,
    /// Nominal size.
    pub size: Option<String>,
    /// Pressure it holds behind it, kPa.
    pub regulated_kpa: Option<f64>,
}
