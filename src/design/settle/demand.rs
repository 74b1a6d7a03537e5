//! What each head asks for, and how much flow the supply leaves a station, before any pipe is sized.

use crate::brief::{Catalogue, Rules};
use crate::design::model::Head;
use crate::design::stations::{Group, HeadNeed};
use crate::design::supply::SupplyCurve;
use crate::design::trenches::TrenchTree;
use crate::units::KPA_PER_METRE;

/// Loss planned for the main, kPa per metre of trench. Common practice, no source; the solved network decides.
const MAIN_LOSS_KPA_PER_M: f64 = 0.08;
/// Loss planned for the main at most, kPa: on a long way a wider main costs less than the pressure.
const MAIN_LOSS_MOST_KPA: f64 = 40.0;
/// Loss planned for laterals, risers and joints, kPa.
const LATERAL_LOSS_KPA: f64 = 15.0;
/// Loss planned for the control valve, kPa.
const VALVE_LOSS_KPA: f64 = 20.0;
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

/// The need of every head: the highest ambition at which a station of a few such heads can still run.
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
    let classes = class_numbers(catalogue);
    heads
        .iter()
        .zip(path_m)
        .map(|(head, path_m)| need(head, path_m, &classes, allowance, catalogue, rules))
        .collect()
}

fn class_numbers(catalogue: &Catalogue) -> Vec<usize> {
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

fn need(
    head: &Head,
    path_m: f64,
    classes: &[usize],
    allowance: &Allowance,
    catalogue: &Catalogue,
    rules: &Rules,
) -> HeadNeed {
    let model = &catalogue.heads[head.model];
    let least = least_kpa(model, rules);
    let at = |ambition: f64| {
        let pressure_kpa = least + ambition * (model.pressure_ref_kpa - least).max(0.0);
        let flow_lpm =
            head.flow_ref_lpm * (pressure_kpa / model.pressure_ref_kpa).powf(model.flow_exponent);
        let left_lpm = allowance.flow_lpm(pressure_kpa, head.ground_m, path_m);
        (pressure_kpa, flow_lpm, left_lpm)
    };
    let most_lpm = at(0.0).2;
    let enough = |&(_, flow_lpm, left_lpm): &(f64, f64, f64)| {
        left_lpm >= FLOW_KEPT * most_lpm && left_lpm >= HEADS_KEPT * flow_lpm
    };
    let (pressure_kpa, flow_lpm, left_lpm) = AMBITIONS
        .into_iter()
        .map(at)
        .find(enough)
        .unwrap_or_else(|| at(0.0));
    HeadNeed {
        flow_lpm,
        pressure_kpa,
        ground_m: head.ground_m,
        // A single row on a strip runs longer than two: never with others.
        class: 2 * classes[head.model] + usize::from(head.one_row),
        path_m,
        left_lpm,
        flow_most_lpm: f64::INFINITY,
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
