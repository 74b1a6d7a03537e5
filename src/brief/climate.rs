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
