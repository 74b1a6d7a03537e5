//! Random designs changed by hand at random: what is pinned stays, and the same edits again change nothing more.

mod bad;
mod changes;
mod layers;

use super::*;
use crate::design::design;
use crate::design::model::Pipe;
use crate::design::trenches::fixture;
use crate::site::Terrain;
use crate::site::edits::{Hand, PointKind};
use changes::{Change, change, make, points_of};
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
        changed(&self.parcel, &self.project, edits, self.design.clone())
    }
}

pub(super) static GENTLE: LazyLock<Site> = LazyLock::new(|| Site::of(fixture::parcel()));

static STEEP: LazyLock<Site> = LazyLock::new(|| {
    let mut parcel = fixture::parcel();
    parcel.terrain = Terrain::of_function(60.0, |x, y| 100.0 - 0.08 * x + 0.02 * y);
    parcel.turf.truncate(1);
    Site::of(parcel)
});

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
    // The layers hold the pipes in the order of the design.
    let laid = edits.lines.iter().zip(&site.design.pipes);
    for (told, before) in laid.filter(|(told, _)| told.hand.touched()) {
        if refused(design, &told.hand, told.line.0[0]) {
            continue;
        }
        let pinned = || design.pins.pipes.iter().map(|i| &design.pipes[*i]);
        let is_whole = |pipe: &Pipe| pipe.line == told.line && pipe.size == before.size;
        // A pinned pipe may be cut in two for a tee: then its pieces lie where it lay.
        let is_piece = |pipe: &&Pipe| {
            pipe.size == before.size && pipe.line.0.iter().all(|at| lies_on(*at, &told.line))
        };
        let pieces_m: f64 = pinned().filter(is_piece).map(|pipe| pipe.length_m).sum();
        let stays = pinned().any(is_whole) || pieces_m > before.length_m - 1e-6;
        assert!(stays, "{told:?}");
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

/// Where two designs begin to differ.
fn first_difference(a: &Design, b: &Design) -> String {
    let (a, b) = (format!("{a:#?}"), format!("{b:#?}"));
    let mut lines = a.lines().zip(b.lines()).enumerate();
    let first = lines.find(|(_, (a, b))| a != b);
    first.map_or_else(String::new, |(line, (a, b))| {
        format!("line {line}: {a} | {b}")
    })
}

fn lies_on(at: Coord<f64>, line: &LineString<f64>) -> bool {
    use geo::{Distance, Euclidean, Point};
    Euclidean.distance(&Point(at), line) < 1e-6
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 6, max_shrink_iters: 12, ..ProptestConfig::default() })]

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
        prop_assert!(again == first, "{}", first_difference(&again, &first));
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
