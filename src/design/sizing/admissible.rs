//! Which sizes a pipe may have, and what each would cost it.

use super::SizeLimits;
use super::loss::{roughness, velocity_m_s};
use super::tree::Choice;
use crate::brief::PipeSize;
use crate::units::kpa_from_head_m;

/// A rule that no size on offer keeps; the pipe then has the size that comes nearest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Broken {
    /// Even the widest pipe of this index runs too fast.
    Velocity(usize),
    /// No pipe of sufficient rating is on offer for this index.
    Rating(usize),
    /// No pipe on offer for this index bears static pressure and surge together.
    Surge(usize),
    /// The spread of pressure is too great whatever the sizes.
    Spread,
    /// Somewhere a pipe must be wider than the one before it.
    Narrowing,
}

/// What is asked of a pipe whatever its size.
pub(super) struct Duty {
    pub(super) pipe: usize,
    pub(super) length_m: f64,
    pub(super) flow_m3s: f64,
    pub(super) lowest_m: f64,
    /// Length from the source to the farthest valve behind it that a surge runs through, m; 0 behind valves.
    pub(super) surge_length_m: f64,
}

impl Duty {
    /// Pressure at its lowest point with nothing running, kPa.
    fn static_kpa(&self, limits: &SizeLimits) -> f64 {
        kpa_from_head_m(limits.static_head_m - self.lowest_m)
    }
}

/// Pressure that a size may be put under, kPa.
fn borne_kpa(size: &PipeSize, limits: &SizeLimits) -> f64 {
    size.rating_kpa * (1.0 - limits.rating_reserve)
}

/// Sizes in the order of their bore; a size's place in it is its rank.
pub(super) fn ranked(sizes: &[PipeSize]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..sizes.len()).filter(|&i| !sizes[i].only_laid).collect();
    order.sort_by(|&a, &b| {
        sizes[a]
            .inside_mm
            .total_cmp(&sizes[b].inside_mm)
            .then(a.cmp(&b))
    });
    order
}

/// The sizes a pipe may have, narrowest first, with `loss` as its loss in each; what it breaks is added to `broken`.
pub(super) fn choices(
    duty: &Duty,
    sizes: &[PipeSize],
    limits: &SizeLimits,
    broken: &mut Vec<Broken>,
    loss: impl Fn(&PipeSize) -> f64,
) -> Vec<Choice> {
    let ranks = ranked(sizes);
    let strong = strong_enough(duty, sizes, limits, &ranks, broken);
    let strong = bearing_surge(strong, duty, sizes, limits, &ranks, broken);
    let slow = |rank: &usize| {
        velocity_m_s(&sizes[ranks[*rank]], duty.flow_m3s) <= limits.velocity_most_m_s * (1.0 + 1e-9)
    };
    let mut kept: Vec<usize> = strong.iter().copied().filter(slow).collect();
    if kept.is_empty() && !strong.is_empty() {
        broken.push(Broken::Velocity(duty.pipe));
        kept.extend(strong.last());
    }
    let kept = undominated(&kept, sizes, &ranks);
    let choice = |rank: usize| {
        let size = &sizes[ranks[rank]];
        Choice {
            size: ranks[rank],
            rank,
            loss: loss(size),
            price: size.price_per_m * duty.length_m,
        }
    };
    kept.into_iter().map(choice).collect()
}

/// Leaves out sizes that another is at least as wide and smooth as and no dearer; rising ranks.
fn undominated(kept: &[usize], sizes: &[PipeSize], ranks: &[usize]) -> Vec<usize> {
    let beats = |other: usize, rank: usize| {
        let (a, b) = (&sizes[ranks[other]], &sizes[ranks[rank]]);
        let no_worse = a.inside_mm >= b.inside_mm
            && roughness(a) <= roughness(b)
            && a.price_per_m <= b.price_per_m;
        let same = a.inside_mm == b.inside_mm
            && roughness(a) == roughness(b)
            && a.price_per_m == b.price_per_m;
        no_worse && (!same || other < rank)
    };
    let beaten = |rank: usize| {
        kept.iter()
            .any(|&other| other != rank && beats(other, rank))
    };
    kept.iter().copied().filter(|&rank| !beaten(rank)).collect()
}

/// Of these ranks those that bear the surge on top of static pressure; all of them if none does.
fn bearing_surge(
    strong: Vec<usize>,
    duty: &Duty,
    sizes: &[PipeSize],
    limits: &SizeLimits,
    ranks: &[usize],
    broken: &mut Vec<Broken>,
) -> Vec<usize> {
    let Some(surge) = limits.surge.filter(|_| duty.surge_length_m > 0.0) else {
        return strong;
    };
    let static_kpa = duty.static_kpa(limits);
    let bears = |rank: &usize| {
        let size = &sizes[ranks[*rank]];
        let surge_kpa = surge.kpa(size, duty.surge_length_m, duty.flow_m3s);
        static_kpa + surge_kpa <= borne_kpa(size, limits)
    };
    let bearing: Vec<usize> = strong.iter().copied().filter(bears).collect();
    if bearing.is_empty() && !strong.is_empty() {
        broken.push(Broken::Surge(duty.pipe));
        return strong;
    }
    bearing
}

/// Ranks of the sizes rated for the static pressure at the pipe's lowest point; if none is, of the strongest.
fn strong_enough(
    duty: &Duty,
    sizes: &[PipeSize],
    limits: &SizeLimits,
    ranks: &[usize],
    broken: &mut Vec<Broken>,
) -> Vec<usize> {
    let static_kpa = duty.static_kpa(limits);
    let allowed = |rank: usize| borne_kpa(&sizes[ranks[rank]], limits);
    let all = 0..ranks.len();
    let strong: Vec<usize> = all
        .clone()
        .filter(|&rank| allowed(rank) >= static_kpa)
        .collect();
    if !strong.is_empty() || ranks.is_empty() {
        return strong;
    }
    broken.push(Broken::Rating(duty.pipe));
    let best = all.clone().map(allowed).fold(f64::NEG_INFINITY, f64::max);
    all.filter(|&rank| allowed(rank) >= best).collect()
}
