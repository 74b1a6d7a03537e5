//! Radiation: what the sun gives a level square metre on a day, and what of it stays. MJ/m²/day.
//!
//! Allen, Pereira, Raes and Smith 1998, FAO-56, chapter 3; equation numbers from memory, formulas held
//! against the book's worked examples. Evaporation is in `reference_et.rs`.

use std::f64::consts::PI;

/// Solar constant, MJ/m²/min (FAO-56, with equation 21).
const SOLAR_MJ_M2_MIN: f64 = 0.0820;

/// Stefan–Boltzmann constant, MJ/K⁴/m²/day (FAO-56, with equation 39).
const STEFAN_BOLTZMANN: f64 = 4.903e-9;

/// Reflectance of the reference grass, the complement of 0.77 in FAO-56 equation 38.
const ALBEDO: f64 = 0.23;

/// Day of the year of the 15th of each month, January to December, in a common year.
pub const MID_MONTH: [u32; 12] = [15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349];

/// The sun over one latitude on one day of the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sun {
    latitude_rad: f64,
    declination_rad: f64,
    inverse_distance: f64,
    sunset_rad: f64,
}

impl Sun {
    /// The sun over `latitude_deg` (north positive; clamped to ±90) on day `day_of_year` (1 to 366).
    ///
    /// Beyond the polar circles the cosine of the sunset angle leaves ±1: it is clamped, which gives days of
    /// 0 and of 24 h. FAO-56 equations 23 to 25.
    pub fn over(latitude_deg: f64, day_of_year: u32) -> Self {
        let latitude_rad = latitude_deg.clamp(-90.0, 90.0).to_radians();
        let year_angle = 2.0 * PI * f64::from(day_of_year) / 365.0;
        let declination_rad = 0.409 * (year_angle - 1.39).sin();
        let cosine = -latitude_rad.tan() * declination_rad.tan();
        Self {
            latitude_rad,
            declination_rad,
            inverse_distance: 1.0 + 0.033 * year_angle.cos(),
            sunset_rad: cosine.clamp(-1.0, 1.0).acos(),
        }
    }

    /// Radiation above the air, Ra, MJ/m²/day, never below 0. FAO-56 equation 21.
    pub fn extraterrestrial_mj(&self) -> f64 {
        let (sin_lat, cos_lat) = self.latitude_rad.sin_cos();
        let (sin_dec, cos_dec) = self.declination_rad.sin_cos();
        let daily = self.sunset_rad * sin_lat * sin_dec + cos_lat * cos_dec * self.sunset_rad.sin();
        (24.0 * 60.0 / PI * SOLAR_MJ_M2_MIN * self.inverse_distance * daily).max(0.0)
    }

    /// Hours of daylight, N, 0 to 24. FAO-56 equation 34.
    pub fn daylight_h(&self) -> f64 {
        24.0 / PI * self.sunset_rad
    }

    /// Radiation at the ground, Rs, MJ/m²/day, for `sunshine_h` hours of bright sun. FAO-56 equation 35.
    pub fn solar_mj(&self, sunshine_h: f64) -> f64 {
        let daylight_h = self.daylight_h();
        let share = if daylight_h > 0.0 {
            (sunshine_h / daylight_h).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (0.25 + 0.50 * share) * self.extraterrestrial_mj()
    }

    /// Radiation at the ground under a clear sky, Rso, MJ/m²/day. FAO-56 equation 37.
    pub fn clear_sky_mj(&self, altitude_m: f64) -> f64 {
        (0.75 + 2e-5 * altitude_m) * self.extraterrestrial_mj()
    }
}

/// Short-wave radiation that the grass keeps, Rns, MJ/m²/day. FAO-56 equation 38.
pub fn net_short_wave_mj(solar_mj: f64) -> f64 {
    (1.0 - ALBEDO) * solar_mj
}

/// Long-wave radiation that the grass loses, Rnl, MJ/m²/day. FAO-56 equation 39.
///
/// Temperatures in °C, `vapour_kpa` the actual vapour pressure. The sky counts as no cloudier than at 0.3 of its clear
/// radiation (ASCE 2005, The ASCE Standardized Reference Evapotranspiration Equation, equation 18, as two public programs
/// have it): below that the formula would warm the grass. In polar night, where no sun tells how cloudy it
/// is, the sky counts as clear.
pub fn net_long_wave_mj(
    tmin_c: f64,
    tmax_c: f64,
    vapour_kpa: f64,
    solar_mj: f64,
    clear_sky_mj: f64,
) -> f64 {
    let fourth = |celsius: f64| (celsius + 273.16).powi(4);
    let clearness = if clear_sky_mj > 0.0 {
        (solar_mj / clear_sky_mj).clamp(0.3, 1.0)
    } else {
        1.0
    };
    STEFAN_BOLTZMANN * (fourth(tmin_c) + fourth(tmax_c)) / 2.0
        * (0.34 - 0.14 * vapour_kpa.max(0.0).sqrt())
        * (1.35 * clearness - 0.35)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Latitude, day, Ra, N: FAO-56 examples 8 and 9, 10 and 11, 17, 18, 20, as printed.
    const PRINTED: [(f64, u32, f64, Option<f64>); 5] = [
        (-20.0, 246, 32.2, Some(11.7)),
        (-22.9, 135, 25.1, Some(10.9)),
        (13.0 + 44.0 / 60.0, 105, 38.06, Some(12.31)),
        (50.8, 187, 41.09, Some(16.1)),
        (45.0 + 43.0 / 60.0, 196, 40.55, None),
    ];

    #[test]
    fn radiation_above_the_air_and_daylight_as_printed() {
        for (latitude, day, extraterrestrial, daylight) in PRINTED {
            let sun = Sun::over(latitude, day);
            let half_a_digit = if extraterrestrial * 10.0 % 1.0 == 0.0 {
                0.05
            } else {
                0.011
            };
            assert!((sun.extraterrestrial_mj() - extraterrestrial).abs() < half_a_digit);
            if let Some(daylight) = daylight {
                assert!(
                    (sun.daylight_h() - daylight).abs() < 0.05,
                    "{}",
                    sun.daylight_h()
                );
            }
        }
    }

    /// Computed with two independent public evaporation libraries (pyet 1.5.0, refet 0.5.0).
    #[test]
    fn radiation_elsewhere_agrees_with_other_programs() {
        for (latitude, day, expected) in [
            (40.0, 196, 40.799),
            (40.0, 15, 15.011),
            (0.0, 80, 37.824),
            (60.0, 172, 41.331),
        ] {
            let found = Sun::over(latitude, day).extraterrestrial_mj();
            assert!((found - expected).abs() < 6e-4, "{latitude} {day}: {found}");
        }
        assert!((Sun::over(60.0, 172).daylight_h() - 18.487).abs() < 6e-4);
    }

    /// FAO-56 examples 10 and 11: Rio de Janeiro, 15 May, as printed.
    #[test]
    fn rio_in_may_keeps_and_loses_what_is_printed() {
        let sun = Sun::over(-22.9, 135);
        let solar = sun.solar_mj(7.1);
        let lost = net_long_wave_mj(19.1, 25.1, 2.1, solar, sun.clear_sky_mj(0.0));
        assert!((solar - 14.5).abs() < 0.05, "{solar}");
        assert!((lost - 3.5).abs() < 0.05, "{lost}");
    }

    #[test]
    fn the_darkest_day_still_loses_heat() {
        let lost = |solar| net_long_wave_mj(5.0, 12.0, 0.9, solar, 20.0);
        assert!(lost(0.0) > 0.0);
        assert_eq!(lost(0.0), lost(6.0));
        assert!(lost(6.5) > lost(6.0));
    }

    #[test]
    fn beyond_the_polar_circle_days_are_nought_or_twenty_four_hours() {
        assert_eq!(Sun::over(80.0, 355).daylight_h(), 0.0);
        assert_eq!(Sun::over(80.0, 355).solar_mj(3.0), 0.0);
        assert!((Sun::over(90.0, 172).daylight_h() - 24.0).abs() < 1e-9);
        assert!(Sun::over(90.0, 172).extraterrestrial_mj() > 40.0);
        assert!(Sun::over(-90.0, 172).extraterrestrial_mj() < 1e-9);
    }
}
