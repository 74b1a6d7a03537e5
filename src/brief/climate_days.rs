//! Reading of the daily record that `[climate]` names: a CSV with one day a line, in any order.

use crate::brief::climate::{Date, Day, Sky};
use crate::brief::climate_file::{RAIN_MM, SKY, TEMPERATURE_C, contradiction};
use crate::brief::csv_file;
use crate::brief::problems::{Problems, suggestion};
use csv::StringRecord;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;
use std::path::Path;

/// Columns that must be there beside the date.
const NEEDED: [(&str, RangeInclusive<f64>); 3] = [
    ("tmin_c", TEMPERATURE_C),
    ("tmax_c", TEMPERATURE_C),
    ("rain_mm", RAIN_MM),
];

/// The days of the file, by rising date; what is wrong goes to `problems`.
pub(super) fn read_days(path: &Path, problems: &mut Problems) -> Option<Vec<Day>> {
    let (header, mut rows) = csv_file::open(path, problems)?;
    let columns = Columns::of(&header, problems)?;
    let mut days: BTreeMap<Date, (u64, Day)> = BTreeMap::new();
    let mut twice = Vec::new();
    for row in rows.records() {
        let row = match row {
            Ok(row) => row,
            Err(error) => {
                problems.tell("", format!("{error}"));
                continue;
            }
        };
        let line = row.position().map_or(0, csv::Position::line);
        let Some(day) = columns.day(&row, line, problems) else {
            continue;
        };
        if let Some((first, _)) = days.get(&day.date) {
            twice.push((line, day.date, *first));
        } else {
            days.insert(day.date, (line, day));
        }
    }
    tell_twice(&twice, problems);
    Some(days.into_values().map(|(_, day)| day).collect())
}

/// The first date that stands twice, and how many more there are: a file pasted twice should not fill a screen.
fn tell_twice(twice: &[(u64, Date, u64)], problems: &mut Problems) {
    let Some((line, date, first)) = twice.first() else {
        return;
    };
    let more = match twice.len() - 1 {
        0 => String::new(),
        more => format!(" (and {more} more lines like it)"),
    };
    let message = format!("{date} is there already, in line {first}{more}; keep one line a day");
    problems.tell(format!("line {line}"), message);
}

/// Where each value stands in a line.
struct Columns {
    date: usize,
    needed: [Option<usize>; 3],
    sky: [Option<usize>; 7],
}

impl Columns {
    fn of(header: &StringRecord, problems: &mut Problems) -> Option<Self> {
        let needed = NEEDED.map(|(name, _)| name);
        let sky = SKY.map(|(name, _, _)| name);
        let known: Vec<&str> = [&["date"], &needed[..], &sky[..]].concat();
        for (at, column) in header.iter().enumerate() {
            if !known.contains(&column) {
                let advice = suggestion(column, &known);
                problems.tell("line 1", format!("unknown column `{column}`; {advice}"));
            } else if header.iter().take(at).any(|before| before == column) {
                problems.tell("line 1", format!("column `{column}` is there twice"));
            }
        }
        let find = |name: &str| header.iter().position(|column| column == name);
        for name in ["date"].iter().chain(&needed) {
            if find(name).is_none() {
                problems.tell("line 1", format!("column `{name}` is missing"));
            }
        }
        Some(Self {
            date: find("date")?,
            needed: needed.map(find),
            sky: sky.map(find),
        })
    }

    fn day(&self, row: &StringRecord, line: u64, problems: &mut Problems) -> Option<Day> {
        let written = row.get(self.date).unwrap_or_default();
        let Some(date) = date_of(written) else {
            let message = format!("`{written}` is not a date like 2024-07-31");
            problems.tell(format!("line {line}"), message);
            return None;
        };
        let mut value = |at: Option<usize>, name: &str, range: &RangeInclusive<f64>| {
            let cell = at.and_then(|at| row.get(at)).unwrap_or_default();
            number(cell, name, range, line, problems)
        };
        let mut needed = [None; 3];
        for ((slot, at), (name, range)) in needed.iter_mut().zip(self.needed).zip(&NEEDED) {
            *slot = value(at, name, range);
        }
        let mut sky = Sky::default();
        for (at, (name, range, slot)) in self.sky.into_iter().zip(SKY) {
            *slot(&mut sky) = value(at, name, &range);
        }
        let [tmin_c, tmax_c, rain_mm] = needed;
        let (coldest_c, warmest_c) = (tmin_c.unwrap_or(-300.0), tmax_c.unwrap_or(300.0));
        if let Some(wrong) = contradiction(coldest_c, warmest_c, &sky) {
            problems.tell(format!("line {line}"), wrong);
        }
        Some(Day {
            date,
            tmin_c,
            tmax_c,
            rain_mm,
            sky,
        })
    }
}

/// The number of a cell; `None` where it is empty, or wrong, which is told.
fn number(
    cell: &str,
    name: &str,
    range: &RangeInclusive<f64>,
    line: u64,
    problems: &mut Problems,
) -> Option<f64> {
    if cell.is_empty() {
        return None;
    }
    let value = cell.parse().ok().filter(|value| range.contains(value));
    if value.is_none() {
        let (least, greatest) = (range.start(), range.end());
        let message = format!(
            "{name} `{cell}` is not a number from {least} to {greatest}; leave the cell empty where nothing was observed"
        );
        problems.tell(format!("line {line}"), message);
    }
    value
}

/// A day written as 2024-07-31, alone or with a time of day behind it.
fn date_of(written: &str) -> Option<Date> {
    let day = written.split(['T', ' ']).next()?;
    let shape = day
        .bytes()
        .map(|byte| if byte.is_ascii_digit() { b'0' } else { byte });
    if !shape.eq(*b"0000-00-00") {
        return None;
    }
    let part = |range: std::ops::Range<usize>| day.get(range)?.parse::<u32>().ok();
    let year = i32::try_from(part(0..4)?).ok()?;
    let plausible = (1800..3000).contains(&year);
    Date::new(year, part(5..7)?, part(8..10)?).filter(|_| plausible)
}
