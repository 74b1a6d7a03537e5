//! A year of daily evapotranspiration and of the soil's water against public implementations of FAO-56: `pyfao56`
//! (USDA-ARS, public domain) for the balance, `pyet` and `pyfao56` for evapotranspiration (`water_balance_check.py`).

use super::python;
use serde_json::{Value, json};
use std::path::PathBuf;
use swardline::brief::{Climate, Date, Day, Sky};
use swardline::design::model::BalanceDay;
use swardline::design::schedule::balance::{Demand, Store, stress_days};
use swardline::design::schedule::weather::{Method, of_climate};

const LATITUDE_DEG: f64 = 47.0;

/// Of the balance, mm: both run the same equations in floating point; what differs is rounding, and 1e-12 in the crop
/// coefficient that pyfao56 asks for.
const BALANCE_DIFFERENCE_MOST_MM: f64 = 1e-9;

/// Of evapotranspiration by pyet, mm/day: the same equations, rounded.
const PYET_DIFFERENCE_MOST_MM: f64 = 1e-8;

/// The same by pyfao56, which follows ASCE 2005: two constants there have another fourth digit.
const ASCE_DIFFERENCE_MOST_MM: f64 = 0.002;

/// An invented year, always the same: seasons by sine, days by a generator of remainders (Lehmer, 48271).
fn weather() -> Vec<Day> {
    let mut state = 20_231_u64;
    let mut chance = move || {
        state = state * 48_271 % 2_147_483_647;
        state as f64 / 2_147_483_647.0
    };
    let day = |date: Date| {
        let angle = std::f64::consts::TAU * (f64::from(date.day_of_year()) - 110.0) / 365.0;
        let tmin_c = 6.0 + 9.0 * angle.sin() + 6.0 * (chance() - 0.5);
        let wet = chance() < 0.3;
        Day {
            date,
            tmin_c: Some(tmin_c),
            tmax_c: Some(tmin_c + 3.0 + 12.0 * chance()),
            rain_mm: Some(if wet { 25.0 * chance() * chance() } else { 0.0 }),
            sky: Sky {
                rh_max_pct: Some(80.0 + 19.0 * chance()),
                rh_min_pct: Some(30.0 + 40.0 * chance()),
                wind_m_s: Some(0.3 + 5.0 * chance()),
                solar_mj: Some((15.0 + 9.0 * angle.sin()) * (0.35 + 0.75 * chance())),
                ..Sky::default()
            },
        }
    };
    Date::all_of(2023).map(day).collect()
}

fn climate() -> Climate {
    Climate {
        altitude_m: 350.0,
        days: weather(),
        built_in: false,
        ..Climate::built_in()
    }
}

/// A soil and what is done to it.
struct Case {
    fc: f64,
    wp: f64,
    root_depth_m: f64,
    depletion_share: f64,
    kc: f64,
    start_mm: f64,
    /// Every so many days from April to September, so much water, mm.
    irrigation: (u32, f64),
}

const CASES: [Case; 3] = [
    Case {
        fc: 0.25,
        wp: 0.095,
        root_depth_m: 0.20,
        depletion_share: 0.5,
        kc: 0.95,
        start_mm: 0.0,
        irrigation: (6, 14.0),
    },
    Case {
        fc: 0.12,
        wp: 0.04,
        root_depth_m: 0.15,
        depletion_share: 0.4,
        kc: 0.85,
        start_mm: 9.0,
        irrigation: (7, 14.0),
    },
    Case {
        fc: 0.36,
        wp: 0.20,
        root_depth_m: 0.50,
        depletion_share: 0.5,
        kc: 0.95,
        start_mm: 40.0,
        irrigation: (400, 0.0),
    },
];

impl Case {
    fn irrigation_mm(&self, date: Date) -> f64 {
        let (every, depth_mm) = self.irrigation;
        let watered = (4..=9).contains(&date.month()) && date.day_of_year().is_multiple_of(every);
        if watered { depth_mm } else { 0.0 }
    }

    fn ours(&self, eto_mm: &[f64]) -> Vec<BalanceDay> {
        let available_mm = 1000.0 * (self.fc - self.wp) * self.root_depth_m;
        let store = Store {
            available_mm,
            readily_available_mm: self.depletion_share * available_mm,
        };
        let demand = |(day, eto_mm): (Day, &f64)| Demand {
            rain_mm: day.rain_mm.unwrap(),
            runoff_mm: 0.0,
            irrigation_mm: self.irrigation_mm(day.date),
            turf_et_mm: self.kc * eto_mm,
        };
        let demands: Vec<Demand> = weather().into_iter().zip(eto_mm).map(demand).collect();
        store.year(self.start_mm, &demands)
    }

    fn told(&self, eto_mm: &[f64]) -> Value {
        let day = |(day, eto_mm): (Day, &f64)| {
            json!({
                "date": day.date.to_string(), "tmin_c": day.tmin_c, "tmax_c": day.tmax_c, "rain_mm": day.rain_mm,
                "rh_max_pct": day.sky.rh_max_pct, "rh_min_pct": day.sky.rh_min_pct, "wind_m_s": day.sky.wind_m_s,
                "solar_mj": day.sky.solar_mj, "eto_mm": eto_mm, "irrigation_mm": self.irrigation_mm(day.date),
            })
        };
        json!({
            "altitude_m": climate().altitude_m, "latitude_deg": LATITUDE_DEG, "fc": self.fc, "wp": self.wp,
            "root_depth_m": self.root_depth_m, "depletion_share": self.depletion_share, "kc": self.kc,
            "start_mm": self.start_mm, "days": weather().into_iter().zip(eto_mm).map(day).collect::<Value>(),
        })
    }
}

/// What the script says of each day of each year: evapotranspiration twice, use, percolation, depletion.
fn public_figures(python: &std::path::Path, years: &[Value]) -> Vec<Vec<[f64; 5]>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("years.json");
    std::fs::write(&path, json!(years).to_string()).unwrap();
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let script = root.join("tests/reference/water_balance_check.py");
    let text = python::told(python, &[script, path]);
    let lines = text.lines().filter_map(|line| line.strip_prefix("day "));
    let figures = lines.map(|line| {
        let words: Vec<f64> = line.split(' ').map(|word| word.parse().unwrap()).collect();
        words.try_into().unwrap()
    });
    let figures: Vec<[f64; 5]> = figures.collect();
    figures.chunks(365).map(<[_]>::to_vec).collect()
}

/// Greatest difference, and the day of it.
fn furthest(ours: impl Iterator<Item = f64>, theirs: impl Iterator<Item = f64>) -> (f64, usize) {
    let differences = ours.zip(theirs).map(|(one, other)| (one - other).abs());
    let numbered = differences.zip(1..);
    numbered.fold(
        (0.0, 0),
        |most, next| if next.0 > most.0 { next } else { most },
    )
}

#[test]
fn a_year_of_days_agrees_with_public_implementations() {
    let Some(python) = python::with("pandas, pyet, pyfao56") else {
        return;
    };
    let found = of_climate(&climate(), LATITUDE_DEG, 8.0, &mut Vec::new());
    assert_eq!(found.method, Method::PenmanMonteith);
    assert_eq!(found.series.year, Some(2023));
    let eto_mm: Vec<f64> = found.series.days.iter().map(|day| day.eto_mm).collect();
    let told: Vec<Value> = CASES.iter().map(|case| case.told(&eto_mm)).collect();
    let all_theirs = public_figures(&python, &told);
    assert_eq!(all_theirs.len(), CASES.len());
    for ((number, case), theirs) in CASES.iter().enumerate().zip(&all_theirs) {
        let ours = case.ours(&eto_mm);
        assert_eq!((ours.len(), theirs.len()), (365, 365));
        let column = |at: usize| theirs.iter().map(move |day| day[at]);
        let pyet = furthest(eto_mm.iter().copied(), column(0));
        let asce = furthest(eto_mm.iter().copied(), column(1));
        let used = furthest(ours.iter().map(|day| day.actual_et_mm), column(2));
        let sunk = furthest(ours.iter().map(|day| day.percolation_mm), column(3));
        let left = furthest(ours.iter().map(|day| day.depletion_mm), column(4));
        let short = stress_days(&ours);
        eprintln!(
            "soil {number}: (mm, day) evapotranspiration {pyet:?} {asce:?}, use {used:?}, percolation {sunk:?}, depletion {left:?}; \
             {short} days short"
        );
        assert!(
            short > 20,
            "the case asks nothing of the stress coefficient"
        );
        assert!(ours.iter().any(|day| day.percolation_mm > 5.0));
        assert!(pyet.0 < PYET_DIFFERENCE_MOST_MM, "{pyet:?}");
        assert!(asce.0 < ASCE_DIFFERENCE_MOST_MM, "{asce:?}");
        for difference in [used, sunk, left] {
            assert!(difference.0 < BALANCE_DIFFERENCE_MOST_MM, "{difference:?}");
        }
    }
}
