//! The covering as a linear programme: candidates, sample points, and the depth that each brings to each.
//!
//! Depths are in shares of the matched rate. That the low quarter's mean is a linear rule once a level `t` and the
//! shortfalls under it are unknowns too is the conditional value at risk of Rockafellar and Uryasev 2000, J. Risk 2(3):21
//! (from memory).

use super::candidates::{Ground, Throw};
use super::interior;
use crate::brief::Profile;
use geo::Polygon;

/// Least mean of the low quarter, in shares of the rate and of the mean.
pub const LOW_QUARTER: f64 = 0.75;
/// Least depth at any sample point, in shares of the rate.
pub const LEAST_DEPTH: f64 = 0.3;
/// Share of the ground in the low quarter.
pub const QUARTER: f64 = 0.25;
/// Most sample points; a piece that needs more is too large. Time grows with their cube in the end.
pub const SAMPLES_MOST: usize = 1600;
/// Candidates' radii, in shares of the radius asked for.
const RADII: [f64; 2] = [1.0, 0.8];

/// A head that might stand there.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Sample points it wets, in order, with the depth it brings, in shares of the rate.
    pub depths: Vec<(usize, f64)>,
    /// Water it may let fall off the piece by the rule less what it does, in shares of a full circle's.
    pub spare: f64,
}

/// The linear programme: each candidate may be taken in parts, and the sum of the parts is to be least.
#[derive(Debug, Clone, PartialEq)]
pub struct Covering {
    /// The candidates.
    pub candidates: Vec<Candidate>,
    /// Number of sample points.
    pub samples: usize,
    /// Ground one sample point stands for, m².
    pub sample_m2: f64,
}

impl Covering {
    /// The covering of one piece; see [`super::lp_estimate`]. `None` where the piece has no room or is too large.
    pub fn of(
        piece: &Polygon<f64>,
        radius_m: f64,
        profile: Profile,
        overspray_most: f64,
        setback_m: f64,
    ) -> Option<Self> {
        let ground = Ground::of(piece, radius_m, setback_m)?;
        let mut candidates = Vec::new();
        for place in ground.places() {
            for radius in RADII.map(|share| share * radius_m) {
                for throw in ground.throws(&place, radius, profile) {
                    candidates.push(Candidate {
                        depths: ground.depths(&throw, profile),
                        spare: spare(&throw, overspray_most, radius / radius_m),
                    });
                }
            }
        }
        candidates.retain(|candidate| !candidate.depths.is_empty());
        Some(Self {
            candidates,
            samples: ground.samples.len(),
            sample_m2: ground.sample_m2,
        })
    }

    /// Least sum of parts that keeps every rule; `None` where there is none or it is not found.
    pub fn fewest(&self) -> Option<f64> {
        interior::least_sum(self)
    }
}

fn spare(throw: &Throw, overspray_most: f64, radius: f64) -> f64 {
    (overspray_most * (throw.on + throw.off) - throw.off) * radius * radius
}
