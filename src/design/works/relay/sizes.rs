//! Sizes: new pipe as narrow as will do; pipe that lies is replaced only where its station cannot be served otherwise.

use super::Fixed;
use super::compact::Lying;
use super::serve::{Judged, Service};
use crate::design::model::{Pipe, Section};
use crate::design::pipework::{Pipework, Run};
use crate::design::settle::sizes::{FrontCache, choose};

/// Faults that differ by less are equal, kPa.
const EQUAL_FAULT: f64 = 0.5;

/// Sets sizes; returns what each station does with them, `None` where it has no heads, no water or no solution.
pub(super) fn set(lying: &mut Lying, service: &Service, fixed: &Fixed) -> Vec<Option<Judged>> {
    let stations = service.groups.len();
    let fresh = |lying: &Lying, pipe: usize| lying.origin.pipes[pipe].is_none();
    let judge = |work: &Pipework, station: usize| {
        service.runs[station]
            .then(|| service.judge(work, station))
            .flatten()
    };
    let has_new = |lying: &Lying, station: usize| {
        let pipes = service.pipes(&lying.works.pipework, station);
        pipes.into_iter().any(|pipe| fresh(lying, pipe))
    };
    let mut judged: Vec<Option<Judged>> = Vec::new();
    let mut concerned = Vec::new();
    for station in 0..stations {
        let new = has_new(lying, station);
        let as_it_lies = if new {
            None
        } else {
            judge(&lying.works.pipework, station)
        };
        if service.runs[station] && as_it_lies.as_ref().is_none_or(|j| j.fault > 0.0) {
            concerned.push(station);
        }
        judged.push(as_it_lies);
    }
    if concerned.is_empty() {
        return judged;
    }
    let before: Vec<usize> = lying.works.pipework.pipes.iter().map(|p| p.size).collect();
    let wished = wished(lying, service);
    for (pipe, size) in wished
        .pipes
        .iter()
        .enumerate()
        .map(|(i, pipe)| (i, pipe.size))
    {
        if fresh(lying, pipe) {
            lying.works.pipework.pipes[pipe].size = size;
        }
    }
    for &station in &concerned {
        let mut one = Station {
            lying: &mut *lying,
            service,
            fixed,
            station,
            runs: &wished.runs,
        };
        judged[station] = one.sized(&wished);
    }
    let pipes = lying.works.pipework.pipes.iter().zip(&before).enumerate();
    let replaced = |(i, (pipe, was)): (usize, (&Pipe, &usize))| {
        lying.origin.pipes[i].is_some() && pipe.size != *was
    };
    // A wider main gives other stations more.
    if pipes.into_iter().any(replaced) {
        for (station, judged) in judged.iter_mut().enumerate() {
            *judged = judge(&lying.works.pipework, station);
        }
    }
    judged
}

/// The sizes that a design would choose for these works.
fn wished(lying: &Lying, service: &Service) -> Pipework {
    let mut work = lying.works.pipework.clone();
    work.runs = lying.runs(|station| service.runs[station]);
    let plant = service.plant();
    let mut cache = FrontCache::default();
    choose(&mut work, &service.groups, &plant, None, &mut cache);
    let solved: Option<Vec<_>> = (0..service.groups.len())
        .map(|station| {
            service.runs[station]
                .then(|| plant.solve(&work, station, &service.groups[station]).ok())
                .flatten()
        })
        .collect();
    if let Some(solved) = solved {
        // Once more with the flows that the solved pressures give.
        choose(
            &mut work,
            &service.groups,
            &plant,
            Some(&solved),
            &mut cache,
        );
    }
    work
}

/// One station whose pipe is sized.
pub(super) struct Station<'l, 's> {
    pub(super) lying: &'l mut Lying,
    pub(super) service: &'s Service<'s>,
    pub(super) fixed: &'s Fixed,
    station: usize,
    runs: &'s [Run],
}

impl Station<'_, '_> {
    pub(super) fn judge(&self) -> Option<Judged> {
        self.service.judge(&self.lying.works.pipework, self.station)
    }

    pub(super) fn fault(&self) -> f64 {
        self.judge().map_or(f64::INFINITY, |judged| judged.fault)
    }

    fn sized(&mut self, wished: &Pipework) -> Option<Judged> {
        let as_it_lies = self.fault();
        if as_it_lies > 0.0 {
            self.replace(wished, as_it_lies);
            self.widen_fast();
        }
        if self.fault() <= 0.0 {
            self.narrow();
        }
        self.judge()
    }

    /// Replaces what is narrower than a design would have it, then takes back what was needless, dearest first.
    fn replace(&mut self, wished: &Pipework, as_it_lies: f64) {
        let before: Vec<usize> = self.sizes();
        let mut replaced = self.replaceable(wished);
        for run in &replaced {
            for &pipe in &run.pipes {
                self.resize(pipe, wished.pipes[pipe].size);
            }
        }
        let all = self.fault();
        if all > as_it_lies - EQUAL_FAULT {
            self.restore(&before);
            return;
        }
        let price = |run: &Run| -> f64 {
            let pipes = run.pipes.iter().map(|pipe| &wished.pipes[*pipe]);
            let sizes = &self.service.ground.catalogue.pipes;
            pipes
                .map(|pipe| pipe.length_m * sizes[pipe.size].price_per_m)
                .sum()
        };
        let mut priced: Vec<(f64, Run)> =
            replaced.drain(..).map(|run| (price(&run), run)).collect();
        priced.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.pipes.cmp(&b.1.pipes)));
        let most = if all <= 0.0 { 0.0 } else { all + EQUAL_FAULT };
        for (_, run) in priced {
            for &pipe in &run.pipes {
                self.resize(pipe, before[pipe]);
            }
            if self.fault() > most {
                for &pipe in &run.pipes {
                    self.resize(pipe, wished.pipes[pipe].size);
                }
            }
        }
    }

    /// Runs of kept pipe of this station, main included, that a design would have wider or stronger and that may be dug up.
    fn replaceable(&self, wished: &Pipework) -> Vec<Run> {
        let work = &self.lying.works.pipework;
        let sizes = &self.service.ground.catalogue.pipes;
        let own = self.service.pipes(work, self.station);
        let may = |pipe: usize| {
            let old = self.lying.origin.pipes[pipe];
            let (is, wish) = (
                &sizes[work.pipes[pipe].size],
                &sizes[wished.pipes[pipe].size],
            );
            let wider = wish.inside_mm > is.inside_mm + 1e-9;
            let stronger = self.service.is_weak(work, pipe) && wish.rating_kpa > is.rating_kpa;
            own.contains(&pipe)
                && old.is_some_and(|old| !self.fixed.pipes.contains(&old))
                && (wider || stronger)
        };
        let runs = self.runs.iter().filter(|run| self.is_own(run));
        let part = |run: &Run| Run {
            pipes: run
                .pipes
                .iter()
                .copied()
                .filter(|pipe| may(*pipe))
                .collect(),
            ..run.clone()
        };
        runs.map(part).filter(|run| !run.pipes.is_empty()).collect()
    }

    fn is_own(&self, run: &Run) -> bool {
        run.section == Section::Main || run.section == Section::Station(self.station)
    }

    /// Narrows new laterals as far as the station bears it, dearest first.
    fn narrow(&mut self) {
        let sizes = &self.service.ground.catalogue.pipes;
        let mut order: Vec<usize> = (0..sizes.len()).collect();
        order.sort_by(|a, b| {
            sizes[*b]
                .inside_mm
                .total_cmp(&sizes[*a].inside_mm)
                .then(a.cmp(b))
        });
        let section = Section::Station(self.station);
        let mut runs: Vec<(f64, Vec<usize>)> = Vec::new();
        for run in self.runs.iter().filter(|run| run.section == section) {
            let new = |pipe: &&usize| self.lying.origin.pipes[**pipe].is_none();
            let pipes: Vec<usize> = run.pipes.iter().filter(new).copied().collect();
            let laid = pipes
                .iter()
                .map(|pipe| &self.lying.works.pipework.pipes[*pipe]);
            let price = laid
                .map(|pipe| pipe.length_m * sizes[pipe.size].price_per_m)
                .sum();
            if !pipes.is_empty() {
                runs.push((price, pipes));
            }
        }
        runs.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (_, pipes) in runs {
            while let Some(narrower) = self.narrower(&order, pipes[0]) {
                let was = self.sizes();
                pipes.iter().for_each(|pipe| self.resize(*pipe, narrower));
                if self.fault() > 0.0 {
                    self.restore(&was);
                    break;
                }
            }
        }
    }

    /// The next cheaper size under that of a pipe.
    fn narrower(&self, order: &[usize], pipe: usize) -> Option<usize> {
        let sizes = &self.service.ground.catalogue.pipes;
        let is = &sizes[self.lying.works.pipework.pipes[pipe].size];
        let mut narrower = order.iter().copied().filter(|size| {
            let size = &sizes[*size];
            size.inside_mm < is.inside_mm - 1e-9 && size.price_per_m < is.price_per_m
        });
        narrower.next()
    }

    pub(super) fn sizes(&self) -> Vec<usize> {
        self.lying
            .works
            .pipework
            .pipes
            .iter()
            .map(|pipe| pipe.size)
            .collect()
    }

    pub(super) fn restore(&mut self, sizes: &[usize]) {
        for (pipe, size) in sizes.iter().enumerate() {
            self.resize(pipe, *size);
        }
    }

    pub(super) fn resize(&mut self, pipe: usize, size: usize) {
        self.lying.works.pipework.pipes[pipe].size = size;
    }
}
