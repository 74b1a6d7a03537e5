//! Edits that cannot be followed: each is told, and what it was done to stays as the design has it.

use super::*;
use crate::finding::Severity;

fn found<'d>(design: &'d Design, code: &str) -> Vec<&'d Finding> {
    design
        .findings
        .iter()
        .filter(|finding| finding.code == code)
        .collect()
}

fn moved(site: &Site, head: usize, to: (f64, f64)) -> Edits {
    let mut edits = site.layers(&site.design);
    edits.heads[head].position = to.into();
    edits.heads[head].hand.changed = true;
    edits
}

#[test]
fn a_head_on_a_building_stays_where_the_design_has_it() {
    let site = &*GENTLE;
    let mut design = site.edited(&moved(site, 2, (11.0, 5.0)));
    let told = found(&design, "pin_on_obstacle");
    assert_eq!(told[0].severity, Severity::Error);
    assert_eq!(told[0].feature.as_deref(), Some("head-0003"));
    assert!(
        told[0].message.contains("building house"),
        "{}",
        told[0].message
    );
    design
        .findings
        .retain(|finding| finding.code != "pin_on_obstacle");
    assert_eq!(design, site.design);
}

#[test]
fn a_head_outside_the_parcel_says_how_far() {
    let site = &*GENTLE;
    let design = site.edited(&moved(site, 2, (28.0, 0.0)));
    let told = found(&design, "pin_off_parcel");
    assert!(
        told[0].message.contains("3.00 m outside the parcel p"),
        "{}",
        told[0].message
    );
    assert_eq!(design.heads, site.design.heads);
}

#[test]
fn a_head_off_the_turf_stays_and_says_how_far() {
    let site = &*GENTLE;
    let design = site.edited(&moved(site, 2, (0.0, 0.0)));
    assert!(
        found(&design, "pin_off_turf")[0]
            .message
            .contains("1.00 m off the turf")
    );
    assert!(
        design
            .heads
            .iter()
            .any(|head| head.position == Coord { x: 0.0, y: 0.0 })
    );
}

#[test]
fn two_heads_on_one_spot_contradict_each_other() {
    let site = &*GENTLE;
    let at = site.design.heads[4].position;
    let mut edits = moved(site, 2, (at.x + 0.01, at.y));
    edits.heads[4].hand.pinned = true;
    let design = site.edited(&edits);
    let told = found(&design, "pins_contradict");
    assert!(told[0].message.contains("head-0003"), "{}", told[0].message);
    assert_eq!(told[0].feature.as_deref(), Some("head-0005"));
}

#[test]
fn a_model_or_nozzle_that_is_not_known_names_the_nearest() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    edits.heads[2].model = Some("spary".to_owned());
    edits.heads[4].nozzle = Some("none such".to_owned());
    for head in [2, 4] {
        edits.heads[head].hand.pinned = true;
    }
    let design = site.edited(&edits);
    let told = found(&design, "pin_unknown_model");
    assert_eq!(told.len(), 2);
    assert!(told[0].message.contains("`spary`") && told[1].message.contains("`none such`"));
    assert_eq!(design.heads, site.design.heads);
}

#[test]
fn a_radius_beyond_the_model_is_followed_and_told() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    edits.heads[2].radius_m = Some(30.0);
    edits.heads[2].hand.changed = true;
    let design = site.edited(&edits);
    assert!(
        found(&design, "pin_setting")[0]
            .message
            .contains("30.00 m lies outside")
    );
    assert_eq!(design.heads[2].radius_m, 30.0);
}

#[test]
fn a_pinned_pipe_whose_valve_was_moved_contradicts_it() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    let valve = site.design.stations[0].valve_node;
    let main = site
        .design
        .pipes
        .iter()
        .position(|pipe| pipe.to == valve)
        .unwrap();
    edits.lines[main].hand.pinned = true;
    let at = site.design.nodes[valve].position;
    for point in points_of(&mut edits, PointKind::Valve) {
        if point.position == at {
            point.position.x += 0.4;
            point.hand.changed = true;
        }
    }
    let design = site.edited(&edits);
    let told = found(&design, "pins_contradict");
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].feature, edits.lines[main].hand.id);
    assert!(told[0].message.contains("valve-") && told[0].message.contains("0.40 m off"));
}

#[test]
fn a_pinned_valve_that_is_no_more_is_told() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    let mut lost = points_of(&mut edits, PointKind::Valve)[0].clone();
    lost.hand.id = Some("valve-77".to_owned());
    lost.hand.pinned = true;
    edits.points.push(lost);
    let design = site.edited(&edits);
    let told = found(&design, "pin_lost");
    assert!(told[0].message.contains("valve-77"), "{}", told[0].message);
    assert_eq!(told[0].severity, Severity::Error);
}

#[test]
fn a_deleted_valve_and_a_pipe_that_was_drawn_are_told() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    let valve = edits
        .points
        .iter()
        .rposition(|point| point.kind == PointKind::Valve)
        .unwrap();
    let id = edits.points.remove(valve).hand.id.unwrap();
    let mut drawn = edits.lines[0].clone();
    drawn.hand = Hand {
        id: None,
        pinned: false,
        changed: true,
    };
    edits.lines.push(drawn);
    let design = site.edited(&edits);
    let told = found(&design, "edit_not_followed");
    assert_eq!(told.len(), 2);
    assert!(
        told[0].message.contains("a main without an id"),
        "{}",
        told[0].message
    );
    assert!(told[1].message.contains(&id), "{}", told[1].message);
}

#[test]
fn layers_of_another_design_are_told_and_pins_taken_over_where_they_stand() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    edits.base = Some("another".to_owned());
    for head in &mut edits.heads {
        head.position.x += 0.4;
    }
    edits.heads[2].hand.pinned = true;
    let at = edits.heads[2].position;
    let design = site.edited(&edits);
    assert_eq!(found(&design, "edits_of_another_design").len(), 1);
    assert!(design.heads.iter().any(|head| head.position == at));
}
