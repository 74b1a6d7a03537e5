//! Wire along the mains from the controller at the point of connection to every electric valve, and controller outputs.

use super::Job;
use super::ledger::{Group, Ledger, Line};
use crate::brief::Rules;
use crate::design::model::{Design, NodeKind, Section, ValveKind};

/// Valves for one spare conductor (common practice, no source).
const VALVES_A_SPARE: usize = 10;

/// Ways of the wire.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Routes {
    /// Metres from the controller to each electric valve that a main reaches.
    pub to_valves_m: Vec<f64>,
    /// Electric valves that no main reaches.
    pub unreached: usize,
    /// Whether wire lies beside the pipe, for each pipe.
    pub beside: Vec<bool>,
}

/// Shortest ways along the mains.
pub fn routes(design: &Design) -> Routes {
    let (distance_m, by_pipe) = shortest(design);
    let mut routes = Routes {
        beside: vec![false; design.pipes.len()],
        ..Routes::default()
    };
    for node in electric(design) {
        match distance_m
            .get(node)
            .copied()
            .filter(|metres| metres.is_finite())
        {
            Some(metres) => routes.to_valves_m.push(metres),
            None => routes.unreached += 1,
        }
        mark(design, &by_pipe, node, &mut routes.beside);
    }
    routes
}

/// Counts conductors and outputs.
pub fn count(job: &Job, routes: &Routes, ledger: &mut Ledger) {
    let valves = electric(job.design).count();
    let outputs = Line::new(Group::Control, [0, 0, 0], "controller output", "each");
    ledger.add(outputs, valves as f64, job.prices.controller_per_output);
    if valves > 0 {
        let sized = format!("controller, at least {valves} outputs");
        ledger.add(
            Line::new(Group::Control, [0, 1, 0], sized, "each"),
            1.0,
            None,
        );
        let sensor = Line::new(Group::Control, [0, 2, 0], "rain sensor", "each");
        let wanted = f64::from(u8::from(job.rules.rain_sensor_mm > 0.0));
        ledger.add(sensor, wanted, job.prices.rain_sensor);
    }
    let trunk_m: f64 = job
        .design
        .pipes
        .iter()
        .zip(&routes.beside)
        .filter_map(|(pipe, beside)| beside.then_some(pipe.length_m))
        .sum();
    let spares = valves.div_ceil(VALVES_A_SPARE) as f64;
    let mut wire = |order: usize, item: &str, area: usize, metres: f64| {
        let line = Line::new(Group::Control, [1, order, area], item, "m");
        let line = line.sized(conductor_words(area));
        ledger.add(line, metres, job.prices.wire_per_m);
    };
    for metres in &routes.to_valves_m {
        let area = conductor(job.rules, *metres);
        wire(0, "wire, one conductor to each valve", area, *metres);
    }
    let farthest_m = routes.to_valves_m.iter().copied().fold(0.0, f64::max);
    let area = conductor(job.rules, farthest_m * at_once(job.design));
    wire(1, "wire, common conductor", area, trunk_m);
    wire(
        2,
        "wire, spare conductors",
        conductor(job.rules, farthest_m),
        spares * trunk_m,
    );
    let missing = Line::new(
        Group::Control,
        [2, 0, 0],
        "valve that no main reaches, wire not counted",
        "each",
    );
    ledger.add(missing, routes.unreached as f64, None);
}

/// Cross-sections that wire is sold in, mm² (IEC 60228, from memory).
const CONDUCTORS_MM2: [f64; 5] = [0.75, 1.5, 2.5, 4.0, 6.0];

/// Resistivity of copper at 20 °C, Ω mm²/m (from memory).
const COPPER: f64 = 0.0172;

/// The thinnest conductor by which a valve that far away still opens: `2 · length · current · resistivity / voltage lost`.
/// Where none is thick enough, one past the last.
fn conductor(rules: &Rules, metres: f64) -> usize {
    let needed_mm2 = 2.0 * metres * rules.valve_current_a * COPPER / rules.wire_drop_v;
    let enough = |area_mm2: &f64| *area_mm2 >= needed_mm2;
    let found = CONDUCTORS_MM2.iter().position(enough);
    found.unwrap_or(CONDUCTORS_MM2.len())
}

fn conductor_words(conductor: usize) -> String {
    match CONDUCTORS_MM2.get(conductor) {
        Some(area_mm2) => format!("{area_mm2} mm2"),
        None => format!("over {} mm2", CONDUCTORS_MM2[CONDUCTORS_MM2.len() - 1]),
    }
}

/// How many times one valve's current the common conductor carries: half of its loss is its own, and stations may be
/// open together, a master valve with them.
fn at_once(design: &Design) -> f64 {
    let sets = design.schedule.together.iter();
    let stations = sets.map(|set| set.stations.len()).max().unwrap_or(1).max(1);
    let kinds = |kind| {
        design
            .valves
            .iter()
            .filter(|valve| valve.kind == kind)
            .count()
    };
    let master = usize::from(kinds(ValveKind::Master) > 0);
    (1.0 + (stations + master) as f64) / 2.0
}

/// Nodes of the valves that the controller opens.
fn electric(design: &Design) -> impl Iterator<Item = usize> {
    let opened = |kind| matches!(kind, ValveKind::Control | ValveKind::Master);
    design
        .valves
        .iter()
        .filter(move |valve| opened(valve.kind))
        .map(|valve| valve.node)
}

fn source(design: &Design) -> Option<usize> {
    let supply = design.supply.as_ref().map(|supply| supply.node);
    supply.or_else(|| {
        design
            .nodes
            .iter()
            .position(|node| node.kind == NodeKind::Source)
    })
}

/// Metres from the source to every node, and the pipe by which the way comes (Dijkstra 1959).
fn shortest(design: &Design) -> (Vec<f64>, Vec<Option<usize>>) {
    let count = design.nodes.len();
    let (mut metres, mut by_pipe) = (vec![f64::INFINITY; count], vec![None; count]);
    let mut open = vec![true; count];
    let mut ends: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (index, pipe) in design.pipes_of(Section::Main) {
        for node in [pipe.from, pipe.to] {
            if let Some(ends) = ends.get_mut(node) {
                ends.push(index);
            }
        }
    }
    if let Some(start) = source(design).and_then(|node| metres.get_mut(node)) {
        *start = 0.0;
    }
    let nearest = |metres: &[f64], open: &[bool]| {
        let reached = (0..count).filter(|node| open[*node] && metres[*node].is_finite());
        reached.min_by(|a, b| metres[*a].total_cmp(&metres[*b]))
    };
    while let Some(node) = nearest(&metres, &open) {
        open[node] = false;
        for &index in &ends[node] {
            let pipe = &design.pipes[index];
            let other = if pipe.from == node {
                pipe.to
            } else {
                pipe.from
            };
            let way = metres[node] + pipe.length_m.max(0.0);
            if other < count && way < metres[other] {
                (metres[other], by_pipe[other]) = (way, Some(index));
            }
        }
    }
    (metres, by_pipe)
}

fn mark(design: &Design, by_pipe: &[Option<usize>], mut node: usize, beside: &mut [bool]) {
    while let Some(index) = by_pipe.get(node).copied().flatten() {
        if beside[index] {
            return; // the rest of the way is marked already
        }
        beside[index] = true;
        let pipe = &design.pipes[index];
        node = if pipe.to == node { pipe.from } else { pipe.to };
    }
}
