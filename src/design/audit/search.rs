//! The search for heads that stand or are set wrongly: by how they stand, then by what the water about them would gain.

use super::field::{Field, Ground, Water};
use super::heads::Fault;
use super::settings::{Better, Change, Kinds, astray, best};
use super::standing::{Standing, standing};
use crate::design::model::{Design, Head, Working};
use crate::design::works::survey::Rebuilt;
use crate::finding::Finding;
use crate::site::Parcel;
use geo::Coord;
use std::collections::BTreeSet;

/// Sector that opens on other ground than turf from which an arc is wrong, degrees. A head set by the edges of the turf
/// has none; curves and narrow corners leave a little.
const SHUT_DEG: f64 = 50.0;
/// The same for narrow arcs, as a share of the sector.
const SHUT_SHARE: f64 = 0.6;
/// Distance from the edge beyond which a head that waters a part of the circle stands off its place, m.
const WITHIN_M: f64 = 0.6;
/// Sweep from which a head may stand anywhere, degrees.
const NEARLY_FULL_DEG: f64 = 300.0;
/// Water off the turf from which a head is looked at, as a share of its own.
const ASTRAY_LEAST: f64 = 0.10;
/// Depth over that wanted below which ground about a head makes it looked at.
const DRY: f64 = 0.45;
/// What another arc, place or radius must gain to be told where a head stands as it should: a share of the ground that it
/// serves, and so many m² of dry ground. Tried on sound designs, where they tell next to nothing.
const GAIN_ARC: (f64, f64) = (0.18, 5.0);
const GAIN_PLACE: (f64, f64) = (0.12, 3.0);
const GAIN_RADIUS: (f64, f64) = (0.15, 8.0);
/// The same for an arc of which the edges of the turf say already that it is wrong, as a share.
const GAIN_SHUT: f64 = 0.03;
/// Water on paving and on buildings from which the throw itself is told, as shares of a head's own.
const ON_PAVING: f64 = 0.10;
const ON_BUILDING: f64 = 0.02;

/// What the search goes by.
pub(super) struct Search<'a> {
    pub(super) parcel: &'a Parcel,
    pub(super) design: &'a Design,
    pub(super) rebuilt: &'a Rebuilt,
    pub(super) field: Field<'a>,
    /// How the heads work as they are set.
    pub(super) working: Vec<Working>,
    /// Heads of which something is told already.
    pub(super) known: &'a BTreeSet<usize>,
    pub(super) water: Vec<Water>,
    pub(super) gains: Vec<Option<Better>>,
}

impl Search<'_> {
    /// Heads that stand or are set wrongly. Each is mended in thought before the next is looked for: ground that it left
    /// dry is not told of its neighbours.
    pub(super) fn run(&mut self) -> Vec<Fault> {
        let heads = 0..self.design.heads.len();
        let water = heads
            .clone()
            .map(|head| self.field.water(self.head(head), &self.working[head]));
        self.water = water.collect();
        self.gains = heads.clone().map(|_| None).collect();
        let mut faults = self.by_standing();
        let mut told: BTreeSet<usize> = self.known.clone();
        told.extend(faults.iter().map(|fault| fault.head));
        let suspects: Vec<usize> = heads
            .filter(|head| !told.contains(head) && !self.is_beside_known(*head))
            .filter(|head| self.is_suspect(*head))
            .collect();
        for &head in &suspects {
            self.look(head, Kinds::ALL);
        }
        while let Some(head) = self.worst(&suspects) {
            let Some(better) = self.gains[head].take() else {
                break;
            };
            let how = "ground about it is left dry or water goes astray";
            faults.push(self.told(head, &better, how));
            self.mend(head, better);
            for &other in &suspects {
                if self.gains[other].is_some()
                    && self.far_m(head, other) <= self.both_m(head, other)
                {
                    self.look(other, Kinds::ALL);
                }
            }
        }
        faults
    }

    /// Heads whose sector opens on paving, walls or beds, and heads of a part of the circle that stand within the turf.
    fn by_standing(&mut self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for head in 0..self.design.heads.len() {
            if self.known.contains(&head) {
                continue;
            }
            let Standing {
                edge_m,
                shut_deg,
                shut_share,
            } = standing(self.parcel, self.head(head));
            let shut = shut_deg >= SHUT_DEG || shut_share >= SHUT_SHARE;
            let sweep_deg = self.head(head).arc.sweep_deg;
            let within = sweep_deg < NEARLY_FULL_DEG && edge_m > WITHIN_M;
            let (kinds, how) = if within {
                let how = format!(
                    "{edge_m:.1} m within the turf, with an arc of {sweep_deg:.0}° that leaves out what lies behind it"
                );
                (Kinds::PLACE, how)
            } else if shut {
                let how = format!("{shut_deg:.0}° of it open on other ground than turf");
                (Kinds::ARC, how)
            } else {
                continue;
            };
            self.look(head, kinds);
            let least = if within { 0.0 } else { GAIN_SHUT };
            let better = self.gains[head].take();
            if let Some(better) = better.filter(|better| self.share(head, better) > least) {
                faults.push(self.told(head, &better, &how));
                self.mend(head, better);
            }
        }
        faults
    }

    /// Lets a head work as it would be mended.
    fn mend(&mut self, head: usize, better: Better) {
        self.field.add(&self.water[head], -1.0);
        self.field.add(&better.water, 1.0);
        self.water[head] = better.water;
    }

    fn head(&self, head: usize) -> &Head {
        &self.design.heads[head]
    }

    fn far_m(&self, a: usize, b: usize) -> f64 {
        let way = self.head(a).position - self.head(b).position;
        way.x.hypot(way.y)
    }

    /// Distance at which two heads hardly touch each other's ground, m.
    fn both_m(&self, a: usize, b: usize) -> f64 {
        1.2 * (self.head(a).radius_m + self.head(b).radius_m)
    }

    /// Whether a head stands beside one of which something is told that this search does not mend.
    fn is_beside_known(&self, head: usize) -> bool {
        let reach_m = |other: usize| self.head(head).radius_m.max(self.head(other).radius_m);
        let mut known = self.known.iter();
        known.any(|&other| self.far_m(head, other) < 1.2 * reach_m(other))
    }

    /// Whether there is anything about a head that a change might mend.
    fn is_suspect(&self, head: usize) -> bool {
        if self.field.share_on(&self.water[head], astray) > ASTRAY_LEAST {
            return true;
        }
        let (at, reach_m) = (self.head(head).position, self.head(head).radius_m);
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
    fn look(&mut self, head: usize, kinds: Kinds) {
        self.field.add(&self.water[head], -1.0);
        let (of_design, work) = (&self.design.heads[head], &self.working[head]);
        self.gains[head] = best(&self.field, of_design, work, &self.water[head], kinds);
        self.field.add(&self.water[head], 1.0);
    }

    /// Gain as a share of the ground that a head serves.
    fn share(&self, head: usize, better: &Better) -> f64 {
        let of_design = self.head(head);
        let sweep = of_design.arc.sweep_deg.clamp(90.0, 360.0) / 360.0;
        let served_m2 = std::f64::consts::PI * of_design.radius_m.powi(2) * sweep;
        better.gain_m2 / served_m2.max(1e-6)
    }

    /// The suspect whose change gains most over what must be gained.
    fn worst(&self, suspects: &[usize]) -> Option<usize> {
        let over = |head: &usize| {
            let better = self.gains[*head].as_ref()?;
            let (share, m2) = match better.change {
                Change::Arc(_) => GAIN_ARC,
                Change::Place(_) => GAIN_PLACE,
                Change::Radius(_) => GAIN_RADIUS,
            };
            let over = (self.share(*head, better) / share).min(better.gain_m2 / m2);
            (over > 1.0).then_some((over, *head))
        };
        let told = suspects.iter().filter_map(over);
        let worst = told.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        worst.map(|worst| worst.1)
    }

    fn told(&self, head: usize, better: &Better, how: &str) -> Fault {
        let of_design = self.head(head);
        let (code, what, flow) = match better.change {
            Change::Arc(arc) => (
                self.code_of_arc(head, better),
                format!(
                    "its arc of {:.0}° from {:.0}° does not suit its place",
                    of_design.arc.sweep_deg, of_design.arc.start_deg
                ),
                arc.sweep_deg / of_design.arc.sweep_deg,
            ),
            Change::Radius(radius_m) => (
                "radius_wrong",
                format!(
                    "its throw of {:.1} m does not suit its place",
                    of_design.radius_m
                ),
                (radius_m / of_design.radius_m).powi(2),
            ),
            Change::Place(_) => (
                "head_misplaced",
                "it stands off the place where it is needed".to_owned(),
                1.0,
            ),
        };
        let message = format!(
            "{what}: {how}{}. {}: that is worth {:.0} % of the ground that it serves.",
            self.on_hard_ground(head),
            self.mend_in_words(head, better),
            100.0 * self.share(head, better)
        );
        let finding = Finding::warning(code, message)
            .of(self.rebuilt.ids.heads[head].clone())
            .at(of_design.position);
        let excess_lpm = self.working[head].flow_lpm * (1.0 - flow).max(0.0);
        Fault {
            head,
            finding,
            excess_lpm,
        }
    }

    fn code_of_arc(&self, head: usize, better: &Better) -> &'static str {
        let share = |water: &Water, ground| self.field.share_on(water, |g| g == ground);
        let throws = |ground, least| {
            let (now, then) = (
                share(&self.water[head], ground),
                share(&better.water, ground),
            );
            now > least && then < 0.6 * now
        };
        if throws(Ground::Building, ON_BUILDING) {
            "throws_on_building"
        } else if throws(Ground::Paving, ON_PAVING) {
            "throws_on_paving"
        } else {
            "arc_wrong"
        }
    }

    fn on_hard_ground(&self, head: usize) -> String {
        let percent = |ground| 100.0 * self.field.share_on(&self.water[head], |g| g == ground);
        let (paving, building) = (percent(Ground::Paving), percent(Ground::Building));
        match (paving >= 1.0, building >= 1.0) {
            (true, _) => format!("; {paving:.0} % of its water falls on paving"),
            (_, true) => format!("; {building:.0} % of its water falls on buildings"),
            _ => String::new(),
        }
    }

    fn mend_in_words(&self, head: usize, better: &Better) -> String {
        match better.change {
            Change::Arc(arc) if arc.is_full() => "A full circle would serve better".to_owned(),
            Change::Arc(arc) => format!(
                "About {:.0}° from {:.0}° would serve better",
                arc.sweep_deg, arc.start_deg
            ),
            Change::Radius(radius_m) => {
                format!("A throw of about {radius_m:.1} m would serve better")
            }
            Change::Place(at) => {
                let way = at - self.head(head).position;
                let far_m = way.x.hypot(way.y);
                let bearing_deg = way.x.atan2(way.y).to_degrees().rem_euclid(360.0);
                format!("It would serve better about {far_m:.1} m away towards {bearing_deg:.0}°")
            }
        }
    }
}
