//! Reading of `[prices]`.

use crate::brief::prices::Prices;
use crate::brief::problems::Problems;
use crate::brief::table::{NOT_NEGATIVE, TableReader};

/// The prices of the project. `own_catalogue` tells whether the project brings a catalogue,
/// whose prices then count unless `use_catalogue` says otherwise.
pub(crate) fn read(
    reader: &mut TableReader<'_>,
    own_catalogue: bool,
    problems: &mut Problems,
) -> Prices {
    let mut price = |key| reader.number(key, NOT_NEGATIVE, problems);
    let mut prices = Prices {
        currency: None,
        use_catalogue: own_catalogue,
        trench_per_m: price("trench_per_m"),
        hand_dug_per_m: price("hand_dug_per_m"),
        sleeve_per_m: price("sleeve_per_m"),
        wire_per_m: price("wire_per_m"),
        fitting: price("fitting"),
        valve_box: price("valve_box"),
        drain: price("drain"),
        air_valve: price("air_valve"),
        gravel_per_l: price("gravel_per_l"),
        controller_per_output: price("controller_per_output"),
        water_per_m3: price("water_per_m3"),
    };
    prices.currency = reader.text("currency", problems);
    if let Some(flag) = reader.flag("use_catalogue", problems) {
        prices.use_catalogue = flag;
    }
    prices
}
