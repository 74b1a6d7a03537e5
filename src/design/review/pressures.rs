//! Stations whose heads get too little, too much or too unevenly: by how much, where, and what would mend it.

use crate::brief::{Catalogue, HeadModel, Rules};
use crate::design::model::{Design, Station};
use crate::design::settle::remedy::{Means, Remedy, Way};
use crate::finding::Finding;

/// Pressure out of a rule that is not told, kPa.
const TOLD_LEAST_KPA: f64 = 0.5;

/// A station as it is judged.
struct Judged<'a> {
    design: &'a Design,
    catalogue: &'a Catalogue,
    rules: &'a Rules,
    number: usize,
    mended: String,
}

/// The findings of all stations.
pub(super) fn findings(
    design: &Design,
    remedies: &[Remedy],
    catalogue: &Catalogue,
    rules: &Rules,
) -> Vec<Finding> {
    let judged = |number: usize| {
        let remedy = remedies.iter().find(|remedy| remedy.station == number);
        Judged {
            design,
            catalogue,
            rules,
            number,
            mended: remedy
                .map_or_else(String::new, |remedy| told(remedy, &design.stations[number])),
        }
    };
    let stations = (0..design.stations.len()).map(judged);
    stations
        .flat_map(|station| [station.short(), station.over(), station.uneven()])
        .flatten()
        .chain(one_booster(remedies))
        .collect()
}

/// Where several stations want a booster, the one that would serve them all.
fn one_booster(remedies: &[Remedy]) -> Option<Finding> {
    let boosters = remedies.iter().flat_map(|remedy| &remedy.ways);
    let boosters = boosters.filter_map(|way| match way.means {
        Means::Booster { kpa, lpm } => Some((kpa, lpm)),
        _ => None,
    });
    let most = |a: (f64, f64), b: (f64, f64)| (a.0.max(b.0), a.1.max(b.1));
    let count = boosters.clone().count();
    let (kpa, lpm) = boosters.reduce(most).filter(|_| count > 1)?;
    let message = format!(
        "{count} stations would be mended by one booster of {kpa:.0} kPa at {lpm:.0} L/min behind the backflow preventer"
    );
    Some(Finding::note("booster_for_all", message))
}

impl Judged<'_> {
    fn station(&self) -> &Station {
        &self.design.stations[self.number]
    }

    fn model(&self, head: usize) -> &HeadModel {
        &self.catalogue.heads[self.design.heads[head].model]
    }

    /// The head for which a figure is greatest, and that figure.
    fn worst(&self, figure: impl Fn(usize) -> f64) -> Option<(usize, f64)> {
        let heads = self.station().heads.iter();
        heads
            .map(|&head| (head, figure(head)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, kpa)| *kpa > TOLD_LEAST_KPA)
    }

    fn kpa(&self, head: usize) -> f64 {
        self.design.working[head].pressure_kpa
    }

    fn at(&self, finding: Finding, head: usize) -> Finding {
        finding
            .of(self.design.ids.station(self.number))
            .at(self.design.heads[head].position)
    }

    fn short(&self) -> Option<Finding> {
        let missing = |head: usize| self.model(head).pressure_min_kpa - self.kpa(head);
        let (head, kpa) = self.worst(missing)?;
        let short = self
            .station()
            .heads
            .iter()
            .filter(|h| missing(**h) > TOLD_LEAST_KPA);
        let message = format!(
            "pressure falls {kpa:.0} kPa short at {}, which gets {:.0} kPa and needs {:.0}; {} of {} heads are short. {}",
            self.design.ids.head(head),
            self.kpa(head),
            self.model(head).pressure_min_kpa,
            short.count(),
            self.station().heads.len(),
            self.mended
        );
        Some(self.at(Finding::error("pressure_short", message), head))
    }

    fn over(&self) -> Option<Finding> {
        let (head, kpa) = self.worst(|head| self.kpa(head) - self.model(head).pressure_max_kpa)?;
        let message = format!(
            "pressure is {kpa:.0} kPa over the working range at {}, which gets {:.0} kPa. {}",
            self.design.ids.head(head),
            self.kpa(head),
            self.mended
        );
        Some(self.at(Finding::error("pressure_over", message), head))
    }

    fn uneven(&self) -> Option<Finding> {
        let station = self.station();
        let models = station.heads.iter().map(|head| self.model(*head));
        let ref_kpa = models
            .map(|m| m.pressure_ref_kpa)
            .fold(f64::INFINITY, f64::min);
        let allowed_kpa = self.rules.station_pressure_spread * ref_kpa;
        let spread_kpa = station.pressure_max_kpa - station.pressure_min_kpa;
        if spread_kpa <= allowed_kpa + TOLD_LEAST_KPA {
            return None;
        }
        let highest = self.worst(|head| self.kpa(head))?;
        let message = format!(
            "pressure differs by {spread_kpa:.0} kPa inside the station, {allowed_kpa:.0} kPa are allowed (height differs by {:.1} m); {} gets most, {:.0} kPa. {}",
            station.elevation_spread_m,
            self.design.ids.head(highest.0),
            highest.1,
            self.mended
        );
        Some(self.at(Finding::warning("pressure_spread", message), highest.0))
    }
}

/// The ways to mend a station, cheapest first.
fn told(remedy: &Remedy, station: &Station) -> String {
    let mut ways = remedy.ways.iter().map(way);
    let Some(cheapest) = ways.next() else {
        return format!(
            "Neither smaller stations nor wider pipe nor a booster at {:.0} L/min that its pipe bears would mend it: leave out its highest heads, or find a stronger supply",
            station.flow_lpm
        );
    };
    let others: Vec<String> = ways.map(|way| format!("or {way}")).collect();
    let also = if others.is_empty() {
        String::new()
    } else {
        format!("; {}", others.join(", "))
    };
    format!(
        "Cheapest remedy: {cheapest}{also}. Prices are the catalogue's, boosters' and regulators' invented"
    )
}

fn way(way: &Way) -> String {
    let what = match &way.means {
        Means::Booster { kpa, lpm } => format!("a booster of {kpa:.0} kPa at {lpm:.0} L/min"),
        Means::Split(flows_lpm) => {
            let flows: Vec<String> = flows_lpm.iter().map(|lpm| format!("{lpm:.0}")).collect();
            format!("{} stations of {} L/min", flows.len(), flows.join(" and "))
        }
        Means::WiderPipe(1) => "all its pipe, main included, one size wider".to_owned(),
        Means::WiderPipe(sizes) => format!("all its pipe, main included, {sizes} sizes wider"),
        Means::RegulatedHeads(heads, kpa) => {
            format!("{heads} heads with regulators of their own set to {kpa:.0} kPa")
        }
    };
    format!("{what} (about {:.0})", way.price)
}
