//! Trenches that meet away from heads: a tree between heads is made cheaper by free points, and by hanging branches elsewhere.
//!
//! A descent: every change lowers what the tree costs, bends and junctions counted. Two trenches that leave a node at a sharp
//! angle are led together to a point between them (that of Fermat, or the foot of a stub on a straight run); free points move
//! and go; a branch is hung on a trench that passes nearer by.

mod bends;

use super::net::{Change, Digging, Net, angle_deg, touched};
use super::side::Side;
use geo::{Coord, Distance, Euclidean, Line, Point};
use rstar::primitives::{GeomWithData, Line as Segment};
use rstar::{AABB, RTree};

/// Times that all nodes near a change are looked at, at most.
const SWEEPS: usize = 12;
/// Saving below which nothing is changed, m of trench.
const SAVING_LEAST: f64 = 1e-6;
/// Trenches that leave a node at more than this stay apart, degrees.
const SHARP_DEG: f64 = 150.0;
/// Beyond paving that a trench crosses square, m, before it may turn. Common practice, no source.
const VERGE_M: f64 = 0.3;
/// Trenches passing by that a branch is tried on, nearest first.
const PASSING: usize = 12;

type Passing = GeomWithData<Segment<[f64; 2]>, (usize, usize)>;

/// The tree made cheaper.
pub fn improve<'a>(
    digging: Digging<'a>,
    at: Vec<Coord<f64>>,
    edges: &[(usize, usize)],
    terminals: usize,
) -> Net<'a> {
    let mut net = Net::new(digging, at, edges, terminals);
    let mut restless = vec![true; net.at.len()];
    for _ in 0..SWEEPS {
        restless = pass(&mut net, &restless, |sweep, node| sweep.settle(node));
    }
    net
}

/// The tree with its bends where they cost least: worth its time for the tree that is kept only.
pub fn set_bends(net: &mut Net) {
    let mut restless = vec![true; net.at.len()];
    for _ in 0..SWEEPS {
        let bent = pass(net, &restless, |sweep, node| sweep.bend(node));
        restless = pass(net, &bent, |sweep, node| sweep.settle(node));
        restless
            .iter_mut()
            .zip(bent)
            .for_each(|(node, bent)| *node |= bent);
    }
}

/// Does something at every restless node; returns the nodes that changed.
fn pass(net: &mut Net, restless: &[bool], act: impl Fn(&mut Sweep, usize)) -> Vec<bool> {
    let mut changed = vec![false; net.at.len()];
    if !restless.contains(&true) {
        return changed;
    }
    let mut sweep = Sweep {
        passing: passing(net),
        side: Side::default(),
        net,
        changed: &mut changed,
    };
    for (node, _) in restless.iter().enumerate().filter(|(_, r)| **r) {
        act(&mut sweep, node);
    }
    changed
}

/// Trenches as they are, by place.
fn passing(net: &Net) -> RTree<Passing> {
    let place = |node: usize| [net.at[node].x, net.at[node].y];
    let edges = net.edges().into_iter();
    RTree::bulk_load(
        edges
            .map(|(a, b)| Passing::new(Segment::new(place(a), place(b)), (a, b)))
            .collect(),
    )
}

/// One look at the nodes.
struct Sweep<'s, 'a> {
    net: &'s mut Net<'a>,
    passing: RTree<Passing>,
    side: Side,
    changed: &'s mut Vec<bool>,
}

impl Sweep<'_, '_> {
    /// Makes the best change at a node, while one saves anything.
    fn settle(&mut self, node: usize) {
        for _ in 0..SWEEPS {
            let Some(change) = self.best_of_junctions(node) else {
                return;
            };
            self.make(&change);
        }
    }

    /// Puts a bend into a trench of a node, and moves the bend that the node itself is, while that saves anything.
    fn bend(&mut self, mut node: usize) {
        if let Some(change) = self.best_of(self.bent(node)) {
            self.make(&change);
        }
        for step in bends::STEPS {
            for _ in 0..bends::SLIDES {
                let Some(change) = self.best_of(self.slid(node, step)) else {
                    break;
                };
                self.make(&change);
                node = self.net.at.len() - 1;
            }
        }
    }

    fn make(&mut self, change: &Change) {
        self.net.make(change);
        self.changed.resize(self.net.at.len(), false);
        for node in touched(change) {
            self.changed[node] = true;
        }
    }

    fn best_of_junctions(&mut self, node: usize) -> Option<Change> {
        let mut changes = self.freed(node);
        changes.extend(self.led_together(node));
        changes.extend(self.hung_elsewhere(node));
        changes.extend(self.squared(node));
        changes.extend(self.cut_short(node));
        self.best_of(changes)
    }

    /// The change that saves most, if any saves anything.
    fn best_of(&mut self, changes: Vec<Change>) -> Option<Change> {
        let mut best = (SAVING_LEAST, None);
        for change in changes {
            let saved = self.net.saved_by(&change);
            if saved > best.0 {
                best = (saved, Some(change));
            }
        }
        best.1
    }

    /// A trench of a node across paving, turned to cross it square: in the middle, or from one end on.
    fn squared(&self, node: usize) -> Vec<Change> {
        let net = &*self.net;
        let (surfaces, rules) = (net.digging.surfaces, net.digging.rules);
        let mut changes = Vec::new();
        for &(to, price) in &net.beside[node] {
            if to < node || price < rules.cost_crossing {
                continue;
            }
            let (from, end, fresh) = (net.at[node], net.at[to], net.at.len());
            let out = [(node, to)];
            for crossing in surfaces.crossings(Line::new(from, end)) {
                let half = crossing.square * (0.5 * crossing.width_m + VERGE_M);
                let both = [crossing.middle - half, crossing.middle + half];
                let put = [(node, fresh), (fresh, fresh + 1), (fresh + 1, to)];
                changes.extend(self.change(&both, &out, &put));
                let put = [(node, fresh), (fresh, to)];
                for (start, way) in [(from, crossing.square), (end, crossing.square * -1.0)] {
                    let far = Line::new(start, start + way * net.far_m(node, to));
                    let over = surfaces.crossings(far);
                    let Some(over) = over.first() else {
                        continue;
                    };
                    let beyond = over.middle + way * (0.5 * over.along_m + VERGE_M);
                    changes.extend(self.change(&[beyond], &out, &put));
                }
            }
        }
        changes
    }

    /// A change, if it puts no node too near to a wall, each new edge can be dug, and their sum saves something but for
    /// bends and junctions.
    fn change(
        &self,
        new: &[Coord<f64>],
        out: &[(usize, usize)],
        put: &[(usize, usize)],
    ) -> Option<Change> {
        let net = &*self.net;
        let place = |node: usize| {
            let fresh = || new.get(node.checked_sub(net.at.len())?);
            net.at.get(node).or_else(fresh).copied()
        };
        let out: Vec<(usize, usize, f64)> = out
            .iter()
            .map(|&(a, b)| Some((a, b, net.price_of(a, b)?)))
            .collect::<Option<_>>()?;
        let spent: f64 = out.iter().map(|edge| edge.2).sum();
        let bends = 2.0 * net.digging.rules.cost_bend * put.len() as f64;
        let mut metres = 0.0;
        for &(a, b) in put {
            let way = place(a)? - place(b)?;
            metres += way.x.hypot(way.y);
        }
        if net.digging.least_a_metre() * metres > spent + bends {
            return None;
        }
        let (surfaces, wall_m) = (net.digging.surfaces, net.digging.rules.wall_distance_m);
        if new.iter().any(|at| surfaces.hard_within(*at, wall_m)) {
            return None;
        }
        let put = put
            .iter()
            .map(|&(a, b)| Some((a, b, net.digging.price(place(a)?, place(b)?)?)))
            .collect::<Option<_>>()?;
        Some(Change {
            new: new.to_vec(),
            out,
            put,
        })
    }

    /// A free node moved to where its trenches meet best, or left out.
    fn freed(&self, node: usize) -> Vec<Change> {
        let net = &*self.net;
        if !net.is_free(node) {
            return Vec::new();
        }
        let ends: Vec<usize> = net.beside[node].iter().map(|(to, _)| *to).collect();
        let out: Vec<(usize, usize)> = ends.iter().map(|&to| (node, to)).collect();
        match ends[..] {
            [_] => self.change(&[], &out, &[]).into_iter().collect(),
            [a, b] => self.change(&[], &out, &[(a, b)]).into_iter().collect(),
            [a, b, c] => {
                let fresh = net.at.len();
                let put = [(fresh, a), (fresh, b), (fresh, c)];
                let places = meeting_places(net.at[a], net.at[b], net.at[c]);
                let moved = places
                    .into_iter()
                    .filter_map(|at| self.change(&[at], &out, &put));
                let onto = [(a, b, c), (b, a, c), (c, a, b)]
                    .into_iter()
                    .filter_map(|(a, b, c)| self.change(&[], &out, &[(a, b), (a, c)]));
                moved.chain(onto).collect()
            }
            _ => Vec::new(),
        }
    }

    /// Two trenches of a node led together to a point between.
    fn led_together(&self, node: usize) -> Vec<Change> {
        let net = &*self.net;
        let beside = &net.beside[node];
        let fresh = net.at.len();
        let mut changes = Vec::new();
        for (i, &(a, _)) in beside.iter().enumerate() {
            for &(b, _) in &beside[..i] {
                let (way_a, way_b) = (net.at[a] - net.at[node], net.at[b] - net.at[node]);
                if angle_deg(way_a, way_b) > SHARP_DEG {
                    continue;
                }
                let out = [(node, a), (node, b)];
                let put = [(node, fresh), (a, fresh), (b, fresh)];
                let places = meeting_places(net.at[node], net.at[a], net.at[b]);
                let led = places
                    .into_iter()
                    .filter_map(|at| self.change(&[at], &out, &put));
                changes.extend(led);
                changes.extend(self.change(&[], &[(node, a)], &[(a, b)]));
                changes.extend(self.change(&[], &[(node, b)], &[(a, b)]));
            }
        }
        changes
    }

    /// What hangs on a node's trench to a neighbour, hung on a trench that passes nearer by, or on a node of it.
    fn hung_elsewhere(&mut self, node: usize) -> Vec<Change> {
        let beside = self.net.beside[node].clone();
        let mut changes = Vec::new();
        for (from, price) in beside {
            let near = self.near(node, price);
            if near.is_empty() {
                continue;
            }
            self.side.explore(self.net, node, from);
            let other =
                |&(_, a, b): &(f64, usize, usize)| self.side.is_beyond(a) && self.side.is_beyond(b);
            for (_, a, b) in near.into_iter().filter(other).take(PASSING) {
                changes.extend(self.hung_on(node, from, (a, b)));
            }
        }
        changes
    }

    /// Trenches that pass a node no farther than those it has could cost, nearest first.
    fn near(&self, node: usize, price: f64) -> Vec<(f64, usize, usize)> {
        let net = &*self.net;
        let at = net.at[node];
        let reach_m = (price + 2.0 * net.digging.rules.cost_bend) / net.digging.least_a_metre();
        let window = AABB::from_corners(
            [at.x - reach_m, at.y - reach_m],
            [at.x + reach_m, at.y + reach_m],
        );
        let passing = self.passing.locate_in_envelope_intersecting(&window);
        let mut near: Vec<(f64, usize, usize)> = passing
            .map(|passing| passing.data)
            .filter(|&(a, b)| a != node && b != node && net.price_of(a, b).is_some())
            .map(|(a, b)| {
                let line = Line::new(net.at[a], net.at[b]);
                (Euclidean.distance(&Point::from(at), &line), a, b)
            })
            .filter(|(far_m, _, _)| *far_m <= reach_m)
            .collect();
        near.sort_by(|x, y| x.0.total_cmp(&y.0).then((x.1, x.2).cmp(&(y.1, y.2))));
        near.truncate(2 * PASSING);
        near
    }

    /// A branch hung on a trench from `a` to `b` or its ends. A free point that it leaves with two trenches goes.
    fn hung_on(&self, node: usize, parent: usize, (a, b): (usize, usize)) -> Vec<Change> {
        let net = &*self.net;
        let mut out = vec![(node, parent)];
        let mut put = Vec::new();
        let others: Vec<usize> = net.beside[parent]
            .iter()
            .map(|(to, _)| *to)
            .filter(|to| *to != node)
            .collect();
        if let [x, y] = others[..]
            && net.is_free(parent)
        {
            out.extend([(parent, x), (parent, y)]);
            put.push((x, y));
        }
        let goes = |end: usize| out.len() > 1 && end == parent;
        let mut changes = Vec::new();
        for to in [a, b] {
            if to != parent {
                let put: Vec<_> = put.iter().copied().chain([(node, to)]).collect();
                changes.extend(self.change(&[], &out, &put));
            }
        }
        if goes(a) || goes(b) {
            return changes;
        }
        out.push((a, b));
        let fresh = net.at.len();
        put.extend([(node, fresh), (a, fresh), (b, fresh)]);
        let places = [
            fermat(net.at[node], net.at[a], net.at[b]),
            foot(net.at[node], net.at[a], net.at[b]),
        ];
        let led = places.into_iter().flatten();
        changes.extend(led.filter_map(|at| self.change(&[at], &out, &put)));
        changes
    }
}

/// Where three trenches may meet: the point of Fermat, and the feet of each corner on the side across.
fn meeting_places(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>) -> Vec<Coord<f64>> {
    let feet = [foot(a, b, c), foot(b, a, c), foot(c, a, b)];
    std::iter::once(fermat(a, b, c))
        .chain(feet)
        .flatten()
        .collect()
}

/// The point from which the ways to three corners are shortest in sum; `None` where that is a corner.
///
/// Barycentric: `side / sin(angle + 60°)` for each corner (Kimberling, Encyclopedia of triangle centers, X(13), from memory).
pub fn fermat(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>) -> Option<Coord<f64>> {
    let weight = |at: Coord<f64>, left: Coord<f64>, right: Coord<f64>| {
        let angle = angle_deg(left - at, right - at);
        let side = (left - right).x.hypot((left - right).y);
        (angle < 119.9).then(|| side / (angle + 60.0).to_radians().sin())
    };
    let (u, v, w) = (weight(a, b, c)?, weight(b, a, c)?, weight(c, a, b)?);
    let sum = u + v + w;
    (sum.is_finite() && sum > 0.0).then(|| (a * u + b * v + c * w) / sum)
}

/// The foot of a point on a straight line, well between its ends.
fn foot(at: Coord<f64>, from: Coord<f64>, to: Coord<f64>) -> Option<Coord<f64>> {
    let way = to - from;
    let square = way.x * way.x + way.y * way.y;
    let share = ((at.x - from.x) * way.x + (at.y - from.y) * way.y) / square;
    let margin = 0.02;
    (share > margin && share < 1.0 - margin).then(|| from + way * share)
}

#[cfg(test)]
mod tests;
