//! The file of the example's stations, read as text.

use super::*;
use crate::deliver::example;
use std::collections::BTreeSet;

/// The lines of a section, comments and blanks left out.
fn section<'a>(text: &'a str, name: &str) -> Vec<Vec<&'a str>> {
    let heading = format!("[{name}]");
    let lines = text.lines().skip_while(|line| *line != heading).skip(1);
    lines
        .take_while(|line| !line.starts_with('['))
        .map(|line| line.split(';').next().unwrap_or(""))
        .map(|line| line.split_whitespace().collect::<Vec<_>>())
        .filter(|words| !words.is_empty())
        .collect()
}

fn example_text(exponents: &[f64]) -> String {
    let (parcel, mut design, mut project) =
        (example::parcel(), example::design(), example::project());
    let first = project.catalogue.heads[0].clone();
    let models = exponents
        .iter()
        .map(|&flow_exponent| crate::brief::HeadModel {
            flow_exponent,
            ..first.clone()
        });
    project.catalogue.heads = models.collect();
    for (index, head) in design.heads.iter_mut().enumerate() {
        head.model = index % exponents.len();
    }
    let job = Job::new(&parcel, &design, &project);
    text(&job, 0).unwrap()
}

#[test]
fn every_link_joins_nodes_that_are_there_and_no_id_comes_twice() {
    for exponents in [&[0.5][..], &[0.5, 0.55]] {
        let text = example_text(exponents);
        let mut nodes = BTreeSet::new();
        for name in ["JUNCTIONS", "RESERVOIRS"] {
            for line in section(&text, name) {
                assert!(nodes.insert(line[0].to_owned()), "{} twice", line[0]);
            }
        }
        let mut links = BTreeSet::new();
        for name in ["PIPES", "PUMPS", "VALVES"] {
            for line in section(&text, name) {
                assert!(links.insert(line[0].to_owned()), "{} twice", line[0]);
                assert!(
                    nodes.contains(line[1]) && nodes.contains(line[2]),
                    "{line:?}"
                );
            }
        }
        assert!(links.contains("meter") && links.contains("backflow"));
        let placed: BTreeSet<_> = section(&text, "COORDINATES")
            .iter()
            .map(|line| line[0].to_owned())
            .collect();
        assert_eq!(placed, nodes);
        assert!(text.lines().all(|line| line.len() < 255));
    }
}

#[test]
fn heads_of_one_exponent_are_emitters_and_of_another_a_law_that_is_told() {
    let alike = example_text(&[0.55]);
    assert_eq!(section(&alike, "EMITTERS").len(), 5);
    assert!(alike.contains("\nEMITTER EXPONENT 0.55\n"));
    assert!(!alike.contains("APPROXIMATED") && !alike.contains("GPV"));
    let mixed = example_text(&[0.5, 0.55]);
    assert_eq!(section(&mixed, "EMITTERS").len(), 3);
    assert!(mixed.contains("\nEMITTER EXPONENT 0.5\n"));
    assert!(mixed.contains("APPROXIMATED") && mixed.contains("2 of 5 heads"));
    let laws: Vec<_> = section(&mixed, "VALVES")
        .into_iter()
        .filter(|line| line[4] == "GPV")
        .collect();
    assert_eq!(laws.len(), 2);
}

#[test]
fn the_comments_tell_units_and_the_title_what_it_is_of() {
    let text = example_text(&[0.5]);
    let title = format!(
        "[TITLE]\nstation-01, parcel P-1, swardline {}\n",
        env!("CARGO_PKG_VERSION")
    );
    assert!(text.starts_with(&title), "{text}");
    assert!(text.contains(";Units: flow L/min"));
    assert!(text.contains("longitude, latitude"));
}

#[test]
fn mains_that_lead_elsewhere_are_left_out() {
    let mains = |station: usize| {
        let (parcel, design, project) = (example::parcel(), example::design(), example::project());
        let text = text(&Job::new(&parcel, &design, &project), station).unwrap();
        let pipes = section(&text, "PIPES").into_iter();
        let names = pipes.map(|line| line[0].to_owned());
        names
            .filter(|name| name.starts_with("main-"))
            .collect::<Vec<_>>()
    };
    assert_eq!(mains(0), ["main-001", "main-002"]);
    assert_eq!(mains(1), ["main-001", "main-003"]);
}
