//! What is checked before the system is handed over: pressures at stated heads, and the can test.

use super::tables::shown;
use super::{number, percent};
use crate::deliver::job::Job;
use crate::design::model::TurfResult;
use minijinja::Value;

/// Pressures to be measured: for each station the first and the last head on the walk, and those of least and greatest
/// pressure.
pub(super) fn pressures(job: &Job) -> Option<Value> {
    let order = job.order_of_heads();
    let row = |(index, station): (usize, &crate::design::model::Station)| {
        let kpa = |&head: &usize| job.working(head).map_or(f64::NAN, |w| w.pressure_kpa);
        let solved = || {
            station
                .heads
                .iter()
                .copied()
                .filter(|head| kpa(head).is_finite())
        };
        let by_kpa = |a: &usize, b: &usize| kpa(a).total_cmp(&kpa(b));
        let stated = [
            station.heads.first().copied(),
            station.heads.last().copied(),
            solved().min_by(by_kpa),
            solved().max_by(by_kpa),
        ];
        let mut cells = vec![job.design.station_number(index).to_string()];
        for head in stated {
            let told = head.and_then(|head| {
                let place = order.get(head)? + 1;
                Some(format!("{place}: {}", number(kpa(&head), 0)))
            });
            cells.push(told.unwrap_or("–".into()));
            cells.push(String::new());
        }
        cells
    };
    let names = [
        "Station",
        "First head: kPa",
        "Measured",
        "Last head: kPa",
        "Measured",
        "Lowest: kPa",
        "Measured",
        "Highest: kPa",
        "Measured",
    ];
    let rows = job.design.stations.iter().enumerate().map(row).collect();
    shown("Pressures to measure", 1, &names, rows)
}

/// Ground that one can stands for, m².
const CAN_M2: f64 = 25.0;
/// Fewest and most cans on an area: the low quarter of fewer than 24 is five cans or less, and nobody reads more than 100.
const CANS: (f64, f64) = (24.0, 100.0);

/// Number of cans for an area, and how far apart they stand in a square grid, m.
fn cans(area_m2: f64) -> (usize, f64) {
    let count = (area_m2 / CAN_M2).ceil().clamp(CANS.0, CANS.1);
    (count as usize, (area_m2 / count).max(0.0).sqrt())
}

/// The can test: for each turf area how many cans, how far apart, and what was computed.
pub(super) fn can_test(job: &Job) -> Option<Value> {
    let row = |(id, turf): (&String, &TurfResult)| {
        let (count, apart_m) = cans(turf.area_m2);
        vec![
            id.clone(),
            number(turf.area_m2, 0),
            count.to_string(),
            number(apart_m, 1),
            percent(turf.du_low_quarter),
            String::new(),
            String::new(),
            String::new(),
        ]
    };
    let names = [
        "Turf",
        "Area, m²",
        "Cans",
        "Apart, m",
        "DU computed",
        "Mean of lowest quarter, mL",
        "Mean of all, mL",
        "DU measured",
    ];
    let watered = job.names.turf.iter().zip(&job.design.turf);
    let rows = watered
        .filter(|(_, turf)| turf.heads > 0)
        .map(row)
        .collect();
    shown("Can test", 1, &names, rows)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn stated_heads_are_those_of_the_walk_and_of_the_pressures() {
        let (parcel, mut design, project) =
            (example::parcel(), example::design(), example::project());
        for (head, working) in design.working.iter_mut().enumerate() {
            working.pressure_kpa = 300.0 + ((head * 7) % 15) as f64;
        }
        let job = Job::new(&parcel, &design, &project);
        let table = pressures(&job).unwrap();
        let row = table
            .get_attr("rows")
            .unwrap()
            .get_item_by_index(0)
            .unwrap();
        let cells: Vec<String> = row.try_iter().unwrap().map(|v| v.to_string()).collect();
        // Heads 0 to 4 have 300, 307, 314, 306, 313 kPa.
        assert_eq!(
            cells,
            ["1", "1: 300", "", "5: 313", "", "1: 300", "", "3: 314", ""]
        );
    }

    #[test]
    fn cans_follow_the_area_within_limits() {
        assert_eq!(cans(1000.0), (40, 5.0));
        assert_eq!(cans(10.0).0, 24);
        assert_eq!(cans(1e6).0, 100);
        assert!(cans(0.0).1 == 0.0);
    }
}
