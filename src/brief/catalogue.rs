//! The catalogue: heads, nozzles, pipe and valves that a design may use.
//!
//! The built-in catalogue is generic and invented; it stands for no maker's goods. Reading and checking of a catalogue file is in `catalogue_file.rs`.

use serde::Serialize;

/// How the depth of water falls off from the head to the end of its throw; `t` is distance over radius.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Profile {
    /// `3 (1 - t)`: falls linearly.
    Cone,
    /// `2 (1 - t²)`.
    Parabola,
    /// `1.5 √(1 - t²)`.
    Ellipse,
    /// The same depth everywhere.
    Uniform,
}

/// One nozzle of a head model.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Nozzle {
    /// Name within its model, unique there.
    pub name: String,
    /// Least and greatest sweep it may be set to, degrees; 360 is a full circle.
    pub sweep_min_deg: f64,
    /// See `sweep_min_deg`.
    pub sweep_max_deg: f64,
    /// Flow at the model's reference pressure, L/min. For nozzles whose flow follows the arc this is the flow of the full circle.
    pub flow_lpm: f64,
    /// Whether the flow is in proportion to the sweep (`true`) or fixed (`false`).
    pub flow_follows_arc: bool,
}

/// One model of head.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeadModel {
    /// Name, unique in the catalogue.
    pub name: String,
    /// `spray`, `stream` or `rotor`: for the take-off and for reading.
    pub family: String,
    /// Precipitation class: heads of one class may stand on one station.
    pub rate_class: String,
    /// Rate the nozzles are matched to at head-to-head square spacing, mm/h.
    pub rate_mm_h: f64,
    /// Least radius it can be set to, m.
    pub radius_min_m: f64,
    /// Radius at the reference pressure, unreduced, m.
    pub radius_max_m: f64,
    /// Least working pressure, kPa at the nozzle.
    pub pressure_min_kpa: f64,
    /// Pressure for which flow and radius are given, kPa at the nozzle.
    pub pressure_ref_kpa: f64,
    /// Greatest working pressure, kPa at the nozzle.
    pub pressure_max_kpa: f64,
    /// Exponent x of flow `q = q_ref (p / p_ref)^x`.
    pub flow_exponent: f64,
    /// Exponent of the unreduced radius `r = r_max (p / p_ref)^x`.
    pub radius_exponent: f64,
    /// Radial profile of the depth.
    pub profile: Profile,
    /// Height of the pop-up, mm.
    pub popup_mm: f64,
    /// Loss in riser and swing joint at the flow `joint_flow_lpm`, kPa (grows with the square of the flow).
    pub joint_loss_kpa: f64,
    /// See `joint_loss_kpa`.
    pub joint_flow_lpm: f64,
    /// Nozzles, by rising flow.
    pub nozzles: Vec<Nozzle>,
    /// Price of head with nozzle and joint, in the currency of the prices.
    pub price: f64,
}

/// The law by which friction in pipe is reckoned; the rule `darcy_weisbach` chooses it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Friction {
    /// Hazen–Williams, by `roughness_c`.
    #[default]
    HazenWilliams,
    /// Darcy–Weisbach, by `roughness_mm`.
    DarcyWeisbach {
        /// Kinematic viscosity of the water, m²/s.
        viscosity_m2_s: f64,
    },
}

/// One size of pipe.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PipeSize {
    /// Nominal size, e.g. `40`; unique in its material.
    pub nominal: String,
    /// Material word, e.g. `pe`.
    pub material: String,
    /// Outside diameter, mm.
    pub outside_mm: f64,
    /// Inside diameter, mm.
    pub inside_mm: f64,
    /// Hazen–Williams C for design.
    pub roughness_c: f64,
    /// Roughness of the wall for Darcy–Weisbach, mm, 0 to a twentieth of the inside diameter.
    pub roughness_mm: f64,
    /// Law of friction in it: not of the catalogue, but of the rules; a catalogue as read has the default.
    #[serde(skip)]
    pub friction: Friction,
    /// Greatest static pressure it is rated for, kPa.
    pub rating_kpa: f64,
    /// Length of a coil or bar as sold, m.
    pub coil_m: f64,
    /// Price per metre.
    pub price_per_m: f64,
    /// Whether it only lies in the ground already and is not to be had any more.
    #[serde(skip)]
    pub only_laid: bool,
}

impl PipeSize {
    /// Wall roughness of plastic, mm (Rossman et al. 2020, EPA/600/R-20/133, table 3.2: 0.005e-3 ft).
    pub const PLASTIC_ROUGHNESS_MM: f64 = 0.0015;
}

/// One size of control valve.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ValveSize {
    /// Nominal size, e.g. `DN25`.
    pub size: String,
    /// Greatest flow it should carry, L/min.
    pub flow_max_lpm: f64,
    /// Loss at `flow_max_lpm`, kPa (grows with the square of the flow).
    pub loss_kpa: f64,
    /// Price.
    pub price: f64,
}

/// All that a design may choose from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Catalogue {
    /// Where it comes from, printed with every result.
    pub origin: String,
    /// Head models, by falling radius.
    pub heads: Vec<HeadModel>,
    /// Pipe sizes, by rising inside diameter.
    pub pipes: Vec<PipeSize>,
    /// Control valves, by rising flow.
    pub valves: Vec<ValveSize>,
}
