//! Heads that stand or are set wrongly: each is tried otherwise, and told where that would serve the turf clearly better.

use super::field::Field;
use super::pipes::Fast;
use super::search::Search;
use super::stations::Mixed;
use super::{OF_AREA, OF_YEAR};
use crate::brief::Project;
use crate::design::coverage;
use crate::design::heads::classes::setting_for;
use crate::design::model::{Design, Head, Working};
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use crate::site::Parcel;
use geo::{Distance, Euclidean, Point};
use std::collections::BTreeSet;

/// Distance off the turf from which a head is told to stand beside it, m.
const OFF_TURF_M: f64 = 0.3;
/// What a nozzle must be nearer to the matched rate than the one there to be told, as a share of the rate.
const NOZZLE_NEARER: f64 = 0.08;

/// Findings of the survey on heads off their pipe.
const OFF_PIPE: [&str; 2] = ["existing_head_off_pipe", "existing_head_unfed"];

/// A head that serves badly.
pub(super) struct Fault {
    pub(super) head: usize,
    pub(super) finding: Finding,
    /// Flow that it has over what it would have if it were mended, L/min.
    pub(super) excess_lpm: f64,
}

/// The faults of all heads, one for each at most.
pub(super) fn faults(
    parcel: &Parcel,
    project: &Project,
    rebuilt: &Rebuilt,
    design: &Design,
    mixed: &[Mixed],
) -> Vec<Fault> {
    let mut faults = off_turf(parcel, rebuilt, design);
    let mut known: BTreeSet<usize> = faults.iter().map(|fault| fault.head).collect();
    known.extend(off_pipe(rebuilt));
    known.extend(mixed.iter().flat_map(|mixed| mixed.heads.iter().copied()));
    let usual = |turf: usize| {
        let result = design.turf.get(turf);
        result.and_then(|turf| turf.class_rate_mm_h).unwrap_or(0.0)
    };
    let wanted: Vec<f64> = (0..parcel.turf.len()).map(usual).collect();
    // As set: what pressures do to the throws is told of pipes and stations.
    let rated = design.heads.iter();
    let rated = rated.map(|head| coverage::rated_working(head, &project.catalogue));
    let working: Vec<Working> = rated.collect();
    let catalogue = &project.catalogue;
    if let Some(field) = Field::of(parcel, &design.heads, &working, &wanted, catalogue) {
        let mut search = Search {
            parcel,
            design,
            rebuilt,
            field,
            working,
            known: &known,
            water: Vec::new(),
            gains: Vec::new(),
        };
        faults.extend(search.run());
    }
    known.extend(faults.iter().map(|fault| fault.head));
    faults.extend(nozzles(project, rebuilt, design, &known));
    faults.sort_by_key(|fault| fault.head);
    faults
}

/// Heads that the survey draws off their pipe, which is told with the survey.
fn off_pipe(rebuilt: &Rebuilt) -> Vec<usize> {
    let told = |head: usize| {
        let position = rebuilt.works.heads[head].position;
        rebuilt.findings.iter().any(|finding| {
            OFF_PIPE.contains(&finding.code)
                && finding.feature.as_ref() == Some(&rebuilt.ids.heads[head])
                && finding.place == Some(position)
        })
    };
    (0..rebuilt.works.heads.len())
        .filter(|head| told(*head))
        .collect()
}

fn fault(
    head: usize,
    code: &'static str,
    message: String,
    rebuilt: &Rebuilt,
    design: &Design,
) -> Fault {
    let finding = Finding::warning(code, message)
        .of(rebuilt.ids.heads[head].clone())
        .at(design.heads[head].position);
    Fault {
        head,
        finding,
        excess_lpm: 0.0,
    }
}

fn off_turf(parcel: &Parcel, rebuilt: &Rebuilt, design: &Design) -> Vec<Fault> {
    let off_m = |head: &Head| {
        let to = parcel
            .turf
            .iter()
            .map(|turf| Euclidean.distance(&Point(head.position), &turf.shape));
        to.fold(f64::INFINITY, f64::min)
    };
    let told = |(index, head): (usize, &Head)| {
        let off_m = off_m(head);
        (off_m > OFF_TURF_M).then(|| {
            let message = format!("stands {off_m:.1} m beside the turf. Move it to the edge, or look whether the survey is right.");
            fault(index, "head_off_turf", message, rebuilt, design)
        })
    };
    design.heads.iter().enumerate().filter_map(told).collect()
}

/// Heads whose nozzle does not give the rate of their class though another of the model would come nearer.
fn nozzles(
    project: &Project,
    rebuilt: &Rebuilt,
    design: &Design,
    known: &BTreeSet<usize>,
) -> Vec<Fault> {
    let told = |(index, head): (usize, &Head)| {
        if known.contains(&index) {
            return None;
        }
        let model = &project.catalogue.heads[head.model];
        let departs = |flow_lpm: f64, radius_m: f64| {
            let served_m2 = radius_m.powi(2) * head.arc.sweep_deg / 360.0;
            60.0 * flow_lpm / served_m2 / model.rate_mm_h - 1.0
        };
        let now = departs(head.flow_ref_lpm, head.radius_m);
        let set = setting_for(model, head.radius_m, head.arc.sweep_deg, f64::INFINITY);
        let then = departs(set.flow_lpm, set.radius_m);
        let clearly = now.abs() > project.rules.station_rate_spread + 0.005
            && now.abs() - then.abs() > NOZZLE_NEARER;
        clearly.then(|| {
            let message = format!(
                "its nozzle gives {:.0} % {} than the rate of its class at this arc and throw; nozzle {} set to {:.2} m would give {:.0} %.",
                100.0 * now.abs(),
                if now > 0.0 { "more" } else { "less" },
                model.nozzles[set.nozzle].name,
                set.radius_m,
                100.0 + 100.0 * then
            );
            fault(index, "nozzle_wrong", message, rebuilt, design)
        })
    };
    design.heads.iter().enumerate().filter_map(told).collect()
}

/// Takes out findings of whole turf areas, and of the year's water on them, that the faults of some heads explain.
pub(super) fn explain(parcel: &Parcel, design: &mut Design, heads: &BTreeSet<usize>) {
    let turf = heads.iter().map(|head| design.heads[*head].turf);
    let turf: BTreeSet<String> = turf
        .filter_map(|turf| parcel.turf.get(turf))
        .map(|turf| turf.id.clone())
        .collect();
    design.findings.retain(|finding| {
        let of_turf = finding.feature.as_ref().is_some_and(|of| turf.contains(of));
        let of_area = of_turf && OF_AREA.contains(&finding.code);
        let of_year = !heads.is_empty() && OF_YEAR.contains(&finding.code);
        !of_area && !of_year
    });
}

/// Every head that a fault explains: those told of, those off their pipe, and those behind pipe that is too narrow.
pub(super) fn explained(
    design: &Design,
    rebuilt: &Rebuilt,
    faults: &[Fault],
    mixed: &[Mixed],
    fast: &[Fast],
) -> BTreeSet<usize> {
    let mut heads: BTreeSet<usize> = faults.iter().map(|fault| fault.head).collect();
    heads.extend(mixed.iter().flat_map(|mixed| mixed.heads.iter().copied()));
    heads.extend(off_pipe(rebuilt));
    let starved = design.station_of.iter().enumerate();
    let starved = starved.filter(|(_, station)| {
        station.is_some_and(|station| fast.iter().any(|fast| fast.feeds(station)))
    });
    heads.extend(starved.map(|(head, _)| head));
    heads
}
