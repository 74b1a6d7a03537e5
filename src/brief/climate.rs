//! Climate: what the sky takes and gives, month by month or day by day.

/// What was observed beside temperature and rain, on a day or in the mean of a month; `None` where it was not.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Sky {
    /// Dew point, °C.
    pub tdew_c: Option<f64>,
    /// Greatest relative humidity of a day, per cent.
    pub rh_max_pct: Option<f64>,
    /// Least relative humidity of a day, per cent.
    pub rh_min_pct: Option<f64>,
    /// Mean relative humidity, per cent.
    pub rh_mean_pct: Option<f64>,
    /// Wind at 2 m, m/s.
    pub wind_m_s: Option<f64>,
    /// Radiation of the sun at the ground, MJ/m² a day.
    pub solar_mj: Option<f64>,
    /// Hours of bright sunshine a day.
    pub sun_h: Option<f64>,
}

impl Sky {
    /// Whether every value that is given is a number.
    pub fn is_sound(&self) -> bool {
        let given = [
            self.tdew_c,
            self.rh_max_pct,
            self.rh_min_pct,
            self.rh_mean_pct,
            self.wind_m_s,
            self.solar_mj,
            self.sun_h,
        ];
        given.iter().flatten().all(|value| value.is_finite())
    }
}

/// Means of one month. The schedule says which method its values allow.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Month {
    /// Mean daily least air temperature, °C.
    pub tmin_c: f64,
    /// Mean daily greatest air temperature, °C.
    pub tmax_c: f64,
    /// Rain in the month, mm.
    pub rain_mm: f64,
    /// What else is known.
    pub sky: Sky,
}

/// A day of the calendar that exists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    year: i32,
    month: u32,
    day: u32,
}

impl Date {
    /// The day, if there is one: no 30 February. Month and day count from 1; Gregorian calendar.
    pub fn new(year: i32, month: u32, day: u32) -> Option<Self> {
        let exists = (1..=12).contains(&month) && (1..=Self::days_in(year, month)).contains(&day);
        exists.then_some(Self { year, month, day })
    }

    /// Days of a month (1 to 12) of a year.
    pub fn days_in(year: i32, month: u32) -> u32 {
        let leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
        match month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            _ => 31,
        }
    }

    /// Every day of a year, in order.
    pub fn all_of(year: i32) -> impl Iterator<Item = Self> {
        (1..=12).flat_map(move |month| {
            (1..=Self::days_in(year, month)).map(move |day| Self { year, month, day })
        })
    }

    /// The year.
    pub fn year(self) -> i32 {
        self.year
    }

    /// 1 to 12.
    pub fn month(self) -> u32 {
        self.month
    }

    /// 1 to 31.
    pub fn day(self) -> u32 {
        self.day
    }

    /// 1 to 366.
    pub fn day_of_year(self) -> u32 {
        let before = (1..self.month).map(|month| Self::days_in(self.year, month));
        before.sum::<u32>() + self.day
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// One day of a record.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Day {
    /// When.
    pub date: Date,
    /// Least air temperature, °C.
    pub tmin_c: Option<f64>,
    /// Greatest air temperature, °C.
    pub tmax_c: Option<f64>,
    /// Rain, mm.
    pub rain_mm: Option<f64>,
    /// What else is known.
    pub sky: Sky,
}

/// Twelve months, the days they come from where those are known, and where they were observed.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// Height of the station above the sea, m.
    pub altitude_m: f64,
    /// January to December.
    pub months: [Month; 12],
    /// The daily record, by rising date, each once; empty where only months are known.
    pub days: Vec<Day>,
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
            rain_mm,
            sky: Sky {
                rh_mean_pct: Some(rh_pct),
                wind_m_s: Some(wind_m_s),
                sun_h: Some(sun_h),
                ..Sky::default()
            },
        });
        Self {
            altitude_m: 100.0,
            months,
            days: Vec::new(),
            built_in: true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_calendar_knows_its_leap_years() {
        assert!(Date::new(2023, 2, 29).is_none() && Date::new(1900, 2, 29).is_none());
        assert!(Date::new(2024, 2, 29).is_some() && Date::new(2000, 2, 29).is_some());
        assert!(Date::new(2024, 2, 30).is_none() && Date::new(2024, 13, 1).is_none());
        let last = Date::new(2024, 12, 31).unwrap();
        assert_eq!(
            (last.day_of_year(), last.to_string().as_str()),
            (366, "2024-12-31")
        );
        assert_eq!(Date::all_of(2023).count(), 365);
        assert!(
            Date::all_of(2024)
                .zip(1..)
                .all(|(date, number)| date.day_of_year() == number)
        );
    }
}
