//! A climate for the tests of this room.

use crate::brief::{Climate, Month};

/// Near Lyon in July (FAO-56 example 20) all year, wet from November to March.
pub fn dry_summer() -> Climate {
    let month = Month {
        tmin_c: 14.8,
        tmax_c: 26.6,
        ..Month::default()
    };
    let mut months = [month; 12];
    for wet in [0, 1, 2, 10, 11] {
        months[wet].rain_mm = 300.0;
    }
    Climate {
        altitude_m: 200.0,
        months,
        days: Vec::new(),
        built_in: false,
    }
}
