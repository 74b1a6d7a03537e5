//! A design fed back as an existing system is rebuilt to the same network and judged no worse.

use crate::builder::Bench;
use crate::random_ground::{self, Shape, shapes};
use crate::survey::survey;
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;
use std::collections::BTreeMap;
use swardline::brief::Project;
use swardline::design::audit::{Audited, audit};
use swardline::design::model::{Design, Section};
use swardline::site::Parcel;

/// What an audit may say of a sound design: where turf runs out in curves and points, an arc may throw beside it.
const OF_HEADS: [&str; 4] = [
    "arc_wrong",
    "throws_on_paving",
    "head_misplaced",
    "radius_wrong",
];
/// Of so many heads one may be told of, beside the first.
const HEADS_A_FINDING: usize = 15;

/// A place to the millimetre.
type Place = (i64, i64);

fn place(at: geo::Coord<f64>) -> Place {
    (
        (1000.0 * at.x).round() as i64,
        (1000.0 * at.y).round() as i64,
    )
}

/// Counts of what stands where: nodes by section, pipes by ends, section and size, valves, drains, heads by station.
fn network(design: &Design, project: &Project) -> BTreeMap<String, usize> {
    let mut counts = BTreeMap::new();
    let mut count = |what: String| *counts.entry(what).or_insert(0) += 1;
    let at = |node: usize| place(design.nodes[node].position);
    let section = |section: Section| match section {
        Section::Main => "main".to_owned(),
        Section::Station(station) => format!("{station}"),
    };
    for node in &design.nodes {
        let kind = node.kind.word();
        count(format!(
            "node {:?} {} {kind}",
            place(node.position),
            section(node.section)
        ));
    }
    for pipe in &design.pipes {
        let size = &project.catalogue.pipes[pipe.size].nominal;
        count(format!(
            "pipe {:?} {:?} {} {size}",
            at(pipe.from),
            at(pipe.to),
            section(pipe.section)
        ));
    }
    for valve in &design.valves {
        let kind = valve.kind.word();
        count(format!(
            "{kind} {:?} {:?} {}",
            at(valve.node),
            valve.station,
            valve.size
        ));
    }
    for drain in &design.drains {
        let kind = drain.kind.word();
        count(format!(
            "{kind} drain {:?} {}",
            at(drain.node),
            section(drain.section)
        ));
    }
    for &node in &design.air_valves {
        count(format!("air {:?}", at(node)));
    }
    for (head, station) in design.heads.iter().zip(&design.station_of) {
        count(format!("head {:?} {station:?}", place(head.position)));
    }
    counts
}

/// Entries of two networks that are not in both.
fn differing(a: &BTreeMap<String, usize>, b: &BTreeMap<String, usize>) -> Vec<String> {
    let only = |sign: char, of: &BTreeMap<String, usize>, other: &BTreeMap<String, usize>| {
        let lacks = |(what, count): (&String, &usize)| {
            (other.get(what) != Some(count)).then(|| format!("{sign} {count} {what}"))
        };
        of.iter().filter_map(lacks).collect::<Vec<_>>()
    };
    [only('-', a, b), only('+', b, a)].concat()
}

/// Greatest difference of pressures at heads and nodes, kPa.
fn pressures_off_kpa(design: &Design, again: &Design) -> f64 {
    let heads = design.working.iter().zip(&again.working);
    let heads = heads.map(|(a, b)| (a.pressure_kpa - b.pressure_kpa).abs());
    let of_nodes = |design: &Design| {
        let mut all: Vec<(Place, Section, f64, f64)> = design
            .nodes
            .iter()
            .map(|node| {
                let kpa = |kpa: Option<f64>| kpa.unwrap_or(-1.0);
                (
                    place(node.position),
                    node.section,
                    kpa(node.pressure_kpa),
                    kpa(node.static_kpa),
                )
            })
            .collect();
        all.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2)));
        all
    };
    let (a, b) = (of_nodes(design), of_nodes(again));
    let nodes = a.iter().zip(&b);
    let nodes = nodes.map(|(a, b)| (a.2 - b.2).abs().max((a.3 - b.3).abs()));
    heads.chain(nodes).fold(0.0, f64::max)
}

/// Codes of findings and how many of each.
fn codes(design: &Design) -> BTreeMap<&'static str, usize> {
    let mut codes = BTreeMap::new();
    for finding in &design.findings {
        *codes.entry(finding.code).or_insert(0) += 1;
    }
    codes
}

/// A parcel designed and then audited by its own survey.
fn round(shape: &Shape, named: bool) -> (Parcel, Project, Design, Audited) {
    let (mut parcel, project) = random_ground::parcel(shape);
    let design = swardline::design::design(&parcel, &project);
    parcel.existing = survey(&design, &project, named);
    let audited = audit(&parcel, &project).unwrap();
    (parcel, project, design, audited)
}

fn assert_same(shape: &Shape, named: bool) {
    let (_, project, design, audited) = round(shape, named);
    if !design.heads.is_empty() {
        assert_is_again(&design, &project, &audited, &format!("{shape:?}"));
    }
}

/// The audit of a design's own survey: the same network, the same pressures, nothing new to say of the network.
fn assert_is_again(design: &Design, project: &Project, audited: &Audited, what: &str) {
    let again = &audited.design;
    let off = differing(&network(design, project), &network(again, &audited.project));
    assert_eq!(off, Vec::<String>::new(), "{what}");
    let off_kpa = pressures_off_kpa(design, again);
    assert!(off_kpa < 1e-4, "{off_kpa} kPa: {what}");
    let before = codes(design);
    let worse: Vec<_> = again
        .findings
        .iter()
        .filter(|finding| !before.contains_key(finding.code))
        .collect();
    let most = 1 + design.heads.len() / HEADS_A_FINDING;
    assert!(worse.len() <= most, "{worse:#?} {what}");
    let network = worse.iter().all(|finding| OF_HEADS.contains(&finding.code));
    assert!(network, "{worse:#?} {what}");
}

#[test]
fn a_plain_design_comes_back() {
    assert_same(&Shape::plain(), true);
    assert_same(&Shape::plain(), false);
}

/// Not kept yet: on some random ground the audit tells more heads of a sound design than it should.
#[test]
#[ignore = "known weakness of the audit: too many heads of some sound designs are told; see docs/methods/audit.md"]
fn designs_on_random_ground_come_back() {
    let mut runner = TestRunner::deterministic();
    for number in 0..8 {
        let shape = shapes().new_tree(&mut runner).unwrap().current();
        assert_same(&shape, number % 2 == 0);
    }
}

#[test]
fn a_design_comes_back_through_files() {
    let bench = Bench::default();
    let (folder, project) = bench.project();
    let parcel = swardline::site::open(&project)
        .unwrap()
        .parcel("p1")
        .unwrap();
    let design = swardline::design::design(&parcel, &project);
    swardline::deliver::write_parcel(&parcel, &design, &project, folder.path()).unwrap();
    let layers = |names: &[&str]| {
        let file = |name: &&str| format!("'{}/layers/{name}.geojson'", folder.path().display());
        names.iter().map(file).collect::<Vec<_>>().join(", ")
    };
    let fed_back = Bench {
        more: format!(
            "existing_heads = [{}]\nexisting_pipes = [{}]\nexisting_valves = [{}]\n",
            layers(&["heads"]),
            layers(&["mains", "laterals"]),
            layers(&["valves", "drains", "air_valves"])
        ),
        ..Bench::default()
    };
    let (_again, project) = fed_back.project();
    let parcel = swardline::site::open(&project)
        .unwrap()
        .parcel("p1")
        .unwrap();
    assert_eq!(parcel.existing.heads.len(), design.heads.len());
    let audited = audit(&parcel, &project).unwrap();
    // Layers hold places to 8 decimals of a degree: half a millimetre.
    let again = &audited.design;
    assert_eq!(
        (
            again.nodes.len(),
            again.pipes.len(),
            again.drains.len(),
            again.valves.len()
        ),
        (
            design.nodes.len(),
            design.pipes.len(),
            design.drains.len(),
            design.valves.len()
        )
    );
    assert_eq!(again.station_of, design.station_of);
    for (a, b) in design.working.iter().zip(&again.working) {
        assert!(
            (a.pressure_kpa - b.pressure_kpa).abs() < 1e-4,
            "{a:?} {b:?}"
        );
    }
    let ids = again.survey_ids.as_ref().unwrap();
    assert_eq!(ids.heads[0], "head-0001");
    assert_eq!(ids.pipes[0], "main-001");
}
