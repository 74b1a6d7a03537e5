//! Prices and unit rates, all optional: without them the take-off counts and does not cost.

/// What the take-off multiplies its counts by. `None` leaves the cost empty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prices {
    /// Currency word, e.g. `EUR`; only printed.
    pub currency: Option<String>,
    /// Whether the catalogue's prices of heads, pipe and valves are to be used.
    pub use_catalogue: bool,
    /// Trench, per metre by machine.
    pub trench_per_m: Option<f64>,
    /// Trench by hand in root zones, per metre.
    pub hand_dug_per_m: Option<f64>,
    /// Sleeve under paving, per metre.
    pub sleeve_per_m: Option<f64>,
    /// Wire, per metre of conductor.
    pub wire_per_m: Option<f64>,
    /// One pipe fitting.
    pub fitting: Option<f64>,
    /// One valve box.
    pub valve_box: Option<f64>,
    /// One drain valve.
    pub drain: Option<f64>,
    /// One air valve.
    pub air_valve: Option<f64>,
    /// Gravel, per litre.
    pub gravel_per_l: Option<f64>,
    /// Controller, per output.
    pub controller_per_output: Option<f64>,
    /// Water, per m³.
    pub water_per_m3: Option<f64>,
}
