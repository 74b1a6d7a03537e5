//! The room as a whole.

use super::fixture::dry_summer;
use super::*;
use crate::design::model::Together;
use proptest::prelude::*;

fn station(flow_lpm: f64, rate_mm_h: f64) -> StationNeed {
    StationNeed {
        number: None,
        flow_lpm,
        rate_mm_h,
        du_low_quarter: Some(0.7),
        area_m2: 60.0 * flow_lpm / rate_mm_h.max(1.0),
        soil: Some("sandy_loam".to_owned()),
        season: Some("cool".to_owned()),
        slope: 0.02,
    }
}

fn request<'a>(
    climate: &'a Climate,
    rules: &'a Rules,
    stations: Vec<StationNeed>,
) -> ScheduleRequest<'a> {
    ScheduleRequest {
        climate,
        latitude_deg: 45.0 + 43.0 / 60.0,
        rules,
        stations,
        design_lpm: 60.0,
        together: None,
    }
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|finding| finding.code).collect()
}

/// ETo 5.0331 of FAO-56 example 20, Kc 0.95 of its table 12, no rain, DU 0.70, 12 mm/h, worked by hand:
/// 148.2 mm in July; sandy loam holds 0.13 × 200 × 0.5 = 13 mm, so 12 days of 75.3 min, up to 76.
#[test]
fn july_near_lyon_by_hand() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let (schedule, findings) = plan(&request(&climate, &rules, vec![station(40.0, 12.0)]));
    let july = schedule.rows.iter().find(|row| row.month == 7).unwrap();
    assert_eq!((july.days, july.minutes), (12, 76.0));
    assert!((july.depth_mm - 12.0 * 76.0 / 60.0 * 12.0).abs() < 1e-9);
    assert!((july.volume_m3 - 0.04 * 76.0 * 12.0).abs() < 1e-9);
    assert!(schedule.fits_window);
    assert_eq!(codes(&findings), ["hargreaves_used"]);
}

#[test]
fn wet_months_and_months_out_of_season_have_no_rows() {
    let climate = dry_summer();
    let mut rules = Rules::default();
    (rules.season_first_month, rules.season_last_month) = (9.0, 4.0);
    let (schedule, _) = plan(&request(&climate, &rules, vec![station(40.0, 12.0)]));
    let months: Vec<u32> = schedule.rows.iter().map(|row| row.month).collect();
    assert_eq!(months, [4, 9, 10]);
    let year: f64 = schedule.rows.iter().map(|row| row.volume_m3).sum();
    assert!((schedule.year_m3 - year).abs() < 1e-9);
}

/// FAO-56 table 12: 0.95 in January where grass grows all year, 0.90 where the season begins with it.
#[test]
fn grass_that_grows_all_year_does_not_green_up() {
    let (mut climate, mut rules) = (dry_summer(), Rules::default());
    climate.months[0].rain_mm = 0.0;
    let january_mm = |rules: &Rules| {
        let trickle = vec![station(30.0, 0.5)]; // so slow that whole minutes do not matter
        let (schedule, _) = plan(&request(&climate, rules, trickle));
        schedule.rows[0].depth_mm
    };
    let all_year = january_mm(&rules);
    rules.season_last_month = 11.0;
    assert!((january_mm(&rules) / all_year - 0.90 / 0.95).abs() < 0.01);
}

#[test]
fn more_days_are_taken_when_deep_waterings_do_not_fit_the_window() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let (schedule, findings) = plan(&request(&climate, &rules, vec![station(60.0, 12.0); 12]));
    assert!(schedule.fits_window, "{}", schedule.peak_window_h);
    assert!(schedule.peak_window_h <= 8.0);
    assert!(
        schedule
            .rows
            .iter()
            .any(|row| row.month == 7 && row.days > 12)
    );
    assert!(!codes(&findings).contains(&"window_exceeded"));
}

/// By hand: July greens up with Kc 0.90, so 5.0331 × 0.90 / 12 × 60 / 0.82 = 27.6, up to 28 min a day; 30 stations,
/// one after another, 14 h; 60 L/min × 14 / 8 = 105.
#[test]
fn too_many_stations_are_told_with_hours_and_flow() {
    let climate = dry_summer();
    let mut rules = Rules::default();
    (rules.season_first_month, rules.season_last_month) = (7.0, 8.0);
    let (schedule, findings) = plan(&request(&climate, &rules, vec![station(60.0, 12.0); 30]));
    assert!(!schedule.fits_window);
    let told = findings
        .iter()
        .find(|f| f.code == "window_exceeded")
        .unwrap();
    assert!(
        told.message.contains("14.0 h, 6.0 h more"),
        "{}",
        told.message
    );
    assert!(
        told.message.contains("at least 105 L/min"),
        "{}",
        told.message
    );
}

#[test]
fn stations_run_together_within_the_supply_and_it_is_told() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let (schedule, findings) = plan(&request(&climate, &rules, vec![station(30.0, 12.0); 4]));
    assert!((schedule.peak_window_h - 2.0 * schedule.peak_minutes[0] / 60.0).abs() < 1e-9);
    assert!((schedule.peak_bound_h - schedule.peak_window_h).abs() < 1e-3);
    assert!(codes(&findings).contains(&"stations_together"));
}

/// Allows pairs of two even or two odd stations; tells figures that grow with the numbers.
#[derive(Debug)]
struct Evens;

impl TogetherCheck for Evens {
    fn open(&self, stations: &[usize]) -> Result<Together, Refusal> {
        let sum = stations.iter().sum::<usize>();
        match stations {
            [a, b] if (a + b) % 2 == 1 && *a == 0 => Err(Refusal::Pressure),
            [a, b] if (a + b) % 2 == 1 => Err(Refusal::Velocity),
            _ => Ok(Together {
                stations: stations.to_vec(),
                flow_lpm: 30.0 * stations.len() as f64,
                source_kpa: 400.0 + sum as f64,
                pressure_least_margin_kpa: 10.0 + sum as f64,
                velocity_most_m_s: 1.0 + sum as f64 / 10.0,
            }),
        }
    }
}

/// Four stations of half the supply: 0 with 2 and 1 with 3 alone may run, so of six pairs 0–1 and 0–3 are refused for
/// pressure, 1–2 and 2–3 for velocity.
#[test]
fn only_stations_that_may_run_together_do_and_the_figures_are_told() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let asked = ScheduleRequest {
        together: Some(&Evens),
        ..request(&climate, &rules, vec![station(30.0, 12.0); 4])
    };
    let (schedule, findings) = plan(&asked);
    let sets: Vec<&[usize]> = schedule
        .together
        .iter()
        .map(|set| &set.stations[..])
        .collect();
    assert_eq!(sets, [[0, 2], [1, 3]]);
    assert!((schedule.peak_window_h - 2.0 * schedule.peak_minutes[0] / 60.0).abs() < 1e-9);
    let note = findings.iter().find(|f| f.code == "stations_together");
    let message = &note.unwrap().message;
    for words in [
        "up to 2 stations",
        "at least 12.0 kPa",
        "the source 402 kPa",
        "up to 1.40 m/s",
        "Of the 6 pairs that the flow allows, 2 are kept apart for pressure and 2 for velocity",
    ] {
        assert!(message.contains(words), "{words}: {message}");
    }
}

/// Of nine stations of a third of the supply, three at a time would do; kept apart they pass the window, and it is told why.
#[test]
fn a_window_passed_for_pressure_is_told_so() {
    #[derive(Debug)]
    struct Apart;
    impl TogetherCheck for Apart {
        fn open(&self, stations: &[usize]) -> Result<Together, Refusal> {
            if stations.len() > 1 {
                return Err(Refusal::Pressure);
            }
            Ok(Together::default())
        }
    }
    let climate = dry_summer();
    let rules = Rules {
        watering_window_h: 2.0,
        ..Rules::default()
    };
    let by_flow = request(&climate, &rules, vec![station(20.0, 12.0); 9]);
    assert!(plan(&by_flow).0.fits_window);
    let asked = ScheduleRequest {
        together: Some(&Apart),
        ..by_flow
    };
    let (schedule, findings) = plan(&asked);
    assert!(!schedule.fits_window && schedule.together.is_empty());
    assert!(!codes(&findings).contains(&"stations_together"));
    let told = findings.iter().find(|f| f.code == "window_exceeded");
    let message = &told.unwrap().message;
    let words = "36 of the 36 pairs that its flow allows are kept apart, 36 for pressure and 0 for velocity";
    assert!(message.contains(words), "{message}");
}

#[test]
fn few_days_a_week_are_kept_and_told_when_the_soil_would_want_more() {
    let climate = dry_summer();
    let rules = Rules {
        watering_days_per_week: 1.0,
        ..Rules::default()
    };
    let (schedule, findings) = plan(&request(&climate, &rules, vec![station(30.0, 12.0)]));
    assert!(schedule.rows.iter().all(|row| row.days <= 4));
    assert!(codes(&findings).contains(&"watering_days_too_few"));
}

#[test]
fn what_is_missing_is_told_and_leaves_no_hole() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let blind = StationNeed {
        du_low_quarter: None,
        soil: Some("porridge".to_owned()),
        season: Some("autumn".to_owned()),
        ..station(30.0, 12.0)
    };
    let bare = StationNeed {
        soil: None,
        season: None,
        ..station(30.0, 12.0)
    };
    let stations = vec![station(30.0, 0.0), blind, bare, station(f64::NAN, 12.0)];
    let (schedule, findings) = plan(&request(&climate, &rules, stations));
    for code in [
        "station_without_water",
        "uniformity_assumed",
        "soil_assumed",
        "soil_unknown",
        "season_unknown",
    ] {
        assert!(codes(&findings).contains(&code), "{code}");
    }
    assert_eq!(schedule.peak_minutes[0], 0.0);
    assert!(
        schedule
            .rows
            .iter()
            .all(|row| row.station == 1 || row.station == 2)
    );
}

#[test]
fn water_that_misses_its_ground_is_told() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let mut wasteful = station(30.0, 12.0);
    wasteful.area_m2 /= 1.3;
    let stations = vec![station(30.0, 12.0), wasteful];
    let (_, findings) = plan(&request(&climate, &rules, stations));
    let told = findings
        .iter()
        .find(|f| f.code == "water_beside_ground")
        .unwrap();
    assert!(told.message.contains("water of station 2,"));
}

#[test]
fn nothing_to_water_is_an_empty_schedule_that_fits() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let (schedule, _) = plan(&request(&climate, &rules, Vec::new()));
    assert!(schedule.rows.is_empty() && schedule.fits_window && schedule.peak_month.is_none());
    assert_eq!(schedule.year_m3, 0.0);
}

#[test]
fn a_whole_day_of_a_trickle_is_cut_and_told() {
    let (climate, rules) = (dry_summer(), Rules::default());
    let (schedule, findings) = plan(&request(&climate, &rules, vec![station(1.0, 0.01)]));
    assert!(schedule.rows.iter().all(|row| row.minutes <= 1440.0));
    assert!(codes(&findings).contains(&"day_too_short"));
}

proptest! {
    #[test]
    fn every_figure_is_finite_and_the_need_is_met(latitude in -90.0..90.0_f64, rate in 0.5..60.0_f64, du in 0.0..1.0_f64, flow in 1.0..90.0_f64) {
        let (climate, rules) = (dry_summer(), Rules::default());
        let mut request = request(&climate, &rules, vec![StationNeed { du_low_quarter: Some(du), ..station(flow, rate) }; 3]);
        request.latitude_deg = latitude;
        let (schedule, _) = plan(&request);
        prop_assert!(schedule.year_m3.is_finite() && schedule.peak_window_h.is_finite());
        prop_assert!(schedule.peak_window_h >= schedule.peak_bound_h);
        for row in &schedule.rows {
            let index = row.month as usize - 1;
            let need = schedule.eto_mm_day[index] * 0.95 * f64::from(runtime::days_in_month(row.month)) - schedule.effective_rain_mm[index];
            prop_assert!(row.depth_mm.is_finite() && row.volume_m3 > 0.0);
            prop_assert!(row.minutes >= 1440.0 || row.depth_mm + 1e-6 >= need * runtime::scheduling_multiplier(du));
        }
    }
}
