//! What must hold of works however they were relaid.

use super::Site;
use crate::design::drainage::basins;
use crate::design::model::{Node, NodeKind, Section, ValveKind};
use crate::design::works::relay::{Fixed, Relaid};
use geo::Line;

/// Checks everything that must hold, and that what is kept or pinned is as it was.
pub fn check(site: &Site, relaid: &Relaid, fixed: &Fixed) {
    heads(relaid);
    pipes(site, relaid);
    outward(relaid);
    drains(site, relaid);
    valves(relaid);
    kept(site, relaid);
    pinned(site, relaid, fixed);
    flows(site, relaid);
}

fn told(relaid: &Relaid, code: &str) -> usize {
    relaid.findings.iter().filter(|f| f.code == code).count()
}

/// Every head is on one station, at a node of it, or told.
fn heads(relaid: &Relaid) {
    let works = &relaid.works;
    let mut on = vec![0; works.heads.len()];
    for (i, station) in works.stations.iter().enumerate() {
        for &head in &station.heads {
            on[head] += 1;
            let nodes = works.pipework.nodes.iter();
            let at: Vec<&Node> = nodes.filter(|node| node.head == Some(head)).collect();
            assert_eq!(at.len(), 1, "head {head} of station {i}");
            assert_eq!(at[0].section, Section::Station(i));
            let (node, head) = (at[0].position, works.heads[head].position);
            assert!((node.x - head.x).hypot(node.y - head.y) < 1e-3 + 1e-9);
        }
    }
    assert!(on.iter().all(|count| *count <= 1));
    let lost = on.iter().filter(|count| **count == 0).count();
    assert_eq!(lost, told(relaid, "head_not_reached"));
    let seated = works.pipework.nodes.iter().filter(|n| n.head.is_some());
    assert_eq!(seated.count(), works.heads.len() - lost);
}

fn pipes(site: &Site, relaid: &Relaid) {
    let work = &relaid.works.pipework;
    let mut lie = vec![0; work.trenches.len()];
    for (i, pipe) in work.pipes.iter().enumerate() {
        assert_eq!(pipe.line.0[0], work.nodes[pipe.from].position);
        assert_eq!(
            pipe.line.0[pipe.line.0.len() - 1],
            work.nodes[pipe.to].position
        );
        assert!(!pipe.trenches.is_empty());
        let apart = pipe.line.0[0] != pipe.line.0[pipe.line.0.len() - 1];
        assert!(pipe.length_m > 0.0 || !apart);
        assert!(pipe.minor_k >= 0.0);
        pipe.trenches.iter().for_each(|trench| lie[*trench] += 1);
        if relaid.origin.pipes[i].is_none() {
            for leg in pipe.line.0.windows(2) {
                assert!(
                    !site.surfaces.is_blocked(Line::new(leg[0], leg[1])),
                    "pipe {i}"
                );
            }
        }
    }
    for (trench, lie) in work.trenches.iter().zip(lie) {
        assert_eq!(trench.pipes, lie);
        assert!(trench.cover_min_m <= trench.cover_max_m && trench.cover_min_m > 0.0);
    }
}

/// Pipes run away from the source or the valve, and every node is reached once.
fn outward(relaid: &Relaid) {
    let work = &relaid.works.pipework;
    assert_eq!(work.nodes[0].kind, NodeKind::Source);
    let begins = work.valve_nodes.iter().enumerate();
    let begins = begins.map(|(s, valve)| (Section::Station(s), *valve));
    let mut seen = vec![0; work.pipes.len()];
    let mut reached = vec![0; work.nodes.len()];
    reached[0] = 1;
    for (section, start) in std::iter::once((Section::Main, 0)).chain(begins) {
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            for (i, pipe) in work.pipes.iter().enumerate() {
                if pipe.from == node && pipe.section == section {
                    seen[i] += 1;
                    reached[pipe.to] += 1;
                    assert!(
                        work.nodes[pipe.to].section == section
                            || work.nodes[pipe.to].kind == NodeKind::Valve
                    );
                    open.push(pipe.to);
                }
            }
        }
    }
    assert!(
        seen.iter().all(|count| *count == 1),
        "pipes joined to nothing: {seen:?}"
    );
    assert!(
        reached.iter().all(|count| *count == 1),
        "nodes joined to nothing: {reached:?}"
    );
}

/// Every low point of every section has a drain.
fn drains(site: &Site, relaid: &Relaid) {
    let work = &relaid.works.pipework;
    let tolerance_m = site.project.rules.vertical_tolerance_m;
    for drain in &relaid.works.drains {
        let node = &work.nodes[drain.node];
        assert!(
            node.section == drain.section
                || (drain.section == Section::Main && node.kind == NodeKind::Valve)
        );
    }
    let stations = (0..relaid.works.stations.len()).map(Section::Station);
    for section in std::iter::once(Section::Main).chain(stations) {
        let own = work.pipes.iter().filter(|pipe| pipe.section == section);
        let edges: Vec<(usize, usize)> = own.map(|pipe| (pipe.from, pipe.to)).collect();
        let mut nodes: Vec<usize> = edges.iter().flat_map(|edge| [edge.0, edge.1]).collect();
        nodes.sort_unstable();
        nodes.dedup();
        let local = |node: usize| nodes.binary_search(&node).unwrap();
        let edges: Vec<_> = edges.iter().map(|e| (local(e.0), local(e.1))).collect();
        let level_m: Vec<f64> = nodes.iter().map(|n| work.nodes[*n].invert_m).collect();
        for basin in basins(&level_m, &edges, tolerance_m) {
            let drained = relaid.works.drains.iter().any(|drain| {
                let here = nodes.binary_search(&drain.node);
                drain.section == section
                    && here.is_ok_and(|here| {
                        basin.members.contains(&here)
                            && level_m[here] - level_m[basin.low] < tolerance_m
                    })
            });
            assert!(
                drained,
                "{section:?} has no drain at {:?}",
                work.nodes[nodes[basin.low]].position
            );
        }
    }
}

fn valves(relaid: &Relaid) {
    let works = &relaid.works;
    assert_eq!(works.stations.len(), works.pipework.valve_nodes.len());
    assert_eq!(works.valves.len(), relaid.origin.valves.len());
    for (station, node) in works.pipework.valve_nodes.iter().enumerate() {
        assert_eq!(works.pipework.nodes[*node].kind, NodeKind::Valve);
        let own = |kind| {
            let valves = works.valves.iter();
            valves
                .filter(|v| v.kind == kind && v.station == Some(station) && v.node == *node)
                .count()
        };
        assert_eq!(own(ValveKind::Control), 1);
        let regulated = works.stations[station].regulated_kpa.is_some();
        assert_eq!(own(ValveKind::Regulator), usize::from(regulated));
    }
}

/// What lay before has the depth and, unless told, the size it had.
fn kept(site: &Site, relaid: &Relaid) {
    let (old, new) = (&site.works.pipework, &relaid.works.pipework);
    for (node, from) in new.nodes.iter().zip(&relaid.origin.nodes) {
        let Some(from) = from.map(|from| &old.nodes[from]) else {
            continue;
        };
        assert_eq!(node.invert_m.to_bits(), from.invert_m.to_bits());
        let (a, b) = (node.position, from.position);
        assert!((a.x - b.x).hypot(a.y - b.y) <= 0.3 + 1e-9);
    }
    for (i, (pipe, from)) in new.pipes.iter().zip(&relaid.origin.pipes).enumerate() {
        let was = from.map(|from| old.pipes[from].size);
        assert_eq!(
            relaid.origin.resized[i],
            was.is_some_and(|was| was != pipe.size)
        );
    }
}

fn pinned(site: &Site, relaid: &Relaid, fixed: &Fixed) {
    let (old, new) = (&site.works, &relaid.works);
    for &pipe in &fixed.pipes {
        let is: Vec<_> = (0..new.pipework.pipes.len())
            .filter(|i| relaid.origin.pipes[*i] == Some(pipe))
            .map(|i| &new.pipework.pipes[i])
            .collect();
        let was = &old.pipework.pipes[pipe];
        assert_eq!(is.len(), 1);
        assert_eq!((&is[0].line, is[0].size), (&was.line, was.size));
        assert_eq!(is[0].length_m.to_bits(), was.length_m.to_bits());
    }
    for &node in &fixed.nodes {
        let is = relaid
            .origin
            .nodes
            .iter()
            .position(|from| *from == Some(node));
        let (is, was) = (&new.pipework.nodes[is.unwrap()], &old.pipework.nodes[node]);
        assert_eq!((is.position, is.invert_m), (was.position, was.invert_m));
    }
    for &drain in &fixed.drains {
        let is = relaid
            .origin
            .drains
            .iter()
            .position(|from| *from == Some(drain));
        let (is, was) = (&new.drains[is.unwrap()], &old.drains[drain]);
        assert_eq!(
            (is.kind, is.drained_l, is.gravel_l),
            (was.kind, was.drained_l, was.gravel_l)
        );
    }
    for &valve in &fixed.valves {
        let is = relaid
            .origin
            .valves
            .iter()
            .position(|from| *from == Some(valve));
        let (is, was) = (&new.valves[is.unwrap()], &old.valves[valve]);
        assert_eq!((is.kind, &is.size), (was.kind, &was.size));
    }
}

/// What flows into a node flows out of it again, and every head works in its range.
fn flows(site: &Site, relaid: &Relaid) {
    let works = &relaid.works;
    for station in 0..works.stations.len() {
        if works.stations[station].heads.is_empty() {
            continue;
        }
        let solved = site.solved(works, station);
        for &(head, kpa) in &solved.head_pressure_kpa {
            let model = &site.project.catalogue.heads[works.heads[head].model];
            let range = model.pressure_min_kpa - 0.3..=model.pressure_max_kpa + 0.3;
            assert!(range.contains(&kpa), "head {head} gets {kpa} kPa");
        }
        let mut net = vec![0.0; works.pipework.nodes.len()];
        for &(pipe, lpm) in &solved.pipe_flow_lpm {
            let pipe = &works.pipework.pipes[pipe];
            net[pipe.from] -= lpm;
            net[pipe.to] += lpm;
        }
        for &(head, lpm) in &solved.head_flow_lpm {
            let nodes = &works.pipework.nodes;
            let at = nodes
                .iter()
                .position(|node| node.head == Some(head))
                .unwrap();
            net[at] -= lpm;
        }
        net[0] += solved.flow_lpm;
        let most = net.iter().fold(0.0f64, |most, net| most.max(net.abs()));
        assert!(most < 0.01, "station {station} loses {most} L/min");
    }
}
