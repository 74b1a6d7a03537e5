//! Figures of a variant over all its parcels, and which variants no other beats.

use super::VariantRows;
use crate::deliver::summary::{Status, SummaryRow};
use crate::deliver::tables::cell;

/// A variant in figures; `None` where a designed parcel lacks the figure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Compared {
    /// What it is called.
    pub name: String,
    /// Parcels that are good, to look at, failed.
    pub status: [usize; 3],
    /// Turf of the designed parcels, ha.
    pub turf_ha: Option<f64>,
    /// Heads.
    pub heads: Option<f64>,
    /// Stations.
    pub stations: Option<f64>,
    /// Uniformity, the mean of the parcels' medians weighed by their turf.
    pub du: Option<f64>,
    /// Trench, m.
    pub trench_m: Option<f64>,
    /// Water in a year, m³.
    pub year_m3: Option<f64>,
    /// Cost, in the currency of the prices.
    pub cost: Option<f64>,
    /// Whether no other variant is as good in cost, water and uniformity and better in one; `None` where it cannot be
    /// compared, since it fails parcels that another designs.
    pub on_front: Option<bool>,
}

impl Compared {
    /// Columns of the table.
    pub(super) const NAMES: [&str; 12] = [
        "variant", "good", "look", "failed", "turf_ha", "heads", "stations", "du_mean", "trench_m",
        "year_m3", "cost", "on_front",
    ];

    fn of(variant: &VariantRows) -> Self {
        let designed: Vec<&SummaryRow> = variant
            .rows
            .iter()
            .filter(|row| row.status != Status::Failed)
            .collect();
        let sum = |name: &str| -> Option<f64> {
            let values = designed.iter().map(|row| row.figure(name));
            values.sum::<Option<f64>>().filter(|_| !designed.is_empty())
        };
        let turf_ha = |row: &&SummaryRow| row.turf_ha;
        let turf: Option<f64> = designed.iter().map(turf_ha).sum();
        let weighed = |row: &&SummaryRow| Some(row.figure("du_median")? * row.turf_ha?);
        let du: Option<f64> = designed.iter().map(weighed).sum();
        let count = |status| {
            variant
                .rows
                .iter()
                .filter(|row| row.status == status)
                .count()
        };
        Self {
            name: variant.name.clone(),
            status: [Status::Good, Status::Look, Status::Failed].map(count),
            turf_ha: turf,
            heads: sum("heads"),
            stations: sum("stations"),
            du: du
                .zip(turf)
                .filter(|(_, ha)| *ha > 0.0)
                .map(|(du, ha)| du / ha),
            trench_m: sum("trench_m"),
            year_m3: sum("year_m3"),
            cost: sum("cost"),
            on_front: None,
        }
    }

    /// Cost, water and unevenness: the less the better.
    fn aims(&self) -> [Option<f64>; 3] {
        [self.cost, self.year_m3, self.du.map(|du| -du)]
    }

    /// The row of the table.
    pub(super) fn cells(&self) -> Vec<String> {
        let mut cells = vec![self.name.clone()];
        cells.extend(self.status.map(|count| count.to_string()));
        cells.extend([
            cell(self.turf_ha, 4),
            cell(self.heads, 0),
            cell(self.stations, 0),
            cell(self.du, 4),
            cell(self.trench_m, 1),
            cell(self.year_m3, 0),
            cell(self.cost, 2),
        ]);
        let word = |on| if on { "yes" } else { "no" }.to_owned();
        cells.push(self.on_front.map_or_else(String::new, word));
        cells
    }
}

/// The variants in figures, in their order, with those on the front of cost, water and uniformity marked (Pareto).
///
/// Aims that some comparable variant lacks, e.g. a cost without prices, are left out for all.
pub(super) fn compared(variants: &[VariantRows]) -> Vec<Compared> {
    let mut compared: Vec<Compared> = variants.iter().map(Compared::of).collect();
    let fewest = compared.iter().map(|variant| variant.status[2]).min();
    let comparable = |variant: &Compared| Some(variant.status[2]) == fewest;
    let known: Vec<[Option<f64>; 3]> = compared
        .iter()
        .filter(|variant| comparable(variant))
        .map(Compared::aims)
        .collect();
    let used: Vec<usize> = (0..3)
        .filter(|aim| known.iter().all(|aims| aims[*aim].is_some()))
        .collect();
    let aims = |variant: &Compared| -> Vec<f64> {
        let aims = variant.aims();
        used.iter().filter_map(|aim| aims[*aim]).collect()
    };
    let all: Vec<Vec<f64>> = compared
        .iter()
        .filter(|variant| comparable(variant))
        .map(aims)
        .collect();
    for variant in &mut compared {
        if Some(variant.status[2]) == fewest && !used.is_empty() {
            let own = aims(variant);
            variant.on_front = Some(!all.iter().any(|other| beats(other, &own)));
        }
    }
    compared
}

/// Whether one is nowhere worse than the other and somewhere better.
fn beats(one: &[f64], other: &[f64]) -> bool {
    let pairs = || one.iter().zip(other);
    pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// A parcel with cost, water and uniformity.
    pub fn row(parcel: &str, cost: Option<f64>, year_m3: f64, du: f64) -> SummaryRow {
        let mut row = SummaryRow::failed(parcel, None, &[]);
        row.status = Status::Good;
        row.turf_ha = Some(2.0);
        row.set_figure("cost", cost);
        row.set_figure("year_m3", Some(year_m3));
        row.set_figure("du_median", Some(du));
        row
    }

    pub fn variant(name: &str, rows: Vec<SummaryRow>) -> VariantRows {
        VariantRows {
            name: name.to_owned(),
            folder: None,
            rows,
        }
    }

    fn front(variants: &[VariantRows]) -> Vec<Option<bool>> {
        compared(variants).iter().map(|v| v.on_front).collect()
    }

    #[test]
    fn what_another_beats_is_off_the_front() {
        let one = |name, cost, water, du| variant(name, vec![row("p", Some(cost), water, du)]);
        let variants = [
            one("base", 100.0, 50.0, 0.80),
            one("cheaper", 90.0, 55.0, 0.75),
            one("worse", 100.0, 51.0, 0.80),
            one("the same", 100.0, 50.0, 0.80),
        ];
        assert_eq!(
            front(&variants),
            [Some(true), Some(true), Some(false), Some(true)]
        );
    }

    #[test]
    fn without_prices_water_and_uniformity_decide_and_failures_are_not_compared() {
        let mut failing = row("q", None, 1.0, 0.9);
        failing.status = Status::Failed;
        let variants = [
            variant(
                "base",
                vec![row("p", None, 50.0, 0.8), row("q", None, 30.0, 0.6)],
            ),
            variant(
                "wet",
                vec![row("p", None, 60.0, 0.8), row("q", None, 30.0, 0.6)],
            ),
            variant("broken", vec![row("p", None, 40.0, 0.8), failing]),
        ];
        assert_eq!(front(&variants), [Some(true), Some(false), None]);
        let base = &compared(&variants)[0];
        assert_eq!(
            (base.year_m3, base.cost, base.status),
            (Some(80.0), None, [2, 0, 0])
        );
        assert!((base.du.unwrap() - 0.7).abs() < 1e-12);
        assert_eq!(front(&[]), []);
    }
}
