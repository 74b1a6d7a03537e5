//! Reading of `[climate]`: twelve months in the project file, or days in a CSV averaged to months.

use crate::brief::climate::{Climate, Month};
use crate::brief::problems::{BriefError, Problems, suggestion};
use crate::brief::table::TableReader;
use std::ops::RangeInclusive;
use std::path::Path;
use toml::Table;

// Bounds beyond which a value is a slip of the pen, not weather; a judgement, no source.
const TEMPERATURE_C: RangeInclusive<f64> = -60.0..=60.0;
const HUMIDITY_PCT: RangeInclusive<f64> = 1.0..=100.0;
const WIND_M_S: RangeInclusive<f64> = 0.0..=40.0;
const SUN_H: RangeInclusive<f64> = 0.0..=24.0;
const RAIN_MM: RangeInclusive<f64> = 0.0..=3000.0;
const ALTITUDE_M: RangeInclusive<f64> = -430.0..=6000.0;

/// The climate of `[climate]`; `folder` is where the project file lies.
pub(crate) fn read(table: &Table, folder: &Path, problems: &mut Problems) -> Option<Climate> {
    let mut reader = TableReader::new(table, "climate");
    let altitude_m = reader.needed_number("altitude_m", ALTITUDE_M, problems);
    let daily = reader.text("daily", problems);
    let monthly = reader.value("months").is_some();
    let months = match (daily, monthly) {
        (Some(_), true) => {
            problems.tell("climate", "give either `months` or `daily`, not both");
            None
        }
        (Some(written), false) => match read_daily(&written, &folder.join(&written)) {
            Ok(months) => Some(months),
            Err(error) => {
                problems.take_over(error);
                None
            }
        },
        (None, true) => read_months(&mut reader, problems),
        (None, false) => {
            let message = "needs `months` (twelve tables) or `daily` (a CSV file)";
            problems.tell("climate", message);
            None
        }
    };
    reader.finish(problems);
    Some(Climate {
        altitude_m,
        months: months?,
        built_in: false,
    })
}

fn read_months(reader: &mut TableReader<'_>, problems: &mut Problems) -> Option<[Month; 12]> {
    let tables = reader.tables("months", problems);
    if tables.len() != 12 {
        let message = format!(
            "must hold twelve tables, January first, not {}",
            tables.len()
        );
        problems.tell("climate.months", message);
        return None;
    }
    let mut months = [Month::default(); 12];
    for (month, (table, place)) in months.iter_mut().zip(tables) {
        *month = read_month(TableReader::new(table, place), problems);
    }
    Some(months)
}

fn read_month(mut reader: TableReader<'_>, problems: &mut Problems) -> Month {
    let month = Month {
        tmin_c: reader.needed_number("tmin_c", TEMPERATURE_C, problems),
        tmax_c: reader.needed_number("tmax_c", TEMPERATURE_C, problems),
        rh_mean_pct: reader.number("rh_mean_pct", HUMIDITY_PCT, problems),
        wind_m_s: reader.number("wind_m_s", WIND_M_S, problems),
        sun_h: reader.number("sun_h", SUN_H, problems),
        rain_mm: reader.needed_number("rain_mm", RAIN_MM, problems),
    };
    if month.tmin_c > month.tmax_c {
        let place = reader.place_of("tmin_c");
        problems.tell(place, "the least temperature is above the greatest");
    }
    reader.finish(problems);
    month
}

/// Columns of the daily file, whether they must be there, and what they may hold.
const COLUMNS: [(&str, bool, RangeInclusive<f64>); 6] = [
    ("tmin_c", true, TEMPERATURE_C),
    ("tmax_c", true, TEMPERATURE_C),
    ("rh_mean_pct", false, HUMIDITY_PCT),
    ("wind_m_s", false, WIND_M_S),
    ("sun_h", false, SUN_H),
    ("rain_mm", true, RAIN_MM),
];

/// Sums of one calendar month over all its years.
#[derive(Debug, Clone, Copy, Default)]
struct MonthSums {
    days: u32,
    sums: [f64; 6],
    counts: [u32; 6],
}

fn read_daily(written: &str, path: &Path) -> Result<[Month; 12], BriefError> {
    let mut problems = Problems::of(written);
    let months = sum_days(path, &mut problems).and_then(|sums| means(&sums, &mut problems));
    problems.settle(months)
}

fn sum_days(path: &Path, problems: &mut Problems) -> Option<[MonthSums; 12]> {
    let mut rows = match csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .from_path(path)
    {
        Ok(rows) => rows,
        Err(error) => {
            problems.tell("", format!("cannot be read: {error}"));
            return None;
        }
    };
    let header = match rows.headers() {
        Ok(header) => header.clone(),
        Err(error) => {
            problems.tell("line 1", format!("cannot be read: {error}"));
            return None;
        }
    };
    let columns = columns_of(&header, problems)?;
    let mut sums = [MonthSums::default(); 12];
    for row in rows.records() {
        match row {
            Ok(row) => add_day(&row, &columns, &mut sums, problems),
            Err(error) => problems.tell("", format!("{error}")),
        }
    }
    Some(sums)
}

/// Positions of the date and of the six columns.
fn columns_of(
    header: &csv::StringRecord,
    problems: &mut Problems,
) -> Option<(usize, [Option<usize>; 6])> {
    let known: Vec<&str> = std::iter::once("date")
        .chain(COLUMNS.iter().map(|column| column.0))
        .collect();
    let find = |name: &str| header.iter().position(|column| column == name);
    let mut positions = [None; 6];
    for (position, (name, needed, _)) in positions.iter_mut().zip(&COLUMNS) {
        *position = find(name);
        if *needed && position.is_none() {
            problems.tell("line 1", format!("column `{name}` is missing"));
        }
    }
    for column in header.iter().filter(|column| !known.contains(column)) {
        let advice = suggestion(column, &known);
        problems.tell("line 1", format!("unknown column `{column}`; {advice}"));
    }
    let date = find("date");
    if date.is_none() {
        problems.tell("line 1", "column `date` is missing");
    }
    Some((date?, positions))
}

fn add_day(
    row: &csv::StringRecord,
    (date, columns): &(usize, [Option<usize>; 6]),
    sums: &mut [MonthSums; 12],
    problems: &mut Problems,
) {
    let line = row.position().map_or(0, csv::Position::line);
    let written = row.get(*date).unwrap_or_default();
    let Some(month) = month_of(written) else {
        let message = format!("`{written}` is not a date like 2024-07-31");
        problems.tell(format!("line {line}"), message);
        return;
    };
    let month = &mut sums[month];
    month.days += 1;
    for (index, column) in columns.iter().enumerate() {
        let cell = column.and_then(|at| row.get(at)).unwrap_or_default();
        if cell.is_empty() {
            continue;
        }
        let (name, _, range) = &COLUMNS[index];
        match cell.parse::<f64>() {
            Ok(value) if range.contains(&value) => {
                month.sums[index] += value;
                month.counts[index] += 1;
            }
            _ => {
                let (least, greatest) = (range.start(), range.end());
                let message = format!("{name} `{cell}` is not a number from {least} to {greatest}");
                problems.tell(format!("line {line}"), message);
            }
        }
    }
}

/// Month of an ISO date, 0 to 11.
fn month_of(date: &str) -> Option<usize> {
    let mut parts = date.get(..10)?.split('-');
    let year: u32 = parts.next()?.parse().ok()?;
    let month: usize = parts.next()?.parse().ok()?;
    let day: u32 = parts.next()?.parse().ok()?;
    let plausible = (1800..3000).contains(&year) && (1..=31).contains(&day);
    (plausible && (1..=12).contains(&month)).then(|| month - 1)
}

/// Days of an average month of the year, February with its leap day shared out.
const DAYS: [f64; 12] = [
    31.0, 28.25, 31.0, 30.0, 31.0, 30.0, 31.0, 31.0, 30.0, 31.0, 30.0, 31.0,
];

fn means(sums: &[MonthSums; 12], problems: &mut Problems) -> Option<[Month; 12]> {
    let mut months = [Month::default(); 12];
    let mut complete = true;
    for (index, (month, sums)) in months.iter_mut().zip(sums).enumerate() {
        let mean = |column: usize| {
            let count = sums.counts[column];
            (count > 0).then(|| sums.sums[column] / f64::from(count))
        };
        let (Some(tmin_c), Some(tmax_c), Some(rain)) = (mean(0), mean(1), mean(5)) else {
            let message = format!("month {} has no day with temperatures and rain", index + 1);
            problems.tell("", message);
            complete = false;
            continue;
        };
        *month = Month {
            tmin_c,
            tmax_c,
            rh_mean_pct: mean(2),
            wind_m_s: mean(3),
            sun_h: mean(4),
            rain_mm: rain * DAYS[index],
        };
    }
    complete.then_some(months)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fmt::Write as _;

    #[test]
    fn days_become_months_and_rain_becomes_a_monthly_sum() {
        let folder = tempfile::tempdir().unwrap();
        let mut text = String::from("date,tmin_c,tmax_c,rain_mm\n");
        for month in 1..=12 {
            writeln!(text, "2023-{month:02}-01,1,{month},2").unwrap();
            writeln!(text, "2023-{month:02}-02,3,{month},0").unwrap();
        }
        std::fs::write(folder.path().join("days.csv"), text).unwrap();
        let months = read_daily("days.csv", &folder.path().join("days.csv")).unwrap();
        assert_eq!(months[6].tmin_c, 2.0);
        assert_eq!(months[6].tmax_c, 7.0);
        assert_eq!(months[6].rain_mm, 31.0);
        assert_eq!(months[6].sun_h, None);
    }

    #[test]
    fn a_bad_day_and_a_missing_month_are_both_told() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("days.csv");
        std::fs::write(
            &path,
            "date,tmin_c,tmax_c,rain_mm\n01.02.2023,1,2,3\n2023-01-01,1,2,x\n",
        )
        .unwrap();
        let told = read_daily("days.csv", &path).unwrap_err().to_string();
        assert!(
            told.contains("line 2: `01.02.2023` is not a date"),
            "{told}"
        );
        assert!(told.contains("line 3: rain_mm `x`"), "{told}");
        assert!(told.contains("month 12 has no day"), "{told}");
    }
}
