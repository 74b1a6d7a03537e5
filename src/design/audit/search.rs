//! The search for heads that stand or are set wrongly: by how they stand, then by what the water about them would gain.

use super::field::{Field, Water};
use super::heads::Fault;
use super::settings::{Better, Change, Kinds, astray, best};
use super::standing::{Standing, standing};
use crate::design::model::{Design, Head, Working};
use crate::design::works::survey::Rebuilt;
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
const GAIN_ARC: (f64, f64) = (0.09, 5.0);
const GAIN_PLACE: (f64, f64) = (0.12, 3.0);
const GAIN_RADIUS: (f64, f64) = (0.15, 8.0);
/// The same for an arc of which the edges of the turf say already that it is wrong, as a share.
const GAIN_SHUT: f64 = 0.015;
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
            // Where a head belongs that stands within the turf may be farther off than it is tried.
            let least = if within { f64::NEG_INFINITY } else { GAIN_SHUT };
            let better = self.gains[head].take();
            if let Some(better) = better.filter(|better| self.share(head, better) > least) {
                faults.push(self.told(head, &better, &how));
                if better.gain_m2 > 0.0 {
                    self.mend(head, better);
                }
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

    pub(super) fn head(&self, head: usize) -> &Head {
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
    pub(super) fn share(&self, head: usize, better: &Better) -> f64 {
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
}
