//! Our answer beside EPANET's.

use super::super::told::Told;
use super::epanet::{self, Answer};
use swardline::design::hydraulics::{Solution, solve};

const KPA_PER_METRE: f64 = 9.806_65;
/// Most that a pressure may differ, kPa.
const PRESSURE_MOST_KPA: f64 = 0.01;
/// Most that a flow may differ: a share of it, or this many m³/s where nearly nothing flows (0.6 mL/min).
const FLOW_MOST_SHARE: f64 = 1e-4;
const FLOW_LEAST_M3S: f64 = 1e-8;
/// EPANET has arrived when its flows change by less than this share in a step. It cannot be held to much less: in a
/// pipe without flow it takes 1e-7 ft to lose for each ft³/s, so that the last digit of a head moves 1e-7 ft³/s.
const THEIR_CHANGE_MOST: f64 = 1e-5;

/// What was compared and how far it was off at worst.
#[derive(Debug, Default)]
pub struct Worst {
    pub networks: usize,
    pub pressures: usize,
    pub flows: usize,
    /// kPa.
    pub pressure: f64,
    /// Share of the flow, over flows above `FLOW_LEAST_M3S / FLOW_MOST_SHARE`.
    pub flow: f64,
    /// Nodes cut off from every source by what is shut: no law gives a pressure there.
    pub cut_off: usize,
    /// Outlets that give nothing, in both.
    pub dry_outlets: usize,
    /// Networks that EPANET left unsolved.
    pub unsolved: usize,
}

/// Compares every network, prints the worst difference; `None` where EPANET is missing.
pub fn compare(family: &str, told: &[Told]) -> Option<Worst> {
    let theirs = epanet::answers(told)?;
    let mut worst = Worst::default();
    for (index, (told, theirs)) in told.iter().zip(&theirs).enumerate() {
        let name = format!("{family} {index}");
        let ours = solve(&told.network()).unwrap_or_else(|error| panic!("{name}: {error}"));
        if theirs.off <= THEIR_CHANGE_MOST {
            worst.add(&name, told, &ours, theirs);
        } else {
            worst.unsolved += 1;
            eprintln!("{name}: EPANET stays off by {:.1e}", theirs.off);
        }
    }
    eprintln!(
        "{family}: {} networks, {} pressures, worst {:.6} kPa, {} flows, worst {:.1e}, {} dry outlets, {} nodes cut off, {} unsolved by EPANET",
        worst.networks,
        worst.pressures,
        worst.pressure,
        worst.flows,
        worst.flow,
        worst.dry_outlets,
        worst.cut_off,
        worst.unsolved
    );
    Some(worst)
}

impl Worst {
    fn add(&mut self, name: &str, told: &Told, ours: &Solution, theirs: &Answer) {
        self.networks += 1;
        for (node, spec) in told.nodes.iter().enumerate() {
            if theirs.cut_off[node] {
                self.cut_off += 1;
            } else {
                self.add_pressure(name, node, ours.head_m[node], theirs.head_m[node]);
            }
            if spec.fixed_head_m.is_none() {
                let out = ours.outflow_m3s[node] + spec.demand_m3s;
                self.add_flow(name, node, out, theirs.out_m3s[node]);
            }
            if spec.outlet.is_some() && ours.outflow_m3s[node] == 0.0 {
                self.dry_outlets += 1;
            }
        }
        for link in 0..told.links.len() {
            self.add_flow(name, link, ours.flow_m3s[link], theirs.flow_m3s[link]);
        }
    }

    fn add_pressure(&mut self, name: &str, node: usize, ours_m: f64, theirs_m: f64) {
        let off = (ours_m - theirs_m).abs() * KPA_PER_METRE;
        assert!(
            off < PRESSURE_MOST_KPA,
            "{name}: node {node} has {ours_m} m, EPANET {theirs_m} m"
        );
        self.pressure = self.pressure.max(off);
        self.pressures += 1;
    }

    fn add_flow(&mut self, name: &str, place: usize, ours: f64, theirs: f64) {
        let off = (ours - theirs).abs();
        let most = FLOW_LEAST_M3S.max(FLOW_MOST_SHARE * theirs.abs());
        assert!(
            off <= most,
            "{name}: flow {place} is {ours} m³/s, EPANET {theirs}"
        );
        if theirs.abs() * FLOW_MOST_SHARE > FLOW_LEAST_M3S {
            self.flow = self.flow.max(off / theirs.abs());
        }
        self.flows += 1;
    }
}
