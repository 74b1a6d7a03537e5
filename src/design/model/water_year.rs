//! The water of the soil day by day over a year, and what follows from it: sensor settings, and what less water does.

/// One day of a soil store under turf, as depths over its ground in mm.
///
/// The day closes: depletion before - depletion after = rain + irrigation - runoff - percolation - `actual_et_mm`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BalanceDay {
    /// Rain.
    pub rain_mm: f64,
    /// Water of heads that reaches the soil of the average place.
    pub irrigation_mm: f64,
    /// Rain and irrigation that the soil does not take in.
    pub runoff_mm: f64,
    /// Water that sinks below the roots.
    pub percolation_mm: f64,
    /// What well-watered turf would use.
    pub turf_et_mm: f64,
    /// What the turf uses: less than `turf_et_mm` under stress.
    pub actual_et_mm: f64,
    /// Water missing to field capacity at the end of the day.
    pub depletion_mm: f64,
}

/// A year of one soil and grass, and the stations that stand on it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SoilBalance {
    /// Texture class.
    pub soil: String,
    /// `cool` or `warm`.
    pub grass: String,
    /// Stations, by rising index.
    pub stations: Vec<usize>,
    /// Water the roots can reach, field capacity to wilting point, mm.
    pub available_mm: f64,
    /// The part of it that may be used before the turf is short of water, mm.
    pub readily_available_mm: f64,
    /// Depletion before the first day, mm.
    pub start_depletion_mm: f64,
    /// 365 or 366 days from 1 January.
    pub days: Vec<BalanceDay>,
}

/// A year's water with full and with cut run times.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct BudgetFigures {
    /// Share of the run times that is run: 1, or less where the budget is cut.
    pub share: f64,
    /// Water drawn in the year, m³.
    pub year_m3: f64,
    /// Greatest number of days on which any of the soils is short of water, at its average place.
    pub stress_days: u32,
    /// Least of what the turf of any soil uses over what it would use well watered, in the year, 0 to 1, at the average
    /// place.
    pub et_share: f64,
    /// `stress_days` in the quarter of the ground that gets least.
    pub dry_quarter_stress_days: u32,
    /// `et_share` in the quarter of the ground that gets least.
    pub dry_quarter_et_share: f64,
}

/// What the sensors of the controller are set to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SensorSettings {
    /// Rain that stops watering, mm; `None` without a rain sensor.
    pub rain_off_mm: Option<f64>,
    /// One setting a soil; empty without moisture sensors.
    pub moisture: Vec<MoistureSetting>,
}

/// A moisture sensor's setting in one soil.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MoistureSetting {
    /// Texture class.
    pub soil: String,
    /// Depth of the sensor below the surface, m.
    pub depth_m: f64,
    /// Water in the soil below which watering starts, share of volume.
    pub start_below: f64,
    /// Water in the soil at field capacity, at which watering stops, share of volume.
    pub stop_at: f64,
}
