//! Climates that cannot be, as a project names them.

use super::assert_says;
use super::builder::{Bench, read};

fn told(climate: &str, days: Option<&str>) -> String {
    let bench = Bench {
        more: format!("[climate]\naltitude_m = 30\n{climate}\n"),
        ..Bench::default()
    };
    let folder = bench.write();
    if let Some(days) = days {
        std::fs::write(folder.path().join("days.csv"), days).expect("days are written");
    }
    read(&folder).expect_err("refused").to_string()
}

#[test]
fn every_fault_of_a_daily_file_is_told_with_file_and_line() {
    let days = "date,tmin_c,tmax_c,rain_mm\n2023-01-02,1,5,0\n2023-01-01,1,5,-2\n2023-02-30,1,5,0\n\
                2023-01-02,1,5,0\n2023-03-01,NaN,5,0\n";
    let told = told("daily = 'days.csv'", Some(days));
    assert_says(
        &told,
        &[
            "days.csv: line 3: rain_mm `-2` is not a number from 0",
            "days.csv: line 4: `2023-02-30` is not a date",
            "days.csv: line 5: 2023-01-02 is there already, in line 2",
            "days.csv: line 6: tmin_c `NaN` is not a number",
            "days.csv: month 12 has no day with temperatures and rain",
        ],
    );
}

#[test]
fn a_daily_file_that_is_not_there_and_a_latitude_are_told() {
    let told = told("daily = 'days.csv'\nlatitude_deg = 48.2", None);
    assert_says(
        &told,
        &[
            "days.csv: cannot be read",
            "climate.latitude_deg: is not asked for: each parcel is reckoned at its own latitude",
        ],
    );
}

#[test]
fn months_and_a_daily_file_at_once_or_eleven_months_are_refused() {
    let month = "{ tmin_c = 1, tmax_c = 9, rain_mm = 40 },";
    let both = format!("daily = 'days.csv'\nmonths = [ {} ]", month.repeat(12));
    assert_says(
        &told(&both, None),
        &["give either `months` or `daily`, not both"],
    );
    let eleven = format!("months = [ {} ]", month.repeat(11));
    assert_says(&told(&eleven, None), &["must hold twelve tables", "not 11"]);
}
