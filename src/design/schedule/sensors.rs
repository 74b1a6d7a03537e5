//! What the sensors of the controller are set to.

use super::soil::Soil;
use crate::brief::Rules;
use crate::design::model::{MoistureSetting, SensorSettings};

/// Depth of a moisture sensor over that of the roots (common practice, no source).
const SENSOR_DEPTH: f64 = 0.5;

/// Settings for the soils that are watered, equal ones side by side; none without soils.
///
/// A moisture sensor starts watering where the readily available water is used up and stops it at field capacity
/// (FAO-56 equations 82 and 83, numbers from memory; that watering follows them is common practice, no source).
pub fn settings<'a>(soils: impl Iterator<Item = &'a Soil>, rules: &Rules) -> SensorSettings {
    let setting = |soil: &Soil| MoistureSetting {
        soil: soil.name.to_owned(),
        depth_m: SENSOR_DEPTH * rules.root_depth_m,
        start_below: soil.field_capacity - rules.depletion_share * soil.available_share,
        stop_at: soil.field_capacity,
    };
    let mut moisture: Vec<MoistureSetting> = soils.map(setting).collect();
    moisture.dedup_by(|one, other| one.soil == other.soil);
    let rained = rules.rain_sensor_mm > 0.0 && !moisture.is_empty();
    SensorSettings {
        rain_off_mm: rained.then_some(rules.rain_sensor_mm),
        moisture,
    }
}
