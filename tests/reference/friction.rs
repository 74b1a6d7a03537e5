//! Friction and fittings against a public solver and published formulas.

use swardline::design::hydraulics::friction::{
    Bore, Turbulent, WATER_VISCOSITY_M2_S, friction_factor,
};
use swardline::design::hydraulics::minor;
use swardline::design::hydraulics::viscosity::water_viscosity_m2_s;

fn close(found: f64, expected: f64, relative: f64, what: &str) {
    let off = (found / expected - 1.0).abs();
    assert!(
        off < relative,
        "{what}: {found} for {expected}, off by {off:e}"
    );
}

/// L/s, mm, C, m; head loss in m as EPANET 2.3.5 gives it (owa-epanet).
const HAZEN_WILLIAMS: [(f64, f64, f64, f64, f64); 5] = [
    (0.5, 26.6, 150.0, 100.0, 3.604_159),
    (1.0, 35.1, 150.0, 100.0, 3.370_692),
    (2.0, 40.9, 150.0, 100.0, 5.777_145),
    (2.0, 40.9, 130.0, 100.0, 7.530_282),
    (10.0, 102.3, 140.0, 1000.0, 14.869_544),
];

#[test]
fn hazen_williams_agrees_with_the_public_solver() {
    for (lps, mm, c, length_m, expected_m) in HAZEN_WILLIAMS {
        let bore = Bore::hazen_williams(mm / 1e3, c).unwrap();
        // 2e-5: its cubic foot is 28.317 L, ours is exact.
        close(bore.loss_m(length_m, lps / 1e3), expected_m, 2e-5, "loss");
    }
}

/// Re, ε/d, Colebrook (fluids 1.3.1; the first is that library's own test), Swamee–Jain.
const FACTORS: [(f64, f64, f64, f64); 5] = [
    (1e5, 1e-4, 0.018_513_866_1, 0.018_452_445_3),
    (1e4, 0.0, 0.030_882_950_4, 0.030_972_096_5),
    (1e4, 1e-3, 0.032_381_806_4, 0.032_665_345_3),
    (5e4, 5e-5, 0.021_071_198_5, 0.020_965_430_7),
    (1e6, 1e-5, 0.011_869_544_8, 0.011_853_158_1),
];

#[test]
fn friction_factors_agree_with_an_independent_library() {
    for (reynolds, roughness, colebrook, swamee_jain) in FACTORS {
        let found = friction_factor(reynolds, roughness, Turbulent::Colebrook);
        close(found, colebrook, 1e-8, "Colebrook");
        let found = friction_factor(reynolds, roughness, Turbulent::SwameeJain);
        close(found, swamee_jain, 1e-8, "Swamee-Jain");
    }
}

/// L/s, mm, roughness mm; head over 100 m as EPANET 2.3.5 gives it: laminar, Dunlop's cubic, turbulent twice.
const DARCY_WEISBACH: [(f64, f64, f64, f64); 4] = [
    (0.02, 26.6, 0.0015, 0.016_948),
    (0.06, 26.6, 0.0015, 0.069_505),
    (0.5, 26.6, 0.0015, 3.871_951),
    (2.0, 40.9, 0.15, 8.612_469),
];

#[test]
fn darcy_weisbach_agrees_with_the_public_solver_in_every_regime() {
    for (lps, mm, roughness_mm, expected_m) in DARCY_WEISBACH {
        let bore = Bore::darcy_weisbach(
            mm / 1e3,
            roughness_mm / 1e3,
            WATER_VISCOSITY_M2_S,
            Turbulent::SwameeJain,
        )
        .unwrap();
        // Its gravity is 32.2 ft/s², 0.08 % more than ours.
        let found = bore.loss_m(100.0, lps / 1e3) * 9.806_65 / (32.2 * 0.3048);
        close(found, expected_m, 5e-5, "loss");
    }
}

/// Çengel and Cimbala, Fluid Mechanics, example 8-3: 15 °C, 50 mm, ε 0.002 mm, 6 L/s, 60 m. Figures recomputed with
/// fluids 1.3.1; the printed answer was not seen.
#[test]
fn the_textbook_pipe_loses_96_2_kpa() {
    let viscosity = 1.138e-3 / 999.0;
    let bore = Bore::darcy_weisbach(0.050, 2e-6, viscosity, Turbulent::Colebrook).unwrap();
    close(bore.velocity_m_s(0.006), 3.0558, 1e-4, "velocity");
    close(
        friction_factor(134_126.0, 4e-5, Turbulent::Colebrook),
        0.017_188,
        5e-5,
        "factor",
    );
    let loss_kpa = bore.loss_m(60.0, 0.006) * 9.806_65 * 0.999;
    close(loss_kpa, 96.20, 1e-4, "loss");
}

/// `K v²/2g` at 9.80665 m/s²; K of tee branch, open globe valve and elbow from Rossman et al. 2020,
/// EPA/600/R-20/133, table 3.3.
#[test]
fn fittings_lose_their_share_of_the_velocity_head() {
    for (lps, mm, k, expected_m) in [
        (1.0, 26.6, 1.8, 0.297_177),
        (2.0, 40.9, 10.0, 1.181_507),
        (0.5, 20.9, 0.9, 0.097_469),
    ] {
        let resistance = minor::resistance_of_fitting(k, mm / 1e3);
        let (found, _) = minor::loss_and_slope(resistance, lps / 1e3);
        close(found, expected_m, 5e-6, "fitting");
    }
}

/// Inside mm and L/min at 1.5 m/s, by geometry.
#[test]
fn velocity_is_flow_over_area() {
    for (mm, lpm) in [
        (15.8, 17.65),
        (26.6, 50.01),
        (40.9, 118.24),
        (102.3, 739.75),
    ] {
        let bore = Bore::hazen_williams(mm / 1e3, 150.0).unwrap();
        close(bore.velocity_m_s(lpm / 60_000.0), 1.5, 4e-4, "velocity");
    }
}

/// °C, 1e-6 m²/s: IAPWS-95 density and the viscosity of IAPWS 2008 at 101.325 kPa, by the library iapws 1.5.5.
#[test]
fn water_is_as_thick_as_the_steam_association_says() {
    for (celsius, expected) in [
        (5.0, 1.5182),
        (10.0, 1.3063),
        (15.0, 1.1386),
        (20.0, 1.0034),
        (25.0, 0.8927),
        (30.0, 0.8007),
    ] {
        let found = water_viscosity_m2_s(celsius).unwrap();
        close(found * 1e6, expected, 1e-3, "viscosity");
    }
}
