//! What of a design belongs to one station's file, and what each part is called there.

use crate::brief::{Friction, HeadModel, PipeSize, ValveSize};
use crate::deliver::job::Job;
use crate::design::hydraulics::pipe_friction::chosen;
use crate::design::model::{Head, Node, Pipe, Section, Station};
use crate::design::supply::{SourceForm, SupplyCurve};
use geo::Coord;

/// A station, its supply, and the design around them.
pub(super) struct Plan<'a> {
    pub(super) job: &'a Job<'a>,
    pub(super) index: usize,
    pub(super) station: &'a Station,
    pub(super) valve: &'a ValveSize,
    pub(super) supply: SupplyCurve,
    /// Law of friction in mains and laterals.
    pub(super) friction: Friction,
    /// Node of the point of connection.
    pub(super) source: usize,
}

/// A head of the station.
pub(super) struct PlannedHead<'a> {
    pub(super) name: &'a str,
    /// Node of the laterals that it stands at.
    pub(super) node: usize,
    pub(super) head: &'a Head,
    pub(super) model: &'a HeadModel,
    /// Pressure at its nozzle and flow, as solved.
    pub(super) pressure_kpa: f64,
    pub(super) flow_lpm: f64,
}

impl<'a> Plan<'a> {
    /// The plan of a station; `None` where the design does not hold it whole.
    pub(super) fn of(job: &'a Job<'a>, index: usize) -> Option<Self> {
        let station = job.design.stations.get(index)?;
        let told = job.design.supply.as_ref()?;
        let mut points = job.parcel.water_points.iter();
        let point = points.find(|point| point.id == told.water_point)?;
        Some(Self {
            job,
            index,
            station,
            valve: job.catalogue().valves.get(station.valve_size)?,
            supply: SupplyCurve::of(point, &job.project.rules).ok()?,
            friction: chosen(&job.project.rules),
            source: told.node,
        })
    }

    /// What the source gives, as this file tells it.
    pub(super) fn form(&self) -> SourceForm {
        self.supply.source_form(self.station.flow_lpm)
    }

    pub(super) fn name(&self) -> &'a str {
        &self.job.names.stations[self.index]
    }

    pub(super) fn node(&self, node: usize) -> Option<&'a Node> {
        self.job.design.nodes.get(node)
    }

    /// A node's name behind the valve.
    pub(super) fn behind(&self, node: usize) -> Option<&'a str> {
        self.job.names.nodes.get(node).map(String::as_str)
    }

    /// A node's name on the mains: where a valve stands, the side before it.
    pub(super) fn before(&self, node: usize) -> Option<String> {
        let name = self.behind(node)?;
        let stations = &self.job.design.stations;
        let is_valve = stations.iter().any(|station| station.valve_node == node);
        Some(if is_valve {
            format!("{name}-in")
        } else {
            name.to_owned()
        })
    }

    pub(super) fn pipes(&self, section: Section) -> impl Iterator<Item = (&'a str, &'a Pipe)> {
        let job = self.job;
        let pipes = job.design.pipes_of(section);
        pipes.map(|(index, pipe)| (job.names.pipes[index].as_str(), pipe))
    }

    pub(super) fn size(&self, pipe: &Pipe) -> Option<&'a PipeSize> {
        self.job.pipe_size(pipe)
    }

    /// Flow in a main while this station runs, L/min; the greatest of any station where the design does not tell it.
    pub(super) fn flow_in_main_lpm(&self, name: &str, pipe: &Pipe) -> f64 {
        let mut way = self.job.way_to(self.station.valve_node).into_iter();
        if way.any(|main| self.job.names.pipes[main] == name) {
            self.station.flow_lpm
        } else {
            pipe.flow_lpm
        }
    }

    /// The heads of the station, in its order; `None` where one of them is not whole.
    pub(super) fn heads(&self) -> Option<Vec<PlannedHead<'a>>> {
        let nodes = self.job.node_of_head();
        let planned = |&index: &usize| {
            let head = self.job.design.heads.get(index)?;
            let working = self.job.working(index)?;
            Some(PlannedHead {
                name: self.job.names.heads.get(index)?,
                node: (*nodes.get(index)?)?,
                head,
                model: self.job.head_model(head)?,
                pressure_kpa: working.pressure_kpa,
                flow_lpm: working.flow_lpm,
            })
        };
        self.station.heads.iter().map(planned).collect()
    }
}

/// A place drawn apart from its own by metres to the east and north, so that parts at one place can be told apart.
pub(super) fn beside(at: Coord<f64>, east_m: f64, north_m: f64) -> Coord<f64> {
    Coord {
        x: at.x + east_m,
        y: at.y + north_m,
    }
}
