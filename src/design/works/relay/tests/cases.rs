//! Single changes, and what each may cost.

use super::*;
use crate::design::model::{NodeKind, Section};
use crate::design::works::relay::course;

/// Length of trench that was not there before, m.
fn new_trench_m(relaid: &Relaid) -> f64 {
    let trenches = relaid.works.pipework.trenches.iter();
    let new = trenches
        .zip(&relaid.origin.trenches)
        .filter(|(_, from)| from.is_none());
    new.map(|(trench, _)| trench.length_m).sum()
}

/// A head at the end of a lateral, and its node.
fn last_head(works: &Works) -> (usize, usize) {
    let work = &works.pipework;
    let goes_on = |node: usize| work.pipes.iter().any(|pipe| pipe.from == node);
    let mut ends = work.nodes.iter().enumerate();
    ends.find_map(|(i, node)| Some((node.head.filter(|_| !goes_on(i))?, i)))
        .unwrap()
}

/// Distance from a place to the nearest lateral of some stations, m.
fn off_laterals_m(works: &Works, at: Coord<f64>, which: impl Fn(usize) -> bool) -> f64 {
    let pipes = works.pipework.pipes.iter();
    let asked = pipes.filter(|pipe| matches!(pipe.section, Section::Station(s) if which(s)));
    let off_m = asked.filter_map(|pipe| course::nearest(&pipe.line, at).map(|near| near.off_m));
    off_m.fold(f64::INFINITY, f64::min)
}

fn moved(site: &Site, head: usize, by: (f64, f64)) -> (Vec<Head>, Vec<Option<usize>>) {
    edited(site, &[Edit::Move(head, by.0, by.1)])
}

#[test]
fn a_head_moved_a_little_takes_its_node_with_it_and_nothing_is_dug() {
    let site = &*GENTLE;
    let (head, node) = last_head(&site.works);
    let (heads, from) = moved(site, head, (0.2, 0.1));
    let relaid = site.relaid(heads, &from, &Fixed::default());
    audit::check(site, &relaid, &Fixed::default());
    assert_eq!(new_trench_m(&relaid), 0.0);
    assert_eq!(
        relaid.works.pipework.pipes.len(),
        site.works.pipework.pipes.len()
    );
    assert_eq!(
        relaid.works.pipework.nodes[node].position,
        relaid.works.heads[head].position
    );
}

#[test]
fn a_pinned_pipe_stays_and_the_head_gets_a_short_one() {
    let site = &*GENTLE;
    let (head, node) = last_head(&site.works);
    let pipes = &site.works.pipework.pipes;
    let feeder = pipes.iter().position(|pipe| pipe.to == node).unwrap();
    let fixed = Fixed {
        pipes: BTreeSet::from([feeder]),
        ..Fixed::default()
    };
    let (heads, from) = moved(site, head, (0.2, 0.1));
    let relaid = site.relaid(heads, &from, &fixed);
    audit::check(site, &relaid, &fixed);
    assert!((new_trench_m(&relaid) - 0.2f64.hypot(0.1)).abs() < 0.01);
    assert_eq!(relaid.works.pipework.nodes[node].kind, NodeKind::Junction);
}

#[test]
fn a_head_moved_far_is_led_to_its_own_station_by_the_nearest_way() {
    let site = &*GENTLE;
    let (head, _) = last_head(&site.works);
    let station = site.works.station_of()[head].unwrap();
    let here = site.works.heads[head].position;
    let inward = (-here.x.signum() * 2.0, -here.y.signum() * 1.5);
    let (heads, from) = moved(site, head, inward);
    let to = heads[head].position;
    let relaid = site.relaid(heads, &from, &Fixed::default());
    audit::check(site, &relaid, &Fixed::default());
    assert_eq!(relaid.works.station_of()[head], Some(station));
    let nearest_m = off_laterals_m(&site.works, to, |s| s == station);
    assert!(
        new_trench_m(&relaid) <= nearest_m + 0.6,
        "{} {nearest_m}",
        new_trench_m(&relaid)
    );
}

#[test]
fn the_pipe_that_served_a_removed_head_alone_is_out_and_nothing_else() {
    let site = &*GENTLE;
    let (head, node) = last_head(&site.works);
    let (heads, from) = edited(site, &[Edit::Remove(head)]);
    let relaid = site.relaid(heads.clone(), &from, &Fixed::default());
    audit::check(site, &relaid, &Fixed::default());
    assert_eq!(new_trench_m(&relaid), 0.0);
    assert!(!relaid.origin.nodes.contains(&Some(node)));
    let pinned = Fixed {
        nodes: BTreeSet::from([node]),
        ..Fixed::default()
    };
    let relaid = site.relaid(heads, &from, &pinned);
    assert_eq!(
        relaid.works.pipework.pipes.len(),
        site.works.pipework.pipes.len()
    );
}

#[test]
fn a_station_is_taken_out_with_its_last_head() {
    let site = &*GENTLE;
    let gone = site.works.stations[0].heads.clone();
    let (heads, from): (Vec<Head>, Vec<Option<usize>>) = site
        .works
        .heads
        .iter()
        .enumerate()
        .filter(|(i, _)| !gone.contains(i))
        .map(|(i, head)| (head.clone(), Some(i)))
        .unzip();
    let relaid = site.relaid(heads, &from, &Fixed::default());
    audit::check(site, &relaid, &Fixed::default());
    assert_eq!(relaid.works.stations.len(), site.works.stations.len() - 1);
    assert_eq!(relaid.origin.stations[0], Some(1));
}

#[test]
fn an_added_head_is_dug_to_the_nearest_station_with_room_or_to_a_new_valve() {
    let site = &*GENTLE;
    let (heads, from) = edited(site, &[Edit::Add(0, -13.0, -2.0)]);
    let at = heads[heads.len() - 1].position;
    let relaid = site.relaid(heads, &from, &Fixed::default());
    audit::check(site, &relaid, &Fixed::default());
    let added = relaid.works.heads.len() - 1;
    let station = relaid.works.station_of()[added].unwrap();
    match relaid.origin.stations[station] {
        Some(old) => {
            let nearest_m = off_laterals_m(&site.works, at, |s| s == old);
            assert!(new_trench_m(&relaid) <= nearest_m + 0.6);
        }
        None => assert!(relaid.works.stations.len() == site.works.stations.len() + 1),
    }
}

#[test]
fn a_drain_that_is_missing_is_added_where_nothing_else_changes() {
    let site = &*GENTLE;
    let mut lacking = site.works.clone();
    let missing = lacking.drains.remove(0);
    let (heads, from) = site.same();
    let relaid = relay(&site.ground(), &lacking, heads, &from, &Fixed::default()).unwrap();
    assert_eq!(relaid.works.pipework, site.works.pipework);
    assert_eq!(
        relaid
            .origin
            .drains
            .iter()
            .filter(|from| from.is_none())
            .count(),
        1
    );
    assert_eq!(relaid.works.drains.last(), Some(&missing));
}

#[test]
fn pipe_too_narrow_is_replaced_and_no_more_of_it_than_must_be() {
    let site = &*GENTLE;
    let mut narrow = site.works.clone();
    let sizes = &site.project.catalogue.pipes;
    let least = (0..sizes.len())
        .min_by(|a, b| sizes[*a].inside_mm.total_cmp(&sizes[*b].inside_mm))
        .unwrap();
    for pipe in narrow
        .pipework
        .pipes
        .iter_mut()
        .filter(|pipe| pipe.section == Section::Main)
    {
        pipe.size = least;
    }
    let (heads, from) = site.same();
    let relaid = relay(&site.ground(), &narrow, heads, &from, &Fixed::default()).unwrap();
    let changed = relaid
        .origin
        .resized
        .iter()
        .filter(|resized| **resized)
        .count();
    let mains = site.works.pipework.pipes_of(Section::Main).len();
    assert!(changed > 0 && changed <= mains, "{changed} of {mains}");
    for (i, pipe) in relaid.works.pipework.pipes.iter().enumerate() {
        assert!(relaid.origin.resized[i] || pipe.size == narrow.pipework.pipes[i].size);
    }
    let fault = |works: &Works| {
        let pressures =
            (0..works.stations.len()).flat_map(|s| site.solved(works, s).head_pressure_kpa);
        let short = pressures.map(|(head, kpa)| {
            site.project.catalogue.heads[works.heads[head].model].pressure_min_kpa - kpa
        });
        short.fold(0.0, f64::max)
    };
    assert!(fault(&relaid.works) < 0.3, "{}", fault(&relaid.works));
}

#[test]
fn a_weaker_supply_makes_stations_shed_branches_that_keep_their_pipe() {
    let weak = &*WEAK;
    let (heads, from) = weak.same();
    let relaid = weak.relaid(heads, &from, &Fixed::default());
    audit::check(weak, &relaid, &Fixed::default());
    assert!(relaid.works.stations.len() > weak.works.stations.len());
    let pipes = &relaid.origin.pipes;
    let new = pipes.iter().filter(|from| from.is_none()).count();
    assert!(new <= pipes.len() / 5, "{new} of {}", pipes.len());
}

#[test]
fn a_head_nothing_reaches_is_told_and_stays() {
    let site = &*GENTLE;
    let (mut heads, mut from) = site.same();
    heads.push(Head {
        position: Coord { x: 11.0, y: 5.0 },
        ..heads[0].clone()
    });
    from.push(None);
    let mut nowhere = heads[0].clone();
    nowhere.position.x = f64::NAN;
    heads.push(nowhere);
    from.push(Some(usize::MAX));
    let relaid = site.relaid(heads, &from, &Fixed::default());
    audit::check(site, &relaid, &Fixed::default());
    assert_eq!(relaid.findings.len(), 2);
    assert_eq!(relaid.works.heads.len(), site.works.heads.len() + 2);
}

#[test]
fn works_that_are_nothing_but_a_source_or_less_are_no_panic() {
    let site = &*GENTLE;
    let (heads, _) = site.same();
    let none = vec![None; heads.len()];
    let bare = Works {
        pipework: crate::design::pipework::Pipework {
            nodes: vec![site.works.pipework.nodes[0].clone()],
            ..Default::default()
        },
        ..Works::default()
    };
    let relaid = relay(
        &site.ground(),
        &bare,
        heads.clone(),
        &none,
        &Fixed::default(),
    )
    .unwrap();
    audit::check(site, &relaid, &Fixed::default());
    assert!(relaid.findings.is_empty());
    let empty = relay(
        &site.ground(),
        &Works::default(),
        heads,
        &none,
        &Fixed::default(),
    )
    .unwrap();
    assert_eq!(empty.findings.len(), empty.works.heads.len());
    let mut broken = site.works.clone();
    broken.pipework.pipes[0].to = usize::MAX;
    let (heads, from) = site.same();
    assert!(relay(&site.ground(), &broken, heads, &from, &Fixed::default()).is_err());
}

#[test]
fn a_valve_that_carries_the_planned_flow_is_not_replaced_for_the_solved_one() {
    let site = Site::of(fixture::parcel());
    let size = site.works.stations[0].valve_size.unwrap();
    let flow_lpm = site.solved(&site.works, 0).flow_lpm;
    let mut project = site.project.clone();
    project.catalogue.valves[size].flow_max_lpm = flow_lpm / 1.03;
    let tight = Site { project, ..site };
    let (heads, from) = tight.same();
    let relaid = tight.relaid(heads, &from, &Fixed::default());
    assert_eq!(relaid.works.stations[0].valve_size, Some(size));
}
