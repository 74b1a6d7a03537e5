//! A surveyed system rebuilt: lines and points on a plan become one network again.
//!
//! `goods` finds sizes and models in the catalogue, `joints` joins ends, heads and valves that lie together, `slips` closes
//! what a slip of the drawing left open, `sections` finds out which valve shuts off what and which way the water runs,
//! `levels` how deep everything lies. Nothing is dropped silently: what cannot be used is told.

mod goods;
mod joints;
mod levels;
mod lines;
mod sections;
mod slips;
mod valves;

use super::Works;
use crate::brief::{Catalogue, Rules};
use crate::design::hydraulics::pipe_friction::under_rules;
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
    /// Stations, by index, whose pressures cannot be reckoned since a pipe on the way has no known size.
    pub unsized_stations: Vec<usize>,
    /// Nodes whose height is not known and is assumed.
    pub assumed_levels: Vec<usize>,
    told: levels::Told,
    /// What is to be said of the survey.
    pub findings: Vec<Finding>,
}

/// What the survey calls the things of the works.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SurveyIds {
    /// Heads.
    pub heads: Vec<String>,
    /// Pipes; two pieces of one pipe have one id.
    pub pipes: Vec<String>,
    /// Valves; empty for one that was not drawn.
    pub valves: Vec<String>,
    /// Stations.
    pub stations: Vec<String>,
}

impl Rebuilt {
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
    rebuilt.findings = findings;
    rebuilt
}

#[cfg(test)]
mod tests;
