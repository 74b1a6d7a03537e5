//! A surveyed system rebuilt: lines and points on a plan become one network again.
//!
//! `goods` and `sizes` find what lies there in the catalogue, `joints`, `ends` and `stands` join ends, heads and valves that lie together, `slips` closes
//! what a slip of the drawing left open, `feed`, `walk` and `sections` find out what feeds it, which valve shuts off what and which way the water runs,
//! `levels` how deep everything lies, `trenches` what is dug open to come at it. Nothing is dropped silently: what cannot be used is told.

mod ends;
mod feed;
mod goods;
mod joints;
mod levels;
mod lines;
mod sections;
mod sizes;
mod slips;
mod stands;
mod trenches;
mod valves;
mod walk;

use super::Works;
use crate::brief::{Catalogue, Rules};
use crate::design::hydraulics::pipe_friction::under_rules;
use crate::design::model::{Section, SurveyIds};
use crate::design::source::Source;
use crate::finding::Finding;
use crate::site::Parcel;

/// What a survey comes to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rebuilt {
    /// The system; empty where no part of it hangs on a water point.
    pub works: Works,
    /// What it is fed by; `None` where nothing is.
    pub source: Option<Source>,
    /// Sizes that lie in the ground and are not in the catalogue: they follow its own.
    pub sizes: Vec<crate::brief::PipeSize>,
    /// Ids of the survey, in the order of the works.
    pub ids: SurveyIds,
    /// Stations whose pressures cannot be reckoned since a pipe on the way has no known size.
    unsized_stations: Vec<usize>,
    /// Nodes whose height is not known and is assumed.
    pub assumed_levels: Vec<usize>,
    told: levels::Told,
    /// What is to be said of the survey.
    pub findings: Vec<Finding>,
}

impl Rebuilt {
    /// Leaves out stations that cannot be reckoned or have no heads; the former were told with their pipes.
    fn leave_out(&mut self, findings: &mut Vec<Finding>) {
        let mut gone = std::mem::take(&mut self.unsized_stations);
        let unsized_stations = gone.len();
        let empty = self.works.stations.iter().enumerate();
        let empty =
            empty.filter(|(station, works)| works.heads.is_empty() && !gone.contains(station));
        let empty: Vec<usize> = empty.map(|(station, _)| station).collect();
        gone.extend(empty);
        for (index, &station) in gone.iter().enumerate() {
            let lies = self.lies_in(station);
            let finding = if index < unsized_stations {
                let message = format!(
                    "cannot be reckoned, since pipe on its way has no size: {lies}. The water of its heads is counted as if they worked."
                );
                Finding::error("existing_size_missing", message)
            } else {
                let message = format!(
                    "has a valve and no head: it is not looked at ({lies}). Draw its heads, or take it out."
                );
                Finding::warning("existing_station_empty", message)
            };
            let pipework = &self.works.pipework;
            let at = pipework.nodes[pipework.valve_nodes[station]].position;
            findings.push(finding.of(self.ids.stations[station].clone()).at(at));
        }
        let stays = |section: Section| match section {
            Section::Main => true,
            Section::Station(station) => !gone.contains(&station),
        };
        let pipes = self.works.pipework.pipes.iter();
        let mut pipes = pipes.map(|pipe| stays(pipe.section));
        self.ids.pipes.retain(|_| pipes.next().unwrap_or(true));
        let valves = self.works.valves.iter();
        let mut valves =
            valves.map(|valve| valve.station.is_none_or(|s| stays(Section::Station(s))));
        self.ids.valves.retain(|_| valves.next().unwrap_or(true));
        let mut number = 0..;
        self.ids
            .stations
            .retain(|_| !gone.contains(&number.next().unwrap_or(0)));
        self.works = self.works.without_stations(&gone);
    }

    /// Pipes and valves of a station, by their ids.
    fn lies_in(&self, station: usize) -> String {
        let pipes = self.works.pipework.pipes.iter().zip(&self.ids.pipes);
        let pipes = pipes.filter(|(pipe, _)| pipe.section == Section::Station(station));
        let valves = self.works.valves.iter().zip(&self.ids.valves);
        let valves = valves.filter(|(valve, id)| valve.station == Some(station) && !id.is_empty());
        let mut ids: Vec<&str> = valves.map(|(_, id)| id.as_str()).collect();
        ids.extend(pipes.map(|(_, id)| id.as_str()));
        ids.dedup();
        goods::listed(ids.into_iter())
    }

    /// The catalogue with the sizes that lie in the ground, under the law of friction of the rules.
    pub fn catalogue(&self, catalogue: &Catalogue, rules: &Rules) -> Catalogue {
        let mut with = catalogue.clone();
        with.pipes.extend(self.sizes.iter().cloned());
        under_rules(&with, rules)
    }
}

/// Rebuilds the existing system of a parcel.
pub fn rebuild(parcel: &Parcel, catalogue: &Catalogue, rules: &Rules) -> Rebuilt {
    let mut findings = Vec::new();
    let goods = goods::match_all(parcel, catalogue, rules, &mut findings);
    let mut net = joints::join(parcel, &goods, rules, &mut findings);
    slips::mend(&mut net, rules, &mut findings);
    let mut rebuilt = sections::works(parcel, net, &goods, catalogue, rules, &mut findings);
    rebuilt.sizes = goods.new_sizes;
    let told = std::mem::take(&mut rebuilt.told);
    levels::set(&mut rebuilt, &told, parcel, rules, &mut findings);
    rebuilt.leave_out(&mut findings);
    trenches::set(&mut rebuilt.works, parcel, rules);
    rebuilt.findings = findings;
    rebuilt
}
