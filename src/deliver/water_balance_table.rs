//! `water_balance.csv`: the water of each soil, day by day over the year.

use crate::brief::Date;
use crate::deliver::job::Job;
use crate::deliver::tables::cell;
use crate::design::model::SoilBalance;

/// Its columns.
pub(crate) const NAMES: &[&str] = &[
    "date",
    "day",
    "soil",
    "grass",
    "rain_mm",
    "irrigation_mm",
    "runoff_mm",
    "percolation_mm",
    "turf_et_mm",
    "actual_et_mm",
    "depletion_mm",
];

/// Its rows: soil by soil, 1 January first. The days of a mean year have a number but no date.
pub(crate) fn rows(job: &Job) -> Vec<Vec<String>> {
    let schedule = &job.design.schedule;
    let dates: Vec<String> = schedule.balance_year.map_or_else(Vec::new, |year| {
        Date::all_of(year).map(|date| date.to_string()).collect()
    });
    let balances = schedule.balances.iter();
    balances
        .flat_map(|balance| of_soil(balance, &dates))
        .collect()
}

fn of_soil<'a>(
    balance: &'a SoilBalance,
    dates: &'a [String],
) -> impl Iterator<Item = Vec<String>> + 'a {
    balance.days.iter().enumerate().map(|(index, day)| {
        let depths = [
            day.rain_mm,
            day.irrigation_mm,
            day.runoff_mm,
            day.percolation_mm,
            day.turf_et_mm,
            day.actual_et_mm,
            day.depletion_mm,
        ];
        let mut row = vec![
            dates.get(index).cloned().unwrap_or_default(),
            (index + 1).to_string(),
            balance.soil.clone(),
            balance.grass.clone(),
        ];
        row.extend(depths.map(|depth_mm| cell(depth_mm, 3)));
        row
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::{example, schedule_figures};
    use crate::design::model::{BalanceDay, Design, MoistureSetting};

    /// A leap year on loam, a millimetre drier each day after a wet 1 January.
    fn design() -> Design {
        let day = |at: u32| BalanceDay {
            rain_mm: if at == 0 { 12.3456 } else { 0.0 },
            turf_et_mm: 4.0,
            actual_et_mm: if at < 300 { 4.0 } else { 2.0 },
            depletion_mm: f64::from(at),
            ..BalanceDay::default()
        };
        let mut design = example::design();
        design.schedule.balance_year = Some(2024);
        design.schedule.balances = vec![SoilBalance {
            soil: "loam".to_owned(),
            grass: "cool".to_owned(),
            stations: vec![0, 1],
            available_mm: 31.0,
            readily_available_mm: 15.5,
            start_depletion_mm: 2.0,
            days: (0..366).map(day).collect(),
        }];
        design.schedule.sensors.moisture = vec![MoistureSetting {
            soil: "loam".to_owned(),
            depth_m: 0.1,
            start_below: 0.1725,
            stop_at: 0.25,
        }];
        design
    }

    #[test]
    fn days_of_a_record_have_dates_and_days_of_a_mean_year_numbers_only() {
        let (parcel, project, mut design) = (example::parcel(), example::project(), design());
        let of = |design: &Design| rows(&Job::new(&parcel, design, &project));
        let dated = of(&design);
        assert_eq!(dated.len(), 366);
        let first = [
            "2024-01-01",
            "1",
            "loam",
            "cool",
            "12.346",
            "0",
            "0",
            "0",
            "4",
            "4",
            "0",
        ];
        assert_eq!(dated[0], first);
        assert_eq!(dated[59][..2], ["2024-02-29", "60"]);
        assert!(dated.iter().all(|row| row.len() == NAMES.len()));
        design.schedule.balance_year = None;
        assert_eq!(of(&design)[365][..2], ["", "366"]);
    }

    #[test]
    fn the_file_lies_beside_the_schedule_with_a_line_a_day() {
        let folder = tempfile::tempdir().unwrap();
        let (parcel, project) = (example::parcel(), example::project());
        crate::deliver::write_parcel(&parcel, &design(), &project, folder.path()).unwrap();
        let text = std::fs::read_to_string(folder.path().join("water_balance.csv")).unwrap();
        assert_eq!(text.lines().next().unwrap(), NAMES.join(","));
        assert_eq!(text.lines().count(), 367);
    }

    #[test]
    fn the_figures_sum_the_year_and_name_what_stands_on_the_soil() {
        let (parcel, project, mut design) = (example::parcel(), example::project(), design());
        design.schedule.sensors.rain_off_mm = None;
        let figures = schedule_figures::schedule(&Job::new(&parcel, &design, &project));
        let balance = &figures["balances"][0];
        assert_eq!(balance["year_turf_et_mm"], 1464.0);
        assert_eq!(balance["year_actual_et_mm"], 1332.0);
        assert_eq!(balance["stress_days"], 66);
        assert_eq!(balance["et_share"], 0.9098);
        assert_eq!(balance["stations"].as_array().unwrap().len(), 2);
        assert_eq!(balance["depletion_mm"][365], 365.0);
        assert_eq!(figures["sensors"]["moisture"][0]["start_below"], 0.1725);
        assert!(figures["sensors"]["rain_off_mm"].is_null());
        assert_eq!(figures["balance_year"], 2024);
    }
}
