//! Climate: what the sky takes and gives, month by month.

/// Means of one month. Missing values are `None`; the schedule says which method it could use.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Month {
    /// Mean daily least air temperature, °C.
    pub tmin_c: f64,
    /// Mean daily greatest air temperature, °C.
    pub tmax_c: f64,
    /// Mean relative humidity, per cent.
    pub rh_mean_pct: Option<f64>,
    /// Mean wind at 2 m, m/s.
    pub wind_m_s: Option<f64>,
    /// Hours of bright sunshine a day.
    pub sun_h: Option<f64>,
    /// Rain in the month, mm.
    pub rain_mm: f64,
}

/// Twelve months and where they were observed.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// Height of the station above the sea, m.
    pub altitude_m: f64,
    /// January to December.
    pub months: [Month; 12],
    /// Whether this is the built-in invented climate (then the schedule says so).
    pub built_in: bool,
}

impl Climate {
    /// An invented temperate climate, for projects that give none. It is nobody's weather record.
    pub fn built_in() -> Self {
        // tmin, tmax in °C; relative humidity in per cent; wind in m/s; sun in h a day; rain in mm.
        const INVENTED: [(f64, f64, f64, f64, f64, f64); 12] = [
            (-2.0, 3.0, 85.0, 3.2, 1.6, 48.0),
            (-1.5, 5.0, 81.0, 3.1, 2.7, 42.0),
            (1.0, 9.5, 75.0, 3.1, 4.1, 46.0),
            (4.5, 14.5, 69.0, 2.9, 5.8, 47.0),
            (8.5, 19.0, 68.0, 2.6, 7.0, 62.0),
            (12.0, 22.5, 68.0, 2.4, 7.5, 68.0),
            (14.0, 24.5, 69.0, 2.3, 7.4, 70.0),
            (13.5, 24.0, 71.0, 2.2, 6.8, 66.0),
            (10.0, 19.5, 76.0, 2.4, 5.2, 52.0),
            (6.0, 13.5, 81.0, 2.6, 3.5, 46.0),
            (2.0, 7.5, 85.0, 2.9, 1.8, 50.0),
            (-1.0, 4.0, 86.0, 3.1, 1.3, 54.0),
        ];
        let months = INVENTED.map(|(tmin_c, tmax_c, rh_pct, wind_m_s, sun_h, rain_mm)| Month {
            tmin_c,
            tmax_c,
            rh_mean_pct: Some(rh_pct),
            wind_m_s: Some(wind_m_s),
            sun_h: Some(sun_h),
            rain_mm,
        });
        Self {
            altitude_m: 100.0,
            months,
            built_in: true,
        }
    }
}
