//! Air: what Penman–Monteith needs, from whatever was observed of a day or a month.

use super::radiation::Sun;
use super::reference_et::{
    Air, saturation_kpa, vapour_from_humidity_range_kpa, vapour_from_mean_humidity_kpa,
};
use crate::brief::Sky;

/// Whether humidity, wind and sun were observed, each in one way or another.
pub fn is_complete(sky: &Sky) -> bool {
    let range = sky.rh_max_pct.is_some() && sky.rh_min_pct.is_some();
    let humidity = sky.tdew_c.is_some() || range || sky.rh_mean_pct.is_some();
    let sun = sky.solar_mj.is_some() || sky.sun_h.is_some();
    humidity && sky.wind_m_s.is_some() && sun && sky.is_sound()
}

/// The air over a place, where [`is_complete`]; no heat goes into the ground.
///
/// Where several values say the same thing, the one counts that FAO-56 (Allen et al. 1998, chapter 3) prefers: dew point
/// (equation 14) before greatest and least humidity (17) before mean humidity (19); measured radiation before sunshine (35).
pub fn air(sky: &Sky, (tmin_c, tmax_c): (f64, f64), sun: &Sun, altitude_m: f64) -> Option<Air> {
    if !is_complete(sky) {
        return None;
    }
    let vapour_kpa = match (sky.tdew_c, sky.rh_min_pct, sky.rh_max_pct, sky.rh_mean_pct) {
        (Some(tdew_c), ..) => saturation_kpa(tdew_c),
        (_, Some(least), Some(greatest), _) => {
            vapour_from_humidity_range_kpa((tmin_c, tmax_c), (least, greatest))
        }
        (.., mean) => vapour_from_mean_humidity_kpa(tmin_c, tmax_c, mean?),
    };
    let solar_mj = match sky.solar_mj {
        Some(solar_mj) => solar_mj,
        None => sun.solar_mj(sky.sun_h?),
    };
    Some(Air {
        tmin_c,
        tmax_c,
        vapour_kpa,
        wind_m_s: sky.wind_m_s?,
        solar_mj,
        ground_heat_mj: 0.0,
        altitude_m,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FAO-56 examples 5 and 18: 1.70 kPa from 82 and 54 per cent, 18 and 25 °C; the dew point goes before, the mean behind.
    #[test]
    fn the_better_value_counts() {
        let mut sky = Sky {
            rh_max_pct: Some(82.0),
            rh_min_pct: Some(54.0),
            wind_m_s: Some(2.0),
            sun_h: Some(9.25),
            ..Sky::default()
        };
        let sun = Sun::over(50.8, 187);
        let found = |sky: &Sky| air(sky, (18.0, 25.0), &sun, 100.0).unwrap();
        assert!((found(&sky).vapour_kpa - 1.70).abs() < 0.005);
        assert!((found(&sky).solar_mj - 22.07).abs() < 0.011);
        sky.rh_mean_pct = Some(10.0);
        assert!((found(&sky).vapour_kpa - 1.70).abs() < 0.005);
        (sky.tdew_c, sky.solar_mj) = (Some(15.0), Some(20.0));
        assert!((found(&sky).vapour_kpa - 1.705).abs() < 5e-4); // FAO-56 example 3
        assert_eq!(found(&sky).solar_mj, 20.0);
    }

    #[test]
    fn what_lacks_or_is_no_number_makes_no_air() {
        let sound = Sky {
            rh_mean_pct: Some(60.0),
            wind_m_s: Some(2.0),
            sun_h: Some(6.0),
            ..Sky::default()
        };
        assert!(is_complete(&sound));
        let one_sided = Sky {
            rh_mean_pct: None,
            rh_max_pct: Some(80.0),
            ..sound
        };
        let windless = Sky {
            wind_m_s: None,
            ..sound
        };
        let sunless = Sky {
            sun_h: None,
            ..sound
        };
        let odd = Sky {
            tdew_c: Some(f64::NAN),
            ..sound
        };
        for sky in [one_sided, windless, sunless, odd] {
            assert!(!is_complete(&sky), "{sky:?}");
        }
    }
}
