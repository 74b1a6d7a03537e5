//! What a design is made of: the values that the rooms hand to one another and, at the end, to `deliver`.
//!
//! Indices are positions in the vectors of [`Design`]. Coordinates are in the parcel's frame, metres.

mod hand;
mod lying;
mod schedule;
mod water_year;

pub use hand::{Ids, Pins};
pub use lying::{HeadWork, Lying};
pub use schedule::{Run, Schedule, ScheduleRow, Together};
pub use water_year::{BalanceDay, BudgetFigures, MoistureSetting, SensorSettings, SoilBalance};

use crate::brief::Profile;
use crate::design::coverage::Tilt;
use crate::finding::Finding;
use geo::{Coord, LineString, MultiPolygon, Polygon};

/// The sector a head waters: from `start_deg` clockwise through `sweep_deg`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Bearing of the first edge, degrees clockwise from grid north, 0 to below 360.
    pub start_deg: f64,
    /// Sweep, degrees, above 0 to 360.
    pub sweep_deg: f64,
}

impl Arc {
    /// A full circle.
    pub const FULL: Self = Self {
        start_deg: 0.0,
        sweep_deg: 360.0,
    };

    /// Whether the sector is a full circle.
    pub fn is_full(&self) -> bool {
        self.sweep_deg >= 359.999
    }

    /// Whether the direction of (dx, dy) lies in the sector.
    pub fn holds(&self, dx: f64, dy: f64) -> bool {
        self.is_full()
            || (dx.atan2(dy).to_degrees() - self.start_deg).rem_euclid(360.0) <= self.sweep_deg
    }
}

/// One head as placed: what the crew sets.
#[derive(Debug, Clone, PartialEq)]
pub struct Head {
    /// Where it stands.
    pub position: Coord<f64>,
    /// Index of the turf area it stands on.
    pub turf: usize,
    /// Index of its model in the catalogue.
    pub model: usize,
    /// Index of its nozzle in the model.
    pub nozzle: usize,
    /// Its sector.
    pub arc: Arc,
    /// The radius it is set to, m: as thrown on level ground.
    pub radius_m: f64,
    /// Slope of the ground about it, as its throw feels it.
    pub tilt: Tilt,
    /// Height of the ground, m.
    pub ground_m: f64,
    /// Flow at the model's reference pressure with this nozzle and arc, L/min.
    pub flow_ref_lpm: f64,
    /// Whether it stands in the single row of a narrow strip: such heads run longer, on stations of their own.
    pub one_row: bool,
}

/// How a head works once the network is solved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Working {
    /// Pressure at the nozzle, kPa.
    pub pressure_kpa: f64,
    /// Flow, L/min.
    pub flow_lpm: f64,
    /// Radius it really throws: as set, or less where pressure is short, m.
    pub radius_m: f64,
    /// Rate it applies at head-to-head square spacing, mm/h: 60 q / (r² sweep/360).
    pub rate_mm_h: f64,
}

/// What one turf area gets.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TurfResult {
    /// Area judged, m² (inset by the set-back of the heads).
    pub area_m2: f64,
    /// Heads that stand on it.
    pub heads: usize,
    /// Heads by area: a proven lower bound for a low quarter of 0.75 of the matched rate.
    pub heads_bound: usize,
    /// Fewest heads by a linear programme over candidate places: an estimate, no bound. `None` where it is not asked for
    /// or not found.
    pub heads_lp_estimate: Option<f64>,
    /// Distribution uniformity of the low quarter, 0 to 1; `None` where no water falls.
    pub du_low_quarter: Option<f64>,
    /// The same with every head at the pressure its nozzle is rated at.
    pub du_rated: Option<f64>,
    /// Christiansen's coefficient, to 1; `None` where no water falls.
    pub cu_christiansen: Option<f64>,
    /// Share of the area below 0.3 of its mean.
    pub dry_fraction: Option<f64>,
    /// Share of its own heads' water that falls on anything but turf.
    pub overspray_fraction: Option<f64>,
    /// Mean rate with every head running, mm/h; heads of another class as if they worked at the rate of the main class.
    pub mean_rate_mm_h: Option<f64>,
    /// Rate of the main class: of the precipitation class that wets most of it, mm/h.
    pub class_rate_mm_h: Option<f64>,
    /// Share of its heads that the water of at least two other heads reaches; `None` without heads.
    pub reached_fraction: Option<f64>,
    /// Whether a single row of heads waters it.
    pub one_row: bool,
    /// How good it is, where an existing system was audited.
    pub grade: Option<Grade>,
}

/// How good an existing system waters a turf area.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grade {
    /// `A` (nothing to be said) to `E`.
    pub letter: char,
    /// Why it is not better, the worst first.
    pub reasons: Vec<String>,
}

/// A band of the application rate, for the map.
#[derive(Debug, Clone, PartialEq)]
pub struct CoverageBand {
    /// Lower limit, mm/h.
    pub rate_from_mm_h: f64,
    /// Upper limit, mm/h; `None` in the topmost band.
    pub rate_to_mm_h: Option<f64>,
    /// Where the rate lies in the band, on turf.
    pub shape: MultiPolygon<f64>,
}

/// What is dug through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Surface {
    /// Turf.
    Turf,
    /// Under paving, in a sleeve.
    Paving,
    /// A bed.
    Bed,
    /// Neither turf nor obstacle.
    Bare,
    /// A root zone, by hand.
    Roots,
}

impl Surface {
    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Turf => "turf",
            Self::Paving => "paving",
            Self::Bed => "bed",
            Self::Bare => "bare",
            Self::Roots => "roots",
        }
    }
}

/// A straight piece of trench of one surface.
#[derive(Debug, Clone, PartialEq)]
pub struct Trench {
    /// Its line, two points or more.
    pub line: LineString<f64>,
    /// What is dug through.
    pub surface: Surface,
    /// Whether its pipes lie in a sleeve under paving.
    pub sleeve: bool,
    /// Length along the slope, m.
    pub length_m: f64,
    /// Least cover over any of its pipes, m.
    pub cover_min_m: f64,
    /// Greatest cover over any of its pipes, m: the depth of the trench, less the pipe.
    pub cover_max_m: f64,
    /// Pipes that lie in it.
    pub pipes: usize,
}

/// The part of the network a pipe or node belongs to: what one valve shuts off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Section {
    /// From the point of connection to the control valves.
    Main,
    /// Behind the control valve of this station.
    Station(usize),
}

/// What stands at a node.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NodeKind {
    /// The point of connection, behind meter and backflow preventer.
    Source,
    /// A control valve; the laterals of its station start here.
    Valve,
    /// Pipes meet, bend, or change grade or size.
    Junction,
    /// A head.
    Head,
    /// A dead end.
    End,
}

impl NodeKind {
    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Source => "source",
            Self::Valve => "valve",
            Self::Junction => "junction",
            Self::Head => "head",
            Self::End => "end",
        }
    }
}

/// A node of the pipe network. A valve's node belongs to its station, and the main ends there too.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Where it is.
    pub position: Coord<f64>,
    /// What stands there.
    pub kind: NodeKind,
    /// The section it belongs to; `Section::Station` for valves.
    pub section: Section,
    /// Head at it, where one is.
    pub head: Option<usize>,
    /// Height of the ground, m.
    pub ground_m: f64,
    /// Height of the pipe's invert, m.
    pub invert_m: f64,
    /// Gauge pressure at the invert while its station runs (on mains: at the station that leaves least), kPa.
    /// A valve's node: behind the valve.
    pub pressure_kpa: Option<f64>,
    /// Gauge pressure at the invert with nothing running, kPa. Laterals: with the valve open and no flow.
    pub static_kpa: Option<f64>,
}

/// One pipe between two nodes, of one size. Flow runs from `from` to `to`.
#[derive(Debug, Clone, PartialEq)]
pub struct Pipe {
    /// Section it belongs to.
    pub section: Section,
    /// Node it starts at (nearer to the source).
    pub from: usize,
    /// Node it ends at.
    pub to: usize,
    /// Trenches it lies in, in order.
    pub trenches: Vec<usize>,
    /// Its line on the ground plan, from `from` to `to`.
    pub line: LineString<f64>,
    /// Length along the slope, m.
    pub length_m: f64,
    /// Index of its size in the catalogue.
    pub size: usize,
    /// Sum of the minor loss coefficients of its fittings, on the velocity in it.
    pub minor_k: f64,
    /// Flow, L/min; on mains the greatest of any station.
    pub flow_lpm: f64,
    /// Velocity at that flow, m/s.
    pub velocity_m_s: f64,
    /// Loss at that flow, friction and fittings, kPa.
    pub loss_kpa: f64,
}

/// One station: the heads behind one control valve.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its heads, in walking order.
    pub heads: Vec<usize>,
    /// Precipitation class of its heads.
    pub rate_class: String,
    /// Node of its valve.
    pub valve_node: usize,
    /// Index of the valve's size in the catalogue.
    pub valve_size: usize,
    /// Pressure the valve holds behind it, kPa, where it regulates.
    pub regulated_kpa: Option<f64>,
    /// Flow of all heads as solved, L/min.
    pub flow_lpm: f64,
    /// Mean rate of its heads, weighted by flow, mm/h.
    pub rate_mm_h: f64,
    /// Least and greatest pressure at its nozzles, kPa.
    pub pressure_min_kpa: f64,
    /// See `pressure_min_kpa`.
    pub pressure_max_kpa: f64,
    /// Greatest less least ground height of its heads, m.
    pub elevation_spread_m: f64,
    /// Pressure at the source while it runs, behind meter and backflow preventer, kPa.
    pub source_kpa: f64,
    /// Pressure just before its valve, kPa at the invert.
    pub valve_in_kpa: f64,
    /// Losses at its flow, kPa: meter, backflow preventer, valve.
    pub meter_loss_kpa: f64,
    /// See `meter_loss_kpa`.
    pub backflow_loss_kpa: f64,
    /// Loss at its flow in the service pipe, kPa; 0 where none is told.
    pub service_loss_kpa: f64,
    /// See `meter_loss_kpa`.
    pub valve_loss_kpa: f64,
    /// Greatest departure from mass balance when solved, m³/s: evidence of convergence.
    pub solve_residual_m3s: f64,
    /// Ground its heads reach on the turf, for the map.
    pub area: MultiPolygon<f64>,
}

/// What a valve is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ValveKind {
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
}

impl ValveKind {
    /// Every kind.
    pub const ALL: [Self; 5] = [
        Self::Control,
        Self::Isolation,
        Self::Backflow,
        Self::Master,
        Self::Regulator,
    ];

    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Control => "control",
            Self::Isolation => "isolation",
            Self::Backflow => "backflow",
            Self::Master => "master",
            Self::Regulator => "regulator",
        }
    }
}

/// A valve in the ground or at the point of connection.
#[derive(Debug, Clone, PartialEq)]
pub struct Valve {
    /// What it is.
    pub kind: ValveKind,
    /// Its station, for control valves and regulators.
    pub station: Option<usize>,
    /// Its node.
    pub node: usize,
    /// Greatest flow through it, L/min.
    pub flow_lpm: f64,
    /// Nominal size.
    pub size: String,
}

/// What a drain valve is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrainKind {
    /// Opens by itself when the pressure goes.
    Automatic,
    /// Opened by hand before winter.
    Manual,
    /// Opened by hand to rinse the pipe, where it need not run empty.
    Flush,
}

impl DrainKind {
    /// The word used in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Automatic => "automatic",
            Self::Manual => "manual",
            Self::Flush => "flush",
        }
    }
}

/// A drain valve at a low point.
#[derive(Debug, Clone, PartialEq)]
pub struct Drain {
    /// What it is.
    pub kind: DrainKind,
    /// The section it empties.
    pub section: Section,
    /// Its node.
    pub node: usize,
    /// Litres that run out of it.
    pub drained_l: f64,
    /// Litres of gravel that take them up.
    pub gravel_l: f64,
}

/// One line of the take-off.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeoffRow {
    /// `heads`, `pipe`, `fittings`, `valves`, `drainage`, `control`, `trench`, `sleeves`, `earth`, `labour`.
    pub group: String,
    /// What.
    pub item: String,
    /// Size, where it has one.
    pub size: Option<String>,
    /// How many or how much.
    pub quantity: f64,
    /// `each`, `m`, `L`, `m3`, `coil`.
    pub unit: String,
    /// Price of one.
    pub unit_price: Option<f64>,
    /// Quantity times price.
    pub cost: Option<f64>,
}

/// What the supply gives, as used.
#[derive(Debug, Clone, PartialEq)]
pub struct SupplyResult {
    /// Id of the water point used.
    pub water_point: String,
    /// Node of the point of connection.
    pub node: usize,
    /// Static pressure behind meter and backflow preventer at the source, kPa.
    pub static_kpa: f64,
    /// Flow that one station may draw at most, L/min.
    pub design_lpm: f64,
    /// Pressure left at that flow, behind meter and backflow preventer, kPa.
    pub design_kpa: f64,
    /// Points of the curve (L/min, kPa) behind meter and backflow preventer.
    pub curve: Vec<(f64, f64)>,
}

/// Figures proven from below, to hold the result against.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bounds {
    /// Heads by area.
    pub heads: usize,
    /// Heads by the linear programme, an estimate; `None` unless every turf area with heads has one.
    pub heads_lp_estimate: Option<f64>,
    /// Stations, by precipitation class.
    pub stations: Vec<StationClass>,
    /// Trench, m: 0.8241 of the spanning tree of heads and source in free space (Chung and Graham 1985, from memory).
    pub trench_m: f64,
    /// Pipe cost with the sizes free of the spread rule, in catalogue prices; equal to the result where sizing is optimal.
    pub pipe_cost: Option<f64>,
}

impl Bounds {
    /// Fewest stations of all classes together.
    pub fn stations(&self) -> usize {
        self.stations.iter().map(|class| class.bound).sum()
    }
}

/// The stations of one precipitation class, and the fewest there could be.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StationClass {
    /// Its name; heads in the one row of a strip are a class of their own.
    pub name: String,
    /// Stations of this design.
    pub stations: usize,
    /// Fewest that the supply, the height and the count of heads allow.
    pub bound: usize,
}

/// What the survey calls what lies in the ground.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SurveyIds {
    /// Heads, in the order of the design.
    pub heads: Vec<String>,
    /// Pipes, likewise; two pieces of one pipe have one id.
    pub pipes: Vec<String>,
    /// Valves, likewise; empty for one that was not drawn.
    pub valves: Vec<String>,
    /// Stations, likewise.
    pub stations: Vec<String>,
}

/// The whole design of one parcel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Design {
    /// Heads.
    pub heads: Vec<Head>,
    /// How each head works, in the order of `heads`; empty when nothing could be solved.
    pub working: Vec<Working>,
    /// The wetted outline of each head, in the order of `heads`, walls taken into account.
    pub throws: Vec<Polygon<f64>>,
    /// Station of each head, in the order of `heads`.
    pub station_of: Vec<Option<usize>>,
    /// Stations.
    pub stations: Vec<Station>,
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Pipes, mains first.
    pub pipes: Vec<Pipe>,
    /// Trenches.
    pub trenches: Vec<Trench>,
    /// Valves.
    pub valves: Vec<Valve>,
    /// Drains.
    pub drains: Vec<Drain>,
    /// Nodes with an air valve.
    pub air_valves: Vec<usize>,
    /// Heads with a check valve, by rising index.
    pub check_valves: Vec<usize>,
    /// What each turf area gets, in the order of the parcel's turf.
    pub turf: Vec<TurfResult>,
    /// Bands of the rate.
    pub coverage: Vec<CoverageBand>,
    /// Profiles used, by model name.
    pub profiles: Vec<(String, Profile)>,
    /// The supply.
    pub supply: Option<SupplyResult>,
    /// Run times.
    pub schedule: Schedule,
    /// Counted material.
    pub takeoff: Vec<TakeoffRow>,
    /// Bounds.
    pub bounds: Bounds,
    /// What of it lay there before; `None` where all is new.
    pub lying: Option<Lying>,
    /// What the survey calls heads, pipes, valves and stations that lie there already; `None` of a new design.
    pub survey_ids: Option<SurveyIds>,
    /// What a person should look at.
    pub findings: Vec<Finding>,
    /// What people call its things.
    pub ids: Ids,
    /// What of it a person's hand holds.
    pub pins: Pins,
}

impl Design {
    /// Length of the trenches that are to be dug, m: all but those that lie already.
    pub fn trench_to_dig_m(&self) -> f64 {
        let lies = |trench: usize| {
            let lying = self.lying.as_ref();
            lying.is_some_and(|lying| lying.trenches.get(trench) == Some(&true))
        };
        let trenches = self.trenches.iter().enumerate();
        let to_dig = trenches.filter(|(index, _)| !lies(*index));
        to_dig.map(|(_, trench)| trench.length_m).sum()
    }

    /// Pipes of one section, with their indices.
    pub fn pipes_of(&self, section: Section) -> impl Iterator<Item = (usize, &Pipe)> {
        self.pipes
            .iter()
            .enumerate()
            .filter(move |(_, pipe)| pipe.section == section)
    }
}
