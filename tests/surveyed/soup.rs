//! Whatever is thrown together as a survey is audited to an end, and every feature of it is used or named.

use crate::random_ground::{self, Shape};
use geo::{Coord, LineString};
use proptest::prelude::*;
use swardline::design::audit::audit;
use swardline::site::Existing;
use swardline::site::existing::{
    ExistingHead, ExistingPipe, ExistingValve, ExistingValveKind, Surveyed,
};

/// Places that often coincide, nearly coincide, or lie off the ground.
fn places() -> impl Strategy<Value = Coord<f64>> {
    let grid = (-5..6_i32, -5..6_i32).prop_map(|(x, y)| (6.0 * f64::from(x), 6.0 * f64::from(y)));
    let near = (grid.clone(), -0.4..0.4, -0.4..0.4).prop_map(|((x, y), a, b)| (x + a, y + b));
    let odd = prop_oneof![
        Just((-36.0, -36.0)),
        Just((1e4, 0.0)),
        (-39.0..39.0, -39.0..39.0)
    ];
    prop_oneof![4 => grid, 2 => near, 1 => odd].prop_map(|(x, y)| Coord { x, y })
}

fn names(word: &'static str) -> impl Strategy<Value = Option<String>> {
    prop::option::of((0..4_i32).prop_map(move |number| format!("{word}{number}")))
}

fn from(word: &str) -> Surveyed {
    Surveyed {
        file: word.into(),
        id: String::new(),
    }
}

fn heads() -> impl Strategy<Value = ExistingHead> {
    (
        (places(), names("s"), names("n")),
        prop::option::of(prop_oneof![
            Just("rotor-10"),
            Just("spray-15"),
            Just("none such")
        ]),
        prop::option::of((0.0..360.0, 1.0..360.0)),
        (prop::option::of(0.3..60.0), prop::option::of(0.01..2000.0)),
        (prop::option::of(-500.0..9000.0), any::<bool>()),
    )
        .prop_map(
            |((position, station, node), model, arc_deg, flow, ground)| ExistingHead {
                from: from("heads"),
                position,
                station,
                node,
                model: model.map(str::to_owned),
                nozzle: None,
                arc_deg,
                radius_m: flow.0,
                flow_ref_lpm: flow.1,
                ground_m: ground.0,
                one_row: ground.1,
            },
        )
}

fn some(low: f64, high: f64) -> impl Strategy<Value = Option<f64>> {
    prop::option::of(low..high)
}

fn pipes() -> impl Strategy<Value = ExistingPipe> {
    (
        prop::collection::vec(places(), 2..5),
        (
            prop::option::of(any::<bool>()),
            names("s"),
            names("n"),
            names("n"),
        ),
        (some(3.0, 2000.0), some(40.0, 170.0), some(50.0, 10_000.0)),
        (some(0.0, 20_000.0), some(0.0, 1000.0)),
        (some(180.0, 220.0), some(180.0, 220.0)),
    )
        .prop_map(
            |(line, (is_main, station, a, b), size, length, invert_m)| ExistingPipe {
                from: from("pipes"),
                line: LineString::new(line),
                is_main,
                station,
                nodes: (a, b),
                material: None,
                nominal: None,
                inside_mm: size.0,
                roughness_c: size.1,
                rating_kpa: size.2,
                length_m: length.0,
                minor_k: length.1,
                invert_m,
            },
        )
}

fn valves() -> impl Strategy<Value = ExistingValve> {
    use ExistingValveKind as Kind;
    let kinds = prop_oneof![
        4 => Just(Kind::Control),
        1 => Just(Kind::Isolation),
        1 => Just(Kind::Regulator),
        1 => Just(Kind::DrainAutomatic),
        1 => Just(Kind::Air),
    ];
    (
        places(),
        kinds,
        names("s"),
        names("n"),
        prop::option::of(1.0..3000.0),
    )
        .prop_map(
            |(position, kind, station, node, regulated_kpa)| ExistingValve {
                from: from("valves"),
                position,
                kind,
                station,
                node,
                size: None,
                regulated_kpa,
            },
        )
}

fn soup() -> impl Strategy<Value = Existing> {
    (
        prop::collection::vec(heads(), 0..14),
        prop::collection::vec(pipes(), 0..20),
        prop::collection::vec(valves(), 0..6),
    )
        .prop_map(|(mut heads, mut pipes, mut valves)| {
            let number =
                |from: &mut Surveyed, index: usize| from.id = format!("{}#{index}#", from.file);
            heads
                .iter_mut()
                .enumerate()
                .for_each(|(i, head)| number(&mut head.from, i));
            pipes
                .iter_mut()
                .enumerate()
                .for_each(|(i, pipe)| number(&mut pipe.from, i));
            valves
                .iter_mut()
                .enumerate()
                .for_each(|(i, valve)| number(&mut valve.from, i));
            Existing {
                heads,
                pipes,
                valves,
            }
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn nothing_of_a_survey_is_lost(existing in soup()) {
        let (mut parcel, project) = random_ground::parcel(&Shape::plain());
        parcel.existing = existing;
        let Some(audited) = audit(&parcel, &project) else {
            prop_assert!(parcel.existing.is_empty());
            return Ok(());
        };
        let told: Vec<String> = audited.rebuilt.findings.iter()
            .map(|finding| format!("{} {}", finding.feature.as_deref().unwrap_or(""), finding.message))
            .collect();
        // Of a long list a message names the first few and says how many more there are.
        let listed = told.iter().any(|text| text.contains(" more"));
        let ids = audited.design.survey_ids.as_ref().unwrap();
        let existing = &parcel.existing;
        let all = existing.heads.iter().map(|head| (&head.from.id, &ids.heads));
        let all = all.chain(existing.pipes.iter().map(|pipe| (&pipe.from.id, &ids.pipes)));
        let control = existing.valves.iter().filter(|valve| valve.kind == ExistingValveKind::Control);
        let all = all.chain(control.map(|valve| (&valve.from.id, &ids.valves)));
        for (id, used) in all {
            let is_told = told.iter().any(|text| text.contains(id.as_str()));
            prop_assert!(used.contains(id) || is_told || listed, "{} in {:#?}", id, told);
        }
        prop_assert_eq!(ids.heads.len(), audited.design.heads.len());
        if !audited.design.pipes.is_empty() {
            prop_assert_eq!(ids.pipes.len(), audited.design.pipes.len());
            prop_assert_eq!(ids.valves.len(), audited.design.valves.len());
            prop_assert_eq!(ids.stations.len(), audited.design.stations.len());
        }
    }
}
