//! New pipe laid along a way, in a trench of its own or in one that lies there already.

use super::draft::{Draft, lies_in};
use crate::design::model::{NodeKind, Section, Surface};
use crate::design::pipework::edge::Edge;
use crate::design::pipework::line::{self, Dug, Span};
use geo::Coord;

/// A line no farther than this from a trench lies in it, m.
const IN_TRENCH_M: f64 = 0.05;
/// Distance of a new valve from the main, m: as where a design sets one beside its main.
const VALVE_OFF_M: f64 = 0.4;
/// Distance of the bend beside the main on a way too short for a valve, m, and the directions tried.
const VALVE_ROOM_M: f64 = 0.8;
const SIDES: usize = 8;
/// Distance of a valve from the edge of paving or roots it had to pass, m.
const VALVE_CLEAR_M: f64 = 0.2;

impl Draft<'_> {
    /// Lays pipe of a section from a node along a way; returns the node it ends at, and the pipes laid.
    pub fn lay_way(&mut self, section: Section, start: usize, points: &[Coord<f64>]) -> usize {
        let mut node = start;
        for leg in points.windows(2) {
            let edge = self.survey(leg[0], leg[1]);
            let dug = self.dig(&edge);
            node = self.lay_span(&edge, (0.0, 1.0), section, node, &dug);
        }
        self.refit.insert(start);
        self.touched.insert(section);
        self.enlist();
        node
    }

    /// Lays main from a node along a way to a new valve near its beginning, and the first lateral of a new station from
    /// there on. Returns the valve and the node at the end.
    pub fn lay_with_valve(
        &mut self,
        station: usize,
        start: usize,
        points: &[Coord<f64>],
    ) -> (usize, usize) {
        let behind = Section::Station(station);
        let edge = self.survey(points[0], points[1]);
        let dug = self.dig(&edge);
        let share = valve_share(&edge);
        let valve = self.lay_span(&edge, (0.0, share), Section::Main, start, &dug);
        self.work.nodes[valve].kind = NodeKind::Valve;
        self.work.nodes[valve].section = behind;
        let end = self.lay_span(&edge, (share, 1.0), behind, valve, &dug);
        self.refit.insert(start);
        self.touched.extend([Section::Main, behind]);
        self.enlist();
        (valve, self.lay_way(behind, end, &points[1..]))
    }

    /// A way from the main on which a valve finds room: with a bend beside the main where it is too short.
    pub fn with_room_for_valve(&self, points: &[Coord<f64>]) -> Vec<Coord<f64>> {
        let (from, to) = (points[0], points[points.len() - 1]);
        let direct = points.len() == 2 && (to.x - from.x).hypot(to.y - from.y) < 2.0 * VALVE_OFF_M;
        let beside = (0..SIDES).map(|side| {
            let angle = std::f64::consts::TAU * side as f64 / SIDES as f64;
            let (sin, cos) = angle.sin_cos();
            from + Coord { x: cos, y: sin } * VALVE_ROOM_M
        });
        let free = |at: &Coord<f64>| {
            let plain = |a, b| self.ground.is_plain(a, b);
            plain(from, *at) && plain(*at, to)
        };
        match beside.into_iter().filter(|_| direct).find(free) {
            Some(at) => vec![from, at, to],
            None => points.to_vec(),
        }
    }

    /// Lets the pipe that was laid last end at another node, on the same place.
    pub fn end_at(&mut self, laid: usize, node: usize) {
        let at = self.work.nodes[node].position;
        for pipe in self.work.pipes.iter_mut().filter(|pipe| pipe.to == laid) {
            pipe.to = node;
            // A way found on a graph ends there but for the last digit.
            if let Some(end) = pipe.line.0.last_mut() {
                *end = at;
            }
        }
        self.node_gone[laid] = true;
        self.refit.insert(node);
    }

    pub fn survey(&self, from: Coord<f64>, to: Coord<f64>) -> Edge {
        let rules = self.ground.rules;
        let band_m = (rules.lateral_cover_max_m - rules.lateral_cover_min_m)
            .min(rules.main_cover_max_m - rules.main_cover_min_m);
        let terrain = &self.ground.parcel.terrain;
        Edge::survey(from, to, self.ground.surfaces, terrain, band_m / 3.0)
    }

    pub fn dig(&mut self, edge: &Edge) -> Vec<Dug> {
        let mut trenches = self.work.trenches.iter();
        let there = trenches
            .position(|trench| lies_in(trench, edge.line.start, edge.line.end, IN_TRENCH_M));
        match there {
            Some(trench) => {
                self.recut.insert(trench);
                vec![(trench, 0.0, 1.0)]
            }
            None => line::dig(&mut self.work, edge),
        }
    }

    fn lay_span(
        &mut self,
        edge: &Edge,
        (from, to): (f64, f64),
        section: Section,
        start: usize,
        dug: &[Dug],
    ) -> usize {
        let span = Span {
            from,
            to,
            section,
            start,
            parent: None,
        };
        let terrain = &self.ground.parcel.terrain;
        line::lay(&mut self.work, edge, &span, dug, terrain).0
    }
}

/// Where a valve stands on the first leg from the main, as a share: near the main, neither on paving nor among roots.
fn valve_share(edge: &Edge) -> f64 {
    let near = (VALVE_OFF_M / edge.length_m).min(0.5);
    let pieces = edge.pieces();
    let open = |surface| !matches!(surface, Surface::Paving | Surface::Roots);
    let clear = pieces
        .iter()
        .filter(|piece| open(piece.state.surface()) && piece.to > near)
        .map(|piece| {
            let off = (VALVE_CLEAR_M / edge.length_m).min(0.5 * (piece.to - piece.from));
            near.max(if piece.from > 0.0 {
                piece.from + off
            } else {
                0.0
            })
        });
    clear.into_iter().next().unwrap_or(near)
}
