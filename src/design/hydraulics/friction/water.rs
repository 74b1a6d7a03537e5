//! How thick water is: its kinematic viscosity by temperature, which Darcy–Weisbach asks for.

/// Range of the temperatures that are answered for, °C.
const RANGE_C: std::ops::RangeInclusive<f64> = 0.0..=40.0;
/// Dynamic viscosity at 20 °C, Pa s (Kestin et al. 1978).
const VISCOSITY_AT_20_PA_S: f64 = 1.002e-3;

/// Kinematic viscosity of water at `celsius` (0 to 40) and the pressure of the air, m²/s; `None` outside.
///
/// Dynamic viscosity by Kestin, Sokolov and Wakeham 1978, J. Phys. Chem. Ref. Data 7(3):941, density by Kell 1975,
/// J. Chem. Eng. Data 20(1):97; both from memory, and within 0.1 % of IAPWS-95 and IAPWS 2008 from 5 to 30 °C.
///
/// ```
/// # use swardline::design::hydraulics::friction::water_viscosity_m2_s;
/// let viscosity = water_viscosity_m2_s(20.0).unwrap_or_default();
/// assert!((viscosity - 1.0034e-6).abs() < 0.002e-6);
/// ```
pub fn water_viscosity_m2_s(celsius: f64) -> Option<f64> {
    let told = RANGE_C.contains(&celsius);
    told.then(|| dynamic_pa_s(celsius) / density_kg_m3(celsius))
}

fn dynamic_pa_s(celsius: f64) -> f64 {
    let below = 20.0 - celsius;
    let log10 = below / (celsius + 96.0) * (1.2364 + below * (-1.37e-3 + below * 5.7e-6));
    VISCOSITY_AT_20_PA_S * 10f64.powf(log10)
}

fn density_kg_m3(celsius: f64) -> f64 {
    let terms = [
        999.839_52,
        16.945_176,
        -7.987_040_1e-3,
        -46.170_461e-6,
        105.563_02e-9,
        -280.542_53e-12,
    ];
    let sum = terms
        .iter()
        .rev()
        .fold(0.0, |sum, term| sum * celsius + term);
    sum / (1.0 + 16.879_85e-3 * celsius)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn warm_water_is_thinner() {
        let values: Vec<f64> = (0..=400)
            .map(|tenths| water_viscosity_m2_s(f64::from(tenths) / 10.0).unwrap())
            .collect();
        assert!(values.windows(2).all(|pair| pair[1] < pair[0]));
    }

    #[test]
    fn ice_and_steam_are_not_answered_for() {
        for celsius in [-0.1, 40.1, f64::NAN] {
            assert_eq!(water_viscosity_m2_s(celsius), None);
        }
    }
}
