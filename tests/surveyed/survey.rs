//! A finished design drawn as a surveyor would draw it.

use swardline::brief::Project;
use swardline::design::model::{Design, DrainKind, Section, ValveKind};
use swardline::site::Existing;
use swardline::site::existing::{
    ExistingHead, ExistingPipe, ExistingValve, ExistingValveKind, Surveyed,
};

fn from(file: &str, id: String) -> Surveyed {
    Surveyed {
        file: file.into(),
        id,
    }
}

fn station(section: Section) -> Option<String> {
    match section {
        Section::Main => None,
        Section::Station(station) => Some(format!("station-{station:03}")),
    }
}

/// The survey of a design; with or without the names of nodes, which say what is joined.
pub fn survey(design: &Design, project: &Project, named: bool) -> Existing {
    let name = |node: usize| named.then(|| format!("node-{node:04}"));
    Existing {
        heads: heads(design, project, &name),
        pipes: pipes(design, project, &name),
        valves: valves(design, &name),
    }
}

fn heads(
    design: &Design,
    project: &Project,
    name: &dyn Fn(usize) -> Option<String>,
) -> Vec<ExistingHead> {
    let node_of = |head: usize| design.nodes.iter().position(|n| n.head == Some(head));
    let head = |(index, head): (usize, &swardline::design::model::Head)| {
        let model = &project.catalogue.heads[head.model];
        ExistingHead {
            from: from("heads", format!("head-{index:04}")),
            position: head.position,
            station: design.station_of[index].and_then(|s| station(Section::Station(s))),
            node: node_of(index).and_then(name),
            model: Some(model.name.clone()),
            nozzle: Some(model.nozzles[head.nozzle].name.clone()),
            arc_deg: Some((head.arc.start_deg, head.arc.sweep_deg)),
            radius_m: Some(head.radius_m),
            flow_ref_lpm: Some(head.flow_ref_lpm),
            ground_m: Some(head.ground_m),
            one_row: head.one_row,
        }
    };
    design.heads.iter().enumerate().map(head).collect()
}

fn pipes(
    design: &Design,
    project: &Project,
    name: &dyn Fn(usize) -> Option<String>,
) -> Vec<ExistingPipe> {
    let pipe = |(index, pipe): (usize, &swardline::design::model::Pipe)| {
        let size = &project.catalogue.pipes[pipe.size];
        let invert_m = |node: usize| Some(design.nodes[node].invert_m);
        ExistingPipe {
            from: from("pipes", format!("pipe-{index:04}")),
            line: pipe.line.clone(),
            is_main: Some(pipe.section == Section::Main),
            station: station(pipe.section),
            nodes: (name(pipe.from), name(pipe.to)),
            material: Some(size.material.clone()),
            nominal: Some(size.nominal.clone()),
            inside_mm: Some(size.inside_mm),
            roughness_c: Some(size.roughness_c),
            rating_kpa: Some(size.rating_kpa),
            length_m: Some(pipe.length_m),
            minor_k: Some(pipe.minor_k),
            invert_m: (invert_m(pipe.from), invert_m(pipe.to)),
        }
    };
    design.pipes.iter().enumerate().map(pipe).collect()
}

fn valves(design: &Design, name: &dyn Fn(usize) -> Option<String>) -> Vec<ExistingValve> {
    let mut all = Vec::new();
    let mut add = |kind, node: usize, station: Option<String>, size, regulated_kpa| {
        all.push(ExistingValve {
            from: from("valves", format!("valve-{:03}", all.len())),
            position: design.nodes[node].position,
            kind,
            station,
            node: name(node),
            size,
            regulated_kpa,
        });
    };
    for valve in &design.valves {
        let kind = match valve.kind {
            ValveKind::Control => ExistingValveKind::Control,
            ValveKind::Isolation => ExistingValveKind::Isolation,
            ValveKind::Backflow => ExistingValveKind::Backflow,
            ValveKind::Master => ExistingValveKind::Master,
            ValveKind::Regulator => ExistingValveKind::Regulator,
        };
        let of = valve.station.and_then(|s| station(Section::Station(s)));
        let regulated_kpa = valve.station.and_then(|s| design.stations[s].regulated_kpa);
        add(
            kind,
            valve.node,
            of,
            Some(valve.size.clone()),
            regulated_kpa,
        );
    }
    for drain in &design.drains {
        let kind = match drain.kind {
            DrainKind::Automatic => ExistingValveKind::DrainAutomatic,
            DrainKind::Manual => ExistingValveKind::DrainManual,
            DrainKind::Flush => ExistingValveKind::Flush,
        };
        add(kind, drain.node, station(drain.section), None, None);
    }
    for &node in &design.air_valves {
        add(ExistingValveKind::Air, node, None, None, None);
    }
    all
}
