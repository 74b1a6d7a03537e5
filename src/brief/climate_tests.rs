//! Climates that a project file may name, sound and not.

use super::*;
use std::fmt::Write as _;

fn daily(text: &str) -> Result<MonthsAndDays, BriefError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("days.csv");
    std::fs::write(&path, text).unwrap();
    read_daily("days.csv", &path)
}

fn told(text: &str) -> String {
    daily(text).unwrap_err().to_string()
}

/// Two days a month, the second first; humidity on the first only.
fn two_days_a_month() -> String {
    let mut text = String::from("date,tmin_c,tmax_c,rain_mm,rh_max_pct\n");
    for month in (1..=12).rev() {
        writeln!(text, "2023-{month:02}-02,3,{},0,", month + 5).unwrap();
        writeln!(text, "2023-{month:02}-01,1,{},2,80", month + 5).unwrap();
    }
    text
}

#[test]
fn days_are_kept_in_order_and_become_months_with_monthly_sums_of_rain() {
    let (months, days) = daily(&two_days_a_month()).unwrap();
    assert_eq!(months[6].tmin_c, 2.0);
    assert_eq!(months[6].tmax_c, 12.0);
    assert_eq!(months[6].rain_mm, 31.0);
    assert_eq!(months[6].sky.rh_max_pct, Some(80.0));
    assert_eq!(months[6].sky.sun_h, None);
    assert_eq!(days.len(), 24);
    assert!(days.windows(2).all(|two| two[0].date < two[1].date));
    let (first, second) = (days[0], days[1]);
    assert_eq!(
        (first.rain_mm, first.sky.rh_max_pct),
        (Some(2.0), Some(80.0))
    );
    assert_eq!((second.rain_mm, second.sky.rh_max_pct), (Some(0.0), None));
}

#[test]
fn a_bad_day_and_a_missing_month_are_both_told() {
    let told = told("date,tmin_c,tmax_c,rain_mm\n01.02.2023,1,2,3\n2023-01-01,1,2,x\n");
    for words in [
        "line 2: `01.02.2023` is not a date",
        "line 3: rain_mm `x`",
        "month 12 has no day",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
}

/// One line is spoilt at a time; the rest is sound.
#[test]
fn each_bad_line_is_told_with_its_number_and_nothing_else_is() {
    for (line, words) in [
        ("2023-02-30,1,2,3,", "line 26: `2023-02-30` is not a date"),
        ("2023-02-29,1,2,3,", "line 26: `2023-02-29` is not a date"),
        ("2023-02-03x,1,2,3,", "line 26: `2023-02-03x` is not a date"),
        (
            "2023-02-03,1,2,-3,",
            "line 26: rain_mm `-3` is not a number from 0",
        ),
        (
            "2023-02-03,NaN,2,3,",
            "line 26: tmin_c `NaN` is not a number",
        ),
        (
            "2023-02-03,1,inf,3,",
            "line 26: tmax_c `inf` is not a number",
        ),
        (
            "2023-02-03,9,2,3,",
            "line 26: the least temperature is above",
        ),
        ("2023-02-03,1,2,3,101", "line 26: rh_max_pct `101`"),
        (
            "2023-02-02,1,2,3,",
            "line 26: 2023-02-02 is there already, in line 22",
        ),
        ("2023-02-03,1,2", "5 fields"),
    ] {
        let told = told(&format!("{}{line}\n", two_days_a_month()));
        assert!(told.contains(words), "{words}: {told}");
        assert_eq!(told.lines().count(), 1, "{told}");
    }
    assert!(daily(&format!("{}2024-02-29T00:00,1,2,3,\n", two_days_a_month())).is_ok());
}

#[test]
fn a_file_pasted_twice_is_told_in_one_line() {
    let once = two_days_a_month();
    let again = once.split_once('\n').unwrap().1;
    let told = told(&format!("{once}{again}"));
    assert!(told.contains("(and 23 more lines like it)"), "{told}");
    assert_eq!(told.lines().count(), 1, "{told}");
}

#[test]
fn a_month_without_a_day_and_columns_that_are_strange_or_doubled_are_told() {
    let without_june: String = two_days_a_month()
        .lines()
        .filter(|line| !line.contains("-06-"))
        .map(|line| format!("{line}\n"))
        .collect();
    assert!(told(&without_june).contains("month 6 has no day"));
    let text = two_days_a_month();
    let strange = told(&text.replacen("rh_max_pct", "rh_max", 1));
    assert!(strange.contains("unknown column `rh_max`; did you mean `rh_max_pct`?"));
    let doubled = told(&text.replacen("rh_max_pct", "rain_mm", 1));
    assert!(doubled.contains("column `rain_mm` is there twice"));
    let dateless = told(&text.replacen("date", "tdew_c", 1));
    assert!(dateless.contains("column `date` is missing"));
}

fn of_table(text: &str) -> String {
    let mut problems = Problems::of("project.toml");
    let climate = read(&text.parse().unwrap(), Path::new("."), &mut problems);
    problems.settle(climate).unwrap_err().to_string()
}

#[test]
fn what_a_monthly_table_lacks_or_cannot_hold_is_told() {
    let months = |count: usize, spoilt: &str| {
        let sound = "{ tmin_c = 1, tmax_c = 9, rain_mm = 40 },".repeat(count);
        format!("altitude_m = 10\nmonths = [ {sound} {spoilt} ]\n")
    };
    for (text, words) in [
        (
            months(11, ""),
            "must hold twelve tables, January first, not 11",
        ),
        (
            months(11, "{ tmin_c = 1, tmax_c = 9, rain_mm = -1 }"),
            "climate.months[12].rain_mm: -1 lies outside",
        ),
        (
            months(11, "{ tmin_c = 1, tmax_c = nan, rain_mm = 1 }"),
            "climate.months[12].tmax_c: NaN lies outside",
        ),
        (
            months(11, "{ tmin_c = 1, tmax_c = 9, rain_mm = 1, tdew_c = 10 }"),
            "climate.months[12].tmin_c: the dew point is above",
        ),
        (
            months(
                11,
                "{ tmin_c = 1, tmax_c = 9, rain_mm = 1, rh_min_pct = 80, rh_max_pct = 70 }",
            ),
            "the least humidity is above the greatest",
        ),
        (
            months(12, "") + "latitude_deg = 48\n",
            "climate.latitude_deg: is not asked for: each parcel is reckoned at its own latitude",
        ),
    ] {
        let told = of_table(&text);
        assert!(told.contains(words), "{words}: {told}");
    }
}
