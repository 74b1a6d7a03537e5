//! Surge: how far pressure rises in a full pipe when a valve at its end stops the water.
//!
//! Rapid closing by Joukowsky, slow closing by Michaud. Steady pressure is elsewhere. SI; pressures in kPa.

/// Bulk modulus of water at about 20 °C, Pa (from memory).
const WATER_MODULUS_PA: f64 = 2.19e9;
/// Density of water at 20 °C, kg/m³ (IAPWS-95).
const WATER_DENSITY: f64 = 998.2;

/// A pipe's wall, as far as a pressure wave feels it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wall {
    /// Inside diameter over wall thickness, above 0.
    pub bore_over_wall: f64,
    /// Young's modulus of the material, Pa, above 0.
    pub modulus_pa: f64,
}

impl Wall {
    /// Speed of a pressure wave, m/s: `√(K/ρ) / √(1 + (K/E)(D/e))` (Korteweg 1878, from memory).
    pub fn wave_speed_m_s(&self) -> f64 {
        let give = WATER_MODULUS_PA / self.modulus_pa * self.bore_over_wall.max(0.0);
        (WATER_MODULUS_PA / WATER_DENSITY / (1.0 + give)).sqrt()
    }

    /// Rise of pressure, kPa, when water at `velocity_m_s` is stopped within `closing_s` in a pipe `length_m` long.
    ///
    /// Within `2L/a` the whole of `ρ a v` (Joukowsky 1898); a slower valve leaves `2 ρ L v / t` (Michaud 1878, from
    /// memory). The two meet at `t = 2L/a`.
    pub fn surge_kpa(&self, velocity_m_s: f64, length_m: f64, closing_s: f64) -> f64 {
        let speed_m_s = self.wave_speed_m_s();
        let round_trip_s = 2.0 * length_m / speed_m_s;
        let share = if closing_s > round_trip_s {
            round_trip_s / closing_s
        } else {
            1.0
        };
        WATER_DENSITY * speed_m_s * velocity_m_s.abs() * share / 1000.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wall(bore_over_wall: f64, modulus_gpa: f64) -> Wall {
        Wall {
            bore_over_wall,
            modulus_pa: modulus_gpa * 1e9,
        }
    }

    #[test]
    fn rapid_closing_by_joukowsky() {
        // Computed apart: PVC D/e 24 and 19, PE100 D/e 9 and 15, steel D/e 40; 1.5 m/s stopped at once.
        for (bore_over_wall, modulus_gpa, speed_m_s, rise_kpa) in [
            (24.0, 2.76, 330.85, 495.4),
            (19.0, 2.76, 369.42, 553.1),
            (9.0, 1.0, 325.48, 487.3),
            (15.0, 1.0, 254.59, 381.2),
            (40.0, 200.0, 1235.2, 1849.5),
        ] {
            let wall = wall(bore_over_wall, modulus_gpa);
            assert!((wall.wave_speed_m_s() - speed_m_s).abs() < 0.05);
            assert!((wall.surge_kpa(1.5, 60.0, 0.0) - rise_kpa).abs() < 0.1);
        }
    }

    #[test]
    fn printed_surges_of_pvc_by_dimension_ratio() {
        // AWWA M23 (from memory): a = 4660 / √(1 + 0.75 (DR - 2)) ft/s, psi for each ft/s: DR 14 19.8, 18 17.4, 25 14.7.
        for (ratio, psi) in [(14.0, 19.8), (18.0, 17.4), (25.0, 14.7)] {
            let wall = wall(ratio - 2.0, 400_000.0 * 6.894_757e-6);
            let per_foot_psi = wall.surge_kpa(0.3048, 1.0, 0.0) / 6.894_757;
            // It takes 300,000 psi for water, we 2.19 GPa: 6 % more, of which the wall swallows most.
            assert!((per_foot_psi / psi - 1.0).abs() < 0.02, "{per_foot_psi}");
        }
    }

    #[test]
    fn slow_closing_meets_rapid_closing_without_a_jump() {
        let wall = wall(15.0, 1.0);
        let round_trip_s = 2.0 * 100.0 / wall.wave_speed_m_s();
        let rapid = wall.surge_kpa(1.0, 100.0, round_trip_s * 0.999);
        let slow = wall.surge_kpa(1.0, 100.0, round_trip_s * 1.001);
        assert!((rapid - slow).abs() < 1.0);
        // 2 ρ L v / t: 2 · 998.2 · 100 · 1 / 4 = 49.91 kPa.
        assert!((wall.surge_kpa(1.0, 100.0, 4.0) - 49.91).abs() < 0.01);
    }
}
