//! The schedule: run times by month, and the watering day of the peak month.

use super::water_year::{BudgetFigures, SensorSettings, SoilBalance};

/// One row of the schedule: a station in a month.
#[derive(Debug, Clone, PartialEq)]
pub struct ScheduleRow {
    /// 1 to 12.
    pub month: u32,
    /// Station.
    pub station: usize,
    /// Minutes on a watering day.
    pub minutes: f64,
    /// Cycles the minutes are split into.
    pub cycles: u32,
    /// Pause between cycles, min.
    pub soak_minutes: f64,
    /// Watering days in the month.
    pub days: u32,
    /// Depth applied in the month, mm.
    pub depth_mm: f64,
    /// Water used in the month, m³.
    pub volume_m3: f64,
}

/// One cycle of one station on a watering day of the peak month.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Run {
    /// Station.
    pub station: usize,
    /// Minutes after the start of the watering window.
    pub start_minute: u32,
    /// Minutes the valve is open.
    pub minutes: u32,
}

/// Stations that are open at the same time, and what then is in the pipes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Together {
    /// Stations, by rising index.
    pub stations: Vec<usize>,
    /// Flow of all of them, L/min.
    pub flow_lpm: f64,
    /// Pressure at the source, behind meter and backflow preventer, kPa.
    pub source_kpa: f64,
    /// Least of what any head has over the least working pressure of its model, kPa.
    pub pressure_least_margin_kpa: f64,
    /// Greatest velocity in the mains, m/s.
    pub velocity_most_m_s: f64,
}

/// The schedule of the whole parcel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Schedule {
    /// Rows by month, then station.
    pub rows: Vec<ScheduleRow>,
    /// Reference evapotranspiration of each month, mm/day.
    pub eto_mm_day: [f64; 12],
    /// Effective rain of each month, mm.
    pub effective_rain_mm: [f64; 12],
    /// How ETo was found: `penman-monteith` or `hargreaves`.
    pub method: String,
    /// Minutes of each station on a watering day of the peak month.
    pub peak_minutes: Vec<f64>,
    /// Month of the greatest draw a day, 1 to 12; `None` when nothing needs water.
    pub peak_month: Option<u32>,
    /// Every cycle of a watering day of the peak month, by start, then station.
    pub peak_runs: Vec<Run>,
    /// The sets of two or more stations that are open at once on that day, by their stations; each once.
    pub together: Vec<Together>,
    /// No packing of that day can be shorter than this, h.
    pub peak_bound_h: f64,
    /// Length of the watering day in the peak month with stations packed, h.
    pub peak_window_h: f64,
    /// Whether it fits the watering window.
    pub fits_window: bool,
    /// Water in a year, m³.
    pub year_m3: f64,
    /// The year of the daily record that `balances` follow; `None` for a mean year.
    pub balance_year: Option<i32>,
    /// The soil's water day by day, for each soil and grass.
    pub balances: Vec<SoilBalance>,
    /// The year at full run times, then at nine tenths of them; empty without a schedule.
    pub budgets: Vec<BudgetFigures>,
    /// What the sensors are set to.
    pub sensors: SensorSettings,
}
