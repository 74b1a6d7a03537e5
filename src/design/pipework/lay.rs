//! Walks the trench tree and lays the main to every valve and the laterals behind each.

use super::edge::Edge;
use super::line::{self, Dug, Span};
use super::valve_places::{Ground, places};
use super::{Pipework, fittings};
use crate::brief::Rules;
use crate::design::model::{Head, NodeKind, Section};
use crate::design::stations::Group;
use crate::design::trenches::TrenchTree;
use crate::design::trenches::surfaces::Surfaces;
use crate::site::Terrain;

/// Distance of a valve beside the main it is fed from, m.
const BESIDE_M: f64 = 0.4;

/// A valve of a station on the edge above the station's top node.
struct ValvePlace {
    station: usize,
    share: f64,
    /// The main goes on past it, so it stands beside the trench.
    beside: bool,
}

struct Layer<'a> {
    tree: &'a TrenchTree,
    groups: &'a [Group],
    surfaces: &'a Surfaces,
    terrain: &'a Terrain,
    rules: &'a Rules,
    /// Stations whose laterals pass each edge whole, by tree node.
    passing: Vec<Vec<usize>>,
    /// Whether the main passes each edge whole, by tree node.
    main_passes: Vec<bool>,
    /// Valves on the edge above each node.
    valves: Vec<Vec<usize>>,
    /// Node and last run of each section at each tree node.
    main_at: Vec<Option<(usize, Option<usize>)>>,
    station_at: Vec<Vec<(usize, usize, Option<usize>)>>,
    out: Pipework,
}

/// Lays main and laterals. Heights of inverts are left at the least cover; sizes, flows and pressures at nothing.
pub fn lay(
    tree: &TrenchTree,
    groups: &[Group],
    heads: &[Head],
    surfaces: &Surfaces,
    terrain: &Terrain,
    rules: &Rules,
) -> Pipework {
    let ground = Ground {
        tree,
        heads,
        surfaces,
        box_valves: rules.valve_box_valves as usize,
    };
    let valve_places = places(&ground, groups);
    let mut layer = Layer::new(tree, groups, &valve_places, surfaces, terrain, rules);
    layer.place_source();
    for node in 1..tree.parents.len() {
        layer.lay_edge(node);
    }
    let mut out = layer.out;
    fittings::set_minor_losses(&out.nodes, &mut out.pipes);
    out
}

impl<'a> Layer<'a> {
    fn new(
        tree: &'a TrenchTree,
        groups: &'a [Group],
        valve_places: &[usize],
        surfaces: &'a Surfaces,
        terrain: &'a Terrain,
        rules: &'a Rules,
    ) -> Self {
        let n = tree.parents.len();
        let mut passing = vec![Vec::new(); n];
        let mut main_passes = vec![false; n];
        let mut valves = vec![Vec::new(); n];
        let mut node_of = vec![0; tree.heads.iter().flatten().max().map_or(0, |m| m + 1)];
        for (node, head) in tree.heads.iter().enumerate() {
            if let Some(head) = head {
                node_of[*head] = node;
            }
        }
        for (station, (group, &place)) in groups.iter().zip(valve_places).enumerate() {
            for &head in &group.heads {
                mark_up_to(node_of[head], place, &tree.parents, |node| {
                    let seen = passing[node].last() == Some(&station);
                    if !seen {
                        passing[node].push(station);
                    }
                    !seen
                });
            }
            valves[place].push(station);
            mark_up_to(tree.parents[place], 0, &tree.parents, |node| {
                !std::mem::replace(&mut main_passes[node], true)
            });
        }
        let out = Pipework {
            valve_nodes: vec![0; groups.len()],
            ..Pipework::default()
        };
        Self {
            tree,
            groups,
            surfaces,
            terrain,
            rules,
            passing,
            main_passes,
            valves,
            main_at: vec![None; n],
            station_at: vec![Vec::new(); n],
            out,
        }
    }

    fn place_source(&mut self) {
        let at = self.tree.positions[0];
        let source = line::node(&mut self.out, at, Section::Main, self.terrain);
        self.out.nodes[source].kind = NodeKind::Source;
        self.main_at[0] = Some((source, None));
    }

    fn lay_edge(&mut self, child: usize) {
        let parent = self.tree.parents[child];
        let rules = self.rules;
        let band_m = (rules.lateral_cover_max_m - rules.lateral_cover_min_m)
            .min(rules.main_cover_max_m - rules.main_cover_min_m);
        let edge = Edge::survey(
            self.tree.positions[parent],
            self.tree.positions[child],
            self.surfaces,
            self.terrain,
            band_m / 3.0,
        );
        let places = self.valve_places(child, &edge);
        let has_main = self.main_passes[child] || !places.is_empty();
        let has_lateral = !self.passing[child].is_empty() || places.iter().any(|p| !p.beside);
        if !has_main && !has_lateral {
            return;
        }
        let trenches = line::dig(&mut self.out, &edge);
        if has_main {
            self.lay_main(child, &edge, &places, &trenches);
        }
        for station in self.passing[child].clone() {
            let Some(&(_, start, run)) = self.station_at[parent]
                .iter()
                .find(|(s, _, _)| *s == station)
            else {
                continue;
            };
            let end = self.line(
                &edge,
                (0.0, 1.0),
                Section::Station(station),
                start,
                run,
                &trenches,
            );
            self.arrive(child, station, end);
        }
    }

    fn valve_places(&self, child: usize, edge: &Edge) -> Vec<ValvePlace> {
        let stations = &self.valves[child];
        let shares = edge.valve_places(stations.len());
        let goes_on = self.main_passes[child];
        stations
            .iter()
            .zip(shares)
            .enumerate()
            .map(|(i, (&station, share))| ValvePlace {
                station,
                share,
                beside: goes_on || i > 0,
            })
            .collect()
    }

    /// Lays the main along an edge, as far as its last valve or to the child, with the valves and their first laterals.
    fn lay_main(&mut self, child: usize, edge: &Edge, places: &[ValvePlace], trenches: &[Dug]) {
        let Some((mut node, mut run)) = self.main_at[self.tree.parents[child]] else {
            return;
        };
        let mut share = 0.0;
        for place in places.iter().rev() {
            let (at, on) = if place.beside {
                let (tee, on) = self.line(
                    edge,
                    (share, place.share),
                    Section::Main,
                    node,
                    run,
                    trenches,
                );
                self.valve_beside(child, edge, place, tee, on);
                (tee, on)
            } else {
                let (valve, on) = self.lay_to_valve(
                    edge,
                    (share, place.share),
                    place.station,
                    node,
                    run,
                    trenches,
                );
                let end = self.line(
                    edge,
                    (place.share, 1.0),
                    Section::Station(place.station),
                    valve,
                    None,
                    trenches,
                );
                self.arrive(child, place.station, end);
                (valve, on)
            };
            (node, run, share) = (at, on, place.share);
        }
        if self.main_passes[child] {
            let end = self.line(edge, (share, 1.0), Section::Main, node, run, trenches);
            self.main_at[child] = Some(end);
        }
    }

    fn lay_to_valve(
        &mut self,
        edge: &Edge,
        span: (f64, f64),
        station: usize,
        from: usize,
        run: Option<usize>,
        trenches: &[Dug],
    ) -> (usize, Option<usize>) {
        let (node, on) = self.line(edge, span, Section::Main, from, run, trenches);
        self.make_valve(node, station);
        (node, on)
    }

    /// A valve beside the main: a short branch to it and a lateral of its own trench back to the child.
    fn valve_beside(
        &mut self,
        child: usize,
        edge: &Edge,
        place: &ValvePlace,
        tee: usize,
        run: Option<usize>,
    ) {
        let at = edge.beside(place.share, BESIDE_M, self.surfaces);
        let branch = Edge::survey(edge.at(place.share), at, self.surfaces, self.terrain, 1.0);
        let dug = line::dig(&mut self.out, &branch);
        let (valve, _) = self.lay_to_valve(&branch, (0.0, 1.0), place.station, tee, run, &dug);
        let back = Edge::survey(
            at,
            self.tree.positions[child],
            self.surfaces,
            self.terrain,
            1.0,
        );
        let dug = line::dig(&mut self.out, &back);
        let end = self.line(
            &back,
            (0.0, 1.0),
            Section::Station(place.station),
            valve,
            None,
            &dug,
        );
        self.arrive(child, place.station, end);
    }

    fn line(
        &mut self,
        edge: &Edge,
        (from, to): (f64, f64),
        section: Section,
        start: usize,
        parent: Option<usize>,
        trenches: &[Dug],
    ) -> (usize, Option<usize>) {
        let span = Span {
            from,
            to,
            section,
            start,
            parent,
        };
        let (node, run) = line::lay(&mut self.out, edge, &span, trenches, self.terrain);
        (node, Some(run))
    }

    fn make_valve(&mut self, node: usize, station: usize) {
        self.out.nodes[node].kind = NodeKind::Valve;
        self.out.nodes[node].section = Section::Station(station);
        self.out.valve_nodes[station] = node;
    }

    /// Notes where a station's lateral stands at a tree node, and the head there if it is one of its own.
    fn arrive(&mut self, tree_node: usize, station: usize, (node, run): (usize, Option<usize>)) {
        let head =
            self.tree.heads[tree_node].filter(|head| self.groups[station].heads.contains(head));
        if head.is_some() {
            self.out.nodes[node].kind = NodeKind::Head;
            self.out.nodes[node].head = head;
        }
        self.station_at[tree_node].push((station, node, run));
    }
}

/// Visits `node` and its ancestors below `stop`, while `visit` says to go on.
fn mark_up_to(
    mut node: usize,
    stop: usize,
    parents: &[usize],
    mut visit: impl FnMut(usize) -> bool,
) {
    while node != stop && node != 0 && visit(node) {
        node = parents[node];
    }
}
