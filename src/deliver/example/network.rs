//! The example's pipes: laid along given nodes, then flows, losses and pressures worked out on the tree.

use super::{brief, ground_m, rectangle, results, throw};
use crate::design::model::*;
use crate::units::KPA_PER_METRE;
use geo::{Coord, LineString, coord};

/// Pressure behind both control valves, kPa.
const BEHIND_VALVE_KPA: f64 = 340.0;

/// A design in the making.
pub(super) struct Plan {
    design: Design,
    node_of_head: Vec<Option<usize>>,
}

/// Hazen–Williams with 10.66683 as EPANET has it, kPa.
fn loss_kpa(flow_lpm: f64, length_m: f64, inside_mm: f64) -> f64 {
    let flow_m3s = flow_lpm / 60_000.0;
    10.666_83 * length_m * flow_m3s.powf(1.852)
        / (145f64.powf(1.852) * (inside_mm / 1e3).powf(4.871))
        * KPA_PER_METRE
}

impl Plan {
    pub(super) fn new(heads: Vec<Head>) -> Self {
        let count = heads.len();
        let throws = heads.iter().map(throw).collect();
        let working = heads.iter().map(working).collect();
        Self {
            node_of_head: vec![None; count],
            design: Design {
                heads,
                throws,
                working,
                station_of: vec![None; count],
                ..Design::default()
            },
        }
    }

    fn node(&mut self, position: Coord<f64>, kind: NodeKind, section: Section) -> usize {
        let cover_m = if section == Section::Main { 0.5 } else { 0.35 };
        self.design.nodes.push(Node {
            position,
            kind,
            section,
            head: None,
            ground_m: ground_m(position),
            invert_m: ground_m(position) - cover_m,
            pressure_kpa: None,
            static_kpa: Some(420.0),
        });
        self.design.nodes.len() - 1
    }

    fn trench(&mut self, from: Coord<f64>, to: Coord<f64>, surface: Surface) -> usize {
        self.design.trenches.push(Trench {
            line: LineString::new(vec![from, to]),
            surface,
            sleeve: surface == Surface::Paving,
            length_m: (to.x - from.x).hypot(to.y - from.y) * 1.001,
            cover_min_m: 0.3,
            cover_max_m: 0.5,
            pipes: 1,
        });
        self.design.trenches.len() - 1
    }

    fn pipe(&mut self, section: Section, from: usize, to: usize, trenches: Vec<usize>) {
        let ends = [from, to].map(|node| self.design.nodes[node].position);
        self.design.pipes.push(Pipe {
            section,
            from,
            to,
            trenches,
            line: LineString::from(ends.to_vec()),
            length_m: (ends[1].x - ends[0].x).hypot(ends[1].y - ends[0].y) * 1.001,
            size: 1,
            minor_k: 0.0,
            flow_lpm: 0.0,
            velocity_m_s: 0.0,
            loss_kpa: 0.0,
        });
    }

    /// Nodes 0 to 3: source, tee, and the two valves; the first main passes under the path.
    pub(super) fn lay_mains(&mut self) {
        let places = [(-10.0, -5.0), (-2.5, 0.0), (-2.0, 0.0), (-2.5, 10.0)].map(Coord::from);
        let path = [coord! { x: -8.2, y: -3.8 }, coord! { x: -5.8, y: -2.2 }];
        self.node(places[0], NodeKind::Source, Section::Main);
        self.node(places[1], NodeKind::Junction, Section::Main);
        self.node(places[2], NodeKind::Valve, Section::Station(0));
        self.node(places[3], NodeKind::Valve, Section::Station(1));
        let under_path = vec![
            self.trench(places[0], path[0], Surface::Bare),
            self.trench(path[0], path[1], Surface::Paving),
            self.trench(path[1], places[1], Surface::Bare),
        ];
        self.pipe(Section::Main, 0, 1, under_path);
        for (from, to) in [(1, 2), (1, 3)] {
            let trench = self.trench(places[from], places[to], Surface::Bare);
            self.pipe(Section::Main, from, to, vec![trench]);
        }
    }

    /// Pipe from the valve along each run of heads; a run may begin at a head that is laid already.
    pub(super) fn lay_station(&mut self, station: usize, valve_node: usize, runs: &[&[usize]]) {
        let section = Section::Station(station);
        for run in runs {
            let mut from = valve_node;
            for &head in *run {
                if let Some(node) = self.node_of_head[head] {
                    from = node;
                    continue;
                }
                let position = self.design.heads[head].position;
                let to = self.node(position, NodeKind::Head, section);
                self.design.nodes[to].head = Some(head);
                self.node_of_head[head] = Some(to);
                self.design.station_of[head] = Some(station);
                let trench = self.trench(self.design.nodes[from].position, position, Surface::Turf);
                self.pipe(section, from, to, vec![trench]);
                from = to;
            }
        }
        self.design.stations.push(self.station(station, valve_node));
    }

    fn station(&self, station: usize, valve_node: usize) -> Station {
        let on = |&head: &usize| self.design.station_of[head] == Some(station);
        let heads: Vec<usize> = (0..self.design.heads.len()).filter(on).collect();
        let y0 = station as f64 * 7.0;
        Station {
            flow_lpm: heads.iter().map(|&h| self.design.working[h].flow_lpm).sum(),
            heads,
            rate_class: "matched 12".into(),
            valve_node,
            valve_size: 0,
            regulated_kpa: None,
            rate_mm_h: 12.0,
            pressure_min_kpa: 0.0,
            pressure_max_kpa: 0.0,
            elevation_spread_m: 0.8,
            source_kpa: 372.0,
            valve_in_kpa: 355.0,
            meter_loss_kpa: 8.0,
            backflow_loss_kpa: 22.0,
            service_loss_kpa: 0.0,
            valve_loss_kpa: 15.0,
            solve_residual_m3s: 1e-12,
            area: rectangle(0.0, y0, 40.0, y0 + 6.0 + 7.0 * station as f64).into(),
        }
    }

    /// Flow below a node on the laterals, or the greatest station's below it on the mains.
    fn flow_below(&self, node: usize, section: Section) -> f64 {
        if section == Section::Main {
            return match node {
                2 => self.design.stations[0].flow_lpm,
                _ => self.design.stations[1].flow_lpm,
            };
        }
        let own = self.design.nodes[node]
            .head
            .map_or(0.0, |h| self.design.working[h].flow_lpm);
        let next = self
            .design
            .pipes_of(section)
            .filter(|(_, pipe)| pipe.from == node);
        own + next
            .map(|(_, pipe)| self.flow_below(pipe.to, section))
            .sum::<f64>()
    }

    fn solve(&mut self) {
        let inside_mm = brief::catalogue().pipes[1].inside_mm;
        for node in [2, 3] {
            self.design.nodes[node].pressure_kpa = Some(BEHIND_VALVE_KPA);
        }
        self.design.nodes[0].pressure_kpa = Some(372.0);
        self.design.nodes[1].pressure_kpa = Some(360.0);
        for index in 0..self.design.pipes.len() {
            let pipe = self.design.pipes[index].clone();
            let flow_lpm = self.flow_below(pipe.to, pipe.section);
            let lost_kpa = loss_kpa(flow_lpm, pipe.length_m, inside_mm);
            let area_m2 = std::f64::consts::PI * (inside_mm / 2e3).powi(2);
            let laid = &mut self.design.pipes[index];
            laid.flow_lpm = flow_lpm;
            laid.velocity_m_s = flow_lpm / 60_000.0 / area_m2;
            laid.loss_kpa = lost_kpa;
            if pipe.section != Section::Main {
                let nodes = &mut self.design.nodes;
                let rise_m = nodes[pipe.to].invert_m - nodes[pipe.from].invert_m;
                let before = nodes[pipe.from].pressure_kpa.unwrap_or_default();
                nodes[pipe.to].pressure_kpa = Some(before - lost_kpa - rise_m * KPA_PER_METRE);
            }
        }
    }

    fn read_heads(&mut self) {
        for (head, node) in self.node_of_head.iter().enumerate() {
            let at = node.and_then(|node| self.design.nodes[node].pressure_kpa);
            self.design.working[head].pressure_kpa = at.unwrap_or_default() - 5.0;
        }
        for station in &mut self.design.stations {
            let pressures = || {
                station
                    .heads
                    .iter()
                    .map(|&h| self.design.working[h].pressure_kpa)
            };
            station.pressure_min_kpa = pressures().fold(f64::INFINITY, f64::min);
            station.pressure_max_kpa = pressures().fold(0.0, f64::max);
        }
    }

    fn valve(&self, kind: ValveKind, station: Option<usize>, node: usize) -> Valve {
        Valve {
            kind,
            station,
            node,
            flow_lpm: station.map_or(75.0, |s| self.design.stations[s].flow_lpm),
            size: "DN25".into(),
        }
    }

    pub(super) fn finish(mut self) -> Design {
        self.solve();
        self.read_heads();
        self.design.valves = vec![
            self.valve(ValveKind::Backflow, None, 0),
            self.valve(ValveKind::Control, Some(0), 2),
            self.valve(ValveKind::Control, Some(1), 3),
        ];
        let low = [
            (Section::Main, 0),
            (Section::Station(0), 2),
            (Section::Station(1), 3),
        ];
        self.design.drains = low.map(|(section, node)| drain(section, node)).to_vec();
        self.design.air_valves = vec![3];
        results::add(&mut self.design);
        self.design
    }
}

fn drain(section: Section, node: usize) -> Drain {
    Drain {
        kind: match section {
            Section::Main => DrainKind::Manual,
            Section::Station(_) => DrainKind::Automatic,
        },
        section,
        node,
        drained_l: 40.0,
        gravel_l: 115.0,
    }
}

fn working(head: &Head) -> Working {
    Working {
        pressure_kpa: 0.0,
        flow_lpm: head.flow_ref_lpm,
        radius_m: head.radius_m,
        rate_mm_h: 12.0,
    }
}
