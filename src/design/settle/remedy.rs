//! What would mend a station whose heads get too little, too much or too unevenly, each way tried on the solved network.

use super::STATION_PRICE;
use super::TOLERANCE_KPA;
use super::pressures::{Plant, Solved};
use crate::design::model::Section;
use crate::design::pipework::Pipework;
use crate::design::stations::Group;
use crate::units::{kpa_from_head_m, m3s_from_lpm};

/// Boosters are tried in steps of this, kPa.
const BOOST_STEP_KPA: f64 = 5.0;
/// Greatest booster tried, in such steps.
const BOOST_STEPS_MOST: usize = 120;
/// Pressure that a booster must find before it, kPa. Common practice, no source; the water company decides.
const INLET_LEAST_KPA: f64 = 50.0;
/// Stations that one is split into at most.
const SPLIT_MOST: usize = 6;
/// Price of a booster with its controls, and for each kilowatt of water power: invented, as the catalogue's prices are.
const BOOSTER_PRICE: (f64, f64) = (600.0, 2000.0);
/// Price of a head's own regulator: invented.
const REGULATOR_PRICE: f64 = 8.0;

/// A way to mend a station.
#[derive(Debug, Clone, PartialEq)]
pub enum Means {
    /// A pump that adds this pressure at the source at this flow.
    Booster {
        /// Pressure added, kPa.
        kpa: f64,
        /// Flow of the station with it, L/min.
        lpm: f64,
    },
    /// Several stations in place of one, with these flows, L/min.
    Split(Vec<f64>),
    /// All its pipe, main included, wider by so many sizes.
    WiderPipe(usize),
    /// So many heads with a regulator of their own, set to this pressure, kPa.
    RegulatedHeads(usize, f64),
}

/// A way to mend a station, with its price by the catalogue's and the invented prices.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// What is done.
    pub means: Means,
    /// What it costs more.
    pub price: f64,
}

/// What would mend a station, cheapest first; nothing where none of the ways does.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// The station.
    pub station: usize,
    /// The ways that were tried and do.
    pub ways: Vec<Way>,
}

/// A station that breaks a rule, with all that remedies are tried on.
struct Failing<'a> {
    plant: &'a Plant<'a>,
    work: &'a Pipework,
    station: usize,
    group: &'a Group,
    solved: &'a Solved,
}

/// Remedies for all stations that break a rule on pressure; a way whose network has no solution is none.
pub fn remedies(
    plant: &Plant,
    work: &Pipework,
    groups: &[Group],
    solved: &[Solved],
) -> Vec<Remedy> {
    let stations = groups.iter().zip(solved).enumerate();
    stations
        .filter(|(_, (_, solved))| solved.fails(TOLERANCE_KPA))
        .map(|(station, (group, solved))| {
            let failing = Failing {
                plant,
                work,
                station,
                group,
                solved,
            };
            failing.remedy()
        })
        .collect()
}

impl Failing<'_> {
    fn remedy(&self) -> Remedy {
        let tried = [
            self.split(),
            self.wider_pipe(),
            self.booster(),
            self.regulated_heads(),
        ];
        let mut ways: Vec<Way> = tried.into_iter().flatten().collect();
        ways.sort_by(|a, b| a.price.total_cmp(&b.price));
        Remedy {
            station: self.station,
            ways,
        }
    }

    /// The flow of a group of heads on this pipe and supply, L/min, if none of them breaks a rule.
    fn mended_lpm(&self, plant: &Plant, work: &Pipework, group: &Group) -> Option<f64> {
        let solved = plant.solve(work, self.station, group).ok()?;
        (!solved.fails(TOLERANCE_KPA)).then_some(solved.solution.flow_lpm)
    }

    /// Its pipes, main first.
    fn pipes(&self) -> Vec<usize> {
        let mut pipes = self.work.main_path(self.station);
        pipes.extend(self.work.pipes_of(Section::Station(self.station)));
        pipes
    }

    /// The fewest stations that its heads work in, those of like pressure together.
    fn split(&self) -> Option<Way> {
        let mut heads = self.solved.solution.head_pressure_kpa.clone();
        heads.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        let heads: Vec<usize> = heads.into_iter().map(|(head, _)| head).collect();
        (2..=SPLIT_MOST.min(heads.len())).find_map(|stations| {
            let parts = heads.chunks(heads.len().div_ceil(stations));
            let flow_lpm =
                |part: &[usize]| self.mended_lpm(self.plant, self.work, &self.part(part.to_vec()));
            let flows_lpm: Vec<f64> = parts.map(flow_lpm).collect::<Option<_>>()?;
            Some(Way {
                price: STATION_PRICE * (flows_lpm.len() - 1) as f64,
                means: Means::Split(flows_lpm),
            })
        })
    }

    fn part(&self, heads: Vec<usize>) -> Group {
        let mut part = self.group.clone();
        let flows = heads.iter().map(|head| self.plant.needs[*head].flow_lpm);
        part.load.flow_lpm = flows.sum();
        part.load.heads = heads.len();
        part.heads = heads;
        part
    }

    /// The fewest sizes by which all its pipe must be wider.
    fn wider_pipe(&self) -> Option<Way> {
        let sizes = &self.plant.catalogue.pipes;
        let pipes = self.pipes();
        (1..sizes.len()).find_map(|wider| {
            let mut work = self.work.clone();
            let mut price = 0.0;
            for &pipe in &pipes {
                let pipe = &mut work.pipes[pipe];
                let before = &sizes[pipe.size];
                pipe.size = self.wider(pipe.size, wider);
                price += (sizes[pipe.size].price_per_m - before.price_per_m) * pipe.length_m;
            }
            self.mended_lpm(self.plant, &work, self.group)?;
            let means = Means::WiderPipe(wider);
            Some(Way { means, price })
        })
    }

    /// The size so many places wider in the same material; the widest where there are not so many.
    fn wider(&self, size: usize, places: usize) -> usize {
        let sizes = &self.plant.catalogue.pipes;
        let same = |other: &usize| sizes[*other].material == sizes[size].material;
        let after = (size + 1..sizes.len()).filter(same);
        after.take(places).last().unwrap_or(size)
    }

    /// The least booster that mends it and that its pipe bears.
    fn booster(&self) -> Option<Way> {
        let boosted_lpm = |steps: usize| {
            let supply = self.plant.supply.boosted(BOOST_STEP_KPA * steps as f64);
            let plant = Plant {
                supply: &supply,
                ..*self.plant
            };
            let flow_lpm = self.mended_lpm(&plant, self.work, self.group)?;
            // A pump may not draw the street's pressure down to nothing.
            let fed = self.plant.supply.delivered_kpa(flow_lpm) >= INLET_LEAST_KPA;
            fed.then_some(flow_lpm)
        };
        let borne = self.steps_borne();
        let doubled = std::iter::successors(Some(1), |steps| Some(2 * steps));
        let within = doubled.take_while(|steps| *steps <= borne);
        let (mut most, mut lpm) = within
            .chain([borne])
            .find_map(|steps| Some((steps, boosted_lpm(steps)?)))?;
        let mut least = most / 2;
        while most - least > 1 {
            let middle = (least + most) / 2;
            match boosted_lpm(middle) {
                Some(flow_lpm) => (most, lpm) = (middle, flow_lpm),
                None => least = middle,
            }
        }
        let kpa = BOOST_STEP_KPA * most as f64;
        let power_kw = kpa * m3s_from_lpm(lpm);
        Some(Way {
            means: Means::Booster { kpa, lpm },
            price: BOOSTER_PRICE.0 + BOOSTER_PRICE.1 * power_kw,
        })
    }

    /// Steps of boost that the station's pipe still bears when nothing runs.
    fn steps_borne(&self) -> usize {
        let rules = self.plant.rules;
        let room_kpa = self.pipes().into_iter().map(|pipe| {
            let pipe = &self.work.pipes[pipe];
            let rated_kpa = self.plant.catalogue.pipes[pipe.size].rating_kpa;
            let ends = [pipe.from, pipe.to].map(|node| self.work.nodes[node].invert_m);
            let rise_m = self.work.nodes[0].invert_m - ends[0].min(ends[1]);
            let static_kpa = self.plant.supply.static_kpa() + kpa_from_head_m(rise_m);
            rated_kpa * (1.0 - rules.rating_reserve) - static_kpa
        });
        let room_kpa = room_kpa.fold(f64::INFINITY, f64::min).max(0.0);
        ((room_kpa / BOOST_STEP_KPA) as usize).min(BOOST_STEPS_MOST)
    }

    /// Heads that get more than the least head and the spread allowed, each held down to that.
    fn regulated_heads(&self) -> Option<Way> {
        if self.solved.short_kpa > TOLERANCE_KPA {
            return None;
        }
        let (heads, catalogue) = (self.plant.heads, self.plant.catalogue);
        let pressures = &self.solved.solution.head_pressure_kpa;
        let models = || {
            pressures
                .iter()
                .map(|(head, _)| &catalogue.heads[heads[*head].model])
        };
        let least_kpa = pressures.iter().map(|p| p.1).fold(f64::INFINITY, f64::min);
        let ref_kpa = models()
            .map(|m| m.pressure_ref_kpa)
            .fold(f64::INFINITY, f64::min);
        let max_kpa = models()
            .map(|m| m.pressure_max_kpa)
            .fold(f64::INFINITY, f64::min);
        let even_kpa = least_kpa + self.plant.rules.station_pressure_spread * ref_kpa;
        let set_kpa = even_kpa.min(max_kpa);
        let count = pressures.iter().filter(|p| p.1 > set_kpa).count();
        Some(Way {
            means: Means::RegulatedHeads(count, set_kpa.floor()),
            price: REGULATOR_PRICE * count as f64,
        })
    }
}
