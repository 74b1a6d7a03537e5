//! The rules of a design: every number a designer may set, with its default, unit and source.
//!
//! One table makes the struct, the defaults, the reading of `[rules]` and the printed list, so that they cannot drift.

/// What a rule's value is and where it comes from, for `swardline rules`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleInfo {
    /// Key in `[rules]`.
    pub name: &'static str,
    /// Built-in value.
    pub default: f64,
    /// Least value accepted.
    pub least: f64,
    /// Greatest value accepted.
    pub greatest: f64,
    /// Unit, or `share`, `yes/no` (1 or 0), `count`.
    pub unit: &'static str,
    /// Published source, or "common practice, no source".
    pub source: &'static str,
    /// What it decides.
    pub meaning: &'static str,
}

macro_rules! rules {
    ($($name:ident = $default:literal, $least:literal ..= $greatest:literal, $unit:literal, $source:expr, $meaning:literal;)*) => {
        /// The rules of a design. Every field is a number in the unit its name carries.
        #[derive(Debug, Clone, PartialEq)]
        pub struct Rules { $(#[doc = $meaning] pub $name: f64,)* }

        impl Default for Rules {
            fn default() -> Self { Self { $($name: $default,)* } }
        }

        impl Rules {
            /// Every rule, in the order they are printed.
            pub const TABLE: &'static [RuleInfo] = &[$(RuleInfo {
                name: stringify!($name), default: $default, least: $least, greatest: $greatest, unit: $unit, source: $source, meaning: $meaning,
            },)*];

            /// The value of the rule of that name.
            pub fn get(&self, name: &str) -> Option<f64> {
                match name { $(stringify!($name) => Some(self.$name),)* _ => None }
            }

            /// Sets a rule by name; `false` when there is no such rule. The caller checks the range first.
            pub fn set(&mut self, name: &str, value: f64) -> bool {
                match name { $(stringify!($name) => { self.$name = value; true })* _ => false }
            }
        }
    };
}

const PRACTICE: &str = "common practice, no source";

rules! {
    // supply
    supply_margin = 0.10, 0.0..=0.5, "share", PRACTICE, "Share of the supply's flow that is not planned with.";
    // heads
    head_spacing_ratio = 1.0, 0.6..=1.2, "share of radius", PRACTICE, "Spacing of heads over their radius; 1 is head to head.";
    wind_m_s = 0.0, 0.0..=8.0, "m/s", "SCS/NRCS practice, National Engineering Handbook 623 chapter 11, conservation practice code 442 (from memory)", "Wind while watering: head_spacing_ratio holds in still air; it is multiplied by 0.923 up to 2 m/s, 0.769 up to 4.5 m/s, 0.462 above.";
    throw_fall_deg = 60.0, 20.0..=85.0, "degrees", PRACTICE, "Angle below the horizontal at which drops come down at the end of a throw; the steeper, the less a slope shortens the throw uphill.";
    head_setback_m = 0.12, 0.0..=0.5, "m", PRACTICE, "Distance of heads from the turf's edge.";
    strip_least_m = 1.2, 0.3..=3.0, "m", PRACTICE, "Turf narrower than this is not watered by heads and is reported.";
    turf_least_m2 = 4.0, 0.0..=100.0, "m2", PRACTICE, "Turf pieces smaller than this are not watered and are reported.";
    one_row_most_m = 2.5, 0.0..=4.0, "m", PRACTICE, "Strips up to this wide get one row of heads along a side, at half the rate and less evenly; 0 gives all two rows.";
    du_one_row_least = 0.40, 0.1..=0.95, "share", PRACTICE, "Uniformity below which a strip with one row is told, in place of du_least.";
    du_target = 0.80, 0.3..=0.95, "share", PRACTICE, "Distribution uniformity of the low quarter that heads are placed for.";
    du_least = 0.70, 0.3..=0.95, "share", PRACTICE, "Uniformity below which a turf area is told.";
    low_quarter_least = 0.75, 0.0..=1.0, "share", PRACTICE, "Mean depth of the driest quarter over the depth that the spacing is to give; uniformity alone would be content with little water everywhere.";
    dry_target = 0.006, 0.0..=0.2, "share", PRACTICE, "Share of a piece of turf that may get less than 0.3 of the mean, aimed at.";
    dry_most = 0.02, 0.0..=0.2, "share", PRACTICE, "Dry share above which a turf area is told.";
    overspray_target = 0.014, 0.0..=0.5, "share", PRACTICE, "Share of the water that may fall on anything but turf, aimed at.";
    overspray_most = 0.05, 0.0..=0.5, "share", PRACTICE, "Overspray above which a turf area is told.";
    overspray_weight = 1.5, 0.0..=10.0, "weight", PRACTICE, "Weight of water off the turf against a deficit on it, in the search.";
    overspray_building = 12.0, 0.0..=20.0, "weight", PRACTICE, "Weight of water on buildings, over that on plain ground.";
    walls_dry = 1.0, 0.0..=1.0, "yes/no", PRACTICE, "Whether throws are kept off buildings altogether; if not, water on them is only weighed, by overspray_building.";
    overspray_paving = 1.1, 0.0..=20.0, "weight", PRACTICE, "Weight of water on roads and paths.";
    overspray_bed = 0.9, 0.0..=20.0, "weight", PRACTICE, "Weight of water on beds.";
    overspray_water = 0.9, 0.0..=20.0, "weight", PRACTICE, "Weight of water on ponds and streams.";
    overspray_tree = 0.15, 0.0..=20.0, "weight", PRACTICE, "Weight of water on the pits of trees, which heads cannot spare.";
    overspray_plain = 1.0, 0.0..=20.0, "weight", PRACTICE, "Weight of water on ground that is neither turf nor obstacle.";
    overspray_other_turf = 0.25, 0.0..=20.0, "weight", PRACTICE, "Weight of water on other turf, which has heads of its own.";
    head_distance_least = 0.45, 0.0..=0.9, "share of radius", PRACTICE, "Least distance of two heads over the smaller radius.";
    head_price = 0.25, 0.02..=2.0, "weight", PRACTICE, "What a head must be worth to stay: evenness won, over the square of its radius.";
    head_roots = 8.0, 0.0..=100.0, "weight", PRACTICE, "How many heads one counts for more that stands 4 m inside a root zone, less nearer to the edge and on parcels with few trees; more means less digging by hand and less even water.";
    search_effort = 1.0, 0.1..=20.0, "factor", PRACTICE, "Effort of the search for fewer heads, shorter trenches and cheaper stations; more takes longer.";
    lp_estimate_most_m2 = 500.0, 0.0..=1000000.0, "m2", PRACTICE, "Greatest turf area for which the fewest heads are estimated by a linear programme, beside the proven bound by area; 0 estimates none.";
    // stations
    station_elevation_spread_m = 5.0, 0.5..=30.0, "m", PRACTICE, "Greatest difference of ground height between heads of one station.";
    station_heads_most = 40.0, 1.0..=200.0, "count", PRACTICE, "Greatest number of heads on one station.";
    station_rate_spread = 0.10, 0.0..=0.5, "share", PRACTICE, "Greatest departure of a head's rate from the rate its class is matched to.";
    // trenches
    cost_turf = 1.0, 0.1..=100.0, "per m", PRACTICE, "Price of a metre of trench in turf; the other prices are relative to it.";
    cost_bare = 1.0, 0.1..=100.0, "per m", PRACTICE, "Price of a metre of trench in ground that is neither turf nor obstacle.";
    cost_bed = 3.0, 0.1..=100.0, "per m", PRACTICE, "Price of a metre of trench through beds.";
    cost_paving = 8.0, 0.1..=1000.0, "per m", PRACTICE, "Price of a metre under paving.";
    cost_crossing = 15.0, 0.0..=1000.0, "each", PRACTICE, "Price of each crossing of paving, beside its metres.";
    cost_roots = 120.0, 1.0..=1000.0, "per m", PRACTICE, "Price of a metre dug by hand in a root zone: what it costs the crew, and the tree.";
    cost_bend = 2.0, 0.0..=50.0, "each", PRACTICE, "Price of a bend of 90 degrees in a trench; smaller bends cost in proportion.";
    cost_junction = 0.5, 0.0..=50.0, "each", PRACTICE, "Price of a place where trenches meet away from any head.";
    cost_slope = 4.0, 0.0..=20.0, "per m", PRACTICE, "Rise of the trench price with slope: factor 1 + cost_slope x slope.";
    wall_distance_m = 0.3, 0.0..=5.0, "m", PRACTICE, "Least distance of trenches from buildings and water.";
    roots_forbidden = 0.0, 0.0..=1.0, "yes/no", PRACTICE, "Whether root zones may not be dug even by hand.";
    // hydraulics and sizing
    velocity_most_m_s = 1.5, 0.3..=3.0, "m/s", PRACTICE, "Greatest velocity in pipe.";
    station_pressure_spread = 0.20, 0.02..=0.5, "share", "Christiansen 1942, Univ. California Agr. Exp. Sta. Bull. 670 (from memory)", "Greatest spread of pressure inside a station over the heads' reference pressure (flow within about 10 %).";
    pressure_reserve_kpa = 5.0, 0.0..=100.0, "kPa", PRACTICE, "Pressure kept in hand at every head above its least working pressure.";
    rating_reserve = 0.0, 0.0..=0.5, "share", PRACTICE, "Share of a pipe's rating that static pressure may not use.";
    valve_closing_s = 2.0, 0.0..=60.0, "s", PRACTICE, "Time in which a control valve stops the water; pipe before it must bear the surge.";
    pipe_modulus_gpa = 1.0, 0.05..=250.0, "GPa", "PE 100 short-term, from memory; PVC-U is about 3, steel 200", "Stiffness of the pipe's material, on which the surge depends.";
    darcy_weisbach = 0.0, 0.0..=1.0, "yes/no", "Rossman et al. 2020, EPA/600/R-20/133, table 3.1 and chapter 12; Colebrook 1939, J. ICE 11(4):133", "Whether friction is reckoned by Darcy and Weisbach with the pipe's roughness_mm and the water's viscosity, not by Hazen and Williams with its roughness_c.";
    water_temperature_c = 15.0, 0.0..=40.0, "degrees C", PRACTICE, "Temperature of the water, for its viscosity; only counts with darcy_weisbach.";
    valve_box_valves = 4.0, 1.0..=12.0, "count", PRACTICE, "Control valves that share one box.";
    // drainage
    drain = 1.0, 0.0..=1.0, "yes/no", PRACTICE, "Whether the pipe must drain by gravity (ground that freezes).";
    lateral_cover_min_m = 0.30, 0.10..=1.5, "m", PRACTICE, "Least cover of laterals; local frost depth and code decide.";
    lateral_cover_max_m = 0.60, 0.15..=3.0, "m", PRACTICE, "Greatest cover of laterals.";
    main_cover_min_m = 0.45, 0.10..=1.5, "m", PRACTICE, "Least cover of mains; local frost depth and code decide.";
    main_cover_max_m = 0.90, 0.15..=3.0, "m", PRACTICE, "Greatest cover of mains.";
    drain_grade = 0.002, 0.0005..=0.05, "m/m", PRACTICE, "Least grade at which pipe drains.";
    vertical_tolerance_m = 0.02, 0.001..=0.2, "m", PRACTICE, "Lows shallower than this are levelled in the trench and get no drain.";
    gravel_voids = 0.35, 0.2..=0.5, "share", PRACTICE, "Share of a gravel pit that water can fill.";
    blow_out = 0.0, 0.0..=1.0, "yes/no", PRACTICE, "Whether the pipe is emptied by compressed air before winter; it then gets a connection for the compressor.";
    check_valve_drop_m = 0.6, 0.0..=50.0, "m", PRACTICE, "A head gets a check valve where water in the pipe of its station can stand higher above it than this; else it would run out of the lowest heads.";
    check_valve_holds_m = 3.0, 0.1..=50.0, "m", PRACTICE, "Height of water that a check valve in a head holds back; heads with more are told.";
    trench_width_m = 0.20, 0.05..=1.0, "m", PRACTICE, "Width of a trench.";
    bedding_sand_m = 0.05, 0.0..=0.3, "m", PRACTICE, "Sand under the pipe and as much above it; 0 for none, where the ground has no stones.";
    // wire
    valve_current_a = 0.40, 0.01..=5.0, "A", PRACTICE, "Current of one electric valve as it opens.";
    wire_drop_v = 4.0, 0.1..=20.0, "V", PRACTICE, "Voltage that wire may lose on the way to a valve and back.";
    // schedule
    watering_window_h = 8.0, 0.5..=24.0, "h", PRACTICE, "Hours a day in which watering may run.";
    watering_days_per_week = 7.0, 1.0..=7.0, "count", PRACTICE, "Days a week on which watering may run.";
    root_depth_m = 0.20, 0.05..=1.0, "m", PRACTICE, "Depth of the watered root zone of mown turf.";
    depletion_share = 0.50, 0.1..=0.8, "share", "Allen et al. 1998, FAO-56, table 22 (0.40 cool, 0.50 warm season)", "Share of the available water that may be used before watering.";
    rain_event_mm = 8.0, 1.0..=100.0, "mm", PRACTICE, "Most rain in one of the equal events that a mean month's rain is taken to fall in; only counts without a complete year of days.";
    rain_sensor_mm = 12.0, 0.0..=50.0, "mm", PRACTICE, "Rain of the day or of the day before above which the rain sensor skips a watering day; 0 is no sensor. Run times already leave out a mean month's rain, so a fine setting counts it twice.";
    season_first_month = 1.0, 1.0..=12.0, "month", PRACTICE, "First month in which watering may run.";
    season_last_month = 12.0, 1.0..=12.0, "month", PRACTICE, "Last month in which watering may run.";
    // existing systems
    existing_snap_m = 0.15, 0.005..=2.0, "m", PRACTICE, "Ends of surveyed pipe, heads and valves that lie this near to each other are joined.";
    existing_gap_m = 1.0, 0.0..=5.0, "m", PRACTICE, "A loose end of surveyed pipe or a head this near to its station's pipe is taken for a slip of the drawing: joined, and told.";
    existing_lateral_mm = 0.0, 0.0..=500.0, "mm", PRACTICE, "Inside diameter assumed for surveyed laterals without a size; 0 assumes none and asks for it.";
    existing_main_mm = 0.0, 0.0..=1000.0, "mm", PRACTICE, "The same for mains.";
    // terrain
    relief_absurd_share = 0.60, 0.1..=5.0, "m/m", PRACTICE, "Mean slope of a parcel above which the raster's unit is doubted (feet or centimetres read as metres).";
    terrain_gap_most = 0.02, 0.0..=1.0, "share", PRACTICE, "Greatest share of the turf over which the raster may lack data; gaps within it are bridged and reported.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_default_lies_in_its_own_range_and_is_found_by_name() {
        let rules = Rules::default();
        for info in Rules::TABLE {
            assert!(
                (info.least..=info.greatest).contains(&info.default),
                "{}",
                info.name
            );
            assert_eq!(rules.get(info.name), Some(info.default));
            assert!(!info.source.is_empty() && !info.meaning.is_empty());
        }
    }

    #[test]
    fn setting_reaches_the_field_and_refuses_a_strange_name() {
        let mut rules = Rules::default();
        assert!(rules.set("velocity_most_m_s", 1.2));
        assert_eq!(rules.velocity_most_m_s, 1.2);
        assert!(!rules.set("velocity", 1.2));
    }
}
