//! Where a run crosses other pipe that lies in another trench.

use super::run::Run;
use crate::deliver::job::Job;
use crate::design::model::{Pipe, Section};
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{BoundingRect, Euclidean, Intersects, Length, Line, Rect};

/// All pipe with its bounds.
pub(super) struct Lines(Vec<Option<Rect<f64>>>);

/// Another pipe in the way of a run.
pub(super) struct Crossed {
    /// Distance along the run, m.
    pub(super) at_m: f64,
    /// Invert of the other pipe there, m.
    pub(super) invert_m: f64,
    /// What it is.
    pub(super) text: String,
}

impl Lines {
    /// Bounds of every pipe.
    pub(super) fn of(job: &Job) -> Self {
        let pipes = job.design.pipes.iter();
        Self(pipes.map(|pipe| pipe.line.bounding_rect()).collect())
    }

    /// What a run crosses, by distance; pipes in one trench do not cross, and meeting at a joint is no crossing.
    pub(super) fn crossed_by(&self, job: &Job, run: &Run) -> Vec<Crossed> {
        let pipes = &job.design.pipes;
        let mut crossed = Vec::new();
        for (&index, &(start_m, node)) in run.pipes.iter().zip(&run.stops) {
            let own = &pipes[index];
            let Some(extent) = self.0[index] else {
                continue;
            };
            for (other_index, other) in pipes.iter().enumerate() {
                let near = self.0[other_index].is_some_and(|other| other.intersects(&extent));
                let apart = !other.trenches.iter().any(|t| own.trenches.contains(t));
                if !near || !apart || other_index == index {
                    continue;
                }
                for (along_m, along_other_m) in places(own, other) {
                    let whole_m = Euclidean.length(&own.line);
                    let along_m = match node == own.from {
                        true => along_m,
                        false => whole_m - along_m,
                    };
                    crossed.push(Crossed {
                        at_m: start_m + along_m,
                        invert_m: invert_m(job, other, along_other_m),
                        text: name(job, other),
                    });
                }
            }
        }
        crossed.sort_by(|a, b| a.at_m.total_cmp(&b.at_m));
        crossed
    }
}

/// Distances along both pipes where one truly crosses the other.
fn places(own: &Pipe, other: &Pipe) -> Vec<(f64, f64)> {
    let mut places = Vec::new();
    let mut own_m = 0.0;
    for a in own.line.lines() {
        let mut other_m = 0.0;
        for b in other.line.lines() {
            if let Some(LineIntersection::SinglePoint {
                intersection,
                is_proper: true,
            }) = line_intersection(a, b)
            {
                let to_there =
                    |line: Line<f64>| Euclidean.length(&Line::new(line.start, intersection));
                places.push((own_m + to_there(a), other_m + to_there(b)));
            }
            other_m += Euclidean.length(&b);
        }
        own_m += Euclidean.length(&a);
    }
    places
}

fn invert_m(job: &Job, pipe: &Pipe, along_m: f64) -> f64 {
    let nodes = &job.design.nodes;
    let (from, to) = (nodes[pipe.from].invert_m, nodes[pipe.to].invert_m);
    from + (to - from) * along_m / Euclidean.length(&pipe.line).max(1e-9)
}

fn name(job: &Job, pipe: &Pipe) -> String {
    let size = job
        .pipe_size(pipe)
        .map_or("–", |size| size.nominal.as_str());
    match pipe.section {
        Section::Main => format!("main {size}"),
        Section::Station(station) => format!(
            "lateral {size} of station {}",
            job.design.station_number(station)
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::deliver::example;
    use geo::{LineString, coord};

    #[test]
    fn a_pipe_across_another_is_told_with_its_height_and_a_joint_is_not() {
        let (parcel, mut design, project) =
            (example::parcel(), example::design(), example::project());
        let run_of = |design: &crate::design::model::Design| {
            let job = Job::new(&parcel, design, &project);
            let run = Run::of_main(&job, 1, &job.way_to(3), 0);
            Lines::of(&job).crossed_by(&job, &run)
        };
        assert!(run_of(&design).is_empty());
        // Across the second main, which runs north from (-2.5, 0) to (-2.5, 10).
        let across = design
            .pipes
            .iter()
            .position(|p| p.section == Section::Station(0))
            .unwrap();
        design.pipes[across].line =
            LineString::new(vec![coord! { x: -5.0, y: 4.0 }, coord! { x: 0.0, y: 4.0 }]);
        let crossed = run_of(&design);
        assert_eq!(crossed.len(), 1);
        assert_eq!(crossed[0].text, "lateral 63 of station 1");
        assert!((crossed[0].at_m - (7.5f64.hypot(5.0) + 4.0)).abs() < 1e-9);
        let pipe = &design.pipes[across];
        let mean_m = (design.nodes[pipe.from].invert_m + design.nodes[pipe.to].invert_m) / 2.0;
        assert!((crossed[0].invert_m - mean_m).abs() < 1e-9);
    }
}
