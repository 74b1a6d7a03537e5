//! Random designs changed by hand at random: what is pinned stays, and the same edits again change nothing more.

mod bad;

use super::*;
use crate::design::design;
use crate::design::model::Section;
use crate::design::trenches::fixture;
use crate::site::Terrain;
use crate::site::edits::{EditedHead, EditedLine, EditedPoint, Hand, LeftOut, LineKind, PointKind};
use geo::{Coord, LineString};
use proptest::prelude::*;
use std::sync::LazyLock;

/// A parcel with its design.
pub(super) struct Site {
    parcel: Parcel,
    project: Project,
    design: Design,
}

impl Site {
    fn of(parcel: Parcel) -> Self {
        let project = Project::without_inputs("edited");
        let design = design(&parcel, &project);
        Self {
            parcel,
            project,
            design,
        }
    }

    fn edited(&self, edits: &Edits) -> Design {
        edited(&self.parcel, &self.project, edits)
    }

    /// The layers of a design as they are written, but for rounding.
    fn layers(&self, design: &Design) -> Edits {
        let catalogue = &self.project.catalogue;
        let hand = |id: String, pinned: bool| Hand {
            id: Some(id),
            pinned,
            changed: false,
        };
        let ids = &design.ids;
        let head = |(i, head): (usize, &Head)| {
            let model = &catalogue.heads[head.model];
            EditedHead {
                hand: hand(ids.head(i), design.pins.heads.contains(&i)),
                position: head.position,
                model: Some(model.name.clone()),
                nozzle: Some(model.nozzles[head.nozzle].name.clone()),
                arc_deg: Some((head.arc.start_deg, head.arc.sweep_deg)),
                radius_m: Some(head.radius_m),
                one_row: head.one_row,
            }
        };
        let number = crate::design::model::Ids::number;
        let at = |node: usize| design.nodes[node].position;
        let point = |kind, id, pinned, position, size| EditedPoint {
            hand: hand(id, pinned),
            kind,
            position,
            section: None,
            size,
        };
        let valves = design.valves.iter().enumerate().map(|(i, valve)| {
            let id = format!("valve-{:02}", number(&ids.valves, i));
            let pinned = design.pins.valves.contains(&i);
            point(
                PointKind::Valve,
                id,
                pinned,
                at(valve.node),
                Some(valve.size.clone()),
            )
        });
        let drains = design.drains.iter().enumerate().map(|(i, drain)| {
            let id = format!("drain-{:02}", number(&ids.drains, i));
            point(
                PointKind::Drain,
                id,
                design.pins.drains.contains(&i),
                at(drain.node),
                None,
            )
        });
        let nodes = design.nodes.iter().enumerate().map(|(i, node)| {
            let id = format!("node-{:04}", number(&ids.nodes, i));
            point(
                PointKind::Node,
                id,
                design.pins.nodes.contains(&i),
                node.position,
                None,
            )
        });
        let mut counts = [0, 0];
        let pipes = design.pipes.iter().enumerate().map(|(i, pipe)| {
            let main = pipe.section == Section::Main;
            counts[usize::from(main)] += 1;
            let number = ids
                .pipes
                .get(i)
                .copied()
                .unwrap_or(counts[usize::from(main)]);
            let size = &catalogue.pipes[pipe.size];
            let (kind, id) = if main {
                (LineKind::Main, format!("main-{number:03}"))
            } else {
                (LineKind::Lateral, format!("lateral-{number:04}"))
            };
            EditedLine {
                hand: hand(id, design.pins.pipes.contains(&i)),
                kind,
                line: pipe.line.clone(),
                material: Some(size.material.clone()),
                nominal: Some(size.nominal.clone()),
            }
        });
        let left_out = design.findings.iter().filter(|f| f.code == "head_left_out");
        Edits {
            file: "hand".to_owned(),
            base: Some(base_mark(design)),
            of_edited: design.findings.iter().any(|f| f.code == "edits_effect"),
            heads: design.heads.iter().enumerate().map(head).collect(),
            points: valves.chain(drains).chain(nodes).collect(),
            lines: pipes.collect(),
            left_out: left_out
                .filter_map(|finding| finding.place)
                .map(|position| LeftOut { id: None, position })
                .collect(),
        }
    }
}

pub(super) static GENTLE: LazyLock<Site> = LazyLock::new(|| Site::of(fixture::parcel()));

static STEEP: LazyLock<Site> = LazyLock::new(|| {
    let mut parcel = fixture::parcel();
    parcel.terrain = Terrain::of_function(60.0, |x, y| 100.0 - 0.08 * x + 0.02 * y);
    parcel.turf.truncate(1);
    Site::of(parcel)
});

/// One change by hand.
#[derive(Debug, Clone)]
enum Change {
    Pin(usize),
    Move(usize, f64, f64),
    Narrow(usize),
    Remove(usize),
    Add(f64, f64, bool),
    PinPipe(usize),
    PinValve(usize),
    MoveValve(usize, f64, f64),
    PinDrain(usize),
}

fn change() -> impl Strategy<Value = Change> {
    let off = -2.5..2.5f64;
    prop_oneof![
        any::<usize>().prop_map(Change::Pin),
        (any::<usize>(), off.clone(), off.clone()).prop_map(|(i, x, y)| Change::Move(i, x, y)),
        any::<usize>().prop_map(Change::Narrow),
        any::<usize>().prop_map(Change::Remove),
        (-28.0..28.0f64, -16.0..16.0f64, any::<bool>())
            .prop_map(|(x, y, set)| Change::Add(x, y, set)),
        any::<usize>().prop_map(Change::PinPipe),
        any::<usize>().prop_map(Change::PinValve),
        (any::<usize>(), -1.0..1.0f64, -1.0..1.0f64)
            .prop_map(|(i, x, y)| Change::MoveValve(i, x, y)),
        any::<usize>().prop_map(Change::PinDrain),
    ]
}

fn points_of(edits: &mut Edits, kind: PointKind) -> Vec<&mut EditedPoint> {
    edits
        .points
        .iter_mut()
        .filter(|point| point.kind == kind)
        .collect()
}

fn make(edits: &mut Edits, change: &Change) {
    let heads = edits.heads.len().max(1);
    match *change {
        Change::Pin(i) => edits.heads[i % heads].hand.pinned = true,
        Change::Move(i, x, y) => {
            let head = &mut edits.heads[i % heads];
            head.position = head.position + Coord { x, y };
            head.hand.changed = true;
        }
        Change::Narrow(i) => {
            let head = &mut edits.heads[i % heads];
            head.radius_m = head.radius_m.map(|radius_m| 0.9 * radius_m);
            head.hand.changed = true;
        }
        Change::Remove(i) if heads > 1 => {
            let head = edits.heads.remove(i % heads);
            edits.left_out.push(LeftOut {
                id: head.hand.id,
                position: head.position,
            });
        }
        Change::Remove(_) => {}
        Change::Add(x, y, set) => {
            let mut head = edits.heads[0].clone();
            head.hand = Hand {
                id: None,
                pinned: false,
                changed: true,
            };
            head.position = Coord { x, y };
            if !set {
                (head.model, head.nozzle, head.arc_deg, head.radius_m) = (None, None, None, None);
            }
            edits.heads.push(head);
        }
        Change::PinPipe(i) => {
            let count = edits.lines.len();
            edits.lines[i % count].hand.pinned = true;
        }
        Change::PinValve(i) => {
            let mut valves = points_of(edits, PointKind::Valve);
            let count = valves.len();
            valves[i % count].hand.pinned = true;
        }
        Change::MoveValve(i, x, y) => {
            let mut valves = points_of(edits, PointKind::Valve);
            let count = valves.len();
            let valve = &mut valves[i % count];
            valve.position = valve.position + Coord { x, y };
            valve.hand.changed = true;
        }
        Change::PinDrain(i) => {
            let mut drains = points_of(edits, PointKind::Drain);
            let count = drains.len();
            if count > 0 {
                drains[i % count].hand.pinned = true;
            }
        }
    }
}

/// Whether what was done to a feature was refused, and told.
fn refused(design: &Design, hand: &Hand, at: Coord<f64>) -> bool {
    design.findings.iter().any(|finding| {
        let of_edits = finding.code.starts_with("pin") || finding.code == "edit_not_followed";
        of_edits
            && finding.severity == crate::finding::Severity::Error
            && (finding.place == Some(at) || (hand.id.is_some() && finding.feature == hand.id))
    })
}

fn check_heads(site: &Site, edits: &Edits, design: &Design) {
    let catalogue = &site.project.catalogue;
    for told in edits.heads.iter().filter(|told| told.hand.touched()) {
        if refused(design, &told.hand, told.position) {
            continue;
        }
        let stands = (0..design.heads.len()).find(|i| design.heads[*i].position == told.position);
        let index = stands.unwrap_or_else(|| panic!("{told:?} is gone"));
        assert!(design.pins.heads.contains(&index), "{told:?}");
        let head = &design.heads[index];
        let model = &catalogue.heads[head.model];
        if let (Some(name), Some(arc), Some(radius_m)) = (&told.model, told.arc_deg, told.radius_m)
        {
            assert_eq!(*name, model.name);
            assert_eq!(head.radius_m, radius_m);
            assert_eq!((head.arc.start_deg, head.arc.sweep_deg), arc);
            assert_eq!(told.nozzle.as_ref(), Some(&model.nozzles[head.nozzle].name));
        }
        if let Some(id) = told.hand.id.as_deref() {
            assert_eq!(design.ids.head(index), id);
        }
    }
    for place in &edits.left_out {
        let stands = |(i, head): (usize, &Head)| {
            let off_m = setting::distance_m(head.position, place.position);
            off_m < 0.3 && !design.pins.heads.contains(&i)
        };
        assert!(!design.heads.iter().enumerate().any(stands), "{place:?}");
    }
}

fn check_pipes(site: &Site, edits: &Edits, design: &Design) {
    let own = |line: &LineString<f64>, pipe: &&crate::design::model::Pipe| pipe.line == *line;
    for told in edits.lines.iter().filter(|told| told.hand.touched()) {
        if refused(design, &told.hand, told.line.0[0]) {
            continue;
        }
        let before = site
            .design
            .pipes
            .iter()
            .find(|pipe| own(&told.line, pipe))
            .unwrap();
        // A pinned pipe may be cut in two for a tee: then its pieces lie where it lay.
        let whole = design.pipes.iter().find(|pipe| own(&told.line, pipe));
        match whole {
            Some(pipe) => assert_eq!(pipe.size, before.size),
            None => {
                let pieces: f64 = design
                    .pins
                    .pipes
                    .iter()
                    .map(|i| &design.pipes[*i])
                    .filter(|pipe| pipe.line.0.iter().all(|at| lies_on(*at, &told.line)))
                    .map(|pipe| pipe.length_m)
                    .sum();
                assert!((pieces - before.length_m).abs() < 1e-6, "{told:?}");
            }
        }
    }
    for told in edits.points.iter().filter(|told| told.hand.touched()) {
        if refused(design, &told.hand, told.position) {
            continue;
        }
        let held: Vec<usize> = match told.kind {
            PointKind::Valve => design
                .pins
                .valves
                .iter()
                .map(|i| design.valves[*i].node)
                .collect(),
            PointKind::Drain => design
                .pins
                .drains
                .iter()
                .map(|i| design.drains[*i].node)
                .collect(),
            PointKind::Node => design.pins.nodes.iter().copied().collect(),
        };
        let stands = held
            .iter()
            .any(|node| design.nodes[*node].position == told.position);
        assert!(stands, "{told:?}");
    }
}

fn lies_on(at: Coord<f64>, line: &LineString<f64>) -> bool {
    use geo::{Distance, Euclidean, Point};
    Euclidean.distance(&Point(at), line) < 1e-6
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10, ..ProptestConfig::default() })]

    #[test]
    fn pins_stay_exactly_and_the_same_edits_again_change_nothing(
        steep in any::<bool>(),
        changes in proptest::collection::vec(change(), 1..6),
    ) {
        let site = if steep { &*STEEP } else { &*GENTLE };
        let mut edits = site.layers(&site.design);
        for change in &changes {
            make(&mut edits, change);
        }
        let design = site.edited(&edits);
        check_heads(site, &edits, &design);
        check_pipes(site, &edits, &design);
        let mut again = site.edited(&site.layers(&design));
        // What was refused is not in the layers any more, and a bare pin is no change.
        let gone = |finding: &Finding| finding.file.as_deref() == Some("hand");
        let mut first = design.clone();
        first.findings.retain(|finding| !gone(finding));
        again.findings.retain(|finding| !gone(finding));
        prop_assert_eq!(again, first);
    }
}

#[test]
fn layers_as_they_were_written_give_the_design_itself() {
    let site = &*GENTLE;
    assert_eq!(site.edited(&site.layers(&site.design)), site.design);
}

#[test]
fn pins_alone_change_nothing_but_the_column() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    edits.heads[3].hand.pinned = true;
    edits.lines[0].hand.pinned = true;
    let mut design = site.edited(&edits);
    let pins = std::mem::take(&mut design.pins);
    assert_eq!(design, site.design);
    assert!(pins.heads.contains(&3) && pins.pipes.contains(&0) && pins.valves.is_empty());
}

#[test]
fn what_a_pin_makes_worse_is_told_in_numbers() {
    let site = &*GENTLE;
    let mut edits = site.layers(&site.design);
    make(&mut edits, &Change::Move(5, 2.5, 2.0));
    let design = site.edited(&edits);
    let told: Vec<&Finding> = design
        .findings
        .iter()
        .filter(|f| f.code == "edits_effect")
        .collect();
    assert_eq!(told.len(), 1);
    assert!(
        told[0].message.contains("trench") && told[0].message.contains("DU"),
        "{}",
        told[0].message
    );
}
