//! Heads that stand or are set wrongly: each is tried otherwise, and told where that would serve the turf clearly better.

use super::field::{Field, Ground, Water};
use super::settings::{Better, Change, astray, best};
use super::stations::Mixed;
use super::OF_AREA;
use crate::brief::Project;
use crate::design::heads::classes::setting_for;
use crate::design::coverage;
use crate::design::model::{Design, Head, Working};
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use crate::site::Parcel;
use geo::{Coord, Distance, Euclidean, Point};

/// Water off the turf from which a head is looked at, as a share of its own.
const ASTRAY_LEAST: f64 = 0.10;
/// Depth over that wanted below which ground about a head makes it looked at.
const DRY: f64 = 0.45;
/// What a change must gain to be told, as a share of the ground that the head serves. Tried on finished designs, where it
/// tells nothing, and on designs with faults.
const GAIN_LEAST: f64 = 0.07;
/// Water on paving and on buildings from which the throw itself is told, as shares of a head's own.
const ON_PAVING: f64 = 0.10;
const ON_BUILDING: f64 = 0.02;
/// Distance off the turf from which a head is told to stand beside it, m.
const OFF_TURF_M: f64 = 0.3;
/// What a nozzle must be nearer to the matched rate than the one there to be told, as a share of the rate.
const NOZZLE_NEARER: f64 = 0.08;

/// A head that serves badly.
pub(super) struct Fault {
    pub(super) head: usize,
    pub(super) finding: Finding,
}

/// The faults of all heads, one for each at most.
pub(super) fn faults(
    parcel: &Parcel,
    project: &Project,
    rebuilt: &Rebuilt,
    design: &Design,
) -> Vec<Fault> {
    let mut faults = off_turf(parcel, rebuilt, design);
    let usual = |turf: usize| {
        design
            .turf
            .get(turf)
            .and_then(|turf| turf.class_rate_mm_h)
            .unwrap_or(0.0)
    };
    let wanted: Vec<f64> = (0..parcel.turf.len()).map(usual).collect();
    // As set: what pressures do to the throws is told of the pipes and stations.
    let rated = design.heads.iter();
    let rated = rated.map(|head| coverage::rated_working(head, &project.catalogue));
    let working: Vec<Working> = rated.collect();
    if let Some(field) = Field::of(
        parcel,
        &design.heads,
        &working,
        &wanted,
        &project.catalogue,
    ) {
        let mut search = Search {
            design,
            rebuilt,
            field,
            working,
            water: Vec::new(),
            gains: Vec::new(),
        };
        let known: Vec<usize> = faults.iter().map(|fault| fault.head).collect();
        faults.extend(search.run(&known));
    }
    let known: Vec<usize> = faults.iter().map(|fault| fault.head).collect();
    faults.extend(nozzles(project, rebuilt, design, &known));
    faults.sort_by_key(|fault| fault.head);
    faults
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
    Fault { head, finding }
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

struct Search<'a> {
    design: &'a Design,
    rebuilt: &'a Rebuilt,
    field: Field<'a>,
    working: Vec<Working>,
    water: Vec<Water>,
    gains: Vec<Option<Better>>,
}

impl Search<'_> {
    /// The worst head first, as if it were mended before the next is looked for: ground that it left dry is not told of
    /// its neighbours.
    fn run(&mut self, known: &[usize]) -> Vec<Fault> {
        let heads = self.design.heads.len();
        self.water = (0..heads)
            .map(|head| {
                self.field
                    .water(&self.design.heads[head], &self.working[head])
            })
            .collect();
        self.gains = (0..heads).map(|_| None).collect();
        let suspects: Vec<usize> = (0..heads)
            .filter(|head| !known.contains(head) && self.is_suspect(*head))
            .collect();
        for &head in &suspects {
            self.look(head);
        }
        let mut faults = Vec::new();
        while let Some(head) = self.worst(&suspects) {
            let share = self.share(head);
            let Some(better) = self.gains[head].take() else {
                break;
            };
            if std::env::var("DBG").is_ok() {
                eprintln!("DBG {} {:?} share {:.3} gain {:.2} r {:.1} sweep {:.0}", self.rebuilt.ids.heads[head], better.change, share, better.gain_m2, self.reach_m(head), self.design.heads[head].arc.sweep_deg);
            }
            faults.push(self.told(head, &better, share));
            self.field.add(&self.water[head], -1.0);
            self.field.add(&better.water, 1.0);
            self.water[head] = better.water;
            for &other in &suspects {
                if self.gains[other].is_some()
                    && self.far_m(head, other) <= 1.2 * (self.reach_m(head) + self.reach_m(other))
                {
                    self.look(other);
                }
            }
        }
        faults
    }

    fn far_m(&self, a: usize, b: usize) -> f64 {
        let way = self.design.heads[a].position - self.design.heads[b].position;
        way.x.hypot(way.y)
    }

    fn reach_m(&self, head: usize) -> f64 {
        self.design.heads[head].radius_m
    }

    /// Whether there is anything about a head that a change might mend.
    fn is_suspect(&self, head: usize) -> bool {
        if self.field.share_on(&self.water[head], astray) > ASTRAY_LEAST {
            return true;
        }
        let at = self.design.heads[head].position;
        let reach_m = self.reach_m(head);
        let places = (0..16).flat_map(|i| [0.35, 0.7, 1.05].map(move |share| (i, share)));
        let mut depths = places.filter_map(|(i, share)| {
            let angle = f64::from(i) * std::f64::consts::TAU / 16.0;
            let way = Coord {
                x: share * reach_m * angle.sin(),
                y: share * reach_m * angle.cos(),
            };
            self.field.depth_at(at + way)
        });
        depths.any(|depth| depth < DRY)
    }

    /// Looks for the best change of one head, the others being as they are.
    fn look(&mut self, head: usize) {
        self.field.add(&self.water[head], -1.0);
        let (of_design, work) = (&self.design.heads[head], &self.working[head]);
        self.gains[head] = best(&self.field, of_design, work, &self.water[head]);
        self.field.add(&self.water[head], 1.0);
    }

    /// Gain as a share of the ground that a head serves.
    fn share(&self, head: usize) -> f64 {
        let of_design = &self.design.heads[head];
        let sweep = of_design.arc.sweep_deg.clamp(90.0, 360.0) / 360.0;
        let served_m2 = std::f64::consts::PI * of_design.radius_m.powi(2) * sweep;
        let gain_m2 = self.gains[head]
            .as_ref()
            .map_or(0.0, |better| better.gain_m2);
        gain_m2 / served_m2.max(1e-6)
    }

    fn worst(&self, suspects: &[usize]) -> Option<usize> {
        let told = suspects
            .iter()
            .copied()
            .filter(|head| self.share(*head) > GAIN_LEAST);
        told.max_by(|a, b| self.share(*a).total_cmp(&self.share(*b)).then(b.cmp(a)))
    }

    fn told(&self, head: usize, better: &Better, share: f64) -> Fault {
        let of_design = &self.design.heads[head];
        let own = &self.water[head];
        let percent =
            |water: &Water, ground: Ground| 100.0 * self.field.share_on(water, |g| g == ground);
        let mend = match better.change {
            Change::Arc(arc) if arc.is_full() => "A full circle would serve better".to_owned(),
            Change::Arc(arc) => format!(
                "About {:.0}° from {:.0}° would serve better",
                arc.sweep_deg, arc.start_deg
            ),
            Change::Radius(radius_m) => {
                format!("A throw of about {radius_m:.1} m would serve better")
            }
            Change::Place(at) => {
                let way = at - of_design.position;
                let far_m = way.x.hypot(way.y);
                let bearing_deg = way.x.atan2(way.y).to_degrees().rem_euclid(360.0);
                format!("It would serve better about {far_m:.1} m away towards {bearing_deg:.0}°")
            }
        };
        let gain = 100.0 * share;
        for (ground, least, code, word) in [
            (
                Ground::Building,
                ON_BUILDING,
                "throws_on_building",
                "buildings",
            ),
            (Ground::Paving, ON_PAVING, "throws_on_paving", "paving"),
        ] {
            let (now, then) = (percent(own, ground), percent(&better.water, ground));
            if now > 100.0 * least && then < 0.6 * now {
                let message =
                    format!("{now:.0} % of its water falls on {word}. {mend} ({then:.0} %).");
                return fault(head, code, message, self.rebuilt, self.design);
            }
        }
        let (code, what) = match better.change {
            Change::Arc(_) => (
                "arc_wrong",
                format!(
                    "its arc of {:.0}° from {:.0}° does not suit its place",
                    of_design.arc.sweep_deg, of_design.arc.start_deg
                ),
            ),
            Change::Radius(_) => (
                "radius_wrong",
                format!(
                    "its throw of {:.1} m does not suit its place",
                    of_design.radius_m
                ),
            ),
            Change::Place(_) => (
                "head_misplaced",
                "it stands off the place where it is needed".to_owned(),
            ),
        };
        let message = format!(
            "{what}: ground about it is left dry or water goes astray, worth {gain:.0} % of what it serves. {mend}."
        );
        fault(head, code, message, self.rebuilt, self.design)
    }
}

/// Heads whose nozzle does not give the rate of their class though another of the model would come nearer.
fn nozzles(project: &Project, rebuilt: &Rebuilt, design: &Design, known: &[usize]) -> Vec<Fault> {
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

/// Takes out findings of whole turf areas that the faults of their heads explain.
pub(super) fn explain(parcel: &Parcel, design: &mut Design, faults: &[Fault], mixed: &[Mixed]) {
    let faulty = faults.iter().map(|fault| fault.head);
    let faulty = faulty.chain(mixed.iter().flat_map(|mixed| mixed.heads.iter().copied()));
    let turf: Vec<String> = faulty
        .map(|head| parcel.turf[design.heads[head].turf].id.clone())
        .collect();
    design.findings.retain(|finding| {
        let of_turf = finding.feature.as_ref().is_some_and(|of| turf.contains(of));
        !(of_turf && OF_AREA.contains(&finding.code))
    });
}
