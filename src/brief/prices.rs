//! Prices and unit rates, all optional: without them the take-off counts and does not cost.

use crate::brief::price_list::PriceList;

macro_rules! prices {
    ($($name:ident: $meaning:literal;)*) => {
        /// What the take-off multiplies its counts by. `None` leaves the cost empty.
        #[derive(Debug, Clone, PartialEq, Default)]
        pub struct Prices {
            /// Currency word, e.g. `EUR`; only printed.
            pub currency: Option<String>,
            /// Whether the catalogue's prices of heads, pipe and valves are to be used.
            pub use_catalogue: bool,
            /// Prices of single lines; they go before all others.
            pub list: Option<PriceList>,
            $(#[doc = $meaning] pub $name: Option<f64>,)*
        }

        impl Prices {
            /// Every price in `[prices]`, and what it is of.
            pub const TABLE: &'static [(&'static str, &'static str)] = &[$((stringify!($name), $meaning),)*];

            /// Sets every price from what `read` finds under its name.
            pub(crate) fn read_each(&mut self, mut read: impl FnMut(&'static str) -> Option<f64>) {
                $(self.$name = read(stringify!($name));)*
            }
        }
    };
}

prices! {
    trench_per_m: "Trench, per metre by machine.";
    hand_dug_per_m: "Trench by hand in root zones, per metre.";
    sleeve_per_m: "Sleeve under paving, per metre.";
    wire_per_m: "Wire, per metre of conductor.";
    nozzle: "One nozzle, exchanged in a head that stands already.";
    fitting: "One pipe fitting.";
    valve_box: "One valve box.";
    hand_valve: "One valve that is no control valve.";
    drain: "One drain valve.";
    flush_point: "One flushing point.";
    air_valve: "One air valve.";
    air_connection: "The connection for a compressor.";
    check_valve: "One check valve in a head.";
    gravel_per_l: "Gravel, per litre.";
    sand_per_m3: "Sand for bedding, per m³.";
    spoil_per_m3: "Carting away what the trench leaves over, per m³.";
    controller_per_output: "Controller, per output.";
    rain_sensor: "One rain sensor.";
    water_per_m3: "Water, per m³.";
    labour_head: "Labour: setting one head.";
    labour_pipe_per_m: "Labour: laying pipe, per metre.";
    labour_fitting: "Labour: one fitting.";
    labour_valve: "Labour: one valve of any kind, drain and air valves too.";
    labour_box: "Labour: one valve box.";
    labour_wire_per_m: "Labour: laying wire, per metre of conductor.";
    labour_backfill_per_m: "Labour: filling a trench and mending the turf, per metre.";
}
