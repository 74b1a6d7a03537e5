//! Runs of pipe that get one size, read off works that lie.

use super::compact::Lying;
use crate::design::model::{NodeKind, Pipe, Section};
use crate::design::pipework::Run;

impl Lying {
    /// The runs of main and stations: from one branching, head, valve, or change of size or age to the next. Parents stand
    /// before their children; pipe that closes a ring or is joined to nothing is in none.
    pub fn runs(&self, asked: impl Fn(usize) -> bool) -> Vec<Run> {
        let work = &self.works.pipework;
        let mut leaving = vec![Vec::new(); work.nodes.len()];
        for (i, pipe) in work.pipes.iter().enumerate() {
            leaving[pipe.from].push(i);
        }
        let valves = work.valve_nodes.iter().enumerate();
        let asked = valves.filter(|(station, _)| asked(*station));
        let behind = asked.map(|(station, valve)| (Section::Station(station), *valve));
        let source = (!work.nodes.is_empty()).then_some((Section::Main, 0));
        let mut runs = Vec::new();
        for (section, start) in source.into_iter().chain(behind) {
            let mut seen = vec![false; work.nodes.len()];
            seen[start] = true;
            let own = |node: usize| {
                let pipes = leaving[node].iter().copied();
                pipes.filter(|pipe| work.pipes[*pipe].section == section)
            };
            let mut open: Vec<(usize, Option<usize>)> =
                own(start).map(|pipe| (pipe, None)).collect();
            open.reverse();
            while let Some((pipe, parent)) = open.pop() {
                let to = work.pipes[pipe].to;
                if std::mem::replace(&mut seen[to], true) {
                    continue;
                }
                let run = match parent {
                    Some(run)
                        if self.goes_on(&runs, run, pipe, own(work.pipes[pipe].from).count()) =>
                    {
                        run
                    }
                    _ => {
                        runs.push(Run {
                            section,
                            parent,
                            pipes: Vec::new(),
                            to,
                        });
                        runs.len() - 1
                    }
                };
                let on: &mut Run = &mut runs[run];
                on.pipes.push(pipe);
                on.to = to;
                let next: Vec<_> = own(to).map(|pipe| (pipe, Some(run))).collect();
                open.extend(next.into_iter().rev());
            }
        }
        runs
    }

    /// Whether a pipe only carries a run on.
    fn goes_on(&self, runs: &[Run], run: usize, pipe: usize, leaving: usize) -> bool {
        let work = &self.works.pipework;
        let Some(&last) = runs[run].pipes.last() else {
            return false;
        };
        let age = |pipe: usize| self.origin.pipes[pipe].is_some();
        let size = |pipe: usize| work.pipes[pipe].size;
        let here = |pipe: &Pipe| &work.nodes[pipe.from];
        let node = here(&work.pipes[pipe]);
        leaving == 1
            && node.head.is_none()
            && node.kind != NodeKind::Valve
            && age(last) == age(pipe)
            && (size(last) == size(pipe) || !age(pipe))
    }
}
