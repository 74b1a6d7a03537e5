//! How thick water is: its kinematic viscosity by temperature, which Darcy–Weisbach asks for.

/// Range of the temperatures that are answered for, °C.
const RANGE_C: std::ops::RangeInclusive<f64> = 0.0..=40.0;
/// Factors (µPa s) and exponents of the dynamic viscosity at 0.1 MPa.
const DYNAMIC: [(f64, f64); 4] = [
    (280.68, -1.9),
    (511.45, -7.7),
    (61.131, -19.6),
    (0.459_03, -40.0),
];

/// Kinematic viscosity of water at `celsius` (0 to 40) and the pressure of the air, m²/s; `None` outside.
///
/// Dynamic viscosity by the correlation for 0.1 MPa of IAPWS SR6-08 (2011), density by Tanaka et al. 2001, Metrologia
/// 38(4):301; both from memory.
pub fn water_viscosity_m2_s(celsius: f64) -> Option<f64> {
    let told = RANGE_C.contains(&celsius);
    told.then(|| dynamic_pa_s(celsius) / density_kg_m3(celsius))
}

fn dynamic_pa_s(celsius: f64) -> f64 {
    let ratio = (celsius + 273.15) / 300.0;
    let terms = DYNAMIC.map(|(factor, exponent)| factor * ratio.powf(exponent));
    1e-6 * terms.iter().sum::<f64>()
}

fn density_kg_m3(celsius: f64) -> f64 {
    let fall =
        (celsius - 3.983_035).powi(2) * (celsius + 301.797) / (522_528.9 * (celsius + 69.348_81));
    999.974_95 * (1.0 - fall)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// °C, m²/s by IAPWS-95 and IAPWS 2008, computed with the library iapws 1.5.5.
    const IAPWS: [(f64, f64); 6] = [
        (5.0, 1.5182e-6),
        (10.0, 1.3063e-6),
        (15.0, 1.1386e-6),
        (20.0, 1.0034e-6),
        (25.0, 0.8927e-6),
        (30.0, 0.8007e-6),
    ];

    #[test]
    fn agrees_with_the_international_formulation() {
        for (celsius, expected) in IAPWS {
            let viscosity = water_viscosity_m2_s(celsius).unwrap();
            assert!(
                (viscosity / expected - 1.0).abs() < 5e-4,
                "{celsius}: {viscosity}"
            );
        }
    }

    #[test]
    fn ice_and_steam_are_not_answered_for() {
        for celsius in [-0.1, 40.1, f64::NAN] {
            assert_eq!(water_viscosity_m2_s(celsius), None);
        }
    }
}
