//! The types that intake hands to design: one parcel, in its own frame, clean.

use crate::finding::Finding;
use crate::site::{Edits, Existing, Terrain};
use geo::{Coord, MultiPolygon, Rect};

/// The parcel's own frame: transverse Mercator centred on the parcel, scale 1, metres, grid north up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Longitude of the centre, degrees, WGS 84.
    pub lon0_deg: f64,
    /// Latitude of the centre, degrees, WGS 84.
    pub lat0_deg: f64,
}

impl Frame {
    /// The frame centred on a box of degrees.
    pub fn about(extent: &Rect<f64>) -> Self {
        let centre = extent.center();
        Self {
            lon0_deg: centre.x,
            lat0_deg: centre.y,
        }
    }
}

/// What an obstacle is, and so what it means to water, trench and head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ObstacleKind {
    /// Never dug, never wetted, stops water.
    Building,
    /// Never dug.
    Water,
    /// Crossed straight in a sleeve; kept dry.
    Paving,
    /// Dear to dig; not turf.
    Bed,
    /// An unwatered pit; its root zone is not dug.
    Tree,
}

impl ObstacleKind {
    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Building => "building",
            Self::Water => "water",
            Self::Paving => "paving",
            Self::Bed => "bed",
            Self::Tree => "tree",
        }
    }
}

/// One obstacle. Trees given as points have an empty `shape` and only a root zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// Id, unique in the parcel.
    pub id: String,
    /// What it is.
    pub kind: ObstacleKind,
    /// Its ground plan.
    pub shape: MultiPolygon<f64>,
    /// Centre and radius of the root zone, m; trees only.
    pub root_zone: Option<(Coord<f64>, f64)>,
}

/// One turf area, clipped to its parcel, obstacles subtracted. May be several pieces; never empty.
#[derive(Debug, Clone, PartialEq)]
pub struct TurfArea {
    /// Id, unique in the parcel.
    pub id: String,
    /// The ground to water.
    pub shape: MultiPolygon<f64>,
    /// Soil texture class, lower case, e.g. `loam`, where given.
    pub soil: Option<String>,
    /// `cool` or `warm`, where given.
    pub season: Option<String>,
}

/// How the strength of a water point was told. Flows in L/min, pressures in kPa.
#[derive(Debug, Clone, PartialEq)]
pub enum SupplyTest {
    /// Static pressure, and the residual pressure at one flow.
    FlowTest {
        /// Pressure with nothing running.
        static_kpa: f64,
        /// Pressure at `residual_lpm`.
        residual_kpa: f64,
        /// Flow of the test.
        residual_lpm: f64,
    },
    /// Static pressure, and the time to fill a bucket with the outlet open.
    Bucket {
        /// Pressure with nothing running.
        static_kpa: f64,
        /// Volume of the bucket, L.
        bucket_l: f64,
        /// Seconds to fill it.
        bucket_s: f64,
    },
    /// Points of a pump curve, flow (L/min) and pressure (kPa), by rising flow, at least two.
    Pump(Vec<(f64, f64)>),
    /// A flow and the pressure at it; nothing else is known.
    DesignPoint {
        /// Flow that may be drawn.
        design_lpm: f64,
        /// Pressure at that flow.
        design_kpa: f64,
    },
}

/// The pipe between the place where a supply was tested and the point of connection, full round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ServicePipe {
    /// Length, m, above 0.
    pub length_m: f64,
    /// Inside diameter, mm, above 0.
    pub inside_mm: f64,
    /// Hazen–Williams C, 60 to 160.
    pub roughness_c: f64,
}

impl ServicePipe {
    /// C where none is given: a pipe of unknown age and material, a little below aged plastic. Common practice, no source.
    pub const ROUGHNESS_C: f64 = 130.0;
}

/// A place where water is to be had.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterPoint {
    /// Id, unique in the parcel.
    pub id: String,
    /// Where it is.
    pub position: Coord<f64>,
    /// How strong it is.
    pub test: SupplyTest,
    /// Loss in the meter at the flow of the test, kPa.
    pub meter_loss_kpa: Option<f64>,
    /// Loss in the backflow preventer at the flow of the test, kPa.
    pub backflow_loss_kpa: Option<f64>,
    /// The pipe between the test and the point of connection, where it is told.
    pub service: Option<ServicePipe>,
}

/// One parcel, ready to be designed.
#[derive(Debug, Clone, PartialEq)]
pub struct Parcel {
    /// Id, unique in the project.
    pub id: String,
    /// Name for people, where given.
    pub name: Option<String>,
    /// Its frame.
    pub frame: Frame,
    /// Its bounds on the ground.
    pub boundary: MultiPolygon<f64>,
    /// Turf to water, by id.
    pub turf: Vec<TurfArea>,
    /// Obstacles that touch the parcel (with a margin of some metres), by id.
    pub obstacles: Vec<Obstacle>,
    /// Water points, by id; at least one.
    pub water_points: Vec<WaterPoint>,
    /// A system that lies there already; empty where none does.
    pub existing: Existing,
    /// A design of it changed by hand, where the project names one.
    pub edits: Option<Edits>,
    /// The ground.
    pub terrain: Terrain,
    /// What intake repaired or noticed.
    pub findings: Vec<Finding>,
}
