//! Works reckoned as they are: nothing is chosen, every station is solved as it lies.

use super::Works;
use crate::brief::{Catalogue, Rules};
use crate::design::drainage::drains;
use crate::design::hydraulics::StationError;
use crate::design::settle::demand::{Allowance, class_numbers, needs_over};
use crate::design::settle::inverts::section::SectionLevels;
use crate::design::settle::inverts::{Graded, grade_rules};
use crate::design::settle::pressures::{Plant, smallest_valve, write_back};
use crate::design::settle::{Settled, Solved};
use crate::design::stations::{Group, HeadNeed, Limits, Load, counts};
use crate::design::supply::SupplyCurve;
use crate::design::trenches::TrenchTree;
use crate::site::Parcel;

/// What works are reckoned with.
#[derive(Clone, Copy)]
pub struct Reckoning<'a> {
    /// The parcel.
    pub parcel: &'a Parcel,
    /// The supply at node 0.
    pub supply: &'a SupplyCurve,
    /// The catalogue, with the law of friction of the rules.
    pub catalogue: &'a Catalogue,
    /// The rules.
    pub rules: &'a Rules,
}

/// Solves works as they are. Stations without heads are left out: `works` must hold none.
///
/// # Errors
/// [`StationError`] where a station's network has no solution.
pub fn reckon(with: &Reckoning, works: &Works) -> Result<Settled, StationError> {
    let &Reckoning {
        supply,
        catalogue,
        rules,
        ..
    } = with;
    let source_m = works
        .pipework
        .nodes
        .first()
        .map_or(0.0, |node| node.ground_m);
    let allowance = Allowance::new(supply, source_m, catalogue, rules);
    let path_m = paths_m(works);
    let needs = needs_over(&works.heads, &path_m, &allowance, catalogue, rules);
    let classes = class_numbers(&works.heads, catalogue);
    let groups: Vec<Group> = works
        .stations
        .iter()
        .filter_map(|station| group(&station.heads, &needs, &classes))
        .collect();
    let plant = Plant {
        heads: &works.heads,
        needs: &needs,
        supply,
        catalogue,
        rules,
    };
    let mut work = works.pipework.clone();
    let solved: Vec<Solved> = groups
        .iter()
        .enumerate()
        .map(|(station, group)| {
            let set = &works.stations[station];
            let size = set
                .valve_size
                .unwrap_or_else(|| smallest_valve(&catalogue.valves, group.load.flow_lpm));
            plant.solve_set(&work, station, group, size, set.regulated_kpa)
        })
        .collect::<Result<_, _>>()?;
    write_back(&mut work, &solved, supply, catalogue);
    let limits = Limits::of(rules);
    Ok(Settled {
        counts: counts(&groups, &needs, &limits),
        groups,
        graded: graded(works, with),
        work,
        solved,
        needs,
        pipe_cost: 0.0,
        pipe_cost_bound: 0.0,
        remedies: Vec::new(),
    })
}

/// The heads of a station as one group of the class of its first head; `None` of no head.
fn group(heads: &[usize], needs: &[HeadNeed], classes: &[usize]) -> Option<Group> {
    let loads = heads.iter().map(|head| Load::of(&needs[*head]));
    Some(Group {
        load: loads.reduce(|a, b| a.joined(&b))?,
        heads: heads.to_vec(),
        top: 0,
        class: classes[heads[0]],
    })
}

/// Drains as they are, with the water that runs to each.
fn graded(works: &Works, with: &Reckoning) -> Graded {
    let rules = grade_rules(with.rules);
    let nodes = &works.pipework.nodes;
    let mut of_works = works.drains.clone();
    let mut sections: Vec<_> = of_works.iter().map(|drain| drain.section).collect();
    sections.sort_unstable();
    sections.dedup();
    for section in sections {
        let terrain = &with.parcel.terrain;
        let levels = SectionLevels::of(
            &works.pipework,
            section,
            terrain,
            with.catalogue,
            with.rules,
        );
        let invert_m: Vec<f64> = levels
            .ours
            .iter()
            .map(|node| nodes[*node].invert_m)
            .collect();
        for point in drains(&invert_m, &levels.pipes, &rules) {
            let here = |drain: &&mut crate::design::model::Drain| {
                drain.section == section && drain.node == levels.ours[point.node]
            };
            if let Some(drain) = of_works.iter_mut().find(here) {
                drain.drained_l = point.drained_l;
                drain.gravel_l = if rules.must_drain {
                    point.gravel_l
                } else {
                    0.0
                };
            }
        }
    }
    Graded {
        drains: of_works,
        air_valves: works.air_valves.clone(),
        must_drain: rules.must_drain,
        relaxed: 0,
    }
}

/// Pipe from the source to each head, m; the straight distance where none leads there.
fn paths_m(works: &Works) -> Vec<f64> {
    let work = &works.pipework;
    let mut far_m = vec![f64::INFINITY; work.nodes.len()];
    if let Some(first) = far_m.first_mut() {
        *first = 0.0;
    }
    // A pipe stands after the one that feeds it.
    for pipe in &work.pipes {
        far_m[pipe.to] = far_m[pipe.to].min(far_m[pipe.from] + pipe.length_m);
    }
    let mut of_head = vec![f64::INFINITY; works.heads.len()];
    for (node, far_m) in work.nodes.iter().zip(&far_m) {
        if let Some(head) = node.head {
            of_head[head] = *far_m;
        }
    }
    let source = work.nodes.first().map(|node| node.position);
    let straight_m = |head: usize| {
        source.map_or(0.0, |at| {
            let way = works.heads[head].position - at;
            way.x.hypot(way.y)
        })
    };
    let known = of_head.iter().enumerate();
    known
        .map(|(head, far_m)| {
            if far_m.is_finite() {
                *far_m
            } else {
                straight_m(head)
            }
        })
        .collect()
}

/// The tree that the pipes of works lie in: one node for each of theirs, from the source outward.
pub fn tree_of(works: &Works) -> TrenchTree {
    let work = &works.pipework;
    let mut place = vec![None; work.nodes.len()];
    let mut tree = TrenchTree::default();
    let mut put = |node: usize, parent: usize, place: &mut Vec<Option<usize>>| {
        if place[node].is_none() {
            place[node] = Some(tree.positions.len());
            tree.positions.push(work.nodes[node].position);
            tree.heads.push(work.nodes[node].head);
            tree.parents.push(parent);
        }
    };
    if !work.nodes.is_empty() {
        put(0, 0, &mut place);
    }
    for pipe in &work.pipes {
        if let Some(parent) = place[pipe.from] {
            put(pipe.to, parent, &mut place);
        }
    }
    tree
}
