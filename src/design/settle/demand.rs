//! What each head asks for, and how much flow the supply leaves a station, before any pipe is sized.

use crate::brief::{Catalogue, HeadModel, Rules};
use crate::design::model::Head;
use crate::design::stations::{Group, HeadNeed};
use crate::design::supply::SupplyCurve;
use crate::design::trenches::TrenchTree;
use crate::units::KPA_PER_METRE;
use std::collections::BTreeMap;

/// Loss planned for the main, kPa per metre of trench. Common practice, no source; the solved network decides.
const MAIN_LOSS_KPA_PER_M: f64 = 0.08;
/// Loss planned for the main at most, kPa: on a long way a wider main costs less than the pressure.
const MAIN_LOSS_MOST_KPA: f64 = 40.0;
/// Loss planned for laterals, risers and joints, kPa.
const LATERAL_LOSS_KPA: f64 = 15.0;
/// Loss planned for the control valve, kPa.
const VALVE_LOSS_KPA: f64 = 20.0;
/// Share of a class's heads that may reach less than all others are made to ask for.
const LEFT_BEHIND: f64 = 0.1;
/// Part of the spread of pressure inside a station that heights may use up; pipe loses the rest. Common practice, no
/// source; the solved network decides.
const HEIGHT_PART: f64 = 0.8;
/// Ambitions tried, from the pressure nozzles are rated at down to the least they work at.
const AMBITIONS: [f64; 4] = [1.0, 0.66, 0.33, 0.0];
/// Share of the flow at the least ambition that a higher one must keep.
const FLOW_KEPT: f64 = 0.5;
/// Heads of its own kind that a station should be able to run at a given ambition.
const HEADS_KEPT: f64 = 4.0;

/// The supply as stations see it: curve, height of the source, and what catalogue and rules cap.
pub struct Allowance<'a> {
    /// Behind meter and backflow preventer.
    pub supply: &'a SupplyCurve,
    /// Height of the ground at the source, m.
    pub source_m: f64,
    /// No station may carry more: greatest valve, greatest pipe at the greatest velocity, L/min.
    pub cap_lpm: f64,
}

impl<'a> Allowance<'a> {
    /// The allowance under a catalogue and rules.
    pub fn new(
        supply: &'a SupplyCurve,
        source_m: f64,
        catalogue: &Catalogue,
        rules: &Rules,
    ) -> Self {
        let valve = catalogue
            .valves
            .iter()
            .map(|v| v.flow_max_lpm)
            .fold(0.0, f64::max);
        let bore = |inside_mm: f64| std::f64::consts::PI * (inside_mm / 1000.0).powi(2) / 4.0;
        let pipe = catalogue
            .pipes
            .iter()
            .map(|p| crate::units::lpm_from_m3s(bore(p.inside_mm) * rules.velocity_most_m_s))
            .fold(0.0, f64::max);
        // Solved flows run a little over planned ones.
        Self {
            supply,
            source_m,
            cap_lpm: 0.9 * valve.min(pipe),
        }
    }

    /// Pressure the source must give for `pressure_kpa` at nozzles on ground at `high_m`, `path_m` of trench away, kPa.
    pub fn source_kpa(&self, pressure_kpa: f64, high_m: f64, path_m: f64) -> f64 {
        let rise_kpa = (high_m - self.source_m) * KPA_PER_METRE;
        pressure_kpa
            + rise_kpa
            + (MAIN_LOSS_KPA_PER_M * path_m).min(MAIN_LOSS_MOST_KPA)
            + LATERAL_LOSS_KPA
            + VALVE_LOSS_KPA
    }

    /// Flow the supply leaves at that pressure, L/min.
    pub fn flow_lpm(&self, pressure_kpa: f64, high_m: f64, path_m: f64) -> f64 {
        self.supply
            .flow_at_lpm(self.source_kpa(pressure_kpa, high_m, path_m))
            .min(self.cap_lpm)
    }

    /// Flow the supply leaves a station for the sake of a head that asks for this, L/min.
    pub fn left_lpm(&self, need: &HeadNeed) -> f64 {
        self.flow_lpm(need.pressure_kpa, need.ground_m, need.path_m)
    }
}

/// Least pressure a head of a model is planned with, kPa.
pub fn least_kpa(model: &crate::brief::HeadModel, rules: &Rules) -> f64 {
    (model.pressure_min_kpa + rules.pressure_reserve_kpa).min(model.pressure_max_kpa)
}

/// The need of every head on a trench tree: see [`needs_over`].
pub fn needs(
    heads: &[Head],
    tree: &TrenchTree,
    allowance: &Allowance,
    catalogue: &Catalogue,
    rules: &Rules,
) -> Vec<HeadNeed> {
    let mut path_m = vec![0.0; heads.len()];
    let mut to_node = vec![0.0; tree.parents.len()];
    for node in 0..tree.parents.len() {
        to_node[node] = to_node[tree.parents[node]] + tree.edge_m(node);
        if let Some(head) = tree.heads[node] {
            path_m[head] = to_node[node];
        }
    }
    needs_over(heads, &path_m, allowance, catalogue, rules)
}

/// The need of every head, `path_m` from the source: one ambition for a class, the highest that nearly all its heads
/// reach; less where one cannot.
pub fn needs_over(
    heads: &[Head],
    path_m: &[f64],
    allowance: &Allowance,
    catalogue: &Catalogue,
    rules: &Rules,
) -> Vec<HeadNeed> {
    let asking = asking(heads, path_m, allowance, catalogue, rules);
    let class_of = class_numbers(heads, catalogue);
    let common = common_ambitions(&asking, &class_of);
    let need = |(asking, class): (&Asking, &usize)| {
        asking.need(asking.ambition().min(common[class]), *class)
    };
    asking.iter().zip(&class_of).map(need).collect()
}

/// The least that each head could be planned with, whatever it would like.
pub fn least_needs(
    heads: &[Head],
    path_m: &[f64],
    allowance: &Allowance,
    catalogue: &Catalogue,
    rules: &Rules,
) -> Vec<HeadNeed> {
    let asking = asking(heads, path_m, allowance, catalogue, rules);
    let class_of = class_numbers(heads, catalogue);
    let need = |(asking, class): (&Asking, &usize)| asking.need(0.0, *class);
    asking.iter().zip(&class_of).map(need).collect()
}

fn asking<'a>(
    heads: &'a [Head],
    path_m: &[f64],
    allowance: &'a Allowance,
    catalogue: &'a Catalogue,
    rules: &'a Rules,
) -> Vec<Asking<'a>> {
    let asking = heads.iter().zip(path_m).map(|(head, &path_m)| Asking {
        head,
        model: &catalogue.heads[head.model],
        path_m,
        allowance,
        rules,
    });
    asking.collect()
}

/// Precipitation class of each head, as a number. A single row on a strip runs longer than two: never with others.
pub fn class_numbers(heads: &[Head], catalogue: &Catalogue) -> Vec<usize> {
    let classes = model_classes(catalogue);
    let class_of = |head: &Head| 2 * classes[head.model] + usize::from(head.one_row);
    heads.iter().map(class_of).collect()
}

/// The ambition that all but a few heads of each class reach: heads that ask for more would only make their stations smaller.
fn common_ambitions(asking: &[Asking], class_of: &[usize]) -> BTreeMap<usize, f64> {
    let mut reached: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for (head, class) in asking.iter().zip(class_of) {
        let of_class = reached.entry(*class).or_default();
        of_class.push(head.ambition());
    }
    let common = |mut ambitions: Vec<f64>| {
        ambitions.sort_by(f64::total_cmp);
        ambitions[(LEFT_BEHIND * ambitions.len() as f64) as usize]
    };
    reached
        .into_iter()
        .map(|(class, ambitions)| (class, common(ambitions)))
        .collect()
}

fn model_classes(catalogue: &Catalogue) -> Vec<usize> {
    let mut names: Vec<&str> = catalogue
        .heads
        .iter()
        .map(|model| model.rate_class.as_str())
        .collect();
    names.sort_unstable();
    names.dedup();
    catalogue
        .heads
        .iter()
        .map(|model| names.binary_search(&model.rate_class.as_str()).unwrap_or(0))
        .collect()
}

/// A head with all that decides what it may ask for.
struct Asking<'a> {
    head: &'a Head,
    model: &'a HeadModel,
    path_m: f64,
    allowance: &'a Allowance<'a>,
    rules: &'a Rules,
}

impl Asking<'_> {
    /// Pressure at an ambition, kPa.
    fn pressure_kpa(&self, ambition: f64) -> f64 {
        let least = least_kpa(self.model, self.rules);
        least + ambition * (self.model.pressure_ref_kpa - least).max(0.0)
    }

    /// The head's own flow at an ambition, L/min.
    fn flow_lpm(&self, ambition: f64) -> f64 {
        let ratio = self.pressure_kpa(ambition) / self.model.pressure_ref_kpa;
        self.head.flow_ref_lpm * ratio.powf(self.model.flow_exponent)
    }

    /// Flow the supply leaves its station at an ambition, L/min.
    fn left_lpm(&self, ambition: f64) -> f64 {
        let pressure_kpa = self.pressure_kpa(ambition);
        self.allowance
            .flow_lpm(pressure_kpa, self.head.ground_m, self.path_m)
    }

    /// The highest ambition at which a station of a few such heads can still run.
    fn ambition(&self) -> f64 {
        let most_lpm = self.left_lpm(0.0);
        let enough = |ambition: &f64| {
            let left_lpm = self.left_lpm(*ambition);
            left_lpm >= FLOW_KEPT * most_lpm && left_lpm >= HEADS_KEPT * self.flow_lpm(*ambition)
        };
        AMBITIONS.into_iter().find(enough).unwrap_or(0.0)
    }

    fn need(&self, ambition: f64, class: usize) -> HeadNeed {
        let spread_kpa = self.rules.station_pressure_spread * self.model.pressure_ref_kpa;
        let level_m = HEIGHT_PART * spread_kpa / KPA_PER_METRE;
        HeadNeed {
            flow_lpm: self.flow_lpm(ambition),
            pressure_kpa: self.pressure_kpa(ambition),
            ground_m: self.head.ground_m,
            class,
            path_m: self.path_m,
            left_lpm: self.left_lpm(ambition),
            flow_most_lpm: f64::INFINITY,
            spread_most_m: self.rules.station_elevation_spread_m.min(level_m),
        }
    }
}

/// The wishes once stations are known: one pressure for all heads of a station, the greatest any of them asks for.
///
/// Heads of different models would otherwise be planned at different pressures on one line. No head is made to wish for
/// more than the middle between its rated and its greatest pressure.
pub fn shared_wishes(
    needs: &[HeadNeed],
    groups: &[Group],
    heads: &[Head],
    catalogue: &Catalogue,
) -> Vec<HeadNeed> {
    let mut shared = needs.to_vec();
    for group in groups {
        let model_of = |head: usize| &catalogue.heads[heads[head].model];
        let cap_kpa = group
            .heads
            .iter()
            .map(|head| (model_of(*head).pressure_ref_kpa + model_of(*head).pressure_max_kpa) / 2.0)
            .fold(f64::INFINITY, f64::min);
        let common_kpa = group.load.pressure_kpa.min(cap_kpa);
        for &head in &group.heads {
            let model = model_of(head);
            let need = &mut shared[head];
            need.pressure_kpa = common_kpa.max(model.pressure_min_kpa);
            need.flow_lpm = heads[head].flow_ref_lpm
                * (need.pressure_kpa / model.pressure_ref_kpa).powf(model.flow_exponent);
        }
    }
    shared
}
