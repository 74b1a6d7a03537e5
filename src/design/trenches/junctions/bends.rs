//! Bends of a trench, moved to where they cost least, and put in where a slope is dear to climb straight.

use super::Sweep;
use crate::design::trenches::net::Change;
use geo::Coord;

/// Steps by which a bend is moved, as shares of the shorter of its two trenches.
pub(super) const STEPS: [f64; 3] = [0.3, 0.08, 0.02];
/// Times that a bend is moved by one step, at most.
pub(super) const SLIDES: usize = 10;
/// How far a new bend stands off the straight line, as a share of the trench's length.
const OFFSETS: [f64; 4] = [-0.12, -0.04, 0.04, 0.12];
/// Nearer than this to the edge of paving no bend is moved, m: else those that cut a corner would come to lie on it.
const VERGE_LEAST_M: f64 = 0.25;
/// Bends looked at to each side for one straight trench in place of all between.
const RUN_MOST: usize = 4;
/// Trenches shorter than this are left straight, m.
const BENT_LEAST_M: f64 = 12.0;

impl Sweep<'_, '_> {
    /// A free node between two trenches, moved a little: by `share` of the shorter one.
    pub(super) fn slid(&self, node: usize, share: f64) -> Vec<Change> {
        let net = &*self.net;
        let [(a, _), (b, _)] = net.beside[node][..] else {
            return Vec::new();
        };
        if !net.is_free(node) {
            return Vec::new();
        }
        let fresh = net.at.len();
        let (out, put) = ([(node, a), (node, b)], [(a, fresh), (fresh, b)]);
        let shorter_m = net.far_m(node, a).min(net.far_m(node, b));
        let way = net.at[b] - net.at[a];
        let along = way / way.x.hypot(way.y).max(1e-9) * (share * shorter_m);
        let aside = Coord {
            x: -along.y,
            y: along.x,
        };
        let steps = [aside, aside * -1.0, along, along * -1.0].into_iter();
        let places = steps.map(|step| net.at[node] + step);
        let places = places.filter(|at| self.off_paving(*at));
        places
            .filter_map(|at| self.change(&[at], &out, &put))
            .collect()
    }

    /// Whether a trench may turn at a place without running along the edge of paving.
    fn off_paving(&self, at: Coord<f64>) -> bool {
        let surfaces = self.net.digging.surfaces;
        surfaces.paving_within(at, VERGE_LEAST_M).is_none()
    }

    /// A run of bends about a free node, cut short by one straight trench.
    pub(super) fn cut_short(&self, node: usize) -> Vec<Change> {
        let [(one, _), (other, _)] = self.net.beside[node][..] else {
            return Vec::new();
        };
        if !self.net.is_free(node) {
            return Vec::new();
        }
        let (before, after) = (self.run(node, one), self.run(node, other));
        let mut changes = Vec::new();
        for (i, from) in before.iter().enumerate() {
            for (j, to) in after.iter().enumerate() {
                let back = before[..=i].iter().rev();
                let run: Vec<usize> = back.chain([&node]).chain(&after[..=j]).copied().collect();
                let out: Vec<(usize, usize)> =
                    run.windows(2).map(|pair| (pair[0], pair[1])).collect();
                changes.extend(self.change(&[], &out, &[(*from, *to)]));
            }
        }
        changes
    }

    /// The nodes that follow one after another from a node by way of a neighbour, as far as they are mere bends.
    fn run(&self, node: usize, by: usize) -> Vec<usize> {
        let (mut before, mut run) = (node, vec![by]);
        while let Some(&here) = run.last().filter(|_| run.len() < RUN_MOST) {
            let [(a, _), (b, _)] = self.net.beside[here][..] else {
                break;
            };
            if !self.net.is_free(here) {
                break;
            }
            run.push(if a == before { b } else { a });
            before = here;
        }
        run
    }

    /// A long trench of a node that climbs, bent to one side.
    pub(super) fn bent(&self, node: usize) -> Vec<Change> {
        let net = &*self.net;
        let fresh = net.at.len();
        let mut changes = Vec::new();
        for &(to, price) in net.beside[node].iter().filter(|(to, _)| *to > node) {
            let far_m = net.far_m(node, to);
            // What could be saved at most must pay for more than the least bend.
            let spare = price - net.digging.least_a_metre() * far_m;
            if far_m < BENT_LEAST_M || spare <= self.least_bend() {
                continue;
            }
            let (from, way) = (net.at[node], net.at[to] - net.at[node]);
            let aside = Coord {
                x: -way.y,
                y: way.x,
            };
            let middles = OFFSETS.map(|share| from + way * 0.5 + aside * share);
            let put = [(node, fresh), (fresh, to)];
            let middles = middles.iter().filter(|at| self.off_paving(**at));
            let bent = middles.filter_map(|at| self.change(&[*at], &[(node, to)], &put));
            changes.extend(bent);
        }
        changes
    }

    /// Price of the bend that the least offset makes.
    fn least_bend(&self) -> f64 {
        let offset = OFFSETS
            .iter()
            .fold(f64::INFINITY, |least, share| share.abs().min(least));
        let turn_deg = 2.0 * (2.0 * offset).atan().to_degrees();
        self.net.digging.rules.cost_bend * turn_deg / 90.0
    }
}
