//! Units: every conversion of the program stands here, once.
//!
//! Inside the program lengths are metres, times seconds, flows m³/s and heads metres of water.
//! Files and people speak litres per minute, kilopascals and millimetres.

/// Standard gravity, m/s² (exact, 3rd General Conference on Weights and Measures, 1901).
pub const GRAVITY_M_S2: f64 = 9.806_65;

/// Kilopascals in one conventional metre of water (density 1000 kg/m³, exact).
pub const KPA_PER_METRE: f64 = 9.806_65;

/// Metres in one international foot (exact).
pub const METRES_PER_FOOT: f64 = 0.3048;

/// Metres in one US survey foot (exact: 1200/3937).
pub const METRES_PER_US_SURVEY_FOOT: f64 = 1200.0 / 3937.0;

/// Kilopascals from metres of water.
pub fn kpa_from_head_m(head_m: f64) -> f64 {
    head_m * KPA_PER_METRE
}

/// Metres of water from kilopascals.
pub fn head_m_from_kpa(kpa: f64) -> f64 {
    kpa / KPA_PER_METRE
}

/// Litres per minute from m³/s.
pub fn lpm_from_m3s(flow_m3s: f64) -> f64 {
    flow_m3s * 60_000.0
}

/// m³/s from litres per minute.
pub fn m3s_from_lpm(flow_lpm: f64) -> f64 {
    flow_lpm / 60_000.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_metre_of_water_and_a_litre_a_minute_go_there_and_back() {
        assert!((kpa_from_head_m(10.0) - 98.0665).abs() < 1e-12);
        assert!((head_m_from_kpa(98.0665) - 10.0).abs() < 1e-12);
        assert!((lpm_from_m3s(0.001) - 60.0).abs() < 1e-12);
        assert!((m3s_from_lpm(60.0) - 0.001).abs() < 1e-18);
    }
}
