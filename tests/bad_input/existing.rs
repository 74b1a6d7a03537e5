//! Surveys of existing systems that lack something or contradict themselves, from files to findings.

use crate::assert_says;
use crate::builder::{Bench, at_heights, line, messages, point, polygon, tap, with};
use serde_json::Value;
use swardline::design::audit_only;
use swardline::design::model::Design;

/// A main, a valve, three heads on one lateral.
struct System {
    heads: Vec<Value>,
    pipes: Vec<Value>,
    valves: Vec<Value>,
    more: String,
    taps: Vec<Value>,
}

fn head(id: &str, x: f64, y: f64) -> Value {
    let head = with(point(id, x, y), "station", "A");
    let head = with(with(head, "radius_m", 8.0), "model", "rotor-10");
    with(with(head, "arc_start_deg", 0), "arc_sweep_deg", 360)
}

fn lateral(id: &str, points: &[(f64, f64)]) -> Value {
    with(with(line(id, points), "station", "A"), "inside_mm", 28)
}

fn main(id: &str, points: &[(f64, f64)]) -> Value {
    with(with(line(id, points), "kind", "main"), "inside_mm", 40)
}

fn valve(id: &str, x: f64, y: f64) -> Value {
    with(with(point(id, x, y), "kind", "control"), "station", "A")
}

impl Default for System {
    fn default() -> Self {
        Self {
            heads: vec![
                head("h1", 6.0, 10.0),
                head("h2", 16.0, 10.0),
                head("h3", 26.0, 10.0),
            ],
            pipes: vec![
                main("m1", &[(1.0, 1.0), (6.0, 1.0), (6.0, 4.0)]),
                lateral("l1", &[(6.0, 4.0), (6.0, 10.0)]),
                lateral("l2", &[(6.0, 10.0), (16.0, 10.0)]),
                lateral("l3", &[(16.0, 10.0), (26.0, 10.0)]),
            ],
            valves: vec![valve("v1", 6.0, 4.0)],
            more: String::new(),
            taps: vec![tap("w1", 1.0, 1.0)],
        }
    }
}

impl System {
    fn audited(self) -> Design {
        let bench = Bench {
            water_points: self.taps,
            existing: [Some(self.heads), Some(self.pipes), Some(self.valves)],
            more: self.more,
            ..Bench::default()
        };
        let (_folder, project) = bench.project();
        let ground = swardline::site::open(&project).expect("the files are sound");
        let parcel = ground.parcel("p1").expect("the parcel can be prepared");
        let mut design = audit_only(&parcel, &project).design;
        design.findings.extend(ground.findings().iter().cloned());
        design
    }

    /// The one finding of a code.
    fn says(self, code: &str, parts: &[&str]) -> Design {
        let design = self.audited();
        let told = messages(&design.findings, code);
        assert_says(&told.join("\n"), parts);
        design
    }
}

fn has(design: &Design, code: &str) -> bool {
    design.findings.iter().any(|finding| finding.code == code)
}

/// Heads that get water.
fn fed(design: &Design) -> usize {
    design.station_of.iter().flatten().count()
}

#[test]
fn the_system_itself_is_sound() {
    let design = System::default().audited();
    assert_eq!(
        (design.heads.len(), fed(&design), design.stations.len()),
        (3, 3, 1)
    );
    let doubted = design.findings.iter();
    let doubted: Vec<_> = doubted
        .filter(|finding| finding.code.starts_with("existing_"))
        .map(|finding| finding.code)
        .collect();
    assert_eq!(doubted, ["existing_invert_assumed"]);
}

#[test]
fn pipes_without_a_size_are_named_and_assumed_where_a_rule_says_what() {
    let sizeless = || {
        let mut system = System::default();
        system.pipes[2] = with(line("l2", &[(6.0, 10.0), (16.0, 10.0)]), "station", "A");
        system
    };
    let parts = ["l2", "existing_lateral_mm", "not reckoned"];
    let design = sizeless().says("existing_size_missing", &parts);
    assert_eq!(fed(&design), 0);
    let mut system = sizeless();
    system.more = "[rules]\nexisting_lateral_mm = 26.0\n".into();
    let design = system.says("existing_size_assumed", &["1 pipes", "l2", "Dig one up"]);
    assert!(!has(&design, "existing_size_missing"));
    assert_eq!(fed(&design), 3);
}

#[test]
fn a_loop_is_told_and_left_open() {
    let mut system = System::default();
    system
        .pipes
        .push(lateral("l4", &[(26.0, 10.0), (16.0, 16.0), (6.0, 10.0)]));
    let design = system.says("existing_loop", &["closes a loop"]);
    assert_eq!(fed(&design), 3);
}

#[test]
fn a_piece_that_hangs_on_nothing_is_told_with_its_heads() {
    let mut system = System::default();
    system.heads.push(head("h4", 10.0, 20.0));
    system.heads.push(head("h5", 20.0, 20.0));
    system
        .pipes
        .push(lateral("l4", &[(10.0, 20.0), (20.0, 20.0)]));
    let design = system.says("existing_unconnected", &["l4", "2 heads"]);
    assert_eq!((design.heads.len(), fed(&design)), (5, 3));
}

#[test]
fn what_is_drawn_twice_counts_once() {
    let mut system = System::default();
    system
        .pipes
        .push(lateral("l3b", &[(26.0, 10.0), (16.0, 10.0)]));
    let design = system.says("existing_pipe_twice", &["l3b", "l3"]);
    assert_eq!(fed(&design), 3);
    let mut system = System::default();
    system.heads.push(head("h3b", 26.02, 10.0));
    let design = system.says("existing_head_twice", &["h3b", "h3"]);
    assert_eq!(design.heads.len(), 3);
}

/// The ground of the bench is 100 + 0.02·(x + 40.5) m high: 100.9 m at the valve.
#[test]
fn heights_are_taken_from_the_geometry_and_doubted_where_they_cannot_be() {
    let deep = |heights: [[f64; 2]; 3]| {
        let mut system = System::default();
        let main = main("m1", &[(1.0, 1.0), (6.0, 1.0), (6.0, 4.0)]);
        system.pipes[0] = at_heights(main, &[100.3, 100.4, 100.4]);
        for (pipe, heights) in system.pipes[1..].iter_mut().zip(heights) {
            *pipe = at_heights(pipe.clone(), &heights);
        }
        system
    };
    let sound = [[100.4, 100.6], [100.6, 100.7], [100.7, 101.0]];
    let design = deep(sound).audited();
    assert!(!has(&design, "existing_invert_assumed") && !has(&design, "existing_invert_wrong"));
    let inverts: Vec<f64> = design.nodes.iter().map(|node| node.invert_m).collect();
    assert!(
        inverts.contains(&101.0) && inverts.contains(&100.3),
        "{inverts:?}"
    );
    let feet = sound.map(|pipe| pipe.map(|m: f64| m / 0.3048));
    deep(feet).says(
        "existing_invert_wrong",
        &["above the ground", "unit and datum"],
    );
    let wrong = [[100.4, 100.6], [100.6, 80.0], [80.0, 101.0]];
    deep(wrong).says("existing_invert_wrong", &["below the ground"]);
    let none = [[0.0, 0.0]; 3];
    deep(none).says("existing_invert_assumed", &["have no height"]);
    let off = [[100.4, 100.6], [100.5, 100.7], [100.7, 101.0]];
    deep(off).says("existing_invert_differs", &["100.50 and 100.60"]);
}

#[test]
fn heads_of_which_little_is_known_are_told_by_name() {
    let bare = || {
        let mut system = System::default();
        system.heads[1] = with(point("h2", 16.0, 10.0), "station", "A");
        system
    };
    for code in [
        "existing_model_assumed",
        "existing_arc_assumed",
        "existing_radius_assumed",
    ] {
        let design = bare().says(code, &["1 heads", "h2"]);
        assert_eq!(fed(&design), 3);
    }
    let mut system = System::default();
    system.heads[1] = with(head("h2", 16.0, 10.0), "nozzle", "no such");
    system.says("existing_nozzle_unknown", &["no such", "rotor-10"]);
}

#[test]
fn values_that_are_none_are_told() {
    let mut system = System::default();
    system.heads[0] = with(head("h1", 6.0, 10.0), "radius_m", "NaN");
    system.heads[1] = with(head("h2", 16.0, 10.0), "radius_m", "eight");
    system.heads[2] = with(head("h3", 26.0, 10.0), "arc_sweep_deg", 3600);
    let design = system.says("existing_value", &["NaN", "eight", "3600"]);
    assert_eq!(fed(&design), 3);
}

#[test]
fn geometry_of_the_wrong_kind_is_refused_by_name() {
    let mut system = System::default();
    let corner = [(30.0, 20.0), (32.0, 20.0), (32.0, 22.0), (30.0, 20.0)];
    system.pipes.push(polygon("area", &corner));
    system
        .heads
        .push(line("stroke", &[(30.0, 20.0), (32.0, 20.0)]));
    let design = system.says("existing_geometry", &["area", "stroke", "a polygon"]);
    assert_eq!(fed(&design), 3);
}

#[test]
fn what_lies_in_no_parcel_is_told() {
    let mut system = System::default();
    system.heads.push(head("far", 400.0, 400.0));
    let design = system.says("existing_in_no_parcel", &["far"]);
    assert_eq!(design.heads.len(), 3);
}

#[test]
fn a_station_without_a_valve_and_a_valve_without_a_station_are_told() {
    let mut system = System::default();
    system.valves.clear();
    let design = system.says("existing_no_valve", &["A", "no control valve"]);
    assert_eq!(fed(&design), 3);
    let mut system = System::default();
    system
        .valves
        .push(with(valve("v2", 30.0, 25.0), "station", "B"));
    system.says("existing_valve_loose", &["v2", "opens nothing"]);
    let mut system = System::default();
    system.valves[0] = with(valve("v1", 6.0, 4.0), "kind", "controll");
    system.says("existing_kind", &["controll", "control"]);
}

#[test]
fn a_main_that_begins_elsewhere_is_told_or_feeds_nothing() {
    let system = System {
        taps: vec![tap("w1", 1.0, 3.0)],
        ..System::default()
    };
    let design = system.says("existing_source_off", &["w1", "2.00 m"]);
    assert_eq!(fed(&design), 3);
    let system = System {
        taps: vec![tap("w1", 39.0, 29.0)],
        ..System::default()
    };
    let design = system.says("existing_no_source", &["25 m", "kind = main"]);
    assert_eq!((design.heads.len(), fed(&design)), (3, 0));
}

#[test]
fn pipes_that_cross_without_a_joint_are_joined_and_told() {
    let mut system = System::default();
    system.heads.push(head("h4", 20.0, 18.0));
    system
        .pipes
        .push(lateral("l4", &[(20.0, 6.0), (20.0, 18.0)]));
    let design = system.says("existing_crossing", &["cross without a joint"]);
    assert_eq!(fed(&design), 4);
}

#[test]
fn gaps_and_heads_off_their_pipe_are_joined_and_told() {
    let mut system = System::default();
    system.pipes[2] = lateral("l2", &[(6.0, 10.0), (15.7, 10.0)]);
    let design = system.says("existing_gap", &["0.30 m"]);
    assert_eq!(fed(&design), 3);
    let mut system = System::default();
    system.heads[2] = head("h3", 26.0, 10.6);
    let design = system.says("existing_head_off_pipe", &["h3", "0.60 m"]);
    assert_eq!(fed(&design), 3);
    let mut system = System::default();
    system.heads[2] = head("h3", 26.0, 13.0);
    let design = system.says("existing_head_unfed", &["h3"]);
    assert_eq!((design.heads.len(), fed(&design)), (3, 2));
}

#[test]
fn layers_without_features_leave_nothing_to_audit() {
    let system = System {
        heads: Vec::new(),
        pipes: Vec::new(),
        valves: Vec::new(),
        ..System::default()
    };
    system.says("nothing_to_audit", &["existing_heads"]);
    let system = System {
        pipes: Vec::new(),
        valves: Vec::new(),
        ..System::default()
    };
    let design = system.says("existing_no_source", &["no pipe is drawn"]);
    assert_eq!((design.heads.len(), fed(&design)), (3, 0));
}
