//! Faults planted in surveys of sound systems: each must be found at its place, and nothing else.

pub(crate) mod dice;
mod heads;
mod pipes;
mod plant;
mod score;

use crate::random_ground::{self, small_shapes};
use crate::survey::survey;
use dice::Dice;
use plant::{Kind, Site, plant};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use score::Table;
use swardline::design::audit::audit;

/// Kinds of faults planted in one design.
const A_DESIGN: usize = 4;

/// Designs so many grounds, plants faults in each, and scores the audits.
fn run(designs: usize) -> Table {
    let mut runner = TestRunner::deterministic();
    let shapes = small_shapes();
    let mut table = Table::default();
    let mut number = 0;
    while number < designs {
        let shape = shapes.new_tree(&mut runner).unwrap().current();
        let (mut parcel, project) = random_ground::parcel(&shape);
        let design = swardline::design::design(&parcel, &project);
        if design.stations.is_empty() {
            continue;
        }
        // Every other survey names its nodes; in the others only what lies together is joined.
        let named = number % 2 == 0;
        parcel.existing = survey(&design, &project, named);
        let clean = audit(&parcel, &project).unwrap().design.findings;
        let mut dice = Dice::new(number as u64);
        let mut site = Site {
            design: &design,
            project: &project,
            parcel: &parcel,
            existing: parcel.existing.clone(),
            planted: Vec::new(),
        };
        for turn in 0..Kind::ALL.len() {
            if site.planted.len() == A_DESIGN {
                break;
            }
            plant(
                &mut site,
                Kind::ALL[(number + turn) % Kind::ALL.len()],
                &mut dice,
            );
        }
        let (existing, planted) = (site.existing, site.planted);
        parcel.existing = existing;
        let found = audit(&parcel, &project).unwrap().design.findings;
        table.count(number, &planted, &clean, &found);
        number += 1;
    }
    table
}

#[test]
fn planted_faults_are_found_and_nothing_else() {
    let table = run(8);
    println!("{table}");
    assert!(table.all().recall() >= 0.85, "{table}");
    assert!(table.all().precision() >= 0.85, "{table}");
}

/// The figures of docs/methods/audit.md: `make faults`.
#[test]
#[ignore = "a hundred designs: make faults"]
fn planted_faults_in_a_hundred_designs() {
    let table = run(100);
    println!("{table}");
    assert!(table.all().recall() >= 0.95, "{table}");
    assert!(table.all().precision() >= 0.95, "{table}");
}
