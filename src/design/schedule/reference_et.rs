//! Reference evapotranspiration: what a well-watered clipped grass gives off, mm/day.
//!
//! Penman–Monteith (FAO-56 equation 6) where humidity, wind and sun are known, Hargreaves (equation 52) otherwise.
//! Allen, Pereira, Raes and Smith 1998; equation numbers from memory, formulas held against the worked examples.

use super::radiation::{Sun, net_long_wave_mj, net_short_wave_mj};

/// Millimetres of water that one MJ/m² evaporates (FAO-56 equation 20: 1/2.45).
const MM_PER_MJ: f64 = 0.408;

/// What Penman–Monteith needs to know of a day, or of the mean day of a month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Least temperature, °C.
    pub tmin_c: f64,
    /// Greatest temperature, °C.
    pub tmax_c: f64,
    /// Actual vapour pressure, kPa.
    pub vapour_kpa: f64,
    /// Wind at 2 m, m/s.
    pub wind_m_s: f64,
    /// Radiation at the ground, MJ/m²/day.
    pub solar_mj: f64,
    /// Heat that goes into the ground, MJ/m²/day.
    pub ground_heat_mj: f64,
    /// Height above the sea, m.
    pub altitude_m: f64,
}

/// Vapour pressure of saturated air, kPa, at `celsius`. FAO-56 equation 11.
pub fn saturation_kpa(celsius: f64) -> f64 {
    let celsius = celsius.max(-200.0); // the formula's pole lies at -237.3 °C
    0.6108 * (17.27 * celsius / (celsius + 237.3)).exp()
}

/// Mean saturation vapour pressure of a day, kPa. FAO-56 equation 12.
pub fn mean_saturation_kpa(tmin_c: f64, tmax_c: f64) -> f64 {
    f64::midpoint(saturation_kpa(tmin_c), saturation_kpa(tmax_c))
}

/// Actual vapour pressure, kPa, from the mean relative humidity in per cent. FAO-56 equation 19.
pub fn vapour_from_mean_humidity_kpa(tmin_c: f64, tmax_c: f64, humidity_pct: f64) -> f64 {
    humidity_pct.clamp(0.0, 100.0) / 100.0 * mean_saturation_kpa(tmin_c, tmax_c)
}

/// Actual vapour pressure, kPa, from a day's greatest and least relative humidity in per cent. FAO-56 equation 17.
pub fn vapour_from_humidity_range_kpa(
    (tmin_c, tmax_c): (f64, f64),
    (humidity_min_pct, humidity_max_pct): (f64, f64),
) -> f64 {
    let at_night = saturation_kpa(tmin_c) * humidity_max_pct.clamp(0.0, 100.0);
    let at_noon = saturation_kpa(tmax_c) * humidity_min_pct.clamp(0.0, 100.0);
    f64::midpoint(at_night, at_noon) / 100.0
}

/// Slope of the saturation vapour pressure, kPa/°C. FAO-56 equation 13.
fn saturation_slope(mean_c: f64) -> f64 {
    let mean_c = mean_c.max(-200.0);
    4098.0 * saturation_kpa(mean_c) / (mean_c + 237.3).powi(2)
}

/// Pressure of the air, kPa, at a height of -500 to 9000 m (clamped). FAO-56 equation 7.
pub fn air_pressure_kpa(altitude_m: f64) -> f64 {
    let altitude_m = altitude_m.clamp(-500.0, 9000.0);
    101.3 * ((293.0 - 0.0065 * altitude_m) / 293.0).powf(5.26)
}

/// Psychrometric constant, kPa/°C. FAO-56 equation 8.
pub fn psychrometric_kpa(altitude_m: f64) -> f64 {
    0.665e-3 * air_pressure_kpa(altitude_m)
}

/// Heat into the ground in a month, MJ/m²/day, from the mean temperatures of its neighbours. FAO-56 equation 43.
pub fn ground_heat_mj(mean_before_c: f64, mean_after_c: f64) -> f64 {
    0.07 * (mean_after_c - mean_before_c)
}

/// Net radiation, MJ/m²/day. FAO-56 equation 40.
pub fn net_radiation_mj(sun: &Sun, air: &Air) -> f64 {
    net_short_wave_mj(air.solar_mj)
        - net_long_wave_mj(
            air.tmin_c,
            air.tmax_c,
            air.vapour_kpa,
            air.solar_mj,
            sun.clear_sky_mj(air.altitude_m),
        )
}

/// Reference evapotranspiration, mm/day, never below 0. FAO-56 equation 6.
pub fn penman_monteith_mm(sun: &Sun, air: &Air) -> f64 {
    let mean_c = f64::midpoint(air.tmin_c, air.tmax_c);
    let slope = saturation_slope(mean_c);
    let gamma = psychrometric_kpa(air.altitude_m);
    let deficit = (mean_saturation_kpa(air.tmin_c, air.tmax_c) - air.vapour_kpa).max(0.0);
    let available = net_radiation_mj(sun, air) - air.ground_heat_mj;
    let wind = air.wind_m_s.max(0.0);
    let kelvin = (mean_c + 273.0).max(1.0);
    let above = MM_PER_MJ * slope * available + gamma * 900.0 / kelvin * wind * deficit;
    (above / (slope + gamma * (1.0 + 0.34 * wind))).max(0.0)
}

/// Reference evapotranspiration from temperatures alone, mm/day, never below 0. FAO-56 equation 52.
pub fn hargreaves_mm(sun: &Sun, tmin_c: f64, tmax_c: f64) -> f64 {
    let mean_c = f64::midpoint(tmin_c, tmax_c);
    let range = (tmax_c - tmin_c).max(0.0).sqrt();
    (0.0023 * (mean_c + 17.8) * range * MM_PER_MJ * sun.extraterrestrial_mj()).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, printed: f64, tolerance: f64) {
        assert!(
            (found - printed).abs() <= tolerance,
            "{found}, printed {printed}"
        );
    }

    /// FAO-56 example 17: Bangkok in April, steps and result as printed.
    #[test]
    fn bangkok_in_april() {
        let sun = Sun::over(13.0 + 44.0 / 60.0, 105);
        let air = Air {
            tmin_c: 25.6,
            tmax_c: 34.8,
            vapour_kpa: 2.85,
            wind_m_s: 2.0,
            solar_mj: sun.solar_mj(8.5),
            ground_heat_mj: 0.14, // 0.14 (30.2 - 29.2), FAO-56 equation 44
            altitude_m: 2.0,
        };
        near(saturation_slope(30.2), 0.246, 5e-4);
        near(psychrometric_kpa(2.0), 0.0674, 6e-5);
        near(mean_saturation_kpa(25.6, 34.8), 4.42, 0.005);
        near(air.solar_mj, 22.65, 0.011);
        near(sun.clear_sky_mj(2.0), 28.54, 0.011);
        near(net_short_wave_mj(air.solar_mj), 17.44, 0.006);
        near(net_radiation_mj(&sun, &air), 14.33, 0.02);
        near(penman_monteith_mm(&sun, &air), 5.72, 0.005);
    }

    /// FAO-56 example 18: Uccle, 6 July, as printed; 3.8803 by pyet 1.5.0, a public library.
    #[test]
    fn uccle_on_a_july_day() {
        let sun = Sun::over(50.8, 187);
        let vapour_kpa = vapour_from_humidity_range_kpa((12.3, 21.5), (63.0, 84.0));
        let air = Air {
            tmin_c: 12.3,
            tmax_c: 21.5,
            vapour_kpa,
            wind_m_s: 2.078,
            solar_mj: sun.solar_mj(9.25),
            ground_heat_mj: 0.0,
            altitude_m: 100.0,
        };
        near(vapour_kpa, 1.409, 5e-4);
        near(air_pressure_kpa(100.0), 100.1, 0.05);
        near(air.solar_mj, 22.07, 0.011);
        near(sun.clear_sky_mj(100.0), 30.90, 0.011);
        near(net_radiation_mj(&sun, &air), 13.28, 0.011);
        near(penman_monteith_mm(&sun, &air), 3.8803, 2e-3);
    }

    /// FAO-56 example 20: near Lyon in July, temperatures only; 4.56 from memory, Hargreaves 5.0 as printed.
    #[test]
    fn lyon_in_july_from_temperatures() {
        let sun = Sun::over(45.0 + 43.0 / 60.0, 196);
        let air = Air {
            tmin_c: 14.8,
            tmax_c: 26.6,
            vapour_kpa: saturation_kpa(14.8), // equation 48
            wind_m_s: 2.0,
            solar_mj: 0.16 * (26.6_f64 - 14.8).sqrt() * sun.extraterrestrial_mj(), // equation 50
            ground_heat_mj: 0.0,
            altitude_m: 200.0,
        };
        near(air.vapour_kpa, 1.68, 0.006);
        near(air.solar_mj, 22.29, 0.011);
        near(net_radiation_mj(&sun, &air), 13.48, 0.03);
        near(penman_monteith_mm(&sun, &air), 4.56, 0.01);
        near(hargreaves_mm(&sun, 14.8, 26.6), 5.0331, 2e-3);
    }

    /// FAO-56 examples 2, 3 and 5, as printed.
    #[test]
    fn pressure_and_vapour_as_printed() {
        near(air_pressure_kpa(1800.0), 81.8, 0.05);
        near(psychrometric_kpa(1800.0), 0.054, 5e-4);
        near(saturation_kpa(24.5), 3.075, 5e-4);
        near(saturation_kpa(15.0), 1.705, 5e-4);
        near(mean_saturation_kpa(15.0, 24.5), 2.39, 0.005);
        near(
            vapour_from_humidity_range_kpa((18.0, 25.0), (54.0, 82.0)),
            1.70,
            0.005,
        );
    }

    #[test]
    fn polar_night_and_crossed_temperatures_give_nought_and_never_a_hole() {
        let night = Sun::over(80.0, 355);
        let air = Air {
            tmin_c: -30.0,
            tmax_c: -20.0,
            vapour_kpa: 0.05,
            wind_m_s: 0.0,
            solar_mj: night.solar_mj(0.0),
            ground_heat_mj: 0.0,
            altitude_m: 10.0,
        };
        assert_eq!(penman_monteith_mm(&night, &air), 0.0);
        assert_eq!(hargreaves_mm(&Sun::over(45.0, 196), 20.0, 10.0), 0.0);
    }
}
