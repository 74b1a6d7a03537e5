//! Long sections: ground, pipe and hydraulic grade along the mains and along the laterals of each station.
//!
//! What is drawn once is not drawn again: a branch begins where it leaves what is drawn already.

mod choice;
mod crossings;
mod drawing;
mod run;

use super::{number, svg};
use crate::deliver::job::Job;
use crossings::Lines;
use minijinja::{Value, context};
use run::Run;

/// All sections: the mains first, then station by station.
pub(super) fn all(job: &Job) -> Value {
    let lines = Lines::of(job);
    let mains = choice::mains(job);
    let drawn = |run: &Run| shown(job, run, &lines);
    let stations: Vec<Value> = (0..job.design.stations.len())
        .map(|station| {
            let runs = choice::laterals(job, station);
            let runs: Vec<Value> = runs.iter().map(drawn).collect();
            context! { number => job.design.station_number(station), runs }
        })
        .collect();
    context! {
        mains => mains.runs.iter().map(drawn).collect::<Vec<_>>(),
        left_out => mains.left_out,
        stations,
    }
}

fn shown(job: &Job, run: &Run, lines: &Lines) -> Value {
    let crossed = lines.crossed_by(job, run);
    context! {
        title => run.title,
        drawing => svg(drawing::drawn(job, run, &crossed)),
        stops => stops(job, run),
        crossed => crossed.iter().map(|c| format!("{} m: {}", number(c.at_m, 1), c.text)).collect::<Vec<_>>().join("; "),
    }
}

/// The table under a section: at each node where it is, ground, invert, cover, and the pipe that leads on.
fn stops(job: &Job, run: &Run) -> Vec<Vec<String>> {
    let nodes = &job.design.nodes;
    let row = |(index, &(at_m, node)): (usize, &(f64, usize))| {
        let node_at = &nodes[node];
        let size = run
            .pipes
            .get(index)
            .and_then(|&p| job.pipe_size(&job.design.pipes[p]));
        vec![
            number(at_m, 1),
            run::what_stands(job, run, node),
            number(node_at.ground_m, 2),
            number(node_at.invert_m, 2),
            number(node_at.ground_m - node_at.invert_m, 2),
            size.map_or("–".into(), |s| s.nominal.clone()),
        ]
    };
    run.stops.iter().enumerate().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;

    #[test]
    fn shared_stretches_are_drawn_once_and_every_station_has_its_longest_run() {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let job = Job::new(&parcel, &design, &project);
        let mains = choice::mains(&job);
        let mut pipes: Vec<usize> = mains.runs.iter().flat_map(|r| r.pipes.clone()).collect();
        let count = pipes.len();
        pipes.sort_unstable();
        pipes.dedup();
        assert_eq!(pipes.len(), count, "a pipe is drawn twice");
        assert_eq!(pipes[..], [0, 2], "the stub of half a metre is left out");
        assert_eq!(mains.left_out, "1");
        let runs = choice::laterals(&job, 1);
        assert_eq!(runs[0].stops.len(), 7, "valve, then six heads");
        let table = stops(&job, &runs[0]);
        assert_eq!(table[0][4], "0.35", "cover of the example's laterals");
        assert_eq!(table.len(), 7);
    }
}
