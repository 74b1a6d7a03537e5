//! Pipe in metres and in whole coils: the network is cut into the lengths that a crew lays in one piece, these out of coils.

use super::Job;
use super::fittings::{self, Fitting};
use super::joints::COIL_LEAST_M;
use super::joints::{Elbows, Joint, inner_turns};
use super::ledger::{Group, Ledger, Line};
use crate::brief::PipeSize;
use crate::design::model::{Pipe, Section};
use std::collections::BTreeMap;

/// Lengths nearer than this are equal, m.
const HAIR_M: f64 = 1e-6;

/// What cutting the runs of one size out of coils takes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Cutting {
    /// Coils bought.
    pub coils: usize,
    /// Length bought and not laid, m.
    pub waste_m: f64,
    /// Couplings where a run is longer than a coil.
    pub couplings: usize,
}

/// Counts metres, waste, coils and couplings of every size.
pub fn count(job: &Job, joints: &BTreeMap<(usize, Section), Joint>, ledger: &mut Ledger) {
    for (size, runs) in runs(&job.design.pipes, joints, &job.catalogue.pipes) {
        count_size(job, size, &runs, ledger);
    }
}

fn count_size(job: &Job, size: usize, runs: &[f64], ledger: &mut Ledger) {
    let (material, nominal) = fittings::named(job, size);
    let pipe = job.catalogue.pipes.get(size);
    let price = pipe
        .filter(|_| job.prices.use_catalogue)
        .map(|pipe| pipe.price_per_m);
    let line = |order: usize, item: String, unit: &'static str| {
        Line::new(Group::Pipe, [order, size, 0], item, unit).sized(nominal.clone())
    };
    ledger.add(
        line(0, format!("{material} pipe"), "m"),
        runs.iter().sum(),
        price,
    );
    let Some(coil_m) = pipe
        .map(|pipe| pipe.coil_m)
        .filter(|m| m.is_finite() && *m > HAIR_M)
    else {
        return;
    };
    let cutting = cut(runs, coil_m);
    let sold = if coil_m >= COIL_LEAST_M {
        "coils"
    } else {
        "bars"
    };
    ledger.add(
        line(1, format!("{material} pipe, waste of cutting"), "m"),
        cutting.waste_m,
        price,
    );
    let coils = line(
        2,
        format!("{material} pipe, {sold} of {coil_m} m (in the price by the metre)"),
        "each",
    );
    ledger.add(coils, cutting.coils as f64, None);
    fittings::add(job, Fitting::Coupling, size, cutting.couplings, ledger);
}

/// Cuts runs out of coils of `coil_m` (above 0): whole coils for what is longer, the rest first-fit decreasing.
///
/// First-fit decreasing needs at most 11/9 of the fewest coils and 6/9 more (Dósa 2007, from memory).
pub fn cut(runs: &[f64], coil_m: f64) -> Cutting {
    let mut cutting = Cutting::default();
    let mut rests: Vec<f64> = Vec::new();
    for run in runs.iter().filter(|run| run.is_finite() && **run > HAIR_M) {
        let whole = ((run + HAIR_M) / coil_m).floor();
        let rest = run - whole * coil_m;
        let pieces = whole as usize + usize::from(rest > HAIR_M);
        cutting.coils += whole as usize;
        cutting.couplings += pieces - 1;
        if rest > HAIR_M {
            rests.push(rest);
        }
    }
    rests.sort_by(|a, b| b.total_cmp(a));
    let mut left: Vec<f64> = Vec::new();
    for rest in rests {
        match left.iter_mut().find(|left| **left + HAIR_M >= rest) {
            Some(coil) => *coil -= rest,
            None => left.push(coil_m - rest),
        }
    }
    cutting.coils += left.len();
    cutting.waste_m = left.iter().map(|left| left.max(0.0)).sum();
    cutting
}

/// Lengths laid in one piece, m, by size: pipes are cut at elbows and joined where they run through a node uncut.
pub fn runs(
    pipes: &[Pipe],
    joints: &BTreeMap<(usize, Section), Joint>,
    sizes: &[PipeSize],
) -> BTreeMap<usize, Vec<f64>> {
    let pieces: Vec<Vec<f64>> = pipes.iter().map(|pipe| pieces(pipe, sizes)).collect();
    let first: Vec<usize> = pieces
        .iter()
        .scan(0, |next, of_pipe| {
            *next += of_pipe.len();
            Some(*next - of_pipe.len())
        })
        .collect();
    let mut root: Vec<usize> = (0..pieces.iter().map(Vec::len).sum()).collect();
    for joint in joints.values().filter(|joint| joint.is_uncut(sizes)) {
        let ends = joint.arms.iter().map(|arm| {
            let last = pieces[arm.pipe].len() - 1;
            first[arm.pipe] + if arm.starts { 0 } else { last }
        });
        let ends: Vec<usize> = ends.map(|piece| root_of(&root, piece)).collect();
        root[ends[0].max(ends[1])] = ends[0].min(ends[1]);
    }
    gather(pipes, &pieces, &first, &root)
}

fn gather(
    pipes: &[Pipe],
    pieces: &[Vec<f64>],
    first: &[usize],
    root: &[usize],
) -> BTreeMap<usize, Vec<f64>> {
    let mut lengths: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for (pipe, of_pipe) in pieces.iter().enumerate() {
        for (index, length_m) in of_pipe.iter().enumerate() {
            let run = root_of(root, first[pipe] + index);
            *lengths.entry((pipes[pipe].size, run)).or_default() += length_m;
        }
    }
    let mut by_size: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for ((size, _), length_m) in lengths {
        by_size.entry(size).or_default().push(length_m);
    }
    by_size
}

fn root_of(root: &[usize], mut piece: usize) -> usize {
    while root[piece] != piece {
        piece = root[piece];
    }
    piece
}

/// A pipe's lengths between the elbows at its own bends; at least one.
fn pieces(pipe: &Pipe, sizes: &[PipeSize]) -> Vec<f64> {
    let mut lengths = Vec::new();
    let mut before = 0.0;
    for (share, turn_deg) in inner_turns(&pipe.line) {
        if Elbows::of(turn_deg, sizes.get(pipe.size)) != Elbows::default() {
            lengths.push((share - before) * pipe.length_m);
            before = share;
        }
    }
    lengths.push((1.0 - before) * pipe.length_m);
    lengths
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn two_and_two_fill_coils_that_one_by_one_would_not() {
        // first fit in the order given: 4 coils of 10; decreasing: 6+4, 6+4, 5
        let cutting = cut(&[4.0, 4.0, 5.0, 6.0, 6.0], 10.0);
        assert_eq!((cutting.coils, cutting.couplings), (3, 0));
        assert!((cutting.waste_m - 5.0).abs() < 1e-9);
    }

    #[test]
    fn long_runs_take_whole_coils_and_couplings() {
        let cutting = cut(&[250.0, 200.0], 100.0);
        assert_eq!((cutting.coils, cutting.couplings), (5, 3));
        assert!((cutting.waste_m - 50.0).abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn bought_is_laid_and_waste(runs in proptest::collection::vec(0.1..260.0_f64, 0..40)) {
            let cutting = cut(&runs, 100.0);
            let laid: f64 = runs.iter().sum();
            prop_assert!((cutting.coils as f64 * 100.0 - laid - cutting.waste_m).abs() < 1e-3);
            prop_assert!(cutting.coils as f64 <= (laid / 100.0).ceil() * 2.0);
        }
    }
}
