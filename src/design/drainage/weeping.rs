//! Heads that would weep: water of higher pipe runs out of the lowest heads after every watering.

/// A head and the section behind its valve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowHead {
    /// Station.
    pub station: usize,
    /// Height of its nozzle, m.
    pub nozzle_m: f64,
}

/// Height of water that can stand in the pipe above each head once its valve has shut, m, never below 0.
///
/// `highest_m` is the highest invert of each station. A head of a station that is not there has none above it.
pub fn standing_above_m(heads: &[LowHead], highest_m: &[f64]) -> Vec<f64> {
    heads
        .iter()
        .map(|head| {
            let highest_m = highest_m.get(head.station).copied();
            let above_m = highest_m.map_or(0.0, |highest_m| highest_m - head.nozzle_m);
            if above_m.is_finite() {
                above_m.max(0.0)
            } else {
                0.0
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_water_higher_than_the_nozzle_of_its_own_station_counts() {
        let head = |station, nozzle_m| LowHead { station, nozzle_m };
        let heads = [
            head(0, 10.0),
            head(0, 12.2),
            head(1, 10.0),
            head(7, 0.0),
            head(0, f64::NAN),
        ];
        let above_m = standing_above_m(&heads, &[12.0, 9.7]);
        assert_eq!(above_m, vec![2.0, 0.0, 0.0, 0.0, 0.0]);
    }
}
