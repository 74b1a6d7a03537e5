//! One parcel's hand-over: what was asked, what was designed, and what everything is called.

use crate::brief::{Catalogue, HeadModel, PipeSize, Project};
use crate::deliver::attention::{self, Attention};
use crate::deliver::colours::StationColours;
use crate::deliver::names::Names;
use crate::design::model::{Design, Head, NodeKind, Pipe, Section, SurveyIds, ValveKind, Working};
use crate::site::Parcel;
use std::collections::VecDeque;

/// What every writer of this wing reads.
pub(crate) struct Job<'a> {
    pub(crate) parcel: &'a Parcel,
    pub(crate) design: &'a Design,
    pub(crate) project: &'a Project,
    pub(crate) names: Names,
    pub(crate) attention: Vec<Attention<'a>>,
    pub(crate) colours: StationColours,
    /// For each node, the main it is reached by and the node before it; `None` at the source and off the mains.
    came_by: Vec<Option<(usize, usize)>>,
}

/// Walks the mains outward from the point of connection, fewest pipes first.
fn mains_tree(design: &Design) -> Vec<Option<(usize, usize)>> {
    let mut joins = vec![Vec::new(); design.nodes.len()];
    for (index, pipe) in design.pipes_of(Section::Main) {
        if pipe.from.max(pipe.to) < joins.len() {
            joins[pipe.from].push((index, pipe.to));
            joins[pipe.to].push((index, pipe.from));
        }
    }
    let is_source = |&node: &usize| design.nodes[node].kind == NodeKind::Source;
    let mut ahead: VecDeque<usize> = (0..design.nodes.len()).filter(is_source).collect();
    let mut seen: Vec<bool> = (0..design.nodes.len()).map(|n| is_source(&n)).collect();
    let mut came_by = vec![None; design.nodes.len()];
    while let Some(node) = ahead.pop_front() {
        for &(pipe, next) in &joins[node] {
            if !std::mem::replace(&mut seen[next], true) {
                came_by[next] = Some((pipe, node));
                ahead.push_back(next);
            }
        }
    }
    came_by
}

impl<'a> Job<'a> {
    /// What the survey calls a thing that lies in the ground already; `None` of what is new or was not drawn.
    pub(crate) fn survey_id(
        &self,
        index: usize,
        of: impl Fn(&SurveyIds) -> &Vec<String>,
    ) -> Option<String> {
        let id = of(self.design.survey_ids.as_ref()?).get(index)?;
        (!id.is_empty()).then(|| id.clone())
    }

    pub(crate) fn new(parcel: &'a Parcel, design: &'a Design, project: &'a Project) -> Self {
        let attention = attention::gathered(parcel, design);
        Self {
            parcel,
            design,
            project,
            names: Names::new(parcel, design, attention.len()),
            attention,
            colours: StationColours::of(design),
            came_by: mains_tree(design),
        }
    }

    /// What people call a parcel: its id, and its name where given.
    pub(crate) fn title_of(parcel: &Parcel) -> String {
        match &parcel.name {
            Some(name) => format!("parcel {}, {name}", parcel.id),
            None => format!("parcel {}", parcel.id),
        }
    }

    pub(crate) fn catalogue(&self) -> &'a Catalogue {
        &self.project.catalogue
    }

    pub(crate) fn head_model(&self, head: &Head) -> Option<&'a HeadModel> {
        self.catalogue().heads.get(head.model)
    }

    /// Name of a head's nozzle.
    pub(crate) fn nozzle(&self, head: &Head) -> Option<&'a str> {
        let nozzle = self.head_model(head)?.nozzles.get(head.nozzle)?;
        Some(nozzle.name.as_str())
    }

    /// How a head works; `None` when nothing was solved.
    pub(crate) fn working(&self, head: usize) -> Option<&'a Working> {
        self.design.working.get(head)
    }

    /// Station of a head.
    pub(crate) fn station_of(&self, head: usize) -> Option<usize> {
        self.design.station_of.get(head).copied().flatten()
    }

    /// Id of a head's station.
    pub(crate) fn station_name(&self, head: usize) -> Option<String> {
        self.names.station(Section::Station(self.station_of(head)?))
    }

    pub(crate) fn pipe_size(&self, pipe: &Pipe) -> Option<&'a PipeSize> {
        self.catalogue().pipes.get(pipe.size)
    }

    /// Index of a station's control valve among the valves.
    pub(crate) fn control_valve(&self, station: usize) -> Option<usize> {
        self.design
            .valves
            .iter()
            .position(|valve| valve.kind == ValveKind::Control && valve.station == Some(station))
    }

    /// Node that each head stands at, in the order of the heads.
    pub(crate) fn node_of_head(&self) -> Vec<Option<usize>> {
        let mut at = vec![None; self.design.heads.len()];
        for (index, node) in self.design.nodes.iter().enumerate() {
            if let Some(slot) = node.head.and_then(|head| at.get_mut(head)) {
                *slot = Some(index);
            }
        }
        at
    }

    /// Mains from the point of connection to `node`, in the order of the water: the way with the fewest pipes.
    /// Empty when the node is not connected.
    pub(crate) fn way_to(&self, node: usize) -> Vec<usize> {
        let mut way = Vec::new();
        let mut at = node;
        while let Some((pipe, before)) = self.came_by.get(at).copied().flatten() {
            way.push(pipe);
            at = before;
        }
        way.reverse();
        way
    }

    /// Heads in the order a crew walks: station by station, then those without a station.
    pub(crate) fn walking_order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = self
            .design
            .stations
            .iter()
            .flat_map(|station| station.heads.iter().copied())
            .filter(|&head| head < self.design.heads.len())
            .collect();
        let mut seen = vec![false; self.design.heads.len()];
        order.retain(|&head| !std::mem::replace(&mut seen[head], true));
        order.extend((0..seen.len()).filter(|&head| !seen[head]));
        order
    }

    /// For each head its place in the walking order, from 0.
    pub(crate) fn order_of_heads(&self) -> Vec<usize> {
        let mut order = vec![0; self.design.heads.len()];
        for (place, head) in self.walking_order().into_iter().enumerate() {
            order[head] = place;
        }
        order
    }

    /// Length along the slope of all pipe of mains (`true`) or laterals, m.
    pub(crate) fn pipe_length_m(&self, mains: bool) -> f64 {
        pipe_length_m(self.design, mains)
    }

    /// Length of all trench that is to be dug, m.
    pub(crate) fn trench_length_m(&self) -> f64 {
        trench_length_m(self.design)
    }
}

/// See [`Job::pipe_length_m`].
pub(crate) fn pipe_length_m(design: &Design, mains: bool) -> f64 {
    let wanted = |pipe: &&Pipe| (pipe.section == Section::Main) == mains;
    design.pipes.iter().filter(wanted).map(|p| p.length_m).sum()
}

/// See [`Job::trench_length_m`].
pub(crate) fn trench_length_m(design: &Design) -> f64 {
    design.trench_to_dig_m()
}

/// Sum of the take-off's costs; `None` where nothing is priced.
pub(crate) fn cost(design: &Design) -> Option<f64> {
    let mut costs = design.takeoff.iter().filter_map(|row| row.cost).peekable();
    costs.peek().is_some().then(|| costs.sum())
}
