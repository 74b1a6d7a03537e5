//! Friction in the pipe of a design: which law the rules choose, and a size's bore under it.
//!
//! The laws themselves are in `friction.rs`.

use super::friction::{Bore, BoreError, Turbulent, WATER_VISCOSITY_M2_S};
use super::viscosity::water_viscosity_m2_s;
use crate::brief::{Catalogue, Friction, PipeSize, Rules};

/// The law that the rules choose; water beyond 0 to 40 °C is taken at the nearer end.
pub fn chosen(rules: &Rules) -> Friction {
    if rules.darcy_weisbach == 0.0 {
        return Friction::HazenWilliams;
    }
    let viscosity = water_viscosity_m2_s(rules.water_temperature_c.clamp(0.0, 40.0));
    Friction::DarcyWeisbach {
        viscosity_m2_s: viscosity.unwrap_or(WATER_VISCOSITY_M2_S),
    }
}

/// The catalogue with the law that the rules choose in every pipe.
pub fn under_rules(catalogue: &Catalogue, rules: &Rules) -> Catalogue {
    let mut catalogue = catalogue.clone();
    for pipe in &mut catalogue.pipes {
        pipe.friction = chosen(rules);
    }
    catalogue
}

/// The inside of a pipe; the friction factor of Darcy–Weisbach is Colebrook's.
///
/// # Errors
/// [`BoreError`] for a diameter or roughness that cannot be computed with.
pub fn bore(size: &PipeSize) -> Result<Bore, BoreError> {
    let inside_m = size.inside_mm / 1e3;
    match size.friction {
        Friction::HazenWilliams => Bore::hazen_williams(inside_m, size.roughness_c),
        Friction::DarcyWeisbach { viscosity_m2_s } => Bore::darcy_weisbach(
            inside_m,
            size.roughness_mm / 1e3,
            viscosity_m2_s,
            Turbulent::Colebrook,
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_rules_choose_the_law_of_every_pipe() {
        let catalogue = Catalogue::built_in();
        let mut rules = Rules::default();
        assert_eq!(under_rules(&catalogue, &rules), catalogue);
        rules.darcy_weisbach = 1.0;
        rules.water_temperature_c = 10.0;
        let cold = under_rules(&catalogue, &rules);
        for pipe in &cold.pipes {
            let Friction::DarcyWeisbach { viscosity_m2_s } = pipe.friction else {
                panic!("{pipe:?}");
            };
            assert!(
                (viscosity_m2_s - 1.3063e-6).abs() < 1e-9,
                "{viscosity_m2_s}"
            );
        }
    }

    /// Çengel and Cimbala, Fluid Mechanics, example 8-3: water at 15 °C, ν 1.138e-3/999, 50 mm, ε 0.002 mm, 6 L/s through
    /// 60 m lose 9.817 m (computed with the library fluids; the data as a public solution set gives it).
    #[test]
    fn a_textbook_pipe() {
        let mut size = Catalogue::built_in().pipes[0].clone();
        size.inside_mm = 50.0;
        size.roughness_mm = 0.002;
        size.friction = Friction::DarcyWeisbach {
            viscosity_m2_s: 1.138e-3 / 999.0,
        };
        let lost_m = bore(&size).unwrap().loss_m(60.0, 0.006);
        assert!((lost_m - 9.817).abs() < 0.005, "{lost_m}");
    }
}
